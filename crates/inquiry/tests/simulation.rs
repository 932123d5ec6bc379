//! Faulty batches drawn from the network, asked about as a brewer would.
//!
//! What it shows is the ceiling where the tables are true; it says nothing about how
//! true they are of real beer.
//!
//! A faulty batch has a cause, and something that is smelled, tasted or seen. The brewer
//! reports whatever is there, 70 % of what is not, and of each note half of what can be
//! said of when and where it shows; then makes the two tests that are ranked first.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use inquiry::{
    Answer, Facts, Finding, Held, InquiryError, Knowledge, Network, Question, Sanitiser,
    TestResult, inquire_briefly, rank_tests,
};
use quantity::{Chlorine, Duration, Fraction, Temperature};
use water::ResidualChlorine;

/// SplitMix64.
struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn under(&mut self, p: f64) -> bool {
        self.roll() < p
    }

    fn pick(&mut self, n: usize) -> usize {
        ((self.roll() * n as f64) as usize).min(n - 1)
    }
}

fn any_facts(dice: &mut Dice) -> Facts {
    let chlorine = [0.0, 0.0, 0.0, 0.02, 1.8][dice.pick(5)];
    let met = Chlorine::from_mg_per_l(chlorine);
    let c = Temperature::from_c;
    Facts {
        chlorine: Some(ResidualChlorine {
            combined: met,
            at_most: met,
            ..Default::default()
        }),
        sanitiser: Some(
            [
                Sanitiser::Hypochlorite,
                Sanitiser::Iodine,
                Sanitiser::Other,
                Sanitiser::Other,
            ][dice.pick(4)],
        ),
        phenolic: Some(dice.under(0.3)),
        pitched: Some(Fraction::from_ratio([0.3, 0.7, 1.0, 1.2][dice.pick(4)])),
        oxygen: Some(Fraction::from_ratio([0.3, 0.8, 1.0][dice.pick(3)])),
        warmest: Some((c([20.0, 22.0, 27.0][dice.pick(3)]), c(24.0))),
        logged: Some(dice.under(0.5)),
        after_end: Some(
            [
                Held::NotEnded,
                Held::For(Duration::from_h(120.0)),
                Held::For(Duration::from_h(24.0)),
            ][dice.pick(3)],
        ),
        boil: Some(Duration::from_min([45.0, 60.0, 90.0][dice.pick(3)])),
        evaporation: Some(Fraction::from_ratio(0.1)),
        pilsner: Some(Fraction::from_ratio([0.1, 0.5, 0.9][dice.pick(3)])),
        primed: Some(dice.under(0.6)),
        lit: Some(dice.under(0.2)),
        ..Facts::default()
    }
}

struct Drawn {
    causes: Vec<bool>,
    /// Which of them made something of what is there.
    made: Vec<bool>,
    question: Question,
}

/// What one batch holds, and what is told of it; none where nothing is smelled,
/// tasted or seen.
fn drawn(k: &Knowledge, truth: &Network, dice: &mut Dice) -> Option<Drawn> {
    let causes: Vec<bool> = truth.causes.iter().map(|c| dice.under(c.prior)).collect();
    if !causes.contains(&true) {
        return None;
    }
    // Who fired each finding: causes by their row, the leak as none.
    let mut by: Vec<Vec<Option<usize>>> = vec![Vec::new(); k.findings.len()];
    for (i, node) in truth.causes.iter().enumerate().filter(|(i, _)| causes[*i]) {
        for trace in &node.traces {
            let made = dice.under(trace.made);
            for (effect, shows) in trace.shows.iter().filter(|s| s.0 < k.findings.len()) {
                if made && dice.under(*shows) {
                    by[*effect].push(Some(i));
                }
            }
        }
    }
    for (f, fired) in by.iter_mut().enumerate() {
        if dice.under(truth.leaks[f]) {
            fired.push(None);
        }
    }
    let made = (0..causes.len())
        .map(|i| by.iter().any(|fired| fired.contains(&Some(i))))
        .collect();
    let mut findings = Vec::new();
    let mut noticed = false;
    for (row, fired) in k.findings.iter().zip(&by) {
        if fired.is_empty() {
            if dice.under(0.7) {
                findings.push(Finding::absent(&row.key));
            }
            continue;
        }
        noticed |= row.sense != "measured";
        let told = Finding::present(&row.key);
        findings.push(if row.sense == "measured" {
            told
        } else {
            with_circumstances(k, told, fired, dice)
        });
    }
    let question = Question {
        findings,
        ..Question::default()
    };
    noticed.then_some(Drawn {
        causes,
        made,
        question,
    })
}

/// When and where it shows, as far as it is told; nothing is said where two makers of it
/// disagree.
fn with_circumstances(
    k: &Knowledge,
    told: Finding,
    fired: &[Option<usize>],
    dice: &mut Dice,
) -> Finding {
    let about: Vec<bool> = k.circumstances.iter().map(|_| dice.under(0.5)).collect();
    let mut said: Option<Vec<(usize, bool)>> = None;
    for maker in fired {
        let first = dice.roll();
        let mut sum = 0.0;
        let mut holds = Vec::new();
        for (i, row) in k.circumstances.iter().enumerate() {
            let shown = k.shown(i, *maker);
            if row.about == "first" {
                let here = (sum..sum + shown).contains(&first);
                sum += shown;
                if here {
                    holds.push((i, true));
                }
            } else if about[i] {
                holds.push((i, dice.under(shown)));
            }
        }
        if said.as_ref().is_some_and(|s| *s != holds) {
            return told;
        }
        said = Some(holds);
    }
    said.unwrap_or_default()
        .into_iter()
        .fold(told, |t, (i, holds)| {
            t.shown(&k.circumstances[i].key, holds)
        })
}

/// Makes the best test twice and tells what came out; none where there are more findings
/// than can be weighed.
fn tested(
    k: &Knowledge,
    truth: &Network,
    facts: &Facts,
    drawn: &Drawn,
    dice: &mut Dice,
) -> Option<Answer> {
    let mut question = drawn.question.clone();
    for _ in 0..2 {
        let tests = answered(rank_tests(facts, &question))?;
        let Some(best) = tests.first() else { break };
        let effect = k.findings.len() + k.test(&best.test.key).unwrap();
        let mut quiet = 1.0 - truth.leaks[effect];
        for (node, _) in truth
            .causes
            .iter()
            .zip(&drawn.causes)
            .filter(|(_, on)| **on)
        {
            for trace in &node.traces {
                quiet *= trace
                    .shows
                    .iter()
                    .filter(|s| s.0 == effect)
                    .map(|s| 1.0 - trace.made * s.1)
                    .product::<f64>();
            }
        }
        question.results.push(TestResult {
            test: best.test.key.clone(),
            positive: !dice.under(quiet),
        });
    }
    answered(inquire_briefly(facts, &question))
}

fn answered<T>(answer: Result<T, InquiryError>) -> Option<T> {
    match answer {
        Err(InquiryError::TooMany { .. }) => None,
        answer => Some(answer.unwrap()),
    }
}

#[derive(Default)]
struct Score {
    batches: usize,
    too_many: usize,
    /// The first cause is there.
    first: usize,
    /// It is there and made something of what was found.
    maker: usize,
    among_three: usize,
    bins: [(f64, f64, f64); 10],
    top_bins: [(f64, f64, f64); 10],
}

fn add(bins: &mut [(f64, f64, f64); 10], p: f64, there: bool) {
    let bin = &mut bins[((p * 10.0) as usize).min(9)];
    *bin = (bin.0 + 1.0, bin.1 + p, bin.2 + f64::from(u8::from(there)));
}

/// Expected calibration error over ten equal bins.
fn error(bins: &[(f64, f64, f64); 10]) -> f64 {
    let n: f64 = bins.iter().map(|b| b.0).sum();
    bins.iter().map(|b| (b.1 - b.2).abs() / n).sum()
}

impl Score {
    fn take(&mut self, k: &Knowledge, answer: &Answer, batch: &Drawn) {
        let there = |c: &inquiry::RankedCause| batch.causes[k.cause(&c.cause.key).unwrap()];
        let made = |c: &inquiry::RankedCause| batch.made[k.cause(&c.cause.key).unwrap()];
        self.batches += 1;
        self.first += usize::from(there(&answer.causes[0]));
        self.maker += usize::from(made(&answer.causes[0]));
        self.among_three += usize::from(answer.causes[..3].iter().any(there));
        for c in &answer.causes {
            add(&mut self.bins, c.chance, there(c));
        }
        add(
            &mut self.top_bins,
            answer.causes[0].made,
            made(&answer.causes[0]),
        );
    }

    fn share(&self) -> f64 {
        self.first as f64 / self.batches as f64
    }

    /// The row of docs/inquiry-figures.md.
    fn row(&self, what: &str) -> String {
        let n = self.batches as f64;
        let percent = |count: usize| 100.0 * count as f64 / n;
        format!(
            "| {what} | {} | {:.0} % | {:.0} % | {:.0} % | {:.3} | {:.3} |",
            self.batches,
            percent(self.first),
            percent(self.maker),
            percent(self.among_three),
            error(&self.bins),
            error(&self.top_bins),
        )
    }
}

/// The figures that the docs tell are those of the tables as they are.
fn told(rows: &[String]) {
    const DOCS: &str = include_str!("../../../docs/inquiry-figures.md");
    let rows = rows.iter().map(String::as_str);
    let missing: Vec<&str> = rows.filter(|row| !DOCS.contains(row)).collect();
    assert!(
        missing.is_empty(),
        "docs/inquiry-figures.md should say\n{}",
        missing.join("\n")
    );
}

/// Scores with the two best tests, without tests, and with tests but without facts.
fn run(batches: usize, seed: u64, change: impl Fn(&mut Network, &mut Dice)) -> [Score; 3] {
    let k = Knowledge::built_in();
    let mut dice = Dice(seed);
    let mut scores = [Score::default(), Score::default(), Score::default()];
    while scores[0].batches < batches {
        let facts = any_facts(&mut dice);
        let mut truth = facts.network().unwrap();
        change(&mut truth, &mut dice);
        let Some(batch) = drawn(k, &truth, &mut dice) else {
            continue;
        };
        let untested = answered(inquire_briefly(&facts, &batch.question));
        let (Some(full), Some(untested)) = (tested(k, &truth, &facts, &batch, &mut dice), untested)
        else {
            scores[0].too_many += 1;
            continue;
        };
        scores[0].take(k, &full, &batch);
        scores[1].take(k, &untested, &batch);
        // Every third batch again without facts: they take as long.
        if scores[0].batches % 3 == 0
            && let Some(blind) = tested(k, &truth, &Facts::default(), &batch, &mut dice)
        {
            scores[2].take(k, &blind, &batch);
        }
    }
    scores
}

#[test]
fn five_thousand_faulty_batches() {
    let [full, untested, blind] = run(5000, 7, |_, _| {});
    assert!(full.too_many < 100, "{}", full.too_many);
    assert!(full.share() >= 0.8, "{}", full.share());
    assert!(error(&full.bins) < 0.03 && error(&untested.bins) < 0.03);
    assert!(error(&full.top_bins) < 0.03, "{}", error(&full.top_bins));
    assert!(full.share() > untested.share() && full.share() > blind.share());
    told(&[
        full.row("findings, what was brewed, and the two best tests"),
        untested.row("findings and what was brewed, no test"),
        blind.row("findings and the two best tests, what was brewed not known"),
        format!(
            "Batches with too many findings to weigh: {}.",
            full.too_many
        ),
    ]);
}

/// Each link of the truth moved by a step up or down, or left, at random.
#[test]
fn a_step_of_error_in_the_tables_does_not_ruin_it() {
    const STEPS: [f64; 4] = [0.05, 0.25, 0.6, 0.9];
    let [true_tables, ..] = run(600, 11, |_, _| {});
    let [full, ..] = run(600, 11, |truth, dice| {
        for trace in truth.causes.iter_mut().flat_map(|c| &mut c.traces) {
            let links: Vec<f64> = trace
                .shows
                .iter()
                .map(|s| {
                    let at = STEPS
                        .iter()
                        .position(|x| trace.made * s.1 <= x + 1e-9)
                        .unwrap_or(3);
                    STEPS[(at + dice.pick(3)).saturating_sub(1).min(3)]
                })
                .collect();
            let made = links.iter().copied().fold(0.0, f64::max) / 0.95;
            trace.made = made;
            for (link, moved) in trace.shows.iter_mut().zip(links) {
                link.1 = moved / made;
            }
        }
    });
    assert!(full.share() >= 0.7, "{}", full.share());
    told(&[
        true_tables.row("the tables as they are"),
        full.row("each link of the truth a step up, down or as it is"),
    ]);
}
