//! The brewhouse: the constants of one kit that the wort stage needs.

use quantity::{
    Altitude, Duration, EvaporationRate, Fraction, Mass, Power, Temperature, Volume, VolumePerMass,
    density,
};

use crate::error::{WortError, check};

/// How wort is cooled.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Chilling {
    /// Towards the temperature of the coolant, the difference falling by the
    /// factor e in each time constant. Immersion chillers 5 to 15 min, a lidded
    /// kettle of 20 to 40 L left alone 100 to 200 min, no-chill about 300 min
    /// (common practice).
    Newton {
        /// Time constant.
        time_constant: Duration,
        /// Temperature of the coolant.
        coolant: Temperature,
    },
    /// In a straight line over a time from the boil to the chiller's end.
    Over {
        /// Time from boiling to the end temperature.
        duration: Duration,
    },
}

/// Constants of a brewhouse. All volumes at 20 °C.
#[derive(Debug, Clone, PartialEq)]
pub struct Kit {
    /// Extract that the mash dissolves, of what the coarse laboratory grind gives.
    pub mash_conversion: Fraction,
    /// Wort that the drained grain holds back.
    pub absorption: VolumePerMass,
    /// Liquid in the grain bed while it is sparged continuously.
    pub bed_hold_up: VolumePerMass,
    /// Equal mixed stages that the bed is worth in a continuous sparge.
    pub lauter_stages: u32,
    /// Wort that stays in the mash tun beside the grain.
    pub tun_dead: Volume,
    /// Heat capacity of the mash tun, as kilograms of water.
    pub tun_heat_capacity: Mass,
    /// Time in which the full mash tun, left alone, comes a factor e nearer to the room.
    pub tun_time_constant: Duration,
    /// Volume of the mash tun, if known.
    pub tun_capacity: Option<Volume>,
    /// Volume of the kettle, if known.
    pub kettle_capacity: Option<Volume>,
    /// Water lost as steam in an open boil.
    pub evaporation: EvaporationRate,
    /// Share of that steam that leaves: all of it but for a lid, which lets it
    /// fall back.
    pub steam_escapes: Fraction,
    /// Heat that goes into the kettle, if known.
    pub power: Option<Power>,
    /// Heat that the walls of the kettle lose at the boil.
    pub heat_loss: Power,
    /// Height above the sea: it decides the boiling point.
    pub altitude: Altitude,
    /// Wort left in the kettle with the trub.
    pub kettle_loss: Volume,
    /// Wort that kettle hops hold back.
    pub hop_absorption: VolumePerMass,
    /// Wort left in chiller, hoses and pump.
    pub transfer_loss: Volume,
    /// Time constant of the lidded kettle left alone.
    pub kettle_time_constant: Duration,
    /// Temperature of the room.
    pub room: Temperature,
    /// The chiller.
    pub chilling: Chilling,
}

impl Kit {
    /// Values that are common practice for a batch of about 20 L, to start from
    /// until the kit has been measured. The hold-up while sparging is a judgement.
    #[must_use]
    pub fn common_practice() -> Self {
        Self {
            mash_conversion: Fraction::from_ratio(0.97),
            absorption: VolumePerMass::from_l_per_kg(1.0),
            bed_hold_up: VolumePerMass::from_l_per_kg(1.6),
            lauter_stages: 3,
            tun_dead: Volume::from_l(0.5),
            tun_heat_capacity: Mass::from_kg(1.0),
            tun_time_constant: Duration::from_h(30.0),
            tun_capacity: None,
            kettle_capacity: None,
            evaporation: EvaporationRate::from_kg_per_h(3.0),
            steam_escapes: Fraction::from_ratio(1.0),
            power: None,
            heat_loss: Power::from_kw(0.0),
            altitude: Altitude::from_m(0.0),
            kettle_loss: Volume::from_l(1.0),
            hop_absorption: VolumePerMass::from_l_per_kg(6.0),
            transfer_loss: Volume::from_l(0.5),
            kettle_time_constant: Duration::from_min(150.0),
            room: Temperature::from_c(20.0),
            chilling: Chilling::Newton {
                time_constant: Duration::from_min(10.0),
                coolant: Temperature::from_c(12.0),
            },
        }
    }

    /// Boiling point of water at the altitude \[°C\]. Wort boils 0.1 to 0.4 °C
    /// higher by its extract; the rate constants used here were set on boils at
    /// sea level, so that rise is left out.
    #[must_use]
    pub fn boiling_point(&self) -> Temperature {
        Temperature::from_c(density::boiling_point_c(self.altitude.m()))
    }

    pub(crate) fn steam_kg_per_h(&self) -> f64 {
        self.evaporation.kg_per_h() * self.steam_escapes.ratio()
    }

    pub(crate) fn check(&self) -> Result<(), WortError> {
        check(
            "mash conversion",
            self.mash_conversion.ratio() * 100.0,
            "%",
            1.0,
            105.0,
        )?;
        check(
            "grain absorption",
            self.absorption.l_per_kg(),
            "L/kg",
            0.0,
            3.0,
        )?;
        check("bed hold-up", self.bed_hold_up.l_per_kg(), "L/kg", 0.0, 5.0)?;
        check(
            "lauter stages",
            f64::from(self.lauter_stages),
            "",
            1.0,
            100.0,
        )?;
        check(
            "dead space of the mash tun",
            self.tun_dead.l(),
            "L",
            0.0,
            1e5,
        )?;
        check(
            "heat capacity of the mash tun",
            self.tun_heat_capacity.kg(),
            "kg",
            0.0,
            1e5,
        )?;
        let tun_h = self.tun_time_constant.h();
        check("time constant of the mash tun", tun_h, "h", 0.25, 1e6)?;
        check("evaporation", self.evaporation.kg_per_h(), "kg/h", 0.0, 1e4)?;
        let escapes = self.steam_escapes.ratio() * 100.0;
        check("share of the steam that leaves", escapes, "%", 0.0, 100.0)?;
        check(
            "heat loss of the kettle",
            self.heat_loss.kw(),
            "kW",
            0.0,
            1e4,
        )?;
        check("altitude", self.altitude.m(), "m", -430.0, 6000.0)?;
        check("kettle loss", self.kettle_loss.l(), "L", 0.0, 1e5)?;
        check(
            "hop absorption",
            self.hop_absorption.l_per_kg(),
            "L/kg",
            0.0,
            50.0,
        )?;
        check("transfer loss", self.transfer_loss.l(), "L", 0.0, 1e5)?;
        check("room temperature", self.room.c(), "°C", -20.0, 60.0)?;
        let tau_min = self.kettle_time_constant.min();
        check("time constant of the kettle", tau_min, "min", 0.1, 1e5)?;
        match self.chilling {
            Chilling::Newton {
                time_constant,
                coolant,
            } => {
                check(
                    "time constant of the chiller",
                    time_constant.min(),
                    "min",
                    0.01,
                    1e5,
                )?;
                check("coolant", coolant.c(), "°C", -20.0, 90.0)?;
            }
            Chilling::Over { duration } => {
                check("chilling time", duration.min(), "min", 0.01, 1e5)?;
            }
        }
        Ok(())
    }
}
