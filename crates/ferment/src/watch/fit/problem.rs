//! Readings against a curve, as squares of whitened residuals with their derivatives.

use super::whiten::{Wander, Whitener};
use crate::watch::clock::Clock;
use crate::watch::curve::{Curve, Drawn};

/// Parameters of the curve, before those of the instruments: original extract \[°P\],
/// attenuation, the four of the shape, activation energy \[kJ/mol\].
pub(crate) const CURVE: usize = 7;
/// The place of the activation energy among them.
const ENERGY: usize = CURVE - 1;
/// Hours in a week: drift is counted in °P a week.
const WEEK_H: f64 = 168.0;

/// What is known of one parameter beforehand: normal, or with the heavy tails of
/// Student's t where surprises happen.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Prior {
    pub(crate) mean: f64,
    pub(crate) sd: f64,
    /// Degrees of freedom of the t; none is the normal.
    pub(crate) tails: Option<f64>,
}

impl Prior {
    pub(crate) const fn normal(mean: f64, sd: f64) -> Self {
        Self {
            mean,
            sd,
            tails: None,
        }
    }

    pub(crate) const fn heavy(mean: f64, sd: f64) -> Self {
        Self {
            mean,
            sd,
            tails: Some(4.0),
        }
    }

    /// −ln of the density at mean + z sd, less its least.
    fn cost(&self, z: f64) -> f64 {
        match self.tails {
            None => 0.5 * z * z,
            Some(nu) => 0.5 * (nu + 1.0) * (z * z / nu).ln_1p(),
        }
    }

    /// What the derivative of the cost is over z.
    fn pull(&self, z: f64) -> f64 {
        self.tails.map_or(1.0, |nu| (nu + 1.0) / (nu + z * z))
    }
}

/// One reading, cleaned.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Point {
    pub(crate) at_h: f64,
    pub(crate) plato: f64,
    /// Standard deviation of its white noise \[°P\].
    pub(crate) sd: f64,
    pub(crate) instrument: usize,
}

/// Where the parameters of an instrument stand, if it has them.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Slots {
    pub(crate) bias: Option<usize>,
    pub(crate) drift: Option<usize>,
    /// Degrees of freedom of its noise.
    pub(crate) tails: f64,
}

/// What is to be fitted.
#[derive(Debug, Clone)]
pub(crate) struct Problem {
    pub(crate) priors: Vec<Prior>,
    pub(crate) points: Vec<Point>,
    pub(crate) instruments: Vec<Slots>,
    pub(crate) clock: Clock,
    pub(crate) wander: Wander,
}

/// Noise as it was found: a factor on the white noise, the wander of the curve, and the
/// filter that both make, with a weight for each reading.
#[derive(Debug, Clone)]
pub(crate) struct Noise {
    pub(crate) factor: f64,
    pub(crate) wander: Wander,
    wander_factor: f64,
    pub(crate) filter: Whitener,
}

/// Cost and its derivatives at a place.
#[derive(Debug, Clone)]
pub(crate) struct Slope {
    pub(crate) cost: f64,
    pub(crate) gradient: Vec<f64>,
    /// Gauss and Newton's curvature, row by row.
    pub(crate) curvature: Vec<f64>,
}

/// Prior standard deviations of the logarithms of the two scales of the noise
/// (judgement).
const LN_FACTOR_SD: f64 = 0.35;
const LN_WANDER_SD: f64 = 0.5;

impl Noise {
    /// As it is expected around a place.
    pub(crate) fn at_first(problem: &Problem, z: &[f64]) -> Self {
        let weights = vec![1.0; problem.points.len()];
        Self::of(problem, &problem.slopes(z), [1.0, 1.0], &weights)
    }

    fn of(problem: &Problem, slopes: &[f64], factors: [f64; 2], weights: &[f64]) -> Self {
        let wander = problem.wander.times(factors[1]);
        let filter = problem.filter(factors[0], wander, slopes, weights);
        Self {
            factor: factors[0],
            wander,
            wander_factor: factors[1],
            filter,
        }
    }

    /// The noise that fits the residuals of a place best, given what is known of it
    /// beforehand.
    pub(crate) fn refit(&self, problem: &Problem, z: &[f64]) -> Self {
        let residuals = problem.residuals(z);
        let slopes = problem.slopes(z);
        let weights = self.reweighted(problem, &residuals);
        let cost = |ln: [f64; 2]| {
            let wander = problem.wander.times(ln[1].exp());
            let filter = problem.filter(ln[0].exp(), wander, &slopes, &weights);
            let mut white = residuals.clone();
            filter.apply(&mut white);
            let squares: f64 = white.iter().map(|x| x * x).sum();
            squares
                + filter.ln_s()
                + (ln[0] / LN_FACTOR_SD).powi(2)
                + (ln[1] / LN_WANDER_SD).powi(2)
        };
        let ln = walk_down(cost, [self.factor.ln(), self.wander_factor.ln()]);
        Self::of(problem, &slopes, ln.map(f64::exp), &weights)
    }

    /// Weights of Student's t: a reading far from where the curve and its neighbours
    /// have it counts for little.
    fn reweighted(&self, problem: &Problem, residuals: &[f64]) -> Vec<f64> {
        let mut white = residuals.to_vec();
        self.filter.apply(&mut white);
        let found = problem.points.iter().zip(&white).enumerate();
        found
            .map(|(i, (point, z))| {
                let nu = problem.tails(point);
                let t = (nu + 1.0) / (nu + z * z);
                // The whole spread is to grow by 1/t; only the white part can.
                let s = self.filter.spread(i).powi(2);
                let white = (self.factor * point.sd).powi(2);
                (white / (white + s * (1.0 / t - 1.0).max(0.0))).clamp(1e-4, 1.0)
            })
            .collect()
    }
}

/// Coordinate descent with halving steps: two numbers, a cheap cost, no derivatives.
fn walk_down(cost: impl Fn([f64; 2]) -> f64, start: [f64; 2]) -> [f64; 2] {
    let (mut here, mut step) = (start, 0.4);
    let mut least = cost(here);
    while step > 0.05 {
        let mut moved = false;
        for k in 0..2 {
            for sign in [1.0, -1.0] {
                let mut there = here;
                there[k] = (there[k] + sign * step).clamp(-2.0, 2.0);
                let c = cost(there);
                if c < least - 1e-9 {
                    (here, least, moved) = (there, c, true);
                    break;
                }
            }
        }
        if !moved {
            step *= 0.5;
        }
    }
    here
}

impl Problem {
    pub(crate) fn size(&self) -> usize {
        self.priors.len()
    }

    fn tails(&self, point: &Point) -> f64 {
        self.instruments
            .get(point.instrument)
            .map_or(10.0, |s| s.tails)
    }

    fn filter(&self, factor: f64, wander: Wander, slopes: &[f64], weights: &[f64]) -> Whitener {
        let times: Vec<f64> = self.points.iter().map(|p| p.at_h).collect();
        let weighed = self.points.iter().zip(weights);
        let white: Vec<f64> = weighed.map(|(p, w)| factor * p.sd / w.sqrt()).collect();
        let off: Vec<f64> = slopes.iter().map(|slope| wander.sd(*slope)).collect();
        Whitener::new(&times, &white, &off, wander.hours)
    }

    /// The slope of the curve at each reading \[°P/h\], by the clock on the wall.
    fn slopes(&self, z: &[f64]) -> Vec<f64> {
        let (curve, energy) = self.curve(z);
        let (drawn, ticks) = (curve.draw(), self.clock.at(energy));
        let slope = |p: &Point| drawn.at(ticks.read(p.at_h).0).by_tau * ticks.speed(p.at_h);
        self.points.iter().map(slope).collect()
    }

    /// A parameter in its unit.
    pub(crate) fn value(&self, z: &[f64], k: usize) -> f64 {
        self.priors[k].mean + self.priors[k].sd * z[k]
    }

    /// The curve and the activation energy \[kJ/mol\] of a place.
    pub(crate) fn curve(&self, z: &[f64]) -> (Curve, f64) {
        let v = |k| self.value(z, k);
        let curve = Curve {
            original: v(0),
            attenuation: v(1),
            ln_uptake: v(2),
            ln_onset: v(3),
            ln_growth: v(4),
            ln_half: v(5),
        };
        (curve, v(ENERGY))
    }

    /// What an instrument adds to the gravity at a time \[°P\].
    pub(crate) fn offset(&self, z: &[f64], instrument: usize, at_h: f64) -> f64 {
        let slots = self
            .instruments
            .get(instrument)
            .copied()
            .unwrap_or_default();
        slots.bias.map_or(0.0, |k| self.value(z, k))
            + slots
                .drift
                .map_or(0.0, |k| self.value(z, k) * at_h / WEEK_H)
    }

    /// Reading minus curve, of each reading \[°P\].
    pub(crate) fn residuals(&self, z: &[f64]) -> Vec<f64> {
        let (curve, energy) = self.curve(z);
        let (drawn, ticks) = (curve.draw(), self.clock.at(energy));
        self.points
            .iter()
            .map(|p| {
                let says = drawn.at(ticks.read(p.at_h).0).plato;
                p.plato - says - self.offset(z, p.instrument, p.at_h)
            })
            .collect()
    }

    /// −ln of the posterior density, and the wander after the last reading \[°P\].
    pub(crate) fn cost(&self, z: &[f64], noise: &Noise) -> (f64, f64) {
        let mut white = self.residuals(z);
        let wander = noise.filter.apply(&mut white);
        let squares: f64 = white.iter().map(|x| x * x).sum();
        (0.5 * squares + self.prior_cost(z), wander)
    }

    fn prior_cost(&self, z: &[f64]) -> f64 {
        self.priors.iter().zip(z).map(|(p, z)| p.cost(*z)).sum()
    }

    /// Residuals with minus their derivatives by z: rows of 1 + size numbers.
    fn rows(&self, z: &[f64]) -> Vec<f64> {
        let (curve, energy) = self.curve(z);
        let (drawn, ticks): (Drawn, _) = (curve.draw(), self.clock.at(energy));
        let width = 1 + self.size();
        let mut rows = vec![0.0; self.points.len() * width];
        for (point, row) in self.points.iter().zip(rows.chunks_exact_mut(width)) {
            let (tau, by_energy) = ticks.read(point.at_h);
            let m = drawn.at(tau);
            row[0] = point.plato - m.plato - self.offset(z, point.instrument, point.at_h);
            for (k, by) in m.by.iter().enumerate() {
                row[1 + k] = by * self.priors[k].sd;
            }
            row[1 + ENERGY] = m.by_tau * by_energy * self.priors[ENERGY].sd;
            let slots = self
                .instruments
                .get(point.instrument)
                .copied()
                .unwrap_or_default();
            if let Some(k) = slots.bias {
                row[1 + k] = self.priors[k].sd;
            }
            if let Some(k) = slots.drift {
                row[1 + k] = self.priors[k].sd * point.at_h / WEEK_H;
            }
        }
        rows
    }

    /// −ln of the posterior density with its gradient.
    pub(crate) fn gradient(&self, z: &[f64], noise: &Noise) -> (f64, Vec<f64>) {
        let width = 1 + self.size();
        let mut rows = self.rows(z);
        noise.filter.apply_rows(&mut rows, width);
        let mut cost = self.prior_cost(z);
        let mut gradient: Vec<f64> = self
            .priors
            .iter()
            .zip(z)
            .map(|(p, z)| p.pull(*z) * z)
            .collect();
        for row in rows.chunks_exact(width) {
            cost += 0.5 * row[0] * row[0];
            for (g, by) in gradient.iter_mut().zip(&row[1..]) {
                *g -= row[0] * by;
            }
        }
        (cost, gradient)
    }

    /// The same with the curvature.
    pub(crate) fn slope(&self, z: &[f64], noise: &Noise) -> Slope {
        let n = self.size();
        let width = 1 + n;
        let mut rows = self.rows(z);
        noise.filter.apply_rows(&mut rows, width);
        let mut out = Slope {
            cost: self.prior_cost(z),
            gradient: vec![0.0; n],
            curvature: vec![0.0; n * n],
        };
        for (k, (prior, z)) in self.priors.iter().zip(z).enumerate() {
            out.gradient[k] = prior.pull(*z) * z;
            out.curvature[k * n + k] = prior.pull(*z);
        }
        for row in rows.chunks_exact(width) {
            out.cost += 0.5 * row[0] * row[0];
            for i in 0..n {
                out.gradient[i] -= row[0] * row[1 + i];
                for j in 0..n {
                    out.curvature[i * n + j] += row[1 + i] * row[1 + j];
                }
            }
        }
        out
    }
}
