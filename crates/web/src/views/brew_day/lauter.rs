//! The run-off, its chart, and the chain of efficiencies.

use batch::brew_day::Lautering;
use chart::{Axis, Chart, CourseChart, Heading, Line, Panel, Stroke, Tone};
use maud::{Markup, html};
use quantity::{Units, Volume, show};
use store::DocumentId;
use wort::lauter::{Runnings, limits};

use crate::views::bench::common::{row, table};

/// A US gallon \[L\].
const US_GALLON_L: f64 = 3.785_411_784;

pub fn card(found: &Lautering, id: DocumentId, units: Units) -> Markup {
    let chart = chart(found, units);
    let run = &found.run_off;
    let (gravity, ph, _) = limits();
    html! {
        section.card data-part="lauter" {
            h3 { "The run-off" }
            (chart.markup())
            (chart.table())
            p.save.no-print {
                a href=(format!("/batch/{id}/chart/run-off.svg")) { "save as SVG" }
                a href=(format!("/batch/{id}/chart/run-off.csv")) { "save as CSV" }
            }
            (table("last runnings", &[
                row("gravity", run.last.gravity.both(units)),
                row("pH, cooled sample", show(run.last.ph, units)),
                row("stop when collected", run.stop.map_or("no limit is passed".to_owned(), |s| show(s.at.collected, units))),
            ]))
            p.small.quiet {
                "Stop at " (show(gravity, units)) " or pH " (show(ph, units)) ", whichever comes first (common practice: 2 to 3 °P, pH 5.8 to 6.0). "
            }
            ul.notes { @for note in &run.notes { li.(note.weight.word()) { (note.text) } } }
            details.why {
                summary { "how the run-off is reckoned" }
                p {
                    "Gravity: wort stays with the grain and in the dead space, and each drain takes its share; a continuous sparge goes through a few mixed stages. "
                    "pH: the buffering of the malt that is in solution is washed out, that of the grain stays, and the sparge liquor brings its residual alkalinity. "
                    "That six tenths of it are in solution is a judgement, and so is the course of the pH: a meter in the runnings decides. "
                    "With liquor of no alkalinity no rise is shown, where practice sees a tenth or two."
                }
            }
        }
        section.card data-part="efficiency" {
            h3 { "Where the extract goes" }
            table {
                caption { "predicted from the kit" }
                tbody {
                    @for step in &found.efficiency.steps {
                        tr { th scope="row" { (step.name) div.small.quiet { (step.means) } } td.number { (show(step.share, units)) } }
                    }
                    tr {
                        th scope="row" { strong { "brewhouse efficiency" } div.small.quiet { "extract in the fermenter, of what a laboratory gets from all that was used, finely ground" } }
                        td.number { strong { (show(found.efficiency.brewhouse, units)) } }
                    }
                }
            }
            table {
                caption { "what the kit would give" }
                thead { tr { th scope="col" { "" } th.number scope="col" { "more" } th.number scope="col" { "original gravity" } } }
                tbody {
                    @for m in &found.moves {
                        tr {
                            th scope="row" { (m.what) }
                            td.number { (points(m.gain_percent)) }
                            td.number { (show(m.original_gravity, units)) }
                        }
                    }
                }
            }
        }
    }
}

/// Points of a hundred, with their sign.
fn points(percent: f64) -> String {
    format!("{percent:+.1} %")
}

/// Gravity and pH of the runnings against what was collected.
pub fn chart(found: &Lautering, units: Units) -> CourseChart {
    let unit = match units {
        Units::Metric => "L",
        Units::Us => "gal",
    };
    let volume = |v: Volume| match units {
        Units::Metric => v.l(),
        Units::Us => v.l() / US_GALLON_L,
    };
    let course = &found.run_off.course;
    let series = |f: &dyn Fn(&Runnings) -> f64| -> Vec<(f64, f64)> {
        course.iter().map(|r| (volume(r.collected), f(r))).collect()
    };
    let (gravity, ph, _) = limits();
    let mut chart = CourseChart::new(
        Heading::new(
            "run-off",
            "The run-off: gravity and pH of the runnings",
            "What runs from the tun when so much is collected, with the limits at which sparging is stopped. The pH is a judgement; a meter decides.",
        ),
        Axis::new("collected", unit).starting_at(0.0).decimals(1),
    )
    .panel(
        Panel::new(Axis::new("gravity", "°P").starting_at(0.0).decimals(1))
            .line(Line::new(
                "gravity",
                series(&|r| r.gravity.plato()),
                Tone::Copper,
                Stroke::Solid,
            ))
            .reference(gravity.plato(), "stop"),
    )
    .panel(
        Panel::new(Axis::new("pH", "").decimals(2))
            .line(Line::new(
                "pH",
                series(&|r| r.ph.ph()),
                Tone::Water,
                Stroke::Solid,
            ))
            .reference(ph.ph(), "stop"),
    );
    if let Some(stop) = &found.run_off.stop {
        chart = chart.marker(volume(stop.at.collected), "stop");
    }
    chart
}
