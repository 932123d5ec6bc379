//! What the supply of a source keeps, by the keys of the document.

use quantity::{Chlorine, Mark, Measured, Note, Units, show_measured};
use water::disinfectant::{DisinfectantError, Grade, Judgement, Known, Practice, Region, judge};
use water::{Origin, WaterError};

use crate::document::SourceEntry;
use crate::reader::Assumption;

/// What the supply of a source keeps.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// The source.
    pub name: String,
    /// True where total chlorine was measured.
    pub total_measured: bool,
    /// True where free chlorine was measured.
    pub free_measured: bool,
    /// True where nothing at all is known of what the supply keeps.
    pub unknown: bool,
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
    if entry.total_chlorine.is_none() && keeps_none(entry) {
        return Ok(None);
    }
    let total = entry.total_chlorine;
    if total.is_some_and(|total| total.upper().mg_per_l() <= NOTHING_MG_PER_L) {
        return Ok(None);
    }
    match judge(&known(entry)) {
        Ok(judgement) => Ok(Some(Judged {
            name: entry.name.clone(),
            total_measured: total.is_some(),
            free_measured: entry.free_chlorine.is_some(),
            unknown: is_silent(entry),
            judgement,
        })),
        Err(DisinfectantError::Water(error)) => Err(error),
        // Judging dilutes nothing and follows nothing over time.
        Err(DisinfectantError::Chloramine(_) | DisinfectantError::CleanWaterNotClean { .. }) => {
            Ok(None)
        }
    }
}

fn known(entry: &SourceEntry) -> Known {
    let said = match entry.disinfectant {
        Some(Practice::Chloramine) => "chloramine",
        Some(Practice::FreeChlorine) => "free chlorine",
        None => "",
    };
    let words = [said, entry.supplier_says.as_deref().unwrap_or_default()].join(". ");
    Known {
        words,
        total: entry.total_chlorine,
        free: entry.free_chlorine,
        ammonium: entry.ammonium.map(|a| a.value),
        smell: entry.chlorine_smell,
        ..Known::in_region(entry.region.unwrap_or(Region::Elsewhere))
    }
}

/// Whether the document says nothing of what the supply keeps.
fn is_silent(entry: &SourceEntry) -> bool {
    entry.total_chlorine.is_none()
        && entry.free_chlorine.is_none()
        && entry.disinfectant.is_none()
        && entry.supplier_says.is_none()
        && entry.chlorine_smell.is_none()
        && entry.region.is_none()
}

/// Whether it is a water into which no supplier puts chlorine, and of which nobody says
/// that there is any.
fn keeps_none(entry: &SourceEntry) -> bool {
    let drawn = matches!(
        entry.kind,
        Some(Origin::Purified | Origin::Bottled | Origin::Spring | Origin::PrivateWell)
    );
    drawn
        && entry.free_chlorine.is_none()
        && entry.disinfectant.is_none()
        && entry.supplier_says.is_none()
        && entry.chlorine_smell.is_none()
}

/// Total chlorine as it was measured, or as it is judged: of a supply nobody knows
/// anything about, what supplies usually hold, the most of it included.
pub(crate) fn total_chlorine(entry: &SourceEntry) -> Measured<Chlorine> {
    entry.total_chlorine.unwrap_or_else(|| {
        // Free chlorine that cannot be is refused where the water is analysed.
        let judged = judgement(entry).ok().flatten();
        judged.map_or(
            entry
                .free_chlorine
                .unwrap_or(Measured::exactly(Chlorine::default())),
            |judged| judged.judgement.total,
        )
    })
}

/// That a water of this kind holds no chlorine, where the document leaves it out.
pub(crate) fn unkept(entry: &SourceEntry, number: usize) -> Option<Assumption> {
    entry.total_chlorine.is_none().then(|| Assumption {
        path: format!("water.source[{}].total_chlorine", number + 1),
        value: "0 mg/L".to_owned(),
        source: "nobody puts chlorine into a water of this kind".to_owned(),
        mark: Mark::CommonPractice,
    })
}

impl Judged {
    /// True where free and total chlorine were measured, so that neither is judged.
    #[must_use]
    pub const fn measured(&self) -> bool {
        self.total_measured && self.free_measured
    }

    /// What is kept, in a few words.
    #[must_use]
    pub fn words(&self) -> &'static str {
        let judgement = &self.judgement;
        if self.unknown {
            return "unknown, as nothing is said of this supply";
        }
        match (judgement.grade, judgement.practice) {
            (Grade::Open, Practice::Chloramine) => "it may be either, chloramine rather",
            (Grade::Open, Practice::FreeChlorine) => "it may be either, free chlorine rather",
            (Grade::Likely, Practice::Chloramine) => "chloramine, likely",
            (Grade::Likely, Practice::FreeChlorine) => "free chlorine, likely",
            (Grade::Shown, Practice::Chloramine) => "chloramine, hardly a doubt",
            (Grade::Shown, Practice::FreeChlorine) => "free chlorine, hardly a doubt",
        }
    }

    /// What was judged, as assumptions of the source of this number, counted from
    /// nought.
    pub(crate) fn assumptions(&self, number: usize) -> Vec<Assumption> {
        let reasons = &self.judgement.reasons;
        let why: Vec<&str> = reasons.iter().map(|reason| reason.says.as_str()).collect();
        let assumed = |key: &str, value: &Measured<Chlorine>| Assumption {
            path: format!("water.source[{}].{key}", number + 1),
            value: show_measured(value, Units::Metric),
            source: format!("{}: {}", self.words(), why.join("; ")),
            mark: Mark::Judgement,
        };
        let total =
            (!self.total_measured).then(|| assumed("total_chlorine", &self.judgement.total));
        let free = (!self.free_measured).then(|| assumed("free_chlorine", &self.judgement.free));
        total.into_iter().chain(free).collect()
    }

    /// What to do about a total that nobody measured.
    pub(crate) fn note(&self) -> Option<Note> {
        let told = show_measured(&self.judgement.total, Units::Metric);
        let what = if self.unknown {
            "Nothing is known of the chlorine in"
        } else {
            "Nobody measured the total chlorine in"
        };
        (!self.total_measured).then(|| {
            Note::look(format!(
                "{what} {}: {told} is what may be there. Ask the supplier, or test it before the water \
                 is treated; a dose that is matched to it is a guess until then.",
                self.name
            ))
        })
    }
}
