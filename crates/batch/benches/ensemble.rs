//! Ten thousand draws of a whole stream, and an ensemble of the same batch in SciPy.
//!
//! `cargo bench -p gylewright-batch --bench ensemble`
//!
//! Ours is the whole: each draw takes the document with its doubts drawn, runs every stage
//! from tap to glass and keeps thirty figures. The peer has only what costs most there, in
//! plain Python over SciPy: the pH of the mash by `brentq`; mash, boil and chiller, and the
//! fermentation by LSODA, the last at the tolerances of ours, the others at those at which
//! the bench of mash and boil finds it as exact as ours. Water, volumes, heat, colour, package
//! and glass, and the document, would come on top, so the ratio is the least that it can be.
//!
//! Both are told in processor time a draw, which other work on the machine hardly moves. The
//! peer makes fewer draws.
//!
//! Measured on two cores with nothing else on them, 2026-11: ten thousand draws in 1.2 s by
//! the clock, 2.3 s of processor time; the peer 11.8 ms a draw: 50 times, and 100 by the
//! clock, as the peer runs on one core. The goal of 200 is not met. Three fifths of a draw
//! are the course of the fermentation (some 115 explicit and 22 implicit steps), and with a
//! course that costs nothing the rest, some tenth of a millisecond, would still be too much.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a bench prints, and stops where it cannot go on"
)]

use std::io::Write;
use std::process::{Command, Stdio};
use std::time::Instant;

use batch::certainty::{Certainty, Question, certainty};
use batch::{Document, Reckoning};
use quantity::density::{
    beer_specific_gravity, plato_from_specific_gravity, pure_ethanol_density, sucrose_density,
};
use serde_json::{Value, json};
use wort::Chilling;
use wort::alcohol::{CO2_PER_ETHANOL, EXTRACT_PER_ETHANOL, YEAST_PER_ETHANOL};

const TEXT: &str = include_str!("../../../examples/lantern-pale.toml");
const DRAWS: usize = 10_000;
const PEER_DRAWS: usize = 64;
/// Of the speed of a yeast from batch to batch (data/certainty.toml).
const SPEED_LN_SD: f64 = 0.30;

fn main() {
    let cores = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let (began, spent) = (Instant::now(), processor_s());
    let sure = drawn();
    let (wall, ours) = (began.elapsed().as_secs_f64(), processor_s() - spent);
    println!(
        "{DRAWS} draws of the whole stream: {ours:.2} s of processor time, {wall:.2} s by the clock on {cores} cores",
    );
    let (document, assumptions) = Document::read(TEXT).expect("a demo reads");
    let plan = Reckoning::of(document, assumptions).expect("a demo reckons");
    match peer(&plan) {
        Ok(rows) => {
            let [a_draw, middle, mean, sd]: [Vec<f64>; 4] =
                rows.try_into().expect("the peer tells four rows");
            let a_draw = a_draw[0];
            println!(
                "SciPy, what costs most of it: {:.1} ms a draw, ours {:.3} ms for the whole: {:.0} times",
                1e3 * a_draw,
                1e3 * ours / DRAWS as f64,
                a_draw * DRAWS as f64 / ours
            );
            println!(
                "by the clock, on {cores} cores beside one of the peer: {:.0} times",
                a_draw * DRAWS as f64 / wall
            );
            told(&plan, &sure, [&middle, &mean, &sd]);
        }
        Err(reason) => println!("scipy was not run: {reason}"),
    }
}

fn drawn() -> Certainty {
    let question = Question {
        draws: DRAWS,
        points: 0,
        seed: 1,
    };
    certainty(TEXT, &question, &|_, _| true).expect("a demo can be drawn")
}

/// That both reckon the same batch: the pH of the mash and the limit of attenuation.
fn told(plan: &Reckoning, sure: &Certainty, [middle, mean, sd]: [&[f64]; 3]) {
    let conversion = plan.mash.conversion.as_ref().expect("a mash");
    let ph = sure.figure("mash_ph").expect("a pH");
    println!(
        "mash pH: ours {:.4} ± {:.4}, SciPy {:.4}, drawn {:.4} ± {:.4}; limit of attenuation at the middles: ours {:.5}, SciPy {:.5}",
        ph.reckoned,
        ph.sd,
        middle[0],
        mean[0],
        sd[0],
        conversion.limit.value.ratio(),
        middle[1],
    );
}

/// Time that the processor spent for this process \[s\]; not a number where the system does
/// not tell.
fn processor_s() -> f64 {
    let ticks = || -> Option<f64> {
        let stat = std::fs::read_to_string("/proc/self/stat").ok()?;
        let (_, behind) = stat.rsplit_once(')')?;
        let mut fields = behind.split_whitespace().skip(11);
        let mut next = || fields.next()?.parse::<f64>().ok();
        Some(next()? + next()?)
    };
    // Linux counts in hundredths of a second for every program that reads them.
    ticks().map_or(f64::NAN, |ticks| ticks / 100.0)
}

fn peer(plan: &Reckoning) -> Result<Vec<Vec<f64>>, String> {
    let told = |e: std::io::Error| e.to_string();
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/../..");
    let setup = Command::new(format!("{root}/tests/reference/setup"))
        .output()
        .map_err(told)?;
    let python = String::from_utf8_lossy(&setup.stdout).trim().to_owned();
    let script = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/reference/ensemble_scipy.py"
    );
    let mut child = Command::new(python)
        .arg(script)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .map_err(told)?;
    let mut into = child.stdin.take().ok_or("no way in")?;
    into.write_all(asked(plan).to_string().as_bytes())
        .map_err(told)?;
    drop(into);
    let out = child.wait_with_output().map_err(told)?;
    if !out.status.success() {
        return Err("the peer failed".to_owned());
    }
    let row = |line: &str| line.split_whitespace().map(str::parse).collect();
    let rows: Result<Vec<Vec<f64>>, _> = String::from_utf8_lossy(&out.stdout)
        .lines()
        .map(row)
        .collect();
    rows.map_err(|e| e.to_string())
}

/// The middles and spreads of a batch.
fn asked(plan: &Reckoning) -> Value {
    let mut asked = json!({ "draws": PEER_DRAWS, "rtol": 1e-7, "speed_ln_sd": SPEED_LN_SD });
    for part in [of_mash(plan), of_boil(plan), of_fermentation(plan)] {
        if let (Value::Object(all), Value::Object(part)) = (&mut asked, part) {
            all.extend(part);
        }
    }
    asked
}

fn of_mash(plan: &Reckoning) -> Value {
    let mash_ph = plan.mash_ph.as_ref().expect("a mash");
    let buffering = plan.wort_plan.grist.iter().filter_map(|item| {
        let malt = &item.fermentable;
        let meq = item.mass.kg() * malt.buffering?.value.meq_per_kg_ph();
        Some([meq, malt.mash_ph?.value.ph()])
    });
    let liquor = &plan.water.mash_liquor;
    let acid = liquor.acids.first().expect("an acid");
    let course = plan.mash.course.as_ref().expect("a mash");
    let points = course.points();
    let points = points.into_iter().map(|(at, c)| [at.min(), c.c()]);
    json!({
        "malts": buffering.collect::<Vec<_>>(),
        "base_meq": liquor.volume.l() * mash_ph.residual_alkalinity.meq_per_l(),
        "acid_mmol": 1000.0 * acid.product.mol(acid.amount).expect("an amount"),
        "acid_pk": acid.product.acid.pka[0],
        "ph_sd": mash_ph.ph.sd(),
        "mash": points.collect::<Vec<_>>(),
        "lintner": plan.mash.diastatic_power.expect("malt").lintner(),
        "l_per_kg": plan.volumes.thickness.l_per_kg(),
    })
}

fn of_boil(plan: &Reckoning) -> Value {
    let (kit, report) = (&plan.wort_plan.kit, &plan.boil.report);
    let kg = |amount: &wort::WortAmount| amount.water.kg() + amount.extract.kg();
    let mean_kg = f64::midpoint(kg(&report.pre_boil), kg(&report.post_boil));
    let hops = plan.document.hops.iter();
    let hops = hops.filter_map(|hop| Some(hop.time?.value.min()));
    let boil = &plan.wort_plan.boil;
    let (room, tau) = (kit.room.c(), kit.kettle_time_constant.min());
    let stands = boil.whirlpool.min();
    let hot = room + (report.boiling_point.c() - room) * (-stands / tau).exp();
    let Chilling::Newton {
        time_constant,
        coolant,
    } = kit.chilling
    else {
        panic!("the chiller of the demo cools by Newton's law");
    };
    let over = |c: f64| c - coolant.c();
    let chills = time_constant.min() * (over(hot) / over(boil.chill_to.c())).ln();
    json!({
        "boils_c": report.boiling_point.c(),
        "boil_min": boil.duration.min(),
        "hops_min": hops.collect::<Vec<_>>(),
        "strips": 0.18 * kit.evaporation.kg_per_h() / mean_kg / 0.17,
        "cools": [[room, tau, stands], [coolant.c(), time_constant.min(), chills]],
    })
}

fn of_fermentation(plan: &Reckoning) -> Value {
    let (wort, fermented) = (&plan.boil.wort, &plan.fermentation);
    let strain = ferment::strain(&plan.document.yeast.class).expect("a strain");
    let plato = wort.gravity.plato();
    let total = fermented_at(plato, fermented.expected_gravity.plato());
    let c = &wort.carbohydrates;
    let sugars = [c.simple, c.maltose, c.maltotriose].map(quantity::MassConcentration::mg_per_l);
    let whole: f64 = sugars.iter().sum();
    let pitched = fermented.pitch.at_hand;
    let limit = plan.mash.attenuation_limit.expect("a mash");
    let end = fermented.course.last().expect("a course");
    let knots = plan.document.fermentation.course.iter();
    let knots = knots.map(|p| [p.at.value.h(), p.temperature.value.c()]);
    json!({
        "class": plan.document.yeast.class,
        "dry": true,
        "working_low": strain.working.low.c(),
        "tolerance": strain.tolerance.ratio() * pure_ethanol_density(),
        "later": 1.0 + 2.0 * (1.0 - fermented.pitch.viability.ratio()),
        "sugars": sugars.map(|s| s / whole * total),
        "sugar_sd": limit.sd() / limit.value.ratio(),
        "pitched": pitched.value.billions() / wort.volume.l(),
        "pitched_sd": pitched.sd() / pitched.value.billions(),
        "oxygen": fermented.oxygen.dissolved.mg_per_l(),
        "fan": wort.traces.fan.mg_per_l(),
        "wort_ph": wort.ph.ph(),
        "beer_ph": end.ph.ph(),
        "course": knots.collect::<Vec<_>>(),
    })
}

/// Extract fermented \[g per L of wort\] at an apparent extract \[°P\], by halving.
fn fermented_at(original_plato: f64, apparent_plato: f64) -> f64 {
    let grams = sucrose_density(original_plato / 100.0, 20.0);
    let apparent = |fermented: f64| {
        let per_100_g = fermented / grams * 100.0;
        let ethanol = per_100_g / EXTRACT_PER_ETHANOL;
        let mass = 100.0 - ethanol * (CO2_PER_ETHANOL + YEAST_PER_ETHANOL);
        let real = (original_plato - per_100_g) / mass;
        plato_from_specific_gravity(beer_specific_gravity(real, ethanol / mass))
    };
    let (mut low, mut high) = (0.0, grams * original_plato / 100.0);
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if apparent(middle) > apparent_plato {
            low = middle;
        } else {
            high = middle;
        }
    }
    f64::midpoint(low, high)
}
