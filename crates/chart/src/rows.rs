//! Rows below one another that share a level axis: labels at the left or above,
//! values at the right, ticks below.

use crate::chart::{Along, Drawing, Size};
use crate::mark::{Area, Hold, label, labels, rule};
use crate::scale::{Axis, Domain};
use crate::text::{LINE, centre_within, fit, fit_strong, width, width_strong, words, wrap};
use maud::{Markup, html};

/// Room below each row.
const GAP: f64 = 10.0;
/// Height of a group's heading.
const GROUP: f64 = 19.0;

/// What is written about one row.
#[derive(Debug, Clone, Default)]
pub(crate) struct RowText {
    /// Written above the first of the rows that share it; may be empty.
    pub(crate) group: String,
    /// Said beside the group's name, or below it if there is no room.
    pub(crate) remark: String,
    pub(crate) label: String,
    pub(crate) value: String,
}

/// Where rows begin and end across the drawing.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Across {
    pub(crate) left: f64,
    pub(crate) right: f64,
    /// Labels and values stand beside the rows, not above them.
    pub(crate) beside: bool,
    size: Size,
}

impl Across {
    /// Labels and values stand beside the rows if half of the width is left for these.
    pub(crate) fn new(rows: &[RowText], size: Size) -> Self {
        let whole = size.width();
        let most = match size {
            Size::Wide => whole * 0.3,
            Size::Narrow => whole * 0.25,
        };
        let longest = rows
            .iter()
            .flat_map(|r| words(&r.label))
            .map(width)
            .fold(0.0, f64::max);
        let names = rows.iter().map(|r| width(&r.label)).fold(0.0, f64::max);
        let values = rows
            .iter()
            .map(|r| width_strong(&r.value))
            .fold(0.0, f64::max);
        // A wide drawing breaks long labels; a narrow one puts them above.
        let names = if size == Size::Wide && longest <= most {
            names.min(most)
        } else {
            names
        };
        let beside =
            names <= most && names + values <= whole * if size == Size::Wide { 0.56 } else { 0.46 };
        if beside {
            Self {
                left: names + 12.0,
                right: whole - values - if values > 0.0 { 12.0 } else { 14.0 },
                beside,
                size,
            }
        } else {
            Self {
                left: 8.0,
                right: whole - 14.0,
                beside,
                size,
            }
        }
    }

    fn label_lines(&self, text: &str) -> Vec<String> {
        if self.beside {
            wrap(text, self.left - 8.0, 3)
        } else {
            Vec::new()
        }
    }
}

/// The place of one row: the middle of its bar, and the top of what belongs to it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Place {
    pub(crate) top: f64,
    pub(crate) middle: f64,
    group: Option<f64>,
}

/// Rows that have their places.
pub(crate) struct Placed {
    pub(crate) places: Vec<Place>,
    pub(crate) bottom: f64,
}

/// Puts rows below one another; each asks for its height and for room above its bar.
pub(crate) fn place(
    rows: &[RowText],
    across: &Across,
    top: f64,
    heights: &[f64],
    above: &[f64],
) -> Placed {
    let mut at = top;
    let mut group = "";
    let mut places = Vec::with_capacity(rows.len());
    for ((row, &height), &above) in rows.iter().zip(heights).zip(above) {
        let begins = row.group != group && !row.group.is_empty();
        group = &row.group;
        if begins {
            at += if places.is_empty() {
                GROUP
            } else {
                GROUP + 6.0
            };
        }
        let heading = begins.then_some(at - 5.0);
        if begins && !remark_fits(row, across.size) {
            at += LINE * remark_lines(row, across.size).len() as f64;
        }
        let start = at;
        at += if across.beside {
            above
        } else {
            LINE + 3.0 + above
        };
        let text = LINE * across.label_lines(&row.label).len() as f64;
        let tall = height.max(text);
        places.push(Place {
            top: start,
            middle: at + tall / 2.0,
            group: heading,
        });
        at += tall + GAP;
    }
    Placed {
        places,
        bottom: if rows.is_empty() {
            top + 40.0
        } else {
            at - GAP + 6.0
        },
    }
}

/// Whether a group's remark has room beside its name.
fn remark_fits(row: &RowText, size: Size) -> bool {
    width_strong(&row.group) + 16.0 + width(&row.remark) <= size.width() - 4.0
}

fn remark_lines(row: &RowText, size: Size) -> Vec<String> {
    wrap(&row.remark, size.width() - 4.0, 3)
}

/// A group's name and its remark.
fn group_head(row: &RowText, y: f64, size: Size) -> Markup {
    let whole = size.width();
    html! {
        (label("chart-group", 2.0, y, Hold::Start, &fit_strong(&row.group, whole - 4.0)))
        @if remark_fits(row, size) {
            (label("chart-halo", whole - 2.0, y, Hold::End, &row.remark))
        } @else {
            (labels("chart-halo", 2.0, y + LINE, Hold::Start, &remark_lines(row, size)))
        }
    }
}

/// Labels, values, headings.
pub(crate) fn texts(rows: &[RowText], across: &Across, placed: &Placed) -> Markup {
    html! {
        @for (row, place) in rows.iter().zip(&placed.places) {
            @if let Some(y) = place.group { (group_head(row, y, across.size)) }
            @if across.beside { (beside(row, across, place)) } @else { (above(row, across, place)) }
        }
    }
}

fn beside(row: &RowText, across: &Across, place: &Place) -> Markup {
    let lines = across.label_lines(&row.label);
    let first = place.middle + 4.0 - LINE / 2.0 * lines.len().saturating_sub(1) as f64;
    html! {
        (labels("chart-plain", 2.0, first, Hold::Start, &lines))
        (label("chart-strong", across.size.width() - 2.0, place.middle + 4.0, Hold::End, &row.value))
    }
}

fn above(row: &RowText, across: &Across, place: &Place) -> Markup {
    let whole = across.size.width();
    let value = fit_strong(&row.value, whole * 0.55);
    let room = whole - width_strong(&value) - 16.0;
    html! {
        (label("chart-plain", 2.0, place.top + LINE - 3.0, Hold::Start, &fit(&row.label, room)))
        (label("chart-strong", whole - 2.0, place.top + LINE - 3.0, Hold::End, &value))
    }
}

/// Upright lines at the ticks, behind the rows.
pub(crate) fn grid(domain: &Domain, plot: Area) -> Markup {
    html! {
        @for tick in &domain.ticks {
            @if let Some(share) = domain.inside(tick.value) {
                @let (x, _) = plot.place((share, 0.0));
                (rule("chart-grid", (x, plot.top), (x, plot.bottom)))
            }
        }
    }
}

/// The axis below the rows and its title.
pub(crate) fn axis_below(axis: &Axis, domain: &Domain, plot: Area, whole: f64) -> Markup {
    let title = fit(&axis.title(), whole - 8.0);
    let x = centre_within(
        f64::midpoint(plot.left, plot.right),
        &title,
        2.0,
        whole - 2.0,
    );
    html! {
        (rule("chart-axis", (plot.left, plot.bottom), (plot.right, plot.bottom)))
        (tick_labels(domain, plot, whole))
        (label("", x, plot.bottom + 2.0 * LINE + 4.0, Hold::Middle, &title))
    }
}

/// Height of the axis below.
pub(crate) const AXIS: f64 = 2.0 * LINE + 10.0;

/// Tick marks, and as many labels as stand apart: every one, every second, and so on.
pub(crate) fn tick_labels(domain: &Domain, plot: Area, whole: f64) -> Markup {
    let all: Vec<(f64, f64, String)> = domain
        .ticks
        .iter()
        .filter_map(|tick| {
            let x = plot.left + domain.inside(tick.value)? * plot.width();
            let text = fit(&tick.label, whole / 2.0);
            Some((x, centre_within(x, &text, 1.0, whole - 1.0), text))
        })
        .collect();
    let stride = (1..all.len().max(2))
        .find(|&n| stand_apart(&all, n))
        .unwrap_or(all.len().max(1));
    html! {
        @for (x, _, _) in &all { (rule("chart-axis", (*x, plot.bottom), (*x, plot.bottom + 4.0))) }
        @for (_, middle, text) in all.iter().step_by(stride) {
            (label("", *middle, plot.bottom + LINE + 2.0, Hold::Middle, text))
        }
    }
}

fn stand_apart(all: &[(f64, f64, String)], stride: usize) -> bool {
    let mut end = f64::NEG_INFINITY;
    all.iter().step_by(stride).all(|(_, middle, text)| {
        let half = width(text) / 2.0;
        let free = middle - half >= end;
        end = middle + half + 6.0;
        free
    })
}

/// A drawing of rows: the reading places lie along the height.
pub(crate) fn drawing(
    size: Size,
    plot: Area,
    placed: &Placed,
    height: f64,
    body: Markup,
) -> Drawing {
    Drawing {
        size,
        height,
        plot,
        along: Along::Y,
        at: placed.places.iter().map(|p| p.middle).collect(),
        body,
    }
}

/// What stands in place of rows where there are none.
pub(crate) fn nothing_yet(plot: Area) -> Markup {
    let (x, y) = plot.place((0.5, 0.5));
    label("", x, y + 4.0, Hold::Middle, "no figures yet")
}
