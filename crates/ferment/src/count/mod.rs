//! Cells counted under a microscope: how many there are, how many live, and how
//! surely.

pub(crate) mod interval;

use quantity::{CellDensity, Fraction, Measured, Note, Quantity};

use crate::error::{FermentError, within, within_numbers};
use interval::{Z_95, clopper_pearson, poisson, wilson};

/// Volume above a large square of an improved Neubauer chamber, 1 mm² × 0.1 mm
/// \[mL\].
const LARGE_SQUARE_ML: f64 = 1e-4;
/// Groups of sixteen small squares in the large square of the middle.
const GROUPS: f64 = 25.0;
/// Relative spread of a pipetted dilution, 3 to 5 % (common practice).
const PIPETTING: f64 = 0.04;
/// Relative spread of the depth of a chamber, 3 to 5 % (common practice).
const CHAMBER: f64 = 0.04;
/// Cells that make a count; a rough one takes 75 (common practice).
const GOOD_COUNT: u32 = 200;
const ROUGH_COUNT: u32 = 75;
/// Cells that can still be told apart over one group (common practice).
const CROWDED_GROUP: f64 = 50.0;
/// Viability below which methylene blue calls dead cells living (from memory).
const BLUE_FAILS: f64 = 0.90;
/// Dead cells that pitching yeast may hold at most, and those that are wanted
/// (MEBAK M-350.18.518, read).
const MOST_DEAD: f64 = 0.05;
const WANTED_DEAD: f64 = 0.02;

/// What of an improved Neubauer chamber was counted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Squares {
    /// Large squares of 1 mm², of nine.
    Large(f64),
    /// Groups of sixteen small squares, of the 25 in the middle.
    Groups(f64),
}

/// The dye that dead cells take up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dye {
    /// Methylene blue.
    Blue,
    /// Methylene violet, or blue in citrate.
    Violet,
}

/// How many cells took up a dye.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stain {
    /// Cells that were stained: dead.
    pub dead: u32,
    /// Cells looked at, dead and living.
    pub of: u32,
    /// The dye.
    pub dye: Dye,
}

/// A count in a chamber.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChamberCount {
    /// Cells counted, dead and living.
    pub cells: u32,
    /// Over what.
    pub squares: Squares,
    /// How many times the sample was diluted; 1 where it was not.
    pub dilution: f64,
    /// Which of them live, where that was looked at.
    pub stain: Option<Stain>,
    /// Relative spread of the dilution; usually 4 %.
    pub pipetting: Option<Fraction>,
}

/// A share of living cells.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Viability {
    /// The share counted.
    pub share: Fraction,
    /// Its 95 % interval by Wilson: the one to show.
    pub wilson: (Fraction, Fraction),
    /// Its 95 % interval by Clopper and Pearson: the strict one.
    pub exact: (Fraction, Fraction),
}

/// What a count says.
#[derive(Debug, Clone, PartialEq)]
pub struct CellCount {
    /// Cells of the undiluted sample, dead and living.
    pub all: Measured<CellDensity>,
    /// 95 % interval of it by the number counted alone, exact Poisson.
    pub by_count: (CellDensity, CellDensity),
    /// How many live, where that was looked at.
    pub viability: Option<Viability>,
    /// Living cells; all of them where that was not looked at.
    pub living: Measured<CellDensity>,
    /// 95 % interval of those by count, stain, pipette and chamber.
    pub living_between: (CellDensity, CellDensity),
    /// Remarks.
    pub notes: Vec<Note>,
}

/// Reads a count.
///
/// Cells in a millilitre = N/(squares × 10⁻⁴ mL) × dilution, a group being 1/25 of
/// a large square. Relative spread of the living
/// √(1/N + (1−p)/(n p) + pipette² + chamber²), p the share n of which was looked
/// at lives.
///
/// ```
/// use ferment::{ChamberCount, Squares, count_cells};
/// let count = count_cells(&ChamberCount {
///     cells: 187, squares: Squares::Groups(5.0), dilution: 100.0, stain: None, pipetting: None,
/// })?;
/// assert!((count.all.value.millions_per_ml() - 935.0).abs() < 1e-9);
/// # Ok::<(), ferment::FermentError>(())
/// ```
///
/// # Errors
/// [`FermentError::Impossible`] for more squares than a chamber has, a dilution
/// below one, more dead cells than were looked at, or more than 100 000 cells.
pub fn count_cells(count: &ChamberCount) -> Result<CellCount, FermentError> {
    let per_ml = cells_per_ml(count)?;
    let n = f64::from(count.cells);
    let millions = |cells: f64| CellDensity::from_millions_per_ml(cells * per_ml * 1e-6);
    let whole = within("cells counted in a millilitre", millions(n), 0.0, 1e4)?;
    let pipetting = match count.pipetting {
        Some(spread) => within("spread of the dilution", spread, 0.0, 0.5)?.ratio(),
        None => PIPETTING,
    };
    let by_hand = pipetting.hypot(CHAMBER);
    let viability = count.stain.map(viability).transpose()?;
    let (low, high) = poisson(count.cells);
    let all_sd = whole.canonical() * (1.0 / n.max(1.0)).sqrt().hypot(by_hand);
    let (living, living_between) =
        living(whole, count, viability.as_ref(), by_hand, millions(high));
    Ok(CellCount {
        all: Measured::with_sd(whole, all_sd),
        by_count: (millions(low), millions(high)),
        notes: notes(count, viability.as_ref()),
        viability,
        living,
        living_between,
    })
}

/// Cells in a millilitre for each that was counted.
fn cells_per_ml(count: &ChamberCount) -> Result<f64, FermentError> {
    within_numbers("cells counted", f64::from(count.cells), 0.0, 1e5)?;
    let dilution = within_numbers("dilution", count.dilution, 1.0, 1e6)?;
    let large = match count.squares {
        Squares::Large(n) => within_numbers("large squares counted", n, 0.25, 18.0)?,
        Squares::Groups(n) => within_numbers("groups counted", n, 0.25, 50.0)? / GROUPS,
    };
    Ok(dilution / (large * LARGE_SQUARE_ML))
}

fn viability(stain: Stain) -> Result<Viability, FermentError> {
    within_numbers("cells looked at for the dye", f64::from(stain.of), 1.0, 1e5)?;
    within_numbers(
        "dead cells",
        f64::from(stain.dead),
        0.0,
        f64::from(stain.of),
    )?;
    let alive = stain.of - stain.dead;
    let share = |(a, b): (f64, f64)| (Fraction::from_ratio(a), Fraction::from_ratio(b));
    Ok(Viability {
        share: Fraction::from_ratio(f64::from(alive) / f64::from(stain.of)),
        wilson: share(wilson(alive, stain.of)),
        exact: share(clopper_pearson(alive, stain.of)),
    })
}

/// Living cells with their spread and 95 % interval.
fn living(
    all: CellDensity,
    count: &ChamberCount,
    viability: Option<&Viability>,
    by_hand: f64,
    most: CellDensity,
) -> (Measured<CellDensity>, (CellDensity, CellDensity)) {
    let p = viability.map_or(1.0, |v| v.share.ratio());
    let of_share = match count.stain {
        Some(stain) if p > 0.0 => (1.0 - p) / (f64::from(stain.of) * p),
        _ => 0.0,
    };
    let of_count = 1.0 / f64::from(count.cells.max(1));
    let relative = (of_count + of_share + by_hand * by_hand).sqrt();
    let value = all.millions_per_ml() * p;
    let at = CellDensity::from_millions_per_ml;
    let between = if value > 0.0 {
        let factor = (Z_95 * relative).exp();
        (at(value / factor), at(value * factor))
    } else {
        // None seen, or none alive: the upper ends are all that is known.
        let alive = viability.map_or(1.0, |v| v.exact.1.ratio());
        (at(0.0), at(most.millions_per_ml() * alive))
    };
    (Measured::with_sd(at(value), value * relative), between)
}

fn notes(count: &ChamberCount, viability: Option<&Viability>) -> Vec<Note> {
    let mut notes = Vec::new();
    let n = count.cells;
    if n == 0 {
        notes.push(Note::look(
            "no cell was seen: dilute less and count more squares; only the upper end means anything",
        ));
    } else if n < ROUGH_COUNT {
        notes.push(Note::look(format!(
            "{n} cells make no count yet: go on to {GOOD_COUNT}, {ROUGH_COUNT} for a rough one"
        )));
    } else if n < GOOD_COUNT {
        notes.push(Note::fine(format!(
            "{n} cells make a rough count; {GOOD_COUNT} or more make a good one"
        )));
    }
    let groups = match count.squares {
        Squares::Large(large) => large * GROUPS,
        Squares::Groups(groups) => groups,
    };
    let crowd = f64::from(n) / groups;
    if crowd > CROWDED_GROUP {
        notes.push(Note::look(format!(
            "{crowd:.0} cells over a group of small squares are too many to tell apart: dilute until there are 20 to 50"
        )));
    }
    if let (Some(viability), Some(stain)) = (viability, count.stain) {
        notes.extend(stain_notes(viability, stain));
    }
    notes
}

fn stain_notes(viability: &Viability, stain: Stain) -> Vec<Note> {
    let mut notes = Vec::new();
    let alive = viability.share.ratio();
    if stain.dye == Dye::Blue && alive < BLUE_FAILS {
        notes.push(Note::look(format!(
            "methylene blue counts too many cells as living below about {:.0} %: take it as the most there can be, or stain with methylene violet or in citrate",
            BLUE_FAILS * 100.0
        )));
    }
    let dead = (1.0 - alive) * 100.0;
    if 1.0 - alive > MOST_DEAD {
        notes.push(Note::look(format!(
            "{dead:.0} % of the cells are dead: pitching yeast with more than {:.0} % is better not used, below {:.0} % is wanted",
            MOST_DEAD * 100.0,
            WANTED_DEAD * 100.0
        )));
    }
    if stain.of < GOOD_COUNT {
        notes.push(Note::fine(format!(
            "of {} cells looked at a share is known to {:.0} points at best; {GOOD_COUNT} or more tell it better",
            stain.of,
            50.0 * (viability.wilson.1.ratio() - viability.wilson.0.ratio())
        )));
    }
    notes
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn chamber(cells: u32, squares: Squares, dilution: f64) -> ChamberCount {
        ChamberCount {
            cells,
            squares,
            dilution,
            stain: None,
            pipetting: None,
        }
    }

    fn stained(dead: u32, of: u32, dye: Dye) -> ChamberCount {
        ChamberCount {
            stain: Some(Stain { dead, of, dye }),
            ..chamber(187, Squares::Groups(5.0), 100.0)
        }
    }

    /// Geometry of the chamber (DIN 12847): 187 in five groups at 1 in 100 are
    /// 187/5 × 25 × 10⁴ × 100; interval by SciPy 1.17.1 (tests/reference/pitch.py).
    #[test]
    fn a_count_is_what_the_chamber_holds() {
        let count = count_cells(&chamber(187, Squares::Groups(5.0), 100.0)).unwrap();
        assert!((count.all.value.millions_per_ml() - 935.0).abs() < 1e-9);
        let (low, high) = count.by_count;
        assert!((low.millions_per_ml() - 806.0).abs() < 0.6, "{low:?}");
        assert!((high.millions_per_ml() - 1079.0).abs() < 0.6, "{high:?}");
        let large = count_cells(&chamber(300, Squares::Large(4.0), 10.0)).unwrap();
        assert!((large.all.value.millions_per_ml() - 7.5).abs() < 1e-9);
        assert!(large.notes.is_empty(), "{:?}", large.notes);
    }

    /// √(1/187 + 0.06/(200 × 0.94) + 0.04² + 0.04²), by hand.
    #[test]
    fn spreads_of_count_stain_and_hand_add_in_squares() {
        let count = count_cells(&stained(12, 200, Dye::Violet)).unwrap();
        let living = &count.living;
        assert!((living.value.millions_per_ml() - 935.0 * 0.94).abs() < 1e-9);
        let relative = living.sd() / living.canonical();
        let by_hand = (1.0 / 187.0 + 0.06 / 188.0 + 0.0032_f64).sqrt();
        assert!((relative - by_hand).abs() < 1e-12, "{relative}");
        let viability = count.viability.unwrap();
        assert!((viability.wilson.0.ratio() - 0.89807).abs() < 1e-5);
        assert!((viability.exact.0.ratio() - 0.89754).abs() < 1e-5);
    }

    #[test]
    fn blue_is_not_believed_below_ninety() {
        let says =
            |count: &CellCount, word: &str| count.notes.iter().any(|n| n.text.contains(word));
        let blue = count_cells(&stained(60, 200, Dye::Blue)).unwrap();
        assert!(says(&blue, "methylene blue") && says(&blue, "better not used"));
        let violet = count_cells(&stained(60, 200, Dye::Violet)).unwrap();
        assert!(!says(&violet, "methylene blue counts"));
        let fresh = count_cells(&stained(3, 200, Dye::Blue)).unwrap();
        assert!(!says(&fresh, "methylene") && !says(&fresh, "better not used"));
    }

    #[test]
    fn nothing_seen_is_an_upper_end() {
        let none = count_cells(&chamber(0, Squares::Large(1.0), 1.0)).unwrap();
        assert!(none.all.value.millions_per_ml().abs() < 1e-15);
        assert!((none.living_between.1.millions_per_ml() - 0.036_889).abs() < 1e-6);
        let dead = count_cells(&stained(200, 200, Dye::Violet)).unwrap();
        assert!(dead.living.value.millions_per_ml().abs() < 1e-12);
        assert!(dead.living_between.1.millions_per_ml() > 0.0);
    }

    #[test]
    fn what_no_chamber_can_show_is_refused() {
        for (wrong, word) in [
            (chamber(10, Squares::Large(30.0), 1.0), "large squares"),
            (chamber(10, Squares::Groups(0.0), 1.0), "groups"),
            (chamber(10, Squares::Large(1.0), 0.5), "dilution"),
            (chamber(10, Squares::Large(1.0), f64::NAN), "dilution"),
            (stained(30, 20, Dye::Blue), "dead cells"),
            (stained(0, 0, Dye::Blue), "looked at"),
        ] {
            let told = count_cells(&wrong).unwrap_err().to_string();
            assert!(told.contains(word) && told.contains("would work"), "{told}");
        }
    }

    proptest! {
        #[test]
        fn figures_are_finite_and_ordered(
            cells in 0u32..3000, squares in 0.25..18.0f64, dilution in 1.0..300.0f64,
            of in 1u32..600, share in 0.0..1.0f64,
        ) {
            let dead = (f64::from(of) * share) as u32;
            let count = ChamberCount {
                stain: Some(Stain { dead, of, dye: Dye::Blue }),
                ..chamber(cells, Squares::Large(squares), dilution)
            };
            let Ok(got) = count_cells(&count) else { return Ok(()) };
            let (low, high) = got.living_between;
            prop_assert!(low <= got.living.value && got.living.value <= high);
            prop_assert!(got.living.value.millions_per_ml() <= got.all.value.millions_per_ml() + 1e-12);
            prop_assert!(got.all.sd().is_finite() && got.living.sd().is_finite());
            prop_assert!(got.by_count.0 <= got.all.value && got.all.value <= got.by_count.1);
        }
    }
}
