//! Exact inference: which sets of the present effects each cause explains.
//!
//! The subset sum with alternating signs (Heckerman 1989) loses digits as findings
//! grow: its terms are near 1 while the evidence may have a chance of 10⁻²⁰. Here the
//! causes are joined one by one by the set of present effects that they account for,
//! and every term is positive, so that no digit of the evidence is lost. A set holds
//! only the effects that causes on both sides of the place can fire ([`crate::order`]).
//! A cause that makes none of the present effects is independent of them and of the
//! others: it is settled by itself.

use crate::error::InquiryError;
use crate::network::{Evidence, Network, Node, Seen, Trace};
use crate::order::{Step, order};

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
    /// The causes that can fire something present, in the order in which they are joined.
    steps: Vec<Joined>,
    /// Of each present effect: chance that nothing leaks, and that a leak fires it as seen.
    leaks: Vec<Leak>,
    /// Chance that nothing absent leaks, and that what no cause can fire does.
    settled: f64,
}

/// What the evidence leaves of a cause.
struct Fires {
    prior: f64,
    /// Whether it can fire anything that is present.
    speaks: bool,
    /// Chance that the traces that can fire nothing of it show nothing absent either.
    others: f64,
}

#[derive(Clone, Copy)]
struct Leak {
    silent: f64,
    fired: f64,
}

/// A cause as it is joined to a table over the effects that are open there.
struct Joined {
    cause: usize,
    /// Effects that it is the first to fire.
    opens: Vec<usize>,
    /// How many effects are open with them.
    open: usize,
    /// Places that it is the last to fire, the highest first.
    closes: Vec<usize>,
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
    /// Which of the present effects; once it is joined, its place in a set.
    at: usize,
    silent: f64,
    fired: f64,
}

impl Fired {
    /// Traces as far as their effects count; those that do not are silent.
    fn of(traces: &[Shows], counts: impl Fn(usize) -> bool) -> Self {
        let (mut kept, mut others) = (Vec::new(), 1.0);
        for trace in traces {
            let mut trace = trace.clone();
            for effect in trace.effects.iter().filter(|e| !counts(e.at)) {
                trace.made *= effect.silent;
            }
            trace.effects.retain(|e| counts(e.at));
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
        let (present, absent): (Vec<&Seen>, Vec<&Seen>) =
            evidence.seen.iter().partition(|s| s.present);
        let slots = slots(net, evidence);
        let traces: Vec<Vec<Shows>> = net
            .causes
            .iter()
            .enumerate()
            .map(|(i, node)| traces(node, i, evidence, &slots))
            .collect();
        let fires: Vec<Vec<usize>> = traces.iter().map(|t| fired(t)).collect();
        let order = order(&fires, present.len())?;
        let leaks = present.iter().map(|seen| Leak {
            silent: 1.0 - net.leaks[seen.effect],
            fired: net.leaks[seen.effect] * seen.agrees.leak,
        });
        let leaks: Vec<Leak> = leaks.collect();
        let alone = (0..present.len()).filter(|f| !fires.iter().any(|of| of.contains(f)));
        let alone: f64 = alone.map(|f| leaks[f].fired).product();
        let absent: f64 = absent.iter().map(|s| 1.0 - net.leaks[s.effect]).product();
        let causes = net.causes.iter().zip(&traces).zip(&fires);
        Ok(Self {
            causes: causes
                .map(|((node, traces), fires)| Fires {
                    prior: node.prior,
                    speaks: !fires.is_empty(),
                    others: Fired::of(traces, |_| true).others,
                })
                .collect(),
            // What is to be explained: a positive test is evidence, no fault.
            steps: order
                .into_iter()
                .map(|step| Joined::of(step, &traces, |f| present[f].asks))
                .collect(),
            leaks,
            settled: alone * absent,
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
        let (explained, shares) = self.joined(&passing);
        let quiet = passing.iter().filter(|c| !c.cause.speaks);
        let settled: f64 = quiet.map(|c| c.gone() + c.here()).product();
        let evidence = explained * settled;
        if evidence.is_nan() || evidence <= 0.0 {
            return Err(InquiryError::Impossible);
        }
        let (mut causes, mut made) = (Vec::new(), Vec::new());
        for (cause, (there, makes)) in passing.iter().zip(shares) {
            let (there, makes) = if cause.cause.speaks {
                (there / explained, makes / explained)
            } else {
                (cause.here() / (cause.gone() + cause.here()), 0.0)
            };
            causes.push(there.clamp(0.0, 1.0));
            made.push(makes.clamp(0.0, 1.0));
        }
        let not: f64 = passing.iter().map(Passing::gone).product();
        // `settled` holds the leaks of what no cause can fire.
        let fired = self.steps.iter().flat_map(|s| &s.opens);
        let leaked: f64 = fired.map(|f| self.leaks[*f].fired).product();
        let none = (self.settled * leaked * not / evidence).clamp(0.0, 1.0);
        Ok(Posterior {
            causes,
            made,
            evidence,
            none,
        })
    }

    /// Chance of the evidence, and for each cause of it with the cause there, and with the
    /// cause there and a maker of a fault.
    ///
    /// Forward: chance that the causes so far fired exactly a set. Backward: chance that
    /// the rest completes it. A cause's share is what passes while it is there.
    fn joined(&self, causes: &[Passing<'_>]) -> (f64, Vec<(f64, f64)>) {
        let widest = self.steps.iter().map(|s| s.open).max().unwrap_or(0);
        let mut table = Table::with_room(1 << widest);
        let mut forward = Vec::with_capacity(self.steps.iter().map(|s| 1 << s.open).sum());
        let mut now = vec![self.settled];
        for step in &self.steps {
            step.opens
                .iter()
                .for_each(|f| open(&mut now, self.leaks[*f]));
            forward.extend_from_slice(&now);
            let cause = &causes[step.cause];
            let on = table.pass(&now, &step.all, join);
            now = mixed(&now, cause.gone(), on, cause.here()).collect();
            step.closes.iter().for_each(|at| close(&mut now, *at));
        }
        let evidence = now[0];
        let mut rest = vec![1.0];
        let mut shares = vec![(0.0, 0.0); causes.len()];
        for step in self.steps.iter().rev() {
            step.closes
                .iter()
                .rev()
                .for_each(|at| unclose(&mut rest, *at));
            let from = forward.len() - rest.len();
            let before = &forward[from..];
            let cause = &causes[step.cause];
            let on = table.pass(&rest, &step.blameless, complete);
            let blameless = cause.there * step.blameless.others * passed(before, on);
            let on = table.pass(&rest, &step.all, complete);
            let there = cause.here() * passed(before, on);
            shares[step.cause] = (there, there - blameless);
            rest = mixed(&rest, cause.gone(), on, cause.here()).collect();
            step.opens
                .iter()
                .rev()
                .for_each(|f| unopen(&mut rest, self.leaks[*f]));
            forward.truncate(from);
        }
        (evidence, shares)
    }
}

impl Joined {
    /// A step with the traces of its cause by their places.
    fn of(step: Step, traces: &[Vec<Shows>], asks: impl Fn(usize) -> bool) -> Self {
        let placed = |mut fired: Fired| {
            for effect in fired.traces.iter_mut().flat_map(|t| &mut t.effects) {
                let held = step.open.iter().position(|f| *f == effect.at);
                effect.at = held.unwrap_or_default();
            }
            fired
        };
        let traces = &traces[step.cause];
        Self {
            cause: step.cause,
            all: placed(Fired::of(traces, |_| true)),
            blameless: placed(Fired::of(traces, |f| !asks(f))),
            opens: step.opens,
            open: step.open.len(),
            closes: step.closes,
        }
    }
}

/// Which of the present effects the traces of a cause can fire, each once.
fn fired(traces: &[Shows]) -> Vec<usize> {
    let effects = traces.iter().flat_map(|t| &t.effects);
    let mut all: Vec<usize> = effects.map(|e| e.at).collect();
    all.sort_unstable();
    all.dedup();
    all
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
        self.there * self.cause.others
    }
}

/// Which of the present effects an effect is, if it is one.
struct Slot<'a> {
    at: Option<usize>,
    seen: &'a Seen,
}

fn slots<'a>(net: &Network, evidence: &'a Evidence) -> Vec<Option<Slot<'a>>> {
    let mut slots: Vec<Option<Slot<'a>>> = net.leaks.iter().map(|_| None).collect();
    let mut next = 0;
    for seen in &evidence.seen {
        let at = seen.present.then_some(next);
        next += usize::from(seen.present);
        slots[seen.effect] = Some(Slot { at, seen });
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
            match slot.at {
                Some(at) => left.effects.push(Effect {
                    at,
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

/// A table over one effect more: silent so far, or leaked.
fn open(table: &mut Vec<f64>, leak: Leak) {
    let size = table.len();
    table.extend_from_within(..);
    let (without, with) = table.split_at_mut(size);
    without.iter_mut().for_each(|p| *p *= leak.silent);
    with.iter_mut().for_each(|p| *p *= leak.fired);
}

/// The same backward: what either completes.
fn unopen(table: &mut Vec<f64>, leak: Leak) {
    let size = table.len() / 2;
    let (without, with) = table.split_at_mut(size);
    let both = without.iter_mut().zip(with);
    both.for_each(|(p, with)| *p = leak.silent * *p + leak.fired * *with);
    table.truncate(size);
}

/// A table over one effect less: it is fired, as no later cause can fire it.
fn close(table: &mut Vec<f64>, at: usize) {
    let bit = 1 << at;
    let mut kept = 0;
    for from in (bit..table.len()).step_by(2 * bit) {
        table.copy_within(from..from + bit, kept);
        kept += bit;
    }
    table.truncate(kept);
}

/// The same backward: only the sets that hold it are completed.
fn unclose(table: &mut Vec<f64>, at: usize) {
    let bit = 1 << at;
    let mut wide = Vec::with_capacity(2 * table.len());
    for part in table.chunks_exact(bit) {
        wide.resize(wide.len() + bit, 0.0);
        wide.extend_from_slice(part);
    }
    *table = wide;
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
        let (now, kept) = (&mut self.now[..from.len()], &mut self.kept[..from.len()]);
        now.copy_from_slice(from);
        for trace in &fired.traces {
            if let [only] = trace.effects.as_slice() {
                let either = Effect {
                    at: only.at,
                    silent: trace.not + trace.made * only.silent,
                    fired: trace.made * only.fired,
                };
                effect(now, &either);
                continue;
            }
            kept.copy_from_slice(now);
            trace.effects.iter().for_each(|e| effect(now, e));
            let both = now.iter_mut().zip(kept.iter());
            both.for_each(|(p, kept)| *p = trace.made * *p + trace.not * kept);
        }
        now
    }
}

/// A part of one table and a part of another.
fn mixed(a: &[f64], of_a: f64, b: &[f64], of_b: f64) -> impl Iterator<Item = f64> {
    a.iter().zip(b).map(move |(a, b)| of_a * a + of_b * b)
}

/// Chance of each set once an effect joins it or does not.
fn join(table: &mut [f64], effect: &Effect) {
    pairs(table, 1 << effect.at, |without, with| {
        *with = (effect.silent + effect.fired) * *with + effect.fired * *without;
        *without *= effect.silent;
    });
}

/// Chance that each set is completed once an effect joins it or does not.
fn complete(table: &mut [f64], effect: &Effect) {
    pairs(table, 1 << effect.at, |without, with| {
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
