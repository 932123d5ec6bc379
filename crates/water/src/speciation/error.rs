//! Why the chemistry of a water could not be reckoned.

use quantity::rounded;

use crate::error::WaterError;

/// Why the chemistry of a water could not be reckoned.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SpeciationError {
    /// A figure that no water or dose can have, or a name that is not known.
    #[error(transparent)]
    Water(#[from] WaterError),
    /// Ice or steam.
    #[error(
        "water at {} °C is not liquid at 1 atm; 0 to 100 °C can be reckoned",
        rounded(*.given_c)
    )]
    Temperature {
        /// The temperature given \[°C\].
        given_c: f64,
    },
    /// Brine.
    #[error(
        "the water holds {} mol/kg of ions; up to {} mol/kg can be reckoned: check the units \
         of the analysis and of the doses",
        rounded(*.given_mol_per_kg), rounded(*.most_mol_per_kg)
    )]
    TooConcentrated {
        /// The sum of all ions \[mol/kg\].
        given_mol_per_kg: f64,
        /// The most that can be reckoned \[mol/kg\].
        most_mol_per_kg: f64,
    },
    /// A pH that the alkalinity does not allow.
    #[error(
        "an alkalinity of {} mEq/L does not go with pH {}: at that pH hydroxide, acid and pairs \
         alone carry more or less than that; check both, or leave the pH out",
        rounded(*.alkalinity_meq_per_l), rounded(*.ph)
    )]
    Contradiction {
        /// The alkalinity given \[mEq/L\].
        alkalinity_meq_per_l: f64,
        /// The pH given.
        ph: f64,
    },
    /// A pH that an acid cannot bring about.
    #[error(
        "{acid} cannot bring the water from pH {} to pH {}; name a pH below the present one and \
         above 2",
        rounded(*.from_ph), rounded(*.target_ph)
    )]
    OutOfReach {
        /// The acid.
        acid: String,
        /// The pH of the water.
        from_ph: f64,
        /// The pH asked for.
        target_ph: f64,
    },
    /// An alkalinity that an acid cannot bring about.
    #[error(
        "{acid} cannot bring the alkalinity from {} mEq/L to {} mEq/L; name one below the present",
        rounded(*.from_meq_per_l), rounded(*.target_meq_per_l)
    )]
    AlkalinityOutOfReach {
        /// The acid.
        acid: String,
        /// The alkalinity of the water \[mEq/L\].
        from_meq_per_l: f64,
        /// The alkalinity asked for \[mEq/L\].
        target_meq_per_l: f64,
    },
    /// Shares that make nothing.
    #[error("nothing is blended; give at least one water a share above 0")]
    NothingBlended,
    /// The equations did not come to an end.
    #[error(
        "the equilibrium of this water was not found; check its figures for one that is \
         far too high or too low"
    )]
    NotSolved,
}
