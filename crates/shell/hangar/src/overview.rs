//! What is in this hangar? Each aircraft in a line, counted without reading what is kept of it.

use crate::error::HangarError;
use crate::open::Hangar;
use crate::revisions::RevisionId;

/// An aircraft in a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Overview {
    /// Its name.
    pub name: String,
    /// Revisions of its file.
    pub revisions: u32,
    /// Recordings.
    pub recordings: u32,
    /// Cards issued.
    pub cards: u32,
    /// Snapshots of settings.
    pub settings: u32,
    /// Open defects.
    pub defects: u32,
    /// Open defects among them that keep it on the ground.
    pub grounding: u32,
    /// Parts that are not here yet.
    pub parts: u32,
    /// When the newest recording was kept, ms since 1970-01-01 UTC.
    pub flown_ms: Option<i64>,
}

/// A revision without its text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RevisionLine {
    /// Number among those of all aircraft.
    pub id: RevisionId,
    /// Number among those of this aircraft, from 1.
    pub number: u32,
    /// SHA-256 of its text as it was kept, hexadecimal.
    pub sha256: String,
    /// When it was kept, ms since 1970-01-01 UTC.
    pub at_ms: i64,
    /// Why, in the user's words.
    pub note: String,
    /// Number of the findings whose changes it takes over, if any.
    pub from_findings: Option<i64>,
    /// Number of the revision that it was made from; none for the first.
    pub parent: Option<u32>,
}

impl Hangar {
    /// Every aircraft in a line, in alphabetical order of their characters.
    ///
    /// # Errors
    /// The causes that concern reading.
    pub fn overview(&self) -> Result<Vec<Overview>, HangarError> {
        self.read("looking over the hangar", |connection| {
            let mut statement = connection.prepare_cached(
                "WITH open AS (SELECT d.aircraft, d.grounds FROM defect d
                     WHERE NOT EXISTS (SELECT 1 FROM defect_closed k WHERE k.defect = d.id))
                 SELECT a.name,
                     (SELECT count(*) FROM revision r WHERE r.aircraft = a.id),
                     (SELECT count(*) FROM recording c WHERE c.aircraft = a.id),
                     (SELECT count(*) FROM revision r JOIN card c ON c.revision = r.id WHERE r.aircraft = a.id),
                     (SELECT count(*) FROM settings s WHERE s.aircraft = a.id),
                     (SELECT count(*) FROM open o WHERE o.aircraft = a.id),
                     (SELECT count(*) FROM open o WHERE o.aircraft = a.id AND o.grounds = 1),
                     (SELECT count(*) FROM part p WHERE p.aircraft = a.id
                         AND NOT EXISTS (SELECT 1 FROM part_here h WHERE h.part = p.id)),
                     (SELECT max(c.at_ms) FROM recording c WHERE c.aircraft = a.id)
                 FROM aircraft a ORDER BY a.name",
            )?;
            let rows = statement.query_map([], |row| {
                Ok(Overview {
                    name: row.get(0)?,
                    revisions: row.get(1)?,
                    recordings: row.get(2)?,
                    cards: row.get(3)?,
                    settings: row.get(4)?,
                    defects: row.get(5)?,
                    grounding: row.get(6)?,
                    parts: row.get(7)?,
                    flown_ms: row.get(8)?,
                })
            })?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }

    /// The revisions of an aircraft without their texts, oldest first.
    ///
    /// # Errors
    /// [`HangarError::NoAircraft`], and the causes that concern reading.
    pub fn revision_lines(&self, name: &str) -> Result<Vec<RevisionLine>, HangarError> {
        self.read("listing the revisions", |connection| {
            let aircraft = crate::names::aircraft_row(connection, name)?;
            let mut statement = connection.prepare_cached(
                "SELECT r.id, r.number, r.sha256, r.at_ms, r.note, r.from_findings, p.number
                 FROM revision r LEFT JOIN revision p ON p.id = r.parent WHERE r.aircraft = ?1 ORDER BY r.number",
            )?;
            let rows = statement.query_map([aircraft], |row| {
                Ok(RevisionLine {
                    id: RevisionId(row.get(0)?),
                    number: row.get(1)?,
                    sha256: row.get(2)?,
                    at_ms: row.get(3)?,
                    note: row.get(4)?,
                    from_findings: row.get(5)?,
                    parent: row.get(6)?,
                })
            })?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }
}
