//! Small quadratic programs.

use crate::cholesky::Lower;

/// The least of ½ xᵀH x + gᵀx where A x ≤ b, H positive definite, with the
/// multipliers of the rows; nothing if there is no such x or the numbers fail.
///
/// Primal-dual interior point with Mehrotra's corrector (J. Nocedal, S.J. Wright,
/// Numerical Optimization, 2nd ed. 2006, section 16.6; from memory).
pub(super) fn least(
    h: &[Vec<f64>],
    g: &[f64],
    a: &[Vec<f64>],
    b: &[f64],
) -> Option<(Vec<f64>, Vec<f64>)> {
    let (n, m) = (g.len(), b.len());
    let mut x = vec![0.0; n];
    let (mut s, mut z): (Vec<f64>, Vec<f64>) =
        (b.iter().map(|b| b.max(1.0)).collect(), vec![1.0; m]);
    let scale = 1.0 + g.iter().fold(0.0_f64, |most, g| most.max(g.abs()));
    for _ in 0..100 {
        let dual: Vec<f64> = (0..n)
            .map(|i| dot(&h[i], &x) + g[i] + (0..m).map(|k| a[k][i] * z[k]).sum::<f64>())
            .collect();
        let primal: Vec<f64> = (0..m).map(|k| dot(&a[k], &x) + s[k] - b[k]).collect();
        let gap = dot(&s, &z) / m as f64;
        let worst = dual
            .iter()
            .chain(&primal)
            .fold(0.0_f64, |w, r| w.max(r.abs()));
        if gap < 1e-11 * scale && worst < 1e-9 * scale {
            return Some((x, z));
        }
        let normal = |place: usize| {
            let (i, j) = (place / n, place % n);
            h[i][j] + (0..m).map(|k| a[k][i] * z[k] / s[k] * a[k][j]).sum::<f64>()
        };
        let factor = Lower::of(n, &(0..n * n).map(normal).collect::<Vec<f64>>())?;
        let direction = |complementary: &[f64]| {
            let scaled: Vec<f64> = (0..m)
                .map(|k| (z[k] * primal[k] - complementary[k]) / s[k])
                .collect();
            let right: Vec<f64> = (0..n)
                .map(|i| -dual[i] - (0..m).map(|k| a[k][i] * scaled[k]).sum::<f64>())
                .collect();
            let dx = factor.solve(&right);
            let ds: Vec<f64> = (0..m).map(|k| -primal[k] - dot(&a[k], &dx)).collect();
            let dz: Vec<f64> = (0..m)
                .map(|k| -(complementary[k] + z[k] * ds[k]) / s[k])
                .collect();
            (dx, ds, dz)
        };
        let plain: Vec<f64> = (0..m).map(|k| s[k] * z[k]).collect();
        let (_, ds, dz) = direction(&plain);
        let (reach_s, reach_z) = (reach(&s, &ds), reach(&z, &dz));
        let after = (0..m).map(|k| (s[k] + reach_s * ds[k]) * (z[k] + reach_z * dz[k]));
        let centred = gap * (after.sum::<f64>() / m as f64 / gap).powi(3);
        let corrected: Vec<f64> = (0..m).map(|k| plain[k] + ds[k] * dz[k] - centred).collect();
        let (dx, ds, dz) = direction(&corrected);
        let step = 0.99 * reach(&s, &ds).min(reach(&z, &dz));
        advance(&mut x, &dx, step);
        advance(&mut s, &ds, step);
        advance(&mut z, &dz, step);
    }
    None
}

pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn advance(x: &mut [f64], by: &[f64], step: f64) {
    for (x, d) in x.iter_mut().zip(by) {
        *x += step * d;
    }
}

/// The longest step, at most 1, that keeps all above zero.
fn reach(x: &[f64], by: &[f64]) -> f64 {
    let to_zero = x.iter().zip(by).filter(|(_, d)| **d < 0.0);
    to_zero.fold(1.0, |least, (x, d)| f64::min(least, -x / d))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// (x − 1)² + (y − 2.5)² under x − 2y ≥ −2, −x − 2y ≥ −6, −x + 2y ≥ −2, x, y ≥ 0
    /// is least at (1.4, 1.7): Nocedal & Wright 2006, example 16.4.
    #[test]
    fn the_textbook_example_is_solved() {
        let h = [vec![2.0, 0.0], vec![0.0, 2.0]];
        let rows = [
            [-1.0, 2.0],
            [1.0, 2.0],
            [1.0, -2.0],
            [-1.0, 0.0],
            [0.0, -1.0],
        ];
        let a: Vec<Vec<f64>> = rows.iter().map(|r| r.to_vec()).collect();
        let (x, z) = least(&h, &[-2.0, -5.0], &a, &[2.0, 6.0, 2.0, 0.0, 0.0]).unwrap();
        assert!(
            (x[0] - 1.4).abs() < 1e-8 && (x[1] - 1.7).abs() < 1e-8,
            "{x:?}"
        );
        assert!((z[0] - 0.8).abs() < 1e-7, "{z:?}");
    }

    #[test]
    fn what_cannot_be_met_is_no_answer() {
        let a = [vec![1.0], vec![-1.0]];
        assert!(least(&[vec![1.0]], &[0.0], &a, &[-1.0, -1.0]).is_none());
    }

    proptest! {
        /// At the least the slope is balanced by rows that are met exactly, each
        /// pushing one way (Karush, Kuhn, Tucker).
        #[test]
        fn the_conditions_of_a_least_hold(
            g in prop::collection::vec(-3.0..3.0f64, 4),
            rows in prop::collection::vec(prop::collection::vec(-1.0..1.0f64, 4), 7),
            b in prop::collection::vec(0.05..2.0f64, 7),
        ) {
            let h: Vec<Vec<f64>> = (0..4)
                .map(|i| (0..4).map(|j| if i == j { 2.0 } else { 0.3 }).collect())
                .collect();
            let (x, z) = least(&h, &g, &rows, &b).unwrap();
            for i in 0..4 {
                let push: f64 = (0..7).map(|k| rows[k][i] * z[k]).sum();
                prop_assert!((dot(&h[i], &x) + g[i] + push).abs() < 1e-6);
            }
            for k in 0..7 {
                let room = b[k] - dot(&rows[k], &x);
                prop_assert!(room > -1e-7 && z[k] > -1e-9 && room * z[k] < 1e-6);
            }
        }
    }
}
