//! The whole posterior by the no-U-turn sampler.
//!
//! Hamiltonian dynamics with trees that double until they turn (M. D. Hoffman and
//! A. Gelman, J. Mach. Learn. Res. 15 (2014) 1593), draws chosen along the trajectory by
//! their density (M. Betancourt, arXiv:1701.02434), step length by dual averaging. It runs
//! in coordinates that a covariance makes nearly round: that of the weighed draws, then
//! that of the first half of the warm-up. R̂ and effective sizes are those of A. Vehtari
//! et al., Bayesian Analysis 16 (2021) 667, on the draws themselves rather than on their
//! ranks.

use super::Mode;
use super::problem::{Noise, Problem};
use crate::random::Stream;

/// Doublings of a tree at most; an energy error beyond which a step diverged; the
/// acceptance that the step length aims at.
const DEEPEST: usize = 9;
const DIVERGED: f64 = 1000.0;
const ACCEPTANCE: f64 = 0.95;

/// One chain after its warm-up.
#[derive(Debug, Clone)]
pub(crate) struct Chain {
    pub(crate) draws: Vec<Vec<f64>>,
    pub(crate) divergences: usize,
    pub(crate) gradients: usize,
}

/// Hears of each step of any chain, and says whether to go on.
pub(crate) type GoOn<'a> = &'a (dyn Fn() -> bool + Sync);

/// Chains, each with its own stream; nothing where they were broken off. They start in
/// coordinates in which `first` is round; halfway through the warm-up those take its place
/// in which the draws of all are.
pub(crate) fn chains(
    problem: &Problem,
    noise: &Noise,
    first: &Mode,
    count: u64,
    (warm_up, draws): (usize, usize),
    seed: u64,
    go_on: GoOn<'_>,
) -> Option<Vec<Chain>> {
    let half = warm_up / 2;
    let mut samplers: Vec<Sampler<'_>> = (0..count)
        .map(|chain| Sampler {
            problem,
            noise,
            mode: first.clone(),
            stream: Stream::seeded(seed.wrapping_add(chain)),
            divergences: 0,
            gradients: 0,
        })
        .collect();
    let early: Vec<Vec<Vec<f64>>> = samplers
        .iter_mut()
        .map(|sampler| {
            let start = sampler.stream.normals(problem.whole_size());
            let start = sampler.unwhitened(&start);
            sampler.run(&start, half / 2, half - half / 2, go_on)
        })
        .collect::<Option<_>>()?;
    let pooled: Vec<Vec<f64>> = early.iter().flatten().cloned().collect();
    let whole = Mode::of_places(&pooled).unwrap_or_else(|| first.clone());
    let run = |(mut sampler, early): (Sampler<'_>, Vec<Vec<f64>>)| {
        sampler.mode = whole.clone();
        let start = early.last().unwrap_or(&whole.z);
        Some(Chain {
            draws: sampler.run(start, warm_up - half, draws, go_on)?,
            divergences: sampler.divergences,
            gradients: sampler.gradients,
        })
    };
    samplers.into_iter().zip(early).map(run).collect()
}

/// A point of phase space.
#[derive(Debug, Clone)]
struct Place {
    at: Vec<f64>,
    momentum: Vec<f64>,
    cost: f64,
    gradient: Vec<f64>,
}

impl Place {
    fn energy(&self) -> f64 {
        self.cost + 0.5 * dot(&self.momentum, &self.momentum)
    }
}

/// A stretch of a trajectory.
struct Tree {
    ends: [Place; 2],
    chosen: Place,
    ln_weight: f64,
    /// Sum of the momenta, for the test of turning.
    sum: Vec<f64>,
    goes_on: bool,
    accepted: f64,
    steps: usize,
}

struct Sampler<'a> {
    problem: &'a Problem,
    noise: &'a Noise,
    mode: Mode,
    stream: Stream,
    divergences: usize,
    gradients: usize,
}

impl Sampler<'_> {
    /// Draws after a warm-up; divergences are counted in the draws alone.
    fn run(
        &mut self,
        start: &[f64],
        warm_up: usize,
        draws: usize,
        go_on: GoOn<'_>,
    ) -> Option<Vec<Vec<f64>>> {
        let off: Vec<f64> = start.iter().zip(&self.mode.z).map(|(a, b)| a - b).collect();
        let start = self.mode.lower.times_transposed(&off);
        let mut here = self.place(start, vec![0.0; off.len()]);
        let mut step = StepLength::from(0.4);
        let mut kept = Vec::with_capacity(draws);
        for i in 0..warm_up + draws {
            if !go_on() {
                return None;
            }
            let warming = i < warm_up;
            if i == warm_up {
                self.divergences = 0;
            }
            let length = step.length(warming);
            let (next, accepted) = self.draw(&here, length);
            here = next;
            if warming {
                step.learn(accepted);
            } else {
                kept.push(self.unwhitened(&here.at));
            }
        }
        Some(kept)
    }

    fn unwhitened(&self, at: &[f64]) -> Vec<f64> {
        let step = self.mode.lower.solve_transposed(at);
        self.mode.z.iter().zip(step).map(|(z, s)| z + s).collect()
    }

    fn place(&mut self, at: Vec<f64>, momentum: Vec<f64>) -> Place {
        let (cost, gradient) = self.problem.gradient(&self.unwhitened(&at), self.noise);
        self.gradients += 1;
        Place {
            gradient: self.mode.lower.solve_lower(&gradient),
            at,
            momentum,
            cost,
        }
    }

    fn draw(&mut self, from: &Place, length: f64) -> (Place, f64) {
        let mut start = from.clone();
        start.momentum = self.stream.normals(start.at.len());
        let energy = start.energy();
        let mut tree = Tree {
            sum: start.momentum.clone(),
            ends: [start.clone(), start.clone()],
            chosen: start,
            ln_weight: 0.0,
            goes_on: true,
            accepted: 0.0,
            steps: 0,
        };
        for depth in 0..DEEPEST {
            let forward = self.stream.uniform() < 0.5;
            let edge = tree.ends[usize::from(forward)].clone();
            let sign = if forward { 1.0 } else { -1.0 };
            let grown = self.grow(&edge, depth, sign * length, energy);
            tree.accepted += grown.accepted;
            tree.steps += grown.steps;
            if !grown.goes_on {
                break;
            }
            if self.stream.uniform().ln() < grown.ln_weight - tree.ln_weight {
                tree.chosen = grown.chosen;
            }
            tree.ln_weight = ln_sum(tree.ln_weight, grown.ln_weight);
            add(&mut tree.sum, &grown.sum);
            let [back, front] = grown.ends;
            tree.ends[usize::from(forward)] = if forward { front } else { back };
            if turns(&tree.ends, &tree.sum) {
                break;
            }
        }
        let accepted = tree.accepted / tree.steps.max(1) as f64;
        (tree.chosen, accepted)
    }

    /// 2^depth steps from an edge.
    fn grow(&mut self, edge: &Place, depth: usize, step: f64, energy: f64) -> Tree {
        if depth == 0 {
            return self.leap(edge, step, energy);
        }
        let mut first = self.grow(edge, depth - 1, step, energy);
        if !first.goes_on {
            return first;
        }
        let forward = usize::from(step > 0.0);
        let second = self.grow(&first.ends[forward].clone(), depth - 1, step, energy);
        first.accepted += second.accepted;
        first.steps += second.steps;
        let ln_weight = ln_sum(first.ln_weight, second.ln_weight);
        if self.stream.uniform().ln() < second.ln_weight - ln_weight {
            first.chosen = second.chosen;
        }
        first.ln_weight = ln_weight;
        add(&mut first.sum, &second.sum);
        let [back, front] = second.ends;
        first.ends[forward] = if forward == 1 { front } else { back };
        first.goes_on = second.goes_on && !turns(&first.ends, &first.sum);
        first
    }

    /// One leap-frog step.
    fn leap(&mut self, from: &Place, step: f64, energy: f64) -> Tree {
        let half = |p: &[f64], g: &[f64]| -> Vec<f64> {
            p.iter().zip(g).map(|(p, g)| p - 0.5 * step * g).collect()
        };
        let momentum = half(&from.momentum, &from.gradient);
        let moved = from.at.iter().zip(&momentum);
        let at: Vec<f64> = moved.map(|(x, p)| x + step * p).collect();
        let mut there = self.place(at, momentum);
        there.momentum = half(&there.momentum, &there.gradient);
        let gained = energy - there.energy();
        let goes_on = gained > -DIVERGED;
        if !goes_on {
            self.divergences += 1;
        }
        Tree {
            sum: there.momentum.clone(),
            ends: [there.clone(), there.clone()],
            chosen: there,
            ln_weight: if gained.is_finite() {
                gained
            } else {
                f64::NEG_INFINITY
            },
            goes_on,
            accepted: if gained.is_finite() {
                gained.exp().min(1.0)
            } else {
                0.0
            },
            steps: 1,
        }
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn add(sum: &mut [f64], more: &[f64]) {
    for (s, m) in sum.iter_mut().zip(more) {
        *s += m;
    }
}

fn ln_sum(a: f64, b: f64) -> f64 {
    let most = a.max(b);
    if most == f64::NEG_INFINITY {
        return most;
    }
    most + ((a - most).exp() + (b - most).exp()).ln()
}

fn turns(ends: &[Place; 2], sum: &[f64]) -> bool {
    ends.iter().any(|end| dot(&end.momentum, sum) <= 0.0)
}

/// Dual averaging of the step length, with the constants of Hoffman and Gelman.
struct StepLength {
    first: f64,
    ln: f64,
    averaged: f64,
    error: f64,
    count: f64,
}

impl StepLength {
    fn from(first: f64) -> Self {
        Self {
            first,
            ln: first.ln(),
            averaged: first.ln(),
            error: 0.0,
            count: 0.0,
        }
    }

    fn length(&self, warming: bool) -> f64 {
        if warming {
            self.ln.exp()
        } else {
            self.averaged.exp()
        }
    }

    fn learn(&mut self, accepted: f64) {
        self.count += 1.0;
        let share = 1.0 / (self.count + 10.0);
        self.error = (1.0 - share) * self.error + share * (ACCEPTANCE - accepted);
        self.ln = (10.0 * self.first).ln() - self.count.sqrt() / 0.05 * self.error;
        let recent = self.count.powf(-0.75);
        self.averaged = recent * self.ln + (1.0 - recent) * self.averaged;
    }
}

/// R̂ of chains cut in halves, and the effective size of all draws.
pub(crate) fn agreement(chains: &[Vec<f64>]) -> (f64, f64) {
    let halves: Vec<&[f64]> = chains
        .iter()
        .flat_map(|chain| {
            let (a, b) = chain.split_at(chain.len() / 2);
            [a, &b[..a.len()]]
        })
        .collect();
    let m = halves.len() as f64;
    let n = halves.first().map_or(0, |half| half.len());
    if n < 4 {
        return (f64::INFINITY, 0.0);
    }
    let mean = |x: &[f64]| x.iter().sum::<f64>() / x.len() as f64;
    let means: Vec<f64> = halves.iter().map(|half| mean(half)).collect();
    let grand = mean(&means);
    let between = n as f64 * means.iter().map(|x| (x - grand).powi(2)).sum::<f64>() / (m - 1.0);
    let covariance = |lag: usize| {
        let one = |(half, mean): (&&[f64], &f64)| {
            let pairs = half.iter().zip(&half[lag..]);
            pairs.map(|(a, b)| (a - mean) * (b - mean)).sum::<f64>() / n as f64
        };
        halves.iter().zip(&means).map(one).sum::<f64>() / m
    };
    let within = covariance(0) * n as f64 / (n as f64 - 1.0);
    let pooled = within * (n as f64 - 1.0) / n as f64 + between / n as f64;
    if within.is_nan() || within <= 0.0 {
        return (f64::INFINITY, 0.0);
    }
    // Geyer's sum of pairs, as long as they are positive and fall.
    let correlation =
        |lag: usize| 1.0 - (within - covariance(lag) * n as f64 / (n as f64 - 1.0)) / pooled;
    let (mut sum, mut before) = (-1.0, f64::INFINITY);
    for k in 0..n / 2 - 1 {
        let first = if k == 0 { 1.0 } else { correlation(2 * k) };
        let pair = (first + correlation(2 * k + 1)).min(before);
        if pair <= 0.0 {
            break;
        }
        sum += 2.0 * pair;
        before = pair;
    }
    let size = m * n as f64 / sum.max(1.0 / (m * n as f64).log10());
    ((pooled / within).sqrt(), size)
}
