//! In which order causes are joined, so that few present effects are open at a time.
//!
//! An effect is open from the first cause that can fire it to the last: a table over
//! sets of open effects doubles with each. The order is sought greedily, from several
//! beginnings (the width of a path through the network; finding the best is NP-hard:
//! Arnborg, Corneil & Proskurowski 1987, from memory).

use crate::error::InquiryError;

/// The most effects that may be open; time and memory double with each.
const MOST_OPEN: usize = 16;

/// The most effects that a set of the search holds.
const MOST: usize = u128::BITS as usize;

/// From here on other beginnings are tried: below, a table is small anyway.
const WIDE: u32 = 6;

/// A cause to join.
pub(crate) struct Step {
    pub cause: usize,
    /// Effects that are open once it opened its own, by their place.
    pub open: Vec<usize>,
    /// Those that it opens, in the order of their places: the last ones.
    pub opens: Vec<usize>,
    /// Places that it closes, the highest first.
    pub closes: Vec<usize>,
}

/// The causes that fire any of `effects` present effects, given what each fires.
///
/// # Errors
/// [`InquiryError::TooMany`] where too many would be open at once; never for 16 or fewer.
pub(crate) fn order(fires: &[Vec<usize>], effects: usize) -> Result<Vec<Step>, InquiryError> {
    let refused = InquiryError::TooMany {
        given: effects,
        most: MOST_OPEN,
    };
    if effects > MOST {
        return Err(refused);
    }
    let mask = |of: &Vec<usize>| of.iter().fold(0_u128, |all, f| all | 1 << f);
    let masks: Vec<u128> = fires.iter().map(mask).collect();
    let loud: Vec<usize> = (0..masks.len()).filter(|c| masks[*c] != 0).collect();
    let mut best = Path::from(None, &loud, &masks);
    if best.widest > WIDE {
        for first in &loud {
            let path = Path::from(Some(*first), &loud, &masks);
            if path.cost < best.cost {
                best = path;
            }
        }
    }
    if best.widest as usize > MOST_OPEN {
        return Err(refused);
    }
    Ok(steps(&best.causes, &masks))
}

/// An order of causes, and what it costs.
struct Path {
    causes: Vec<usize>,
    /// Sum of the sizes of its tables.
    cost: f64,
    /// The most effects that are open in it.
    widest: u32,
}

impl Path {
    /// Always on to the cause that leaves the fewest effects open, after a first one.
    fn from(first: Option<usize>, loud: &[usize], masks: &[u128]) -> Self {
        let mut path = Self {
            causes: Vec::new(),
            cost: 0.0,
            widest: 0,
        };
        let mut left = loud.to_vec();
        let mut open = 0;
        while !left.is_empty() {
            let once = fired_once(&left, masks);
            let wide = |c: usize| (open | masks[c]).count_ones();
            let after = |c: usize| ((open | masks[c]) & !(once & masks[c])).count_ones();
            let next = match first.filter(|_| path.causes.is_empty()) {
                Some(first) => first,
                None => {
                    let costs = |c: &&usize| (after(**c), wide(**c));
                    left.iter().min_by_key(costs).copied().unwrap_or_default()
                }
            };
            path.widest = path.widest.max(wide(next));
            path.cost += f64::from(wide(next)).exp2();
            open = (open | masks[next]) & !(once & masks[next]);
            left.retain(|c| *c != next);
            path.causes.push(next);
        }
        path
    }
}

/// Effects that exactly one of some causes can fire.
fn fired_once(causes: &[usize], masks: &[u128]) -> u128 {
    let (mut once, mut more) = (0, 0);
    for mask in causes.iter().map(|c| masks[*c]) {
        more |= once & mask;
        once |= mask;
    }
    once & !more
}

fn steps(causes: &[usize], masks: &[u128]) -> Vec<Step> {
    let mut open: Vec<usize> = Vec::new();
    let mut steps = Vec::new();
    for (n, cause) in causes.iter().enumerate() {
        let mask = masks[*cause];
        let later = causes[n + 1..].iter().fold(0, |all, c| all | masks[*c]);
        let new = |f: &usize| mask >> f & 1 == 1 && !open.contains(f);
        let opens: Vec<usize> = (0..MOST).filter(new).collect();
        open.extend(&opens);
        let done = |at: &usize| later >> open[*at] & 1 == 0;
        let closes: Vec<usize> = (0..open.len()).rev().filter(done).collect();
        let held = open.clone();
        closes.iter().for_each(|at| {
            open.remove(*at);
        });
        steps.push(Step {
            cause: *cause,
            open: held,
            opens,
            closes,
        });
    }
    steps
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Causes in a chain share one effect with the next: never more than two are open,
    /// however many there are.
    #[test]
    fn a_chain_stays_narrow() {
        let fires: Vec<Vec<usize>> = (0..40).map(|c| vec![c, c + 1]).collect();
        let steps = order(&fires, 41).unwrap_or_default();
        assert_eq!(steps.len(), 40);
        assert!(steps.iter().all(|s| s.open.len() <= 3));
    }

    /// Every effect is opened once and closed once, by a cause that fires it.
    #[test]
    fn what_is_opened_is_closed() {
        let fires = vec![vec![0, 3], vec![], vec![1, 2, 3], vec![4], vec![0, 4]];
        let steps = order(&fires, 5).unwrap_or_default();
        let mut opened: Vec<usize> = steps.iter().flat_map(|s| s.opens.clone()).collect();
        let closed = |s: &Step| s.closes.iter().map(|at| s.open[*at]).collect::<Vec<_>>();
        let mut closed: Vec<usize> = steps.iter().flat_map(closed).collect();
        opened.sort_unstable();
        closed.sort_unstable();
        assert_eq!(opened, [0, 1, 2, 3, 4]);
        assert_eq!(closed, opened);
    }

    #[test]
    fn too_many_that_hang_together_are_refused() {
        let all: Vec<usize> = (0..17).collect();
        let fires = vec![all.clone(), all];
        assert!(order(&fires, 17).is_err());
    }
}
