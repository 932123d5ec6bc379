//! Symmetric positive matrices of a few rows.

/// The lower triangle L of A = L Lᵀ.
#[derive(Debug, Clone)]
pub(crate) struct Lower {
    n: usize,
    rows: Vec<f64>,
}

impl Lower {
    /// Nothing where the matrix, given row by row, is not positive or not finite.
    pub(crate) fn of(n: usize, a: &[f64]) -> Option<Self> {
        let mut rows = vec![0.0; n * n];
        for i in 0..n {
            for j in 0..=i {
                let known: f64 = (0..j).map(|k| rows[i * n + k] * rows[j * n + k]).sum();
                let left = a[i * n + j] - known;
                rows[i * n + j] = if i == j {
                    if !(left > 0.0 && left.is_finite()) {
                        return None;
                    }
                    left.sqrt()
                } else {
                    left / rows[j * n + j]
                };
            }
        }
        Some(Self { n, rows })
    }

    /// x of A x = b.
    pub(crate) fn solve(&self, b: &[f64]) -> Vec<f64> {
        self.solve_transposed(&self.solve_lower(b))
    }

    /// x of Lᵀ x = b: turns independent normal numbers into ones with covariance A⁻¹.
    pub(crate) fn solve_transposed(&self, b: &[f64]) -> Vec<f64> {
        let n = self.n;
        let mut x = b.to_vec();
        for i in (0..n).rev() {
            let known: f64 = (i + 1..n).map(|j| self.rows[j * n + i] * x[j]).sum();
            x[i] = (x[i] - known) / self.rows[i * n + i];
        }
        x
    }

    /// Lᵀ x: undoes [`solve_transposed`](Self::solve_transposed).
    pub(crate) fn times_transposed(&self, x: &[f64]) -> Vec<f64> {
        let n = self.n;
        let part = |j: usize| (j..n).map(|i| self.rows[i * n + j] * x[i]).sum();
        (0..n).map(part).collect()
    }

    /// xᵀ A x.
    pub(crate) fn quadratic(&self, x: &[f64]) -> f64 {
        self.times_transposed(x).iter().map(|y| y * y).sum()
    }

    /// L⁻¹ b.
    pub(crate) fn solve_lower(&self, b: &[f64]) -> Vec<f64> {
        let n = self.n;
        let mut x = b.to_vec();
        for i in 0..n {
            let known: f64 = (0..i).map(|j| self.rows[i * n + j] * x[j]).sum();
            x[i] = (x[i] - known) / self.rows[i * n + i];
        }
        x
    }

    /// A⁻¹, row by row.
    pub(crate) fn inverse(&self) -> Vec<f64> {
        let n = self.n;
        let mut out = vec![0.0; n * n];
        for j in 0..n {
            let unit: Vec<f64> = (0..n).map(|i| f64::from(u8::from(i == j))).collect();
            for (i, x) in self.solve(&unit).into_iter().enumerate() {
                out[i * n + j] = x;
            }
        }
        out
    }

    /// ln of the determinant of A.
    pub(crate) fn ln_determinant(&self) -> f64 {
        (0..self.n)
            .map(|i| 2.0 * self.rows[i * self.n + i].ln())
            .sum()
    }
}
