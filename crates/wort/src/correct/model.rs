//! The brew day as a function of five numbers that the plan takes for one: how much
//! extract the mash gave, how much of it stayed in the tun, how much water came into
//! the kettle, how fast it boils, how much wort is lost.

use quantity::{Gravity, Quantity};

use super::day::{Change, Done, Point, boil_min};
use crate::amounts::Volumes;
use crate::lauter::Bed;
use crate::mix::{Mix, water_kg};
use crate::plan::{Sparge, WortPlan};
use crate::volumes::kettle_sugars;

pub(super) const PARAMETERS: usize = 5;

/// Each relative to the plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Course {
    pub(super) conversion: f64,
    pub(super) left_in_tun: f64,
    pub(super) water: f64,
    pub(super) evaporation: f64,
    pub(super) losses: f64,
}

impl Course {
    pub(super) fn of(x: [f64; PARAMETERS]) -> Self {
        let [conversion, left_in_tun, water, evaporation, losses] = x;
        Self {
            conversion,
            left_in_tun,
            water,
            evaporation,
            losses,
        }
    }
}

/// The plan in kilograms and litres, with what was done.
#[derive(Debug, Clone)]
pub(super) struct Model<'a> {
    pub(super) done: &'a [Done],
    /// The boil as done \[min\].
    pub(super) boil_min: f64,
    mash_extract_kg: f64,
    mash_water_kg: f64,
    left_share: f64,
    sugars: Mix,
    water_kg: f64,
    steam_kg_per_min: f64,
    losses_l: f64,
    top_up_kg: f64,
    last_plato: f64,
    /// Whether the last runnings have the strength of what stays in the tun.
    pub(super) mixed: bool,
}

impl<'a> Model<'a> {
    pub(super) fn new(plan: &WortPlan, volumes: &Volumes, done: &'a [Done]) -> Self {
        let kit = &plan.kit;
        let bed = Bed::of(plan);
        let hops_l = kit.hop_absorption.l_per_kg() * plan.kettle_hop_kg();
        Self {
            done,
            boil_min: boil_min(plan, done),
            mash_extract_kg: bed.extract_kg,
            mash_water_kg: bed.water_kg(water_kg(volumes.mash_liquor.l())),
            left_share: 1.0 - volumes.lauter_efficiency.ratio(),
            sugars: kettle_sugars(plan),
            water_kg: volumes.pre_boil.water.kg(),
            steam_kg_per_min: kit.evaporation.kg_per_h() / 60.0,
            losses_l: kit.kettle_loss.l() + kit.transfer_loss.l() + hops_l,
            top_up_kg: water_kg(plan.top_up_l()),
            last_plato: volumes.last_runnings.plato(),
            mixed: plan.sparge != Sparge::Continuous,
        }
    }

    /// The first wort \[°P\].
    fn first_wort(&self, x: &Course) -> f64 {
        let mash = Mix {
            extract_kg: self.mash_extract_kg * x.conversion,
            water_kg: self.mash_water_kg,
        };
        mash.plato()
    }

    /// What stays in the tun is as strong as the last runnings where the tun is
    /// stirred, so the two move together.
    fn last_runnings(&self, x: &Course) -> f64 {
        (self.last_plato * x.conversion * x.left_in_tun).clamp(0.0, Gravity::MAX)
    }

    /// Extract of the grain in the kettle, relative to the plan.
    pub(super) fn grain_factor(&self, x: &Course) -> f64 {
        let kept = 1.0 - self.left_share;
        if kept > 0.0 {
            x.conversion * (1.0 - x.left_in_tun * self.left_share).max(0.0) / kept
        } else {
            1.0
        }
    }

    /// The full kettle, nothing added yet \[kg\].
    pub(super) fn kettle_full(&self, x: &Course) -> Mix {
        let grain_kg = self.mash_extract_kg * (1.0 - self.left_share) * self.grain_factor(x);
        Mix {
            extract_kg: self.sugars.extract_kg + grain_kg,
            water_kg: self.water_kg * x.water,
        }
    }

    /// What was given to the kettle before a place of the day.
    pub(super) fn added_before(&self, order: f64) -> Mix {
        self.done
            .iter()
            .filter(|d| d.at != Point::Fermenter && d.at.order(self.boil_min) < order)
            .fold(Mix::default(), |sum, d| sum.plus(given(&d.what)))
    }

    fn steam_kg(&self, x: &Course, min: f64) -> f64 {
        self.steam_kg_per_min * x.evaporation * min
    }

    pub(super) fn kettle_at(&self, x: &Course, min: f64, order: f64) -> Mix {
        let mix = self.kettle_full(x).plus(self.added_before(order));
        Mix {
            extract_kg: mix.extract_kg,
            water_kg: (mix.water_kg - self.steam_kg(x, min)).max(1e-6),
        }
    }

    /// The end of the boil, with all that went into the kettle.
    pub(super) fn post_boil(&self, x: &Course) -> Mix {
        self.kettle_at(x, self.boil_min, f64::INFINITY)
    }

    pub(super) fn losses_l(&self, x: &Course) -> f64 {
        self.losses_l * x.losses
    }

    /// The wort in the fermenter; with or without what was given to it there.
    pub(super) fn fermenter(&self, x: &Course, added: bool) -> Mix {
        let after = self.post_boil(x);
        let litres = after.volume_l();
        let share = ((litres - self.losses_l(x)) / litres).max(1e-6);
        let wort = after.share(share).plus(Mix::water(self.top_up_kg));
        if added {
            wort.plus(self.added_to_fermenter())
        } else {
            wort
        }
    }

    pub(super) fn added_to_fermenter(&self) -> Mix {
        let there = self.done.iter().filter(|d| d.at == Point::Fermenter);
        there.fold(Mix::default(), |sum, d| sum.plus(given(&d.what)))
    }

    /// Wort at a point \[kg\]; none where only a gravity can be told.
    pub(super) fn wort_at(&self, x: &Course, at: Point) -> Option<Mix> {
        Some(match at {
            Point::FirstWort | Point::LastRunnings => return None,
            Point::KettleFull => self.kettle_full(x),
            Point::Boil(t) => {
                let min = t.min().min(self.boil_min);
                self.kettle_at(x, min, at.order(self.boil_min))
            }
            Point::EndOfBoil => self.kettle_at(x, self.boil_min, at.order(self.boil_min)),
            Point::Fermenter => self.fermenter(x, false),
        })
    }

    /// Gravity at a point \[°P\].
    pub(super) fn plato_at(&self, x: &Course, at: Point) -> f64 {
        match at {
            Point::FirstWort => self.first_wort(x),
            Point::LastRunnings => self.last_runnings(x),
            _ => self.wort_at(x, at).map_or(0.0, Mix::plato),
        }
    }
}

/// What a change brings into the wort \[kg\].
pub(super) fn given(change: &Change) -> Mix {
    match change {
        Change::Add { fermentable, mass } => Mix {
            extract_kg: mass.kg() * fermentable.extract_as_is().ratio(),
            water_kg: mass.kg() * fermentable.moisture.value.ratio(),
        },
        Change::Dilute(water) => Mix::water(water_kg(water.l())),
        Change::BoilBy(_) | Change::Hops(_) => Mix::default(),
    }
}
