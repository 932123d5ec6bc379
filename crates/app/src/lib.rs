//! The use cases of gylewright. The command line and the web application call
//! the same functions; neither touches the store or the models by itself.

mod batches;
mod brew_day;
mod comparing;
mod consent;
mod demo;
mod devices;
mod edits;
mod house;
mod inquiry;
mod instruments;
mod interchange;
mod jobs;
mod keeping;
mod kinds;
mod learning;
mod library;
mod library_demo;
pub mod liquor;
mod log;
mod matching;
pub mod people;
mod pitch;
mod schemas;
mod start;
mod steer;
mod sure;
mod take;
mod tasters;
mod tastings;
mod tools;
mod watch;

use std::sync::Arc;

use store::{DocumentId, Place, SideId, Store, StoreError, Timestamp};
use tokio::sync::Mutex;

pub use batches::{BatchRow, OpenBatch, Outcome, Page};
pub use comparing::{Picked, revision_number, revision_of};
pub use consent::{Agreed, StudyState, WHAT_LEAVES};
pub use demo::{Demo, demos};
pub use devices::Sent;
pub use edits::{Edit, Edited};
pub use house::{HouseHistory, Spoke};
pub use instruments::{InstrumentRecord, InstrumentTold};
pub use interchange::TakenIn;
pub use jobs::{Asked, CODE_VERSION, KEPT, LEASE, Standing, Working, job_row};
pub use keeping::HowFar;
pub use learning::{Gathered, Lessons};
pub use library::{Contents, DatedAnalysis, EntryEdited, LibraryKind, OpenEntry};
pub use log::{Arrivals, KeptLog, LoggedChannel};
pub use matching::StoresAtHand;
pub use schemas::{schema, schema_names};
pub use start::{Beer, Beginning, Tap};
pub use take::Place as WaterPlace;
pub use tasters::Weighed;
pub use tastings::{OpenTasting, TastingPlanned};
pub use tools::{Choice, Empty, Field, Line, Measurement, Tool, Typed, tools};

/// gylewright over one store.
#[derive(Debug, Clone)]
pub struct App {
    store: Store,
    clock: fn() -> Timestamp,
    answering: Arc<Mutex<()>>,
    known: Known,
    groups: Arc<people::Groups>,
    hands: Arc<jobs::Hands>,
}

/// What was read before, so that the next question is quick. It may be lost at any time.
#[derive(Debug, Clone, Default)]
pub(crate) struct Known {
    memory: Arc<Mutex<house::Memory>>,
    heard: Arc<Mutex<learning::Heard>>,
    keepings: Arc<keeping::Keepings>,
    glances: sure::Glances,
}

/// What can go wrong in a use case.
#[derive(Debug, thiserror::Error)]
pub enum AppError {
    /// The store cannot do it.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// An edit that leads nowhere.
    #[error(transparent)]
    Edit(#[from] batch::edit::EditError),
    /// A log that cannot be read.
    #[error(transparent)]
    Log(batch::log::LogError),
    /// Something was named of which there is not exactly one.
    #[error("there is not one {what} {wanted:?}; known: {}", if found.is_empty() { "none" } else { found })]
    NotOne {
        /// What was looked for.
        what: &'static str,
        /// How it was named.
        wanted: String,
        /// What there is.
        found: String,
    },
    /// A file of recipes that is not taken.
    #[error(transparent)]
    Recipes(#[from] ::interchange::ReadError),
    /// The archive of everything cannot be put together.
    #[error(
        "the archive cannot be put together: {0}; see whether there is room for temporary files"
    )]
    Archive(std::io::Error),
    /// A password that would soon be guessed.
    #[error("{0}")]
    Password(people::PasswordFault),
    /// The password that was given again is not the account's.
    #[error("this is not your password: type it again")]
    WrongPassword,
    /// The password was tried too often.
    #[error("the password was tried too often: try again in {} minutes", wait_s.div_ceil(60))]
    TooOften {
        /// How long to wait \[s\].
        wait_s: u64,
    },
    /// The machine could not make a hash.
    #[error("the password cannot be hashed: {0}; try again")]
    Hash(String),
    /// A document that was to be begun has faults.
    #[error("the document has {} faults, the first: {}", faults.len(), faults.first().map_or_else(String::new, ToString::to_string))]
    Faulty {
        /// Them.
        faults: Vec<batch::Fault>,
        /// The text they stand in.
        text: String,
    },
    /// A water that has no analysis to take, or none of that day.
    #[error("{water} has no analysis{}: add one to its page first", day.map_or_else(String::new, |d| format!(" of {d}")))]
    NoAnalysis {
        /// The water.
        water: String,
        /// The day that was asked for.
        day: Option<store::Day>,
    },
    /// Somebody else changed the same thing in between; both versions are kept.
    #[error("{what} was changed in another place in between; your version is kept beside it")]
    Conflict {
        /// The document.
        id: DocumentId,
        /// What both changed.
        what: String,
        /// Where the refused version is kept.
        kept_as: SideId,
    },
}

impl App {
    /// Opens gylewright over a store, which is made if it is not there.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn open(place: impl Into<Place>) -> Result<Self, AppError> {
        Ok(Self::over(Store::open(place).await?))
    }

    /// gylewright over an open store.
    #[must_use]
    pub fn over(store: Store) -> Self {
        Self {
            store,
            clock: now,
            answering: Arc::default(),
            known: Known::default(),
            groups: Arc::default(),
            hands: Arc::default(),
        }
    }

    /// The store, for what concerns it alone: backup, export, check.
    #[must_use]
    pub fn store(&self) -> &Store {
        &self.store
    }

    /// The time by the clock of this application.
    #[must_use]
    pub fn this_moment(&self) -> Timestamp {
        self.now()
    }

    fn now(&self) -> Timestamp {
        (self.clock)()
    }
}

/// The one place where the clock is read.
fn now() -> Timestamp {
    Timestamp::from_ms(jiff::Timestamp::now().as_millisecond()).unwrap_or(Timestamp::MIN)
}
