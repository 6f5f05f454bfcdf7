//! Where does lift leave the straight line, and where does it go? Attached flow up to the onset, a hand-over, and then
//! a plate at any angle.
//!
//! The plate's height follows Viterna and Corrigan (NASA CP-2230, 1981, from memory): a normal force coefficient at 90
//! degrees of 1.11 + 0.018 times the aspect ratio.

use numerics::roots::root;

use crate::lane::Lane;
use crate::model::Aerodynamics;

/// Range of angle of attack over which one half of the wing changes from attached to separated, rad (8.6 degrees: the
/// gentle stall of sections at model Reynolds numbers; judgment without a source).
const HAND_OVER_RAD: f64 = 0.15;

/// Where the hand-over begins, either way, and what it leads to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Stall {
    /// Angle of attack at which separation begins, rad; very large for a body without lift.
    pub onset_high_rad: f64,
    /// The same for negative lift, rad.
    pub onset_low_rad: f64,
    /// Normal force coefficient of the plate square to the flow.
    pub plate: f64,
}

/// An onset that is never reached.
const NEVER_RAD: f64 = 1e6;

impl Stall {
    /// The largest lift of a model is of the trimmed aircraft: with the elevator that balances it. So the onset is set
    /// where the blend along the trimmed lift curve peaks at that lift.
    pub(crate) fn of(aero: &Aerodynamics) -> Self {
        let d = &aero.derivatives;
        let plate = 1.11 + 0.018 * aero.span_m * aero.span_m / aero.area_m2;
        let (zero, slope) = if d.Cmde.abs() > 1e-3 {
            (aero.cl0 - d.CLde * aero.cm0 / d.Cmde, d.CLa - d.CLde * d.Cma / d.Cmde)
        } else {
            (aero.cl0, d.CLa)
        };
        if !(slope > 0.1 && aero.cl_max > aero.cl_min) {
            return Self { onset_high_rad: NEVER_RAD, onset_low_rad: -NEVER_RAD, plate };
        }
        Self {
            onset_high_rad: onset(zero, slope, plate, aero.cl_max),
            onset_low_rad: -onset(-zero, slope, plate, -aero.cl_min),
            plate,
        }
    }
}

/// Share of separated flow at an angle of attack, 0 to 1: a cubic from onset to onset plus the hand-over, either way.
#[inline(always)]
pub(crate) fn separated<L: Lane>(alpha_rad: L, onset_high_rad: L, onset_low_rad: L) -> L {
    rise(alpha_rad - onset_high_rad) + rise(onset_low_rad - alpha_rad)
}

// A function, not a closure: only functions can be told to be compiled into the loop that has the wide registers.
#[inline(always)]
fn rise<L: Lane>(beyond_rad: L) -> L {
    let t = (beyond_rad * (1.0 / HAND_OVER_RAD)).between(0.0, 1.0);
    t * t * (t.same(3.0) - t * 2.0)
}

/// Onset for which the blend of the line `zero + slope alpha` and the plate peaks at `peak`.
///
/// At the peak the share s of the plate lies (line - peak) over the drop D from line to plate, and the slope of the
/// blend, slope (1 - s) + s plate' - s' D, is nothing. With the cubic s = t²(3 - 2t), t follows from s, and one
/// equation is left for the angle of the peak.
fn onset(zero: f64, slope: f64, plate: f64, peak: f64) -> f64 {
    let at_line = (peak - zero) / slope;
    let blend = |alpha: f64| {
        let line = zero + slope * alpha;
        let drop = line - 0.5 * plate * (2.0 * alpha).sin();
        let s = if drop > 1e-6 { ((line - peak) / drop).clamp(0.0, 1.0) } else { 0.0 };
        let t = 0.5 - ((1.0 - 2.0 * s).asin() / 3.0).sin();
        let bend =
            slope * (1.0 - s) + s * plate * (2.0 * alpha).cos() - 6.0 * t * (1.0 - t) * drop / HAND_OVER_RAD;
        (bend, t)
    };
    // Just past where the line alone has the peak lift the blend still rises; within the hand-over it turns.
    match root(|alpha| blend(alpha).0, at_line, at_line + 0.5 * HAND_OVER_RAD, 1e-9) {
        Ok(alpha) => alpha - HAND_OVER_RAD * blend(alpha).1,
        // A plate that lifts as much as the line: no peak to place; separation begins where the line is there.
        Err(_) => at_line,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_blend_peaks_at_the_lift_that_was_asked_for() {
        for (zero, slope, peak) in [(0.3, 4.6, 1.25), (0.0, 3.5, 0.8), (0.5, 5.5, 1.6)] {
            let begin = onset(zero, slope, 1.24, peak);
            let found = (0..3000_i32)
                .map(|i| {
                    let alpha = f64::from(i) * 1e-4;
                    let s = separated(alpha, begin, -NEVER_RAD);
                    (zero + slope * alpha) * (1.0 - s) + s * 0.62 * (2.0 * alpha).sin()
                })
                .fold(0.0, f64::max);
            assert!((found - peak).abs() < 1e-5, "{found} for {peak}");
        }
    }
}
