//! Labels inside a panel: beside their line or spot, clear of everything else.

use super::data::{Line, Panel};
use super::panel::line_parts;
use crate::mark::{Area, Hold, label};
use crate::scale::Domain;
use crate::text::{fit, width};
use maud::{Markup, html};

/// Height of a label's letters above and below its baseline.
const ASCENT: f64 = 9.0;
const DESCENT: f64 = 3.0;
/// Distance between the samples of a line, and between the places that are tried.
const SAMPLE: f64 = 2.5;
const TRIES: usize = 4;

/// A label that found its place.
pub(super) struct Beside {
    /// The whole text, as the key would have it.
    pub(super) whole: String,
    text: String,
    class: String,
    /// Left end and baseline.
    at: (f64, f64),
}

/// What asks for a label.
struct Wish<'a> {
    text: &'a str,
    class: String,
    /// Where it may stand beside.
    places: Vec<(f64, f64)>,
    /// Room kept between its places and the label.
    apart: f64,
}

/// Finds places for the labels of a panel; a label without room is left to the key.
pub(super) fn place(panel: &Panel, x: &Domain, y: &Domain, plot: Area) -> Vec<Beside> {
    let lines: Vec<Vec<(f64, f64)>> = panel
        .lines
        .iter()
        .map(|line| sampled(line, x, y, plot))
        .collect();
    let levels: Vec<Vec<(f64, f64)>> = panel
        .references
        .iter()
        .map(|r| y.inside(r.y).map_or_else(Vec::new, |v| level(plot, v)))
        .collect();
    let spots: Vec<(f64, f64)> = panel
        .spots
        .iter()
        .filter_map(|s| Some(plot.place((x.inside(s.x)?, y.inside(s.y)?))))
        .collect();
    let read = panel.readings.iter().flat_map(|r| &r.points);
    let read = read.filter_map(|p| Some(plot.place((x.inside(p.x)?, y.inside(p.y)?))));
    let obstacles: Vec<(f64, f64)> = lines
        .iter()
        .chain(&levels)
        .flatten()
        .copied()
        .chain(read)
        .chain(spots.iter().flat_map(|&s| around(s)))
        .collect();
    let mut placed: Vec<(Area, Beside)> = Vec::new();
    for wish in wishes(panel, x, y, plot, lines.clone(), levels.clone()) {
        placed.extend(settle(&wish, &obstacles, &placed, plot));
    }
    placed.into_iter().map(|p| p.1).collect()
}

/// The labels at their places, moved down by so much.
pub(super) fn draw(labels: &[Beside], down: f64) -> Markup {
    html! {
        @for b in labels {
            (label(&format!("{} chart-halo", b.class), b.at.0, b.at.1 + down, Hold::Start, &b.text))
        }
    }
}

/// Spots first: they have the fewest places to choose from.
fn wishes<'a>(
    panel: &'a Panel,
    x: &Domain,
    y: &Domain,
    plot: Area,
    lines: Vec<Vec<(f64, f64)>>,
    levels: Vec<Vec<(f64, f64)>>,
) -> Vec<Wish<'a>> {
    let mut all = Vec::new();
    for spot in &panel.spots {
        let at = x.inside(spot.x).zip(y.inside(spot.y));
        all.push(Wish {
            text: &spot.label,
            class: "chart-strong".to_owned(),
            places: at.map(|at| plot.place(at)).into_iter().collect(),
            apart: 8.0,
        });
    }
    if panel.labels_inside {
        for (line, places) in panel.lines.iter().zip(lines) {
            all.push(Wish {
                text: &line.label,
                class: line.tone.text(),
                places,
                apart: 4.0,
            });
        }
        for (reference, places) in panel.references.iter().zip(levels) {
            all.push(Wish {
                text: &reference.label,
                class: "chart-plain".to_owned(),
                places,
                apart: 4.0,
            });
        }
        for stretch in &panel.stretches {
            let top = y.inside(stretch.low.max(stretch.high));
            all.push(Wish {
                text: &stretch.label,
                class: "chart-text-copper".to_owned(),
                places: top.map_or_else(Vec::new, |v| level(plot, v)),
                apart: 3.0,
            });
        }
    }
    all.retain(|wish| !wish.text.is_empty() && !wish.places.is_empty());
    all
}

/// A ring of obstacles, as wide as a mark.
fn around((x, y): (f64, f64)) -> [(f64, f64); 5] {
    [
        (x, y),
        (x - 4.0, y),
        (x + 4.0, y),
        (x, y - 4.0),
        (x, y + 4.0),
    ]
}

fn level(plot: Area, v: f64) -> Vec<(f64, f64)> {
    between(plot.place((0.0, v)), plot.place((1.0, v)))
}

/// Places along a line as close as letters are wide.
fn sampled(line: &Line, x: &Domain, y: &Domain, plot: Area) -> Vec<(f64, f64)> {
    let mut all = Vec::new();
    for part in line_parts(line, x, y) {
        let places: Vec<_> = part.into_iter().map(|p| plot.place(p)).collect();
        if let [one] = places.as_slice() {
            all.push(*one);
        }
        for pair in places.windows(2) {
            if let [a, b] = pair {
                all.extend(between(*a, *b));
            }
        }
    }
    // Points that lie closer than an eye can see would only cost time.
    all.dedup_by(|a, b| (a.0 - b.0).abs() < 1.0 && (a.1 - b.1).abs() < 1.0);
    all
}

fn between(a: (f64, f64), b: (f64, f64)) -> Vec<(f64, f64)> {
    let long = (b.0 - a.0).hypot(b.1 - a.1);
    let count = (long / SAMPLE).ceil().clamp(1.0, 400.0) as usize;
    (0..=count)
        .map(|i| i as f64 / count as f64)
        .map(|t| (a.0 + t * (b.0 - a.0), a.1 + t * (b.1 - a.1)))
        .collect()
}

/// The freest of the places beside a wish; none if all touch something.
fn settle(
    wish: &Wish,
    obstacles: &[(f64, f64)],
    placed: &[(Area, Beside)],
    plot: Area,
) -> Option<(Area, Beside)> {
    let text = fit(wish.text, plot.width() * 0.7);
    let wide = width(&text) * 1.02;
    let boxes = wish
        .places
        .iter()
        .step_by(if wish.places.len() > 8 { TRIES } else { 1 })
        .flat_map(|&at| boxes(at, wide, wish.apart));
    let free = |area: &Area| {
        let within = area.left >= plot.left + 2.0
            && area.right <= plot.right
            && area.top >= plot.top
            && area.bottom <= plot.bottom - 1.0;
        within
            && obstacles.iter().all(|&p| distance(*area, p) > 1.5)
            && placed.iter().all(|(other, _)| apart(*area, *other) > 4.0)
    };
    let freedom = |area: &Area| {
        let near = obstacles
            .iter()
            .map(|&p| distance(*area, p))
            .filter(|&d| d > wish.apart + 1.5);
        near.fold(24.0, f64::min)
    };
    let best = boxes
        .filter(free)
        .map(|area| (freedom(&area), area))
        .reduce(|best, next| if next.0 > best.0 + 0.5 { next } else { best })?;
    let area = best.1;
    Some((
        area,
        Beside {
            whole: wish.text.to_owned(),
            text,
            class: wish.class.clone(),
            at: (area.left, area.bottom - DESCENT),
        },
    ))
}

/// The boxes of a label around a place.
fn boxes((x, y): (f64, f64), wide: f64, apart: f64) -> [Area; 8] {
    let high = ASCENT + DESCENT;
    let at = |left: f64, top: f64| Area {
        left,
        top,
        right: left + wide,
        bottom: top + high,
    };
    let middle = y - high / 2.0;
    [
        at(x + apart, y - apart - high),
        at(x - wide / 2.0, y - apart - high),
        at(x + apart, middle),
        at(x - apart - wide, middle),
        at(x - wide / 2.0, y + apart),
        at(x + apart, y + apart),
        at(x - apart - wide, y - apart - high),
        at(x - apart - wide, y + apart),
    ]
}

/// How far a place lies from a box; nought inside.
fn distance(area: Area, (x, y): (f64, f64)) -> f64 {
    let dx = (area.left - x).max(x - area.right).max(0.0);
    let dy = (area.top - y).max(y - area.bottom).max(0.0);
    dx.hypot(dy)
}

/// How far two boxes lie apart.
fn apart(a: Area, b: Area) -> f64 {
    let dx = (a.left - b.right).max(b.left - a.right).max(0.0);
    let dy = (a.top - b.bottom).max(b.top - a.bottom).max(0.0);
    dx.hypot(dy)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scale::Axis;
    use crate::tone::{Shape, Stroke, Tone};

    const PLOT: Area = Area {
        left: 40.0,
        top: 10.0,
        right: 300.0,
        bottom: 180.0,
    };

    fn placed(panel: &Panel) -> Vec<Beside> {
        let x = Domain::within(&Axis::new("x", ""), [0.0, 10.0], 5);
        let y = Domain::within(&Axis::new("y", ""), [0.0, 10.0], 5);
        place(panel, &x, &y, PLOT)
    }

    fn area(b: &Beside) -> Area {
        Area {
            left: b.at.0,
            top: b.at.1 - ASCENT,
            right: b.at.0 + width(&b.text),
            bottom: b.at.1 + DESCENT,
        }
    }

    #[test]
    fn labels_keep_clear_of_lines_and_of_each_other() {
        let slopes = [0.1, 0.5, 1.0];
        let panel = slopes.iter().fold(
            Panel::new(Axis::new("y", "")).labelled_inside(),
            |panel, s| {
                let points = vec![(0.0, 0.0), (10.0, 10.0 * s)];
                panel.line(Line::new(
                    format!("slope {s}"),
                    points,
                    Tone::Ink,
                    Stroke::Solid,
                ))
            },
        );
        let panel = panel
            .stretch(6.0, 7.0, "aim")
            .spot(5.0, 2.5, "now", Shape::Circle);
        let labels = placed(&panel);
        assert_eq!(labels.len(), 5);
        for (i, a) in labels.iter().enumerate() {
            for b in labels.iter().skip(i + 1) {
                assert!(apart(area(a), area(b)) > 0.0, "{} on {}", a.text, b.text);
            }
            for s in slopes {
                for point in between(PLOT.place((0.0, 0.0)), PLOT.place((1.0, s))) {
                    assert!(distance(area(a), point) > 0.0, "{} on {s}", a.text);
                }
            }
        }
    }

    #[test]
    fn a_label_without_room_is_left_to_the_key() {
        let comb = (0..400).map(|i| (f64::from(i) / 40.0, f64::from(i % 2) * 10.0));
        let panel = Panel::new(Axis::new("y", ""))
            .labelled_inside()
            .line(Line::new("comb", comb.collect(), Tone::Ink, Stroke::Solid));
        assert!(placed(&panel).is_empty());
    }
}
