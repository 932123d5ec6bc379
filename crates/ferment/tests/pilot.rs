//! The course model on the pilot batches of E. Lwele 2025 (data/README.md), one by
//! one, with measured temperatures.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on must stop"
)]

mod common;

use std::collections::BTreeMap;

use common::{plan, point, wort};
use ferment::{Aeration, FermentPlan, Yeast, ferment};
use quantity::{Duration, Fraction, Mass, Measured, Temperature};
use wort::PitchingWort;

/// A reading: \[h\], \[°P\], \[°C\].
type Reading = (f64, f64, f64);

/// Readings of each batch, a missing temperature taken from the one before.
fn batches() -> BTreeMap<String, Vec<Reading>> {
    let mut out: BTreeMap<String, Vec<Reading>> = BTreeMap::new();
    for line in include_str!("data/pilot_fermentations.csv").lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let readings = out.entry(cells[0].to_owned()).or_default();
        let before = readings.last().map_or(20.0, |r| r.2);
        let number = |i: usize| cells[i].parse::<f64>();
        readings.push((
            number(1).unwrap(),
            number(2).unwrap(),
            number(3).unwrap_or(before),
        ));
    }
    out
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

/// A batch up to its chill, or 160 h.
struct Pilot {
    readings: Vec<Reading>,
    typical_c: f64,
    wort: PitchingWort,
    plan: FermentPlan,
}

impl Pilot {
    fn new(all: &[Reading]) -> Self {
        let early: Vec<f64> = all.iter().filter(|r| r.0 < 60.0).map(|r| r.2).collect();
        let typical_c = median(early);
        let end_h = all
            .iter()
            .find(|r| r.0 > 60.0 && r.2 < typical_c - 5.0)
            .map_or(160.0, |r| r.0.min(160.0));
        let readings: Vec<Reading> = all.iter().copied().filter(|r| r.0 <= end_h).collect();
        let original = readings[..6].iter().map(|r| r.1).sum::<f64>() / 6.0;
        let last = median(readings[readings.len() - 6..].iter().map(|r| r.1).collect());
        let wort = wort(original, 0.90);
        let mut plan = plan("neutral ale", readings[0].2, end_h / 24.0, &wort);
        plan.yeast = Yeast::Dry {
            packets: 1.0,
            packet: Mass::from_g(0.8 * wort.volume.l()),
            cells: None,
            age: Duration::from_h(0.0),
            storage: Temperature::from_c(5.0),
        };
        plan.aeration = Aeration::None;
        plan.course = readings.iter().map(|r| point(r.0, r.2)).collect();
        // Attenuation of the class is on wort of 81.5 %.
        let attenuation = if last < 3.6 {
            1.0 - last / original
        } else {
            0.78
        };
        let ratio = Fraction::from_ratio(attenuation * 0.815 / 0.90);
        plan.strain.attenuation = Measured::with_sd(ratio, 0.02);
        Self {
            readings,
            typical_c,
            wort,
            plan,
        }
    }

    /// Root mean square of model against readings \[°P\].
    fn rms(&self, speed: f64, lag_h: f64) -> f64 {
        let mut plan = self.plan.clone();
        plan.habits.speed = speed;
        plan.habits.lag = Some(Duration::from_h(lag_h));
        let course = ferment(&plan, &self.wort).unwrap().course;
        let at = |h: f64| {
            let after = course
                .iter()
                .position(|m| m.at.h() >= h)
                .unwrap_or(course.len() - 1)
                .max(1);
            let (a, b) = (&course[after - 1], &course[after]);
            let share = ((h - a.at.h()) / (b.at.h() - a.at.h())).min(1.0);
            a.gravity.plato() + share * (b.gravity.plato() - a.gravity.plato())
        };
        let squares = self.readings.iter().map(|r| (at(r.0) - r.1).powi(2));
        (squares.sum::<f64>() / self.readings.len() as f64).sqrt()
    }

    /// The least of it over speed and lag, and where, by ever finer grids.
    fn fitted(&self) -> (f64, f64, f64) {
        let mut best = (f64::INFINITY, 1.0, 25.0);
        let mut width = 0.6_f64;
        while width > 0.01 {
            let (_, speed, lag_h) = best;
            for i in -2..=2 {
                for j in -2..=2 {
                    let (s, l) = (f64::from(i) * width / 2.0, f64::from(j) * width / 2.0);
                    let (speed, lag_h) = (speed * s.exp(), lag_h * l.exp());
                    let rms = self.rms(speed, lag_h);
                    if rms < best.0 {
                        best = (rms, speed, lag_h);
                    }
                }
            }
            width *= 0.55;
        }
        best
    }
}

/// With its own speed, lag and attenuation each batch of 17 and 22 °C is followed to
/// 0.10 °P in the median, where four-parameter logistics come to 0.187 and
/// five-parameter ones to 0.141 (computed with SciPy on the batches that finished).
/// The speeds lie about one, as the class is fitted on them, and spread no more than
/// batches do. Left out are the five batches of 12 °C: none finished before it was
/// chilled, and one never started.
#[test]
fn pilot_batches_are_followed_one_by_one() {
    let pilots: Vec<Pilot> = batches().values().map(|all| Pilot::new(all)).collect();
    assert_eq!(pilots.len(), 24);
    let used: Vec<&Pilot> = pilots.iter().filter(|p| p.typical_c > 15.5).collect();
    assert_eq!(used.len(), 19);
    let fits: Vec<(f64, f64, f64)> = used.iter().map(|p| p.fitted()).collect();
    let rms = median(fits.iter().map(|f| f.0).collect());
    assert!(rms < 0.125, "median {rms} °P: {fits:?}");
    assert!(fits.iter().all(|f| f.0 < 0.5), "{fits:?}");
    let speed = median(fits.iter().map(|f| f.1).collect());
    assert!((0.8..1.25).contains(&speed), "median speed {speed}");
    let lag = median(fits.iter().map(|f| f.2).collect());
    assert!((18.0..38.0).contains(&lag), "median lag {lag} h");
}
