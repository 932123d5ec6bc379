//! What the batches of a house add up to: each constant with its trace.

use quantity::{Measured, Quantity};

use super::constant::{Constant, Of};
use super::forget::{Forget, day};
use super::hierarchy::{Posterior, Prior, Seen};
use super::keys::before;
use super::taught::{Evidence, Taught};
use crate::document::Document;
use crate::inquiry::common;

/// A constant as the batches have it.
#[derive(Debug, Clone)]
pub struct Known {
    /// Which.
    pub constant: Constant,
    /// Of which yeast or instrument.
    pub of: Option<String>,
    /// Before any batch, as it is: number and standard deviation.
    pub prior: (f64, f64),
    /// The mean of the house, as it is: number and standard deviation.
    pub house: (f64, f64),
    /// The interval that holds the mean of the house nine times in ten.
    pub likely: (f64, f64),
    /// The next batch: number and standard deviation.
    pub next: (f64, f64),
    /// The interval that holds the next batch nine times in ten.
    pub next_likely: (f64, f64),
    /// How far batches lie apart, as it is at the mean: number and standard deviation.
    pub apart: (f64, f64),
    /// The batches that spoke, the oldest first.
    pub trace: Vec<Moved>,
}

/// What one batch did to a constant.
#[derive(Debug, Clone, PartialEq)]
pub struct Moved {
    /// Its place among the batches.
    pub batch: usize,
    /// What its own readings say, as it is: number and standard deviation.
    pub says: (f64, f64),
    /// Share of a new batch that it counts for; nought where it is left out.
    pub weight: f64,
    /// The mean of the house without it; with it, for one that is left out.
    pub otherwise: f64,
    /// How far it lies from what the others make one expect, in standard deviations.
    pub odd: f64,
}

/// Further than this from the others, a batch is to be looked at \[sd\] (judgement: one
/// in four hundred).
const ODD: f64 = 3.0;

impl Known {
    /// Batches that count.
    #[must_use]
    pub fn batches(&self) -> u32 {
        self.trace.iter().filter(|m| m.weight > 0.0).count() as u32
    }
}

impl Moved {
    /// Whether it lies far from what the others make one expect.
    #[must_use]
    pub fn is_odd(&self) -> bool {
        self.odd.abs() > ODD
    }
}

/// Evidence of one constant, in the order of the batches.
pub(super) struct Line {
    pub(super) constant: Constant,
    pub(super) of: Option<String>,
    pub(super) prior: Prior,
    pub(super) seen: Vec<Spoken>,
}

/// What a batch says of a constant.
#[derive(Debug, Clone, Copy)]
pub(super) struct Spoken {
    /// Its place.
    pub(super) batch: usize,
    /// Its day, where it has one.
    pub(super) day: Option<f64>,
    pub(super) seen: Seen,
    /// Whether it counts.
    pub(super) counts: bool,
}

/// The constants of the house that a document belongs to, by batches that share its kit or
/// its yeast, the oldest first. What was learned before is taken out of what the document
/// says, so that nothing is learned twice.
#[must_use]
pub fn house(of: &Document, batches: &[Taught], forget: Forget) -> Vec<Known> {
    let lines = lines(of, batches);
    lines.into_iter().map(|line| line.known(forget)).collect()
}

pub(super) fn lines(of: &Document, batches: &[Taught]) -> Vec<Line> {
    let mut lines: Vec<Line> = Vec::new();
    for (place, batch) in batches.iter().enumerate() {
        let shared = common(of, &batch.document);
        let counts = batch.document.learning.left_out.is_none();
        for evidence in &batch.evidence {
            let speaks = match evidence.constant.of() {
                Of::Kit => shared.kit,
                Of::Yeast => shared.yeast,
                Of::Instrument => true,
            };
            if !speaks {
                continue;
            }
            let spoken = Spoken {
                batch: place,
                day: day(batch.document.batch.brewed.as_deref()),
                seen: seen(of, evidence),
                counts,
            };
            let constant = evidence.constant;
            let known = lines
                .iter_mut()
                .find(|l| l.constant == constant && l.of == evidence.of);
            match known {
                Some(line) => line.seen.push(spoken),
                None => lines.push(Line {
                    constant,
                    of: evidence.of.clone(),
                    prior: constant.prior(said(of, constant)),
                    seen: vec![spoken],
                }),
            }
        }
    }
    lines.sort_by(|a, b| (a.constant, &a.of).cmp(&(b.constant, &b.of)));
    lines
}

impl Line {
    fn known(self, forget: Forget) -> Known {
        let seen = self.weighed(forget);
        let posterior = self.prior.after(&seen);
        let (house, next) = (posterior.house(), posterior.next());
        let scale = self.constant.scale();
        let as_is = |on: (f64, f64)| (scale.back(on.0), scale.sd_back(on));
        let ends = |(low, high): (f64, f64)| (scale.back(low), scale.back(high));
        let middle = house.mean();
        let apart = posterior.apart();
        Known {
            constant: self.constant,
            of: self.of.clone(),
            prior: as_is((self.prior.mean, self.prior.sd)),
            house: as_is((middle, house.sd())),
            likely: ends(house.interval(0.9)),
            next: as_is((next.mean(), next.sd())),
            next_likely: ends(next.interval(0.9)),
            apart: (
                scale.sd_back((middle, apart.0)),
                scale.sd_back((middle, apart.1)),
            ),
            trace: self.trace(&seen),
        }
    }

    /// The readings with the weights of their batches.
    pub(super) fn weighed(&self, forget: Forget) -> Vec<Seen> {
        let counted = self.seen.iter().filter(|s| s.counts);
        let days: Vec<Option<f64>> = counted.map(|s| s.day).collect();
        let mut weights = forget.weights(&days).into_iter();
        let mut weight = |counts: bool| {
            let of_counted = counts.then(|| weights.next()).flatten();
            of_counted.unwrap_or(0.0)
        };
        let each = self.seen.iter();
        each.map(|s| Seen {
            weight: weight(s.counts),
            ..s.seen
        })
        .collect()
    }

    fn trace(&self, seen: &[Seen]) -> Vec<Moved> {
        let scale = self.constant.scale();
        let each = self.seen.iter().zip(seen).enumerate();
        each.map(|(n, (spoken, weighed))| {
            let own = spoken.seen;
            let otherwise = self.with(seen, n, if spoken.counts { 0.0 } else { 1.0 });
            let others = self.with(seen, n, 0.0);
            let expected = others.next_reading(own.sd);
            Moved {
                batch: spoken.batch,
                says: (scale.back(own.value), scale.sd_back((own.value, own.sd))),
                weight: weighed.weight,
                otherwise: scale.back(otherwise.house().mean()),
                odd: (own.value - expected.mean()) / expected.sd(),
            }
        })
        .collect()
    }

    /// What is known with another weight of one batch.
    fn with(&self, seen: &[Seen], n: usize, weight: f64) -> Posterior {
        let mut other = seen.to_vec();
        if let Some(one) = other.get_mut(n) {
            one.weight = weight;
        }
        self.prior.after(&other)
    }
}

/// What a piece of evidence says of a house, on the scale of its constant.
fn seen(of: &Document, evidence: &Evidence) -> Seen {
    let usual = match evidence.constant {
        Constant::Losses => losses_l(of, evidence.hops_kg),
        _ => 1.0,
    };
    Seen {
        value: evidence.value / usual,
        sd: evidence.sd / usual,
        weight: 1.0,
    }
}

/// What the kit of a document would lose after the boil with so many hops, before
/// anything was learned of it \[L\].
fn losses_l(of: &Document, hops_kg: f64) -> f64 {
    let [kettle, transfer, hops] = losses(of);
    (kettle.0 + transfer.0 + hops.0 * hops_kg).max(1e-6)
}

/// Kettle, hoses \[L\] and hops \[L/kg\], before anything was learned: number and standard
/// deviation.
pub(super) fn losses(of: &Document) -> [(f64, f64); 3] {
    let kit = &of.kit;
    [
        pair(before(of, "kit.kettle_loss", kit.kettle_loss)),
        pair(before(of, "kit.transfer_loss", kit.transfer_loss)),
        pair(before(of, "kit.hop_absorption", kit.hop_absorption)),
    ]
}

/// What a document says of a constant, before anything was learned: number and standard
/// deviation, nought where it says none.
fn said(of: &Document, constant: Constant) -> Option<(f64, f64)> {
    let (kit, yeast) = (&of.kit, &of.yeast);
    Some(match constant {
        Constant::Conversion => pair(before(of, "kit.conversion", kit.conversion)),
        Constant::Absorption => pair(before(of, "kit.absorption", kit.absorption)),
        Constant::Tun => pair(before(of, "kit.tun_time_constant", kit.tun_time_constant)),
        Constant::Evaporation => pair(before(of, "kit.evaporation", kit.evaporation)),
        Constant::Attenuation => {
            let class = ferment::strain(&yeast.class).ok()?.attenuation;
            let usual = (class.value.ratio(), 0.0);
            match of.learning.of("yeast.attenuation") {
                Some(taken) => {
                    let written = taken.before.as_deref();
                    let read = written.and_then(|w| w.parse::<Measured<quantity::Fraction>>().ok());
                    read.map_or(usual, pair)
                }
                None => yeast.attenuation.map_or(usual, pair),
            }
        }
        Constant::IntoKettle | Constant::Losses | Constant::Speed | Constant::Off => return None,
    })
}

fn pair<Q: Quantity>(m: Measured<Q>) -> (f64, f64) {
    (m.canonical(), m.sd())
}
