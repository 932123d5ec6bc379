//! Numbers with their slopes.

#![expect(
    clippy::suspicious_arithmetic_impl,
    reason = "the rules of products and quotients mix the operators"
)]

use std::array::from_fn;
use std::ops::{Add, Div, Mul, Neg, Sub};

use super::lanes::Lanes;
use super::real::{Over, Real};

/// A number with its slopes in P directions (forward differentiation).
///
/// Built on another kind of number, it differentiates that: over the state, of a
/// system whose parameters carry slopes of their own.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Dual<T, const P: usize> {
    pub(crate) value: T,
    pub(crate) slopes: [T; P],
}

impl<T: Real, const P: usize> Dual<T, P> {
    /// A number that changes in one direction alone, at unit speed.
    pub(crate) fn variable(value: T, direction: usize) -> Self {
        let slope = |i| f64::from(u8::from(i == direction));
        Self {
            value,
            slopes: from_fn(|i| T::of(slope(i))),
        }
    }

    pub(crate) fn constant(value: T) -> Self {
        Self {
            value,
            slopes: [T::of(0.0); P],
        }
    }

    /// The number f(self) where f has this slope.
    fn chain(self, value: T, slope: T) -> Self {
        Self {
            value,
            slopes: self.slopes.map(|s| s * slope),
        }
    }
}

impl<T: Real, const P: usize> Neg for Dual<T, P> {
    type Output = Self;
    fn neg(self) -> Self {
        Self {
            value: -self.value,
            slopes: self.slopes.map(|s| -s),
        }
    }
}

impl<T: Real, const P: usize> Add for Dual<T, P> {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self {
            value: self.value + other.value,
            slopes: from_fn(|i| self.slopes[i] + other.slopes[i]),
        }
    }
}

impl<T: Real, const P: usize> Sub for Dual<T, P> {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self {
            value: self.value - other.value,
            slopes: from_fn(|i| self.slopes[i] - other.slopes[i]),
        }
    }
}

impl<T: Real, const P: usize> Mul for Dual<T, P> {
    type Output = Self;
    fn mul(self, other: Self) -> Self {
        Self {
            value: self.value * other.value,
            slopes: from_fn(|i| self.slopes[i] * other.value + other.slopes[i] * self.value),
        }
    }
}

impl<T: Real, const P: usize> Div for Dual<T, P> {
    type Output = Self;
    fn div(self, other: Self) -> Self {
        let inverse = other.value.recip();
        let value = self.value * inverse;
        Self {
            value,
            slopes: from_fn(|i| (self.slopes[i] - other.slopes[i] * value) * inverse),
        }
    }
}

/// The operators of a dual number with a plain one.
macro_rules! with_plain {
    ([$($generics:tt)*] $inner:ty, $plain:ty) => {
        impl<$($generics)*, const P: usize> Add<$plain> for Dual<$inner, P> {
            type Output = Self;
            fn add(self, plain: $plain) -> Self {
                Self { value: self.value + plain, ..self }
            }
        }
        impl<$($generics)*, const P: usize> Sub<$plain> for Dual<$inner, P> {
            type Output = Self;
            fn sub(self, plain: $plain) -> Self {
                Self { value: self.value - plain, ..self }
            }
        }
        impl<$($generics)*, const P: usize> Mul<$plain> for Dual<$inner, P> {
            type Output = Self;
            fn mul(self, plain: $plain) -> Self {
                Self { value: self.value * plain, slopes: self.slopes.map(|s| s * plain) }
            }
        }
        impl<$($generics)*, const P: usize> Div<$plain> for Dual<$inner, P> {
            type Output = Self;
            fn div(self, plain: $plain) -> Self {
                self * plain.recip()
            }
        }
    };
}
with_plain!([T: Real] T, f64);
with_plain!([const L: usize] Lanes<L>, Lanes<L>);
with_plain!([const Q: usize] Dual<f64, Q>, Dual<f64, Q>);

impl<T: Real, const P: usize> Real for Dual<T, P> {
    fn of(value: f64) -> Self {
        Self::constant(T::of(value))
    }
    fn exp(self) -> Self {
        let value = self.value.exp();
        self.chain(value, value)
    }
    fn ln(self) -> Self {
        self.chain(self.value.ln(), self.value.recip())
    }
    fn recip(self) -> Self {
        let value = self.value.recip();
        self.chain(value, -(value * value))
    }
    fn powi(self, n: i32) -> Self {
        let below = self.value.powi(n - 1);
        self.chain(below * self.value, below * f64::from(n))
    }
    fn gated(self, gate: Self) -> Self {
        Self {
            value: self.value.gated(gate.value),
            slopes: self.slopes.map(|s| s.gated(gate.value)),
        }
    }
    fn size(self) -> f64 {
        self.value.size()
    }
    fn least_size(self) -> f64 {
        self.value.least_size()
    }
    fn is_finite(self) -> bool {
        self.value.is_finite() && self.slopes.iter().all(|s| s.is_finite())
    }
    fn is_zero(self) -> bool {
        self.value.is_zero() && self.slopes.iter().all(|s| s.is_zero())
    }
}

impl<T: Real, const P: usize> Over<T> for Dual<T, P>
where
    Self: Add<T, Output = Self>
        + Sub<T, Output = Self>
        + Mul<T, Output = Self>
        + Div<T, Output = Self>,
{
    fn lift(constant: T) -> Self {
        Self::constant(constant)
    }
}

impl<const Q: usize> Over<Self> for Dual<f64, Q> {
    fn lift(constant: Self) -> Self {
        constant
    }
}
