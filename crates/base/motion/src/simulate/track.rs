//! What is kept of a flight.

use numerics::{Rotation, Vec3};

use super::Remark;
use crate::state::Controls;

/// One moment of a flight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// Time since the begin, s.
    pub time_s: f64,
    /// Place, north-east-down of the launch point, m.
    pub position_ned_m: Vec3,
    /// Velocity relative to the earth, north-east-down, m/s.
    pub velocity_ned_m_s: Vec3,
    /// Attitude.
    pub ned_from_body: Rotation,
    /// Turning rates, body axes, rad/s.
    pub rates_body_rad_s: Vec3,
    /// True airspeed, m/s.
    pub airspeed_m_s: f64,
    /// Angle of attack, rad.
    pub alpha_rad: f64,
    /// How far the wing is stalled, 0 to 1.
    pub stalled: f64,
    /// Where the surfaces stand.
    pub controls: Controls,
    /// Throttle that the propeller answers to, 0 to 1.
    pub thrust_level: f64,
    /// Thrust, N.
    pub thrust_n: f64,
    /// Whether the launch device has let go.
    pub released: bool,
    /// Whether anything touches the ground.
    pub touching: bool,
}

impl Sample {
    /// Height above the launch point, m.
    #[must_use]
    pub fn height_m(&self) -> f64 {
        -self.position_ned_m.z
    }

    /// Roll, pitch and yaw, rad.
    #[must_use]
    pub fn roll_pitch_yaw(&self) -> (f64, f64, f64) {
        numerics::frames::roll_pitch_yaw(&self.ned_from_body)
    }
}

/// The first touch of the ground after the launch device has let go.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Touch {
    /// When, s.
    pub time_s: f64,
    /// Sink rate, m/s.
    pub sink_m_s: f64,
    /// Speed over the ground, m/s.
    pub speed_m_s: f64,
    /// Bank, rad.
    pub bank_rad: f64,
    /// Pitch, rad.
    pub pitch_rad: f64,
}

/// How the flight stood at its end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum End {
    /// In the air.
    Flying,
    /// The launch device never let go.
    Held,
    /// On the ground, the right way up.
    Down,
    /// On the ground, on its nose or back.
    NosedOver,
    /// The computation left what an aircraft can do (or ceased to be numbers) at a time, s; the samples end before.
    Diverged {
        /// When, s.
        time_s: f64,
    },
}

/// Extremes and events of a flight, of every step. "In flight" is from when the launch device lets go until the first
/// touch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Facts {
    /// When the launch device let go, s; a throw at zero.
    pub released_s: Option<f64>,
    /// Airspeed then, m/s.
    pub released_airspeed_m_s: f64,
    /// Least height in flight above the launch point, m.
    pub lowest_m: f64,
    /// Greatest height, m.
    pub highest_m: f64,
    /// Least airspeed in flight, m/s.
    pub slowest_m_s: f64,
    /// Greatest airspeed, m/s.
    pub fastest_m_s: f64,
    /// Greatest bank either way in flight, rad.
    pub greatest_bank_rad: f64,
    /// Greatest angle of attack in flight, rad.
    pub greatest_alpha_rad: f64,
    /// Time in flight with more than half the wing stalled, s.
    pub stalled_s: f64,
    /// When the motor was told its flight setting, s.
    pub motor_s: Option<f64>,
    /// The first touch.
    pub touch: Option<Touch>,
    /// How it stood at the end.
    pub end: End,
}

/// A computed flight.
#[derive(Debug, Clone, PartialEq)]
pub struct Track {
    /// Samples from the begin on.
    pub samples: Vec<Sample>,
    /// Extremes and events.
    pub facts: Facts,
    /// What a reader should know.
    pub remarks: Vec<Remark>,
}
