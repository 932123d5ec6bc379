//! Whether two beers differ: exact tests of right answers against guessing.

use super::binomial::{Binomial, clopper_pearson, within};
use super::error::{TastingError, count, right_of, risk};
use super::protocol::Protocol;

/// A figure and the interval that it may lie in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// The figure; none where it has no end.
    pub value: Option<f64>,
    /// The lower end; none where it has none.
    pub low: Option<f64>,
    /// The upper end; none where it has none.
    pub high: Option<f64>,
}

/// What right answers say about a difference.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Difference {
    /// How it was asked.
    pub protocol: Protocol,
    /// Right answers.
    pub right: u32,
    /// Tastings.
    pub tastings: u32,
    /// The risk of calling a difference that is none \[–\].
    pub alpha: f64,
    /// The chance of so many right, or more, by guessing alone \[–\].
    pub p: f64,
    /// So many right answers show a difference; none if not even all would.
    pub critical: Option<u32>,
    /// Share of right answers \[–\].
    pub share_right: Estimate,
    /// Share of tastings in which the beers were told apart, not guessed \[–\].
    pub discriminators: Estimate,
    /// Size of the difference \[d′\].
    pub d_prime: Estimate,
    /// Standard error of d′ \[d′\]; none at guessing, and where all is right.
    pub d_prime_error: Option<f64>,
}

impl Difference {
    /// Whether a difference is shown at the risk that was set.
    #[must_use]
    pub fn shown(&self) -> bool {
        within(self.p, self.alpha)
    }
}

/// Judges right answers, each of a tasting of its own.
///
/// p = P(X ≥ x), X ~ Binomial(n, p₀); where either side counts, both tails. The
/// interval (1 − α_interval = 95 %) is that of Clopper & Pearson on the share of
/// right answers, its ends carried over to discriminators and d′. Standard error
/// of d′: √(p_c(1−p_c)/n) / f′(d′), f the psychometric function (delta method).
/// Sources: ISO 4120, ISO 10399, ISO 5495; Brockhoff & Christensen 2010, Food
/// Quality and Preference 21, 330 (from memory).
///
/// Tastings of one taster say something about that taster; see
/// [`replicated`](super::replicated) before they are said to speak of people.
///
/// ```
/// use glass::tasting::{Protocol, difference};
/// let judged = difference(Protocol::Triangle, 5, 6, 0.05)?;
/// assert_eq!(judged.critical, Some(5));
/// assert!((judged.p - 13.0 / 729.0).abs() < 1e-12);
/// # Ok::<(), glass::tasting::TastingError>(())
/// ```
///
/// # Errors
/// [`TastingError`] for more right than tasted, no tasting, or a risk that is none.
pub fn difference(
    protocol: Protocol,
    right: u32,
    tastings: u32,
    alpha: f64,
) -> Result<Difference, TastingError> {
    right_of(protocol.nouns().1, right, tastings)?;
    let alpha = risk("the risk of a false alarm", alpha)?;
    // Where either side counts, the larger side is the one that may differ.
    let right = if protocol.two_sided() {
        right.max(tastings - right)
    } else {
        right
    };
    let (low, high) = clopper_pearson(right, tastings, DOUBT);
    let share = f64::from(right) / f64::from(tastings);
    let pd = |share| protocol.discriminators(share);
    let d_prime = protocol.difference(share);
    Ok(Difference {
        protocol,
        right,
        tastings,
        alpha,
        p: chance_of(protocol, right, tastings),
        critical: critical(protocol, tastings, alpha),
        share_right: Estimate {
            value: Some(share),
            low: Some(low),
            high: Some(high),
        },
        discriminators: Estimate {
            value: Some(pd(share)),
            low: Some(pd(low)),
            high: Some(pd(high)),
        },
        d_prime: Estimate {
            value: d_prime,
            low: protocol.difference(low),
            high: protocol.difference(high),
        },
        d_prime_error: d_prime.and_then(|d| standard_error(protocol, d, share, tastings)),
    })
}

/// Intervals are those of 95 %.
const DOUBT: f64 = 0.05;

/// So many right answers show a difference at a risk `alpha` \[–\]; none if not
/// even all would.
///
/// # Errors
/// [`TastingError`] for no tasting or a risk that is none.
pub fn critical_number(
    protocol: Protocol,
    tastings: u32,
    alpha: f64,
) -> Result<Option<u32>, TastingError> {
    count(protocol.nouns().1, tastings)?;
    Ok(critical(
        protocol,
        tastings,
        risk("the risk of a false alarm", alpha)?,
    ))
}

pub(super) fn critical(protocol: Protocol, tastings: u32, alpha: f64) -> Option<u32> {
    let one_side = if protocol.two_sided() {
        alpha / 2.0
    } else {
        alpha
    };
    Binomial::new(tastings, protocol.guess()).upper_critical(one_side)
}

fn chance_of(protocol: Protocol, right: u32, tastings: u32) -> f64 {
    let tail = Binomial::new(tastings, protocol.guess()).at_least(right);
    if protocol.two_sided() {
        (2.0 * tail).min(1.0)
    } else {
        tail
    }
}

fn standard_error(protocol: Protocol, d: f64, share: f64, tastings: u32) -> Option<f64> {
    (share > protocol.guess() && share < 1.0)
        .then(|| (share * (1.0 - share) / f64::from(tastings)).sqrt() / protocol.slope(d))
        .filter(|error| error.is_finite())
}
