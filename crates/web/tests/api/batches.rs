//! Batches: list, make, read, replace, edit.

use serde_json::{Value, json};

use crate::bench::{Answer, Bench, demo, faulty, renamed};

fn set(on: u32, path: &str, written: &str) -> Value {
    json!({ "on": on, "edits": [{ "set": { "path": path, "written": written } }] })
}

async fn text(bench: &Bench, path: &str) -> String {
    bench.get(path).await.body["text"]
        .as_str()
        .unwrap()
        .to_owned()
}

const CALCIUM: &str = "water.source[1].calcium";

#[tokio::test]
async fn a_batch_is_made_and_read_back_to_the_byte() {
    let bench = Bench::new().await;
    let made = bench.post_toml("/api/batches", demo()).await;
    assert_eq!(made.status, 201);
    assert_eq!(made.header("etag"), "\"1\"");
    assert_eq!(made.body["faults"], json!([]));
    let place = made.header("location");
    assert_eq!(
        place,
        format!("/api/batches/{}", made.body["id"].as_str().unwrap())
    );
    let read = bench.get(place).await;
    assert_eq!(read.status, 200);
    assert_eq!(read.header("etag"), "\"1\"");
    assert_eq!(read.body["text"], demo());
    assert_eq!(read.body["name"], "Lantern Pale, second brewing");
    assert_eq!(read.body["id"], made.body["id"]);
}

#[tokio::test]
async fn a_document_with_faults_is_kept_and_not_reckoned() {
    let bench = Bench::new().await;
    let made = bench.post_toml("/api/batches", &faulty()).await;
    assert_eq!(made.status, 201);
    assert_eq!(made.body["faults"][0]["path"], "batch.volume");
    let place = made.header("location");
    assert_eq!(text(&bench, place).await, faulty());
    let reckoning = bench.get(&format!("{place}/reckoning")).await;
    assert_eq!(
        reckoning.problem(422),
        "the document cannot be used as it is"
    );
    assert_eq!(reckoning.body["faults"], made.body["faults"]);
}

#[tokio::test]
async fn what_no_store_can_hold_is_refused() {
    let bench = Bench::new().await;
    let place = bench.batch().await;
    let made = bench.post_toml("/api/batches", "a\0").await;
    assert_eq!(made.problem(422), "this cannot be done");
    assert_eq!(
        bench.put(&place, "\"1\"", "a\0").await.problem(422),
        "this cannot be done"
    );
    assert_eq!(bench.get("/api/batches").await.body["total"], 1);
    assert_eq!(bench.get(&place).await.body["revision"], 1);
}

#[tokio::test]
async fn a_batch_is_reckoned_like_its_document() {
    let bench = Bench::new().await;
    let place = bench.batch().await;
    let kept = bench.get(&format!("{place}/reckoning")).await;
    assert_eq!((kept.status, kept.header("etag")), (200, "\"1\""));
    assert_eq!(kept.body, bench.post_toml("/api/reckon", demo()).await.body);
}

#[tokio::test]
async fn the_list_is_found_through_and_paged() {
    let bench = Bench::new().await;
    for n in 0..51 {
        let name = if n % 17 == 0 {
            format!("Stout {n}")
        } else {
            format!("Pale {n}")
        };
        bench
            .app
            .keep_batch(&format!("[batch]\nname = \"{name}\"\n"), "made")
            .await
            .unwrap();
    }
    let rows = |answer: &Answer| answer.body["batches"].as_array().unwrap().len();
    let first = bench.get("/api/batches").await;
    assert_eq!(
        (rows(&first), &first.body["pages"], &first.body["total"]),
        (50, &json!(2), &json!(51))
    );
    let second = bench.get("/api/batches?page=1").await;
    assert_eq!((rows(&second), &second.body["page"]), (1, &json!(1)));
    let found = bench.get("/api/batches?find=stout").await;
    assert_eq!((rows(&found), &found.body["pages"]), (3, &json!(1)));
    assert!(
        found.body["batches"][0]["name"]
            .as_str()
            .unwrap()
            .starts_with("Stout")
    );
    assert_eq!(
        rows(&bench.get("/api/batches?find=no%20such%25beer").await),
        0
    );
    assert_eq!(rows(&bench.get("/api/batches?page=4294967295").await), 0);
}

#[tokio::test]
async fn a_document_replaces_the_revision_that_was_read() {
    let bench = Bench::new().await;
    let place = bench.batch().await;
    let tag = bench.get(&place).await.header("etag").to_owned();
    let saved = bench
        .put(&place, &tag, &renamed("Lantern Pale, third brewing"))
        .await;
    assert_eq!((saved.status, saved.header("etag")), (200, "\"2\""));
    assert_eq!(saved.body["name"], "Lantern Pale, third brewing");
    let read = bench.get(&place).await;
    assert_eq!(read.header("etag"), "\"2\"");
    assert_eq!(read.body["text"], renamed("Lantern Pale, third brewing"));
}

#[tokio::test]
async fn a_stale_document_is_refused_and_both_are_kept() {
    let bench = Bench::new().await;
    let place = bench.batch().await;
    assert_eq!(
        bench.put(&place, "\"1\"", &renamed("mine")).await.status,
        200
    );
    let stale = bench.put(&place, "\"1\"", &renamed("theirs")).await;
    assert_eq!(stale.problem(412), "the batch has moved on in between");
    assert_eq!(stale.body["current"], 2);
    assert_eq!(text(&bench, &place).await, renamed("mine"));
    let kept = bench
        .get(&format!(
            "{place}/kept/{}",
            stale.body["kept_as"].as_str().unwrap()
        ))
        .await;
    assert_eq!(kept.status, 200);
    assert_eq!(kept.body["text"], renamed("theirs"));
    assert_eq!(
        (&kept.body["based_on"], &kept.body["met"]),
        (&json!(1), &json!(2))
    );
}

#[tokio::test]
async fn a_revision_that_never_was_is_stale_too() {
    let bench = Bench::new().await;
    let place = bench.batch().await;
    let stale = bench.put(&place, "\"7\"", &renamed("from elsewhere")).await;
    assert_eq!(stale.problem(412), "the batch has moved on in between");
    assert_eq!(stale.body["current"], 1);
    assert!(stale.body["kept_as"].is_string());
}

#[tokio::test]
async fn a_replacement_names_one_revision() {
    let bench = Bench::new().await;
    let place = bench.batch().await;
    let without = bench
        .send("PUT", &place, &[crate::bench::TOML], demo())
        .await;
    assert_eq!(without.problem(428), "say which revision you changed");
    for given in [
        "*",
        "1",
        "\"0\"",
        "\"-1\"",
        "W/\"1\"",
        "\"1\", \"2\"",
        "\"one\"",
        "",
    ] {
        let answer = bench.put(&place, given, &renamed("x")).await;
        assert_eq!(answer.problem(400), "the request cannot be read", "{given}");
    }
    assert_eq!(bench.get(&place).await.body["revision"], 1);
}

#[tokio::test]
async fn an_edit_says_what_it_moved() {
    let bench = Bench::new().await;
    let place = bench.batch().await;
    let edited = bench
        .post_json(&format!("{place}/edits"), set(1, CALCIUM, "60 ± 4 mg/L"))
        .await;
    assert_eq!((edited.status, edited.header("etag")), (200, "\"2\""));
    assert_eq!(edited.body["revision"], 2);
    assert_eq!(edited.body["change"], format!("{CALCIUM} = 60 ± 4 mg/L"));
    let moved = edited.body["moved"].as_array().unwrap();
    assert!(!moved.is_empty());
    for figure in moved {
        assert_ne!(
            figure["before"]["metric"], figure["after"]["metric"],
            "{figure}"
        );
    }
    // Less calcium in the tap, a higher pH of the mash: it must be among them.
    assert!(moved.iter().any(|f| f["stage"] == "mash"), "{moved:#?}");
    let now = text(&bench, &place).await;
    assert_eq!(now, demo().replace("\"104 ± 4 mg/L\"", "\"60 ± 4 mg/L\""));
}

#[tokio::test]
async fn entries_come_and_go() {
    let bench = Bench::new().await;
    let place = bench.batch().await;
    let edits = json!({ "on": 1, "edits": [
        { "add": { "list": "hop", "values": [
            { "key": "hop", "written": "Saaz" },
            { "key": "alpha", "written": "3.5 %" },
            { "key": "amount", "written": "10 g" },
            { "key": "used", "written": "boil" },
            { "key": "time", "written": "10 min" },
        ] } },
        { "remove": { "path": "hop[1]" } },
    ] });
    let edited = bench.post_json(&format!("{place}/edits"), edits).await;
    assert_eq!(edited.status, 200, "{}", edited.body);
    let entries = |text: &str| text.matches("[[hop]]").count();
    let now = text(&bench, &place).await;
    assert_eq!(entries(&now), entries(demo()));
    assert!(
        now.contains("hop = \"Saaz\"\nalpha = \"3.5 %\"\namount = \"10 g\""),
        "{now}"
    );
}

#[tokio::test]
async fn edits_that_change_nothing_save_nothing() {
    let bench = Bench::new().await;
    let place = bench.batch().await;
    for body in [
        set(1, CALCIUM, "104 ± 4 mg/L"),
        json!({ "on": 1, "edits": [] }),
    ] {
        let edited = bench.post_json(&format!("{place}/edits"), body).await;
        assert_eq!((edited.status, edited.header("etag")), (200, "\"1\""));
        assert_eq!(
            (&edited.body["change"], &edited.body["moved"]),
            (&Value::Null, &json!([]))
        );
    }
}

#[tokio::test]
async fn edits_of_different_values_do_not_stand_in_each_others_way() {
    let bench = Bench::new().await;
    let edits = format!("{}/edits", bench.batch().await);
    assert_eq!(
        bench
            .post_json(&edits, set(1, CALCIUM, "60 mg/L"))
            .await
            .status,
        200
    );
    let other = bench
        .post_json(&edits, set(1, "batch.volume", "19 L"))
        .await;
    assert_eq!((other.status, &other.body["revision"]), (200, &json!(3)));
    let now = text(&bench, edits.trim_end_matches("/edits")).await;
    assert!(
        now.contains("\"60 mg/L\"") && now.contains("\"19 L\""),
        "{now}"
    );
}

#[tokio::test]
async fn a_conflict_keeps_both_versions() {
    let bench = Bench::new().await;
    let place = bench.batch().await;
    let edits = format!("{place}/edits");
    assert_eq!(
        bench
            .post_json(&edits, set(1, CALCIUM, "60 mg/L"))
            .await
            .status,
        200
    );
    let conflict = bench.post_json(&edits, set(1, CALCIUM, "80 mg/L")).await;
    assert_eq!(conflict.problem(409), "the batch has moved on in between");
    assert_eq!(conflict.body["path"], CALCIUM);
    let kept = bench
        .get(&format!(
            "{place}/kept/{}",
            conflict.body["kept_as"].as_str().unwrap()
        ))
        .await;
    assert!(kept.body["text"].as_str().unwrap().contains("\"80 mg/L\""));
    assert!(text(&bench, &place).await.contains("\"60 mg/L\""));
    assert_eq!(bench.get(&place).await.body["revision"], 2);
}

#[tokio::test]
async fn an_edit_that_brings_faults_is_refused() {
    let bench = Bench::new().await;
    let place = bench.batch().await;
    let refused = bench
        .post_json(
            &format!("{place}/edits"),
            set(1, "batch.volume", "a bathtub"),
        )
        .await;
    assert_eq!(refused.problem(422), "the document cannot be used as it is");
    let fault = &refused.body["faults"][0];
    assert_eq!(fault["path"], "batch.volume");
    let line = demo()
        .lines()
        .position(|l| l.starts_with("volume"))
        .unwrap()
        + 1;
    assert_eq!(fault["line"], line);
    assert_eq!(bench.get(&place).await.body["revision"], 1);
}

#[tokio::test]
async fn edits_that_cannot_be_made_are_refused() {
    let bench = Bench::new().await;
    let edits = format!("{}/edits", bench.batch().await);
    let nowhere = bench
        .post_json(&edits, set(1, "hop[99].amount", "1 g"))
        .await;
    assert_eq!(nowhere.problem(422), "this cannot be done");
    assert_eq!(nowhere.body["path"], "hop[99].amount");
    let no_path = bench.post_json(&edits, set(1, "hop[[", "1 g")).await;
    assert_eq!(
        (no_path.status, &no_path.body["path"]),
        (422, &json!("hop[["))
    );
    let never = bench.post_json(&edits, set(9, CALCIUM, "1 mg/L")).await;
    assert_eq!(never.problem(422), "the batch has no such version");
    assert_eq!(
        bench
            .post_json(&edits, set(0, CALCIUM, "1 mg/L"))
            .await
            .status,
        422
    );
}

#[tokio::test]
async fn many_edits_are_made_and_too_many_are_not() {
    let bench = Bench::new().await;
    let edits = format!("{}/edits", bench.batch().await);
    let many = |n: usize| {
        let one = json!({ "set": { "path": "batch.volume", "written": "20 L" } });
        json!({ "on": 1, "edits": vec![one; n] })
    };
    let most = crate::described::DOCUMENT["components"]["schemas"]["EditRequest"]["properties"]["edits"]["maxItems"]
        .as_u64()
        .unwrap();
    let most = usize::try_from(most).unwrap();
    assert_eq!(bench.post_json(&edits, many(most)).await.status, 200);
    let refused = bench.post_json(&edits, many(most + 1)).await;
    assert_eq!(refused.problem(422), "these are too many edits at once");
}
