//! The medicinal risk: a graded bound on chlorophenols, never a concentration.
//!
//! How much chlorophenol a wort makes from its chlorine is not known. The
//! amines of malt take up chlorine far faster than its phenols (from memory),
//! pH and heat decide the rest, and no yield in wort was found in print. What
//! is known is the chlorine, the stoichiometry, and how little it takes: so the
//! question is turned round. *What yield would be enough to be tasted?*

use quantity::molar_mass as m;
use quantity::{Chlorine, Fraction, MassConcentration};
use water::ResidualChlorine;

use crate::compound::Compound;
use crate::error::{GlassError, sound};
use crate::grade::Grade;

/// 2-Chlorophenol from chlorine at full yield, by mass \[–\]: one molecule from
/// each Cl₂, 1.813.
pub const CHLOROPHENOL_PER_CHLORINE: f64 = m::CHLOROPHENOL / m::CL2;

/// Largest yields \[–\] that still count as a grade: where a yield of 0.1 % is
/// enough the risk is high, of 1 % moderate, of 10 % low, and none where only
/// more would do. The steps are judgement: chlorination of phenols competes
/// with faster reactions, so each factor of ten in the yield that is needed is
/// taken as a grade.
pub const GRADE_YIELDS: [(f64, Grade); 3] = [
    (0.001, Grade::High),
    (0.01, Grade::Moderate),
    (0.1, Grade::Low),
];

/// Said wherever the risk is shown.
pub const YIELDS_UNKNOWN: &str = "how much chlorophenol wort makes from its chlorine is not known, so no concentration is given, only the yield that would be enough to be tasted";

/// How likely chlorine in the brewing water makes the beer medicinal.
#[derive(Debug, Clone, PartialEq)]
pub struct Medicinal {
    /// Chlorine that is expected to have met malt, per litre of beer.
    pub halogen: Chlorine,
    /// The most that it can have been.
    pub halogen_at_most: Chlorine,
    /// Taste threshold in beer that the grades use: the lower end of the range.
    pub threshold: MassConcentration,
    /// Smallest yield that reaches it from what is expected; none if even all
    /// of the chlorine would not do.
    pub yield_to_reach: Option<Fraction>,
    /// The same from the most that it can have been.
    pub yield_to_reach_at_most: Option<Fraction>,
    /// The same at the taste threshold in water, the strictest there is.
    pub yield_to_reach_as_in_water: Option<Fraction>,
    /// Grade of what is expected.
    pub expected: Grade,
    /// Grade of the most that it can have been.
    pub at_most: Grade,
    /// All of it in one or two sentences.
    pub sentence: String,
}

/// Grades the medicinal risk of the chlorine that met malt.
///
/// Yield needed = threshold / (1.813 · chlorine), with the lower end of what is
/// estimated for 2-chlorophenol in beer, 1 µg/L; in water 0.1 µg/L is tasted
/// (WHO Guidelines for drinking-water quality, from memory).
///
/// # Errors
/// [`GlassError::Impossible`] if the chlorine is negative or not a number.
pub fn medicinal(met: &ResidualChlorine) -> Result<Medicinal, GlassError> {
    sound("free chlorine met", met.free)?;
    sound("combined chlorine met", met.combined)?;
    let halogen = sound("chlorine met", met.total())?;
    let most = sound("the most chlorine met", met.at_most)?
        .mg_per_l()
        .max(halogen.mg_per_l());
    let halogen_at_most = Chlorine::from_mg_per_l(most);
    let (threshold, in_water) = thresholds();
    let expected = grade(yield_to_reach(halogen, threshold));
    let at_most = grade(yield_to_reach(halogen_at_most, threshold));
    let mut medicinal = Medicinal {
        yield_to_reach: yield_to_reach(halogen, threshold),
        yield_to_reach_at_most: yield_to_reach(halogen_at_most, threshold),
        yield_to_reach_as_in_water: yield_to_reach(halogen_at_most, in_water),
        sentence: String::new(),
        halogen,
        halogen_at_most,
        threshold,
        expected,
        at_most,
    };
    medicinal.sentence = sentence(&medicinal);
    Ok(medicinal)
}

/// The smallest yield \[–\] of 2-chlorophenol that reaches a threshold; none if
/// there is too little chlorine even at full yield.
#[must_use]
pub fn yield_to_reach(halogen: Chlorine, threshold: MassConcentration) -> Option<Fraction> {
    let needed = threshold.mg_per_l() / (halogen.mg_per_l() * CHLOROPHENOL_PER_CHLORINE);
    (0.0..=1.0)
        .contains(&needed)
        .then(|| Fraction::from_ratio(needed))
}

/// The lower threshold in beer and the one in water.
fn thresholds() -> (MassConcentration, MassConcentration) {
    let row = Compound::find("2-chlorophenol");
    let in_beer = row.map_or(MassConcentration::from_mg_per_l(1e-3), |c| c.threshold.low);
    (in_beer, row.and_then(|c| c.in_water).unwrap_or(in_beer))
}

fn grade(needed: Option<Fraction>) -> Grade {
    let Some(needed) = needed else {
        return Grade::None;
    };
    GRADE_YIELDS
        .iter()
        .find(|(at_most, _)| needed.ratio() <= *at_most)
        .map_or(Grade::None, |(_, grade)| *grade)
}

fn sentence(m: &Medicinal) -> String {
    let Some(most) = m.yield_to_reach_at_most else {
        return format!(
            "no chlorine to speak of met malt ({} at most): medicinal chlorophenols cannot come from the water",
            m.halogen_at_most
        );
    };
    let threshold = m.threshold;
    let of_most = format!(
        "a yield of {} would reach the threshold of {threshold}",
        percent(most)
    );
    if m.halogen_at_most.to_string() == m.halogen.to_string() {
        return format!("{} of chlorine met malt: {of_most}", m.halogen);
    }
    let of_expected = m.yield_to_reach.map_or_else(
        || "which cannot reach the threshold".to_owned(),
        |y| {
            format!(
                "of which a yield of {} would reach the threshold",
                percent(y)
            )
        },
    );
    format!(
        "{} of chlorine is expected to have met malt, {of_expected}; at most it was {}, and then {of_most}",
        m.halogen, m.halogen_at_most
    )
}

/// A yield in per cent with one significant digit below 1 %.
fn percent(part: Fraction) -> String {
    let x = part.ratio() * 100.0;
    if x >= 1.0 {
        return format!("{x:.0} %");
    }
    let decimals = (-x.log10()).ceil().clamp(1.0, 9.0) as usize;
    format!("{x:.decimals$} %")
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn met(free: f64, combined: f64, at_most: f64) -> Medicinal {
        medicinal(&ResidualChlorine {
            free: Chlorine::from_mg_per_l(free),
            combined: Chlorine::from_mg_per_l(combined),
            at_most: Chlorine::from_mg_per_l(at_most),
        })
        .unwrap()
    }

    /// 1 mg/L as Cl₂ is 14 µmol/L, enough for 1.8 mg/L of 2-chlorophenol, so
    /// that 0.01 % already passes the 0.1 µg/L of water: computed with
    /// periodictable 2.1.0.
    #[test]
    fn full_yield_is_the_stoichiometry() {
        assert!((1000.0 / m::CL2 - 14.1).abs() < 0.05);
        assert!((CHLOROPHENOL_PER_CHLORINE - 1.813).abs() < 6e-4);
        let tenth = MassConcentration::from_mg_per_l(1e-4);
        let needed = yield_to_reach(Chlorine::from_mg_per_l(1.0), tenth).unwrap();
        assert!((needed.ratio() * 100.0 - 0.0055).abs() < 1e-4);
    }

    /// 1 µg/L out of 1.8 · 1813 µg/L is 0.031 %.
    #[test]
    fn untreated_chloramine_is_a_high_risk() {
        let risk = met(0.0, 1.8, 1.8);
        assert_eq!((risk.expected, risk.at_most), (Grade::High, Grade::High));
        assert!((risk.yield_to_reach.unwrap().ratio() - 3.064e-4).abs() < 1e-6);
        assert!((risk.yield_to_reach_as_in_water.unwrap().ratio() - 3.064e-5).abs() < 1e-7);
        assert!(
            risk.sentence
                .contains("a yield of 0.03 % would reach the threshold"),
            "{}",
            risk.sentence
        );
    }

    #[test]
    fn treated_water_is_no_risk() {
        let risk = met(0.0, 0.0, 0.0);
        assert_eq!((risk.expected, risk.at_most), (Grade::None, Grade::None));
        assert_eq!(risk.yield_to_reach_at_most, None);
        assert!(risk.sentence.contains("cannot come from the water"));
    }

    /// 1.0 mg/L of free chlorine of which a boil leaves 1 to 3 %.
    #[test]
    fn boiled_free_chlorine_is_a_small_risk() {
        for left in [0.01, 0.03] {
            let risk = met(left, 0.0, left);
            assert!(
                risk.expected > Grade::None && risk.expected < Grade::High,
                "{left}"
            );
        }
        assert!(met(0.005, 0.0, 0.005).expected <= Grade::Low);
        assert!(met(0.0099, 0.0, 0.0099).expected <= Grade::Low);
    }

    #[test]
    fn doubt_about_the_treatment_shows_as_a_second_grade() {
        let risk = met(0.0, 0.0, 0.3);
        assert_eq!(
            (risk.expected, risk.at_most),
            (Grade::None, Grade::Moderate)
        );
        assert!(
            risk.sentence.contains("at most it was 0.30 mg/L"),
            "{}",
            risk.sentence
        );
    }

    #[test]
    fn a_bound_below_the_expected_is_lifted_to_it() {
        assert_eq!(met(0.5, 0.8, 0.0).at_most, met(0.5, 0.8, 1.3).at_most);
    }

    #[test]
    fn nonsense_is_refused() {
        for bad in [f64::NAN, -1.0, f64::INFINITY] {
            let met = ResidualChlorine {
                free: Chlorine::from_mg_per_l(bad),
                ..ResidualChlorine::default()
            };
            assert!(medicinal(&met).is_err());
        }
    }

    proptest! {
        #[test]
        fn more_chlorine_is_never_a_smaller_risk(
            free in 0.0..5.0f64, combined in 0.0..5.0f64, doubt in 0.0..1.0f64, more in 0.0..5.0f64,
        ) {
            let little = met(free, combined, free + combined + doubt);
            let much = met(free, combined + more, free + combined + doubt + more);
            prop_assert!(much.expected >= little.expected && much.at_most >= little.at_most);
            prop_assert!(little.at_most >= little.expected);
        }

        /// The yield that is named does reach the threshold, exactly.
        #[test]
        fn the_yield_reaches_the_threshold(chlorine in 0.01..10.0f64) {
            let risk = met(chlorine, 0.0, chlorine);
            let made = risk.yield_to_reach.unwrap().ratio() * chlorine * CHLOROPHENOL_PER_CHLORINE;
            prop_assert!((made - risk.threshold.mg_per_l()).abs() < 1e-12);
        }
    }
}
