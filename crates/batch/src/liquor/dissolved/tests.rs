use super::*;
use crate::document::Document;
use quantity::{Alkalinity, Calcium, MassConcentration, Molality, Ph, Quantity as _};
use water::acids::AcidAmount;
use water::speciation::Mineral;

const LANTERN: &str = include_str!("../../../../../examples/lantern-pale.toml");
const TOWPATH: &str = include_str!("../../../../../examples/towpath-amber.toml");

fn reckoned(text: &str) -> Reckoning {
    let (document, assumptions) = Document::read(text).unwrap();
    Reckoning::of(document, assumptions).unwrap()
}

fn ask(r: &Reckoning, question: Question) -> Dissolved {
    let found = dissolved(r, &question).unwrap();
    assert_eq!(found.wrong, []);
    found
}

fn of(which: &str) -> Question {
    Question {
        of: which.to_owned(),
        ..Question::default()
    }
}

fn ml(amount: AcidAmount) -> f64 {
    match amount {
        AcidAmount::Volume(volume) => 1000.0 * volume.l(),
        AcidAmount::Mass(_) => panic!("a liquid is measured"),
    }
}

#[test]
fn every_water_of_a_batch_can_be_asked_for() {
    for text in [LANTERN, TOWPATH] {
        let r = reckoned(text);
        for which in Which::all(&r) {
            let found = ask(&r, of(&which.key()));
            assert_eq!(found.of, which);
            assert_eq!(found.boiled.is_none(), which.is_liquor());
            let boiled = 2 * usize::from(found.boiled.is_some());
            let limed = usize::from(found.lime.is_some());
            assert_eq!(found.states().len(), 3 + boiled + limed);
            assert!(found.is.ph.within_bounds());
            // By its name as well as by its key.
            assert_eq!(ask(&r, of(&found.name)).of, which);
        }
    }
}

#[test]
fn the_tap_lies_between_its_sources_and_the_plan_lowers_it() {
    let r = reckoned(LANTERN);
    let alkalinity = |which| ask(&r, of(which)).is.alkalinity.meq_per_l();
    let (mains, spring, tap) = (
        alkalinity("source 1"),
        alkalinity("source 2"),
        alkalinity("tap"),
    );
    assert!(spring < tap && tap < mains);
    assert!((tap - (0.6 * mains + 0.4 * spring)).abs() < 1e-3);
    // 5.5 mL of lactic acid into the mash, 2.5 mL into the sparge.
    assert!(alkalinity("mash") < 1.0 && alkalinity("sparge") < tap);
    let treated = ask(&r, of("mash")).is;
    assert!((treated.ions.calcium.mg_per_l() - r.water.mash.ions.calcium.mg_per_l()).abs() < 0.2);
    assert!(treated.ph.ph() < 6.5);
}

#[test]
fn hot_water_scales_more_and_a_boil_and_lime_take_alkalinity_out() {
    let r = reckoned(LANTERN);
    let found = ask(&r, of("source 1"));
    let si = |s: &Speciated| s.saturation_of(Mineral::Calcite).unwrap();
    assert!(si(&found.heated) > si(&found.is));
    let before = found.is.alkalinity.meq_per_l();
    let limed = found.lime.unwrap();
    assert!(found.boiled.unwrap().alkalinity.meq_per_l() < 0.6 * before);
    assert!(limed.settled.alkalinity.meq_per_l() < 0.6 * before);
    let g = limed.taken.mg_per_l() * limed.volume.l() / 1000.0;
    assert!((limed.in_all.g() - g).abs() < 1e-9);
}

/// Acid to a pH more than to a higher one, more once the gas has left, and in
/// proportion to the water; the plan's own acid is not in it.
#[test]
fn acid_is_for_the_water_without_the_acid_of_the_plan() {
    let r = reckoned(LANTERN);
    let to = |to: &str, volume: &str| {
        let question = Question {
            to: to.to_owned(),
            volume: volume.to_owned(),
            ..of("sparge")
        };
        ask(&r, question).acid.unwrap()
    };
    let (weak, strong) = (to("6.0", "10 L"), to("5.5", "10 L"));
    assert!(ml(strong.amount()) > ml(weak.amount()));
    assert!(ml(strong.amount_open()) > ml(strong.amount()));
    assert!((ml(to("5.5", "20 L").amount()) - 2.0 * ml(strong.amount())).abs() < 1e-9);
    assert!((ml(strong.per_ten_litres()) - ml(strong.amount())).abs() < 1e-9);
    assert!(strong.before.ph() > 7.0);
    let left = to("0.5 mEq/L", "10 L");
    assert!((left.closed.after.alkalinity().meq_per_l() - 0.5).abs() < 1e-3);
    assert!(left.open.after.ph() > left.closed.after.ph());
}

#[test]
fn what_cannot_be_read_is_told_field_by_field_and_the_rest_is_answered() {
    let r = reckoned(LANTERN);
    let question = Question {
        of: "the moat".to_owned(),
        temperature: "120 °C".to_owned(),
        acid: "lactic acid 8000 %".to_owned(),
        to: "sour".to_owned(),
        volume: "0 L".to_owned(),
        lime: "two spoons".to_owned(),
    };
    let found = dissolved(&r, &question).unwrap();
    let fields: Vec<&str> = found.wrong.iter().map(|w| w.field.as_str()).collect();
    assert_eq!(
        fields,
        ["of", "temperature", "lime", "volume", "acid", "to"]
    );
    assert_eq!((found.of, found.acid), (Which::Tap, None));
    assert!(found.lime.is_some());
    let high = Question {
        to: "9.5".to_owned(),
        ..Question::default()
    };
    let found = dissolved(&r, &high).unwrap();
    assert!(
        found.wrong[0].message.contains("name a pH below"),
        "{:?}",
        found.wrong
    );
}

#[test]
fn a_water_that_must_not_be_used_gets_no_dose() {
    let text = LANTERN.replacen(
        "[[water.source]]",
        "[[water.source]]\nnotice = \"do not drink\"",
        1,
    );
    let r = reckoned(&text);
    for which in ["tap", "source 1", "mash"] {
        let found = ask(&r, of(which));
        assert!(
            found.refused.is_some() && found.lime.is_none() && found.acid.is_none(),
            "{which}"
        );
    }
    assert!(ask(&r, of("source 2")).refused.is_none());
    assert_eq!(r.glance().unwrap().lime, None);
}

#[test]
fn a_ph_that_does_not_go_with_the_alkalinity_is_told_with_the_water() {
    let text = LANTERN.replacen("[[water.source]]", "[[water.source]]\nph = \"13.5\"", 1);
    let r = reckoned(&text);
    let error = r.glance().unwrap_err().to_string();
    assert!(error.contains("leave the pH out"), "{error}");
}

#[test]
fn saturation_is_told_in_words() {
    assert_eq!(saturation_words(0.32), "would scale: +0.32");
    assert_eq!(saturation_words(-0.4), "dissolves chalk: -0.40");
    assert_eq!(saturation_words(0.04), "in balance: +0.04");
}

/// The document with the acid in it makes the sparge liquor that was asked for.
#[test]
fn the_acid_that_is_taken_brings_the_sparge_there() {
    let r = reckoned(LANTERN);
    let question = Question {
        to: "5.6".to_owned(),
        acid: "phosphoric acid 10 %".to_owned(),
        ..of("sparge")
    };
    let changes = ask(&r, question).changes(&r).unwrap();
    let text = crate::liquor::minerals::apply(LANTERN, &changes).unwrap();
    let after = reckoned(&text);
    let acids = &after.document.water.acids;
    assert_eq!(
        acids.len(),
        2,
        "the one for the sparge is replaced: {acids:?}"
    );
    let ph = ask(&after, of("sparge")).is.ph.ph();
    assert!((ph - 5.6).abs() < 0.02, "{ph}");
    assert_eq!(ask(&r, of("mash")).changes(&r), None);
}

/// Alkalinity and calcium are what is not known of the mains. Nine of ten normal numbers lie
/// within 1.645 standard deviations (any table), and acid goes with alkalinity in a straight
/// line: 10 mg/L as CaCO3 are 0.1998 mEq/L, and lactic acid gives all but some hundredths of
/// its proton. Few draws tell the ends within a fifth of a standard deviation.
#[test]
fn what_is_not_known_of_the_water_is_what_is_not_known_of_its_figures() {
    let r = reckoned(LANTERN);
    let question = Question {
        to: "50 mg/L as CaCO3".to_owned(),
        ..of("source 1")
    };
    let found = ask(&r, question);
    let sure = sure(LANTERN, &found).unwrap();
    let near = |between: Between<f64>, middle: f64, sd: f64| {
        let ends = [between.low, between.high];
        for (end, z) in ends.iter().zip([-1.645, 1.645]) {
            assert!(
                (end - (middle + z * sd)).abs() < 0.2 * sd,
                "{ends:?} {middle} ± {sd}"
            );
        }
    };
    let of_alkalinity = sure.states[0].alkalinity.unwrap();
    let meq = of_alkalinity.map(Alkalinity::meq_per_l);
    near(meq, 238.0 / 50.04, 10.0 / 50.04);
    let calcium = sure.states[0].calcium.unwrap();
    near(calcium.map(Calcium::mg_per_l), 104.0, 4.0);
    let (acid, told) = (sure.acid.unwrap(), found.acid.unwrap());
    let dose = acid.closed.dose.unwrap().map(Molality::mmol_per_kg);
    let takes = 188.0 / 50.04;
    let per_meq = told.closed.dose.mmol_per_kg() / takes;
    near(dose, takes * per_meq, 10.0 / 50.04 * per_meq);
    // Poured as it is told, the same doubt is left of the alkalinity.
    let after = acid.closed.alkalinity.unwrap().map(Alkalinity::meq_per_l);
    near(after, 50.0 / 50.04, 10.0 / 50.04);
    // The formula of lime counts bicarbonate half: 37.05 g of Ca(OH)2 for an equivalent.
    let lime = sure.lime.unwrap().map(MassConcentration::mg_per_l);
    let width = (lime.high - lime.low) / (2.0 * 1.645 * 10.0 / 50.04);
    assert!((30.0..50.0).contains(&width), "{width}");
}

#[test]
fn every_state_of_every_water_is_told_how_sure_it_is() {
    for text in [LANTERN, TOWPATH] {
        let r = reckoned(text);
        for which in Which::all(&r) {
            let found = ask(&r, of(&which.key()));
            let sure = sure(text, &found).unwrap();
            assert_eq!(sure.states.len(), found.states().len());
            assert_eq!(sure.acid.is_some(), found.acid.is_some());
            for (state, sure) in found.states().iter().zip(&sure.states) {
                let within = |value: f64, between: Option<Between<f64>>| {
                    between.is_none_or(|b| {
                        let room = b.high - b.low;
                        (b.low - room..=b.high + room).contains(&value)
                    })
                };
                let (ph, calcium) = (sure.ph.map(|b| b.map(Ph::ph)), sure.calcium);
                assert!(within(state.is.ph.ph(), ph), "{which:?} {}", state.name);
                let calcium = calcium.map(|b| b.map(Calcium::mg_per_l));
                let is = state.is.ions.calcium.mg_per_l();
                assert!(within(is, calcium), "{which:?} {}", state.name);
            }
        }
    }
}
