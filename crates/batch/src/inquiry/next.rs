//! The remedy of a cause put into a copy of the batch, and the risk before and after.

use inquiry::Knowledge;
use quantity::{Units, show};

use super::facts::facts;
use crate::edit::{remove_entry, set_value, written_values};
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
    for key in ["inquiry.tried", "inquiry.gone"] {
        if written_values(&copy).ok()?.contains_key(key) {
            copy = set_value(&copy, key, "").ok()?;
        }
    }
    Some(copy)
}

type Edits = Vec<(String, String)>;

fn edits(r: &Reckoning, cause: &str) -> Option<Edits> {
    let d = &r.document;
    let one = |path: &str, written: &str| vec![(path.to_owned(), written.to_owned())];
    let edits = match cause {
        "chloramine-in-water" | "chlorine-in-water" => reagent(),
        "under-pitched" => one(
            "yeast.packets",
            &r.fermentation.pitch.packets_to_buy?.to_string(),
        ),
        "under-oxygenated" => one("fermentation.aeration", "oxygen"),
        "too-warm" | "phenolic-yeast" => cooler(d)?,
        "diketone-left" | "green-beer" => longer(d)?,
        "short-boil" => one("boil.time", "90 min"),
        "slow-chilling" => one("boil.whirlpool", "0 min"),
        "unfermentable-wort" => milder_mash(d)?,
        "over-sparged" => one("mash.sparge_temperature", "75 °C"),
        _ => return None,
    };
    Some(edits)
}

/// Metabisulfite matched to what is in the water.
fn reagent() -> Edits {
    [
        ("water.treatment.way", "reagent"),
        ("water.treatment.reagent", "potassium metabisulfite"),
        ("water.treatment.dose", ""),
        ("water.treatment.tablets", ""),
        ("water.treatment.tablet_mass", ""),
    ]
    .map(|(path, written)| (path.to_owned(), written.to_owned()))
    .to_vec()
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
                format!("{:.1} °C", high.c()),
            )
        })
        .collect();
    (!edits.is_empty()).then_some(edits)
}

/// Four days more at the end of the course.
fn longer(d: &Document) -> Option<Edits> {
    let last = d.fermentation.course.len();
    let end = d.fermentation.course.last()?.at.value;
    let written = format!("{:.0} h", end.min() / 60.0 + 96.0);
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
                "66 °C".to_owned(),
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
            share(next.fermentation.pitch.ratio),
            share(r.fermentation.pitch.ratio)
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
                "boiled for 90 min"
            } else {
                "chilled at once"
            };
            let sulfide = |r: &Reckoning| show(r.boil.wort.traces.dms, units);
            let (now, then) = (sulfide(r), sulfide(next));
            vec![if now == then {
                how.to_owned()
            } else {
                format!("{how}: {then} of dimethyl sulfide in the wort, in place of {now}")
            }]
        }
        "unfermentable-wort" => vec!["mashed at 66 °C".to_owned()],
        _ => vec!["sparged at 75 °C".to_owned()],
    }
}

fn share(ratio: f64) -> String {
    format!("{:.0} %", 100.0 * ratio)
}
