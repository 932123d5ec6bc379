//! A fair split of a difference among what makes it: L.S. Shapley, "A value for n-person
//! games", in Contributions to the Theory of Games II (1953) 307. The share of a part is
//! what it adds to those that were taken over before it, averaged over every order in which
//! the parts can be taken over; the shares sum to the whole difference.

use std::collections::{BTreeSet, HashMap};

use quantity::numeric::split_mix;
use rayon::prelude::*;

/// Parts that a set can hold: one bit each.
pub(super) const MOST_PARTS: usize = 64;

/// Some of the parts, by bits: those that are taken over.
pub(super) type Set = u64;

/// What each part adds to each figure.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Split {
    /// By part, then by figure.
    pub(super) shares: Vec<Vec<f64>>,
    /// Standard error of each share; none where every order was counted.
    pub(super) errors: Option<Vec<Vec<f64>>>,
}

/// The set of all parts.
pub(super) fn all(parts: usize) -> Set {
    if parts >= MOST_PARTS {
        Set::MAX
    } else {
        (1 << parts) - 1
    }
}

/// Over every order, by all 2ⁿ sets: Σ |S|! (n−|S|−1)!/n! · (v(S ∪ i) − v(S)).
pub(super) fn exact<E: Send>(
    parts: usize,
    value: impl Fn(Set) -> Result<Vec<f64>, E> + Sync,
) -> Result<Split, E> {
    let sets: Set = 1 << parts;
    let values: Vec<Vec<f64>> = (0..sets)
        .into_par_iter()
        .map(&value)
        .collect::<Result<_, _>>()?;
    let figures = values.first().map_or(0, Vec::len);
    let weights = weights(parts);
    let mut shares = vec![vec![0.0; figures]; parts];
    for set in 0..sets {
        for (i, share) in shares.iter_mut().enumerate() {
            let with = set | 1 << i;
            if with == set {
                continue;
            }
            let weight = weights[set.count_ones() as usize];
            let (with, without) = (&values[with as usize], &values[set as usize]);
            add(share, weight, with, without);
        }
    }
    Ok(Split {
        shares,
        errors: None,
    })
}

/// Weights by the size of the set that a part joins: |S|! (n−|S|−1)!/n!, one after the
/// other so that no factorial is formed.
fn weights(parts: usize) -> Vec<f64> {
    let n = parts as f64;
    let mut weight = 1.0 / n;
    let mut all = Vec::with_capacity(parts);
    for size in 0..parts {
        all.push(weight);
        let s = size as f64;
        weight *= (s + 1.0) / (n - s - 1.0);
    }
    all
}

fn add(share: &mut [f64], weight: f64, with: &[f64], without: &[f64]) {
    for (share, (a, b)) in share.iter_mut().zip(with.iter().zip(without)) {
        *share += weight * (a - b);
    }
}

/// Over `pairs` orders drawn by a seed, each with its reverse (J. Castro, D. Gómez and
/// J. Tejada, Comput. Oper. Res. 36 (2009) 1726, draw orders; a reverse beside each takes
/// out what goes with the place in the order). Each order adds up to the whole, so the
/// shares do; the error is that of the mean over pairs.
pub(super) fn drawn<E: Send>(
    parts: usize,
    pairs: usize,
    seed: u64,
    value: impl Fn(Set) -> Result<Vec<f64>, E> + Sync,
) -> Result<Split, E> {
    let orders = orders(parts, pairs, seed);
    let wanted: BTreeSet<Set> = orders.iter().flatten().flat_map(|o| along(o)).collect();
    let known: HashMap<Set, Vec<f64>> = wanted
        .into_par_iter()
        .map(|set| Ok((set, value(set)?)))
        .collect::<Result<_, E>>()?;
    let figures = known.values().next().map_or(0, Vec::len);
    let mut sums = vec![vec![(0.0, 0.0); figures]; parts];
    for pair in &orders {
        let mut both = vec![vec![0.0; figures]; parts];
        for order in pair {
            for (part, ends) in order.iter().zip(along(order).windows(2)) {
                add(&mut both[*part], 0.5, &known[&ends[1]], &known[&ends[0]]);
            }
        }
        for (sum, one) in sums.iter_mut().flatten().zip(both.iter().flatten()) {
            *sum = (sum.0 + one, sum.1 + one * one);
        }
    }
    let n = pairs as f64;
    let mean = |(sum, _): &(f64, f64)| sum / n;
    let error = |(sum, squares): &(f64, f64)| {
        let spread = (squares / n - (sum / n).powi(2)).max(0.0);
        (spread / (n - 1.0).max(1.0)).sqrt()
    };
    let table = |of: &dyn Fn(&(f64, f64)) -> f64| -> Vec<Vec<f64>> {
        let rows = sums.iter();
        rows.map(|row| row.iter().map(of).collect()).collect()
    };
    Ok(Split {
        shares: table(&mean),
        errors: Some(table(&error)),
    })
}

/// The sets that an order passes, from none to all.
fn along(order: &[usize]) -> Vec<Set> {
    let mut set = 0;
    let mut sets = vec![set];
    for part in order {
        set |= 1 << part;
        sets.push(set);
    }
    sets
}

/// Orders, each with its reverse (Fisher and Yates).
fn orders(parts: usize, pairs: usize, seed: u64) -> Vec<[Vec<usize>; 2]> {
    let mut state = seed;
    let draw = |_| {
        let mut order: Vec<usize> = (0..parts).collect();
        for last in (1..parts).rev() {
            let at = (split_mix(&mut state) % (last as u64 + 1)) as usize;
            order.swap(last, at);
        }
        let back = order.iter().rev().copied().collect();
        [order, back]
    };
    (0..pairs).map(draw).collect()
}

#[cfg(test)]
mod tests {
    use std::convert::Infallible;

    use proptest::prelude::*;

    use super::*;

    fn has(set: Set, part: usize) -> f64 {
        f64::from(u8::from(set & 1 << part != 0))
    }

    fn split(parts: usize, value: impl Fn(Set) -> f64 + Sync) -> Vec<f64> {
        let value = |set| Ok::<_, Infallible>(vec![value(set)]);
        let Ok(split) = exact(parts, value);
        split.shares.iter().map(|s| s[0]).collect()
    }

    fn near(a: f64, b: f64) -> bool {
        (a - b).abs() < 1e-12 * (1.0 + b.abs())
    }

    /// Where parts only add, each has what it adds (Shapley 1953, additivity).
    #[test]
    fn a_sum_is_split_into_its_terms() {
        let c = [0.9, 0.3, -1.4, 0.0];
        let shares = split(4, |s| 7.0 + (0..4).map(|i| c[i] * has(s, i)).sum::<f64>());
        assert!(shares.iter().zip(c).all(|(a, b)| near(*a, b)), "{shares:?}");
    }

    /// f = xy from (x₀, y₀) to (x₁, y₁): each has its own change at the mean of the other,
    /// Δx (y₀ + y₁)/2, by the formula for two players.
    #[test]
    fn a_product_is_split_at_the_middle_of_the_other() {
        let (x, y) = ([2.0, 5.0], [3.0, 11.0]);
        let pick = |of: [f64; 2], s, i| of[has(s, i) as usize];
        let shares = split(2, |s| pick(x, s, 0) * pick(y, s, 1));
        assert!(near(shares[0], 3.0 * 7.0) && near(shares[1], 8.0 * 3.5));
    }

    /// One left glove and two right ones make one pair: 2/3, 1/6, 1/6, the textbook
    /// answer of the glove game.
    #[test]
    fn the_glove_game() {
        let shares = split(3, |s| has(s, 0) * has(s, 1).max(has(s, 2)));
        let want = [2.0 / 3.0, 1.0 / 6.0, 1.0 / 6.0];
        assert!(shares.iter().zip(want).all(|(a, b)| near(*a, b)));
    }

    /// Airport game (S.C. Littlechild and G. Owen, Manag. Sci. 20 (1973) 370): the cost of
    /// a runway is that of its longest user; each stretch is shared by those who need it.
    #[test]
    fn the_airport_game() {
        let cost = [1.0, 3.0, 6.0, 10.0];
        let shares = split(4, |s| {
            let used = (0..4).filter(|i| s & 1 << i != 0);
            used.map(|i| cost[i]).fold(0.0, f64::max)
        });
        let stretch = [1.0 / 4.0, 2.0 / 3.0, 3.0 / 2.0, 4.0];
        let mut want = 0.0;
        for (share, step) in shares.iter().zip(stretch) {
            want += step;
            assert!(near(*share, want), "{shares:?}");
        }
    }

    /// Any game of four parts, by a table of its sixteen sets.
    fn any_game() -> impl Strategy<Value = Vec<f64>> {
        proptest::collection::vec(-100.0..100.0f64, 16)
    }

    proptest! {
        #[test]
        fn shares_sum_to_the_whole(game in any_game(), seed: u64) {
            let value = |s: Set| Ok::<_, Infallible>(vec![game[s as usize]]);
            let whole = game[15] - game[0];
            let (Ok(counted), Ok(drawn)) = (exact(4, value), drawn(4, 3, seed, value));
            for split in [counted, drawn] {
                let sum: f64 = split.shares.iter().map(|s| s[0]).sum();
                prop_assert!((sum - whole).abs() < 1e-9);
            }
        }

        #[test]
        fn drawn_orders_come_to_the_same(game in any_game()) {
            let value = |s: Set| Ok::<_, Infallible>(vec![game[s as usize]]);
            let (Ok(counted), Ok(drawn)) = (exact(4, value), drawn(4, 2000, 1, value));
            let errors = drawn.errors.unwrap();
            let each = counted.shares.iter().zip(&drawn.shares).zip(&errors);
            for ((counted, drawn), error) in each {
                let off = (counted[0] - drawn[0]).abs();
                prop_assert!(off <= 5.0 * error[0] + 1e-9, "{off} {}", error[0]);
            }
        }

        #[test]
        fn what_moves_nothing_has_no_share(game in any_game(), dull in 0..4_usize) {
            let shares = split(4, |s| game[(s & !(1 << dull)) as usize]);
            prop_assert!(shares[dull].abs() < 1e-9);
        }
    }
}
