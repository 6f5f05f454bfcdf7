//! How does a boundary-layer equation change with its eight inputs? Numbers that carry their derivatives along, so that
//! no derivative is written by hand and Newton's method has exact ones.

use std::ops::{Add, Div, Mul, Neg, Sub};

/// Number of inputs of the equations between two stations: four at each.
pub(crate) const INPUTS: usize = 8;

/// A value and its derivatives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Dual {
    /// The value.
    pub(crate) v: f64,
    /// Its derivatives to each input.
    pub(crate) d: [f64; INPUTS],
}

impl Dual {
    /// A number that depends on nothing.
    pub(crate) const fn fixed(v: f64) -> Self {
        Self { v, d: [0.0; INPUTS] }
    }

    /// Input number `index`.
    pub(crate) fn input(v: f64, index: usize) -> Self {
        let mut d = [0.0; INPUTS];
        if let Some(one) = d.get_mut(index) {
            *one = 1.0;
        }
        Self { v, d }
    }

    /// A function of this number: its value and its derivative.
    #[inline]
    fn chain(self, v: f64, slope: f64) -> Self {
        Self { v, d: self.d.map(|d| slope * d) }
    }

    pub(crate) fn ln(self) -> Self {
        self.chain(self.v.ln(), 1.0 / self.v)
    }

    pub(crate) fn exp(self) -> Self {
        let e = self.v.exp();
        self.chain(e, e)
    }

    pub(crate) fn sqrt(self) -> Self {
        let r = self.v.sqrt();
        self.chain(r, 0.5 / r)
    }

    pub(crate) fn tanh(self) -> Self {
        let t = self.v.tanh();
        self.chain(t, 1.0 - t * t)
    }

    pub(crate) fn powf(self, exponent: f64) -> Self {
        let p = self.v.powf(exponent - 1.0);
        self.chain(p * self.v, exponent * p)
    }

    pub(crate) fn squared(self) -> Self {
        self.chain(self.v * self.v, 2.0 * self.v)
    }

    /// This number, or the bound where it is beyond it.
    pub(crate) fn at_least(self, bound: f64) -> Self {
        if self.v < bound { Self::fixed(bound) } else { self }
    }

    /// This number, or the bound where it is beyond it.
    pub(crate) fn at_most(self, bound: f64) -> Self {
        if self.v > bound { Self::fixed(bound) } else { self }
    }
}

impl Add for Dual {
    type Output = Self;
    #[inline]
    fn add(mut self, other: Self) -> Self {
        self.v += other.v;
        for (a, b) in self.d.iter_mut().zip(other.d) {
            *a += b;
        }
        self
    }
}

impl Sub for Dual {
    type Output = Self;
    #[inline]
    fn sub(mut self, other: Self) -> Self {
        self.v -= other.v;
        for (a, b) in self.d.iter_mut().zip(other.d) {
            *a -= b;
        }
        self
    }
}

impl Mul for Dual {
    type Output = Self;
    #[inline]
    fn mul(mut self, other: Self) -> Self {
        for (a, b) in self.d.iter_mut().zip(other.d) {
            *a = *a * other.v + self.v * b;
        }
        self.v *= other.v;
        self
    }
}

impl Div for Dual {
    type Output = Self;
    #[inline]
    fn div(mut self, other: Self) -> Self {
        let inverse = 1.0 / other.v;
        self.v *= inverse;
        for (a, b) in self.d.iter_mut().zip(other.d) {
            *a = (*a - self.v * b) * inverse;
        }
        self
    }
}

impl Neg for Dual {
    type Output = Self;
    fn neg(self) -> Self {
        self.chain(-self.v, -1.0)
    }
}

impl Add<f64> for Dual {
    type Output = Self;
    #[inline]
    fn add(mut self, other: f64) -> Self {
        self.v += other;
        self
    }
}

impl Sub<f64> for Dual {
    type Output = Self;
    #[inline]
    fn sub(mut self, other: f64) -> Self {
        self.v -= other;
        self
    }
}

impl Mul<f64> for Dual {
    type Output = Self;
    #[inline]
    fn mul(self, other: f64) -> Self {
        self.chain(self.v * other, other)
    }
}

impl Div<f64> for Dual {
    type Output = Self;
    #[inline]
    fn div(self, other: f64) -> Self {
        self * (1.0 / other)
    }
}

impl Add<Dual> for f64 {
    type Output = Dual;
    fn add(self, other: Dual) -> Dual {
        other + self
    }
}

impl Sub<Dual> for f64 {
    type Output = Dual;
    fn sub(self, other: Dual) -> Dual {
        -other + self
    }
}

impl Mul<Dual> for f64 {
    type Output = Dual;
    fn mul(self, other: Dual) -> Dual {
        other * self
    }
}

impl Div<Dual> for f64 {
    type Output = Dual;
    fn div(self, other: Dual) -> Dual {
        Dual::fixed(self) / other
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn derivatives_are_those_of_calculus() {
        // d/dx [ln(x) x^1.5 + tanh(x)/x - exp(-x) sqrt(x)] at 1.7, by hand.
        let f = |x: Dual| x.ln() * x.powf(1.5) + x.tanh() / x - (-x).exp() * x.sqrt();
        let x = 1.7_f64;
        let by_hand = x.sqrt() + 1.5 * x.ln() * x.sqrt() + (1.0 - x.tanh().powi(2)) / x - x.tanh() / (x * x)
            + (-x).exp() * x.sqrt()
            - 0.5 * (-x).exp() / x.sqrt();
        let got = f(Dual::input(x, 3));
        assert!((got.d[3] - by_hand).abs() < 1e-12 && got.d[0] == 0.0, "{got:?} {by_hand}");
    }
}
