//! The ways out of chlorine, side by side.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use proptest::prelude::*;
use quantity::{Alkalinity, Chlorine, Duration, FlowRate, Fraction, Mass, Measured, Ph, Volume};
use water::SourceWater;
use water::dechlorination::{
    CarbonClaim, CarbonRating, Dechlorination, Dose, Reagent, Volumes, dechlorinate,
    household_block,
};
use water::disinfectant::{
    AtHand, CleanWater, Comparison, Effect, Form, ReagentAtHand, Task, TestKind, Way, WayOut,
    as_planned, compare, courses, refused, share_of_clean_water, stock, suggest_stock, tablets,
    ways_out, ways_sources,
};

fn water(total: &str, free: Option<&str>) -> SourceWater {
    SourceWater {
        alkalinity: Alkalinity::from_meq_per_l(2.0),
        ph: Some(Ph::from_ph(7.5)),
        total_chlorine: total.parse().unwrap(),
        free_chlorine: free.map(|f| f.parse().unwrap()),
        ..SourceWater::named("tap")
    }
}

fn task(total: &str, free: Option<&str>, hours: f64) -> Task {
    let volumes = Volumes {
        mash: Volume::from_l(15.0),
        sparge: Volume::from_l(12.0),
    };
    Task::new(water(total, free), volumes, Duration::from_h(hours))
}

fn powder(reagent: Reagent) -> ReagentAtHand {
    ReagentAtHand {
        reagent,
        form: Form::Powder {
            purity: Fraction::from_ratio(0.95),
        },
    }
}

fn with(task: Task, reagents: &[Reagent]) -> Task {
    Task {
        at_hand: AtHand {
            reagents: reagents.iter().map(|r| powder(*r)).collect(),
            ..task.at_hand.clone()
        },
        ..task
    }
}

fn out(task: &Task, way: Way) -> WayOut {
    let ways = ways_out(task).unwrap();
    ways.into_iter().find(|out| out.way == way).unwrap()
}

fn best(comparison: &Comparison) -> Way {
    comparison.recommendation.as_ref().unwrap().way
}

fn near(ours: f64, printed: f64, tolerance: f64) {
    assert!(
        (ours - printed).abs() <= tolerance,
        "{ours} against {printed}"
    );
}

#[test]
fn metabisulfite_at_hand_is_recommended_for_chloramine() {
    let task = with(
        task("1.8 ± 0.15 mg/L", None, 2.0),
        &[Reagent::PotassiumMetabisulfite, Reagent::AscorbicAcid],
    );
    let comparison = compare(&task).unwrap();
    assert_eq!(
        best(&comparison),
        Way::Reagent(Reagent::PotassiumMetabisulfite)
    );
    let mut named = 0;
    for way in &comparison.ways[1..] {
        let why = way.why_not.as_ref().unwrap();
        assert!(why.ends_with('.') && !why.is_empty(), "{why}");
        named += 1;
    }
    assert_eq!(named + 1, Way::all().len());
    assert_eq!(comparison.ways[0].why_not, None);
    assert!(comparison.cautions.contains(&quantity::Caution::Sulfite));
}

#[test]
fn unfit_water_stays_unfit_without_its_chlorine() {
    let mut task = with(task("1 mg/L", None, 2.0), &[Reagent::SodiumMetabisulfite]);
    task.water.nitrite = Some(quantity::Nitrite::from_mg_per_l(5.0));
    let cautions = compare(&task).unwrap().cautions;
    assert!(
        cautions.contains(&quantity::Caution::UnfitWater),
        "{cautions:?}"
    );
}

#[test]
fn the_sensitive_get_ascorbate() {
    let mut task = with(
        task("1.8 ± 0.15 mg/L", None, 2.0),
        &[Reagent::PotassiumMetabisulfite, Reagent::AscorbicAcid],
    );
    task.sulfite_sensitive = true;
    let comparison = compare(&task).unwrap();
    assert_eq!(best(&comparison), Way::Reagent(Reagent::AscorbicAcid));
    assert!(!comparison.cautions.contains(&quantity::Caution::Sulfite));
}

#[test]
fn with_nothing_at_hand_chloramine_sends_one_shopping_and_free_chlorine_does_not() {
    let chloramine = compare(&task("1.8 ± 0.15 mg/L", None, 2.0)).unwrap();
    let advice = chloramine.recommendation.as_ref().unwrap();
    assert!(
        advice.to_get && matches!(advice.way, Way::Reagent(_)),
        "{advice:?}"
    );
    let free = compare(&task("0.5 ± 0.05 mg/L", Some("0.5 ± 0.05 mg/L"), 4.0)).unwrap();
    let advice = free.recommendation.as_ref().unwrap();
    assert_eq!((advice.way, advice.to_get), (Way::Boil, false));
}

#[test]
fn water_without_chlorine_is_left_alone() {
    let task = with(
        task("0.02 ± 0.02 mg/L", None, 2.0),
        &[Reagent::SodiumMetabisulfite],
    );
    assert_eq!(best(&compare(&task).unwrap()), Way::Nothing);
}

#[test]
fn without_time_nothing_is_recommended() {
    let task = with(task("1 mg/L", None, 0.05), &[Reagent::SodiumMetabisulfite]);
    let comparison = compare(&task).unwrap();
    assert_eq!(comparison.recommendation, None);
    assert!(
        comparison
            .notes
            .iter()
            .any(|n| n.weight == quantity::Weight::Act)
    );
    assert!(comparison.ways.iter().all(|way| way.why_not.is_some()));
}

/// A range up to 12 mg/L, doubtful by a factor: covering the top leaves more sulfite
/// than the label limit where the water holds the least.
#[test]
fn a_doubtful_figure_is_not_covered_with_sulfite_beyond_the_label_limit() {
    let task = with(
        task("0-12 mg/L", None, 2.0),
        &[Reagent::SodiumMetabisulfite],
    );
    let comparison = compare(&task).unwrap();
    assert!(!matches!(best(&comparison), Way::Reagent(r) if r.is_sulfite()));
    let metabisulfite = comparison
        .ways
        .iter()
        .find(|way| way.out.way == Way::Reagent(Reagent::SodiumMetabisulfite))
        .unwrap();
    assert!(metabisulfite.why_not.as_ref().unwrap().contains("label"));
}

/// By-products of a mg/L of chlorine removed, computed with periodictable 2.1.0.
#[test]
fn carbon_and_peroxide_leave_what_stoichiometry_says() {
    let chloramine = out(&task("1 mg/L", None, 24.0), Way::Carbon);
    let gone = 1.0 - chloramine.residual.total().mg_per_l();
    near(
        chloramine.leaves.ions.chloride.mg_per_l(),
        0.500 * gone,
        5e-4,
    );
    near(
        chloramine.leaves.ions.ammonium.mg_per_l(),
        0.254 * gone,
        5e-4,
    );
    near(chloramine.leaves.alkalinity_change.meq_per_l(), 0.0, 1e-12);
    let free = out(&task("1 mg/L", Some("1 mg/L"), 24.0), Way::Peroxide);
    near(free.leaves.ions.chloride.mg_per_l(), 0.500, 5e-4);
    near(
        free.leaves.alkalinity_change.mg_per_l_as_caco3(),
        -0.706,
        5e-4,
    );
    // 0.4797 mg of pure peroxide per mg: 27 L of 1 mg/L in 3 % solution of 1.01.
    assert!(free.steps[0].starts_with("0.4 mL"), "{:?}", free.steps);
    near(27.0 * 0.4797 / 0.03 / 1000.0 / 1.01, 0.427, 5e-4);
    // 27 L take 0.43 mL at 6 units a litre.
    near(free.cost.units(), 0.427e-3 * 6.0, 1e-5);
}

/// One tablet of 0.44 g K₂S₂O₅ in 75.7 L covers 3.71 mg/L and leaves 3.35 mg/L of
/// SO₂ (computed with periodictable 2.1.0).
#[test]
fn a_tablet_covers_what_it_covers() {
    let volumes = Volumes {
        mash: Volume::from_l(40.0),
        sparge: Volume::from_l(35.7),
    };
    let none: Measured<Chlorine> = "0 mg/L".parse().unwrap();
    let cover = Chlorine::from_mg_per_l(3.5);
    let active = Mass::from_g(0.44);
    let plans = tablets(
        Reagent::PotassiumMetabisulfite,
        active,
        volumes,
        cover,
        &none,
    )
    .unwrap();
    for plan in &plans {
        near(plan.count.number(), 1.0, 1e-12);
        near(plan.covers.mg_per_l(), 3.71, 5e-3);
        near(plan.sulfur_dioxide_at_most.mg_per_l(), 3.35, 5e-3);
        near(plan.beyond.mg_per_l(), 0.21, 5e-3);
    }
    let refused = tablets(
        Reagent::PotassiumMetabisulfite,
        Mass::default(),
        volumes,
        cover,
        &none,
    );
    let message = refused.unwrap_err().to_string();
    assert!(message.starts_with("mass of a tablet is 0"), "{message}");
}

#[test]
fn tablets_at_hand_are_counted_in_the_steps() {
    let mut task = task("1.8 ± 0.15 mg/L", None, 2.0);
    task.at_hand.reagents = vec![ReagentAtHand {
        reagent: Reagent::PotassiumMetabisulfite,
        form: Form::Tablets {
            active: Mass::from_g(0.44),
        },
    }];
    let way = out(&task, Way::Reagent(Reagent::PotassiumMetabisulfite));
    assert_eq!(way.effect, Effect::Clears);
    assert_eq!(way.dose.as_ref().unwrap().tablets.len(), 3);
    assert!(
        way.steps.iter().any(|s| s.contains("quarters")),
        "{:?}",
        way.steps
    );
}

#[test]
fn a_coarse_scale_gets_a_stock_solution() {
    let mut task = with(
        task("0.5 ± 0.05 mg/L", None, 2.0),
        &[Reagent::SodiumMetabisulfite],
    );
    task.at_hand.scale_step = Some(Mass::from_g(0.1));
    let way = out(&task, Way::Reagent(Reagent::SodiumMetabisulfite));
    let plan = way.dose.unwrap();
    let made = plan.stock.unwrap();
    near(made.salt.g(), 2.0, 1e-12);
    assert!(made.per_brew().l() >= 0.01 - 1e-12);
    let grams = made.salt.g() * made.per_brew().l() / made.volume.l();
    near(grams, plan.dose.total.g(), 1e-12);
    assert!(way.steps[0].contains("too little for the scale"));
    task.at_hand.scale_step = Some(Mass::from_g(0.001));
    let way = out(&task, Way::Reagent(Reagent::SodiumMetabisulfite));
    assert_eq!(way.dose.unwrap().stock, None);
}

#[test]
fn a_week_of_standing_leaves_chloramine() {
    let week = out(&task("3 mg/L", None, 168.0), Way::Stand);
    assert!(
        week.residual.total().mg_per_l() > 1.3,
        "{:?}",
        week.residual
    );
    assert!(week.residual.at_most.mg_per_l() > 2.2);
    assert_eq!(week.effect, Effect::Leaves);
}

#[test]
fn diluting_is_nearly_leaving_the_tap_out() {
    let mg = Chlorine::from_mg_per_l;
    let share = share_of_clean_water(mg(2.0), mg(0.0), mg(0.1), "distilled water").unwrap();
    near(share.ratio(), 0.95, 1e-12);
    let message = share_of_clean_water(mg(2.0), mg(0.3), mg(0.1), "spring").unwrap_err();
    assert!(message.to_string().contains("must hold less than the aim"));
    let mut task = task("2 mg/L", None, 2.0);
    task.at_hand.clean_water = Some(CleanWater {
        name: "spring".to_owned(),
        chlorine: Measured::exactly(mg(0.3)),
    });
    let way = out(&task, Way::Dilute);
    near(way.residual.at_most.mg_per_l(), 0.3, 1e-12);
    assert_eq!(way.effect, Effect::Leaves);
}

#[test]
fn a_slow_filter_that_claims_chloramine_is_recommended_when_it_is_all_there_is() {
    let mut task = task("1.5 ± 0.1 mg/L", None, 6.0);
    task.at_hand.carbon = Some(water::dechlorination::CarbonBed {
        rated: Some(CarbonRating {
            capacity: Volume::from_l(3000.0),
            flow: FlowRate::from_l_per_min(0.8),
            claim: CarbonClaim::Chloramine,
        }),
        ..household_block()
    });
    let comparison = compare(&task).unwrap();
    assert_eq!(best(&comparison), Way::Carbon);
    // The same filter, used up.
    let mut bed = task.at_hand.carbon.unwrap();
    bed.used = Volume::from_l(1e5);
    task.at_hand.carbon = Some(bed);
    assert_ne!(best(&compare(&task).unwrap()), Way::Carbon);
}

#[test]
fn what_a_strip_leaves_open_goes_with_the_way() {
    let task = with(
        task("1.8 ± 0.15 mg/L", None, 2.0),
        &[Reagent::SodiumMetabisulfite],
    );
    let dosed = out(&task, Way::Reagent(Reagent::SodiumMetabisulfite));
    let stood = out(&task, Way::Stand);
    let after = |way: &WayOut| way.reads_none(TestKind::Strip).at_most.mg_per_l();
    assert!(after(&dosed) < 0.01);
    assert!(after(&stood) > 0.3);
}

#[test]
fn what_is_not_offered_is_said_and_sourced() {
    assert!(refused().iter().any(|r| r.name == "thiosulfate"));
    assert!(refused().iter().all(|r| !r.source.text.is_empty()));
    assert!(
        ways_sources()
            .iter()
            .all(|(_, source)| !source.text.is_empty())
    );
}

/// A plan of the brewer's own is reckoned like the ways, and agrees with them where
/// it does the same.
#[test]
fn a_plan_is_reckoned_like_the_ways() {
    let task = with(
        task("1.8 ± 0.15 mg/L", None, 6.0),
        &[Reagent::SodiumMetabisulfite],
    );
    for out in ways_out(&task).unwrap() {
        let Some(plan) = out.plan else { continue };
        let planned = as_planned(&task, &plan).unwrap();
        assert_eq!((planned.way, planned.residual), (out.way, out.residual));
        assert_eq!((planned.cost, planned.time), (out.cost, out.time));
        assert_eq!(planned.leaves, out.leaves);
    }
    // Half a gram by hand, of pure salt in 27 L: 13.8 mg/L of chlorine, less 1.5 at
    // the least, as SO2 (stoichiometry).
    let by_hand = Dechlorination::Reagent {
        reagent: Reagent::SodiumMetabisulfite,
        purity: Fraction::from_ratio(1.0),
        excess: Fraction::default(),
        dose: Dose::Mass(Mass::from_g(0.5)),
    };
    let planned = as_planned(&task, &by_hand).unwrap();
    let capacity = 500.0 / 27.0 / 1.3406;
    let sulfur_dioxide = (capacity - 1.5) * 0.9035;
    near(
        planned.leaves.sulfur_dioxide_at_most.mg_per_l(),
        sulfur_dioxide,
        2e-3,
    );
    assert!(planned.steps[0].starts_with("Weigh 0.500 g"));
}

#[test]
fn impossible_tasks_are_told() {
    let mut dry = task("1 mg/L", None, 2.0);
    dry.volumes.mash = Volume::default();
    dry.volumes.sparge = Volume::default();
    assert!(compare(&dry).unwrap_err().to_string().contains("both 0 L"));
    let mut cold = task("1 mg/L", None, 2.0);
    cold.temperature = quantity::Temperature::from_c(-5.0);
    let message = compare(&cold).unwrap_err().to_string();
    assert!(message.contains("temperature is -5 °C"), "{message}");
    let mut never = task("1 mg/L", None, 2.0);
    never.time = Duration::from_h(f64::NAN);
    assert!(compare(&never).is_err());
}

fn any_task() -> impl Strategy<Value = Task> {
    let amounts = (0.0..6.0f64, 0.0..0.6f64, prop::option::of(0.0..1.0f64));
    let brew = (0.5..60.0, 0.0..60.0, 0.01..200.0, 1.0..30.0);
    let hand = (
        prop::sample::subsequence(Reagent::ALL.to_vec(), 0..6),
        any::<[bool; 4]>(),
        prop::option::of(0.001..1.0f64),
        0.0..1.0,
    );
    (amounts, brew, hand).prop_map(
        |((total, sd, free), (mash, sparge, hours, temp_c), (reagents, has, step, excess))| {
            let mg = Chlorine::from_mg_per_l;
            let tap = SourceWater {
                total_chlorine: Measured::with_sd(mg(total), sd * total),
                free_chlorine: free.map(|f| Measured::with_sd(mg(f * total), sd * f * total)),
                ..water("1 mg/L", None)
            };
            let volumes = Volumes {
                mash: Volume::from_l(mash),
                sparge: Volume::from_l(sparge),
            };
            let tablets = Form::Tablets {
                active: Mass::from_g(0.44),
            };
            let in_form = |r: Reagent| ReagentAtHand {
                form: if has[0] { tablets } else { powder(r).form },
                reagent: r,
            };
            Task {
                temperature: quantity::Temperature::from_c(temp_c),
                excess: Fraction::from_ratio(excess),
                sulfite_sensitive: has[1],
                at_hand: AtHand {
                    reagents: reagents.into_iter().map(in_form).collect(),
                    scale_step: step.map(Mass::from_g),
                    carbon: has[2].then(household_block),
                    air_pump: has[3],
                    ..AtHand::default()
                },
                ..Task::new(tap, volumes, Duration::from_h(hours))
            }
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn what_is_recommended_is_safe_works_and_is_in_time(task in any_task()) {
        let comparison = compare(&task).unwrap();
        let Some(advice) = &comparison.recommendation else {
            prop_assert!(comparison.ways.iter().all(|way| way.why_not.is_some()));
            return Ok(());
        };
        let taken = &comparison.ways[0];
        prop_assert_eq!(taken.out.way, advice.way);
        prop_assert!(taken.in_time && taken.out.effect > Effect::Leaves);
        prop_assert!(taken.out.leaves.sulfur_dioxide_at_most.mg_per_l() < 10.0);
        prop_assert!(advice.way != Way::Peroxide);
        let sulfite = matches!(advice.way, Way::Reagent(r) if r.is_sulfite());
        prop_assert!(!(sulfite && task.sulfite_sensitive));
        prop_assert_eq!(advice.to_get, !taken.out.at_hand);
        prop_assert!(!advice.reasons.is_empty());
    }

    #[test]
    fn the_bound_is_never_below_what_is_expected(task in any_task()) {
        for way in ways_out(&task).unwrap() {
            let (expected, at_most) = (way.residual.total().mg_per_l(), way.residual.at_most.mg_per_l());
            prop_assert!(expected <= at_most + 1e-9, "{}: {expected} above {at_most}", way.way);
            prop_assert!(expected >= 0.0 && at_most.is_finite());
            prop_assert!(at_most <= task.water.total_chlorine.upper().mg_per_l() + 1e-9);
            prop_assert!(way.cost.units() >= 0.0 && way.cost.units().is_finite());
            prop_assert!(way.time >= way.work);
        }
    }

    /// Charge: what cations a way brings less its anions is its change of alkalinity,
    /// spare reagent apart.
    #[test]
    fn carbon_and_peroxide_keep_charge(task in any_task()) {
        for way in [Way::Carbon, Way::Peroxide] {
            let leaves = out(&task, way).leaves;
            let charge = leaves.ions.ammonium.meq_per_l() - leaves.ions.chloride.meq_per_l();
            prop_assert!((charge - leaves.alkalinity_change.meq_per_l()).abs() < 1e-9);
        }
    }

    #[test]
    fn chlorine_never_rises_over_time(task in any_task()) {
        let times: Vec<Duration> = [0.0, 0.05, 0.5, 2.0, 12.0, 48.0].map(Duration::from_h).to_vec();
        for line in courses(&task, &Way::all(), &times).unwrap() {
            prop_assert_eq!(line.points.len(), times.len());
            for pair in line.points.windows(2) {
                prop_assert!(pair[1].expected.mg_per_l() <= pair[0].expected.mg_per_l() + 1e-5);
                prop_assert!(pair[1].at_most.mg_per_l() <= pair[0].at_most.mg_per_l() + 1e-5);
            }
        }
    }

    #[test]
    fn the_tablets_are_enough_and_one_piece_less_is_not(
        cover in 0.0..10.0f64, active in 0.1..0.7f64, litres in 1.0..80.0f64,
    ) {
        let volumes = Volumes { mash: Volume::from_l(litres), sparge: Volume::default() };
        let total = Measured::exactly(Chlorine::from_mg_per_l(cover));
        let plans = tablets(
            Reagent::SodiumMetabisulfite, Mass::from_g(active), volumes, total.value, &total,
        ).unwrap();
        for (plan, pieces) in plans.iter().zip([1.0, 2.0, 4.0]) {
            let covers = |count: f64| 1000.0 * active * count / litres
                / Reagent::SodiumMetabisulfite.mg_per_mg_chlorine();
            let count = plan.count.number();
            prop_assert!(covers(count) >= cover - 1e-6);
            prop_assert!(count < 1e-9 || covers(count - 1.0 / pieces) < cover + 1e-6);
            prop_assert!((count * pieces).fract().abs() < 1e-9);
        }
    }

    #[test]
    fn a_stock_solution_gives_the_dose(task in any_task(), salt in 0.5..20.0f64, ml in 50.0..1000.0f64) {
        let plan = out(&task, Way::Reagent(Reagent::SodiumSulfite)).dose.unwrap();
        let made = stock(&plan.dose, Mass::from_g(salt), Volume::from_l(ml / 1000.0)).unwrap();
        let given = |part: Volume| salt * part.l() / (ml / 1000.0);
        prop_assert!((given(made.mash) - plan.dose.mash.g()).abs() < 1e-9);
        prop_assert!((given(made.sparge) - plan.dose.sparge.g()).abs() < 1e-9);
        let found = suggest_stock(&plan.dose, Mass::from_g(0.1)).unwrap();
        prop_assert_eq!(found.is_some(), plan.dose.total.g() > 0.0 && plan.dose.total.g() < 2.0);
    }
}

/// The comparison and the plan of a batch follow standing water by the same kinetics.
#[test]
fn standing_leaves_the_same_in_the_plan_as_in_the_comparison() {
    for hours in [2.0, 24.0, 168.0] {
        let task = task("3 ± 0.3 mg/L", Some("0.1 mg/L"), hours);
        let plan = Dechlorination::Stand {
            time: Duration::from_h(hours),
        };
        let planned = dechlorinate(&task.water, task.volumes, &plan).unwrap();
        let ways = ways_out(&task).unwrap();
        let stood = ways.iter().find(|out| out.way == Way::Stand).unwrap();
        assert_eq!(planned.residual, stood.residual, "{hours} h");
    }
}

/// A water in which the reactions cannot be followed falls back on half-lives, and the
/// plan says so.
#[test]
fn standing_water_that_cannot_be_followed_says_so() {
    let mut strange = water("2 mg/L", None);
    strange.alkalinity = Alkalinity::from_meq_per_l(-1.0);
    let volumes = task("1 mg/L", None, 1.0).volumes;
    let plan = Dechlorination::Stand {
        time: Duration::from_h(24.0),
    };
    let left = dechlorinate(&strange, volumes, &plan).unwrap();
    // 2 mg/L · 2^(−1 d/8.66 d), Garcia & Anderson 2017.
    assert!((left.residual.combined.mg_per_l() - 1.846).abs() < 1e-3);
    assert!(left.notes.iter().any(|n| n.text.contains("half-lives")));
}
