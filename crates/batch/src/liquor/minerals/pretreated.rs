//! Waters that are boiled or limed before anything else is done to them.

use quantity::{Alkalinity, Calcium, Caution, Magnesium, MassConcentration, Note, Temperature};
use water::speciation::{Solution, SpeciationError, boil, lime, lime_dose};
use water::{Ions, SourceWater};

use super::MineralsError;
use super::settings::setting;

/// A way of a water, and what it takes.
#[derive(Debug, Clone, PartialEq)]
pub struct Pretreated {
    /// Which source of the document, counted from nought.
    pub source: usize,
    /// "boiled" or "limed".
    pub how: String,
    /// The water after it.
    pub water: SourceWater,
    /// Slaked lime for a litre, where it is limed.
    pub lime: Option<MassConcentration>,
    /// Remarks.
    pub notes: Vec<Note>,
    /// What can hurt someone.
    pub cautions: Vec<Caution>,
}

/// The analysis holds at this temperature.
const ROOM: Temperature = Temperature::from_c(20.0);

/// A water boiled until its chalk falls out.
pub(super) fn boiled(source: usize, water: &SourceWater) -> Result<Pretreated, MineralsError> {
    let made = solution(water)
        .and_then(|solution| boil(&solution, setting("air").quantity()))
        .map_err(|error| refused(water, &error))?;
    Ok(Pretreated {
        source,
        how: "boiled".to_owned(),
        water: after(water, (made.calcium, water.ions.magnesium), made.alkalinity),
        lime: None,
        notes: made.notes,
        cautions: made.cautions,
    })
}

/// A water limed to the middle of what practice doses.
pub(super) fn limed(source: usize, water: &SourceWater) -> Result<Pretreated, MineralsError> {
    let make = || {
        let solution = solution(water)?;
        let dose = lime_dose(&solution)?;
        let (low, high) = (dose.recommended_low, dose.recommended_high);
        let middle = f64::midpoint(low.mg_per_l(), high.mg_per_l());
        let middle = MassConcentration::from_mg_per_l(middle);
        Ok((lime(&solution, middle)?, middle, dose))
    };
    let (settled, middle, dose) =
        make().map_err(|error: SpeciationError| refused(water, &error))?;
    let ions = settled.ions();
    Ok(Pretreated {
        source,
        how: "limed".to_owned(),
        water: after(water, (ions.calcium, ions.magnesium), settled.alkalinity()),
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
fn after(
    water: &SourceWater,
    (calcium, magnesium): (Calcium, Magnesium),
    alkalinity: Alkalinity,
) -> SourceWater {
    SourceWater {
        ions: Ions {
            calcium,
            magnesium,
            ..water.ions
        },
        alkalinity,
        ph: None,
        ..water.clone()
    }
}
