//! Keeping what a report says: as a water of the library, or as a source of a batch.

use std::collections::BTreeMap;

use batch::Fault;
use batch::edit::set_value;
use batch::library::Analysis;
use batch::liquor::report::ReadWater;
use store::{Day, DocumentId};

use crate::take::{Place, figures_of};
use crate::{App, AppError, DatedAnalysis, Edited, LibraryKind, OpenEntry};

/// One water of a report, ready to be kept.
#[derive(Debug, Clone, PartialEq)]
pub struct Draft {
    /// The day of the sample.
    pub day: Day,
    /// The text of the analysis.
    pub text: String,
}

/// Where the analyses of a report go.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Shelf {
    /// A new water.
    New {
        /// What it is called.
        name: String,
        /// Where it is drawn.
        place: Option<String>,
    },
    /// Beside the analyses of a water that is there.
    Beside(DocumentId),
}

impl App {
    /// Today, by UTC: the day on which a report is read.
    #[must_use]
    pub fn today(&self) -> String {
        self.now().to_string().chars().take(10).collect()
    }

    /// The text of an analysis from a water of a report, with what the brewer
    /// added where the report has gaps.
    ///
    /// # Errors
    /// [`AppError::Edit`] if a value cannot be written.
    pub fn report_text(
        &self,
        water: &ReadWater,
        added: &BTreeMap<String, String>,
    ) -> Result<String, AppError> {
        let mut values = added.clone();
        values.extend(
            water
                .values()
                .into_iter()
                .map(|(key, value)| (key.to_owned(), value)),
        );
        if let Some(supplier) = &water.analysis.supplier {
            values.insert("laboratory".to_owned(), supplier.clone());
        }
        values.insert("notes".to_owned(), self.origin(water, added));
        DatedAnalysis::text_of(&values)
    }

    /// Where the figures come from, in a sentence.
    fn origin(&self, water: &ReadWater, added: &BTreeMap<String, String>) -> String {
        let mut said = format!("from a report read on {}", self.today());
        if let Some(date) = water.analysis.date {
            said.push_str(&format!(", which gives {date} as the day"));
        }
        if let Some(period) = &water.analysis.period {
            said.push_str(&format!(", for {period}"));
        }
        let by_hand: Vec<String> = added
            .iter()
            .filter(|(_, value)| !value.trim().is_empty())
            .map(|(key, _)| key.replace('_', " "))
            .collect();
        if !by_hand.is_empty() {
            said.push_str(&format!("; not in the report: {}", by_hand.join(", ")));
        }
        said
    }

    /// Refuses the text of an analysis that cannot be kept.
    ///
    /// # Errors
    /// [`AppError::Faulty`] for figures that cannot be read or contradict each other.
    pub fn usable_report(&self, text: &str) -> Result<(), AppError> {
        usable(text)
    }

    /// Keeps the analyses of a report, all or none.
    ///
    /// # Errors
    /// [`AppError::Faulty`] for figures that cannot be read, [`AppError::Store`].
    pub async fn keep_report(
        &self,
        shelf: &Shelf,
        drafts: &[Draft],
    ) -> Result<OpenEntry, AppError> {
        for draft in drafts {
            usable(&draft.text)?;
        }
        let samples: Vec<(Day, &str)> = drafts.iter().map(|d| (d.day, d.text.as_str())).collect();
        match shelf {
            Shelf::Beside(id) => {
                let water = self.entry(LibraryKind::Water, *id).await?;
                self.store()
                    .add_analyses(water.id, &samples, self.now())
                    .await?;
                Ok(water)
            }
            Shelf::New { name, place } => {
                let mut text = set_value("", "water.name", name.trim())?;
                if let Some(place) = place {
                    text = set_value(&text, "water.place", place)?;
                }
                let note = format!("from a report read on {}", self.today());
                text = set_value(&text, "water.notes", &note)?;
                self.keep_water(&text, &note, &samples).await
            }
        }
    }

    /// Puts one water of a report into a batch: in place of the source of that
    /// name, or beside the others; one revision.
    ///
    /// # Errors
    /// [`AppError::Faulty`] for figures that cannot be read; those of
    /// [`App::edit`].
    pub async fn use_report(
        &self,
        batch: DocumentId,
        name: &str,
        text: &str,
        place: Place,
    ) -> Result<Edited, AppError> {
        usable(text)?;
        let figures = figures_of(name, text)?;
        let on = self.batch(batch).await?.revision;
        let from = format!("{name}, from a report read on {}", self.today());
        self.use_figures(batch, on, &figures, place, &from).await
    }
}

/// Refuses figures that cannot be read, or that cannot be true together.
fn usable(text: &str) -> Result<(), AppError> {
    let faulty = |faults| AppError::Faulty {
        faults,
        text: text.to_owned(),
    };
    let (analysis, _) = Analysis::read("the report", text).map_err(faulty)?;
    match analysis.says() {
        Ok(_) => Ok(()),
        Err(contradiction) => Err(faulty(vec![Fault {
            span: 0..0,
            path: String::new(),
            message: contradiction.to_string(),
            help: "compare these figures with the report".to_owned(),
        }])),
    }
}
