//! What was written in a document, and which of it the file tells.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

use batch::edit::written_values;
use serde_json::{Value, json};

use crate::report::{Fate, Remark};
use crate::units::number;

/// The keys of a document, and those that were taken.
pub(super) struct Job {
    written: BTreeMap<String, String>,
    taken: RefCell<BTreeSet<String>>,
    remarks: RefCell<Vec<Remark>>,
}

impl Job {
    pub(super) fn of(text: &str) -> Self {
        Self {
            written: written_values(text).unwrap_or_default(),
            taken: RefCell::default(),
            remarks: RefCell::default(),
        }
    }

    /// Whether a key is written; it is told by the file then.
    pub(super) fn take(&self, path: &str) -> bool {
        self.written.contains_key(path) && {
            self.taken.borrow_mut().insert(path.to_owned());
            true
        }
    }

    /// Whether a key is written.
    pub(super) fn has(&self, path: &str) -> bool {
        self.written.contains_key(path)
    }

    /// What stands at a key in another form.
    pub(super) fn changed(&self, path: &str, why: &str, taken: &str) {
        self.say(path, Fate::Changed, why, taken);
    }

    /// What the standard asks for and the document does not say.
    pub(super) fn missing(&self, path: &str, why: &str, taken: &str) {
        self.say(path, Fate::Missing, why, taken);
    }

    fn say(&self, path: &str, fate: Fate, why: &str, taken: &str) {
        self.remarks.borrow_mut().push(Remark {
            at: path.to_owned(),
            found: self.written.get(path).cloned().unwrap_or_default(),
            fate,
            why: why.to_owned(),
            taken: taken.to_owned(),
        });
    }

    /// A time; the standard has whole numbers of some unit.
    pub(super) fn time(&self, path: &str, hours: f64) -> Value {
        let seconds = hours * 3600.0;
        if (seconds - seconds.round()).abs() > 1e-6 {
            self.changed(
                path,
                "the standard counts whole seconds",
                &format!("{} s", seconds.round()),
            );
        }
        time(hours)
    }

    /// The remarks, those on spreads, and one for each key that was not taken.
    pub(super) fn into_remarks(self) -> Vec<Remark> {
        let mut remarks = self.remarks.into_inner();
        let taken = self.taken.into_inner();
        for (path, written) in self.written {
            let told = taken.contains(&path);
            let spread = ["±", "+-", "+/-"].iter().any(|sign| written.contains(sign));
            if told && !spread {
                continue;
            }
            let (fate, why) = if told {
                (
                    Fate::Changed,
                    "the standard has no spread: the value goes without it",
                )
            } else {
                (Fate::Left, no_place(&path))
            };
            remarks.push(Remark {
                at: path,
                found: written,
                fate,
                why: why.to_owned(),
                taken: String::new(),
            });
        }
        remarks
    }
}

/// Why a key has no place; where it can hurt, what the reader of the file is not told.
fn no_place(path: &str) -> &'static str {
    if path.starts_with("water.treatment") {
        "the standard has no chlorine: whoever brews from the file is not told to take it out"
    } else if path.starts_with("package.bottle") || path == "package.stamped" {
        "the standard has no strength of a bottle or keg: whoever packs from the file must see to it"
    } else if path.starts_with("cleaning") {
        "the standard has no cleaning"
    } else if path.starts_with("water.source") {
        "the standard has no such figure of a water: whoever brews from the file does not see it"
    } else {
        "the standard has no place for it"
    }
}

/// A number with a unit of the standard.
pub(super) fn measured(unit: &str, value: f64) -> Value {
    json!({ "unit": unit, "value": number(value) })
}

/// A time in the largest unit that makes it whole.
pub(super) fn time(hours: f64) -> Value {
    const UNITS: [(&str, f64); 3] = [("day", 86_400.0), ("hr", 3600.0), ("min", 60.0)];
    let seconds = (hours * 3600.0).round();
    let whole = |per: f64| seconds % per == 0.0;
    let found = UNITS.iter().find(|(unit, per)| {
        // An hour of a mash is 60 minutes, and a day of a course no 24 hours.
        whole(*per) && (*unit == "min" || seconds >= 3.0 * per || (*unit == "day" && seconds > 0.0))
    });
    let (unit, value) = found.map_or(("sec", seconds), |(unit, per)| (*unit, seconds / per));
    #[expect(clippy::cast_possible_truncation, reason = "whole, and far below what an i64 holds")]
    let value = value as i64;
    json!({ "unit": unit, "value": value })
}
