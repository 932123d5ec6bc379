//! Which label belongs to what: at the ends of lines where there is room, else in a key.

use super::beside::Beside;
use super::data::{Band, Line, Panel, Readings, Spot};
use super::panel::{Frame, band_sample, line_parts};
use crate::chart::Size;
use crate::mark::{Area, Hold, label, point, rule, slab};
use crate::number::drawable;
use crate::scale::Domain;
use crate::text::{LINE, fit, spread, width};
use crate::tone::Shape;
use maud::{Markup, html};

/// Length of a sample in the key.
const SAMPLE: f64 = 26.0;
/// Least distance of two labels at line ends.
const STEP: f64 = 13.0;

/// Whether a panel's lines and level lines carry their labels at the right end.
///
/// They do not on a narrow drawing, nor if there are more than have room, nor if a
/// line ends so early that its label would stand far from it.
pub(super) fn takes_ends(panel: &Panel, x: &Domain, y: &Domain, size: Size, height: f64) -> bool {
    let wanted = end_texts(panel).len();
    let reach = |line: &Line| {
        line_parts(line, x, y)
            .last()
            .and_then(|part| part.last().copied())
    };
    let near = panel.lines.iter().filter_map(reach).all(|(u, _)| u > 0.9);
    !panel.labels_inside && size == Size::Wide && near && STEP * wanted as f64 <= height
}

/// The labels that line ends would carry.
pub(super) fn end_texts(panel: &Panel) -> Vec<String> {
    let lines = panel.lines.iter().map(|l| l.label.clone());
    let levels = panel.references.iter().map(|r| r.label.clone());
    lines
        .chain(levels)
        .filter(|text| !text.is_empty())
        .collect()
}

/// Whether nothing of a panel can be drawn.
pub(super) fn is_empty(panel: &Panel, x: &Domain, y: &Domain) -> bool {
    let line = |l: &Line| !line_parts(l, x, y).is_empty();
    let band = |b: &Band| {
        b.points
            .iter()
            .any(|p| x.inside(p.x).is_some() && y.held(p.low).is_some())
    };
    let read = |r: &Readings| {
        r.points
            .iter()
            .any(|p| x.inside(p.x).is_some() && y.inside(p.y).is_some())
    };
    let spot = |s: &Spot| x.inside(s.x).is_some() && y.inside(s.y).is_some();
    !(panel.spots.iter().any(spot)
        || panel.lines.iter().any(line)
        || panel.bands.iter().any(band)
        || panel.readings.iter().any(read))
}

/// A label at the right end of a panel and the place that it belongs to.
struct End<'a> {
    text: &'a str,
    class: String,
    from: (f64, f64),
}

pub(super) fn end_labels(panel: &Panel, x: &Domain, y: &Domain, frame: &Frame) -> Markup {
    if !frame.ends {
        return html! {};
    }
    let plot = frame.plot;
    let mut ends = ends(panel, x, y, plot);
    ends.sort_by(|a, b| a.from.1.total_cmp(&b.from.1));
    let wishes: Vec<f64> = ends.iter().map(|e| e.from.1).collect();
    let places = spread(&wishes, STEP, plot.top, plot.bottom).unwrap_or_default();
    let room = frame.size.width() - plot.right - 14.0;
    html! {
        @for (end, &at) in ends.iter().zip(&places) {
            @if (at - end.from.1).abs() > 3.0 || plot.right - end.from.0 > 4.0 {
                (rule("chart-leader", (end.from.0 + 2.0, end.from.1), (plot.right + 9.0, at)))
            }
            (label(&end.class, plot.right + 12.0, at + 4.0, Hold::Start, &fit(end.text, room)))
        }
    }
}

fn ends<'a>(panel: &'a Panel, x: &Domain, y: &Domain, plot: Area) -> Vec<End<'a>> {
    let lines = panel.lines.iter().filter_map(|line| {
        let last = *line_parts(line, x, y).last()?.last()?;
        Some(End {
            text: &line.label,
            class: line.tone.text(),
            from: plot.place(last),
        })
    });
    let levels = panel.references.iter().filter_map(|r| {
        let from = plot.place((1.0, y.inside(r.y)?));
        Some(End {
            text: &r.label,
            class: "chart-plain".to_owned(),
            from,
        })
    });
    lines
        .chain(levels)
        .filter(|end| !end.text.is_empty())
        .collect()
}

/// What an entry of the key shows beside its label.
enum Sample<'a> {
    Line(String),
    Band(&'a Band),
    Reading(&'a Readings),
    Stretch,
    Spot(Shape),
}

/// The key of a panel: samples and labels in rows.
pub(super) struct Key<'a> {
    entries: Vec<(f64, f64, Sample<'a>, String)>,
    pub(super) height: f64,
}

impl<'a> Key<'a> {
    /// Lays the entries out; what stands at line ends is left out.
    pub(super) fn new(panel: &'a Panel, ends: bool, beside: &[Beside], room: f64) -> Self {
        let mut key = Self {
            entries: Vec::new(),
            height: 0.0,
        };
        let mut at = (0.0, 0.0);
        for (sample, text) in samples(panel, ends, beside) {
            let text = fit(&text, room - SAMPLE - 6.0);
            let long = SAMPLE + 6.0 + width(&text) + 14.0;
            if at.0 > 0.0 && at.0 + long - 14.0 > room {
                at = (0.0, at.1 + LINE + 2.0);
            }
            key.entries.push((at.0, at.1, sample, text));
            key.height = at.1 + LINE + 8.0;
            at.0 += long;
        }
        key
    }

    pub(super) fn draw(&self, left: f64, top: f64) -> Markup {
        html! {
            @for (x, y, sample, text) in &self.entries {
                @let middle = top + y + LINE / 2.0 + 1.0;
                (sample.draw(left + x, middle))
                (label("chart-halo", left + x + SAMPLE + 6.0, middle + 4.0, Hold::Start, text))
            }
        }
    }
}

fn samples<'a>(panel: &'a Panel, ends: bool, beside: &[Beside]) -> Vec<(Sample<'a>, String)> {
    let readings = panel
        .readings
        .iter()
        .map(|r| (Sample::Reading(r), r.label.clone()));
    let lines = panel.lines.iter().filter(|_| !ends).map(|l| {
        (
            Sample::Line(format!("{} {}", l.stroke.class(), l.tone.line())),
            l.label.clone(),
        )
    });
    let together = panel.bands_mean.as_ref();
    let bands = panel
        .bands
        .iter()
        .take(if together.is_some() { 1 } else { usize::MAX })
        .map(|b| (Sample::Band(b), together.unwrap_or(&b.label).clone()));
    let stretches = panel
        .stretches
        .iter()
        .map(|s| (Sample::Stretch, s.label.clone()));
    let levels = panel.references.iter().filter(|_| !ends);
    let levels = levels.map(|r| (Sample::Line("chart-reference".to_owned()), r.label.clone()));
    let spots = panel
        .spots
        .iter()
        .filter(|s| drawable(s.x) && drawable(s.y))
        .map(|s| (Sample::Spot(s.shape), s.label.clone()));
    // Bands and readings are never labelled in the panel, whatever else has their name.
    let marked = lines.chain(levels).chain(stretches).chain(spots);
    let marked = marked.filter(|(_, text)| !beside.iter().any(|b| b.whole == *text));
    readings
        .chain(bands)
        .chain(marked)
        .filter(|(_, text)| !text.is_empty())
        .collect()
}

impl Sample<'_> {
    fn draw(&self, x: f64, y: f64) -> Markup {
        match self {
            Self::Line(class) => rule(class, (x, y), (x + SAMPLE, y)),
            Self::Band(band) => band_sample(
                band,
                Area {
                    left: x,
                    top: y - 5.0,
                    right: x + SAMPLE,
                    bottom: y + 5.0,
                },
            ),
            Self::Stretch => {
                let area = Area {
                    left: x,
                    top: y - 5.0,
                    right: x + SAMPLE,
                    bottom: y + 5.0,
                };
                html! {
                    (slab("chart-aim", area))
                    @for at in [area.top, area.bottom] { (rule("chart-aim-edge", (x, at), (area.right, at))) }
                }
            }
            Self::Spot(shape) => point("chart-spot", *shape, (x + SAMPLE / 2.0, y)),
            Self::Reading(readings) => {
                let middle = x + SAMPLE / 2.0;
                html! {
                    (rule(&format!("chart-whisker {}", readings.tone.line()), (middle, y - 6.5), (middle, y + 6.5)))
                    (point(&format!("chart-point {}", readings.tone.line()), readings.shape, (middle, y)))
                }
            }
        }
    }
}
