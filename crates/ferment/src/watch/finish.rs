//! Whether a fermentation has finished: flat, with nothing left, and not for being cold.

use quantity::Fraction;

use super::alarm::{Alarm, AlarmKind};
use super::course::Fitted;
use super::fit::whiten::{NoiseRow, Whitener};
use super::reading::median;
use super::table::table;

/// Standard normal deviate of one chance in twenty.
pub(super) const ONE_IN_TWENTY: f64 = 1.645;
/// Fewest readings that tell a slope, and the share of the time that they must span.
const FEWEST: usize = 3;
const SPANNED: f64 = 0.8;
/// A beer that is colder than its yeast works by this is cold \[K\], and one that fell by
/// as much within a day is falling (judgement).
const COLD_K: f64 = 2.0;

/// What is known of the end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// It still works.
    Fermenting,
    /// All signs of the end are there.
    Finished,
    /// Flat, but more is left than can be.
    FlatButNotDone,
    /// Flat, but cold: that is no end.
    FlatButCold,
    /// The readings do not reach far enough back.
    TooFewReadings,
}

/// Whether it has finished, with the figures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Finish {
    /// What is known of the end.
    pub verdict: Verdict,
    /// The window that was looked at \[h\].
    pub window_h: f64,
    /// How fast the readings fall in it \[°P a day\]: value and standard deviation.
    pub fall_plato_per_day: Option<(f64, f64)>,
    /// How likely it is that a point or less is left.
    pub little_left: Fraction,
}

impl Verdict {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Fermenting => "still fermenting",
            Self::Finished => "finished",
            Self::FlatButNotDone => "standing still, but not where it should end",
            Self::FlatButCold => "standing still, but cold: that is no end",
            Self::TooFewReadings => "too few readings to say whether it has finished",
        }
    }
}

/// A beer that stalled or creeps has not finished, however flat it looks.
pub(crate) fn judge(fitted: &Fitted<'_>, alarms: &[Alarm]) -> Finish {
    let a = &table().alarm;
    let working = &fitted.watching.expectation.strain.working;
    let window_h = if fitted.watching.expectation.strain.is_bottom_fermenting() {
        a.finish_window_cool_h
    } else {
        a.finish_window_h
    };
    let fall = fall(fitted, window_h);
    let little = chance_of_little_left(fitted, fitted.now_h);
    let flat = fall.is_some_and(|(mean, sd)| {
        mean + ONE_IN_TWENTY * sd < a.finish_plato_per_day * 2.0 && mean < a.finish_plato_per_day
    });
    let now_c = fitted.temperatures.at(fitted.now_h);
    let before_c = fitted.temperatures.at((fitted.now_h - 24.0).max(0.0));
    let cold = now_c < working.low.c() - COLD_K || now_c < before_c - COLD_K;
    let is = |kind: AlarmKind| alarms.iter().any(|alarm| alarm.kind == kind);
    let verdict = match fall {
        None => Verdict::TooFewReadings,
        Some(_) if !flat || is(AlarmKind::StillDropping) => Verdict::Fermenting,
        Some(_) if cold => Verdict::FlatButCold,
        Some(_) if little < a.finish_chance || is(AlarmKind::Stalled) || is(AlarmKind::LongLag) => {
            Verdict::FlatButNotDone
        }
        Some(_) => Verdict::Finished,
    };
    Finish {
        verdict,
        window_h,
        fall_plato_per_day: fall,
        little_left: Fraction::from_ratio(little),
    }
}

/// How likely a point or less is left at a time, were it kept warm from then.
pub(crate) fn chance_of_little_left(fitted: &Fitted<'_>, t_h: f64) -> f64 {
    let least = table().alarm.finish_left_plato;
    let done = fitted.draws.iter().filter(|draw| {
        let (curve, energy) = fitted.problem.curve(&draw.z);
        let tau = fitted.problem.clock.at(energy).read(t_h).0;
        curve.draw().at(tau).plato - curve.end() <= least
    });
    done.count() as f64 / fitted.draws.len().max(1) as f64
}

/// The fall of the readings over a window up to now \[°P a day\], with its standard
/// deviation: a straight line by generalised least squares under the noise of the fit,
/// through the instrument with the most readings there.
pub(crate) fn fall(fitted: &Fitted<'_>, window_h: f64) -> Option<(f64, f64)> {
    let from_h = fitted.now_h - window_h;
    let recent = || {
        fitted
            .problem
            .points
            .iter()
            .filter(move |p| p.at_h >= from_h)
    };
    let counts = (0..fitted.watching.log.instruments.len())
        .map(|i| (recent().filter(|p| p.instrument == i).count(), i));
    let (count, instrument) = counts.max_by_key(|(count, i)| (*count, std::cmp::Reverse(*i)))?;
    let own: Vec<_> = recent().filter(|p| p.instrument == instrument).collect();
    let (first, last) = (own.first()?, own.last()?);
    if count < FEWEST || last.at_h - first.at_h < SPANNED * window_h {
        return None;
    }
    // A spike would tilt a straight line: what lies far from the median of its
    // neighbours is brought back to it.
    let calm = |i: usize| {
        let around: Vec<f64> = own[i.saturating_sub(2)..(i + 3).min(own.len())]
            .iter()
            .map(|p| p.plato)
            .collect();
        let middle = median(around);
        let reach = 3.0 * own[i].sd.max(0.1);
        own[i].plato.clamp(middle - reach, middle + reach)
    };
    let noise = &fitted.fit.noise;
    let mut before_h = f64::NEG_INFINITY;
    let rows = own.iter().map(|p| {
        let kept = noise.wander.kept(p.at_h - before_h);
        before_h = p.at_h;
        NoiseRow {
            kept,
            white: noise.factor * p.sd,
            off: noise.wander.floor,
        }
    });
    let filter = Whitener::of(&rows.collect::<Vec<_>>(), [1.0, 1.0]);
    let mut one = vec![1.0; own.len()];
    let mut days: Vec<f64> = own.iter().map(|p| (p.at_h - last.at_h) / 24.0).collect();
    let mut plato: Vec<f64> = (0..own.len()).map(calm).collect();
    for column in [&mut one, &mut days, &mut plato] {
        filter.apply(column);
    }
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    let determinant = dot(&one, &one) * dot(&days, &days) - dot(&one, &days).powi(2);
    let slope =
        (dot(&one, &one) * dot(&days, &plato) - dot(&one, &days) * dot(&one, &plato)) / determinant;
    let sd = (dot(&one, &one) / determinant).sqrt();
    (slope.is_finite() && sd.is_finite()).then_some((-slope, sd))
}
