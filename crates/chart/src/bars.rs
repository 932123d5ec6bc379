//! Rows of stacked bars, with marks to measure them against.

use crate::chart::{Drawing, Size};
use crate::mark::{Area, Hold, label, rule, slab};
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
}

/// One row.
pub(crate) struct Bar {
    pub(crate) text: RowText,
    pub(crate) parts: Vec<Part>,
    /// Where the whole bar should end.
    pub(crate) need: Option<(f64, String)>,
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
    let about = ((across.right - across.left) / 50.0) as usize;
    let domain = Domain::covering(&axis.clone().starting_at(0.0), ends(bars), about.max(2));
    let x = |v: f64| across.left + domain.held(v).unwrap_or(0.0) * (across.right - across.left);
    let outside: Vec<Vec<(f64, f64, String)>> = bars
        .iter()
        .map(|bar| labels_above(bar, &x, size.width()))
        .collect();
    let above: Vec<f64> = outside
        .iter()
        .map(|l| if l.is_empty() { 0.0 } else { ABOVE })
        .collect();
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
            (above_bar(labels, place.middle - BAR / 2.0))
            (marks(bar, &x, place.middle))
        }
        (rows::texts(&texts, &across, &placed))
        (rows::axis_below(axis, &domain, plot, size.width()))
        @if aims { (aim_key(aim_label, plot.bottom + rows::AXIS + 10.0)) }
        @if bars.is_empty() { (rows::nothing_yet(plot)) }
    };
    let height = placed.bottom + rows::AXIS + if aims { LINE + 6.0 } else { 0.0 };
    rows::drawing(size, plot, &placed, height, body)
}

fn ends(bars: &[Bar]) -> Vec<f64> {
    let mut ends = vec![0.0];
    for bar in bars {
        for (start, part) in stacked(bar) {
            ends.push(start + part.amount);
            ends.extend(part.aim.map(|aim| start + aim));
        }
        ends.extend(bar.need.as_ref().map(|need| need.0));
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

fn parts(bar: &Bar, x: &impl Fn(f64) -> f64, y: f64) -> Markup {
    html! {
        @for (start, part) in stacked(bar) {
            @let (left, right) = (x(start), x(start + part.amount));
            @let class = format!("chart-segment {} {}", part.tone.fill(), part.tone.line());
            (slab(&class, Area { left, top: y - BAR / 2.0, right, bottom: y + BAR / 2.0 }))
            @if let Some(at) = label_place(part, left, right, part.aim.map(|aim| x(start + aim))) {
                (label(&part.tone.on(), at, y + 4.0, Hold::Middle, &part.label))
            }
        }
    }
}

/// Labels that do not fit inside their part, as (its middle, place, text); touching ones are dropped.
fn labels_above(bar: &Bar, x: &impl Fn(f64) -> f64, whole: f64) -> Vec<(f64, f64, String)> {
    let inside = |start: f64, p: &Part| {
        let mark = p.aim.map(|aim| x(start + aim));
        p.label.is_empty() || label_place(p, x(start), x(start + p.amount), mark).is_some()
    };
    let mut wanted: Vec<(f64, &str)> = stacked(bar)
        .filter(|(start, part)| !inside(*start, part))
        .map(|(start, part)| {
            (
                f64::midpoint(x(start), x(start + part.amount)),
                part.label.as_str(),
            )
        })
        .collect();
    wanted.extend(
        bar.need
            .iter()
            .filter(|n| drawable(n.0))
            .map(|(at, text)| (x(*at), text.as_str())),
    );
    // Whoever asks last is what the bar is measured against: it is placed first.
    let mut placed: Vec<(f64, f64, String)> = Vec::new();
    for (at, text) in wanted.into_iter().rev().filter(|w| !w.1.is_empty()) {
        let text = fit(text, whole * 0.5);
        let middle = centre_within(at, &text, 1.0, whole - 1.0);
        let half = width(&text) / 2.0;
        let free = placed
            .iter()
            .all(|(_, m, t)| (m - middle).abs() >= half + width(t) / 2.0 + 6.0);
        if free {
            placed.push((at, middle, text));
        }
    }
    placed
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

/// What the marks mean, below the axis.
fn aim_key(text: &str, y: f64) -> Markup {
    html! {
        (rule("chart-mark-reach", (4.0, y + 3.0), (24.0, y + 3.0)))
        (rule("chart-mark", (24.0, y - 8.0), (24.0, y + 3.0)))
        (label("", 31.0, y + 2.0, Hold::Start, text))
    }
}
