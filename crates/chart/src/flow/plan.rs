//! Where the flow and its branches lie, along the way and across it.
//!
//! The plan knows nothing of level and upright: a wide drawing runs from left to
//! right, a narrow one from top to bottom, and both follow the same plan.

use super::{Branch, FlowChart, Station, counted};
use crate::chart::Size;
use crate::text::{LINE, width, words, wrap};
use crate::tone::Tone;

/// Inner radius of a bend.
pub(super) const BEND: f64 = 8.0;
/// Room for the arrow at the end of the flow.
pub(super) const ARROW: f64 = 12.0;

/// Thickness of the largest volume where the flow runs level.
const LEVEL: f64 = 84.0;
/// What joins at one side and leaves at the other makes a flow wander across: as many times
/// its own thickness leave room for the names beside a flow that runs down.
const DRIFT: f64 = 1.5;
/// The longest name of a station that surely stands on one line of a narrow drawing.
const NAME: f64 = 110.0;

/// Which way the flow runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Way {
    /// From left to right; losses leave downward.
    Right,
    /// From top to bottom; losses leave to the right.
    Down,
}

/// A branch: the slice of the flow that it takes or brings, and where.
#[derive(Debug, Clone)]
pub(super) struct Bough<'a> {
    pub(super) label: &'a str,
    pub(super) volume: f64,
    /// Where along the way the bend touches the flow.
    pub(super) along: f64,
    /// Its slice across the flow.
    pub(super) near: f64,
    pub(super) far: f64,
    /// Room for its label along the way.
    pub(super) room: f64,
    pub(super) tone: Tone,
}

impl Bough<'_> {
    pub(super) fn thick(&self) -> f64 {
        self.far - self.near
    }
}

/// A station: where it is and what the flow is like after it.
#[derive(Debug, Clone)]
pub(super) struct Reach<'a> {
    pub(super) label: &'a str,
    pub(super) volume: f64,
    pub(super) along: f64,
    pub(super) end: f64,
    pub(super) near: f64,
    pub(super) far: f64,
    /// Room for the label along the way.
    pub(super) room: f64,
    pub(super) tone: Tone,
    pub(super) gains: Vec<Bough<'a>>,
    pub(super) losses: Vec<Bough<'a>>,
}

/// The whole flow.
pub(super) struct Plan<'a> {
    pub(super) way: Way,
    pub(super) reaches: Vec<Reach<'a>>,
    pub(super) length: f64,
    /// The lowest and the highest place across.
    pub(super) near: f64,
    pub(super) far: f64,
}

/// Lengths that a station asks for.
struct Ask {
    station: f64,
    gains: Vec<f64>,
    losses: Vec<f64>,
}

impl Ask {
    /// Gains begin after the station's label, losses after a bend's room.
    fn length(&self, way: Way) -> f64 {
        let (gains, losses): (f64, f64) = (self.gains.iter().sum(), self.losses.iter().sum());
        match way {
            Way::Right => (self.station + gains).max(self.lead(way) + losses),
            Way::Down => self.station + gains.max(losses),
        }
    }

    fn lead(&self, way: Way) -> f64 {
        match way {
            Way::Right => 6.0,
            Way::Down => self.station,
        }
    }
}

pub(super) fn plan(chart: &FlowChart, size: Size) -> Plan<'_> {
    let whole = size.width() - 4.0 - ARROW;
    let level = asks(chart, Way::Right, LEVEL);
    let long: f64 = level.iter().map(|a| a.length(Way::Right)).sum();
    if size == Size::Wide && long <= whole {
        let stretch = if long > 0.0 { whole / long } else { 1.0 };
        return lay(chart, &level, Way::Right, scale(chart, LEVEL), stretch);
    }
    let thickest = if size == Size::Wide { 110.0 } else { 60.0 };
    let down = |thickest: f64| {
        let asks = asks(chart, Way::Down, thickest);
        lay(chart, &asks, Way::Down, scale(chart, thickest), 1.0)
    };
    let plan = down(thickest);
    let across = plan.far - plan.near;
    if across <= DRIFT * thickest {
        return plan;
    }
    down(thickest * DRIFT * thickest / across)
}

/// Units of the drawing for a unit of volume, so that the largest flow is so thick.
fn scale(chart: &FlowChart, thickest: f64) -> f64 {
    let gains = |i: usize| {
        chart
            .stations
            .get(i)
            .map_or(0.0, |s| s.gains.iter().map(|g| counted(g.volume)).sum())
    };
    let largest = chart
        .volumes()
        .iter()
        .enumerate()
        .map(|(i, v)| v + gains(i))
        .fold(0.0, f64::max);
    if largest > 0.0 {
        thickest / largest
    } else {
        0.0
    }
}

fn asks(chart: &FlowChart, way: Way, thickest: f64) -> Vec<Ask> {
    let scale = scale(chart, thickest);
    let bough = |b: &Branch| {
        // A loss larger than the flow takes all of it, and no more room than that.
        let bend = (counted(b.volume) * scale).min(thickest) + BEND;
        match way {
            Way::Right => {
                two_line_width(&b.label)
                    .max(width(&chart.say(b.volume)) + 10.0)
                    .max(bend + BEND)
                    + 10.0
            }
            Way::Down => (2.0 * LINE + 6.0).max(bend + BEND + 4.0),
        }
    };
    let stations = chart.stations.iter().zip(chart.volumes());
    stations
        .map(|(s, volume)| Ask {
            station: match way {
                Way::Right => two_line_width(&s.label).max(width(&chart.say(volume))) + 14.0,
                // Two lines for a long name, one for the volume.
                Way::Down if width(&s.label) > NAME => LINE * 3.0 + 8.0,
                Way::Down => LINE * 2.0 + 8.0,
            },
            gains: s.gains.iter().map(bough).collect(),
            losses: s.losses.iter().map(bough).collect(),
        })
        .collect()
}

/// The least width in which a text stands whole on two lines.
pub(super) fn two_line_width(text: &str) -> f64 {
    let longest = words(text).map(width).fold(0.0, f64::max);
    let mut room = longest.min(130.0);
    while room < 130.0 && wrap(text, room, 2).iter().any(|l| l.ends_with('…')) {
        room += 4.0;
    }
    room
}

/// The flow's edges as it goes on.
struct Course {
    near: f64,
    far: f64,
    scale: f64,
    stretch: f64,
}

impl Course {
    /// What joins widens the flow at its near side.
    fn gains<'a>(&mut self, station: &'a Station, asks: &[f64], first: f64) -> Vec<Bough<'a>> {
        let slots = slots(asks, first, self.stretch);
        let joined = station.gains.iter().zip(slots).map(|(b, (at, room))| {
            let thick = counted(b.volume) * self.scale;
            self.near -= thick;
            let along = at + room / 2.0 + thick / 2.0 + BEND;
            bough(b, station.tone, room, along, (self.near, self.near + thick))
        });
        joined.collect()
    }

    /// What leaves narrows the flow at its far side, by no more than it holds.
    fn losses<'a>(&mut self, station: &'a Station, asks: &[f64], first: f64) -> Vec<Bough<'a>> {
        let slots = slots(asks, first, self.stretch);
        let left = station.losses.iter().zip(slots).map(|(b, (at, room))| {
            let thick = (counted(b.volume) * self.scale).min((self.far - self.near).max(0.0));
            self.far -= thick;
            let along = at + (room - thick) / 2.0 - BEND;
            bough(b, station.tone, room, along, (self.far, self.far + thick))
        });
        left.collect()
    }
}

/// Where each branch's room begins, and how long it is.
fn slots(asks: &[f64], first: f64, stretch: f64) -> impl Iterator<Item = (f64, f64)> {
    asks.iter().scan(first, move |at, ask| {
        let start = *at;
        *at += ask * stretch;
        Some((start, ask * stretch))
    })
}

fn lay<'a>(chart: &'a FlowChart, asks: &[Ask], way: Way, scale: f64, stretch: f64) -> Plan<'a> {
    let volumes = chart.volumes();
    let far = volumes.first().copied().unwrap_or(0.0) * scale;
    let mut course = Course {
        near: 0.0,
        far,
        scale,
        stretch,
    };
    let mut plan = Plan {
        way,
        reaches: Vec::new(),
        length: 0.0,
        near: 0.0,
        far,
    };
    for ((station, ask), &volume) in chart.stations.iter().zip(asks).zip(&volumes) {
        let (along, near, far) = (plan.length, course.near, course.far);
        let gains = course.gains(station, &ask.gains, along + ask.station * stretch);
        let losses = course.losses(station, &ask.losses, along + ask.lead(way) * stretch);
        plan.length += ask.length(way) * stretch;
        plan.near = plan.near.min(course.near);
        plan.far = plan.far.max(far);
        let (end, room) = (plan.length, ask.station * stretch - 8.0);
        let (label, tone) = (station.label.as_str(), station.tone);
        plan.reaches.push(Reach {
            label,
            volume,
            along,
            end,
            near,
            far,
            room,
            tone,
            gains,
            losses,
        });
    }
    plan
}

fn bough(branch: &Branch, tone: Tone, room: f64, along: f64, (near, far): (f64, f64)) -> Bough<'_> {
    let (label, volume) = (branch.label.as_str(), branch.volume);
    Bough {
        label,
        volume,
        along,
        near,
        far,
        room,
        tone,
    }
}
