//! What did a flight teach? One finding: which parameter, how much, how sure, from which seconds.

/// An interval of a recording, s on the recording's own clock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Window {
    /// Begin, s.
    pub from_s: f64,
    /// End, s.
    pub to_s: f64,
}

/// A change to the aircraft that a finding asks for, in the file's own terms.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// Where in the aircraft file, as a path: `controller.mounting_pitch_deg`, `movable.aileron.servo.centre_us`.
    pub path: String,
    /// Value now, if the file has one.
    pub from: Option<f64>,
    /// Value asked for.
    pub to: f64,
    /// One standard deviation of `to`.
    pub sd: f64,
    /// Unit, as people read it ("deg", "us").
    pub unit: String,
    /// Why, in a sentence with numbers.
    pub why: String,
    /// Why the change is held back, if it is.
    pub held_back: Option<String>,
}

/// A finding: an estimate with its doubt, what it rests on, and whether that suffices.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// What it is an estimate of, as a JSON path of the findings document (`level_attitude.correction_deg`).
    pub parameter: String,
    /// The estimate, in the unit that ends its name.
    pub value: f64,
    /// One standard deviation.
    pub sd: f64,
    /// The seconds of the recording it rests on.
    pub evidence: Vec<Window>,
    /// Whether the flight excited enough to rely on it.
    pub enough: bool,
    /// Why it is or is not enough, and what more to fly.
    pub verdict: String,
}
