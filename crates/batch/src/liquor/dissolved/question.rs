//! The question as a person writes it.

use std::str::FromStr;

use quantity::{Alkalinity, Ph, Quantity, QuantityError, Temperature};
use water::acids::AcidProduct;

use super::doses::AcidAim;
use super::waters::Which;
use crate::document::{Document, Into};
use crate::liquor::Wrong;
use crate::stream::Reckoning;

/// What is asked beside the document. Text that is empty takes the usual.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Question {
    /// "tap", "mash", "sparge", or the name of a source; the tap.
    pub of: String,
    /// How hot it is made; the temperature of the strike.
    pub temperature: String,
    /// With which acid; that of the batch's sparge, or lactic.
    pub acid: String,
    /// The pH or the alkalinity that it is brought to; what the aim says of the
    /// sparge, or the middle of what practice takes.
    pub to: String,
    /// How much water; what the batch has of it.
    pub volume: String,
    /// Slaked lime in a litre; the middle of what practice doses.
    pub lime: String,
}

/// Where sparge liquor stands by common practice.
pub const SPARGE_PH: (Ph, Ph) = (Ph::from_ph(5.5), Ph::from_ph(6.0));
/// The middle of it, rounded towards less acid.
const SPARGE: Ph = Ph::from_ph(5.8);
const LACTIC: &str = "lactic acid 80 %";

impl Question {
    /// The question with everything that is usually taken written out.
    #[must_use]
    pub fn filled(&self, r: &Reckoning) -> Self {
        let or = |written: &str, usual: String| {
            if written.trim().is_empty() {
                usual
            } else {
                written.to_owned()
            }
        };
        let of = which(&self.of, r, &mut vec![]);
        Self {
            of: or(&self.of, of.key()),
            temperature: self.temperature.clone(),
            acid: or(&self.acid, usual_acid(&r.document)),
            to: or(&self.to, usual_aim(&r.document).to_string()),
            volume: or(&self.volume, of.volume(r).to_string()),
            lime: self.lime.clone(),
        }
    }
}

fn usual_acid(document: &Document) -> String {
    let into_sparge = |acid: &&crate::document::AcidEntry| acid.into == Into::Sparge;
    let acids = &document.water.acids;
    let planned = acids.iter().find(into_sparge).or(acids.first());
    planned.map_or_else(|| LACTIC.to_owned(), |acid| acid.acid.clone())
}

fn usual_aim(document: &Document) -> AcidAim {
    let aim = document.aim.as_ref().and_then(|aim| aim.sparge_alkalinity);
    aim.map_or(AcidAim::Ph(SPARGE), |most| AcidAim::Alkalinity(most.value))
}

pub(super) fn which(written: &str, r: &Reckoning, wrong: &mut Vec<Wrong>) -> Which {
    let written = written.trim();
    if written.is_empty() {
        return Which::Tap;
    }
    let choices = Which::all(r);
    let is = |which: &Which| {
        which.key().eq_ignore_ascii_case(written) || which.name(r).eq_ignore_ascii_case(written)
    };
    choices.iter().copied().find(is).unwrap_or_else(|| {
        let known: Vec<String> = choices.iter().map(|which| which.key()).collect();
        tell(
            wrong,
            "of",
            format!(
                "there is no water {written:?} in this batch; write one of {}",
                known.join(", ")
            ),
        );
        Which::Tap
    })
}

pub(super) fn temperature(written: &str, wrong: &mut Vec<Wrong>) -> Option<Temperature> {
    let read: Temperature = quantity("temperature", written, wrong)?;
    if (0.0..=100.0).contains(&read.c()) {
        return Some(read);
    }
    let message = format!("{read} is no temperature of water; 0 to 100 °C can be reckoned");
    tell(wrong, "temperature", message);
    None
}

pub(super) fn acid(
    question: &Question,
    r: &Reckoning,
    wrong: &mut Vec<Wrong>,
) -> Option<&'static AcidProduct> {
    let written = question.filled(r).acid;
    match AcidProduct::named(written.trim()) {
        Ok(product) => Some(product),
        Err(error) => {
            tell(wrong, "acid", error.to_string());
            None
        }
    }
}

/// A bare number is a pH; an alkalinity has its unit and basis.
pub(super) fn aim(question: &Question, r: &Reckoning, wrong: &mut Vec<Wrong>) -> Option<AcidAim> {
    let written = question.to.trim();
    if written.is_empty() {
        return Some(usual_aim(&r.document));
    }
    let number = written.trim_start_matches("pH").trim();
    if let Ok(ph) = Ph::from_str(number) {
        return Some(AcidAim::Ph(ph));
    }
    match Alkalinity::from_str(written) {
        Ok(alkalinity) => Some(AcidAim::Alkalinity(alkalinity)),
        Err(_) => {
            let message = format!(
                "{written:?} is neither a pH nor an alkalinity; write it such as 5.6 or \
                 \"25 mg/L as CaCO3\""
            );
            tell(wrong, "to", message);
            None
        }
    }
}

/// A quantity; none where nothing is said or it cannot be read.
pub(super) fn quantity<Q: Quantity + FromStr<Err = QuantityError>>(
    field: &str,
    written: &str,
    wrong: &mut Vec<Wrong>,
) -> Option<Q> {
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

pub(super) fn tell(wrong: &mut Vec<Wrong>, field: &str, message: String) {
    wrong.push(Wrong {
        field: field.to_owned(),
        message,
    });
}
