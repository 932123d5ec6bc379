//! The brew-day sheet: the plan in the order of the day, with room to write what
//! was measured.

use app::OpenBatch;
use batch::certainty::Certainty;
use batch::{Reckoning, Stage};
use maud::{Markup, html};
use quantity::{Units, show, show_interval, show_measured};

use super::{bench, intervals};
use crate::page::Page;

pub fn page(open: &OpenBatch, sure: Option<&Certainty>, units: Units) -> Markup {
    Page::new(&open.name)
        .beside("brew-day sheet")
        .link(format!("/batch/{}", open.id), "back to the batch")
        .render(&html! {
            @match open.outcome.reckoning() {
                Some(r) => (sheet(&Plan { r, sure, units })),
                None => p.trouble { "The document cannot be reckoned as it is, so there is no sheet yet." },
            }
        })
}

/// A plan with what it is likely to read like.
struct Plan<'p> {
    r: &'p Reckoning,
    sure: Option<&'p Certainty>,
    units: Units,
}

impl Plan<'_> {
    /// A figure, and between what it lies in nine of ten batches.
    fn with_interval(&self, figure: String, key: &str) -> String {
        let interval = self
            .sure
            .map(|found| intervals::text(found, key, self.units));
        match interval.filter(|text| !text.is_empty()) {
            Some(interval) => format!("{figure} ({interval})"),
            None => figure,
        }
    }
}

fn sheet(p: &Plan<'_>) -> Markup {
    let (r, units) = (p.r, p.units);
    let volume = p.with_interval(show(r.boil.wort.volume, units), "into_fermenter");
    let gravity = p.with_interval(r.boil.wort.gravity.both(units), "original_gravity");
    let last = p.with_interval(
        show_measured(&r.fermentation.final_gravity, units),
        "final_gravity",
    );
    let glass = [
        p.with_interval(show(r.glass.alcohol, units), "alcohol"),
        p.with_interval(show(r.glass.bitterness, units), "bitterness"),
        p.with_interval(show(r.glass.colour, units), "colour"),
    ]
    .join(", ");
    html! {
        p.no-print { "Print this page: it leaves room to write." }
        @if p.sure.is_some() { p.small { "In brackets: between what nine of ten batches of this plan would read." } }
        section.card {
            h2 { "The beer" }
            (lines(&[
                ("date", r.document.batch.brewed.clone().unwrap_or_default(), true),
                ("into the fermenter", format!("{volume}, {gravity}"), true),
                ("final gravity", last, true),
                ("alcohol, bitterness, colour", glass, false),
            ]))
        }
        @for stage in [Stage::Water, Stage::Mash, Stage::Boil, Stage::Ferment, Stage::Package] {
            section.card {
                h2 { (super::stream::title(stage)) }
                (lines(&readings(stage, p)))
                (bench::steps(stage, r, units))
                @if stage == Stage::Water { (super::liquor::chlorine::confirm(r, units)) }
            }
        }
        (packing(r, units))
        (cautions(r))
    }
}

/// What stands between the beer and a bottle that bursts, and what was cleaned.
fn packing(r: &Reckoning, units: Units) -> Markup {
    let worst = &r.packaging.worst;
    let (low, high) = (worst.interval.lower(), worst.interval.upper());
    html! {
        section.card {
            h2 { "Before the package is closed: " (worst.safety.word()) }
            (lines(&[
                ("gravity, stood still for three days", show(r.fermentation.expected_gravity, units), true),
                ("pressure in the warmest store", format!("{}, at {}", show_interval(low, high, units), show(worst.at, units)), false),
                ("should never pass", show(worst.service, units), false),
            ]))
            p { (worst.reason.text(units)) ". " @if worst.safety != package::Safety::Safe { strong { (worst.remedy) "." } } }
            @for step in &r.cleaning.steps {
                p.small { strong { (step.vessel.word()) ": " } (step.agent.name) ". " (step.agent.usage) }
            }
        }
    }
}

/// Every caution of the reckoning, with its source.
pub fn cautions(r: &Reckoning) -> Markup {
    html! {
        section.card.cautions {
            h2 { "Cautions" }
            p { "Local codes and licensed practice decide, and the safety data sheet of what you use." }
            ul.notes {
                @for caution in r.cautions() {
                    @let text = caution.text();
                    li {
                        strong { (text.title) ". " } (text.text)
                        " " span.quiet.small { "Source: " (text.source) " (" (text.mark) ")." }
                    }
                }
            }
        }
    }
}

/// What is planned, and whether there is something to write beside it.
type Line<'l> = (&'l str, String, bool);

fn lines(lines: &[Line<'_>]) -> Markup {
    html! {
        table {
            thead { tr { th scope="col" { "" } th scope="col" { "planned" } th scope="col" { "measured" } } }
            tbody {
                @for (label, planned, write) in lines {
                    tr { th scope="row" { (label) } td { (planned) } td { @if *write { span.write {} } } }
                }
            }
        }
    }
}

fn readings<'l>(stage: Stage, p: &Plan<'_>) -> Vec<Line<'l>> {
    let (r, units) = (p.r, p.units);
    let v = &r.volumes;
    match stage {
        Stage::Water => vec![
            ("water to draw", show(v.total_water, units), true),
            ("for the mash", show(v.mash_liquor, units), true),
            ("for the sparge", show(v.sparge_liquor, units), true),
            (
                "total chlorine, after treatment",
                show(r.water.mash.chlorine.total(), units),
                true,
            ),
        ],
        Stage::Mash => vec![
            (
                "strike water",
                r.mash.heat.as_ref().map_or(String::new(), |h| {
                    let warmth = p.with_interval(show(h.strike_temperature, units), "strike");
                    format!("{} at {warmth}", show(h.strike_water, units))
                }),
                true,
            ),
            (
                "pH after 15 min, cooled",
                r.mash_stands().map_or(String::new(), |ph| {
                    p.with_interval(show_measured(&ph, units), "mash_ph")
                }),
                true,
            ),
            (
                "first wort, gravity",
                v.run_offs.first().map_or(String::new(), |first| {
                    p.with_interval(first.gravity.both(units), "first_wort")
                }),
                true,
            ),
            (
                "last runnings, gravity",
                p.with_interval(v.last_runnings.both(units), "last_runnings"),
                true,
            ),
            (
                "kettle full, hot",
                p.with_interval(show(v.pre_boil_hot, units), "kettle_hot"),
                true,
            ),
            (
                "gravity in the kettle",
                p.with_interval(v.pre_boil.gravity.both(units), "kettle_gravity"),
                true,
            ),
        ],
        Stage::Boil => vec![
            (
                "boil",
                format!(
                    "{} at {}",
                    show(r.wort_plan.boil.duration, units),
                    show(r.boil.report.boiling_point, units)
                ),
                true,
            ),
            (
                "after the boil, hot",
                p.with_interval(show(v.post_boil_hot, units), "post_boil_hot"),
                true,
            ),
            (
                "gravity after the boil",
                p.with_interval(v.post_boil.gravity.both(units), "post_boil_gravity"),
                true,
            ),
            (
                "into the fermenter",
                p.with_interval(show(r.boil.wort.volume, units), "into_fermenter"),
                true,
            ),
            (
                "original gravity",
                p.with_interval(r.boil.wort.gravity.both(units), "original_gravity"),
                true,
            ),
            ("chilled to", show(r.boil.wort.temperature, units), true),
        ],
        Stage::Ferment => vec![
            (
                "cells",
                format!(
                    "{} at hand, {} needed",
                    show_measured(&r.fermentation.pitch.at_hand, units),
                    show(r.fermentation.pitch.needed, units)
                ),
                true,
            ),
            (
                "oxygen",
                p.with_interval(show(r.fermentation.oxygen.dissolved, units), "oxygen"),
                true,
            ),
            (
                "nine tenths fermented",
                r.fermentation
                    .ninety_percent_at
                    .map_or("not in time".to_owned(), |t| {
                        p.with_interval(show(t, units), "ninety")
                    }),
                true,
            ),
            (
                "final gravity",
                p.with_interval(
                    show_measured(&r.fermentation.final_gravity, units),
                    "final_gravity",
                ),
                true,
            ),
        ],
        Stage::Package | Stage::Glass => vec![
            (
                "beer to package",
                p.with_interval(show(r.packaging.beer.volume, units), "packed"),
                true,
            ),
            (
                "priming sugar",
                r.packaging.priming.as_ref().map_or("none".to_owned(), |p| {
                    format!("{} {}", show(p.mass, units), p.sugar.name)
                }),
                true,
            ),
            (
                "keg pressure",
                r.packaging.keg.as_ref().map_or("no keg".to_owned(), |k| {
                    p.with_interval(show_measured(&k.pressure, units), "keg_pressure")
                }),
                true,
            ),
            (
                "forced-ferment sample ends at",
                show(r.fermentation.expected_gravity, units),
                true,
            ),
        ],
    }
}
