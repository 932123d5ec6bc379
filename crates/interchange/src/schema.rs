//! The standard's own schema, built in.

use std::sync::LazyLock;

use jsonschema::error::ValidationErrorKind;
use jsonschema::{Registry, Resource, Validator};
use serde_json::Value;

use crate::ReadError;

/// The version that is written: the number that every state of the standard takes (see
/// data/README.md).
pub const VERSION: f64 = 2.06;

/// Versions that some state of the standard counts.
pub(crate) const KNOWN: [f64; 5] = [1.0, 1.1, 2.01, VERSION, 3.0];

/// More faults than these help nobody.
const MOST: usize = 50;

/// A place that is not as the standard has it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JsonFault {
    /// A JSON pointer (RFC 6901); empty for the whole file.
    pub pointer: String,
    /// What is wrong.
    pub message: String,
    /// What would work.
    pub help: String,
}

impl std::fmt::Display for JsonFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self {
            pointer,
            message,
            help,
        } = self;
        let at = if pointer.is_empty() { "/" } else { pointer };
        write!(f, "{at}: {message}; {help}")
    }
}

const ROOT: &str = include_str!("../data/schema/beer.json");

const PARTS: [&str; 19] = [
    include_str!("../data/schema/boil.json"),
    include_str!("../data/schema/boil_step.json"),
    include_str!("../data/schema/culture.json"),
    include_str!("../data/schema/equipment.json"),
    include_str!("../data/schema/fermentable.json"),
    include_str!("../data/schema/fermentation.json"),
    include_str!("../data/schema/fermentation_step.json"),
    include_str!("../data/schema/hop.json"),
    include_str!("../data/schema/mash.json"),
    include_str!("../data/schema/mash_step.json"),
    include_str!("../data/schema/measureable_units.json"),
    include_str!("../data/schema/misc.json"),
    include_str!("../data/schema/packaging.json"),
    include_str!("../data/schema/packaging_graphic.json"),
    include_str!("../data/schema/packaging_vessel.json"),
    include_str!("../data/schema/recipe.json"),
    include_str!("../data/schema/style.json"),
    include_str!("../data/schema/timing.json"),
    include_str!("../data/schema/water.json"),
];

static SCHEMA: LazyLock<Validator> = LazyLock::new(|| match build() {
    Ok(validator) => validator,
    #[expect(clippy::panic, reason = "a broken built-in file is a defect of the program")]
    Err(error) => panic!("the built-in schema: {error}"),
});

fn build() -> Result<Validator, Box<dyn std::error::Error>> {
    let mut registry = Registry::new();
    for part in PARTS {
        let part: Value = serde_json::from_str(part)?;
        let id = part["$id"].as_str().unwrap_or_default().to_owned();
        registry = registry.add(id, Resource::from_contents(part))?;
    }
    let registry = registry.prepare()?;
    let root: Value = serde_json::from_str(ROOT)?;
    Ok(jsonschema::options()
        .with_registry(&registry)
        .build(&root)?)
}

/// Whether a value is as the standard has it. Members that this state of the standard
/// does not know are no fault: a later one may, and the report lists what is not read.
pub(crate) fn check(value: &Value) -> Result<(), ReadError> {
    let faults: Vec<JsonFault> = SCHEMA
        .iter_errors(value)
        .filter(|error| {
            let root = error.instance_path().as_str().is_empty();
            root || !matches!(
                error.kind(),
                ValidationErrorKind::AdditionalProperties { .. }
                    | ValidationErrorKind::UnevaluatedProperties { .. }
            )
        })
        .take(MOST)
        .map(|error| JsonFault {
            pointer: error.instance_path().to_string(),
            message: short(&error.to_string()),
            help: help(error.kind(), error.instance_path().as_str()),
        })
        .collect();
    if faults.is_empty() {
        Ok(())
    } else {
        Err(ReadError::NotTheStandard { faults })
    }
}

fn help(kind: &ValidationErrorKind, pointer: &str) -> String {
    match kind {
        ValidationErrorKind::Required { property } => {
            format!("add {}", property.as_str().unwrap_or_default())
        }
        ValidationErrorKind::Enum { options } => {
            format!("one of {} would work", short(&options.to_string()))
        }
        ValidationErrorKind::Type { .. } if pointer.is_empty() => {
            "an object with the member beerjson would work".to_owned()
        }
        ValidationErrorKind::Type { kind } => format!("give {}", type_words(kind)),
        ValidationErrorKind::OneOfNotValid { .. } | ValidationErrorKind::AnyOf { .. } => {
            "an amount such as {\"unit\": \"g\", \"value\": 10} would work".to_owned()
        }
        ValidationErrorKind::AdditionalProperties { .. } => {
            "the one member of the file is beerjson".to_owned()
        }
        ValidationErrorKind::MinItems { limit } => format!("give at least {limit}"),
        ValidationErrorKind::Pattern { .. } => "a day such as 2027-03-14 would work".to_owned(),
        _ => "the schema of the standard says what would work".to_owned(),
    }
}

fn type_words(kind: &jsonschema::error::TypeKind) -> String {
    match kind {
        jsonschema::error::TypeKind::Single(one) => format!("a value of the type {one}"),
        jsonschema::error::TypeKind::Multiple(_) => "a value of another type".to_owned(),
    }
}

/// A message may quote half a file.
fn short(message: &str) -> String {
    const LONGEST: usize = 200;
    if message.chars().count() <= LONGEST {
        return message.to_owned();
    }
    // What is wrong stands at the end, behind what it quotes.
    let (head, tail): (String, String) = (
        message.chars().take(LONGEST / 2).collect(),
        message
            .chars()
            .skip(message.chars().count() - LONGEST / 2)
            .collect(),
    );
    format!("{head} … {tail}")
}
