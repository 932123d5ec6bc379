//! What the keys of a document are, for its published schema.

use serde_json::{Map, Value, json};

/// A key of the document.
#[derive(Debug, Clone, PartialEq)]
pub struct FieldDoc {
    /// Its dotted path; `[]` stands behind a list of tables.
    pub path: String,
    /// What it means.
    pub doc: &'static str,
    /// What it holds.
    pub kind: Kind,
    /// Whether it must be given.
    pub need: Need,
}

/// What a key holds.
#[derive(Debug, Clone, PartialEq)]
pub enum Kind {
    /// A table.
    Table,
    /// A list of tables.
    Tables,
    /// A quantity written as text.
    Quantity {
        /// Its name.
        name: &'static str,
        /// The units accepted.
        units: Vec<&'static str>,
    },
    /// Free text.
    Text,
    /// One of a few words.
    Choice(Vec<String>),
}

/// Whether a key must be given.
#[derive(Debug, Clone, PartialEq)]
pub enum Need {
    /// It must.
    Required,
    /// It may be left out.
    Optional,
    /// Left out, this is taken.
    Assumed(String),
}

/// The JSON Schema (2020-12) of a document with these keys.
#[must_use]
pub fn json_schema(id: &str, title: &str, fields: &[FieldDoc]) -> Value {
    let mut schema = table_schema(fields, "");
    if let Value::Object(map) = &mut schema {
        map.insert(
            "$schema".to_owned(),
            json!("https://json-schema.org/draft/2020-12/schema"),
        );
        map.insert("$id".to_owned(), json!(id));
        map.insert("title".to_owned(), json!(title));
    }
    schema
}

fn table_schema(fields: &[FieldDoc], prefix: &str) -> Value {
    let mut properties = Map::new();
    let mut required = Vec::new();
    for field in fields {
        let Some(key) = field.path.strip_prefix(prefix) else {
            continue;
        };
        if key.is_empty() || key.contains('.') {
            continue;
        }
        properties.insert(key.to_owned(), field_schema(fields, field));
        if field.need == Need::Required {
            required.push(json!(key));
        }
    }
    json!({
        "type": "object",
        "properties": properties,
        "required": required,
        "additionalProperties": false,
    })
}

fn field_schema(fields: &[FieldDoc], field: &FieldDoc) -> Value {
    let mut schema = match &field.kind {
        Kind::Table => table_schema(fields, &format!("{}.", field.path)),
        Kind::Tables => json!({
            "type": "array",
            "items": table_schema(fields, &format!("{}[].", field.path)),
        }),
        Kind::Quantity { name, units } => {
            let bare = units.iter().any(|u| u.is_empty());
            json!({
                "type": if bare { json!(["string", "number"]) } else { json!("string") },
                "x-quantity": name,
                "x-units": units,
            })
        }
        Kind::Text => json!({"type": "string"}),
        Kind::Choice(words) => json!({"type": "string", "enum": words}),
    };
    if let Value::Object(map) = &mut schema {
        map.insert("description".to_owned(), json!(field.doc));
        if let Need::Assumed(value) = &field.need {
            map.insert("default".to_owned(), json!(value));
        }
    }
    schema
}
