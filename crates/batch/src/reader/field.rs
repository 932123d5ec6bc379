//! The kinds of value a key can hold, each asked for in one of three ways:
//! required, optional, or assumed from the table of defaults.

use std::marker::PhantomData;
use std::ops::Range;

use toml::Spanned;
use toml::de::DeValue;

use quantity::{Measured, Quantity, QuantityError, nearest, parse_measured};

use super::{Fault, Kind, Need, Reader};

/// A quantity, asked for by key.
pub struct QuantityField<'r, 'd, Q> {
    reader: &'r mut Reader<'d>,
    key: &'static str,
    doc: &'static str,
    kind: PhantomData<Q>,
}

/// Free text, asked for by key.
pub struct TextField<'r, 'd> {
    reader: &'r mut Reader<'d>,
    key: &'static str,
    doc: &'static str,
    one_line: bool,
}

/// One of a few words, asked for by key.
pub struct ChoiceField<'r, 'd, T> {
    reader: &'r mut Reader<'d>,
    key: &'static str,
    doc: &'static str,
    words: &'r [(&'static str, T)],
}

/// The name of a row in some table of a stage, asked for by key.
pub struct WordField<'r, 'd, T, F> {
    reader: &'r mut Reader<'d>,
    key: &'static str,
    doc: &'static str,
    words: fn() -> Vec<String>,
    look_up: F,
    kind: PhantomData<T>,
}

impl<'d> Reader<'d> {
    /// A quantity.
    pub fn quantity<'r, Q: Quantity>(
        &'r mut self,
        key: &'static str,
        doc: &'static str,
    ) -> QuantityField<'r, 'd, Q> {
        QuantityField {
            reader: self,
            key,
            doc,
            kind: PhantomData,
        }
    }

    /// Free text.
    pub fn text<'r>(&'r mut self, key: &'static str, doc: &'static str) -> TextField<'r, 'd> {
        TextField {
            reader: self,
            key,
            doc,
            one_line: false,
        }
    }

    /// The key `name`: text on one line, that lists and rows of a file can hold.
    pub fn name<'r>(&'r mut self, doc: &'static str) -> TextField<'r, 'd> {
        TextField {
            one_line: true,
            ..self.text("name", doc)
        }
    }

    /// One of a few words.
    pub fn choice<'r, T: Clone>(
        &'r mut self,
        key: &'static str,
        doc: &'static str,
        words: &'r [(&'static str, T)],
    ) -> ChoiceField<'r, 'd, T> {
        ChoiceField {
            reader: self,
            key,
            doc,
            words,
        }
    }

    /// The name of a row; `look_up` finds it or says why not, and `words` lists them all.
    pub fn word<'r, T, F: Fn(&str) -> Result<T, String>>(
        &'r mut self,
        key: &'static str,
        doc: &'static str,
        words: fn() -> Vec<String>,
        look_up: F,
    ) -> WordField<'r, 'd, T, F> {
        WordField {
            reader: self,
            key,
            doc,
            words,
            look_up,
            kind: PhantomData,
        }
    }
}

impl<Q: Quantity> QuantityField<'_, '_, Q> {
    /// The value; a fault where it is missing.
    pub fn required(self) -> Measured<Q> {
        self.describe(|| Need::Required);
        self.told(
            |figure| figure,
            |field| match field.reader.take(field.key) {
                Some(found) => field.read(found).unwrap_or_else(placeholder),
                None => {
                    let help = format!("{}; {}", field.doc, example::<Q>());
                    field.reader.missing(field.key, &help);
                    placeholder()
                }
            },
        )
    }

    /// The value if it is given.
    pub fn optional(self) -> Option<Measured<Q>> {
        self.describe(|| Need::Optional);
        self.told(Some, |field| {
            let found = field.reader.take(field.key)?;
            field.read(found)
        })
    }

    /// The value, or the default of this key, which is then listed as assumed.
    pub fn assumed(self) -> Measured<Q> {
        self.describe(|| Need::Assumed(self.reader.default_of(self.key).value.clone()));
        self.told(
            |figure| figure,
            |field| {
                if let Some(found) = field.reader.take(field.key) {
                    return field.read(found).unwrap_or_else(placeholder);
                }
                let row = field.reader.default_of(field.key);
                let path = field.reader.join(field.key);
                field.reader.assume(row.assumed(path));
                let value = parse_measured(&row.value).unwrap_or_else(|_| placeholder());
                field.reader.doubted(field.key, field.doc, value)
            },
        )
    }

    fn describe(&self, need: impl FnOnce() -> Need) {
        let kind = || Kind::Quantity {
            name: Q::NAME,
            units: Q::UNITS.iter().map(|u| u.symbol).collect(),
        };
        self.reader
            .describe(self.key, self.doc, || (kind(), need()));
    }

    /// What it comes to: as a pass before had it, drawn anew where that had a doubt of it,
    /// or read.
    fn told<T: Clone + Send + Sync + 'static>(
        mut self,
        given: impl FnOnce(Measured<Q>) -> T,
        read: impl FnOnce(&mut Self) -> T,
    ) -> T {
        match self.reader.open(self.key) {
            Ok(known) => known,
            Err(opened) => match self.reader.drawn_anew(self.key) {
                Some(figure) => given(figure),
                None => {
                    let value = read(&mut self);
                    self.reader.close(opened, value)
                }
            },
        }
    }

    fn read(&self, found: &Spanned<DeValue<'_>>) -> Option<Measured<Q>> {
        let bare = match found.get_ref() {
            DeValue::String(text) => return self.parse(text, &found.span(), true),
            DeValue::Integer(number) => number.to_string(),
            DeValue::Float(number) => number.to_string(),
            other => {
                let message = format!("{} must be text, not a {}", self.key, other.type_str());
                self.reader.fault(Some(self.key), message, example::<Q>());
                return None;
            }
        };
        if Q::UNITS.iter().any(|u| u.symbol.is_empty()) {
            return self.parse(&bare, &found.span(), false);
        }
        let message = format!("{} is a number without a unit", self.key);
        let help = format!("write it as text with its unit; {}", example::<Q>());
        self.reader.fault(Some(self.key), message, help);
        None
    }

    fn parse(&self, text: &str, span: &Range<usize>, quoted: bool) -> Option<Measured<Q>> {
        match parse_measured::<Q>(text) {
            Ok(value) => Some(self.reader.doubted(self.key, self.doc, value)),
            Err(error) => {
                self.reader.record(Fault {
                    span: inner_span(&error, span, text, quoted),
                    path: self.reader.join(self.key),
                    message: error.fault(),
                    help: error.help(),
                });
                None
            }
        }
    }
}

/// The bytes inside the quotes that are at fault, where the text stands in the
/// document letter for letter; else the whole value.
fn inner_span(
    error: &QuantityError,
    span: &Range<usize>,
    text: &str,
    quoted: bool,
) -> Range<usize> {
    let quotes = usize::from(quoted);
    if span.len() != text.len() + 2 * quotes {
        return span.clone();
    }
    let start = span.start + quotes + error.at.start;
    let end = span.start + quotes + error.at.end;
    if start == end {
        // A caret needs something to stand under: the closing quote.
        start..(end + 1).min(span.end.max(end))
    } else {
        start..end
    }
}

fn placeholder<Q: Quantity>() -> Measured<Q> {
    Measured::exactly(Q::from_canonical(f64::midpoint(
        Q::MIN.max(-1.0),
        Q::MAX.min(1.0),
    )))
}

fn example<Q: Quantity>() -> String {
    let units: Vec<&str> = Q::UNITS
        .iter()
        .map(|u| u.symbol)
        .filter(|s| !s.is_empty())
        .collect();
    if units.is_empty() {
        format!("a {} as a plain number", Q::NAME)
    } else {
        format!("a {} in {}", Q::NAME, units.join(", "))
    }
}

/// A letter that cannot be seen where a name is shown.
struct Unseen(char);

impl Unseen {
    fn of(text: &str) -> Self {
        Self(text.chars().find(|c| c.is_control()).unwrap_or_default())
    }
}

impl std::fmt::Display for Unseen {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self.0 {
            '\n' | '\r' => f.write_str("a line break"),
            '\t' => f.write_str("a tab"),
            other => write!(f, "the control character U+{:04X}", u32::from(other)),
        }
    }
}

impl TextField<'_, '_> {
    /// The text; a fault where it is missing.
    pub fn required(self) -> String {
        let Self {
            reader,
            key,
            doc,
            one_line,
        } = self;
        reader.describe(key, doc, || (Kind::Text, Need::Required));
        reader.told(key, |reader| match reader.take(key) {
            Some(found) => {
                let text = found.get_ref().as_str();
                if text.is_some_and(|text| text.trim().is_empty()) {
                    reader.fault(Some(key), format!("{key} is empty"), doc);
                    return String::new();
                }
                text_of(reader, key, one_line, found).unwrap_or_default()
            }
            None => {
                reader.missing(key, doc);
                String::new()
            }
        })
    }

    /// The text if it is given.
    pub fn optional(self) -> Option<String> {
        let (key, one_line) = (self.key, self.one_line);
        self.reader
            .describe(key, self.doc, || (Kind::Text, Need::Optional));
        self.reader.told(key, |reader| {
            let found = reader.take(key)?;
            text_of(reader, key, one_line, found)
        })
    }
}

/// The text of a key, where it is text.
fn text_of(
    reader: &Reader<'_>,
    key: &'static str,
    one_line: bool,
    found: &Spanned<DeValue<'_>>,
) -> Option<String> {
    if let Some(text) = found.get_ref().as_str() {
        if one_line && text.contains(char::is_control) {
            let message = format!("{key} holds {}", Unseen::of(text));
            let help = "write it on one line, letters and blanks only";
            reader.fault(Some(key), message, help);
        }
        return Some(text.to_owned());
    }
    if let Some(date) = found.get_ref().as_datetime() {
        return Some(date.to_string());
    }
    let message = format!("{key} must be text");
    reader.fault(Some(key), message, "put it in double quotes");
    None
}

impl<T: Clone + Send + Sync + 'static> ChoiceField<'_, '_, T> {
    /// The choice; a fault where it is missing.
    ///
    /// `stand_in` is only used where a fault is recorded, so it never counts.
    pub fn required(self, stand_in: T) -> T {
        self.describe(|| Need::Required);
        self.told(|field| match field.reader.take(field.key) {
            Some(found) => field.read(found).unwrap_or(stand_in),
            None => {
                let help = format!("{}: {}", field.doc, field.list());
                field.reader.missing(field.key, &help);
                stand_in
            }
        })
    }

    /// The choice if one is made.
    pub fn optional(self) -> Option<T> {
        self.describe(|| Need::Optional);
        self.told(|field| {
            let found = field.reader.take(field.key)?;
            field.read(found)
        })
    }

    /// The choice, or the default of this key, which is then listed as assumed.
    pub fn assumed(self, stand_in: T) -> T {
        self.describe(|| Need::Assumed(self.reader.default_of(self.key).value.clone()));
        self.told(|field| {
            if let Some(found) = field.reader.take(field.key) {
                return field.read(found).unwrap_or(stand_in);
            }
            let row = field.reader.default_of(field.key);
            let path = field.reader.join(field.key);
            field.reader.assume(row.assumed(path));
            field.find(&row.value).unwrap_or(stand_in)
        })
    }

    fn describe(&self, need: impl FnOnce() -> Need) {
        let words = || self.words.iter().map(|(w, _)| (*w).to_owned()).collect();
        self.reader
            .describe(self.key, self.doc, || (Kind::Choice(words()), need()));
    }

    /// What it comes to: as a pass before had it, or read.
    fn told<R: Clone + Send + Sync + 'static>(mut self, read: impl FnOnce(&mut Self) -> R) -> R {
        match self.reader.open(self.key) {
            Ok(known) => known,
            Err(opened) => {
                let value = read(&mut self);
                self.reader.close(opened, value)
            }
        }
    }

    fn find(&self, word: &str) -> Option<T> {
        self.words
            .iter()
            .find(|(w, _)| w.eq_ignore_ascii_case(word.trim()))
            .map(|(_, t)| t.clone())
    }

    fn read(&self, found: &Spanned<DeValue<'_>>) -> Option<T> {
        let word = found.get_ref().as_str();
        if let Some(choice) = word.and_then(|w| self.find(w)) {
            return Some(choice);
        }
        let given = word.map_or_else(
            || found.get_ref().type_str().to_owned(),
            |w| format!("{w:?}"),
        );
        let message = format!("{}: {given} is not one of the choices", self.key);
        let help = self.list();
        self.reader.fault(Some(self.key), message, help);
        None
    }

    fn list(&self) -> String {
        let words: Vec<&str> = self.words.iter().map(|(w, _)| *w).collect();
        format!("one of {}", words.join(", "))
    }
}

impl<T, F> WordField<'_, '_, T, F>
where
    T: Clone + Send + Sync + 'static,
    F: Fn(&str) -> Result<T, String>,
{
    /// The row; a fault where the name is missing or unknown.
    pub fn required(self) -> Option<T> {
        self.describe(|| Need::Required);
        self.told(|field| match field.reader.take(field.key) {
            Some(found) => field.read(found),
            None => {
                field.reader.missing(field.key, field.doc);
                None
            }
        })
    }

    /// The row if a name is given.
    pub fn optional(self) -> Option<T> {
        self.describe(|| Need::Optional);
        self.told(|field| {
            let found = field.reader.take(field.key)?;
            field.read(found)
        })
    }

    /// The row, or the one that the defaults name, which is then listed.
    pub fn assumed(self) -> Option<T> {
        self.describe(|| Need::Assumed(self.reader.default_of(self.key).value.clone()));
        self.told(|field| {
            if let Some(found) = field.reader.take(field.key) {
                return field.read(found);
            }
            let row = field.reader.default_of(field.key);
            let path = field.reader.join(field.key);
            field.reader.assume(row.assumed(path));
            (field.look_up)(&row.value).ok()
        })
    }

    fn describe(&self, need: impl FnOnce() -> Need) {
        let kind = || match (self.words)() {
            none if none.is_empty() => Kind::Text,
            words => Kind::Choice(words),
        };
        self.reader
            .describe(self.key, self.doc, || (kind(), need()));
    }

    /// What it comes to: as a pass before had it, or read.
    fn told(mut self, read: impl FnOnce(&mut Self) -> Option<T>) -> Option<T> {
        match self.reader.open(self.key) {
            Ok(known) => known,
            Err(opened) => {
                let value = read(&mut self);
                self.reader.close(opened, value)
            }
        }
    }

    fn read(&self, found: &Spanned<DeValue<'_>>) -> Option<T> {
        let Some(word) = found.get_ref().as_str() else {
            let message = format!("{} must be text", self.key);
            self.reader
                .fault(Some(self.key), message, "put it in double quotes");
            return None;
        };
        match (self.look_up)(word) {
            Ok(row) => Some(row),
            Err(why) => {
                let words = (self.words)();
                let near = nearest(&word.to_lowercase(), words.iter().map(String::as_str));
                let mut help = String::new();
                if let Some(near) = near {
                    help = format!("did you mean {near:?}? ");
                }
                if !words.is_empty() {
                    help.push_str("known: ");
                    help.push_str(&words.join(", "));
                }
                self.reader.fault(Some(self.key), why, help);
                None
            }
        }
    }
}
