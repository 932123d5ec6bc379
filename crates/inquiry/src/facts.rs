//! Facts of a batch, and which rows of the table hold for it.

use quantity::{Alkalinity, Chloride, Duration, Fraction, Ph, Sodium, Sulfate, Temperature};
use water::ResidualChlorine;

use glass::Grade;

use crate::answer::network;
use crate::error::InquiryError;
use crate::house::House;
use crate::knowledge::{Fact, Knowledge};
use crate::network::Network;

/// What was brewed with what: every field that is not known is left out, and then
/// says nothing.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Facts {
    /// Where the water is drawn.
    pub water: Option<WaterKind>,
    /// Chlorine that met malt.
    pub chlorine: Option<ResidualChlorine>,
    /// Alkalinity left in the mash liquor.
    pub alkalinity: Option<Alkalinity>,
    /// Whether the grist is pale.
    pub pale: Option<bool>,
    /// Sulfate of the brewing water.
    pub sulfate: Option<Sulfate>,
    /// Sodium of it.
    pub sodium: Option<Sodium>,
    /// Chloride of it.
    pub chloride: Option<Chloride>,
    /// pH of the mash.
    pub mash_ph: Option<Ph>,
    /// Hottest rest of the mash in which malt is converted.
    pub mash_rest: Option<Temperature>,
    /// Temperature of the sparge.
    pub sparge: Option<Temperature>,
    /// Whether there was a sparge.
    pub sparged: Option<bool>,
    /// Share of pilsner malt in the grist.
    pub pilsner: Option<Fraction>,
    /// Length of the boil.
    pub boil: Option<Duration>,
    /// Whether the kettle was covered.
    pub covered: Option<bool>,
    /// Share of the wort that boils off in an hour.
    pub evaporation: Option<Fraction>,
    /// How long the wort stood hot after the boil.
    pub hot_stand: Option<Duration>,
    /// What cleaned vessels were treated with.
    pub sanitiser: Option<Sanitiser>,
    /// Whether it was rinsed off with water free of chlorine.
    pub rinsed: Option<bool>,
    /// Whether plastic in contact is old or scratched.
    pub scratched: Option<bool>,
    /// Whether the strain makes phenols.
    pub phenolic: Option<bool>,
    /// Whether it is diastatic.
    pub diastatic: Option<bool>,
    /// Whether a diastatic strain was in the kit before.
    pub diastatic_before: Option<bool>,
    /// How often the yeast was pitched again.
    pub generation: Option<u32>,
    /// Cells pitched by cells needed.
    pub pitched: Option<Fraction>,
    /// Oxygen dissolved by oxygen wanted.
    pub oxygen: Option<Fraction>,
    /// Warmest of the course and the upper end of the strain's range.
    pub warmest: Option<(Temperature, Temperature)>,
    /// Whether the course was logged and held.
    pub logged: Option<bool>,
    /// Time on the yeast after the end; none where it had not ended.
    pub after_end: Option<Held>,
    /// What it is packed in.
    pub vessel: Option<Vessel>,
    /// Whether clear or green glass stood in light.
    pub lit: Option<bool>,
    /// Whether sugar was given to the bottles.
    pub primed: Option<bool>,
    /// Whether the keg was purged and filled closed.
    pub purged: Option<bool>,
    /// How old the beer is.
    pub age: Option<Duration>,
    /// How it was poured.
    pub dispense: Option<Dispense>,
    /// Dry hops [g/L] above 15 °C; nought for none.
    pub dry_hops: Option<quantity::MassConcentration>,
    /// Age of malt extract.
    pub extract_age: Option<Duration>,
    /// What the house had before.
    pub house: House,
}

/// Where water is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WaterKind {
    /// From a supplier.
    Mains,
    /// From a private well.
    Well,
    /// Purified by reverse osmosis or distilled.
    Purified,
}

/// What vessels were sanitised with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sanitiser {
    /// Bleach.
    Hypochlorite,
    /// Iodine.
    Iodine,
    /// Peracid, acid, heat: nothing with a halogen.
    Other,
}

/// How long beer stood on its yeast.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Held {
    /// It had not ended.
    NotEnded,
    /// Since the end.
    For(Duration),
}

/// What beer is packed in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Vessel {
    /// Bottles.
    Bottles,
    /// A keg.
    Keg,
}

/// How beer was poured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dispense {
    /// From a line.
    Line,
    /// From bottles.
    Bottles,
}

impl Facts {
    /// The rows of the table that hold.
    ///
    /// Where a figure stands between two rows none of them holds.
    #[must_use]
    pub fn holding(&self) -> Vec<&'static Fact> {
        let mut keys = Vec::new();
        self.of_water(&mut keys);
        self.of_brewhouse(&mut keys);
        self.of_cleaning(&mut keys);
        self.of_yeast(&mut keys);
        self.of_package(&mut keys);
        let table = &Knowledge::built_in().facts;
        keys.into_iter()
            .filter_map(|key| table.iter().find(|f| f.key == key))
            .collect()
    }

    /// The network with the priors that these facts leave.
    ///
    /// # Errors
    /// [`InquiryError::Unknown`] for a cause of the house history that is none.
    pub fn network(&self) -> Result<Network, InquiryError> {
        network(Knowledge::built_in(), self, &self.holding())
    }

    fn of_water(&self, keys: &mut Vec<&'static str>) {
        match self.water {
            Some(WaterKind::Purified) => keys.push("water-purified"),
            Some(WaterKind::Well) => keys.push("water-well"),
            _ => {}
        }
        keys.extend(self.chlorine.as_ref().and_then(chlorine));
        let alkalinity = self.alkalinity.map(quantity::Alkalinity::mg_per_l_as_caco3);
        if alkalinity.is_some_and(|a| a > 150.0) && self.pale == Some(true) {
            keys.push("alkaline-pale");
        }
        when(keys, alkalinity.map(|a| a < 50.0), "alkalinity-low");
        let sulfate = self.sulfate.map(quantity::Sulfate::mg_per_l);
        when(keys, sulfate.map(|s| s > 300.0), "sulfate-high");
        when(keys, sulfate.map(|s| s < 100.0), "sulfate-low");
        let sodium = self.sodium.map(quantity::Sodium::mg_per_l);
        let chloride = self.chloride.map(quantity::Chloride::mg_per_l);
        let high = sodium.is_some_and(|s| s > 150.0) || chloride.is_some_and(|c| c > 300.0);
        when(keys, Some(high), "minerals-high");
        let low = sodium.is_some_and(|s| s < 75.0) && chloride.is_some_and(|c| c < 150.0);
        when(keys, Some(low), "minerals-low");
    }

    fn of_brewhouse(&self, keys: &mut Vec<&'static str>) {
        let ph = self.mash_ph.map(quantity::Ph::ph);
        when(keys, ph.map(|p| p > 5.7), "mash-ph-high");
        when(keys, ph.map(|p| (5.2..=5.6).contains(&p)), "mash-ph-good");
        when(keys, self.mash_rest.map(|t| t.c() > 70.0), "mash-hot");
        when(keys, self.sparged.map(|s| !s), "no-sparge");
        when(keys, self.sparge.map(|t| t.c() > 78.0), "sparge-hot");
        let pilsner = self.pilsner.map(quantity::Fraction::ratio);
        when(keys, pilsner.map(|p| p > 0.7), "pilsner-much");
        when(keys, pilsner.map(|p| p < 0.2), "pilsner-little");
        let boil = self.boil.map(quantity::Duration::min);
        let open =
            self.covered != Some(true) && self.evaporation.is_some_and(|e| e.ratio() >= 0.08);
        when(keys, boil.map(|b| b >= 75.0 && open), "boil-long");
        let covered = self.covered == Some(true);
        when(
            keys,
            Some(covered || boil.is_some_and(|b| b < 50.0)),
            "boil-short",
        );
        let stand = self.hot_stand.map(quantity::Duration::min);
        when(keys, stand.map(|t| t >= 20.0), "hot-stand");
        when(keys, stand.map(|t| t < 10.0), "chilled-fast");
        when(
            keys,
            self.extract_age.map(|a| a.min() / 1440.0 > 274.0),
            "extract-old",
        );
    }

    fn of_cleaning(&self, keys: &mut Vec<&'static str>) {
        match self.sanitiser {
            Some(Sanitiser::Hypochlorite) => {
                keys.extend(["sanitiser-hypochlorite", "sanitiser-no-iodine"]);
                when(keys, self.rinsed, "sanitiser-hypochlorite-rinsed");
                when(
                    keys,
                    self.rinsed.map(|r| !r),
                    "sanitiser-hypochlorite-unrinsed",
                );
            }
            Some(Sanitiser::Iodine) => keys.extend(["sanitiser-iodine", "sanitiser-other"]),
            Some(Sanitiser::Other) => keys.extend(["sanitiser-other", "sanitiser-no-iodine"]),
            None => {}
        }
        when(keys, self.scratched, "vessel-scratched");
    }

    fn of_yeast(&self, keys: &mut Vec<&'static str>) {
        when(keys, self.phenolic, "yeast-phenolic");
        when(keys, self.phenolic.map(|p| !p), "yeast-clean");
        when(keys, self.diastatic, "diastatic-pitched");
        when(keys, self.diastatic_before, "diastatic-before");
        when(keys, self.generation.map(|g| g > 6), "repitched-often");
        let pitched = self.pitched.map(quantity::Fraction::ratio);
        when(keys, pitched.map(|p| p < 0.5), "pitch-short");
        when(keys, pitched.map(|p| p >= 0.9), "pitch-ample");
        let oxygen = self.oxygen.map(quantity::Fraction::ratio);
        when(keys, oxygen.map(|p| p < 0.5), "oxygen-short");
        when(keys, oxygen.map(|p| p >= 0.9), "oxygen-ample");
        let warm = self.warmest.map(|(t, high)| t.c() > high.c());
        when(keys, warm, "course-warm");
        if warm == Some(false) && self.logged == Some(true) {
            keys.push("course-kept");
        }
        let stressed = warm == Some(true) || pitched.is_some_and(|p| p < 0.5);
        when(
            keys,
            Some(self.phenolic == Some(true) && stressed),
            "phenolic-stressed",
        );
        match self.after_end {
            Some(Held::NotEnded) => keys.push("not-ended"),
            Some(Held::For(time)) => {
                when(keys, Some(time.min() / 1440.0 >= 3.0), "rested");
                when(keys, Some(time.min() / 1440.0 > 60.0), "long-on-yeast");
                when(keys, Some(time.min() / 1440.0 < 30.0), "not-long-on-yeast");
            }
            None => {}
        }
    }

    fn of_package(&self, keys: &mut Vec<&'static str>) {
        when(keys, self.lit, "light");
        let dark = self.vessel == Some(Vessel::Keg) || self.lit == Some(false);
        when(keys, Some(dark), "no-light");
        when(keys, self.primed, "bottle-conditioned");
        when(keys, self.purged, "purged");
        when(keys, self.age.map(|a| a.min() / 1440.0 > 120.0), "aged");
        when(keys, self.age.map(|a| a.min() / 1440.0 < 21.0), "fresh");
        when(keys, self.dispense.map(|d| d == Dispense::Line), "tap-line");
        when(
            keys,
            self.dispense.map(|d| d == Dispense::Bottles),
            "bottled-only",
        );
        let dry = self.dry_hops.map(quantity::MassConcentration::mg_per_l);
        when(keys, dry.map(|h| h > 4000.0), "hops-dry");
        when(keys, dry.map(|h| h <= 0.0), "no-dry-hops");
    }
}

fn when(keys: &mut Vec<&'static str>, holds: Option<bool>, key: &'static str) {
    if holds == Some(true) {
        keys.push(key);
    }
}

/// What the medicinal risk of the stream says: one row at most, as it is one fact.
fn chlorine(met: &ResidualChlorine) -> Option<&'static str> {
    let risk = glass::medicinal(met).ok()?;
    Some(match (risk.expected, risk.at_most) {
        (Grade::High, _) if met.free.mg_per_l() > met.combined.mg_per_l() => "free-chlorine-high",
        (Grade::High, _) => "chlorine-high",
        (Grade::None | Grade::Low, Grade::None | Grade::Low) => "chlorine-none",
        (Grade::None | Grade::Low, _) => "chlorine-doubt",
        _ => "chlorine-moderate",
    })
}

/// A prior with its odds multiplied.
pub(crate) fn shifted(prior: f64, factor: f64) -> f64 {
    let odds = prior / (1.0 - prior) * factor;
    odds / (1.0 + odds)
}
