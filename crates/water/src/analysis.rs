//! What a water is: blend, hardness, balance, fitness.

mod balance;
mod blend;
mod fitness;
mod hardness;
mod limits;

use quantity::{Alkalinity, Caution, Chlorine, Hardness, Note, Weight};

use crate::check;
use crate::error::WaterError;
use crate::state::{SourceShare, SourceWater};

pub use balance::{IonBalance, ion_balance};
pub use fitness::{Verdict, brewing_notes, fitness, unfit, verdict};
pub use hardness::{residual_alkalinity, temporary_hardness, total_hardness};
pub use limits::{
    Cause, Item, Kind, Limit, PhLimit, Refusal, TestedFor, limits, ph_limits, refusals, tested_for,
};

/// A water and what follows from its figures.
#[derive(Debug, Clone, PartialEq)]
pub struct Analysis {
    /// The water; of a blend, the blend.
    pub water: SourceWater,
    /// Whether its ions add up.
    pub balance: IonBalance,
    /// Calcium and magnesium together.
    pub hardness: Hardness,
    /// The part of the hardness that boiling can drop.
    pub temporary_hardness: Hardness,
    /// Alkalinity that calcium and magnesium leave in the mash.
    pub residual_alkalinity: Alkalinity,
    /// Free chlorine.
    pub free_chlorine: Chlorine,
    /// Combined chlorine.
    pub combined_chlorine: Chlorine,
    /// Whether it may be brewed with.
    pub verdict: Verdict,
    /// Remarks.
    pub notes: Vec<Note>,
    /// What can hurt someone.
    pub cautions: Vec<Caution>,
}

/// Says what one water is.
///
/// # Errors
/// [`WaterError::OutOfBounds`] or [`WaterError::FreeAboveTotal`].
pub fn analyse(water: SourceWater) -> Result<Analysis, WaterError> {
    check::source(&water)?;
    let balance = ion_balance(&water);
    let (free_chlorine, combined_chlorine) = free_and_combined(&water)?;
    let mut notes = balance.notes();
    let fitness = fitness(&water);
    let verdict = Verdict::of(&fitness);
    notes.extend(fitness);
    notes.extend(softener_note(&water));
    Ok(Analysis {
        balance,
        hardness: total_hardness(&water.ions),
        temporary_hardness: temporary_hardness(&water.ions, water.alkalinity),
        residual_alkalinity: residual_alkalinity(&water.ions, water.alkalinity),
        free_chlorine,
        combined_chlorine,
        verdict,
        notes,
        cautions: fitness::unfit(&water)
            .then_some(Caution::UnfitWater)
            .into_iter()
            .collect(),
        water,
    })
}

/// Blends sources by their shares and says what the blend is.
///
/// Ions, alkalinity and chlorine mix linearly. Shares may miss a whole by half a
/// per cent, and are scaled to it. Standard deviations of chlorine add in
/// quadrature, weighted by share. What is not measured in every source is not
/// known of the blend; each source is held to the limits on its own too, so that
/// dilution hides nothing. Germs, notices, smells, the kind of source and the age of
/// the test are those of the worst source, which no dilution mends. A source without a free chlorine reading counts all
/// its chlorine as combined, unless none of them has one.
///
/// # Errors
/// [`WaterError::NoSource`], [`WaterError::Shares`], and those of [`analyse`].
pub fn analyse_blend(sources: &[SourceShare]) -> Result<Analysis, WaterError> {
    let mut analysis = analyse(blend::blend(sources)?)?;
    if sources.len() > 1 {
        let hidden = blend::hidden_by_dilution(sources, &analysis.water);
        if analysis.cautions.is_empty() && hidden.iter().any(|n| n.weight == Weight::Act) {
            analysis.cautions.push(Caution::UnfitWater);
        }
        if let Verdict::DoNotUse { reasons } = Verdict::of(&hidden) {
            let mut all = match analysis.verdict {
                Verdict::DoNotUse { reasons } => reasons,
                Verdict::Fit | Verdict::Look { .. } => vec![],
            };
            all.extend(reasons);
            analysis.verdict = Verdict::DoNotUse { reasons: all };
        }
        analysis.notes.extend(hidden);
    }
    Ok(analysis)
}

/// Free and combined chlorine \[mg/L as Cl₂\]: combined is total less free. Where
/// free is not known all of it counts as combined, which is harder to remove.
///
/// # Errors
/// [`WaterError::FreeAboveTotal`].
pub fn free_and_combined(water: &SourceWater) -> Result<(Chlorine, Chlorine), WaterError> {
    check::source(water)?;
    let total = water.total_chlorine.value.mg_per_l();
    let free = water
        .free_chlorine
        .map_or(0.0, |free| free.value.mg_per_l());
    let combined = (total - free).max(0.0);
    Ok((
        Chlorine::from_mg_per_l(free),
        Chlorine::from_mg_per_l(combined),
    ))
}

/// A household softener swaps calcium and magnesium for sodium and leaves the
/// alkalinity. The bounds are judgement.
fn softener_note(water: &SourceWater) -> Option<Note> {
    let alkalinity = water.alkalinity.meq_per_l();
    let hardness = total_hardness(&water.ions).meq_per_l();
    let softened = alkalinity > 1.0
        && hardness < 0.2 * alkalinity
        && water.ions.sodium.meq_per_l() > 0.7 * alkalinity;
    softened.then(|| {
        Note::look(
            "Hardness is low and sodium high beside the alkalinity: if a softener made it so, \
             draw the water before the softener, for its alkalinity is left and its calcium gone.",
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::{Measured, Nitrate, Nitrite, Sodium};

    fn water(name: &str) -> SourceWater {
        SourceWater {
            total_chlorine: Measured::exactly(Chlorine::from_mg_per_l(1.0)),
            ..SourceWater::named(name)
        }
    }

    fn half(water: SourceWater) -> SourceShare {
        SourceShare {
            water,
            share: quantity::Fraction::from_ratio(0.5),
        }
    }

    #[test]
    fn without_a_free_reading_all_is_combined() {
        let (free, combined) = free_and_combined(&water("tap")).unwrap();
        assert!(free.mg_per_l().abs() < 1e-12 && (combined.mg_per_l() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn more_free_than_total_is_refused() {
        let mut tap = water("tap");
        tap.free_chlorine = Some(Measured::exactly(Chlorine::from_mg_per_l(1.2)));
        let error = analyse(tap).unwrap_err();
        assert!(matches!(error, WaterError::FreeAboveTotal { free, .. } if free > 1.0));
    }

    #[test]
    fn impossible_figures_are_refused_by_name() {
        for bad in [f64::NAN, f64::INFINITY, -1.0] {
            let mut tap = water("tap");
            tap.ions.sodium = Sodium::from_mg_per_l(bad);
            let message = analyse(tap).unwrap_err().to_string();
            assert!(message.starts_with("tap: sodium is"), "{message}");
        }
    }

    #[test]
    fn a_limit_hidden_by_an_unmeasured_source_still_stops_the_brew() {
        let mut well = water("well");
        well.nitrite = Some(Nitrite::from_mg_per_l(5.0));
        let blend = analyse_blend(&[half(well), half(water("tap"))]).unwrap();
        assert_eq!(blend.water.nitrite, None);
        assert_eq!(blend.cautions, [Caution::UnfitWater]);
    }

    #[test]
    fn no_dilution_mends_germs_notices_or_an_untested_well() {
        let mut well = water("well");
        well.origin = crate::Origin::PrivateWell;
        let mut tap = water("tap");
        tap.e_coli = Some(crate::Germs::Absent);
        tap.notice = Some(crate::Notice::Boil);
        let mut burst = tap.clone();
        burst.e_coli = Some(crate::Germs::Found);
        burst.notice = None;
        let reasons = |a: &SourceWater, b: &SourceWater| {
            let blend = analyse_blend(&[half(a.clone()), half(b.clone())]).unwrap();
            assert!(!blend.verdict.usable());
            assert_eq!(blend.cautions, [Caution::UnfitWater]);
            blend.verdict.reasons().len()
        };
        assert_eq!(reasons(&well, &tap), 2, "untested and under notice");
        assert_eq!(reasons(&tap, &burst), 2, "germs and notice");
        let unused = SourceShare {
            share: quantity::Fraction::default(),
            ..half(burst)
        };
        let whole = SourceShare {
            share: quantity::Fraction::from_ratio(1.0),
            ..half(water("tap"))
        };
        assert!(analyse_blend(&[unused, whole]).unwrap().verdict.usable());
    }

    #[test]
    fn dilution_below_a_limit_is_told() {
        let mut well = water("well");
        well.ions.nitrate = Nitrate::from_mg_per_l(60.0);
        let blend = analyse_blend(&[half(well), half(water("tap"))]).unwrap();
        assert!(blend.cautions.is_empty());
        let told = |n: &Note| n.weight == Weight::Look && n.text.contains("well by itself");
        assert!(blend.notes.iter().any(told), "{:?}", blend.notes);
    }

    #[test]
    fn nitrate_above_the_limit_is_unfit() {
        let mut well = water("well");
        well.ions.nitrate = Nitrate::from_mg_per_l(60.0);
        well.ions.sodium = Sodium::from_mg_per_l(60.0 / Nitrate::MOLAR_MASS * Sodium::MOLAR_MASS);
        assert_eq!(analyse(well).unwrap().cautions, [Caution::UnfitWater]);
        assert!(analyse(water("tap")).unwrap().cautions.is_empty());
    }

    #[test]
    fn softened_water_is_noticed() {
        let mut soft = water("house");
        soft.ions.sodium = Sodium::from_mg_per_l(5.0 * Sodium::MOLAR_MASS);
        soft.alkalinity = Alkalinity::from_meq_per_l(5.0);
        let notes = analyse(soft).unwrap().notes;
        assert!(notes.iter().any(|n| n.text.contains("softener")));
    }
}
