//! The kernel of what is learned: a mean that is linear in a few coefficients, about which
//! batches (or samples) lie apart by a spread that is itself unknown.
//!
//! y ~ N(xᵀβ, s² + τ²) with s known; βₖ ~ N(mₖ, vₖ) and ln τ ~ N(ln t₀, q²). Given τ all is
//! normal and closed, and readings are taken one after the other (A. Gelman et al., Bayesian
//! Data Analysis, 3rd ed., chapter 14): with r = y − xᵀm, S = xᵀVx + v/w, k = Vx/S
//!
//! m ← m + k r,  V ← V − k (Vx)ᵀ,  ln p ← ln p − ½ (ln S + r²/S)
//!
//! and τ is summed over a grid. An old reading counts for a share w of a new one: its
//! likelihood is raised to that power (J. G. Ibrahim, M.-H. Chen, Stat. Sci. 15 (2000) 46),
//! which is a reading of the variance v/w with the factor v^½(1−w) taken out.

/// Points of the grid of ln τ, and how far it reaches in standard deviations.
pub(super) const POINTS: usize = 161;
const REACH: f64 = 5.0;

/// What is known beforehand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Before<const K: usize> {
    /// Means and standard deviations of the coefficients.
    pub(super) mean: [f64; K],
    pub(super) sd: [f64; K],
    /// Median of τ, and the standard deviation of its logarithm; nought is exactly.
    pub(super) apart: f64,
    pub(super) apart_ln_sd: f64,
}

/// A reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Row<const K: usize> {
    pub(super) x: [f64; K],
    pub(super) value: f64,
    pub(super) sd: f64,
    pub(super) weight: f64,
}

/// A value of τ with its chance, and the normal of the coefficients given it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Node<const K: usize> {
    pub(super) apart: f64,
    pub(super) chance: f64,
    pub(super) mean: [f64; K],
    pub(super) covariance: [[f64; K]; K],
}

impl<const K: usize> Before<K> {
    /// Each value of τ with what is known given it. What says nothing finite does not count.
    pub(super) fn after(&self, rows: &[Row<K>]) -> Vec<Node<K>> {
        let counted: Vec<Row<K>> = rows.iter().copied().filter(Row::counts).collect();
        let found: Vec<(Node<K>, f64)> = self
            .grid()
            .into_iter()
            .map(|(apart, ln_prior)| self.given(apart, ln_prior, &counted))
            .collect();
        let most = found.iter().fold(f64::NEG_INFINITY, |m, (_, l)| m.max(*l));
        let whole: f64 = found.iter().map(|(_, l)| (l - most).exp()).sum();
        let nodes = found.into_iter().map(|(node, l)| Node {
            chance: (l - most).exp() / whole,
            ..node
        });
        nodes.collect()
    }

    /// τ and the logarithm of its chance beforehand, but for a constant.
    fn grid(&self) -> Vec<(f64, f64)> {
        if self.apart_ln_sd <= 0.0 {
            return vec![(self.apart, 0.0)];
        }
        let step = 2.0 * REACH / (POINTS - 1) as f64;
        (0..POINTS)
            .map(|i| {
                let z = step * i as f64 - REACH;
                (self.apart * (self.apart_ln_sd * z).exp(), -0.5 * z * z)
            })
            .collect()
    }

    fn given(&self, apart: f64, ln_prior: f64, rows: &[Row<K>]) -> (Node<K>, f64) {
        let mut node = Node {
            apart,
            chance: 0.0,
            mean: self.mean,
            covariance: [[0.0; K]; K],
        };
        for (k, sd) in self.sd.iter().enumerate() {
            node.covariance[k][k] = sd * sd;
        }
        let mut ln = ln_prior;
        for row in rows {
            ln += node.take(row);
        }
        (node, ln)
    }
}

impl<const K: usize> Row<K> {
    fn counts(&self) -> bool {
        let finite = self.value.is_finite() && (self.sd * self.sd).is_finite();
        finite && self.sd >= 0.0 && self.weight > 0.0
    }
}

impl<const K: usize> Node<K> {
    /// Takes a reading, and gives the logarithm of its chance but for a constant.
    fn take(&mut self, row: &Row<K>) -> f64 {
        let own = row.sd * row.sd + self.apart * self.apart;
        let spread = self.spread(&row.x);
        let s = dot(&row.x, &spread) + own / row.weight;
        let off = row.value - dot(&row.x, &self.mean);
        for k in 0..K {
            self.mean[k] += spread[k] / s * off;
            for j in 0..K {
                self.covariance[k][j] -= spread[k] / s * spread[j];
            }
        }
        0.5 * (1.0 - row.weight) * own.ln() - 0.5 * (s.ln() + off * off / s)
    }

    /// The covariance times a vector.
    fn spread(&self, x: &[f64; K]) -> [f64; K] {
        self.covariance.map(|row| dot(&row, x))
    }

    /// Mean and variance of xᵀβ.
    pub(super) fn at(&self, x: &[f64; K]) -> (f64, f64) {
        (
            dot(x, &self.mean),
            dot(x, &self.spread(x)).max(f64::MIN_POSITIVE),
        )
    }
}

fn dot<const K: usize>(a: &[f64; K], b: &[f64; K]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
