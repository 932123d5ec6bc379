//! Acids for liquor and mash. The table is `data/acids.toml`.

use std::fmt;
use std::sync::LazyLock;

use quantity::data::{builtin, mark};
use quantity::{
    Alkalinity, Chloride, Mass, MassConcentration, Ph, Quantity, Source, Sulfate, Volume,
};

use crate::check;
use crate::error::WaterError;
use crate::formula;
use crate::lookup::{self, Named, known};
use crate::state::Ions;
use crate::treatment::Liquor;

const FILE: &str = "acids.toml";

/// The pH at which an acid in a liquor is counted against alkalinity: that of
/// the mash that the liquor is for. A titration to pH 4.5 would count a little
/// less of lactic and citric acid.
pub const COUNTED_AT: Ph = Ph::from_ph(5.4);

/// A kind of acid.
#[derive(Debug, Clone, PartialEq)]
pub struct Acid {
    /// The key of its row, such as "lactic".
    pub key: String,
    /// What it is called.
    pub name: String,
    /// Molar mass \[g/mol\] without crystal water, summed from the formula.
    pub molar_mass_g_per_mol: f64,
    /// Protons of a molecule that are always given.
    pub strong: f64,
    /// pKa of the others at 25 °C and no ionic strength.
    pub pka: Vec<f64>,
    /// Chloride ions that a molecule leaves.
    pub chloride: f64,
    /// Sulfate ions that a molecule leaves.
    pub sulfate: f64,
    /// From how much on the beer tastes of it.
    pub taste: Option<Taste>,
    /// Where the constants come from.
    pub source: Source,
}

/// From how much on something is tasted.
#[derive(Debug, Clone, PartialEq)]
pub struct Taste {
    /// The threshold.
    pub from: MassConcentration,
    /// Where the figure comes from.
    pub source: Source,
}

/// An acid as it is sold.
#[derive(Debug, Clone, PartialEq)]
pub struct AcidProduct {
    /// What it is called, strength and all.
    pub name: String,
    /// Other spellings.
    pub also: Vec<String>,
    /// The acid in it.
    pub acid: &'static Acid,
    /// Moles of acid in a gram of the product.
    pub mol_per_g: f64,
    /// Its density \[g/mL\]; none of a solid.
    pub density_g_per_ml: Option<f64>,
    /// What to know about it.
    pub remark: Option<String>,
    /// Where strength and density come from.
    pub source: Source,
}

/// How much of an acid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum AcidAmount {
    /// Measured.
    Volume(Volume),
    /// Weighed.
    Mass(Mass),
}

/// An acid for a liquor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AcidDose {
    /// The acid.
    pub product: &'static AcidProduct,
    /// How much.
    pub amount: AcidAmount,
    /// Into which liquor.
    pub into: Liquor,
}

/// What an acid does to a liquor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Acidified {
    /// The chloride or sulfate that it leaves.
    pub ions: Ions,
    /// The alkalinity that it takes away: negative.
    pub alkalinity: Alkalinity,
}

/// All kinds of acid.
#[must_use]
pub fn acids() -> &'static [Acid] {
    &ACIDS
}

/// All acids as they are sold.
#[must_use]
pub fn products() -> &'static [AcidProduct] {
    &PRODUCTS
}

/// Protons that a molecule of acid has given at a pH \[mol/mol\].
///
/// z = s + Σ j·β_j/Σ β_j with β_j = 10^(j·pH − ΣpKa_1..j) and s strong protons;
/// ideal, with the pKa of 25 °C at no ionic strength. In wort the pKa lie lower
/// by 0.1 to 0.3, so that citric acid gives a little more.
///
/// ```
/// use quantity::Ph;
/// use water::acids::{AcidProduct, protons_per_mole};
/// let lactic = AcidProduct::named("lactic acid 80 %")?.acid;
/// assert!((protons_per_mole(lactic, Ph::from_ph(5.4)) - 0.972).abs() < 5e-4);
/// # Ok::<(), water::WaterError>(())
/// ```
#[must_use]
pub fn protons_per_mole(acid: &Acid, ph: Ph) -> f64 {
    // Held to the scale of pH; what is not a number counts as its lower end.
    let ph = if ph.ph().is_nan() {
        Ph::MIN
    } else {
        ph.ph().clamp(Ph::MIN, Ph::MAX)
    };
    let (mut exponent, mut forms, mut given) = (0.0, 1.0, 0.0);
    for (lost, pka) in (1..).map(f64::from).zip(&acid.pka) {
        exponent += ph - pka;
        let form = 10f64.powf(exponent);
        forms += form;
        given += lost * form;
    }
    acid.strong + given / forms
}

impl AcidProduct {
    /// Finds an acid by what a person calls it, strength and all.
    ///
    /// # Errors
    /// [`WaterError::Unknown`] with the names that come near, as for
    /// "lactic acid", which leaves the strength open.
    pub fn named(written: &str) -> Result<&'static Self, WaterError> {
        lookup::find("acid", products(), written)
    }

    /// Moles of acid in a litre of the product; none of a solid.
    #[must_use]
    pub fn mol_per_l(&self) -> Option<f64> {
        self.density_g_per_ml
            .map(|density| 1000.0 * density * self.mol_per_g)
    }

    /// Moles of acid in an amount of the product.
    ///
    /// # Errors
    /// [`WaterError::OutOfBounds`], and [`WaterError::SolidByVolume`] for the
    /// volume of a solid.
    pub fn mol(&self, amount: AcidAmount) -> Result<f64, WaterError> {
        match amount {
            AcidAmount::Mass(mass) => {
                let mass = check::within(check::Of(self.name.as_str(), "mass"), mass)?;
                Ok(mass.g() * self.mol_per_g)
            }
            AcidAmount::Volume(volume) => {
                let volume = check::within(check::Of(self.name.as_str(), "volume"), volume)?;
                let mol_per_l = self.mol_per_l().ok_or_else(|| WaterError::SolidByVolume {
                    what: self.name.clone(),
                })?;
                Ok(volume.l() * mol_per_l)
            }
        }
    }

    /// What an amount of it does to a volume of liquor.
    ///
    /// Alkalinity falls by the protons given at [`COUNTED_AT`]; the anions of
    /// weak acids are not carried on. The volume of the acid itself is left out.
    ///
    /// # Errors
    /// As [`mol`](Self::mol).
    pub fn acidified(&self, amount: AcidAmount, volume: Volume) -> Result<Acidified, WaterError> {
        check::above_zero(check::Of(self.name.as_str(), "volume of liquor"), volume)?;
        let mmol_per_l = 1000.0 * self.mol(amount)? / volume.l();
        let protons = protons_per_mole(self.acid, COUNTED_AT);
        Ok(Acidified {
            ions: Ions {
                chloride: Chloride::from_mg_per_l(
                    mmol_per_l * self.acid.chloride * Chloride::MOLAR_MASS,
                ),
                sulfate: Sulfate::from_mg_per_l(
                    mmol_per_l * self.acid.sulfate * Sulfate::MOLAR_MASS,
                ),
                ..Ions::default()
            },
            alkalinity: Alkalinity::from_meq_per_l(-mmol_per_l * protons),
        })
    }
}

impl Named for AcidProduct {
    fn names(&self) -> impl Iterator<Item = &str> {
        std::iter::once(&self.name)
            .chain(&self.also)
            .map(String::as_str)
    }
}

impl fmt::Display for AcidProduct {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.name)
    }
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    acid: Vec<AcidRow>,
    product: Vec<ProductRow>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct AcidRow {
    key: String,
    name: String,
    formula: String,
    #[serde(default)]
    strong: f64,
    pka: Vec<f64>,
    #[serde(default)]
    chloride: f64,
    #[serde(default)]
    sulfate: f64,
    taste: Option<TasteRow>,
    source: String,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct TasteRow {
    mg_per_l: f64,
    source: String,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct ProductRow {
    name: String,
    also: Vec<String>,
    acid: String,
    formula: Option<String>,
    percent: f64,
    density_g_per_ml: Option<f64>,
    remark: Option<String>,
    source: String,
    mark: String,
}

fn file() -> File {
    builtin(FILE, include_str!("../data/acids.toml"))
}

static ACIDS: LazyLock<Vec<Acid>> =
    LazyLock::new(|| file().acid.into_iter().map(acid_of_row).collect());

static PRODUCTS: LazyLock<Vec<AcidProduct>> =
    LazyLock::new(|| file().product.into_iter().map(product_of_row).collect());

fn acid_of_row(row: AcidRow) -> Acid {
    Acid {
        molar_mass_g_per_mol: formula::of_row(FILE, &row.key, &row.formula),
        taste: row.taste.map(|t| Taste {
            from: MassConcentration::from_mg_per_l(t.mg_per_l),
            source: Source {
                mark: mark(FILE, &row.key, &t.mark),
                text: t.source,
            },
        }),
        source: Source {
            mark: mark(FILE, &row.key, &row.mark),
            text: row.source,
        },
        key: row.key,
        name: row.name,
        strong: row.strong,
        pka: row.pka,
        chloride: row.chloride,
        sulfate: row.sulfate,
    }
}

fn product_of_row(row: ProductRow) -> AcidProduct {
    let acid = acids().iter().find(|acid| acid.key == row.acid);
    let acid = known(FILE, &row.name, "acid", acid);
    let molar_mass = row.formula.map_or(acid.molar_mass_g_per_mol, |formula| {
        formula::of_row(FILE, &row.name, &formula)
    });
    AcidProduct {
        source: Source {
            mark: mark(FILE, &row.name, &row.mark),
            text: row.source,
        },
        name: row.name,
        also: row.also,
        acid,
        mol_per_g: row.percent / 100.0 / molar_mass,
        density_g_per_ml: row.density_g_per_ml,
        remark: row.remark,
    }
}

#[cfg(test)]
mod tests;
