//! What did the flight teach? Every question put to one recording.

use std::borrow::Cow;

use aircraft::Aircraft;
use fly::phases::Phase;
use fly::recording::{Quantity, Recording};
use fly::sense::Contradicted;
use predict::prediction::Prediction;

use crate::blocks::Blocks;
use crate::findings::{Findings, Learnt, NotLearnt};
use crate::level_attitude::level_attitude;
use crate::limits::beyond_limits;
use crate::straight::straight;
use crate::trims::trims;
use crate::wind::wind;

/// What is known beside the recording and the aircraft file.
#[derive(Debug, Clone, Default)]
pub struct LearnFrom<'a> {
    /// The prediction: reference speed and first guesses. Without it the file's cruise speed or the flight's own is
    /// taken.
    pub prediction: Option<&'a Prediction>,
    /// Phases of the flight, by whoever knows them better than the rules do.
    pub phases: Option<Vec<Phase>>,
    /// Mounting angle in pitch that was set in the controller when the flight was flown, rad. What was read as level
    /// attitude counts from it. Where the file has been changed since, leaving it out would ask for the same correction
    /// a second time.
    pub set_mounting_pitch_rad: Option<f64>,
}

/// All findings of a recording that was flown with the aircraft as the file has it, and the changes of the file that
/// they ask for.
#[must_use]
pub fn learn(aircraft: &Aircraft, prediction: Option<&Prediction>, recording: &Recording) -> Findings {
    learn_from(aircraft, recording, LearnFrom { prediction, ..LearnFrom::default() })
}

/// The same with the phases of the flight given.
#[must_use]
pub fn learn_in_phases(
    aircraft: &Aircraft,
    prediction: Option<&Prediction>,
    recording: &Recording,
    phases: Vec<Phase>,
) -> Findings {
    learn_from(aircraft, recording, LearnFrom { prediction, phases: Some(phases), ..LearnFrom::default() })
}

/// All findings of a recording with all that is known beside it. Channels that others of the recording contradict are
/// left aside and told in the remarks; what cannot be answered without them is not learnt, with that as the reason.
#[must_use]
pub fn learn_from(aircraft: &Aircraft, recording: &Recording, known: LearnFrom<'_>) -> Findings {
    let contradicted = fly::sense::contradicted(recording);
    let recording = &*without(recording, &contradicted);
    let prediction = known.prediction;
    let phases = known.phases.unwrap_or_else(|| fly::phases::find(recording));
    let mut remarks: Vec<String> = contradicted
        .iter()
        .map(|c| format!("Left aside: {}, as the recording contradicts it. {}", c.flaw.place, c.flaw.what))
        .collect();
    let Some(blocks) = Blocks::of(recording) else {
        let nothing = || NotLearnt::MissingChannel {
            what: "anything that changes with time: the recording holds no span of time".into(),
        };
        return Findings {
            phases,
            wind: Err(nothing()),
            level_attitude: Err(nothing()),
            trims: Err(nothing()),
            changes: Vec::new(),
            remarks,
        };
    };
    remarks.extend(beyond_limits(aircraft, &blocks));
    let wind = wind(&blocks, &phases);
    let straight = straight(&blocks, &phases, wind.as_ref().ok());
    let mut changes = Vec::new();
    let set = known.set_mounting_pitch_rad.unwrap_or(aircraft.controller.mounting_pitch_rad.value);
    let level_attitude =
        level_attitude(aircraft, prediction, &blocks, &straight, set).map(|(found, change)| {
            changes.extend(change);
            found
        });
    let trims = trims(aircraft, prediction, recording, &blocks, &straight).map(|(found, asked)| {
        changes.extend(asked);
        found
    });
    Findings {
        wind: reasoned(wind, &contradicted, &GROUND),
        level_attitude: reasoned(level_attitude, &contradicted, &ATTITUDE),
        trims: reasoned(trims, &contradicted, &ATTITUDE),
        phases,
        changes,
        remarks,
    }
}

/// What the wind rests on.
const GROUND: [Quantity; 8] = [
    Quantity::VelocityNorth,
    Quantity::VelocityEast,
    Quantity::GroundSpeed,
    Quantity::Course,
    Quantity::Latitude,
    Quantity::Longitude,
    Quantity::Airspeed,
    Quantity::Yaw,
];

/// What level attitude and trims rest on, beside what the wind does.
const ATTITUDE: [Quantity; 14] = [
    Quantity::VelocityNorth,
    Quantity::VelocityEast,
    Quantity::GroundSpeed,
    Quantity::Course,
    Quantity::Latitude,
    Quantity::Longitude,
    Quantity::Airspeed,
    Quantity::Yaw,
    Quantity::Pitch,
    Quantity::Roll,
    Quantity::VelocityDown,
    Quantity::Height,
    Quantity::Altitude,
    Quantity::ForceZ,
];

/// The recording without the channels that it contradicts itself.
fn without<'a>(recording: &'a Recording, contradicted: &[Contradicted]) -> Cow<'a, Recording> {
    if contradicted.is_empty() {
        return Cow::Borrowed(recording);
    }
    let blamed = |q: &Quantity| contradicted.iter().any(|c| c.channels.contains(q));
    Cow::Owned(Recording {
        channels: recording.channels.iter().filter(|c| !blamed(&c.quantity)).cloned().collect(),
        flaws: Vec::new(),
        rows: recording.rows,
        unused_columns: Vec::new(),
        clock_start_s: recording.clock_start_s,
    })
}

/// Why a question was not answered, when that is for channels left aside.
fn reasoned<T>(learnt: Learnt<T>, contradicted: &[Contradicted], needed: &[Quantity]) -> Learnt<T> {
    let reasons: Vec<String> = contradicted
        .iter()
        .filter(|c| c.channels.iter().any(|q| needed.contains(q)))
        .map(|c| format!("{}: {}", c.flaw.place, c.flaw.what))
        .collect();
    learnt.map_err(|why| {
        if reasons.is_empty() {
            return why;
        }
        let lacking = match why {
            NotLearnt::MissingChannel { what } => format!("without it the recording lacks {what}"),
            NotLearnt::NotExcited { why } => why,
        };
        NotLearnt::NotExcited {
            why: format!(
                "the recording contradicts what this rests on ({}), so that it is left aside; {lacking}. Mend the \
                 column map and learn again",
                reasons.join("; ")
            ),
        }
    })
}
