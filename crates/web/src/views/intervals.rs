//! Intervals beside figures: a place for each, which the page fills once they are drawn.

use app::OpenBatch;
use batch::certainty::Certainty;
use batch::certainty::words::of_ten;
use batch::liquor::dissolved::{Dissolved, Sure};
use batch::{AimLine, Reckoning, Stage};
use maud::{Markup, html};
use quantity::Units;

use crate::views::liquor::dissolved::card_intervals;

/// Says why the place is there, to who points at it.
const NINE_OF_TEN: &str = "nine of ten batches of this plan";

/// A page whose figures have intervals beside them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Beside {
    /// The stream, and the bench of a stage below it.
    Bench(Stage),
    /// The brew day.
    BrewDay,
}

/// The brew day in an address, where the benches have the words of their stages.
const BREW_DAY: &str = "brew-day";

impl Beside {
    const fn word(self) -> &'static str {
        match self {
            Self::Bench(stage) => stage.word(),
            Self::BrewDay => BREW_DAY,
        }
    }

    /// An unknown word is the first bench: an address is no place for errors.
    pub fn of_word(word: &str) -> Self {
        let stage = Stage::ALL.into_iter().find(|stage| stage.word() == word);
        match stage {
            Some(stage) => Self::Bench(stage),
            None if word == BREW_DAY => Self::BrewDay,
            None => Self::Bench(Stage::Water),
        }
    }
}

/// Asks for the intervals of the figures that a page shows.
pub fn asked(open: &OpenBatch, page: Beside) -> Markup {
    let from = format!("/batch/{}/intervals?bench={}", open.id, page.word());
    // A name of its own for each revision, so that each asks anew.
    let id = format!("asks-{}", open.revision);
    html! { div.hidden id=(id) hx-get=(from) hx-trigger="load" hx-swap="none" {} }
}

/// The place for the interval of a figure of the stream.
pub fn of_figure(key: &str) -> Markup {
    html! { small.sure id=(format!("sure-{key}")) {} }
}

/// The place for the interval of a figure in a table of a page.
pub fn of_row(key: &str) -> Markup {
    html! { small.sure id=(format!("sure-row-{key}")) {} }
}

/// The place for the interval of a figure of the aim.
pub fn of_aim(key: &str) -> Markup {
    html! { small.sure id=(format!("sure-aim-{key}")) {} }
}

/// The interval of a row of a page, for its place.
fn put(key: &str, interval: &str) -> Markup {
    html! { small.sure id=(format!("sure-row-{key}")) title=(NINE_OF_TEN) hx-swap-oob="true" { (interval) } }
}

/// Those of the card of the water bench, for their places.
pub fn of_dissolved(r: &Reckoning, found: &Dissolved, sure: &Sure, units: Units) -> Markup {
    html! { @for (key, interval) in card_intervals(r, found, sure, units) { (put(key, &interval)) } }
}

/// An interval that is known already; nothing where there is none.
pub fn known(interval: Option<&str>) -> Markup {
    html! { @if let Some(interval) = interval { small.sure title=(NINE_OF_TEN) { (interval) } } }
}

/// The figures that have a place in a table of a page.
const fn rows(page: Beside) -> &'static [&'static str] {
    let stage = match page {
        Beside::Bench(stage) => stage,
        Beside::BrewDay => {
            return &[
                "original_gravity",
                "into_fermenter",
                "bitterness",
                "colour",
                "green_alcohol",
                "final_gravity",
            ];
        }
    };
    match stage {
        Stage::Water => &["chlorine_left"],
        Stage::Mash => &[
            "kettle",
            "kettle_hot",
            "kettle_gravity",
            "lauter_efficiency",
            "brewhouse_efficiency",
        ],
        Stage::Boil => &[
            "steam",
            "post_boil_hot",
            "into_fermenter",
            "original_gravity",
            "wort_ph",
            "colour",
            "bitterness",
            "dms",
            "ferulic_acid",
        ],
        Stage::Ferment => &[
            "cells",
            "oxygen",
            "ninety",
            "ends",
            "final_gravity",
            "attenuation",
            "real_attenuation",
            "green_alcohol",
        ],
        Stage::Package => &["packed", "keg_pressure"],
        Stage::Glass => &[
            "alcohol",
            "bitterness",
            "colour",
            "carbon_dioxide",
            "glass_gravity",
            "beer_ph",
        ],
    }
}

/// All of them, for their places.
pub fn intervals(found: &Certainty, r: &Reckoning, page: Beside, units: Units) -> Markup {
    let figures = r.figures();
    html! {
        @if page != Beside::BrewDay {
            @for figure in figures.iter().filter(|f| f.shown) {
                small.sure id=(format!("sure-{}", figure.key)) title=(NINE_OF_TEN) hx-swap-oob="true" { (text(found, figure.key, units)) }
            }
        }
        @for key in rows(page).iter().filter(|key| found.figure(key).is_some()) {
            (put(key, &text(found, key, units)))
        }
        @if page == Beside::Bench(Stage::Glass) {
            @for line in &r.aim {
                small.sure id=(format!("sure-aim-{}", line.key)) title=(NINE_OF_TEN) hx-swap-oob="true" { (against(found, line, units)) }
            }
        }
    }
}

/// An interval, printed; empty for a figure that nothing moves.
pub fn text(found: &Certainty, key: &str, units: Units) -> String {
    found
        .figure(key)
        .map_or_else(String::new, |f| f.interval(units))
}

/// An interval, and how likely it is that the aim is met.
fn against(found: &Certainty, line: &AimLine, units: Units) -> String {
    let interval = text(found, line.key, units);
    match found.chance_of(line) {
        Some(chance) if !interval.is_empty() => {
            format!("{interval}; within the aim {}", of_ten(chance))
        }
        _ => interval,
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use batch::certainty::{self, certainty};
    use batch::liquor::dissolved::{Question, dissolved, sure};
    use batch::{Document, Reckoning, Stage};
    use quantity::Units;

    use super::{Beside, intervals, of_dissolved};
    use crate::views::bench;
    use crate::views::liquor::dissolved::KEYS;

    /// The names of the places in tables of a bench.
    fn places(html: &str) -> BTreeSet<&str> {
        let found = html.split("id=\"").skip(1);
        let names = found.filter_map(|rest| rest.split('"').next());
        names.filter(|name| name.starts_with("sure-row-")).collect()
    }

    #[test]
    fn each_interval_has_its_place_in_a_bench_and_each_place_its_interval() {
        let id = "0190a5f2-0000-7000-8000-000000000000".parse().unwrap();
        let plans = [
            include_str!("../../../../examples/lantern-pale.toml"),
            include_str!("../../../../examples/towpath-amber.toml"),
        ];
        for plan in plans {
            let (document, assumed) = Document::read(plan).unwrap();
            let r = Reckoning::of(document, assumed).unwrap();
            let found = certainty(plan, &certainty::Question::GLANCE, &|_, _| true).unwrap();
            for stage in Stage::ALL {
                let page = bench::results(stage, &r, id, Units::Metric).into_string();
                let put = intervals(&found, &r, Beside::Bench(stage), Units::Metric).into_string();
                assert!(places(&put).is_subset(&places(&page)), "{stage:?}");
                // What has none is moved by nothing that is unsure in the plan.
                let moved = |place: &&&str| found.figure(&place["sure-row-".len()..]).is_some();
                let wanted: BTreeSet<&str> = places(&page).iter().filter(moved).copied().collect();
                assert_eq!(places(&put), wanted, "{stage:?}");
                assert!(!places(&page).is_empty(), "{stage:?}");
            }
        }
    }

    #[test]
    fn so_have_the_figures_of_the_waters_chemistry() {
        let plan = include_str!("../../../../examples/lantern-pale.toml");
        let (document, assumed) = Document::read(plan).unwrap();
        let r = Reckoning::of(document, assumed).unwrap();
        let id = "0190a5f2-0000-7000-8000-000000000000".parse().unwrap();
        let page = bench::results(Stage::Water, &r, id, Units::Metric).into_string();
        let asked = dissolved(&r, &Question::default()).unwrap();
        let sure = sure(plan, &asked).unwrap();
        let put = of_dissolved(&r, &asked, &sure, Units::Metric).into_string();
        let keys = KEYS.map(|key| format!("sure-row-{key}"));
        let keys: BTreeSet<&str> = keys.iter().map(String::as_str).collect();
        assert_eq!(places(&put), keys);
        assert!(keys.is_subset(&places(&page)));
    }
}
