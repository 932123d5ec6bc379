//! Heat of the mash: strike temperature and the steps between rests.

use quantity::{Caution, Energy, Fraction, Mass, Temperature, Volume};

use crate::amounts::Volumes;
use crate::error::{WortError, check};
use crate::mash::WATER_KJ_PER_KG_K;
use crate::mix::{Mix, water_kg};
use crate::numeric::interpolate;
use crate::plan::{Rest, Stepping, WortPlan};

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

/// Volume that a kilogram of grain takes up in the mash \[L\] (common practice).
const GRAIN_L_PER_KG: f64 = 0.67;

/// How a rest is reached from the one before.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Change {
    /// Boiling water, volume at 20 °C.
    BoilingWater(Volume),
    /// Heating or cooling the mash in place.
    Heat,
    /// Boiling this share of the mash's heat capacity; take 10 to 20 % more for
    /// losses (common practice).
    Decoction(Fraction),
}

/// A change of temperature in the mash.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RestStep {
    /// The rest that it leads to.
    pub to: Rest,
    /// How.
    pub change: Change,
    /// Heat that it takes; below nought where the mash must cool.
    pub heat: Energy,
    /// For a decoction, how much mash to take, as it stands and hot; take 10 to 20 % more
    /// for losses (common practice).
    pub decoction: Option<Volume>,
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
/// Infusions are taken out of the mash liquor: with H the heat capacity after the
/// last step, the first rest starts from H·Π (Tw − Tᵢ₊₁)/(Tw − Tᵢ), Tw being the
/// boiling point. The decoction share is (T₂ − T₁)/(Tw − T₁). No slaking heat
/// after the first wetting.
///
/// # Errors
/// [`WortError::NoConversion`] without a rest, [`WortError::StrikeTooHot`],
/// [`WortError::ImpossibleStep`]; [`WortError::EmptyGrist`] without grain.
pub fn mash_heat(plan: &WortPlan, volumes: &Volumes) -> Result<MashHeat, WortError> {
    plan.check()?;
    let Some(first) = plan.mash.rests.first() else {
        return Err(WortError::NoConversion);
    };
    let tun = Tun::new(plan, volumes)?;
    let (strike_kg, steps) = tun.steps(plan, &plan.mash.rests)?;
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
    Ok(MashHeat {
        strike_water: Volume::from_l(water.volume_l()),
        strike_water_hot: Volume::from_l(water.volume_at(strike.c())),
        strike_temperature: strike,
        steps,
        cautions: vec![Caution::HotLiquor],
    })
}

/// Heat capacity of mash and tun, as kilograms of water.
pub(crate) fn heat_capacity_kg(plan: &WortPlan, volumes: &Volumes) -> f64 {
    Tun::new(plan, volumes).map_or(0.0, |tun| tun.liquor_kg + tun.dry_kg)
}

struct Tun {
    grain_kg: f64,
    liquor_kg: f64,
    /// Heat capacity of grain and tun, as kilograms of water.
    dry_kg: f64,
    /// That of the tun alone.
    tun_kg: f64,
    boils_c: f64,
}

impl Tun {
    fn new(plan: &WortPlan, volumes: &Volumes) -> Result<Self, WortError> {
        let grain_kg = plan.grain_kg();
        if grain_kg <= 0.0 {
            return Err(WortError::EmptyGrist);
        }
        let solids = interpolate(&HEAT_CAPACITY, plan.grain_moisture() * 100.0) * grain_kg;
        Ok(Self {
            grain_kg,
            liquor_kg: water_kg(volumes.mash_liquor.l()),
            dry_kg: solids + plan.kit.tun_heat_capacity.kg(),
            tun_kg: plan.kit.tun_heat_capacity.kg(),
            boils_c: plan.kit.boiling_point().c(),
        })
    }

    /// Strike water \[kg\] and the steps after it.
    fn steps(&self, plan: &WortPlan, rests: &[Rest]) -> Result<(f64, Vec<RestStep>), WortError> {
        match plan.mash.stepping {
            Stepping::Infusion => self.infusions(rests),
            Stepping::Heat => {
                let heat = |pair: &[Rest]| {
                    let [from, to_c] = ends(pair);
                    pair.last().map(|to| RestStep {
                        to: *to,
                        change: Change::Heat,
                        heat: kwh(self.liquor_kg + self.dry_kg, to_c - from),
                        decoction: None,
                    })
                };
                Ok((self.liquor_kg, rests.windows(2).filter_map(heat).collect()))
            }
            Stepping::Decoction => Ok((self.liquor_kg, self.decoctions(rests)?)),
        }
    }

    fn infusions(&self, rests: &[Rest]) -> Result<(f64, Vec<RestStep>), WortError> {
        let mut growth = 1.0;
        for pair in rests.windows(2) {
            growth *= self.infusion_growth(pair)?;
        }
        let mut heat_kg = (self.liquor_kg + self.dry_kg) / growth;
        let strike_kg = heat_kg - self.dry_kg;
        check(
            "strike water over grain",
            strike_kg / self.grain_kg,
            "kg/kg",
            1.2,
            60.0,
        )?;
        let mut steps = Vec::new();
        for pair in rests.windows(2) {
            let added_kg = heat_kg * (self.infusion_growth(pair)? - 1.0);
            let [from, to_c] = ends(pair);
            let heat = kwh(heat_kg, to_c - from);
            heat_kg += added_kg;
            let change = Change::BoilingWater(Volume::from_l(Mix::water(added_kg).volume_l()));
            steps.extend(pair.last().map(|to| RestStep {
                to: *to,
                change,
                heat,
                decoction: None,
            }));
        }
        Ok((strike_kg, steps))
    }

    /// Heat capacity after an infusion over that before.
    fn infusion_growth(&self, pair: &[Rest]) -> Result<f64, WortError> {
        let [from, to] = ends(pair);
        if to < from || to > self.boils_c - 1.0 {
            return Err(impossible(
                from,
                to,
                "boiling water only warms, and up to a little below its own temperature; order the rests upward or heat the mash",
            ));
        }
        Ok((self.boils_c - from) / (self.boils_c - to))
    }

    /// Mash to take for a share of the heat capacity, tun and all, at a temperature.
    fn decoction(&self, share: f64, temp_c: f64) -> Volume {
        let mash_kg = self.liquor_kg + self.dry_kg - self.tun_kg;
        let whole_l = Mix::water(self.liquor_kg).volume_at(temp_c) + GRAIN_L_PER_KG * self.grain_kg;
        Volume::from_l(whole_l * share * (self.liquor_kg + self.dry_kg) / mash_kg)
    }

    fn decoctions(&self, rests: &[Rest]) -> Result<Vec<RestStep>, WortError> {
        let mut steps = Vec::new();
        for pair in rests.windows(2) {
            let [from, to] = ends(pair);
            let share = (to - from) / (self.boils_c - from);
            if !(0.0..1.0).contains(&share) {
                return Err(impossible(
                    from,
                    to,
                    "a decoction only warms, and up to below the boiling point; order the rests upward",
                ));
            }
            let change = Change::Decoction(Fraction::from_ratio(share));
            let heat_kg = self.liquor_kg + self.dry_kg;
            steps.extend(pair.last().map(|to| RestStep {
                to: *to,
                change,
                heat: kwh(share * heat_kg, self.boils_c - from),
                decoction: Some(self.decoction(share, from)),
            }));
        }
        Ok(steps)
    }
}

/// Heat for so many kilograms of water.
fn kwh(heat_kg: f64, rise_c: f64) -> Energy {
    Energy::from_kwh(heat_kg * WATER_KJ_PER_KG_K * rise_c / 3600.0)
}

fn ends(pair: &[Rest]) -> [f64; 2] {
    let c = |rest: Option<&Rest>| rest.map_or(f64::NAN, |r| r.temperature.c());
    [c(pair.first()), c(pair.last())]
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
    use quantity::Duration;

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

    fn rest(temp_c: f64) -> Rest {
        Rest {
            temperature: c(temp_c),
            duration: Duration::from_min(20.0),
        }
    }

    /// 5 kg, 12.5 kg of water: 52 to 65 °C takes 5.386 kg at 100 °C; 50 to 63 °C
    /// takes 5.236 kg at 99 °C. Decoctions 50 to 64 °C 0.280, 64 to 72 °C 0.222.
    /// All computed from the heat balance.
    #[test]
    fn steps_follow_the_heat_balance() {
        for (from, to, boils_c, added) in [(52.0, 65.0, 100.0, 5.386), (50.0, 63.0, 99.0, 5.236)] {
            let tun = Tun {
                grain_kg: 5.0,
                liquor_kg: 12.5 + added,
                dry_kg: 2.0,
                tun_kg: 0.0,
                boils_c,
            };
            let (strike_kg, _) = tun.infusions(&[rest(from), rest(to)]).unwrap();
            assert!((strike_kg - 12.5).abs() < 6e-4, "{strike_kg}");
        }
        let tun = Tun {
            grain_kg: 5.0,
            liquor_kg: 12.5,
            dry_kg: 2.0,
            tun_kg: 0.0,
            boils_c: 100.0,
        };
        let steps = tun
            .decoctions(&[rest(50.0), rest(64.0), rest(72.0)])
            .unwrap();
        for (step, printed) in steps.iter().zip([0.280, 0.222]) {
            assert!(
                matches!(step.change, Change::Decoction(f) if (f.ratio() - printed).abs() < 6e-4)
            );
        }
        assert!(tun.decoctions(&[rest(64.0), rest(50.0)]).is_err());
        assert!(tun.infusions(&[rest(64.0), rest(99.5)]).is_err());
    }
}
