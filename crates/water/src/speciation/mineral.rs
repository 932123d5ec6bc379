//! The solids that water may drop or take up.

use std::fmt;
use std::sync::LazyLock;

use super::table::{Makeup, phase_place, table};

/// A solid.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Mineral {
    /// CaCO₃, the stable form: chalk.
    Calcite,
    /// CaCO₃ as it may form in hot water.
    Aragonite,
    /// CaSO₄·2H₂O.
    Gypsum,
    /// Mg(OH)₂.
    Brucite,
    /// Ca(OH)₂: slaked lime.
    Portlandite,
    /// Ca₅(PO₄)₃OH.
    Hydroxyapatite,
}

impl Mineral {
    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::Calcite,
        Self::Aragonite,
        Self::Gypsum,
        Self::Brucite,
        Self::Portlandite,
        Self::Hydroxyapatite,
    ];

    /// What it is called.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Calcite => "calcite",
            Self::Aragonite => "aragonite",
            Self::Gypsum => "gypsum",
            Self::Brucite => "brucite",
            Self::Portlandite => "portlandite",
            Self::Hydroxyapatite => "hydroxyapatite",
        }
    }

    /// Its place among the phases of the table.
    pub(super) fn place(self) -> usize {
        static PLACES: LazyLock<[usize; 6]> =
            LazyLock::new(|| Mineral::ALL.map(|mineral| phase_place(mineral.name())));
        PLACES[self as usize]
    }

    pub(super) fn makeup(self) -> &'static Makeup {
        &table().phases[self.place()].makeup
    }
}

impl fmt::Display for Mineral {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}
