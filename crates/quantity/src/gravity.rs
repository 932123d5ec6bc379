//! Gravity: one thing on two scales, degrees Plato and specific gravity. The
//! conversion is the sucrose table, not a factor, so it has a file of its own.

use crate::density::{plato_from_specific_gravity, specific_gravity_from_plato};
use crate::kinds::text_forms;
use crate::show::Units;
use crate::unit::{Ambiguous, Quantity, Shown, Unit};

/// Apparent extract of wort or beer \[°P\]: the mass per cent of sucrose in a
/// solution of the same density at 20 °C. Specific gravity is 20 °C/20 °C.
///
/// ```
/// use quantity::Gravity;
/// let og: Gravity = "1.050".parse().unwrap();
/// assert!((og.plato() - 12.398).abs() < 0.001);
/// assert_eq!("12.4 °P".parse::<Gravity>().unwrap().to_string(), "1.0500");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Gravity(f64);

impl Gravity {
    /// From degrees Plato.
    #[must_use]
    pub const fn from_plato(value: f64) -> Self {
        Self(value)
    }

    /// From a specific gravity at 20 °C/20 °C.
    #[must_use]
    pub fn from_sg(value: f64) -> Self {
        Self(plato_from_specific_gravity(value))
    }

    /// Degrees Plato.
    #[must_use]
    pub const fn plato(self) -> f64 {
        self.0
    }

    /// Specific gravity at 20 °C/20 °C.
    #[must_use]
    pub fn sg(self) -> f64 {
        specific_gravity_from_plato(self.0)
    }

    /// Both scales, as a brew sheet wants it: "1.0500 (12.4 °P)".
    #[must_use]
    pub fn both(self, _units: Units) -> String {
        format!("{:.4} ({:.1} °P)", self.sg(), self.0)
    }
}

impl Quantity for Gravity {
    const NAME: &'static str = "gravity";
    const UNITS: &'static [Unit] = &[
        Unit {
            symbol: "°P",
            aliases: &["P", "Plato", "°Plato", "% extract"],
            to_canonical: |x| x,
            from_canonical: |x| x,
        },
        Unit {
            symbol: "",
            aliases: &["SG"],
            to_canonical: plato_from_specific_gravity,
            from_canonical: specific_gravity_from_plato,
        },
    ];
    const AMBIGUOUS: &'static [Ambiguous] = &[
        Ambiguous {
            spellings: &["°Bx", "Brix", "°Brix", "Bx"],
            hint: "a refractometer's Brix reading is not a gravity: convert it with the instrument's wort factor, then write °P",
        },
        Ambiguous {
            spellings: &["points", "pts", "pt", "°Oe"],
            hint: "write the specific gravity, as in 1.052, or °P",
        },
    ];
    // Beer can finish below the density of water; 35 °P is the table's usable end.
    const MIN: f64 = -8.0;
    const MAX: f64 = 35.0;
    const ADDITIVE: bool = false;
    const METRIC: &'static [Shown] = &[Shown {
        from: 0.0,
        symbol: "",
        decimals: 4,
    }];
    const US: &'static [Shown] = &[Shown {
        from: 0.0,
        symbol: "",
        decimals: 4,
    }];

    fn from_canonical(value: f64) -> Self {
        Self(value)
    }

    fn canonical(self) -> f64 {
        self.0
    }
}

text_forms!(Gravity);
