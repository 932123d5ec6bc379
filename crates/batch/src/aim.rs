//! The beer against its aim: each figure with its distance, measured in the
//! spread that the brewer said would do.

use quantity::{Count, Measured, Quantity, Units, show, show_measured};
use water::Ions;
use water::analysis::residual_alkalinity;

use crate::stream::Reckoning;

/// One figure against its aim.
#[derive(Debug, Clone, PartialEq)]
pub struct AimLine {
    /// The key in the aim section.
    pub key: &'static str,
    /// What it is.
    pub name: &'static str,
    /// What is aimed at, with the spread that would do.
    pub aim: Figure,
    /// What the reckoning gives, with its spread where one is known.
    pub reckoned: Figure,
    /// How far off it is, in spreads of the aim; none where the aim has no spread.
    pub spreads_off: Option<f64>,
    /// Whether it is within the spread that would do.
    pub met: Option<bool>,
}

/// A number that keeps its quantity for printing.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// The number in the canonical unit of its quantity.
    pub value: f64,
    /// The standard deviation, zero where none is known.
    pub sd: f64,
    /// In metric units.
    pub metric: String,
    /// In US customary units.
    pub us: String,
}

impl Figure {
    pub(crate) fn of<Q: Quantity>(measured: &Measured<Q>) -> Self {
        let print = |units| {
            if measured.sd() > 0.0 {
                show_measured(measured, units)
            } else {
                show(measured.value, units)
            }
        };
        Self {
            value: measured.canonical(),
            sd: measured.sd(),
            metric: print(Units::Metric),
            us: print(Units::Us),
        }
    }

    /// As printed in the reader's units.
    #[must_use]
    pub fn text(&self, units: Units) -> &str {
        match units {
            Units::Metric => &self.metric,
            Units::Us => &self.us,
        }
    }
}

impl AimLine {
    /// On which side of the aim it lies.
    #[must_use]
    pub fn side(&self) -> &'static str {
        if self.reckoned.value > self.aim.value {
            "above"
        } else {
            "below"
        }
    }
}

pub(crate) fn compare(r: &Reckoning) -> Vec<AimLine> {
    let Some(aim) = &r.document.aim else {
        return Vec::new();
    };
    let boiled = &r.boil.wort;
    let beer = &r.glass;
    let flavour = &r.packaging.beer.flavour;
    let ions = &r.water.mash.ions;
    let mut lines = vec![
        line(
            "original_gravity",
            "original gravity",
            aim.original_gravity,
            Some(exact(boiled.gravity)),
        ),
        line(
            "final_gravity",
            "final gravity",
            aim.final_gravity,
            Some(r.fermentation.final_gravity),
        ),
        line("alcohol", "alcohol", aim.alcohol, Some(exact(beer.alcohol))),
        line(
            "colour",
            "colour",
            aim.colour,
            Some(wort::colour::with_spread(beer.colour)),
        ),
        line(
            "bitterness",
            "bitterness",
            aim.bitterness,
            Some(exact(beer.bitterness)),
        ),
        line(
            "carbon_dioxide",
            "carbon dioxide",
            aim.carbon_dioxide,
            Some(exact(beer.carbon_dioxide)),
        ),
        line("mash_ph", "mash pH", aim.mash_ph, r.mash_stands()),
        line(
            "calcium",
            "calcium of the mash liquor",
            aim.calcium,
            Some(exact(ions.calcium)),
        ),
        line(
            "magnesium",
            "magnesium of the mash liquor",
            aim.magnesium,
            Some(exact(ions.magnesium)),
        ),
        line(
            "sodium",
            "sodium of the mash liquor",
            aim.sodium,
            Some(exact(ions.sodium)),
        ),
        line(
            "chloride",
            "chloride of the mash liquor",
            aim.chloride,
            Some(exact(ions.chloride)),
        ),
        line(
            "sulfate",
            "sulfate of the mash liquor",
            aim.sulfate,
            Some(exact(ions.sulfate)),
        ),
        line(
            "sulfate_to_chloride",
            "sulfate to chloride in the mash liquor",
            aim.sulfate_to_chloride,
            sulfate_to_chloride(ions).map(exact),
        ),
        line(
            "alkalinity",
            "alkalinity of the mash liquor",
            aim.alkalinity,
            Some(exact(r.water.mash.alkalinity)),
        ),
        line(
            "residual_alkalinity",
            "residual alkalinity of the mash liquor",
            aim.residual_alkalinity,
            Some(exact(residual_alkalinity(ions, r.water.mash.alkalinity))),
        ),
        at_most(
            "sparge_alkalinity",
            "alkalinity of the sparge liquor, at most",
            aim.sparge_alkalinity,
            (r.volumes.sparge_liquor.l() > 0.0).then(|| exact(r.water.sparge.alkalinity)),
        ),
        line(
            "clove",
            "clove (4-vinylguaiacol)",
            aim.clove,
            Some(exact(flavour.vinylguaiacol)),
        ),
        line(
            "banana",
            "banana (isoamyl acetate)",
            aim.banana,
            Some(exact(flavour.isoamyl_acetate)),
        ),
        line(
            "esters",
            "esters (ethyl acetate)",
            aim.esters,
            Some(exact(flavour.ethyl_acetate)),
        ),
        line(
            "fusel",
            "fusel alcohols (isoamyl alcohol)",
            aim.fusel,
            Some(exact(flavour.isoamyl_alcohol)),
        ),
        line(
            "beer_ph",
            "pH of the beer",
            aim.beer_ph,
            Some(exact(r.packaging.beer.ph)),
        ),
    ];
    lines.iter_mut().filter_map(Option::take).collect()
}

/// None where there is hardly any chloride to set it against.
pub(crate) fn sulfate_to_chloride(ions: &Ions) -> Option<Count> {
    let ratio = ions.sulfate.mg_per_l() / ions.chloride.mg_per_l();
    (ratio <= Count::MAX).then(|| Count::from_number(ratio))
}

/// A figure that may be anywhere up to its aim.
fn at_most<Q: Quantity>(
    key: &'static str,
    name: &'static str,
    aim: Option<Measured<Q>>,
    reckoned: Option<Measured<Q>>,
) -> Option<AimLine> {
    let line = line(key, name, aim, reckoned)?;
    let over = line.reckoned.value - line.aim.value;
    Some(AimLine {
        spreads_off: None,
        met: Some(over <= 1e-9),
        ..line
    })
}

fn exact<Q: Quantity>(value: Q) -> Measured<Q> {
    Measured::exactly(value)
}

fn line<Q: Quantity>(
    key: &'static str,
    name: &'static str,
    aim: Option<Measured<Q>>,
    reckoned: Option<Measured<Q>>,
) -> Option<AimLine> {
    let (aim, reckoned) = (aim?, reckoned?);
    let tolerance = aim.sd();
    let off = reckoned.canonical() - aim.canonical();
    let spreads_off = (tolerance > 0.0).then(|| off / tolerance);
    Some(AimLine {
        key,
        name,
        aim: Figure::of(&aim),
        reckoned: Figure::of(&reckoned),
        spreads_off,
        met: spreads_off.map(|s| s.abs() <= 1.0 + 1e-9),
    })
}
