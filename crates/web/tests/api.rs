//! The HTTP API from outside. Every answer that a test receives is held against
//! the schema that the OpenAPI document gives for its route and status.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

#[path = "api/batches.rs"]
mod batches;
#[path = "api/bench.rs"]
mod bench;
#[path = "api/brew_day.rs"]
mod brew_day;
#[path = "api/certainty.rs"]
mod certainty;
#[path = "api/chlorine.rs"]
mod chlorine;
#[path = "api/choice.rs"]
mod choice;
#[path = "api/cleaning.rs"]
mod cleaning;
#[path = "api/comparing.rs"]
mod comparing;
#[path = "api/course.rs"]
mod course;
#[path = "api/described.rs"]
mod described;
#[path = "api/description.rs"]
mod description;
#[path = "api/dissolved.rs"]
mod dissolved;
#[path = "api/history.rs"]
mod history;
#[path = "api/inquiry.rs"]
mod inquiry;
#[path = "api/jobs.rs"]
mod jobs;
#[path = "api/learning.rs"]
mod learning;
#[path = "api/matching.rs"]
mod matching;
#[path = "api/measure.rs"]
mod measure;
#[path = "api/minerals.rs"]
mod minerals;
#[path = "api/model.rs"]
mod model;
#[path = "api/pitch.rs"]
mod pitch;
#[path = "api/reading.rs"]
mod reading;
#[path = "api/readings.rs"]
mod readings;
#[path = "api/recipes.rs"]
mod recipes;
#[path = "api/refusals.rs"]
mod refusals;
#[path = "api/report.rs"]
mod report;
#[path = "api/steer.rs"]
mod steer;
#[path = "api/tables.rs"]
mod tables;
#[path = "api/tasting.rs"]
mod tasting;
