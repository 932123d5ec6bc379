//! A brewhouse: the constants of one kit under a name.

use super::instrument::{Instrument, instruments};
use crate::document::{self, KitSection};
use crate::reader::Reader;

/// The constants of one kit, each a measured value that brewing sharpens.
#[derive(Debug, Clone, PartialEq)]
pub struct Brewhouse {
    /// What it is called.
    pub name: String,
    /// Anything.
    pub notes: Option<String>,
    /// The kit, as a batch has it.
    pub kit: KitSection,
    /// The instruments beside it.
    pub instruments: Vec<Instrument>,
}

pub(super) fn brewhouse(r: &mut Reader<'_>) -> Brewhouse {
    let (name, notes) = r.section("brewhouse", "a place to brew in, with its kit", |r| {
        (
            r.name("what the brewhouse is called").required(),
            r.text("notes", "anything worth keeping").optional(),
        )
    });
    Brewhouse {
        name,
        notes,
        kit: r.assumed_section("kit", "the constants of the brewing kit", document::kit),
        instruments: instruments(r),
    }
}
