//! Reading a report.

use serde_json::json;

use crate::bench::{Bench, JSON};

const TEXT: &str = "Calcium 96 ± 4 mg/L\nAlkalinity 230 mg/L\nGlimmer 12 furlongs\n";

#[tokio::test]
async fn a_report_is_read_asked_and_read_again() {
    let bench = Bench::new().await;
    let ask = |answers| json!({ "text": TEXT, "answers": answers }).to_string();
    let first = bench
        .send("POST", "/api/water/report", &[JSON], ask(json!({})))
        .await;
    assert_eq!(first.status, 200, "{}", first.body);
    let question = &first.body["questions"][0];
    assert_eq!(question["line"], 2);
    assert_eq!(
        first.body["lines"][2]["taken_as"][0]["as"],
        "not_understood"
    );
    let id = question["id"].as_str().unwrap();
    let second = bench
        .send(
            "POST",
            "/api/water/report",
            &[JSON],
            ask(json!({ id: "CaCO3" })),
        )
        .await;
    assert_eq!(second.body["questions"], json!([]));
    let source = second.body["waters"][0]["source"].as_array().unwrap();
    let alkalinity = source.iter().find(|row| row["key"] == "alkalinity");
    assert_eq!(alkalinity.unwrap()["value"], "230 mg/L as CaCO3");
}

#[tokio::test]
async fn what_is_no_report_is_refused() {
    let bench = Bench::new().await;
    let wrong = bench
        .send("POST", "/api/water/report", &[JSON], "{\"txt\": \"\"}")
        .await;
    assert_eq!(wrong.problem(422), "the body cannot be read");
    let long = json!({ "text": "x".repeat((1 << 20) + 1) }).to_string();
    let long = bench.send("POST", "/api/water/report", &[JSON], long).await;
    assert_eq!(long.problem(413), "the report is too large");
}
