//! A value together with how well it is known.

use crate::unit::Quantity;

/// How well a value is known, in the canonical unit of its quantity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Spread {
    /// Nothing was said about it.
    Unstated,
    /// A standard deviation.
    Sd(f64),
    /// Somewhere between two ends, nothing more: a rectangular distribution.
    Range {
        /// The lower end.
        low: f64,
        /// The upper end.
        high: f64,
    },
}

/// A quantity with its spread.
///
/// ```
/// use quantity::{Chlorine, Measured};
/// let tap: Measured<Chlorine> = "1.8 ± 0.3 mg/L as Cl2".parse().unwrap();
/// assert_eq!(tap.value.mg_per_l(), 1.8);
/// assert!((tap.sd() - 0.3).abs() < 1e-12);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured<Q> {
    /// The value; of a range, its middle.
    pub value: Q,
    /// How well it is known.
    pub spread: Spread,
}

impl<Q: Quantity> Measured<Q> {
    /// A value about whose spread nothing is said.
    #[must_use]
    pub fn exactly(value: Q) -> Self {
        Self {
            value,
            spread: Spread::Unstated,
        }
    }

    /// A value with a standard deviation in the canonical unit.
    #[must_use]
    pub fn with_sd(value: Q, sd: f64) -> Self {
        Self {
            value,
            spread: Spread::Sd(sd.abs()),
        }
    }

    /// The standard deviation in the canonical unit: zero where unstated, and
    /// half the width over √3 for a range (GUM, rectangular distribution).
    #[must_use]
    pub fn sd(&self) -> f64 {
        match self.spread {
            Spread::Unstated => 0.0,
            Spread::Sd(sd) => sd,
            Spread::Range { low, high } => (high - low) / 2.0 / 3f64.sqrt(),
        }
    }

    /// The number in the canonical unit.
    #[must_use]
    pub fn canonical(&self) -> f64 {
        self.value.canonical()
    }

    /// The highest value that is still plausible: two standard deviations up,
    /// or the upper end of a range; kept within the bounds of the quantity.
    #[must_use]
    pub fn upper(&self) -> Q {
        let up = match self.spread {
            Spread::Range { high, .. } => high,
            _ => self.canonical() + 2.0 * self.sd(),
        };
        Q::from_canonical(up.min(Q::MAX))
    }

    /// The lowest value that is still plausible, as [`upper`](Self::upper).
    #[must_use]
    pub fn lower(&self) -> Q {
        let down = match self.spread {
            Spread::Range { low, .. } => low,
            _ => self.canonical() - 2.0 * self.sd(),
        };
        Q::from_canonical(down.max(Q::MIN))
    }
}
