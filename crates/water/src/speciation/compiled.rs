//! The table laid out for the solver: constants as sums of functions of temperature,
//! and the species grouped by the component that they follow.
//!
//! A *follower* occurs once in each of its species and shares none of them with
//! another follower, as a metal among anions does. Where its total is known, its
//! activity is that total over the sum of what its species hold at unit activity: it
//! needs no equation of its own.

use std::f64::consts::LN_10;
use std::sync::LazyLock;

use super::constants::{MAX_PHASES, REFERENCE_K, VAN_T_HOFF};
use super::table::{
    COMPONENTS, Form, Gamma, LogK, MAX_SPECIES, Species, Table, component as c, species_place,
    table,
};

/// A set of components, one bit each.
pub(super) type Set = u16;

/// The set of one component.
pub(super) const fn only(j: usize) -> Set {
    1 << j
}

/// The table as the solver walks through it.
pub(super) struct Compiled {
    pub ln_k: OverTemperature<MAX_SPECIES>,
    pub ln_k_phase: OverTemperature<MAX_PHASES>,
    pub followers: Set,
    /// Those that follow nothing, then those of each follower together.
    pub rows: Vec<Row>,
    pub ladders: Vec<Rungs>,
    /// The place of hydroxide.
    pub hydroxide: usize,
    /// The place of the pair of calcium and sulfate.
    pub calcium_sulfate: usize,
}

/// What the equations ask of a species.
pub(super) struct Row {
    pub place: usize,
    /// The follower in it.
    pub follows: Option<usize>,
    pub holds: Set,
    pub of: [f64; COMPONENTS],
    pub water: f64,
    pub half_z2: f64,
    pub charge: f64,
    pub gamma: Gamma,
}

/// A component that takes up protons, bare and in each of its forms.
pub(super) struct Rungs {
    pub component: usize,
    pub forms: Vec<Rung>,
}

/// One form.
pub(super) struct Rung {
    pub place: usize,
    pub protons: f64,
    pub alkalinity: f64,
}

/// The table, laid out once.
pub(super) fn compiled() -> &'static Compiled {
    static COMPILED: LazyLock<Compiled> = LazyLock::new(|| Compiled::of(table()));
    &COMPILED
}

impl Compiled {
    fn of(table: &Table) -> Self {
        let mut coefficients: Vec<[f64; FUNCTIONS]> = vec![];
        for species in &table.species {
            let next = coefficients_of(&species.log_k, &coefficients);
            coefficients.push(next);
        }
        let phases = table.phases.iter();
        let of_phases: Vec<_> = phases
            .map(|phase| coefficients_of(&phase.log_k, &coefficients))
            .collect();
        let followers = followers(table);
        let mut rows: Vec<Row> = (0..)
            .zip(&table.species)
            .map(|(p, s)| row(p, s, followers))
            .collect();
        // None comes first, and the order within a group stays.
        rows.sort_by_key(|row| row.follows);
        Self {
            ln_k: OverTemperature::of(&coefficients),
            ln_k_phase: OverTemperature::of(&of_phases),
            followers,
            rows,
            ladders: ladders(table),
            hydroxide: species_place("OH-"),
            calcium_sulfate: species_place("CaSO4"),
        }
    }
}

const FUNCTIONS: usize = 6;

/// Numbers that are each a sum of 1, T, 1/T, log10 T, 1/T² and T² with coefficients
/// of their own, by function.
pub(super) struct OverTemperature<const N: usize>([[f64; N]; FUNCTIONS]);

impl<const N: usize> OverTemperature<N> {
    fn of(coefficients: &[[f64; FUNCTIONS]]) -> Self {
        let mut by_function = [[0.0; N]; FUNCTIONS];
        for (function, of_all) in by_function.iter_mut().enumerate() {
            for (one, given) in of_all.iter_mut().zip(coefficients) {
                *one = LN_10 * given[function];
            }
        }
        Self(by_function)
    }

    /// All of them at a temperature \[K\].
    pub fn at(&self, temperature_k: f64) -> [f64; N] {
        let (t, inverse) = (temperature_k, 1.0 / temperature_k);
        let [ones, a2, a3, a4, a5, a6] = &self.0;
        let (log_t, inverse2, t2) = (t.log10(), inverse * inverse, t * t);
        let mut values = *ones;
        for i in 0..N {
            values[i] +=
                a2[i] * t + a3[i] * inverse + a4[i] * log_t + a5[i] * inverse2 + a6[i] * t2;
        }
        values
    }
}

/// The six coefficients of log10 K. Van 't Hoff's form is one of 1 and 1/T too.
fn coefficients_of(log_k: &LogK, species: &[[f64; FUNCTIONS]]) -> [f64; FUNCTIONS] {
    let mut coefficients = match log_k.form {
        Form::Analytic(a) => a,
        Form::VantHoff {
            at_25_c,
            enthalpy_kj,
        } => {
            let slope = enthalpy_kj * VAN_T_HOFF;
            [at_25_c + slope / REFERENCE_K, 0.0, -slope, 0.0, 0.0, 0.0]
        }
    };
    if let Some((place, times)) = log_k.through {
        for (mine, other) in coefficients.iter_mut().zip(species[place]) {
            *mine += times * other;
        }
    }
    coefficients
}

fn followers(table: &Table) -> Set {
    let mut followers = 0;
    for j in (0..COMPONENTS).filter(|j| *j != c::H) {
        let mut its = table.species.iter().filter(|s| s.makeup.of[j] != 0.0);
        if its.all(|s| (s.makeup.of[j] - 1.0).abs() < 1e-12 && holds(s) & followers == 0) {
            followers |= only(j);
        }
    }
    followers
}

fn holds(species: &Species) -> Set {
    species.parts().iter().map(|(j, _)| only(*j)).sum()
}

fn row(place: usize, species: &Species, followers: Set) -> Row {
    let mut parts = species.parts().iter().map(|(j, _)| *j);
    Row {
        place,
        follows: parts.find(|j| followers & only(*j) != 0),
        holds: holds(species),
        of: species.makeup.of,
        water: species.makeup.water,
        half_z2: 0.5 * species.charge * species.charge,
        charge: species.charge,
        gamma: species.gamma,
    }
}

fn ladders(table: &Table) -> Vec<Rungs> {
    let mut ladders: Vec<Rungs> = vec![];
    for (place, species) in table.species.iter().enumerate() {
        let [(c::H, protons), (component, 1.0)] = *species.parts() else {
            continue;
        };
        let rung = |place, protons| Rung {
            place,
            protons,
            alkalinity: table.species[place].alkalinity,
        };
        let known = ladders.iter_mut().find(|l| l.component == component);
        match known {
            Some(ladder) => ladder.forms.push(rung(place, protons)),
            None => ladders.push(Rungs {
                component,
                forms: vec![rung(component, 0.0), rung(place, protons)],
            }),
        }
    }
    ladders
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn metals_follow_and_what_they_pair_with_does_not() {
        let set = |of: &[usize]| of.iter().map(|j| only(*j)).sum::<Set>();
        let metals = set(&[c::CA, c::MG, c::NA, c::K, c::NH4]);
        let by_themselves = set(&[c::CL, c::NO3, c::LACTATE, c::CITRATE, c::ASCORBATE]);
        assert_eq!(compiled().followers, metals | by_themselves);
        for row in &compiled().rows {
            let followers = row.holds & compiled().followers;
            assert!(followers.count_ones() <= 1, "{}", row.place);
            assert!(row.follows.is_none_or(|j| (row.of[j] - 1.0).abs() < 1e-12));
        }
    }

    #[test]
    fn the_ladders_are_those_of_weak_acids() {
        let forms = |j: usize| {
            compiled()
                .ladders
                .iter()
                .find(|l| l.component == j)
                .map(|l| l.forms.len())
        };
        assert_eq!(forms(c::CO3), Some(3));
        assert_eq!(forms(c::PO4), Some(4));
        assert_eq!(forms(c::CITRATE), Some(4));
        assert_eq!(forms(c::NH4), Some(2));
        assert_eq!(forms(c::NA), Some(2), "NaOH");
        assert_eq!(forms(c::CL), None);
    }
}
