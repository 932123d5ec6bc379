//! What a water cannot be, and what a plan cannot ask for.

use quantity::rounded;

use crate::treatment::Liquor;

/// Why a water could not be reckoned.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum WaterError {
    /// A figure that no water or dose can have.
    #[error(
        "{what} is {} {unit}; {} {unit} is possible",
        rounded(*.given), between(*.min, *.max)
    )]
    OutOfBounds {
        /// What it is the figure of.
        what: String,
        /// The figure.
        given: f64,
        /// The least that is possible.
        min: f64,
        /// The most that is possible.
        max: f64,
        /// The unit of the three.
        unit: &'static str,
    },
    /// A plan without a source.
    #[error("no source of water is given; name at least one, with a share of 100 %")]
    NoSource,
    /// Shares that are not a whole.
    #[error("the shares of the sources add up to {sum_percent:.1} %; make them 100 %")]
    Shares {
        /// What they add up to.
        sum_percent: f64,
    },
    /// More free chlorine than chlorine.
    #[error(
        "{water}: free chlorine is {free} mg/L and total chlorine only {total} mg/L; \
         total counts free and combined together, so it must be at least as high"
    )]
    FreeAboveTotal {
        /// The water.
        water: String,
        /// The free chlorine given \[mg/L as Cl₂\].
        free: f64,
        /// The total chlorine given \[mg/L as Cl₂\].
        total: f64,
    },
    /// A water that must not be brewed with.
    #[error(
        "{water} must not be used: {} no treatment is advised for it; take another water",
        reasons.join(" ")
    )]
    DoNotUse {
        /// The water.
        water: String,
        /// Each reason, a sentence.
        reasons: Vec<String>,
    },
    /// A word that names no row of a table.
    #[error("{}", unknown_sentence(.kind, .written, .nearest, .known))]
    Unknown {
        /// What was looked for, such as "salt".
        kind: &'static str,
        /// What was written.
        written: String,
        /// The names that come near.
        nearest: Vec<String>,
        /// All names.
        known: Vec<String>,
    },
    /// No water to treat.
    #[error("mash and sparge liquor are both 0 L; give at least one of them a volume")]
    NoLiquor,
    /// A dose for a liquor that is not there.
    #[error("{what} is dosed into the {liquor} liquor, which is 0 L; dose it into the other one")]
    DoseWithoutLiquor {
        /// What is dosed.
        what: String,
        /// The liquor without volume.
        liquor: Liquor,
    },
    /// A solid by the millilitre.
    #[error("{what} is a solid; give its mass, not a volume")]
    SolidByVolume {
        /// The solid.
        what: String,
    },
    /// A mash without malt.
    #[error("no malt that buffers is in the mash; give at least one malt a mass and a buffering")]
    NoMalt,
    /// A titration that says nothing.
    #[error("the titration cannot be used: {why}; give two or more points, acid lowering the pH")]
    Titration {
        /// What is wrong with it.
        why: &'static str,
    },
    /// Water that swamps the malt.
    #[error(
        "the mash would come out beyond pH 0 to 14: water and acid outweigh the malt's \
         {} mEq/pH; check volumes, alkalinity and acid doses",
        rounded(*.buffering_meq_per_ph)
    )]
    MashOutOfReach {
        /// The buffering of the grist \[mEq/pH\].
        buffering_meq_per_ph: f64,
    },
}

fn unknown_sentence(kind: &str, written: &str, nearest: &[String], known: &[String]) -> String {
    let quoted = |names: &[String], between: &str| {
        let quoted: Vec<String> = names.iter().map(|n| format!("{n:?}")).collect();
        quoted.join(between)
    };
    if nearest.is_empty() {
        format!(
            "unknown {kind} {written:?}; known are {}",
            quoted(known, ", ")
        )
    } else {
        format!(
            "unknown {kind} {written:?}; did you mean {}?",
            quoted(nearest, " or ")
        )
    }
}

/// Both ends in words; the least positive number stands for "not zero".
fn between(min: f64, max: f64) -> String {
    if min > 0.0 && min < 1e-300 {
        format!("above 0 and up to {}", rounded(max))
    } else {
        format!("between {} and {}", rounded(min), rounded(max))
    }
}
