use super::*;
use quantity::{Alkalinity, Calcium, Magnesium, Sodium, Weight};

pub(super) fn malt(kg: f64, ph: f64, ph_sd: f64, buffer: f64, buffer_sd: f64) -> MaltAcidity {
    MaltAcidity {
        mass: Mass::from_kg(kg),
        ph_di: Measured::with_sd(Ph::from_ph(ph), ph_sd),
        buffer: Measured::with_sd(Buffering::from_meq_per_kg_ph(buffer), buffer_sd),
    }
}

fn mash(alkalinity: f64) -> Mash {
    Mash {
        malts: vec![
            malt(4.5, 5.75, 0.07, 40.0, 6.0),
            malt(0.3, 4.9, 0.15, 50.0, 8.0),
        ],
        acid_malts: vec![],
        liquor: MashLiquor {
            volume: Volume::from_l(16.0),
            alkalinity: Alkalinity::from_meq_per_l(alkalinity),
            calcium: Calcium::from_mg_per_l(60.0),
            magnesium: Magnesium::from_mg_per_l(8.0),
            acids: vec![],
        },
        ions: Ions {
            calcium: Calcium::from_mg_per_l(60.0),
            magnesium: Magnesium::from_mg_per_l(8.0),
            ..Ions::default()
        },
        beer: Volume::from_l(20.0),
        tun: Tun::Open,
    }
}

fn read(ph: f64, sd: f64, c: f64, min: f64) -> Reading {
    Reading {
        ph: Measured::with_sd(Ph::from_ph(ph), sd),
        sample: Temperature::from_c(c),
        compensation: Compensation::Automatic,
        after_mash_in: Duration::from_min(min),
        added: vec![],
    }
}

fn aim(ph: f64) -> MashAim {
    MashAim {
        ph: Ph::from_ph(ph),
        within: PhShift::from_ph(0.03),
    }
}

fn told(mash: &Mash, readings: &[Reading], at: f64) -> Advice {
    advise(mash, readings, aim(at), &AtHand::usual().unwrap()).unwrap()
}

fn way<'a>(advice: &'a Advice, name: &str) -> &'a Dose {
    advice.ways.iter().find(|w| w.what.name() == name).unwrap()
}

/// Two normal distributions of one number, by hand: weights go with 1/sd².
#[test]
fn prediction_and_reading_meet_between_their_spreads() {
    let mash = mash(2.0);
    let advice = told(&mash, &[read(5.60, 0.03, 20.0, 12.0)], 5.4);
    let (prior, prior_sd) = (advice.predicted.value.ph(), advice.predicted.sd());
    let noise = 0.03f64.hypot(0.02);
    let weight = prior_sd.powi(2) / (prior_sd.powi(2) + noise.powi(2));
    let expected = prior + weight * (5.60 - prior);
    // The balance bends a little between the two.
    assert!(
        (advice.ph.value.ph() - expected).abs() < 0.002,
        "{}",
        advice.ph.value
    );
    let sd = prior_sd * noise / prior_sd.hypot(noise);
    assert!(
        (advice.ph.sd() - sd).abs() < 0.002,
        "{} {sd}",
        advice.ph.sd()
    );
    assert!(advice.ph.sd() < prior_sd);
}

/// Without readings the spread is that of the prediction.
#[test]
fn without_a_reading_all_is_as_predicted() {
    let advice = told(&mash(2.0), &[], 5.4);
    assert_eq!(advice.action, Action::Read);
    assert!((advice.ph.value.ph() - advice.predicted.value.ph()).abs() < 1e-9);
    assert!((advice.ph.sd() - advice.predicted.sd()).abs() < 1e-9);
    assert!(advice.learned.offset.value.ph().abs() < 1e-12);
}

/// Briggs et al. 2004 and deLange (from memory): mash at 65 °C reads 0.2 to 0.35
/// below a cooled sample, compensated or not.
#[test]
fn a_hot_reading_is_brought_to_a_cooled_sample() {
    let advice = told(&mash(2.0), &[read(5.30, 0.03, 65.0, 12.0)], 5.4);
    let moved = advice.cooled[0].moved.ph();
    assert!((0.2..=0.35).contains(&moved), "{moved}");
    let lowest_highest = 2.0 * (0.001 * 45.0);
    assert!(
        (advice.cooled[0].ph.sd() - 0.03f64.hypot(0.02).hypot(lowest_highest / 2.0)).abs() < 1e-9
    );
    assert!(advice.notes.iter().any(|n| n.text.contains("not the mash")));
    let cold = told(&mash(2.0), &[read(5.30, 0.03, 20.0, 12.0)], 5.4);
    assert!(cold.cooled[0].moved.ph().abs() < 1e-12);
    assert!(cold.notes.iter().all(|n| !n.text.contains("not the mash")));
}

/// Nernst: 59.16 mV per pH at 25 °C and 67.10 mV at 65 °C (R T ln 10/F, CODATA).
#[test]
fn without_compensation_the_slope_is_put_right() {
    let mut reading = read(5.0, 0.03, 65.0, 12.0);
    reading.compensation = Compensation::FixedAt(Temperature::from_c(25.0));
    let hot = cooled::at_temperature(&reading);
    let by_millivolts = 7.0 + (5.0 - 7.0) * 59.16 / 67.10;
    assert!((hot - by_millivolts).abs() < 5e-4, "{hot} {by_millivolts}");
    let advice = told(&mash(2.0), &[reading], 5.4);
    assert!(advice.cooled[0].ph.sd() > 0.06);
}

#[test]
fn an_early_reading_waits_and_does_not_count() {
    let advice = told(&mash(2.0), &[read(5.9, 0.03, 20.0, 4.0)], 5.4);
    let Action::Wait { wait } = advice.action else {
        panic!("{:?}", advice.action)
    };
    assert!((wait.min() - 6.0).abs() < 1e-6);
    assert!(!advice.cooled[0].counts && advice.ways.is_empty());
    assert!((advice.ph.value.ph() - advice.predicted.value.ph()).abs() < 1e-9);
    let mut second = read(5.5, 0.03, 20.0, 15.0);
    second.added = vec![Addition {
        what: Remedy::Acid(AcidProduct::named("lactic acid 80 %").unwrap()),
        amount: Amount::Volume(Volume::from_l(0.001)),
    }];
    let advice = told(&mash(2.0), &[read(5.7, 0.03, 20.0, 12.0), second], 5.4);
    assert!(matches!(advice.action, Action::Wait { wait } if (wait.min() - 2.0).abs() < 1e-6));
}

#[test]
fn a_mash_within_the_aim_is_left_alone() {
    let advice = told(&mash(2.0), &[read(5.7, 0.03, 20.0, 12.0)], 5.71);
    assert_eq!(advice.action, Action::Nothing);
    assert!(advice.ways.is_empty());
    assert!(!advice.cautions.contains(&Caution::Acid));
}

/// By hand: strong acid moves the pH by mEq over ΣmB; so many mEq of HCl 10 % are so
/// many mL at 2.873 mol/L (density tables).
#[test]
fn the_dose_closes_the_balance() {
    let mash = mash(2.0);
    let advice = told(&mash, &[read(5.6, 0.03, 20.0, 12.0)], 5.4);
    let dose = way(&advice, "hydrochloric acid 10 %");
    let Amount::Volume(full) = dose.full else {
        panic!()
    };
    let grist_kg = 4.8;
    let meq_per_ph = advice.learned.buffering.value.meq_per_kg_ph() * grist_kg;
    let ml = (advice.ph.value.ph() - 5.4) * meq_per_ph / 2.873;
    assert!((1000.0 * full.l() - ml).abs() < 0.06, "{} {ml}", full.l());
    assert!((dose.after_full.value.ph() - 5.4).abs() < 0.002);
    // Two thirds first.
    let Amount::Volume(first) = dose.first else {
        panic!()
    };
    assert!((first.l() / full.l() - 2.0 / 3.0).abs() < 0.1 / (1000.0 * full.l()) + 1e-3);
    assert!(dose.text.starts_with("Start with") && dose.text.contains("read again"));
    assert_eq!(dose.caution, Some(Caution::Acid));
    assert!(advice.cautions.contains(&Caution::Acid));
    // Chloride: 35.45 mg for a mEq.
    let meq = 1000.0 * full.l() * 2.873;
    assert!((dose.brings.chloride.mg_per_l() - meq * 35.45 / 16.0).abs() < 0.3);
}

/// After an addition a second reading tells the buffering, though the meter is off
/// by much: its calibration cancels.
#[test]
fn a_second_reading_teaches_the_buffering() {
    let mut mash = mash(2.0);
    mash.malts.truncate(1);
    let strong = AcidProduct::named("hydrochloric acid 10 %").unwrap();
    let ml = 7.0;
    let meq = ml * 1e-3 * strong.mol_per_l().unwrap() * 1000.0;
    // A grist that buffers with 52 in place of 40.
    let truth_meq_per_ph = 4.5 * 52.0;
    let first = read(5.68, 0.08, 20.0, 12.0);
    let mut second = read(5.68 - meq / truth_meq_per_ph, 0.08, 20.0, 18.0);
    second.added = vec![Addition {
        what: Remedy::Acid(strong),
        amount: Amount::Volume(Volume::from_l(ml / 1000.0)),
    }];
    let one = told(&mash, std::slice::from_ref(&first), 5.4);
    let two = told(&mash, &[first, second], 5.4);
    let sd = |a: &Advice| a.learned.buffering.sd();
    assert!(sd(&two) < sd(&one), "{} {}", sd(&two), sd(&one));
    let learned = two.learned.buffering.value.meq_per_kg_ph();
    let before = one.learned.buffering.value.meq_per_kg_ph();
    assert!(
        (learned - 52.0).abs() < (before - 52.0).abs(),
        "{learned} {before}"
    );
    let malts = &two.learned.malts;
    assert!((malts[0].buffer.value.meq_per_kg_ph() - learned).abs() < 1e-9);
    // The next dose follows.
    let dose = |a: &Advice| match way(a, "lactic acid 80 %").full {
        Amount::Volume(v) => v.l() / (a.ph.value.ph() - 5.4),
        Amount::Mass(_) => panic!(),
    };
    assert!(dose(&two) > dose(&one));
}

#[test]
fn a_low_mash_is_raised_and_sodium_is_said() {
    let mut sour = mash(0.0);
    sour.liquor.acids.push(crate::mash_ph::MashAcid {
        product: AcidProduct::named("lactic acid 80 %").unwrap(),
        amount: crate::acids::AcidAmount::Volume(Volume::from_l(0.007)),
    });
    let advice = told(&sour, &[read(5.15, 0.03, 20.0, 12.0)], 5.4);
    assert_eq!(advice.action, Action::Raise);
    let soda = way(&advice, "baking soda");
    assert!(soda.brings.sodium > Sodium::from_mg_per_l(10.0));
    assert!(
        advice
            .ways
            .iter()
            .all(|w| !matches!(w.what, Remedy::Acid(_)))
    );
    let lime = way(&advice, "slaked lime");
    assert!(lime.reaches && lime.caution == Some(Caution::StrongBase));
    assert!(advice.cautions.contains(&Caution::StrongBase));
    // Lime: 2 OH less Ca·2/3.5 for 74.09 g/mol; soda: 1 for 84.01.
    let (Amount::Mass(lime), Amount::Mass(soda)) = (lime.full, soda.full) else {
        panic!()
    };
    let ratio = (1.0 / 84.01) / ((2.0 - 2.0 / 3.5) / 74.09);
    assert!(
        (lime.g() / soda.g() - ratio).abs() < 0.05,
        "{} {}",
        lime.g(),
        soda.g()
    );
}

#[test]
fn gypsum_alone_does_not_reach_and_says_why() {
    let hard = mash(4.0);
    let gypsum = Stocked {
        what: Remedy::Salt(Salt::named("gypsum").unwrap()),
        most: None,
    };
    let at_hand = AtHand {
        remedies: vec![gypsum],
        ..AtHand::usual().unwrap()
    };
    let advice = advise(&hard, &[read(5.9, 0.03, 20.0, 12.0)], aim(5.4), &at_hand).unwrap();
    let Action::OutOfReach { why } = &advice.action else {
        panic!("{:?}", advice.action)
    };
    assert!(
        why.contains("gypsum comes nearest") && why.contains("calcium"),
        "{why}"
    );
    assert!(advice.notes.iter().any(|n| n.weight == Weight::Act));
    // 90 mg/L of calcium more, 232.8 mg in a gram: 6.2 g in 16 L.
    let Amount::Mass(full) = advice.ways[0].full else {
        panic!()
    };
    assert!((full.g() - 90.0 * 16.0 / 232.8).abs() < 0.06);
    let text = &advice.ways[0].text;
    assert!(text.contains("no more than 6.2 g in all, of"), "{text}");
    let nothing = AtHand {
        remedies: vec![],
        ..at_hand
    };
    let advice = advise(&hard, &[read(5.9, 0.03, 20.0, 12.0)], aim(5.4), &nothing).unwrap();
    assert!(
        matches!(&advice.action, Action::OutOfReach { why } if why.starts_with("Nothing at hand lowers"))
    );
}

#[test]
fn what_the_cupboard_holds_is_the_most() {
    let at_hand = AtHand {
        remedies: vec![Stocked {
            what: Remedy::Acid(AcidProduct::named("lactic acid 88 %").unwrap()),
            most: Some(Amount::Volume(Volume::from_l(0.001))),
        }],
        ..AtHand::usual().unwrap()
    };
    let advice = advise(
        &mash(4.0),
        &[read(5.9, 0.03, 20.0, 12.0)],
        aim(5.4),
        &at_hand,
    )
    .unwrap();
    assert!(matches!(&advice.action, Action::OutOfReach { why } if why.contains("all there is")));
}

#[test]
fn much_lactic_acid_is_said_to_be_tasted() {
    let advice = told(&mash(5.0), &[read(5.95, 0.03, 20.0, 12.0)], 5.3);
    for name in ["lactic acid 80 %", "acidulated malt"] {
        let notes = &way(&advice, name).notes;
        assert!(
            notes
                .iter()
                .any(|n| n.weight == Weight::Look && n.text.contains("400 mg/L")),
            "{name}: {notes:?}"
        );
    }
    assert!(
        way(&advice, "phosphoric acid 10 %")
            .notes
            .iter()
            .all(|n| n.weight == Weight::Fine)
    );
}

#[test]
fn a_reading_nobody_expects_is_told() {
    let advice = told(&mash(2.0), &[read(4.6, 0.03, 20.0, 12.0)], 5.4);
    assert!(
        advice
            .notes
            .iter()
            .any(|n| n.text.contains("from what was expected"))
    );
    // Ten standard deviations off: nothing is dosed on it.
    assert_eq!((advice.credible, &advice.action), (false, &Action::Read));
    assert!(advice.ways.is_empty());
    let usual = told(&mash(2.0), &[read(5.7, 0.03, 20.0, 12.0)], 5.4);
    assert!(
        usual
            .notes
            .iter()
            .all(|n| !n.text.contains("from what was expected"))
    );
}

#[test]
fn what_cannot_be_read_is_refused() {
    let usual = AtHand::usual().unwrap();
    let refuse = |reading: Reading, word: &str| {
        let error = advise(&mash(2.0), &[reading], aim(5.4), &usual)
            .unwrap_err()
            .to_string();
        assert!(error.contains(word), "{error}");
    };
    refuse(read(2.0, 0.03, 20.0, 12.0), "between 3 and 9");
    refuse(read(f64::NAN, 0.03, 20.0, 12.0), "reading of the mash");
    refuse(read(5.5, 0.03, 140.0, 12.0), "temperature of the sample");
    refuse(read(5.5, f64::NAN, 20.0, 12.0), "reading of the mash");
    let mut by_volume = read(5.5, 0.03, 20.0, 12.0);
    by_volume.added = vec![Addition {
        what: Remedy::Salt(Salt::named("gypsum").unwrap()),
        amount: Amount::Volume(Volume::from_l(0.01)),
    }];
    refuse(by_volume, "gypsum is a solid");
    let mut none = mash(2.0);
    none.malts.clear();
    assert_eq!(
        advise(&none, &[], aim(5.4), &usual).unwrap_err(),
        WaterError::NoMalt
    );
}
