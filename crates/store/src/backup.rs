//! Copies of a whole store, and the way back.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use sqlx::{Connection as _, SqliteConnection};

use crate::db::{self, Db};
use crate::error::Doing;
use crate::migrate::{self, STEPS};
use crate::place::{beside, free_name_beside};
use crate::{DocumentId, Place, Store, StoreError, Timestamp, check, sql};

/// What a restore did.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Restored {
    /// Where everything that was in the store before is kept, as a store file.
    pub kept_aside: PathBuf,
    /// How many documents the store holds now.
    pub documents: u64,
    /// How many revisions the store holds now.
    pub revisions: u64,
}

impl Store {
    /// Writes a copy of the whole store to a new file, while others go on
    /// working. The copy is one moment of the store, was checked, and is on the
    /// disk when this returns; half a copy never bears the name.
    ///
    /// # Errors
    /// [`StoreError::Exists`] if the file is there already;
    /// [`StoreError::OtherTool`] on PostgreSQL; [`StoreError::Damaged`] if the
    /// copy does not hold together.
    pub async fn backup(&self, to: &Path) -> Result<(), StoreError> {
        self.whole("a backup")?;
        match &self.place {
            Place::File(path) => copy_whole(path, to).await,
            Place::Server(_) => Err(StoreError::OtherTool {
                what: "a backup",
                instead: format!(
                    "run pg_dump --format=custom --file={} '{}'",
                    to.display(),
                    self.place
                ),
            }),
        }
    }

    /// Replaces everything in the store by what a backup holds, in one step:
    /// either all of it or, if anything fails, nothing. The backup is checked
    /// first, and everything that is in the store now is kept aside as
    /// `<file>.before-restore`. Others may have the store open meanwhile and see
    /// the change at once; what they want to save has to wait, and is refused as
    /// busy if that takes long. While it runs, the disk needs room for three
    /// more copies of the store.
    ///
    /// # Errors
    /// [`StoreError::Damaged`] if the backup, or the store as it is now, does
    /// not hold together; [`StoreError::NotAStore`] if the file is something
    /// else; [`StoreError::OtherTool`] on PostgreSQL.
    pub async fn restore(&self, from: &Path) -> Result<Restored, StoreError> {
        self.whole("a restore")?;
        let (Place::File(path), Db::Lite(_, queue)) = (&self.place, &self.db) else {
            return Err(StoreError::OtherTool {
                what: "a restore",
                instead: format!(
                    "run pg_restore --clean --if-exists --dbname='{}' FILE",
                    self.place
                ),
            });
        };
        refuse_bad_source(from, path).await?;
        let candidate = beside(path, &format!(".restoring-{}", unique()));
        copy_whole(from, &candidate).await?;
        let restored = async {
            let (documents, revisions) = prove(&candidate, from).await?;
            let _turn = Arc::clone(queue).lock_owned().await;
            let kept_aside = replace_by(path, &candidate).await?;
            Ok(Restored {
                kept_aside,
                documents,
                revisions,
            })
        }
        .await;
        remove_store(&candidate);
        restored
    }

    /// Moves the file of a store that is too damaged to be restored into out of
    /// the way, with its companions, and says where it is now. A new store can
    /// then be opened in its place and a backup restored into that.
    ///
    /// No program may have the store open.
    ///
    /// # Errors
    /// [`StoreError::File`] if it cannot be moved; it is then left where it was.
    pub fn set_aside(path: &Path) -> Result<PathBuf, StoreError> {
        let aside = free_name_beside(path, ".set-aside");
        // The log goes first: a log that stayed behind without its file would be
        // taken for rubbish when the next store is opened there.
        let mut moved = Vec::new();
        for companion in ["-wal", "-shm", ""] {
            let (from, to) = (beside(path, companion), beside(&aside, companion));
            if !companion.is_empty() && !from.exists() {
                continue;
            }
            if let Err(error) = fs::rename(&from, &to) {
                for (from, to) in moved.into_iter().rev() {
                    fs::rename(to, from).map_err(|e| StoreError::file("moving back", path, e))?;
                }
                return Err(StoreError::file("moving", path, error));
            }
            moved.push((from, to));
        }
        Ok(aside)
    }
}

/// Copies the store at `from`, as it is at one moment, into the new file `to`.
pub(crate) async fn copy_whole(from: &Path, to: &Path) -> Result<(), StoreError> {
    if to.exists() {
        return Err(StoreError::Exists {
            path: to.to_owned(),
        });
    }
    let unfinished = beside(to, &format!(".unfinished-{}", unique()));
    let result = write_copy(from, &unfinished, to).await;
    if result.is_err() {
        remove_store(&unfinished);
    }
    result
}

async fn write_copy(from: &Path, unfinished: &Path, to: &Path) -> Result<(), StoreError> {
    let Some(target) = unfinished.to_str() else {
        return Err(StoreError::impossible(
            "name of a file",
            to.display(),
            "a name in UTF-8",
        ));
    };
    let mut source = look(from).await?;
    let copied = sqlx::query(sql::COPY_INTO)
        .bind(target)
        .execute(&mut source)
        .await
        .doing("copying the store");
    source.close().await.doing("closing the store")?;
    copied?;
    let mut copy = look(unfinished).await?;
    let problems = check::integrity(&mut copy).await;
    copy.close().await.doing("closing the copy")?;
    refuse_damaged(from, problems?, "restore an earlier backup")?;
    let (unfinished, to) = (unfinished.to_owned(), to.to_owned());
    blocking(move || settle(&unfinished, &to)).await
}

/// Forces the copy to the disk and gives it its name, unless that is taken.
fn settle(unfinished: &Path, to: &Path) -> Result<(), StoreError> {
    let unsettled = |e| StoreError::file("writing", to, e);
    fs::File::open(unfinished)
        .and_then(|file| file.sync_all())
        .map_err(unsettled)?;
    // Takes the name if it is free; hard links would do without the empty file,
    // but memory sticks seldom have them.
    if let Err(error) = fs::File::create_new(to) {
        return Err(match error.kind() {
            std::io::ErrorKind::AlreadyExists => StoreError::Exists {
                path: to.to_owned(),
            },
            _ => unsettled(error),
        });
    }
    fs::rename(unfinished, to).map_err(unsettled)?;
    sync_folder_of(to);
    Ok(())
}

/// Makes a new name last. Not every system can; then the name may be lost with
/// the power, which the caller cannot help.
fn sync_folder_of(path: &Path) {
    let folder = path
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty())
        .unwrap_or(Path::new("."));
    let _ = fs::File::open(folder).and_then(|folder| folder.sync_all());
}

/// A backup must be a store, another file than the store, and whole.
async fn refuse_bad_source(from: &Path, path: &Path) -> Result<(), StoreError> {
    let real =
        |path: &Path| fs::canonicalize(path).map_err(|e| StoreError::file("reading", path, e));
    if real(from)? == real(path)? {
        return Err(StoreError::impossible(
            "backup",
            from.display(),
            "another file than the store itself",
        ));
    }
    crate::store::refuse_other_file(from).await?;
    let mut source = look(from).await?;
    let mark: Result<i64, StoreError> = sqlx::query_scalar(sql::APPLICATION_ID)
        .fetch_one(&mut source)
        .await
        .doing("looking into the backup");
    let problems = check::integrity(&mut source).await;
    source.close().await.doing("closing the backup")?;
    if mark? != migrate::APPLICATION_ID {
        return Err(StoreError::NotAStore {
            place: from.display().to_string(),
            why: "it is empty".to_owned(),
        });
    }
    refuse_damaged(
        from,
        problems?,
        "restore an earlier backup; the store was left as it is",
    )
}

/// Brings the candidate to the newest tables and checks every text in it.
async fn prove(candidate: &Path, from: &Path) -> Result<(u64, u64), StoreError> {
    let place = from.display().to_string();
    let store = Store {
        db: db::open_lite(candidate).await?,
        place: Place::File(candidate.to_owned()),
        sight: None,
    };
    let report = async {
        migrate::standing(&store.db, STEPS, &place).await?;
        migrate::migrate(&store.db, STEPS, &place).await?;
        store.check().await
    }
    .await;
    store.close().await;
    let report = report?;
    let problems = report.problems.iter().map(ToString::to_string).collect();
    refuse_damaged(
        from,
        problems,
        "restore an earlier backup; the store was left as it is",
    )?;
    Ok((report.documents, report.revisions))
}

/// Copies the rows of `candidate` over those of the store, after keeping those.
///
/// Rows, not files: other programs may have the file open, and would go on
/// writing to a file that was renamed under them.
async fn replace_by(path: &Path, candidate: &Path) -> Result<PathBuf, StoreError> {
    let doing = "restoring";
    let Some(kept) = candidate.to_str() else {
        return Err(StoreError::impossible(
            "name of a file",
            candidate.display(),
            "a name in UTF-8",
        ));
    };
    let mut store = SqliteConnection::connect_with(&db::lite_options(path))
        .await
        .doing(doing)?;
    let replaced = async {
        sqlx::query(sql::ATTACH)
            .bind(kept)
            .execute(&mut store)
            .await
            .doing(doing)?;
        let mut tx = store.begin_with("BEGIN IMMEDIATE").await.doing(doing)?;
        // Nobody can save from here on, so the copy misses nothing.
        let aside = free_name_beside(path, ".before-restore");
        copy_whole(path, &aside).await?;
        for statement in sql::RESTORE {
            sqlx::query(*statement)
                .execute(&mut *tx)
                .await
                .doing(doing)?;
        }
        tx.commit().await.doing(doing)?;
        Ok(aside)
    }
    .await;
    store.close().await.doing("closing the store")?;
    replaced
}

async fn look(path: &Path) -> Result<SqliteConnection, StoreError> {
    SqliteConnection::connect_with(&db::lite_options_for_a_look(path))
        .await
        .doing("opening the file")
}

fn refuse_damaged(
    path: &Path,
    problems: Vec<String>,
    advice: &'static str,
) -> Result<(), StoreError> {
    if problems.is_empty() {
        return Ok(());
    }
    Err(StoreError::Damaged {
        place: path.display().to_string(),
        problems,
        advice,
    })
}

/// Removes a copy that nobody asked for, with its companions.
fn remove_store(path: &Path) {
    for companion in ["", "-wal", "-shm", "-journal"] {
        let _ = fs::remove_file(beside(path, companion));
    }
}

/// Letters that no other running program will choose.
pub(crate) fn unique() -> String {
    DocumentId::new(Timestamp::MIN).short()
}

/// Runs what blocks its thread where it hinders nobody.
pub(crate) async fn blocking<T, F>(work: F) -> Result<T, StoreError>
where
    T: Send + 'static,
    F: FnOnce() -> Result<T, StoreError> + Send + 'static,
{
    match tokio::task::spawn_blocking(work).await {
        Ok(done) => done,
        Err(stopped) => Err(StoreError::file(
            "working on",
            Path::new("files"),
            std::io::Error::other(stopped),
        )),
    }
}
