//! Why a beer cannot be judged.

use quantity::Quantity;

/// A beer whose figures cannot be.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum GlassError {
    /// A number that cannot be.
    #[error(
        "{what} of the packed beer is {} {unit}; it must lie between {} and {} {unit}",
        quantity::rounded(*.given), quantity::rounded(*.least), quantity::rounded(*.most)
    )]
    Impossible {
        /// What the number stands for.
        what: &'static str,
        /// What was given, in `unit`.
        given: f64,
        /// The unit of the numbers here.
        unit: &'static str,
        /// The least that works.
        least: f64,
        /// The most that works.
        most: f64,
    },
}

/// Lets a quantity through that lies within the bounds of its kind.
pub(crate) fn sound<Q: Quantity>(what: &'static str, value: Q) -> Result<Q, GlassError> {
    if value.within_bounds() {
        return Ok(value);
    }
    Err(GlassError::Impossible {
        what,
        given: value.canonical(),
        unit: Q::UNITS.first().map_or("", |unit| unit.symbol),
        least: Q::MIN,
        most: Q::MAX,
    })
}
