use super::*;
use crate::acids::AcidProduct;
use crate::dechlorination::{Dose, Reagent};
use crate::mash_ph::{MaltAcidity, mash_ph};
use crate::salts::Salt;
use crate::state::SourceWater;
use quantity::{
    Buffering, Calcium, Chloride, Fraction, Magnesium, Measured, Ph, Sodium, Sulfate, Weight,
};

/// Hard bicarbonate water with chloramine: Ca 2.75, Mg 0.75, Na 0.6, Cl 1.0,
/// SO₄ 0.55 mmol/L, alkalinity 5.5 mEq/L.
fn hard() -> SourceWater {
    SourceWater {
        ions: Ions {
            calcium: Calcium::from_mg_per_l(2.75 * Calcium::MOLAR_MASS),
            magnesium: Magnesium::from_mg_per_l(0.75 * Magnesium::MOLAR_MASS),
            sodium: Sodium::from_mg_per_l(0.6 * Sodium::MOLAR_MASS),
            chloride: Chloride::from_mg_per_l(Chloride::MOLAR_MASS),
            sulfate: Sulfate::from_mg_per_l(0.55 * Sulfate::MOLAR_MASS),
            ..Ions::default()
        },
        alkalinity: Alkalinity::from_meq_per_l(5.5),
        ph: Some(Ph::from_ph(7.3)),
        total_chlorine: "1.8 ± 0.15 mg/L".parse().unwrap(),
        ..SourceWater::named("tap")
    }
}

fn plan() -> WaterPlan {
    WaterPlan {
        sources: vec![SourceShare {
            water: hard(),
            share: Fraction::from_ratio(1.0),
        }],
        mash_volume: Volume::from_l(16.0),
        sparge_volume: Volume::from_l(12.0),
        dechlorination: Dechlorination::Reagent {
            reagent: Reagent::PotassiumMetabisulfite,
            purity: Fraction::from_ratio(1.0),
            excess: Fraction::from_ratio(0.2),
            dose: Dose::Matched,
        },
        salts: vec![],
        acids: vec![],
    }
}

fn salt(name: &str, grams: f64, into: Liquor) -> SaltDose {
    SaltDose {
        salt: Salt::named(name).unwrap(),
        mass: Mass::from_g(grams),
        into,
    }
}

fn acid(name: &str, ml: f64, into: Liquor) -> AcidDose {
    AcidDose {
        product: AcidProduct::named(name).unwrap(),
        amount: AcidAmount::Volume(Volume::from_l(ml / 1000.0)),
        into,
    }
}

#[test]
fn chlorine_is_gone_and_its_traces_are_carried() {
    let treated = treat(&plan()).unwrap();
    for liquor in [&treated.mash, &treated.sparge] {
        assert!(liquor.chlorine.total().mg_per_l() < 1e-12);
        assert!(liquor.chlorine.at_most.mg_per_l() < 1e-12);
        assert!(liquor.ions.potassium.mg_per_l() > 1.0);
        assert!(liquor.ions.ammonium.mg_per_l() > 0.4);
        assert!(liquor.alkalinity.meq_per_l() < 5.5);
    }
    assert_eq!(treated.weigh.len(), 2);
    assert_eq!(treated.tap.water.ph, Some(Ph::from_ph(7.3)));
}

/// 4 g of gypsum in 16 L: 250 mg/L, 58.2 mg/L of calcium (periodictable 2.1.0).
#[test]
fn salts_act_where_they_are_dosed() {
    let before = treat(&plan()).unwrap();
    let mut with = plan();
    with.salts = vec![
        salt("gypsum", 4.0, Liquor::Mash),
        salt("table salt", 2.0, Liquor::Sparge),
    ];
    let after = treat(&with).unwrap();
    let rise = after.mash.ions.calcium.mg_per_l() - before.mash.ions.calcium.mg_per_l();
    assert!((rise - 0.25 * 232.8).abs() < 0.05, "{rise}");
    assert_eq!(after.mash.ions.sodium, before.mash.ions.sodium);
    assert!(after.sparge.ions.sodium > before.sparge.ions.sodium);
    assert_eq!(after.sparge.ions.calcium, before.sparge.ions.calcium);
}

#[test]
fn two_doses_of_one_salt_share_its_solubility() {
    let mut with = plan();
    with.salts = vec![
        salt("gypsum", 30.0, Liquor::Mash),
        salt("gypsum", 30.0, Liquor::Mash),
    ];
    let treated = treat(&with).unwrap();
    let told = treated
        .notes
        .iter()
        .any(|n| n.weight == Weight::Act && n.text.contains("2.55"));
    assert!(told, "{:?}", treated.notes);
}

#[test]
fn sulfite_and_acid_are_kept_apart() {
    let warned = |plan: &WaterPlan| {
        treat(plan)
            .unwrap()
            .notes
            .iter()
            .any(|n| n.text.contains("Never bring sulfite and acid"))
    };
    assert!(!warned(&plan()));
    let mut with = plan();
    with.acids = vec![acid("lactic acid 80 %", 2.0, Liquor::Mash)];
    assert!(warned(&with));
    with.dechlorination = Dechlorination::None;
    assert!(!warned(&with));
}

#[test]
fn cautions_follow_what_is_used() {
    assert_eq!(
        treat(&plan()).unwrap().cautions,
        [
            Caution::Sulfite,
            Caution::SulfiteLabel,
            Caution::TreatedWater
        ]
    );
    let mut with = plan();
    with.dechlorination = Dechlorination::None;
    with.salts = vec![
        salt("CaCl2·2H2O", 3.0, Liquor::Mash),
        salt("slaked lime", 1.0, Liquor::Sparge),
    ];
    with.acids = vec![acid("phosphoric acid 10 %", 5.0, Liquor::Mash)];
    assert_eq!(
        treat(&with).unwrap().cautions,
        [Caution::Acid, Caution::StrongBase, Caution::CalciumChloride]
    );
}

/// An acid counted in the alkalinity and one kept apart make the same mash where
/// it lands at pH 5.4, and nearly so elsewhere.
#[test]
fn both_ways_to_the_mash_agree() {
    let mut with = plan();
    with.acids = vec![acid("lactic acid 80 %", 8.0, Liquor::Mash)];
    let treated = treat(&with).unwrap();
    let malts = [MaltAcidity {
        mass: Mass::from_kg(5.0),
        ph_di: Measured::exactly(Ph::from_ph(5.7)),
        buffer: Measured::exactly(Buffering::from_meq_per_kg_ph(40.0)),
    }];
    let apart = mash_ph(&malts, &[], &treated.mash_liquor)
        .unwrap()
        .ph
        .value
        .ph();
    let counted = mash_ph(&malts, &[], &MashLiquor::from(&treated.mash))
        .unwrap()
        .ph
        .value
        .ph();
    assert!((apart - counted).abs() < 0.01, "{apart} against {counted}");
    assert!(apart < 5.7);
}

#[test]
fn much_lactic_acid_is_tasted() {
    let tasted = |ml| {
        let mut with = plan();
        with.acids = vec![acid("lactic acid 80 %", ml, Liquor::Mash)];
        treat(&with)
            .unwrap()
            .notes
            .iter()
            .any(|n| n.text.contains("can be tasted"))
    };
    assert!(!tasted(5.0));
    assert!(tasted(15.0));
}

#[test]
fn one_liquor_is_enough_and_none_is_not() {
    let mut only_mash = plan();
    only_mash.sparge_volume = Volume::from_l(0.0);
    let treated = treat(&only_mash).unwrap();
    assert_eq!(treated.weigh.len(), 1);
    assert!(treated.sparge.volume.l().abs() < 1e-12);
    only_mash.salts = vec![salt("gypsum", 1.0, Liquor::Sparge)];
    let error = treat(&only_mash).unwrap_err();
    assert_eq!(
        error.to_string(),
        "gypsum is dosed into the sparge liquor, which is 0 L; dose it into the other one"
    );
    let mut none = plan();
    none.mash_volume = Volume::from_l(0.0);
    none.sparge_volume = Volume::from_l(0.0);
    assert_eq!(treat(&none).unwrap_err(), WaterError::NoLiquor);
}

#[test]
fn chalk_is_not_taken_at_its_word() {
    let mut with = plan();
    with.salts = vec![salt("chalk", 5.0, Liquor::Mash)];
    let (before, after) = (treat(&plan()).unwrap(), treat(&with).unwrap());
    let rise = after.mash.alkalinity.meq_per_l() - before.mash.alkalinity.meq_per_l();
    assert!(
        (0.0..0.5).contains(&rise),
        "5 g in 16 L would be 6 mEq/L: {rise}"
    );
    assert!(
        after
            .notes
            .iter()
            .any(|n| n.text.contains("hardly dissolves"))
    );
}

#[test]
fn absurd_doses_are_errors() {
    let mut with = plan();
    with.acids = vec![acid("sulfuric acid 96 %", 1e5, Liquor::Mash)];
    assert!(matches!(
        treat(&with).unwrap_err(),
        WaterError::OutOfBounds { .. }
    ));
    with.acids = vec![];
    with.salts = vec![salt("gypsum", f64::NAN, Liquor::Mash)];
    assert!(matches!(
        treat(&with).unwrap_err(),
        WaterError::OutOfBounds { .. }
    ));
}

#[test]
fn no_dose_is_given_for_water_that_must_not_be_used() {
    let mut plan = plan();
    plan.sources[0].water.notice = Some(crate::Notice::DoNotDrink);
    let treated = treat(&plan).unwrap();
    assert!(treated.weigh.is_empty());
    assert!(
        treated
            .notes
            .iter()
            .any(|n| n.text.starts_with("No doses are given"))
    );
    assert!(treated.cautions.contains(&Caution::UnfitWater));
}

/// The chemistry of the liquor and the sums of the treatment count the same salts and
/// acids: the ions are those, and so is the alkalinity that lactic acid leaves where
/// it has given all its protons.
#[test]
fn the_liquor_of_the_chemistry_is_that_of_the_treatment() {
    use crate::speciation::{Solution, TYPICAL_TAP};
    use quantity::Temperature;
    let mut with = plan();
    with.salts = vec![
        salt("gypsum", 2.0, Liquor::Mash),
        salt("gypsum", 2.0, Liquor::Mash),
        salt("baking soda", 3.0, Liquor::Mash),
        salt("chalk", 4.0, Liquor::Mash),
    ];
    with.acids = vec![acid("hydrochloric acid 10 %", 6.0, Liquor::Mash)];
    let treated = treat(&with).unwrap();
    let tap = Solution::of(&hard(), Temperature::from_c(20.0), TYPICAL_TAP).unwrap();
    let liquor = tap
        .liquor(
            &treated.dechlorination,
            &with.salts,
            &with.acids,
            with.mash_volume,
        )
        .unwrap();
    let (ours, theirs) = (liquor.ions(), treated.mash.ions);
    for (ours, theirs) in [
        (ours.calcium.mg_per_l(), theirs.calcium.mg_per_l()),
        (ours.sodium.mg_per_l(), theirs.sodium.mg_per_l()),
        (ours.potassium.mg_per_l(), theirs.potassium.mg_per_l()),
        (ours.chloride.mg_per_l(), theirs.chloride.mg_per_l()),
        (ours.sulfate.mg_per_l(), theirs.sulfate.mg_per_l()),
    ] {
        assert!(
            (ours - theirs).abs() < 1e-3 * theirs,
            "{ours} against {theirs}"
        );
    }
    let (ours, theirs) = (
        liquor.alkalinity().meq_per_l(),
        treated.mash.alkalinity.meq_per_l(),
    );
    assert!((ours - theirs).abs() < 2e-3, "{ours} against {theirs}");
    // 3 g of NaHCO3 (84.007 g/mol) in 16 L bring 2.23 mmol/L of carbonate, and of
    // chalk only what dissolves.
    let carbon = liquor.inorganic_carbon().mmol_per_kg() - tap.inorganic_carbon().mmol_per_kg();
    assert!((2.23..2.5).contains(&carbon), "{carbon}");
}
