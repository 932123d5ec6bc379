//! Names and notes that look like markup, code or formulas are text wherever they show.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use app::LibraryKind;

use crate::doors::kind_of;
use crate::house::{Answer, House, PALE, TASTING, escaped};
use crate::markup::{Shape, parts};

/// Begins like a formula, ends every kind of quotation, and turns the line round.
const WILD: &str = "=cmd|'/c x'!A0\"'><x-h onclick=alert(1)></textarea></title></style></script>]]>--><svg onload=alert(1)><img src=x onerror=alert(1)> javascript:alert(1) {{7*7}} ${7*7} &lt;b&gt; %3Cb%3E \u{202e}\u{2066}e\u{301}\u{301}\u{489} \u{1f37a}\u{200d}\u{1f37a}";
const TAME: &str = "Plain";
/// A part of the wild name that no page may hold as it is.
const TAG: &str = "<x-h";

const LIBRARY: [&str; 3] = [
    include_str!("../../../../examples/library/harrowmere-mains.toml"),
    include_str!("../../../../examples/library/quay-street-brewhouse.toml"),
    include_str!("../../../../examples/library/quay-street-stores.toml"),
];
const ANALYSIS: &str =
    include_str!("../../../../examples/library/harrowmere-mains/2026-06-18.toml");

/// A document whose free texts all say the same, with a line of notes where there is none.
fn named(text: &str, name: &str) -> String {
    const FREE: [&str; 8] = [
        "name",
        "notes",
        "note",
        "place",
        "lot",
        "flavour",
        "beer",
        "reference",
    ];
    let written = format!("{name:?}")
        .replace("\\'", "'")
        .replace("\\u{", "\\U{");
    let written = unescaped(&written);
    let mut lines = String::new();
    for line in text.lines() {
        let key = line.split_once(" = ").map(|(key, _)| key);
        match key {
            Some(key) if FREE.contains(&key) => lines.push_str(&format!("{key} = {written}")),
            _ => lines.push_str(line),
        }
        lines.push('\n');
        if line == "[batch]" && !text.contains("\nnotes = ") {
            lines.push_str(&format!("notes = {written}\n"));
        }
    }
    lines
}

/// Escapes of Rust as TOML has them: eight digits.
fn unescaped(text: &str) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once("\\U{") {
        let (digits, left) = after.split_once('}').unwrap();
        out.push_str(&format!("{before}\\U{digits:0>8}"));
        rest = left;
    }
    out + rest
}

/// The name and the value of a field.
type Field<'a> = (&'a str, &'a [u8]);

/// A house in which everything that can have a name has this one.
async fn house(name: &str) -> House {
    let mut house = House::new().await;
    let app = &house.app;
    let batch = app.keep_batch(&named(PALE, name), name).await.unwrap();
    assert!(batch.outcome.reckoning().is_some(), "{}", batch.text);
    assert_eq!(batch.name, name);
    house.batch = batch.id.to_string();
    let mut kept = Vec::new();
    for (kind, text) in [
        LibraryKind::Water,
        LibraryKind::Brewhouse,
        LibraryKind::Stores,
    ]
    .into_iter()
    .zip(LIBRARY)
    {
        let entry = app
            .keep_entry(kind, &named(text, name), name)
            .await
            .unwrap();
        assert_eq!(entry.name, name);
        kept.push(entry.id);
    }
    app.add_analysis(
        kept[0],
        "2026-06-18".parse().unwrap(),
        &named(ANALYSIS, name),
    )
    .await
    .unwrap();
    let of = format!("[tasting]\nbatch = \"{}\"", house.batch);
    let tasting = named(&TASTING.replacen("[tasting]", &of, 1), name);
    house.tasting = app.keep_tasting(&tasting).await.unwrap().id.to_string();

    let name = name.as_bytes();
    let home = format!("/batch/{}", house.batch);
    let forms: [(String, Vec<Field<'_>>); 5] = [
        (
            "/devices".to_owned(),
            vec![("name", name), ("batch", house.batch.as_bytes())],
        ),
        (
            "/instruments".to_owned(),
            vec![
                ("brewhouse", name),
                ("name", name),
                ("kind", b"thermometer"),
            ],
        ),
        (
            format!("{home}/log/enter"),
            vec![
                ("what", b"gravity"),
                ("reading", b"1.050"),
                ("at", b"2026-03-15T09:00:00Z"),
                ("instrument", name),
            ],
        ),
        (
            format!("{home}/log/enter"),
            vec![
                ("what", b"temperature"),
                ("reading", "19 °C".as_bytes()),
                ("at", b"2026-03-15T09:00:00Z"),
                ("instrument", name),
            ],
        ),
        (
            format!("/tasting/{}/score", house.tasting),
            vec![
                ("attribute", name),
                ("taster", name),
                ("batch", b"5"),
                ("reference", b"3"),
            ],
        ),
    ];
    for (path, fields) in forms {
        let answer = house.form(&path, &fields).await;
        assert!(answer.status < 400, "{path}: {}", answer.text());
    }
    house
}

/// An address with what differs from document to document left out.
fn kind_of_page(path: &str) -> String {
    let (path, query) = path.split_once('?').unwrap_or((path, ""));
    let steps: Vec<String> = path
        .split('/')
        .map(|step| {
            if step.len() == 36 && step.contains('-') {
                "*".to_owned()
            } else {
                step.to_owned()
            }
        })
        .collect();
    let keys: Vec<&str> = query
        .split('&')
        .map(|pair| pair.split('=').next().unwrap_or_default())
        .collect();
    let path = match steps.get(1).map(String::as_str) {
        Some("knowledge") => steps[..steps.len().min(3)].join("/"),
        _ => steps.join("/"),
    };
    format!("{path}?{}", keys.join("&"))
}

/// Every page and file that links lead to, some of each kind.
async fn walk(house: &House) -> BTreeMap<String, Answer> {
    const OF_A_KIND: usize = 3;
    let mut open: VecDeque<String> = [
        "/",
        "/recipes",
        "/measure",
        "/cleaning",
        "/devices",
        "/instruments",
        "/waters/read",
        "/knowledge",
    ]
    .map(str::to_owned)
    .into();
    let home = format!("/batch/{}", house.batch);
    for part in [
        "report",
        "labels",
        "sheet",
        "text",
        "history",
        "recipe",
        "recipe.json",
        "document.toml",
        "log",
        "log/chart/log.csv",
        "log/chart/log.svg",
        "chart/course.csv",
        "chart/course.svg",
        "inquiry",
        "inquiry/story",
        "inquiry/report",
        "tasting",
        "waters",
        "minerals",
        "chlorine",
        "dissolved",
    ] {
        open.push_back(format!("{home}/{part}"));
    }
    open.push_back(format!("/tasting/{}", house.tasting));
    let api = format!("/api/batches/{}", house.batch);
    for path in [
        "/api/batches".to_owned(),
        format!("{api}/reckoning"),
        format!("{api}/history"),
        format!("{api}/readings"),
        format!("{api}/recipe"),
        api,
    ] {
        open.push_back(path);
    }
    let mut kinds: BTreeMap<String, usize> = BTreeMap::new();
    let mut seen: BTreeSet<String> = open.iter().cloned().collect();
    let mut all = BTreeMap::new();
    while let Some(path) = open.pop_front() {
        let answer = house.get(&path).await;
        assert!(answer.status < 500, "{path}: {}", answer.text());
        if kind_of(&answer.headers).starts_with("text/html") {
            let here = path.split('?').next().unwrap_or("/").to_owned();
            for (element, to) in parts(&answer.text()).addresses {
                if element != "a" {
                    continue;
                }
                let to = to.split('#').next().unwrap_or_default();
                let to = if to.starts_with('?') {
                    format!("{here}{to}")
                } else {
                    to.to_owned()
                };
                // The batch that every house has beside the named one is left out.
                let other = to.contains("/batch/") && !to.contains(&house.batch);
                if !to.starts_with('/') || other || !seen.insert(to.clone()) {
                    continue;
                }
                let count = kinds.entry(kind_of_page(&to)).or_default();
                *count += 1;
                // One of what takes long to reckon stands for all.
                let long = ["/steer", "/certainty"]
                    .iter()
                    .any(|part| to.contains(part));
                if *count <= if long { 1 } else { OF_A_KIND } {
                    open.push_back(to);
                }
            }
        }
        all.insert(path, answer);
    }
    all
}

#[tokio::test]
async fn a_name_is_text_on_every_page_and_in_every_file() {
    let tame: BTreeSet<Shape> = walk(&house(TAME).await)
        .await
        .values()
        .filter(|answer| is_markup(answer))
        .flat_map(|answer| parts(&answer.text()).shapes)
        .collect();
    assert!(tame.len() > 60, "{}", tame.len());
    let wild = walk(&house(WILD).await).await;
    let mut shown = 0;
    let mut kinds: BTreeMap<String, u32> = BTreeMap::new();
    for (path, answer) in &wild {
        let text = answer.text();
        let kind = kind_of(&answer.headers).to_owned();
        *kinds.entry(kind.clone()).or_default() += 1;
        if is_markup(answer) {
            shown += u32::from(text.contains("&lt;x-h"));
            assert_harmless(path, &text, &tame);
        }
        if kind.starts_with("image/svg") {
            let odd = text
                .chars()
                .find(|c| c.is_control() && !matches!(c, '\n' | '\r' | '\t'));
            assert_eq!(odd, None, "{path}");
        }
        if kind.starts_with("text/csv") {
            assert_no_formula(path, &text);
        }
        if kind.contains("json") {
            serde_json::from_str::<serde_json::Value>(&text)
                .unwrap_or_else(|e| panic!("{path}: {e}"));
        }
        for (name, value) in &answer.headers {
            let value = String::from_utf8_lossy(value.as_bytes());
            assert!(
                !value.contains(TAG) && !value.contains("=cmd"),
                "{path}: {name}: {value}"
            );
        }
    }
    assert!(shown >= 30, "{shown} of {} pages show the name", wild.len());
    for kind in [
        "image/svg+xml",
        "text/csv; charset=utf-8",
        "application/toml",
        "application/json",
        "text/html; charset=utf-8",
    ] {
        assert!(
            kinds.get(kind).copied().unwrap_or_default() > 0,
            "{kind} among {kinds:?}"
        );
    }
}

fn is_markup(answer: &Answer) -> bool {
    let kind = kind_of(&answer.headers);
    kind.starts_with("text/html") || kind.starts_with("image/svg")
}

/// Nothing on the page that would not be there with a tame name, and no address that leads away.
fn assert_harmless(path: &str, text: &str, tame: &BTreeSet<Shape>) {
    assert!(!text.contains(TAG), "{path}: {}", around(text, TAG));
    let parts = parts(text);
    for shape in &parts.shapes {
        assert!(
            tame.contains(shape),
            "{path}: {shape:?} is on no page with a tame name"
        );
        assert!(
            shape.1.iter().all(|name| !name.starts_with("on")),
            "{path}: {shape:?}"
        );
    }
    for (element, to) in &parts.addresses {
        let inside = to.is_empty()
            || to.starts_with(['#', '?'])
            || to.starts_with('/') && !to.starts_with("//");
        assert!(inside, "{path}: {element} leads to {to}");
    }
}

fn around(text: &str, what: &str) -> String {
    let at = text.find(what).unwrap_or(0);
    text.chars()
        .skip(text[..at].chars().count().saturating_sub(200))
        .take(500)
        .collect()
}

/// No cell begins like a formula, unless it is a number.
fn assert_no_formula(path: &str, text: &str) {
    for line in text.lines() {
        for cell in line.split(',') {
            let cell = cell.trim_start_matches('"');
            let formula = cell.starts_with(['=', '+', '-', '@', '\t', '\r']);
            assert!(
                !formula || cell.parse::<f64>().is_ok(),
                "{path}: {cell:?} in {line:?}"
            );
        }
    }
}

#[tokio::test]
async fn a_name_of_no_measure_is_refused_and_a_long_one_stays_whole() {
    let house = House::new().await;
    let long = "n".repeat(10_000);
    for path in ["/waters", "/brewhouses", "/stores"] {
        for name in [long.as_bytes(), b"a\0b", b"\0", b"", b"   ", b"\n\n"] {
            let before = house.kept().await;
            let answer = house.form(path, &[("name", name)]).await;
            assert_eq!(
                answer.status,
                422,
                "{path} {:?}",
                &name[..name.len().min(20)]
            );
            assert_eq!(house.kept().await, before, "{path}");
        }
        let whole = "\u{1f37a}".repeat(900);
        let answer = house.form(path, &[("name", whole.as_bytes())]).await;
        assert_eq!(answer.status, 303, "{path}: {}", answer.text());
        let page = house.get(answer.header("location")).await;
        assert!(page.status == 200 && page.text().contains(&whole), "{path}");
    }
    for name in [long.as_bytes(), b"a\0b", b""] {
        let fields = [("name", name), ("batch", house.batch.as_bytes())];
        assert_eq!(house.form("/devices", &fields).await.status, 422);
    }
    for name in [long.as_bytes(), b"a\0b"] {
        let fields = [
            ("name", name),
            ("tap", b"hard"),
            ("beer", b"pale"),
            ("volume", b"20 L"),
        ];
        let before = house.kept().await;
        let answer = house.form("/begin", &fields).await;
        assert_eq!(answer.status, 422, "{}", answer.text());
        assert_eq!(house.kept().await, before);
    }
}

#[tokio::test]
async fn what_was_typed_comes_back_as_text() {
    let house = House::new().await;
    let typed = escaped(WILD.as_bytes());
    let home = format!("/batch/{}", house.batch);
    let mut shown = 0;
    for path in [
        format!("/?find={typed}"),
        format!("/waters?find={typed}"),
        format!("/malts?find={typed}"),
        format!("/hops?find={typed}"),
        format!("/measure?tool=hydrometer&reading={typed}&at={typed}"),
        format!("{home}/labels?count={typed}"),
        format!("{home}/tasting?tastings={typed}"),
        format!("{home}/chlorine?contact={typed}&volume={typed}"),
        format!("{home}/minerals?calcium={typed}"),
        format!("{home}/dissolved?volume={typed}"),
        format!("{home}/course?hours={typed}"),
        format!("{home}/inquiry?finding={typed}"),
        format!("{home}/pitch?aim={typed}"),
        format!("/cleaning?agent={typed}&volume={typed}"),
        format!("/knowledge/cause/{typed}"),
    ] {
        let answer = house.get(&path).await;
        assert!(answer.status < 500, "{path}: {}", answer.text());
        let text = answer.text();
        shown += u32::from(text.contains("&lt;x-h"));
        assert!(!text.contains(TAG), "{path}: {}", around(&text, TAG));
        for (element, names) in parts(&text).shapes {
            let odd = ["x-h", "img"].contains(&element.as_str());
            let odd = odd || names.iter().any(|n| n.starts_with("on"));
            assert!(!odd, "{path}: {element} {names:?}");
        }
    }
    assert!(shown >= 8, "{shown} pages showed what was typed");
}
