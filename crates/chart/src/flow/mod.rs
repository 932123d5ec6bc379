//! Volumes on their way through the kit.

mod draw;
mod plan;

use crate::chart::{Chart, Drawing, Size};
use crate::grid::{Cell, Grid};
use crate::heading::Heading;
use crate::number::{drawable, show, with_unit};
use crate::tip::Tip;
use crate::tone::Tone;

/// A volume that leaves the flow, or joins it.
#[derive(Debug, Clone, PartialEq)]
pub struct Branch {
    /// Where it goes or comes from: "grain keeps", "steam", "sparge water".
    pub label: String,
    /// How much.
    pub volume: f64,
}

impl Branch {
    /// A branch.
    #[must_use]
    pub fn new(label: impl Into<String>, volume: f64) -> Self {
        Self {
            label: label.into(),
            volume,
        }
    }
}

/// A place on the way, and what joins and leaves after it.
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    /// "water drawn", "into the fermenter".
    pub label: String,
    /// Colour of the flow after it.
    pub tone: Tone,
    /// What joins after it.
    pub gains: Vec<Branch>,
    /// What leaves after it.
    pub losses: Vec<Branch>,
}

impl Station {
    /// A place after which nothing joins or leaves yet.
    #[must_use]
    pub fn new(label: impl Into<String>, tone: Tone) -> Self {
        Self {
            label: label.into(),
            tone,
            gains: Vec::new(),
            losses: Vec::new(),
        }
    }

    /// The same, with something that leaves after it.
    #[must_use]
    pub fn losing(mut self, label: impl Into<String>, volume: f64) -> Self {
        self.losses.push(Branch::new(label, volume));
        self
    }

    /// The same, with something that joins after it.
    #[must_use]
    pub fn gaining(mut self, label: impl Into<String>, volume: f64) -> Self {
        self.gains.push(Branch::new(label, volume));
        self
    }
}

/// A flow along one line: its width is the volume, losses leave at its side.
///
/// Only the first volume and the branches are given; the volume at each station is
/// what is left, so that a drawing always balances.
#[derive(Debug, Clone, PartialEq)]
pub struct FlowChart {
    /// Name, title and message.
    pub heading: Heading,
    /// Unit of the volumes: "L".
    pub unit: String,
    /// Decimals of the volumes; three significant digits if none.
    pub decimals: Option<usize>,
    /// Volume at the first station.
    pub start: f64,
    /// Along the flow.
    pub stations: Vec<Station>,
}

/// A volume as the flow takes it: a number, and not below nought. Volumes below
/// anything that a vessel holds count as none, so that ratios stay finite.
fn counted(volume: f64) -> f64 {
    if drawable(volume) && volume > 1e-12 {
        volume
    } else {
        0.0
    }
}

impl FlowChart {
    /// The volume that arrives at each station; never below nought.
    #[must_use]
    pub fn volumes(&self) -> Vec<f64> {
        let mut at = counted(self.start);
        let mut all = Vec::with_capacity(self.stations.len());
        for station in &self.stations {
            all.push(at);
            let sum = |branches: &[Branch]| branches.iter().map(|b| counted(b.volume)).sum::<f64>();
            at = (at + sum(&station.gains) - sum(&station.losses)).max(0.0);
        }
        all
    }

    /// All that came in, and all that left.
    fn totals(&self) -> (f64, f64) {
        let sum = |of: fn(&Station) -> &Vec<Branch>| {
            let branches = self.stations.iter().flat_map(of);
            branches.map(|b| counted(b.volume)).sum::<f64>()
        };
        (counted(self.start) + sum(|s| &s.gains), sum(|s| &s.losses))
    }

    fn say(&self, volume: f64) -> String {
        with_unit(&show(volume, self.decimals), &self.unit)
    }

    /// Places, what happens there, and how much, in the order of the flow.
    fn events(&self) -> Vec<(&str, &'static str, f64)> {
        let mut all = Vec::new();
        for (station, volume) in self.stations.iter().zip(self.volumes()) {
            all.push((station.label.as_str(), "arrives", volume));
            all.extend(
                station
                    .gains
                    .iter()
                    .map(|b| (b.label.as_str(), "joins", b.volume)),
            );
            all.extend(
                station
                    .losses
                    .iter()
                    .map(|b| (b.label.as_str(), "leaves", b.volume)),
            );
        }
        all
    }
}

impl Chart for FlowChart {
    fn heading(&self) -> &Heading {
        &self.heading
    }

    fn draw(&self, size: Size) -> Drawing {
        draw::draw(self, size)
    }

    fn tips(&self) -> Vec<Tip> {
        let (come, _) = self.totals();
        let tip = |(label, what, volume): (&str, &str, f64)| {
            let share = (come > 0.0 && what != "arrives" && volume.is_finite()).then(|| {
                (
                    "of all that came in".to_owned(),
                    format!("{} %", show(100.0 * volume / come, None)),
                )
            });
            let figure = (what.to_owned(), self.say(volume));
            Tip {
                head: label.to_owned(),
                lines: std::iter::once(figure).chain(share).collect(),
            }
        };
        self.events().into_iter().map(tip).collect()
    }

    fn grid(&self) -> Grid {
        let row = |(label, what, volume): (&str, &str, f64)| {
            vec![
                Cell::text(label),
                Cell::text(what),
                Cell::number(volume, self.decimals),
            ]
        };
        Grid {
            columns: vec![
                "place".to_owned(),
                "flow".to_owned(),
                format!("volume ({})", self.unit),
            ],
            rows: self.events().into_iter().map(row).collect(),
        }
    }

    fn notes(&self) -> Vec<String> {
        let (come, gone) = self.totals();
        let left = self.volumes().last().copied();
        let arrives = left.map(|v| format!("{} of {} arrive", self.say(v), self.say(come)));
        let over = gone > come * (1.0 + 1e-9);
        let warning = over.then(|| "The losses are larger than the volume".to_owned());
        arrives.into_iter().chain(warning).collect()
    }
}
