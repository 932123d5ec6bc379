//! The keys of the mash and of a malt's own sheet reach the reckoning.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on must stop")]

use batch::{Document, Fault, Reckoning};
use wort::{Change, Part};

const STEP: &str = include_str!("../../../examples/towpath-amber.toml");
const SECOND: &str = "temperature = \"71 °C\"\ntime = \"30 min\"\n";

fn reckon(text: &str) -> Reckoning {
    let (document, assumptions) = Document::read(text).unwrap_or_else(|f| panic!("{f:#?}"));
    Reckoning::of(document, assumptions).unwrap_or_else(|f| panic!("{f:#?}"))
}

fn with(below: &str, lines: &str) -> String {
    assert!(STEP.contains(below));
    STEP.replacen(below, &format!("{below}{lines}\n"), 1)
}

fn faults(text: &str) -> Vec<Fault> {
    Document::read(text).unwrap_err()
}

#[test]
fn a_rest_can_be_reached_in_its_own_way() {
    let thick = reckon(&with(
        SECOND,
        "by = \"thick decoction\"\nboiled = \"10 min\"",
    ));
    let heat = thick.mash.heat.as_ref().unwrap();
    let Change::Decoction(pull) = heat.steps[0].change else {
        panic!("{:?}", heat.steps);
    };
    assert_eq!(pull.part, Part::Thick);
    assert!((pull.boils.min() - 10.0).abs() < 1e-9);
    assert!(pull.of_grain > pull.of_liquor);
    let said = batch::mash::reached(&heat.steps[0], quantity::Units::Metric);
    assert!(said.contains("thick mash from below"), "{said}");
    let first = with(
        "temperature = \"63 °C\"\ntime = \"30 min\"\n",
        "by = \"heat\"",
    );
    assert!(faults(&first)[0].message.contains("first rest"));
}

#[test]
fn the_tun_cools_as_its_key_says_and_readings_tell_what_it_loses() {
    let ends = |r: &Reckoning| r.mash.heat.as_ref().unwrap().ends.c();
    let plain = reckon(STEP);
    assert!(
        plain
            .assumptions
            .iter()
            .any(|a| a.path == "kit.tun_time_constant")
    );
    let bare = reckon(&with("[kit]\n", "tun_time_constant = \"6 h\""));
    assert!(ends(&bare) < ends(&plain) && ends(&plain) < 71.0);
    assert!(plain.mash.tun_loss.is_none());
    let read = "[[mash.measured]]\nafter = \"5 min\"\ntemperature = \"63 °C\"\n\n[[mash.measured]]\nafter = \"28 min\"\ntemperature = \"61.6 °C\"\n\n[boil]\n";
    let learned = reckon(&STEP.replacen("[boil]\n", read, 1));
    let loss = learned.mash.tun_loss.as_ref().unwrap();
    // 43 K above a room of 20 °C, 1.4 K in 23 min: 11.6 h.
    assert!(
        (loss.time_constant.unwrap().value.h() - 11.6).abs() < 0.1,
        "{loss:?}"
    );
    let rows = batch::mash::tun_loss(&learned, quantity::Units::Metric);
    assert!(
        rows.iter().any(|(name, _)| name.contains("by them")),
        "{rows:?}"
    );
}

#[test]
fn a_malts_own_sheet_stands_in_place_of_its_class() {
    let vienna = "class = \"Vienna malt\"\n";
    let of = |lines: &str| reckon(&with(vienna, lines));
    let plain = reckon(STEP);
    let gravity = |r: &Reckoning| r.boil.wort.gravity.plato();
    for better in [
        "extract = \"84 %\"",
        "coarse_extract = \"82 %\"",
        "hot_water_extract = \"310 L°/kg\"",
    ] {
        assert!(gravity(&of(better)) > gravity(&plain), "{better}");
    }
    let weak = of("diastatic_power = \"20 °Lintner\"");
    assert!(weak.mash.diastatic_power < plain.mash.diastatic_power);
    let rich = of("amino_nitrogen = \"2000 mg/kg\"");
    assert!(rich.mash.wort.traces.fan > plain.mash.wort.traces.fan);
    let twice = faults(&with(
        vienna,
        "extract = \"80 %\"\ncoarse_extract = \"79 %\"",
    ));
    assert!(twice[0].message.contains("more than one way"), "{twice:?}");
    for (old, word) in [
        ("malted = \"20 months\"", "malted 20 months"),
        ("crushed = \"3 months\"", "crushed 3 months"),
    ] {
        let text: String = of(old).mash.notes.iter().map(|n| n.text.as_str()).collect();
        assert!(text.contains(word), "{text}");
    }
    let fresh: String = of("malted = \"6 months\"")
        .mash
        .notes
        .iter()
        .map(|n| n.text.as_str())
        .collect();
    assert!(!fresh.contains("months ago"), "{fresh}");
}

#[test]
fn protein_and_kolbach_move_amino_nitrogen_and_judge_the_malt() {
    let vienna = "class = \"Vienna malt\"\n";
    let of = |lines: &str| reckon(&with(vienna, lines));
    let fan = |r: &Reckoning| r.mash.wort.traces.fan;
    let plain = reckon(STEP);
    assert!(fan(&of("kolbach = \"44 %\"")) > fan(&plain));
    assert!(fan(&of("protein = \"9 %\"")) < fan(&plain));
    let measured = of("kolbach = \"44 %\"\namino_nitrogen = \"1500 mg/kg\"");
    assert_eq!(fan(&measured), fan(&of("amino_nitrogen = \"1500 mg/kg\"")));
    for under in ["kolbach = \"33 %\"", "coarse_fine = \"3 %\""] {
        let notes = of(under).mash.notes;
        let told = notes.iter().find(|n| n.text.contains("undermodified"));
        assert!(told.is_some(), "{notes:?}");
    }
    let notes = of("kolbach = \"40 %\"").mash.notes;
    assert!(
        !notes.iter().any(|n| n.text.contains("modified")),
        "{notes:?}"
    );
}

#[test]
fn a_figure_of_a_sheet_that_nothing_comes_of_is_refused() {
    let vienna = "class = \"Vienna malt\"\n";
    for (line, help) in [
        ("friability = \"85 %\"", "judged by kolbach and coarse_fine"),
        ("soluble_protein = \"4 %\"", "give kolbach"),
        ("total_nitrogen = \"1.6 %\"", "give protein"),
        ("beta_glucan = \"150 mg/L\"", "keep it in notes"),
        ("viscosity = \"1.5 mPa·s\"", "keep it in notes"),
    ] {
        let faults = faults(&with(vienna, line));
        let [fault] = &faults[..] else {
            panic!("{faults:#?}");
        };
        assert!(
            fault.message.contains("nothing here is reckoned"),
            "{fault:?}"
        );
        assert!(fault.help.contains(help), "{fault:?}");
    }
    let crystal = STEP.replacen(vienna, "class = \"sucrose\"\nkolbach = \"40 %\"\n", 1);
    let faults = faults(&crystal);
    assert!(
        faults[0].message.contains("no effect in sucrose"),
        "{faults:?}"
    );
}
