//! Several flights in the registers of the processor, as wide as it has them.

use std::ops::{Add, Div, Mul, Neg, Sub};

use pulp::{Simd, WithSimd};

use super::Lane;
use crate::simulate::{Refused, Run, Track, Watch};
use crate::state::State;

/// A register of numbers, one a flight. Holds the proof that the processor has such registers.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Wide<S: Simd>(S, S::f64s);

macro_rules! operator {
    ($trait:ident, $method:ident, $of:ident) => {
        impl<S: Simd> $trait for Wide<S> {
            type Output = Self;
            #[inline(always)]
            fn $method(self, other: Self) -> Self {
                Self(self.0, self.0.$of(self.1, other.1))
            }
        }
    };
}

macro_rules! operator_with_number {
    ($trait:ident, $method:ident, $of:ident) => {
        impl<S: Simd> $trait<f64> for Wide<S> {
            type Output = Self;
            #[inline(always)]
            fn $method(self, other: f64) -> Self {
                Self(self.0, self.0.$of(self.1, self.0.splat_f64s(other)))
            }
        }
    };
}

operator!(Add, add, add_f64s);
operator!(Sub, sub, sub_f64s);
operator!(Mul, mul, mul_f64s);
operator!(Div, div, div_f64s);
operator_with_number!(Add, add, add_f64s);
operator_with_number!(Sub, sub, sub_f64s);
operator_with_number!(Mul, mul, mul_f64s);

impl<S: Simd> Neg for Wide<S> {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        Self(self.0, self.0.xor_f64s(self.1, self.0.splat_f64s(-0.0)))
    }
}

impl<S: Simd> Lane for Wide<S> {
    type Mask = S::m64s;
    const WIDTH: usize = S::F64_LANES;

    #[inline(always)]
    fn same(self, value: f64) -> Self {
        Self(self.0, self.0.splat_f64s(value))
    }
    #[inline(always)]
    fn get(self, flight: usize) -> f64 {
        let all: &[f64] = pulp::bytemuck::cast_slice(std::slice::from_ref(&self.1));
        all.get(flight).or(all.first()).copied().unwrap_or(f64::NAN)
    }
    #[inline(always)]
    fn with(mut self, flight: usize, value: f64) -> Self {
        let all: &mut [f64] = pulp::bytemuck::cast_slice_mut(std::slice::from_mut(&mut self.1));
        if let Some(place) = all.get_mut(flight) {
            *place = value;
        }
        self
    }
    #[inline(always)]
    fn sqrt(self) -> Self {
        Self(self.0, self.0.sqrt_f64s(self.1))
    }
    #[inline(always)]
    fn abs(self) -> Self {
        let sign = self.0.splat_f64s(-0.0);
        Self(self.0, self.0.xor_f64s(self.1, self.0.and_f64s(self.1, sign)))
    }
    #[inline(always)]
    fn lesser(self, other: Self) -> Self {
        self.where_or(self.below(other), other)
    }
    #[inline(always)]
    fn greater(self, other: Self) -> Self {
        self.where_or(other.below(self), other)
    }
    #[inline(always)]
    fn below(self, other: Self) -> Self::Mask {
        self.0.less_than_f64s(self.1, other.1)
    }
    #[inline(always)]
    fn where_or(self, mask: Self::Mask, other: Self) -> Self {
        Self(self.0, self.0.select_f64s(mask, self.1, other.1))
    }
    #[inline(always)]
    fn any(self, mask: Self::Mask) -> bool {
        self.0.first_true_m64s(mask) < Self::WIDTH
    }
}

/// All flights, a register full at a time.
struct All<'a, 'b> {
    group: &'a [(&'a Run<'b>, State)],
    watch: &'a Watch,
}

impl WithSimd for All<'_, '_> {
    type Output = Vec<Track>;

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) -> Self::Output {
        let kind = Wide(simd, simd.splat_f64s(0.0));
        let mut tracks = Vec::with_capacity(self.group.len());
        for few in self.group.chunks(S::F64_LANES) {
            tracks.extend(crate::simulate::together(kind, few, self.watch));
        }
        tracks
    }
}

/// Flies many flights in the widest registers that this processor has; see [`crate::simulate::fly_all`].
pub(crate) fn fly_all(runs: &[Run], watch: &Watch) -> Vec<Result<Track, Refused>> {
    let begins: Vec<Result<State, Refused>> =
        runs.iter().map(|run| crate::simulate::begin(run, watch)).collect();
    let mut out: Vec<Option<Result<Track, Refused>>> = begins.iter().map(|b| b.err().map(Err)).collect();
    let mut waiting: Vec<(usize, &Run, State)> = runs
        .iter()
        .zip(&begins)
        .enumerate()
        .filter_map(|(n, (run, begin))| begin.ok().map(|state| (n, run, state)))
        .collect();
    let arch = pulp::Arch::new();
    while let Some(first) = waiting.first().copied() {
        let (now, later): (Vec<_>, Vec<_>) =
            waiting.into_iter().partition(|(_, run, _)| crate::simulate::may_join(first.1, run));
        let group: Vec<(&Run, State)> = now.iter().map(|(_, run, state)| (*run, *state)).collect();
        let tracks = arch.dispatch(All { group: &group, watch });
        for ((n, _, _), track) in now.into_iter().zip(tracks) {
            if let Some(place) = out.get_mut(n) {
                *place = Some(Ok(track));
            }
        }
        waiting = later;
    }
    out.into_iter().flatten().collect()
}
