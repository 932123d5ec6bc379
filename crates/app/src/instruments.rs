//! The instruments of the brewhouses: kept, checked, and used on readings.

use batch::library::{Instrument, InstrumentKind};
use quantity::{Gravity, Measured, Ph, Quantity, Temperature, Units, show, show_measured};
use store::{DocumentId, RevisionNumber};

use crate::{App, AppError, Contents, Edit, EntryEdited, LibraryKind, OpenEntry};

/// An instrument, and where it is kept.
#[derive(Debug, Clone, PartialEq)]
pub struct InstrumentRecord {
    /// The brewhouse.
    pub home: DocumentId,
    /// The revision that was read.
    pub revision: RevisionNumber,
    /// The name of the brewhouse.
    pub brewhouse: String,
    /// Its place in the list of the brewhouse, from 1.
    pub place: usize,
    /// The instrument.
    pub instrument: Instrument,
    /// Days since the last on which its checks held; negative while they hold.
    pub days_lapsed: Option<i64>,
}

/// So many days before its checks lapse an instrument is soon due (judgement).
const SOON_DAYS: i64 = 14;

/// An instrument in words.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct InstrumentTold {
    /// Its checks.
    pub checks: Vec<String>,
    /// What is to be added to its readings.
    pub correction: String,
    /// That it is due for a check, or soon will be.
    pub due: Option<String>,
    /// What to know.
    pub notes: Vec<String>,
}

impl InstrumentRecord {
    /// In words.
    #[must_use]
    pub fn told(&self, units: Units) -> InstrumentTold {
        let checks = self.instrument.checks.iter().map(|check| {
            let day = check
                .day
                .as_ref()
                .map_or(String::new(), |day| format!("{day}: "));
            format!("{day}it was {} and read {}", check.reference, check.read)
        });
        let (correction, notes) = match self.instrument.correction() {
            Err(why) => (format!("not known: {why}"), Vec::new()),
            Ok(None) => (
                "not known: it was never checked".to_owned(),
                vec![format!("a reading is taken as ± {}", self.usual(units))],
            ),
            Ok(Some(found)) => {
                let at: Vec<String> = self
                    .reads()
                    .into_iter()
                    .map(|read| {
                        let (by, sd) = found.at(read);
                        self.at(read, by, sd, units)
                    })
                    .collect();
                let notes = found.notes().iter().map(|note| note.text.clone());
                (at.join("; "), notes.collect())
            }
        };
        InstrumentTold {
            checks: checks.collect(),
            correction,
            due: self.due(),
            notes,
        }
    }

    /// True for one whose checks hold no longer.
    #[must_use]
    pub fn lapsed(&self) -> bool {
        self.days_lapsed.is_some_and(|days| days > 0)
    }

    fn due(&self) -> Option<String> {
        let until = self.instrument.valid_until.as_deref()?;
        let days = |n: i64| {
            if n == 1 {
                "1 day".to_owned()
            } else {
                format!("{n} days")
            }
        };
        match self.days_lapsed? {
            late @ 1.. => Some(format!(
                "due for a check: the last ones held until {until}, {} ago; what it reads since is taken as less sure by {}",
                days(late),
                self.instrument.lapsed_words()
            )),
            0 => Some("due for a check: the last ones hold today".to_owned()),
            left if left >= -SOON_DAYS => {
                Some(format!("soon due for a check: {} left", days(-left)))
            }
            _ => None,
        }
    }

    /// The readings that were checked, in canonical units, each once.
    fn reads(&self) -> Vec<f64> {
        let mut reads: Vec<f64> = self
            .instrument
            .checks
            .iter()
            .map(|c| c.figures[1].0)
            .collect();
        reads.sort_by(f64::total_cmp);
        reads.dedup();
        reads
    }

    fn at(&self, read: f64, by: f64, sd: f64, units: Units) -> String {
        fn of<Q: Quantity>(read: f64, by: f64, sd: f64, units: Units) -> String {
            let right = Measured::with_sd(Q::from_canonical(read + by), sd);
            format!(
                "what reads {} is {}",
                show(Q::from_canonical(read), units),
                show_measured(&right, units)
            )
        }
        match self.instrument.kind {
            InstrumentKind::Thermometer => of::<Temperature>(read, by, sd, units),
            InstrumentKind::Hydrometer | InstrumentKind::Refractometer => {
                of::<Gravity>(read, by, sd, units)
            }
            InstrumentKind::PhMeter => of::<Ph>(read, by, sd, units),
        }
    }

    fn usual(&self, _units: Units) -> String {
        let sd = self.instrument.sd;
        match self.instrument.kind {
            InstrumentKind::Thermometer => format!("{sd:.2} °C"),
            InstrumentKind::Hydrometer | InstrumentKind::Refractometer => format!("{sd:.2} °P"),
            InstrumentKind::PhMeter => format!("{sd:.2}"),
        }
    }
}

impl App {
    /// All instruments of all brewhouses.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn instruments(&self) -> Result<Vec<InstrumentRecord>, AppError> {
        let mut records = Vec::new();
        for entry in self.brewhouses("").await? {
            let Ok((Contents::Brewhouse(kept), _)) = &entry.contents else {
                continue;
            };
            let of = kept.instruments.iter().enumerate();
            records.extend(of.map(|(n, instrument)| InstrumentRecord {
                home: entry.id,
                revision: entry.revision,
                brewhouse: entry.name.clone(),
                place: n + 1,
                days_lapsed: instrument.days_lapsed(self.now().ms()),
                instrument: instrument.clone(),
            }));
        }
        Ok(records)
    }

    /// Keeps an instrument with the brewhouse that has a part of a name.
    ///
    /// # Errors
    /// [`AppError::NotOne`] where there is not one such brewhouse, [`AppError::Faulty`]
    /// for what cannot be kept, [`AppError::Store`].
    pub async fn keep_instrument(
        &self,
        brewhouse: &str,
        values: &[(String, String)],
    ) -> Result<(), AppError> {
        let found = self.brewhouses(brewhouse).await?;
        let [home] = found.as_slice() else {
            let names: Vec<&str> = found.iter().map(|entry| entry.name.as_str()).collect();
            return Err(AppError::NotOne {
                what: "brewhouse",
                wanted: brewhouse.to_owned(),
                found: names.join(", "),
            });
        };
        self.add_to(home.id, home.revision, "instrument".to_owned(), values)
            .await
    }

    /// Keeps a check of the instrument with a name.
    ///
    /// # Errors
    /// As [`App::keep_instrument`].
    pub async fn keep_check(
        &self,
        name: &str,
        values: &[(String, String)],
    ) -> Result<(), AppError> {
        let all = self.instruments().await?;
        let found: Vec<&InstrumentRecord> =
            all.iter().filter(|r| r.instrument.name == name).collect();
        let [one] = found.as_slice() else {
            let names: Vec<&str> = all.iter().map(|r| r.instrument.name.as_str()).collect();
            return Err(AppError::NotOne {
                what: "instrument",
                wanted: name.to_owned(),
                found: names.join(", "),
            });
        };
        let list = format!("instrument[{}].check", one.place);
        self.add_to(one.home, one.revision, list, values).await
    }

    async fn add_to(
        &self,
        home: DocumentId,
        on: RevisionNumber,
        list: String,
        values: &[(String, String)],
    ) -> Result<(), AppError> {
        let edit = Edit::Add {
            list,
            values: values.to_vec(),
        };
        match self
            .edit_entry(LibraryKind::Brewhouse, home, on, &[edit])
            .await?
        {
            EntryEdited::Saved { .. } => Ok(()),
            EntryEdited::Refused { entry, faults } => Err(AppError::Faulty {
                faults,
                text: entry.text,
            }),
        }
    }

    /// Every brewhouse with a part of a name.
    async fn brewhouses(&self, part: &str) -> Result<Vec<OpenEntry>, AppError> {
        let mut entries = Vec::new();
        let mut number = 0;
        loop {
            let page = self.library(LibraryKind::Brewhouse, part, number).await?;
            for row in &page.rows {
                entries.push(self.entry(LibraryKind::Brewhouse, row.id).await?);
            }
            number += 1;
            if number >= page.pages {
                return Ok(entries);
            }
        }
    }
}
