//! A store as a folder of plain files, there and back.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use proptest::prelude::*;
use sqlx::{Connection as _, PgConnection, SqliteConnection};
use store::{Block, Draft, Kind, Reading, RemarkKind, Store, StoreError};

use crate::ground::{Ground, assert_sound, at, day, number, on_both, plant, reading};

/// Every file of a folder, by its name from there.
pub(crate) fn contents(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut files = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap().to_owned();
        if path.is_dir() {
            files.insert(format!("{name}/"), Vec::new());
            files.extend(
                contents(&path)
                    .into_iter()
                    .map(|(rest, bytes)| (format!("{name}/{rest}"), bytes)),
            );
        } else {
            files.insert(name, fs::read(&path).unwrap());
        }
    }
    files
}

/// A store with whatever makes trouble in files.
async fn fill(store: &Store) {
    let batch = plant(store, Kind::Batch, "Dry stout, \"third\" try").await;
    let draft = Draft {
        author: Some("Ann\n\u{7f}\"'''"),
        note: Some(""),
        ..Draft::new("Märzen\r\n= [x]", "a = 1\r\nb = \"\"\"\r\n\u{feff}\u{1}é")
    };
    store.save(batch, number(1), &draft, at(5)).await.unwrap();
    store
        .save(batch, number(1), &Draft::new("", "refused"), at(6))
        .await
        .unwrap_err();
    let side = store.side_versions(batch).await.unwrap()[0].id;
    store
        .bring_back_side(side, number(2), Some("Bob"), at(7))
        .await
        .unwrap();
    let odd = Reading {
        unit: String::new(),
        raw: "1,5;\"x\"\r\n".to_owned(),
        ..reading(" a,b\n", "ph", 9, 0.1 + 0.2)
    };
    let mut readings = vec![
        odd,
        reading("Probe", "ph", 3, -0.0),
        reading("probe", "ph", 1, f64::MIN_POSITIVE),
    ];
    readings.extend((0..50).map(|ms| reading("probe", "temperature", ms * 7, 1e15 + 0.3)));
    readings.extend([
        reading("é", "ph", 1, f64::MAX),
        reading("z", "ph", 1, -5e-324),
    ]);
    store.add_readings(batch, &readings).await.unwrap();
    let water = plant(store, Kind::Water, "Well").await;
    store
        .add_analysis(water, day("2026-04-01"), "", at(1))
        .await
        .unwrap();
    store
        .add_analysis(water, day("2026-04-01"), "ca = \"8,0\"\r\n\"x\n", at(2))
        .await
        .unwrap();
    store.archive(water, at(8)).await.unwrap();
    plant(store, Kind::Inquiry, "").await;
    let made = store
        .make_device("float, \"third\"", batch, at(3))
        .await
        .unwrap();
    store.device_heard(made.device.id, at(4)).await.unwrap();
    let gone = store.make_device("probe", batch, at(3)).await.unwrap();
    store.revoke_device(gone.device.id, at(9)).await.unwrap();
    for _ in 0..2 {
        let delivery = store.begin_delivery(batch, "table", at(5)).await.unwrap();
        let block = Block {
            rows: 1,
            remarks: vec![(
                7,
                RemarkKind::Refused,
                "no number".to_owned(),
                "a;\"b\"\r\n".to_owned(),
            )],
            ..Block::default()
        };
        store.add_block(batch, delivery, &block).await.unwrap();
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_folder_goes_from_sqlite_to_postgresql_and_back_unchanged() {
    let (lite, pg, third) = (
        Ground::sqlite(),
        Ground::postgresql().await,
        Ground::sqlite(),
    );
    let (a, b, c) = (lite.open().await, pg.open().await, third.open().await);
    fill(&a).await;
    let [one, two, three] = ["one", "two", "three"].map(|name| lite.path(name));
    let exported = a.export(&one).await.unwrap();
    assert_eq!(
        (
            exported.documents,
            exported.revisions,
            exported.side_versions,
            exported.analyses,
            exported.readings
        ),
        (3, 5, 1, 2, 55)
    );
    let imported = b.import(&one).await.unwrap();
    assert_eq!(
        (imported.documents, imported.already, imported.readings),
        (3, 0, 55)
    );
    b.export(&two).await.unwrap();
    c.import(&two).await.unwrap();
    c.export(&three).await.unwrap();
    assert_eq!(contents(&one), contents(&two));
    assert_eq!(contents(&one), contents(&three));
    for store in [&a, &b, &c] {
        assert_sound(store).await;
    }
    // Once more changes nothing.
    let again = b.import(&one).await.unwrap();
    assert_eq!(
        (
            again.documents,
            again.already,
            again.readings,
            again.side_versions,
            again.analyses
        ),
        (0, 3, 0, 0, 0)
    );
    b.close().await;
    pg.leave().await;
}

on_both!(
    every_row_of_every_table_comes_back,
    super::every_row_of_every_table_comes_back_on
);

/// The tables are asked of the engine, so that a table that is added later fails here
/// until `fill` has rows of it and the folder carries them.
async fn every_row_of_every_table_comes_back_on(ground: &Ground) {
    let lite = Ground::sqlite();
    let source = lite.open().await;
    fill(&source).await;
    let folder = lite.path("everything");
    source.export(&folder).await.unwrap();
    let target = ground.open().await;
    target.import(&folder).await.unwrap();
    let back = ground.path("back");
    target.export(&back).await.unwrap();
    let other = Ground::sqlite();
    let last = other.open().await;
    last.import(&back).await.unwrap();
    for store in [&source, &target, &last] {
        store.close().await;
    }
    let rows = rows(&lite.place).await;
    assert!(rows.len() >= 6, "{:?}", rows.keys());
    for (table, rows) in &rows {
        assert!(!rows.is_empty(), "fill() puts nothing into {table}");
    }
    assert_eq!(rows, self::rows(&other.place).await);
    let tables: Vec<String> = match &ground.postgres {
        None => self::rows(&ground.place).await.into_keys().collect(),
        Some(_) => tables_of_postgresql(&ground.place).await,
    };
    assert_eq!(rows.into_keys().collect::<Vec<_>>(), tables);
}

/// Tables that stay where they are: what remembers which steps were taken holds nothing of
/// a brewer's, what a job found can be reckoned again, what was agreed to holds for the store
/// where it was said, and people, their secrets and what they did do not leave with
/// documents.
const STAYS: [&str; 12] = [
    "schema_step",
    "consent",
    "job",
    "account",
    "grp",
    "member",
    "session",
    "access_token",
    "invitation",
    "share",
    "audit",
    "sign_in_try",
];
/// Every row of every table of a file, with the numbers that the engine gave left out.
async fn rows(place: &str) -> BTreeMap<String, Vec<String>> {
    let mut file = SqliteConnection::connect(place).await.unwrap();
    let tables: Vec<String> = sqlx::query_scalar(
        "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY name",
    )
    .fetch_all(&mut file)
    .await
    .unwrap();
    let mut all = BTreeMap::new();
    let goes = |table: &String| !STAYS.contains(&table.as_str());
    for table in tables.into_iter().filter(goes) {
        let columns: Vec<String> =
            sqlx::query_scalar("SELECT name FROM pragma_table_info(?) WHERE NOT (name IN ('channel_id', 'delivery_id') OR type = 'INTEGER' AND name = 'id')")
                .bind(&table)
                .fetch_all(&mut file)
                .await
                .unwrap();
        let columns: Vec<String> = columns.iter().map(|c| format!("quote({c})")).collect();
        let query = format!(
            "SELECT {} FROM {table} ORDER BY 1",
            columns.join(" || ',' || ")
        );
        let rows = sqlx::query_scalar(sqlx::AssertSqlSafe(query))
            .fetch_all(&mut file)
            .await
            .unwrap();
        all.insert(table, rows);
    }
    all
}

async fn tables_of_postgresql(place: &str) -> Vec<String> {
    let mut server = PgConnection::connect(place).await.unwrap();
    let mut tables: Vec<String> = sqlx::query_scalar(
        "SELECT table_name::text FROM information_schema.tables WHERE table_schema = 'public'",
    )
    .fetch_all(&mut server)
    .await
    .unwrap();
    tables.retain(|table| !STAYS.contains(&table.as_str()));
    tables.sort();
    tables
}

#[tokio::test]
async fn the_newest_texts_lie_where_a_person_looks() {
    let ground = Ground::sqlite();
    let store = ground.open().await;
    let id = plant(&store, Kind::Batch, "Dry Stout").await;
    store
        .save(
            id,
            number(1),
            &Draft::new("Dry Stout", "og = \"1.042\"\n"),
            at(1),
        )
        .await
        .unwrap();
    let folder = ground.path("out");
    // An empty folder may be given; one with something in it is left alone.
    fs::create_dir(&folder).unwrap();
    store.export(&folder).await.unwrap();
    let text =
        fs::read_to_string(folder.join(format!("batch/dry-stout-{}.toml", id.short()))).unwrap();
    assert_eq!(text, "og = \"1.042\"\n");
    assert!(matches!(
        store.export(&folder).await,
        Err(StoreError::Exists { .. })
    ));
    let left: Vec<_> = fs::read_dir(folder.parent().unwrap())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.contains("unfinished"))
        .collect();
    assert!(left.is_empty(), "{left:?}");
}

/// What is done to a file; nothing stands for taking it away.
type Edit = Box<dyn Fn(String) -> Option<String>>;

#[tokio::test]
async fn a_folder_that_was_tampered_with_is_refused_whole() {
    let ground = Ground::sqlite();
    let store = ground.open().await;
    fill(&store).await;
    let sound = ground.path("sound");
    store.export(&sound).await.unwrap();
    let files = contents(&sound);
    let named = |part: &str, end: &str| {
        files
            .keys()
            .find(|name| name.starts_with(part) && name.ends_with(end))
            .unwrap()
            .clone()
    };
    let history = named("history/batch/", "history.toml");
    let edits: Vec<(String, Edit, &str)> = vec![
        ("manifest.toml".into(), Box::new(|_| None), "manifest.toml"),
        (
            "manifest.toml".into(),
            Box::new(|s| Some(s.replace("format = 1", "format = 2"))),
            "format 2 is not known",
        ),
        (
            "manifest.toml".into(),
            Box::new(|s| Some(s.replace("readings = 55", "readings = 56"))),
            "it speaks of",
        ),
        (named("batch/", ".toml"), Box::new(|_| None), "batch/"),
        (
            named("batch/", ".toml"),
            Box::new(|s| Some(s + "x")),
            "differs from the newest revision",
        ),
        (
            "batch/mine.toml".into(),
            Box::new(|_| Some(String::new())),
            "belongs to no document",
        ),
        (
            "readings/mine.csv".into(),
            Box::new(|_| Some(String::new())),
            "belongs to no document",
        ),
        (
            named("history/batch/", "0001.toml"),
            Box::new(|s| Some(s + "x")),
            "changed after the export",
        ),
        (
            named("history/batch/", "0002.toml"),
            Box::new(|_| None),
            "0002.toml",
        ),
        (
            history.clone(),
            Box::new(|s| Some(s.replacen("number = 2", "number = 3", 1))),
            "stands where 2 is due",
        ),
        (
            history.clone(),
            Box::new(|s| Some(format!("colour = 1\n{s}"))),
            "unknown field",
        ),
        (
            history.clone(),
            Box::new(|s| Some(s.replace("kind = \"batch\"", "kind = \"water\""))),
            "it says kind",
        ),
        (
            history.clone(),
            Box::new(|s| Some(s.replacen("id = \"", "id = \"x", 1))),
            "document id",
        ),
        (
            history.clone(),
            Box::new(|s| Some(s.replace("taken_up_as = 3", "taken_up_as = 4"))),
            "names a revision",
        ),
        (named_side(&files), Box::new(|_| None), ""),
        (
            named("readings/", ".csv"),
            Box::new(|s| Some(s.replacen(",ph,", ",ph,later,", 1))),
            "readings/",
        ),
        (
            named("readings/", ".csv"),
            Box::new(|s| Some(s.replacen("0.30000000000000004", "NaN", 1))),
            "finite number",
        ),
        (
            named("analyses/", ".csv"),
            Box::new(|s| Some(s.replacen("2026-04-01", "2026-04-31", 1))),
            "date",
        ),
        (
            named("analyses/", ".csv"),
            Box::new(|s| Some(s.replacen("8,0", "9,0", 1))),
            "changed after the export",
        ),
    ];
    for (i, (file, edit, wanted)) in edits.into_iter().enumerate() {
        let folder = ground.path(&format!("bad-{i}"));
        put(&folder, &files);
        let before = fs::read_to_string(folder.join(&file)).unwrap_or_default();
        match edit(before.clone()) {
            None => fs::remove_file(folder.join(&file)).unwrap(),
            Some(after) => {
                assert!(
                    after != before || after.is_empty(),
                    "edit {i} of {file} changes nothing"
                );
                fs::write(folder.join(&file), after).unwrap();
            }
        }
        let fresh = Store::open(ground.path(&format!("fresh-{i}.db")).as_path())
            .await
            .unwrap();
        let refused = fresh.import(&folder).await.unwrap_err();
        assert!(
            matches!(refused, StoreError::Import { .. }),
            "{file}: {refused}"
        );
        assert!(refused.to_string().contains(wanted), "{file}: {refused}");
        assert_eq!(fresh.check().await.unwrap().documents, 0, "{file}");
    }
}

fn named_side(files: &BTreeMap<String, Vec<u8>>) -> String {
    files
        .keys()
        .find(|name| name.contains("/side-"))
        .unwrap()
        .clone()
}

fn put(folder: &Path, files: &BTreeMap<String, Vec<u8>>) {
    for (name, bytes) in files {
        let path = folder.join(name);
        if name.ends_with('/') {
            fs::create_dir_all(path).unwrap();
        } else {
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, bytes).unwrap();
        }
    }
}

#[tokio::test]
async fn an_import_never_contradicts_what_is_there() {
    let ground = Ground::sqlite();
    let store = ground.open().await;
    let id = plant(&store, Kind::Batch, "Stout").await;
    store
        .add_readings(id, &[reading("probe", "ph", 0, 5.0)])
        .await
        .unwrap();
    let early = ground.path("early");
    store.export(&early).await.unwrap();
    plant(&store, Kind::Batch, "Other").await;
    let both = ground.path("both");
    store.export(&both).await.unwrap();

    // The same document went on elsewhere: refused, and the new one with it.
    let fork = Store::open(ground.path("fork.db").as_path()).await.unwrap();
    fork.import(&early).await.unwrap();
    fork.save(id, number(1), &Draft::new("Stout", "elsewhere"), at(1))
        .await
        .unwrap();
    let refused = fork.import(&both).await.unwrap_err().to_string();
    assert!(
        refused.contains("with another history (there revision 2 is the newest, here 1)"),
        "{refused}"
    );
    assert_eq!(fork.check().await.unwrap().documents, 1);

    // Another reading at the same time: refused as well.
    let other = Store::open(ground.path("other.db").as_path())
        .await
        .unwrap();
    other.import(&early).await.unwrap();
    let name = fs::read_dir(both.join("readings"))
        .unwrap()
        .next()
        .unwrap()
        .unwrap()
        .path();
    fs::write(
        &name,
        fs::read_to_string(&name).unwrap().replace(",5,", ",6,"),
    )
    .unwrap();
    let refused = other.import(&both).await.unwrap_err().to_string();
    assert!(
        refused.contains("1 readings differ in the store"),
        "{refused}"
    );
    assert_eq!(other.check().await.unwrap().documents, 1);
}

/// One thing that happens to a store.
#[derive(Debug, Clone)]
enum Event {
    Create {
        kind: usize,
        title: String,
        text: String,
    },
    Save {
        which: usize,
        stale: bool,
        title: String,
        text: String,
        author: Option<String>,
        note: Option<String>,
    },
    BringBack {
        which: usize,
    },
    Archive {
        which: usize,
    },
    Analysis {
        which: usize,
        day: u8,
        text: String,
    },
    Readings {
        which: usize,
        instrument: String,
        values: Vec<(i64, f64)>,
    },
}

/// Any text without NUL, which no store keeps.
fn any_text() -> impl Strategy<Value = String> {
    prop_oneof!["[^\0]{0,40}", "([a-c= \"'\\\\]|\r|\n|\t|,){0,40}"]
}

fn any_event() -> impl Strategy<Value = Event> {
    let name = || "[^\0]{1,12}";
    let value = any::<f64>().prop_filter("finite", |value| value.is_finite());
    prop_oneof![
        2 => (0..Kind::ALL.len(), any_text(), any_text())
            .prop_map(|(kind, title, text)| Event::Create { kind, title, text }),
        3 => (any::<usize>(), any::<bool>(), any_text(), any_text(), proptest::option::of(name()), proptest::option::of(any_text()))
            .prop_map(|(which, stale, title, text, author, note)| Event::Save { which, stale, title, text, author, note }),
        1 => any::<usize>().prop_map(|which| Event::BringBack { which }),
        1 => any::<usize>().prop_map(|which| Event::Archive { which }),
        2 => (any::<usize>(), 1_u8..4, any_text())
            .prop_map(|(which, day, text)| Event::Analysis { which, day, text }),
        2 => (any::<usize>(), name(), proptest::collection::vec((0_i64..50, value), 0..20))
            .prop_map(|(which, instrument, values)| Event::Readings { which, instrument, values }),
    ]
}

async fn happen(store: &Store, ids: &mut Vec<store::DocumentId>, event: Event, ms: i64) {
    let pick = |which: usize| ids[which % ids.len()];
    match event {
        Event::Create { kind, title, text } => {
            ids.push(
                store
                    .create(Kind::ALL[kind], &Draft::new(&title, &text), at(ms))
                    .await
                    .unwrap()
                    .id,
            );
        }
        Event::Save {
            which,
            stale,
            title,
            text,
            author,
            note,
        } => {
            let id = pick(which);
            let current = store.document(id).await.unwrap().current;
            let expected = if stale { current.next() } else { current };
            let draft = Draft {
                title: &title,
                text: &text,
                author: author.as_deref(),
                note: note.as_deref(),
            };
            assert_eq!(
                store.save(id, expected, &draft, at(ms)).await.is_err(),
                stale
            );
        }
        Event::BringBack { which } => {
            let id = pick(which);
            let current = store.document(id).await.unwrap().current;
            match store.side_versions(id).await.unwrap().first() {
                Some(side) => store
                    .bring_back_side(side.id, current, None, at(ms))
                    .await
                    .unwrap(),
                None => store
                    .bring_back(id, number(1), current, None, at(ms))
                    .await
                    .unwrap(),
            };
        }
        Event::Archive { which } => store.archive(pick(which), at(ms)).await.unwrap(),
        Event::Analysis {
            which,
            day: of,
            text,
        } => {
            let id = pick(which);
            let wrong_kind = store.document(id).await.unwrap().kind != Kind::Water;
            let added = store
                .add_analysis(id, day(&format!("2026-04-0{of}")), &text, at(ms))
                .await;
            assert_eq!(added.is_err(), wrong_kind);
        }
        Event::Readings {
            which,
            instrument,
            values,
        } => {
            let id = pick(which);
            let wrong_kind = store.document(id).await.unwrap().kind != Kind::Batch;
            let readings: Vec<_> = values
                .iter()
                .map(|(ms, value)| reading(&instrument, "ph", *ms, *value))
                .collect();
            assert_eq!(store.add_readings(id, &readings).await.is_err(), wrong_kind);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn whatever_happened_a_folder_tells_it_whole(events in proptest::collection::vec(any_event(), 0..25)) {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
        runtime.block_on(async {
            let (ground, second) = (Ground::sqlite(), Ground::sqlite());
            let (store, copy) = (ground.open().await, second.open().await);
            let mut ids = vec![plant(&store, Kind::Batch, "").await, plant(&store, Kind::Water, "").await];
            for (event, ms) in events.into_iter().zip(1..) {
                happen(&store, &mut ids, event, ms).await;
            }
            let (one, two) = (ground.path("one"), ground.path("two"));
            store.export(&one).await.unwrap();
            copy.import(&one).await.unwrap();
            copy.export(&two).await.unwrap();
            assert_eq!(contents(&one), contents(&two));
            assert_sound(&store).await;
            assert_sound(&copy).await;
        });
    }

    #[test]
    fn a_spoilt_folder_is_taken_whole_or_not_at_all(which in any::<prop::sample::Index>(), at in any::<prop::sample::Index>(), byte in any::<u8>(), cut in any::<bool>()) {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
        runtime.block_on(async {
            let (ground, second) = (Ground::sqlite(), Ground::sqlite());
            let (store, copy) = (ground.open().await, second.open().await);
            fill(&store).await;
            let folder = ground.path("one");
            store.export(&folder).await.unwrap();
            let files: Vec<String> = contents(&folder).into_keys().filter(|name| !name.ends_with('/')).collect();
            let file = folder.join(&files[which.index(files.len())]);
            let mut bytes = fs::read(&file).unwrap();
            if cut || bytes.is_empty() {
                bytes.truncate(at.index(bytes.len() + 1));
            } else {
                let place = at.index(bytes.len());
                bytes[place] = byte;
            }
            fs::write(&file, bytes).unwrap();
            // A byte of a title may change unnoticed; half an import may not be.
            let documents = match copy.import(&folder).await {
                Ok(_) => 3,
                Err(StoreError::Import { .. }) => 0,
                Err(other) => panic!("{other}"),
            };
            assert_eq!(copy.check().await.unwrap().documents, documents);
            assert_sound(&copy).await;
        });
    }
}
