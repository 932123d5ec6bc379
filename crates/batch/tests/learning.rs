//! What is learned of a house, against a general-purpose sampler and on houses whose
//! constants are known.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

#[path = "learning/houses.rs"]
mod houses;

use batch::learning::{
    Constant, Forget, Prior, Seen, Taught, changes, constants, house, season_values, seasons,
    taken_out, values,
};
use batch::log::{LogReading, What};
use batch::watch::{Moments, Watched};
use batch::{Document, Reckoning};
use houses::{Rng, simulated};

const PALE: &str = include_str!("../../../examples/lantern-pale.toml");

fn reckoned(text: &str) -> Reckoning {
    let (document, assumptions) = Document::read(text).unwrap_or_else(|f| panic!("{}", f[0]));
    Reckoning::of(document, assumptions).unwrap_or_else(|f| panic!("{f}"))
}

/// A batch of the pale with a brew day whose boil was so hard.
fn brewed(name: &str, end_of_boil_l: f64) -> String {
    let read = format!(
        "\n[[brew_day.reading]]\nat = \"kettle full\"\nvolume = \"27.6 ± 0.2 L\"\nvolume_at = \"90 °C\"\ngravity = \"1.0425 ± 0.001\"\n\
         \n[[brew_day.reading]]\nat = \"end of boil\"\nvolume = \"{end_of_boil_l} ± 0.2 L\"\nvolume_at = \"95 °C\"\n"
    );
    PALE.replacen(
        "\"Lantern Pale, second brewing\"",
        &format!("\"{name}\""),
        1,
    ) + &read
}

fn taught(id: &str, text: &str) -> Taught {
    Taught::of(id, &reckoned(text), &[])
}

/// emcee 3.1.6 (64 walkers of 16 000 steps, some seven thousand independent draws) and
/// SciPy 1.17 (`dblquad`); the script is `tests/reference/learning.py`.
#[test]
fn a_house_of_eight_batches_is_as_a_general_sampler_has_it() {
    let prior = Prior {
        mean: 3.0f64.ln(),
        sd: 0.17,
        apart: 0.06,
        apart_ln_sd: 0.5,
    };
    let read = [
        (3.45, 0.03),
        (3.62, 0.05),
        (3.30, 0.02),
        (3.81, 0.08),
        (3.55, 0.04),
        (3.40, 0.10),
        (3.66, 0.03),
        (2.90, 0.15),
    ];
    let seen = read.map(|(kg_per_h, sd): (f64, f64)| Seen {
        value: kg_per_h.ln(),
        sd,
        weight: 1.0,
    });
    let found = prior.after(&seen);
    let (mean, next, apart) = (found.house(), found.next(), found.apart());
    let near = |what: &str, got: f64, want: f64, within: f64| {
        assert!((got - want).abs() <= within, "{what}: {got} for {want}");
    };
    // By quadrature, to its printed digits.
    near("house", mean.mean(), 1.247_434_8, 2e-6);
    near("sd", mean.sd(), 0.025_090_3, 2e-6);
    near("apart", apart.0, 0.048_944_7, 2e-6);
    near("next sd", next.sd(), 0.058_001_7, 2e-6);
    // By sampling, to a few of its standard errors.
    let ((low, high), (low_next, high_next)) = (mean.interval(0.9), next.interval(0.9));
    for (what, got, want) in [
        ("house 5 %", low, 1.2069),
        ("house 95 %", high, 1.2883),
        ("next 5 %", low_next, 1.1542),
        ("next 95 %", high_next, 1.3415),
    ] {
        near(what, got, want, 0.0025);
    }
    near("apart sd", apart.1, 0.0185, 0.0006);
    let first = found.of_batch(&seen[0]);
    near("first batch", first.0, 1.2417, 0.001);
    near("first batch sd", first.1, 0.0258, 0.0008);
}

/// Twenty batches of each of five hundred houses: what is said to hold nine times in ten
/// holds nine times in ten, constant by constant, for what readings leave open of each.
#[test]
fn twenty_batches_hold_the_truth_nine_times_in_ten() {
    let read_to = [0.012, 0.12, 0.1, 0.15, 0.05, 0.15, 0.008, 0.1, 0.2];
    for (n, (constant, sd)) in Constant::ALL.into_iter().zip(read_to).enumerate() {
        let prior = constant.prior(None);
        let mut rng = Rng::seeded(900 + n as u64);
        let (mut of_house, mut of_next) = (0, 0);
        for _ in 0..500 {
            let mean = prior.mean + prior.sd * rng.normal();
            let apart = prior.apart * (prior.apart_ln_sd * rng.normal()).exp();
            let batch = |rng: &mut Rng| mean + apart * rng.normal();
            let seen: Vec<Seen> = (0..20)
                .map(|_| Seen {
                    value: batch(&mut rng) + sd * rng.normal(),
                    sd,
                    weight: 1.0,
                })
                .collect();
            let found = prior.after(&seen);
            let holds = |(low, high): (f64, f64), x: f64| usize::from((low..=high).contains(&x));
            of_house += holds(found.house().interval(0.9), mean);
            of_next += holds(found.next().interval(0.9), batch(&mut rng));
        }
        for (what, held) in [("house", of_house), ("next batch", of_next)] {
            let share = held as f64 / 500.0;
            let told = format!("{}, {what}: {share:.3}", constant.word());
            assert!((0.85..=0.95).contains(&share), "{told}");
        }
    }
}

/// The same from the brew day on: houses whose kit strays from its plan, brewed and read
/// with instruments that err, through the readings of a document.
#[test]
fn twenty_brew_days_hold_the_kit_nine_times_in_ten() {
    let plan = reckoned(PALE);
    let held = simulated(&plan, 200, 20);
    for (constant, count) in held {
        let share = count as f64 / 200.0;
        let told = format!("{}: {share:.3}", constant.word());
        assert!((0.85..=0.95).contains(&share), "{told}");
    }
}

#[test]
fn a_batch_without_readings_teaches_nothing() {
    assert!(!taught("a", PALE).says_something());
}

#[test]
fn batches_move_a_constant_and_each_says_by_how_much() {
    let texts = [
        brewed("one", 24.4),
        brewed("two", 24.6),
        brewed("three", 24.5),
    ];
    let all: Vec<Taught> = texts.iter().map(|t| taught("x", t)).collect();
    let of = reckoned(PALE).document;
    let known = house(&of, &all, Forget::Never);
    let steam = |known: &[batch::learning::Known]| {
        let found = known.iter().find(|k| k.constant == Constant::Evaporation);
        found.cloned().unwrap_or_else(|| panic!("steam was read"))
    };
    let three = steam(&known);
    assert_eq!(three.batches(), 3);
    // Leaving one out is what the trace says it is.
    for n in 0..3 {
        let mut others = all.clone();
        others.remove(n);
        let without = steam(&house(&of, &others, Forget::Never));
        let told = three.trace[n].otherwise;
        assert!((without.house.0 - told).abs() < 1e-9, "{n}: {told}");
    }
    // So does a document that says that it is left out, and it stays in the list.
    let mut leaked = all.clone();
    leaked[1] = taught(
        "x",
        &(texts[1].clone() + "\n[learning]\nleft_out = \"the tap leaked\"\n"),
    );
    let without = steam(&house(&of, &leaked, Forget::Never));
    assert_eq!((without.batches(), without.trace.len()), (2, 3));
    assert!((without.house.0 - three.trace[1].otherwise).abs() < 1e-9);
    assert!((without.trace[1].otherwise - three.house.0).abs() < 1e-9);
    // Forgetting at once leaves little but the last.
    let last = steam(&house(&of, &all[2..], Forget::Never));
    let forgot = steam(&house(&of, &all, Forget::Batches(0.05)));
    assert!((last.house.0 - forgot.house.0).abs() < 1e-4);
    // Another kit hears nothing of it.
    let other = PALE.replacen("3.2 ± 0.4 kg/h", "9.0 ± 1.0 kg/h", 1);
    let other = reckoned(&other).document;
    assert!(house(&other, &all, Forget::Never).is_empty());
}

#[test]
fn a_plan_takes_what_was_learned_and_gives_it_back() {
    let all: Vec<Taught> = [24.4, 24.6, 24.5]
        .iter()
        .map(|l| taught("x", &brewed("one", *l)))
        .collect();
    let text = PALE;
    let r = reckoned(text);
    let known = house(&r.document, &all, Forget::Never);
    let new = values(text, &r.document, &known).unwrap();
    assert!(new.iter().any(|v| v.key == "kit.evaporation"));
    let apply = |text: &str, changes: &[batch::liquor::minerals::Change]| {
        batch::liquor::minerals::apply(text, changes).unwrap_or_else(|e| panic!("{e}"))
    };
    let taken = apply(text, &changes(text, &r.document, &new, Forget::Never));
    let (document, assumptions) = Document::read(&taken).unwrap_or_else(|f| panic!("{}", f[0]));
    let told = assumptions
        .iter()
        .find(|a| a.path == "kit.evaporation")
        .unwrap();
    assert_eq!(told.source, "learned from 3 batches");
    // Nothing is learned twice: from the new document the house is the same.
    let again = house(&document, &all, Forget::Never);
    for (a, b) in known.iter().zip(&again) {
        assert!((a.house.0 - b.house.0).abs() < 1e-9, "{:?}", a.constant);
    }
    // Taken again, it says the same; taken out, it is what it was.
    let twice = values(&taken, &document, &again).unwrap();
    assert_eq!(
        apply(&taken, &changes(&taken, &document, &twice, Forget::Never)),
        taken
    );
    let back = apply(&taken, &taken_out(&taken, &document));
    let before = Document::read(text).unwrap().0;
    assert_eq!(Document::read(&back).unwrap().0, before);
    // One that a person changes is theirs.
    let own = batch::edit::set_value(&taken, "kit.evaporation", "4 kg/h").unwrap();
    let (document, assumptions) = Document::read(&own).unwrap();
    assert!(document.learning.of("kit.evaporation").is_none());
    assert!(!assumptions.iter().any(|a| a.path == "kit.evaporation"));
}

#[test]
fn batch_after_batch_is_held_against_what_was_said_before() {
    let all: Vec<Taught> = (0..8)
        .map(|n| taught("x", &brewed("one", 24.4 + 0.05 * f64::from(n % 3))))
        .collect();
    let of = reckoned(PALE).document;
    let check = constants(&of, &all, Forget::Never);
    let spoke: usize = all.iter().map(|t| t.evidence.len()).sum();
    assert_eq!(check.placed.len(), spoke);
    assert_eq!(check.tenths().iter().sum::<usize>(), spoke);
    assert!(check.placed.iter().all(|p| (0.0..=1.0).contains(&p.place)));
}

/// Readings of a hydrometer each twelve hours along the course that another plan reckons.
fn followed(truth: &Reckoning, instrument: &str) -> Vec<LogReading> {
    let reading = |h: f64, what: What, canonical: f64, instrument: &str| LogReading {
        instrument: instrument.to_owned(),
        what,
        at_ms: 1_773_500_400_000 + (h * 3_600_000.0) as i64,
        value: canonical,
        unit: what.canonical_unit(),
        canonical,
        raw: canonical.to_string(),
        lapsed_sd: 0.0,
    };
    let course = &truth.fermentation.course;
    let each = course.iter().step_by((course.len() / 24).max(1));
    each.flat_map(|m| {
        [
            reading(m.at.h(), What::Gravity, m.gravity.plato(), instrument),
            reading(m.at.h(), What::Temperature, m.temperature.c(), "probe"),
        ]
    })
    .collect()
}

/// A yeast that ferments less far and faster than its class: its courses teach it, the plan
/// takes it, and the next course is expected so.
#[test]
fn a_strain_is_learned_from_its_courses_and_used() {
    let own = PALE.replacen(
        "class = \"phenolic ale\"",
        "class = \"phenolic ale\"\nattenuation = \"74 %\"\nspeed = \"1.5\"",
        1,
    );
    let truth = reckoned(&own);
    let plain = reckoned(PALE);
    let readings = followed(&truth, "hydrometer");
    let one = Taught::of("x", &plain, &readings);
    assert!(one.unread.is_none(), "{:?}", one.unread);
    let all = vec![one; 6];
    let known = house(&plain.document, &all, Forget::Never);
    let find = |constant: Constant| {
        let found = known.iter().find(|k| k.constant == constant);
        found.unwrap_or_else(|| panic!("{} was not learned", constant.word()))
    };
    let (attenuation, speed) = (find(Constant::Attenuation), find(Constant::Speed));
    assert!(
        (0.73..0.76).contains(&attenuation.house.0),
        "{:?}",
        attenuation.house
    );
    assert!((1.25..1.75).contains(&speed.house.0), "{:?}", speed.house);
    let new = values(PALE, &plain.document, &known).unwrap();
    let taken =
        batch::liquor::minerals::apply(PALE, &changes(PALE, &plain.document, &new, Forget::Never))
            .unwrap();
    let next = reckoned(&taken);
    assert_eq!(
        next.document.learning.of("yeast.speed").map(|t| t.batches),
        Some(6)
    );
    // The plan ends higher and is there sooner.
    let half = |r: &Reckoning| {
        let half = f64::midpoint(
            r.boil.wort.gravity.plato(),
            r.fermentation.expected_gravity.plato(),
        );
        let there = r
            .fermentation
            .course
            .iter()
            .find(|m| m.gravity.plato() < half);
        there.map_or(f64::INFINITY, |m| m.at.h())
    };
    assert!(
        half(&next) < 0.85 * half(&plain),
        "{} {}",
        half(&next),
        half(&plain)
    );
    let off = |r: &Reckoning| {
        (r.fermentation.expected_gravity.plato() - truth.fermentation.expected_gravity.plato())
            .abs()
    };
    assert!(
        off(&next) < 0.5 * off(&plain),
        "{} {}",
        off(&next),
        off(&plain)
    );
    // Watching the next one starts there, and surer.
    let before = |r: &Reckoning| {
        let early: Vec<LogReading> = readings.iter().take(4).cloned().collect();
        Watched::of(r, &early, Moments::default())
            .unwrap()
            .course
            .expected_end
    };
    let (of_class, of_strain) = (before(&plain), before(&next));
    assert!(
        of_strain.sd() < of_class.sd(),
        "{} {}",
        of_strain.sd(),
        of_class.sd()
    );
    assert!(of_strain.value > of_class.value);
}

#[test]
fn where_two_instruments_disagree_each_says_how_far_it_is_off() {
    let r = reckoned(PALE);
    let mut readings = followed(&r, "hydrometer");
    let mut float = followed(&r, "float");
    for one in float.iter_mut().filter(|x| x.what == What::Gravity) {
        one.canonical += 1.0;
        one.value += 1.0;
    }
    readings.extend(float);
    let all = vec![Taught::of("x", &r, &readings); 3];
    let known = house(&r.document, &all, Forget::Never);
    let off = |name: &str| {
        let found = known.iter().find(|k| k.of.as_deref() == Some(name));
        found
            .unwrap_or_else(|| panic!("{name} was not learned"))
            .house
            .0
    };
    let (hydrometer, float) = (off("hydrometer"), off("float"));
    assert!(
        (float - hydrometer - 1.0).abs() < 0.2,
        "{float} {hydrometer}"
    );
    // One alone says nothing of itself.
    let alone = Taught::of("x", &r, &followed(&r, "hydrometer"));
    assert!(alone.evidence.iter().all(|e| e.constant != Constant::Off));
}

/// A water of the library with analyses of these days and alkalinities.
fn kept_water(name: &str, sampled: &[(&str, f64)]) -> batch::liquor::choice::Kept {
    let analysis = |(day, alkalinity): &(&str, f64)| {
        let text = format!(
            "calcium = \"95 ± 5 mg/L\"\nmagnesium = \"10 mg/L\"\nalkalinity = \"{alkalinity} ± 5 mg/L as CaCO3\"\nsulfate = \"50 mg/L\"\nchloride = \"35 mg/L\"\n"
        );
        let (analysis, _) = batch::library::Analysis::read(name, &text).unwrap();
        batch::liquor::choice::KeptAnalysis {
            from: (*day).to_owned(),
            analysis,
            text,
        }
    };
    batch::liquor::choice::Kept {
        key: "w".to_owned(),
        name: name.to_owned(),
        analyses: sampled.iter().map(analysis).collect(),
    }
}

/// A plan for a day in March takes what is known of March, and says for which day.
#[test]
fn a_plan_takes_the_water_of_its_season() {
    let text = batch::edit::set_value(PALE, "batch.brewed", "2027-03-20").unwrap();
    let r = reckoned(&text);
    let name = r.document.water.sources[0].name.clone();
    let years = ["2024", "2025", "2026"];
    let days: Vec<(String, f64)> = years
        .iter()
        .flat_map(|y| {
            [
                ("03-18", 150.0),
                ("06-18", 200.0),
                ("09-20", 260.0),
                ("12-18", 205.0),
            ]
            .map(|(day, alkalinity)| (format!("{y}-{day}"), alkalinity))
        })
        .collect();
    let sampled: Vec<(&str, f64)> = days.iter().map(|(d, a)| (d.as_str(), *a)).collect();
    let kept = [kept_water(&name, &sampled), kept_water("another", &sampled)];
    let waters = seasons(&r.document, &kept, Forget::Never);
    assert_eq!(waters.len(), 1);
    let new = season_values(&text, &r.document, &waters).unwrap();
    let of = |key: &str| new.iter().find(|v| v.key == key).unwrap();
    let alkalinity = of("water.source[1].alkalinity");
    assert_eq!(
        (alkalinity.batches, alkalinity.day.as_deref()),
        (12, Some("2027-03-20"))
    );
    let read: quantity::Measured<quantity::Alkalinity> = alkalinity.value.parse().unwrap();
    let march = 150.0 / quantity::CACO3_MG_PER_MEQ;
    assert!(
        (read.canonical() - march).abs() < 0.1 * march,
        "{}",
        alkalinity.value
    );
    assert!(read.sd() > 0.0);
    // Sodium is a default of these analyses: nothing is learned of it.
    assert!(new.iter().all(|v| !v.key.ends_with("sodium")));
    let changes = changes(&text, &r.document, &new, Forget::Months(24.0));
    let taken = batch::liquor::minerals::apply(&text, &changes).unwrap();
    let (document, assumptions) = Document::read(&taken).unwrap_or_else(|f| panic!("{}", f[0]));
    let told = assumptions
        .iter()
        .find(|a| a.path == "water.source[1].alkalinity");
    assert_eq!(
        told.unwrap().source,
        "learned from 12 analyses, for 2027-03-20, of which one counts half after 24 months"
    );
    let back = batch::liquor::minerals::apply(&taken, &taken_out(&taken, &document)).unwrap();
    assert_eq!(Document::read(&back).unwrap().0, r.document);
    // Without a day nothing is taken.
    let plain = reckoned(PALE);
    if plain.document.batch.brewed.is_none() {
        assert!(
            season_values(PALE, &plain.document, &waters)
                .unwrap()
                .is_empty()
        );
    }
}

#[test]
fn a_half_life_is_kept_in_the_document() {
    let text = PALE.to_owned() + "\n[learning]\nhalf_life = \"18 months\"\n";
    let kept = reckoned(&text).document.learning.half_life;
    assert_eq!(kept, Some(Forget::Months(18.0)));
    let wrong = PALE.to_owned() + "\n[learning]\nhalf_life = \"soon\"\n";
    let faults = Document::read(&wrong).unwrap_err();
    assert_eq!(faults[0].path, "learning.half_life");
    assert!(faults[0].help.contains("18 months"));
    // Older batches count for less, by their days; the newest decides from where.
    let dated = |day: &str, litres: f64| {
        let text = brewed("one", litres).replacen("[batch]\n", "[batch]\n#\n", 1);
        taught(
            "x",
            &batch::edit::set_value(&text, "batch.brewed", day).unwrap(),
        )
    };
    let all = [dated("2025-01-10", 24.0), dated("2027-01-10", 24.8)];
    let of = reckoned(PALE).document;
    let steam = |forget: Forget| {
        let known = house(&of, &all, forget);
        let found = known
            .into_iter()
            .find(|k| k.constant == Constant::Evaporation);
        found
            .unwrap()
            .trace
            .iter()
            .map(|m| m.weight)
            .collect::<Vec<_>>()
    };
    assert!(steam(Forget::Never).iter().all(|w| (w - 1.0).abs() < 1e-12));
    let months = steam(Forget::Months(12.0));
    assert!(
        (months[0] - 0.25).abs() < 0.001 && (months[1] - 1.0).abs() < 1e-12,
        "{months:?}"
    );
}
