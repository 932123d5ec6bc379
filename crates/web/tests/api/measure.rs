//! The small tools beside the kettle.

use crate::bench::Bench;

/// OIML R 22 (1975) prints 956.42 kg/m³ for 31 % mass at 13 °C.
#[tokio::test]
async fn a_density_is_answered_with_its_strength() {
    let bench = Bench::new().await;
    let answer = bench
        .get("/api/measure/spirit?reading=956.42%20kg%2Fm3&at=13%20%C2%B0C")
        .await;
    assert_eq!(answer.status, 200, "{}", answer.body);
    let figures = answer.body["figures"].as_array().unwrap();
    let mass = figures.iter().find(|f| f["key"] == "alcohol_by_mass");
    let mass = mass.unwrap()["value"].as_f64().unwrap();
    assert!((mass - 31.0).abs() < 0.003, "{mass}");
    assert_eq!(answer.body["cautions"][0]["key"], "distilling");
}

#[tokio::test]
async fn a_reading_that_cannot_be_used_is_a_fault_of_its_own_name() {
    let bench = Bench::new().await;
    let answer = bench
        .get("/api/measure/hydrometer?reading=1.048&at=28%20Q")
        .await;
    assert_eq!(
        answer.problem(422),
        "the readings cannot be used as they are"
    );
    let fault = &answer.body["faults"][0];
    assert_eq!(
        (&fault["path"], &fault["from_byte"]),
        (&"at".into(), &3.into())
    );
    let answer = bench.get("/api/measure/dilute").await;
    assert_eq!(answer.body["faults"].as_array().unwrap().len(), 3);
    let unknown = bench.get("/api/measure/dilute?colour=8").await;
    assert_eq!(unknown.problem(400), "the request cannot be read");
}
