//! The unknowns: shares of water, doses of salt and acid, acidulated malt.

use quantity::{Alkalinity, Chloride, Quantity, Sulfate};

use super::{Column, What, Where, amount_of};
use crate::acids::{COUNTED_AT, protons_per_mole};
use crate::dechlorination::{Volumes, dechlorinate};
use crate::design::error::DesignError;
use crate::design::task::{Money, Task};
use crate::error::WaterError;
use crate::state::Ions;
use crate::treatment::Liquor;

/// The unit of a salt [g/L].
const SALT_UNIT_G_PER_L: f64 = 0.1;
/// The unit of acidulated malt, as a share of the grist.
const ACID_MALT_UNIT: f64 = 0.01;

/// The variant of each source, for each group of liquors that is one blend.
pub(crate) type Choice = Vec<Vec<usize>>;

/// The columns, and the names of the kinds of addition.
pub(super) fn columns(
    task: &Task,
    choice: &Choice,
) -> Result<(Vec<Column>, Vec<String>), DesignError> {
    let mut columns = vec![];
    for (at, variants) in Where::groups(task, task.blends).into_iter().zip(choice) {
        for (source, variant) in variants.iter().enumerate() {
            columns.push(water(task, at, source, *variant)?);
        }
    }
    let groups = Where::groups(task, task.additions);
    let mut kinds = vec![];
    for (item, salt) in task.salts.iter().enumerate() {
        let kind = kinds.len();
        kinds.push(salt.salt.name.clone());
        columns.extend(groups.iter().map(|at| salt_column(task, *at, item, kind)));
    }
    for (item, acid) in task.acids.iter().enumerate() {
        let kind = kinds.len();
        kinds.push(acid.product.name.clone());
        for at in &groups {
            columns.push(acid_column(task, *at, item, kind)?);
        }
    }
    if let Some(column) = acid_malt(task, kinds.len()) {
        kinds.push("acidulated malt".to_owned());
        columns.push(column);
    }
    Ok((columns, kinds))
}

fn money(price: Option<Money>) -> f64 {
    price.map_or(0.0, Money::amount)
}

/// A share of a water, as it is after its chlorine is taken out.
fn water(task: &Task, at: Where, source: usize, variant: usize) -> Result<Column, WaterError> {
    let given = &task.sources[source];
    let chosen = &given.variants[variant];
    let volumes = Volumes {
        mash: task.mash.volume,
        sparge: task.sparge.volume,
    };
    let done = dechlorinate(&chosen.water, volumes, &task.dechlorination)?;
    let litres = at.litres(task);
    let limits = given.share;
    let fixed = limits.at_most.ratio() <= limits.at_least.ratio();
    Ok(Column {
        what: What::Water { source, variant },
        at,
        kind: None,
        amount: litres,
        step: (!fixed && task.sources.len() > 1).then(|| task.pour.l() / litres),
        ions: chosen.water.ions.plus(done.added),
        alkalinity: Alkalinity::from_meq_per_l(
            chosen.water.alkalinity.meq_per_l() + done.alkalinity_change.meq_per_l(),
        ),
        cost: money(chosen.price_per_litre) * litres,
    })
}

fn salt_column(task: &Task, at: Where, item: usize, kind: usize) -> Column {
    let given = &task.salts[item];
    let kg = SALT_UNIT_G_PER_L * at.litres(task) / 1000.0;
    Column {
        what: What::Salt(item),
        at,
        kind: Some(kind),
        amount: kg,
        step: Some(given.resolution.kg() / kg),
        ions: given.salt.ions_per_g_per_l.times(SALT_UNIT_G_PER_L),
        alkalinity: Alkalinity::from_meq_per_l(
            SALT_UNIT_G_PER_L * given.salt.alkalinity_per_g_per_l.meq_per_l(),
        ),
        cost: money(given.price_per_kg) * kg,
    }
}

/// The unit is 1 mmol/L. In the liquor it counts as it acts at [`COUNTED_AT`].
fn acid_column(task: &Task, at: Where, item: usize, kind: usize) -> Result<Column, WaterError> {
    let given = &task.acids[item];
    let acid = given.product.acid;
    let step = amount_of(given.resolution);
    let mmol_per_step = 1000.0 * given.product.mol(given.resolution)?;
    let amount = at.litres(task) * step / mmol_per_step;
    Ok(Column {
        what: What::Acid(item),
        at,
        kind: Some(kind),
        amount,
        step: Some(step / amount),
        ions: Ions {
            chloride: Chloride::from_mg_per_l(acid.chloride * Chloride::MOLAR_MASS),
            sulfate: Sulfate::from_mg_per_l(acid.sulfate * Sulfate::MOLAR_MASS),
            ..Ions::default()
        },
        alkalinity: Alkalinity::from_meq_per_l(-protons_per_mole(acid, COUNTED_AT)),
        cost: money(given.price_per_litre_or_kg) * amount,
    })
}

fn acid_malt(task: &Task, kind: usize) -> Option<Column> {
    let (given, grist) = (task.acid_malt.as_ref()?, task.grist.as_ref()?);
    let grist_kg: f64 = grist.malts.iter().map(|malt| malt.mass.kg()).sum();
    let kg = ACID_MALT_UNIT * grist_kg;
    (kg > 0.0).then(|| Column {
        what: What::AcidMalt,
        at: Where::One(Liquor::Mash),
        kind: Some(kind),
        amount: kg,
        step: Some(given.resolution.kg() / kg),
        ions: Ions::default(),
        alkalinity: Alkalinity::default(),
        cost: money(given.price_per_kg) * kg,
    })
}

/// Every choice of variants.
///
/// # Errors
/// [`DesignError::TooManyVariants`].
pub(crate) fn choices(task: &Task) -> Result<Vec<Choice>, DesignError> {
    const MOST: usize = 144;
    let groups = Where::groups(task, task.blends).len();
    let of_sources: Vec<usize> = task.sources.iter().map(|s| s.variants.len()).collect();
    let count = of_sources
        .iter()
        .cycle()
        .take(groups * of_sources.len())
        .try_fold(1usize, |product, n| product.checked_mul(*n))
        .unwrap_or(usize::MAX);
    if count > MOST {
        return Err(DesignError::TooManyVariants { count, most: MOST });
    }
    let choice = |mut number: usize| -> Choice {
        let mut variant = |n: &usize| {
            let variant = number % n;
            number /= n;
            variant
        };
        (0..groups)
            .map(|_| of_sources.iter().map(&mut variant).collect())
            .collect()
    };
    Ok((0..count).map(choice).collect())
}

/// The most of a salt that dissolves or is allowed [mg/L].
pub(super) fn most_of_salt(task: &Task, item: usize) -> Option<f64> {
    let given = &task.salts[item];
    let dissolves = given.salt.solubility.as_ref().map(|s| s.most.canonical());
    let allowed = given.at_most.map(Quantity::canonical);
    [dissolves, allowed].into_iter().flatten().reduce(f64::min)
}

/// Columns of one thing.
pub(super) fn indices(columns: &[Column], pick: impl Fn(What) -> bool) -> Vec<usize> {
    (0..columns.len())
        .filter(|k| pick(columns[*k].what))
        .collect()
}
