use super::*;
use crate::{Sign, Stage};
use quantity::Weight;

const LANTERN: &str = include_str!("../../../../../examples/lantern-pale.toml");

fn with(readings: &str) -> String {
    LANTERN.replacen("[boil]", &format!("{readings}\n\n[boil]"), 1)
}

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

const HIGH: &str = "[[mash.reading]]\nph = \"5.80 ± 0.03\"\nafter = \"15 min\"";

#[test]
fn a_reading_moves_the_figure_the_aim_and_the_sign() {
    let before = reckoned(LANTERN);
    let after = reckoned(&with(HIGH));
    let (predicted, stands) = (before.mash_stands().unwrap(), after.mash_stands().unwrap());
    assert!(predicted.value.ph() + 0.05 < stands.value.ph() && stands.value.ph() < 5.80);
    assert!(stands.sd() < predicted.sd());
    // The prediction is kept beside it, and the wort goes on with what was read.
    assert_eq!(after.mash_ph.as_ref().unwrap().ph, predicted);
    assert_eq!(after.mash.wort.ph, stands.value);
    let sign = |r: &Reckoning| r.sign(Stage::Mash).cloned().unwrap();
    let asks = |sign: &Sign| {
        sign.notes
            .iter()
            .any(|n| n.text.contains("Take one of the ways"))
    };
    assert!(!asks(&sign(&before)) && asks(&sign(&after)));
    assert!(sign(&after).weight >= Weight::Look);
    let missed = after.aim.iter().find(|line| line.key == "mash_ph").unwrap();
    assert_eq!(missed.met, Some(false));
}

#[test]
fn a_reading_that_was_not_taken_yet_counts_for_nothing() {
    let open = reckoned(&with("[[mash.reading]]\nafter = \"15 min\""));
    assert_eq!(open.reading, None);
    assert_eq!(open.document.mash.readings.len(), 1);
}

/// What is given between two readings counts with the second, whether a line of its own
/// or the second's; the two tell the buffering.
#[test]
fn additions_are_carried_to_the_next_reading() {
    let added = "[[mash.reading.added]]\nwhat = \"lactic acid 80 %\"\nvolume = \"2 mL\"";
    let second = "[[mash.reading]]\nph = \"5.62 ± 0.03\"\nafter = \"25 min\"";
    let one = reckoned(&with(&format!("{HIGH}\n{second}\n{added}")));
    let apart = format!("{HIGH}\n[[mash.reading]]\nafter = \"18 min\"\n{added}\n{second}");
    let apart = reckoned(&with(&apart));
    let (one, apart) = (one.reading.unwrap(), apart.reading.unwrap());
    assert_eq!(one, apart);
    assert_eq!(one.cooled.len(), 2);
    let learned = &one.learned;
    assert!(learned.buffering.sd() < learned.buffering_before.sd());
}

#[test]
fn a_hot_sample_and_a_meter_without_compensation_are_brought_to_a_cooled_one() {
    let hot = format!("{HIGH}\ntemperature = \"64 °C\"");
    let read = |text: &str| {
        reckoned(&with(text)).reading.unwrap().cooled[0]
            .ph
            .value
            .ph()
    };
    assert!(read(&hot) > 5.9);
    assert!((read(&format!("{hot}\nset_to = \"25 °C\"")) - read(&hot)).abs() > 0.01);
}

#[test]
fn faults_of_readings_stand_at_their_keys() {
    let told = faults(&with(
        "[[mash.reading]]\nph = \"12\"\nafter = \"15 min\"\ntemperature = \"140 °C\"\n\
         [[mash.reading.added]]\nwhat = \"gypsum\"\nvolume = \"2 mL\"\n\
         [[mash.reading.added]]\nwhat = \"vinegar\"\nmass = \"2 g\"\n\
         [[mash.reading]]\nafter = \"5 min\"",
    ));
    for part in [
        "mash.reading: the readings of the mash are out of order",
        "mash.reading[1].ph: no mash reads pH 12",
        "mash.reading[1].temperature: temperature is not",
        "mash.reading[1].added[1].volume: gypsum is not measured",
        "mash.reading[1].added[2].what: \"vinegar\" is no acid",
    ] {
        assert!(
            told.iter().any(|t| t.starts_with(part)),
            "{part} in {told:#?}"
        );
    }
}

#[test]
fn water_that_must_not_be_used_gets_no_advice() {
    let unfit = with(HIGH).replacen("[[water.source]]", "[[water.source]]\nnotice = \"boil\"", 1);
    let r = reckoned(&unfit);
    assert_eq!(r.reading, None);
    assert!(matches!(r.if_it_reads(), Err(WaterError::DoNotUse { .. })));
}

#[test]
fn the_table_of_the_day_lowers_what_is_high_and_raises_what_is_low() {
    let r = reckoned(LANTERN);
    let table = r.if_it_reads().unwrap();
    let aim = r.mash_aim().ph.ph();
    assert_eq!(table.len(), 7);
    let mut last = 0.0;
    for line in &table {
        let off = line.reads.ph() - aim;
        match (&line.action, &line.dose) {
            (Action::Lower, Some(dose)) => {
                assert!(off > 0.0 && dose.what.name() == "lactic acid 80 %");
                let Amount::Volume(full) = dose.full else {
                    panic!()
                };
                assert!(full.l() > last, "more for a higher reading");
                last = full.l();
            }
            (Action::Raise, Some(dose)) => {
                assert!(off < 0.0 && dose.what.name() == "baking soda");
            }
            (other, dose) => assert!(dose.is_none() && off.abs() < 0.25, "{off} {other:?}"),
        }
    }
    assert!(last > 0.0);
}

#[test]
fn shares_name_the_malts_and_make_a_whole() {
    let r = reckoned(LANTERN);
    let shares = shares(&r);
    let whole: f64 = shares.iter().map(|s| s.share.ratio()).sum();
    assert!((whole - 1.0).abs() < 1e-9);
    assert!(shares.iter().any(|s| s.of == "pilsner malt"));
    assert!(shares.iter().any(|s| s.of == "what the model leaves out"));
}

/// What a document says and what is typed beside it are the same reading.
#[test]
fn a_typed_reading_is_that_of_a_document() {
    let typed = Typed {
        ph: "5.80 ± 0.03".to_owned(),
        temperature: "64 °C".to_owned(),
        after: "15 min".to_owned(),
        set_to: "25 °C".to_owned(),
        added: vec![
            "lactic acid 80 % = 2 mL".parse().unwrap(),
            "gypsum = 3 g".parse().unwrap(),
        ],
    };
    let text = format!(
        "{HIGH}\ntemperature = \"64 °C\"\nset_to = \"25 °C\"\n\
         [[mash.reading.added]]\nwhat = \"lactic acid 80 %\"\nvolume = \"2 mL\"\n\
         [[mash.reading.added]]\nwhat = \"gypsum\"\nmass = \"3 g\""
    );
    let r = reckoned(&with(&text));
    assert_eq!(readings(&r.document), [typed.read().unwrap()]);
    assert_eq!(
        r.mash_advice(&readings(&r.document)).unwrap(),
        r.reading.unwrap()
    );
}

#[test]
fn what_is_typed_wrong_is_told_field_by_field() {
    let typed = Typed {
        temperature: "warm".to_owned(),
        added: vec![TypedAddition {
            what: "gypsum".to_owned(),
            amount: "2 mL".to_owned(),
        }],
        ..Typed::default()
    };
    let fields: Vec<String> = typed
        .read()
        .unwrap_err()
        .into_iter()
        .map(|w| w.field)
        .collect();
    assert_eq!(fields, ["ph", "temperature", "added"]);
    assert!("lactic acid".parse::<TypedAddition>().is_err());
}
