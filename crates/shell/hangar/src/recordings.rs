//! What did the controller log? Recordings as they came, with the column maps that they were read with.

use std::fmt;
use std::io::Read as _;

use rusqlite::{Connection, OptionalExtension, Row, params};

use crate::error::HangarError;
use crate::names::aircraft_row;
use crate::open::Hangar;
use crate::revisions::RevisionId;
use crate::store::{Fault, sha256, verify};

/// Compression level of zstd: past it time grows faster than the file shrinks.
const LEVEL: i32 = 3;

/// Largest compressed recording, bytes: SQLite holds at most 10⁹ bytes in one field ("Limits In SQLite").
const LARGEST_BYTES: usize = 900_000_000;

/// Number of a recording among those of all aircraft.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RecordingId(pub i64);

impl fmt::Display for RecordingId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// A recording to keep.
#[derive(Debug, Clone, Copy)]
pub struct NewRecording<'a> {
    /// The file as it came, byte for byte.
    pub bytes: &'a [u8],
    /// What the file was called; never used as a path.
    pub source_name: &'a str,
    /// The column map that it was read with.
    pub column_map: &'a str,
    /// The revision that flew.
    pub aircraft: RevisionId,
    /// The user's words.
    pub note: &'a str,
    /// Now, ms since 1970-01-01 UTC.
    pub at_ms: i64,
}

/// What is known of a recording without unpacking it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Recording {
    /// Number among those of all aircraft.
    pub id: RecordingId,
    /// Name of the aircraft.
    pub aircraft: String,
    /// The revision that flew.
    pub revision: RevisionId,
    /// Its number among those of the aircraft.
    pub revision_number: u32,
    /// SHA-256 of the original bytes, hexadecimal.
    pub sha256: String,
    /// Size of the original, bytes.
    pub bytes: u64,
    /// What the file was called.
    pub source_name: String,
    /// When it was kept, ms since 1970-01-01 UTC.
    pub at_ms: i64,
    /// The user's words.
    pub note: String,
}

/// A column map that a recording was read with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ColumnMap {
    /// Number among the maps of the recording, from 1.
    pub number: u32,
    /// The text, byte for byte.
    pub text: String,
    /// When it was first used, ms since 1970-01-01 UTC.
    pub at_ms: i64,
}

const COLUMNS: &str =
    "SELECT c.id, a.name, c.revision, r.number, c.sha256, c.size, c.source_name, c.at_ms, c.note
    FROM recording c JOIN aircraft a ON a.id = c.aircraft JOIN revision r ON r.id = c.revision";

impl Hangar {
    /// Keeps a recording. Where the same bytes are kept for this aircraft already, that earlier recording is returned
    /// as it is; a column map that differs from its newest one is kept beside it.
    ///
    /// # Errors
    /// [`HangarError::Nothing`] for a revision that is not there, [`HangarError::TooLarge`], and the causes that
    /// concern writing.
    pub fn keep_recording(&mut self, new: &NewRecording<'_>) -> Result<Recording, HangarError> {
        let sha256 = sha256(new.bytes);
        // Packed before the step begins, so that nobody waits for it.
        let packed = zstd::bulk::compress(new.bytes, LEVEL).map_err(|error| HangarError::Storage {
            path: self.path.clone(),
            doing: "packing a recording",
            cause: error.to_string(),
        })?;
        if packed.len() > LARGEST_BYTES {
            return Err(HangarError::TooLarge { bytes: packed.len() as u64 });
        }
        self.write("keeping a recording", |transaction| {
            let aircraft: i64 = transaction
                .query_row("SELECT aircraft FROM revision WHERE id = ?1", [new.aircraft.0], |row| row.get(0))
                .optional()?
                .ok_or(HangarError::Nothing { what: "revision", id: new.aircraft.0 })?;
            let earlier: Option<i64> = transaction
                .query_row(
                    "SELECT id FROM recording WHERE aircraft = ?1 AND sha256 = ?2",
                    params![aircraft, sha256],
                    |row| row.get(0),
                )
                .optional()?;
            let id = match earlier {
                Some(earlier) => earlier,
                None => {
                    transaction.execute(
                        "INSERT INTO recording (aircraft, revision, bytes, sha256, size, source_name, at_ms, note)
                         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
                        params![
                            aircraft,
                            new.aircraft.0,
                            packed,
                            sha256,
                            i64::try_from(new.bytes.len()).unwrap_or(i64::MAX),
                            new.source_name,
                            new.at_ms,
                            new.note
                        ],
                    )?;
                    transaction.last_insert_rowid()
                }
            };
            keep_map(transaction, id, new.column_map, new.at_ms)?;
            recording(transaction, RecordingId(id))
        })
    }

    /// What is known of a recording without unpacking it.
    ///
    /// # Errors
    /// [`HangarError::Nothing`], and the causes that concern reading.
    pub fn recording(&self, id: RecordingId) -> Result<Recording, HangarError> {
        self.read("reading a recording", |connection| recording(connection, id))
    }

    /// The recording of an aircraft that has these very bytes, if it is kept.
    ///
    /// # Errors
    /// The causes that concern reading.
    pub fn recording_of(&self, name: &str, bytes: &[u8]) -> Result<Option<Recording>, HangarError> {
        let sum = sha256(bytes);
        match self.recordings(name) {
            Ok(all) => Ok(all.into_iter().find(|r| r.sha256 == sum)),
            Err(HangarError::NoAircraft { .. }) => Ok(None),
            Err(error) => Err(error),
        }
    }

    /// All recordings of an aircraft, in the order in which they were kept.
    ///
    /// # Errors
    /// [`HangarError::NoAircraft`], and the causes that concern reading.
    pub fn recordings(&self, name: &str) -> Result<Vec<Recording>, HangarError> {
        self.read("listing the recordings", |connection| {
            let aircraft = aircraft_row(connection, name)?;
            let mut statement =
                connection.prepare_cached(&format!("{COLUMNS} WHERE c.aircraft = ?1 ORDER BY c.id"))?;
            let rows = statement.query_map([aircraft], from_row)?.collect::<Result<_, _>>()?;
            Ok(rows)
        })
    }

    /// The original bytes of a recording.
    ///
    /// # Errors
    /// [`HangarError::Nothing`], [`HangarError::Checksum`] where they are no longer the original ones, and the causes
    /// that concern reading.
    pub fn recording_bytes(&self, id: RecordingId) -> Result<Vec<u8>, HangarError> {
        self.read("reading a recording", |connection| {
            let (packed, kept, size): (Vec<u8>, String, i64) = connection
                .query_row("SELECT bytes, sha256, size FROM recording WHERE id = ?1", [id.0], |row| {
                    Ok((row.get(0)?, row.get(1)?, row.get(2)?))
                })
                .optional()?
                .ok_or(HangarError::Nothing { what: "recording", id: id.0 })?;
            let what = format!("recording {id}");
            // The size kept bounds what a broken frame can unpack to, and a broken size asks for no memory.
            let mut bytes = Vec::new();
            zstd::stream::read::Decoder::with_buffer(packed.as_slice())
                .and_then(|frame| frame.take(u64::try_from(size).unwrap_or(0) + 1).read_to_end(&mut bytes))
                .map_err(|error| HangarError::Checksum {
                    what: what.clone(),
                    kept: kept.clone(),
                    found: format!("unknown since the bytes cannot be unpacked ({error})"),
                })?;
            verify(what, &kept, sha256(&bytes))?;
            Ok(bytes)
        })
    }

    /// The column maps that a recording was read with, oldest first; the last is in force.
    ///
    /// # Errors
    /// [`HangarError::Nothing`], and the causes that concern reading.
    pub fn column_maps(&self, id: RecordingId) -> Result<Vec<ColumnMap>, HangarError> {
        self.read("reading the column maps", |connection| {
            recording(connection, id)?;
            let mut statement = connection.prepare_cached(
                "SELECT number, text, at_ms FROM column_map WHERE recording = ?1 ORDER BY number",
            )?;
            let rows = statement.query_map([id.0], |row| {
                let text: Vec<u8> = row.get(1)?;
                Ok(ColumnMap {
                    number: row.get(0)?,
                    text: String::from_utf8_lossy(&text).into_owned(),
                    at_ms: row.get(2)?,
                })
            })?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }
}

fn keep_map(connection: &Connection, recording: i64, text: &str, at_ms: i64) -> Result<(), Fault> {
    let newest: Option<(u32, Vec<u8>)> = connection
        .query_row(
            "SELECT number, text FROM column_map WHERE recording = ?1 ORDER BY number DESC LIMIT 1",
            [recording],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )
        .optional()?;
    let number = match newest {
        Some((_, newest)) if newest == text.as_bytes() => return Ok(()),
        Some((number, _)) => number + 1,
        None => 1,
    };
    connection.execute(
        "INSERT INTO column_map (recording, number, text, at_ms) VALUES (?1, ?2, ?3, ?4)",
        params![recording, number, text.as_bytes(), at_ms],
    )?;
    Ok(())
}

pub(crate) fn recording(connection: &Connection, id: RecordingId) -> Result<Recording, Fault> {
    connection
        .prepare_cached(&format!("{COLUMNS} WHERE c.id = ?1"))?
        .query_row([id.0], from_row)
        .optional()?
        .ok_or_else(|| HangarError::Nothing { what: "recording", id: id.0 }.into())
}

fn from_row(row: &Row<'_>) -> Result<Recording, rusqlite::Error> {
    Ok(Recording {
        id: RecordingId(row.get(0)?),
        aircraft: row.get(1)?,
        revision: RevisionId(row.get(2)?),
        revision_number: row.get(3)?,
        sha256: row.get(4)?,
        // The table refuses a size below zero.
        bytes: row.get::<_, i64>(5)?.unsigned_abs(),
        source_name: row.get(6)?,
        at_ms: row.get(7)?,
        note: row.get(8)?,
    })
}
