//! The ways of asking whether two beers differ, and what a taster of a given
//! sensitivity gets right in each.

use std::f64::consts::{FRAC_1_SQRT_2, SQRT_2};

use super::error::{TastingError, between};
use super::numeric::{density, integral, normal, root};

/// A test in which each tasting has a right answer, and guessing is sometimes right.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Protocol {
    /// Three glasses, two alike: which is the odd one? ISO 4120.
    Triangle,
    /// Four glasses, two and two: which belong together? ASTM E3009.
    Tetrad,
    /// A named reference and two glasses: which is the reference? ISO 10399.
    DuoTrio,
    /// Two glasses: which has more of something, the side being fixed before? ISO 5495.
    Paired,
    /// Two glasses: which has more of something, or which is liked better,
    /// either side counting? ISO 5495.
    PairedEither,
    /// Three glasses, the odd one always the same beer: which has most? ISO 13301.
    ThreeChoices,
    /// One glass: is it the reference, or another beer? ISO 8588 (A-not-A). A taster may
    /// lean to either answer, so that right answers are not counted against guessing:
    /// see [`a_not_a`](super::a_not_a).
    OneGlass,
}

/// The largest difference that is reckoned \[d′\]: beyond it every answer is right.
pub const MOST_D_PRIME: f64 = 12.0;

impl Protocol {
    /// Every one that can be asked, the usual first.
    pub const OFFERED: [Self; 7] = [
        Self::Triangle,
        Self::Tetrad,
        Self::DuoTrio,
        Self::Paired,
        Self::PairedEither,
        Self::ThreeChoices,
        Self::OneGlass,
    ];

    /// Those in which glasses are compared, so that right answers count against
    /// guessing; the usual first.
    pub const ALL: [Self; 6] = [
        Self::Triangle,
        Self::Tetrad,
        Self::DuoTrio,
        Self::Paired,
        Self::PairedEither,
        Self::ThreeChoices,
    ];

    /// Its word in documents and commands.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Triangle => "triangle",
            Self::Tetrad => "tetrad",
            Self::DuoTrio => "duo-trio",
            Self::Paired => "paired",
            Self::PairedEither => "paired-either",
            Self::ThreeChoices => "3-afc",
            Self::OneGlass => "a-not-a",
        }
    }

    /// The protocol of a word.
    #[must_use]
    pub fn find(word: &str) -> Option<Self> {
        Self::OFFERED.into_iter().find(|p| p.word() == word)
    }

    /// One tasting and many of them, in words.
    #[must_use]
    pub const fn nouns(self) -> (&'static str, &'static str) {
        match self {
            Self::Triangle => ("triangle", "triangles"),
            Self::Tetrad => ("tetrad", "tetrads"),
            Self::DuoTrio => ("duo-trio", "duo-trios"),
            Self::Paired | Self::PairedEither => ("pair", "pairs"),
            Self::ThreeChoices => ("set of three", "sets of three"),
            Self::OneGlass => ("single glass", "single glasses"),
        }
    }

    /// The question that is put to the taster.
    #[must_use]
    pub const fn question(self) -> &'static str {
        match self {
            Self::Triangle => "Which glass is the odd one?",
            Self::Tetrad => "Which two glasses belong together?",
            Self::DuoTrio => "Which glass is the same as the reference?",
            Self::Paired | Self::PairedEither => "Which glass has more of what was asked for?",
            Self::ThreeChoices => "Which glass has most of what was asked for?",
            Self::OneGlass => "Is this glass the reference, or another beer?",
        }
    }

    /// Glasses of one tasting that carry a code.
    #[must_use]
    pub const fn coded_glasses(self) -> usize {
        match self {
            Self::Triangle | Self::ThreeChoices => 3,
            Self::Tetrad => 4,
            Self::DuoTrio | Self::Paired | Self::PairedEither => 2,
            Self::OneGlass => 1,
        }
    }

    /// Glasses of one tasting altogether.
    #[must_use]
    pub const fn glasses(self) -> usize {
        match self {
            Self::DuoTrio => 3,
            other => other.coded_glasses(),
        }
    }

    /// Chance of being right by guessing \[–\].
    #[must_use]
    pub const fn guess(self) -> f64 {
        match self {
            Self::Triangle | Self::Tetrad | Self::ThreeChoices => 1.0 / 3.0,
            Self::DuoTrio | Self::Paired | Self::PairedEither | Self::OneGlass => 0.5,
        }
    }

    /// Whether an answer to either side counts against "no difference".
    #[must_use]
    pub const fn two_sided(self) -> bool {
        matches!(self, Self::PairedEither)
    }

    /// Chance of a right answer \[–\] at a difference `d_prime` \[d′\]: the
    /// psychometric function of the protocol.
    ///
    /// d′ is the distance of the two beers in standard deviations of what one
    /// glass tastes like from sip to sip. With Φ and φ of the standard normal
    /// distribution, d = d′:
    /// - triangle: 2 ∫₀^∞ \[Φ(−z√3 + d√(2/3)) + Φ(−z√3 − d√(2/3))\] φ(z) dz
    /// - duo-trio: 1 − Φ(d/√2) − Φ(d/√6) + 2 Φ(d/√2) Φ(d/√6)
    /// - paired: Φ(d/√2)
    /// - one glass, by a taster who leans to neither answer: Φ(d/2)
    /// - 3-AFC: ∫ φ(z−d) Φ(z)² dz
    /// - tetrad: 1 − 2 ∫ φ(x) \[2 Φ(x) Φ(x−d) − Φ(x−d)²\] dx
    ///
    /// Sources: Ennis 1993, J. Sensory Studies 8, 353; tetrad: Ennis, Ennis,
    /// Palen & O'Mahony 1998 (from memory). Assumes both beers equally variable
    /// and a taster without a lapse.
    ///
    /// # Errors
    /// [`TastingError::Outside`] below 0 or above [`MOST_D_PRIME`].
    pub fn right_at(self, d_prime: f64) -> Result<f64, TastingError> {
        let d = between("the difference d'", d_prime, 0.0, MOST_D_PRIME)?;
        Ok(self.right(d))
    }

    /// The difference \[d′\] at which so many answers are right; 0 for a share
    /// that guessing reaches, none where every answer is right.
    ///
    /// # Errors
    /// [`TastingError::Outside`] for a share below 0 or above 1.
    pub fn d_prime_at(self, share_right: f64) -> Result<Option<f64>, TastingError> {
        between("the share of right answers", share_right, 0.0, 1.0)?;
        Ok(self.difference(share_right))
    }

    /// The chance of a right answer \[–\] where a share of tastings
    /// `discriminators` \[–\] is told apart for certain and the rest guessed:
    /// p₀ + (1 − p₀) p_d.
    ///
    /// # Errors
    /// [`TastingError::Outside`] for a share below 0 or above 1.
    pub fn right_of_discriminators(self, discriminators: f64) -> Result<f64, TastingError> {
        let share = between("the share of discriminators", discriminators, 0.0, 1.0)?;
        Ok(self.guess() + (1.0 - self.guess()) * share)
    }

    /// The share of discriminators \[–\] behind a share of right answers; 0 where
    /// guessing reaches it.
    pub(super) fn discriminators(self, right: f64) -> f64 {
        ((right - self.guess()) / (1.0 - self.guess())).max(0.0)
    }

    pub(super) fn right(self, d: f64) -> f64 {
        let sure = match self {
            Self::Triangle => triangle(d),
            Self::Tetrad => tetrad(d),
            Self::DuoTrio => {
                let (pair, odd) = (normal(d * FRAC_1_SQRT_2), normal(d / 6.0_f64.sqrt()));
                1.0 - pair - odd + 2.0 * pair * odd
            }
            Self::Paired | Self::PairedEither => normal(d * FRAC_1_SQRT_2),
            Self::OneGlass => normal(d / 2.0),
            Self::ThreeChoices => integral(-REACH, d + REACH, |z| {
                density(z - d) * normal(z) * normal(z)
            }),
        };
        sure.clamp(self.guess(), 1.0)
    }

    /// Slope of [`Protocol::right_at`] \[1/d′\].
    pub(super) fn slope(self, d: f64) -> f64 {
        match self {
            // The integral of the slope of the triangle has this closed form.
            Self::Triangle => {
                let at = d / 6.0_f64.sqrt();
                (2.0_f64 / 3.0).sqrt() * density(at) * (1.0 - 2.0 * normal(-d * FRAC_1_SQRT_2))
            }
            Self::Tetrad => {
                2.0 * integral(-REACH, d + REACH, |x| {
                    density(x) * density(x - d) * 2.0 * (normal(x) - normal(x - d))
                })
            }
            Self::DuoTrio => {
                let root6 = 6.0_f64.sqrt();
                let (a, b) = (d * FRAC_1_SQRT_2, d / root6);
                density(a) * FRAC_1_SQRT_2 * (2.0 * normal(b) - 1.0)
                    + density(b) / root6 * (2.0 * normal(a) - 1.0)
            }
            Self::Paired | Self::PairedEither => density(d * FRAC_1_SQRT_2) / SQRT_2,
            Self::OneGlass => density(d / 2.0) / 2.0,
            Self::ThreeChoices => integral(-REACH, d + REACH, |z| {
                2.0 * density(z - d) * normal(z) * density(z)
            }),
        }
    }

    pub(super) fn difference(self, right: f64) -> Option<f64> {
        if right <= self.guess() {
            return Some(0.0);
        }
        (right < self.right(MOST_D_PRIME))
            .then(|| root(0.0, MOST_D_PRIME, |d| self.right(d) - right))
    }
}

/// Beyond so many standard deviations nothing is left that would count.
const REACH: f64 = 9.0;

fn triangle(d: f64) -> f64 {
    let shift = d * (2.0_f64 / 3.0).sqrt();
    let root3 = 3.0_f64.sqrt();
    2.0 * integral(0.0, REACH, |z| {
        (normal(shift - z * root3) + normal(-shift - z * root3)) * density(z)
    })
}

fn tetrad(d: f64) -> f64 {
    1.0 - 2.0
        * integral(-REACH, REACH, |x| {
            let (own, other) = (normal(x), normal(x - d));
            density(x) * (2.0 * own * other - other * other)
        })
}
