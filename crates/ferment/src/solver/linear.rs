//! Linear equations of fixed size.

/// A square matrix as rows.
pub(super) type Matrix<const N: usize> = [[f64; N]; N];

/// A matrix taken apart into triangles, rows swapped for the largest pivot.
pub(super) struct Triangles<const N: usize> {
    rows: Matrix<N>,
    order: [usize; N],
}

impl<const N: usize> Triangles<N> {
    /// Nothing if the matrix is singular or not finite.
    pub(super) fn of(mut rows: Matrix<N>) -> Option<Self> {
        let mut order = std::array::from_fn(|i| i);
        for k in 0..N {
            let pivot = (k..N).max_by(|i, j| rows[*i][k].abs().total_cmp(&rows[*j][k].abs()))?;
            if !(rows[pivot][k].is_normal()) {
                return None;
            }
            rows.swap(k, pivot);
            order.swap(k, pivot);
            let top = rows[k];
            for row in &mut rows[k + 1..] {
                let factor = row[k] / top[k];
                row[k] = factor;
                for j in k + 1..N {
                    row[j] -= factor * top[j];
                }
            }
        }
        Some(Self { rows, order })
    }

    /// The x of A x = b.
    pub(super) fn solve(&self, b: &[f64; N]) -> [f64; N] {
        let mut x: [f64; N] = std::array::from_fn(|i| b[self.order[i]]);
        for i in 1..N {
            let known: f64 = (0..i).map(|j| self.rows[i][j] * x[j]).sum();
            x[i] -= known;
        }
        for i in (0..N).rev() {
            let known: f64 = (i + 1..N).map(|j| self.rows[i][j] * x[j]).sum();
            x[i] = (x[i] - known) / self.rows[i][i];
        }
        x
    }
}
