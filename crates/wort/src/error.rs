//! What can be wrong with a wort plan, and what would work.

use quantity::{Gravity, Temperature, Volume, VolumePerMass, rounded};

/// A plan that cannot be brewed, or a name that is not known.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum WortError {
    /// A malt, adjunct or sugar that the table does not have.
    #[error("unknown fermentable {name:?}{}", did_you_mean(*.nearest))]
    UnknownFermentable {
        /// What was written.
        name: String,
        /// The nearest name of the table.
        nearest: Option<&'static str>,
    },
    /// A hop that the table does not have.
    #[error("unknown hop {name:?}{}", did_you_mean(*.nearest))]
    UnknownHop {
        /// What was written.
        name: String,
        /// The nearest name of the table.
        nearest: Option<&'static str>,
    },
    /// A number outside what is physically possible.
    #[error(
        "{what} cannot be {}{}{unit}; between {} and {}{}{unit} would work",
        rounded(*.given), gap(.unit), rounded(*.least), rounded(*.most), gap(.unit)
    )]
    Impossible {
        /// The quantity.
        what: &'static str,
        /// The number given, in `unit`.
        given: f64,
        /// The unit of the three numbers.
        unit: &'static str,
        /// The least that would work.
        least: f64,
        /// The most that would work.
        most: f64,
    },
    /// Nothing that gives extract.
    #[error("the grist is empty; add at least one malt, sugar or malt extract")]
    EmptyGrist,
    /// Grain without a rest that converts starch.
    #[error("no rest of the mash converts starch; add one between 60 and 75 °C")]
    NoConversion,
    /// The mash alone needs more water than the whole batch.
    #[error(
        "mashing with {given} takes more water than the batch needs; {at_most} or less would work, or a larger batch"
    )]
    TooMuchMashLiquor {
        /// The thickness planned.
        given: VolumePerMass,
        /// The thickness that leaves no sparge.
        at_most: VolumePerMass,
    },
    /// The wet grain and the dead space hold all the liquor.
    #[error(
        "the grain and the dead space hold {retained} but the mash has only {liquid} of liquid; a thinner mash or less dead space would work"
    )]
    NothingRunsOff {
        /// Held back.
        retained: Volume,
        /// Liquid in the mash.
        liquid: Volume,
    },
    /// Top-up water leaves no room for wort.
    #[error(
        "{top_up} of top-up water leaves no room for wort in {wanted}; less than {wanted} would work"
    )]
    TooMuchTopUp {
        /// Top-up water.
        top_up: Volume,
        /// Volume wanted in the fermenter.
        wanted: Volume,
    },
    /// The wort would be stronger than the density table reaches.
    #[error(
        "the wort would have {plato:.1} °P, above the {} °P that can be reckoned; less grist or more volume would work",
        .most.plato()
    )]
    TooStrong {
        /// The gravity reached.
        plato: f64,
        /// The most that can be reckoned.
        most: Gravity,
    },
    /// Strike water would have to be hotter than boiling.
    #[error(
        "strike water would have to be {needed}, above its boiling point of {boils}; a thinner mash, warmer grain or a preheated tun would work"
    )]
    StrikeTooHot {
        /// Temperature needed.
        needed: Temperature,
        /// Boiling point at this altitude.
        boils: Temperature,
    },
    /// A step to a higher rest that cannot be made.
    #[error("a step from {from} to {to} cannot be made this way; {help}")]
    ImpossibleStep {
        /// Rest before.
        from: Temperature,
        /// Rest after.
        to: Temperature,
        /// What would work.
        help: &'static str,
    },
    /// A temperature after the boil that cannot be reached.
    #[error("the wort cannot come from {from} to {to}; {help}")]
    ImpossibleChill {
        /// Temperature before.
        from: Temperature,
        /// Temperature wanted.
        to: Temperature,
        /// What would work.
        help: &'static str,
    },
    /// Losses leave nothing to ferment.
    #[error(
        "the losses after the boil ({losses}) are as large as the wort ({wort}); smaller losses or a larger batch would work"
    )]
    AllLost {
        /// Losses after the boil.
        losses: Volume,
        /// Wort after the boil.
        wort: Volume,
    },
    /// More steam than water.
    #[error(
        "the boil would drive off {steam_kg:.2} kg of water and the kettle holds {water_kg:.2} kg; a shorter boil or more wort would work"
    )]
    BoilsDry {
        /// Steam \[kg\].
        steam_kg: f64,
        /// Water in the kettle \[kg\].
        water_kg: f64,
    },
    /// Present extract above original extract.
    #[error("an apparent extract of {} °P is above the original {} °P; it must be below", rounded(.apparent.plato()), rounded(.original.plato()))]
    ApparentAboveOriginal {
        /// Original extract.
        original: Gravity,
        /// Apparent extract.
        apparent: Gravity,
    },
}

fn did_you_mean(nearest: Option<&'static str>) -> String {
    nearest.map_or_else(
        || "; see the table of names".to_owned(),
        |n| format!("; did you mean {n:?}?"),
    )
}

fn gap(unit: &str) -> &'static str {
    if unit.is_empty() { "" } else { " " }
}

/// Checks a number against its physical bounds.
pub(crate) fn check(
    what: &'static str,
    given: f64,
    unit: &'static str,
    least: f64,
    most: f64,
) -> Result<f64, WortError> {
    if given.is_finite() && (least..=most).contains(&given) {
        Ok(given)
    } else {
        Err(WortError::Impossible {
            what,
            given,
            unit,
            least,
            most,
        })
    }
}
