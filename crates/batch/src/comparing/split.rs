//! One batch held against another: what differs in parts, and their shares.

use std::cmp::Reverse;
use std::sync::atomic::{AtomicUsize, Ordering};

use quantity::Units;
use rayon::prelude::*;

use super::figures::numbers;
use super::parts::{Apart, Part};
use super::shapley::{self, MOST_PARTS, Set, Split};
use super::{Against, CompareError, Difference, Question, Share, Work};
use crate::certainty::figures::FIGURES;
use crate::document::Document;
use crate::stream::Reckoning;

/// So many parts are split over every order; that takes 2¹⁰ reckonings.
pub(super) const MOST_EXACT: usize = 10;

/// The parts between two batches, reckoned with any of them taken over.
pub(super) struct Splitting<'s> {
    apart: Apart,
    from: Vec<f64>,
    to: Vec<f64>,
    work: &'s Work<'s>,
    reckoned: AtomicUsize,
    notes: Vec<String>,
}

/// Why a set of parts gives no figures.
enum Unmixed {
    /// The document that comes of it cannot be reckoned.
    Impossible,
    Stopped,
}

impl<'s> Splitting<'s> {
    pub(super) fn of(
        texts: (&str, &str),
        ends: (&Reckoning, &Reckoning),
        question: &Question,
        work: &'s Work<'s>,
    ) -> Result<Against, CompareError> {
        // Both were read before: they are TOML.
        let apart = Apart::of(texts.0, texts.1).ok_or(CompareError::Stopped)?;
        let mut splitting = Self {
            from: numbers(ends.0),
            to: numbers(ends.1),
            apart,
            work,
            reckoned: AtomicUsize::new(0),
            notes: Vec::new(),
        };
        splitting.gather(question);
        let moving = splitting.mend()?;
        splitting.split(moving, question)
    }

    /// Puts together what stands in one section, until there are few enough.
    fn gather(&mut self, question: &Question) {
        let most = if question.finely {
            MOST_PARTS
        } else {
            MOST_EXACT
        };
        while self.apart.parts.len() > most {
            let mut sections = self.apart.sections();
            let held = |s: &String| {
                let within = self.apart.parts.iter().filter(|p| p.section == *s);
                within.count()
            };
            sections.retain(|s| held(s) > 1);
            sections.sort_by_key(|s| Reverse(held(s)));
            match sections.first() {
                Some(section) => self.apart.join(&section.clone()),
                None => break,
            }
        }
    }

    /// Puts together what cannot be taken over by itself, and gives the parts that move a
    /// figure: those that do alone, or as the last.
    fn mend(&mut self) -> Result<Vec<usize>, CompareError> {
        loop {
            let n = self.apart.parts.len();
            let all = shapley::all(n);
            let probe = |i: usize| {
                let alone = self.at(1 << i)?;
                let last = self.at(all & !(1 << i))?;
                Ok(moved(&alone, &self.from) || moved(&last, &self.to))
            };
            let probed: Vec<Result<bool, Unmixed>> = (0..n).into_par_iter().map(probe).collect();
            let stopped = probed.iter().any(|p| matches!(p, Err(Unmixed::Stopped)));
            if stopped {
                return Err(CompareError::Stopped);
            }
            let stuck = probed.iter().position(Result::is_err);
            let Some(stuck) = stuck else {
                let moving = probed.iter().enumerate();
                let moves = moving.filter(|(_, p)| matches!(p, Ok(true)));
                return Ok(moves.map(|(n, _)| n).collect());
            };
            if n == 1 {
                return Ok(vec![0]);
            }
            let what = self.loosen(stuck);
            self.notes.push(together_words(&what));
        }
    }

    /// Puts a part that cannot be taken over by itself together with all that stands in its
    /// section, with the one that it hangs on, or with everything.
    fn loosen(&mut self, stuck: usize) -> String {
        let n = self.apart.parts.len();
        let all = shapley::all(n);
        let goes = |set: Set| self.at(set).is_ok() && self.at(all & !set).is_ok();
        let section = self.apart.parts[stuck].section.clone();
        let within = (0..n).filter(|i| self.apart.parts[*i].section == section);
        let together: Set = within.fold(0, |set, i| set | 1 << i);
        if together.count_ones() > 1 && goes(together) {
            self.apart.join(&section);
            return section;
        }
        let hangs_on = |other: &usize| *other != stuck && goes(1 << stuck | 1 << other);
        match (0..n).find(hangs_on) {
            Some(other) => self.apart.pair(stuck, other),
            None => self.apart.join_all(),
        }
    }

    fn together(&mut self) {
        let what = self.apart.join_all();
        self.notes.clear();
        self.notes.push(together_words(&what));
    }

    fn split(
        mut self,
        mut moving: Vec<usize>,
        question: &Question,
    ) -> Result<Against, CompareError> {
        let mut split = self.shares(&moving, question);
        if matches!(split, Err(Unmixed::Impossible)) {
            self.together();
            moving = vec![0];
            split = self.shares(&moving, question);
        }
        let Ok(split) = split else {
            return Err(CompareError::Stopped);
        };
        let figures = (0..FIGURES.len()).filter_map(|g| self.figure(g, &moving, &split));
        let figures = figures.collect();
        let still = (0..self.apart.parts.len()).filter(|n| !moving.contains(n));
        let still = still.collect();
        let parts = self.apart.parts.into_iter();
        let told = parts.map(|p| Part::told(p.what, p.stage, p.changes));
        Ok(Against {
            figures,
            still,
            every_order: split.errors.is_none(),
            reckoned: self.reckoned.load(Ordering::Relaxed),
            parts: told.collect(),
            told: self.apart.told,
            notes: self.notes,
            between: Vec::new(),
        })
    }

    fn shares(&self, moving: &[usize], question: &Question) -> Result<Split, Unmixed> {
        let whole = shapley::all(moving.len());
        let value = |set: Set| {
            let taken = moving
                .iter()
                .enumerate()
                .filter(|(at, _)| set & 1 << at != 0);
            match set {
                0 => Ok(self.from.clone()),
                all if all == whole => Ok(self.to.clone()),
                _ => self.at(taken.fold(0, |s, (_, part)| s | 1 << part)),
            }
        };
        if moving.len() <= MOST_EXACT {
            shapley::exact(moving.len(), value)
        } else {
            shapley::drawn(moving.len(), question.orders.max(2), question.seed, value)
        }
    }

    /// The figures with some parts taken over.
    fn at(&self, set: Set) -> Result<Vec<f64>, Unmixed> {
        self.work.step().map_err(|_| Unmixed::Stopped)?;
        self.reckoned.fetch_add(1, Ordering::Relaxed);
        let text = self.apart.mixed(set);
        let (read, _) = Document::read(&text).map_err(|_| Unmixed::Impossible)?;
        let r = Reckoning::figures_of(read).ok_or(Unmixed::Impossible)?;
        Ok(numbers(&r))
    }

    /// A figure that differs as it is printed.
    fn figure(&self, g: usize, moving: &[usize], split: &Split) -> Option<Difference> {
        let (watched, from, to) = (&FIGURES[g], self.from[g], self.to[g]);
        if !from.is_finite() || !to.is_finite() {
            return None;
        }
        let same = |units| {
            let [a, b] = [from, to].map(|x| (watched.show)(x, units));
            a == b || (watched.change)(from, to, units).starts_with('0')
        };
        if same(Units::Metric) && same(Units::Us) {
            return None;
        }
        let share = |(at, part): (usize, &usize)| Share {
            part: *part,
            by: split.shares[at][g],
            error: split.errors.as_ref().map(|errors| errors[at][g]),
        };
        let mut shares: Vec<Share> = moving.iter().enumerate().map(share).collect();
        if shares.iter().any(|s| !s.by.is_finite()) {
            shares.clear();
        }
        shares.sort_by(|a, b| b.by.abs().total_cmp(&a.by.abs()));
        Some(Difference {
            stage: watched.stage,
            key: watched.key,
            label: watched.label,
            from,
            to,
            shares,
            between: None,
            watched,
        })
    }
}

fn together_words(what: &str) -> String {
    format!("{what}: taken over together, as a batch with only some of it could not be brewed")
}

/// Whether any figure differs; what neither has does not.
fn moved(a: &[f64], b: &[f64]) -> bool {
    let differs = |(a, b): (&f64, &f64)| a.is_nan() != b.is_nan() || (a - b).abs() > 0.0;
    a.iter().zip(b).any(differs)
}
