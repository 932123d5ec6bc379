//! The tables, as each engine tells them, against the snapshots in
//! `tests/snapshots`. After a change that is meant, set `GYLEWRIGHT_BLESS=1`
//! once, and read the difference before it is committed.

use std::fs;
use std::path::Path;

use sqlx::{Connection as _, PgConnection, SqliteConnection};

use store::{Kind, ReadingRequest, Store};

use crate::ground::{Ground, assert_sound, number, on_both, plant, reading};

on_both!(
    an_old_store_takes_the_missing_steps,
    super::an_old_store_takes_the_missing_steps_on
);

async fn an_old_store_takes_the_missing_steps_on(ground: &Ground) {
    let old = Store::open_as_of(ground.place.as_str(), 1).await.unwrap();
    let id = plant(&old, Kind::Batch, "Stout").await;
    old.close().await;

    let store = ground.open().await;
    assert_eq!(store.document(id).await.unwrap().current, number(1));
    store
        .add_readings(id, &[reading("probe", "ph", 0, 5.2)])
        .await
        .unwrap();
    assert_eq!(
        store
            .readings(id, &ReadingRequest::default())
            .await
            .unwrap()
            .len(),
        1
    );
    assert_sound(&store).await;
    store.close().await;

    // A file was copied first, once, and the copy is the store as it was.
    if ground.postgres.is_none() {
        ground.open().await.close().await;
        let copy = format!("{}.step-1.backup", ground.place);
        assert!(fs::exists(&copy).unwrap() && !fs::exists(format!("{copy}-2")).unwrap());
        let old = Store::open_as_of(copy.as_str(), 1).await.unwrap();
        assert_eq!(old.current(id).await.unwrap().text, "title = \"Stout\"\n");
    }
}

const SQLITE: &str = "SELECT sql FROM sqlite_schema WHERE sql IS NOT NULL ORDER BY type DESC, name";

// Constraints that only repeat "not null" exist from version 18 on.
const POSTGRESQL: &str = "
    SELECT table_name || '.' || column_name || ' ' || data_type || COALESCE(' collate ' || collation_name, '')
           || CASE is_nullable WHEN 'NO' THEN ' not null' ELSE '' END
           || CASE is_identity WHEN 'YES' THEN ' identity' ELSE '' END AS line, 1 AS part, table_name, ordinal_position
    FROM information_schema.columns WHERE table_schema = 'public'
    UNION ALL
    SELECT conrelid::regclass || ': ' || conname || ' ' || pg_get_constraintdef(oid), 2, conrelid::regclass::text, 0
    FROM pg_constraint WHERE connamespace = 'public'::regnamespace AND contype IN ('p', 'u', 'f', 'c')
    UNION ALL
    SELECT indexdef, 3, tablename, 0 FROM pg_indexes WHERE schemaname = 'public'";

#[tokio::test]
async fn the_tables_in_sqlite_are_the_snapshot() {
    let ground = Ground::sqlite();
    ground.open().await.close().await;
    let mut store = SqliteConnection::connect(&ground.place).await.unwrap();
    let lines: Vec<String> = sqlx::query_scalar(SQLITE)
        .fetch_all(&mut store)
        .await
        .unwrap();
    assert!(
        lines
            .iter()
            .filter(|line| line.starts_with("CREATE TABLE"))
            .all(|line| line.contains("STRICT"))
    );
    compare("sqlite.sql", &lines.join(";\n\n"));
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_tables_in_postgresql_are_the_snapshot() {
    let ground = Ground::postgresql().await;
    ground.open().await.close().await;
    let mut store = PgConnection::connect(&ground.place).await.unwrap();
    let mut rows: Vec<(String, i32, String, i32)> = sqlx::query_as(POSTGRESQL)
        .fetch_all(&mut store)
        .await
        .unwrap();
    rows.sort_by(|a, b| (a.1, &a.2, a.3, &a.0).cmp(&(b.1, &b.2, b.3, &b.0)));
    let lines: Vec<String> = rows.into_iter().map(|(line, ..)| line).collect();
    compare("postgresql.txt", &lines.join("\n"));
    store.close().await.unwrap();
    ground.leave().await;
}

fn compare(name: &str, found: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/snapshots")
        .join(name);
    let found = format!("{found}\n");
    if std::env::var_os("GYLEWRIGHT_BLESS").is_some() {
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(&path, &found).unwrap();
    }
    let wanted = fs::read_to_string(&path).unwrap();
    assert!(
        found == wanted,
        "the tables differ from {name}:\n{}",
        store::Difference::between(&wanted, &found)
    );
}
