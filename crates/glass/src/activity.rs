//! Odour activity: a compound's concentration over its threshold.

use package::PackedBeer;
use quantity::MassConcentration;
use quantity::density::pure_ethanol_density;

use crate::compound::Compound;
use crate::error::{GlassError, sound};

/// How much of a compound's threshold a beer holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OdourActivity {
    /// The compound.
    pub compound: &'static Compound,
    /// How much of it the beer holds.
    pub concentration: MassConcentration,
    /// Whether that is what is expected or a bound.
    pub bound: Bound,
    /// Concentration over the highest threshold \[–\]: the least it can be.
    pub low: f64,
    /// Concentration over the typical threshold \[–\].
    pub typical: f64,
    /// Concentration over the lowest threshold \[–\]: to sensitive tasters.
    pub high: f64,
    /// What the typical activity means.
    pub notice: Notice,
}

/// What a concentration stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bound {
    /// What is expected.
    Expected,
    /// The most there can be.
    AtMost,
    /// The least there is: malt brings more.
    AtLeast,
}

impl Bound {
    /// The words on the page.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Expected => "expected",
            Self::AtMost => "at most",
            Self::AtLeast => "at least",
        }
    }
}

/// How an activity is noticed: Meilgaard 1975, 1982 (from memory).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Notice {
    /// Below 0.5.
    NotNoticed,
    /// From 0.5 to 1.
    Hardly,
    /// From 1 to 2: a secondary part of the flavour.
    Secondary,
    /// Above 2: a primary part.
    Primary,
}

impl Notice {
    /// What an activity \[–\] means.
    #[must_use]
    pub fn of(activity: f64) -> Self {
        match activity {
            a if a > 2.0 => Self::Primary,
            a if a >= 1.0 => Self::Secondary,
            a if a >= 0.5 => Self::Hardly,
            _ => Self::NotNoticed,
        }
    }

    /// The words on the page.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::NotNoticed => "not noticed",
            Self::Hardly => "hardly noticed",
            Self::Secondary => "secondary",
            Self::Primary => "primary",
        }
    }
}

impl OdourActivity {
    /// The activity of so much of a compound.
    ///
    /// # Errors
    /// [`GlassError::Impossible`] if the concentration is negative or not a
    /// number.
    pub fn new(
        compound: &'static Compound,
        concentration: MassConcentration,
        bound: Bound,
    ) -> Result<Self, GlassError> {
        let held = sound("concentration of a flavour compound", concentration)?.mg_per_l();
        let over = |threshold: MassConcentration| held / threshold.mg_per_l();
        let typical = over(compound.threshold.typical);
        Ok(Self {
            compound,
            concentration,
            bound,
            low: over(compound.threshold.high),
            typical,
            high: over(compound.threshold.low),
            notice: Notice::of(typical),
        })
    }
}

/// The activities of all that packed beer carries, the strongest first.
///
/// Diacetyl counts what is still to come. Ions are those of the water, to which
/// malt adds its own; sulfur dioxide is the most from treatment, to which yeast
/// adds its own.
///
/// # Errors
/// [`GlassError::Impossible`] if a concentration is negative or not a number.
pub fn activities(beer: &PackedBeer) -> Result<Vec<OdourActivity>, GlassError> {
    let mut all = CARRIED
        .iter()
        .filter_map(|(key, bound, of)| Compound::find(key).map(|compound| (compound, *bound, of)))
        .map(|(compound, bound, of)| {
            OdourActivity::new(compound, MassConcentration::from_mg_per_l(of(beer)), bound)
        })
        .collect::<Result<Vec<_>, _>>()?;
    all.sort_by(|a, b| b.typical.total_cmp(&a.typical));
    Ok(all)
}

/// Ethanol of a beer \[mg/L\].
fn ethanol_mg_per_l(beer: &PackedBeer) -> f64 {
    beer.alcohol.ratio() * pure_ethanol_density() * 1000.0
}

/// What is carried: the key, what the figure stands for, and the figure in mg/L.
type Carried = (&'static str, Bound, fn(&PackedBeer) -> f64);

const CARRIED: &[Carried] = &[
    ("diacetyl", Bound::AtMost, |b| {
        b.flavour.diacetyl.mg_per_l() + b.flavour.diacetyl_to_come.mg_per_l()
    }),
    ("ethyl-acetate", Bound::Expected, |b| {
        b.flavour.ethyl_acetate.mg_per_l()
    }),
    ("isoamyl-acetate", Bound::Expected, |b| {
        b.flavour.isoamyl_acetate.mg_per_l()
    }),
    ("isoamyl-alcohol", Bound::Expected, |b| {
        b.flavour.isoamyl_alcohol.mg_per_l()
    }),
    ("acetaldehyde", Bound::Expected, |b| {
        b.flavour.acetaldehyde.mg_per_l()
    }),
    ("4-vinylguaiacol", Bound::Expected, |b| {
        b.flavour.vinylguaiacol.mg_per_l()
    }),
    ("dimethyl-sulfide", Bound::Expected, |b| {
        b.flavour.dms.mg_per_l()
    }),
    ("iso-alpha-acids", Bound::Expected, |b| {
        b.flavour.iso_alpha.mg_per_l()
    }),
    ("ethanol", Bound::Expected, ethanol_mg_per_l),
    ("carbon-dioxide", Bound::Expected, |b| {
        b.carbon_dioxide.g_per_l() * 1000.0
    }),
    ("sulfur-dioxide", Bound::AtMost, |b| {
        b.sulfur_dioxide_at_most.mg_per_l()
    }),
    ("sulfate", Bound::AtLeast, |b| b.ions.sulfate.mg_per_l()),
    ("chloride", Bound::AtLeast, |b| b.ions.chloride.mg_per_l()),
    ("sodium", Bound::AtLeast, |b| b.ions.sodium.mg_per_l()),
    // The threshold of magnesium counts what is added to malt's own.
    ("magnesium", Bound::Expected, |b| {
        b.ions.magnesium.mg_per_l()
    }),
];

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn everything_carried_has_a_row() {
        for (key, _, _) in CARRIED {
            assert!(Compound::find(key).is_some(), "{key}");
        }
    }

    /// The steps of Meilgaard's flavour units (from memory): below 0.5, 0.5 to
    /// 1, 1 to 2, above 2.
    #[test]
    fn words_follow_the_flavour_units() {
        for (activity, words) in [
            (0.0, "not noticed"),
            (0.49, "not noticed"),
            (0.5, "hardly noticed"),
            (0.99, "hardly noticed"),
            (1.0, "secondary"),
            (2.0, "secondary"),
            (2.01, "primary"),
        ] {
            assert_eq!(Notice::of(activity).words(), words);
        }
    }

    /// 3.2 mg/L is twice the 1.6 mg/L of Liguori et al. 2018, and 3.2 times the
    /// lowest 1.0 mg/L of Humia et al. 2019.
    #[test]
    fn an_activity_is_a_concentration_over_a_threshold() {
        let banana = Compound::find("isoamyl-acetate").unwrap();
        let held = MassConcentration::from_mg_per_l(3.2);
        let activity = OdourActivity::new(banana, held, Bound::Expected).unwrap();
        assert!((activity.typical - 2.0).abs() < 1e-12);
        assert!((activity.high - 3.2).abs() < 1e-12);
        assert!((activity.low - 1.28).abs() < 1e-12);
        assert_eq!(activity.notice, Notice::Secondary);
    }

    proptest! {
        #[test]
        fn more_is_never_noticed_less(index in 0usize..15, mg_per_l in 0.0..1e5f64, more in 0.0..1e5f64) {
            let compound = Compound::find(CARRIED[index].0).unwrap();
            let of = |x: f64| {
                OdourActivity::new(compound, MassConcentration::from_mg_per_l(x), Bound::Expected).unwrap()
            };
            let (little, much) = (of(mg_per_l), of(mg_per_l + more));
            prop_assert!(much.notice >= little.notice && much.typical >= little.typical);
            prop_assert!(little.low <= little.typical && little.typical <= little.high);
        }
    }
}
