//! Finding the steps that bring yeast to a number of cells.

use quantity::{CellDensity, Cells, Gravity, Measured, Note, Units, Volume, show};

use super::{
    GrownStarter, MOST_STEPS, Starter, StarterStep, Stirring, grow_starter, growth as curve,
};
use crate::error::{FermentError, within};
use crate::tables::table;

/// What a starter may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StarterWish {
    /// How it is kept.
    pub stirring: Stirring,
    /// Gravity of its wort.
    pub gravity: Gravity,
    /// The most wort that the vessel holds, if that matters.
    pub vessel: Option<Volume>,
    /// Whether the last step goes into the batch with its liquid.
    pub whole: bool,
}

/// A starter that was looked for.
#[derive(Debug, Clone, PartialEq)]
pub struct StarterPlan {
    /// Its steps.
    pub starter: Starter,
    /// How it comes out.
    pub grown: GrownStarter,
    /// Whether it reaches the cells that were wanted.
    pub reaches: bool,
}

/// The starter with the fewest steps that brings living cells to a number; none where
/// they are enough already.
///
/// Every step multiplies the cells alike, so that all begin with the same number in a
/// millilitre, within the window of 25 to 100 million (common practice). Volumes are
/// rounded up to what can be measured.
///
/// ```
/// use ferment::{Stirring, StarterWish, plan_starter};
/// use quantity::{Cells, Gravity, Measured};
/// let wish = StarterWish {
///     stirring: Stirring::Stirred, gravity: Gravity::from_plato(9.0), vessel: None, whole: false,
/// };
/// let at_hand = Measured::exactly(Cells::from_billions(60.0));
/// let plan = plan_starter(&at_hand, Cells::from_billions(180.0), &wish)?.ok_or("not enough yet")?;
/// assert!(plan.reaches && plan.starter.steps.len() == 1);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// As [`grow_starter`]; also for a vessel outside 0.1 to 10 000 L.
pub fn plan_starter(
    at_hand: &Measured<Cells>,
    wanted: Cells,
    wish: &StarterWish,
) -> Result<Option<StarterPlan>, FermentError> {
    let start = within("cells for the starter", at_hand.value, 0.0, 1e9)?.billions();
    let wanted = within("cells wanted", wanted, 0.0, 1e9)?.billions();
    within("starter gravity", wish.gravity, 2.0, 20.0)?;
    let vessel_l = match wish.vessel {
        Some(vessel) => within("starter vessel", vessel, 0.1, 1e4)?.l(),
        None => f64::INFINITY,
    };
    if start <= 0.0 {
        return Err(FermentError::NoYeast);
    }
    if start >= wanted {
        return Ok(None);
    }
    let tries = (1..=MOST_STEPS).map(|n| volumes(start, wanted / start, n, wish));
    let fits = |litres: &[f64]| litres.iter().all(|l| *l <= vessel_l);
    let mut last = Vec::new();
    for (litres, enough) in tries {
        let done = enough && fits(&litres);
        last = litres;
        if done {
            break;
        }
    }
    let litres: Vec<f64> = last.iter().map(|l| l.min(vessel_l)).collect();
    let cut = !fits(&last);
    planned(at_hand, wanted, &litres, cut, wish).map(Some)
}

fn planned(
    at_hand: &Measured<Cells>,
    wanted: f64,
    litres: &[f64],
    cut: bool,
    wish: &StarterWish,
) -> Result<StarterPlan, FermentError> {
    let starter = Starter {
        steps: litres
            .iter()
            .map(|l| StarterStep {
                volume: Volume::from_l(*l),
                gravity: wish.gravity,
                stirring: wish.stirring,
            })
            .collect(),
        whole: wish.whole,
    };
    let mut grown = grow_starter(at_hand, &starter)?;
    let reached = grown.cells.value.billions();
    let reaches = reached >= wanted * (1.0 - 1e-6);
    if !reaches {
        let why = if cut {
            "the vessel holds no more"
        } else {
            "three steps grow no further"
        };
        grown.notes.push(Note::look(format!(
            "{why}: {} of the {} wanted; begin with more yeast",
            show(grown.cells.value, Units::Metric),
            show(Cells::from_billions(wanted), Units::Metric)
        )));
    }
    Ok(StarterPlan {
        starter,
        grown,
        reaches,
    })
}

/// Volumes of so many steps that multiply the cells by a ratio, and whether they do.
fn volumes(start: f64, ratio: f64, steps: usize, wish: &StarterWish) -> (Vec<f64>, bool) {
    let [sparse, dense] = table().starter.window;
    let all = |inoculum: f64| each(inoculum, wish).powi(steps as i32);
    let (inoculum, enough) = if all(sparse) < ratio {
        (sparse, false)
    } else {
        (densest(sparse, dense, |i| all(i) >= ratio), true)
    };
    let mut cells = start;
    let litres = (0..steps)
        .map(|_| {
            let l = measurable(cells / inoculum);
            let density = CellDensity::from_millions_per_ml(cells / l);
            cells *= each(density.millions_per_ml(), wish);
            l
        })
        .collect();
    (litres, enough)
}

fn each(inoculum: f64, wish: &StarterWish) -> f64 {
    let density = CellDensity::from_millions_per_ml(inoculum);
    match wish.stirring {
        Stirring::Still => curve::still(density, wish.gravity.plato()),
        Stirring::Stirred => curve::stirred(density, wish.gravity.plato()),
    }
}

/// The densest inoculum that is still enough; growth falls as it gets denser.
fn densest(sparse: f64, dense: f64, enough: impl Fn(f64) -> bool) -> f64 {
    if enough(dense) {
        return dense;
    }
    let (mut low, mut high) = (sparse, dense);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if enough(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

/// Rounded up to what a flask or a jug shows.
fn measurable(litres: f64) -> f64 {
    let mark = match litres {
        l if l < 1.0 => 0.05,
        l if l < 10.0 => 0.1,
        _ => 0.5,
    };
    // A hair of slack, so that rounding alone does not add a mark.
    (litres / mark - 1e-6).ceil().max(1.0) * mark
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn wish(stirring: Stirring, vessel: Option<f64>) -> StarterWish {
        StarterWish {
            stirring,
            gravity: Gravity::from_plato(9.0),
            vessel: vessel.map(Volume::from_l),
            whole: false,
        }
    }

    fn plan(start: f64, wanted: f64, wish: &StarterWish) -> Option<StarterPlan> {
        let from = Measured::with_sd(Cells::from_billions(start), 0.3 * start);
        plan_starter(&from, Cells::from_billions(wanted), wish).unwrap()
    }

    /// White & Zainasheff 2010, table for 100 billion cells (from memory): 205 billion
    /// take 2 L of 9 °P, standing.
    #[test]
    fn one_step_is_the_table_read_backwards() {
        let one = plan(100.0, 205.0, &wish(Stirring::Still, None)).unwrap();
        assert_eq!(one.starter.steps.len(), 1);
        let litres = one.starter.steps[0].volume.l();
        assert!((1.9..=2.2).contains(&litres), "{litres}");
        assert!(one.reaches);
    }

    #[test]
    fn few_cells_take_more_steps_and_a_small_vessel_too() {
        let two = plan(20.0, 100.0, &wish(Stirring::Still, None)).unwrap();
        assert_eq!(two.starter.steps.len(), 2);
        let free = plan(60.0, 160.0, &wish(Stirring::Still, None)).unwrap();
        let litres = free.starter.steps[0].volume.l();
        assert_eq!(free.starter.steps.len(), 1);
        let tight = plan(60.0, 160.0, &wish(Stirring::Still, Some(litres - 0.4))).unwrap();
        assert!(tight.starter.steps.len() > 1);
        let no = plan(5.0, 2000.0, &wish(Stirring::Still, Some(2.0))).unwrap();
        assert!(!no.reaches && no.grown.notes.iter().any(|n| n.text.contains("more yeast")));
        assert!(plan(200.0, 180.0, &wish(Stirring::Still, None)).is_none());
    }

    proptest! {
        #[test]
        fn a_plan_reaches_what_it_says_within_the_window(
            start in 5.0..300.0f64, ratio in 1.01..20.0f64, stirred in any::<bool>(),
        ) {
            let stirring = if stirred { Stirring::Stirred } else { Stirring::Still };
            let Some(plan) = plan(start, start * ratio, &wish(stirring, None)) else { return Ok(()) };
            prop_assert!(plan.starter.steps.len() <= MOST_STEPS);
            if plan.reaches {
                prop_assert!(plan.grown.cells.value.billions() >= start * ratio * (1.0 - 1e-6));
            }
            for step in &plan.grown.steps {
                let inoculum = step.inoculum.millions_per_ml();
                // Rounding up to the next mark thins it by a mark at most.
                let mark = if step.step.volume.l() < 1.0 { 0.05 } else if step.step.volume.l() < 10.05 { 0.1 } else { 0.5 };
                let least = 25.0 * (1.0 - mark / step.step.volume.l());
                prop_assert!(inoculum >= least - 1e-6 && inoculum <= 100.0 + 1e-3, "{inoculum}");
            }
        }
    }
}
