//! The pitch of a batch: cells needed and at hand, ways to close the gap, oxygen, and
//! what fewer cells or a warm start would do.
//!
//! ```
//! use batch::{Document, Reckoning};
//! let text = include_str!("../../../../examples/lantern-pale.toml");
//! let (document, assumptions) = Document::read(text).map_err(|faults| faults[0].to_string())?;
//! let reckoning = Reckoning::of(document, assumptions).map_err(|fault| fault.to_string())?;
//! let pitching = reckoning.pitching().map_err(|error| error.to_string())?;
//! assert!(pitching.ways.ways[0].reaches());
//! assert!(pitching.need.range.0 < pitching.need.cells);
//! # Ok::<(), String>(())
//! ```

mod keys;
mod typed;
mod words;

use ferment::{
    Aeration, CellNeed, FermentError, OxygenWay, PitchAim, PitchCase, PitchReport, PitchTarget,
    Rehydration, Starter, StarterWish, Stirring, Strain, WaysToPitch, WholeStarter, Yeast,
    cell_need, oxygen_wanted, oxygen_ways, pitch, pitch_cases, pitch_target, rehydration,
    ways_to_pitch, whole_starter,
};
use quantity::{Altitude, Bitterness, Caution, Gravity, MassConcentration, Temperature, Volume};

use crate::document::YeastSection;
use crate::plan::{STARTER_PLATO, ferment_plan};
use crate::stream::Reckoning;

pub use keys::{DYES, SQUARES, WAYS, YeastCount};
pub(crate) use keys::{aim, count, refuse_at_odds, steps, whole};
pub use typed::{TypedPitch, TypedWish, starter_entries};
pub use words::{
    ahead_words, comes_to_words, effect_words, oxygen_words, percent_words, rehydration_words,
    step_uses, step_words, way_words, when_words, whole_words,
};

/// Oxygen that splashing and air bring into usual wort \[mg/L\], short of saturation
/// (judgement).
const FROM_AIR_MG_PER_L: f64 = 6.0;

/// A wort that is to be pitched, and the yeast for it.
#[derive(Debug, Clone)]
pub struct PitchQuestion {
    /// The yeast's kind.
    pub strain: Strain,
    /// The rate to aim at.
    pub target: PitchTarget,
    /// The yeast at hand.
    pub yeast: Yeast,
    /// A starter of it, as planned.
    pub starter: Option<Starter>,
    /// Original gravity.
    pub gravity: Gravity,
    /// Wort.
    pub volume: Volume,
    /// Bitterness of the beer.
    pub bitterness: Bitterness,
    /// Temperature of the wort.
    pub temperature: Temperature,
    /// Height above the sea.
    pub altitude: Altitude,
    /// What a starter may be.
    pub wish: StarterWish,
}

/// The pitch of a wort.
#[derive(Debug, Clone)]
pub struct Pitching {
    /// The question.
    pub question: PitchQuestion,
    /// Cells needed, with the range that would do.
    pub need: CellNeed,
    /// Cells at hand.
    pub report: PitchReport,
    /// Ways to have enough.
    pub ways: WaysToPitch,
    /// How dry yeast is wetted, where it is dry.
    pub rehydration: Option<Rehydration>,
    /// What the liquid of the planned starter does, where it goes in.
    pub whole: Option<WholeStarter>,
    /// The least and the most oxygen that is wanted.
    pub oxygen_wanted: (MassConcentration, MassConcentration),
    /// What the ways to get oxygen in are reckoned to.
    pub oxygen_aim: MassConcentration,
    /// Ways to get oxygen in.
    pub oxygen: Vec<OxygenWay>,
    /// The same batch started otherwise; none without a batch.
    pub cases: Vec<PitchCase>,
    /// What can hurt.
    pub cautions: Vec<Caution>,
}

/// A starter as it is usually made: still, of 9 °P, poured off.
#[must_use]
pub fn usual_wish() -> StarterWish {
    StarterWish {
        stirring: Stirring::Still,
        gravity: Gravity::from_plato(STARTER_PLATO),
        vessel: None,
        whole: false,
    }
}

impl Pitching {
    /// Answers a question.
    ///
    /// # Errors
    /// [`FermentError`] for amounts that cannot be, or yeast that is dead.
    pub fn of(question: PitchQuestion) -> Result<Self, FermentError> {
        let starter = question.starter.as_ref();
        let whole = whole_of(&question);
        // A starter that goes in with its liquid is part of what is pitched.
        let (gravity, volume) = whole
            .as_ref()
            .map_or((question.gravity, question.volume), |w| {
                (w.gravity, w.volume)
            });
        let need = cell_need(&question.target, gravity, volume)?;
        let report = pitch(
            &question.yeast,
            starter,
            question.target.rate,
            gravity,
            volume,
        )?;
        let ways = ways_to_pitch(&report, &question.yeast, volume, &question.wish)?;
        let bottom = question.strain.is_bottom_fermenting();
        let dry = matches!(question.yeast, Yeast::Dry { .. });
        let wanted = oxygen_wanted(gravity, bottom, dry && starter.is_none());
        let oxygen_aim = oxygen_aim(wanted);
        let at = question.temperature;
        let oxygen = oxygen_ways(oxygen_aim, at, gravity, question.altitude)?;
        let cautions = cautions(&ways, &oxygen, &report);
        Ok(Self {
            rehydration: dry.then(|| rehydration(report.dry_mass, bottom)),
            need,
            report,
            ways,
            whole,
            oxygen_wanted: wanted,
            oxygen_aim,
            oxygen,
            cases: Vec::new(),
            cautions,
            question,
        })
    }
}

/// What the liquid of a planned starter does, where it goes in.
fn whole_of(q: &PitchQuestion) -> Option<WholeStarter> {
    let starter = q.starter.as_ref().filter(|s| s.whole)?;
    let last = starter.steps.last()?;
    Some(whole_starter(last, q.gravity, q.volume, q.bitterness))
}

/// The middle of what is wanted; where none is needed, what air can give.
fn oxygen_aim((low, high): (MassConcentration, MassConcentration)) -> MassConcentration {
    let least = if low.mg_per_l() > 0.0 {
        low.mg_per_l()
    } else {
        FROM_AIR_MG_PER_L
    };
    MassConcentration::from_mg_per_l(0.5 * (least + high.mg_per_l().max(least)))
}

fn cautions(ways: &WaysToPitch, oxygen: &[OxygenWay], report: &PitchReport) -> Vec<Caution> {
    let of_ways = ways.ways.iter().flat_map(|w| w.cautions.iter());
    let of_oxygen = oxygen.iter().flat_map(|w| w.cautions.iter());
    let mut all: Vec<Caution> = of_ways
        .chain(of_oxygen)
        .chain(&report.cautions)
        .copied()
        .collect();
    all.sort_unstable();
    all.dedup();
    all
}

impl Reckoning {
    /// The pitch of this batch, with a starter of the usual kind among the ways.
    ///
    /// # Errors
    /// As [`Pitching::of`].
    pub fn pitching(&self) -> Result<Pitching, FermentError> {
        self.pitching_with(usual_wish())
    }

    /// The pitch of this batch with a starter as wished among the ways.
    ///
    /// # Errors
    /// As [`Pitching::of`].
    pub fn pitching_with(&self, wish: StarterWish) -> Result<Pitching, FermentError> {
        let wort = &self.boil.wort;
        let plan = ferment_plan(&self.document, wort)?;
        let question = PitchQuestion {
            target: target(&plan.strain, &self.document.yeast),
            yeast: plan.yeast,
            starter: plan.starter.clone(),
            gravity: wort.gravity,
            volume: wort.volume,
            bitterness: wort.bitterness,
            temperature: wort.temperature,
            altitude: plan.altitude,
            wish,
            strain: plan.strain.clone(),
        };
        let mut pitching = Pitching::of(question)?;
        pitching.cases = pitch_cases(&plan, wort)?;
        if matches!(plan.aeration, Aeration::Oxygen { .. }) {
            pitching.cautions.push(Caution::Oxygen);
            pitching.cautions.sort_unstable();
            pitching.cautions.dedup();
        }
        Ok(pitching)
    }
}

/// The rate that is given, or that of the aim.
fn target(strain: &Strain, section: &YeastSection) -> PitchTarget {
    let target = pitch_target(strain, section.aim.unwrap_or_default());
    let Some(rate) = section.pitch_rate else {
        return target;
    };
    let (low, high) = target.range;
    PitchTarget {
        rate: rate.value,
        range: (least(low, rate.value), most(high, rate.value)),
        about: "the rate that was given",
        aim: PitchAim::Usual,
        ..target
    }
}

fn least<Q: PartialOrd>(a: Q, b: Q) -> Q {
    if b < a { b } else { a }
}

fn most<Q: PartialOrd>(a: Q, b: Q) -> Q {
    if b > a { b } else { a }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Document;

    const PALE: &str = include_str!("../../../../examples/lantern-pale.toml");

    fn reckoned(text: &str) -> Reckoning {
        let (document, assumptions) = Document::read(text).unwrap();
        Reckoning::of(document, assumptions).unwrap()
    }

    #[test]
    fn the_pitch_is_that_of_the_fermentation() {
        let starter = "form = \"liquid\"\ncells = \"100 billion cells\"\naim = \"clean\"\n";
        let step = "\n[[yeast.step]]\nvolume = \"2 L\"\nway = \"stirred\"\n\n[fermentation]";
        let grown =
            PALE.replacen("form = \"dry\"\n", starter, 1)
                .replacen("[fermentation]", step, 1);
        let whole = grown.replacen("aim =", "starter_liquid = \"pitched\"\naim =", 1);
        for text in [PALE, &grown, &whole] {
            let r = reckoned(text);
            let pitching = r.pitching().unwrap();
            assert_eq!(pitching.report, r.fermentation.pitch);
            assert_eq!(pitching.whole.is_some(), text == whole);
            assert_eq!(pitching.cases.len(), 5);
        }
        // 0.65 is usual for the class, 0.75 its upper end.
        let rate = |text: &str| reckoned(text).fermentation.pitch.needed.billions();
        assert!((rate(&grown) / rate(PALE) - 0.75 / 0.65).abs() < 1e-9);
    }
}
