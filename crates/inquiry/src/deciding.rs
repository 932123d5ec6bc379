//! Which test decides: certainty for its price, and what it saves.

use crate::error::InquiryError;
use crate::infer::{Joint, Posterior};
use crate::knowledge::{Fact, Knowledge, Test};
use crate::network::{Evidence, Network};

/// What a test costs [units of ten minutes of work].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Price(pub f64);

/// A test that is not made yet, and what it is worth now.
#[derive(Debug, Clone, PartialEq)]
pub struct RankedTest {
    /// Which.
    pub test: &'static Test,
    /// Chance that it comes out positive \[–\].
    pub positive: f64,
    /// Expected fall of the entropy of what made the findings, summed cause by cause
    /// \[bit\]. What a test says of causes that made none of them is no gain.
    pub gain: f64,
    /// What it costs.
    pub price: Price,
    /// Expected saving by deciding better which remedies to apply [as the price].
    pub saves: f64,
    /// Likeliest cause after a positive result, and its chance.
    pub if_positive: (&'static str, f64),
    /// The same after a negative result.
    pub if_negative: (&'static str, f64),
}

impl RankedTest {
    /// Certainty for its price [bit per unit].
    #[must_use]
    pub fn gain_per_price(&self) -> f64 {
        self.gain / self.price.0
    }
}

/// Prices by judgement: a unit for ten minutes, 0, 1, 10 and 40 for the classes of
/// money, 0.3 for a day of waiting, and one for making a test at all.
const PER_MINUTE: f64 = 0.1;
const CLASSES: [f64; 4] = [0.0, 1.0, 10.0, 40.0];
const PER_DAY: f64 = 0.3;
const AT_ALL: f64 = 1.0;

/// A test that gains less decides nothing [bit].
const LEAST_GAIN: f64 = 0.002;

/// A test of causes that less likely made anything is not weighed \[–\].
const LEAST_MADE: f64 = 0.005;

/// Ranks the tests that are neither made nor settled by a fact.
pub(crate) fn rank(
    k: &'static Knowledge,
    network: &Network,
    evidence: &Evidence,
    now: &Posterior,
    held: &[&Fact],
) -> Result<Vec<RankedTest>, InquiryError> {
    let joint = Joint::of(network, evidence)?;
    let mut ranked = Vec::new();
    for (at, test) in k.tests.iter().enumerate() {
        let effect = k.effect_of_test(at);
        let made = evidence.seen.iter().any(|s| s.effect == effect);
        let settled = held.iter().any(|f| test.settled_by.contains(&f.key));
        let may_be: f64 = test
            .speaks_to
            .iter()
            .map(|(cause, _)| now.made[*cause])
            .sum();
        if !made && !settled && may_be > LEAST_MADE {
            ranked.push(worth(k, &joint, now, test)?);
        }
    }
    ranked.retain(|r| r.gain >= LEAST_GAIN);
    ranked.sort_by(|a, b| b.gain_per_price().total_cmp(&a.gain_per_price()));
    Ok(ranked)
}

/// Only the negative result is inferred; the positive one is what is left of now.
fn worth(
    k: &'static Knowledge,
    joint: &Joint,
    now: &Posterior,
    test: &'static Test,
) -> Result<RankedTest, InquiryError> {
    let negative = joint.posterior(&test.speaks_to)?;
    let p_negative = (negative.evidence * (1.0 - test.otherwise) / now.evidence).clamp(0.0, 1.0);
    let positive = 1.0 - p_negative;
    let after: Vec<f64> = now
        .made
        .iter()
        .zip(&negative.made)
        .map(|(all, not)| ((all - not * p_negative) / positive.max(1e-12)).clamp(0.0, 1.0))
        .collect();
    let over = |f: &dyn Fn(&[f64]) -> f64| {
        f(&now.made) - p_negative * f(&negative.made) - positive * f(&after)
    };
    let cost = |p: &[f64]| -> f64 {
        p.iter()
            .zip(&k.causes)
            .map(|(p, c)| (p * c.loss).min(c.remedy_cost))
            .sum()
    };
    Ok(RankedTest {
        test,
        positive,
        gain: over(&entropy).max(0.0),
        price: price(test),
        saves: over(&cost).max(0.0),
        if_positive: first(k, &after),
        if_negative: first(k, &negative.made),
    })
}

fn price(test: &Test) -> Price {
    let money = CLASSES[test.money.min(CLASSES.len() - 1)];
    Price(AT_ALL + PER_MINUTE * test.minutes + money + PER_DAY * test.days)
}

/// Sum of the binary entropies [bit].
fn entropy(p: &[f64]) -> f64 {
    let term = |x: f64| if x > 0.0 { -x * x.log2() } else { 0.0 };
    p.iter().map(|&p| term(p) + term(1.0 - p)).sum()
}

fn first(k: &'static Knowledge, p: &[f64]) -> (&'static str, f64) {
    let best = p.iter().zip(&k.causes).max_by(|a, b| a.0.total_cmp(b.0));
    best.map_or(("", 0.0), |(p, c)| (c.key.as_str(), *p))
}
