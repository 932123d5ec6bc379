//! Exact inference: which sets of the present effects each cause explains.
//!
//! The subset sum with alternating signs (Heckerman 1989) loses digits as findings
//! grow: its terms are near 1 while the evidence may have a chance of 10⁻²⁰. Here the
//! causes are joined one by one by the set of present effects that they account for,
//! and every term is positive, so that no digit is lost. A cause that makes none of the
//! present effects is independent of them and of the others: it is settled by itself.

use crate::error::InquiryError;
use crate::network::{Evidence, Network, Node, Seen};

/// The most present effects; time and memory double with each.
pub(crate) const MOST_PRESENT: usize = 16;

/// Chances given the evidence.
#[derive(Debug, Clone, PartialEq)]
pub struct Posterior {
    /// Of each cause, that it is there \[–\].
    pub causes: Vec<f64>,
    /// Of each cause, that it is there and made at least one of the present findings \[–\].
    pub made: Vec<f64>,
    /// Of the evidence itself \[–\].
    pub evidence: f64,
    /// That none of the causes is there \[–\].
    pub none: f64,
}

pub(crate) fn posterior(net: &Network, evidence: &Evidence) -> Result<Posterior, InquiryError> {
    Joint::of(net, evidence)?.posterior(&[])
}

/// What the evidence leaves of a network: what each cause does to what was seen.
pub(crate) struct Joint {
    causes: Vec<Fires>,
    /// Chance of each set of present effects by leaks alone, times that of no leak of an
    /// absent one.
    leaks: Vec<f64>,
    /// The present effects that are to be explained: a positive test is evidence, no fault.
    faults: usize,
}

/// Chance that one cause fires exactly a set of present effects, and nothing that was
/// seen to be absent. The empty set comes first.
struct Fires {
    prior: f64,
    sets: Vec<(usize, f64)>,
}

impl Fires {
    fn speaks(&self) -> bool {
        self.sets.len() > 1
    }
}

impl Joint {
    pub(crate) fn of(net: &Network, evidence: &Evidence) -> Result<Self, InquiryError> {
        let present = evidence.seen.iter().filter(|s| s.present).count();
        if present > MOST_PRESENT {
            return Err(InquiryError::TooMany {
                given: present,
                most: MOST_PRESENT,
            });
        }
        let slots = slots(net, evidence);
        let places = slots
            .iter()
            .flatten()
            .filter(|s| s.seen.asks)
            .filter_map(|s| s.bit);
        let faults = places.fold(0, |all, bit| all | 1 << bit);
        let nodes = net.causes.iter().enumerate();
        let causes = nodes
            .map(|(i, node)| fires(node, i, evidence, &slots))
            .collect();
        Ok(Self {
            causes,
            leaks: leaks(net, evidence),
            faults,
        })
    }

    /// Chances when, besides, something is seen to be absent that some causes show with
    /// a chance each; the chance of the evidence is then without its leak.
    pub(crate) fn posterior(
        &self,
        also_absent: &[(usize, f64)],
    ) -> Result<Posterior, InquiryError> {
        let mut there: Vec<f64> = self.causes.iter().map(|c| c.prior).collect();
        for (cause, shows) in also_absent {
            there[*cause] *= 1.0 - shows;
        }
        let of = |(cause, there)| Passing { cause, there };
        let passing: Vec<Passing<'_>> = self.causes.iter().zip(there).map(of).collect();
        let loud: Vec<&Passing<'_>> = passing.iter().filter(|c| c.cause.speaks()).collect();
        let (explained, shares) = joined(&loud, &self.leaks, self.faults);
        let quiet = passing.iter().filter(|c| !c.cause.speaks());
        let settled: f64 = quiet.map(|c| c.gone() + c.silent()).product();
        let evidence = explained * settled;
        if evidence.is_nan() || evidence <= 0.0 {
            return Err(InquiryError::Impossible);
        }
        let mut shares = shares.into_iter();
        let (mut causes, mut made) = (Vec::new(), Vec::new());
        for cause in &passing {
            let (there, makes) = if cause.cause.speaks() {
                let (there, makes) = shares.next().unwrap_or_default();
                (there / explained, makes / explained)
            } else {
                (cause.silent() / (cause.gone() + cause.silent()), 0.0)
            };
            causes.push(there.clamp(0.0, 1.0));
            made.push(makes.clamp(0.0, 1.0));
        }
        let not: f64 = passing.iter().map(Passing::gone).product();
        let none = (self.leaks[self.leaks.len() - 1] * not / evidence).clamp(0.0, 1.0);
        Ok(Posterior {
            causes,
            made,
            evidence,
            none,
        })
    }
}

/// A cause, and the chance that it is there and shows nothing more that was not seen.
struct Passing<'a> {
    cause: &'a Fires,
    there: f64,
}

impl Passing<'_> {
    fn gone(&self) -> f64 {
        1.0 - self.cause.prior
    }

    /// Chance that it is there and leaves nothing of what was seen.
    fn silent(&self) -> f64 {
        self.there * self.cause.sets[0].1
    }
}

/// Where each effect stands: a bit of the set if present.
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
        if trace
            .shows
            .iter()
            .all(|(effect, _)| slots[*effect].is_none())
        {
            continue;
        }
        let mut shown = vec![(0_usize, trace.made)];
        for (effect, link) in &trace.shows {
            let Some(slot) = &slots[*effect] else {
                continue;
            };
            let link = link * slot.seen.keen;
            let agrees = slot.seen.agrees.row.map_or(1.0, |r| {
                evidence
                    .agreements
                    .get(r)
                    .and_then(|row| row.get(cause))
                    .copied()
                    .unwrap_or(1.0)
            });
            shown = both(&shown, |next, set, p| {
                push(next, set, p * (1.0 - link));
                if let Some(bit) = slot.bit {
                    push(next, set | 1 << bit, p * link * agrees);
                }
            });
        }
        push(&mut shown, 0, 1.0 - trace.made);
        sets = both(&sets, |next, set, p| {
            shown
                .iter()
                .for_each(|(more, q)| push(next, set | more, p * q));
        });
    }
    sets.retain(|(set, p)| *set == 0 || *p > 0.0);
    Fires {
        prior: node.prior,
        sets,
    }
}

fn both(
    sets: &[(usize, f64)],
    step: impl Fn(&mut Vec<(usize, f64)>, usize, f64),
) -> Vec<(usize, f64)> {
    let mut next = Vec::with_capacity(2 * sets.len());
    sets.iter().for_each(|&(set, p)| step(&mut next, set, p));
    next
}

fn push(sets: &mut Vec<(usize, f64)>, set: usize, p: f64) {
    match sets.iter_mut().find(|(s, _)| *s == set) {
        Some((_, sum)) => *sum += p,
        None => sets.push((set, p)),
    }
}

fn leaks(net: &Network, evidence: &Evidence) -> Vec<f64> {
    let (present, absent): (Vec<&Seen>, Vec<&Seen>) = evidence.seen.iter().partition(|s| s.present);
    let mut sets = vec![absent.iter().map(|s| 1.0 - net.leaks[s.effect]).product()];
    for seen in present {
        let leak = net.leaks[seen.effect];
        let fired: Vec<f64> = sets
            .iter()
            .map(|p: &f64| p * leak * seen.agrees.leak)
            .collect();
        sets.iter_mut().for_each(|p| *p *= 1.0 - leak);
        sets.extend(fired);
    }
    sets
}

/// Chance of the evidence, and for each cause of it with the cause there, and with the
/// cause there and a maker of a fault.
///
/// Forward: chance that the causes so far fired exactly a set. Backward: chance that
/// the rest completes it. A cause's share is what passes while it is there.
fn joined(causes: &[&Passing<'_>], leaks: &[f64], faults: usize) -> (f64, Vec<(f64, f64)>) {
    let size = leaks.len();
    let mut forward = Vec::with_capacity(size * (causes.len() + 1));
    forward.extend_from_slice(leaks);
    for cause in causes {
        let at = forward.len() - size;
        let stays = cause.gone() + cause.silent();
        forward.extend_from_within(at..);
        let (before, next) = forward.split_at_mut(at + size);
        next.iter_mut().for_each(|p| *p *= stays);
        for &(fired, chance) in &cause.cause.sets[1..] {
            add(fired, cause.there * chance, &before[at..], next);
        }
    }
    let evidence = forward[forward.len() - 1];
    let mut rest = vec![0.0; size];
    rest[size - 1] = 1.0;
    let mut shares = vec![(0.0, 0.0); causes.len()];
    for (i, cause) in causes.iter().enumerate().rev() {
        let before = &forward[i * size..(i + 1) * size];
        let passed = |on: &[f64]| before.iter().zip(on).map(|(b, on)| b * on).sum::<f64>();
        let (faulty, other): (Vec<_>, Vec<_>) = cause.cause.sets[1..]
            .iter()
            .partition(|s| s.0 & faults != 0);
        let mut on = vec![0.0; size];
        faulty
            .iter()
            .for_each(|(fired, p)| back(*fired, cause.there * p, &rest, &mut on));
        let made = passed(&on);
        other
            .iter()
            .for_each(|(fired, p)| back(*fired, cause.there * p, &rest, &mut on));
        let silent = cause.silent();
        on.iter_mut()
            .zip(&rest)
            .for_each(|(on, rest)| *on += silent * rest);
        shares[i] = (passed(&on), made);
        let gone = cause.gone();
        rest.iter_mut()
            .zip(&on)
            .for_each(|(rest, on)| *rest = gone * *rest + on);
    }
    (evidence, shares)
}

/// What was fired before, with `fired` besides, is fired now.
fn add(fired: usize, p: f64, before: &[f64], next: &mut [f64]) {
    runs(fired, before.len(), |from, to, n| {
        let pairs = next[to..to + n].iter_mut().zip(&before[from..from + n]);
        pairs.for_each(|(next, before)| *next += before * p);
    });
}

/// What the rest completes from here is what it completes with `fired` besides.
fn back(fired: usize, p: f64, rest: &[f64], on: &mut [f64]) {
    runs(fired, rest.len(), |from, to, n| {
        let pairs = on[from..from + n].iter_mut().zip(&rest[to..to + n]);
        pairs.for_each(|(on, rest)| *on += rest * p);
    });
}

/// Sets in runs, and the sets that they become when `fired` joins them: below the lowest
/// bit of `fired` both run on alike.
fn runs(fired: usize, size: usize, mut each: impl FnMut(usize, usize, usize)) {
    let run = 1_usize << fired.trailing_zeros();
    let mut from = 0;
    while from < size {
        each(from, from | fired, run);
        from += run;
    }
}
