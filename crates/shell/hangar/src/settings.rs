//! Which settings has the controller had? Snapshots of whatever text its own program writes, byte for byte, numbered
//! from 1 for each aircraft.

use rusqlite::{OptionalExtension, Row, params};

use crate::error::HangarError;
use crate::names::aircraft_row;
use crate::open::Hangar;
use crate::store::{Fault, sha256, verify};

/// A snapshot to keep.
#[derive(Debug, Clone, Copy)]
pub struct NewSettings<'a> {
    /// The file, byte for byte.
    pub bytes: &'a [u8],
    /// Name of the file that it came from.
    pub source_name: &'a str,
    /// The user's words.
    pub note: &'a str,
    /// Now, ms since 1970-01-01 UTC.
    pub at_ms: i64,
}

/// A snapshot, without its bytes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Settings {
    /// Name of the aircraft.
    pub aircraft: String,
    /// Number among those of this aircraft, from 1.
    pub number: u32,
    /// SHA-256 of the bytes, hexadecimal.
    pub sha256: String,
    /// Size, bytes.
    pub size: u64,
    /// Name of the file that it came from.
    pub source_name: String,
    /// The user's words.
    pub note: String,
    /// When it was kept, ms since 1970-01-01 UTC.
    pub at_ms: i64,
}

const COLUMNS: &str = "SELECT a.name, s.number, s.sha256, length(s.bytes), s.source_name, s.note, s.at_ms
    FROM settings s JOIN aircraft a ON a.id = s.aircraft";

impl Hangar {
    /// Keeps a snapshot. One that repeats the newest in every byte is not kept twice: the newest is returned.
    ///
    /// # Errors
    /// [`HangarError::NoAircraft`], and the causes that concern writing.
    pub fn keep_settings(&mut self, name: &str, new: &NewSettings<'_>) -> Result<Settings, HangarError> {
        self.write("keeping settings", |transaction| {
            let aircraft = aircraft_row(transaction, name)?;
            let newest = transaction
                .query_row(
                    &format!("{COLUMNS} WHERE s.aircraft = ?1 ORDER BY s.number DESC LIMIT 1"),
                    [aircraft],
                    from_row,
                )
                .optional()?;
            let digest = sha256(new.bytes);
            let number = match newest {
                Some(newest) if newest.sha256 == digest => return Ok(newest),
                Some(newest) => newest.number + 1,
                None => 1,
            };
            transaction.execute(
                "INSERT INTO settings (aircraft, number, bytes, sha256, source_name, at_ms, note)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
                params![aircraft, number, new.bytes, digest, new.source_name, new.at_ms, new.note],
            )?;
            let id = transaction.last_insert_rowid();
            Ok(transaction.query_row(&format!("{COLUMNS} WHERE s.id = ?1"), [id], from_row)?)
        })
    }

    /// All snapshots of an aircraft, oldest first.
    ///
    /// # Errors
    /// [`HangarError::NoAircraft`], and the causes that concern reading.
    pub fn settings(&self, name: &str) -> Result<Vec<Settings>, HangarError> {
        self.read("listing settings", |connection| {
            let aircraft = aircraft_row(connection, name)?;
            let mut statement =
                connection.prepare_cached(&format!("{COLUMNS} WHERE s.aircraft = ?1 ORDER BY s.number"))?;
            let rows = statement.query_map([aircraft], from_row)?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }

    /// The bytes of a snapshot.
    ///
    /// # Errors
    /// [`HangarError::NoAircraft`], [`HangarError::Nothing`], [`HangarError::Checksum`], and the causes that concern
    /// reading.
    pub fn settings_bytes(&self, name: &str, number: u32) -> Result<Vec<u8>, HangarError> {
        self.read("reading settings", |connection| {
            let aircraft = aircraft_row(connection, name)?;
            let found: Option<(Vec<u8>, String)> = connection
                .query_row(
                    "SELECT bytes, sha256 FROM settings WHERE aircraft = ?1 AND number = ?2",
                    params![aircraft, number],
                    |row| Ok((row.get(0)?, row.get(1)?)),
                )
                .optional()?;
            let Some((bytes, kept)) = found else {
                return Err(Fault::from(HangarError::Nothing { what: "settings", id: i64::from(number) }));
            };
            verify(format!("settings {number} of \"{name}\""), &kept, sha256(&bytes))?;
            Ok(bytes)
        })
    }
}

fn from_row(row: &Row<'_>) -> Result<Settings, rusqlite::Error> {
    Ok(Settings {
        aircraft: row.get(0)?,
        number: row.get(1)?,
        sha256: row.get(2)?,
        size: row.get::<_, i64>(3)?.unsigned_abs(),
        source_name: row.get(4)?,
        note: row.get(5)?,
        at_ms: row.get(6)?,
    })
}
