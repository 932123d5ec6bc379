//! How much of what brings a mash to the aim.

use quantity::{Caution, Mass, MassConcentration, Measured, Note, Ph, Volume};

use super::belief::Belief;
use super::stage::Stage;
use super::{Addition, AtHand, MashAim, Remedy, Stocked};
use crate::acids::{acids, protons_per_mole};
use crate::analysis::{Kind, Limit, limits};
use crate::error::WaterError;
use crate::mash_ph::constants;
use crate::salts::Salt;
use crate::state::Ions;
use crate::treatment::Amount;

/// One way of bringing the mash to the aim, by itself.
#[derive(Debug, Clone, PartialEq)]
pub struct Dose {
    /// What.
    pub what: Remedy,
    /// What to give first, rounded down to what can be measured.
    pub first: Amount,
    /// What it should come to in all, rounded to what can be measured, and no more
    /// than may be given.
    pub full: Amount,
    /// What the aim asks for, whether it may be given or not.
    pub asked: Amount,
    /// The least that the aim may ask for, two standard deviations down.
    pub least: Amount,
    /// The most that the aim may ask for, two standard deviations up.
    pub most: Amount,
    /// Where the mash should stand after the first part.
    pub after_first: Measured<Ph>,
    /// Where it should stand after all of it.
    pub after_full: Measured<Ph>,
    /// Whether it reaches the aim.
    pub reaches: bool,
    /// What holds it back, a sentence.
    pub limit: Option<String>,
    /// What it brings to each litre of mash liquor in all.
    pub brings: Ions,
    /// The same in words, as one would say it at the tun.
    pub text: String,
    /// Remarks on taste and handling.
    pub notes: Vec<Note>,
    /// What can hurt someone.
    pub caution: Option<Caution>,
}

/// Every way that goes in the right direction, those that reach the aim first.
pub(super) fn ways(
    belief: &Belief<'_>,
    now: &Stage,
    aim: MashAim,
    at_hand: &AtHand,
) -> Result<Vec<Dose>, WaterError> {
    let wanted_meq = belief.base_wanted(now, aim.ph)?;
    let mut ways = vec![];
    for stocked in &at_hand.remedies {
        let plan = Plan {
            belief,
            now,
            aim,
            at_hand,
            unit: Unit::of(stocked.what),
        };
        ways.extend(plan.way(stocked, wanted_meq)?);
    }
    ways.sort_by_key(|way: &Dose| !way.reaches);
    Ok(ways)
}

/// How something is measured out.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Unit {
    Gram,
    Millilitre,
}

impl Unit {
    fn of(what: Remedy) -> Self {
        match what {
            Remedy::Acid(product) if product.density_g_per_ml.is_some() => Self::Millilitre,
            _ => Self::Gram,
        }
    }

    fn amount(self, units: f64) -> Amount {
        match self {
            Self::Gram => Amount::Mass(Mass::from_g(units)),
            Self::Millilitre => Amount::Volume(Volume::from_l(units / 1000.0)),
        }
    }
}

struct Plan<'a> {
    belief: &'a Belief<'a>,
    now: &'a Stage,
    aim: MashAim,
    at_hand: &'a AtHand,
    unit: Unit,
}

impl Plan<'_> {
    fn way(&self, stocked: &Stocked, wanted_meq: f64) -> Result<Option<Dose>, WaterError> {
        let what = stocked.what;
        let meq_per_unit = base_meq_per_unit(what, self.belief.of_balance(self.aim.ph));
        let asked = wanted_meq / meq_per_unit;
        if !(asked > 0.0 && asked.is_finite()) {
            return Ok(None);
        }
        let cap = self.cap(stocked);
        let given = cap.as_ref().map_or(asked, |(most, _)| asked.min(*most));
        let step = self.step();
        let full = round_to(given, step);
        let at_aim = self.after(what, asked)?;
        let ph_per_unit = self.belief.ph_per_meq(self.now, self.aim.ph)? * meq_per_unit;
        let sd = (at_aim.sd() / ph_per_unit.abs()).hypot(asked * own_relative_sd(what));
        let first = first_part(given, sd / asked, step);
        let after_full = self.after(what, full)?;
        let missed = (after_full.value.ph() - self.aim.ph.ph()).abs();
        let reaches = given >= asked || missed <= self.aim.within.ph();
        let mut notes = self.taste(what, full)?;
        notes.extend(too_little(what, asked, step, self.unit));
        if let Remedy::Acid(product) = what {
            notes.extend(product.remark.as_ref().map(Note::fine));
        }
        let brings = self.brings(what, full)?;
        let dose = Dose {
            what,
            first: self.unit.amount(first),
            full: self.unit.amount(full),
            asked: self.unit.amount(asked),
            least: self.unit.amount((asked - 2.0 * sd).max(0.0)),
            most: self.unit.amount(asked + 2.0 * sd),
            after_first: self.after(what, first)?,
            after_full,
            limit: cap.filter(|_| !reaches).map(|(_, why)| why),
            reaches,
            brings,
            text: String::new(),
            notes,
            caution: caution(what),
        };
        Ok(Some(Dose {
            text: said(&dose),
            ..dose
        }))
    }

    /// The least that can be measured, in units.
    fn step(&self) -> f64 {
        match self.unit {
            Unit::Gram => self.at_hand.scale.g(),
            Unit::Millilitre => 1000.0 * self.at_hand.measure.l(),
        }
    }

    fn with(&self, what: Remedy, units: f64) -> Result<Stage, WaterError> {
        self.now.with(&Addition {
            what,
            amount: self.unit.amount(units),
        })
    }

    fn after(&self, what: Remedy, units: f64) -> Result<Measured<Ph>, WaterError> {
        self.belief.ph(&self.with(what, units)?)
    }

    fn brings(&self, what: Remedy, units: f64) -> Result<Ions, WaterError> {
        let after = self.with(what, units)?.ions;
        Ok(after.plus(self.now.ions.times(-1.0)))
    }

    /// The most that may be given \[units\], and what holds it there.
    fn cap(&self, stocked: &Stocked) -> Option<(f64, String)> {
        let stock = stocked.most.map(|most| {
            let why = "that is all there is at hand.".to_owned();
            (self.units(stocked.what, most), why)
        });
        let caps = stock
            .into_iter()
            .chain(self.dissolves(stocked.what))
            .chain(self.ion_caps(stocked.what));
        caps.min_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// An amount in the unit that it is dosed in.
    fn units(&self, what: Remedy, amount: Amount) -> f64 {
        let density = match what {
            Remedy::Acid(product) => product.density_g_per_ml.unwrap_or(1.0),
            _ => 1.0,
        };
        match (self.unit, amount) {
            (Unit::Gram, Amount::Mass(mass)) => mass.g(),
            (Unit::Millilitre, Amount::Volume(volume)) => 1000.0 * volume.l(),
            (Unit::Millilitre, Amount::Mass(mass)) => mass.g() / density,
            // A solid by volume: nothing is known of it.
            (Unit::Gram, Amount::Volume(_)) => 0.0,
        }
    }

    /// What a salt's solubility allows. Strong bases dissolve as the mash takes them
    /// up.
    fn dissolves(&self, what: Remedy) -> Option<(f64, String)> {
        let Remedy::Salt(salt) = what else {
            return None;
        };
        if salt.caution == Some(Caution::StrongBase) {
            return None;
        }
        let most = salt.solubility.as_ref()?.most;
        let grams = most.mg_per_l() / 1000.0 * self.now.liquor.volume.l();
        let why = format!("no more than {most} of it dissolves.");
        Some((grams, why))
    }

    /// What brewing's limits for the ions allow.
    fn ion_caps(&self, what: Remedy) -> Vec<(f64, String)> {
        // How an ion goes with the amount is the same at any amount.
        let per_unit = self.brings(what, 1.0).unwrap_or_default();
        let cap = |limit: &Limit| {
            let rise = limit.item.of_ions(&per_unit)?;
            let now = limit.item.of_ions(&self.now.ions)?;
            (rise > 0.0).then(|| {
                let why = format!(
                    "more would bring {} in the mash liquor above {} mg/L.",
                    limit.item.name(),
                    limit.mg_per_l
                );
                (((limit.mg_per_l - now) / rise).max(0.0), why)
            })
        };
        limits()
            .iter()
            .filter(|l| l.kind == Kind::Brewing && !l.low)
            .filter_map(cap)
            .collect()
    }

    /// Whether an acid is tasted over the beer that is to come, what is in the mash
    /// already included.
    fn taste(&self, what: Remedy, units: f64) -> Result<Vec<Note>, WaterError> {
        let after = self.with(what, units)?;
        let litres = self.belief.mash().beer.l();
        let mut notes = vec![];
        for acid in acids() {
            let Some(taste) = &acid.taste else { continue };
            if !brings_acid(what, &acid.key) {
                continue;
            }
            let mut mol = 0.0;
            for given in &after.liquor.acids {
                if given.product.acid.key == acid.key {
                    mol += given.product.mol(given.amount)?;
                }
            }
            if acid.key == LACTIC {
                // The acid of acidulated malt is lactic.
                let meq = |m: &crate::mash_ph::AcidMalt| {
                    m.mass.kg() * m.acidity.value.meq_per_kg() / 1000.0
                };
                mol += after.acid_malts.iter().map(meq).sum::<f64>();
            }
            let there =
                MassConcentration::from_mg_per_l(1000.0 * mol * acid.molar_mass_g_per_mol / litres);
            let (tasted, text) = (
                there > taste.from,
                format!(
                    "{there} of {} in the beer, malt's own apart; its taste threshold is told as \
                     about {} ({}).",
                    acid.name, taste.from, taste.source.mark
                ),
            );
            notes.push(if tasted {
                Note::look(text)
            } else {
                Note::fine(text)
            });
        }
        Ok(notes)
    }
}

const LACTIC: &str = "lactic";

fn brings_acid(what: Remedy, key: &str) -> bool {
    match what {
        Remedy::Acid(product) => product.acid.key == key,
        Remedy::AcidulatedMalt(_) => key == LACTIC,
        Remedy::Salt(_) => false,
    }
}

/// Base that a unit brings at a pH \[mEq\]; negative of what acidifies.
fn base_meq_per_unit(what: Remedy, ph: Ph) -> f64 {
    match what {
        Remedy::Acid(product) => {
            let grams_per_unit = product.density_g_per_ml.unwrap_or(1.0);
            -1000.0 * product.mol_per_g * grams_per_unit * protons_per_mole(product.acid, ph)
        }
        Remedy::AcidulatedMalt(acidity) => -acidity.value.meq_per_kg() / 1000.0,
        Remedy::Salt(salt) => residual_meq_per_g(salt),
    }
}

/// How well the strength of it is known, as a part of it.
fn own_relative_sd(what: Remedy) -> f64 {
    match what {
        Remedy::AcidulatedMalt(acidity) => acidity.sd() / acidity.value.meq_per_kg(),
        Remedy::Acid(_) | Remedy::Salt(_) => 0.0,
    }
}

/// Residual alkalinity that a gram brings \[mEq\].
fn residual_meq_per_g(salt: &Salt) -> f64 {
    let c = constants();
    let ions = salt.ions_per_g_per_l;
    salt.alkalinity_per_g_per_l.meq_per_l()
        - ions.calcium.meq_per_l() / c.calcium_divisor.value
        - ions.magnesium.meq_per_l() / c.magnesium_divisor.value
}

/// The part to give first: a share, unless the dose is known well.
fn first_part(units: f64, relative_sd: f64, step: f64) -> f64 {
    let c = constants();
    let share = if relative_sd < c.sure_dose.value {
        1.0
    } else {
        c.first_share.value
    };
    let least = round_to(units, step).min(step);
    (steps(share * units, step).floor() * step).max(least)
}

fn round_to(units: f64, step: f64) -> f64 {
    steps(units, step).round() * step
}

/// In steps; a hair up, as 3 × 0.1 must not come out as two steps.
fn steps(units: f64, step: f64) -> f64 {
    units / step * (1.0 + 1e-9)
}

fn too_little(what: Remedy, asked: f64, step: f64, unit: Unit) -> Option<Note> {
    (asked < 3.0 * step).then(|| {
        let how = match unit {
            Unit::Millilitre => "thin it tenfold, acid into water, and measure that",
            Unit::Gram => "use a finer scale, or dissolve ten times as much and take a tenth",
        };
        Note::look(format!(
            "So little {} is measured badly: {how}.",
            what.name()
        ))
    })
}

fn caution(what: Remedy) -> Option<Caution> {
    match what {
        Remedy::Acid(_) => Some(Caution::Acid),
        Remedy::Salt(salt) => salt.caution,
        Remedy::AcidulatedMalt(_) => None,
    }
}

/// The dose in words.
fn said(dose: &Dose) -> String {
    let name = dose.what.name();
    let first = text(dose.first);
    let full = text(dose.full);
    let then = "stir, wait 5 min, read again.";
    if let Some(why) = &dose.limit {
        return format!(
            "Start with {first} of {name} (no more than {full} in all, of {} asked for), {then} It \
             brings the mash to {} only: {why}",
            text(dose.asked),
            dose.after_full.value
        );
    }
    if dose.first == dose.full {
        return format!("Give {full} of {name}, {then}");
    }
    let (least, most) = (text(dose.least), text(dose.most));
    format!("Start with {first} of {name} (about {full} in all, {least} to {most}), {then}")
}

fn text(amount: Amount) -> String {
    match amount {
        Amount::Mass(mass) if mass.g() >= 1000.0 => format!("{:.2} kg", mass.kg()),
        Amount::Mass(mass) => format!("{:.1} g", mass.g()),
        Amount::Volume(volume) => format!("{:.1} mL", 1000.0 * volume.l()),
    }
}
