//! Closing the charge balance: how far cations and anions are apart, within what
//! uncertainty, and which figure would close it.

use quantity::{ChargeConcentration, Measured, Quantity, Spread};

use super::constants::constants;
use super::parameter::{Figures, Kind, Parameter, Value};
use super::water::ReportedWater;

/// Cations against anions, with what would close the difference.
#[derive(Debug, Clone, PartialEq)]
pub struct Closure {
    /// Charge of the cations.
    pub cations: ChargeConcentration,
    /// Charge of the anions, alkalinity among them.
    pub anions: ChargeConcentration,
    /// Cations less anions.
    pub difference: ChargeConcentration,
    /// Standard deviation of the difference \[mEq/L\], from the spreads stated
    /// and, where none is, from a relative one that is judgement.
    pub sd: ChargeConcentration,
    /// True where the difference is within two standard deviations, or within
    /// 0.2 mEq/L in a soft water.
    pub closes: bool,
    /// Figures that would close it, the likeliest first.
    pub suspects: Vec<Suspect>,
}

/// A figure that would close the balance.
#[derive(Debug, Clone, PartialEq)]
pub struct Suspect {
    /// Of what.
    pub parameter: Parameter,
    /// What would be right instead, with the interval that closes the balance.
    pub instead: Value,
    /// The formula that the figure may have counted, where that is the cause.
    pub basis: Option<&'static str>,
    /// True where the report gives no figure for it.
    pub missing: bool,
    /// The difference that would be left \[mEq/L\].
    pub leaves: ChargeConcentration,
    /// In a sentence.
    pub text: String,
}

/// One kind of ion in the balance.
struct Part {
    parameter: Parameter,
    /// +1 for cations, −1 for anions.
    sign: f64,
    given: bool,
    meq: f64,
    sd: f64,
    /// Canonical units in one mEq/L.
    per_meq: f64,
}

/// Sets cations against anions and looks for what would close the difference.
///
/// An ion that is missing is tried with the charge that is short; a figure by
/// mass with the other bases that reports use for it (N for NO₃, S for SO₄,
/// CaCO₃ for HCO₃ and for Ca). What closes within two standard deviations is
/// named. It shows what fits, not what is so.
#[must_use]
pub fn closure(water: &ReportedWater) -> Closure {
    let parts = parts(water);
    let side = |sign: f64| -> f64 {
        parts
            .iter()
            .filter(|p| p.sign * sign > 0.0)
            .map(|p| p.meq)
            .sum()
    };
    let (cations, anions) = (side(1.0), side(-1.0));
    let difference = cations - anions;
    let sd = parts.iter().map(|p| p.sd * p.sd).sum::<f64>().sqrt();
    let closes = within(difference, sd, anions);
    let mut suspects: Vec<Suspect> = parts
        .iter()
        .filter_map(|p| missing(p, difference, sd))
        .collect();
    if !closes {
        suspects.extend(
            parts
                .iter()
                .flat_map(|p| other_bases(p, water, difference, sd, anions)),
        );
        if suspects.is_empty() {
            suspects.extend(parts.iter().filter_map(|p| wrong(p, difference, sd)));
        }
    }
    let c = ChargeConcentration::from_meq_per_l;
    Closure {
        cations: c(cations),
        anions: c(anions),
        difference: c(difference),
        sd: c(sd),
        closes,
        suspects,
    }
}

fn within(difference: f64, sd: f64, anions: f64) -> bool {
    let balance = &constants().balance;
    let soft = anions <= 3.0 && difference.abs() <= balance.rounding_meq_per_l;
    soft || difference.abs() <= 2.0 * sd
}

impl Closure {
    /// What to tell the brewer, in one sentence.
    #[must_use]
    pub fn sentence(&self) -> String {
        let d = self.difference.meq_per_l();
        let sd = self.sd.meq_per_l();
        let sum = self.cations.meq_per_l() + self.anions.meq_per_l();
        let ratio = if sum > 0.0 { d.abs() / sum } else { 0.0 };
        let side = if d > 0.0 { "anions" } else { "cations" };
        if self.closes {
            format!(
                "The ions add up: {} ± {} mEq/L apart.",
                hundredths(d.abs()),
                hundredths(2.0 * sd)
            )
        } else {
            let far = if ratio > 2.0 * constants().balance.ratio {
                "far from adding up"
            } else {
                "not adding up"
            };
            format!(
                "The ions are {far}: {side} are {} ± {} mEq/L short.",
                hundredths(d.abs()),
                hundredths(2.0 * sd)
            )
        }
    }
}

fn parts(water: &ReportedWater) -> Vec<Part> {
    let m = &water.measured;
    vec![
        part(Parameter::Calcium, 1.0, m.calcium),
        part(Parameter::Magnesium, 1.0, m.magnesium),
        part(Parameter::Sodium, 1.0, m.sodium),
        part(Parameter::Potassium, 1.0, m.potassium),
        part(Parameter::Ammonium, 1.0, m.ammonium),
        part(Parameter::Alkalinity, -1.0, m.alkalinity),
        part(Parameter::Chloride, -1.0, m.chloride),
        part(Parameter::Sulfate, -1.0, m.sulfate),
        part(Parameter::Nitrate, -1.0, m.nitrate),
        part(Parameter::Nitrite, -1.0, m.nitrite),
    ]
}

fn part<Q: Quantity>(parameter: Parameter, sign: f64, figure: Option<Measured<Q>>) -> Part {
    let per_meq = match parameter.kind() {
        Kind::Dissolved { mass, charge } if charge > 0.0 => mass / charge,
        _ => 1.0,
    };
    let meq = figure.map_or(0.0, |f| f.canonical() / per_meq);
    let sd = figure.map_or(0.0, |f| match f.spread {
        Spread::Unstated => constants().uncertainty.relative * meq.abs(),
        _ => f.sd() / per_meq,
    });
    Part {
        parameter,
        sign,
        given: figure.is_some(),
        meq,
        sd,
        per_meq,
    }
}

impl Part {
    /// A value with an interval of two standard deviations, in its own unit.
    fn value(&self, meq: f64, sd: f64) -> Option<Value> {
        let low = (meq - 2.0 * sd).max(0.0);
        let high = (meq + 2.0 * sd).max(low);
        Value::new(
            self.parameter,
            Figures {
                value: f64::midpoint(low, high) * self.per_meq,
                spread: Spread::Range {
                    low: low * self.per_meq,
                    high: high * self.per_meq,
                },
            },
        )
    }
}

/// An ion that brewers' waters always hold, that is not given, and whose side is
/// short.
fn missing(part: &Part, difference: f64, sd: f64) -> Option<Suspect> {
    let usual = !matches!(
        part.parameter,
        Parameter::Ammonium | Parameter::Nitrite | Parameter::Potassium
    );
    let short = -difference * part.sign;
    if part.given || !usual || short + 2.0 * sd <= 0.0 || short <= 0.0 {
        return None;
    }
    let instead = part.value(short, sd)?;
    Some(Suspect {
        parameter: part.parameter,
        instead,
        basis: None,
        missing: true,
        leaves: ChargeConcentration::from_meq_per_l(0.0),
        text: format!(
            "{} is not given; {} would close the balance.",
            part.parameter.name(),
            instead.text()
        ),
    })
}

/// The same figure, counted on another basis that reports use.
fn other_bases(
    part: &Part,
    water: &ReportedWater,
    difference: f64,
    sd: f64,
    anions: f64,
) -> Vec<Suspect> {
    use quantity::molar_mass as m;
    let Some((_, read)) = water.by_mass.iter().find(|(p, _)| *p == part.parameter) else {
        return vec![];
    };
    let half = m::CACO3 / 2.0;
    // What it was read as, what it may be, and how many times the charge is then.
    let options: &[(Option<&str>, &'static str, f64)] = match part.parameter {
        Parameter::Nitrate => &[
            (None, "N", m::NO3 / m::N),
            (Some("N"), "NO3", m::N / m::NO3),
        ],
        Parameter::Ammonium => &[
            (None, "N", m::NH4 / m::N),
            (Some("N"), "NH4", m::N / m::NH4),
        ],
        Parameter::Sulfate => &[
            (None, "S", m::SO4 / m::S),
            (Some("S"), "SO4", m::S / m::SO4),
        ],
        Parameter::Alkalinity => &[
            (Some("CaCO3"), "HCO3", half / m::HCO3),
            (Some("HCO3"), "CaCO3", m::HCO3 / half),
        ],
        Parameter::Calcium => &[
            (None, "CaCO3", m::CA / m::CACO3),
            (Some("CaCO3"), "Ca", m::CACO3 / m::CA),
        ],
        Parameter::Magnesium => &[
            (None, "CaCO3", m::MG / m::CACO3),
            (Some("CaCO3"), "Mg", m::CACO3 / m::MG),
        ],
        _ => &[],
    };
    let plain =
        |basis: Option<&str>| basis.map(|b| if b.ends_with("-N") { "N" } else { b }.to_owned());
    options
        .iter()
        .filter(|(from, _, _)| plain(*from) == plain(*read))
        .filter_map(|(_, to, times)| {
            let meq = part.meq * times;
            let leaves = difference + part.sign * (meq - part.meq);
            let sd = (sd * sd - part.sd * part.sd)
                .max(0.0)
                .sqrt()
                .hypot(part.sd * times);
            let anions = if part.sign < 0.0 {
                anions + meq - part.meq
            } else {
                anions
            };
            if !within(leaves, sd, anions) {
                return None;
            }
            let instead = part.value(meq, part.sd * times)?;
            Some(Suspect {
                parameter: part.parameter,
                instead,
                basis: Some(to),
                missing: false,
                leaves: ChargeConcentration::from_meq_per_l(leaves),
                text: format!(
                    "If the figure for {} counts {to}, it is {}, and the balance closes.",
                    part.parameter.name(),
                    instead.text()
                ),
            })
        })
        .collect()
}

/// A figure that would have to be another for the balance to close.
fn wrong(part: &Part, difference: f64, sd: f64) -> Option<Suspect> {
    let meq = part.meq - part.sign * difference;
    if !part.given || meq < 0.0 || difference.abs() > 5.0 * part.meq {
        return None;
    }
    let instead = part.value(meq, sd)?;
    Some(Suspect {
        parameter: part.parameter,
        instead,
        basis: None,
        missing: false,
        leaves: ChargeConcentration::from_meq_per_l(0.0),
        text: format!(
            "If {} alone is wrong, {} would close the balance.",
            part.parameter.name(),
            instead.text()
        ),
    })
}

/// Nobody measures the charge of a water closer than this.
fn hundredths(meq_per_l: f64) -> String {
    format!("{meq_per_l:.2}")
}
