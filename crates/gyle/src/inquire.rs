//! `gyle inquire`: why a batch is off.

use std::path::PathBuf;

use batch::Reckoning;
use batch::inquiry::{
    costs, finding_words, if_so_if_not, next_batch, percent, split_words, takes, weighty,
};
use batch::wire::inquiry::Inquiry;
use inquiry::{Answer, Finding, Question, RankedCause, TestResult};
use quantity::Units;

use crate::cli::UnitsChoice;
use crate::problem::Problem;
use crate::sheet::Page;
use crate::{print_json, reckoned, source, write_out};

/// Causes and tests that are printed.
const CAUSES: usize = 5;
const TESTS: usize = 6;

/// What was found, beside what the document keeps.
#[derive(Debug, clap::Args)]
pub struct Asked {
    /// The batch document; - reads standard input, store:NAME a batch of the
    /// store.
    file: PathBuf,
    /// Something that is there, such as medicinal; may be given again.
    #[arg(long, value_name = "FINDING")]
    found: Vec<String>,
    /// Something that was looked for and is not there; may be given again.
    #[arg(long, value_name = "FINDING")]
    absent: Vec<String>,
    /// A finding that is no fault here.
    #[arg(long, value_name = "FINDING")]
    wanted: Vec<String>,
    /// A test that came out positive.
    #[arg(long, value_name = "TEST")]
    positive: Vec<String>,
    /// A test that came out negative.
    #[arg(long, value_name = "TEST")]
    negative: Vec<String>,
    /// Units of the answer.
    #[arg(long, value_enum, default_value_t = UnitsChoice::Metric)]
    units: UnitsChoice,
    /// The answer as JSON (schema: gyle schema inquiry).
    #[arg(long)]
    json: bool,
}

impl Asked {
    /// What the document keeps, and what is said here besides.
    fn question(&self, r: &Reckoning) -> Question {
        let mut question = r.question();
        question
            .findings
            .extend(self.found.iter().map(|f| Finding::present(f)));
        question
            .findings
            .extend(self.absent.iter().map(|f| Finding::absent(f)));
        question.wanted.extend(self.wanted.iter().cloned());
        let result = |positive| {
            move |test: &String| TestResult {
                test: test.clone(),
                positive,
            }
        };
        question
            .results
            .extend(self.positive.iter().map(result(true)));
        question
            .results
            .extend(self.negative.iter().map(result(false)));
        question
    }
}

/// Says what it could be and what would settle it.
///
/// # Errors
/// [`Problem`] for a document that cannot be reckoned, and for words that no table knows.
pub fn say(asked: &Asked, place: Option<&str>) -> Result<(), Problem> {
    let source = source(&asked.file, place)?;
    let r = reckoned(&source, asked.json)?;
    let question = asked.question(&r);
    let answer = r.inquire(&question).map_err(|error| Problem::NoAnswer {
        message: error.to_string(),
    })?;
    if asked.json {
        return print_json(&Inquiry::from(&answer));
    }
    let units = asked.units.into();
    write_out(sheet(&source.text, &r, &question, &answer, units).as_bytes())
}

fn sheet(text: &str, r: &Reckoning, question: &Question, answer: &Answer, units: Units) -> String {
    let mut page = Page::new(units);
    page.title(&format!("{}: what it could be", r.document.batch.name));
    page.heading("Found");
    for finding in &question.findings {
        page.paragraph(&finding_words(finding));
    }
    for note in &answer.notes {
        page.marked("  ·     ", note);
    }
    if !answer.fault {
        page.paragraph("Nothing here asks for a cause. Say what was found with --found.");
        return page.finish();
    }
    page.heading("Causes: how likely each made it, and before anything was found");
    for cause in answer.causes.iter().take(CAUSES) {
        said(&mut page, cause);
    }
    page.row("none of the listed causes", &percent(answer.none));
    page.heading("What would settle it");
    for ranked in answer.tests.iter().take(TESTS) {
        let test = ranked.test;
        page.row(
            &test.name,
            &format!("{}, costs {}", takes(test), costs(test)),
        );
        page.paragraph(&test.how);
        let [so, not] = if_so_if_not(ranked);
        page.paragraph(&format!(
            "If so ({}): {so}. If not ({}): {not}.",
            test.if_positive, test.if_negative
        ));
        if let Some(split) = split_words(test, units) {
            page.paragraph(&split);
        }
        for caution in &test.cautions {
            page.marked(
                "  ACT   ",
                &format!("{}: {}", caution.text().title, caution.text().text),
            );
        }
    }
    remedies(&mut page, text, r, answer);
    page.paragraph("Chances rest on judgement and on what was brewed; a test decides.");
    page.finish()
}

fn said(page: &mut Page, cause: &RankedCause) {
    page.row(
        &cause.cause.name,
        &format!("{}, before {}", percent(cause.made), percent(cause.before)),
    );
    for reason in weighty(&cause.reasons, true) {
        page.marked("  for     ", &reason);
    }
    for reason in weighty(&cause.reasons, false) {
        page.marked("  against ", &reason);
    }
}

fn remedies(page: &mut Page, text: &str, r: &Reckoning, answer: &Answer) {
    page.heading("Or simply change it: what costs less than leaving it");
    for cause in answer.causes.iter().take(CAUSES).filter(|c| c.worth_remedy) {
        page.row(&cause.cause.name, &cause.cause.remedy);
        if let Some(next) = next_batch(text, r, &cause.cause.key, page.units()) {
            let (before, after) = (percent(next.before), percent(next.after));
            page.paragraph(&format!(
                "In the next batch: {}. Its chance there goes from {before} to {after}.",
                next.changed.join("; ")
            ));
        }
        for caution in &cause.cause.cautions {
            page.marked(
                "  ACT   ",
                &format!("{}: {}", caution.text().title, caution.text().text),
            );
        }
    }
}
