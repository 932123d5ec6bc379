//! Kinds of yeast, and what a person's own datasheet changes.

use std::sync::LazyLock;

use quantity::{
    AlcoholByVolume, Fraction, MassConcentration, Measured, PitchRate, Source, Temperature, data,
};

use crate::error::{FermentError, within};
use crate::kinetics::ClassKinetics;

const FILE: &str = "strains.toml";

/// How readily yeast clumps and drops.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Flocculation {
    /// Stays in suspension for weeks unless chilled.
    Low,
    /// Drops in a week or two.
    Medium,
    /// Drops within days of the end.
    High,
    /// Drops before the end, and may have to be roused.
    VeryHigh,
}

/// How well yeast ferments maltotriose.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum MaltotrioseUse {
    /// Nearly all of it.
    Good,
    /// Some of it.
    Weak,
    /// Depends on the strain.
    Varies,
}

/// From one temperature to another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TemperatureRange {
    /// The lower end.
    pub low: Temperature,
    /// The upper end.
    pub high: Temperature,
}

/// What the class gives at its reference temperature, usual pitch and 12 °P.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TypicalFlavour {
    /// Ethyl acetate.
    pub ethyl_acetate: MassConcentration,
    /// Isoamyl acetate.
    pub isoamyl_acetate: MassConcentration,
    /// Isoamyl alcohol.
    pub isoamyl_alcohol: MassConcentration,
    /// Share of free ferulic acid that becomes 4-vinylguaiacol.
    pub ferulic_conversion: Fraction,
}

/// A kind of yeast.
#[derive(Debug, Clone, PartialEq)]
pub struct Strain {
    /// Its name.
    pub name: String,
    /// Other names by which it is found.
    pub also: Vec<String>,
    /// One or two sentences on its ways.
    pub about: String,
    /// Temperatures at which it works.
    pub working: TemperatureRange,
    /// Temperatures at which it works best.
    pub ideal: TemperatureRange,
    /// Apparent attenuation on an all-malt wort of a limit of about 81.5 %.
    pub attenuation: Measured<Fraction>,
    /// How readily it drops.
    pub flocculation: Flocculation,
    /// Whether it makes 4-vinylguaiacol.
    pub phenolic: bool,
    /// Whether it ferments dextrins.
    pub diastatic: bool,
    /// Alcohol at which it comes to a stop.
    pub tolerance: AlcoholByVolume,
    /// How well it ferments maltotriose.
    pub maltotriose: MaltotrioseUse,
    /// Usual pitching rate.
    pub usual_pitch: PitchRate,
    /// Typical flavour.
    pub typical: TypicalFlavour,
    /// Where the row comes from.
    pub source: Source,
    pub(crate) kinetics: ClassKinetics,
}

/// What a person knows of their own yeast; what is given replaces the class's.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Datasheet {
    /// Apparent attenuation; without a spread, the class's is kept.
    pub attenuation: Option<Measured<Fraction>>,
    /// Whether it makes 4-vinylguaiacol.
    pub phenolic: Option<bool>,
    /// Whether it ferments dextrins.
    pub diastatic: Option<bool>,
    /// Temperatures at which it works.
    pub working: Option<TemperatureRange>,
    /// Alcohol at which it comes to a stop.
    pub tolerance: Option<AlcoholByVolume>,
    /// Usual pitching rate.
    pub usual_pitch: Option<PitchRate>,
}

/// All built-in classes.
#[must_use]
pub fn strains() -> &'static [Strain] {
    &STRAINS
}

/// The class of a name, without regard to case.
///
/// # Errors
/// [`FermentError::UnknownStrain`] with the nearest name.
pub fn strain(name: &str) -> Result<&'static Strain, FermentError> {
    let wanted = name.trim().to_lowercase();
    // Mostly it is written as the table has it.
    let found = STRAINS
        .iter()
        .find(|s| names(s).any(|n| n == name))
        .or_else(|| {
            let mut strains = STRAINS.iter();
            strains.find(|s| names(s).any(|n| n.to_lowercase() == wanted))
        });
    found.ok_or_else(|| FermentError::UnknownStrain {
        given: name.to_owned(),
        nearest: quantity::nearest(&wanted, STRAINS.iter().flat_map(names)).map(str::to_owned),
        known: STRAINS
            .iter()
            .map(|s| s.name.as_str())
            .collect::<Vec<_>>()
            .join(", "),
    })
}

impl Strain {
    /// True for yeast of lager, which works below 15 °C.
    #[must_use]
    pub fn is_bottom_fermenting(&self) -> bool {
        self.working.high.c() < 15.0
    }

    /// The strain with a person's own figures.
    ///
    /// # Errors
    /// [`FermentError::Impossible`] for an attenuation outside 1 to 100 %, a
    /// range that runs backwards or lies outside 0 to 45 °C, a tolerance outside
    /// 1 to 25 % vol, or a pitching rate outside 0.01 to 10.
    pub fn with(mut self, datasheet: &Datasheet) -> Result<Self, FermentError> {
        if let Some(attenuation) = datasheet.attenuation {
            within("apparent attenuation", attenuation.value, 0.01, 1.0)?;
            let own_sd = attenuation.sd();
            let sd = if own_sd > 0.0 && own_sd.is_finite() {
                own_sd
            } else {
                self.attenuation.sd()
            };
            self.attenuation = Measured::with_sd(attenuation.value, sd);
        }
        if let Some(working) = datasheet.working {
            self = self.working_in(working)?;
        }
        if let Some(tolerance) = datasheet.tolerance {
            self.tolerance = within("alcohol tolerance", tolerance, 0.01, 0.25)?;
        }
        if let Some(rate) = datasheet.usual_pitch {
            self.usual_pitch = within("pitching rate", rate, 0.01, 10.0)?;
        }
        if let Some(phenolic) = datasheet.phenolic {
            self = self.made_phenolic(phenolic);
        }
        self.diastatic = datasheet.diastatic.unwrap_or(self.diastatic);
        Ok(self)
    }

    fn working_in(mut self, range: TemperatureRange) -> Result<Self, FermentError> {
        within("lower working temperature", range.low, 0.0, 45.0)?;
        within("upper working temperature", range.high, range.low.c(), 45.0)?;
        let into = |t: Temperature| Temperature::from_c(t.c().clamp(range.low.c(), range.high.c()));
        self.ideal = TemperatureRange {
            low: into(self.ideal.low),
            high: into(self.ideal.high),
        };
        self.working = range;
        Ok(self)
    }

    fn made_phenolic(mut self, phenolic: bool) -> Self {
        /// Mean of what phenolic strains convert, 30 to 90 % (from memory).
        const USUAL_CONVERSION: f64 = 0.6;
        if phenolic && !self.phenolic {
            self.typical.ferulic_conversion = Fraction::from_ratio(USUAL_CONVERSION);
        }
        self.phenolic = phenolic;
        self
    }
}

fn names(strain: &Strain) -> impl Iterator<Item = &str> {
    std::iter::once(strain.name.as_str()).chain(strain.also.iter().map(String::as_str))
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    strain: Vec<Row>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    name: String,
    also: Vec<String>,
    about: String,
    working: [String; 2],
    ideal: [String; 2],
    attenuation: String,
    flocculation: String,
    phenolic: bool,
    diastatic: bool,
    tolerance: String,
    maltotriose: String,
    usual_pitch: String,
    ethyl_acetate: String,
    isoamyl_acetate: String,
    isoamyl_alcohol: String,
    ferulic_conversion: String,
    source: String,
    mark: String,
}

static STRAINS: LazyLock<Vec<Strain>> = LazyLock::new(|| {
    let file: File = data::builtin(FILE, include_str!("../data/strains.toml"));
    file.strain.into_iter().map(Strain::from).collect()
});

impl From<Row> for Strain {
    fn from(row: Row) -> Self {
        let name = row.name.clone();
        let kinetics = crate::kinetics::class_kinetics(&name);
        Self {
            working: range(&name, &row.working),
            ideal: range(&name, &row.ideal),
            attenuation: data::quantity(FILE, &name, &row.attenuation),
            flocculation: word(&name, &row.flocculation, &FLOCCULATION),
            tolerance: data::quantity(FILE, &name, &row.tolerance),
            maltotriose: word(&name, &row.maltotriose, &MALTOTRIOSE),
            usual_pitch: data::quantity(FILE, &name, &row.usual_pitch),
            typical: TypicalFlavour {
                ethyl_acetate: data::quantity(FILE, &name, &row.ethyl_acetate),
                isoamyl_acetate: data::quantity(FILE, &name, &row.isoamyl_acetate),
                isoamyl_alcohol: data::quantity(FILE, &name, &row.isoamyl_alcohol),
                ferulic_conversion: data::quantity(FILE, &name, &row.ferulic_conversion),
            },
            source: Source {
                mark: data::mark(FILE, &name, &row.mark),
                text: row.source,
            },
            name: row.name,
            also: row.also,
            about: row.about,
            phenolic: row.phenolic,
            diastatic: row.diastatic,
            kinetics,
        }
    }
}

const FLOCCULATION: [(&str, Flocculation); 4] = [
    ("low", Flocculation::Low),
    ("medium", Flocculation::Medium),
    ("high", Flocculation::High),
    ("very high", Flocculation::VeryHigh),
];

const MALTOTRIOSE: [(&str, MaltotrioseUse); 3] = [
    ("good", MaltotrioseUse::Good),
    ("weak", MaltotrioseUse::Weak),
    ("varies", MaltotrioseUse::Varies),
];

fn range(row: &str, ends: &[String; 2]) -> TemperatureRange {
    let [low, high] = ends;
    TemperatureRange {
        low: data::quantity(FILE, row, low),
        high: data::quantity(FILE, row, high),
    }
}

fn word<T: Copy>(row: &str, text: &str, known: &[(&str, T)]) -> T {
    match known.iter().find(|(name, _)| *name == text) {
        Some((_, value)) => *value,
        #[expect(clippy::panic, reason = "a broken built-in file is a defect of the program")]
        None => panic!("built-in data file {FILE}, row {row}: unknown word {text:?}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::Quantity;

    #[test]
    fn every_row_is_sound() {
        assert_eq!(strains().len(), 8);
        for s in strains() {
            assert!(s.working.low < s.working.high, "{}", s.name);
            assert!(
                s.working.low <= s.ideal.low && s.ideal.high <= s.working.high,
                "{}",
                s.name
            );
            assert!(
                (0.5..0.96).contains(&s.attenuation.value.ratio()),
                "{}",
                s.name
            );
            assert!((0.01..0.06).contains(&s.attenuation.sd()), "{}", s.name);
            assert!(s.tolerance.within_bounds() && s.usual_pitch.within_bounds());
            assert_eq!(
                s.phenolic,
                s.typical.ferulic_conversion.ratio() > 0.0,
                "{}",
                s.name
            );
            assert!(!s.source.text.is_empty() && !s.about.is_empty());
        }
    }

    #[test]
    fn names_are_unique_and_found_without_regard_to_case() {
        let all: Vec<String> = strains()
            .iter()
            .flat_map(names)
            .map(str::to_lowercase)
            .collect();
        let mut unique = all.clone();
        unique.sort();
        unique.dedup();
        assert_eq!(unique.len(), all.len());
        for s in strains() {
            assert_eq!(strain(&s.name.to_uppercase()).unwrap().name, s.name);
        }
        assert_eq!(strain("koelsch-like").unwrap().name, "Kölsch-like");
    }

    #[test]
    fn a_slip_is_met_with_the_nearest_name() {
        match strain("nuetral ale") {
            Err(FermentError::UnknownStrain { nearest, .. }) => {
                assert_eq!(nearest.as_deref(), Some("neutral ale"));
            }
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn a_datasheet_overrides_the_class() {
        let own = Datasheet {
            attenuation: Some(Measured::exactly(Fraction::from_ratio(0.82))),
            phenolic: Some(true),
            working: Some(TemperatureRange {
                low: Temperature::from_c(14.0),
                high: Temperature::from_c(18.5),
            }),
            ..Datasheet::default()
        };
        let s = strain("neutral ale").unwrap().clone().with(&own).unwrap();
        assert!((s.attenuation.value.ratio() - 0.82).abs() < 1e-12);
        assert!(
            (s.attenuation.sd() - 0.024).abs() < 1e-12,
            "the class's spread stays"
        );
        assert!(s.phenolic && s.typical.ferulic_conversion.ratio() > 0.0);
        assert!((s.ideal.high.c() - 18.5).abs() < 1e-12);

        let backwards = Datasheet {
            working: Some(TemperatureRange {
                low: Temperature::from_c(20.0),
                high: Temperature::from_c(10.0),
            }),
            ..Datasheet::default()
        };
        assert!(strain("wheat").unwrap().clone().with(&backwards).is_err());
    }
}
