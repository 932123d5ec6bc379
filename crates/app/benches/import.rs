//! A long log on its way into the store: one million readings from a file, streamed.
//!
//! | workload | stands for |
//! |---|---|
//! | `a_million_readings` | the log of a cellar over years, kept at once (goal: under 10 s, memory flat) |
//! | `of_a_wrong_clock` | the same from a sensor whose clock is ahead: each row is remarked on |
//!
//! Before it, the pieces on their own: the file split and read (`read`), and the same
//! readings put into the store from memory (`store`, a tenth of them, scaled). The two go
//! side by side when a log is kept.
//!
//! The peer is Python's own `csv` and `sqlite3` (`executemany`), which splits the same
//! file and keeps the same rows in a table of the same shape, and checks nothing.
//! Each program tells its own peak of memory.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use std::fs::File;
use std::hint::black_box;
use std::io::{BufWriter, Read, Write};
use std::path::Path;
use std::process::Command;
use std::time::Instant;

use app::{App, Demo};
use batch::log::{Fate, Guess, Mapping, head, read_table_from};

/// Two readings a row.
const ROWS: i64 = 500_000;
/// So long ago that the last reading is behind any clock.
const START_MS: i64 = 1_673_480_413_000;
/// Ahead of any clock for long.
const AHEAD_MS: i64 = 4_000_000_000_000;

const PEER: &str = r#"
import csv, datetime, resource, sqlite3, sys, time
began = time.perf_counter()
db = sqlite3.connect(sys.argv[2])
db.execute("PRAGMA journal_mode=WAL"); db.execute("PRAGMA synchronous=FULL")
db.execute("CREATE TABLE reading (channel_id INTEGER, taken_at_ms INTEGER, value REAL, unit TEXT, raw TEXT, source TEXT, PRIMARY KEY (channel_id, taken_at_ms)) WITHOUT ROWID")
def rows():
    with open(sys.argv[1], newline="") as log:
        table = csv.reader(log); next(table)
        for at, sg, warm in table:
            ms = round(datetime.datetime.fromisoformat(at).timestamp() * 1000)
            yield (1, ms, float(sg), "SG", sg, "log.csv")
            yield (2, ms, float(warm), "C", warm, "log.csv")
db.executemany("INSERT INTO reading VALUES (?,?,?,?,?,?) ON CONFLICT DO NOTHING", rows())
db.commit()
used = resource.getrusage(resource.RUSAGE_SELF)
print(time.perf_counter() - began, used.ru_utime + used.ru_stime, used.ru_maxrss)
"#;

fn main() {
    let folder = tempfile::tempdir().expect("a folder");
    let log = folder.path().join("log.csv");
    write(&log, START_MS);
    let before = peak_mb();
    println!("read: {:.2} s", read(&log));
    let (ours, worked) = told("a_million_readings", folder.path(), &log, before);
    let wrong = folder.path().join("wrong.csv");
    write(&wrong, AHEAD_MS);
    told("of_a_wrong_clock", folder.path(), &wrong, before);
    println!("store: {:.2} s", stored(folder.path(), &log));
    match peer(folder.path(), &log) {
        Some([theirs, busy, mb]) => println!(
            "python csv + sqlite3: {theirs:.2} s ({busy:.2} s of processors), peak memory {mb:.0} MB; ours takes {:.2} of its time, {:.2} of its processors",
            ours / theirs,
            worked / busy
        ),
        None => println!("python3 is missing: no peer"),
    }
}

/// Keeps a log in a store of its own and says how it went: by the clock, and of processors.
fn told(workload: &str, folder: &Path, log: &Path, before: f64) -> (f64, f64) {
    let worked = processor_s();
    let (ours, added) = keep(&folder.join(format!("{workload}.db")), log);
    let worked = processor_s() - worked;
    println!(
        "{workload}: {ours:.2} s ({worked:.2} s of processors), {added} kept, {:.0} readings/s, peak memory {:.0} MB ({before:.0} MB before)",
        added as f64 / ours,
        peak_mb()
    );
    (ours, worked)
}

fn write(to: &Path, from_ms: i64) {
    let mut out = BufWriter::new(File::create(to).expect("a file"));
    writeln!(out, "time,sg,temp_c").expect("a line");
    for n in 0..ROWS {
        let at = store::Timestamp::from_ms(from_ms + 60_000 * n).expect("a time");
        let sg = 1.010 + 0.038 * (-(n as f64) / 20_000.0).exp();
        let warm = 19.0 + (n % 97) as f64 * 0.01;
        writeln!(out, "{at},{sg:.4},{warm:.2}").expect("a line");
    }
}

fn mapping(log: &Path) -> Mapping {
    let mut first = vec![0; 4096];
    let mut from = File::open(log).expect("the log");
    from.read_exact(&mut first).expect("a beginning");
    Guess::of(&head(&first, false)).expect("a table").mapping
}

/// Every row read and let go.
fn read(log: &Path) -> f64 {
    let began = Instant::now();
    let mapping = mapping(log);
    let from = File::open(log).expect("the log");
    let rows = read_table_from(from, &mapping).expect("a table");
    let readings: usize = rows.map(|fate| black_box(fate).readings.len()).sum();
    assert_eq!(readings as i64, 2 * ROWS);
    began.elapsed().as_secs_f64()
}

/// A tenth of the readings from memory into the store, by ten.
fn stored(folder: &Path, log: &Path) -> f64 {
    let mapping = mapping(log);
    let from = File::open(log).expect("the log");
    let rows = read_table_from(from, &mapping).expect("a table");
    let some: Vec<Fate> = rows.take(ROWS as usize / 10).collect();
    let runtime = tokio::runtime::Runtime::new().expect("a runtime");
    runtime.block_on(async {
        let app = App::open(folder.join("other.db")).await.expect("a store");
        let demo = Demo::find("lantern-pale").expect("a demo");
        let batch = app.keep_demo(demo).await.expect("a batch");
        let began = Instant::now();
        let kept = app.keep_log(batch.id, some.into_iter(), "log.csv", |_| {});
        assert_eq!(kept.await.expect("kept").added as i64, ROWS / 5);
        10.0 * began.elapsed().as_secs_f64()
    })
}

fn keep(place: &Path, log: &Path) -> (f64, usize) {
    let runtime = tokio::runtime::Runtime::new().expect("a runtime");
    runtime.block_on(async {
        let app = App::open(place).await.expect("a store");
        let demo = Demo::find("lantern-pale").expect("a demo");
        let batch = app.keep_demo(demo).await.expect("a batch");
        let began = Instant::now();
        let mapping = mapping(log);
        let from = File::open(log).expect("the log");
        let rows = read_table_from(from, &mapping).expect("a table");
        let kept = app
            .keep_log(batch.id, rows, "log.csv", |_| {})
            .await
            .expect("kept");
        (began.elapsed().as_secs_f64(), kept.added)
    })
}

fn peer(folder: &Path, log: &Path) -> Option<[f64; 3]> {
    let out = Command::new("python3")
        .args(["-c", PEER])
        .arg(log)
        .arg(folder.join("peer.db"))
        .output()
        .ok()?;
    let told = String::from_utf8(out.stdout).ok()?;
    let mut numbers = told
        .split_whitespace()
        .filter_map(|n| n.parse::<f64>().ok());
    Some([numbers.next()?, numbers.next()?, numbers.next()? / 1024.0])
}

/// What the processors have worked for this process so far: on a busy machine it says
/// more than the clock. In the ticks of Linux, a hundredth of a second.
fn processor_s() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let fields = stat.rsplit(')').next().unwrap_or_default();
    let ticks = fields.split_whitespace().skip(11).take(2);
    ticks.filter_map(|n| n.parse::<f64>().ok()).sum::<f64>() / 100.0
}

/// The most memory that this process has held so far.
fn peak_mb() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with("VmHWM"));
    let kb = line.and_then(|line| line.split_whitespace().nth(1)?.parse::<f64>().ok());
    kb.unwrap_or(f64::NAN) / 1024.0
}
