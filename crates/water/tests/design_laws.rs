//! Laws of every design: what can be weighed, within all limits, the same again.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

mod design_support;

use design_support::*;
use proptest::prelude::*;
use quantity::{Alkalinity, Mass, Ph, Volume};
use water::acids::AcidAmount;
use water::design::*;

/// Tasks of every sort: waters, volumes, aims, limits, scales, cupboards.
fn any_task() -> impl Strategy<Value = Task> {
    let waters = (0.0..150.0f64, 0.0..120.0f64, -0.5..6.0f64, 0.0..1.0f64);
    let aims = (
        20.0..180.0f64,
        0.0..40.0f64,
        0.0..120.0f64,
        0.0..200.0f64,
        0.0..300.0f64,
    );
    let settings = (
        prop::sample::select(vec![0.01, 0.1, 0.5, 1.0]),
        prop::option::of(0.0..12.0f64),
        any::<[bool; 6]>(),
        prop::option::of(0usize..4),
        prop::option::of(0.2..3.0f64),
    );
    (waters, aims, settings, 1.0..60.0f64, 0.0..60.0f64).prop_map(
        |(waters, aims, settings, mash, sparge)| {
            let mut task = rich_task();
            task.mash.volume = Volume::from_l(mash);
            task.sparge.volume = Volume::from_l(if sparge < 10.0 { 0.0 } else { sparge });
            let tap = &mut task.sources[0].variants[0].water;
            tap.ions.calcium = mg(waters.0);
            tap.ions.chloride = mg(waters.1);
            tap.alkalinity = Alkalinity::from_meq_per_l(waters.2);
            task.sources[1].at_hand = Some(Volume::from_l(waters.3 * 40.0));
            let given = Aims {
                calcium: Some(Aim::near(mg(aims.0), mg(10.0))),
                magnesium: Some(Aim::near(mg(aims.1), mg(3.0))),
                sodium: Some(Aim::near(mg(aims.2), mg(10.0))),
                chloride: Some(Aim::near(mg(aims.3), mg(10.0))),
                sulfate: Some(Aim::near(mg(aims.4), mg(15.0))),
                ..Aims::default()
            };
            (task.mash.aims, task.sparge.aims) = (given, given);
            let (grams, cupboard, flags, kinds, tight) = settings;
            for salt in &mut task.salts {
                salt.resolution = Mass::from_g(grams);
                salt.at_hand = cupboard.map(Mass::from_g);
            }
            if flags[0] {
                task.blends = Together::Apart;
            }
            if flags[1] {
                task.additions = Together::Alike;
            }
            task.acids_below_taste = flags[2];
            if flags[3] {
                task.acid_malt = None;
            }
            if flags[4] {
                task.grist = None;
            } else if let (Some(grist), true) = (&mut task.grist, flags[5]) {
                grist.limits = Bounds {
                    at_least: Some(Ph::from_ph(5.2)),
                    at_most: Some(Ph::from_ph(5.6)),
                };
            }
            task.at_most_kinds = kinds;
            if let Some(tight) = tight {
                task.mash.limits.sodium = Bounds::at_most(mg(20.0 + 10.0 * tight));
                task.mash.limits.calcium = Bounds::at_least(mg(20.0 * tight));
            }
            task
        },
    )
}

fn is_whole(steps: f64) -> bool {
    (steps - steps.round()).abs() < 1e-6 && steps > -1e-9
}

/// Every amount is a whole number of steps of its scale, at least one.
fn can_be_weighed(task: &Task, found: &Design) {
    if task.additions == Together::Apart {
        for dose in found.salts() {
            let step = task
                .salts
                .iter()
                .find(|s| s.salt.name == dose.salt.name)
                .unwrap();
            let steps = dose.mass.kg() / step.resolution.kg();
            assert!(
                is_whole(steps) && steps > 0.5,
                "{} of {}",
                dose.mass,
                dose.salt
            );
        }
        for dose in found.acids() {
            let AcidAmount::Volume(volume) = dose.amount else {
                panic!("{dose:?}")
            };
            let steps = volume.l() / 1e-4;
            assert!(
                is_whole(steps) && steps > 0.5,
                "{volume} of {}",
                dose.product
            );
        }
    }
    if let Some(malt) = found.acid_malt {
        let steps = malt.mass.kg() / 0.01;
        assert!(is_whole(steps) && steps > 0.5, "{}", malt.mass);
    }
}

/// The limits as the treated water and the mash have them.
fn keeps_its_limits(task: &Task, found: &Design) {
    for liquor in &found.liquors {
        let given = match liquor.liquor {
            water::Liquor::Mash => &task.mash,
            water::Liquor::Sparge => &task.sparge,
        };
        let ions = liquor.water.ions;
        macro_rules! check {
            ($($field:ident),+) => {$(
                if let Some(most) = given.limits.$field.at_most {
                    assert!(ions.$field.mg_per_l() <= most.mg_per_l() + 1e-6,
                        "{} {}", stringify!($field), ions.$field);
                }
                if let Some(least) = given.limits.$field.at_least {
                    assert!(ions.$field.mg_per_l() >= least.mg_per_l() - 1e-6,
                        "{} {}", stringify!($field), ions.$field);
                }
            )+};
        }
        check!(calcium, magnesium, sodium, chloride, sulfate);
        let poured: f64 = liquor.blend.iter().map(|part| part.volume.l()).sum();
        assert!(
            (poured - given.volume.l()).abs() < 1e-6,
            "{poured} of {}: {:?}",
            given.volume.l(),
            liquor.blend
        );
    }
    if let (Some(grist), Some(mash)) = (&task.grist, &found.mash_ph) {
        let ph = mash.ph.value.ph();
        assert!(
            grist
                .limits
                .at_most
                .is_none_or(|most| ph <= most.ph() + 1e-6),
            "{ph}"
        );
        assert!(
            grist
                .limits
                .at_least
                .is_none_or(|least| ph >= least.ph() - 1e-6),
            "{ph}"
        );
    }
    let soft: f64 = found
        .liquors
        .iter()
        .flat_map(|liquor| &liquor.blend)
        .filter(|part| part.source == 1)
        .map(|part| part.volume.l())
        .sum();
    assert!(soft <= task.sources[1].at_hand.unwrap().l() + 1e-6);
    for salt in &task.salts {
        let used: f64 = found
            .salts()
            .filter(|dose| dose.salt.name == salt.salt.name)
            .map(|dose| dose.mass.g())
            .sum();
        assert!(
            salt.at_hand.is_none_or(|most| used <= most.g() + 1e-6),
            "{}",
            salt.salt
        );
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn a_design_can_be_weighed_and_keeps_its_limits(task in any_task()) {
        match design(&task) {
            Ok(found) => {
                can_be_weighed(&task, &found);
                keeps_its_limits(&task, &found);
                prop_assert!(found.misfit.weighed.is_finite());
                prop_assert!(found.misfit.unrounded >= -1e-9);
                prop_assert_eq!(design(&task).unwrap(), found);
            }
            Err(DesignError::Contradiction { relax }) => prop_assert!(!relax.is_empty()),
            Err(DesignError::TooCoarse { .. } | DesignError::TooFewKinds { .. }) => {}
            Err(other) => prop_assert!(false, "{}", other),
        }
    }

    /// What a contradiction says would do, does.
    #[test]
    fn a_relaxation_that_is_told_is_enough(
        calcium in 80.0..200.0f64, sulfate in 10.0..100.0f64, chloride in 0.0..50.0f64,
        alkalinity in 0.0..1.0f64,
    ) {
        let mut task = task(20.0, 0.0);
        task.sources = vec![plain(water("soft", 10.0, 5.0, 1.0))];
        task.salts = salts(&["gypsum", "calcium chloride dihydrate", "table salt"], 1e-6);
        task.mash.limits.calcium = Bounds::at_least(mg(calcium));
        task.mash.limits.sulfate = Bounds::at_most(mg(sulfate));
        task.mash.limits.chloride = Bounds::at_most(mg(chloride));
        task.mash.limits.alkalinity = Bounds::at_most(Alkalinity::from_meq_per_l(alkalinity));
        let Err(DesignError::Contradiction { relax }) = design(&task) else { return Ok(()) };
        for change in relax {
            match (change.to, change.side) {
                (Level::Calcium(to), Side::AtLeast) => task.mash.limits.calcium = Bounds::at_least(to),
                (Level::Sulfate(to), Side::AtMost) => task.mash.limits.sulfate = Bounds::at_most(to),
                (Level::Chloride(to), Side::AtMost) => task.mash.limits.chloride = Bounds::at_most(to),
                (Level::Alkalinity(to), Side::AtMost) => {
                    task.mash.limits.alkalinity = Bounds::at_most(to);
                }
                other => prop_assert!(false, "{:?}", other),
            }
        }
        let again = design(&task);
        prop_assert!(again.is_ok(), "{:?}", again.err());
    }
}

/// The best on the grid, by trying every dose of three salts.
fn best_of_all(task: &Task, steps: [usize; 3], grams: f64) -> f64 {
    let litres = task.mash.volume.l();
    let tap = &task.sources[0].variants[0].water;
    let mut best = f64::INFINITY;
    for a in 0..steps[0] {
        for b in 0..steps[1] {
            for c in 0..steps[2] {
                let mut ions = tap.ions;
                for (salt, count) in task.salts.iter().zip([a, b, c]) {
                    let g_per_l = count as f64 * grams / litres;
                    ions = ions.plus(salt.salt.ions_per_g_per_l.times(g_per_l));
                }
                let aims = &task.mash.aims;
                let part =
                    |got: f64, target: f64, tolerance: f64| ((got - target) / tolerance).powi(2);
                macro_rules! sum {
                    ($($field:ident),+) => { 0.0 $(+ aims.$field.map_or(0.0, |aim| part(
                        ions.$field.mg_per_l(), aim.target.mg_per_l(), aim.tolerance.mg_per_l(),
                    )))+ };
                }
                best = best.min(sum!(calcium, chloride, sulfate, sodium));
            }
        }
    }
    best
}

/// Rounding against trying all grid points, on 60 tasks with a coarse scale.
#[test]
fn rounding_finds_the_best_grid_point() {
    let mut missed = 0;
    for case in 0..60 {
        let mut task = task(10.0, 0.0);
        let spread = |k: u32| f64::from((case * 37 + k * 53) % 101) / 101.0;
        task.sources = vec![plain(water("soft", 5.0 + 20.0 * spread(1), 10.0, 0.5))];
        task.salts = salts(&["gypsum", "calcium chloride dihydrate", "table salt"], 0.5);
        task.mash.aims = Aims {
            calcium: Some(Aim::near(mg(50.0 + 80.0 * spread(2)), mg(5.0))),
            chloride: Some(Aim::near(mg(30.0 + 100.0 * spread(3)), mg(8.0))),
            sulfate: Some(Aim::near(mg(30.0 + 200.0 * spread(4)), mg(10.0))),
            sodium: Some(Aim::near(mg(40.0 * spread(5)), mg(10.0))),
            ..Aims::default()
        };
        let ours = design(&task).unwrap().misfit.weighed;
        let best = best_of_all(&task, [14, 12, 8], 0.5);
        assert!(ours >= best - 1e-9, "case {case}: {ours} below {best}");
        missed += usize::from(ours > best + 1e-6);
    }
    assert_eq!(
        missed, 0,
        "of 60 tasks were not rounded to the best grid point"
    );
}
