//! The stage: green beer goes in, packed beer and what to do come out.

use ferment::GreenBeer;
use quantity::{
    AlcoholByVolume, Altitude, CarbonDioxide, Caution, GaugePressure, Gravity, Mass, Measured,
    Note, Spread, Temperature, Volume,
};

use crate::carbonation::{
    Fit, KegSetting, beer_temperature, far_from_chart, keg_setting, model_spread, residual,
};
use crate::container::{Container, ContainerKind};
use crate::error::{PackageError, sound, within};
use crate::pressure::{Fill, carbon_dioxide_to_come, final_pressure, in_solution};
use crate::priming::{
    LEAST_VOLUME_L, Sugar, alcohol_with, carbon_dioxide_from, gravity_after, sugar_for,
};
use crate::proof::{Basis, Left, Proof};
use crate::remarks::{self, Facts};
use crate::state::PackedBeer;
use crate::verdict::{Case, WorstCase, judge};

/// How the beer is to be packed.
#[derive(Debug, Clone, PartialEq)]
pub struct PackagePlan {
    /// What it goes into.
    pub vessel: Vessel,
    /// CO₂ aimed at.
    pub target: CarbonDioxide,
    /// How it gets there.
    pub carbonation: Carbonation,
    /// What stays behind with the yeast and in the hoses.
    pub loss: Volume,
    /// Temperature at which the package conditions.
    pub conditioning: Temperature,
    /// The warmest that a full package may ever get.
    pub warmest_storage: Temperature,
    /// Height above the sea, for the pressure of the air.
    pub altitude: Altitude,
    /// What was read of the beer before it is packed.
    pub proof: Proof,
}

/// What the beer goes into.
#[derive(Debug, Clone, PartialEq)]
pub enum Vessel {
    /// Bottles or cans.
    Bottles {
        /// Their class.
        class: &'static Container,
        /// How each is filled.
        fill: Fill,
    },
    /// A keg.
    Keg {
        /// Its class.
        class: &'static Container,
        /// The pressure stamped on it, where known.
        stamped: Option<GaugePressure>,
        /// Temperature of the beer at serving.
        serving: Temperature,
    },
}

/// How beer gets its CO₂.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Carbonation {
    /// Sugar ferments in the closed package, as much as the target asks for.
    Priming(&'static Sugar),
    /// So much sugar ferments in the closed package, whatever it comes to.
    Weighed(&'static Sugar, Mass),
    /// Gas from a cylinder; bottles are then filled from the keg.
    Gas,
}

/// Beer as packed, with what to do and how safe it is.
#[derive(Debug, Clone, PartialEq)]
pub struct Packaging {
    /// The beer: the state that the glass takes over.
    pub beer: PackedBeer,
    /// CO₂ in the beer before packaging.
    pub residual: Measured<CarbonDioxide>,
    /// The sugar, where any is needed.
    pub priming: Option<Priming>,
    /// Bottles, where it goes into bottles.
    pub bottles: Option<BottleCount>,
    /// The pressure to set, where it goes into a keg.
    pub keg: Option<KegSetting>,
    /// CO₂ per litre of beer in the closed package, above the beer included:
    /// what the plan leads to, with the ends of what the sugar can give.
    pub held: Measured<CarbonDioxide>,
    /// What may still ferment.
    pub left: Left,
    /// The worst case and the verdict.
    pub worst: WorstCase,
    /// Remarks.
    pub notes: Vec<Note>,
    /// Cautions that belong to these numbers.
    pub cautions: Vec<Caution>,
}

/// A dose of priming sugar.
#[derive(Debug, Clone, PartialEq)]
pub struct Priming {
    /// Which.
    pub sugar: &'static Sugar,
    /// For all the beer.
    pub mass: Mass,
    /// For one bottle.
    pub per_bottle: Option<Mass>,
    /// Alcohol that it adds.
    pub alcohol_added: AlcoholByVolume,
}

/// How many bottles the beer fills.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BottleCount {
    /// Full ones.
    pub full: u32,
    /// Beer left for one that would not be full: drink it or leave it.
    pub left_over: Volume,
}

/// Packs beer: the sugar or the pressure, what becomes of the beer, and the
/// worst that the package can come to.
///
/// # Errors
/// [`PackageError`] where a number cannot be, the loss takes all the beer, or
/// the container is not made for pressure or not for this use.
pub fn package(plan: &PackagePlan, green: &GreenBeer) -> Result<Packaging, PackageError> {
    let service = service_pressure(&plan.vessel)?;
    check(plan)?;
    let volume = beer_to_pack(plan, green)?;
    let left = residual(green.warmest_after_end, plan.altitude)?;
    let start = held_at_start(&left, green)?;
    let ferments = plan.proof.left(green)?;
    let gas = Gas::reckon(plan, green, &start, volume, &ferments)?;
    let worst = worst_case(plan, green, &gas, &ferments, service)?;
    let beer = packed(plan, green, &gas, volume)?;
    let keg = keg_of(plan, green)?;
    let bottles = bottles_of(&plan.vessel, volume);
    let facts = Facts {
        plan,
        green,
        saturation: left.value,
        start: start.value,
        dissolved: beer.carbon_dioxide,
        held: gas.held.value,
        left: &ferments,
        worst: &worst,
    };
    let mut notes = remarks::notes(&facts);
    notes.extend(keg.iter().flat_map(|setting| setting.notes.clone()));
    Ok(Packaging {
        priming: gas.priming(plan, volume)?,
        cautions: remarks::cautions(plan),
        residual: start,
        held: gas.held,
        beer,
        bottles,
        keg,
        left: ferments,
        worst,
        notes,
    })
}

/// The gas balance of one litre in the closed package.
struct Gas {
    sugar: Option<(&'static Sugar, Mass)>,
    made: Measured<CarbonDioxide>,
    held: Measured<CarbonDioxide>,
    /// How well what was there before is known, as a standard deviation \[g/L\].
    start_sd: f64,
    /// The most that the extract can add.
    from_extract: CarbonDioxide,
    /// Held, and the most that sugar and extract can add.
    worst: CarbonDioxide,
    /// Held, and what the extract likely adds.
    likely: CarbonDioxide,
    /// Held where the sugar gives its least and nothing else ferments.
    least: CarbonDioxide,
}

impl Gas {
    fn reckon(
        plan: &PackagePlan,
        green: &GreenBeer,
        start: &Measured<CarbonDioxide>,
        volume: Volume,
        left: &Left,
    ) -> Result<Self, PackageError> {
        let none = Measured::exactly(CarbonDioxide::default());
        let dose = match plan.carbonation {
            Carbonation::Priming(sugar) => {
                let mass = sugar_for(sugar, plan.target, start.value, volume)?;
                Some((sugar, mass))
            }
            Carbonation::Weighed(sugar, mass) => Some((sugar, sound("priming sugar", mass)?)),
            Carbonation::Gas => None,
        };
        let (made, base, start_sd) = match dose {
            Some((sugar, mass)) => {
                let made = carbon_dioxide_from(sugar, mass, volume)?;
                (made, start.value, start.sd())
            }
            None => (none, more_of(start.value, plan.target), 0.0),
        };
        let sugar = dose.filter(|(_, mass)| mass.kg() > 0.0);
        let told = |error| for_extract_left(left, error);
        let extract = |plato| carbon_dioxide_to_come(plato, green.gravity).map_err(told);
        let (most, likely) = (extract(left.at_most)?, extract(left.likely)?);
        let held = shifted(&made, base);
        let all = |g_per_l: f64| {
            let co2 = CarbonDioxide::from_g_per_l(g_per_l);
            sound("carbon dioxide in the package", co2).map_err(told)
        };
        Ok(Self {
            sugar,
            worst: all(base.g_per_l() + highest(&made) + most.g_per_l())?,
            likely: all(held.value.g_per_l() + likely.g_per_l())?,
            least: held.lower(),
            from_extract: most,
            made,
            held,
            start_sd,
        })
    }

    fn priming(&self, plan: &PackagePlan, volume: Volume) -> Result<Option<Priming>, PackageError> {
        let Some((sugar, mass)) = self.sugar else {
            return Ok(None);
        };
        let per_bottle = match &plan.vessel {
            Vessel::Bottles { fill, .. } => {
                Some(Mass::from_kg(mass.kg() * fill.beer.l() / volume.l()))
            }
            Vessel::Keg { .. } => None,
        };
        Ok(Some(Priming {
            sugar,
            mass,
            per_bottle,
            alcohol_added: alcohol_with(self.made.value)?,
        }))
    }
}

/// From how much extract left on, too much gas is put down to it \[°P\]: three
/// give about 13 g/L of CO₂, which no container bears (judgement).
const HARDLY_FERMENTED_PLATO: f64 = 3.0;

/// Gas beyond all bounds is told by its cause.
fn for_extract_left(left: &Left, error: PackageError) -> PackageError {
    let left = left.at_most;
    if left.plato() > HARDLY_FERMENTED_PLATO {
        PackageError::Unfermented { left }
    } else {
        error
    }
}

fn service_pressure(vessel: &Vessel) -> Result<GaugePressure, PackageError> {
    let (class, wrong, wanted) = match vessel {
        Vessel::Bottles { class, .. } => (
            class,
            class.kind == ContainerKind::Keg,
            "choose a bottle or can, or pack it as a keg",
        ),
        Vessel::Keg { class, .. } => (
            class,
            class.kind != ContainerKind::Keg,
            "choose a keg or a pressure-rated vessel, or pack it as bottles",
        ),
    };
    let service = class.service_pressure()?;
    if wrong {
        return Err(PackageError::WrongContainer {
            name: class.name.clone(),
            kind: class.kind.word(),
            wanted,
        });
    }
    match vessel {
        Vessel::Keg {
            stamped: Some(stamp),
            ..
        } => within("pressure stamped on the keg", *stamp, 0.0, 100.0),
        _ => Ok(service),
    }
}

fn check(plan: &PackagePlan) -> Result<(), PackageError> {
    sound("carbon dioxide aimed at", plan.target)?;
    sound("loss", plan.loss)?;
    sound("altitude", plan.altitude)?;
    beer_temperature(plan.conditioning)?;
    beer_temperature(plan.warmest_storage)?;
    Ok(())
}

fn beer_to_pack(plan: &PackagePlan, green: &GreenBeer) -> Result<Volume, PackageError> {
    let beer = sound("volume of beer", green.volume)?;
    let left = beer.l() - plan.loss.l();
    if left < LEAST_VOLUME_L {
        return Err(PackageError::LossTakesAll {
            loss_l: plan.loss.l(),
            beer_l: beer.l(),
        });
    }
    Ok(Volume::from_l(left))
}

/// The gas that is reckoned to be in the beer: saturation, or what fermentation
/// says where that is more (a closed fermenter); more gas means less sugar.
fn held_at_start(
    saturation: &Measured<CarbonDioxide>,
    green: &GreenBeer,
) -> Result<Measured<CarbonDioxide>, PackageError> {
    let said = sound("carbon dioxide in the green beer", green.carbon_dioxide)?;
    Ok(Measured {
        value: more_of(saturation.value, said),
        spread: saturation.spread,
    })
}

fn more_of(a: CarbonDioxide, b: CarbonDioxide) -> CarbonDioxide {
    CarbonDioxide::from_g_per_l(a.g_per_l().max(b.g_per_l()))
}

/// The upper end in g/L.
fn highest(co2: &Measured<CarbonDioxide>) -> f64 {
    match co2.spread {
        Spread::Range { high, .. } => high,
        _ => co2.value.g_per_l(),
    }
}

fn shifted(co2: &Measured<CarbonDioxide>, by: CarbonDioxide) -> Measured<CarbonDioxide> {
    Measured {
        value: CarbonDioxide::from_g_per_l(co2.value.g_per_l() + by.g_per_l()),
        spread: match co2.spread {
            Spread::Range { low, high } => Spread::Range {
                low: low + by.g_per_l(),
                high: high + by.g_per_l(),
            },
            other => other,
        },
    }
}

fn worst_case(
    plan: &PackagePlan,
    green: &GreenBeer,
    gas: &Gas,
    left: &Left,
    service: GaugePressure,
) -> Result<WorstCase, PackageError> {
    let (class, fill) = match &plan.vessel {
        Vessel::Bottles { class, fill } => (class, Some(*fill)),
        Vessel::Keg { class, .. } => (class, None),
    };
    let filled_at = beer_temperature(green.temperature)?;
    let at = if plan.warmest_storage < plan.conditioning {
        plan.conditioning
    } else {
        plan.warmest_storage
    };
    let at_gas = |gas: CarbonDioxide| match fill {
        Some(fill) => final_pressure(gas, &fill, filled_at, at, plan.altitude),
        // A brimful keg: its head space is not known, and takes gas away.
        None => Fit::Henry.pressure(gas, at, plan.altitude),
    };
    let pressure = at_gas(gas.worst)?;
    let spread = Spreads {
        model: model_spread(at, far_from_chart(green.real_extract, green.alcohol)).ratio(),
        start: gas.start_sd,
    };
    let interval = Measured {
        value: at_gas(gas.likely)?,
        spread: Spread::Range {
            low: at_gas(gas.least)?.bar() - spread.twice(at_gas, gas.least)?,
            high: pressure.bar() + spread.twice(at_gas, gas.worst)?,
        },
    };
    Ok(judge(
        class,
        &Case {
            target: plan.target,
            carbon_dioxide: gas.worst,
            from_extract: gas.from_extract,
            diastatic: green.diastatic,
            below_forced: left.basis == Basis::BelowForced,
            filled_at,
            at,
            pressure,
            interval,
            service,
            fill,
        },
    ))
}

/// What a pressure is not known by, beside sugar and extract.
struct Spreads {
    /// The law of solubility, as a part of the pressure of the gas.
    model: f64,
    /// The gas that was there before \[g/L\].
    start: f64,
}

impl Spreads {
    /// Two standard deviations of the pressure of a gas \[bar\].
    fn twice(
        &self,
        at_gas: impl Fn(CarbonDioxide) -> Result<GaugePressure, PackageError>,
        gas: CarbonDioxide,
    ) -> Result<f64, PackageError> {
        // Pressure rises in a straight line with gas.
        let without = at_gas(CarbonDioxide::default())?.bar();
        let of_gas_bar = at_gas(gas)?.bar() - without;
        let start = match gas.g_per_l() {
            held if held > 0.0 => self.start / held,
            _ => 0.0,
        };
        Ok(2.0 * of_gas_bar * self.model.hypot(start))
    }
}

fn packed(
    plan: &PackagePlan,
    green: &GreenBeer,
    gas: &Gas,
    volume: Volume,
) -> Result<PackedBeer, PackageError> {
    let carbon_dioxide = match (&plan.vessel, plan.carbonation) {
        (Vessel::Bottles { fill, .. }, Carbonation::Priming(_) | Carbonation::Weighed(..)) => {
            in_solution(gas.held.value, fill, plan.conditioning)?
        }
        _ => gas.held.value,
    };
    let gravity: Gravity = match gas.sugar {
        Some((sugar, mass)) => gravity_after(green.gravity, sugar, mass, volume)?,
        None => sound("gravity", green.gravity)?,
    };
    let added = alcohol_with(gas.made.value)?;
    let alcohol = AlcoholByVolume::from_ratio(green.alcohol.ratio() + added.ratio());
    Ok(PackedBeer {
        volume,
        gravity,
        alcohol: sound("alcohol", alcohol)?,
        carbon_dioxide,
        ph: green.ph,
        colour: green.colour,
        bitterness: green.bitterness,
        sulfur_dioxide_at_most: green.sulfur_dioxide_at_most,
        halogen_met: green.halogen_met,
        ions: green.ions,
        flavour: green.flavour,
    })
}

fn keg_of(plan: &PackagePlan, green: &GreenBeer) -> Result<Option<KegSetting>, PackageError> {
    let Vessel::Keg { serving, .. } = &plan.vessel else {
        return Ok(None);
    };
    let far = far_from_chart(green.real_extract, green.alcohol);
    keg_setting(plan.target, *serving, plan.altitude, far).map(Some)
}

fn bottles_of(vessel: &Vessel, volume: Volume) -> Option<BottleCount> {
    let Vessel::Bottles { fill, .. } = vessel else {
        return None;
    };
    // A hair's breadth, so that 10 L fill twenty bottles of 0.5 L.
    let full = (volume.l() / fill.beer.l() + 1e-9).floor();
    Some(BottleCount {
        full: full as u32,
        left_over: Volume::from_l((volume.l() - full * fill.beer.l()).max(0.0)),
    })
}
