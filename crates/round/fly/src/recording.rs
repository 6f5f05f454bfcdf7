//! What did the controller log? A recording: channels of known quantity in SI units, and its flaws.

use std::sync::Arc;

/// A quantity that a channel can carry, in SI units and the frames and signs of `numerics::frames`.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Quantity {
    /// Roll angle, right wing down positive, rad.
    Roll,
    /// Pitch angle, nose up positive, rad.
    Pitch,
    /// Heading of the nose from true north, clockwise, rad.
    Yaw,
    /// Roll rate p, rad/s.
    RollRate,
    /// Pitch rate q, rad/s.
    PitchRate,
    /// Yaw rate r, rad/s.
    YawRate,
    /// Specific force along body x (forward), m/s².
    ForceX,
    /// Specific force along body y (right), m/s².
    ForceY,
    /// Specific force along body z (down), m/s²; about -9.8 in level flight.
    ForceZ,
    /// Latitude, degrees north (degrees are kept: differences are taken in metres).
    Latitude,
    /// Longitude, degrees east.
    Longitude,
    /// Height above sea level or the ellipsoid, m.
    Altitude,
    /// Height above the launch point, m.
    Height,
    /// Velocity over ground towards north, m/s.
    VelocityNorth,
    /// Velocity over ground towards east, m/s.
    VelocityEast,
    /// Velocity downward, m/s.
    VelocityDown,
    /// Speed over ground, m/s.
    GroundSpeed,
    /// Course over ground from true north, clockwise, rad.
    Course,
    /// Airspeed as the sensor tells it, m/s.
    Airspeed,
    /// Static pressure, Pa.
    StaticPressure,
    /// Air temperature, K.
    Temperature,
    /// Roll demand of the stick, -1 to 1, right wing down positive.
    StickRoll,
    /// Pitch demand of the stick, -1 to 1, nose up positive.
    StickPitch,
    /// Yaw demand of the stick, -1 to 1, nose right positive.
    StickYaw,
    /// Throttle, 0 to 1.
    Throttle,
    /// Pulse to the servo of this channel name, µs (microseconds are kept: they are what is set).
    Servo(String),
    /// Pack voltage, V.
    Volts,
    /// Pack current, A.
    Amps,
    /// Charge used, ampere-hours.
    ChargeUsed,
    /// Propeller speed, rpm.
    Rpm,
    /// How the stick acts: 0 direct, 1 rate, 2 level.
    Acts,
    /// Number of satellites.
    Satellites,
}

/// One channel: values of one quantity at their own times. Missing values are not-a-number.
#[derive(Debug, Clone, PartialEq)]
pub struct Channel {
    /// What it carries.
    pub quantity: Quantity,
    /// Name of the column it came from.
    pub source: String,
    /// Times, s from the begin of the recording, growing; shared by the channels of one file.
    pub time_s: Arc<Vec<f64>>,
    /// Values, one a time.
    pub values: Vec<f64>,
}

/// Something that is wrong with a recording but does not stop its being read.
#[derive(Debug, Clone, PartialEq)]
pub struct Flaw {
    /// Which kind.
    pub kind: FlawKind,
    /// Where: row of the file (1 is its first line), time or column, as said in words.
    pub place: String,
    /// What is wrong, with numbers, and what was done about it.
    pub what: String,
}

/// Kinds of flaws.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum FlawKind {
    /// Rows that could not be read as the others are.
    BadRow,
    /// The last line ends in the middle.
    Truncated,
    /// A hole in time.
    Gap,
    /// Time went back or stood still.
    TimeReset,
    /// A channel never changes.
    Stuck,
    /// A channel rests at the end of its range.
    Clipped,
    /// A channel jumps further than it can.
    Jump,
    /// A channel holds no number at all.
    Empty,
    /// A unit or sign that the data contradicts.
    Unit,
    /// Vibration that drowns what a sensor should tell.
    Vibration,
    /// How clocks of several files, or of one, were brought together.
    Clock,
    /// Text in an encoding that had to be converted first.
    Encoding,
}

/// A recording.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Recording {
    /// Channels, at most one of each quantity.
    pub channels: Vec<Channel>,
    /// What is wrong with it.
    pub flaws: Vec<Flaw>,
    /// Rows of data read.
    pub rows: usize,
    /// Columns of the file that no channel was made of.
    pub unused_columns: Vec<String>,
    /// What the file's own clock showed at time zero, s: joins several files of one flight that share a clock.
    pub clock_start_s: f64,
}

impl Recording {
    /// The channel of a quantity.
    #[must_use]
    pub fn channel(&self, quantity: &Quantity) -> Option<&Channel> {
        self.channels.iter().find(|c| c.quantity == *quantity)
    }

    /// First and last time of all channels, s.
    #[must_use]
    pub fn span_s(&self) -> Option<(f64, f64)> {
        let first = self.channels.iter().filter_map(|c| c.time_s.first()).copied().reduce(f64::min)?;
        let last = self.channels.iter().filter_map(|c| c.time_s.last()).copied().reduce(f64::max)?;
        Some((first, last))
    }
}
