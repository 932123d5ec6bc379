//! From a design back to changes of the document.

use quantity::{Fraction, Mass, Measured, Quantity};
use water::Liquor;
use water::acids::{AcidAmount, AcidDose};
use water::salts::SaltDose;

use super::Found;
use super::pretreated::Left;
use super::question::{DISTILLED, MALT};
use crate::document::{AcidEntry, Into, SaltEntry};
use crate::edit::{EditError, add_entry, remove_entry, set_value};
use crate::stream::Reckoning;

/// A change of a document: what an edit is before anyone makes it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Change {
    /// A value; empty takes the key out.
    Set {
        /// Such as `water.salt[1].amount`.
        path: String,
        /// The value as written.
        written: String,
    },
    /// An entry of a list taken out.
    Remove {
        /// Such as `water.acid[2]`.
        path: String,
    },
    /// A new entry of a list.
    Add {
        /// Such as `water.salt`.
        list: String,
        /// Keys and values.
        values: Vec<(String, String)>,
    },
}

/// The text with changes made, in their order.
///
/// # Errors
/// [`EditError`] where one leads nowhere.
pub fn apply(text: &str, changes: &[Change]) -> Result<String, EditError> {
    changes
        .iter()
        .try_fold(text.to_owned(), |text, change| match change {
            Change::Set { path, written } => set_value(&text, path, written),
            Change::Remove { path } => remove_entry(&text, path),
            Change::Add { list, values } => {
                let values: Vec<(&str, &str)> = values
                    .iter()
                    .map(|(key, value)| (key.as_str(), value.as_str()))
                    .collect();
                add_entry(&text, list, &values)
            }
        })
}

/// What makes a document that of the design: its salts, acids, shares, acidulated
/// malt where that is at hand, and the analysis of a water that is boiled or limed
/// first. What is right already stays as it is written.
#[must_use]
pub fn changes(r: &Reckoning, found: &Found) -> Vec<Change> {
    let mut made = Made::default();
    sources(r, found, &mut made);
    salts(&r.document.water.salts, found, &mut made);
    acids(&r.document.water.acids, found, &mut made);
    if found.asked.task.acid_malt.is_some() {
        acid_malt(r, found, &mut made);
    }
    made.all()
}

/// Changes in an order in which no place in a list shifts under another.
#[derive(Default)]
struct Made {
    sets: Vec<Change>,
    removes: Vec<Change>,
    adds: Vec<Change>,
}

impl Made {
    fn set(&mut self, path: String, written: impl std::convert::Into<String>) {
        let written = written.into();
        self.sets.push(Change::Set { path, written });
    }

    /// Takes entries out, counted from nought in the order of the document.
    fn remove(&mut self, list: &str, places: impl DoubleEndedIterator<Item = usize>) {
        let path = |place: usize| format!("{list}[{}]", place + 1);
        let removes = places
            .rev()
            .map(|place| Change::Remove { path: path(place) });
        self.removes.extend(removes);
    }

    fn add(&mut self, list: &str, values: &[(&str, String)]) {
        let values = values
            .iter()
            .map(|(key, value)| ((*key).to_owned(), value.clone()));
        self.adds.push(Change::Add {
            list: list.to_owned(),
            values: values.collect(),
        });
    }

    fn all(self) -> Vec<Change> {
        self.sets
            .into_iter()
            .chain(self.removes)
            .chain(self.adds)
            .collect()
    }
}

const fn into_word(liquor: Liquor) -> &'static str {
    match liquor {
        Liquor::Mash => "mash",
        Liquor::Sparge => "sparge",
    }
}

const fn same_liquor(into: Into, liquor: Liquor) -> bool {
    matches!(
        (into, liquor),
        (Into::Mash, Liquor::Mash) | (Into::Sparge, Liquor::Sparge)
    )
}

/// The dose that each entry keeps, of all that are wanted; and the doses that no
/// entry has yet.
fn paired<'d, E, D>(
    entries: &[E],
    doses: &'d [D],
    same: impl Fn(&E, &D) -> bool,
) -> (Vec<Option<&'d D>>, Vec<&'d D>) {
    let mut left: Vec<&D> = doses.iter().collect();
    let kept = entries
        .iter()
        .map(|entry| {
            let at = left.iter().position(|dose| same(entry, dose))?;
            Some(left.remove(at))
        })
        .collect();
    (kept, left)
}

fn salts(entries: &[SaltEntry], found: &Found, made: &mut Made) {
    const LIST: &str = "water.salt";
    let doses: Vec<SaltDose> = found
        .design
        .salts()
        .filter(|d| d.mass.g() > 0.0)
        .copied()
        .collect();
    let (kept, new) = paired(entries, &doses, |entry, dose| {
        entry.salt == dose.salt.name && same_liquor(entry.into, dose.into)
    });
    for (at, (entry, dose)) in entries.iter().zip(&kept).enumerate() {
        if let Some(dose) = dose
            && differs(entry.amount.value, dose.mass)
        {
            made.set(format!("{LIST}[{}].amount", at + 1), grams(dose.mass));
        }
    }
    made.remove(LIST, empty(&kept));
    for dose in new {
        made.add(
            LIST,
            &[
                ("salt", dose.salt.name.clone()),
                ("amount", grams(dose.mass)),
                ("into", into_word(dose.into).to_owned()),
            ],
        );
    }
}

fn acids(entries: &[AcidEntry], found: &Found, made: &mut Made) {
    const LIST: &str = "water.acid";
    let given = |dose: &&AcidDose| match dose.amount {
        AcidAmount::Volume(volume) => volume.l() > 0.0,
        AcidAmount::Mass(mass) => mass.g() > 0.0,
    };
    let doses: Vec<AcidDose> = found.design.acids().filter(given).copied().collect();
    let (kept, new) = paired(entries, &doses, |entry, dose| {
        entry.acid == dose.product.name && same_liquor(entry.into, dose.into)
    });
    for (at, (entry, dose)) in entries.iter().zip(&kept).enumerate() {
        let Some(dose) = dose else { continue };
        let at = format!("{LIST}[{}]", at + 1);
        let (key, written, other) = amount(dose);
        let same = match dose.amount {
            AcidAmount::Volume(v) => entry.volume.is_some_and(|e| !differs(e.value, v)),
            AcidAmount::Mass(m) => {
                entry.volume.is_none() && entry.mass.is_some_and(|e| !differs(e.value, m))
            }
        };
        if !same {
            made.set(format!("{at}.{key}"), written);
            made.set(format!("{at}.{other}"), "");
        }
    }
    made.remove(LIST, empty(&kept));
    for dose in new {
        let (key, written, _) = amount(dose);
        made.add(
            LIST,
            &[
                ("acid", dose.product.name.clone()),
                (key, written),
                ("into", into_word(dose.into).to_owned()),
            ],
        );
    }
}

/// The key of an amount, the amount, and the key that it stands in place of.
fn amount(dose: &AcidDose) -> (&'static str, String, &'static str) {
    match dose.amount {
        AcidAmount::Volume(volume) => (
            "volume",
            format!("{} mL", trimmed(1000.0 * volume.l())),
            "mass",
        ),
        AcidAmount::Mass(mass) => ("mass", grams(mass), "volume"),
    }
}

fn acid_malt(r: &Reckoning, found: &Found, made: &mut Made) {
    const LIST: &str = "grist";
    let mass = found
        .design
        .acid_malt
        .map(|malt| malt.mass)
        .filter(|m| m.g() > 0.0);
    let entries: Vec<usize> = (0..r.document.grist.len())
        .filter(|at| r.document.grist[*at].class == MALT)
        .collect();
    match (mass, entries.split_first()) {
        (Some(mass), Some((first, others))) => {
            if differs(r.document.grist[*first].amount.value, mass) {
                made.set(format!("{LIST}[{}].amount", first + 1), grams(mass));
            }
            made.remove(LIST, others.iter().copied());
        }
        (Some(mass), None) => {
            made.add(LIST, &[("class", MALT.to_owned()), ("amount", grams(mass))]);
        }
        (None, _) => made.remove(LIST, entries.into_iter()),
    }
}

/// Shares as found, and what a water is after it was boiled or limed.
fn sources(r: &Reckoning, found: &Found, made: &mut Made) {
    const LIST: &str = "water.source";
    let entries = &r.document.water.sources;
    let shares = shares(found, entries.len());
    for (at, entry) in entries.iter().enumerate() {
        let planned = entry.share.map_or(1.0, |share| share.value.ratio());
        if (planned - shares[at].ratio()).abs() > 5e-5 {
            made.set(format!("{LIST}[{}].share", at + 1), percent(shares[at]));
        }
        let Some(ready) = found.pretreated().find(|p| p.source == at) else {
            continue;
        };
        let key = |key: &str| format!("{LIST}[{}].{key}", at + 1);
        let Left {
            calcium,
            magnesium,
            alkalinity,
        } = ready.left;
        made.set(key("name"), format!("{}, {}", entry.name, ready.how));
        made.set(key("calcium"), with_sd(calcium, "mg/L"));
        made.set(key("magnesium"), with_sd(magnesium, "mg/L"));
        made.set(key("alkalinity"), with_sd(alkalinity, "mEq/L"));
        made.set(key("ph"), "");
    }
    let distilled = shares.get(entries.len()).copied();
    if let Some(share) = distilled.filter(|share| share.ratio() > 0.0) {
        let mut values = distilled_source();
        values.insert(1, ("share".to_owned(), percent(share)));
        made.adds.push(Change::Add {
            list: LIST.to_owned(),
            values,
        });
    }
}

/// Water with nothing in it, as a source without a share; its name first.
#[must_use]
pub fn distilled_source() -> Vec<(String, String)> {
    let nothing = |key| (key, "0 mg/L");
    let figures = [
        ("name", DISTILLED),
        ("kind", "distilled"),
        nothing("calcium"),
        nothing("magnesium"),
        nothing("sodium"),
        nothing("potassium"),
        ("alkalinity", "0 mEq/L"),
        nothing("chloride"),
        nothing("sulfate"),
        nothing("nitrate"),
        nothing("total_chlorine"),
    ];
    let owned = figures.map(|(key, value)| (key.to_owned(), value.to_owned()));
    owned.to_vec()
}

/// The share of each source of the task; the largest takes what rounding leaves.
fn shares(found: &Found, entries: usize) -> Vec<Fraction> {
    let mut hundredths = vec![0i64; found.asked.task.sources.len().max(entries)];
    let parts = found.design.liquors.iter().flat_map(|l| &l.blend);
    let parts: Vec<(usize, f64)> = parts.map(|part| (part.source, part.volume.l())).collect();
    let all: f64 = parts.iter().map(|(_, litres)| litres).sum();
    for (source, hundredth) in hundredths.iter_mut().enumerate() {
        let of_it = parts.iter().filter(|(s, _)| *s == source);
        let litres: f64 = of_it.map(|(_, litres)| litres).sum();
        if all > 0.0 {
            // A share has two decimals of a per cent.
            #[expect(clippy::cast_possible_truncation, reason = "between 0 and 10 000")]
            let rounded = (1e4 * litres / all).round() as i64;
            *hundredth = rounded;
        }
    }
    let left = 10_000 - hundredths.iter().sum::<i64>();
    if let Some(largest) = hundredths.iter_mut().max() {
        *largest += left;
    }
    #[expect(clippy::cast_precision_loss, reason = "at most 10 000")]
    let ratio = |hundredths: i64| Fraction::from_ratio(hundredths as f64 / 1e4);
    hundredths.into_iter().map(ratio).collect()
}

/// The places without a dose.
fn empty<D>(kept: &[Option<D>]) -> impl DoubleEndedIterator<Item = usize> {
    let places: Vec<usize> = (0..kept.len()).filter(|at| kept[*at].is_none()).collect();
    places.into_iter()
}

fn differs<Q: Quantity>(a: Q, b: Q) -> bool {
    (a.canonical() - b.canonical()).abs() > 1e-9
}

fn grams(mass: Mass) -> String {
    format!("{} g", trimmed(mass.g()))
}

fn percent(share: Fraction) -> String {
    format!("{} %", trimmed(100.0 * share.ratio()))
}

/// A level with its spread, where it has one that two decimals show.
fn with_sd<Q: Quantity>(level: Measured<Q>, unit: &str) -> String {
    let sd = trimmed((100.0 * level.sd()).round() / 100.0);
    let level = trimmed(level.canonical());
    if sd == "0" {
        return format!("{level} {unit}");
    }
    format!("{level} ± {sd} {unit}")
}

/// Three decimals without the noughts behind them.
fn trimmed(x: f64) -> String {
    let digits = format!("{x:.3}");
    let short = digits.trim_end_matches('0').trim_end_matches('.');
    short.to_owned()
}
