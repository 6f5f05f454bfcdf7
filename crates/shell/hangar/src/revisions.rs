//! Which texts has an aircraft's file had? Revisions, numbered from 1, the newest in force.

use std::fmt;

use rusqlite::{Connection, OptionalExtension, Row, params};

use crate::error::HangarError;
use crate::findings::FindingsId;
use crate::names::{aircraft_row, require_name};
use crate::open::Hangar;
use crate::section_files::{self, SectionFile};
use crate::store::{Fault, sha256, verify};

/// Number of a revision among those of all aircraft.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RevisionId(pub i64);

impl fmt::Display for RevisionId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// An aircraft's file with the coordinate files that it names.
#[derive(Debug, Clone, Copy)]
pub struct AircraftText<'a> {
    /// The file, byte for byte.
    pub text: &'a str,
    /// The coordinate files of its sections.
    pub section_files: &'a [SectionFile],
}

impl<'a> From<&'a str> for AircraftText<'a> {
    /// A file that names no coordinate files.
    fn from(text: &'a str) -> Self {
        Self { text, section_files: &[] }
    }
}

impl<'a> From<&'a String> for AircraftText<'a> {
    fn from(text: &'a String) -> Self {
        Self::from(text.as_str())
    }
}

/// A revision of an aircraft's file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Revision {
    /// Number among those of all aircraft.
    pub id: RevisionId,
    /// Name of the aircraft.
    pub aircraft: String,
    /// Number among those of this aircraft, from 1.
    pub number: u32,
    /// The text, byte for byte.
    pub text: String,
    /// Its SHA-256, hexadecimal.
    pub sha256: String,
    /// When it was kept, ms since 1970-01-01 UTC.
    pub at_ms: i64,
    /// Why, in the user's words.
    pub note: String,
    /// The findings whose changes it takes over, if any.
    pub from_findings: Option<FindingsId>,
    /// Number of the revision that it was made from; none for the first.
    pub parent: Option<u32>,
}

const COLUMNS: &str =
    "SELECT r.id, a.name, r.number, r.text, r.sha256, r.at_ms, r.note, r.from_findings, p.number
    FROM revision r JOIN aircraft a ON a.id = r.aircraft LEFT JOIN revision p ON p.id = r.parent";

impl Hangar {
    /// Keeps a text as the newest revision of the aircraft of that name, which need not be there yet. A text that is
    /// already the newest is not kept twice: the newest revision is returned as it is.
    ///
    /// # Errors
    /// [`HangarError::BadName`], and the causes that concern writing.
    pub fn keep_aircraft<'a>(
        &mut self,
        name: &str,
        text: impl Into<AircraftText<'a>>,
        note: &str,
        at_ms: i64,
    ) -> Result<Revision, HangarError> {
        let AircraftText { text, section_files: files } = text.into();
        require_name(name)?;
        self.write("keeping an aircraft", |transaction| {
            transaction.execute("INSERT INTO aircraft (name) VALUES (?1) ON CONFLICT DO NOTHING", [name])?;
            let parent = newest(transaction, name)?;
            keep(transaction, name, text, &Origin { files, note, at_ms, from_findings: None, parent })
        })
    }

    /// Keeps the text that came of adopting findings.
    ///
    /// # Errors
    /// [`HangarError::NoAircraft`], [`HangarError::Nothing`] for findings that are not there,
    /// [`HangarError::OtherAircraft`] for those of another aircraft, and the causes that concern writing.
    pub fn keep_adopted<'a>(
        &mut self,
        name: &str,
        text: impl Into<AircraftText<'a>>,
        findings: FindingsId,
        note: &str,
        at_ms: i64,
    ) -> Result<Revision, HangarError> {
        let AircraftText { text, section_files: files } = text.into();
        self.write("keeping an aircraft", |transaction| {
            aircraft_row(transaction, name)?;
            let of: String = transaction
                .query_row(
                    "SELECT a.name FROM findings f JOIN revision r ON r.id = f.revision
                     JOIN aircraft a ON a.id = r.aircraft WHERE f.id = ?1",
                    [findings.0],
                    |row| row.get(0),
                )
                .optional()?
                .ok_or(HangarError::Nothing { what: "findings", id: findings.0 })?;
            if of != name {
                return Err(HangarError::OtherAircraft { what: "findings", of, not: name.to_owned() }.into());
            }
            let parent = newest(transaction, name)?;
            keep(
                transaction,
                name,
                text,
                &Origin { files, note, at_ms, from_findings: Some(findings), parent },
            )
        })
    }

    /// Goes back: keeps the text of an older revision once more, as the newest. Nothing in between is lost.
    ///
    /// # Errors
    /// [`HangarError::NoAircraft`], [`HangarError::NoRevision`], and the causes that concern writing.
    pub fn go_back(
        &mut self,
        name: &str,
        number: u32,
        note: &str,
        at_ms: i64,
    ) -> Result<Revision, HangarError> {
        self.write("going back", |transaction| {
            let older = revision(transaction, name, number)?;
            let files = section_files::of(transaction, older.id.0)?;
            let parent = Newest { row: older.id.0, number: older.number, sha256: String::new() };
            keep(
                transaction,
                name,
                &older.text,
                &Origin { files: &files, note, at_ms, from_findings: None, parent: Some(parent) },
            )
        })
    }

    /// The newest revision of an aircraft.
    ///
    /// # Errors
    /// [`HangarError::NoAircraft`], [`HangarError::Checksum`], and the causes that concern reading.
    pub fn aircraft(&self, name: &str) -> Result<Revision, HangarError> {
        self.read("reading an aircraft", |connection| {
            aircraft_row(connection, name)?;
            let number = newest(connection, name)?.map_or(0, |newest| newest.number);
            revision(connection, name, number)
        })
    }

    /// One revision of an aircraft.
    ///
    /// # Errors
    /// [`HangarError::NoAircraft`], [`HangarError::NoRevision`], [`HangarError::Checksum`], and the causes that
    /// concern reading.
    pub fn revision(&self, name: &str, number: u32) -> Result<Revision, HangarError> {
        self.read("reading an aircraft", |connection| revision(connection, name, number))
    }

    /// All revisions of an aircraft, oldest first.
    ///
    /// # Errors
    /// [`HangarError::NoAircraft`], [`HangarError::Checksum`], and the causes that concern reading.
    pub fn revisions(&self, name: &str) -> Result<Vec<Revision>, HangarError> {
        self.read("reading the revisions", |connection| {
            let aircraft = aircraft_row(connection, name)?;
            let mut statement =
                connection.prepare_cached(&format!("{COLUMNS} WHERE r.aircraft = ?1 ORDER BY r.number"))?;
            let rows = statement.query_map([aircraft], from_row)?;
            rows.map(|row| checked(row?)).collect()
        })
    }
}

/// What goes with a text that is kept.
struct Origin<'a> {
    files: &'a [SectionFile],
    note: &'a str,
    at_ms: i64,
    from_findings: Option<FindingsId>,
    parent: Option<Newest>,
}

/// Enough of a revision to follow it.
struct Newest {
    row: i64,
    number: u32,
    sha256: String,
}

fn newest(connection: &Connection, name: &str) -> Result<Option<Newest>, Fault> {
    let found = connection
        .query_row(
            "SELECT r.id, r.number, r.sha256 FROM revision r JOIN aircraft a ON a.id = r.aircraft
             WHERE a.name = ?1 ORDER BY r.number DESC LIMIT 1",
            [name],
            |row| Ok(Newest { row: row.get(0)?, number: row.get(1)?, sha256: row.get(2)? }),
        )
        .optional()?;
    Ok(found)
}

fn keep(connection: &Connection, name: &str, text: &str, origin: &Origin<'_>) -> Result<Revision, Fault> {
    let aircraft = aircraft_row(connection, name)?;
    let newest = newest(connection, name)?;
    let sha256 = sha256(text.as_bytes());
    let mut sorted = origin.files.to_vec();
    sorted.sort();
    if let Some(newest) = &newest
        && newest.sha256 == sha256
        && section_files::of(connection, newest.row)? == sorted
    {
        return revision(connection, name, newest.number);
    }
    let number = newest.map_or(1, |newest| newest.number + 1);
    connection.execute(
        "INSERT INTO revision (aircraft, number, text, sha256, at_ms, note, from_findings, parent)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
        params![
            aircraft,
            number,
            text.as_bytes(),
            sha256,
            origin.at_ms,
            origin.note,
            origin.from_findings.map(|id| id.0),
            origin.parent.as_ref().map(|parent| parent.row),
        ],
    )?;
    section_files::keep(connection, connection.last_insert_rowid(), &sorted)?;
    revision(connection, name, number)
}

fn revision(connection: &Connection, name: &str, number: u32) -> Result<Revision, Fault> {
    let aircraft = aircraft_row(connection, name)?;
    let found = connection
        .prepare_cached(&format!("{COLUMNS} WHERE r.aircraft = ?1 AND r.number = ?2"))?
        .query_row(params![aircraft, number], from_row)
        .optional()?;
    match found {
        Some(found) => checked(found),
        None => {
            let newest = newest(connection, name)?.map_or(0, |newest| newest.number);
            Err(HangarError::NoRevision { name: name.to_owned(), number, newest }.into())
        }
    }
}

/// A row, its text still as bytes.
type Raw = (Revision, Vec<u8>);

fn from_row(row: &Row<'_>) -> Result<Raw, rusqlite::Error> {
    let revision = Revision {
        id: RevisionId(row.get(0)?),
        aircraft: row.get(1)?,
        number: row.get(2)?,
        text: String::new(),
        sha256: row.get(4)?,
        at_ms: row.get(5)?,
        note: row.get(6)?,
        from_findings: row.get::<_, Option<i64>>(7)?.map(FindingsId),
        parent: row.get(8)?,
    };
    Ok((revision, row.get(3)?))
}

fn checked((mut revision, bytes): Raw) -> Result<Revision, Fault> {
    let what = format!("revision {} of \"{}\"", revision.number, revision.aircraft);
    verify(what.clone(), &revision.sha256, sha256(&bytes))?;
    revision.text = String::from_utf8(bytes).map_err(|_| HangarError::Checksum {
        what,
        kept: revision.sha256.clone(),
        found: "of bytes that are no text".to_owned(),
    })?;
    Ok(revision)
}
