use quantity::{Duration, Temperature};

use super::solve;
use crate::error::FermentError;
use crate::kinetics::{Real, System};
use crate::{CoursePoint, TemperatureCourse};

fn course(points: &[(f64, f64)]) -> TemperatureCourse {
    let points: Vec<CoursePoint> = points
        .iter()
        .map(|(h, c)| CoursePoint {
            at: Duration::from_h(*h),
            temperature: Temperature::from_c(*c),
        })
        .collect();
    TemperatureCourse::new(&points).unwrap()
}

/// y' = −k (y − cos t) − sin t, of which y = cos t is a solution at any k
/// (A. Prothero, A. Robinson, Math. Comput. 28 (1974) 145–162), beside
/// z' = −y z, z = exp(−sin t).
struct Prothero {
    k: f64,
    tolerance: f64,
}

impl System<2> for Prothero {
    fn rates<D: Real>(&self, t_h: f64, _temp_c: f64, x: &[D; 2]) -> [D; 2] {
        [-(x[0] - t_h.cos()) * self.k - t_h.sin(), -x[0] * x[1]]
    }
    fn tolerances(&self) -> [f64; 2] {
        [self.tolerance; 2]
    }
    fn relative_tolerance(&self) -> f64 {
        self.tolerance
    }
}

fn worst_error(k: f64, tolerance: f64) -> f64 {
    let times: Vec<f64> = (0..=200).map(|i| f64::from(i) * 0.05).collect();
    let level = course(&[(0.0, 20.0)]);
    let out = solve(&Prothero { k, tolerance }, [1.0, 1.0], &level, &times).unwrap();
    assert_eq!(out.len(), times.len());
    let errors = out.iter().zip(&times).map(|(x, t)| {
        let exact = [t.cos(), (-t.sin()).exp()];
        (x[0] - exact[0]).abs().max((x[1] - exact[1]).abs())
    });
    errors.fold(0.0, f64::max)
}

/// At k = 1e6 /h, far beyond any rate of a fermentation, the error stays within
/// 100 tolerances down to 1e-6 only: at 1e-8 it was 2.6e-6.
#[test]
fn a_known_solution_is_met_to_tolerance_on_stiff_systems() {
    for (k, tightest) in [(1.0, 1e-10), (50.0, 1e-10), (1e4, 1e-10), (1e6, 1e-6)] {
        for tolerance in [1e-4, 1e-6, 1e-8, 1e-10]
            .into_iter()
            .filter(|t| *t >= tightest)
        {
            let error = worst_error(k, tolerance);
            assert!(error < 100.0 * tolerance, "k {k}, {tolerance}: {error}");
        }
    }
}

#[test]
fn a_tighter_tolerance_gives_a_smaller_error() {
    assert!(worst_error(50.0, 1e-9) < 1e-3 * worst_error(50.0, 1e-4));
}

/// y' = y², which leaves the finite numbers at t = 1.
struct Runaway;

impl System<1> for Runaway {
    fn rates<D: Real>(&self, _t_h: f64, _temp_c: f64, x: &[D; 1]) -> [D; 1] {
        [x[0] * x[0]]
    }
    fn tolerances(&self) -> [f64; 1] {
        [1e-9]
    }
    fn relative_tolerance(&self) -> f64 {
        1e-6
    }
}

#[test]
fn a_runaway_is_an_error_and_not_a_hang() {
    let error = solve(&Runaway, [1.0], &course(&[(0.0, 20.0)]), &[2.0]).unwrap_err();
    let FermentError::Solver { after, .. } = &error else {
        panic!("{error}")
    };
    assert!((after.h() - 1.0).abs() < 1e-3, "{error}");
}

#[test]
fn a_state_that_is_no_number_is_refused() {
    let level = course(&[(0.0, 20.0)]);
    assert!(solve(&Runaway, [f64::NAN], &level, &[2.0]).is_err());
}
