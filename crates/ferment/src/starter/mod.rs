//! Starters: yeast grown in a little wort before it meets the batch.

mod growth;
mod plan;
mod whole;

use quantity::{
    Caution, CellDensity, Cells, Duration, Fraction, Gravity, Mass, MassConcentration, Measured,
    Note, Volume,
};

use crate::alcohol::Balance;
use crate::error::{FermentError, within};
use crate::kinetics::common;
use crate::tables::table;
use growth::STILL_VALID;

pub use growth::{still_starter_growth, stirred_starter_growth};
pub use plan::{StarterPlan, StarterWish, plan_starter};
pub(crate) use whole::with_starter;
pub use whole::{WholeStarter, whole_starter};

/// Steps that a starter can have.
pub const MOST_STEPS: usize = 3;
/// Gravity of starter wort that is usual \[°P\] (common practice: 8 to 10).
pub(crate) const USUAL_PLATO: (f64, f64) = (8.0, 10.5);
/// The extract that is weighed for starter wort.
const EXTRACT: &str = "dried malt extract";

/// How a starter is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Stirring {
    /// Left standing, or swirled now and then.
    #[default]
    Still,
    /// On a stirrer, under a loose cover.
    Stirred,
}

impl Stirring {
    /// Its word in documents and questions.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Still => "still",
            Self::Stirred => "stirred",
        }
    }
}

/// A step of a starter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StarterStep {
    /// Volume of starter wort.
    pub volume: Volume,
    /// Its gravity.
    pub gravity: Gravity,
    /// How it is kept.
    pub stirring: Stirring,
}

/// A starter made of the yeast at hand. Between steps the spent wort is poured off.
#[derive(Debug, Clone, PartialEq)]
pub struct Starter {
    /// One to three steps, in order.
    pub steps: Vec<StarterStep>,
    /// Whether the last step goes into the batch with its liquid.
    pub whole: bool,
}

impl Starter {
    /// A starter of one step, poured off before it is pitched.
    #[must_use]
    pub fn of(step: StarterStep) -> Self {
        Self {
            steps: vec![step],
            whole: false,
        }
    }
}

/// A step as it comes out.
#[derive(Debug, Clone, PartialEq)]
pub struct GrownStep {
    /// The step.
    pub step: StarterStep,
    /// Cells that it begins with, in a millilitre.
    pub inoculum: CellDensity,
    /// Living cells at its end.
    pub cells: Measured<Cells>,
    /// Cells after over cells before.
    pub growth: f64,
    /// New cells by the fall of the apparent extract \[10⁶/mL/°P\].
    pub yield_factor: f64,
    /// Dried malt extract to weigh, made up with water to the volume at 20 °C.
    pub dried_extract: Mass,
    /// Extract that ferments.
    pub sugar_used: Mass,
    /// Oxygen that the new cells ask for beyond what the yeast brings.
    pub oxygen: MassConcentration,
}

/// A starter as it comes out.
#[derive(Debug, Clone, PartialEq)]
pub struct GrownStarter {
    /// Its steps.
    pub steps: Vec<GrownStep>,
    /// Living cells to pitch.
    pub cells: Measured<Cells>,
    /// Cells after over cells before, in all.
    pub growth: f64,
    /// How long before pitching it is begun, between two ends: 18 to 36 h a step at
    /// 20 to 25 °C, and one to two days in the cold before wort is poured off
    /// (common practice).
    pub ahead: (Duration, Duration),
    /// Remarks.
    pub notes: Vec<Note>,
    /// Cautions.
    pub cautions: Vec<Caution>,
}

/// Grows a starter from living cells.
///
/// Growth by [`still_starter_growth`] or [`stirred_starter_growth`]; extract by the
/// density of wort at 20 °C, weighed as dried malt extract; sugar used at an apparent
/// attenuation of 77.8 % by Balling's masses; oxygen as the course model has new
/// cells ask for it. The spread is that of the cells it begins with, as far as they
/// still matter, and 20 % a step (judgement).
///
/// # Errors
/// [`FermentError::Impossible`] for no step or more than three, a step outside 0.05
/// to 10 000 L or 2 to 20 °P; [`FermentError::NoYeast`] where nothing lives.
pub fn grow_starter(
    from: &Measured<Cells>,
    starter: &Starter,
) -> Result<GrownStarter, FermentError> {
    crate::error::within_numbers(
        "number of starter steps",
        starter.steps.len() as f64,
        1.0,
        MOST_STEPS as f64,
    )?;
    let start = within("cells for the starter", from.value, 0.0, 1e9)?.billions();
    if start <= 0.0 {
        return Err(FermentError::NoYeast);
    }
    let mut cells = *from;
    let mut steps = Vec::new();
    let mut notes = Vec::new();
    for (n, step) in starter.steps.iter().enumerate() {
        let grown = grow_step(&cells, step)?;
        let which = if starter.steps.len() > 1 {
            format!("step {} of the starter", n + 1)
        } else {
            "the starter".to_owned()
        };
        notes.extend(step_notes(&which, &grown));
        cells = grown.cells;
        steps.push(grown);
    }
    Ok(GrownStarter {
        growth: cells.value.billions() / start,
        ahead: ahead(steps.len(), starter.whole),
        steps,
        cells,
        notes,
        cautions: vec![Caution::HotLiquor, Caution::StoredWort, Caution::Starter],
    })
}

fn grow_step(before: &Measured<Cells>, step: &StarterStep) -> Result<GrownStep, FermentError> {
    let litres = within("starter volume", step.volume, 0.05, 1e4)?.l();
    let plato = within("starter gravity", step.gravity, 2.0, 20.0)?.plato();
    let billions = before.value.billions();
    let after = |billions: f64| billions * growth(billions, step);
    let (grown, inoculum) = (after(billions), billions / litres);
    // How far the end follows the start: one where all yeast doubles, little where
    // the wort sets the limit.
    let elasticity = (after(billions * 1.01) / grown).ln() / 1.01_f64.ln();
    let relative = (elasticity * before.sd() / billions).hypot(table().starter.growth_spread);
    let n = &table().starter;
    let balance = Balance::new(plato);
    let fermented = balance.fermented_at(plato * (1.0 - n.attenuation));
    let new = (grown - billions) / litres;
    Ok(GrownStep {
        step: *step,
        inoculum: CellDensity::from_millions_per_ml(inoculum),
        cells: Measured::with_sd(Cells::from_billions(grown), grown * relative),
        growth: grown / billions,
        yield_factor: new / (plato * n.attenuation),
        dried_extract: Mass::from_g(balance.extract_g_per_l() * litres / extract_share()),
        sugar_used: Mass::from_g(fermented * litres),
        oxygen: MassConcentration::from_mg_per_l(oxygen_asked(inoculum, new)),
    })
}

/// Cells after over cells before.
fn growth(billions: f64, step: &StarterStep) -> f64 {
    let inoculum = CellDensity::from_millions_per_ml(billions / step.volume.l());
    match step.stirring {
        Stirring::Still => growth::still(inoculum, step.gravity.plato()),
        Stirring::Stirred => growth::stirred(inoculum, step.gravity.plato()),
    }
}

/// Extract in a gram of what is weighed.
fn extract_share() -> f64 {
    /// Where the table of malts had no such row.
    const USUAL: f64 = 0.95;
    wort::malts::find(EXTRACT).map_or(USUAL, |f| f.extract_as_is().ratio())
}

/// Oxygen \[mg/L\] for new cells \[10⁶/mL\] beyond those that the sterols of the
/// inoculum allow: with it they last for a number of cells in all, itself counted.
fn oxygen_asked(inoculum: f64, new: f64) -> f64 {
    let c = common();
    ((inoculum + new - c.sterols_other_fold * inoculum) / c.cells_per_oxygen).max(0.0)
}

fn ahead(steps: usize, whole: bool) -> (Duration, Duration) {
    let n = &table().starter;
    let settled = if whole { steps - 1 } else { steps };
    let [low, high] = [0, 1].map(|end| {
        let hours = |of: &[f64; 2]| of.get(end).copied().unwrap_or(0.0);
        Duration::from_h(steps as f64 * hours(&n.step_h) + settled as f64 * hours(&n.settle_h))
    });
    (low, high)
}

fn step_notes(which: &str, grown: &GrownStep) -> Vec<Note> {
    let mut notes = Vec::new();
    let inoculum = grown.inoculum.millions_per_ml();
    let (low, high) = STILL_VALID;
    let [usual, most] = table().starter.window;
    if !(low..=high).contains(&inoculum) && grown.step.stirring == Stirring::Still {
        notes.push(Note::look(format!(
            "{which} begins with {inoculum:.0} million cells/mL; the growth figures hold from {low:.0} to {high:.0}"
        )));
    } else if inoculum < 0.95 * usual {
        notes.push(Note::look(format!(
            "{which} begins with {inoculum:.0} million cells/mL, below the {usual:.0} to {most:.0} that are usual: it starts slowly, and spoilers use the time"
        )));
    } else if inoculum > 1.05 * most {
        notes.push(Note::fine(format!(
            "{which} begins with {inoculum:.0} million cells/mL, above the {usual:.0} to {most:.0} that are usual: it wakes the yeast more than it grows it"
        )));
    }
    let plato = grown.step.gravity.plato();
    if !(USUAL_PLATO.0..=USUAL_PLATO.1).contains(&plato) {
        notes.push(Note::look(format!(
            "starter wort of {plato:.1} °P; the growth figures are for 9 °P, and 8 to 10 °P is usual"
        )));
    }
    notes
}

/// How dry yeast is wetted before it is pitched.
#[derive(Debug, Clone, PartialEq)]
pub struct Rehydration {
    /// Clean water, boiled and cooled.
    pub water: Volume,
    /// Its temperature, between two ends.
    pub temperature: (quantity::Temperature, quantity::Temperature),
    /// How long it stands, between two ends.
    pub time: (Duration, Duration),
    /// Where this comes from.
    pub source: quantity::Source,
}

/// How dry yeast is wetted: ten times its mass of water at 25 to 35 °C, lager yeast
/// at 21 to 28 °C, for 15 to 30 minutes (common practice). The maker's sheet decides.
#[must_use]
pub fn rehydration(dry: Mass, bottom_fermenting: bool) -> Rehydration {
    let row = &table().rehydration;
    let [cold, warm] = if bottom_fermenting {
        row.lager_c
    } else {
        row.warm_c
    };
    let [short, long] = row.minutes;
    Rehydration {
        water: Volume::from_l(dry.g() * row.water_per_mass * 1e-3),
        temperature: (
            quantity::Temperature::from_c(cold),
            quantity::Temperature::from_c(warm),
        ),
        time: (Duration::from_min(short), Duration::from_min(long)),
        source: crate::tables::source("rehydration", &row.source, &row.mark),
    }
}

/// The share of a volume that a starter adds.
fn share_of(starter: Volume, batch: Volume) -> Fraction {
    Fraction::from_ratio(starter.l() / (starter.l() + batch.l()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn billions(x: f64) -> Measured<Cells> {
        Measured::with_sd(Cells::from_billions(x), 0.2 * x)
    }

    fn step(litres: f64, stirring: Stirring) -> StarterStep {
        StarterStep {
            volume: Volume::from_l(litres),
            gravity: Gravity::from_plato(9.0),
            stirring,
        }
    }

    /// Extract of 1 L of 9 °P: 1034.1 g/L × 9 % (Plato's tables), weighed as extract of
    /// 95 %; fermented from 9 to 2 °P apparent, real 9 − (0.1808 × 9 + 0.8192 × 2) =
    /// 5.73 % (Balling's simple form, from memory).
    #[test]
    fn the_wort_of_a_starter_is_weighed() {
        let grown = grow_starter(&billions(100.0), &Starter::of(step(1.0, Stirring::Still)));
        let grown = grown.unwrap();
        let one = &grown.steps[0];
        assert!((one.dried_extract.g() - 1034.1 * 0.09 / 0.9506).abs() < 0.2);
        assert!((one.sugar_used.g() / (1034.1 * 0.0573) - 1.0).abs() < 0.02);
        assert!((grown.cells.value.billions() / 152.0 - 1.0).abs() < 0.02);
        assert!((one.yield_factor / 7.43 - 1.0).abs() < 0.05);
        assert!((one.inoculum.millions_per_ml() - 100.0).abs() < 1e-9);
        assert_eq!(grown.cautions.len(), 3);
    }

    /// By hand: 50 million/mL are enough sterols for 2.5 times as many in all, and 3.5
    /// million/mL more live of a milligram of oxygen; 1.4 billion a gram of 1034.1 × 9 %
    /// g/L are 130.3 million/mL of new cells.
    #[test]
    fn a_starter_asks_for_the_oxygen_of_the_course_model() {
        let grown = grow_starter(&billions(100.0), &Starter::of(step(2.0, Stirring::Stirred)));
        let asked = grown.unwrap().steps[0].oxygen.mg_per_l();
        let by_hand = (50.0 + 1.4 * 93.07 - 2.5 * 50.0) / 3.5;
        assert!((asked - by_hand).abs() < 0.05, "{asked} {by_hand}");
    }

    #[test]
    fn time_is_counted_by_steps_and_settling() {
        let one = Starter::of(step(2.0, Stirring::Stirred));
        let hours = |s: &Starter| {
            let ahead = grow_starter(&billions(100.0), s).unwrap().ahead;
            (ahead.0.h(), ahead.1.h())
        };
        assert_eq!(hours(&one), (42.0, 84.0));
        let whole = Starter { whole: true, ..one };
        assert_eq!(hours(&whole), (18.0, 36.0));
        let two = Starter {
            steps: vec![step(1.0, Stirring::Still), step(3.0, Stirring::Still)],
            whole: false,
        };
        assert_eq!(hours(&two), (84.0, 168.0));
    }

    #[test]
    fn what_leaves_the_window_says_so() {
        let told = |litres: f64, stirring| {
            let grown = grow_starter(&billions(100.0), &Starter::of(step(litres, stirring)));
            grown
                .unwrap()
                .notes
                .into_iter()
                .map(|n| n.text)
                .collect::<String>()
        };
        assert!(told(2.0, Stirring::Still).is_empty());
        assert!(told(8.0, Stirring::Stirred).contains("starts slowly"));
        assert!(told(0.5, Stirring::Stirred).contains("wakes the yeast"));
        assert!(told(0.5, Stirring::Still).contains("growth figures hold"));
    }

    #[test]
    fn rehydration_is_ten_times_the_mass() {
        let water = rehydration(Mass::from_g(11.5), false);
        assert!((water.water.l() - 0.115).abs() < 1e-12);
        assert!(water.temperature.0.c() > rehydration(Mass::from_g(1.0), true).temperature.0.c());
    }

    #[test]
    fn impossible_starters_are_refused() {
        let none = Starter {
            steps: Vec::new(),
            whole: false,
        };
        let many = Starter {
            steps: vec![step(1.0, Stirring::Still); 4],
            whole: false,
        };
        for wrong in [none, many, Starter::of(step(0.0, Stirring::Still))] {
            let told = grow_starter(&billions(100.0), &wrong)
                .unwrap_err()
                .to_string();
            assert!(
                told.contains("starter") && told.contains("would work"),
                "{told}"
            );
        }
        let dead = grow_starter(&billions(0.0), &Starter::of(step(1.0, Stirring::Still)));
        assert_eq!(dead, Err(FermentError::NoYeast));
    }

    proptest! {
        #[test]
        fn more_wort_gives_more_cells_and_asks_for_more_oxygen(
            n in 5.0..300.0f64, litres in 0.3..8.0f64, more in 1.0..3.0f64, stirred in any::<bool>(),
        ) {
            let stirring = if stirred { Stirring::Stirred } else { Stirring::Still };
            let at = |l| grow_starter(&billions(n), &Starter::of(step(l, stirring))).unwrap();
            let (less, much) = (at(litres), at(litres * more));
            prop_assert!(much.cells.value.billions() >= less.cells.value.billions() * (1.0 - 1e-9));
            prop_assert!(less.cells.sd().is_finite() && less.cells.sd() > 0.0);
            prop_assert!(much.steps[0].sugar_used.g() >= less.steps[0].sugar_used.g());
            // What the wort limits is known better, in shares, than what it began with
            // plus the whole spread of growth.
            let relative = less.cells.sd() / less.cells.canonical();
            prop_assert!(relative <= 0.2_f64.hypot(0.2) + 1e-9);
        }
    }
}
