//! A temperature that was missed: what it does, and the ways back.

use quantity::{Caution, Duration, Energy, Fraction, Ph, Temperature, Volume};

use super::conversion::Conversion;
use super::course::{MashCourse, TemperatureReading};
use super::{Mashed, ground};
use crate::amounts::Volumes;
use crate::heat::{KJ_PER_KWH, Tun, WATER_KJ_PER_KG_K};
use crate::mix::Mix;
use crate::plan::WortPlan;

/// A reading nearer than this is no miss \[K\]: mash tuns differ as much from place to
/// place (common practice).
const NEAR_K: f64 = 0.5;
/// Cold water is as cold as this \[°C\] (judgement).
const COLD_C: f64 = 12.0;
/// The way back takes effect after so long \[min\] (judgement).
const TAKES_MIN: f64 = 3.0;
/// Longest that a rest is lengthened \[min\], and how near the planned limit is near
/// enough.
const LONGEST_MIN: f64 = 90.0;
const NEAR_LIMIT: f64 = 0.002;

/// A missed temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct Missed {
    /// When it was read.
    pub after: Duration,
    /// What was planned then.
    pub planned: Temperature,
    /// What was read.
    pub read: Temperature,
    /// Apparent limit of attenuation as planned.
    pub limit_planned: Fraction,
    /// The same if nothing is done.
    pub limit_now: Fraction,
    /// What can be done.
    pub ways: Vec<WayBack>,
    /// What can hurt.
    pub cautions: Vec<Caution>,
}

/// Something to do about it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WayBack {
    /// What.
    pub what: Remedy,
    /// Apparent limit of attenuation then.
    pub limit: Fraction,
}

/// What to do.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Remedy {
    /// Boiling water, volume at 20 °C: it thins the mash.
    BoilingWater(Volume),
    /// Cold water of 12 °C: it thins the mash.
    ColdWater(Volume),
    /// Heat, and for how long by the power of the kit or at 1 °C a minute.
    Heat(Energy, Duration),
    /// Rest for longer.
    Longer(Duration),
}

/// What the last temperature that was read in a mash asks for; none where nothing was
/// read, or where it was met.
#[must_use]
pub fn missed(plan: &WortPlan, volumes: &Volumes, mashed: &Mashed, mash_ph: Ph) -> Option<Missed> {
    let (planned, course) = (mashed.planned.as_ref()?, mashed.course.as_ref()?);
    let limit_now = mashed.conversion.as_ref()?.limit.value;
    let last = *plan
        .mash
        .measured
        .iter()
        .max_by(|a, b| a.after.h().total_cmp(&b.after.h()))?;
    let wanted = planned.at(last.after);
    let short_k = wanted.c() - last.temperature.c();
    if short_k.abs() < NEAR_K {
        return None;
    }
    let ground = ground(plan, volumes, mash_ph);
    let limit_of = |course: &MashCourse| Conversion::along(course, &ground).limit.value;
    let limit_planned = limit_of(planned);
    let tun = Tun::new(plan, volumes).ok()?;
    let back = back_at(plan, planned, last);
    let limit_back = limit_of(&back);
    let mut ways: Vec<WayBack> = remedies(&tun, last.temperature.c(), wanted.c())
        .into_iter()
        .map(|what| WayBack {
            what,
            limit: limit_back,
        })
        .collect();
    ways.extend(longer(course, limit_planned, limit_now, limit_of));
    Some(Missed {
        after: last.after,
        planned: wanted,
        read: last.temperature,
        limit_planned,
        limit_now,
        ways,
        cautions: vec![Caution::HotLiquor],
    })
}

/// The course if the temperature planned is reached soon after the last reading.
fn back_at(plan: &WortPlan, planned: &MashCourse, last: TemperatureReading) -> MashCourse {
    let mut readings = plan.mash.measured.clone();
    let after = Duration::from_min(last.after.min() + TAKES_MIN);
    readings.push(TemperatureReading {
        after,
        temperature: planned.at(last.after),
    });
    planned.clone().with_readings(&readings)
}

fn remedies(tun: &Tun, from_c: f64, to_c: f64) -> Vec<Remedy> {
    let (rise_k, heat_kg) = (to_c - from_c, tun.heat_kg());
    let litres = |kg: f64| Volume::from_l(Mix::water(kg).volume_l());
    if rise_k < 0.0 {
        let kg = -rise_k * heat_kg / (to_c - COLD_C);
        return if to_c > COLD_C + 1.0 {
            vec![Remedy::ColdWater(litres(kg))]
        } else {
            Vec::new()
        };
    }
    let mut ways = Vec::new();
    if to_c < tun.boils_c - 1.0 {
        let kg = rise_k * heat_kg / (tun.boils_c - to_c);
        ways.push(Remedy::BoilingWater(litres(kg)));
    }
    if let Ok((min, lost)) = tun.heating(heat_kg, from_c, to_c) {
        let kwh = (heat_kg * rise_k + lost) * WATER_KJ_PER_KG_K / KJ_PER_KWH;
        ways.push(Remedy::Heat(Energy::from_kwh(kwh), Duration::from_min(min)));
    }
    ways
}

/// A longer rest at the end, where that brings the limit to what was planned.
fn longer(
    course: &MashCourse,
    planned: Fraction,
    now: Fraction,
    limit_of: impl Fn(&MashCourse) -> Fraction,
) -> Option<WayBack> {
    let wanted = planned.ratio() - NEAR_LIMIT;
    let ends_min = course.lasts().min();
    let with = |more_min: f64| limit_of(&course.clone().lasting(ends_min + more_min)).ratio();
    if now.ratio() >= wanted || with(LONGEST_MIN) < wanted {
        return None;
    }
    let (mut low, mut high) = (0.0, LONGEST_MIN);
    while high - low > 0.5 {
        let middle = f64::midpoint(low, high);
        if with(middle) < wanted {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(WayBack {
        what: Remedy::Longer(Duration::from_min(high.ceil())),
        limit: Fraction::from_ratio(with(high.ceil())),
    })
}
