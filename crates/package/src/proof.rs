//! What may still ferment in the closed package, and what proves it.

use ferment::GreenBeer;
use quantity::{Duration, Gravity, Measured};

use crate::error::{PackageError, within};

/// One point of gravity as apparent extract \[°P\] (computed, near 1.010).
pub(crate) const POINT_PLATO: f64 = 0.256;

/// A difference of two readings by one hydrometer whose ± nobody stated: half a point
/// \[°P\], the band within which a gravity counts as standing still (common practice).
const UNSTATED_PLATO: f64 = 0.5 * POINT_PLATO;

/// How long a warm, shaken sample with much yeast takes to end (judgement: common
/// practice gives two to four days).
const FORCED_H: f64 = 48.0;

/// The same for yeast that ferments dextrins, which goes on for weeks (judgement).
const FORCED_DIASTATIC_H: f64 = 21.0 * 24.0;

/// What was read of the beer before it is packed.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Proof {
    /// Gravity of the beer; absent: as fermentation is reckoned to leave it.
    pub gravity: Option<Measured<Gravity>>,
    /// Where a forced fermentation of a sample ended.
    pub forced: Option<Measured<Gravity>>,
    /// How long that sample was kept warm.
    pub forced_for: Option<Duration>,
}

/// Apparent extract that may still ferment in the package \[°P\].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Left {
    /// What is likely.
    pub likely: Gravity,
    /// The most.
    pub at_most: Gravity,
    /// How that is known.
    pub basis: Basis,
}

/// How it is known what may still ferment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Basis {
    /// By the wort and the class of yeast.
    Model,
    /// By a forced fermentation.
    Forced,
    /// By the model, as the forced fermentation was too short or nobody said how long
    /// it was.
    ForcedTooShort {
        /// What it takes.
        needed: Duration,
    },
    /// By the model, as the beer stands lower than the forced sample ended.
    BelowForced,
}

impl Left {
    /// In points of gravity, ready to read.
    #[must_use]
    pub fn words(&self) -> String {
        format!(
            "{:.1} points of gravity likely, {:.1} at most",
            self.likely.plato() / POINT_PLATO,
            self.at_most.plato() / POINT_PLATO
        )
    }
}

impl Basis {
    /// In words.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Model => "model",
            Self::Forced => "forced",
            Self::ForcedTooShort { .. } => "forced too short",
            Self::BelowForced => "below forced",
        }
    }

    /// What it is known by, as a brewer reads it.
    #[must_use]
    pub const fn known_by(self) -> &'static str {
        match self {
            Self::Model => {
                "What may still ferment is bounded by the wort and the class of yeast. A forced fermentation of a sample proves it: write where it ended."
            }
            Self::Forced => {
                "What may still ferment is the fall from the gravity to where the forced sample ended, and twice what the readings are not known by."
            }
            Self::ForcedTooShort { .. } => {
                "The forced sample does not count yet: it needs two days, and three weeks with yeast that ferments dextrins."
            }
            Self::BelowForced => {
                "The beer stands lower than the forced sample ended, so the sample does not count."
            }
        }
    }
}

impl Proof {
    /// What may still ferment \[°P\].
    ///
    /// With a forced fermentation the fall from the gravity of the beer to where the
    /// sample ended; at most that and two standard deviations of the two readings, or
    /// half a point where neither has one. Without it, the fall to the lowest end that
    /// the wort and the class of yeast allow. A sample of yeast that ferments dextrins
    /// counts only after three weeks.
    ///
    /// # Errors
    /// [`PackageError::Impossible`] for a gravity outside −5 to 35 °P, or a time that
    /// is negative.
    pub fn left(&self, green: &GreenBeer) -> Result<Left, PackageError> {
        let reckoned = green.gravity.plato();
        let (now, now_sd) = match &self.gravity {
            Some(read) => (gravity("gravity at packaging", read)?, read.sd()),
            None => (reckoned, 0.0),
        };
        let by_model = |basis| Left {
            likely: Gravity::from_plato((now - reckoned).max(0.0)),
            at_most: Gravity::from_plato(
                // Beer that stands lower than reckoned says that the model is off, not
                // that less is left.
                green.fermentable_left_at_most.plato() + (now + 2.0 * now_sd - reckoned).max(0.0),
            ),
            basis,
        };
        let Some(forced) = &self.forced else {
            return Ok(by_model(Basis::Model));
        };
        let fall = now - gravity("end of the forced fermentation", forced)?;
        if let Some(time) = self.forced_for {
            within("time of the forced fermentation", time, 0.0, 1e5)?;
        }
        if let Some(needed) = forced_too_short(green.diastatic, self.forced_for) {
            return Ok(by_model(Basis::ForcedTooShort { needed }));
        }
        let spread = match now_sd.hypot(forced.sd()) {
            sd if sd > 0.0 => 2.0 * sd,
            _ => UNSTATED_PLATO,
        };
        if fall < -spread.max(POINT_PLATO) {
            return Ok(by_model(Basis::BelowForced));
        }
        Ok(Left {
            likely: Gravity::from_plato(fall.max(0.0)),
            at_most: Gravity::from_plato((fall + spread).max(0.0)),
            basis: Basis::Forced,
        })
    }
}

/// What a forced fermentation takes, where it did not have it: two days, and three weeks
/// with yeast that ferments dextrins, of which nothing counts while nobody says how long.
#[must_use]
pub fn forced_too_short(diastatic: bool, kept: Option<Duration>) -> Option<Duration> {
    let needed_h = if diastatic {
        FORCED_DIASTATIC_H
    } else {
        FORCED_H
    };
    let enough = kept.map_or(!diastatic, |time| time.h() >= needed_h);
    (!enough).then(|| Duration::from_h(needed_h))
}

fn gravity(what: &'static str, read: &Measured<Gravity>) -> Result<f64, PackageError> {
    Ok(within(what, read.value, -5.0, 35.0)?.plato())
}
