//! Ferulic acid freed in the mash.
//!
//! No rate constants could be read; this is a placeholder until a brewer's or a
//! paper's data calibrate it (judgement). It has the shape that McMurrough et al.
//! (*J. Inst. Brew.* 102, 327–332, 1996, abstract) found: fastest near 45 °C, cut
//! sharply when mashing in at 65 °C; and below pH 5.7 it is slower.

use quantity::Ph;

use crate::mash::MashCourse;
use crate::mash::figures::FIGURES;

/// Free in the malt at once \[mg/kg\]: 2 mg/L in a 65 °C infusion of 12 °P.
const AT_ONCE_MG_PER_KG: f64 = 10.0;
/// What enzymes can free on top \[mg/kg\]: half an hour at 44 °C brings 12 °P wort
/// to 6 to 8 mg/L.
const BY_ENZYMES_MG_PER_KG: f64 = 42.0;
/// Rate at the best temperature \[1/min\].
const RATE_PER_MIN: f64 = 0.03;
const BEST_C: f64 = 44.0;
/// Distance at which the rate has halved \[°C\].
const HALF_WIDTH_C: f64 = 8.0;
/// The enzyme is gone above.
const ENDS_C: f64 = 65.0;

/// Steps that a change of temperature is followed in.
const STEPS: u32 = 24;

/// Ferulic acid freed from pale barley malt along the course of a mash \[mg/kg\].
pub(crate) fn freed_mg_per_kg(course: &MashCourse, mash_ph: Ph) -> f64 {
    let works = at_ph(mash_ph);
    let (mut exposure, mut left) = (0.0, 1.0);
    let mut boiled = course.boiled().iter().peekable();
    for ((from_min, from_c), (to_min, to_c)) in course.stretches() {
        while let Some((_, of_liquor, _)) = boiled.next_if(|(at, ..)| *at <= from_min + 1e-9) {
            left *= 1.0 - of_liquor;
        }
        let min = (to_min - from_min) / f64::from(STEPS);
        for n in 0..STEPS {
            let temp_c = from_c + (to_c - from_c) * (f64::from(n) + 0.5) / f64::from(STEPS);
            exposure += works * left * rate_per_min(temp_c) * min;
            // Too hot once, the enzyme is gone.
            if temp_c > ENDS_C {
                return freed(exposure);
            }
        }
    }
    freed(exposure)
}

/// How fast it is freed at a pH, of what it is at 5.7 and above.
fn at_ph(mash_ph: Ph) -> f64 {
    let below = (FIGURES.ferulic_ph.value - mash_ph.ph()).max(0.0);
    (-(below / FIGURES.ferulic_ph_width.value).powi(2)).exp()
}

fn freed(exposure: f64) -> f64 {
    AT_ONCE_MG_PER_KG + BY_ENZYMES_MG_PER_KG * -(-exposure).exp_m1()
}

fn rate_per_min(temp_c: f64) -> f64 {
    if temp_c > ENDS_C {
        return 0.0;
    }
    let distance = (temp_c - BEST_C) / HALF_WIDTH_C;
    RATE_PER_MIN * 0.5f64.powf(distance * distance)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn freed_mg_per_kg(rests: &[(f64, f64)], ph: f64) -> f64 {
        super::freed_mg_per_kg(&MashCourse::level(rests), Ph::from_ph(ph))
    }

    /// The anchors that the placeholder was set by (judgement), for 0.2 kg of
    /// grain per litre.
    #[test]
    fn anchors_of_the_placeholder_hold() {
        let wort = |rests: &[(f64, f64)]| freed_mg_per_kg(rests, 5.7) * 0.2;
        assert!((wort(&[(65.0, 60.0)]) - 2.0).abs() < 0.2);
        assert!((6.0..8.0).contains(&wort(&[(44.0, 30.0), (65.0, 60.0)])));
    }

    #[test]
    fn a_warm_rest_after_a_hot_one_frees_nothing() {
        let hot_first = freed_mg_per_kg(&[(70.0, 30.0), (44.0, 30.0)], 5.7);
        assert!((hot_first - AT_ONCE_MG_PER_KG).abs() < 1e-12);
        let at_44 = |min| freed_mg_per_kg(&[(44.0, min)], 5.7);
        assert!(at_44(30.0) > at_44(10.0));
        assert!(at_44(30.0) > freed_mg_per_kg(&[(52.0, 30.0)], 5.7));
    }

    /// Practice of wheat beer brewers, quoted (read): below pH 5.7 it is slower.
    #[test]
    fn below_its_ph_it_is_slower() {
        let at = |ph| freed_mg_per_kg(&[(44.0, 30.0)], ph);
        assert!((at(5.9) - at(5.7)).abs() < 1e-12);
        assert!(at(5.7) > at(5.4) && at(5.4) > at(5.1));
    }
}
