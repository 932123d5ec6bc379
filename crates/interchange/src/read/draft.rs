//! The text of a document in the making.

use std::fmt::Write as _;

use super::at::{At, Told};
use crate::words::stand_in;

/// A text, table by table.
#[derive(Debug, Default)]
pub(crate) struct Draft {
    text: String,
}

impl Draft {
    /// A header such as `[batch]` or `[[grist]]`.
    pub(crate) fn table(&mut self, header: &str) {
        if !self.text.is_empty() {
            self.text.push('\n');
        }
        self.text.push_str(header);
        self.text.push('\n');
    }

    pub(crate) fn put(&mut self, key: &str, value: &str) {
        let value = toml::Value::from(value).to_string();
        let _ = writeln!(self.text, "{key} = {value}");
    }

    pub(crate) fn put_if<Q>(&mut self, key: &str, told: Option<&Told<Q>>) {
        if let Some(told) = told {
            self.put(key, &told.text);
        }
    }

    /// What a file does not say at `at`/`member`: told in the report, and beside the key.
    pub(crate) fn stand_in(&mut self, key: &str, row: &str, at: &At<'_>, member: &str) {
        let row = stand_in(row);
        at.missing(
            member,
            &format!("{} ({})", row.source, row.mark.words()),
            &format!("{key} = {}", row.value),
        );
        let value = toml::Value::from(row.value.as_str()).to_string();
        let _ = writeln!(
            self.text,
            "{key} = {value}   # not in the file that was read"
        );
    }

    pub(crate) fn into_text(self) -> String {
        self.text
    }
}
