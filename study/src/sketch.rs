//! Quantiles from counts in bins whose width grows with the number: any quantile comes
//! back with a bounded relative error, and parts merge exactly.
//!
//! A number x > 0 lies in bin ⌈ln x / ln γ⌉ with γ = (1 + α)/(1 − α); the answer
//! 2 γᵏ/(γ + 1) is within α of every number of bin k (C. Masson, J. E. Rim, H. K. Lee,
//! Proc. VLDB Endowment 12 (2019) 2195; from memory). Numbers below nought have bins of
//! their own; what is nearer to nought than [`LEAST`] counts as nought. The counts are
//! whole numbers, so that no order of merging makes a difference.

use std::collections::BTreeMap;

/// Relative error α of an answer \[–\].
pub const ERROR: f64 = 0.005;
/// What is nearer to nought than this is nought.
pub const LEAST: f64 = 1e-6;
/// What is further from nought than this counts as this.
const MOST: f64 = 1e12;

/// Counts by bins.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Sketch {
    bins: BTreeMap<i64, u64>,
}

fn ln_gamma() -> f64 {
    ((1.0 + ERROR) / (1.0 - ERROR)).ln()
}

/// The bin of a number; 0 is nought, and bins of negative numbers are negative. What is
/// no number has none.
fn bin(x: f64) -> Option<i64> {
    if x.is_nan() {
        return None;
    }
    if x.abs() < LEAST {
        return Some(0);
    }
    // Counted from the least number, so that every bin of a positive one is above 0.
    let place = (x.abs().min(MOST) / LEAST).ln() / ln_gamma();
    let place = place.ceil() as i64 + 1;
    Some(if x < 0.0 { -place } else { place })
}

/// The number that stands for a bin.
fn middle(bin: i64) -> f64 {
    if bin == 0 {
        return 0.0;
    }
    let place = (bin.abs() - 1) as f64;
    let gamma = ln_gamma().exp();
    let x = LEAST * (place * ln_gamma()).exp() * 2.0 / (gamma + 1.0);
    x.copysign(bin as f64)
}

impl Sketch {
    /// Counts a number; what is no number is left out.
    pub fn add(&mut self, x: f64) {
        if let Some(bin) = bin(x) {
            *self.bins.entry(bin).or_default() += 1;
        }
    }

    /// Puts another part beside this one.
    pub fn merge(&mut self, other: &Self) {
        for (bin, count) in &other.bins {
            *self.bins.entry(*bin).or_default() += count;
        }
    }

    /// How many numbers.
    #[must_use]
    pub fn count(&self) -> u64 {
        self.bins.values().sum()
    }

    /// The number below which a share of them lies \[0 to 1\], within [`ERROR`] of the
    /// one of that rank; none without numbers.
    #[must_use]
    pub fn quantile(&self, share: f64) -> Option<f64> {
        let last = self.count().checked_sub(1)?;
        let rank = (share.clamp(0.0, 1.0) * last as f64).floor() as u64;
        let mut below = 0;
        for (bin, count) in &self.bins {
            below += count;
            if below > rank {
                return Some(middle(*bin));
            }
        }
        None
    }

    /// Bins and counts: what a partial aggregate hands on.
    #[must_use]
    pub fn to_parts(&self) -> (Vec<i64>, Vec<u64>) {
        self.bins.iter().map(|(bin, count)| (*bin, *count)).unzip()
    }

    /// From such parts.
    #[must_use]
    pub fn from_parts(bins: &[i64], counts: &[u64]) -> Self {
        let mut sketch = Self::default();
        for (bin, count) in bins.iter().zip(counts) {
            *sketch.bins.entry(*bin).or_default() += count;
        }
        sketch
    }

    /// Bytes that it holds, about.
    #[must_use]
    pub fn size(&self) -> usize {
        // Two words and the share of a node of the tree.
        size_of::<Self>() + self.bins.len() * 32
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn of(numbers: &[f64]) -> Sketch {
        let mut sketch = Sketch::default();
        numbers.iter().for_each(|x| sketch.add(*x));
        sketch
    }

    fn any_number() -> impl Strategy<Value = f64> {
        prop_oneof![-1e4..1e4f64, Just(0.0), 1e-9..1e-3f64, 1e6..1e9f64]
    }

    proptest! {
        #[test]
        fn a_quantile_is_within_its_error(
            mut numbers in prop::collection::vec(any_number(), 1..300),
            share in 0.0..=1.0f64,
        ) {
            let found = of(&numbers).quantile(share).unwrap();
            numbers.sort_by(f64::total_cmp);
            let true_one = numbers[(share * (numbers.len() - 1) as f64).floor() as usize];
            // A hair for the rounding at the edge of a bin.
            let allowed = 1.000_001 * ERROR * true_one.abs() + LEAST;
            prop_assert!((found - true_one).abs() <= allowed, "{found} for {true_one}");
        }

        #[test]
        fn parts_in_any_order_are_the_whole(
            numbers in prop::collection::vec(any_number(), 0..200),
            cuts in prop::collection::vec(0usize..200, 0..6),
        ) {
            let mut cuts: Vec<usize> = cuts.into_iter().map(|c| c.min(numbers.len())).collect();
            cuts.extend([0, numbers.len()]);
            cuts.sort_unstable();
            let parts: Vec<Sketch> = cuts.windows(2).map(|w| of(&numbers[w[0]..w[1]])).collect();
            let whole = of(&numbers);
            for order in [parts.iter().collect::<Vec<_>>(), parts.iter().rev().collect()] {
                let mut merged = Sketch::default();
                order.into_iter().for_each(|part| merged.merge(part));
                prop_assert_eq!(&merged, &whole);
            }
            let (bins, counts) = whole.to_parts();
            prop_assert_eq!(Sketch::from_parts(&bins, &counts), whole);
        }
    }

    #[test]
    fn what_is_no_number_is_left_out() {
        let sketch = of(&[f64::NAN, 2.0, f64::INFINITY]);
        assert_eq!(sketch.count(), 2);
        assert!(sketch.quantile(1.0).unwrap().is_finite());
        assert_eq!(Sketch::default().quantile(0.5), None);
    }
}
