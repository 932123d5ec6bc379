//! What the supply of a source keeps, by the keys of the document.

use quantity::{Mark, Units, show_measured};
use water::WaterError;
use water::disinfectant::{DisinfectantError, Grade, Judgement, Known, Practice, Region, judge};

use crate::document::SourceEntry;
use crate::reader::Assumption;

/// What the supply of a source keeps.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// The source.
    pub name: String,
    /// True where free chlorine was measured, so that its share is no judgement.
    pub measured: bool,
    /// The judgement.
    pub judgement: Judgement,
}

/// Below this a test shows nothing, and there is nothing to judge \[mg/L\] (common
/// practice).
const NOTHING_MG_PER_L: f64 = 0.1;

/// What the supply of a source keeps; none where it holds no chlorine to speak of.
///
/// # Errors
/// [`WaterError`] for figures that cannot be.
pub fn judgement(entry: &SourceEntry) -> Result<Option<Judged>, WaterError> {
    if entry.total_chlorine.upper().mg_per_l() <= NOTHING_MG_PER_L {
        return Ok(None);
    }
    let said = match entry.disinfectant {
        Some(Practice::Chloramine) => "chloramine",
        Some(Practice::FreeChlorine) => "free chlorine",
        None => "",
    };
    let words = [said, entry.supplier_says.as_deref().unwrap_or_default()].join(". ");
    let known = Known {
        words,
        total: Some(entry.total_chlorine),
        free: entry.free_chlorine,
        ammonium: entry.ammonium.map(|a| a.value),
        smell: entry.chlorine_smell,
        ..Known::in_region(entry.region.unwrap_or(Region::Elsewhere))
    };
    match judge(&known) {
        Ok(judgement) => Ok(Some(Judged {
            name: entry.name.clone(),
            measured: entry.free_chlorine.is_some(),
            judgement,
        })),
        Err(DisinfectantError::Water(error)) => Err(error),
        // Judging dilutes nothing and follows nothing over time.
        Err(DisinfectantError::Chloramine(_) | DisinfectantError::CleanWaterNotClean { .. }) => {
            Ok(None)
        }
    }
}

impl Judged {
    /// What is kept, in a few words.
    #[must_use]
    pub fn words(&self) -> &'static str {
        let judgement = &self.judgement;
        match (judgement.grade, judgement.practice) {
            (Grade::Open, Practice::Chloramine) => "it may be either, chloramine rather",
            (Grade::Open, Practice::FreeChlorine) => "it may be either, free chlorine rather",
            (Grade::Likely, Practice::Chloramine) => "chloramine, likely",
            (Grade::Likely, Practice::FreeChlorine) => "free chlorine, likely",
            (Grade::Shown, Practice::Chloramine) => "chloramine, hardly a doubt",
            (Grade::Shown, Practice::FreeChlorine) => "free chlorine, hardly a doubt",
        }
    }

    /// The share that was judged, as an assumption of the source of this number,
    /// counted from nought.
    pub(crate) fn assumption(&self, number: usize) -> Assumption {
        let reasons = &self.judgement.reasons;
        let why: Vec<&str> = reasons.iter().map(|reason| reason.says.as_str()).collect();
        Assumption {
            path: format!("water.source[{}].free_chlorine", number + 1),
            value: show_measured(&self.judgement.free, Units::Metric),
            source: format!("{}: {}", self.words(), why.join("; ")),
            mark: Mark::Judgement,
        }
    }
}
