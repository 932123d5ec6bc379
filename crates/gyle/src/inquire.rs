//! `gyle inquire`: why a batch is off.

use std::path::{Path, PathBuf};

use app::{App, HouseHistory};
use batch::Reckoning;
use batch::inquiry::{
    Said, Story, costs, finding_words, if_so_if_not, next_batch, percent, split_words, takes,
    weighty,
};
use batch::wire::inquiry::Inquiry;
use inquiry::{Answer, House, Question, RankedCause};
use quantity::Units;

use crate::input::{self, Source};
use crate::kept::{self, block_on, by_wanted};
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
    /// Write the inquiry as a story to a new file: one page of HTML that loads nothing.
    #[arg(long, value_name = "FILE", conflicts_with_all = ["found", "absent", "wanted", "positive", "negative", "json"])]
    report: Option<PathBuf>,
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
    if let Some(file) = &asked.report {
        return report(asked, &source, &r, file, place);
    }
    let question = r.question_with(&asked.said());
    let history = match asked.batch.in_store() {
        Some(wanted) => block_on(async {
            let app = App::open(kept::place(place)?).await?;
            let open = app.batch(by_wanted(&app, wanted).await?).await?;
            Ok(app.house_of(&open).await?)
        })?,
        None => HouseHistory::default(),
    };
    let answer = r
        .inquire_in(&history.house, &question)
        .map_err(Problem::no_answer)?;
    if asked.batch.json {
        let mut form = Inquiry::from(&answer);
        form.house = history.spoke.into_iter().map(|s| s.words).collect();
        return print_json(&form);
    }
    let asking = Asking {
        text: &source.text,
        reckoning: &r,
        question: &question,
        history: &history,
    };
    write_out(sheet(&asking, &answer, asked.batch.units()).as_bytes())
}

/// The story of a batch of the store with what came after it, or of a document alone.
fn report(
    asked: &Asked,
    source: &Source,
    r: &Reckoning,
    file: &Path,
    place: Option<&str>,
) -> Result<(), Problem> {
    let alone = |text: &str| Story::of(text, r, &House::default(), &[]);
    let told = match asked.batch.in_store() {
        Some(wanted) => block_on(async {
            let app = App::open(kept::place(place)?).await?;
            let open = app.batch(by_wanted(&app, wanted).await?).await?;
            Ok(app.story_of(&open).await?)
        })?,
        None => None,
    };
    let (story, history) = told.unwrap_or_else(|| (alone(&source.text), HouseHistory::default()));
    let story = story.map_err(Problem::no_answer)?;
    let text = web::inquiry_report(&r.document.batch.name, &story, &history);
    input::write_new(file, &text)
}

/// What the answer is about.
struct Asking<'a> {
    text: &'a str,
    reckoning: &'a Reckoning,
    question: &'a Question,
    history: &'a HouseHistory,
}

fn sheet(asking: &Asking<'_>, answer: &Answer, units: Units) -> String {
    let Asking {
        text,
        reckoning: r,
        question,
        history,
    } = asking;
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
    if !history.spoke.is_empty() {
        page.heading("What other batches of the house say");
        for spoke in &history.spoke {
            page.marked("  ·     ", &spoke.words);
        }
    }
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
