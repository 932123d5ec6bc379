//! The waters that a batch could be brewed with: its own sources, those of the
//! library with their dated analyses, distilled water.

use quantity::Volume;
use water::choice::{Candidate, Season};
use water::design::Money;
use water::{Origin, SourceWater, WaterError};

use crate::document::SourceEntry;
use crate::library::Analysis;
use crate::liquor::minerals::{DISTILLED, distilled_water};
use crate::plan::judged_water;
use crate::stream::Reckoning;

/// A water of the library.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept {
    /// What it goes by in a question.
    pub key: String,
    /// What it is called.
    pub name: String,
    /// Its analyses, the oldest first.
    pub analyses: Vec<KeptAnalysis>,
}

/// An analysis of a water of the library.
#[derive(Debug, Clone, PartialEq)]
pub struct KeptAnalysis {
    /// The day of the sample, or its month; empty where it is not known.
    pub from: String,
    /// Its figures.
    pub analysis: Analysis,
    /// Its text.
    pub text: String,
}

/// The newest analyses that are gone through; older ones say little of the water that
/// is drawn (judgement).
pub const MOST_SEASONS: usize = 6;

/// A water that can be chosen.
#[derive(Debug, Clone, PartialEq)]
pub struct Water {
    /// What it goes by in a question.
    pub key: String,
    /// What it is called.
    pub name: String,
    /// What it is called among the others: two may have one name.
    pub title: String,
    /// Which source of the document, counted from nought; none of the library's.
    pub source: Option<usize>,
    /// Its analyses and from when they hold, the oldest first.
    pub analyses: Vec<KeptOrDrawn>,
}

/// An analysis and from when it holds.
#[derive(Debug, Clone, PartialEq)]
pub struct KeptOrDrawn {
    /// From when; empty for a water that is the same all year.
    pub from: String,
    /// Its figures; none of distilled water, which has none.
    pub figures: Option<SourceEntry>,
    /// The text of the library.
    pub text: Option<String>,
}

/// Every water that can be chosen: the sources of the document, then those kept.
#[must_use]
pub fn waters(r: &Reckoning, kept: &[Kept]) -> Vec<Water> {
    let sources = &r.document.water.sources;
    let drawn = sources.iter().enumerate().map(|(at, entry)| Water {
        key: format!("source {}", at + 1),
        name: entry.name.clone(),
        title: entry.name.clone(),
        source: Some(at),
        analyses: vec![KeptOrDrawn {
            from: String::new(),
            figures: Some(entry.clone()),
            text: None,
        }],
    });
    let of_library = kept.iter().filter(|k| !k.analyses.is_empty()).map(|water| {
        let newest = water.analyses.len().saturating_sub(MOST_SEASONS);
        Water {
            key: water.key.clone(),
            name: water.name.clone(),
            title: if sources.iter().any(|entry| entry.name == water.name) {
                format!("{} (library)", water.name)
            } else {
                water.name.clone()
            },
            source: None,
            analyses: water.analyses[newest..].iter().map(dated).collect(),
        }
    });
    drawn.chain(of_library).collect()
}

fn dated(kept: &KeptAnalysis) -> KeptOrDrawn {
    KeptOrDrawn {
        from: kept.from.clone(),
        figures: Some(kept.analysis.figures.clone()),
        text: Some(kept.text.clone()),
    }
}

/// Distilled water, from the shop.
pub(super) fn distilled() -> Water {
    Water {
        key: DISTILLED.to_owned(),
        name: DISTILLED.to_owned(),
        title: DISTILLED.to_owned(),
        source: None,
        analyses: vec![KeptOrDrawn {
            from: String::new(),
            figures: None,
            text: None,
        }],
    }
}

impl Water {
    /// Whether it is what somebody wrote: its key, its title or its name.
    #[must_use]
    pub fn goes_by(&self, written: &str) -> bool {
        let written = written.trim();
        [&self.key, &self.title, &self.name]
            .into_iter()
            .any(|word| word.eq_ignore_ascii_case(written))
    }

    /// As the stage takes it, by its name. What has a price, or comes in bottles, is carried home.
    ///
    /// # Errors
    /// [`WaterError`] for figures that cannot be.
    pub(super) fn candidate(
        &self,
        price_per_litre: Option<Money>,
        at_hand: Option<Volume>,
    ) -> Result<Candidate, WaterError> {
        let season = |dated: &KeptOrDrawn| {
            let water = match &dated.figures {
                Some(entry) => judged_water(entry)?,
                None => distilled_water(),
            };
            Ok(Season {
                from: dated.from.clone(),
                water: SourceWater {
                    name: self.name.clone(),
                    ..water
                },
            })
        };
        let seasons: Vec<Season> = self.analyses.iter().map(season).collect::<Result<_, _>>()?;
        let in_bottles = |s: &Season| matches!(s.water.origin, Origin::Bottled | Origin::Purified);
        Ok(Candidate {
            name: self.name.clone(),
            bought: price_per_litre.is_some() || seasons.iter().any(in_bottles),
            price_per_litre,
            at_hand,
            seasons,
        })
    }
}
