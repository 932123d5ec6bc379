//! The library: waters with their analyses, brewhouses, and the stores at hand.

use std::collections::BTreeMap;

use batch::edit::{set_value, written_values};
use batch::library::{Analysis, Brewhouse, Part, Stores, Water};
use batch::{Assumption, Fault};
use store::{Day, DocumentId, Kind, RevisionNumber, SideId};

use crate::batches::draft;
use crate::edits::{Done, Job, Version};
use crate::kinds::title;
use crate::{App, AppError, Edit, Page};

/// A kind of document of the library.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LibraryKind {
    /// A water, with dated analyses.
    Water,
    /// A brewhouse, with its kit.
    Brewhouse,
    /// The ingredients at hand.
    Stores,
}

impl LibraryKind {
    /// Every kind, in the order in which pages show them.
    pub const ALL: [Self; 3] = [Self::Water, Self::Brewhouse, Self::Stores];

    /// The kind in the store.
    #[must_use]
    pub const fn kind(self) -> Kind {
        match self {
            Self::Water => Kind::Water,
            Self::Brewhouse => Kind::Brewhouse,
            Self::Stores => Kind::Stores,
        }
    }

    /// Its document.
    #[must_use]
    pub const fn part(self) -> Part {
        match self {
            Self::Water => Part::Water,
            Self::Brewhouse => Part::Brewhouse,
            Self::Stores => Part::Stores,
        }
    }
}

/// What a document of the library holds.
#[derive(Debug, Clone, PartialEq)]
pub enum Contents {
    /// A water.
    Water(Water),
    /// A brewhouse.
    Brewhouse(Box<Brewhouse>),
    /// Stores.
    Stores(Stores),
}

/// A document of the library, opened.
#[derive(Debug, Clone, PartialEq)]
pub struct OpenEntry {
    /// The document.
    pub id: DocumentId,
    /// What it is.
    pub kind: LibraryKind,
    /// Its name.
    pub name: String,
    /// The revision that is open, the newest.
    pub revision: RevisionNumber,
    /// The text.
    pub text: String,
    /// The values as they are written, by path.
    pub written: BTreeMap<String, String>,
    /// What it holds, and the gaps that defaults fill; or what is wrong with it.
    pub contents: Result<(Contents, Vec<Assumption>), Vec<Fault>>,
}

impl OpenEntry {
    fn of(kind: LibraryKind, id: DocumentId, version: Version) -> Self {
        let Version { number, text } = version;
        let written = written_values(&text).unwrap_or_default();
        let contents = match kind {
            LibraryKind::Water => Water::read(&text).map(|(w, a)| (Contents::Water(w), a)),
            LibraryKind::Brewhouse => {
                Brewhouse::read(&text).map(|(b, a)| (Contents::Brewhouse(Box::new(b)), a))
            }
            LibraryKind::Stores => Stores::read(&text).map(|(s, a)| (Contents::Stores(s), a)),
        };
        Self {
            id,
            kind,
            name: title(kind.kind(), &written),
            revision: number,
            contents,
            written,
            text,
        }
    }

    /// What is wrong with it, in the order of the text.
    #[must_use]
    pub fn faults(&self) -> &[Fault] {
        self.contents.as_ref().err().map_or(&[], Vec::as_slice)
    }
}

/// An analysis of a water and the day of its sample.
#[derive(Debug, Clone, PartialEq)]
pub struct DatedAnalysis {
    /// The day the sample was taken.
    pub taken_on: Day,
    /// Counted from one within that day: a correction is a further number.
    pub number: RevisionNumber,
    /// The text.
    pub text: String,
    /// Its figures, and the gaps that defaults fill; or what is wrong with it.
    pub reading: Result<(Analysis, Vec<Assumption>), Vec<Fault>>,
}

/// What became of an edit of the library.
#[derive(Debug, Clone)]
pub enum EntryEdited {
    /// Saved as a new revision, or nothing to save.
    Saved {
        /// The document as it is now.
        entry: Box<OpenEntry>,
        /// What the edit was, in words; none where nothing changed.
        change: Option<String>,
    },
    /// Not saved: the document would have faults that it had not before.
    Refused {
        /// The document as it stays.
        entry: Box<OpenEntry>,
        /// What would be wrong.
        faults: Vec<Fault>,
    },
}

impl App {
    /// A page of the library, the last saved first; `filter` is a part of the name.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn library(
        &self,
        kind: LibraryKind,
        filter: &str,
        number: u32,
    ) -> Result<Page, AppError> {
        self.page_of(kind.kind(), filter, number).await
    }

    /// Puts a document into the library. It may have faults: they are shown when
    /// it is opened.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn keep_entry(
        &self,
        kind: LibraryKind,
        text: &str,
        note: &str,
    ) -> Result<OpenEntry, AppError> {
        let saved = self.create(kind.kind(), text, note).await?;
        let version = Version {
            number: saved.revision,
            text: text.to_owned(),
        };
        Ok(OpenEntry::of(kind, saved.id, version))
    }

    /// Puts a water with its first analyses into the library, all or none.
    pub(crate) async fn keep_water(
        &self,
        text: &str,
        note: &str,
        samples: &[(Day, &str)],
    ) -> Result<OpenEntry, AppError> {
        let name = title(Kind::Water, &written_values(text).unwrap_or_default());
        let saved = self
            .store()
            .create_water(&draft(&name, text, note), samples, self.now())
            .await?;
        let version = Version {
            number: saved.revision,
            text: text.to_owned(),
        };
        Ok(OpenEntry::of(LibraryKind::Water, saved.id, version))
    }

    /// Begins a document of the library from its name.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn begin_entry(&self, kind: LibraryKind, name: &str) -> Result<OpenEntry, AppError> {
        let key = format!("{}.name", kind.kind().word());
        let text = set_value("", &key, name.trim())?;
        self.keep_entry(kind, &text, "begun").await
    }

    /// Opens a document of the library.
    ///
    /// # Errors
    /// [`AppError::Store`] if there is none of that kind.
    pub async fn entry(&self, kind: LibraryKind, id: DocumentId) -> Result<OpenEntry, AppError> {
        let current = self.current_of(kind.kind(), id).await?;
        let version = Version {
            number: current.info.number,
            text: current.text,
        };
        Ok(OpenEntry::of(kind, id, version))
    }

    /// Saves a whole text over a revision of a document of the library.
    ///
    /// # Errors
    /// [`AppError::Store`]; where it has moved on since, the text is kept beside it.
    pub async fn save_entry_text(
        &self,
        kind: LibraryKind,
        id: DocumentId,
        on: RevisionNumber,
        text: &str,
    ) -> Result<OpenEntry, AppError> {
        self.current_of(kind.kind(), id).await?;
        let saved = self
            .save(kind.kind(), id, on, text, "written as text")
            .await?;
        let version = Version {
            number: saved.revision,
            text: text.to_owned(),
        };
        Ok(OpenEntry::of(kind, id, version))
    }

    /// Makes edits of a document of the library, as [`App::edit`] does of a batch.
    ///
    /// # Errors
    /// Those of [`App::edit`].
    pub async fn edit_entry(
        &self,
        kind: LibraryKind,
        id: DocumentId,
        on: RevisionNumber,
        edits: &[Edit],
    ) -> Result<EntryEdited, AppError> {
        let job = Job {
            kind: kind.kind(),
            id,
            on,
            edits,
            note: None,
        };
        let open = |version| Box::new(OpenEntry::of(kind, id, version));
        Ok(match self.edit_text(&job).await? {
            Done::Same(now) => EntryEdited::Saved {
                entry: open(now),
                change: None,
            },
            Done::Saved { after, change, .. } => EntryEdited::Saved {
                entry: open(after),
                change: Some(change),
            },
            Done::Refused { now, faults } => EntryEdited::Refused {
                entry: open(now),
                faults,
            },
        })
    }

    /// Saves an old revision of a document of the library as the newest.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn bring_back_entry(
        &self,
        kind: LibraryKind,
        id: DocumentId,
        revision: RevisionNumber,
        on: RevisionNumber,
    ) -> Result<OpenEntry, AppError> {
        self.current_of(kind.kind(), id).await?;
        self.store()
            .bring_back(id, revision, on, None, self.now())
            .await?;
        self.entry(kind, id).await
    }

    /// Saves a version that was refused as the newest.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn bring_back_entry_side(
        &self,
        kind: LibraryKind,
        id: DocumentId,
        side: SideId,
        on: RevisionNumber,
    ) -> Result<OpenEntry, AppError> {
        self.current_of(kind.kind(), id).await?;
        self.take_up_side(id, side, on).await?;
        self.entry(kind, id).await
    }

    /// The analyses of a water, the oldest first. Of a day that was corrected,
    /// the last correction counts.
    ///
    /// # Errors
    /// [`AppError::Store`] if there is no such water.
    pub async fn analyses(&self, water: &OpenEntry) -> Result<Vec<DatedAnalysis>, AppError> {
        let kept = self.store().analyses(water.id).await?;
        let by_day: BTreeMap<Day, _> = kept.into_iter().map(|a| (a.taken_on, a)).collect();
        let read = |a: store::Analysis| DatedAnalysis {
            taken_on: a.taken_on,
            number: a.number,
            reading: Analysis::read(&water.name, &a.text),
            text: a.text,
        };
        Ok(by_day.into_values().map(read).collect())
    }

    /// The days on which a water was sampled, the newest first.
    ///
    /// # Errors
    /// [`AppError::Store`] if there is no such water.
    pub async fn sampled(&self, water: DocumentId) -> Result<Vec<Day>, AppError> {
        let mut days: Vec<Day> = self
            .store()
            .analyses(water)
            .await?
            .into_iter()
            .map(|a| a.taken_on)
            .collect();
        days.dedup();
        days.reverse();
        Ok(days)
    }

    /// Adds an analysis to a water. One that cannot be read is not kept: it would
    /// stand between the others and say nothing.
    ///
    /// # Errors
    /// [`AppError::Faulty`] for a text with faults, [`AppError::Store`].
    pub async fn add_analysis(
        &self,
        water: DocumentId,
        taken_on: Day,
        text: &str,
    ) -> Result<DatedAnalysis, AppError> {
        let water = self.entry(LibraryKind::Water, water).await?;
        let reading = Analysis::read(&water.name, text).map_err(|faults| AppError::Faulty {
            faults,
            text: text.to_owned(),
        })?;
        if let Err(contradiction) = reading.0.says() {
            return Err(AppError::Faulty {
                faults: vec![contradicts(&contradiction)],
                text: text.to_owned(),
            });
        }
        let kept = self
            .store()
            .add_analysis(water.id, taken_on, text, self.now())
            .await?;
        Ok(DatedAnalysis {
            taken_on: kept.taken_on,
            number: kept.number,
            text: kept.text,
            reading: Ok(reading),
        })
    }
}

/// Figures that read one by one and cannot be true together.
fn contradicts(error: &impl std::fmt::Display) -> Fault {
    Fault {
        span: 0..0,
        path: String::new(),
        message: error.to_string(),
        help: "compare these figures with the report".to_owned(),
    }
}

impl DatedAnalysis {
    /// The text of an analysis with these values by key; keys that an analysis
    /// does not have are left out, and so are empty values.
    ///
    /// # Errors
    /// [`AppError::Edit`] if a value cannot be written.
    pub fn text_of(values: &BTreeMap<String, String>) -> Result<String, AppError> {
        let fields = Part::Analysis.fields();
        let given = fields
            .iter()
            .filter_map(|f| Some((&f.path, values.get(&f.path)?.trim())));
        given
            .filter(|(_, written)| !written.is_empty())
            .try_fold(String::new(), |text, (key, written)| {
                Ok(set_value(&text, key, written)?)
            })
    }
}
