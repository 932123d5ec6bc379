//! The books of a reckoning: what goes in comes out, stage by stage.

use batch::Reckoning;
use quantity::density::{pure_ethanol_density, specific_gravity_from_plato, sucrose_density};
use quantity::{Alkalinity, Volume};
use water::acids::{AcidAmount, AcidProduct, COUNTED_AT, protons_per_mole};
use water::{BrewingWater, Ions, ResidualChlorine};

#[track_caller]
fn near(a: f64, b: f64, tolerance: f64, what: &str) {
    assert!((a - b).abs() <= tolerance, "{what}: {a} against {b}");
}

fn sum(entries: &[wort::Entry]) -> f64 {
    entries.iter().map(|e| e.mass.kg()).sum()
}

/// Water drawn, from grain and from sugars is in the fermenter, in the grain, in
/// the losses or gone as steam; so is the extract.
pub fn of_water_and_extract(r: &Reckoning) {
    let (v, book) = (&r.volumes, &r.volumes.ledger);
    let (water, extract) = (sum(&book.water_in), sum(&book.extract_in));
    near(sum(&book.water_out), water, 1e-9 * water, "water");
    near(sum(&book.extract_out), extract, 1e-9 * extract, "extract");
    for entry in [
        &book.water_in,
        &book.water_out,
        &book.extract_in,
        &book.extract_out,
    ]
    .into_iter()
    .flatten()
    {
        assert!(entry.mass.kg() >= -1e-12, "{entry:?}");
    }
    let drawn = v.mash_liquor.l() + v.sparge_liquor.l();
    near(drawn, v.total_water.l(), 1e-9 * drawn, "water to draw");
    near(
        r.water.mash.volume.l(),
        v.mash_liquor.l(),
        1e-9,
        "mash liquor",
    );
    near(
        r.water.sparge.volume.l(),
        v.sparge_liquor.l(),
        1e-9,
        "sparge liquor",
    );
    // What the boil makes of the wort is what the volumes promised.
    let asked = r.document.batch.volume.value.l();
    near(
        r.boil.wort.volume.l(),
        asked,
        1e-6 * asked,
        "into the fermenter",
    );
    let plato = v.into_fermenter.gravity.plato();
    near(
        r.boil.wort.gravity.plato(),
        plato,
        1e-6 * plato,
        "original gravity",
    );
    near(
        v.evaporated.kg(),
        r.boil.report.evaporated.kg(),
        1e-9,
        "steam",
    );
}

/// Cations less anions less alkalinity \[mEq/L\]: zero where an analysis is whole.
fn imbalance(ions: &Ions, alkalinity: Alkalinity) -> f64 {
    ions.cations().meq_per_l() - ions.anions().meq_per_l() - alkalinity.meq_per_l()
}

/// Salts are neutral and strong acids trade alkalinity for their anion, so each
/// liquor misses what the tap missed, and besides only the anions that are not
/// carried on: those of weak acids, and what is left over of the reagent.
pub fn of_charge(r: &Reckoning) {
    let tap = imbalance(&r.water.tap.water.ions, r.water.tap.water.alkalinity);
    let spare = r.water.dechlorination.spare_anions.meq_per_l();
    for (liquor, into) in [
        (&r.water.mash, batch::Into::Mash),
        (&r.water.sparge, batch::Into::Sparge),
    ] {
        if liquor.volume.l() > 0.0 {
            let after = imbalance(&liquor.ions, liquor.alkalinity);
            let weak = weak_anions(r, into, liquor.volume);
            near(after, tap + spare + weak, 1e-9, "charge");
        }
    }
}

/// Charge of the acids' anions that leave no chloride or sulfate \[mEq/L\].
fn weak_anions(r: &Reckoning, into: batch::Into, volume: Volume) -> f64 {
    let doses = r.document.water.acids.iter().filter(|a| a.into == into);
    doses
        .map(|dose| {
            let product = AcidProduct::named(&dose.acid).expect("the reader knew it");
            let amount = match (dose.volume, dose.mass) {
                (Some(volume), _) => AcidAmount::Volume(volume.value),
                (None, Some(mass)) => AcidAmount::Mass(mass.value),
                (None, None) => panic!("{dose:?}"),
            };
            let mmol_per_l = 1000.0 * product.mol(amount).expect("it was reckoned") / volume.l();
            let acid = product.acid;
            let carried = acid.chloride + 2.0 * acid.sulfate;
            mmol_per_l * (protons_per_mole(acid, COUNTED_AT) - carried)
        })
        .sum()
}

type Of = fn(&Ions) -> f64;

const IONS: [(&str, Of); 8] = [
    ("calcium", |i| i.calcium.mg_per_l()),
    ("magnesium", |i| i.magnesium.mg_per_l()),
    ("sodium", |i| i.sodium.mg_per_l()),
    ("potassium", |i| i.potassium.mg_per_l()),
    ("ammonium", |i| i.ammonium.mg_per_l()),
    ("chloride", |i| i.chloride.mg_per_l()),
    ("sulfate", |i| i.sulfate.mg_per_l()),
    ("nitrate", |i| i.nitrate.mg_per_l()),
];

/// What the liquors hold stays in part with the grain; from the kettle on nothing
/// is lost to steam, and losses are wort of the same composition.
pub fn of_dissolved_ions(r: &Reckoning) {
    let (kettle, wort) = (&r.mash.wort, &r.boil.wort);
    for (name, of) in IONS {
        let poured = in_liquors(r, |w| of(&w.ions));
        let in_kettle = of(&kettle.ions) * kettle.volume.l();
        assert!(
            in_kettle <= poured * (1.0 + 1e-9) + 1e-9,
            "{name}: {in_kettle} of {poured} mg"
        );
        let after = of(&wort.ions) * r.boil.report.post_boil.volume.l();
        near(after, in_kettle, 1e-6 * in_kettle + 1e-9, name);
        near(
            of(&r.packaging.beer.ions),
            of(&wort.ions),
            1e-6 * of(&wort.ions) + 1e-9,
            name,
        );
    }
}

fn in_liquors(r: &Reckoning, of: impl Fn(&BrewingWater) -> f64) -> f64 {
    let liquors = [&r.water.mash, &r.water.sparge];
    liquors.iter().map(|w| of(w) * w.volume.l()).sum()
}

/// Chlorine and sulfite that go in can only become less, expected and at most.
pub fn of_chlorine(r: &Reckoning) {
    let tap = &r.water.tap.water.total_chlorine;
    let draw_l = r.volumes.total_water.l();
    let kettle_l = r.mash.wort.volume.l();
    let boiled_l = r.boil.report.post_boil.volume.l();
    let total = |c: &ResidualChlorine| c.total().mg_per_l();
    let most = |c: &ResidualChlorine| c.at_most.mg_per_l();
    let met = |r: &Reckoning| r.boil.wort.traces.halogen_met;
    falls(
        "chlorine expected",
        &[
            tap.value.mg_per_l() * draw_l,
            in_liquors(r, |w| total(&w.chlorine)),
            total(&r.mash.wort.traces.halogen_met) * kettle_l,
            total(&met(r)) * boiled_l,
            total(&r.packaging.beer.halogen_met) * boiled_l,
        ],
    );
    falls(
        "chlorine at most",
        &[
            tap.upper().mg_per_l() * draw_l,
            in_liquors(r, |w| most(&w.chlorine)),
            most(&r.mash.wort.traces.halogen_met) * kettle_l,
            most(&met(r)) * boiled_l,
            most(&r.packaging.beer.halogen_met) * boiled_l,
        ],
    );
    falls(
        "sulfite at most",
        &[
            in_liquors(r, |w| w.sulfur_dioxide_at_most.mg_per_l()),
            r.mash.wort.traces.sulfur_dioxide_at_most.mg_per_l() * kettle_l,
            r.boil.wort.traces.sulfur_dioxide_at_most.mg_per_l() * boiled_l,
            r.packaging.beer.sulfur_dioxide_at_most.mg_per_l() * boiled_l,
        ],
    );
    for c in [r.water.mash.chlorine, met(r), r.packaging.beer.halogen_met] {
        assert!(most(&c) >= total(&c) - 1e-9, "the bound is no bound: {c:?}");
    }
}

#[track_caller]
fn falls(what: &str, mg: &[f64]) {
    for (before, after) in mg.iter().zip(mg.iter().skip(1)) {
        assert!(*after <= before * (1.0 + 1e-6) + 1e-9, "{what}: {mg:?}");
    }
}

/// Extract fermented = ethanol + CO₂ + yeast, in Balling's proportions 2.0665 :
/// 1 : 0.9565 : 0.11, all of it reckoned from what is reported.
pub fn of_fermented_extract(r: &Reckoning) {
    let (f, wort) = (&r.fermentation, &r.boil.wort);
    let original = wort.gravity.plato();
    let wort_g = sucrose_density(original / 100.0, 20.0);
    let before_g = wort_g * original / 100.0;
    let co2_g = f.carbon_dioxide_made.mg_per_l() / 1000.0;
    let grown_g = (f.beer.yeast_mass.g() - f.pitch.dry_mass.g()) / wort.volume.l();
    let beer_g = wort_g - co2_g - grown_g;
    let beer_density =
        specific_gravity_from_plato(f.beer.gravity.plato()) * sucrose_density(0.0, 20.0);
    let ethanol_g = f.alcohol.ratio() * pure_ethanol_density() / beer_density * beer_g;
    let left_g = f.beer.real_extract.plato() / 100.0 * beer_g;
    let fermented_g = before_g - left_g;
    near(
        fermented_g,
        ethanol_g + co2_g + grown_g,
        1e-5 * before_g,
        "extract",
    );
    near(ethanol_g * 2.0665, fermented_g, 1e-5 * before_g, "ethanol");
    near(co2_g, 0.9565 * ethanol_g, 1e-5 * before_g, "CO2");
    near(grown_g, 0.11 * ethanol_g, 1e-5 * before_g, "yeast");
    let seen = wort::alcohol::alcohol_by_volume(wort.gravity, f.beer.gravity)
        .expect("a beer that was reckoned");
    // The wort crate has its own way from two hydrometer readings to alcohol.
    near(f.alcohol.percent(), seen.percent(), 1e-3, "alcohol");
}

/// Bottles and what is left over are the beer that was packed.
pub fn of_packed_beer(r: &Reckoning) {
    let (p, green) = (&r.packaging, &r.fermentation.beer);
    let loss = r.document.package.loss.value.l();
    near(
        p.beer.volume.l(),
        green.volume.l() - loss,
        0.01 * green.volume.l(),
        "packed beer",
    );
    if let Some(count) = p.bottles {
        let each = r.document.package.bottle_volume.value.l();
        let all = f64::from(count.full) * each + count.left_over.l();
        near(
            all,
            p.beer.volume.l(),
            0.01 * p.beer.volume.l(),
            "bottles and rest",
        );
        assert!(count.left_over.l() < each);
    }
    assert!(p.beer.alcohol >= green.alcohol && p.beer.carbon_dioxide.g_per_l() >= 0.0);
}

/// Ions, chlorine, sulfite and flavour per litre, wherever they are handed on.
pub fn above_nought(r: &Reckoning) {
    let (kettle, wort) = (&r.mash.wort, &r.boil.wort);
    let (green, packed) = (&r.fermentation.beer, &r.packaging.beer);
    for ions in [
        &r.water.mash.ions,
        &r.water.sparge.ions,
        &kettle.ions,
        &wort.ions,
        &green.ions,
        &packed.ions,
    ] {
        for (name, of) in IONS {
            assert!(of(ions) >= 0.0, "{name}: {ions:?}");
        }
    }
    for chlorine in [
        r.water.mash.chlorine,
        r.water.sparge.chlorine,
        kettle.traces.halogen_met,
        wort.traces.halogen_met,
        green.halogen_met,
        packed.halogen_met,
    ] {
        let (free, combined) = (chlorine.free.mg_per_l(), chlorine.combined.mg_per_l());
        assert!(free >= 0.0 && combined >= 0.0 && chlorine.at_most.mg_per_l() >= 0.0);
    }
    for sulfite in [
        r.water.mash.sulfur_dioxide_at_most,
        kettle.traces.sulfur_dioxide_at_most,
        wort.traces.sulfur_dioxide_at_most,
        green.sulfur_dioxide_at_most,
        packed.sulfur_dioxide_at_most,
    ] {
        assert!(sulfite.mg_per_l() >= 0.0);
    }
    for activity in &r.glass.activities {
        assert!(activity.concentration.mg_per_l() >= 0.0, "{activity:?}");
        assert!(activity.low <= activity.typical && activity.typical <= activity.high);
    }
    let sugars = &wort.carbohydrates;
    for x in [
        sugars.simple,
        sugars.maltose,
        sugars.maltotriose,
        sugars.dextrin,
    ] {
        assert!(x.mg_per_l() >= 0.0, "{sugars:?}");
    }
    let total: f64 = [
        sugars.simple,
        sugars.maltose,
        sugars.maltotriose,
        sugars.dextrin,
    ]
    .iter()
    .map(|x| x.mg_per_l() / 1000.0)
    .sum();
    let extract =
        wort.gravity.plato() / 100.0 * sucrose_density(wort.gravity.plato() / 100.0, 20.0);
    assert!(
        total <= extract * 1.001,
        "{total} g/L of carbohydrates in {extract} g/L of extract"
    );
}
