//! Steering of a batch, on the course model.

use quantity::{Duration, PitchRate};
use wort::PitchingWort;

use super::search::{Slope, Valued, best_of};
use super::{CoursePoint, Effort, FermentPlan, Range, lines, points, starts};
use crate::error::{FermentError, within, within_numbers};
use crate::ferment::{VALIDITY, by_pitch_and_strength, prepared, whole};
use crate::kinetics::{CourseModel, Setting, common};
use crate::solver::{Real, solve_along};

/// Temperatures that are steered.
const KNOTS: usize = 6;
/// Free numbers: the temperatures, and the logarithm of the pitch to the planned.
const FREE: usize = KNOTS + 1;

/// A figure of the beer at the end of a course.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Figure {
    /// Ethyl acetate \[mg/L\], which stands for the esters.
    EthylAcetate,
    /// Isoamyl alcohol \[mg/L\], which stands for the fusel alcohols.
    IsoamylAlcohol,
    /// Diacetyl, with what is still to become it \[mg/L\].
    Diacetyl,
    /// Acetaldehyde \[mg/L\].
    Acetaldehyde,
    /// Share of what can ferment that is left \[%\].
    LeftToFerment,
}

/// What is wished of a figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Goal {
    /// As little as can be.
    Least,
    /// As much as can be.
    Most,
}

/// What a course should do.
#[derive(Debug, Clone, PartialEq)]
pub struct Wish {
    /// The figure that matters most, and which way.
    pub aim: (Figure, Goal),
    /// Figures that may be this much at most.
    pub at_most: Vec<(Figure, f64)>,
    /// When the course ends.
    pub end: Duration,
    /// The temperatures that can be had.
    pub range: Range,
    /// How far the pitch may be from the planned one, as a factor up and down; 1
    /// keeps it.
    pub pitch_factor: f64,
}

/// A course that serves a wish.
#[derive(Debug, Clone, PartialEq)]
pub struct Steered {
    /// The temperatures.
    pub course: Vec<CoursePoint>,
    /// Pitch, as a factor on the planned one.
    pub pitch: f64,
    /// The pitch itself.
    pub pitch_rate: PitchRate,
    /// The figure aimed at.
    pub aim: f64,
    /// The model and where it holds.
    pub validity: &'static str,
}

/// The course of six temperatures, and the pitch, that serve a wish best with a
/// yeast and a wort. Nothing if no course was found that keeps the limits.
///
/// # Errors
/// As [`ferment`](crate::ferment), and [`FermentError::Impossible`] for limits,
/// temperatures or times that cannot be.
pub fn steer(
    plan: &FermentPlan,
    wort: &PitchingWort,
    wish: &Wish,
    effort: Effort,
) -> Result<Option<Steered>, FermentError> {
    wish.range.check()?;
    within("end of the course", wish.end, 1.0, 5000.0)?;
    within_numbers("factor of the pitch", wish.pitch_factor, 1.0, 20.0)?;
    for (_, bound) in &wish.at_most {
        within_numbers("limit", *bound, 1e-6, 1e6)?;
    }
    let wort = &whole(plan, wort)?;
    let ready = prepared(plan, wort)?;
    let planned = ready.pitch.rate;
    let scores = Scores::new(plan, wort, planned);
    let value = |u: &[Slope<FREE>; FREE]| {
        let (temps_c, pitch) = (&u[..KNOTS], u[KNOTS].exp());
        let model = CourseModel::new(with_pitch(&ready.setting, pitch));
        let ends = solve_along(
            &model,
            model.start(),
            &lines(temps_c, wish.end),
            &[wish.end.h()],
        );
        let ends = ends.ok()?;
        let figure = |f| scores.figure(f, ends.first()?, pitch, &ready.setting);
        let aim = figure(wish.aim.0)?;
        let limits = wish.at_most.iter();
        Some(Valued {
            aim: if wish.aim.1 == Goal::Most { -aim } else { aim },
            limits: limits
                .map(|(f, bound)| Some(figure(*f)? / *bound - 1.0))
                .collect::<Option<_>>()?,
        })
    };
    let mut room = wish.range.room(KNOTS, wish.end);
    (room.low[KNOTS], room.high[KNOTS]) = (-wish.pitch_factor.ln(), wish.pitch_factor.ln());
    let (best, _) = best_of(value, &room, &starts(&room, effort));
    Ok(best.map(|best| {
        let pitch = best.at[KNOTS].exp();
        Steered {
            course: points(&best.at[..KNOTS], wish.end),
            pitch,
            pitch_rate: PitchRate::from_millions_per_ml_plato(
                planned.millions_per_ml_plato() * pitch,
            ),
            aim: best.aim.abs(),
            validity: VALIDITY,
        }
    }))
}

/// What the aim costs in days: the best course for each end, in order. Where no
/// course keeps the limits there is none.
///
/// # Errors
/// As [`steer`].
pub fn trade_off(
    plan: &FermentPlan,
    wort: &PitchingWort,
    wish: &Wish,
    ends: &[Duration],
    effort: Effort,
) -> Result<Vec<(Duration, Option<Steered>)>, FermentError> {
    ends.iter()
        .map(|end| {
            let wish = Wish {
                end: *end,
                ..wish.clone()
            };
            Ok((*end, steer(plan, wort, &wish, effort)?))
        })
        .collect()
}

fn with_pitch<const P: usize>(setting: &Setting, factor: Slope<P>) -> Setting<Slope<P>> {
    Setting {
        class: setting.class.clone(),
        sugars: setting.sugars,
        pitched: factor * setting.pitched,
        dry_yeast: setting.dry_yeast,
        oxygen_mg_per_l: Slope::of(setting.oxygen_mg_per_l),
        fan_mg_per_l: setting.fan_mg_per_l,
        tolerance_g_per_l: setting.tolerance_g_per_l,
        lag_h: Slope::of(setting.lag_h),
        rate: Slope::of(setting.rate),
        wort_ph: setting.wort_ph,
        beer_ph: setting.beer_ph,
        working_low_c: setting.working_low_c,
    }
}

/// The levels that scores of flavour are factors on \[mg/L\], at the planned pitch.
struct Scores {
    esters: f64,
    fusels: f64,
}

impl Scores {
    fn new(plan: &FermentPlan, wort: &PitchingWort, planned: PitchRate) -> Self {
        let typical = &plan.strain.typical;
        let (esters, fusels) = by_pitch_and_strength(plan, wort, planned);
        Self {
            esters: typical.ethyl_acetate.mg_per_l() * esters,
            fusels: typical.isoamyl_alcohol.mg_per_l() * fusels,
        }
    }

    fn figure<const P: usize>(
        &self,
        figure: Figure,
        x: &[Slope<P>; crate::kinetics::STATES],
        pitch: Slope<P>,
        setting: &Setting,
    ) -> Option<Slope<P>> {
        let [_, _, _, g, m, n, d, esters, fusels, ala, diacetyl, aldehyde] = *x;
        let crowd = (pitch.ln() * common().pitch_exponent).exp();
        let of = match figure {
            Figure::EthylAcetate => esters * crowd * self.esters,
            Figure::IsoamylAlcohol => fusels * crowd * self.fusels,
            Figure::Diacetyl => ala + diacetyl,
            Figure::Acetaldehyde => aldehyde,
            Figure::LeftToFerment => (g + m + n + d) * (100.0 / setting.sugars.total()),
        };
        Some(of).filter(|of| of.is_finite())
    }
}
