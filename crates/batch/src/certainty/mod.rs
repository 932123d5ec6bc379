//! How sure the figures of a batch are, and what they are unsure of.
//!
//! Every figure with a spread (of the document, of the class of a malt, a hop or a yeast,
//! of a model) is drawn, all together, and each draw is reckoned from tap to glass with the
//! liquors that the plan weighs in: what is decided stays, nature differs. Out come an
//! interval for each figure, and the share of its variance that each doubt has.
//!
//! ```
//! use batch::certainty::{Question, certainty};
//! let text = include_str!("../../../../examples/lantern-pale.toml");
//! let question = Question { draws: 64, points: 0, ..Question::default() };
//! let found = certainty(text, &question, &|_, _| true).map_err(|error| error.to_string())?;
//! let gravity = found.figure("original_gravity").ok_or("no gravity")?;
//! assert!(gravity.low < gravity.likely && gravity.likely < gravity.high);
//! # Ok::<(), String>(())
//! ```
//!
//! Drawn one by one as if none knew of another; amounts of sugar, salts and reagents that
//! a plan reckons from its own figures are reckoned anew in each draw.

pub(crate) mod doubt;
pub(crate) mod drawn;
pub(crate) mod figures;
#[cfg(test)]
mod jcgm;
mod normal;
mod sobol;
pub mod words;

use std::sync::atomic::{AtomicUsize, Ordering};

use quantity::Units;
use rayon::prelude::*;
use toml::de::DeTable;

pub use doubt::{Doubt, Origin};

use crate::document::{Document, refuse_oversize};
use crate::reader::Fault;
use crate::sign::Stage;
use crate::stream::Reckoning;
use doubt::Doubts;
use figures::{FIGURES, Watched};

/// The most draws, and points for the shares.
pub const MOST_DRAWS: usize = 65_536;
/// Share below which a doubt is not worth a word.
const LITTLE: f64 = 0.01;
/// The middle nine tenths.
const TAIL: f64 = 0.05;

/// How closely to look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Question {
    /// Draws for the intervals.
    pub draws: usize,
    /// Points for the shares, each of as many reckonings as there are doubts, and two;
    /// nought for no shares.
    pub points: usize,
    /// The same seed gives the same answer on every machine, by any number of threads.
    pub seed: u32,
}

impl Default for Question {
    fn default() -> Self {
        Self {
            draws: 2048,
            points: 128,
            seed: 1,
        }
    }
}

/// What a doubt does to a figure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Share {
    /// Its place among the doubts.
    pub doubt: usize,
    /// Share of the variance that it makes alone.
    pub first: f64,
    /// Share that it makes alone and together with others.
    pub total: f64,
}

/// A figure, and how sure it is.
#[derive(Debug, Clone)]
pub struct Sure {
    /// The stage that it belongs to.
    pub stage: Stage,
    /// A key, stable between reckonings.
    pub key: &'static str,
    /// What it is.
    pub label: &'static str,
    /// The figure as it is reckoned, in its canonical unit.
    pub reckoned: f64,
    /// The middle of the draws.
    pub likely: f64,
    /// Five of a hundred draws lie below.
    pub low: f64,
    /// Five of a hundred lie above.
    pub high: f64,
    /// Standard deviation of the draws.
    pub sd: f64,
    /// The doubts that matter, the heaviest first; empty where no shares were asked for.
    pub shares: Vec<Share>,
    show: fn(f64, Units) -> String,
}

impl Sure {
    /// One of its numbers, printed.
    #[must_use]
    pub fn print(&self, number: f64, units: Units) -> String {
        (self.show)(number, units)
    }

    /// Half of the interval as it would be if a doubt were settled, over what it is now.
    #[must_use]
    pub fn left_without(&self, share: &Share) -> f64 {
        (1.0 - share.first).clamp(0.0, 1.0).sqrt()
    }
}

/// How sure a batch is.
#[derive(Debug, Clone)]
pub struct Certainty {
    /// From tap to glass; those that nothing moves are left out.
    pub figures: Vec<Sure>,
    /// All that is not known.
    pub doubts: Vec<Doubt>,
    /// Draws that were reckoned.
    pub drawn: usize,
    /// Draws that cannot be brewed, left out.
    pub refused: usize,
    /// Why the first of them cannot.
    pub refusal: Option<String>,
}

impl Certainty {
    /// A figure by its key.
    #[must_use]
    pub fn figure(&self, key: &str) -> Option<&Sure> {
        self.figures.iter().find(|f| f.key == key)
    }
}

/// Somebody stopped it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stopped;

/// Why there is no answer.
#[derive(Debug, thiserror::Error)]
pub enum CertaintyError {
    /// The document cannot be reckoned as it is.
    #[error("the document cannot be reckoned as it is")]
    Document(Vec<Fault>),
    /// Stopped before the end.
    #[error("stopped before the end; fewer draws take less time")]
    Stopped,
    /// Too many or too few.
    #[error("{0} draws cannot be made; from 32 to {MOST_DRAWS} would work")]
    Draws(usize),
    /// So unsure that most draws cannot be brewed.
    #[error("{refused} of {all} draws cannot be brewed ({why}); smaller spreads would work")]
    Unbrewable {
        /// How many.
        refused: usize,
        /// Of how many.
        all: usize,
        /// Why the first cannot.
        why: String,
    },
}

impl From<Stopped> for CertaintyError {
    fn from(_: Stopped) -> Self {
        Self::Stopped
    }
}

/// How sure the figures of a document are. `go_on` is told how many reckonings are done and
/// of how many, and says whether to go on.
///
/// # Errors
/// [`CertaintyError`].
pub fn certainty(
    text: &str,
    question: &Question,
    go_on: &(dyn Fn(usize, usize) -> bool + Sync),
) -> Result<Certainty, CertaintyError> {
    if !(32..=MOST_DRAWS).contains(&question.draws) || question.points > MOST_DRAWS {
        return Err(CertaintyError::Draws(question.draws.max(question.points)));
    }
    refuse_oversize(text, "a batch document").map_err(CertaintyError::Document)?;
    let parsed = DeTable::parse(text)
        .map_err(|error| CertaintyError::Document(vec![Fault::from_toml(&error, text)]))?;
    let nature = Nature::of(parsed.get_ref())?;
    let alive = nature.alive();
    let done = AtomicUsize::new(0);
    let all = question.draws + question.points * (alive.len() + 2);
    let step = |by: usize| go_on(done.fetch_add(by, Ordering::Relaxed) + by, all);
    let draws = nature.draws(question, &|_| step(1))?;
    let shares = sobol::shares(
        alive.len(),
        question.points,
        question.seed.wrapping_add(1),
        |chances| nature.with(&alive, chances).ok(),
        &|_| step(alive.len() + 2),
    )?;
    nature.judged(&draws, &alive, &shares)
}

/// A document, and what is not known of it.
struct Nature<'t> {
    table: &'t DeTable<'t>,
    plan: Reckoning,
    doubts: Vec<Doubt>,
    /// The figures that this batch has.
    watched: Vec<&'static Watched>,
    reckoned: Vec<f64>,
}

impl<'t> Nature<'t> {
    fn of(table: &'t DeTable<'t>) -> Result<Self, CertaintyError> {
        let mut doubts = Doubts::Listed(vec![]);
        let (document, assumptions) =
            Document::read_doubting(table, &mut doubts).map_err(CertaintyError::Document)?;
        let plan = Reckoning::doubting(document, assumptions, None, &mut doubts)
            .map_err(|fault| CertaintyError::Document(vec![fault]))?;
        let (watched, reckoned) = FIGURES
            .iter()
            .filter_map(|w| Some((w, (w.read)(&plan)?)))
            .unzip();
        let doubts = match doubts {
            Doubts::Listed(doubts) => doubts,
            Doubts::Kept | Doubts::Drawn { .. } => vec![],
        };
        Ok(Self {
            table,
            plan,
            doubts,
            watched,
            reckoned,
        })
    }

    /// The figures with each doubt at a chance.
    fn at(&self, chances: Vec<f64>) -> Result<Vec<f64>, Fault> {
        let mut doubts = Doubts::Drawn { chances, met: 0 };
        let (document, _) = Document::read_doubting(self.table, &mut doubts)
            .map_err(|mut faults| faults.swap_remove(0))?;
        let planned = Some(&self.plan.volumes);
        let drawn = Reckoning::doubting(document, vec![], planned, &mut doubts)?;
        // An end that is not reached in the time of the plan lies beyond it.
        let course = &self.plan.document.fermentation.course;
        let late = course.last().map_or(0.0, |p| p.at.canonical());
        Ok(self
            .watched
            .iter()
            .map(|w| (w.read)(&drawn).unwrap_or(late))
            .collect())
    }

    /// The figures with some doubts at chances, the others at their likeliest.
    fn with(&self, which: &[usize], chances: &[f64]) -> Result<Vec<f64>, Fault> {
        let mut all = vec![0.5; self.doubts.len()];
        which.iter().zip(chances).for_each(|(i, c)| all[*i] = *c);
        self.at(all)
    }

    /// The doubts that move a figure.
    fn alive(&self) -> Vec<usize> {
        let moves = |i: &usize| {
            let ends = [0.1, 0.9].map(|chance| self.with(&[*i], &[chance]));
            ends.iter().any(|end| {
                let Ok(end) = end else { return true };
                let both = end.iter().zip(&self.reckoned);
                both.fold(false, |moved, (a, b)| {
                    moved || (a - b).abs() > 1e-9 * b.abs()
                })
            })
        };
        let all: Vec<usize> = (0..self.doubts.len()).collect();
        all.into_par_iter().filter(moves).collect()
    }

    fn draws(
        &self,
        question: &Question,
        go_on: sobol::GoOn<'_>,
    ) -> Result<Vec<Result<Vec<f64>, Fault>>, Stopped> {
        let k = self.doubts.len();
        let draw = |j: u32| {
            if !go_on(0) {
                return Err(Stopped);
            }
            Ok(self.at(sobol::point(j, 0..k, question.seed)))
        };
        (0..question.draws as u32)
            .into_par_iter()
            .map(draw)
            .collect()
    }

    fn judged(
        self,
        draws: &[Result<Vec<f64>, Fault>],
        alive: &[usize],
        shares: &[sobol::Shares],
    ) -> Result<Certainty, CertaintyError> {
        let good: Vec<&Vec<f64>> = draws.iter().filter_map(|d| d.as_ref().ok()).collect();
        let refusal = draws.iter().find_map(|d| d.as_ref().err());
        let refusal = refusal.map(|fault| format!("{}; {}", fault.message, fault.help));
        let refused = draws.len() - good.len();
        if good.len() < 2 * refused {
            return Err(CertaintyError::Unbrewable {
                refused,
                all: draws.len(),
                why: refusal.unwrap_or_default(),
            });
        }
        let of = |(g, watched): (usize, &&'static Watched)| {
            let drawn = good.iter().map(|draw| draw[g]).collect();
            sure(watched, self.reckoned[g], drawn, alive, shares.get(g))
        };
        let figures = self.watched.iter().enumerate().filter_map(of).collect();
        Ok(Certainty {
            figures,
            doubts: self.doubts,
            drawn: good.len(),
            refused,
            refusal,
        })
    }
}

/// None where nothing moves the figure.
fn sure(
    watched: &Watched,
    reckoned: f64,
    mut drawn: Vec<f64>,
    alive: &[usize],
    shares: Option<&sobol::Shares>,
) -> Option<Sure> {
    let n = drawn.len() as f64;
    let mean = drawn.iter().sum::<f64>() / n;
    let sd = (drawn.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
    if sd <= 1e-9 * mean.abs() {
        return None;
    }
    drawn.sort_unstable_by(f64::total_cmp);
    Some(Sure {
        stage: watched.stage,
        key: watched.key,
        label: watched.label,
        reckoned,
        likely: quantile(&drawn, 0.5),
        low: quantile(&drawn, TAIL),
        high: quantile(&drawn, 1.0 - TAIL),
        sd,
        shares: shares.map_or_else(Vec::new, |shares| ranked(alive, shares)),
        show: watched.show,
    })
}

/// Of a sorted sample, by straight lines between its members.
fn quantile(sorted: &[f64], p: f64) -> f64 {
    let at = p * (sorted.len() - 1) as f64;
    let (low, part) = (at.floor() as usize, at.fract());
    let high = (low + 1).min(sorted.len() - 1);
    sorted[low] + part * (sorted[high] - sorted[low])
}

fn ranked(alive: &[usize], shares: &sobol::Shares) -> Vec<Share> {
    let each = alive.iter().zip(shares.first.iter().zip(&shares.total));
    let mut ranked: Vec<Share> = each
        .map(|(doubt, (first, total))| Share {
            doubt: *doubt,
            first: first.clamp(0.0, 1.0),
            total: total.clamp(0.0, 1.0),
        })
        .filter(|share| share.total >= LITTLE)
        .collect();
    ranked.sort_by(|a, b| b.total.total_cmp(&a.total));
    ranked
}

/// What to know better, and what that would buy.
#[derive(Debug, Clone, Copy)]
pub struct Better<'c> {
    /// What is not known.
    pub doubt: &'c Doubt,
    /// The figure that it moves most.
    pub figure: &'c Sure,
    /// What is left of the figure's interval once it is settled.
    pub left: f64,
}

impl Certainty {
    /// Shares of a figure's variance, in per cent: of what stands in the document, of the
    /// classes, of the models, and of several together.
    #[must_use]
    pub fn by_origin(&self, figure: &Sure) -> [f64; 4] {
        let alone = |origin| {
            let shares = figure.shares.iter();
            let of =
                shares.filter(|s| self.doubts.get(s.doubt).is_some_and(|d| d.origin == origin));
            of.map(|s| s.first).sum::<f64>()
        };
        let [a, b, c] = [Origin::Document, Origin::Class, Origin::Model].map(alone);
        // Estimates of the shares may add up to a little more than all.
        let all = (a + b + c).max(1.0);
        [a, b, c, all - a - b - c].map(|share| 100.0 * share / all)
    }

    /// What would narrow some figure by a tenth or more, the most first.
    #[must_use]
    pub fn better(&self) -> Vec<Better<'_>> {
        let mut all: Vec<Better<'_>> = self
            .doubts
            .iter()
            .enumerate()
            .filter_map(|(i, doubt)| {
                let of_figure = |figure| {
                    let share = figure_share(figure, i)?;
                    Some(Better {
                        doubt,
                        figure,
                        left: figure.left_without(share),
                    })
                };
                let each = self.figures.iter().filter_map(of_figure);
                each.min_by(|a, b| a.left.total_cmp(&b.left))
            })
            .filter(|better| better.left <= 0.9)
            .collect();
        all.sort_by(|a, b| a.left.total_cmp(&b.left));
        all
    }
}

fn figure_share(figure: &Sure, doubt: usize) -> Option<&Share> {
    figure.shares.iter().find(|share| share.doubt == doubt)
}
