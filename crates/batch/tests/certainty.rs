//! The figures with their intervals, and what they are unsure of.

use batch::certainty::{Certainty, CertaintyError, Origin, Question, certainty};
use batch::{Document, Reckoning, edit};

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
    let mut shares = shares.filter(|s| found.doubts[s.doubt].path == path);
    shares.next().map_or(0.0, |s| s.total)
}

#[test]
fn the_plan_lies_within_its_intervals() {
    let found = of(LANTERN, 384, 0);
    assert!(found.figures.len() >= 18, "{}", found.figures.len());
    for figure in &found.figures {
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
