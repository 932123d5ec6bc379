//! A batch sparge with refills of given sizes.

use quantity::{Fraction, Volume};

use super::Bed;
use crate::amounts::{Volumes, WortAmount};
use crate::error::{WortError, check};
use crate::mix::{Mix, water_kg};
use crate::plan::WortPlan;

/// What refills of given sizes give.
#[derive(Debug, Clone, PartialEq)]
pub struct GivenRunOffs {
    /// Run-offs in order, the first wort first.
    pub run_offs: Vec<WortAmount>,
    /// What stays in the tun.
    pub left_in_tun: WortAmount,
    /// Extract collected, of what the mash dissolved.
    pub lauter_efficiency: Fraction,
    /// The same with equal refills of as much water together: the best there is.
    pub with_equal_refills: Fraction,
}

/// Drains the mash of a plan and refills it with so much sparge liquor each time, at
/// 20 °C, by the washing model of [`volumes`](crate::volumes()).
///
/// # Errors
/// [`WortError`] where nothing runs off, or for refills that are none.
pub fn given_run_offs(
    plan: &WortPlan,
    volumes: &Volumes,
    refills: &[Volume],
) -> Result<GivenRunOffs, WortError> {
    plan.check()?;
    let mut kg = Vec::with_capacity(refills.len());
    for refill in refills {
        kg.push(water_kg(check("a refill", refill.l(), "L", 0.0, 1e5)?));
    }
    let many = refills.len() as f64;
    check("refills of a batch sparge", many, "", 1.0, 50.0)?;
    let bed = Bed::of(plan);
    let full = Mix {
        extract_kg: bed.extract_kg,
        water_kg: bed.water_kg(water_kg(volumes.mash_liquor.l())),
    };
    if full.volume_l() <= bed.retained_l {
        return Err(WortError::NothingRunsOff {
            retained: Volume::from_l(bed.retained_l),
            liquid: Volume::from_l(full.volume_l()),
        });
    }
    let given = bed.batch(full, &kg);
    let each = kg.iter().sum::<f64>() / many;
    let equal = bed.batch(full, &vec![each; kg.len()]);
    Ok(GivenRunOffs {
        run_offs: given.run_offs.iter().map(|r| WortAmount::of(*r)).collect(),
        left_in_tun: WortAmount::of(given.left),
        lauter_efficiency: Fraction::from_ratio(given.mash_solutes),
        with_equal_refills: Fraction::from_ratio(equal.mash_solutes),
    })
}
