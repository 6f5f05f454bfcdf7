//! How can one source be both the simulator of one flight and of several side by side? Numbers that are either one
//! `f64` or a register of them, one a flight.
//!
//! Only operations whose result IEEE 754 prescribes to the last bit are used (sum, difference, product, quotient,
//! root, comparison), never a fused product and sum, and the functions of [`math`] are built of them. So a flight
//! has the same bits alone or beside others, in registers of any width.

pub mod math;
pub(crate) mod wide;

use std::fmt::Debug;
use std::ops::{Add, Div, Mul, Neg, Sub};

/// One number, or one a flight.
pub trait Lane:
    Copy
    + Debug
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
    + Add<f64, Output = Self>
    + Sub<f64, Output = Self>
    + Mul<f64, Output = Self>
{
    /// Truth of a comparison, one a flight.
    type Mask: Copy;

    /// Number of flights side by side.
    const WIDTH: usize;

    /// The same number for each flight; `self` only tells the kind.
    fn same(self, value: f64) -> Self;
    /// The number of a flight; that of the first where there is no such flight.
    fn get(self, flight: usize) -> f64;
    /// With the number of a flight replaced; unchanged where there is no such flight.
    fn with(self, flight: usize, value: f64) -> Self;
    /// Square root.
    fn sqrt(self) -> Self;
    /// Size without sign.
    fn abs(self) -> Self;
    /// The lesser of two.
    fn lesser(self, other: Self) -> Self;
    /// The greater of two.
    fn greater(self, other: Self) -> Self;
    /// Whether less than.
    fn below(self, other: Self) -> Self::Mask;
    /// `self` where the mask is true, else `other`.
    fn where_or(self, mask: Self::Mask, other: Self) -> Self;
    /// Whether the mask is true for any flight.
    fn any(self, mask: Self::Mask) -> bool;

    /// Held between two numbers.
    #[inline(always)]
    fn within(self, low: Self, high: Self) -> Self {
        self.greater(low).lesser(high)
    }

    /// Held between two numbers that are the same for each flight.
    #[inline(always)]
    fn between(self, low: f64, high: f64) -> Self {
        self.within(self.same(low), self.same(high))
    }

    /// One where the mask is true, else zero.
    #[inline(always)]
    fn flag(self, mask: Self::Mask) -> Self {
        self.same(1.0).where_or(mask, self.same(0.0))
    }

    /// A function of each flight's number.
    #[inline(always)]
    fn each(self, mut f: impl FnMut(usize, f64) -> f64) -> Self {
        let mut out = self;
        for flight in 0..Self::WIDTH {
            out = out.with(flight, f(flight, self.get(flight)));
        }
        out
    }
}

impl Lane for f64 {
    type Mask = bool;
    const WIDTH: usize = 1;

    #[inline(always)]
    fn same(self, value: f64) -> Self {
        value
    }
    #[inline(always)]
    fn get(self, _flight: usize) -> f64 {
        self
    }
    #[inline(always)]
    fn with(self, flight: usize, value: f64) -> Self {
        if flight == 0 { value } else { self }
    }
    #[inline(always)]
    fn sqrt(self) -> Self {
        Self::sqrt(self)
    }
    #[inline(always)]
    fn abs(self) -> Self {
        Self::abs(self)
    }
    #[inline(always)]
    fn lesser(self, other: Self) -> Self {
        // As the registers do it: the second where one of them is not a number.
        if self < other { self } else { other }
    }
    #[inline(always)]
    fn greater(self, other: Self) -> Self {
        if self > other { self } else { other }
    }
    #[inline(always)]
    fn below(self, other: Self) -> bool {
        self < other
    }
    #[inline(always)]
    fn where_or(self, mask: bool, other: Self) -> Self {
        if mask { self } else { other }
    }
    #[inline(always)]
    fn any(self, mask: bool) -> bool {
        mask
    }
}
