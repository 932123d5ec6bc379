//! What steering says, in words, for every face.

use ferment::steer::{Block, Chances, Figure, Figures, Goal, Limit, Steered, Wish};
use quantity::{Duration, Gravity, Told, Units, show};

/// The name of a figure.
#[must_use]
pub const fn figure_name(figure: Figure) -> &'static str {
    match figure {
        Figure::Days => "days",
        Figure::EthylAcetate => "esters (ethyl acetate)",
        Figure::IsoamylAcetate => "banana (isoamyl acetate)",
        Figure::IsoamylAlcohol => "fusel alcohols (isoamyl alcohol)",
        Figure::Diacetyl => "butter (diacetyl, there and to come)",
        Figure::Vinylguaiacol => "clove (4-vinylguaiacol)",
        Figure::Acetaldehyde => "green apple (acetaldehyde)",
        Figure::LeftToFerment => "left to ferment",
        Figure::Gravity => "gravity at the end",
    }
}

/// A figure with its unit.
#[must_use]
pub fn figure_words(figure: Figure, x: f64, units: Units) -> String {
    match figure {
        Figure::Days => show(Duration::from_h(24.0 * x), units),
        Figure::LeftToFerment => format!("{x:.1} %"),
        Figure::Gravity => show(Gravity::from_plato(x), units),
        _ if x < 10.0 => format!("{x:.2} mg/L"),
        _ => format!("{x:.1} mg/L"),
    }
}

/// Days to a tenth.
pub(super) fn days(of: &Steered) -> String {
    format!("{:.1}", of.figures.days)
}

pub(super) fn goal_words((figure, goal): (Figure, Goal)) -> String {
    let way = match goal {
        Goal::Least => "least",
        Goal::Most => "most",
    };
    let name = figure_name(figure);
    let short = name.split(" (").next().unwrap_or(name);
    format!("{way} {short}")
}

/// The words of a form for what is wished of a figure.
#[must_use]
pub fn want_label(want: &str) -> &'static str {
    match want {
        "at most" => "at most",
        "at least" => "at least",
        "least" => "lowest",
        "most" => "highest",
        _ => "no matter",
    }
}

/// Where a figure lies in eight of ten batches that may come; none where all have the same.
#[must_use]
pub fn between_words(figure: Figure, of: &Chances, units: Units) -> Option<String> {
    let [low, high] = [&of.low, &of.high].map(|f| figure_words(figure, f.of(figure), units));
    (low != high).then(|| format!("{low} to {high} in eight of ten batches"))
}

/// A limit.
#[must_use]
pub fn limit_words(limit: &Limit, units: Units) -> String {
    let side = if limit.most { "at most" } else { "at least" };
    format!(
        "{} {side} {}",
        figure_name(limit.figure),
        figure_words(limit.figure, limit.value, units)
    )
}

/// A wish, sentence by sentence.
#[must_use]
pub fn wish_words(wish: &Wish, units: Units) -> Vec<String> {
    let aims = wish.aims.iter().map(|aim| {
        let way = if aim.goal == Goal::Most {
            "as much"
        } else {
            "as little"
        };
        let weight = if (aim.weight - 1.0).abs() < 1e-9 {
            String::new()
        } else {
            format!(", weighed {} times", quantity::rounded(aim.weight))
        };
        match aim.figure {
            Figure::Days => format!("as few days as can be{weight}"),
            figure => format!("{} as {way} as can be{weight}", figure_name(figure)),
        }
    });
    let mut all: Vec<String> = aims.collect();
    if all.is_empty() {
        all.push("as few days as can be".to_owned());
    }
    all.extend(wish.limits.iter().map(|limit| limit_words(limit, units)));
    all.push(format!(
        "ready after {} at the latest",
        show(wish.end.1, units)
    ));
    all.push(format!(
        "between {} and {}",
        show(wish.range.coldest, units),
        show(wish.range.warmest, units)
    ));
    all
}

/// A wish in both systems of units.
pub(super) fn told_wish(wish: &Wish) -> Vec<Told> {
    let [metric, us] = [Units::Metric, Units::Us].map(|units| wish_words(wish, units));
    let pairs = metric.into_iter().zip(us);
    pairs
        .map(|(metric, us)| {
            Told::of(|units| match units {
                Units::Metric => metric.clone(),
                Units::Us => us.clone(),
            })
        })
        .collect()
}

/// A difference of temperature \[K\].
pub(super) fn step_words(kelvin: f64, units: Units) -> String {
    match units {
        Units::Metric => format!("{} K", quantity::rounded(kelvin)),
        Units::Us => format!("{} °F", quantity::rounded(1.8 * kelvin)),
    }
}

/// What stands against a wish.
#[must_use]
pub fn block_words(block: Block, limits: &[Limit], units: Units) -> String {
    match block {
        Block::Limit(i) => match limits.get(i) {
            Some(limit) => format!(
                "without \"{}\" all the rest can be kept",
                limit_words(limit, units)
            ),
            None => String::new(),
        },
        Block::Days => "with more days all of it can be kept".to_owned(),
        Block::Coldest => format!(
            "{} colder than the coldest, all of it can be kept",
            step_words(5.0, units)
        ),
        Block::Warmest => format!(
            "{} warmer than the warmest, all of it can be kept",
            step_words(5.0, units)
        ),
        Block::Steepest => "with faster warming and cooling all of it can be kept".to_owned(),
        Block::Pitch => "with twice or half the yeast all of it can be kept".to_owned(),
    }
}

/// A course as a brewer reads it.
#[must_use]
pub fn course_words(of: &Steered, units: Units) -> String {
    let points = of.course.iter().map(|p| {
        let day = p.at.h() / 24.0;
        format!("day {day:.1}: {}", show(p.temperature, units))
    });
    points.collect::<Vec<_>>().join(", ")
}

/// The pitch beside the planned.
#[must_use]
pub fn pitch_words(of: &Steered, units: Units) -> String {
    if (of.pitch - 1.0).abs() < 0.01 {
        return format!("as planned, {}", show(of.pitch_rate, units));
    }
    format!(
        "{:.2} times the planned, {}",
        of.pitch,
        show(of.pitch_rate, units)
    )
}

/// How a course does in the batches that may come.
#[must_use]
pub fn chance_words(of: &Chances, units: Units) -> String {
    let ready = match of.surely_ready {
        Some(at) => format!("nine in ten are ready after {}", show(at, units)),
        None => "one in ten is not ready a fortnight later".to_owned(),
    };
    format!(
        "keeps the wish in {:.0} of 100 batches; {ready}",
        100.0 * of.keeps.ratio()
    )
}

/// The difference that a change makes to a figure, with its sign.
#[must_use]
pub fn difference(figure: Figure, after: &Figures, before: &Figures) -> String {
    let by = after.of(figure) - before.of(figure);
    if by.abs() < 0.005 {
        return "the same".to_owned();
    }
    let sign = if by < 0.0 { "−" } else { "+" };
    match figure {
        Figure::Days => format!("{sign}{:.1} d", by.abs()),
        Figure::LeftToFerment => format!("{sign}{:.1} %", by.abs()),
        Figure::Gravity => format!("{sign}{:.2} °P", by.abs()),
        _ => format!("{sign}{:.2} mg/L", by.abs()),
    }
}
