//! How many cells a wort needs, for what the beer is to be.

use quantity::{Cells, Gravity, PitchRate, Source, Volume};

use crate::error::{FermentError, within};
use crate::strains::Strain;
use crate::tables::{AimRow, Rate, Takes, source, table};

/// What the pitch is to do for the beer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum PitchAim {
    /// The usual rate of the class.
    #[default]
    Usual,
    /// Few fusel alcohols, little diacetyl.
    Clean,
    /// More ester.
    Estery,
    /// Clove.
    Phenolic,
    /// As far down as the yeast goes.
    VeryDry,
}

impl PitchAim {
    /// All of them, in the order of the table.
    pub const ALL: [Self; 5] = [
        Self::Usual,
        Self::Clean,
        Self::Estery,
        Self::Phenolic,
        Self::VeryDry,
    ];

    /// Its word in documents and questions.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Usual => "usual",
            Self::Clean => "clean",
            Self::Estery => "estery",
            Self::Phenolic => "phenolic",
            Self::VeryDry => "very dry",
        }
    }

    /// The aim of a word.
    #[must_use]
    pub fn named(word: &str) -> Option<Self> {
        let wanted = word.trim().to_lowercase().replace('-', " ");
        Self::ALL.into_iter().find(|aim| aim.word() == wanted)
    }

    fn row(self) -> Option<&'static AimRow> {
        table().aim.iter().find(|row| row.key == self.word())
    }
}

/// A pitching rate to aim at, with the range that would do.
#[derive(Debug, Clone, PartialEq)]
pub struct PitchTarget {
    /// The rate.
    pub rate: PitchRate,
    /// The least of the class, and the most.
    pub range: (PitchRate, PitchRate),
    /// What it is for.
    pub aim: PitchAim,
    /// What the aim asks for, in words.
    pub about: &'static str,
    /// Where the range comes from, and why the aim takes this end of it.
    pub sources: Vec<Source>,
}

/// The cells that a wort needs, with the range that would do.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CellNeed {
    /// At the rate aimed at.
    pub cells: Cells,
    /// At the ends of the range.
    pub range: (Cells, Cells),
}

/// The rate of a strain for an aim \[10⁶/(mL °P)\].
///
/// Ranges by class: 0.5 to 0.75 for ale, 1.0 to 1.5 for lager and up to 2.0 pitched
/// cold, 0.1 to 0.5 for kveik (common practice; rows of `data/pitch.toml`). *Clean*
/// takes the upper end, *estery* the lower, *very dry* the upper times 1.3
/// (judgement). A strain with a usual rate of its own stretches the range with it.
///
/// ```
/// use ferment::{PitchAim, pitch_target, strain};
/// let lager = strain("lager")?;
/// let clean = pitch_target(lager, PitchAim::Clean);
/// assert_eq!(clean.rate.millions_per_ml_plato(), 2.0);
/// # Ok::<(), ferment::FermentError>(())
/// ```
#[must_use]
pub fn pitch_target(strain: &Strain, aim: PitchAim) -> PitchTarget {
    let usual = strain.usual_pitch.millions_per_ml_plato();
    let class = crate::strains::strain(&strain.name);
    let stretch = class.map_or(1.0, |c| usual / c.usual_pitch.millions_per_ml_plato());
    let rates = table().rate.iter().find(|r| r.class == strain.name);
    let (low, high) = rates.map_or((usual, usual), |r| (r.low * stretch, r.high * stretch));
    let row = aim.row();
    let taken = match row.map(|r| r.takes) {
        Some(Takes::Low) => low,
        Some(Takes::High) => high,
        _ => usual,
    };
    let rate = taken * row.map_or(1.0, |r| r.factor);
    let of = PitchRate::from_millions_per_ml_plato;
    PitchTarget {
        rate: of(rate),
        range: (of(low.min(rate)), of(high.max(rate))),
        aim,
        about: row.map_or("", |r| r.about.as_str()),
        sources: sources(rates, row),
    }
}

fn sources(rates: Option<&Rate>, row: Option<&AimRow>) -> Vec<Source> {
    let class = rates.map(|r| source(&r.class, &r.source, &r.mark));
    let aim = row.map(|r| source(&r.key, &r.source, &r.mark));
    let strong = &table().strong;
    let strong = source("strong", &strong.source, &strong.mark);
    class.into_iter().chain(aim).chain([strong]).collect()
}

/// Cells that a wort needs for a target, and at the ends of its range.
///
/// # Errors
/// As [`cells_needed`].
pub fn cell_need(
    target: &PitchTarget,
    gravity: Gravity,
    volume: Volume,
) -> Result<CellNeed, FermentError> {
    let (low, high) = target.range;
    Ok(CellNeed {
        cells: cells_needed(target.rate, gravity, volume)?,
        range: (
            cells_needed(low, gravity, volume)?,
            cells_needed(high, gravity, volume)?,
        ),
    })
}

/// Cells that a wort needs \[10⁹\]: rate × extract × volume.
///
/// Above 18 °P the rate is raised by 1.3 to 1.5 (common practice); here the factor
/// rises from 1 at 18 °P to 1.4 at 20 °P.
///
/// # Errors
/// [`FermentError::Impossible`] outside 0.01 to 10 million/mL/°P, 0.5 to 35 °P or
/// 0.01 to 100 000 L.
pub fn cells_needed(
    rate: PitchRate,
    gravity: Gravity,
    volume: Volume,
) -> Result<Cells, FermentError> {
    let rate = within("pitching rate", rate, 0.01, 10.0)?.millions_per_ml_plato();
    let plato = within("original gravity", gravity, 0.5, 35.0)?.plato();
    let litres = within("wort volume", volume, 0.01, 1e5)?.l();
    let s = &table().strong;
    let share = (plato - s.from_plato) / (s.full_plato - s.from_plato);
    let strong = 1.0 + (s.factor - 1.0) * share.clamp(0.0, 1.0);
    // 10⁶/mL is 10⁹/L.
    Ok(Cells::from_billions(rate * plato * litres * strong))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::strains::{Datasheet, strain, strains};

    fn needed(rate: f64, plato: f64, litres: f64) -> f64 {
        cells_needed(
            PitchRate::from_millions_per_ml_plato(rate),
            Gravity::from_plato(plato),
            Volume::from_l(litres),
        )
        .unwrap()
        .billions()
    }

    /// Products of the pitching rule (Briggs et al. 2004, from memory).
    #[test]
    fn cells_needed_is_the_product() {
        for (r, plato, litres, billions) in [
            (0.75, 12.0, 20.0, 180.0),
            (1.5, 12.0, 20.0, 360.0),
            (1.0, 18.0, 23.0, 414.0),
            (0.75, 10.0, 19.0, 142.5),
        ] {
            assert!((needed(r, plato, litres) - billions).abs() < 1e-9);
        }
        let strong = needed(1.0, 22.0, 20.0) / 440.0;
        assert!((1.3..=1.5).contains(&strong), "{strong}");
    }

    #[test]
    fn aims_take_their_end_of_the_range() {
        for s in strains() {
            let at = |aim| pitch_target(s, aim).rate.millions_per_ml_plato();
            let usual = s.usual_pitch.millions_per_ml_plato();
            assert!((at(PitchAim::Usual) - usual).abs() < 1e-12);
            assert!((at(PitchAim::Phenolic) - usual).abs() < 1e-12);
            assert!(at(PitchAim::Estery) <= usual && usual <= at(PitchAim::Clean));
            assert!((at(PitchAim::VeryDry) / at(PitchAim::Clean) - 1.3).abs() < 1e-9);
            for aim in PitchAim::ALL {
                let target = pitch_target(s, aim);
                let (low, high) = target.range;
                assert!(low <= target.rate && target.rate <= high);
                assert!(!target.about.is_empty() && target.sources.len() == 3);
                assert_eq!(PitchAim::named(aim.word()), Some(aim));
            }
        }
        assert_eq!(PitchAim::named("Very-Dry"), Some(PitchAim::VeryDry));
        assert_eq!(PitchAim::named("sour"), None);
    }

    #[test]
    fn a_rate_of_ones_own_stretches_the_range() {
        let own = Datasheet {
            usual_pitch: Some(PitchRate::from_millions_per_ml_plato(1.5)),
            ..Datasheet::default()
        };
        let s = strain("neutral ale").unwrap().clone().with(&own).unwrap();
        let clean = pitch_target(&s, PitchAim::Clean);
        assert!((clean.rate.millions_per_ml_plato() - 2.0).abs() < 1e-12);
        let need = cell_need(&clean, Gravity::from_plato(12.0), Volume::from_l(20.0)).unwrap();
        assert!((need.cells.billions() - 480.0).abs() < 1e-9);
        assert!(need.range.0 < need.cells && need.cells <= need.range.1);
    }
}
