//! How a water moves through the year, and where the answer for this mash turns.

use quantity::{Alkalinity, Calcium, Magnesium};
use water::design::Task;
use water::mash_ph::{MashLiquor, mash_ph};

use super::waters::{KeptOrDrawn, Water};
use crate::document::SourceEntry;
use crate::library::day_of_year;
use crate::stream::Reckoning;

/// A sample of a water and where in the year it was taken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample<'w> {
    /// The day of the year, counted from one.
    pub day: f64,
    /// The day as written.
    pub from: &'w str,
    /// The figures.
    pub figures: &'w SourceEntry,
}

impl Water {
    /// Its dated samples, the oldest first.
    #[must_use]
    pub fn samples(&self) -> Vec<Sample<'_>> {
        let dated = self.analyses.iter();
        dated
            .filter_map(|dated| {
                Some(Sample {
                    day: day_of_year(&dated.from)?,
                    from: &dated.from,
                    figures: dated.figures.as_ref()?,
                })
            })
            .collect()
    }

    /// The analysis that holds from a date: the last that is not later, else the first.
    pub(super) fn in_force(&self, from: &str) -> Option<&KeptOrDrawn> {
        let not_later = self.analyses.iter().rfind(|a| a.from.as_str() <= from);
        not_later.or_else(|| self.analyses.first())
    }
}

/// The residual alkalinity above which the mash lands above its aim without acid.
///
/// pH = (Σ m·B·pH_DI + V·RA − acid)/Σ m·B: with water that brings nothing it lands at
/// pH₀, so RA = (aim − pH₀)·Σ m·B/V.
pub(super) fn acid_above(r: &Reckoning, task: &Task) -> Option<Alkalinity> {
    let grist = task.grist.as_ref()?;
    let litres = r.volumes.mash_liquor.l();
    let nothing = MashLiquor {
        volume: r.volumes.mash_liquor,
        alkalinity: Alkalinity::default(),
        calcium: Calcium::default(),
        magnesium: Magnesium::default(),
        acids: vec![],
    };
    let bare = mash_ph(&grist.malts, &grist.acid_malts, &nothing).ok()?;
    let to_rise = r.mash_aim().ph.ph() - bare.ph.value.ph();
    let meq_per_l = to_rise * bare.buffering_meq_per_ph / litres;
    meq_per_l
        .is_finite()
        .then(|| Alkalinity::from_meq_per_l(meq_per_l))
}
