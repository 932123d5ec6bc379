//! The figures whose certainty is asked for.

use quantity::{
    AlcoholByVolume, Alkalinity, Bitterness, CarbonDioxide, Cells, Chlorine, Colour, Count,
    Duration, Fraction, GaugePressure, Gravity, Mass, MassConcentration, Ph, Quantity, Temperature,
    Units, Volume, number_beside, show, show_change, show_interval,
};

use crate::aim::sulfate_to_chloride;
use crate::sign::Stage;
use crate::stream::Reckoning;

/// A figure of a reckoning.
#[derive(Debug)]
pub(crate) struct Watched {
    pub(crate) key: &'static str,
    pub(crate) label: &'static str,
    pub(crate) stage: Stage,
    /// The number in its canonical unit; none where this batch has no such figure.
    pub(crate) read: fn(&Reckoning) -> Option<f64>,
    pub(crate) show: fn(f64, Units) -> String,
    pub(crate) between: fn(f64, f64, Units) -> String,
    /// A change from one number to another.
    pub(crate) change: fn(f64, f64, Units) -> String,
    /// A number in the unit in which another is shown, its symbol and decimals.
    pub(crate) number: fn(f64, f64, Units) -> (f64, &'static str, usize),
}

fn printed<Q: Quantity>(canonical: f64, units: Units) -> String {
    show(Q::from_canonical(canonical), units)
}

fn interval<Q: Quantity>(low: f64, high: f64, units: Units) -> String {
    show_interval(Q::from_canonical(low), Q::from_canonical(high), units)
}

fn changed<Q: Quantity>(from: f64, to: f64, units: Units) -> String {
    show_change(Q::from_canonical(from), Q::from_canonical(to), units)
}

fn numbered<Q: Quantity>(x: f64, beside: f64, units: Units) -> (f64, &'static str, usize) {
    number_beside(Q::from_canonical(x), Q::from_canonical(beside), units)
}

pub(crate) const fn watched<Q: Quantity>(
    stage: Stage,
    key: &'static str,
    label: &'static str,
    read: fn(&Reckoning) -> Option<f64>,
) -> Watched {
    Watched {
        key,
        label,
        stage,
        read,
        show: printed::<Q>,
        between: interval::<Q>,
        change: changed::<Q>,
        number: numbered::<Q>,
    }
}

/// From tap to glass.
pub(crate) static FIGURES: [Watched; 51] = [
    watched::<Alkalinity>(
        Stage::Water,
        "residual_alkalinity",
        "residual alkalinity of the mash liquor",
        |r| {
            let liquor = &r.water.mash;
            Some(water::analysis::residual_alkalinity(&liquor.ions, liquor.alkalinity).canonical())
        },
    ),
    watched::<Chlorine>(Stage::Water, "chlorine_left", "chlorine left", |r| {
        Some(r.water.mash.chlorine.total().canonical())
    }),
    watched::<MassConcentration>(Stage::Water, "calcium", "calcium in the mash liquor", |r| {
        Some(r.water.mash.ions.calcium.canonical())
    }),
    watched::<MassConcentration>(
        Stage::Water,
        "magnesium",
        "magnesium in the mash liquor",
        |r| Some(r.water.mash.ions.magnesium.canonical()),
    ),
    watched::<MassConcentration>(Stage::Water, "sodium", "sodium in the mash liquor", |r| {
        Some(r.water.mash.ions.sodium.canonical())
    }),
    watched::<Alkalinity>(
        Stage::Water,
        "alkalinity",
        "alkalinity of the mash liquor",
        |r| Some(r.water.mash.alkalinity.canonical()),
    ),
    watched::<MassConcentration>(
        Stage::Water,
        "chloride",
        "chloride in the mash liquor",
        |r| Some(r.water.mash.ions.chloride.canonical()),
    ),
    watched::<MassConcentration>(Stage::Water, "sulfate", "sulfate in the mash liquor", |r| {
        Some(r.water.mash.ions.sulfate.canonical())
    }),
    watched::<Count>(
        Stage::Water,
        "sulfate_to_chloride",
        "sulfate to chloride in the mash liquor",
        |r| sulfate_to_chloride(&r.water.mash.ions).map(quantity::Quantity::canonical),
    ),
    watched::<Alkalinity>(
        Stage::Water,
        "sparge_alkalinity",
        "alkalinity of the sparge liquor",
        |r| (r.volumes.sparge_liquor.l() > 0.0).then(|| r.water.sparge.alkalinity.canonical()),
    ),
    watched::<Temperature>(Stage::Mash, "strike", "strike water", |r| {
        r.mash
            .heat
            .as_ref()
            .map(|h| h.strike_temperature.canonical())
    }),
    watched::<Ph>(Stage::Mash, "mash_ph", "pH of the mash", |r| {
        r.mash_ph.is_some().then(|| r.mash.wort.ph.canonical())
    }),
    watched::<Gravity>(
        Stage::Mash,
        "first_wort",
        "gravity of the first wort",
        |r| {
            let first = r.volumes.run_offs.first();
            first.map(|first| first.gravity.canonical())
        },
    ),
    watched::<Gravity>(
        Stage::Mash,
        "last_runnings",
        "gravity of the last runnings",
        |r| Some(r.volumes.last_runnings.canonical()),
    ),
    watched::<Volume>(Stage::Mash, "kettle", "kettle full", |r| {
        Some(r.volumes.pre_boil.volume.canonical())
    }),
    watched::<Volume>(Stage::Mash, "kettle_hot", "kettle full, hot", |r| {
        Some(r.volumes.pre_boil_hot.canonical())
    }),
    watched::<Gravity>(
        Stage::Mash,
        "kettle_gravity",
        "gravity in the kettle",
        |r| Some(r.volumes.pre_boil.gravity.canonical()),
    ),
    watched::<Fraction>(Stage::Mash, "lauter_efficiency", "lauter efficiency", |r| {
        Some(r.volumes.lauter_efficiency.canonical())
    }),
    watched::<Fraction>(
        Stage::Mash,
        "brewhouse_efficiency",
        "brewhouse efficiency",
        |r| Some(r.volumes.brewhouse_efficiency.canonical()),
    ),
    watched::<Fraction>(
        Stage::Mash,
        "attenuation_limit",
        "limit of attenuation",
        |r| r.mash.attenuation_limit.map(|l| l.canonical()),
    ),
    watched::<Mass>(Stage::Boil, "steam", "steam of the boil", |r| {
        Some(r.boil.report.evaporated.canonical())
    }),
    watched::<Volume>(
        Stage::Boil,
        "post_boil_hot",
        "wort after the boil, hot",
        |r| Some(r.volumes.post_boil_hot.canonical()),
    ),
    watched::<Gravity>(
        Stage::Boil,
        "post_boil_gravity",
        "gravity after the boil",
        |r| Some(r.volumes.post_boil.gravity.canonical()),
    ),
    watched::<Volume>(
        Stage::Boil,
        "into_fermenter",
        "wort in the fermenter",
        |r| Some(r.boil.wort.volume.canonical()),
    ),
    watched::<Gravity>(Stage::Boil, "original_gravity", "original gravity", |r| {
        Some(r.boil.wort.gravity.canonical())
    }),
    watched::<Bitterness>(Stage::Boil, "bitterness", "bitterness", |r| {
        Some(r.boil.wort.bitterness.canonical())
    }),
    watched::<Colour>(Stage::Boil, "colour", "colour", |r| {
        Some(r.boil.wort.colour.canonical())
    }),
    watched::<Ph>(Stage::Boil, "wort_ph", "pH of the wort", |r| {
        Some(r.boil.wort.ph.canonical())
    }),
    watched::<MassConcentration>(Stage::Boil, "dms", "dimethyl sulfide in the wort", |r| {
        Some(r.boil.wort.traces.dms.canonical())
    }),
    watched::<MassConcentration>(
        Stage::Boil,
        "ferulic_acid",
        "ferulic acid of the wort",
        |r| Some(r.boil.wort.traces.ferulic_acid.canonical()),
    ),
    watched::<Cells>(Stage::Ferment, "cells", "living cells at hand", |r| {
        Some(r.fermentation.pitch.at_hand.value.canonical())
    }),
    watched::<Count>(
        Stage::Ferment,
        "pitch",
        "cells at hand over those needed",
        |r| Some(r.fermentation.pitch.ratio),
    ),
    watched::<MassConcentration>(Stage::Ferment, "oxygen", "oxygen at pitching", |r| {
        Some(r.fermentation.oxygen.dissolved.canonical())
    }),
    watched::<Duration>(Stage::Ferment, "ninety", "nine tenths fermented", |r| {
        r.fermentation
            .ninety_percent_at
            .map(quantity::Quantity::canonical)
    }),
    watched::<Duration>(Stage::Ferment, "ends", "end of the fermentation", |r| {
        r.fermentation.ended_at.map(quantity::Quantity::canonical)
    }),
    watched::<Gravity>(Stage::Ferment, "final_gravity", "final gravity", |r| {
        Some(r.fermentation.final_gravity.canonical())
    }),
    watched::<Fraction>(
        Stage::Ferment,
        "attenuation",
        "attenuation, apparent",
        |r| Some(r.fermentation.apparent_attenuation.canonical()),
    ),
    watched::<Fraction>(
        Stage::Ferment,
        "real_attenuation",
        "attenuation, real",
        |r| Some(r.fermentation.real_attenuation.canonical()),
    ),
    watched::<AlcoholByVolume>(
        Stage::Ferment,
        "green_alcohol",
        "alcohol before packing",
        |r| Some(r.fermentation.alcohol.canonical()),
    ),
    watched::<CarbonDioxide>(Stage::Package, "carbon_dioxide", "carbon dioxide", |r| {
        Some(r.packaging.beer.carbon_dioxide.canonical())
    }),
    watched::<GaugePressure>(
        Stage::Package,
        "pressure",
        "pressure where it is warmest",
        |r| Some(r.packaging.worst.interval.canonical()),
    ),
    watched::<GaugePressure>(Stage::Package, "keg_pressure", "keg pressure", |r| {
        r.packaging.keg.as_ref().map(|keg| keg.pressure.canonical())
    }),
    watched::<Volume>(Stage::Package, "packed", "beer to pack", |r| {
        Some(r.packaging.beer.volume.canonical())
    }),
    watched::<AlcoholByVolume>(Stage::Glass, "alcohol", "alcohol", |r| {
        Some(r.glass.alcohol.canonical())
    }),
    watched::<Gravity>(Stage::Glass, "glass_gravity", "gravity in the glass", |r| {
        Some(r.glass.gravity.canonical())
    }),
    watched::<Ph>(Stage::Glass, "beer_ph", "pH of the beer", |r| {
        Some(r.packaging.beer.ph.canonical())
    }),
    watched::<MassConcentration>(Stage::Glass, "clove", "clove (4-vinylguaiacol)", |r| {
        Some(r.packaging.beer.flavour.vinylguaiacol.canonical())
    }),
    watched::<MassConcentration>(Stage::Glass, "banana", "banana (isoamyl acetate)", |r| {
        Some(r.packaging.beer.flavour.isoamyl_acetate.canonical())
    }),
    watched::<MassConcentration>(Stage::Glass, "esters", "esters (ethyl acetate)", |r| {
        Some(r.packaging.beer.flavour.ethyl_acetate.canonical())
    }),
    watched::<MassConcentration>(Stage::Glass, "fusel", "fusel (isoamyl alcohol)", |r| {
        Some(r.packaging.beer.flavour.isoamyl_alcohol.canonical())
    }),
    watched::<MassConcentration>(Stage::Glass, "butter", "butter (diacetyl)", |r| {
        Some(r.packaging.beer.flavour.diacetyl.canonical())
    }),
];
