//! Linear equations of fixed size.

use super::real::Real;

/// A square matrix as rows.
pub(super) type Matrix<T, const N: usize> = [[T; N]; N];

/// A matrix taken apart into triangles, rows swapped for the largest pivot.
pub(super) struct Triangles<T, const N: usize> {
    rows: Matrix<T, N>,
    pivots: [T; N],
    order: [usize; N],
}

impl<T: Real, const N: usize> Triangles<T, N> {
    /// Nothing if the matrix is singular or not finite, for any of its members.
    pub(super) fn of(mut rows: Matrix<T, N>) -> Option<Self> {
        let mut order = std::array::from_fn(|i| i);
        let mut pivots = [T::of(0.0); N];
        for k in 0..N {
            let size = |i: &usize| rows[*i][k].least_size();
            let pivot = (k..N).max_by(|i, j| size(i).total_cmp(&size(j)))?;
            if !size(&pivot).is_normal() || !rows[pivot][k].is_finite() {
                return None;
            }
            rows.swap(k, pivot);
            order.swap(k, pivot);
            let top = rows[k];
            pivots[k] = top[k].recip();
            for row in &mut rows[k + 1..] {
                let factor = row[k] * pivots[k];
                row[k] = factor;
                for j in k + 1..N {
                    row[j] = row[j] - factor * top[j];
                }
            }
        }
        Some(Self {
            rows,
            pivots,
            order,
        })
    }

    /// The x of A x = b.
    pub(super) fn solve(&self, b: &[T; N]) -> [T; N] {
        let mut x: [T; N] = std::array::from_fn(|i| b[self.order[i]]);
        for i in 1..N {
            for j in 0..i {
                x[i] = x[i] - self.rows[i][j] * x[j];
            }
        }
        for i in (0..N).rev() {
            for j in i + 1..N {
                x[i] = x[i] - self.rows[i][j] * x[j];
            }
            x[i] = x[i] * self.pivots[i];
        }
        x
    }
}
