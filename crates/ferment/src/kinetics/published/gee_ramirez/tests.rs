use super::*;
use quantity::Temperature;

const START: [f64; N] = [
    70.0, 220.0, 40.0, 125.0, 0.0, 1.25, 0.6, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0,
];

fn at(set: GeeRamirez, temp_c: f64, hours: &[f64]) -> Vec<[f64; N]> {
    let times: Vec<Duration> = hours.iter().map(|h| Duration::from_h(*h)).collect();
    let course = TemperatureCourse::level(Temperature::from_c(temp_c)).unwrap();
    set.solve(START, &course, &times).unwrap()
}

/// Set 94 at 10.5 °C, set 07 at 12 and 16 °C: SciPy 1.17 (LSODA, rtol 1e-11) by
/// `tests/reference/published_models.py`, six digits.
#[test]
fn courses_are_those_of_the_reference() {
    let table = include_str!("../../../../tests/reference/gee_ramirez.csv");
    let mut compared = 0;
    for line in table.lines().skip(1) {
        let numbers: Vec<f64> = line.split(',').map(|c| c.parse().unwrap()).collect();
        let set = if numbers[0] > 50.0 {
            GeeRamirez::Set94
        } else {
            GeeRamirez::Set07
        };
        let ours = at(set, numbers[1], &[numbers[2]])[0];
        for ((name, o), p) in GeeRamirez::STATES.iter().zip(ours).zip(&numbers[3..]) {
            assert!(
                (o - p).abs() <= 6e-6 * p.abs() + 2e-8,
                "{name}, {line}: {o} {p}"
            );
            compared += 1;
        }
    }
    assert_eq!(compared, 11 * N);
}

/// The growth set at 8 and 16 °C by NumPy, and the values at 8, 12 and 16 °C that
/// it was fitted to (Lydh and Stjernberg 2018), which it meets within a third.
#[test]
fn constants_that_follow_the_temperature_are_as_printed() {
    let system = Flavour {
        set: &TABLE.set_07,
        yeast_at_start: 125.0,
    };
    let all = |temp_c: f64| {
        let k = system.warmth(temp_c);
        let [a, b, c] = k.greatest;
        let [d, e, f] = k.half;
        let [g, h] = k.repress;
        [a, b, c, d, e, f, g, h]
    };
    for (temp_c, printed) in [
        (
            8.0,
            [
                0.009_232_5,
                0.021_764,
                0.107_88,
                4.4688,
                754.95,
                6918.1,
                159.42,
                5073.6,
            ],
        ),
        (
            16.0,
            [
                0.028_276, 0.038_087, 0.153_80, 0.149_52, 369.99, 2582.1, 264.20, 18_664.0,
            ],
        ),
    ] {
        for (o, p) in all(temp_c).iter().zip(printed) {
            assert!((o - p).abs() < 6e-5 * p, "{temp_c} °C: {o} {p}");
        }
    }
    for (temp_c, fitted_to) in [
        (
            12.0,
            [0.015, 0.028, 0.13, 1.8, 610.0, 4460.0, 240.0, 8010.0],
        ),
        (
            16.0,
            [0.0302, 0.0364, 0.151, 0.102, 360.0, 2410.0, 262.0, 17_500.0],
        ),
    ] {
        for (i, (o, p)) in all(temp_c).iter().zip(fitted_to).enumerate() {
            // The half-saturation of glucose is so small that it hardly acts.
            let within = if i == 3 { 1.0 } else { 0.35 };
            assert!((o / p).ln().abs() < within, "{temp_c} °C, {i}: {o} {p}");
        }
    }
}

/// All sugar gone gives 1.92 G + 3.84 M + 5.76 N of ethanol, and what it weighs
/// against the sugar is 0.4910, 0.5168 and 0.5260 g/g (molar masses 46.069,
/// 180.156, 342.297, 504.437 g/mol).
#[test]
fn ethanol_keeps_its_identity() {
    let end = at(GeeRamirez::Set94, 10.5, &[240.0])[0];
    let all = 1.92 * 70.0 + 3.84 * 220.0 + 5.76 * 40.0;
    assert!((end[4] - all).abs() < 0.01);
    let sugars = [180.156, 342.297, 504.437];
    for ((y, sugar), printed) in TABLE
        .common
        .ethanol_yield
        .iter()
        .zip(sugars)
        .zip([0.4910, 0.5168, 0.5260])
    {
        assert!((y * 46.069 / sugar - printed).abs() < 6e-5);
    }
}

/// End of set 94 in mg/L by the molar masses: 21.9 ethyl acetate, 2.43 isoamyl
/// acetate, 56.5 isoamyl alcohol, 11.9 isobutanol, 20.3 methylbutanol, 21.3
/// propanol, 14.7 acetaldehyde, 0.26 diketones; computed, three digits.
#[test]
fn flavour_ends_where_beer_is() {
    let end = at(GeeRamirez::Set94, 10.5, &[240.0])[0];
    for (i, molar, printed, digit) in [
        (12, 88.11, 21.9, 0.06),
        (14, 130.18, 2.43, 0.006),
        (9, 88.15, 56.5, 0.06),
        (8, 74.12, 11.9, 0.06),
        (10, 88.15, 20.3, 0.06),
        (11, 60.10, 21.3, 0.06),
        (16, 44.05, 14.7, 0.06),
        (15, 86.09, 0.26, 0.006),
    ] {
        let mg_per_l = end[i] * molar;
        assert!(
            (mg_per_l - printed).abs() < digit,
            "{}: {mg_per_l}",
            GeeRamirez::STATES[i]
        );
    }
}

#[test]
fn each_set_keeps_to_its_temperatures() {
    let course = |c| TemperatureCourse::level(Temperature::from_c(c)).unwrap();
    let times = [Duration::from_h(10.0)];
    let error = GeeRamirez::Set94
        .solve(START, &course(12.0), &times)
        .unwrap_err();
    assert!(
        matches!(error, FermentError::OutsideModel { .. }),
        "{error}"
    );
    assert!(
        GeeRamirez::Set07
            .solve(START, &course(12.0), &times)
            .is_ok()
    );
    assert!(
        GeeRamirez::Set07
            .solve(START, &course(20.0), &times)
            .is_err()
    );
    assert!(GeeRamirez::Set07.source().text.contains("2007"));
}
