//! Where is what is kept?

use std::path::PathBuf;

use etcetera::{BaseStrategy as _, choose_base_strategy};
use hangar::{FindingsId, Hangar, HangarError, NewFindings, NewRecording, RecordingId, RevisionId};
use serde_json::Value;

use crate::cli::Common;
use crate::tasks::fetch::Fetched;
use crate::tasks::flown;
use crate::tasks::study::Studied;
use crate::tell::{Kind, Trouble};

/// Note of recordings that a simulation made for trying the round out: they are no flights of the aircraft, and no test
/// point counts as flown by them.
pub(crate) const SIMULATED: &str = "simulated";

/// The hangar's path: as told, or in the user's data folder.
pub(crate) fn path(common: &Common) -> Result<PathBuf, Trouble> {
    if let Some(path) = &common.hangar {
        return Ok(path.clone());
    }
    choose_base_strategy().map(|dirs| dirs.data_dir().join("eyas").join("hangar.db")).map_err(|_| {
        Trouble::new(
            Kind::Input,
            "the hangar could not be found",
            "this user has no home folder",
            "name the hangar's file with --hangar FILE",
        )
    })
}

/// Opens the hangar, making it where there is none.
pub(crate) fn open(common: &Common) -> Result<Hangar, Trouble> {
    Hangar::open(&path(common)?).map_err(trouble)
}

/// Opens the hangar if there is one: asking must not make a file.
pub(crate) fn open_existing(common: &Common) -> Result<Option<Hangar>, Trouble> {
    let path = path(common)?;
    // Where it cannot be told whether there is one, opening says why.
    if path.try_exists().unwrap_or(true) { Hangar::open(&path).map(Some).map_err(trouble) } else { Ok(None) }
}

/// A flight to keep: its recording, and what was learnt from it.
pub(crate) struct ToKeep<'a> {
    /// The aircraft that flew.
    pub(crate) fetched: &'a Fetched,
    /// File name of the recording.
    pub(crate) source: &'a str,
    /// The recording as read.
    pub(crate) studied: &'a Studied,
    /// The findings document.
    pub(crate) findings: &'a Value,
    /// Words to keep with it.
    pub(crate) note: &'a str,
    /// Now, ms since the epoch.
    pub(crate) at_ms: i64,
}

/// Keeps the aircraft as flown, the recording byte for byte, and the findings; links the flight with the newest card before
/// it.
pub(crate) fn flight(hangar: &mut Hangar, flown: &ToKeep<'_>) -> Result<(RecordingId, FindingsId), Trouble> {
    let ToKeep { fetched, source, studied, findings, note, at_ms } = *flown;
    let (revision, recording) = recorded(hangar, fetched, source, studied, note, at_ms)?;
    let kept = hangar
        .keep_findings(&NewFindings {
            recording,
            aircraft: revision,
            json: &findings.to_string(),
            version: env!("CARGO_PKG_VERSION"),
            at_ms,
        })
        .map_err(trouble)?;
    flown::link(hangar, &fetched.aircraft.name, recording, None, at_ms)?;
    Ok((recording, kept.id))
}

/// Keeps a recording without anything learnt from it.
pub(crate) fn recording(
    hangar: &mut Hangar,
    fetched: &Fetched,
    source: &str,
    studied: &Studied,
    note: &str,
    at_ms: i64,
) -> Result<RecordingId, Trouble> {
    recorded(hangar, fetched, source, studied, note, at_ms).map(|(_, recording)| recording)
}

/// The revision that flew, and its recording, both kept.
fn recorded(
    hangar: &mut Hangar,
    fetched: &Fetched,
    source: &str,
    studied: &Studied,
    note: &str,
    at_ms: i64,
) -> Result<(RevisionId, RecordingId), Trouble> {
    let revision = as_flown(hangar, fetched, at_ms)?;
    let kept = hangar
        .keep_recording(&NewRecording {
            bytes: &studied.bytes,
            source_name: source,
            column_map: &studied.map_text(),
            aircraft: revision.id,
            note,
            at_ms,
        })
        .map_err(trouble)?;
    Ok((revision.id, kept.id))
}

/// The revision that flew. A text that came from the hangar is one of its revisions, and not kept as the newest once more:
/// somebody may have changed the aircraft since it was read.
fn as_flown(hangar: &mut Hangar, fetched: &Fetched, at_ms: i64) -> Result<hangar::Revision, Trouble> {
    let name = &fetched.aircraft.name;
    if fetched.path.is_none() {
        let known =
            hangar.revisions(name).map_err(trouble)?.into_iter().rev().find(|r| r.text == fetched.text);
        if let Some(known) = known {
            return Ok(known);
        }
    }
    hangar.keep_aircraft(name, fetched.kept(), "as flown", at_ms).map_err(trouble)
}

/// The hangar's own words for what went wrong.
pub(crate) fn trouble(error: HangarError) -> Trouble {
    Trouble::new(Kind::Input, "the hangar could not be used", error.to_string(), error.what_to_do())
}
