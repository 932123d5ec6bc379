//! What the glass should hold, beside what a panel scored and what was found.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use batch::beside::{Agreement, Found, Held, Level};
use batch::learning::{found_by, keenness, tasted, threshold_words, thresholds};
use batch::matching::admired;
use batch::tasting::{Judged, Tasting};
use batch::{Document, Reckoning};

const LANTERN: &str = include_str!("../../../examples/lantern-pale.toml");

fn reckoned(text: &str) -> Reckoning {
    let (document, assumptions) = Document::read(text).unwrap();
    Reckoning::of(document, assumptions).unwrap()
}

/// Eight tasters, each with points of both beers for an attribute.
fn panel(attribute: &str, batch: [f64; 8], reference: [f64; 8]) -> (Tasting, Judged) {
    let mut text = format!(
        "[tasting]\nname = \"beside\"\nbeer = \"ours\"\nreference = \"theirs\"\ntastings = \"8\"\nseed = \"1\"\nscored = \"{attribute}\"\n"
    );
    for n in 0..8 {
        text.push_str(&format!("[[taster]]\nname = \"T{n}\"\n"));
    }
    for (n, (ours, theirs)) in batch.iter().zip(reference).enumerate() {
        text.push_str(&format!("[[score]]\nattribute = \"{attribute}\"\ntaster = \"T{n}\"\nbatch = \"{ours}\"\nreference = \"{theirs}\"\n"));
    }
    let (tasting, _) = Tasting::read(&text).unwrap();
    let judged = Judged::of(&tasting).unwrap();
    (tasting, judged)
}

fn scored(attribute: &str, batch: [f64; 8], reference: [f64; 8]) -> (String, Found) {
    let (tasting, judged) = panel(attribute, batch, reference);
    let held = Held::of(&reckoned(LANTERN), Some((&tasting, &judged)));
    let mut told = held.told();
    let beside = told
        .next()
        .unwrap_or_else(|| panic!("{attribute}: {:?}", held.unreckoned));
    (
        beside.reckoned.compound.key.clone(),
        beside.found[0].clone(),
    )
}

#[test]
fn attributes_go_to_the_compounds_that_they_name() {
    let level = [4.0, 5.0, 4.5, 5.0, 4.0, 5.5, 4.0, 5.0];
    for (attribute, key) in [
        ("bitterness", "iso-alpha-acids"),
        ("Bitter", "iso-alpha-acids"),
        ("clove", "4-vinylguaiacol"),
        ("banana", "isoamyl-acetate"),
        ("butter", "diacetyl"),
        ("diacetyl", "diacetyl"),
        ("cooked corn", "dimethyl-sulfide"),
        ("DMS", "dimethyl-sulfide"),
        ("green apple", "acetaldehyde"),
        ("boozy", "isoamyl-alcohol"),
        ("solvent", "ethyl-acetate"),
    ] {
        assert_eq!(scored(attribute, level, level).0, key, "{attribute}");
    }
    let (tasting, judged) = panel("body", level, level);
    let held = Held::of(&reckoned(LANTERN), Some((&tasting, &judged)));
    assert!(held.told().next().is_none());
    assert_eq!(held.unreckoned, ["body"]);
}

/// Mean and interval of 6, 7, 6, 7, 6, 7, 6, 7: 6.5 ± t(7; 0.975) · 0.5345 / √8, with the
/// quantile 2.364624 of scipy 1.17.
#[test]
fn points_stand_with_their_interval_and_what_they_show() {
    let (strong, weak) = ([6.0, 7.0, 6.0, 7.0, 6.0, 7.0, 6.0, 7.0], [1.0; 8]);
    let (_, found) = scored("clove", strong, weak);
    let points = found.points.unwrap();
    let half = 2.364_624 * 0.534_522 / 8.0_f64.sqrt();
    assert!((points.value.unwrap() - 6.5).abs() < 1e-12);
    assert!((points.low.unwrap() - (6.5 - half)).abs() < 1e-5);
    assert!((points.high.unwrap() - (6.5 + half)).abs() < 1e-5);
    assert_eq!(
        (found.levels.low, found.levels.high),
        (Level::Strong, Level::Strong)
    );
    // All eight above: exact ranks give 2 / 2⁸.
    assert!((found.differs.unwrap() - 5.5).abs() < 1e-12);
    assert!(
        found
            .words
            .contains("more than in the reference, chance 0.8 %"),
        "{}",
        found.words
    );
    let (_, same) = scored("clove", strong, strong);
    assert!(
        same.differs.is_none()
            && same
                .words
                .contains("no difference from the reference shown")
    );
}

/// The yeast of the demo makes clove, and little is left of its diacetyl, at most.
#[test]
fn what_is_found_agrees_or_is_more_or_less() {
    let strong = [7.0, 8.0, 7.0, 8.0, 7.0, 8.0, 7.0, 8.0];
    let stands = |attribute: &str, points| scored(attribute, points, points).1.agreement;
    assert_eq!(stands("clove", [0.0; 8]), Agreement::Over);
    assert_eq!(stands("butter", strong), Agreement::Under);
    assert_eq!(stands("butter", [0.0; 8]), Agreement::Agrees);
    assert_eq!(stands("bitterness", [0.0; 8]), Agreement::Over);
    let found = |there: &str| {
        let text = format!(
            "{LANTERN}\n[[finding]]\nwhat = \"butter\"\nthere = \"{there}\"\nstrength = \"strong\"\n"
        );
        let held = Held::of(&reckoned(&text), None);
        let beside = held.told().next().unwrap().clone();
        (
            beside.reckoned.compound.key.clone(),
            beside.found[0].agreement,
        )
    };
    assert_eq!(found("yes"), ("diacetyl".to_owned(), Agreement::Under));
    assert_eq!(found("no").1, Agreement::Agrees);
}

/// Points on a scale of a hundred are on no level, and nothing is told of them.
#[test]
fn another_scale_is_not_taken_for_this_one() {
    let (tasting, judged) = panel("clove", [60.0; 8], [10.0; 8]);
    let held = Held::of(&reckoned(LANTERN), Some((&tasting, &judged)));
    assert!(held.told().next().is_none());
}

/// What tasters scored blind tells from which concentration each notices it; nothing is told
/// before the tasting is over.
#[test]
fn a_panel_teaches_the_thresholds_of_its_tasters() {
    let r = reckoned(LANTERN);
    let points = [5.0, 5.0, 5.0, 5.0, 0.0, 0.0, 0.0, 0.5];
    let (tasting, mut judged) = panel("clove", points, points);
    assert!(tasted(&r, &tasting, &judged).is_empty());
    judged.over = true;
    let said = tasted(&r, &tasting, &judged);
    assert_eq!(said.len(), 8);
    assert!(
        said.iter()
            .all(|s| s.blind && s.noticed.compound.key == "4-vinylguaiacol")
    );
    // The same panel on four further days.
    let all: Vec<_> = std::iter::repeat_n(said, 5).flatten().collect();
    let known = thresholds(&all);
    assert_eq!(known.len(), 8);
    let of = |name: &str| known.iter().find(|t| t.taster == name).unwrap();
    assert!(of("T0").threshold.mg_per_l() < of("T7").threshold.mg_per_l());
    assert!((of("T0").keen - 1.0).abs() < 1e-9 && of("T7").keen < 0.5);
    assert!(
        threshold_words(of("T7"), quantity::Units::Metric)
            .contains("Noticed 0 of 5 times, 5 of them asked blind")
    );
    // A finding of one who hardly notices it counts for as little; one of anybody as before.
    let found = |by: &str| {
        let text =
            format!("{LANTERN}\n[[finding]]\nwhat = \"clove\"\nthere = \"no\"\nby = \"{by}\"\n");
        reckoned(&text)
    };
    let r = found("t7");
    let weighed = keenness(&r, &r.document.findings[0], &known).unwrap();
    assert!((weighed.keen - of("T7").keen).abs() < 1e-12);
    let r = found("somebody");
    assert!(keenness(&r, &r.document.findings[0], &known).is_none());
    // What names its taster is evidence too, though not blind.
    let told = found_by(&r);
    assert_eq!(
        (told.len(), told[0].blind, told[0].noticed.noticed),
        (1, false, false)
    );
}

/// How the beer beside the batch tasted is the words of an aim.
#[test]
fn the_admired_beer_says_what_to_aim_at() {
    let (tasting, mut judged) = panel("clove", [1.0; 8], [4.0, 5.0, 4.0, 5.0, 4.0, 5.0, 4.0, 5.0]);
    assert_eq!(admired(&tasting, &judged), "");
    judged.over = true;
    assert_eq!(admired(&tasting, &judged), "clove clear");
    let (body, mut judged) = panel("body", [1.0; 8], [4.0; 8]);
    judged.over = true;
    assert_eq!(admired(&body, &judged), "");
}
