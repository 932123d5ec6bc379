//! The mash pH against published slopes, and its laws.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use proptest::prelude::*;
use quantity::{
    Alkalinity, Buffering, Calcium, Magnesium, Mass, Measured, Ph, TitratableAcidity, Volume,
};
use water::acids::{AcidAmount, products};
use water::mash_ph::{
    AcidMalt, Added, MaltAcidity, MashAcid, MashLiquor, TitrationPoint, Tun, constants, mash_ph,
    mash_ph_in, titrated,
};

fn malt(kg: f64, ph: f64, buffer: f64) -> MaltAcidity {
    MaltAcidity {
        mass: Mass::from_kg(kg),
        ph_di: Measured::exactly(Ph::from_ph(ph)),
        buffer: Measured::exactly(Buffering::from_meq_per_kg_ph(buffer)),
    }
}

fn liquor(litres: f64, alkalinity: f64, calcium_mg: f64) -> MashLiquor {
    MashLiquor {
        volume: Volume::from_l(litres),
        alkalinity: Alkalinity::from_meq_per_l(alkalinity),
        calcium: Calcium::from_mg_per_l(calcium_mg),
        magnesium: Magnesium::default(),
        acids: vec![],
    }
}

fn ph(malts: &[MaltAcidity], liquor: &MashLiquor) -> f64 {
    mash_ph(malts, &[], liquor).unwrap().ph.value.ph()
}

/// pH for a mEq/L of residual alkalinity with a grist of buffering 40, by the
/// thickness of the mash.
fn slope(litres_per_kg: f64) -> f64 {
    let grist = [malt(1.0, 5.75, 40.0)];
    let at = |alkalinity| ph(&grist, &liquor(litres_per_kg, alkalinity, 0.0));
    at(1.0) - at(0.0)
}

/// Troester 2009: S = 0.013 R + 0.013 pH per mEq/L with R in L/kg (from memory). Ours
/// is R/B and lies above it: by less than two standard deviations of what is not known
/// of buffering, that of a class of base malt (30 to 50) and that common to all.
#[test]
fn the_slope_of_troester_lies_within_the_doubt_in_buffering() {
    let class_sd = 20.0 / 12f64.sqrt() / 40.0;
    let ln_sd = constants().ln_buffering_sd.value.hypot(class_sd);
    for tenths in 20..=50 {
        let r = f64::from(tenths) / 10.0;
        let troester = 0.013 * r + 0.013;
        let ratio = slope(r) / troester;
        assert!((0.0..2.0 * ln_sd).contains(&ratio.ln()), "{r}: {ratio}");
    }
}

/// Kolbach 1953 (from memory): cast-out wort rises by 0.084 pH for a mEq/L with some
/// 5 to 6 L of water a kilogram, an apparent buffering of 60 to 70, which is within a
/// factor of 1.75 of the 40 of titrations. Less water moves the pH less in ours too.
#[test]
fn the_slope_of_kolbach_is_of_the_same_size() {
    for r in [5.0, 6.0] {
        let ratio = slope(r) / 0.084;
        assert!((1.0..=1.8).contains(&ratio), "{r}: {ratio}");
    }
    assert!(slope(3.0) < slope(5.0));
}

/// Kolbach 1953: a mEq/L of calcium takes 1/3.5 of alkalinity away, one of magnesium
/// 1/7, so that each leaves the mash where that much less alkalinity does.
#[test]
fn calcium_and_magnesium_act_as_kolbach_says() {
    let grist = [malt(4.0, 5.75, 40.0)];
    let mut calcium = liquor(16.0, 3.0, 0.0);
    calcium.calcium = Calcium::from_mg_per_l(3.5 * Calcium::MOLAR_MASS / 2.0);
    let mut magnesium = liquor(16.0, 3.0, 0.0);
    magnesium.magnesium = Magnesium::from_mg_per_l(7.0 * Magnesium::MOLAR_MASS / 2.0);
    let less = ph(&grist, &liquor(16.0, 2.0, 0.0));
    assert!((ph(&grist, &calcium) - less).abs() < 1e-9);
    assert!((ph(&grist, &magnesium) - less).abs() < 1e-9);
}

fn any_grist() -> impl Strategy<Value = Vec<MaltAcidity>> {
    let one = (0.2..6.0f64, 4.5..6.0f64, 20.0..80.0f64);
    prop::collection::vec(one.prop_map(|(kg, ph, b)| malt(kg, ph, b)), 1..6)
}

fn any_liquor() -> impl Strategy<Value = MashLiquor> {
    let acid = prop::option::of((0..products().len(), 0.0..5.0f64));
    (3.0..40.0f64, 0.0..5.0f64, 0.0..150.0f64, acid).prop_map(|(l, alkalinity, calcium, acid)| {
        let mut liquor = liquor(l, alkalinity, calcium);
        liquor.acids.extend(acid.map(|(which, grams)| MashAcid {
            product: &products()[which],
            amount: AcidAmount::Mass(Mass::from_g(grams)),
        }));
        liquor
    })
}

proptest! {
    #[test]
    fn more_base_raises_and_more_acid_lowers(
        grist in any_grist(), liquor in any_liquor(), more in 0.01..1.0f64,
    ) {
        let Ok(made) = mash_ph(&grist, &[], &liquor) else { return Ok(()) };
        let before = made.ph.value.ph();
        let mut harder = liquor.clone();
        harder.alkalinity = Alkalinity::from_meq_per_l(liquor.alkalinity.meq_per_l() + more);
        let mut limier = liquor.clone();
        limier.calcium = Calcium::from_mg_per_l(liquor.calcium.mg_per_l() + 20.0 * more);
        if let Ok(harder) = mash_ph(&grist, &[], &harder) {
            prop_assert!(harder.ph.value.ph() > before);
        }
        if let Ok(limier) = mash_ph(&grist, &[], &limier) {
            prop_assert!(limier.ph.value.ph() < before);
        }
        let sour = AcidMalt::unmeasured(Mass::from_kg(0.02 * more));
        if let Ok(sour) = mash_ph(&grist, &[sour], &liquor) {
            prop_assert!(sour.ph.value.ph() < before);
        }
    }

    /// A closed tun never stands above an open one, nor a liquor without alkalinity
    /// apart from it.
    #[test]
    fn a_closed_tun_stands_lower(grist in any_grist(), liquor in any_liquor()) {
        let of = |tun| mash_ph_in(tun, &grist, &[], &liquor);
        let (Ok(open), Ok(closed)) = (of(Tun::Open), of(Tun::Closed)) else { return Ok(()) };
        prop_assert!(closed.ph.value.ph() <= open.ph.value.ph() + 1e-9);
        let mut soft = liquor.clone();
        soft.alkalinity = Alkalinity::default();
        let of = |tun| mash_ph_in(tun, &grist, &[], &soft).map(|m| m.ph.value.ph());
        if let (Ok(open), Ok(closed)) = (of(Tun::Open), of(Tun::Closed)) {
            prop_assert!((open - closed).abs() < 1e-9);
        }
    }

    /// Malt of one kind in one sack or in two is one mash.
    #[test]
    fn halves_make_a_whole(grist in any_grist(), liquor in any_liquor()) {
        let halves: Vec<MaltAcidity> = grist
            .iter()
            .flat_map(|m| [*m; 2])
            .map(|m| MaltAcidity { mass: Mass::from_kg(m.mass.kg() / 2.0), ..m })
            .collect();
        let (whole, halves) = (mash_ph(&grist, &[], &liquor), mash_ph(&halves, &[], &liquor));
        if let (Ok(whole), Ok(halves)) = (whole, halves) {
            prop_assert!((whole.ph.value.ph() - halves.ph.value.ph()).abs() < 1e-9);
        }
    }

    /// Any mash at all is answered with finite figures or refused.
    #[test]
    fn any_mash_is_answered(
        kg in prop::num::f64::ANY, ph in prop::num::f64::ANY, b in prop::num::f64::ANY,
        l in prop::num::f64::ANY, alkalinity in prop::num::f64::ANY,
    ) {
        if let Ok(made) = mash_ph(&[malt(kg, ph, b)], &[], &liquor(l, alkalinity, 50.0)) {
            prop_assert!(made.ph.value.ph().is_finite() && made.ph.sd().is_finite());
        }
    }

    /// A titration of a malt without curvature gives that malt back.
    #[test]
    fn a_titration_gives_the_malt_back(
        ph_di in 4.5..6.0f64, b in 20.0..80.0f64, steps in prop::collection::vec(2.0..12.0f64, 1..4),
    ) {
        let mut points = vec![TitrationPoint { added: Added::Nothing, ph: Ph::from_ph(ph_di) }];
        let mut acid = 0.0;
        for step in steps {
            acid += step;
            points.push(TitrationPoint {
                added: Added::Acid(TitratableAcidity::from_meq_per_kg(acid)),
                ph: Ph::from_ph(ph_di - acid / b),
            });
        }
        if let Ok(malt) = titrated(&points, Ph::from_ph(ph_di - acid / b)) {
            prop_assert!((malt.ph_di.value.ph() - ph_di).abs() < 1e-6);
            prop_assert!((malt.buffer.value.meq_per_kg_ph() / b - 1.0).abs() < 1e-5);
        }
    }
}
