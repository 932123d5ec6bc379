//! Advice in words.

use quantity::{Units, show};
use water::Amount;
use water::mash_reading::{Action, Dose};

use super::IfItReads;

/// What to do.
#[must_use]
pub fn action_words(action: &Action) -> String {
    match action {
        Action::Nothing => "nothing: it stands within the aim".to_owned(),
        Action::Wait { wait } => {
            format!("wait {:.0} min, stir, then read again", wait.min().ceil())
        }
        Action::Read => "read a cooled sample before anything is added".to_owned(),
        Action::Lower => "lower it".to_owned(),
        Action::Raise => "raise it".to_owned(),
        Action::OutOfReach { why } => why.clone(),
    }
}

/// What to add for a reading, as a table has room for it.
#[must_use]
pub fn dose_words(line: &IfItReads, units: Units) -> String {
    match (&line.dose, &line.action) {
        (Some(dose), _) => dosed(dose, units),
        (None, Action::Nothing) => "add nothing".to_owned(),
        (None, Action::Read) => "add nothing, read once more".to_owned(),
        (None, other) => action_words(other),
    }
}

fn dosed(dose: &Dose, units: Units) -> String {
    let amount = |amount: Amount| match amount {
        Amount::Mass(mass) => show(mass, units),
        Amount::Volume(volume) => show(volume, units),
    };
    let (first, full, what) = (amount(dose.first), amount(dose.full), dose.what.name());
    if first == full {
        format!("add {full} of {what}")
    } else {
        format!("add {first} of {what}, read again; about {full} in all")
    }
}
