//! The study from end to end, in this process.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use std::fs;
use std::path::Path;

use app::App;
use study::StudyError;
use study::answer::{Answer, Line, Table, answer};
use study::engine::Engine;
use study::folder::Folder;
use study::gather::{NINE_IN_TEN, gather};
use study::row::Row;
use study::same::differences;
use study::synthesise::{self, laws, synthesise};

async fn asked(folder: &Path) -> Answer {
    let engine = Engine::here(folder.to_str().unwrap()).await.unwrap();
    answer(&engine).await.unwrap()
}

fn table<'a>(answer: &'a Answer, key: &str) -> &'a Table {
    answer.tables.iter().find(|t| t.key == key).unwrap()
}

fn line<'a>(table: &'a Table, group: Option<&str>, figure: &str) -> &'a Line {
    let found = table
        .lines
        .iter()
        .find(|l| l.group.as_deref() == group && l.cell.is_none() && l.figure.starts_with(figure));
    found.unwrap_or_else(|| panic!("no {group:?} {figure} in {:#?}", table.lines))
}

/// Five standard errors: one run in a million strays further, and the seed is fixed.
const FAR: f64 = 5.0;

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_was_put_in_comes_out() {
    let folder = tempfile::tempdir().unwrap();
    synthesise(20_000, 3, folder.path()).unwrap();
    let answer = asked(folder.path()).await;

    let slopes = table(&answer, "slopes");
    for law in laws() {
        let found = &line(slopes, Some(&law.class), "attenuation").numbers;
        for (slope, error, truth) in [
            ("by_kelvin", "by_kelvin_error", law.attenuation_by_kelvin),
            (
                "by_ln_pitch",
                "by_ln_pitch_error",
                law.attenuation_by_ln_pitch,
            ),
        ] {
            assert!(
                (found[slope] - truth).abs() < FAR * found[error],
                "{law:?} {found:?}"
            );
        }
        assert!((found["left"] - law.attenuation_sd).abs() < 0.05 * law.attenuation_sd + 0.002);
        let days = &line(slopes, Some(&law.class), "days").numbers;
        assert!((days["by_kelvin"] - law.days_by_kelvin).abs() < FAR * days["by_kelvin_error"]);
        assert!(
            (days["by_ln_pitch"] - synthesise::DAYS_BY_LN_PITCH).abs()
                < FAR * days["by_ln_pitch_error"]
        );
        let mean = line(
            table(&answer, "by_temperature"),
            Some(&law.class),
            "attenuation",
        );
        assert!(
            (mean.numbers["mean"] - law.attenuation).abs() < 0.005,
            "{law:?} {mean:?}"
        );
    }

    let gravity = &line(table(&answer, "forecasts"), None, "original gravity").numbers;
    assert!(
        (gravity["bias"] - synthesise::OG_BIAS).abs() < 0.02,
        "{gravity:?}"
    );
    let rms = synthesise::OG_BIAS.hypot(synthesise::OG_SD);
    assert!((gravity["rms"] - rms).abs() < 0.02, "{gravity:?}");
    // Said too narrow and off to one side: the share inside is that of a shifted normal.
    let below = |z: f64| quantity::numeric::normal_below(z);
    let half = NINE_IN_TEN * synthesise::OG_SD_SAID;
    let inside = below((half - synthesise::OG_BIAS) / synthesise::OG_SD)
        - below((-half - synthesise::OG_BIAS) / synthesise::OG_SD);
    // Figures are rounded to 0.1 °P, which moves the edges.
    assert!(
        (gravity["inside"] - inside).abs() < 0.04,
        "{gravity:?} {inside}"
    );
    let days = &line(table(&answer, "forecasts"), None, "days").numbers;
    assert!((days["inside"] - 0.9).abs() < 0.015, "{days:?}");
    let tenths = table(&answer, "calibration");
    let of_gravity = tenths.lines.iter().filter(|l| {
        l.group
            .as_deref()
            .is_some_and(|g| g.starts_with("original"))
    });
    let shares: f64 = of_gravity.map(|l| l.numbers["share"]).sum();
    assert!((shares - 1.0).abs() < 1e-6, "{tenths:?}");
    for tenth in tenths
        .lines
        .iter()
        .filter(|l| l.group.as_deref() == Some("days to the end"))
    {
        assert!((tenth.numbers["share"] - 0.1).abs() < 0.015, "{tenth:?}");
    }

    let inquiries = &line(table(&answer, "inquiries"), None, "likeliest").numbers;
    let truth = synthesise::TRUTH_OF_CHANCES * inquiries["said"];
    assert!(
        inquiries["low"] - 0.05 < truth && truth < inquiries["high"] + 0.05,
        "{inquiries:?}"
    );

    let waters = line(table(&answer, "waters"), None, "calcium");
    assert_eq!(waters.owners, synthesise::owners_of(20_000));
    let calcium = &waters.numbers;
    assert!(
        (calcium["p50"] / synthesise::CALCIUM - 1.0).abs() < 0.15,
        "{calcium:?}"
    );
    let spread = (calcium["p90"] / calcium["p50"]).ln() / 1.281_552;
    assert!(
        (spread - synthesise::CALCIUM_LN_SD).abs() < 0.12,
        "{calcium:?}"
    );

    // The same rows in other files give the same answer, and so do its files again.
    let again = serde_json::to_value(asked(folder.path()).await).unwrap();
    let told = serde_json::to_value(&answer).unwrap();
    assert_eq!(differences(&told, &again), Vec::<String>::new());
    let sheet = answer.sheet();
    assert!(sheet.contains("How good were the predictions?"), "{sheet}");
    let parquet = folder.path().join("answer.out");
    answer.write_parquet(&parquet).unwrap();
    assert!(fs::metadata(&parquet).unwrap().len() > 1_000);
}

fn some_rows(owners: u64) -> Vec<Row> {
    (0..120)
        .map(|n| Row {
            owner: n % owners,
            batch: n,
            class: Some("neutral ale".to_owned()),
            temperature: Some(18.0 + (n / 12 % 4) as f64),
            pitch_ratio: Some(1.0),
            attenuation_read: Some(0.7 + 0.01 * (n % 7) as f64),
            calcium: Some(40.0 + n as f64),
            ..Row::default()
        })
        .collect()
}

#[tokio::test]
async fn how_rows_lie_in_files_makes_no_difference() {
    let folder = tempfile::tempdir().unwrap();
    let rows = some_rows(12);
    let mut answers = Vec::new();
    for files in [1usize, 5] {
        let at = folder.path().join(files.to_string());
        let out = Folder::make(&at).unwrap();
        for (n, part) in rows.chunks(120 / files).enumerate() {
            out.write_part(n + 1, part).unwrap();
        }
        answers.push(serde_json::to_value(asked(&at).await).unwrap());
    }
    assert_eq!(differences(&answers[0], &answers[1]), Vec::<String>::new());
    assert!(answers[0]["tables"][0]["lines"].as_array().unwrap().len() > 2);
    let refused = Folder::make(&folder.path().join("5"));
    assert!(matches!(refused, Err(StudyError::Taken { .. })));
}

#[tokio::test]
async fn four_owners_are_told_nothing_of() {
    let folder = tempfile::tempdir().unwrap();
    let mut out = Folder::make(folder.path()).unwrap();
    out.add(some_rows(4)).unwrap();
    out.finish().unwrap();
    let answer = asked(folder.path()).await;
    for table in &answer.tables {
        assert!(table.lines.is_empty(), "{table:?}");
    }
}

const PALE: &str = include_str!("../../examples/lantern-pale.toml");
const AMBER: &str = include_str!("../../examples/towpath-amber.toml");

async fn bytes_of(folder: &Path) -> Vec<u8> {
    let mut all = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        all.extend(fs::read(entry.unwrap().path()).unwrap());
    }
    all
}

fn holds(bytes: &[u8], text: &str) -> bool {
    bytes
        .windows(text.len())
        .any(|w| w.eq_ignore_ascii_case(text.as_bytes()))
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn only_what_was_agreed_to_is_gathered_and_no_name_with_it() {
    let folder = tempfile::tempdir().unwrap();
    let place = folder.path().join("house.db").to_str().unwrap().to_owned();
    let app = App::open(place.as_str()).await.unwrap();
    let pale = app.keep_batch(PALE, "kept").await.unwrap();
    let amber = app.keep_batch(AMBER, "kept").await.unwrap();
    let mut at = 0;
    let mut gathered = async || {
        at += 1;
        let to = folder.path().join(format!("rows-{at}"));
        let done = gather(std::slice::from_ref(&place), &to).await.unwrap();
        (done, to)
    };

    let (nothing, _) = gathered().await;
    assert_eq!(
        (nothing.agreed, nothing.owners, nothing.written.rows),
        (0, 0, 0)
    );
    app.agree_to_study(None).await.unwrap();
    let (both, to) = gathered().await;
    assert_eq!(
        (both.agreed, both.unread, both.owners, both.written.rows),
        (2, 0, 1, 2)
    );

    let bytes = bytes_of(&to).await;
    assert!(holds(&bytes, "calcium"), "the file can be searched");
    for batch in [&pale, &amber] {
        assert!(!holds(&bytes, &batch.name) && !holds(&bytes, &batch.id.to_string()));
        let free = batch.written.iter().filter(|(path, _)| {
            path.ends_with(".name") || path.ends_with(".notes") || path.ends_with("brewed")
        });
        let free: Vec<&String> = free
            .map(|(_, text)| text)
            .filter(|text| text.len() > 4)
            .collect();
        assert!(!free.is_empty());
        for text in free {
            assert!(!holds(&bytes, text), "{text:?} leaves");
        }
    }

    app.withdraw_from_study(Some(pale.id)).await.unwrap();
    let (one, _) = gathered().await;
    assert_eq!((one.agreed, one.written.rows), (1, 1));
    app.withdraw_from_study(None).await.unwrap();
    let (nothing, _) = gathered().await;
    assert_eq!(nothing.written.rows, 0);
}

/// Groups of one store are owners of their own, and each speaks for itself.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn each_group_of_a_store_is_an_owner_by_its_own_word() {
    let folder = tempfile::tempdir().unwrap();
    let place = folder.path().join("club.db").to_str().unwrap().to_owned();
    let app = App::open(place.as_str()).await.unwrap();
    let door = app.door().unwrap();
    let keeper = async |name: &str| {
        let (_, invitation) = door.begin(&format!("{name} club")).await.unwrap();
        let password = "ladle copper tide eleven";
        let entered = door.enter(&invitation, name, "", password).await.unwrap();
        app.acting_as(&door.session(&entered).await.unwrap().unwrap())
    };
    let (weir, lock) = (keeper("annabel").await, keeper("eve").await);
    weir.keep_batch(PALE, "kept").await.unwrap();
    weir.keep_batch(AMBER, "kept").await.unwrap();
    lock.keep_batch(PALE, "kept").await.unwrap();
    app.keep_batch(AMBER, "kept").await.unwrap();
    let mut at = 0;
    let mut gathered = async || {
        at += 1;
        let to = folder.path().join(format!("rows-{at}"));
        let done = gather(std::slice::from_ref(&place), &to).await.unwrap();
        (done.owners, done.written.rows)
    };
    weir.agree_to_study(None).await.unwrap();
    lock.agree_to_study(None).await.unwrap();
    assert_eq!(gathered().await, (2, 3));
    // What belongs to no group is whoever's runs the store.
    app.agree_to_study(None).await.unwrap();
    assert_eq!(gathered().await, (3, 4));
    // One withdraws, and the others stay.
    weir.withdraw_from_study(None).await.unwrap();
    assert_eq!(gathered().await, (2, 2));
    app.withdraw_from_study(None).await.unwrap();
    assert_eq!(gathered().await, (1, 1));
}
