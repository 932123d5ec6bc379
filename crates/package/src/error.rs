//! Why beer cannot be packed as planned.

use quantity::{GaugePressure, Gravity, Quantity, rounded};

/// A plan for packaging that cannot be carried out, or must not be.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PackageError {
    /// A number that cannot be.
    #[error(
        "{what} is {} {unit}; it must lie between {} and {} {unit}",
        rounded(*.given), rounded(*.least), rounded(*.most)
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
    /// More stays behind than there is.
    #[error(
        "packaging would lose {} L of {} L of beer; name a loss that is less than the beer",
        rounded(*.loss_l), rounded(*.beer_l)
    )]
    LossTakesAll {
        /// The loss \[L\].
        loss_l: f64,
        /// The beer \[L\].
        beer_l: f64,
    },
    /// Beer that has hardly fermented.
    #[error(
        "{:.1} °P of the beer could still ferment in the package, more than anything would bear; give it the time, the warmth or the yeast to ferment out first",
        .left.plato()
    )]
    Unfermented {
        /// Apparent extract that can still ferment.
        left: Gravity,
    },
    /// A container that is not made for pressure.
    #[error(
        "{name} is not made for pressure and can burst; choose bottles, cans or a keg made and rated for carbonated drinks"
    )]
    NotForPressure {
        /// The container.
        name: String,
    },
    /// A container that does not suit the way of packaging.
    #[error("{name} is of the kind \"{kind}\"; {wanted}")]
    WrongContainer {
        /// The container.
        name: String,
        /// Its kind.
        kind: &'static str,
        /// What would work.
        wanted: &'static str,
    },
    /// A tap that stands too high for the pressure of the keg.
    #[error(
        "rise and tap alone take {:.2} bar and the keg has {:.2} bar; lower the tap, or use a pump or mixed gas",
        .needed.bar(), .keg.bar()
    )]
    NoPour {
        /// What the keg is set to.
        keg: GaugePressure,
        /// What rise and tap take.
        needed: GaugePressure,
    },
    /// Wort that is too weak to prime with.
    #[error(
        "this wort brings {} g of CO2 in a litre and the aim is {} g/L; take stronger or less fermented wort",
        rounded(*.brings_g_per_l), rounded(*.aim_g_per_l)
    )]
    WeakWort {
        /// CO₂ of a litre of it \[g\].
        brings_g_per_l: f64,
        /// The aim \[g/L\].
        aim_g_per_l: f64,
    },
    /// A stock that is not stronger than the solution wanted of it.
    #[error(
        "the stock is not stronger than the solution wanted; take a stronger stock or aim lower"
    )]
    WeakStock,
    /// A strength counted in another way than the stock's.
    #[error(
        "the strength is counted in another way than that of the stock; write mg/L of what works, or mL/L for what is dosed as it is sold"
    )]
    OtherStrength,
    /// A key that no row of a table has.
    #[error("no {what} has the key {given:?}{}; known are {known}", nearest_words(nearest.as_ref()))]
    UnknownKey {
        /// What was looked for.
        what: &'static str,
        /// The key that was given.
        given: String,
        /// The nearest key there is.
        nearest: Option<String>,
        /// All keys.
        known: String,
    },
}

fn nearest_words(nearest: Option<&String>) -> String {
    nearest.map_or_else(String::new, |key| format!(" (perhaps {key:?})"))
}

/// Lets a quantity through that lies within given limits, in its canonical
/// unit, and refuses anything else, not-a-number included.
pub(crate) fn within<Q: Quantity>(
    what: &'static str,
    value: Q,
    least: f64,
    most: f64,
) -> Result<Q, PackageError> {
    let given = value.canonical();
    if (least..=most).contains(&given) {
        return Ok(value);
    }
    let unit = Q::UNITS.first();
    let written = |x: f64| unit.map_or(x, |unit| (unit.from_canonical)(x));
    Err(PackageError::Impossible {
        what,
        given: written(given),
        unit: unit.map_or("", |unit| unit.symbol),
        least: written(least),
        most: written(most),
    })
}

/// Lets a quantity through that lies within the bounds of its kind.
pub(crate) fn sound<Q: Quantity>(what: &'static str, value: Q) -> Result<Q, PackageError> {
    within(what, value, Q::MIN, Q::MAX)
}

/// The row of a table with a key, or an error that names the nearest.
pub(crate) fn find<'a, T>(
    what: &'static str,
    rows: &'a [T],
    key_of: impl Fn(&T) -> &str,
    key: &str,
) -> Result<&'a T, PackageError> {
    rows.iter().find(|row| key_of(row) == key).ok_or_else(|| {
        let keys: Vec<&str> = rows.iter().map(&key_of).collect();
        PackageError::UnknownKey {
            what,
            given: key.to_owned(),
            nearest: quantity::nearest(&key.to_lowercase(), keys.iter().copied())
                .map(str::to_owned),
            known: keys.join(", "),
        }
    })
}
