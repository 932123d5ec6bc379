//! The waters of the library to choose from, and taking a choice into a batch.

use batch::edit::written_values;
use batch::liquor::choice::{Kept, KeptAnalysis, Pick, Which};
use batch::liquor::minerals::distilled_source;
use quantity::Fraction;
use store::{DocumentId, RevisionNumber};

use crate::take::{SOURCES, figures_of, named, replacing, set, sources};
use crate::{App, AppError, Edit, Edited, LibraryKind};

impl App {
    /// The waters of the library that have an analysis which can be read, each by its
    /// identifier: those of the first page, the last saved first.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn kept_waters(&self) -> Result<Vec<Kept>, AppError> {
        let rows = self.library(LibraryKind::Water, "", 0).await?.rows;
        let mut kept = vec![];
        for row in rows {
            let water = self.entry(LibraryKind::Water, row.id).await?;
            let analyses: Vec<KeptAnalysis> = self
                .analyses(&water)
                .await?
                .into_iter()
                .filter_map(|dated| {
                    Some(KeptAnalysis {
                        from: dated.taken_on.to_string(),
                        analysis: dated.reading.ok()?.0,
                        text: dated.text,
                    })
                })
                .collect();
            if !analyses.is_empty() {
                kept.push(Kept {
                    key: water.id.to_string(),
                    name: water.name,
                    analyses,
                });
            }
        }
        Ok(kept)
    }

    /// Makes the waters of a batch those that were chosen, with their shares, as one
    /// revision. A water of the library takes the place of a source of its name; a
    /// source that was not chosen stays, and nothing is drawn from it.
    ///
    /// # Errors
    /// Those of [`App::edit`].
    pub async fn take_waters(
        &self,
        batch: DocumentId,
        on: RevisionNumber,
        picks: &[Pick],
    ) -> Result<Edited, AppError> {
        let base = written_values(&self.store().revision(batch, on).await?.text)?;
        let mut drawn = vec!["0 %".to_owned(); sources(&base)];
        let (mut edits, mut added) = (vec![], vec![]);
        for pick in picks {
            let share = percent(pick.share);
            let figures = match &pick.water {
                Which::Source(at) => {
                    if let Some(drawn) = drawn.get_mut(*at) {
                        *drawn = share;
                    }
                    continue;
                }
                Which::Kept { name, text } => figures_of(name, text)?,
                Which::Distilled => distilled_source()
                    .into_iter()
                    .map(|(key, value)| (key, Some(value)))
                    .collect(),
            };
            let name = figures.first().and_then(|(_, name)| name.as_deref());
            match named(&base, name.unwrap_or_default()) {
                Some(number) => {
                    edits.extend(replacing(number, &figures, &base));
                    drawn[number - 1] = share;
                }
                None => added.push(entry(figures, share)),
            }
        }
        for (at, share) in drawn.iter().enumerate() {
            let path = format!("{SOURCES}[{}].share", at + 1);
            edits.extend(set(path, Some(share), &base));
        }
        edits.extend(added);
        self.edit_batch(batch, on, &edits, Some("the waters chosen".to_owned()))
            .await
    }
}

/// A pick has whole per cents.
fn percent(share: Fraction) -> String {
    format!("{:.0} %", 100.0 * share.ratio())
}

/// A new source: its name first, then its share.
fn entry(figures: Vec<(String, Option<String>)>, share: String) -> Edit {
    let known = figures
        .into_iter()
        .filter_map(|(key, value)| Some((key, value?)));
    let mut values: Vec<(String, String)> = known.collect();
    values.insert(1.min(values.len()), ("share".to_owned(), share));
    Edit::Add {
        list: SOURCES.to_owned(),
        values,
    }
}
