//! Reading a report: what was understood line by line, what is open, what the
//! figures say, and where they can go.

use std::collections::BTreeMap;

use app::BatchRow;
use batch::liquor::report::{ReadReport, ReadWater};
use chart::{BalanceChart, Chart, Heading, Ion};
use maud::{Markup, html};
use water::analysis::Verdict;
use water::report::{Line, Question, Reading, Take, seasons};

use crate::page::Page;
use crate::views::bench::common::caution;
use crate::views::charts::liquid;
use crate::views::stream::asks;

/// What was typed, by the name of its field.
pub type Typed = BTreeMap<String, String>;

/// Something wrong with a field.
pub struct Fault {
    pub field: String,
    pub message: String,
}

/// The page: a form, and the answer to it.
pub struct Sheet<'s> {
    pub typed: &'s Typed,
    pub faults: &'s [Fault],
    pub read: Option<&'s ReadReport>,
    pub waters: &'s [BatchRow],
    pub batches: &'s [BatchRow],
}

impl Sheet<'_> {
    fn typed(&self, field: &str) -> &str {
        self.typed.get(field).map_or("", String::as_str)
    }

    /// What was typed, or what stands there before anything was.
    fn or<'a>(&'a self, field: &str, first: &'a str) -> &'a str {
        self.typed.get(field).map_or(first, String::as_str)
    }

    fn fault(&self, field: &str) -> Option<&str> {
        let of = |fault: &&Fault| fault.field == field;
        self.faults.iter().find(of).map(|f| f.message.as_str())
    }

    fn field(&self, name: &str, label: &str, first: &str, broad: bool) -> Markup {
        let fault = self.fault(name);
        let told = format!("{name}-fault");
        html! {
            div.field.broad[broad] {
                label for=(name) { (label) }
                input id=(name) name=(name) type="text" value=(self.or(name, first)) autocomplete="off"
                    aria-invalid=[fault.map(|_| "true")] aria-describedby=[fault.map(|_| &told)];
                @if let Some(fault) = fault { p.fault id=(told) { (fault) } }
            }
        }
    }
}

pub fn page(sheet: &Sheet<'_>) -> Markup {
    Page::new("Read a report").render(&html! {
        div.hello {
            p {
                "Paste what your supplier or a laboratory wrote about the water. Each line shows what it was "
                "taken as; what the report leaves open is asked, never guessed."
            }
        }
        (faults(sheet))
        form.reading method="post" action="/waters/read" enctype="multipart/form-data" {
            (asked(sheet))
            @if let Some(read) = sheet.read {
                (given(sheet, read))
                (questions(sheet, &read.report.questions))
                (lines(&read.report.lines))
                @for (n, water) in read.waters.iter().enumerate() { (says(n, water, read.waters.len())) }
                (moving(read))
                @if read.waters.is_empty() {
                    section.card {
                        h2 { "No figures were read" }
                        p { "A line with a name, a figure and a unit would work, such as: Calcium 96 mg/L." }
                    }
                } @else {
                    (keep(sheet, read))
                    (take(sheet, read))
                }
            }
        }
    })
}

fn faults(sheet: &Sheet<'_>) -> Markup {
    html! {
        @if !sheet.faults.is_empty() {
            div.trouble role="alert" {
                p { strong { "Not done yet. What you typed is still in its field." } }
                ul.notes { @for fault in sheet.faults { li { (fault.message) } } }
            }
        }
    }
}

fn asked(sheet: &Sheet<'_>) -> Markup {
    let text = sheet.fault("text");
    let file = sheet.fault("file");
    html! {
        section.card aria-labelledby="report" {
            h2 #report { "The report" }
            p { label for="text" { "Paste the report" } }
            textarea #text name="text" rows=(if sheet.read.is_some() { "6" } else { "14" }) spellcheck="false"
                aria-invalid=[text.map(|_| "true")] aria-describedby=[text.map(|_| "text-fault")] { (sheet.typed("text")) }
            @if let Some(fault) = text { p.fault #text-fault { (fault) } }
            div.field.broad {
                label for="file" { "or choose a file: text or CSV, up to 1 MB" }
                input #file name="file" type="file" accept=".txt,.csv,.tsv,text/plain,text/csv"
                    aria-invalid=[file.map(|_| "true")] aria-describedby=[file.map(|_| "file-fault")];
                @if let Some(fault) = file { p.fault #file-fault { (fault) } }
            }
            p { button.main type="submit" name="do" value="read" { "Read it" } }
        }
    }
}

/// Answers that were given before, carried along.
fn given(sheet: &Sheet<'_>, read: &ReadReport) -> Markup {
    let open = |id: &str| read.report.questions.iter().any(|q| q.id == id);
    let settled: Vec<_> = sheet
        .typed
        .iter()
        .filter(|(key, choice)| {
            let id = key.strip_prefix("answer.");
            id.is_some_and(|id| !open(id)) && !choice.is_empty()
        })
        .collect();
    html! {
        @for (key, choice) in &settled { input type="hidden" name=(key) value=(choice); }
        @if !settled.is_empty() {
            p.row {
                span.quiet { (settled.len()) @if settled.len() == 1 { " question was answered." } @else { " questions were answered." } }
                button type="submit" name="do" value="forget" { "Ask again" }
            }
        }
    }
}

fn questions(sheet: &Sheet<'_>, open: &[Question]) -> Markup {
    html! {
        @if !open.is_empty() {
            section.card.questions aria-labelledby="questions" {
                h2 #questions { "The report leaves open" }
                @for q in open {
                    @let name = format!("answer.{}", q.id);
                    div.field.broad {
                        label for=(name) { "Line " (q.line) ": " (q.text) }
                        select id=(name) name=(name) {
                            option value="" { "not known: leave it out" }
                            @for c in &q.choices {
                                option value=(c.key) selected[sheet.typed(&name) == c.key] { (c.label) }
                            }
                        }
                    }
                }
                p { button.main type="submit" name="do" value="read" { "Read it with these answers" } }
            }
        }
    }
}

/// True where a line holds nothing to look at.
fn quiet(line: &Line) -> bool {
    line.takes
        .iter()
        .all(|t| matches!(t, Take::Prose | Take::Blank))
}

fn lines(lines: &[Line]) -> Markup {
    let (quiet, loud): (Vec<&Line>, Vec<&Line>) = lines.iter().partition(|l| quiet(l));
    let prose: Vec<&Line> = quiet
        .into_iter()
        .filter(|l| !l.text.trim().is_empty())
        .collect();
    html! {
        section.card aria-labelledby="lines" {
            h2 #lines { "Line by line" }
            div.wide tabindex="0" role="region" aria-label="what each line was read as" {
                table.lines {
                    thead { tr { th.number scope="col" { "line" } th scope="col" { "in the report" } th scope="col" { "read as" } } }
                    tbody {
                        @for line in loud {
                            tr.trouble[!line.understood()] {
                                td.number { (line.number) }
                                td.said { (line.text.trim()) }
                                td { @for t in &line.takes { (taken(t)) } }
                            }
                        }
                    }
                }
            }
            @if !prose.is_empty() {
                details.why {
                    summary { (prose.len()) @if prose.len() == 1 { " line" } @else { " lines" } " of words, without a figure of the water" }
                    ul.notes { @for line in prose { li { (line.number) ": " (line.text.trim()) } } }
                }
            }
        }
    }
}

fn taken(take: &Take) -> Markup {
    match take {
        Take::Reading(reading) => figure(reading),
        Take::Heading(words) => html! { p.quiet { (words) } },
        Take::Asked(question) => html! { p { strong { "asks: " } (question.text) } },
        Take::LeftOut(why) => html! { p.quiet { "left out: " (why) } },
        Take::NotUnderstood(trouble) => html! {
            p { strong { "not understood: " } (trouble.reason) ". What would work: " (trouble.would_work) }
        },
        Take::Prose | Take::Blank => html! {},
    }
}

fn figure(reading: &Reading) -> Markup {
    html! {
        p {
            (reading.parameter.name()) " " strong { (reading.value.text()) }
            @if let Some(basis) = reading.basis { span.quiet { ", counted as " (basis) } }
        }
        @for note in &reading.notes {
            p.small.(note.weight.word()) {
                @if asks(note.weight) { strong { (note.weight.word()) ": " } }
                (note.text)
            }
        }
    }
}

fn title(n: usize, water: &ReadWater, of: usize) -> String {
    let name = water.analysis.name.clone();
    let date = water.analysis.date.map(|d| d.to_string());
    match (name, date.or_else(|| water.analysis.period.clone())) {
        (Some(name), Some(when)) => format!("{name}, {when}"),
        (Some(name), None) => name,
        (None, Some(when)) => format!("the water of {when}"),
        (None, None) if of > 1 => format!("water {}", n + 1),
        (None, None) => "the water of this report".to_owned(),
    }
}

fn says(n: usize, water: &ReadWater, of: usize) -> Markup {
    let chart = balance(n, water);
    html! {
        section.card aria-labelledby=(format!("says-{n}")) {
            h2 id=(format!("says-{n}")) { "What it says of " (title(n, water, of)) }
            @for c in &water.reported.cautions { (caution(*c)) }
            (verdict(water))
            @if water.closure.closes { p { (water.closure.sentence()) } }
            @if !water.closure.closes && !water.closure.suspects.is_empty() {
                p { "What would close the gap:" }
                ul.notes { @for s in &water.closure.suspects { li { (s.text) } } }
            }
            (chart.markup())
            (chart.table())
            @let notes = water.notes();
            @if !notes.is_empty() {
                h3 { "Remarks" }
                ul.notes {
                    @for note in &notes {
                        li.(note.weight.word()) {
                            @if asks(note.weight) { strong { (note.weight.word()) ": " } }
                            (note.text)
                        }
                    }
                }
            }
        }
    }
}

fn verdict(water: &ReadWater) -> Markup {
    match water.verdict() {
        Verdict::Fit => html! {
            p.verdict { strong { "fit: " } "nothing in these figures speaks against brewing with it." }
        },
        Verdict::Look { reasons } => reasoned(
            "look",
            "it can be brewed with, after a look at this:",
            &reasons,
        ),
        Verdict::DoNotUse { reasons } => {
            reasoned("do not use", "it must not be brewed with:", &reasons)
        }
    }
}

fn reasoned(sign: &str, words: &str, reasons: &[String]) -> Markup {
    html! {
        p.verdict { strong { (sign) ": " } (words) }
        ul.notes { @for reason in reasons { li { (reason) } } }
    }
}

/// Cations beside anions; what is likely missing is hatched.
fn balance(n: usize, water: &ReadWater) -> BalanceChart {
    let source = &water.reported.water;
    let closure = &water.closure;
    let mut drawn =
        liquid("as reported", &source.ions, source.alkalinity, None).with_gap(closure.sentence());
    if !closure.closes {
        let short = closure.difference.meq_per_l();
        let likely = closure.suspects.iter().find(|s| s.missing);
        let label = likely.map_or("not named", |s| s.parameter.formula());
        let ion = Ion::missing(if label.is_empty() { "HCO3" } else { label }, short.abs());
        if short > 0.0 {
            drawn.anions.push(ion);
        } else {
            drawn.cations.push(ion);
        }
    }
    BalanceChart {
        heading: Heading::new(
            &format!("balance-{n}"),
            "Charge of the ions, mEq/L",
            "Cations beside anions: in a whole analysis both are as long. What must be there and is not named is hatched.",
        ),
        waters: vec![drawn],
    }
}

/// What moves between the days of a report.
fn moving(read: &ReadReport) -> Markup {
    let moving = seasons(&read.report.analyses);
    let figures: Vec<_> = moving.figures.iter().filter(|f| f.moves).collect();
    let when = |s: &water::report::Sample| {
        let date = s.date.map_or_else(String::new, |d| format!(", {d}"));
        format!("{}{date}", s.value.text())
    };
    html! {
        @if !figures.is_empty() {
            section.card aria-labelledby="moving" {
                h2 #moving { "What moves" }
                p.small { "Figures whose lowest and highest are further apart than their uncertainty explains." }
                div.wide tabindex="0" role="region" aria-label="what moves" {
                    table {
                        thead { tr { th scope="col" { "" } th scope="col" { "lowest" } th scope="col" { "highest" } } }
                        tbody { @for f in figures { tr {
                            th scope="row" { (f.parameter.name()) }
                            td { (when(&f.low)) }
                            td { (when(&f.high)) }
                        } } }
                    }
                }
            }
        }
    }
}

fn keep(sheet: &Sheet<'_>, read: &ReadReport) -> Markup {
    let first = read.waters.first().and_then(|w| w.analysis.name.as_deref());
    let several = read.waters.len() > 1;
    // Ticks that were taken out stay out.
    let sent = sheet.typed.keys().any(|key| key.starts_with("keep."));
    html! {
        section.card aria-labelledby="keep" {
            h2 #keep { "Keep as a water" }
            @if let Some(fault) = sheet.fault("keep") { p.fault { (fault) } }
            (sheet.field("name", "What the water is called", first.unwrap_or(""), true))
            @if !sheet.waters.is_empty() {
                div.field.broad {
                    label for="into" { "Keep it as" }
                    select #into name="into" {
                        option value="" { "a new water of that name" }
                        @for row in sheet.waters {
                            @let id = row.id.to_string();
                            option value=(id) selected[sheet.typed("into") == id] { "a further analysis of " (row.name) }
                        }
                    }
                }
            }
            @for (n, water) in read.waters.iter().enumerate() {
                fieldset {
                    legend { (title(n, water, read.waters.len())) }
                    @let tick = format!("keep.{n}");
                    @if several {
                        p {
                            input type="checkbox" id=(tick) name=(tick) value="yes" checked[!sent || !sheet.typed(&tick).is_empty()];
                            " " label for=(tick) { "keep this one" }
                        }
                    } @else { input type="hidden" name=(tick) value="yes"; }
                    @if let Some(fault) = sheet.fault(&format!("water.{n}")) { p.fault { (fault) } }
                    (sheet.field(&format!("day.{n}"), "Sampled on, as 2026-03-14", &day(water), false))
                    (filling(sheet, n, water))
                }
            }
            p { button.main type="submit" name="do" value="keep" { "Keep the water" } }
        }
    }
}

/// The day of the sample as far as the report gives it: a month stands for its
/// middle, a year for nothing.
fn day(water: &ReadWater) -> String {
    match water.analysis.date {
        Some(date) if date.day.is_some() => date.to_string(),
        Some(date) if date.month.is_some() => format!("{date}-15"),
        _ => String::new(),
    }
}

/// Fields for what is needed and not in the report.
fn filling(sheet: &Sheet<'_>, n: usize, water: &ReadWater) -> Markup {
    let gaps = water.gaps();
    let prefix = format!("fill.{n}.");
    // A fault can concern a figure that the report gives.
    let others = sheet.faults.iter().filter(|f| {
        f.field
            .strip_prefix(&prefix)
            .is_some_and(|key| !gaps.iter().any(|g| g.key == key))
    });
    html! {
        @for fault in others { p.fault { (fault.message) } }
        @if !gaps.is_empty() {
            p.hint { "Not in the report, and needed. Write what you know with its spread, such as 0.5 ± 0.3 mg/L." }
            @for gap in &gaps { (sheet.field(&format!("{prefix}{}", gap.key), &capital(&gap.label), "", false)) }
        }
    }
}

fn capital(label: &str) -> String {
    let mut letters = label.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

fn take(sheet: &Sheet<'_>, read: &ReadReport) -> Markup {
    let fault = sheet.fault("batch");
    html! {
        section.card aria-labelledby="use" {
            h2 #use { "Use in a batch" }
            @if sheet.batches.is_empty() {
                p { "No batch yet: keep the water, " a href="/" { "begin a batch" } ", and take the water at its bench." }
            } @else {
                @if read.waters.len() > 1 {
                    div.field.broad {
                        label for="which" { "Which of them" }
                        select #which name="which" {
                            @for (n, water) in read.waters.iter().enumerate() {
                                option value=(n) selected[sheet.typed("which") == n.to_string()] { (title(n, water, read.waters.len())) }
                            }
                        }
                    }
                }
                div.field.broad {
                    label for="batch" { "Batch" }
                    select #batch name="batch" aria-describedby=[fault.map(|_| "batch-fault")] {
                        @for row in sheet.batches {
                            @let id = row.id.to_string();
                            option value=(id) selected[sheet.typed("batch") == id] { (row.name) }
                        }
                    }
                    @if let Some(fault) = fault { p.fault #batch-fault { (fault) } }
                }
                div.field.broad {
                    label for="beside" { "Where it goes" }
                    select #beside name="beside" {
                        option value="" { "in place of the first water of the batch" }
                        option value="yes" selected[!sheet.typed("beside").is_empty()] { "beside the waters of the batch, with no share yet" }
                    }
                }
                p { button type="submit" name="do" value="use" { "Use it in this batch" } }
            }
        }
    }
}
