//! What can go wrong in the store, and what to do about it.

use std::fmt;
use std::path::{Path, PathBuf};

use crate::{DocumentId, Kind, RevisionNumber, SideId};

/// Something the store could not do. Every message says what to do next.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum StoreError {
    /// The file or database holds something else.
    #[error(
        "{place} is not a gylewright store: {why}; name another place, or a new file to start an empty store"
    )]
    NotAStore {
        /// The file, or the database without its password.
        place: String,
        /// What was found there.
        why: String,
    },
    /// The store was written by a later version of the program.
    #[error(
        "{place} was written by a newer version (tables at step {found}, this program knows {known}): update the program"
    )]
    Newer {
        /// The file, or the database without its password.
        place: String,
        /// The step of the tables that was found.
        found: i64,
        /// The last step that this program knows.
        known: i64,
    },
    /// A step of the tables is not the one this program would have made.
    #[error(
        "{place} has tables of another make (step {step} differs): export it with the program that made it and import that here"
    )]
    OtherTables {
        /// The file, or the database without its password.
        place: String,
        /// The step that differs.
        step: i64,
    },
    /// The document was saved by somebody else in between. Nothing is lost: the
    /// refused text is kept as a side version.
    #[error(
        "document {id} has moved on: revision {current} is the newest, yours was written on {expected}; your text is kept as side version {yours_kept_as}: compare the two and save again on {current}"
    )]
    Stale {
        /// The document.
        id: DocumentId,
        /// The revision the text was written on.
        expected: RevisionNumber,
        /// The newest revision.
        current: RevisionNumber,
        /// Where the refused text is kept.
        yours_kept_as: SideId,
    },
    /// No document has this identifier.
    #[error("there is no document {id}: list the documents of its kind to find the right one")]
    NoSuchDocument {
        /// The identifier that was asked for.
        id: DocumentId,
    },
    /// The document has no such revision.
    #[error("document {id} has no revision {number}: it has 1 to {current}")]
    NoSuchRevision {
        /// The document.
        id: DocumentId,
        /// The revision that was asked for.
        number: RevisionNumber,
        /// The newest revision.
        current: RevisionNumber,
    },
    /// No side version has this identifier.
    #[error("there is no side version {id}: list the side versions of the document")]
    NoSuchSideVersion {
        /// The identifier that was asked for.
        id: SideId,
    },
    /// No device has this identifier.
    #[error("there is no device {id}: list the devices")]
    NoSuchDevice {
        /// The identifier that was asked for.
        id: crate::DeviceId,
    },
    /// It is there and may be seen, but this is not for whoever asks.
    #[error("{what} is for {who}: ask one")]
    NotAllowed {
        /// What was asked for.
        what: &'static str,
        /// Who may.
        who: &'static str,
    },
    /// No invitation has this token, or it was used, withdrawn, or is too old.
    #[error("this invitation does not hold (any more): ask for a new one")]
    NoInvitation,
    /// Another account has the name.
    #[error("the name \"{name}\" is taken: choose another")]
    NameTaken {
        /// The name.
        name: String,
    },
    /// Nobody like that is in the group.
    #[error("no such member is in the group: look at the list of members")]
    NoSuchMember,
    /// There is no such group, or nothing of it may be known.
    #[error("there is no such group: ask its keeper for its code")]
    NoSuchGroup,
    /// A group would be left without a keeper.
    #[error("a group needs a keeper: make somebody else keeper first")]
    LastKeeper,
    /// No job has this identifier.
    #[error("there is no job {id}: it may have ended long ago; ask its question again")]
    NoSuchJob {
        /// The identifier that was asked for.
        id: crate::JobId,
    },
    /// A group asked for more work than it may have waiting.
    #[error(
        "{most} pieces of work of this group wait or run already, and no more are taken: wait until one is done, or stop one"
    )]
    TooManyJobs {
        /// As many as may.
        most: u32,
    },
    /// The system has no random numbers for a token.
    #[error("the system gives no random numbers ({why}), so no token can be made: try again")]
    NoChance {
        /// What it said.
        why: String,
    },
    /// The document is of a kind that does not hold such things.
    #[error("document {id} is of kind {kind}, and {what} belong to a {wanted}: name a {wanted}")]
    WrongKind {
        /// The document.
        id: DocumentId,
        /// Its kind.
        kind: Kind,
        /// The kind that would do.
        wanted: Kind,
        /// What was to be stored.
        what: &'static str,
    },
    /// Something that was handed over cannot be right.
    #[error("the {what} \"{given}\" cannot be used: give {wanted}")]
    Impossible {
        /// What it should have been.
        what: &'static str,
        /// What was given, shortened.
        given: String,
        /// What would be accepted.
        wanted: String,
    },
    /// The target exists already, and nothing is overwritten.
    #[error("{} exists already and is not overwritten: name another target", path.display())]
    Exists {
        /// The target.
        path: PathBuf,
    },
    /// What was to be restored, or the store itself, does not hold together.
    #[error("{place} is damaged ({} found, the first: {}): {advice}", problems.len(), problems.first().map_or("", String::as_str))]
    Damaged {
        /// The file.
        place: String,
        /// Everything that was found.
        problems: Vec<String>,
        /// What to do.
        advice: &'static str,
    },
    /// This engine does it with its own tool.
    #[error("{what} of a PostgreSQL store is the database's own work: {instead}")]
    OtherTool {
        /// What was asked for.
        what: &'static str,
        /// The tool and how to call it.
        instead: String,
    },
    /// A folder that was to be imported is not what an export writes.
    #[error("{} cannot be imported, and nothing was: {}", folder.display(), sentence(problems))]
    Import {
        /// The folder.
        folder: PathBuf,
        /// Everything that was found, each with its file.
        problems: Vec<ImportProblem>,
    },
    /// A file or folder could not be read or written.
    #[error("{doing} {}: {source}; check that it exists, and that this user may use it", path.display())]
    File {
        /// What was being done, such as "reading".
        doing: &'static str,
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The machine has no folder for a user's data.
    #[error("no folder for data is known ({why}): set HOME, or name the file of the store")]
    NoDataFolder {
        /// What the system said.
        why: String,
    },
    /// A row holds something that this program cannot have written.
    #[error(
        "the store holds a {what} that cannot be read (\"{found}\"): check the store, and restore a backup if it is damaged"
    )]
    Unreadable {
        /// What it should have been.
        what: &'static str,
        /// What was found.
        found: String,
    },
    /// The engine underneath refused.
    #[error("{doing}: {source}; {}", trouble.advice())]
    Engine {
        /// What was being done, such as "saving a document".
        doing: &'static str,
        /// What kind of trouble it is.
        trouble: Trouble,
        /// What the engine said.
        source: Box<sqlx::Error>,
    },
}

/// One thing that is wrong in a folder to be imported.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ImportProblem {
    /// The file, from the folder on.
    pub file: String,
    /// What is wrong with it, and what was expected.
    pub what: String,
}

impl fmt::Display for ImportProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.file, self.what)
    }
}

fn sentence(problems: &[ImportProblem]) -> String {
    let shown: Vec<String> = problems.iter().take(5).map(ToString::to_string).collect();
    let rest = problems.len().saturating_sub(shown.len());
    let more = if rest == 0 {
        String::new()
    } else {
        format!("; and {rest} more")
    };
    format!("{}{more}", shown.join("; "))
}

/// The kinds of trouble that an engine reports.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Trouble {
    /// Another program held the store for longer than the waiting time.
    Busy,
    /// No room is left.
    DiskFull,
    /// The place cannot be written.
    ReadOnly,
    /// The file is damaged.
    Damaged,
    /// The file cannot be opened, or the server cannot be reached.
    Unreachable,
    /// Anything else.
    Other,
}

impl Trouble {
    /// What to do about it.
    #[must_use]
    pub const fn advice(self) -> &'static str {
        match self {
            Self::Busy => {
                "another program is writing to the store: wait for it or close it, then try again"
            }
            Self::DiskFull => "make room on the disk and try again; what was saved before is safe",
            Self::ReadOnly => {
                "the place cannot be written: check its permissions, or use another place"
            }
            Self::Damaged => "the file is damaged: check the store, and restore a backup",
            Self::Unreachable => {
                "check the name of the file or the address of the server, that it runs, and that this user may use it"
            }
            Self::Other => "try again; if it comes back, check the store",
        }
    }

    fn of(error: &sqlx::Error) -> Self {
        match error {
            sqlx::Error::Io(_) | sqlx::Error::Tls(_) | sqlx::Error::PoolTimedOut => {
                Self::Unreachable
            }
            sqlx::Error::Database(said) => {
                said.code().map_or(Self::Other, |code| Self::of_code(&code))
            }
            _ => Self::Other,
        }
    }

    fn of_code(code: &str) -> Self {
        // PostgreSQL codes have five characters (its appendix A); SQLite's are
        // numbers whose low byte is the primary result code.
        match code {
            "40001" | "40P01" | "55P03" => return Self::Busy,
            "53100" => return Self::DiskFull,
            "25006" | "42501" => return Self::ReadOnly,
            "XX001" | "XX002" => return Self::Damaged,
            "3D000" | "28000" | "28P01" | "57P01" | "57P02" | "57P03" | "53300" => {
                return Self::Unreachable;
            }
            _ => {}
        }
        match code
            .parse::<u32>()
            .ok()
            .filter(|_| code.len() < 5)
            .map(|code| code & 0xff)
        {
            Some(5 | 6) => Self::Busy,
            Some(13) => Self::DiskFull,
            Some(3 | 8 | 23) => Self::ReadOnly,
            Some(11 | 26) => Self::Damaged,
            Some(14) => Self::Unreachable,
            _ => Self::Other,
        }
    }
}

impl StoreError {
    pub(crate) fn impossible(
        what: &'static str,
        given: impl fmt::Display,
        wanted: impl Into<String>,
    ) -> Self {
        Self::Impossible {
            what,
            given: shortened(&given.to_string()),
            wanted: wanted.into(),
        }
    }

    pub(crate) fn unreadable(what: &'static str, found: impl fmt::Display) -> Self {
        Self::Unreadable {
            what,
            found: shortened(&found.to_string()),
        }
    }

    pub(crate) fn file(doing: &'static str, path: &Path, source: std::io::Error) -> Self {
        Self::File {
            doing,
            path: path.to_owned(),
            source,
        }
    }
}

fn shortened(text: &str) -> String {
    let clean: String = text
        .chars()
        .take(60)
        .map(|c| if c.is_control() { '\u{fffd}' } else { c })
        .collect();
    if clean.len() < text.len() && text.chars().count() > 60 {
        format!("{clean}…")
    } else {
        clean
    }
}

/// Says what was being done when the engine refused.
pub(crate) trait Doing<T> {
    fn doing(self, doing: &'static str) -> Result<T, StoreError>;
}

impl<T> Doing<T> for Result<T, sqlx::Error> {
    fn doing(self, doing: &'static str) -> Result<T, StoreError> {
        self.map_err(|source| StoreError::Engine {
            doing,
            trouble: Trouble::of(&source),
            source: Box::new(source),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_of_both_engines_are_told_apart() {
        for (code, trouble) in [
            ("5", Trouble::Busy),
            ("517", Trouble::Busy), // SQLITE_BUSY_SNAPSHOT
            ("13", Trouble::DiskFull),
            ("1032", Trouble::ReadOnly), // SQLITE_READONLY_DBMOVED
            ("11", Trouble::Damaged),
            ("26", Trouble::Damaged),
            ("14", Trouble::Unreachable),
            ("1555", Trouble::Other), // SQLITE_CONSTRAINT_PRIMARYKEY
            ("53100", Trouble::DiskFull),
            ("23505", Trouble::Other), // unique_violation
            ("28P01", Trouble::Unreachable),
        ] {
            assert_eq!(Trouble::of_code(code), trouble, "{code}");
        }
    }

    #[test]
    fn a_long_or_unprintable_gift_is_shown_short_and_clean() {
        let said = StoreError::impossible("title", "a\u{0}b".repeat(100), "less").to_string();
        assert!(
            said.chars().count() < 120 && !said.contains('\u{0}') && said.contains('…'),
            "{said}"
        );
    }
}
