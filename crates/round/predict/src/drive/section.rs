//! What does a piece of propeller blade do in the air that meets it? A stated simple model of a thin cambered
//! section at low Reynolds numbers, for all angles.
//!
//! Attached: a straight lift slope from a zero-lift angle, drag a parabola about the lift of least drag that grows as
//! the Reynolds number falls. Past the stall it goes over, without a jump, to a force normal to the chord that keeps a
//! plateau and ends as that of a flat plate at 90 degrees.
//!
//! The seven constants were chosen, within what thin sections of 4 to 5 % camber do near Reynolds number 50 000, for
//! least error on measured propellers of two families (E and G of `reference/propellers`, planforms known, standing
//! and flying: thrust 5 %, power 7 % root mean square of the static value). The other families (C, D, S) were kept
//! out: there thrust is off by 13 %, power by 19 %.

/// Lift and drag of a piece of blade.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SectionForce {
    /// Lift coefficient.
    pub cl: f64,
    /// Drag coefficient.
    pub cd: f64,
}

/// Constants of the section model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    /// Lift slope at Reynolds number 100 000, per rad.
    pub slope_per_rad: f64,
    /// Angle of zero lift from the chord line, rad.
    pub zero_lift_rad: f64,
    /// Largest lift coefficient at Reynolds number 100 000, without rotation.
    pub cl_max: f64,
    /// Least lift coefficient.
    pub cl_min: f64,
    /// Least drag coefficient at Reynolds number 100 000.
    pub cd_least: f64,
    /// Lift coefficient of least drag.
    pub cl_least_drag: f64,
    /// Drag rise with the square of the lift away from there.
    pub cd_rise: f64,
    /// Force coefficient normal to the chord soon after stall.
    pub stalled_normal: f64,
    /// Angle over which the flow goes from attached to separated, rad.
    pub stall_width_rad: f64,
}

impl Section {
    /// A typical section of a small propeller.
    pub const TYPICAL: Self = Self {
        slope_per_rad: 6.0,
        zero_lift_rad: -0.057,
        cl_max: 1.6,
        cl_min: -0.7,
        cd_least: 0.0165,
        cl_least_drag: 0.5,
        cd_rise: 0.02,
        stalled_normal: 0.8,
        stall_width_rad: 0.09,
    };

    /// The section at a Reynolds number on the chord, ready for many angles.
    /// `chord_over_radius` is the chord over the distance from the axis: the boundary layer of a turning blade is
    /// thrown outwards and stalls later there (Snel, Houwink and Bosschers, ECN-C-93-052, 1993: the gap to potential
    /// lift closes by 3 (c/r)²).
    #[must_use]
    pub fn at(&self, reynolds: f64, chord_over_radius: f64) -> At {
        let re = (reynolds / 1e5).clamp(0.05, 20.0);
        let slope = self.slope_per_rad * re.powf(0.05).min(1.08);
        // Laminar separation takes lift at low Reynolds numbers.
        let cl_max =
            self.cl_max * re.powf(0.08).clamp(0.7, 1.15) * (1.0 + (3.0 * chord_over_radius.powi(2)).min(0.6));
        At {
            section: *self,
            slope,
            cl_max,
            stall_up: self.zero_lift_rad + cl_max / slope,
            stall_down: self.zero_lift_rad + self.cl_min / slope,
            cd_least: self.cd_least * re.powf(-0.5).clamp(0.6, 3.5),
        }
    }
}

/// A section at one Reynolds number and place on the blade.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct At {
    section: Section,
    slope: f64,
    cl_max: f64,
    stall_up: f64,
    stall_down: f64,
    cd_least: f64,
}

impl At {
    /// Lift and drag at an angle of attack, rad from the chord line.
    #[must_use]
    pub fn force(&self, alpha_rad: f64) -> SectionForce {
        let section = &self.section;
        let attached_cl = self.slope * (alpha_rad - section.zero_lift_rad);
        let off = attached_cl.clamp(section.cl_min, self.cl_max) - section.cl_least_drag;
        let cd_attached = self.cd_least + section.cd_rise * off * off;
        // Separated: a force normal to the chord that reaches its plateau early (turning blades keep theirs, where
        // wings lose it) and that of a flat plate at 90 degrees.
        let (sin, cos) = (alpha_rad - 0.5 * section.zero_lift_rad).sin_cos();
        let normal =
            section.stalled_normal * (sin / 0.15).tanh() + (1.9 - section.stalled_normal) * sin * sin.abs();
        let (cl_plate, cd_plate) = (normal * cos, normal * sin + self.cd_least);
        let past = (alpha_rad - self.stall_up).max(self.stall_down - alpha_rad) / section.stall_width_rad;
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
        let section = Section::TYPICAL;
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
        let section = Section::TYPICAL;
        let (slow, fast) = (section.at(3e4, 0.1).force(0.1), section.at(1e5, 0.1).force(0.1));
        assert!(slow.cd > fast.cd && slow.cl < fast.cl);
    }
}
