//! A batch as nature may have it: its document reckoned with every doubt at some chance.

use std::sync::Arc;

use rayon::prelude::*;
use toml::de::DeTable;

use super::answer::{Certainty, Share, Sure};
use super::decided::Decided;
use super::doubt::{Doubt, Doubts};
use super::figures::{FIGURES, Watched};
use super::sobol::blocks;
use super::summary::Summary;
use super::together::{self, Together};
use super::{CertaintyError, Question, Stopped, sobol};
use crate::document::Document;
use crate::reader::{Fault, Memory, Pass};
use crate::stream::Reckoning;

/// Share below which a doubt is not worth a word.
const LITTLE: f64 = 0.01;
/// The middle nine tenths.
pub(super) const TAIL: f64 = 0.05;
/// Half per cents: what is kept of a sample.
const STEPS: u8 = 200;

/// A document, and what is not known of it.
pub(super) struct Nature<'t> {
    table: &'t DeTable<'t>,
    pass: Arc<Pass>,
    plan: Reckoning,
    doubts: Vec<Doubt>,
    /// The figures that this batch has.
    watched: Vec<&'static Watched>,
    reckoned: Vec<f64>,
    decided: Decided,
    together: Vec<Together>,
}

impl<'t> Nature<'t> {
    pub(super) fn of(table: &'t DeTable<'t>) -> Result<Self, CertaintyError> {
        let (mut doubts, mut memory) = (Doubts::Listed(vec![]), Memory::keeping());
        let (document, assumptions) = Document::read_doubting(table, &mut doubts, &mut memory)
            .map_err(CertaintyError::Document)?;
        let plan = Reckoning::doubting(document, assumptions, &mut doubts)
            .map_err(|fault| CertaintyError::Document(vec![fault]))?;
        let (watched, reckoned) = FIGURES
            .iter()
            .filter_map(|w| Some((w, (w.read)(&plan)?)))
            .unzip();
        let doubts = match doubts {
            Doubts::Listed(doubts) => doubts,
            Doubts::Kept | Doubts::Drawn { .. } => vec![],
        };
        let together = together::found(&plan.document.together, &doubts)
            .map_err(|fault| CertaintyError::Document(vec![fault]))?;
        Ok(Self {
            decided: Decided::by(&plan),
            table,
            pass: memory.pass(),
            plan,
            doubts,
            watched,
            reckoned,
            together,
        })
    }

    /// What is not known of it, in the order in which it is met.
    pub(super) fn doubts(&self) -> &[Doubt] {
        &self.doubts
    }

    /// The document with each doubt at a chance, and the doubts that it did not meet.
    fn document_at(&self, mut chances: Vec<f64>) -> Result<(Document, Doubts), Fault> {
        self.together.iter().for_each(|t| t.tie(&mut chances));
        let mut doubts = Doubts::Drawn { chances, met: 0 };
        let mut memory = Memory::of(&self.pass);
        let (document, _) = Document::read_doubting(self.table, &mut doubts, &mut memory)
            .map_err(|mut faults| faults.swap_remove(0))?;
        Ok((document, doubts))
    }

    /// The reckoning with each doubt at a chance.
    pub(super) fn reckoned_at(&self, chances: Vec<f64>) -> Result<Reckoning, Fault> {
        let (document, mut doubts) = self.document_at(chances)?;
        Reckoning::drawn(document, &self.decided, &mut doubts)
    }

    /// Draws what `read` takes from each document; none where it cannot be read.
    pub(super) fn read_documents(
        &self,
        draws: usize,
        seed: u32,
        read: &(dyn Fn(&Document) -> Option<Vec<f64>> + Sync),
    ) -> Vec<Option<Vec<f64>>> {
        let k = self.doubts.len();
        let draw = |j: u32| {
            let drawn = self.document_at(sobol::point(j, 0..k, seed));
            read(&drawn.ok()?.0)
        };
        (0..draws as u32).into_par_iter().map(draw).collect()
    }

    /// Draws what `read` takes from each reckoning; none where it cannot be brewed.
    pub(super) fn read(
        &self,
        draws: usize,
        seed: u32,
        read: &(dyn Fn(&Reckoning) -> Option<Vec<f64>> + Sync),
        go_on: &(dyn Fn() -> bool + Sync),
    ) -> Result<Vec<Option<Vec<f64>>>, CertaintyError> {
        let k = self.doubts.len();
        let draw = |j: u32| {
            if !go_on() {
                return Err(CertaintyError::Stopped);
            }
            let drawn = self.reckoned_at(sobol::point(j, 0..k, seed));
            Ok(drawn.ok().and_then(|r| read(&r)))
        };
        (0..draws as u32).into_par_iter().map(draw).collect()
    }

    /// The figures with each doubt at a chance.
    fn at(&self, chances: Vec<f64>) -> Result<Vec<f64>, Fault> {
        let drawn = self.reckoned_at(chances)?;
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
    pub(super) fn with(&self, which: &[usize], chances: &[f64]) -> Result<Vec<f64>, Fault> {
        let mut all = vec![0.5; self.doubts.len()];
        which.iter().zip(chances).for_each(|(i, c)| all[*i] = *c);
        self.at(all)
    }

    /// The doubts that move a figure.
    pub(super) fn alive(&self) -> Vec<usize> {
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
        let mut alive: Vec<usize> = all.into_par_iter().filter(moves).collect();
        for tied in &self.together {
            if tied.doubts().iter().any(|i| alive.contains(i)) {
                alive.extend(tied.doubts());
            }
        }
        alive.sort_unstable();
        alive.dedup();
        alive
    }

    /// What moves apart from all else: each one alone, or several together, by their places
    /// among those that are alive.
    pub(super) fn apart(&self, alive: &[usize]) -> Vec<Vec<usize>> {
        let mut groups: Vec<Vec<usize>> = vec![];
        for (place, doubt) in alive.iter().enumerate() {
            let tied = self.together.iter().find(|t| t.doubts().contains(doubt));
            let is_of = |group: &&mut Vec<usize>| {
                tied.is_some_and(|t| group.iter().any(|p| t.doubts().contains(&alive[*p])))
            };
            match groups.iter_mut().find(is_of) {
                Some(group) => group.push(place),
                None => groups.push(vec![place]),
            }
        }
        groups
    }

    /// Draws the figures block by block: what is kept of them does not grow with their
    /// number, and is the same by any number of threads.
    pub(super) fn draws(
        &self,
        question: &Question,
        go_on: &(dyn Fn() -> bool + Sync),
    ) -> Result<Drawn, Stopped> {
        let k = self.doubts.len();
        let draw = |j: u32| {
            if !go_on() {
                return Err(Stopped);
            }
            Ok(self.at(sobol::point(j, 0..k, question.seed)))
        };
        let mut drawn = Drawn {
            figures: vec![Summary::default(); self.watched.len()],
            brewed: 0,
            refused: 0,
            refusal: None,
        };
        for block in blocks(question.draws) {
            let block: Vec<_> = block.into_par_iter().map(draw).collect::<Result<_, _>>()?;
            block.into_iter().for_each(|draw| drawn.add(draw));
        }
        Ok(drawn)
    }

    pub(super) fn judged(
        self,
        drawn: Drawn,
        factors: &[Vec<usize>],
        shares: &[sobol::Shares],
    ) -> Result<Certainty, CertaintyError> {
        let refusal = drawn.refusal;
        let refusal = refusal.map(|fault| format!("{}; {}", fault.message, fault.help));
        if drawn.brewed < 2 * drawn.refused {
            return Err(CertaintyError::Unbrewable {
                refused: drawn.refused,
                all: drawn.brewed + drawn.refused,
                why: refusal.unwrap_or_default(),
            });
        }
        let of = |(g, watched): (usize, &&'static Watched)| {
            let shares = shares.get(g);
            sure(
                watched,
                self.reckoned[g],
                &drawn.figures[g],
                factors,
                shares,
            )
        };
        let figures = self.watched.iter().enumerate().filter_map(of).collect();
        Ok(Certainty {
            figures,
            doubts: self.doubts,
            drawn: drawn.brewed,
            refused: drawn.refused,
            refusal,
        })
    }
}

/// Draws of every figure.
pub(super) struct Drawn {
    figures: Vec<Summary>,
    brewed: usize,
    refused: usize,
    /// Why the first that cannot be brewed cannot.
    refusal: Option<Fault>,
}

impl Drawn {
    fn add(&mut self, draw: Result<Vec<f64>, Fault>) {
        match draw {
            Ok(figures) => {
                self.brewed += 1;
                let each = self.figures.iter_mut().zip(figures);
                each.for_each(|(summary, x)| summary.add(x));
            }
            Err(fault) => {
                self.refused += 1;
                self.refusal.get_or_insert(fault);
            }
        }
    }
}

/// None where nothing moves the figure.
fn sure(
    watched: &Watched,
    reckoned: f64,
    drawn: &Summary,
    factors: &[Vec<usize>],
    shares: Option<&sobol::Shares>,
) -> Option<Sure> {
    let sd = drawn.sd();
    if sd <= 1e-9 * drawn.mean().abs() {
        return None;
    }
    let steps = (0..=STEPS).map(|i| f64::from(i) / f64::from(STEPS));
    let quantiles = drawn.quantiles(steps);
    // The ends are steps too.
    let at = |p: f64| quantiles[(p * f64::from(STEPS)).round() as usize];
    Some(Sure {
        stage: watched.stage,
        key: watched.key,
        label: watched.label,
        reckoned,
        likely: at(0.5),
        low: at(TAIL),
        high: at(1.0 - TAIL),
        sd,
        quantiles,
        shares: shares.map_or_else(Vec::new, |shares| ranked(factors, shares)),
        show: watched.show,
        between: watched.between,
    })
}

fn ranked(factors: &[Vec<usize>], shares: &sobol::Shares) -> Vec<Share> {
    let each = factors.iter().zip(shares.first.iter().zip(&shares.total));
    let mut ranked: Vec<Share> = each
        .map(|(doubts, (first, total))| Share {
            doubts: doubts.clone(),
            first: first.clamp(0.0, 1.0),
            total: total.clamp(0.0, 1.0),
        })
        .filter(|share| share.total >= LITTLE)
        .collect();
    ranked.sort_by(|a, b| b.total.total_cmp(&a.total));
    ranked
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A draw of what is likeliest is the plan: what draws leave out moves no figure.
    #[test]
    fn the_likeliest_draw_is_the_plan() {
        for text in [
            include_str!("../../../../examples/lantern-pale.toml"),
            include_str!("../../../../examples/lantern-pale-first.toml"),
            include_str!("../../../../examples/towpath-amber.toml"),
        ] {
            let table = DeTable::parse(text).unwrap();
            let nature = Nature::of(table.get_ref()).unwrap();
            let drawn = nature.with(&[], &[]).unwrap();
            assert_eq!(drawn.len(), nature.reckoned.len());
            for (drawn, (reckoned, watched)) in drawn
                .iter()
                .zip(nature.reckoned.iter().zip(&nature.watched))
            {
                let off = (drawn - reckoned).abs();
                assert!(off <= 1e-9 * reckoned.abs(), "{}: {off}", watched.key);
            }
        }
    }
}
