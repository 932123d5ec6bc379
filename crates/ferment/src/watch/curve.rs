//! The curve that is fitted: yeast that grows to a ceiling and takes up sugar.
//!
//! The logistic curves of the literature ([`crate::kinetics::published`]) end as gently
//! as they begin. Real courses do not: they fall in nearly a straight line and stop within
//! hours, and a logistic fitted in the middle of the fall misses the end. Two steps of
//! textbook kinetics in closed form do better: cells x(τ) = 1/(1 + e^{−g(τ − t₀)}) (growth
//! to a ceiling, Verhulst 1838), uptake dy/dτ = −r x y/(κ + y) (Michaelis and Menten
//! 1913). Then y + κ ln y = 1 − r ∫x dτ, which Lambert's W solves.

/// Parameters of the curve, the times on the clock of the reference temperature.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Curve {
    /// Original extract \[°P\].
    pub(crate) original: f64,
    /// Apparent attenuation at the end \[–\].
    pub(crate) attenuation: f64,
    /// ln of the uptake r: the share that all cells together take up \[1/h\].
    pub(crate) ln_uptake: f64,
    /// ln of the time t₀ at which half of the cells are there \[h\].
    pub(crate) ln_onset: f64,
    /// ln of the growth rate g \[1/h\].
    pub(crate) ln_growth: f64,
    /// ln of κ, the share of the sugar at which uptake is half.
    pub(crate) ln_half: f64,
}

impl Curve {
    /// ln of the time at which half of the fall is done \[h\].
    pub(crate) fn ln_half_time(&self) -> f64 {
        self.draw().tau_at(0.5).max(1e-3).ln()
    }
}

/// Numbers of the curve beside the original extract and the attenuation.
const SHAPE: usize = 4;

/// A number held within bounds, and 1 where it is free to move.
fn held(x: f64, low: f64, high: f64) -> (f64, f64) {
    (x.clamp(low, high), f64::from(u8::from(low < x && x < high)))
}

/// ln(1 + e^v) without overflow.
fn soft_plus(v: f64) -> f64 {
    if v > 30.0 { v } else { v.exp().ln_1p() }
}

/// 1/(1 + e^{−v}).
fn logistic(v: f64) -> f64 {
    1.0 / (1.0 + (-v).exp())
}

/// w of w + ln w = x (Wright's omega function) by Newton's method.
fn omega(x: f64) -> f64 {
    let mut w = if x > 1.0 { x - x.ln() } else { x.exp() };
    if w < 1e-300 {
        return 0.0;
    }
    for _ in 0..20 {
        let next = w * (1.0 + x - w.ln()) / (1.0 + w);
        let moved = (next - w).abs();
        w = next.max(w * 1e-3);
        if moved < 1e-13 * w {
            break;
        }
    }
    w
}

/// A curve, ready to be evaluated.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Drawn {
    curve: Curve,
    uptake: f64,
    onset: f64,
    growth: f64,
    half: f64,
    /// The softened step at τ = 0, and its slope.
    zero: (f64, f64),
    /// 1 for each number of the shape that is not at its bound, else 0.
    free: [f64; SHAPE],
}

/// Apparent extract at a time, and how it changes.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Moment {
    /// Apparent extract \[°P\].
    pub(crate) plato: f64,
    /// Share of the attenuation that is still to come.
    pub(crate) left: f64,
    /// Derivatives by original, attenuation, and the shape in the order of [`Curve`].
    pub(crate) by: [f64; 2 + SHAPE],
    /// Derivative by τ \[°P/h\].
    pub(crate) by_tau: f64,
}

impl Curve {
    /// Ready to be evaluated. Each number is held where a curve can still be told from its
    /// neighbours; beyond, the slope by it is nothing.
    pub(crate) fn draw(self) -> Drawn {
        let held = [
            held(self.ln_uptake, -12.0, 3.0),
            held(self.ln_onset, -4.0, 9.0),
            held(self.ln_growth, -7.0, 3.0),
            held(self.ln_half, -9.0, 3.0),
        ];
        let [uptake, onset, growth, half] = held.map(|(ln, _)| ln.exp());
        let v = -growth * onset;
        Drawn {
            uptake,
            half,
            zero: (soft_plus(v), logistic(v)),
            curve: self,
            onset,
            growth,
            free: held.map(|(_, free)| free),
        }
    }

    /// The nearest apparent extract that beer of this wort can have \[°P\]: not below that of
    /// a beer without any extract, not above the wort by more than a layer in the vessel.
    ///
    /// Real extract = 0.1808 original + 0.8192 apparent (Balling, from memory), so that
    /// nothing is left at −0.1808/0.8192 of the original. However absurd the readings, the
    /// forecast stays within what can be.
    pub(crate) fn can_be(&self, plato: f64) -> f64 {
        /// Above the wort by as much: layers, as a share of it (judgement).
        const LAYERS: f64 = 0.1;
        const EMPTY: f64 = 0.1808 / 0.8192;
        let original = self.original.max(0.0);
        plato.clamp(-EMPTY * original, (1.0 + LAYERS) * original)
    }

    /// Where it ends \[°P\].
    pub(crate) fn end(&self) -> f64 {
        self.original * (1.0 - self.attenuation)
    }
}

impl Drawn {
    /// The curve at a time on its clock.
    pub(crate) fn at(&self, tau: f64) -> Moment {
        let Self {
            uptake: r,
            onset,
            growth: g,
            half,
            free,
            ..
        } = *self;
        let v = g * (tau - onset);
        let cells = logistic(v);
        let worked = (soft_plus(v) - self.zero.0) / g;
        let by_growth = (cells * v + self.zero.1 * g * onset) / g - worked;
        let by_onset = onset * (self.zero.1 - cells);
        let x = (1.0 - r * worked) / half;
        let w = omega(x - half.ln());
        let left = half * w;
        // d left = left/(1 + w) dx, and κ stands before it too.
        let by_x = left / (1.0 + w);
        let Curve {
            original,
            attenuation,
            ..
        } = self.curve;
        let span = original * attenuation;
        let by_worked = -span * by_x * r / half;
        Moment {
            plato: original - span * (1.0 - left),
            left,
            by: [
                1.0 - attenuation * (1.0 - left),
                -original * (1.0 - left),
                free[0] * by_worked * worked,
                free[1] * by_worked * by_onset,
                free[2] * by_worked * by_growth,
                free[3] * span * (left - by_x * (x + 1.0)),
            ],
            by_tau: by_worked * cells,
        }
    }

    /// τ at which a share of the attenuation is still to come.
    pub(crate) fn tau_at(&self, left: f64) -> f64 {
        let worked = (1.0 - left - self.half * left.ln()) / self.uptake;
        let sum = worked * self.growth + self.zero.0;
        // The inverse of the softened step.
        let v = if sum > 30.0 { sum } else { sum.exp_m1().ln() };
        self.onset + v / self.growth
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn curve(v: [f64; 6]) -> Curve {
        let [
            original,
            attenuation,
            ln_uptake,
            ln_onset,
            ln_growth,
            ln_half,
        ] = v;
        Curve {
            original,
            attenuation,
            ln_uptake,
            ln_onset,
            ln_growth,
            ln_half,
        }
    }

    fn any_curve() -> impl Strategy<Value = [f64; 6]> {
        (
            5.0..20.0f64,
            0.3..0.95f64,
            -5.0..-2.0f64,
            1.0..5.0f64,
            -4.0..0.0f64,
            -4.5..0.5f64,
        )
            .prop_map(|(o, a, r, t, g, k)| [o, a, r, t, g, k])
    }

    #[test]
    fn omega_has_the_tabulated_values() {
        // ω(0) = W(1), the omega constant; ω(1) = 1; ω(1 + e) = e.
        assert!((omega(0.0) - 0.567_143_290_409_784).abs() < 1e-15);
        assert!((omega(1.0) - 1.0).abs() < 1e-15);
        assert!((omega(1.0 + std::f64::consts::E) - std::f64::consts::E).abs() < 1e-14);
        assert!(omega(-800.0).abs() < 1e-300);
    }

    proptest! {
        #[test]
        fn it_starts_at_the_wort_and_falls_to_the_end(v in any_curve()) {
            let drawn = curve(v).draw();
            prop_assert!((drawn.at(0.0).plato - v[0]).abs() < 1e-9);
            let mut before = v[0] + 1e-9;
            for hour in 0..200 {
                let p = drawn.at(f64::from(hour) * 5.0).plato;
                prop_assert!(p <= before + 1e-12 && p >= curve(v).end() - 1e-9);
                before = p;
            }
        }

        /// The closed form is what Runge and Kutta's method makes of the two equations.
        #[test]
        fn it_solves_the_equations_behind_it(v in any_curve()) {
            let drawn = curve(v).draw();
            let slope = |tau: f64, y: f64| -drawn.uptake * logistic(drawn.growth * (tau - drawn.onset)) * y / (drawn.half + y);
            let (mut y, step) = (1.0, 0.05);
            for i in 0..2000 {
                let t = f64::from(i) * step;
                let a = slope(t, y);
                let b = slope(t + step / 2.0, y + step / 2.0 * a);
                let c = slope(t + step / 2.0, y + step / 2.0 * b);
                let d = slope(t + step, y + step * c);
                y += step / 6.0 * (a + 2.0 * b + 2.0 * c + d);
            }
            prop_assert!((drawn.at(100.0).left - y).abs() < 1e-6);
        }

        #[test]
        fn derivatives_are_differences(v in any_curve(), tau in 0.0..200.0f64) {
            let here = curve(v).draw().at(tau);
            for k in 0..6 {
                let moved = |by: f64| { let mut w = v; w[k] += by; curve(w).draw().at(tau).plato };
                let slope = (moved(1e-5) - moved(-1e-5)) / 2e-5;
                prop_assert!((slope - here.by[k]).abs() < 2e-5 * (1.0 + slope.abs()), "{k}: {slope} {}", here.by[k]);
            }
            let at = |t: f64| curve(v).draw().at(t).plato;
            let slope = (at(tau + 1e-4) - at(tau - 1e-4)) / 2e-4;
            prop_assert!((slope - here.by_tau).abs() < 1e-5 * (1.0 + slope.abs()));
        }

        #[test]
        fn times_come_back_from_shares(v in any_curve(), left in 0.01..0.9f64) {
            let drawn = curve(v).draw();
            let tau = drawn.tau_at(left);
            prop_assert!(tau < 0.0 || (drawn.at(tau).left - left).abs() < 1e-6);
        }
    }
}
