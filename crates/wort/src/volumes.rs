//! From the volume wanted in the fermenter back to the water to draw.

use quantity::{Fraction, Gravity, Mass, Note, Quantity, Volume, VolumePerMass};

use crate::amounts::{Entry, Ledger, Solutes, Volumes, WortAmount};
use crate::error::{WortError, check};
use crate::lauter::{Bed, Lautered};
use crate::mash::figures::FIGURES as MASHING;
use crate::mix::{Mix, water_kg, water_l};
use crate::numeric::root;
use crate::plan::{Sparge, WortPlan};

/// Works back from the volume in the fermenter to the water to draw.
///
/// The forward model (mash, lauter, boil, losses, top-up) is exact in the masses
/// of water and extract; the one unknown, the sparge liquor (without a sparge the
/// mash liquor), is found by root search on it, so the books close.
///
/// # Errors
/// [`WortError`] where the plan cannot be brewed, each saying what would work.
pub fn volumes(plan: &WortPlan) -> Result<Volumes, WortError> {
    plan.check()?;
    let brew = Brew::new(plan);
    let (mash_kg, sparge_kg) = brew.liquors()?;
    brew.report(mash_kg, sparge_kg)
}

/// Goes on from the liquors that were weighed in, wherever that ends: what a plan comes to
/// on a kit that is not quite as it was planned on.
///
/// # Errors
/// As [`volumes`], where these liquors cannot be brewed with.
pub fn volumes_of(
    plan: &WortPlan,
    mash_liquor: Volume,
    sparge_liquor: Volume,
) -> Result<Volumes, WortError> {
    plan.check()?;
    let brew = Brew::new(plan);
    let (mash_kg, sparge_kg) = (water_kg(mash_liquor.l()), water_kg(sparge_liquor.l()));
    brew.nothing_runs_off(mash_kg)?;
    brew.report(mash_kg, sparge_kg)
}

/// The constants of the forward model, in kilograms and litres.
struct Brew<'a> {
    plan: &'a WortPlan,
    bed: Bed,
    sparge: Sparge,
    grain_kg: f64,
    sugars: Mix,
    steam_kg: f64,
    losses_l: f64,
    top_up_kg: f64,
    target_l: f64,
}

/// One pass of the forward model.
struct Pass {
    lautered: Option<Lautered>,
    pre_boil: Mix,
    post_boil: Mix,
    fermenter: Mix,
}

impl<'a> Brew<'a> {
    fn new(plan: &'a WortPlan) -> Self {
        let (kit, grain_kg) = (&plan.kit, plan.grain_kg());
        let hop_l = kit.hop_absorption.l_per_kg() * plan.kettle_hop_kg();
        Self {
            bed: Bed::of(plan),
            sparge: if grain_kg > 0.0 {
                plan.sparge
            } else {
                Sparge::None
            },
            grain_kg,
            sugars: kettle_sugars(plan),
            steam_kg: plan.steam_kg(),
            losses_l: kit.kettle_loss.l() + hop_l + kit.transfer_loss.l(),
            top_up_kg: water_kg(plan.top_up_l()),
            target_l: plan.into_fermenter.l(),
            plan,
        }
    }

    fn pass(&self, mash_kg: f64, sparge_kg: f64) -> Pass {
        let lautered = self.bed.lauter(self.sparge, mash_kg, sparge_kg);
        let run_offs = lautered.iter().flat_map(|l| &l.run_offs);
        let pre_boil = run_offs.fold(self.sugars, |sum, r| sum.plus(*r));
        let post_boil = Mix {
            extract_kg: pre_boil.extract_kg,
            water_kg: (pre_boil.water_kg - self.steam_kg).max(0.0),
        };
        let wort_l = post_boil.volume_l();
        // Where the losses exceed the wort the share is negative: the search
        // needs the sign, and the report refuses it.
        let share = if wort_l > 1e-9 {
            (wort_l - self.losses_l) / wort_l
        } else {
            0.0
        };
        let fermenter = post_boil.share(share).plus(Mix::water(self.top_up_kg));
        Pass {
            lautered,
            pre_boil,
            post_boil,
            fermenter,
        }
    }

    /// Mash and sparge liquor \[kg\].
    fn liquors(&self) -> Result<(f64, f64), WortError> {
        if self.sparge == Sparge::None {
            let mash_kg = self.solve(|kg| self.excess_l(kg, 0.0))?;
            return Ok((mash_kg, 0.0));
        }
        let mash_kg = water_kg(self.plan.mash.thickness.l_per_kg() * self.grain_kg);
        let excess_l = self.excess_l(mash_kg, 0.0);
        if excess_l > 1e-9 {
            let most_kg = root(0.0, mash_kg, |kg| self.excess_l(kg, 0.0));
            return Err(WortError::TooMuchMashLiquor {
                given: self.plan.mash.thickness,
                at_most: VolumePerMass::from_l_per_kg(water_l(most_kg) / self.grain_kg),
            });
        }
        self.nothing_runs_off(mash_kg)?;
        Ok((mash_kg, self.solve(|kg| self.excess_l(mash_kg, kg))?))
    }

    fn excess_l(&self, mash_kg: f64, sparge_kg: f64) -> f64 {
        self.pass(mash_kg, sparge_kg).fermenter.volume_l() - self.target_l
    }

    /// The water that makes the excess vanish. More water always means more wort.
    fn solve(&self, excess_l: impl Fn(f64) -> f64) -> Result<f64, WortError> {
        if excess_l(0.0) > 0.0 {
            // Sugars and syrups alone fill the fermenter.
            return Err(self.too_strong(self.pass(0.0, 0.0).fermenter.plato()));
        }
        let mut high = self.target_l + self.losses_l + self.steam_kg + self.bed.retained_l + 1.0;
        while excess_l(high) < 0.0 && high < 1e9 {
            high *= 2.0;
        }
        Ok(root(0.0, high, excess_l))
    }

    fn too_strong(&self, plato: f64) -> WortError {
        WortError::TooStrong {
            plato,
            most: Gravity::from_plato(Gravity::MAX),
        }
    }

    fn nothing_runs_off(&self, mash_kg: f64) -> Result<(), WortError> {
        let liquid = Mix {
            extract_kg: self.bed.extract_kg,
            water_kg: self.bed.water_kg(mash_kg),
        };
        if liquid.volume_l() > self.bed.retained_l {
            return Ok(());
        }
        Err(WortError::NothingRunsOff {
            retained: Volume::from_l(self.bed.retained_l),
            liquid: Volume::from_l(liquid.volume_l()),
        })
    }

    fn report(&self, mash_kg: f64, sparge_kg: f64) -> Result<Volumes, WortError> {
        let pass = self.pass(mash_kg, sparge_kg);
        self.refuse_impossible(&pass, mash_kg)?;
        let Some(lautered) = &pass.lautered else {
            return Err(WortError::EmptyGrist);
        };
        let (plan, kit) = (self.plan, &self.plan.kit);
        let boils = kit.boiling_point();
        let part =
            |litres: f64| WortAmount::of(pass.post_boil.share(litres / pass.post_boil.volume_l()));
        let pre_boil = WortAmount::of(pass.pre_boil);
        let post_boil = WortAmount::of(pass.post_boil);
        let sparge = WortAmount::of(Mix::water(sparge_kg));
        let mut out = Volumes {
            mash_liquor: Volume::from_l(water_l(mash_kg)),
            sparge_liquor: sparge.volume,
            sparge_liquor_hot: sparge.volume_at(plan.mash.sparge),
            total_water: Volume::from_l(water_l(mash_kg + sparge_kg + self.top_up_kg)),
            thickness: VolumePerMass::from_l_per_kg(self.thickness(mash_kg)),
            mash_volume_hot: Volume::from_l(
                Mix::water(mash_kg).volume_at(66.0) + MASHING.grain_volume.value * self.grain_kg,
            ),
            run_offs: lautered
                .run_offs
                .iter()
                .map(|r| WortAmount::of(*r))
                .collect(),
            last_runnings: Gravity::from_plato(lautered.last_plato),
            left_in_tun: WortAmount::of(lautered.left),
            solutes: Solutes {
                mash: Fraction::from_ratio(lautered.mash_solutes),
                sparge: Fraction::from_ratio(lautered.sparge_solutes),
            },
            pre_boil,
            pre_boil_hot: pre_boil.volume_at(boils),
            evaporated: Mass::from_kg(self.steam_kg),
            post_boil,
            post_boil_hot: post_boil.volume_at(boils),
            kettle_loss: part(kit.kettle_loss.l()),
            hop_loss: part(kit.hop_absorption.l_per_kg() * plan.kettle_hop_kg()),
            transfer_loss: part(kit.transfer_loss.l()),
            into_fermenter: WortAmount::of(pass.fermenter),
            lauter_efficiency: Fraction::from_ratio(lautered.mash_solutes),
            brewhouse_efficiency: Fraction::from_ratio(
                pass.fermenter.extract_kg / laboratory_extract_kg(plan),
            ),
            ledger: Ledger::default(),
            notes: Vec::new(),
        };
        out.ledger = self.ledger(&out, mash_kg, sparge_kg);
        out.notes = self.notes(&out);
        Ok(out)
    }

    fn thickness(&self, mash_kg: f64) -> f64 {
        if self.grain_kg > 0.0 {
            water_l(mash_kg) / self.grain_kg
        } else {
            0.0
        }
    }

    fn refuse_impossible(&self, pass: &Pass, mash_kg: f64) -> Result<(), WortError> {
        if self.grain_kg > 0.0 {
            check("mash thickness", self.thickness(mash_kg), "L/kg", 1.5, 60.0)?;
        }
        self.nothing_runs_off(mash_kg)?;
        if pass.pre_boil.water_kg <= self.steam_kg {
            return Err(WortError::BoilsDry {
                steam_kg: self.steam_kg,
                water_kg: pass.pre_boil.water_kg,
            });
        }
        let wort_l = pass.post_boil.volume_l();
        if wort_l <= self.losses_l {
            return Err(WortError::AllLost {
                losses: Volume::from_l(self.losses_l),
                wort: Volume::from_l(wort_l),
            });
        }
        let strongest = pass.post_boil.plato();
        if strongest > Gravity::MAX {
            Err(self.too_strong(strongest))
        } else {
            Ok(())
        }
    }

    fn ledger(&self, v: &Volumes, mash_kg: f64, sparge_kg: f64) -> Ledger {
        let entry = |name, kg| Entry {
            name,
            mass: Mass::from_kg(kg),
        };
        let losses = [
            ("grain and dead space", v.left_in_tun),
            ("kettle and trub", v.kettle_loss),
            ("hops", v.hop_loss),
            ("chiller and hoses", v.transfer_loss),
            ("fermenter", v.into_fermenter),
        ];
        let mut water_out = vec![
            entry("steam", self.steam_kg),
            entry("steam of decoctions", self.bed.steam_kg),
        ];
        water_out.extend(losses.iter().map(|(name, w)| Entry {
            name,
            mass: w.water,
        }));
        Ledger {
            water_in: vec![
                entry("mash liquor", mash_kg),
                entry("sparge liquor", sparge_kg),
                entry("moisture of the grain", self.bed.grain_water_kg),
                entry("water of sugars and syrups", self.sugars.water_kg),
                entry("top-up water", self.top_up_kg),
            ],
            water_out,
            extract_in: vec![
                entry("mash", self.bed.extract_kg),
                entry("sugars and malt extracts", self.sugars.extract_kg),
            ],
            extract_out: losses
                .iter()
                .map(|(name, w)| Entry {
                    name,
                    mass: w.extract,
                })
                .collect(),
        }
    }

    fn notes(&self, v: &Volumes) -> Vec<Note> {
        let mut notes = Vec::new();
        let last = v.last_runnings.plato();
        if self.sparge != Sparge::None && v.sparge_liquor.l() > 0.0 && last < 3.0 {
            let text = format!(
                "the last runnings fall to {last:.1} °P; sparging is usually stopped at 2 to 3 °P, as pH and tannins rise below: a thinner mash with less sparge would keep them up"
            );
            notes.push(if last < 2.0 {
                Note::look(text)
            } else {
                Note::fine(text)
            });
        }
        let kit = &self.plan.kit;
        for (what, needed, has) in [
            (
                "mash tun",
                v.mash_volume_hot,
                kit.tun_capacity.filter(|_| self.grain_kg > 0.0),
            ),
            ("kettle", v.pre_boil_hot, kit.kettle_capacity),
        ] {
            if let Some(has) = has.filter(|has| needed > *has) {
                notes.push(Note::act(format!(
                    "the {what} would have to hold {needed} hot, and it holds {has}"
                )));
            }
        }
        notes
    }
}

/// Sugars and malt extracts as they go into the kettle.
pub(crate) fn kettle_sugars(plan: &WortPlan) -> Mix {
    plan.kettled().fold(Mix::default(), |sum, item| {
        let extract_kg = item.mass.kg() * item.fermentable.extract_as_is().ratio();
        let water_kg = item.mass.kg() * item.fermentable.moisture.value.ratio();
        sum.plus(Mix {
            extract_kg,
            water_kg,
        })
    })
}

pub(crate) fn laboratory_extract_kg(plan: &WortPlan) -> f64 {
    plan.grist
        .iter()
        .map(|g| {
            let dry = 1.0 - g.fermentable.moisture.value.ratio();
            g.mass.kg() * dry * g.fermentable.extract.value.ratio()
        })
        .sum()
}
