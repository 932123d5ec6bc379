//! The settings of the search, from `data/design.toml`.

use std::sync::LazyLock;

use quantity::data::{builtin, mark};

use crate::mash_ph::Constant;

const FILE: &str = "design.toml";

macro_rules! settings {
    ($($(#[$doc:meta])* $name:ident;)+) => {
        /// The settings of the search.
        #[derive(Debug, Clone, PartialEq)]
        pub struct Settings {
            $($(#[$doc])* pub $name: Constant,)+
        }

        #[derive(serde::Deserialize)]
        #[serde(deny_unknown_fields)]
        struct File {
            $($name: Row,)+
        }

        static SETTINGS: LazyLock<Settings> = LazyLock::new(|| {
            let file: File = builtin(FILE, include_str!("../../data/design.toml"));
            Settings { $($name: constant(stringify!($name), file.$name),)+ }
        });
    };
}

settings! {
    /// What a dose counts against by itself \[squared tolerances\].
    ridge;
    /// By what share of itself a limit is loosened to tell what it costs.
    loosen_share;
    /// One unit of relaxation of an ion \[mg/L\].
    relax_ion_mg_per_l;
    /// One unit of relaxation of an alkalinity \[mEq/L\].
    relax_alkalinity_meq_per_l;
    /// One unit of relaxation of a pH.
    relax_ph;
    /// One unit of relaxation of a share.
    relax_share;
    /// The alkalinity that sparge liquor should keep \[mEq/L\].
    least_sparge_alkalinity_meq_per_l;
}

/// The settings of the search.
#[must_use]
pub fn settings() -> &'static Settings {
    &SETTINGS
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
        source: quantity::Source {
            mark: mark(FILE, name, &row.mark),
            text: row.source,
        },
    }
}
