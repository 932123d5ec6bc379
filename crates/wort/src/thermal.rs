//! The temperature of the wort from the boil to the end of the chiller.

use quantity::Temperature;

use crate::error::{WortError, check};
use crate::kit::{Chilling, Kit};
use crate::plan::{BoilPlan, HopAddition, HopTime};

/// Span of temperature that one quadrature of three points bears \[°C\]: rates that
/// double in 6 °C are then right to a few parts in a million.
const PANEL_C: f64 = 10.0;
const MOST_PANELS: f64 = 64.0;
/// Abscissae and weights of Gauss and Legendre on 0 to 1.
const GAUSS: [(f64, f64); 3] = [
    (0.112_701_665_379_258_3, 5.0 / 18.0),
    (0.5, 8.0 / 18.0),
    (0.887_298_334_620_741_7, 5.0 / 18.0),
];
/// Time between two moments that are shown \[min\]: while the temperature changes, and
/// while it holds. Of a long rest so many are shown.
const SHOWN_MIN: f64 = 1.0;
const HELD_MIN: f64 = 2.5;
const SHOWN_OF_A_REST: f64 = 120.0;

/// What the kettle does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum KettleStage {
    /// It is on its way to the boil.
    HeatUp,
    /// It boils.
    Boil,
    /// It stands covered after the boil.
    Whirlpool,
    /// It is held for a hop below the boil.
    Stand,
    /// It is chilled.
    Chill,
}

/// The whole course, from the full kettle where the time to the boil is known, else
/// from the boil. Time is counted from the start of the boil.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Course {
    pub(crate) stretches: Vec<Stretch>,
    /// When each hop goes in \[min\]; none for dry hops.
    pub(crate) hops_at_min: Vec<Option<f64>>,
    pub(crate) boil_min: f64,
    pub(crate) end_min: f64,
    pub(crate) end_c: f64,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Law {
    Hold,
    Newton { towards_c: f64, tau_min: f64 },
    Line { per_min: f64 },
}

/// A stretch of the course under one law.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Stretch {
    pub(crate) starts_min: f64,
    pub(crate) min: f64,
    pub(crate) stage: KettleStage,
    from_c: f64,
    law: Law,
}

impl Stretch {
    /// Temperature so long after it starts.
    pub(crate) fn temp_c(&self, min: f64) -> f64 {
        match self.law {
            Law::Hold => self.from_c,
            Law::Newton { towards_c, tau_min } => {
                towards_c + (self.from_c - towards_c) * (-min / tau_min).exp()
            }
            Law::Line { per_min } => self.from_c - per_min * min,
        }
    }

    /// Whether its temperature stays.
    pub(crate) fn holds(&self) -> bool {
        self.law == Law::Hold
    }

    fn slope_c_per_min(&self, min: f64) -> f64 {
        match self.law {
            Law::Hold => 0.0,
            Law::Newton { towards_c, tau_min } => (self.temp_c(min) - towards_c).abs() / tau_min,
            Law::Line { per_min } => per_min.abs(),
        }
    }

    /// Means of rates that depend on the temperature, between two times after it starts.
    /// With them what decays by first order is exact; what is made on the way from one
    /// to the other is right where little happens between the two times.
    pub(crate) fn means<const N: usize>(
        &self,
        from_min: f64,
        to_min: f64,
        rates: impl Fn(f64) -> [f64; N],
    ) -> [f64; N] {
        if self.holds() {
            return rates(self.from_c);
        }
        // Cooling is fastest at first, so no panel spans more than the first.
        let span_c = self.slope_c_per_min(from_min) * (to_min - from_min);
        let panels = (span_c / PANEL_C).ceil().clamp(1.0, MOST_PANELS);
        let width = (to_min - from_min) / panels;
        let mut sum = [0.0; N];
        for panel in 0..panels as u32 {
            let starts = from_min + width * f64::from(panel);
            for (at, weight) in GAUSS {
                let here = rates(self.temp_c(starts + width * at));
                for (sum, rate) in sum.iter_mut().zip(here) {
                    *sum += rate * weight / panels;
                }
            }
        }
        sum
    }

    /// The times after it starts at which a moment is shown, between the cuts and at
    /// them; the end last.
    pub(crate) fn moments(&self, cuts_min: &[f64]) -> Vec<f64> {
        let mut ends: Vec<f64> = cuts_min
            .iter()
            .map(|cut| cut - self.starts_min)
            .filter(|cut| *cut > 1e-9 && *cut < self.min - 1e-9)
            .collect();
        ends.push(self.min);
        ends.sort_by(f64::total_cmp);
        // Hops that go in together cut once.
        ends.dedup_by(|later, first| *later - *first < 1e-9);
        let apart = if self.holds() { HELD_MIN } else { SHOWN_MIN };
        let apart = apart.max(self.min / SHOWN_OF_A_REST);
        let mut out = Vec::new();
        let mut from = 0.0;
        for to in ends {
            let pieces = ((to - from) / apart).ceil().max(1.0);
            let width = (to - from) / pieces;
            out.extend((1..pieces as u32).map(|piece| from + width * f64::from(piece)));
            out.push(to);
            from = to;
        }
        out
    }
}

impl Course {
    /// From a full kettle at a temperature, which takes so long to come to the boil.
    pub(crate) fn of(
        kit: &Kit,
        boil: &BoilPlan,
        hops: &[HopAddition],
        (filled_c, heat_up_min): (f64, f64),
    ) -> Result<Self, WortError> {
        let mut walk = Walk::new(kit, boil.chill_to.c());
        walk.heat_up(filled_c, heat_up_min);
        let boil_min = boil.duration.min();
        walk.push(boil_min, Law::Hold, KettleStage::Boil);
        let whirlpool_min = boil.whirlpool.min();
        walk.push(whirlpool_min, walk.left_alone(), KettleStage::Whirlpool);
        let stands = stands(hops);
        let mut stand_ends = Vec::new();
        for (temp_c, min) in &stands {
            walk.chill(*temp_c)?;
            walk.push(*min, Law::Hold, KettleStage::Stand);
            stand_ends.push((*temp_c, walk.now_min));
        }
        let end_c = boil.chill_to.c().min(walk.temp_c);
        walk.chill(end_c)?;
        let hops_at_min = hop_times(boil, hops, heat_up_min, &stand_ends)?;
        Ok(Self {
            stretches: walk.stretches,
            hops_at_min,
            boil_min,
            end_min: walk.now_min,
            end_c,
        })
    }

    /// Minutes at 100 °C that would brown the wort as much, where browning doubles in so
    /// many degrees.
    pub(crate) fn minutes_at_100_c(&self, doubles_in_c: f64) -> f64 {
        let browning = |c: f64| [((c - 100.0) / doubles_in_c).exp2()];
        self.stretches
            .iter()
            .map(|s| s.min * s.means(0.0, s.min, browning)[0])
            .sum()
    }
}

/// Held stands by falling temperature, each as long as its longest hop.
fn stands(hops: &[HopAddition]) -> Vec<(f64, f64)> {
    let mut stands: Vec<(f64, f64)> = Vec::new();
    for hop in hops {
        if let HopTime::Stand {
            duration,
            temperature,
        } = hop.when
        {
            match stands
                .iter_mut()
                .find(|(c, _)| (*c - temperature.c()).abs() < 1e-9)
            {
                Some((_, min)) => *min = min.max(duration.min()),
                None => stands.push((temperature.c(), duration.min())),
            }
        }
    }
    stands.sort_by(|a, b| b.0.total_cmp(&a.0));
    stands
}

fn hop_times(
    boil: &BoilPlan,
    hops: &[HopAddition],
    heat_up_min: f64,
    stand_ends: &[(f64, f64)],
) -> Result<Vec<Option<f64>>, WortError> {
    let boil_min = boil.duration.min();
    let whirlpool_min = boil.whirlpool.min();
    let before = |what, end_min: f64, length_min: f64, min: f64| {
        // Minutes that came from hours are right but for rounding.
        let slack = if min <= length_min + 1e-9 {
            min.min(length_min)
        } else {
            min
        };
        check(what, slack, "min", 0.0, length_min).map(|min| Some((end_min - min).max(0.0)))
    };
    hops.iter()
        .map(|hop| match hop.when {
            HopTime::Mash | HopTime::FirstWort => Ok(Some(-heat_up_min)),
            HopTime::Boil(d) => before("time of a hop in the boil", boil_min, boil_min, d.min()),
            HopTime::Whirlpool(d) => before(
                "time of a hop in the whirlpool rest",
                boil_min + whirlpool_min,
                whirlpool_min,
                d.min(),
            ),
            HopTime::Stand {
                duration,
                temperature,
            } => Ok(stand_ends
                .iter()
                .find(|(c, _)| (*c - temperature.c()).abs() < 1e-9)
                .map(|(_, end_min)| end_min - duration.min())),
            HopTime::DryHop => Ok(None),
        })
        .collect()
}

struct Walk<'a> {
    kit: &'a Kit,
    boils_c: f64,
    chill_to_c: f64,
    now_min: f64,
    temp_c: f64,
    stretches: Vec<Stretch>,
}

impl<'a> Walk<'a> {
    fn new(kit: &'a Kit, chill_to_c: f64) -> Self {
        let boils_c = kit.boiling_point().c();
        Self {
            kit,
            boils_c,
            chill_to_c,
            now_min: 0.0,
            temp_c: boils_c,
            stretches: Vec::new(),
        }
    }

    fn left_alone(&self) -> Law {
        Law::Newton {
            towards_c: self.kit.room.c().min(self.temp_c),
            tau_min: self.kit.kettle_time_constant.min(),
        }
    }

    /// From the full kettle to the boil, in a straight line that ends at time zero.
    fn heat_up(&mut self, from_c: f64, min: f64) {
        if min <= 0.0 {
            return;
        }
        let per_min = (from_c - self.boils_c) / min;
        self.now_min = -min;
        self.temp_c = from_c;
        self.push(min, Law::Line { per_min }, KettleStage::HeatUp);
        self.now_min = 0.0;
        self.temp_c = self.boils_c;
    }

    fn push(&mut self, min: f64, law: Law, stage: KettleStage) {
        if min <= 0.0 {
            return;
        }
        let stretch = Stretch {
            starts_min: self.now_min,
            min,
            from_c: self.temp_c,
            law,
            stage,
        };
        self.now_min += min;
        self.temp_c = stretch.temp_c(min);
        self.stretches.push(stretch);
    }

    fn chill(&mut self, to_c: f64) -> Result<(), WortError> {
        if to_c > self.temp_c + 1e-9 {
            return Err(self.impossible(to_c, "wort does not warm after the boil; lower the temperature or shorten the rest before it"));
        }
        let drop = self.temp_c - to_c;
        if drop <= 1e-9 {
            return Ok(());
        }
        let (min, law) = match self.kit.chilling {
            Chilling::Newton {
                time_constant,
                coolant,
            } => {
                let (towards_c, tau_min) = (coolant.c(), time_constant.min());
                if to_c <= towards_c + 0.1 {
                    return Err(self.impossible(
                        to_c,
                        "the coolant is not cold enough; colder coolant or a warmer end would work",
                    ));
                }
                let min = tau_min * ((self.temp_c - towards_c) / (to_c - towards_c)).ln();
                (min, Law::Newton { towards_c, tau_min })
            }
            Chilling::Over { duration } => {
                let per_min = (self.boils_c - self.chill_to_c).max(drop) / duration.min();
                (drop / per_min, Law::Line { per_min })
            }
        };
        self.push(min, law, KettleStage::Chill);
        self.temp_c = to_c;
        Ok(())
    }

    fn impossible(&self, to_c: f64, help: &'static str) -> WortError {
        WortError::ImpossibleChill {
            from: Temperature::from_c(self.temp_c),
            to: Temperature::from_c(to_c),
            help,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bitterness::{Acids, Rates};
    use crate::sulfide::{Sulfide, conversion};

    fn cooled(from_c: f64, law: Law, min: f64) -> Stretch {
        Stretch {
            starts_min: 0.0,
            min,
            from_c,
            law,
            stage: KettleStage::Chill,
        }
    }

    fn newton(towards_c: f64, tau_min: f64) -> Law {
        Law::Newton { towards_c, tau_min }
    }

    /// Isomerisation while cooling (Malowicki & Shellhammer 2005), integrated with
    /// SciPy 1.17.
    #[test]
    fn isomerisation_over_a_cooling_kettle() {
        for (from_c, tau, min, end_c, alpha, iso) in [
            (98.0, 120.0, 20.0, 86.0, 0.8795, 0.1187),
            (98.0, 120.0, 30.0, 80.7, 0.8547, 0.1427),
            (90.0, 200.0, 20.0, 83.3, 0.9252, 0.0741),
            (80.0, 300.0, 30.0, 74.3, 0.9536, 0.0461),
            (98.0, 15.0, 30.0, 30.6, 0.9740, 0.0259),
        ] {
            let mut hop = Acids {
                alpha: 1.0,
                iso: 0.0,
            };
            let stretch = cooled(from_c, newton(20.0, tau), min);
            let mut from = 0.0;
            for to in stretch.moments(&[]) {
                let [to_iso, to_loss] = stretch.means(from, to, |c| Rates::at(c).each());
                hop.step(&Rates { to_iso, to_loss }, to - from);
                from = to;
            }
            assert!((stretch.temp_c(min) - end_c).abs() < 0.06);
            assert!((hop.alpha - alpha).abs() < 6e-5, "{}", hop.alpha);
            assert!((hop.iso - iso).abs() < 6e-5, "{}", hop.iso);
        }
    }

    /// S-methylmethionine left of a hundred after the boil, half-life 38 min at
    /// 100 °C doubling for 6 °C, integrated with SciPy 1.17. Ours is Arrhenius: up
    /// to 1 in a hundred apart on a slow cooling, where the rule is coarse.
    #[test]
    fn smm_left_while_cooling() {
        let line = |min: f64| Law::Line {
            per_min: 78.0 / min,
        };
        for (from_c, law, min, left, tolerance) in [
            (95.0, Law::Hold, 30.0, 73.5, 0.06),
            (98.0, newton(20.0, 120.0), 20.0, 85.8, 0.3),
            (98.0, line(10.0), 10.0, 98.5, 0.1),
            (98.0, line(40.0), 40.0, 94.0, 0.3),
            (98.0, newton(20.0, 300.0), 600.0, 59.1, 1.5),
        ] {
            let mut wort = Sulfide {
                smm: 100.0,
                dms: 0.0,
                stripped: 0.0,
            };
            let stretch = cooled(from_c, law, min);
            let [k1] = stretch.means(0.0, min, |c| [conversion(c, 5.2)]);
            wort = wort.after(k1, 0.0, min);
            assert!(
                (wort.smm - left).abs() < tolerance,
                "{} against {left}",
                wort.smm
            );
            assert!((wort.dms + wort.smm - 100.0).abs() < 1e-9);
        }
    }
}
