//! What did a recording teach of an aircraft? All findings of one flight, with evidence and the changes they ask for.

use aircraft::finding::{Change, Finding, Window};
use fly::phases::Phase;

use crate::answers::Answer;
use crate::handling::Handling;

/// A finding, or why there is none.
pub type Learnt<T> = Result<T, NotLearnt>;

/// Why a question could not be answered from a recording.
#[derive(Debug, Clone, PartialEq)]
pub enum NotLearnt {
    /// The recording lacks a channel.
    MissingChannel {
        /// Which, in words.
        what: String,
    },
    /// The flight did not excite enough, or what was recorded contradicts itself.
    NotExcited {
        /// What was found and what more to fly, with numbers.
        why: String,
    },
}

/// All findings of one recording.
#[derive(Debug, Clone, PartialEq)]
pub struct Findings {
    /// Phases of the flight.
    pub phases: Vec<Phase>,
    /// Wind.
    pub wind: Learnt<Wind>,
    /// Level attitude and the mounting correction.
    pub level_attitude: Learnt<LevelAttitude>,
    /// Trim capture, one a servo; empty with the reason where it could not be made.
    pub trims: Learnt<Vec<Trim>>,
    /// Every further question, with its answer or why there is none.
    pub answers: Vec<Answer>,
    /// How it handles: responses, gains, feel, derivatives, shaking, loops that swing.
    pub handling: Handling,
    /// What to change in the aircraft file.
    pub changes: Vec<Change>,
    /// What else stands out, in sentences: channels left aside because the recording contradicts them, and limits of
    /// the aircraft file that the flight went beyond.
    pub remarks: Vec<String>,
}

/// Wind found from a flight.
#[derive(Debug, Clone, PartialEq)]
pub struct Wind {
    /// Speed, m/s.
    pub speed_m_s: Finding,
    /// Direction it blows from, degrees true.
    pub from_deg: Finding,
    /// Mean airspeed that fits with it, m/s.
    pub airspeed_m_s: Finding,
    /// Factor by which true airspeed exceeds the sensor's, where there is one.
    pub airspeed_factor: Option<Finding>,
    /// Ground velocities used (north, east, m/s), for the plot.
    pub ground_velocity_m_s: Vec<[f64; 2]>,
    /// Wind velocity (north, east, m/s: where the air goes), for the plot.
    pub velocity_m_s: [f64; 2],
    /// Height that the wind holds at, in the recording's own height channel, m: the mean of the flight.
    pub height_m: Option<f64>,
    /// Change of the wind along its own direction with height, m/s per m, where the flight covers enough height.
    pub change_with_height_per_s: Option<Finding>,
    /// Standard deviation of one horizontal component of the gusts that the fit found, m/s.
    pub gust_m_s: f64,
    /// How long such a gust lasts: time constant that the fit found, s.
    pub gust_s: f64,
    /// The wind by a second way, from heading and airspeed, where both were recorded.
    pub triangle: Option<Triangle>,
}

/// Wind by the triangle of ground velocity, heading and airspeed: a second way to the same number.
#[derive(Debug, Clone, PartialEq)]
pub struct Triangle {
    /// Wind velocity (north, east, m/s: where the air goes).
    pub velocity_m_s: [f64; 2],
    /// One standard deviation of each component, m/s.
    pub sd_m_s: [f64; 2],
    /// Angle by which the air comes from right of the heading that was read, deg: compass error, mounting, mean slip.
    pub heading_error_deg: f64,
    /// Standard deviation of the heading about the direction of the air, deg: slip, gusts across, compass.
    pub heading_strays_deg: f64,
    /// Delay of the ground velocity behind heading and airspeed, s.
    pub delay_s: f64,
    /// Whether both ways agree, in a sentence with numbers.
    pub agreement: String,
}

/// Level attitude found from a flight.
#[derive(Debug, Clone, PartialEq)]
pub struct LevelAttitude {
    /// What the controller read as pitch in level flight at the reference speed, deg.
    pub reading_deg: Finding,
    /// Correction to the mounting angle in pitch, deg: to add to the file's.
    pub correction_deg: Finding,
    /// Reference airspeed, m/s.
    pub airspeed_m_s: f64,
    /// Windows used: mean pitch reading (deg), mean climb rate (m/s), mean airspeed (m/s), throttle; for the plot.
    pub points: Vec<[f64; 4]>,
}

/// Trim capture of one servo.
#[derive(Debug, Clone, PartialEq)]
pub struct Trim {
    /// Name of the movable and the side.
    pub surface: String,
    /// Servo channel.
    pub channel: String,
    /// Path of the servo in the aircraft file ("movable.aileron.servo").
    pub path: String,
    /// Mean pulse in straight unaccelerated flight less the file's centre, µs.
    pub us: Finding,
    /// The same at the surface, deg, trailing edge down positive.
    pub deg: Finding,
    /// The same at the trailing edge, mm along the chord of the arc, down positive.
    pub mm: Finding,
    /// The same in turns of the clevis, where horn and thread are known; never negative: whether the rod has to become
    /// longer or shorter depends on the side of the horn, which the aircraft file does not tell.
    pub clevis_turns: Option<f64>,
    /// Window means of the pulse, µs, for the plot.
    pub points_us: Vec<f64>,
    /// Windows used.
    pub evidence: Vec<Window>,
}
