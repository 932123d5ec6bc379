//! Colour that the boil forms.

use quantity::{Colour, Measured, Source, Spread, Volume};

use crate::colour::{ColourOpinions, malt_colour_units, morey, opinions, with_spread};
use crate::plan::WortPlan;
use crate::thermal::Course;

use super::figures::FIGURES;

/// The boil that a fit to beers has in it \[min at 100 °C\] (judgement).
const IN_THE_FIT_MIN: f64 = 60.0;

/// The colour of the wort and what the boil has done to it.
///
/// Morey's fit was made to beers, so it holds an ordinary hour's boil and what the
/// fermentation takes. What this boil forms more or less than that hour is added.
#[derive(Debug, Clone, PartialEq)]
pub struct BoilColour {
    /// The colour by the grist, with an hour's boil in it.
    pub by_grist: Colour,
    /// Time at 100 °C that browns as much as this heat-up, boil, stand and chiller.
    pub as_boil: quantity::Duration,
    /// What they form, with its range.
    pub formed: Measured<Colour>,
    /// What of it the fit to beers holds already.
    pub in_fit: Colour,
    /// The colour that goes on to the beer.
    pub wort: Measured<Colour>,
    /// How much darker the wort itself may look: what the fermentation takes is in the
    /// fit as well.
    pub before_fermentation: Measured<Colour>,
    /// What two other formulas say of the grist in the same volume.
    pub opinions: ColourOpinions,
}

impl BoilColour {
    /// The colour given by the mash, changed as Morey's formula has it for the smaller
    /// volume, and as this boil is longer or shorter than an hour.
    pub(super) fn of(plan: &WortPlan, course: &Course, given: Colour, volumes: Litres) -> Self {
        let units = |litres: f64| malt_colour_units(&plan.grist, Volume::from_l(litres));
        let before = morey(units(volumes.kettle_full)).ebc();
        let after = morey(units(volumes.end)).ebc();
        let ratio = if before > 0.0 { after / before } else { 1.0 };
        let by_grist = given.ebc() * ratio;
        let as_boil_min = course.minutes_at_100_c(FIGURES.browning_doubles_in.value);
        let (formed, in_fit) = (
            formed_ebc(as_boil_min, by_grist),
            formed_ebc(IN_THE_FIT_MIN, by_grist),
        );
        let wort = (by_grist + formed - in_fit).max(0.0);
        // The fit's own spread holds that of an hour's boil; only the difference adds.
        let range = &FIGURES.browning_in_an_hour;
        let grist_sd = with_spread(Colour::from_ebc(by_grist)).sd();
        let sd = grist_sd.hypot((formed - in_fit) * range.relative_sd());
        Self {
            by_grist: Colour::from_ebc(by_grist),
            as_boil: quantity::Duration::from_min(as_boil_min),
            formed: ranged(formed, range.low / range.value, range.high / range.value),
            in_fit: Colour::from_ebc(in_fit),
            wort: Measured::with_sd(Colour::from_ebc(wort), sd),
            before_fermentation: unfermented(wort),
            opinions: opinions(&plan.grist, Volume::from_l(volumes.end)),
        }
    }

    /// Where the figures of browning come from.
    #[must_use]
    pub fn sources() -> Vec<Source> {
        let figures = &*FIGURES;
        [
            &figures.browning_in_an_hour,
            &figures.browning_slows,
            &figures.browning_doubles_in,
            &figures.browning_share,
            &figures.fermentation_takes,
        ]
        .map(super::figures::Known::source)
        .into()
    }
}

/// The volumes between which the wort is boiled down \[L\].
#[derive(Debug, Clone, Copy)]
pub(super) struct Litres {
    pub(super) kettle_full: f64,
    /// After the boil, with the dilution in the fermenter.
    pub(super) end: f64,
}

/// Colour formed in so many minutes at 100 °C \[EBC\]: c₁·(1 − e^(−t/τ))/(1 − e^(−60/τ)),
/// c₁ that of an hour, but no more than a share of the colour of pale wort.
fn formed_ebc(min: f64, of_ebc: f64) -> f64 {
    let tau_min = FIGURES.browning_slows.value;
    let in_an_hour = FIGURES
        .browning_in_an_hour
        .value
        .min(FIGURES.browning_share.value * of_ebc);
    in_an_hour * (-min / tau_min).exp_m1() / (-60.0 / tau_min).exp_m1()
}

fn ranged(ebc: f64, low: f64, high: f64) -> Measured<Colour> {
    Measured {
        value: Colour::from_ebc(ebc),
        spread: Spread::Range {
            low: ebc * low,
            high: ebc * high,
        },
    }
}

fn unfermented(beer_ebc: f64) -> Measured<Colour> {
    let takes = &FIGURES.fermentation_takes;
    let over = |share: f64| (1.0 - takes.value) / (1.0 - share);
    ranged(
        beer_ebc / (1.0 - takes.value),
        over(takes.low),
        over(takes.high),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Common practice: a boil adds 1 to 3 EBC; most of what a long boil forms comes in
    /// the first hour (abstract read).
    #[test]
    fn an_hour_forms_what_practice_says() {
        assert!((formed_ebc(60.0, 12.0) - 2.0).abs() < 1e-12);
        assert!(formed_ebc(60.0, 12.0) > 0.5 * formed_ebc(1e4, 12.0));
        assert!((formed_ebc(0.0, 12.0)).abs() < 1e-12);
    }

    /// Half again of its own colour for a pale laboratory wort (abstract read): 3 EBC
    /// unboiled become 4.5.
    #[test]
    fn a_pale_wort_gains_half_of_its_own() {
        let boiled = 4.5;
        let unboiled = boiled - formed_ebc(60.0, boiled);
        assert!((boiled / unboiled - 1.5).abs() < 1e-3);
    }

    /// Practice: fermentation takes 10 to 30 %.
    #[test]
    fn the_wort_is_darker_by_what_fermentation_takes() {
        let wort = unfermented(8.0);
        assert!((wort.value.ebc() - 10.0).abs() < 1e-9);
        assert!((wort.lower().ebc() * 0.9 - 8.0).abs() < 1e-9);
        assert!((wort.upper().ebc() * 0.7 - 8.0).abs() < 1e-9);
    }
}
