//! How does a whole flight go, all parts together? Launch device, air, controller, servos, drive, pack, ground.
//!
//! [`fly`] computes one flight, [`fly_all`] several side by side in the registers of the processor; a flight has the
//! same bits either way. Surfaces and gusts change once a step; everything else is integrated together, by
//! Runge-Kutta's fourth-order method or, one evaluation a step, by that of Adams and Bashforth begun with it.

mod batch;
mod device;
mod motion;
mod refuse;
mod track;

use numerics::Vec3;
use sky::gusts::SingleGust;
use sky::wind::Wind;

use crate::actuators::Actuators;
use crate::forces::Prepared;
use crate::ground::Ground;
use crate::launch::{Device, NoLaunch};
use crate::stabilizer::{Settings, Task};
use crate::state::Controls;

pub(crate) use batch::{begin, may_join, together};
pub use batch::{fly, fly_all};
pub use track::{End, Facts, Sample, Touch, Track};

/// What moves an aircraft: the same for many flights, or drawn for each.
#[derive(Debug, Clone, PartialEq)]
pub struct Plant {
    /// Forces, moments and drive.
    pub body: Prepared,
    /// Servos and throws.
    pub actuators: Actuators,
    /// The controller.
    pub stabilizer: Settings,
    /// Where it touches the ground.
    pub ground: Ground,
}

/// The motor in a launch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Motor {
    /// Throttle before it starts, 0 to 1.
    pub idle: f64,
    /// Throttle then, 0 to 1.
    pub flight: f64,
    /// When it starts.
    pub starts: MotorStart,
}

/// When the motor starts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum MotorStart {
    /// It runs at the flight setting when the launch begins.
    Running,
    /// So long after the begin of the launch, s.
    After {
        /// The delay, s.
        delay_s: f64,
    },
    /// So long after the controller has felt the launch: a forward acceleration of at least so much (gravity not
    /// counted). A throw is taken as having pushed evenly over [`ARM_WAY_M`] before its release.
    OnThrow {
        /// Least forward specific force that counts as a launch, m/s².
        least_m_s2: f64,
        /// The delay, s.
        delay_s: f64,
    },
}

/// Way over which an arm accelerates a model, m (common practice, no source).
pub const ARM_WAY_M: f64 = 1.2;

/// Air of one flight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weather {
    /// Mean wind.
    pub wind: Wind,
    /// Standard deviation of vertical gusts over the mean wind at 6 m; 0.1 is what MIL-F-8785C takes, 0 none.
    pub gust_intensity: f64,
    /// One gust beside the turbulence.
    pub single: Option<SingleGust>,
    /// Density, kg/m³.
    pub density_kg_m3: f64,
    /// Seed of the gusts.
    pub seed: u64,
    /// Number of the flight under that seed: streams of one seed are independent.
    pub stream: u64,
}

impl Weather {
    /// Still air of a density (kg/m³).
    #[must_use]
    pub fn still(density_kg_m3: f64) -> Self {
        Self { wind: Wind::CALM, gust_intensity: 0.0, single: None, density_kg_m3, seed: 0, stream: 0 }
    }
}

/// One flight to compute.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Run<'a> {
    /// What flies.
    pub plant: &'a Plant,
    /// How it begins.
    pub device: Device,
    /// What the controller is about.
    pub task: Task,
    /// The motor.
    pub motor: Motor,
    /// The air.
    pub weather: Weather,
    /// Where the surfaces stand when nothing is demanded.
    pub trim: Controls,
    /// What the controller reads too much of roll and pitch, rad.
    pub reads_too_much_rad: [f64; 2],
    /// Charge taken from the pack before, ampere-hours.
    pub charge_used_ah: f64,
}

/// How to compute and what to keep.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Watch {
    /// How long to fly, s.
    pub for_s: f64,
    /// Step, s.
    pub step_s: f64,
    /// Time between two samples that are kept, s; infinite for none but the first and last.
    pub sample_s: f64,
    /// The method.
    pub method: Method,
}

impl Watch {
    /// A launch: 400 steps a second, ten samples a second.
    #[must_use]
    pub fn launch(for_s: f64) -> Self {
        Self { for_s, step_s: 1.0 / 400.0, sample_s: 0.1, method: Method::AdamsBashforth4 }
    }
}

/// How a step is made. Both are of fourth order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// Four evaluations a step.
    RungeKutta4,
    /// One evaluation a step, from the three before; begun with Runge-Kutta, and after a jump with its own lower orders.
    AdamsBashforth4,
}

/// Why a flight is not computed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Refused {
    /// The launch cannot be.
    Launch(NoLaunch),
    /// A number of the flight cannot be: which, its value, and the range it must lie in.
    Number {
        /// What it is, in words.
        what: &'static str,
        /// Its value.
        value: f64,
        /// Least value that is computed.
        least: f64,
        /// Largest value that is computed.
        most: f64,
    },
    /// The step is too large for the fastest motion of this aircraft.
    Step {
        /// Step asked for, s.
        step_s: f64,
        /// Largest step that the method can take here, s.
        most_s: f64,
    },
}

impl std::fmt::Display for Refused {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Launch(why) => write!(f, "{why}"),
            Self::Number { what, value, least, most } => {
                write!(f, "{what} of {value} cannot be computed: it must lie between {least} and {most}")
            }
            Self::Step { step_s, most_s } => write!(
                f,
                "a step of {step_s} s is too large for the fastest motion of this aircraft: take {most_s:.5} s or less"
            ),
        }
    }
}

/// What a reader should know of a flight that was computed all the same.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Remark {
    /// The wind at the height of the launch is faster than the stall speed: it cannot make way, and may be blown over
    /// before it flies.
    WindAboveFlyingSpeed {
        /// The wind, m/s.
        wind_m_s: f64,
        /// Stall speed, m/s.
        stall_m_s: f64,
    },
    /// At the flight throttle the drive gives no thrust at rest.
    NoThrust,
    /// It is to roll or to climb with thrust less than this share of the weight, so it will hardly.
    LittleThrust {
        /// Static thrust over weight.
        share: f64,
    },
}

/// A place or velocity as lanes hold it.
pub(crate) fn components(v: Vec3) -> [f64; 3] {
    [v.x, v.y, v.z]
}
