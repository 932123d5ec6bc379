use super::*;
use crate::solver::{Dual, System, Tolerances, solve};
use crate::temperature::TemperatureCourse;
use proptest::prelude::*;
use quantity::Temperature;

fn batch() -> CourseModel {
    let strain = crate::strain("saison").unwrap();
    CourseModel::new(Setting {
        class: strain.kinetics.clone(),
        sugars: Sugars {
            simple: 13.0,
            maltose: 50.0,
            maltotriose: 17.0,
            dextrin: 12.0,
        },
        pitched: 8.0,
        dry_yeast: false,
        oxygen_mg_per_l: 8.0,
        fan_mg_per_l: 180.0,
        tolerance_g_per_l: 100.0,
        lag_h: 12.0,
        rate: 1.0,
        wort_ph: 5.3,
        beer_ph: 4.3,
        working_low_c: 20.0,
    })
}

/// Baranyi & Roberts 1994: ∫ dt/(1 + e^−(z₀ + νt)) grows like t − lag.
#[test]
fn the_lag_is_as_long_as_asked() {
    for (rate, lag_h) in [(0.35, 12.0), (0.35, 2.0), (1.0, 60.0)] {
        let z = readiness_at_start(rate * lag_h);
        let steps = 200_000;
        let until_h = 200.0;
        let dt = until_h / f64::from(steps);
        let active: f64 = (0..steps)
            .map(|i| dt / (1.0 + (-(z + rate * (f64::from(i) + 0.5) * dt)).exp()))
            .sum();
        assert!(
            (until_h - active - lag_h).abs() < 1e-3,
            "{rate} {lag_h}: {active}"
        );
    }
    assert!(readiness_at_start(0.0) > 10.0, "no lag: all ready");
}

/// 9 × 10⁶/mL and 8 mg/L of oxygen grow to about 50 × 10⁶/mL, three to five
/// fold and a little (common practice); nitrogen can be the shorter.
#[test]
fn growth_has_the_ceiling_of_practice() {
    let mut model = batch();
    let fold = model.ceiling / 8.0;
    assert!((3.0..7.0).contains(&fold), "{fold}");
    model.setting.fan_mg_per_l = 24.0;
    assert!((CourseModel::new(model.setting).ceiling - 18.0).abs() < 1e-9);
}

struct Strict(CourseModel);

impl System<N> for Strict {
    type Warmth = Warmth<f64>;
    fn warmth(&self, temp_c: f64) -> Warmth<f64> {
        self.0.warmth(temp_c)
    }
    fn rates<D: Over<f64>>(&self, t_h: f64, warmth: &Warmth<f64>, x: &[D; N]) -> [D; N] {
        self.0.rates(t_h, warmth, x)
    }
    fn tolerances(&self) -> Tolerances<N> {
        Tolerances {
            absolute: [1e-10; N],
            relative: 1e-10,
        }
    }
}

#[test]
fn the_solver_is_far_more_exact_than_the_model() {
    let course = TemperatureCourse::level(Temperature::from_c(24.0)).unwrap();
    let times: Vec<f64> = (1..=60).map(|i| f64::from(i) * 6.0).collect();
    let usual = solve(&batch(), batch().start(), &course, &times).unwrap();
    let strict = solve(&Strict(batch()), batch().start(), &course, &times).unwrap();
    for (a, b) in usual.iter().zip(&strict) {
        let (a, b) = (batch().read(a), batch().read(b));
        assert!((a.left - b.left).abs() < 5e-3, "g/L: {} {}", a.left, b.left);
        assert!(
            (a.diacetyl - b.diacetyl).abs() < 1e-4,
            "{} {}",
            a.diacetyl,
            b.diacetyl
        );
        assert!(
            (a.active - b.active).abs() < 5e-3,
            "{} {}",
            a.active,
            b.active
        );
    }
}

proptest! {
    #[test]
    fn the_jacobian_is_the_slope_of_the_rates(
        part in prop::array::uniform12(0.01..1.0f64), k in 0..N, temp_c in 5.0..38.0f64,
    ) {
        let scale = [8.0, 60.0, 70.0, 13.0, 50.0, 17.0, 12.0, 1.0, 1.0, 0.5, 0.2, 20.0];
        let x: [f64; N] = std::array::from_fn(|i| part[i] * scale[i]);
        let model = batch();
        let warmth = model.warmth(temp_c);
        let dual: [Dual<f64, N>; N] = std::array::from_fn(|i| Dual::variable(x[i], i));
        let exact = model.rates(0.0, &warmth, &dual).map(|r| r.slopes[k]);
        let h = 1e-5 * scale[k] * part[k];
        let at = |sign: f64| {
            let mut y = x;
            y[k] += sign * h;
            model.rates(0.0, &warmth, &y)
        };
        for ((up, down), e) in at(1.0).iter().zip(at(-1.0)).zip(exact) {
            let slope = (up - down) / (2.0 * h);
            prop_assert!((slope - e).abs() < 1e-6 + 1e-5 * e.abs(), "{slope} {e}");
        }
    }

    /// What leaves one sugar comes into another or is fermented: the rates of
    /// the extract never add up to a gain.
    #[test]
    fn extract_only_falls(part in prop::array::uniform12(0.0..1.0f64), temp_c in -2.0..45.0f64) {
        let scale = [8.0, 60.0, 47.0, 13.0, 50.0, 17.0, 12.0, 1.0, 1.0, 0.5, 0.2, 20.0];
        let x: [f64; N] = std::array::from_fn(|i| part[i] * scale[i]);
        let d = batch().rates(0.0, &batch().warmth(temp_c), &x);
        prop_assert!(d[3] + d[4] + d[5] + d[6] <= 1e-12);
        prop_assert!(d[2] >= -1e-12, "cells that ever were cannot vanish");
    }
}

/// The same equations in NumPy (`tests/reference/fit_course.py --check`, classical
/// Runge-Kutta of 0.5 h), apart from the program's: share gone of a pilot batch at 22 °C, and
/// on a ramp from 24 to 14 °C with another speed and lag.
#[test]
fn courses_are_those_of_another_implementation() {
    let model = |rate, lag_h, total: f64| {
        CourseModel::new(Setting {
            class: crate::strain("neutral ale").unwrap().kinetics.clone(),
            sugars: Sugars {
                simple: 0.16 * total,
                maltose: 0.62 * total,
                maltotriose: 0.22 * total,
                dextrin: 0.0,
            },
            pitched: 8.0,
            dry_yeast: true,
            oxygen_mg_per_l: 0.0,
            fan_mg_per_l: 400.0,
            tolerance_g_per_l: 1e4,
            lag_h,
            rate,
            wort_ph: 5.3,
            beer_ph: 4.3,
            working_low_c: 16.0,
        })
    };
    let table = include_str!("../../../tests/reference/course.csv");
    let rows: Vec<Vec<f64>> = table
        .lines()
        .skip(1)
        .map(|line| line.split(',').map(|cell| cell.parse().unwrap()).collect())
        .collect();
    let times: Vec<f64> = rows.iter().map(|row| row[0]).collect();
    assert_eq!(times.len(), 16);
    for (column, model, from_c, to_c) in [
        (1, model(1.0, 25.0, 80.0), 22.0, 22.0),
        (2, model(1.3, 12.0, 95.0), 24.0, 14.0),
    ] {
        let segments = [crate::solver::Segment::between(
            (0.0, from_c),
            (160.0, to_c),
        )];
        let out = crate::solver::solve_along(&model, model.start(), &segments, &times).unwrap();
        for (row, x) in rows.iter().zip(&out) {
            let gone = model.read(x).progress;
            assert!(
                (gone - row[column]).abs() < 2e-4,
                "{} h: {gone} {}",
                row[0],
                row[column]
            );
        }
    }
}

/// Slopes of the course by speed, lag and pitch against central differences.
#[test]
fn slopes_by_speed_lag_and_pitch_are_those_of_differences() {
    type Slope = Dual<f64, 3>;
    fn setting<T: Real>(rate: T, lag_h: T, pitched: T) -> Setting<T> {
        let Setting {
            class,
            sugars,
            oxygen_mg_per_l,
            fan_mg_per_l,
            ..
        } = batch().setting;
        Setting {
            class,
            sugars,
            pitched,
            dry_yeast: false,
            oxygen_mg_per_l: T::of(oxygen_mg_per_l),
            fan_mg_per_l,
            tolerance_g_per_l: 100.0,
            lag_h,
            rate,
            wort_ph: 5.3,
            beer_ph: 4.3,
            working_low_c: 20.0,
        }
    }
    let at = [1.1, 14.0, 7.0];
    let course = TemperatureCourse::level(Temperature::from_c(25.0)).unwrap();
    let [rate, lag, pitch] = std::array::from_fn(|i| Slope::variable(at[i], i));
    let model = CourseModel::new(setting(rate, lag, pitch));
    let ours = solve(&model, model.start(), &course, &[60.0]).unwrap()[0];
    for k in 0..3 {
        let apart = 1e-3 * at[k];
        let moved = |sign: f64| {
            let mut to = at;
            to[k] += sign * apart;
            let model = Strict(CourseModel::new(setting(to[0], to[1], to[2])));
            solve(&model, model.0.start(), &course, &[60.0]).unwrap()[0]
        };
        for ((up, down), o) in moved(1.0).iter().zip(moved(-1.0)).zip(&ours) {
            let wanted = (up - down) / (2.0 * apart);
            let near = 2e-3 * wanted.abs() + 1e-4 * (1.0 + o.value.abs());
            assert!(
                (o.slopes[k] - wanted).abs() < near,
                "{k}: {} {wanted}",
                o.slopes[k]
            );
        }
    }
}
