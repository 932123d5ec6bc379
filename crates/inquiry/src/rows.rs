//! The shape of the data files.

use std::collections::BTreeMap;

use serde::Deserialize;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Causes {
    pub source: String,
    pub mark: String,
    pub cause: Vec<CauseRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct CauseRow {
    pub key: String,
    pub name: String,
    pub stage: String,
    pub prior: String,
    pub mechanism: String,
    pub source: String,
    pub mark: String,
    pub moved_by: String,
    pub usual_because: String,
    pub remedy: String,
    pub cautions: Vec<String>,
    pub remedy_cost: f64,
    pub loss: f64,
    pub signs: Vec<SignRow>,
    pub shows: BTreeMap<String, String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct SignRow {
    pub finding: String,
    pub step: String,
    pub through: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Compounds {
    pub source: String,
    pub mark: String,
    pub compound: Vec<CompoundRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct CompoundRow {
    pub key: String,
    pub name: String,
    pub class: String,
    pub thresholds: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Findings {
    pub source: String,
    pub mark: String,
    pub finding: Vec<FindingData>,
    pub circumstance: Vec<CircumstanceRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct FindingData {
    pub key: String,
    pub name: String,
    pub sense: String,
    pub family: String,
    pub words: Vec<String>,
    pub group: Option<String>,
    pub leak: f64,
    #[serde(default)]
    pub told_by: Vec<String>,
    #[serde(default)]
    pub denied_by: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct CircumstanceRow {
    pub key: String,
    pub name: String,
    pub about: String,
    pub usual: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Tests {
    pub source: String,
    pub mark: String,
    pub test: Vec<TestRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct TestRow {
    pub key: String,
    pub name: String,
    pub how: String,
    pub kind: String,
    pub minutes: f64,
    pub money: usize,
    pub days: f64,
    pub if_positive: String,
    pub if_negative: String,
    pub settled_by: Vec<String>,
    pub cautions: Vec<String>,
    pub otherwise: f64,
    pub positive: BTreeMap<String, f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct FactRows {
    pub source: String,
    pub mark: String,
    pub fact: Vec<FactRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct FactRow {
    pub key: String,
    pub text: String,
    pub odds: BTreeMap<String, f64>,
}
