//! What a course holds at one moment, and as rows and columns.

use super::CourseChart;
use super::data::{Band, BandPoint, Line, Panel, Reading, Readings};
use crate::grid::{Cell, Grid};
use crate::number::{drawable, show, with_reach, with_unit};
use crate::scale::{Axis, Scale};

/// The most moments that a tip stops at; the file holds all.
const MOST_PLACES: usize = 240;

/// The moments at which values can be read: all readings, and evenly chosen others.
pub(super) fn places(chart: &CourseChart) -> Vec<f64> {
    let shown = super::draw::time_domain(chart, 5);
    let visible = |x: &f64| shown.inside(*x).is_some();
    let read = sorted(
        chart
            .panels
            .iter()
            .flat_map(reading_times)
            .filter(visible)
            .collect(),
    );
    let all = sorted(
        chart
            .panels
            .iter()
            .flat_map(times)
            .filter(visible)
            .collect(),
    );
    let stride = all.len().div_ceil(MOST_PLACES).max(1);
    let last = all.last().copied();
    let mut kept: Vec<f64> = all.into_iter().step_by(stride).chain(last).collect();
    kept.extend(read.iter().take(MOST_PLACES));
    sorted(kept)
}

fn times(panel: &Panel) -> impl Iterator<Item = f64> + '_ {
    let lines = panel
        .lines
        .iter()
        .flat_map(|l| l.points.iter().map(|p| p.0));
    let bands = panel
        .bands
        .iter()
        .flat_map(|b| b.points.iter().map(|p| p.x));
    lines.chain(bands).chain(reading_times(panel))
}

fn reading_times(panel: &Panel) -> impl Iterator<Item = f64> + '_ {
    panel
        .readings
        .iter()
        .flat_map(|r| r.points.iter().map(|p| p.x))
}

fn sorted(mut xs: Vec<f64>) -> Vec<f64> {
    xs.retain(|&x| drawable(x));
    xs.sort_by(f64::total_cmp);
    xs.dedup_by(|a, b| same(*a, *b));
    xs
}

/// The same moment: one number, save that nought has two signs.
fn same(a: f64, b: f64) -> bool {
    a.total_cmp(&b).is_eq() || (a - b).abs() < f64::MIN_POSITIVE
}

/// Names and values of a panel at a moment.
pub(super) fn lines_at(panel: &Panel, x_axis: &Axis, x: f64) -> Vec<(String, String)> {
    let axis = &panel.axis;
    let say = |text: String| with_unit(&text, &axis.unit);
    let name = |label: &str| qualified(axis, label);
    let readings = panel.readings.iter().filter_map(|r| {
        reading_at(r, x).map(|p| {
            (
                name(&r.label),
                say(with_reach(p.low, p.y, p.high, axis.decimals)),
            )
        })
    });
    let lines = panel.lines.iter().filter_map(|l| {
        line_at(l, (x_axis.scale, axis.scale), x).map(|y| (name(&l.label), axis.say(y)))
    });
    let bands = panel.bands.iter().filter_map(|b| {
        let ends = band_at(b, (x_axis.scale, axis.scale), x)?;
        let [low, high] = [ends.0, ends.1].map(|end| show(end, axis.decimals));
        Some((name(&b.label), say(format!("{low}–{high}"))))
    });
    readings.chain(lines).chain(bands).collect()
}

/// "gravity, forecast", unless one says the other.
fn qualified(axis: &Axis, label: &str) -> String {
    match (axis.label.as_str(), label) {
        ("", label) => label.to_owned(),
        (axis, "") => axis.to_owned(),
        (axis, label) if axis == label => label.to_owned(),
        (axis, label) => format!("{axis}, {label}"),
    }
}

fn reading_at(readings: &Readings, x: f64) -> Option<&Reading> {
    readings
        .points
        .iter()
        .find(|p| same(p.x, x) && drawable(p.y))
}

/// A line's value between its neighbouring points, straight as it is drawn.
fn line_at(line: &Line, scales: (Scale, Scale), x: f64) -> Option<f64> {
    line.points
        .iter()
        .find(|p| same(p.0, x) && drawable(p.1))
        .map(|p| p.1)
        .or_else(|| {
            line.points
                .windows(2)
                .find_map(|pair| between(pair.first()?, pair.get(1)?, scales, x))
        })
}

fn band_at(band: &Band, scales: (Scale, Scale), x: f64) -> Option<(f64, f64)> {
    let edge = |of: fn(&BandPoint) -> f64| {
        let points = band.points.iter().map(|p| (p.x, of(p))).collect();
        line_at(
            &Line::new("", points, band.tone, Default::default()),
            scales,
            x,
        )
    };
    Some((edge(|p| p.low)?, edge(|p| p.high)?))
}

fn between(a: &(f64, f64), b: &(f64, f64), scales: (Scale, Scale), x: f64) -> Option<f64> {
    let holds = (a.0 <= x && x <= b.0) || (b.0 <= x && x <= a.0);
    if !holds || same(a.0, b.0) || ![a.0, a.1, b.0, b.1].into_iter().all(drawable) {
        return None;
    }
    let t = match scales.0 {
        Scale::Linear => (x - a.0) / (b.0 - a.0),
        Scale::Log => (x / a.0).ln() / (b.0 / a.0).ln(),
    };
    let y = match scales.1 {
        Scale::Linear => a.1 + t * (b.1 - a.1),
        Scale::Log => a.1 * (b.1 / a.1).powf(t),
    };
    drawable(y).then_some(y)
}

/// Every moment with every figure that was given for it; none is filled in.
pub(super) fn grid(chart: &CourseChart) -> Grid {
    let xs = sorted(chart.panels.iter().flat_map(times).collect());
    let many = chart.panels.len() > 1;
    let mut columns = vec![chart.x.column(&chart.x.label)];
    let mut rows: Vec<Vec<Cell>> = xs.iter().map(|&x| vec![Cell::on(&chart.x, x)]).collect();
    for panel in &chart.panels {
        for column in columns_of(panel) {
            let name = if many {
                qualified(&panel.axis, &column.name)
            } else {
                column.name
            };
            columns.push(panel.axis.column(&name));
            fill(&mut rows, &xs, column.points, panel.axis.decimals);
        }
    }
    Grid { columns, rows }
}

/// A column: its name and its figures by moment.
struct Column {
    name: String,
    points: Vec<(f64, f64)>,
}

fn columns_of(panel: &Panel) -> Vec<Column> {
    let mut all = Vec::new();
    let mut add = |name: String, points: Vec<(f64, f64)>| all.push(Column { name, points });
    for r in &panel.readings {
        add(
            r.label.clone(),
            r.points.iter().map(|p| (p.x, p.y)).collect(),
        );
        if r.points
            .iter()
            .any(|p| p.low.is_finite() || p.high.is_finite())
        {
            add(
                format!("{} low", r.label),
                r.points.iter().map(|p| (p.x, p.low)).collect(),
            );
            add(
                format!("{} high", r.label),
                r.points.iter().map(|p| (p.x, p.high)).collect(),
            );
        }
    }
    for l in &panel.lines {
        add(l.label.clone(), l.points.clone());
    }
    for b in &panel.bands {
        add(
            format!("{} low", b.label),
            b.points.iter().map(|p| (p.x, p.low)).collect(),
        );
        add(
            format!("{} high", b.label),
            b.points.iter().map(|p| (p.x, p.high)).collect(),
        );
    }
    all
}

/// Adds a cell to each row; the last figure given for a moment counts.
fn fill(rows: &mut [Vec<Cell>], xs: &[f64], mut points: Vec<(f64, f64)>, decimals: Option<usize>) {
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut points = points.iter().filter(|p| drawable(p.0)).peekable();
    for (row, &x) in rows.iter_mut().zip(xs) {
        let mut cell = Cell::Blank;
        while let Some(p) = points.next_if(|p| p.0 <= x || same(p.0, x)) {
            cell = Cell::number(p.1, decimals);
        }
        row.push(cell);
    }
}
