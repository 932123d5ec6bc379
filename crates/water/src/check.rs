//! Bounds of what comes in and of what is handed on.

use std::fmt::Display;

use quantity::{Measured, Quantity, Spread};

use crate::error::WaterError;
use crate::state::{Ions, SourceWater};

/// Refuses a quantity that is not finite or not within the bounds of its kind.
pub(crate) fn within<Q: Quantity>(what: impl Display, value: Q) -> Result<Q, WaterError> {
    if value.within_bounds() {
        return Ok(value);
    }
    Err(out_of_bounds(what, value, Q::MIN, Q::MAX))
}

/// As [`within`], where there is one.
fn optional<Q: Quantity>(what: impl Display, value: Option<Q>) -> Result<(), WaterError> {
    value.map_or(Ok(()), |x| within(what, x).map(drop))
}

/// As [`within`], and not zero either.
pub(crate) fn above_zero<Q: Quantity>(
    what: impl Display + Copy,
    value: Q,
) -> Result<Q, WaterError> {
    within(what, value)?;
    if value.canonical() > 0.0 {
        return Ok(value);
    }
    Err(out_of_bounds(what, value, f64::MIN_POSITIVE, Q::MAX))
}

/// As [`within`], for the value and both ends of its spread.
pub(crate) fn measured<Q: Quantity>(
    what: impl Display + Copy,
    given: &Measured<Q>,
) -> Result<(), WaterError> {
    within(what, given.value)?;
    match given.spread {
        Spread::Unstated => Ok(()),
        Spread::Sd(sd) if sd.is_finite() && sd >= 0.0 => Ok(()),
        Spread::Sd(sd) => Err(out_of_bounds(what, Q::from_canonical(sd), 0.0, Q::MAX)),
        Spread::Range { low, high } => {
            within(what, Q::from_canonical(low))?;
            within(what, Q::from_canonical(high))?;
            if (low..=high).contains(&given.canonical()) {
                return Ok(());
            }
            Err(out_of_bounds(what, given.value, low, high))
        }
    }
}

/// A figure of something, written out only where it is refused.
#[derive(Clone, Copy)]
pub(crate) struct Of<'a, W>(pub(crate) W, pub(crate) &'a str);

impl<W: Display> Display for Of<'_, W> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {}", self.0, self.1)
    }
}

/// Refuses a water with an impossible figure, naming the figure.
pub(crate) fn source(water: &SourceWater) -> Result<(), WaterError> {
    let name = water.name.as_str();
    let of = |item: &'static str| Of(name, item);
    ions(name, &water.ions)?;
    within(of("alkalinity"), water.alkalinity)?;
    optional(of("pH"), water.ph)?;
    optional(of("nitrite"), water.nitrite)?;
    optional(of("iron"), water.iron)?;
    optional(of("manganese"), water.manganese)?;
    optional(of("copper"), water.copper)?;
    optional(of("lead"), water.lead)?;
    optional(of("arsenic"), water.arsenic)?;
    optional(of("fluoride"), water.fluoride)?;
    optional(of("zinc"), water.zinc)?;
    optional(of("dissolved solids"), water.dissolved_solids)?;
    optional(of("age of the test"), water.test_age)?;
    measured(of("total chlorine"), &water.total_chlorine)?;
    let Some(free) = water.free_chlorine else {
        return Ok(());
    };
    measured(of("free chlorine"), &free)?;
    let (free, total) = (free.value.mg_per_l(), water.total_chlorine.value.mg_per_l());
    // Blending rounds; a difference in the last digits is not a fault of the water.
    if free > total + 1e-9 {
        return Err(WaterError::FreeAboveTotal {
            water: water.name.clone(),
            free,
            total,
        });
    }
    Ok(())
}

/// Refuses impossible ions, naming the ion.
pub(crate) fn ions(whose: impl Display + Copy, ions: &Ions) -> Result<(), WaterError> {
    let of = |item: &'static str| Of(whose, item);
    within(of("calcium"), ions.calcium)?;
    within(of("magnesium"), ions.magnesium)?;
    within(of("sodium"), ions.sodium)?;
    within(of("potassium"), ions.potassium)?;
    within(of("ammonium"), ions.ammonium)?;
    within(of("chloride"), ions.chloride)?;
    within(of("sulfate"), ions.sulfate)?;
    within(of("nitrate"), ions.nitrate)?;
    Ok(())
}

fn out_of_bounds<Q: Quantity>(what: impl Display, given: Q, min: f64, max: f64) -> WaterError {
    let unit = Q::UNITS.first();
    let written = |x: f64| unit.map_or(x, |unit| (unit.from_canonical)(x));
    WaterError::OutOfBounds {
        what: what.to_string(),
        given: written(given.canonical()),
        min: written(min),
        max: written(max),
        unit: unit.map_or("", |unit| unit.symbol),
    }
}
