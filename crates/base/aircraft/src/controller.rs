//! How is the stabilising controller mounted and set?

use crate::known::Known;

/// How the stick acts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Acts {
    /// Straight to the surfaces.
    Direct,
    /// Commands a turning rate.
    Rate,
    /// Commands an attitude.
    Level,
}

impl Acts {
    /// The word used in files and shown to people.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Direct => "direct",
            Self::Rate => "rate",
            Self::Level => "level",
        }
    }
}

/// The controller. The mounting angles are what it is set to subtract: its reading is the attitude of the airframe's
/// reference line, plus the angle at which it really sits, less the mounting angle set here. Set well, it reads zero
/// pitch where height holds at the cruise setting, so that "level" with the stick centred holds height.
#[derive(Debug, Clone, PartialEq)]
pub struct Controller {
    /// Mounting angle in pitch as set, nose-up readings taken away when positive, rad.
    pub mounting_pitch_rad: Known,
    /// Mounting angle in roll as set, right-wing-down readings taken away when positive, rad.
    pub mounting_roll_rad: Known,
    /// Iterations of the stabilising loop, Hz.
    pub loop_hz: f64,
    /// Delay from gyro to servo pulse, s.
    pub delay_s: f64,
    /// Largest turning rate commanded in rate, [roll, pitch, yaw], rad/s.
    pub largest_rate_rad_s: [f64; 3],
    /// Largest attitude commanded in level, [roll, pitch], rad.
    pub largest_angle_rad: [f64; 2],
    /// Gains per axis [roll, pitch, yaw]; absent where not stated.
    pub gains: [Option<Gains>; 3],
    /// Turning rate demanded per angle of error in level, 1/s.
    pub level_per_s: f64,
    /// Speed at which the gains hold, m/s, if stated.
    pub reference_speed_m_s: Option<f64>,
    /// Positions of the switch that selects how the stick acts, in the builder's words.
    pub switch: Vec<SwitchPosition>,
    /// Throttle, 0 to 1, held when the radio link is lost, if stated.
    pub failsafe_throttle: Option<f64>,
}

/// One position of the switch.
#[derive(Debug, Clone, PartialEq)]
pub struct SwitchPosition {
    /// The builder's name for it.
    pub name: String,
    /// How the stick acts there.
    pub acts: Acts,
}

/// Gains of one rate loop in physical units: surface radians per radian a second (proportional), per radian
/// (integral), per radian a second squared (derivative); feed-forward in surface radians per commanded radian a second.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Gains {
    /// Feed-forward gain, s.
    pub feed_forward_s: f64,
    /// Proportional gain, s.
    pub proportional_s: f64,
    /// Integral gain.
    pub integral: f64,
    /// Derivative gain, s².
    pub derivative_s2: f64,
}
