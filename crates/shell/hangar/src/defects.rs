//! What is wrong with an aircraft, what was done about it, and which parts are on their way?

use std::fmt;

use rusqlite::{OptionalExtension, Row, Transaction, params};

use crate::error::HangarError;
use crate::names::aircraft_row;
use crate::open::Hangar;
use crate::store::Fault;

/// Number of a defect among those of all aircraft.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct DefectId(pub i64);

impl fmt::Display for DefectId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// A defect to keep.
#[derive(Debug, Clone, Copy)]
pub struct NewDefect<'a> {
    /// Which part of the aircraft: a word of the caller's list.
    pub place: &'a str,
    /// What is wrong, in the user's words.
    pub what: &'a str,
    /// Whether the aircraft must not fly with it.
    pub grounds: bool,
    /// Who found it; may be empty.
    pub by: &'a str,
    /// Now, ms since 1970-01-01 UTC.
    pub at_ms: i64,
}

/// How a defect is closed.
#[derive(Debug, Clone, Copy)]
pub struct NewRepair<'a> {
    /// Kind of repair: a word of the caller's list.
    pub repair: &'a str,
    /// What was done, in the user's words.
    pub done: &'a str,
    /// Who did it; may be empty.
    pub by: &'a str,
    /// Now, ms since 1970-01-01 UTC.
    pub at_ms: i64,
}

/// A defect, open or closed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Defect {
    /// Number among those of all aircraft.
    pub id: DefectId,
    /// Name of the aircraft.
    pub aircraft: String,
    /// Which part of the aircraft.
    pub place: String,
    /// What is wrong.
    pub what: String,
    /// Whether the aircraft must not fly with it.
    pub grounds: bool,
    /// Who found it.
    pub by: String,
    /// When it was told, ms since 1970-01-01 UTC.
    pub at_ms: i64,
    /// How it was closed; none while it is open.
    pub closed: Option<Repair>,
}

/// How a defect was closed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Repair {
    /// Kind of repair.
    pub repair: String,
    /// What was done.
    pub done: String,
    /// Who did it.
    pub by: String,
    /// When, ms since 1970-01-01 UTC.
    pub at_ms: i64,
}

/// A part to order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// Number among those of all aircraft.
    pub id: i64,
    /// Name of the aircraft.
    pub aircraft: String,
    /// The defect that it is for, if any.
    pub defect: Option<DefectId>,
    /// What to order.
    pub what: String,
    /// When it was noted, ms since 1970-01-01 UTC.
    pub at_ms: i64,
    /// When it arrived, ms since 1970-01-01 UTC; none while it is on its way.
    pub here_ms: Option<i64>,
}

const DEFECTS: &str = "SELECT d.id, a.name, d.place, d.what, d.grounds, d.told_by, d.at_ms, c.repair, c.done, c.done_by, c.at_ms
    FROM defect d JOIN aircraft a ON a.id = d.aircraft LEFT JOIN defect_closed c ON c.defect = d.id";

const PARTS: &str = "SELECT p.id, a.name, p.defect, p.what, p.at_ms, h.at_ms
    FROM part p JOIN aircraft a ON a.id = p.aircraft LEFT JOIN part_here h ON h.part = p.id";

impl Hangar {
    /// Keeps a defect.
    ///
    /// # Errors
    /// [`HangarError::NoAircraft`], and the causes that concern writing.
    pub fn open_defect(&mut self, name: &str, new: &NewDefect<'_>) -> Result<Defect, HangarError> {
        self.write("keeping a defect", |transaction| {
            let aircraft = aircraft_row(transaction, name)?;
            transaction.execute(
                "INSERT INTO defect (aircraft, place, what, grounds, told_by, at_ms) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
                params![aircraft, new.place, new.what, new.grounds, new.by, new.at_ms],
            )?;
            defect(transaction, DefectId(transaction.last_insert_rowid()))
        })
    }

    /// Closes a defect with what was done.
    ///
    /// # Errors
    /// [`HangarError::Nothing`], [`HangarError::AlreadyDone`], and the causes that concern writing.
    pub fn close_defect(&mut self, id: DefectId, repair: &NewRepair<'_>) -> Result<Defect, HangarError> {
        self.write("closing a defect", |transaction| {
            if let Some(closed) = defect(transaction, id)?.closed {
                let at_ms = closed.at_ms;
                return Err(HangarError::AlreadyDone { what: "defect", id: id.0, at_ms }.into());
            }
            transaction.execute(
                "INSERT INTO defect_closed (defect, repair, done, done_by, at_ms) VALUES (?1, ?2, ?3, ?4, ?5)",
                params![id.0, repair.repair, repair.done, repair.by, repair.at_ms],
            )?;
            defect(transaction, id)
        })
    }

    /// All defects of an aircraft, open and closed, oldest first.
    ///
    /// # Errors
    /// [`HangarError::NoAircraft`], and the causes that concern reading.
    pub fn defects(&self, name: &str) -> Result<Vec<Defect>, HangarError> {
        self.read("listing the defects", |connection| {
            let aircraft = aircraft_row(connection, name)?;
            let mut statement =
                connection.prepare_cached(&format!("{DEFECTS} WHERE d.aircraft = ?1 ORDER BY d.id"))?;
            let rows = statement.query_map([aircraft], defect_from)?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }

    /// Notes a part to order.
    ///
    /// # Errors
    /// [`HangarError::NoAircraft`], [`HangarError::Nothing`] for a defect that is not there,
    /// [`HangarError::OtherAircraft`] for one of another aircraft, and the causes that concern writing.
    pub fn need_part(
        &mut self,
        name: &str,
        what: &str,
        of: Option<DefectId>,
        at_ms: i64,
    ) -> Result<Part, HangarError> {
        self.write("noting a part", |transaction| {
            let aircraft = aircraft_row(transaction, name)?;
            if let Some(id) = of {
                let of = defect(transaction, id)?.aircraft;
                if of != name {
                    return Err(
                        HangarError::OtherAircraft { what: "defect", of, not: name.to_owned() }.into()
                    );
                }
            }
            transaction.execute(
                "INSERT INTO part (aircraft, defect, what, at_ms) VALUES (?1, ?2, ?3, ?4)",
                params![aircraft, of.map(|id| id.0), what, at_ms],
            )?;
            part(transaction, transaction.last_insert_rowid())
        })
    }

    /// Says that a part has arrived.
    ///
    /// # Errors
    /// [`HangarError::Nothing`], [`HangarError::AlreadyDone`], and the causes that concern writing.
    pub fn part_arrived(&mut self, id: i64, at_ms: i64) -> Result<Part, HangarError> {
        self.write("noting a part", |transaction| {
            if let Some(here) = part(transaction, id)?.here_ms {
                return Err(HangarError::AlreadyDone { what: "part", id, at_ms: here }.into());
            }
            transaction.execute("INSERT INTO part_here (part, at_ms) VALUES (?1, ?2)", params![id, at_ms])?;
            part(transaction, id)
        })
    }

    /// All parts ever noted for an aircraft, oldest first.
    ///
    /// # Errors
    /// [`HangarError::NoAircraft`], and the causes that concern reading.
    pub fn parts(&self, name: &str) -> Result<Vec<Part>, HangarError> {
        self.read("listing the parts", |connection| {
            let aircraft = aircraft_row(connection, name)?;
            let mut statement =
                connection.prepare_cached(&format!("{PARTS} WHERE p.aircraft = ?1 ORDER BY p.id"))?;
            let rows = statement.query_map([aircraft], part_from)?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }
}

fn defect(transaction: &Transaction<'_>, id: DefectId) -> Result<Defect, Fault> {
    transaction
        .query_row(&format!("{DEFECTS} WHERE d.id = ?1"), [id.0], defect_from)
        .optional()?
        .ok_or_else(|| HangarError::Nothing { what: "defect", id: id.0 }.into())
}

fn defect_from(row: &Row<'_>) -> Result<Defect, rusqlite::Error> {
    let closed = match row.get::<_, Option<String>>(7)? {
        None => None,
        Some(repair) => Some(Repair { repair, done: row.get(8)?, by: row.get(9)?, at_ms: row.get(10)? }),
    };
    Ok(Defect {
        id: DefectId(row.get(0)?),
        aircraft: row.get(1)?,
        place: row.get(2)?,
        what: row.get(3)?,
        grounds: row.get(4)?,
        by: row.get(5)?,
        at_ms: row.get(6)?,
        closed,
    })
}

fn part(transaction: &Transaction<'_>, id: i64) -> Result<Part, Fault> {
    transaction
        .query_row(&format!("{PARTS} WHERE p.id = ?1"), [id], part_from)
        .optional()?
        .ok_or_else(|| HangarError::Nothing { what: "part", id }.into())
}

fn part_from(row: &Row<'_>) -> Result<Part, rusqlite::Error> {
    Ok(Part {
        id: row.get(0)?,
        aircraft: row.get(1)?,
        defect: row.get::<_, Option<i64>>(2)?.map(DefectId),
        what: row.get(3)?,
        at_ms: row.get(4)?,
        here_ms: row.get(5)?,
    })
}
