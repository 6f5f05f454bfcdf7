//! What goes into the log of airframe and packs? What a flight's findings say, and what was measured by hand.

use std::collections::BTreeSet;

use hangar::{Hangar, LogEntry, NewLogEntry, RecordingId};
use serde_json::Value;

use crate::tasks::{keep, upkeep};
use crate::tell::{Kind, Trouble};

/// What is entered in the log. What is not told comes from the findings of the recording, where one is named.
#[derive(Debug, Clone, Default)]
pub(crate) struct Entry {
    /// Number of the recording.
    pub(crate) recording: Option<i64>,
    /// The pack's name; may be empty.
    pub(crate) pack: String,
    /// Time in the air, s.
    pub(crate) flown_s: Option<f64>,
    /// Landings.
    pub(crate) landings: Option<u32>,
    /// Charge taken from the pack, As.
    pub(crate) used_as: Option<f64>,
    /// The pack's resistance, ohm.
    pub(crate) resistance_ohm: Option<f64>,
    /// The user's words.
    pub(crate) note: String,
}

/// Enters a flight or a measurement of a pack in the log.
pub(crate) fn enter(hangar: &mut Hangar, name: &str, entry: &Entry, at_ms: i64) -> Result<LogEntry, Trouble> {
    let found = entry.recording.map(|id| from_findings(hangar, name, id)).transpose()?.unwrap_or_default();
    let new = NewLogEntry {
        recording: entry.recording.map(RecordingId),
        pack: &entry.pack,
        flown_s: entry.flown_s.or(found.flown_s),
        landings: entry.landings.or(found.landings),
        used_as: entry.used_as.or(found.used_as),
        resistance_ohm: entry.resistance_ohm.or(found.resistance_ohm),
        note: &entry.note,
        at_ms: found.at_ms.unwrap_or(at_ms),
    };
    hangar.log(name, &new).map_err(keep::trouble)
}

/// Recordings of an aircraft that are not in the log yet.
pub(crate) fn not_logged(hangar: &Hangar, name: &str, entries: &[LogEntry]) -> Result<Vec<i64>, Trouble> {
    let logged: BTreeSet<i64> = entries.iter().filter_map(|e| e.recording.map(|r| r.0)).collect();
    let recordings = hangar.recordings(name).map_err(keep::trouble)?;
    Ok(recordings.iter().map(|r| r.id.0).filter(|id| !logged.contains(id)).collect())
}

/// What a flight's newest findings say for the log.
#[derive(Default)]
struct Found {
    flown_s: Option<f64>,
    landings: Option<u32>,
    used_as: Option<f64>,
    resistance_ohm: Option<f64>,
    at_ms: Option<i64>,
}

fn from_findings(hangar: &Hangar, name: &str, id: i64) -> Result<Found, Trouble> {
    let flights = hangar.flights(name).map_err(keep::trouble)?;
    let Some(flight) = flights.iter().find(|f| f.recording.id.0 == id) else {
        return Err(Trouble::new(
            Kind::Input,
            "nothing was entered in the log",
            format!("\"{name}\" has no recording {id}"),
            format!("list them: eyas flights \"{name}\""),
        ));
    };
    let mut found = Found { at_ms: Some(flight.recording.at_ms), ..Found::default() };
    let Some(learned) = &flight.learned else { return Ok(found) };
    let findings = hangar.findings_by_id(learned.findings).map_err(keep::trouble)?;
    let Ok(document) = serde_json::from_str::<Value>(&findings.json) else { return Ok(found) };
    if let Some(flown_s) = upkeep::flown_s(&document) {
        found.flown_s = Some(flown_s);
        found.landings = Some(1);
    }
    let value = |pointer: &str| document.pointer(pointer).and_then(Value::as_f64);
    found.resistance_ohm = value("/battery/resistance_ohm/value");
    found.used_as =
        value("/battery/used_as/value").or_else(|| value("/battery/used_mah/value").map(|mah| mah * 3.6));
    Ok(found)
}
