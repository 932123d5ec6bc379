//! Exact inference: which sets of the present effects each cause explains.
//!
//! The subset sum with alternating signs (Heckerman 1989) loses digits as findings
//! grow: its terms are near 1 while the evidence may have a chance of 10⁻²⁰. Here the
//! causes are joined one by one by the set of present effects that they account for,
//! and every term is positive, so that no digit is lost.

use crate::error::InquiryError;
use crate::network::{Evidence, Network, Node, Seen};

/// The most present effects; time and memory double with each.
pub(crate) const MOST_PRESENT: usize = 16;

/// Chances given the evidence.
#[derive(Debug, Clone, PartialEq)]
pub struct Posterior {
    /// Of each cause \[–\].
    pub causes: Vec<f64>,
    /// Of the evidence itself \[–\].
    pub evidence: f64,
    /// That none of the causes is there \[–\].
    pub none: f64,
}

/// What one cause does to the present effects: chance of firing exactly the set, and
/// nothing that was seen to be absent.
struct Fires {
    prior: f64,
    sets: Vec<(usize, f64)>,
}

pub(crate) fn posterior(net: &Network, evidence: &Evidence) -> Result<Posterior, InquiryError> {
    let present: Vec<&Seen> = evidence.seen.iter().filter(|s| s.present).collect();
    if present.len() > MOST_PRESENT {
        return Err(InquiryError::TooMany { given: present.len(), most: MOST_PRESENT });
    }
    let slots = slots(net, evidence);
    let fires: Vec<Fires> = (0..net.causes.len())
        .map(|i| fires(&net.causes[i], i, evidence, &slots))
        .collect();
    let leaks = leaks(net, evidence, &present);
    joined(&fires, &leaks)
}

/// Where each effect stands: a bit of the set if present, and its row.
struct Slot<'a> {
    bit: Option<usize>,
    seen: &'a Seen,
}

fn slots<'a>(net: &Network, evidence: &'a Evidence) -> Vec<Option<Slot<'a>>> {
    let mut slots: Vec<Option<Slot<'a>>> = net.leaks.iter().map(|_| None).collect();
    let mut next = 0;
    for seen in &evidence.seen {
        let bit = seen.present.then_some(next);
        next += usize::from(seen.present);
        slots[seen.effect] = Some(Slot { bit, seen });
    }
    slots
}

fn fires(node: &Node, cause: usize, evidence: &Evidence, slots: &[Option<Slot<'_>>]) -> Fires {
    let mut sets = vec![(0_usize, 1.0)];
    for trace in &node.traces {
        if trace.shows.iter().all(|(effect, _)| slots[*effect].is_none()) {
            continue;
        }
        let mut shown = vec![(0_usize, trace.made)];
        for (effect, link) in &trace.shows {
            let Some(slot) = &slots[*effect] else { continue };
            let link = link * slot.seen.keen;
            let agrees = slot.seen.agrees.row.map_or(1.0, |r| {
                evidence.agreements.get(r).and_then(|row| row.get(cause)).copied().unwrap_or(1.0)
            });
            let quiet = 1.0 - link;
            let bit = slot.bit;
            let mut next = Vec::with_capacity(shown.len() * 2);
            for (set, p) in shown {
                push(&mut next, set, p * quiet);
                if let Some(bit) = bit {
                    push(&mut next, set | 1 << bit, p * link * agrees);
                }
            }
            shown = next;
        }
        push(&mut shown, 0, 1.0 - trace.made);
        let mut next = Vec::with_capacity(sets.len() * shown.len());
        for &(a, p) in &sets {
            for &(b, q) in &shown {
                push(&mut next, a | b, p * q);
            }
        }
        sets = next;
    }
    sets.retain(|(_, p)| *p > 0.0);
    Fires { prior: node.prior, sets }
}

fn push(sets: &mut Vec<(usize, f64)>, set: usize, p: f64) {
    match sets.iter_mut().find(|(s, _)| *s == set) {
        Some((_, sum)) => *sum += p,
        None => sets.push((set, p)),
    }
}

/// Chance of each set of present effects by leaks alone, times that of no leak of an
/// absent one.
fn leaks(net: &Network, evidence: &Evidence, present: &[&Seen]) -> Vec<f64> {
    let absent: f64 = evidence
        .seen
        .iter()
        .filter(|s| !s.present)
        .map(|s| 1.0 - net.leaks[s.effect])
        .product();
    let mut sets = vec![absent];
    for seen in present {
        let leak = net.leaks[seen.effect];
        let fired: Vec<f64> = sets.iter().map(|p| p * leak * seen.agrees.leak).collect();
        sets.iter_mut().for_each(|p| *p *= 1.0 - leak);
        sets.extend(fired);
    }
    sets
}

/// Forward: chance that the causes so far fired exactly a set. Backward: chance that
/// the rest completes it. A cause's share is what passes while it is there.
fn joined(fires: &[Fires], leaks: &[f64]) -> Result<Posterior, InquiryError> {
    let all = leaks.len() - 1;
    let mut forward = vec![leaks.to_vec()];
    for cause in fires {
        let before = &forward[forward.len() - 1];
        let next = forwards(before, cause);
        forward.push(next);
    }
    let evidence = forward[fires.len()][all];
    if !(evidence > 0.0) {
        return Err(InquiryError::Impossible);
    }
    let mut rest = vec![0.0; leaks.len()];
    rest[all] = 1.0;
    let mut causes = vec![0.0; fires.len()];
    for (i, cause) in fires.iter().enumerate().rev() {
        let before = &forward[i];
        let mut with = 0.0;
        let mut next = vec![0.0; leaks.len()];
        for (set, next) in next.iter_mut().enumerate() {
            let on: f64 = cause.sets.iter().map(|(fired, p)| p * rest[set | fired]).sum();
            *next = (1.0 - cause.prior) * rest[set] + cause.prior * on;
            with += before[set] * cause.prior * on;
        }
        causes[i] = (with / evidence).clamp(0.0, 1.0);
        rest = next;
    }
    let quiet: f64 = fires.iter().map(|c| 1.0 - c.prior).product();
    let none = (leaks[all] * quiet / evidence).clamp(0.0, 1.0);
    Ok(Posterior { causes, evidence, none })
}

fn forwards(before: &[f64], cause: &Fires) -> Vec<f64> {
    let mut next: Vec<f64> = before.iter().map(|p| p * (1.0 - cause.prior)).collect();
    for &(fired, chance) in &cause.sets {
        let p = chance * cause.prior;
        for (set, was) in before.iter().enumerate() {
            next[set | fired] += was * p;
        }
    }
    next
}
