//! The boil against its equations integrated elsewhere, and what hops and colour do.

#![expect(clippy::unwrap_used, reason = "helpers of tests may unwrap as tests do")]

mod common;

use common::{plan, pure};
use quantity::{
    Duration, EvaporationRate, Fraction, Mass, MassConcentration, Ph, Power, Spread, Temperature,
};
use wort::{
    Boiled, GristItem, HopAddition, HopForm, HopTime, Sparge, SweetWort, TemperatureReading,
    WortPlan, boil, malts, mash, volumes,
};

fn hop(g: f64, when: HopTime) -> HopAddition {
    HopAddition {
        name: "hop".into(),
        alpha: Fraction::from_ratio(0.05),
        alpha_sd: None,
        form: None,
        mass: Mass::from_g(g),
        when,
    }
}

fn boiled_min(min: f64) -> HopTime {
    HopTime::Boil(Duration::from_min(min))
}

fn ordinary(hops: Vec<HopAddition>) -> WortPlan {
    let malt = GristItem {
        fermentable: malts::find("pale ale malt").unwrap(),
        mass: Mass::from_kg(4.5),
    };
    let mut plan = plan(Sparge::None, 20.0, vec![malt]);
    plan.hops = hops;
    plan
}

fn sweet(plan: &WortPlan) -> SweetWort {
    let v = volumes(plan).unwrap();
    let mut wort = mash(plan, &v, &pure(), &pure(), Ph::from_ph(5.4))
        .unwrap()
        .wort;
    wort.traces.smm = MassConcentration::from_mg_per_l(1.0);
    wort
}

fn brewed(plan: &WortPlan) -> Boiled {
    boil(plan, &sweet(plan)).unwrap()
}

/// LSODA of SciPy 1.17 at a relative tolerance of 1e-12 (tests/reference/boil.py): what
/// is left of two hops and of the precursor after heat-up, boil, whirlpool and chiller.
#[test]
fn the_boil_agrees_with_its_equations() {
    let mut plan = ordinary(vec![
        hop(10.0, boiled_min(60.0)),
        hop(10.0, boiled_min(10.0)),
    ]);
    plan.boil.whirlpool = Duration::from_min(20.0);
    let mut wort = sweet(&plan);
    wort.temperature = Temperature::from_c(72.0);
    let full_kg = brewed(&plan).report.pre_boil;
    let full_kg = full_kg.water.kg() + full_kg.extract.kg();
    plan.kit.evaporation = EvaporationRate::from_kg_per_h(0.09 * full_kg / 1.045);
    plan.kit.power = Some(Power::from_kw(1.0));
    let takes_min = boil(&plan, &wort)
        .unwrap()
        .report
        .heat
        .heat_up
        .unwrap()
        .min();
    plan.kit.power = Some(Power::from_kw(takes_min / 30.0));
    let out = boil(&plan, &wort).unwrap();
    assert!((out.report.heat.heat_up.unwrap().min() - 30.0).abs() < 1e-9);
    let litres = out.report.post_boil.volume.l();
    let share = |x: MassConcentration| x.mg_per_l() * litres / 500.0;
    let of_smm = |x: MassConcentration| x.mg_per_l() * litres / out.report.pre_boil.volume.l();
    let [first, second] = out.report.hops.as_slice() else {
        panic!("{:?}", out.report.hops)
    };
    for (ours, tight) in [
        (share(first.alpha_left), 0.397_203_241),
        (share(first.iso_alpha), 0.530_584_563),
        (share(second.alpha_left), 0.741_711_862),
        (share(second.iso_alpha), 0.248_903_474),
        (of_smm(out.wort.traces.smm), 0.194_653_947),
        (of_smm(out.wort.traces.dms), 0.120_749_583),
    ] {
        assert!((ours - tight).abs() < 1e-6, "{ours} against {tight}");
    }
}

/// The heat-up starts from what the mash has come to, and not from what its last rest
/// was planned at: 46 K above the room fall by 46·(1 − e^(−1/τ)) in the hour.
#[test]
fn the_kettle_is_as_warm_as_the_mash_had_become() {
    let mut plan = ordinary(Vec::new());
    plan.kit.power = Some(Power::from_kw(3.0));
    let starts = |hours: f64| {
        let mut plan = plan.clone();
        plan.kit.tun_time_constant = Duration::from_h(hours);
        brewed(&plan).report.heat
    };
    let (tight, open) = (starts(1e6), starts(10.0));
    assert!((tight.from.c() - 66.0).abs() < 1e-4, "{tight:?}");
    let fall = 46.0 * -(-0.1f64).exp_m1();
    assert!((open.from.c() - (66.0 - fall)).abs() < 1e-9, "{open:?}");
    assert!(open.to_boil > tight.to_boil && open.heat_up > tight.heat_up);
    plan.mash.measured = vec![TemperatureReading {
        after: Duration::from_min(60.0),
        temperature: Temperature::from_c(63.0),
    }];
    let read = brewed(&plan).report.heat;
    assert!((read.from.c() - 63.0).abs() < 1e-9, "{read:?}");
}

/// The other boils are walked without the timeline and end where it does, but for the
/// quadrature over wider spans of temperature.
#[test]
fn other_boils_end_where_their_own_timeline_ends() {
    let plan = ordinary(Vec::new());
    let left = brewed(&plan).report.dms_left;
    assert_eq!(left.len(), 4);
    let mut shorter = plan.clone();
    shorter.boil.duration = Duration::from_min(30.0);
    let alone = boil(&shorter, &sweet(&plan)).unwrap();
    assert!((left[1].dms.mg_per_l() / alone.wort.traces.dms.mg_per_l() - 1.0).abs() < 1e-5);
    assert!((left[1].smm.mg_per_l() / alone.wort.traces.smm.mg_per_l() - 1.0).abs() < 1e-5);
}

/// Common practice: pellets give 1.0 to 1.1 times what cones give.
#[test]
fn pellets_give_a_little_more() {
    let of = |form| {
        let mut one = hop(20.0, boiled_min(60.0));
        one.form = form;
        brewed(&ordinary(vec![one])).report
    };
    let (cones, pellets) = (of(Some(HopForm::Cones)), of(Some(HopForm::Pellets)));
    let (c, p) = (cones.bitterness, pellets.bitterness);
    assert!((p.value.ibu() / c.value.ibu() - 1.05).abs() < 1e-9);
    assert!(p.sd() / p.value.ibu() > c.sd() / c.value.ibu());
    let tinseth = pellets.bitterness_by_tinseth.ibu() / cones.bitterness_by_tinseth.ibu();
    assert!((tinseth - 1.05).abs() < 1e-9);
    assert!((of(None).bitterness.value.ibu() - c.value.ibu()).abs() < 1e-12);
}

/// Every loss is shown for every addition, and what is left is the bitterness.
#[test]
fn each_addition_names_its_losses() {
    let report = brewed(&ordinary(vec![hop(20.0, boiled_min(60.0))])).report;
    let keys: Vec<&str> = wort::bitterness::losses()
        .iter()
        .map(|l| l.key.as_str())
        .collect();
    assert_eq!(keys, ["trub", "hops", "yeast", "foam", "cellar"]);
    let hop = &report.hops[0];
    let lost: f64 = hop.lost.iter().map(|l| l.mg_per_l()).sum();
    assert!((hop.iso_alpha.mg_per_l() - lost - hop.bitterness.ibu()).abs() < 1e-9);
    // Practice: fermentation, yeast and foam take 10 to 25 % of what comes to them.
    let reach = hop.iso_alpha.mg_per_l() - hop.lost[0].mg_per_l() - hop.lost[1].mg_per_l();
    let by_yeast = (hop.lost[2].mg_per_l() + hop.lost[3].mg_per_l()) / reach;
    assert!((0.10..=0.25).contains(&by_yeast), "{by_yeast}");
}

/// What is known of an addition's alpha-acids is in the spread of the beer.
#[test]
fn the_spread_of_alpha_is_carried() {
    let with = |sd: Option<f64>| {
        let mut one = hop(20.0, boiled_min(60.0));
        one.alpha_sd = sd.map(Fraction::from_ratio);
        brewed(&ordinary(vec![one])).report.bitterness
    };
    let (plain, vague) = (with(None), with(Some(0.01)));
    assert!((plain.value.ibu() - vague.value.ibu()).abs() < 1e-12);
    let relative = vague.sd() / vague.value.ibu();
    assert!((relative - (0.125f64.powi(2) + 0.05f64.powi(2) + 0.2f64.powi(2)).sqrt()).abs() < 1e-9);
    assert!(plain.sd() < vague.sd());
}

/// Notes of a hop merchant in Brauwelt International, 2017 (read): 6 lb a barrel of
/// pellets with 0.23 % of humulinones and 5.7 % of alpha-acids bring 48 and just over
/// 35 mg/L.
#[test]
fn dry_hops_bring_what_was_measured() {
    let g = 6.0 * 453.592 / 117.348 * 20.0;
    let mut dry = hop(g, HopTime::DryHop);
    dry.alpha = Fraction::from_ratio(0.057);
    let plan = ordinary(vec![hop(25.0, boiled_min(60.0)), dry]);
    let report = brewed(&plan).report;
    let found = report.dry_hops.unwrap();
    assert!((found.dose.mg_per_l() - 23_190.0).abs() < 10.0);
    let holds = |range: &Spread, x: f64| matches!(range, Spread::Range { low, high } if *low <= x && x <= *high);
    assert!(holds(&found.humulinones.spread, 48.0), "{found:?}");
    assert!((found.alpha.value.mg_per_l() - 35.0).abs() < 1.0);
    assert!((found.humulinones.value.mg_per_l() * 0.23 / 0.25 - 48.0).abs() < 0.5);
    assert!(found.tasted.value < found.measured.value);
    assert!(found.measured.value > report.bitterness.value);
    let said = &report.notes[0].text;
    assert!(
        said.contains("23.2 g/L") && said.contains("humulinones"),
        "{said}"
    );
    // The reckoned bitterness itself stays that of the kettle.
    let without = brewed(&ordinary(vec![hop(25.0, boiled_min(60.0))])).report;
    assert!(without.dry_hops.is_none());
    assert!((without.bitterness.value.ibu() - report.bitterness.value.ibu()).abs() < 1e-9);
}

/// An hour's boil is in the fit; half an hour more darkens the wort by less than that
/// hour did, half an hour less makes it paler, and heating up counts.
#[test]
fn the_boil_browns() {
    let colour = |min: f64, kw: Option<f64>| {
        let mut plan = ordinary(Vec::new());
        plan.boil.duration = Duration::from_min(min);
        plan.kit.evaporation = EvaporationRate::from_kg_per_h(0.0);
        plan.kit.power = kw.map(Power::from_kw);
        let out = brewed(&plan);
        assert_eq!(out.wort.colour, out.report.colour.wort.value);
        out.report.colour
    };
    let hour = colour(60.0, None);
    // The chiller's first minutes are all that is beside the hour.
    let beside = hour.wort.value.ebc() - hour.by_grist.ebc();
    assert!((0.0..0.2).contains(&beside), "{beside}");
    assert!((hour.in_fit.ebc() - 2.0).abs() < 1e-9);
    let (long, short) = (colour(90.0, None), colour(30.0, None));
    let gain = long.wort.value.ebc() - hour.wort.value.ebc();
    assert!((0.2..1.0).contains(&gain), "{gain}");
    assert!(short.wort.value < hour.wort.value && short.wort.value.ebc() > 0.0);
    assert!(colour(60.0, Some(2.0)).formed.value > hour.formed.value);
    // Common practice: 1 to 3 EBC.
    assert!(hour.formed.lower().ebc() > 0.9 && hour.formed.upper().ebc() < 3.4);
    let none = colour(0.0, None);
    assert!(none.wort.value.ebc() > 0.0 && none.formed.value.ebc() < 0.3);
}

/// Two additions at one moment, more than dissolves, are as one of both.
#[test]
fn hops_that_go_in_together_are_as_one() {
    let together = brewed(&ordinary(vec![
        hop(60.0, boiled_min(60.0)),
        hop(60.0, boiled_min(30.0)),
        hop(40.0, boiled_min(30.0)),
    ]));
    let one = brewed(&ordinary(vec![
        hop(60.0, boiled_min(60.0)),
        hop(100.0, boiled_min(30.0)),
    ]));
    let ibu = one.wort.bitterness.ibu();
    assert!(ibu > 0.0 && (together.wort.bitterness.ibu() - ibu).abs() < 1e-9);
    let mut times = together.report.timeline.windows(2);
    assert!(times.all(|pair| pair[0].time < pair[1].time));
}
