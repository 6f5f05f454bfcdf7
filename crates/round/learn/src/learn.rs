//! What did the flight teach? Every question put to one recording.

use std::borrow::Cow;

use aircraft::Aircraft;
use aircraft::finding::Change;
use aircraft::limits::Flown;
use fly::phases::Phase;
use fly::recording::{Quantity, Recording};
use fly::sense::Contradicted;
use numerics::units::RAD_PER_DEG;
use predict::prediction::Prediction;

use crate::air::density;
use crate::answers::{Answer, Told};
use crate::battery::battery;
use crate::blocks::Blocks;
use crate::changes::settled;
use crate::endurance::endurance;
use crate::factors::factors;
use crate::findings::{Findings, Learnt, NotLearnt};
use crate::flight::Flight;
use crate::handling::{Beside, Handling, handling};
use crate::landing::landing;
use crate::level_attitude::level_attitude;
use crate::limits::beyond_limits;
use crate::loads::loads;
use crate::polar::polar;
use crate::power::power;
use crate::stall::stall;
use crate::straight::straight;
use crate::through_air::airspeed_of_blocks;
use crate::trims::trims;
use crate::wind::{Detail, in_detail, over_height, sensor};

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
    /// The factors that the file had when the flight was flown, where that is known. A factor that has changed since holds
    /// this flight already, or a later one: it is not weighed in a second time.
    pub factors_as_flown: Option<aircraft::limits::Flown>,
}

/// A level reading better known than this tells how the controller sits, deg.
const KNOWN_LEVEL_DEG: f64 = 1.0;

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
            answers: Vec::new(),
            handling: Handling::none(&nothing()),
            changes: Vec::new(),
            remarks,
        };
    };
    remarks.extend(beyond_limits(aircraft, &blocks));
    let (wind, detail) = match in_detail(&blocks, &phases) {
        Ok((wind, detail)) => (Ok(wind), Some(detail)),
        Err(why) => (Err(why), None),
    };
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
    let (handling, asked) = handling(
        aircraft,
        recording,
        &fly::inputs::find(recording),
        &phases,
        &Beside {
            model: prediction.map(|p| (&p.model, p.density_kg_m3)),
            cruise_m_s: prediction.map(|p| p.speeds.cruise_m_s.value),
            wind: wind.as_ref().ok(),
            level: level_attitude
                .as_ref()
                .ok()
                .filter(|l| l.reading_deg.sd < KNOWN_LEVEL_DEG)
                .map(|l| [l.reading_deg.value * RAD_PER_DEG, l.airspeed_m_s]),
        },
    );
    changes.extend(asked);
    let flight = Flight {
        aircraft,
        prediction,
        recording,
        blocks: &blocks,
        phases: &phases,
        wind: wind.as_ref().ok(),
        straight: &straight,
        airspeed_m_s: airspeed_of_blocks(&blocks, wind.as_ref().ok()),
        density: density(&blocks),
    };
    let (answers, asked) = answers(&flight, detail.as_ref(), &handling, known.factors_as_flown.as_ref());
    changes.extend(asked);
    let answers = answers
        .into_iter()
        .map(|a| Answer { told: reasoned(a.told, &contradicted, &ATTITUDE), ..a })
        .collect();
    Findings {
        answers,
        handling,
        changes: settled(changes),
        wind: reasoned(wind, &contradicted, &GROUND),
        level_attitude: reasoned(level_attitude, &contradicted, &ATTITUDE),
        trims: reasoned(trims, &contradicted, &ATTITUDE),
        phases,
        remarks,
    }
}

/// The further questions, in the order in which they are told, and the changes that they ask for.
fn answers(
    flight: &Flight<'_>,
    detail: Option<&Detail>,
    handling: &Handling,
    as_flown: Option<&Flown>,
) -> (Vec<Answer>, Vec<Change>) {
    let mut changes = Vec::new();
    let mut answers = Vec::new();
    let mut tell = |key, title, told: Learnt<Told>| answers.push(Answer { key, title, told });
    if let (Some(wind), Some(detail)) = (flight.wind, detail) {
        tell("wind_over_height", "Wind over height", over_height(wind, detail));
        tell("airspeed_sensor", "Airspeed sensor", sensor(wind, detail, flight.phases));
    }
    let stalled = stall(flight).map(|(told, change)| {
        changes.extend(change);
        told
    });
    tell("stall", "Stall", stalled);
    let (glided, glide) = apart(polar(flight));
    tell("polar", "Glide", glided);
    let (powered, level) = apart(power(flight));
    tell("power", "Power of level flight", powered);
    tell("endurance", "Endurance and range", endurance(flight, level.as_ref()));
    let packed = battery(flight).map(|(told, change)| {
        changes.extend(change);
        told
    });
    tell("battery", "Battery", packed);
    tell("loads", "Loads", loads(flight));
    tell("landing", "Landing", landing(flight));
    let factored = factors(flight, glide.as_ref(), handling, as_flown).map(|(told, asked)| {
        changes.extend(asked);
        told
    });
    tell("factors", "Factors on the prediction", factored);
    (answers, changes)
}

/// What is told, and what later questions go on from.
fn apart<T>(found: Learnt<(Told, T)>) -> (Learnt<Told>, Option<T>) {
    match found {
        Ok((told, more)) => (Ok(told), Some(more)),
        Err(why) => (Err(why), None),
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
