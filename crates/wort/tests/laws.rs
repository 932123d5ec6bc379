//! Laws that every plan obeys, over random plans.

#![expect(clippy::unwrap_used, reason = "helpers of tests may unwrap as tests do")]

mod common;

use common::{plan, pure, water};
use proptest::prelude::*;
use quantity::{
    Duration, EvaporationRate, Fraction, Gravity, Mass, Ph, Power, Temperature, Volume,
    VolumePerMass,
};
use wort::{
    Boiled, GristItem, HopAddition, HopTime, Part, Rest, Sparge, Stepping, SweetWort, WortPlan,
    boil, evaporation_by_power, malts, mash, volumes,
};

fn any_sparge() -> impl Strategy<Value = Sparge> {
    prop_oneof![
        Just(Sparge::None),
        (1u32..4).prop_map(|refills| Sparge::Batch { refills }),
        Just(Sparge::Continuous),
    ]
}

prop_compose! {
    fn any_plan()(
        sparge in any_sparge(),
        litres in 5.0..200.0f64,
        grain_per_l in 0.08..0.40f64,
        sugar_share in 0.0..0.3f64,
        thickness in 1.8..4.0f64,
        absorption in 0.4..1.2f64,
        dead_share in 0.0..0.05f64,
        stages in 1u32..10,
        evaporation_share in 0.0..0.15f64,
        boil_min in 0.0..120.0f64,
        loss_share in 0.0..0.1f64,
        hops_g_per_l in 0.0..8.0f64,
        top_up_share in 0.0..0.2f64,
    ) -> WortPlan {
        let item = |name: &str, kg: f64| GristItem {
            fermentable: malts::find(name).unwrap(),
            mass: Mass::from_kg(kg),
        };
        let grain_kg = grain_per_l * litres;
        let grist = vec![
            item("pilsner malt", grain_kg * 0.9),
            item("crystal malt", grain_kg * 0.1),
            item("honey", grain_kg * sugar_share),
        ];
        let mut plan = plan(sparge, litres, grist);
        plan.mash.thickness = VolumePerMass::from_l_per_kg(thickness);
        plan.kit.absorption = VolumePerMass::from_l_per_kg(absorption);
        plan.kit.tun_dead = Volume::from_l(dead_share * litres);
        plan.kit.lauter_stages = stages;
        plan.kit.evaporation = EvaporationRate::from_kg_per_h(evaporation_share * litres);
        plan.kit.kettle_loss = Volume::from_l(loss_share * litres);
        plan.boil.duration = Duration::from_min(boil_min);
        plan.boil.top_up = Some(water(top_up_share * litres, 50.0, 0.5));
        plan.hops = vec![HopAddition {
            name: "hop".into(),
            alpha: Fraction::from_ratio(0.08),
            alpha_sd: None,
            form: None,
            mass: Mass::from_g(hops_g_per_l * litres),
            when: HopTime::Boil(Duration::from_min(boil_min)),
        }];
        plan
    }
}

/// Rests that rise, each reached in its own way.
fn any_steps() -> impl Strategy<Value = Vec<Rest>> {
    let way = prop::sample::select(vec![
        Stepping::Infusion,
        Stepping::Heat,
        Stepping::Decoction(Part::Whole),
        Stepping::Decoction(Part::Thick),
        Stepping::Decoction(Part::Thin),
    ]);
    let step = (way, 3.0..12.0f64, 5.0..120.0f64, 0.0..40.0f64);
    (38.0..64.0f64, prop::collection::vec(step, 1..4)).prop_map(|(first_c, steps)| {
        let mut temp_c = first_c;
        steps
            .into_iter()
            .map(|(way, rise_c, min, boiled_min)| {
                let rest = Rest {
                    by: Some(way),
                    boiled: Some(Duration::from_min(boiled_min)),
                    ..Rest::at(Temperature::from_c(temp_c), Duration::from_min(min))
                };
                temp_c += rise_c;
                rest
            })
            .collect()
    })
}

/// Latent heat of steam \[kJ/kg\], IAPWS (CoolProp 8.0): 2256.5 at 99.97 °C, 2270 at 95 °C.
fn latent_kj_per_kg(boils_c: f64) -> f64 {
    let below = 100.0 - boils_c;
    2256.4 + 2.67 * below - 0.006 * below * below
}

/// Sweet wort of a plan, if it can be brewed: small tuns with cold grain may need
/// strike water above boiling.
fn sweet(plan: &WortPlan) -> Option<SweetWort> {
    let v = volumes(plan).ok()?;
    Some(
        mash(plan, &v, &pure(), &pure(), Ph::from_ph(5.4))
            .ok()?
            .wort,
    )
}

fn brewed(plan: &WortPlan) -> Option<(SweetWort, Boiled)> {
    let sweet = sweet(plan)?;
    let boiled = boil(plan, &sweet).unwrap();
    Some((sweet, boiled))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Water and extract that go in come out, whatever the sparge; and the
    /// fermenter holds what was asked for.
    #[test]
    fn the_books_close(plan in any_plan()) {
        if let Ok(v) = volumes(&plan) {
            let scale = plan.into_fermenter.l();
            prop_assert!(v.ledger.water_gap_kg().abs() < 1e-9 * scale, "{:?}", v.ledger);
            prop_assert!(v.ledger.extract_gap_kg().abs() < 1e-9 * scale, "{:?}", v.ledger);
            prop_assert!((v.into_fermenter.volume.l() / scale - 1.0).abs() < 1e-9);
            for entry in v.ledger.water_out.iter().chain(&v.ledger.extract_out) {
                prop_assert!(entry.mass.kg() >= 0.0, "{entry:?}");
            }
            for share in [v.solutes.mash, v.solutes.sparge, v.lauter_efficiency, v.brewhouse_efficiency] {
                prop_assert!((0.0..=1.0).contains(&share.ratio()), "{share:?}");
            }
        }
    }

    /// The heat that is in the mash at the end is what the strike water brought and the
    /// steps put in, less what the steam and the walls took; and the walls took what
    /// Newton's law makes of the temperatures that are shown. Water likewise.
    #[test]
    fn heat_and_water_of_the_mash_close(
        plan in any_plan(), steps in any_steps(), tau_h in 1.0..200.0f64, power in prop::option::of(1.0..50.0f64),
    ) {
        let mut plan = plan;
        plan.mash.rests = steps;
        plan.kit.tun_time_constant = Duration::from_h(tau_h);
        plan.mash.power = power.map(|kw_per_100_l| Power::from_kw(kw_per_100_l * plan.into_fermenter.l() / 20.0));
        let Ok(v) = volumes(&plan) else { return Ok(()) };
        let Ok(mashed) = mash(&plan, &v, &pure(), &pure(), Ph::from_ph(5.4)) else { return Ok(()) };
        prop_assert!(v.ledger.water_gap_kg().abs() < 1e-9 * plan.into_fermenter.l(), "{:?}", v.ledger);
        let (heat, course) = (mashed.heat.unwrap(), mashed.planned.unwrap());
        let points: Vec<(f64, f64)> = course.points().map(|(t, c)| (t.min(), c.c())).collect();
        let kg_k = |energy: quantity::Energy| energy.kwh() * 3600.0 / 4.187;
        let boils_c = plan.kit.boiling_point().c();
        let per_l = quantity::density::water_density(20.0) / 1000.0;
        let grain: f64 = plan.grist.iter().filter(|g| g.fermentable.kind.is_mashed()).map(|g| g.mass.kg()).sum();
        // Heat capacity of grain by its moisture and of the tun, from the first balance:
        // strike water, grain at its temperature, tun at its own.
        let strike_kg = heat.strike_water.l() * per_l;
        let first_c = points[0].1;
        let tun_kg = plan.kit.tun_heat_capacity.kg();
        let brought = strike_kg * (heat.strike_temperature.c() - first_c);
        let tun_took = tun_kg * (first_c - plan.mash.tun.c());
        let grain_kg = (brought - tun_took) / (first_c - plan.mash.grain.c());
        prop_assert!((0.37..0.43).contains(&(grain_kg / grain)), "{}", grain_kg / grain);
        let mut holds = strike_kg + grain_kg + tun_kg;
        let (mut energy, mut steam_kg) = (holds * first_c, 0.0);
        for step in &heat.steps {
            match step.change {
                wort::Change::BoilingWater(water) => {
                    let kg = water.l() * per_l;
                    holds += kg;
                    energy += kg * boils_c;
                }
                wort::Change::Heat => energy += kg_k(step.heat),
                wort::Change::Decoction(pull) => {
                    let steam = pull.steam.kg();
                    let latent = steam * latent_kj_per_kg(boils_c) / 4.187;
                    energy += kg_k(step.heat) - latent - steam * boils_c;
                    holds -= steam;
                    steam_kg += steam;
                    prop_assert!((0.0..=1.0).contains(&pull.of_liquor.ratio()));
                    prop_assert!((0.0..=1.0).contains(&pull.of_grain.ratio()));
                }
            }
        }
        energy += kg_k(heat.holding) - kg_k(heat.lost);
        let ends = holds * heat.ends.c();
        prop_assert!((energy - ends).abs() < 1e-6 * ends, "{energy} against {ends}: {heat:?}");
        let steam_out = v.ledger.water_out.iter().find(|e| e.name == "steam of decoctions").unwrap();
        prop_assert!((steam_out.mass.kg() - steam_kg).abs() < 1e-9 * (1.0 + steam_kg));
        let full = v.mash_liquor.l() * per_l + grain_kg + tun_kg;
        let loses = full / (tau_h * 60.0);
        let room_c = plan.kit.room.c();
        // Straight pieces of ten minutes are longer than the curve by a little; and no
        // loss is counted while something is poured in.
        let above: f64 = points.windows(2).map(|w| (w[1].0 - w[0].0) * (f64::midpoint(w[0].1, w[1].1) - room_c)).sum();
        let poured_min = 2.0 * heat.steps.iter().filter(|s| s.change != wort::Change::Heat).count() as f64;
        let lost = kg_k(heat.lost);
        prop_assert!(lost <= loses * above * 1.0001 + 1e-9, "{lost} against {}", loses * above);
        prop_assert!(lost >= loses * (above - poured_min * (boils_c - room_c)) * 0.98 - 1e-9, "{lost} against {}", loses * above);
    }

    #[test]
    fn the_stream_stays_finite(plan in any_plan()) {
        if let Some((_, out)) = brewed(&plan) {
            let w = &out.wort;
            for x in [
                w.volume.l(), w.gravity.plato(), w.ph.ph(), w.colour.ebc(), w.bitterness.ibu(),
                w.attenuation_limit.ratio(), w.traces.smm.mg_per_l(), w.traces.dms.mg_per_l(),
                w.traces.fan.mg_per_l(), w.traces.ferulic_acid.mg_per_l(),
                w.carbohydrates.dextrin.mg_per_l(), w.carbohydrates.maltose.mg_per_l(),
            ] {
                prop_assert!(x.is_finite() && x >= 0.0, "{out:?}");
            }
        }
    }

    /// The boil drives off water and no extract.
    #[test]
    fn the_boil_keeps_extract(plan in any_plan()) {
        if let Some((_, Boiled { report, .. })) = brewed(&plan) {
            let (before, after) = (report.pre_boil, report.post_boil);
            prop_assert!((before.extract.kg() - after.extract.kg()).abs() < 1e-9 * before.extract.kg());
            let steam = before.water.kg() - after.water.kg();
            prop_assert!((steam - report.evaporated.kg()).abs() < 1e-9 * before.water.kg());
        }
    }

    /// Heat that is drawn comes to the boil, leaves as steam or is lost, where the
    /// steam is what the power drives off; and the timeline ends in what is reported.
    #[test]
    fn heat_and_timeline_close(
        plan in any_plan(), kw_per_l in 0.05..0.5f64, lost_share in 0.0..0.3f64, escapes in 0.1..1.0f64,
    ) {
        let mut plan = plan;
        let power = Power::from_kw(kw_per_l * plan.into_fermenter.l());
        let loss = Power::from_kw(lost_share * power.kw());
        plan.kit.evaporation = evaporation_by_power(power, loss, plan.kit.altitude).unwrap();
        plan.kit.heat_loss = loss;
        plan.kit.power = Some(power);
        if let Some(boiled) = sweet(&plan).and_then(|sweet| boil(&plan, &sweet).ok()) {
            let heat = boiled.report.heat;
            let used = heat.to_boil.kwh() + heat.steam.kwh() + heat.lost.unwrap().kwh();
            prop_assert!((heat.drawn.unwrap().kwh() / used - 1.0).abs() < 1e-9, "{heat:?}");
            prop_assert!((heat.power_at_boil.kw() / power.kw() - 1.0).abs() < 1e-9);
            let course = &boiled.report.timeline;
            prop_assert!(course.windows(2).all(|w| w[0].time <= w[1].time && w[1].volume.l() <= w[0].volume.l() + 1e-9));
            let (first, last) = (&course[0], &course[course.len() - 1]);
            prop_assert!((first.time.min() + heat.heat_up.unwrap().min()).abs() < 1e-9);
            prop_assert!((last.iso_alpha[0].mg_per_l() - boiled.report.hops[0].iso_alpha.mg_per_l()).abs() < 1e-9);
            prop_assert!((last.volume.l() / boiled.report.post_boil.volume.l() - 1.0).abs() < 1e-9);
            for hop in &boiled.report.hops {
                let lost: f64 = hop.lost.iter().map(|l| l.mg_per_l()).sum();
                prop_assert!(lost <= hop.iso_alpha.mg_per_l() + 1e-9);
            }
        }
        plan.kit.steam_escapes = Fraction::from_ratio(escapes);
        if let Some(out) = sweet(&plan).and_then(|sweet| boil(&plan, &sweet).ok()) {
            let open = plan.kit.evaporation.kg_per_h() * plan.boil.duration.h();
            prop_assert!((out.report.evaporated.kg() - open * escapes).abs() < 1e-9 * open.max(1.0));
        }
    }

    /// Sulfur is neither made nor lost over boil, stand and chiller.
    #[test]
    fn the_boil_keeps_sulfur(plan in any_plan()) {
        if let Some((sweet, out)) = brewed(&plan) {
            let concentrated = out.report.pre_boil.volume.l() / out.report.post_boil.volume.l();
            let diluted = 1.0 - out.wort.ions.calcium.mg_per_l() / 50.0;
            let start = sweet.traces.smm.mg_per_l() * concentrated;
            let end = (out.wort.traces.smm.mg_per_l() + out.wort.traces.dms.mg_per_l()) / diluted;
            // Top-up water and wort do not add to the millilitre; the dilution is
            // read off the calcium that only the top-up water brought.
            prop_assert!(((end + out.report.dms_stripped.mg_per_l()) / start - 1.0).abs() < 5e-3);
        }
    }

    /// The richer and the longer, the bitterer, up to the time at which losses win
    /// (149 min at 100 °C).
    #[test]
    fn bitterness_grows_with_time_and_mass(
        g in 1.0..100.0f64, more in 1.0..3.0f64, min in 0.0..60.0f64, later in 0.0..60.0f64,
    ) {
        let base = plan(Sparge::None, 20.0, vec![GristItem {
            fermentable: malts::find("pilsner malt").unwrap(), mass: Mass::from_kg(4.5),
        }]);
        let sweet = sweet(&base).unwrap();
        let ibu = |g: f64, min: f64| {
            let mut plan = base.clone();
            plan.boil.duration = Duration::from_min(130.0);
            plan.kit.hop_absorption = VolumePerMass::from_l_per_kg(0.0);
            plan.hops = vec![HopAddition {
                name: "hop".into(),
                alpha: Fraction::from_ratio(0.06),
                alpha_sd: None,
                form: None,
                mass: Mass::from_g(g),
                when: HopTime::Boil(Duration::from_min(min)),
            }];
            boil(&plan, &sweet).unwrap().wort.bitterness.ibu()
        };
        prop_assert!(ibu(g, min + later) >= ibu(g, min) - 1e-9);
        let (once, again) = (ibu(g, min), ibu(g * more, min));
        prop_assert!(again >= once - 1e-9 && again <= once * more * (1.0 + 1e-9) + 1e-9);
        // In proportion while all of it dissolves: 25 g at 6 % are far under 250 mg/L.
        let few = ibu(g / 8.0 * more / 3.0, min);
        prop_assert!((few * 24.0 / more - ibu(g / 8.0, min) * 8.0).abs() < 1e-9 * once.max(1.0) * 24.0);
    }

    /// The hotter the mash from 65 °C up, the less ferments.
    #[test]
    fn limit_of_attenuation_falls_with_mash_temperature(low in 65.0..80.0f64, step in 0.1..5.0f64) {
        let limit = |c: f64| {
            let mut plan = plan(Sparge::None, 20.0, vec![GristItem {
                fermentable: malts::find("pilsner malt").unwrap(), mass: Mass::from_kg(4.5),
            }]);
            plan.mash.rests[0].temperature = Temperature::from_c(c);
            brewed(&plan).unwrap().1.wort.attenuation_limit.ratio()
        };
        prop_assert!(limit((low + step).min(82.0)) <= limit(low) + 1e-9);
    }

    /// Nothing that a form could hand over makes it panic.
    #[test]
    fn hostile_numbers_are_refused_or_survived(
        litres in prop_oneof![Just(f64::NAN), Just(0.0), Just(-1.0), Just(1e300), 0.01..1e5f64],
        kg in prop_oneof![Just(f64::NAN), Just(0.0), Just(-1.0), Just(1e300), 0.0..1e5f64],
        thickness in prop_oneof![Just(f64::NAN), Just(0.0), 0.1..30.0f64],
        evaporation in prop_oneof![Just(f64::INFINITY), Just(-1.0), 0.0..1e4f64],
        gravity in prop_oneof![Just(f64::NAN), Just(-5.0), 0.0..80.0f64],
    ) {
        let mut plan = plan(Sparge::Continuous, litres, vec![GristItem {
            fermentable: malts::find("pilsner malt").unwrap(), mass: Mass::from_kg(kg),
        }]);
        plan.mash.thickness = VolumePerMass::from_l_per_kg(thickness);
        plan.kit.evaporation = EvaporationRate::from_kg_per_h(evaporation);
        if let Ok(v) = volumes(&plan) {
            prop_assert!(v.total_water.l().is_finite());
            if let Ok(out) = mash(&plan, &v, &pure(), &pure(), Ph::from_ph(5.4)) {
                let mut sweet = out.wort;
                sweet.gravity = Gravity::from_plato(gravity);
                if let Ok(out) = boil(&plan, &sweet) {
                    prop_assert!(out.wort.gravity.plato().is_finite());
                }
            }
        }
    }
}

/// The laws above are put to the test: most random plans can be brewed.
#[test]
fn most_random_plans_can_be_brewed() {
    use proptest::strategy::ValueTree;
    use proptest::test_runner::TestRunner;
    let mut runner = TestRunner::deterministic();
    let brewable = (0..200)
        .filter(|_| brewed(&any_plan().new_tree(&mut runner).unwrap().current()).is_some())
        .count();
    assert!(brewable > 130, "{brewable} of 200");
}
