//! What has been flown, and what came of it? The recordings of an aircraft with a summary of their newest findings.

use std::collections::HashMap;

use crate::cards::CardId;
use crate::error::HangarError;
use crate::findings::FindingsId;
use crate::links::Link;
use crate::names::aircraft_row;
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
    /// The card that it was flown from and its weather; none where it was not linked.
    pub link: Option<Link>,
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
            let aircraft = aircraft_row(connection, name)?;
            // One statement for all flights each; of several rows of a recording the last is the newest.
            let mut learned: HashMap<i64, Learned> = HashMap::new();
            let mut statement = connection.prepare_cached(
                "SELECT f.recording, f.id, f.at_ms, n.estimates, n.enough, n.changes
                 FROM recording r CROSS JOIN findings f ON f.recording = r.id JOIN findings_count n ON n.findings = f.id
                 WHERE r.aircraft = ?1 ORDER BY r.id, f.id",
            )?;
            let mut rows = statement.query([aircraft])?;
            while let Some(row) = rows.next()? {
                let one = Learned {
                    findings: FindingsId(row.get(1)?),
                    at_ms: row.get(2)?,
                    estimates: row.get(3)?,
                    enough: row.get(4)?,
                    changes: row.get(5)?,
                };
                learned.insert(row.get(0)?, one);
            }
            let mut adopted: HashMap<i64, Vec<u32>> = HashMap::new();
            let mut statement = connection.prepare_cached(
                "SELECT f.recording, r.number FROM revision r CROSS JOIN findings f ON f.id = r.from_findings
                 WHERE r.aircraft = ?1 ORDER BY r.number",
            )?;
            let mut rows = statement.query([aircraft])?;
            while let Some(row) = rows.next()? {
                adopted.entry(row.get(0)?).or_default().push(row.get(1)?);
            }
            let mut links: HashMap<i64, Link> = HashMap::new();
            let mut statement = connection.prepare_cached(
                "SELECT l.recording, l.card, l.weather, l.at_ms
                 FROM recording r CROSS JOIN flight_link l ON l.recording = r.id WHERE r.aircraft = ?1 ORDER BY r.id, l.id",
            )?;
            let mut rows = statement.query([aircraft])?;
            while let Some(row) = rows.next()? {
                let card = row.get::<_, Option<i64>>(1)?.map(CardId);
                links.insert(row.get(0)?, Link { card, weather: row.get(2)?, at_ms: row.get(3)? });
            }
            Ok(recordings
                .into_iter()
                .map(|recording| Flight {
                    learned: learned.remove(&recording.id.0),
                    adopted_as: adopted.remove(&recording.id.0).unwrap_or_default(),
                    link: links.remove(&recording.id.0),
                    recording,
                })
                .collect())
        })
    }
}
