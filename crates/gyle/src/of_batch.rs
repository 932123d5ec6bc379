//! What most commands ask for: a batch document, and how the answer is printed.

use std::path::PathBuf;

use batch::Reckoning;
use quantity::Units;

use crate::cli::UnitsChoice;
use crate::input::Source;
use crate::problem::Problem;
use crate::{print_json, reckoned, source, write_out};

/// Of which batch, and in which form.
#[derive(Debug, clap::Args)]
pub struct OfBatch {
    /// The batch document; - reads standard input, store:NAME a batch of the
    /// store.
    file: PathBuf,
    /// Units of the answer.
    #[arg(long, value_enum, default_value_t = UnitsChoice::Metric)]
    units: UnitsChoice,
    /// The answer as JSON (gyle schema --help names its form).
    #[arg(long)]
    pub json: bool,
}

impl OfBatch {
    /// The text of the document and its reckoning.
    ///
    /// # Errors
    /// [`Problem`] for a document that cannot be reckoned.
    pub fn reckoned(&self, place: Option<&str>) -> Result<(Source, Reckoning), Problem> {
        let source = source(&self.file, place)?;
        let reckoning = reckoned(&source, self.json)?;
        Ok((source, reckoning))
    }

    /// Which batch of the store it is; none for a document of its own.
    pub fn in_store(&self) -> Option<&str> {
        self.file.to_str().and_then(|f| f.strip_prefix("store:"))
    }

    /// Where the document is.
    pub fn file(&self) -> &std::path::Path {
        &self.file
    }

    /// The units to print in.
    pub fn units(&self) -> Units {
        self.units.into()
    }

    /// Prints what the reckoning says: as JSON where that was asked for, or as a sheet.
    ///
    /// # Errors
    /// [`Problem`] for a document that cannot be reckoned.
    pub fn print<J: serde::Serialize>(
        &self,
        place: Option<&str>,
        json: impl FnOnce(&Reckoning) -> J,
        sheet: impl FnOnce(&Reckoning, Units) -> String,
    ) -> Result<(), Problem> {
        let (_, reckoning) = self.reckoned(place)?;
        if self.json {
            return print_json(&json(&reckoning));
        }
        write_out(sheet(&reckoning, self.units()).as_bytes())
    }
}
