//! The pH of the mash: what is predicted, what was read, what to add, what was learned.

use batch::Reckoning;
use batch::liquor::reading::{IfItReads, action_words, dose_words, malt_names, shares, taught};
use maud::{Markup, html};
use quantity::{Caution, Units, show, show_measured};
use store::DocumentId;
use water::mash_reading::{Action, Advice, Dose};

use crate::views::bench::common::{Row, caution, row, table, table_of_words};
use crate::views::charts;
use crate::views::form::Form;

/// The readings in the form of the mash bench.
pub fn inputs(form: &Form<'_>) -> Markup {
    html! {
        fieldset #readings {
            legend { "The pH read in the mash" }
            @for n in 1..=form.entries("mash.reading") { (entry(form, n)) }
            (form.adds("mash.reading", "Add a reading"))
        }
    }
}

fn entry(form: &Form<'_>, n: usize) -> Markup {
    let at = format!("mash.reading[{n}]");
    let list = format!("{at}.added");
    html! {
        div.entry {
            div.row { strong { "Reading " (n) } (form.removes(&at, &format!("reading {n}"))) }
            (form.field(&format!("{at}.ph"), "What the meter shows"))
            (form.field(&format!("{at}.temperature"), "Temperature of the sample"))
            (form.field(&format!("{at}.after"), "After mashing in"))
            details.why {
                summary { "a meter without temperature compensation" }
                (form.field(&format!("{at}.set_to"), "It is set to"))
            }
            @for m in 1..=form.entries(&list) {
                @let given = format!("{list}[{m}]");
                div.entry {
                    div.row { strong { "Given before it" } (form.removes(&given, &format!("addition {m} of reading {n}"))) }
                    (form.choice(&format!("{given}.what"), "What"))
                    (form.field(&format!("{given}.volume"), "By volume"))
                    (form.field(&format!("{given}.mass"), "Or by mass"))
                }
            }
            (form.adds(&list, "Add what was given before it"))
        }
    }
}

/// The card of the mash bench.
pub fn card(r: &Reckoning, id: DocumentId, units: Units) -> Markup {
    let Some(predicted) = &r.mash_ph else {
        return html! {};
    };
    html! {
        section.card data-part="reading" {
            h3 { "The pH of the mash" }
            @match &r.reading {
                Some(advice) => (read(r, advice, units)),
                None => {
                    (table("cooled sample", &[
                        row("predicted ± standard deviation", show_measured(&predicted.ph, units)),
                        row("residual alkalinity of the liquor", show(predicted.residual_alkalinity, units)),
                    ]))
                    (when_read(r, units))
                },
            }
            @if let Some(chart) = charts::named("mash", r, units) {
                (chart.markup())
                (chart.table())
                p.save.no-print {
                    a href=(format!("/batch/{id}/chart/mash.svg")) { "save as SVG" }
                    a href=(format!("/batch/{id}/chart/mash.csv")) { "save as CSV" }
                }
            }
            (spread(r, units))
            @if let Some(advice) = &r.reading {
                @if taught(advice) { (learned(r, advice, units)) }
            }
        }
    }
}

fn read(r: &Reckoning, advice: &Advice, units: Units) -> Markup {
    let aim = r.mash_aim();
    let moves = matches!(advice.action, Action::Lower | Action::Raise);
    html! {
        (table("cooled sample, ± standard deviation", &[
            row("predicted", show_measured(&advice.predicted, units)),
            row("with what was read", show_measured(&advice.ph, units)),
            row("aim", format!("{} ± {}", show(aim.ph, units), show(aim.within, units))),
        ]))
        p { "What to do: " strong { (action_words(&advice.action)) } "." }
        @if moves { (ways(&advice.ways)) }
        @for c in advice.cautions.iter().filter(|c| **c != Caution::HotLiquor) { (caution(*c)) }
    }
}

/// The first way is what the plan uses already, where that helps.
fn ways(ways: &[Dose]) -> Markup {
    let (first, others) = ways.split_at(1.min(ways.len()));
    html! {
        @for dose in first {
            p { strong { (dose.text) } }
            ul.notes { @for note in &dose.notes { li.(note.weight.word()) { (note.text) } } }
        }
        @if !others.is_empty() {
            details.why {
                summary { "or one of " (others.len()) " others" }
                ul.notes { @for dose in others { li { (dose.text) } } }
            }
        }
    }
}

/// What to add for a reading that may come, for the sheet of the day.
pub fn if_it_reads(r: &Reckoning, units: Units) -> Markup {
    let rows: Vec<_> = lines(r, units);
    html! {
        (table_of_words("if a cooled sample reads, 15 min after mashing in", &rows))
        @if !rows.is_empty() { (caution(Caution::Acid)) }
    }
}

fn lines(r: &Reckoning, units: Units) -> Vec<Row> {
    let lines = r.if_it_reads().unwrap_or_default();
    let line = |line: &IfItReads| row(show(line.reads, units), dose_words(line, units));
    lines.iter().map(line).collect()
}

fn when_read(r: &Reckoning, units: Units) -> Markup {
    let rows = lines(r, units);
    html! {
        @if !rows.is_empty() {
            details.why {
                summary { "What to add if it reads otherwise" }
                (table_of_words("a cooled sample, 15 min after mashing in", &rows))
            }
            p.small { a href="#readings" { "Add a reading" } " beside, and this follows it." }
        }
    }
}

fn spread(r: &Reckoning, units: Units) -> Markup {
    let rows: Vec<_> = shares(r)
        .into_iter()
        .map(|part| row(part.of, show(part.share, units)))
        .collect();
    html! {
        @if !rows.is_empty() {
            details.why {
                summary { "Where the uncertainty of the prediction comes from" }
                (table("parts of the variance", &rows))
                p { "Malts whose pH in distilled water was measured bring the band down most. The balance follows A. J. deLange and Kolbach 1953; what it leaves out is a judgement." }
            }
        }
    }
}

fn learned(r: &Reckoning, advice: &Advice, units: Units) -> Markup {
    let learned = &advice.learned;
    html! {
        details.why {
            summary { "What the next batch can take over" }
            div.wide tabindex="0" role="region" aria-label="what was learned of the malts" {
                table {
                    thead { tr { th scope="col" { "malt" } th.number scope="col" { "distilled_ph" } th.number scope="col" { "buffering" } } }
                    tbody {
                        @for (malt, name) in learned.malts.iter().zip(malt_names(r)) {
                            tr {
                                th scope="row" { (name) }
                                td.number { (show_measured(&malt.ph_di, units)) }
                                td.number { (show_measured(&malt.buffer, units)) }
                            }
                        }
                    }
                }
            }
            p { "Write these beside the malts of the next batch, or on their line in the stores. Not here: the reading already counts in this one." }
        }
    }
}
