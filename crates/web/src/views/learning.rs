//! What the batches teach: each constant with what every batch did to it, what the plan
//! would take, and whether what was said beforehand came.

use app::{Lessons, OpenBatch};
use batch::learning::{
    Check, Forget, HOW, Known, Moved, Of, known_words, moved_words, odd_words, prior_words,
};
use chart::{Axis, Chart, CourseChart, Heading, Interval, Line, Panel, RangeChart, Stroke, Tone};
use maud::{Markup, html};
use quantity::Units;

use crate::page::Page;

/// What was typed, and what is wrong with it.
#[derive(Debug, Default)]
pub struct Asked {
    pub half_life: String,
    pub wrong: Option<String>,
    /// The batch that was to be left out without a reason.
    pub unsaid: Option<String>,
}

impl Asked {
    /// As it stands in an address: a number, or nothing.
    pub fn half_life_in_address(&self) -> &str {
        if self.wrong.is_some() {
            ""
        } else {
            &self.half_life
        }
    }
}

/// Everything that the page shows.
pub struct Desk<'d> {
    pub lessons: &'d Lessons,
    pub asked: &'d Asked,
    pub units: Units,
}

/// The page.
pub fn page(desk: &Desk<'_>) -> Markup {
    let lessons = desk.lessons;
    frame(&lessons.batch).render(&html! {
        div.hello {
            h2 { "What the batches taught" }
            p { "The other batches of the store that share this kit or this yeast, and what their readings say of both. A plan takes what was learned in one step and says where it comes from." }
        }
        section.bench.brew-day.learned aria-label="what the batches taught" {
            div {
                (plan(desk))
                (age(desk))
                (batches(desk))
                section.card {
                    details.why { summary { "How it is learned" } p { (HOW) } }
                }
            }
            div {
                @if lessons.known.is_empty() {
                    section.card {
                        h3 { "Nothing yet" }
                        p { "No other batch shares the kit or the yeast and has something read. Write down volumes and gravities on " a href=(format!("/batch/{}/brew-day", lessons.batch.id)) { "brew day" } ", and keep the readings of a fermentation in its log." }
                    }
                }
                @for of in [Of::Kit, Of::Yeast, Of::Instrument] {
                    @for known in lessons.known.iter().filter(|k| k.constant.of() == of) {
                        (constant(desk, known))
                    }
                }
                (came(desk))
            }
        }
    })
}

/// What the plan would take.
fn plan(desk: &Desk<'_>) -> Markup {
    let (lessons, batch) = (desk.lessons, &desk.lessons.batch);
    let r = batch.outcome.reckoning();
    let taken = r.map_or(0, |r| r.document.learning.taken.len());
    let new = lessons
        .values
        .iter()
        .any(|v| v.now.as_ref() != Some(&v.value));
    html! {
        section.card {
            h3 { "For this plan" }
            @if lessons.values.is_empty() {
                p { "No batch says anything that a plan could take yet." }
            } @else {
                div.wide tabindex="0" role="region" aria-label="values for the plan" {
                    table.small {
                        thead { tr { th scope="col" { "key" } th scope="col" { "now" } th scope="col" { "learned" } th.number scope="col" { "batches" } } }
                        tbody { @for value in &lessons.values { tr {
                            th scope="row" { (value.key) }
                            td { (value.now.as_deref().unwrap_or("as usual")) }
                            td { (value.value) }
                            td.number { (value.batches) }
                        } } }
                    }
                }
                p.small.quiet { "The spread is that of the next batch: what is not known of the house, and how far its batches lie apart." }
            }
            div.row {
                @if new { (act(desk, "take", "Take into the plan")) }
                @if !new && !lessons.values.is_empty() { p { "The plan has all of it." } }
                @if taken > 0 { (act(desk, "drop", "Take out again")) }
            }
        }
    }
}

fn act(desk: &Desk<'_>, what: &str, label: &str) -> Markup {
    let batch = &desk.lessons.batch;
    html! {
        form method="post" action=(address(batch)) {
            input type="hidden" name="on" value=(batch.revision);
            input type="hidden" name="do" value=(what);
            input type="hidden" name="half_life" value=(desk.asked.half_life);
            button { (label) }
        }
    }
}

fn age(desk: &Desk<'_>) -> Markup {
    let asked = desk.asked;
    let wrong = asked.wrong.as_deref();
    html! {
        section.card {
            h3 { "How age counts" }
            form method="get" action=(address(&desk.lessons.batch)) {
                div.row {
                    label for="half_life" { "A batch counts half after so many further ones" }
                    input #half_life name="half_life" inputmode="decimal" value=(asked.half_life)
                        aria-invalid=[wrong.map(|_| "true")] aria-describedby=[wrong.map(|_| "half_life-wrong")];
                    button { "Learn again" }
                }
                @if let Some(wrong) = wrong { p.fault #half_life-wrong role="alert" { (wrong) } }
            }
            p.small.quiet {
                @match desk.lessons.forget {
                    Forget::Never => "Nothing is forgotten: the first batch counts as the last.",
                    Forget::Batches(_) => "What was changed on the kit since is forgotten by and by.",
                }
            }
        }
    }
}

/// The batches, and whether they count.
fn batches(desk: &Desk<'_>) -> Markup {
    html! {
        section.card {
            h3 { "The batches" }
            @if desk.lessons.taught.is_empty() { p { "No batch has something read." } }
            ul.notes { @for taught in &desk.lessons.taught {
                li {
                    a href=(format!("/batch/{}", taught.id)) { (taught.name) }
                    @if let Some(why) = &taught.unread { p.small { "Its fermentation says nothing: " (why) } }
                    @match &taught.document.learning.left_out {
                        Some(why) => {
                            p.small { "Left out: " (why) }
                            form method="post" action=(address(&desk.lessons.batch)) {
                                input type="hidden" name="do" value="count";
                                input type="hidden" name="other" value=(taught.id);
                                input type="hidden" name="half_life" value=(desk.asked.half_life);
                                button aria-label=(format!("Count {} again", taught.name)) { "Count it again" }
                            }
                        }
                        None => (leave_out(desk, &taught.id, &taught.name)),
                    }
                }
            } }
        }
    }
}

fn leave_out(desk: &Desk<'_>, id: &str, name: &str) -> Markup {
    let unsaid = desk.asked.unsaid.as_deref() == Some(id);
    let (field, wrong) = (format!("why-{id}"), format!("why-{id}-wrong"));
    html! {
        details open[unsaid] {
            summary { "Leave it out" }
            form method="post" action=(address(&desk.lessons.batch)) {
                input type="hidden" name="do" value="leave-out";
                input type="hidden" name="other" value=(id);
                input type="hidden" name="half_life" value=(desk.asked.half_life);
                div.row {
                    label for=(field) { "Why" }
                    input id=(field) name="why" maxlength="200" aria-invalid=[unsaid.then_some("true")]
                        aria-describedby=[unsaid.then_some(&wrong)];
                    button aria-label=(format!("Leave {name} out")) { "Leave out" }
                }
                @if unsaid { p.fault id=(wrong) role="alert" { "Say why, such as: the tap of the kettle leaked." } }
            }
        }
    }
}

fn constant(desk: &Desk<'_>, known: &Known) -> Markup {
    let units = desk.units;
    let source = known.constant.source();
    let shown = range(desk.lessons, known);
    html! {
        section.card {
            h3 { (known.constant.name()) @if let Some(of) = &known.of { ": " (of) } }
            p { (known_words(known, units)) "." }
            @if known.batches() > 0 {
                p.small {
                    "Nine times in ten the house is " (known.constant.show_interval(known.likely, units))
                    ", the next batch " (known.constant.show_interval(known.next_likely, units)) "."
                }
            }
            @if known.trace.iter().any(Moved::is_odd) {
                ul.notes { @for (moved, odd) in known.trace.iter().filter_map(|m| Some((m, odd_words(m)?))) {
                    li { span.look { "Look" } ": " (name_of(desk.lessons, moved)) ", " (odd) "." }
                } }
            }
            (shown.markup())
            details.why {
                summary { "What each batch did, and where it started" }
                ul.notes {
                    li { (prior_words(known, units)) " (" (source.text) "; " (source.mark.words()) ")" }
                    @for moved in &known.trace {
                        li { (name_of(desk.lessons, moved)) " " (moved_words(known, moved, units)) }
                    }
                }
            }
            (shown.table())
            (saved(desk, &chart_name(known)))
        }
    }
}

fn name_of<'l>(lessons: &'l Lessons, moved: &Moved) -> &'l str {
    lessons
        .taught
        .get(moved.batch)
        .map_or("", |t| t.name.as_str())
}

/// Whether what was said came.
fn came(desk: &Desk<'_>) -> Markup {
    let lessons = desk.lessons;
    let rows = [
        ("constants, batch after batch", &lessons.constants),
        ("plans", &lessons.plans),
    ];
    let shown = calibration(lessons);
    let forecasts = lessons.constants.placed.len() + lessons.plans.placed.len();
    html! {
        section.card {
            h3 { "Did what was said come?" }
            p { "Each batch is held against what the ones before it made one expect, and against its own plan. Forecasts that are as wide as they should be hold half of what comes in their middle half." }
            div.wide tabindex="0" role="region" aria-label="forecasts and what came" {
                table.small {
                    thead { tr {
                        th scope="col" { "forecast" }
                        th.number scope="col" { "in the middle 50 %" }
                        th.number scope="col" { "80 %" }
                        th.number scope="col" { "90 %" }
                        th scope="col" { "they are" }
                    } }
                    tbody { @for (label, check) in rows { tr {
                        th scope="row" { (label) }
                        @for inside in &check.inside { td.number { (inside.inside) " of " (inside.of) } }
                        td { (check.width.words()) }
                    } } }
                }
            }
            @if forecasts > 0 {
                (shown.markup())
                (shown.table())
                (saved(desk, "calibration"))
            }
            p.small.quiet { "Figures of one batch hang together, so that these are fewer than they look." }
        }
    }
}

fn saved(desk: &Desk<'_>, name: &str) -> Markup {
    let half = desk.asked.half_life_in_address();
    let file = |kind: &str| {
        format!(
            "{}/{name}.{kind}?half_life={half}",
            address(&desk.lessons.batch)
        )
    };
    html! {
        p.save.no-print {
            a href=(file("svg")) { "save as SVG" }
            a href=(file("csv")) { "save as CSV" }
        }
    }
}

/// The chart of a name: "calibration", or that of a constant.
pub fn chart(name: &str, lessons: &Lessons, _units: Units) -> Option<Box<dyn Chart>> {
    if name == "calibration" {
        return Some(Box::new(calibration(lessons)));
    }
    let known = lessons.known.iter().find(|k| chart_name(k) == name)?;
    Some(Box::new(range(lessons, known)))
}

fn chart_name(known: &Known) -> String {
    let of = known.of.as_deref().unwrap_or_default();
    let letters = of
        .chars()
        .map(|c| if c.is_alphanumeric() { c } else { '-' });
    format!("{}{}", known.constant.word(), letters.collect::<String>())
}

/// Before any batch, batch by batch, and the house: nine times in ten.
fn range(lessons: &Lessons, known: &Known) -> RangeChart {
    let (factor, unit, decimals) = known.constant.axis();
    let of = |label: &str, (value, sd): (f64, f64)| {
        let [low, value, high] = [-1.644_85, 0.0, 1.644_85].map(|z| factor * (value + z * sd));
        Interval::new(label, low, value, high)
    };
    let ends = |label: &str, value: f64, (low, high): (f64, f64)| {
        Interval::new(label, factor * low, factor * value, factor * high)
    };
    let mut rows = vec![of("before any batch", known.prior)];
    rows.extend(known.trace.iter().map(|moved| {
        let name = name_of(lessons, moved);
        if moved.weight > 0.0 {
            of(name, moved.says)
        } else {
            of(&format!("{name} (left out)"), moved.says)
        }
    }));
    rows.push(ends("the house", known.house.0, known.likely));
    rows.push(ends("the next batch", known.next.0, known.next_likely));
    RangeChart {
        heading: Heading::new(
            &chart_name(known),
            "Each batch by itself, and all together",
            "What each batch says by itself, and what all say together: nine times in ten.",
        ),
        axis: Axis::new("", unit).decimals(decimals),
        rows,
        aim: None,
    }
}

/// The share that came inside the middle of its forecasts, by the share that was said.
fn calibration(lessons: &Lessons) -> CourseChart {
    let line = |check: &Check| -> Vec<(f64, f64)> {
        let n = check.placed.len().max(1) as f64;
        (0..=20)
            .map(|step| {
                let share = f64::from(step) / 20.0;
                let held = |p: &&batch::learning::Placed| (p.place - 0.5).abs() <= 0.5 * share;
                let inside = check.placed.iter().filter(held).count();
                (100.0 * share, 100.0 * inside as f64 / n)
            })
            .collect()
    };
    let mut panel =
        Panel::new(Axis::new("came inside", "%").starting_at(0.0).decimals(0)).line(Line::new(
            "as it should be",
            vec![(0.0, 0.0), (100.0, 100.0)],
            Tone::Slate,
            Stroke::Dashed,
        ));
    for (label, check, tone) in [
        ("constants", &lessons.constants, Tone::Copper),
        ("plans", &lessons.plans, Tone::Water),
    ] {
        if !check.placed.is_empty() {
            panel = panel.line(Line::new(label, line(check), tone, Stroke::Solid));
        }
    }
    let heading = Heading::new(
        "calibration",
        "What was said, and what came",
        "Below the dashed line forecasts are too narrow, above it too wide.",
    );
    CourseChart::new(
        heading,
        Axis::new("middle of the forecast", "%").starting_at(0.0),
    )
    .panel(panel)
}

fn address(batch: &OpenBatch) -> String {
    format!("/batch/{}/learned", batch.id)
}

/// The page of a batch that cannot be reckoned.
pub fn unread(open: &OpenBatch) -> Markup {
    frame(open).render(&html! {
        div.trouble role="alert" {
            p { strong { "This batch has faults, so that nothing can be learned for it yet." } }
            p { a href=(format!("/batch/{}", open.id)) { "Back to the batch" } }
        }
    })
}

fn frame(open: &OpenBatch) -> Page<'_> {
    Page::new(&open.name)
        .beside(format!("revision {}", open.revision))
        .link(format!("/batch/{}", open.id), "back to the batch")
        .link(format!("/batch/{}/certainty", open.id), "how sure")
        .link(format!("/batch/{}/brew-day", open.id), "brew day")
}
