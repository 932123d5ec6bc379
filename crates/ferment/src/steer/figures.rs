//! The figures at the end of a course.

use wort::PitchingWort;

use super::wish::Figure;
use crate::alcohol::Balance;
use crate::ferment::{VINYLGUAIACOL_PER_FERULIC, by_pitch_and_strength};
use crate::kinetics::{STATES, common};
use crate::plan::FermentPlan;
use crate::solver::Real;

use quantity::PitchRate;

/// The figures of a course at its end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figures {
    /// Days from pitching.
    pub days: f64,
    /// Ethyl acetate \[mg/L\].
    pub ethyl_acetate: f64,
    /// Isoamyl acetate \[mg/L\].
    pub isoamyl_acetate: f64,
    /// Isoamyl alcohol \[mg/L\].
    pub isoamyl_alcohol: f64,
    /// Diacetyl, there and to come \[mg/L\].
    pub diacetyl: f64,
    /// 4-Vinylguaiacol \[mg/L\].
    pub vinylguaiacol: f64,
    /// Acetaldehyde \[mg/L\].
    pub acetaldehyde: f64,
    /// Share of what can ferment that is left \[%\].
    pub left: f64,
    /// Apparent extract \[°P\].
    pub gravity_plato: f64,
}

impl Figures {
    /// One of them.
    #[must_use]
    pub const fn of(&self, figure: Figure) -> f64 {
        match figure {
            Figure::Days => self.days,
            Figure::EthylAcetate => self.ethyl_acetate,
            Figure::IsoamylAcetate => self.isoamyl_acetate,
            Figure::IsoamylAlcohol => self.isoamyl_alcohol,
            Figure::Diacetyl => self.diacetyl,
            Figure::Vinylguaiacol => self.vinylguaiacol,
            Figure::Acetaldehyde => self.acetaldehyde,
            Figure::LeftToFerment => self.left,
            Figure::Gravity => self.gravity_plato,
        }
    }
}

/// What turns states into figures: levels that scores of flavour are factors on
/// \[mg/L\], at the planned pitch.
#[derive(Debug, Clone)]
pub(super) struct Scores {
    esters: f64,
    banana: f64,
    fusels: f64,
    clove_from_heat: f64,
    clove_from_yeast: f64,
    sugars: f64,
    balance: Balance,
}

/// The end of a course, in numbers that may carry slopes.
pub(super) struct End<'a, T> {
    pub(super) state: &'a [T; STATES],
    pub(super) days: T,
    /// ln of the pitch to the planned one.
    pub(super) ln_pitch: T,
    /// Factor on the levels of esters and fusel alcohols, and what is added to the
    /// exponent of the pitch.
    pub(super) level: f64,
    pub(super) exponent: f64,
}

impl Scores {
    pub(super) fn new(
        plan: &FermentPlan,
        wort: &PitchingWort,
        planned: PitchRate,
        sugars: f64,
    ) -> Self {
        let typical = &plan.strain.typical;
        let (esters, fusels) = by_pitch_and_strength(plan, wort, planned);
        let ferulic = wort.traces.ferulic_acid.mg_per_l();
        let converted = if plan.strain.phenolic {
            typical.ferulic_conversion.ratio()
        } else {
            0.0
        };
        Self {
            esters: typical.ethyl_acetate.mg_per_l() * esters,
            banana: typical.isoamyl_acetate.mg_per_l() * esters,
            fusels: typical.isoamyl_alcohol.mg_per_l() * fusels,
            clove_from_heat: common().thermal_vinylguaiacol * ferulic,
            clove_from_yeast: VINYLGUAIACOL_PER_FERULIC * converted * ferulic,
            sugars,
            balance: Balance::new(wort.gravity.plato()),
        }
    }

    /// The share left \[%\] at which the apparent extract \[°P\] is reached.
    pub(super) fn left_at(&self, plato: f64) -> f64 {
        100.0 * (1.0 - self.balance.fermented_at(plato) / self.sugars)
    }

    /// Extract left \[g per L of wort\] at an apparent extract \[°P\].
    pub(super) fn grams_left_at(&self, plato: f64) -> f64 {
        self.sugars - self.balance.fermented_at(plato)
    }

    /// A figure; the gravity as the share that is left.
    pub(super) fn figure<T: Real>(&self, figure: Figure, end: &End<'_, T>) -> Option<T> {
        let [_, _, _, g, m, n, d, esters, fusels, ala, diacetyl, aldehyde] = *end.state;
        let left = (g + m + n + d) / self.sugars;
        let crowd = (end.ln_pitch * (common().pitch_exponent + end.exponent)).exp() * end.level;
        let of = match figure {
            Figure::Days => end.days,
            Figure::EthylAcetate => esters * crowd * self.esters,
            Figure::IsoamylAcetate => esters * crowd * self.banana,
            Figure::IsoamylAlcohol => fusels * crowd * self.fusels,
            Figure::Diacetyl => ala + diacetyl,
            Figure::Vinylguaiacol => {
                (-(left * left) + 1.0) * self.clove_from_yeast + self.clove_from_heat
            }
            Figure::Acetaldehyde => aldehyde,
            Figure::LeftToFerment | Figure::Gravity => left * 100.0,
        };
        Some(of).filter(|of| of.is_finite())
    }

    /// All of them.
    pub(super) fn figures(&self, end: &End<'_, f64>) -> Option<Figures> {
        let at = |figure| self.figure(figure, end).map(|x| x.max(0.0));
        let left = at(Figure::LeftToFerment)?;
        let fermented = self.sugars * (1.0 - left / 100.0);
        Some(Figures {
            days: at(Figure::Days)?,
            ethyl_acetate: at(Figure::EthylAcetate)?,
            isoamyl_acetate: at(Figure::IsoamylAcetate)?,
            isoamyl_alcohol: at(Figure::IsoamylAlcohol)?,
            diacetyl: at(Figure::Diacetyl)?,
            vinylguaiacol: at(Figure::Vinylguaiacol)?,
            acetaldehyde: at(Figure::Acetaldehyde)?,
            left,
            gravity_plato: self.balance.beer_after(fermented).apparent_plato,
        })
    }
}
