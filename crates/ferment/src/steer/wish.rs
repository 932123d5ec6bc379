//! What is wished of a course.

use quantity::Duration;

use super::Range;
use crate::error::{FermentError, within, within_numbers};

/// A figure of a course.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Figure {
    /// Days from pitching to the end of the course.
    Days,
    /// Ethyl acetate \[mg/L\], which stands for the esters.
    EthylAcetate,
    /// Isoamyl acetate \[mg/L\]: banana.
    IsoamylAcetate,
    /// Isoamyl alcohol \[mg/L\], which stands for the fusel alcohols.
    IsoamylAlcohol,
    /// Diacetyl, with what is still to become it \[mg/L\]: butter.
    Diacetyl,
    /// 4-Vinylguaiacol \[mg/L\]: clove.
    Vinylguaiacol,
    /// Acetaldehyde \[mg/L\].
    Acetaldehyde,
    /// Share of what can ferment that is left \[%\].
    LeftToFerment,
    /// Apparent extract \[°P\]: dryness.
    Gravity,
}

/// Which way a figure is wished.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Goal {
    /// As little as can be.
    Least,
    /// As much as can be.
    Most,
}

/// A figure that is to be as little or as much as can be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Aim {
    /// Which.
    pub figure: Figure,
    /// Which way.
    pub goal: Goal,
    /// How much it matters beside the others.
    pub weight: f64,
}

/// A figure that must keep to one side of a value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit {
    /// Which.
    pub figure: Figure,
    /// The value, in the unit of the figure.
    pub value: f64,
    /// True for at most, false for at least.
    pub most: bool,
}

impl Limit {
    /// At most so much.
    #[must_use]
    pub const fn at_most(figure: Figure, value: f64) -> Self {
        Self {
            figure,
            value,
            most: true,
        }
    }

    /// At least so much.
    #[must_use]
    pub const fn at_least(figure: Figure, value: f64) -> Self {
        Self {
            figure,
            value,
            most: false,
        }
    }
}

/// What a course should do.
#[derive(Debug, Clone, PartialEq)]
pub struct Wish {
    /// What is to be as little or as much as can be; each is weighed by its share of
    /// what the plan has of it. Nothing: the days.
    pub aims: Vec<Aim>,
    /// What must be kept. Limits of the days stand in `end`.
    pub limits: Vec<Limit>,
    /// The soonest and the latest end of the course.
    pub end: (Duration, Duration),
    /// The temperatures that can be had.
    pub range: Range,
    /// The least and the most pitch, as factors on the planned one.
    pub pitch: (f64, f64),
    /// Since when the course is free; without it, from pitching on.
    pub from: Option<Duration>,
}

impl Wish {
    pub(super) fn check(&self) -> Result<(), FermentError> {
        self.range.check()?;
        let from_h = match self.from {
            Some(from) => within("moment that is now", from, 0.0, 4990.0)?.h(),
            None => 0.0,
        };
        within("end of the course", self.end.0, 1.0, 5000.0)?;
        within(
            "latest end of the course",
            self.end.1,
            self.end.0.h().max(from_h + 1.0),
            5000.0,
        )?;
        within_numbers("least factor of the pitch", self.pitch.0, 0.05, 20.0)?;
        within_numbers(
            "greatest factor of the pitch",
            self.pitch.1,
            self.pitch.0,
            20.0,
        )?;
        for limit in &self.limits {
            let least = if limit.figure == Figure::Gravity {
                -5.0
            } else {
                1e-6
            };
            within_numbers("limit", limit.value, least, 1e6)?;
        }
        for aim in &self.aims {
            within_numbers("weight of an aim", aim.weight, 1e-6, 1e6)?;
        }
        Ok(())
    }
}
