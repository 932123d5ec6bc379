//! One answer: malts, hops and temperatures by convex steps, salts and acid by their own
//! search, one after the other until both stand.

use std::sync::atomic::{AtomicUsize, Ordering};

use super::change::changes;
use super::convex::{Bound, Style};
use super::goal::Goal;
use super::levers::{AtHand, Template};
use super::practical::{fewer, rounded};
use super::problem::{GoOn, Problem};
use super::search::{Ended, search};
use super::typed::Read;
use super::water::{Treated, treated};
use crate::document::Document;
use crate::liquor::minerals::{Change, apply};
use crate::stream::Reckoning;

/// Turns between malts and water.
const TURNS: usize = 3;

/// A document, a question, and what may move.
pub(super) struct Work<'w> {
    pub(super) text: &'w str,
    pub(super) document: &'w Document,
    pub(super) asked: &'w Read,
    pub(super) template: &'w Template,
    pub(super) at_hand: Option<&'w AtHand<'w>>,
    pub(super) reckoned: &'w AtomicUsize,
    pub(super) go_on: GoOn<'w>,
}

/// What an answer is to be.
pub(super) struct Wanted {
    pub(super) style: Style,
    /// Levers that stay.
    pub(super) held: Vec<bool>,
    /// Ingredients are left out as long as the aim is met.
    pub(super) few: bool,
    pub(super) start: Vec<f64>,
}

/// Where an answer ended.
#[derive(Debug, Clone)]
pub(super) struct Solved {
    pub(super) ended: Ended,
    pub(super) held: Vec<bool>,
    pub(super) treated: Treated,
    /// With its salts and acid.
    pub(super) filled: Document,
}

impl Work<'_> {
    /// Whether salts and acid are searched for.
    pub(super) fn treats(&self) -> bool {
        self.asked.water_moves() && self.asked.goals.iter().any(|g| g.figure.of_water)
    }

    /// The goals of the convex steps: without those of the water where that is searched
    /// for by itself.
    pub(super) fn goals(&self) -> Vec<Goal> {
        let treats = self.treats();
        let of = self.asked.goals.iter();
        of.filter(|g| !(treats && g.figure.of_water))
            .copied()
            .collect()
    }

    pub(super) fn now(&self) -> Vec<f64> {
        self.template.levers.iter().map(|l| l.now).collect()
    }

    pub(super) fn problem<'p>(&'p self, filled: &'p Document, goals: &'p [Goal]) -> Problem<'p> {
        Problem {
            document: filled,
            levers: &self.template.levers,
            together: &self.template.together,
            goals,
            reckoned: self.reckoned,
            go_on: self.go_on,
        }
    }

    /// Finds an answer; none where it cannot be brewed from where it starts, or was
    /// stopped.
    pub(super) fn solved(&self, wanted: Wanted) -> Option<Solved> {
        let goals = self.goals();
        let Wanted {
            style,
            mut held,
            few,
            start,
        } = wanted;
        let mut filled = self.template.document.clone();
        let mut from = start;
        let mut turn = 0;
        let most = self.asked.most;
        loop {
            turn += 1;
            let problem = self.problem(&filled, &goals);
            let mut ended = search(&problem, &style, &from, &held)?;
            if turn == 1 && (few || most.is_some()) && !ended.stopped {
                ended = fewer(&problem, &style, ended, &mut held, most);
            }
            if ended.stopped {
                return None;
            }
            let settled = rounded(&problem, &style, &ended, &held);
            let ended = Ended {
                bounds: ended.bounds,
                ..settled
            };
            if !self.treats() {
                let treated = Treated::default();
                return Some(Solved {
                    ended,
                    held,
                    treated,
                    filled,
                });
            }
            let treated = self.treated(&ended.values)?;
            let with_water = self.read(&ended.values, &treated.changes)?;
            filled.water = with_water.water;
            let figures = self.problem(&filled, &goals).figures(&ended.values)?;
            let stands = self.problem(&filled, &goals).worst(&figures) <= 1e-9;
            let ended = Ended { figures, ..ended };
            if stands || turn == TURNS {
                return Some(Solved {
                    ended,
                    held,
                    treated,
                    filled,
                });
            }
            from = ended.values;
        }
    }

    /// Salts and acid for these values.
    fn treated(&self, values: &[f64]) -> Option<Treated> {
        (self.go_on)(self.reckoned.load(Ordering::Relaxed)).then_some(())?;
        let document = self.read(values, &[])?;
        Some(treated(document, &self.asked.goals, self.at_hand))
    }

    /// All changes of an answer, in an order in which they can be made.
    pub(super) fn changes(&self, values: &[f64], of_water: &[Change]) -> Vec<Change> {
        let mut all = changes(self.template, self.document, values);
        all.extend(of_water.iter().cloned());
        all
    }

    fn read(&self, values: &[f64], of_water: &[Change]) -> Option<Document> {
        let text = apply(self.text, &self.changes(values, of_water)).ok()?;
        Some(Document::read(&text).ok()?.0)
    }

    /// The document of an answer, reckoned.
    pub(super) fn document_of(&self, solved: &Solved) -> Option<(String, Vec<Change>, Reckoning)> {
        let changes = self.changes(&solved.ended.values, &solved.treated.changes);
        let text = apply(self.text, &changes).ok()?;
        let (document, assumptions) = Document::read(&text).ok()?;
        let reckoning = Reckoning::of(document, assumptions).ok()?;
        Some((text, changes, reckoning))
    }

    /// Limits that stood against the aim at the end of the steps.
    pub(super) fn bounds(&self, solved: &Solved) -> Vec<Bound> {
        let mut bounds = solved.ended.bounds.clone();
        bounds.sort_by(|a, b| b.push.total_cmp(&a.push));
        bounds
    }
}
