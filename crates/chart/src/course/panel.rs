//! One panel of a course.

use super::data::{Band, Level, Line, Panel, Reading, Readings, Stretch};
use super::legend;
use crate::chart::Size;
use crate::clip::{area_inside, line_inside};
use crate::mark::{Area, Hold, c, label, path_through, point, rule, slab};
use crate::number::drawable;
use crate::scale::{Domain, Scale};
use crate::text::{fit, fit_strong};
use maud::{Markup, html};

/// Where a panel stands.
pub(super) struct Frame {
    pub(super) plot: Area,
    pub(super) title_y: f64,
    /// Whether lines carry their labels at their ends.
    pub(super) ends: bool,
    pub(super) size: Size,
}

pub(super) fn domain(panel: &Panel, height: f64) -> Domain {
    let lines = panel
        .lines
        .iter()
        .flat_map(|l| l.points.iter().map(|p| p.1));
    let bands = panel
        .bands
        .iter()
        .flat_map(|b| b.points.iter().flat_map(|p| [p.low, p.high]));
    let read = panel
        .readings
        .iter()
        .flat_map(|r| r.points.iter().flat_map(|p| [p.y, p.low, p.high]));
    let level = panel.references.iter().map(|r| r.y);
    let spots = panel.spots.iter().map(|s| s.y);
    let stretches = panel.stretches.iter().flat_map(|s| [s.low, s.high]);
    let about = (height / 34.0) as usize;
    Domain::covering(
        &panel.axis,
        lines
            .chain(bands)
            .chain(read)
            .chain(level)
            .chain(spots)
            .chain(stretches),
        about,
    )
}

/// What lies behind the figures: title, grid, tick labels, bands, level lines.
pub(super) fn ground(panel: &Panel, y: &Domain, x: &Domain, frame: &Frame) -> Markup {
    let plot = frame.plot;
    let title = fit_strong(&panel.axis.title(), frame.size.width() - 4.0);
    let nothing = legend::is_empty(panel, x, y);
    html! {
        (label("chart-strong chart-halo", 2.0, frame.title_y, Hold::Start, &title))
        @for stretch in &panel.stretches { (level_stretch(stretch, y, plot)) }
        (grid(y, plot))
        @for band in &panel.bands { (band_area(band, x, y, plot)) }
        (rule("chart-axis", (plot.left, plot.bottom), (plot.right, plot.bottom)))
        @if nothing {
            (label("", f64::midpoint(plot.left, plot.right), f64::midpoint(plot.top, plot.bottom), Hold::Middle, "no figures yet"))
        }
    }
}

fn grid(y: &Domain, plot: Area) -> Markup {
    html! {
        @for tick in &y.ticks {
            @if let Some(share) = y.inside(tick.value) {
                @let (left, at) = plot.place((0.0, share));
                (rule("chart-grid", (left, at), (plot.right, at)))
                (label("", left - 6.0, at + 4.0, Hold::End, &fit(&tick.label, left - 6.0)))
            }
        }
    }
}

fn level_stretch(stretch: &Stretch, y: &Domain, plot: Area) -> Markup {
    let Some((a, b)) = y.held(stretch.low).zip(y.held(stretch.high)) else {
        return html! {};
    };
    let (top, bottom) = (plot.place((0.0, a.max(b))).1, plot.place((0.0, a.min(b))).1);
    html! {
        (slab("chart-aim", Area { top, bottom, ..plot }))
        @for at in [top, bottom] { (rule("chart-aim-edge", (plot.left, at), (plot.right, at))) }
    }
}

/// Level lines, lines, readings, spots, and the labels at line ends.
pub(super) fn figures(panel: &Panel, y: &Domain, x: &Domain, frame: &Frame) -> Markup {
    let plot = frame.plot;
    html! {
        @for r in &panel.references {
            @if let Some(share) = y.inside(r.y) {
                @let (left, at) = plot.place((0.0, share));
                (rule("chart-reference", (left, at), (plot.right, at)))
            }
        }
        @for line in &panel.lines { (line_path(line, x, y, plot)) }
        @for readings in &panel.readings { (reading_marks(readings, x, y, plot)) }
        @for spot in &panel.spots {
            @if let Some((u, v)) = x.inside(spot.x).zip(y.inside(spot.y)) {
                (point("chart-spot", spot.shape, plot.place((u, v))))
            }
        }
        (legend::end_labels(panel, x, y, frame))
    }
}

/// The places of a line inside the panel, part by part.
pub(super) fn line_parts(line: &Line, x: &Domain, y: &Domain) -> Vec<Vec<(f64, f64)>> {
    let shares: Vec<_> = line
        .points
        .iter()
        .map(|&(px, py)| Some((x.share(px)?, y.share(py)?)))
        .collect();
    line_inside(&shares)
}

fn line_path(line: &Line, x: &Domain, y: &Domain, plot: Area) -> Markup {
    let parts = line_parts(line, x, y);
    let mut d = String::new();
    let mut alone = Vec::new();
    for part in &parts {
        let places = thinned(part.iter().map(|&p| plot.place(p)));
        match places.as_slice() {
            [one] => alone.push(*one),
            many => d.push_str(&path_through(many, false)),
        }
    }
    let class = format!("{} {}", line.stroke.class(), line.tone.line());
    html! {
        @if !d.is_empty() { path class=(class) d=(d) {} }
        @for place in alone { circle class=(line.tone.fill()) cx=(c(place.0)) cy=(c(place.1)) r="2.2" {} }
    }
}

/// Places that differ by what an eye can see; a file of ten thousand points stays small.
fn thinned(places: impl Iterator<Item = (f64, f64)>) -> Vec<(f64, f64)> {
    let mut kept: Vec<(f64, f64)> = Vec::new();
    let mut skipped = None;
    for place in places {
        let near = kept
            .last()
            .is_some_and(|k| (k.0 - place.0).abs() < 0.4 && (k.1 - place.1).abs() < 0.4);
        if near {
            skipped = Some(place);
        } else {
            kept.push(place);
            skipped = None;
        }
    }
    if kept.len() > 1 {
        kept.extend(skipped);
    }
    kept
}

fn band_area(band: &Band, x: &Domain, y: &Domain, plot: Area) -> Markup {
    let depth = match band.level {
        Level::Outer => "chart-band-outer",
        Level::Inner => "chart-band-inner",
    };
    let class = format!("{depth} {}", band.tone.fill());
    let edge = format!("chart-band-edge {}", band.tone.line());
    html! {
        @for run in runs(band, x, y) {
            @let places: Vec<_> = area_inside(&run).into_iter().map(|p| plot.place(p)).collect();
            @if places.len() > 2 {
                path class=(class) d=(path_through(&places, true)) {}
            }
            @for side in edges(&run) {
                @for part in line_inside(&side) {
                    @let places = thinned(part.into_iter().map(|p| plot.place(p)));
                    @if places.len() > 1 { path class=(edge) d=(path_through(&places, false)) {} }
                }
            }
        }
    }
}

/// The outlines of a band: lower edge forth, upper edge back; one for each gapless run.
fn runs(band: &Band, x: &Domain, y: &Domain) -> Vec<Vec<(f64, f64)>> {
    let drawn = band.points.iter().map(|p| {
        let (low, high) = (p.low.min(p.high), p.low.max(p.high));
        if !(drawable(p.low) && drawable(p.high)) {
            return None;
        }
        // A lower edge at or below nought has no place on a logarithmic axis: hold it to the floor.
        let low = y
            .share(low)
            .or_else(|| (y.scale() == Scale::Log).then_some(0.0))?;
        Some((x.share(p.x)?, low, y.share(high)?))
    });
    let drawn: Vec<_> = drawn.collect();
    drawn
        .split(Option::is_none)
        .filter(|run| !run.is_empty())
        .map(|run| {
            let lower = run.iter().flatten().map(|p| (p.0, p.1));
            let upper = run.iter().flatten().rev().map(|p| (p.0, p.2));
            lower.chain(upper).collect()
        })
        .collect()
}

fn edges(run: &[(f64, f64)]) -> [Vec<Option<(f64, f64)>>; 2] {
    let (lower, upper) = run.split_at(run.len() / 2);
    if let ([low], [high]) = (lower, upper) {
        // One moment alone: a stroke from edge to edge.
        return [vec![Some(*low), Some(*high)], Vec::new()];
    }
    [lower, upper].map(|side| side.iter().copied().map(Some).collect())
}

fn reading_marks(readings: &Readings, x: &Domain, y: &Domain, plot: Area) -> Markup {
    let whisker = format!("chart-whisker {}", readings.tone.line());
    let class = format!("chart-point {}", readings.tone.line());
    html! {
        @for r in &readings.points {
            @if let Some(u) = x.inside(r.x) {
                (error_bar(&whisker, r, u, y, plot))
                @if let Some(v) = y.inside(r.y) {
                    (point(&class, readings.shape, plot.place((u, v))))
                }
            }
        }
    }
}

fn error_bar(class: &str, r: &Reading, u: f64, y: &Domain, plot: Area) -> Markup {
    let (Some(low), Some(high)) = (y.held(r.low), y.held(r.high)) else {
        return html! {};
    };
    let ((at, bottom), (_, top)) = (plot.place((u, low)), plot.place((u, high)));
    html! {
        (rule(class, (at, bottom), (at, top)))
        // An end that lies outside the panel has no cap.
        @for (end, value) in [(bottom, r.low), (top, r.high)] {
            @if y.inside(value).is_some() { (rule(class, (at - 3.0, end), (at + 3.0, end))) }
        }
    }
}

/// A sample of a band for the key.
pub(super) fn band_sample(band: &Band, area: Area) -> Markup {
    let depth = match band.level {
        Level::Outer => "chart-band-outer",
        Level::Inner => "chart-band-inner",
    };
    html! {
        (slab(&format!("{depth} {}", band.tone.fill()), area))
        (rule(&format!("chart-band-edge {}", band.tone.line()), (area.left, area.top), (area.right, area.top)))
        (rule(&format!("chart-band-edge {}", band.tone.line()), (area.left, area.bottom), (area.right, area.bottom)))
    }
}
