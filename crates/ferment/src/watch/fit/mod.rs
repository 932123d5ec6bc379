//! The fit: the most likely curve from several starts, and the posterior around it.
//!
//! Levenberg and Marquardt's method (K. Levenberg 1944; D. W. Marquardt, J. SIAM 11
//! (1963) 431) on whitened residuals, with what is known beforehand as further rows.
//! Between rounds the noise is found anew: weights of Student's t for spikes, and the two
//! scales of the noise by their likelihood. The posterior, of the two scales too, is drawn
//! from a mixture of Laplace approximations, one a mode, and each draw weighted by what it
//! is truly worth.

pub(crate) mod problem;
pub(crate) mod sampler;
pub(crate) mod whiten;

use problem::{Noise, Problem, Wandered};

use crate::cholesky::Lower;
use crate::random::Stream;

/// Rounds of noise and fit, steps in each, and steps for each start.
const ROUNDS: usize = 5;
const STEPS: usize = 40;
const STEPS_OF_A_START: usize = 12;
/// Modes further apart than this many prior sd are two.
const APART: f64 = 1.0;
/// A mode that is less likely by e to this is not drawn from.
const NEGLIGIBLE: f64 = 8.0;
/// Degrees of freedom of the draws.
const DRAW_TAILS: f64 = 5.0;

/// A mode, and how broad it is.
#[derive(Debug, Clone)]
pub(crate) struct Mode {
    pub(crate) z: Vec<f64>,
    pub(crate) cost: f64,
    /// Of the curvature: the inverse of the covariance.
    pub(crate) lower: Lower,
}

/// The outcome.
#[derive(Debug, Clone)]
pub(crate) struct Fit {
    /// The best first.
    pub(crate) modes: Vec<Mode>,
    pub(crate) noise: Noise,
}

/// One draw of the posterior.
#[derive(Debug, Clone)]
pub(crate) struct Draw {
    /// A whole place: parameters and scales of the noise.
    pub(crate) z: Vec<f64>,
    /// How far the curve was off after the last reading.
    pub(crate) wandered: Wandered,
}

impl Fit {
    /// Fits; nothing if no start leads anywhere.
    pub(crate) fn of(problem: &Problem) -> Option<Self> {
        let mut noise = Noise::at_first(problem, &vec![0.0; problem.size()]);
        let mut ends: Vec<(f64, Vec<f64>)> = starts(problem.size())
            .into_iter()
            .map(|z| descend(problem, &noise, z, STEPS_OF_A_START))
            .filter(|(cost, _)| cost.is_finite())
            .collect();
        ends.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut z = ends.first()?.1.clone();
        for _ in 0..ROUNDS {
            noise = noise.refit(problem, &z);
            z = descend(problem, &noise, z, STEPS).1;
        }
        let mut modes: Vec<Mode> = Vec::new();
        let others = ends.into_iter().map(|(_, z)| z);
        for start in std::iter::once(z).chain(others) {
            let (_, z) = descend(problem, &noise, start, STEPS);
            if modes.iter().all(|mode| distance(&mode.z, &z) > APART) {
                modes.extend(Mode::at(problem, &noise, z));
            }
        }
        modes.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        let best = modes.first()?.cost;
        modes.retain(|mode| mode.cost < best + NEGLIGIBLE);
        Some(Self { modes, noise })
    }

    /// Draws of the posterior by importance, and how many independent ones they are
    /// worth. The second half is drawn around what the first half found as well.
    pub(crate) fn draws(
        &self,
        problem: &Problem,
        n: usize,
        stream: &mut Stream,
    ) -> (Vec<Draw>, f64) {
        let mut from = self.modes.clone();
        let mut found = self.weighed(problem, &from, n / 2, stream);
        let places = found.iter().map(|(draw, ln_weight)| (&draw.z, *ln_weight));
        from.extend(Mode::around(problem.whole_size(), places));
        found.extend(self.weighed(problem, &from, n - n / 2, stream));
        resample(found, n / 2, stream)
    }

    fn weighed(
        &self,
        problem: &Problem,
        from: &[Mode],
        n: usize,
        stream: &mut Stream,
    ) -> Vec<(Draw, f64)> {
        let draws = from.iter().cycle().take(n);
        draws
            .filter_map(|mode| {
                let z = mode.draw(problem.whole_size(), stream);
                let (cost, wandered) = problem.cost(&z, &self.noise);
                let ln_weight = -cost - ln_proposal(from, &z);
                ln_weight
                    .is_finite()
                    .then_some((Draw { z, wandered }, ln_weight))
            })
            .collect()
    }
}

fn ln_proposal(from: &[Mode], z: &[f64]) -> f64 {
    let all: Vec<f64> = from.iter().map(|mode| mode.ln_density(z)).collect();
    let most = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    most + (all.iter().map(|x| (x - most).exp()).sum::<f64>() / all.len() as f64).ln()
}

impl Mode {
    /// The whole place of a mode of the parameters, whose curvature and that of the scales
    /// of the noise are taken one by one.
    fn at(problem: &Problem, noise: &Noise, mut z: Vec<f64>) -> Option<Self> {
        let (n, whole) = (problem.size(), problem.whole_size());
        let slope = problem.slope(&z, noise);
        let mut curvature = vec![0.0; whole * whole];
        for (row, known) in curvature
            .chunks_exact_mut(whole)
            .zip(slope.curvature.chunks_exact(n))
        {
            row[..n].copy_from_slice(known);
        }
        for (k, row) in noise.curvature_of_scales(problem, &z).iter().enumerate() {
            // No less is known of a scale than beforehand.
            curvature[(n + k) * (whole + 1)] = row[k].max(1.0);
        }
        z.extend(noise.scales());
        Some(Self {
            lower: Lower::of(whole, &curvature)?,
            cost: slope.cost,
            z,
        })
    }

    /// A place with the mean and the covariance of places, where they have one.
    pub(crate) fn of_places(places: &[Vec<f64>]) -> Option<Self> {
        Self::around(places.first()?.len(), places.iter().map(|z| (z, 0.0)))
    }

    /// A place with the mean and the covariance of weighed draws, where they have one.
    fn around<'a>(
        n: usize,
        found: impl Iterator<Item = (&'a Vec<f64>, f64)> + Clone,
    ) -> Option<Self> {
        let most = found
            .clone()
            .map(|(_, w)| w)
            .fold(f64::NEG_INFINITY, f64::max);
        let weighed = || found.clone().map(|(z, w)| (z, (w - most).exp()));
        let total: f64 = weighed().map(|(_, w)| w).sum();
        let mut z = vec![0.0; n];
        for (at, w) in weighed() {
            for (sum, x) in z.iter_mut().zip(at) {
                *sum += w * x / total;
            }
        }
        let mut covariance = vec![0.0; n * n];
        for (at, w) in weighed() {
            let off: Vec<f64> = at.iter().zip(&z).map(|(a, b)| a - b).collect();
            for (row, a) in covariance.chunks_exact_mut(n).zip(&off) {
                for (sum, b) in row.iter_mut().zip(&off) {
                    *sum += w * a * b / total;
                }
            }
        }
        for k in 0..n {
            covariance[k * n + k] += 1e-6;
        }
        let lower = Lower::of(n, &Lower::of(n, &covariance)?.inverse())?;
        Some(Self {
            z,
            cost: f64::NAN,
            lower,
        })
    }

    /// A place around the mode, of a multivariate t.
    fn draw(&self, size: usize, stream: &mut Stream) -> Vec<f64> {
        let chi: f64 = (0..DRAW_TAILS as usize)
            .map(|_| stream.normal().powi(2))
            .sum();
        let wide = (DRAW_TAILS / chi).sqrt();
        let step = self.lower.solve_transposed(&stream.normals(size));
        self.z.iter().zip(step).map(|(z, s)| z + wide * s).collect()
    }

    /// ln of the density of [`draw`](Self::draw), without what all modes share.
    fn ln_density(&self, z: &[f64]) -> f64 {
        let n = z.len();
        let off: Vec<f64> = z.iter().zip(&self.z).map(|(a, b)| a - b).collect();
        let squares = self.lower.quadratic(&off);
        0.5 * self.lower.ln_determinant()
            - 0.5 * (DRAW_TAILS + n as f64) * (squares / DRAW_TAILS).ln_1p()
    }
}

/// Systematic resampling, so that draws have equal weights.
fn resample(found: Vec<(Draw, f64)>, n: usize, stream: &mut Stream) -> (Vec<Draw>, f64) {
    let most = found
        .iter()
        .map(|(_, w)| *w)
        .fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = found.iter().map(|(_, w)| (w - most).exp()).collect();
    let total: f64 = weights.iter().sum();
    let squares: f64 = weights.iter().map(|w| w * w).sum();
    let step = total / n as f64;
    let mut wanted = step * stream.uniform();
    let mut sum = 0.0;
    let mut out = Vec::with_capacity(n);
    for ((draw, _), weight) in found.into_iter().zip(&weights) {
        sum += weight;
        while wanted < sum && out.len() < n {
            out.push(draw.clone());
            wanted += step;
        }
    }
    (out, total * total / squares)
}

/// Places to start from: where the priors are, later, sooner, and stopped early.
fn starts(size: usize) -> Vec<Vec<f64>> {
    let at = |moves: &[(usize, f64)]| {
        let mut z = vec![0.0; size];
        for (k, by) in moves {
            z[*k] = *by;
        }
        z
    };
    vec![
        at(&[]),
        at(&[(3, 1.5)]),
        at(&[(3, -1.5)]),
        at(&[(2, 1.5), (4, -1.0)]),
        at(&[(2, -1.5), (5, -1.0)]),
        at(&[(1, -4.0)]),
        at(&[(1, -9.0), (3, -1.0)]),
        at(&[(3, 4.0)]),
    ]
}

fn distance(a: &[f64], b: &[f64]) -> f64 {
    let each = a.iter().zip(b).map(|(a, b)| (a - b).abs());
    each.fold(0.0, f64::max)
}

/// Levenberg and Marquardt's descent: cost and place of its end.
fn descend(problem: &Problem, noise: &Noise, mut z: Vec<f64>, steps: usize) -> (f64, Vec<f64>) {
    let n = problem.size();
    let mut slope = problem.slope(&z, noise);
    let mut damping = 1e-2;
    for _ in 0..steps {
        let mut damped = slope.curvature.clone();
        for k in 0..n {
            damped[k * n + k] *= 1.0 + damping;
        }
        let Some(lower) = Lower::of(n, &damped) else {
            damping *= 10.0;
            continue;
        };
        let step = lower.solve(&slope.gradient);
        let there: Vec<f64> = z
            .iter()
            .zip(&step)
            .map(|(z, s)| z - s.clamp(-3.0, 3.0))
            .collect();
        let next = problem.slope(&there, noise);
        if next.cost < slope.cost {
            let gained = slope.cost - next.cost;
            (z, slope, damping) = (there, next, (damping * 0.2).max(1e-9));
            if gained < 1e-7 {
                break;
            }
        } else {
            damping *= 6.0;
            if damping > 1e9 {
                break;
            }
        }
    }
    (slope.cost, z)
}
