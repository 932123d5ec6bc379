//! Between which ends the amounts may move: what is asked, what is in the stores, and what
//! is usual of a class.

use quantity::Mass;
use wort::malts;

use super::entries::alike;
use super::lever::{Lever, Limited, Moves, Together};
use super::levers::Made;
use super::typed::Asked;
use crate::document::Document;
use crate::reader::Fault;
use crate::steer::fault;

impl Made<'_> {
    /// Limits that are asked for; one that fits nothing is a fault.
    pub(super) fn limits(&mut self) -> Vec<Fault> {
        let mut faults = Vec::new();
        for limit in &self.asked.limits {
            let Asked { of, least, most } = limit;
            let mut fits = false;
            for lever in &mut self.levers {
                if !lever.is_ingredient() || !answers(lever, of, self.document) {
                    continue;
                }
                fits = true;
                if let Some(most) = most {
                    lever.most = *most;
                    lever.limited = Limited::Asked;
                }
                if let Some(least) = least {
                    lever.least = *least;
                }
                lever.most = lever.most.max(lever.least);
            }
            if !fits {
                let mut names: Vec<&str> = self
                    .levers
                    .iter()
                    .filter(|l| l.is_ingredient())
                    .map(|l| l.name.as_str())
                    .collect();
                names.dedup();
                faults.push(fault(
                    "limits",
                    format!("nothing that moves is called {of:?}"),
                    format!("limit one of {}", names.join("; ")),
                ));
            }
        }
        faults
    }

    /// What there is in the stores.
    pub(super) fn stores(&mut self) {
        let Some(at_hand) = self.at_hand else { return };
        let mut malts: Vec<(&str, f64)> = at_hand
            .stores
            .malts
            .iter()
            .map(|m| (m.class.as_str(), m.amount.value.kg()))
            .collect();
        let mut hops: Vec<(&str, f64)> = at_hand
            .stores
            .hops
            .iter()
            .map(|h| (h.hop.as_str(), h.amount.value.kg()))
            .collect();
        summed(&mut malts);
        summed(&mut hops);
        let n = self.levers.len();
        for (of_malt, kept) in [(true, malts), (false, hops)] {
            let name = |lever: &Lever| match lever.moves {
                Moves::Malt(i) if of_malt => Some(self.document.grist[i].class.as_str()),
                Moves::Hop(i) if !of_malt => Some(self.document.hops[i].hop.as_str()),
                _ => None,
            };
            for (stored, kg) in &kept {
                let of: Vec<usize> = (0..n)
                    .filter(|i| name(&self.levers[*i]).is_some_and(|w| alike(w, stored)))
                    .collect();
                for i in &of {
                    let lever = &mut self.levers[*i];
                    if *kg < lever.most {
                        lever.most = kg.max(lever.least);
                        lever.limited = Limited::Stores;
                    }
                }
                if of.len() > 1 {
                    let factors = (0..n).map(|i| if of.contains(&i) { -1.0 } else { 0.0 });
                    self.together.push(Together {
                        name: format!("{stored} in the stores: {}", Mass::from_kg(*kg)),
                        factors: factors.collect(),
                        at_least: -kg,
                        limited: Limited::Stores,
                    });
                }
            }
            if self.asked.only_stores {
                let missing: Vec<usize> = (0..n)
                    .filter(|i| {
                        name(&self.levers[*i])
                            .is_some_and(|w| kept.iter().all(|(k, _)| !alike(k, w)))
                    })
                    .collect();
                for i in missing {
                    let lever = &mut self.levers[i];
                    (lever.least, lever.most) = (0.0, 0.0);
                    lever.limited = Limited::Stores;
                }
            }
        }
    }

    /// The usual share of a class in a grist, or what the recipe has of it already.
    pub(super) fn shares(&mut self) {
        let grist = &self.document.grist;
        let own = |i: usize| {
            if i < self.entries.malts {
                grist[i].amount.value.kg()
            } else {
                0.0
            }
        };
        let whole: f64 = (0..grist.len()).map(own).sum();
        let lever_of = |at: usize| self.levers.iter().position(|l| l.moves == Moves::Malt(at));
        let mut found = Vec::new();
        for (i, entry) in grist.iter().enumerate() {
            let (Some(lever), Ok(class)) = (lever_of(i), malts::find(&entry.class)) else {
                continue;
            };
            let usual = class.max_share.ratio();
            let share = usual.max(own(i) / whole.max(1e-9));
            let asked = self.levers[lever].limited == Limited::Asked;
            if share >= 1.0 || asked {
                continue;
            }
            let mut factors = vec![0.0; self.levers.len()];
            let mut fixed = 0.0;
            for at in 0..grist.len() {
                match lever_of(at) {
                    Some(other) => factors[other] += share,
                    None => fixed += own(at),
                }
            }
            factors[lever] -= 1.0;
            found.push(Together {
                name: format!(
                    "{} is usually no more than {:.0} % of a grist",
                    class.name,
                    100.0 * share
                ),
                factors,
                at_least: -share * fixed,
                limited: Limited::Usual("usual figure of the trade".to_owned()),
            });
        }
        self.together.extend(found);
    }
}

/// Whether a lever is what a limit names: its key, its class, its cultivar, its name.
fn answers(lever: &Lever, of: &str, document: &Document) -> bool {
    let path = lever.path.trim_end_matches(".amount");
    let names: Vec<&str> = match lever.moves {
        Moves::Malt(i) => vec![
            &document.grist[i].class,
            document.grist[i].name.as_deref().unwrap_or(""),
        ],
        Moves::Hop(i) => vec![&document.hops[i].hop],
        _ => vec![],
    };
    path == of || alike(&lever.name, of) || names.iter().any(|name| alike(name, of))
}

/// Amounts of one name together.
fn summed(kept: &mut Vec<(&str, f64)>) {
    let mut sums: Vec<(&str, f64)> = Vec::new();
    for (name, kg) in kept.iter() {
        match sums.iter_mut().find(|(known, _)| alike(known, name)) {
            Some((_, sum)) => *sum += kg,
            None => sums.push((name, *kg)),
        }
    }
    *kept = sums;
}
