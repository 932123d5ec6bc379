//! Counts, means and products of deviations that can be taken in parts and put together.
//!
//! Two parts merge by the pairwise update of T. F. Chan, G. H. Golub and R. J. LeVeque
//! (The American Statistician 37 (1983) 242; from memory): with the difference d of the
//! means, C = Cₐ + C_b + d dᵀ nₐ n_b / (nₐ + n_b). Taken in any order and any parts the
//! result is the same but for rounding.

/// Moments of `dims` numbers that belong together.
#[derive(Debug, Clone, PartialEq)]
pub struct Comoments {
    /// How many rows; exact up to 2⁵³.
    n: f64,
    means: Vec<f64>,
    /// Sums of products of deviations: the upper triangle, row by row.
    products: Vec<f64>,
}

/// A straight line, or plane, through rows: y over one or two numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// What y changes by, by one unit of each x, with its standard error.
    pub slopes: Vec<(f64, f64)>,
    /// Standard deviation of what the plane leaves.
    pub left: f64,
    /// Share of the variance of y that the plane takes off \[0 to 1\].
    pub explained: f64,
}

impl Comoments {
    /// Of nothing yet.
    #[must_use]
    pub fn new(dims: usize) -> Self {
        Self {
            n: 0.0,
            means: vec![0.0; dims],
            products: vec![0.0; dims * (dims + 1) / 2],
        }
    }

    /// How many numbers belong together.
    #[must_use]
    pub fn dims(&self) -> usize {
        self.means.len()
    }

    /// Adds a row of as many numbers.
    pub fn add(&mut self, row: &[f64]) {
        let before = self.n;
        self.n += 1.0;
        let weight = before / self.n;
        let off: Vec<f64> = row.iter().zip(&self.means).map(|(x, m)| x - m).collect();
        self.add_products(&off, weight);
        for (mean, d) in self.means.iter_mut().zip(&off) {
            *mean += d / self.n;
        }
    }

    /// Puts another part beside this one.
    pub fn merge(&mut self, other: &Self) {
        if other.n <= 0.0 {
            return;
        }
        if self.n <= 0.0 {
            self.clone_from(other);
            return;
        }
        let all = self.n + other.n;
        let off: Vec<f64> = other
            .means
            .iter()
            .zip(&self.means)
            .map(|(b, a)| b - a)
            .collect();
        for (mine, theirs) in self.products.iter_mut().zip(&other.products) {
            *mine += theirs;
        }
        self.add_products(&off, self.n * other.n / all);
        for (mean, d) in self.means.iter_mut().zip(&off) {
            *mean += d * other.n / all;
        }
        self.n = all;
    }

    fn add_products(&mut self, off: &[f64], weight: f64) {
        let pairs = off
            .iter()
            .enumerate()
            .flat_map(|(i, a)| off.iter().skip(i).map(move |b| a * b));
        for (sum, product) in self.products.iter_mut().zip(pairs) {
            *sum += product * weight;
        }
    }

    /// How many rows.
    #[must_use]
    pub fn count(&self) -> f64 {
        self.n
    }

    /// The mean of one of the numbers; none without rows.
    #[must_use]
    pub fn mean(&self, of: usize) -> Option<f64> {
        self.means.get(of).copied().filter(|_| self.n > 0.0)
    }

    /// The standard deviation of one of the numbers; none with fewer than two rows.
    #[must_use]
    pub fn sd(&self, of: usize) -> Option<f64> {
        let squares = self.product(of, of)?;
        (self.n > 1.0).then(|| (squares.max(0.0) / (self.n - 1.0)).sqrt())
    }

    /// The root of the mean square of one of the numbers; none without rows.
    #[must_use]
    pub fn rms(&self, of: usize) -> Option<f64> {
        let squares = self.product(of, of)? / self.n;
        self.mean(of).map(|mean| (squares + mean * mean).sqrt())
    }

    fn product(&self, a: usize, b: usize) -> Option<f64> {
        let (low, high) = (a.min(b), a.max(b));
        let dims = self.dims();
        (high < dims)
            .then(|| low * dims - low * (low + 1) / 2 + high)
            .and_then(|place| self.products.get(place).copied())
    }

    /// The least-squares plane of the first number over the next one or two; none with
    /// fewer than five rows more than numbers, or where the others do not vary apart.
    #[must_use]
    pub fn fit(&self) -> Option<Fit> {
        let free = self.n - self.dims() as f64;
        if free < 5.0 {
            return None;
        }
        let p = |a, b| self.product(a, b);
        let total = p(0, 0)?;
        // Less than a billionth of what they would vary if they varied apart is rounding.
        const APART: f64 = 1e-9;
        let (slopes, inverse) = match self.dims() {
            2 => {
                let xx = p(1, 1)?;
                (xx > 0.0).then_some(())?;
                (vec![p(0, 1)? / xx], vec![1.0 / xx])
            }
            3 => {
                let (a, b, c) = (p(1, 1)?, p(1, 2)?, p(2, 2)?);
                let det = a * c - b * b;
                (a > 0.0 && c > 0.0 && det > APART * a * c).then_some(())?;
                let (u, v) = (p(0, 1)?, p(0, 2)?);
                let slopes = vec![(c * u - b * v) / det, (a * v - b * u) / det];
                (slopes, vec![c / det, a / det])
            }
            _ => return None,
        };
        let taken: f64 = slopes
            .iter()
            .enumerate()
            .map(|(i, slope)| p(0, i + 1).map(|uv| slope * uv))
            .sum::<Option<f64>>()?;
        let left = ((total - taken).max(0.0) / free).sqrt();
        let with_error = |(slope, inv): (&f64, &f64)| (*slope, left * inv.sqrt());
        Some(Fit {
            slopes: slopes.iter().zip(&inverse).map(with_error).collect(),
            left,
            explained: if total > 0.0 {
                (taken / total).clamp(0.0, 1.0)
            } else {
                0.0
            },
        })
    }

    /// As a row of numbers: what a partial aggregate hands on.
    #[must_use]
    pub fn to_numbers(&self) -> Vec<f64> {
        let mut all = vec![self.n];
        all.extend(&self.means);
        all.extend(&self.products);
        all
    }

    /// From such a row; none where its length is that of no number of dimensions.
    #[must_use]
    pub fn from_numbers(numbers: &[f64]) -> Option<Self> {
        let dims = (1..=8).find(|d| numbers.len() == 1 + d + d * (d + 1) / 2)?;
        let (n, rest) = numbers.split_first()?;
        let (means, products) = rest.split_at_checked(dims)?;
        Some(Self {
            n: *n,
            means: means.to_vec(),
            products: products.to_vec(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn of(rows: &[[f64; 3]]) -> Comoments {
        let mut all = Comoments::new(3);
        rows.iter().for_each(|row| all.add(row));
        all
    }

    fn close(a: f64, b: f64, scale: f64) -> bool {
        (a - b).abs() <= 1e-9 * (scale + a.abs().max(b.abs()))
    }

    fn alike(a: &Comoments, b: &Comoments) {
        let scale = a.to_numbers().iter().fold(1.0, |m, x| x.abs().max(m));
        for (x, y) in a.to_numbers().iter().zip(b.to_numbers()) {
            assert!(close(*x, y, scale), "{a:?}\n{b:?}");
        }
    }

    proptest! {
        #[test]
        fn parts_in_any_order_are_the_whole(
            rows in prop::collection::vec(prop::array::uniform3(-100.0..100.0f64), 1..120),
            cuts in prop::collection::vec(0usize..120, 0..8),
            turn in 0usize..8,
        ) {
            let mut cuts: Vec<usize> = cuts.into_iter().map(|c| c.min(rows.len())).collect();
            cuts.extend([0, rows.len()]);
            cuts.sort_unstable();
            let mut parts: Vec<Comoments> =
                cuts.windows(2).map(|w| of(&rows[w[0]..w[1]])).collect();
            let turn = turn % parts.len();
            parts.rotate_left(turn);
            // Pairwise, as a tree of machines would.
            while parts.len() > 1 {
                let mut next = Vec::new();
                for pair in parts.chunks(2) {
                    let mut one = pair[0].clone();
                    if let Some(other) = pair.get(1) {
                        one.merge(other);
                    }
                    next.push(one);
                }
                parts = next;
            }
            alike(&parts[0], &of(&rows));
            // And by the definition.
            let n = rows.len() as f64;
            let mean = rows.iter().map(|r| r[1]).sum::<f64>() / n;
            prop_assert!(close(parts[0].mean(1).unwrap(), mean, 100.0));
            let rms = (rows.iter().map(|r| r[1] * r[1]).sum::<f64>() / n).sqrt();
            prop_assert!(close(parts[0].rms(1).unwrap(), rms, 100.0));
        }

        #[test]
        fn what_is_handed_on_comes_back(rows in prop::collection::vec(prop::array::uniform3(-9.0..9.0f64), 0..9)) {
            let all = of(&rows);
            prop_assert_eq!(Comoments::from_numbers(&all.to_numbers()), Some(all));
        }

        #[test]
        fn a_plane_is_found_again(a in -3.0..3.0f64, b in -3.0..3.0f64, at in -50.0..50.0f64) {
            let rows: Vec<[f64; 3]> = (0..40).map(|i| {
                let (x, z) = (f64::from(i % 7), f64::from(i % 5));
                [at + a * x + b * z, x, z]
            }).collect();
            let fit = of(&rows).fit().unwrap();
            prop_assert!((fit.slopes[0].0 - a).abs() < 1e-6);
            prop_assert!((fit.slopes[1].0 - b).abs() < 1e-6);
            prop_assert!(fit.left < 1e-4);
        }
    }

    /// Anscombe's first set (F. J. Anscombe, The American Statistician 27 (1973) 17, read
    /// again from memory): slope 0.500, its standard error 0.118, R² 0.667.
    #[test]
    fn the_line_through_a_published_set() {
        let x = [10.0, 8.0, 13.0, 9.0, 11.0, 14.0, 6.0, 4.0, 12.0, 7.0, 5.0];
        let y = [
            8.04, 6.95, 7.58, 8.81, 8.33, 9.96, 7.24, 4.26, 10.84, 4.82, 5.68,
        ];
        let mut all = Comoments::new(2);
        y.iter().zip(x).for_each(|(y, x)| all.add(&[*y, x]));
        let fit = all.fit().unwrap();
        assert!((fit.slopes[0].0 - 0.500).abs() < 5e-4);
        assert!((fit.slopes[0].1 - 0.118).abs() < 5e-4);
        assert!((fit.explained - 0.667).abs() < 5e-4);
    }

    #[test]
    fn numbers_that_move_as_one_give_no_plane() {
        let rows: Vec<[f64; 3]> = (0..30).map(|i| [f64::from(i), 2.0, 3.0]).collect();
        assert_eq!(of(&rows).fit(), None);
        let rows: Vec<[f64; 3]> = (0..30)
            .map(f64::from)
            .map(|i| [i * i, i, 2.0 * i])
            .collect();
        assert_eq!(of(&rows).fit(), None);
    }
}
