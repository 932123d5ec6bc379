use super::*;
use crate::acids::protons_per_mole;
use quantity::Weight;

fn malt(kg: f64, ph: f64, buffer: f64) -> MaltAcidity {
    MaltAcidity {
        mass: Mass::from_kg(kg),
        ph_di: Measured::exactly(Ph::from_ph(ph)),
        buffer: Measured::exactly(Buffering::from_meq_per_kg_ph(buffer)),
    }
}

fn liquor(litres: f64, alkalinity: f64, calcium_meq: f64, magnesium_meq: f64) -> MashLiquor {
    MashLiquor {
        volume: Volume::from_l(litres),
        alkalinity: Alkalinity::from_meq_per_l(alkalinity),
        calcium: Calcium::from_mg_per_l(calcium_meq * Calcium::MOLAR_MASS / 2.0),
        magnesium: Magnesium::from_mg_per_l(magnesium_meq * Magnesium::MOLAR_MASS / 2.0),
        acids: vec![],
    }
}

fn acid(name: &str, mmol: f64) -> MashAcid {
    let product = AcidProduct::named(name).unwrap();
    let amount = AcidAmount::Mass(Mass::from_g(mmol / 1000.0 / product.mol_per_g));
    MashAcid { product, amount }
}

fn pale() -> [MaltAcidity; 2] {
    [malt(4.5, 5.75, 40.0), malt(0.3, 4.90, 50.0)]
}

/// Worked by hand from the linear balance to four decimals; the grists are made
/// up, so this checks the arithmetic and not whether mashes follow it.
#[test]
fn the_linear_balance_is_solved() {
    let first = mash_ph(&pale(), &[], &liquor(16.0, 2.0, 2.994, 0.658)).unwrap();
    assert!((first.ph.value.ph() - 5.7708).abs() < 5e-5);
    assert!((first.residual_alkalinity.meq_per_l() - 1.0506).abs() < 5e-5);
    assert!((first.buffering_meq_per_ph - 195.0).abs() < 1e-6);

    let mut acidified = liquor(16.0, 2.0, 2.994, 0.658);
    acidified.acids.push(acid("hydrochloric acid 10 %", 20.0));
    let second = mash_ph(&pale(), &[], &acidified).unwrap();
    assert!((second.ph.value.ph() - 5.6683).abs() < 5e-5);

    let dark = [malt(4.0, 5.75, 40.0), malt(0.35, 4.60, 60.0)];
    let third = mash_ph(&dark, &[], &liquor(15.0, 5.70, 5.50, 1.50)).unwrap();
    assert!((third.ph.value.ph() - 5.9410).abs() < 5e-5);
    assert!((third.residual_alkalinity.meq_per_l() - 3.9143).abs() < 5e-5);
}

/// A weak acid gives what it gives at the pH it makes.
#[test]
fn a_weak_acid_closes_the_balance() {
    let mut sour = liquor(16.0, 2.0, 3.0, 0.7);
    sour.acids.push(acid("citric acid", 12.0));
    let ph = mash_ph(&pale(), &[], &sour).unwrap().ph.value;
    let given = 12.0 * protons_per_mole(sour.acids[0].product.acid, ph);
    let malts = 180.0 * (5.75 - ph.ph()) + 15.0 * (4.90 - ph.ph());
    let water = 16.0 * (2.0 - 3.0 / 3.5 - 0.7 / 7.0);
    assert!((malts + water - given).abs() < 1e-9);
}

/// 20 mEq as acidulated malt is 20 mEq as strong acid.
#[test]
fn acidulated_malt_counts_as_acid() {
    let measured = AcidMalt {
        mass: Mass::from_kg(0.1),
        acidity: Measured::with_sd(TitratableAcidity::from_meq_per_kg(200.0), 30.0),
    };
    let made = mash_ph(&pale(), &[measured], &liquor(16.0, 2.0, 2.994, 0.658)).unwrap();
    assert!((made.ph.value.ph() - 5.6683).abs() < 5e-5);
    assert!((made.spread.acid_malt - 3.0 / 195.0).abs() < 1e-9);
    let unmeasured = AcidMalt::unmeasured(Mass::from_kg(0.1));
    assert!((unmeasured.acidity.value.meq_per_kg() - 300.0).abs() < 1e-9);
}

/// Common practice: one per cent of acidulated malt lowers the pH by about 0.1.
#[test]
fn one_per_cent_of_acidulated_malt_lowers_by_about_a_tenth() {
    let base = [malt(5.0, 5.75, 40.0)];
    let water = liquor(16.0, 0.5, 2.0, 0.5);
    let without = mash_ph(&base, &[], &water).unwrap().ph.value.ph();
    let with = mash_ph(&base, &[AcidMalt::unmeasured(Mass::from_kg(0.05))], &water).unwrap();
    let fall = without - with.ph.value.ph();
    assert!((0.05..0.15).contains(&fall), "{fall}");
}

/// The spread is what small changes of the inputs make.
#[test]
fn the_spread_is_that_of_finite_differences() {
    let water = liquor(16.0, 4.0, 3.0, 0.7);
    let mut malts = pale();
    malts[0].ph_di = Measured::with_sd(Ph::from_ph(5.75), 0.08);
    let made = mash_ph(&malts, &[], &water).unwrap();
    let ph = |change: &dyn Fn(&mut MaltAcidity)| {
        let mut changed = malts;
        changed.iter_mut().for_each(change);
        mash_ph(&changed, &[], &water).unwrap().ph.value.ph()
    };
    let scale = |factor: f64| {
        ph(&|m| {
            let b = m.buffer.value.meq_per_kg_ph();
            m.buffer = Measured::exactly(Buffering::from_meq_per_kg_ph(b * factor));
        })
    };
    let by_buffering = (scale(0.999f64) - scale(1.001)).abs() / 0.002 * 0.2;
    assert!((made.spread.buffering - by_buffering).abs() < 1e-5);
    let shifted = ph(&|m| {
        if m.ph_di.sd() > 0.0 {
            m.ph_di = Measured::exactly(Ph::from_ph(5.83));
        }
    });
    assert!((made.spread.malt_ph - (shifted - made.ph.value.ph())).abs() < 1e-9);
    assert!(made.ph.sd() > made.spread.model);
}

#[test]
fn a_dark_grist_is_less_sure() {
    let water = liquor(15.0, 1.0, 2.0, 0.5);
    let model = |malts: &[MaltAcidity]| mash_ph(malts, &[], &water).unwrap().spread.model;
    assert!((model(&[malt(5.0, 5.75, 40.0)]) - 0.05).abs() < 1e-12);
    let dark = model(&[malt(3.0, 5.75, 40.0), malt(1.5, 4.6, 60.0)]);
    assert!((dark - 0.10).abs() < 1e-12);
}

#[test]
fn the_remark_follows_the_ph() {
    let weight = |ph: f64| {
        let made = mash_ph(&[malt(5.0, ph, 40.0)], &[], &liquor(15.0, 0.0, 0.0, 0.0)).unwrap();
        made.notes.iter().map(|n| n.weight).max()
    };
    assert_eq!(weight(5.45), Some(Weight::Fine));
    assert_eq!(weight(5.70), Some(Weight::Look));
    assert_eq!(weight(5.95), Some(Weight::Act));
    assert_eq!(weight(5.05), Some(Weight::Act));
}

/// By hand from pK₁ 6.3819 at 20 °C (Plummer & Busenberg 1982, phreeqc.dat): at
/// pH 5.4 9.4 % of the carbonate stays bicarbonate, and the closed balance closes.
#[test]
fn a_closed_mash_keeps_a_part_of_its_bicarbonate() {
    assert!((balance::bicarbonate_share(5.4) - 0.0944).abs() < 5e-5);
    let water = liquor(16.0, 5.7, 5.5, 1.5);
    let open = mash_ph(&pale(), &[], &water).unwrap();
    let closed = mash_ph_in(Tun::Closed, &pale(), &[], &water).unwrap();
    let ph = closed.ph.value.ph();
    let kept = 5.7 / (1.0 + 10f64.powf(6.3819 - ph));
    let malts = 180.0 * (5.75 - ph) + 15.0 * (4.90 - ph);
    assert!((malts + 16.0 * (5.7 - kept - 5.5 / 3.5 - 1.5 / 7.0)).abs() < 1e-9);
    assert!(ph < open.ph.value.ph());
    let apart = format!("{:.2}", open.ph.value.ph() - ph);
    for (made, words) in [(&open, "lower by about"), (&closed, "higher by about")] {
        let told = |n: &Note| n.text.contains(words) && n.text.contains(&apart);
        assert!(made.notes.iter().any(told), "{:?}", made.notes);
    }
    let soft = mash_ph(&pale(), &[], &liquor(16.0, 0.4, 0.4, 0.2)).unwrap();
    assert!(
        soft.notes
            .iter()
            .all(|n| !n.text.contains("carbon dioxide"))
    );
}

/// The share of each malt adds up, and the malt named is the one whose measurement
/// narrows the band as said.
#[test]
fn the_malt_to_measure_next_is_named() {
    let water = liquor(16.0, 2.0, 3.0, 0.7);
    let mut malts = pale();
    malts[0].ph_di = Measured::with_sd(Ph::from_ph(5.75), 0.10);
    malts[1].ph_di = Measured::with_sd(Ph::from_ph(4.90), 0.20);
    let made = mash_ph(&malts, &[], &water).unwrap();
    let sum = root_sum(made.by_malt.iter().map(|m| m.malt_ph));
    assert!((sum - made.spread.malt_ph).abs() < 1e-12);
    let note = made.measure_next(&["pale malt", "crystal malt"]).unwrap();
    malts[0].ph_di = Measured::with_sd(Ph::from_ph(5.75), 0.03);
    let after = mash_ph(&malts, &[], &water).unwrap();
    let ends = format!(
        "from ± {:.2} to ± {:.2}",
        2.0 * made.ph.sd(),
        2.0 * after.ph.sd()
    );
    assert!(
        note.text.contains("the pale malt") && note.text.contains(&ends),
        "{}",
        note.text
    );
    assert_eq!(after.measure_next(&["pale malt", "crystal malt"]), None);
}

#[test]
fn what_cannot_be_a_mash_is_an_error() {
    let water = liquor(16.0, 2.0, 3.0, 0.7);
    assert_eq!(mash_ph(&[], &[], &water).unwrap_err(), WaterError::NoMalt);
    assert_eq!(
        mash_ph(&[malt(0.0, 5.7, 40.0)], &[], &water).unwrap_err(),
        WaterError::NoMalt
    );
    let bad = mash_ph(&[malt(f64::NAN, 5.7, 40.0)], &[], &water).unwrap_err();
    assert!(matches!(bad, WaterError::OutOfBounds { .. }));
    let swamped = mash_ph(&[malt(0.01, 5.7, 40.0)], &[], &liquor(100.0, 5.0, 0.0, 0.0));
    assert!(matches!(
        swamped.unwrap_err(),
        WaterError::MashOutOfReach { .. }
    ));
}
