//! `gyle inquire`: why a batch is off.

use batch::Reckoning;
use batch::inquiry::{
    Said, costs, finding_words, if_so_if_not, next_batch, percent, split_words, takes, weighty,
};
use batch::wire::inquiry::Inquiry;
use inquiry::{Answer, Question, RankedCause};
use quantity::Units;

use crate::of_batch::OfBatch;
use crate::problem::Problem;
use crate::sheet::Page;
use crate::{print_json, write_out};

/// Causes and tests that are printed.
const CAUSES: usize = 5;
const TESTS: usize = 6;

/// What was found, beside what the document keeps.
#[derive(Debug, clap::Args)]
pub struct Asked {
    #[command(flatten)]
    batch: OfBatch,
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
}

impl Asked {
    fn said(&self) -> Said {
        Said {
            found: self.found.clone(),
            absent: self.absent.clone(),
            wanted: self.wanted.clone(),
            positive: self.positive.clone(),
            negative: self.negative.clone(),
        }
    }
}

/// Says what it could be and what would settle it.
///
/// # Errors
/// [`Problem`] for a document that cannot be reckoned, and for words that no table knows.
pub fn say(asked: &Asked, place: Option<&str>) -> Result<(), Problem> {
    let (source, r) = asked.batch.reckoned(place)?;
    let question = r.question_with(&asked.said());
    let answer = r.inquire(&question).map_err(Problem::no_answer)?;
    if asked.batch.json {
        return print_json(&Inquiry::from(&answer));
    }
    let units = asked.batch.units();
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
        page.act_on(&test.cautions);
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
        page.act_on(&cause.cause.cautions);
    }
}
