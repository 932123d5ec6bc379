//! A meter in the mash: what its reading means, what to add, and what it teaches.
//!
//! A reading is brought to the pH of a cooled sample and set against the predicted
//! band. Malt, model and meter are all uncertain, so what is learned is a posterior
//! of all of them together: where the mash stands, how strongly its grist buffers,
//! and how far the grist lies off its figures, which the next batch takes over.

mod belief;
mod cooled;
mod dose;
mod stage;

use std::collections::BTreeSet;

use quantity::{
    Buffering, Caution, Duration, Mass, Measured, Note, Ph, PhShift, Temperature,
    TitratableAcidity, Volume,
};

use crate::acids::{AcidProduct, products};
use crate::check;
use crate::error::WaterError;
use crate::mash_ph::{AcidMalt, MaltAcidity, MashLiquor, MashPhSpread, Tun, constants, mash_ph_in};
use crate::salts::Salt;
use crate::state::Ions;
use crate::treatment::{Amount, TreatedWater};

use belief::Belief;
use stage::{Stage, Stages};

pub use cooled::as_cooled;
pub use dose::Dose;

/// A mash as it was mashed in.
#[derive(Debug, Clone, PartialEq)]
pub struct Mash {
    /// Its malts.
    pub malts: Vec<MaltAcidity>,
    /// Acidulated malt in it.
    pub acid_malts: Vec<AcidMalt>,
    /// Its liquor, acids kept apart.
    pub liquor: MashLiquor,
    /// The ions of that liquor.
    pub ions: Ions,
    /// Beer that is to come of it, over which tastes are counted.
    pub beer: Volume,
    /// Open or closed.
    pub tun: Tun,
}

impl Mash {
    /// The mash of a treated water.
    ///
    /// # Errors
    /// [`WaterError::DoNotUse`] for a water that must not be brewed with.
    pub fn of(
        water: &TreatedWater,
        malts: Vec<MaltAcidity>,
        acid_malts: Vec<AcidMalt>,
        beer: Volume,
        tun: Tun,
    ) -> Result<Self, WaterError> {
        water.tap.verdict.allow_advice(&water.tap.water.name)?;
        Ok(Self {
            malts,
            acid_malts,
            liquor: water.mash_liquor.clone(),
            ions: water.mash.ions,
            beer,
            tun,
        })
    }
}

/// What a meter makes of the temperature of a sample.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Compensation {
    /// It measures the temperature and allows for the electrode's slope, or was set
    /// to it by hand. That corrects the electrode alone: hot mash truly has a lower
    /// pH than cooled mash.
    Automatic,
    /// It takes every sample to have this temperature.
    FixedAt(Temperature),
}

/// A reading of the mash.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// What the meter showed; its spread is that of the meter's calibration.
    pub ph: Measured<Ph>,
    /// The temperature of the sample while it was read.
    pub sample: Temperature,
    /// What the meter makes of that temperature.
    pub compensation: Compensation,
    /// How long after mashing in.
    pub after_mash_in: Duration,
    /// What went into the mash since the reading before, or since mashing in.
    pub added: Vec<Addition>,
}

/// Something that moves the pH of a mash.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Remedy {
    /// An acid.
    Acid(&'static AcidProduct),
    /// Acidulated malt, with its acid.
    AcidulatedMalt(Measured<TitratableAcidity>),
    /// A salt or base.
    Salt(&'static Salt),
}

impl Remedy {
    /// What it is called.
    #[must_use]
    pub fn name(&self) -> &str {
        match self {
            Self::Acid(product) => &product.name,
            Self::AcidulatedMalt(_) => "acidulated malt",
            Self::Salt(salt) => &salt.name,
        }
    }
}

/// Something given to a mash.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Addition {
    /// What.
    pub what: Remedy,
    /// How much.
    pub amount: Amount,
}

/// Something in the cupboard.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stocked {
    /// What.
    pub what: Remedy,
    /// How much of it there is; none where it is enough.
    pub most: Option<Amount>,
}

/// What is at hand, and how finely it can be measured.
#[derive(Debug, Clone, PartialEq)]
pub struct AtHand {
    /// What there is.
    pub remedies: Vec<Stocked>,
    /// The least that the scale shows.
    pub scale: Mass,
    /// The least that the syringe or cylinder shows.
    pub measure: Volume,
}

impl AtHand {
    /// Enough of everything that is usual: all acids, acidulated malt, gypsum,
    /// calcium chloride, baking soda and lime; 0.1 g and 0.1 mL.
    ///
    /// # Errors
    /// None with the tables that are built in.
    pub fn usual() -> Result<Self, WaterError> {
        let acids = products().iter().map(Remedy::Acid);
        let salts = [
            "gypsum",
            "calcium chloride dihydrate",
            "baking soda",
            "slaked lime",
        ];
        let malt = Remedy::AcidulatedMalt(AcidMalt::unmeasured(Mass::default()).acidity);
        let mut remedies: Vec<Remedy> = acids.chain([malt]).collect();
        for name in salts {
            remedies.push(Remedy::Salt(Salt::named(name)?));
        }
        Ok(Self {
            remedies: remedies
                .into_iter()
                .map(|what| Stocked { what, most: None })
                .collect(),
            scale: Mass::from_g(0.1),
            measure: Volume::from_l(1e-4),
        })
    }
}

/// What the mash is to read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MashAim {
    /// The pH of a cooled sample.
    pub ph: Ph,
    /// How far off it does no harm.
    pub within: PhShift,
}

impl MashAim {
    /// The middle of the preferred range, as wide as that range.
    #[must_use]
    pub fn preferred() -> Self {
        let c = constants();
        let (low, high) = (c.preferred_low.value, c.preferred_high.value);
        Self {
            ph: Ph::from_ph(f64::midpoint(low, high)),
            within: PhShift::from_ph((high - low) / 2.0),
        }
    }
}

/// A reading brought to a cooled sample.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cooled {
    /// What a cooled sample would read, with all that is not known of it.
    pub ph: Measured<Ph>,
    /// By how much the reading was moved.
    pub moved: PhShift,
    /// Whether it counts: one taken too early does not.
    pub counts: bool,
}

/// What to do now.
#[derive(Debug, Clone, PartialEq)]
pub enum Action {
    /// Nothing: it stands within the aim.
    Nothing,
    /// Wait, then read: the mash or the last addition has not settled.
    Wait {
        /// For so long.
        wait: Duration,
    },
    /// Read first, or once more: what is known does not carry a dose.
    Read,
    /// Lower it with one of the [`Advice::ways`].
    Lower,
    /// Raise it with one of the [`Advice::ways`].
    Raise,
    /// Nothing at hand brings it there.
    OutOfReach {
        /// Why, a sentence.
        why: String,
    },
}

/// What the readings taught of the grist.
#[derive(Debug, Clone, PartialEq)]
pub struct Learned {
    /// The distilled-water pH of the grist against what its figures said, what the
    /// model misses included: add it to the malts' pH in the next batch.
    pub offset: Measured<PhShift>,
    /// The buffering of the grist.
    pub buffering: Measured<Buffering>,
    /// What was thought of that buffering before.
    pub buffering_before: Measured<Buffering>,
    /// Each malt with the figures that the next batch should take, in the order
    /// given. What the model misses is not in them.
    pub malts: Vec<MaltAcidity>,
}

/// What a reading of the mash comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct Advice {
    /// Each reading as a cooled sample.
    pub cooled: Vec<Cooled>,
    /// What was predicted for the mash as it was mashed in.
    pub predicted: Measured<Ph>,
    /// Where the spread of the prediction comes from.
    pub spread: MashPhSpread,
    /// Where the mash stands now: prediction and readings together.
    pub ph: Measured<Ph>,
    /// What to do.
    pub action: Action,
    /// The ways of doing it, those that reach the aim first. Each is one by itself.
    pub ways: Vec<Dose>,
    /// Whether the readings can be believed: none lies six standard deviations or more
    /// from what was expected.
    pub credible: bool,
    /// What the readings taught.
    pub learned: Learned,
    /// Remarks.
    pub notes: Vec<Note>,
    /// What can hurt someone.
    pub cautions: Vec<Caution>,
}

/// Says what the readings of a mash mean and what to do.
///
/// Model: the pH of the balance of [`mash_ph_in`] plus what the model misses. Each
/// malt's distilled-water pH and buffering, the doubt common to all buffering, the
/// acid of acidulated malt and the miss of the model are unknown with the spreads of
/// the prediction; so are the meter's calibration, common to all readings, and the
/// fall of mash pH with temperature, 0.006 ± 0.001 per K (from memory). The posterior
/// is that of Gauss and Newton (linearised at the most probable values, which is
/// iterated). A second reading after an addition tells the buffering, because the
/// calibration cancels in the difference.
///
/// Nothing is dosed on readings that lie six standard deviations or more from what was
/// expected: a meter that is off is then far likelier than the mash.
///
/// A dose is what the most probable values ask for, its interval two standard
/// deviations; two thirds of it are advised first, all of it once buffering is known
/// to a tenth.
///
/// ```
/// use quantity::*;
/// use water::mash_ph::{MaltAcidity, MashLiquor, Tun};
/// use water::mash_reading::*;
/// let mash = Mash {
///     malts: vec![MaltAcidity {
///         mass: "5 kg".parse()?,
///         ph_di: "5.75 ± 0.07".parse()?,
///         buffer: "40 ± 6 mEq/(kg pH)".parse()?,
///     }],
///     acid_malts: vec![],
///     liquor: MashLiquor {
///         volume: "16 L".parse()?,
///         alkalinity: "2 mEq/L".parse()?,
///         calcium: "60 mg/L".parse()?,
///         magnesium: "8 mg/L".parse()?,
///         acids: vec![],
///     },
///     ions: water::Ions::default(),
///     beer: "20 L".parse()?,
///     tun: Tun::Open,
/// };
/// let reading = Reading {
///     ph: "5.52 ± 0.03".parse()?,
///     sample: "64 °C".parse()?,
///     compensation: Compensation::Automatic,
///     after_mash_in: "12 min".parse()?,
///     added: vec![],
/// };
/// let aim = MashAim { ph: "5.4".parse()?, within: PhShift::from_ph(0.05) };
/// let advice = advise(&mash, &[reading], aim, &AtHand::usual()?)?;
/// assert_eq!(advice.action, Action::Lower);
/// let lactic = advice.ways.iter().find(|w| w.what.name() == "lactic acid 80 %").unwrap();
/// assert!(lactic.reaches && lactic.text.contains("stir"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// [`WaterError::OutOfBounds`] for figures that cannot be, readings outside pH 3 to 9
/// among them; those of [`mash_ph_in`].
pub fn advise(
    mash: &Mash,
    readings: &[Reading],
    aim: MashAim,
    at_hand: &AtHand,
) -> Result<Advice, WaterError> {
    check_given(mash, readings, aim, at_hand)?;
    let prediction = mash_ph_in(mash.tun, &mash.malts, &mash.acid_malts, &mash.liquor)?;
    let stages = Stages::of(mash, readings)?;
    let settled = cooled::settled(readings);
    let belief = Belief::after(mash, readings, &settled, &stages)?;
    let now = stages.now();
    let ph = belief.ph(now)?;
    let cooled: Vec<Cooled> = readings
        .iter()
        .zip(&settled)
        .map(|(reading, counts)| cooled::cooled(reading, *counts))
        .collect();
    let mut notes = cooled::notes(readings);
    let (action, ways) = match wait(readings, &settled) {
        Some(action) => (action, vec![]),
        None => decide(&belief, now, ph, aim, at_hand)?,
    };
    notes.extend(action_note(&action, ph, aim));
    notes.extend(belief.surprise());
    let learned = belief.learned();
    if settled.contains(&true) && !belief.is_not_to_be_believed() {
        notes.push(learned_note(&learned));
    }
    Ok(Advice {
        predicted: prediction.ph,
        spread: prediction.spread,
        cautions: cautions(&ways, readings),
        cooled,
        ph,
        action,
        ways,
        credible: !belief.is_not_to_be_believed(),
        learned,
        notes,
    })
}

/// Whether there is something to wait for, or to read, before anything is decided.
fn wait(readings: &[Reading], settled: &[bool]) -> Option<Action> {
    match (readings.last(), settled.last()) {
        (Some(last), Some(false)) => Some(Action::Wait {
            wait: cooled::left_to_settle(readings, last),
        }),
        (Some(_), _) => None,
        (None, _) => Some(Action::Read),
    }
}

fn decide(
    belief: &Belief<'_>,
    now: &Stage,
    ph: Measured<Ph>,
    aim: MashAim,
    at_hand: &AtHand,
) -> Result<(Action, Vec<Dose>), WaterError> {
    let off = ph.value.ph() - aim.ph.ph();
    if off.abs() <= aim.within.ph() {
        return Ok((Action::Nothing, vec![]));
    }
    if off.abs() < ph.sd() || belief.is_not_to_be_believed() {
        return Ok((Action::Read, vec![]));
    }
    let ways = dose::ways(belief, now, aim, at_hand)?;
    let action = if ways.iter().any(|way| way.reaches) {
        if off > 0.0 {
            Action::Lower
        } else {
            Action::Raise
        }
    } else {
        Action::OutOfReach {
            why: out_of_reach(&ways, aim, off > 0.0),
        }
    };
    Ok((action, ways))
}

fn out_of_reach(ways: &[Dose], aim: MashAim, lower: bool) -> String {
    let which = if lower { "lowers" } else { "raises" };
    let missed = |way: &Dose| (way.after_full.value.ph() - aim.ph.ph()).abs();
    let best = ways.iter().min_by(|a, b| missed(a).total_cmp(&missed(b)));
    match best {
        None => format!("Nothing at hand {which} the pH of a mash."),
        Some(best) => format!(
            "Nothing at hand {which} it so far; {} comes nearest, to {}: {}",
            best.what.name(),
            best.after_full.value,
            best.limit.as_deref().unwrap_or("there is not enough.")
        ),
    }
}

fn action_note(action: &Action, ph: Measured<Ph>, aim: MashAim) -> Option<Note> {
    let stands = format!(
        "The mash stands at {:.2} ± {:.2} (two standard deviations)",
        ph.value.ph(),
        2.0 * ph.sd()
    );
    let aimed = format!("{} ± {}", aim.ph, aim.within);
    match action {
        Action::Nothing => Some(Note::fine(format!(
            "{stands}, within the aim of {aimed}: leave it."
        ))),
        Action::Wait { wait } => Some(Note::look(format!(
            "Too early: wait {:.0} min, stir, and read again. This reading is not counted.",
            wait.min().ceil()
        ))),
        Action::Read => Some(Note::look(format!(
            "{stands}, which is not known well enough to dose for {aimed}: read a cooled sample \
             before anything is added."
        ))),
        Action::Lower | Action::Raise => Some(Note::look(format!(
            "{stands}, aimed at {aimed}. Take one of the ways, not several."
        ))),
        Action::OutOfReach { why } => Some(Note::act(format!("{stands}, aimed at {aimed}. {why}"))),
    }
}

fn learned_note(learned: &Learned) -> Note {
    let (offset, before, after) = (
        &learned.offset,
        &learned.buffering_before,
        &learned.buffering,
    );
    Note::fine(format!(
        "For the next batch: this grist's distilled-water pH lies {:+.2} ± {:.2} from its figures, \
         and its buffering is {:.0} ± {:.0} mEq/(kg pH), thought to be {:.0} ± {:.0} before (each \
         ± two standard deviations).",
        offset.value.ph(),
        2.0 * offset.sd(),
        after.value.meq_per_kg_ph(),
        2.0 * after.sd(),
        before.value.meq_per_kg_ph(),
        2.0 * before.sd(),
    ))
}

fn cautions(ways: &[Dose], readings: &[Reading]) -> Vec<Caution> {
    let added = readings.iter().flat_map(|r| &r.added).map(|a| a.what);
    let all: BTreeSet<Caution> = ways
        .iter()
        .map(|way| way.what)
        .chain(added)
        .filter_map(|what| match what {
            Remedy::Acid(_) => Some(Caution::Acid),
            Remedy::Salt(salt) => salt.caution,
            Remedy::AcidulatedMalt(_) => None,
        })
        .chain([Caution::HotLiquor])
        .collect();
    all.into_iter().collect()
}

fn check_given(
    mash: &Mash,
    readings: &[Reading],
    aim: MashAim,
    at_hand: &AtHand,
) -> Result<(), WaterError> {
    check::above_zero("beer that is to come of the mash", mash.beer)?;
    check::ions("mash liquor", &mash.ions)?;
    check::within("mash pH aimed at", aim.ph)?;
    check::above_zero("tolerance of the mash pH", aim.within)?;
    check::above_zero("least that the scale shows", at_hand.scale)?;
    check::above_zero("least that the measure shows", at_hand.measure)?;
    for stocked in &at_hand.remedies {
        if let Remedy::AcidulatedMalt(acidity) = &stocked.what {
            check::measured("acidity of acidulated malt", acidity)?;
        }
    }
    readings.iter().try_for_each(cooled::check)
}

#[cfg(test)]
mod tests;
