//! Tastings of a batch: planned, answered one by one, judged at any time.

use batch::Fault;
use batch::beside::Held;
use batch::edit::{add_entry, set_value, written_values};
use batch::tasting::{Judged, Tasting};
use store::{DocumentId, Kind, RevisionNumber, StoreError};

use crate::edits::{Done, Job, Version};
use crate::kinds::title;
use crate::{App, AppError, Edit, Page};

/// A tasting, opened.
#[derive(Debug, Clone)]
pub struct OpenTasting {
    /// The document.
    pub id: DocumentId,
    /// Its name.
    pub name: String,
    /// The revision that is open, the newest.
    pub revision: RevisionNumber,
    /// The text.
    pub text: String,
    /// What it holds and what it says so far; or what is wrong with it.
    pub contents: Result<(Tasting, Judged), Vec<Fault>>,
}

/// A tasting as somebody plans it, in words as they were typed.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct TastingPlanned {
    /// Keys of `[tasting]` and what was typed; empty ones are left out.
    pub keys: Vec<(String, String)>,
    /// Who tastes, one a line or between commas.
    pub tasters: String,
}

impl TastingPlanned {
    /// The document. A seed that is not given comes from `seed`.
    ///
    /// # Errors
    /// [`AppError::Edit`] for a text that cannot be made.
    pub fn text(&self, seed: u64) -> Result<String, AppError> {
        let mut text = "[tasting]\n".to_owned();
        let seed = seed.to_string();
        let given = self.keys.iter().map(|(k, v)| (k.as_str(), v.as_str()));
        let has_seed = given
            .clone()
            .any(|(k, v)| k == "seed" && !v.trim().is_empty());
        let drawn = (!has_seed).then_some(("seed", seed.as_str()));
        for (key, written) in given.chain(drawn) {
            if !written.trim().is_empty() {
                text = set_value(&text, &format!("tasting.{key}"), written.trim())?;
            }
        }
        let names = self.tasters.split(['\n', ',']).map(str::trim);
        for name in names.filter(|name| !name.is_empty()) {
            text = add_entry(&text, "taster", &[("name", name)])?;
        }
        Ok(text)
    }
}

impl OpenTasting {
    fn of(id: DocumentId, version: Version) -> Self {
        let Version { number, text } = version;
        let written = written_values(&text).unwrap_or_default();
        Self {
            id,
            name: title(Kind::Tasting, &written),
            revision: number,
            contents: read(&text),
            text,
        }
    }
}

fn read(text: &str) -> Result<(Tasting, Judged), Vec<Fault>> {
    let (tasting, _) = Tasting::read(text)?;
    let judged = Judged::of(&tasting).map_err(|error| {
        vec![Fault {
            span: 0..0,
            path: "tasting".to_owned(),
            message: error.to_string(),
            help: "mend the figures of the tasting".to_owned(),
        }]
    })?;
    Ok((tasting, judged))
}

impl App {
    /// Keeps a tasting that was planned.
    ///
    /// # Errors
    /// [`AppError::Faulty`] for one that cannot be read, [`AppError::Store`].
    pub async fn begin_tasting(&self, planned: &TastingPlanned) -> Result<OpenTasting, AppError> {
        // The time is no secret; the seed only has to be another one each time.
        let text = planned.text(self.now().ms().unsigned_abs())?;
        self.keep_tasting(&text).await
    }

    /// Keeps a tasting document.
    ///
    /// # Errors
    /// [`AppError::Faulty`] for one that cannot be read, [`AppError::Store`].
    pub async fn keep_tasting(&self, text: &str) -> Result<OpenTasting, AppError> {
        if let Err(faults) = read(text) {
            return Err(AppError::Faulty {
                faults,
                text: text.to_owned(),
            });
        }
        let saved = self.create(Kind::Tasting, text, "planned").await?;
        let version = Version {
            number: saved.revision,
            text: text.to_owned(),
        };
        Ok(OpenTasting::of(saved.id, version))
    }

    /// Opens a tasting.
    ///
    /// # Errors
    /// [`AppError::Store`] if there is none.
    pub async fn tasting(&self, id: DocumentId) -> Result<OpenTasting, AppError> {
        let current = self.current_of(Kind::Tasting, id).await?;
        Ok(OpenTasting::of(
            id,
            Version {
                number: current.info.number,
                text: current.text,
            },
        ))
    }

    /// A page of tastings, the last saved first.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn tastings(&self, filter: &str, number: u32) -> Result<Page, AppError> {
        self.page_of(Kind::Tasting, filter, number).await
    }

    /// The tastings of a batch, the last saved first.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn tastings_of(&self, batch: DocumentId) -> Result<Vec<OpenTasting>, AppError> {
        let wanted = batch.to_string();
        let mut found = Vec::new();
        let mut number = 0;
        loop {
            let page = self.tastings("", number).await?;
            for row in page.rows {
                let open = self.tasting(row.id).await?;
                let written = written_values(&open.text).unwrap_or_default();
                if written.get("tasting.batch") == Some(&wanted) {
                    found.push(open);
                }
            }
            number += 1;
            if number >= page.pages {
                return Ok(found);
            }
        }
    }

    /// What the batch of a tasting should hold beside what was scored and found in it;
    /// none before the tasting is over, since it would tell tasters what to look for, and
    /// where the batch is not in the store or cannot be reckoned.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn held_beside(&self, open: &OpenTasting) -> Result<Option<Held>, AppError> {
        let Ok((tasting, judged)) = &open.contents else {
            return Ok(None);
        };
        let id = tasting.batch.as_ref().and_then(|id| id.parse().ok());
        let Some(id) = id.filter(|_| judged.over) else {
            return Ok(None);
        };
        let batch = match self.batch(id).await {
            Err(AppError::Store(StoreError::NoSuchDocument { .. })) => return Ok(None),
            batch => batch?,
        };
        let reckoning = batch.outcome.reckoning();
        Ok(reckoning.map(|r| Held::of(r, Some((tasting, judged)))))
    }

    /// Keeps an answer to a tasting. What was answered once stays.
    ///
    /// # Errors
    /// [`AppError::Faulty`] for an answer that cannot be, with what would work;
    /// [`AppError::Store`].
    pub async fn answer_tasting(
        &self,
        id: DocumentId,
        tasting: u32,
        glass: &str,
    ) -> Result<OpenTasting, AppError> {
        let values = [
            ("tasting", tasting.to_string()),
            ("glass", glass.trim().to_owned()),
        ];
        self.record(id, "answer", "an answer recorded", &[&values])
            .await
    }

    /// Keeps a taster's points for an attribute in both beers.
    ///
    /// # Errors
    /// Those of [`App::answer_tasting`].
    pub async fn score_tasting(
        &self,
        id: DocumentId,
        score: &[(&str, String)],
    ) -> Result<OpenTasting, AppError> {
        self.record(id, "score", "a score recorded", &[score]).await
    }

    /// Keeps a taster's points by the codes of the two glasses, for one attribute or
    /// several: all of them or none.
    ///
    /// # Errors
    /// Those of [`App::answer_tasting`].
    pub async fn score_blind(
        &self,
        id: DocumentId,
        taster: &str,
        points: &[(String, Vec<(u16, String)>)],
    ) -> Result<OpenTasting, AppError> {
        let open = self.tasting(id).await?;
        let faulty = |faults| AppError::Faulty {
            faults,
            text: open.text.clone(),
        };
        let (tasting, _) = open.contents.as_ref().map_err(|f| faulty(f.clone()))?;
        let decoded: Result<Vec<_>, String> = points
            .iter()
            .map(|(attribute, points)| tasting.decoded(taster, attribute, points))
            .collect();
        let decoded = decoded.map_err(|message| {
            faulty(vec![Fault {
                span: 0..0,
                path: "score".to_owned(),
                message,
                help: "look at the codes on the sheet".to_owned(),
            }])
        })?;
        let entries: Vec<&[(&str, String)]> = decoded.iter().map(<[_; 4]>::as_slice).collect();
        self.record(id, "score", "scores recorded", &entries).await
    }

    async fn record(
        &self,
        id: DocumentId,
        list: &str,
        note: &str,
        entries: &[&[(&str, String)]],
    ) -> Result<OpenTasting, AppError> {
        // Several phones answer at once: one after the other, none is refused.
        let _turn = self.answering.lock().await;
        let current = self.current_of(Kind::Tasting, id).await?;
        let owned = |(key, value): &(&str, String)| ((*key).to_owned(), value.clone());
        let edits: Vec<Edit> = entries
            .iter()
            .map(|values| Edit::Add {
                list: list.to_owned(),
                values: values.iter().map(owned).collect(),
            })
            .collect();
        let job = Job {
            kind: Kind::Tasting,
            id,
            on: current.info.number,
            edits: &edits,
            note: Some(note.to_owned()),
        };
        match self.edit_text(&job).await? {
            Done::Same(now) | Done::Saved { after: now, .. } => Ok(OpenTasting::of(id, now)),
            Done::Refused { now, faults } => Err(AppError::Faulty {
                faults,
                text: now.text,
            }),
        }
    }
}
