//! Salts and bases for liquor. The table is `data/salts.toml`.

use std::fmt;
use std::sync::LazyLock;

use quantity::data::{builtin, mark};
use quantity::{
    Alkalinity, Calcium, Caution, Chloride, Magnesium, Mass, MassConcentration, Note, Potassium,
    Sodium, Source, Sulfate, Volume,
};

use crate::check;
use crate::error::WaterError;
use crate::formula;
use crate::lookup::{self, Named, known};
use crate::state::Ions;
use crate::treatment::Liquor;

const FILE: &str = "salts.toml";

/// A salt or base.
#[derive(Debug, Clone, PartialEq)]
pub struct Salt {
    /// What it is called.
    pub name: String,
    /// Other spellings, its formula among them.
    pub also: Vec<String>,
    /// Its formula.
    pub formula: String,
    /// Molar mass \[g/mol\], summed from the formula.
    pub molar_mass_g_per_mol: f64,
    /// What a gram in a litre brings \[mg/L\].
    pub ions_per_g_per_l: Ions,
    /// The alkalinity that a gram in a litre brings \[mEq/L\].
    pub alkalinity_per_g_per_l: Alkalinity,
    /// How much dissolves in pure water at 20 °C; none where far more than any
    /// dose.
    pub solubility: Option<Solubility>,
    /// What to know about it.
    pub remark: Option<Note>,
    /// What can hurt someone.
    pub caution: Option<Caution>,
}

/// How much of a salt dissolves.
#[derive(Debug, Clone, PartialEq)]
pub struct Solubility {
    /// The most that dissolves.
    pub most: MassConcentration,
    /// Where the figure comes from.
    pub source: Source,
}

/// A salt weighed into a liquor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SaltDose {
    /// The salt.
    pub salt: &'static Salt,
    /// How much.
    pub mass: Mass,
    /// Into which liquor.
    pub into: Liquor,
}

/// What a salt does to a liquor.
#[derive(Debug, Clone, PartialEq)]
pub struct Dissolved {
    /// The ions that it brings.
    pub ions: Ions,
    /// The alkalinity that it brings.
    pub alkalinity: Alkalinity,
    /// A remark where it does not dissolve in full.
    pub note: Option<Note>,
}

/// All salts.
#[must_use]
pub fn salts() -> &'static [Salt] {
    &SALTS
}

impl Salt {
    /// Finds a salt by what a person calls it, or by its formula.
    ///
    /// ```
    /// use water::salts::Salt;
    /// assert_eq!(Salt::named("CaSO4·2H2O")?.name, "gypsum");
    /// // A name that leaves the crystal water open is asked back.
    /// let error = Salt::named("calcium chloride").unwrap_err().to_string();
    /// assert!(error.contains("calcium chloride dihydrate"));
    /// # Ok::<(), water::WaterError>(())
    /// ```
    ///
    /// # Errors
    /// [`WaterError::Unknown`] with the names that come near.
    pub fn named(written: &str) -> Result<&'static Self, WaterError> {
        lookup::find("salt", salts(), written)
    }

    /// What a mass of it brings to a volume.
    ///
    /// What lies beyond the solubility in pure water stays undissolved and brings
    /// nothing, with a remark. Ions already in the water lower the solubility of
    /// gypsum and chalk, which is not reckoned.
    ///
    /// # Errors
    /// [`WaterError::OutOfBounds`] for a mass or a volume that cannot be.
    pub fn dissolved(&self, mass: Mass, volume: Volume) -> Result<Dissolved, WaterError> {
        check::within(check::Of(self.name.as_str(), "mass"), mass)?;
        check::above_zero(check::Of(self.name.as_str(), "volume"), volume)?;
        let dosed_g_per_l = mass.g() / volume.l();
        let most_g_per_l = self
            .solubility
            .as_ref()
            .map_or(f64::INFINITY, |s| s.most.mg_per_l() / 1000.0);
        let g_per_l = dosed_g_per_l.min(most_g_per_l);
        let ions = self.ions_per_g_per_l.times(g_per_l);
        check::ions(&self.name, &ions)?;
        Ok(Dissolved {
            ions,
            alkalinity: Alkalinity::from_meq_per_l(
                self.alkalinity_per_g_per_l.meq_per_l() * g_per_l,
            ),
            note: (dosed_g_per_l > most_g_per_l)
                .then(|| self.undissolved(dosed_g_per_l, most_g_per_l)),
        })
    }

    fn undissolved(&self, dosed_g_per_l: f64, most_g_per_l: f64) -> Note {
        Note::act(format!(
            "Of {dosed_g_per_l:.3} g/L of {} no more than {most_g_per_l} g/L dissolves; only that \
             is counted. Use less, or another salt.",
            self.name
        ))
    }
}

impl Named for Salt {
    fn names(&self) -> impl Iterator<Item = &str> {
        std::iter::once(&self.name)
            .chain(&self.also)
            .map(String::as_str)
    }
}

impl fmt::Display for Salt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.name)
    }
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    salt: Vec<Row>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    name: String,
    also: Vec<String>,
    formula: String,
    ions: Unit,
    solubility: Option<SolubilityRow>,
    remark: Option<String>,
    #[serde(default)]
    look: bool,
    caution: Option<String>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct SolubilityRow {
    g_per_l: f64,
    source: String,
    mark: String,
}

/// The ions in one formula unit.
#[derive(Clone, Copy, Default, serde::Deserialize)]
#[serde(deny_unknown_fields, default)]
struct Unit {
    calcium: f64,
    magnesium: f64,
    sodium: f64,
    potassium: f64,
    chloride: f64,
    sulfate: f64,
    bicarbonate: f64,
    carbonate: f64,
    hydroxide: f64,
}

impl Unit {
    /// Milligrams of the ions in a millimole of the salt.
    fn ions(self) -> Ions {
        Ions {
            calcium: Calcium::from_mg_per_l(self.calcium * Calcium::MOLAR_MASS),
            magnesium: Magnesium::from_mg_per_l(self.magnesium * Magnesium::MOLAR_MASS),
            sodium: Sodium::from_mg_per_l(self.sodium * Sodium::MOLAR_MASS),
            potassium: Potassium::from_mg_per_l(self.potassium * Potassium::MOLAR_MASS),
            chloride: Chloride::from_mg_per_l(self.chloride * Chloride::MOLAR_MASS),
            sulfate: Sulfate::from_mg_per_l(self.sulfate * Sulfate::MOLAR_MASS),
            ..Ions::default()
        }
    }

    /// Milliequivalents of alkalinity in a millimole of the salt.
    fn alkalinity(self) -> f64 {
        self.bicarbonate + 2.0 * self.carbonate + self.hydroxide
    }
}

static SALTS: LazyLock<Vec<Salt>> = LazyLock::new(|| {
    let file: File = builtin(FILE, include_str!("../data/salts.toml"));
    file.salt.into_iter().map(salt_of_row).collect()
});

fn salt_of_row(row: Row) -> Salt {
    let molar_mass = formula::of_row(FILE, &row.name, &row.formula);
    let mmol_per_g = 1000.0 / molar_mass;
    let mut also = row.also;
    also.push(row.formula.clone());
    Salt {
        solubility: row.solubility.map(|s| Solubility {
            most: MassConcentration::from_mg_per_l(1000.0 * s.g_per_l),
            source: Source {
                mark: mark(FILE, &row.name, &s.mark),
                text: s.source,
            },
        }),
        caution: row.caution.map(|key| {
            let found = Caution::ALL.iter().copied().find(|c| c.key() == key);
            known(FILE, &row.name, "caution", found)
        }),
        name: row.name,
        also,
        formula: row.formula,
        molar_mass_g_per_mol: molar_mass,
        ions_per_g_per_l: row.ions.ions().times(mmol_per_g),
        alkalinity_per_g_per_l: Alkalinity::from_meq_per_l(row.ions.alkalinity() * mmol_per_g),
        remark: row
            .remark
            .map(if row.look { Note::look } else { Note::fine }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ion(salt: &str, ion: &str) -> f64 {
        let ions = Salt::named(salt).unwrap().ions_per_g_per_l;
        match ion {
            "Ca" => ions.calcium.mg_per_l(),
            "Mg" => ions.magnesium.mg_per_l(),
            "Na" => ions.sodium.mg_per_l(),
            "K" => ions.potassium.mg_per_l(),
            "Cl" => ions.chloride.mg_per_l(),
            "SO4" => ions.sulfate.mg_per_l(),
            other => panic!("{other}"),
        }
    }

    /// Ions in mg/L per g/L, computed with periodictable 2.1.0.
    #[test]
    fn ions_per_gram_agree_with_periodictable() {
        for (salt, first, second) in [
            ("gypsum", ("Ca", 232.8), ("SO4", 557.9)),
            ("CaCl2", ("Ca", 361.1), ("Cl", 638.9)),
            ("CaCl2·2H2O", ("Ca", 272.6), ("Cl", 482.3)),
            ("CaCl2·6H2O", ("Ca", 182.9), ("Cl", 323.6)),
            ("Epsom salt", ("Mg", 98.6), ("SO4", 389.7)),
            ("magnesium chloride", ("Mg", 119.6), ("Cl", 348.8)),
            ("table salt", ("Na", 393.4), ("Cl", 606.6)),
            ("KCl", ("K", 524.5), ("Cl", 475.5)),
            ("Na2SO4", ("Na", 323.7), ("SO4", 676.3)),
            ("baking soda", ("Na", 273.7), ("Na", 273.7)),
            ("KHCO3", ("K", 390.5), ("K", 390.5)),
            ("soda ash", ("Na", 433.8), ("Na", 433.8)),
            ("chalk", ("Ca", 400.4), ("Ca", 400.4)),
            ("slaked lime", ("Ca", 540.9), ("Ca", 540.9)),
            ("NaOH", ("Na", 574.8), ("Na", 574.8)),
        ] {
            for (name, printed) in [first, second] {
                let ours = ion(salt, name);
                assert!((ours - printed).abs() <= 0.051, "{salt} {name}: {ours}");
            }
        }
    }

    /// mEq/g, computed with periodictable 2.1.0.
    #[test]
    fn alkalinity_per_gram_agrees_with_periodictable() {
        for (salt, printed) in [
            ("baking soda", 11.90),
            ("potassium bicarbonate", 9.99),
            ("soda ash", 18.87),
            ("chalk", 19.98),
            ("slaked lime", 26.99),
            ("caustic soda", 25.00),
            ("gypsum", 0.0),
        ] {
            let ours = Salt::named(salt)
                .unwrap()
                .alkalinity_per_g_per_l
                .meq_per_l();
            assert!((ours - printed).abs() <= 0.0051, "{salt}: {ours}");
        }
    }

    #[test]
    fn every_salt_is_neutral_and_has_one_name() {
        let mut names: Vec<String> = vec![];
        for salt in salts() {
            let ions = salt.ions_per_g_per_l;
            let anions = ions.anions().meq_per_l() + salt.alkalinity_per_g_per_l.meq_per_l();
            assert!((ions.cations().meq_per_l() - anions).abs() < 1e-9, "{salt}");
            names.extend(salt.names().map(str::to_lowercase));
        }
        let count = names.len();
        names.sort();
        names.dedup();
        assert_eq!(names.len(), count);
    }

    #[test]
    fn what_does_not_dissolve_is_not_counted() {
        let gypsum = Salt::named("gypsum").unwrap();
        let dissolved = gypsum
            .dissolved(Mass::from_g(40.0), Volume::from_l(10.0))
            .unwrap();
        assert!((dissolved.ions.calcium.mg_per_l() - 2.55 * 232.8).abs() < 0.2);
        assert!(dissolved.note.unwrap().text.contains("2.55 g/L"));
        let little = gypsum
            .dissolved(Mass::from_g(4.0), Volume::from_l(10.0))
            .unwrap();
        assert_eq!(little.note, None);
    }

    #[test]
    fn impossible_doses_are_errors() {
        let salt = Salt::named("salt").unwrap();
        for (kg, l) in [(f64::NAN, 1.0), (-1.0, 1.0), (1.0, 0.0), (1.0, f64::NAN)] {
            let dose = salt.dissolved(Mass::from_kg(kg), Volume::from_l(l));
            assert!(
                matches!(dose, Err(WaterError::OutOfBounds { .. })),
                "{kg} kg in {l} L"
            );
        }
        let caustic = Salt::named("NaOH").unwrap();
        let drowned = caustic.dissolved(Mass::from_kg(1.0), Volume::from_l(0.001));
        assert!(matches!(drowned, Err(WaterError::OutOfBounds { .. })));
    }
}
