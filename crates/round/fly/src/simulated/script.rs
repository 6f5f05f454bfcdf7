//! What is flown, in which air, by which pilot, with what hidden from the builder? The script of a simulated flight,
//! read from TOML.
//!
//! ```toml
//! seed = 7                       # everything random follows from it
//! log_hz = 50                    # 10 to 500
//! integrate_hz = 200             # raised to a multiple of log_hz
//! reference_speed_m_s = 13       # else the aircraft file's
//!
//! [place]
//! latitude_deg = 52.0
//! longitude_deg = 5.0
//! elevation_m = 20
//! temperature_c = 15
//!
//! [wind]
//! speed_m_s = 4.2                # at at_height_m
//! from_deg = 240
//! at_height_m = 10
//! roughness_m = 0.03             # or shear_exponent = 0.2
//! gust_intensity = 0.1           # vertical gust spread over the wind at 6 m
//!
//! [hidden]                       # true of the aircraft, not in its file
//! mounting_pitch_deg = 2.5       # where the controller really sits, nose up
//! mounting_roll_deg = -0.8
//! airspeed_factor = 1.04         # what the sensor tells over what is so
//! lift_factor = 0.97
//! drag_factor = 1.1
//! thrust_factor = 0.95
//! roll_factor = 0.9              # of the control power; also pitch_factor, yaw_factor
//! linkage_us = 1500              # pulse at which the linkages really are neutral; else the file's centres
//! [[hidden.offset]]              # the linkage is off by so much, trailing edge down (rudder: right) positive
//! movable = "elevator"
//! side = "only"                  # or right, left, both
//! deg = 1.5
//! at_us = 1500                   # the pulse at which it stands so; else linkage_us
//!
//! [sensors]                      # each may be left out
//! airspeed = true
//! gps = true
//! gps_hz = 5
//! gps_delay_s = 0.2
//! power = true
//! rpm = true
//! noise = 1.0                    # factor on all spreads; or each spread:
//! angle_sd_deg = 0.1
//! rate_sd_deg_s = 0.3
//! force_sd_m_s2 = 0.15
//! height_sd_m = 0.15
//! airspeed_sd_m_s = 0.3
//! gps_position_sd_m = 0.8
//! gps_velocity_sd_m_s = 0.08
//! vibration_m_s2 = 0.0           # amplitude at full throttle, at propeller speed
//!
//! [pilot]
//! lag_s = 0.15
//! noise = 1.0
//!
//! [gains]                        # of the rate loops; else the aircraft file's, else from the model
//! roll = { feed_forward_s = 0.1, proportional_s = 0.05, integral = 0.2, derivative_s2 = 0.0 }
//!
//! [[flaw]]
//! kind = "gap"                   # or time-reset, truncated
//! at_s = 60
//! for_s = 2
//!
//! [[step]]
//! do = "launch"                  # climb, straight, turn, input, glide, stall, return, approach, land
//! acts = "level"                 # direct, rate, level
//! ```

use aircraft::controller::{Acts, Gains};
use numerics::units::RAD_PER_DEG;
use sky::wind::Wind;

/// A script: see the text at the top of this file for its form.
#[derive(Debug, Clone, PartialEq)]
pub struct Script {
    /// Seed of everything random.
    pub seed: u64,
    /// Rate of the recording, Hz.
    pub log_hz: f64,
    /// Rate of the integration, Hz; a multiple of `log_hz`.
    pub integrate_hz: f64,
    /// Speed for which the true trims are told, m/s; absent: the aircraft's.
    pub reference_speed_m_s: Option<f64>,
    /// Where it is flown.
    pub place: Place,
    /// Mean wind.
    pub wind: Wind,
    /// Standard deviation of vertical gusts over the mean wind at 6 m; 0.1 is what MIL-F-8785C takes.
    pub gust_intensity: f64,
    /// What is true of the aircraft and not in its file.
    pub hidden: Hidden,
    /// What is logged and how well.
    pub sensors: Sensors,
    /// The pilot.
    pub pilot: PilotManner,
    /// Gains of the rate loops [roll, pitch, yaw] where the script gives them.
    pub gains: [Option<Gains>; 3],
    /// Flaws of the recording.
    pub flaws: Vec<MadeFlaw>,
    /// What is flown, in order.
    pub steps: Vec<Step>,
}

/// The launch point and its air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Latitude, degrees north.
    pub latitude_deg: f64,
    /// Longitude, degrees east.
    pub longitude_deg: f64,
    /// Height of the ground above sea level, m.
    pub elevation_m: f64,
    /// Air temperature at the ground, K; absent: standard.
    pub temperature_k: Option<f64>,
}

impl Default for Place {
    fn default() -> Self {
        Self { latitude_deg: 52.0, longitude_deg: 5.0, elevation_m: 0.0, temperature_k: None }
    }
}

/// What is true of the aircraft and not in its file.
#[derive(Debug, Clone, PartialEq)]
pub struct Hidden {
    /// Angle at which the controller really sits in pitch, nose up, rad.
    pub mounting_pitch_rad: f64,
    /// Angle at which the controller really sits in roll, right side down, rad.
    pub mounting_roll_rad: f64,
    /// What the airspeed sensor tells over the true airspeed.
    pub airspeed_factor: f64,
    /// Factor on lift: the whole lift curve, so that the angle of zero lift stays.
    pub lift_factor: f64,
    /// Factor on drag: both the constant and the lift-dependent part.
    pub drag_factor: f64,
    /// Factor on thrust.
    pub thrust_factor: f64,
    /// Factors on the control derivatives [roll, pitch, yaw].
    pub control_factor: [f64; 3],
    /// Pulse at which every linkage really is neutral, µs; absent: at the centres of the aircraft file. To be given
    /// where the file's centres change between flights, for the linkages stay as they are.
    pub linkage_us: Option<f64>,
    /// Surfaces that do not stand at zero when their servo does.
    pub offsets: Vec<Offset>,
}

impl Default for Hidden {
    fn default() -> Self {
        Self {
            mounting_pitch_rad: 0.0,
            mounting_roll_rad: 0.0,
            airspeed_factor: 1.0,
            lift_factor: 1.0,
            drag_factor: 1.0,
            thrust_factor: 1.0,
            control_factor: [1.0; 3],
            linkage_us: None,
            offsets: Vec::new(),
        }
    }
}

/// A surface that does not stand at zero when its servo stands at its centre.
#[derive(Debug, Clone, PartialEq)]
pub struct Offset {
    /// Name of the movable.
    pub movable: String,
    /// On which side.
    pub side: Side,
    /// By how much, rad, positive as panel deflections are: against the panel's normal (trailing edge down).
    pub rad: f64,
    /// The pulse at which it stands so, µs; absent: as the other linkages.
    pub at_us: Option<f64>,
    /// Line of the script, for messages.
    pub line: usize,
}

/// Which panels of a movable.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// The right or only one.
    Right,
    /// The left one.
    Left,
    /// Both.
    Both,
}

/// What is logged and how well. Spreads are standard deviations.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sensors {
    /// Whether there is an airspeed sensor.
    pub airspeed: bool,
    /// Whether there is a satellite receiver.
    pub gps: bool,
    /// Whether pack voltage, current and charge are logged.
    pub power: bool,
    /// Whether propeller speed is logged.
    pub rpm: bool,
    /// Fixes a second, Hz.
    pub gps_hz: f64,
    /// Age of a fix when it is logged, s.
    pub gps_delay_s: f64,
    /// Attitude angles, rad; as much again drifts over some twenty seconds.
    pub angle_sd_rad: f64,
    /// Rates, rad/s.
    pub rate_sd_rad_s: f64,
    /// Specific forces, m/s².
    pub force_sd_m_s2: f64,
    /// Barometric height, m.
    pub height_sd_m: f64,
    /// Airspeed, m/s.
    pub airspeed_sd_m_s: f64,
    /// Position of a fix, m; wanders over half a minute.
    pub gps_position_sd_m: f64,
    /// Velocity of a fix, m/s.
    pub gps_velocity_sd_m_s: f64,
    /// Amplitude of the shaking at full throttle at the propeller's speed, m/s².
    pub vibration_m_s2: f64,
}

impl Default for Sensors {
    fn default() -> Self {
        Self {
            airspeed: true,
            gps: true,
            power: true,
            rpm: true,
            gps_hz: 5.0,
            gps_delay_s: 0.2,
            angle_sd_rad: 0.1 * RAD_PER_DEG,
            rate_sd_rad_s: 0.3 * RAD_PER_DEG,
            force_sd_m_s2: 0.15,
            height_sd_m: 0.15,
            airspeed_sd_m_s: 0.3,
            gps_position_sd_m: 0.8,
            gps_velocity_sd_m_s: 0.08,
            vibration_m_s2: 0.0,
        }
    }
}

/// How the pilot flies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PilotManner {
    /// Time constant from seeing to stick, s.
    pub lag_s: f64,
    /// Factor on what the pilot misjudges (at 1: some half a degree of bank and pitch).
    pub noise: f64,
}

impl Default for PilotManner {
    fn default() -> Self {
        Self { lag_s: 0.15, noise: 1.0 }
    }
}

/// A flaw to make in the written recording.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum MadeFlaw {
    /// Rows left out.
    Gap {
        /// From when, s.
        at_s: f64,
        /// For how long, s.
        for_s: f64,
    },
    /// The clock begins at zero again.
    TimeReset {
        /// When, s.
        at_s: f64,
    },
    /// The last line ends in the middle.
    Truncated,
}

/// One step of the flight.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Line of the script, for messages.
    pub line: usize,
    /// How the stick acts.
    pub acts: Acts,
    /// What is flown.
    pub what: What,
}

/// What is flown in a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum What {
    /// Thrown by hand from 1.8 m, into the wind unless a heading is given; then climbing away, wings level.
    Launch {
        /// Speed over the ground at release, m/s.
        speed_m_s: f64,
        /// Elevation of the throw, rad.
        elevation_rad: f64,
        /// Direction of the throw, rad; absent: into the wind.
        heading_rad: Option<f64>,
        /// Throttle, 0 to 1.
        throttle: f64,
        /// Time on the ground before the throw, s.
        ground_s: f64,
        /// Height at which the step ends, m.
        to_height_m: f64,
    },
    /// Climb at an airspeed.
    Climb {
        /// Height at which the step ends, m.
        to_height_m: f64,
        /// Throttle, 0 to 1.
        throttle: f64,
        /// Airspeed, m/s; absent: the reference speed.
        airspeed_m_s: Option<f64>,
        /// Heading, rad; absent: as it is.
        heading_rad: Option<f64>,
    },
    /// Straight flight.
    Straight {
        /// Heading, rad; absent: as it is.
        heading_rad: Option<f64>,
        /// For how long, s; counted when the heading is reached, at most 20 s later.
        seconds: f64,
        /// What the pitch stick is for.
        hold: Hold,
        /// Airspeed, m/s; absent: the reference speed.
        airspeed_m_s: Option<f64>,
        /// Throttle that is left standing, 0 to 1; absent: used for the airspeed.
        throttle: Option<f64>,
    },
    /// Turn at a bank, height and airspeed held.
    Turn {
        /// Bank, rad, positive.
        bank_rad: f64,
        /// How far round, rad, positive.
        angle_rad: f64,
        /// Whether to the left.
        left: bool,
        /// Airspeed, m/s; absent: the reference speed.
        airspeed_m_s: Option<f64>,
    },
    /// A deliberate stick movement from straight flight, then recovery.
    Input {
        /// Which stick.
        axis: StickAxis,
        /// Its shape.
        shape: Shape,
        /// Its size, 0 to 1 of full stick; negative: the other way first.
        size: f64,
        /// Of a step or one side of a doublet, or of the whole sweep, s.
        seconds: f64,
        /// Recovery to straight flight, s.
        rest_s: f64,
    },
    /// Glide with the propeller off.
    Glide {
        /// For how long, s.
        seconds: f64,
        /// Airspeed, m/s; absent: the reference speed.
        airspeed_m_s: Option<f64>,
        /// Heading, rad; absent: as it is.
        heading_rad: Option<f64>,
    },
    /// Throttle closed, height held until it stalls; then nose down and away.
    Stall {
        /// At most for how long, s.
        seconds: f64,
    },
    /// Back towards the launch point, height and airspeed held.
    Return {
        /// Ends this near, m.
        within_m: f64,
        /// Airspeed, m/s; absent: the reference speed.
        airspeed_m_s: Option<f64>,
    },
    /// Descend with little power, into the wind unless a heading is given.
    Approach {
        /// Height at which the step ends, m.
        to_height_m: f64,
        /// Throttle, 0 to 1.
        throttle: f64,
        /// Airspeed, m/s; absent: 1.3 times the stall speed.
        airspeed_m_s: Option<f64>,
        /// Heading, rad; absent: into the wind.
        heading_rad: Option<f64>,
    },
    /// Glide on, round out and come to rest.
    Land,
}

impl What {
    /// The word of the script.
    #[must_use]
    pub fn word(&self) -> &'static str {
        match self {
            Self::Launch { .. } => "launch",
            Self::Climb { .. } => "climb",
            Self::Straight { .. } => "straight",
            Self::Turn { .. } => "turn",
            Self::Input { .. } => "input",
            Self::Glide { .. } => "glide",
            Self::Stall { .. } => "stall",
            Self::Return { .. } => "return",
            Self::Approach { .. } => "approach",
            Self::Land => "land",
        }
    }
}

/// What the pitch stick is for in straight flight.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hold {
    /// Holding height.
    Height,
    /// Holding airspeed; height goes as it will.
    Airspeed,
    /// Nothing: it is left centred (direct: where it held last).
    Stick,
}

/// A stick.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StickAxis {
    /// Roll.
    Roll,
    /// Pitch.
    Pitch,
    /// Yaw.
    Yaw,
}

/// Shape of a deliberate stick movement.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// There, held, back.
    Step,
    /// One way, then the other, each held as long.
    Doublet,
    /// Sine of a frequency that grows evenly in its logarithm.
    Sweep {
        /// First frequency, Hz.
        from_hz: f64,
        /// Last frequency, Hz.
        to_hz: f64,
    },
}

impl Shape {
    /// Length of the whole movement, s, for the `seconds` of the step.
    #[must_use]
    pub fn length_s(self, seconds: f64) -> f64 {
        match self {
            Self::Doublet => 2.0 * seconds,
            Self::Step | Self::Sweep { .. } => seconds,
        }
    }

    /// Stick, as a share of its size, `t_s` after its begin.
    #[must_use]
    pub fn at(self, t_s: f64, seconds: f64) -> f64 {
        if t_s < 0.0 || t_s >= self.length_s(seconds) {
            return 0.0;
        }
        match self {
            Self::Step => 1.0,
            Self::Doublet if t_s < seconds => 1.0,
            Self::Doublet => -1.0,
            Self::Sweep { from_hz, to_hz } => {
                // Phase is the integral of f(t) = f0 (f1/f0)^(t/T); faded in and out over a twentieth.
                let growth = (to_hz / from_hz).ln() / seconds;
                let cycles = if growth.abs() > 1e-9 {
                    from_hz * ((growth * t_s).exp() - 1.0) / growth
                } else {
                    from_hz * t_s
                };
                let fade = (t_s.min(seconds - t_s) / (0.05 * seconds)).min(1.0);
                fade * (std::f64::consts::TAU * cycles).sin()
            }
        }
    }
}

/// What is wrong with a script.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ScriptError {
    /// Line, 1 the first.
    pub line: usize,
    /// What is wrong.
    pub what: String,
    /// What to do.
    pub remedy: String,
}

impl std::fmt::Display for ScriptError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "line {}: {}; {}", self.line, self.what, self.remedy)
    }
}

impl Script {
    /// Reads a script.
    ///
    /// # Errors
    /// Everything that is wrong with it, in the order of the lines.
    pub fn read(text: &str) -> Result<Self, Vec<ScriptError>> {
        super::reading::read(text)
    }
}
