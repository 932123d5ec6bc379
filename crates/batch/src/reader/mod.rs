//! Reading a TOML document into typed values.
//!
//! One pass over a document collects *everything* that is wrong with it, each
//! fault with the bytes it concerns, and lists every gap that a default filled.
//! The same pass without a document describes the keys: the schema that is
//! published is the code that reads.

mod again;
mod describe;
mod fault;
mod field;

use std::cell::RefCell;
use std::collections::BTreeSet;
use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use quantity::{Measured, Quantity, nearest};

use crate::certainty::doubt::Doubts;
use crate::defaults::{DefaultRow, default_for};
use again::Opened;

pub(crate) use again::{Memory, Pass};
pub use describe::{FieldDoc, Kind, Need, json_schema};
pub(crate) use fault::Filled;
pub use fault::{Assumption, Fault};

/// Reads `text` with `read`, which asks for the keys it knows.
///
/// # Errors
/// Every fault found, in the order of the document.
pub fn read_document<T>(
    text: &str,
    read: impl FnOnce(&mut Reader<'_>) -> T,
) -> Result<(T, Vec<Assumption>), Vec<Fault>> {
    read_part("", text, read)
}

/// Reads a document that is a part of a batch document on its own: its keys take
/// the defaults that stand under `within`, such as `water.source`.
///
/// # Errors
/// Every fault found, in the order of the document.
pub fn read_part<T>(
    within: &'static str,
    text: &str,
    read: impl FnOnce(&mut Reader<'_>) -> T,
) -> Result<(T, Vec<Assumption>), Vec<Fault>> {
    let table = DeTable::parse(text).map_err(|error| vec![Fault::from_toml(&error, text)])?;
    let memory = &mut Memory::default();
    read_table(within, table.get_ref(), &mut Doubts::Kept, memory, read)
}

/// Reads a table, meeting the doubts of its figures on the way; with the memory of a pass
/// before, that is taken over where no doubt was met.
///
/// # Errors
/// As [`read_document`].
pub(crate) fn read_table<T>(
    within: &'static str,
    table: &DeTable<'_>,
    doubts: &mut Doubts,
    memory: &mut Memory,
    read: impl FnOnce(&mut Reader<'_>) -> T,
) -> Result<(T, Vec<Assumption>), Vec<Fault>> {
    let again = matches!(memory, Memory::Has(..));
    let shared = RefCell::new(Shared {
        within,
        doubts: std::mem::take(doubts),
        memory: std::mem::take(memory),
        ..Shared::default()
    });
    let value = {
        let mut root = Reader {
            table: Some(table),
            span: 0..0,
            path: String::new(),
            known: BTreeSet::new(),
            refused: BTreeSet::new(),
            again,
            shared: &shared,
        };
        let value = read(&mut root);
        root.refuse_unknown_keys();
        value
    };
    let mut shared = shared.into_inner();
    *doubts = std::mem::take(&mut shared.doubts);
    *memory = std::mem::take(&mut shared.memory);
    if shared.faults.is_empty() {
        Ok((value, shared.assumptions))
    } else {
        shared.faults.sort_by_key(|f| (f.span.start, f.span.end));
        Err(shared.faults)
    }
}

/// Describes the keys that `read` asks for.
pub fn describe_document<T>(read: impl FnOnce(&mut Reader<'_>) -> T) -> Vec<FieldDoc> {
    describe_part("", read)
}

/// Describes the keys of a part that is read on its own.
pub fn describe_part<T>(
    within: &'static str,
    read: impl FnOnce(&mut Reader<'_>) -> T,
) -> Vec<FieldDoc> {
    let shared = RefCell::new(Shared {
        within,
        silent: 1,
        describing: true,
        ..Shared::default()
    });
    read(&mut Reader {
        table: None,
        span: 0..0,
        path: String::new(),
        known: BTreeSet::new(),
        refused: BTreeSet::new(),
        again: false,
        shared: &shared,
    });
    shared.into_inner().fields
}

#[derive(Default)]
struct Shared {
    faults: Vec<Fault>,
    assumptions: Vec<Assumption>,
    fields: Vec<FieldDoc>,
    /// Above zero while values are made up: nothing is recorded then.
    silent: u32,
    describing: bool,
    /// Where a part stands in a batch document; empty for a whole document.
    within: &'static str,
    doubts: Doubts,
    memory: Memory,
}

/// A table of the document that is being read.
pub struct Reader<'d> {
    table: Option<&'d DeTable<'d>>,
    span: Range<usize>,
    path: String,
    known: BTreeSet<&'static str>,
    refused: BTreeSet<&'static str>,
    /// Whether the document was read before, so that its keys are known to be right.
    again: bool,
    shared: &'d RefCell<Shared>,
}

impl<'d> Reader<'d> {
    /// Where this table stands in the text.
    #[must_use]
    pub fn span(&self) -> Range<usize> {
        self.span.clone()
    }

    /// True where the document has this key in this table.
    #[must_use]
    pub fn has(&self, key: &str) -> bool {
        self.table
            .is_some_and(|t| t.keys().any(|k| k.get_ref() == key))
    }

    /// True where the document has a key that the caller refuses in its own words, so that
    /// it is not told as unknown as well.
    pub fn refuses(&mut self, key: &'static str) -> bool {
        let there = self.has(key);
        if there {
            self.refused.insert(key);
        }
        there
    }

    /// Records a fault that concerns the value of `key`, or the table.
    pub fn fault(&self, key: Option<&str>, message: impl Into<String>, help: impl Into<String>) {
        let span = key
            .and_then(|k| self.find(k))
            .map_or_else(|| self.span(), toml::Spanned::span);
        let path = key.map_or_else(|| self.path.clone(), |k| self.join(k));
        self.record(Fault {
            span,
            path,
            message: message.into(),
            help: help.into(),
        });
    }

    /// A table that must be there.
    pub fn section<T: Clone + Send + Sync + 'static>(
        &mut self,
        key: &'static str,
        doc: &'static str,
        read: impl FnOnce(&mut Reader<'d>) -> T,
    ) -> T {
        self.describe(key, doc, || (Kind::Table, Need::Required));
        self.told(key, |r| match r.sub_table(key) {
            Some(mut sub) => finish(&mut sub, read),
            None => {
                r.missing(
                    key,
                    &format!("a section [{}] is needed: {doc}", r.join(key)),
                );
                r.silently(key, read)
            }
        })
    }

    /// A table that may be missing because every key in it has a default.
    pub fn assumed_section<T: Clone + Send + Sync + 'static>(
        &mut self,
        key: &'static str,
        doc: &'static str,
        read: impl FnOnce(&mut Reader<'d>) -> T,
    ) -> T {
        self.describe(key, doc, || (Kind::Table, Need::Optional));
        self.told(key, |r| {
            let mut sub = r.sub_table(key).unwrap_or_else(|| r.empty(r.join(key)));
            finish(&mut sub, read)
        })
    }

    /// A table that may be missing.
    pub fn optional_section<T: Clone + Send + Sync + 'static>(
        &mut self,
        key: &'static str,
        doc: &'static str,
        read: impl FnOnce(&mut Reader<'d>) -> T,
    ) -> Option<T> {
        self.describe(key, doc, || (Kind::Table, Need::Optional));
        self.told(key, |r| {
            if let Some(mut sub) = r.sub_table(key) {
                return Some(finish(&mut sub, read));
            }
            if r.shared.borrow().describing {
                r.silently(key, read);
            }
            None
        })
    }

    /// A list of tables, possibly empty.
    pub fn sections<T: Clone + Send + Sync + 'static>(
        &mut self,
        key: &'static str,
        doc: &'static str,
        read: impl FnMut(&mut Reader<'d>) -> T,
    ) -> Vec<T> {
        self.describe(key, doc, || (Kind::Tables, Need::Optional));
        self.told(key, |r| r.entries(key, read))
    }

    fn entries<T>(
        &mut self,
        key: &'static str,
        mut read: impl FnMut(&mut Reader<'d>) -> T,
    ) -> Vec<T> {
        if self.shared.borrow().describing {
            let path = format!("{}[]", self.join(key));
            let mut sub = self.empty(path);
            read(&mut sub);
            return Vec::new();
        }
        let Some(found) = self.take(key) else {
            return Vec::new();
        };
        let Some(array) = found.get_ref().as_array() else {
            let message = format!("{} must be a list of tables", self.join(key));
            let help = format!("write [[{}]] above each entry", self.join(key));
            self.fault(Some(key), message, help);
            return Vec::new();
        };
        let mut entries = Vec::with_capacity(array.len());
        for (i, item) in array.iter().enumerate() {
            let path = format!("{}[{}]", self.join(key), i + 1);
            match item.get_ref().as_table() {
                Some(table) => {
                    let mut sub = self.sub(table, item.span(), path);
                    entries.push(finish(&mut sub, &mut read));
                }
                None => self.record(Fault {
                    span: item.span(),
                    message: format!("{path} must be a table"),
                    help: format!("write [[{}]] above each entry", self.join(key)),
                    path,
                }),
            }
        }
        entries
    }

    fn refuse_unknown_keys(&mut self) {
        let Some(table) = self.table.filter(|_| !self.again) else {
            return;
        };
        for key in table.keys() {
            let name = key.get_ref().as_ref();
            if self.known.contains(name) || self.refused.contains(name) {
                continue;
            }
            let near = nearest(&name.to_lowercase(), self.known.iter().copied());
            let list = self.known.iter().copied().collect::<Vec<_>>().join(", ");
            let help = match near {
                Some(near) => format!("did you mean {near:?}? known here: {list}"),
                None => format!("known here: {list}"),
            };
            let place = if self.path.is_empty() {
                "the document".to_owned()
            } else {
                format!("[{}]", self.path)
            };
            self.record(Fault {
                span: key.span(),
                path: self.join(name),
                message: format!("unknown key {name:?} in {place}"),
                help,
            });
        }
    }

    fn find(&self, key: &str) -> Option<&'d Spanned<DeValue<'d>>> {
        let table: &'d DeTable<'d> = self.table?;
        table
            .iter()
            .find(|(k, _)| k.get_ref() == key)
            .map(|(_, value)| value)
    }

    fn take(&mut self, key: &'static str) -> Option<&'d Spanned<DeValue<'d>>> {
        if !self.again {
            self.known.insert(key);
        }
        self.find(key)
    }

    fn sub_table(&mut self, key: &'static str) -> Option<Reader<'d>> {
        let found = self.take(key)?;
        if let Some(table) = found.get_ref().as_table() {
            let path = self.join(key);
            return Some(self.sub(table, found.span(), path));
        }
        let message = format!("{} must be a table", self.join(key));
        let help = format!(
            "write [{}] on a line of its own, its keys below",
            self.join(key)
        );
        self.fault(Some(key), message, help);
        // Read on with an empty table so that nothing more is said about it.
        None
    }

    fn sub(&self, table: &'d DeTable<'d>, span: Range<usize>, path: String) -> Reader<'d> {
        Reader {
            table: Some(table),
            span,
            path,
            known: BTreeSet::new(),
            refused: BTreeSet::new(),
            again: self.again,
            shared: self.shared,
        }
    }

    fn empty(&self, path: String) -> Reader<'d> {
        Reader {
            table: None,
            span: self.span(),
            path,
            known: BTreeSet::new(),
            refused: BTreeSet::new(),
            again: self.again,
            shared: self.shared,
        }
    }

    /// Reads a table that is not there for the sake of a value of the right
    /// type; the fault that is already recorded keeps it from being used.
    fn silently<T>(&mut self, key: &str, read: impl FnOnce(&mut Reader<'d>) -> T) -> T {
        self.shared.borrow_mut().silent += 1;
        let mut sub = self.empty(self.join(key));
        let value = read(&mut sub);
        self.shared.borrow_mut().silent -= 1;
        value
    }

    fn missing(&self, key: &str, help: &str) {
        if self.has(key) {
            return;
        }
        let place = if self.path.is_empty() {
            "the document".to_owned()
        } else {
            format!("[{}]", self.path)
        };
        self.record(Fault {
            span: self.span(),
            path: self.join(key),
            message: format!("{key:?} is missing in {place}"),
            help: help.to_owned(),
        });
    }

    fn record(&self, fault: Fault) {
        let mut shared = self.shared.borrow_mut();
        if shared.silent == 0 {
            shared.faults.push(fault);
        }
    }

    fn doubted<Q: Quantity>(
        &self,
        key: &'static str,
        doc: &str,
        figure: Measured<Q>,
    ) -> Measured<Q> {
        let shared = &mut *self.shared.borrow_mut();
        if shared.silent > 0 {
            return figure;
        }
        let before = shared.doubts.met();
        let met = shared.doubts.of_document(|| self.join(key), doc, figure);
        if shared.doubts.met() > before {
            shared.memory.doubted(key, figure);
        }
        met
    }

    /// The figure of an opened key, drawn anew, where a pass before met a doubt of it.
    fn drawn_anew<Q: Quantity>(&self, key: &str) -> Option<Measured<Q>> {
        let shared = &mut *self.shared.borrow_mut();
        let figure = shared.memory.doubted_before(key)?;
        Some(shared.doubts.met_again(figure))
    }

    /// What a key comes to: as a pass before had it, or read.
    fn told<T: Clone + Send + Sync + 'static>(
        &mut self,
        key: &'static str,
        read: impl FnOnce(&mut Self) -> T,
    ) -> T {
        match self.open(key) {
            Ok(known) => known,
            Err(opened) => {
                let value = read(self);
                self.close(opened, value)
            }
        }
    }

    fn open<T: Clone + 'static>(&self, key: &'static str) -> Result<T, Opened> {
        let shared = &mut *self.shared.borrow_mut();
        shared.memory.open(key, shared.doubts.met())
    }

    fn close<T: Clone + Send + Sync + 'static>(&self, opened: Opened, value: T) -> T {
        let shared = &mut *self.shared.borrow_mut();
        shared.memory.close(opened, shared.doubts.met(), &value);
        value
    }

    fn assume(&self, assumption: Assumption) {
        let mut shared = self.shared.borrow_mut();
        if shared.silent == 0 {
            shared.assumptions.push(assumption);
        }
    }

    fn describe(&self, key: &'static str, doc: &'static str, what: impl FnOnce() -> (Kind, Need)) {
        if self.shared.borrow().describing {
            let (path, (kind, need)) = (self.join(key), what());
            self.shared.borrow_mut().fields.push(FieldDoc {
                path,
                doc,
                kind,
                need,
            });
        }
    }

    /// The default of a key of this table.
    fn default_of(&self, key: &str) -> &'static DefaultRow {
        let path = self.join(key);
        match self.shared.borrow().within {
            "" => default_for(&path),
            within => default_for(&format!("{within}.{path}")),
        }
    }

    fn join(&self, key: &str) -> String {
        if self.path.is_empty() {
            key.to_owned()
        } else {
            format!("{}.{key}", self.path)
        }
    }
}

fn finish<'d, T>(sub: &mut Reader<'d>, read: impl FnOnce(&mut Reader<'d>) -> T) -> T {
    let value = read(sub);
    sub.refuse_unknown_keys();
    value
}
