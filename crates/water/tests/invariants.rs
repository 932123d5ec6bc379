//! What must hold for every water: charge and mass are kept, more of a thing
//! does more, and nothing falls below nought.

use proptest::prelude::*;
use quantity::{
    Alkalinity, Buffering, Calcium, Chloride, Chlorine, Duration, Fraction, Magnesium, Mass,
    Measured, Nitrate, Ph, Potassium, Sodium, Sulfate, Volume, molar_mass as m,
};
use water::acids::{AcidAmount, AcidDose, acids, products, protons_per_mole};
use water::analysis::{analyse_blend, ion_balance};
use water::dechlorination::{Dechlorinated, Dechlorination, Dose, Reagent, Volumes, dechlorinate};
use water::mash_ph::{MaltAcidity, MashAcid, MashLiquor, mash_ph};
use water::salts::{SaltDose, salts};
use water::{Ions, Liquor, SourceShare, SourceWater, WaterPlan, treat};

fn any_ions() -> impl Strategy<Value = Ions> {
    (
        0.0..200.0,
        0.0..50.0,
        0.0..200.0,
        0.0..30.0,
        0.0..200.0,
        0.0..400.0,
        0.0..40.0,
    )
        .prop_map(|(ca, mg, na, k, cl, so4, no3)| Ions {
            calcium: Calcium::from_mg_per_l(ca),
            magnesium: Magnesium::from_mg_per_l(mg),
            sodium: Sodium::from_mg_per_l(na),
            potassium: Potassium::from_mg_per_l(k),
            chloride: Chloride::from_mg_per_l(cl),
            sulfate: Sulfate::from_mg_per_l(so4),
            nitrate: Nitrate::from_mg_per_l(no3),
            ..Ions::default()
        })
}

/// A water with total chlorine, its spread, and a share of it free.
fn any_water() -> impl Strategy<Value = SourceWater> {
    let free = prop::option::of(0.0..1.0f64);
    (any_ions(), 0.0..8.0, 0.0..5.0f64, 0.0..0.5f64, free).prop_map(
        |(ions, alkalinity, total, sd, free)| SourceWater {
            ions,
            alkalinity: Alkalinity::from_meq_per_l(alkalinity),
            total_chlorine: Measured::with_sd(Chlorine::from_mg_per_l(total), sd * total),
            free_chlorine: free.map(|f| Measured::exactly(Chlorine::from_mg_per_l(f * total))),
            ..SourceWater::named("any")
        },
    )
}

fn any_reagent() -> impl Strategy<Value = Reagent> {
    prop::sample::select(Reagent::ALL.to_vec())
}

fn any_dose() -> impl Strategy<Value = Dose> {
    prop_oneof![
        Just(Dose::Matched),
        (0.0..2.0).prop_map(|g| Dose::Mass(Mass::from_g(g))),
        (0.0..4.0, 0.1..0.6).prop_map(|(count, g)| Dose::Tablets {
            count,
            tablet_mass: Mass::from_g(g)
        }),
    ]
}

fn any_reagent_treatment() -> impl Strategy<Value = Dechlorination> {
    (any_reagent(), 0.5..1.0, 0.0..0.6, any_dose()).prop_map(|(reagent, purity, excess, dose)| {
        Dechlorination::Reagent {
            reagent,
            purity: Fraction::from_ratio(purity),
            excess: Fraction::from_ratio(excess),
            dose,
        }
    })
}

fn any_treatment() -> impl Strategy<Value = Dechlorination> {
    prop_oneof![
        Just(Dechlorination::None),
        any_reagent_treatment(),
        (0.0..500.0).prop_map(|h| Dechlorination::Stand {
            time: Duration::from_h(h)
        }),
        (0.0..200.0).prop_map(|min| Dechlorination::BoilLiquor {
            time: Duration::from_min(min)
        }),
    ]
}

fn any_volumes() -> impl Strategy<Value = Volumes> {
    (1.0..100.0, 0.0..100.0).prop_map(|(mash, sparge)| Volumes {
        mash: Volume::from_l(mash),
        sparge: Volume::from_l(sparge),
    })
}

fn share(ratio: f64, water: SourceWater) -> SourceShare {
    SourceShare {
        water,
        share: Fraction::from_ratio(ratio),
    }
}

/// Cations less anions less alkalinity \[mEq/L\].
fn charge(ions: &Ions, alkalinity: Alkalinity) -> f64 {
    ions.cations().meq_per_l() - ions.anions().meq_per_l() - alkalinity.meq_per_l()
}

fn plan(water: SourceWater, salts: Vec<SaltDose>, acids: Vec<AcidDose>) -> WaterPlan {
    WaterPlan {
        sources: vec![share(1.0, water)],
        mash_volume: Volume::from_l(16.0),
        sparge_volume: Volume::from_l(12.0),
        dechlorination: Dechlorination::None,
        salts,
        acids,
    }
}

fn any_salts() -> impl Strategy<Value = Vec<SaltDose>> {
    let liquor = prop::sample::select(vec![Liquor::Mash, Liquor::Sparge]);
    let index = 0..salts().len();
    let dose = (index, 0.0..50.0, liquor).prop_map(|(index, g, into)| SaltDose {
        salt: &salts()[index],
        mass: Mass::from_g(g),
        into,
    });
    prop::collection::vec(dose, 0..5)
}

/// One, small numbers, and whatever else a number can be.
fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![4 => Just(1.0), 2 => 0.0..2.0f64, 1 => prop::num::f64::ANY]
}

/// Chlorine that a treatment took out \[mg/L as Cl₂\].
fn chlorine_gone(water: &SourceWater, done: &Dechlorinated) -> f64 {
    water.total_chlorine.value.mg_per_l() - done.residual.total().mg_per_l()
}

proptest! {
    #[test]
    fn blending_keeps_the_charge_balance(a in any_water(), b in any_water(), part in 0.0..1.0f64) {
        let expected = part * ion_balance(&a).difference.meq_per_l()
            + (1.0 - part) * ion_balance(&b).difference.meq_per_l();
        let blend = analyse_blend(&[share(part, a), share(1.0 - part, b)]).unwrap();
        prop_assert!((blend.balance.difference.meq_per_l() - expected).abs() < 1e-9);
    }

    #[test]
    fn blending_keeps_chlorine(a in any_water(), b in any_water(), part in 0.0..1.0f64) {
        let total = |w: &SourceWater| w.total_chlorine.value.mg_per_l();
        let expected = part * total(&a) + (1.0 - part) * total(&b);
        let blend = analyse_blend(&[share(part, a), share(1.0 - part, b)]).unwrap();
        let whole = blend.free_chlorine.mg_per_l() + blend.combined_chlorine.mg_per_l();
        prop_assert!((whole - expected).abs() < 1e-9);
    }

    #[test]
    fn salts_are_neutral_in_any_water(water in any_water(), doses in any_salts()) {
        let before = charge(&water.ions, water.alkalinity);
        let treated = treat(&plan(water, doses, vec![])).unwrap();
        for liquor in [&treated.mash, &treated.sparge] {
            let after = charge(&liquor.ions, liquor.alkalinity);
            prop_assert!((after - before).abs() < 1e-8, "{before} to {after}");
        }
    }

    #[test]
    fn strong_acids_trade_alkalinity_for_their_anion(water in any_water(), ml in 0.0..40.0f64) {
        let product = products().iter().find(|p| p.name == "hydrochloric acid 10 %").unwrap();
        let amount = AcidAmount::Volume(Volume::from_l(ml / 1000.0));
        let before = charge(&water.ions, water.alkalinity);
        let dose = AcidDose { product, amount, into: Liquor::Mash };
        let mash = treat(&plan(water, vec![], vec![dose])).unwrap().mash;
        prop_assert!((charge(&mash.ions, mash.alkalinity) - before).abs() < 1e-9);
    }

    #[test]
    fn reagents_keep_charge(
        water in any_water(), volumes in any_volumes(), how in any_reagent_treatment(),
    ) {
        let done = dechlorinate(&water, volumes, &how).unwrap();
        let change = charge(&done.added, done.alkalinity_change) - done.spare_anions.meq_per_l();
        prop_assert!(change.abs() < 1e-9, "{change}");
    }

    #[test]
    fn chlorine_that_is_gone_is_chloride(
        water in any_water(), volumes in any_volumes(), how in any_reagent_treatment(),
    ) {
        let done = dechlorinate(&water, volumes, &how).unwrap();
        let gone_mmol = chlorine_gone(&water, &done) / m::CL2;
        prop_assert!((done.added.chloride.mmol_per_l() - gone_mmol).abs() < 1e-9);
        let dose = done.dose.unwrap();
        if dose.reagent.is_sulfite() {
            let capacity_mmol = dose.capacity.mg_per_l() / m::CL2;
            let sulfur = done.added.sulfate.mmol_per_l() + done.spare_anions.meq_per_l();
            prop_assert!((sulfur - capacity_mmol).abs() < 1e-9, "sulfur is kept");
        }
    }

    #[test]
    fn nothing_falls_below_nought(
        water in any_water(), volumes in any_volumes(), how in any_treatment(),
    ) {
        let done = dechlorinate(&water, volumes, &how).unwrap();
        let residual = done.residual;
        prop_assert!(residual.free.mg_per_l() >= 0.0 && residual.combined.mg_per_l() >= 0.0);
        prop_assert!(done.sulfur_dioxide_at_most.mg_per_l() >= 0.0);
        prop_assert!(residual.at_most.mg_per_l() >= residual.total().mg_per_l() - 1e-9);
        prop_assert!(
            residual.total().mg_per_l() <= water.total_chlorine.value.mg_per_l() + 1e-9
        );
    }

    #[test]
    fn a_matched_dose_scales_with_the_volume(
        water in any_water(), volumes in any_volumes(), reagent in any_reagent(), k in 0.1..10.0f64,
    ) {
        let how = Dechlorination::Reagent {
            reagent,
            purity: Fraction::from_ratio(0.9),
            excess: Fraction::from_ratio(0.2),
            dose: Dose::Matched,
        };
        let scaled = Volumes {
            mash: Volume::from_l(k * volumes.mash.l()),
            sparge: Volume::from_l(k * volumes.sparge.l()),
        };
        let dose = |volumes| dechlorinate(&water, volumes, &how).unwrap().dose.unwrap();
        let (one, many) = (dose(volumes), dose(scaled));
        prop_assert!((many.total.g() - k * one.total.g()).abs() < 1e-9);
        prop_assert!((one.mash.g() + one.sparge.g() - one.total.g()).abs() < 1e-9);
        prop_assert!((many.capacity.mg_per_l() - one.capacity.mg_per_l()).abs() < 1e-9);
    }

    #[test]
    fn waiting_longer_leaves_less(water in any_water(), hours in 0.0..100.0f64, more in 0.1..50.0f64) {
        let volumes = Volumes { mash: Volume::from_l(10.0), sparge: Volume::from_l(0.0) };
        let left = |hours| {
            let time = Duration::from_h(hours);
            [Dechlorination::Stand { time }, Dechlorination::BoilLiquor { time }]
                .map(|how| dechlorinate(&water, volumes, &how).unwrap().residual)
        };
        for (sooner, later) in left(hours).into_iter().zip(left(hours + more)) {
            prop_assert!(later.total() <= sooner.total());
            prop_assert!(later.at_most <= sooner.at_most);
        }
    }

    #[test]
    fn protons_rise_with_ph_up_to_what_the_acid_has(ph in 0.0..13.9f64, step in 0.0..0.1f64) {
        for acid in acids() {
            let z = |ph| protons_per_mole(acid, Ph::from_ph(ph));
            prop_assert!(z(ph + step) >= z(ph) - 1e-12, "{}", acid.name);
            let all = acid.strong + f64::from(u8::try_from(acid.pka.len()).unwrap());
            prop_assert!(z(ph) >= acid.strong && z(ph) <= all + 1e-12);
        }
    }

    #[test]
    fn mash_ph_falls_with_acid_and_calcium_and_rises_with_alkalinity(
        alkalinity in 0.0..6.0f64,
        calcium in 0.0..200.0f64,
        mmol in 0.0..40.0f64,
        which in 0..products().len(),
        ph_di in 5.2..5.9f64,
        step in 0.01..1.0f64,
    ) {
        let malts = [MaltAcidity {
            mass: Mass::from_kg(5.0),
            ph_di: Measured::exactly(Ph::from_ph(ph_di)),
            buffer: Measured::exactly(Buffering::from_meq_per_kg_ph(40.0)),
        }];
        let product = &products()[which];
        let ph = |alkalinity: f64, calcium: f64, mmol: f64| {
            let grams = mmol / 1000.0 / product.mol_per_g;
            let liquor = MashLiquor {
                volume: Volume::from_l(16.0),
                alkalinity: Alkalinity::from_meq_per_l(alkalinity),
                calcium: Calcium::from_mg_per_l(calcium),
                magnesium: Magnesium::default(),
                acids: vec![MashAcid { product, amount: AcidAmount::Mass(Mass::from_g(grams)) }],
            };
            mash_ph(&malts, &[], &liquor).unwrap().ph.value.ph()
        };
        let here = ph(alkalinity, calcium, mmol);
        prop_assert!(ph(alkalinity + step, calcium, mmol) > here);
        prop_assert!(ph(alkalinity, calcium + 50.0 * step, mmol) < here);
        prop_assert!(ph(alkalinity, calcium, mmol + 10.0 * step) < here);
    }

    /// Any numbers at all: an answer with finite figures, or an error.
    #[test]
    fn no_figure_breaks_it(
        total in any_number(), free in any_number(), ratio in any_number(),
        calcium in any_number(), litres in any_number(), grams in any_number(),
    ) {
        let water = SourceWater {
            ions: Ions { calcium: Calcium::from_mg_per_l(calcium), ..Ions::default() },
            alkalinity: Alkalinity::from_meq_per_l(1.0),
            total_chlorine: Measured::with_sd(Chlorine::from_mg_per_l(total), 0.1),
            free_chlorine: Some(Measured::exactly(Chlorine::from_mg_per_l(free))),
            ..SourceWater::named("any")
        };
        let mut plan = plan(water, vec![], vec![]);
        plan.sources[0].share = Fraction::from_ratio(ratio);
        plan.mash_volume = Volume::from_l(litres);
        plan.dechlorination = Dechlorination::Reagent {
            reagent: Reagent::SodiumSulfite,
            purity: Fraction::from_ratio(1.0),
            excess: Fraction::from_ratio(0.0),
            dose: Dose::Mass(Mass::from_g(grams)),
        };
        if let Ok(treated) = treat(&plan) {
            prop_assert!(treated.mash.alkalinity.meq_per_l().is_finite());
            prop_assert!(treated.mash.chlorine.at_most.mg_per_l().is_finite());
        }
    }
}
