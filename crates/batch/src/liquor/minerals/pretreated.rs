//! Waters that are boiled or limed before anything else is done to them.

use quantity::{Alkalinity, Calcium, Caution, Magnesium, MassConcentration, Measured, Note};
use quantity::{Quantity, Temperature};
use water::speciation::{Solution, SpeciationError, boil, lime, lime_dose};
use water::{Ions, SourceWater};

use super::MineralsError;
use super::settings::setting;
use crate::document::SourceEntry;

/// A way of a water, and what it takes.
#[derive(Debug, Clone, PartialEq)]
pub struct Pretreated {
    /// Which source of the document, counted from nought.
    pub source: usize,
    /// "boiled" or "limed".
    pub how: String,
    /// The water after it.
    pub water: SourceWater,
    /// What fell in part, with its spread.
    pub left: Left,
    /// Slaked lime for a litre, where it is limed.
    pub lime: Option<MassConcentration>,
    /// Remarks.
    pub notes: Vec<Note>,
    /// What can hurt someone.
    pub cautions: Vec<Caution>,
}

/// What boiling or lime leaves of that which can fall.
///
/// The spread is that of the analysis, carried through by the law of propagation (JCGM 100,
/// 5.1.2), and what nobody knows of the way itself. Of a boil: how far it goes, from its end
/// point to as much on the other side of what is likely. Of lime: how much of it still is
/// lime, which the doses of practice span. Both are taken as rectangular (judgement).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Left {
    /// Calcium.
    pub calcium: Measured<Calcium>,
    /// Magnesium.
    pub magnesium: Measured<Magnesium>,
    /// Alkalinity.
    pub alkalinity: Measured<Alkalinity>,
}

/// Calcium and magnesium \[mg/L\], alkalinity \[mEq/L\].
type Levels = [f64; 3];

fn levels(after: &Solution, magnesium: Magnesium) -> Levels {
    [
        after.ions().calcium.canonical(),
        magnesium.canonical(),
        after.alkalinity().canonical(),
    ]
}

impl Left {
    /// `way` leads from a water to what is left of it; `ends` are both ends of what the way
    /// itself leaves open.
    fn of(
        entry: &SourceEntry,
        water: &SourceWater,
        [low, high]: [Levels; 2],
        way: &dyn Fn(&SourceWater) -> Result<Levels, SpeciationError>,
    ) -> Result<Self, SpeciationError> {
        let likely = way(water)?;
        let mut variance: Levels = std::array::from_fn(|i| (high[i] - low[i]).powi(2) / 12.0);
        let sds = [
            entry.calcium.sd(),
            entry.magnesium.sd(),
            entry.alkalinity.sd(),
        ];
        for (which, sd) in sds.into_iter().enumerate().filter(|(_, sd)| *sd > 0.0) {
            let [less, more] = [-1.0, 1.0].map(|sign| way(&moved(water, which, sign * sd)));
            let (less, more) = (less?, more?);
            for (sum, (more, less)) in variance.iter_mut().zip(more.into_iter().zip(less)) {
                *sum += ((more - less) / 2.0).powi(2);
            }
        }
        let [calcium, magnesium, alkalinity] = likely;
        Ok(Self {
            calcium: Measured::with_sd(Calcium::from_canonical(calcium), variance[0].sqrt()),
            magnesium: Measured::with_sd(Magnesium::from_canonical(magnesium), variance[1].sqrt()),
            alkalinity: Measured::with_sd(
                Alkalinity::from_canonical(alkalinity),
                variance[2].sqrt(),
            ),
        })
    }
}

/// A water with one of its levels moved, at least to nought.
fn moved(water: &SourceWater, which: usize, by: f64) -> SourceWater {
    let mut water = water.clone();
    let ions = &mut water.ions;
    match which {
        0 => ions.calcium = Calcium::from_canonical((ions.calcium.canonical() + by).max(0.0)),
        1 => ions.magnesium = Magnesium::from_canonical((ions.magnesium.canonical() + by).max(0.0)),
        _ => {
            let alkalinity = (water.alkalinity.canonical() + by).max(0.0);
            water.alkalinity = Alkalinity::from_canonical(alkalinity);
        }
    }
    water
}

/// The analysis holds at this temperature.
const ROOM: Temperature = Temperature::from_c(20.0);

/// A water boiled until its chalk falls out.
pub(super) fn boiled(
    source: usize,
    entry: &SourceEntry,
    water: &SourceWater,
) -> Result<Pretreated, MineralsError> {
    let air = || setting("air").quantity();
    let make = || {
        let made = boil(&solution(water)?, air())?;
        let way = |water: &SourceWater| {
            let made = boil(&solution(water)?, air())?;
            Ok(levels(&made.likely, water.ions.magnesium))
        };
        let magnesium = water.ions.magnesium;
        let likely = levels(&made.likely, magnesium);
        let least = levels(&made.end_point, magnesium);
        let most = std::array::from_fn(|i| 2.0 * likely[i] - least[i]);
        Ok((Left::of(entry, water, [least, most], &way)?, made))
    };
    let (left, made) = make().map_err(|error: SpeciationError| refused(water, &error))?;
    const HOW: &str = "boiled";
    Ok(Pretreated {
        source,
        how: HOW.to_owned(),
        water: after(water, HOW, &left),
        left,
        lime: None,
        notes: made.notes,
        cautions: made.cautions,
    })
}

/// A water limed to the middle of what practice doses.
pub(super) fn limed(
    source: usize,
    entry: &SourceEntry,
    water: &SourceWater,
) -> Result<Pretreated, MineralsError> {
    let make = || {
        let dose = lime_dose(&solution(water)?)?;
        let (low, high) = (dose.recommended_low, dose.recommended_high);
        let middle = f64::midpoint(low.mg_per_l(), high.mg_per_l());
        let middle = MassConcentration::from_mg_per_l(middle);
        let with = |water: &SourceWater, dose: MassConcentration| {
            let settled = lime(&solution(water)?, dose)?;
            Ok(levels(&settled, settled.ions().magnesium))
        };
        let ends = [with(water, low)?, with(water, high)?];
        let left = Left::of(entry, water, ends, &|water| with(water, middle))?;
        Ok((left, middle, dose))
    };
    let (left, middle, dose) = make().map_err(|error: SpeciationError| refused(water, &error))?;
    const HOW: &str = "limed";
    Ok(Pretreated {
        source,
        how: HOW.to_owned(),
        water: after(water, HOW, &left),
        left,
        lime: Some(middle),
        notes: dose.notes,
        cautions: dose.cautions,
    })
}

fn solution(water: &SourceWater) -> Result<Solution, SpeciationError> {
    Solution::of(water, ROOM, setting("carbon_dioxide_of_the_tap").quantity())
}

fn refused(water: &SourceWater, error: &SpeciationError) -> MineralsError {
    MineralsError::Pretreatment {
        water: water.name.clone(),
        message: error.to_string(),
    }
}

/// What fell out is gone; the pH is no longer that of the analysis. Chlorine is
/// left as it was, which errs on the safe side.
fn after(water: &SourceWater, how: &str, left: &Left) -> SourceWater {
    SourceWater {
        name: format!("{}, {how}", water.name),
        ions: Ions {
            calcium: left.calcium.value,
            magnesium: left.magnesium.value,
            ..water.ions
        },
        alkalinity: left.alkalinity.value,
        ph: None,
        ..water.clone()
    }
}
