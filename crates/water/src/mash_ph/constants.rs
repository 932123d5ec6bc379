//! The constants of the mash, from `data/mash.toml`.

use std::sync::LazyLock;

use quantity::Source;
use quantity::data::{builtin, mark};

const FILE: &str = "mash.toml";

/// A constant with its origin.
#[derive(Debug, Clone, PartialEq)]
pub struct Constant {
    /// The number; its unit is in the name of the field that holds it.
    pub value: f64,
    /// Where it comes from.
    pub source: Source,
}

macro_rules! constants {
    ($($(#[$doc:meta])* $name:ident;)+) => {
        /// The constants of the mash.
        #[derive(Debug, Clone, PartialEq)]
        pub struct Constants {
            $($(#[$doc])* pub $name: Constant,)+
        }

        #[derive(serde::Deserialize)]
        #[serde(deny_unknown_fields)]
        struct File {
            $($name: Row,)+
        }

        static CONSTANTS: LazyLock<Constants> = LazyLock::new(|| {
            let file: File = builtin(FILE, include_str!("../../data/mash.toml"));
            Constants { $($name: constant(stringify!($name), file.$name),)+ }
        });
    };
}

constants! {
    /// Equivalents of calcium that take one of alkalinity away.
    calcium_divisor;
    /// Equivalents of magnesium that take one of alkalinity away.
    magnesium_divisor;
    /// Standard deviation of the logarithm of buffering, common to all malts.
    ln_buffering_sd;
    /// Standard deviation of the model with a pale grist \[pH\].
    model_sd_pale;
    /// Standard deviation of the model with a dark grist \[pH\].
    model_sd_dark;
    /// A malt below this distilled-water pH counts as dark.
    dark_malt_ph;
    /// The share of dark malt from which a grist is dark.
    dark_share;
    /// Titratable acid of acidulated malt \[mEq/kg\].
    acidulated_malt_meq_per_kg;
    /// Its standard deviation \[mEq/kg\].
    acidulated_malt_sd_meq_per_kg;
    /// Least workable mash pH.
    workable_low;
    /// Greatest workable mash pH.
    workable_high;
    /// Least preferred mash pH.
    preferred_low;
    /// Greatest preferred mash pH.
    preferred_high;
    /// First pK of carbonic acid at 20 °C.
    carbonic_pk1;
    /// Fall of the pH of mash with temperature \[1/K\].
    ph_per_k;
    /// Its standard deviation \[1/K\].
    ph_per_k_sd;
    /// Temperature of a cooled sample \[°C\].
    cooled_c;
    /// Standard deviation of a meter that states none \[pH\].
    meter_sd;
    /// Standard deviation that a meter without temperature compensation adds \[1/K\].
    uncompensated_sd_per_k;
    /// Standard deviation between samples of one mash \[pH\].
    sample_sd;
    /// How long a mash takes to settle \[min\].
    settled_min;
    /// How long an addition takes to act \[min\].
    stirred_min;
    /// The share of a dose that is given first.
    first_share;
    /// Relative standard deviation below which a dose is given at once.
    sure_dose;
    /// Temperature from which a sample is hot for an electrode \[°C\].
    hot_sample_c;
    /// Standard deviation of a brewer's own reading of a cooled sample \[pH\].
    own_ph_sd;
}

/// The constants of the mash.
#[must_use]
pub fn constants() -> &'static Constants {
    &CONSTANTS
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    value: f64,
    source: String,
    mark: String,
}

fn constant(name: &str, row: Row) -> Constant {
    Constant {
        value: row.value,
        source: Source {
            mark: mark(FILE, name, &row.mark),
            text: row.source,
        },
    }
}
