//! Reagents against chlorine. The table is `data/reagents.toml`.

use std::fmt;
use std::sync::LazyLock;

use quantity::data::{builtin, mark};
use quantity::{Source, molar_mass as m};

use crate::error::WaterError;
use crate::formula;
use crate::lookup::{self, Named};

const FILE: &str = "reagents.toml";

/// A reagent that takes chlorine and chloramine out of water.
///
/// Thiosulfate is left out on purpose: its dose depends on the route that the
/// reaction takes, and it can leave sulfur.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Reagent {
    /// K₂S₂O₅.
    PotassiumMetabisulfite,
    /// Na₂S₂O₅.
    SodiumMetabisulfite,
    /// NaHSO₃.
    SodiumBisulfite,
    /// Na₂SO₃, anhydrous.
    SodiumSulfite,
    /// C₆H₈O₆.
    AscorbicAcid,
    /// NaC₆H₇O₆.
    SodiumAscorbate,
}

/// What a reagent is made of and does.
#[derive(Debug, Clone, PartialEq)]
pub struct ReagentData {
    /// What it is called.
    pub name: String,
    /// Other spellings, its formula among them.
    pub also: Vec<String>,
    /// Its formula.
    pub formula: String,
    /// Molar mass \[g/mol\], summed from the formula.
    pub molar_mass_g_per_mol: f64,
    /// Moles of chlorine (as Cl₂) that a mole reduces.
    pub chlorine_per_mol: f64,
    /// Moles of sulfur dioxide that a mole can set free.
    pub sulfur_per_mol: f64,
    /// Moles of sodium in a mole.
    pub sodium_per_mol: f64,
    /// Moles of potassium in a mole.
    pub potassium_per_mol: f64,
    /// Protons set free per mole of free chlorine (as HOCl) reduced.
    pub acid_free: f64,
    /// Protons set free per mole of combined chlorine (as NH₂Cl) reduced.
    pub acid_combined: f64,
    /// Protons set free per mole of chlorine that it could still reduce.
    pub acid_spare: f64,
    /// Where the reactions come from.
    pub source: Source,
}

impl Reagent {
    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::PotassiumMetabisulfite,
        Self::SodiumMetabisulfite,
        Self::SodiumBisulfite,
        Self::SodiumSulfite,
        Self::AscorbicAcid,
        Self::SodiumAscorbate,
    ];

    /// Finds a reagent by what a person calls it, or by its formula.
    ///
    /// ```
    /// use water::dechlorination::Reagent;
    /// assert_eq!(Reagent::named("K2S2O5")?, Reagent::PotassiumMetabisulfite);
    /// // A tablet may be either salt: the label says which.
    /// let error = Reagent::named("metabisulfite").unwrap_err().to_string();
    /// assert!(error.contains("potassium metabisulfite") && error.contains("sodium"));
    /// # Ok::<(), water::WaterError>(())
    /// ```
    ///
    /// # Errors
    /// [`WaterError::Unknown`] with the names that come near.
    pub fn named(written: &str) -> Result<Self, WaterError> {
        lookup::find("reagent", &ROWS, written).map(|row| row.reagent)
    }

    /// What it is made of and does.
    #[must_use]
    pub fn data(self) -> &'static ReagentData {
        // The order of the file is the order of the enum; a test holds it so.
        &ROWS[self as usize % ROWS.len()].data
    }

    /// Mass of pure reagent per mass of chlorine as Cl₂ \[mg/mg\], by
    /// stoichiometry.
    #[must_use]
    pub fn mg_per_mg_chlorine(self) -> f64 {
        let data = self.data();
        data.molar_mass_g_per_mol / (data.chlorine_per_mol * m::CL2)
    }

    /// Sulfur dioxide that a mass of pure reagent can set free \[g/g\].
    #[must_use]
    pub fn sulfur_dioxide_g_per_g(self) -> f64 {
        let data = self.data();
        data.sulfur_per_mol * m::SO2 / data.molar_mass_g_per_mol
    }

    /// True of the sulfites.
    #[must_use]
    pub fn is_sulfite(self) -> bool {
        self.data().sulfur_per_mol > 0.0
    }
}

impl fmt::Display for Reagent {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.data().name)
    }
}

struct Row {
    reagent: Reagent,
    data: ReagentData,
}

impl Named for Row {
    fn names(&self) -> impl Iterator<Item = &str> {
        std::iter::once(&self.data.name)
            .chain(&self.data.also)
            .map(String::as_str)
    }
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    reagent: Vec<FileRow>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct FileRow {
    key: String,
    also: Vec<String>,
    formula: String,
    chlorine: f64,
    #[serde(default)]
    sulfur: f64,
    #[serde(default)]
    sodium: f64,
    #[serde(default)]
    potassium: f64,
    acid_free: f64,
    acid_combined: f64,
    acid_spare: f64,
    source: String,
    mark: String,
}

static ROWS: LazyLock<Vec<Row>> = LazyLock::new(|| {
    let file: File = builtin(FILE, include_str!("../../data/reagents.toml"));
    Reagent::ALL
        .into_iter()
        .zip(file.reagent)
        .map(|(reagent, row)| Row {
            reagent,
            data: data_of_row(row),
        })
        .collect()
});

fn data_of_row(row: FileRow) -> ReagentData {
    ReagentData {
        molar_mass_g_per_mol: formula::of_row(FILE, &row.key, &row.formula),
        source: Source {
            mark: mark(FILE, &row.key, &row.mark),
            text: row.source,
        },
        name: row.key,
        also: row.also,
        formula: row.formula,
        chlorine_per_mol: row.chlorine,
        sulfur_per_mol: row.sulfur,
        sodium_per_mol: row.sodium,
        potassium_per_mol: row.potassium,
        acid_free: row.acid_free,
        acid_combined: row.acid_combined,
        acid_spare: row.acid_spare,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Molar mass, mg per mg of chlorine, g SO₂ per g: computed with
    /// periodictable 2.1.0, four decimals.
    #[test]
    fn doses_agree_with_periodictable() {
        for (reagent, mass, ratio, sulfur_dioxide) in [
            (Reagent::SodiumBisulfite, 104.055, 1.4676, 0.6156),
            (Reagent::SodiumSulfite, 126.037, 1.7777, 0.5082),
            (Reagent::SodiumMetabisulfite, 190.095, 1.3406, 0.6740),
            (Reagent::PotassiumMetabisulfite, 222.312, 1.5678, 0.5763),
            (Reagent::AscorbicAcid, 176.124, 2.4841, 0.0),
            (Reagent::SodiumAscorbate, 198.106, 2.7942, 0.0),
        ] {
            let data = reagent.data();
            assert!((data.molar_mass_g_per_mol - mass).abs() < 2e-3, "{reagent}");
            assert!(
                (reagent.mg_per_mg_chlorine() - ratio).abs() < 1e-4,
                "{reagent}"
            );
            assert!(
                (reagent.sulfur_dioxide_g_per_g() - sulfur_dioxide).abs() < 1e-4,
                "{reagent}"
            );
        }
    }

    /// The formulas agree with the molar masses that the stages share.
    #[test]
    fn formulas_agree_with_the_shared_masses() {
        for (reagent, mass) in [
            (Reagent::PotassiumMetabisulfite, m::K2S2O5),
            (Reagent::SodiumMetabisulfite, m::NA2S2O5),
            (Reagent::SodiumBisulfite, m::NAHSO3),
            (Reagent::SodiumSulfite, m::NA2SO3),
            (Reagent::AscorbicAcid, m::ASCORBIC_ACID),
            (Reagent::SodiumAscorbate, m::SODIUM_ASCORBATE),
        ] {
            assert!(
                (reagent.data().molar_mass_g_per_mol - mass).abs() < 1e-9,
                "{reagent}"
            );
        }
    }

    /// Field results at pH 7.0: AWWA guide, Disinfection of Pipelines and
    /// Storage Facilities, Table 7-2. Sulfites took about a tenth more than
    /// theory; ascorbate took what theory says.
    #[test]
    fn field_doses_lie_at_or_above_theory() {
        for (reagent, field) in [
            (Reagent::SodiumBisulfite, 1.61),
            (Reagent::SodiumMetabisulfite, 1.47),
            (Reagent::SodiumSulfite, 1.96),
            (Reagent::AscorbicAcid, 2.5),
            (Reagent::SodiumAscorbate, 2.8),
        ] {
            let over = field / reagent.mg_per_mg_chlorine();
            assert!((1.0..1.11).contains(&over), "{reagent}: {over}");
        }
    }

    #[test]
    fn rows_stand_in_the_order_of_the_enum() {
        assert_eq!(ROWS.len(), Reagent::ALL.len());
        for reagent in Reagent::ALL {
            let shown = format!("{reagent:?}").to_lowercase();
            assert_eq!(reagent.to_string().replace(' ', ""), shown);
            assert_eq!(Reagent::named(&reagent.to_string()), Ok(reagent));
            assert_eq!(Reagent::named(&reagent.data().formula), Ok(reagent));
        }
    }

    #[test]
    fn unknown_words_are_told_what_is_near() {
        let message = Reagent::named("potasium metabisulfit")
            .unwrap_err()
            .to_string();
        assert!(message.contains("potassium metabisulfite"), "{message}");
        let tablet = Reagent::named("Campden tablet").unwrap_err().to_string();
        assert!(
            tablet.contains("potassium") && tablet.contains("sodium"),
            "{tablet}"
        );
    }
}
