use quantity::Units;
use water::choice::Ahead;

use super::*;
use crate::document::Document;
use crate::library::Analysis;
use crate::liquor::minerals::{DISTILLED, Have};
use crate::wire::liquor::choice::{WaterChoice, water_choice_schema};

const PALE: &str = include_str!("../../../../../examples/lantern-pale.toml");
const MAINS: [(&str, &str); 3] = [
    (
        "2026-02-10",
        include_str!("../../../../../examples/library/harrowmere-mains/2026-02-10.toml"),
    ),
    (
        "2026-06-18",
        include_str!("../../../../../examples/library/harrowmere-mains/2026-06-18.toml"),
    ),
    (
        "2026-09-24",
        include_str!("../../../../../examples/library/harrowmere-mains/2026-09-24.toml"),
    ),
];

fn reckoned(text: &str) -> Reckoning {
    let (document, assumptions) = Document::read(text).unwrap();
    Reckoning::of(document, assumptions).unwrap()
}

fn kept(name: &str, analyses: &[(&str, &str)]) -> Kept {
    let read = |(from, text): &(&str, &str)| KeptAnalysis {
        from: (*from).to_owned(),
        analysis: Analysis::read(name, text).unwrap().0,
        text: (*text).to_owned(),
    };
    Kept {
        key: format!("kept {name}"),
        name: name.to_owned(),
        analyses: analyses.iter().map(read).collect(),
    }
}

fn question(r: &Reckoning, keys: &[&str]) -> Question {
    Question {
        waters: keys
            .iter()
            .map(|key| Wanted {
                water: (*key).to_owned(),
                ..Wanted::default()
            })
            .collect(),
        ..Question::usual(r, &[])
    }
}

#[test]
fn the_sources_of_a_batch_and_their_blend_are_ranked_with_reasons() {
    let r = reckoned(PALE);
    let found = chosen(&r, &[], &Question::usual(&r, &[])).unwrap();
    assert_eq!(found.choice.ranked.len(), 3);
    assert!(found.choice.refused.is_empty());
    for place in 0..3 {
        let reasons = found.reasons(place, Units::Metric);
        assert!(reasons[0].starts_with("meets") || reasons[0].starts_with("misses"));
        let says_why = reasons.iter().any(|reason| reason.starts_with("before "));
        assert_eq!(says_why, place < 2, "{reasons:?}");
    }
    // The tap alone comes as near as the blend: it is not worth a second water.
    assert_eq!(found.choice.ranked[0].name, "Harrowmere town mains");
    assert_eq!(found.choice.ahead(0), Some(Ahead::Waters));
}

#[test]
fn the_seasons_of_a_kept_water_are_gone_through() {
    let r = reckoned(PALE);
    let mains = kept("mains", &MAINS);
    let found = chosen(
        &r,
        std::slice::from_ref(&mains),
        &question(&r, &["kept mains"]),
    )
    .unwrap();
    let ranked = &found.choice.ranked[0];
    assert_eq!(ranked.seasons.len(), 3);
    // 202 to 269 mg/L as CaCO3 is 4.04 to 5.38 mEq/L: more acid in late summer.
    assert!(!ranked.changes.is_empty());
    let days: Vec<f64> = found.waters[0].samples().iter().map(|s| s.day).collect();
    assert_eq!(days, [41.0, 169.0, 267.0]);
    let picks = found.picks(ranked, &ranked.seasons[1]);
    assert_eq!(picks.len(), 1);
    let Which::Kept { text, .. } = &picks[0].water else {
        panic!("{picks:?}")
    };
    assert_eq!(text, MAINS[1].1);
    assert!((picks[0].share.ratio() - 1.0).abs() < 1e-12);
}

#[test]
fn a_water_of_the_batch_that_the_library_has_is_asked_about_once() {
    let r = reckoned(PALE);
    let named = kept("Harrowmere town mains", &MAINS);
    let usual = Question::usual(&r, std::slice::from_ref(&named));
    let keys: Vec<&str> = usual.waters.iter().map(|w| w.water.as_str()).collect();
    assert_eq!(keys, ["source 2", "kept Harrowmere town mains"]);
    let all = waters(&r, &[named]);
    assert_eq!(all[2].title, "Harrowmere town mains (library)");
}

#[test]
fn shares_that_are_taken_make_a_whole() {
    let r = reckoned(PALE);
    let found = chosen(&r, &[], &Question::usual(&r, &[])).unwrap();
    for ranked in &found.choice.ranked {
        let picks = found.picks(ranked, &ranked.seasons[0]);
        let all: f64 = picks.iter().map(|pick| pick.share.ratio()).sum();
        assert!((all - 1.0).abs() < 1e-12, "{}", ranked.name);
    }
}

#[test]
fn distilled_water_with_a_price_is_carried_home() {
    let r = reckoned(PALE);
    let mut asked = question(&r, &["source 1"]);
    asked.minerals.have.push(Have {
        what: DISTILLED.to_owned(),
        price: "0.50".to_owned(),
        amount: String::new(),
    });
    let found = chosen(&r, &[], &asked).unwrap();
    assert!(found.priced);
    let alone = found.choice.ranked.iter().find(|w| w.name == DISTILLED);
    let litres = r.volumes.mash_liquor.l() + r.volumes.sparge_liquor.l();
    let alone = alone.unwrap();
    assert!((alone.bought.l() - litres).abs() < 1e-6);
    assert!((alone.cost.amount() - 0.5 * litres).abs() < 1e-6);
    let picks = found.picks(alone, &alone.seasons[0]);
    assert_eq!(picks[0].water, Which::Distilled);
}

#[test]
fn the_mash_needs_acid_above_the_residual_alkalinity_that_is_told() {
    let r = reckoned(PALE);
    let found = chosen(&r, &[], &Question::usual(&r, &[])).unwrap();
    let above = found.acid_above.unwrap();
    let grist = found.asked.task.grist.as_ref().unwrap();
    let liquor = water::mash_ph::MashLiquor {
        volume: r.volumes.mash_liquor,
        alkalinity: above,
        calcium: quantity::Calcium::default(),
        magnesium: quantity::Magnesium::default(),
        acids: vec![],
    };
    let ph = water::mash_ph::mash_ph(&grist.malts, &grist.acid_malts, &liquor).unwrap();
    assert!((ph.ph.value.ph() - r.mash_aim().ph.ph()).abs() < 1e-3);
}

#[test]
fn an_unfit_water_is_refused_and_the_rest_is_ranked() {
    let text = PALE.replacen("nitrate = \"14 mg/L\"", "nitrate = \"90 mg/L\"", 1);
    let r = reckoned(&text);
    let found = chosen(&r, &[], &Question::usual(&r, &[])).unwrap();
    let refused: Vec<&str> = (found.choice.refused.iter().map(|r| r.name.as_str())).collect();
    assert_eq!(refused, ["Harrowmere town mains"]);
    assert!(
        found.choice.refused[0]
            .error
            .to_string()
            .contains("nitrate")
    );
}

#[test]
fn a_question_that_cannot_be_read_says_where() {
    let r = reckoned(PALE);
    let mut asked = question(&r, &["source 9"]);
    asked.waters[0].price = "much".to_owned();
    asked.minerals.scale = "0 g".to_owned();
    let Err(ChoiceError::Wrong(wrong)) = chosen(&r, &[], &asked) else {
        panic!("it was read")
    };
    let fields: Vec<&str> = wrong.iter().map(|w| w.field.as_str()).collect();
    assert_eq!(fields, ["scale", "price.source 9", "water"]);
    assert!(
        wrong[2]
            .message
            .contains("\"source 1\" (Harrowmere town mains)")
    );
    let none = chosen(&r, &[], &question(&r, &[])).unwrap_err().to_string();
    assert!(none.contains("tick one or more"), "{none}");
    let many = ["source 1"; 7];
    let many = chosen(&r, &[], &question(&r, &many))
        .unwrap_err()
        .to_string();
    assert!(many.contains("take 6 at most"), "{many}");
}

#[test]
fn the_best_few_of_very_many_are_not_sought_for_every_water() {
    let r = reckoned(PALE);
    let mut asked = question(&r, &["cold fell spring, bottled"]);
    asked.minerals.most = "2".to_owned();
    assert!(chosen(&r, &[], &asked).is_ok());
    let salts = water::salts::salts().iter();
    asked.minerals.have = salts.map(|s| Have::plenty(s.name.as_str())).collect();
    let many = chosen(&r, &[], &asked).unwrap_err().to_string();
    assert!(many.contains("tick 8 at most"), "{many}");
}

#[test]
fn a_batch_without_an_aim_has_nothing_to_choose_for() {
    let (head, _) = PALE.split_once("[aim]").unwrap();
    let r = reckoned(head);
    let none = chosen(&r, &[], &Question::usual(&r, &[])).unwrap_err();
    assert_eq!(none, ChoiceError::Task(MineralsError::NoAim));
}

#[test]
fn the_json_form_keeps_to_its_schema() {
    let r = reckoned(PALE);
    let mains = kept("mains", &MAINS);
    let usual = Question::usual(&r, std::slice::from_ref(&mains));
    let found = chosen(&r, &[mains], &usual).unwrap();
    let json = serde_json::to_value(WaterChoice::from(&found)).unwrap();
    let schema = jsonschema::validator_for(&water_choice_schema()).unwrap();
    let wrong: Vec<String> = schema.iter_errors(&json).map(|e| e.to_string()).collect();
    assert!(wrong.is_empty(), "{wrong:?}");
    // Three waters, three pairs.
    assert_eq!(json["ranked"].as_array().unwrap().len(), 6);
}
