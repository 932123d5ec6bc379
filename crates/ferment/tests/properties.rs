//! What holds for every plan.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on must stop")]

mod common;

use common::{plan, point, wort};
use ferment::{Aeration, FermentPlan, Fermentation, Yeast, ferment, strains};
use proptest::prelude::*;
use quantity::density::{pure_ethanol_density, specific_gravity_from_plato, sucrose_density};
use quantity::{Cells, Duration, Mass, MassConcentration, Temperature};
use wort::PitchingWort;

fn any_wort() -> impl Strategy<Value = PitchingWort> {
    (
        1.5..32.0f64,
        0.3..0.97f64,
        0.0..400.0f64,
        0.0..1.0f64,
        1.0..300.0f64,
    )
        .prop_map(|(plato, limit, fan, dextrin, litres)| {
            let mut wort = wort(plato, limit);
            wort.volume = quantity::Volume::from_l(litres);
            wort.traces.fan = MassConcentration::from_mg_per_l(fan);
            let grams = dextrin * 4.0 * plato * 1000.0;
            wort.carbohydrates.dextrin = MassConcentration::from_mg_per_l(grams);
            wort
        })
}

fn any_plan() -> impl Strategy<Value = (FermentPlan, PitchingWort)> {
    let steps = prop::collection::vec((0.0..60.0f64, -1.0..44.0f64, any::<bool>()), 1..9);
    let shape = (
        0..strains().len(),
        0.01..6.0f64,
        any::<bool>(),
        0.0..4.0f64,
        0.0..80.0f64,
    );
    (
        any_wort(),
        steps,
        shape,
        2.0..60.0f64,
        0.2..3.0f64,
        0.0..40.0f64,
    )
        .prop_map(
            |(wort, steps, (which, fold, dry, oxygen_min, lag), days, speed, pitch_c)| {
                let strain = &strains()[which];
                let mut plan = plan(&strain.name, pitch_c, days, &wort);
                let mut at = 0.0;
                plan.course = steps
                    .into_iter()
                    .map(|(dt, c, jump)| {
                        at += if jump { 0.0 } else { dt };
                        point(at, c)
                    })
                    .collect();
                if let Yeast::Counted { cells } = plan.yeast {
                    let billions = cells.billions() * fold;
                    plan.yeast = if dry {
                        Yeast::Dry {
                            packets: 1.0,
                            packet: Mass::from_g((billions / 10.0).min(900.0)),
                            cells: None,
                            age: Duration::from_h(1000.0),
                            storage: Temperature::from_c(20.0),
                        }
                    } else {
                        Yeast::Counted {
                            cells: Cells::from_billions(billions),
                        }
                    };
                }
                plan.aeration = Aeration::Oxygen {
                    time: Duration::from_min(oxygen_min),
                    transfer: None,
                };
                plan.habits.speed = speed;
                plan.habits.lag = (lag > 20.0).then(|| Duration::from_h(lag));
                (plan, wort)
            },
        )
}

/// Extract before = extract left + what ethanol, CO₂ and yeast took, in Balling's
/// proportions, reckoned from nothing but the figures of the result.
fn assert_mass_closes(f: &Fermentation, wort: &PitchingWort) {
    let original = wort.gravity.plato();
    let wort_g = sucrose_density(original / 100.0, 20.0);
    let co2_g = f.carbon_dioxide_made.mg_per_l() / 1000.0;
    let grown_g = (f.beer.yeast_mass.g() - f.pitch.dry_mass.g()) / wort.volume.l();
    let beer_g = wort_g - co2_g - grown_g;
    let density = specific_gravity_from_plato(f.beer.gravity.plato()) * sucrose_density(0.0, 20.0);
    let ethanol_g = f.alcohol.ratio() * pure_ethanol_density() / density * beer_g;
    let left_g = f.beer.real_extract.plato() / 100.0 * beer_g;
    let before_g = wort_g * original / 100.0;
    assert!((before_g - left_g - ethanol_g - co2_g - grown_g).abs() < 1e-5 * before_g);
    assert!((co2_g - 0.9565 * ethanol_g).abs() < 1e-6 * before_g);
    assert!((grown_g - 0.11 * ethanol_g).abs() < 1e-6 * before_g);
}

fn assert_sound(f: &Fermentation, wort: &PitchingWort) {
    for m in &f.course {
        let v = &m.flavour;
        for x in [
            v.ethyl_acetate,
            v.isoamyl_acetate,
            v.isoamyl_alcohol,
            v.acetaldehyde,
            v.diacetyl,
            v.diacetyl_to_come,
            v.vinylguaiacol,
            v.dms,
            v.iso_alpha,
        ] {
            assert!(x.mg_per_l().is_finite() && x.mg_per_l() >= 0.0, "{m:?}");
        }
        let cells = m.active_cells.millions_per_ml();
        assert!(cells.is_finite() && cells >= 0.0);
        let alcohol = m.alcohol.ratio();
        assert!((0.0..0.3).contains(&alcohol), "{alcohol}");
        assert!(m.temperature.c().is_finite());
        assert!(m.gravity.plato().is_finite() && m.gravity.plato() <= wort.gravity.plato() + 1e-9);
    }
    for (a, b) in f.course.iter().zip(f.course.iter().skip(1)) {
        assert!(
            b.gravity.plato() <= a.gravity.plato() + 1e-9,
            "gravity rose at {}",
            b.at
        );
        assert!(
            b.alcohol.ratio() >= a.alcohol.ratio() - 1e-12,
            "alcohol fell at {}",
            b.at
        );
        let (x, y) = (
            a.flavour.ethyl_acetate.mg_per_l(),
            b.flavour.ethyl_acetate.mg_per_l(),
        );
        // The solver holds nought to a ten-thousandth of what can be smelled, 30 mg/L.
        assert!(y >= x * (1.0 - 1e-4) - 3e-3, "esters fell from {x} to {y}");
    }
    let beer = &f.beer;
    for x in [
        beer.carbon_dioxide.g_per_l(),
        beer.fermentable_left_at_most.plato(),
        beer.cells.billions(),
        beer.yeast_mass.g(),
        beer.real_extract.plato(),
    ] {
        assert!(x.is_finite() && x >= 0.0, "{beer:?}");
    }
    assert!(beer.gravity.plato() >= f.expected_gravity.plato() - 1e-9);
    assert!(f.final_gravity.sd().is_finite() && f.final_gravity.sd() > 0.0);
    assert!((3.0..8.0).contains(&beer.ph.ph()));
    match (f.ninety_percent_at, f.ended_at) {
        (Some(a), Some(b)) => assert!(a < b),
        (None, Some(_)) => panic!("ended without passing 90 %"),
        _ => {}
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1500))]

    #[test]
    fn any_plan_gives_a_sound_course((plan, wort) in any_plan()) {
        let f = ferment(&plan, &wort);
        prop_assert!(f.is_ok(), "{:?}", f.err());
        let f = f.unwrap();
        assert_sound(&f, &wort);
        assert_mass_closes(&f, &wort);
    }
}
