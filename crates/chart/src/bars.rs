//! Rows of stacked bars, with marks to measure them against.

use crate::chart::{Drawing, Size};
use crate::mark::{Area, Hold, hatch, label, rule, slab};
use crate::number::drawable;
use crate::rows::{self, Across, RowText};
use crate::scale::{Axis, Domain};
use crate::text::{LINE, centre_within, fit, width};
use crate::tone::Tone;
use maud::{Markup, html};

const BAR: f64 = 22.0;
/// Room above bars where labels stand there.
const ABOVE: f64 = 15.0;

/// One part of a bar.
#[derive(Debug, Clone)]
pub(crate) struct Part {
    pub(crate) label: String,
    pub(crate) amount: f64,
    pub(crate) tone: Tone,
    /// Where the part would end if it were as aimed, measured from its own start.
    pub(crate) aim: Option<f64>,
    /// Not known, but must be there: hatched, and not part of the sum.
    pub(crate) missing: bool,
}

/// One row.
pub(crate) struct Bar {
    pub(crate) text: RowText,
    pub(crate) parts: Vec<Part>,
    /// Where the whole bar should end.
    pub(crate) need: Option<(f64, String)>,
    /// How far the sum of the known parts is known, to either side.
    pub(crate) half: Option<f64>,
}

/// Labels that have no room inside their part.
struct Outside<'a> {
    /// Place, middle of the label, text.
    above: Vec<(f64, f64, String)>,
    /// Those that have none above either.
    dropped: Vec<&'a Part>,
}

/// An amount that a bar can show: more than nothing.
pub(crate) fn shown(amount: f64) -> bool {
    drawable(amount) && amount > 0.0
}

/// The parts that can be shown, each with where it starts.
fn stacked(bar: &Bar) -> impl Iterator<Item = (f64, &Part)> {
    let parts = bar.parts.iter().filter(|p| shown(p.amount));
    parts.scan(0.0, |at, part| {
        let start = *at;
        *at += part.amount;
        Some((start, part))
    })
}

pub(crate) fn draw(bars: &[Bar], axis: &Axis, aim_label: &str, size: Size) -> Drawing {
    let texts: Vec<RowText> = bars.iter().map(|b| b.text.clone()).collect();
    let across = Across::new(&texts, size);
    let about = ((across.right - across.left) / 42.0) as usize;
    let domain = Domain::covering(&axis.clone().starting_at(0.0), ends(bars), about.max(2));
    let x = |v: f64| across.left + domain.held(v).unwrap_or(0.0) * (across.right - across.left);
    let outside: Vec<Outside<'_>> = bars
        .iter()
        .map(|bar| labels_outside(bar, &x, size.width()))
        .collect();
    let above: Vec<f64> = outside
        .iter()
        .map(|l| if l.above.is_empty() { 0.0 } else { ABOVE })
        .collect();
    let key = Key::new(outside.iter().flat_map(|o| &o.dropped), size.width() - 4.0);
    let aims = bars
        .iter()
        .any(|b| b.parts.iter().any(|p| p.aim.is_some_and(drawable)));
    let heights = vec![if aims { BAR + 8.0 } else { BAR }; bars.len()];
    let placed = rows::place(&texts, &across, 4.0, &heights, &above);
    let plot = Area {
        left: across.left,
        top: 2.0,
        right: across.right,
        bottom: placed.bottom,
    };
    let body = html! {
        (rows::grid(&domain, plot))
        @for ((bar, place), labels) in bars.iter().zip(&placed.places).zip(&outside) {
            (parts(bar, &x, place.middle))
            (above_bar(&labels.above, place.middle - BAR / 2.0))
            (marks(bar, &x, place.middle))
            (reach_of_sum(bar, &x, place.middle))
        }
        (rows::texts(&texts, &across, &placed))
        (rows::axis_below(axis, &domain, plot, size.width()))
        @if aims { (aim_key(aim_label, plot.bottom + rows::AXIS + 10.0)) }
        (key.draw(plot.bottom + rows::AXIS + if aims { LINE + 8.0 } else { 2.0 }))
        @if bars.is_empty() { (rows::nothing_yet(plot)) }
    };
    let height = placed.bottom + rows::AXIS + if aims { LINE + 6.0 } else { 0.0 } + key.height;
    rows::drawing(size, plot, &placed, height, body)
}

/// The sum of what is known.
fn sum(bar: &Bar) -> f64 {
    let known = bar.parts.iter().filter(|p| !p.missing && shown(p.amount));
    known.map(|p| p.amount).sum()
}

fn ends(bars: &[Bar]) -> Vec<f64> {
    let mut ends = vec![0.0];
    for bar in bars {
        for (start, part) in stacked(bar) {
            ends.push(start + part.amount);
            ends.extend(part.aim.map(|aim| start + aim));
        }
        ends.extend(bar.need.as_ref().map(|need| need.0));
        ends.extend(bar.half.map(|half| sum(bar) + half));
    }
    ends
}

fn fits(part: &Part, left: f64, right: f64) -> bool {
    width(&part.label) + 6.0 <= right - left
}

/// Where a label stands inside its part, clear of the aim mark; none if there is no room.
fn label_place(part: &Part, left: f64, right: f64, mark: Option<f64>) -> Option<f64> {
    if !fits(part, left, right) {
        return None;
    }
    let middle = f64::midpoint(left, right);
    let Some(mark) = mark.filter(|m| (m - middle).abs() < width(&part.label) / 2.0 + 3.0) else {
        return Some(middle);
    };
    let (from, to) = if mark - left > right - mark {
        (left, mark)
    } else {
        (mark, right)
    };
    if fits(part, from, to) {
        Some(f64::midpoint(from, to))
    } else {
        None
    }
}

fn segment(part: &Part, area: Area) -> Markup {
    let line = part.tone.line();
    if part.missing {
        return html! {
            (slab(&format!("chart-hollow {line}"), area))
            (hatch(&format!("chart-hatch {line}"), area))
        };
    }
    slab(&format!("chart-segment {} {line}", part.tone.fill()), area)
}

fn parts(bar: &Bar, x: &impl Fn(f64) -> f64, y: f64) -> Markup {
    html! {
        @for (start, part) in stacked(bar) {
            @let (left, right) = (x(start), x(start + part.amount));
            @let area = Area { left, top: y - BAR / 2.0, right, bottom: y + BAR / 2.0 };
            (segment(part, area))
            @if let Some(at) = label_place(part, left, right, part.aim.map(|aim| x(start + aim))) {
                @let class = if part.missing { "chart-plain chart-halo".to_owned() } else { part.tone.on() };
                (label(&class, at, y + 4.0, Hold::Middle, &part.label))
            }
        }
    }
}

fn labels_outside<'a>(bar: &'a Bar, x: &impl Fn(f64) -> f64, whole: f64) -> Outside<'a> {
    let inside = |start: f64, p: &Part| {
        let mark = p.aim.map(|aim| x(start + aim));
        p.label.is_empty() || label_place(p, x(start), x(start + p.amount), mark).is_some()
    };
    let middle = |start: f64, p: &Part| f64::midpoint(x(start), x(start + p.amount));
    let parts = stacked(bar)
        .filter(|(start, part)| !inside(*start, part))
        .map(|(start, part)| (middle(start, part), part.label.as_str(), Some(part)));
    let need = bar.need.iter().filter(|n| drawable(n.0));
    let mut wanted: Vec<(f64, &str, Option<&Part>)> = parts.collect();
    wanted.extend(need.map(|(at, text)| (x(*at), text.as_str(), None)));
    let mut outside = Outside {
        above: Vec::new(),
        dropped: Vec::new(),
    };
    // Whoever asks last is what the bar is measured against: it is placed first.
    for (at, text, part) in wanted.into_iter().rev().filter(|w| !w.1.is_empty()) {
        let text = fit(text, whole * 0.5);
        let middle = centre_within(at, &text, 1.0, whole - 1.0);
        let half = width(&text) / 2.0;
        let free = outside
            .above
            .iter()
            .all(|(_, m, t)| (m - middle).abs() >= half + width(t) / 2.0 + 6.0);
        if free {
            outside.above.push((at, middle, text));
        } else {
            outside.dropped.extend(part);
        }
    }
    outside
}

fn above_bar(labels: &[(f64, f64, String)], top: f64) -> Markup {
    html! {
        @for (at, middle, text) in labels {
            (rule("chart-leader", (*at, top), (*at, top - 3.0)))
            (label("chart-plain", *middle, top - 5.0, Hold::Middle, text))
        }
    }
}

fn marks(bar: &Bar, x: &impl Fn(f64) -> f64, y: f64) -> Markup {
    let (top, bottom) = (y - BAR / 2.0, y + BAR / 2.0);
    let aims =
        stacked(bar).filter_map(|(start, part)| Some((start, part.aim.filter(|&a| drawable(a))?)));
    html! {
        @for (i, (start, aim)) in aims.enumerate() {
            // Neighbours may reach over one another: two heights keep them apart.
            @let under = bottom + if i % 2 == 0 { 3.0 } else { 6.0 };
            @let (from, to) = (x(start), x(start + aim));
            (rule("chart-mark-reach", (from, under), (to, under)))
            (mark((to, top - 2.0), (to, under)))
        }
        @if let Some((need, _)) = bar.need.as_ref().filter(|n| drawable(n.0)) {
            (mark((x(*need), top - 3.0), (x(*need), bottom + 3.0)))
        }
    }
}

/// An upright mark with a rim of paper, to be seen on dark parts too.
fn mark(from: (f64, f64), to: (f64, f64)) -> Markup {
    html! { (rule("chart-mark-rim", from, to)) (rule("chart-mark", from, to)) }
}

/// How far the sum is known, across the end of the bar.
fn reach_of_sum(bar: &Bar, x: &impl Fn(f64) -> f64, y: f64) -> Markup {
    let Some(half) = bar.half.filter(|&h| shown(h)) else {
        return html! {};
    };
    let sum = sum(bar);
    // On the lower edge it is clear of the labels inside.
    let y = y + BAR / 2.0;
    let (from, to) = (x((sum - half).max(0.0)), x(sum + half));
    let strokes = [
        ((from, y), (to, y)),
        ((from, y - 4.0), (from, y + 4.0)),
        ((to, y - 4.0), (to, y + 4.0)),
    ];
    html! {
        @for (a, b) in strokes { (rule("chart-reach-rim", a, b)) }
        @for (a, b) in strokes { (rule("chart-reach-line", a, b)) }
    }
}

/// Samples of the parts whose labels have no room at their bars.
struct Key<'a> {
    entries: Vec<(f64, f64, &'a Part, String)>,
    height: f64,
}

impl<'a> Key<'a> {
    fn new(parts: impl Iterator<Item = &'a &'a Part>, room: f64) -> Self {
        let mut distinct: Vec<&Part> = Vec::new();
        for &part in parts {
            let known = distinct
                .iter()
                .any(|d| d.label == part.label && d.tone == part.tone);
            if !known {
                distinct.push(part);
            }
        }
        let mut at = (0.0, 0.0);
        let mut entries = Vec::new();
        for part in distinct {
            let text = fit(&part.label, room - 20.0);
            let long = 20.0 + width(&text);
            if at.0 > 0.0 && at.0 + long > room {
                at = (0.0, at.1 + LINE + 3.0);
            }
            entries.push((at.0, at.1, part, text));
            at.0 += long + 14.0;
        }
        let height = if entries.is_empty() {
            0.0
        } else {
            at.1 + LINE + 8.0
        };
        Self { entries, height }
    }

    fn draw(&self, top: f64) -> Markup {
        html! {
            @for (x, y, part, text) in &self.entries {
                @let (left, top) = (x + 2.0, top + y + 2.0);
                (segment(part, Area { left, top, right: left + 12.0, bottom: top + 12.0 }))
                (label("", left + 18.0, top + 10.0, Hold::Start, text))
            }
        }
    }
}

/// What the marks mean, below the axis.
fn aim_key(text: &str, y: f64) -> Markup {
    html! {
        (rule("chart-mark-reach", (4.0, y + 3.0), (24.0, y + 3.0)))
        (rule("chart-mark", (24.0, y - 8.0), (24.0, y + 3.0)))
        (label("", 31.0, y + 2.0, Hold::Start, text))
    }
}
