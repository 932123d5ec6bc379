//! What a hydrometer and a refractometer together say of a beer whose wort nobody saw.

use quantity::{AlcoholByVolume, Brix as Shown, Gravity, Measured};
use wort::instruments::{RefractometerReading, read_refractometer_in_beer, usual_wort_factor};

/// A sample without its gas, worked out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sampled {
    /// The gravity of its wort.
    pub original: Measured<Gravity>,
    /// Its alcohol.
    pub alcohol: Measured<AlcoholByVolume>,
}

/// What the wort was: the one for which the sum of refractive indices gives, from the
/// reading of the beer, the gravity that the hydrometer shows.
///
/// The spread is that of both readings, by differences, and half a degree Plato for the
/// sum of indices itself (judgement).
///
/// # Errors
/// In words, for readings that no beer has.
pub fn beer_of(gravity: Measured<Gravity>, reading: Measured<Shown>) -> Result<Sampled, String> {
    let at = |gravity: f64, reading: f64| original(gravity, reading);
    let (g, b) = (gravity.canonical(), reading.canonical());
    let likely = at(g, b)?;
    // A hydrometer in a jar and a hand refractometer, where nothing is said (judgement).
    let sd = |given: f64, usual: f64| if given > 0.0 { given } else { usual };
    let (sd_g, sd_b) = (sd(gravity.sd(), 0.13), sd(reading.sd(), 0.1));
    let along = |other: Result<f64, String>| other.map_or(0.5, |o| o - likely);
    let spread = along(at(g + sd_g, b))
        .hypot(along(at(g, b + sd_b)))
        .hypot(OF_THE_SUM);
    let alcohol = |oe: f64| {
        wort::alcohol::alcohol_by_volume(Gravity::from_plato(oe), gravity.value)
            .map(quantity::Quantity::canonical)
            .map_err(|error| error.to_string())
    };
    let strength = alcohol(likely)?;
    let more = alcohol(likely + spread)? - strength;
    Ok(Sampled {
        original: Measured::with_sd(Gravity::from_plato(likely), spread),
        alcohol: Measured::with_sd(quantity::Quantity::from_canonical(strength), more),
    })
}

/// °P that the sum of refractive indices may be off.
const OF_THE_SUM: f64 = 0.5;

/// By halving: the more extract there was, the less gravity is left at one reading.
fn original(gravity_plato: f64, reading: f64) -> Result<f64, String> {
    let unread = || {
        format!(
            "a beer of {gravity_plato:.1} °P does not show {reading:.1} °Bx; read both again without gas, at 20 °C"
        )
    };
    let shown = |bx: f64| RefractometerReading {
        reading: Measured::exactly(quantity::Quantity::from_canonical(bx)),
        uncompensated_at: None,
    };
    let left = |before: f64| {
        let read = read_refractometer_in_beer(&shown(before), &shown(reading), usual_wort_factor());
        read.ok()?.by_index.map(Gravity::plato)
    };
    let (mut low, mut high) = (reading, 35.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        // Where so much extract cannot leave this reading, there was less.
        let more_left = left(middle).is_some_and(|l| l > gravity_plato);
        if more_left {
            low = middle;
        } else {
            high = middle;
        }
    }
    let before = 0.5 * (low + high);
    let found = left(low).or_else(|| left(before)).ok_or_else(unread)?;
    if (found - gravity_plato).abs() > 0.05 {
        return Err(unread());
    }
    Ok(before / usual_wort_factor().value.ratio())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Forward by the sum of indices, then back.
    #[test]
    fn the_wort_is_found_again() {
        for (before, after) in [(12.4, 6.2), (15.0, 7.5), (20.0, 10.5)] {
            let shown = |bx: f64| RefractometerReading {
                reading: Measured::exactly(Shown::from_bx(bx)),
                uncompensated_at: None,
            };
            let forward =
                read_refractometer_in_beer(&shown(before), &shown(after), usual_wort_factor());
            let gravity = forward.unwrap().by_index.unwrap();
            let found = beer_of(
                Measured::exactly(gravity),
                Measured::exactly(Shown::from_bx(after)),
            )
            .unwrap();
            let wort = before / usual_wort_factor().value.ratio();
            assert!(
                (found.original.value.plato() - wort).abs() < 0.02,
                "{found:?}"
            );
            assert!(found.original.sd() > 0.4 && found.alcohol.sd() > 0.0);
        }
    }

    #[test]
    fn readings_of_no_beer_are_told() {
        let reading = Measured::exactly(Shown::from_bx(2.0));
        let told = beer_of(Measured::exactly(Gravity::from_plato(9.0)), reading).unwrap_err();
        assert!(told.contains("; "), "{told}");
    }
}
