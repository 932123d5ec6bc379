//! Facts from the reckoning, findings from the document, the remedy in the next batch.

use batch::inquiry::{facts, next_batch};
use batch::{Document, Reckoning};
use inquiry::Finding;
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
