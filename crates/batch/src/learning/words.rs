//! What was learned, in the words that every face shares.

use quantity::Units;

use super::house::{Known, Moved};
use super::keys::from_batches;

/// How it is learned, and what it does not know.
pub const HOW: &str = "Every batch lies a little off the house, and every reading a little off the batch. What the readings of a batch say is taken by itself, without what its own plan said; then all batches are put together with what is usual. How far batches lie apart is learned too, so that one batch alone moves little where they usually differ. Batches count that share the kit (for the yeast: the yeast). A batch that is left out stays in the list.";

/// How a water through the year is learned, and what it does not know.
pub const HOW_SEASONS: &str = "Each figure of a water has a middle, one wave a year and a scatter from year to year; all three are learned from the dated analyses of the library, the figures one by one. A day far from any sample is less sure. What is shown is the water as it is drawn on that day. It does not know a change of source or of treatment: leave such analyses to age with a half-life. Chlorine and what makes a water unfit are not learned: they stay as the newest analysis has them.";

/// "Learned from 7 batches: 3.42 ± 0.05 kg/h; the next batch 3.4 ± 0.2 kg/h".
#[must_use]
pub fn known_words(known: &Known, units: Units) -> String {
    if known.batches() == 0 {
        return "Every batch that speaks of it is left out".to_owned();
    }
    let from = from_batches(known.batches());
    format!(
        "L{}: {}; the next batch {}",
        from.trim_start_matches('l'),
        known.constant.show(known.house, units),
        known.constant.show(known.next, units)
    )
}

/// "before any batch 3.0 ± 0.5 kg/h".
#[must_use]
pub fn prior_words(known: &Known, units: Units) -> String {
    format!(
        "before any batch {}",
        known.constant.show(known.prior, units)
    )
}

/// What a batch says and does.
#[must_use]
pub fn moved_words(known: &Known, moved: &Moved, units: Units) -> String {
    let show = |x: f64| known.constant.show((x, known.house.1), units);
    let says = known.constant.show(moved.says, units);
    if moved.weight <= 0.0 {
        return format!("says {says}; left out, with it {}", show(moved.otherwise));
    }
    let counts = if moved.weight < 0.995 {
        format!("; counts for {:.0} %", 100.0 * moved.weight)
    } else {
        String::new()
    };
    format!("says {says}; without it {}{counts}", show(moved.otherwise))
}

/// That a batch lies far from the others; none where it does not.
#[must_use]
pub fn odd_words(moved: &Moved) -> Option<String> {
    moved.is_odd().then(|| {
        format!(
            "it lies {:.1} standard deviations from what the others make one expect: look at its readings, or leave it out",
            moved.odd.abs()
        )
    })
}
