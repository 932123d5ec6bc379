//! The figures that can be aimed at, each read from a reckoning.

use quantity::{
    AlcoholByVolume, Alkalinity, Bitterness, Calcium, CarbonDioxide, Chloride, Colour, Count,
    Gravity, Magnesium, MassConcentration, Measured, Ph, Quantity, Sodium, Sulfate, Units, show,
    show_interval,
};
use water::analysis::residual_alkalinity;

use super::goal::Wish;
use crate::document::AimSection;
use crate::stream::Reckoning;

/// A figure that can be aimed at.
#[derive(Debug)]
pub struct Aimed {
    /// Its key in the aim section.
    pub key: &'static str,
    /// What it is.
    pub name: &'static str,
    /// An example of it, as it is written.
    pub example: &'static str,
    /// Whether salts and acid make it.
    pub of_water: bool,
    pub(super) read: fn(&Reckoning) -> Option<f64>,
    /// The aim of a document, with the spread that would do; nought where none is said.
    pub(super) aim: fn(&AimSection) -> Option<(f64, f64)>,
    /// Puts an aim into a section, for the search over salts.
    pub(super) put: fn(&mut AimSection, f64, f64),
    pub(super) parse: fn(&str) -> Result<(f64, f64), quantity::QuantityError>,
    pub(super) show: fn(f64, Units) -> String,
    pub(super) show_between: fn(f64, f64, Units) -> String,
    pub(super) bounds: (f64, f64),
    wishes: fn(&str) -> Result<Wish, quantity::QuantityError>,
}

impl Aimed {
    /// A number of it, printed.
    #[must_use]
    pub fn print(&self, canonical: f64, units: Units) -> String {
        (self.show)(canonical, units)
    }

    /// Two numbers of it, printed as an interval.
    #[must_use]
    pub fn print_between(&self, low: f64, high: f64, units: Units) -> String {
        (self.show_between)(low, high, units)
    }

    /// Reads a wish: "28 ± 4 IBU", "at most 30 IBU", "at least 20 IBU".
    pub(super) fn wish(&self, text: &str) -> Result<Wish, quantity::QuantityError> {
        (self.wishes)(text)
    }
}

fn printed<Q: Quantity>(canonical: f64, units: Units) -> String {
    show(Q::from_canonical(canonical.clamp(Q::MIN, Q::MAX)), units)
}

fn printed_between<Q: Quantity>(low: f64, high: f64, units: Units) -> String {
    let [low, high] = [low, high].map(|x| Q::from_canonical(x.clamp(Q::MIN, Q::MAX)));
    show_interval(low, high, units)
}

fn parsed<Q: Quantity>(text: &str) -> Result<(f64, f64), quantity::QuantityError> {
    let read = quantity::parse_measured::<Q>(text)?;
    Ok((read.canonical(), read.sd()))
}

fn wished<Q: Quantity>(text: &str) -> Result<Wish, quantity::QuantityError> {
    let text = text.trim();
    if let Some(most) = text.strip_prefix("at most") {
        return Ok(Wish::AtMost(
            quantity::parse_value::<Q>(most.trim())?.canonical(),
        ));
    }
    if let Some(least) = text.strip_prefix("at least") {
        return Ok(Wish::AtLeast(
            quantity::parse_value::<Q>(least.trim())?.canonical(),
        ));
    }
    let read = quantity::parse_measured::<Q>(text)?;
    Ok(match read.spread {
        quantity::Spread::Range { low, high } => Wish::Near {
            centre: 0.5 * (low + high),
            within: 0.5 * (high - low),
        },
        _ => Wish::Near {
            centre: read.canonical(),
            within: read.sd(),
        },
    })
}

fn spread<Q: Quantity>(aim: Option<Measured<Q>>) -> Option<(f64, f64)> {
    aim.map(|aim| (aim.canonical(), aim.sd()))
}

fn measured<Q: Quantity>(centre: f64, within: f64) -> Option<Measured<Q>> {
    let value = Q::from_canonical(centre.clamp(Q::MIN, Q::MAX));
    Some(Measured::with_sd(value, within))
}

macro_rules! aimed {
    ($kind:ty, $key:ident, $name:literal, $example:literal, $of_water:literal, $read:expr) => {
        Aimed {
            key: stringify!($key),
            name: $name,
            example: $example,
            of_water: $of_water,
            read: $read,
            aim: |section| spread(section.$key),
            put: |section, centre, within| section.$key = measured(centre, within),
            parse: parsed::<$kind>,
            show: printed::<$kind>,
            show_between: printed_between::<$kind>,
            bounds: (<$kind as Quantity>::MIN, <$kind as Quantity>::MAX),
            wishes: wished::<$kind>,
        }
    };
}

/// Every figure that can be aimed at, from glass to tap.
pub static AIMED: [Aimed; 21] = [
    aimed!(
        Gravity,
        original_gravity,
        "original gravity",
        "1.050 ± 0.002",
        false,
        |r| Some(r.boil.wort.gravity.canonical())
    ),
    aimed!(
        Gravity,
        final_gravity,
        "final gravity",
        "1.010 ± 0.002",
        false,
        |r| Some(r.fermentation.final_gravity.canonical())
    ),
    aimed!(
        AlcoholByVolume,
        alcohol,
        "alcohol",
        "5.2 ± 0.3 %",
        false,
        |r| Some(r.glass.alcohol.canonical())
    ),
    aimed!(Colour, colour, "colour", "12 ± 2 EBC", false, |r| Some(
        r.glass.colour.canonical()
    )),
    aimed!(
        Bitterness,
        bitterness,
        "bitterness",
        "28 ± 4 IBU",
        false,
        |r| Some(r.glass.bitterness.canonical())
    ),
    aimed!(
        CarbonDioxide,
        carbon_dioxide,
        "carbon dioxide",
        "2.6 ± 0.2 vol",
        false,
        |r| Some(r.glass.carbon_dioxide.canonical())
    ),
    aimed!(Ph, beer_ph, "pH of the beer", "4.3 ± 0.1", false, |r| Some(
        r.packaging.beer.ph.canonical()
    )),
    aimed!(
        MassConcentration,
        clove,
        "clove (4-vinylguaiacol)",
        "0.8 ± 0.4 mg/L",
        false,
        |r| Some(r.packaging.beer.flavour.vinylguaiacol.canonical())
    ),
    aimed!(
        MassConcentration,
        banana,
        "banana (isoamyl acetate)",
        "3 ± 1 mg/L",
        false,
        |r| Some(r.packaging.beer.flavour.isoamyl_acetate.canonical())
    ),
    aimed!(
        MassConcentration,
        esters,
        "esters (ethyl acetate)",
        "at most 30 mg/L",
        false,
        |r| Some(r.packaging.beer.flavour.ethyl_acetate.canonical())
    ),
    aimed!(
        MassConcentration,
        fusel,
        "fusel alcohols (isoamyl alcohol)",
        "at most 70 mg/L",
        false,
        |r| Some(r.packaging.beer.flavour.isoamyl_alcohol.canonical())
    ),
    aimed!(Ph, mash_ph, "mash pH", "5.4 ± 0.1", true, |r| r
        .mash_ph
        .is_some()
        .then(|| r.mash.wort.ph.canonical())),
    aimed!(
        Calcium,
        calcium,
        "calcium of the mash liquor",
        "100 ± 20 mg/L",
        true,
        |r| Some(r.water.mash.ions.calcium.canonical())
    ),
    aimed!(
        Magnesium,
        magnesium,
        "magnesium of the mash liquor",
        "10 ± 5 mg/L",
        true,
        |r| Some(r.water.mash.ions.magnesium.canonical())
    ),
    aimed!(
        Sodium,
        sodium,
        "sodium of the mash liquor",
        "at most 50 mg/L",
        true,
        |r| Some(r.water.mash.ions.sodium.canonical())
    ),
    aimed!(
        Chloride,
        chloride,
        "chloride of the mash liquor",
        "100 ± 20 mg/L",
        true,
        |r| Some(r.water.mash.ions.chloride.canonical())
    ),
    aimed!(
        Sulfate,
        sulfate,
        "sulfate of the mash liquor",
        "60 ± 20 mg/L",
        true,
        |r| Some(r.water.mash.ions.sulfate.canonical())
    ),
    aimed!(
        Count,
        sulfate_to_chloride,
        "sulfate to chloride in the mash liquor",
        "1.5 ± 0.3",
        true,
        |r| {
            let ions = &r.water.mash.ions;
            let ratio = ions.sulfate.mg_per_l() / ions.chloride.mg_per_l();
            (ratio <= Count::MAX).then_some(ratio)
        }
    ),
    aimed!(
        Alkalinity,
        alkalinity,
        "alkalinity of the mash liquor",
        "1 ± 0.2 mEq/L",
        true,
        |r| Some(r.water.mash.alkalinity.canonical())
    ),
    aimed!(
        Alkalinity,
        residual_alkalinity,
        "residual alkalinity of the mash liquor",
        "0.5 ± 0.2 mEq/L",
        true,
        |r| Some(residual_alkalinity(&r.water.mash.ions, r.water.mash.alkalinity).canonical())
    ),
    aimed!(
        Alkalinity,
        sparge_alkalinity,
        "alkalinity of the sparge liquor",
        "at most 0.5 mEq/L",
        true,
        |r| (r.volumes.sparge_liquor.l() > 0.0).then(|| r.water.sparge.alkalinity.canonical())
    ),
];

/// The figure of a key.
#[must_use]
pub fn aimed(key: &str) -> Option<&'static Aimed> {
    AIMED.iter().find(|a| a.key == key)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::Document;

    /// The figures here are those that the beer is held against its aim by.
    #[test]
    fn the_figures_are_those_of_the_aim() {
        let text = include_str!("../../../../examples/lantern-pale.toml");
        let (document, assumptions) = Document::read(text).unwrap();
        let r = Reckoning::of(document, assumptions).unwrap();
        for line in &r.aim {
            let read = (aimed(line.key).unwrap().read)(&r).unwrap();
            let off = (read - line.reckoned.value).abs();
            assert!(off < 1e-9 * (1.0 + read.abs()), "{} {off}", line.key);
        }
        let section = r.document.aim.as_ref().unwrap();
        let aims = AIMED.iter().filter(|a| (a.aim)(section).is_some());
        assert_eq!(aims.count(), r.aim.len());
    }

    #[test]
    fn each_example_is_a_wish_and_each_key_its_own() {
        for (i, one) in AIMED.iter().enumerate() {
            assert!(one.wish(one.example).is_ok(), "{}", one.key);
            assert!(AIMED[..i].iter().all(|other| other.key != one.key));
        }
    }
}
