//! Starch into sugar: the temperatures of the mash, the sugars as they form, what a
//! missed temperature does and what can be done about it.

use batch::Reckoning;
use batch::mash::{decoction, tun_loss, way_back as way_back_in_words};
use chart::{Axis, CourseChart, Heading, Line, Panel, Reading, Readings, Shape, Stroke, Tone};
use maud::{Markup, html};
use quantity::{Fraction, Units, show, show_measured};
use store::DocumentId;
use wort::{Change, Conversion, MashCourse, MashMoment, Missed};

use crate::views::bench::common::{caution, row, table, table_of_words};
use crate::views::charts;
use crate::views::form::Form;

/// The temperatures read, in the form of the mash bench.
pub fn inputs(form: &Form<'_>) -> Markup {
    html! {
        fieldset #measured {
            legend { "Temperatures read in the mash" }
            @for n in 1..=form.entries("mash.measured") {
                @let at = format!("mash.measured[{n}]");
                div.entry {
                    div.row { strong { "Temperature " (n) } (form.removes(&at, &format!("temperature {n}"))) }
                    (form.field(&format!("{at}.after"), "After mashing in"))
                    (form.field(&format!("{at}.temperature"), "What was read"))
                }
            }
            (form.adds("mash.measured", "Add a temperature"))
        }
    }
}

/// The card of the mash bench.
pub fn card(r: &Reckoning, id: DocumentId, units: Units) -> Markup {
    let Some(found) = &r.mash.conversion else {
        return html! {};
    };
    html! {
        section.card data-part="starch" {
            h3 { "Starch into sugar" }
            @if let Some(missed) = r.missed_mash() { (way_back(&missed, units)) }
            (table("at the end of the mash", &rows(r, found, units)))
            @for name in ["temperatures", "sugars"] {
                @if let Some(chart) = charts::named(name, r, units) {
                    (chart.markup())
                    (chart.table())
                    p.save.no-print {
                        a href=(format!("/batch/{id}/chart/{name}.svg")) { "save as SVG" }
                        a href=(format!("/batch/{id}/chart/{name}.csv")) { "save as CSV" }
                    }
                }
            }
            details.why {
                summary { "Sugars by kind" }
                (table("of what ferments", &by_kind(found, units)))
                p { "The split is that of a typical all-malt wort at 80 % (from memory), moved by how much each enzyme made." }
            }
            details.why {
                summary { "What the pH of the mash does" }
                (table_of_words("pH that the enzymes want", &wort::ph_of_enzymes().map(|(what, mark)| row(what, mark.words()))))
                p { "Away from it each works more slowly, by a bell whose width is a judgement: 0.3 costs β-amylase a tenth. That is in the figures above." }
            }
            (heat(r, units))
            p.small { a href="#measured" { "Add a temperature" } " that you read, and this follows it." }
        }
    }
}

/// Heat for the steps, and what the tun loses.
fn heat(r: &Reckoning, units: Units) -> Markup {
    let steps: Vec<_> = r.mash.heat.iter().flat_map(|heat| &heat.steps).collect();
    let words: Vec<_> = steps
        .iter()
        .map(|step| {
            let label = format!("to {}", show(step.to.temperature, units));
            let from = show(step.from, units);
            let heat = format!("{} from {from}", show(step.heat, units));
            match &step.change {
                Change::Decoction(pull) => {
                    row(label, format!("{heat}; {}", decoction(pull, units)))
                }
                _ => row(label, heat),
            }
        })
        .collect();
    let loses: Vec<_> = tun_loss(r, units)
        .into_iter()
        .map(|(name, value)| row(name, value))
        .collect();
    html! {
        @if !words.is_empty() { (table_of_words("heat for the steps", &words)) }
        (table_of_words("what the tun loses", &loses))
        details.why {
            summary { "How the loss is reckoned, and how to learn it" }
            p {
                "A tun comes nearer to the room as Newton's law has it, by the time constant of the kit; one that is heated is held at each rest. "
                "Two temperatures read in one rest, ten minutes apart or more, say what yours loses: enter that time constant with the kit."
            }
        }
    }
}

fn rows(r: &Reckoning, found: &Conversion, units: Units) -> Vec<crate::views::bench::common::Row> {
    let mut rows = vec![row(
        "limit of attenuation, apparent",
        show_measured(&found.limit, units),
    )];
    if let Some(rule) = &r.mash.limit_by_rests {
        rows.push(row(
            "the same by the published limits of the rests alone",
            show_measured(rule, units),
        ));
    }
    rows.push(row("starch dissolved", show(found.dissolved, units)));
    rows.push(row(
        "iodine shows no starch after",
        found
            .converted
            .map_or_else(|| "not in this mash".to_owned(), |at| show(at, units)),
    ));
    if let Some(power) = r.mash.diastatic_power {
        rows.push(row("diastatic power of the grist", show(power, units)));
    }
    rows.push(row(
        "amino nitrogen in the kettle",
        show_measured(&r.mash.amino_nitrogen, units),
    ));
    rows.push(row(
        "ferulic acid in the kettle, before clove",
        show_measured(&r.mash.ferulic_acid, units),
    ));
    rows
}

fn by_kind(found: &Conversion, units: Units) -> Vec<crate::views::bench::common::Row> {
    let sugars = &found.sugars;
    [
        ("glucose", sugars.glucose),
        ("fructose", sugars.fructose),
        ("sucrose", sugars.sucrose),
        ("maltose", sugars.maltose),
        ("maltotriose", sugars.maltotriose),
    ]
    .map(|(name, share)| row(name, show(share, units)))
    .into()
}

/// What was missed and what can be done.
fn way_back(missed: &Missed, units: Units) -> Markup {
    let limit = |limit: Fraction| show(limit, units);
    html! {
        div.trouble role="note" {
            p {
                strong { (show(missed.read, units)) " after " (show(missed.after, units)) }
                " where " (show(missed.planned, units)) " was planned: as it stands the limit of attenuation comes to "
                (limit(missed.limit_now)) " and not to " (limit(missed.limit_planned)) "."
            }
            @if !missed.ways.is_empty() {
                ul.notes {
                    @for way in &missed.ways {
                        li { (way_back_in_words(way.what, units)) ": the limit comes to " (limit(way.limit)) }
                    }
                }
            }
        }
        @for c in &missed.cautions { (caution(*c)) }
    }
}

/// The temperatures of the mash, planned and read.
pub fn temperatures(r: &Reckoning, units: Units) -> Option<CourseChart> {
    let (planned, course) = (r.mash.planned.as_ref()?, r.mash.course.as_ref()?);
    let degrees = |c: f64| match units {
        Units::Metric => c,
        Units::Us => c * 1.8 + 32.0,
    };
    let unit = match units {
        Units::Metric => "°C",
        Units::Us => "°F",
    };
    let points = |course: &MashCourse| -> Vec<(f64, f64)> {
        let points = course.points();
        points.map(|(at, t)| (at.min(), degrees(t.c()))).collect()
    };
    let mut panel = Panel::new(Axis::new("temperature", unit).decimals(1)).line(Line::new(
        "planned",
        points(planned),
        Tone::Copper,
        Stroke::Solid,
    ));
    let read = &r.wort_plan.mash.measured;
    if !read.is_empty() {
        panel = panel
            .line(Line::new(
                "as read",
                points(course),
                Tone::Water,
                Stroke::Dashed,
            ))
            .readings(Readings {
                label: "read".to_owned(),
                points: read
                    .iter()
                    .map(|t| Reading::bare(t.after.min(), degrees(t.temperature.c())))
                    .collect(),
                tone: Tone::Water,
                shape: Shape::Circle,
            });
    }
    let heading = Heading::new(
        "temperatures",
        "Temperature of the mash",
        "As planned, and as it was read; after the last reading it is taken to cool as the tun does until the plan moves on.",
    );
    let minutes = Axis::new("time", "min").starting_at(0.0).decimals(0);
    Some(CourseChart::new(heading, minutes).panel(panel))
}

/// Sugars as they form.
pub fn sugars(r: &Reckoning) -> Option<CourseChart> {
    let found = r.mash.conversion.as_ref()?;
    let series = |f: &dyn Fn(&MashMoment) -> f64| -> Vec<(f64, f64)> {
        let moments = found.moments.iter();
        moments.map(|m| (m.after.min(), 100.0 * f(m))).collect()
    };
    let panel = Panel::new(Axis::new("share", "%").starting_at(0.0).decimals(0))
        .line(Line::new(
            "limit of attenuation",
            series(&|m| m.limit.ratio()),
            Tone::Copper,
            Stroke::Solid,
        ))
        .line(Line::new(
            "of it maltose",
            series(&|m| m.limit.ratio() * m.sugars.maltose.ratio()),
            Tone::Sand,
            Stroke::Dashed,
        ))
        .line(Line::new(
            "of it maltotriose",
            series(&|m| m.limit.ratio() * m.sugars.maltotriose.ratio()),
            Tone::Plum,
            Stroke::Dotted,
        ))
        .line(Line::new(
            "of it simple sugars",
            series(&|m| m.limit.ratio() * m.sugars.simple().ratio()),
            Tone::Moss,
            Stroke::DashDot,
        ));
    let enzymes = Panel::new(Axis::new("left", "%").starting_at(0.0).decimals(0))
        .line(Line::new(
            "starch to dissolve",
            series(&|m| 1.0 - m.dissolved.ratio()),
            Tone::Sand,
            Stroke::Solid,
        ))
        .line(Line::new(
            "β-amylase",
            series(&|m| m.beta.ratio()),
            Tone::Water,
            Stroke::Dashed,
        ))
        .line(Line::new(
            "α-amylase",
            series(&|m| m.alpha.ratio()),
            Tone::Moss,
            Stroke::Dotted,
        ));
    let heading = Heading::new(
        "sugars",
        "Sugars as they form, and what is left of starch and enzymes",
        "Apparent limit of attenuation if the wort ran off now, and the parts of it by sugar. Rates fitted to measured limits; enzyme losses from memory.",
    );
    let minutes = Axis::new("time", "min").starting_at(0.0).decimals(0);
    Some(
        CourseChart::new(heading, minutes)
            .panel(panel)
            .panel(enzymes),
    )
}
