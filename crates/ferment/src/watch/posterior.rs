//! The whole posterior, on request.

use std::sync::atomic::{AtomicUsize, Ordering};

use quantity::{Duration, Fraction, Gravity};

use super::course::{Fitted, Likely, Watching, quantile};
use super::fit::{Mode, sampler};
use crate::error::FermentError;

/// How much is sampled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sampling {
    /// Chains.
    pub chains: u64,
    /// Steps of each chain that are thrown away.
    pub warm_up: usize,
    /// Draws of each chain that are kept.
    pub draws: usize,
}

impl Default for Sampling {
    fn default() -> Self {
        Self {
            chains: 4,
            warm_up: 400,
            draws: 1000,
        }
    }
}

/// What the sampler found, with what tells whether it can be trusted.
#[derive(Debug, Clone)]
pub struct Posterior {
    /// Where the beer will end.
    pub end: Likely<Gravity>,
    /// The gravity at the moment that was asked for, by the curve.
    pub now: Likely<Gravity>,
    /// When a tenth of the fall is left, if within the forecast.
    pub nine_tenths: Option<Likely<Duration>>,
    /// Steps whose energy ran away: none is right.
    pub divergences: usize,
    /// The largest R̂ of all parameters: below 1.01 the chains agree.
    pub r_hat: f64,
    /// The smallest effective size of all parameters.
    pub effective: f64,
    /// Gradients that it took.
    pub gradients: usize,
}

/// Independent draws that tell a covariance.
const ENOUGH_DRAWS: f64 = 100.0;

/// Samples the posterior of a fermentation, of the scales of the noise too. The weights of
/// odd readings stay as the fit found them.
///
/// # Errors
/// As [`watch`](super::watch).
pub fn posterior(watching: Watching<'_>, sampling: Sampling) -> Result<Posterior, FermentError> {
    // Nobody breaks it off.
    posterior_until(watching, sampling, &|_| true)?.ok_or_else(|| FermentError::Impossible {
        what: "posterior of this fermentation",
        given: "no mode".to_owned(),
        accepted: "readings of this batch alone".to_owned(),
    })
}

/// The same for who waits: `told` hears what share is done, from any thread, and says
/// whether to go on; nothing comes of it where it says no.
///
/// # Errors
/// As [`posterior`].
pub fn posterior_until(
    watching: Watching<'_>,
    sampling: Sampling,
    told: &(dyn Fn(Fraction) -> bool + Sync),
) -> Result<Option<Posterior>, FermentError> {
    let fitted = Fitted::of(watching)?;
    let problem = &fitted.problem;
    let steps = (sampling.warm_up, sampling.draws.max(8));
    let count = sampling.chains.max(2);
    let all = (steps.0 + steps.1) as f64 * count as f64;
    let done = AtomicUsize::new(0);
    let go_on = || {
        let share = done.fetch_add(1, Ordering::Relaxed) as f64 / all;
        told(Fraction::from_ratio(share))
    };
    let Some(first) = metric(&fitted) else {
        return Ok(None);
    };
    let noise = &fitted.fit.noise;
    let chains = sampler::chains(problem, noise, &first, count, steps, watching.seed, &go_on);
    let Some(chains) = chains else {
        return Ok(None);
    };
    let (mut r_hat, mut effective) = (1.0f64, f64::INFINITY);
    for k in 0..problem.whole_size() {
        let one: Vec<Vec<f64>> = chains
            .iter()
            .map(|c| c.draws.iter().map(|z| z[k]).collect())
            .collect();
        let (r, n) = sampler::agreement(&one);
        r_hat = r_hat.max(r);
        effective = effective.min(n);
    }
    let all = || chains.iter().flat_map(|chain| &chain.draws);
    let each = |of: &dyn Fn(&[f64]) -> f64| {
        let mut x: Vec<f64> = all().map(|z| of(z)).collect();
        x.sort_by(f64::total_cmp);
        x
    };
    let end = each(&|z| problem.curve(z).0.end());
    let now = each(&|z| {
        let (curve, energy) = problem.curve(z);
        curve
            .draw()
            .at(problem.clock.at(energy).read(fitted.now_h).0)
            .plato
    });
    let nine_tenths = each(&|z| {
        let (curve, energy) = problem.curve(z);
        let tau = curve.draw().tau_at(0.1).max(0.0);
        let ticks = problem.clock.at(energy);
        ticks
            .when(tau, 0.0..fitted.until_h)
            .unwrap_or(f64::INFINITY)
    });
    let likely = |x: &[f64]| [0.05, 0.5, 0.95].map(|share| quantile(x, share));
    let gravity = |x: &[f64]| {
        let [low, middle, high] = likely(x).map(Gravity::from_plato);
        Likely { low, middle, high }
    };
    let [low, middle, high] = likely(&nine_tenths);
    Ok(Some(Posterior {
        end: gravity(&end),
        now: gravity(&now),
        nine_tenths: high.is_finite().then(|| Likely {
            low: Duration::from_h(low),
            middle: Duration::from_h(middle),
            high: Duration::from_h(high),
        }),
        divergences: chains.iter().map(|chain| chain.divergences).sum(),
        r_hat,
        effective,
        gradients: chains.iter().map(|chain| chain.gradients).sum(),
    }))
}

/// Where the sampler starts: the covariance of the weighed draws is that of the whole
/// posterior where they are many, and the Laplace approximation stands in where not.
fn metric(fitted: &Fitted<'_>) -> Option<Mode> {
    let places: Vec<Vec<f64>> = fitted.draws.iter().map(|draw| draw.z.clone()).collect();
    let of_draws = Mode::of_places(&places).filter(|_| fitted.worth > ENOUGH_DRAWS);
    of_draws.or_else(|| fitted.fit.modes.first().cloned())
}
