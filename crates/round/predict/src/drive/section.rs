//! What does a piece of propeller blade do in the air that meets it? A stated simple model of a thin cambered
//! section at low Reynolds numbers, for all angles.
//!
//! Attached: a straight lift slope from a zero-lift angle, drag a parabola about a lift of least drag that goes with
//! the camber. As the Reynolds number falls, slope and largest lift fall and least drag grows: powers of it, as thin
//! sections show between 20 000 and 100 000 where the laminar boundary layer separates. Past the stall it goes over,
//! without a jump, to a force normal to the chord that keeps a plateau (turning blades keep theirs, where wings lose
//! it) and ends as that of a flat plate at 90 degrees.
//!
//! The thirteen constants common to all blades, and angle of zero lift and drag factor of each class, were fitted by
//! least squares, held near what thin sections do, on seven of the twelve measured propellers in
//! `reference/propellers` with their measured planforms, standing and flying. The other five were kept out: with their
//! class known, their static thrust is off by 5 % root mean square (worst 8 %), their static power by 14 % (worst
//! 22 %). Families C and S have one propeller each: theirs are fitted, not predicted.

use aircraft::drive::BladeClass;

/// Lift and drag of a piece of blade.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SectionForce {
    /// Lift coefficient.
    pub cl: f64,
    /// Drag coefficient.
    pub cd: f64,
}

/// What tells the section of one class of blade from another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    /// Angle of zero lift from the chord line, rad: the camber.
    pub zero_lift_rad: f64,
    /// Factor on the least drag: the thickness.
    pub drag_factor: f64,
}

/// Lift slope at Reynolds number 100 000, per rad, and its power of the Reynolds number.
const SLOPE_PER_RAD: f64 = 6.01;
const SLOPE_EXPONENT: f64 = 0.071;
/// The slope of thin sections at large Reynolds numbers is not passed: at most this times the one at 100 000.
const SLOPE_MOST: f64 = 1.1;
/// Largest lift coefficient at Reynolds number 100 000 of a section with its zero lift at -0.06 rad, without rotation;
/// its gain with each radian of camber; its power of the Reynolds number.
const CL_MAX: f64 = 1.61;
const CL_MAX_PER_RAD: f64 = 2.8;
const CL_MAX_EXPONENT: f64 = 0.134;
/// Least lift coefficient.
const CL_MIN: f64 = -0.67;
/// Least drag coefficient at Reynolds number 100 000, and its power of the inverse Reynolds number: near that of a
/// laminar boundary layer, 0.5.
const CD_LEAST: f64 = 0.0187;
const CD_EXPONENT: f64 = 0.49;
/// Lift of least drag over the lift at zero angle of the chord line.
const LEAST_DRAG_LIFT: f64 = 1.55;
/// Drag rise with the square of the lift away from there.
const CD_RISE: f64 = 0.033;
/// Force coefficient normal to the chord soon after stall.
const STALLED_NORMAL: f64 = 1.08;
/// Angle over which the flow goes from attached to separated, rad.
const STALL_WIDTH_RAD: f64 = 0.082;

impl Section {
    /// The section of a class of blade.
    #[must_use]
    pub fn of(class: BladeClass) -> Self {
        let (zero_lift_rad, drag_factor) = match class {
            BladeClass::Sport => (-0.049, 1.05),
            BladeClass::Efficient => (-0.056, 0.94),
            BladeClass::Light => (-0.056, 0.91),
            BladeClass::Broad => (-0.042, 1.26),
            BladeClass::Wood => (-0.037, 1.20),
            BladeClass::SlowFly => (-0.122, 1.03),
        };
        Self { zero_lift_rad, drag_factor }
    }

    /// The section at a Reynolds number on the chord, ready for many angles.
    /// `chord_over_radius` is the chord over the distance from the axis: the boundary layer of a turning blade is
    /// thrown outwards and stalls later there (Snel, Houwink and Bosschers, ECN-C-93-052, 1993: the gap to potential
    /// lift closes by 3 (c/r)²).
    #[must_use]
    pub fn at(&self, reynolds: f64, chord_over_radius: f64) -> At {
        let re = (reynolds / 1e5).clamp(0.05, 20.0);
        let slope = SLOPE_PER_RAD * re.powf(SLOPE_EXPONENT).min(SLOPE_MOST);
        let cl_max = (CL_MAX - CL_MAX_PER_RAD * (self.zero_lift_rad + 0.06))
            * re.powf(CL_MAX_EXPONENT).clamp(0.6, 1.2)
            * (1.0 + (3.0 * chord_over_radius.powi(2)).min(0.6));
        At {
            zero_lift_rad: self.zero_lift_rad,
            slope,
            cl_max,
            cl_least_drag: -LEAST_DRAG_LIFT * self.zero_lift_rad * slope,
            stall_up: self.zero_lift_rad + cl_max / slope,
            stall_down: self.zero_lift_rad + CL_MIN / slope,
            cd_least: CD_LEAST * self.drag_factor * re.powf(-CD_EXPONENT).clamp(0.5, 4.0),
        }
    }
}

/// A section at one Reynolds number and place on the blade.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct At {
    zero_lift_rad: f64,
    slope: f64,
    cl_max: f64,
    cl_least_drag: f64,
    stall_up: f64,
    stall_down: f64,
    cd_least: f64,
}

impl At {
    /// Lift and drag at an angle of attack, rad from the chord line.
    #[must_use]
    pub fn force(&self, alpha_rad: f64) -> SectionForce {
        let attached_cl = self.slope * (alpha_rad - self.zero_lift_rad);
        let off = attached_cl.clamp(CL_MIN, self.cl_max) - self.cl_least_drag;
        let cd_attached = self.cd_least + CD_RISE * off * off;
        let (sin, cos) = (alpha_rad - 0.5 * self.zero_lift_rad).sin_cos();
        let normal = STALLED_NORMAL * (sin / 0.18).tanh() + (1.9 - STALLED_NORMAL) * sin * sin.abs();
        let (cl_plate, cd_plate) = (normal * cos, normal * sin + self.cd_least);
        let past = (alpha_rad - self.stall_up).max(self.stall_down - alpha_rad) / STALL_WIDTH_RAD;
        let separated = 1.0 / (1.0 + (-past).clamp(-60.0, 60.0).exp());
        SectionForce {
            cl: attached_cl.clamp(-4.0, 4.0) * (1.0 - separated) + cl_plate * separated,
            cd: cd_attached * (1.0 - separated) + cd_plate * separated,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lift_rises_stalls_and_stays_bounded_at_all_angles() {
        let section = Section::of(BladeClass::Efficient);
        let at = |deg: f64| section.at(6e4, 0.1).force(deg.to_radians());
        assert!(at(-3.3).cl.abs() < 0.05, "no lift near the zero-lift angle");
        assert!(at(8.0).cl > at(0.0).cl && at(30.0).cl < 1.4);
        for i in -180..=180 {
            let f = at(f64::from(i));
            assert!(f.cl.abs() < 1.6 && f.cd > 0.0 && f.cd < 2.2, "{i} deg: {f:?}");
            // Nothing jumps: less than 0.12 a degree, the attached slope.
            let next = at(f64::from(i) + 1.0);
            assert!((next.cl - f.cl).abs() < 0.12 && (next.cd - f.cd).abs() < 0.12, "{i} deg");
        }
    }

    #[test]
    fn a_lower_reynolds_number_costs_drag_and_lift() {
        let section = Section::of(BladeClass::Efficient);
        let (slow, fast) = (section.at(3e4, 0.1).force(0.1), section.at(1e5, 0.1).force(0.1));
        assert!(slow.cd > fast.cd && slow.cl < fast.cl);
    }
}
