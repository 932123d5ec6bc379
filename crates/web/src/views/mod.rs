//! Views: pages of ready text. They hold no arithmetic.

pub mod batch;
pub mod bench;
pub mod brew_day;
pub mod certainty;
pub mod charts;
pub mod cleaning;
pub mod course;
mod fields;
pub mod form;
pub mod held;
pub mod history;
pub mod inquiry;
pub mod knowledge;
pub mod labels;
pub mod library;
pub mod liquor;
pub mod measure;
pub mod pitch;
pub mod report;
pub mod sheet;
pub mod steer;
pub mod stream;
pub mod take;
pub mod tasting;
pub mod text;
pub mod welcome;
mod wort;
