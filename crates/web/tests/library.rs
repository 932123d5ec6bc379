//! The pages of the library from outside: each page and each form, as a browser
//! without scripts meets them.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use app::{App, LibraryKind};
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{Request, StatusCode, header};
use store::DocumentId;
use tower::ServiceExt;
use web::Hosts;

const PALE: &str = include_str!("../../../examples/lantern-pale.toml");
const SHELVES: [(LibraryKind, &str); 3] = [
    (LibraryKind::Water, "/waters"),
    (LibraryKind::Brewhouse, "/brewhouses"),
    (LibraryKind::Stores, "/stores"),
];

/// A server over a store of its own.
struct House {
    app: App,
    router: Router,
    _folder: tempfile::TempDir,
}

/// What a browser gets.
struct Answer {
    status: StatusCode,
    /// Where a redirect leads.
    to: String,
    body: String,
}

impl House {
    async fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let app = App::open(folder.path().join("library.db").as_path())
            .await
            .unwrap();
        let router = web::router(app.clone(), Hosts::new(&[]));
        Self {
            app,
            router,
            _folder: folder,
        }
    }

    async fn ask(&self, request: Request<Body>) -> Answer {
        let response = self.router.clone().oneshot(request).await.unwrap();
        let status = response.status();
        let to = response
            .headers()
            .get(header::LOCATION)
            .map_or("", |v| v.to_str().unwrap())
            .to_owned();
        let body = to_bytes(response.into_body(), 1 << 24).await.unwrap();
        Answer {
            status,
            to,
            body: String::from_utf8(body.to_vec()).unwrap(),
        }
    }

    async fn get(&self, path: &str) -> Answer {
        self.ask(
            Request::get(path)
                .header("host", "localhost")
                .body(Body::empty())
                .unwrap(),
        )
        .await
    }

    /// The body of a page that must be there.
    async fn page(&self, path: &str) -> String {
        let answer = self.get(path).await;
        assert_eq!(answer.status, StatusCode::OK, "{path}: {}", answer.body);
        answer.body
    }

    async fn post(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        self.ask(
            form(path, fields)
                .body(Body::from(encoded(fields)))
                .unwrap(),
        )
        .await
    }

    /// The example of a kind, the last one where there are several.
    async fn example(&self, kind: LibraryKind) -> DocumentId {
        *self
            .app
            .keep_demo_library(kind)
            .await
            .unwrap()
            .last()
            .unwrap()
    }
}

fn form(path: &str, _fields: &[(&str, &str)]) -> axum::http::request::Builder {
    Request::post(path)
        .header("host", "localhost")
        .header("origin", "http://localhost")
        .header("content-type", "application/x-www-form-urlencoded")
}

fn encoded(fields: &[(&str, &str)]) -> String {
    let escape = |text: &str| {
        text.bytes()
            .map(|b| format!("%{b:02X}"))
            .collect::<String>()
    };
    fields
        .iter()
        .map(|(k, v)| format!("{}={}", escape(k), escape(v)))
        .collect::<Vec<_>>()
        .join("&")
}

/// The value of the field of this name.
fn field<'b>(body: &'b str, name: &str) -> &'b str {
    let input = body
        .split("<input")
        .find(|i| i.contains(&format!(" name=\"{name}\"")))
        .unwrap_or_else(|| panic!("no {name}"));
    let tag = input.split('>').next().unwrap();
    tag.split(" value=\"")
        .nth(1)
        .map_or("", |v| v.split('"').next().unwrap())
}

/// Every field has a label, every label a field, and no id stands twice.
fn assert_labelled(body: &str) {
    let mut ids: Vec<&str> = body
        .split(" id=\"")
        .skip(1)
        .map(|s| s.split('"').next().unwrap())
        .collect();
    ids.sort_unstable();
    let twice: Vec<_> = ids.windows(2).filter(|w| w[0] == w[1]).collect();
    assert!(twice.is_empty(), "{twice:?}");
    for start in ["<input", "<select", "<textarea"] {
        for tag in body
            .split(start)
            .skip(1)
            .map(|t| t.split('>').next().unwrap())
        {
            if tag.contains("type=\"hidden\"") {
                continue;
            }
            let id = tag
                .split("id=\"")
                .nth(1)
                .unwrap_or_else(|| panic!("a field without an id: {tag}"));
            let id = id.split('"').next().unwrap();
            assert!(
                body.contains(&format!("<label for=\"{id}\"")),
                "{id} has no label"
            );
        }
    }
    for target in body
        .split("<label for=\"")
        .skip(1)
        .map(|t| t.split('"').next().unwrap())
    {
        assert!(ids.contains(&target), "the label of {target} leads nowhere");
    }
}

/// Headings go down one step at a time, and the page has one first heading.
fn assert_headings(body: &str) {
    let levels: Vec<u32> = body
        .split("<h")
        .skip(1)
        .filter_map(|t| {
            t.chars()
                .next()?
                .to_digit(10)
                .filter(|_| !t.starts_with("html"))
        })
        .collect();
    assert_eq!(levels.iter().filter(|l| **l == 1).count(), 1, "{levels:?}");
    assert_eq!(levels.first(), Some(&1));
    assert!(levels.windows(2).all(|w| w[1] <= w[0] + 1), "{levels:?}");
}

/// A page that the strict policy lets through: nothing inline.
fn assert_clean(body: &str) {
    assert_labelled(body);
    assert_headings(body);
    assert!(!body.contains("style=\"") && !body.contains("<script>") && !body.contains("onclick"));
}

#[tokio::test]
async fn the_first_page_and_the_header_lead_to_the_library() {
    let house = House::new().await;
    let first = house.page("/").await;
    assert!(first.contains("What you keep"));
    for (_, shelf) in SHELVES {
        assert_eq!(
            first.matches(&format!("href=\"{shelf}\"")).count(),
            2,
            "{shelf}"
        );
        assert!(house.page(shelf).await.contains("href=\"/waters\""));
    }
}

#[tokio::test]
async fn a_list_takes_a_name_and_shows_what_is_kept() {
    let house = House::new().await;
    for (_, shelf) in SHELVES {
        let empty = house.page(shelf).await;
        assert_clean(&empty);
        assert!(empty.contains("Nothing yet."));

        let nameless = house.post(shelf, &[("name", "  ")]).await;
        assert_eq!(nameless.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(nameless.body.contains("aria-describedby=\"name-fault\""));
        assert_clean(&nameless.body);
        let endless = house.post(shelf, &[("name", &"x".repeat(100_000))]).await;
        assert_eq!(endless.status, StatusCode::UNPROCESSABLE_ENTITY);

        let begun = house.post(shelf, &[("name", "Mill <pond>")]).await;
        assert_eq!(begun.status, StatusCode::SEE_OTHER);
        assert!(begun.to.starts_with(&format!("{shelf}/")), "{}", begun.to);
        let page = house.page(&begun.to).await;
        assert_clean(&page);
        assert!(page.contains("Mill &lt;pond&gt;"));
        let listed = house.page(&format!("{shelf}?find=mill")).await;
        assert!(listed.contains(&format!("href=\"{}\"", begun.to)) && listed.contains("1 in all"));
        assert!(
            !house
                .page(&format!("{shelf}?find=brook"))
                .await
                .contains(&begun.to)
        );
    }
}

#[tokio::test]
async fn the_examples_are_added_and_their_pages_are_whole() {
    let house = House::new().await;
    for (kind, shelf) in SHELVES {
        let added = house.post(&format!("{shelf}/demo"), &[]).await;
        assert_eq!(added.status, StatusCode::SEE_OTHER);
        let rows = house.app.library(kind, "", 0).await.unwrap().rows;
        assert!(!rows.is_empty());
        for row in rows {
            let home = format!("{shelf}/{}", row.id);
            let page = house.page(&home).await;
            assert_clean(&page);
            assert!(!page.contains("role=\"alert\""), "{page}");
            assert_clean(&house.page(&format!("{home}/text")).await);
            assert_clean(&house.page(&format!("{home}/history")).await);
            assert!(
                house
                    .page(&format!("{home}/history/1"))
                    .await
                    .contains("Nothing differs.")
            );
            assert!(
                house
                    .page(&format!("{home}/document.toml"))
                    .await
                    .contains("name = ")
            );
            // What is kept under one address is not found under another.
            for (_, other) in SHELVES.iter().filter(|(k, _)| *k != kind) {
                assert_eq!(
                    house.get(&format!("{other}/{}", row.id)).await.status,
                    StatusCode::NOT_FOUND
                );
            }
            assert_eq!(
                house.get(&format!("/batch/{}", row.id)).await.status,
                StatusCode::NOT_FOUND
            );
        }
        for lost in ["", "/nothing", "/01890000-0000-7000-8000-000000000000"] {
            let path = format!("{shelf}{lost}/text");
            assert_eq!(
                house.get(&path).await.status,
                StatusCode::NOT_FOUND,
                "{path}"
            );
        }
    }
}

#[tokio::test]
async fn an_edit_is_saved_and_a_faulty_one_is_told_at_its_field() {
    let house = House::new().await;
    let home = format!(
        "/brewhouses/{}",
        house.example(LibraryKind::Brewhouse).await
    );
    let saved = house
        .post(
            &format!("{home}/edit"),
            &[
                ("on", "1"),
                ("kit.altitude", "310 m"),
                ("brewhouse.name", "Loft"),
            ],
        )
        .await;
    assert_eq!(
        (saved.status, saved.to.as_str()),
        (StatusCode::SEE_OTHER, home.as_str())
    );
    let page = house.page(&home).await;
    assert_eq!(
        (field(&page, "kit.altitude"), field(&page, "on")),
        ("310 m", "2")
    );
    assert!(page.contains(">Loft</h1>"));

    let refused = house
        .post(
            &format!("{home}/edit"),
            &[("on", "2"), ("kit.altitude", "310 metres up")],
        )
        .await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(field(&refused.body, "kit.altitude"), "310 metres up");
    assert!(
        refused
            .body
            .contains("aria-describedby=\"kit.altitude-fault\"")
    );
    assert_clean(&refused.body);

    let clash = house
        .post(
            &format!("{home}/edit"),
            &[("on", "1"), ("kit.altitude", "5 m")],
        )
        .await;
    assert_eq!(clash.status, StatusCode::CONFLICT);
    assert!(clash.body.contains("Both versions are kept."));
    let history = house.page(&format!("{home}/history")).await;
    assert!(history.contains("Kept beside") && history.contains("kit.altitude = 310 m"));
    let back = house
        .post(
            &format!("{home}/bring-back"),
            &[("on", "2"), ("revision", "1")],
        )
        .await;
    assert_eq!(back.to, home);
    assert_eq!(field(&house.page(&home).await, "kit.altitude"), "240 m");
}

#[tokio::test]
async fn a_text_is_saved_with_its_faults() {
    let house = House::new().await;
    let home = format!("/stores/{}", house.example(LibraryKind::Stores).await);
    let faulty = house
        .post(
            &format!("{home}/text"),
            &[("on", "1"), ("text", "[stores]\r\nnmae = \"Larder\"\r\n")],
        )
        .await;
    assert_eq!(faulty.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(
        faulty.body.contains("did you mean &quot;name&quot;?") && faulty.body.contains("line 2")
    );
    assert!(house.page(&home).await.contains("cannot be used as it is"));
    let mended = house
        .post(
            &format!("{home}/text"),
            &[("on", "2"), ("text", "[stores]\r\nname = \"Larder\"\r\n")],
        )
        .await;
    assert_eq!(mended.to, home);
    assert_eq!(field(&house.page(&home).await, "stores.name"), "Larder");
}

#[tokio::test]
async fn every_list_of_the_stores_grows_and_shrinks() {
    let house = House::new().await;
    let begun = house.post("/stores", &[("name", "Cupboard")]).await.to;
    for (n, list) in ["malt", "hop", "yeast", "salt", "acid", "reagent"]
        .into_iter()
        .enumerate()
    {
        let on = (n + 1).to_string();
        let added = house
            .post(&format!("{begun}/edit"), &[("on", &on), ("add", list)])
            .await;
        assert_eq!(
            added.status,
            StatusCode::SEE_OTHER,
            "{list}: {}",
            added.body
        );
    }
    let page = house.page(&begun).await;
    assert_clean(&page);
    assert_eq!(field(&page, "hop[1].hop"), "Saaz");
    assert!(page.contains("lactic acid 80 %") && page.contains("potassium metabisulfite"));
    let removed = house
        .post(
            &format!("{begun}/edit"),
            &[("on", "7"), ("remove", "hop[1]"), ("hop[1].hop", "Perle")],
        )
        .await;
    assert_eq!(removed.status, StatusCode::SEE_OTHER);
    let page = house.page(&begun).await;
    assert!(!page.contains("hop[1]"));
    // What is at hand can hurt: the caution stands beside it.
    assert!(page.contains("Concentrated acid") && page.contains("Metabisulfite"));
}

#[tokio::test]
async fn a_hop_at_hand_says_how_it_was_kept_and_what_that_left() {
    let house = House::new().await;
    let home = format!("/stores/{}", house.example(LibraryKind::Stores).await);
    let page = house.page(&home).await;
    assert_eq!(field(&page, "hop[1].storage_index"), "0.31");
    assert_eq!(field(&page, "hop[2].stored_at"), "-18 °C");
    assert!(page.contains("Hops as they are now"));
    // 8.2 % less 10.3 % by its index (Nickerson & Likens).
    assert!(page.contains("7.4 ± "), "{page}");
    let wrong = house
        .post(
            &format!("{home}/edit"),
            &[("on", "1"), ("hop[1].storage_index", "high")],
        )
        .await;
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(field(&wrong.body, "hop[1].storage_index"), "high");
}

const SAMPLE: [(&str, &str); 9] = [
    ("taken_on", "2026-11-02"),
    ("calcium", "96 ± 4 mg/L"),
    ("magnesium", "10 mg/L"),
    ("sodium", "22 mg/L"),
    ("alkalinity", "220 ± 9 mg/L as CaCO3"),
    ("sulfate", "55 mg/L"),
    ("chloride", "35 mg/L"),
    ("nitrate", "13 mg/L"),
    ("total_chlorine", "1.6 ± 0.2 mg/L"),
];

#[tokio::test]
async fn a_water_shows_its_analyses_as_a_table_and_over_time() {
    let house = House::new().await;
    let home = format!("/waters/{}", house.example(LibraryKind::Water).await);
    let page = house.page(&home).await;
    assert!(page.contains("What the newest analysis says, 2026-09-24"));
    for told in [
        "2026-02-10",
        "2026-06-18",
        "residual alkalinity",
        "whether the ions add up",
        "drop test kit",
    ] {
        assert!(page.contains(told), "{told}");
    }
    assert_eq!(page.matches("save as SVG").count(), 3);
    // What the supply keeps is judged by the newest analysis.
    assert!(page.contains("chloramine, likely") && page.contains("Ask the supplier"));
    let seasons = house.page(&format!("{home}/chart/seasons.csv")).await;
    // 24 September is the 267th day of its year.
    assert!(seasons.contains("267"), "{seasons}");

    let csv = house.page(&format!("{home}/chart/chlorine.csv")).await;
    let rows: Vec<&str> = csv.lines().collect();
    assert_eq!(rows.len(), 4, "{csv}");
    // 18 June is 128 days after 10 February 2026.
    assert!(rows[2].starts_with("128,1.8"), "{csv}");
    assert!(
        house
            .page(&format!("{home}/chart/hardness.svg"))
            .await
            .contains("<svg")
    );
    for missing in ["chart/hardness.png", "chart/ions.svg", "chart/hardness"] {
        assert_eq!(
            house.get(&format!("{home}/{missing}")).await.status,
            StatusCode::NOT_FOUND
        );
    }
    // One analysis makes no course.
    let spring = house
        .app
        .library(LibraryKind::Water, "spring", 0)
        .await
        .unwrap()
        .rows[0]
        .id;
    assert!(
        !house
            .page(&format!("/waters/{spring}"))
            .await
            .contains("save as SVG")
    );
}

#[tokio::test]
async fn an_analysis_is_kept_and_one_with_faults_is_told_at_its_fields() {
    let house = House::new().await;
    let home = house.post("/waters", &[("name", "Tap")]).await.to;
    let kept = house.post(&format!("{home}/analysis"), &SAMPLE).await;
    assert_eq!(
        (kept.status, kept.to.as_str()),
        (StatusCode::SEE_OTHER, home.as_str())
    );
    assert!(
        house
            .page(&home)
            .await
            .contains("What the newest analysis says, 2026-11-02")
    );

    for (name, value, at) in [
        ("taken_on", "2026-02-30", "taken_on"),
        ("taken_on", "", "taken_on"),
        ("calcium", "96", "calcium"),
        ("alkalinity", "220 mg/L", "alkalinity"),
        ("chloride", "", "chloride"),
    ] {
        let fields: Vec<(&str, &str)> = SAMPLE
            .into_iter()
            .map(|(k, v)| (k, if k == name { value } else { v }))
            .collect();
        let refused = house.post(&format!("{home}/analysis"), &fields).await;
        assert_eq!(
            refused.status,
            StatusCode::UNPROCESSABLE_ENTITY,
            "{name} {value}"
        );
        assert!(
            refused
                .body
                .contains(&format!("aria-describedby=\"{at}-fault\"")),
            "{name} {value}"
        );
        assert_eq!(field(&refused.body, "magnesium"), "10 mg/L");
        assert_eq!(field(&refused.body, name), value);
        assert_clean(&refused.body);
    }
    let contradicts: Vec<(&str, &str)> = SAMPLE
        .into_iter()
        .chain([("free_chlorine", "5 mg/L")])
        .collect();
    let refused = house.post(&format!("{home}/analysis"), &contradicts).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(
        house
            .page(&home)
            .await
            .matches("scope=\"col\">2026")
            .count(),
        1
    );
}

#[tokio::test]
async fn a_batch_takes_a_water_from_its_bench() {
    let house = House::new().await;
    let batch = house.app.keep_batch(PALE, "kept").await.unwrap();
    let bench = format!("/batch/{}?bench=water", batch.id);
    let empty = house.page(&bench).await;
    assert!(empty.contains("Nothing to take yet."));
    // A water without an analysis has nothing to give.
    house
        .app
        .begin_entry(LibraryKind::Water, "Mill pond")
        .await
        .unwrap();
    assert!(house.page(&bench).await.contains("Nothing to take yet."));

    let mains = house.example(LibraryKind::Water).await;
    let page = house.page(&bench).await;
    assert_clean(&page);
    let option = format!("value=\"{mains} 2026-09-24\"");
    assert!(page.contains(&option) && page.contains("Harrowmere town mains, 2026-02-10"));
    let action = format!("/batch/{}/take-water?bench=water", batch.id);
    let taken = house
        .post(
            &action,
            &[
                ("on", "1"),
                ("take", &format!("{mains} 2026-09-24")),
                ("place", ""),
            ],
        )
        .await;
    assert_eq!(
        (taken.status, taken.to.as_str()),
        (StatusCode::SEE_OTHER, bench.as_str())
    );
    let page = house.page(&bench).await;
    assert_eq!(
        field(&page, "water.source[1].total_chlorine"),
        "2.3 ± 0.3 mg/L"
    );
    assert_eq!(field(&page, "water.source[1].share"), "60 %");
    assert!(
        house
            .page(&format!("/batch/{}/history", batch.id))
            .await
            .contains("analysis of 2026-09-24")
    );

    // A page that is open gets what changed, with the form to take from.
    let request = form(&action, &[]).header("hx-request", "true");
    let fields = [
        ("on", "2"),
        ("take", &*format!("{mains} 2026-02-10")),
        ("place", "2"),
    ];
    let live = house
        .ask(request.body(Body::from(encoded(&fields))).unwrap())
        .await;
    assert_eq!(live.status, StatusCode::OK);
    assert!(live.body.contains("taken as water.source[2]") && live.body.contains(&option));
    assert!(!live.body.contains("<html"));

    for fields in [
        [("on", "3"), ("take", ""), ("place", "")],
        [("on", "x"), ("take", &*format!("{mains}")), ("place", "")],
        [
            ("on", "3"),
            ("take", &*format!("{mains}")),
            ("place", "seven"),
        ],
        [("on", "3"), ("take", &*format!("{mains}")), ("place", "7")],
        [
            ("on", "3"),
            ("take", &*format!("{mains} 1999-01-01")),
            ("place", ""),
        ],
    ] {
        let refused = house.post(&action, &fields).await;
        assert_eq!(
            refused.status,
            StatusCode::UNPROCESSABLE_ENTITY,
            "{fields:?}"
        );
    }
}

#[tokio::test]
async fn a_batch_takes_a_brewhouse_from_its_bench() {
    let house = House::new().await;
    let batch = house.app.keep_batch(PALE, "kept").await.unwrap();
    let bench = format!("/batch/{}?bench=mash", batch.id);
    assert!(house.page(&bench).await.contains("Keep your brewhouses"));
    let brewhouse = house.example(LibraryKind::Brewhouse).await;
    let page = house.page(&bench).await;
    assert_clean(&page);
    assert!(page.contains("Quay Street back kitchen"));
    let action = format!("/batch/{}/take-brewhouse?bench=mash", batch.id);
    let taken = house
        .post(&action, &[("on", "1"), ("take", &brewhouse.to_string())])
        .await;
    assert_eq!(
        (taken.status, taken.to.as_str()),
        (StatusCode::SEE_OTHER, bench.as_str())
    );
    assert_eq!(
        field(&house.page(&bench).await, "kit.conversion"),
        "96 ± 1.5 %"
    );
    // A water is no brewhouse.
    let water = house.example(LibraryKind::Water).await;
    let refused = house
        .post(&action, &[("on", "2"), ("take", &water.to_string())])
        .await;
    assert_eq!(refused.status, StatusCode::NOT_FOUND);
    // Other benches take nothing.
    assert!(
        !house
            .page(&format!("/batch/{}?bench=boil", batch.id))
            .await
            .contains("/take-")
    );
}

#[tokio::test]
async fn a_form_of_another_site_is_refused() {
    let house = House::new().await;
    let request = Request::post("/waters")
        .header("host", "localhost")
        .header("origin", "http://other.example")
        .header("content-type", "application/x-www-form-urlencoded");
    let refused = house.ask(request.body(Body::from("name=x")).unwrap()).await;
    assert_eq!(refused.status, StatusCode::FORBIDDEN);
    assert_eq!(
        house
            .app
            .library(LibraryKind::Water, "", 0)
            .await
            .unwrap()
            .total,
        0
    );
}
