//! The page of a watched fermentation from outside, as a browser without scripts meets it.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use app::{App, Demo};
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::Request;
use tower::ServiceExt;
use web::Hosts;

const FORM: &str = "application/x-www-form-urlencoded";

struct House {
    router: Router,
    page: String,
    _folder: tempfile::TempDir,
}

impl House {
    async fn with(text: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let app = App::open(folder.path().join("course.db").as_path())
            .await
            .unwrap();
        let open = app.keep_batch(text, "begun").await.unwrap();
        Self {
            router: web::router(app, Hosts::new(&[])),
            page: format!("/batch/{}/course", open.id),
            _folder: folder,
        }
    }

    async fn pale() -> Self {
        Self::with(Demo::find("lantern-pale").unwrap().text).await
    }

    async fn ask(&self, method: &str, rest: &str, kind: &str, body: String) -> (u16, String) {
        self.asked(method, rest, &[("content-type", kind)], body)
            .await
    }

    async fn asked(
        &self,
        method: &str,
        rest: &str,
        headers: &[(&str, &str)],
        body: String,
    ) -> (u16, String) {
        let path = format!("{}{rest}", self.page);
        let mut request = Request::builder()
            .method(method)
            .uri(path)
            .header("host", "localhost");
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        let response = self
            .router
            .clone()
            .oneshot(request.body(Body::from(body)).unwrap())
            .await
            .unwrap();
        let status = response.status().as_u16();
        let bytes = to_bytes(response.into_body(), 16 << 20).await.unwrap();
        (status, String::from_utf8(bytes.to_vec()).unwrap())
    }

    async fn get(&self, rest: &str) -> (u16, String) {
        self.ask("GET", rest, FORM, String::new()).await
    }

    async fn post(&self, rest: &str, body: &str) -> (u16, String) {
        self.ask("POST", rest, FORM, body.to_owned()).await
    }
}

/// Brackets of a path as an address has them.
fn path(key: &str) -> String {
    format!("fermentation.course[{key}")
        .replace('[', "%5B")
        .replace(']', "%5D")
}

#[tokio::test]
async fn without_readings_the_page_says_what_is_expected() {
    let house = House::pale().await;
    let (status, page) = house.get("").await;
    assert_eq!(status, 200);
    for wanted in [
        "No gravity was read yet",
        "nine times in ten",
        "The temperature plan",
        "Forced fermentation",
        "Forced diketone test",
        "Apparent finish",
        "Flavour compounds",
    ] {
        assert!(page.contains(wanted), "{wanted}");
    }
    let (status, svg) = house.get("/chart/watch.svg").await;
    assert!(status == 200 && svg.contains("<svg"), "{status}");
    assert_eq!(house.get("/chart/other.svg").await.0, 404);
}

#[tokio::test]
async fn a_reading_is_kept_and_shown_and_a_wrong_one_stays_in_its_field() {
    let house = House::pale().await;
    let (status, page) = house
        .post(
            "/reading",
            "what=gravity&reading=heavy&instrument=hydrometer&at=36+h",
        )
        .await;
    assert_eq!(status, 422);
    assert!(page.contains("value=\"heavy\"") && page.contains("reading-fault"));
    assert!(page.contains("nobody said when the yeast was pitched"));
    let typed = "fermentation.pitched=2026-03-14T15%3A00%3A00Z&on=1";
    assert_eq!(house.post("/keep", typed).await.0, 303);
    for (h, sg) in [("1 h", "1.052"), ("36 h", "1.036"), ("3 d", "1.018")] {
        let body = format!(
            "what=gravity&reading={sg}&instrument=hydrometer&at={}",
            h.replace(' ', "+")
        );
        assert_eq!(house.post("/reading", &body).await.0, 303);
    }
    let (_, page) = house.get("").await;
    assert!(
        page.contains("1.036") && page.contains("hydrometer") && page.contains("14 March 2026")
    );
    assert!(!page.contains("pressure, bar"));
    let gauge = "what=pressure&reading=0.4+bar&instrument=gauge&at=36+h";
    assert_eq!(house.post("/reading", gauge).await.0, 303);
    let rated = "on=2&fermentation.rating=2+bar";
    assert_eq!(house.post("/keep", rated).await.0, 303);
    let (_, page) = house.get("").await;
    assert!(page.contains("pressure, bar"));
    assert!(page.contains("pressure, rated for: 2"));
    let again = "what=gravity&reading=1.040&instrument=hydrometer&at=36+h";
    let (status, page) = house.post("/reading", again).await;
    assert_eq!(status, 422);
    assert!(page.contains("another value at that time"));
}

#[tokio::test]
async fn a_plan_is_tried_without_being_kept_and_kept_when_asked() {
    let house = House::pale().await;
    let cold = format!("{}=12+%C2%B0C", path("2].temperature"));
    let (status, page) = house.get(&format!("?{cold}")).await;
    assert_eq!(status, 200);
    assert!(page.contains("A plan that is tried") && page.contains("value=\"12 °C\""));
    let live = [("hx-request", "true")];
    let (_, part) = house
        .asked("GET", &format!("?{cold}"), &live, String::new())
        .await;
    assert!(part.starts_with("<div id=\"course\"") && part.contains("id=\"below\""));
    assert!(!part.contains("<html"));
    let (_, page) = house.get("").await;
    assert!(!page.contains("A plan that is tried") && !page.contains("value=\"12 °C\""));
    let wrong = format!("?{}=lukewarm", path("2].temperature"));
    let (status, page) = house.get(&wrong).await;
    assert_eq!(status, 422);
    assert!(page.contains("value=\"lukewarm\"") && page.contains("nine times in ten"));
    assert_eq!(house.post("/keep", &format!("on=1&{cold}")).await.0, 303);
    let (_, page) = house.get("").await;
    assert!(page.contains("value=\"12 °C\"") && page.contains("revision 2"));
    let (status, page) = house
        .post("/keep", &format!("on=2&{}=soon", path("2].at")))
        .await;
    assert_eq!(status, 422);
    assert!(page.contains("value=\"soon\""));
    assert_eq!(house.post("/keep", "nothing=1").await.0, 422);
}

#[tokio::test]
async fn results_of_tests_are_kept_in_the_document() {
    let house = House::pale().await;
    let forced = "on=1&fermentation.forced_gravity=1.0150&fermentation.forced_time=3+d";
    assert_eq!(house.post("/keep", forced).await.0, 303);
    assert_eq!(house.post("/diketone", "on=2&butter=yes").await.0, 303);
    let (_, page) = house.get("").await;
    assert!(
        page.contains("The sample ended at 1.015"),
        "no forced sample"
    );
    assert!(page.contains("Butter in the heated sample"));
    assert_eq!(house.post("/diketone", "on=3&butter=no").await.0, 303);
    let (_, page) = house.get("").await;
    assert!(page.contains("No butter in either sample") && page.contains("revision 4"));
}

#[tokio::test]
async fn a_faulty_document_and_an_odd_address_are_told() {
    let house = House::with("[batch]\nname = \"x\"\n").await;
    assert_eq!(house.get("").await.0, 422);
    let house = House::pale().await;
    for odd in ["?fermentation.course%5B99%5D.at=1+d", "?a.b=1&bad.%5B=2"] {
        let (status, page) = house.get(odd).await;
        assert!(
            status == 200 && !page.contains("A plan that is tried"),
            "{odd}"
        );
    }
}

/// A long log is kept aside: the page that follows says how far it is, asks again by
/// itself, and leads back to the log once all is there.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_long_log_shows_how_far_it_is() {
    let house = House::pale().await;
    let log = house.page.replace("/course", "/log");
    let rows: String = (0..15_000)
        .map(|n| format!("{},1.0{:02}\n", 1_773_480_413 + 60 * n, n % 50))
        .collect();
    let boundary = "a-line-that-no-log-has";
    let field = |name: &str, value: &str| {
        format!(
            "--{boundary}\r\ncontent-disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n"
        )
    };
    let body = [
        field("text", &format!("time,sg\n{rows}")),
        field("do", "keep"),
        field("column.0", "seconds since 1970"),
        field("column.1", "gravity SG"),
        format!("--{boundary}--\r\n"),
    ];
    let send = |method: &str, path: &str, body: String| {
        let kind = format!("multipart/form-data; boundary={boundary}");
        let request = Request::builder()
            .method(method)
            .uri(path)
            .header("host", "localhost")
            .header("content-type", kind);
        house
            .router
            .clone()
            .oneshot(request.body(Body::from(body)).unwrap())
    };
    let sent = send("POST", &log, body.concat()).await.unwrap();
    let waits = sent.headers()["location"].to_str().unwrap().to_owned();
    assert!(waits.starts_with(&format!("{log}/keeping/")), "{waits}");
    let mut looked = 0;
    loop {
        let answer = send("GET", &waits, String::new()).await.unwrap();
        if let Some(to) = answer.headers().get("location") {
            assert_eq!(to, &format!("{log}#came"));
            break;
        }
        assert_eq!(answer.headers()["refresh"], "1");
        let page = to_bytes(answer.into_body(), 1 << 20).await.unwrap();
        let page = String::from_utf8(page.to_vec()).unwrap();
        assert!(
            page.contains("<progress") && page.contains("of 15001 lines"),
            "{page}"
        );
        looked += 1;
        assert!(looked < 2_000, "it never ends");
        tokio::time::sleep(std::time::Duration::from_millis(50)).await;
    }
    let answer = send("GET", &log, String::new()).await.unwrap();
    let page = to_bytes(answer.into_body(), 16 << 20).await.unwrap();
    assert!(String::from_utf8_lossy(&page).contains("15000"));
    // A number that nobody was given leads to the log as well.
    let none = send("GET", &format!("{log}/keeping/99"), String::new())
        .await
        .unwrap();
    assert_eq!(none.headers()["location"], format!("{log}#came"));
}
