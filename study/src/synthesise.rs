//! Rows of known laws, so that answers can be held against what was put in.
//!
//! Nothing here is a claim about beer: the laws are plain so that they can be found again.

use std::path::Path;

use quantity::numeric::split_mix;
use rayon::prelude::*;

use crate::StudyError;
use crate::folder::{Folder, ROWS_OF_FILE, Written};
use crate::gather::{Expected, NINE_IN_TEN, tell};
use crate::row::Row;

/// The law of a class of yeast.
#[derive(Debug, Clone, PartialEq)]
pub struct Law {
    /// The class.
    pub class: String,
    /// Middle of its temperatures \[°C\].
    pub temp_c: f64,
    /// Apparent attenuation there, at the cells needed \[share\].
    pub attenuation: f64,
    /// What a kelvin more adds to it.
    pub attenuation_by_kelvin: f64,
    /// What e times as many cells add to it.
    pub attenuation_by_ln_pitch: f64,
    /// Standard deviation from batch to batch.
    pub attenuation_sd: f64,
    /// Days to the end there.
    pub days: f64,
    /// What a kelvin more adds to them.
    pub days_by_kelvin: f64,
}

/// Standard deviation of the days to the end \[d\].
pub const DAYS_SD: f64 = 1.0;
/// What e times as many cells add to the days.
pub const DAYS_BY_LN_PITCH: f64 = -0.8;
/// By how much original gravity is read above its plan, in the mean \[°P\].
pub const OG_BIAS: f64 = -0.2;
/// Standard deviation of what is read less what was planned \[°P\].
pub const OG_SD: f64 = 0.5;
/// The same as the plans say it: too narrow, so that fewer than nine in ten come inside.
pub const OG_SD_SAID: f64 = 0.4;
/// How often the likeliest cause is there, over the chance that was said of it.
pub const TRUTH_OF_CHANCES: f64 = 0.8;
/// The middle calcium of the waters of the owners \[mg/L\]; its logarithm is normal with
/// [`CALCIUM_LN_SD`].
pub const CALCIUM: f64 = 60.0;
/// Standard deviation of the logarithm of calcium.
pub const CALCIUM_LN_SD: f64 = 0.5;

/// The laws of all classes.
#[must_use]
pub fn laws() -> Vec<Law> {
    ferment::strains()
        .iter()
        .map(|s| Law {
            class: s.name.clone(),
            temp_c: f64::midpoint(s.ideal.low.c(), s.ideal.high.c()),
            attenuation: s.attenuation.value.ratio(),
            attenuation_by_kelvin: 0.004,
            attenuation_by_ln_pitch: 0.010,
            attenuation_sd: s.attenuation.sd(),
            days: if s.is_bottom_fermenting() { 12.0 } else { 6.0 },
            days_by_kelvin: -0.3,
        })
        .collect()
}

/// Numbers drawn one after the other, the same for the same seed on every machine.
#[derive(Debug)]
struct Draws(u64);

impl Draws {
    fn of(seed: u64, what: u64, which: u64) -> Self {
        let mut state = seed ^ what.wrapping_mul(0xA24B_AED4_963E_E407);
        let mixed = split_mix(&mut state) ^ which;
        Self(mixed.wrapping_mul(0x9FB2_1C65_1E98_DF25) ^ which.rotate_left(32))
    }

    fn share(&mut self) -> f64 {
        (split_mix(&mut self.0) >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Standard normal, by Box and Muller.
    fn normal(&mut self) -> f64 {
        let (u, v) = (1.0 - self.share(), self.share());
        (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
    }

    fn chance(&mut self, of: f64) -> bool {
        self.share() < of
    }

    fn pick<'a, T>(&mut self, of: &'a [T]) -> Option<&'a T> {
        of.get((self.share() * of.len() as f64) as usize)
    }
}

/// Makes rows, in parallel and file by file, so that memory does not grow with their count.
///
/// # Errors
/// [`StudyError::Taken`], [`StudyError::File`], [`StudyError::Parquet`].
pub fn synthesise(batches: u64, seed: u64, to: &Path) -> Result<Written, StudyError> {
    // Refuses a folder that is taken, before anything is written.
    let folder = Folder::make(to)?;
    let laws = laws();
    let rows_of_file = ROWS_OF_FILE as u64;
    let files = batches.div_ceil(rows_of_file).max(1);
    let written: Vec<Written> = (0..files)
        .into_par_iter()
        .map(|file| {
            let first = file * rows_of_file;
            let rows =
                (first..batches.min(first + rows_of_file)).map(|n| row(&laws, batches, seed, n));
            folder.write_part(file as usize + 1, &rows.collect::<Vec<_>>())
        })
        .collect::<Result<_, _>>()?;
    Ok(Written {
        files: written.len(),
        rows: written.iter().map(|w| w.rows).sum(),
        bytes: written.iter().map(|w| w.bytes).sum(),
    })
}

/// Owners of so many batches: some have hundreds, most have few.
#[must_use]
pub fn owners_of(batches: u64) -> u64 {
    (batches / 20).max(8)
}

fn row(laws: &[Law], batches: u64, seed: u64, n: u64) -> Row {
    let mut of_batch = Draws::of(seed, 1, n);
    let owner = (owners_of(batches) as f64 * of_batch.share().powi(2)) as u64;
    let mut of_owner = Draws::of(seed, 2, owner);
    let mut row = Row {
        owner: of_owner.0,
        batch: of_batch.0,
        quarter: Some(1.0 + (4.0 * of_batch.share()).floor()),
        ..Row::default()
    };
    water(&mut row, &mut of_owner);
    if let Some(law) = of_batch.pick(laws) {
        fermentation(&mut row, law, &mut of_batch);
    }
    brew_day(&mut row, &mut of_batch);
    inquiry(&mut row, &mut of_batch);
    row.rounded()
}

fn water(row: &mut Row, draws: &mut Draws) {
    let mut spread = |middle: f64, ln_sd: f64| Some(middle * (ln_sd * draws.normal()).exp());
    row.calcium = spread(CALCIUM, CALCIUM_LN_SD);
    row.chloride = spread(30.0, 0.6);
    row.sulfate = spread(45.0, 0.7);
    row.residual_alkalinity = spread(90.0, 0.6).map(|x| x - 40.0);
    row.chlorine = draws
        .pick(&["none", "free chlorine", "chloramine"])
        .map(|k| (*k).to_owned());
}

fn fermentation(row: &mut Row, law: &Law, draws: &mut Draws) {
    let off_k = 2.0 * draws.normal();
    let ln_pitch = 0.4 * draws.normal();
    row.class = Some(law.class.clone());
    row.temperature = Some(law.temp_c + off_k);
    row.pitch_temperature = Some(law.temp_c + off_k - 1.0);
    row.highest_temperature = Some(law.temp_c + off_k + 2.0);
    row.pitch_ratio = Some(ln_pitch.exp());
    row.pitch_rate = Some(0.75 * ln_pitch.exp());
    let attenuation = law.attenuation
        + law.attenuation_by_kelvin * off_k
        + law.attenuation_by_ln_pitch * ln_pitch;
    let days = law.days + law.days_by_kelvin * off_k + DAYS_BY_LN_PITCH * ln_pitch;
    // Two batches in three are watched to their end.
    let watched = draws.chance(2.0 / 3.0);
    let read = watched.then(|| attenuation + law.attenuation_sd * draws.normal());
    tell!(row, within(attenuation, law.attenuation_sd), read => attenuation_planned attenuation_low attenuation_high attenuation_read attenuation_place);
    let read = watched.then(|| days + DAYS_SD * draws.normal());
    tell!(row, within(days, DAYS_SD), read => days_planned days_low days_high days_read days_place);
    // A kelvin more makes esters likelier, by the logarithm of the odds.
    if draws.chance(0.3) {
        let odds = (-0.5 + 0.3 * off_k).exp();
        row.esters = Some(draws.chance(odds / (1.0 + odds)));
    }
}

/// A forecast that is normal.
fn within(middle: f64, sd: f64) -> Expected {
    let half = NINE_IN_TEN * sd;
    Expected {
        low: middle - half,
        middle,
        high: middle + half,
    }
}

fn brew_day(row: &mut Row, draws: &mut Draws) {
    let og = 12.0 + 1.5 * draws.normal();
    let read = og + OG_BIAS + OG_SD * draws.normal();
    tell!(row, within(og, OG_SD_SAID), Some(read) => og_planned og_low og_high og_read og_place);
    let fg = 2.5 + 0.5 * draws.normal();
    let read = fg + 0.3 * draws.normal();
    tell!(row, within(fg, 0.3), Some(read) => fg_planned fg_low fg_high fg_read fg_place);
    let share = 0.78 + 0.03 * draws.normal();
    let read = share + 0.03 * draws.normal();
    tell!(row, within(share, 0.03), Some(read) => yield_planned yield_low yield_high yield_read yield_place);
}

/// One batch in twelve has a fault; half of these are decided.
fn inquiry(row: &mut Row, draws: &mut Draws) {
    if !draws.chance(1.0 / 12.0) {
        return;
    }
    let said = 0.1 + 0.85 * draws.share();
    let causes = &inquiry::Knowledge::built_in().causes;
    row.cause = draws.pick(causes).map(|cause| cause.key.clone());
    row.cause_chance = Some(said);
    row.cause_confirmed = draws
        .chance(0.5)
        .then(|| draws.chance(TRUTH_OF_CHANCES * said));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_seed_gives_the_same_rows() {
        let laws = laws();
        for n in [0, 7, 123_456] {
            assert_eq!(row(&laws, 1_000_000, 5, n), row(&laws, 1_000_000, 5, n));
            assert_ne!(row(&laws, 1_000_000, 5, n), row(&laws, 1_000_000, 6, n));
        }
    }

    #[test]
    fn draws_are_as_even_and_as_normal_as_they_should_be() {
        let mut draws = Draws::of(1, 2, 3);
        let n = 20_000;
        let all: Vec<f64> = (0..n).map(|_| draws.normal()).collect();
        let mean = all.iter().sum::<f64>() / f64::from(n);
        let square = all.iter().map(|x| x * x).sum::<f64>() / f64::from(n);
        assert!(
            mean.abs() < 0.03 && (square - 1.0).abs() < 0.04,
            "{mean} {square}"
        );
        // Rows that follow each other have nothing to do with each other.
        let firsts: Vec<f64> = (0..20_000).map(|i| Draws::of(9, 1, i).share()).collect();
        let mean = firsts.iter().sum::<f64>() / 20_000.0;
        assert!((mean - 0.5).abs() < 0.01, "{mean}");
        let with_next: f64 = firsts.windows(2).map(|w| (w[0] - 0.5) * (w[1] - 0.5)).sum();
        assert!((with_next / 20_000.0).abs() < 0.003, "{with_next}");
    }
}
