//! Temperature: affine, so it has a file of its own.

use crate::kinds::text_forms;
use crate::unit::{Ambiguous, Quantity, Shown, Unit};

/// Zero of the Celsius scale \[K\].
pub const ZERO_CELSIUS_K: f64 = 273.15;

/// Temperature \[°C\].
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Temperature(f64);

impl Temperature {
    /// From degrees Celsius.
    #[must_use]
    pub const fn from_c(value: f64) -> Self {
        Self(value)
    }

    /// Degrees Celsius.
    #[must_use]
    pub const fn c(self) -> f64 {
        self.0
    }

    /// Kelvin.
    #[must_use]
    pub const fn k(self) -> f64 {
        self.0 + ZERO_CELSIUS_K
    }
}

impl Quantity for Temperature {
    const NAME: &'static str = "temperature";
    const UNITS: &'static [Unit] = &[
        Unit {
            symbol: "°C",
            aliases: &["C", "deg C", "degC", "Celsius"],
            to_canonical: |x| x,
            from_canonical: |x| x,
        },
        Unit {
            symbol: "°F",
            aliases: &["F", "deg F", "degF", "Fahrenheit"],
            to_canonical: |x| (x - 32.0) / 1.8,
            from_canonical: |x| x * 1.8 + 32.0,
        },
        Unit {
            symbol: "K",
            aliases: &["kelvin"],
            to_canonical: |x| x - ZERO_CELSIUS_K,
            from_canonical: |x| x + ZERO_CELSIUS_K,
        },
    ];
    const AMBIGUOUS: &'static [Ambiguous] = &[Ambiguous {
        spellings: &["°", "deg", "degrees"],
        hint: "say which degrees: °C or °F",
    }];
    const MIN: f64 = -40.0;
    const MAX: f64 = 200.0;
    const ADDITIVE: bool = false;
    const METRIC: &'static [Shown] = &[Shown {
        from: 0.0,
        symbol: "°C",
        decimals: 1,
    }];
    const US: &'static [Shown] = &[Shown {
        from: 0.0,
        symbol: "°F",
        decimals: 0,
    }];

    fn from_canonical(value: f64) -> Self {
        Self(value)
    }

    fn canonical(self) -> f64 {
        self.0
    }
}

text_forms!(Temperature);
