//! From the figures of an analysis to a source of water.

use quantity::{
    Alkalinity, Ammonium, Arsenic, Calcium, Caution, Chloride, Chlorine, Copper, Fluoride,
    Hardness, Iron, Lead, Magnesium, Manganese, Measured, Nitrate, Nitrite, Note, Ph, Potassium,
    Quantity, Sodium, Sulfate, Zinc, rounded,
};

use super::constants::constants;
use super::parameter::{Microbes, Parameter, Value};
use super::{Analysis, Reading, conductance, text};
use crate::analysis::{Item, Kind as LimitKind, limits};
use crate::state::{Germs, Ions, SourceWater};

/// The figures of a source with their spread; `None` where neither given nor
/// derived.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[expect(missing_docs, reason = "the names say it")]
pub struct MeasuredIons {
    pub calcium: Option<Measured<Calcium>>,
    pub magnesium: Option<Measured<Magnesium>>,
    pub sodium: Option<Measured<Sodium>>,
    pub potassium: Option<Measured<Potassium>>,
    pub ammonium: Option<Measured<Ammonium>>,
    pub chloride: Option<Measured<Chloride>>,
    pub sulfate: Option<Measured<Sulfate>>,
    pub nitrate: Option<Measured<Nitrate>>,
    pub alkalinity: Option<Measured<Alkalinity>>,
    pub ph: Option<Measured<Ph>>,
    pub total_chlorine: Option<Measured<Chlorine>>,
    pub free_chlorine: Option<Measured<Chlorine>>,
    pub nitrite: Option<Measured<Nitrite>>,
    pub iron: Option<Measured<Iron>>,
    pub manganese: Option<Measured<Manganese>>,
    pub copper: Option<Measured<Copper>>,
    pub lead: Option<Measured<Lead>>,
    pub arsenic: Option<Measured<Arsenic>>,
    pub fluoride: Option<Measured<Fluoride>>,
    pub zinc: Option<Measured<Zinc>>,
    pub e_coli: Option<Germs>,
}

/// A source of water made from a report.
#[derive(Debug, Clone, PartialEq)]
pub struct ReportedWater {
    /// The source; what the report does not give is nought here and listed in
    /// [`missing`](Self::missing).
    pub water: SourceWater,
    /// Its figures with their spread.
    pub measured: MeasuredIons,
    /// What brewing needs and the report neither gives nor implies.
    pub missing: Vec<Parameter>,
    /// What was derived, what contradicts itself, what harms.
    pub notes: Vec<Note>,
    /// What can hurt someone.
    pub cautions: Vec<Caution>,
    /// On which basis each figure was read, for those read by mass.
    pub(super) by_mass: Vec<(Parameter, Option<&'static str>)>,
}

macro_rules! given {
    ($analysis:expr, $parameter:ident, $kind:ident) => {
        $analysis
            .reading(Parameter::$parameter)
            .and_then(|r| match r.value {
                Value::$kind(v) => Some(v),
                _ => None,
            })
    };
}

impl Analysis {
    /// A source of water from these figures, under the name given or else the
    /// one of the report.
    ///
    /// Derived, and said so: calcium or magnesium from hardness and the other;
    /// alkalinity from bicarbonate, carbonate and pH, or from carbonate hardness;
    /// total chlorine from free and combined.
    #[must_use]
    pub fn to_source_water(&self, name: Option<&str>) -> ReportedWater {
        let mut notes = repeated(self);
        let mut measured = MeasuredIons {
            calcium: given!(self, Calcium, Calcium),
            magnesium: given!(self, Magnesium, Magnesium),
            sodium: given!(self, Sodium, Sodium),
            potassium: given!(self, Potassium, Potassium),
            ammonium: given!(self, Ammonium, Ammonium),
            chloride: given!(self, Chloride, Chloride),
            sulfate: given!(self, Sulfate, Sulfate),
            nitrate: given!(self, Nitrate, Nitrate),
            alkalinity: given!(self, Alkalinity, Alkalinity),
            ph: given!(self, Ph, Ph),
            total_chlorine: given!(self, TotalChlorine, Chlorine),
            free_chlorine: given!(self, FreeChlorine, Chlorine),
            nitrite: given!(self, Nitrite, Nitrite),
            iron: given!(self, Iron, Iron),
            manganese: given!(self, Manganese, Manganese),
            copper: trace(self, Parameter::Copper),
            lead: trace(self, Parameter::Lead),
            arsenic: trace(self, Parameter::Arsenic),
            fluoride: trace(self, Parameter::Fluoride),
            zinc: trace(self, Parameter::Zinc),
            e_coli: germs(self),
        };
        hardness_ions(self, &mut measured, &mut notes);
        alkalinity(self, &mut measured, &mut notes);
        chlorine(self, &mut measured, &mut notes);
        let name = name
            .map(str::to_owned)
            .or_else(|| self.name.clone())
            .unwrap_or_else(|| "reported water".to_owned());
        let water = source(name, &measured);
        let missing = missing(&measured);
        if missing.is_empty() {
            notes.extend(conductance::remarks(self, &water));
        }
        let harm = harm(self);
        let cautions = (!harm.is_empty() || crate::analysis::unfit(&water))
            .then_some(Caution::UnfitWater)
            .into_iter()
            .collect();
        notes.extend(harm);
        let by_mass = self
            .readings
            .iter()
            .filter(|r| r.unit.contains("g/") || r.unit.to_lowercase().starts_with("pp"))
            .map(|r| (r.parameter, r.basis))
            .collect();
        ReportedWater {
            water,
            measured,
            missing,
            notes,
            cautions,
            by_mass,
        }
    }
}

impl ReportedWater {
    /// The keys and texts of a source in a batch document, as `quantity` reads
    /// them. Keys whose figures are missing are left out.
    #[must_use]
    pub fn to_document_source(&self) -> Vec<(&'static str, String)> {
        let m = &self.measured;
        let mut rows = vec![("name", self.water.name.clone())];
        let mut add = |key, text: Option<String>| rows.extend(text.map(|t| (key, t)));
        add("calcium", shown(m.calcium));
        add("magnesium", shown(m.magnesium));
        add("sodium", shown(m.sodium));
        add("potassium", shown(m.potassium));
        add("chloride", shown(m.chloride));
        add("sulfate", shown(m.sulfate));
        add("nitrate", shown(m.nitrate));
        add("alkalinity", shown(m.alkalinity));
        add("ph", shown(m.ph));
        add("total_chlorine", shown(m.total_chlorine));
        add("free_chlorine", shown(m.free_chlorine));
        add("nitrite", shown(m.nitrite));
        add("iron", shown(m.iron));
        add("manganese", shown(m.manganese));
        add("copper", shown(m.copper));
        add("lead", shown(m.lead));
        add("arsenic", shown(m.arsenic));
        add("fluoride", shown(m.fluoride));
        add("zinc", shown(m.zinc));
        let found = m.e_coli.map(|germs| match germs {
            Germs::Absent => "absent",
            Germs::Found => "found",
        });
        add("e_coli", found.map(str::to_owned));
        rows
    }
}

fn shown<Q: Quantity>(figure: Option<Measured<Q>>) -> Option<String> {
    figure.map(|f| text::measured(&f))
}

fn source(name: String, m: &MeasuredIons) -> SourceWater {
    SourceWater {
        ions: Ions {
            calcium: value(m.calcium),
            magnesium: value(m.magnesium),
            sodium: value(m.sodium),
            potassium: value(m.potassium),
            ammonium: value(m.ammonium),
            chloride: value(m.chloride),
            sulfate: value(m.sulfate),
            nitrate: value(m.nitrate),
        },
        alkalinity: value(m.alkalinity),
        ph: m.ph.map(|f| f.value),
        total_chlorine: m
            .total_chlorine
            .unwrap_or(Measured::exactly(Chlorine::default())),
        free_chlorine: m.free_chlorine,
        nitrite: m.nitrite.map(|f| f.value),
        iron: m.iron.map(|f| f.value),
        manganese: m.manganese.map(|f| f.value),
        copper: m.copper.map(|f| f.value),
        lead: m.lead.map(|f| f.value),
        arsenic: m.arsenic.map(|f| f.value),
        fluoride: m.fluoride.map(|f| f.value),
        zinc: m.zinc.map(|f| f.value),
        e_coli: m.e_coli,
        ..SourceWater::named(name)
    }
}

/// A figure that a report gives as a mass in a litre, with the quantity of its own.
fn trace<Q: Quantity>(analysis: &Analysis, parameter: Parameter) -> Option<Measured<Q>> {
    let reading = analysis.reading(parameter)?;
    let value = Q::from_canonical(reading.value.canonical()?);
    Some(Measured {
        value,
        spread: reading.value.spread(),
    })
}

/// Whether E. coli was found; coliforms of other kinds are told as a note alone.
fn germs(analysis: &Analysis) -> Option<Germs> {
    match analysis.reading(Parameter::EColi)?.value {
        Value::Microbes(Microbes::Absent) => Some(Germs::Absent),
        Value::Microbes(Microbes::Found { .. }) => Some(Germs::Found),
        _ => None,
    }
}

fn value<Q: Quantity + Default>(figure: Option<Measured<Q>>) -> Q {
    figure.map_or(Q::default(), |f| f.value)
}

fn missing(m: &MeasuredIons) -> Vec<Parameter> {
    [
        (Parameter::Calcium, m.calcium.is_none()),
        (Parameter::Magnesium, m.magnesium.is_none()),
        (Parameter::Sodium, m.sodium.is_none()),
        (Parameter::Chloride, m.chloride.is_none()),
        (Parameter::Sulfate, m.sulfate.is_none()),
        (Parameter::Alkalinity, m.alkalinity.is_none()),
    ]
    .into_iter()
    .filter_map(|(p, gone)| gone.then_some(p))
    .collect()
}

/// The same parameter twice: the first counts, and a difference is told.
fn repeated(analysis: &Analysis) -> Vec<Note> {
    let mut notes = vec![];
    for (i, reading) in analysis.readings.iter().enumerate() {
        let first = analysis.readings[..i]
            .iter()
            .find(|r| r.parameter == reading.parameter);
        let Some(first) = first else { continue };
        if differ(first, reading) {
            notes.push(Note::act(format!(
                "{} is given twice, as {} and as {}: the first is used. Take out the wrong one.",
                capital(reading.parameter.name()),
                first.value.text(),
                reading.value.text()
            )));
        }
    }
    notes
}

fn differ(a: &Reading, b: &Reading) -> bool {
    match (a.value.canonical(), b.value.canonical()) {
        (Some(x), Some(y)) => {
            (x - y).abs()
                > 2.0 * a.value.sd().hypot(b.value.sd()) + a.rounding + b.rounding + 0.01 * x.abs()
        }
        _ => a.value != b.value,
    }
}

/// Half the width within which two figures of the same thing may differ
/// \[mEq/L\]: their spreads, and what rounding and a laboratory leave open.
fn allowed(a: f64, b: f64, sd: f64) -> f64 {
    2.0 * sd.hypot(constants().uncertainty.relative * a.hypot(b)) + 0.05
}

fn hardness_ions(analysis: &Analysis, m: &mut MeasuredIons, notes: &mut Vec<Note>) {
    let total = given!(analysis, TotalHardness, Hardness);
    let of_calcium = given!(analysis, CalciumHardness, Hardness);
    let of_magnesium = given!(analysis, MagnesiumHardness, Hardness);
    if m.calcium.is_none()
        && let Some(h) = of_calcium
    {
        m.calcium = Some(scaled(h, Calcium::MOLAR_MASS / Calcium::CHARGE));
        notes.push(Note::fine("Calcium is derived from the calcium hardness."));
    }
    if m.magnesium.is_none()
        && let Some(h) = of_magnesium
    {
        m.magnesium = Some(scaled(h, Magnesium::MOLAR_MASS / Magnesium::CHARGE));
        notes.push(Note::fine(
            "Magnesium is derived from the magnesium hardness.",
        ));
    }
    let Some(total) = total else { return };
    let ca = m.calcium.map(|c| meq(c, c.value.meq_per_l()));
    let mg = m.magnesium.map(|c| meq(c, c.value.meq_per_l()));
    match (ca, mg) {
        (Some(ca), None) => {
            if let Some(left) = less(total, ca, "magnesium", notes) {
                m.magnesium = Some(scaled(left, Magnesium::MOLAR_MASS / Magnesium::CHARGE));
                notes.push(Note::fine("Magnesium is derived: total hardness less calcium."));
            }
        }
        (None, Some(mg)) => {
            if let Some(left) = less(total, mg, "calcium", notes) {
                m.calcium = Some(scaled(left, Calcium::MOLAR_MASS / Calcium::CHARGE));
                notes.push(Note::fine("Calcium is derived: total hardness less magnesium."));
            }
        }
        (Some(ca), Some(mg)) => {
            let sum = ca.0 + mg.0;
            let given = total.value.meq_per_l();
            if (sum - given).abs() > allowed(sum, given, ca.1.hypot(mg.1).hypot(total.sd())) {
                notes.push(Note::look(format!(
                    "Calcium and magnesium make {} mEq/L, and the total hardness is given as {} mEq/L: one of the three is wrong, or on another basis.",
                    rounded(sum),
                    rounded(given)
                )));
            }
        }
        (None, None) => notes.push(Note::look(
            "Only the total hardness is given: it does not say how much is calcium and how much magnesium. Ask for one of them.",
        )),
    }
}

/// The charge and its standard deviation \[mEq/L\].
fn meq<Q: Quantity>(figure: Measured<Q>, meq: f64) -> (f64, f64) {
    let x = figure.canonical();
    (meq, if x > 0.0 { figure.sd() / x * meq } else { 0.0 })
}

fn less(
    total: Measured<Hardness>,
    part: (f64, f64),
    what: &str,
    notes: &mut Vec<Note>,
) -> Option<Measured<Hardness>> {
    let left = total.value.meq_per_l() - part.0;
    if left < 0.0 {
        notes.push(Note::act(format!(
            "The total hardness is less than its other part, so {what} cannot be derived: one of the two is wrong, or on another basis."
        )));
        return None;
    }
    let sd = total.sd().hypot(part.1);
    let left = Hardness::from_meq_per_l(left);
    Some(if sd > 0.0 {
        Measured::with_sd(left, sd)
    } else {
        Measured::exactly(left)
    })
}

/// Hardness as mg/L of an ion.
fn scaled<Q: Quantity>(from: Measured<Hardness>, mg_per_meq: f64) -> Measured<Q> {
    let value = Q::from_canonical(from.canonical() * mg_per_meq);
    let sd = from.sd() * mg_per_meq;
    if sd > 0.0 {
        Measured::with_sd(value, sd)
    } else {
        Measured::exactly(value)
    }
}

fn alkalinity(analysis: &Analysis, m: &mut MeasuredIons, notes: &mut Vec<Note>) {
    let derived = from_bicarbonate(analysis, m.ph);
    match (m.alkalinity, derived) {
        (None, Some(derived)) => {
            m.alkalinity = Some(derived);
            notes.push(Note::fine("Alkalinity is derived from bicarbonate, with carbonate as given or as the pH implies."));
        }
        (Some(given), Some(derived)) => {
            let (a, b) = (given.canonical(), derived.canonical());
            if (a - b).abs() > allowed(a, b, given.sd().hypot(derived.sd())) {
                notes.push(Note::look(format!(
                    "Alkalinity is given as {} and follows from bicarbonate as {}: one of them is on another basis, or wrong. The alkalinity is used.",
                    text::measured(&given),
                    text::measured(&derived)
                )));
            }
        }
        (None, None) => {
            if let Some(temporary) = given!(analysis, TemporaryHardness, Hardness) {
                m.alkalinity = Some(scaled(temporary, 1.0));
                notes.push(Note::look(
                    "Alkalinity is derived from the carbonate hardness. Where all hardness is carbonate hardness the alkalinity can be higher.",
                ));
            }
        }
        (Some(_), None) => {}
    }
}

/// Alkalinity = [HCO₃⁻] + 2 [CO₃²⁻] \[mEq/L\]; without a figure for carbonate,
/// [CO₃²⁻] = [HCO₃⁻]·10^(pH − pK₂), which matters above about pH 9.
fn from_bicarbonate(analysis: &Analysis, ph: Option<Measured<Ph>>) -> Option<Measured<Alkalinity>> {
    let bicarbonate = given!(analysis, Bicarbonate, Alkalinity)?;
    let carbonate = given!(analysis, Carbonate, Alkalinity).map_or_else(
        || {
            let ph = ph.map_or(7.0, |p| p.value.ph());
            2.0 * bicarbonate.canonical() * 10f64.powf(ph - constants().carbonate.pk2)
        },
        |c| c.canonical(),
    );
    let sum = Alkalinity::from_meq_per_l(bicarbonate.canonical() + carbonate);
    if !sum.within_bounds() {
        return None;
    }
    Some(match bicarbonate.sd() {
        sd if sd > 0.0 => Measured::with_sd(sum, sd),
        _ => Measured::exactly(sum),
    })
}

fn chlorine(analysis: &Analysis, m: &mut MeasuredIons, notes: &mut Vec<Note>) {
    let combined = given!(analysis, CombinedChlorine, Chlorine);
    if let (Some(total), Some(free)) = (m.total_chlorine, m.free_chlorine)
        && free.canonical() > total.canonical() + 1e-9
    {
        notes.push(Note::act("Free chlorine is above total chlorine, which cannot be: one of them is wrong. Free chlorine is left out."));
        m.free_chlorine = None;
    }
    if m.total_chlorine.is_some() {
        return;
    }
    match (m.free_chlorine, combined) {
        (Some(free), Some(combined)) => {
            let sum = Chlorine::from_mg_per_l(free.canonical() + combined.canonical());
            let sd = free.sd().hypot(combined.sd());
            m.total_chlorine = Some(if sd > 0.0 { Measured::with_sd(sum, sd) } else { Measured::exactly(sum) });
            notes.push(Note::fine("Total chlorine is derived: free and combined together."));
        }
        (None, Some(combined)) => {
            m.total_chlorine = Some(combined);
            notes.push(Note::look("Only combined chlorine is given: it is counted as the total, and free chlorine would come on top. Test total chlorine."));
        }
        (Some(free), None) => {
            m.total_chlorine = Some(free);
            notes.push(Note::look("Only free chlorine is given: it is counted as the total, and chloramine would come on top. Test total chlorine."));
        }
        (None, None) => notes.push(Note::look(
            "No chlorine is given: none is counted. Mains water has some; test total chlorine before you rely on it.",
        )),
    }
}

/// Germs, and what has a health limit but no place in a source of water.
fn harm(analysis: &Analysis) -> Vec<Note> {
    let mut notes = vec![];
    for reading in &analysis.readings {
        if let Value::Microbes(Microbes::Found { .. }) = reading.value {
            notes.push(Note::act(format!(
                "{} found: the water is not fit to drink, and not to brew with until whoever supplies it or your health authority says so.",
                capital(reading.parameter.name())
            )));
        }
        let item = match reading.parameter {
            Parameter::Lead => Item::Lead,
            Parameter::Arsenic => Item::Arsenic,
            Parameter::Fluoride => Item::Fluoride,
            Parameter::Copper => Item::Copper,
            _ => continue,
        };
        let highest = reading
            .between
            .map_or(reading.value.canonical(), |(_, high)| Some(high))
            .unwrap_or(0.0);
        let over = limits()
            .iter()
            .find(|l| l.item == item && l.kind == LimitKind::Health && highest > l.mg_per_l);
        // "<10 µg/L" shows nothing above the limit.
        if let Some(limit) = over {
            notes.push(Note::act(format!(
                "{} is {} mg/L, above the limit of {} mg/L ({}): do not drink it or brew with it.",
                capital(reading.parameter.name()),
                rounded(highest),
                rounded(limit.mg_per_l),
                limit.who
            )));
        }
    }
    notes
}

fn capital(name: &str) -> String {
    let mut chars = name.chars();
    chars
        .next()
        .map_or(String::new(), |c| c.to_uppercase().chain(chars).collect())
}
