//! Batches side by side: what differs in them, where they differ along the stream, and
//! which of the differences made which.
//!
//! The documents are laid beside each other, and what differs falls into parts that can be
//! taken over one by one. The stream is reckoned for the first batch with some of the parts
//! as the second has them, for every choice of parts, and the difference of each figure is
//! split among them fairly (`shapley`): the shares sum to the whole.
//!
//! ```
//! use batch::comparing::{Question, compare};
//! let pale = include_str!("../../../../examples/lantern-pale.toml");
//! let stronger = pale.replace("3.55 kg", "4.15 kg");
//! let question = Question { draws: 0, ..Question::default() };
//! let found = compare(&[pale, &stronger], &question, &|_, _| true).map_err(|e| e.to_string())?;
//! let alcohol = found.against[0].figure("alcohol").ok_or("no alcohol")?;
//! assert_eq!(alcohol.shares.len(), 1);
//! assert_eq!(found.against[0].parts[0].phrase(), "0.6 kg more pilsner malt");
//! # Ok::<(), String>(())
//! ```

mod figures;
mod parts;
mod shapley;
mod split;
mod steps;
mod told;
pub mod words;

use std::sync::atomic::{AtomicUsize, Ordering};

use quantity::Units;

pub use figures::{Row, Stood};
pub use parts::Part;
pub use steps::Steps;
pub use told::Change;

use crate::certainty::figures::{FIGURES, Watched};
use crate::certainty::summary::quantile;
use crate::certainty::{CertaintyError, Pair, paired};
use crate::document::Document;
use crate::inquiry::{finding_words, test_words, verdict};
use crate::reader::Fault;
use crate::sign::Stage;
use crate::stream::Reckoning;
use split::Splitting;

/// The most batches that are laid beside each other.
pub const MOST: usize = 6;
/// The most draws for the intervals, and orders where there are too many parts.
pub const MOST_DRAWS: usize = 4096;

/// How closely to look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Question {
    /// Draws for how sure each figure is; nought for none.
    pub draws: usize,
    /// Everything that differs by itself, however much it is; else what stands in one
    /// section of the document goes together where there are many.
    pub finely: bool,
    /// Pairs of orders that are drawn where there are too many parts for all of them.
    pub orders: usize,
    /// The same seed gives the same answer.
    pub seed: u64,
}

impl Default for Question {
    fn default() -> Self {
        Self {
            draws: 256,
            finely: false,
            orders: 32,
            seed: 1,
        }
    }
}

/// Batches beside each other.
#[derive(Debug, Clone)]
pub struct Comparison {
    /// The batches, the one that the others are held against first.
    pub batches: Vec<Beside>,
    /// Figures from tap to glass that differ as they are printed.
    pub rows: Vec<Row>,
    /// How many figures are the same.
    pub same: usize,
    /// How each stage stands in each batch.
    pub stood: Vec<Stood>,
    /// Each batch after the first, held against it.
    pub against: Vec<Against>,
}

/// One of the batches.
#[derive(Debug, Clone)]
pub struct Beside {
    /// What it is called.
    pub name: String,
    /// Its reckoning.
    pub reckoning: Box<Reckoning>,
    /// What was found in it, in words.
    pub found: Vec<String>,
    /// Tests that were made, in words.
    pub tests: Vec<String>,
    /// What the inquiry comes to; none where nothing was found or tested.
    pub verdict: Option<String>,
}

/// A batch held against the first.
#[derive(Debug, Clone)]
pub struct Against {
    /// What differs, by the stage that takes it up first.
    pub parts: Vec<Part>,
    /// What differs and is no part of the stream: names, notes, aims.
    pub told: Vec<Change>,
    /// Figures that differ, from tap to glass.
    pub figures: Vec<Difference>,
    /// Parts that move no figure, by their places.
    pub still: Vec<usize>,
    /// Whether every order of taking over was counted.
    pub every_order: bool,
    /// Reckonings that it took.
    pub reckoned: usize,
    /// What was put together, and why.
    pub notes: Vec<String>,
    /// Where the difference of each figure lies nine times in ten, also of those that are
    /// the same; empty where that was not asked for.
    pub between: Vec<Between>,
}

/// Where the difference of a figure lies, in its canonical unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Between {
    /// The key of the figure.
    pub key: &'static str,
    /// Five of a hundred draws lie below.
    pub low: f64,
    /// Five of a hundred lie above.
    pub high: f64,
}

/// A figure that differs, and what made it differ.
#[derive(Debug, Clone)]
pub struct Difference {
    /// The stage that it belongs to.
    pub stage: Stage,
    /// A key, stable between reckonings.
    pub key: &'static str,
    /// What it is.
    pub label: &'static str,
    /// In the first batch, in its canonical unit.
    pub from: f64,
    /// In the other.
    pub to: f64,
    /// The share of each part, the largest first; empty where it cannot be split.
    pub shares: Vec<Share>,
    /// Where the difference lies nine times in ten, what both batches share drawn once;
    /// none where that was not asked for.
    pub between: Option<(f64, f64)>,
    pub(crate) watched: &'static Watched,
}

/// What one part adds to a difference.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Share {
    /// The place of the part.
    pub part: usize,
    /// What it adds, in the canonical unit of the figure.
    pub by: f64,
    /// Standard error, where orders were drawn.
    pub error: Option<f64>,
}

/// Why batches cannot be compared.
#[derive(Debug, thiserror::Error)]
pub enum CompareError {
    /// Too few or too many.
    #[error("{0} batches cannot be laid beside each other; from 2 to {MOST} would work")]
    Many(usize),
    /// Too many draws or orders.
    #[error("{0} draws or orders are too many; up to {MOST_DRAWS} would work, draws from 32")]
    Draws(usize),
    /// One of them cannot be reckoned.
    #[error("batch {} cannot be reckoned as it is; mend its document first", which + 1)]
    Document {
        /// Which, counted from nought.
        which: usize,
        /// What is wrong with it.
        faults: Vec<Fault>,
    },
    /// Its draws cannot be made.
    #[error(transparent)]
    Certainty(CertaintyError),
    /// Stopped before the end.
    #[error("stopped before the end")]
    Stopped,
}

/// Told how many reckonings are done and of about how many, it says whether to go on.
pub type GoOn<'g> = &'g (dyn Fn(usize, usize) -> bool + Sync);

/// Lays batches beside each other, and holds each against the first.
///
/// # Errors
/// [`CompareError`].
pub fn compare(
    texts: &[&str],
    question: &Question,
    go_on: GoOn<'_>,
) -> Result<Comparison, CompareError> {
    if !(2..=MOST).contains(&texts.len()) {
        return Err(CompareError::Many(texts.len()));
    }
    let drawn = question.draws != 0;
    if question.draws.max(question.orders) > MOST_DRAWS || (drawn && question.draws < 32) {
        return Err(CompareError::Draws(question.draws.max(question.orders)));
    }
    let batches: Vec<Beside> = texts
        .iter()
        .enumerate()
        .map(|(which, text)| beside(which, text))
        .collect::<Result<_, _>>()?;
    let work = Work::new(question, texts.len(), go_on);
    let against = (1..texts.len()).map(|n| {
        let ends = (&*batches[0].reckoning, &*batches[n].reckoning);
        let mut against = Splitting::of((texts[0], texts[n]), ends, question, &work)?;
        against.between = betweens((texts[0], texts[n]), question, &work)?;
        for difference in &mut against.figures {
            let between = against.between.iter().find(|b| b.key == difference.key);
            difference.between = between.map(|b| (b.low, b.high));
        }
        Ok(against)
    });
    let against = against.collect::<Result<_, CompareError>>()?;
    Ok(laid(batches, against))
}

/// Texts beside each other, with what was found of each against the first.
pub(crate) fn laid_beside(
    texts: &[&str],
    against: Vec<Against>,
) -> Result<Comparison, CompareError> {
    let batches = texts
        .iter()
        .enumerate()
        .map(|(which, text)| beside(which, text))
        .collect::<Result<_, _>>()?;
    Ok(laid(batches, against))
}

fn laid(batches: Vec<Beside>, against: Vec<Against>) -> Comparison {
    let reckonings: Vec<&Reckoning> = batches.iter().map(|b| &*b.reckoning).collect();
    let (rows, same) = figures::rows(&reckonings);
    Comparison {
        rows,
        same,
        stood: figures::stood(&reckonings),
        against,
        batches,
    }
}

fn beside(which: usize, text: &str) -> Result<Beside, CompareError> {
    let faulty = |faults| CompareError::Document { which, faults };
    let (document, assumptions) = Document::read(text).map_err(faulty)?;
    let reckoning = Reckoning::of(document, assumptions).map_err(|fault| faulty(vec![fault]))?;
    let document = &reckoning.document;
    let asked = !document.findings.is_empty() || !document.tests.is_empty();
    let answer = asked.then(|| reckoning.inquire(&reckoning.question()));
    Ok(Beside {
        name: document.batch.name.clone(),
        found: document.findings.iter().map(finding_words).collect(),
        tests: document.tests.iter().map(test_words).collect(),
        verdict: answer.and_then(Result::ok).map(|a| verdict(&a).words()),
        reckoning: Box::new(reckoning),
    })
}

/// Work that is counted, and may be stopped.
struct Work<'g> {
    done: AtomicUsize,
    about: usize,
    go_on: GoOn<'g>,
}

impl<'g> Work<'g> {
    fn new(question: &Question, batches: usize, go_on: GoOn<'g>) -> Self {
        let split = 1 << split::MOST_EXACT;
        Self {
            done: AtomicUsize::new(0),
            about: (batches - 1) * (question.draws + split),
            go_on,
        }
    }

    /// Counts one more.
    fn step(&self) -> Result<(), CompareError> {
        let done = self.done.fetch_add(1, Ordering::Relaxed) + 1;
        if (self.go_on)(done.min(self.about), self.about) {
            Ok(())
        } else {
            Err(CompareError::Stopped)
        }
    }
}

/// Where the differences of two batches lie nine times in ten, what both share drawn once;
/// nothing where it was not asked for, or where too few draws can be brewed.
fn betweens(
    texts: (&str, &str),
    question: &Question,
    work: &Work<'_>,
) -> Result<Vec<Between>, CompareError> {
    /// The middle nine tenths.
    const TAIL: f64 = 0.05;
    if question.draws == 0 {
        return Ok(Vec::new());
    }
    let go_on = || work.step().is_ok();
    let drawn = paired(
        texts,
        question.draws,
        question.seed as u32,
        &figures::numbers,
        &go_on,
    );
    let drawn: Vec<Pair> = match drawn {
        Ok(drawn) => drawn,
        Err(CertaintyError::Stopped) => return Err(CompareError::Stopped),
        Err(error) => return Err(CompareError::Certainty(error)),
    };
    let brewed: Vec<&(Vec<f64>, Vec<f64>)> = drawn.iter().flatten().collect();
    if 3 * brewed.len() < 2 * drawn.len() {
        return Ok(Vec::new());
    }
    let of = |(g, watched): (usize, &Watched)| {
        let mut apart: Vec<f64> = brewed
            .iter()
            .filter_map(|(a, b)| Some(b.get(g)? - a.get(g)?))
            .collect();
        let finite = !apart.is_empty() && apart.iter().all(|x| x.is_finite());
        apart.sort_unstable_by(f64::total_cmp);
        finite.then(|| Between {
            key: watched.key,
            low: quantile(&apart, TAIL),
            high: quantile(&apart, 1.0 - TAIL),
        })
    };
    Ok(FIGURES.iter().enumerate().filter_map(of).collect())
}

impl Part {
    /// In one phrase: "0.6 kg more pilsner malt", "boil time 15 min longer".
    #[must_use]
    pub fn phrase(&self) -> String {
        told::phrase(&self.what, &self.changes)
    }

    /// The same where it is one thing; of several things only what they belong to.
    #[must_use]
    pub fn short(&self) -> String {
        match self.changes.as_slice() {
            [_] => self.phrase(),
            _ => self.what.clone(),
        }
    }
}

impl Against {
    /// A figure that differs, by its key.
    #[must_use]
    pub fn figure(&self, key: &str) -> Option<&Difference> {
        self.figures.iter().find(|f| f.key == key)
    }
}

impl Difference {
    /// One of its numbers, printed.
    #[must_use]
    pub fn print(&self, number: f64, units: Units) -> String {
        (self.watched.show)(number, units)
    }

    /// The whole difference, printed with its sign.
    #[must_use]
    pub fn change(&self, units: Units) -> String {
        (self.watched.change)(self.from, self.to, units)
    }

    /// The larger end: what else is told beside it is told in its unit.
    fn larger(&self) -> f64 {
        if self.to.abs() > self.from.abs() {
            self.to
        } else {
            self.from
        }
    }

    /// A share of it, printed with its sign.
    #[must_use]
    pub fn print_share(&self, share: f64, units: Units) -> String {
        let end = self.larger();
        (self.watched.change)(end - share, end, units)
    }

    /// Whether the two can be told apart; none where that was not asked for.
    #[must_use]
    pub fn told_apart(&self) -> Option<bool> {
        self.between.map(|(low, high)| low > 0.0 || high < 0.0)
    }
}
