//! Copies, the way back, and damage that is noticed.

use std::fs;
use std::os::unix::fs::FileExt as _;

use sqlx::{AssertSqlSafe, Connection as _, SqliteConnection};
use store::{Draft, Kind, ListRequest, ReadingRequest, Store, StoreError};

use crate::ground::{Ground, assert_sound, at, day, number, plant, reading};

/// A store with something in every table.
async fn full(ground: &Ground) -> Store {
    let store = ground.open().await;
    let batch = plant(&store, Kind::Batch, "Stout").await;
    store
        .save(batch, number(1), &Draft::new("Stout", "second"), at(1))
        .await
        .unwrap();
    store
        .save(batch, number(1), &Draft::new("Stout", "refused"), at(2))
        .await
        .unwrap_err();
    store
        .add_readings(
            batch,
            &[
                reading("probe", "ph", 0, 5.2),
                reading("probe", "ph", 1, 5.1),
            ],
        )
        .await
        .unwrap();
    let water = plant(&store, Kind::Water, "Well").await;
    store
        .add_analysis(water, day("2026-04-01"), "ca = 80\n", at(3))
        .await
        .unwrap();
    store
}

async fn sql(path: &str, statement: &str) {
    let mut other = SqliteConnection::connect(path).await.unwrap();
    sqlx::raw_sql(AssertSqlSafe(statement.to_owned()))
        .execute(&mut other)
        .await
        .unwrap();
    other.close().await.unwrap();
}

#[tokio::test]
async fn a_backup_brings_everything_back_and_keeps_what_was_there() {
    let ground = Ground::sqlite();
    let store = full(&ground).await;
    let copy = ground.path("copy.db");
    store.backup(&copy).await.unwrap();
    let as_it_was = store.export(&ground.path("before")).await.unwrap();

    // Life goes on; another program has the store open as well.
    let other = ground.open().await;
    let later = plant(&other, Kind::Tasting, "Later").await;
    other
        .save(later, number(1), &Draft::new("Later", "more"), at(9))
        .await
        .unwrap();

    let restored = store.restore(&copy).await.unwrap();
    assert_eq!((restored.documents, restored.revisions), (2, 3));
    assert_eq!(
        store.export(&ground.path("after")).await.unwrap(),
        as_it_was
    );
    assert_eq!(
        crate::folder::contents(&ground.path("after")),
        crate::folder::contents(&ground.path("before"))
    );
    assert_sound(&store).await;

    // The other program sees the restored store, and can go on saving to it.
    assert!(matches!(
        other.document(later).await,
        Err(StoreError::NoSuchDocument { .. })
    ));
    plant(&other, Kind::Batch, "New").await;
    assert_eq!(
        store
            .list(&ListRequest::of(Kind::Batch))
            .await
            .unwrap()
            .total,
        2
    );

    // What was there before is a store of its own.
    let aside = Store::open(restored.kept_aside.as_path()).await.unwrap();
    assert_eq!(aside.current(later).await.unwrap().text, "more");
    assert_sound(&aside).await;

    // Nothing else is left lying about.
    aside.close().await;
    let mut names: Vec<String> = fs::read_dir(ground.path("x").parent().unwrap())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| !name.ends_with("-wal") && !name.ends_with("-shm"))
        .collect();
    names.sort();
    assert_eq!(
        names,
        [
            "after",
            "before",
            "copy.db",
            "gylewright.db",
            "gylewright.db.before-restore"
        ]
    );
}

#[tokio::test]
async fn a_backup_is_one_moment_while_others_save() {
    let ground = Ground::sqlite();
    let store = full(&ground).await;
    let id = plant(&store, Kind::Batch, "Busy").await;
    let saver = store.clone();
    let saving = tokio::spawn(async move {
        for n in 1..60 {
            saver
                .save(
                    id,
                    number(n),
                    &Draft::new("Busy", &"x".repeat(5_000)),
                    at(i64::from(n)),
                )
                .await
                .unwrap();
        }
    });
    for n in 0..5 {
        let copy = ground.path(&format!("copy-{n}.db"));
        store.backup(&copy).await.unwrap();
        assert_sound(&Store::open(copy.as_path()).await.unwrap()).await;
    }
    saving.await.unwrap();
    assert_eq!(store.history(id).await.unwrap().len(), 60);
}

#[tokio::test]
async fn nothing_is_overwritten() {
    let ground = Ground::sqlite();
    let store = full(&ground).await;
    let taken = ground.path("taken");
    fs::write(&taken, "a letter").unwrap();
    assert!(matches!(
        store.backup(&taken).await,
        Err(StoreError::Exists { .. })
    ));
    assert_eq!(fs::read_to_string(&taken).unwrap(), "a letter");

    // Two restores keep two stores aside.
    let copy = ground.path("copy.db");
    store.backup(&copy).await.unwrap();
    let first = store.restore(&copy).await.unwrap().kept_aside;
    let second = store.restore(&copy).await.unwrap().kept_aside;
    assert!(first != second && first.exists() && second.exists());
}

#[tokio::test]
async fn a_bad_backup_is_refused_and_the_store_left_alone() {
    let ground = Ground::sqlite();
    let store = full(&ground).await;
    store.export(&ground.path("before")).await.unwrap();
    let copy = ground.path("copy.db");

    let not_a_store: fn(&StoreError) -> bool = |e| matches!(e, StoreError::NotAStore { .. });
    let impossible: fn(&StoreError) -> bool = |e| matches!(e, StoreError::Impossible { .. });
    let no_file: fn(&StoreError) -> bool = |e| matches!(e, StoreError::File { .. });
    let damaged: fn(&StoreError) -> bool = |e| matches!(e, StoreError::Damaged { .. });
    let newer: fn(&StoreError) -> bool = |e| matches!(e, StoreError::Newer { .. });
    for (what, is_right) in [
        ("a letter", not_a_store),
        ("nothing", not_a_store),
        ("the store itself", impossible),
        ("no file", no_file),
        ("a damaged page", damaged),
        ("a changed text", damaged),
        ("a newer store", newer),
    ] {
        let _ = fs::remove_file(&copy);
        let from = if what == "the store itself" {
            ground.path("gylewright.db")
        } else {
            copy.clone()
        };
        let path = copy.to_str().unwrap();
        match what {
            "a letter" => fs::write(&copy, "a letter").unwrap(),
            "nothing" => fs::write(&copy, "").unwrap(),
            "a damaged page" => {
                store.backup(&copy).await.unwrap();
                fs::File::options()
                    .write(true)
                    .open(&copy)
                    .unwrap()
                    .write_all_at(&[0xAA; 3 * 4_096], 4_096)
                    .unwrap();
            }
            "a changed text" => {
                store.backup(&copy).await.unwrap();
                sql(path, "UPDATE revision SET text = 'forged' WHERE number = 2").await;
            }
            "a newer store" => {
                store.backup(&copy).await.unwrap();
                sql(
                    path,
                    "INSERT INTO schema_step VALUES (999, '0999_later', '')",
                )
                .await;
            }
            _ => {}
        }
        let refused = store.restore(&from).await.unwrap_err();
        assert!(is_right(&refused), "{what}: {refused}");
        assert_sound(&store).await;
    }
    store.export(&ground.path("after")).await.unwrap();
    assert_eq!(
        crate::folder::contents(&ground.path("after")),
        crate::folder::contents(&ground.path("before"))
    );
}

#[tokio::test]
async fn a_ruined_store_is_set_aside_and_a_backup_takes_its_place() {
    let ground = Ground::sqlite();
    let store = full(&ground).await;
    let copy = ground.path("copy.db");
    store.backup(&copy).await.unwrap();
    store.close().await;
    let path = ground.path("gylewright.db");
    let size = fs::metadata(&path).unwrap().len();
    let file = fs::File::options().write(true).open(&path).unwrap();
    file.write_all_at(&vec![0x55; usize::try_from(size).unwrap() - 4_096], 4_096)
        .unwrap();

    let ruined = Store::open(path.as_path()).await;
    if let Ok(store) = &ruined {
        assert!(!store.check().await.unwrap().is_sound());
        let refused = store.restore(&copy).await.unwrap_err();
        assert!(
            matches!(
                refused,
                StoreError::Damaged { .. } | StoreError::Engine { .. }
            ),
            "{refused}"
        );
        store.close().await;
    }
    let aside = Store::set_aside(&path).unwrap();
    assert_eq!(fs::metadata(aside).unwrap().len(), size);
    let store = ground.open().await;
    store.restore(&copy).await.unwrap();
    assert_sound(&store).await;
    let batch = store
        .list(&ListRequest::of(Kind::Batch))
        .await
        .unwrap()
        .documents
        .remove(0);
    assert_eq!(
        store
            .readings(batch.id, &ReadingRequest::default())
            .await
            .unwrap()
            .len(),
        2
    );
}

#[tokio::test]
async fn a_check_finds_what_was_tampered_with() {
    for (harm, wanted) in [
        (
            "UPDATE revision SET text = 'forged' WHERE number = 2",
            "its text has changed",
        ),
        (
            "DELETE FROM revision WHERE number = 1 AND text LIKE '%Stout%'",
            "revision 1 is missing before it",
        ),
        (
            "DELETE FROM revision WHERE number = 2",
            "it shows revision 2 as the newest, and has 1",
        ),
        (
            "DELETE FROM revision WHERE title = 'Well'",
            "it has no revision",
        ),
        (
            "UPDATE document SET title = 'Ale' WHERE title = 'Stout'",
            "listed with another title",
        ),
        (
            "UPDATE document SET kind = 'beer' WHERE title = 'Stout'",
            "kind of document",
        ),
        (
            "UPDATE side_version SET text = 'forged'",
            "its text has changed",
        ),
        (
            "UPDATE analysis SET text = 'forged'",
            "its text has changed",
        ),
        (
            "PRAGMA foreign_keys = OFF; DELETE FROM channel",
            "refers to a channel that is not there",
        ),
        (
            "PRAGMA foreign_keys = OFF; DELETE FROM document WHERE title = 'Well'",
            "it has revisions but is not listed",
        ),
    ] {
        let ground = Ground::sqlite();
        let store = full(&ground).await;
        sql(&ground.place, harm).await;
        let report = store.check().await.unwrap();
        assert!(
            report
                .problems
                .iter()
                .any(|problem| problem.to_string().contains(wanted)),
            "{harm}: {report:?}"
        );
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn postgresql_names_its_own_tools() {
    let ground = Ground::postgresql().await;
    let store = ground.open().await;
    let said = store
        .backup(&ground.path("copy"))
        .await
        .unwrap_err()
        .to_string();
    assert!(said.contains("pg_dump --format=custom"), "{said}");
    let said = store
        .restore(&ground.path("copy"))
        .await
        .unwrap_err()
        .to_string();
    assert!(said.contains("pg_restore"), "{said}");
    store.close().await;
    ground.leave().await;
}
