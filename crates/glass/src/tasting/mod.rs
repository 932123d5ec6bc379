//! Tasting blind: designs, and what answers and scores say.
//!
//! A batch stands beside the beer that was its aim. [`Protocol`] is the way of
//! asking; [`power`] and [`tastings_for`] say before pouring what a number of
//! tastings can show; [`design`] lays out which glass stands where under which
//! code; [`difference`], [`similarity`], [`StopRule`] and [`attributes`] judge
//! what was answered. All tests are exact: binomial, hypergeometric and rank laws
//! are summed, not approximated.
//!
//! A test that shows no difference has not shown likeness: that is a test of its
//! own, with its own burden of proof ([`similarity`]).
//!
//! ```
//! use glass::tasting::{Protocol, power};
//! let six = power(Protocol::Triangle, 6, 2.0, 0.05)?;
//! assert_eq!(six.critical, Some(5));
//! assert_eq!((six.power * 1000.0).round(), 241.0); // most differences of d' = 2 go unseen
//! # Ok::<(), glass::tasting::TastingError>(())
//! ```

mod a_not_a;
mod binomial;
mod design;
mod difference;
mod error;
mod numeric;
mod plan;
mod protocol;
mod replicated;
mod scores;
mod sequential;
mod similarity;

pub use a_not_a::{ANotA, ANotAJudged, a_not_a, a_not_a_power};
pub use binomial::binomial_at_least;
pub use design::{Beer, Design, Serving, design, scorings, williams};
pub use difference::{Difference, Estimate, critical_number, difference};
pub use error::{MOST_TASTINGS, TastingError};
pub use plan::{DIFFERENCES, Needed, Power, power, power_of_discriminators, tastings_for};
pub use protocol::{MOST_D_PRIME, Protocol};
pub use replicated::{BetaBinomial, Replicated, Replicates, cautious_critical, replicated};
pub use scores::{AttributeJudged, Scored, attributes, holm, scores_power, tasters_for_scores};
pub use sequential::{Standing, StopRisks, StopRule};
pub use similarity::{
    Similarity, similarity, similarity_critical, similarity_power, tastings_for_both,
};
