//! What is predicted of an aircraft? Every number with its standard deviation and origin; nothing is left out
//! silently: a prediction that could not be made carries the reason.

use aircraft::Known;
use aircraft::mass::Balance;
use motion::model::ForceModel;

use crate::drive::envelope::EnvelopeRow;
use crate::drive::home::Home;
use crate::drive::limits::Load;
use crate::drive::pack::Drawn;
use crate::drive::slipstream::Slipstream;

use crate::authority::Authority;
use crate::balance_range::BalanceLimit;
use crate::doubts::DoubtOf;
use crate::motions::Motions;
use crate::stalling::Stalling;

/// A value, or why there is none.
pub type Outcome<T> = Result<T, NotPredicted>;

/// Why a prediction could not be made.
#[derive(Debug, Clone, PartialEq)]
pub enum NotPredicted {
    /// The aircraft file does not say what is needed.
    Missing {
        /// What to add to the file, in the file's terms.
        what: String,
    },
    /// There is no such state (no trim inside the throws, no speed at which the drive suffices).
    NoSolution {
        /// What was sought and what stands against it, with numbers.
        why: String,
    },
}

/// All predictions.
#[derive(Debug, Clone, PartialEq)]
pub struct Prediction {
    /// Air density that speeds hold for, kg/m³.
    pub density_kg_m3: f64,
    /// Mass, balance point, inertia.
    pub balance: Balance,
    /// Derived geometry.
    pub geometry: Geometry,
    /// Stability about the balance point.
    pub stability: Stability,
    /// Lift.
    pub lift: Lift,
    /// Speeds in level flight at this mass and density.
    pub speeds: Speeds,
    /// Drag and glide.
    pub polar: Polar,
    /// Lift through the stall with computed sections, or why it was predicted without them.
    pub stalling: Outcome<Stalling>,
    /// Limits of the balance point, each with its doubt.
    pub balance_limits: Vec<BalanceLimit>,
    /// Control authority at the cruise speed.
    pub control: Control,
    /// Throws, what they do, and throws to begin with.
    pub authority: Authority,
    /// Drive.
    pub drive: Outcome<DrivePrediction>,
    /// Natural motions at the cruise speed.
    pub modes: Vec<Mode>,
    /// The same for three balance points, with power and in the glide.
    pub motions: Vec<Motions>,
    /// First gains for [roll, pitch, yaw] at the cruise speed.
    pub gains: [Outcome<aircraft::controller::Gains>; 3],
    /// The same numbers as the equations of motion take them (derivatives inside).
    pub model: ForceModel,
    /// For each number that matters, the two inputs that its doubt comes from most.
    pub doubts: Vec<DoubtOf>,
    /// What forbids a flight as described, the gravest first.
    pub against: Vec<String>,
    /// What is not sure enough or leaves little to spare.
    pub cautions: Vec<String>,
    /// Lattice panels used.
    pub panels: usize,
    /// What the reader must know of these numbers: factors adopted from flights, corrections by bench measurements,
    /// mismatches, sections by thin-section theory.
    pub remarks: Vec<String>,
}

/// Derived geometry, SI, builder's frame.
#[derive(Debug, Clone, PartialEq)]
pub struct Geometry {
    /// Wing reference area (projected on the x-y plane), m².
    pub wing_area_m2: f64,
    /// Mean aerodynamic chord, m.
    pub mean_chord_m: f64,
    /// Leading edge of the mean aerodynamic chord, m.
    pub mean_chord_x_m: f64,
    /// Wing span (projected), m.
    pub span_m: f64,
    /// Wing aspect ratio.
    pub aspect_ratio: f64,
    /// Wing loading, kg/m².
    pub wing_loading_kg_m2: f64,
}

/// Stability about the balance point.
#[derive(Debug, Clone, PartialEq)]
pub struct Stability {
    /// Neutral point, controls fixed, power off, builder's frame, m.
    pub neutral_point_x_m: Known,
    /// Static margin, per cent of the mean chord.
    pub static_margin_percent: Known,
    /// Balance range [forward, aft] along x from the datum, m: forward by elevator authority at stall, aft by the
    /// least static margin.
    pub range_x_m: Outcome<[f64; 2]>,
    /// Range for a first flight [forward, aft], m.
    pub first_flight_range_x_m: Outcome<[f64; 2]>,
}

/// Lift.
#[derive(Debug, Clone, PartialEq)]
pub struct Lift {
    /// Slope of the lift coefficient, per rad.
    pub slope_per_rad: Known,
    /// Largest lift coefficient.
    pub cl_max: Known,
    /// Angle of attack of the reference line at zero lift, rad.
    pub zero_lift_alpha_rad: f64,
}

/// Speeds, true airspeed, m/s.
#[derive(Debug, Clone, PartialEq)]
pub struct Speeds {
    /// Stall, wings level.
    pub stall_m_s: Known,
    /// Stall in banks of 30, 45 and 60 degrees, height held.
    pub stall_banked_m_s: [f64; 3],
    /// Least sink.
    pub least_sink_m_s: Known,
    /// Best glide.
    pub best_glide_m_s: Known,
    /// Cruise: stated in the file, or 1.5 times stall.
    pub cruise_m_s: Known,
    /// Fastest level flight that the drive can hold.
    pub top_m_s: Outcome<Known>,
    /// Pitch attitude of the reference line in level flight at cruise, rad.
    pub cruise_pitch_rad: Known,
    /// Elevator to trim at cruise, rad (trailing edge down positive).
    pub cruise_elevator_rad: Outcome<Known>,
}

/// Drag and glide.
#[derive(Debug, Clone, PartialEq)]
pub struct Polar {
    /// Span efficiency of the lattice (Trefftz plane).
    pub span_efficiency: f64,
    /// Best lift-to-drag ratio.
    pub best_glide_ratio: Known,
    /// Least sink, m/s.
    pub least_sink_m_s: Known,
    /// Rows (airspeed m/s, lift coefficient, drag coefficient, sink m/s, elevator rad) from stall to top speed.
    pub rows: Vec<[f64; 5]>,
}

/// Control authority at cruise.
#[derive(Debug, Clone, PartialEq)]
pub struct Control {
    /// Steady roll rate at full aileron, rad/s.
    pub roll_rate_rad_s: Outcome<Known>,
    /// The same as p b/2V.
    pub roll_helix: Outcome<f64>,
    /// Time to bank 45 degrees from level, s.
    pub time_to_bank_45_s: Outcome<f64>,
    /// Steady roll rate per degree of aileron, 1/s (rad/s per rad).
    pub roll_rate_per_rad_s: Outcome<f64>,
    /// Time constant of the roll mode, s.
    pub roll_time_constant_s: Outcome<f64>,
    /// Steady pitch rate per rad of elevator (trailing edge up), 1/s.
    pub pitch_rate_per_rad_s: Outcome<f64>,
    /// Elevator left beyond trim at the stall, rad (up).
    pub elevator_left_at_stall_rad: Outcome<f64>,
    /// Axis throws [roll, pitch, yaw], rad.
    pub throws_rad: [Option<f64>; 3],
}

/// Drive.
#[derive(Debug, Clone, PartialEq)]
pub struct DrivePrediction {
    /// Static thrust at full throttle, N.
    pub static_thrust_n: Known,
    /// Pack current there, A.
    pub static_current_a: Known,
    /// Propeller speed there, rpm.
    pub static_rpm: Known,
    /// Static thrust over weight.
    pub thrust_to_weight: Known,
    /// Pack current in level flight at cruise, A.
    pub cruise_current_a: Outcome<Known>,
    /// Throttle in level flight at cruise, 0 to 1.
    pub cruise_throttle: Outcome<f64>,
    /// Level flight at cruise down to the reserve, s.
    pub endurance_s: Outcome<Known>,
    /// Still-air distance at cruise down to the reserve, m.
    pub range_m: Outcome<Known>,
    /// Best climb rate at full throttle, m/s.
    pub climb_m_s: Outcome<Known>,
    /// Steepest climb at full throttle, no slower than 1.1 times stall, rad.
    pub climb_rad: Outcome<Known>,
    /// Pack voltage at full throttle standing still, V.
    pub static_voltage_v: f64,
    /// Currents at full throttle with a full pack against every limit that the file states.
    pub loads: Vec<Load>,
    /// Throttle and current of level flight and the climb at full throttle, from stall to top speed.
    pub envelope: Outcome<Vec<EnvelopeRow>>,
    /// The pack in level flight at cruise from full to the reserve.
    pub discharge: Outcome<Vec<Drawn>>,
    /// The flight home after a lost radio link.
    pub home: Outcome<Home>,
    /// The slipstream on the tail and the neutral point with power.
    pub slipstream: Outcome<Slipstream>,
}

/// A natural motion.
#[derive(Debug, Clone, PartialEq)]
pub struct Mode {
    /// "short period", "phugoid", "roll", "Dutch roll", "spiral"; the slower root of one that has split into two ends in
    /// ", slow part".
    pub name: &'static str,
    /// Undamped frequency, rad/s; absent for a motion that does not swing.
    pub frequency_rad_s: Option<f64>,
    /// Damping ratio; absent for a motion that does not swing.
    pub damping: Option<f64>,
    /// Time constant, s: time to fall to 37 % (negative: to grow by e).
    pub time_constant_s: f64,
    /// What the pilot will see, in a sentence.
    pub sentence: String,
}
