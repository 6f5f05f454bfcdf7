//! Which cards were issued? Each as it went to the field, frozen with the version that made it.

use std::fmt;

use rusqlite::{OptionalExtension, Row, params};

use crate::error::HangarError;
use crate::names::aircraft_row;
use crate::open::Hangar;
use crate::revisions::RevisionId;
use crate::store::{Fault, require_json, sha256_of_two, verify};

/// Number of a card among those of all aircraft.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CardId(pub i64);

impl fmt::Display for CardId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// A card to keep.
#[derive(Debug, Clone, Copy)]
pub struct NewCard<'a> {
    /// The revision that it was made for.
    pub aircraft: RevisionId,
    /// The page, byte for byte.
    pub html: &'a [u8],
    /// The same card as a document.
    pub json: &'a str,
    /// Version of the program that made it.
    pub version: &'a str,
    /// Now, ms since 1970-01-01 UTC.
    pub at_ms: i64,
}

/// A card as it was issued.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Card {
    /// Number among those of all aircraft.
    pub id: CardId,
    /// Name of the aircraft.
    pub aircraft: String,
    /// The revision that it was made for.
    pub revision: RevisionId,
    /// Its number among those of the aircraft.
    pub revision_number: u32,
    /// The page, byte for byte.
    pub html: Vec<u8>,
    /// The same card as a document.
    pub json: String,
    /// SHA-256 of page and document together, hexadecimal.
    pub sha256: String,
    /// Version of the program that made it.
    pub version: String,
    /// When it was issued, ms since 1970-01-01 UTC.
    pub at_ms: i64,
}

/// That a card was issued, without the card.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct IssuedCard {
    /// Number among those of all aircraft.
    pub id: CardId,
    /// Number of the revision that it was made for.
    pub revision_number: u32,
    /// Version of the program that made it.
    pub version: String,
    /// When it was issued, ms since 1970-01-01 UTC.
    pub at_ms: i64,
}

impl IssuedCard {
    /// From number, revision, version and instant, in this order.
    pub(crate) fn from_row(row: &Row<'_>) -> Result<Self, rusqlite::Error> {
        Ok(Self {
            id: CardId(row.get(0)?),
            revision_number: row.get(1)?,
            version: row.get(2)?,
            at_ms: row.get(3)?,
        })
    }
}

const COLUMNS: &str =
    "SELECT c.id, a.name, c.revision, r.number, c.html, c.json, c.sha256, c.version, c.at_ms
    FROM card c JOIN revision r ON r.id = c.revision JOIN aircraft a ON a.id = r.aircraft";

impl Hangar {
    /// Keeps a card as it is issued.
    ///
    /// # Errors
    /// [`HangarError::NotJson`], [`HangarError::Nothing`] for a revision that is not there, and the causes that
    /// concern writing.
    pub fn keep_card(&mut self, new: &NewCard<'_>) -> Result<Card, HangarError> {
        self.write("keeping a card", |transaction| {
            require_json(transaction, "card", new.json)?;
            let there: bool =
                transaction.query_row("SELECT count(*) FROM revision WHERE id = ?1", [new.aircraft.0], |row| row.get(0))?;
            if !there {
                return Err(HangarError::Nothing { what: "revision", id: new.aircraft.0 }.into());
            }
            transaction.execute(
                "INSERT INTO card (revision, html, json, sha256, version, at_ms) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
                params![
                    new.aircraft.0,
                    new.html,
                    new.json,
                    sha256_of_two(new.html, new.json.as_bytes()),
                    new.version,
                    new.at_ms
                ],
            )?;
            let id = transaction.last_insert_rowid();
            checked(transaction.query_row(&format!("{COLUMNS} WHERE c.id = ?1"), [id], from_row)?)
        })
    }

    /// A card by its number.
    ///
    /// # Errors
    /// [`HangarError::Nothing`], [`HangarError::Checksum`], and the causes that concern reading.
    pub fn card(&self, id: CardId) -> Result<Card, HangarError> {
        self.read("reading a card", |connection| {
            let found = connection
                .query_row(&format!("{COLUMNS} WHERE c.id = ?1"), [id.0], from_row)
                .optional()?
                .ok_or(HangarError::Nothing { what: "card", id: id.0 })?;
            checked(found)
        })
    }

    /// Which cards were issued for an aircraft, oldest first, without reading them.
    ///
    /// # Errors
    /// [`HangarError::NoAircraft`], and the causes that concern reading.
    pub fn issued_cards(&self, name: &str) -> Result<Vec<IssuedCard>, HangarError> {
        self.read("listing the cards", |connection| {
            let aircraft = aircraft_row(connection, name)?;
            let mut statement = connection.prepare_cached(
                "SELECT c.id, r.number, c.version, c.at_ms FROM card c JOIN revision r ON r.id = c.revision
                 WHERE r.aircraft = ?1 ORDER BY c.id",
            )?;
            let rows = statement.query_map([aircraft], IssuedCard::from_row)?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }

    /// Keeps the ticks of a card as a code that came back from the field; the same code is not kept twice.
    ///
    /// # Errors
    /// [`HangarError::Nothing`] for a card that is not there, and the causes that concern writing.
    pub fn keep_ticks(&mut self, card: CardId, code: &str, at_ms: i64) -> Result<(), HangarError> {
        self.write("keeping ticks", |transaction| {
            let there: bool =
                transaction
                    .query_row("SELECT count(*) FROM card WHERE id = ?1", [card.0], |row| row.get(0))?;
            if !there {
                return Err(HangarError::Nothing { what: "card", id: card.0 }.into());
            }
            transaction.execute(
                "INSERT INTO card_ticks (card, code, at_ms) VALUES (?1, ?2, ?3) ON CONFLICT DO NOTHING",
                params![card.0, code, at_ms],
            )?;
            Ok(())
        })
    }

    /// The codes of ticks that came back for a card, oldest first, with their instants.
    ///
    /// # Errors
    /// The causes that concern reading.
    pub fn ticks(&self, card: CardId) -> Result<Vec<(String, i64)>, HangarError> {
        self.read("reading ticks", |connection| {
            let mut statement = connection
                .prepare_cached("SELECT code, at_ms FROM card_ticks WHERE card = ?1 ORDER BY id")?;
            let rows = statement.query_map([card.0], |row| Ok((row.get(0)?, row.get(1)?)))?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }

    /// All cards issued for an aircraft, oldest first.
    ///
    /// # Errors
    /// [`HangarError::NoAircraft`], [`HangarError::Checksum`], and the causes that concern reading.
    pub fn cards(&self, name: &str) -> Result<Vec<Card>, HangarError> {
        self.read("reading the cards", |connection| {
            let aircraft = aircraft_row(connection, name)?;
            let mut statement =
                connection.prepare_cached(&format!("{COLUMNS} WHERE r.aircraft = ?1 ORDER BY c.id"))?;
            let rows = statement.query_map([aircraft], from_row)?;
            rows.map(|row| checked(row?)).collect()
        })
    }
}

fn checked(card: Card) -> Result<Card, Fault> {
    let what = format!("card {}", card.id);
    verify(what, &card.sha256, sha256_of_two(&card.html, card.json.as_bytes()))?;
    Ok(card)
}

fn from_row(row: &Row<'_>) -> Result<Card, rusqlite::Error> {
    Ok(Card {
        id: CardId(row.get(0)?),
        aircraft: row.get(1)?,
        revision: RevisionId(row.get(2)?),
        revision_number: row.get(3)?,
        html: row.get(4)?,
        json: row.get(5)?,
        sha256: row.get(6)?,
        version: row.get(7)?,
        at_ms: row.get(8)?,
    })
}
