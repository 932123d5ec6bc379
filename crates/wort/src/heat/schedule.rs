//! The mash from rest to rest: temperatures, heat, water, and what the walls lose.

use quantity::{Duration, Fraction, Mass, Note, Temperature, Volume};

use super::pull::Pull;
use super::{Change, RestStep, Tun, impossible, kwh};
use crate::boil::latent_kj_per_kg;
use crate::error::WortError;
use crate::mash::figures::FIGURES;
use crate::mix::Mix;
use crate::plan::{Part, Rest, Stepping, WortPlan};

/// Longest stretch of a falling temperature that is drawn straight \[min\].
const PIECE_MIN: f64 = 10.0;

/// A mash as it is planned.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Schedule {
    /// Minutes after mashing in, and °C; straight between.
    pub(crate) points: Vec<(f64, f64)>,
    /// When the temperature is changed: from and to \[min\].
    pub(crate) moves: Vec<(f64, f64)>,
    /// What comes back boiled: when \[min\], and the shares of liquor and grain.
    pub(crate) boiled: Vec<(f64, f64, f64)>,
    pub(super) steps: Vec<RestStep>,
    /// Heat lost by the walls, and put in to hold the rests \[kg of water · K\].
    pub(super) lost: f64,
    pub(super) held: f64,
    /// Water poured in between the rests \[kg\].
    pub(super) infused_kg: f64,
    pub(super) notes: Vec<Note>,
}

/// Where the mash stands.
struct At {
    min: f64,
    temp_c: f64,
    liquor_kg: f64,
}

impl Schedule {
    /// The plan from so much strike water, which brings the mash to its first rest.
    pub(super) fn from_strike(
        tun: &Tun,
        plan: &WortPlan,
        strike_kg: f64,
    ) -> Result<Self, WortError> {
        let mut out = Self::default();
        let Some(first) = plan.mash.rests.first() else {
            return Err(WortError::NoConversion);
        };
        let mut at = At {
            min: 0.0,
            temp_c: first.temperature.c(),
            liquor_kg: strike_kg,
        };
        out.points.push((0.0, at.temp_c));
        for (n, rest) in plan.mash.rests.iter().enumerate() {
            let next = plan.mash.rests.get(n + 1);
            match next.map(|next| (next, plan.mash.way_to(next))) {
                None => out.rest(tun, &mut at, rest.duration.min(), 0.0),
                Some((next, Stepping::Decoction(part))) => {
                    out.decoction(tun, plan, &mut at, rest, next, part)?;
                }
                Some((next, way)) => {
                    out.rest(tun, &mut at, rest.duration.min(), 0.0);
                    if way == Stepping::Heat {
                        out.heat(tun, &mut at, next)?;
                    } else {
                        out.infuse(tun, &mut at, next)?;
                    }
                }
            }
        }
        Ok(out)
    }

    /// Stands for a time, some of the mash taken out \[kg of water\].
    fn rest(&mut self, tun: &Tun, at: &mut At, min: f64, out_kg: f64) {
        if min <= 0.0 {
            return;
        }
        let heat_kg = at.liquor_kg + tun.dry_kg() - out_kg;
        if tun.held {
            let lost = tun.loses_kg_per_min * (at.temp_c - tun.room_c) * min;
            self.lost += lost;
            self.held += lost;
        } else {
            let start_c = at.temp_c;
            let pieces = (min / PIECE_MIN).ceil().max(1.0);
            for n in 1..pieces as u32 {
                let part_min = min * f64::from(n) / pieces;
                let temp_c = tun.cooled(start_c, part_min, heat_kg);
                self.points.push((at.min + part_min, temp_c));
            }
            at.temp_c = tun.cooled(start_c, min, heat_kg);
            self.lost += heat_kg * (start_c - at.temp_c);
        }
        at.min += min;
        self.points.push((at.min, at.temp_c));
    }

    fn arrives(&mut self, at: &mut At, min: f64, to_c: f64) {
        self.moves.push((at.min, at.min + min));
        at.min += min;
        at.temp_c = to_c;
        self.points.push((at.min, to_c));
    }

    fn heat(&mut self, tun: &Tun, at: &mut At, next: &Rest) -> Result<(), WortError> {
        let to_c = next.temperature.c();
        let heat_kg = at.liquor_kg + tun.dry_kg();
        let (min, lost) = tun.heating(heat_kg, at.temp_c, to_c)?;
        self.steps.push(RestStep {
            to: *next,
            from: Temperature::from_c(at.temp_c),
            change: Change::Heat,
            heat: kwh(heat_kg * (to_c - at.temp_c) + lost),
        });
        self.lost += lost;
        self.arrives(at, min, to_c);
        Ok(())
    }

    fn infuse(&mut self, tun: &Tun, at: &mut At, next: &Rest) -> Result<(), WortError> {
        let (from_c, to_c) = (at.temp_c, next.temperature.c());
        if to_c < from_c || to_c > tun.boils_c - 1.0 {
            return Err(impossible(
                from_c,
                to_c,
                "boiling water only warms, and up to a little below its own temperature; order the rests upward or heat the mash",
            ));
        }
        let heat = (at.liquor_kg + tun.dry_kg()) * (to_c - from_c);
        let added_kg = heat / (tun.boils_c - to_c);
        self.steps.push(RestStep {
            to: *next,
            from: Temperature::from_c(from_c),
            change: Change::BoilingWater(Volume::from_l(Mix::water(added_kg).volume_l())),
            heat: kwh(heat),
        });
        self.infused_kg += added_kg;
        at.liquor_kg += added_kg;
        self.arrives(at, FIGURES.pouring.value, to_c);
        Ok(())
    }

    /// Rests, a part of the mash being boiled meanwhile, and takes it back.
    fn decoction(
        &mut self,
        tun: &Tun,
        plan: &WortPlan,
        at: &mut At,
        rest: &Rest,
        next: &Rest,
        part: Part,
    ) -> Result<(), WortError> {
        let (rest_min, to_c) = (rest.duration.min(), next.temperature.c());
        let heat_kg = at.liquor_kg + tun.dry_kg();
        let boils = next.boils();
        let steam_kg = plan.kit.steam_kg_per_h() * boils.h();
        let heating_min = (tun.boils_c - at.temp_c).max(0.0) / FIGURES.heating_rate.value;
        let takes_min = heating_min + boils.min();
        if takes_min > rest_min + 0.5 {
            self.notes.push(Note::look(format!(
                "the decoction to {} takes about {takes_min:.0} min to heat and boil, and the rest before it is {rest_min:.0} min: rest longer, or pull it sooner",
                next.temperature
            )));
        }
        let away_min = takes_min.min(rest_min);
        self.rest(tun, at, rest_min - away_min, 0.0);
        let pulled_c = at.temp_c;
        let pulled_kg = tun.pulled(heat_kg, steam_kg, to_c, |kg| {
            tun.stood(pulled_c, away_min, heat_kg - kg)
        })?;
        let taken = tun.taken(part, pulled_kg, at.liquor_kg, steam_kg, [pulled_c, to_c])?;
        let pulled_min = at.min;
        self.rest(tun, at, away_min, pulled_kg);
        let of_liquor = taken.liquor_kg / at.liquor_kg;
        let of_grain = taken.grain_kg / tun.grain_kg;
        let latent = steam_kg * latent_kj_per_kg(tun.boils_c) / super::WATER_KJ_PER_KG_K;
        self.steps.push(RestStep {
            to: *next,
            from: Temperature::from_c(at.temp_c),
            change: Change::Decoction(Pull {
                part,
                volume: Volume::from_l(taken.volume_l(pulled_c)),
                mass: Mass::from_kg(taken.grain_kg + taken.liquor_kg),
                grain: Mass::from_kg(taken.grain_kg),
                share: Fraction::from_ratio(pulled_kg / heat_kg),
                of_grain: Fraction::from_ratio(of_grain),
                of_liquor: Fraction::from_ratio(of_liquor),
                pulled_after: Duration::from_min(pulled_min),
                boils,
                steam: Mass::from_kg(steam_kg),
            }),
            heat: kwh(taken.heat_kg * (tun.boils_c - pulled_c) + latent),
        });
        at.liquor_kg -= steam_kg;
        self.arrives(at, FIGURES.pouring.value, to_c);
        self.boiled.push((at.min, of_liquor, of_grain));
        Ok(())
    }

    /// Temperature at the end.
    pub(super) fn ends_c(&self) -> f64 {
        self.points.last().map_or(f64::NAN, |p| p.1)
    }
}
