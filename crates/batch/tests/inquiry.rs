//! Facts from the reckoning, findings from the document, the remedy in the next batch.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use batch::inquiry::{Brewed, Came, Story, Verdict, common, facts, heard, next_batch};
use batch::{Document, Reckoning};
use inquiry::{Finding, House};
use quantity::Units;

const LANTERN: &str = include_str!("../../../examples/lantern-pale.toml");

fn reckoned(text: &str) -> Reckoning {
    let (document, assumptions) = Document::read(text).unwrap();
    Reckoning::of(document, assumptions).unwrap()
}

/// The demo as it would be with nothing done about its chloramine.
fn untreated() -> String {
    batch::edit::set_value(LANTERN, "water.treatment.way", "none").unwrap()
}

fn first(r: &Reckoning, found: &str) -> String {
    let mut question = r.question();
    question.findings.push(Finding::present(found));
    r.inquire(&question).unwrap().causes[0].cause.key.clone()
}

#[test]
fn the_stream_speaks_for_its_water() {
    let (treated, untreated) = (reckoned(LANTERN), reckoned(&untreated()));
    let held = |r: &Reckoning| {
        facts(r)
            .holding()
            .iter()
            .map(|f| f.key.clone())
            .collect::<Vec<_>>()
    };
    assert!(
        held(&untreated).contains(&"chlorine-high".to_owned()),
        "{:?}",
        held(&untreated)
    );
    assert!(
        !held(&treated).contains(&"chlorine-high".to_owned()),
        "{:?}",
        held(&treated)
    );
    assert_eq!(first(&untreated, "medicinal"), "chloramine-in-water");
    assert_ne!(first(&treated, "medicinal"), "chloramine-in-water");
}

#[test]
fn the_remedy_goes_into_the_next_batch_with_its_figures() {
    let text = format!(
        "{}\n[[finding]]\nwhat = \"medicinal\"\nthere = \"yes\"\n\n[[test]]\nwhat = \"sulfite-glass\"\nresult = \"positive\"\n",
        untreated()
    );
    let r = reckoned(&text);
    assert_eq!(r.question().findings.len(), 1);
    let next = next_batch(&text, &r, "chloramine-in-water", Units::Metric).unwrap();
    assert!(
        next.changed[0].contains("metabisulfite into"),
        "{:?}",
        next.changed
    );
    assert!(
        next.after < 0.1 * next.before,
        "{} {}",
        next.before,
        next.after
    );
    let copy = reckoned(&next.text);
    assert!(copy.document.findings.is_empty() && copy.document.tests.is_empty());
    assert!(copy.document.batch.name.ends_with(", next"));
    assert!(next_batch(&text, &r, "musty-taint", Units::Metric).is_none());
}

/// A remedy adds to what the document has; what it has already is not offered, and
/// nothing is made worse.
#[test]
fn a_remedy_never_takes_back_what_is_there() {
    let next = |text: &str, cause: &str| next_batch(text, &reckoned(text), cause, Units::Us);
    let with = |path: &str, value: &str| batch::edit::set_value(LANTERN, path, value).unwrap();

    let few = with("yeast.packets", "1");
    let before = reckoned(&few);
    let more = before.fermentation.pitch.packets_to_buy.unwrap();
    assert_eq!(more, 1);
    let bought = reckoned(&next(&few, "under-pitched").unwrap().text);
    let packets = before.document.yeast.packets + f64::from(more);
    assert!((bought.document.yeast.packets - packets).abs() < 1e-12);
    assert!(bought.fermentation.pitch.ratio >= 1.0);

    for (path, there, cause) in [
        ("boil.time", "120 min", "short-boil"),
        ("mash.sparge_temperature", "72 °C", "over-sparged"),
        ("fermentation.aeration", "oxygen", "under-oxygenated"),
        ("yeast.packets", "9", "under-pitched"),
    ] {
        assert!(next(&with(path, there), cause).is_none(), "{cause}");
    }
    let treated = with("water.treatment.reagent", "potassium metabisulfite");
    assert!(next(&treated, "chloramine-in-water").is_none());
    let hot = next(&with("mash.sparge_temperature", "85 °C"), "over-sparged").unwrap();
    assert_eq!(hot.changed, ["sparged at 167 °F"]);
    let short = next(&with("boil.time", "75 min"), "short-boil").unwrap();
    assert!((reckoned(&short.text).document.boil.time.value.min() - 90.0).abs() < 1e-9);
}

#[test]
fn what_is_said_wrongly_is_told_where_it_stands() {
    let faults = |more: &str| Document::read(&format!("{LANTERN}\n{more}")).unwrap_err();
    let wrong = faults("[[finding]]\nwhat = \"buter\"\nthere = \"yes\"\n");
    assert!(
        wrong[0].message.contains("buter") && wrong[0].path == "finding[1].what",
        "{wrong:?}"
    );
    let twice = faults(
        "[[finding]]\nwhat = \"butter\"\nthere = \"yes\"\n[[finding]]\nwhat = \"butter\"\nthere = \"no\"\n",
    );
    assert_eq!(twice[0].message, "butter is said twice");
    let gone = faults("[inquiry]\ngone = \"yes\"\n");
    assert!(gone[0].message.contains("which remedy"), "{gone:?}");
}

#[test]
fn a_remedy_that_worked_moves_its_cause() {
    let text = format!(
        "{}\n[[finding]]\nwhat = \"medicinal\"\nthere = \"yes\"\n",
        untreated()
    );
    let chance = |more: &str| {
        let r = reckoned(&format!("{text}\n{more}"));
        let answer = r.inquire(&r.question()).unwrap();
        answer
            .causes
            .iter()
            .find(|c| c.cause.key == "chloramine-in-water")
            .unwrap()
            .made
    };
    let tried = |gone| {
        chance(&format!(
            "[inquiry]\ntried = \"chloramine-in-water\"\ngone = \"{gone}\"\n"
        ))
    };
    assert!(tried("yes") > chance("") && chance("") > tried("no"));
}

/// Found, tested, mended in the next batch, and what came of it.
#[test]
fn an_inquiry_is_told_as_it_went() {
    let text = format!(
        "{}\n[[finding]]\nwhat = \"medicinal\"\nthere = \"yes\"\nstrength = \"clear\"\n\n[[finding]]\nwhat = \"butter\"\nthere = \"no\"\n\n[[test]]\nwhat = \"sulfite-glass\"\nresult = \"positive\"\n",
        untreated()
    );
    let r = reckoned(&text);
    let alone = Story::of(&text, &r, &House::default(), &[]).unwrap();
    assert_eq!(alone.found.len(), 2);
    assert!(alone.found[0].contains("clear") && alone.found[1].starts_with("no butter"));
    assert_eq!(alone.could_be[0].cause.key, "chloramine-in-water");
    let step = &alone.steps[0];
    assert!(step.positive && !step.means.is_empty());
    let then = step.then.as_ref().unwrap();
    assert!(
        then.made > alone.could_be[0].made,
        "a positive test speaks for it"
    );
    assert!(matches!(
        alone.verdict,
        Verdict::Settled(_) | Verdict::Likely(_)
    ));
    assert!(alone.next.is_empty());

    let next = next_batch(&text, &r, "chloramine-in-water", Units::Metric).unwrap();
    let after = |more: &str| {
        let keys = "\n[inquiry]\nafter = \"A\"\nmends = \"chloramine-in-water\"\n";
        let copy = format!("{}{keys}{more}", next.text);
        let reckoning = reckoned(&copy);
        let brewed = Brewed {
            id: "B",
            text: &copy,
            reckoning: &reckoning,
            alike: false,
        };
        Story::of(&text, &r, &House::default(), &[brewed])
            .unwrap()
            .next
            .remove(0)
    };
    let untasted = after("");
    assert_eq!((untasted.came, untasted.chance), (Came::NotSaid, None));
    let keys: Vec<&str> = untasted.changed.iter().map(|c| c.0.as_str()).collect();
    assert!(keys.contains(&"water.treatment.way"), "{keys:?}");
    assert!(
        !keys
            .iter()
            .any(|k| k.starts_with("finding") || *k == "batch.name"),
        "{keys:?}"
    );
    let gone = after("sound = \"yes\"\n");
    let still = after("[[finding]]\nwhat = \"medicinal\"\nthere = \"yes\"\n");
    assert_eq!((gone.came, still.came), (Came::Gone, Came::Still));
    let sound = format!(
        "{}\n[inquiry]\nafter = \"A\"\nmends = \"chloramine-in-water\"\nsound = \"yes\"\n",
        next.text
    );
    let reckoning = reckoned(&sound);
    let brewed = Brewed {
        id: "B",
        text: &sound,
        reckoning: &reckoning,
        alike: false,
    };
    let whole = Story::of(&text, &r, &House::default(), &[brewed]).unwrap();
    let settled =
        |v: &Verdict| matches!(v, Verdict::Settled(t) if t.cause.key == "chloramine-in-water");
    assert!(settled(&whole.verdict), "{:?}", whole.verdict);
    assert!(gone.chance.unwrap() > alone.answer.causes[0].made && still.chance < gone.chance);
    assert!(gone.words.contains("called sound") && still.words.contains("there again"));
    let absent = after("[[finding]]\nwhat = \"medicinal\"\nthere = \"no\"\n");
    assert_eq!(absent.came, Came::Gone);
    let nothing = Story::of(LANTERN, &reckoned(LANTERN), &House::default(), &[]).unwrap();
    assert_eq!(nothing.verdict, Verdict::NoFault);
}

#[test]
fn other_batches_speak_of_what_they_share() {
    let other_yeast = batch::edit::set_value(LANTERN, "yeast.name", "another packet").unwrap();
    let faulty = format!("{other_yeast}\n[[finding]]\nwhat = \"medicinal\"\nthere = \"yes\"\n");
    let (here, before) = (reckoned(LANTERN), reckoned(&faulty));
    let shared = common(&here.document, &before.document);
    assert!(shared.water && shared.kit && !shared.yeast);
    assert!(
        heard(&here, false).unwrap().is_none(),
        "nothing is said of it"
    );
    let told = heard(&before, false).unwrap().unwrap();
    assert!(told.words.starts_with("found: medicinal"));
    let mut house = House::default();
    told.tell(&mut house, "before", shared);
    let had = &house.batches[0].had;
    assert!(had.contains_key("chloramine-in-water") && !had.contains_key("phenolic-yeast"));
    let question = {
        let mut q = here.question();
        q.findings.push(Finding::present("medicinal"));
        q
    };
    let made = |house: &House| {
        let answer = here.inquire_in(house, &question).unwrap();
        let of = |c: &&inquiry::RankedCause| c.cause.stage == "water";
        answer
            .causes
            .iter()
            .filter(of)
            .map(|c| c.before)
            .sum::<f64>()
    };
    assert!(made(&house) > made(&House::default()));
    let sound = batch::edit::set_value(LANTERN, "inquiry.sound", "yes").unwrap();
    let mut clean = House::default();
    let told = heard(&reckoned(&sound), false).unwrap().unwrap();
    told.tell(&mut clean, "clean", common(&here.document, &here.document));
    assert!(made(&clean) < made(&House::default()));
    assert_eq!(
        heard(&here, true).unwrap().unwrap().words,
        "tasted blind, and shown to be as its aim"
    );
}
