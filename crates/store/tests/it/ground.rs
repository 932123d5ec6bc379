//! Where a test takes place: an empty store on either engine.

use std::path::PathBuf;

use store::{Day, DocumentId, Draft, Kind, Reading, RevisionNumber, Store, Timestamp};
use tempfile::TempDir;

use crate::postgres::Postgres;

/// Runs one body as two tests, on SQLite and on PostgreSQL.
macro_rules! on_both {
    ($name:ident, $body:path) => {
        mod $name {
            #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
            async fn sqlite() {
                let ground = crate::ground::Ground::sqlite();
                $body(&ground).await;
                ground.leave().await;
            }

            #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
            async fn postgresql() {
                let ground = crate::ground::Ground::postgresql().await;
                $body(&ground).await;
                ground.leave().await;
            }
        }
    };
}
pub(crate) use on_both;

pub(crate) struct Ground {
    /// What `Store::open` takes.
    pub(crate) place: String,
    pub(crate) postgres: Option<Postgres>,
    folder: TempDir,
}

impl Ground {
    pub(crate) fn sqlite() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let place = folder
            .path()
            .join("gylewright.db")
            .to_str()
            .unwrap()
            .to_owned();
        Self {
            place,
            postgres: None,
            folder,
        }
    }

    pub(crate) async fn postgresql() -> Self {
        let postgres = Postgres::start().await;
        let place = postgres.fresh_database().await;
        Self {
            place,
            postgres: Some(postgres),
            folder: tempfile::tempdir().unwrap(),
        }
    }

    pub(crate) async fn open(&self) -> Store {
        Store::open(self.place.as_str()).await.unwrap()
    }

    /// A name in a folder of this test.
    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub(crate) async fn leave(self) {
        if let Some(postgres) = &self.postgres {
            postgres.drop_database(&self.place).await;
        }
    }
}

pub(crate) fn unique() -> String {
    DocumentId::new(at(0)).short()
}

/// An instant some milliseconds after the start of 2026.
pub(crate) fn at(ms: i64) -> Timestamp {
    Timestamp::from_ms(1_767_225_600_000 + ms).unwrap()
}

pub(crate) fn number(n: u32) -> RevisionNumber {
    RevisionNumber::new(n).unwrap()
}

pub(crate) fn day(text: &str) -> Day {
    text.parse().unwrap()
}

pub(crate) fn reading(instrument: &str, quantity: &str, ms: i64, value: f64) -> Reading {
    Reading {
        instrument: instrument.to_owned(),
        quantity: quantity.to_owned(),
        taken_at: at(ms),
        value,
        unit: "°C".to_owned(),
        raw: format!("{value} °C"),
        source: "senml".to_owned(),
    }
}

/// A new document with one revision.
pub(crate) async fn plant(store: &Store, kind: Kind, title: &str) -> DocumentId {
    let text = format!("title = {title:?}\n");
    store
        .create(kind, &Draft::new(title, &text), at(0))
        .await
        .unwrap()
        .id
}

pub(crate) async fn assert_sound(store: &Store) {
    let report = store.check().await.unwrap();
    assert!(report.is_sound(), "{:?}", report.problems);
}
