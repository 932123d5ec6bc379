//! What was found, tested and done about it, as a document keeps it.

use std::collections::BTreeSet;

use inquiry::{Dispense, Finding, Sanitiser, Severity, State, TestResult};
use quantity::{Duration, Measured};

use crate::reader::Reader;
use crate::words;

/// The section `[inquiry]`: what the plan does not know of the batch.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct InquirySection {
    /// What vessels were sanitised with.
    pub sanitiser: Option<Sanitiser>,
    /// Whether that was rinsed off with water free of chlorine.
    pub rinsed: Option<bool>,
    /// Whether plastic in contact is old or scratched.
    pub scratched: Option<bool>,
    /// Whether a diastatic strain was in the kit before.
    pub diastatic_before: Option<bool>,
    /// How often the yeast was pitched again.
    pub generation: Option<u32>,
    /// Whether the temperature of the beer was logged and held.
    pub course_held: Option<bool>,
    /// Whether clear or green glass stood in light.
    pub light: Option<bool>,
    /// Whether the vessel was purged and filled closed.
    pub purged: Option<bool>,
    /// Age of the beer.
    pub age: Option<Measured<Duration>>,
    /// How it was poured.
    pub poured: Option<Dispense>,
    /// Age of the malt extract.
    pub extract_age: Option<Measured<Duration>>,
    /// The cause whose remedy was tried.
    pub tried: Option<String>,
    /// Whether the fault was gone then.
    pub gone: Option<bool>,
    /// Whether it was drunk and nothing was amiss.
    pub sound: Option<bool>,
    /// The batch before it, whose fault it mends: its identifier in the store.
    pub after: Option<String>,
    /// The cause that it mends.
    pub mends: Option<String>,
}

const YES: [(&str, bool); 2] = [("yes", true), ("no", false)];

/// The keys of `[inquiry]`.
pub(crate) fn section(r: &mut Reader<'_>) -> InquirySection {
    let section = InquirySection {
        sanitiser: r
            .choice(
                "sanitiser",
                "what vessels were sanitised with",
                &[
                    ("bleach", Sanitiser::Hypochlorite),
                    ("iodine", Sanitiser::Iodine),
                    ("other", Sanitiser::Other),
                ],
            )
            .optional(),
        rinsed: r
            .choice(
                "rinsed",
                "whether it was rinsed off with water free of chlorine",
                &YES,
            )
            .optional(),
        scratched: r
            .choice(
                "scratched",
                "whether plastic that touches wort or beer is old or scratched",
                &YES,
            )
            .optional(),
        diastatic_before: r
            .choice(
                "diastatic_before",
                "whether a diastatic yeast was in the kit before",
                &YES,
            )
            .optional(),
        generation: crate::document::whole(
            r,
            "generation",
            "how often the yeast was pitched again, 1 to 100",
            100,
        ),
        course_held: r
            .choice(
                "course_held",
                "whether the temperature of the beer was logged and kept in range",
                &YES,
            )
            .optional(),
        light: r
            .choice(
                "light",
                "whether it stood in clear or green glass in light",
                &YES,
            )
            .optional(),
        purged: r
            .choice(
                "purged",
                "whether the vessel was purged and filled closed",
                &YES,
            )
            .optional(),
        age: r
            .quantity("age", "age of the beer since it was packed")
            .optional(),
        poured: r
            .choice(
                "poured",
                "where it was poured from",
                &[("line", Dispense::Line), ("bottles", Dispense::Bottles)],
            )
            .optional(),
        extract_age: r
            .quantity("extract_age", "age of the malt extract")
            .optional(),
        tried: r
            .word(
                "tried",
                "the cause whose remedy was tried in the next batch",
                words::causes,
                words::cause,
            )
            .optional(),
        gone: r
            .choice("gone", "whether the fault was gone then", &YES)
            .optional(),
        sound: r
            .choice("sound", "whether it was drunk and nothing was amiss", &YES)
            .optional(),
        after: r
            .text(
                "after",
                "the identifier in the store of the batch whose fault this one mends",
            )
            .optional(),
        mends: r
            .word(
                "mends",
                "the cause that is mended in it",
                words::causes,
                words::cause,
            )
            .optional(),
    };
    if section.gone.is_some() && !r.has("tried") {
        r.fault(
            Some("gone"),
            "it is not said which remedy was tried",
            "give tried, such as tried = \"chloramine-in-water\"",
        );
    }
    section
}

/// An entry of `[[finding]]`.
pub(crate) fn finding(r: &mut Reader<'_>) -> Finding {
    let key = r
        .word(
            "what",
            "what was smelled, tasted, seen or measured",
            words::findings,
            words::finding,
        )
        .required()
        .unwrap_or_default();
    let there = r
        .choice(
            "there",
            "whether it is there, or was looked for and is not",
            &YES,
        )
        .required(true);
    let severity = r
        .choice(
            "strength",
            "how strong it is",
            &[
                ("slight", Severity::Slight),
                ("clear", Severity::Clear),
                ("strong", Severity::Strong),
            ],
        )
        .optional();
    let first = r
        .choice(
            "first",
            "when it was first noticed",
            &[
                ("in the wort", "in-wort"),
                ("fermenter", "after-fermentation"),
                ("package", "after-packaging"),
            ],
        )
        .optional();
    let keen = r
        .choice(
            "taster",
            "whether the taster finds it when it is there",
            &[("keen", 1.0), ("unsure", 0.6), ("blind to it", 0.0)],
        )
        .optional();
    let by = r
        .text(
            "by",
            "who found it, by the name that this taster goes by in tastings",
        )
        .optional();
    let mut shows: Vec<(String, bool)> = first.into_iter().map(|f| (f.to_owned(), true)).collect();
    for (name, key, doc) in CIRCUMSTANCES {
        let holds = r.choice(name, doc, &YES).optional();
        shows.extend(holds.map(|holds| (key.to_owned(), holds)));
    }
    let state = if there { State::Present } else { State::Absent };
    Finding {
        key,
        state,
        severity,
        keen: keen.unwrap_or(1.0),
        by,
        shows,
    }
}

/// What can be said of a finding with yes or no: key of the document, of the tables, and
/// its words.
pub const CIRCUMSTANCES: [(&str, &str, &str); 11] = [
    (
        "grows_warm",
        "grows-warm",
        "whether it grows with warm storage",
    ),
    ("fades_cold", "fades-cold", "whether it fades in the cold"),
    (
        "tap_only",
        "tap-only",
        "whether the tap alone has it, and no bottle",
    ),
    (
        "lit_only",
        "lit-only",
        "whether only bottles that stood in light have it",
    ),
    (
        "some_bottles",
        "some-bottles",
        "whether only some bottles or kegs have it",
    ),
    (
        "same_water",
        "same-water",
        "whether other batches on this water have it",
    ),
    (
        "same_yeast",
        "same-yeast",
        "whether other batches on this yeast have it",
    ),
    (
        "same_kit",
        "same-kit",
        "whether other batches through the same vessel, hose or line have it",
    ),
    (
        "same_hops",
        "same-hops",
        "whether other batches with this lot of hops have it",
    ),
    (
        "same_malt",
        "same-malt",
        "whether other batches with this malt or extract have it",
    ),
    (
        "pale_only",
        "pale-only",
        "whether pale batches alone have it",
    ),
];

/// An entry of `[[test]]`.
pub(crate) fn test(r: &mut Reader<'_>) -> TestResult {
    TestResult {
        test: r
            .word("what", "which test was made", words::tests, words::test)
            .required()
            .unwrap_or_default(),
        positive: r
            .choice(
                "result",
                "what came out",
                &[("positive", true), ("negative", false)],
            )
            .required(true),
    }
}

/// Two things that the tables would not take, as faults of the document.
pub(crate) fn refuse_twice(r: &Reader<'_>, findings: &[Finding], tests: &[TestResult]) {
    let found = twice(findings.iter().map(|f| f.key.as_str()));
    let tested = twice(tests.iter().map(|t| t.test.as_str()));
    for (list, key) in [("finding", found), ("test", tested)] {
        if let Some(key) = key {
            r.fault(Some(list), format!("{key} is said twice"), "say it once");
        }
    }
}

/// The first key that comes again.
fn twice<'k>(mut keys: impl Iterator<Item = &'k str>) -> Option<&'k str> {
    let mut seen = BTreeSet::new();
    keys.find(|key| !key.is_empty() && !seen.insert(*key))
}
