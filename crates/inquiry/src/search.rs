//! Findings, causes and tests by the words of whoever tastes: names, families and what else
//! they are called.

use crate::knowledge::{Cause, FindingRow, Knowledge, Test, distance};

/// More words than anybody means.
const MOST: usize = 12;

/// What some words mean in all the tables, the best first.
#[derive(Debug, Clone, PartialEq)]
pub struct Hits<'k> {
    /// Findings.
    pub findings: Vec<&'k FindingRow>,
    /// Causes: by name, by the compounds that carry their signs, and those that make the
    /// first of the findings.
    pub causes: Vec<&'k Cause>,
    /// Tests, by name and by what they mean.
    pub tests: Vec<&'k Test>,
}

impl Knowledge {
    /// Findings, causes and tests that some words mean.
    #[must_use]
    pub fn search_all(&self, words: &str) -> Hits<'_> {
        let findings = self.search(words);
        let mut causes = self.causes_named(words);
        if let Some(first) = findings.first() {
            let makes = |c: &&Cause| c.signs.iter().any(|(key, ..)| *key == first.key);
            for cause in self.causes.iter().filter(makes) {
                if !causes.contains(&cause) {
                    causes.push(cause);
                }
            }
        }
        let tests = best(&self.tests, words, |t| Known {
            own: vec![&t.name, &t.key],
            other: vec![&t.if_positive, &t.if_negative],
        });
        Hits {
            findings,
            causes,
            tests,
        }
    }

    fn causes_named(&self, words: &str) -> Vec<&Cause> {
        let carried = |c: &Cause| -> Vec<&String> {
            let by = |key: &String| self.compounds.iter().find(|x| x.key == *key);
            let signs = c.signs.iter().filter_map(|(.., by)| by.as_ref());
            signs.filter_map(by).map(|x| &x.name).collect()
        };
        best(&self.causes, words, |c| Known {
            own: vec![&c.name, &c.key],
            other: carried(c),
        })
    }

    /// Findings that some words mean, the best first; none where nothing fits.
    ///
    /// Each word of the search fits a word of the finding that is the same, that begins
    /// with it ("butt", "buttery"), that it begins with ("bitterness", "bitter"), or that
    /// differs by a letter or two. Where none fits all words, those that fit most are
    /// given.
    #[must_use]
    pub fn search(&self, words: &str) -> Vec<&FindingRow> {
        best(&self.findings, words, |row| Known {
            own: vec![&row.name, &row.key],
            other: row.words.iter().chain([&row.family]).collect(),
        })
    }
}

/// The words of a row: its own name, and what else speaks of it.
struct Known<'r> {
    own: Vec<&'r String>,
    other: Vec<&'r String>,
}

/// The rows that the most of some words fit, those that they fit closest first.
fn best<'r, R>(rows: &'r [R], words: &str, known: impl Fn(&'r R) -> Known<'r>) -> Vec<&'r R> {
    let asked: Vec<String> = split(words).take(MOST).collect();
    let scored = rows.iter().map(|row| (row, score(&known(row), &asked)));
    let mut found: Vec<_> = scored.filter(|(_, (fitting, _))| *fitting > 0).collect();
    let most = found.iter().map(|(_, s)| s.0).max().unwrap_or(0);
    found.retain(|(_, (fitting, _))| *fitting == most);
    found.sort_by_key(|(_, (_, how))| std::cmp::Reverse(*how));
    found.into_iter().map(|(row, _)| row).collect()
}

/// Words in small letters; a hyphen parts them.
fn split(text: &str) -> impl Iterator<Item = String> {
    let parts = text.split(|c: char| !c.is_alphanumeric());
    parts.filter(|p| !p.is_empty()).map(str::to_lowercase)
}

/// How many of the words fit a row, and how well.
fn score(row: &Known<'_>, asked: &[String]) -> (usize, u32) {
    let own = row.own.iter().map(|of| (*of, 1));
    let other = row.other.iter().map(|of| (*of, 0));
    let known: Vec<(String, u32)> = own
        .chain(other)
        .flat_map(|(of, worth)| split(of).map(move |word| (word, worth)))
        .collect();
    let best = |word: &String| {
        let fits = known.iter().map(|(k, worth)| {
            let fit = fit(word, k);
            if fit > 0 { 2 * fit + worth } else { 0 }
        });
        fits.max().unwrap_or(0)
    };
    let fits: Vec<u32> = asked.iter().map(best).filter(|f| *f > 0).collect();
    (fits.len(), fits.iter().sum())
}

/// How well some words name what another name does \[–\]: 0 where one of them fits none
/// of its words, more where they fit closely and little of the name is left.
#[must_use]
pub fn names(words: &str, name: &str) -> u32 {
    /// A name hardly has more words.
    const LONG: u32 = 20;
    let known: Vec<String> = split(name).collect();
    let best = |asked: String| known.iter().map(|k| fit(&asked, k)).max().unwrap_or(0);
    let fits: Vec<u32> = split(words).map(best).collect();
    match fits.iter().min() {
        None | Some(0) => 0,
        Some(least) => {
            let left = known.len().saturating_sub(fits.len()) as u32;
            least * LONG + LONG.saturating_sub(left)
        }
    }
}

/// 3 for the same word, 2 for a beginning, 1 for a slip of the pen, 0 for another word.
fn fit(asked: &str, known: &str) -> u32 {
    let letters = asked.chars().count();
    let begins =
        |long: &str, short: &str, least| short.chars().count() >= least && long.starts_with(short);
    let slips = match letters {
        0..5 => 0,
        5..8 => 1,
        _ => 2,
    };
    if asked == known {
        3
    } else if begins(known, asked, 3) || begins(asked, known, 4) {
        2
    } else if letters.abs_diff(known.chars().count()) <= slips && distance(asked, known) <= slips {
        1
    } else {
        0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn first(words: &str) -> Option<&'static str> {
        let found = Knowledge::built_in().search(words);
        found.first().map(|row| row.key.as_str())
    }

    /// What tasters say for a thing (common practice) leads to it.
    #[test]
    fn the_words_of_tasters_lead_to_findings() {
        for (words, key) in [
            ("Buttery", "butter"),
            ("diacetyl", "butter"),
            ("DMS", "cooked-corn"),
            ("corn", "cooked-corn"),
            ("bandage", "medicinal"),
            ("skunky", "skunk"),
            ("eggy", "rotten-egg"),
            ("wet cardboard", "cardboard"),
            ("bannana", "banana"),
            ("medicnal", "medicinal"),
            ("nail polish", "solvent"),
            ("tannin", "astringent"),
            ("gusher", "gushing"),
        ] {
            assert_eq!(first(words), Some(key), "{words}");
        }
    }

    #[test]
    fn every_name_finds_itself() {
        for row in &Knowledge::built_in().findings {
            assert!(
                Knowledge::built_in().search(&row.name).first() == Some(&row),
                "{}",
                row.name
            );
            assert!(!row.words.is_empty(), "{}", row.key);
        }
    }

    #[test]
    fn words_lead_to_causes_and_tests_too() {
        let k = Knowledge::built_in();
        let hits = k.search_all("medicinal");
        assert_eq!(
            hits.findings.first().map(|f| f.key.as_str()),
            Some("medicinal")
        );
        assert!(
            hits.causes.iter().any(|c| c.key.contains("chlor")),
            "{:?}",
            hits.causes
        );
        for cause in &k.causes {
            assert!(
                k.search_all(&cause.name).causes.contains(&cause),
                "{}",
                cause.key
            );
        }
        for test in &k.tests {
            assert_eq!(
                k.search_all(&test.name).tests.first(),
                Some(&test),
                "{}",
                test.key
            );
        }
        let none = k.search_all("qqqq");
        assert!(none.findings.is_empty() && none.causes.is_empty() && none.tests.is_empty());
    }

    #[test]
    fn nothing_fits_what_is_no_flavour() {
        for words in ["", "  ", "qqqq", "—", "\u{0}"] {
            assert!(Knowledge::built_in().search(words).is_empty(), "{words:?}");
        }
        let long = "butter ".repeat(10_000);
        assert_eq!(first(&long), Some("butter"));
    }
}
