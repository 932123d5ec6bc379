//! Labels inside a panel: beside their line or spot, clear of everything else.

use super::data::{Line, Panel};
use super::panel::line_parts;
use crate::mark::{Area, Hold, label};
use crate::scale::Domain;
use crate::text::{fit, width};
use maud::{Markup, html};
use std::collections::HashSet;

/// Height of a label's letters above and below its baseline.
const ASCENT: f64 = 9.0;
const DESCENT: f64 = 3.0;
/// Distance between the samples of a line.
const SAMPLE: f64 = 2.5;
/// The most places that are tried for one label.
const TRIES: usize = 80;
/// The distance from which something is clear of a label, and more adds nothing.
const CLEAR: f64 = 30.0;

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
    wide: f64,
    /// Where it may stand beside.
    places: Vec<(f64, f64)>,
    /// Room kept between its places and the label; more is tried where the first is too little.
    apart: &'static [f64],
    /// Its number among the owners of obstacles.
    owner: usize,
}

/// A place that a label must not cover, and whose it is.
struct Obstacle {
    at: (f64, f64),
    owner: usize,
}

/// Finds places for the labels of a panel; a label without room is left to the key.
pub(super) fn place(panel: &Panel, x: &Domain, y: &Domain, plot: Area) -> Vec<Beside> {
    let lines = panel.lines.iter().map(|line| sampled(line, x, y, plot));
    let levels = panel
        .references
        .iter()
        .map(|r| y.inside(r.y).map_or_else(Vec::new, |v| level(plot, v)));
    let owners: Vec<Vec<(f64, f64)>> = lines.chain(levels).collect();
    let read = panel.readings.iter().flat_map(|r| &r.points);
    let read = read.map(|p| (p.x, p.y));
    let spots = panel.spots.iter().map(|s| (s.x, s.y));
    let marks = read
        .chain(spots)
        .filter_map(|(px, py)| Some(plot.place((x.inside(px)?, y.inside(py)?))));
    let own = |(owner, places): (usize, &Vec<(f64, f64)>)| {
        let all = places.iter().map(|&at| Obstacle { at, owner });
        all.collect::<Vec<_>>()
    };
    let nobody = owners.len();
    let marks = marks
        .flat_map(around)
        .map(|at| Obstacle { at, owner: nobody });
    let obstacles: Vec<Obstacle> = owners
        .iter()
        .enumerate()
        .flat_map(own)
        .chain(marks)
        .collect();
    let mut placed: Vec<(Area, Beside)> = Vec::new();
    for wish in wishes(panel, x, y, plot, &owners) {
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
    owners: &[Vec<(f64, f64)>],
) -> Vec<Wish<'a>> {
    let nobody = owners.len();
    let spots = panel.spots.iter().map(|spot| {
        let at = x.inside(spot.x).zip(y.inside(spot.y));
        Wish {
            text: &spot.label,
            class: "chart-strong".to_owned(),
            wide: 1.1,
            places: at.map(|at| plot.place(at)).into_iter().collect(),
            apart: &[6.0, 9.0, 13.0, 18.0, 24.0],
            owner: nobody,
        }
    });
    let beside = |text: &'a str, class: String, places: Vec<(f64, f64)>, owner: usize| Wish {
        text,
        class,
        wide: 1.0,
        places,
        apart: &[4.0],
        owner,
    };
    let named = panel
        .lines
        .iter()
        .map(|l| (l.label.as_str(), l.tone.text()));
    let levels = panel.references.iter();
    let named = named.chain(levels.map(|r| (r.label.as_str(), "chart-plain".to_owned())));
    let lines = named
        .zip(owners)
        .enumerate()
        .map(|(owner, ((text, class), places))| beside(text, class, places.clone(), owner));
    let stretches = panel.stretches.iter().map(|stretch| {
        let top = y.inside(stretch.low.max(stretch.high));
        let places = top.map_or_else(Vec::new, |v| level(plot, v));
        beside(
            &stretch.label,
            "chart-text-copper".to_owned(),
            places,
            nobody,
        )
    });
    let others = lines.chain(stretches).filter(|_| panel.labels_inside);
    spots
        .chain(others)
        .filter(|wish| !wish.text.is_empty() && !wish.places.is_empty())
        .collect()
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
    // Samples that lie closer than an eye can see would only cost time.
    let mut cells = HashSet::new();
    all.retain(|p| cells.insert(((p.0 / 1.5) as i32, (p.1 / 1.5) as i32)));
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

/// The clearest of the places beside a wish; none if all touch something.
fn settle(
    wish: &Wish,
    obstacles: &[Obstacle],
    placed: &[(Area, Beside)],
    plot: Area,
) -> Option<(Area, Beside)> {
    let text = fit(wish.text, plot.width() * 0.7);
    let wide = width(&text) * wish.wide;
    let free = |area: &Area| {
        let within = area.left >= plot.left + 2.0
            && area.right <= plot.right
            && area.top >= plot.top
            && area.bottom <= plot.bottom - 1.0;
        within
            && obstacles.iter().all(|o| distance(*area, o.at) > 1.5)
            && placed.iter().all(|(other, _)| apart(*area, *other) > 4.0)
    };
    let others = || obstacles.iter().filter(|o| o.owner != wish.owner);
    let nearest = |to: &dyn Fn((f64, f64)) -> f64| others().map(|o| to(o.at)).fold(CLEAR, f64::min);
    let best_at = |room: f64| {
        let step = wish.places.len().div_ceil(TRIES).max(1);
        let tries = wish.places.iter().step_by(step);
        tries
            .flat_map(|&from| boxes(from, wide, room).map(|area| (from, area)))
            .filter(|(_, area)| free(area))
            .filter(|(from, area)| {
                wish.places.len() > 1 || sees(*from, *area, obstacles, wish.owner)
            })
            .map(|(from, area)| {
                let anchor = nearest(&|at| (at.0 - from.0).hypot(at.1 - from.1));
                (anchor, anchor + nearest(&|at| distance(area, at)), area)
            })
            // Where two lines lie on one another, no label can say which is meant.
            .filter(|(anchor, _, _)| wish.places.len() == 1 || *anchor > 3.0)
            .reduce(|best, next| if next.1 > best.1 + 0.5 { next } else { best })
    };
    let (_, _, area) = wish.apart.iter().find_map(|&room| best_at(room))?;
    let beside = Beside {
        whole: wish.text.to_owned(),
        text,
        class: wish.class.clone(),
        at: (area.left, area.bottom - DESCENT),
    };
    Some((area, beside))
}

/// Whether no line lies between a spot and its label.
fn sees(from: (f64, f64), area: Area, obstacles: &[Obstacle], owner: usize) -> bool {
    let near = (
        from.0.clamp(area.left, area.right),
        from.1.clamp(area.top, area.bottom),
    );
    let from_spot = |at: (f64, f64)| (at.0 - from.0).hypot(at.1 - from.1);
    // What lies on the spot itself crosses its mark, not the way to the label.
    let lines = obstacles
        .iter()
        .filter(|o| o.owner != owner && from_spot(o.at) > 5.0);
    let way = |t: f64| {
        (
            from.0 + t * (near.0 - from.0),
            from.1 + t * (near.1 - from.1),
        )
    };
    let ways: Vec<_> = (1..=8).map(|i| way(f64::from(i) / 8.0)).collect();
    lines
        .flat_map(|o| ways.iter().map(|w| (o.at.0 - w.0).hypot(o.at.1 - w.1)))
        .all(|d| d > 2.0)
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
    fn no_line_parts_a_spot_from_its_label() {
        let fan = |top: f64| {
            Line::new(
                "",
                vec![(0.0, top), (10.0, top - 3.0)],
                Tone::Ink,
                Stroke::Solid,
            )
        };
        let panel = Panel::new(Axis::new("y", ""))
            .line(fan(7.0))
            .line(fan(8.0))
            .spot(0.0, 7.0, "now", Shape::Circle);
        let labels = placed(&panel);
        assert_eq!(labels.len(), 1);
        let upper = PLOT.place((0.0, 0.8)).1;
        assert!(
            area(&labels[0]).top > upper,
            "the label is above the other line"
        );
    }

    #[test]
    fn lines_on_one_another_are_told_apart_by_the_key() {
        let line = |name| {
            Line::new(
                name,
                vec![(0.0, 5.0), (10.0, 5.0)],
                Tone::Ink,
                Stroke::Solid,
            )
        };
        let panel = Panel::new(Axis::new("y", ""))
            .labelled_inside()
            .line(line("one"))
            .line(line("other"));
        assert!(placed(&panel).is_empty());
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
