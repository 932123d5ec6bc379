//! The drawing of a flow from its plan.

use super::FlowChart;
use super::plan::{ARROW, BEND, Bough, Plan, Reach, Way, plan, two_line_width};
use crate::chart::{Along, Drawing, Size};
use crate::mark::{Area, Hold, c, labels, rule};
use crate::text::{LINE, fit, fit_strong, width, wrap};
use maud::{Markup, html};

/// A place in the plan: along the way, and across it.
type Spot = (f64, f64);

/// Turns spots of the plan into places of the drawing.
struct Sheet {
    way: Way,
    /// Where the plan's origin lies.
    origin: (f64, f64),
    /// Across, where losses end and where gains begin.
    out: f64,
    source: f64,
    width: f64,
    height: f64,
}

impl Sheet {
    fn place(&self, (along, across): Spot) -> (f64, f64) {
        match self.way {
            Way::Right => (self.origin.0 + along, self.origin.1 + across),
            Way::Down => (self.origin.0 + across, self.origin.1 + along),
        }
    }

    fn pair(&self, spot: Spot) -> String {
        let (x, y) = self.place(spot);
        format!("{} {}", c(x), c(y))
    }
}

/// Room for a branch's name on two lines and its volume, above or below the flow.
const NAMES: f64 = 3.0 * LINE + 6.0;
/// Length of a branch beyond the flow.
const STEM: f64 = BEND + 16.0;

impl Sheet {
    fn new(chart: &FlowChart, plan: &Plan, size: Size) -> Self {
        let gains = plan.reaches.iter().any(|r| !r.gains.is_empty());
        let losses = plan.reaches.iter().any(|r| !r.losses.is_empty());
        let (source, origin) = match plan.way {
            Way::Right => {
                let gains_above = if gains { NAMES + BEND } else { 0.0 };
                (
                    plan.near - NAMES - BEND,
                    (4.0, NAMES - plan.near + gains_above),
                )
            }
            Way::Down => {
                let left = names_of_gains(chart, plan, size) + if gains { STEM } else { 0.0 };
                (plan.near - STEM, (left - plan.near, 4.0))
            }
        };
        let out = plan.far + if losses { STEM } else { 6.0 };
        let height = match plan.way {
            Way::Right => origin.1 + out + if losses { NAMES + 8.0 } else { 8.0 },
            Way::Down => origin.1 + plan.length.max(40.0) + ARROW + 4.0,
        };
        Self {
            way: plan.way,
            origin,
            out,
            source,
            width: size.width(),
            height,
        }
    }
}

pub(super) fn draw(chart: &FlowChart, size: Size) -> Drawing {
    let plan = plan(chart, size);
    let sheet = Sheet::new(chart, &plan, size);
    let plot = Area {
        left: 2.0,
        top: 2.0,
        right: sheet.width - 2.0,
        bottom: sheet.height - 2.0,
    };
    let body = html! {
        (pieces(&plan, &sheet))
        @for reach in &plan.reaches { (station_text(chart, reach, &plan, &sheet)) }
        @for reach in &plan.reaches {
            @for bough in &reach.losses { (branch_text(chart, bough, true, &sheet)) }
            @for bough in &reach.gains { (branch_text(chart, bough, false, &sheet)) }
        }
        @if plan.reaches.is_empty() { (crate::rows::nothing_yet(plot)) }
    };
    let along = match plan.way {
        Way::Right => Along::X,
        Way::Down => Along::Y,
    };
    Drawing {
        size,
        height: sheet.height,
        plot,
        along,
        at: stops(&plan, &sheet),
        body,
    }
}

/// Room for the names of gains at the left of a flow that runs down.
fn names_of_gains(chart: &FlowChart, plan: &Plan, size: Size) -> f64 {
    let texts = plan
        .reaches
        .iter()
        .flat_map(|r| &r.gains)
        .map(|b| two_line_width(&branch_name(chart, b, false)) + 8.0);
    texts.fold(4.0, f64::max).min(size.width() * 0.3)
}

/// Name and volume of a branch in one text; the volume does not break.
fn branch_name(chart: &FlowChart, bough: &Bough, loss: bool) -> String {
    format!("{} {}", bough.label, signed(chart, bough, loss))
}

fn signed(chart: &FlowChart, bough: &Bough, loss: bool) -> String {
    let sign = if loss { "−" } else { "+" };
    format!("{sign}{}", chart.say(bough.volume)).replace(' ', "\u{a0}")
}

/// Where each event of the chart can be read.
fn stops(plan: &Plan, sheet: &Sheet) -> Vec<f64> {
    let at = |along: f64| match sheet.way {
        Way::Right => sheet.place((along, 0.0)).0,
        Way::Down => sheet.place((along, 0.0)).1,
    };
    let of = |reach: &Reach| {
        let gains = reach.gains.iter().map(|b| at(middle(b, false)));
        let losses = reach.losses.iter().map(|b| at(middle(b, true)));
        std::iter::once(at(reach.along))
            .chain(gains)
            .chain(losses)
            .collect::<Vec<_>>()
    };
    plan.reaches.iter().flat_map(of).collect()
}

/// The middle of a branch's stem along the way.
fn middle(bough: &Bough, loss: bool) -> f64 {
    let away = BEND + bough.thick() / 2.0;
    if loss {
        bough.along + away
    } else {
        bough.along - away
    }
}

fn pieces(plan: &Plan, sheet: &Sheet) -> Markup {
    let last = plan.reaches.len().saturating_sub(1);
    html! {
        @for reach in &plan.reaches {
            @for bough in reach.gains.iter() { (branch(gain_path(bough, sheet), bough)) }
            @for bough in reach.losses.iter() { (branch(loss_path(bough, sheet), bough)) }
        }
        @for (i, reach) in plan.reaches.iter().enumerate() {
            path class=(format!("chart-segment {} {}", reach.tone.fill(), reach.tone.line()))
                d=(reach_path(reach, i == last, sheet)) {}
        }
        @for reach in &plan.reaches {
            (rule("chart-gate", sheet.place((reach.along, reach.near - 2.0)), sheet.place((reach.along, reach.far + 2.0))))
        }
    }
}

fn branch(d: String, bough: &Bough) -> Markup {
    let class = format!(
        "chart-segment chart-branch {} {}",
        bough.tone.fill(),
        bough.tone.line()
    );
    html! { path class=(class) d=(d) {} }
}

/// The flow from one station to the next: its edges step where branches join and leave.
fn reach_path(reach: &Reach, last: bool, sheet: &Sheet) -> String {
    let mut near = vec![(reach.along, reach.near)];
    for gain in &reach.gains {
        near.push((gain.along, gain.far));
        near.push((gain.along, gain.near));
    }
    let mut far = vec![(reach.along, reach.far)];
    for loss in &reach.losses {
        far.push((loss.along, loss.far));
        far.push((loss.along, loss.near));
    }
    let (top, bottom) = (
        near.last().map_or(0.0, |p| p.1),
        far.last().map_or(0.0, |p| p.1),
    );
    near.push((reach.end, top));
    if last {
        near.push((reach.end + ARROW, f64::midpoint(top, bottom)));
    }
    near.push((reach.end, bottom));
    near.extend(far.into_iter().rev());
    let places: Vec<_> = near.into_iter().map(|spot| sheet.place(spot)).collect();
    crate::mark::path_through(&places, true)
}

/// A quarter turn as a Bézier curve (0.5523 of the radius to each handle).
fn turn(from: Spot, to: Spot, along_first: bool, sheet: &Sheet) -> String {
    const HANDLE: f64 = 0.5523;
    let (da, dx) = ((to.0 - from.0) * HANDLE, (to.1 - from.1) * HANDLE);
    let (h1, h2) = if along_first {
        ((from.0 + da, from.1), (to.0, to.1 - dx))
    } else {
        ((from.0, from.1 + dx), (to.0 - da, to.1))
    };
    format!("C{} {} {}", sheet.pair(h1), sheet.pair(h2), sheet.pair(to))
}

/// A loss bends away from the far side and ends in a point.
fn loss_path(b: &Bough, sheet: &Sheet) -> String {
    let (thick, deep) = (b.thick(), b.far + BEND);
    let (inner, outer) = (b.along + BEND, b.along + BEND + thick);
    format!(
        "M{}{}L{}L{}L{}L{}{}Z",
        sheet.pair((b.along, b.near)),
        turn((b.along, b.near), (outer, deep), true, sheet),
        sheet.pair((outer, sheet.out - 5.0)),
        sheet.pair((f64::midpoint(inner, outer), sheet.out)),
        sheet.pair((inner, sheet.out - 5.0)),
        sheet.pair((inner, deep)),
        turn((inner, deep), (b.along, b.far), false, sheet),
    )
}

/// A gain comes from the near side, with a notch where it begins.
fn gain_path(b: &Bough, sheet: &Sheet) -> String {
    let (thick, deep) = (b.thick(), b.near - BEND);
    let (inner, outer) = (b.along - BEND, b.along - BEND - thick);
    format!(
        "M{}{}L{}L{}L{}L{}{}Z",
        sheet.pair((b.along, b.far)),
        turn((b.along, b.far), (outer, deep), true, sheet),
        sheet.pair((outer, sheet.source)),
        sheet.pair((f64::midpoint(inner, outer), sheet.source + 5.0)),
        sheet.pair((inner, sheet.source)),
        sheet.pair((inner, deep)),
        turn((inner, deep), (b.along, b.near), false, sheet),
    )
}

fn station_text(chart: &FlowChart, reach: &Reach, plan: &Plan, sheet: &Sheet) -> Markup {
    let value = chart.say(reach.volume);
    match sheet.way {
        Way::Right => {
            let (x, top) = sheet.place((reach.along, plan.near));
            let lines = wrap(reach.label, reach.room, 2);
            let first = top - 10.0 - LINE * lines.len() as f64;
            let (_, own) = sheet.place((reach.along, reach.near));
            html! {
                (rule("chart-leader", (x, top - 6.0), (x, own)))
                (labels("chart-plain", x, first, Hold::Start, &lines))
                (labels("chart-strong", x, top - 10.0, Hold::Start, &[fit_strong(&value, reach.room)]))
            }
        }
        Way::Down => {
            let (x, y) = sheet.place((reach.along, sheet.out + 8.0));
            let (own, _) = sheet.place((reach.along, reach.far));
            let name = wrap(reach.label, sheet.width - x - 2.0, 2);
            let below = y + LINE * (name.len() + 1) as f64 - 3.0;
            html! {
                (rule("chart-leader", (own, y), (x - 3.0, y)))
                (labels("chart-plain", x, y + LINE - 3.0, Hold::Start, &name))
                (labels("chart-strong", x, below, Hold::Start, &[fit_strong(&value, sheet.width - x - 2.0)]))
            }
        }
    }
}

fn branch_text(chart: &FlowChart, bough: &Bough, loss: bool, sheet: &Sheet) -> Markup {
    let along = middle(bough, loss);
    match sheet.way {
        Way::Right => {
            let (x, y) = sheet.place((along, if loss { sheet.out } else { sheet.source }));
            let mut lines = wrap(bough.label, bough.room - 6.0, 2);
            lines.push(fit(&signed(chart, bough, loss), bough.room - 6.0));
            let half = lines.iter().map(|l| width(l)).fold(0.0, f64::max) / 2.0;
            let x = x.clamp(half + 1.0, (sheet.width - half - 1.0).max(half + 1.0));
            let first = if loss {
                y + LINE
            } else {
                y - LINE * (lines.len() - 1) as f64 - 6.0
            };
            labels("", x, first, Hold::Middle, &lines)
        }
        Way::Down => {
            let (x, y) = sheet.place((
                along,
                if loss {
                    sheet.out + 8.0
                } else {
                    sheet.source - 6.0
                },
            ));
            let (hold, room) = if loss {
                (Hold::Start, sheet.width - x - 2.0)
            } else {
                (Hold::End, x - 2.0)
            };
            let lines = wrap(&branch_name(chart, bough, loss), room, 2);
            let first = y + 4.0 - LINE / 2.0 * lines.len().saturating_sub(1) as f64;
            labels("", x, first, hold, &lines)
        }
    }
}
