//! The starter and the count that the document keeps, each with a way to take it out.

use batch::pitch::{step_uses, step_words, whole_words};
use ferment::Squares;
use maud::{Markup, html};
use quantity::{show_interval, show_measured};

use super::Desk;
use crate::views::bench::common::caution;

pub fn card(desk: &Desk<'_>) -> Markup {
    let section = &desk.reckoning.document.yeast;
    let starter = desk.reckoning.fermentation.pitch.starter.as_ref();
    html! {
        @if starter.is_some() || section.count.is_some() {
            section.card data-part="kept" {
                h3 { "Kept so far" }
                @if let Some(starter) = starter {
                    ol {
                        @for step in &starter.steps {
                            li { (step_words(step, desk.units)) ". " span.small { (step_uses(step, desk.units)) "." } }
                        }
                    }
                    @if let Ok(found) = desk.found { @if let Some(whole) = &found.whole { p { (whole_words(whole, desk.units)) "." } } }
                    (removes(desk, "starter", "Take the starter out"))
                    @for c in &starter.cautions { (caution(*c)) }
                }
                @if let Some(count) = &section.count {
                    p {
                        (count.counted.cells) " cells over " (over(count.counted.squares)) ", diluted " (quantity::rounded(count.counted.dilution)) " times: "
                        strong { (show_measured(&count.found.living, desk.units)) } " alive (95 %: "
                        (show_interval(count.found.living_between.0, count.found.living_between.1, desk.units)) ")."
                    }
                    @if let Some(v) = &count.found.viability {
                        p {
                            "Viability " (quantity::show(v.share, desk.units)) ", 95 % "
                            (show_interval(v.wilson.0, v.wilson.1, desk.units)) " by Wilson, "
                            (show_interval(v.exact.0, v.exact.1, desk.units)) " strictly, by Clopper and Pearson."
                        }
                    }
                    ul.notes { @for note in &count.found.notes { li.(note.weight.word()) { (note.text) } } }
                    (removes(desk, "count", "Take the count out"))
                }
            }
        }
    }
}

fn over(squares: Squares) -> String {
    match squares {
        Squares::Large(n) => format!("{n} large squares"),
        Squares::Groups(n) => format!("{n} groups"),
    }
}

fn removes(desk: &Desk<'_>, what: &str, words: &str) -> Markup {
    html! {
        form method="post" action=(format!("{}/forget", desk.home())) {
            (desk.revision())
            input type="hidden" name="what" value=(what);
            p { button type="submit" { (words) } }
        }
    }
}
