//! A batch as nature may have it: its document reckoned with every doubt at some chance.

use std::sync::Arc;

use rayon::prelude::*;
use toml::de::DeTable;

use super::answer::{Certainty, Share, Sure};
use super::decided::Decided;
use super::doubt::{Doubt, Doubts};
use super::figures::{FIGURES, Watched};
use super::together::{self, Together};
use super::{CertaintyError, Question, Stopped, sobol};
use crate::document::Document;
use crate::reader::{Fault, Memory, Pass};
use crate::stream::Reckoning;

/// Share below which a doubt is not worth a word.
const LITTLE: f64 = 0.01;
/// The middle nine tenths.
const TAIL: f64 = 0.05;
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

    /// The reckoning with each doubt at a chance.
    pub(super) fn reckoned_at(&self, mut chances: Vec<f64>) -> Result<Reckoning, Fault> {
        self.together.iter().for_each(|t| t.tie(&mut chances));
        let mut doubts = Doubts::Drawn { chances, met: 0 };
        let mut memory = Memory::of(&self.pass);
        let (document, _) = Document::read_doubting(self.table, &mut doubts, &mut memory)
            .map_err(|mut faults| faults.swap_remove(0))?;
        Reckoning::drawn(document, &self.decided, &mut doubts)
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

    pub(super) fn draws(
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

    pub(super) fn judged(
        self,
        draws: &[Result<Vec<f64>, Fault>],
        factors: &[Vec<usize>],
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
            sure(watched, self.reckoned[g], drawn, factors, shares.get(g))
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
    factors: &[Vec<usize>],
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
        quantiles: (0..=STEPS)
            .map(|i| quantile(&drawn, f64::from(i) / f64::from(STEPS)))
            .collect(),
        shares: shares.map_or_else(Vec::new, |shares| ranked(factors, shares)),
        show: watched.show,
        between: watched.between,
    })
}

/// Of a sorted sample, by straight lines between its members.
pub(crate) fn quantile(sorted: &[f64], p: f64) -> f64 {
    let at = p * (sorted.len() - 1) as f64;
    let (low, part) = (at.floor() as usize, at.fract());
    let high = (low + 1).min(sorted.len() - 1);
    sorted[low] + part * (sorted[high] - sorted[low])
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
