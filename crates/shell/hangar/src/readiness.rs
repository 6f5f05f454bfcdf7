//! Who looked at what, and what was found? Readiness items as they were signed, kept for ever.

use rusqlite::{Row, params};

use crate::error::HangarError;
use crate::names::aircraft_row;
use crate::open::Hangar;
use crate::revisions::RevisionId;

/// A readiness item to keep.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NewReadiness<'a> {
    /// The revision of the aircraft that was looked at.
    pub aircraft: RevisionId,
    /// Where ("home", "field", "launch").
    pub place: &'a str,
    /// Identifier of the item ("balance_point_mm").
    pub item: &'a str,
    /// What was found ("323", "done").
    pub value: &'a str,
    /// How it stands with that ("passed", "failed", "open").
    pub verdict: &'a str,
    /// What it had to come to, in words.
    pub expected: &'a str,
    /// Who signed it; empty where nobody did.
    pub signed_by: &'a str,
    /// Version of the program that judged it.
    pub version: &'a str,
    /// Now, ms since 1970-01-01 UTC.
    pub at_ms: i64,
}

/// A readiness item as it was kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Readiness {
    /// Number among those of all aircraft.
    pub id: i64,
    /// The revision that was looked at.
    pub revision: RevisionId,
    /// Where.
    pub place: String,
    /// Identifier of the item.
    pub item: String,
    /// What was found.
    pub value: String,
    /// How it stood with that.
    pub verdict: String,
    /// What it had to come to, in words.
    pub expected: String,
    /// Who signed it; empty where nobody did.
    pub signed_by: String,
    /// Version of the program that judged it.
    pub version: String,
    /// When, ms since 1970-01-01 UTC.
    pub at_ms: i64,
}

impl Hangar {
    /// Keeps items, all or none.
    ///
    /// # Errors
    /// [`HangarError::Nothing`] for a revision that is not there, and the causes that concern writing.
    pub fn keep_readiness(&mut self, items: &[NewReadiness<'_>]) -> Result<(), HangarError> {
        self.write("keeping readiness items", |transaction| {
            for new in items {
                let there: bool = transaction.query_row(
                    "SELECT count(*) FROM revision WHERE id = ?1",
                    [new.aircraft.0],
                    |row| row.get(0),
                )?;
                if !there {
                    return Err(HangarError::Nothing { what: "revision", id: new.aircraft.0 }.into());
                }
                transaction.execute(
                    "INSERT INTO readiness (revision, place, item, value, verdict, expected, signed_by, version, at_ms)
                     VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
                    params![
                        new.aircraft.0,
                        new.place,
                        new.item,
                        new.value,
                        new.verdict,
                        new.expected,
                        new.signed_by,
                        new.version,
                        new.at_ms
                    ],
                )?;
            }
            Ok(())
        })
    }

    /// All items ever signed for an aircraft, oldest first.
    ///
    /// # Errors
    /// [`HangarError::NoAircraft`], and the causes that concern reading.
    pub fn readiness(&self, name: &str) -> Result<Vec<Readiness>, HangarError> {
        self.read("reading readiness items", |connection| {
            let aircraft = aircraft_row(connection, name)?;
            let mut statement = connection.prepare_cached(
                "SELECT i.id, i.revision, i.place, i.item, i.value, i.verdict, i.expected, i.signed_by, i.version, i.at_ms
                 FROM readiness i JOIN revision r ON r.id = i.revision WHERE r.aircraft = ?1 ORDER BY i.id",
            )?;
            let rows = statement.query_map([aircraft], from_row)?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }
}

fn from_row(row: &Row<'_>) -> Result<Readiness, rusqlite::Error> {
    Ok(Readiness {
        id: row.get(0)?,
        revision: RevisionId(row.get(1)?),
        place: row.get(2)?,
        item: row.get(3)?,
        value: row.get(4)?,
        verdict: row.get(5)?,
        expected: row.get(6)?,
        signed_by: row.get(7)?,
        version: row.get(8)?,
        at_ms: row.get(9)?,
    })
}
