//! The equations of a water in equilibrium, and Newton's method on them.
//!
//! Unknowns are the logarithms of the activities of the components, the ionic
//! strength, and the amount of every [`Buffer`]. A buffer is a supply with a
//! condition: carbon dioxide with its pressure, a solid with its solubility, an
//! acid with the pH to reach. So a water whose alkalinity and pH are known, and
//! whose carbonate is not, is one with a supply of carbon dioxide held at that pH.

use super::constants::{Constants, MAX_PHASES};
use super::lu;
use super::start;
use super::table::{COMPONENTS, MAX_SPECIES, Makeup, Species, component::H, table};

/// Room for buffers: every phase of the table, and one more.
pub(super) const MAX_BUFFERS: usize = MAX_PHASES + 1;
/// Moles in a kilogram of water.
pub(super) const WATER_MOL_PER_KG: f64 = 1.0 / 0.018_016;
const UNKNOWNS: usize = COMPONENTS + 1 + MAX_BUFFERS;
/// The last step \[in ln activity\]: as convergence is quadratic, what is left is
/// far less.
const STEP_DONE: f64 = 1e-8;
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
    table()
        .species
        .iter()
        .zip(moles)
        .map(|(s, n)| s.makeup.water * n)
        .sum()
}

/// One run of Newton's method.
struct Newton<'a> {
    problem: &'a Problem<'a>,
    species: &'static [Species],
    /// Places of the species that are there.
    there: [u8; MAX_SPECIES],
    count: usize,
    /// The column of each component that is there.
    column: [usize; COMPONENTS],
    columns: usize,
    at: Answer,
    /// d ln γ/dI of each species.
    slope: [f64; MAX_SPECIES],
}

/// The column of a component that is not there.
const NOWHERE: usize = usize::MAX;

impl<'a> Newton<'a> {
    fn new(problem: &'a Problem<'a>, like: &Answer) -> Self {
        let mut newton = Self {
            problem,
            species: &table().species,
            there: [0; MAX_SPECIES],
            count: 0,
            column: [NOWHERE; COMPONENTS],
            columns: 0,
            at: *like,
            slope: [0.0; MAX_SPECIES],
        };
        newton.at.moles = [0.0; MAX_SPECIES];
        newton.at.amounts = [0.0; MAX_BUFFERS];
        newton.at.steps = 0;
        newton.number_components();
        newton.list_species();
        newton
    }

    fn number_components(&mut self) {
        for j in 0..COMPONENTS {
            if present(self.problem, j) {
                self.column[j] = self.columns;
                self.columns += 1;
                if !self.at.ln_activity[j].is_finite() {
                    self.at.ln_activity[j] = start::ln_of_unknown(self.problem.totals[j]);
                }
            } else {
                self.at.ln_activity[j] = f64::NEG_INFINITY;
            }
        }
    }

    fn list_species(&mut self) {
        for (place, species) in (0u8..).zip(self.species) {
            if species
                .parts
                .iter()
                .all(|(j, _)| self.column[*j] != NOWHERE)
            {
                self.there[self.count] = place;
                self.count += 1;
            }
        }
    }

    fn run(mut self, longest: f64) -> Result<Answer, Stalled> {
        for step in 0..MOST_STEPS {
            self.evaluate();
            let moved = self.step(longest)?;
            if moved < STEP_DONE {
                self.evaluate();
                self.at.steps = step + 1;
                return Ok(self.at);
            }
        }
        Err(Stalled::Steps)
    }

    /// Moles of every species at the present activities.
    fn evaluate(&mut self) {
        // A guard against overflow on the way; no answer is near it.
        const LN_MOST: f64 = 40.0;
        let strength = self.at.ionic_strength;
        let root = strength.sqrt();
        let ln_water_kg = self.at.water_kg.ln();
        for &place in &self.there[..self.count] {
            let i = usize::from(place);
            let gamma = self.problem.constants.gamma[i];
            let inverse = 1.0 / (1.0 + gamma.size * root);
            let ln_gamma = gamma.limiting * root * inverse + gamma.slope * strength;
            self.slope[i] = 0.5 * gamma.limiting * inverse * inverse / root + gamma.slope;
            let species = &self.species[i];
            let mut ln_n = ln_water_kg + self.problem.constants.ln_k[i] - ln_gamma
                + species.makeup.water * self.at.ln_water_activity;
            for &(j, n) in &species.parts {
                ln_n += n * self.at.ln_activity[j];
            }
            self.at.moles[i] = ln_n.min(LN_MOST).exp();
        }
    }

    /// Takes a step no longer than `longest`; gives its length.
    fn step(&mut self, longest: f64) -> Result<f64, Stalled> {
        let (mut a, mut b, size) = self.equations();
        if !lu::solve(&mut a, &mut b, size) {
            return Err(Stalled::Singular);
        }
        let strength_place = self.columns;
        let far = b[..=strength_place]
            .iter()
            .fold(0.0_f64, |most, x| most.max(x.abs()));
        let share = if far > longest { longest / far } else { 1.0 };
        for j in 0..COMPONENTS {
            if self.column[j] != NOWHERE {
                self.at.ln_activity[j] += share * b[self.column[j]];
            }
        }
        let strength = self.at.ionic_strength * (share * b[strength_place]).exp();
        self.at.ionic_strength = strength.clamp(LEAST_STRENGTH, MOST_STRENGTH);
        for (k, amount) in self.at.amounts[..self.problem.buffers.len()]
            .iter_mut()
            .enumerate()
        {
            *amount += b[strength_place + 1 + k];
        }
        self.follow_water();
        Ok(far)
    }

    /// The linear equations of the next step: one row a component, scaled by what
    /// there is of it, one for ln ionic strength, and the conditions.
    fn equations(&self) -> ([[f64; UNKNOWNS]; UNKNOWNS], [f64; UNKNOWNS], usize) {
        let strength_place = self.columns;
        let size = self.columns + 1 + self.problem.buffers.len();
        let mut a = [[0.0; UNKNOWNS]; UNKNOWNS];
        let mut b = [0.0; UNKNOWNS];
        let mut scale = [0.0; COMPONENTS];
        let mut found_strength = f64::MIN_POSITIVE;
        for &place in &self.there[..self.count] {
            let i = usize::from(place);
            let species = &self.species[i];
            let moles = self.at.moles[i];
            let slope = self.slope[i] * self.at.ionic_strength;
            let weight = 0.5 * species.charge * species.charge * moles / self.at.water_kg;
            found_strength += weight;
            a[strength_place][strength_place] += weight * slope;
            for &(j, n) in &species.parts {
                let row = self.column[j];
                let held = n * moles;
                b[row] -= held;
                scale[row] += held.abs();
                a[row][strength_place] -= held * slope;
                a[strength_place][row] -= weight * n;
                for &(k, m) in &species.parts {
                    a[row][self.column[k]] += held * m;
                }
            }
        }
        a[strength_place]
            .iter_mut()
            .for_each(|x| *x /= found_strength);
        a[strength_place][strength_place] += 1.0;
        b[strength_place] = (found_strength / self.at.ionic_strength).ln();
        self.add_totals(&mut a, &mut b, &scale);
        self.add_conditions(&mut a, &mut b);
        (a, b, size)
    }

    /// The totals and what the buffers bring; then every row of a component is
    /// divided by its scale.
    fn add_totals(
        &self,
        a: &mut [[f64; UNKNOWNS]; UNKNOWNS],
        b: &mut [f64; UNKNOWNS],
        scale: &[f64; COMPONENTS],
    ) {
        for j in 0..COMPONENTS {
            let row = self.column[j];
            if row == NOWHERE {
                continue;
            }
            b[row] += self.problem.totals[j];
            for (k, buffer) in self.problem.buffers.iter().enumerate() {
                a[row][self.columns + 1 + k] -= buffer.makeup.of[j];
                b[row] += buffer.makeup.of[j] * self.at.amounts[k];
            }
            let inverse = 1.0 / scale[row].max(f64::MIN_POSITIVE);
            a[row].iter_mut().for_each(|x| *x *= inverse);
            b[row] *= inverse;
        }
    }

    fn add_conditions(&self, a: &mut [[f64; UNKNOWNS]; UNKNOWNS], b: &mut [f64; UNKNOWNS]) {
        for (k, buffer) in self.problem.buffers.iter().enumerate() {
            let row = self.columns + 1 + k;
            for j in 0..COMPONENTS {
                if buffer.condition.of[j] != 0.0 && self.column[j] != NOWHERE {
                    a[row][self.column[j]] = buffer.condition.of[j];
                }
            }
            b[row] = buffer.ln_target - self.at.ln_product(&buffer.condition);
        }
    }

    /// Water's activity and mass follow one step behind: they hardly move.
    ///
    /// Activity: 1 − 0.017 Σ m (Garrels & Christ 1965, as PHREEQC has it).
    fn follow_water(&mut self) {
        let dissolved: f64 = self.at.moles.iter().sum();
        let activity = 1.0 - 0.017 * dissolved / self.at.water_kg;
        self.at.ln_water_activity = activity.max(0.5).ln();
        if let WaterMass::Total(mol) = self.problem.water {
            let brought: f64 = (self.problem.buffers.iter().zip(self.at.amounts))
                .map(|(buffer, amount)| buffer.makeup.water * amount)
                .sum();
            let free = mol + brought - bound_water(&self.at.moles);
            self.at.water_kg = (free / WATER_MOL_PER_KG).clamp(0.5, 2.0);
        }
    }
}
