//! What has been flown, and what came of it? The recordings of an aircraft with a summary of their newest findings.

use rusqlite::{OptionalExtension, params};

use crate::error::HangarError;
use crate::findings::FindingsId;
use crate::open::Hangar;
use crate::recordings::Recording;

/// A flight: its recording, and what its newest findings say.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Flight {
    /// The recording.
    pub recording: Recording,
    /// Summary of the newest findings; none where nothing was learnt yet.
    pub learned: Option<Learned>,
    /// Numbers of the revisions that took over findings of this flight.
    pub adopted_as: Vec<u32>,
}

/// Summary of a findings document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Learned {
    /// The findings.
    pub findings: FindingsId,
    /// Estimates in the document: those that say whether the flight excited enough.
    pub estimates: u32,
    /// Estimates among them that may be relied on.
    pub enough: u32,
    /// Changes that the document asks for.
    pub changes: u32,
    /// When the findings were kept, ms since 1970-01-01 UTC.
    pub at_ms: i64,
}

impl Hangar {
    /// The flights of an aircraft, in the order in which they were kept.
    ///
    /// # Errors
    /// [`HangarError::NoAircraft`], and the causes that concern reading.
    pub fn flights(&self, name: &str) -> Result<Vec<Flight>, HangarError> {
        let recordings = self.recordings(name)?;
        self.read("listing the flights", |connection| {
            let mut newest = connection.prepare_cached(
                "SELECT f.id, f.at_ms, c.estimates, c.enough, c.changes
                 FROM findings f JOIN findings_count c ON c.findings = f.id
                 WHERE f.recording = ?1 ORDER BY f.id DESC LIMIT 1",
            )?;
            let mut adopted = connection.prepare_cached(
                "SELECT r.number FROM revision r JOIN findings f ON f.id = r.from_findings
                 WHERE f.recording = ?1 ORDER BY r.number",
            )?;
            let mut flights = Vec::with_capacity(recordings.len());
            for recording in recordings {
                let learned = newest
                    .query_row(params![recording.id.0], |row| {
                        Ok(Learned {
                            findings: FindingsId(row.get(0)?),
                            at_ms: row.get(1)?,
                            estimates: row.get(2)?,
                            enough: row.get(3)?,
                            changes: row.get(4)?,
                        })
                    })
                    .optional()?;
                let adopted_as =
                    adopted.query_map([recording.id.0], |row| row.get(0))?.collect::<Result<_, _>>()?;
                flights.push(Flight { recording, learned, adopted_as });
            }
            Ok(flights)
        })
    }
}
