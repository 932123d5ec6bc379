//! Are intervals as wide as they should be? Courses are drawn from what is assumed of
//! courses, read by instruments as instruments are assumed to err, and watched: nine
//! intervals in ten must hold the truth, figure by figure (simulation-based calibration;
//! S. R. Cook, A. Gelman, D. B. Rubin, J. Comput. Graph. Stat. 15 (2006) 675).

use quantity::{Duration, Gravity, Measured, Temperature};

use super::clock::Clock;
use super::course::{Course, Watching, watch};
use super::expect::Expectation;
use super::fit::problem::{LN_SCALE_SD, Prior, SCALE_OF_T};
use super::fit::whiten::Wander;
use super::reading::{GravityReading, Instrument, Log};
use super::table::table;
use crate::random::Stream;
use crate::watch::curve::Curve;

/// Courses, hours at which they are watched, and hours of the gravities asked for.
const COURSES: u64 = 400;
const WATCHED_H: f64 = 48.0;
const LATER_H: [f64; 4] = [60.0, 72.0, 96.0, 144.0];
const UNTIL_H: f64 = 336.0;

/// A number of Student's t with whole degrees of freedom.
fn student(nu: f64, stream: &mut Stream) -> f64 {
    let chi: f64 = (0..nu as usize).map(|_| stream.normal().powi(2)).sum();
    stream.normal() * (nu.floor() / chi).sqrt()
}

fn drawn(prior: &Prior, stream: &mut Stream) -> f64 {
    let z = match prior.tails {
        Some(nu) => SCALE_OF_T * student(nu, stream),
        None => stream.normal(),
    };
    prior.mean + prior.sd * z
}

/// A course of the assumed kind: its curve, its clock, and how it wanders, by the hour.
struct Truth {
    curve: Curve,
    plato: Vec<f64>,
    finish_h: f64,
}

fn truth(expectation: &Expectation, temp_c: f64, stream: &mut Stream) -> Truth {
    let v: Vec<f64> = expectation
        .priors()
        .iter()
        .map(|p| drawn(p, stream))
        .collect();
    let curve = Curve {
        original: v[0],
        attenuation: v[1],
        ln_uptake: v[2],
        ln_onset: v[3],
        ln_growth: v[4],
        ln_half: v[5],
    };
    let row = &table().wander;
    let wander = Wander {
        floor: row.floor_plato,
        ahead_h: row.ahead_h,
        hours: row.hours,
    }
    .times((LN_SCALE_SD[1] * stream.normal()).exp());
    let clock = Clock::new(
        |_| temp_c,
        UNTIL_H,
        expectation.reference_c,
        expectation.best_c,
    );
    let (ticks, shape) = (clock.at(v[6]), curve.draw());
    let mut delta = stream.normal();
    let kept = wander.kept(1.0);
    let wandered = (0..UNTIL_H as usize).map(|h| {
        let m = shape.at(ticks.read(h as f64).0);
        let sd = wander.sd(m.by_tau * ticks.speed(h as f64));
        delta = kept * delta + (1.0 - kept * kept).sqrt() * stream.normal();
        (m.plato + sd * delta, delta)
    });
    let (plato, deltas): (Vec<f64>, Vec<f64>) = wandered.unzip();
    let left = table().alarm.finish_left_plato / (curve.original * curve.attenuation);
    let tau = shape.tau_at(left.min(0.99)).max(0.0);
    Truth {
        curve,
        plato,
        finish_h: ticks.when(tau, 0.0..UNTIL_H).map_or(f64::INFINITY, |h| {
            (h + wander.ahead_h * deltas[h as usize]).max(0.0)
        }),
    }
}

/// The truth as an instrument of a kind has it.
fn log(truth: &Truth, kind: Instrument, temp_c: f64, stream: &mut Stream) -> Log {
    let row = kind.row();
    let (bias, drift) = (
        row.bias_plato * stream.normal(),
        row.drift_plato_per_week * stream.normal(),
    );
    let sd = row.noise_plato * (LN_SCALE_SD[0] * stream.normal()).exp();
    let step = if kind == Instrument::Hydrometer {
        12
    } else {
        1
    };
    let at = |h: usize| Duration::from_h(h as f64);
    let hours = (0..=WATCHED_H as usize).step_by(step);
    Log {
        instruments: vec![("it".to_owned(), kind)],
        gravities: hours
            .clone()
            .map(|h| GravityReading {
                at: at(h),
                gravity: Gravity::from_plato(
                    truth.plato[h]
                        + bias
                        + drift * h as f64 / 168.0
                        + sd * student(row.tails, stream),
                ),
                instrument: 0,
            })
            .collect(),
        temperatures: hours
            .map(|h| (at(h), Temperature::from_c(temp_c)))
            .collect(),
        ph: Vec::new(),
        less_sure_plato: Vec::new(),
    }
}

/// Names of the figures, and whether an interval of each holds the truth.
const FIGURES: [&str; 7] = [
    "final gravity",
    "finish time",
    "gravity now",
    "at 60 h",
    "at 72 h",
    "at 96 h",
    "at 144 h",
];

fn held(course: &Course, truth: &Truth) -> [bool; 7] {
    let later = LATER_H.map(|h| {
        // The nearest moments of the forecast around, by straight lines.
        let after = course.forecast.partition_point(|f| f.at.h() <= h);
        let (a, b) = (&course.forecast[after - 1], &course.forecast[after]);
        let share = (h - a.at.h()) / (b.at.h() - a.at.h());
        let mix = |x: Gravity, y: Gravity| x.plato() + share * (y.plato() - x.plato());
        let band = mix(a.gravity.low, b.gravity.low)..=mix(a.gravity.high, b.gravity.high);
        band.contains(&truth.plato[h as usize])
    });
    let end = course.end.low.plato()..=course.end.high.plato();
    let h = |t: Option<Duration>| t.map_or(f64::INFINITY, quantity::Duration::h);
    let time = h(course.finish_time.early)..=h(course.finish_time.late);
    let now = course.gravity.low.plato()..=course.gravity.high.plato();
    [
        end.contains(&truth.curve.end()),
        time.contains(&truth.finish_h),
        now.contains(&truth.plato[WATCHED_H as usize]),
        later[0],
        later[1],
        later[2],
        later[3],
    ]
}

#[test]
fn intervals_hold_nine_times_in_ten_what_is_drawn_from_what_they_assume() {
    let kinds = [
        Instrument::Hydrometer,
        Instrument::Float,
        Instrument::Inline,
    ];
    let mut counts = [[0usize; 3]; 7];
    for n in 0..COURSES {
        let mut stream = Stream::seeded(1000 + n);
        let temp_c = 18.0 + 4.0 * stream.uniform();
        let original = Gravity::from_plato(10.0 + 6.0 * stream.uniform());
        let strain = crate::strain("neutral ale").unwrap();
        let expectation =
            Expectation::of(strain, Measured::with_sd(original, 0.15)).of_known_yeast();
        let truth = truth(&expectation, temp_c, &mut stream);
        let k = n as usize % 3;
        let log = log(&truth, kinds[k], temp_c, &mut stream);
        let course = watch(Watching {
            expectation: &expectation,
            log: &log,
            planned: None,
            now: Duration::from_h(WATCHED_H),
            seed: n,
        })
        .unwrap();
        for (count, held) in counts.iter_mut().zip(held(&course, &truth)) {
            count[k] += usize::from(held);
        }
    }
    for (name, count) in FIGURES.iter().zip(counts) {
        let all = count.iter().sum::<usize>() as f64 / COURSES as f64;
        let each = count.map(|c| c as f64 / (COURSES as f64 / 3.0));
        let told = format!("{name}: {all:.3}, by hydrometer, float, meter {each:.3?}");
        assert!((0.85..=0.95).contains(&all), "{told}");
    }
}
