//! Why a task has no design.

use super::result::Relaxation;
use crate::error::WaterError;

/// Why a task has no design.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum DesignError {
    /// A figure that no water, malt or dose can have.
    #[error(transparent)]
    Water(#[from] WaterError),
    /// No mash.
    #[error("the mash liquor is 0 L; give it a volume")]
    NoMash,
    /// A source without water.
    #[error("source {number} has no water; give at least one variant of it")]
    NoVariant {
        /// Which source, counted from one.
        number: usize,
    },
    /// A setting outside what works.
    #[error("{what} is {} {unit}; {} to {} {unit} would work",
        quantity::rounded(*.given), quantity::rounded(*.min), quantity::rounded(*.max))]
    Setting {
        /// What it is.
        what: String,
        /// What was given.
        given: f64,
        /// The least that works.
        min: f64,
        /// The most that works.
        max: f64,
        /// The unit of the three.
        unit: &'static str,
    },
    /// Bounds the wrong way round.
    #[error(
        "{what}: at least {at_least} and at most {at_most} leave nothing between; swap or widen them"
    )]
    Crossed {
        /// What is bounded.
        what: String,
        /// The lower bound, as printed.
        at_least: String,
        /// The upper bound, as printed.
        at_most: String,
    },
    /// More ways to choose among pre-treated waters than are tried.
    #[error("{count} ways to choose among variants are more than {most}; give fewer variants")]
    TooManyVariants {
        /// How many there are.
        count: usize,
        /// How many are tried.
        most: usize,
    },
    /// No blend is fit to drink.
    #[error(
        "every blend passes the health limit for {what}: the least possible is {} mg/L, the limit \
         {} mg/L; do not brew with it, take another water",
        quantity::rounded(*.least_mg_per_l), quantity::rounded(*.limit_mg_per_l)
    )]
    Unfit {
        /// Of what there is too much.
        what: String,
        /// The least that a blend can have \[mg/L\].
        least_mg_per_l: f64,
        /// The limit \[mg/L\].
        limit_mg_per_l: f64,
    },
    /// Limits and firm aims that cannot be kept together.
    #[error("not every limit can be kept; it would do to {}", sentence(.relax))]
    Contradiction {
        /// The smallest change that lets all others be kept.
        relax: Vec<Relaxation>,
    },
    /// Too few kinds of addition to keep the limits.
    #[error("no {kinds} of the {of} additions at hand keep every limit; {}", ways(*.enough, .lift))]
    TooFewKinds {
        /// How many are allowed.
        kinds: usize,
        /// How many are at hand.
        of: usize,
        /// How many would keep every limit; none where no number does.
        enough: Option<usize>,
        /// The limits of which letting one go would do with so few, in sentences.
        lift: Vec<String>,
    },
    /// An amount by mass beside one by volume.
    #[error(
        "{what}: what is at hand and the step of the scale are a mass and a volume; give both alike"
    )]
    MixedUnits {
        /// The acid.
        what: String,
    },
    /// A scale too coarse for the limits.
    #[error(
        "no amounts that can be weighed keep {limit}; take a finer scale, or widen that limit \
         by {by}"
    )]
    TooCoarse {
        /// The limit that is passed.
        limit: String,
        /// By how much, as printed.
        by: String,
    },
    /// The numbers of the task are too far apart for the solver.
    #[error(
        "the search did not end; check for tolerances that are extremely small or doses that are extremely large"
    )]
    NotSolved,
}

/// What would do where additions are too few.
fn ways(enough: Option<usize>, lift: &[String]) -> String {
    let more = enough.map(|kinds| format!("allow {kinds}"));
    let looser = (!lift.is_empty()).then(|| format!("let go of {}", lift.join(", or of ")));
    let ways: Vec<String> = more.into_iter().chain(looser).collect();
    if ways.is_empty() {
        "allow more of them and widen the limits".to_owned()
    } else {
        ways.join(", or ")
    }
}

fn sentence(relax: &[Relaxation]) -> String {
    let each: Vec<String> = relax.iter().map(ToString::to_string).collect();
    each.join(", and ")
}
