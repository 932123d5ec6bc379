//! The course model: yeast, sugars and flavour of one batch over time.
//!
//! Form: sugars after Engasser et al. 1981 and Gee & Ramirez 1994 (Monod uptake,
//! maltose repressed by simple sugars, maltotriose by both), growth to a ceiling
//! that sterols and nitrogen set, lag after Baranyi & Roberts 1994, temperature
//! after Rosso et al. 1993. Ethanol, CO₂ and yeast mass follow from the sugar by
//! Balling's proportions, so that mass closes whatever the solver does.

use wort::alcohol::EXTRACT_PER_ETHANOL;

use super::class::{ClassKinetics, Common, common};
use super::solve::{Real, System};
use super::vdk::acetolactate_decay_per_h;

const N: usize = 12;

/// Extract that this yeast can ferment in this wort \[g per L of wort\].
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Sugars {
    pub(crate) simple: f64,
    pub(crate) maltose: f64,
    pub(crate) maltotriose: f64,
    /// Dextrins that its own enzymes reach; zero for all but diastatic yeast.
    pub(crate) dextrin: f64,
}

impl Sugars {
    pub(crate) fn total(&self) -> f64 {
        self.simple + self.maltose + self.maltotriose + self.dextrin
    }
}

/// What a batch is to the model.
#[derive(Debug, Clone)]
pub(crate) struct Setting {
    pub(crate) class: ClassKinetics,
    pub(crate) sugars: Sugars,
    /// Living cells pitched \[10⁶/mL\].
    pub(crate) pitched: f64,
    pub(crate) dry_yeast: bool,
    /// Oxygen at pitching \[mg/L\].
    pub(crate) oxygen_mg_per_l: f64,
    /// Free amino nitrogen \[mg/L\].
    pub(crate) fan_mg_per_l: f64,
    /// Ethanol at which the yeast comes to a stop \[g per L of wort\].
    pub(crate) tolerance_g_per_l: f64,
    pub(crate) lag_h: f64,
    /// Factor on growth and uptake.
    pub(crate) rate: f64,
    pub(crate) beer_ph: f64,
    /// Lower working temperature \[°C\].
    pub(crate) working_low_c: f64,
}

/// The model of one batch.
#[derive(Debug, Clone)]
pub(crate) struct CourseModel {
    setting: Setting,
    /// Cells in all that sterols and nitrogen allow \[10⁶/mL\].
    ceiling: f64,
    growth_reference: f64,
    uptake_reference: f64,
}

/// The states at one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct State {
    /// Active cells in suspension \[10⁶/mL\].
    pub(crate) active: f64,
    /// Extract still to be fermented \[g per L of wort\].
    pub(crate) left: f64,
    /// Share of the fermentable extract that is gone.
    pub(crate) progress: f64,
    /// Esters relative to the class at its reference, by temperature alone.
    pub(crate) esters: f64,
    /// The same of fusel alcohols.
    pub(crate) fusels: f64,
    /// Acetolactate, as diacetyl \[mg/L\].
    pub(crate) acetolactate: f64,
    /// Diacetyl \[mg/L\].
    pub(crate) diacetyl: f64,
    /// Acetaldehyde \[mg/L\].
    pub(crate) acetaldehyde: f64,
}

impl CourseModel {
    pub(crate) fn new(setting: Setting) -> Self {
        let class = &setting.class;
        Self {
            ceiling: ceiling(&setting, common()),
            growth_reference: class.growth_at.factor(class.reference_c),
            uptake_reference: class.uptake_at.factor(class.reference_c),
            setting,
        }
    }

    /// The states at pitching.
    pub(crate) fn start(&self) -> [f64; N] {
        let Sugars {
            simple,
            maltose,
            maltotriose,
            dextrin,
        } = self.setting.sugars;
        let cells = self.setting.pitched;
        let ready = readiness_at_start(common().readiness_per_h * self.setting.lag_h);
        [
            ready,
            cells,
            cells,
            simple,
            maltose,
            maltotriose,
            dextrin,
            0.0,
            0.0,
            0.0,
            0.0,
            0.0,
        ]
    }

    /// What the numbers of the solver mean. They may lie below zero by less than
    /// its tolerance, which is cut off here.
    pub(crate) fn read(&self, x: &[f64; N]) -> State {
        let [
            _,
            active,
            _,
            g,
            m,
            n,
            d,
            esters,
            fusels,
            acetolactate,
            diacetyl,
            acetaldehyde,
        ] = x.map(|v| v.max(0.0));
        let total = self.setting.sugars.total();
        let left = (g + m + n + d).min(total);
        State {
            active,
            left,
            progress: 1.0 - left / total,
            esters,
            fusels,
            acetolactate,
            diacetyl,
            acetaldehyde,
        }
    }

    /// Cells in all that sterols and nitrogen allow \[10⁶/mL\].
    #[cfg(test)]
    pub(crate) fn ceiling(&self) -> f64 {
        self.ceiling
    }
}

/// Cells in all \[10⁶/mL\] until the sterols of the pitch and those that oxygen
/// lets it make are thinned out, or the nitrogen is used up.
fn ceiling(setting: &Setting, common: &Common) -> f64 {
    let fold = if setting.dry_yeast {
        common.sterols_dry_fold
    } else {
        common.sterols_other_fold
    };
    let by_sterols = setting.pitched * fold + common.cells_per_oxygen * setting.oxygen_mg_per_l;
    // Without any nitrogen cells still divide on what they store, about once in
    // two (judgement).
    let new_cells = (setting.fan_mg_per_l / common.nitrogen_per_cells).max(0.5 * setting.pitched);
    by_sterols.min(setting.pitched + new_cells)
}

/// The readiness z of Baranyi & Roberts 1994 at pitching, with the work to be
/// done h₀ = rate × lag: z = −ln(e^h₀ − 1), where the active share is
/// 1/(1 + e^−z).
fn readiness_at_start(work: f64) -> f64 {
    if work > 30.0 {
        -work
    } else {
        -(work.max(1e-6).exp_m1()).ln()
    }
}

/// What the temperature makes of the rates.
struct Warmth {
    growth: f64,
    uptake: f64,
    death_per_h: f64,
    cold: f64,
    esters: f64,
    fusels: f64,
    decay_per_h: f64,
    reduction: f64,
    splitting_per_h: f64,
}

impl CourseModel {
    fn warmth(&self, temp_c: f64) -> Warmth {
        let (class, c) = (&self.setting.class, common());
        let above = temp_c - class.reference_c;
        let cold_c = self.setting.working_low_c - c.cold_margin_k;
        // Beyond e^5 the yeast is dead within the hour, which is enough.
        let heat = ((temp_c - class.growth_at.max_c) / c.heat_death_width_k)
            .min(5.0)
            .exp();
        Warmth {
            growth: class.growth_at.factor(temp_c) / self.growth_reference,
            uptake: class.uptake_at.factor(temp_c) / self.uptake_reference,
            death_per_h: c.death_per_h + c.heat_death_per_h * heat,
            cold: 1.0 / (1.0 + ((temp_c - cold_c) / c.cold_width_k).exp()),
            esters: (c.ester_slope_per_k * above).exp(),
            fusels: c.fusel_q10.powf(above / 10.0),
            decay_per_h: acetolactate_decay_per_h(c, temp_c, self.setting.beer_ph),
            reduction: c.reduction_q10.powf((temp_c - 20.0) / 10.0),
            splitting_per_h: c.dextrin_split_per_h
                * c.dextrin_q10.powf((temp_c - c.dextrin_reference_c) / 10.0),
        }
    }
}

impl System<N> for CourseModel {
    fn rates<D: Real>(&self, _t_h: f64, temp_c: f64, x: &[D; N]) -> [D; N] {
        let [
            ready,
            active,
            ever,
            g,
            m,
            n,
            dextrin,
            _,
            _,
            ala,
            diacetyl,
            aldehyde,
        ] = *x;
        let (s, c, w) = (&self.setting, common(), self.warmth(temp_c));
        let active = alive(active);
        let total = s.sugars.total();
        let sugar = g + m + n;
        let gone = -(sugar + dextrin) / total + 1.0;
        let ethanol = gone * (total / EXTRACT_PER_ETHANOL / s.tolerance_g_per_l);
        let vigour = (ethanol.powi(c.tolerance_steepness) + 1.0).recip()
            * ((-ready).exp() + 1.0).recip()
            * active;

        let repress = |by: D, half: f64| (by + half).recip() * half;
        let fed = vigour * (s.class.uptake_g_per_l_h * s.rate * w.uptake);
        let r_simple = fed * monod(g, c.half_simple_g_per_l) * c.simple_ratio;
        let past_simple = fed * repress(g, c.repress_by_simple_g_per_l);
        let r_maltose = past_simple * monod(m, c.half_maltose_g_per_l);
        let r_triose = past_simple
            * repress(m, c.repress_by_maltose_g_per_l)
            * monod(n, c.half_maltotriose_g_per_l)
            * c.maltotriose_ratio;
        let uptake = r_simple + r_maltose + r_triose;
        // The enzyme is outside the cells and comes with all that ever grew.
        let split = dextrin * ever * (w.splitting_per_h / 50.0);

        let room = -ever / self.ceiling + 1.0;
        let growth = vigour
            * monod(sugar, c.half_growth_g_per_l)
            * room
            * (s.class.growth_per_h * s.rate * w.growth);
        let stirred = (uptake / c.stir_g_per_l_h + 1.0).recip();
        let clumping = active * active / (active + c.crowd_millions_per_ml);
        let settling = clumping * (gone.powi(3) * stirred + w.cold) * s.class.settling_per_h;
        // Esters and fusel alcohols come with growth: three quarters of them in
        // the first half of the attenuation.
        let early = (-gone + 1.0) * uptake * (2.0 / total);
        let decay = ala * w.decay_per_h;
        [
            D::from(c.readiness_per_h * w.growth),
            growth - settling - active * w.death_per_h,
            growth,
            split - r_simple,
            -r_maltose,
            -r_triose,
            -split,
            early * w.esters,
            early * w.fusels,
            growth * (c.acetolactate_mg_per_cells * s.class.diacetyl) - decay,
            decay - diacetyl * active * (c.diacetyl_reduction * w.reduction),
            uptake * c.acetaldehyde_mg_per_g
                - aldehyde * active * (c.acetaldehyde_reduction * w.reduction),
        ]
    }

    fn tolerances(&self) -> [f64; N] {
        [
            1e-4, 1e-5, 1e-5, 1e-5, 1e-5, 1e-5, 1e-5, 1e-6, 1e-6, 1e-7, 1e-7, 1e-6,
        ]
    }

    fn relative_tolerance(&self) -> f64 {
        1e-6
    }
}

/// Active cells \[10⁶/mL\] without what is only the solver's error: about a
/// hundred cells in a millilitre and fewer fade to none, or dead yeast would come
/// back to life from rounding, or grow below zero.
fn alive<D: Real>(active: D) -> D {
    const NOISE_MILLIONS_PER_ML: f64 = 1e-4;
    if active <= 0.0 {
        return D::from(0.0);
    }
    active * active / (active + NOISE_MILLIONS_PER_ML)
}

fn monod<D: Real>(x: D, half: f64) -> D {
    x / (x + half)
}

#[cfg(test)]
mod tests {
    use super::super::solve::solve;
    use super::*;
    use crate::temperature::TemperatureCourse;
    use num_dual::Dual64;
    use proptest::prelude::*;
    use quantity::Temperature;

    fn batch() -> CourseModel {
        let strain = crate::strain("saison").unwrap();
        CourseModel::new(Setting {
            class: strain.kinetics.clone(),
            sugars: Sugars {
                simple: 13.0,
                maltose: 50.0,
                maltotriose: 17.0,
                dextrin: 12.0,
            },
            pitched: 8.0,
            dry_yeast: false,
            oxygen_mg_per_l: 8.0,
            fan_mg_per_l: 180.0,
            tolerance_g_per_l: 100.0,
            lag_h: 12.0,
            rate: 1.0,
            beer_ph: 4.3,
            working_low_c: 20.0,
        })
    }

    /// Baranyi & Roberts 1994: ∫ dt/(1 + e^−(z₀ + νt)) grows like t − lag.
    #[test]
    fn the_lag_is_as_long_as_asked() {
        for (rate, lag_h) in [(0.35, 12.0), (0.35, 2.0), (1.0, 60.0)] {
            let z = readiness_at_start(rate * lag_h);
            let steps = 200_000;
            let until_h = 200.0;
            let dt = until_h / f64::from(steps);
            let active: f64 = (0..steps)
                .map(|i| dt / (1.0 + (-(z + rate * (f64::from(i) + 0.5) * dt)).exp()))
                .sum();
            assert!(
                (until_h - active - lag_h).abs() < 1e-3,
                "{rate} {lag_h}: {active}"
            );
        }
        assert!(readiness_at_start(0.0) > 10.0, "no lag: all ready");
    }

    /// 9 × 10⁶/mL and 8 mg/L of oxygen grow to about 50 × 10⁶/mL, three to five
    /// fold and a little (common practice); nitrogen can be the shorter.
    #[test]
    fn growth_has_the_ceiling_of_practice() {
        let mut model = batch();
        let fold = model.ceiling() / 8.0;
        assert!((3.0..7.0).contains(&fold), "{fold}");
        model.setting.fan_mg_per_l = 24.0;
        assert!((CourseModel::new(model.setting).ceiling() - 18.0).abs() < 1e-9);
    }

    struct Strict(CourseModel);

    impl System<N> for Strict {
        fn rates<D: Real>(&self, t_h: f64, temp_c: f64, x: &[D; N]) -> [D; N] {
            self.0.rates(t_h, temp_c, x)
        }
        fn tolerances(&self) -> [f64; N] {
            [1e-10; N]
        }
        fn relative_tolerance(&self) -> f64 {
            1e-10
        }
    }

    #[test]
    fn the_solver_is_far_more_exact_than_the_model() {
        let course = TemperatureCourse::level(Temperature::from_c(24.0)).unwrap();
        let times: Vec<f64> = (1..=60).map(|i| f64::from(i) * 6.0).collect();
        let usual = solve(&batch(), batch().start(), &course, &times).unwrap();
        let strict = solve(&Strict(batch()), batch().start(), &course, &times).unwrap();
        for (a, b) in usual.iter().zip(&strict) {
            let (a, b) = (batch().read(a), batch().read(b));
            assert!((a.left - b.left).abs() < 5e-3, "g/L: {} {}", a.left, b.left);
            assert!(
                (a.diacetyl - b.diacetyl).abs() < 1e-4,
                "{} {}",
                a.diacetyl,
                b.diacetyl
            );
            assert!(
                (a.active - b.active).abs() < 5e-3,
                "{} {}",
                a.active,
                b.active
            );
        }
    }

    proptest! {
        #[test]
        fn the_jacobian_is_the_slope_of_the_rates(
            part in prop::array::uniform12(0.01..1.0f64), k in 0..N, temp_c in 5.0..38.0f64,
        ) {
            let scale = [8.0, 60.0, 70.0, 13.0, 50.0, 17.0, 12.0, 1.0, 1.0, 0.5, 0.2, 20.0];
            let x: [f64; N] = std::array::from_fn(|i| part[i] * scale[i]);
            let model = batch();
            let dual = std::array::from_fn(|i| Dual64::new(x[i], f64::from(i == k)));
            let exact = model.rates(0.0, temp_c, &dual).map(|r| r.eps);
            let h = 1e-5 * scale[k] * part[k];
            let at = |sign: f64| {
                let mut y = x;
                y[k] += sign * h;
                model.rates(0.0, temp_c, &y)
            };
            for ((up, down), e) in at(1.0).iter().zip(at(-1.0)).zip(exact) {
                let slope = (up - down) / (2.0 * h);
                prop_assert!((slope - e).abs() < 1e-6 + 1e-5 * e.abs(), "{slope} {e}");
            }
        }

        /// What leaves one sugar comes into another or is fermented: the rates of
        /// the extract never add up to a gain.
        #[test]
        fn extract_only_falls(part in prop::array::uniform12(0.0..1.0f64), temp_c in -2.0..45.0f64) {
            let scale = [8.0, 60.0, 47.0, 13.0, 50.0, 17.0, 12.0, 1.0, 1.0, 0.5, 0.2, 20.0];
            let x: [f64; N] = std::array::from_fn(|i| part[i] * scale[i]);
            let d = batch().rates(0.0, temp_c, &x);
            prop_assert!(d[3] + d[4] + d[5] + d[6] <= 1e-12);
            prop_assert!(d[2] >= -1e-12, "cells that ever were cannot vanish");
        }
    }
}
