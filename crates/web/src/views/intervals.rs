//! Intervals beside figures: a place for each, which the page fills once they are drawn.

use app::OpenBatch;
use batch::certainty::Certainty;
use batch::certainty::words::of_ten;
use batch::{AimLine, Reckoning, Stage};
use maud::{Markup, html};
use quantity::Units;

/// Says why the place is there, to who points at it.
const NINE_OF_TEN: &str = "nine of ten batches of this plan";

/// Asks for the intervals of the figures that a page shows.
pub fn asked(open: &OpenBatch, bench: Stage) -> Markup {
    let from = format!("/batch/{}/intervals?bench={}", open.id, bench.word());
    // A name of its own for each revision, so that each asks anew.
    let id = format!("asks-{}", open.revision);
    html! { div.hidden id=(id) hx-get=(from) hx-trigger="load" hx-swap="none" {} }
}

/// The place for the interval of a figure of the stream.
pub fn of_figure(key: &str) -> Markup {
    html! { small.sure id=(format!("sure-{key}")) {} }
}

/// The place for the interval of a figure of the aim.
pub fn of_aim(key: &str) -> Markup {
    html! { small.sure id=(format!("sure-aim-{key}")) {} }
}

/// All of them, for their places.
pub fn intervals(found: &Certainty, r: &Reckoning, bench: Stage, units: Units) -> Markup {
    let figures = r.figures();
    html! {
        @for figure in figures.iter().filter(|f| f.shown) {
            small.sure id=(format!("sure-{}", figure.key)) title=(NINE_OF_TEN) hx-swap-oob="true" { (text(found, figure.key, units)) }
        }
        @if bench == Stage::Glass {
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
