//! The waters of a batch: its sources, the tap they make, the liquors it becomes.

use quantity::{Temperature, Volume};
use water::Liquor;
use water::acids::AcidDose;
use water::salts::SaltDose;
use water::speciation::{Solution, SpeciationError, TYPICAL_TAP};

use crate::document::{Document, SourceEntry};
use crate::plan::{source_water, water_plan};
use crate::reader::Filled;
use crate::stream::Reckoning;

/// A water of a batch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Which {
    /// The sources blended, before anything is done.
    Tap,
    /// One source, by its place, counted from nought.
    Source(usize),
    /// The mash liquor as it meets the malt.
    Mash,
    /// The sparge liquor as it is poured.
    Sparge,
}

impl Which {
    /// Those that a batch has. A single source is the tap.
    #[must_use]
    pub fn all(r: &Reckoning) -> Vec<Self> {
        let sources = r.document.water.sources.len();
        let several = (0..sources).filter(|_| sources > 1).map(Self::Source);
        let v = &r.volumes;
        let mash = (v.mash_liquor.l() > 0.0).then_some(Self::Mash);
        let sparge = (v.sparge_liquor.l() > 0.0).then_some(Self::Sparge);
        std::iter::once(Self::Tap)
            .chain(several)
            .chain(mash)
            .chain(sparge)
            .collect()
    }

    /// The word for it in a question.
    #[must_use]
    pub fn key(self) -> String {
        match self {
            Self::Tap => "tap".to_owned(),
            Self::Source(n) => format!("source {}", n + 1),
            Self::Mash => "mash".to_owned(),
            Self::Sparge => "sparge".to_owned(),
        }
    }

    /// What it is called.
    #[must_use]
    pub fn name(self, r: &Reckoning) -> String {
        match self {
            Self::Tap if r.document.water.sources.len() > 1 => "the waters blended".to_owned(),
            Self::Tap => r.water.tap.water.name.clone(),
            Self::Source(n) => {
                let source = r.document.water.sources.get(n);
                source.map_or_else(String::new, |s| s.name.clone())
            }
            Self::Mash => "the mash water, treated".to_owned(),
            Self::Sparge => "the sparge water, treated".to_owned(),
        }
    }

    /// How much of it the batch has.
    #[must_use]
    pub fn volume(self, r: &Reckoning) -> Volume {
        let v = &r.volumes;
        match self {
            Self::Tap => v.total_water,
            Self::Source(n) => {
                let share = r.document.water.sources.get(n).and_then(|s| s.share);
                Volume::from_l(v.total_water.l() * share.map_or(1.0, |s| s.value.ratio()))
            }
            Self::Mash => v.mash_liquor,
            Self::Sparge => v.sparge_liquor,
        }
    }

    /// The place of a source.
    pub(super) const fn source(self) -> Option<usize> {
        match self {
            Self::Source(n) => Some(n),
            _ => None,
        }
    }

    /// Whether the plan has already had its hands on it.
    #[must_use]
    pub const fn is_liquor(self) -> bool {
        self.liquor().is_some()
    }

    const fn liquor(self) -> Option<Liquor> {
        match self {
            Self::Mash => Some(Liquor::Mash),
            Self::Sparge => Some(Liquor::Sparge),
            Self::Tap | Self::Source(_) => None,
        }
    }
}

/// The water with all that the plan puts into it.
pub(super) fn whole(of: Which, r: &Reckoning) -> Result<Solution, SpeciationError> {
    water(of, r, true)
}

/// The water without the acids of the plan.
pub(super) fn before_acid(of: Which, r: &Reckoning) -> Result<Solution, SpeciationError> {
    water(of, r, false)
}

/// A water that the plan has not had its hands on.
pub(super) fn untouched(of: Which, document: &Document) -> Result<Solution, SpeciationError> {
    let source = of.source().and_then(|n| document.water.sources.get(n));
    source.map_or_else(|| tap(document), drawn)
}

fn water(of: Which, r: &Reckoning, with_acid: bool) -> Result<Solution, SpeciationError> {
    let water = untouched(of, &r.document)?;
    let Some(liquor) = of.liquor() else {
        return Ok(water);
    };
    let plan = water_plan(&r.document, &r.volumes, &mut Filled::untold())?;
    let salts: Vec<SaltDose> = plan
        .salts
        .into_iter()
        .filter(|s| s.into == liquor)
        .collect();
    let acids: Vec<AcidDose> = plan
        .acids
        .into_iter()
        .filter(|a| with_acid && a.into == liquor)
        .collect();
    water.liquor(&r.water.dechlorination, &salts, &acids, of.volume(r))
}

/// The sources blended as the plan has them.
pub(super) fn tap(document: &Document) -> Result<Solution, SpeciationError> {
    let sources = &document.water.sources;
    let share = |s: &SourceEntry| s.share.map_or(1.0, |share| share.value.ratio());
    let drawn: Vec<(Solution, f64)> = sources
        .iter()
        .map(|s| Ok((drawn(s)?, share(s))))
        .collect::<Result<_, SpeciationError>>()?;
    if let [(only, _)] = drawn.as_slice() {
        return Ok(only.clone());
    }
    let whole: f64 = drawn.iter().map(|(_, share)| share).sum();
    let heat: f64 = drawn
        .iter()
        .map(|(s, share)| s.temperature().c() * share)
        .sum();
    let parts: Vec<(&Solution, f64)> = drawn.iter().map(|(s, share)| (s, *share)).collect();
    // Shares that make nothing are refused before a temperature is asked for.
    let mean = if whole > 0.0 { heat / whole } else { 0.0 };
    Solution::blend(&parts, Temperature::from_c(mean))
}

fn drawn(source: &SourceEntry) -> Result<Solution, SpeciationError> {
    Solution::of(&source_water(source), source.temperature.value, TYPICAL_TAP)
}
