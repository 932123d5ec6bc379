//! Where Newton's method starts: the water without its pairs, its pH found by
//! halving.

use super::constants::Constants;
use super::kernel::{Answer, Buffer, MAX_BUFFERS, Problem, present};
use super::table::{
    COMPONENTS, MAX_SPECIES, Species, component::CO3, component::H, table, weighted,
};

/// A rough answer to a problem.
pub(super) fn sketch(problem: &Problem<'_>) -> Answer {
    let ionic_strength = strength(problem);
    let alkalinity = weighted(&problem.totals, &table().alkalinity);
    let ladders = Ladders::of(problem, ionic_strength, alkalinity);
    let held = problem.buffers.iter().find_map(Buffer::held_ln_h);
    let ln_h = held.unwrap_or_else(|| ladders.halve(alkalinity));
    let mut ln_activity = [f64::NEG_INFINITY; COMPONENTS];
    for (j, ln) in ln_activity.iter_mut().enumerate() {
        if present(problem, j) {
            let ln_gamma = problem.constants.gamma[j].ln_at(ionic_strength);
            *ln = ln_of_unknown(problem.totals[j]) + ln_gamma;
        }
    }
    ln_activity[H] = ln_h;
    for ladder in &ladders.steps[..ladders.count] {
        ln_activity[ladder.component] = ladder.ln_activity(ln_h);
    }
    if held.is_some() && problem.totals[CO3] <= 0.0 && present(problem, CO3) {
        ln_activity[CO3] = ladders.ln_carbonate(ln_h, alkalinity);
    }
    Answer {
        ln_activity,
        moles: [0.0; MAX_SPECIES],
        ionic_strength,
        water_kg: 1.0,
        ln_water_activity: 0.0,
        amounts: [0.0; MAX_BUFFERS],
        steps: 0,
    }
}

/// ln activity of a component, as if all of it stood by itself; of one that is
/// yet to come, something small.
pub(super) fn ln_of_unknown(total: f64) -> f64 {
    if total > 0.0 {
        total.ln()
    } else {
        1e-4_f64.ln()
    }
}

/// Half of Σ z² T, with carbonate as the bicarbonate that alkalinity stands for.
fn strength(problem: &Problem<'_>) -> f64 {
    let table = table();
    let squares = table.charge.map(|z| z * z);
    let mut totals = problem.totals;
    totals[H] = 0.0;
    totals[CO3] = 0.0;
    let alkalinity = weighted(&problem.totals, &table.alkalinity).abs();
    (0.5 * (weighted(&totals, &squares) + alkalinity)).clamp(1e-7, 2.0)
}

/// A component with the protons it takes up.
#[derive(Clone, Copy)]
struct Ladder {
    component: usize,
    amount: Amount,
    /// Of each form: protons, ln of moles at unit activities, alkalinity.
    forms: [(f64, f64, f64); MAX_FORMS],
    count: usize,
}

/// What there is of a component.
#[derive(Clone, Copy)]
enum Amount {
    Total(f64),
    /// ln(activity) + protons·ln h = so much.
    Held {
        ln_target: f64,
        protons: f64,
    },
}

struct Ladders {
    steps: [Ladder; MAX_LADDERS],
    count: usize,
    /// ln of moles of hydroxide and of hydrogen ion at unit activities.
    ln_hydroxide: f64,
    ln_proton: f64,
}

/// The forms of citrate, and the components that take up protons.
const MAX_FORMS: usize = 4;
const MAX_LADDERS: usize = 8;

impl Ladder {
    const NONE: Self = Self {
        component: 0,
        amount: Amount::Total(0.0),
        forms: [(0.0, 0.0, 0.0); MAX_FORMS],
        count: 0,
    };

    fn ln_activity(&self, ln_h: f64) -> f64 {
        match self.amount {
            Amount::Total(total) => total.ln() - self.sum(ln_h, |_| 1.0).ln(),
            Amount::Held { ln_target, protons } => ln_target - protons * ln_h,
        }
    }

    fn alkalinity(&self, ln_h: f64) -> f64 {
        let ratio = self.sum(ln_h, |alkalinity| alkalinity);
        match self.amount {
            Amount::Total(total) => total * ratio / self.sum(ln_h, |_| 1.0),
            Amount::Held { .. } => ratio * self.ln_activity(ln_h).min(40.0).exp(),
        }
    }

    /// Σ weight × moles of each form at unit activity of the component.
    fn sum(&self, ln_h: f64, weight: impl Fn(f64) -> f64) -> f64 {
        let forms = self.forms[..self.count].iter();
        forms
            .map(|(protons, ln, a)| weight(*a) * (ln + protons * ln_h).exp())
            .sum()
    }
}

impl Ladders {
    fn of(problem: &Problem<'_>, strength: f64, alkalinity: f64) -> Self {
        let constants = problem.constants;
        let mut ladders = Self {
            steps: [Ladder::NONE; MAX_LADDERS],
            count: 0,
            ln_hydroxide: 0.0,
            ln_proton: -constants.gamma[H].ln_at(strength),
        };
        for (place, species) in table().species.iter().enumerate() {
            if species.parts().len() == 1 && species.makeup.of[H] == -1.0 {
                ladders.ln_hydroxide = ln_form(constants, place, strength);
            }
            let Some(component) = partner(species) else {
                continue;
            };
            if present(problem, component) {
                let bare = ln_form(constants, component, strength);
                let ladder = ladders.find(component, bare, amount(problem, component, alkalinity));
                let form = (
                    species.makeup.of[H],
                    ln_form(constants, place, strength),
                    species.alkalinity,
                );
                ladder.push(form);
            }
        }
        ladders
    }

    /// The ladder of a component, begun with its bare form where it is new.
    fn find(&mut self, component: usize, ln_bare: f64, amount: Amount) -> &mut Ladder {
        let known = self.steps[..self.count]
            .iter()
            .position(|l| l.component == component);
        let at = known.unwrap_or(self.count.min(MAX_LADDERS - 1));
        if known.is_none() {
            self.steps[at] = Ladder {
                component,
                amount,
                ..Ladder::NONE
            };
            self.steps[at].push((0.0, ln_bare, table().alkalinity[component]));
            self.count = at + 1;
        }
        &mut self.steps[at]
    }

    fn acid_base(&self, ln_h: f64) -> f64 {
        (self.ln_hydroxide - ln_h).exp() - (self.ln_proton + ln_h).exp()
    }

    /// ln activity of carbonate that makes up an alkalinity at a pH.
    fn ln_carbonate(&self, ln_h: f64, alkalinity: f64) -> f64 {
        let carbonate = (alkalinity - self.acid_base(ln_h)).max(1e-7);
        let ladder = self.steps[..self.count].iter().find(|l| l.component == CO3);
        ladder
            .map_or(carbonate, |l| carbonate / l.sum(ln_h, |a| a))
            .ln()
    }

    /// ln h at which the forms carry an alkalinity. It grows with the pH, so
    /// halving finds it.
    fn halve(&self, alkalinity: f64) -> f64 {
        const HALVINGS: usize = 10;
        let at = |ln_h: f64| {
            let ladders = self.steps[..self.count].iter();
            ladders.map(|l| l.alkalinity(ln_h)).sum::<f64>() + self.acid_base(ln_h)
        };
        let (mut low, mut high) = (-34.0, 1.0);
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if at(middle) > alkalinity {
                low = middle;
            } else {
                high = middle;
            }
        }
        0.5 * (low + high)
    }
}

impl Ladder {
    fn push(&mut self, form: (f64, f64, f64)) {
        if let Some(place) = self.forms.get_mut(self.count) {
            *place = form;
            self.count += 1;
        }
    }
}

/// ln of moles in a kilogram of water at unit activities.
fn ln_form(constants: &Constants, place: usize, strength: f64) -> f64 {
    constants.ln_k[place] - constants.gamma[place].ln_at(strength)
}

/// The one component that a species holds beside protons.
fn partner(species: &Species) -> Option<usize> {
    match species.parts() {
        [(H, _), (j, 1.0)] => Some(*j),
        _ => None,
    }
}

fn amount(problem: &Problem<'_>, j: usize, alkalinity: f64) -> Amount {
    let is_gas = |b: &&Buffer| b.condition.of[CO3] == 1.0 && b.condition.of[H] == 2.0;
    match problem.buffers.iter().find(is_gas) {
        Some(gas) if j == CO3 => Amount::Held {
            ln_target: gas.ln_target,
            protons: 2.0,
        },
        _ if problem.totals[j] > 0.0 => Amount::Total(problem.totals[j]),
        // What a buffer brings of it: about as much as there is alkalinity.
        _ => Amount::Total(alkalinity.abs().max(1e-5)),
    }
}
