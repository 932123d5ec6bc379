//! The remedy of a cause put into a copy of the batch, and the risk before and after.

use inquiry::Knowledge;
use quantity::{Duration, Quantity, Temperature, Units, show};

use super::facts::facts;
use crate::document::{Aeration, SpargeKind, TreatmentSection, Way};
use crate::edit::{remove_entry, set_value, written_values};
use crate::pitch::percent_words;
use crate::{Document, Reckoning};

/// A copy of a batch with one remedy in it.
#[derive(Debug, Clone)]
pub struct NextBatch {
    /// The document, without what was found in the batch before.
    pub text: String,
    /// What is changed, in words.
    pub changed: Vec<String>,
    /// Chance of the cause in the batch as it was brewed, before anything is tasted \[–\].
    pub before: f64,
    /// The same for the copy \[–\].
    pub after: f64,
}

/// The remedy of a cause as changes of the document; none where the document has no key
/// for it, or where it would change nothing.
#[must_use]
pub fn next_batch(text: &str, r: &Reckoning, cause: &str, units: Units) -> Option<NextBatch> {
    let at = Knowledge::built_in().cause(cause).ok()?;
    let mut copy = without_findings(text)?;
    for (path, written) in edits(r, cause)? {
        copy = set_value(&copy, &path, &written).ok()?;
    }
    let name = format!("{}, next", r.document.batch.name);
    copy = set_value(&copy, "batch.name", &name).ok()?;
    let (document, assumptions) = Document::read(&copy).ok()?;
    let next = Reckoning::of(document, assumptions).ok()?;
    let risk = |r: &Reckoning| Some(facts(r).network().ok()?.causes[at].prior);
    let (before, after) = (risk(r)?, risk(&next)?);
    Some(NextBatch {
        text: copy,
        changed: changed(r, &next, cause, units),
        before,
        after,
    })
}

fn without_findings(text: &str) -> Option<String> {
    let mut copy = text.to_owned();
    for list in ["finding", "test"] {
        let first = format!("{list}[1]");
        while written_values(&copy)
            .ok()?
            .keys()
            .any(|k| k.starts_with(&first))
        {
            copy = remove_entry(&copy, &first).ok()?;
        }
    }
    for key in [
        "inquiry.tried",
        "inquiry.gone",
        "inquiry.sound",
        "inquiry.after",
        "inquiry.mends",
    ] {
        if written_values(&copy).ok()?.contains_key(key) {
            copy = set_value(&copy, key, "").ok()?;
        }
    }
    Some(copy)
}

type Edits = Vec<(String, String)>;

fn edits(r: &Reckoning, cause: &str) -> Option<Edits> {
    let d = &r.document;
    let one = |changes: bool, path: &str, written: String| {
        changes.then(|| vec![(path.to_owned(), written)])
    };
    match cause {
        "chloramine-in-water" | "chlorine-in-water" => reagent(&d.water.treatment),
        "under-pitched" => {
            let more = r.fermentation.pitch.packets_to_buy?;
            let packets = d.yeast.packets + f64::from(more);
            one(more > 0, "yeast.packets", packets.to_string())
        }
        "under-oxygenated" => one(
            d.fermentation.aeration != Aeration::Oxygen,
            "fermentation.aeration",
            "oxygen".to_owned(),
        ),
        "too-warm" | "phenolic-yeast" => cooler(d),
        "diketone-left" | "green-beer" => longer(d),
        "short-boil" => one(
            d.boil.time.value.min() < LONG_BOIL.min(),
            "boil.time",
            written(LONG_BOIL),
        ),
        "slow-chilling" => one(
            d.boil.whirlpool.value.min() > 0.0,
            "boil.whirlpool",
            "0 min".to_owned(),
        ),
        "unfermentable-wort" => milder_mash(d),
        "over-sparged" => one(
            d.mash.sparge != SpargeKind::None
                && d.mash.sparge_temperature.value.c() > COOL_SPARGE.c(),
            "mash.sparge_temperature",
            written(COOL_SPARGE),
        ),
        _ => None,
    }
}

/// What the remedies of the tables come to in a document (judgement within the ranges
/// that the remedies name).
const LONG_BOIL: Duration = Duration::from_min(90.0);
const COOL_SPARGE: Temperature = Temperature::from_c(75.0);
const MILD_MASH: Temperature = Temperature::from_c(66.0);
const LONGER: Duration = Duration::from_h(96.0);

fn written<Q: Quantity>(value: Q) -> String {
    show(value, Units::Metric)
}

/// Metabisulfite matched to what is in the water; none where that is done already.
fn reagent(now: &TreatmentSection) -> Option<Edits> {
    const REAGENT: &str = "potassium metabisulfite";
    let matched = now.dose.is_none() && now.tablets.is_none();
    if now.way == Way::Reagent && now.reagent.as_deref() == Some(REAGENT) && matched {
        return None;
    }
    let edits = [
        ("water.treatment.way", "reagent"),
        ("water.treatment.reagent", REAGENT),
        ("water.treatment.dose", ""),
        ("water.treatment.tablets", ""),
        ("water.treatment.tablet_mass", ""),
    ]
    .map(|(path, written)| (path.to_owned(), written.to_owned()));
    Some(edits.to_vec())
}

/// Points of the course above what the strain likes brought down to it.
fn cooler(d: &Document) -> Option<Edits> {
    let high = ferment::strain(&d.yeast.class).ok()?.ideal.high;
    let points = d.fermentation.course.iter().enumerate();
    let warm = points.filter(|(_, p)| p.temperature.value.c() > high.c());
    let edits: Edits = warm
        .map(|(i, _)| {
            (
                format!("fermentation.course[{}].temperature", i + 1),
                written(high),
            )
        })
        .collect();
    (!edits.is_empty()).then_some(edits)
}

/// Four days more at the end of the course.
fn longer(d: &Document) -> Option<Edits> {
    let last = d.fermentation.course.len();
    let end = d.fermentation.course.last()?.at.value;
    let written = format!("{:.0} h", end.h() + LONGER.h());
    Some(vec![(format!("fermentation.course[{last}].at"), written)])
}

/// Rests above the range of beta-amylase brought down to it.
fn milder_mash(d: &Document) -> Option<Edits> {
    let rests = d.mash.rests.iter().enumerate();
    let hot = rests.filter(|(_, rest)| (68.0..=74.0).contains(&rest.temperature.value.c()));
    let edits: Edits = hot
        .map(|(i, _)| {
            (
                format!("mash.rest[{}].temperature", i + 1),
                written(MILD_MASH),
            )
        })
        .collect();
    (!edits.is_empty()).then_some(edits)
}

fn changed(r: &Reckoning, next: &Reckoning, cause: &str, units: Units) -> Vec<String> {
    match cause {
        "chloramine-in-water" | "chlorine-in-water" => {
            let dose = next.water.dechlorination.dose.as_ref();
            let volume = show(next.volumes.total_water, units);
            dose.map(|d| {
                format!(
                    "{} of potassium metabisulfite into {volume} of water",
                    show(d.total, units)
                )
            })
            .into_iter()
            .collect()
        }
        "under-pitched" => vec![format!(
            "{} packets: {} of the cells needed, in place of {}",
            next.document.yeast.packets,
            percent_words(next.fermentation.pitch.ratio),
            percent_words(r.fermentation.pitch.ratio)
        )],
        "under-oxygenated" => vec![format!(
            "oxygen through a stone: {} dissolved, in place of {}",
            show(next.fermentation.oxygen.dissolved, units),
            show(r.fermentation.oxygen.dissolved, units)
        )],
        "too-warm" | "phenolic-yeast" => {
            vec!["the course kept within what the strain likes".to_owned()]
        }
        "diketone-left" | "green-beer" => vec!["four days more on the yeast at the end".to_owned()],
        "short-boil" | "slow-chilling" => {
            let how = if cause == "short-boil" {
                format!("boiled for {}", show(LONG_BOIL, units))
            } else {
                "chilled at once".to_owned()
            };
            let sulfide = |r: &Reckoning| show(r.boil.wort.traces.dms, units);
            let (now, then) = (sulfide(r), sulfide(next));
            vec![if now == then {
                how
            } else {
                format!("{how}: {then} of dimethyl sulfide in the wort, in place of {now}")
            }]
        }
        "unfermentable-wort" => vec![format!("mashed at {}", show(MILD_MASH, units))],
        _ => vec![format!("sparged at {}", show(COOL_SPARGE, units))],
    }
}
