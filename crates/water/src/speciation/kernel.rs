//! The equations of a water in equilibrium, and Newton's method on them.
//!
//! Unknowns are the ionic strength, the activities of those components that follow no
//! others, both as logarithms, and the amount of every [`Buffer`]. A buffer is a
//! supply with a condition: carbon dioxide with its pressure, a solid with its
//! solubility, an acid with the pH to reach. So a water whose alkalinity and pH are
//! known, and whose carbonate is not, is one with a supply of carbon dioxide held at
//! that pH.

use super::compiled::{Set, compiled, only};
use super::constants::{Constants, MAX_PHASES};
use super::newton::Newton;
use super::start;
use super::table::{COMPONENTS, MAX_SPECIES, Makeup, component::H, table};

/// Room for buffers: every phase of the table, and one more.
pub(super) const MAX_BUFFERS: usize = MAX_PHASES + 1;
/// Moles in a kilogram of water.
pub(super) const WATER_MOL_PER_KG: f64 = 1.0 / 0.018_016;
/// Ionic strength and components with an equation of their own.
const DIMENSIONS: usize = COMPONENTS + 1;

/// A supply of unknown amount with the condition that sets it:
/// Σ conditionⱼ ln aⱼ = target.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Buffer {
    pub makeup: Makeup,
    pub condition: Makeup,
    pub ln_target: f64,
}

impl Buffer {
    /// A supply of `makeup` that holds the pH.
    pub fn holding_ph(makeup: Makeup, ph: f64) -> Self {
        let mut condition = Makeup::default();
        condition.of[H] = 1.0;
        Self {
            makeup,
            condition,
            ln_target: -ph * std::f64::consts::LN_10,
        }
    }

    /// A phase that is itself what its condition speaks of.
    pub fn phase(makeup: Makeup, ln_target: f64) -> Self {
        Self {
            makeup,
            condition: makeup,
            ln_target,
        }
    }

    /// The pH that it holds, where it holds that and nothing else.
    pub fn held_ln_h(&self) -> Option<f64> {
        let only_h = self
            .condition
            .of
            .iter()
            .enumerate()
            .all(|(j, n)| (j == H) == (*n != 0.0));
        only_h.then(|| self.ln_target / self.condition.of[H])
    }
}

/// How much water there is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum WaterMass {
    /// One kilogram, however much of the rest holds water.
    Kilogram,
    /// So many moles, free and in other species together.
    Total(f64),
}

/// What is to be solved.
#[derive(Debug, Clone, Copy)]
pub(super) struct Problem<'a> {
    pub constants: &'a Constants,
    /// Moles of each component.
    pub totals: [f64; COMPONENTS],
    pub water: WaterMass,
    pub buffers: &'a [Buffer],
}

/// A solved water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Answer {
    /// ln activity of each component; negative infinity where there is none.
    pub ln_activity: [f64; COMPONENTS],
    /// \[mol/kg\].
    pub ionic_strength: f64,
    pub water_kg: f64,
    pub ln_water_activity: f64,
    /// Moles that each buffer gave; negative where it took.
    pub amounts: [f64; MAX_BUFFERS],
    /// Moles of water, free and in other species.
    pub water_mol: f64,
    /// Newton steps taken.
    pub steps: usize,
}

impl Answer {
    /// Σ makeupⱼ ln aⱼ: the logarithm of an ion activity product.
    pub fn ln_product(&self, makeup: &Makeup) -> f64 {
        let sum: f64 = (0..COMPONENTS)
            .filter(|j| makeup.of[*j] != 0.0)
            .map(|j| makeup.of[j] * self.ln_activity[j])
            .sum();
        sum + makeup.water * self.ln_water_activity
    }

    /// Moles of every species, by its place.
    pub fn moles(&self, constants: &Constants) -> [f64; MAX_SPECIES] {
        let root = self.ionic_strength.sqrt();
        let mut moles = [0.0; MAX_SPECIES];
        for ((place, moles), species) in moles.iter_mut().enumerate().zip(&table().species) {
            let ln_molality = constants.ln_k[place] + self.ln_product(&species.makeup)
                - constants.ln_gamma(place, root);
            *moles = self.water_kg * ln_molality.exp();
        }
        moles
    }
}

/// Why no answer was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Stalled {
    /// The conditions contradict or repeat each other.
    Singular,
    /// The steps did not become small.
    Steps,
}

/// Solves the equations, from an answer to a problem like it where there is one.
///
/// Tried in turn: from that answer, from a sketch of the water without pairs, and
/// from the sketch with short steps.
pub(super) fn solve(problem: &Problem<'_>, like: Option<&Answer>) -> Result<Answer, Stalled> {
    let layout = Layout::of(problem);
    let (columns, buffers) = (layout.columns().len(), problem.buffers.len());
    // Most waters need few equations, and small arrays are quicker.
    if columns < 3 && buffers < 3 {
        search::<4, 6>(problem, &layout, like)
    } else if columns < 5 && buffers < 3 {
        search::<6, 8>(problem, &layout, like)
    } else {
        search::<DIMENSIONS, { DIMENSIONS + MAX_BUFFERS }>(problem, &layout, like)
    }
}

fn search<const D: usize, const M: usize>(
    problem: &Problem<'_>,
    layout: &Layout,
    like: Option<&Answer>,
) -> Result<Answer, Stalled> {
    // Listed in place: it is large to move.
    let mut newton = Newton::<D>::new(problem, layout);
    newton.list();
    if let Some(answer) = like.and_then(|like| newton.run::<M>(like, LONG_STEP).ok()) {
        return Ok(answer);
    }
    let sketch = start::sketch(problem, layout);
    let long = newton.run::<M>(&sketch, LONG_STEP);
    long.or_else(|_| newton.run::<M>(&sketch, SHORT_STEP))
}

/// The farthest a ln activity may go in one step.
const LONG_STEP: f64 = 3.0;
const SHORT_STEP: f64 = 0.3;

/// How each component of a problem is reckoned.
pub(super) struct Layout {
    there: Set,
    columns: [usize; COMPONENTS],
    count: usize,
}

impl Layout {
    fn of(problem: &Problem<'_>) -> Self {
        let mut brought: Set = 0;
        let mut there = only(H);
        for j in 0..COMPONENTS {
            if problem.buffers.iter().any(|b| b.makeup.of[j] != 0.0) {
                brought |= only(j);
            }
            if problem.totals[j] > 0.0 {
                there |= only(j);
            }
        }
        there |= brought;
        let mut layout = Self {
            there,
            columns: [H; COMPONENTS],
            count: 0,
        };
        // What a buffer brings has no known total to follow from.
        let own = there & !(compiled().followers & !brought);
        for j in (0..COMPONENTS).filter(|j| *j != H && own & only(*j) != 0) {
            layout.columns[layout.count] = j;
            layout.count += 1;
        }
        layout
    }

    /// The components with an equation of their own, beside hydrogen ion.
    pub fn columns(&self) -> &[usize] {
        &self.columns[..self.count]
    }

    /// Whether any of a component is there, or may be brought.
    pub const fn holds(&self, j: usize) -> bool {
        self.there & only(j) != 0
    }

    /// Whether all components of a set are there.
    pub const fn holds_all(&self, set: Set) -> bool {
        set & !self.there == 0
    }
}

/// ln activity of water over the sum of molalities \[mol/kg\]: 1 − 0.017 Σ m
/// (Garrels & Christ 1965, as PHREEQC has it).
pub(super) fn ln_water_activity(dissolved_mol_per_kg: f64) -> f64 {
    (1.0 - 0.017 * dissolved_mol_per_kg).clamp(0.5, 1.0).ln()
}

#[cfg(test)]
mod tests {
    use super::super::gas;
    use super::super::table::component as c;
    use super::*;

    /// The waters that are compared with PHREEQC, as they were analysed. The figures
    /// are our own: they only prove that no step was lost.
    #[test]
    fn an_analysis_takes_few_steps() {
        let stored = include_str!("../../tests/reference/phreeqc_waters.csv");
        let mut reader = csv::Reader::from_reader(stored.as_bytes());
        let header = reader.headers().unwrap().clone();
        let steps: Vec<usize> = reader
            .records()
            .map(|row| {
                let row = row.unwrap();
                let get = |name: &str| -> f64 {
                    let place = header.iter().position(|h| h == name).unwrap();
                    row[place].parse().unwrap()
                };
                let mut totals = [0.0; COMPONENTS];
                totals[H] = -get("alkalinity") / 1000.0;
                for (j, name) in [
                    (c::CA, "ca"),
                    (c::MG, "mg"),
                    (c::NA, "na"),
                    (c::K, "k"),
                    (c::NH4, "nh4"),
                    (c::CL, "cl"),
                    (c::SO4, "so4"),
                    (c::NO3, "no3"),
                ] {
                    totals[j] = get(name) / 1000.0;
                }
                let problem = Problem {
                    constants: &Constants::at(get("t0") + 273.15),
                    totals,
                    water: WaterMass::Kilogram,
                    buffers: &[Buffer::holding_ph(*gas::carbon_dioxide(), get("ph"))],
                };
                solve(&problem, None).unwrap().steps
            })
            .collect();
        assert!(steps.iter().all(|n| *n <= 6), "{:?}", steps.iter().max());
        let mean = steps.iter().sum::<usize>() as f64 / steps.len() as f64;
        assert!(mean < 3.5, "{mean}");
    }
}
