//! Where Newton's method starts: the water without its pairs, its pH found by
//! halving.

use super::compiled::{Rungs, compiled};
use super::constants::Constants;
use super::gas::carbon_dioxide;
use super::kernel::{Answer, Buffer, Layout, MAX_BUFFERS, Problem, ln_water_activity};
use super::table::component::{CA, CO3, H, MG, SO4};
use super::table::{COMPONENTS, table, weighted};

/// A rough answer to a problem.
pub(super) fn sketch(problem: &Problem<'_>, layout: &Layout) -> Answer {
    let alkalinity = weighted(&problem.totals, &table().alkalinity);
    let bare = strength(problem, alkalinity);
    let paired = paired_sulfate(problem, bare.sqrt());
    // Each pair takes two ions of charge two out of the sum.
    let ionic_strength = (bare - 4.0 * paired).max(0.2 * bare);
    let root = ionic_strength.sqrt();
    let held = problem.buffers.iter().find_map(Buffer::held_ln_h);
    let ladders = Ladders::of(problem, layout, root, alkalinity, held.is_none());
    let ln_h = held.unwrap_or_else(|| ladders.halve(alkalinity));
    let mut ln_activity = [f64::NEG_INFINITY; COMPONENTS];
    for &j in layout.columns() {
        let ln_gamma = problem.constants.ln_gamma(j, root);
        ln_activity[j] = ln_of_unknown(problem.totals[j]) + ln_gamma;
    }
    ln_activity[H] = ln_h;
    for ladder in ladders.all() {
        ln_activity[ladder.component] = ladder.ln_activity(ln_h);
    }
    ln_activity[SO4] += (-paired / problem.totals[SO4].max(f64::MIN_POSITIVE)).ln_1p();
    if held.is_some() && problem.totals[CO3] <= 0.0 && layout.holds(CO3) {
        ln_activity[CO3] = ladders.ln_carbonate(ln_h, alkalinity);
    }
    let dissolved: f64 = problem.totals.iter().skip(1).map(|n| n.max(0.0)).sum();
    Answer {
        ln_activity,
        ionic_strength,
        water_kg: 1.0,
        ln_water_activity: ln_water_activity(dissolved + alkalinity.abs()),
        amounts: [0.0; MAX_BUFFERS],
        water_mol: 0.0,
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
fn strength(problem: &Problem<'_>, alkalinity: f64) -> f64 {
    let charge = table().charge;
    let there = (0..COMPONENTS).filter(|j| *j != H && *j != CO3);
    let sum: f64 = there
        .map(|j| charge[j] * charge[j] * problem.totals[j])
        .sum();
    (0.5 * (sum + alkalinity.abs())).clamp(1e-7, 2.0)
}

/// Sulfate in pairs with calcium and magnesium \[mol/kg\], as if both paired as calcium
/// does: the pairs that move the ionic strength most. x = K (M − x) (S − x).
fn paired_sulfate(problem: &Problem<'_>, root: f64) -> f64 {
    let (metal, sulfate) = (problem.totals[CA] + problem.totals[MG], problem.totals[SO4]);
    if !(metal > 0.0 && sulfate > 0.0) {
        return 0.0;
    }
    let constants = problem.constants;
    let ln_gamma = constants.ln_gamma(CA, root) + constants.ln_gamma(SO4, root);
    let k = (constants.ln_k[compiled().calcium_sulfate] + ln_gamma).exp();
    let half = 0.5 * (metal + sulfate + 1.0 / k);
    half - (half * half - metal * sulfate).max(0.0).sqrt()
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

/// The forms of citrate, and the components that take up or give off protons.
const MAX_FORMS: usize = 4;
const MAX_LADDERS: usize = 10;

impl Ladder {
    const NONE: Self = Self {
        component: 0,
        amount: Amount::Total(0.0),
        forms: [(0.0, 0.0, 0.0); MAX_FORMS],
        count: 0,
    };

    fn of(constants: &Constants, rungs: &Rungs, amount: Amount, root: f64) -> Self {
        let mut ladder = Self {
            component: rungs.component,
            amount,
            ..Self::NONE
        };
        for (form, rung) in ladder.forms.iter_mut().zip(&rungs.forms) {
            let ln = ln_form(constants, rung.place, root);
            *form = (rung.protons, ln, rung.alkalinity);
            ladder.count += 1;
        }
        ladder
    }

    fn ln_activity(&self, ln_h: f64) -> f64 {
        match self.amount {
            Amount::Total(total) => (total / self.sum(ln_h, |_| 1.0)).ln(),
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
    /// Those of the columns, and of all components where the pH is to be found.
    fn of(problem: &Problem<'_>, layout: &Layout, root: f64, alkalinity: f64, all: bool) -> Self {
        let constants = problem.constants;
        let mut ladders = Self {
            steps: [Ladder::NONE; MAX_LADDERS],
            count: 0,
            ln_hydroxide: ln_form(constants, compiled().hydroxide, root),
            ln_proton: ln_form(constants, H, root),
        };
        for rungs in &compiled().ladders {
            let j = rungs.component;
            let asked = layout.columns().contains(&j) || (all && layout.holds(j));
            if let (true, Some(next)) = (asked, ladders.steps.get_mut(ladders.count)) {
                *next = Ladder::of(constants, rungs, amount(problem, j, alkalinity), root);
                ladders.count += 1;
            }
        }
        ladders
    }

    fn all(&self) -> &[Ladder] {
        &self.steps[..self.count]
    }

    fn acid_base(&self, ln_h: f64) -> f64 {
        (self.ln_hydroxide - ln_h).exp() - (self.ln_proton + ln_h).exp()
    }

    /// ln activity of carbonate that makes up an alkalinity at a pH.
    fn ln_carbonate(&self, ln_h: f64, alkalinity: f64) -> f64 {
        let carbonate = (alkalinity - self.acid_base(ln_h)).max(1e-7);
        let ladder = self.all().iter().find(|l| l.component == CO3);
        ladder
            .map_or(carbonate, |l| carbonate / l.sum(ln_h, |a| a))
            .ln()
    }

    /// ln h at which the forms carry an alkalinity. It grows with the pH, so
    /// halving finds it.
    fn halve(&self, alkalinity: f64) -> f64 {
        const HALVINGS: usize = 10;
        let at = |ln_h: f64| {
            let ladders = self.all().iter();
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

/// ln of moles in a kilogram of water at unit activities.
fn ln_form(constants: &Constants, place: usize, root: f64) -> f64 {
    constants.ln_k[place] - constants.ln_gamma(place, root)
}

fn amount(problem: &Problem<'_>, j: usize, alkalinity: f64) -> Amount {
    let is_gas = |b: &&Buffer| b.condition == *carbon_dioxide();
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
