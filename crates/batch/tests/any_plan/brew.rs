//! Random kits, grists, mashes, boils and hops.

use proptest::prelude::*;
use wort::malts::Kind;
use wort::{hops, malts};

use super::{Frame, line, some_line};

pub fn kit(litres: f64) -> impl Strategy<Value = String> {
    let losses = (0.0..0.06f64, 0.0..0.06f64, 0.0..0.02f64);
    let whole = (0.04..0.25f64, 0.0..1500.0f64, 85.0..100.0f64, 0.5..1.4f64);
    (losses, whole, 1..11u32, prop::option::of(0.6..3.0f64)).prop_map(
        move |((dead, kettle, hoses), (steam, m, conversion, absorption), stages, capacity)| {
            let mut t = "[kit]\n".to_owned();
            let l = |share: f64| format!("{:.2} L", share * litres);
            line(&mut t, "altitude", format!("{m:.0} m"));
            line(&mut t, "conversion", format!("{conversion:.1} %"));
            line(&mut t, "absorption", format!("{absorption:.2} L/kg"));
            line(&mut t, "tun_dead_space", l(dead));
            line(&mut t, "kettle_loss", l(kettle));
            line(&mut t, "transfer_loss", l(hoses));
            line(&mut t, "evaporation", format!("{:.2} kg/h", steam * litres));
            line(&mut t, "lauter_stages", stages);
            some_line(&mut t, "kettle_capacity", capacity.map(l));
            t
        },
    )
}

/// A base malt and up to four things beside it; now and then malt extract and
/// sugar alone.
pub fn grist(litres: f64) -> impl Strategy<Value = String> {
    let strength = 0.12..0.34f64;
    let base = prop::sample::select(vec![
        "pilsner malt",
        "pale ale malt",
        "Vienna malt",
        "Munich malt, light",
        "wheat malt",
    ]);
    let beside = prop::collection::vec((0..malts::all().len(), 0.01..0.15f64), 0..5);
    let grain = (strength.clone(), base, beside).prop_map(move |(kg_per_l, base, beside)| {
        let taken: f64 = beside.iter().map(|(_, share)| share).sum();
        let mut t = item(base, kg_per_l * litres * (1.0 - taken));
        for (which, share) in beside {
            t.push_str(&item(&malts::all()[which].name, kg_per_l * litres * share));
        }
        t
    });
    let extract = (strength, 0.0..0.3f64).prop_map(move |(kg_per_l, sugar)| {
        let kg = 0.7 * kg_per_l * litres;
        item(extract_name(), kg * (1.0 - sugar)) + &item("sucrose", kg * sugar + 0.01)
    });
    prop_oneof![9 => grain, 1 => extract]
}

fn extract_name() -> &'static str {
    malts::all()
        .iter()
        .find(|m| m.kind == Kind::MaltExtract)
        .map_or("dried malt extract", |m| m.name.as_str())
}

fn item(class: &str, kg: f64) -> String {
    let mut t = "[[grist]]\n".to_owned();
    line(&mut t, "class", class);
    line(&mut t, "amount", format!("{kg:.4} kg"));
    t
}

pub fn mash(sparge: usize) -> impl Strategy<Value = String> {
    let shape = (2.2..4.5f64, 10.0..25.0f64, 72.0..80.0f64, 1..5u32);
    let rest = (3.0..14.0f64, 10.0..80.0f64);
    let stepping = prop::sample::select(vec![
        "infusion",
        "heat",
        "decoction",
        "thick decoction",
        "thin decoction",
    ]);
    (
        shape,
        60.0..68.0f64,
        prop::collection::vec(rest, 1..4),
        stepping,
    )
        .prop_map(
            move |((thickness, grain, sparge_c, steps), first, rests, stepping)| {
                let mut t = "[mash]\n".to_owned();
                line(&mut t, "thickness", format!("{thickness:.2} L/kg"));
                line(&mut t, "grain_temperature", format!("{grain:.1} °C"));
                line(&mut t, "stepping", stepping);
                line(&mut t, "sparge", ["none", "batch", "continuous"][sparge]);
                line(&mut t, "sparge_steps", steps);
                line(&mut t, "sparge_temperature", format!("{sparge_c:.1} °C"));
                let mut c = first;
                for (rise, min) in rests {
                    t.push_str("[[mash.rest]]\n");
                    line(&mut t, "temperature", format!("{:.1} °C", c.min(78.0)));
                    line(&mut t, "time", format!("{min:.0} min"));
                    c += rise;
                }
                t
            },
        )
}

/// A boil, and up to four hops that fit into it.
pub fn boil_and_hops(frame: Frame) -> impl Strategy<Value = String> {
    let (litres, chilled_c) = (frame.litres, super::cellar::start_c(frame));
    let hop = (
        0..hops::all().len(),
        0.1..3.0f64,
        prop::option::of(2.0..18.0f64),
        0..5usize,
        0.0..1.0f64,
        60.0..90.0f64,
    );
    let hops = prop::collection::vec(hop, 0..5);
    (30.0..120.0f64, 0.0..60.0f64, hops).prop_map(move |(boil_min, rest_min, all)| {
        let (boil_min, rest_min) = (boil_min.round(), rest_min.round());
        let mut t = "[boil]\n".to_owned();
        line(&mut t, "time", format!("{boil_min:.0} min"));
        line(&mut t, "whirlpool", format!("{rest_min:.0} min"));
        line(&mut t, "chilled_to", format!("{chilled_c:.1} °C"));
        for (which, g_per_l, alpha, used, part, c) in all {
            t.push_str("[[hop]]\n");
            line(&mut t, "hop", &hops::all()[which].name);
            line(&mut t, "amount", format!("{:.2} g", g_per_l * litres));
            some_line(&mut t, "alpha", alpha.map(|a| format!("{a:.1} %")));
            let min = |length: f64| format!("{:.0} min", (part * length).floor());
            let (word, time) = match used {
                0 => ("first wort", None),
                1 => ("boil", Some(min(boil_min))),
                2 => ("whirlpool", Some(min(rest_min))),
                3 => ("stand", Some(min(40.0))),
                _ => ("dry", None),
            };
            line(&mut t, "used", word);
            some_line(&mut t, "time", time);
            some_line(
                &mut t,
                "temperature",
                (used == 3).then(|| format!("{c:.0} °C")),
            );
        }
        t
    })
}
