//! Recipes from and to other programs, and everything at once as plain files.

use std::path::Path;

use ::interchange::{Exported, Found, Imported, Remark};
use batch::edit::written_values;
use batch::library::Part;
use store::{Day, DocumentId, Kind, NewDocument};

use crate::batches::draft;
use crate::kinds::title;
use crate::{App, AppError};

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
    /// Keeps what a file of the recipe standard holds, all of it or nothing. The day of an
    /// analysis is that on which it is taken in: the standard has none, and the report
    /// says so.
    ///
    /// # Errors
    /// [`AppError::Recipes`] for a file that is not of the standard; [`AppError::Store`]
    /// where it cannot be kept. Nothing is kept then.
    pub async fn take_in(&self, text: &str) -> Result<TakenIn, AppError> {
        let (documents, remarks) = ::interchange::read(text)?;
        let now = self.now();
        let today: String = now.to_string().chars().take(10).collect();
        let today: Day = today.parse()?;
        let prepared: Vec<Prepared<'_>> = documents
            .iter()
            .map(|made| Prepared::of(made, today))
            .collect();
        let new: Vec<NewDocument<'_>> = prepared.iter().map(Prepared::to_create).collect();
        let saved = self.store.create_all(&new, now).await?;
        let ids = saved.into_iter().map(|saved| saved.id);
        let kept = ids.zip(documents).collect();
        Ok(TakenIn { kept, remarks })
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

/// A document of a file, ready to be kept.
struct Prepared<'m> {
    kind: Kind,
    title: String,
    text: &'m str,
    samples: Vec<(Day, &'m str)>,
}

impl<'m> Prepared<'m> {
    fn of(made: &'m Imported, today: Day) -> Self {
        let kind = match made.found {
            Found::Batch => Kind::Batch,
            Found::Library(Part::Water | Part::Analysis) => Kind::Water,
            Found::Library(Part::Brewhouse) => Kind::Brewhouse,
            Found::Library(Part::Stores) => Kind::Stores,
        };
        Self {
            kind,
            title: title(kind, &written_values(&made.text).unwrap_or_default()),
            text: &made.text,
            samples: made
                .analysis
                .iter()
                .map(|text| (today, text.as_str()))
                .collect(),
        }
    }

    fn to_create(&self) -> NewDocument<'_> {
        NewDocument {
            kind: self.kind,
            draft: draft(&self.title, self.text, NOTE),
            samples: &self.samples,
        }
    }
}

fn pack(folder: &Path) -> std::io::Result<Vec<u8>> {
    let mut archive = tar::Builder::new(Vec::new());
    // The same store gives the same bytes: no times and no owners.
    archive.mode(tar::HeaderMode::Deterministic);
    archive.append_dir_all("gylewright", folder)?;
    archive.into_inner()
}
