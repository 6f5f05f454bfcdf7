//! Which parts of the surfaces move, how far, by which servo, for which demand?
//!
//! Inside, the deflection of a panel is positive with the trailing edge moved against the panel's normal (down on
//! wing and tail). The normal of a panel is the direction from its lower to its upper side: for the right panel of
//! dihedral Γ it is (0, -sin Γ, cos Γ) in the builder's frame, for a fin (Γ = 90°) it points left.

use crate::surface::{Role, Surface};

/// Which panels of its surface a movable has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Panels {
    /// The only panel of a surface that is not mirrored, or both panels of a mirrored one on one servo and moving
    /// as one piece (a plain elevator).
    One,
    /// The right and the left panel of a mirrored surface, a servo each.
    Pair,
}

/// A movable surface: aileron, elevator, rudder, flap, elevon, ruddervator.
#[derive(Debug, Clone, PartialEq)]
pub struct Movable {
    /// The builder's name ("aileron"); unique.
    pub name: String,
    /// Index into `Aircraft::surfaces`.
    pub surface: usize,
    /// Whether both sides move as one or each on its own servo.
    pub panels: Panels,
    /// Where it begins, along the surface from the root, m.
    pub inner_m: f64,
    /// Where it ends, along the surface from the root, m.
    pub outer_m: f64,
    /// Hinge line at the inner end, fraction of the chord from the leading edge.
    pub hinge_inner: f64,
    /// Hinge line at the outer end, fraction of the chord from the leading edge.
    pub hinge_outer: f64,
    /// Full throw with the trailing edge up (along the normal), rad, positive. For a rudder: trailing edge left.
    pub throw_up_rad: f64,
    /// Full throw with the trailing edge down (against the normal), rad, positive. For a rudder: right.
    pub throw_down_rad: f64,
    /// Share of the throw that each demand takes.
    pub mix: Mix,
    /// Servo of the right or only panel.
    pub servo: Servo,
    /// Servo of the left panel of a pair.
    pub servo_left: Option<Servo>,
    /// Rods and horns between servo and surface.
    pub linkage: Linkage,
}

impl Movable {
    /// What people call the two ways of its throw, first that of `throw_up_rad`, then that of `throw_down_rad`: of a
    /// fin left and right, else up and down.
    #[must_use]
    pub fn throw_words(&self, surface: &Surface) -> (&'static str, &'static str) {
        if surface.role == Role::Fin { ("left", "right") } else { ("up", "down") }
    }
}

/// Share of its throw that a movable takes per unit of demand, -1 to 1. Positive moves the panel the way that
/// answers the demand (which way that is follows from where the panel is); negative moves it against.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Mix {
    /// Roll demand (right wing down positive).
    pub roll: f64,
    /// Pitch demand (nose up positive).
    pub pitch: f64,
    /// Yaw demand (nose right positive).
    pub yaw: f64,
    /// Flap demand (0 to 1, trailing edge down).
    pub flap: f64,
}

/// A servo and the pulse that drives it.
#[derive(Debug, Clone, PartialEq)]
pub struct Servo {
    /// Its name in recordings ("servo 1"), as the builder calls it.
    pub channel: String,
    /// Pulse at the neutral position, µs.
    pub centre_us: f64,
    /// One standard deviation of the neutral pulse's place after trim capture; zero where it is a setting.
    pub centre_sd_us: f64,
    /// Change of pulse from neutral to full throw, µs, positive.
    pub travel_us: f64,
    /// Whether a longer pulse moves the trailing edge down (false) or up (true).
    pub reversed: bool,
    /// Turning of the servo arm at `travel_us`, rad.
    pub travel_rad: f64,
    /// Slew rate of the servo arm, rad/s.
    pub speed_rad_s: f64,
    /// Torque that its maker states at the voltage it is fed, N m, if stated.
    pub torque_nm: Option<f64>,
}

/// Planar linkage from servo arm to control horn. Lengths of zero mean "not measured": then surface angle is taken
/// proportional to pulse.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Linkage {
    /// Servo arm, pivot to clevis hole, m.
    pub arm_m: f64,
    /// Control horn, hinge line to clevis hole, m.
    pub horn_m: f64,
    /// Distance from servo pivot to hinge line, m.
    pub base_m: f64,
    /// Advance of the clevis per turn, m.
    pub thread_pitch_m: f64,
}
