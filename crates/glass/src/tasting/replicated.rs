//! Several tastings by each taster: how much tasters differ from each other, and
//! what may then be said about people.

use super::error::{MOST_TASTINGS, TastingError, right_of, risk};
use super::numeric::{ln_beta, peak};
use super::protocol::Protocol;

/// The tastings of one taster.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Replicates {
    /// Right answers.
    pub right: u32,
    /// Tastings.
    pub tastings: u32,
}

/// A beta-binomial law fitted to the right answers of several tasters.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BetaBinomial {
    /// Mean \[–\]: of the share right, or of the share of discriminators.
    pub mean: f64,
    /// Spread between tasters γ \[–\]: 0 none, 1 each always or never right.
    pub gamma: f64,
    /// Logarithm of the likelihood.
    pub ln_likelihood: f64,
}

/// What replicated tastings say.
#[derive(Debug, Clone, PartialEq)]
pub struct Replicated {
    /// How it was asked.
    pub protocol: Protocol,
    /// Tasters.
    pub tasters: usize,
    /// Shares right vary between tasters as a beta law.
    pub plain: BetaBinomial,
    /// Shares of discriminators vary as a beta law, guessing on top of it.
    pub corrected: BetaBinomial,
    /// The size of the difference \[d′\] of the mean taster by the corrected law.
    pub d_prime: Option<f64>,
    /// Likelihood ratio of the corrected law against tasters who are all alike.
    pub spread_ratio: f64,
    /// Its chance if they were alike \[–\] (χ² of 1 degree: cautious, as the spread
    /// cannot be below none).
    pub spread_p: f64,
    /// Likelihood ratio of the corrected law against guessing.
    pub any_ratio: f64,
    /// Its chance by guessing \[–\] (χ² of 2 degrees).
    pub any_p: f64,
    /// So many independent tastings are they worth: N k / (1 + (k−1) γ).
    pub worth: f64,
}

/// Fits both laws to the answers of tasters, at least two of whom tasted twice.
///
/// With α = μ(1/γ − 1), β = (1−μ)(1/γ − 1): plain P(x) = C(n,x) B(α+x, β+n−x)/B(α,β);
/// corrected P(x) = C(n,x) Σᵢ C(x,i) (1−p₀)^(n−x+i) p₀^(x−i) B(α+i, n−x+β)/B(α,β).
/// Sources: Brockhoff 2003, Food Quality and Preference 14, 405; the corrected
/// law as given by Christensen & Brockhoff.
///
/// # Errors
/// [`TastingError`] for counts that cannot be, or too few tasters or tastings.
pub fn replicated(protocol: Protocol, panel: &[Replicates]) -> Result<Replicated, TastingError> {
    /// The likelihood of one taster is a sum over the tastings.
    const MOST_EACH: u32 = 200;
    for one in panel {
        right_of(protocol.nouns().1, one.right, one.tastings)?;
        if one.tastings > MOST_EACH {
            return Err(too_many(
                "tastings of one taster",
                one.tastings as usize,
                1,
                MOST_EACH as usize,
            ));
        }
    }
    let repeated = panel.iter().filter(|one| one.tastings > 1).count();
    if repeated < 2 || panel.len() > MOST_TASTINGS as usize {
        return Err(too_many(
            "tasters with more than one tasting",
            repeated,
            2,
            MOST_TASTINGS as usize,
        ));
    }
    let plain = fit(0.0, panel);
    let corrected = fit(protocol.guess(), panel);
    let alike = alike(protocol.guess(), panel);
    let guessing = ln_binomial(protocol.guess(), panel);
    let spread_ratio = (2.0 * (corrected.ln_likelihood - alike)).max(0.0);
    let any_ratio = (2.0 * (corrected.ln_likelihood - guessing)).max(0.0);
    let total: f64 = panel.iter().map(|one| f64::from(one.tastings)).sum();
    let each = total / panel.len() as f64;
    Ok(Replicated {
        protocol,
        tasters: panel.len(),
        plain,
        corrected,
        d_prime: protocol.difference(protocol.guess() + (1.0 - protocol.guess()) * corrected.mean),
        spread_ratio,
        spread_p: libm::erfc((spread_ratio / 2.0).sqrt()),
        any_ratio,
        any_p: (-any_ratio / 2.0).exp(),
        worth: total / (1.0 + (each - 1.0) * plain.gamma),
    })
}

/// So many right in all would show a difference at a risk `alpha` \[–\] if even
/// tasters who guess had shares that vary around guessing with a spread `gamma`
/// \[–\]: the exact sum of beta-binomial laws. A line to see how much hangs on
/// independence, not the test itself.
///
/// # Errors
/// [`TastingError`] for counts, a spread or a risk that cannot be.
pub fn cautious_critical(
    protocol: Protocol,
    tasters: u32,
    tastings_each: u32,
    gamma: f64,
    alpha: f64,
) -> Result<Option<u32>, TastingError> {
    let all = tasters.saturating_mul(tastings_each);
    super::error::count(protocol.nouns().1, all)?;
    super::error::between("the spread between tasters", gamma, 1e-6, 0.99)?;
    let alpha = risk("the risk of a false alarm", alpha)?;
    let one: Vec<f64> = (0..=tastings_each)
        .map(|right| {
            let counts = Replicates {
                right,
                tastings: tastings_each,
            };
            ln_mass(0.0, protocol.guess(), gamma, counts).exp()
        })
        .collect();
    let sums = (0..tasters).fold(vec![1.0], |sums, _| convolved(&sums, &one));
    let mut tail = 0.0;
    let mut critical = None;
    for (right, mass) in sums.iter().enumerate().rev() {
        tail += mass;
        if tail > alpha {
            break;
        }
        critical = u32::try_from(right).ok();
    }
    Ok(critical)
}

fn too_many(what: &'static str, given: usize, least: usize, most: usize) -> TastingError {
    TastingError::Count {
        what,
        given,
        least,
        most,
    }
}

fn convolved(a: &[f64], b: &[f64]) -> Vec<f64> {
    let mut sums = vec![0.0; a.len() + b.len() - 1];
    for (i, x) in a.iter().enumerate() {
        for (j, y) in b.iter().enumerate() {
            sums[i + j] += x * y;
        }
    }
    sums
}

/// γ below which a beta law is a point for every number that is shown.
const LEAST_GAMMA: f64 = 1e-6;
/// Means at the very ends make the law a point that no logarithm can hold.
const LEAST_MEAN: f64 = 1e-9;

/// The likeliest beta law; guessing at `guess` on top of it. The mean is searched
/// within the spread, the spread on its square root, where the peak is round.
fn fit(guess: f64, panel: &[Replicates]) -> BetaBinomial {
    let counts = tally(panel);
    let best_mean = |gamma: f64| {
        peak(LEAST_MEAN, 1.0 - LEAST_MEAN, |mean| {
            ln_likelihood(guess, mean, gamma, &counts)
        })
    };
    let root_gamma = peak(LEAST_GAMMA.sqrt(), 0.999, |root| {
        let gamma = root * root;
        ln_likelihood(guess, best_mean(gamma), gamma, &counts)
    });
    let at = |gamma: f64| {
        let mean = best_mean(gamma);
        BetaBinomial {
            mean,
            gamma,
            ln_likelihood: ln_likelihood(guess, mean, gamma, &counts),
        }
    };
    let (spread, none) = (at(root_gamma * root_gamma), at(LEAST_GAMMA));
    // Where every answer is right, or wrong, any spread fits: then none is said.
    if spread.ln_likelihood > none.ln_likelihood + 1e-6 {
        spread
    } else {
        BetaBinomial { gamma: 0.0, ..none }
    }
}

/// The likeliest single share, not below guessing, for all tasters.
fn alike(guess: f64, panel: &[Replicates]) -> f64 {
    let right: f64 = panel.iter().map(|one| f64::from(one.right)).sum();
    let all: f64 = panel.iter().map(|one| f64::from(one.tastings)).sum();
    ln_binomial((right / all).max(guess), panel)
}

fn ln_binomial(chance: f64, panel: &[Replicates]) -> f64 {
    let part = |count: u32, chance: f64| {
        if count == 0 {
            0.0
        } else {
            f64::from(count) * chance.ln()
        }
    };
    panel
        .iter()
        .map(|one| {
            let wrong = one.tastings - one.right;
            ln_choose(one.tastings, one.right) + part(one.right, chance) + part(wrong, 1.0 - chance)
        })
        .sum()
}

/// Tasters with the same counts need the same sum: it is made once.
fn tally(panel: &[Replicates]) -> Vec<(Replicates, f64)> {
    let mut counts: Vec<(Replicates, f64)> = Vec::new();
    for &one in panel {
        match counts.iter_mut().find(|(seen, _)| *seen == one) {
            Some((_, times)) => *times += 1.0,
            None => counts.push((one, 1.0)),
        }
    }
    counts
}

fn ln_likelihood(guess: f64, mean: f64, gamma: f64, counts: &[(Replicates, f64)]) -> f64 {
    counts
        .iter()
        .map(|&(one, times)| times * ln_mass(guess, mean, gamma, one))
        .sum()
}

fn ln_mass(guess: f64, mean: f64, gamma: f64, one: Replicates) -> f64 {
    let (n, x) = (one.tastings, one.right);
    let rest = 1.0 / gamma - 1.0;
    let (a, b) = (mean * rest, (1.0 - mean) * rest);
    let ln_part = |told_apart: u32| {
        let guessed = f64::from(x - told_apart);
        let not_guessed = f64::from(n - x + told_apart);
        let by_guess = if guessed > 0.0 {
            guessed * guess.ln()
        } else {
            0.0
        };
        ln_choose(x, told_apart)
            + not_guessed * (1.0 - guess).ln()
            + by_guess
            + ln_beta(a + f64::from(told_apart), f64::from(n - x) + b)
            - ln_beta(a, b)
    };
    let least = if guess > 0.0 { 0 } else { x };
    let parts: Vec<f64> = (least..=x).map(ln_part).collect();
    let largest = parts.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let sum: f64 = parts.iter().map(|part| (part - largest).exp()).sum();
    ln_choose(n, x) + largest + sum.ln()
}

fn ln_choose(n: u32, k: u32) -> f64 {
    let ln_factorial = |m: u32| libm::lgamma(f64::from(m) + 1.0);
    ln_factorial(n) - ln_factorial(k) - ln_factorial(n - k)
}
