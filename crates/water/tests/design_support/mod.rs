//! Tasks for the tests. The waters, malts and beers are invented.
#![allow(dead_code, reason = "each test file uses some of it")]

pub mod cases;

use quantity::{
    Alkalinity, Buffering, Chlorine, Fraction, Mass, Measured, Ph, Quantity, TitratableAcidity,
    Volume,
};
use water::acids::{AcidAmount, AcidProduct};
use water::dechlorination::{Dechlorination, Dose, Reagent};
use water::design::*;
use water::mash_ph::MaltAcidity;
use water::salts::Salt;
use water::{Ions, SourceWater};

/// A concentration of whichever ion is asked for.
pub fn mg<Q: Quantity>(mg_per_l: f64) -> Q {
    Q::from_canonical(mg_per_l)
}

pub fn water(name: &str, calcium: f64, chloride: f64, meq_per_l: f64) -> SourceWater {
    SourceWater {
        ions: Ions {
            calcium: mg(calcium),
            chloride: mg(chloride),
            ..Ions::default()
        },
        alkalinity: Alkalinity::from_meq_per_l(meq_per_l),
        total_chlorine: Measured::exactly(Chlorine::default()),
        ..SourceWater::named(name)
    }
}

pub fn plain(water: SourceWater) -> SourceAtHand {
    SourceAtHand::plain(water)
}

pub fn task(mash_l: f64, sparge_l: f64) -> Task {
    let mut task = Task::default();
    task.mash.volume = Volume::from_l(mash_l);
    task.sparge.volume = Volume::from_l(sparge_l);
    task
}

pub fn salts(names: &[&str], grams: f64) -> Vec<SaltAtHand> {
    names
        .iter()
        .map(|name| SaltAtHand::plenty(Salt::named(name).unwrap(), Mass::from_g(grams)))
        .collect()
}

/// Acids on a syringe of 0.1 mL.
pub fn acid(names: &[&str]) -> Vec<AcidAtHand> {
    names
        .iter()
        .map(|name| {
            let step = AcidAmount::Volume(Volume::from_l(1e-4));
            AcidAtHand::plenty(AcidProduct::named(name).unwrap(), step)
        })
        .collect()
}

pub fn malt(kg: f64, ph_di: f64, buffer: f64) -> MaltAcidity {
    MaltAcidity {
        mass: Mass::from_kg(kg),
        ph_di: Measured::exactly(Ph::from_ph(ph_di)),
        buffer: Measured::exactly(Buffering::from_meq_per_kg_ph(buffer)),
    }
}

pub fn pale_grist(aim: Option<Aim<Ph>>) -> Grist {
    Grist {
        malts: vec![malt(4.5, 5.75, 40.0), malt(0.3, 4.9, 50.0)],
        acid_malts: vec![],
        aim,
        limits: Bounds::default(),
    }
}

pub fn acid_malt(at_most: f64) -> AcidMaltAtHand {
    AcidMaltAtHand {
        acidity: Measured::exactly(TitratableAcidity::from_meq_per_kg(300.0)),
        at_hand: None,
        at_most: Fraction::from_ratio(at_most),
        resolution: Mass::from_g(10.0),
        price_per_kg: Some(Money::from_amount(4.0)),
    }
}

/// A mash and a sparge, two waters, six salts, two acids, acidulated malt.
pub fn rich_task() -> Task {
    let mut task = task(15.0, 12.0);
    let mut tap = water("tap", 62.0, 31.0, 3.1);
    tap.ions.magnesium = mg(8.0);
    tap.ions.sodium = mg(17.0);
    tap.ions.sulfate = mg(42.0);
    task.sources = vec![plain(tap), plain(water("soft", 3.0, 2.0, 0.1))];
    task.salts = salts(
        &[
            "gypsum",
            "calcium chloride dihydrate",
            "Epsom salt",
            "table salt",
            "baking soda",
            "magnesium chloride hexahydrate",
        ],
        0.1,
    );
    task.acids = acid(&["lactic acid 80 %", "phosphoric acid 10 %"]);
    task.acid_malt = Some(acid_malt(0.03));
    task.grist = Some(pale_grist(Some(Aim::near(
        Ph::from_ph(5.4),
        Ph::from_ph(0.05),
    ))));
    let aims = Aims {
        calcium: Some(Aim::near(mg(90.0), mg(10.0))),
        magnesium: Some(Aim::near(mg(12.0), mg(4.0))),
        sodium: Some(Aim::near(mg(20.0), mg(10.0))),
        chloride: Some(Aim::near(mg(70.0), mg(10.0))),
        sulfate: Some(Aim::near(mg(140.0), mg(10.0))),
        ..Aims::default()
    };
    task.mash.aims = aims;
    task.sparge.aims = aims;
    task.sparge.aims.alkalinity = Some(Aim::near(
        Alkalinity::from_meq_per_l(0.5),
        Alkalinity::from_meq_per_l(0.2),
    ));
    task.mash.limits = Limits::of_taste();
    task.sparge.limits = Limits::of_taste();
    task
}

pub fn matched_metabisulfite() -> Dechlorination {
    Dechlorination::Reagent {
        reagent: Reagent::named("potassium metabisulfite").unwrap(),
        purity: Fraction::from_ratio(0.95),
        excess: Fraction::from_ratio(0.2),
        dose: Dose::Matched,
    }
}
