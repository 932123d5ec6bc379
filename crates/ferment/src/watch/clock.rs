//! The clock of a fermentation: hours at a reference temperature.

use std::ops::Range;

use quantity::ZERO_CELSIUS_K;

use crate::storage::GAS_CONSTANT;

/// Longest step \[h\], and most steps, of the sum over temperatures.
const STEP_H: f64 = 1.0;
const MOST_STEPS: f64 = 1000.0;

/// A course of temperature, ready to be summed for any activation energy.
///
/// The time at the reference temperature is τ(t) = ∫₀ᵗ exp(E/R (1/T₀ − 1/T)) dt.
#[derive(Debug, Clone)]
pub(crate) struct Clock {
    step_h: f64,
    /// (1/T₀ − 1/T)/R of each step \[mol/kJ\].
    cold: Vec<f64>,
}

/// The same for one activation energy.
#[derive(Debug, Clone)]
pub(crate) struct Ticks {
    step_h: f64,
    /// τ \[h\] and dτ/dE \[h mol/kJ\] at the ends of the steps.
    sums: Vec<(f64, f64)>,
}

impl Clock {
    /// `temp_c` from pitching to `until_h`; warmth above `best_c` speeds nothing up.
    pub(crate) fn new(
        temp_c: impl Fn(f64) -> f64,
        until_h: f64,
        reference_c: f64,
        best_c: f64,
    ) -> Self {
        let step_h = STEP_H.max(until_h / MOST_STEPS);
        let steps = (until_h / step_h).ceil().max(1.0) as usize;
        let inverse = |c: f64| 1.0 / (c + ZERO_CELSIUS_K);
        let cold = (0..steps)
            .map(|i| {
                let c = temp_c((i as f64 + 0.5) * step_h).clamp(-5.0, best_c);
                (inverse(reference_c) - inverse(c)) / GAS_CONSTANT
            })
            .collect();
        Self { step_h, cold }
    }

    /// The clock at an activation energy \[kJ/mol\].
    pub(crate) fn at(&self, energy: f64) -> Ticks {
        self.at_until(energy, f64::INFINITY)
    }

    /// The same as far as a time.
    pub(crate) fn at_until(&self, energy: f64, until_h: f64) -> Ticks {
        let steps = ((until_h / self.step_h).max(0.0) as usize).saturating_add(1);
        let cold = &self.cold[..steps.min(self.cold.len())];
        let mut sums = Vec::with_capacity(cold.len() + 1);
        let (mut tau, mut slope) = (0.0, 0.0);
        sums.push((tau, slope));
        let mut before = (f64::NAN, 1.0);
        for &x in cold {
            // Steps at one temperature are common, and the exponential is dear.
            if x.to_bits() != before.0.to_bits() {
                before = (x, (energy * x).exp());
            }
            tau += before.1 * self.step_h;
            slope += x * before.1 * self.step_h;
            sums.push((tau, slope));
        }
        Ticks {
            step_h: self.step_h,
            sums,
        }
    }
}

impl Ticks {
    /// τ \[h\] and dτ/dE at a time; beyond the end it runs on as in the last step.
    pub(crate) fn read(&self, t_h: f64) -> (f64, f64) {
        let place = (t_h / self.step_h).max(0.0);
        let last = self.sums.len() - 2;
        let i = (place as usize).min(last);
        let share = place - i as f64;
        let (a, b) = (self.sums[i], self.sums[i + 1]);
        (a.0 + share * (b.0 - a.0), a.1 + share * (b.1 - a.1))
    }

    /// How fast the clock runs at a time \[–\].
    pub(crate) fn speed(&self, t_h: f64) -> f64 {
        let i = ((t_h / self.step_h).max(0.0) as usize).min(self.sums.len() - 2);
        (self.sums[i + 1].0 - self.sums[i].0) / self.step_h
    }

    /// When τ is reached \[h\], if within a stretch of time.
    pub(crate) fn when(&self, tau: f64, within_h: Range<f64>) -> Option<f64> {
        if self.read(within_h.start).0 >= tau {
            return Some(within_h.start);
        }
        let i = self.sums.partition_point(|(sum, _)| *sum < tau);
        let (a, b) = (self.sums.get(i.checked_sub(1)?)?, self.sums.get(i)?);
        let t_h = self.step_h * (i as f64 - 1.0 + (tau - a.0) / (b.0 - a.0));
        (t_h < within_h.end).then_some(t_h)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn at_the_reference_it_is_the_clock_on_the_wall() {
        let ticks = Clock::new(|_| 20.0, 240.0, 20.0, 30.0).at(60.0);
        for t_h in [0.0, 0.3, 17.0, 239.9] {
            assert!((ticks.read(t_h).0 - t_h).abs() < 1e-9);
        }
        assert!((ticks.when(100.0, 0.0..240.0).unwrap() - 100.0).abs() < 1e-9);
        assert_eq!(ticks.when(300.0, 0.0..240.0), None);
    }

    #[test]
    fn sixty_kilojoules_make_a_q10_of_two_point_three() {
        // exp(E/R (1/T₁ − 1/T₂)) between 10 and 20 °C: 2.3854 (python math).
        let ratio = |energy: f64| {
            Clock::new(|_| 20.0, 10.0, 10.0, 30.0)
                .at(energy)
                .read(10.0)
                .0
                / 10.0
        };
        assert!((ratio(60.0) - 2.385_4).abs() < 5e-5, "{}", ratio(60.0));
        assert!((ratio(0.0) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn the_slope_is_the_derivative() {
        let clock = Clock::new(|t| 12.0 + 0.05 * t, 200.0, 20.0, 30.0);
        let at = |energy: f64| clock.at(energy).read(150.0);
        let slope = (at(60.5).0 - at(59.5).0) / 1.0;
        assert!((slope - at(60.0).1).abs() < 1e-3 * slope.abs());
    }
}
