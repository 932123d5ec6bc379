//! Heat of the mash: strike temperature, the steps between rests, what the tun loses.

mod pull;
mod schedule;

use quantity::{Caution, Energy, Fraction, Mass, Note, Power, Temperature, Volume};

use crate::amounts::Volumes;
use crate::error::{WortError, check};
use crate::mash::figures::FIGURES;
use crate::mix::{Mix, water_kg};
use crate::numeric::interpolate;
use crate::plan::{Rest, WortPlan};

pub use pull::Pull;
pub(crate) use schedule::Schedule;

/// Heat capacity of water \[kJ/(kg K)\] at 65 °C (IAPWS, computed with CoolProp 8.0);
/// within a hundredth of it between 20 °C and the boil.
pub(crate) const WATER_KJ_PER_KG_K: f64 = 4.187;
/// Kilojoules in a kilowatt-hour.
pub(crate) const KJ_PER_KWH: f64 = 3600.0;

/// Heat capacity of grist relative to water by its moisture \[%\]; *Pauls &
/// Whites Brewing Room Book* 1984/85, quoted in trade appendices (read).
const HEAT_CAPACITY: [(f64, f64); 7] = [
    (0.0, 0.38),
    (1.0, 0.38),
    (2.0, 0.39),
    (3.0, 0.40),
    (4.0, 0.40),
    (6.0, 0.41),
    (8.0, 0.42),
];

/// Rise by slaking \[°C\] by moisture \[%\], about 2.5 to 3 L/kg; same source.
const SLAKING_RISE: [(f64, f64); 7] = [
    (0.0, 3.1),
    (1.0, 2.6),
    (2.0, 2.3),
    (3.0, 2.1),
    (4.0, 1.7),
    (6.0, 1.3),
    (8.0, 1.1),
];

/// How a rest is reached from the one before.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Change {
    /// Boiling water, volume at 20 °C.
    BoilingWater(Volume),
    /// Heating or cooling the mash in place.
    Heat,
    /// Boiling a part of the mash.
    Decoction(Pull),
}

/// A change of temperature in the mash.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RestStep {
    /// The rest that it leads to.
    pub to: Rest,
    /// What the mash has come to by then.
    pub from: Temperature,
    /// How.
    pub change: Change,
    /// Heat that it takes, with what the walls lose and the steam carries off meanwhile;
    /// below nought where the mash must cool.
    pub heat: Energy,
}

/// The heat side of the mash.
#[derive(Debug, Clone, PartialEq)]
pub struct MashHeat {
    /// Strike water, volume at 20 °C.
    pub strike_water: Volume,
    /// Strike water at its temperature.
    pub strike_water_hot: Volume,
    /// Temperature of the strike water.
    pub strike_temperature: Temperature,
    /// Steps to the rests after the first.
    pub steps: Vec<RestStep>,
    /// What the mash has come to at the end of its last rest.
    pub ends: Temperature,
    /// Heat that the walls of the tun lose meanwhile.
    pub lost: Energy,
    /// Heat that holds the rests at their temperature; none but in a tun that is heated.
    pub holding: Energy,
    /// Remarks.
    pub notes: Vec<Note>,
    /// What can hurt.
    pub cautions: Vec<Caution>,
}

/// Grain, water and tun as they come together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MashIn {
    /// Temperature wanted of the mash.
    pub mash: Temperature,
    /// Strike water.
    pub water: Mass,
    /// Grain.
    pub grain: Mass,
    /// Temperature of the grain.
    pub grain_temperature: Temperature,
    /// Moisture of the grain.
    pub moisture: Fraction,
    /// Share of the slaking heat that is counted on.
    pub slaking: Fraction,
    /// Heat capacity of the tun, as kilograms of water.
    pub tun_heat_capacity: Mass,
    /// Temperature of the tun.
    pub tun_temperature: Temperature,
}

impl MashIn {
    /// Temperature of the strike water \[°C\] by the heat balance.
    ///
    /// T = \[(I − Sc)(S·G + W) − S·G·Tg + C(I − Tv)\]/W: I mash temperature, W water,
    /// G grain at Tg with the relative heat capacity S, Sc the slaking rise, C the
    /// tun's heat capacity as water at Tv. Source: *Pauls & Whites Brewing Room
    /// Book* 1984/85, quoted in trade appendices (read); the tun's term is common
    /// practice.
    ///
    /// # Errors
    /// [`WortError::Impossible`] for masses that are not positive or a moisture
    /// above 20 %.
    pub fn strike_temperature(&self) -> Result<Temperature, WortError> {
        let water_kg = check("strike water", self.water.kg(), "kg", 1e-6, 1e6)?;
        let grain_kg = check("grain", self.grain.kg(), "kg", 1e-6, 1e6)?;
        let percent = self.moisture.ratio() * 100.0;
        let moisture = check("moisture of the grain", percent, "%", 0.0, 20.0)?;
        let solids_kg = interpolate(&HEAT_CAPACITY, moisture) * grain_kg;
        let rise_c = interpolate(&SLAKING_RISE, moisture) * self.slaking.ratio();
        let mash_c = self.mash.c();
        let tun = self.tun_heat_capacity.kg() * (mash_c - self.tun_temperature.c());
        let heat = (mash_c - rise_c) * (solids_kg + water_kg)
            - solids_kg * self.grain_temperature.c()
            + tun;
        Ok(Temperature::from_c(heat / water_kg))
    }
}

/// Strike water and steps of a plan.
///
/// The walls lose U(T − T_room), U being the heat capacity of the whole mash and its tun
/// over the time constant of the kit; a tun that is heated is held at each rest, any other
/// cools. A step starts from what the mash has come to. Infusions are taken out of the
/// mash liquor: each adds C(T₂ − T₁)/(T_b − T₂), C the heat capacity there is. No slaking
/// heat after the first wetting, and no loss while something is poured in.
///
/// # Errors
/// [`WortError::NoConversion`] without a rest, [`WortError::StrikeTooHot`],
/// [`WortError::ImpossibleStep`]; [`WortError::EmptyGrist`] without grain.
pub fn mash_heat(plan: &WortPlan, volumes: &Volumes) -> Result<MashHeat, WortError> {
    scheduled(plan, volumes).map(|(heat, _)| heat)
}

/// The same, with the temperatures from moment to moment.
pub(crate) fn scheduled(
    plan: &WortPlan,
    volumes: &Volumes,
) -> Result<(MashHeat, Schedule), WortError> {
    plan.check()?;
    let Some(first) = plan.mash.rests.first() else {
        return Err(WortError::NoConversion);
    };
    let tun = Tun::new(plan, volumes)?;
    let (strike_kg, schedule) = tun.schedule(plan)?;
    let mash_in = MashIn {
        mash: first.temperature,
        water: Mass::from_kg(strike_kg),
        grain: Mass::from_kg(tun.grain_kg),
        grain_temperature: plan.mash.grain,
        moisture: Fraction::from_ratio(plan.grain_moisture()),
        slaking: plan.mash.slaking,
        tun_heat_capacity: plan.kit.tun_heat_capacity,
        tun_temperature: plan.mash.tun,
    };
    let strike = mash_in.strike_temperature()?;
    let boils = plan.kit.boiling_point();
    if strike > boils {
        return Err(WortError::StrikeTooHot {
            needed: strike,
            boils,
        });
    }
    let water = Mix::water(strike_kg);
    let heat = MashHeat {
        strike_water: Volume::from_l(water.volume_l()),
        strike_water_hot: Volume::from_l(water.volume_at(strike.c())),
        strike_temperature: strike,
        steps: schedule.steps.clone(),
        ends: Temperature::from_c(schedule.ends_c()),
        lost: kwh(schedule.lost),
        holding: kwh(schedule.held),
        notes: schedule.notes.clone(),
        cautions: vec![Caution::HotLiquor],
    };
    Ok((heat, schedule))
}

/// A mash tun and what is in it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Tun {
    grain_kg: f64,
    /// All mash liquor.
    liquor_kg: f64,
    /// Heat capacity of the grain, and of the tun, as kilograms of water.
    grain_heat_kg: f64,
    tun_kg: f64,
    pub(crate) boils_c: f64,
    room_c: f64,
    /// Heat that its walls lose for each kelvin above the room \[kg of water/min\].
    loses_kg_per_min: f64,
    /// Whether its rests are held by heat.
    held: bool,
    power: Option<Power>,
}

impl Tun {
    pub(crate) fn new(plan: &WortPlan, volumes: &Volumes) -> Result<Self, WortError> {
        let grain_kg = plan.grain_kg();
        if grain_kg <= 0.0 {
            return Err(WortError::EmptyGrist);
        }
        let mut tun = Self {
            grain_kg,
            liquor_kg: water_kg(volumes.mash_liquor.l()),
            grain_heat_kg: interpolate(&HEAT_CAPACITY, plan.grain_moisture() * 100.0) * grain_kg,
            tun_kg: plan.kit.tun_heat_capacity.kg(),
            boils_c: plan.kit.boiling_point().c(),
            room_c: plan.kit.room.c(),
            loses_kg_per_min: 0.0,
            held: plan.mash.is_heated(),
            power: plan.mash.power,
        };
        tun.loses_kg_per_min = tun.heat_kg() / plan.kit.tun_time_constant.min();
        Ok(tun)
    }

    /// Heat capacity of the whole mash and the tun, as kilograms of water.
    pub(crate) fn heat_kg(&self) -> f64 {
        self.liquor_kg + self.dry_kg()
    }

    fn dry_kg(&self) -> f64 {
        self.grain_heat_kg + self.tun_kg
    }

    /// Share of its distance to the room that a whole mash loses in a minute; none where
    /// heat holds it.
    pub(crate) fn cools_per_min(&self) -> f64 {
        if self.held {
            0.0
        } else {
            self.loses_kg_per_min / self.heat_kg()
        }
    }

    fn cooled(&self, from_c: f64, min: f64, heat_kg: f64) -> f64 {
        let left = (-self.loses_kg_per_min * min / heat_kg).exp();
        self.room_c + (from_c - self.room_c) * left
    }

    /// Temperature after a rest.
    fn stood(&self, from_c: f64, min: f64, heat_kg: f64) -> f64 {
        if self.held || heat_kg <= 0.0 {
            from_c
        } else {
            self.cooled(from_c, min, heat_kg)
        }
    }

    /// Time that heat takes from one temperature to another \[min\], and what the walls
    /// lose meanwhile \[kg of water · K\]. A mash that must cool is taken to lose heat as
    /// fast as it would gain it.
    pub(crate) fn heating(
        &self,
        heat_kg: f64,
        from_c: f64,
        to_c: f64,
    ) -> Result<(f64, f64), WortError> {
        let loses = self.loses_kg_per_min * (f64::midpoint(from_c, to_c) - self.room_c);
        let rise = heat_kg * (to_c - from_c);
        let usual = heat_kg * FIGURES.heating_rate.value;
        let drives = self
            .power
            .map_or(usual, |p| p.kw() * 60.0 / WATER_KJ_PER_KG_K);
        let net = match self.power {
            Some(_) if rise > 0.0 => drives - loses,
            _ => drives,
        };
        if net <= 0.0 {
            return Err(impossible(
                from_c,
                to_c,
                "the walls lose more than the heat under the mash brings; more heat or a better insulated tun would work",
            ));
        }
        let min = rise.abs() / net;
        Ok((min, loses * min))
    }

    /// Strike water \[kg\] and the plan from it: what is poured in later is taken out of
    /// the mash liquor, found by Newton's steps. The more there is, the more it takes to
    /// warm it, so there is one answer.
    fn schedule(&self, plan: &WortPlan) -> Result<(f64, Schedule), WortError> {
        let mut strike_kg = self.liquor_kg;
        let mut found = Schedule::from_strike(self, plan, strike_kg)?;
        for _ in 0..50 {
            let over_kg = strike_kg + found.infused_kg - self.liquor_kg;
            if over_kg.abs() < 1e-12 * self.liquor_kg {
                break;
            }
            let grows =
                (strike_kg + found.infused_kg + self.dry_kg()) / (strike_kg + self.dry_kg());
            strike_kg -= over_kg / grows;
            check(
                "strike water over grain",
                strike_kg / self.grain_kg,
                "kg/kg",
                1.2,
                60.0,
            )?;
            found = Schedule::from_strike(self, plan, strike_kg)?;
        }
        Ok((strike_kg, found))
    }
}

/// Heat for so many kilograms of water through so many kelvins.
fn kwh(kg_k: f64) -> Energy {
    Energy::from_kwh(kg_k * WATER_KJ_PER_KG_K / KJ_PER_KWH)
}

fn impossible(from_c: f64, to_c: f64, help: &'static str) -> WortError {
    WortError::ImpossibleStep {
        from: Temperature::from_c(from_c),
        to: Temperature::from_c(to_c),
        help,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kit::Kit;
    use crate::malts;
    use crate::plan::{BoilPlan, GristItem, MashPlan, Part, Sparge, Stepping};
    use quantity::{Duration, EvaporationRate, VolumePerMass};

    fn c(x: f64) -> Temperature {
        Temperature::from_c(x)
    }

    /// Computed from the formula of the *Pauls & Whites Brewing Room Book*.
    #[test]
    fn strike_temperatures_follow_the_heat_balance() {
        for (mash, grain, thickness, moisture, with, without) in [
            (66.0, 20.0, 2.5, 4.0, 71.39, 73.36),
            (66.0, 20.0, 3.0, 4.0, 70.21, 72.13),
            (65.0, 15.0, 2.7, 3.0, 70.00, 72.41),
            (67.0, 25.0, 3.5, 4.0, 69.91, 71.80),
            (50.0, 18.0, 2.5, 4.0, 53.15, 55.12),
        ] {
            for (slaking, printed) in [(1.0, with), (0.0, without)] {
                let mash_in = MashIn {
                    mash: c(mash),
                    water: Mass::from_kg(thickness),
                    grain: Mass::from_kg(1.0),
                    grain_temperature: c(grain),
                    moisture: Fraction::from_ratio(moisture / 100.0),
                    slaking: Fraction::from_ratio(slaking),
                    tun_heat_capacity: Mass::from_kg(0.0),
                    tun_temperature: c(20.0),
                };
                let ours = mash_in.strike_temperature().unwrap().c();
                assert!((ours - printed).abs() < 0.006, "{ours} against {printed}");
            }
        }
    }

    fn tun(liquor_kg: f64, boils_c: f64) -> Tun {
        Tun {
            grain_kg: 5.0,
            liquor_kg,
            grain_heat_kg: 2.0,
            tun_kg: 0.0,
            boils_c,
            room_c: 20.0,
            loses_kg_per_min: 0.0,
            held: false,
            power: None,
        }
    }

    /// Rests of half an hour; its kettle gives off no steam.
    fn plan(stepping: Stepping, temps_c: &[f64]) -> WortPlan {
        let mut mash = MashPlan::single(
            VolumePerMass::from_l_per_kg(2.5),
            c(50.0),
            Duration::from_min(30.0),
        );
        let rests = temps_c
            .iter()
            .map(|t| Rest::at(c(*t), Duration::from_min(30.0)));
        mash.rests = rests.collect();
        mash.stepping = stepping;
        let mut kit = Kit::common_practice();
        kit.evaporation = EvaporationRate::from_kg_per_h(0.0);
        WortPlan {
            kit,
            into_fermenter: Volume::from_l(20.0),
            grist: vec![GristItem {
                fermentable: malts::find("pale ale malt").unwrap(),
                mass: Mass::from_kg(5.0),
            }],
            mash,
            sparge: Sparge::Batch { refills: 1 },
            boil: BoilPlan {
                duration: Duration::from_min(60.0),
                whirlpool: Duration::from_min(0.0),
                chill_to: c(20.0),
                top_up: None,
            },
            hops: Vec::new(),
        }
    }

    fn pulls(tun: &Tun, plan: &WortPlan) -> Vec<Pull> {
        let (_, schedule) = tun.schedule(plan).unwrap();
        let pull = |step: &RestStep| match step.change {
            Change::Decoction(pull) => Some(pull),
            _ => None,
        };
        schedule.steps.iter().filter_map(pull).collect()
    }

    /// 5 kg, 12.5 kg of water: 52 to 65 °C takes 5.386 kg at 100 °C; 50 to 63 °C
    /// takes 5.236 kg at 99 °C. Computed from the heat balance.
    #[test]
    fn infusions_follow_the_heat_balance() {
        for (from, to, boils_c, added) in [(52.0, 65.0, 100.0, 5.386), (50.0, 63.0, 99.0, 5.236)] {
            let tun = tun(12.5 + added, boils_c);
            let (strike_kg, _) = tun
                .schedule(&plan(Stepping::Infusion, &[from, to]))
                .unwrap();
            assert!((strike_kg - 12.5).abs() < 6e-4, "{strike_kg}");
        }
        let wrong = |temps: &[f64]| tun(12.5, 100.0).schedule(&plan(Stepping::Infusion, temps));
        assert!(wrong(&[64.0, 50.0]).is_err() && wrong(&[64.0, 99.5]).is_err());
    }

    /// Decoctions 50 to 64 °C 0.280, 64 to 72 °C 0.222 of the heat capacity: computed from
    /// the heat balance; whole, of 14.5 kg as water, 0.280 of 12.5 kg and of 5 kg.
    #[test]
    fn decoctions_follow_the_heat_balance() {
        let tun = tun(12.5, 100.0);
        let whole = plan(Stepping::Decoction(Part::Whole), &[50.0, 64.0, 72.0]);
        let [first, second] = pulls(&tun, &whole)[..] else {
            panic!("two decoctions");
        };
        assert!((first.share.ratio() - 0.280).abs() < 6e-4);
        assert!((second.share.ratio() - 0.222).abs() < 6e-4);
        assert!((first.mass.kg() - 0.280 * 17.5).abs() < 6e-3);
        let wrong = plan(Stepping::Decoction(Part::Whole), &[64.0, 50.0]);
        let told = tun.schedule(&wrong).unwrap_err().to_string();
        assert!(told.contains("a decoction only warms"), "{told}");
    }

    /// By hand: the thick mash of 2 L/kg warms as 2.4 kg of water for each kilogram of
    /// grain, so 0.28 of 14.5 kg are 1.692 kg of grain and 3.383 kg of liquor; thin,
    /// 4.060 kg of liquor, more than the 2.5 kg that stand above it.
    #[test]
    fn thick_and_thin_are_weighed_apart() {
        let thick = pulls(
            &tun(12.5, 100.0),
            &plan(Stepping::Decoction(Part::Thick), &[50.0, 64.0]),
        );
        assert!((thick[0].grain.kg() - 1.6917).abs() < 6e-4, "{thick:?}");
        assert!((thick[0].mass.kg() - 5.075).abs() < 1e-3);
        assert!((thick[0].of_liquor.ratio() - 3.3833 / 12.5).abs() < 1e-4);
        let thin = plan(Stepping::Decoction(Part::Thin), &[50.0, 64.0]);
        let told = tun(12.5, 100.0).schedule(&thin).unwrap_err().to_string();
        assert!(told.contains("pull it thick"), "{told}");
        let thinner = pulls(&tun(20.0, 100.0), &thin);
        assert!((thinner[0].mass.kg() - 0.28 * 22.0).abs() < 1e-3);
        assert!(thinner[0].grain.kg().abs() < 1e-12);
        assert!((thinner[0].of_liquor.ratio() - 6.16 / 20.0).abs() < 1e-4);
    }

    /// 3 kg/h for 20 min are 1 kg of steam: c = (14.5·14 + 1·36)/50 = 4.780 kg.
    #[test]
    fn what_boils_off_is_made_up_for() {
        let mut plan = plan(Stepping::Decoction(Part::Whole), &[50.0, 64.0]);
        plan.kit.evaporation = EvaporationRate::from_kg_per_h(3.0);
        plan.mash.rests[1].boiled = Some(Duration::from_min(20.0));
        let pull = pulls(&tun(12.5, 100.0), &plan)[0];
        assert!((pull.steam.kg() - 1.0).abs() < 1e-9);
        assert!((pull.share.ratio() * 14.5 - 4.780).abs() < 1e-6, "{pull:?}");
        assert!((plan.mash_steam_kg() - 1.0).abs() < 1e-9);
    }

    /// Newton's law, worked: 30 h are 2.24 K from 66 °C over 90 min in a room of 20 °C.
    #[test]
    fn a_tun_left_alone_cools_and_a_heated_one_is_held() {
        let mut tun = tun(12.5, 100.0);
        tun.loses_kg_per_min = 14.5 / 1800.0;
        let mut one = plan(Stepping::Infusion, &[66.0]);
        one.mash.rests[0].duration = Duration::from_min(90.0);
        let (_, cools) = tun.schedule(&one).unwrap();
        let fall = 46.0 * -(-0.05f64).exp_m1();
        assert!(
            (66.0 - cools.ends_c() - fall).abs() < 1e-9,
            "{}",
            cools.ends_c()
        );
        assert!((cools.lost - 14.5 * fall).abs() < 1e-9 && cools.held.abs() < 1e-12);
        tun.held = true;
        let (_, held) = tun.schedule(&one).unwrap();
        assert!((held.ends_c() - 66.0).abs() < 1e-12);
        assert!((held.held - 14.5 * 46.0 * 0.05).abs() < 1e-9);
    }

    /// 14.5 kg as water through 12 K at 2 kW: 364 s, and longer where the walls lose.
    #[test]
    fn heating_takes_its_time() {
        let mut tun = tun(12.5, 100.0);
        tun.power = Some(Power::from_kw(2.0));
        let (min, lost) = tun.heating(14.5, 52.0, 64.0).unwrap();
        assert!(
            (min * 60.0 - 364.3).abs() < 0.1 && lost.abs() < 1e-12,
            "{min}"
        );
        tun.loses_kg_per_min = 0.2;
        let (slower, lost) = tun.heating(14.5, 52.0, 64.0).unwrap();
        assert!(slower > min && (lost - 0.2 * 38.0 * slower).abs() < 1e-9);
        tun.loses_kg_per_min = 1.0;
        let told = tun.heating(14.5, 52.0, 64.0).unwrap_err().to_string();
        assert!(told.contains("walls lose more"), "{told}");
        tun.power = None;
        assert!((tun.heating(14.5, 52.0, 64.0).unwrap().0 - 12.0).abs() < 1e-9);
    }

    #[test]
    fn a_rest_too_short_for_its_decoction_is_told() {
        let mut short = plan(Stepping::Decoction(Part::Thick), &[50.0, 64.0]);
        short.mash.rests[0].duration = Duration::from_min(20.0);
        let (_, schedule) = tun(12.5, 100.0).schedule(&short).unwrap();
        let told = &schedule.notes[0].text;
        assert!(
            told.contains("takes about 65 min to heat and boil"),
            "{told}"
        );
    }
}
