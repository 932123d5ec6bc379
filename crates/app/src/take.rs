//! Taking what the library keeps into a batch: a copy, so that the batch stays
//! what was brewed when the library moves on.

use std::collections::BTreeMap;

use batch::edit::written_values;
use batch::library::Part;
use store::{Day, DocumentId, RevisionNumber};

use crate::{App, AppError, DatedAnalysis, Edit, Edited, LibraryKind};

pub(crate) const SOURCES: &str = "water.source";

/// Where a water goes among the sources of a batch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Place {
    /// In place of the source of the same name; beside the others if there is none.
    #[default]
    ByName,
    /// In place of the source of this number, counted from one.
    InsteadOf(usize),
}

impl App {
    /// Copies an analysis of a water into a source of a batch: that of a day, or
    /// the newest. The share of a source that is replaced stays as it is; one that
    /// is added takes no share yet, which is for the brewer to say.
    ///
    /// # Errors
    /// [`AppError::NoAnalysis`]; [`AppError::Faulty`] for an analysis that cannot be
    /// read; those of [`App::edit`].
    pub async fn use_water(
        &self,
        batch: DocumentId,
        on: RevisionNumber,
        water: DocumentId,
        day: Option<Day>,
        place: Place,
    ) -> Result<Edited, AppError> {
        let water = self.entry(LibraryKind::Water, water).await?;
        let analyses = self.analyses(&water).await?;
        let taken = analyses
            .iter()
            .rfind(|a| day.is_none_or(|day| a.taken_on == day));
        let taken = taken.ok_or_else(|| AppError::NoAnalysis {
            water: water.name.clone(),
            day,
        })?;
        let figures = figures(&water.name, taken)?;
        let from = format!("{}, analysis of {}", water.name, taken.taken_on);
        self.use_figures(batch, on, &figures, place, &from).await
    }

    /// Copies figures into a source of a batch, the name first; `from` says where
    /// they come from.
    pub(crate) async fn use_figures(
        &self,
        batch: DocumentId,
        on: RevisionNumber,
        figures: &[(String, Option<String>)],
        place: Place,
        from: &str,
    ) -> Result<Edited, AppError> {
        let base = written_values(&self.store().revision(batch, on).await?.text)?;
        let name = figures.first().and_then(|(_, name)| name.as_deref());
        let number = match place {
            Place::InsteadOf(number) => Some(number),
            Place::ByName => named(&base, name.unwrap_or_default()),
        };
        let edits = match number {
            Some(number) => replacing(number, figures, &base),
            None => adding(figures, &base),
        };
        let number = number.unwrap_or_else(|| sources(&base) + 1);
        let note = format!("{from}, taken as {SOURCES}[{number}]");
        self.edit_batch(batch, on, &edits, Some(note)).await
    }

    /// Copies the kit of a brewhouse into a batch.
    ///
    /// # Errors
    /// [`AppError::Faulty`] for a brewhouse that cannot be read; those of
    /// [`App::edit`].
    pub async fn use_brewhouse(
        &self,
        batch: DocumentId,
        on: RevisionNumber,
        brewhouse: DocumentId,
    ) -> Result<Edited, AppError> {
        let brewhouse = self.entry(LibraryKind::Brewhouse, brewhouse).await?;
        if let Err(faults) = brewhouse.contents {
            return Err(AppError::Faulty {
                faults,
                text: brewhouse.text,
            });
        }
        let base = written_values(&self.store().revision(batch, on).await?.text)?;
        let keys = Part::Brewhouse.fields().into_iter().map(|f| f.path);
        let edits: Vec<Edit> = keys
            .filter(|path| path.starts_with("kit."))
            .filter_map(|path| set(path.clone(), brewhouse.written.get(&path), &base))
            .collect();
        let note = format!("the kit of {} taken", brewhouse.name);
        self.edit_batch(batch, on, &edits, Some(note)).await
    }
}

/// The values of a source as the analysis writes them, its name first.
fn figures(water: &str, taken: &DatedAnalysis) -> Result<Vec<(String, Option<String>)>, AppError> {
    if let Err(faults) = &taken.reading {
        return Err(AppError::Faulty {
            faults: faults.clone(),
            text: taken.text.clone(),
        });
    }
    figures_of(water, &taken.text)
}

/// The same of the text of an analysis that was read without a fault.
pub(crate) fn figures_of(
    water: &str,
    analysis: &str,
) -> Result<Vec<(String, Option<String>)>, AppError> {
    let mut written = written_values(analysis)?;
    let name = ("name".to_owned(), Some(water.to_owned()));
    let keys = Part::Analysis.fields().into_iter().map(|f| f.path);
    // What is said of the analysis itself has no place in a source.
    let keys = keys.filter(|key| !matches!(key.as_str(), "laboratory" | "notes"));
    Ok(std::iter::once(name)
        .chain(keys.map(|key| {
            let value = written.remove(&key);
            (key, value)
        }))
        .collect())
}

/// How many sources a batch has.
pub(crate) fn sources(base: &BTreeMap<String, String>) -> usize {
    let has = |n: &usize| {
        let entry = format!("{SOURCES}[{n}].");
        base.keys().any(|path| path.starts_with(&entry))
    };
    (1..).take_while(has).count()
}

pub(crate) fn named(base: &BTreeMap<String, String>, name: &str) -> Option<usize> {
    (1..=sources(base)).find(|n| {
        base.get(&format!("{SOURCES}[{n}].name"))
            .is_some_and(|known| known.trim() == name)
    })
}

/// Figures that the new analysis does not have go, so that two samples never mix.
pub(crate) fn replacing(
    number: usize,
    figures: &[(String, Option<String>)],
    base: &BTreeMap<String, String>,
) -> Vec<Edit> {
    figures
        .iter()
        .filter_map(|(key, value)| set(format!("{SOURCES}[{number}].{key}"), value.as_ref(), base))
        .collect()
}

fn adding(figures: &[(String, Option<String>)], base: &BTreeMap<String, String>) -> Vec<Edit> {
    let known = |(key, value): &(String, Option<String>)| Some((key.clone(), value.clone()?));
    let mut values: Vec<_> = figures.iter().filter_map(known).collect();
    let mut edits = Vec::new();
    if sources(base) > 0 {
        // Several sources need shares. Nothing is drawn from the new one until the
        // brewer says how much, and a lone source so far was all of the water.
        values.insert(1.min(values.len()), ("share".to_owned(), "0 %".to_owned()));
        let lone = format!("{SOURCES}[1].share");
        if sources(base) == 1 && !base.contains_key(&lone) {
            edits.push(Edit::Set {
                path: lone,
                written: "100 %".to_owned(),
            });
        }
    }
    edits.push(Edit::Add {
        list: SOURCES.to_owned(),
        values,
    });
    edits
}

/// An edit that makes a value what it should be; none where it is that already.
pub(crate) fn set(
    path: String,
    value: Option<&String>,
    base: &BTreeMap<String, String>,
) -> Option<Edit> {
    if base.get(&path) == value {
        return None;
    }
    Some(Edit::Set {
        path,
        written: value.cloned().unwrap_or_default(),
    })
}
