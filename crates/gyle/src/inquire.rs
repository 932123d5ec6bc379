//! `gyle inquire`: why a batch is off.

use std::path::PathBuf;

use app::{App, HouseHistory};
use batch::Reckoning;
use batch::inquiry::{
    Said, Story, cautions_of, costs, finding_words, if_so_if_not, next_batch, percent, split_words,
    takes, weighty,
};
use batch::wire::inquiry::Inquiry;
use batch::wire::story::{InquirySearch, InquiryStory};
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
    /// Tell the inquiry as a story: what was found, tested, changed, and what came of it.
    #[arg(long, conflicts_with_all = ["found", "absent", "wanted", "positive", "negative", "report"])]
    story: bool,
}

/// Words to look for.
#[derive(Debug, clap::Args)]
pub struct Findings {
    /// Words of flavour, of a cause or of a test.
    #[arg(required = true)]
    words: Vec<String>,
    /// What was found as JSON (schema: gyle schema inquiry-search).
    #[arg(long)]
    json: bool,
}

/// Looks for findings, causes and tests.
///
/// # Errors
/// [`Problem`] where nothing has the words.
pub fn findings(asked: &Findings) -> Result<(), Problem> {
    let words = asked.words.join(" ");
    let found = InquirySearch::of(&words);
    if asked.json {
        return print_json(&found);
    }
    if found.findings.is_empty() && found.causes.is_empty() && found.tests.is_empty() {
        return Err(Problem::no_answer(format!(
            "nothing in the tables is called {words:?}; a word of flavour such as buttery or wet cardboard would work"
        )));
    }
    let mut page = Page::new(Units::Metric);
    page.title(&format!("What {words:?} may mean"));
    if !found.findings.is_empty() {
        page.heading("Findings, to say with --found or --absent");
        for f in &found.findings {
            page.row(&f.key, &format!("{} ({}: {})", f.name, f.sense, f.family));
        }
    }
    if !found.causes.is_empty() {
        page.heading("Causes");
        for c in &found.causes {
            page.row(&c.key, &format!("{} ({})", c.name, c.stage));
        }
    }
    if !found.tests.is_empty() {
        page.heading("Tests, to say with --positive or --negative");
        for t in &found.tests {
            page.row(&t.key, &t.name);
        }
    }
    write_out(page.finish().as_bytes())
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
        let (story, history) = told(asked, &source, &r, place)?;
        let text = web::inquiry_report(&r.document.batch.name, &story, &history);
        return input::write_new(file, &text);
    }
    if asked.story {
        let (story, history) = told(asked, &source, &r, place)?;
        if asked.batch.json {
            let mut form = InquiryStory::from(&story);
            form.answer.house = history.spoke.into_iter().map(|s| s.words).collect();
            form.looked_back_on = history.looked_back_on;
            return print_json(&form);
        }
        let name = &r.document.batch.name;
        return write_out(story_sheet(name, &story, asked.batch.units()).as_bytes());
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
fn told(
    asked: &Asked,
    source: &Source,
    r: &Reckoning,
    place: Option<&str>,
) -> Result<(Story, HouseHistory), Problem> {
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
    Ok((story.map_err(Problem::no_answer)?, history))
}

fn story_sheet(name: &str, story: &Story, units: Units) -> String {
    let mut page = Page::new(units);
    page.title(&format!("{name}: what went wrong"));
    page.paragraph(&story.verdict.words());
    page.heading("What was found");
    for line in &story.found {
        page.marked("  ·     ", line);
    }
    for line in &story.brewed {
        page.marked("        ", line);
    }
    page.heading("What it could be");
    for told in &story.could_be {
        let (made, before) = (percent(told.made), percent(told.before));
        page.row(&told.cause.name, &format!("{made}, before {before}"));
    }
    page.heading("What was tested");
    for step in &story.steps {
        let came = if step.positive {
            "it was so"
        } else {
            "it was not so"
        };
        page.row(&step.name, &format!("{came}; {}", step.means));
        if let Some(then) = &step.then {
            let then = format!(
                "then the likeliest: {}, {}",
                then.cause.name,
                percent(then.made)
            );
            page.marked("        ", &then);
        }
    }
    page.heading("What was changed, and what came of it");
    for next in &story.next {
        page.row(&next.name, &next.words);
        for (path, before, now) in &next.changed {
            page.marked("        ", &format!("{path}: {before} → {now}"));
        }
    }
    if story.next.is_empty() {
        page.paragraph("No batch was begun from it yet.");
    }
    page.paragraph("Chances rest on judgement and on what was brewed; a test decides.");
    page.finish()
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
        if let Some(more) = history.unlisted() {
            page.paragraph(&more);
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
            page.paragraph("gyle taste draw --protocol paired draws its orders and codes; gyle taste judge says what came of it.");
        }
    }
    let made = answer.tests.iter().take(TESTS);
    page.act_on(&cautions_of(made.map(|t| &t.test.cautions)));
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
    let worth = || answer.causes.iter().take(CAUSES).filter(|c| c.worth_remedy);
    for cause in worth() {
        page.row(&cause.cause.name, &cause.cause.remedy);
        if let Some(next) = next_batch(text, r, &cause.cause.key, page.units()) {
            let (before, after) = (percent(next.before), percent(next.after));
            page.paragraph(&format!(
                "In the next batch: {}. Its chance there goes from {before} to {after}.",
                next.changed.join("; ")
            ));
        }
    }
    page.act_on(&cautions_of(worth().map(|c| &c.cause.cautions)));
}
