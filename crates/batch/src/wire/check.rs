//! The JSON form of what reading a document found.

use schemars::JsonSchema;
use serde::Serialize;

use crate::document::Document;
use crate::reader;

/// What reading a document found.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Check {
    /// The version of this form: "gylewright/check/1".
    pub schema: &'static str,
    /// Whether the document can be used.
    pub fine: bool,
    /// The name of the batch, where it could be read.
    pub name: Option<String>,
    /// What is wrong, in the order of the document.
    pub faults: Vec<Fault>,
    /// The gaps that defaults filled.
    pub assumptions: Vec<Assumption>,
}

/// Something wrong in a document, and where.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Fault {
    /// The dotted path of the key.
    pub path: String,
    /// The line, from one.
    pub line: usize,
    /// The character in the line, from one.
    pub column: usize,
    /// The bytes of the document that it concerns.
    pub from_byte: usize,
    /// The byte behind the last one.
    pub to_byte: usize,
    /// What is wrong.
    pub message: String,
    /// What would be accepted.
    pub help: String,
}

/// A gap that a default filled.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Assumption {
    /// The dotted path of the key that was not given.
    pub path: String,
    /// What was taken instead.
    pub value: String,
    /// Where that comes from.
    pub source: String,
    /// How it was obtained: read, computed, from memory, common practice, judgement.
    pub mark: &'static str,
}

const SCHEMA: &str = "gylewright/check/1";

impl Check {
    /// A document that can be used.
    #[must_use]
    pub fn fine(document: &Document, assumptions: &[reader::Assumption]) -> Self {
        Self {
            schema: SCHEMA,
            fine: true,
            name: Some(document.batch.name.clone()),
            faults: Vec::new(),
            assumptions: assumptions.iter().map(Assumption::from).collect(),
        }
    }

    /// A document that cannot.
    #[must_use]
    pub fn faulty(faults: &[reader::Fault], text: &str) -> Self {
        Self {
            schema: SCHEMA,
            fine: false,
            name: None,
            faults: faults.iter().map(|f| Fault::new(f, text)).collect(),
            assumptions: Vec::new(),
        }
    }
}

impl Fault {
    fn new(fault: &reader::Fault, text: &str) -> Self {
        let (line, column) = fault.line_and_column(text);
        Self {
            path: fault.path.clone(),
            line,
            column,
            from_byte: fault.span.start,
            to_byte: fault.span.end,
            message: fault.message.clone(),
            help: fault.help.clone(),
        }
    }
}

impl From<&reader::Assumption> for Assumption {
    fn from(a: &reader::Assumption) -> Self {
        Self {
            path: a.path.clone(),
            value: a.value.clone(),
            source: a.source.clone(),
            mark: a.mark.words(),
        }
    }
}
