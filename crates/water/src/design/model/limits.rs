//! What must hold, as rows over the columns.

use quantity::{Fraction, Mass, MassConcentration, Quantity, Volume};

use super::aims::{relax_unit, within};
use super::columns::{indices, most_of_salt};
use super::{Model, What, Where, amount_of, liquor_task, liquors};
use crate::acids::AcidAmount;
use crate::analysis::{Item, Kind, limits as published};
use crate::design::error::DesignError;
use crate::design::figure::{Figure, Level};
use crate::design::result::{Side, named};
use crate::design::settings::settings;
use crate::design::task::{Bounds, Limits};
use crate::state::SourceWater;
use crate::treatment::Liquor;

/// A limit as a row.
#[derive(Debug, Clone)]
pub(in crate::design) struct ModelLimit {
    pub what: String,
    pub liquor: Option<Liquor>,
    pub unit: Unit,
    pub row: Vec<f64>,
    pub holds: Holds,
    pub bound: f64,
    /// By how much more than the bound it must hold, so that what the linear sum
    /// leaves out does not pass it.
    pub margin: f64,
    /// One unit of relaxation; none of what must hold.
    pub relax: Option<f64>,
    /// Of sulfate to chloride.
    pub ratio: f64,
    /// Of a health limit, of what.
    pub health: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::design) enum Holds {
    AtLeast,
    AtMost,
    Equal,
}

/// What the bound of a limit is a number of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::design) enum Unit {
    Figure(Figure),
    Mass,
    Volume,
    Share,
    Dose,
}

impl Unit {
    pub fn level(self, value: f64) -> Level {
        match self {
            Self::Figure(Figure::SulfateToChloride) => Figure::Sulfate.level(value),
            Self::Figure(figure) => figure.level(value),
            Self::Mass => Level::Mass(Mass::from_kg(value)),
            Self::Volume => Level::Volume(Volume::from_l(value)),
            Self::Share => Level::Share(Fraction::from_ratio(value)),
            Self::Dose => Level::Dose(MassConcentration::from_mg_per_l(value)),
        }
    }
}

impl ModelLimit {
    pub fn sign(&self) -> f64 {
        if self.holds == Holds::AtMost {
            -1.0
        } else {
            1.0
        }
    }

    pub fn side(&self) -> Side {
        if self.holds == Holds::AtMost {
            Side::AtMost
        } else {
            Side::AtLeast
        }
    }

    /// "sodium in the mash liquor: at most 100 mg/L".
    pub fn sentence(&self) -> String {
        let level = self.unit.level(self.bound);
        format!("{}: {} {level}", self.what, self.side())
    }
}

/// Everything that must hold.
pub(super) fn limits(model: &Model) -> Result<Vec<ModelLimit>, DesignError> {
    let mut limits = Collected {
        model,
        limits: vec![],
    };
    limits.shares();
    limits.not_below_nought();
    limits.cupboard();
    limits.doses();
    limits.tastes();
    limits.health();
    for liquor in liquors(model.task) {
        limits.liquor(liquor, &liquor_task(model, liquor).limits)?;
    }
    if let Some(grist) = &model.task.grist {
        limits.bounds(None, Figure::MashPh, grist.limits)?;
    }
    limits.firm_aims();
    Ok(limits.limits)
}

struct Collected<'a, 'b> {
    model: &'a Model<'b>,
    limits: Vec<ModelLimit>,
}

impl Collected<'_, '_> {
    fn push(&mut self, what: String, unit: Unit, row: Vec<f64>, holds: Holds, bound: f64) {
        self.limits.push(ModelLimit {
            what,
            liquor: None,
            unit,
            row,
            holds,
            bound,
            margin: 0.0,
            relax: None,
            ratio: 0.0,
            health: false,
        });
    }

    /// The limit that was pushed last may be relaxed.
    fn may_relax(&mut self, unit: f64) {
        if let Some(limit) = self.limits.last_mut() {
            limit.relax = Some(unit);
        }
    }

    fn unit_row(&self, at: usize, value: f64) -> Vec<f64> {
        let mut row = vec![0.0; self.model.len()];
        row[at] = value;
        row
    }

    fn shares(&mut self) {
        let (model, task) = (self.model, self.model.task);
        for at in Where::groups(task, task.blends) {
            let ours = |k: &usize| model.columns[*k].at == at;
            let waters = indices(&model.columns, |what| matches!(what, What::Water { .. }));
            let mut row = vec![0.0; model.len()];
            for k in waters.into_iter().filter(ours) {
                row[k] = 1.0;
            }
            self.push(
                "the whole blend".to_owned(),
                Unit::Share,
                row,
                Holds::Equal,
                1.0,
            );
        }
        for (k, column) in model.columns.iter().enumerate() {
            let What::Water { source, variant } = column.what else {
                continue;
            };
            let given = &task.sources[source];
            let what = format!("share of {}", given.variants[variant].water.name);
            for (holds, bound, other) in [
                (Holds::AtLeast, given.share.at_least.ratio(), 0.0),
                (Holds::AtMost, given.share.at_most.ratio(), 1.0),
            ] {
                let is_given = (bound - other).abs() > 0.0;
                if !is_given && holds == Holds::AtMost {
                    continue;
                }
                let row = self.unit_row(k, 1.0);
                self.push(what.clone(), Unit::Share, row, holds, bound);
                if is_given {
                    self.may_relax(settings().relax_share.value);
                }
            }
        }
    }

    fn not_below_nought(&mut self) {
        for (k, column) in self.model.columns.iter().enumerate() {
            if column.kind.is_some() {
                let row = self.unit_row(k, 1.0);
                self.push("a dose".to_owned(), Unit::Dose, row, Holds::AtLeast, 0.0);
            }
        }
    }

    /// No more than there is.
    fn cupboard(&mut self) {
        let task = self.model.task;
        for (at, source) in task.sources.iter().enumerate() {
            let name = source
                .variants
                .first()
                .map_or("", |variant| variant.water.name.as_str());
            let is_it = |what| matches!(what, What::Water { source, .. } if source == at);
            let most = source.at_hand.map(Volume::l);
            self.at_hand(name, Unit::Volume, is_it, most);
        }
        for (at, salt) in task.salts.iter().enumerate() {
            let is_it = |what| what == What::Salt(at);
            let most = salt.at_hand.map(Mass::kg);
            self.at_hand(&salt.salt.name, Unit::Mass, is_it, most);
        }
        for (at, acid) in task.acids.iter().enumerate() {
            let unit = match acid.resolution {
                AcidAmount::Mass(_) => Unit::Mass,
                AcidAmount::Volume(_) => Unit::Volume,
            };
            let is_it = |what| what == What::Acid(at);
            let most = acid.at_hand.map(amount_of);
            self.at_hand(&acid.product.name, unit, is_it, most);
        }
        if let Some(malt) = &task.acid_malt {
            let is_it = |what| what == What::AcidMalt;
            let most = malt.at_hand.map(Mass::kg);
            self.at_hand("acidulated malt", Unit::Mass, is_it, most);
        }
    }

    fn at_hand(&mut self, name: &str, unit: Unit, is_it: impl Fn(What) -> bool, most: Option<f64>) {
        let Some(most) = most else { return };
        let amount = |column: &super::Column| {
            if is_it(column.what) {
                column.amount
            } else {
                0.0
            }
        };
        let row: Vec<f64> = self.model.columns.iter().map(amount).collect();
        let needed = row.iter().copied().fold(0.0, f64::max);
        self.push(format!("{name} at hand"), unit, row, Holds::AtMost, most);
        self.may_relax(settings().relax_share.value * most.max(0.1 * needed));
    }

    fn doses(&mut self) {
        let (model, task) = (self.model, self.model.task);
        for (k, column) in model.columns.iter().enumerate() {
            let where_to = match column.at {
                Where::One(liquor) => format!("the {liquor} liquor"),
                Where::Both => "both liquors".to_owned(),
            };
            match column.what {
                What::Salt(item) => {
                    let Some(most) = most_of_salt(task, item) else {
                        continue;
                    };
                    let mg_per_l = 1e6 * column.amount / column.at.litres(task);
                    let row = self.unit_row(k, mg_per_l);
                    let what = format!("{} in {where_to}", task.salts[item].salt);
                    self.push(what, Unit::Dose, row, Holds::AtMost, most);
                }
                What::AcidMalt => {
                    let Some(malt) = &task.acid_malt else {
                        continue;
                    };
                    let grist = task.grist.as_ref();
                    let kg: f64 = grist
                        .map_or(&[][..], |grist| &grist.malts)
                        .iter()
                        .map(|malt| malt.mass.kg())
                        .sum();
                    let row = self.unit_row(k, column.amount / kg);
                    let what = "acidulated malt beside the grist".to_owned();
                    self.push(what, Unit::Share, row, Holds::AtMost, malt.at_most.ratio());
                    self.may_relax(settings().relax_share.value * malt.at_most.ratio().max(0.01));
                }
                _ => {}
            }
        }
    }

    /// Acids over all liquor below what can be tasted.
    fn tastes(&mut self) {
        let (model, task) = (self.model, self.model.task);
        if !task.acids_below_taste {
            return;
        }
        let all: f64 = liquors(task).map(|l| super::volume_l(task, l)).sum();
        for acid in crate::acids::acids() {
            let Some(taste) = &acid.taste else { continue };
            let mg_per_l = |column: &super::Column| match column.what {
                What::Acid(item) if task.acids[item].product.acid.key == acid.key => {
                    acid.molar_mass_g_per_mol * column.at.litres(task) / all
                }
                _ => 0.0,
            };
            let row: Vec<f64> = model.columns.iter().map(mg_per_l).collect();
            if row.iter().any(|x| *x > 0.0) {
                let what = format!("{} over all liquor", acid.name);
                let most = taste.from.mg_per_l();
                self.push(what, Unit::Dose, row, Holds::AtMost, most);
                self.may_relax(settings().relax_ion_mg_per_l.value);
            }
        }
    }

    /// The blend within the strictest health limits. A water that was not tested
    /// counts as standing at the limit, so that it cannot dilute another.
    fn health(&mut self) {
        let (model, task) = (self.model, self.model.task);
        for (item, of) in HEALTH {
            let strictest = published()
                .iter()
                .filter(|l| l.item == item && l.kind == Kind::Health && !l.low)
                .map(|l| l.mg_per_l)
                .reduce(f64::min);
            let Some(most) = strictest else { continue };
            for at in Where::groups(task, task.blends) {
                let content = |column: &super::Column| match column.what {
                    What::Water { source, variant } if column.at == at => {
                        of(&task.sources[source].variants[variant].water).unwrap_or(most)
                    }
                    _ => 0.0,
                };
                let row: Vec<f64> = model.columns.iter().map(content).collect();
                if row.iter().all(|x| *x <= most) {
                    continue;
                }
                let what = item.name().to_owned();
                self.push(
                    what,
                    Unit::Figure(Figure::Nitrate),
                    row,
                    Holds::AtMost,
                    most,
                );
                if let Some(limit) = self.limits.last_mut() {
                    limit.health = true;
                }
            }
        }
    }

    fn liquor(&mut self, liquor: Liquor, given: &Limits) -> Result<(), DesignError> {
        macro_rules! each {
            ($($field:ident: $figure:ident),+) => {
                $(self.bounds(Some(liquor), Figure::$figure, given.$field)?;)+
            };
        }
        each!(
            calcium: Calcium, magnesium: Magnesium, sodium: Sodium, potassium: Potassium,
            chloride: Chloride, sulfate: Sulfate, alkalinity: Alkalinity,
            residual_alkalinity: ResidualAlkalinity
        );
        Ok(())
    }

    fn bounds<Q: Quantity>(
        &mut self,
        liquor: Option<Liquor>,
        figure: Figure,
        bounds: Bounds<Q>,
    ) -> Result<(), DesignError> {
        let what = named(figure, liquor);
        let unit = Q::UNITS.first().map_or("", |unit| unit.symbol);
        let (least, most) = (
            bounds.at_least.map(Quantity::canonical),
            bounds.at_most.map(Quantity::canonical),
        );
        for bound in [least, most].into_iter().flatten() {
            within(&format!("limit of {what}"), bound, Q::MIN, Q::MAX, unit)?;
        }
        if let (Some(least), Some(most)) = (least, most)
            && least > most
        {
            return Err(DesignError::Crossed {
                what,
                at_least: figure.level(least).to_string(),
                at_most: figure.level(most).to_string(),
            });
        }
        for (holds, bound) in [(Holds::AtLeast, least), (Holds::AtMost, most)] {
            let Some(bound) = bound else { continue };
            let row = liquor.map_or_else(
                || vec![0.0; self.model.len()],
                |liquor| self.model.row(figure, liquor),
            );
            self.push(what.clone(), Unit::Figure(figure), row, holds, bound);
            self.of(liquor, figure, 0.0);
        }
        Ok(())
    }

    /// The limit that was pushed last is about a figure.
    fn of(&mut self, liquor: Option<Liquor>, figure: Figure, ratio: f64) {
        self.may_relax(relax_unit(figure));
        if let Some(limit) = self.limits.last_mut() {
            limit.liquor = liquor;
            limit.ratio = ratio;
        }
    }

    fn firm_aims(&mut self) {
        for aim in self.model.aims.iter().filter(|aim| aim.firm) {
            let what = format!("the firm aim for {}", named(aim.figure, aim.liquor));
            for (holds, bound) in [
                (Holds::AtLeast, aim.target - aim.tolerance),
                (Holds::AtMost, aim.target + aim.tolerance),
            ] {
                let row = if aim.row.is_empty() {
                    vec![0.0; self.model.len()]
                } else {
                    aim.row.clone()
                };
                self.push(what.clone(), Unit::Figure(aim.figure), row, holds, bound);
                self.of(aim.liquor, aim.figure, aim.ratio);
            }
        }
    }
}

/// What a water has of something [mg/L], if measured.
type Content = fn(&SourceWater) -> Option<f64>;

/// What has a health limit and stands in an analysis.
const HEALTH: [(Item, Content); 3] = [
    (Item::Nitrate, |water| Some(water.ions.nitrate.mg_per_l())),
    (Item::Nitrite, |water| {
        water.nitrite.map(quantity::Nitrite::mg_per_l)
    }),
    (Item::Manganese, |water| {
        water.manganese.map(quantity::Manganese::mg_per_l)
    }),
];
