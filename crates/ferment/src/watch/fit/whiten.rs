//! What readings say after their noise: a curve is never quite right, and errs the same
//! way for hours, so neighbouring readings count for less than as many independent ones.
//!
//! Reading = curve + δ(t) + ε. δ is an Ornstein–Uhlenbeck process (an autoregression of
//! the first order in even steps) times a standard deviation σ_d(t), correlation exp(−Δt/θ). ε is white. Given both,
//! the innovations of a Kalman filter are independent, and linear in the residuals: the
//! same gains whiten residuals and derivatives.

use crate::solver::Real;

/// How far a curve is off: sd² = floor² + (ahead · slope)², where the slope is that of the
/// curve. A fermentation that runs some hours early or late of its curve is off by what the
/// curve falls in them.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Wander {
    /// Where the curve is level \[°P\].
    pub(crate) floor: f64,
    /// Hours early or late.
    pub(crate) ahead_h: f64,
    /// Time in which it is forgotten to 1/e \[h\].
    pub(crate) hours: f64,
}

impl Wander {
    /// The standard deviation where the curve has a slope \[°P/h\].
    pub(crate) fn sd(&self, slope: f64) -> f64 {
        self.floor.hypot(self.ahead_h * slope)
    }

    /// The same, larger by a factor.
    pub(crate) fn times(self, factor: f64) -> Self {
        Self {
            floor: self.floor * factor,
            ahead_h: self.ahead_h * factor,
            ..self
        }
    }

    /// How much of it is left after some hours.
    pub(crate) fn kept(&self, after_h: f64) -> f64 {
        (-after_h / self.hours).exp()
    }
}

/// The noise of a reading before its factors.
#[derive(Debug, Clone, Copy)]
pub(crate) struct NoiseRow {
    /// Correlation of δ with that at the reading before.
    pub(crate) kept: f64,
    /// Standard deviation of ε \[°P\].
    pub(crate) white: f64,
    /// Standard deviation of δ \[°P\].
    pub(crate) off: f64,
}

/// Squares of the whitened residuals and Σ ln S: −2 ln of the likelihood, for factors that
/// may carry slopes. The same filter as [`Whitener`].
pub(crate) fn misfit<T: Real>(rows: &[NoiseRow], residuals: &[f64], [factor, ahead]: [T; 2]) -> T {
    let (factor, ahead) = (factor * factor, ahead * ahead);
    let (mut variance, mut delta, mut sum) = (T::of(1.0), T::of(0.0), T::of(0.0));
    let mut before = 1.0;
    for (row, residual) in rows.iter().zip(residuals) {
        variance = (variance - 1.0) * (row.kept * row.kept) + 1.0;
        let off = variance * ahead * (row.off * row.off);
        let s = off + factor * (row.white * row.white);
        let gain = off / s;
        let known = delta * (row.kept * row.off / before);
        let innovation = -known + *residual;
        delta = known + gain * innovation;
        sum = sum + innovation * innovation / s + s.ln();
        variance = variance * (-gain + 1.0);
        before = row.off;
    }
    sum
}

/// The gains of a filter.
#[derive(Debug, Clone)]
pub(crate) struct Whitener {
    /// (carried over, gain, 1/√S) of each reading.
    steps: Vec<(f64, f64, f64)>,
    ln_s: f64,
    /// Share of the variance of δ that is left after the last reading.
    last_share: f64,
}

impl Whitener {
    /// For readings with a factor on their white noise and one on the wander.
    pub(crate) fn of(rows: &[NoiseRow], [factor, ahead]: [f64; 2]) -> Self {
        // In units of σ_d(t), so that the process itself is stationary.
        let mut variance = 1.0;
        let mut before = 1.0;
        let mut ln_s = 0.0;
        let mut steps = Vec::with_capacity(rows.len());
        for row in rows {
            let (white, scale) = (factor * row.white, ahead * row.off);
            let kept = row.kept;
            variance = 1.0 + kept * kept * (variance - 1.0);
            let s = variance * scale * scale + white * white;
            let gain = variance * scale * scale / s;
            steps.push((kept * row.off / before, gain, 1.0 / s.sqrt()));
            variance *= 1.0 - gain;
            ln_s += s.ln();
            before = row.off;
        }
        Self {
            steps,
            ln_s,
            last_share: variance,
        }
    }

    /// Whitens a column in place; gives the mean of δ after the last row.
    pub(crate) fn apply(&self, column: &mut [f64]) -> f64 {
        let mut delta = 0.0;
        for ((carried, gain, scale), x) in self.steps.iter().zip(column) {
            let known = carried * delta;
            let innovation = *x - known;
            delta = known + gain * innovation;
            *x = innovation * scale;
        }
        delta
    }

    /// Whitens rows of `width` numbers in place.
    pub(crate) fn apply_rows(&self, rows: &mut [f64], width: usize) {
        let mut delta = vec![0.0; width];
        for ((carried, gain, scale), row) in self.steps.iter().zip(rows.chunks_exact_mut(width)) {
            for (x, d) in row.iter_mut().zip(&mut delta) {
                let known = carried * *d;
                let innovation = *x - known;
                *d = known + gain * innovation;
                *x = innovation * scale;
            }
        }
    }

    /// Σ ln S: what the likelihood has beside the squares, twice over.
    pub(crate) fn ln_s(&self) -> f64 {
        self.ln_s
    }

    /// √S of a reading \[°P\].
    pub(crate) fn spread(&self, i: usize) -> f64 {
        self.steps.get(i).map_or(1.0, |step| 1.0 / step.2)
    }

    /// Share of the variance of δ that is left after the last reading.
    pub(crate) fn last_share(&self) -> f64 {
        self.last_share
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cholesky::Lower;
    use proptest::prelude::*;

    proptest! {
        /// The dense Gaussian likelihood knows nothing of filters.
        #[test]
        fn the_squares_are_those_of_the_whole_covariance(
            steps in prop::collection::vec((0.1..20.0f64, 0.05..0.5f64, -1.0..1.0f64, 0.01..0.5f64), 1..12),
            hours in 1.0..20.0f64,
        ) {
            let mut t = 0.0;
            let times: Vec<f64> = steps.iter().map(|s| { t += s.0; t }).collect();
            let noise: Vec<f64> = steps.iter().map(|s| s.1).collect();
            let y: Vec<f64> = steps.iter().map(|s| s.2).collect();
            let wander: Vec<f64> = steps.iter().map(|s| s.3).collect();
            let n = y.len();
            let mut covariance = vec![0.0; n * n];
            for i in 0..n {
                for j in 0..n {
                    covariance[i * n + j] = wander[i] * wander[j] * (-(times[i] - times[j]).abs() / hours).exp();
                }
                covariance[i * n + i] += noise[i] * noise[i];
            }
            let dense = Lower::of(n, &covariance).unwrap();
            let squares: f64 = dense.solve_lower(&y).iter().map(|x| x * x).sum();
            let rows: Vec<NoiseRow> = (0..n)
                .map(|i| NoiseRow {
                    kept: if i == 0 { 0.0 } else { (-(times[i] - times[i - 1]) / hours).exp() },
                    white: noise[i],
                    off: wander[i],
                })
                .collect();
            let filter = Whitener::of(&rows, [1.0, 1.0]);
            let mut white = y.clone();
            filter.apply(&mut white);
            let ours: f64 = white.iter().map(|x| x * x).sum();
            prop_assert!((ours - squares).abs() < 1e-9 * (1.0 + squares));
            prop_assert!((filter.ln_s() - dense.ln_determinant()).abs() < 1e-8);
            let whole = dense.ln_determinant() + squares;
            prop_assert!((misfit(&rows, &y, [1.0, 1.0]) - whole).abs() < 1e-8 * (1.0 + squares));
        }
    }
}
