//! Fields of a document in a page. Every field carries the path of its key, so a
//! form is the part of the document that it shows.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use batch::library::Part;
use batch::{Document, Fault, FieldDoc, Kind, Need};
use maud::{Markup, html};

/// The keys of a document by path; places in lists do not count.
type Keys = BTreeMap<String, FieldDoc>;

static FIELDS: LazyLock<Keys> = LazyLock::new(|| by_path(Document::fields()));
static PARTS: LazyLock<[(Part, Keys); 4]> =
    LazyLock::new(|| Part::ALL.map(|p| (p, by_path(p.fields()))));

fn by_path(fields: Vec<FieldDoc>) -> Keys {
    fields
        .into_iter()
        .map(|f| (f.path.replace("[]", ""), f))
        .collect()
}

/// The part of a document that is being filled in.
pub struct Form<'f> {
    written: &'f BTreeMap<String, String>,
    typed: Option<&'f BTreeMap<String, String>>,
    faults: &'f [Fault],
    keys: &'static Keys,
}

impl<'f> Form<'f> {
    pub fn new(
        written: &'f BTreeMap<String, String>,
        typed: Option<&'f BTreeMap<String, String>>,
        faults: &'f [Fault],
    ) -> Self {
        Self {
            written,
            typed,
            faults,
            keys: &FIELDS,
        }
    }

    /// The same over a document of the library.
    pub fn over(mut self, part: Part) -> Self {
        if let Some((_, keys)) = PARTS.iter().find(|(p, _)| *p == part) {
            self.keys = keys;
        }
        self
    }

    /// What stands in a field: what was typed and could not be saved, else what
    /// the document says.
    fn value(&self, path: &str) -> &str {
        self.typed
            .and_then(|t| t.get(path))
            .or_else(|| self.written.get(path))
            .map_or("", String::as_str)
    }

    /// What the document says, where something else was typed.
    fn saved(&self, path: &str) -> Option<&str> {
        let saved = self.written.get(path).map_or("", String::as_str);
        (saved != self.value(path)).then_some(saved)
    }

    /// How many entries a list has.
    pub fn entries(&self, list: &str) -> usize {
        (1..)
            .take_while(|n| {
                let prefix = format!("{list}[{n}].");
                self.written.keys().any(|k| k.starts_with(&prefix))
            })
            .count()
    }

    /// Whether something stands in a field that begins so, or is wrong there.
    pub fn fills(&self, path: &str) -> bool {
        let typed = self.typed.into_iter().flatten();
        let mut written = self.written.iter().chain(typed);
        written.any(|(key, value)| key.starts_with(path) && !value.is_empty())
            || self.faults.iter().any(|fault| fault.path.starts_with(path))
    }

    /// A field of free text or a quantity.
    pub fn field(&self, path: &str, label: &str) -> Markup {
        self.input(path, label, "field")
    }

    /// A field with room for words.
    pub fn words(&self, path: &str, label: &str) -> Markup {
        self.input(path, label, "field broad")
    }

    fn input(&self, path: &str, label: &str, class: &str) -> Markup {
        let doc = self.doc_of(path);
        let placeholder = match doc.map(|d| &d.need) {
            Some(Need::Assumed(value)) => value.as_str(),
            _ => "",
        };
        let faults: Vec<&Fault> = self.faults.iter().filter(|f| f.path == path).collect();
        let hint = format!("{path}-fault");
        html! {
            div class=(class) {
                label for=(path) title=[doc.map(|d| d.doc)] { (label) }
                input #(path) name=(path) type="text" value=(self.value(path)) placeholder=(placeholder)
                    data-saved=[self.saved(path)]
                    autocomplete="off" spellcheck="false"
                    aria-invalid=[(!faults.is_empty()).then_some("true")]
                    aria-describedby=[(!faults.is_empty()).then_some(&hint)];
                @if !faults.is_empty() {
                    p.fault id=(hint) {
                        @for fault in &faults { (fault.message) "; " (fault.help) " " }
                    }
                }
            }
        }
    }

    /// A choice among the words that the key accepts.
    pub fn choice(&self, path: &str, label: &str) -> Markup {
        let doc = self.doc_of(path);
        let words: &[String] = match doc.map(|d| &d.kind) {
            Some(Kind::Choice(words)) => words,
            _ => &[],
        };
        let now = self.value(path);
        let open = match doc.map(|d| &d.need) {
            Some(Need::Assumed(value)) => Some(format!("{} (assumed)", read_out(value))),
            Some(Need::Optional) => Some("not said".to_owned()),
            _ => None,
        };
        let known = words.iter().any(|w| w == now);
        html! {
            div.field {
                label for=(path) title=[doc.map(|d| d.doc)] { (label) }
                select #(path) name=(path) data-saved=[self.saved(path)] {
                    @if let Some(open) = &open { option value="" selected[now.is_empty()] { (open) } }
                    @if !known && !now.is_empty() { option value=(now) selected { (now) } }
                    @for word in words { option value=(word) selected[word == now] { (read_out(word)) } }
                }
            }
        }
    }

    /// A button that adds an entry to a list.
    pub fn adds(&self, list: &str, words: &str) -> Markup {
        html! { p { button type="submit" name="add" value=(list) { (words) } } }
    }

    /// A button that takes an entry out.
    pub fn removes(&self, path: &str, what: &str) -> Markup {
        html! {
            button type="submit" name="remove" value=(path) aria-label=(format!("take out {what}")) { "take out" }
        }
    }

    fn doc_of(&self, path: &str) -> Option<&'static FieldDoc> {
        let mut key = String::with_capacity(path.len());
        let mut inside = false;
        for c in path.chars() {
            match c {
                '[' => inside = true,
                ']' => inside = false,
                c if !inside => key.push(c),
                _ => {}
            }
        }
        self.keys.get(&key)
    }

    /// The name of an entry, for its heading.
    pub fn named(&self, path: &str, otherwise: &str) -> String {
        let value = self.value(path).trim();
        if value.is_empty() {
            otherwise.to_owned()
        } else {
            value.to_owned()
        }
    }
}

/// A word of the document as people read it: "heavy-returnable" is two words.
fn read_out(word: &str) -> String {
    word.replace('-', " ")
}

/// What a new entry of a list starts with, so that the document stays whole.
pub fn first_values(list: &str) -> Vec<(String, String)> {
    let values: &[(&str, &str)] = match list {
        // Not read yet: it counts once the meter's figure is filled in.
        "mash.reading" => &[("after", "15 min")],
        "mash.measured" => &[("after", "10 min")],
        list if list.starts_with("mash.reading[") && list.ends_with("].added") => {
            &[("what", "lactic acid 80 %"), ("volume", "0 mL")]
        }
        "water.source" => &[
            ("name", "another water"),
            ("share", "0 %"),
            ("calcium", "0 mg/L"),
            ("magnesium", "0 mg/L"),
            ("alkalinity", "0 mEq/L"),
            ("chloride", "0 mg/L"),
            ("sulfate", "0 mg/L"),
        ],
        "water.salt" => &[("salt", "gypsum"), ("amount", "0 g"), ("into", "mash")],
        "water.acid" => &[
            ("acid", "lactic acid 80 %"),
            ("volume", "0 mL"),
            ("into", "mash"),
        ],
        "grist" => &[("class", "pale ale malt"), ("amount", "0.1 kg")],
        "mash.rest" => &[("temperature", "72 °C"), ("time", "15 min")],
        "hop" => &[
            ("hop", "Saaz"),
            ("amount", "0 g"),
            ("used", "boil"),
            ("time", "10 min"),
        ],
        "yeast.step" => &[("volume", "1.5 L")],
        "fermentation.course" => &[("at", "60 d"), ("temperature", "18 °C")],
        _ => &[],
    };
    values
        .iter()
        .map(|(k, v)| ((*k).to_owned(), (*v).to_owned()))
        .collect()
}
