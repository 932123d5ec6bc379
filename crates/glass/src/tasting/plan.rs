//! Before pouring: what a number of tastings can show, and how many it takes.

use super::a_not_a;
use super::binomial::Binomial;
use super::difference::critical;
use super::error::{MOST_TASTINGS, TastingError, between, count, risk};
use super::protocol::{MOST_D_PRIME, Protocol};

/// What a number of tastings can show.
#[derive(Debug, Clone, PartialEq)]
pub struct Power {
    /// How it is asked.
    pub protocol: Protocol,
    /// Tastings.
    pub tastings: u32,
    /// The risk of a false alarm that was set \[–\].
    pub alpha: f64,
    /// So many right answers show a difference; none if not even all would.
    pub critical: Option<u32>,
    /// The risk of a false alarm that this comes to \[–\].
    pub true_alpha: f64,
    /// The difference that was asked about \[d′\].
    pub d_prime: f64,
    /// The chance that it is seen \[–\].
    pub power: f64,
    /// The same for half a d′, one, and so on up to three.
    pub by_difference: Vec<(f64, f64)>,
}

/// The differences \[d′\] of [`Power::by_difference`].
pub const DIFFERENCES: [f64; 6] = [0.5, 1.0, 1.5, 2.0, 2.5, 3.0];

/// What `tastings` can show at a risk `alpha` \[–\], for a difference \[d′\]:
/// P(X ≥ critical number), X ~ Binomial(n, f(d′)).
///
/// # Errors
/// [`TastingError`] for a count, a risk or a difference that cannot be.
pub fn power(
    protocol: Protocol,
    tastings: u32,
    d_prime: f64,
    alpha: f64,
) -> Result<Power, TastingError> {
    count(protocol.nouns().1, tastings)?;
    let alpha = risk("the risk of a false alarm", alpha)?;
    let d_prime = between("the difference d'", d_prime, 0.0, MOST_D_PRIME)?;
    let critical = critical(protocol, tastings, alpha).filter(|_| protocol != Protocol::OneGlass);
    let seen = |d| match protocol {
        Protocol::OneGlass => seen_one_by_one(tastings, d, alpha),
        _ => seen(protocol, tastings, critical, protocol.right(d)),
    };
    Ok(Power {
        protocol,
        tastings,
        alpha,
        critical,
        true_alpha: seen(0.0),
        d_prime,
        power: seen(d_prime),
        by_difference: DIFFERENCES.iter().map(|&d| (d, seen(d))).collect(),
    })
}

/// The chance that single glasses, half of each beer, show a difference; an odd one
/// is left out, and so is what is beyond 300 of each.
fn seen_one_by_one(tastings: u32, d_prime: f64, alpha: f64) -> f64 {
    match (tastings / 2).min(a_not_a::MOST_OF_EACH) {
        0 => 0.0,
        of_each => a_not_a::seen(of_each, d_prime, alpha),
    }
}

/// The chance that a difference is seen \[–\] if a share `discriminators` \[–\]
/// tells the beers apart and the rest guess.
///
/// # Errors
/// [`TastingError`] for a count, a risk or a share that cannot be.
pub fn power_of_discriminators(
    protocol: Protocol,
    tastings: u32,
    discriminators: f64,
    alpha: f64,
) -> Result<f64, TastingError> {
    count(protocol.nouns().1, tastings)?;
    let alpha = risk("the risk of a false alarm", alpha)?;
    let right = protocol.right_of_discriminators(discriminators)?;
    Ok(seen(
        protocol,
        tastings,
        critical(protocol, tastings, alpha),
        right,
    ))
}

/// How many tastings a power takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Needed {
    /// The smallest number that has it.
    pub first: u32,
    /// From here on every number has it; none within [`MOST_TASTINGS`].
    pub stable: Option<u32>,
}

/// How many tastings see a difference \[d′\] with a chance `wanted` \[–\] at a risk
/// `alpha` \[–\]; none within [`MOST_TASTINGS`]. Power climbs as the teeth of a
/// saw, so a larger number can have less of it: the stable number is the one to
/// plan with.
///
/// # Errors
/// [`TastingError`] for a risk, a chance or a difference that cannot be.
pub fn tastings_for(
    protocol: Protocol,
    d_prime: f64,
    alpha: f64,
    wanted: f64,
) -> Result<Option<Needed>, TastingError> {
    let alpha = risk("the risk of a false alarm", alpha)?;
    let wanted = between("the wanted chance of seeing it", wanted, 0.05, 0.999)?;
    let d_prime = between("the difference d'", d_prime, 0.05, MOST_D_PRIME)?;
    let right = protocol.right_at(d_prime)?;
    if protocol == Protocol::OneGlass {
        return Ok(glasses_for(d_prime, alpha, wanted));
    }
    let (mut first, mut failed) = (None, 0);
    for n in 1..=MOST_TASTINGS {
        if seen(protocol, n, critical(protocol, n, alpha), right) >= wanted {
            first = first.or(Some(n));
        } else {
            failed = n;
        }
        if far_beyond(n, first, failed) {
            break;
        }
    }
    let stable = (failed < MOST_TASTINGS).then_some(failed + 1);
    Ok(first.map(|first| Needed { first, stable }))
}

/// The same for single glasses, as many of each beer; none beyond 300 of each.
fn glasses_for(d_prime: f64, alpha: f64, wanted: f64) -> Option<Needed> {
    let (mut first, mut failed) = (None, 0);
    for of_each in 1..=a_not_a::MOST_OF_EACH {
        if a_not_a::seen(of_each, d_prime, alpha) >= wanted {
            first = first.or(Some(of_each));
        } else {
            failed = of_each;
        }
        if far_beyond(of_each, first, failed) {
            break;
        }
    }
    first.map(|first| Needed {
        first: 2 * first,
        stable: (failed < a_not_a::MOST_OF_EACH).then_some(2 * (failed + 1)),
    })
}

/// The teeth get smaller as power climbs: after twice the first number and a few
/// without a fall, none comes.
fn far_beyond(n: u32, first: Option<u32>, failed: u32) -> bool {
    first.is_some_and(|first| n > 2 * first + 60 && n > failed + first)
}

fn seen(protocol: Protocol, tastings: u32, critical: Option<u32>, right: f64) -> f64 {
    let Some(cut) = critical else { return 0.0 };
    let answers = Binomial::new(tastings, right);
    if protocol.two_sided() {
        // The wrong side is called, too, if it comes out so.
        return (answers.at_least(cut) + answers.at_most(tastings - cut)).min(1.0);
    }
    answers.at_least(cut)
}
