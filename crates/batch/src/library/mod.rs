//! What a brewer keeps beside the batches: waters with their dated analyses,
//! brewhouses, and the stores at hand.
//!
//! Each is a document of its own, read by the code that reads the same keys in a
//! batch document, so that what is kept can be copied into a batch as it stands.

mod brewhouse;
mod day;
mod instrument;
mod stores;
mod water;

use crate::document::refuse_oversize;
use crate::reader::{Assumption, Fault, FieldDoc, Reader, describe_part, json_schema, read_part};

pub use brewhouse::Brewhouse;
pub use day::{day_number, day_of_year};
pub use instrument::{Instrument, InstrumentCheck, InstrumentCorrection, InstrumentKind};
pub use stores::{
    StoredAcid, StoredHop, StoredMalt, StoredReagent, StoredSalt, StoredYeast, Stores,
};
pub use water::{Analysis, Water};

/// The documents of the library, and the analysis of a water.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// A water: `[water]`.
    Water,
    /// One analysis of a water: the keys of `[[water.source]]`.
    Analysis,
    /// A brewhouse: `[brewhouse]`, `[kit]` and its instruments.
    Brewhouse,
    /// Stores: `[stores]` and its lists.
    Stores,
}

impl Part {
    /// Every part.
    pub const ALL: [Self; 4] = [Self::Water, Self::Analysis, Self::Brewhouse, Self::Stores];

    /// Its word in addresses of schemas.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Water => "water",
            Self::Analysis => "analysis",
            Self::Brewhouse => "brewhouse",
            Self::Stores => "stores",
        }
    }

    /// What it is called in messages.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Water => "a water",
            Self::Analysis => "an analysis",
            Self::Brewhouse => "a brewhouse",
            Self::Stores => "stores",
        }
    }

    /// Its keys.
    #[must_use]
    pub fn fields(self) -> Vec<FieldDoc> {
        match self {
            Self::Water => describe_part(self.within(), water::water),
            Self::Analysis => describe_part(self.within(), |r| water::analysis(r, "")),
            Self::Brewhouse => describe_part(self.within(), brewhouse::brewhouse),
            Self::Stores => describe_part(self.within(), stores::stores),
        }
    }

    /// The JSON Schema (2020-12) of its document.
    #[must_use]
    pub fn schema(self) -> serde_json::Value {
        json_schema(
            &format!("urn:gylewright:schema:{}:1", self.word()),
            &format!("gylewright {} document", self.word()),
            &self.fields(),
        )
    }

    /// Where its keys stand in a batch document: their defaults are the same.
    const fn within(self) -> &'static str {
        match self {
            Self::Analysis => "water.source",
            // `[kit]` is a section of the batch document under its own name.
            Self::Water | Self::Brewhouse | Self::Stores => "",
        }
    }

    fn read<T>(
        self,
        text: &str,
        read: impl FnOnce(&mut Reader<'_>) -> T,
    ) -> Result<(T, Vec<Assumption>), Vec<Fault>> {
        refuse_oversize(text, self.words())?;
        read_part(self.within(), text, read)
    }
}

impl Water {
    /// Reads a water.
    ///
    /// # Errors
    /// Every fault found, in the order of the text.
    pub fn read(text: &str) -> Result<(Self, Vec<Assumption>), Vec<Fault>> {
        Part::Water.read(text, water::water)
    }
}

impl Analysis {
    /// Reads an analysis of the water of this name; its text does not repeat it.
    ///
    /// # Errors
    /// Every fault found, in the order of the text.
    pub fn read(water: &str, text: &str) -> Result<(Self, Vec<Assumption>), Vec<Fault>> {
        Part::Analysis.read(text, |r| water::analysis(r, water))
    }
}

impl Brewhouse {
    /// Reads a brewhouse; the second part lists what its `[kit]` does not say.
    ///
    /// # Errors
    /// Every fault found, in the order of the text.
    pub fn read(text: &str) -> Result<(Self, Vec<Assumption>), Vec<Fault>> {
        Part::Brewhouse.read(text, brewhouse::brewhouse)
    }
}

impl Stores {
    /// Reads stores.
    ///
    /// # Errors
    /// Every fault found, in the order of the text.
    pub fn read(text: &str) -> Result<(Self, Vec<Assumption>), Vec<Fault>> {
        Part::Stores.read(text, stores::stores)
    }
}
