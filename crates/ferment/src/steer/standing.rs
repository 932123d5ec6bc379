//! Where a running batch stands, so that the rest of its course can be steered.

use quantity::{Duration, Fraction, Measured, Temperature};
use wort::PitchingWort;

use super::figures::Scores;
use super::table::spread;
use super::{CoursePoint, FermentPlan, Slope};
use crate::error::FermentError;
use crate::ferment::{prepared, whole};
use crate::kinetics::{CourseModel, Setting, common};
use crate::solver::{Real, segments, solve_along};
use crate::strains::Datasheet;
use crate::watch::Course;

/// How closely the course of the model follows the curve through the readings \[g/L of
/// extract\] (judgement: 0.15 °P).
const CLOSE_G_PER_L: f64 = 1.3;
const ROUNDS: usize = 12;

/// A plan that has come as far as its readings say.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// The plan with the temperatures that were, the speed and the lag that the readings
    /// show, and the end that they lead to.
    pub plan: FermentPlan,
    /// The moment.
    pub now: Duration,
    /// Factor on the speed of the class.
    pub speed: f64,
    /// Factor on the lag.
    pub lag: f64,
}

/// What the curve through the readings of a batch ([`watch`](crate::watch::watch)) says of
/// the course model: speed and lag by least squares around what batches usually are, the
/// attenuation from where the curve ends.
///
/// # Errors
/// As [`ferment`](crate::ferment).
pub fn standing(
    plan: &FermentPlan,
    wort: &PitchingWort,
    course: &Course,
) -> Result<Standing, FermentError> {
    let now_h = course.now.h();
    let past = course.forecast.iter().filter(|f| f.at.h() <= now_h + 1e-9);
    let mut plan = FermentPlan {
        course: lived(course, plan),
        length: Duration::from_h(plan.length.h().max(now_h + 24.0)),
        ..plan.clone()
    };
    let scale = wort.attenuation_limit.ratio() / common().class_limit;
    let ends = 1.0 - course.end.middle.plato() / wort.gravity.plato().max(0.1);
    let attenuation = (ends / scale).clamp(0.05, 1.0);
    plan.strain = plan.strain.with(&Datasheet {
        attenuation: Some(Measured::with_sd(Fraction::from_ratio(attenuation), 0.01)),
        ..Datasheet::default()
    })?;
    let wort = &whole(&plan, wort)?;
    let ready = prepared(&plan, wort)?;
    let total = ready.setting.sugars.total();
    let scores = Scores::new(&plan, wort, ready.pitch.rate, total);
    let targets: Vec<(f64, f64)> = past
        .filter(|f| f.at.h() > 0.0)
        .map(|f| (f.at.h(), scores.grams_left_at(f.gravity.middle.plato())))
        .collect();
    let temperatures = plan.temperatures()?;
    let times: Vec<f64> = targets.iter().map(|t| t.0).collect();
    let left = |z: [f64; 2]| -> Option<Vec<Slope<2>>> {
        let setting = with_habits(&ready.setting, z);
        let model = CourseModel::new(setting);
        let along = segments(&temperatures, times.last().copied()?);
        let states = solve_along(&model, model.start(), &along, &times).ok()?;
        let sugar = |x: &[Slope<2>; crate::kinetics::STATES]| x[3] + x[4] + x[5] + x[6];
        Some(states.iter().map(sugar).collect())
    };
    let z = fitted(&targets, left);
    plan.habits.speed = (plan.habits.speed * z[0].exp()).clamp(0.05, 20.0);
    plan.habits.lag = Some(Duration::from_h(
        (ready.setting.lag_h * z[1].exp()).min(500.0),
    ));
    Ok(Standing {
        now: course.now,
        speed: plan.habits.speed,
        lag: z[1].exp(),
        plan,
    })
}

/// The temperatures that were, and those that are planned from now on.
fn lived(course: &Course, plan: &FermentPlan) -> Vec<CoursePoint> {
    let now_h = course.now.h();
    let mut points: Vec<CoursePoint> = course
        .forecast
        .iter()
        .filter(|f| f.at.h() < now_h)
        .map(|f| CoursePoint {
            at: f.at,
            temperature: Temperature::from_c(f.temperature.c().clamp(-2.0, 50.0)),
        })
        .collect();
    let here = course.forecast.iter().min_by(|a, b| {
        let off = |f: &crate::watch::Forecast| (f.at.h() - now_h).abs();
        off(a).total_cmp(&off(b))
    });
    points.extend(here.map(|f| CoursePoint {
        at: course.now,
        temperature: f.temperature,
    }));
    points.extend(plan.course.iter().filter(|p| p.at.h() > now_h).copied());
    points
}

fn with_habits(setting: &Setting, z: [f64; 2]) -> Setting<Slope<2>> {
    let [speed, lag] = [0, 1].map(|i| Slope::<2>::variable(z[i], i).exp());
    Setting {
        class: setting.class.clone(),
        sugars: setting.sugars,
        pitched: Slope::of(setting.pitched),
        dry_yeast: setting.dry_yeast,
        oxygen_mg_per_l: Slope::of(setting.oxygen_mg_per_l),
        fan_mg_per_l: setting.fan_mg_per_l,
        tolerance_g_per_l: setting.tolerance_g_per_l,
        lag_h: lag * setting.lag_h,
        rate: speed * setting.rate,
        wort_ph: setting.wort_ph,
        beer_ph: setting.beer_ph,
        working_low_c: setting.working_low_c,
    }
}

/// Least squares with what is known beforehand, by Gauss and Newton with a step that is
/// halved until it helps.
fn fitted(targets: &[(f64, f64)], left: impl Fn([f64; 2]) -> Option<Vec<Slope<2>>>) -> [f64; 2] {
    let s = spread(false);
    let known = [s.speed.powi(-2), s.lag.powi(-2)];
    let weight = CLOSE_G_PER_L.powi(-2);
    let cost = |z: [f64; 2], x: &[Slope<2>]| {
        let off = x.iter().zip(targets).map(|(x, t)| (x.value - t.1).powi(2));
        weight * off.sum::<f64>() + known[0] * z[0] * z[0] + known[1] * z[1] * z[1]
    };
    let mut z = [0.0; 2];
    let Some(mut here) = left(z).filter(|_| !targets.is_empty()) else {
        return z;
    };
    for _ in 0..ROUNDS {
        let (mut g, mut h) = (
            [known[0] * z[0], known[1] * z[1]],
            [[known[0], 0.0], [0.0, known[1]]],
        );
        for (x, t) in here.iter().zip(targets) {
            let off = x.value - t.1;
            for i in 0..2 {
                g[i] += weight * off * x.slopes[i];
                for (h, slope) in h[i].iter_mut().zip(&x.slopes) {
                    *h += weight * x.slopes[i] * slope;
                }
            }
        }
        let det = h[0][0] * h[1][1] - h[0][1] * h[1][0];
        let step = [
            (h[1][1] * g[0] - h[0][1] * g[1]) / det,
            (h[0][0] * g[1] - h[1][0] * g[0]) / det,
        ];
        let mut share = 1.0;
        let moved = loop {
            let there: [f64; 2] =
                std::array::from_fn(|i| (z[i] - share * step[i]).clamp(-2.5, 2.5));
            match left(there).filter(|x| cost(there, x) < cost(z, &here)) {
                Some(x) => break Some((there, x)),
                None if share < 0.02 => break None,
                None => share *= 0.4,
            }
        };
        match moved {
            Some((there, x)) => (z, here) = (there, x),
            None => break,
        }
    }
    z
}
