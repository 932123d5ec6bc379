//! What stands against an aim that cannot be met, each tried before it is told.

use super::convex::{Limit, Style};
use super::goal::Goal;
use super::lever::{Lever, Limited, Together};
use super::problem::Problem;
use super::search::{Ended, search};
use super::typed::GROUPS;
use super::work::{Solved, Work};
use super::{MatchError, levers};

/// Something that stands against the aim.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// One limit: without it the aim could be met, with so much.
    Limit {
        /// The lever that would go there; its place among the levers.
        lever: usize,
        /// Where it ends now.
        ends: f64,
        /// Who says so.
        limited: Limited,
        /// Where it would go.
        would: f64,
        /// Whether the whole aim could be met then.
        enough: bool,
    },
    /// A limit on several together.
    Together {
        /// It, in words.
        name: String,
        /// Who says so.
        limited: Limited,
        /// Whether the whole aim could be met without it.
        enough: bool,
    },
    /// Without this aim the others could be met.
    Goal {
        /// The key of its figure.
        key: &'static str,
        /// What it would come to then.
        would: f64,
    },
    /// Nothing that may move takes this figure nearer to its aim from where it ended.
    Flat {
        /// The key of the figure.
        key: &'static str,
        /// Where it ended.
        at: f64,
    },
    /// More could move.
    Group {
        /// What stands still now.
        groups: Vec<&'static str>,
    },
}

/// Limits that are tried one by one.
const TRIED: usize = 6;
/// An end that is given up goes so many scales further.
const FURTHER: f64 = 40.0;
/// A limit that brings the aim this much nearer is worth a word, in tolerances.
const NEARER: f64 = 0.25;
/// A lever that moves a figure by less than this along its scale moves it nowhere, in
/// tolerances.
const FLAT: f64 = 0.05;

pub(super) fn blocks(work: &Work<'_>, best: &Solved) -> Result<Vec<Block>, MatchError> {
    let goals = work.goals();
    let own = Own {
        work,
        best,
        goals: &goals,
    };
    let mut found = Vec::new();
    if own.worst(&best.ended.figures) > 1e-9 {
        found.extend(own.flat());
        found.extend(own.limits());
        found.extend(own.aims());
    }
    let alone = found.iter().any(|b| match b {
        Block::Limit { enough, .. } | Block::Together { enough, .. } => *enough,
        _ => false,
    });
    if !alone {
        found.extend(own.groups()?);
    }
    Ok(found)
}

struct Own<'o> {
    work: &'o Work<'o>,
    best: &'o Solved,
    goals: &'o [Goal],
}

impl Own<'_> {
    fn worst(&self, figures: &[f64]) -> f64 {
        let each = self.goals.iter().zip(figures);
        each.map(|(g, f)| g.beyond(*f)).fold(0.0, f64::max)
    }

    /// Hardly any pull but the aim itself, and as little of one lever as will do.
    fn style(&self, little_of: Option<(usize, f64)>) -> Style {
        let mut cost = vec![0.0; self.work.template.levers.len()];
        if let Some((i, sign)) = little_of {
            cost[i] = 0.05 * sign;
        }
        Style {
            centre: 1e-3,
            change: 1e-3,
            cost,
        }
    }

    fn tried(
        &self,
        levers: &[Lever],
        together: &[Together],
        goals: &[Goal],
        style: &Style,
    ) -> Option<Ended> {
        let problem = Problem {
            document: &self.best.filled,
            levers,
            together,
            goals,
            reckoned: self.work.reckoned,
            go_on: self.work.go_on,
        };
        search(&problem, style, &self.best.ended.values, &self.best.held)
    }

    /// Missed figures that no lever moves the right way, within its ends and worth a word.
    fn flat(&self) -> Vec<Block> {
        let ended = &self.best.ended;
        let levers = &self.work.template.levers;
        let mut found = Vec::new();
        for (k, goal) in self.goals.iter().enumerate() {
            let at = ended.figures[k];
            if goal.met(at) {
                continue;
            }
            let up = if goal.low.is_some_and(|low| at < low) {
                1.0
            } else {
                -1.0
            };
            let nearer = (0..levers.len()).map(|i| {
                let slope = up * ended.slopes[k][i] / goal.tolerance;
                let room = if slope > 0.0 {
                    levers[i].most - ended.values[i]
                } else {
                    ended.values[i] - levers[i].least
                };
                if room > 1e-6 * levers[i].scale {
                    slope.abs()
                } else {
                    0.0
                }
            });
            if nearer.fold(0.0, f64::max) < FLAT {
                found.push(Block::Flat {
                    key: goal.figure.key,
                    at,
                });
            }
        }
        found
    }

    /// The limits that pushed hardest, each given up alone.
    fn limits(&self) -> Vec<Block> {
        let (levers, together) = (&self.work.template.levers, &self.work.template.together);
        let before = self.worst(&self.best.ended.figures);
        let mut found = Vec::new();
        for bound in self.work.bounds(self.best).into_iter().take(TRIED) {
            let (mut eased, mut kept) = (levers.clone(), together.clone());
            let (lever, sign) = match bound.limit {
                Limit::Most(i) => {
                    eased[i].most += FURTHER * eased[i].scale;
                    kept.retain(|t| t.factors[i] >= 0.0);
                    (Some(i), 1.0)
                }
                Limit::Least(i) => {
                    // There is no less than nothing of an ingredient.
                    if eased[i].is_ingredient() && eased[i].least <= 0.0 {
                        continue;
                    }
                    eased[i].least = if eased[i].is_ingredient() {
                        0.0
                    } else {
                        eased[i].least - 4.0 * eased[i].scale
                    };
                    (Some(i), -1.0)
                }
                Limit::Together(at) => {
                    kept.remove(at);
                    (None, 0.0)
                }
            };
            let style = self.style(lever.map(|i| (i, sign)));
            let Some(ended) = self.tried(&eased, &kept, self.goals, &style) else {
                continue;
            };
            let after = self.worst(&ended.figures);
            if after > before - NEARER && after > 1e-9 {
                continue;
            }
            let enough = after <= 1e-9;
            found.push(match bound.limit {
                Limit::Most(i) | Limit::Least(i) => Block::Limit {
                    lever: i,
                    ends: if sign > 0.0 {
                        levers[i].most
                    } else {
                        levers[i].least
                    },
                    limited: levers[i].limited.clone(),
                    would: ended.values[i],
                    enough,
                },
                Limit::Together(at) => Block::Together {
                    name: together[at].name.clone(),
                    limited: together[at].limited.clone(),
                    enough,
                },
            });
        }
        found.sort_by_key(|b| match b {
            Block::Limit { enough, .. } | Block::Together { enough, .. } => !enough,
            _ => true,
        });
        found
    }

    /// Each aim given up alone.
    fn aims(&self) -> Vec<Block> {
        let template = self.work.template;
        let mut found = Vec::new();
        for at in 0..self.goals.len() {
            let mut others = self.goals.to_vec();
            let gone = others.remove(at);
            if others.is_empty() {
                continue;
            }
            // It still pulls a little: what it would come to is the nearest.
            let mut wide = gone;
            wide.tolerance *= 1e3;
            let centre = gone.low.or(gone.high).unwrap_or(0.0);
            wide.low = gone.low.map(|_| centre - wide.tolerance);
            wide.high = gone.high.map(|_| centre + wide.tolerance);
            others.insert(at, wide);
            let style = self.style(None);
            let Some(ended) = self.tried(&template.levers, &template.together, &others, &style)
            else {
                continue;
            };
            let rest = self.goals.iter().zip(&ended.figures).enumerate();
            let rest = rest.filter(|(k, _)| *k != at);
            let worst = rest.map(|(_, (g, f))| g.beyond(*f)).fold(0.0, f64::max);
            if worst <= 1e-9 {
                found.push(Block::Goal {
                    key: gone.figure.key,
                    would: ended.figures[at],
                });
            }
        }
        found
    }

    /// Everything that stands still let go.
    fn groups(&self) -> Result<Option<Block>, MatchError> {
        let asked = self.work.asked;
        let still: Vec<&'static str> = GROUPS
            .iter()
            .map(|(name, _)| *name)
            .filter(|name| *name != "water" && asked.moves.iter().all(|m| m != name))
            .collect();
        if still.is_empty() {
            return Ok(None);
        }
        let reaches = |groups: &[&'static str]| -> Result<bool, MatchError> {
            let mut more = asked.clone();
            more.moves.extend(groups.iter().map(|g| (*g).to_owned()));
            let template =
                levers::template(self.work.text, self.work.document, &more, self.work.at_hand)
                    .map_err(MatchError::Question)?;
            let mut filled = template.document.clone();
            filled.water = self.best.filled.water.clone();
            let problem = Problem {
                document: &filled,
                levers: &template.levers,
                together: &template.together,
                goals: self.goals,
                reckoned: self.work.reckoned,
                go_on: self.work.go_on,
            };
            // From where it ended, wherever the same key moves there too.
            let ended = self
                .work
                .template
                .levers
                .iter()
                .zip(&self.best.ended.values);
            let ended: Vec<(&String, f64)> = ended.map(|(l, v)| (&l.path, *v)).collect();
            let start = template.levers.iter().map(|lever| {
                let known = ended.iter().find(|(path, _)| **path == lever.path);
                known.map_or(lever.now, |(_, value)| *value)
            });
            let start: Vec<f64> = start.collect();
            let style = Style {
                centre: 1e-3,
                change: 1e-3,
                cost: vec![0.0; template.levers.len()],
            };
            let held = vec![false; template.levers.len()];
            let found = search(&problem, &style, &start, &held);
            Ok(found.is_some_and(|f| problem.worst(&f.figures) <= 1e-9))
        };
        if !reaches(&still)? {
            return Ok(None);
        }
        // Only those that it takes.
        let mut needed = still;
        for group in needed.clone() {
            let fewer: Vec<&'static str> = needed.iter().copied().filter(|g| *g != group).collect();
            if !fewer.is_empty() && reaches(&fewer)? {
                needed = fewer;
            }
        }
        Ok(Some(Block::Group { groups: needed }))
    }
}
