//! Stopping early and honestly: a test whose errors stay what they were set to
//! be although one looks after every tasting.

use super::error::{TastingError, between, count, right_of, risk};
use super::protocol::Protocol;

/// A stopping rule that is set before the first tasting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StopRule {
    /// How it is asked.
    pub protocol: Protocol,
    /// Chance of a right answer by guessing \[–\].
    pub guess: f64,
    /// Chance of a right answer at the difference that matters \[–\].
    pub matters: f64,
    /// The risk of a false alarm that was set \[–\].
    pub alpha: f64,
    /// The risk of missing the difference that was set \[–\].
    pub beta: f64,
    /// The most tastings; there it ends undecided.
    pub most: u32,
    /// Rise of both lines \[right answers a tasting\].
    pub rise: f64,
    /// The line of "no difference that matters" starts so far below zero.
    pub below: f64,
    /// The line of "different" starts so far above zero.
    pub above: f64,
}

/// Where a tasting stands under its stopping rule.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// Pour on.
    Open,
    /// A difference is shown.
    Different,
    /// A difference as large as was named would have shown: a smaller one may be.
    SmallerThanNamed,
    /// The last tasting is done and nothing is decided.
    Undecided,
}

/// What a stopping rule comes to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StopRisks {
    /// Chance of "different" if there is no difference \[–\].
    pub alpha: f64,
    /// Chance of "no difference that matters" if it is as large as named \[–\].
    pub beta: f64,
    /// Chance of ending undecided without a difference \[–\].
    pub undecided_if_none: f64,
    /// Chance of ending undecided with it \[–\].
    pub undecided_if_there: f64,
    /// Mean number of tastings without a difference.
    pub tastings_if_none: f64,
    /// Mean number of tastings with it.
    pub tastings_if_there: f64,
}

impl StopRule {
    /// Wald's sequential probability ratio test between guessing and a share
    /// `matters` \[–\] of right answers, cut off after `most` tastings.
    ///
    /// With k = ln(p₁/p₀) + ln((1−p₀)/(1−p₁)): different if x ≥ h₁ + s n, none
    /// that matters if x ≤ −h₀ + s n, s = ln((1−p₀)/(1−p₁))/k, h₁ =
    /// ln((1−β)/α)/k, h₀ = ln((1−α)/β)/k. Sources: Wald 1947, Sequential
    /// Analysis; ISO 16820 (both from memory).
    ///
    /// # Errors
    /// [`TastingError`] for a share, a risk or a count that cannot be.
    pub fn new(
        protocol: Protocol,
        matters: f64,
        alpha: f64,
        beta: f64,
        most: u32,
    ) -> Result<Self, TastingError> {
        let guess = protocol.guess();
        let matters = between(
            "the share of right answers that matters",
            matters,
            guess + 0.01,
            0.999,
        )?;
        let alpha = risk("the risk of a false alarm", alpha)?;
        let beta = risk("the risk of missing a difference", beta)?;
        let misses = ((1.0 - guess) / (1.0 - matters)).ln();
        let k = (matters / guess).ln() + misses;
        Ok(Self {
            protocol,
            guess,
            matters,
            alpha,
            beta,
            most: count(protocol.nouns().1, most)?,
            rise: misses / k,
            below: ((1.0 - alpha) / beta).ln() / k,
            above: ((1.0 - beta) / alpha).ln() / k,
        })
    }

    /// The same for a difference \[d′\].
    ///
    /// # Errors
    /// Those of [`StopRule::new`].
    pub fn for_d_prime(
        protocol: Protocol,
        d_prime: f64,
        alpha: f64,
        beta: f64,
        most: u32,
    ) -> Result<Self, TastingError> {
        Self::new(protocol, protocol.right_at(d_prime)?, alpha, beta, most)
    }

    /// After so many tastings: at most so many right end it without a
    /// difference that matters, at least so many end it as different.
    #[must_use]
    pub fn lines(&self, tastings: u32) -> (Option<u32>, u32) {
        let at = self.rise * f64::from(tastings);
        let low = (at - self.below + SLACK).floor();
        let high = (at + self.above - SLACK).ceil();
        ((low >= 0.0).then_some(low as u32), high as u32)
    }

    /// Where the tasting stands.
    ///
    /// # Errors
    /// [`TastingError::TooManyRight`].
    pub fn standing(&self, right: u32, tastings: u32) -> Result<Standing, TastingError> {
        if tastings == 0 && right == 0 {
            return Ok(Standing::Open);
        }
        right_of(self.protocol.nouns().1, right, tastings)?;
        Ok(self.at(right, tastings))
    }

    fn at(&self, right: u32, tastings: u32) -> Standing {
        let (low, high) = self.lines(tastings);
        if right >= high {
            Standing::Different
        } else if low.is_some_and(|low| right <= low) {
            Standing::SmallerThanNamed
        } else if tastings >= self.most {
            Standing::Undecided
        } else {
            Standing::Open
        }
    }

    /// The errors and lengths that the rule really has, by exact recursion over
    /// the tastings.
    #[must_use]
    pub fn risks(&self) -> StopRisks {
        let none = self.run(self.guess);
        let there = self.run(self.matters);
        StopRisks {
            alpha: none.different,
            beta: there.smaller,
            undecided_if_none: none.undecided,
            undecided_if_there: there.undecided,
            tastings_if_none: none.tastings,
            tastings_if_there: there.tastings,
        }
    }

    fn run(&self, chance: f64) -> Run {
        let mut run = Run::default();
        // Chance of being open with so many right.
        let mut open = vec![1.0];
        for tasting in 1..=self.most {
            run.tastings += open.iter().sum::<f64>();
            let mut next = vec![0.0; tasting as usize + 1];
            for (right, mass) in open.iter().enumerate() {
                next[right] += mass * (1.0 - chance);
                next[right + 1] += mass * chance;
            }
            for (right, mass) in next.iter_mut().enumerate() {
                let ended = match self.at(right as u32, tasting) {
                    Standing::Open => continue,
                    Standing::Different => &mut run.different,
                    Standing::SmallerThanNamed => &mut run.smaller,
                    Standing::Undecided => &mut run.undecided,
                };
                *ended += std::mem::take(mass);
            }
            open = next;
            if open.iter().all(|&mass| mass <= 0.0) {
                break;
            }
        }
        run
    }
}

/// A line that passes through a whole number counts as reached.
const SLACK: f64 = 1e-9;

#[derive(Default)]
struct Run {
    different: f64,
    smaller: f64,
    undecided: f64,
    tastings: f64,
}
