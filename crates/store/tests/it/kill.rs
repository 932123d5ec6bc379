//! A program that saves is killed at any moment (SIGKILL), again and again.
//! What it acknowledged must be there, whole; what it did not finish must have
//! left nothing behind.
//!
//! The test runs itself a second time as that program.

use std::collections::BTreeMap;
use std::io::{BufRead as _, BufReader, Write as _};
use std::process::{Command, Stdio};
use std::time::Duration;

use store::{DocumentId, Draft, Kind, ReadingRequest, Store, StoreError};

use crate::ground::{Ground, assert_sound, at, number, plant, reading};
use crate::postgres::Postgres;

/// Set in the program that is killed: the store and the seed.
const PLACE: &str = "GYLEWRIGHT_TEST_SAVE_TO";
const SEED: &str = "GYLEWRIGHT_TEST_SEED";
/// How many acknowledged changes are wanted in all.
const ENOUGH: usize = 1_000;
const DOCUMENTS: usize = 4;

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_sqlite_acknowledged_survives() {
    if let Ok(place) = std::env::var(PLACE) {
        return save_until_killed(&place).await;
    }
    let ground = Ground::sqlite();
    let ledger = kill_again_and_again(&ground, "what_sqlite_acknowledged_survives").await;
    let store = ground.open().await;
    ledger.assert_kept_by(&store).await;
    assert_sound(&store).await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_postgresql_acknowledged_survives() {
    if let Ok(place) = std::env::var(PLACE) {
        return save_until_killed(&place).await;
    }
    let mut ground = Ground::postgresql().await;
    let ledger = kill_again_and_again(&ground, "what_postgresql_acknowledged_survives").await;
    // The server itself goes down without warning, where it is ours.
    if let Some(Postgres::Own(server)) = &mut ground.postgres {
        server.crash_and_restart().await;
    }
    let store = ground.open().await;
    ledger.assert_kept_by(&store).await;
    assert_sound(&store).await;
    store.close().await;
    ground.leave().await;
}

/// Everything that was acknowledged.
#[derive(Default)]
struct Ledger {
    /// SHA-256 by document and revision.
    revisions: BTreeMap<(String, u32), String>,
    /// SHA-256 by side version.
    sides: BTreeMap<String, String>,
    /// How many readings, by document and time of the first.
    readings: BTreeMap<(String, i64), usize>,
}

impl Ledger {
    fn len(&self) -> usize {
        self.revisions.len() + self.sides.len() + self.readings.len()
    }

    fn enter(&mut self, line: &str) {
        let words: Vec<&str> = line.split(' ').collect();
        match words.as_slice() {
            ["saved", id, number, sha256] => {
                let before = self.revisions.insert(
                    ((*id).to_owned(), number.parse().unwrap()),
                    (*sha256).to_owned(),
                );
                assert_eq!(before, None, "a revision was given twice");
            }
            ["refused", side, sha256] => {
                self.sides.insert((*side).to_owned(), (*sha256).to_owned());
            }
            ["read", id, first, count] => {
                self.readings.insert(
                    ((*id).to_owned(), first.parse().unwrap()),
                    count.parse().unwrap(),
                );
            }
            // The harness prints lines of its own.
            _ => {}
        }
    }

    async fn assert_kept_by(&self, store: &Store) {
        assert!(self.len() >= ENOUGH);
        for ((id, n), sha256) in &self.revisions {
            let revision = store
                .revision(id.parse().unwrap(), number(*n))
                .await
                .unwrap();
            assert_eq!(&revision.info.sha256, sha256, "{id} revision {n}");
        }
        for (side, sha256) in &self.sides {
            assert_eq!(
                &store
                    .side_version(side.parse().unwrap())
                    .await
                    .unwrap()
                    .info
                    .sha256,
                sha256
            );
        }
        for ((id, first), count) in &self.readings {
            let request = ReadingRequest {
                during: Some(at(*first)..at(first + 1_000)),
                ..ReadingRequest::default()
            };
            assert_eq!(
                store
                    .readings(id.parse().unwrap(), &request)
                    .await
                    .unwrap()
                    .len(),
                *count
            );
        }
    }
}

async fn kill_again_and_again(ground: &Ground, test: &str) -> Ledger {
    let store = ground.open().await;
    for i in 0..DOCUMENTS {
        plant(&store, Kind::Batch, &format!("Batch {i}")).await;
    }
    store.close().await;
    let mut ledger = Ledger::default();
    let mut dice = Dice(0x9E37_79B9_7F4A_7C15);
    let mut kills = 0;
    while ledger.len() < ENOUGH {
        run_and_kill(&ground.place, test, &mut dice, &mut ledger);
        kills += 1;
        // Half a revision would fail here: each text is compared with its SHA-256.
        if kills % 10 == 0 {
            let store = ground.open().await;
            assert_sound(&store).await;
            store.close().await;
        }
    }
    assert!(kills >= 15, "only {kills} kills");
    ledger
}

/// One life of the saving program, ended after a random number of
/// acknowledgements and a random while after the last of them.
fn run_and_kill(place: &str, test: &str, dice: &mut Dice, ledger: &mut Ledger) {
    let module = module_path!().split_once("::").unwrap().1;
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", &format!("{module}::{test}"), "--nocapture"])
        .env(PLACE, place)
        .env(SEED, dice.roll(u64::MAX).to_string())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let mut lines = BufReader::new(child.stdout.take().unwrap());
    let mut left = dice.roll(60);
    let mut line = String::new();
    loop {
        line.clear();
        // A line without its end was cut off by the kill: not acknowledged.
        if lines.read_line(&mut line).unwrap() == 0 || !line.ends_with('\n') {
            break;
        }
        let before = ledger.len();
        ledger.enter(line.trim_end());
        if ledger.len() > before {
            if left == 0 {
                std::thread::sleep(Duration::from_micros(dice.roll(8_000)));
                child.kill().unwrap();
            }
            left = left.saturating_sub(1);
        }
    }
    let ended = child.wait().unwrap();
    assert!(
        !ended.success(),
        "the saving program ended by itself: {ended}"
    );
}

/// Saves for ever, and says so after each commit.
async fn save_until_killed(place: &str) {
    let store = Store::open(place).await.unwrap();
    let seed = std::env::var(SEED).unwrap().parse().unwrap();
    let mut dice = Dice(seed);
    let listed = store
        .list(&store::ListRequest::of(Kind::Batch))
        .await
        .unwrap();
    let ids: Vec<DocumentId> = listed
        .documents
        .iter()
        .map(|document| document.id)
        .collect();
    for turn in 1_i64.. {
        let id = ids[usize::try_from(dice.roll(ids.len() as u64)).unwrap()];
        match dice.roll(10) {
            0 => add_readings(&store, id, &mut dice).await,
            1 => save(&store, id, true, &mut dice, turn).await,
            _ => save(&store, id, false, &mut dice, turn).await,
        }
    }
}

async fn save(store: &Store, id: DocumentId, stale: bool, dice: &mut Dice, turn: i64) {
    let current = store.document(id).await.unwrap().current;
    let expected = if stale && current > number(1) {
        number(current.get() - 1)
    } else {
        current
    };
    let text = dice.text();
    match store
        .save(id, expected, &Draft::new("Batch", &text), at(turn))
        .await
    {
        Ok(saved) => acknowledge(&format!(
            "saved {} {} {}",
            saved.id, saved.revision, saved.sha256
        )),
        Err(StoreError::Stale { yours_kept_as, .. }) => {
            let kept = store.side_version(yours_kept_as).await.unwrap();
            acknowledge(&format!("refused {yours_kept_as} {}", kept.info.sha256));
        }
        Err(other) => panic!("{other}"),
    }
}

async fn add_readings(store: &Store, id: DocumentId, dice: &mut Dice) {
    // A slot of a thousand milliseconds of its own, with great likelihood.
    let first = i64::try_from(dice.roll(1 << 31)).unwrap() * 1_000;
    let count = i64::try_from(dice.roll(300)).unwrap() + 1;
    let readings: Vec<_> = (0..count)
        .map(|ms| reading("probe", "temperature", first + ms, 20.0))
        .collect();
    let added = store.add_readings(id, &readings).await.unwrap();
    if added.added == readings.len() {
        acknowledge(&format!("read {id} {first} {count}"));
    }
}

fn acknowledge(line: &str) {
    let mut out = std::io::stdout().lock();
    out.write_all(format!("{line}\n").as_bytes()).unwrap();
    out.flush().unwrap();
}

/// Xorshift by Marsaglia (2003): the same throws for the same seed.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % sides
    }

    /// Mostly a page, now and then a hundred kilobytes, so that a commit spans
    /// many pages of the file.
    fn text(&mut self) -> String {
        let lines = if self.roll(12) == 0 {
            self.roll(3_000)
        } else {
            self.roll(60)
        };
        (0..lines)
            .map(|_| format!("value = \"{:016x} mg/L\"\n", self.roll(u64::MAX)))
            .collect()
    }
}
