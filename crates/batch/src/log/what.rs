//! What an instrument in a fermenter measures, and the units that it may say it in.

use quantity::{GaugePressure, Gravity, Ph, Quantity, Temperature};

/// What was measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum What {
    /// Apparent extract of the beer.
    Gravity,
    /// Temperature of the beer.
    Temperature,
    /// Temperature around the vessel.
    Surroundings,
    /// pH of the beer.
    Ph,
    /// Gauge pressure above the beer.
    Pressure,
}

/// A unit of an instrument, and how it becomes the canonical one.
#[derive(Debug, Clone, Copy)]
pub struct LogUnit {
    /// How it is written.
    pub symbol: &'static str,
    /// Its code in UCUM; a gravity has none, so an annotation says what the number is.
    pub ucum: &'static str,
    to_canonical: fn(f64) -> f64,
}

/// °P from specific gravity, only where a gravity can be.
fn plato_of(sg: f64) -> f64 {
    Gravity::from_sg(sg.clamp(0.9, 1.3)).plato()
}

/// The unit of a refractometer's scale.
pub const BRIX: &str = "°Bx";

const GRAVITY: &[LogUnit] = &[
    LogUnit {
        symbol: "SG",
        ucum: "{SG}",
        to_canonical: plato_of,
    },
    LogUnit {
        symbol: "°P",
        ucum: "%{Plato}",
        to_canonical: |x| x,
    },
    // The mark of a refractometer, as it stands on its scale: what it says of wort or beer
    // is set right beside it.
    LogUnit {
        symbol: BRIX,
        ucum: "%{Brix}",
        to_canonical: |x| x,
    },
    LogUnit {
        symbol: "SG x 1000",
        ucum: "10*-3.{SG}",
        to_canonical: |x| plato_of(x / 1000.0),
    },
];

const TEMPERATURE: &[LogUnit] = &[
    LogUnit {
        symbol: "°C",
        ucum: "Cel",
        to_canonical: |x| x,
    },
    LogUnit {
        symbol: "°F",
        ucum: "[degF]",
        to_canonical: |x| (x - 32.0) / 1.8,
    },
    LogUnit {
        symbol: "K",
        ucum: "K",
        to_canonical: |x| x - quantity::ZERO_CELSIUS_K,
    },
];

const PH: &[LogUnit] = &[LogUnit {
    symbol: "pH",
    ucum: "[pH]",
    to_canonical: |x| x,
}];

const PRESSURE: &[LogUnit] = &[
    LogUnit {
        symbol: "bar",
        ucum: "bar",
        to_canonical: |x| x,
    },
    LogUnit {
        symbol: "psi",
        ucum: "[psi]",
        to_canonical: |x| x * quantity::PSI_BAR,
    },
    LogUnit {
        symbol: "kPa",
        ucum: "kPa",
        to_canonical: |x| x / 100.0,
    },
    LogUnit {
        symbol: "Pa",
        ucum: "Pa",
        to_canonical: |x| x / 1e5,
    },
];

impl What {
    /// All of them.
    pub const ALL: [Self; 5] = [
        Self::Gravity,
        Self::Temperature,
        Self::Surroundings,
        Self::Ph,
        Self::Pressure,
    ];

    /// Its word in the store, in forms and in commands.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Gravity => "gravity",
            Self::Temperature => "temperature",
            Self::Surroundings => "surroundings",
            Self::Ph => "ph",
            Self::Pressure => "pressure",
        }
    }

    /// The one with a word.
    #[must_use]
    pub fn of_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|what| what.word() == word)
    }

    /// The units that it may be in, the usual one first.
    #[must_use]
    pub const fn units(self) -> &'static [LogUnit] {
        match self {
            Self::Gravity => GRAVITY,
            Self::Temperature | Self::Surroundings => TEMPERATURE,
            Self::Ph => PH,
            Self::Pressure => PRESSURE,
        }
    }

    /// The symbol of the canonical unit.
    #[must_use]
    pub const fn canonical_unit(self) -> &'static str {
        match self {
            Self::Gravity => "°P",
            Self::Temperature | Self::Surroundings => "°C",
            Self::Ph => "pH",
            Self::Pressure => "bar",
        }
    }

    /// What was written by hand, as a reading is: with its unit or as gravities and pH
    /// are without one. The number, and the unit that it is kept in: the canonical one,
    /// or that of a refractometer's scale.
    ///
    /// # Errors
    /// What is wrong with it, and what would work.
    pub fn entered(self, text: &str) -> Result<(f64, &'static str), quantity::QuantityError> {
        if self == Self::Gravity
            && let Ok(mark) = text.parse::<quantity::Brix>()
        {
            return Ok((mark.bx(), BRIX));
        }
        fn read<Q: Quantity>(text: &str) -> Result<f64, quantity::QuantityError> {
            quantity::parse_value::<Q>(text).map(Quantity::canonical)
        }
        let canonical = match self {
            Self::Gravity => read::<Gravity>(text),
            Self::Temperature | Self::Surroundings => read::<Temperature>(text),
            Self::Ph => read::<Ph>(text),
            Self::Pressure => read::<GaugePressure>(text),
        };
        canonical.map(|canonical| (canonical, self.canonical_unit()))
    }

    /// The unit with a symbol or a UCUM code.
    #[must_use]
    pub fn unit(self, symbol: &str) -> Option<&'static LogUnit> {
        let mut units = self.units().iter();
        units.find(|unit| unit.symbol == symbol || unit.ucum == symbol)
    }

    /// The UCUM code of the canonical unit.
    #[must_use]
    pub fn canonical_ucum(self) -> &'static str {
        self.unit(self.canonical_unit())
            .map_or("", |unit| unit.ucum)
    }

    /// Least and most that a reading can be, in the canonical unit (°P, °C, pH, bar).
    #[must_use]
    pub fn bounds(self) -> (f64, f64) {
        match self {
            Self::Gravity => (-4.0, 40.0),
            Self::Temperature | Self::Surroundings => (-30.0, 110.0),
            Self::Ph => (1.0, 13.0),
            Self::Pressure => (-1.0, 12.0),
        }
    }

    /// A canonical number with its standard deviation, ready to read.
    #[must_use]
    pub fn show_measured(self, canonical: f64, sd: f64, units: quantity::Units) -> String {
        fn text<Q: Quantity>(canonical: f64, sd: f64, units: quantity::Units) -> String {
            let value = quantity::Measured::with_sd(Q::from_canonical(canonical), sd);
            quantity::show_measured(&value, units)
        }
        match self {
            Self::Gravity => text::<Gravity>(canonical, sd, units),
            Self::Temperature | Self::Surroundings => text::<Temperature>(canonical, sd, units),
            Self::Ph => text::<Ph>(canonical, sd, units),
            Self::Pressure => text::<GaugePressure>(canonical, sd, units),
        }
    }

    /// A canonical number, ready to read.
    #[must_use]
    pub fn show(self, canonical: f64, units: quantity::Units) -> String {
        fn text<Q: Quantity>(canonical: f64, units: quantity::Units) -> String {
            quantity::show(Q::from_canonical(canonical), units)
        }
        match self {
            Self::Gravity => text::<Gravity>(canonical, units),
            Self::Temperature | Self::Surroundings => text::<Temperature>(canonical, units),
            Self::Ph => text::<Ph>(canonical, units),
            Self::Pressure => text::<GaugePressure>(canonical, units),
        }
    }
}

impl LogUnit {
    /// The canonical number of a value in this unit, where such a reading can be.
    #[must_use]
    pub fn canonical(&self, what: What, value: f64) -> Option<f64> {
        let canonical = (self.to_canonical)(value);
        let (least, most) = what.bounds();
        // What a conversion had to clamp is out of bounds as well.
        (canonical.is_finite() && (least..=most).contains(&canonical)).then_some(canonical)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_come_to_one() {
        let canonical = |what: What, symbol: &str, value: f64| {
            what.unit(symbol).unwrap().canonical(what, value)
        };
        let near = |ours: Option<f64>, wanted: f64| (ours.unwrap() - wanted).abs() < 1e-3;
        assert!(near(canonical(What::Gravity, "SG", 1.048), 11.922));
        assert!(near(canonical(What::Gravity, "SG x 1000", 1048.0), 11.922));
        assert!(near(canonical(What::Gravity, "%{Brix}", 12.4), 12.4));
        assert_eq!(What::Gravity.entered("12.4 °Bx"), Ok((12.4, BRIX)));
        assert_eq!(What::Gravity.entered("12 °P"), Ok((12.0, "°P")));
        assert!(near(canonical(What::Temperature, "°F", 68.0), 20.0));
        assert!(near(canonical(What::Surroundings, "K", 293.15), 20.0));
        assert!(near(canonical(What::Pressure, "psi", 14.503_77), 1.0));
        assert!(near(canonical(What::Pressure, "Pa", 120_000.0), 1.2));
        assert_eq!(canonical(What::Gravity, "SG", 3.7), None);
        assert_eq!(canonical(What::Temperature, "°C", f64::NAN), None);
        for what in What::ALL {
            assert_eq!(What::of_word(what.word()), Some(what));
        }
    }
}
