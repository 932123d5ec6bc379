//! The course of a run-off: gravity and pH of the runnings against what was
//! collected, and when to stop.

use quantity::{Caution, Gravity, Note, Ph, Temperature, Volume};
use water::BrewingWater;
use water::analysis::residual_alkalinity;

use super::base::{Cell, Flow, Liquor};
use super::figures::FIGURES;
use super::{Bed, diluted_plato, share_at_outlet};
use crate::amounts::Volumes;
use crate::error::{WortError, check};
use crate::mix::{Mix, water_kg};
use crate::plan::{Sparge, WortPlan};

/// Steps in which a hold-up goes through each stage of a bed.
const STEPS_PER_STAGE: f64 = 60.0;

/// What runs from the tun when so much was collected.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Runnings {
    /// Wort collected before, at 20 °C.
    pub collected: Volume,
    /// Extract.
    pub gravity: Gravity,
    /// pH as a cooled sample reads.
    pub ph: Ph,
}

/// A run-off from first wort to last runnings.
#[derive(Debug, Clone, PartialEq)]
pub struct RunOff {
    /// Runnings in order. A batch sparge gives two points for each run-off, its
    /// beginning and its end.
    pub course: Vec<Runnings>,
    /// The last of them.
    pub last: Runnings,
    /// Where the runnings first pass a limit; none where they stay within.
    pub stop: Option<Stop>,
    /// Remarks.
    pub notes: Vec<Note>,
    /// What can hurt.
    pub cautions: Vec<Caution>,
}

/// The point at which to stop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stop {
    /// The runnings there.
    pub at: Runnings,
    /// Whether the gravity is too low.
    pub gravity: bool,
    /// Whether the pH is too high.
    pub ph: bool,
}

/// The limits at which sparging is stopped: gravity and pH of the runnings, and the
/// temperature of the sparge liquor (common practice).
#[must_use]
pub fn limits() -> (Gravity, Ph, Temperature) {
    (
        Gravity::from_plato(FIGURES.stop_gravity.value),
        Ph::from_ph(FIGURES.stop_ph.value),
        Temperature::from_c(FIGURES.hot_sparge.value),
    )
}

/// The course of the run-off of a plan.
///
/// Gravity by the washing model of [`volumes`](crate::volumes()). The pH \[pH\] by a
/// balance of base in each mixed stage: dissolved buffering is washed out, that of the
/// grain stays, and the sparge liquor brings its residual alkalinity (Kolbach). The
/// share of the buffering that is dissolved is a judgement, and so is the course of the
/// pH; with liquor of no alkalinity the model shows no rise, where practice sees a
/// tenth or two.
///
/// # Errors
/// [`WortError`] where the plan cannot be brewed or has no grain.
pub fn run_off(
    plan: &WortPlan,
    volumes: &Volumes,
    sparge_water: &BrewingWater,
    mash_ph: Ph,
) -> Result<RunOff, WortError> {
    plan.check()?;
    let ph = check("mash pH", mash_ph.ph(), "", 3.0, 8.0)?;
    if plan.grain_kg() <= 0.0 {
        return Err(WortError::EmptyGrist);
    }
    let malt = buffering_meq_per_ph(plan);
    let bed = Bed::of(plan);
    let full = Mix {
        extract_kg: bed.extract_kg,
        water_kg: bed.water_kg(water_kg(volumes.mash_liquor.l())),
    };
    let soluble = FIGURES.soluble_buffering.value;
    let liquor = Liquor {
        residual: residual_alkalinity(&sparge_water.ions, sparge_water.alkalinity).meq_per_l(),
        carbonate: sparge_water.alkalinity.meq_per_l().max(0.0),
    };
    let mut tun = Tun {
        bed,
        mash_ph: ph,
        dissolved: malt * soluble,
        grain: malt * (1.0 - soluble),
        course: Vec::new(),
        collected_l: 0.0,
    };
    let sparge_kg = water_kg(volumes.sparge_liquor.l());
    match plan.sparge {
        Sparge::None => tun.batch(full, &[], liquor),
        Sparge::Batch { refills } => {
            let each = sparge_kg / f64::from(refills.max(1));
            tun.batch(full, &vec![each; refills.max(1) as usize], liquor);
        }
        Sparge::Continuous => tun.continuous(full, sparge_kg, liquor),
    }
    let last = tun.course.last().copied().ok_or(WortError::EmptyGrist)?;
    let stop = stop(&tun.course);
    Ok(RunOff {
        notes: notes(plan, volumes, &last, stop),
        course: tun.course,
        last,
        stop,
        cautions: vec![Caution::HotLiquor],
    })
}

/// Base that the mashed grist takes to rise by one pH \[mEq/pH\]; raw grain counts as
/// none.
fn buffering_meq_per_ph(plan: &WortPlan) -> f64 {
    plan.mashed()
        .filter_map(|g| Some(g.mass.kg() * g.fermentable.buffering?.value.meq_per_kg_ph()))
        .sum()
}

struct Tun {
    bed: Bed,
    mash_ph: f64,
    /// Buffering of the malt in solution and on the grain \[mEq/pH\].
    dissolved: f64,
    grain: f64,
    course: Vec<Runnings>,
    collected_l: f64,
}

impl Tun {
    fn put(&mut self, plato: f64, rise: f64) {
        self.course.push(Runnings {
            collected: Volume::from_l(self.collected_l),
            gravity: Gravity::from_plato(plato),
            ph: Ph::from_ph(self.mash_ph + rise),
        });
    }

    fn batch(&mut self, full: Mix, refills_kg: &[f64], liquor: Liquor) {
        let mut tun = full;
        let mut cell = Cell::of_mash(full.volume_l(), self.dissolved, self.grain);
        self.drain(&mut tun, &mut cell);
        for kg in refills_kg.iter().filter(|kg| **kg > 0.0) {
            tun = tun.plus(Mix::water(*kg));
            cell.takes(liquor.litres(crate::mix::water_l(*kg)), self.mash_ph);
            self.drain(&mut tun, &mut cell);
        }
    }

    fn drain(&mut self, tun: &mut Mix, cell: &mut Cell) {
        let share = ((tun.volume_l() - self.bed.retained_l) / tun.volume_l()).clamp(0.0, 1.0);
        self.put(tun.plato(), cell.rise());
        self.collected_l += tun.volume_l() * share;
        self.put(tun.plato(), cell.rise());
        *tun = tun.share(1.0 - share);
        let _left_the_tun = cell.gives(share);
    }

    /// First wort down to the bed; then the sparge goes through the stages; then the
    /// bed drains at its mean strength.
    fn continuous(&mut self, full: Mix, sparge_kg: f64, liquor: Liquor) {
        let hold_up_l = self
            .bed
            .hold_up_l
            .max(self.bed.retained_l)
            .min(full.volume_l());
        self.put(full.plato(), 0.0);
        self.collected_l += full.volume_l() - hold_up_l;
        self.put(full.plato(), 0.0);
        let sparge_l = crate::mix::water_l(sparge_kg);
        let stages = self.bed.stages.max(1);
        let mut cells = self.cells(hold_up_l, full.volume_l());
        let steps = (f64::from(stages) * STEPS_PER_STAGE * sparge_l / hold_up_l.max(1e-9))
            .ceil()
            .clamp(1.0, 20_000.0);
        let every = (steps / 60.0).ceil().max(1.0) as u32;
        let started_l = self.collected_l;
        for step in 1..=steps as u32 {
            let done = f64::from(step) / steps;
            pass(&mut cells, liquor.litres(sparge_l / steps), self.mash_ph);
            self.collected_l = started_l + sparge_l * done;
            if step.is_multiple_of(every) || step == steps as u32 {
                let share = share_at_outlet(stages, sparge_l * done / hold_up_l);
                let plato = diluted_plato(full, share);
                self.put(plato, cells.last().map_or(0.0, Cell::rise));
            }
        }
        self.drain_bed(full, sparge_kg, &cells);
    }

    fn drain_bed(&mut self, full: Mix, sparge_kg: f64, cells: &[Cell]) {
        let washed = self.bed.continuous(full, sparge_kg);
        let Some(drained) = washed.run_offs.last().filter(|r| r.volume_l() > 1e-6) else {
            return;
        };
        let mean = cells.iter().map(Cell::rise).sum::<f64>() / cells.len().max(1) as f64;
        let plato = drained.plato();
        self.put(plato, mean);
        self.collected_l += drained.volume_l();
        self.put(plato, mean);
    }

    /// The stages of the bed; what was dissolved in the first wort has left with it.
    fn cells(&self, hold_up_l: f64, full_l: f64) -> Vec<Cell> {
        let stages = self.bed.stages.max(1);
        let part = 1.0 / f64::from(stages);
        let dissolved = self.dissolved * hold_up_l / full_l * part;
        let cell = Cell::of_mash(hold_up_l * part, dissolved, self.grain * part);
        vec![cell; stages as usize]
    }
}

/// Liquor goes into the first cell, and as much leaves each.
fn pass(cells: &mut [Cell], liquor: Flow, mash_ph: f64) {
    let mut flow = liquor;
    for cell in cells {
        let share = flow.litres / (cell.litres + flow.litres);
        cell.takes(flow, mash_ph);
        flow = cell.gives(share);
    }
}

fn stop(course: &[Runnings]) -> Option<Stop> {
    let (least, most, _) = limits();
    course.iter().find_map(|at| {
        let gravity = at.gravity.plato() < least.plato();
        let ph = at.ph.ph() > most.ph();
        (gravity || ph).then_some(Stop {
            at: *at,
            gravity,
            ph,
        })
    })
}

fn notes(plan: &WortPlan, volumes: &Volumes, last: &Runnings, stop: Option<Stop>) -> Vec<Note> {
    let mut notes = Vec::new();
    let sparged = plan.sparge != Sparge::None && volumes.sparge_liquor.l() > 0.0;
    let (_, _, hot) = limits();
    if sparged && plan.mash.sparge.c() > hot.c() {
        notes.push(Note::look(format!(
            "sparge liquor of {} draws tannin from the husks and starch that no enzyme is left for; {hot} or less is usual",
            plan.mash.sparge
        )));
    }
    if let Some(stop) = stop.filter(|_| sparged) {
        let why = match (stop.gravity, stop.ph) {
            (true, true) => "they are thin and their pH is high",
            (true, false) => "they are thin",
            _ => "their pH is high",
        };
        let text = format!(
            "stop when {} are collected: the runnings then have {} and pH {}, {why}, and tannin comes with them. A thinner mash with less sparge, or acid in the sparge liquor, would help",
            stop.at.collected, stop.at.gravity, stop.at.ph
        );
        notes.push(if last.ph.ph() > 6.0 || last.gravity.plato() < 2.0 {
            Note::look(text)
        } else {
            Note::fine(text)
        });
    }
    notes
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What the liquor brought is in the cells or has left with the wort.
    #[test]
    fn base_is_neither_lost_nor_made() {
        let liquor = Liquor {
            residual: 2.3,
            carbonate: 3.0,
        };
        let mut cells = vec![Cell::of_mash(2.0, 12.0, 9.0); 3];
        let (mut out, mut brought) = (0.0, 0.0);
        for _ in 0..500 {
            brought += 2.3 * 0.05;
            let mut flow = liquor.litres(0.05);
            for cell in &mut cells {
                let share = flow.litres / (cell.litres + flow.litres);
                cell.takes(flow, 5.4);
                flow = cell.gives(share);
            }
            out += flow.base;
        }
        let held: f64 = cells.iter().map(Cell::base).sum();
        assert!(
            (held + out - brought).abs() < 1e-9,
            "{held} {out} {brought}"
        );
        assert!(out > 0.0 && held > out);
    }

    /// A cell of fresh mash and bicarbonate liquor, solved by SciPy 1.17 (`brentq`) from
    /// the same balance: 10 L of 5 mEq/L into 4 L with 20 and 15 mEq/pH at pH 5.4.
    #[test]
    fn the_ph_of_one_cell_closes_its_balance() {
        let mut cell = Cell::of_mash(4.0, 20.0, 15.0);
        let liquor = Liquor {
            residual: 5.0,
            carbonate: 5.0,
        };
        cell.takes(liquor.litres(10.0), 5.4);
        assert!((cell.rise() - RISE).abs() < 1e-6, "{}", cell.rise());
    }

    const RISE: f64 = 0.820_221_862_124_956_5;
}
