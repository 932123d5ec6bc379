//! A step that was taken.

use super::real::Real;

/// A step taken, with the curve along it.
pub(super) struct Step<T, const N: usize> {
    pub(super) from_h: f64,
    pub(super) to_h: f64,
    pub(super) from: [T; N],
    pub(super) to: [T; N],
    /// How the curve leaves the straight line, as far as its method knows.
    pub(super) bend: [[T; N]; 3],
}

impl<T: Real, const N: usize> Step<T, N> {
    /// The state at a time within the step, on the dense output of its method.
    pub(super) fn at(&self, t_h: f64) -> [T; N] {
        let s = ((t_h - self.from_h) / (self.to_h - self.from_h)).clamp(0.0, 1.0);
        let r = 1.0 - s;
        let [b0, b1, b2] = &self.bend;
        std::array::from_fn(|i| {
            let bent = b0[i] + (b1[i] + b2[i] * r) * s;
            self.from[i] * r + (self.to[i] + bent * r) * s
        })
    }
}
