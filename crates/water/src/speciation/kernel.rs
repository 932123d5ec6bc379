//! The equations of a water in equilibrium, and Newton's method on them.
//!
//! Unknowns are the logarithms of the activities of the components, the ionic
//! strength, and the amount of every [`Buffer`]. A buffer is a supply with a
//! condition: carbon dioxide with its pressure, a solid with its solubility, an
//! acid with the pH to reach. So a water whose alkalinity and pH are known, and
//! whose carbonate is not, is one with a supply of carbon dioxide held at that pH.

use super::constants::{Constants, GammaAt, MAX_PHASES};
use super::lu;
use super::start;
use super::table::{
    COMPONENTS, MAX_PARTS, MAX_SPECIES, Makeup, component as c, component::H, table,
};

/// Room for buffers: every phase of the table, and one more.
pub(super) const MAX_BUFFERS: usize = MAX_PHASES + 1;
/// Moles in a kilogram of water.
pub(super) const WATER_MOL_PER_KG: f64 = 1.0 / 0.018_016;
const UNKNOWNS: usize = COMPONENTS + 1 + MAX_BUFFERS;
/// The last step \[in ln activity\]: as convergence is quadratic, what is left is
/// far less.
const STEP_DONE: f64 = 1e-6;
/// The last change of water's logarithms, which are one step behind.
const LAG_DONE: f64 = 1e-10;
const MOST_STEPS: usize = 200;

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
    /// Moles of each species.
    pub moles: [f64; MAX_SPECIES],
    /// \[mol/kg\].
    pub ionic_strength: f64,
    pub water_kg: f64,
    pub ln_water_activity: f64,
    /// Moles that each buffer gave; negative where it took.
    pub amounts: [f64; MAX_BUFFERS],
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

    /// Moles of water, free and in other species.
    pub fn water_mol(&self) -> f64 {
        self.water_kg * WATER_MOL_PER_KG + bound_water(&self.moles)
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
    if let Some(answer) = like.and_then(|like| Newton::new(problem, like).run(LONG_STEP).ok()) {
        return Ok(answer);
    }
    let sketch = start::sketch(problem);
    let long = Newton::new(problem, &sketch).run(LONG_STEP);
    long.or_else(|_| Newton::new(problem, &sketch).run(SHORT_STEP))
}

/// Ionic strength is kept within these on the way \[mol/kg\]; no answer is near
/// them.
const LEAST_STRENGTH: f64 = 1e-12;
const MOST_STRENGTH: f64 = 10.0;
/// The farthest a ln activity may go in one step.
const LONG_STEP: f64 = 3.0;
const SHORT_STEP: f64 = 0.3;

/// Whether any of a component is there, or may be brought.
pub(super) fn present(problem: &Problem<'_>, j: usize) -> bool {
    j == H
        || problem.totals[j] > 0.0
        || problem
            .buffers
            .iter()
            .any(|buffer| buffer.makeup.of[j] != 0.0)
}

fn bound_water(moles: &[f64; MAX_SPECIES]) -> f64 {
    let species = table().species.iter().zip(moles);
    species.map(|(s, n)| s.makeup.water * n).sum()
}

/// A species that is there, with what the equations ask of it close by.
#[derive(Clone, Copy)]
struct Present {
    place: usize,
    /// Columns and numbers of its components, of which it has `parts`.
    column: [usize; MAX_PARTS],
    number: [f64; MAX_PARTS],
    parts: usize,
    water: f64,
    /// Half the square of its charge.
    half_z2: f64,
    ln_k: f64,
    gamma: GammaAt,
    moles: f64,
    /// d ln γ/d ln I.
    slope: f64,
}

impl Present {
    const NONE: Self = Self {
        place: 0,
        column: [0; MAX_PARTS],
        number: [0.0; MAX_PARTS],
        parts: 0,
        water: 0.0,
        half_z2: 0.0,
        ln_k: 0.0,
        gamma: GammaAt {
            limiting: 0.0,
            size: 0.0,
            slope: 0.0,
        },
        moles: 0.0,
        slope: 0.0,
    };
}

/// The linear equations of a step.
struct Equations {
    a: [[f64; UNKNOWNS]; UNKNOWNS],
    b: [f64; UNKNOWNS],
    /// What there is of each component, to scale its row by.
    scale: [f64; UNKNOWNS],
}

/// One run of Newton's method. The unknowns stand in columns: the components that
/// are there, ln I, the buffers.
struct Newton<'a> {
    problem: &'a Problem<'a>,
    species: [Present; MAX_SPECIES],
    count: usize,
    /// The component in each column.
    component: [usize; COMPONENTS],
    columns: usize,
    /// ln activity by column.
    ln_activity: [f64; COMPONENTS],
    strength: f64,
    water_kg: f64,
    ln_water_activity: f64,
    amounts: [f64; MAX_BUFFERS],
}

/// The column of a component that is not there.
const NOWHERE: usize = usize::MAX;

impl<'a> Newton<'a> {
    fn new(problem: &'a Problem<'a>, like: &Answer) -> Self {
        let mut newton = Self {
            problem,
            species: [Present::NONE; MAX_SPECIES],
            count: 0,
            component: [0; COMPONENTS],
            columns: 0,
            ln_activity: [0.0; COMPONENTS],
            strength: like.ionic_strength,
            water_kg: like.water_kg,
            ln_water_activity: like.ln_water_activity,
            amounts: [0.0; MAX_BUFFERS],
        };
        let column = newton.number_components(like);
        newton.list_species(&column);
        newton
    }

    /// Gives the components columns, those with few pairs first: eliminating them
    /// leaves the other rows as they are.
    fn number_components(&mut self, like: &Answer) -> [usize; COMPONENTS] {
        let mut column = [NOWHERE; COMPONENTS];
        for j in FEWEST_PAIRS_FIRST {
            if present(self.problem, j) {
                let known = like.ln_activity[j];
                self.ln_activity[self.columns] = if known.is_finite() {
                    known
                } else {
                    start::ln_of_unknown(self.problem.totals[j])
                };
                self.component[self.columns] = j;
                column[j] = self.columns;
                self.columns += 1;
            }
        }
        column
    }

    fn list_species(&mut self, column: &[usize; COMPONENTS]) {
        let constants = self.problem.constants;
        for (place, species) in table().species.iter().enumerate() {
            let parts = species.parts();
            if parts.iter().any(|(j, _)| column[*j] == NOWHERE) {
                continue;
            }
            let present = &mut self.species[self.count];
            for (k, (j, number)) in parts.iter().enumerate() {
                present.column[k] = column[*j];
                present.number[k] = *number;
            }
            present.place = place;
            present.parts = parts.len();
            present.water = species.makeup.water;
            present.half_z2 = 0.5 * species.charge * species.charge;
            present.ln_k = constants.ln_k[place];
            present.gamma = constants.gamma[place];
            self.count += 1;
        }
    }

    fn run(mut self, longest: f64) -> Result<Answer, Stalled> {
        let mut equations = Equations {
            a: [[0.0; UNKNOWNS]; UNKNOWNS],
            b: [0.0; UNKNOWNS],
            scale: [0.0; UNKNOWNS],
        };
        for step in 0..MOST_STEPS {
            self.evaluate();
            self.fill(&mut equations);
            let moved = self.step(&mut equations, longest)?;
            let lag = self.follow_water();
            if moved < STEP_DONE && lag < LAG_DONE {
                self.evaluate();
                return Ok(self.answer(step + 1));
            }
        }
        Err(Stalled::Steps)
    }

    fn answer(&self, steps: usize) -> Answer {
        let mut answer = Answer {
            ln_activity: [f64::NEG_INFINITY; COMPONENTS],
            moles: [0.0; MAX_SPECIES],
            ionic_strength: self.strength,
            water_kg: self.water_kg,
            ln_water_activity: self.ln_water_activity,
            amounts: self.amounts,
            steps,
        };
        for (j, ln) in self.component[..self.columns].iter().zip(self.ln_activity) {
            answer.ln_activity[*j] = ln;
        }
        for species in &self.species[..self.count] {
            answer.moles[species.place] = species.moles;
        }
        answer
    }

    /// Moles of every species at the present activities.
    fn evaluate(&mut self) {
        // A guard against overflow on the way; no answer is near it.
        const LN_MOST: f64 = 40.0;
        let root = self.strength.sqrt();
        let ln_water_kg = self.water_kg.ln();
        for species in &mut self.species[..self.count] {
            let gamma = species.gamma;
            let inverse = 1.0 / (1.0 + gamma.size * root);
            let limiting = gamma.limiting * root * inverse;
            let linear = gamma.slope * self.strength;
            species.slope = 0.5 * limiting * inverse + linear;
            let mut ln_n = species.ln_k + ln_water_kg - limiting - linear
                + species.water * self.ln_water_activity;
            for (column, number) in species.column.iter().zip(species.number) {
                // A part that is not there has the number zero.
                ln_n += number * self.ln_activity[*column];
            }
            species.moles = ln_n.min(LN_MOST).exp();
        }
    }

    /// One row a component, scaled by what there is of it; one for ln I; and the
    /// conditions.
    fn fill(&self, equations: &mut Equations) {
        let size = self.size();
        for row in 0..size {
            equations.a[row][..size].fill(0.0);
            equations.b[row] = 0.0;
            equations.scale[row] = 0.0;
        }
        self.add_species(equations);
        self.add_totals(equations);
        self.add_conditions(equations);
    }

    fn size(&self) -> usize {
        self.columns + 1 + self.problem.buffers.len()
    }

    fn add_species(&self, equations: &mut Equations) {
        let Equations { a, b, scale } = equations;
        let strength_row = self.columns;
        let mut found = f64::MIN_POSITIVE;
        for species in &self.species[..self.count] {
            let weight = species.half_z2 * species.moles / self.water_kg;
            found += weight;
            a[strength_row][strength_row] += weight * species.slope;
            for p in 0..species.parts {
                let row = species.column[p];
                let held = species.number[p] * species.moles;
                b[row] -= held;
                scale[row] += held.abs();
                a[row][strength_row] -= held * species.slope;
                a[strength_row][row] -= weight * species.number[p];
                for q in 0..species.parts {
                    a[row][species.column[q]] += held * species.number[q];
                }
            }
        }
        scale[strength_row] = found;
        b[strength_row] = found * (found / self.strength).ln();
        a[strength_row][strength_row] += found;
    }

    fn add_totals(&self, equations: &mut Equations) {
        let Equations { a, b, scale } = equations;
        let size = self.size();
        for row in 0..=self.columns {
            if row < self.columns {
                let j = self.component[row];
                b[row] += self.problem.totals[j];
                for (k, buffer) in self.problem.buffers.iter().enumerate() {
                    a[row][self.columns + 1 + k] -= buffer.makeup.of[j];
                    b[row] += buffer.makeup.of[j] * self.amounts[k];
                }
            }
            let inverse = 1.0 / scale[row].max(f64::MIN_POSITIVE);
            a[row][..size].iter_mut().for_each(|x| *x *= inverse);
            b[row] *= inverse;
        }
    }

    fn add_conditions(&self, equations: &mut Equations) {
        for (k, buffer) in self.problem.buffers.iter().enumerate() {
            let row = self.columns + 1 + k;
            let mut left = buffer.ln_target - buffer.condition.water * self.ln_water_activity;
            for column in 0..self.columns {
                let number = buffer.condition.of[self.component[column]];
                equations.a[row][column] = number;
                left -= number * self.ln_activity[column];
            }
            equations.b[row] = left;
        }
    }

    /// Takes a step no longer than `longest`; gives the length it should have had.
    fn step(&mut self, equations: &mut Equations, longest: f64) -> Result<f64, Stalled> {
        let Equations { a, b, .. } = equations;
        if !lu::solve(a, b, self.size()) {
            return Err(Stalled::Singular);
        }
        let longer = |most: f64, x: &f64| most.max(x.abs());
        let far = b[..=self.columns].iter().fold(0.0, longer);
        let share = if far > longest { longest / far } else { 1.0 };
        for (ln, by) in self.ln_activity[..self.columns].iter_mut().zip(&*b) {
            *ln += share * by;
        }
        let strength = self.strength * (share * b[self.columns]).exp();
        self.strength = strength.clamp(LEAST_STRENGTH, MOST_STRENGTH);
        // The conditions and totals are linear in the amounts.
        let brought = &b[self.columns + 1..];
        for (amount, by) in self
            .amounts
            .iter_mut()
            .zip(brought)
            .take(self.problem.buffers.len())
        {
            *amount += by;
        }
        Ok(far)
    }

    /// Water's activity and mass follow one step behind, as they hardly move; gives
    /// by how much they did.
    ///
    /// Activity: 1 − 0.017 Σ m (Garrels & Christ 1965, as PHREEQC has it).
    fn follow_water(&mut self) -> f64 {
        let before = (self.ln_water_activity, self.water_kg);
        let there = &self.species[..self.count];
        let dissolved: f64 = there.iter().map(|s| s.moles).sum();
        let activity = 1.0 - 0.017 * dissolved / self.water_kg;
        self.ln_water_activity = activity.max(0.5).ln();
        if let WaterMass::Total(mol) = self.problem.water {
            let bound: f64 = there.iter().map(|s| s.water * s.moles).sum();
            let brought: f64 = (self.problem.buffers.iter().zip(self.amounts))
                .map(|(buffer, amount)| buffer.makeup.water * amount)
                .sum();
            self.water_kg = ((mol + brought - bound) / WATER_MOL_PER_KG).clamp(0.5, 2.0);
        }
        let (activity, mass) = before;
        (self.ln_water_activity - activity).abs() + (self.water_kg / mass - 1.0).abs()
    }
}

/// The components in the order of their columns.
const FEWEST_PAIRS_FIRST: [usize; COMPONENTS] = [
    c::NO3,
    c::CL,
    c::LACTATE,
    c::ASCORBATE,
    c::CITRATE,
    c::NH4,
    c::K,
    c::NA,
    c::MG,
    c::CA,
    c::PO4,
    c::SO4,
    c::CO3,
    c::H,
];
