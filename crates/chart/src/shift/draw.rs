//! Rows of a ring, a dot and what lies between, each on its own track.

use super::Shift;
use crate::chart::{Drawing, Size};
use crate::mark::{Area, Hold, c, label, path_through, rule, slab};
use crate::number::drawable;
use crate::rows::{self, Across, RowText};
use crate::scale::Domain;
use crate::text::{LINE, centre_within, fit, width};
use maud::{Markup, html};

/// Height of a track with its marks.
const TRACK: f64 = 18.0;
/// How many times the largest value a limit may be and still have its place on the track.
const FAR: f64 = 3.0;

/// Words below a track, in up to three lines.
struct Words {
    /// Middle, line, text.
    placed: Vec<(f64, usize, String)>,
    lines: usize,
}

pub(super) fn draw(shifts: &[Shift], size: Size) -> Drawing {
    let texts: Vec<RowText> = shifts.iter().map(text).collect();
    let across = Across::new(&texts, size);
    let domains: Vec<Domain> = shifts.iter().map(domain).collect();
    let words: Vec<Words> = shifts
        .iter()
        .zip(&domains)
        .map(|(shift, domain)| words(shift, domain, &across, size))
        .collect();
    let heights: Vec<f64> = words
        .iter()
        .map(|w| TRACK + LINE * w.lines as f64)
        .collect();
    let mut placed = rows::place(&texts, &across, 2.0, &heights, &vec![0.0; shifts.len()]);
    for (place, height) in placed.places.iter_mut().zip(&heights) {
        place.middle += (TRACK - height) / 2.0;
    }
    let plot = Area {
        left: across.left,
        top: 2.0,
        right: across.right,
        bottom: placed.bottom,
    };
    let key_y = placed.bottom + 10.0;
    let body = html! {
        @for (((shift, domain), words), place) in shifts.iter().zip(&domains).zip(&words).zip(&placed.places) {
            @let track = Area { top: place.middle - TRACK / 2.0, bottom: place.middle + TRACK / 2.0, ..plot };
            (track_of(shift, domain, track))
            @for (x, line, text) in &words.placed {
                (label("", *x, track.bottom + LINE * (*line as f64 + 1.0) - 3.0, Hold::Middle, text))
            }
        }
        (rows::texts(&texts, &across, &placed))
        @if shifts.is_empty() { (rows::nothing_yet(plot)) } @else { (key(key_y)) }
    };
    let height = placed.bottom + if shifts.is_empty() { 4.0 } else { 20.0 };
    rows::drawing(size, plot, &placed, height, body)
}

fn text(shift: &Shift) -> RowText {
    RowText {
        label: shift.axis.label.clone(),
        value: shift.value(),
        ..RowText::default()
    }
}

/// The largest of what a track must show.
fn largest(shift: &Shift) -> f64 {
    let aim = shift.aim.as_ref().map_or(f64::NAN, |aim| aim.high);
    [shift.before, shift.after, aim]
        .into_iter()
        .filter(|&v| drawable(v))
        .fold(0.0, f64::max)
}

fn is_near(shift: &Shift, at: f64) -> bool {
    drawable(at) && at <= FAR * largest(shift)
}

fn domain(shift: &Shift) -> Domain {
    let aim = shift.aim.iter().flat_map(|aim| [aim.low, aim.high]);
    let limits = shift.limits.iter().map(|l| l.0);
    let limits = limits.filter(|&at| is_near(shift, at));
    let values = [shift.before, shift.after].into_iter().chain(aim);
    Domain::covering(&shift.axis, values.chain(limits), 4)
}

/// Words of the aim and of limits below a track; each in the first line with room for it.
fn words(shift: &Shift, domain: &Domain, across: &Across, size: Size) -> Words {
    let on = |v: f64| Some(across.left + domain.held(v)? * (across.right - across.left));
    let aim = shift.aim.as_ref().and_then(|aim| {
        let at = f64::midpoint(on(aim.low)?, on(aim.high)?);
        Some((at, shift.aim_words()?))
    });
    let limits = shift.limits.iter().filter_map(|(at, text)| {
        if is_near(shift, *at) {
            return Some((on(*at)?, text.clone()));
        }
        // An arrow in the words tells it from the head of the way.
        (at.is_finite() && !text.is_empty()).then(|| (across.right, format!("{text} →")))
    });
    let mut placed: Vec<(f64, usize, String)> = Vec::new();
    for (at, text) in aim.into_iter().chain(limits).filter(|w| !w.1.is_empty()) {
        let text = fit(&text, size.width() - 4.0);
        let half = width(&text) / 2.0;
        // Words may reach past the track, over the value's column, where they have a line of their own.
        let middle = centre_within(at, &text, across.left.min(8.0), size.width() - 2.0);
        let free = |line: usize| {
            placed
                .iter()
                .all(|(m, l, t)| *l != line || (m - middle).abs() >= half + width(t) / 2.0 + 10.0)
        };
        if let Some(line) = (0..3).find(|&line| free(line)) {
            placed.push((middle, line, text));
        }
    }
    let lines = placed.iter().map(|p| p.1 + 1).max().unwrap_or(0);
    Words { placed, lines }
}

fn track_of(shift: &Shift, domain: &Domain, track: Area) -> Markup {
    let x = |v: f64| Some(track.place((domain.held(v)?, 0.0)).0);
    let y = f64::midpoint(track.top, track.bottom);
    let band = shift.aim.as_ref().and_then(|aim| {
        let (a, b) = (x(aim.low)?, x(aim.high)?);
        Some((a.min(b), a.max(b)))
    });
    let (before, after) = (x(shift.before), x(shift.after));
    html! {
        @if let Some((left, right)) = band {
            // An aim without tolerance is a line; its edges are there.
            (slab("chart-aim", Area { left, right, ..track }))
            @for at in [left, right] { (rule("chart-aim-edge", (at, track.top), (at, track.bottom))) }
        }
        (rule("chart-axis", (track.left, y), (track.right, y)))
        (rule("chart-axis", (track.left, y - 3.0), (track.left, y + 3.0)))
        @for (at, _) in &shift.limits { (limit(shift, *at, x(*at), track)) }
        @if let Some((from, to)) = before.zip(after) { (way(from, to, y)) }
        @if let Some(at) = before { circle.chart-ring cx=(c(at)) cy=(c(y)) r="4.2" {} }
        @if let Some(at) = after { circle.chart-dot cx=(c(at)) cy=(c(y)) r="5.2" {} }
    }
}

/// A tick at a limit, or an arrow at the end beyond which it lies.
fn limit(shift: &Shift, at: f64, x: Option<f64>, track: Area) -> Markup {
    let y = f64::midpoint(track.top, track.bottom);
    match x {
        Some(x) if is_near(shift, at) => rule("chart-threshold", (x, track.top), (x, track.bottom)),
        _ if at.is_finite() => {
            let tip = track.right;
            let corners = [(tip, y), (tip - 8.0, y - 4.0), (tip - 8.0, y + 4.0)];
            html! { path.chart-arrow d=(path_through(&corners, true)) {} }
        }
        _ => html! {},
    }
}

/// The way from before to after, with a head if it is long enough to have one.
fn way(from: f64, to: f64, y: f64) -> Markup {
    let forth = (to - from).signum();
    let long = (to - from).abs();
    html! {
        @if long > 10.0 { (rule("chart-way", (from + forth * 4.2, y), (to - forth * 5.2, y))) }
        @if long > 22.0 {
            @let tip = to - forth * 6.0;
            @let corners = [(tip, y), (tip - forth * 7.0, y - 4.5), (tip - forth * 7.0, y + 4.5)];
            path.chart-way-head d=(path_through(&corners, true)) {}
        }
    }
}

/// What the marks mean.
fn key(y: f64) -> Markup {
    html! {
        circle.chart-ring cx="8" cy=(c(y)) r="4.2" {}
        (label("", 18.0, y + 4.0, Hold::Start, "before"))
        circle.chart-dot cx="78" cy=(c(y)) r="5.2" {}
        (label("", 89.0, y + 4.0, Hold::Start, "after"))
        (label("", 134.0, y + 4.0, Hold::Start, "each row on its own scale"))
    }
}
