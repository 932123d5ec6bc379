//! The pages about packing, cleaning, the report and labels from outside, as a browser
//! without scripts meets them.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use app::{App, Demo};
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::Request;
use tower::ServiceExt;
use web::Hosts;

struct House {
    router: Router,
    batch: String,
    _folder: tempfile::TempDir,
}

impl House {
    async fn with(text: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let app = App::open(folder.path().join("care.db").as_path())
            .await
            .unwrap();
        let open = app.keep_batch(text, "begun").await.unwrap();
        Self {
            router: web::router(app, Hosts::new(&[])),
            batch: format!("/batch/{}", open.id),
            _folder: folder,
        }
    }

    /// Status, content policy, and page.
    async fn get(&self, path: &str) -> (u16, String, String) {
        let request = Request::builder().uri(path).header("host", "localhost");
        let request = request.body(Body::empty()).unwrap();
        let response = self.router.clone().oneshot(request).await.unwrap();
        let policy = response.headers()["content-security-policy"]
            .to_str()
            .unwrap()
            .to_owned();
        let status = response.status().as_u16();
        let bytes = to_bytes(response.into_body(), 16 << 20).await.unwrap();
        (status, policy, String::from_utf8(bytes.to_vec()).unwrap())
    }
}

fn pale() -> &'static str {
    Demo::find("lantern-pale").unwrap().text
}

#[tokio::test]
async fn the_report_is_shown_under_a_policy_that_loads_nothing_and_kept_as_a_file() {
    let house = House::with(pale()).await;
    let (status, policy, page) = house.get(&format!("{}/report", house.batch)).await;
    assert_eq!(status, 200);
    assert!(
        policy.starts_with("default-src 'none'") && !policy.contains("script-src"),
        "{policy}"
    );
    assert!(page.contains("Batch report") && page.contains("<style>"));
    let (_, _, kept) = house.get(&format!("{}/report.html", house.batch)).await;
    assert_eq!(kept, page);
    let (_, policy, _) = house.get(&house.batch).await;
    assert!(
        policy.contains("style-src 'self'"),
        "other pages keep theirs: {policy}"
    );
}

#[tokio::test]
async fn labels_name_what_is_in_it_and_refuse_a_nonsense_count() {
    let house = House::with(pale()).await;
    let (status, _, page) = house.get(&format!("{}/labels?count=7", house.batch)).await;
    assert_eq!(status, 200);
    assert_eq!(page.matches("class=\"label\"").count(), 7);
    assert!(page.contains("Contains: <strong>barley"), "{page}");
    let (status, _, page) = house
        .get(&format!("{}/labels?count=many", house.batch))
        .await;
    assert_eq!(status, 422);
    assert!(page.contains("many is no number of labels") && page.contains("value=\"many\""));
}

#[tokio::test]
async fn the_page_of_cleaning_answers_and_keeps_what_was_typed() {
    let house = House::with(pale()).await;
    let (status, _, page) = house.get("/cleaning").await;
    assert_eq!(status, 200);
    assert!(page.contains("chlorine gas") && page.contains("Peracetic acid"));
    let (status, _, page) = house
        .get("/cleaning?agent=hypochlorite&to=200+mg%2FL&volume=10+L")
        .await;
    assert_eq!(status, 200);
    assert!(page.contains("<strong>38.1 mL</strong>"), "{page}");
    let (status, _, page) = house
        .get("/cleaning?agent=hypochlorite&to=%3Cb%3Emuch")
        .await;
    assert_eq!(status, 422);
    assert!(page.contains("value=\"&lt;b&gt;much\"") && page.contains("id=\"to-fault\""));
    let (_, _, page) = house.get("/cleaning?one=hypochlorite&other=vinegar").await;
    assert!(page.contains("Never together: "));
}

#[tokio::test]
async fn a_stop_stands_on_the_bench_and_on_the_sheet_with_every_caution() {
    let weak = pale().replace("bottle = \"heavy-returnable\"", "bottle = \"unknown\"");
    let bleached = format!(
        "{weak}\n[[cleaning]]\nvessel = \"fermenter\"\nagent = \"hypochlorite\"\nconcentration = \"200 mg/L\"\nrinse = \"none\"\n"
    );
    let house = House::with(&bleached).await;
    let (_, _, bench) = house.get(&format!("{}?bench=package", house.batch)).await;
    assert!(bench.contains("<strong>Stop. </strong>") && bench.contains("Put on goggles"));
    assert!(
        bench.contains("medicinal: </strong>"),
        "what cleaning can leave"
    );
    let (_, _, sheet) = house.get(&format!("{}/sheet", house.batch)).await;
    let (document, assumptions) = batch::Document::read(&bleached).unwrap();
    let reckoning = batch::Reckoning::of(document, assumptions).unwrap();
    for caution in reckoning.cautions() {
        let source = maud::html! { (caution.text().source) }.into_string();
        assert!(sheet.contains(&source), "{}", caution.key());
    }
    assert!(sheet.contains("Local codes and licensed practice decide"));
    assert!(
        reckoning
            .cautions()
            .contains(&quantity::Caution::ChlorineMixtures)
    );
}
