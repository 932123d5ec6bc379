//! Recipes from and to other programs, and everything at once as plain files.

use std::path::Path;

use ::interchange::{Exported, Found, Imported, Remark};
use batch::library::Part;
use store::{Day, DocumentId};

use crate::{App, AppError, LibraryKind};

/// What was kept of a file of recipes.
#[derive(Debug, Clone, PartialEq)]
pub struct TakenIn {
    /// The documents, with where they are kept.
    pub kept: Vec<(DocumentId, Imported)>,
    /// What did not map.
    pub remarks: Vec<Remark>,
}

const NOTE: &str = "taken in from a file of recipes";

impl App {
    /// Keeps what a file of the recipe standard holds. The day of an analysis is that on
    /// which it is taken in: the standard has none, and the report says so.
    ///
    /// # Errors
    /// [`AppError::Recipes`] for a file that is not of the standard; nothing is kept then.
    pub async fn take_in(&self, text: &str) -> Result<TakenIn, AppError> {
        let (documents, remarks) = ::interchange::read(text)?;
        let mut kept = Vec::with_capacity(documents.len());
        for made in documents {
            kept.push((self.keep_made(&made).await?, made));
        }
        Ok(TakenIn { kept, remarks })
    }

    async fn keep_made(&self, made: &Imported) -> Result<DocumentId, AppError> {
        let kind = match made.found {
            Found::Batch => return Ok(self.keep_batch(&made.text, NOTE).await?.id),
            Found::Library(Part::Water | Part::Analysis) => {
                let today: String = self.now().to_string().chars().take(10).collect();
                let today: Day = today.parse()?;
                let samples: Vec<(Day, &str)> = made
                    .analysis
                    .iter()
                    .map(|text| (today, text.as_str()))
                    .collect();
                return Ok(self.keep_water(&made.text, NOTE, &samples).await?.id);
            }
            Found::Library(Part::Brewhouse) => LibraryKind::Brewhouse,
            Found::Library(Part::Stores) => LibraryKind::Stores,
        };
        Ok(self.keep_entry(kind, &made.text, NOTE).await?.id)
    }

    /// A batch as a file of the recipe standard.
    ///
    /// # Errors
    /// [`AppError::Faulty`] for one that cannot be reckoned.
    pub async fn write_recipe(&self, id: DocumentId) -> Result<Exported, AppError> {
        let text = self.batch(id).await?.text;
        ::interchange::write(&text).map_err(|faults| AppError::Faulty { faults, text })
    }

    /// Everything that is kept, as plain TOML and CSV in one tar archive.
    ///
    /// # Errors
    /// [`AppError::Store`]; [`AppError::Archive`].
    pub async fn everything(&self) -> Result<Vec<u8>, AppError> {
        // A folder that nobody else of this machine can look into; it goes with its name.
        let aside = tempfile::tempdir().map_err(AppError::Archive)?;
        let folder = aside.path().join("gylewright");
        self.store().export(&folder).await?;
        let packed = tokio::task::spawn_blocking(move || pack(&folder)).await;
        packed
            .unwrap_or_else(|e| Err(std::io::Error::other(e)))
            .map_err(AppError::Archive)
    }
}

fn pack(folder: &Path) -> std::io::Result<Vec<u8>> {
    let mut archive = tar::Builder::new(Vec::new());
    // The same store gives the same bytes: no times and no owners.
    archive.mode(tar::HeaderMode::Deterministic);
    archive.append_dir_all("gylewright", folder)?;
    archive.into_inner()
}
