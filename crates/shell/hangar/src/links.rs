//! Which card was a flight flown from, and in what weather? Linked when it is learnt from; the newest link counts.

use rusqlite::{OptionalExtension, params};

use crate::cards::{CardId, IssuedCard};
use crate::error::HangarError;
use crate::names::aircraft_row;
use crate::open::Hangar;
use crate::recordings::{RecordingId, recording};

/// What a flight belongs with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Link {
    /// The card that it was flown from; none where no card was issued for it.
    pub card: Option<CardId>,
    /// The weather, as people read it; empty where nobody told it.
    pub weather: String,
    /// When this was linked, ms since 1970-01-01 UTC.
    pub at_ms: i64,
}

impl Hangar {
    /// Links a recording with the card that it was flown from and with its weather. A link that repeats the newest one
    /// is not kept twice.
    ///
    /// # Errors
    /// [`HangarError::Nothing`] for a recording or card that is not there, [`HangarError::OtherAircraft`] where the card
    /// is that of another aircraft, and the causes that concern writing.
    pub fn link_flight(
        &mut self,
        id: RecordingId,
        card: Option<CardId>,
        weather: &str,
        at_ms: i64,
    ) -> Result<Link, HangarError> {
        self.write("linking a flight", |transaction| {
            let of = recording(transaction, id)?.aircraft;
            if let Some(card) = card {
                let not: String = transaction
                    .query_row(
                        "SELECT a.name FROM card c JOIN revision r ON r.id = c.revision JOIN aircraft a ON a.id = r.aircraft
                         WHERE c.id = ?1",
                        [card.0],
                        |row| row.get(0),
                    )
                    .optional()?
                    .ok_or(HangarError::Nothing { what: "card", id: card.0 })?;
                if of != not {
                    return Err(HangarError::OtherAircraft { what: "card", of: not, not: of }.into());
                }
            }
            let newest: Option<Link> = transaction
                .query_row(
                    "SELECT card, weather, at_ms FROM flight_link WHERE recording = ?1 ORDER BY id DESC LIMIT 1",
                    [id.0],
                    |row| {
                        Ok(Link {
                            card: row.get::<_, Option<i64>>(0)?.map(CardId),
                            weather: row.get(1)?,
                            at_ms: row.get(2)?,
                        })
                    },
                )
                .optional()?;
            if let Some(newest) = newest.filter(|link| link.card == card && link.weather == weather) {
                return Ok(newest);
            }
            transaction.execute(
                "INSERT INTO flight_link (recording, card, weather, at_ms) VALUES (?1, ?2, ?3, ?4)",
                params![id.0, card.map(|card| card.0), weather, at_ms],
            )?;
            Ok(Link { card, weather: weather.to_owned(), at_ms })
        })
    }

    /// The newest card of an aircraft that was issued at or before an instant.
    ///
    /// # Errors
    /// [`HangarError::NoAircraft`], and the causes that concern reading.
    pub fn card_before(&self, name: &str, at_ms: i64) -> Result<Option<IssuedCard>, HangarError> {
        self.read("looking for a card", |connection| {
            let aircraft = aircraft_row(connection, name)?;
            Ok(connection
                .prepare_cached(
                    "SELECT c.id, r.number, c.version, c.at_ms FROM card c JOIN revision r ON r.id = c.revision
                     WHERE r.aircraft = ?1 AND c.at_ms <= ?2 ORDER BY c.at_ms DESC, c.id DESC LIMIT 1",
                )?
                .query_row(params![aircraft, at_ms], IssuedCard::from_row)
                .optional()?)
        })
    }
}
