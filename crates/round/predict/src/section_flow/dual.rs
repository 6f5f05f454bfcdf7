//! How does a boundary-layer equation change with its inputs? Numbers that carry their derivatives along, so that
//! no derivative is written by hand and Newton's method has exact ones.

use std::ops::{Add, Div, Mul, Neg, Sub};

/// Inputs at one station: shear, momentum thickness, displacement thickness, speed, distance.
pub(crate) const STATION: usize = 5;
/// Inputs of the equations between two stations.
pub(crate) const INPUTS: usize = 2 * STATION;

/// A number that depends on the inputs of one station.
pub(crate) type Here = Dual<STATION>;
/// A number that depends on the inputs of two.
pub(crate) type Both = Dual<INPUTS>;

/// A value and its derivatives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Dual<const N: usize> {
    /// The value.
    pub(crate) v: f64,
    /// Its derivatives to each input.
    pub(crate) d: [f64; N],
}

impl Here {
    /// The same among the inputs of two stations, of which this is the first (0) or the second (1).
    pub(crate) fn placed(self, which: usize) -> Both {
        let mut d = [0.0; INPUTS];
        for (to, from) in d.iter_mut().skip(which * STATION).zip(self.d) {
            *to = from;
        }
        Dual { v: self.v, d }
    }
}

impl<const N: usize> Dual<N> {
    /// A number that depends on nothing.
    pub(crate) const fn fixed(v: f64) -> Self {
        Self { v, d: [0.0; N] }
    }

    /// Input number `index`.
    pub(crate) fn input(v: f64, index: usize) -> Self {
        let mut d = [0.0; N];
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

impl<const N: usize> Add for Dual<N> {
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

impl<const N: usize> Sub for Dual<N> {
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

impl<const N: usize> Mul for Dual<N> {
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

impl<const N: usize> Div for Dual<N> {
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

impl<const N: usize> Neg for Dual<N> {
    type Output = Self;
    fn neg(self) -> Self {
        self.chain(-self.v, -1.0)
    }
}

impl<const N: usize> Add<f64> for Dual<N> {
    type Output = Self;
    #[inline]
    fn add(mut self, other: f64) -> Self {
        self.v += other;
        self
    }
}

impl<const N: usize> Sub<f64> for Dual<N> {
    type Output = Self;
    #[inline]
    fn sub(mut self, other: f64) -> Self {
        self.v -= other;
        self
    }
}

impl<const N: usize> Mul<f64> for Dual<N> {
    type Output = Self;
    #[inline]
    fn mul(self, other: f64) -> Self {
        self.chain(self.v * other, other)
    }
}

impl<const N: usize> Div<f64> for Dual<N> {
    type Output = Self;
    #[inline]
    fn div(self, other: f64) -> Self {
        self * (1.0 / other)
    }
}

impl<const N: usize> Add<Dual<N>> for f64 {
    type Output = Dual<N>;
    fn add(self, other: Dual<N>) -> Dual<N> {
        other + self
    }
}

impl<const N: usize> Sub<Dual<N>> for f64 {
    type Output = Dual<N>;
    fn sub(self, other: Dual<N>) -> Dual<N> {
        -other + self
    }
}

impl<const N: usize> Mul<Dual<N>> for f64 {
    type Output = Dual<N>;
    fn mul(self, other: Dual<N>) -> Dual<N> {
        other * self
    }
}

impl<const N: usize> Div<Dual<N>> for f64 {
    type Output = Dual<N>;
    fn div(self, other: Dual<N>) -> Dual<N> {
        Dual::fixed(self) / other
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn derivatives_are_those_of_calculus() {
        // d/dx [ln(x) x^1.5 + tanh(x)/x - exp(-x) sqrt(x)] at 1.7, by hand.
        let f = |x: Both| x.ln() * x.powf(1.5) + x.tanh() / x - (-x).exp() * x.sqrt();
        let x = 1.7_f64;
        let by_hand = x.sqrt() + 1.5 * x.ln() * x.sqrt() + (1.0 - x.tanh().powi(2)) / x - x.tanh() / (x * x)
            + (-x).exp() * x.sqrt()
            - 0.5 * (-x).exp() / x.sqrt();
        let got = f(Dual::input(x, 3));
        assert!((got.d[3] - by_hand).abs() < 1e-12 && got.d[0] == 0.0, "{got:?} {by_hand}");
    }
}
