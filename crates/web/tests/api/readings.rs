//! Readings of a batch: a sensor sends a pack, and what was kept comes back.

use serde_json::json;

use crate::bench::Bench;

#[tokio::test]
async fn a_pack_is_kept_once_and_comes_back_with_its_text() {
    let bench = Bench::new().await;
    let made = bench.batch().await;
    let at = format!("{made}/readings");
    let pack = json!([
        { "bn": "float-1/", "bt": 1_773_480_413, "n": "sg", "u": "/", "v": 1.048 },
        { "n": "temperature", "u": "Cel", "v": 19.5 },
        { "n": "light", "u": "lm", "v": 3 }
    ]);
    let first = bench.post_json(&at, pack.clone()).await;
    assert_eq!(first.status, 200, "{}", first.body);
    let kept = &first.body["kept"];
    assert_eq!(
        (&kept["rows"], &kept["added"], &kept["refusals"]),
        (&json!(3), &json!(2), &json!(1))
    );
    assert!(
        kept["refused"][0]["why"]
            .as_str()
            .unwrap()
            .contains("not understood")
    );
    let again = bench.post_json(&at, pack).await;
    assert_eq!(
        (&again.body["kept"]["added"], &again.body["kept"]["already"]),
        (&json!(0), &json!(2))
    );
    let read = bench.get(&at).await;
    let channels = read.body["channels"].as_array().unwrap();
    assert_eq!(channels.len(), 2);
    assert_eq!(channels[0]["quantity"], "gravity");
    assert_eq!(channels[0]["instrument"], "float-1");
    let reading = &channels[0]["readings"][0];
    assert!((reading["value"].as_f64().unwrap() - 11.922).abs() < 1e-3);
    assert!(reading["raw"].as_str().unwrap().contains("1.048"));
}

#[tokio::test]
async fn what_is_no_pack_and_what_is_no_batch_are_problems() {
    let bench = Bench::new().await;
    let made = bench.batch().await;
    let at = format!("{made}/readings");
    bench
        .post_json(&at, json!({ "sg": 1.048 }))
        .await
        .problem(422);
    let nowhere = "/api/batches/01900000-0000-7000-8000-000000000000/readings";
    bench
        .post_json(nowhere, json!([{ "n": "a", "u": "Cel", "v": 19 }]))
        .await
        .problem(404);
    bench.get(nowhere).await.problem(404);
}

#[tokio::test]
async fn a_device_sends_with_its_token_to_the_batch_that_it_writes_to() {
    let bench = Bench::new().await;
    let made = bench.batch().await;
    let batch = made.rsplit('/').next().unwrap().parse().unwrap();
    let device = bench.app.make_device("float", batch).await.unwrap();
    let pack = json!([{ "n": "float/sg", "u": "/", "v": 1.048 }, { "n": "x", "u": "lm", "v": 1 }]);
    let bearer = |token: &str| format!("Bearer {token}");
    let send = async |authorization: &str| {
        let headers = [crate::bench::JSON, ("authorization", authorization)];
        bench
            .send("POST", "/api/readings", &headers, pack.to_string())
            .await
    };
    let kept = send(&bearer(&device.token)).await;
    assert_eq!(kept.status, 200, "{}", kept.body);
    assert_eq!(
        (&kept.body["kept"]["added"], &kept.body["kept"]["refusals"]),
        (&json!(1), &json!(1))
    );
    let read = bench.get(&format!("{made}/readings")).await;
    assert_eq!(read.body["channels"][0]["ucum"], "%{Plato}");
    let arrival = &read.body["deliveries"][0];
    assert_eq!(
        (&arrival["source"], &arrival["refused"]),
        (&json!("device float"), &json!(1))
    );
    let remark = &read.body["remarks"][0];
    assert_eq!(
        (&remark["row"], &remark["fate"]),
        (&json!(2), &json!("refused"))
    );
    assert!(remark["raw"].as_str().unwrap().contains("lm"));

    for wrong in ["Bearer nothing", "Basic Zm9v", &bearer("")] {
        let refused = send(wrong).await;
        refused.problem(401);
        assert_eq!(refused.header("www-authenticate"), "Bearer");
    }
    bench.app.revoke_device(device.device.id).await.unwrap();
    send(&bearer(&device.token)).await.problem(401);
    let heard = bench.app.devices().await.unwrap()[0].heard_at;
    assert!(heard.is_some());
}
