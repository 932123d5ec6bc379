//! Numbers by the chance of a seed, for the tests of this module.

use quantity::numeric::split_mix;

pub(super) struct Random(u64);

impl Random {
    pub(super) fn seeded(seed: u64) -> Self {
        Self(seed)
    }

    /// Between nought and one.
    pub(super) fn uniform(&mut self) -> f64 {
        (split_mix(&mut self.0) >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Standard normal (G. E. P. Box, M. E. Muller 1958).
    pub(super) fn normal(&mut self) -> f64 {
        let (a, b) = (1.0 - self.uniform(), self.uniform());
        (-2.0 * a.ln()).sqrt() * (std::f64::consts::TAU * b).cos()
    }
}
