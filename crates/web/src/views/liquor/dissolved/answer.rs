//! The answer: the water as it is, what becomes of it, acid, lime, every species.

use batch::certainty::Between;
use batch::liquor::dissolved::{
    Acid, Dissolved, DoseSure, Lime, State, Sure, Which, saturation_between, saturation_words,
};
use chart::Chart;
use maud::{Markup, html};
use quantity::{Alkalinity, Caution, MassConcentration, Ph, Quantity, Units, show, show_interval};
use water::acids::AcidAmount;
use water::speciation::{Mineral, Speciated};

use super::{Desk, curves, formula, pairs};
use crate::views::bench::common::{Row, caution, row, table};
use crate::views::intervals::known;

/// The least share of a pair that is named \[–\] (judgement).
const NAMED_FROM: f64 = 0.02;

pub fn shown(desk: &Desk<'_>, found: &Dissolved) -> Markup {
    html! {
        (as_it_is(found, desk.sure, desk.units))
        (becomes(&found.states(), desk.sure, desk.units))
        @if let Some(refused) = &found.refused {
            div.trouble role="alert" { p { strong { "No dose is given. " } (refused) "." } }
        }
        @if let Some(acid) = &found.acid { (acid_card(desk, found, acid)) }
        @else if found.refused.is_none() && found.wrong.is_empty() {
            section.card { h3 { "Acid" } p { "This water already stands at or below that aim: it needs no acid." } }
        }
        @if let Some(lime) = &found.lime { (lime_card(desk, lime)) }
        (remarks(found))
        (species(&found.is, desk.units))
    }
}

fn as_it_is(found: &Dissolved, sure: Option<&Sure>, units: Units) -> Markup {
    let is = &found.is;
    let as_drawn = sure.and_then(|sure| sure.states.first());
    let ph = as_drawn.and_then(|s| s.ph).map(|b| b.show(units));
    let alkalinity = as_drawn.and_then(|s| s.alkalinity).map(|b| b.show(units));
    let calcium = as_drawn.and_then(|s| s.calcium).map(|b| b.show(units));
    let of_mass = |of: &dyn Fn(&Sure) -> Option<Between<MassConcentration>>| {
        sure.and_then(of).map(|b| b.show(units))
    };
    let mut rows = vec![
        row("pH", show(is.ph, units)).between(ph),
        row("alkalinity", show(is.alkalinity, units)).between(alkalinity),
        row("bicarbonate, free", show(is.bicarbonate_mass(), units))
            .between(of_mass(&|s| s.bicarbonate)),
        row("carbon dioxide", show(is.carbon_dioxide_mass(), units))
            .between(of_mass(&|s| s.carbon_dioxide)),
        row("calcium, free and paired", show(is.ions.calcium, units)).between(calcium),
    ];
    rows.extend(paired(is, units));
    let chalk = is.saturation_of(Mineral::Calcite).map(saturation_words);
    html! {
        section.card {
            h3 { "As it is" }
            (table(&format!("{}, {}", found.name, show(is.temperature, units)), &rows))
            @if let Some(chalk) = chalk { p { "Chalk: " strong { (chalk) } } }
            (why_saturation())
        }
    }
}

fn why_saturation() -> Markup {
    html! {
        details.why {
            summary { "What the number behind chalk is" }
            p { "The saturation index: log10 of what calcium and carbonate come to, over what they come to where water and chalk are in balance. Above 0 chalk can form, though slowly below about 0.3; below 0 the water dissolves it." }
            p { "Constants are those of phreeqc.dat, 0 to 100 °C. How fast things go is not reckoned, nor are iron, silica and fluoride." }
        }
    }
}

/// Pairs worth naming.
pub fn paired(is: &Speciated, units: Units) -> Vec<Row> {
    let named = is.pairs().into_iter();
    named
        .filter(|pair| pair.share.ratio() >= NAMED_FROM)
        .map(|pair| {
            row(
                format!("paired as {}", formula(pair.name)),
                format!("{} of the {}", show(pair.share, units), pair.of),
            )
        })
        .collect()
}

fn becomes(states: &[State], sure: Option<&Sure>, units: Units) -> Markup {
    let sure = |at: usize| sure.and_then(|sure| sure.states.get(at));
    html! {
        section.card {
            h3 { "What becomes of it" }
            div.wide tabindex="0" role="region" aria-label="the water, one way beside the other" {
                table.states {
                    thead { tr {
                        th scope="col" { "" } th.number scope="col" { "temperature" } th.number scope="col" { "pH" }
                        th.number scope="col" { "alkalinity" } th.number scope="col" { "calcium" } th scope="col" { "chalk" }
                    } }
                    tbody {
                        @for (at, State { name, is }) in states.iter().enumerate() {
                            tr {
                                th scope="row" { (name) }
                                td.number { (show(is.temperature, units)) }
                                td.number { (show(is.ph, units)) (between(sure(at).and_then(|s| s.ph), units)) }
                                td.number { (show(is.alkalinity, units)) (between(sure(at).and_then(|s| s.alkalinity), units)) }
                                td.number { (show(is.ions.calcium, units)) (between(sure(at).and_then(|s| s.calcium), units)) }
                                td {
                                    (is.saturation_of(Mineral::Calcite).map_or(String::new(), saturation_words))
                                    (known(sure(at).and_then(|s| s.chalk).map(saturation_between).as_deref()))
                                }
                            }
                        }
                    }
                }
            }
            details.why {
                summary { "What each line means" }
                dl {
                    dt { "heated" } dd { "To the temperature asked, with nothing leaving and nothing falling out." }
                    dt { "stood open to air" } dd { "Until its carbon dioxide is in balance with the air; that takes days in a full vessel, minutes with stirring." }
                    @if states.len() > 3 {
                        dt { "boiled, poured off" } dd { "As far as a boil goes in practice, poured off its chalk while warm." }
                        dt { "boiled to the end" } dd { "As far as it could go, were there time for all chalk to form." }
                    }
                    @if states.iter().any(|s| s.name == "limed") {
                        dt { "limed" } dd { "With the lime below, poured off its chalk." }
                    }
                }
            }
        }
    }
}

fn between<Q: Quantity>(between: Option<Between<Q>>, units: Units) -> Markup {
    known(between.map(|b| b.show(units)).as_deref())
}

fn acid_card(desk: &Desk<'_>, found: &Dissolved, acid: &Acid) -> Markup {
    let units = desk.units;
    let sure = desk.sure.and_then(|sure| sure.acid);
    let (closed, open) = (sure.map(|s| s.closed), sure.map(|s| s.open));
    let at = |to: &water::speciation::AcidToPh| {
        format!(
            "pH {}, alkalinity {}",
            show(to.after.ph(), units),
            show(to.after.alkalinity(), units)
        )
    };
    let curve = curves::acid(acid);
    html! {
        section.card {
            h3 { "Acid" }
            p {
                strong { (amount(acid.amount(), units)) " of " (acid.product.name) }
                " for " (show(acid.volume, units)) ", " (amount(acid.per_ten_litres(), units)) " for each 10 L."
            }
            div.wide {
                table {
                    caption.hidden { "what it takes, closed and open" }
                    thead { tr { th scope="col" { "" } th.number scope="col" { "acid" } th scope="col" { "and then" } } }
                    tbody {
                        tr {
                            th scope="row" { "just after mixing" }
                            td.number { (amount(acid.amount(), units)) (needs(acid, closed, units)) }
                            td { (at(&acid.closed)) (stands(closed, units)) }
                        }
                        tr {
                            th scope="row" { "once its gas has left" }
                            td.number { (amount(acid.amount_open(), units)) (needs(acid, open, units)) }
                            td { (at(&acid.open)) (stands(open, units)) }
                        }
                    }
                }
            }
            @if found.of.is_liquor() { p.small { "Reckoned for the water without the acid that the plan already has for it." } }
            (take(desk, found))
            (curve.markup())
            (curve.table())
            (saved(desk, "acid"))
            (caution(Caution::Acid))
        }
    }
}

/// The doses between which it would take, to bring the water just where it should be.
fn needs(acid: &Acid, sure: Option<DoseSure>, units: Units) -> Markup {
    let between = sure.and_then(|sure| sure.dose);
    let ends = between.map(|b| {
        let [low, high] = [b.low, b.high].map(|dose| amount(acid.amount_of(dose), units));
        (low != high).then(|| format!("{low} to {high}"))
    });
    known(ends.flatten().as_deref())
}

/// Where the water may stand after the dose that is told.
fn stands(sure: Option<DoseSure>, units: Units) -> Markup {
    let ph = ph_words(sure.and_then(|sure| sure.ph), units);
    let alkalinity = alkalinity_words(sure.and_then(|sure| sure.alkalinity), units);
    known_all([ph, alkalinity])
}

fn ph_words(between: Option<Between<Ph>>, units: Units) -> Option<String> {
    between.map(|b| format!("pH {}", b.show(units)))
}

fn alkalinity_words(between: Option<Between<Alkalinity>>, units: Units) -> Option<String> {
    between.map(|b| format!("alkalinity {}", b.show(units)))
}

fn known_all(words: [Option<String>; 2]) -> Markup {
    let all: Vec<String> = words.into_iter().flatten().collect();
    known((!all.is_empty()).then(|| all.join(", ")).as_deref())
}

/// A button that puts the acid into the plan of the sparge water.
fn take(desk: &Desk<'_>, found: &Dissolved) -> Markup {
    html! {
        @if found.of == Which::Sparge {
            form.no-print method="post" action=(desk.home()) {
                input type="hidden" name="on" value=(desk.open.revision);
                (hidden(desk))
                p { button.main type="submit" { "Take this acid for the sparge water" } }
            }
        } @else if Which::all(desk.reckoning).contains(&Which::Sparge) {
            p.no-print.small { "For the other water, see " a href=(format!("{}?of=sparge", desk.home())) { "acid for the sparge water" } "." }
        }
    }
}

fn lime_card(desk: &Desk<'_>, lime: &Lime) -> Markup {
    let units = desk.units;
    let dose = &lime.dose;
    let curve = curves::lime(lime, units);
    let by_formula = desk.sure.and_then(|sure| sure.lime).map(|b| b.show(units));
    // With the dose that is taken.
    let limed = desk.sure.and_then(|sure| sure.states.last());
    html! {
        section.card {
            h3 { "Slaked lime" }
            p {
                strong { (show(lime.in_all, units)) " for " (show(lime.volume, units)) }
                ", " (show(lime.taken, units)) ": alkalinity " (show(lime.settled.alkalinity, units)) ", pH " (show(lime.settled.ph, units)) " once it has settled."
                (known_all([
                    alkalinity_words(limed.and_then(|s| s.alkalinity), units),
                    ph_words(limed.and_then(|s| s.ph), units),
                ]))
            }
            (table("doses of Ca(OH)₂", &[
                row("by the formula", show(dose.stoichiometric, units)).between(by_formula),
                row("practice doses", show_interval(dose.recommended_low, dose.recommended_high, units)),
                row("least alkalinity in the end", format!("{} with {}", show(dose.least.alkalinity, units), show(dose.least.dose, units))),
            ]))
            (curve.markup())
            (curve.table())
            (saved(desk, "lime"))
            (caution(Caution::StrongBase))
        }
    }
}

fn remarks(found: &Dissolved) -> Markup {
    let notes = found.notes();
    html! {
        @if !notes.is_empty() {
            section.card {
                h3 { "Remarks" }
                ul.notes { @for note in &notes { li.(note.weight.word()) { (note.text) } } }
                @if found.boiled.is_some() { (caution(Caution::HotLiquor)) }
            }
        }
    }
}

fn species(is: &Speciated, units: Units) -> Markup {
    html! {
        section.card {
            h3 { "Every species" }
            details.why {
                summary { (is.species.len()) " species, ionic strength " (show(is.ionic_strength, units)) }
                div.wide tabindex="0" role="region" aria-label="every species" {
                    table {
                        thead { tr { th scope="col" { "species" } th.number scope="col" { "there is" } th.number scope="col" { "activity coefficient" } } }
                        tbody {
                            @for one in &is.species {
                                tr {
                                    th scope="row" { (formula(one.name)) }
                                    td.number { (show(one.molality, units)) }
                                    td.number { (format!("{:.3}", one.activity_coefficient)) }
                                }
                            }
                        }
                    }
                }
            }
            details.why {
                summary { "Saturation of other minerals" }
                dl { @for (mineral, index) in &is.saturation { dt { (mineral) } dd { (format!("{index:+.2}")) } } }
            }
        }
    }
}

fn saved(desk: &Desk<'_>, name: &str) -> Markup {
    html! {
        form.save.no-print method="get" {
            (hidden(desk))
            button type="submit" formaction=(format!("{}/{name}.svg", desk.home())) { "save as SVG" }
            " "
            button type="submit" formaction=(format!("{}/{name}.csv", desk.home())) { "save as CSV" }
        }
    }
}

fn hidden(desk: &Desk<'_>) -> Markup {
    html! { @for (name, value) in pairs(desk.question) { input type="hidden" name=(name) value=(value); } }
}

pub fn amount(amount: AcidAmount, units: Units) -> String {
    match amount {
        AcidAmount::Mass(mass) => show(mass, units),
        AcidAmount::Volume(volume) => show(volume, units),
    }
}
