use super::*;
use crate::document::Document;
use crate::edit::set_value;
use water::dechlorination::Reagent;
use water::disinfectant::{Effect, Grade, Practice};

const PALE: &str = include_str!("../../../../../examples/lantern-pale.toml");
const FIRST: &str = include_str!("../../../../../examples/lantern-pale-first.toml");
const AMBER: &str = include_str!("../../../../../examples/towpath-amber.toml");

fn reckoned(text: &str) -> Reckoning {
    let (document, assumptions) = Document::read(text).unwrap();
    Reckoning::of(document, assumptions).unwrap()
}

fn fields(pairs: &[(&str, &str)]) -> Question {
    let owned = |(k, v): &(&str, &str)| ((*k).to_owned(), (*v).to_owned());
    Question::of(pairs.iter().map(owned).collect())
}

fn asked(r: &Reckoning, pairs: &[(&str, &str)]) -> Answer {
    r.ways_out(&fields(pairs).read(r).unwrap()).unwrap()
}

fn set(text: &str, values: &[(&str, &str)]) -> String {
    values.iter().fold(text.to_owned(), |text, (path, value)| {
        set_value(&text, path, value).unwrap()
    })
}

/// Chloramine: standing overnight and doing nothing leave it; the reagent of the
/// plan clears it and is the one to take.
#[test]
fn chloraminated_mains_want_the_reagent_at_hand() {
    let r = reckoned(PALE);
    let read = Question::usual(&r).read(&r).unwrap();
    let compared = r.ways_out(&read).unwrap().compared;
    let taken = compared.recommendation.unwrap();
    assert_eq!(taken.way, Way::Reagent(Reagent::PotassiumMetabisulfite));
    assert!(!taken.to_get && !taken.reasons.is_empty());
    for way in [Way::Stand, Way::Nothing] {
        let found = compared.ways.iter().find(|w| w.out.way == way).unwrap();
        assert_eq!(found.out.effect, Effect::Leaves, "{way}");
        assert!(found.why_not.is_some(), "{way}");
    }
}

/// Nothing at hand: what is recommended has to be got first, and is said to be.
#[test]
fn untreated_water_is_told_what_to_get() {
    let r = reckoned(FIRST);
    let taken = asked(&r, &[]).compared.recommendation.unwrap();
    assert!(taken.to_get, "{taken:?}");
}

#[test]
fn what_is_at_hand_decides() {
    let r = reckoned(FIRST);
    let taken = |pairs: &[(&str, &str)]| asked(&r, pairs).compared.recommendation.unwrap();
    let ascorbic = taken(&[("have", "ascorbic acid")]);
    assert_eq!(ascorbic.way, Way::Reagent(Reagent::AscorbicAcid));
    let tablets = [
        ("tablet", "sodium metabisulfite"),
        ("tablet_mass", "0.44 g"),
    ];
    let by_tablet = asked(&r, &tablets);
    let first = &by_tablet.compared.ways[0].out;
    assert_eq!(first.way, Way::Reagent(Reagent::SodiumMetabisulfite));
    assert_eq!(first.dose.as_ref().unwrap().tablets.len(), 3);
    // Someone who cannot take sulfite is not given it.
    let sensitive = [
        ("have", "potassium metabisulfite"),
        ("have", "sodium ascorbate"),
        ("sensitive", "yes"),
    ];
    assert_eq!(
        taken(&sensitive).way,
        Way::Reagent(Reagent::SodiumAscorbate)
    );
}

/// Whatever way is put into the plan, the stream reckons the residual that the
/// comparison promised.
#[test]
fn a_way_that_is_planned_does_what_was_promised() {
    let r = reckoned(PALE);
    let answer = asked(
        &r,
        &[
            ("have", "ascorbic acid"),
            ("tablet", "sodium metabisulfite"),
            ("tablet_mass", "0.44 g"),
            ("have", "activated carbon"),
            ("carbon_volume", "4 L"),
        ],
    );
    let mut planned = 0;
    for way in &answer.compared.ways {
        let Some(plan) = plan_of(&answer.task, &way.out) else {
            continue;
        };
        planned += 1;
        let values: Vec<(&str, &str)> = plan
            .values
            .iter()
            .map(|(k, v)| (k.as_str(), v.as_str()))
            .collect();
        let then = reckoned(&set(PALE, &values));
        let left = then.water.mash.chlorine.at_most.mg_per_l();
        let promised = way.out.residual.at_most.mg_per_l();
        // Standing is followed by kinetics here, by half-lives in the stream.
        if way.out.way == Way::Stand {
            assert!(left > 0.5 && promised > 0.5, "{left} {promised}");
        } else {
            assert!(
                (left - promised).abs() < 0.01,
                "{}: {left} {promised}",
                way.out.way
            );
        }
    }
    assert!(planned >= 10, "{planned} ways can be planned");
}

#[test]
fn a_split_that_nobody_measured_is_judged_and_said_to_be() {
    let unsaid = set(PALE, &[("water.source[1].free_chlorine", "")]);
    let told = |text: &str| {
        let r = reckoned(text);
        let row = r
            .assumptions
            .iter()
            .find(|a| a.path == "water.source[1].free_chlorine")
            .cloned();
        (r, row)
    };
    assert!(told(PALE).1.is_none(), "measured is not judged");
    let (r, row) = told(&unsaid);
    let row = row.unwrap();
    assert!(row.source.contains("without any sign"), "{}", row.source);
    assert_eq!(r.supplies().len(), 1, "the spring holds no chlorine");
    let said = set(&unsaid, &[("water.source[1].disinfectant", "chloramine")]);
    let (sure, _) = told(&said);
    let judged = &sure.supplies()[0].judgement;
    assert_eq!(
        (judged.practice, judged.grade),
        (Practice::Chloramine, Grade::Shown)
    );
    // What is likely all chloramine holds less free chlorine than what may be either.
    let free = |r: &Reckoning| r.tap().free_chlorine.unwrap().upper().mg_per_l();
    assert!(free(&sure) < free(&r), "{} {}", free(&sure), free(&r));
}

#[test]
fn water_without_chlorine_is_left_alone() {
    let r = reckoned(AMBER);
    assert!(r.supplies().is_empty());
    let taken = asked(&r, &[]).compared.recommendation.unwrap();
    assert_eq!(taken.way, Way::Nothing);
}

#[test]
fn carbon_and_air_are_ways_of_the_document() {
    let carbon = set(
        PALE,
        &[
            ("water.treatment.way", "carbon"),
            ("water.treatment.carbon_volume", "20 L"),
            ("water.treatment.carbon_flow", "2 L/min"),
        ],
    );
    // Ten minutes in granular carbon: 4 mg/L become 0.1 mg/L of chloramine, the rule
    // for dialysis water.
    let left = reckoned(&carbon).water.mash.chlorine.total().mg_per_l();
    let tap = reckoned(PALE).tap_chlorine().value.mg_per_l();
    assert!((left / tap - 0.025).abs() < 0.002, "{left} of {tap}");
    let bare = set(PALE, &[("water.treatment.way", "carbon")]);
    let faults = Document::read(&bare).unwrap_err();
    assert!(
        faults
            .iter()
            .any(|f| f.message == "carbon_volume is not said")
    );
    let half = set(&carbon, &[("water.treatment.carbon_capacity", "5000 L")]);
    let faults = Document::read(&half).unwrap_err();
    assert!(
        faults[0].message.contains("carbon_rated_flow"),
        "{}",
        faults[0].message
    );
    let air = set(PALE, &[("water.treatment.way", "aerate")]);
    assert!(
        Document::read(&air).unwrap_err()[0]
            .message
            .contains("how long")
    );
}

/// Figures of nought that another plan left behind make no time of contact of
/// infinity.
#[test]
fn carbon_of_nought_is_a_household_block() {
    let keys = [
        ("water.treatment.carbon_volume", "0 L"),
        ("water.treatment.carbon_flow", "0 L/min"),
        ("water.treatment.carbon_capacity", "100 L"),
        ("water.treatment.carbon_rated_flow", "0 L/min"),
        ("water.treatment.carbon_claim", "chloramine"),
    ];
    let r = reckoned(&set(PALE, &keys));
    let run = r.carbon(&fields(&[]).read(&r).unwrap());
    assert!(run.contact.min() > 0.0 && run.contact.min().is_finite());
    assert!(run.time.min().is_finite() && run.bed.volume.l() > 0.0);
}

#[test]
fn a_wrong_question_is_told_by_field() {
    let r = reckoned(PALE);
    let question = fields(&[
        ("time", "soon"),
        ("have", "moonshine"),
        ("tablet", "sodium metabisulfite"),
        ("scale", "0 g"),
        ("carbon_claim", "all"),
        ("stock_salt", "2 g"),
        ("test", "tea leaves"),
        ("price.a kWh", "-1"),
    ]);
    let wrong = question.read(&r).unwrap_err();
    for field in [
        "time",
        "have",
        "tablet_mass",
        "scale",
        "carbon_claim",
        "stock_volume",
        "test",
        "price.a kWh",
    ] {
        assert!(wrong.iter().any(|w| w.field == field), "{field}: {wrong:?}");
    }
}

/// A breakpoint at 7.6 mg of chlorine per mg of ammonia nitrogen (stoichiometry:
/// 1.5 mol Cl₂ per mol of N, White's Handbook of Chlorination, from memory).
#[test]
fn the_breakpoint_stands_where_stoichiometry_has_it() {
    let answer = BreakpointQuestion::usual().answer().unwrap();
    let nitrogen = answer.ammonia.mg_per_l() * 14.007 / 18.039;
    assert!((answer.curve.theoretical.mg_per_l() / nitrogen - 7.6).abs() < 0.05);
    let found = answer.curve.breakpoint.unwrap().mg_per_l() / nitrogen;
    assert!((7.0..=9.5).contains(&found), "{found}");
    let none = BreakpointQuestion {
        ammonia: "0 mg/L".to_owned(),
        ph: "99".to_owned(),
        ..BreakpointQuestion::usual()
    };
    assert_eq!(none.answer().unwrap_err()[0].field, "ph");
}

#[test]
fn courses_begin_with_the_water_and_fall() {
    let r = reckoned(PALE);
    let lines = asked(&r, &[("have", "ascorbic acid")]).courses().unwrap();
    assert!(
        lines
            .iter()
            .any(|l| l.way == Way::Reagent(Reagent::AscorbicAcid))
    );
    for line in &lines {
        let ends = (line.points.first().unwrap(), line.points.last().unwrap());
        assert!(ends.1.expected <= ends.0.expected, "{}", line.way);
        assert!(
            line.points.iter().all(|p| p.expected <= p.at_most),
            "{}",
            line.way
        );
    }
}

/// The demo with the first source's chlorine put differently.
fn with_chlorine(lines: &str) -> Reckoning {
    let text = PALE
        .replacen(
            "total_chlorine = \"1.8 ± 0.3 mg/L\"      # the utility uses chloramine\nfree_chlorine = \"0.1 mg/L\"",
            lines,
            1,
        );
    assert_ne!(text, PALE);
    let (document, assumptions) = crate::Document::read(&text).unwrap();
    Reckoning::of(document, assumptions).unwrap()
}

fn assumed<'r>(r: &'r Reckoning, path: &str) -> Option<&'r crate::Assumption> {
    r.assumptions.iter().find(|a| a.path == path)
}

#[test]
fn total_chlorine_that_nobody_measured_is_judged_and_listed() {
    let r = with_chlorine("disinfectant = \"chloramine\"\nregion = \"United States\"");
    let total = assumed(&r, "water.source[1].total_chlorine").unwrap();
    assert_eq!(total.mark, quantity::Mark::Judgement);
    assert!(
        total.source.starts_with("chloramine, hardly a doubt"),
        "{}",
        total.source
    );
    // Where supplies of that region usually stand: 0.2 to 4 mg/L; 60 % of it is drawn.
    let held = r.supplies()[0].judgement.total;
    assert!((held.upper().mg_per_l() - 4.0).abs() < 1e-9, "{held:?}");
    assert!(r.tap_chlorine().upper().mg_per_l() >= 0.6 * 4.0);
    let note = r
        .water
        .notes
        .iter()
        .find(|n| n.text.contains("Nobody measured"));
    assert_eq!(note.unwrap().weight, quantity::Weight::Look);
    assert!(r.signs.iter().any(|s| s.weight >= quantity::Weight::Look));
}

#[test]
fn a_supply_of_which_nothing_is_said_is_unknown_up_to_the_worst_usual() {
    let r = with_chlorine("");
    let total = assumed(&r, "water.source[1].total_chlorine").unwrap();
    assert!(total.source.starts_with("unknown"), "{}", total.source);
    let supplies = r.supplies();
    assert!(supplies[0].unknown && !supplies[0].measured());
    assert!(supplies[0].words().starts_with("unknown"));
    let told = r
        .water
        .notes
        .iter()
        .any(|n| n.text.starts_with("Nothing is known of the chlorine"));
    assert!(told);
    // Everywhere: 0.05 to 4 mg/L.
    assert!((supplies[0].judgement.total.upper().mg_per_l() - 4.0).abs() < 1e-9);
}

#[test]
fn water_into_which_nobody_puts_chlorine_holds_none() {
    for kind in ["bottled", "distilled"] {
        let r = with_chlorine(&format!("kind = \"{kind}\""));
        let total = assumed(&r, "water.source[1].total_chlorine").unwrap();
        assert_eq!((total.value.as_str(), r.supplies().len()), ("0 mg/L", 0));
        assert!(r.tap_chlorine().upper().mg_per_l() < 1e-9);
    }
    // But what a supplier says of it counts.
    let r = with_chlorine("kind = \"bottled\"\nchlorine_smell = \"bleach\"");
    assert_eq!(r.supplies().len(), 1);
}

#[test]
fn free_chlorine_alone_makes_the_total_a_range_above_it() {
    let r = with_chlorine(
        "free_chlorine = \"0.5 mg/L\"\nsupplier_says = \"free chlorine, no chloramine\"",
    );
    let supplies = r.supplies();
    let total = supplies[0].judgement.total;
    assert!(
        total.lower().mg_per_l() >= 0.5 - 1e-9 && total.upper().mg_per_l() < 1.0,
        "{total:?}"
    );
    assert!(assumed(&r, "water.source[1].free_chlorine").is_none());
    assert!(assumed(&r, "water.source[1].total_chlorine").is_some());
}

#[test]
fn reagents_at_hand_come_from_stores() {
    let text = include_str!("../../../../../examples/library/quay-street-stores.toml");
    let (stores, _) = crate::library::Stores::read(text).unwrap();
    assert!(!stores.reagents.is_empty());
    let question = Question::of_stores(&stores);
    for stored in &stores.reagents {
        assert!(question.has(&stored.reagent), "{}", stored.reagent);
    }
    assert!(question.read(&reckoned(PALE)).is_ok());
}
