//! A row of the study: what a gathering takes of one batch.

use std::sync::Arc;

use datafusion::arrow::array::{
    ArrayRef, BooleanArray, Float64Array, RecordBatch, StringArray, UInt64Array,
};
use datafusion::arrow::datatypes::{DataType, Field, Schema, SchemaRef};
use datafusion::arrow::error::ArrowError;

/// A column: what the dictionary says of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Column {
    /// Its name.
    pub name: &'static str,
    /// What it holds.
    pub holds: Holds,
    /// The unit of its numbers.
    pub unit: &'static str,
    /// What its numbers are rounded to; nought for what is no number.
    pub step: f64,
    /// What it says.
    pub about: &'static str,
}

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Holds {
    /// A number that stands for one thing within a gathering, and for nothing outside it.
    Pseudonym,
    /// A word of a table.
    Word,
    /// A number.
    Number,
    /// Yes or no.
    Flag,
}

impl Holds {
    /// In a word, with the type of Parquet.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Pseudonym => "pseudonym (UInt64)",
            Self::Word => "word (String)",
            Self::Number => "number (Float64)",
            Self::Flag => "yes or no (Boolean)",
        }
    }

    const fn kind(self) -> DataType {
        match self {
            Self::Pseudonym => DataType::UInt64,
            Self::Word => DataType::Utf8,
            Self::Number => DataType::Float64,
            Self::Flag => DataType::Boolean,
        }
    }
}

macro_rules! rust_type {
    (Pseudonym) => { u64 };
    (Word) => { Option<String> };
    (Number) => { Option<f64> };
    (Flag) => { Option<bool> };
}

macro_rules! array {
    (Pseudonym $rows:ident $name:ident) => {
        Arc::new(UInt64Array::from_iter_values($rows.iter().map(|r| r.$name))) as ArrayRef
    };
    (Word $rows:ident $name:ident) => {
        Arc::new(StringArray::from_iter(
            $rows.iter().map(|r| r.$name.as_deref()),
        )) as ArrayRef
    };
    (Number $rows:ident $name:ident) => {
        Arc::new(Float64Array::from_iter($rows.iter().map(|r| r.$name))) as ArrayRef
    };
    (Flag $rows:ident $name:ident) => {
        Arc::new(BooleanArray::from_iter($rows.iter().map(|r| r.$name))) as ArrayRef
    };
}

macro_rules! round {
    (Number $row:ident $name:ident $step:literal) => {
        $row.$name = $row
            .$name
            .filter(|x| x.is_finite())
            .map(|x| to_step(x, $step));
    };
    ($other:ident $row:ident $name:ident $step:literal) => {};
}

macro_rules! columns {
    ($($holds:ident $name:ident $unit:literal $step:literal $about:literal;)+) => {
        /// One batch.
        #[derive(Debug, Clone, Default, PartialEq)]
        pub struct Row {
            $(#[doc = $about] pub $name: rust_type!($holds),)+
        }

        /// Every column, in the order of the files.
        pub const COLUMNS: &[Column] = &[
            $(Column {
                name: stringify!($name),
                holds: Holds::$holds,
                unit: $unit,
                step: $step,
                about: $about,
            },)+
        ];

        fn arrays(rows: &[Row]) -> Vec<ArrayRef> {
            vec![$(array!($holds rows $name),)+]
        }

        impl Row {
            /// The same with its numbers as coarse as the dictionary says.
            #[must_use]
            pub fn rounded(mut self) -> Self {
                let row = &mut self;
                $(round!($holds row $name $step);)+
                self
            }
        }
    };
}

columns! {
    Pseudonym owner "" 0.0 "Whose batch it is: a random number, drawn anew for each gathering and kept nowhere else. It is there so that answers can leave out what too few owners say.";
    Pseudonym batch "" 0.0 "Which batch: a random number likewise. The rows lie in the order of these numbers, so that their order says nothing.";
    Number quarter "" 1.0 "The quarter of the year in which it was brewed, 1 to 4, without the year.";
    Word class "" 0.0 "The class of the yeast, of the table of strain classes; never the name of a yeast.";
    Number pitch_rate "10⁶ cells/mL/°P" 0.05 "Living cells pitched, as planned.";
    Number pitch_ratio "cells/cells" 0.05 "Living cells pitched over those that the plan needs.";
    Number pitch_temperature "°C" 0.5 "Temperature of the wort at pitching, as planned.";
    Number temperature "°C" 0.5 "Mean temperature of the beer over the first three days: of the readings where there are some, else of the plan.";
    Number highest_temperature "°C" 0.5 "Highest temperature of the fermenting beer, of the readings where there are some, else of the plan.";
    Number og_planned "°P" 0.1 "Original gravity as planned.";
    Number og_low "°P" 0.1 "One time in twenty a reading of it should come out lower, the reading's own error counted in.";
    Number og_high "°P" 0.1 "One time in twenty a reading of it should come out higher.";
    Number og_read "°P" 0.1 "Original gravity by the readings alone.";
    Number og_place "share" 0.005 "Share of its forecast that lies below what was read: the middle of its hundredth, taken before anything was rounded.";
    Number fg_planned "°P" 0.1 "Final gravity as expected before any reading.";
    Number fg_low "°P" 0.1 "One time in twenty it should come out lower.";
    Number fg_high "°P" 0.1 "One time in twenty it should come out higher.";
    Number fg_read "°P" 0.1 "Final gravity of a fermentation that the readings say has finished.";
    Number fg_place "share" 0.005 "Share of its forecast that lies below what was read: the middle of its hundredth, taken before anything was rounded.";
    Number attenuation_planned "share" 0.01 "Apparent attenuation as expected before any reading.";
    Number attenuation_low "share" 0.01 "One time in twenty a reading of it should come out lower, the reading's own error counted in.";
    Number attenuation_high "share" 0.01 "One time in twenty a reading of it should come out higher.";
    Number attenuation_read "share" 0.01 "Apparent attenuation by the readings alone, of a fermentation that has finished.";
    Number attenuation_place "share" 0.005 "Share of its forecast that lies below what was read: the middle of its hundredth, taken before anything was rounded.";
    Number days_planned "d" 0.5 "Days from pitching until a point of gravity or less is left, as expected before any reading.";
    Number days_low "d" 0.5 "One time in twenty it should be sooner.";
    Number days_high "d" 0.5 "One time in twenty it should be later.";
    Number days_read "d" 0.5 "The same by the readings, of a fermentation that has finished.";
    Number days_place "share" 0.005 "Share of its forecast that lies below what was read: the middle of its hundredth, taken before anything was rounded.";
    Number yield_planned "share" 0.01 "Extract in the kettle over the laboratory extract of all that was used, as planned.";
    Number yield_low "share" 0.01 "One time in twenty a reading of it should come out lower, the reading's own error counted in.";
    Number yield_high "share" 0.01 "One time in twenty a reading of it should come out higher.";
    Number yield_read "share" 0.01 "The same by the readings of the brew day alone.";
    Number yield_place "share" 0.005 "Share of its forecast that lies below what was read: the middle of its hundredth, taken before anything was rounded.";
    Number residual_alkalinity "mg/L as CaCO₃" 10.0 "Residual alkalinity of the water as drawn.";
    Number calcium "mg/L" 5.0 "Calcium of the water as drawn.";
    Number chloride "mg/L" 5.0 "Chloride of the water as drawn.";
    Number sulfate "mg/L" 10.0 "Sulfate of the water as drawn.";
    Word chlorine "" 0.0 "What keeps the water as drawn: none, free chlorine or chloramine; as measured or judged.";
    Flag esters "" 0.0 "Whether fruity esters (isoamyl acetate) were tasted; no value where nobody says.";
    Word cause "" 0.0 "The likeliest cause of what was found, of the table of causes, before any test of it.";
    Number cause_chance "" 0.05 "The chance that was said of that cause.";
    Flag cause_confirmed "" 0.0 "Whether a test or a remedy bore that cause out (yes) or spoke against it (no); no value where neither was tried or it decided nothing.";
}

fn to_step(x: f64, step: f64) -> f64 {
    // Through the inverse where that is whole, so that 0.01 does not leave 0.7000000000000001.
    let inverse = (1.0 / step).round();
    if step < 1.0 {
        (x * inverse).round() / inverse
    } else {
        (x / step).round() * step
    }
}

/// The columns as the engine has them.
#[must_use]
pub fn schema() -> SchemaRef {
    let field = |c: &Column| Field::new(c.name, c.holds.kind(), c.holds != Holds::Pseudonym);
    Arc::new(Schema::new(COLUMNS.iter().map(field).collect::<Vec<_>>()))
}

/// Rows as the engine has them.
///
/// # Errors
/// [`ArrowError`] if the columns do not fit their schema, which would be a defect.
pub fn record_batch(rows: &[Row]) -> Result<RecordBatch, ArrowError> {
    RecordBatch::try_new(schema(), arrays(rows))
}

/// The dictionary of the columns, as a table in Markdown.
#[must_use]
pub fn dictionary() -> String {
    let mut table =
        "| column | holds | unit | rounded to | what it says |\n|---|---|---|---|---|\n".to_owned();
    for c in COLUMNS {
        let dash = |text: &str| {
            if text.is_empty() {
                "–".to_owned()
            } else {
                text.to_owned()
            }
        };
        let step = if c.step > 0.0 {
            c.step.to_string()
        } else {
            String::new()
        };
        let (unit, step) = (dash(c.unit), dash(&step));
        table.push_str(&format!(
            "| `{}` | {} | {unit} | {step} | {} |\n",
            c.name,
            c.holds.word(),
            c.about
        ));
    }
    table
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_as_coarse_as_the_dictionary_says() {
        let row = Row {
            attenuation_read: Some(0.777_7),
            days_read: Some(6.26),
            residual_alkalinity: Some(-23.0),
            pitch_ratio: Some(1.013),
            og_read: Some(f64::NAN),
            ..Row::default()
        }
        .rounded();
        assert_eq!(row.attenuation_read, Some(0.78));
        assert_eq!(row.days_read, Some(6.5));
        assert_eq!(row.residual_alkalinity, Some(-20.0));
        assert_eq!(row.pitch_ratio, Some(1.0));
        assert_eq!(row.og_read, None);
    }

    #[test]
    fn rows_fit_their_schema() {
        let batch = record_batch(&[Row::default(), Row::default()]).unwrap();
        assert_eq!((batch.num_rows(), batch.num_columns()), (2, COLUMNS.len()));
    }

    #[test]
    fn the_dictionary_in_the_documents_is_that_of_the_code() {
        let page = include_str!("../../docs/study.md");
        assert!(
            page.contains(&dictionary()),
            "put this into docs/study.md:\n{}",
            dictionary()
        );
    }

    #[test]
    fn no_column_could_hold_a_text_of_a_brewer() {
        let words = COLUMNS
            .iter()
            .filter(|c| c.holds == Holds::Word)
            .map(|c| c.name);
        assert_eq!(words.collect::<Vec<_>>(), ["class", "chlorine", "cause"]);
    }
}
