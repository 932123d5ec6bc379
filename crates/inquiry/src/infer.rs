//! Exact inference: which sets of the present effects each cause explains.
//!
//! The subset sum with alternating signs (Heckerman 1989) loses digits as findings
//! grow: its terms are near 1 while the evidence may have a chance of 10⁻²⁰. Here the
//! causes are joined one by one by the set of present effects that they account for,
//! and every term is positive, so that no digit of the evidence is lost. A cause that makes none of the
//! present effects is independent of them and of the others: it is settled by itself.

use crate::error::InquiryError;
use crate::network::{Evidence, Network, Node, Seen, Trace};

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
}

/// What the evidence leaves of a cause.
struct Fires {
    prior: f64,
    /// Everything that it can fire of what is present.
    all: Fired,
    /// The same where it fires nothing that is a fault.
    blameless: Fired,
}

/// The traces of a cause. They fire by themselves, so that they are passed one after
/// another: what they fire together is never listed.
struct Fired {
    traces: Vec<Shows>,
    /// Chance that the traces that can fire nothing of it show nothing absent either.
    others: f64,
}

/// One trace: not made, or made and each present effect fired or not.
#[derive(Clone)]
struct Shows {
    not: f64,
    /// Chance that it is made and shows nothing that was seen to be absent.
    made: f64,
    effects: Vec<Effect>,
}

/// A present effect of a trace that is made.
#[derive(Clone, Copy)]
struct Effect {
    /// Its place in a set.
    bit: usize,
    silent: f64,
    fired: f64,
}

impl Fires {
    fn speaks(&self) -> bool {
        !self.all.traces.is_empty()
    }
}

impl Fired {
    /// Traces as far as their effects count; those that do not are silent.
    fn of(traces: &[Shows], counts: impl Fn(usize) -> bool) -> Self {
        let (mut kept, mut others) = (Vec::new(), 1.0);
        for trace in traces {
            let mut trace = trace.clone();
            for effect in trace.effects.iter().filter(|e| !counts(e.bit)) {
                trace.made *= effect.silent;
            }
            trace.effects.retain(|e| counts(e.bit));
            if trace.effects.is_empty() {
                others *= trace.not + trace.made;
            } else {
                kept.push(trace);
            }
        }
        Self {
            traces: kept,
            others,
        }
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
        // What is to be explained: a positive test is evidence, no fault.
        let faults = places.fold(0, |all, bit| all | bit);
        let nodes = net.causes.iter().enumerate();
        let fires = |(i, node): (usize, &Node)| {
            let traces = traces(node, i, evidence, &slots);
            Fires {
                prior: node.prior,
                all: Fired::of(&traces, |_| true),
                blameless: Fired::of(&traces, |bit| bit & faults == 0),
            }
        };
        Ok(Self {
            causes: nodes.map(fires).collect(),
            leaks: leaks(net, evidence),
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
        let (explained, shares) = joined(&loud, &self.leaks);
        let quiet = passing.iter().filter(|c| !c.cause.speaks());
        let settled: f64 = quiet.map(|c| c.gone() + c.here()).product();
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
                (cause.here() / (cause.gone() + cause.here()), 0.0)
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

    /// Chance that it is there, and what can fire nothing present stays out of sight.
    fn here(&self) -> f64 {
        self.there * self.cause.all.others
    }
}

/// Where each effect stands: its place in a set if present.
struct Slot<'a> {
    bit: Option<usize>,
    seen: &'a Seen,
}

fn slots<'a>(net: &Network, evidence: &'a Evidence) -> Vec<Option<Slot<'a>>> {
    let mut slots: Vec<Option<Slot<'a>>> = net.leaks.iter().map(|_| None).collect();
    let mut next = 0;
    for seen in &evidence.seen {
        let bit = seen.present.then_some(1 << next);
        next += usize::from(seen.present);
        slots[seen.effect] = Some(Slot { bit, seen });
    }
    slots
}

/// What each trace can fire of what was looked for; a trace of nothing of it says nothing.
fn traces(
    node: &Node,
    cause: usize,
    evidence: &Evidence,
    slots: &[Option<Slot<'_>>],
) -> Vec<Shows> {
    let agrees = |seen: &Seen| -> f64 {
        let row = seen.agrees.row.and_then(|r| evidence.agreements.get(r));
        let said = row.and_then(|row| row.get(cause));
        said.copied().unwrap_or(1.0)
    };
    let shows = |trace: &Trace| {
        let mut left = Shows {
            not: 1.0 - trace.made,
            made: trace.made,
            effects: Vec::new(),
        };
        for (effect, link) in &trace.shows {
            let Some(slot) = &slots[*effect] else {
                continue;
            };
            let link = link * slot.seen.keen;
            match slot.bit {
                Some(bit) => left.effects.push(Effect {
                    bit,
                    silent: 1.0 - link,
                    fired: link * agrees(slot.seen),
                }),
                None => left.made *= 1.0 - link,
            }
        }
        left
    };
    node.traces.iter().map(shows).collect()
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
fn joined(causes: &[&Passing<'_>], leaks: &[f64]) -> (f64, Vec<(f64, f64)>) {
    let size = leaks.len();
    let mut table = Table::with_room(size);
    let mut forward = Vec::with_capacity(size * (causes.len() + 1));
    forward.extend_from_slice(leaks);
    for cause in causes {
        let before = &forward[forward.len() - size..];
        let on = table.pass(before, &cause.cause.all, join);
        let next: Vec<f64> = mixed(before, cause.gone(), on, cause.here()).collect();
        forward.extend(next);
    }
    let evidence = forward[forward.len() - 1];
    let mut rest = vec![0.0; size];
    rest[size - 1] = 1.0;
    let mut shares = vec![(0.0, 0.0); causes.len()];
    for (i, cause) in causes.iter().enumerate().rev() {
        let before = &forward[i * size..(i + 1) * size];
        let blameless = &cause.cause.blameless;
        let on = table.pass(&rest, blameless, complete);
        let blameless = cause.there * blameless.others * passed(before, on);
        let on = table.pass(&rest, &cause.cause.all, complete);
        let there = cause.here() * passed(before, on);
        shares[i] = (there, there - blameless);
        rest = mixed(&rest, cause.gone(), on, cause.here()).collect();
    }
    (evidence, shares)
}

/// What reaches a set, times what completes it, over all sets: eight sums side by side,
/// as one would wait for itself.
fn passed(before: &[f64], on: &[f64]) -> f64 {
    let ((before, few), (on, few_on)) = (before.as_chunks::<8>(), on.as_chunks::<8>());
    let mut sums = [0.0; 8];
    for (before, on) in before.iter().zip(on) {
        let pairs = before.iter().zip(on);
        let next = sums.iter_mut().zip(pairs);
        next.for_each(|(sum, (before, on))| *sum += before * on);
    }
    let few: f64 = few.iter().zip(few_on).map(|(before, on)| before * on).sum();
    few + sums.iter().sum::<f64>()
}

/// A table over the sets of present effects, and room for a copy.
struct Table {
    now: Vec<f64>,
    kept: Vec<f64>,
}

impl Table {
    fn with_room(size: usize) -> Self {
        let (now, kept) = (vec![0.0; size], vec![0.0; size]);
        Self { now, kept }
    }

    /// A table passed through traces, effect by effect; that of the others is left out.
    fn pass<'t>(
        &'t mut self,
        from: &'t [f64],
        fired: &Fired,
        effect: fn(&mut [f64], &Effect),
    ) -> &'t [f64] {
        if fired.traces.is_empty() {
            return from;
        }
        self.now.copy_from_slice(from);
        for trace in &fired.traces {
            if let [only] = trace.effects.as_slice() {
                let either = Effect {
                    bit: only.bit,
                    silent: trace.not + trace.made * only.silent,
                    fired: trace.made * only.fired,
                };
                effect(&mut self.now, &either);
                continue;
            }
            self.kept.copy_from_slice(&self.now);
            trace.effects.iter().for_each(|e| effect(&mut self.now, e));
            let both = self.now.iter_mut().zip(&self.kept);
            both.for_each(|(p, kept)| *p = trace.made * *p + trace.not * kept);
        }
        &self.now
    }
}

/// A part of one table and a part of another.
fn mixed(a: &[f64], of_a: f64, b: &[f64], of_b: f64) -> impl Iterator<Item = f64> {
    a.iter().zip(b).map(move |(a, b)| of_a * a + of_b * b)
}

/// Chance of each set once an effect joins it or does not.
fn join(table: &mut [f64], effect: &Effect) {
    pairs(table, effect.bit, |without, with| {
        *with = (effect.silent + effect.fired) * *with + effect.fired * *without;
        *without *= effect.silent;
    });
}

/// Chance that each set is completed once an effect joins it or does not.
fn complete(table: &mut [f64], effect: &Effect) {
    pairs(table, effect.bit, |without, with| {
        *without = effect.silent * *without + effect.fired * *with;
        *with *= effect.silent + effect.fired;
    });
}

/// Each set without an effect, and the same set with it.
fn pairs(table: &mut [f64], bit: usize, each: impl Fn(&mut f64, &mut f64)) {
    for part in table.chunks_exact_mut(2 * bit) {
        let (without, with) = part.split_at_mut(bit);
        without.iter_mut().zip(with).for_each(|(a, b)| each(a, b));
    }
}
