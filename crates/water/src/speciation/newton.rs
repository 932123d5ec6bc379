//! Newton's method on the equations of a water.
//!
//! Of each component with an equation of its own the total is matched, Σ ν n = T, and
//! the ionic strength that activity coefficients are taken at is the one that comes
//! out. A follower's species share its total out, n = T w/Σ w with w their amounts at
//! unit activity of the follower, so that T is matched exactly on the way.

use std::ops::Range;

use super::compiled::{Row, compiled};
use super::exp::exp_all;
use super::kernel::{
    Answer, Buffer, Layout, MAX_BUFFERS, Problem, Stalled, WATER_MOL_PER_KG, WaterMass,
    ln_water_activity,
};
use super::lu;
use super::start;
use super::table::{COMPONENTS, MAX_SPECIES, component::H};

/// The last step \[in ln activity\]: as convergence is quadratic, what is left is
/// far less.
const STEP_DONE: f64 = 1e-6;
/// The last change of the mass of water, which follows the rest.
const LAG_DONE: f64 = 1e-10;
const MOST_STEPS: usize = 200;
/// Ionic strength is kept within these on the way \[mol/kg\]; no answer is near
/// them.
const LEAST_STRENGTH: f64 = 1e-12;
const MOST_STRENGTH: f64 = 10.0;

/// The species that are there, each array in the order of the groups.
///
/// `D` is room for the unknowns that amounts depend on: ln I, then a column for each
/// component with an equation of its own, hydrogen ion in the last.
struct Species<const D: usize> {
    count: usize,
    /// How ln n changes with each unknown.
    numbers: [[f64; D]; MAX_SPECIES],
    ln_k: [f64; MAX_SPECIES],
    /// ln γ = limiting·√I/(1 + size·√I) + slope·I.
    limiting: [f64; MAX_SPECIES],
    size: [f64; MAX_SPECIES],
    slope: [f64; MAX_SPECIES],
    water: [f64; MAX_SPECIES],
    half_z2: [f64; MAX_SPECIES],
    /// Amounts \[mol\]; of a follower's species, at its unit activity.
    amounts: [f64; MAX_SPECIES],
}

/// Species that lie together: those that follow nothing, or those of one follower.
#[derive(Clone, Copy)]
struct Group<const D: usize> {
    end: usize,
    follower: Option<Follower<D>>,
}

#[derive(Clone, Copy)]
struct Follower<const D: usize> {
    component: usize,
    total: f64,
    /// Σ w.
    at_unit: f64,
    /// How ln Σ w changes with each unknown.
    change: [f64; D],
}

/// One run of Newton's method.
pub(super) struct Newton<'a, const D: usize> {
    problem: &'a Problem<'a>,
    layout: &'a Layout,
    species: Species<D>,
    groups: [Group<D>; COMPONENTS + 1],
    group_count: usize,
    /// Followers in no pair: moles, and half of charge squared of them. All of them
    /// stands by itself.
    alone_mol: f64,
    alone_strength: f64,
    /// ln activity by column; the place of ln I is zero here.
    ln_activity: [f64; D],
    strength: f64,
    water_kg: f64,
    ln_water_activity: f64,
    amounts: [f64; MAX_BUFFERS],
    water_mol: f64,
    /// The one buffer, where it holds the pH and can be reckoned afterwards.
    holding: Option<&'a Buffer>,
}

/// Sums over the species.
struct Sums<const D: usize> {
    /// Σ ν n, and how it changes with each unknown; none of it for ln I.
    held: [f64; D],
    change: [[f64; D]; D],
    /// Σ z² n/2, and how it changes.
    strength: f64,
    strength_change: [f64; D],
    /// Σ n, and how it changes.
    dissolved: f64,
    dissolved_change: [f64; D],
    /// Water in other species \[mol\].
    bound: f64,
}

/// The linear equations of a step: ln I, the columns, the buffers from place `D`.
struct Equations<const M: usize> {
    a: [[f64; M]; M],
    b: [f64; M],
}

impl<'a, const D: usize> Newton<'a, D> {
    pub fn new(problem: &'a Problem<'a>, layout: &'a Layout) -> Self {
        Self {
            problem,
            layout,
            species: Species {
                count: 0,
                numbers: [[0.0; D]; MAX_SPECIES],
                ln_k: [0.0; MAX_SPECIES],
                limiting: [0.0; MAX_SPECIES],
                size: [0.0; MAX_SPECIES],
                slope: [0.0; MAX_SPECIES],
                water: [0.0; MAX_SPECIES],
                half_z2: [0.0; MAX_SPECIES],
                amounts: [0.0; MAX_SPECIES],
            },
            groups: [Group {
                end: 0,
                follower: None,
            }; COMPONENTS + 1],
            group_count: 0,
            alone_mol: 0.0,
            alone_strength: 0.0,
            ln_activity: [0.0; D],
            strength: 0.0,
            water_kg: 1.0,
            ln_water_activity: 0.0,
            amounts: [0.0; MAX_BUFFERS],
            water_mol: 0.0,
            holding: holding(problem),
        }
    }

    /// Lists the species that are there.
    pub fn list(&mut self) {
        let all = compiled().rows.chunk_by(|a, b| a.follows == b.follows);
        for rows in all {
            let first = self.species.count;
            let there = rows.iter().filter(|row| self.layout.holds_all(row.holds));
            for row in there {
                self.species.push(row, self.problem, self.layout.columns());
            }
            let end = self.species.count;
            let follows = rows.first().and_then(|row| row.follows);
            let known = follows.filter(|j| !self.layout.columns().contains(j));
            match known {
                Some(j) if end == first + 1 => {
                    self.alone_mol += self.problem.totals[j];
                    self.alone_strength += self.species.half_z2[first] * self.problem.totals[j];
                    self.species.count = first;
                }
                _ if end > first => {
                    let follower = known.map(|component| Follower {
                        component,
                        total: self.problem.totals[component],
                        at_unit: 1.0,
                        change: [0.0; D],
                    });
                    self.groups[self.group_count] = Group { end, follower };
                    self.group_count += 1;
                }
                _ => {}
            }
        }
    }

    /// Runs from an answer, with no step longer than `longest`.
    pub fn run<const M: usize>(&mut self, from: &Answer, longest: f64) -> Result<Answer, Stalled> {
        self.start(from);
        let mut equations = Equations {
            a: [[0.0; M]; M],
            b: [0.0; M],
        };
        let mut ln_water_kg = self.water_kg.ln();
        for step in 0..MOST_STEPS {
            self.species.evaluate(
                &self.ln_activity,
                self.strength,
                self.ln_water_activity,
                ln_water_kg,
            );
            let sums = self.sums();
            self.fill(&sums, &mut equations);
            let far = self.step(&sums, &mut equations, longest)?;
            let lag = self.follow_water(&sums, &equations.b);
            if far < STEP_DONE && lag < LAG_DONE {
                return Ok(self.answer(&equations.b, step + 1));
            }
            if lag > 0.0 {
                ln_water_kg = self.water_kg.ln();
            }
        }
        Err(Stalled::Steps)
    }

    fn start(&mut self, from: &Answer) {
        self.ln_activity = [0.0; D];
        for (ln, &j) in self.ln_activity[1..].iter_mut().zip(self.layout.columns()) {
            let known = from.ln_activity[j];
            *ln = if known.is_finite() {
                known
            } else {
                start::ln_of_unknown(self.problem.totals[j])
            };
        }
        let held = self.holding.and_then(Buffer::held_ln_h);
        self.ln_activity[D - 1] = held.unwrap_or(from.ln_activity[H]);
        self.strength = from.ionic_strength;
        self.water_kg = from.water_kg;
        self.ln_water_activity = from.ln_water_activity;
        self.amounts = [0.0; MAX_BUFFERS];
    }

    fn sums(&mut self) -> Sums<D> {
        let mut sums = Sums::new(self.alone_strength, self.alone_mol);
        let mut first = 0;
        for group in &mut self.groups[..self.group_count] {
            let amounts = &mut self.species.amounts[first..group.end];
            match &mut group.follower {
                Some(follower) => {
                    follower.share_out(amounts);
                    sums.dissolved += follower.total;
                    let held = sums.add(&self.species, first..group.end);
                    sums.hold(&held, follower);
                }
                None => {
                    sums.dissolved += amounts.iter().sum::<f64>();
                    let held = sums.add(&self.species, first..group.end).held;
                    for (change, held) in sums.dissolved_change.iter_mut().zip(held) {
                        *change += held;
                    }
                }
            }
            first = group.end;
        }
        sums
    }

    /// Each row of a component is scaled by how it changes with its own activity.
    fn fill<const M: usize>(&self, sums: &Sums<D>, equations: &mut Equations<M>) {
        let Equations { a, b } = equations;
        // f = ln(I that comes out) − ln I.
        let found = sums.strength / self.water_kg + f64::MIN_POSITIVE;
        a[0] = padded(&sums.strength_change, -1.0 / (found * self.water_kg));
        a[0][0] += 1.0;
        b[0] = (found / self.strength).ln();
        let hydrogen = self.left(sums, H, D - 1);
        for row in 1..D - 1 {
            let Some(&j) = self.layout.columns().get(row - 1) else {
                // No such column: nothing moves there.
                a[row] = [0.0; M];
                a[row][row] = 1.0;
                b[row] = 0.0;
                continue;
            };
            let mut change = sums.change[row];
            let mut left = self.left(sums, j, row);
            if let Some(holding) = self.holding {
                // The amount that was brought is taken out between two rows.
                let share = holding.makeup.of[j] / holding.makeup.of[H];
                left -= share * hydrogen;
                for (mine, hydrogen) in change.iter_mut().zip(sums.change[D - 1]) {
                    *mine -= share * hydrogen;
                }
            }
            let inverse = 1.0 / change[row].max(f64::MIN_POSITIVE);
            a[row] = padded(&change, inverse);
            b[row] = left * inverse;
            self.fill_amounts(&mut a[row], j, inverse);
        }
        let inverse = 1.0 / sums.change[D - 1][D - 1].max(f64::MIN_POSITIVE);
        a[D - 1] = padded(&sums.change[D - 1], inverse);
        b[D - 1] = hydrogen * inverse;
        self.fill_amounts(&mut a[D - 1], H, inverse);
        self.fill_conditions(equations);
    }

    /// What a component's species do not hold of all there is of it.
    fn left(&self, sums: &Sums<D>, j: usize, row: usize) -> f64 {
        let brought = (self.problem.buffers.iter().zip(self.amounts))
            .map(|(buffer, amount)| buffer.makeup.of[j] * amount);
        self.problem.totals[j] - sums.held[row] + brought.sum::<f64>()
    }

    fn fill_amounts<const M: usize>(&self, row: &mut [f64; M], j: usize, inverse: f64) {
        for (place, buffer) in row[D..].iter_mut().zip(self.problem.buffers) {
            *place = -buffer.makeup.of[j] * inverse;
        }
    }

    fn fill_conditions<const M: usize>(&self, equations: &mut Equations<M>) {
        for (k, buffer) in self.problem.buffers.iter().enumerate() {
            let mut row = [0.0; M];
            let of = &buffer.condition.of;
            for (number, &j) in row[1..].iter_mut().zip(self.layout.columns()) {
                *number = of[j];
            }
            row[D - 1] = of[H];
            let by_columns: f64 = row.iter().zip(self.ln_activity).map(|(n, ln)| n * ln).sum();
            let by_water = buffer.condition.water * self.ln_water_activity;
            equations.a[D + k] = row;
            equations.b[D + k] = buffer.ln_target - by_water - by_columns;
        }
    }

    /// Takes a step no longer than `longest`; gives the length it should have had, and
    /// leaves in `b` how far it went.
    fn step<const M: usize>(
        &mut self,
        sums: &Sums<D>,
        equations: &mut Equations<M>,
        longest: f64,
    ) -> Result<f64, Stalled> {
        let Equations { a, b } = equations;
        let buffers = self.problem.buffers.len();
        let size = match self.holding {
            Some(_) => D - 1,
            None => D + buffers,
        };
        if !lu::solve(a, b, size) {
            return Err(Stalled::Singular);
        }
        if let Some(holding) = self.holding {
            b[D - 1] = 0.0;
            let held = sums.held[D - 1] + along(&sums.change[D - 1], b);
            b[D] = (held - self.problem.totals[H]) / holding.makeup.of[H] - self.amounts[0];
        }
        let far = b[..D].iter().fold(0.0, |most: f64, x| most.max(x.abs()));
        if far > longest {
            b[..D].iter_mut().for_each(|x| *x *= longest / far);
        }
        for (ln, by) in self.ln_activity[1..].iter_mut().zip(&b[1..]) {
            *ln += by;
        }
        self.strength = (self.strength * b[0].exp()).clamp(LEAST_STRENGTH, MOST_STRENGTH);
        // The conditions and totals are linear in the amounts.
        for (amount, by) in self.amounts.iter_mut().zip(&b[D..D + buffers]) {
            *amount += by;
        }
        Ok(far)
    }

    /// Water's activity and mass follow a step, as they hardly move; gives by how much
    /// its mass did.
    fn follow_water<const M: usize>(&mut self, sums: &Sums<D>, by: &[f64; M]) -> f64 {
        let dissolved = sums.dissolved + along(&sums.dissolved_change, by);
        self.ln_water_activity = ln_water_activity(dissolved / self.water_kg);
        let before = self.water_kg;
        if let WaterMass::Total(mol) = self.problem.water {
            let brought: f64 = (self.problem.buffers.iter().zip(self.amounts))
                .map(|(buffer, amount)| buffer.makeup.water * amount)
                .sum();
            self.water_kg = ((mol + brought - sums.bound) / WATER_MOL_PER_KG).clamp(0.5, 2.0);
        }
        self.water_mol = self.water_kg * WATER_MOL_PER_KG + sums.bound;
        (self.water_kg / before - 1.0).abs()
    }

    /// What the last step, which went so far, arrived at.
    fn answer<const M: usize>(&self, by: &[f64; M], steps: usize) -> Answer {
        let mut ln_activity = [f64::NEG_INFINITY; COMPONENTS];
        for (&j, ln) in self.layout.columns().iter().zip(&self.ln_activity[1..]) {
            ln_activity[j] = *ln;
        }
        ln_activity[H] = self.ln_activity[D - 1];
        let groups = self.groups[..self.group_count].iter();
        for follower in groups.filter_map(|group| group.follower) {
            let ln = (follower.total / follower.at_unit).ln();
            ln_activity[follower.component] = ln - along(&follower.change, by);
        }
        let root = self.strength.sqrt();
        for (j, ln) in ln_activity.iter_mut().enumerate() {
            if self.layout.holds(j) && *ln == f64::NEG_INFINITY {
                let molality = self.problem.totals[j] / self.water_kg;
                *ln = molality.ln() + self.problem.constants.ln_gamma(j, root);
            }
        }
        Answer {
            ln_activity,
            ionic_strength: self.strength,
            water_kg: self.water_kg,
            ln_water_activity: self.ln_water_activity,
            amounts: self.amounts,
            water_mol: self.water_mol,
            steps,
        }
    }
}

/// The buffer that holds the pH, where there is no other. Hydrogen ion is then no
/// unknown, and what was brought follows from its total.
fn holding<'a>(problem: &Problem<'a>) -> Option<&'a Buffer> {
    match problem.buffers {
        [one] if one.makeup.of[H] != 0.0 => one.held_ln_h().map(|_| one),
        _ => None,
    }
}

/// Some numbers, scaled, and zeros behind them.
fn padded<const D: usize, const M: usize>(numbers: &[f64; D], times: f64) -> [f64; M] {
    let mut row = [0.0; M];
    for (place, number) in row.iter_mut().zip(numbers) {
        *place = times * number;
    }
    row
}

/// Σ change × step.
fn along<const D: usize, const M: usize>(change: &[f64; D], by: &[f64; M]) -> f64 {
    change.iter().zip(by).map(|(change, by)| change * by).sum()
}

impl<const D: usize> Species<D> {
    fn push(&mut self, row: &Row, problem: &Problem<'_>, columns: &[usize]) {
        let i = self.count;
        let constants = problem.constants;
        let gamma = constants.slopes.gamma(row.gamma, row.charge);
        for (number, &j) in self.numbers[i][1..].iter_mut().zip(columns) {
            *number = row.of[j];
        }
        self.numbers[i][D - 1] = row.of[H];
        self.ln_k[i] = constants.ln_k[row.place];
        self.limiting[i] = gamma.limiting;
        self.size[i] = gamma.size;
        self.slope[i] = gamma.slope;
        self.water[i] = row.water;
        self.half_z2[i] = row.half_z2;
        self.count += 1;
    }

    /// Amounts of all species at the activities of the columns.
    fn evaluate(
        &mut self,
        ln_activity: &[f64; D],
        strength: f64,
        ln_water_activity: f64,
        ln_water_kg: f64,
    ) {
        let root = strength.sqrt();
        let n = self.count.min(MAX_SPECIES);
        for i in 0..n {
            let inverse = 1.0 / (1.0 + self.size[i] * root);
            let limiting = self.limiting[i] * root * inverse;
            let linear = self.slope[i] * strength;
            self.numbers[i][0] = -(0.5 * limiting * inverse + linear);
            self.amounts[i] =
                self.ln_k[i] + ln_water_kg + self.water[i] * ln_water_activity - limiting - linear;
        }
        for (amount, numbers) in self.amounts[..n].iter_mut().zip(&self.numbers) {
            let columns = numbers[1..].iter().zip(&ln_activity[1..]);
            let by_columns: f64 = columns.map(|(n, ln)| n * ln).sum();
            *amount += by_columns;
        }
        exp_all(&mut self.amounts[..n]);
    }
}

impl<const D: usize> Sums<D> {
    const fn new(strength: f64, dissolved: f64) -> Self {
        Self {
            held: [0.0; D],
            change: [[0.0; D]; D],
            strength,
            strength_change: [0.0; D],
            dissolved,
            dissolved_change: [0.0; D],
            bound: 0.0,
        }
    }

    /// Adds species; gives what they alone hold.
    fn add(&mut self, species: &Species<D>, place: Range<usize>) -> Held<D> {
        let (mut bound, mut strength) = (0.0, 0.0);
        let mut held = [0.0; D];
        let mut strength_change = [0.0; D];
        let mut change = self.change;
        let waters = species.water[place.clone()].iter();
        let squares = species.half_z2[place.clone()].iter();
        let amounts = species.amounts[place.clone()].iter();
        for (((n, numbers), water), half_z2) in amounts
            .zip(&species.numbers[place])
            .zip(waters)
            .zip(squares)
        {
            let weight = half_z2 * n;
            bound += water * n;
            strength += weight;
            for j in 0..D {
                held[j] += numbers[j] * n;
                strength_change[j] += numbers[j] * weight;
            }
            for j in 1..D {
                let part = numbers[j] * n;
                for k in 0..D {
                    change[j][k] += part * numbers[k];
                }
            }
        }
        self.change = change;
        self.bound += bound;
        self.strength += strength;
        for j in 0..D {
            self.held[j] += held[j];
            self.strength_change[j] += strength_change[j];
        }
        Held { held, strength }
    }

    /// Lets the species that were added keep to the total of their follower: from the
    /// change of each the mean is taken off.
    fn hold(&mut self, own: &Held<D>, follower: &mut Follower<D>) {
        let mean = own.held.map(|held| held / follower.total);
        let less = |row: &mut [f64; D], times: f64| {
            for (change, mean) in row.iter_mut().zip(&mean) {
                *change -= times * mean;
            }
        };
        less(&mut self.strength_change, own.strength);
        for (row, held) in self.change.iter_mut().zip(own.held).skip(1) {
            less(row, held);
        }
        follower.change = mean;
    }
}

impl<const D: usize> Follower<D> {
    /// Scales the amounts of its species, which were at its unit activity.
    fn share_out(&mut self, amounts: &mut [f64]) {
        self.at_unit = amounts.iter().sum();
        let times = self.total / self.at_unit;
        amounts.iter_mut().for_each(|n| *n *= times);
    }
}

/// What some species hold.
struct Held<const D: usize> {
    held: [f64; D],
    strength: f64,
}
