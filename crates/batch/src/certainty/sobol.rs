//! Points spread evenly over a cube, and what share of a figure's variance each doubt has.

use rayon::prelude::*;
use sobol_burley::sample;

use super::Stopped;

/// Dimensions of one sequence; more are taken from sequences of other seeds.
const DIMENSIONS: usize = 256;

/// A point of the sequence: scrambled Sobol' (Burley 2020), from 0 to 1, never at an end.
pub(super) fn point(index: u32, dimensions: std::ops::Range<usize>, seed: u32) -> Vec<f64> {
    let at = |dimension: usize| {
        let other = (dimension / DIMENSIONS) as u32;
        let seed = seed.wrapping_add(other.wrapping_mul(0x9E37_79B9));
        let x = f64::from(sample(index, (dimension % DIMENSIONS) as u32, seed));
        x.clamp(1e-8, 1.0 - 1e-8)
    };
    dimensions.map(at).collect()
}

/// Shares of the variance of one figure.
#[derive(Debug, Clone, PartialEq)]
pub struct Shares {
    /// What each doubt makes alone.
    pub first: Vec<f64>,
    /// What each makes alone and together with others.
    pub total: Vec<f64>,
}

/// Work that can be watched and stopped: told how much is done, it says whether to go on.
pub(super) type GoOn<'g> = &'g (dyn Fn(usize) -> bool + Sync);

/// Sobol' indices of every figure of `f` over even chances on `n` points, n (k + 2)
/// evaluations for k groups of chances, whose members move together (mostly one each):
/// first order Σ(f(B) − m)(f(AB_i) − f(A))/(nV), with m the mean (A. Saltelli
/// et al., Comput. Phys. Commun. 181 (2010) 259), which is nought to the digit where
/// nothing moves; total Σ(f(A) − f(AB_i))²/(2nV) (M.J.W. Jansen, Comput. Phys. Commun. 117
/// (1999) 35).
/// A point that cannot be evaluated is left out with all that goes with it. The points go
/// block by block into sums: memory does not grow with their number, and the sums are the
/// same by any number of threads.
///
/// # Errors
/// [`Stopped`].
pub(super) fn shares(
    groups: &[Vec<usize>],
    n: usize,
    seed: u32,
    f: impl Fn(&[f64]) -> Option<Vec<f64>> + Sync,
    go_on: GoOn<'_>,
) -> Result<Vec<Shares>, Stopped> {
    let k: usize = groups.iter().map(Vec::len).sum();
    let row = |j: u32| {
        if !go_on(j as usize) {
            return Err(Stopped);
        }
        let both = point(j, 0..2 * k, seed);
        let (a, b) = both.split_at(k);
        Ok(Row::of(groups, a, b, &f))
    };
    let mut sums: Vec<Sums> = vec![];
    for block in blocks(n) {
        let rows: Vec<_> = block.into_par_iter().map(row).collect::<Result<_, _>>()?;
        for row in rows.into_iter().flatten() {
            if sums.is_empty() {
                sums = row
                    .a
                    .iter()
                    .map(|a| Sums::about(*a, groups.len()))
                    .collect();
            }
            let each = sums.iter_mut().enumerate();
            each.for_each(|(g, sums)| sums.add(g, &row));
        }
    }
    Ok(sums.iter().map(Sums::shares).collect())
}

/// So many are reckoned before they are summed up.
const BLOCK: u32 = 128;

/// The numbers below `n` in blocks.
pub(super) fn blocks(n: usize) -> impl Iterator<Item = std::ops::Range<u32>> {
    let n = n as u32;
    (0..n.div_ceil(BLOCK)).map(move |i| i * BLOCK..((i + 1) * BLOCK).min(n))
}

/// The figures at A, at B, and at A with one group of numbers of B.
struct Row {
    a: Vec<f64>,
    b: Vec<f64>,
    mixed: Vec<Vec<f64>>,
}

impl Row {
    fn of(
        groups: &[Vec<usize>],
        a: &[f64],
        b: &[f64],
        f: impl Fn(&[f64]) -> Option<Vec<f64>>,
    ) -> Option<Self> {
        let mixed = groups.iter().map(|group| {
            let mut mixed = a.to_vec();
            group.iter().for_each(|i| mixed[*i] = b[*i]);
            f(&mixed)
        });
        Some(Self {
            mixed: mixed.collect::<Option<_>>()?,
            a: f(a)?,
            b: f(b)?,
        })
    }
}

/// What is summed up of a figure. Numbers are taken about one of their own, so that little
/// is lost of a figure that moves little.
struct Sums {
    about: f64,
    rows: f64,
    /// Of A and B.
    of_both: f64,
    squares_of_both: f64,
    of_groups: Vec<OfGroup>,
}

/// Of the difference d that a group makes to A.
#[derive(Clone, Default)]
struct OfGroup {
    d: f64,
    d_by_b: f64,
    half_squares: f64,
}

impl Sums {
    fn about(about: f64, groups: usize) -> Self {
        Self {
            about,
            rows: 0.0,
            of_both: 0.0,
            squares_of_both: 0.0,
            of_groups: vec![OfGroup::default(); groups],
        }
    }

    fn add(&mut self, g: usize, row: &Row) {
        let (a, b) = (row.a[g], row.b[g] - self.about);
        self.rows += 1.0;
        for x in [a - self.about, b] {
            self.of_both += x;
            self.squares_of_both += x * x;
        }
        for (sums, mixed) in self.of_groups.iter_mut().zip(&row.mixed) {
            let d = mixed[g] - a;
            sums.d += d;
            sums.d_by_b += d * b;
            sums.half_squares += 0.5 * d * d;
        }
    }

    fn shares(&self) -> Shares {
        let mean = self.of_both / (2.0 * self.rows);
        let variance = self.squares_of_both / (2.0 * self.rows) - mean * mean;
        // Below rounding there is nothing to share out.
        let nothing = variance <= 1e-24 * (self.about + mean).powi(2);
        let part = |sum: f64| {
            if nothing {
                0.0
            } else {
                sum / (self.rows * variance)
            }
        };
        let groups = || self.of_groups.iter();
        Shares {
            first: groups().map(|s| part(s.d_by_b - mean * s.d)).collect(),
            total: groups().map(|s| part(s.half_squares)).collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn each_apart(k: usize) -> Vec<Vec<usize>> {
        (0..k).map(|i| vec![i]).collect()
    }

    fn of(k: usize, n: usize, f: impl Fn(&[f64]) -> f64 + Sync) -> Shares {
        let all = shares(&each_apart(k), n, 7, |x| Some(vec![f(x)]), &|_| true);
        all.unwrap().remove(0)
    }

    fn near(found: &[f64], analytic: &[f64], within: f64) {
        for (f, a) in found.iter().zip(analytic) {
            assert!((f - a).abs() < within, "{found:?} for {analytic:?}");
        }
    }

    /// Ishigami & Homma 1990 with a = 7, b = 0.1: analytic indices of Saltelli et al. 2008.
    #[test]
    fn ishigami() {
        let f = |x: &[f64]| {
            let x: Vec<f64> = x.iter().map(|u| PI * (2.0 * u - 1.0)).collect();
            x[0].sin() + 7.0 * x[1].sin().powi(2) + 0.1 * x[2].powi(4) * x[0].sin()
        };
        let found = of(3, 8192, f);
        near(&found.first, &[0.3139, 0.4424, 0.0], 4e-3);
        near(&found.total, &[0.5576, 0.4424, 0.2437], 4e-3);
    }

    /// The g function of Sobol' with a = 0, 1, 4.5, 9, 99, 99, 99, 99: first order
    /// V_i = 1/(3(1 + a_i)²) over V = Π(1 + V_i) − 1; total V_i Π_{j≠i}(1 + V_j)/V.
    #[test]
    fn sobol_g() {
        let a = [0.0, 1.0, 4.5, 9.0, 99.0, 99.0, 99.0, 99.0];
        let f = |x: &[f64]| {
            let terms = x.iter().zip(&a);
            terms
                .map(|(x, a)| ((4.0 * x - 2.0).abs() + a) / (1.0 + a))
                .product()
        };
        let v = a.map(|a: f64| 1.0 / (3.0 * (1.0 + a).powi(2)));
        let all: f64 = v.iter().map(|v| 1.0 + v).product::<f64>();
        let found = of(8, 8192, f);
        near(&found.first, &v.map(|v| v / (all - 1.0)), 5e-3);
        let total = v.map(|v| v * all / (1.0 + v) / (all - 1.0));
        near(&found.total, &total, 5e-3);
    }

    /// Of Ishigami & Homma 1990 the first and the third together make all that the second
    /// does not: the function is a sum of the two parts.
    #[test]
    fn a_group_moves_as_one() {
        let f = |x: &[f64]| {
            let x: Vec<f64> = x.iter().map(|u| PI * (2.0 * u - 1.0)).collect();
            Some(vec![
                x[0].sin() + 7.0 * x[1].sin().powi(2) + 0.1 * x[2].powi(4) * x[0].sin(),
            ])
        };
        let all = shares(&[vec![0, 2], vec![1]], 8192, 7, f, &|_| true);
        let found = all.unwrap().remove(0);
        near(&found.first, &[0.5576, 0.4424], 4e-3);
        near(&found.total, &[0.5576, 0.4424], 4e-3);
    }

    #[test]
    fn what_cannot_be_evaluated_is_left_out() {
        let f = |x: &[f64]| (x[0] > 0.1).then(|| vec![x[0] + 0.0 * x[1]]);
        let found = shares(&each_apart(2), 1024, 7, f, &|_| true)
            .unwrap()
            .remove(0);
        near(&found.first, &[1.0, 0.0], 0.02);
        near(&found.total, &[1.0, 0.0], 0.02);
    }

    #[test]
    fn it_stops_when_told() {
        let all = shares(&each_apart(2), 64, 7, |x| Some(x.to_vec()), &|done| {
            done < 3
        });
        assert_eq!(all.unwrap_err(), Stopped);
    }

    #[test]
    fn more_dimensions_than_one_sequence_has_are_even_too() {
        let means = (0..1024)
            .map(|i| point(i, 250..262, 3))
            .fold(vec![0.0; 12], |sum, x| {
                sum.iter().zip(&x).map(|(s, x)| s + x / 1024.0).collect()
            });
        assert!(
            means.iter().all(|m: &f64| (m - 0.5).abs() < 2e-3),
            "{means:?}"
        );
        let pair = point(5, 0..1, 3)[0] - point(5, 256..257, 3)[0];
        assert!(pair.abs() > 1e-6);
    }
}
