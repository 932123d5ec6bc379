//! Rows with a dot and a reach from low to high.

use crate::chart::{Drawing, Size};
use crate::mark::{Area, Hold, c, label, labels, path_through, rule, slab};
use crate::rows::{self, Across, RowText};
use crate::scale::{Axis, Domain};
use crate::text::{LINE, centre_within, fit, width, wrap};
use maud::{Markup, html};

const BAR: f64 = 12.0;

/// One row.
pub(crate) struct Item {
    pub(crate) text: RowText,
    pub(crate) low: f64,
    pub(crate) value: f64,
    pub(crate) high: f64,
    /// Words in place of a dot, where there is no number.
    pub(crate) said: String,
}

/// A stretch of the axis with a meaning.
pub(crate) struct Stretch {
    pub(crate) from: f64,
    pub(crate) to: f64,
    pub(crate) label: String,
    pub(crate) class: String,
    /// Class of lines at its ends, if it has any.
    pub(crate) edge: Option<&'static str>,
}

/// An upright line with a label above.
pub(crate) struct Upright {
    pub(crate) at: f64,
    pub(crate) label: String,
    pub(crate) class: &'static str,
}

/// What lies behind the rows.
pub(crate) struct Ground {
    /// Labelled inside their width, in up to two lines.
    pub(crate) zones: Vec<Stretch>,
    /// Labelled above.
    pub(crate) bands: Vec<Stretch>,
    pub(crate) uprights: Vec<Upright>,
}

pub(crate) fn draw(items: &[Item], axis: &Axis, ground: &Ground, size: Size) -> Drawing {
    let texts: Vec<RowText> = items.iter().map(|i| i.text.clone()).collect();
    let across = Across::new(&texts, size);
    let domain = domain(items, axis, ground, &across);
    let heads = heads(ground, &domain, &across, size);
    let zone_labels = zone_labels(ground, &domain, &across);
    let head_height = if heads.is_empty() { 2.0 } else { LINE + 2.0 };
    let zone_height = LINE * zone_labels.iter().map(|z| z.1.len()).max().unwrap_or(0) as f64;
    let said: Vec<Vec<String>> = items
        .iter()
        .map(|i| wrap(&i.said, across.right - across.left - 12.0, 3))
        .collect();
    let heights: Vec<f64> = said
        .iter()
        .map(|lines| BAR.max(LINE * lines.len() as f64))
        .collect();
    // Words of zones, then labels of lines, then the lines: none crosses another.
    let zone_top = if zone_height > 0.0 { 4.0 } else { 0.0 };
    let line_top = zone_top + zone_height + head_height;
    let top = line_top + 5.0;
    let placed = rows::place(&texts, &across, top, &heights, &vec![0.0; items.len()]);
    let plot = Area {
        left: across.left,
        top: line_top,
        right: across.right,
        bottom: placed.bottom,
    };
    let zoned = Area {
        top: if zone_height > 0.0 { 2.0 } else { line_top },
        ..plot
    };
    let body = html! {
        (stretches(&ground.zones, &domain, zoned))
        (rows::grid(&domain, plot))
        (stretches(&ground.bands, &domain, plot))
        @for (x, lines) in &zone_labels { (labels("chart-plain", *x, zone_top + LINE - 3.0, Hold::Middle, lines)) }
        @for upright in &ground.uprights { (upright_line(upright, &domain, plot)) }
        @for (x, text) in &heads { (label("chart-plain", *x, line_top - 4.0, Hold::Middle, text)) }
        @for (i, place) in placed.places.iter().enumerate() {
            @if let Some(item) = items.get(i) { (dot_and_reach(item, &domain, plot, place.middle)) }
            @if let Some(lines) = said.get(i) { (words(lines, plot, place.middle)) }
        }
        (rows::texts(&texts, &across, &placed))
        (rows::axis_below(axis, &domain, plot, size.width()))
        @if items.is_empty() { (rows::nothing_yet(plot)) }
    };
    rows::drawing(size, plot, &placed, placed.bottom + rows::AXIS, body)
}

fn domain(items: &[Item], axis: &Axis, ground: &Ground, across: &Across) -> Domain {
    let data = items.iter().flat_map(|i| [i.low, i.value, i.high]);
    let bands = ground.bands.iter().flat_map(|b| [b.from, b.to]);
    let lines = ground.uprights.iter().map(|u| u.at);
    let about = ((across.right - across.left) / 58.0) as usize;
    Domain::covering(axis, data.chain(bands).chain(lines), about.max(2))
}

/// The ends of a stretch on the drawing; an open end reaches the plot's end.
fn ends(stretch: &Stretch, domain: &Domain, left: f64, right: f64) -> Option<(f64, f64)> {
    let end = |v: f64, open: f64| {
        let share = if v.is_nan() {
            open
        } else if v.is_infinite() {
            f64::from(v > 0.0)
        } else {
            domain.held(v)?
        };
        Some(left + share * (right - left))
    };
    let (a, b) = (end(stretch.from, 0.0)?, end(stretch.to, 1.0)?);
    Some((a.min(b), a.max(b)))
}

fn stretches(all: &[Stretch], domain: &Domain, plot: Area) -> Markup {
    html! {
        @for stretch in all {
            @if let Some((left, right)) = ends(stretch, domain, plot.left, plot.right) {
                (slab(&stretch.class, Area { left, right, ..plot }))
                @if let Some(edge) = stretch.edge {
                    @for x in [left, right] { (rule(edge, (x, plot.top), (x, plot.bottom))) }
                }
            }
        }
    }
}

/// Labels of zones inside their width; one with a word that does not fit is left to the notes.
fn zone_labels(ground: &Ground, domain: &Domain, across: &Across) -> Vec<(f64, Vec<String>)> {
    let fitting = |zone: &Stretch| {
        let (left, right) = ends(zone, domain, across.left, across.right)?;
        let lines = wrap(&zone.label, right - left - 4.0, 2);
        let whole = lines.iter().all(|l| !l.is_empty() && !l.ends_with('…'));
        (whole && !lines.is_empty()).then_some((f64::midpoint(left, right), lines))
    };
    ground.zones.iter().filter_map(fitting).collect()
}

/// Labels above the plot; those that would touch one before are dropped.
fn heads(ground: &Ground, domain: &Domain, across: &Across, size: Size) -> Vec<(f64, String)> {
    let bands = ground.bands.iter().filter_map(|band| {
        let (left, right) = ends(band, domain, across.left, across.right)?;
        Some((f64::midpoint(left, right), band.label.as_str()))
    });
    let uprights = ground.uprights.iter().filter_map(|upright| {
        let share = domain.inside(upright.at)?;
        Some((
            across.left + share * (across.right - across.left),
            upright.label.as_str(),
        ))
    });
    let mut all: Vec<_> = bands.chain(uprights).filter(|h| !h.1.is_empty()).collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut end = f64::NEG_INFINITY;
    let mut kept = Vec::new();
    for (wish, text) in all {
        let text = fit(text, size.width() * 0.6);
        let x = centre_within(wish, &text, 1.0, size.width() - 1.0);
        if x - width(&text) / 2.0 > end {
            end = x + width(&text) / 2.0 + 8.0;
            kept.push((x, text));
        }
    }
    kept
}

fn upright_line(upright: &Upright, domain: &Domain, plot: Area) -> Markup {
    html! {
        @if let Some(share) = domain.inside(upright.at) {
            @let (x, _) = plot.place((share, 0.0));
            (rule(upright.class, (x, plot.top), (x, plot.bottom)))
        }
    }
}

fn dot_and_reach(item: &Item, domain: &Domain, plot: Area, y: f64) -> Markup {
    let beyond = [item.low, item.high]
        .iter()
        .all(|&end| domain.inside(end).is_none());
    let across = domain.held(item.low) != domain.held(item.high);
    let reach = domain
        .held(item.low)
        .zip(domain.held(item.high))
        .filter(|_| !beyond || across);
    let dot = domain.inside(item.value);
    html! {
        @if let Some((low, high)) = reach {
            @let (a, b) = (plot.place((low.min(high), 0.0)).0, plot.place((low.max(high), 0.0)).0);
            // A reach too short to see is still there.
            @let area = Area { left: a, top: y - BAR / 2.0, right: b.max(a + 1.0).min(plot.right), bottom: y + BAR / 2.0 };
            (slab("chart-reach chart-fill-water chart-line-water", area))
        }
        @match dot {
            Some(share) => circle.chart-dot cx=(c(plot.place((share, 0.0)).0)) cy=(c(y)) r="4.5" {},
            None => (pointer_out(item.value, domain, plot, y)),
        }
    }
}

/// An arrow at the end beyond which a value lies.
fn pointer_out(value: f64, domain: &Domain, plot: Area, y: f64) -> Markup {
    let Some(share) = domain.held(value) else {
        return html! {};
    };
    let (tip, back) = if share > 0.5 {
        (plot.right, -9.0)
    } else {
        (plot.left, 9.0)
    };
    let corners = [(tip, y), (tip + back, y - 5.0), (tip + back, y + 5.0)];
    html! { path.chart-arrow d=(path_through(&corners, true)) {} }
}

fn words(lines: &[String], plot: Area, y: f64) -> Markup {
    let first = y + 4.0 - LINE / 2.0 * lines.len().saturating_sub(1) as f64;
    labels(
        "chart-plain chart-halo",
        plot.left + 6.0,
        first,
        Hold::Start,
        lines,
    )
}
