//! The tables of causes, compounds, findings, tests and facts, and their network.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use quantity::{Caution, Source};

use crate::error::InquiryError;
use crate::network::{Network, Node, Trace};
use crate::rows;

/// A cause of a fault.
#[derive(Debug, Clone, PartialEq)]
pub struct Cause {
    /// Its key.
    pub key: String,
    /// Its name.
    pub name: String,
    /// The stage that it belongs to.
    pub stage: String,
    /// Chance in a batch before any fact or finding \[–\].
    pub prior: f64,
    /// How it makes the fault.
    pub mechanism: String,
    /// Where that, and the figures of the remedy, come from.
    pub source: Source,
    /// What in the stream moves it.
    pub moved_by: String,
    /// Why it is as common as it is.
    pub usual_because: String,
    /// What to change.
    pub remedy: String,
    /// What can hurt in changing it.
    pub cautions: Vec<Caution>,
    /// What the change costs in a batch [units of ten minutes of work].
    pub remedy_cost: f64,
    /// What it costs to leave the cause in the next batch \[the same\].
    pub loss: f64,
    /// Signs: finding, chance, and the compound that carries it.
    pub signs: Vec<(String, f64, Option<String>)>,
    /// Chance of a circumstance of what it makes, by key.
    pub shows: BTreeMap<String, f64>,
}

/// A compound or a family of them between causes and findings.
#[derive(Debug, Clone, PartialEq)]
pub struct Compound {
    /// Its key.
    pub key: String,
    /// Its name.
    pub name: String,
    /// Its chemical class.
    pub class: String,
    /// Keys of its thresholds in the glass.
    pub thresholds: Vec<String>,
}

/// Something that can be smelled, tasted, seen or measured.
#[derive(Debug, Clone, PartialEq)]
pub struct FindingRow {
    /// Its key.
    pub key: String,
    /// Its words.
    pub name: String,
    /// By which sense.
    pub sense: String,
    /// Family of flavours.
    pub family: String,
    /// What else it is called.
    pub words: Vec<String>,
    /// Near-synonyms share it.
    pub group: Option<String>,
    /// Chance of it with no listed cause \[–\].
    pub leak: f64,
    /// Facts of the batch that say that it is there.
    pub told_by: Vec<String>,
    /// Facts that say that it is not.
    pub denied_by: Vec<String>,
}

/// What can be said of a finding: when and where it shows.
#[derive(Debug, Clone, PartialEq)]
pub struct Circumstance {
    /// Its key.
    pub key: String,
    /// Its words.
    pub name: String,
    /// "first", "when", "trend" or "batches". Those about "first" exclude each other.
    pub about: String,
    /// Chance where nothing links the two \[–\].
    pub usual: f64,
}

/// A test.
#[derive(Debug, Clone, PartialEq)]
pub struct Test {
    /// Its key.
    pub key: String,
    /// Its name.
    pub name: String,
    /// How it is made.
    pub how: String,
    /// "bench", "glass", "split batch" or "record".
    pub kind: String,
    /// Work \[min\].
    pub minutes: f64,
    /// Money class, 0 to 3.
    pub money: usize,
    /// Days until it says something.
    pub days: f64,
    /// What a positive result means.
    pub if_positive: String,
    /// What a negative one means.
    pub if_negative: String,
    /// Facts that already hold its answer.
    pub settled_by: Vec<String>,
    /// What can hurt.
    pub cautions: Vec<Caution>,
    /// Chance of a positive result with no cause that it speaks to \[–\].
    pub otherwise: f64,
    /// Chance of a positive result, by cause alone \[–\].
    pub positive: BTreeMap<String, f64>,
    /// The same by row.
    pub(crate) speaks_to: Vec<(usize, f64)>,
}

/// A fact of a batch, and what it does to the odds of causes.
#[derive(Debug, Clone, PartialEq)]
pub struct Fact {
    /// Its key.
    pub key: String,
    /// Its words.
    pub text: String,
    /// Factor on the prior odds, by cause.
    pub odds: BTreeMap<String, f64>,
}

/// All tables.
#[derive(Debug, Clone)]
pub struct Knowledge {
    /// Causes.
    pub causes: Vec<Cause>,
    /// Compounds.
    pub compounds: Vec<Compound>,
    /// Findings.
    pub findings: Vec<FindingRow>,
    /// Circumstances.
    pub circumstances: Vec<Circumstance>,
    /// Tests.
    pub tests: Vec<Test>,
    /// Facts.
    pub facts: Vec<Fact>,
    /// Where each table comes from, by its name.
    pub sources: BTreeMap<&'static str, Source>,
    /// Causes over findings and then tests.
    pub network: Network,
}

/// A trace is made a little more often than its likeliest finding shows. Judgement.
const SHOWN_WHEN_MADE: f64 = 0.95;

static BUILT_IN: LazyLock<Knowledge> = LazyLock::new(load);

impl Knowledge {
    /// The built-in tables.
    #[must_use]
    pub fn built_in() -> &'static Self {
        &BUILT_IN
    }

    /// Row of a cause.
    ///
    /// # Errors
    /// [`InquiryError::Unknown`] with the nearest key.
    pub fn cause(&self, key: &str) -> Result<usize, InquiryError> {
        find("cause", key, self.causes.iter().map(|c| c.key.as_str()))
    }

    /// Row of a finding.
    ///
    /// # Errors
    /// As [`Self::cause`].
    pub fn finding(&self, key: &str) -> Result<usize, InquiryError> {
        let found = find("finding", key, self.findings.iter().map(|c| c.key.as_str()));
        // What a taster calls it is nearer than what is spelt alike.
        found.map_err(|error| match (error, self.search(key).first()) {
            (InquiryError::Unknown { what, given, .. }, Some(meant)) => InquiryError::Unknown {
                what,
                given,
                nearest: meant.key.clone(),
            },
            (error, _) => error,
        })
    }

    /// Row of a circumstance.
    ///
    /// # Errors
    /// As [`Self::cause`].
    pub fn circumstance(&self, key: &str) -> Result<usize, InquiryError> {
        find(
            "circumstance",
            key,
            self.circumstances.iter().map(|c| c.key.as_str()),
        )
    }

    /// Row of a test.
    ///
    /// # Errors
    /// As [`Self::cause`].
    pub fn test(&self, key: &str) -> Result<usize, InquiryError> {
        find("test", key, self.tests.iter().map(|c| c.key.as_str()))
    }

    /// Chance that a note is shown so, by the cause that made it; by the leak where there
    /// is no cause \[–\].
    #[must_use]
    pub fn shown(&self, circumstance: usize, cause: Option<usize>) -> f64 {
        let raw = |c: &Circumstance| {
            let stepped = cause
                .and_then(|i| self.causes[i].shows.get(&c.key))
                .copied();
            stepped.unwrap_or(0.0).max(c.usual)
        };
        let row = &self.circumstances[circumstance];
        if row.about != "first" {
            return raw(row);
        }
        let all: f64 = self
            .circumstances
            .iter()
            .filter(|c| c.about == "first")
            .map(raw)
            .sum();
        raw(row) / all
    }

    /// Thresholds of the glass, by key, of what carries a finding: the compound that
    /// makes it likeliest first.
    #[must_use]
    pub fn carriers(&self, finding: &str) -> Vec<&str> {
        let signs = self.causes.iter().flat_map(|c| &c.signs);
        let signs = signs.filter(|(key, ..)| key == finding);
        let mut by: Vec<(f64, &str)> = signs
            .filter_map(|(_, step, through)| Some((*step, through.as_deref()?)))
            .collect();
        by.sort_by(|a, b| b.0.total_cmp(&a.0));
        let mut keys: Vec<&str> = Vec::new();
        for (_, through) in by {
            let carrier = self.compounds.iter().find(|c| c.key == through);
            for key in carrier.iter().flat_map(|c| &c.thresholds) {
                if !keys.contains(&key.as_str()) {
                    keys.push(key);
                }
            }
        }
        keys
    }

    /// The effect that a test is in the network.
    pub(crate) fn effect_of_test(&self, test: usize) -> usize {
        self.findings.len() + test
    }
}

fn find<'a>(
    what: &'static str,
    key: &str,
    keys: impl Iterator<Item = &'a str> + Clone,
) -> Result<usize, InquiryError> {
    if let Some(at) = keys.clone().position(|k| k == key) {
        return Ok(at);
    }
    let nearest = keys.min_by_key(|k| distance(k, key)).unwrap_or_default();
    Err(InquiryError::Unknown {
        what,
        given: key.to_owned(),
        nearest: nearest.to_owned(),
    })
}

/// Letters to change, add or leave out (Levenshtein).
pub(crate) fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().take(64).collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.chars().enumerate() {
        let mut corner = row[0];
        row[0] = i + 1;
        for (j, y) in b.iter().enumerate() {
            let here = (corner + usize::from(x != *y))
                .min(row[j] + 1)
                .min(row[j + 1] + 1);
            corner = row[j + 1];
            row[j + 1] = here;
        }
    }
    row[b.len()]
}

/// The steps of chance: judgement.
fn step(word: &str) -> f64 {
    match word {
        "nearly always" => 0.9,
        "likely" => 0.6,
        "possible" => 0.25,
        "rare" => 0.05,
        _ => f64::NAN,
    }
}

/// The classes of prior: judgement.
fn prior(word: &str) -> f64 {
    match word {
        "common" => 0.08,
        "usual" => 0.04,
        "uncommon" => 0.015,
        "rare" => 0.004,
        _ => f64::NAN,
    }
}

fn load() -> Knowledge {
    let causes: rows::Causes =
        quantity::data::builtin("causes.toml", include_str!("../data/causes.toml"));
    let compounds: rows::Compounds =
        quantity::data::builtin("compounds.toml", include_str!("../data/compounds.toml"));
    let findings: rows::Findings =
        quantity::data::builtin("findings.toml", include_str!("../data/findings.toml"));
    let tests: rows::Tests =
        quantity::data::builtin("tests.toml", include_str!("../data/tests.toml"));
    let facts: rows::FactRows =
        quantity::data::builtin("facts.toml", include_str!("../data/facts.toml"));
    let sources = [
        ("causes", &causes.source, &causes.mark),
        ("compounds", &compounds.source, &compounds.mark),
        ("findings", &findings.source, &findings.mark),
        ("tests", &tests.source, &tests.mark),
        ("facts", &facts.source, &facts.mark),
    ]
    .map(|(table, text, mark)| {
        let mark = quantity::data::mark(table, "source", mark);
        (
            table,
            Source {
                text: text.clone(),
                mark,
            },
        )
    })
    .into();
    let mut knowledge = Knowledge {
        causes: causes.cause.into_iter().map(cause).collect(),
        compounds: compounds.compound.into_iter().map(compound).collect(),
        findings: findings.finding.into_iter().map(finding).collect(),
        circumstances: findings
            .circumstance
            .into_iter()
            .map(circumstance)
            .collect(),
        tests: tests.test.into_iter().map(test).collect(),
        facts: facts
            .fact
            .into_iter()
            .map(|f| Fact {
                key: f.key,
                text: f.text,
                odds: f.odds,
            })
            .collect(),
        sources,
        network: Network {
            causes: Vec::new(),
            leaks: Vec::new(),
        },
    };
    for test in &mut knowledge.tests {
        let rows = knowledge.causes.iter().enumerate();
        test.speaks_to = rows
            .filter_map(|(i, c)| Some((i, *test.positive.get(&c.key)?)))
            .collect();
    }
    knowledge.network = network(&knowledge);
    knowledge
}

fn cause(row: rows::CauseRow) -> Cause {
    let signs = row
        .signs
        .into_iter()
        .map(|s| (s.finding, step(&s.step), s.through));
    Cause {
        signs: signs.collect(),
        shows: row.shows.into_iter().map(|(k, s)| (k, step(&s))).collect(),
        prior: prior(&row.prior),
        key: row.key,
        name: row.name,
        stage: row.stage,
        mechanism: row.mechanism,
        source: Source {
            text: row.source,
            mark: quantity::data::mark("causes", "source", &row.mark),
        },
        cautions: cautions(&row.cautions),
        moved_by: row.moved_by,
        usual_because: row.usual_because,
        remedy: row.remedy,
        remedy_cost: row.remedy_cost,
        loss: row.loss,
    }
}

fn compound(row: rows::CompoundRow) -> Compound {
    Compound {
        key: row.key,
        name: row.name,
        class: row.class,
        thresholds: row.thresholds,
    }
}

fn finding(row: rows::FindingData) -> FindingRow {
    FindingRow {
        key: row.key,
        name: row.name,
        sense: row.sense,
        family: row.family,
        words: row.words,
        group: row.group,
        leak: row.leak,
        told_by: row.told_by,
        denied_by: row.denied_by,
    }
}

fn circumstance(row: rows::CircumstanceRow) -> Circumstance {
    Circumstance {
        key: row.key,
        name: row.name,
        about: row.about,
        usual: row.usual,
    }
}

fn test(row: rows::TestRow) -> Test {
    Test {
        cautions: cautions(&row.cautions),
        speaks_to: Vec::new(),
        key: row.key,
        name: row.name,
        how: row.how,
        kind: row.kind,
        minutes: row.minutes,
        money: row.money,
        days: row.days,
        if_positive: row.if_positive,
        if_negative: row.if_negative,
        settled_by: row.settled_by,
        otherwise: row.otherwise,
        positive: row.positive,
    }
}

fn cautions(keys: &[String]) -> Vec<Caution> {
    Caution::ALL
        .iter()
        .filter(|c| keys.iter().any(|k| k == c.key()))
        .copied()
        .collect()
}

fn network(k: &Knowledge) -> Network {
    let leaks = k
        .findings
        .iter()
        .map(|f| f.leak)
        .chain(k.tests.iter().map(|t| t.otherwise));
    let causes = k.causes.iter().map(|cause| Node {
        prior: cause.prior,
        traces: traces(k, cause),
    });
    Network {
        causes: causes.collect(),
        leaks: leaks.collect(),
    }
}

/// Signs through one compound are one trace, made as often as the likeliest of them
/// needs, so that each shows as often as its step says.
fn traces(k: &Knowledge, cause: &Cause) -> Vec<Trace> {
    let mut by_compound: BTreeMap<&str, Vec<(usize, f64)>> = BTreeMap::new();
    for (finding, step, through) in &cause.signs {
        let Ok(at) = k.finding(finding) else { continue };
        let carrier = through.as_deref().unwrap_or(finding);
        by_compound.entry(carrier).or_default().push((at, *step));
    }
    let mut traces: Vec<Trace> = by_compound
        .into_values()
        .map(|shows| {
            let most = shows.iter().map(|s| s.1).fold(0.0, f64::max);
            let made = most / SHOWN_WHEN_MADE;
            Trace {
                made,
                shows: shows.into_iter().map(|(f, s)| (f, s / made)).collect(),
            }
        })
        .collect();
    for (i, test) in k.tests.iter().enumerate() {
        if let Some(positive) = test.positive.get(&cause.key) {
            traces.push(Trace {
                made: *positive,
                shows: vec![(k.effect_of_test(i), 1.0)],
            });
        }
    }
    traces
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    fn unique<'a>(keys: impl Iterator<Item = &'a str>) -> usize {
        let all: Vec<&str> = keys.collect();
        let set: BTreeSet<&str> = all.iter().copied().collect();
        assert_eq!(set.len(), all.len(), "a key stands twice");
        all.len()
    }

    #[test]
    fn the_tables_are_as_large_as_they_should_be_and_no_key_stands_twice() {
        let k = Knowledge::built_in();
        assert!(unique(k.causes.iter().map(|c| c.key.as_str())) >= 40);
        assert!(unique(k.findings.iter().map(|c| c.key.as_str())) >= 60);
        assert!(unique(k.tests.iter().map(|c| c.key.as_str())) >= 25);
        unique(k.compounds.iter().map(|c| c.key.as_str()));
        unique(k.circumstances.iter().map(|c| c.key.as_str()));
        unique(k.facts.iter().map(|c| c.key.as_str()));
    }

    #[test]
    fn every_key_refers_to_something_and_every_chance_is_one() {
        let k = Knowledge::built_in();
        let chance = |x: f64| x > 0.0 && x < 1.0;
        for c in &k.causes {
            assert!(
                chance(c.prior) && c.remedy_cost > 0.0 && c.loss > 0.0,
                "{}",
                c.key
            );
            assert!(!c.mechanism.is_empty() && !c.remedy.is_empty() && !c.moved_by.is_empty());
            for (finding, step, through) in &c.signs {
                k.finding(finding).unwrap();
                assert!(chance(*step), "{} {finding}", c.key);
                let carried = through
                    .as_ref()
                    .is_none_or(|t| k.compounds.iter().any(|x| &x.key == t));
                assert!(carried, "{} {through:?}", c.key);
            }
            for (key, step) in &c.shows {
                k.circumstance(key).unwrap();
                assert!(chance(*step), "{} {key}", c.key);
            }
        }
        for t in &k.tests {
            assert!(
                chance(t.otherwise) && t.money <= 3 && t.minutes > 0.0,
                "{}",
                t.key
            );
            for (cause, p) in &t.positive {
                k.cause(cause).unwrap();
                assert!(chance(*p) && *p > t.otherwise, "{} {cause}", t.key);
            }
            assert!(
                t.settled_by
                    .iter()
                    .all(|s| k.facts.iter().any(|f| &f.key == s)),
                "{}",
                t.key
            );
        }
        for f in &k.facts {
            for (cause, factor) in &f.odds {
                k.cause(cause).unwrap();
                assert!(*factor > 0.0 && factor.is_finite(), "{}", f.key);
            }
        }
        assert!(k.findings.iter().all(|f| chance(f.leak)));
        let facts = k
            .findings
            .iter()
            .flat_map(|f| f.told_by.iter().chain(&f.denied_by));
        facts.for_each(|key| assert!(k.facts.iter().any(|f| &f.key == key), "{key}"));
        assert!(k.circumstances.iter().all(|c| chance(c.usual)));
    }

    #[test]
    fn nothing_is_an_orphan() {
        let k = Knowledge::built_in();
        for f in &k.findings {
            assert!(
                k.causes
                    .iter()
                    .any(|c| c.signs.iter().any(|s| s.0 == f.key)),
                "{}",
                f.key
            );
        }
        for x in &k.compounds {
            let carries = |s: &(String, f64, Option<String>)| s.2.as_ref() == Some(&x.key);
            assert!(
                k.causes.iter().any(|c| c.signs.iter().any(carries)),
                "{}",
                x.key
            );
        }
        for c in &k.causes {
            assert!(
                k.tests.iter().any(|t| t.positive.contains_key(&c.key)),
                "{} has no test",
                c.key
            );
        }
        assert!(k.tests.iter().all(|t| !t.positive.is_empty()));
    }

    /// Each sign keeps the chance of its step, whatever compound carries it.
    #[test]
    fn a_trace_keeps_the_steps() {
        let k = Knowledge::built_in();
        for (cause, node) in k.causes.iter().zip(&k.network.causes) {
            for (finding, step, _) in &cause.signs {
                let at = k.finding(finding).unwrap();
                let shown: f64 = node
                    .traces
                    .iter()
                    .flat_map(|t| t.shows.iter().filter(|s| s.0 == at).map(|s| s.1 * t.made))
                    .sum();
                assert!((shown - step).abs() < 1e-12, "{} {finding}", cause.key);
            }
        }
    }

    /// An ester is no phenol: classes agree with those of the glass.
    #[test]
    fn classes_are_those_of_the_glass() {
        for x in &Knowledge::built_in().compounds {
            for key in &x.thresholds {
                let found = glass::Compound::find(key).unwrap_or_else(|| panic!("{key}"));
                let same = found.class.word() == x.class;
                // 2-phenylethanol goes with its ester: both smell of rose.
                assert!(same || key == "phenylethanol", "{key}: {}", x.class);
            }
        }
    }
}
