//! Numbers that a right-hand side can be written for once.

use std::ops::{Add, Div, Mul, Neg, Sub};

/// A number: a plain one, several side by side ([`Lanes`](super::Lanes)), or one
/// that carries its slopes ([`Dual`](super::Dual)).
pub(crate) trait Real:
    Copy
    + Neg<Output = Self>
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Add<f64, Output = Self>
    + Sub<f64, Output = Self>
    + Mul<f64, Output = Self>
    + Div<f64, Output = Self>
{
    fn of(value: f64) -> Self;
    fn exp(self) -> Self;
    fn ln(self) -> Self;
    fn recip(self) -> Self;
    fn powi(self, n: i32) -> Self;

    /// Itself where the gate is above zero, else nothing.
    fn gated(self, gate: Self) -> Self;

    /// Itself where it is above zero, else nothing.
    fn above_zero(self) -> Self {
        self.gated(self)
    }

    /// The greatest size among the values, their slopes left out.
    fn size(self) -> f64;

    /// The least size among the values, their slopes left out.
    fn least_size(self) -> f64;

    /// Whether values and slopes are finite.
    fn is_finite(self) -> bool;

    /// Whether values and slopes are all nothing.
    fn is_zero(self) -> bool;
}

/// A number that takes numbers of a simpler kind as constants.
pub(crate) trait Over<T>:
    Real + Add<T, Output = Self> + Sub<T, Output = Self> + Mul<T, Output = Self> + Div<T, Output = Self>
{
    fn lift(constant: T) -> Self;
}

impl Real for f64 {
    fn of(value: f64) -> Self {
        value
    }
    fn exp(self) -> Self {
        f64::exp(self)
    }
    fn ln(self) -> Self {
        f64::ln(self)
    }
    fn recip(self) -> Self {
        1.0 / self
    }
    fn powi(self, n: i32) -> Self {
        f64::powi(self, n)
    }
    fn gated(self, gate: Self) -> Self {
        if gate > 0.0 { self } else { 0.0 }
    }
    fn size(self) -> f64 {
        self.abs()
    }
    fn least_size(self) -> f64 {
        self.abs()
    }
    fn is_finite(self) -> bool {
        f64::is_finite(self)
    }
    fn is_zero(self) -> bool {
        self.abs() <= 0.0
    }
}

impl Over<f64> for f64 {
    fn lift(constant: f64) -> Self {
        constant
    }
}
