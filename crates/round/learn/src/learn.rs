//! What did the flight teach? Every question put to one recording.

use aircraft::Aircraft;
use fly::phases::Phase;
use fly::recording::Recording;
use predict::prediction::Prediction;

use crate::blocks::Blocks;
use crate::findings::{Findings, NotLearnt};
use crate::level_attitude::level_attitude;
use crate::straight::straight;
use crate::trims::trims;
use crate::wind::wind;

/// All findings of a recording, and the changes of the aircraft file that they ask for. The prediction, where there is
/// one, gives the reference speed and first guesses; without it the file's cruise speed or the flight's own is taken.
#[must_use]
pub fn learn(aircraft: &Aircraft, prediction: Option<&Prediction>, recording: &Recording) -> Findings {
    learn_in_phases(aircraft, prediction, recording, fly::phases::find(recording))
}

/// The same with the phases of the flight given by whoever knows them better than the rules do.
#[must_use]
pub fn learn_in_phases(
    aircraft: &Aircraft,
    prediction: Option<&Prediction>,
    recording: &Recording,
    phases: Vec<Phase>,
) -> Findings {
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
        };
    };
    let wind = wind(&blocks, &phases);
    let straight = straight(&blocks, &phases, wind.as_ref().ok());
    let mut changes = Vec::new();
    let level_attitude = level_attitude(aircraft, prediction, &blocks, &straight).map(|(found, change)| {
        changes.extend(change);
        found
    });
    let trims = trims(aircraft, prediction, &blocks, &straight).map(|(found, asked)| {
        changes.extend(asked);
        found
    });
    Findings { phases, wind, level_attitude, trims, changes }
}
