//! The frame of a course: time axis, moments, and the panels below one another.

use super::CourseChart;
use super::beside::{self, Beside};
use super::data::Panel;
use super::legend::{self, Key};
use super::panel::{self, Frame};
use crate::chart::{Along, Drawing, Size};
use crate::mark::{Area, Hold, label, rule};
use crate::scale::Domain;
use crate::text::{LINE, centre_within, fit, width};
use maud::{Markup, html};

/// Room between two panels.
const GAP: f64 = 12.0;

pub(super) fn time_domain(chart: &CourseChart, about: usize) -> Domain {
    let lines = |p: &Panel| {
        p.lines
            .iter()
            .flat_map(|l| l.points.iter().map(|q| q.0))
            .collect::<Vec<_>>()
    };
    let bands = |p: &Panel| {
        p.bands
            .iter()
            .flat_map(|b| b.points.iter().map(|q| q.x))
            .collect::<Vec<_>>()
    };
    let read = |p: &Panel| {
        p.readings
            .iter()
            .flat_map(|r| r.points.iter().map(|q| q.x))
            .collect::<Vec<_>>()
    };
    let spots = |p: &Panel| p.spots.iter().map(|s| s.x).collect::<Vec<_>>();
    let data = chart
        .panels
        .iter()
        .flat_map(|p| [lines(p), bands(p), read(p), spots(p)].concat());
    Domain::within(
        &chart.x,
        data.chain(chart.markers.iter().map(|m| m.x)),
        about,
    )
}

/// A panel with its domain, its key, and its place.
struct Placed<'a> {
    panel: &'a Panel,
    y: Domain,
    key: Key<'a>,
    beside: Vec<Beside>,
    frame: Frame,
}

pub(super) fn draw(chart: &CourseChart, size: Size) -> Drawing {
    let x = time_domain(chart, if size == Size::Wide { 8 } else { 5 });
    let height = panel_height(size, chart.panels.len());
    let domains: Vec<Domain> = chart
        .panels
        .iter()
        .map(|p| panel::domain(p, height))
        .collect();
    let (left, right) = gutters(chart, &domains, &x, height, size);
    let moments = moments(chart, &x, left, right, size);
    let top = moments.height;
    let first = Area {
        left,
        top,
        right,
        bottom: top + height,
    };
    let placed = place_panels(chart, domains, &x, first, size);
    let bottom = placed.last().map_or(top + 40.0, |p| p.frame.plot.bottom);
    let plot = Area { bottom, ..first };
    let body = html! {
        (moments.draw(bottom))
        @for p in &placed { (panel::ground(p.panel, &p.y, &x, &p.frame)) (p.key.draw(2.0, p.frame.title_y + 4.0)) }
        @for p in &placed {
            (panel::figures(p.panel, &p.y, &x, &p.frame))
            (beside::draw(&p.beside, p.frame.plot.top - first.top))
        }
        (time_axis(chart, &x, plot, size))
    };
    let at = super::reading::places(chart)
        .into_iter()
        .map(|v| left + x.inside(v).unwrap_or(0.0) * (right - left))
        .collect();
    Drawing {
        size,
        height: bottom + 2.0 * LINE + 8.0,
        plot,
        along: Along::X,
        at,
        body,
    }
}

/// Panels below one another, each as high and as wide as the first would be without a title.
fn place_panels<'a>(
    chart: &'a CourseChart,
    domains: Vec<Domain>,
    x: &Domain,
    first: Area,
    size: Size,
) -> Vec<Placed<'a>> {
    let mut top = first.top;
    let mut placed = Vec::new();
    for (panel, y) in chart.panels.iter().zip(domains) {
        let ends = legend::takes_ends(panel, x, &y, size, first.height());
        let beside = beside::place(panel, x, &y, first);
        let key = Key::new(panel, ends, &beside, size.width() - 4.0);
        // Without a key the highest tick label would touch the title.
        let plot_top = top + LINE + 2.0 + key.height.max(6.0);
        let plot = Area {
            top: plot_top,
            bottom: plot_top + first.height(),
            ..first
        };
        let frame = Frame {
            plot,
            title_y: top + LINE - 3.0,
            ends,
            size,
        };
        placed.push(Placed {
            panel,
            y,
            key,
            beside,
            frame,
        });
        top = plot.bottom + GAP;
    }
    placed
}

fn panel_height(size: Size, count: usize) -> f64 {
    match (size, count) {
        (Size::Wide, 0..=1) => 200.0,
        (Size::Wide, 2) => 150.0,
        (Size::Wide, _) => 120.0,
        (Size::Narrow, 0..=1) => 170.0,
        (Size::Narrow, _) => 115.0,
    }
}

/// The plots' left and right ends: room for tick labels, and for labels at line ends.
fn gutters(
    chart: &CourseChart,
    domains: &[Domain],
    x: &Domain,
    height: f64,
    size: Size,
) -> (f64, f64) {
    let ticks = domains
        .iter()
        .flat_map(|d| d.ticks.iter().map(|t| width(&t.label)));
    let left = ticks.fold(16.0, f64::max).min(size.width() * 0.3) + 10.0;
    let ends = chart
        .panels
        .iter()
        .zip(domains)
        .filter(|(panel, y)| legend::takes_ends(panel, x, y, size, height))
        .flat_map(|(panel, _)| legend::end_texts(panel))
        .map(|text| width(&text) + 16.0);
    let right = ends.fold(12.0, f64::max).min(size.width() * 0.26);
    (left, size.width() - right)
}

/// The labels of moments above the panels, in as many rows as they need, at most three.
struct Moments {
    labels: Vec<(f64, f64, String)>,
    xs: Vec<f64>,
    height: f64,
}

fn moments(chart: &CourseChart, x: &Domain, left: f64, right: f64, size: Size) -> Moments {
    let mut sorted: Vec<_> = chart
        .markers
        .iter()
        .filter_map(|m| Some((left + x.inside(m.x)? * (right - left), m.label.as_str())))
        .collect();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut row_ends = [f64::NEG_INFINITY; 3];
    let mut placed = Vec::new();
    for (at, text) in &sorted {
        let text = fit(text, size.width() * 0.6);
        let middle = centre_within(*at, &text, 2.0, size.width() - 2.0);
        let half = width(&text) / 2.0;
        // A label that no row has room for is dropped: its line and its note stay.
        let free = row_ends
            .iter_mut()
            .enumerate()
            .find(|(_, end)| **end + 8.0 < middle - half);
        if let Some((row, end)) = free {
            *end = middle + half;
            placed.push((middle, row, text));
        }
    }
    let rows = placed.iter().map(|p| p.1 + 1).max().unwrap_or(0) as f64;
    let labels = placed
        .into_iter()
        .map(|(middle, row, text)| (middle, LINE * (rows - row as f64) - 3.0, text))
        .collect();
    Moments {
        labels,
        xs: sorted.iter().map(|m| m.0).collect(),
        height: rows * LINE + if rows > 0.0 { 4.0 } else { 0.0 },
    }
}

impl Moments {
    fn draw(&self, bottom: f64) -> Markup {
        html! {
            @for &x in &self.xs { (rule("chart-marker", (x, self.height - 2.0), (x, bottom))) }
            @for (x, y, text) in &self.labels { (label("chart-plain", *x, *y, Hold::Middle, text)) }
        }
    }
}

fn time_axis(chart: &CourseChart, x: &Domain, plot: Area, size: Size) -> Markup {
    let (title, title_y) = (chart.x.title(), plot.bottom + 2.0 * LINE + 3.0);
    let title = fit(&title, size.width() - 16.0);
    let title_x = centre_within(
        f64::midpoint(plot.left, plot.right),
        &title,
        2.0,
        size.width() - 2.0,
    );
    html! {
        (crate::rows::tick_labels(x, plot, size.width()))
        (label("", title_x, title_y, Hold::Middle, &title))
    }
}
