//! Washing the extract out of the grain.
//!
//! From first principles: wort of volume R stays with the grain and in the dead
//! space whenever the tun has drained. Each drain takes the share (V − R)/V of
//! extract and water alike, V being the volume of the wort in the tun at its own
//! strength. A continuous sparge passes through a bed that holds the volume H
//! like n equal mixed stages in series.

mod base;
mod efficiency;
pub(crate) mod figures;
mod given;
mod run_off;

use crate::mix::{Mix, density_kg_per_l};
use crate::plan::{Sparge, WortPlan};

pub use efficiency::{Efficiency, Move, Step, efficiency, moves};
pub use given::{GivenRunOffs, given_run_offs};
pub use run_off::{RunOff, Runnings, Stop, limits, run_off};

/// A mash ready to be drained.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Bed {
    pub(crate) extract_kg: f64,
    pub(crate) grain_water_kg: f64,
    /// Steam of its decoctions.
    pub(crate) steam_kg: f64,
    pub(crate) retained_l: f64,
    pub(crate) hold_up_l: f64,
    pub(crate) stages: u32,
}

/// What came out and what stayed.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Lautered {
    pub(crate) run_offs: Vec<Mix>,
    pub(crate) left: Mix,
    pub(crate) last_plato: f64,
    /// Shares of what was dissolved in the mash and in the sparge liquor that
    /// came out.
    pub(crate) mash_solutes: f64,
    pub(crate) sparge_solutes: f64,
}

impl Bed {
    pub(crate) fn of(plan: &WortPlan) -> Self {
        let (kit, grain_kg) = (&plan.kit, plan.grain_kg());
        let dead_l = if grain_kg > 0.0 {
            kit.tun_dead.l()
        } else {
            0.0
        };
        Self {
            extract_kg: plan.mash_extract_kg(),
            grain_water_kg: grain_kg * plan.grain_moisture(),
            steam_kg: plan.mash_steam_kg(),
            retained_l: kit.absorption.l_per_kg() * grain_kg + dead_l,
            hold_up_l: kit.bed_hold_up.l_per_kg() * grain_kg + dead_l,
            stages: kit.lauter_stages,
        }
    }

    /// Water in the mash that is drained.
    pub(crate) fn water_kg(&self, mash_kg: f64) -> f64 {
        (mash_kg + self.grain_water_kg - self.steam_kg).max(0.0)
    }

    /// Drains and washes; nothing where the tun holds everything back.
    pub(crate) fn lauter(&self, sparge: Sparge, mash_kg: f64, sparge_kg: f64) -> Option<Lautered> {
        let full = Mix {
            extract_kg: self.extract_kg,
            water_kg: self.water_kg(mash_kg),
        };
        if full.volume_l() <= self.retained_l {
            return None;
        }
        Some(match sparge {
            Sparge::None => self.batch(full, &[]),
            Sparge::Batch { refills } => {
                let each = sparge_kg / f64::from(refills.max(1));
                self.batch(full, &vec![each; refills.max(1) as usize])
            }
            Sparge::Continuous => self.continuous(full, sparge_kg),
        })
    }

    pub(crate) fn batch(&self, full: Mix, refills_kg: &[f64]) -> Lautered {
        let drained = |tun: Mix| (tun.volume_l() - self.retained_l) / tun.volume_l();
        let first = drained(full);
        let mut out = Lautered {
            run_offs: vec![full.share(first)],
            left: full.share(1.0 - first),
            last_plato: full.plato(),
            mash_solutes: first,
            sparge_solutes: 0.0,
        };
        let total: f64 = refills_kg.iter().sum();
        let (mut mash_left, mut sparge_left) = (1.0 - first, 0.0);
        for kg in refills_kg.iter().filter(|kg| **kg > 0.0) {
            let tun = out.left.plus(Mix::water(*kg));
            let share = drained(tun);
            out.run_offs.push(tun.share(share));
            out.left = tun.share(1.0 - share);
            out.last_plato = tun.plato();
            mash_left *= 1.0 - share;
            sparge_left = (sparge_left + kg / total) * (1.0 - share);
        }
        out.mash_solutes = 1.0 - mash_left;
        out.sparge_solutes = if total > 0.0 { 1.0 - sparge_left } else { 0.0 };
        out
    }

    /// First wort is drawn down to the bed, the bed is washed at constant volume,
    /// and at last it drains.
    pub(crate) fn continuous(&self, full: Mix, sparge_kg: f64) -> Lautered {
        let hold_up_l = self.hold_up_l.max(self.retained_l).min(full.volume_l());
        let kept = hold_up_l / full.volume_l();
        let bed = full.share(kept);
        let sparge_l = crate::mix::water_l(sparge_kg);
        let ratio = if hold_up_l > 0.0 {
            sparge_l / hold_up_l
        } else {
            0.0
        };
        let unwashed = share_left(self.stages, ratio);
        let washed = at_volume(bed.extract_kg * unwashed, hold_up_l);
        let rinsed = bed.plus(Mix::water(sparge_kg)).minus(washed);
        let stays = if hold_up_l > 0.0 {
            self.retained_l / hold_up_l
        } else {
            0.0
        };
        let sparge_left = if sparge_l > 0.0 {
            (hold_up_l * (1.0 - unwashed) / sparge_l).min(1.0) * stays
        } else {
            0.0
        };
        Lautered {
            run_offs: vec![full.share(1.0 - kept), rinsed, washed.share(1.0 - stays)],
            left: washed.share(stays),
            last_plato: diluted_plato(bed, share_at_outlet(self.stages, ratio)),
            mash_solutes: 1.0 - kept * unwashed * stays,
            sparge_solutes: if sparge_l > 0.0 {
                1.0 - sparge_left
            } else {
                0.0
            },
        }
    }
}

/// Share of a solute left in a bed of n equal mixed stages after a sparge of so
/// many hold-ups, from a uniform start \[–\]:
/// r = (1/n) Σₖ₌₁ⁿ e^(−x) Σⱼ₌₀^(k−1) xʲ/j!, x = n·S/H.
fn share_left(stages: u32, hold_ups: f64) -> f64 {
    let stages = stages.max(1);
    let total: f64 = (1..=stages)
        .map(|k| erlang_tail(k, f64::from(stages) * hold_ups))
        .sum();
    total / f64::from(stages)
}

/// Concentration at the outlet over that at the start \[–\].
fn share_at_outlet(stages: u32, hold_ups: f64) -> f64 {
    let stages = stages.max(1);
    erlang_tail(stages, f64::from(stages) * hold_ups)
}

/// e^(−x) Σⱼ₌₀^(k−1) xʲ/j!
fn erlang_tail(k: u32, x: f64) -> f64 {
    let mut term = (-x).exp();
    let mut sum = term;
    for j in 1..k {
        term *= x / f64::from(j);
        sum += term;
    }
    sum.min(1.0)
}

/// Strength of a wort \[°P\] when its extract in a litre has come down to a share.
fn diluted_plato(wort: Mix, share: f64) -> f64 {
    let litres = wort.volume_l();
    if litres > 0.0 {
        at_volume(wort.extract_kg * share, litres).plato()
    } else {
        0.0
    }
}

/// The wort of so much extract that fills a volume.
fn at_volume(extract_kg: f64, volume_l: f64) -> Mix {
    let mut mix = Mix {
        extract_kg,
        water_kg: volume_l,
    };
    // Water adds its own volume to within a per cent, so each round gains two
    // digits or more.
    for _ in 0..12 {
        let gap_l = volume_l - mix.volume_l();
        mix.water_kg += gap_l * density_kg_per_l(0.0, 20.0);
    }
    mix
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(ours: f64, printed: f64, tolerance: f64) {
        assert!(
            (ours - printed).abs() <= tolerance,
            "{ours} against {printed}"
        );
    }

    fn bed(retained_l: f64) -> Bed {
        Bed {
            extract_kg: 3.840,
            grain_water_kg: 0.2,
            steam_kg: 0.0,
            retained_l,
            hold_up_l: 8.0,
            stages: 3,
        }
    }

    /// 5 kg of grain, moisture 4 %, extract 80 %; run-offs computed with NumPy
    /// from the same exact form.
    #[test]
    fn batch_run_offs_agree_with_the_worked_table() {
        for (mash_kg, refills, retained, run_offs, collected, kettle) in [
            (
                25.0,
                &[][..],
                5.0,
                &[(22.615, 13.223)][..],
                3.1447,
                (22.62, 13.22),
            ),
            (
                15.0,
                &[10.0],
                5.0,
                &[(12.602, 20.168), (10.016, 7.079)],
                3.4768,
                (22.62, 14.54),
            ),
            (
                12.5,
                &[8.0, 8.0],
                5.0,
                &[(10.099, 23.216), (8.012, 9.435), (8.014, 3.708)],
                3.6523,
                (26.12, 13.29),
            ),
            (
                15.0,
                &[15.0],
                4.0,
                &[(13.602, 20.168), (15.025, 4.515)],
                3.6565,
                (28.63, 12.20),
            ),
        ] {
            let full = Mix {
                extract_kg: 3.840,
                water_kg: mash_kg + 0.2,
            };
            let out = bed(retained).batch(full, refills);
            assert_eq!(out.run_offs.len(), run_offs.len());
            for (ours, (volume_l, plato)) in out.run_offs.iter().zip(run_offs) {
                near(ours.volume_l(), *volume_l, 6e-4);
                near(ours.plato(), *plato, 6e-4);
            }
            let total = out
                .run_offs
                .iter()
                .fold(Mix::default(), |sum, r| sum.plus(*r));
            near(total.extract_kg, collected, 6e-5);
            let litres: f64 = out.run_offs.iter().map(|r| r.volume_l()).sum();
            near(litres, kettle.0, 6e-3);
            // Mixing strong and weak wort shrinks it by some millilitres.
            near(total.volume_l(), kettle.0, 1.2e-2);
            near(total.plato(), kettle.1, 6e-3);
            near(out.mash_solutes, collected / 3.840, 6e-5);
        }
    }

    /// Tanks in series; computed with NumPy from the closed sum.
    #[test]
    fn tanks_in_series_agree_with_the_closed_sum() {
        for (stages, row) in [
            (1, [0.6065, 0.3679, 0.2231, 0.1353, 0.0498]),
            (2, [0.5518, 0.2707, 0.1245, 0.0549, 0.0099]),
            (3, [0.5299, 0.2240, 0.0819, 0.0273, 0.0025]),
            (5, [0.5124, 0.1755, 0.0433, 0.0086, 0.0002]),
            (10, [0.5022, 0.1251, 0.0137, 0.0008, 0.0000]),
        ] {
            for (hold_ups, printed) in [0.5, 1.0, 1.5, 2.0, 3.0].into_iter().zip(row) {
                near(share_left(stages, hold_ups), printed, 6e-5);
            }
        }
    }

    /// Ideal washing: R = 5 L, 25 L in all, equal run-offs, no extract to speak
    /// of; limits as computed from 1 − Π R/(R + V).
    #[test]
    fn equal_drains_reach_the_ideal_efficiency() {
        let thin = Bed {
            extract_kg: 1e-9,
            grain_water_kg: 0.0,
            steam_kg: 0.0,
            retained_l: 5.0,
            hold_up_l: 5.0,
            stages: 1,
        };
        let kg = |l: f64| crate::mix::water_kg(l);
        for (n, printed) in [
            (1usize, 0.8333),
            (2, 0.9184),
            (3, 0.9473),
            (4, 0.9610),
            (10, 0.9827),
        ] {
            let each = 25.0 / n as f64;
            let full = Mix {
                extract_kg: 1e-9,
                water_kg: kg(5.0 + each),
            };
            let out = thin.batch(full, &vec![kg(each); n - 1]);
            near(out.mash_solutes, printed, 6e-5);
        }
        let out = thin.continuous(
            Mix {
                extract_kg: 1e-9,
                water_kg: kg(5.0),
            },
            kg(25.0),
        );
        near(out.mash_solutes, 0.9933, 6e-5);
    }

    #[test]
    fn a_continuous_sparge_loses_no_water_and_no_extract() {
        let out = bed(5.0).lauter(Sparge::Continuous, 15.0, 12.0).unwrap();
        let total = out.run_offs.iter().fold(out.left, |sum, r| sum.plus(*r));
        near(total.extract_kg, 3.840, 1e-12);
        near(total.water_kg, 15.0 + 12.0 + 0.2, 1e-12);
        near(out.left.volume_l(), 5.0, 1e-9);
    }

    #[test]
    fn nothing_runs_off_a_mash_that_holds_it_all() {
        assert!(bed(20.0).lauter(Sparge::None, 10.0, 0.0).is_none());
    }
}
