//! What the batches teach: each constant with what every batch did to it, what the plan
//! would take, and whether what was said beforehand came.

use app::{Lessons, OpenBatch};
use batch::learning::{
    Check, Forget, HOW, HOW_SEASONS, Known, Moved, Of, SeasonFigure, SeasonalWater, known_words,
    moved_words, odd_words, prior_words, season_source, season_words, tasted_words, taster_source,
    threshold_words,
};
use batch::library::day_of_year;
use chart::{
    Axis, BandPoint, Chart, CourseChart, Heading, Interval, Line, Panel, RangeChart, Reading,
    SeasonPanel, Seasons, Stroke, Tone,
};
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
    pub fn half_life_in_address(&self) -> String {
        if self.wrong.is_some() {
            String::new()
        } else {
            self.half_life.replace(' ', "+")
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
                @for water in &lessons.waters { (season(desk, water)) }
                @if !lessons.tasters.is_empty() { (tasters(desk)) }
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
                        thead { tr { th scope="col" { "what" } th scope="col" { "now" } th scope="col" { "learned" } th.number scope="col" { "from" } } }
                        tbody { @for value in &lessons.values { tr {
                            th scope="row" title=(value.key) { (value.name) }
                            td { (value.now.as_deref().unwrap_or("as usual")) }
                            td { (value.value) }
                            td.number { (value.batches) }
                        } } }
                    }
                }
                p.small.quiet { "From so many batches, or analyses of the water. The spread is that of the next batch: what is not known of the house, and how far its batches lie apart." }
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
    let (asked, forget) = (desk.asked, desk.lessons.forget);
    let wrong = asked.wrong.as_deref();
    let batch = &desk.lessons.batch;
    let kept = batch
        .outcome
        .reckoning()
        .and_then(|r| r.document.learning.half_life);
    let shown = if asked.half_life.is_empty() && forget != Forget::Never {
        forget.written()
    } else {
        asked.half_life.clone()
    };
    html! {
        section.card {
            h3 { "How age counts" }
            form method="get" action=(address(batch)) {
                input type="hidden" name="on" value=(batch.revision);
                div.row {
                    label for="half_life" { "A batch, or an analysis, counts half after" }
                    input #half_life name="half_life" value=(shown) placeholder="10 batches, 18 months, never"
                        aria-invalid=[wrong.map(|_| "true")] aria-describedby=[wrong.map(|_| "half_life-wrong")];
                    button { "Learn again" }
                    button formmethod="post" name="do" value="keep" { "Keep with this batch" }
                }
                @if let Some(wrong) = wrong { p.fault #half_life-wrong role="alert" { (wrong) } }
            }
            p.small.quiet {
                @match forget {
                    Forget::Never => "Nothing is forgotten: the first batch counts as the last.",
                    Forget::Batches(_) => "What was changed on the kit since is forgotten by and by.",
                    Forget::Months(_) => "What was changed since is forgotten by and by; a batch without a day counts whole.",
                }
                @if let Some(kept) = kept { " Kept with this batch: " (kept.written()) "." }
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

/// A water through the year: the chart, the day of the batch, and what each analysis did.
fn season(desk: &Desk<'_>, water: &SeasonalWater) -> Markup {
    let (units, day) = (desk.units, desk.lessons.day());
    let shown = season_chart(water);
    let source = season_source();
    html! {
        section.card {
            h3 { (water.name) " through the year" }
            ul.notes { @for figure in &water.figures {
                li { strong { (figure.ion.word()) } ": " (season_words(figure, day, units)) "." }
            } }
            @if day.is_none() {
                p { "The batch has no day: write its brew day, and the plan can take the water of that season." }
            }
            (shown.markup())
            (shown.table())
            (saved(desk, &season_name(water)))
            details.why {
                summary { "What each analysis did, and how it is learned" }
                ul.notes { @for figure in &water.figures { @for sampled in &figure.trace {
                    li {
                        @if sampled.is_odd() { span.look { "Look" } ": " }
                        (sampled.day) ", " (figure.ion.word()) ": says " (figure.ion.show(sampled.says, units))
                        "; without it the middle of the year is " (figure.ion.show((sampled.otherwise, 0.0), units))
                    }
                } } }
                p { (HOW_SEASONS) }
                p.small.quiet { "Before any analysis: " (source.text) " (" (source.mark.words()) ")" }
            }
        }
    }
}

/// From which concentration each taster notices what.
fn tasters(desk: &Desk<'_>) -> Markup {
    let source = taster_source();
    html! {
        section.card {
            h3 { "What tasters notice" }
            ul.notes { @for known in &desk.lessons.tasters {
                li {
                    (threshold_words(known, desk.units)) "."
                    details.why {
                        summary { "in which beers" }
                        ul.notes { @for one in &known.tasted { li { (tasted_words(one)) } } }
                    }
                }
            } }
            p.small.quiet {
                "By points that were given blind, in tastings that are over, and by findings that name who found them. One of whom little is known is taken to be as the published threshold has it, with the spread between tasters (" (source.text) "; " (source.mark.words()) "). A finding that names its taster counts by what that taster notices."
            }
        }
    }
}

fn season_name(water: &SeasonalWater) -> String {
    format!("season-{}", water.source)
}

/// Each figure with its analyses and the band that holds the water nine times in ten.
fn season_chart(water: &SeasonalWater) -> CourseChart {
    let panel = |figure: &SeasonFigure| {
        let spread = figure.course.band();
        let spread = spread
            .into_iter()
            .map(|(x, low, high)| BandPoint { x, low, high });
        let read = figure.trace.iter().filter_map(|s| {
            let day = day_of_year(&s.day)?;
            Some(if s.says.1 > 0.0 {
                Reading::new(day, s.says.0, s.says.1)
            } else {
                Reading::bare(day, s.says.0)
            })
        });
        SeasonPanel {
            axis: Axis::new(figure.ion.word(), figure.ion.unit())
                .starting_at(0.0)
                .decimals(figure.ion.decimals()),
            readings: read.collect(),
            spread: spread.collect(),
            levels: vec![],
        }
    };
    Seasons {
        heading: Heading::new(
            &season_name(water),
            format!("{} through the year", water.name),
            "Each analysis on its day of the year, and the band that holds the water nine times in ten.",
        ),
        panels: water.figures.iter().map(panel).collect(),
        changes: vec![],
    }
    .chart()
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
    if let Some(water) = lessons.waters.iter().find(|w| season_name(w) == name) {
        return Some(Box::new(season_chart(water)));
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
