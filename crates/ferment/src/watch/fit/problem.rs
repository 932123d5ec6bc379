//! Readings against a curve, as squares of whitened residuals with their derivatives.

use super::whiten::{NoiseRow, Wander, Whitener, misfit};
use crate::solver::{Dual, Real};
use crate::watch::clock::{Clock, Ticks};
use crate::watch::curve::Curve;

/// Parameters of the curve, before those of the instruments: original extract \[°P\],
/// attenuation, the four of the shape, activation energy \[kJ/mol\].
pub(crate) const CURVE: usize = 7;
/// The place of the activation energy among them.
const ENERGY: usize = CURVE - 1;
/// Hours in a week: drift is counted in °P a week.
const WEEK_H: f64 = 168.0;
/// Scales of the noise, behind all other parameters where a place is a whole one: ln of
/// the factor on the white noise and ln of that on the wander, in their prior sd.
pub(crate) const SCALES: usize = 2;

/// What is known of one parameter beforehand: normal, or with the heavy tails of
/// Student's t where surprises happen.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Prior {
    pub(crate) mean: f64,
    /// Of the normal; a t is as wide as the normal that holds nine in ten in the same
    /// interval.
    pub(crate) sd: f64,
    /// Degrees of freedom of the t; none is the normal.
    pub(crate) tails: Option<f64>,
}

/// Degrees of freedom where surprises happen, and the scale at which that t holds nine in
/// ten where the standard normal does: the ratio of their deviates, 1.6449 and 2.1318.
const TAILS: f64 = 4.0;
pub(crate) const SCALE_OF_T: f64 = 0.771_6;

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
            tails: Some(TAILS),
        }
    }

    /// −ln of the density at mean + z sd, less its least.
    fn cost(&self, z: f64) -> f64 {
        match self.tails {
            None => 0.5 * z * z,
            Some(nu) => 0.5 * (nu + 1.0) * (z * z / (nu * SCALE_OF_T.powi(2))).ln_1p(),
        }
    }

    /// What the derivative of the cost is over z.
    fn pull(&self, z: f64) -> f64 {
        self.tails
            .map_or(1.0, |nu| (nu + 1.0) / (nu * SCALE_OF_T.powi(2) + z * z))
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
    rows: Vec<NoiseRow>,
}

/// Cost and its derivatives at a place.
#[derive(Debug, Clone)]
pub(crate) struct Slope {
    pub(crate) cost: f64,
    pub(crate) gradient: Vec<f64>,
    /// Gauss and Newton's curvature, row by row.
    pub(crate) curvature: Vec<f64>,
}

/// Prior standard deviations of the logarithms of the two scales of the noise: of the
/// factor on the white noise and of that on the wander (judgement).
pub(crate) const LN_SCALE_SD: [f64; SCALES] = [0.35, 0.25];

impl Noise {
    /// As it is expected around a place.
    pub(crate) fn at_first(problem: &Problem, z: &[f64]) -> Self {
        let weights = vec![1.0; problem.points.len()];
        Self::of(problem, &problem.slopes(z), [1.0, 1.0], &weights)
    }

    fn of(problem: &Problem, slopes: &[f64], factors: [f64; 2], weights: &[f64]) -> Self {
        let rows = problem.noise_rows(slopes, weights);
        Self {
            factor: factors[0],
            wander: problem.wander.times(factors[1]),
            wander_factor: factors[1],
            filter: Whitener::of(&rows, factors),
            rows,
        }
    }

    /// The noise that fits the residuals of a place best, given what is known of it
    /// beforehand.
    pub(crate) fn refit(&self, problem: &Problem, z: &[f64]) -> Self {
        let residuals = problem.residuals(z);
        let slopes = problem.slopes(z);
        let weights = self.reweighted(problem, &residuals);
        let rows = problem.noise_rows(&slopes, &weights);
        let cost = |ln: [f64; 2]| {
            let squares_and_ln_s = misfit(&rows, &residuals, ln.map(f64::exp));
            squares_and_ln_s + known_of(scales_of(ln))
        };
        let ln = walk_down(cost, [self.factor.ln(), self.wander_factor.ln()]);
        Self::of(problem, &slopes, ln.map(f64::exp), &weights)
    }

    /// The scales as a whole place has them.
    pub(crate) fn scales(&self) -> [f64; SCALES] {
        scales_of([self.factor, self.wander_factor].map(f64::ln))
    }

    /// Curvature of the cost by the scales around the place that the noise was found at.
    pub(crate) fn curvature_of_scales(
        &self,
        problem: &Problem,
        z: &[f64],
    ) -> [[f64; SCALES]; SCALES] {
        const APART: f64 = 0.05;
        let residuals = problem.residuals(z);
        let here = self.scales();
        std::array::from_fn(|k| {
            let slope = |by: f64| {
                let mut there = here;
                there[k] += by;
                scale_cost(&self.rows, &residuals, there).1
            };
            let (up, down) = (slope(APART), slope(-APART));
            std::array::from_fn(|j| (up[j] - down[j]) / (2.0 * APART))
        })
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

/// How far the curve is off after the last reading of a place.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Wandered {
    /// \[°P\]
    pub(crate) off: f64,
    pub(crate) wander: Wander,
    /// Share of its variance that the readings leave open.
    pub(crate) unknown: f64,
}

/// Parameters and scales of a whole place.
fn split(whole: &[f64]) -> (&[f64], [f64; SCALES]) {
    let (z, scales) = whole.split_at(whole.len().saturating_sub(SCALES));
    (
        z,
        std::array::from_fn(|k| scales.get(k).copied().unwrap_or(0.0)),
    )
}

/// Logarithms of factors in their prior standard deviations.
fn scales_of(ln: [f64; SCALES]) -> [f64; SCALES] {
    std::array::from_fn(|k| ln[k] / LN_SCALE_SD[k])
}

/// −2 ln of the prior of the scales, less its least.
fn known_of(scales: [f64; SCALES]) -> f64 {
    scales.iter().map(|s| s * s).sum()
}

/// The factors that scales stand for.
fn factors(scales: [f64; SCALES]) -> [f64; SCALES] {
    std::array::from_fn(|k| (LN_SCALE_SD[k] * scales[k]).exp())
}

/// −ln of the likelihood and of the prior of the scales, and its slopes by them.
fn scale_cost(rows: &[NoiseRow], residuals: &[f64], scales: [f64; SCALES]) -> (f64, [f64; SCALES]) {
    type Slope = Dual<f64, SCALES>;
    let factor = |k: usize| (Slope::variable(scales[k], k) * LN_SCALE_SD[k]).exp();
    let twice = misfit(rows, residuals, std::array::from_fn(factor));
    let known = known_of(scales);
    let slope = |k: usize| 0.5 * twice.slopes[k] + scales[k];
    (0.5 * (twice.value + known), std::array::from_fn(slope))
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

    fn noise_rows(&self, slopes: &[f64], weights: &[f64]) -> Vec<NoiseRow> {
        let mut before_h = f64::NEG_INFINITY;
        let row = |((point, slope), weight): ((&Point, &f64), &f64)| {
            let kept = self.wander.kept(point.at_h - before_h);
            before_h = point.at_h;
            NoiseRow {
                kept,
                white: point.sd / weight.sqrt(),
                off: self.wander.sd(*slope),
            }
        };
        self.points
            .iter()
            .zip(slopes)
            .zip(weights)
            .map(row)
            .collect()
    }

    fn to_last_reading(&self, energy: f64) -> Ticks {
        let last_h = self.points.last().map_or(0.0, |p| p.at_h);
        self.clock.at_until(energy, last_h)
    }

    /// The slope of the curve at each reading \[°P/h\], by the clock on the wall.
    fn slopes(&self, z: &[f64]) -> Vec<f64> {
        let (curve, energy) = self.curve(z);
        let (drawn, ticks) = (curve.draw(), self.to_last_reading(energy));
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
        let (drawn, ticks) = (curve.draw(), self.to_last_reading(energy));
        self.points
            .iter()
            .map(|p| {
                let says = drawn.at(ticks.read(p.at_h).0).plato;
                p.plato - says - self.offset(z, p.instrument, p.at_h)
            })
            .collect()
    }

    /// Numbers of a whole place: the parameters and the scales of the noise.
    pub(crate) fn whole_size(&self) -> usize {
        self.size() + SCALES
    }

    /// −ln of the posterior density of a whole place, and what the curve wanders there.
    pub(crate) fn cost(&self, whole: &[f64], noise: &Noise) -> (f64, Wandered) {
        let (z, scales) = split(whole);
        let factors = factors(scales);
        let filter = Whitener::of(&noise.rows, factors);
        let mut white = self.residuals(z);
        let off = filter.apply(&mut white);
        let squares: f64 = white.iter().map(|x| x * x).sum();
        let known = known_of(scales);
        let cost = 0.5 * (squares + filter.ln_s() + known) + self.prior_cost(z);
        let wandered = Wandered {
            off,
            wander: self.wander.times(factors[1]),
            unknown: filter.last_share(),
        };
        (cost, wandered)
    }

    fn prior_cost(&self, z: &[f64]) -> f64 {
        self.priors.iter().zip(z).map(|(p, z)| p.cost(*z)).sum()
    }

    /// Residuals with minus their derivatives by z: rows of 1 + size numbers.
    fn rows(&self, z: &[f64]) -> Vec<f64> {
        let (curve, energy) = self.curve(z);
        let (drawn, ticks) = (curve.draw(), self.to_last_reading(energy));
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

    /// −ln of the posterior density of a whole place with its gradient.
    pub(crate) fn gradient(&self, whole: &[f64], noise: &Noise) -> (f64, Vec<f64>) {
        let (z, scales) = split(whole);
        let width = 1 + self.size();
        let mut rows = self.rows(z);
        let residuals: Vec<f64> = rows.iter().step_by(width).copied().collect();
        Whitener::of(&noise.rows, factors(scales)).apply_rows(&mut rows, width);
        let (cost, by_scales) = scale_cost(&noise.rows, &residuals, scales);
        let by_priors = self.priors.iter().zip(z).map(|(p, z)| p.pull(*z) * z);
        let mut gradient: Vec<f64> = by_priors.chain(by_scales).collect();
        for row in rows.chunks_exact(width) {
            for (g, by) in gradient.iter_mut().zip(&row[1..]) {
                *g -= row[0] * by;
            }
        }
        (cost + self.prior_cost(z), gradient)
    }

    /// −ln of the posterior density at the noise that was found, without what that noise
    /// alone makes of it, with its gradient and curvature.
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
