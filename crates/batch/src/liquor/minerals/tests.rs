use super::settings::setting;
use super::*;
use crate::document::Document;
use crate::library::Stores;
use water::design::{Figure, pours_both};

const PALE: &str = include_str!("../../../../../examples/lantern-pale.toml");
const AMBER: &str = include_str!("../../../../../examples/towpath-amber.toml");
const STORES: &str = include_str!("../../../../../examples/library/quay-street-stores.toml");

fn reckoned(text: &str) -> Reckoning {
    let (document, assumptions) = Document::read(text).unwrap();
    Reckoning::of(document, assumptions).unwrap()
}

fn at_hand(question: &Question) -> AtHand {
    AtHand::of(question).unwrap()
}

fn usual(r: &Reckoning) -> AtHand {
    at_hand(&Question::usual(r))
}

/// The reckoning after the design was taken into the text, and taken once more.
fn taken(text: &str, question: &Question) -> (Found, Reckoning) {
    let r = reckoned(text);
    let found = found(&r, &at_hand(question)).unwrap();
    let text = apply(text, &changes(&r, &found)).unwrap();
    (found, reckoned(&text))
}

#[test]
fn every_setting_is_there_and_reads() {
    for key in ["scale", "acid_malt_scale"] {
        setting(key).quantity::<quantity::Mass>();
    }
    for key in ["syringe", "jug"] {
        setting(key).quantity::<quantity::Volume>();
    }
    for key in ["ion_tolerance", "acid_malt_at_most", "ratio_tolerance"] {
        setting(key).quantity::<quantity::Fraction>();
    }
    for key in ["alkalinity_tolerance", "sparge_alkalinity"] {
        setting(key).quantity::<quantity::Alkalinity>();
    }
    for key in ["air", "carbon_dioxide_of_the_tap"] {
        setting(key).quantity::<quantity::PartialPressure>();
    }
    setting("least_ion_tolerance").quantity::<quantity::Sulfate>();
    setting("ph_tolerance").quantity::<quantity::Ph>();
    assert!(setting("have").value.split(", ").count() > 4);
}

/// What the search promises is what the stream reckons once it is in the batch.
#[test]
fn a_design_taken_into_the_batch_reckons_to_what_it_promised() {
    for text in [PALE, AMBER] {
        let (found, after) = taken(text, &Question::usual(&reckoned(text)));
        for liquor in &found.design.liquors {
            let there = match liquor.liquor {
                water::Liquor::Mash => &after.water.mash,
                water::Liquor::Sparge => &after.water.sparge,
            };
            let (ours, its) = (&liquor.water.ions, &there.ions);
            for (ours, its) in [
                (ours.calcium.mg_per_l(), its.calcium.mg_per_l()),
                (ours.sulfate.mg_per_l(), its.sulfate.mg_per_l()),
                (ours.chloride.mg_per_l(), its.chloride.mg_per_l()),
                (
                    liquor.water.alkalinity.meq_per_l(),
                    there.alkalinity.meq_per_l(),
                ),
            ] {
                assert!((ours - its).abs() < 1e-6, "{ours} {its}");
            }
        }
        let (ours, its) = (found.design.mash_ph.unwrap(), after.mash_ph.unwrap());
        assert!((ours.ph.value.ph() - its.ph.value.ph()).abs() < 1e-6);
        for line in &found.design.lines {
            let key = line.figure.name().replace(' ', "_").to_lowercase();
            let aim = after.aim.iter().find(|a| a.key == key).unwrap();
            assert_eq!(aim.met, Some(line.met()), "{key}");
        }
    }
}

#[test]
fn what_is_right_already_is_left_as_it_is_written() {
    let question = Question::usual(&reckoned(PALE));
    let (_, after) = taken(PALE, &question);
    let again = found(&after, &at_hand(&question)).unwrap();
    assert_eq!(changes(&after, &again), []);
}

#[test]
fn a_free_blend_and_distilled_water_come_into_the_sources() {
    let mut question = Question::usual(&reckoned(AMBER));
    question.have.push(Have::plenty(DISTILLED));
    let (found, after) = taken(AMBER, &question);
    let sum: f64 = after
        .document
        .water
        .sources
        .iter()
        .map(|s| s.share.unwrap().value.ratio())
        .sum();
    assert!((sum - 1.0).abs() < 1e-9, "{sum}");
    let uses = found.design.liquors[0]
        .blend
        .iter()
        .any(|p| p.name == DISTILLED);
    let last = after.document.water.sources.last().unwrap();
    assert_eq!(last.name == DISTILLED, uses);
}

#[test]
fn stores_give_names_and_amounts() {
    let (stores, _) = Stores::read(STORES).unwrap();
    let at_hand = at_hand(&Question::of_stores(&stores));
    assert_eq!(at_hand.salts.len(), stores.salts.len());
    let gypsum = at_hand
        .salts
        .iter()
        .find(|s| s.salt.name == "gypsum")
        .unwrap();
    assert!((gypsum.at_hand.unwrap().g() - 180.0).abs() < 1e-9);
    assert_eq!(at_hand.acids.len(), 1);
    // Stores without the salt that is needed say so by what they leave unmet.
    let found = found(&reckoned(PALE), &at_hand).unwrap();
    assert!(
        found
            .design
            .salts()
            .all(|d| stores.salts.iter().any(|s| s.salt == d.salt.name))
    );
}

#[test]
fn acidulated_malt_at_hand_replaces_that_of_the_grist() {
    let malty = PALE.replacen(
        "[mash]",
        "[[grist]]\nclass = \"acidulated malt\"\namount = \"400 g\"\n\n[mash]",
        1,
    );
    let r = reckoned(&malty);
    let mut question = Question::usual(&r);
    assert!(question.has(MALT).is_some());
    question.have.retain(|h| h.what != "lactic acid 80 %");
    let found = found(&r, &at_hand(&question)).unwrap();
    let kg = found.design.acid_malt.unwrap().mass.kg();
    assert!(kg > 0.0 && kg <= 0.05 * 3.8 + 1e-9, "{kg}");
    let after = reckoned(&apply(&malty, &changes(&r, &found)).unwrap());
    let malts: Vec<f64> = after
        .document
        .grist
        .iter()
        .filter(|g| g.class == MALT)
        .map(|g| g.amount.value.kg())
        .collect();
    assert_eq!(malts.len(), 1);
    assert!((malts[0] - kg).abs() < 1e-9);
}

/// The demo on its hard water alone.
fn all_hard() -> String {
    PALE.replacen("share = \"60 %\"", "share = \"100 %\"", 1)
        .replacen("share = \"40 %\"", "share = \"0 %\"", 1)
}

/// The usual question, where nothing but boiling or lime takes out alkalinity.
fn without_acids(r: &Reckoning) -> Question {
    let mut question = Question::usual(r);
    question.have.retain(|h| !h.what.contains("acid"));
    question
}

#[test]
fn a_boiled_water_brings_its_own_analysis() {
    let hard = all_hard();
    let r = reckoned(&hard);
    let mut question = without_acids(&r);
    question.boiled = true;
    question.limed = true;
    let found = found(&r, &at_hand(&question)).unwrap();
    let ready = found.pretreated().next().unwrap();
    assert!(!ready.cautions.is_empty());
    let after = reckoned(&apply(&hard, &changes(&r, &found)).unwrap());
    let source = &after.document.water.sources[0];
    assert!(source.name.ends_with(&ready.how), "{}", source.name);
    let fell = ready.water.alkalinity.meq_per_l() - source.alkalinity.value.meq_per_l();
    assert!(fell.abs() < 1e-3);
    assert!(source.alkalinity.value.meq_per_l() < 0.6 * 238.0 / 50.04);
    // What it leaves is not known exactly, and the document says how far.
    let spread = source.alkalinity.sd();
    assert!((0.05..1.0).contains(&spread), "{spread}");
    assert!((spread - ready.left.alkalinity.sd()).abs() < 5.1e-3);
    assert!(source.calcium.sd() > 0.0);
}

#[test]
fn a_limed_water_says_so_and_how_much_lime_it_takes() {
    let hard = all_hard();
    let r = reckoned(&hard);
    let mut question = without_acids(&r);
    question.limed = true;
    let found = found(&r, &at_hand(&question)).unwrap();
    let parts = found.design.liquors.iter().flat_map(|l| &l.blend);
    let limed: Vec<_> = parts.filter(|part| part.how == "limed").collect();
    assert!(!limed.is_empty());
    for part in limed {
        assert!(part.name.ends_with(", limed"), "{}", part.name);
        // One Ca(OH)₂ (74.09) for each two HCO₃⁻: 4.76 mEq/L take 176 mg/L, and what the
        // carbon dioxide of the tap takes comes on top; practice doses a share of it.
        let mg_per_l = 1000.0 * found.lime(part).unwrap().g() / part.volume.l();
        assert!((120.0..240.0).contains(&mg_per_l), "{mg_per_l}");
    }
}

/// Lime takes out what it is dosed for: of an alkalinity that is not quite known, all that
/// is more than thought stays in the water, and none of it in one that is boiled, down to
/// where a boil stops.
#[test]
fn what_the_analysis_leaves_open_stays_open_after_lime() {
    let spread = |alkalinity: &str, way: fn(&mut Question)| {
        let text = all_hard()
            .replacen("238 ± 10 mg/L as CaCO3", alkalinity, 1)
            .replacen("104 ± 4 mg/L", "104 mg/L", 1);
        let r = reckoned(&text);
        let mut question = without_acids(&r);
        way(&mut question);
        let found = found(&r, &at_hand(&question)).unwrap();
        found.pretreated().next().unwrap().left.alkalinity.sd()
    };
    let limed = |alkalinity| spread(alkalinity, |q| q.limed = true);
    let boiled = |alkalinity| spread(alkalinity, |q| q.boiled = true);
    let (known, unsure) = ("238 mg/L as CaCO3", "238 ± 25 mg/L as CaCO3");
    let more = |with: f64, without: f64| (with.powi(2) - without.powi(2)).sqrt();
    let of_lime = more(limed(unsure), limed(known));
    assert!((0.3..1.0).contains(&of_lime), "{of_lime}");
    let of_boil = more(boiled(unsure), boiled(known));
    assert!(of_boil < 0.1 * of_lime, "{of_boil}");
}

#[test]
fn a_limit_for_the_sparge_is_kept_or_said_to_be_taken() {
    let r = reckoned(PALE);
    let found_usual = found(&r, &usual(&r)).unwrap();
    let sparge = &found_usual.design.liquors[1].water;
    assert!(sparge.alkalinity.meq_per_l() <= 1.0 + 1e-9);
    let said = |found: &Found| {
        let mut paths = found.asked.assumptions.iter().map(|a| a.path.as_str());
        paths.any(|path| path == "aim.sparge_alkalinity")
    };
    assert!(said(&found_usual));
    let own = PALE.replacen("[aim]", "[aim]\nsparge_alkalinity = \"0.6 mEq/L\"", 1);
    let r = reckoned(&own);
    let found_own = found(&r, &usual(&r)).unwrap();
    assert!(!said(&found_own));
    assert!(found_own.design.liquors[1].water.alkalinity.meq_per_l() <= 0.6 + 1e-9);
}

#[test]
fn the_sparge_liquor_can_have_the_ions_of_the_mash() {
    let r = reckoned(PALE);
    let mut question = Question::usual(&r);
    question.sparge_alike = true;
    let found = found(&r, &at_hand(&question)).unwrap();
    let calcium = |at: usize| found.design.liquors[at].water.ions.calcium.mg_per_l();
    assert!((calcium(1) - 120.0).abs() <= 25.0, "{}", calcium(1));
    let sparge = found
        .design
        .lines
        .iter()
        .filter(|l| l.liquor == Some(water::Liquor::Sparge));
    assert!(sparge.count() >= 3);
}

#[test]
fn the_sparge_liquor_can_be_brought_to_a_ph() {
    let r = reckoned(PALE);
    let mut question = Question::usual(&r);
    question.sparge_ph = "5.6".to_owned();
    let (found, after) = taken(PALE, &question);
    let sparge = found.design.lines.iter();
    let mut sparge = sparge.filter(|l| l.liquor == Some(water::Liquor::Sparge));
    let line = sparge.find(|l| l.figure == Figure::Alkalinity).unwrap();
    assert!(line.met());
    // The whole speciation of the batch that has taken it agrees: pH 5.6 within what a
    // mark of the syringe moves.
    let of = crate::liquor::dissolved::Question {
        of: "sparge".to_owned(),
        ..Default::default()
    };
    let dissolved = crate::liquor::dissolved::dissolved(&after, &of).unwrap();
    assert!(
        (dissolved.is.ph.ph() - 5.6).abs() < 0.1,
        "{}",
        dissolved.is.ph
    );
    question.sparge_ph = "9".to_owned();
    let none = super::found(&r, &at_hand(&question))
        .unwrap_err()
        .to_string();
    assert!(none.starts_with("sparge water to pH 9"), "{none}");
}

#[test]
fn aims_without_a_spread_take_one_that_is_listed() {
    let bare = PALE
        .replacen("calcium = \"120 ± 25 mg/L\"", "calcium = \"120 mg/L\"", 1)
        .replacen(
            "mash_ph = \"5.45 ± 0.1\"",
            "mash_ph = \"5.45\"\nalkalinity = \"20 mg/L as CaCO3\"\nsulfate_to_chloride = \"0.5\"",
            1,
        );
    let r = reckoned(&bare);
    let asked = task(&r, &usual(&r)).unwrap();
    let calcium = asked.task.mash.aims.calcium.unwrap();
    assert!((calcium.tolerance.mg_per_l() - 12.0).abs() < 1e-9);
    let ratio = asked.task.mash.aims.sulfate_to_chloride.unwrap();
    // A fifth of 0.5 at 130 mg/L of chloride.
    assert!((ratio.tolerance.mg_per_l() - 13.0).abs() < 1e-9);
    for path in [
        "± of aim.calcium",
        "± of aim.mash_ph",
        "± of aim.alkalinity",
    ] {
        assert!(asked.assumptions.iter().any(|a| a.path == path), "{path}");
    }
    let found = found(&r, &usual(&r)).unwrap();
    assert!(
        found
            .design
            .lines
            .iter()
            .any(|l| l.figure == Figure::Alkalinity)
    );
    // Alkalinity and pH ask for nearly the same: no acid is poured to undo a base.
    assert!(!pours_both(&found.design));
    let litres: f64 = found
        .design
        .acids()
        .map(|d| match d.amount {
            water::acids::AcidAmount::Volume(volume) => volume.l(),
            water::acids::AcidAmount::Mass(mass) => mass.kg(),
        })
        .sum();
    assert!(litres < 0.02, "{litres}");
    // And it is said which of the two aims to drop.
    let said = found.notes().find(|n| n.text.contains("drop aim."));
    assert!(said.unwrap().text.contains("drop aim.alkalinity"));
    assert!(r.aim.iter().any(|l| l.key == "sulfate_to_chloride"));
}

#[test]
fn a_question_that_cannot_be_read_says_where_and_what_would_work() {
    let question = Question {
        have: vec![
            Have::plenty("gypsm"),
            Have::plenty("lactic acid"),
            Have {
                amount: "much".to_owned(),
                price: "-1".to_owned(),
                ..Have::plenty("Epsom salt")
            },
        ],
        scale: "0 g".to_owned(),
        syringe: "0.5 g".to_owned(),
        most: "two".to_owned(),
        ..Question::default()
    };
    let wrong = AtHand::of(&question).unwrap_err();
    let at = |field: &str| {
        let found = wrong.iter().filter(|w| w.field == field);
        found
            .map(|w| w.message.clone())
            .collect::<Vec<_>>()
            .join(" ")
    };
    assert!(at("have").contains("write gypsum"), "{}", at("have"));
    assert!(at("have").contains("lactic acid 80 % or lactic acid 88 %"));
    assert!(at("amount.Epsom salt").contains("much"), "{wrong:?}");
    assert!(at("price.Epsom salt").contains("6.50"));
    assert!(at("scale").contains("0.1 g") && at("most").contains("such as 3"));
    assert!(!at("syringe").is_empty());
}

#[test]
fn without_an_aim_there_is_nothing_to_search_for() {
    let (head, _) = PALE.split_once("[aim]").unwrap();
    let r = reckoned(head);
    let error = found(&r, &usual(&r)).unwrap_err();
    assert_eq!(error, MineralsError::NoAim);
    assert!(error.to_string().contains("give it calcium"));
}

#[test]
fn a_water_that_must_not_be_used_is_refused_with_its_reasons() {
    let bad = PALE.replacen(
        "alkalinity = \"238",
        "notice = \"boil\"\nalkalinity = \"238",
        1,
    );
    let r = reckoned(&bad);
    for free_blend in [false, true] {
        let question = Question {
            free_blend,
            ..Question::usual(&r)
        };
        let error = found(&r, &at_hand(&question)).unwrap_err().to_string();
        assert!(error.contains("must not be used"), "{error}");
    }
}

#[test]
fn limits_that_contradict_each_other_say_what_to_let_go() {
    let strict = PALE.replacen("[aim]", "[aim]\nsparge_alkalinity = \"0.5 mEq/L\"", 1);
    let r = reckoned(&strict);
    let question = without_acids(&r);
    let error = found(&r, &at_hand(&question)).unwrap_err().to_string();
    assert!(error.contains("let share of Cold Fell spring"), "{error}");
}

#[test]
fn the_json_form_keeps_to_its_schema() {
    use crate::wire::liquor::minerals::{Minerals, minerals_schema};
    let r = reckoned(PALE);
    let form = Minerals::of(&found(&r, &usual(&r)).unwrap(), None);
    let value = serde_json::to_value(&form).unwrap();
    let validator = jsonschema::validator_for(&minerals_schema()).unwrap();
    assert!(validator.is_valid(&value), "{value}");
    assert!(form.additions.iter().any(|a| a.mass_g.is_some()));
    assert!(form.cost.is_none() && form.aims.len() >= 4);
}

/// A mash pH alone wants acid alone: salts that no aim asks for stay in the cupboard.
#[test]
fn nothing_is_added_that_no_aim_asks_for() {
    let r = reckoned(include_str!(
        "../../../../../examples/lantern-pale-first.toml"
    ));
    let aim = r.document.aim.as_ref().unwrap();
    assert!(aim.calcium.is_none() && aim.mash_ph.is_some());
    let found = found(&r, &usual(&r)).unwrap();
    assert_eq!(found.design.salts().count(), 0);
    assert!(found.design.acids().count() > 0);
    assert!(found.design.lines.iter().all(water::design::Line::met));
}

/// What is weighed stays, the water differs: 60 % of the mains, whose calcium is known
/// within 4 mg/L, makes 1.645 × 2.4 mg/L to each side. The chance is the share of draws
/// within the tolerance, as the stream has it for the same document.
#[test]
fn a_design_says_how_sure_each_line_is() {
    use crate::certainty::{Question as Draws, certainty};
    let r = reckoned(PALE);
    let found = found(&r, &usual(&r)).unwrap();
    let told = sure(PALE, &r, &found).unwrap();
    assert_eq!(told.len(), found.design.lines.len());
    let text = apply(PALE, &changes(&r, &found)).unwrap();
    let after = reckoned(&text);
    let stream = certainty(&text, &Draws::GLANCE, &|_, _| true).unwrap();
    let mut seen = 0;
    for (line, told) in found.design.lines.iter().zip(&told) {
        let key = match line.figure {
            Figure::Calcium => "calcium",
            Figure::MashPh => "mash_ph",
            _ => continue,
        };
        seen += 1;
        let between = told.between.unwrap();
        let [low, high] = [between.low, between.high].map(|level| level.canonical());
        let same = stream.figure(key).unwrap();
        assert!((low - same.low).abs() < 1e-6 * low && (high - same.high).abs() < 1e-6 * high);
        let aim = after.aim.iter().find(|line| line.key == key).unwrap();
        let chance = stream.chance_of(aim).unwrap();
        assert!(
            (told.chance - chance).abs() < 0.03,
            "{} {chance}",
            told.chance
        );
        if line.figure == Figure::Calcium {
            let half = 0.5 * (high - low);
            assert!((half / (1.645 * 0.6 * 4.0) - 1.0).abs() < 0.15, "{half}");
        }
    }
    assert_eq!(seen, 2);
}
