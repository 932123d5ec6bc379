//! Doubts that move together: one instrument that reads everything high, one report of a
//! water, one lot of a malt.

use quantity::numeric::normal_below;
use quantity::{Correlation, nearest};

use super::doubt::Doubt;
use super::normal::quantile;
use crate::document::TogetherEntry;
use crate::reader::Fault;

/// Doubts of which each two have one correlation, through the normal distribution that
/// their chances stand for (a Gaussian copula).
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Together {
    doubts: Vec<usize>,
    /// Lower triangle of Cholesky's factor of the correlations, row by row.
    factor: Vec<Vec<f64>>,
}

impl Together {
    /// None where that many cannot all be so much against each other: a correlation is
    /// −1/(n − 1) or more for n of them.
    fn of(doubts: Vec<usize>, correlation: f64) -> Option<Self> {
        let n = doubts.len();
        let mut factor: Vec<Vec<f64>> = Vec::with_capacity(n);
        for i in 0..n {
            let mut row = vec![0.0; i + 1];
            for j in 0..=i {
                let known: f64 = (0..j)
                    .map(|k| row[k] * factor.get(j).map_or(row[k], |r| r[k]))
                    .sum();
                row[j] = if i == j {
                    let left = 1.0 - known;
                    if left < -1e-9 {
                        return None;
                    }
                    left.max(0.0).sqrt()
                } else {
                    let by = factor[j][j];
                    // Where all is settled by those before, nothing of its own is left.
                    if by > 1e-9 {
                        (correlation - known) / by
                    } else {
                        0.0
                    }
                };
            }
            factor.push(row);
        }
        Some(Self { doubts, factor })
    }

    pub(super) fn doubts(&self) -> &[usize] {
        &self.doubts
    }

    /// Ties chances that knew nothing of each other.
    pub(super) fn tie(&self, chances: &mut [f64]) {
        let free: Vec<f64> = self.doubts.iter().map(|i| quantile(chances[*i])).collect();
        for (i, row) in self.doubts.iter().zip(&self.factor) {
            let tied: f64 = row.iter().zip(&free).map(|(l, z)| l * z).sum();
            chances[*i] = normal_below(tied).clamp(1e-8, 1.0 - 1e-8);
        }
    }
}

/// The doubts that a document ties together.
///
/// # Errors
/// A fault for a figure that has no spread, stands in two ties, or is tied to nothing, and
/// for correlations that cannot be.
pub(super) fn found(entries: &[TogetherEntry], doubts: &[Doubt]) -> Result<Vec<Together>, Fault> {
    let mut all: Vec<Together> = vec![];
    for (n, entry) in entries.iter().enumerate() {
        let fault = |key: &str, message: String, help: String| Fault {
            span: 0..0,
            path: format!("together[{}].{key}", n + 1),
            message,
            help,
        };
        let mut these: Vec<usize> = vec![];
        for name in entry.figures.split(',').map(str::trim) {
            let Some(at) = doubts.iter().position(|d| d.path == name) else {
                let paths = doubts.iter().map(|d| d.path.as_str());
                let help = nearest(name, paths).map_or_else(
                    || "give it one: 104 ± 4 mg/L".to_owned(),
                    |near| format!("give it one (104 ± 4 mg/L); {near:?} has one"),
                );
                return Err(fault(
                    "figures",
                    format!("{name:?} has no spread here"),
                    help,
                ));
            };
            if these.contains(&at) || all.iter().any(|t| t.doubts.contains(&at)) {
                let help = "name each figure once, in one [[together]]".to_owned();
                return Err(fault("figures", format!("{name:?} is named twice"), help));
            }
            these.push(at);
        }
        if these.len() < 2 {
            let help = "name two or more, with commas between".to_owned();
            return Err(fault(
                "figures",
                "one figure has nothing to move with".to_owned(),
                help,
            ));
        }
        let correlation: Correlation = entry.correlation.value;
        let most = these.len() - 1;
        let tied = Together::of(these, correlation.ratio()).ok_or_else(|| {
            let message = format!(
                "{} figures cannot all move so much against each other",
                most + 1
            );
            let help = format!(
                "a correlation from {:.2} to 1 would work",
                -1.0 / most as f64
            );
            fault("correlation", message, help)
        })?;
        all.push(tied);
    }
    Ok(all)
}

#[cfg(test)]
mod tests {
    use super::super::sobol::point;
    use super::*;
    use proptest::prelude::*;

    /// Pearson's correlation of the normal scores of two doubts.
    fn drawn(tied: &Together, pair: [usize; 2], n: u32) -> [f64; 3] {
        let scores: Vec<[f64; 2]> = (0..n)
            .map(|j| {
                let mut chances = point(j, 0..tied.doubts.len(), 5);
                tied.tie(&mut chances);
                pair.map(|i| quantile(chances[i]))
            })
            .collect();
        let of =
            |a: usize, b: usize| scores.iter().map(|s| s[a] * s[b]).sum::<f64>() / f64::from(n);
        [of(0, 1), of(0, 0), of(1, 1)]
    }

    proptest! {
        /// Each alone stays as it was; each two have the correlation that was said.
        #[test]
        fn ties_are_as_said_and_leave_each_alone(
            n in 2usize..6, r in 0.0..1.0f64, a in 0usize..6, further in 0usize..6,
        ) {
            let least = -1.0 / (n - 1) as f64;
            let said = least + r * (1.0 - least);
            let tied = Together::of((0..n).collect(), said).unwrap();
            let (a, b) = (a % n, (a % n + 1 + further % (n - 1)) % n);
            let [both, one, other] = drawn(&tied, [a, b], 4096);
            prop_assert!((both - said).abs() < 0.03, "{both} for {said}");
            prop_assert!((one - 1.0).abs() < 0.02 && (other - 1.0).abs() < 0.02);
        }
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(Together::of(vec![0, 1], -1.0).is_some());
        assert!(Together::of(vec![0, 1, 2], -0.6).is_none());
        assert!(Together::of(vec![0, 1, 2], 1.0).is_some());
    }
}
