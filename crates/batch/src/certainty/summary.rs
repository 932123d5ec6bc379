//! What is kept of the draws of a figure: memory that does not grow with their number.
//!
//! The first draws are kept as they are. Once there are more, they lay out even bins over
//! twice their range, and every draw is counted in its bin; an end of an interval is then
//! off by a bin at most, a tenth of the error that so many draws leave it anyway. Mean and
//! variance come by the recurrence of B.P. Welford, Technometrics 4 (1962) 419.

/// So many are kept as they are.
const KEPT: usize = 4096;
/// Over twice the range of those: one is 0.0005 of the range.
const BINS: usize = 4096;

/// A sample that comes piece by piece.
#[derive(Debug, Clone, Default)]
pub(crate) struct Summary {
    count: usize,
    mean: f64,
    /// Sum of squares about the mean.
    squares: f64,
    least: f64,
    most: f64,
    kept: Vec<f64>,
    binned: Option<Bins>,
}

#[derive(Debug, Clone)]
struct Bins {
    low: f64,
    width: f64,
    counts: Vec<u32>,
}

impl Bins {
    fn over(least: f64, most: f64) -> Self {
        let range = (most - least).max(f64::MIN_POSITIVE);
        Self {
            low: least - 0.5 * range,
            width: 2.0 * range / BINS as f64,
            counts: vec![0; BINS],
        }
    }

    /// What lies beyond the bins counts in the last of its side.
    fn count(&mut self, x: f64) {
        let at = ((x - self.low) / self.width).clamp(0.0, (BINS - 1) as f64);
        self.counts[at as usize] += 1;
    }

    /// The number with `before` members of the sample below it, evenly spread in its bin.
    fn at(&self, before: f64, least: f64, most: f64) -> f64 {
        let mut below = 0.0;
        for (bin, count) in self.counts.iter().enumerate() {
            let count = f64::from(*count);
            if count > 0.0 && below + count >= before {
                let part = (before - below) / count;
                let x = self.low + (bin as f64 + part) * self.width;
                return x.clamp(least, most);
            }
            below += count;
        }
        most
    }
}

impl Summary {
    /// One more; what is no number is not counted.
    pub(crate) fn add(&mut self, x: f64) {
        if !x.is_finite() {
            return;
        }
        if self.count == 0 {
            (self.least, self.most) = (x, x);
        }
        (self.least, self.most) = (self.least.min(x), self.most.max(x));
        self.count += 1;
        let off = x - self.mean;
        self.mean += off / self.count as f64;
        self.squares += off * (x - self.mean);
        match &mut self.binned {
            Some(bins) => bins.count(x),
            None => self.kept.push(x),
        }
        if self.kept.len() > KEPT {
            let mut bins = Bins::over(self.least, self.most);
            std::mem::take(&mut self.kept)
                .into_iter()
                .for_each(|x| bins.count(x));
            self.binned = Some(bins);
        }
    }

    pub(crate) fn mean(&self) -> f64 {
        self.mean
    }

    /// Standard deviation of what was drawn from.
    pub(crate) fn sd(&self) -> f64 {
        (self.squares / self.count.saturating_sub(1).max(1) as f64).sqrt()
    }

    /// Quantiles at rising shares.
    pub(crate) fn quantiles(&self, shares: impl Iterator<Item = f64>) -> Vec<f64> {
        let Some(bins) = &self.binned else {
            let mut sorted = self.kept.clone();
            sorted.sort_unstable_by(f64::total_cmp);
            return shares.map(|p| quantile(&sorted, p)).collect();
        };
        let at = |p: f64| {
            if p <= 0.0 {
                self.least
            } else if p >= 1.0 {
                self.most
            } else {
                bins.at(p * self.count as f64, self.least, self.most)
            }
        };
        shares.map(at).collect()
    }
}

/// Of a sorted sample, by straight lines between its members; nought of none.
pub(crate) fn quantile(sorted: &[f64], p: f64) -> f64 {
    let Some(last) = sorted.len().checked_sub(1) else {
        return 0.0;
    };
    let at = p * last as f64;
    let (low, part) = (at.floor() as usize, at.fract());
    let high = (low + 1).min(last);
    sorted[low] + part * (sorted[high] - sorted[low])
}

#[cfg(test)]
mod tests {
    use super::super::normal;
    use super::*;
    use proptest::prelude::*;

    /// Points that are spread evenly, turned normal: mean 1.05, standard deviation 0.002,
    /// as an original gravity has them.
    fn gravities(n: u32) -> (Summary, Vec<f64>) {
        let mut summary = Summary::default();
        let all: Vec<f64> = (0..n)
            .map(|i| {
                // Weyl's sequence of the golden ratio.
                let u = (f64::from(i + 1) * 0.618_033_988_749_895).fract();
                1.05 + 0.002 * normal::quantile(u.clamp(1e-9, 1.0 - 1e-9))
            })
            .collect();
        all.iter().for_each(|x| summary.add(*x));
        (summary, all)
    }

    /// 5 and 95 of a hundred normal numbers lie 1.644854 standard deviations from the mean
    /// (any table).
    #[test]
    fn many_draws_are_told_from_little_memory() {
        let (summary, all) = gravities(200_000);
        assert!(summary.kept.is_empty(), "no draw is kept");
        assert!((summary.mean() - 1.05).abs() < 1e-6);
        assert!((summary.sd() - 0.002).abs() < 1e-6, "{}", summary.sd());
        let ends = summary.quantiles([0.05, 0.5, 0.95].into_iter());
        for (end, z) in ends.iter().zip([-1.644_854, 0.0, 1.644_854]) {
            assert!((end - (1.05 + 0.002 * z)).abs() < 5e-6, "{end}");
        }
        let whole = summary.quantiles([0.0, 1.0].into_iter());
        let least = all.iter().copied().fold(f64::INFINITY, f64::min);
        assert!((whole[0] - least).abs() < 1e-15);
    }

    #[test]
    fn few_draws_are_told_as_they_are() {
        let (summary, mut all) = gravities(KEPT as u32);
        all.sort_unstable_by(f64::total_cmp);
        for p in [0.0, 0.05, 0.5, 0.95, 1.0] {
            let told = summary.quantiles(std::iter::once(p))[0];
            assert!((told - quantile(&all, p)).abs() < 1e-15);
        }
    }

    proptest! {
        /// Whatever came first: an end is off by a bin at most, or lies in the gap between
        /// the members on both sides of it, and rising shares give rising numbers.
        #[test]
        fn ends_are_those_of_the_whole_sample(
            start in prop::collection::vec(-50.0..50.0f64, KEPT + 1),
            more in prop::collection::vec(-60.0..60.0f64, 0..9000),
            p in 0.02..0.98f64,
        ) {
            let mut summary = Summary::default();
            let mut all: Vec<f64> = start.into_iter().chain(more).collect();
            all.iter().for_each(|x| summary.add(*x));
            all.sort_unstable_by(f64::total_cmp);
            let told = summary.quantiles([p, p + 0.01].into_iter());
            let bin = summary.binned.as_ref().unwrap().width;
            let at = p * all.len() as f64;
            let below = all[(at - 1.0).max(0.0) as usize] - bin;
            let above = all[((at + 1.0) as usize).min(all.len() - 1)] + bin;
            prop_assert!((below..=above).contains(&told[0]), "{} {below} {above}", told[0]);
            prop_assert!(told[0] <= told[1]);
        }
    }
}
