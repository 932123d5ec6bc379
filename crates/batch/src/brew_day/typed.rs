//! A reading as a person writes it beside the document.

use std::str::FromStr;

use quantity::{Duration, Measured, QuantityError, Temperature, Volume};
use wort::correct::{Point, Reading};

use super::keys::{PLACES, point};
use crate::liquor::Wrong;

/// A reading in words.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct TypedReading {
    /// Where on the day.
    pub at: String,
    /// During the boil: how long after it began.
    pub after: String,
    /// Volume as read.
    pub volume: String,
    /// How warm that wort is.
    pub volume_at: String,
    /// Gravity as the hydrometer shows it.
    pub gravity: String,
    /// How warm the sample is; empty, 20 °C.
    pub gravity_at: String,
}

impl TypedReading {
    /// The places that can be named.
    #[must_use]
    pub fn places() -> &'static [&'static str] {
        &PLACES
    }

    /// Where on the day, or what is wrong with it.
    ///
    /// # Errors
    /// In the field "at" or "after".
    pub fn point(&self) -> Result<Point, Vec<Wrong>> {
        let mut wrong = vec![];
        let after: Option<Measured<Duration>> = value("after", &self.after, &mut wrong);
        let at = self.at.trim();
        if at == "boil" && after.is_none() && wrong.is_empty() {
            tell(
                &mut wrong,
                "after",
                "say how long after the boil began, such as 30 min",
            );
        } else if !PLACES.contains(&at) {
            let message = format!(
                "{at:?} is no place of the day; one of: {}",
                PLACES.join(", ")
            );
            tell(&mut wrong, "at", &message);
        }
        match point(at, after.map(|t| t.value)) {
            Some(point) if wrong.is_empty() => Ok(point),
            _ => Err(wrong),
        }
    }

    /// The reading; none where neither volume nor gravity is given.
    ///
    /// # Errors
    /// Everything that is wrong in it, field by field.
    pub fn read(&self) -> Result<Option<Reading>, Vec<Wrong>> {
        let (at, mut wrong) = match self.point() {
            Ok(at) => (Some(at), vec![]),
            Err(wrong) => (None, wrong),
        };
        let volume: Option<Measured<Volume>> = value("volume", &self.volume, &mut wrong);
        let volume_at: Option<Measured<Temperature>> =
            value("volume_at", &self.volume_at, &mut wrong);
        let gravity = value("gravity", &self.gravity, &mut wrong);
        let gravity_at = value("gravity_at", &self.gravity_at, &mut wrong);
        if volume.is_some() && self.volume_at.trim().is_empty() {
            tell(
                &mut wrong,
                "volume_at",
                "say how warm the wort is, such as 95 °C: it shrinks by 4 % from the boil to 20 °C",
            );
        }
        match at {
            Some(at) if wrong.is_empty() => {
                let any = volume.is_some() || gravity.is_some();
                Ok(any.then(|| Reading {
                    at,
                    volume,
                    volume_at: volume_at.map_or(Temperature::from_c(20.0), |t| t.value),
                    gravity,
                    gravity_at: gravity_at.unwrap_or(Measured::exactly(Temperature::from_c(20.0))),
                }))
            }
            _ => Err(wrong),
        }
    }

    /// The same as an entry of `brew_day.reading`.
    #[must_use]
    pub fn entry(&self) -> Vec<(String, String)> {
        [
            ("at", &self.at),
            ("after", &self.after),
            ("volume", &self.volume),
            ("volume_at", &self.volume_at),
            ("gravity", &self.gravity),
            ("gravity_at", &self.gravity_at),
        ]
        .into_iter()
        .filter(|(key, text)| {
            let idle = match *key {
                "after" => self.at.trim() != "boil",
                "volume_at" => self.volume.trim().is_empty(),
                "gravity_at" => self.gravity.trim().is_empty(),
                _ => false,
            };
            !idle && !text.trim().is_empty()
        })
        .map(|(key, text)| (key.to_owned(), text.trim().to_owned()))
        .collect()
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
            tell(wrong, field, &error.to_string());
            None
        }
    }
}

fn tell(wrong: &mut Vec<Wrong>, field: &str, message: &str) {
    wrong.push(Wrong {
        field: field.to_owned(),
        message: message.to_owned(),
    });
}
