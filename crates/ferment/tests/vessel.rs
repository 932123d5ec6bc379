//! A vessel that warms itself and its controller.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on must stop")]

mod common;

use common::{plan, point, wort};
use ferment::{FermentError, Fermentation, Vessel, ferment, ferment_in};
use proptest::prelude::*;
use quantity::{Caution, Duration, GaugePressure, Power, Temperature, TemperatureDifference};

fn vessel(ambient_c: f64, insulation_h: f64, cooling_w: f64, heating_w: f64) -> Vessel {
    Vessel {
        ambient: Temperature::from_c(ambient_c),
        insulation: Duration::from_h(insulation_h),
        cooling: Power::from_kw(cooling_w / 1000.0),
        heating: Power::from_kw(heating_w / 1000.0),
        dead_band: TemperatureDifference::from_k(0.3),
        least_off: Duration::from_h(0.0),
        top_pressure: GaugePressure::from_bar(0.0),
    }
}

fn warmest(f: &Fermentation) -> f64 {
    f.vessel.unwrap().warmest.c()
}

/// A free-standing small vessel warms itself by 2 to 5 K, one that is insulated
/// well by up to 6 to 8 K (common practice), and by no more than all the heat at
/// once, 11.5 K at 12 °P (computed).
#[test]
fn a_vessel_left_alone_warms_itself() {
    let wort = wort(12.0, 0.815);
    let plan = plan("neutral ale", 18.0, 10.0, &wort);
    let free = |insulation_h| {
        let f = ferment_in(&plan, &wort, &vessel(18.0, insulation_h, 0.0, 0.0)).unwrap();
        warmest(&f) - 18.0
    };
    let (small, lagged, sealed) = (free(9.0), free(30.0), free(1000.0));
    assert!((1.5..5.0).contains(&small), "{small}");
    assert!(small < lagged && (4.0..8.0).contains(&lagged), "{lagged}");
    assert!((10.0..11.5).contains(&sealed), "{sealed}");
}

/// A compressor that must rest for 5 min (common practice: 3 to 5) starts no more than
/// twelve times an hour; without that rule this one would start far more often, and the
/// beer is cooled as much, but swings wider.
#[test]
fn the_cooling_rests_between_its_runs() {
    let wort = wort(12.0, 0.815);
    let plan = plan("neutral ale", 18.0, 2.0, &wort);
    let mut fridge = vessel(30.0, 5.0, 500.0, 0.0);
    fridge.dead_band = TemperatureDifference::from_k(0.05);
    let of = |v: &Vessel| ferment_in(&plan, &wort, v).unwrap().vessel.unwrap();
    let free = of(&fridge);
    fridge.least_off = Duration::from_h(5.0 / 60.0);
    let spared = of(&fridge);
    let starts = |switches: usize| switches / 2;
    assert!(starts(free.switches) > 48 * 12, "{free:?}");
    assert!(starts(spared.switches) <= 48 * 12 + 1, "{spared:?}");
    assert!((spared.cooling_time.h() / free.cooling_time.h() - 1.0).abs() < 0.05);
    fridge.least_off = Duration::from_h(-1.0);
    let error = ferment_in(&plan, &wort, &fridge).unwrap_err();
    assert!(error.to_string().contains("least time off"));
}

/// 587 kJ for each kg of real extract: 12 to 2.64 °P real 4.40 gives 46.7 kJ/L.
#[test]
fn the_heat_is_that_of_the_extract() {
    let wort = wort(12.0, 0.815);
    let plan = plan("neutral ale", 20.0, 20.0, &wort);
    let f = ferment_in(&plan, &wort, &vessel(20.0, 10.0, 500.0, 500.0)).unwrap();
    let kj_per_l = f.vessel.unwrap().heat.kwh() * 3600.0 / 20.0;
    // Extract is per volume of wort, so a little less is in it than by weight.
    let by_balling = (12.0 - f.beer.real_extract.plato()) / 100.0 * 1.0464 * 587.0;
    assert!(
        (kj_per_l / by_balling - 1.0).abs() < 0.04,
        "{kj_per_l} {by_balling}"
    );
}

#[test]
fn a_controller_keeps_the_beer_within_its_band() {
    let wort = wort(12.0, 0.815);
    let plan = plan("neutral ale", 18.0, 10.0, &wort);
    let f = ferment_in(&plan, &wort, &vessel(24.0, 10.0, 100.0, 40.0)).unwrap();
    for moment in &f.course {
        let off = moment.temperature.c() - 18.0;
        assert!(off.abs() <= 0.301, "{} at {}", off, moment.at);
    }
    let report = f.vessel.unwrap();
    assert!(
        report.switches > 20 && report.cooling_time.h() > 5.0,
        "{report:?}"
    );
    assert!(
        report.heating_time.h() < 1e-9,
        "nothing to heat in a warm room"
    );
}

/// What comes in by fermentation and walls goes out by the cooling, within what
/// the beer itself may hold of it.
#[test]
fn heat_closes() {
    let wort = wort(12.0, 0.815);
    let plan = plan("lager", 10.0, 20.0, &wort);
    let place = vessel(20.0, 12.0, 150.0, 0.0);
    let f = ferment_in(&plan, &wort, &place).unwrap();
    let report = f.vessel.unwrap();
    let capacity_kj_per_k = 20.0 * 3.95 * 1.0464;
    let through_walls = capacity_kj_per_k / 12.0 * (20.0 - 10.15) * 480.0;
    let taken = report.cooling_time.h() * 0.150 * 3600.0;
    let came = report.heat.kwh() * 3600.0 + through_walls;
    assert!((taken / came - 1.0).abs() < 0.02, "{taken} {came}");
}

#[test]
fn much_power_and_a_narrow_band_is_the_course_as_planned() {
    let wort = wort(12.0, 0.815);
    let mut plan = plan("lager", 10.0, 18.0, &wort);
    plan.course = vec![
        point(150.0, 10.0),
        point(190.0, 15.0),
        point(300.0, 15.0),
        point(340.0, 4.0),
    ];
    let mut place = vessel(18.0, 30.0, 400.0, 400.0);
    place.dead_band = TemperatureDifference::from_k(0.05);
    let (held, ideal) = (
        ferment_in(&plan, &wort, &place).unwrap(),
        ferment(&plan, &wort).unwrap(),
    );
    assert!(ideal.vessel.is_none());
    for (a, b) in held.course.iter().zip(&ideal.course) {
        assert!(
            (a.temperature.c() - b.temperature.c()).abs() < 0.06,
            "{}",
            a.at
        );
        assert!(
            (a.gravity.plato() - b.gravity.plato()).abs() < 0.05,
            "{}",
            a.at
        );
    }
}

#[test]
fn too_little_cooling_lets_it_run_away_from_the_set_point() {
    let wort = wort(16.0, 0.815);
    let plan = plan("neutral ale", 18.0, 10.0, &wort);
    let weak = ferment_in(&plan, &wort, &vessel(24.0, 10.0, 5.0, 0.0)).unwrap();
    assert!(warmest(&weak) > 22.0, "{}", warmest(&weak));
}

/// Landaud, Latrille, Corrieu 2001 (from memory): 0.5 to 1 bar lowers esters and
/// fusel alcohols by 20 to 50 %; the gas stays in the beer.
#[test]
fn pressure_above_the_beer_lowers_esters_and_keeps_gas() {
    let wort = wort(12.0, 0.815);
    let plan = plan("lager", 11.0, 20.0, &wort);
    let with = |bar| {
        let mut place = vessel(11.0, 10.0, 300.0, 300.0);
        place.top_pressure = GaugePressure::from_bar(bar);
        ferment_in(&plan, &wort, &place).unwrap()
    };
    let (free, half, one) = (with(0.0), with(0.5), with(1.0));
    for f in [&half, &one] {
        let less =
            f.beer.flavour.ethyl_acetate.mg_per_l() / free.beer.flavour.ethyl_acetate.mg_per_l();
        assert!((0.5..=0.8).contains(&less), "{less}");
    }
    let warned = |f: &Fermentation| f.cautions.contains(&Caution::KegPressure);
    assert!(warned(&half) && !warned(&free));
    let ratio = one.beer.carbon_dioxide.g_per_l() / free.beer.carbon_dioxide.g_per_l();
    assert!(
        (ratio - (1.013_25 + 1.0) / 1.013_25).abs() < 0.02,
        "{ratio}"
    );
}

/// pH falls from 5.2-5.5 to 4.0-4.4 in a day or two (common practice).
#[test]
fn ph_falls_in_the_first_two_days() {
    let wort = wort(12.0, 0.815);
    let f = ferment(&plan("neutral ale", 20.0, 10.0, &wort), &wort).unwrap();
    let at = |h: f64| f.course.iter().find(|m| m.at.h() >= h).unwrap();
    assert!((at(0.0).ph.ph() - 5.3).abs() < 1e-9);
    assert!(
        (4.0..4.45).contains(&at(48.0).ph.ph()),
        "{}",
        at(48.0).ph.ph()
    );
    for pair in f.course.windows(2) {
        assert!(pair[1].ph <= pair[0].ph);
        assert!(pair[1].sulfur_dioxide >= pair[0].sulfur_dioxide);
    }
    let end = f.course.last().unwrap();
    assert!(
        (0.5..5.0).contains(&end.sulfur_dioxide.mg_per_l()),
        "ale below 5 mg/L"
    );
}

/// Beer keeps what it held at the warmest since gas stopped: chilled afterwards it has
/// no more, in the course as in the beer that is handed over.
#[test]
fn chilling_brings_no_gas_back() {
    let wort = wort(12.0, 0.815);
    let mut plan = plan("neutral ale", 20.0, 20.0, &wort);
    plan.course.push(point(400.0, 20.0));
    plan.course.push(point(420.0, 2.0));
    let f = ferment(&plan, &wort).unwrap();
    assert!(f.ended_at.unwrap().h() < 400.0);
    let held = |m: &ferment::CourseMoment| m.carbon_dioxide.g_per_l();
    let end = held(f.course.last().unwrap());
    assert!(
        (end - f.beer.carbon_dioxide.g_per_l()).abs() < 1e-9,
        "{end}"
    );
    // 1.637 g/(L bar) at 20 °C by the formula of Kaiser 2008, NumPy.
    assert!((end - 1.637 * 1.013_25).abs() < 2e-3, "{end}");
}

#[test]
fn vessels_that_cannot_be_are_refused() {
    let wort = wort(12.0, 0.815);
    let plan = plan("neutral ale", 18.0, 10.0, &wort);
    let good = vessel(18.0, 10.0, 100.0, 40.0);
    let mut bad = vec![good; 5];
    bad[0].ambient = Temperature::from_c(f64::NAN);
    bad[1].insulation = Duration::from_h(0.0);
    bad[2].cooling = Power::from_kw(-1.0);
    bad[3].dead_band = TemperatureDifference::from_k(0.0);
    bad[4].top_pressure = GaugePressure::from_bar(50.0);
    for (vessel, word) in
        bad.iter()
            .zip(["around", "insulation", "cooling", "dead band", "pressure"])
    {
        let error = ferment_in(&plan, &wort, vessel).unwrap_err();
        assert!(matches!(error, FermentError::Impossible { .. }), "{error}");
        assert!(error.to_string().contains(word), "{error}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]
    /// Whatever the vessel, there is a course or an error that says why.
    #[test]
    fn any_vessel_gives_a_course_or_a_reason(
        ambient in -20.0..45.0f64, insulation in 0.1..500.0f64, cooling in 0.0..5000.0f64,
        heating in 0.0..3000.0f64, band in 0.05..3.0f64, which in 0..ferment::strains().len(),
    ) {
        let wort = wort(12.0, 0.815);
        let strain = &ferment::strains()[which];
        let mut plan = plan(&strain.name, strain.ideal.low.c(), 8.0, &wort);
        plan.course.push(point(150.0, strain.ideal.high.c()));
        plan.course.push(point(150.0, 5.0));
        let mut place = vessel(ambient, insulation, cooling, heating);
        place.dead_band = TemperatureDifference::from_k(band);
        match ferment_in(&plan, &wort, &place) {
            Ok(f) => {
                for m in &f.course {
                    prop_assert!(m.temperature.c().is_finite() && m.gravity.plato().is_finite());
                }
                for pair in f.course.windows(2) {
                    prop_assert!(pair[1].gravity.plato() <= pair[0].gravity.plato() + 1e-9);
                }
            }
            Err(error) => prop_assert!(error.to_string().contains("would work"), "{}", error),
        }
    }
}
