//! The words of a file and our generic classes, and what is taken where it says nothing.

use std::sync::LazyLock;

use quantity::{Mark, data};
use serde::Deserialize;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Words {
    malt: Vec<Row>,
    sugar: Vec<Row>,
    yeast: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    words: Vec<String>,
    class: String,
}

static WORDS: LazyLock<Words> =
    LazyLock::new(|| data::builtin("words.toml", include_str!("../data/words.toml")));

fn by_word(rows: &[Row], name: &str) -> Option<String> {
    let name = name.to_lowercase();
    rows.iter()
        .find(|row| row.words.iter().any(|word| name.contains(word)))
        .map(|row| row.class.clone())
}

/// A malt, an adjunct or a sugar by the words of its name.
pub(crate) fn malt(name: &str) -> Option<String> {
    by_word(&WORDS.malt, name)
}

/// A sugar.
pub(crate) fn sugar(name: &str) -> Option<String> {
    by_word(&WORDS.sugar, name)
}

/// A yeast.
pub(crate) fn yeast(name: &str) -> Option<String> {
    by_word(&WORDS.yeast, name)
}

/// A name as it is written for others: "Old Field pale (pale ale malt)", or the class
/// alone.
pub(crate) fn named(name: Option<&str>, class: &str) -> String {
    match name {
        Some(name) if !name.is_empty() => format!("{name} ({class})"),
        _ => class.to_owned(),
    }
}

/// The reverse of [`named`]: the name, and the class if `known` finds it.
pub(crate) fn split(
    written: &str,
    known: impl Fn(&str) -> Option<String>,
) -> (Option<&str>, Option<String>) {
    if let Some(class) = known(written.trim()) {
        return (None, Some(class));
    }
    let inner = written
        .strip_suffix(')')
        .and_then(|open| open.rsplit_once(" ("));
    match inner.and_then(|(name, class)| Some((name, known(class)?))) {
        Some((name, class)) => (Some(name), Some(class)),
        None => (Some(written), None),
    }
}

/// What is taken where a file does not say it.
#[derive(Debug, Clone)]
pub(crate) struct StandIn {
    pub(crate) value: String,
    pub(crate) source: String,
    pub(crate) mark: Mark,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct StandIns {
    stand_in: Vec<StandInRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct StandInRow {
    key: String,
    value: String,
    source: String,
    mark: String,
}

static STAND_INS: LazyLock<Vec<(String, StandIn)>> = LazyLock::new(|| {
    const NAME: &str = "stand_ins.toml";
    let file: StandIns = data::builtin(NAME, include_str!("../data/stand_ins.toml"));
    let rows = file.stand_in.into_iter().map(|row| {
        let mark = data::mark(NAME, &row.key, &row.mark);
        let stand_in = StandIn {
            value: row.value,
            source: row.source,
            mark,
        };
        (row.key, stand_in)
    });
    rows.collect()
});

/// The stand-in of a key.
pub(crate) fn stand_in(key: &str) -> &'static StandIn {
    match STAND_INS.iter().find(|(name, _)| name == key) {
        Some((_, found)) => found,
        #[expect(
            clippy::panic,
            reason = "a missing row is a defect of the program, and tests use every key"
        )]
        None => panic!("no stand-in for {key}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_class_of_the_words_is_one_of_ours() {
        for row in WORDS.malt.iter().chain(&WORDS.sugar) {
            assert!(wort::malts::find(&row.class).is_ok(), "{}", row.class);
        }
        for row in &WORDS.yeast {
            assert!(ferment::strain(&row.class).is_ok(), "{}", row.class);
        }
    }

    #[test]
    fn a_name_and_its_class_come_apart_as_they_were_put_together() {
        let known = |word: &str| wort::malts::find(word).ok().map(|m| m.name);
        for (name, class) in [
            (Some("Old Field (lot 3)"), "wheat malt"),
            (None, "Munich malt, light"),
        ] {
            let written = named(name, class);
            let (name_again, class_again) = split(&written, known);
            assert_eq!((name_again, class_again.as_deref()), (name, Some(class)));
        }
        assert_eq!(split("Chit (pale)", known), (Some("Chit (pale)"), None));
    }
}
