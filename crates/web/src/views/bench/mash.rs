//! The mash bench: kit, grist, rests.

use batch::Reckoning;
use batch::mash::reached;
use maud::{Markup, html};
use quantity::{Caution, Units, show};
use store::DocumentId;

use super::common::{caution, row, table, table_of_words};
use crate::views::charts;
use crate::views::form::Form;
use crate::views::liquor::reading;
use crate::views::wort::starch;

/// The figures of a malt's own analysis, and what a form calls them.
pub const MALT_SHEET: [(&str, &str); 14] = [
    ("extract", "Extract, fine, dry"),
    ("coarse_extract", "Or coarse, dry"),
    ("hot_water_extract", "Or hot water extract"),
    ("coarse_fine", "Coarse less"),
    ("moisture", "Moisture"),
    ("colour", "Colour"),
    ("diastatic_power", "Diastatic power"),
    ("protein", "Protein, dry"),
    ("kolbach", "Kolbach index"),
    ("amino_nitrogen", "Amino nitrogen, dry"),
    ("distilled_ph", "Distilled-water mash pH"),
    ("buffering", "Buffering"),
    ("acidity", "Acid, if acidulated"),
    ("smm", "SMM, as DMS"),
];

pub fn inputs(form: &Form<'_>) -> Markup {
    html! {
        fieldset {
            legend { "The batch" }
            (form.field("batch.name", "Name"))
            (form.field("batch.volume", "Into the fermenter"))
            (form.field("batch.brewed", "Brew day"))
        }
        fieldset {
            legend { "Grist" }
            @for n in 1..=form.entries("grist") {
                @let at = format!("grist[{n}]");
                div.entry {
                    div.row { strong { (form.named(&format!("{at}.name"), &form.named(&format!("{at}.class"), "a malt"))) } (form.removes(&at, &format!("malt {n}"))) }
                    (form.choice(&format!("{at}.class"), "Class"))
                    (form.field(&format!("{at}.amount"), "Amount"))
                    details.why {
                        summary { "its own analysis" }
                        (form.field(&format!("{at}.name"), "Name on the sack"))
                        @for (key, label) in MALT_SHEET { (form.field(&format!("{at}.{key}"), label)) }
                        (form.field(&format!("{at}.malted"), "Malted, how long ago"))
                        (form.field(&format!("{at}.crushed"), "Crushed, how long ago"))
                        p.small { a.alone href="/malts" { "What is taken where these stand empty" } }
                    }
                }
            }
            (form.adds("grist", "Add a malt or sugar"))
        }
        fieldset {
            legend { "Mash" }
            (form.field("mash.thickness", "Thickness"))
            (form.field("mash.grain_temperature", "Grain temperature"))
            (form.choice("mash.stepping", "From rest to rest"))
            @for n in 1..=form.entries("mash.rest") {
                @let at = format!("mash.rest[{n}]");
                div.entry {
                    div.row { strong { "Rest " (n) } (form.removes(&at, &format!("rest {n}"))) }
                    (form.field(&format!("{at}.temperature"), "Temperature"))
                    (form.field(&format!("{at}.time"), "Time"))
                    @if n > 1 {
                        (form.choice(&format!("{at}.by"), "Reached by"))
                        (form.field(&format!("{at}.boiled"), "Its decoction boils"))
                    }
                }
            }
            (form.adds("mash.rest", "Add a rest"))
            (form.choice("mash.sparge", "Sparge"))
            (form.field("mash.sparge_steps", "Refills of a batch sparge"))
            (form.field("mash.sparge_temperature", "Sparge temperature"))
        }
        (starch::inputs(form))
        (reading::inputs(form))
        fieldset {
            legend { "Kit" }
            (form.field("kit.altitude", "Altitude"))
            (form.field("kit.conversion", "Conversion"))
            (form.field("kit.absorption", "Kept by the grain"))
            (form.field("kit.tun_dead_space", "Dead space of the tun"))
            (form.field("kit.tun_heat_capacity", "Tun, as water"))
            (form.field("kit.tun_time_constant", "Tun cools, time constant"))
            (form.field("kit.tun_temperature", "Tun temperature"))
            (form.field("kit.mash_power", "Heat into the mash"))
        }
    }
}

pub fn results(r: &Reckoning, id: DocumentId, units: Units) -> Markup {
    html! {
        section.card {
            h3 { "What to do" }
            @if let Some(heat) = &r.mash.heat {
                (table("mash", &[
                    row("strike water", format!("{} at {}", show(heat.strike_water, units), show(heat.strike_temperature, units))),
                    row("mash liquor in all", show(r.volumes.mash_liquor, units)),
                    row("sparge liquor", format!("{} at {}", show(r.volumes.sparge_liquor, units), show(r.wort_plan.mash.sparge, units))),
                ]))
                (rests(r, units))
            }
            (caution(Caution::HotLiquor))
        }
        (starch::card(r, id, units))
        (reading::card(r, id, units))
        section.card {
            h3 { "What runs off" }
            (table("run-offs", &r.volumes.run_offs.iter().enumerate().map(|(n, run)| {
                row(format!("run-off {}", n + 1), format!("{}, {}", show(run.volume, units), run.gravity.both(units)))
            }).collect::<Vec<_>>()))
            (table("kettle full", &[
                row("at 20 °C", show(r.volumes.pre_boil.volume, units)).sure("kettle"),
                row("hot", show(r.volumes.pre_boil_hot, units)).sure("kettle_hot"),
                row("gravity", r.volumes.pre_boil.gravity.both(units)).sure("kettle_gravity"),
                row("lauter efficiency", show(r.volumes.lauter_efficiency, units)).sure("lauter_efficiency"),
                row("brewhouse efficiency", show(r.volumes.brewhouse_efficiency, units)).sure("brewhouse_efficiency"),
            ]))
            p { a href=(format!("/batch/{id}/brew-day")) { "The run-off, and what is read on brew day" } }
        }
        (charts::shown("volumes", r, id, units))
    }
}

/// Malts and rests.
pub fn steps(r: &Reckoning, units: Units) -> Markup {
    let malts: Vec<_> = r
        .wort_plan
        .grist
        .iter()
        .map(|item| row(item.fermentable.name.clone(), show(item.mass, units)))
        .collect();
    html! { (table("grist", &malts)) (rests(r, units)) (reading::if_it_reads(r, units)) }
}

/// The rests, and how each is reached.
fn rests(r: &Reckoning, units: Units) -> Markup {
    let Some(heat) = &r.mash.heat else {
        return html! {};
    };
    let steps = std::iter::once(None).chain(heat.steps.iter().map(Some));
    let rows: Vec<_> = r
        .wort_plan
        .mash
        .rests
        .iter()
        .zip(steps)
        .map(|(rest, step)| {
            let by = step.map_or(String::new(), |s| format!(", {}", reached(s, units)));
            row(
                format!("rest at {}", show(rest.temperature, units)),
                format!("{}{by}", show(rest.duration, units)),
            )
        })
        .collect();
    table_of_words("rests", &rows)
}
