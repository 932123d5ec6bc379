//! Linear equations of a handful of unknowns, solved on the stack.

/// Solves A x = b in place, by elimination with row exchange; `b` becomes x.
/// Only the first `n` rows and columns count. False where A is singular.
pub(super) fn solve<const M: usize>(a: &mut [[f64; M]; M], b: &mut [f64; M], n: usize) -> bool {
    let n = n.min(M);
    for column in 0..n {
        let pivot = largest_below(a, column, n);
        if a[pivot][column].abs() < 1e-13 {
            return false;
        }
        if pivot != column {
            a.swap(pivot, column);
            b.swap(pivot, column);
        }
        let (above, below) = a[..n].split_at_mut(column + 1);
        let Some(top) = above.last().map(|row| &row[column..n]) else {
            return false;
        };
        let (inverse, known) = (1.0 / top[0], b[column]);
        for (row, b) in below.iter_mut().zip(&mut b[column + 1..n]) {
            let row = &mut row[column..n];
            let factor = row[0] * inverse;
            if factor == 0.0 {
                continue;
            }
            for (below, above) in row.iter_mut().zip(top) {
                *below -= factor * above;
            }
            *b -= factor * known;
        }
    }
    for row in (0..n).rev() {
        let known: f64 = a[row][row + 1..n]
            .iter()
            .zip(&b[row + 1..n])
            .map(|(a, x)| a * x)
            .sum();
        b[row] = (b[row] - known) / a[row][row];
    }
    b[..n].iter().all(|x| x.is_finite())
}

fn largest_below<const M: usize>(a: &[[f64; M]; M], column: usize, n: usize) -> usize {
    (column..n).fold(column, |best, row| {
        if a[row][column].abs() > a[best][column].abs() {
            row
        } else {
            best
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn singular_equations_are_refused() {
        let mut a = [[1.0, 2.0], [2.0, 4.0]];
        assert!(!solve(&mut a, &mut [1.0, 1.0], 2));
    }

    proptest! {
        #[test]
        fn what_is_solved_solves(
            a in prop::array::uniform5(prop::array::uniform5(-1.0..1.0)),
            b in prop::array::uniform5(-1.0..1.0),
        ) {
            let (mut left, mut x) = (a, b);
            for (n, row) in left.iter_mut().enumerate() {
                row[n] += 6.0;
            }
            let matrix = left;
            prop_assert!(solve(&mut left, &mut x, 5));
            for (row, right) in matrix.iter().zip(b) {
                let sum: f64 = row.iter().zip(x).map(|(a, x)| a * x).sum();
                prop_assert!((sum - right).abs() < 1e-12);
            }
        }
    }
}
