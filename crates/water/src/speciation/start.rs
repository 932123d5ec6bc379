//! Where Newton's method starts: the water without pairs and without activity
//! coefficients, its pH found by halving.

use super::kernel::{Answer, MAX_BUFFERS, Problem, present};
use super::table::{
    COMPONENTS, MAX_SPECIES, Species, component::CO3, component::H, table, weighted,
};

/// A rough answer to a problem.
pub(super) fn sketch(problem: &Problem<'_>) -> Answer {
    let ladders = ladders(problem);
    let ln_h = (problem
        .buffers
        .iter()
        .find_map(super::kernel::Buffer::held_ln_h))
    .unwrap_or_else(|| halve(&ladders, weighted(&problem.totals, &table().alkalinity)));
    let mut ln_activity = [f64::NEG_INFINITY; COMPONENTS];
    for (j, ln) in ln_activity.iter_mut().enumerate() {
        if present(problem, j) {
            *ln = ln_of_unknown(problem.totals[j]);
        }
    }
    ln_activity[H] = ln_h;
    for ladder in &ladders.steps {
        ln_activity[ladder.component] = ladder.ln_activity(ln_h);
    }
    Answer {
        ln_activity,
        moles: [0.0; MAX_SPECIES],
        ionic_strength: strength(problem),
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

/// Half of Σ z² T, which overstates weak acids and so starts on the safe side.
fn strength(problem: &Problem<'_>) -> f64 {
    let squares = table().charge.map(|z| z * z);
    let mut totals = problem.totals;
    totals[H] = 0.0;
    (0.5 * weighted(&totals, &squares)).clamp(1e-6, 1.0)
}

/// A component with the protons it takes up.
struct Ladder {
    component: usize,
    /// What there is of it, or its activity where that is given.
    amount: Amount,
    /// Protons, ln K and alkalinity of every form.
    forms: Vec<(f64, f64, f64)>,
}

enum Amount {
    Total(f64),
    /// ln(activity) + protons·ln h = so much.
    Held {
        ln_target: f64,
        protons: f64,
    },
}

struct Ladders {
    steps: Vec<Ladder>,
    ln_k_water: f64,
}

impl Ladder {
    fn ln_activity(&self, ln_h: f64) -> f64 {
        match self.amount {
            Amount::Total(total) => {
                let forms: f64 = self
                    .forms
                    .iter()
                    .map(|(n, k, _)| (k + n * ln_h).exp())
                    .sum();
                total.ln() - forms.ln()
            }
            Amount::Held { ln_target, protons } => ln_target - protons * ln_h,
        }
    }

    fn alkalinity(&self, ln_h: f64) -> f64 {
        let ln_activity = self.ln_activity(ln_h);
        let form = |(n, k, alkalinity): &(f64, f64, f64)| {
            alkalinity * (k + n * ln_h + ln_activity).min(40.0).exp()
        };
        self.forms.iter().map(form).sum()
    }
}

fn ladders(problem: &Problem<'_>) -> Ladders {
    let ln_k = &problem.constants.ln_k;
    let mut steps: Vec<Ladder> = vec![];
    let mut ln_k_water = 0.0;
    for (species, ln_k) in table().species.iter().zip(ln_k) {
        if species.parts.len() == 1 && species.makeup.of[H] == -1.0 {
            ln_k_water = *ln_k;
        }
        let Some(component) = partner(species) else {
            continue;
        };
        let Some(amount) = amount(problem, component) else {
            continue;
        };
        let form = (species.makeup.of[H], *ln_k, species.alkalinity);
        match steps
            .iter_mut()
            .find(|ladder| ladder.component == component)
        {
            Some(ladder) => ladder.forms.push(form),
            None => {
                let bare = (0.0, 0.0, table().alkalinity[component]);
                steps.push(Ladder {
                    component,
                    amount,
                    forms: vec![bare, form],
                });
            }
        }
    }
    Ladders { steps, ln_k_water }
}

/// The one component that a species holds beside protons.
fn partner(species: &Species) -> Option<usize> {
    let mut others = species.parts.iter().filter(|(j, _)| *j != H);
    match (others.next(), others.next(), species.makeup.of[H] != 0.0) {
        (Some(&(j, 1.0)), None, true) => Some(j),
        _ => None,
    }
}

fn amount(problem: &Problem<'_>, j: usize) -> Option<Amount> {
    let gas = problem
        .buffers
        .iter()
        .find(|b| b.condition.of[CO3] == 1.0 && b.condition.of[H] == 2.0);
    match gas {
        Some(gas) if j == CO3 => Some(Amount::Held {
            ln_target: gas.ln_target,
            protons: 2.0,
        }),
        _ if problem.totals[j] > 0.0 => Some(Amount::Total(problem.totals[j])),
        _ if present(problem, j) => Some(Amount::Total(supply(problem))),
        _ => None,
    }
}

/// A guess of what a buffer brings of a component that is not there yet: about as
/// much as there is alkalinity \[mol\].
fn supply(problem: &Problem<'_>) -> f64 {
    weighted(&problem.totals, &table().alkalinity)
        .abs()
        .max(1e-5)
}

/// ln h at which the forms carry an alkalinity. It grows with the pH, so halving
/// finds it.
fn halve(ladders: &Ladders, alkalinity: f64) -> f64 {
    const HALVINGS: usize = 14;
    let at = |ln_h: f64| {
        let acids: f64 = ladders
            .steps
            .iter()
            .map(|ladder| ladder.alkalinity(ln_h))
            .sum();
        acids + (ladders.ln_k_water - ln_h).exp() - ln_h.exp()
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
