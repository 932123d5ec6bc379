//! Where the extract goes, from the laboratory's figure to the fermenter, and what the
//! kit has to do with it.

use quantity::{Fraction, Gravity, VolumePerMass};

use crate::amounts::Volumes;
use crate::error::WortError;
use crate::plan::{Sparge, WortPlan};
use crate::volumes::{kettle_sugars, laboratory_extract_kg, volumes};

/// A link of the chain.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// What it is.
    pub name: &'static str,
    /// Extract that comes through, of what went in.
    pub share: Fraction,
    /// What that means.
    pub means: &'static str,
}

/// The efficiency of a brewhouse as predicted from its kit.
#[derive(Debug, Clone, PartialEq)]
pub struct Efficiency {
    /// Conversion, lauter, into the fermenter.
    pub steps: Vec<Step>,
    /// Extract in the fermenter, of the laboratory extract (fine grind) of all that
    /// was used.
    pub brewhouse: Fraction,
}

/// Something that could be done with the kit.
#[derive(Debug, Clone, PartialEq)]
pub struct Move {
    /// What.
    pub what: String,
    /// Brewhouse efficiency then.
    pub brewhouse: Fraction,
    /// By how much that is more, in points of a hundred.
    pub gain_percent: f64,
    /// Gravity of the last runnings then.
    pub last_runnings: Gravity,
    /// Original gravity then.
    pub original_gravity: Gravity,
}

/// The chain of efficiencies of a plan.
///
/// Conversion = extract dissolved in the mash / laboratory extract of the grain (fine
/// grind, dry basis). Lauter = extract from the grain in the kettle / extract dissolved.
/// Into the fermenter = extract in the fermenter / extract in the kettle. Their product is
/// the brewhouse efficiency; with sugars in the kettle, which lose nothing before
/// it, the brewhouse efficiency lies above that product.
#[must_use]
pub fn efficiency(plan: &WortPlan, volumes: &Volumes) -> Efficiency {
    let share = |part: f64, of: f64| Fraction::from_ratio(if of > 0.0 { part / of } else { 1.0 });
    let sugars = kettle_sugars(plan).extract_kg;
    let laboratory = laboratory_extract_kg(plan);
    let of_grain = laboratory - sugars;
    Efficiency {
        steps: vec![
            Step {
                name: "conversion",
                share: share(plan.mash_extract_kg(), of_grain),
                means: "extract that the mash dissolves, of what a laboratory gets from the finely ground grain",
            },
            Step {
                name: "lauter",
                share: volumes.lauter_efficiency,
                means: "extract that reaches the kettle, of what the mash dissolved",
            },
            Step {
                name: "into the fermenter",
                share: share(
                    volumes.into_fermenter.extract.kg(),
                    volumes.pre_boil.extract.kg(),
                ),
                means: "extract that reaches the fermenter, of what was in the kettle",
            },
        ],
        brewhouse: volumes.brewhouse_efficiency,
    }
}

/// How the efficiency moves with the kit: one more refill, less wort held by the grain,
/// no dead space, less left in the kettle, a continuous sparge. What cannot be brewed
/// is left out.
///
/// # Errors
/// [`WortError`] where the plan itself cannot be brewed.
pub fn moves(plan: &WortPlan) -> Result<Vec<Move>, WortError> {
    let now = volumes(plan)?;
    let tried = candidates(plan);
    Ok(tried
        .into_iter()
        .filter_map(|(what, plan)| {
            let then = volumes(&plan).ok()?;
            let (before, after) = (now.brewhouse_efficiency, then.brewhouse_efficiency);
            Some(Move {
                what,
                brewhouse: after,
                gain_percent: 100.0 * (after.ratio() - before.ratio()),
                last_runnings: then.last_runnings,
                original_gravity: then.into_fermenter.gravity,
            })
        })
        .collect())
}

/// Less absorption that pressing or a slower drain may reach \[–\] (judgement).
const LESS_ABSORPTION: f64 = 0.8;

fn candidates(plan: &WortPlan) -> Vec<(String, WortPlan)> {
    let kit = &plan.kit;
    let mut tried = Vec::new();
    let mut attempt = |what: String, change: &dyn Fn(&mut WortPlan)| {
        let mut other = plan.clone();
        change(&mut other);
        tried.push((what, other));
    };
    if plan.grain_kg() > 0.0 {
        match plan.sparge {
            Sparge::None => attempt("one refill in place of none".into(), &|p| {
                p.sparge = Sparge::Batch { refills: 1 };
            }),
            Sparge::Batch { refills } => attempt("one more refill".into(), &|p| {
                p.sparge = Sparge::Batch {
                    refills: refills + 1,
                };
            }),
            Sparge::Continuous => {
                attempt("an evener bed, one mixed stage more".into(), &|p| {
                    p.kit.lauter_stages += 1;
                });
            }
        }
        if let Sparge::Batch { .. } = plan.sparge {
            attempt("a continuous sparge".into(), &|p| {
                p.sparge = Sparge::Continuous;
            });
        }
        let less = VolumePerMass::from_l_per_kg(kit.absorption.l_per_kg() * LESS_ABSORPTION);
        attempt(
            format!("grain drained to {less} in place of {}", kit.absorption),
            &|p| {
                p.kit.absorption = less;
            },
        );
        if kit.tun_dead.l() > 0.0 {
            attempt("no dead space in the tun".into(), &|p| {
                p.kit.tun_dead = quantity::Volume::from_l(0.0);
            });
        }
    }
    if kit.kettle_loss.l() > 0.0 {
        attempt("half the wort left in the kettle".into(), &|p| {
            p.kit.kettle_loss = quantity::Volume::from_l(kit.kettle_loss.l() / 2.0);
        });
    }
    tried
}
