//! Units of reports with their basis, and what a figure in them means for a
//! parameter.

use std::sync::LazyLock;

use quantity::{Hardness, molar_mass as m};

use super::parameter::{Kind, Parameter, SILICON};
use super::words::plain;

/// What a figure counts: a formula with its molar mass \[g/mol\] and the charges
/// that one mole of it stands for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Species {
    pub formula: &'static str,
    mass: f64,
    equivalents: f64,
    /// How many of the counted entity it holds, as P in P₂O₅.
    entities: f64,
}

const fn sp(formula: &'static str, mass: f64, equivalents: f64) -> Species {
    Species {
        formula,
        mass,
        equivalents,
        entities: 1.0,
    }
}

const SPECIES: &[Species] = &[
    sp("CaCO3", m::CACO3, 2.0),
    sp("HCO3", m::HCO3, 1.0),
    sp("CO3", m::CO3, 2.0),
    sp("CaO", m::CAO, 2.0),
    sp("N", m::N, 1.0),
    sp("NO3", m::NO3, 1.0),
    sp("NO2", m::NO2, 1.0),
    sp("NH4", m::NH4, 1.0),
    sp("NH3", m::N + 3.0 * m::H, 1.0),
    sp("NO3-N", m::N, 1.0),
    sp("NO2-N", m::N, 1.0),
    sp("NH4-N", m::N, 1.0),
    sp("NH3-N", m::N, 1.0),
    sp("S", m::S, 2.0),
    sp("SO4", m::SO4, 2.0),
    sp("SO4-S", m::S, 2.0),
    sp("P", m::P, 0.0),
    sp("PO4", m::P + 4.0 * m::O, 0.0),
    sp("PO4-P", m::P, 0.0),
    Species {
        formula: "P2O5",
        mass: 2.0 * m::P + 5.0 * m::O,
        equivalents: 0.0,
        entities: 2.0,
    },
    sp("Cl2", m::CL2, 2.0),
    sp("NH2Cl", m::NH2CL, 2.0),
    sp("Cl", m::CL, 1.0),
    sp("SiO2", SILICON + 2.0 * m::O, 0.0),
    sp("Si", SILICON, 0.0),
    sp("Ca", m::CA, 2.0),
    sp("Mg", m::MG, 2.0),
    sp("Na", m::NA, 1.0),
    sp("K", m::K, 1.0),
    sp("Fe", m::FE, 0.0),
    sp("Mn", m::MN, 0.0),
    sp("Cu", 63.546, 0.0),
    sp("Zn", 65.38, 0.0),
    sp("Pb", 207.2, 0.0),
    sp("As", 74.922, 0.0),
    sp("F", 18.998, 0.0),
];

/// A species by its formula, with or without its charge. Words for them are
/// read too.
pub(super) fn species(text: &str) -> Option<Species> {
    let text: String = text.chars().map(plain).collect();
    let text = text.trim().trim_matches(['(', ')', '[', ']', ' ']);
    // Short formulae are known by their case: "as" is no arsenic.
    let same = |a: &str, b: &str| a == b || a.len() > 2 && a.eq_ignore_ascii_case(b);
    let exact = |t: &str| SPECIES.iter().copied().find(|s| same(t, s.formula));
    let word = match text.to_lowercase().as_str() {
        "calcium carbonate"
        | "kalziumcarbonat"
        | "calciumcarbonat"
        | "carbonate de calcium"
        | "carbonato de calcio"
        | "carbonato cálcico"
        | "calciumcarbonaat" => "CaCO3",
        "nitrogen" | "stickstoff" | "azote" | "nitrógeno" | "stikstof" => "N",
        "sulfur" | "sulphur" | "schwefel" => "S",
        "phosphorus" | "phosphor" | "phosphore" | "fósforo" => "P",
        "nitrate" | "nitrat" => "NO3",
        "bicarbonate" | "hydrogencarbonat" => "HCO3",
        "chlorine" => "Cl2",
        _ => text,
    };
    let bare = word.trim_end_matches(['+', '-', ' ']);
    exact(bare).or_else(|| exact(bare.strip_suffix(['2', '3'])?.trim_end()))
}

/// What a unit measures, with its size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Amount {
    /// \[mg/L\]
    Mass(f64),
    /// \[mmol/L\]
    Substance(f64),
    /// \[mEq/L\]
    Charge(f64),
    German,
    /// °fH; for a temperature, degrees Fahrenheit.
    DegreeF,
    French,
    Clark,
    GrainsUs,
    /// "degrees" without a nation.
    OpenDegrees,
    Ph,
    Celsius,
    /// \[µS/cm\]
    Conductance(f64),
    Turbidity,
    /// \[in 100 mL\]
    Germs(f64),
}

/// A unit as it was written.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Unit {
    pub amount: Amount,
    pub basis: Option<Species>,
    pub written: String,
}

/// A unit with its basis, if the whole of `written` is one.
pub(super) fn unit(written: &str) -> Option<Unit> {
    let text = tidy(written);
    let (amount, basis) = split(&text)?;
    Some(Unit {
        amount,
        basis,
        written: written.trim().to_owned(),
    })
}

/// Case is kept for the basis; amounts do not look at it.
fn split(text: &str) -> Option<(Amount, Option<Species>)> {
    if let Some(amount) = amount(text) {
        return Some((amount, None));
    }
    // "mg CaCO3/L"
    if let Some((front, volume)) = text.split_once('/')
        && !front.contains('(')
        && let Some((size, of)) = front.split_once(' ')
        && let (Some(amount), Some(basis)) = (amount(&format!("{size}/{volume}")), species(of))
    {
        return Some((amount, Some(basis)));
    }
    // "mg/L as CaCO3", "mg/L (CaCO3)", "mg/L CaCO3", "°dH"
    let at = text.find([' ', '('])?;
    let amount = amount(text[..at].trim())?;
    let mut rest = text[at..]
        .trim()
        .trim_start_matches('(')
        .trim_end_matches(')')
        .trim();
    let lower = rest.to_lowercase();
    let mut said = text[at..].contains('(');
    for word in ["as ", "als ", "en ", "como ", "in ", "of "] {
        if lower.starts_with(word) {
            rest = rest.get(word.len()..)?.trim();
            said = true;
            break;
        }
    }
    let basis = species(rest)?;
    // "Ca 96 mg/L Mg 12 mg/L": the metal begins the next figure.
    let metal = matches!(basis.formula, "Ca" | "Mg" | "Na" | "K" | "Fe" | "Mn");
    (said || !metal).then_some((amount, Some(basis)))
}

/// One spelling for what is written in several ways.
fn tidy(written: &str) -> String {
    let mut text: String = written
        .trim()
        .trim_matches(['(', '[', ']'])
        .chars()
        .map(plain)
        .map(|c| match c {
            'µ' => 'u',
            '·' | '⋅' | '*' | '\u{a0}' | '\u{202f}' => ' ',
            '∕' | '⁄' => '/',
            c => c,
        })
        .collect();
    if text.ends_with(')') && !text.contains('(') {
        text.pop();
    }
    for (from, to) in [
        (" / ", "/"),
        ("/ ", "/"),
        (" /", "/"),
        (" per ", "/"),
        (" pro ", "/"),
        (" par ", "/"),
        (" por ", "/"),
        (" L-1", "/L"),
        (" l-1", "/L"),
        (" dm-3", "/dm3"),
        (" m-3", "/m3"),
        (" cm-1", "/cm"),
        (" m-1", "/m"),
        ("/Liter", "/L"),
        ("/liter", "/L"),
        ("/litre", "/L"),
        ("/Litre", "/L"),
        ("/litro", "/L"),
        ("  ", " "),
    ] {
        text = text.replace(from, to);
    }
    text
}

fn amount(text: &str) -> Option<Amount> {
    let lower = text.to_lowercase();
    let key = lower.trim_end_matches('.');
    Some(match key {
        "mg/l" | "mg/dm3" | "g/m3" | "ppm" | "mg/ltr" | "mgl" => Amount::Mass(1.0),
        "ug/l" | "ug/dm3" | "mg/m3" | "ppb" | "mcg/l" => Amount::Mass(1e-3),
        "g/l" => Amount::Mass(1e3),
        "ng/l" => Amount::Mass(1e-6),
        "mmol/l" | "mmol/dm3" | "mol/m3" => Amount::Substance(1.0),
        "umol/l" => Amount::Substance(1e-3),
        "meq/l" | "mval/l" | "meq/dm3" | "val/m3" => Amount::Charge(1.0),
        "ueq/l" => Amount::Charge(1e-3),
        "°dh" | "dh" | "°d" | "°dgh" | "dgh" | "°dkh" | "dkh" | "grad dh" | "° dh" | "°d.h"
        | "deutsche härte" | "german degrees" | "degrees german" => Amount::German,
        "°f" | "° f" => Amount::DegreeF,
        "°fh" | "fh" | "° fh" | "°hf" | "hf" | "degrés français" | "french degrees"
        | "grados franceses" | "°tac" | "°th" => Amount::French,
        "°e" | "°clark" | "clark" | "degrees clark" | "clark degrees" | "° clark" | "°eh" => {
            Amount::Clark
        }
        "gpg" | "grains/us gallon" | "grains/us gal" => Amount::GrainsUs,
        "°" | "degrees" | "grad" | "degrés" | "grados" | "graden" | "°h" | "grains/gallon"
        | "grains/gal" => Amount::OpenDegrees,
        "ph units" | "ph unit" | "ph" | "ph einheiten" | "ph-einheiten" | "unités ph"
        | "unités de ph" | "unité ph" | "unidades ph" | "unidades de ph" | "unidad ph"
        | "ph eenheden" => Amount::Ph,
        "°c" | "° c" | "deg c" | "grad celsius" => Amount::Celsius,
        "us/cm" | "umho/cm" | "umhos/cm" | "usiemens/cm" => Amount::Conductance(1.0),
        "ms/m" => Amount::Conductance(10.0),
        "ms/cm" => Amount::Conductance(1e3),
        "ntu" | "fnu" | "ftu" | "te/f" | "fne" | "unf" | "nfu" | "ufn" | "unt" => Amount::Turbidity,
        "/100 ml" | "/100ml" | "cfu/100 ml" | "cfu/100ml" | "kbe/100 ml" | "kbe/100ml"
        | "ufc/100 ml" | "ufc/100ml" | "kve/100 ml" | "kve/100ml" | "mpn/100 ml" | "mpn/100ml"
        | "n/100 ml" | "n/100ml" | "number/100 ml" | "no/100 ml" | "no./100 ml"
        | "anzahl/100 ml" | "1/100 ml" | "1/100ml" | "in 100 ml" | "in 100ml" | "per 100 ml"
        | "nmp/100 ml" => Amount::Germs(1.0),
        "cfu/ml" | "kbe/ml" | "ufc/ml" => Amount::Germs(100.0),
        _ => return None,
    })
}

/// Milliequivalents in one degree, from the table of units of [`Hardness`].
struct Degrees {
    german: f64,
    french: f64,
    clark: f64,
    grains: f64,
}

static DEGREES: LazyLock<Degrees> = LazyLock::new(|| {
    let one = |text: &str| {
        text.parse::<Hardness>()
            .map_or(f64::NAN, Hardness::meq_per_l)
    };
    Degrees {
        german: one("1 °dH"),
        french: one("1 °fH"),
        clark: one("1 °e"),
        grains: one("1 gpg"),
    }
});

/// What is open about a figure, by the questions that settle it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Open {
    /// mg/L of hardness, alkalinity, …: of what?
    Basis(&'static [&'static str]),
    /// Degrees of which nation?
    Degrees,
    /// mmol/L of carbonate hardness: of alkaline earths, or of acid?
    CarbonateMoles,
    /// The unit does not go with the parameter.
    Wrong,
}

/// What one of the unit is in the canonical unit of the parameter.
pub(super) fn factor(
    parameter: Parameter,
    unit: &Unit,
    basis: Option<Species>,
) -> Result<f64, Open> {
    match (parameter.kind(), unit.amount) {
        (Kind::Dissolved { mass, charge }, amount) => {
            dissolved(parameter, mass, charge, amount, basis)
        }
        (Kind::Alkalinity, Amount::Substance(size)) => match parameter {
            Parameter::Carbonate => Ok(2.0 * size),
            _ => Ok(size),
        },
        (Kind::Hardness, Amount::Substance(size)) => match parameter {
            Parameter::TemporaryHardness => Err(Open::CarbonateMoles),
            _ => Ok(2.0 * size),
        },
        (Kind::Alkalinity | Kind::Hardness, Amount::Mass(size)) => {
            let of = basis.or_else(|| species(parameter.formula()));
            let of = of.ok_or(Open::Basis(bases(parameter)))?;
            bases(parameter)
                .contains(&of.formula)
                .then(|| size / of.mass * of.equivalents)
                .ok_or(Open::Wrong)
        }
        (Kind::Alkalinity | Kind::Hardness, amount) => charge(amount),
        (Kind::Chlorine, Amount::Mass(size)) => match basis.map(|b| b.formula) {
            // "as Cl" weighs the same chlorine as "as Cl2".
            None | Some("Cl2" | "Cl") => Ok(size),
            Some("NH2Cl") => Ok(size * m::CL2 / m::NH2CL),
            Some(_) => Err(Open::Wrong),
        },
        (Kind::Solids, Amount::Mass(size)) if basis.is_none() => Ok(size),
        (Kind::Ph, Amount::Ph)
        | (Kind::Temperature, Amount::Celsius)
        | (Kind::Turbidity, Amount::Turbidity) => Ok(1.0),
        (Kind::Conductivity, Amount::Conductance(size)) => Ok(size),
        (Kind::Microbes, Amount::Germs(size)) => Ok(size),
        _ => Err(Open::Wrong),
    }
}

fn dissolved(
    parameter: Parameter,
    mass: f64,
    z: f64,
    amount: Amount,
    basis: Option<Species>,
) -> Result<f64, Open> {
    match amount {
        Amount::Mass(size) => match basis {
            None => Ok(size),
            Some(b) if b.formula == parameter.formula() => Ok(size),
            Some(b) if b.formula == "CaCO3" && z > 0.0 => {
                Ok(size / b.mass * b.equivalents / z * mass)
            }
            Some(b) if bases(parameter).contains(&b.formula) => {
                Ok(size / b.mass * b.entities * mass)
            }
            Some(_) => Err(Open::Wrong),
        },
        Amount::Substance(size) => Ok(size * mass),
        _ if z > 0.0 && matches!(amount, Amount::Charge(_)) => Ok(charge(amount)? / z * mass),
        // Degrees of calcium or magnesium are hardness.
        _ if matches!(parameter, Parameter::Calcium | Parameter::Magnesium) => {
            Ok(charge(amount)? / z * mass)
        }
        _ => Err(Open::Wrong),
    }
}

/// \[mEq/L\] in one of the unit.
fn charge(amount: Amount) -> Result<f64, Open> {
    Ok(match amount {
        Amount::Charge(size) => size,
        Amount::German => DEGREES.german,
        Amount::French | Amount::DegreeF => DEGREES.french,
        Amount::Clark => DEGREES.clark,
        Amount::GrainsUs => DEGREES.grains,
        Amount::OpenDegrees => return Err(Open::Degrees),
        _ => return Err(Open::Wrong),
    })
}

/// The bases on which a parameter is reported, besides its own formula.
pub(super) fn bases(parameter: Parameter) -> &'static [&'static str] {
    use Parameter as P;
    match parameter {
        P::Alkalinity | P::PAlkalinity | P::Bicarbonate | P::Carbonate => &["CaCO3", "HCO3", "CO3"],
        P::TotalHardness | P::TemporaryHardness | P::PermanentHardness | P::CalciumHardness => {
            &["CaCO3", "CaO", "Ca"]
        }
        P::MagnesiumHardness => &["CaCO3", "Mg"],
        P::Calcium => &["CaCO3", "CaO"],
        P::Nitrate => &["N", "NO3-N"],
        P::Nitrite => &["N", "NO2-N"],
        P::Ammonium => &["N", "NH3", "NH4-N", "NH3-N"],
        P::Sulfate => &["S", "SO4-S"],
        P::Phosphate => &["P", "PO4-P", "P2O5"],
        P::Silica => &["Si"],
        _ => &[],
    }
}
