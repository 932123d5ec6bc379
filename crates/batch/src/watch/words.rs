//! A watched batch in the words that every face shares.

use ferment::watch::{Course, Verdict};
use quantity::{Duration, Gravity, Units, show, show_ends};

use super::span::date_words;
use super::{FitQuality, Pitching, SecondOpinion, Watched};

/// Which model it is, and what it was calibrated on.
pub const MODEL: &str = "A curve of growing yeast and saturating uptake runs on the clock of the measured temperature, and after the last reading on that of the plan. It is fitted to the readings together with what the plan leads one to expect. Each instrument may be off and drift; single spikes count for little; courses wander some hours about any curve. How wide things spread was set on 24 real pilot batches, and tried on simulated courses.";

/// Where it holds.
pub const HOLDS: &str = "It holds for one yeast in one wort of 1 to 40 °P. In the first day it rests on what the yeast usually does; from about two thirds of the fall on, the readings say where it ends. It does not know a second yeast, fruit or sugar added late, or beer drawn off.";

/// What the second opinion is.
pub const SECOND: &str = "A logistic curve of three numbers through the same readings: it knows neither yeast nor temperature nor instrument, and cannot see a plan. Where the two disagree, trust neither and read again.";

/// Points of specific gravity, near enough for words: four a degree Plato.
#[must_use]
pub fn points_words(plato: f64) -> String {
    let points = 4.0 * plato;
    // A fall of nought has no sign.
    let points = if points.abs() < 0.05 { 0.0 } else { points };
    format!("{points:.1} points")
}

/// A number of degrees Plato with its standard deviation, as points: "1.9 ± 0.2 points".
#[must_use]
pub(super) fn points_and_sd((plato, sd): (f64, f64)) -> String {
    let number = points_words(plato);
    let number = number.trim_end_matches(" points");
    format!("{number} ± {}", points_words(sd))
}

/// How far an instrument is off: "reads 1.2 ± 0.8 points high".
#[must_use]
pub fn off_words((bias, sd): (f64, f64)) -> String {
    let side = if bias < 0.0 { "low" } else { "high" };
    format!(
        "reads {:.1} ± {:.1} points {side}",
        4.0 * bias.abs(),
        4.0 * sd
    )
}

/// How far the curve is off the readings; nothing without one.
#[must_use]
pub fn fit_words(fit: &FitQuality) -> Option<String> {
    let (median, rms) = (fit.median_plato?, fit.rms_plato?);
    Some(format!(
        "half of {} points within {}; {} in the square mean",
        fit.points,
        points_words(median),
        points_words(rms)
    ))
}

/// Where it stands and where it is going.
pub(super) fn verdict(watched: &Watched, units: Units) -> Vec<String> {
    let c = &watched.course;
    if watched.fit.points == 0 {
        let mut said = unread(watched, units);
        said.extend(pressed(watched, units));
        return said;
    }
    let mut said = vec![stands(c, units)];
    if c.finish.verdict != Verdict::Finished {
        said.push(ends(c, units));
        said.push(when(c, watched.pitching, units));
    }
    if let Some(second) = &watched.second {
        said.extend(doubt(second, units));
    }
    said.extend(pressed(watched, units));
    said
}

/// What the pressure of the fermenter says; nothing where none was read.
fn pressed(watched: &Watched, units: Units) -> Vec<String> {
    let pressure = watched.pressure.as_ref();
    pressure.map_or_else(Vec::new, |p| p.words(units))
}

fn unread(watched: &Watched, units: Units) -> Vec<String> {
    let c = &watched.course;
    vec![
        "No gravity was read yet: this is what the plan leads one to expect.".to_owned(),
        ends(c, units),
        when(c, watched.pitching, units),
    ]
}

/// In a few words, to stand above the sentences.
pub(super) fn headline(watched: &Watched, units: Units) -> String {
    let c = &watched.course;
    if watched.fit.points == 0 {
        "not read yet".to_owned()
    } else if c.finish.verdict == Verdict::TooFewReadings {
        format!("{} of the fall is done", show(c.progress.middle, units))
    } else {
        c.finish.verdict.words().to_owned()
    }
}

fn stands(c: &Course, units: Units) -> String {
    let falls = c.fall_plato_per_day.middle;
    let moves = matches!(
        c.finish.verdict,
        Verdict::Fermenting | Verdict::TooFewReadings
    );
    let pace = if moves && falls > 0.05 {
        format!(" It falls about {} a day.", points_words(falls))
    } else {
        String::new()
    };
    let (after, here) = (show(c.now, units), show(c.gravity.middle, units));
    if c.finish.verdict == Verdict::TooFewReadings {
        return format!(
            "{after} after pitching it stands at {here}.{pace} There are {}.",
            c.finish.verdict.words()
        );
    }
    format!(
        "{after} after pitching it is {}, at {here}.{pace}",
        c.finish.verdict.words()
    )
}

fn ends(c: &Course, units: Units) -> String {
    let gravity = |g: Gravity| show(g, units);
    let [low, high] = show_ends(c.end.low, c.end.high, units);
    format!(
        "It will end at {}, nine times in ten between {low} and {high}; {} was expected.",
        gravity(c.end.middle),
        gravity(c.expected_end.value)
    )
}

fn when(c: &Course, pitching: Pitching, units: Units) -> String {
    let t = &c.finish_time;
    let told = |at: Duration| {
        let after = format!("{} after pitching", show(at, units));
        if pitching.dated {
            let ms = pitching.at_ms.saturating_add((at.h() * 3_600_000.0) as i64);
            format!("{after} ({})", date_words(ms))
        } else {
            after
        }
    };
    if let Some(middle) = t.middle.filter(|at| at.h() <= c.now.h()) {
        return format!(
            "By the curve it came within a point of its end {}; it is finished once the readings stand still.",
            told(middle)
        );
    }
    match (t.early, t.middle, t.late) {
        (Some(early), Some(middle), Some(late)) => {
            let [early, late] = show_ends(early, late, units);
            format!(
                "It will have finished {}, nine times in ten between {early} and {late}.",
                told(middle)
            )
        }
        (Some(early), Some(middle), None) => format!(
            "It will have finished {}, at the earliest after {}; it may take longer than the forecast reaches.",
            told(middle),
            show(early, units)
        ),
        _ => "It will not have finished within the forecast.".to_owned(),
    }
}

fn doubt(second: &SecondOpinion, units: Units) -> Option<String> {
    (!second.agrees).then(|| {
        format!(
            "A plain curve through the readings would end at {}: the two disagree.",
            show(second.fit.end.value, units)
        )
    })
}
