//! The tables of malts and hops.

use crate::bench::Bench;

#[tokio::test]
async fn each_figure_has_its_mark_and_a_part_of_the_name_finds_it() {
    let bench = Bench::new().await;
    let found = bench.get("/api/malts?find=pilsner").await;
    assert_eq!(found.status, 200, "{}", found.body);
    let row = &found.body["rows"][0];
    assert_eq!(row["name"], "pilsner malt");
    for figure in row["figures"].as_array().unwrap() {
        assert!(!figure["mark"].as_str().unwrap().is_empty(), "{figure}");
    }
    let odd = bench.get("/api/malts?name=pilsner").await;
    assert_eq!(odd.problem(400), "the request cannot be read");
    let hops = bench.get("/api/hops").await;
    assert_eq!(
        hops.body["rows"].as_array().unwrap().len(),
        batch::tables::hops(quantity::Units::Metric).len()
    );
}
