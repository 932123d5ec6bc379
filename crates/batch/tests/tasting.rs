//! Tastings as documents: what is read, what is refused, what is said.

#![expect(clippy::unwrap_used, reason = "helpers of tests may fail the test")]

use batch::tasting::{Judged, Plan, PlanQuestion, Tasting};
use batch::wire::tasting::{
    TastingPlan, TastingResult, tasting_plan_schema, tasting_result_schema,
};
use glass::tasting::{Beer, Protocol, Replicates, replicated};
use proptest::prelude::*;

fn text(more: &str, tasters: &[&str]) -> String {
    let mut text = format!(
        "[tasting]\nname = \"beside the aim\"\nbeer = \"the batch\"\nreference = \"the aim\"\nseed = \"7\"\n{more}\n"
    );
    for name in tasters {
        text.push_str(&format!("[[taster]]\nname = \"{name}\"\n"));
    }
    text
}

/// The document with its first tastings answered, rightly or not.
fn answered(text: &str, right: &[bool]) -> String {
    let (tasting, _) = Tasting::read(text).unwrap();
    let mut text = text.to_owned();
    for (place, &right) in right.iter().enumerate() {
        let serving = &tasting.design.servings[place];
        let code = serving
            .codes
            .iter()
            .find(|code| serving.right(tasting.protocol, &[**code]) == Some(right))
            .unwrap();
        text.push_str(&format!(
            "[[answer]]\ntasting = \"{}\"\nglass = \"{code}\"\n",
            place + 1
        ));
    }
    text
}

fn judged(text: &str) -> Judged {
    Judged::of(&Tasting::read(text).unwrap().0).unwrap()
}

fn faults(text: &str) -> String {
    let faults = Tasting::read(text).unwrap_err();
    let said: Vec<String> = faults
        .iter()
        .map(|f| format!("{}; {}", f.message, f.help))
        .collect();
    said.join("\n")
}

fn six(protocol: Protocol, difference: f64) -> Plan {
    Plan::of(PlanQuestion {
        protocol,
        tastings: 6,
        difference,
        false_alarm: 0.05,
        missed: 0.10,
    })
    .unwrap()
}

#[test]
fn power_is_said_before_pouring_and_a_stronger_way_is_offered() {
    let plan = six(Protocol::Triangle, 1.0);
    assert_eq!(
        plan.says[0],
        "6 triangles see a difference of d' = 1 in 5.0 % of cases."
    );
    let all = plan.says.join("\n");
    assert!(
        all.contains("5 right of 6 show a difference; by guessing alone that happens in 1.8 %"),
        "{all}"
    );
    assert!(
        all.contains("As many tetrads see it in 10 % of cases"),
        "{all}"
    );
    assert!(
        all.contains("as many pairs see it in 19 % of cases"),
        "{all}"
    );
    assert!(all.contains("takes 301 triangles"), "{all}");
    assert!(all.contains("no proof that the beers are alike"), "{all}");
    assert_eq!(plan.beside[0].protocol, Protocol::ThreeChoices);
}

#[test]
fn a_small_panel_that_cannot_show_anything_is_told_so() {
    let plan = Plan::of(PlanQuestion {
        tastings: 2,
        ..six(Protocol::Triangle, 1.0).question
    })
    .unwrap();
    assert!(plan.says[1].contains("Not even 2 right of 2 would show a difference"));
}

#[test]
fn five_of_six_show_a_difference() {
    let text = answered(
        &text("tastings = \"6\"", &["Ann"]),
        &[true, true, false, true, true, true],
    );
    let judged = judged(&text);
    assert!(judged.over && judged.shown());
    assert_eq!(judged.headline, "A difference is shown: 5 right of 6.");
    assert!(judged.can_say[0].contains("1.8 %"), "{:?}", judged.can_say);
    assert!(
        judged
            .cannot_say
            .iter()
            .any(|l| l.contains("only Ann tasted"))
    );
}

#[test]
fn nothing_shown_is_never_said_to_be_the_same() {
    for right in 0..5 {
        let answers: Vec<bool> = (0..6).map(|n| n < right).collect();
        let judged = judged(&answered(
            &text("tastings = \"6\"", &["Ann", "Ben"]),
            &answers,
        ));
        assert!(
            judged.headline.starts_with("No difference is shown"),
            "{}",
            judged.headline
        );
        let all = [judged.can_say.join(" "), judged.headline.clone()].concat();
        for word in [
            "same",
            "identical",
            "alike:",
            "equal",
            "no difference between the beers",
        ] {
            assert!(!all.contains(word), "{word}: {all}");
        }
        let cannot = judged.cannot_say.join("\n");
        assert!(
            cannot.contains(
                "That the beers are alike. 6 triangles see a difference of d' = 2 in 24 % of cases."
            ),
            "{cannot}"
        );
    }
}

#[test]
fn likeness_has_its_own_proof_and_needs_a_taster_each() {
    let names: Vec<String> = (1..=36).map(|n| format!("taster {n}")).collect();
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    let plan = text(
        "tastings = \"36\"\nalike = \"40 %\"\nmissed = \"5 %\"",
        &names,
    );
    let answers = |right: usize| (0..36).map(|n| n < right).collect::<Vec<_>>();
    // 16 of 36 for a limit of 0.4 at 0.05: the exact binomial.
    let fine = judged(&answered(&plan, &answers(16)));
    assert!(
        fine.headline.contains("likeness within the limit is"),
        "{}",
        fine.headline
    );
    let not = judged(&answered(&plan, &answers(17)));
    assert!(!not.similarity.unwrap().shown());
    let few = text("tastings = \"36\"\nalike = \"40 %\"", &["Ann", "Ben"]);
    let repeated = judged(&answered(&few, &answers(12)));
    assert!(repeated.similarity.is_none());
    assert!(
        repeated
            .cannot_say
            .join("\n")
            .contains("Likeness: that test needs one tasting from each")
    );
    assert!(repeated.replicated.is_some());
}

#[test]
fn a_tasting_that_is_not_over_says_to_pour_on() {
    let plan = text("tastings = \"12\"", &["Ann", "Ben", "Cid"]);
    let open = judged(&answered(&plan, &[true, true, true, true, true]));
    assert!(!open.over && !open.shown());
    assert_eq!(
        open.headline,
        "5 right of 5 so far, up to 7 to come: pour on."
    );
    assert!(open.cannot_say[0].contains("looking early makes false alarms likelier"));
    assert_eq!(
        judged(&plan).headline,
        "Nothing is answered yet; 12 triangles are planned."
    );
}

#[test]
fn a_rule_set_before_may_end_it_early() {
    let plan = text("tastings = \"30\"\nstop = \"early\"", &["Ann", "Ben"]);
    let early = judged(&answered(&plan, &[true; 5]));
    assert!(early.over && early.shown());
    // What comes after the line was reached does not undo it.
    let mut more = vec![true; 5];
    more.extend([false; 9]);
    assert!(judged(&answered(&plan, &more)).shown());
    let before = judged(&plan).plan.says.join("\n");
    assert!(
        before.contains("about 14 tastings if there is no difference")
            && before.contains("at 30 at the latest"),
        "{before}"
    );
    assert!(
        before.contains(
            "After 6: 6 or more right end it as different, 0 or fewer end it as smaller."
        ),
        "{before}"
    );
    let none = judged(&answered(&plan, &[false; 6]));
    assert!(
        none.cannot_say[0].contains("a difference smaller than d' = 2 may be there"),
        "{:?}",
        none.cannot_say
    );
    assert!(none.over && !none.shown());
    assert!(none.can_say[0].contains("would hardly have given so few right"));
}

#[test]
fn who_pours_for_himself_gets_no_size() {
    let plan = text("tastings = \"6\"\npours = \"own hand\"", &["Ann"]);
    let own = answered(&plan, &[true; 6]);
    let judged = judged(&own);
    assert!(judged.shown() && !judged.sized);
    assert!(
        judged
            .cannot_say
            .join("\n")
            .contains("who pours knows which beer is the odd one")
    );
    let json = TastingResult::of(&Tasting::read(&own).unwrap().0, &judged);
    assert!(json.d_prime.is_none());
}

#[test]
fn scores_are_judged_with_the_number_of_attributes() {
    let names = ["Ann", "Ben", "Cid", "Dee", "Eve", "Fay", "Gus", "Hal"];
    let mut document = text("tastings = \"8\"", &names);
    for (place, name) in names.iter().enumerate() {
        for (attribute, batch, reference) in [("bitter", 7, 4), ("malty", 5, 4 + place % 3)] {
            document.push_str(&format!(
                "[[score]]\nattribute = \"{attribute}\"\ntaster = \"{name}\"\nbatch = \"{batch}\"\nreference = \"{reference}\"\n"
            ));
        }
    }
    let judged = judged(&document);
    assert_eq!(judged.attributes[0].attribute, "bitter");
    // All eight above: 2 of 256 ways, doubled for two attributes.
    assert!((judged.attributes[0].adjusted_p - 4.0 / 256.0).abs() < 1e-12);
}

#[test]
fn bad_documents_are_told_where_and_what_would_work() {
    assert!(faults("").contains("a section [tasting] is needed"));
    let plan = |more: &str| text(more, &["Ann"]);
    assert!(faults(&plan("tastings = \"many\"")).contains("write a whole number from 1 to 600"));
    assert!(faults(&plan("tastings = \"6\"\nprotocol = \"square\"")).contains("triangle"));
    assert!(faults(&text("tastings = \"6\"", &[])).contains("nobody tastes"));
    assert!(
        faults(&text("tastings = \"6\"", &["Ann", "Ann"]))
            .contains("two tasters are called \"Ann\"")
    );
    let six = plan("tastings = \"6\"");
    let answer = |n: &str, glass: &str| {
        faults(&format!(
            "{six}[[answer]]\ntasting = \"{n}\"\nglass = \"{glass}\"\n"
        ))
    };
    assert!(answer("7", "417").contains("there is no tasting 7; 6 are planned"));
    assert!(answer("1", "100").contains("names no glass of tasting 1; name one of"));
    let once = answered(&six, &[true]);
    let twice = format!("{once}{}", &once[once.find("[[answer]]").unwrap()..]);
    assert!(faults(&twice).contains("tasting 1 is answered twice"));
    assert!(faults(&plan("tastings = \"6\"\ndifference = \"50\"")).contains("difference is 50"));
}

#[test]
fn everybody_gets_a_share_and_the_key_fits_the_answers() {
    let (tasting, assumptions) =
        Tasting::read(&text("tastings = \"12\"", &["Ann", "Ben", "Cid"])).unwrap();
    for name in &tasting.tasters {
        assert_eq!(tasting.tastings_of(name).count(), 4);
    }
    assert_eq!(tasting.next_of("Ben"), Some(2));
    let batches = tasting.design.servings.iter().flat_map(|s| &s.glasses);
    assert_eq!(batches.filter(|beer| **beer == Beer::Batch).count(), 18);
    assert_eq!(assumptions.len(), 6);
}

#[test]
fn json_fits_its_schema() {
    let plan = serde_json::to_value(TastingPlan::from(&six(Protocol::Tetrad, 2.0))).unwrap();
    assert!(jsonschema::is_valid(&tasting_plan_schema(), &plan));
    let document = answered(&text("tastings = \"6\"", &["Ann", "Ben"]), &[true; 6]);
    let (tasting, _) = Tasting::read(&document).unwrap();
    let result = TastingResult::of(&tasting, &Judged::of(&tasting).unwrap());
    let result = serde_json::to_value(result).unwrap();
    assert!(jsonschema::is_valid(&tasting_result_schema(), &result));
    assert_eq!(result["right"], 6);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]
    #[test]
    fn no_text_brings_it_down(more in "\\PC{0,60}", tastings in "\\PC{0,4}", glass in "\\PC{0,9}") {
        let document = format!("{}[[answer]]\ntasting = '{tastings}'\nglass = '{glass}'\n", text(&more, &["Ann"]));
        if let Ok((tasting, _)) = Tasting::read(&document) {
            Judged::of(&tasting).unwrap();
        }
    }
}

/// Points are given by code, and the document says which beer they belong to.
#[test]
fn scores_are_given_blind_and_after_the_last_answer() {
    let head = "tastings = \"2\"\nscored = \"bitterness, clove\"";
    let text = text(head, &["Ann", "Ben"]);
    let (tasting, _) = Tasting::read(&text).unwrap();
    assert_eq!(tasting.scorings.len(), 2);
    assert_ne!(tasting.scorings[0].glasses, tasting.scorings[1].glasses);
    assert_eq!(
        tasting.scoring_of("Ann"),
        None,
        "not before the last answer"
    );
    let mut text = answered(&text, &[true, false]);
    let (tasting, _) = Tasting::read(&text).unwrap();
    for (taster, batch, reference) in [("Ann", "6", "2"), ("Ben", "5", "4")] {
        let serving = tasting.scoring_of(taster).unwrap().clone();
        let points: Vec<(u16, String)> = serving
            .codes
            .iter()
            .zip(&serving.glasses)
            .map(|(code, beer)| {
                (
                    *code,
                    if *beer == Beer::Batch {
                        batch
                    } else {
                        reference
                    },
                )
            })
            .map(|(code, points)| (code, points.to_owned()))
            .collect();
        let entry = tasting.decoded(taster, "bitterness", &points).unwrap();
        text.push_str("[[score]]\n");
        for (key, value) in &entry {
            text.push_str(&format!("{key} = \"{value}\"\n"));
        }
        let half = tasting.decoded(taster, "clove", &points[..1]).unwrap_err();
        assert!(half.contains("for both glasses"), "{half}");
    }
    let means: Vec<_> = judged(&text)
        .attributes
        .iter()
        .map(|a| (a.attribute.clone(), a.mean.value))
        .collect();
    assert_eq!(means, [("bitterness".to_owned(), Some(2.5))]);
    let (tasting, _) = Tasting::read(&text).unwrap();
    assert!(tasting.scoring_of("Ann").is_some(), "clove is open still");
    let more = |taster: &str, attribute: &str| {
        format!(
            "{text}[[score]]\nattribute = \"{attribute}\"\ntaster = \"{taster}\"\nbatch = \"1\"\nreference = \"1\"\n"
        )
    };
    let twice = faults(&more("Ann", "bitterness"));
    assert!(twice.contains("Ann scored bitterness twice"), "{twice}");
    let stranger = faults(&more("Zoe", "clove"));
    assert!(stranger.contains("name one of Ann, Ben"), "{stranger}");
}

/// A tasting of single glasses with so many of each beer called another one.
fn single(of_each: u32, hits: u32, false_alarms: u32) -> String {
    let plan = format!("protocol = \"a-not-a\"\ntastings = \"{}\"", 2 * of_each);
    let mut text = text(&plan, &["Ann"]);
    let (tasting, _) = Tasting::read(&text).unwrap();
    let (mut batch, mut reference) = (0, 0);
    for (serving, n) in tasting.design.servings.iter().zip(1..) {
        let (so_far, most) = if serving.glasses == [Beer::Batch] {
            (&mut batch, hits)
        } else {
            (&mut reference, false_alarms)
        };
        *so_far += 1;
        let word = if *so_far <= most { "other" } else { "same" };
        text.push_str(&format!(
            "[[answer]]\ntasting = \"{n}\"\nglass = \"{word}\"\n"
        ));
    }
    assert_eq!((batch, reference), (of_each, of_each), "as many of each");
    text
}

/// The A-not-A example of the manual of sensR (read): hits 10 of 20, false alarms 3 of 20
/// give p = 0.02037 and d' = 1.0364 with a standard error of 0.4425.
#[test]
fn single_glasses_are_a_tasting_like_the_others() {
    let text = single(20, 10, 3);
    let judged = judged(&text);
    let one = judged.one_glass.as_ref().unwrap().judged;
    assert!(judged.over && judged.shown() && judged.difference.is_none());
    assert!((one.p - 0.02037).abs() < 5e-6);
    assert!((one.d_prime.value.unwrap() - 1.0364).abs() < 5e-5);
    assert!(
        judged
            .headline
            .starts_with("A difference is shown: 10 of 20 glasses")
    );
    assert!(
        judged.plan.says[0].starts_with("40 single glasses see"),
        "{:?}",
        judged.plan.says
    );
    assert!(judged.replicated.is_none() && judged.similarity.is_none());
    let json = TastingResult::of(&Tasting::read(&text).unwrap().0, &judged);
    let glasses = json.single_glasses.unwrap();
    assert_eq!(
        (glasses.batch_called_other, glasses.reference_called_other),
        (10, 3)
    );
    assert!((json.p.unwrap() - one.p).abs() < 1e-15);
    // Right answers: 10 of the batch, 17 of the reference.
    assert_eq!((judged.right, judged.answered), (27, 40));
    let none = self::judged(&single(20, 5, 4));
    assert!(!none.shown() && none.headline.starts_with("No difference is shown"));
    assert!(
        none.cannot_say
            .iter()
            .any(|l| l.contains("20 glasses of each see"))
    );
}

#[test]
fn single_glasses_refuse_what_they_have_no_rule_for() {
    let plan = |more: &str| text(&format!("protocol = \"a-not-a\"\n{more}"), &["Ann"]);
    for (more, told) in [
        (
            "tastings = \"20\"\nstop = \"early\"",
            "no rule for stopping early",
        ),
        ("tastings = \"20\"\nalike = \"20 %\"", "ask in triangles"),
        ("tastings = \"1\"", "one glass alone tells nothing"),
    ] {
        let said = faults(&plan(more));
        assert!(said.contains(told), "{said}");
    }
    let wrong = plan("tastings = \"20\"") + "[[answer]]\ntasting = \"1\"\nglass = \"417\"\n";
    assert!(faults(&wrong).contains("write same, or other"));
    // Before both beers were answered nothing is judged.
    let begun = plan("tastings = \"20\"") + "[[answer]]\ntasting = \"1\"\nglass = \"same\"\n";
    assert!(judged(&begun).one_glass.is_none() && !judged(&begun).over);
    let blind = Tasting::read(&begun).unwrap().0;
    assert!(
        blind
            .warm_up()
            .unwrap()
            .contains("taste the reference openly")
    );
}

/// Half of the tasters of Hunter in Brockhoff 2003, as a document; the fit is
/// that of the stage, which is held to the published figures of them all.
#[test]
fn a_panel_that_tastes_several_times_is_told_how_much_its_tasters_vary() {
    let right = [0, 3, 3, 4, 4, 5, 6, 6, 7, 7, 8, 9];
    let panel = |right: &[u32], each: u32| {
        let names: Vec<String> = (1..=right.len()).map(|n| format!("T{n}")).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let all = right.len() as u32 * each;
        let text = text(&format!("tastings = \"{all}\""), &names);
        let (tasting, _) = Tasting::read(&text).unwrap();
        let mut left: Vec<u32> = right.to_vec();
        let answers: Vec<bool> = (1..=all)
            .map(|n| {
                let name = tasting.taster_of(n);
                let of = names.iter().position(|t| *t == name).unwrap();
                let so = left[of] > 0;
                left[of] = left[of].saturating_sub(1);
                so
            })
            .collect();
        judged(&answered(&text, &answers))
    };
    let hunter = panel(&right, 12);
    let said = hunter.can_say.join(" ");
    assert!(hunter.shown(), "{}", hunter.headline);
    assert!(
        said.contains("No difference between tasters is shown") && said.contains("the 12 tasters"),
        "{said}"
    );
    let counts = right.map(|right| Replicates {
        right,
        tastings: 12,
    });
    let fit = replicated(Protocol::Triangle, &counts).unwrap();
    assert_eq!(hunter.replicated, Some(fit));
    assert!(
        hunter
            .cannot_say
            .iter()
            .any(|l| l.contains("from the pooled count alone"))
    );
    let apart = panel(&[12, 12, 12, 2, 1, 0], 12);
    let said = apart.can_say.join(" ");
    assert!(
        said.contains("Tasters differ in what they can tell"),
        "{said}"
    );
}
