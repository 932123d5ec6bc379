//! Several numbers side by side.

use std::array::from_fn;
use std::ops::{Add, Div, Mul, Neg, Sub};

use super::real::{Over, Real};

/// The numbers of several members that are solved with common steps. Plain
/// arrays: the compiler makes vector instructions of them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Lanes<const L: usize>(pub(crate) [f64; L]);

impl<const L: usize> Lanes<L> {
    fn map(self, f: impl Fn(f64) -> f64) -> Self {
        Self(self.0.map(f))
    }

    fn zip(self, other: Self, f: impl Fn(f64, f64) -> f64) -> Self {
        Self(from_fn(|i| f(self.0[i], other.0[i])))
    }
}

macro_rules! operator {
    ($name:ident, $method:ident) => {
        impl<const L: usize> $name for Lanes<L> {
            type Output = Self;
            fn $method(self, other: Self) -> Self {
                self.zip(other, f64::$method)
            }
        }
        impl<const L: usize> $name<f64> for Lanes<L> {
            type Output = Self;
            fn $method(self, other: f64) -> Self {
                self.map(|v| v.$method(other))
            }
        }
    };
}
operator!(Add, add);
operator!(Sub, sub);
operator!(Mul, mul);
operator!(Div, div);

impl<const L: usize> Neg for Lanes<L> {
    type Output = Self;
    fn neg(self) -> Self {
        self.map(f64::neg)
    }
}

impl<const L: usize> Real for Lanes<L> {
    fn of(value: f64) -> Self {
        Self([value; L])
    }
    fn exp(self) -> Self {
        // Members often share their temperature, and one exponential is dear.
        if self
            .0
            .windows(2)
            .all(|pair| pair[0].to_bits() == pair[1].to_bits())
        {
            return Self([f64::exp(self.0[0]); L]);
        }
        self.map(f64::exp)
    }
    fn ln(self) -> Self {
        self.map(f64::ln)
    }
    fn recip(self) -> Self {
        self.map(f64::recip)
    }
    fn powi(self, n: i32) -> Self {
        self.map(|v| f64::powi(v, n))
    }
    fn gated(self, gate: Self) -> Self {
        self.zip(gate, Real::gated)
    }
    fn size(self) -> f64 {
        self.0.iter().fold(0.0, |most, v| v.abs().max(most))
    }
    fn least_size(self) -> f64 {
        self.0
            .iter()
            .fold(f64::INFINITY, |least, v| v.abs().min(least))
    }
    fn is_finite(self) -> bool {
        self.0.iter().all(|v| f64::is_finite(*v))
    }
    fn is_zero(self) -> bool {
        self.0.iter().all(|v| v.is_zero())
    }
}

impl<const L: usize> Over<Self> for Lanes<L> {
    fn lift(constant: Self) -> Self {
        constant
    }
}
