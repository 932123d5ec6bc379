//! The vocabulary of reports: the rows of `data/report_names.toml`.

use std::collections::{BTreeMap, HashMap};
use std::sync::LazyLock;

use quantity::data::{builtin, mark};
use serde::Deserialize;

use super::parameter::Parameter;
use super::unit::{Species, species};
use crate::lookup::known;

const FILE: &str = "report_names.toml";
/// The longest phrase of the table has fewer words.
const LONGEST: usize = 8;

/// What a phrase means.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Word {
    Name(Name),
    Other,
    Filler,
    Limit,
    Detection,
    Stat(Stat),
    Value,
    NameColumn,
    UnitColumn,
    Beside,
    NotDetected,
    Traces,
    Absent,
    Present,
    NotMeasured,
    Heading(Head),
    As,
    At,
    To,
    Method,
    Below,
}

/// A parameter by its name, with the basis that the name itself tells.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Name {
    pub parameter: Parameter,
    pub basis: Option<Species>,
    /// Written as a formula.
    pub symbol: bool,
    /// "Ammonia" leaves open whether N, NH₃ or NH₄ is counted.
    pub open: bool,
}

/// What the figures of a column are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Stat {
    Mean,
    Median,
    Minimum,
    Maximum,
    Range,
}

/// What a heading is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Head {
    Name,
    Place,
    Supplier,
    Date,
    Period,
    Units,
    Title,
}

/// A run of letters and digits, with its place.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Token {
    pub start: usize,
    pub end: usize,
    /// Lower case, without accents.
    pub folded: String,
    /// Case kept, for formulae.
    pub plain: String,
}

#[derive(Deserialize)]
struct File {
    source: String,
    mark: String,
    parameter: Vec<Row>,
    heading: BTreeMap<String, Names>,
    #[serde(flatten)]
    words: BTreeMap<String, Names>,
}

#[derive(Deserialize)]
struct Row {
    key: String,
    basis: Option<String>,
    #[serde(default)]
    symbols: Vec<String>,
    #[serde(default)]
    names: Vec<String>,
}

#[derive(Deserialize)]
struct Names {
    names: Vec<String>,
}

struct Vocabulary {
    phrases: HashMap<String, Vec<Word>>,
    symbols: HashMap<String, Word>,
}

static VOCABULARY: LazyLock<Vocabulary> = LazyLock::new(|| {
    let file: File = builtin(FILE, include_str!("../../data/report_names.toml"));
    let _ = mark(FILE, &file.source, &file.mark);
    let mut all = Vocabulary {
        phrases: HashMap::new(),
        symbols: HashMap::new(),
    };
    for row in &file.parameter {
        all.parameter(row);
    }
    for (section, names) in &file.words {
        let word = known(FILE, section, "section", section_word(section));
        for name in &names.names {
            all.phrase(name, word);
        }
    }
    for (kind, names) in &file.heading {
        let head = known(FILE, kind, "heading", head(kind));
        for name in &names.names {
            all.phrase(name, Word::Heading(head));
        }
    }
    all
});

impl Vocabulary {
    fn parameter(&mut self, row: &Row) {
        let open = row.key == "ammonia";
        let key = if open { "ammonium" } else { &row.key };
        let name = |symbol| {
            Word::Name(Name {
                parameter: known(FILE, &row.key, "parameter", Parameter::of_key(key)),
                basis: row
                    .basis
                    .as_ref()
                    .map(|b| known(FILE, &row.key, "basis", species(b))),
                symbol,
                open,
            })
        };
        for text in &row.symbols {
            self.symbols
                .insert(join(&tokens(text), |t| &t.plain), name(true));
        }
        for text in &row.names {
            self.phrase(text, name(false));
        }
    }

    fn phrase(&mut self, text: &str, word: Word) {
        let key = join(&tokens(text), |t| &t.folded);
        let short = text.chars().count() <= 2 && text.starts_with(char::is_uppercase);
        if short && word == Word::Other {
            self.symbols.insert(text.to_owned(), word);
            return;
        }
        let meanings = self.phrases.entry(key).or_default();
        if !meanings.contains(&word) {
            meanings.push(word);
        }
    }
}

/// The longest phrase at token `i` that means something wanted, and how many
/// tokens it takes.
pub(super) fn phrase(
    tokens: &[Token],
    i: usize,
    wanted: impl Fn(Word) -> bool,
) -> Option<(Word, usize)> {
    let most = LONGEST.min(tokens.len().saturating_sub(i));
    (1..=most).rev().find_map(|n| {
        let run = &tokens[i..i + n];
        meanings(run)
            .into_iter()
            .find(|w| wanted(*w))
            .map(|w| (w, n))
    })
}

/// What a run of tokens can mean as a whole.
fn meanings(run: &[Token]) -> Vec<Word> {
    let mut found = VOCABULARY
        .phrases
        .get(&join(run, |t| &t.folded))
        .cloned()
        .unwrap_or_default();
    let plain = join(run, |t| &t.plain);
    // The charge of "Ca2+" or "SO42-" leaves its digit on the formula.
    let bare = plain.strip_suffix(['2', '3']).unwrap_or(&plain);
    if let Some(symbol) = VOCABULARY
        .symbols
        .get(&plain)
        .or_else(|| VOCABULARY.symbols.get(bare))
    {
        found.push(*symbol);
    }
    found
}

fn join(run: &[Token], text: impl Fn(&Token) -> &String) -> String {
    let words: Vec<&str> = run.iter().map(|t| text(t).as_str()).collect();
    words.join(" ")
}

/// Splits into runs of letters and digits. A point or comma between digits
/// stays, as a point: "KS 4,3" and "KS 4.3" are one name.
pub(super) fn tokens(text: &str) -> Vec<Token> {
    let mut found: Vec<Token> = vec![];
    let mut open = false;
    let chars: Vec<(usize, char)> = text.char_indices().collect();
    for (k, &(at, c)) in chars.iter().enumerate() {
        let digit = |j: Option<usize>| {
            j.and_then(|j| chars.get(j))
                .is_some_and(|(_, c)| c.is_ascii_digit())
        };
        let inner = matches!(c, '.' | ',') && digit(k.checked_sub(1)) && digit(Some(k + 1));
        let part = c.is_alphanumeric() || matches!(c, '°' | '%') || is_combining(c) || inner;
        if !part {
            open = false;
            continue;
        }
        if !open {
            found.push(Token {
                start: at,
                end: at,
                folded: String::new(),
                plain: String::new(),
            });
            open = true;
        }
        if let Some(token) = found.last_mut() {
            token.end = at + c.len_utf8();
            let c = if inner { '.' } else { plain(c) };
            if !is_combining(c) {
                token.plain.push(c);
                fold(c, &mut token.folded);
            }
        }
    }
    found
}

fn is_combining(c: char) -> bool {
    ('\u{300}'..='\u{36f}').contains(&c)
}

/// Subscripts and superscripts as digits.
pub(super) fn plain(c: char) -> char {
    let digit = |base: char| char::from_digit(c as u32 - base as u32, 10).unwrap_or(c);
    match c {
        '₀'..='₉' => digit('₀'),
        '⁰' | '⁴'..='⁹' => digit('⁰'),
        '¹' => '1',
        '²' => '2',
        '³' => '3',
        '⁺' => '+',
        '⁻' | '−' => '-',
        'μ' => 'µ',
        'º' | '˚' => '°',
        c => c,
    }
}

/// Lower case without accents.
fn fold(c: char, out: &mut String) {
    for c in c.to_lowercase() {
        match c {
            'ä' | 'à' | 'á' | 'â' | 'ã' | 'å' => out.push('a'),
            'é' | 'è' | 'ê' | 'ë' => out.push('e'),
            'í' | 'ì' | 'î' | 'ï' => out.push('i'),
            'ö' | 'ó' | 'ò' | 'ô' | 'õ' => out.push('o'),
            'ü' | 'ú' | 'ù' | 'û' => out.push('u'),
            'ç' => out.push('c'),
            'ñ' => out.push('n'),
            'ß' => out.push_str("ss"),
            'œ' => out.push_str("oe"),
            c if is_combining(c) => {}
            c => out.push(c),
        }
    }
}

fn section_word(section: &str) -> Option<Word> {
    Some(match section {
        "other" => Word::Other,
        "filler" => Word::Filler,
        "limit" => Word::Limit,
        "detection" => Word::Detection,
        "mean" => Word::Stat(Stat::Mean),
        "median" => Word::Stat(Stat::Median),
        "minimum" => Word::Stat(Stat::Minimum),
        "maximum" => Word::Stat(Stat::Maximum),
        "range" => Word::Stat(Stat::Range),
        "value" => Word::Value,
        "name" => Word::NameColumn,
        "unit" => Word::UnitColumn,
        "beside" => Word::Beside,
        "not-detected" => Word::NotDetected,
        "traces" => Word::Traces,
        "absent" => Word::Absent,
        "present" => Word::Present,
        "not-measured" => Word::NotMeasured,
        "as" => Word::As,
        "at" => Word::At,
        "to" => Word::To,
        "method" => Word::Method,
        "below" => Word::Below,
        _ => return None,
    })
}

fn head(kind: &str) -> Option<Head> {
    Some(match kind {
        "name" => Head::Name,
        "place" => Head::Place,
        "supplier" => Head::Supplier,
        "date" => Head::Date,
        "period" => Head::Period,
        "units" => Head::Units,
        "title" => Head::Title,
        _ => return None,
    })
}
