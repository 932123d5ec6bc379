//! From a batch and what is at hand to the task of the water stage.

use quantity::{Alkalinity, Count, Measured, Note, Ph, Quantity, Sulfate};
use water::analysis::analyse;
use water::design::{
    AcidMaltAtHand, Aim, Aims, Bounds, Grist, Limits, LiquorTask, RatioAim, ShareLimits,
    SourceAtHand, Task, Together, Variant,
};
use water::mash_ph::{AcidMalt, Tun};
use water::{Origin, SourceWater};

use super::at_hand::{AtHand, MaltAtHand};
use super::pretreated::{Pretreated, boiled, limed};
use super::question::{DISTILLED, MALT};
use super::settings::setting;
use super::{Asked, MineralsError};
use crate::document::AimSection;
use crate::liquor::dissolved::sparge_alkalinity_at;
use crate::plan::{dechlorination, mash_malts, source_water};
use crate::reader::Assumption;
use crate::stream::Reckoning;

/// The task of a batch.
///
/// Aims are those of the document, a ± as what would do; without one, a row of
/// `data/minerals.toml`, listed among the assumptions.
///
/// # Errors
/// [`MineralsError`] for a document without an aim for its liquor, and for
/// waters that cannot be boiled or limed on paper.
pub fn task(r: &Reckoning, at_hand: &AtHand) -> Result<Asked, MineralsError> {
    let asked = without_waters(r, at_hand)?;
    let pretreated = pretreated(r, at_hand)?;
    Ok(Asked {
        task: Task {
            sources: sources(r, at_hand, &pretreated),
            ..asked.task
        },
        pretreated,
        ..asked
    })
}

/// The same task with no water in it yet.
///
/// # Errors
/// [`MineralsError::NoAim`], and for a treatment that cannot be.
pub(in crate::liquor) fn without_waters(
    r: &Reckoning,
    at_hand: &AtHand,
) -> Result<Asked, MineralsError> {
    let mut assumptions = at_hand.assumptions.clone();
    let mut aiming = Aiming {
        assumptions: &mut assumptions,
    };
    let none = AimSection::default();
    let aim = r.document.aim.as_ref().unwrap_or(&none);
    let aims = aiming.aims(aim, r);
    let grist = aiming.grist(aim, r, at_hand.acid_malt.as_ref());
    let sparges = r.volumes.sparge_liquor.l() > 0.0;
    let nothing = aims == Aims::default()
        && aim.sparge_alkalinity.is_none()
        && grist.as_ref().is_none_or(|g| g.aim.is_none());
    if nothing {
        return Err(MineralsError::NoAim);
    }
    let sparge = aiming.sparge(aim, at_hand, &aims, sparges.then_some(r))?;
    let limits = if at_hand.taste {
        Limits::of_taste()
    } else {
        Limits::default()
    };
    let pour = setting("jug");
    if at_hand.blend.is_free() {
        assumptions.push(pour.assumed("jug"));
    }
    let task = Task {
        sources: vec![],
        pour: pour.quantity(),
        dechlorination: dechlorination(&r.document.water.treatment)?,
        mash: LiquorTask {
            volume: r.volumes.mash_liquor,
            aims,
            limits,
        },
        sparge: LiquorTask {
            volume: r.volumes.sparge_liquor,
            limits: Limits {
                alkalinity: sparge.limit,
                ..limits
            },
            aims: sparge.aims,
        },
        blends: Together::Alike,
        additions: Together::Apart,
        acid_malt: at_hand
            .acid_malt
            .map(|malt| acid_malt(r, malt, &mut assumptions)),
        grist,
        salts: at_hand.salts.clone(),
        acids: at_hand.acids.clone(),
        acids_below_taste: at_hand.taste,
        at_most_kinds: at_hand.at_most_kinds,
        ladder: true,
        worth_of_a_tolerance: at_hand.worth,
    };
    Ok(Asked {
        task,
        pretreated: vec![],
        assumptions,
        remarks: remarks(r, at_hand),
    })
}

fn remarks(r: &Reckoning, at_hand: &AtHand) -> Vec<Note> {
    let mut remarks = vec![];
    if r.document.mash.carbon_dioxide == Tun::Closed {
        remarks.push(Note::look(
            "The search reckons a mash whose carbon dioxide leaves; this batch says that it \
             stays, so its mash pH comes out lower than found here.",
        ));
    }
    if let Some(ph) = at_hand.sparge_ph {
        remarks.push(Note::fine(format!(
            "Sparge water at pH {ph}: just after mixing, for the waters as they are blended in the \
             batch now. It drifts up as carbon dioxide leaves, with stirring and with heat."
        )));
    }
    if at_hand.acid_malt.is_some() {
        remarks.push(Note::fine(
            "Acidulated malt counts as grain: with more or less of it the mash liquor changes a \
             little, so look at the figures again once it is in the batch.",
        ));
    }
    remarks
}

/// The sources of the document in their order, then distilled water.
fn sources(r: &Reckoning, at_hand: &AtHand, pretreated: &[Pretreated]) -> Vec<SourceAtHand> {
    let entries = &r.document.water.sources;
    let mut sources: Vec<SourceAtHand> = entries
        .iter()
        .enumerate()
        .map(|(at, entry)| {
            let plain = SourceAtHand::plain(source_water(entry));
            let others = pretreated.iter().filter(|p| p.source == at);
            let others = others.map(|p| Variant {
                how: p.how.clone(),
                water: p.water.clone(),
                price_per_litre: None,
            });
            let planned = entry.share.map(|share| ShareLimits::fixed(share.value));
            SourceAtHand {
                variants: plain.variants.into_iter().chain(others).collect(),
                share: planned
                    .filter(|_| !at_hand.blend.is_free())
                    .unwrap_or(ShareLimits::FREE),
                ..plain
            }
        })
        .collect();
    if let Some(distilled) = &at_hand.distilled {
        let water = distilled_water();
        let mut source = SourceAtHand::plain(water);
        source.at_hand = distilled.at_hand;
        for variant in &mut source.variants {
            variant.price_per_litre = distilled.price_per_litre;
        }
        sources.push(source);
    }
    sources
}

/// Water without anything in it.
pub(in crate::liquor) fn distilled_water() -> SourceWater {
    SourceWater {
        origin: Origin::Purified,
        ..SourceWater::named(DISTILLED)
    }
}

fn pretreated(r: &Reckoning, at_hand: &AtHand) -> Result<Vec<Pretreated>, MineralsError> {
    let mut all = vec![];
    for (at, entry) in r.document.water.sources.iter().enumerate() {
        let water = source_water(entry);
        // A water that must not be used is refused for that, not for its chalk.
        analyse(water.clone())?.verdict.allow_advice(&water.name)?;
        let made = [
            at_hand.boiled.then(|| boiled(at, entry, &water)),
            at_hand.limed.then(|| limed(at, entry, &water)),
        ];
        for made in made.into_iter().flatten() {
            let made = made?;
            // A soft water has nothing that could fall out.
            let fell = water.alkalinity.meq_per_l() - made.water.alkalinity.meq_per_l();
            if fell > NOTHING_FELL_MEQ_PER_L {
                all.push(made);
            }
        }
    }
    Ok(all)
}

/// Less than that is not worth the work.
const NOTHING_FELL_MEQ_PER_L: f64 = 0.1;

fn acid_malt(r: &Reckoning, malt: MaltAtHand, assumptions: &mut Vec<Assumption>) -> AcidMaltAtHand {
    let (most, scale) = (setting("acid_malt_at_most"), setting("acid_malt_scale"));
    assumptions.push(most.assumed("most acidulated malt in the grist"));
    assumptions.push(scale.assumed("scale for acidulated malt"));
    let said = r.document.grist.iter().filter(|g| g.class == MALT);
    let acidity = said.filter_map(|g| g.sheet.acidity).next();
    AcidMaltAtHand {
        acidity: acidity.unwrap_or_else(|| AcidMalt::unmeasured(Default::default()).acidity),
        at_hand: malt.at_hand,
        at_most: most.quantity(),
        resolution: scale.quantity(),
        price_per_kg: malt.price_per_kg,
    }
}

/// About what a tenth of a millilitre of acid moves in ten litres.
const LEAST_TOLERANCE_MEQ_PER_L: f64 = 0.05;

/// What the sparge liquor is to be.
struct Sparge {
    aims: Aims,
    limit: Bounds<Alkalinity>,
}

/// Makes aims of a document those of the search, and lists what it takes itself.
struct Aiming<'a> {
    assumptions: &'a mut Vec<Assumption>,
}

impl Aiming<'_> {
    fn aims(&mut self, aim: &AimSection, r: &Reckoning) -> Aims {
        let chloride = aim
            .chloride
            .map_or(r.water.tap.water.ions.chloride, |aim| aim.value)
            .mg_per_l();
        Aims {
            calcium: self.ion("calcium", aim.calcium),
            magnesium: self.ion("magnesium", aim.magnesium),
            sodium: self.ion("sodium", aim.sodium),
            potassium: None,
            chloride: self.ion("chloride", aim.chloride),
            sulfate: self.ion("sulfate", aim.sulfate),
            alkalinity: self.near("alkalinity", "alkalinity_tolerance", aim.alkalinity),
            residual_alkalinity: self.near(
                "residual_alkalinity",
                "alkalinity_tolerance",
                aim.residual_alkalinity,
            ),
            sulfate_to_chloride: aim
                .sulfate_to_chloride
                .map(|ratio| self.ratio(ratio, chloride)),
        }
    }

    /// The tolerance of an ion that has none: a share of it, and no less than what
    /// an analysis can tell.
    fn ion<Q: Quantity>(&mut self, key: &str, aim: Option<Measured<Q>>) -> Option<Aim<Q>> {
        let aim = aim?;
        if aim.sd() > 0.0 {
            return Some(Aim::near(aim.value, Q::from_canonical(aim.sd())));
        }
        let share = setting("ion_tolerance");
        let least = setting("least_ion_tolerance");
        let ratio: quantity::Fraction = share.quantity();
        let floor: Sulfate = least.quantity();
        let tolerance = (ratio.ratio() * aim.canonical()).max(floor.mg_per_l());
        let taken = if tolerance > floor.mg_per_l() {
            share
        } else {
            least
        };
        self.assumptions
            .push(taken.assumed(format!("± of aim.{key}")));
        Some(Aim::near(aim.value, Q::from_canonical(tolerance)))
    }

    fn near<Q: Quantity + std::str::FromStr<Err = quantity::QuantityError>>(
        &mut self,
        key: &str,
        otherwise: &str,
        aim: Option<Measured<Q>>,
    ) -> Option<Aim<Q>> {
        let aim = aim?;
        if aim.sd() > 0.0 {
            return Some(Aim::near(aim.value, Q::from_canonical(aim.sd())));
        }
        let usual = setting(otherwise);
        self.assumptions
            .push(usual.assumed(format!("± of aim.{key}")));
        Some(Aim::near(aim.value, usual.quantity()))
    }

    /// The spread of the ratio becomes one of sulfate at the chloride aimed at, or
    /// else at that of the tap.
    fn ratio(&mut self, ratio: Measured<Count>, chloride_mg_per_l: f64) -> RatioAim {
        let mut spread = ratio.sd();
        if spread <= 0.0 {
            let usual = setting("ratio_tolerance");
            self.assumptions
                .push(usual.assumed("± of aim.sulfate_to_chloride"));
            spread = usual.quantity::<quantity::Fraction>().ratio() * ratio.canonical();
        }
        let least: Sulfate = setting("least_ion_tolerance").quantity();
        RatioAim {
            mass_ratio: ratio.canonical(),
            tolerance: Sulfate::from_mg_per_l((spread * chloride_mg_per_l).max(least.mg_per_l())),
            weight: 1.0,
            firm: false,
        }
    }

    /// Acidulated malt that is at hand is found anew, so that of the recipe does
    /// not count beside it.
    fn grist(
        &mut self,
        aim: &AimSection,
        r: &Reckoning,
        at_hand: Option<&MaltAtHand>,
    ) -> Option<Grist> {
        let malts = mash_malts(&r.document, &r.wort_plan);
        if malts.buffering.is_empty() {
            return None;
        }
        Some(Grist {
            malts: malts.buffering,
            acid_malts: if at_hand.is_some() {
                vec![]
            } else {
                malts.acid
            },
            aim: self.near::<Ph>("mash_ph", "ph_tolerance", aim.mash_ph),
            limits: Bounds::default(),
        })
    }

    /// What the sparge liquor of a batch that has one is to be.
    fn sparge(
        &mut self,
        aim: &AimSection,
        at_hand: &AtHand,
        mash: &Aims,
        sparged: Option<&Reckoning>,
    ) -> Result<Sparge, MineralsError> {
        let nothing = Sparge {
            aims: Aims::default(),
            limit: Bounds::default(),
        };
        let Some(r) = sparged else {
            return Ok(nothing);
        };
        let by_ph = match at_hand.sparge_ph {
            Some(ph) => Some(self.at_ph(r, ph)?),
            None => None,
        };
        let most = match aim.sparge_alkalinity {
            Some(most) => Some(most.value),
            // Without an acid a limit that nobody set could only be in the way.
            None if by_ph.is_none() && !at_hand.acids.is_empty() => {
                let usual = setting("sparge_alkalinity");
                self.assumptions
                    .push(usual.assumed("aim.sparge_alkalinity"));
                Some(usual.quantity())
            }
            None => None,
        };
        let ions = if at_hand.sparge_alike {
            Aims {
                alkalinity: None,
                residual_alkalinity: None,
                ..*mash
            }
        } else {
            nothing.aims
        };
        Ok(Sparge {
            aims: Aims {
                alkalinity: by_ph,
                ..ions
            },
            limit: Bounds {
                at_most: most,
                ..nothing.limit
            },
        })
    }

    /// The alkalinity that a pH of the sparge liquor stands for, for this batch's waters
    /// as they are blended now.
    fn at_ph(&mut self, r: &Reckoning, ph: Ph) -> Result<Aim<Alkalinity>, MineralsError> {
        let at = |ph: Ph| {
            sparge_alkalinity_at(r, ph).map_err(|error| MineralsError::SpargePh {
                ph,
                message: error.to_string(),
            })
        };
        let usual = setting("ph_tolerance");
        self.assumptions.push(usual.assumed("± of the sparge pH"));
        let target = at(ph)?;
        let lower = Ph::from_ph(ph.ph() - usual.quantity::<Ph>().ph());
        let wide = target.meq_per_l() - at(lower)?.meq_per_l();
        let tolerance = wide.max(LEAST_TOLERANCE_MEQ_PER_L);
        Ok(Aim::near(target, Alkalinity::from_meq_per_l(tolerance)))
    }
}
