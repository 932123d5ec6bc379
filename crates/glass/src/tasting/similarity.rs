//! Whether two beers are alike enough: the test whose burden of proof lies on
//! likeness. A difference test that shows nothing is no such proof.

use super::binomial::{Binomial, within};
use super::error::{TastingError, between, count, right_of, risk};
use super::protocol::Protocol;

/// What right answers say about likeness.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Similarity {
    /// How it was asked.
    pub protocol: Protocol,
    /// Right answers; where either side counts, those of the larger side.
    pub right: u32,
    /// Tastings.
    pub tastings: u32,
    /// The share of discriminators \[–\] that is still alike enough.
    pub limit: f64,
    /// The risk of calling beers alike that are not \[–\].
    pub beta: f64,
    /// The chance of so few right \[–\] if the limit were reached.
    pub p: f64,
    /// At most so many right answers show likeness; none if not even zero would.
    pub critical: Option<u32>,
    /// Whether the critical number lies below what guessing brings: then the
    /// panel is too small for the claim.
    pub too_small: bool,
}

impl Similarity {
    /// Whether it is shown that fewer than the limit tell the beers apart.
    #[must_use]
    pub fn shown(&self) -> bool {
        within(self.p, self.beta)
    }
}

/// Judges whether fewer than a share `limit` \[–\] tell two beers apart.
///
/// p = P(X ≤ x), X ~ Binomial(n, p₀ + (1−p₀) limit). Alike is shown if p ≤ β.
/// Where either side counts, both sides must be shown to be below it, so the
/// larger side decides (two one-sided tests). Sources: ISO 4120, ISO 10399.
/// Only for one tasting a taster: answers of the same taster are not independent
/// once there is a difference (ISO 10399, note).
///
/// # Errors
/// [`TastingError`] for a count, a limit or a risk that cannot be.
pub fn similarity(
    protocol: Protocol,
    right: u32,
    tastings: u32,
    limit: f64,
    beta: f64,
) -> Result<Similarity, TastingError> {
    right_of(protocol.nouns().1, right, tastings)?;
    let (limit, beta) = (limit_of(limit)?, beta_of(beta)?);
    let right = if protocol.two_sided() {
        right.max(tastings - right)
    } else {
        right
    };
    let critical = alike_critical(protocol, tastings, limit, beta);
    Ok(Similarity {
        protocol,
        right,
        tastings,
        limit,
        beta,
        p: Binomial::new(tastings, at(protocol, limit)).at_most(right),
        critical,
        too_small: critical.is_none_or(|c| f64::from(c) < f64::from(tastings) * protocol.guess()),
    })
}

/// The largest number of right answers that still shows fewer than `limit` \[–\]
/// discriminators at a risk `beta` \[–\].
///
/// # Errors
/// [`TastingError`] for a count, a limit or a risk that cannot be.
pub fn similarity_critical(
    protocol: Protocol,
    tastings: u32,
    limit: f64,
    beta: f64,
) -> Result<Option<u32>, TastingError> {
    count(protocol.nouns().1, tastings)?;
    Ok(alike_critical(
        protocol,
        tastings,
        limit_of(limit)?,
        beta_of(beta)?,
    ))
}

/// The chance \[–\] that likeness is shown if a share `really` \[–\] tells the
/// beers apart.
///
/// # Errors
/// [`TastingError`] for a count, a share or a risk that cannot be.
pub fn similarity_power(
    protocol: Protocol,
    tastings: u32,
    limit: f64,
    beta: f64,
    really: f64,
) -> Result<f64, TastingError> {
    let critical = similarity_critical(protocol, tastings, limit, beta)?;
    let right = Binomial::new(tastings, protocol.right_of_discriminators(really)?);
    Ok(match critical {
        None => 0.0,
        // Neither side may exceed the cut.
        Some(cut) if protocol.two_sided() && 2 * cut >= tastings => {
            right.at_most(cut) - below(&right, tastings - cut.min(tastings))
        }
        Some(_) if protocol.two_sided() => 0.0,
        Some(cut) => right.at_most(cut),
    })
}

/// The fewest tastings with one cut that keeps both risks: a false alarm at
/// `alpha`, a share `share` \[–\] of discriminators missed at `beta`. With it the
/// cut: so many right, or more, show a difference, fewer show likeness.
///
/// # Errors
/// [`TastingError`] for a share or a risk that cannot be.
pub fn tastings_for_both(
    protocol: Protocol,
    share: f64,
    alpha: f64,
    beta: f64,
) -> Result<Option<(u32, u32)>, TastingError> {
    let (share, beta) = (limit_of(share)?, beta_of(beta)?);
    let alpha = risk("the risk of a false alarm", alpha)?;
    Ok((1..=super::error::MOST_TASTINGS).find_map(|n| {
        let cut = super::difference::critical(protocol, n, alpha)?;
        let missed = Binomial::new(n, at(protocol, share)).at_most(cut.saturating_sub(1));
        within(missed, beta).then_some((n, cut))
    }))
}

/// P(X < k).
fn below(right: &Binomial, k: u32) -> f64 {
    k.checked_sub(1).map_or(0.0, |k| right.at_most(k))
}

fn alike_critical(protocol: Protocol, tastings: u32, limit: f64, beta: f64) -> Option<u32> {
    Binomial::new(tastings, at(protocol, limit)).lower_critical(beta)
}

fn at(protocol: Protocol, share: f64) -> f64 {
    protocol.guess() + (1.0 - protocol.guess()) * share
}

fn limit_of(given: f64) -> Result<f64, TastingError> {
    between("the share that may tell them apart", given, 0.01, 0.95)
}

fn beta_of(given: f64) -> Result<f64, TastingError> {
    risk("the risk of missing a difference", given)
}
