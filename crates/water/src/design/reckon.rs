//! From x back to waters and doses, and through the stage's own models.

use quantity::{Fraction, Mass, Quantity, Volume};

use super::model::{Model, Offset, What, Where, amount_like, liquors, volume_l};
use super::result::{DesignedLiquor, Part};
use super::task::Task;
use crate::acids::AcidDose;
use crate::dechlorination::{Dechlorination, Dose};
use crate::error::WaterError;
use crate::mash_ph::{MashPh, mash_ph};
use crate::salts::SaltDose;
use crate::state::{BrewingWater, Ions, SourceShare, SourceWater};
use crate::treatment::{Liquor, TreatedWater, WaterPlan, treat};

/// What the plans come to.
pub(super) struct Reckoned {
    pub plans: Vec<WaterPlan>,
    pub treated: Vec<TreatedWater>,
    pub mash_ph: Option<MashPh>,
}

/// Below this a part of a blend is not there [share].
const NO_SHARE: f64 = 1e-9;

/// Treats the water as x says and lets it meet the malt.
pub(super) fn reckon(model: &Model, x: &[f64]) -> Result<Reckoned, WaterError> {
    let plans = plans(model, x);
    let treated = plans.iter().map(treat).collect::<Result<Vec<_>, _>>()?;
    let mash_ph = match (&model.task.grist, treated.first()) {
        (Some(grist), Some(treated)) => {
            let added = added_malt(model, x).and_then(|kg| model.acid_malt(kg));
            let acid_malts: Vec<_> = grist.acid_malts.iter().copied().chain(added).collect();
            Some(mash_ph(&grist.malts, &acid_malts, &treated.mash_liquor)?)
        }
        _ => None,
    };
    Ok(Reckoned {
        plans,
        treated,
        mash_ph,
    })
}

/// Acidulated malt that is added [kg].
pub(super) fn added_malt(model: &Model, x: &[f64]) -> Option<f64> {
    model
        .columns
        .iter()
        .zip(x)
        .find(|(column, _)| column.what == What::AcidMalt)
        .map(|(column, x)| column.amount * x)
}

impl Reckoned {
    /// A liquor, ready for malt.
    pub fn water(&self, liquor: Liquor) -> Option<&BrewingWater> {
        let water = |treated: &TreatedWater, plan: &WaterPlan| match liquor {
            Liquor::Mash => (plan.mash_volume.l() > 0.0).then(|| treated.mash.clone()),
            Liquor::Sparge => (plan.sparge_volume.l() > 0.0).then(|| treated.sparge.clone()),
        };
        let at = (0..self.plans.len())
            .find(|at| water(&self.treated[*at], &self.plans[*at]).is_some())?;
        Some(match liquor {
            Liquor::Mash => &self.treated[at].mash,
            Liquor::Sparge => &self.treated[at].sparge,
        })
    }

    /// What treatment makes of each liquor beyond the linear sum.
    pub fn offsets(&self, model: &Model, x: &[f64]) -> [Offset; 2] {
        [Liquor::Mash, Liquor::Sparge].map(|liquor| {
            let Some(water) = self.water(liquor) else {
                return Offset::default();
            };
            let mut ions = Ions::default();
            let mut meq_per_l = 0.0;
            for (column, x) in model.columns.iter().zip(x) {
                if column.at.acts_in(liquor) {
                    ions = ions.plus(column.ions.times(*x));
                    meq_per_l += column.alkalinity.meq_per_l() * x;
                }
            }
            let left = water.alkalinity.meq_per_l() - meq_per_l;
            Offset {
                ions: water.ions.plus(ions.times(-1.0)),
                alkalinity: quantity::Alkalinity::from_meq_per_l(left),
            }
        })
    }

    /// The liquors with what makes them.
    pub fn liquors(&self, model: &Model, x: &[f64]) -> Vec<DesignedLiquor> {
        liquors(model.task)
            .filter_map(|liquor| {
                let weigh = self.treated.iter().flat_map(|treated| &treated.weigh);
                Some(DesignedLiquor {
                    liquor,
                    blend: blend(model, x, liquor),
                    additions: weigh.filter(|w| w.into == liquor).cloned().collect(),
                    water: self.water(liquor)?.clone(),
                })
            })
            .collect()
    }
}

/// The waters of a liquor. A crumb that the search left of another is not poured, and the
/// rest makes up for it.
fn blend(model: &Model, x: &[f64], liquor: Liquor) -> Vec<Part> {
    let poured = |(column, share): (&super::model::Column, &f64)| match column.what {
        What::Water { source, variant } if column.at.acts_in(liquor) && *share > NO_SHARE => {
            Some((source, variant, *share))
        }
        _ => None,
    };
    let poured: Vec<_> = model.columns.iter().zip(x).filter_map(poured).collect();
    let all: f64 = poured.iter().map(|(_, _, share)| share).sum();
    let part = |(source, variant, share): (usize, usize, f64)| {
        let variant = &model.task.sources[source].variants[variant];
        Part {
            source,
            name: variant.water.name.clone(),
            how: variant.how.clone(),
            volume: Volume::from_l(share / all * volume_l(model.task, liquor)),
        }
    };
    poured.into_iter().map(part).collect()
}

/// One plan for each blend.
fn plans(model: &Model, x: &[f64]) -> Vec<WaterPlan> {
    Where::groups(model.task, model.task.blends)
        .into_iter()
        .map(|at| plan(model, x, at))
        .collect()
}

fn plan(model: &Model, x: &[f64], at: Where) -> WaterPlan {
    let task = model.task;
    let here = |liquor: Liquor| at.acts_in(liquor) && volume_l(task, liquor) > 0.0;
    let volume = |liquor| {
        if here(liquor) {
            volume_l(task, liquor)
        } else {
            0.0
        }
    };
    let mut plan = WaterPlan {
        sources: vec![],
        mash_volume: Volume::from_l(volume(Liquor::Mash)),
        sparge_volume: Volume::from_l(volume(Liquor::Sparge)),
        dechlorination: part_of_dose(task, at),
        salts: vec![],
        acids: vec![],
    };
    for (column, x) in model.columns.iter().zip(x) {
        match column.what {
            What::Water { source, variant } if column.at == at && *x > NO_SHARE => {
                plan.sources.push(SourceShare {
                    water: water(task, source, variant),
                    share: Fraction::from_ratio(x.min(1.0)),
                });
            }
            What::Salt(_) | What::Acid(_) if *x > 0.0 => {
                for into in liquors(task).filter(|liquor| here(*liquor)) {
                    let amount = x * column.amount * model.part_in(column.at, into);
                    if amount > 0.0 {
                        dose(&mut plan, task, column.what, amount, into);
                    }
                }
            }
            _ => {}
        }
    }
    plan
}

fn water(task: &Task, source: usize, variant: usize) -> SourceWater {
    task.sources[source].variants[variant].water.clone()
}

fn dose(plan: &mut WaterPlan, task: &Task, what: What, amount: f64, into: Liquor) {
    match what {
        What::Salt(item) => plan.salts.push(SaltDose {
            salt: task.salts[item].salt,
            mass: Mass::from_kg(tidy(amount)),
            into,
        }),
        What::Acid(item) => plan.acids.push(AcidDose {
            product: task.acids[item].product,
            amount: amount_like(task.acids[item].resolution, tidy(amount)),
            into,
        }),
        _ => {}
    }
}

/// Twelve digits: 0.0042 kg, not 0.004200000000000001.
fn tidy(amount: f64) -> f64 {
    let digits = 10f64.powf(11.0 - amount.abs().log10().floor());
    if digits.is_finite() && digits > 0.0 {
        (amount * digits).round() / digits
    } else {
        amount
    }
}

/// A dose that was set for all liquor, for the part of it that is one blend.
fn part_of_dose(task: &Task, at: Where) -> Dechlorination {
    let all: f64 = liquors(task).map(|liquor| volume_l(task, liquor)).sum();
    let part = at.litres(task) / all;
    match task.dechlorination {
        Dechlorination::Reagent {
            reagent,
            purity,
            excess,
            dose,
        } => Dechlorination::Reagent {
            reagent,
            purity,
            excess,
            dose: match dose {
                Dose::Matched => Dose::Matched,
                Dose::Mass(mass) => Dose::Mass(Mass::from_canonical(mass.canonical() * part)),
                Dose::Tablets { count, tablet_mass } => Dose::Tablets {
                    count: count * part,
                    tablet_mass,
                },
            },
        },
        other => other,
    }
}
