//! The chloramine model against published and independently computed values.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use proptest::prelude::*;
use quantity::{Alkalinity, Ammonium, Chlorine, Duration, Ph, Temperature, molar_mass as m};
use water::chloramine::{Conditions, Course, Moment, Start, breakpoint_curve, course};

/// The script of the US EPA counts 71 g of chlorine and 14 g of nitrogen to the
/// mole and 50 g of CaCO₃ to the equivalent; here they are brought to our masses.
const SCRIPT_CL2: f64 = 71.0;
const SCRIPT_N: f64 = 14.0;

fn chlorine(script_mg_per_l: f64) -> Chlorine {
    Chlorine::from_mg_per_l(script_mg_per_l / SCRIPT_CL2 * m::CL2)
}

fn script_mg(ours: Chlorine) -> f64 {
    ours.mg_per_l() / m::CL2 * SCRIPT_CL2
}

fn nitrogen(script_mg_per_l: f64) -> Ammonium {
    Ammonium::from_mg_per_l(script_mg_per_l / SCRIPT_N * Ammonium::MOLAR_MASS)
}

fn around(ph: f64, temp_c: f64, script_alkalinity: f64) -> Conditions {
    Conditions {
        ph: Ph::from_ph(ph),
        temperature: Temperature::from_c(temp_c),
        alkalinity: Alkalinity::from_meq_per_l(script_alkalinity / 50.0),
    }
}

fn at(start: &Start, around: &Conditions, time: Duration) -> Moment {
    course(start, around, &[time]).unwrap().moments[0]
}

/// Published check values of the US EPA breakpoint script, which implements
/// Jafvert & Valentine 1992 with Vikesland et al. 2001: mol/L, four digits.
#[test]
fn the_published_vectors_to_four_digits() {
    type Vector = ([f64; 6], [&'static str; 5]);
    let vectors: [Vector; 4] = [
        (
            [10.0, 1.0, 7.5, 20.0, 50.0, 5.0],
            ["2.164e-5", "1.139e-5", "2.666e-6", "6.744e-7", "2.857e-10"],
        ),
        (
            [6.0, 2.0, 8.0, 25.0, 60.0, 10.0],
            ["5.700e-10", "8.434e-5", "7.579e-8", "3.108e-13", "5.843e-5"],
        ),
        (
            [12.0, 2.0, 6.5, 21.0, 80.0, 3.0],
            ["7.409e-8", "1.117e-4", "2.679e-5", "8.79e-9", "2.268e-6"],
        ),
        // Printed as nothing at all: less than a millionth of what was dosed.
        (
            [10.0, 10.0 / 13.0, 6.0, 30.0, 90.0, 30.0],
            ["4.565e-5", "7.3e-13", "1.415e-8", "2.550e-6", "0e-11"],
        ),
    ];
    for ([dose, n, ph, temp_c, alkalinity, min], printed) in vectors {
        let moment = at(
            &Start::of_dose(chlorine(dose), nitrogen(n)),
            &around(ph, temp_c, alkalinity),
            Duration::from_min(min),
        );
        let mol = |c: Chlorine, pairs: f64| c.mg_per_l() / 1000.0 / m::CL2 / pairs;
        let ours = [
            mol(moment.free, 1.0),
            mol(moment.monochloramine, 1.0),
            mol(moment.dichloramine, 2.0),
            mol(moment.trichloramine, 3.0),
            moment.free_ammonia.mmol_per_l() / 1000.0,
        ];
        for (ours, printed) in ours.into_iter().zip(printed) {
            let (value, half) = as_printed(printed);
            assert!((ours - value).abs() <= half, "{ours:e} against {printed}");
        }
    }
}

/// A printed number and a little more than half a unit of its last digit.
fn as_printed(text: &str) -> (f64, f64) {
    let (digits, exponent) = text.split_once('e').unwrap();
    let decimals = digits.split_once('.').map_or(0, |(_, part)| part.len());
    let last = exponent.parse::<i32>().unwrap() - i32::try_from(decimals).unwrap();
    (text.parse().unwrap(), 0.51 * 10f64.powi(last))
}

/// Breakpoint curve of 1 mg/L N at pH 7.5, 20 °C, alkalinity 100 mg/L as CaCO₃,
/// after 60 min, in mg/L as Cl₂: computed with scipy LSODA, three decimals.
#[test]
fn the_breakpoint_curve_to_the_printed_digits() {
    let table = [
        (2.0, [0.000, 1.990, 0.009, 1.999]),
        (4.0, [0.000, 3.929, 0.061, 3.990]),
        (5.0, [0.001, 4.729, 0.225, 4.955]),
        (6.0, [0.002, 3.848, 1.081, 4.931]),
        (7.0, [0.002, 2.597, 1.031, 3.631]),
        (8.0, [0.003, 1.279, 0.546, 1.828]),
        (9.0, [0.134, 0.114, 0.052, 0.313]),
        (10.0, [1.002, 0.000, 0.000, 1.097]),
        (12.0, [2.897, 0.000, 0.000, 3.171]),
    ];
    let doses: Vec<Chlorine> = table.iter().map(|(dose, _)| chlorine(*dose)).collect();
    let curve = breakpoint_curve(
        nitrogen(1.0),
        &doses,
        &around(7.5, 20.0, 100.0),
        Duration::from_min(60.0),
    )
    .unwrap();
    for ((_, moment), (dose, printed)) in curve.points.iter().zip(table) {
        let ours = [
            moment.free,
            moment.monochloramine,
            moment.dichloramine,
            moment.total(),
        ];
        for (ours, printed) in ours.into_iter().zip(printed) {
            let ours = script_mg(ours);
            assert!(
                (ours - printed).abs() < 5.5e-4,
                "{dose}: {ours} against {printed}"
            );
        }
    }
    assert_eq!(curve.hump, Some(chlorine(5.0)));
    assert_eq!(curve.breakpoint, Some(chlorine(9.0)));
    // 7.59 mg of chlorine per mg of nitrogen, by molar masses (textbook).
    assert!((curve.theoretical.mg_per_l() / (14.007 / 14.0) - 7.593).abs() < 1e-3);
}

/// What is left of 3.00 mg/L of monochloramine, alkalinity 100 mg/L as CaCO₃:
/// computed with scipy LSODA, three decimals.
#[test]
fn standing_chloramine_to_the_printed_digits() {
    for (ph, temp_c, free_n, day, week) in [
        (7.5, 5.0, 0.0, 2.775, Some(1.754)),
        (7.5, 20.0, 0.0, 2.351, Some(1.297)),
        (7.5, 25.0, 0.0, 2.209, Some(1.178)),
        (6.5, 25.0, 0.0, 2.395, None),
        (8.5, 25.0, 0.0, 2.619, None),
        (7.5, 25.0, 0.2, 2.790, None),
    ] {
        let start = Start {
            free_ammonia: nitrogen(free_n),
            ..Start::of_monochloramine(chlorine(3.0))
        };
        let around = around(ph, temp_c, 100.0);
        let left = |h: f64| script_mg(at(&start, &around, Duration::from_h(h)).total());
        assert!(
            (left(24.0) - day).abs() < 5.5e-4,
            "{} against {day}",
            left(24.0)
        );
        if let Some(week) = week {
            assert!(
                (left(168.0) - week).abs() < 5.5e-4,
                "{} against {week}",
                left(168.0)
            );
        }
    }
}

/// Seven waters at four times each by scipy's LSODA at a relative tolerance of
/// 1e-10 (`tests/reference/chloramine.py`, which writes the model by itself).
#[test]
fn courses_agree_with_scipy() {
    let mut rows = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_reader(include_str!("reference/chloramine.csv").as_bytes());
    let mut seen = 0;
    for row in rows.deserialize::<[f64; 12]>() {
        let [free, mono, n, ph, temp_c, alk, hours, values @ ..] = row.unwrap();
        let ammonium = |n: f64| Ammonium::from_mg_per_l(n / m::N * Ammonium::MOLAR_MASS);
        let start = Start {
            free: Chlorine::from_mg_per_l(free),
            monochloramine: Chlorine::from_mg_per_l(mono),
            free_ammonia: ammonium(n),
            ..Start::default()
        };
        let moment = at(
            &start,
            &around(ph, temp_c, alk * 50.0),
            Duration::from_h(hours),
        );
        let ours = [
            moment.free.mg_per_l(),
            moment.monochloramine.mg_per_l(),
            moment.dichloramine.mg_per_l(),
            moment.trichloramine.mg_per_l(),
            moment.free_ammonia.mmol_per_l() * m::N,
        ];
        for (ours, scipy) in ours.into_iter().zip(values) {
            let within = 2e-5 * scipy.abs() + 1e-7;
            assert!(
                (ours - scipy).abs() <= within,
                "{ours:e} against {scipy:e} at pH {ph}, {hours} h"
            );
            seen += 1;
        }
    }
    assert_eq!(seen, 7 * 4 * 5);
}

fn any_start() -> impl Strategy<Value = Start> {
    (0.0..8.0, 0.0..6.0, 0.0..3.0, 0.0..2.0).prop_map(|(free, mono, di, ammonia)| Start {
        free: Chlorine::from_mg_per_l(free),
        monochloramine: Chlorine::from_mg_per_l(mono),
        dichloramine: Chlorine::from_mg_per_l(di),
        free_ammonia: Ammonium::from_mg_per_l(ammonia),
    })
}

fn any_conditions() -> impl Strategy<Value = Conditions> {
    (6.0..9.0, 5.0..35.0, 0.2..8.0).prop_map(|(ph, temp_c, alk)| around(ph, temp_c, alk * 50.0))
}

/// A course with its beginning, at rising times up to ten days.
fn followed(start: &Start, around: &Conditions) -> Course {
    let times: Vec<Duration> = [0.0, 0.01, 0.1, 1.0, 6.0, 24.0, 96.0, 240.0]
        .map(Duration::from_h)
        .to_vec();
    course(start, around, &times).unwrap()
}

/// Nitrogen in all there is \[mmol/L\].
fn nitrogen_in(moment: &Moment) -> f64 {
    let cl = |c: Chlorine, pairs: f64| c.mg_per_l() / m::CL2 / pairs;
    moment.free_ammonia.mmol_per_l()
        + moment.intermediate.mmol_per_l()
        + cl(moment.monochloramine, 1.0)
        + cl(moment.dichloramine, 2.0)
        + cl(moment.trichloramine, 3.0)
        + moment.nitrogen_gas.mmol_per_l()
        + moment.nitrate.mmol_per_l()
}

/// Chlorine that oxidises or has oxidised \[mmol/L of Cl₂\]: two for the
/// intermediate, three for each N₂ and four for each NO₃⁻, as textbook redox
/// chemistry has it.
fn oxidant_in(moment: &Moment) -> f64 {
    moment.total().mg_per_l() / m::CL2
        + 2.0 * moment.intermediate.mmol_per_l()
        + 1.5 * moment.nitrogen_gas.mmol_per_l()
        + 4.0 * moment.nitrate.mmol_per_l()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn nitrogen_and_chlorine_close(start in any_start(), around in any_conditions()) {
        let course = followed(&start, &around);
        let first = course.moments[0];
        let (n, cl) = (nitrogen_in(&first), oxidant_in(&first));
        for moment in &course.moments {
            prop_assert!((nitrogen_in(moment) - n).abs() <= 1e-6 * n + 1e-9);
            prop_assert!((oxidant_in(moment) - cl).abs() <= 1e-6 * cl + 1e-9);
        }
    }

    #[test]
    fn nothing_falls_below_nought_and_total_chlorine_never_rises(
        start in any_start(), around in any_conditions(),
    ) {
        let course = followed(&start, &around);
        for pair in course.moments.windows(2) {
            let (before, after) = (pair[0].total().mg_per_l(), pair[1].total().mg_per_l());
            prop_assert!(after <= before + 1e-5);
            for part in [pair[1].free, pair[1].monochloramine, pair[1].dichloramine, pair[1].trichloramine] {
                prop_assert!(part.mg_per_l() >= 0.0 && part.mg_per_l().is_finite());
            }
        }
    }

    /// Whatever the limits let through is answered, within the steps that the solver
    /// is given.
    #[test]
    fn absurd_waters_come_to_an_end(
        free in prop::sample::select(vec![0.0, 1e-9, 1.0, 1000.0]),
        mono in prop::sample::select(vec![0.0, 1e-9, 30.0, 1000.0]),
        ammonia in prop::sample::select(vec![0.0, 1e-9, 1.0, 1000.0]),
        ph in prop::sample::select(vec![4.0, 7.0, 11.0]),
        temp_c in prop::sample::select(vec![0.0, 20.0, 50.0]),
        alk in prop::sample::select(vec![0.0, 5.0, 2000.0]),
    ) {
        let start = Start {
            free: Chlorine::from_mg_per_l(free),
            monochloramine: Chlorine::from_mg_per_l(mono),
            free_ammonia: Ammonium::from_mg_per_l(ammonia),
            ..Start::default()
        };
        let long = [Duration::from_h(1.0), Duration::from_h(1e5)];
        let course = course(&start, &around(ph, temp_c, alk), &long).unwrap();
        prop_assert!(course.moments.iter().all(|x| x.total().mg_per_l().is_finite()));
    }
}
