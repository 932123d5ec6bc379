//! The figures with their intervals, and what they are unsure of.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use batch::certainty::{Certainty, CertaintyError, Origin, Question, certainty};
use batch::{Document, Reckoning, edit};
use quantity::Units;

const UNTREATED: &str = include_str!("../../../examples/lantern-pale-first.toml");
const LANTERN: &str = include_str!("../../../examples/lantern-pale.toml");

fn of(text: &str, draws: usize, points: usize) -> Certainty {
    let question = Question {
        draws,
        points,
        ..Question::default()
    };
    certainty(text, &question, &|_, _| true).unwrap()
}

fn share(found: &Certainty, figure: &str, path: &str) -> f64 {
    let figure = found.figure(figure).unwrap();
    let shares = figure.shares.iter();
    let mut shares = shares.filter(|s| found.doubts_of(s).any(|d| d.path == path));
    shares.next().map_or(0.0, |s| s.total)
}

#[test]
fn the_plan_lies_within_its_intervals() {
    let found = of(LANTERN, 384, 0);
    assert!(found.figures.len() >= 18, "{}", found.figures.len());
    for figure in &found.figures {
        // The dose against chlorine has enough in hand for nine of ten, so that none is left.
        if figure.key == "chlorine_left" {
            assert!(figure.high <= 0.0 && figure.sd > 0.0, "{figure:?}");
            continue;
        }
        assert!(
            figure.low < figure.likely && figure.likely < figure.high,
            "{figure:?}"
        );
        // The likeliest of every doubt lies well inside; a sharply bent figure is off centre.
        let off = (figure.reckoned - figure.likely).abs() / figure.sd;
        assert!(off < 0.6, "{} {off}", figure.key);
    }
    assert!(found.refused <= 4, "{:?}", found.refusal);
}

#[test]
fn every_line_of_an_aim_has_an_interval_and_a_chance() {
    let more = r#"
magnesium = "10 ± 5 mg/L"
sodium = "15 ± 5 mg/L"
sulfate_to_chloride = "0.4 ± 0.2"
alkalinity = "80 ± 40 mg/L as CaCO3"
residual_alkalinity = "20 ± 40 mg/L as CaCO3"
sparge_alkalinity = "80 mg/L as CaCO3"
esters = "20 ± 10 mg/L"
fusel = "60 ± 20 mg/L"
beer_ph = "4.3 ± 0.2"
"#;
    // What nothing moves is no figure of the draws.
    let unsure = LANTERN
        .replace("magnesium = \"11 mg/L\"", "magnesium = \"11 ± 1 mg/L\"")
        .replace("sodium = \"24 mg/L\"", "sodium = \"24 ± 2 mg/L\"");
    let text = format!("{unsure}{more}");
    let (document, assumed) = Document::read(&text).unwrap();
    let plan = Reckoning::of(document, assumed).unwrap();
    assert_eq!(plan.aim.len(), 21);
    let found = of(&text, 128, 0);
    for line in &plan.aim {
        let figure = found.figure(line.key).expect(line.key);
        let chance = found.chance_of(line).expect(line.key);
        assert!((0.0..=1.0).contains(&chance), "{}: {chance}", line.key);
        // Both are in the same unit.
        let off = (figure.reckoned - line.reckoned.value).abs();
        assert!(
            off <= 1e-6 * line.reckoned.value.abs(),
            "{figure:?} {line:?}"
        );
    }
}

/// A kettle whose steam follows from its power is drawn with that steam.
#[test]
fn steam_by_the_power_of_the_kettle_is_that_of_the_plan() {
    let text = LANTERN.replace("evaporation = \"3.2 ± 0.4 kg/h\"", "power = \"4.5 kW\"");
    let found = of(&text, 64, 0);
    for key in ["into_fermenter", "original_gravity", "colour"] {
        let figure = found.figure(key).unwrap();
        let inside = figure.low < figure.reckoned && figure.reckoned < figure.high;
        assert!(inside, "{figure:?}");
    }
}

/// The kit's own doubts move what the kit holds and makes, and nothing before it.
#[test]
fn shares_follow_the_stream() {
    let found = of(LANTERN, 32, 128);
    let evaporation = |figure| share(&found, figure, "kit.evaporation");
    assert!(evaporation("into_fermenter") > 0.02);
    assert!(evaporation("residual_alkalinity") <= 0.0 && evaporation("kettle") <= 0.0);
    assert!(share(&found, "calcium", "water.source[1].calcium") > 0.3);
    assert!(share(&found, "clove", "model.clove") > 0.1);
    assert!(share(&found, "final_gravity", "yeast.attenuation") > 0.3);
    assert!(share(&found, "ends", "model.speed") > 0.5);
    for figure in &found.figures {
        let first: f64 = figure.shares.iter().map(|s| s.first).sum();
        assert!((0.5..=1.25).contains(&first), "{} {first}", figure.key);
    }
}

/// By the formula of the spread: with one doubt alone, a figure that is linear in it has
/// its standard deviation times the slope.
#[test]
fn one_doubt_alone_is_its_slope() {
    let loss = |l: f64| {
        let text = edit::set_value(LANTERN, "kit.kettle_loss", &format!("{l} L")).unwrap();
        let (document, assumptions) = Document::read(&text).unwrap();
        Reckoning::of(document, assumptions).unwrap()
    };
    // The plan weighs in more water for more loss; the litres per litre of that are one.
    assert!(loss(1.3).volumes.total_water.l() > loss(1.2).volumes.total_water.l());
    let found = of(LANTERN, 512, 192);
    let volume = found.figure("into_fermenter").unwrap();
    let own = share(&found, "into_fermenter", "kit.kettle_loss");
    // A litre that stays in the kettle is a litre less in the fermenter: 0.3 L of spread.
    assert!(
        (own.sqrt() * volume.sd / 0.3 - 1.0).abs() < 0.15,
        "{own} {}",
        volume.sd
    );
}

#[test]
fn a_better_measurement_narrows_what_it_moves() {
    let wide = of(LANTERN, 256, 0);
    let measured = edit::set_value(LANTERN, "yeast.attenuation", "82 ± 0.2 %").unwrap();
    let narrow = of(&measured, 256, 0);
    let sd = |found: &Certainty, key| found.figure(key).unwrap().sd;
    assert!(sd(&narrow, "final_gravity") < 0.8 * sd(&wide, "final_gravity"));
    assert!((sd(&narrow, "bitterness") / sd(&wide, "bitterness") - 1.0).abs() < 0.05);
}

#[test]
fn nothing_is_to_be_measured_for_a_digit_that_is_not_shown() {
    let found = of(LANTERN, 512, 32);
    let open = |key: &str| found.figure(key).map(|f| f.is_open(Units::Metric));
    // What the chlorine of the tap leaves open of the sulfate is a tenth of a milligram.
    assert_eq!(open("sulfate"), Some(false));
    assert_eq!(open("original_gravity"), Some(true));
    let better = found.better();
    assert!(!better.is_empty());
    assert!(better.iter().all(|b| b.figure.is_open(Units::Metric)));
}

/// Every draw of the demo can be brewed: no default spreads to where nothing is.
#[test]
fn no_default_spreads_beyond_what_can_be() {
    let found = of(LANTERN, 4096, 0);
    assert_eq!(
        (found.drawn, found.refused),
        (4096, 0),
        "{:?}",
        found.refusal
    );
}

#[test]
fn the_answer_is_the_same_by_any_number_of_threads() {
    let by = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads);
        let found = pool.build().unwrap().install(|| of(LANTERN, 32, 4));
        found
            .figures
            .iter()
            .map(|f| (f.low, f.high, f.sd, f.shares.clone()))
            .collect::<Vec<_>>()
    };
    assert_eq!(by(1), by(3));
}

#[test]
fn it_stops_and_refuses_with_a_word() {
    let question = Question {
        draws: 64,
        points: 0,
        seed: 1,
    };
    let stopped = certainty(LANTERN, &question, &|done, _| done < 10).unwrap_err();
    assert!(matches!(stopped, CertaintyError::Stopped), "{stopped}");
    for draws in [0, 31, 1 << 20] {
        let question = Question { draws, ..question };
        let told = certainty(LANTERN, &question, &|_, _| true)
            .unwrap_err()
            .to_string();
        assert!(told.contains("would work"), "{told}");
    }
    let faults = certainty("batch = 1", &question, &|_, _| true).unwrap_err();
    assert!(matches!(faults, CertaintyError::Document(f) if !f.is_empty()));
    let absurd = edit::set_value(LANTERN, "kit.kettle_loss", "1.2 ± 60 L").unwrap();
    let told = certainty(&absurd, &question, &|_, _| true).unwrap_err();
    assert!(matches!(told, CertaintyError::Unbrewable { .. }), "{told}");
    assert!(told.to_string().contains("smaller spreads"), "{told}");
}

#[test]
fn every_doubt_says_what_it_is_and_what_would_settle_it() {
    let found = of(LANTERN, 64, 0);
    for origin in [Origin::Document, Origin::Class, Origin::Model] {
        assert!(
            found.doubts.iter().any(|d| d.origin == origin),
            "{origin:?}"
        );
    }
    for doubt in &found.doubts {
        assert!(
            !doubt.what.is_empty() && !doubt.settle.is_empty(),
            "{doubt:?}"
        );
        assert!(!doubt.path.starts_with("aim."), "{doubt:?}");
        assert_eq!(
            doubt.origin == Origin::Model,
            doubt.source.is_some(),
            "{doubt:?}"
        );
    }
}

/// The progress goes up to what was said at the start.
#[test]
fn progress_ends_at_its_end() {
    let seen = std::sync::Mutex::new((0, 0));
    let question = Question {
        draws: 32,
        points: 2,
        seed: 1,
    };
    certainty(LANTERN, &question, &|done, all| {
        let mut seen = seen.lock().unwrap();
        *seen = (seen.0.max(done), all);
        true
    })
    .unwrap();
    let (done, all) = *seen.lock().unwrap();
    assert_eq!(done, all);
}

/// What is weighed in stays weighed: the gas of the beer is as unsure as what meets it, and
/// more chlorine than was thought is left over.
#[test]
fn what_the_plan_weighs_is_decided() {
    let found = of(LANTERN, 256, 64);
    let gas = found.figure("carbon_dioxide").unwrap();
    assert!(gas.sd > 0.0 && gas.low < gas.reckoned && gas.reckoned < gas.high);
    assert!(
        share(&found, "carbon_dioxide", "package.loss") > 0.02,
        "{gas:?}"
    );
    let found = of(UNTREATED, 64, 64);
    let of_tap = share(&found, "chlorine_left", "water.source[1].total_chlorine");
    assert!(of_tap > 0.9, "{of_tap}");
}

/// The share of the draws within an aim is that of the normal distribution where the figure
/// is normal: the colour's own spread alone.
#[test]
fn the_chance_of_an_aim_is_the_share_of_the_draws_in_it() {
    let found = of(LANTERN, 512, 0);
    let colour = found.figure("colour").unwrap();
    let within = |k: f64| {
        let ends = [colour.likely - k * colour.sd, colour.likely + k * colour.sd];
        colour.share_up_to(ends[1]) - colour.share_up_to(ends[0])
    };
    // Standard normal: 68.27 % within one, 95.45 % within two.
    assert!((within(1.0) - 0.6827).abs() < 0.04 && (within(2.0) - 0.9545).abs() < 0.02);
    assert!(colour.share_up_to(f64::MIN) <= 0.0 && colour.share_up_to(f64::MAX) >= 1.0);
    let (document, assumptions) = Document::read(LANTERN).unwrap();
    let reckoning = Reckoning::of(document, assumptions).unwrap();
    for line in &reckoning.aim {
        let Some(chance) = found.chance_of(line) else {
            continue;
        };
        assert!((0.0..=1.0).contains(&chance), "{line:?} {chance}");
        let figure = found.figure(line.key).unwrap();
        let far = (line.reckoned.value - line.aim.value).abs() - line.aim.sd;
        if far > 3.0 * figure.sd {
            assert!(chance < 0.05, "{line:?} {chance}");
        }
    }
}

const TIED: &str =
    "\n[[together]]\nfigures = \"grist[1].extract, grist[2].extract\"\ncorrelation = ";

/// Of a sum of two, V(a + b) = V(a) + V(b) + 2 r s(a) s(b).
#[test]
fn spreads_that_move_together_add_up_as_such() {
    let sd = |text: &str| of(text, 256, 0).figure("original_gravity").unwrap().sd;
    let with = |correlation: &str| sd(&format!("{LANTERN}{TIED}{correlation}\n"));
    let [against, apart, as_one] = [with("-1"), with("0"), with("1")];
    assert!((apart / sd(LANTERN) - 1.0).abs() < 1e-9);
    assert!(against < apart && apart < as_one);
    let middle = (against.powi(2) + as_one.powi(2)) / 2.0;
    assert!(
        (middle / apart.powi(2) - 1.0).abs() < 0.05,
        "{against} {apart} {as_one}"
    );
}

#[test]
fn a_tie_shares_as_one_and_is_named_so() {
    let found = of(&format!("{LANTERN}{TIED}0.8\n"), 64, 64);
    let gravity = found.figure("original_gravity").unwrap();
    let of_both = gravity.shares.iter().find(|s| s.doubts.len() == 2).unwrap();
    let paths: Vec<&str> = found.doubts_of(of_both).map(|d| d.path.as_str()).collect();
    assert_eq!(paths, ["grist[1].extract", "grist[2].extract"]);
    let words = batch::certainty::words::unsure_of(&found, gravity, 9);
    assert!(
        words.contains("extract of pilsner malt and extract of wheat malt, together"),
        "{words}"
    );
    assert!(
        gravity
            .shares
            .iter()
            .filter(|s| s.doubts.iter().any(|i| of_both.doubts.contains(i)))
            .count()
            == 1
    );
}

#[test]
fn ties_that_cannot_be_say_what_would_work() {
    let told = |tie: &str| {
        let text = format!("{LANTERN}\n[[together]]\n{tie}\n");
        let question = Question {
            draws: 32,
            points: 0,
            seed: 1,
        };
        let CertaintyError::Document(faults) =
            certainty(&text, &question, &|_, _| true).unwrap_err()
        else {
            panic!("a fault of the document");
        };
        format!(
            "{} {} {}",
            faults[0].path, faults[0].message, faults[0].help
        )
    };
    let none = told("figures = \"grist[1].extrac, grist[2].extract\"\ncorrelation = 0.5");
    assert!(
        none.contains("together[1].figures") && none.contains("\"grist[1].extract\" has one"),
        "{none}"
    );
    let alone = told("figures = \"grist[1].extract\"\ncorrelation = 0.5");
    assert!(alone.contains("two or more"), "{alone}");
    let twice = told("figures = \"grist[1].extract, grist[1].extract\"\ncorrelation = 0.5");
    assert!(twice.contains("named twice"), "{twice}");
    let three =
        "figures = \"grist[1].extract, grist[1].moisture, grist[2].extract\"\ncorrelation = -0.8";
    assert!(told(three).contains("from -0.50 to 1"), "{}", told(three));
    let beyond = told("figures = \"grist[1].extract, grist[2].extract\"\ncorrelation = 1.5");
    assert!(beyond.contains("together[1].correlation"), "{beyond}");
}
