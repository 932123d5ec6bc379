//! The reading in the mash against exact posteriors, and its laws.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use proptest::prelude::*;
use quantity::{
    Alkalinity, Buffering, Calcium, Duration, Mass, Measured, Ph, PhShift, Temperature, Volume,
};
use water::Amount;
use water::Ions;
use water::acids::AcidProduct;
use water::mash_ph::{MaltAcidity, MashLiquor, Tun};
use water::mash_reading::{
    Action, Addition, Advice, AtHand, Compensation, Dose, Mash, MashAim, Reading, Remedy, advise,
};

fn mash(malts: Vec<MaltAcidity>, litres: f64, alkalinity_meq_per_l: f64) -> Mash {
    Mash {
        malts,
        acid_malts: vec![],
        liquor: MashLiquor {
            volume: Volume::from_l(litres),
            alkalinity: Alkalinity::from_meq_per_l(alkalinity_meq_per_l),
            calcium: Calcium::default(),
            magnesium: quantity::Magnesium::default(),
            acids: vec![],
        },
        ions: Ions::default(),
        beer: Volume::from_l(20.0),
        tun: Tun::Open,
    }
}

fn malt(kg: f64, ph: f64, ph_sd: f64, buffer: f64, buffer_sd: f64) -> MaltAcidity {
    MaltAcidity {
        mass: Mass::from_kg(kg),
        ph_di: Measured::with_sd(Ph::from_ph(ph), ph_sd),
        buffer: Measured::with_sd(Buffering::from_meq_per_kg_ph(buffer), buffer_sd),
    }
}

fn reading(ph: f64, sd: f64, min: f64) -> Reading {
    Reading {
        ph: Measured::with_sd(Ph::from_ph(ph), sd),
        sample: Temperature::from_c(20.0),
        compensation: Compensation::Automatic,
        after_mash_in: Duration::from_min(min),
        added: vec![],
    }
}

fn strong_acid(meq: f64) -> Addition {
    let product = AcidProduct::named("hydrochloric acid 10 %").unwrap();
    Addition {
        what: Remedy::Acid(product),
        amount: Amount::Mass(Mass::from_g(meq / 1000.0 / product.mol_per_g)),
    }
}

fn told(mash: &Mash, readings: &[Reading], aim: f64) -> Advice {
    let aim = MashAim {
        ph: Ph::from_ph(aim),
        within: PhShift::from_ph(0.02),
    };
    advise(mash, readings, aim, &AtHand::usual().unwrap()).unwrap()
}

/// Exact posteriors by quadrature (numpy and scipy, `reference/mash_posterior.py`).
/// Ours is the most probable value, linearised: it may miss the mean by 0.15 of the
/// standard deviation, and that by a tenth.
#[test]
fn the_posterior_is_that_of_quadrature() {
    let text = include_str!("reference/mash_posterior.csv");
    let mut rows = csv::Reader::from_reader(text.as_bytes());
    let mut worst = (0.0f64, 0.0f64);
    let mut cases = 0;
    for row in rows.records() {
        let row = row.unwrap();
        let number = |at: usize| row[at].parse::<f64>().unwrap();
        let mut readings = vec![];
        let mut before = 0.0;
        for (n, point) in row[2].split(' ').enumerate() {
            let (ph, acid) = point.split_once('@').unwrap();
            let acid: f64 = acid.parse().unwrap();
            let minutes = 12.0 + 6.0 * f64::from(u32::try_from(n).unwrap());
            let mut one = reading(ph.parse().unwrap(), number(1), minutes);
            if acid > before {
                one.added = vec![strong_acid(acid - before)];
            }
            before = acid;
            readings.push(one);
        }
        let mash = mash(vec![malt(4.5, 5.75, 0.08, 40.0, 6.0)], 16.0, 1.5);
        let advice = told(&mash, &readings, 5.0);
        let learned = &advice.learned;
        let ln_b = (learned.malts[0].buffer.value.meq_per_kg_ph() / 40.0).ln();
        let ln_sd = learned.malts[0].buffer.sd() / learned.malts[0].buffer.value.meq_per_kg_ph();
        let offset = &learned.offset;
        for (ours, sd, at) in [
            (advice.ph.value.ph(), advice.ph.sd(), 3),
            (ln_b, ln_sd, 5),
            (offset.value.ph(), offset.sd(), 7),
        ] {
            let (exact, exact_sd) = (number(at), number(at + 1));
            let miss = (ours - exact).abs() / exact_sd;
            let wide = (sd / exact_sd - 1.0).abs();
            worst = (worst.0.max(miss), worst.1.max(wide));
            assert!(
                miss < 0.15 && wide < 0.10,
                "{} {ours} {exact} {sd} {exact_sd}",
                &row[0]
            );
        }
        cases += 1;
    }
    assert_eq!(cases, 5);
    println!(
        "worst: mean off by {:.3} sd, sd off by {:.1} %",
        worst.0,
        100.0 * worst.1
    );
}

fn any_mash() -> impl Strategy<Value = Mash> {
    let one = (
        0.2..6.0f64,
        4.5..6.0f64,
        0.0..0.2f64,
        20.0..80.0f64,
        0.0..15.0f64,
    );
    (
        prop::collection::vec(one, 1..5),
        5.0..40.0f64,
        -1.0..6.0f64,
        any::<bool>(),
    )
        .prop_map(|(malts, litres, alkalinity, closed)| {
            let malts = malts
                .into_iter()
                .map(|(kg, ph, a, b, c)| malt(kg, ph, a, b, c));
            let mut mash = mash(malts.collect(), litres, alkalinity);
            if closed {
                mash.tun = Tun::Closed;
            }
            mash
        })
}

fn units(amount: Amount) -> f64 {
    match amount {
        Amount::Mass(mass) => mass.g(),
        Amount::Volume(volume) => 1000.0 * volume.l(),
    }
}

fn sound(way: &Dose) -> bool {
    let figures = [way.first, way.full, way.least, way.most].map(units);
    let whole = |x: f64| (x * 10.0 - (x * 10.0).round()).abs() < 1e-6;
    figures.iter().all(|x| x.is_finite() && *x >= 0.0)
        && units(way.first) <= units(way.full) + 1e-9
        && whole(units(way.first))
        && whole(units(way.full))
        && way.after_full.value.ph().is_finite()
        && !way.text.is_empty()
}

proptest! {
    /// A reading never makes the mash less known; doses can be measured, lie within
    /// their ends, and go the right way; the first part never overshoots the whole.
    #[test]
    fn a_reading_narrows_and_doses_are_sound(
        mash in any_mash(), shift in -0.3..0.3f64, sd in 0.01..0.1f64, aim in 5.0..5.8f64,
    ) {
        let aim = MashAim { ph: Ph::from_ph(aim), within: PhShift::from_ph(0.02) };
        let usual = AtHand::usual().unwrap();
        let Ok(before) = advise(&mash, &[], aim, &usual) else { return Ok(()) };
        let shown = before.predicted.value.ph() + shift;
        prop_assume!((3.5..8.5).contains(&shown));
        let advice = advise(&mash, &[reading(shown, sd, 12.0)], aim, &usual).unwrap();
        prop_assert!(advice.ph.sd() <= before.ph.sd() + 1e-9);
        prop_assert!(advice.ph.value.ph().is_finite());
        // Between prediction and reading, or as good as.
        let (low, high) = (shown.min(before.ph.value.ph()), shown.max(before.ph.value.ph()));
        prop_assert!((low - 0.02..=high + 0.02).contains(&advice.ph.value.ph()));
        let now = advice.ph.value.ph();
        for way in &advice.ways {
            prop_assert!(sound(way), "{way:?}");
            let (first, full) = (way.after_first.value.ph(), way.after_full.value.ph());
            if now > aim.ph.ph() {
                prop_assert!(full <= first + 1e-9 && first <= now + 1e-9);
            } else {
                prop_assert!(full >= first - 1e-9 && first >= now - 1e-9);
            }
            if way.reaches {
                prop_assert!(units(way.least) <= units(way.full) + 0.05 + 1e-9);
                prop_assert!(units(way.full) <= units(way.most) + 0.05 + 1e-9);
            }
        }
        let dosed = matches!(advice.action, Action::Lower | Action::Raise);
        prop_assert_eq!(dosed, advice.ways.iter().any(|w| w.reaches));
    }

    /// What is at any reading at all, nothing panics and every number is finite.
    #[test]
    fn any_reading_is_answered(
        ph in prop::num::f64::ANY, sd in prop::num::f64::ANY, c in -50.0..200.0f64,
        min in -10.0..100.0f64, set in -50.0..200.0f64,
    ) {
        let mut one = reading(ph, sd, min);
        one.sample = Temperature::from_c(c);
        one.compensation = Compensation::FixedAt(Temperature::from_c(set));
        let grist = mash(vec![malt(4.5, 5.75, 0.08, 40.0, 6.0)], 16.0, 1.5);
        let advice = advise(&grist, &[one], MashAim::preferred(), &AtHand::usual().unwrap());
        if let Ok(advice) = advice {
            prop_assert!(advice.ph.value.ph().is_finite() && advice.ph.sd().is_finite());
            prop_assert!(advice.ways.iter().all(sound));
        }
    }

    /// A higher reading asks for more acid.
    #[test]
    fn a_higher_reading_asks_for_more(ph in 5.6..5.9f64, more in 0.02..0.2f64) {
        let mash = mash(vec![malt(4.5, 5.75, 0.08, 40.0, 6.0)], 16.0, 1.5);
        let acid = |ph: f64| {
            let advice = told(&mash, &[reading(ph, 0.02, 12.0)], 5.3);
            let way = advice.ways.iter().find(|w| w.what.name() == "phosphoric acid 10 %");
            way.map(|w| units(w.full)).unwrap()
        };
        prop_assert!(acid(ph + more) >= acid(ph));
    }
}
