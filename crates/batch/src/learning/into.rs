//! From what was learned to a plan: the changes of its document.

use quantity::{
    Duration, EvaporationRate, Fraction, Measured, Quantity, RelativeSpeed, Units, Volume,
    VolumePerMass, show_measured,
};

use super::constant::Constant;
use super::forget::Forget;
use super::house::{Known, losses};
use super::keys::Taken;
use crate::document::Document;
use crate::edit::{EditError, written_values};
use crate::liquor::minerals::Change;

/// A value that goes into a document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Into {
    /// Its key.
    pub key: String,
    /// What it is, in words.
    pub name: String,
    /// The value with its spread, as it is written.
    pub value: String,
    /// What stands there now; none where nothing does.
    pub now: Option<String>,
    /// From how many batches, or analyses.
    pub batches: u32,
    /// The day that it is for, where it changes with the season.
    pub day: Option<String>,
}

/// The values that a house has for a document: those of constants that have a key, and of
/// which at least one batch said something.
///
/// What is written is what the next batch is expected to be, with all that is open about
/// it: what is not known of the house, and how far its batches lie apart.
///
/// # Errors
/// [`EditError::NotToml`].
pub fn values(text: &str, of: &Document, known: &[Known]) -> Result<Vec<Into>, EditError> {
    let written = written_values(text)?;
    let mut into = Vec::new();
    for one in known.iter().filter(|k| k.batches() > 0) {
        let batches = one.batches();
        for (key, value) in keyed(of, one) {
            into.push(Into {
                key: key.to_owned(),
                name: words_of(key).to_owned(),
                value,
                now: written.get(key).cloned(),
                batches,
                day: None,
            });
        }
    }
    Ok(into)
}

/// The changes that put values into a document, and that say where they come from. What
/// stood there before it was first learned stays known.
#[must_use]
pub fn changes(text: &str, of: &Document, values: &[Into], forget: Forget) -> Vec<Change> {
    let mut changes: Vec<Change> = values.iter().map(|v| set(&v.key, &v.value)).collect();
    let mut taken = of.learning.taken.clone();
    for one in values {
        let before = match taken.iter().position(|t| t.key == one.key) {
            Some(place) => taken.remove(place).before,
            None => one.now.clone(),
        };
        taken.push(Taken {
            key: one.key.clone(),
            value: one.value.clone(),
            batches: one.batches,
            half_life: (forget != Forget::Never).then(|| forget.written()),
            day: one.day.clone(),
            before,
        });
    }
    if !values.is_empty() {
        changes.extend(told(text, &taken));
    }
    changes
}

/// The changes that take what was learned out again: each value is as it was before.
#[must_use]
pub fn taken_out(text: &str, of: &Document) -> Vec<Change> {
    let taken = &of.learning.taken;
    let back = taken.iter();
    let mut changes: Vec<Change> = back
        .map(|t| set(&t.key, t.before.as_deref().unwrap_or_default()))
        .collect();
    changes.extend(told(text, &[]));
    changes
}

fn set(path: &str, written: &str) -> Change {
    Change::Set {
        path: path.to_owned(),
        written: written.to_owned(),
    }
}

/// The list of what was learned in place of the one that is written.
fn told(text: &str, taken: &[Taken]) -> Vec<Change> {
    const LIST: &str = "learning.taken";
    let written = written_values(text).unwrap_or_default();
    let entry = |path: &&String| path.starts_with("learning.taken[") && path.ends_with("].key");
    let there = written.keys().filter(entry).count();
    let out = (0..there).map(|_| Change::Remove {
        path: format!("{LIST}[1]"),
    });
    let anew = taken.iter().map(|t| {
        let mut values = vec![
            ("key".to_owned(), t.key.clone()),
            ("value".to_owned(), t.value.clone()),
            ("batches".to_owned(), t.batches.to_string()),
        ];
        values.extend(
            t.half_life
                .iter()
                .map(|h| ("half_life".to_owned(), h.clone())),
        );
        values.extend(t.day.iter().map(|d| ("day".to_owned(), d.clone())));
        values.extend(t.before.iter().map(|b| ("before".to_owned(), b.clone())));
        Change::Add {
            list: LIST.to_owned(),
            values,
        }
    });
    out.chain(anew).collect()
}

/// A key of a constant in words.
fn words_of(key: &str) -> &'static str {
    match key {
        "kit.conversion" => "extract that the mash dissolves",
        "kit.absorption" => "wort that the grain keeps",
        "kit.tun_time_constant" => "time in which the tun cools by a factor e",
        "kit.evaporation" => "steam of the boil",
        "kit.kettle_loss" => "wort left in the kettle",
        "kit.transfer_loss" => "wort left in hoses and pump",
        "kit.hop_absorption" => "wort that hops keep",
        "yeast.attenuation" => "attenuation of the yeast",
        "yeast.speed" => "speed of the yeast",
        _ => "",
    }
}

fn keyed(of: &Document, known: &Known) -> Vec<(&'static str, String)> {
    fn text<Q: Quantity>((value, sd): (f64, f64)) -> String {
        let value = Q::from_canonical(value);
        show_measured(&Measured::with_sd(value, sd), Units::Metric)
    }
    let (value, sd) = known.next;
    let share = (value.min(1.0), sd);
    match known.constant {
        Constant::Conversion => vec![("kit.conversion", text::<Fraction>(share))],
        Constant::Absorption => vec![("kit.absorption", text::<VolumePerMass>((value, sd)))],
        Constant::Tun => vec![("kit.tun_time_constant", text::<Duration>((value, sd)))],
        Constant::Evaporation => vec![("kit.evaporation", text::<EvaporationRate>((value, sd)))],
        Constant::Losses => {
            let [kettle, transfer, hops] = losses(of).map(|(x, _)| (x * value, x * sd));
            vec![
                ("kit.kettle_loss", text::<Volume>(kettle)),
                ("kit.transfer_loss", text::<Volume>(transfer)),
                ("kit.hop_absorption", text::<VolumePerMass>(hops)),
            ]
        }
        Constant::Attenuation => vec![("yeast.attenuation", text::<Fraction>(share))],
        Constant::Speed => vec![("yeast.speed", text::<RelativeSpeed>((value, sd)))],
        Constant::IntoKettle | Constant::Off => Vec::new(),
    }
}
