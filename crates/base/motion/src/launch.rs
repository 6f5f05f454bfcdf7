//! How does it get into the air? Thrown, pulled by a rubber cord, pushed along a rail, rolling: as a state to begin from
//! and, where something pulls on, as a force until it lets go.
//!
//! What is uncertain about a launch (the speed of an arm, its direction) is for the caller to draw; here one launch
//! is computed as it is told.

use numerics::{Vec3, frames};

use crate::ground::Ground;
use crate::state::State;

/// A way to begin a flight, at the launch point, towards a heading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Device {
    /// Thrown by hand.
    Hand(Throw),
    /// Pulled by a rubber cord.
    Bungee(Bungee),
    /// Pushed along a rail.
    Rail(Rail),
    /// Rolling on its wheels.
    Rolling(Rolling),
    /// From a state in the air.
    Flying(State),
}

/// A throw, at the moment of release.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Throw {
    /// Speed over the ground, m/s.
    pub speed_m_s: f64,
    /// Elevation of the path, rad.
    pub elevation_rad: f64,
    /// Direction of the path, from north clockwise, rad.
    pub heading_rad: f64,
    /// Nose above the path, rad.
    pub nose_up_rad: f64,
    /// Nose right of the path, rad.
    pub nose_right_rad: f64,
    /// Bank, right wing down, rad.
    pub bank_rad: f64,
    /// Turning rates that the hand leaves in it [roll, pitch, yaw], body axes, rad/s.
    pub rates_rad_s: [f64; 3],
    /// Height of the balance point above the ground, m.
    pub height_m: f64,
}

impl Throw {
    /// A clean throw: along the nose, wings level, not turning.
    #[must_use]
    pub fn clean(speed_m_s: f64, elevation_rad: f64, heading_rad: f64, height_m: f64) -> Self {
        Self {
            speed_m_s,
            elevation_rad,
            heading_rad,
            nose_up_rad: 0.0,
            nose_right_rad: 0.0,
            bank_rad: 0.0,
            rates_rad_s: [0.0; 3],
            height_m,
        }
    }
}

/// A rubber cord from a peg ahead to a hook below the aircraft.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bungee {
    /// Length of cord and line without pull, m.
    pub slack_m: f64,
    /// How far it is drawn out at the start, m.
    pub stretch_m: f64,
    /// Force per stretch while it is drawn out, N/m.
    pub stiffness_n_m: f64,
    /// Share of the work put in that it gives back, 0 to 1 (0.8 for good rubber: common practice, no source).
    pub returned: f64,
    /// Where the hook is, relative to the balance point, body axes, m.
    pub hook_body_m: Vec3,
    /// Direction towards the peg, from north clockwise, rad.
    pub heading_rad: f64,
    /// Pitch attitude in which it is held, rad.
    pub pitch_rad: f64,
    /// Bank in which it is held, rad.
    pub bank_rad: f64,
    /// Height of the balance point while held, m.
    pub height_m: f64,
    /// The line slips off the hook when it points this far back from straight ahead, rad (some 80 degrees).
    pub slips_off_rad: f64,
}

/// A rail that guides until its end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rail {
    /// Length of the way, m.
    pub length_m: f64,
    /// Force at its begin, N.
    pub force_begin_n: f64,
    /// Force at its end, N; in between it changes evenly along the way.
    pub force_end_n: f64,
    /// Mass of what moves along and stays behind, kg.
    pub carriage_kg: f64,
    /// Elevation, rad.
    pub elevation_rad: f64,
    /// Bank on the rail, rad.
    pub bank_rad: f64,
    /// Direction, from north clockwise, rad.
    pub heading_rad: f64,
    /// Height of the balance point at its begin, m.
    pub height_m: f64,
}

/// A take-off run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rolling {
    /// Direction, from north clockwise, rad.
    pub heading_rad: f64,
    /// Pitch attitude as it stands, rad.
    pub pitch_rad: f64,
}

/// Why such a launch is not computed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoLaunch {
    /// A number of the device cannot be: which, its value, and the range it must lie in.
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
    /// It is to roll, and touches the ground nowhere.
    NoWheels,
}

impl std::fmt::Display for NoLaunch {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Number { what, value, least, most } => {
                write!(f, "{what} of {value} cannot be computed: it must lie between {least} and {most}")
            }
            Self::NoWheels => write!(f, "it is to roll, but no point of it touches the ground"),
        }
    }
}

impl Device {
    /// The state at its begin: at release of a throw; held, or standing, for the others.
    ///
    /// # Errors
    /// When a number of the device cannot be that of a model aircraft's launch.
    pub fn begin(&self, ground: &Ground) -> Result<State, NoLaunch> {
        let state = |attitude, velocity_ned: Vec3, rates: [f64; 3], height_m: f64| State {
            position_ned_m: Vec3::new(0.0, 0.0, -height_m),
            velocity_body_m_s: numerics::Rotation::inverse_transform_vector(&attitude, &velocity_ned),
            ned_from_body: attitude,
            rates_body_rad_s: rates.into(),
            ..State::at_rest()
        };
        match self {
            Self::Hand(throw) => {
                throw.check()?;
                let path = frames::ned_from_body(0.0, throw.elevation_rad, throw.heading_rad);
                let attitude = frames::ned_from_body(
                    throw.bank_rad,
                    throw.elevation_rad + throw.nose_up_rad,
                    throw.heading_rad + throw.nose_right_rad,
                );
                let velocity = path * Vec3::new(throw.speed_m_s, 0.0, 0.0);
                Ok(state(attitude, velocity, throw.rates_rad_s, throw.height_m))
            }
            Self::Bungee(cord) => {
                cord.check()?;
                let attitude = frames::ned_from_body(cord.bank_rad, cord.pitch_rad, cord.heading_rad);
                Ok(state(attitude, Vec3::zeros(), [0.0; 3], cord.height_m))
            }
            Self::Rail(rail) => {
                rail.check()?;
                let attitude = frames::ned_from_body(rail.bank_rad, rail.elevation_rad, rail.heading_rad);
                Ok(state(attitude, Vec3::zeros(), [0.0; 3], rail.height_m))
            }
            Self::Rolling(run) => {
                within("heading", run.heading_rad, -100.0, 100.0)?;
                within("pitch attitude on the ground, rad,", run.pitch_rad, -0.5, 0.5)?;
                let attitude = frames::ned_from_body(0.0, run.pitch_rad, run.heading_rad);
                let height_m = ground.standing_height_m(&attitude);
                if height_m > 0.0 {
                    Ok(state(attitude, Vec3::zeros(), [0.0; 3], height_m))
                } else {
                    Err(NoLaunch::NoWheels)
                }
            }
            Self::Flying(state) => {
                within("airspeed, m/s,", state.velocity_body_m_s.norm(), 0.0, FASTEST_M_S)?;
                within("turning rate, rad/s,", state.rates_body_rad_s.norm(), 0.0, FASTEST_RAD_S)?;
                within("height, m,", state.height_m(), -100.0, 10_000.0)?;
                Ok(*state)
            }
        }
    }
}

/// Largest speed at a begin that is computed, m/s.
const FASTEST_M_S: f64 = 100.0;
/// Largest turning rate at a begin that is computed, rad/s.
const FASTEST_RAD_S: f64 = 60.0;

fn within(what: &'static str, value: f64, least: f64, most: f64) -> Result<(), NoLaunch> {
    if (least..=most).contains(&value) { Ok(()) } else { Err(NoLaunch::Number { what, value, least, most }) }
}

impl Throw {
    fn check(&self) -> Result<(), NoLaunch> {
        // A thrown cricket ball, a tenth of a model's mass, leaves a trained hand at 37 m/s (Hill, cited in the tests).
        within("speed of the throw, m/s,", self.speed_m_s, 0.0, 40.0)?;
        within("elevation of the throw, rad,", self.elevation_rad, -1.6, 1.6)?;
        within("heading of the throw, rad,", self.heading_rad, -100.0, 100.0)?;
        within("bank of the throw, rad,", self.bank_rad, -3.2, 3.2)?;
        within("nose above the path, rad,", self.nose_up_rad, -1.6, 1.6)?;
        within("nose right of the path, rad,", self.nose_right_rad, -1.6, 1.6)?;
        for rate in self.rates_rad_s {
            within("turning rate of the throw, rad/s,", rate, -FASTEST_RAD_S, FASTEST_RAD_S)?;
        }
        within("height of the hand, m,", self.height_m, 0.0, 1000.0)
    }
}

impl Bungee {
    fn check(&self) -> Result<(), NoLaunch> {
        within("length of the cord, m,", self.slack_m, 0.1, 500.0)?;
        within("stretch of the cord, m,", self.stretch_m, 0.0, 500.0)?;
        within("stiffness of the cord, N/m,", self.stiffness_n_m, 0.0, 10_000.0)?;
        within("work given back by the cord", self.returned, 0.0, 1.0)?;
        within("distance of the hook, m,", self.hook_body_m.norm(), 0.0, 5.0)?;
        within("heading", self.heading_rad, -100.0, 100.0)?;
        within("pitch attitude, rad,", self.pitch_rad, -1.6, 1.6)?;
        within("bank, rad,", self.bank_rad, -3.2, 3.2)?;
        within("height, m,", self.height_m, 0.0, 1000.0)?;
        within("angle at which the line slips off, rad,", self.slips_off_rad, 0.1, 3.1)
    }

    /// Where the peg is, north-east-down, m.
    #[must_use]
    pub fn peg_ned_m(&self) -> Vec3 {
        // On the ground, so far ahead that the line from the hook is drawn out as told.
        let hook = frames::ned_from_body(self.bank_rad, self.pitch_rad, self.heading_rad) * self.hook_body_m
            + Vec3::new(0.0, 0.0, -self.height_m);
        let long = self.slack_m + self.stretch_m;
        let ahead = (long * long - hook.z * hook.z).max(0.0).sqrt();
        Vec3::new(hook.x + ahead * self.heading_rad.cos(), hook.y + ahead * self.heading_rad.sin(), 0.0)
    }
}

impl Rail {
    fn check(&self) -> Result<(), NoLaunch> {
        within("length of the rail, m,", self.length_m, 0.05, 50.0)?;
        within("force of the rail, N,", self.force_begin_n, 0.0, 10_000.0)?;
        within("force of the rail at its end, N,", self.force_end_n, 0.0, 10_000.0)?;
        within("mass of the carriage, kg,", self.carriage_kg, 0.0, 100.0)?;
        within("elevation of the rail, rad,", self.elevation_rad, -0.5, 1.5)?;
        within("bank on the rail, rad,", self.bank_rad, -1.0, 1.0)?;
        within("heading", self.heading_rad, -100.0, 100.0)?;
        within("height, m,", self.height_m, 0.0, 1000.0)
    }
}
