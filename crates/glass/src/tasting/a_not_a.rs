//! One glass at a time: is it the reference, or not?

use super::binomial::within;
use super::difference::Estimate;
use super::error::{TastingError, count, right_of, risk};
use super::numeric::{density, normal, normal_quantile};

/// The answers of an A-not-A tasting: the batch stands for "not A".
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ANotA {
    /// Glasses of the batch that were called different from the reference.
    pub hits: u32,
    /// Glasses of the batch.
    pub batch_glasses: u32,
    /// Glasses of the reference that were called different from it.
    pub false_alarms: u32,
    /// Glasses of the reference.
    pub reference_glasses: u32,
}

/// What the answers of an A-not-A tasting say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ANotAJudged {
    /// The answers.
    pub answers: ANotA,
    /// The risk of a false alarm \[–\].
    pub alpha: f64,
    /// The chance of such a table by guessing alone \[–\].
    pub p: f64,
    /// Size of the difference \[d′\].
    pub d_prime: Estimate,
    /// Standard error of d′ \[d′\]; none where one kind of glass was always called
    /// the same.
    pub d_prime_error: Option<f64>,
}

impl ANotAJudged {
    /// Whether a difference is shown at the risk that was set.
    #[must_use]
    pub fn shown(&self) -> bool {
        within(self.p, self.alpha)
    }
}

/// Judges an A-not-A tasting (ISO 8588).
///
/// p is the upper tail of Fisher's exact test. d′ = z(hits) − z(false alarms),
/// its variance the sum of H(1−H)/(n φ(z)²) over both kinds of glass, the
/// interval d′ ± 1.96 standard errors (Bi & Ennis 2001, from memory). The
/// answers of one taster over days count as one by one.
///
/// # Errors
/// [`TastingError`] for a count or a risk that cannot be.
pub fn a_not_a(answers: ANotA, alpha: f64) -> Result<ANotAJudged, TastingError> {
    right_of("glasses of the batch", answers.hits, answers.batch_glasses)?;
    right_of(
        "glasses of the reference",
        answers.false_alarms,
        answers.reference_glasses,
    )?;
    let alpha = risk("the risk of a false alarm", alpha)?;
    let (value, error) = size(answers);
    let end = |sign: f64| Some(value? + sign * normal_quantile(0.975) * error?);
    Ok(ANotAJudged {
        answers,
        alpha,
        p: fisher(answers),
        d_prime: Estimate {
            value,
            low: end(-1.0),
            high: end(1.0),
        },
        d_prime_error: error,
    })
}

/// The chance \[–\] that so many glasses, half of each beer, show a difference
/// \[d′\], by summing over every table; the taster is taken to lean to neither
/// answer.
///
/// # Errors
/// [`TastingError`] for a count, a risk or a difference that cannot be.
pub fn a_not_a_power(of_each: u32, d_prime: f64, alpha: f64) -> Result<f64, TastingError> {
    if count("glasses of each beer", of_each)? > MOST_OF_EACH {
        return Err(TastingError::Count {
            what: "glasses of each beer",
            given: of_each as usize,
            least: 1,
            most: MOST_OF_EACH as usize,
        });
    }
    let alpha = risk("the risk of a false alarm", alpha)?;
    let d = super::error::between("the difference d'", d_prime, 0.0, super::MOST_D_PRIME)?;
    Ok(seen(of_each, d, alpha))
}

/// The most glasses of each beer that are summed over: a sum over all tables.
pub(super) const MOST_OF_EACH: u32 = 300;

/// The same for figures that were checked. The more false alarms, the more hits it
/// takes, so that the least number of hits only climbs.
pub(super) fn seen(of_each: u32, d_prime: f64, alpha: f64) -> f64 {
    let hits = super::binomial::Binomial::new(of_each, normal(d_prime / 2.0));
    let alarms = super::binomial::Binomial::new(of_each, normal(-d_prime / 2.0));
    let (mut seen, mut least) = (0.0, 0);
    for false_alarms in 0..=of_each {
        let shows = |hits: &u32| {
            let table = ANotA {
                hits: *hits,
                batch_glasses: of_each,
                false_alarms,
                reference_glasses: of_each,
            };
            within(fisher(table), alpha)
        };
        let Some(found) = (least.max(false_alarms)..=of_each).find(shows) else {
            break;
        };
        least = found;
        let mass = alarms.at_least(false_alarms) - alarms.at_least(false_alarms + 1);
        seen += mass * hits.at_least(least);
    }
    seen
}

/// P(hits ≥ those seen) with all margins held: the hypergeometric tail.
fn fisher(answers: ANotA) -> f64 {
    let said = answers.hits + answers.false_alarms;
    let all = answers.batch_glasses + answers.reference_glasses;
    let least = said.saturating_sub(answers.reference_glasses);
    let most = said.min(answers.batch_glasses);
    let (mut weight, mut total, mut tail) = (1.0, 0.0, 0.0);
    for hits in least..=most {
        total += weight;
        if hits >= answers.hits {
            tail += weight;
        }
        weight *= f64::from(answers.batch_glasses - hits) * f64::from(said - hits)
            / (f64::from(hits + 1)
                * (f64::from(all - answers.batch_glasses) - f64::from(said)
                    + f64::from(hits)
                    + 1.0));
        // Large tables start far from their mode: keep the numbers small.
        if weight > 1e200 {
            weight *= 1e-200;
            total *= 1e-200;
            tail *= 1e-200;
        }
    }
    tail / total
}

fn size(answers: ANotA) -> (Option<f64>, Option<f64>) {
    let part = |called: u32, of: u32| {
        let share = f64::from(called) / f64::from(of);
        (called > 0 && called < of).then(|| {
            let z = normal_quantile(share);
            let slope = density(z);
            (z, share * (1.0 - share) / (f64::from(of) * slope * slope))
        })
    };
    let hits = part(answers.hits, answers.batch_glasses);
    let alarms = part(answers.false_alarms, answers.reference_glasses);
    match (hits, alarms) {
        (Some((zh, vh)), Some((zf, vf))) => (Some(zh - zf), Some((vh + vf).sqrt())),
        _ => (None, None),
    }
}
