//! Logs on their way into the store: malformed ones, long ones, the same ones again.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on must stop")]

use app::{App, AppError, KeptLog};
use batch::log::{Fate, Guess, What, read_senml, read_table};
use store::{DocumentId, Place};

const NOW: i64 = 1_773_480_413_589;

async fn kitchen(folder: &tempfile::TempDir) -> (App, DocumentId) {
    let app = App::open(Place::File(folder.path().join("log.db")))
        .await
        .unwrap();
    let demo = app::Demo::find("lantern-pale").unwrap();
    let batch = app.keep_batch(demo.text, "kept").await.unwrap();
    (app, batch.id)
}

fn fates_of(text: &str) -> Result<Vec<Fate>, String> {
    if text.trim_start().starts_with(['[', '{']) {
        return read_senml(text, NOW).map_err(|e| e.to_string());
    }
    let mut guess = Guess::of(text).map_err(|e| e.to_string())?;
    guess.mapping.start_ms = Some(NOW);
    let rows = read_table(text, &guess.mapping).map_err(|e| e.to_string())?;
    Ok(rows.collect())
}

/// Tables and packs with something wrong in them, and how many readings are sound.
const MALFORMED: [(&str, usize); 60] = [
    ("", 0),
    (" \n \n", 0),
    (",,,\n,,,\n", 0),
    ("time,sg\n", 0),
    ("time,sg\n\n\n", 0),
    ("nothing here", 0),
    ("a,b\n1,2\n", 0),
    ("\u{feff}time,sg\n2026-03-14T09:00:00Z,1.048\n", 1),
    ("time,sg\nnow,1.048\n", 0),
    (
        "time,sg\n2026-03-14T09:00:00Z,1.0.48\n2026-03-14T10:00:00Z,1.047\n",
        1,
    ),
    (
        "time,sg\n2026-03-14T09:00:00Z,1,048\n2026-03-14T10:00:00Z,1.047\n2026-03-14T11:00:00Z,1.046\n",
        2,
    ),
    (
        "time,sg\n2026-03-14T09:00:00Z,\"1.048\n2026-03-14T10:00:00Z,1.047\n",
        1,
    ),
    (
        "time,sg\n2026-03-14T09:00:00Z,NaN\n2026-03-14T10:00:00Z,1.047\n",
        1,
    ),
    (
        "time,sg\n2026-03-14T09:00:00Z,inf\n2026-03-14T10:00:00Z,1.047\n",
        1,
    ),
    (
        "time,sg\n2026-03-14T09:00:00Z,1e999\n2026-03-14T10:00:00Z,1.047\n",
        1,
    ),
    (
        "time,sg\n2026-03-14T09:00:00Z,-1.048\n2026-03-14T10:00:00Z,1.047\n",
        1,
    ),
    (
        "time,sg\n2026-03-14T09:00:00Z,1.9\n2026-03-14T10:00:00Z,1.047\n",
        1,
    ),
    (
        "time,sg\n2026-02-31T09:00:00Z,1.048\n2026-03-14T10:00:00Z,1.047\n",
        1,
    ),
    (
        "time,sg\n2026-03-14T25:00:00Z,1.048\n2026-03-14T10:00:00Z,1.047\n",
        1,
    ),
    (
        "time,sg\n0001-01-01T00:00:00Z,1.048\n2026-03-14T10:00:00Z,1.047\n",
        1,
    ),
    (
        "time,sg\n99999-01-01T00:00:00Z,1.048\n2026-03-14T10:00:00Z,1.047\n",
        1,
    ),
    ("time;sg\n14.03.2026 09:00;1,048\n15.03.2026 09:00;abc\n", 1),
    (
        "time;sg\n14.03.2026 09:00;1,048\n31.02.2026 09:00;1,047\n",
        1,
    ),
    (
        "date,time,sg\n3/14/2026,9:00 AM,1.048\n3/14/2026,13:00 PM,1.047\n",
        1,
    ),
    (
        "date,time,sg\n3/14/2026,,1.048\n3/15/2026,9:00 AM,1.047\n",
        1,
    ),
    ("hours,sg\n0,1.048\nlater,1.047\n", 1),
    ("hours,sg\n0,1.048\n1e300,1.047\n", 1),
    ("hours,temp_c\n0,19\n1,nineteen\n2,500\n", 1),
    (
        "time,sg,temp_c\n2026-03-14T09:00:00Z,1.048\n2026-03-14T10:00:00Z,1.047,19.5\n2026-03-14T11:00:00Z,1.047,19.5\n",
        5,
    ),
    (
        "time,sg,temp_c\n2026-03-14T09:00:00Z,,\n2026-03-14T10:00:00Z,1.047,19.5\n",
        2,
    ),
    ("time|sg\n2026-03-14T09:00:00Z|1.048\n|1.047\n", 1),
    ("time\tsg\n2026-03-14T09:00:00Z\t1.048\nx\ty\tz\n", 1),
    ("1773480413,1.048\n1773480413x,1.047\n", 0),
    (
        "time,ph\n2026-03-14T09:00:00Z,4.4\n2026-03-14T10:00:00Z,44\n",
        1,
    ),
    (
        "time,pressure bar\n2026-03-14T09:00:00Z,0.4\n2026-03-14T10:00:00Z,400\n",
        1,
    ),
    (
        "Logger\nversion 3\ntime,sg\n2026-03-14T09:00:00Z,1.048\n2026-03-14T10:00:00Z,1.047\n2026-03-14T11:00:00Z,1.046\n",
        3,
    ),
    (
        "time,sg\n2026-03-14T09:00:00Z,1.048\0\n2026-03-14T10:00:00Z,1.047\n",
        1,
    ),
    (
        "time,sg\r\n2026-03-14T09:00:00Z,1.048\r\n\r\nend of file\r\n",
        1,
    ),
    (
        "time,sg\n2026-03-14T09:00:00Z,  1.048  \n2026-03-14T10:00:00Z,1 047\n",
        1,
    ),
    (
        "time,sg\n2026-03-14T09:00:00Z,1.048 SG\n2026-03-14T10:00:00Z,1.047\n",
        1,
    ),
    ("{}", 0),
    ("[]", 0),
    ("[1,2", 0),
    ("[null]", 0),
    ("[[]]", 0),
    ("[{}]", 0),
    (r#"[{"n":"a"}]"#, 0),
    (r#"[{"n":"a","u":"Cel"}]"#, 0),
    (r#"[{"n":"a","u":"Cel","v":null}]"#, 0),
    (
        r#"[{"n":"a","u":"Cel","v":"19"},{"n":"a","u":"Cel","v":19}]"#,
        1,
    ),
    (r#"[{"n":"a","u":"Cel","vs":"19"}]"#, 0),
    (r#"[{"n":"a","u":"Cel","vb":true}]"#, 0),
    (r#"[{"u":"Cel","v":19}]"#, 0),
    (r#"[{"n":"","u":"Cel","v":19}]"#, 0),
    (
        r#"[{"n":"a","u":"lux","v":19},{"n":"b","u":"Cel","v":19}]"#,
        1,
    ),
    (r#"[{"n":"a","u":"Cel","v":19,"t":1e30}]"#, 0),
    (r#"[{"n":"a","u":"Cel","v":19,"bver":99}]"#, 0),
    (r#"[{"n":"a","u":"Cel","v":19,"crc_":1}]"#, 0),
    (r#"[{"n":7,"u":"Cel","v":19}]"#, 0),
    (
        r#"[{"bn":"a/","bt":1773480413,"u":"/","n":"sg","v":1.048},{"n":"sg","u":"/","v":48},{"n":"sg","u":"/","t":60,"v":1.047}]"#,
        2,
    ),
];

/// A name that no store can keep is refused with its row, and the others are kept.
#[tokio::test]
async fn an_instrument_that_cannot_be_named_costs_its_own_row_alone() {
    let folder = tempfile::tempdir().unwrap();
    let (app, batch) = kitchen(&folder).await;
    let long = "x".repeat(500);
    let text = format!(
        "time,sensor,sg\n2026-03-14T09:00:00Z,float,1.048\n2026-03-14T10:00:00Z,{long},1.047\n2026-03-14T11:00:00Z,a\0b,1.046\n2026-03-14T12:00:00Z,float,1.045\n"
    );
    let kept = keep(&app, batch, &text).await;
    assert_eq!(
        (kept.rows, kept.added, kept.refusals),
        (4, 2, 2),
        "{kept:?}"
    );
    let pack = r#"[{"n":"a\u0000b","u":"Cel","v":19},{"n":"b","u":"Cel","v":19}]"#;
    let kept = app.keep_senml(batch, pack).await.unwrap();
    assert_eq!((kept.added, kept.refusals), (1, 1), "{kept:?}");
    let pack = r#"[{"n":"a","u":"Cel","v":19,"t":-4e8},{"n":"c","u":"Cel","v":19}]"#;
    let kept = app.keep_senml(batch, pack).await.unwrap();
    assert_eq!((kept.added, kept.refusals), (1, 1), "{kept:?}");
}

/// Nothing is lost in silence and nothing wrong is stored: every row has readings or a
/// reason, the store holds the sound readings and no others.
#[tokio::test]
async fn sixty_malformed_logs_lose_nothing_and_store_nothing_wrong() {
    for (text, sound) in MALFORMED {
        let folder = tempfile::tempdir().unwrap();
        let (app, batch) = kitchen(&folder).await;
        let fates = match fates_of(text) {
            Ok(fates) => fates,
            Err(why) => {
                assert_eq!(sound, 0, "{text:?}: {why}");
                assert!(why.len() > 20, "{text:?}: {why}");
                continue;
            }
        };
        for fate in &fates {
            // A record of a pack that only sets the base says nothing.
            let sets = text.starts_with('[') && !text.contains(r#""v""#);
            assert!(
                sets || !fate.readings.is_empty() || !fate.refused.is_empty(),
                "{text:?}: {fate:?}"
            );
        }
        let kept = app
            .keep_log(batch, fates.into_iter(), "test", |_| {})
            .await
            .unwrap();
        assert_eq!(
            (kept.readings, kept.added),
            (sound, sound),
            "{text:?}: {kept:?}"
        );
        let logged = app.logged(batch).await.unwrap();
        let stored: usize = logged.iter().map(|channel| channel.readings.len()).sum();
        assert_eq!(stored, sound, "{text:?}");
        for channel in logged {
            let (least, most) = channel.what.bounds();
            assert!(
                channel
                    .readings
                    .iter()
                    .all(|r| (least..=most).contains(&r.canonical))
            );
        }
    }
}

fn table(rows: usize) -> String {
    let mut text = "time,sg,temp_c\n".to_owned();
    for n in 0..rows {
        let at = store::Timestamp::from_ms(NOW + 60_000 * i64::try_from(n).unwrap()).unwrap();
        let sg = 1.010 + 0.038 * (-(n as f64) / 3000.0).exp();
        text.push_str(&format!("{at},{sg:.4},19.{}\n", n % 10));
    }
    text
}

async fn keep(app: &App, batch: DocumentId, text: &str) -> KeptLog {
    let guess = Guess::of(text).unwrap();
    let rows = read_table(text, &guess.mapping).unwrap();
    let mut heard = 0;
    let kept = app
        .keep_log(batch, rows, "table.csv", |done| heard = done)
        .await
        .unwrap();
    assert_eq!(heard, kept.rows);
    kept
}

#[tokio::test]
async fn a_log_sent_again_changes_nothing_and_a_contradiction_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let (app, batch) = kitchen(&folder).await;
    let text = table(25_000);
    let first = keep(&app, batch, &text).await;
    assert_eq!(
        (first.rows, first.added, first.refusals),
        (25_000, 50_000, 0)
    );
    let again = keep(&app, batch, &text).await;
    assert_eq!((again.added, again.already), (0, 50_000));
    let other = text.replacen("1.0480", "1.0520", 1);
    let third = keep(&app, batch, &other).await;
    assert_eq!((third.added, third.contradictions), (0, 1));
    assert!(
        third.contradicted[0].contains("gravity of log at"),
        "{third:?}"
    );
    let logged = app.logged(batch).await.unwrap();
    assert_eq!(logged.len(), 2);
    assert_eq!(
        (logged[0].what, logged[0].readings.len()),
        (What::Gravity, 25_000)
    );
    assert!((logged[0].readings[0].value - 1.048).abs() < 1e-9);
}

#[tokio::test]
async fn a_clock_that_goes_back_is_told_and_the_readings_stay() {
    let folder = tempfile::tempdir().unwrap();
    let (app, batch) = kitchen(&folder).await;
    let text = "time,sg\n2026-03-14T09:00:00Z,1.048\n2026-03-14T11:00:00Z,1.047\n2026-03-14T10:00:00Z,1.0475\n";
    let kept = keep(&app, batch, text).await;
    assert_eq!((kept.added, kept.clock_went_back), (3, 1));
}

#[tokio::test]
async fn a_pack_is_kept_and_what_is_none_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let (app, batch) = kitchen(&folder).await;
    let pack = r#"[{"bn":"float/","bt":1773480413,"n":"sg","u":"/","v":1.048},{"n":"temperature","u":"Cel","v":19.5}]"#;
    let kept = app.keep_senml(batch, pack).await.unwrap();
    assert_eq!((kept.rows, kept.added), (2, 2));
    let error = app.keep_senml(batch, "warm").await.unwrap_err();
    assert!(matches!(error, AppError::Log(_)), "{error}");
}

#[tokio::test]
async fn what_came_is_told_row_by_row_and_a_clock_that_is_ahead_is_seen() {
    let folder = tempfile::tempdir().unwrap();
    let (app, batch) = kitchen(&folder).await;
    let ahead = store::Timestamp::from_ms(app.this_moment().ms() + 7_200_000).unwrap();
    let text = format!(
        "time,sg\n2026-03-14T09:00:00Z,1.048\n2026-03-14T09:00:00Z,1.052\nnow,1.04\n2026-03-13T09:00:00Z,1.05\n{ahead},1.02\n"
    );
    let kept = keep(&app, batch, &text).await;
    assert_eq!(
        (
            kept.added,
            kept.contradictions,
            kept.refusals,
            kept.clock_went_back,
            kept.ahead
        ),
        (3, 1, 1, 1, 1)
    );
    let arrivals = app.arrivals(batch, 100).await.unwrap();
    let delivery = &arrivals.deliveries[0];
    assert_eq!(
        (
            delivery.rows,
            delivery.added,
            delivery.contradicted,
            delivery.refused
        ),
        (5, 3, 1, 1)
    );
    let mut told: Vec<(u64, &str, &str)> = arrivals
        .remarks
        .iter()
        .map(|r| (r.line, r.kind.word(), r.raw.as_str()))
        .collect();
    told.sort_unstable();
    assert_eq!(
        told,
        [
            (3, "contradicted", "1.052"),
            (4, "refused", "now,1.04"),
            (5, "clock", "1.05"),
            (6, "clock", "1.02")
        ]
    );
}

#[tokio::test]
async fn a_device_sends_to_its_batch_and_a_wrong_token_keeps_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let (app, batch) = kitchen(&folder).await;
    let made = app.make_device(" float ", batch).await.unwrap();
    assert_eq!(made.device.name, "float");
    let pack = r#"[{"n":"float/sg","u":"/","v":1.048}]"#;
    let sent = app.keep_sent(&made.token, pack).await.unwrap().unwrap();
    assert_eq!((sent.kept.added, sent.device.batch), (1, batch));
    assert_eq!(app.keep_sent("nothing", pack).await.unwrap(), None);
    let error = app.keep_sent(&made.token, "warm").await.unwrap_err();
    assert!(matches!(error, AppError::Log(_)), "{error}");
    assert!(app.devices().await.unwrap()[0].heard_at.is_some());
}

#[tokio::test]
async fn a_reading_is_set_right_by_the_instrument_that_it_names() {
    let folder = tempfile::tempdir().unwrap();
    let (app, batch) = kitchen(&folder).await;
    let values = |pairs: &[(&str, &str)]| -> Vec<(String, String)> {
        pairs
            .iter()
            .map(|(k, v)| ((*k).to_owned(), (*v).to_owned()))
            .collect()
    };
    let thumb = values(&[
        ("name", "thumb"),
        ("kind", "thermometer"),
        ("spread", "0.2 °C"),
    ]);
    let none = app.keep_instrument("back", &thumb).await.unwrap_err();
    assert!(matches!(none, AppError::NotOne { .. }), "{none}");
    app.begin_entry(app::LibraryKind::Brewhouse, "back kitchen")
        .await
        .unwrap();
    app.keep_instrument("back", &thumb).await.unwrap();
    let wrong = app
        .keep_check("thumb", &values(&[("reference", "0 °C"), ("read", "cold")]))
        .await;
    assert!(matches!(wrong, Err(AppError::Faulty { .. })), "{wrong:?}");
    let check = values(&[
        ("reference", "0 ± 0.05 °C"),
        ("read", "0.4 °C"),
        ("day", "2026-03-14"),
    ]);
    app.keep_check("thumb", &check).await.unwrap();
    let records = app.instruments().await.unwrap();
    let told = records[0].told(quantity::Units::Metric);
    assert!(
        told.correction.starts_with("what reads 0.4 °C is"),
        "{told:?}"
    );

    app.keep_entered(
        batch,
        What::Temperature,
        (20.4, "°C"),
        "20.4 °C",
        "thumb",
        None,
    )
    .await
    .unwrap();
    app.keep_entered(
        batch,
        What::Temperature,
        (20.4, "°C"),
        "20.4 °C",
        "other",
        None,
    )
    .await
    .unwrap();
    let logged = app.logged(batch).await.unwrap();
    assert!(
        logged[0].corrected.is_empty(),
        "another instrument is left alone"
    );
    let right = logged[1].corrected[0].as_ref().unwrap();
    assert!((right.value - 20.0).abs() < 1e-9);
    assert!((0.28..0.30).contains(&right.sd), "{right:?}");
    assert_eq!(right.done, ["set right by its checks"]);
    assert!(
        (logged[1].readings[0].value - 20.4).abs() < 1e-12,
        "the raw one stays"
    );
}

/// A log with marks of a refractometer that nobody keeps: what wort or beer they say is
/// set right beside them, and the marks stay. 12.48 °Bx is 12.0 °P by the factor 1.04.
#[tokio::test]
async fn marks_of_a_refractometer_are_kept_and_set_right() {
    let folder = tempfile::tempdir().unwrap();
    let (app, batch) = kitchen(&folder).await;
    let text = "time,brix\n2026-03-14T09:00:00Z,12.3\n2026-03-18T09:00:00Z,6.3\n";
    let kept = keep(&app, batch, text).await;
    assert_eq!(kept.added, 2, "{kept:?}");
    let entered = What::Gravity.entered("6.2 °Bx").unwrap();
    app.keep_entered(batch, What::Gravity, entered, "6.2 °Bx", "log", None)
        .await
        .unwrap();
    let again = keep(&app, batch, text).await;
    assert_eq!((again.added, again.already), (0, 2), "{again:?}");
    let pack = r#"[{"n":"prism/brix","u":"%","v":6.1}]"#;
    assert_eq!(app.keep_senml(batch, pack).await.unwrap().added, 1);

    let logged = app.logged(batch).await.unwrap();
    let all: Vec<_> = logged.iter().flat_map(|c| &c.readings).collect();
    assert!(all.len() == 4 && all.iter().all(|r| r.unit == "°Bx"));
    let own = logged.iter().find(|c| c.instrument == "log").unwrap();
    let right = |n: usize| own.corrected[n].clone().unwrap();
    let factor = 1.04;
    assert_eq!(right(1).done, ["alcohol taken out"]);
    assert!(right(1).value < 6.3 / factor, "{:?}", right(1));
    // They are watched as what a refractometer shows, whatever the instrument is called.
    let watched = app.readings(batch).await.unwrap();
    assert!(watched.iter().all(|r| r.canonical > 6.0));
}

#[tokio::test]
async fn an_instrument_whose_checks_lapsed_is_due_and_reads_less_surely() {
    let folder = tempfile::tempdir().unwrap();
    let (app, batch) = kitchen(&folder).await;
    app.begin_entry(app::LibraryKind::Brewhouse, "back kitchen")
        .await
        .unwrap();
    for (name, until) in [("old", "2020-02-29"), ("new", "2999-12-31")] {
        let values = [
            ("name", name),
            ("kind", "ph-meter"),
            ("spread", "0.05"),
            ("valid_until", until),
        ];
        let values: Vec<(String, String)> = values
            .iter()
            .map(|(k, v)| ((*k).to_owned(), (*v).to_owned()))
            .collect();
        app.keep_instrument("back", &values).await.unwrap();
        app.keep_entered(batch, What::Ph, (4.4, "pH"), "4.4", name, None)
            .await
            .unwrap();
    }
    let records = app.instruments().await.unwrap();
    let due: Vec<bool> = records.iter().map(app::InstrumentRecord::lapsed).collect();
    assert_eq!(due, [true, false]);
    let told = records[0].told(quantity::Units::Metric).due.unwrap();
    assert!(
        told.starts_with("due for a check: the last ones held until 2020-02-29")
            && told.ends_with("± 0.1"),
        "{told}"
    );
    assert_eq!(records[1].told(quantity::Units::Metric).due, None);

    let logged = app.logged(batch).await.unwrap();
    let of = |name: &str| logged.iter().find(|c| c.instrument == name).unwrap();
    let sd = |name: &str| of(name).corrected[0].as_ref().unwrap().sd;
    // √(0.05² + 0.1²), by hand.
    assert!((sd("new") - 0.05).abs() < 1e-12 && (sd("old") - 0.111_803).abs() < 1e-6);
    assert!(of("old").notes[0].contains("held until 2020-02-29: 1 of these readings"));
    assert!(of("new").notes.is_empty());
}

#[tokio::test]
async fn a_name_that_breaks_a_line_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let (app, batch) = kitchen(&folder).await;
    for name in ["float\nleft", "float\tleft", "float\u{1b}[31m"] {
        let refused = app.make_device(name, batch).await.unwrap_err().to_string();
        assert!(refused.contains("a name on one line"), "{refused}");
        let kept = app
            .keep_entered(batch, What::Ph, (4.4, "pH"), "4.4", name, None)
            .await
            .unwrap();
        assert_eq!((kept.added, kept.refusals), (0, 1), "{kept:?}");
        assert!(kept.refused[0].1.contains("write it on one line"));
    }
    assert!(app.make_device("float, left", batch).await.is_ok());
}
