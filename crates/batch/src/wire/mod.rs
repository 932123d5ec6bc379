//! The JSON forms, each under a versioned schema. Numbers carry their unit in
//! the name of the field.

pub mod beside;
pub mod boil;
pub mod bottling;
pub mod brew_day;
pub mod certainty;
mod check;
pub mod cleaning;
pub mod comparing;
pub mod consent;
pub mod inquiry;
pub mod job;
pub mod kept;
pub mod learning;
pub mod liquor;
pub mod log;
pub mod mash;
pub mod matching;
mod measurement;
pub mod people;
pub mod pitch;
mod reckoning;
pub mod result;
pub mod steer;
pub mod story;
pub mod tables;
pub mod tasting;
pub mod watch;

use serde_json::Value;

pub use check::{Assumption, Check, Fault};
pub use measurement::{MeasuredFigure, Measurement};
pub use reckoning::*;

/// Makes the JSON Schema of a form.
pub type MakeSchema = fn() -> Value;

/// Every form by the name that faces ask for it under, with its JSON Schema.
pub const SCHEMAS: [(&str, MakeSchema); 44] = [
    ("batch", crate::document_schema),
    ("reckoning", reckoning_schema),
    ("certainty", certainty::certainty_schema),
    ("check", check_schema),
    ("cleaning-agents", cleaning::cleaning_agents_schema),
    ("cleaning-mix", cleaning::cleaning_mix_schema),
    ("cleaning-together", cleaning::cleaning_together_schema),
    ("batches", kept::batches_schema),
    ("comparison", comparing::comparison_schema),
    ("demos", kept::demos_schema),
    ("devices", kept::devices_schema),
    ("fermentation-course", watch::fermentation_course_schema),
    ("ingredient-table", tables::ingredient_table_schema),
    ("inquiry", inquiry::inquiry_schema),
    ("inquiry-search", story::inquiry_search_schema),
    ("inquiry-story", story::inquiry_story_schema),
    ("instruments", kept::instruments_schema),
    ("job", job::job_schema),
    ("jobs", job::jobs_schema),
    ("learning", learning::learning_schema),
    ("log", log::log_schema),
    ("match", matching::match_schema),
    ("measurement", measurement_schema),
    ("minerals", liquor::minerals::minerals_schema),
    ("move", matching::move_schema),
    ("package", bottling::bottling_schema),
    ("people", people::people_schema),
    ("pitch", pitch::pitch_schema),
    ("steer", steer::steer_schema),
    ("study", consent::study_schema),
    ("tasting", crate::tasting::Tasting::schema),
    ("tasting-one-glass", tasting::tasting_one_glass_schema),
    ("tasting-plan", tasting::tasting_plan_schema),
    ("tasting-result", tasting::tasting_result_schema),
    ("water-breakpoint", water_breakpoint_schema),
    ("water-chlorine", water_chlorine_schema),
    ("water-choice", liquor::choice::water_choice_schema),
    ("water-dissolved", liquor::dissolved::water_dissolved_schema),
    ("water-mash", liquor::reading::water_mash_schema),
    ("water-report", water_report_schema),
    ("wort-boil", boil::wort_boil_schema),
    ("wort-correct", brew_day::wort_correct_schema),
    ("wort-lauter", brew_day::wort_lauter_schema),
    ("wort-mash", mash::wort_mash_schema),
];

/// The JSON Schema of the form with a name.
#[must_use]
pub fn schema(name: &str) -> Option<Value> {
    let found = SCHEMAS.iter().find(|(known, _)| *known == name);
    found.map(|(_, make)| make())
}

/// The JSON Schema of a [`Reckoning`].
#[must_use]
pub fn reckoning_schema() -> Value {
    named::<Reckoning>("urn:gylewright:schema:reckoning:1")
}

/// The JSON Schema of a [`Check`].
#[must_use]
pub fn check_schema() -> Value {
    named::<Check>("urn:gylewright:schema:check:1")
}

/// The JSON Schema of a [`Measurement`].
#[must_use]
pub fn measurement_schema() -> Value {
    named::<Measurement>("urn:gylewright:schema:measurement:1")
}

/// The JSON Schema of a [`liquor::report::WaterReport`].
#[must_use]
pub fn water_report_schema() -> Value {
    named::<liquor::report::WaterReport>("urn:gylewright:schema:water-report:1")
}

/// The JSON Schema of [`liquor::chlorine::WaysOut`].
#[must_use]
pub fn water_chlorine_schema() -> Value {
    named::<liquor::chlorine::WaysOut>("urn:gylewright:schema:water-chlorine:1")
}

/// The JSON Schema of a [`liquor::chlorine::Breakpoint`].
#[must_use]
pub fn water_breakpoint_schema() -> Value {
    named::<liquor::chlorine::Breakpoint>("urn:gylewright:schema:water-breakpoint:1")
}

fn named<T: schemars::JsonSchema>(id: &str) -> Value {
    let mut schema = schemars::schema_for!(T).to_value();
    if let Value::Object(map) = &mut schema {
        map.insert("$id".to_owned(), Value::String(id.to_owned()));
    }
    schema
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_schema_is_found_under_the_name_that_its_own_identifier_has() {
        for (name, _) in SCHEMAS {
            let schema = schema(name).unwrap();
            let id = schema["$id"].as_str().unwrap();
            assert_eq!(id, format!("urn:gylewright:schema:{name}:1"));
        }
        assert_eq!(schema("cellar"), None);
    }
}
