//! A place in a file, which remembers that it was read.

use std::cell::RefCell;
use std::collections::BTreeSet;

use quantity::{Measured, Quantity};
use serde_json::Value;

use crate::json::escaped;
use crate::report::{Fate, Remark};
use crate::units::{Unit, number};

/// What was read, and what there is to say.
#[derive(Debug, Default)]
pub(crate) struct Notes {
    seen: RefCell<BTreeSet<String>>,
    remarks: RefCell<Vec<Remark>>,
}

impl Notes {
    pub(crate) fn say(&self, remark: Remark) {
        self.remarks.borrow_mut().push(remark);
    }

    fn see(&self, pointer: &str) {
        self.seen.borrow_mut().insert(pointer.to_owned());
    }

    /// The remarks, and one for everything that nobody read.
    pub(crate) fn into_remarks(self, value: &Value) -> Vec<Remark> {
        let mut remarks = self.remarks.into_inner();
        rest(value, String::new(), &self.seen.into_inner(), &mut remarks);
        remarks
    }
}

fn rest(value: &Value, pointer: String, seen: &BTreeSet<String>, remarks: &mut Vec<Remark>) {
    if seen.contains(&pointer) || is_empty(value) {
        return;
    }
    let inside = format!("{pointer}/");
    let touched = seen
        .range(inside.clone()..)
        .next()
        .is_some_and(|next| next.starts_with(&inside));
    match value {
        Value::Object(members) if touched || pointer.is_empty() => {
            for (key, member) in members {
                rest(member, format!("{inside}{}", escaped(key)), seen, remarks);
            }
        }
        Value::Array(items) if touched => {
            for (n, item) in items.iter().enumerate() {
                rest(item, format!("{inside}{n}"), seen, remarks);
            }
        }
        value => remarks.push(Remark {
            found: shown(value),
            at: pointer,
            fate: Fate::Left,
            why: "a batch has no place for it".to_owned(),
            taken: String::new(),
        }),
    }
}

fn is_empty(value: &Value) -> bool {
    match value {
        Value::Null => true,
        Value::String(text) => text.trim().is_empty(),
        Value::Array(items) => items.is_empty(),
        Value::Object(members) => members.is_empty(),
        Value::Bool(_) | Value::Number(_) => false,
    }
}

/// A value in a line.
fn shown(value: &Value) -> String {
    const LONGEST: usize = 100;
    if let (Some(unit), Some(number)) = (value["unit"].as_str(), value["value"].as_number()) {
        return format!("{number} {unit}");
    }
    let text = match value {
        Value::String(text) => text.replace(['\n', '\r'], " "),
        value => value.to_string(),
    };
    if text.chars().count() <= LONGEST {
        return text;
    }
    let head: String = text.chars().take(LONGEST).collect();
    format!("{head} …")
}

/// A place in the file.
#[derive(Debug, Clone)]
pub(crate) struct At<'v> {
    value: &'v Value,
    pub(crate) pointer: String,
    pub(crate) notes: &'v Notes,
}

impl<'v> At<'v> {
    pub(crate) fn root(value: &'v Value, notes: &'v Notes) -> Self {
        Self {
            value,
            pointer: String::new(),
            notes,
        }
    }

    pub(crate) fn get(&self, key: &str) -> Option<Self> {
        let value = self.value.get(key)?;
        Some(Self {
            value,
            pointer: format!("{}/{}", self.pointer, escaped(key)),
            notes: self.notes,
        })
    }

    pub(crate) fn each(&self, key: &str) -> Vec<Self> {
        let Some(list) = self.get(key) else {
            return Vec::new();
        };
        let items = list.value.as_array().into_iter().flatten().enumerate();
        items
            .map(|(n, value)| Self {
                value,
                pointer: format!("{}/{n}", list.pointer),
                notes: self.notes,
            })
            .collect()
    }

    /// This and all below it needs no further word.
    pub(crate) fn see(&self) {
        self.notes.see(&self.pointer);
    }

    pub(crate) fn text(&self) -> Option<&'v str> {
        let text = self.value.as_str()?;
        self.see();
        Some(text)
    }

    /// The text, without a mark that it was read.
    pub(crate) fn peek_text(&self) -> Option<&'v str> {
        self.value.as_str()
    }

    /// The text of a member, without a mark that it was read.
    pub(crate) fn peek(&self, key: &str) -> Option<&'v str> {
        self.value.get(key)?.as_str()
    }

    /// The text of a member; none where it is empty.
    pub(crate) fn text_of(&self, key: &str) -> Option<&'v str> {
        let text = self.get(key)?.text()?.trim();
        (!text.is_empty()).then_some(text)
    }

    pub(crate) fn number(&self) -> Option<f64> {
        let number = self.value.as_f64()?;
        self.see();
        Some(number)
    }

    /// Whether it is the word true.
    pub(crate) fn is_true(&self) -> bool {
        self.see();
        self.value.as_bool() == Some(true)
    }

    /// The number and the unit, without a mark that they were read.
    pub(crate) fn raw(&self) -> Option<(f64, &'v str)> {
        let number = self.value.get("value")?.as_f64()?;
        Some((number, self.value.get("unit")?.as_str()?))
    }

    /// A quantity, as a document writes it. What is none is told.
    pub(crate) fn quantity<Q: Quantity>(&self, units: &[Unit]) -> Option<Told<Q>> {
        let (value, unit) = self.raw()?;
        let Some((_, symbol, factor)) = units.iter().find(|(word, ..)| *word == unit) else {
            self.left(&format!("{unit} is no unit of what a batch has here"));
            return None;
        };
        self.told(number(value * factor), symbol)
    }

    /// A quantity, without a mark that it was read.
    pub(crate) fn peek_quantity<Q: Quantity>(&self, units: &[Unit]) -> Option<Told<Q>> {
        let (value, unit) = self.raw()?;
        let (_, symbol, factor) = units.iter().find(|(word, ..)| *word == unit)?;
        let text = format!("{} {symbol}", number(value * factor))
            .trim()
            .to_owned();
        let measured = quantity::parse_measured::<Q>(&text).ok()?;
        Some(Told { text, measured })
    }

    /// A number of our unit as a document writes it.
    pub(crate) fn told<Q: Quantity>(&self, value: f64, symbol: &str) -> Option<Told<Q>> {
        let text = format!("{value} {symbol}").trim().to_owned();
        match quantity::parse_measured::<Q>(&text) {
            Ok(measured) => {
                self.see();
                Some(Told { text, measured })
            }
            Err(error) => {
                self.left(&error.to_string());
                None
            }
        }
    }

    /// A quantity of a member.
    pub(crate) fn quantity_of<Q: Quantity>(&self, key: &str, units: &[Unit]) -> Option<Told<Q>> {
        self.get(key)?.quantity(units)
    }

    /// It is left out, for this reason.
    pub(crate) fn left(&self, why: &str) {
        self.say(Fate::Left, why, "");
    }

    /// It is taken in another form.
    pub(crate) fn changed(&self, why: &str, taken: &str) {
        self.say(Fate::Changed, why, taken);
    }

    /// What is missing below it.
    pub(crate) fn missing(&self, key: &str, why: &str, taken: &str) {
        self.notes.say(Remark {
            at: format!("{}/{key}", self.pointer),
            found: String::new(),
            fate: Fate::Missing,
            why: why.to_owned(),
            taken: taken.to_owned(),
        });
    }

    fn say(&self, fate: Fate, why: &str, taken: &str) {
        self.see();
        self.notes.say(Remark {
            at: self.pointer.clone(),
            found: shown(self.value),
            fate,
            why: why.to_owned(),
            taken: taken.to_owned(),
        });
    }
}

/// A quantity of a file as a document writes it.
#[derive(Debug, Clone)]
pub(crate) struct Told<Q> {
    pub(crate) text: String,
    pub(crate) measured: Measured<Q>,
}

impl<Q: Quantity> Told<Q> {
    pub(crate) fn canonical(&self) -> f64 {
        self.measured.canonical()
    }
}
