//! Random yeasts, courses and packages.

use package::{Container, ContainerKind, Sugar};
use proptest::prelude::*;

use super::{Frame, line, some_line};

/// Where the course starts and the chiller ends \[°C\].
pub fn start_c(frame: Frame) -> f64 {
    let range = &ferment::strains()[frame.strain].working;
    range.low.c() + frame.warmth * (range.high.c() - range.low.c())
}

pub fn yeast_and_course(frame: Frame) -> impl Strategy<Value = String> {
    (yeast(frame), course(frame)).prop_map(|(yeast, course)| yeast + &course)
}

fn yeast(frame: Frame) -> impl Strategy<Value = String> {
    let litres = frame.litres;
    let age = (0.0..1.0f64, 1.0..8.0f64);
    let options = (
        prop::option::of(0.5..4.0f64),
        prop::option::of(0.3..1.6f64),
        prop::option::of(68.0..84.0f64),
        any::<bool>(),
    );
    (0..3usize, 0.3..2.5f64, age, options).prop_map(
        move |(form, fold, (age, stored_c), (starter_l, rate, attenuation, stirred))| {
            let mut t = "[yeast]\n".to_owned();
            line(&mut t, "class", &ferment::strains()[frame.strain].name);
            line(&mut t, "form", ["dry", "liquid", "slurry"][form]);
            // About as much as a wort of 12 °P takes.
            let enough = fold * litres / 20.0;
            match form {
                0 => {
                    line(&mut t, "packets", format!("{:.1}", (2.0 * enough).max(0.1)));
                    line(&mut t, "packet_mass", "11.5 g");
                }
                1 => {
                    line(&mut t, "packets", format!("{:.1}", (1.5 * enough).max(0.1)));
                    line(&mut t, "cells", "200 billion cells");
                }
                _ => line(&mut t, "slurry", format!("{:.0} mL", 200.0 * enough)),
            }
            // Dry yeast keeps for years, a liquid packet for months, slurry for weeks.
            let keeps_d = [700.0, 120.0, 20.0][form];
            line(&mut t, "age", format!("{:.0} d", age * keeps_d));
            line(&mut t, "stored_at", format!("{stored_c:.0} °C"));
            let wort = starter_l.map(|l| format!("{l:.1} L"));
            if !stirred {
                some_line(&mut t, "starter", wort.clone());
            }
            some_line(
                &mut t,
                "pitch_rate",
                rate.map(|r| format!("{r:.2} million/mL/°P")),
            );
            some_line(
                &mut t,
                "attenuation",
                attenuation.map(|a| format!("{a:.0} ± 2 %")),
            );
            if rate.is_none() {
                line(&mut t, "aim", ["usual", "clean", "very dry"][form]);
            }
            if let (true, Some(wort)) = (stirred, wort) {
                t.push_str("[[yeast.step]]\n");
                line(&mut t, "volume", wort);
                line(&mut t, "way", "stirred");
            }
            t
        },
    )
}

/// Two to five points that drift from the start, and now and then a crash.
fn course(frame: Frame) -> impl Strategy<Value = String> {
    let step = (0.5..8.0f64, -3.0..4.0f64);
    let aeration = prop::sample::select(vec!["none", "shaking", "air", "oxygen"]);
    (
        aeration,
        0.2..10.0f64,
        prop::collection::vec(step, 1..5),
        any::<bool>(),
    )
        .prop_map(move |(aeration, min, steps, crash)| {
            let mut t = "[fermentation]\n".to_owned();
            line(&mut t, "aeration", aeration);
            line(&mut t, "aeration_time", format!("{min:.1} min"));
            let (mut d, mut c) = (0.0, start_c(frame));
            point(&mut t, d, c);
            for (days, change) in steps {
                d += days;
                c = (c + change).clamp(2.0, 40.0);
                point(&mut t, d, c);
            }
            if crash {
                point(&mut t, d + 1.0, 2.0);
                point(&mut t, d + 5.0, 2.0);
            }
            t
        })
}

fn point(table: &mut String, days: f64, celsius: f64) {
    table.push_str("[[fermentation.course]]\n");
    line(table, "at", format!("{days:.2} d"));
    line(table, "temperature", format!("{celsius:.1} °C"));
}

pub fn package() -> impl Strategy<Value = String> {
    let common = (
        1.5..3.6f64,
        0..Sugar::all().len(),
        15.0..34.0f64,
        0.05..1.5f64,
    );
    (prop::option::of(bottles()), common, any::<bool>()).prop_map(
        |(bottles, (vol, sugar, warmest_c, loss_l), other_gas)| {
            let mut t = "[package]\n".to_owned();
            let (vessel, gas) = match (&bottles, other_gas) {
                (Some(_), false) => ("bottles", "priming"),
                (Some(_), true) => ("bottles", "cylinder"),
                (None, false) => ("keg", "cylinder"),
                (None, true) => ("keg", "priming"),
            };
            line(&mut t, "vessel", vessel);
            line(&mut t, "gas", gas);
            t.push_str(&bottles.unwrap_or_default());
            line(&mut t, "carbon_dioxide", format!("{vol:.2} vol"));
            line(&mut t, "sugar", &Sugar::all()[sugar].key);
            line(&mut t, "warmest_storage", format!("{warmest_c:.0} °C"));
            line(&mut t, "loss", format!("{loss_l:.2} L"));
            t
        },
    )
}

/// Any class of bottle or can; some are refused, as they do not bear pressure.
fn bottles() -> impl Strategy<Value = String> {
    let classes: Vec<&str> = Container::all()
        .iter()
        .filter(|c| c.kind != ContainerKind::Keg)
        .filter(|c| c.kind != ContainerKind::NotForPressure || c.key == "growler")
        .map(|c| c.key.as_str())
        .collect();
    (prop::sample::select(classes), 250.0..760.0f64, 2.0..7.0f64).prop_map(
        |(class, ml, percent)| {
            let mut t = String::new();
            line(&mut t, "bottle", class);
            line(&mut t, "bottle_volume", format!("{ml:.0} mL"));
            line(
                &mut t,
                "head_space",
                format!("{:.0} mL", ml * percent / 100.0),
            );
            t
        },
    )
}
