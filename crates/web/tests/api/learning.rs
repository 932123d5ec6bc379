//! What the batches of the store teach one.

use crate::bench::{Bench, demo, faulty};

const READ: &str = "\n[[brew_day.reading]]\nat = \"kettle full\"\nvolume = \"27.6 ± 0.2 L\"\nvolume_at = \"90 °C\"\n\
    \n[[brew_day.reading]]\nat = \"end of boil\"\nvolume = \"24.4 ± 0.2 L\"\nvolume_at = \"95 °C\"\n";

async fn kept(bench: &Bench, text: &str) -> String {
    let made = bench.post_toml("/api/batches", text).await;
    assert_eq!(made.status, 201, "{}", made.body);
    made.body["id"].as_str().unwrap().to_owned()
}

#[tokio::test]
async fn the_others_teach_a_batch_and_it_does_not_teach_itself() {
    let bench = Bench::new().await;
    let read = kept(&bench, &format!("{}{READ}", demo())).await;
    let plan = kept(&bench, demo()).await;
    let answer = bench
        .get(&format!("/api/batches/{plan}/learning?half_life=5"))
        .await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    assert_eq!(answer.body["half_life_batches"], 5.0);
    assert_eq!(answer.body["batches"][0]["id"], read.as_str());
    let values = answer.body["values"].as_array().unwrap();
    assert!(values.iter().any(|v| v["key"] == "kit.evaporation"));
    assert_eq!(answer.body["plans_check"]["verdict"], "too few to tell");
    let months = bench
        .get(&format!(
            "/api/batches/{plan}/learning?half_life=18%20months"
        ))
        .await;
    assert_eq!(months.body["half_life_months"], 18.0, "{}", months.body);
    assert!(months.body["half_life_batches"].is_null());
    assert!(months.body["waters"].is_array() && months.body["tasters"].is_array());
    let own = bench.get(&format!("/api/batches/{read}/learning")).await;
    assert!(own.body["constants"].as_array().unwrap().is_empty());
}

#[tokio::test]
async fn what_cannot_be_learned_is_told() {
    let bench = Bench::new().await;
    let plan = kept(&bench, demo()).await;
    let answer = bench
        .get(&format!("/api/batches/{plan}/learning?half_life=0"))
        .await;
    assert_eq!(answer.status, 422);
    assert!(
        answer.body.to_string().contains("0.1 to 10000"),
        "{}",
        answer.body
    );
    let faulty = kept(&bench, &faulty()).await;
    let answer = bench.get(&format!("/api/batches/{faulty}/learning")).await;
    assert_eq!(answer.status, 422, "{}", answer.body);
}
