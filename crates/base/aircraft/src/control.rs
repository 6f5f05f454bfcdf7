//! How does a demand become a deflection of each panel, and a pulse a deflection?
//!
//! A panel is one side of a movable. Its deflection is positive with the trailing edge against the panel's normal
//! (`movable`); an axis deflection is positive where it gives a negative moment and a stick demand has the opposite
//! sign (`numerics::frames`). [`panel_gain`] is the only place where the two meet.

use numerics::Vec3;

use crate::Aircraft;
use crate::movable::{Linkage, Movable, Panels, Servo};
use crate::surface::{Role, Surface};

/// A component of a unit normal smaller than this counts as none: a fin that stands within half a minute of arc of
/// upright has no part in pitch. Rounding of cos 90° is 6e-17.
const NO_COMPONENT: f64 = 1e-4;

/// What a movable can be asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Axis {
    /// Aileron: right trailing edge down less left, halved.
    Roll,
    /// Elevator: trailing edge down.
    Pitch,
    /// Rudder: trailing edge left.
    Yaw,
    /// Flap: both trailing edges down. Its demand has the sign of its deflection.
    Flap,
}

impl Axis {
    /// Every axis.
    pub const ALL: [Self; 4] = [Self::Roll, Self::Pitch, Self::Yaw, Self::Flap];

    /// The word that files and JSON use.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Roll => "roll",
            Self::Pitch => "pitch",
            Self::Yaw => "yaw",
            Self::Flap => "flap",
        }
    }
}

/// Size of the axis deflection at full stick, rad, both positive.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AxisThrow {
    /// At full positive demand: stick right (roll, yaw), stick back (pitch), flaps fully down (flap).
    pub positive_demand_rad: f64,
    /// At full negative demand.
    pub negative_demand_rad: f64,
}

impl AxisThrow {
    /// Mean of both ways, rad.
    #[must_use]
    pub fn mean_rad(self) -> f64 {
        0.5 * (self.positive_demand_rad + self.negative_demand_rad)
    }

    /// The smaller of both ways, rad.
    #[must_use]
    pub fn least_rad(self) -> f64 {
        self.positive_demand_rad.min(self.negative_demand_rad)
    }
}

/// Unit normal of the panel that carries a movable, builder's frame, pointing from the lower to the upper side:
/// (0, -sin Γ, cos Γ) for the right or only panel with Γ from the leading edge between the movable's ends, its
/// mirror image for the left one.
#[must_use]
pub fn panel_normal(surface: &Surface, movable: &Movable, left: bool) -> Vec3 {
    let span = surface.leading_edge_at(movable.outer_m) - surface.leading_edge_at(movable.inner_m);
    let length = span.y.hypot(span.z);
    let normal = if length > 0.0 { Vec3::new(0.0, -span.z / length, span.y / length) } else { Vec3::z() };
    if left { Vec3::new(normal.x, -normal.y, normal.z) } else { normal }
}

/// Deflection of one panel per deflection of an axis, rad/rad. `left` asks for the mirror image of a mirrored
/// surface; a surface without one has no left panel and answers 0. A movable of mix 0.5 answers 0.5: an axis
/// deflection is told at full share, so that [`axis_throw_rad`] times this gain is what the panel does at full stick.
///
/// Both sides of [`Panels::One`] on a mirrored surface are moved by one servo as one piece, so it cannot roll and
/// answers 0 to it; two rudders on one servo do turn the same way in space.
#[must_use]
pub fn panel_gain(aircraft: &Aircraft, movable: &Movable, axis: Axis, left: bool) -> f64 {
    let Some(surface) = aircraft.surfaces.get(movable.surface) else {
        return 0.0;
    };
    if left && !surface.mirrored {
        return 0.0;
    }
    let normal = panel_normal(surface, movable, left);
    match axis {
        Axis::Roll => {
            if surface.mirrored && movable.panels == Panels::One {
                return 0.0;
            }
            let y = surface.leading_edge_at(0.5 * (movable.inner_m + movable.outer_m)).y;
            let y = if left { -y } else { y };
            let side = if y < 0.0 { -1.0 } else { 1.0 };
            movable.mix.roll * sign(normal.z) * side
        }
        Axis::Pitch => {
            let ahead = if surface.role == Role::Foreplane { -1.0 } else { 1.0 };
            movable.mix.pitch * sign(normal.z) * ahead
        }
        Axis::Yaw => movable.mix.yaw * sign(normal.y),
        Axis::Flap => movable.mix.flap * sign(normal.z),
    }
}

/// Size of an axis deflection at full stick each way, from the throws up and down of every panel that takes part,
/// averaged in proportion to the panels' gains; absent where nothing answers the axis. Differential throws make
/// the mean of the panel going up and the one going down.
#[must_use]
pub fn axis_throw_rad(aircraft: &Aircraft, axis: Axis) -> Option<AxisThrow> {
    let (mut gains, mut positive, mut negative) = (0.0, 0.0, 0.0);
    for movable in &aircraft.movables {
        for left in [false, true] {
            let gain = panel_gain(aircraft, movable, axis, left);
            // A positive demand asks for a negative axis deflection, except of flaps.
            let panel_down_on_positive = (gain > 0.0) == (axis == Axis::Flap);
            let (on_positive, on_negative) = if panel_down_on_positive {
                (movable.throw_down_rad, movable.throw_up_rad)
            } else {
                (movable.throw_up_rad, movable.throw_down_rad)
            };
            gains += gain.abs();
            positive += gain.abs() * on_positive;
            negative += gain.abs() * on_negative;
        }
    }
    (gains > 0.0)
        .then(|| AxisThrow { positive_demand_rad: positive / gains, negative_demand_rad: negative / gains })
}

/// Angle of a movable, rad, whose trailing edge has moved by `moved_m` at the chord `chord_m` of the movable (hinge
/// line to trailing edge). The movement is what a ruler shows between the two places of the trailing edge: the
/// straight chord of the arc, 2 asin(d / 2c); not the perpendicular asin(d / c), nor along a vertical ruler.
/// Absent where the movement is more than twice the chord or the chord is not positive.
#[must_use]
pub fn deflection_from_trailing_edge_m(moved_m: f64, chord_m: f64) -> Option<f64> {
    let half = moved_m / (2.0 * chord_m);
    (chord_m > 0.0 && half.abs() <= 1.0).then(|| 2.0 * half.asin())
}

/// Movement of the trailing edge along the chord of its arc, m, for an angle of a movable of chord `chord_m`:
/// the inverse of [`deflection_from_trailing_edge_m`].
#[must_use]
pub fn trailing_edge_m_from_deflection(deflection_rad: f64, chord_m: f64) -> f64 {
    2.0 * chord_m * (0.5 * deflection_rad).sin()
}

impl Movable {
    /// Chord of the movable itself, hinge line to trailing edge, at a place along its surface, m.
    #[must_use]
    pub fn chord_at(&self, surface: &Surface, along_m: f64) -> f64 {
        let length = self.outer_m - self.inner_m;
        let share = if length > 0.0 { ((along_m - self.inner_m) / length).clamp(0.0, 1.0) } else { 0.0 };
        let hinge = self.hinge_inner + share * (self.hinge_outer - self.hinge_inner);
        surface.chord_at(along_m) * (1.0 - hinge)
    }

    /// Deflection of the panel that a servo drives at a pulse, rad. With a measured linkage by its geometry;
    /// without, in proportion, the larger of the two throws at `travel_us`. Absent where the rod cannot reach
    /// (the linkage would lock) or the servo has no travel.
    #[must_use]
    pub fn deflection_from_pulse(&self, servo: &Servo, pulse_us: f64) -> Option<f64> {
        let share = servo.share_from_pulse(pulse_us)?;
        if self.linkage.is_measured() {
            self.linkage.surface_from_servo(share * servo.travel_rad)
        } else {
            Some(share * self.throw_up_rad.max(self.throw_down_rad))
        }
    }

    /// Pulse that deflects the panel by an angle, µs: the inverse of [`Self::deflection_from_pulse`]. The pulse
    /// may lie beyond the servo's travel; whoever sends it must limit it.
    #[must_use]
    pub fn pulse_from_deflection(&self, servo: &Servo, deflection_rad: f64) -> Option<f64> {
        let share = if self.linkage.is_measured() {
            if servo.travel_rad <= 0.0 {
                return None;
            }
            self.linkage.servo_from_surface(deflection_rad)? / servo.travel_rad
        } else {
            let throw = self.throw_up_rad.max(self.throw_down_rad);
            if throw <= 0.0 {
                return None;
            }
            deflection_rad / throw
        };
        let turn = if servo.reversed { -share } else { share };
        let pulse = servo.centre_us + turn * servo.travel_us;
        (servo.travel_us > 0.0 && pulse.is_finite()).then_some(pulse)
    }

    /// Servo of a panel: that of the left one where it has its own.
    #[must_use]
    pub fn servo_of(&self, left: bool) -> &Servo {
        match (&self.servo_left, left) {
            (Some(servo), true) => servo,
            _ => &self.servo,
        }
    }
}

impl Servo {
    /// Share of its travel, -1 to 1 within it, that a pulse turns the arm; positive moves the trailing edge down.
    fn share_from_pulse(&self, pulse_us: f64) -> Option<f64> {
        if self.travel_us.is_nan() || self.travel_us <= 0.0 {
            return None;
        }
        let share = (pulse_us - self.centre_us) / self.travel_us;
        let share = if self.reversed { -share } else { share };
        share.is_finite().then_some(share)
    }
}

impl Linkage {
    /// Whether arm, horn and base are all known.
    #[must_use]
    pub fn is_measured(&self) -> bool {
        self.arm_m > 0.0 && self.horn_m > 0.0 && self.base_m > 0.0
    }

    /// Angle of the surface for an angle of the servo arm, rad, by exact closure of the planar four-bar. Arm and
    /// horn stand square to the base on the same side at neutral; positive angles push the rod away from the servo.
    /// (A linkage that pulls instead differs by the sign of both angles, a few tenths of a degree at full throw.)
    /// Absent where the rod cannot reach.
    #[must_use]
    pub fn surface_from_servo(&self, servo_rad: f64) -> Option<f64> {
        close_four_bar(self.arm_m, self.horn_m, self.base_m, servo_rad)
    }

    /// Angle of the servo arm for an angle of the surface, rad: the inverse of [`Self::surface_from_servo`].
    #[must_use]
    pub fn servo_from_surface(&self, surface_rad: f64) -> Option<f64> {
        // Seen in a mirror the horn drives the arm, and both turn the other way.
        close_four_bar(self.horn_m, self.arm_m, self.base_m, -surface_rad).map(|angle| -angle)
    }

    /// Turns of the clevis that move the surface by an angle while the servo stays at neutral; positive turns
    /// lengthen the rod and push the surface to positive angles. Absent without horn and thread pitch. Without
    /// arm and base the rod is taken as long.
    #[must_use]
    pub fn clevis_turns(&self, deflection_rad: f64) -> Option<f64> {
        if !(self.horn_m > 0.0 && self.thread_pitch_m > 0.0) {
            return None;
        }
        let longer_m = if self.is_measured() {
            let rod = self.base_m.hypot(self.horn_m - self.arm_m);
            let x = self.base_m + self.horn_m * deflection_rad.sin();
            let y = self.horn_m * deflection_rad.cos() - self.arm_m;
            x.hypot(y) - rod
        } else {
            self.horn_m * deflection_rad.sin()
        };
        Some(longer_m / self.thread_pitch_m)
    }
}

/// Angle of the driven lever of a four-bar whose levers stand square to the base at neutral, positive angles of
/// both away from the driver. Pivots at (0, 0) and (base, 0), lever ends at driver (sin φ, cos φ) and
/// (base, 0) + driven (sin θ, cos θ); the rod keeps its length, which gives p sin θ + q cos θ = k.
fn close_four_bar(driver: f64, driven: f64, base: f64, driver_rad: f64) -> Option<f64> {
    let rod_squared = base * base + (driven - driver) * (driven - driver);
    let p = base - driver * driver_rad.sin();
    let q = -driver * driver_rad.cos();
    let reach_squared = p * p + q * q;
    let k = (rod_squared - reach_squared - driven * driven) / (2.0 * driven);
    let sine = k / reach_squared.sqrt();
    // The branch that passes through neutral; the other one has the levers crossed.
    (sine.abs() <= 1.0).then(|| sine.asin() - q.atan2(p))
}

fn sign(component: f64) -> f64 {
    if component.abs() < NO_COMPONENT { 0.0 } else { component.signum() }
}
