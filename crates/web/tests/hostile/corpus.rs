//! The kept files, and what is too long to keep as a file.

use std::fmt::Write as _;
use std::path::PathBuf;

use crate::entry::Entry;
use crate::house::{House, PALE, TASTING};

/// The kept files of an entry point, by name.
fn kept(entry: Entry) -> Vec<(String, Vec<u8>)> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("tests/hostile/corpus")
        .join(entry.folder());
    let mut files: Vec<_> = std::fs::read_dir(&folder)
        .unwrap_or_else(|e| panic!("{}: {e}", folder.display()))
        .map(|file| {
            let path = file.unwrap().path();
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            (name, std::fs::read(path).unwrap())
        })
        .collect();
    files.sort();
    files
}

/// Keys, tables, lines or columns that are many.
const MANY: usize = 2_000;

/// What grows beyond all measure.
fn grown(entry: Entry) -> Vec<(String, Vec<u8>)> {
    let deep = "[".repeat(10_000) + &"]".repeat(10_000);
    let tables = |line: &str| {
        (0..MANY).fold(String::new(), |mut all, n| {
            let _ = writeln!(all, "{}", line.replace('#', &n.to_string()));
            all
        })
    };
    let long = "x".repeat(1 << 20);
    let all: Vec<(&str, String)> = match entry {
        Entry::Batch | Entry::Library | Entry::Tasting => {
            let start = if entry == Entry::Tasting {
                TASTING
            } else {
                PALE
            };
            vec![
                ("many keys", format!("{}{start}", tables("key# = #"))),
                (
                    "many tables",
                    format!(
                        "{start}\n{}",
                        tables("[[grist]]\nname = \"#\"\n[[taster]]\nname = \"#\"")
                    ),
                ),
                ("a deep list", format!("a = {deep}\n{start}")),
                (
                    "a deep key",
                    format!("a{} = 1\n{start}", ".a".repeat(10_000)),
                ),
                (
                    "a deep table",
                    format!("{start}\n[a{}]\n", ".a".repeat(10_000)),
                ),
                (
                    "deep inline tables",
                    format!(
                        "a = {}1{}\n{start}",
                        "{a=".repeat(10_000),
                        "}".repeat(10_000)
                    ),
                ),
                ("a long line", format!("# {long}\n{start}")),
                (
                    "a long name",
                    start.replacen("name = \"", &format!("name = \"{}", "n".repeat(10_000)), 1),
                ),
                ("a long string", format!("{start}\nlong = \"{long}\"\n")),
                ("open quotes", format!("{start}\nlong = \"\"\"{long}\n")),
            ]
        }
        Entry::Quantity => vec![
            ("many digits", "9".repeat(5_000)),
            ("many signs", "±".repeat(2_000)),
        ],
        Entry::Report => vec![
            ("a long line", format!("Calcium {long} mg/L")),
            ("many figures", "Calcium 96 mg/L ".repeat(5_000)),
            ("many lines", tables("Parameter # 1 mg/L")),
            ("many columns", "Calcium;96;mg/L;".repeat(5_000)),
        ],
        Entry::Log => vec![
            ("a long line", format!("time,gravity SG\n{long},1.050\n")),
            ("many columns", "a,".repeat(10_000)),
            (
                "many rows",
                format!("time,gravity SG\n{}", tables("2026-03-14T09:00:00Z,1.0#")),
            ),
            ("open quotes", "\"".repeat(20_001)),
        ],
        Entry::Senml => vec![
            ("deep", deep),
            (
                "many records",
                format!(
                    "[{}{{\"n\":\"a/sg\",\"u\":\"/\",\"v\":1}}]",
                    "{\"n\":\"f/sg\",\"u\":\"/\",\"v\":1.05,\"t\":1773480413},".repeat(10_000)
                ),
            ),
            (
                "a long name",
                format!("[{{\"n\":\"{long}/sg\",\"u\":\"/\",\"v\":1.05}}]"),
            ),
        ],
        Entry::Recipes => vec![
            ("deep", format!("{{\"beerjson\": {deep}}}")),
            (
                "deep tables",
                format!(
                    "{{\"beerjson\": {}1{}}}",
                    "{\"a\":".repeat(10_000),
                    "}".repeat(10_000)
                ),
            ),
            (
                "many members",
                format!(
                    "{{\"beerjson\": {{{}\"version\": 1}}}}",
                    tables("\"m#\": #,")
                ),
            ),
            (
                "a long name",
                format!(
                    "{{\"beerjson\": {{\"version\": 1, \"recipes\": [{{\"name\": \"{}\"}}]}}}}",
                    "n".repeat(900_000)
                ),
            ),
        ],
        Entry::Form => vec![
            ("many fields", tables("f#=#&").replace('\n', "")),
            ("a long field", format!("name={long}&on=1")),
            ("a long key", format!("{long}=1&on=1")),
            ("a deep path", format!("on=1&a{}=1", "[1].a".repeat(10_000))),
        ],
    };
    all.into_iter()
        .map(|(name, text)| (name.to_owned(), text.into_bytes()))
        .collect()
}

/// Says which file it was where a test fails on it.
struct Told(Entry, String);

impl Drop for Told {
    fn drop(&mut self) {
        if std::thread::panicking() {
            eprintln!("{:?}: {}", self.0, self.1);
        }
    }
}

async fn meets(entry: Entry) {
    let files = kept(entry);
    assert!(files.len() >= 8, "{entry:?}: {} files", files.len());
    let house = House::new().await;
    for (name, bytes) in files.into_iter().chain(grown(entry)) {
        let _told = Told(entry, name);
        entry.meet(&house, &bytes).await;
    }
}

#[tokio::test]
async fn documents_of_batches() {
    meets(Entry::Batch).await;
}

#[tokio::test]
async fn documents_of_the_library() {
    meets(Entry::Library).await;
}

#[tokio::test]
async fn documents_of_tastings() {
    meets(Entry::Tasting).await;
}

#[tokio::test]
async fn quantities() {
    meets(Entry::Quantity).await;
}

#[tokio::test]
async fn reports_of_waters() {
    meets(Entry::Report).await;
}

#[tokio::test]
async fn logs() {
    meets(Entry::Log).await;
}

#[tokio::test]
async fn packs_of_sensors() {
    meets(Entry::Senml).await;
}

#[tokio::test]
async fn recipes() {
    meets(Entry::Recipes).await;
}

#[tokio::test]
async fn forms() {
    meets(Entry::Form).await;
}
