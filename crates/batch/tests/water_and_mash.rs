//! What a document says of its water's fitness and of its malts reaches the sign of
//! the stage, the doses and the band of the mash pH.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on must stop"
)]

use batch::{Document, Reckoning, Stage};
use quantity::{Caution, Duration, Measured, Ph, PhShift, Temperature, Weight};
use water::WaterError;
use water::mash_reading::{Action, AtHand, Compensation, MashAim, Reading, advise};

const PLAIN: &str = include_str!("../../../examples/lantern-pale.toml");

/// The demo with some lines set under the first line that begins so.
fn demo(below: &str, lines: &str) -> String {
    assert!(PLAIN.contains(below));
    PLAIN.replacen(below, &format!("{below}\n{lines}\n"), 1)
}

fn reckon(text: &str) -> Reckoning {
    let (document, assumptions) = Document::read(text).unwrap_or_else(|f| panic!("{f:#?}"));
    Reckoning::of(document, assumptions).unwrap_or_else(|f| panic!("{f:#?}"))
}

const TOWN: &str = "name = \"Harrowmere town mains\"";

#[test]
fn each_reason_not_to_use_a_water_is_an_act_and_takes_the_doses_away() {
    let plain = reckon(PLAIN);
    assert!(!plain.water.weigh.is_empty() && plain.mash_to_read().is_ok());
    assert!(!plain.cautions().contains(&Caution::UnfitWater));
    for (line, word) in [
        ("notice = \"boil\"", "boil it"),
        ("notice = \"do not drink\"", "not to drink"),
        ("notice = \"chemical incident\"", "chemical"),
        ("e_coli = \"found\"", "E. coli"),
        ("smell = \"fuel\"", "fuel"),
        ("kind = \"private well\"", "private well"),
        ("kind = \"spring\"", "spring"),
        ("kind = \"softened\"", "softener"),
        ("kind = \"hot tank\"", "hot tap"),
        ("kind = \"garden hose\"", "hose"),
        ("lead = \"15 ug/L\"", "ead by itself"),
        ("arsenic = \"0.02 mg/L\"", "rsenic by itself"),
        ("fluoride = \"4.5 mg/L\"", "luoride by itself"),
    ] {
        let text = demo(TOWN, line);
        let r = reckon(&text);
        let sign = r.sign(Stage::Water).unwrap();
        assert_eq!(sign.weight, Weight::Act, "{line}");
        let acts = sign.notes.iter().filter(|n| n.weight == Weight::Act);
        let acts: Vec<&str> = acts.map(|n| n.text.as_str()).collect();
        let by_itself = word.strip_suffix(" by itself");
        let told = |t: &&str| by_itself.map_or(t.contains(word), |item| t.contains(item));
        assert!(acts.iter().any(told), "{line}: {acts:?}");
        assert!(r.water.weigh.is_empty(), "{line}");
        assert!(
            acts.iter().any(|t| t.starts_with("No doses are given")),
            "{line}"
        );
        let refused = r.mash_to_read().unwrap_err();
        assert!(matches!(refused, WaterError::DoNotUse { .. }), "{refused}");
        let health = word != "softener";
        assert_eq!(
            r.cautions().contains(&Caution::UnfitWater),
            health,
            "{line}"
        );
    }
}

#[test]
fn a_well_with_a_recent_test_may_be_used() {
    let tested = "kind = \"private well\"\ne_coli = \"absent\"\ntest_age = \"5 months\"";
    let r = reckon(&demo(TOWN, tested));
    assert!(
        !r.water.tap.verdict.usable(),
        "the other source was not tested for germs"
    );
    let both = demo(TOWN, tested).replacen(
        "name = \"Cold Fell spring, bottled\"",
        "name = \"Cold Fell spring, bottled\"\nkind = \"bottled\"\ne_coli = \"absent\"\ntest_age = \"1 month\"",
        1,
    );
    assert!(reckon(&both).water.tap.verdict.usable());
}

/// The ± of a malt's own figures is that of the band, and less of it is a narrower
/// band.
#[test]
fn the_spread_of_own_figures_reaches_the_band() {
    let sd = |line: &str| {
        let first = "class = \"pilsner malt\"";
        let text = demo(first, line);
        reckon(&text).mash_ph.unwrap().ph.sd()
    };
    let by_class = sd("");
    let well = sd("distilled_ph = \"5.72 ± 0.02\"");
    let badly = sd("distilled_ph = \"5.72 ± 0.10\"");
    let unsaid = sd("distilled_ph = \"5.72\"");
    let by_hand = sd("distilled_ph = \"5.72 ± 0.03\"");
    assert!(well < by_class && well < badly);
    assert!((unsaid - by_hand).abs() < 1e-12);
    assert!(sd("buffering = \"40 ± 2 mEq/(kg pH)\"") <= sd("buffering = \"40 ± 15 mEq/(kg pH)\""));
}

#[test]
fn a_tun_that_keeps_its_carbon_dioxide_stands_lower() {
    let open = reckon(PLAIN).mash_ph.unwrap();
    let closed = reckon(&demo("[mash]", "carbon_dioxide = \"stays\""))
        .mash_ph
        .unwrap();
    assert!(closed.ph.value < open.ph.value);
    let (_, assumed) = Document::read(PLAIN).unwrap();
    assert!(assumed.iter().any(|a| a.path == "mash.carbon_dioxide"));
}

/// From a document to a dose, and from what was learned back to the grist's keys.
#[test]
fn a_reading_in_the_planned_mash_is_answered() {
    let r = reckon(PLAIN);
    let planned = r.mash_ph.as_ref().unwrap().ph.value.ph();
    let given = r.mash_to_read().unwrap();
    assert_eq!(given.grist.len(), given.mash.malts.len());
    let reading = Reading {
        ph: Measured::with_sd(Ph::from_ph(planned - 0.1), 0.03),
        sample: Temperature::from_c(60.0),
        compensation: Compensation::Automatic,
        after_mash_in: Duration::from_min(12.0),
        added: vec![],
    };
    let aim = MashAim {
        ph: Ph::from_ph(5.3),
        within: PhShift::from_ph(0.03),
    };
    let usual = AtHand::usual().unwrap();
    let advice = advise(&given.mash, std::slice::from_ref(&reading), aim, &usual).unwrap();
    assert!((advice.predicted.value.ph() - planned).abs() < 1e-9);
    assert_eq!(advice.action, Action::Lower);
    assert!(
        advice.learned.offset.value.ph() > 0.0,
        "it read above what was planned"
    );
    assert_eq!(advice.learned.malts.len(), given.grist.len());
}
