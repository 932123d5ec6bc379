//! Tastings: planned, kept, answered, judged.

use batch::tasting::Tasting;
use serde_json::json;

use crate::bench::Bench;

const PLAN: &str = "/api/tastings/plan";
const DOCUMENT: &str = "[tasting]\nname = \"beside\"\nbeer = \"ours\"\nreference = \"theirs\"\ntastings = \"6\"\nseed = \"3\"\n[[taster]]\nname = \"Ann\"\n";

#[tokio::test]
async fn a_plan_says_its_power() {
    let bench = Bench::new().await;
    let asked = json!({ "protocol": "triangle", "tastings": 6, "d_prime": 1.0 });
    let plan = bench.post_json(PLAN, asked).await;
    assert_eq!(plan.status, 200, "{}", plan.body);
    assert_eq!(plan.body["critical"], 5);
    // scipy: binom.sf(4, 6, 0.418047).
    assert!((plan.body["power"].as_f64().unwrap() - 0.050).abs() < 5e-4);
    let none = json!({ "protocol": "square", "tastings": 6, "d_prime": 1.0 });
    let none = bench.post_json(PLAN, none).await;
    assert_eq!(none.problem(422), "the plan cannot be reckoned");
    assert!(none.body["detail"].as_str().unwrap().contains("tetrad"));
    let absurd = json!({ "protocol": "tetrad", "tastings": 6, "d_prime": 99.0 });
    bench.post_json(PLAN, absurd).await.problem(422);
}

#[tokio::test]
async fn answers_are_kept_one_by_one_and_stay() {
    let bench = Bench::new().await;
    let made = bench.post_toml("/api/tastings", DOCUMENT).await;
    assert_eq!(made.status, 201, "{}", made.body);
    let at = made.header("location").to_owned();
    let (tasting, _) = Tasting::read(DOCUMENT).unwrap();
    for (place, serving) in tasting.design.servings.iter().enumerate() {
        let right = |code: &&u16| serving.right(tasting.protocol, &[**code]) == Some(true);
        let code = serving.codes.iter().find(right).unwrap().to_string();
        let given = json!({ "tasting": place + 1, "glass": code });
        let now = bench
            .post_json(&format!("{at}/answers"), given.clone())
            .await;
        assert_eq!((now.status, &now.body["right"]), (200, &json!(place + 1)));
        let twice = bench.post_json(&format!("{at}/answers"), given).await;
        twice.problem(422);
    }
    let result = bench.get(&at).await;
    assert_eq!(
        (&result.body["over"], &result.body["shown"]),
        (&json!(true), &json!(true))
    );
    assert_eq!(result.body["d_prime"]["value"], json!(null));
}

#[tokio::test]
async fn what_cannot_be_kept_is_told() {
    let bench = Bench::new().await;
    let faulty = DOCUMENT.replace("\"6\"", "\"many\"");
    let told = bench.post_toml("/api/tastings", &faulty).await;
    told.problem(422);
    assert!(
        told.body["faults"][0]["help"]
            .as_str()
            .unwrap()
            .contains("whole number")
    );
    bench.get("/api/tastings/nonsense").await.problem(400);
    // A batch is no tasting.
    let batch = bench.batch().await.replace("/batches/", "/tastings/");
    bench.get(&batch).await.problem(404);
}

/// The example of the manual of sensR: p = 0.02037, d' = 1.0364 (0.4425).
#[tokio::test]
async fn single_glasses_are_judged() {
    let bench = Bench::new().await;
    let ask = |alarms: u32| {
        json!({ "batch_called_other": 10, "batch_glasses": 20,
            "reference_called_other": alarms, "reference_glasses": 20 })
    };
    let shown = bench.post_json("/api/tastings/one-glass", ask(3)).await;
    assert_eq!(
        (shown.status, &shown.body["shown"]),
        (200, &json!(true)),
        "{}",
        shown.body
    );
    assert!((shown.body["d_prime"]["value"].as_f64().unwrap() - 1.0364).abs() < 5e-5);
    let not = bench.post_json("/api/tastings/one-glass", ask(9)).await;
    let cannot = not.body["cannot_say"].to_string();
    assert!(
        cannot.contains("That the beers are alike: 20 glasses of each see"),
        "{cannot}"
    );
    bench
        .post_json("/api/tastings/one-glass", ask(21))
        .await
        .problem(422);
}

#[tokio::test]
async fn points_are_kept_by_code() {
    let bench = Bench::new().await;
    let scored = DOCUMENT.replace("[tasting]\n", "[tasting]\nscored = \"clove\"\n");
    let (tasting, _) = Tasting::read(&scored).unwrap();
    let kept = bench.post_toml("/api/tastings", &scored).await;
    let at = kept.header("location").to_owned();
    let taster = &tasting.tasters[0];
    let points = |of: &[u16]| {
        let points: Vec<_> = of
            .iter()
            .map(|code| json!({ "code": code, "points": 3.5 }))
            .collect();
        json!({ "taster": taster, "scores": [{ "attribute": "clove", "points": points }] })
    };
    let codes = &tasting.scorings[0].codes;
    let half = bench
        .post_json(&format!("{at}/scores"), points(&codes[..1]))
        .await;
    half.problem(422);
    let now = bench
        .post_json(&format!("{at}/scores"), points(codes))
        .await;
    assert_eq!(
        now.body["attributes"][0]["mean"]["value"], 0.0,
        "{}",
        now.body
    );
    bench
        .post_json(&format!("{at}/scores"), points(codes))
        .await
        .problem(422);
}
