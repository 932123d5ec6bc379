//! What a person plans for a fermentation.

use quantity::{Altitude, Duration, PitchRate, Temperature};

use crate::error::{FermentError, within, within_numbers};
use crate::oxygen::Aeration;
use crate::starter::Starter;
use crate::stock::Yeast;
use crate::strains::Strain;
use crate::temperature::{CoursePoint, TemperatureCourse};

/// The habits of a yeast in one brewery, learned from its batches.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Habits {
    /// Factor on the speed of growth and fermentation; 1 is the class's.
    pub speed: f64,
    /// Lag at the reference temperature of the class, where it is known better.
    pub lag: Option<Duration>,
}

impl Default for Habits {
    fn default() -> Self {
        Self {
            speed: 1.0,
            lag: None,
        }
    }
}

/// A fermentation as planned.
#[derive(Debug, Clone, PartialEq)]
pub struct FermentPlan {
    /// The yeast's kind.
    pub strain: Strain,
    /// The yeast at hand.
    pub yeast: Yeast,
    /// A starter made of it.
    pub starter: Option<Starter>,
    /// Pitching rate aimed at; without one, the strain's usual.
    pub pitch_rate: Option<PitchRate>,
    /// Temperature of the wort at pitching.
    pub pitch_temperature: Temperature,
    /// Time from the end of chilling to pitching.
    pub pitched_after: Duration,
    /// Temperatures from pitching on, in straight lines from the pitching
    /// temperature to each point in turn; the last is held.
    pub course: Vec<CoursePoint>,
    /// How oxygen gets in.
    pub aeration: Aeration,
    /// Height above the sea.
    pub altitude: Altitude,
    /// Time from pitching until the beer is taken off.
    pub length: Duration,
    /// Habits of the yeast in this brewery.
    pub habits: Habits,
}

impl FermentPlan {
    /// The temperature of the beer over time.
    ///
    /// # Errors
    /// As [`TemperatureCourse::new`]; an empty course is refused.
    pub fn temperatures(&self) -> Result<TemperatureCourse, FermentError> {
        if self.course.is_empty() {
            return Err(FermentError::EmptyCourse);
        }
        let pitching = CoursePoint {
            at: Duration::from_h(0.0),
            temperature: within("pitching temperature", self.pitch_temperature, -2.0, 50.0)?,
        };
        let mut points = vec![pitching];
        points.extend_from_slice(&self.course);
        TemperatureCourse::new(&points)
    }

    pub(crate) fn check(&self) -> Result<(), FermentError> {
        within("length of the fermentation", self.length, 1.0, 5000.0)?;
        within(
            "time from chilling to pitching",
            self.pitched_after,
            0.0,
            500.0,
        )?;
        within_numbers("speed of the yeast", self.habits.speed, 0.05, 20.0)?;
        if let Some(lag) = self.habits.lag {
            within("lag", lag, 0.0, 500.0)?;
        }
        Ok(())
    }
}
