//! What is expected of a fermentation before it is read.

use quantity::{Fraction, Gravity, Measured};

use super::clock::Clock;
use super::course::moments;
use super::curve::Curve;
use super::fit::Fit;
use super::fit::problem::{Point, Prior, Problem, Slots};
use super::fit::whiten::Wander;
use super::table::table;
use crate::random::Stream;
use crate::state::CourseMoment;
use crate::strains::Strain;

/// Points of a reckoned course that the curve follows.
const CURVE_POINTS: usize = 60;
/// How closely the curve is to follow a reckoned course \[°P\].
const CLOSE_PLATO: f64 = 0.05;

/// What is expected: each number with its spread.
#[derive(Debug, Clone)]
pub struct Expectation {
    pub(crate) original: Prior,
    pub(crate) attenuation: Prior,
    /// ln r, ln t₀, ln g, ln κ at the reference temperature.
    pub(crate) shape: [Prior; 4],
    pub(crate) energy: Prior,
    pub(crate) reference_c: f64,
    pub(crate) best_c: f64,
    pub(crate) strain: Strain,
    /// Whether the end was found by a forced fermentation.
    pub(crate) forced: bool,
}

/// What one batch taught of its yeast in this brewhouse.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Learned {
    /// Attenuation, then the four of the shape: value and standard deviation.
    pub(crate) found: [(f64, f64); 5],
    /// Apparent attenuation as expected.
    pub attenuation_expected: Measured<Fraction>,
    /// By expectation and readings together.
    pub attenuation: Measured<Fraction>,
    /// ln of how fast half of the fall came, relative to what was expected: mean and
    /// standard deviation before the readings. The mean is nought but for the curve's bend.
    pub ln_speed_expected: (f64, f64),
    /// The same by expectation and readings together.
    pub ln_speed: (f64, f64),
}

impl Expectation {
    /// Of a yeast, where there is no plan.
    #[must_use]
    pub fn of(strain: &Strain, original: Measured<Gravity>) -> Self {
        let t = table();
        let end = strain.attenuation;
        let centre = [
            t.curve.uptake_per_h,
            t.curve.onset_h,
            t.curve.growth_per_h,
            t.curve.half_share,
        ];
        Self::around(strain, original, end.value.ratio(), centre.map(f64::ln))
    }

    /// Of a plan: what the stage reckoned for it, and how far batches are off such
    /// reckonings.
    #[must_use]
    pub fn planned(
        strain: &Strain,
        original: Measured<Gravity>,
        course: &[CourseMoment],
        expected: Gravity,
    ) -> Self {
        let plain = Self::of(strain, original);
        let attenuation = 1.0 - expected.plato() / original.value.plato().max(0.1);
        match plain.follow(course, expected) {
            Some(shape) => Self::around(strain, original, attenuation, shape),
            None => plain,
        }
    }

    fn around(
        strain: &Strain,
        original: Measured<Gravity>,
        attenuation: f64,
        shape: [f64; 4],
    ) -> Self {
        let t = table();
        let whole = |sd: [f64; 3]| sd.iter().map(|x| x * x).sum::<f64>().sqrt();
        let s = &t.spread;
        let sds = [s.uptake, s.onset, s.growth, s.half];
        let stated = original.sd();
        let sd = if stated > 0.0 {
            stated
        } else {
            t.original.sd_plato
        };
        Self {
            original: Prior::normal(original.value.plato(), sd.max(0.02)),
            attenuation: Prior::heavy(
                attenuation,
                strain.attenuation.sd().hypot(s.attenuation[0]).max(0.005),
            ),
            shape: std::array::from_fn(|k| Prior::heavy(shape[k], whole(sds[k]))),
            energy: Prior::normal(t.energy.kj_per_mol, t.energy.sd),
            reference_c: t.curve.reference_c,
            best_c: strain.kinetics.growth_at.best_c.max(t.energy.best_c),
            strain: strain.clone(),
            forced: false,
        }
    }

    /// The shape of the curve that follows a reckoned course.
    fn follow(&self, course: &[CourseMoment], expected: Gravity) -> Option<[f64; 4]> {
        let until_h = course.last()?.at.h();
        let temp_c = |t: f64| {
            let after = course.partition_point(|m| m.at.h() <= t);
            course[after.saturating_sub(1)].temperature.c()
        };
        let first = course.first()?.gravity.plato();
        let every = (course.len() / CURVE_POINTS).max(1);
        let loose = |p: &Prior| Prior::normal(p.mean, 3.0 * p.sd);
        let mut priors = vec![
            Prior::normal(first, CLOSE_PLATO),
            Prior::normal(1.0 - expected.plato() / first, 0.01),
        ];
        priors.extend(self.shape.iter().map(loose));
        priors.push(Prior::normal(self.energy.mean, 1e-3));
        let points = course.iter().step_by(every).map(|m| Point {
            at_h: m.at.h(),
            plato: m.gravity.plato(),
            sd: CLOSE_PLATO,
            instrument: 0,
        });
        let problem = Problem {
            priors,
            points: points.collect(),
            instruments: vec![Slots::default()],
            clock: Clock::new(temp_c, until_h, self.reference_c, self.best_c),
            wander: Wander {
                floor: CLOSE_PLATO,
                ahead_h: 0.5,
                hours: 6.0,
            },
        };
        let fit = Fit::of(&problem)?;
        let z = &fit.modes.first()?.z;
        Some(std::array::from_fn(|k| problem.value(z, 2 + k)))
    }

    /// The same for a yeast that is known in this brewhouse: what is expected of it is
    /// known, and batches spread about it as batches do.
    #[must_use]
    pub fn of_known_yeast(mut self) -> Self {
        let s = &table().spread;
        for (prior, spread) in self
            .shape
            .iter_mut()
            .zip([s.uptake, s.onset, s.growth, s.half])
        {
            prior.sd = spread[0];
        }
        if !self.forced {
            self.attenuation.sd = s.attenuation[0];
        }
        self
    }

    /// The same for a yeast whose attenuation and speed were learned from so many batches
    /// of this brewhouse, and that the strain carries: what is open of its kind shrinks as
    /// batches come (normal shrinkage, as in [`Self::after`]).
    #[must_use]
    pub fn learned_from(mut self, batches: u32) -> Self {
        if batches == 0 {
            return self;
        }
        let s = &table().spread;
        let shape = [s.uptake, s.onset, s.growth, s.half];
        for (prior, spread) in self.shape.iter_mut().zip(shape) {
            let open = spread[1].hypot(spread[2]);
            let left = (open.powi(-2) + f64::from(batches) * spread[0].powi(-2)).powf(-0.5);
            prior.sd = spread[0].hypot(left);
        }
        if !self.forced {
            // The spread of the next batch is already in what was learned.
            self.attenuation.sd = self.strain.attenuation.sd().max(0.005);
        }
        self
    }

    /// The same with the end that a forced fermentation found: it takes the place of what
    /// the class of yeast does.
    #[must_use]
    pub fn forced(mut self, end: Measured<Gravity>) -> Self {
        let original = self.original.mean.max(0.1);
        // What a kitchen test is good for, if nothing is said (a point or so; practice).
        let sd = if end.sd() > 0.0 { end.sd() } else { 0.15 };
        self.attenuation = Prior::heavy(
            1.0 - end.value.plato() / original,
            (sd / original).max(0.004),
        );
        self.forced = true;
        self
    }

    /// The same after earlier batches with this yeast in this brewhouse: what they share
    /// is learned in proportion to how far it is from known (normal shrinkage on each
    /// number; A. Gelman et al., Bayesian Data Analysis, 3rd ed., section 5.4).
    #[must_use]
    pub fn after(mut self, batches: &[Learned]) -> Self {
        let s = &table().spread;
        let spreads = [s.attenuation, s.uptake, s.onset, s.growth, s.half];
        for (k, spread) in spreads.into_iter().enumerate() {
            if k == 0 && self.forced {
                continue;
            }
            let prior = if k == 0 {
                &mut self.attenuation
            } else {
                &mut self.shape[k - 1]
            };
            // What is open of the yeast is what the spread holds beyond that of batches.
            let open = (prior.sd.powi(2) - spread[0].powi(2)).max(1e-6).sqrt();
            let (mut weight, mut sum) = (open.powi(-2), prior.mean * open.powi(-2));
            for batch in batches {
                let (value, sd) = batch.found[k];
                let w = 1.0 / (spread[0] * spread[0] + sd * sd);
                weight += w;
                sum += w * value;
            }
            prior.mean = sum / weight;
            if !batches.is_empty() {
                let learned = weight.powf(-0.5);
                let unlike = s.unlike * spread[1].min(open);
                prior.sd = spread[0].hypot(learned).hypot(unlike);
            }
        }
        self
    }

    /// Expected end.
    #[must_use]
    pub fn end(&self) -> Measured<Gravity> {
        let original = self.original.mean;
        Measured::with_sd(
            Gravity::from_plato(original * (1.0 - self.attenuation.mean)),
            original * self.attenuation.sd,
        )
    }

    /// ln of the time to half of the fall, as expected: mean and standard deviation.
    pub(crate) fn ln_half_time(&self) -> (f64, f64) {
        /// Draws of the expectation; the same ones always.
        const DRAWS: usize = 400;
        let mut stream = Stream::seeded(1);
        let mut draw = |p: &Prior| p.mean + p.sd * stream.normal();
        let drawn = (0..DRAWS).map(|_| {
            let [ln_uptake, ln_onset, ln_growth, ln_half] = self.shape.each_ref().map(&mut draw);
            let curve = Curve {
                original: self.original.mean,
                attenuation: self.attenuation.mean,
                ln_uptake,
                ln_onset,
                ln_growth,
                ln_half,
            };
            curve.ln_half_time()
        });
        moments(drawn.collect())
    }

    /// The curve of the expected numbers.
    pub(crate) fn curve(&self) -> Curve {
        let [ln_uptake, ln_onset, ln_growth, ln_half] = self.shape.each_ref().map(|p| p.mean);
        Curve {
            original: self.original.mean,
            attenuation: self.attenuation.mean,
            ln_uptake,
            ln_onset,
            ln_growth,
            ln_half,
        }
    }

    pub(crate) fn priors(&self) -> Vec<Prior> {
        let mut all = vec![self.original, self.attenuation];
        all.extend(self.shape);
        all.push(self.energy);
        all
    }
}
