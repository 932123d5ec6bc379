//! The steps by which the tables came to be what they are.

use sqlx::AssertSqlSafe;

use crate::StoreError;
use crate::db::{Db, Tx, on};
use crate::digest::sha256_hex;
use crate::error::Doing;
use crate::sql;

/// "gyle" as a number, in the header of every SQLite store.
pub(crate) const APPLICATION_ID: i64 = 0x6779_6c65;

const LEDGER: &str = "CREATE TABLE IF NOT EXISTS schema_step (
    version INTEGER NOT NULL,
    name    TEXT NOT NULL,
    sha256  TEXT NOT NULL,
    CONSTRAINT schema_step_pk PRIMARY KEY (version)
) STRICT;
";
const MARK: &str = "PRAGMA application_id = 0x67796c65";

/// One step, in SQLite's strict dialect.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Step {
    pub(crate) version: i64,
    pub(crate) name: &'static str,
    pub(crate) sql: &'static str,
}

macro_rules! step {
    ($version:literal, $name:literal) => {
        Step {
            version: $version,
            name: $name,
            sql: include_str!(concat!("../migrations/", $name, ".sql")),
        }
    };
}

/// All steps, in order. See `migrations/README.md`.
pub(crate) const STEPS: &[Step] = &[
    step!(1, "0001_documents"),
    step!(2, "0002_side_versions"),
    step!(3, "0003_water_analyses"),
    step!(4, "0004_readings"),
    step!(5, "0005_devices"),
    step!(6, "0006_deliveries"),
    step!(7, "0007_people"),
    step!(8, "0008_jobs"),
    step!(9, "0009_consent"),
];

/// How far a store has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Standing {
    /// The last step taken; zero for an empty store.
    pub(crate) taken: i64,
    /// The last step there is.
    pub(crate) last: i64,
}

impl Standing {
    /// Holds something, and lacks a step.
    pub(crate) const fn is_behind(self) -> bool {
        self.taken > 0 && self.taken < self.last
    }
}

/// Reads how far the store has come, and refuses one that is newer or another's.
pub(crate) async fn standing(db: &Db, steps: &[Step], place: &str) -> Result<Standing, StoreError> {
    let mut tx = db.read().await?;
    let taken = taken_steps(&mut tx).await?;
    compare(&taken, steps, place)
}

/// Takes every missing step in one transaction.
pub(crate) async fn migrate(db: &Db, steps: &[Step], place: &str) -> Result<(), StoreError> {
    let mut tx = db.write().await?;
    prepare_ledger(&mut tx).await?;
    // Read again under the lock: another program may have been faster.
    let taken = taken_steps(&mut tx).await?;
    let standing = compare(&taken, steps, place)?;
    for step in steps.iter().filter(|step| step.version > standing.taken) {
        take(&mut tx, step).await?;
    }
    tx.commit("changing the tables").await
}

async fn prepare_ledger(tx: &mut Tx) -> Result<(), StoreError> {
    let doing = "preparing the tables";
    match tx {
        Tx::Lite(lite, _) => {
            sqlx::raw_sql(LEDGER)
                .execute(&mut **lite)
                .await
                .doing(doing)?;
            sqlx::raw_sql(MARK)
                .execute(&mut **lite)
                .await
                .doing(doing)?;
        }
        Tx::Pg(pg) => {
            sqlx::raw_sql(sql::LOCK_STEPS)
                .execute(&mut **pg)
                .await
                .doing(doing)?;
            sqlx::raw_sql(AssertSqlSafe(for_postgres(LEDGER)))
                .execute(&mut **pg)
                .await
                .doing(doing)?;
        }
    }
    Ok(())
}

async fn take(tx: &mut Tx, step: &Step) -> Result<(), StoreError> {
    let doing = "changing the tables";
    match tx {
        Tx::Lite(lite, _) => {
            sqlx::raw_sql(step.sql)
                .execute(&mut **lite)
                .await
                .doing(doing)?;
        }
        Tx::Pg(pg) => {
            sqlx::raw_sql(AssertSqlSafe(for_postgres(step.sql)))
                .execute(&mut **pg)
                .await
                .doing(doing)?;
        }
    }
    on!(tx, c => sqlx::query(sql::STEP_INSERT)
        .bind(step.version)
        .bind(step.name)
        .bind(sha256_hex(step.sql))
        .execute(c).await.map(drop))
    .doing(doing)
}

/// The steps that were taken, as (version, SHA-256); none without a ledger.
async fn taken_steps(tx: &mut Tx) -> Result<Vec<(i64, String)>, StoreError> {
    if !has_table(tx, "schema_step").await? {
        return Ok(Vec::new());
    }
    on!(tx, c => sqlx::query_as(sql::STEP_LIST).fetch_all(c).await)
        .doing("reading the steps of the tables")
}

/// Whether the store has a table of that name.
pub(crate) async fn has_table(tx: &mut Tx, name: &str) -> Result<bool, StoreError> {
    match tx {
        Tx::Lite(lite, _) => {
            sqlx::query_scalar(sql::TABLE_EXISTS)
                .bind(name)
                .fetch_one(&mut **lite)
                .await
        }
        Tx::Pg(pg) => {
            sqlx::query_scalar(sql::PG_TABLE_EXISTS)
                .bind(name)
                .fetch_one(&mut **pg)
                .await
        }
    }
    .doing("looking for the tables")
}

fn compare(taken: &[(i64, String)], steps: &[Step], place: &str) -> Result<Standing, StoreError> {
    let known = steps.last().map_or(0, |step| step.version);
    let found = taken.last().map_or(0, |(version, _)| *version);
    if found > known {
        return Err(StoreError::Newer {
            place: place.to_owned(),
            found,
            known,
        });
    }
    for ((version, sha256), step) in taken.iter().zip(steps) {
        if *version != step.version || *sha256 != sha256_hex(step.sql) {
            return Err(StoreError::OtherTables {
                place: place.to_owned(),
                step: *version,
            });
        }
    }
    Ok(Standing {
        taken: found,
        last: known,
    })
}

/// The same step in PostgreSQL's words; the list is in `migrations/README.md`.
fn for_postgres(step: &str) -> String {
    step.replace("INTEGER PRIMARY KEY", "\u{1}")
        .replace("INTEGER", "BIGINT")
        .replace(
            '\u{1}',
            "BIGINT GENERATED BY DEFAULT AS IDENTITY PRIMARY KEY",
        )
        .replace("REAL", "DOUBLE PRECISION")
        .replace("TEXT", "TEXT COLLATE \"C\"")
        .replace(") STRICT, WITHOUT ROWID;", ");")
        .replace(") STRICT;", ");")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_numbered_without_gaps_and_named_by_their_number() {
        for (i, step) in STEPS.iter().enumerate() {
            assert_eq!(step.version, i64::try_from(i).unwrap() + 1);
            assert!(
                step.name.starts_with(&format!("{:04}_", step.version)),
                "{}",
                step.name
            );
            assert!(
                step.sql.starts_with("-- "),
                "{} does not say why",
                step.name
            );
        }
    }

    #[test]
    fn the_mark_is_the_application_id() {
        assert!(MARK.ends_with(&format!("{APPLICATION_ID:#x}")));
        assert_eq!(APPLICATION_ID.to_be_bytes()[4..], *b"gyle");
    }

    #[test]
    fn only_the_listed_words_change_for_postgres() {
        let step = "CREATE TABLE t (id INTEGER PRIMARY KEY, n INTEGER, x REAL, s TEXT) STRICT, WITHOUT ROWID;";
        assert_eq!(
            for_postgres(step),
            "CREATE TABLE t (id BIGINT GENERATED BY DEFAULT AS IDENTITY PRIMARY KEY, \
             n BIGINT, x DOUBLE PRECISION, s TEXT COLLATE \"C\");"
        );
    }
}
