//! The package bench.

use batch::{Reckoning, Vessel};
use maud::{Markup, html};
use package::{Container, Safety};
use quantity::{Caution, Units, show, show_interval, show_measured};
use store::DocumentId;

use super::common::{caution, row, table};
use crate::views::charts;
use crate::views::form::Form;

pub fn inputs(form: &Form<'_>) -> Markup {
    html! {
        fieldset {
            legend { "Package" }
            (form.choice("package.vessel", "Into"))
            (form.choice("package.gas", "Gas by"))
            (form.field("package.carbon_dioxide", "CO2 aimed at"))
            (form.choice("package.bottle", "Class of bottle"))
            (form.field("package.bottle_volume", "A bottle holds"))
            (form.field("package.head_space", "Head space"))
            (form.choice("package.sugar", "Priming sugar"))
            (form.field("package.loss", "Left with the yeast"))
            (form.field("package.conditioning", "Conditioning at"))
            (form.field("package.warmest_storage", "Warmest storage"))
            (form.field("package.gravity", "Gravity read before packaging"))
            (form.field("package.forced_gravity", "Forced sample ended at"))
            (form.field("package.forced_time", "It was kept warm for"))
            (form.field("package.stamped", "Stamped on the keg"))
            (form.field("package.serving_temperature", "Keg served at"))
        }
        (cleaning(form))
    }
}

fn cleaning(form: &Form<'_>) -> Markup {
    html! {
        fieldset {
            legend { "Cleaning, in the order of the work" }
            @for n in 1..=form.entries("cleaning") {
                @let at = |key: &str| format!("cleaning[{n}].{key}");
                @let name = form.named(&at("vessel"), "a vessel");
                div.entry {
                    div.row { strong { (n) ". " (name) } (form.removes(&format!("cleaning[{n}]"), &format!("cleaning {n}"))) }
                    (form.choice(&at("vessel"), "Vessel"))
                    (form.choice(&at("material"), "Made of"))
                    (form.choice(&at("agent"), "With"))
                    (form.field(&at("concentration"), "Concentration"))
                    (form.field(&at("dilution"), "or dilution"))
                    (form.field(&at("contact"), "Contact"))
                    (form.field(&at("temperature"), "Temperature"))
                    (form.choice(&at("rinse"), "Rinsed with"))
                    (form.field(&at("rinse_volume"), "Water of the rinse"))
                    (form.field(&at("left"), "Left on the walls"))
                }
            }
            (form.adds("cleaning", "Add a cleaning"))
            p.small { a href="/cleaning" { "Which agent, how strong, what must never meet" } }
        }
    }
}

pub fn results(r: &Reckoning, id: DocumentId, units: Units) -> Markup {
    let p = &r.packaging;
    let mut todo = vec![
        row("beer to package", show(p.beer.volume, units)).sure("packed"),
        row("CO2 left in it", show_measured(&p.residual, units)),
    ];
    if let Some(priming) = &p.priming {
        todo.push(row(priming.sugar.name.clone(), show(priming.mass, units)));
        if let Some(each) = priming.per_bottle {
            todo.push(row("in each bottle", show(each, units)));
        }
    }
    if let Some(bottles) = p.bottles {
        todo.push(row("bottles", bottles.full.to_string()));
    }
    if let Some(keg) = &p.keg {
        let pressure = show_measured(&keg.pressure, units);
        todo.push(row("gauge pressure of the keg", pressure).sure("keg_pressure"));
    }
    html! {
        section.card {
            h3 { "What to do" }
            (table("package", &todo))
            @for c in p.cautions.iter().filter(|c| **c != Caution::AlcoholLaw) { (caution(*c)) }
        }
        (safety(r, units))
        (at_risk(r))
        (cleaned(r, units))
        (charts::shown("volumes", r, id, units))
    }
}

/// The verdict first, then the pressure with its interval against the rating.
fn safety(r: &Reckoning, units: Units) -> Markup {
    let (worst, left) = (&r.packaging.worst, &r.packaging.left);
    let stop = worst.safety == Safety::Stop;
    let (low, high) = (worst.interval.lower(), worst.interval.upper());
    html! {
        section.card.safety {
            h3 { "Is it safe: " (worst.safety.word()) }
            div .trouble[stop] role=[stop.then_some("alert")] {
                @if stop { p { strong { "Stop. " } (worst.remedy) "." } }
                p { (worst.reason.text(units)) "." }
                @if worst.safety == Safety::Look { p { strong { (worst.remedy) "." } } }
            }
            (table("pressure in the warmest store", &[
                row("in a store of", show(worst.at, units)),
                row("likely", show(worst.interval.value, units)),
                row("from and to", show_interval(low, high, units)),
                row("should never pass", show(worst.service, units)),
                row("CO2 of what may still ferment", show(worst.from_extract, units)),
                row("all CO2 then", show(worst.carbon_dioxide, units)),
            ]))
            p { "Still to ferment: " (left.words()) "." }
            details.why {
                summary { "Where this comes from" }
                p { (left.basis.known_by()) }
                @if let Vessel::Bottles = r.document.package.vessel {
                    @if let Ok(class) = Container::find(&r.document.package.bottle) {
                        p { (class.name) ": " (class.source.text) " (" (class.source.mark) ")." }
                    }
                }
            }
        }
    }
}

/// What to do with bottles that are full already.
fn at_risk(r: &Reckoning) -> Markup {
    let bottles = r.document.package.vessel == Vessel::Bottles;
    html! {
        @if bottles && r.packaging.worst.safety != Safety::Safe {
            section.card {
                details open[r.packaging.worst.safety == Safety::Stop] {
                    summary.name { "If the bottles are full already" }
                    ol { @for step in package::at_risk() { li { (step.text) } } }
                }
            }
        }
    }
}

/// What cleaning can have left.
fn cleaned(r: &Reckoning, units: Units) -> Markup {
    let line = |step: &batch::cleaning::Step| {
        let left = step.residue.at_most;
        let left = left.map_or("nothing known".to_owned(), |c| {
            format!("at most {}", show(c, units))
        });
        row(format!("{}: {}", step.vessel.word(), step.agent.name), left)
    };
    let rows: Vec<_> = r.cleaning.steps.iter().map(line).collect();
    let mut faults: Vec<_> = r.cleaning.can_leave().collect();
    faults.dedup();
    html! {
        @if !rows.is_empty() {
            section.card {
                h3 { "What cleaning can have left in the beer" }
                (table("of what works in it, in a litre of beer", &rows))
                @if faults.is_empty() { p { "Nothing that is tasted, as it was done." } }
                @else {
                    ul.notes { @for fault in faults { li.look { strong { (fault.fault) ": " } (fault.what) ", " (fault.when) } } }
                }
            }
        }
    }
}
