//! What was learnt from a recording, with which revision, which column map and which program?

use std::fmt;

use rusqlite::{OptionalExtension, Row, params};

use crate::error::HangarError;
use crate::open::Hangar;
use crate::recordings::{RecordingId, recording};
use crate::revisions::RevisionId;
use crate::store::{Fault, require_json, sha256, verify};

/// Number of findings among those of all recordings.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FindingsId(pub i64);

impl fmt::Display for FindingsId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// Findings to keep.
#[derive(Debug, Clone, Copy)]
pub struct NewFindings<'a> {
    /// The recording that they were learnt from.
    pub recording: RecordingId,
    /// The revision that they were learnt with.
    pub aircraft: RevisionId,
    /// The findings document.
    pub json: &'a str,
    /// Version of the program that made it.
    pub version: &'a str,
    /// Now, ms since 1970-01-01 UTC.
    pub at_ms: i64,
}

/// Findings as they were kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Findings {
    /// Number among those of all recordings.
    pub id: FindingsId,
    /// The recording that they were learnt from.
    pub recording: RecordingId,
    /// The revision that they were learnt with.
    pub revision: RevisionId,
    /// Its number among those of the aircraft.
    pub revision_number: u32,
    /// Number of the column map that the recording was read with.
    pub column_map: u32,
    /// The findings document, byte for byte.
    pub json: String,
    /// Its SHA-256, hexadecimal.
    pub sha256: String,
    /// Version of the program that made it.
    pub version: String,
    /// When they were kept, ms since 1970-01-01 UTC.
    pub at_ms: i64,
}

const COLUMNS: &str =
    "SELECT f.id, f.recording, f.revision, r.number, m.number, f.json, f.sha256, f.version, f.at_ms
    FROM findings f JOIN revision r ON r.id = f.revision JOIN column_map m ON m.id = f.column_map";

impl Hangar {
    /// Keeps findings. Those that repeat the newest of the recording in every byte are not kept twice: the earlier
    /// ones are returned.
    ///
    /// # Errors
    /// [`HangarError::NotJson`], [`HangarError::Nothing`] for a recording or revision that is not there,
    /// [`HangarError::OtherAircraft`] where they do not belong together, and the causes that concern writing.
    pub fn keep_findings(&mut self, new: &NewFindings<'_>) -> Result<Findings, HangarError> {
        self.write("keeping findings", |transaction| {
            require_json(transaction, "findings", new.json)?;
            let of = recording(transaction, new.recording)?.aircraft;
            let not: String = transaction
                .query_row(
                    "SELECT a.name FROM revision r JOIN aircraft a ON a.id = r.aircraft WHERE r.id = ?1",
                    [new.aircraft.0],
                    |row| row.get(0),
                )
                .optional()?
                .ok_or(HangarError::Nothing { what: "revision", id: new.aircraft.0 })?;
            if of != not {
                return Err(HangarError::OtherAircraft { what: "recording and findings", of, not }.into());
            }
            let newest = transaction
                .prepare_cached(&format!("{COLUMNS} WHERE f.recording = ?1 ORDER BY f.id DESC LIMIT 1"))?
                .query_row([new.recording.0], from_row)
                .optional()?;
            if let Some(newest) = newest
                && newest.json == new.json
                && newest.revision == new.aircraft
                && newest.version == new.version
            {
                return checked(newest);
            }
            transaction.execute(
                "INSERT INTO findings (recording, revision, column_map, json, sha256, version, at_ms)
                 SELECT ?1, ?2, id, ?3, ?4, ?5, ?6 FROM column_map WHERE recording = ?1 ORDER BY number DESC LIMIT 1",
                params![
                    new.recording.0,
                    new.aircraft.0,
                    new.json,
                    sha256(new.json.as_bytes()),
                    new.version,
                    new.at_ms
                ],
            )?;
            let id = transaction.last_insert_rowid();
            transaction.execute(
                "INSERT INTO findings_count (findings, estimates, enough, changes)
                 SELECT findings, estimates, enough, changes FROM findings_counted WHERE findings = ?1",
                [id],
            )?;
            let kept = transaction.query_row(&format!("{COLUMNS} WHERE f.id = ?1"), [id], from_row)?;
            checked(kept)
        })
    }

    /// All findings of a recording, oldest first; the last are in force.
    ///
    /// # Errors
    /// [`HangarError::Nothing`], [`HangarError::Checksum`], and the causes that concern reading.
    pub fn findings(&self, recording_id: RecordingId) -> Result<Vec<Findings>, HangarError> {
        self.read("reading findings", |connection| {
            recording(connection, recording_id)?;
            let mut statement =
                connection.prepare_cached(&format!("{COLUMNS} WHERE f.recording = ?1 ORDER BY f.id"))?;
            let rows = statement.query_map([recording_id.0], from_row)?;
            rows.map(|row| checked(row?)).collect()
        })
    }

    /// Findings by their number.
    ///
    /// # Errors
    /// [`HangarError::Nothing`], [`HangarError::Checksum`], and the causes that concern reading.
    pub fn findings_by_id(&self, id: FindingsId) -> Result<Findings, HangarError> {
        self.read("reading findings", |connection| {
            let found = connection
                .prepare_cached(&format!("{COLUMNS} WHERE f.id = ?1"))?
                .query_row([id.0], from_row)
                .optional()?
                .ok_or(HangarError::Nothing { what: "findings", id: id.0 })?;
            checked(found)
        })
    }
}

fn checked(findings: Findings) -> Result<Findings, Fault> {
    let what = format!("findings {}", findings.id);
    verify(what, &findings.sha256, sha256(findings.json.as_bytes()))?;
    Ok(findings)
}

fn from_row(row: &Row<'_>) -> Result<Findings, rusqlite::Error> {
    Ok(Findings {
        id: FindingsId(row.get(0)?),
        recording: RecordingId(row.get(1)?),
        revision: RevisionId(row.get(2)?),
        revision_number: row.get(3)?,
        column_map: row.get(4)?,
        json: row.get(5)?,
        sha256: row.get(6)?,
        version: row.get(7)?,
        at_ms: row.get(8)?,
    })
}
