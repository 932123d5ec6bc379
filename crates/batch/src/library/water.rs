//! A water and its analyses.

use ::water::{WaterError, analysis as what};
use quantity::{Hardness, Measured};

use crate::document::{self, SourceEntry};
use crate::plan;
use crate::reader::Reader;

/// A water that a brewer draws again and again. Its figures stand in analyses.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Water {
    /// What it is called; a source of a batch takes this name.
    pub name: String,
    /// Where it is drawn.
    pub place: Option<String>,
    /// Anything.
    pub notes: Option<String>,
}

/// One analysis of a water. The day of the sample stands beside its text.
#[derive(Debug, Clone, PartialEq)]
pub struct Analysis {
    /// The figures, as a source of a batch has them; it has no share.
    pub figures: SourceEntry,
    /// Who analysed it.
    pub laboratory: Option<String>,
    /// Anything.
    pub notes: Option<String>,
}

impl Analysis {
    /// What the figures say: balance, hardness, fitness.
    ///
    /// # Errors
    /// [`WaterError`] for figures that contradict each other.
    pub fn says(&self) -> Result<what::Analysis, WaterError> {
        what::analyse(plan::judged_water(&self.figures)?)
    }

    /// Calcium and magnesium together \[mEq/L\], with the standard deviation that
    /// theirs give it, taken as independent.
    #[must_use]
    pub fn hardness(&self) -> Measured<Hardness> {
        let (calcium, magnesium) = (&self.figures.calcium, &self.figures.magnesium);
        let meq = calcium.value.meq_per_l() + magnesium.value.meq_per_l();
        let sd = spread_meq(calcium.sd(), calcium.canonical(), calcium.value.meq_per_l()).hypot(
            spread_meq(
                magnesium.sd(),
                magnesium.canonical(),
                magnesium.value.meq_per_l(),
            ),
        );
        let value = Hardness::from_meq_per_l(meq);
        if sd > 0.0 {
            Measured::with_sd(value, sd)
        } else {
            Measured::exactly(value)
        }
    }
}

/// A standard deviation in the canonical unit as mEq/L: both are proportional.
fn spread_meq(sd: f64, canonical: f64, meq_per_l: f64) -> f64 {
    if canonical > 0.0 {
        sd / canonical * meq_per_l
    } else {
        0.0
    }
}

pub(super) fn water(r: &mut Reader<'_>) -> Water {
    r.section("water", "a water that is drawn again and again", |r| {
        Water {
            name: r.name("what the water is called").required(),
            place: r.text("place", "where it is drawn").optional(),
            notes: r.text("notes", "anything worth keeping").optional(),
        }
    })
}

pub(super) fn analysis(r: &mut Reader<'_>, water: &str) -> Analysis {
    Analysis {
        figures: document::analysis(r, water.to_owned(), None),
        laboratory: r.text("laboratory", "who analysed it").optional(),
        notes: r.text("notes", "anything worth keeping").optional(),
    }
}
