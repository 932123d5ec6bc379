//! The task as linear algebra: what a unit of each water and addition brings,
//! what the aims make of it, and what limits it.

mod aims;
mod columns;
mod limits;

use quantity::{Alkalinity, Mass, Ph, Quantity};

use super::error::DesignError;
use super::figure::Figure;
use super::qp::{Quadratic, Row, add, dot};
use super::settings::settings;
use super::task::{LiquorTask, Task, Together};
use crate::acids::{Acid, AcidAmount, protons_per_mole};
use crate::error::WaterError;
use crate::mash_ph::{AcidMalt, MashAcid, MashLiquor, MashPh, mash_ph};
use crate::state::Ions;
use crate::treatment::Liquor;

pub(super) use aims::{ModelAim, within};
pub(super) use columns::{Choice, choices};
pub(super) use limits::{Holds, ModelLimit, Unit};

/// The task with one choice of variants.
#[derive(Debug, Clone)]
pub(super) struct Model<'a> {
    pub task: &'a Task,
    pub columns: Vec<Column>,
    /// The names of the kinds of addition.
    pub kinds: Vec<String>,
    pub aims: Vec<ModelAim>,
    pub limits: Vec<ModelLimit>,
    /// What treatment makes of each liquor beyond the linear sum.
    pub offsets: [Offset; 2],
}

/// Ions and alkalinity beside the sum over columns.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Offset {
    pub ions: Ions,
    pub alkalinity: Alkalinity,
}

/// Where something goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Where {
    One(Liquor),
    Both,
}

impl Where {
    pub fn acts_in(self, liquor: Liquor) -> bool {
        self == Self::Both || self == Self::One(liquor)
    }

    /// Every group of liquors that is treated alike.
    pub fn groups(task: &Task, together: Together) -> Vec<Self> {
        if task.sparge.volume.l() <= 0.0 {
            return vec![Self::One(Liquor::Mash)];
        }
        match together {
            Together::Alike => vec![Self::Both],
            Together::Apart => vec![Self::One(Liquor::Mash), Self::One(Liquor::Sparge)],
        }
    }

    /// How much liquor that is [L].
    pub fn litres(self, task: &Task) -> f64 {
        liquors(task)
            .filter(|liquor| self.acts_in(*liquor))
            .map(|liquor| volume_l(task, liquor))
            .sum()
    }
}

/// The liquors that there are.
pub(super) fn liquors(task: &Task) -> impl Iterator<Item = Liquor> + use<> {
    let sparge = (task.sparge.volume.l() > 0.0).then_some(Liquor::Sparge);
    std::iter::once(Liquor::Mash).chain(sparge)
}

pub(super) fn volume_l(task: &Task, liquor: Liquor) -> f64 {
    match liquor {
        Liquor::Mash => task.mash.volume.l(),
        Liquor::Sparge => task.sparge.volume.l(),
    }
}

/// What is asked of a liquor.
fn liquor_task<'a>(model: &Model<'a>, liquor: Liquor) -> &'a LiquorTask {
    match liquor {
        Liquor::Mash => &model.task.mash,
        Liquor::Sparge => &model.task.sparge,
    }
}

/// One unknown: a share of a water, or a dose.
#[derive(Debug, Clone)]
pub(super) struct Column {
    pub what: What,
    pub at: Where,
    /// The kind of addition, by its place in [`Model::kinds`].
    pub kind: Option<usize>,
    /// What is weighed or poured for one unit of it [kg or L].
    pub amount: f64,
    /// The least step [units]; none of a share that is fixed.
    pub step: Option<f64>,
    /// What one unit brings to a litre.
    pub ions: Ions,
    pub alkalinity: Alkalinity,
    /// What one unit costs.
    pub cost: f64,
}

/// What an unknown is an amount of, by its place in the task.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum What {
    Water { source: usize, variant: usize },
    Salt(usize),
    Acid(usize),
    AcidMalt,
}

/// The mash pH about a point, row·x + constant, with what it rests on.
#[derive(Debug, Clone)]
pub(super) struct MashLine {
    pub row: Vec<f64>,
    pub constant: f64,
}

impl<'a> Model<'a> {
    /// # Errors
    /// Those of an impossible task.
    pub fn build(task: &'a Task, choice: &Choice) -> Result<Self, DesignError> {
        let (columns, kinds) = columns::columns(task, choice)?;
        let mut model = Self {
            task,
            columns,
            kinds,
            aims: vec![],
            limits: vec![],
            offsets: [Offset::default(); 2],
        };
        model.aims = aims::aims(&model)?;
        model.limits = limits::limits(&model)?;
        Ok(model)
    }

    pub fn len(&self) -> usize {
        self.columns.len()
    }

    /// The row of a figure in a liquor.
    pub fn row(&self, figure: Figure, liquor: Liquor) -> Vec<f64> {
        let value = |column: &Column| {
            let acts = column.at.acts_in(liquor);
            let value = figure.of(&column.ions, column.alkalinity);
            if acts { value.unwrap_or(0.0) } else { 0.0 }
        };
        self.columns.iter().map(value).collect()
    }

    /// What stands beside the row of a figure in a liquor.
    pub fn constant(&self, figure: Figure, liquor: Option<Liquor>) -> f64 {
        let Some(liquor) = liquor else { return 0.0 };
        let offset = &self.offsets[liquor as usize];
        figure.of(&offset.ions, offset.alkalinity).unwrap_or(0.0)
    }

    /// The ions of the mash liquor, and its alkalinity without acids.
    fn mash_water(&self, x: &[f64]) -> (Ions, Alkalinity) {
        let offset = &self.offsets[Liquor::Mash as usize];
        let mut ions = offset.ions;
        let mut meq_per_l = offset.alkalinity.meq_per_l();
        for (column, x) in self.columns.iter().zip(x) {
            if column.at.acts_in(Liquor::Mash) && !matches!(column.what, What::Acid(_)) {
                ions = ions.plus(column.ions.times(*x));
                meq_per_l += column.alkalinity.meq_per_l() * x;
            }
        }
        (ions, Alkalinity::from_meq_per_l(meq_per_l))
    }

    /// The mash pH at x; none without a grist.
    ///
    /// # Errors
    /// Those of the mash.
    pub fn mash_ph(&self, x: &[f64]) -> Result<Option<MashPh>, WaterError> {
        let Some(grist) = &self.task.grist else {
            return Ok(None);
        };
        let (ions, alkalinity) = self.mash_water(x);
        let mut acids = vec![];
        let mut acid_malts = grist.acid_malts.clone();
        for (column, x) in self.columns.iter().zip(x) {
            let mash_part = self.part_in(column.at, Liquor::Mash);
            let amount = (x * column.amount * mash_part).max(0.0);
            match column.what {
                What::Acid(item) if column.at.acts_in(Liquor::Mash) => acids.push(MashAcid {
                    product: self.task.acids[item].product,
                    amount: amount_like(self.task.acids[item].resolution, amount),
                }),
                What::AcidMalt => acid_malts.extend(self.acid_malt(x * column.amount)),
                _ => {}
            }
        }
        let liquor = MashLiquor {
            volume: self.task.mash.volume,
            alkalinity,
            calcium: ions.calcium,
            magnesium: ions.magnesium,
            acids,
        };
        mash_ph(&grist.malts, &acid_malts, &liquor).map(Some)
    }

    /// Acidulated malt from the store; none where it is nought.
    pub fn acid_malt(&self, kg: f64) -> Option<AcidMalt> {
        let store = self.task.acid_malt.as_ref()?;
        (kg > 0.0).then(|| AcidMalt {
            mass: Mass::from_kg(kg),
            acidity: store.acidity,
        })
    }

    /// Which part of an addition goes into a liquor.
    pub fn part_in(&self, at: Where, liquor: Liquor) -> f64 {
        if at.acts_in(liquor) {
            volume_l(self.task, liquor) / at.litres(self.task)
        } else {
            0.0
        }
    }

    /// The mash pH about x, by the derivative of the balance of protons that
    /// [`mash_ph`](fn@mash_ph) solves.
    ///
    /// # Errors
    /// Those of the mash.
    pub fn mash_line(&self, x: &[f64]) -> Result<Option<MashLine>, WaterError> {
        let Some(mash) = self.mash_ph(x)? else {
            return Ok(None);
        };
        let ph = mash.ph.value;
        let per_meq = 1.0 / mash.buffering_meq_per_ph;
        let row: Vec<f64> = self
            .columns
            .iter()
            .map(|column| -self.mash_acid(column, ph) * per_meq)
            .collect();
        Ok(Some(MashLine {
            constant: ph.ph() - dot(&row, x),
            row,
        }))
    }

    /// The acid that a unit of a column brings to the mash at a pH [mEq].
    fn mash_acid(&self, column: &Column, ph: Ph) -> f64 {
        if !column.at.acts_in(Liquor::Mash) {
            return 0.0;
        }
        match column.what {
            What::Acid(item) => {
                let acid: &Acid = self.task.acids[item].product.acid;
                self.task.mash.volume.l() * protons_per_mole(acid, ph)
            }
            What::AcidMalt => self.task.acid_malt.as_ref().map_or(0.0, |store| {
                column.amount * store.acidity.value.meq_per_kg()
            }),
            _ => {
                let figure = Figure::ResidualAlkalinity;
                let residual = figure.of(&column.ions, column.alkalinity).unwrap_or(0.0);
                -self.task.mash.volume.l() * residual
            }
        }
    }

    /// What is minimised, over the columns that are used.
    pub fn quadratic(&self, used: &[usize], line: Option<&MashLine>) -> Quadratic {
        let n = used.len();
        let mut hessian = vec![0.0; n * n];
        let mut gradient = vec![0.0; n];
        for aim in &self.aims {
            let Some((row, constant)) = self.aim_row(aim, line) else {
                continue;
            };
            let scale = aim.weight / (aim.tolerance * aim.tolerance);
            let row: Vec<f64> = used.iter().map(|k| row[*k]).collect();
            for (i, value) in row.iter().enumerate() {
                add(&mut hessian[i * n..(i + 1) * n], 2.0 * scale * value, &row);
            }
            add(&mut gradient, 2.0 * scale * (constant - aim.target), &row);
        }
        let steepest = (0..n).map(|i| hessian[i * n + i]).fold(0.0, f64::max);
        // Beside very steep aims the ridge must stay visible to the arithmetic.
        let ridge = 2.0 * settings().ridge.value + 1e-12 * steepest;
        for i in 0..n {
            hessian[i * n + i] += ridge;
        }
        if let Some(worth) = self.task.worth_of_a_tolerance {
            for (sum, k) in gradient.iter_mut().zip(used) {
                *sum += self.columns[*k].cost / worth.amount();
            }
        }
        Quadratic {
            hessian,
            gradient,
            rows: vec![],
        }
    }

    /// The limits as rows over the columns that are used.
    pub fn rows(&self, used: &[usize], line: Option<&MashLine>) -> Vec<Row> {
        self.limits
            .iter()
            .map(|limit| {
                let (row, constant) = self.limit_row(limit, line);
                let sign = limit.sign();
                Row {
                    coefficients: used.iter().map(|k| sign * row[*k]).collect(),
                    at_least: sign * (limit.bound - constant) + limit.margin,
                    equal: limit.holds == Holds::Equal,
                }
            })
            .collect()
    }

    /// The row and the constant of an aim; none of a mash pH without its line.
    pub fn aim_row<'b>(
        &'b self,
        aim: &'b ModelAim,
        line: Option<&'b MashLine>,
    ) -> Option<(&'b [f64], f64)> {
        if aim.figure == Figure::MashPh {
            return line.map(|line| (line.row.as_slice(), line.constant));
        }
        let constant = match aim.figure {
            Figure::SulfateToChloride => {
                self.constant(Figure::Sulfate, aim.liquor)
                    - aim.ratio * self.constant(Figure::Chloride, aim.liquor)
            }
            figure => self.constant(figure, aim.liquor),
        };
        Some((&aim.row, constant))
    }

    /// As [`aim_row`](Self::aim_row); without its line a mash pH limits nothing.
    pub fn limit_row<'b>(
        &'b self,
        limit: &'b ModelLimit,
        line: Option<&'b MashLine>,
    ) -> (&'b [f64], f64) {
        match (limit.unit, line) {
            (Unit::Figure(Figure::MashPh), Some(line)) => (&line.row, line.constant),
            (Unit::Figure(Figure::MashPh), None) => (&limit.row, limit.bound),
            (Unit::Figure(Figure::SulfateToChloride), _) => {
                let of = |figure| self.constant(figure, limit.liquor);
                (
                    &limit.row,
                    of(Figure::Sulfate) - limit.ratio * of(Figure::Chloride),
                )
            }
            (Unit::Figure(figure), _) => (&limit.row, self.constant(figure, limit.liquor)),
            _ => (&limit.row, 0.0),
        }
    }

    /// The value of an aim's figure less its target.
    pub fn off(&self, aim: &ModelAim, x: &[f64], line: Option<&MashLine>) -> f64 {
        self.aim_row(aim, line)
            .map_or(0.0, |(row, constant)| dot(row, x) + constant - aim.target)
    }

    /// Σ weight (off/tolerance)².
    pub fn misfit(&self, x: &[f64], line: Option<&MashLine>) -> f64 {
        self.aims
            .iter()
            .map(|aim| aim.weight * (self.off(aim, x, line) / aim.tolerance).powi(2))
            .sum()
    }

    /// The misfit at x = 0, which [`quadratic`](Self::quadratic) leaves out.
    pub fn misfit_of_nothing(&self, line: Option<&MashLine>) -> f64 {
        let constants = self.aims.iter().filter_map(|aim| {
            let (_, constant) = self.aim_row(aim, line)?;
            Some(aim.weight * ((constant - aim.target) / aim.tolerance).powi(2))
        });
        constants.sum()
    }

    /// What a column is an amount of.
    pub fn name(&self, column: &Column) -> String {
        match column.what {
            What::Water { source, variant } => self.task.sources[source].variants[variant]
                .water
                .name
                .clone(),
            What::Salt(item) => self.task.salts[item].salt.name.clone(),
            What::Acid(item) => self.task.acids[item].product.name.clone(),
            What::AcidMalt => "acidulated malt".to_owned(),
        }
    }

    /// What x costs.
    pub fn cost(&self, x: &[f64]) -> f64 {
        self.columns.iter().zip(x).map(|(c, x)| c.cost * x).sum()
    }
}

/// An amount [kg or L] of the sort that another is.
pub(super) fn amount_like(sort: AcidAmount, amount: f64) -> AcidAmount {
    match sort {
        AcidAmount::Mass(_) => AcidAmount::Mass(Mass::from_kg(amount)),
        AcidAmount::Volume(_) => AcidAmount::Volume(quantity::Volume::from_l(amount)),
    }
}

/// Its number [kg or L].
pub(super) fn amount_of(amount: AcidAmount) -> f64 {
    match amount {
        AcidAmount::Mass(mass) => mass.canonical(),
        AcidAmount::Volume(volume) => volume.canonical(),
    }
}
