use super::*;
use crate::edit::add_entry;

const LANTERN: &str = include_str!("../../../../examples/lantern-pale.toml");

fn reckoned(text: &str) -> Reckoning {
    let (document, assumptions) = Document::read(text).unwrap_or_else(|f| panic!("{f:#?}"));
    Reckoning::of(document, assumptions).unwrap()
}

fn faults(text: &str) -> Vec<String> {
    let faults = Document::read(text).unwrap_err();
    faults
        .iter()
        .map(|f| format!("{}: {}", f.path, f.message))
        .collect()
}

fn weak(r: &Reckoning) -> TypedReading {
    let kettle = &r.boil.report.pre_boil;
    TypedReading {
        at: "kettle full".into(),
        volume: format!("{:.2} ± 0.2 L", kettle.volume.l()),
        volume_at: "20 °C".into(),
        gravity: format!("{:.4} ± 0.0005", kettle.gravity.sg() - 0.006),
        ..TypedReading::default()
    }
}

fn with_reading(text: &str, reading: &TypedReading) -> String {
    let pairs = reading.entry();
    let pairs: Vec<_> = pairs
        .iter()
        .map(|(k, v)| (k.as_str(), v.as_str()))
        .collect();
    add_entry(text, "brew_day.reading", &pairs).unwrap()
}

#[test]
fn the_beer_follows_a_reading_and_the_plan_stays_beside_it() {
    let before = reckoned(LANTERN);
    assert!(before.day.is_none() && before.day_is_at().is_none());
    let after = reckoned(&with_reading(LANTERN, &weak(&before)));
    let day = after.day.as_ref().unwrap();
    assert_eq!(day.planned, before.boil);
    assert_eq!(after.planned_boil(), &before.boil);
    assert_eq!(after.day_is_at(), Some(Point::KettleFull));
    assert!(after.boil.wort.gravity < before.boil.wort.gravity);
    assert!(after.fermentation.beer.alcohol < before.fermentation.beer.alcohol);
    let missed = after
        .aim
        .iter()
        .find(|line| line.key == "original_gravity")
        .unwrap();
    assert!(missed.reckoned.value < before.boil.wort.gravity.plato());
}

#[test]
fn a_way_that_is_taken_brings_the_reckoning_back() {
    let before = reckoned(LANTERN);
    let text = with_reading(LANTERN, &weak(&before));
    let after = reckoned(&text);
    let found = after.corrections(Point::KettleFull, &[]).unwrap();
    assert!(found.now.1.unwrap().alcohol < found.aim.1.unwrap().alcohol);
    for key in ["boil", "malt extract"] {
        let on = found.ways.iter().find(|w| w.way.key == key).unwrap();
        let mut text = text.clone();
        for entry in entries_of(&on.way, true) {
            let pairs: Vec<_> = entry
                .iter()
                .map(|(k, v)| (k.as_str(), v.as_str()))
                .collect();
            text = add_entry(&text, "brew_day.done", &pairs).unwrap();
        }
        let taken = reckoned(&text);
        let (ours, planned) = (&taken.boil.wort, &before.boil.wort);
        assert!(
            (ours.gravity.plato() - planned.gravity.plato()).abs() < 0.06,
            "{key}"
        );
        assert!(
            (ours.bitterness.ibu() - planned.bitterness.ibu()).abs() < 0.5,
            "{key}"
        );
        let alcohol = taken.fermentation.beer.alcohol.percent();
        assert!(
            (alcohol - on.beer.unwrap().alcohol.percent()).abs() < 0.02,
            "{key}"
        );
    }
}

#[test]
fn a_reading_beside_the_document_is_that_of_the_document() {
    let before = reckoned(LANTERN);
    let typed = weak(&before);
    let beside = before
        .day_stands(&[typed.read().unwrap().unwrap()])
        .unwrap();
    let kept = reckoned(&with_reading(LANTERN, &typed)).day.unwrap().stands;
    assert_eq!(beside.boiled, kept.boiled);
}

#[test]
fn what_cannot_be_read_is_told_at_its_field() {
    let day = reckoned(LANTERN);
    type Change = fn(&mut TypedReading);
    let wrong: [(&str, Change); 4] = [
        ("volume", |t| t.volume = "0.001 L".into()),
        ("volume_at", |t| t.volume_at = "130 °C".into()),
        ("gravity", |t| t.gravity = "0.975".into()),
        ("gravity_at", |t| t.gravity_at = "95 °C".into()),
    ];
    for (field, change) in wrong {
        let mut typed = weak(&day);
        change(&mut typed);
        let reading = typed.read().unwrap().unwrap();
        let told = day.day_stands(&[reading]).unwrap_err();
        assert_eq!(told.field, field, "{told}");
        assert!(told.message.contains("would work"), "{told}");
    }
}

#[test]
fn a_reading_that_was_not_taken_yet_counts_for_nothing() {
    let open = format!("{LANTERN}\n[[brew_day.reading]]\nat = \"fermenter\"\n");
    let open = reckoned(&open);
    assert!(open.day.is_none());
    assert_eq!(open.document.brew_day.readings.len(), 1);
}

#[test]
fn faults_of_the_day_stand_at_their_keys() {
    let told = faults(&format!(
        "{LANTERN}\n[[brew_day.reading]]\nat = \"boil\"\nvolume = \"27 L\"\n\
         [[brew_day.reading]]\nat = \"kettle\"\n\
         [[brew_day.done]]\nat = \"end of boil\"\nwhat = \"add\"\nof = \"pilsner malt\"\namount = \"1 kg\"\n\
         [[brew_day.done]]\nat = \"end of boil\"\nwhat = \"dilute\"\n"
    ));
    for part in [
        "brew_day.reading[1].at: it is not said how long",
        "brew_day.reading[1].volume: a volume without its temperature",
        "brew_day.reading[2].at: ",
        "brew_day.done[1].of: pilsner malt is grain",
        "brew_day.done[2].what: it is not said how much",
    ] {
        assert!(
            told.iter().any(|t| t.starts_with(part)),
            "{part} in {told:#?}"
        );
    }
}

#[test]
fn what_is_typed_wrong_is_told_field_by_field() {
    let typed = TypedReading {
        at: "boil".into(),
        volume: "27 L".into(),
        gravity: "heavy".into(),
        ..TypedReading::default()
    };
    let fields: Vec<String> = typed
        .read()
        .unwrap_err()
        .into_iter()
        .map(|w| w.field)
        .collect();
    assert_eq!(fields, ["after", "gravity", "volume_at"]);
    let nothing = TypedReading {
        at: "kettle full".into(),
        ..TypedReading::default()
    };
    assert_eq!(nothing.read(), Ok(None));
}

#[test]
fn the_demo_runs_off_to_a_figure_at_every_litre() {
    let found = reckoned(LANTERN).lautering().unwrap();
    assert!(found.run_off.course.len() > 3);
    assert_eq!(found.efficiency.steps.len(), 3);
    assert!(!found.moves.is_empty());
}
