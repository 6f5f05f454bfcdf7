//! What does a recording teach of an aircraft? Predicted, learnt and kept; and the same once more from what is kept.

use aircraft::Aircraft;
use aircraft::controller::Gains;
use fly::map::ColumnMap;
use fly::recording::Recording;
use hangar::Hangar;
use learn::LearnFrom;
use learn::findings::Findings;
use learn::handling::Handling;
use predict::prediction::{NotPredicted, Outcome, Prediction};
use predict::scale;

use crate::json::findings::why;
use crate::tasks::fetch::{self, Fetched};
use crate::tasks::forecast::{Air, forecast};
use crate::tasks::keep;
use crate::tell::{Kind, Trouble};

/// What a recording taught.
pub(crate) struct Taught {
    /// The aircraft that it was learnt with.
    pub(crate) aircraft: Aircraft,
    /// What was predicted of it, where it could be.
    pub(crate) prediction: Option<Prediction>,
    /// All findings.
    pub(crate) findings: Findings,
}

/// Learns from a recording. `as_flown` is the aircraft as its file was when the recording was flown, where that is known.
pub(crate) fn teach(fetched: &Fetched, recording: &Recording, as_flown: Option<&Aircraft>) -> Taught {
    // Findings stand without predictions; what needs them says so.
    let prediction = forecast(&fetched.aircraft, &Air::default()).ok();
    let known = LearnFrom {
        prediction: prediction.as_ref(),
        set_mounting_pitch_rad: as_flown.map(|a| a.controller.mounting_pitch_rad.value),
        factors_as_flown: as_flown.map(|a| a.flown),
        ..LearnFrom::default()
    };
    let findings = learn::learn_from(&fetched.aircraft, recording, known);
    Taught { aircraft: fetched.aircraft.clone(), prediction, findings }
}

/// An aircraft as one of its revisions has it.
pub(crate) fn of_revision(hangar: &Hangar, name: &str, number: u32) -> Result<Fetched, Trouble> {
    let revision = hangar.revision(name, number).map_err(keep::trouble)?;
    let section_files = hangar.section_files(revision.id).map_err(keep::trouble)?;
    let aircraft = fetch::kept_text(&revision.text, &format!("revision {number}"), &section_files)?;
    Ok(Fetched { aircraft, text: revision.text, section_files, path: None })
}

/// A column map from its text; none where the text says only that none is needed.
pub(crate) fn map_of(text: &str) -> Result<Option<ColumnMap>, Trouble> {
    if text.lines().all(|l| l.trim().is_empty() || l.trim_start().starts_with('#')) {
        return Ok(None);
    }
    ColumnMap::from_toml(text).map(Some).map_err(|faults| {
        Trouble::many(
            Kind::Input,
            "the column map that is kept cannot be used",
            faults.iter().map(ToString::to_string).collect(),
            "correct the columns of the recording",
        )
    })
}

/// Gains that the flight carries, for a table of settings; the others with their reason.
pub(crate) fn carried(h: &Handling) -> [Outcome<Gains>; 3] {
    [0, 1, 2].map(|axis| match &h.gains[axis] {
        Ok(g) if g.proportional_s.enough => Ok(g.gains()),
        Ok(g) => {
            Err(NotPredicted::NoSolution { why: format!("not sure enough, {}", g.proportional_s.verdict) })
        }
        Err(reason) => Err(NotPredicted::NoSolution { why: why(reason) }),
    })
}

/// A table of settings from its text.
pub(crate) fn settings(text: &str, named: &str) -> Result<Vec<scale::Setting>, Trouble> {
    scale::read(text).map_err(|faults| {
        Trouble::many(
            Kind::Input,
            format!("{named} could not be read as a table of settings"),
            faults.iter().map(|f| format!("line {}: {}; {}", f.line, f.problem, f.remedy)).collect(),
            "mend these lines; examples/scale.toml shows a whole one",
        )
    })
}
