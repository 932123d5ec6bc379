//! The plan of a wort, as a brewer thinks of it.

use quantity::{Duration, Fraction, Mass, Power, Temperature, Volume, VolumePerMass};
use water::BrewingWater;

use crate::error::{WortError, check};
use crate::kit::Kit;
use crate::malts::Fermentable;
use crate::mash::TemperatureReading;
use crate::mash::figures::FIGURES;

/// A wort to be made.
#[derive(Debug, Clone, PartialEq)]
pub struct WortPlan {
    /// The brewhouse.
    pub kit: Kit,
    /// Volume wanted in the fermenter.
    pub into_fermenter: Volume,
    /// Grain for the mash, sugars and malt extracts for the kettle.
    pub grist: Vec<GristItem>,
    /// The mash.
    pub mash: MashPlan,
    /// How the grain is washed.
    pub sparge: Sparge,
    /// The boil and what follows it.
    pub boil: BoilPlan,
    /// Hops.
    pub hops: Vec<HopAddition>,
}

/// So much of a fermentable.
#[derive(Debug, Clone, PartialEq)]
pub struct GristItem {
    /// What it is.
    pub fermentable: Fermentable,
    /// How much, as weighed.
    pub mass: Mass,
}

/// A stretch of the mash at one temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rest {
    /// Temperature.
    pub temperature: Temperature,
    /// How long, the time in which a decoction for the next one boils with it.
    pub duration: Duration,
    /// How it is reached from the one before; none: as the mash goes.
    pub by: Option<Stepping>,
    /// How long a decoction that leads to it boils; none: as is usual.
    pub boiled: Option<Duration>,
}

impl Rest {
    /// So long at a temperature, reached as the mash goes.
    #[must_use]
    pub const fn at(temperature: Temperature, duration: Duration) -> Self {
        Self {
            temperature,
            duration,
            by: None,
            boiled: None,
        }
    }

    /// How long a decoction that leads to it boils.
    #[must_use]
    pub fn boils(&self) -> Duration {
        self.boiled
            .unwrap_or_else(|| Duration::from_min(FIGURES.decoction_boil.value))
    }
}

/// The part of a mash that is boiled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// Mash as it is when stirred.
    Whole,
    /// From below, most of it grain: the enzymes stay in the tun.
    Thick,
    /// From above, liquor without grain: its enzymes die with it.
    Thin,
}

/// How the mash goes from one rest to the next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stepping {
    /// By boiling water, taken out of the mash liquor.
    Infusion,
    /// By heating the mash.
    Heat,
    /// By boiling a part of the mash.
    Decoction(Part),
}

/// A mash.
#[derive(Debug, Clone, PartialEq)]
pub struct MashPlan {
    /// All mash liquor, infusions too, per mass of grain. Without a sparge all
    /// the water is in the mash and this figure is not used.
    pub thickness: VolumePerMass,
    /// The rests in order.
    pub rests: Vec<Rest>,
    /// How it goes from rest to rest.
    pub stepping: Stepping,
    /// Temperature of the grain.
    pub grain: Temperature,
    /// Temperature of the mash tun before mashing in.
    pub tun: Temperature,
    /// Share of the slaking heat that is counted on. Small batches with slow
    /// wetting behave as if it were none (common practice).
    pub slaking: Fraction,
    /// Temperature of the sparge liquor.
    pub sparge: Temperature,
    /// Heat that goes into a mash that is heated, if known.
    pub power: Option<Power>,
    /// Temperatures that were read in the mash.
    pub measured: Vec<TemperatureReading>,
}

/// How the grain is washed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sparge {
    /// Not at all: all water is in the mash, as with a bag.
    None,
    /// Drain, refill, stir, drain: so many refills of equal size.
    Batch {
        /// Refills after the first run-off.
        refills: u32,
    },
    /// Continuously, water above and wort below.
    Continuous,
}

/// A boil and what follows it until the fermenter.
#[derive(Debug, Clone, PartialEq)]
pub struct BoilPlan {
    /// Time at the boil.
    pub duration: Duration,
    /// Time that the kettle stands lidded after the boil, cooling by itself.
    pub whirlpool: Duration,
    /// Temperature at the end of the chiller.
    pub chill_to: Temperature,
    /// Water that goes into the fermenter, of its own volume.
    pub top_up: Option<BrewingWater>,
}

/// When a hop goes in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum HopTime {
    /// Into the mash; little of it comes as far as the kettle.
    Mash,
    /// As the wort runs in: there for the whole boil.
    FirstWort,
    /// So long before the end of the boil.
    Boil(Duration),
    /// So long before the end of the whirlpool rest.
    Whirlpool(Duration),
    /// Into wort chilled to a temperature and held there for so long. Stands at
    /// several temperatures follow each other, the hottest first.
    Stand {
        /// How long it is held.
        duration: Duration,
        /// At which temperature.
        temperature: Temperature,
    },
    /// Into the fermenter.
    DryHop,
}

/// The form in which a hop comes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HopForm {
    /// Whole, dried.
    Cones,
    /// Milled and pressed.
    Pellets,
}

/// A hop addition.
#[derive(Debug, Clone, PartialEq)]
pub struct HopAddition {
    /// What the brewer calls it.
    pub name: String,
    /// Alpha-acids, of its mass, on brew day.
    pub alpha: Fraction,
    /// Their standard deviation, beside that of a packet against its lot; none where
    /// nothing is said.
    pub alpha_sd: Option<Fraction>,
    /// Cones or pellets, where it is said.
    pub form: Option<HopForm>,
    /// How much.
    pub mass: Mass,
    /// When.
    pub when: HopTime,
}

impl MashPlan {
    /// One rest, with grain and tun at 20 °C and no slaking heat counted on.
    #[must_use]
    pub fn single(thickness: VolumePerMass, temperature: Temperature, duration: Duration) -> Self {
        Self {
            thickness,
            rests: vec![Rest::at(temperature, duration)],
            stepping: Stepping::Infusion,
            grain: Temperature::from_c(20.0),
            tun: Temperature::from_c(20.0),
            slaking: Fraction::from_ratio(0.0),
            sparge: Temperature::from_c(76.0),
            power: None,
            measured: Vec::new(),
        }
    }
}

impl MashPlan {
    /// How a rest is reached.
    pub(crate) fn way_to(&self, rest: &Rest) -> Stepping {
        rest.by.unwrap_or(self.stepping)
    }

    /// Whether there is heat under the tun, which then holds its rests.
    pub(crate) fn is_heated(&self) -> bool {
        self.stepping == Stepping::Heat
            || self.rests.iter().any(|r| self.way_to(r) == Stepping::Heat)
    }
}

impl WortPlan {
    /// Grain that is mashed.
    pub(crate) fn mashed(&self) -> impl Iterator<Item = &GristItem> {
        self.grist.iter().filter(|g| g.fermentable.kind.is_mashed())
    }

    /// Sugars and malt extracts.
    pub(crate) fn kettled(&self) -> impl Iterator<Item = &GristItem> {
        self.grist
            .iter()
            .filter(|g| !g.fermentable.kind.is_mashed())
    }

    pub(crate) fn grain_kg(&self) -> f64 {
        self.mashed().map(|g| g.mass.kg()).sum()
    }

    pub(crate) fn grain_moisture(&self) -> f64 {
        let water_kg: f64 = self
            .mashed()
            .map(|g| g.mass.kg() * g.fermentable.moisture.value.ratio())
            .sum();
        if self.grain_kg() > 0.0 {
            water_kg / self.grain_kg()
        } else {
            0.0
        }
    }

    /// Extract that the mash brings into solution \[kg\].
    pub(crate) fn mash_extract_kg(&self) -> f64 {
        let available: f64 = self
            .mashed()
            .map(|g| g.mass.kg() * g.fermentable.extract_as_is().ratio())
            .sum();
        available * self.kit.mash_conversion.ratio()
    }

    pub(crate) fn kettle_hop_kg(&self) -> f64 {
        let elsewhere = |h: &&HopAddition| !matches!(h.when, HopTime::Mash | HopTime::DryHop);
        self.hops
            .iter()
            .filter(elsewhere)
            .map(|h| h.mass.kg())
            .sum()
    }

    pub(crate) fn steam_kg(&self) -> f64 {
        self.kit.steam_kg_per_h() * self.boil.duration.h()
    }

    /// Steam of the decoctions.
    pub(crate) fn mash_steam_kg(&self) -> f64 {
        if self.grain_kg() <= 0.0 {
            return 0.0;
        }
        let is_decoction = |r: &&Rest| matches!(self.mash.way_to(r), Stepping::Decoction(_));
        let steps = self.mash.rests.iter().skip(1).filter(is_decoction);
        let boils_h: f64 = steps.map(|r| r.boils().h()).sum();
        self.kit.steam_kg_per_h() * boils_h
    }

    pub(crate) fn top_up_l(&self) -> f64 {
        self.boil.top_up.as_ref().map_or(0.0, |w| w.volume.l())
    }

    pub(crate) fn check(&self) -> Result<(), WortError> {
        self.kit.check()?;
        check(
            "volume into the fermenter",
            self.into_fermenter.l(),
            "L",
            0.05,
            1e5,
        )?;
        self.check_grist()?;
        self.check_mash()?;
        check("boil", self.boil.duration.min(), "min", 0.0, 600.0)?;
        check(
            "whirlpool rest",
            self.boil.whirlpool.min(),
            "min",
            0.0,
            24.0 * 60.0,
        )?;
        check(
            "chiller end temperature",
            self.boil.chill_to.c(),
            "°C",
            -2.0,
            100.0,
        )?;
        let top_up_l = check("top-up water", self.top_up_l(), "L", 0.0, 1e5)?;
        if top_up_l >= self.into_fermenter.l() {
            return Err(WortError::TooMuchTopUp {
                top_up: Volume::from_l(top_up_l),
                wanted: self.into_fermenter,
            });
        }
        self.hops.iter().try_for_each(HopAddition::check)
    }

    fn check_grist(&self) -> Result<(), WortError> {
        for item in &self.grist {
            check("mass of a fermentable", item.mass.kg(), "kg", 0.0, 1e5)?;
            item.fermentable.check()?;
        }
        let total: f64 = self.grist.iter().map(|g| g.mass.kg()).sum();
        if total > 0.0 {
            Ok(())
        } else {
            Err(WortError::EmptyGrist)
        }
    }

    fn check_mash(&self) -> Result<(), WortError> {
        if self.grain_kg() <= 0.0 {
            return Ok(());
        }
        let mash = &self.mash;
        if self.sparge != Sparge::None {
            check(
                "mash thickness",
                mash.thickness.l_per_kg(),
                "L/kg",
                1.5,
                20.0,
            )?;
        }
        check("grain temperature", mash.grain.c(), "°C", -20.0, 60.0)?;
        check("mash tun temperature", mash.tun.c(), "°C", -20.0, 100.0)?;
        check(
            "share of slaking heat",
            mash.slaking.ratio() * 100.0,
            "%",
            0.0,
            100.0,
        )?;
        check("sparge temperature", mash.sparge.c(), "°C", 5.0, 100.0)?;
        if let Sparge::Batch { refills } = self.sparge {
            check(
                "refills of a batch sparge",
                f64::from(refills),
                "",
                1.0,
                50.0,
            )?;
        }
        for reading in &mash.measured {
            let read_c = reading.temperature.c();
            check("temperature read in the mash", read_c, "°C", 0.0, 100.0)?;
            let after_min = reading.after.min();
            check(
                "time of a temperature read in the mash",
                after_min,
                "min",
                0.0,
                48.0 * 60.0,
            )?;
        }
        if let Some(power) = mash.power {
            check("power that heats the mash", power.kw(), "kW", 0.05, 1e4)?;
        }
        for rest in &mash.rests {
            check(
                "temperature of a rest",
                rest.temperature.c(),
                "°C",
                20.0,
                95.0,
            )?;
            check(
                "time of a rest",
                rest.duration.min(),
                "min",
                0.0,
                48.0 * 60.0,
            )?;
            check("boil of a decoction", rest.boils().min(), "min", 0.0, 240.0)?;
        }
        Ok(())
    }
}

impl HopAddition {
    fn check(&self) -> Result<(), WortError> {
        check(
            "alpha-acids of a hop",
            self.alpha.ratio() * 100.0,
            "%",
            0.0,
            30.0,
        )?;
        check("mass of a hop", self.mass.kg(), "kg", 0.0, 1e4)?;
        match self.when {
            HopTime::Mash | HopTime::FirstWort | HopTime::DryHop => Ok(()),
            HopTime::Boil(d) | HopTime::Whirlpool(d) => {
                check("time of a hop", d.min(), "min", 0.0, 24.0 * 60.0).map(|_| ())
            }
            HopTime::Stand {
                duration,
                temperature,
            } => {
                check(
                    "time of a hop stand",
                    duration.min(),
                    "min",
                    0.0,
                    48.0 * 60.0,
                )?;
                check(
                    "temperature of a hop stand",
                    temperature.c(),
                    "°C",
                    0.0,
                    100.0,
                )
                .map(|_| ())
            }
        }
    }
}
