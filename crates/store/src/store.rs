//! Opening a store.

use std::fs;
use std::io::Read as _;
use std::path::Path;
use std::sync::Arc;

use sqlx::{Connection as _, SqliteConnection};

use crate::db::{self, Db};
use crate::error::Doing;
use crate::migrate::{self, APPLICATION_ID, STEPS, Standing, Step};
use crate::{Place, Sight, StoreError, backup, people, sql};

/// One repository of documents, revisions and readings.
///
/// Cheap to clone; all clones share the connections.
#[derive(Debug, Clone)]
pub struct Store {
    pub(crate) db: Db,
    pub(crate) place: Place,
    pub(crate) sight: Option<Arc<Sight>>,
}

impl Store {
    /// Opens the store at a place, and makes it if there is none.
    ///
    /// The folder of a file is created. A store that lacks a step of the tables
    /// takes it now; a file is copied beside itself first, as
    /// `<file>.step-<n>.backup`.
    ///
    /// # Errors
    /// [`StoreError::NotAStore`] if the place holds something else, which is
    /// left untouched; [`StoreError::Newer`] for a store of a later version;
    /// [`StoreError::Engine`] or [`StoreError::File`] if it cannot be reached.
    pub async fn open(place: impl Into<Place>) -> Result<Self, StoreError> {
        Self::open_at(place.into(), STEPS).await
    }

    /// Opens a store as a program would that knows only the first `steps` steps
    /// of the tables: the past, for tests of the way up from it.
    ///
    /// # Errors
    /// Those of [`Store::open`].
    #[doc(hidden)]
    pub async fn open_as_of(place: impl Into<Place>, steps: usize) -> Result<Self, StoreError> {
        Self::open_at(place.into(), STEPS.get(..steps).unwrap_or(STEPS)).await
    }

    pub(crate) async fn open_at(place: Place, steps: &[Step]) -> Result<Self, StoreError> {
        let db = match &place {
            Place::File(path) => {
                make_folder(path)?;
                refuse_other_file(path).await?;
                db::open_lite(path).await?
            }
            Place::Server(url) => db::open_pg(url).await?,
        };
        let store = Self {
            db,
            place,
            sight: None,
        };
        store.bring_up_to_date(steps).await?;
        Ok(store)
    }

    /// Where this store lives.
    #[must_use]
    pub const fn place(&self) -> &Place {
        &self.place
    }

    /// Closes all connections after the work under way. A file is then whole in
    /// itself, without companions beside it, if no other program has it open.
    pub async fn close(&self) {
        self.db.close().await;
    }

    async fn bring_up_to_date(&self, steps: &[Step]) -> Result<(), StoreError> {
        let place = self.place.to_string();
        if let Db::Pg(_) = &self.db {
            self.refuse_other_database(&place).await?;
        }
        let standing = migrate::standing(&self.db, steps, &place).await?;
        if standing.is_behind() {
            self.back_up_before(standing).await?;
        }
        if standing.taken < standing.last {
            migrate::migrate(&self.db, steps, &place).await?;
        }
        Ok(())
    }

    /// The file may be somebody's only copy, so it is copied before its tables
    /// change. A server has its own backups.
    async fn back_up_before(&self, standing: Standing) -> Result<(), StoreError> {
        match &self.place {
            Place::File(path) => {
                let copy = crate::place::free_name_beside(
                    path,
                    &format!(".step-{}.backup", standing.taken),
                );
                backup::copy_whole(path, &copy).await
            }
            Place::Server(_) => Ok(()),
        }
    }

    async fn refuse_other_database(&self, place: &str) -> Result<(), StoreError> {
        let mut tx = self.db.read().await?;
        if let db::Tx::Pg(pg) = &mut tx {
            let encoding: String = sqlx::query_scalar(sql::ENCODING)
                .fetch_one(&mut **pg)
                .await
                .doing("reading the encoding")?;
            if encoding != "UTF8" {
                return Err(not_a_store(
                    place,
                    format!("its encoding is {encoding}, and UTF8 is needed"),
                ));
            }
        }
        let other = !migrate::has_table(&mut tx, "schema_step").await?
            && migrate::has_table(&mut tx, "document").await?;
        if other {
            return Err(not_a_store(place, "it has tables of something else"));
        }
        Ok(())
    }

    /// Prepares every statement of this crate on this engine, and says how many
    /// there are: the check that both engines understand all of them.
    ///
    /// # Errors
    /// [`StoreError::Engine`] with the first statement that is not understood.
    #[doc(hidden)]
    pub async fn prepare_every_statement(&self) -> Result<usize, StoreError> {
        use sqlx::{Executor as _, SqlSafeStr as _};
        let own: Vec<&'static str> = match &self.db {
            Db::Lite(..) => {
                let adding = sql::READING_INSERTS
                    .iter()
                    .chain(sql::REMARK_INSERTS.iter());
                let adding = adding.map(|(_, sql)| sql.as_str());
                sql::SQLITE_ONLY.iter().copied().chain(adding).collect()
            }
            Db::Pg(_) => sql::POSTGRES_ONLY.to_vec(),
        };
        let mut prepared = 0;
        let people = people::sql::SHARED
            .iter()
            .chain(people::sql::REMOVE_OF_GROUP);
        for statement in sql::SHARED.iter().chain(people).copied().chain(own) {
            match &self.db {
                Db::Lite(pool, _) => pool.prepare(statement.into_sql_str()).await.map(drop),
                Db::Pg(pool) => pool.prepare(statement.into_sql_str()).await.map(drop),
            }
            .doing(statement)?;
            prepared += 1;
        }
        Ok(prepared)
    }
}

fn not_a_store(place: &str, why: impl Into<String>) -> StoreError {
    StoreError::NotAStore {
        place: place.to_owned(),
        why: why.into(),
    }
}

fn make_folder(path: &Path) -> Result<(), StoreError> {
    match path
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty())
    {
        Some(folder) => {
            fs::create_dir_all(folder).map_err(|e| StoreError::file("making the folder", folder, e))
        }
        None => Ok(()),
    }
}

/// Looks at a file before anything is written to it.
///
/// A store that was killed while it was being made is a file of no bytes or of
/// no tables: both count as new.
pub(crate) async fn refuse_other_file(path: &Path) -> Result<(), StoreError> {
    let place = path.display().to_string();
    if path.is_dir() {
        return Err(not_a_store(&place, "it is a folder"));
    }
    if !path.exists() || !has_sqlite_header(path)? {
        return Ok(());
    }
    // A plain connection: setting the journal mode would change the file.
    let options = db::lite_options_for_a_look(path);
    let mut look = SqliteConnection::connect_with(&options)
        .await
        .doing("opening the file of the store")?;
    let found = look_at(&mut look).await;
    look.close().await.doing("closing the file of the store")?;
    let (mark, tables) = found?;
    match mark {
        APPLICATION_ID => Ok(()),
        0 if tables == 0 => Ok(()),
        0 => Err(not_a_store(
            &place,
            "it is an SQLite file of something else",
        )),
        other => Err(not_a_store(
            &place,
            format!("it is an SQLite file marked {other:#x}"),
        )),
    }
}

async fn look_at(look: &mut SqliteConnection) -> Result<(i64, i64), StoreError> {
    let doing = "looking into the file";
    let mark: i64 = sqlx::query_scalar(sql::APPLICATION_ID)
        .fetch_one(&mut *look)
        .await
        .doing(doing)?;
    let tables: i64 = sqlx::query_scalar(sql::TABLE_COUNT)
        .fetch_one(look)
        .await
        .doing(doing)?;
    Ok((mark, tables))
}

/// False for an empty file; an error for one that holds something else.
fn has_sqlite_header(path: &Path) -> Result<bool, StoreError> {
    const HEADER: &[u8] = b"SQLite format 3\0";
    let unread = |e| StoreError::file("reading", path, e);
    let mut start = Vec::new();
    fs::File::open(path)
        .map_err(unread)?
        .take(HEADER.len() as u64)
        .read_to_end(&mut start)
        .map_err(unread)?;
    if start.is_empty() || start == HEADER {
        return Ok(!start.is_empty());
    }
    Err(not_a_store(
        &path.display().to_string(),
        "it is not an SQLite file",
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Draft, Kind, Timestamp};

    /// A step that fails takes the steps before it along: the tables are as
    /// they were, and the copy is there.
    #[tokio::test]
    async fn a_step_that_fails_changes_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("store.db");
        let store = Store::open(path.as_path()).await.unwrap();
        let draft = Draft::new("Stout", "text");
        let id = store
            .create(Kind::Batch, &draft, Timestamp::MIN)
            .await
            .unwrap()
            .id;
        store.close().await;

        let mut steps = STEPS.to_vec();
        let last = steps.len() as i64;
        steps.push(Step {
            version: last + 1,
            name: "good",
            sql: "CREATE TABLE later (id TEXT NOT NULL) STRICT;",
        });
        steps.push(Step {
            version: last + 2,
            name: "bad",
            sql: "ALTER TABLE nowhere ADD COLUMN x TEXT;",
        });
        let refused = Store::open_at(path.as_path().into(), &steps)
            .await
            .unwrap_err();
        assert!(
            matches!(
                refused,
                StoreError::Engine {
                    doing: "changing the tables",
                    ..
                }
            ),
            "{refused}"
        );

        let store = Store::open(path.as_path()).await.unwrap();
        assert_eq!(store.current(id).await.unwrap().text, "text");
        assert!(
            !migrate::has_table(&mut store.db.read().await.unwrap(), "later")
                .await
                .unwrap()
        );
        assert!(
            folder
                .path()
                .join(format!("store.db.step-{last}.backup"))
                .exists()
        );
    }

    #[tokio::test]
    async fn tables_of_another_make_are_refused() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("store.db");
        Store::open(path.as_path()).await.unwrap().close().await;
        let mut other = STEPS.to_vec();
        other[1] = Step {
            sql: "-- another second step",
            ..other[1]
        };
        let refused = Store::open_at(path.as_path().into(), &other)
            .await
            .unwrap_err();
        assert!(
            matches!(refused, StoreError::OtherTables { step: 2, .. }),
            "{refused}"
        );
        let refused = Store::open_at(path.as_path().into(), &STEPS[..1])
            .await
            .unwrap_err();
        let last = STEPS.len() as i64;
        assert!(
            matches!(refused, StoreError::Newer { found, known: 1, .. } if found == last),
            "{refused}"
        );
    }
}
