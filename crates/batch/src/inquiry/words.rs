//! An answer in the words that every face shares.

use inquiry::{Finding, Knowledge, RankedTest, Reason, State, Test, TestResult};
use quantity::Caution;

/// What can hurt in a group of tests or remedies, each once.
#[must_use]
pub fn cautions_of<'c>(of: impl IntoIterator<Item = &'c Vec<Caution>>) -> Vec<Caution> {
    let mut all = Vec::new();
    for caution in of.into_iter().flatten() {
        if !all.contains(caution) {
            all.push(*caution);
        }
    }
    all
}

/// A chance, such as "78 %".
#[must_use]
pub fn percent(chance: f64) -> String {
    if chance <= 0.005 {
        "under 1 %".to_owned()
    } else if chance >= 0.995 {
        "over 99 %".to_owned()
    } else {
        format!("{:.0} %", 100.0 * chance)
    }
}

/// A reason and what it does to the odds, such as "no clove (odds × 1.4)".
fn reason_words(reason: &Reason) -> String {
    let factor = reason.weight.abs().min(13.8).exp();
    let sign = if reason.weight < 0.0 { "÷" } else { "×" };
    if factor >= 10.0 {
        format!("{} (odds {sign} {factor:.0})", reason.text)
    } else {
        format!("{} (odds {sign} {factor:.1})", reason.text)
    }
}

/// A test that was made and what came out: "Heat a sample: positive".
#[must_use]
pub fn test_words(made: &TestResult) -> String {
    let k = Knowledge::built_in();
    let name = k
        .test(&made.test)
        .map_or(made.test.as_str(), |at| k.tests[at].name.as_str());
    let came = if made.positive {
        "positive"
    } else {
        "negative"
    };
    format!("{name}: {came}")
}

/// What a test takes, such as "25 min, then 21 days".
#[must_use]
pub fn takes(test: &Test) -> String {
    let work = if test.minutes < 90.0 {
        format!("{:.0} min", test.minutes)
    } else {
        format!("{:.0} h", test.minutes / 60.0)
    };
    match test.days {
        days if days <= 0.0 => work,
        days if days < 1.5 => format!("{work}, then a day"),
        days => format!("{work}, then {days:.0} days"),
    }
}

/// What it costs in money.
#[must_use]
pub fn costs(test: &Test) -> &'static str {
    ["nothing", "little", "a kit or meter", "a laboratory"]
        .get(test.money)
        .copied()
        .unwrap_or("a laboratory")
}

/// The likeliest cause after each result.
#[must_use]
pub fn if_so_if_not(test: &RankedTest) -> [String; 2] {
    [&test.if_positive, &test.if_negative]
        .map(|(key, chance)| format!("{}: {}", cause_name(key), percent(*chance)))
}

/// How a split batch is tasted; none for another test.
#[must_use]
pub fn split_words(test: &Test, units: quantity::Units) -> Option<String> {
    let split = test.split().ok()??;
    let tastings = split.tastings.stable.unwrap_or(split.tastings.first);
    Some(format!(
        "Taste the halves in {tastings} pairs, each asked which has more of the note: that sees a plain fault four times in five at a risk of 5 %, and takes {} of each. One split says that the two differ; swap the vessels and do it again before the change is blamed.",
        quantity::show(split.beer, units)
    ))
}

/// The name of a cause by its key.
#[must_use]
pub fn cause_name(key: &str) -> &'static str {
    let k = Knowledge::built_in();
    k.cause(key)
        .map_or("none of them", |at| k.causes[at].name.as_str())
}

/// A finding with what is said of it, such as "no clove, allspice".
#[must_use]
pub fn finding_words(finding: &Finding) -> String {
    let k = Knowledge::built_in();
    let name = k
        .finding(&finding.key)
        .map_or(finding.key.as_str(), |at| k.findings[at].name.as_str());
    let mut words = match finding.state {
        State::Present => name.to_owned(),
        State::Absent => format!("no {name}"),
    };
    if let Some(severity) = finding.severity {
        words.push_str(match severity {
            inquiry::Severity::Slight => ", slight",
            inquiry::Severity::Clear => ", clear",
            inquiry::Severity::Strong => ", strong",
        });
    }
    for (key, holds) in &finding.shows {
        let said = k
            .circumstance(key)
            .map_or(key.as_str(), |at| k.circumstances[at].name.as_str());
        words.push_str(if *holds { "; " } else { "; not " });
        words.push_str(said);
    }
    words
}

/// A chance as a length of a hundred, for a bar.
#[must_use]
pub fn of_a_hundred(chance: f64) -> String {
    format!("{:.1}", 100.0 * chance.clamp(0.0, 1.0))
}

/// What speaks for a cause, or against it, the weightiest first; what hardly weighs is
/// left out.
#[must_use]
pub fn weighty(reasons: &[Reason], speaks_for: bool) -> Vec<String> {
    let weighs = |r: &&Reason| r.weight.abs() > WEIGHS && (r.weight > 0.0) == speaks_for;
    let said = reasons.iter().filter(weighs);
    said.take(SAID).map(reason_words).collect()
}

/// Reasons that are told \[nat\], and how many of each side: judgement.
const WEIGHS: f64 = 0.1;
const SAID: usize = 4;
