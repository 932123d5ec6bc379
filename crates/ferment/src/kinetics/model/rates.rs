//! The right-hand side of the course model.

use wort::alcohol::EXTRACT_PER_ETHANOL;

use super::{CourseModel, N, ph_after};
use crate::kinetics::class::common;
use crate::kinetics::vdk::{acetolactate_decay_per_h, acidity};
use crate::solver::{Over, Real, System, Tolerances};

/// What the temperature makes of the rates.
pub(crate) struct Warmth<T> {
    growth: T,
    uptake: T,
    death_per_h: T,
    cold: T,
    esters: T,
    fusels: T,
    decay_per_h: T,
    reduction: T,
    splitting_per_h: T,
}

impl<T: Real> Warmth<T> {
    fn lift<D: Over<T>>(&self) -> Warmth<D> {
        Warmth {
            growth: D::lift(self.growth),
            uptake: D::lift(self.uptake),
            death_per_h: D::lift(self.death_per_h),
            cold: D::lift(self.cold),
            esters: D::lift(self.esters),
            fusels: D::lift(self.fusels),
            decay_per_h: D::lift(self.decay_per_h),
            reduction: D::lift(self.reduction),
            splitting_per_h: D::lift(self.splitting_per_h),
        }
    }
}

impl<T: Over<T>> CourseModel<T> {
    pub(crate) fn warmth_at<D: Real>(&self, temp_c: D) -> Warmth<D> {
        let (class, c) = (&self.setting.class, common());
        let above = temp_c - class.reference_c;
        let cold_c = self.setting.working_low_c - c.cold_margin_k;
        let grown = |per_k: f64, above: D| (above * per_k).exp();
        // Beyond e^5 the yeast is dead within the hour, which is enough.
        let heat = (temp_c - class.growth_at.max_c) / c.heat_death_width_k;
        let heat = (-((-heat + 5.0).above_zero()) + 5.0).exp();
        let cold = ((temp_c - cold_c) / c.cold_width_k).exp();
        Warmth {
            growth: class.growth_at.factor(temp_c) / self.growth_reference,
            uptake: class.uptake_at.factor(temp_c) / self.uptake_reference,
            death_per_h: heat * c.heat_death_per_h + c.death_per_h,
            cold: (cold + 1.0).recip(),
            esters: (above * c.ester_slope_per_k).exp(),
            fusels: grown(self.per_k.fusels, above),
            decay_per_h: acetolactate_decay_per_h(c, temp_c),
            reduction: grown(self.per_k.reduction, temp_c - 20.0),
            splitting_per_h: grown(self.per_k.splitting, temp_c - c.dextrin_reference_c)
                * c.dextrin_split_per_h,
        }
    }

    /// The rates of change \[per h\] in some warmth.
    pub(crate) fn rates_in<D: Over<T>>(&self, w: &Warmth<D>, x: &[D; N]) -> [D; N] {
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
        let (s, c) = (&self.setting, common());
        let active = alive(active);
        let total = s.sugars.total();
        let sugar = g + m + n;
        let gone = -(sugar + dextrin) / total + 1.0;
        let ethanol = gone * (total / EXTRACT_PER_ETHANOL / s.tolerance_g_per_l);
        let vigour = (ethanol.powi(c.tolerance_steepness) + 1.0).recip()
            * ((-ready).exp() + 1.0).recip()
            * active
            * s.rate;

        let repress = |by: D, half: f64| (by + half).recip() * half;
        let fed = vigour * w.uptake * s.class.uptake_g_per_l_h;
        let r_simple = fed * monod(g, c.half_simple_g_per_l) * c.simple_ratio;
        let past_simple = fed * repress(g, c.repress_by_simple_g_per_l);
        let r_maltose = past_simple * monod(m, c.half_maltose_g_per_l);
        let r_triose = past_simple
            * repress(m, c.repress_by_maltose_g_per_l)
            * monod(n, c.half_maltotriose_g_per_l)
            * c.maltotriose_ratio;
        let uptake = r_simple + r_maltose + r_triose;
        // The enzyme is outside the cells and comes with all that ever grew.
        let split = dextrin * ever * w.splitting_per_h / 50.0;

        let room = -ever / self.ceiling + 1.0;
        let fed = monod(sugar, c.half_growth_g_per_l);
        let growth = vigour * fed * room * w.growth * s.class.growth_per_h;
        let stirred = (uptake / c.stir_g_per_l_h + 1.0).recip();
        let clumping = active * active / (active + c.crowd_millions_per_ml);
        let settling = clumping * (gone.powi(3) * stirred + w.cold) * s.class.settling_per_h;
        // Esters and fusel alcohols come with growth: three quarters of them in
        // the first half of the attenuation.
        let early = (-gone + 1.0) * uptake * (2.0 / total);
        let ph = ph_after(s.wort_ph, s.beer_ph, gone);
        let decay = ala * w.decay_per_h * acidity(self.decay_by_ph, ph);
        let reducing = active * w.reduction;
        [
            w.growth * c.readiness_per_h,
            growth - settling - active * w.death_per_h,
            growth,
            split - r_simple,
            -r_maltose,
            -r_triose,
            -split,
            early * w.esters,
            early * w.fusels,
            growth * (c.acetolactate_mg_per_cells * s.class.diacetyl) - decay,
            decay - diacetyl * reducing * c.diacetyl_reduction,
            uptake * c.acetaldehyde_mg_per_g - aldehyde * reducing * c.acetaldehyde_reduction,
        ]
    }
}

impl<T: Over<T>> System<N, T> for CourseModel<T> {
    type Warmth = Warmth<T>;

    fn warmth(&self, temp_c: T) -> Warmth<T> {
        self.warmth_at(temp_c)
    }

    fn rates<D: Over<T>>(&self, _t_h: f64, warmth: &Warmth<T>, x: &[D; N]) -> [D; N] {
        self.rates_in(&warmth.lift(), x)
    }

    fn tolerances(&self) -> Tolerances<N> {
        Tolerances {
            absolute: [
                1e-4, 1e-5, 1e-5, 1e-5, 1e-5, 1e-5, 1e-5, 1e-6, 1e-6, 1e-7, 1e-7, 1e-6,
            ],
            relative: 1e-6,
        }
    }
}

/// Active cells \[10⁶/mL\] without what is only the solver's error: about a
/// hundred cells in a millilitre and fewer fade to none, or dead yeast would come
/// back to life from rounding, or grow below zero.
fn alive<D: Real>(active: D) -> D {
    const NOISE_MILLIONS_PER_ML: f64 = 1e-4;
    (active * active / (active + NOISE_MILLIONS_PER_ML)).gated(active)
}

fn monod<D: Real>(x: D, half: f64) -> D {
    x / (x + half)
}
