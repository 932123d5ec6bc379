//! A reading as a person writes it beside the document.

use std::str::FromStr;

use quantity::{Duration, Mass, Measured, Ph, QuantityError, Temperature, Volume};
use water::Amount;
use water::mash_reading::{Addition, Compensation, Reading, Remedy};

use super::{COOLED, SETTLED, remedy};
use crate::liquor::Wrong;

/// A reading in words. Text that is empty takes the usual: a cooled sample, a quarter
/// of an hour after mashing in, a meter that compensates.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Typed {
    /// What the meter shows.
    pub ph: String,
    /// Temperature of the sample.
    pub temperature: String,
    /// How long after mashing in.
    pub after: String,
    /// What a meter without compensation is set to.
    pub set_to: String,
    /// What went in since the reading before.
    pub added: Vec<TypedAddition>,
}

/// Something given to the mash, in words.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct TypedAddition {
    /// An acid, a salt, or acidulated malt.
    pub what: String,
    /// How much: a volume or a mass.
    pub amount: String,
}

impl Typed {
    /// The reading.
    ///
    /// # Errors
    /// Everything that is wrong in it, field by field.
    pub fn read(&self) -> Result<Reading, Vec<Wrong>> {
        let mut wrong = vec![];
        let ph: Option<Measured<Ph>> = if self.ph.trim().is_empty() {
            tell(
                &mut wrong,
                "ph",
                "what the meter shows is missing; write it such as 5.62".to_owned(),
            );
            None
        } else {
            value("ph", &self.ph, &mut wrong)
        };
        let sample: Option<Temperature> = value("temperature", &self.temperature, &mut wrong);
        let after: Option<Duration> = value("after", &self.after, &mut wrong);
        let set_to: Option<Temperature> = value("set_to", &self.set_to, &mut wrong);
        let added: Vec<Addition> = self
            .added
            .iter()
            .filter_map(|typed| typed.read(&mut wrong))
            .collect();
        match ph {
            Some(ph) if wrong.is_empty() => Ok(Reading {
                ph,
                sample: sample.unwrap_or(COOLED),
                compensation: set_to.map_or(Compensation::Automatic, Compensation::FixedAt),
                after_mash_in: after.unwrap_or(SETTLED),
                added,
            }),
            _ => Err(wrong),
        }
    }
}

impl FromStr for TypedAddition {
    type Err = Wrong;

    /// Reads "lactic acid 80 % = 2 mL".
    fn from_str(text: &str) -> Result<Self, Wrong> {
        match text.rsplit_once('=') {
            Some((what, amount)) => Ok(Self {
                what: what.trim().to_owned(),
                amount: amount.trim().to_owned(),
            }),
            None => Err(Wrong {
                field: "added".to_owned(),
                message: format!(
                    "{text:?} says no amount; write it such as \"lactic acid 80 % = 2 mL\""
                ),
            }),
        }
    }
}

impl TypedAddition {
    fn read(&self, wrong: &mut Vec<Wrong>) -> Option<Addition> {
        let what = match remedy(&self.what) {
            Ok(what) => what,
            Err(error) => {
                tell(wrong, "added", error.to_string());
                return None;
            }
        };
        let amount = amount(what, &self.amount, wrong)?;
        Some(Addition { what, amount })
    }
}

/// A volume of what is liquid, a mass of anything.
fn amount(what: Remedy, written: &str, wrong: &mut Vec<Wrong>) -> Option<Amount> {
    let liquid = matches!(what, Remedy::Acid(product) if product.density_g_per_ml.is_some());
    let volume = written.trim().parse::<Volume>().ok().filter(|_| liquid);
    let mass = written.trim().parse::<Mass>();
    match (volume, mass) {
        (Some(volume), _) => Some(Amount::Volume(volume)),
        (None, Ok(mass)) => Some(Amount::Mass(mass)),
        (None, Err(_)) => {
            let usual = if liquid { "2 mL" } else { "3 g" };
            let message = format!(
                "{written:?} is no amount of {}; write it such as {usual}",
                what.name()
            );
            tell(wrong, "added", message);
            None
        }
    }
}

/// A value; none where nothing is said or it cannot be read.
fn value<T: FromStr<Err = QuantityError>>(
    field: &str,
    written: &str,
    wrong: &mut Vec<Wrong>,
) -> Option<T> {
    let written = written.trim();
    if written.is_empty() {
        return None;
    }
    match written.parse() {
        Ok(value) => Some(value),
        Err(error) => {
            tell(wrong, field, error.to_string());
            None
        }
    }
}

fn tell(wrong: &mut Vec<Wrong>, field: &str, message: String) {
    wrong.push(Wrong {
        field: field.to_owned(),
        message,
    });
}
