//! The course model: yeast, sugars and flavour of one batch over time.
//!
//! Form: sugars after Engasser et al. 1981 and Gee & Ramirez 1994 (Monod uptake,
//! maltose repressed by simple sugars, maltotriose by both), growth to a ceiling
//! that sterols and nitrogen set, lag after Baranyi & Roberts 1994, temperature
//! after Rosso et al. 1993. Ethanol, CO₂ and yeast mass follow from the sugar by
//! Balling's proportions, so that mass closes whatever the solver does.

mod rates;

pub(crate) use rates::Warmth;

use super::class::{ClassKinetics, Common, common};
use super::vdk::slope_by_ph;
use crate::solver::{Over, Real};

/// States of the model.
pub(crate) const N: usize = 12;

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

/// What a batch is to the model. What is of the kind T may carry slopes.
#[derive(Debug, Clone)]
pub(crate) struct Setting<T = f64> {
    pub(crate) class: ClassKinetics,
    pub(crate) sugars: Sugars,
    /// Living cells pitched \[10⁶/mL\].
    pub(crate) pitched: T,
    pub(crate) dry_yeast: bool,
    /// Oxygen at pitching \[mg/L\].
    pub(crate) oxygen_mg_per_l: T,
    /// Free amino nitrogen \[mg/L\].
    pub(crate) fan_mg_per_l: f64,
    /// Ethanol at which the yeast comes to a stop \[g per L of wort\].
    pub(crate) tolerance_g_per_l: f64,
    pub(crate) lag_h: T,
    /// Factor on growth and uptake.
    pub(crate) rate: T,
    pub(crate) wort_ph: f64,
    pub(crate) beer_ph: f64,
    /// Lower working temperature \[°C\].
    pub(crate) working_low_c: f64,
}

/// The model of one batch.
#[derive(Debug, Clone)]
pub(crate) struct CourseModel<T = f64> {
    setting: Setting<T>,
    /// Cells in all that sterols and nitrogen allow \[10⁶/mL\].
    ceiling: T,
    growth_reference: f64,
    uptake_reference: f64,
    /// Of the decay of acetolactate, in ln by pH.
    decay_by_ph: f64,
    per_k: PerK,
}

/// How the temperature moves a rate, in ln by K, for those that grow by a factor in ten.
#[derive(Debug, Clone, Copy)]
struct PerK {
    fusels: f64,
    reduction: f64,
    splitting: f64,
}

impl PerK {
    fn of(common: &Common) -> Self {
        let per_k = |in_ten: f64| in_ten.ln() / 10.0;
        Self {
            fusels: per_k(common.fusel_q10),
            reduction: per_k(common.reduction_q10),
            splitting: per_k(common.dextrin_q10),
        }
    }
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

impl<T: Over<T>> CourseModel<T> {
    pub(crate) fn new(setting: Setting<T>) -> Self {
        let class = &setting.class;
        Self {
            ceiling: ceiling(&setting, common()),
            growth_reference: class.growth_at.factor(class.reference_c),
            uptake_reference: class.uptake_at.factor(class.reference_c),
            decay_by_ph: slope_by_ph(common()),
            per_k: PerK::of(common()),
            setting,
        }
    }

    /// The states at pitching.
    pub(crate) fn start(&self) -> [T; N] {
        let Sugars {
            simple,
            maltose,
            maltotriose,
            dextrin,
        } = self.setting.sugars;
        let cells = self.setting.pitched;
        let ready = readiness_at_start(self.setting.lag_h * common().readiness_per_h);
        let nothing = T::of(0.0);
        [
            ready,
            cells,
            cells,
            T::of(simple),
            T::of(maltose),
            T::of(maltotriose),
            T::of(dextrin),
            nothing,
            nothing,
            nothing,
            nothing,
            nothing,
        ]
    }
}

impl CourseModel {
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
}

/// Cells in all \[10⁶/mL\] until the sterols of the pitch and those that oxygen
/// lets it make are thinned out, or the nitrogen is used up.
fn ceiling<T: Real>(setting: &Setting<T>, common: &Common) -> T {
    let fold = if setting.dry_yeast {
        common.sterols_dry_fold
    } else {
        common.sterols_other_fold
    };
    let pitched = setting.pitched;
    let by_sterols = pitched * fold + setting.oxygen_mg_per_l * common.cells_per_oxygen;
    // Without any nitrogen cells still divide on what they store, about once in
    // two (judgement).
    let stored = pitched * 0.5;
    let fed = T::of(setting.fan_mg_per_l / common.nitrogen_per_cells);
    let by_nitrogen = pitched + stored + (fed - stored).above_zero();
    by_nitrogen - (by_nitrogen - by_sterols).above_zero()
}

/// pH on the way from wort to beer: it falls with the first sugar, nearly all of
/// it in the first third.
pub(crate) fn ph_after<T: Real>(wort_ph: f64, beer_ph: f64, progress: T) -> T {
    (progress * -common().ph_fall).exp() * (wort_ph - beer_ph) + beer_ph
}

/// The readiness z of Baranyi & Roberts 1994 at pitching, with the work to be
/// done h₀ = rate × lag: z = −ln(e^h₀ − 1), where the active share is
/// 1/(1 + e^−z).
fn readiness_at_start<T: Real>(work: T) -> T {
    const LEAST: f64 = 1e-6;
    let work = (work - LEAST).above_zero() + LEAST;
    -(work + (-(-work).exp() + 1.0).ln())
}

#[cfg(test)]
mod tests;
