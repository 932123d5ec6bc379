//! The two engines behind one transaction type.

use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use sqlx::postgres::{PgConnectOptions, PgPool, PgPoolOptions};
use sqlx::sqlite::{
    SqliteConnectOptions, SqliteJournalMode, SqlitePool, SqlitePoolOptions, SqliteSynchronous,
};
use sqlx::{Postgres, Sqlite, Transaction};
use tokio::sync::{Mutex, OwnedMutexGuard};

use crate::StoreError;
use crate::error::{Doing, Trouble};

/// How long a writer waits for another program.
const BUSY: Duration = Duration::from_secs(5);
/// How long a reader or writer waits for a free connection or for the server.
const PATIENCE: Duration = Duration::from_secs(15);
const CONNECTIONS: u32 = 5;
/// Between two tries to open a file that another program holds.
const PAUSE: Duration = Duration::from_millis(20);

/// The pool of one engine.
#[derive(Debug, Clone)]
pub(crate) enum Db {
    /// SQLite has one writer at a time. Writers of this process queue at the
    /// lock, first come first served; SQLite's own waiting is by polling and
    /// can starve one. Other processes are waited for by the busy timeout.
    Lite(SqlitePool, Arc<Mutex<()>>),
    /// PostgreSQL locks the rows itself.
    Pg(PgPool),
}

/// A transaction on either engine; dropped without `commit` it leaves no trace.
#[derive(Debug)]
pub(crate) enum Tx {
    Lite(Transaction<'static, Sqlite>, Option<OwnedMutexGuard<()>>),
    Pg(Transaction<'static, Postgres>),
}

/// Runs one expression on the connection of whichever engine is there.
macro_rules! on {
    ($tx:expr, $connection:ident => $what:expr) => {
        match $tx {
            $crate::db::Tx::Lite(tx, _) => {
                let $connection = &mut **tx;
                $what
            }
            $crate::db::Tx::Pg(tx) => {
                let $connection = &mut **tx;
                $what
            }
        }
    };
}
pub(crate) use on;

impl Db {
    /// A transaction that reads one unchanging picture of the store.
    pub(crate) async fn read(&self) -> Result<Tx, StoreError> {
        let doing = "starting to read";
        Ok(match self {
            Self::Lite(pool, _) => {
                Tx::Lite(pool.begin_with("BEGIN DEFERRED").await.doing(doing)?, None)
            }
            Self::Pg(pool) => Tx::Pg(
                pool.begin_with("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY")
                    .await
                    .doing(doing)?,
            ),
        })
    }

    /// A transaction that writes.
    ///
    /// SQLite takes its write lock at once, so that two transactions that both
    /// read first cannot block each other. PostgreSQL reads what is committed,
    /// so that a save that waited for another sees the revision it lost to.
    pub(crate) async fn write(&self) -> Result<Tx, StoreError> {
        let doing = "starting to write";
        Ok(match self {
            Self::Lite(pool, queue) => {
                let turn = Arc::clone(queue).lock_owned().await;
                Tx::Lite(
                    pool.begin_with("BEGIN IMMEDIATE").await.doing(doing)?,
                    Some(turn),
                )
            }
            Self::Pg(pool) => Tx::Pg(
                pool.begin_with("BEGIN ISOLATION LEVEL READ COMMITTED READ WRITE")
                    .await
                    .doing(doing)?,
            ),
        })
    }

    pub(crate) async fn close(&self) {
        match self {
            Self::Lite(pool, _) => pool.close().await,
            Self::Pg(pool) => pool.close().await,
        }
    }
}

impl Tx {
    /// Makes it lasting. Only after this returns may a save be acknowledged.
    pub(crate) async fn commit(self, doing: &'static str) -> Result<(), StoreError> {
        match self {
            // The turn ends after the commit, not before it.
            Self::Lite(tx, turn) => {
                let done = tx.commit().await.doing(doing);
                drop(turn);
                done
            }
            Self::Pg(tx) => tx.commit().await.doing(doing),
        }
    }
}

/// How every connection to an SQLite store is set.
///
/// Write-ahead log with `synchronous=FULL`: the log is forced to the disk before
/// a commit returns, so an acknowledged save survives a killed program *and* a
/// power cut (as far as the disk keeps its own word). `NORMAL` would survive the
/// kill only. FULL costs one flush a save, which `benches/store.rs` measures:
/// a person saves a few times a minute, and readings go many to a transaction.
pub(crate) fn lite_options(path: &Path) -> SqliteConnectOptions {
    SqliteConnectOptions::new()
        .filename(path)
        .create_if_missing(true)
        .journal_mode(SqliteJournalMode::Wal)
        .synchronous(SqliteSynchronous::Full)
        .foreign_keys(true)
        .busy_timeout(BUSY)
        // Rows come from a thread of their own; fewer hand-overs are quicker
        // when the machine is busy.
        .row_buffer_size(1_000)
        // A prepared file could otherwise run SQL of its own when it is read.
        .pragma("trusted_schema", "OFF")
}

/// A connection that changes nothing by being made.
pub(crate) fn lite_options_for_a_look(path: &Path) -> SqliteConnectOptions {
    SqliteConnectOptions::new()
        .filename(path)
        .busy_timeout(BUSY)
        .pragma("trusted_schema", "OFF")
}

pub(crate) async fn open_lite(path: &Path) -> Result<Db, StoreError> {
    let give_up = Instant::now() + BUSY;
    loop {
        let pool = SqlitePoolOptions::new()
            .max_connections(CONNECTIONS)
            .acquire_timeout(PATIENCE)
            .connect_with(lite_options(path))
            .await
            .doing("opening the file of the store");
        match pool {
            Ok(pool) => return Ok(Db::Lite(pool, Arc::default())),
            // Turning a new file to the write-ahead log does not wait by itself for
            // another program that does the same.
            Err(StoreError::Engine {
                trouble: Trouble::Busy,
                ..
            }) if Instant::now() < give_up => tokio::time::sleep(PAUSE).await,
            Err(other) => return Err(other),
        }
    }
}

pub(crate) async fn open_pg(url: &str) -> Result<Db, StoreError> {
    let options: PgConnectOptions = url.parse().doing("reading the address of the server")?;
    let pool = PgPoolOptions::new()
        .max_connections(CONNECTIONS)
        .acquire_timeout(PATIENCE)
        .connect_with(options)
        .await
        .doing("connecting to the server")?;
    Ok(Db::Pg(pool))
}
