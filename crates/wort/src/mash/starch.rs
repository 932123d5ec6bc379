//! Starch, enzymes and sugars over one step of a mash.
//!
//! The equations are those of [`super::conversion`]. Each is linear once the ones before it
//! are known: starch and enzymes decay, and what room they leave for sugar and for
//! dissolved starch is filled at the rate of the enzymes. So every step is passed by
//! exponentials, whose exponents and sums are integrals by the three points of Gauss and
//! Legendre; at a temperature that holds the decays are exact.

use super::rates::{Rates, shares};

/// Where a mash stands.
#[derive(Debug, Clone, Copy)]
pub(super) struct Starch {
    /// Share of the starch not gelatinised.
    pub(super) raw: f64,
    /// Enzymes left.
    pub(super) alpha: f64,
    pub(super) beta: f64,
    /// Apparent limit of attenuation by the sugars that each enzyme made.
    pub(super) by_beta: f64,
    pub(super) by_alpha: f64,
    /// Share of the starch dissolved.
    pub(super) dissolved: f64,
}

/// The three points of Gauss and Legendre on 0 to 1.
pub(super) const NODES: [f64; 3] = [0.112_701_665_379_258_31, 0.5, 0.887_298_334_620_741_7];
/// Weights of the integral from 0 to each of the points, and to 1: those of the parabola
/// through the three (Butcher, *Math. Comp.* 18, 50–64, 1964).
const TO_NODES: [[f64; 3]; 3] = [
    [
        5.0 / 36.0,
        2.0 / 9.0 - ROOT_15 / 15.0,
        5.0 / 36.0 - ROOT_15 / 30.0,
    ],
    [
        5.0 / 36.0 + ROOT_15 / 24.0,
        2.0 / 9.0,
        5.0 / 36.0 - ROOT_15 / 24.0,
    ],
    [
        5.0 / 36.0 + ROOT_15 / 30.0,
        2.0 / 9.0 + ROOT_15 / 15.0,
        5.0 / 36.0,
    ],
];
const TO_END: [f64; 3] = [5.0 / 18.0, 4.0 / 9.0, 5.0 / 18.0];
const ROOT_15: f64 = 3.872_983_346_207_417;

/// What is left of something so small is of no account for the length of a step.
const OF_NO_ACCOUNT: f64 = 1e-3;

impl Starch {
    /// As the mash is mixed.
    pub(super) const RAW: Self = Self {
        raw: 1.0,
        alpha: 1.0,
        beta: 1.0,
        by_beta: 0.0,
        by_alpha: 0.0,
        dissolved: 0.0,
    };

    /// A part comes back from its boil: the enzymes of its liquor are gone, and the starch
    /// of its grain is gelatinised. What works in the part on its way to the boil is left
    /// out, and what works in the rest meanwhile goes on as if it were whole.
    pub(super) fn boiled(&mut self, of_liquor: f64, of_grain: f64) {
        self.alpha *= 1.0 - of_liquor;
        self.beta *= 1.0 - of_liquor;
        self.raw *= 1.0 - of_grain;
    }

    /// Apparent limit of attenuation of what would run off now.
    pub(super) fn limit(&self) -> f64 {
        shares().at_once + self.by_beta + self.by_alpha
    }

    /// Rate of what goes fastest now \[1/min\].
    pub(super) fn fastest(&self, k: &Rates) -> f64 {
        let of = |left: f64, rate: f64| if left > OF_NO_ACCOUNT { rate } else { 0.0 };
        of(self.raw, k.gelatinises)
            .max(of(self.beta, k.beta_lost))
            .max(of(self.alpha, k.alpha_lost))
            .max(k.liquefies)
    }

    /// A step, with the rates at its [`NODES`]. Gives the sugar made.
    pub(super) fn step(&mut self, rates: &[Rates; 3], min: f64) -> f64 {
        let at = |rate: fn(&Rates) -> f64| each(|n| rate(&rates[n]));
        let gelatinises = at(|k| k.gelatinises);
        let raw = Decay::of(self.raw, gelatinises, min);
        let alpha = Decay::of(self.alpha, at(|k| k.alpha_lost), min);
        let beta = Decay::of(self.beta, at(|k| k.beta_lost), min);
        let freed = times(gelatinises, raw.at);

        let liquefies = times(at(|k| k.liquefies), alpha.at);
        let solid = (1.0 - self.raw - self.dissolved).max(0.0);
        let solid = Room::of(solid, freed, liquefies, min);
        let dissolved = (1.0 - raw.end - solid.end).max(self.dissolved);

        let of_starch = shares().most - shares().at_once;
        let by_beta = times(at(|k| k.by_beta), beta.at);
        let by_alpha = times(at(|k| k.by_alpha), alpha.at);
        let sugar = self.by_beta + self.by_alpha;
        let room = (of_starch * (1.0 - self.raw) - sugar).max(0.0);
        let fills = each(|n| by_beta[n] + by_alpha[n]);
        let room = Room::of(room, freed.map(|x| of_starch * x), fills, min);
        let made = (of_starch * (1.0 - raw.end) - room.end - sugar).max(0.0);
        let [beta_made, alpha_made] = [by_beta, by_alpha].map(|by| whole(times(by, room.at), min));
        let share = beta_made / (beta_made + alpha_made).max(f64::MIN_POSITIVE);

        *self = Self {
            raw: raw.end,
            alpha: alpha.end,
            beta: beta.end,
            by_beta: self.by_beta + made * share,
            by_alpha: self.by_alpha + made * (1.0 - share),
            dissolved,
        };
        made
    }
}

/// What decays, at the points of a step and at its end.
struct Decay {
    at: [f64; 3],
    end: f64,
}

impl Decay {
    fn of(start: f64, rate: [f64; 3], min: f64) -> Self {
        Self {
            at: parts(rate, min).map(|x| start * (-x).exp()),
            end: start * (-whole(rate, min)).exp(),
        }
    }
}

/// Room that is freed and filled, dy/dt = freed − fills·y, at the points of a step and at
/// its end.
struct Room {
    at: [f64; 3],
    end: f64,
}

impl Room {
    fn of(start: f64, freed: [f64; 3], fills: [f64; 3], min: f64) -> Self {
        let kept = parts(fills, min).map(|x| (-x).exp());
        let grown = each(|n| freed[n] / kept[n]);
        let sums = parts(grown, min);
        Self {
            at: each(|n| (kept[n] * (start + sums[n])).max(0.0)),
            end: (-whole(fills, min)).exp() * (start + whole(grown, min)),
        }
    }
}

fn each(of: impl Fn(usize) -> f64) -> [f64; 3] {
    [of(0), of(1), of(2)]
}

fn times(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    each(|n| a[n] * b[n])
}

fn weighed(weights: &[f64; 3], at: [f64; 3]) -> f64 {
    weights[0] * at[0] + weights[1] * at[1] + weights[2] * at[2]
}

/// Integral over a step.
fn whole(at: [f64; 3], min: f64) -> f64 {
    min * weighed(&TO_END, at)
}

/// Integrals from the start of a step to each of its points.
fn parts(at: [f64; 3], min: f64) -> [f64; 3] {
    each(|n| min * weighed(&TO_NODES[n], at))
}
