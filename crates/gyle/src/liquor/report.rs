//! `gyle water read`: read a report of a utility or laboratory.

use std::path::PathBuf;

use batch::Fault;
use batch::liquor::report::{self, ReadReport, ReadWater};
use batch::wire::liquor::report::WaterReport;
use clap::Args;
use quantity::Units;
use water::analysis::Verdict;
use water::report::{Answers, Line, Question, Take};

use crate::problem::Problem;
use crate::sheet::Page;
use crate::{input, print_json, write_out};

/// What is to be read, and how.
#[derive(Debug, Args)]
pub struct Asked {
    /// The report as text or CSV; - reads standard input.
    file: PathBuf,
    /// An answer to a question of the report: the line that asks (or the id of the
    /// question) and the key of a choice.
    #[arg(long = "answer", value_name = "LINE=CHOICE")]
    answers: Vec<String>,
    /// What was read as JSON (schema: gyle schema water-report).
    #[arg(long, conflicts_with = "as_source")]
    json: bool,
    /// Only the blocks for a batch document.
    #[arg(long)]
    as_source: bool,
}

/// Reads a report.
///
/// # Errors
/// [`Problem`] for a file that cannot be read, or an answer to nothing.
pub fn read(asked: &Asked) -> Result<(), Problem> {
    let source = input::read(&asked.file)?;
    let read = answered(&source.text, &asked.answers)?;
    if asked.json {
        return print_json(&WaterReport::from(&read));
    }
    if asked.as_source {
        let mut text = String::new();
        for water in &read.waters {
            let block = water.source_block().map_err(app::AppError::from);
            text.push_str(&block.map_err(Problem::App)?);
        }
        return write_out(text.as_bytes());
    }
    write_out(sheet(&read).as_bytes())
}

/// Answers one by one: an answer may open a further question.
fn answered(text: &str, given: &[String]) -> Result<ReadReport, Problem> {
    let mut answers = Answers::default();
    let mut read = report::read(text, &answers);
    for answer in given {
        let (wanted, choice) = answer
            .split_once('=')
            .ok_or_else(|| refused(answer, "is no answer", "write it as 7=CaCO3"))?;
        let question = read.question(wanted).ok_or_else(|| {
            let lines: Vec<String> = read
                .report
                .questions
                .iter()
                .map(|q| q.line.to_string())
                .collect();
            let open = if lines.is_empty() {
                "nothing is open".to_owned()
            } else {
                format!("open are lines {}", lines.join(", "))
            };
            refused(answer, "answers no open question", &open)
        })?;
        if !question.choices.iter().any(|c| c.key == choice) {
            let keys: Vec<&str> = question.choices.iter().map(|c| c.key.as_str()).collect();
            let help = format!("choose one of {}", keys.join(", "));
            return Err(refused(answer, "is no choice there", &help));
        }
        answers = answers.with(&question.id, choice);
        read = report::read(text, &answers);
    }
    Ok(read)
}

fn refused(answer: &str, why: &str, help: &str) -> Problem {
    Problem::Readings {
        faults: vec![Fault {
            span: 0..0,
            path: "answer".to_owned(),
            message: format!("\"{answer}\" {why}"),
            help: help.to_owned(),
        }],
        json: false,
    }
}

fn sheet(read: &ReadReport) -> String {
    let mut page = Page::new(Units::Metric);
    page.title("The report, line by line");
    for line in &read.report.lines {
        told(&mut page, line);
    }
    if !read.report.questions.is_empty() {
        page.heading("What it leaves open");
        for question in &read.report.questions {
            open(&mut page, question);
        }
    }
    for water in &read.waters {
        says(&mut page, water);
    }
    if read.waters.is_empty() {
        page.heading("No figures were read");
        page.row("what would work", "Calcium 96 mg/L");
    }
    page.finish()
}

fn told(page: &mut Page, line: &Line) {
    let label = format!("line {}", line.number);
    for take in &line.takes {
        match take {
            Take::Reading(reading) => page.row(&label, &reading.sentence),
            Take::Heading(words) => page.row(&label, words),
            Take::Asked(question) => page.row(&label, &format!("asks: {}", question.text)),
            Take::LeftOut(why) => page.row(&label, &format!("left out: {why}")),
            Take::NotUnderstood(trouble) => page.row(
                &label,
                &format!("not understood: {}; {}", trouble.reason, trouble.would_work),
            ),
            Take::Prose | Take::Blank => {}
        }
    }
}

fn open(page: &mut Page, question: &Question) {
    page.row(&format!("line {}", question.line), &question.text);
    for choice in &question.choices {
        let answer = format!("--answer {}={}", question.line, choice.key);
        page.row(&format!("  {}", choice.label), &answer);
    }
}

fn says(page: &mut Page, water: &ReadWater) {
    page.heading(&water.reported.water.name);
    for (key, value) in water.values() {
        page.row(&key.replace('_', " "), &value);
    }
    for gap in water.gaps() {
        page.row(&gap.label, "not in the report, and needed");
    }
    page.row("balance", &water.closure.sentence());
    for suspect in &water.closure.suspects {
        page.row("", &suspect.text);
    }
    match water.verdict() {
        Verdict::Fit => page.row("verdict", "fit: nothing in these figures speaks against it"),
        Verdict::Look { reasons } => reasoned(page, "look", &reasons),
        Verdict::DoNotUse { reasons } => reasoned(page, "do not use", &reasons),
    }
    for note in water.notes() {
        page.row(note.weight.word(), &note.text);
    }
    for caution in &water.reported.cautions {
        let text = caution.text();
        page.row("caution", &format!("{} {}", text.title, text.text));
    }
}

fn reasoned(page: &mut Page, sign: &str, reasons: &[String]) {
    page.row("verdict", sign);
    for reason in reasons {
        page.row("", reason);
    }
}
