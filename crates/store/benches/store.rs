//! What a person waits for, on SQLite, and how it grows with the store.
//!
//! | workload | stands for |
//! |---|---|
//! | `open` | starting the program |
//! | `list_first_page`, `list_filtered` | the start page; typing into its search field |
//! | `read_current` | opening a batch |
//! | `save` | saving it: one flush to the disk |
//! | `save_4_kb` by `synchronous` | what that flush costs against leaving it out |
//! | `add_2000_readings`, `read_2000_readings` | a fermentation imported, and drawn |
//! | `claim_and_end_500_jobs` | what the table adds to work: four workers, a claim and an end each |
//!
//! By default 20 of the batches have 2,000 readings each. With
//! `GYLEWRIGHT_BENCH_ALL_READINGS=1` all of them do: 20 million readings for
//! 10,000 batches, some minutes to fill and some gigabytes of disk.
#![allow(clippy::unwrap_used, reason = "a bench fails by panicking")]

use std::sync::atomic::{AtomicI64, Ordering};
use std::sync::{LazyLock, Mutex, OnceLock};
use std::time::Instant;

use divan::{Bencher, black_box};
use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode, SqliteSynchronous};
use sqlx::{ConnectOptions as _, SqliteConnection};
use store::{
    DocumentId, Draft, Ending, Kind, ListRequest, NewJob, Reading, ReadingRequest, Store, Timestamp,
};
use tempfile::TempDir;
use tokio::runtime::Runtime;

const SIZES: [usize; 2] = [1_000, 10_000];
const READINGS: i64 = 2_000;

static RUNTIME: LazyLock<Runtime> = LazyLock::new(|| Runtime::new().unwrap());
static SMALL: OnceLock<Filled> = OnceLock::new();
static LARGE: OnceLock<Filled> = OnceLock::new();
static CLOCK: AtomicI64 = AtomicI64::new(1_767_225_600_000);

fn main() {
    divan::main();
    // A static is never dropped, and its folder may hold a gigabyte.
    for filled in [&SMALL, &LARGE].into_iter().filter_map(OnceLock::get) {
        drop(filled.folder.lock().unwrap().take());
    }
}

struct Filled {
    store: Store,
    path: String,
    ids: Vec<DocumentId>,
    folder: Mutex<Option<TempDir>>,
}

impl Filled {
    fn of(size: usize) -> &'static Self {
        let filled = if size == SIZES[0] { &SMALL } else { &LARGE };
        filled.get_or_init(|| Self::new(size))
    }

    fn new(size: usize) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("bench.db").to_str().unwrap().to_owned();
        let (store, ids) = RUNTIME.block_on(fill(&path, size));
        Self {
            store,
            path,
            ids,
            folder: Mutex::new(Some(folder)),
        }
    }
}

async fn fill(path: &str, size: usize) -> (Store, Vec<DocumentId>) {
    let begun = Instant::now();
    let store = Store::open(path).await.unwrap();
    let titles: Vec<String> = (0..size)
        .map(|i| format!("Batch {i} of a {} ale", ["pale", "dark", "sour"][i % 3]))
        .collect();
    let text = text_of_a_batch();
    let drafts: Vec<Draft<'_>> = titles
        .iter()
        .map(|title| Draft::new(title, &text))
        .collect();
    let saved = store
        .create_many(Kind::Batch, &drafts, tick())
        .await
        .unwrap();
    let ids: Vec<DocumentId> = saved.into_iter().map(|saved| saved.id).collect();
    let all = std::env::var_os("GYLEWRIGHT_BENCH_ALL_READINGS").is_some();
    let with_readings = if all { size } else { 20 };
    for id in ids.iter().take(with_readings) {
        store.add_readings(*id, &readings_from(0)).await.unwrap();
    }
    let bytes = std::fs::metadata(path).unwrap().len();
    eprintln!(
        "filled {size} batches, {with_readings} with {READINGS} readings: {:.1} s, {} MB",
        begun.elapsed().as_secs_f64(),
        bytes / 1_000_000
    );
    (store, ids)
}

/// About three kilobytes, as a batch document has.
fn text_of_a_batch() -> String {
    (0..60)
        .map(|i| format!("[[malt]]\nname = \"malt {i}\"\nmass = \"{i}.5 kg\"\n\n"))
        .collect()
}

fn readings_from(first_ms: i64) -> Vec<Reading> {
    (0..READINGS)
        .map(|i| Reading {
            instrument: "probe".to_owned(),
            quantity: "temperature".to_owned(),
            taken_at: Timestamp::from_ms(1_767_225_600_000 + first_ms + i * 300_000).unwrap(),
            value: 18.0 + f64::from(u32::try_from(i % 97).unwrap()) / 16.0,
            unit: "°C".to_owned(),
            raw: "18.44".to_owned(),
            source: "senml".to_owned(),
        })
        .collect()
}

fn tick() -> Timestamp {
    Timestamp::from_ms(CLOCK.fetch_add(1, Ordering::Relaxed)).unwrap()
}

#[divan::bench(args = SIZES)]
fn open(bencher: Bencher<'_, '_>, size: usize) {
    let filled = Filled::of(size);
    bencher.bench_local(|| {
        RUNTIME.block_on(async { Store::open(filled.path.as_str()).await.unwrap() })
    });
}

#[divan::bench(args = SIZES)]
fn list_first_page(bencher: Bencher<'_, '_>, size: usize) {
    let filled = Filled::of(size);
    let request = ListRequest::of(Kind::Batch);
    bencher.bench_local(|| {
        RUNTIME
            .block_on(filled.store.list(black_box(&request)))
            .unwrap()
    });
}

#[divan::bench(args = SIZES)]
fn list_filtered(bencher: Bencher<'_, '_>, size: usize) {
    let filled = Filled::of(size);
    let request = ListRequest {
        filter: "77 of a Sour",
        ..ListRequest::of(Kind::Batch)
    };
    bencher.bench_local(|| {
        RUNTIME
            .block_on(filled.store.list(black_box(&request)))
            .unwrap()
    });
}

#[divan::bench(args = SIZES)]
fn read_current(bencher: Bencher<'_, '_>, size: usize) {
    let filled = Filled::of(size);
    let id = filled.ids[size / 2];
    bencher.bench_local(|| {
        RUNTIME
            .block_on(filled.store.current(black_box(id)))
            .unwrap()
    });
}

#[divan::bench(args = SIZES)]
fn save(bencher: Bencher<'_, '_>, size: usize) {
    let filled = Filled::of(size);
    let id = filled.ids[size / 3];
    let text = text_of_a_batch();
    let mut current = RUNTIME.block_on(filled.store.document(id)).unwrap().current;
    bencher.bench_local(|| {
        let draft = Draft::new("Batch", &text);
        current = RUNTIME
            .block_on(filled.store.save(id, current, &draft, tick()))
            .unwrap()
            .revision;
    });
}

#[divan::bench(args = SIZES, sample_count = 20)]
fn add_2000_readings(bencher: Bencher<'_, '_>, size: usize) {
    let filled = Filled::of(size);
    let id = filled.ids[size / 4];
    let mut first_ms = 1_000_000_000;
    bencher.bench_local(|| {
        first_ms += 600_000_000;
        RUNTIME
            .block_on(filled.store.add_readings(id, &readings_from(first_ms)))
            .unwrap()
    });
}

#[divan::bench(args = SIZES)]
fn read_2000_readings(bencher: Bencher<'_, '_>, size: usize) {
    let filled = Filled::of(size);
    let id = filled.ids[7];
    bencher.bench_local(|| {
        RUNTIME
            .block_on(filled.store.readings(id, &ReadingRequest::default()))
            .unwrap()
    });
}

/// Five hundred jobs through four workers; `GYLEWRIGHT_BENCH_STORE` names a PostgreSQL store
/// to take in place of a file.
#[divan::bench(sample_count = 10, sample_size = 1)]
fn claim_and_end_500_jobs(bencher: Bencher<'_, '_>) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("jobs.db").to_str().unwrap().to_owned();
    let place = std::env::var("GYLEWRIGHT_BENCH_STORE").unwrap_or(file);
    let store = RUNTIME.block_on(Store::open(place.as_str())).unwrap();
    bencher
        .with_inputs(|| RUNTIME.block_on(ask_500(&store)))
        .bench_local_values(|()| {
            RUNTIME.block_on(async {
                let workers: Vec<_> = (0..4)
                    .map(|n| tokio::spawn(work(store.clone(), format!("worker {n}"))))
                    .collect();
                let mut did = 0;
                for worker in workers {
                    did += worker.await.unwrap();
                }
                assert_eq!(did, 500);
            });
        });
}

async fn ask_500(store: &Store) {
    for _ in 0..500 {
        let input = format!("question {}", tick());
        let new = NewJob {
            kind: "match",
            version: "1",
            document: None,
            input: &input,
        };
        store.ask_job(&new, tick()).await.unwrap();
    }
}

async fn work(store: Store, name: String) -> usize {
    let mut did = 0;
    let lease = std::time::Duration::from_secs(60);
    while let Some(held) = store.claim_job(&name, "1", lease, tick()).await.unwrap() {
        did += usize::from(
            store
                .end_job(&held, Ending::Done("{}"), tick())
                .await
                .unwrap(),
        );
    }
    did
}

/// The same small transaction with and without a flush at its end.
#[divan::bench(args = ["NORMAL", "FULL"])]
fn save_4_kb(bencher: Bencher<'_, '_>, synchronous: &str) {
    let folder = tempfile::tempdir().unwrap();
    let mode = if synchronous == "FULL" {
        SqliteSynchronous::Full
    } else {
        SqliteSynchronous::Normal
    };
    let options = SqliteConnectOptions::new()
        .filename(folder.path().join("sync.db"))
        .create_if_missing(true)
        .journal_mode(SqliteJournalMode::Wal)
        .synchronous(mode);
    let mut connection: SqliteConnection = RUNTIME.block_on(options.connect()).unwrap();
    let text = "x".repeat(4_000);
    RUNTIME
        .block_on(sqlx::query("CREATE TABLE page (text TEXT)").execute(&mut connection))
        .unwrap();
    bencher.bench_local(|| {
        let insert = sqlx::query("INSERT INTO page VALUES ($1)").bind(&text);
        RUNTIME.block_on(insert.execute(&mut connection)).unwrap()
    });
}
