//! The species that are reckoned with. The table is `data/equilibria.toml`.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use quantity::Source;
use quantity::data::{builtin, mark};

use crate::lookup::known;

const FILE: &str = "equilibria.toml";

/// How many components the totals of a water are counted in.
pub(super) const COMPONENTS: usize = 14;
/// The most components in one species.
pub(super) const MAX_PARTS: usize = 3;
/// Room for the species of the table.
pub(super) const MAX_SPECIES: usize = 52;

/// The components, in the order of the table.
pub(super) mod component {
    pub(in crate::speciation) const H: usize = 0;
    pub(in crate::speciation) const CA: usize = 1;
    pub(in crate::speciation) const MG: usize = 2;
    pub(in crate::speciation) const NA: usize = 3;
    pub(in crate::speciation) const K: usize = 4;
    pub(in crate::speciation) const NH4: usize = 5;
    pub(in crate::speciation) const CL: usize = 6;
    pub(in crate::speciation) const SO4: usize = 7;
    pub(in crate::speciation) const NO3: usize = 8;
    pub(in crate::speciation) const CO3: usize = 9;
    pub(in crate::speciation) const PO4: usize = 10;
    pub(in crate::speciation) const LACTATE: usize = 11;
    pub(in crate::speciation) const CITRATE: usize = 12;
    pub(in crate::speciation) const ASCORBATE: usize = 13;
    /// The keys of the data rows.
    pub(super) const KEYS: [&str; super::COMPONENTS] = [
        "H", "Ca", "Mg", "Na", "K", "NH4", "Cl", "SO4", "NO3", "CO3", "PO4", "Lac", "Cit", "Asc",
    ];
}

/// How many of each component something is made of, and how much water.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Makeup {
    pub of: [f64; COMPONENTS],
    pub water: f64,
}

impl Makeup {
    /// So many times this, on top of the other.
    pub fn plus(mut self, other: &Self, times: f64) -> Self {
        for (mine, theirs) in self.of.iter_mut().zip(other.of) {
            *mine += times * theirs;
        }
        self.water += times * other.water;
        self
    }
}

/// The activity coefficient of a species.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Gamma {
    /// No charge: log γ = 0.1 I.
    Neutral,
    /// Davies.
    Davies,
    /// Extended Debye-Hückel with an ion size \[Å\] and a slope \[kg/mol\].
    Sized { size_angstrom: f64, slope: f64 },
}

/// What is dissolved in the water.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Species {
    pub name: String,
    pub makeup: Makeup,
    /// Components it holds, with their numbers, as in `makeup`, and how many these
    /// are.
    parts: ([(usize, f64); MAX_PARTS], usize),
    pub charge: f64,
    pub alkalinity: f64,
    pub gamma: Gamma,
    pub log_k: LogK,
    #[cfg_attr(not(test), allow(dead_code, reason = "kept with its row; tests read it"))]
    pub source: Source,
}

impl Species {
    /// The components it holds, with their numbers.
    pub fn parts(&self) -> &[(usize, f64)] {
        let (parts, count) = &self.parts;
        &parts[..*count]
    }
}

/// A solid or gas, written as what it gives to the water.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Phase {
    pub name: String,
    pub makeup: Makeup,
    pub log_k: LogK,
    #[cfg_attr(not(test), allow(dead_code, reason = "kept with its row; tests read it"))]
    pub source: Source,
}

/// log10 of an equilibrium constant over temperature.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct LogK {
    pub form: Form,
    /// A species, by its place, whose log K is added so many times.
    pub through: Option<(usize, f64)>,
}

/// Either form that the table writes a constant in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Form {
    /// log10 K = A1 + A2 T + A3/T + A4 log10 T + A5/T² + A6 T².
    Analytic([f64; 6]),
    /// log10 K at 25 °C and the enthalpy of reaction \[kJ/mol\].
    VantHoff { at_25_c: f64, enthalpy_kj: f64 },
}

/// The whole table.
#[derive(Debug)]
pub(super) struct Table {
    pub charge: [f64; COMPONENTS],
    pub alkalinity: [f64; COMPONENTS],
    /// The components come first, each as a species of its own.
    pub species: Vec<Species>,
    pub phases: Vec<Phase>,
}

/// The table, read once.
pub(super) fn table() -> &'static Table {
    static TABLE: LazyLock<Table> = LazyLock::new(read);
    &TABLE
}

/// The place of a phase in the table.
pub(super) fn phase_place(name: &str) -> usize {
    let place = table().phases.iter().position(|phase| phase.name == name);
    known(FILE, name, "phase", place)
}

/// The place of a species in the table.
pub(super) fn species_place(name: &str) -> usize {
    let place = table().species.iter().position(|s| s.name == name);
    known(FILE, name, "species", place)
}

/// Σ aⱼ wⱼ.
pub(super) fn weighted(amounts: &[f64; COMPONENTS], weights: &[f64; COMPONENTS]) -> f64 {
    amounts.iter().zip(weights).map(|(a, w)| a * w).sum()
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    component: Vec<ComponentRow>,
    species: Vec<Row>,
    phase: Vec<Row>,
    /// Read elsewhere.
    #[serde(rename = "practice")]
    _practice: toml::Table,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct ComponentRow {
    key: String,
    name: String,
    charge: f64,
    alkalinity: f64,
    gamma: Option<[f64; 2]>,
    source: String,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    name: String,
    of: BTreeMap<String, f64>,
    #[serde(default)]
    water: f64,
    analytic: Option<[f64; 6]>,
    log_k: Option<f64>,
    delta_h_kcal: Option<f64>,
    delta_h_kj: Option<f64>,
    through: Option<String>,
    times: Option<f64>,
    gamma: Option<[f64; 2]>,
    source: String,
    mark: String,
}

fn read() -> Table {
    let file: File = builtin(FILE, include_str!("../../data/equilibria.toml"));
    let mut table = Table {
        charge: [0.0; COMPONENTS],
        alkalinity: [0.0; COMPONENTS],
        species: vec![],
        phases: vec![],
    };
    for (place, key) in component::KEYS.iter().enumerate() {
        let row = file.component.iter().find(|row| row.key == *key);
        let row = known(FILE, key, "component", row);
        table.charge[place] = row.charge;
        table.alkalinity[place] = row.alkalinity;
        table.species.push(component_species(place, row));
    }
    for row in &file.species {
        let species = species_of_row(&table, row);
        table.species.push(species);
    }
    table.species.truncate(MAX_SPECIES);
    table.phases = file
        .phase
        .iter()
        .map(|row| phase_of_row(&table, row))
        .collect();
    table
}

fn component_species(place: usize, row: &ComponentRow) -> Species {
    let mut makeup = Makeup::default();
    makeup.of[place] = 1.0;
    Species {
        name: row.name.clone(),
        makeup,
        parts: parts_of(&makeup),
        charge: row.charge,
        alkalinity: row.alkalinity,
        gamma: gamma_of(row.charge, row.gamma),
        log_k: LogK {
            form: Form::VantHoff {
                at_25_c: 0.0,
                enthalpy_kj: 0.0,
            },
            through: None,
        },
        source: source(&row.key, &row.source, &row.mark),
    }
}

fn species_of_row(table: &Table, row: &Row) -> Species {
    let makeup = makeup_of_row(row);
    let charge = weighted(&makeup.of, &table.charge);
    Species {
        name: row.name.clone(),
        parts: parts_of(&makeup),
        charge,
        alkalinity: weighted(&makeup.of, &table.alkalinity),
        gamma: gamma_of(charge, row.gamma),
        makeup,
        log_k: log_k_of_row(table, row),
        source: source(&row.name, &row.source, &row.mark),
    }
}

fn phase_of_row(table: &Table, row: &Row) -> Phase {
    Phase {
        name: row.name.clone(),
        makeup: makeup_of_row(row),
        log_k: log_k_of_row(table, row),
        source: source(&row.name, &row.source, &row.mark),
    }
}

/// A species of more components than there is room for would be cut off, which a
/// test looks for.
fn parts_of(makeup: &Makeup) -> ([(usize, f64); MAX_PARTS], usize) {
    let mut parts = [(0, 0.0); MAX_PARTS];
    let there = makeup.of.iter().enumerate().filter(|(_, n)| **n != 0.0);
    let mut count = 0;
    for (part, (j, n)) in parts.iter_mut().zip(there) {
        *part = (j, *n);
        count += 1;
    }
    (parts, count)
}

fn makeup_of_row(row: &Row) -> Makeup {
    let mut makeup = Makeup {
        water: row.water,
        ..Makeup::default()
    };
    for (key, number) in &row.of {
        let place = component::KEYS.iter().position(|k| k == key);
        makeup.of[known(FILE, &row.name, "component", place)] = *number;
    }
    makeup
}

fn log_k_of_row(table: &Table, row: &Row) -> LogK {
    const KJ_PER_KCAL: f64 = 4.184;
    let form = row.analytic.map_or_else(
        || Form::VantHoff {
            at_25_c: known(FILE, &row.name, "log_k", row.log_k),
            enthalpy_kj: row.delta_h_kcal.unwrap_or(0.0) * KJ_PER_KCAL
                + row.delta_h_kj.unwrap_or(0.0),
        },
        Form::Analytic,
    );
    let through = row.through.as_ref().map(|name| {
        let place = table.species.iter().position(|s| s.name == *name);
        (
            known(FILE, &row.name, "species", place),
            row.times.unwrap_or(1.0),
        )
    });
    LogK { form, through }
}

fn gamma_of(charge: f64, given: Option<[f64; 2]>) -> Gamma {
    match given {
        Some([size_angstrom, slope]) => Gamma::Sized {
            size_angstrom,
            slope,
        },
        None if charge == 0.0 => Gamma::Neutral,
        None => Gamma::Davies,
    }
}

fn source(row: &str, text: &str, words: &str) -> Source {
    Source {
        text: text.to_owned(),
        mark: mark(FILE, row, words),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_says_where_it_comes_from_and_none_is_cut_off() {
        let file: File = builtin(FILE, include_str!("../../data/equilibria.toml"));
        let rows = file.component.len() + file.species.len();
        assert_eq!(table().species.len(), rows);
        assert_eq!(file.component.len(), COMPONENTS);
        assert!(table().phases.len() <= crate::speciation::constants::MAX_PHASES);
        for species in &table().species {
            let whole = species.makeup.of.iter().filter(|n| **n != 0.0).count();
            assert_eq!(species.parts().len(), whole, "{}", species.name);
        }
        assert!(
            table()
                .species
                .iter()
                .all(|s| !s.source.text.trim().is_empty())
        );
        assert!(
            table()
                .phases
                .iter()
                .all(|p| !p.source.text.trim().is_empty())
        );
    }

    #[test]
    fn solids_and_the_gas_carry_no_charge() {
        for phase in &table().phases {
            assert!(
                weighted(&phase.makeup.of, &table().charge).abs() < 1e-12,
                "{}",
                phase.name
            );
        }
    }

    /// The sign in a name counts: "HPO4-2", "CaOH+", "CO2".
    #[test]
    fn names_carry_the_charge_of_their_makeup() {
        for species in table().species.iter().filter(|s| !s.name.contains("acid")) {
            let (sign, digits) = species.name.rfind(['+', '-']).map_or((0.0, ""), |at| {
                let sign = if species.name[at..].starts_with('+') {
                    1.0
                } else {
                    -1.0
                };
                (sign, &species.name[at + 1..])
            });
            let size: f64 = if digits.is_empty() {
                1.0
            } else {
                digits.parse().unwrap()
            };
            assert!(
                (species.charge - sign * size).abs() < 1e-12,
                "{}",
                species.name
            );
        }
    }
}
