//! Batches of one house, each a little different: what they say of the house.
//!
//! A batch has θ ~ N(μ, τ²) about the house's mean μ; a reading of it says y ~ N(θ, s²),
//! s known. Before any batch μ ~ N(m₀, v₀) and ln τ ~ N(ln t₀, q²). Given τ all is normal
//! and closed (A. Gelman et al., Bayesian Data Analysis, 3rd ed., section 5.4):
//!
//! 1/v = 1/v₀ + Σ w/(s² + τ²),  m = v (m₀/v₀ + Σ w y/(s² + τ²))
//!
//! and τ is summed over a grid: the kernel of [`super::linear`] with one coefficient.

use quantity::numeric::normal_below;

use super::linear::{Before, Node, Row};

/// What is known of a constant before any batch, on the scale that it is learned on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prior {
    /// Mean of the house.
    pub mean: f64,
    /// How well that is known: standard deviation.
    pub sd: f64,
    /// How far batches usually lie apart: the median of their standard deviation.
    pub apart: f64,
    /// How well that is known: standard deviation of its logarithm; nought is exactly.
    pub apart_ln_sd: f64,
}

/// What the readings of one batch say, on the same scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seen {
    /// The number.
    pub value: f64,
    /// What the readings leave open: standard deviation.
    pub sd: f64,
    /// Share of a new batch that it counts for, up to one.
    pub weight: f64,
}

/// What is known after the batches.
#[derive(Debug, Clone, PartialEq)]
pub struct Posterior {
    nodes: Vec<Node<1>>,
}

/// A sum of normal distributions.
#[derive(Debug, Clone, PartialEq)]
pub struct Mixture {
    parts: Vec<Part>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Part {
    chance: f64,
    mean: f64,
    variance: f64,
}

impl Prior {
    /// What is known after batches. A batch that says nothing finite does not count.
    #[must_use]
    pub fn after(&self, seen: &[Seen]) -> Posterior {
        let before = Before {
            mean: [self.mean],
            sd: [self.sd],
            apart: self.apart,
            apart_ln_sd: self.apart_ln_sd,
        };
        let rows: Vec<Row<1>> = seen
            .iter()
            .map(|s| Row {
                x: [1.0],
                value: s.value,
                sd: s.sd,
                weight: s.weight,
            })
            .collect();
        Posterior {
            nodes: before.after(&rows),
        }
    }
}

impl Posterior {
    /// The mean of the house.
    #[must_use]
    pub fn house(&self) -> Mixture {
        self.mixture(|_| 0.0)
    }

    /// The next batch.
    #[must_use]
    pub fn next(&self) -> Mixture {
        self.mixture(|n| n.apart * n.apart)
    }

    /// What a reading of the next batch with this standard deviation would show.
    #[must_use]
    pub fn next_reading(&self, sd: f64) -> Mixture {
        self.mixture(|n| n.apart * n.apart + sd * sd)
    }

    /// How far batches lie apart: mean and standard deviation of τ.
    #[must_use]
    pub fn apart(&self) -> (f64, f64) {
        let mean: f64 = self.nodes.iter().map(|n| n.chance * n.apart).sum();
        let square = |n: &Node<1>| n.chance * (n.apart - mean).powi(2);
        let variance: f64 = self.nodes.iter().map(square).sum();
        (mean, variance.sqrt())
    }

    /// What one batch was, by its own readings and those of the others together: mean and
    /// standard deviation. The batch is one of those that were learned from, and is new.
    #[must_use]
    pub fn of_batch(&self, seen: &Seen) -> (f64, f64) {
        let parts = self.nodes.iter().map(|n| {
            let (own, house) = (seen.sd * seen.sd, n.apart * n.apart);
            // Given μ: the reading's share of the two; then μ is summed over.
            let share = house / (own + house);
            let (mean, variance) = n.at(&[1.0]);
            Part {
                chance: n.chance,
                mean: share * seen.value + (1.0 - share) * mean,
                variance: share * own + (1.0 - share).powi(2) * variance,
            }
        });
        let all = Mixture {
            parts: parts.collect(),
        };
        (all.mean(), all.sd())
    }

    /// The mean of the house with so much variance more.
    fn mixture(&self, more: impl Fn(&Node<1>) -> f64) -> Mixture {
        Mixture::of(&self.nodes, &[1.0], more)
    }
}

impl Mixture {
    /// Of a mean that is linear in its coefficients, with so much variance more.
    pub(super) fn of<const K: usize>(
        nodes: &[Node<K>],
        x: &[f64; K],
        more: impl Fn(&Node<K>) -> f64,
    ) -> Self {
        /// What has no chance to speak of does not show.
        const LEAST: f64 = 1e-13;
        let there = nodes.iter().filter(|n| n.chance > LEAST);
        let parts = there.map(|n| {
            let (mean, variance) = n.at(x);
            Part {
                chance: n.chance,
                mean,
                variance: variance + more(n),
            }
        });
        Self {
            parts: parts.collect(),
        }
    }

    /// Its mean.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.parts.iter().map(|p| p.chance * p.mean).sum()
    }

    /// Its standard deviation.
    #[must_use]
    pub fn sd(&self) -> f64 {
        let mean = self.mean();
        let square = |p: &Part| p.chance * (p.variance + (p.mean - mean).powi(2));
        self.parts.iter().map(square).sum::<f64>().sqrt()
    }

    /// The chance of less than `x`.
    #[must_use]
    pub fn below(&self, x: f64) -> f64 {
        let part = |p: &Part| {
            let z = (x - p.mean) / p.variance.max(f64::MIN_POSITIVE).sqrt();
            p.chance * normal_below(z)
        };
        self.parts.iter().map(part).sum()
    }

    /// The number below which a share `p` of it lies, between a millionth and the rest.
    #[must_use]
    pub fn quantile(&self, p: f64) -> f64 {
        let p = p.clamp(1e-6, 1.0 - 1e-6);
        let (mean, sd) = (self.mean(), self.sd());
        // Chebyshev: no more than a millionth lies beyond a thousand standard deviations.
        let (mut low, mut high) = (mean - 1e3 * sd, mean + 1e3 * sd);
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            if self.below(middle) < p {
                low = middle;
            } else {
                high = middle;
            }
        }
        f64::midpoint(low, high)
    }

    /// The interval in the middle that holds a share of it.
    #[must_use]
    pub fn interval(&self, share: f64) -> (f64, f64) {
        let tail = 0.5 * (1.0 - share.clamp(0.0, 1.0));
        (self.quantile(tail), self.quantile(1.0 - tail))
    }
}

/// What readings say alone, where a normal belief before them became another: the second
/// with the first divided out. None where they say next to nothing.
#[must_use]
pub fn read_alone(before: (f64, f64), after: (f64, f64)) -> Option<(f64, f64)> {
    /// Share of the precision that the readings must have brought (judgement: below a
    /// fiftieth the difference of the two is noise).
    const LEAST: f64 = 0.02;
    let (was, is) = (before.1.powi(-2), after.1.powi(-2));
    let precision = is - was;
    let known = precision.is_finite() && precision > LEAST * is;
    let value = (after.0 * is - before.0 * was) / precision;
    (known && value.is_finite()).then(|| (value, precision.powf(-0.5)))
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use proptest::prelude::*;

    use super::*;

    const TAU: f64 = 2.0 * PI;

    fn seen() -> impl Strategy<Value = Vec<Seen>> {
        let one = (-5.0..5.0f64, 0.05..3.0f64, 0.05..1.0f64);
        let one = one.prop_map(|(value, sd, weight)| Seen { value, sd, weight });
        prop::collection::vec(one, 0..12)
    }

    fn prior() -> impl Strategy<Value = Prior> {
        (-3.0..3.0f64, 0.1..4.0f64, 0.05..2.0f64).prop_map(|(mean, sd, apart)| Prior {
            mean,
            sd,
            apart,
            apart_ln_sd: 0.0,
        })
    }

    proptest! {
        /// The conjugate normal with a known variance, reading after reading (Gelman et
        /// al. 2013, eq. 2.11 and 2.12), with a reading's variance over its weight.
        #[test]
        fn with_a_known_spread_it_is_the_conjugate_update(prior in prior(), seen in seen()) {
            let found = prior.after(&seen).house();
            let (mut mean, mut variance) = (prior.mean, prior.sd.powi(2));
            for one in &seen {
                let v = (one.sd.powi(2) + prior.apart.powi(2)) / one.weight;
                let gain = variance / (variance + v);
                mean += gain * (one.value - mean);
                variance *= 1.0 - gain;
            }
            prop_assert!((found.mean() - mean).abs() < 1e-9 * (1.0 + mean.abs()));
            prop_assert!((found.sd() - variance.sqrt()).abs() < 1e-9);
            let (low, high) = found.interval(0.9);
            prop_assert!((low - (mean - 1.644_853_626_951_472_2 * variance.sqrt())).abs() < 1e-6);
            prop_assert!((high + low - 2.0 * mean).abs() < 1e-6);
        }

        /// What is learned does not hang on the order, and a batch more narrows it at a
        /// known spread.
        #[test]
        fn the_order_does_not_matter(prior in prior(), seen in seen(), free in 0.1..1.0f64) {
            let open = Prior { apart_ln_sd: free, ..prior };
            let mut back = seen.clone();
            back.reverse();
            let (a, b) = (open.after(&seen).house(), open.after(&back).house());
            prop_assert!((a.mean() - b.mean()).abs() < 1e-9);
            prop_assert!((a.sd() - b.sd()).abs() < 1e-9);
            if let Some((_, fewer)) = seen.split_last() {
                prop_assert!(prior.after(&seen).house().sd() < prior.after(fewer).house().sd());
            }
        }

        /// The chances of the grid are those of p(τ) ∫ Π p(yᵢ | μ, τ)ʷ p(μ) dμ by a plain
        /// sum over μ, in logarithms and in steps of a fifth of the narrowest factor, so
        /// that readings far from one another are summed as well as those close together.
        #[test]
        fn the_spread_has_the_chance_that_a_sum_over_the_mean_gives(
            prior in prior(), seen in seen(), free in 0.1..0.8f64,
        ) {
            let open = Prior { apart_ln_sd: free, ..prior };
            let ln_normal = |x: f64, m: f64, v: f64| -0.5 * ((x - m).powi(2) / v + (TAU * v).ln());
            let by_hand = |apart: f64, z: f64| {
                let narrowest = seen.iter().map(|s| s.sd.hypot(apart)).fold(prior.sd, f64::min);
                // Many factors of one width are narrower than each by the root of their number.
                let step = narrowest / 5.0 / (1.0 + seen.len() as f64).sqrt();
                let (from, to) = seen.iter().fold((prior.mean, prior.mean), |(a, b), s| {
                    (a.min(s.value), b.max(s.value))
                });
                let (from, to) = (from - 10.0 * prior.sd, to + 10.0 * prior.sd);
                let each: Vec<f64> = (0..=((to - from) / step) as u32).map(|i| {
                    let mu = from + step * f64::from(i);
                    let read = |s: &Seen| s.weight * ln_normal(s.value, mu, s.sd.powi(2) + apart.powi(2));
                    // Without the constant of a power, which no τ moves.
                    seen.iter().map(read).sum::<f64>() + ln_normal(mu, prior.mean, prior.sd.powi(2))
                }).collect();
                let most = each.iter().copied().fold(f64::NEG_INFINITY, f64::max);
                let sum: f64 = each.iter().map(|l| (l - most).exp()).sum();
                (step * sum).ln() + most - 0.5 * z * z
            };
            let nodes = open.after(&seen).nodes;
            // The first and the last of those that weigh anything.
            let mut weighing = (0..nodes.len()).filter(|&i| nodes[i].chance > 1e-12);
            let (first, last) = (weighing.next().unwrap(), weighing.next_back().unwrap());
            let at = |i: usize| (nodes[i].chance.ln(), by_hand(nodes[i].apart, f64::from(i as u32) / 16.0 - 5.0));
            let (a, b) = (at(first), at(last));
            prop_assert!(((a.0 - b.0) - (a.1 - b.1)).abs() < 1e-6, "{a:?} {b:?}");
        }

        /// Dividing a belief out of what it became gives the reading back.
        #[test]
        fn a_reading_comes_back_from_what_it_made(
            before in (-3.0..3.0f64, 0.1..4.0f64), read in (-3.0..3.0f64, 0.05..4.0f64),
        ) {
            let (was, of) = (before.1.powi(-2), read.1.powi(-2));
            let after = ((before.0 * was + read.0 * of) / (was + of), (was + of).powf(-0.5));
            match read_alone(before, after) {
                Some((value, sd)) => {
                    prop_assert!((value - read.0).abs() < 1e-6 * (1.0 + read.1));
                    prop_assert!((sd / read.1 - 1.0).abs() < 1e-6);
                }
                None => prop_assert!(of < 0.025 * was),
            }
        }

        #[test]
        fn nothing_breaks_it(
            value in prop::num::f64::ANY, sd in prop::num::f64::ANY, weight in prop::num::f64::ANY,
        ) {
            let prior = Prior { mean: 1.0, sd: 0.3, apart: 0.1, apart_ln_sd: 0.5 };
            let value = if value.abs() > 1e100 { f64::NAN } else { value };
            let found = prior.after(&[Seen { value, sd, weight: weight.min(1.0) }]);
            for mixture in [found.house(), found.next()] {
                prop_assert!(mixture.mean().is_finite() && mixture.sd().is_finite());
                let (low, high) = mixture.interval(0.9);
                prop_assert!(low <= high && low.is_finite() && high.is_finite());
            }
        }
    }

    #[test]
    fn batches_that_agree_lie_closer_together_than_was_thought() {
        let prior = Prior {
            mean: 0.0,
            sd: 1.0,
            apart: 0.2,
            apart_ln_sd: 0.6,
        };
        let like = |values: [f64; 6]| {
            let seen = values.map(|value| Seen {
                value,
                sd: 0.02,
                weight: 1.0,
            });
            prior.after(&seen).apart().0
        };
        assert!(like([0.50, 0.51, 0.49, 0.50, 0.52, 0.50]) < 0.1);
        assert!(like([0.1, 0.9, 0.3, 0.8, 0.0, 1.1]) > 0.3);
    }
}
