//! What pulls it along? Propeller, motor, speed controller, pack, and what the bench said.

use numerics::Vec3;

use crate::known::Known;

/// The drive: one or more equal motors on one pack.
#[derive(Debug, Clone, PartialEq)]
pub struct Drive {
    /// Propeller, the same on each motor.
    pub propeller: Propeller,
    /// Motor, the same for each.
    pub motor: Motor,
    /// Resistance of the speed controller, ohm.
    pub speed_controller_ohm: f64,
    /// Largest current of the speed controller, A, if stated.
    pub speed_controller_limit_a: Option<f64>,
    /// The pack.
    pub pack: Pack,
    /// Where each propeller is, builder's frame, m; one entry a motor.
    pub hubs_m: Vec<Vec3>,
    /// Thrust line: unit vector of the pull in the builder's frame (about -x).
    pub pull_direction: Vec3,
    /// Whether the propellers push (behind) instead of pull.
    pub pusher: bool,
    /// Time constant of the thrust after a throttle step, s.
    pub spool_up_s: f64,
    /// What was measured with the aircraft held on the bench.
    pub bench: Vec<Bench>,
}

/// A propeller.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Propeller {
    /// Diameter, m.
    pub diameter_m: f64,
    /// Pitch, m.
    pub pitch_m: f64,
    /// Number of blades.
    pub blades: u32,
    /// Kind of blade, if stated.
    pub class: Option<BladeClass>,
    /// Chord of a blade at 75 % of the radius as measured, m.
    pub blade_chord_m: Option<f64>,
}

impl Propeller {
    /// A propeller of which only what is printed on the hub is known.
    #[must_use]
    pub fn of_markings(diameter_m: f64, pitch_m: f64, blades: u32) -> Self {
        Self { diameter_m, pitch_m, blades, class: None, blade_chord_m: None }
    }
}

/// Kind of blade: what its outline, twist and section are like where nobody measured them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BladeClass {
    /// An ordinary molded propeller for electric motors, none of the others in particular.
    Sport,
    /// Thin and stiff, widest at half the radius, tapering to a narrow tip.
    Efficient,
    /// Thin and pliable, nearly as broad at the hub as in the middle, little twist towards the hub.
    Light,
    /// As broad near the tip as in the middle, square tip.
    Broad,
    /// Thick blade of wood or as for combustion engines, nearly parallel, rounded tip.
    Wood,
    /// Broad in the outer half, thin and strongly cambered, low pitch: meant to turn slowly.
    SlowFly,
}

impl BladeClass {
    /// All of them.
    pub const ALL: [Self; 6] =
        [Self::Sport, Self::Efficient, Self::Light, Self::Broad, Self::Wood, Self::SlowFly];

    /// The word used in files and shown to people.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Sport => "sport",
            Self::Efficient => "efficient",
            Self::Light => "light",
            Self::Broad => "broad",
            Self::Wood => "wood",
            Self::SlowFly => "slow-fly",
        }
    }
}

/// A motor by its first-order constants.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Motor {
    /// Speed per volt, rpm/V.
    pub kv_rpm_v: f64,
    /// Winding resistance, ohm.
    pub resistance_ohm: f64,
    /// Current without load, A.
    pub no_load_a: f64,
    /// Largest current, A, if stated.
    pub limit_a: Option<f64>,
}

/// A battery pack.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pack {
    /// Cells in series.
    pub cells: u32,
    /// Capacity, ampere-hours.
    pub capacity_ah: f64,
    /// Resistance of the whole pack, ohm.
    pub resistance_ohm: Known,
    /// Largest continuous current, A, if stated.
    pub limit_a: Option<f64>,
}

/// One bench measurement, with the propeller of the file.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bench {
    /// Throttle, 0 to 1.
    pub throttle: f64,
    /// Voltage at the pack under load, V.
    pub volts: Option<Known>,
    /// Current of the pack, A.
    pub amps: Option<Known>,
    /// Propeller speed, rpm.
    pub rpm: Option<Known>,
    /// Static pull of all motors together, N.
    pub pull_n: Option<Known>,
}
