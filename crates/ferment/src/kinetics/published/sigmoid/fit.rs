//! A logistic through readings: a second opinion that knows no yeast.

use quantity::{Duration, Gravity, Measured};

use super::FiveParameters;
use crate::cholesky::Lower;

/// Fewest readings, and the fall \[°P\] that they must show, before a curve of three
/// numbers means anything (judgement).
const FEWEST: usize = 5;
const LEAST_FALL: f64 = 1.0;
/// Steps of a descent.
const STEPS: usize = 60;
/// Rates to start from \[1/h\].
const RATES: [f64; 3] = [0.05, 0.1, 0.2];
/// Where the numbers may lie: end \[°P\], ln of the rate \[1/h\], midpoint \[h\].
const BOUNDS: [(f64, f64); 3] = [(-4.0, 40.0), (-6.9, 0.69), (0.0, 5_000.0)];

/// A logistic curve through readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LogisticFit {
    /// The curve.
    pub curve: FiveParameters,
    /// Where it ends; the spread is that of least squares, as if its errors were
    /// independent, which those of a fermentation are not: take it as a lower bound.
    pub end: Measured<Gravity>,
    /// Root of the mean square of what it is off \[°P\].
    pub rms_plato: f64,
}

impl FiveParameters {
    /// The symmetric curve from a known original extract that comes nearest to readings
    /// by least squares: rate, midpoint and end are fitted.
    ///
    /// Nothing where there are fewer than five readings after pitching, where they fall
    /// by less than a degree, or where they leave the end open: a curve before its
    /// midpoint says little of where it goes.
    #[must_use]
    pub fn fit(start: Gravity, readings: &[(Duration, Gravity)]) -> Option<LogisticFit> {
        let start = start.plato();
        let points: Vec<(f64, f64)> = readings
            .iter()
            .map(|(t, g)| (t.h(), g.plato()))
            .filter(|(t, p)| *t >= 0.0 && t.is_finite() && p.is_finite())
            .collect();
        let least = points.iter().map(|p| p.1).fold(f64::INFINITY, f64::min);
        if points.len() < FEWEST || start - least < LEAST_FALL {
            return None;
        }
        let problem = Problem {
            start,
            points: &points,
        };
        let (cost, theta) = RATES
            .iter()
            .map(|rate| problem.descend([least, rate.ln(), problem.halfway(least)]))
            .filter(|(cost, _)| cost.is_finite())
            .min_by(|a, b| a.0.total_cmp(&b.0))?;
        let left = (points.len() as f64 - 3.0).max(1.0);
        let slope = problem.slope(&theta);
        let sd = (cost / left * Lower::of(3, &slope.curvature)?.inverse()[0]).sqrt();
        let [end, ln_rate, midpoint] = theta;
        let inside = BOUNDS
            .iter()
            .zip(theta)
            .all(|((low, high), x)| (*low..*high).contains(&x));
        let known = inside && sd.is_finite() && sd < 0.25 * (start - end);
        let midpoint = Duration::from_h(midpoint);
        let start = Gravity::from_plato(start);
        let end_at = Gravity::from_plato(end);
        let curve = Self::four(start, end_at, ln_rate.exp(), midpoint).ok()?;
        known.then_some(LogisticFit {
            curve,
            end: Measured::with_sd(end_at, sd),
            rms_plato: (cost / points.len() as f64).sqrt(),
        })
    }

    /// When so much is left above the end \[°P\].
    #[must_use]
    pub fn reaches(&self, left_plato: f64) -> Option<Duration> {
        let share = left_plato / (self.start - self.end);
        if !(share > 0.0 && share < 1.0) {
            return None;
        }
        // share = (1 + k e^u)^−s with k = 2^{1/s} − 1.
        let s = self.asymmetry;
        let u = ((share.powf(-1.0 / s) - 1.0) / ((1.0 / s).exp2() - 1.0)).ln();
        let h = self.midpoint_h + u / self.rate_per_h;
        (h >= 0.0 && h.is_finite()).then(|| Duration::from_h(h))
    }
}

struct Problem<'p> {
    start: f64,
    points: &'p [(f64, f64)],
}

struct Slope {
    cost: f64,
    gradient: [f64; 3],
    /// Jᵀ J, row by row.
    curvature: [f64; 9],
}

impl Problem<'_> {
    /// When half of the fall was first read \[h\].
    fn halfway(&self, least: f64) -> f64 {
        let half = f64::midpoint(self.start, least);
        let below = self.points.iter().filter(|p| p.1 <= half).map(|p| p.0);
        below.fold(f64::INFINITY, f64::min).clamp(1.0, 4_000.0)
    }

    fn slope(&self, [end, ln_rate, midpoint]: &[f64; 3]) -> Slope {
        let rate = ln_rate.exp();
        let mut slope = Slope {
            cost: 0.0,
            gradient: [0.0; 3],
            curvature: [0.0; 9],
        };
        for (t, plato) in self.points {
            let u = (rate * (t - midpoint)).clamp(-500.0, 500.0);
            let left = 1.0 / (1.0 + u.exp());
            let off = end + (self.start - end) * left - plato;
            // d left/du = −left (1 − left).
            let by_u = -(self.start - end) * left * (1.0 - left);
            let row = [1.0 - left, by_u * u, -by_u * rate];
            slope.cost += off * off;
            for (i, a) in row.iter().enumerate() {
                slope.gradient[i] += a * off;
                for (j, b) in row.iter().enumerate() {
                    slope.curvature[3 * i + j] += a * b;
                }
            }
        }
        slope
    }

    /// Levenberg and Marquardt's descent.
    fn descend(&self, mut theta: [f64; 3]) -> (f64, [f64; 3]) {
        let mut slope = self.slope(&theta);
        let mut damping = 1e-3;
        for _ in 0..STEPS {
            let mut damped = slope.curvature;
            for k in 0..3 {
                damped[4 * k] = damped[4 * k].mul_add(1.0 + damping, 1e-12);
            }
            let Some(lower) = Lower::of(3, &damped) else {
                damping *= 10.0;
                continue;
            };
            let step = lower.solve(&slope.gradient);
            let mut there = theta;
            for ((x, s), (low, high)) in there.iter_mut().zip(step).zip(BOUNDS) {
                *x = (*x - s).clamp(low, high);
            }
            let next = self.slope(&there);
            if next.cost < slope.cost {
                let gained = slope.cost - next.cost;
                (theta, slope, damping) = (there, next, (damping * 0.2).max(1e-12));
                if gained < 1e-12 * (1.0 + slope.cost) {
                    break;
                }
            } else {
                damping *= 6.0;
                if damping > 1e9 {
                    break;
                }
            }
        }
        (slope.cost, theta)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn curve() -> FiveParameters {
        let (wort, beer) = (Gravity::from_plato(12.0), Gravity::from_plato(2.5));
        FiveParameters::four(wort, beer, 0.095, Duration::from_h(52.0)).unwrap()
    }

    fn read(until_h: f64, step_h: f64) -> Vec<(Duration, Gravity)> {
        let steps = (until_h / step_h) as usize;
        let times = (0..=steps).map(|i| Duration::from_h(i as f64 * step_h));
        times.map(|t| (t, curve().at(t))).collect()
    }

    #[test]
    fn readings_of_a_curve_give_it_back() {
        let fit = FiveParameters::fit(Gravity::from_plato(12.0), &read(120.0, 12.0)).unwrap();
        assert!((fit.end.value.plato() - 2.5).abs() < 1e-5, "{fit:?}");
        assert!(fit.rms_plato < 1e-5);
        let at = curve().reaches(0.25).unwrap();
        assert!((curve().at(at).plato() - 2.75).abs() < 1e-9);
    }

    #[test]
    fn few_or_early_readings_are_no_opinion() {
        let start = Gravity::from_plato(12.0);
        assert_eq!(FiveParameters::fit(start, &[]), None);
        assert_eq!(FiveParameters::fit(start, &read(36.0, 12.0)), None);
        assert_eq!(FiveParameters::fit(start, &read(24.0, 2.0)), None);
    }

    /// Pilot batches of E. Lwele 2025 before they were chilled, against scipy's
    /// `least_squares` (`tests/reference/logistic_fit.py`): batch, readings up to \[h\],
    /// start, end and its standard deviation, rms \[°P\].
    #[test]
    fn pilot_batches_are_fitted_as_scipy_fits_them() {
        let log = include_str!("../../../../tests/data/pilot_fermentations.csv");
        let kept = include_str!("../../../../tests/reference/logistic_fit.csv");
        let mut compared = 0;
        for line in kept.lines().skip(1) {
            let cells: Vec<&str> = line.split(',').collect();
            let number = |i: usize| cells[i].parse::<f64>().unwrap();
            let rows = log.lines().filter(|row| row.starts_with(cells[0]));
            let readings: Vec<(Duration, Gravity)> = rows
                .filter_map(|row| {
                    let row: Vec<&str> = row.split(',').collect();
                    let h: f64 = row[1].parse().ok().filter(|h| *h < number(1))?;
                    Some((
                        Duration::from_h(h),
                        Gravity::from_plato(row[2].parse().ok()?),
                    ))
                })
                .collect();
            let start = Gravity::from_plato(number(2));
            let fit = FiveParameters::fit(start, &readings).unwrap();
            for (ours, theirs) in [
                (fit.end.value.plato(), number(3)),
                (fit.end.sd(), number(4)),
                (fit.rms_plato, number(5)),
            ] {
                assert!((ours - theirs).abs() < 2e-4, "{line}: {ours} for {theirs}");
            }
            compared += 1;
        }
        assert!(compared >= 5);
    }

    proptest! {
        #[test]
        fn whatever_is_read_the_answer_is_finite(
            rows in prop::collection::vec((any::<f64>(), -10.0..50.0f64), 0..40),
            start in 1.0..40.0f64,
        ) {
            let readings: Vec<_> = rows
                .iter()
                .map(|(t, p)| (Duration::from_h(*t), Gravity::from_plato(*p)))
                .collect();
            let start = Gravity::from_plato(start);
            if let Some(fit) = FiveParameters::fit(start, &readings) {
                prop_assert!(fit.end.value.plato().is_finite() && fit.end.sd().is_finite());
                prop_assert!(fit.rms_plato.is_finite());
            }
        }
    }
}
