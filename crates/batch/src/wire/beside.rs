//! What the glass should hold against what was found, as JSON.

use schemars::JsonSchema;
use serde::Serialize;

use super::tasting::Interval;
use crate::beside::{Agreement, Beside, Found, Held};

/// A compound that is reckoned, and what was found of it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BesideForm {
    /// Its key.
    pub compound: String,
    /// Its name.
    pub name: String,
    /// Concentration over the highest threshold in print.
    pub activity_low: f64,
    /// Concentration over the typical threshold.
    pub activity: f64,
    /// Concentration over the lowest threshold in print.
    pub activity_high: f64,
    /// How strong that is, in words.
    pub reckoned: String,
    /// What was found, scores first.
    pub found: Vec<FoundForm>,
}

/// Something that was found.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FoundForm {
    /// What: an attribute that was scored, or a finding.
    pub what: String,
    /// Points of the panel in the batch, of 10; none for a finding.
    pub points: Option<Interval>,
    /// The mean difference from the reference, where one is shown.
    pub differs: Option<f64>,
    /// How strong it was found to be, in words.
    pub level: String,
    /// agrees, under (more was found than reckoned) or over (less).
    pub agreement: &'static str,
    /// What was found and how that stands to what was reckoned, in words.
    pub words: String,
}

/// The compounds of which something was found.
pub(super) fn told(held: &Held) -> Vec<BesideForm> {
    held.told().map(beside).collect()
}

fn beside(b: &Beside) -> BesideForm {
    BesideForm {
        compound: b.reckoned.compound.key.clone(),
        name: b.reckoned.compound.name.clone(),
        activity_low: b.reckoned.low,
        activity: b.reckoned.typical,
        activity_high: b.reckoned.high,
        reckoned: b.levels.words(),
        found: b.found.iter().map(found).collect(),
    }
}

fn found(f: &Found) -> FoundForm {
    FoundForm {
        what: f.what.clone(),
        points: f.points.map(super::tasting::interval),
        differs: f.differs,
        level: f.levels.words(),
        agreement: match f.agreement {
            Agreement::Agrees => "agrees",
            Agreement::Under => "under",
            Agreement::Over => "over",
        },
        words: format!("{}: {}", f.words, f.agreement.words()),
    }
}
