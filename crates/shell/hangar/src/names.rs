//! Which names can be kept, and which aircraft are there? A name is text, never a path: no character of it reaches
//! the file system.

use rusqlite::{Connection, OptionalExtension};

use crate::error::HangarError;
use crate::open::Hangar;
use crate::store::Fault;

/// Longest name, in characters.
const LONGEST_NAME: usize = 120;

impl Hangar {
    /// Names of all aircraft kept, in alphabetical order of their characters.
    ///
    /// # Errors
    /// The causes of [`HangarError`] that concern reading the file.
    pub fn names(&self) -> Result<Vec<String>, HangarError> {
        self.read("listing the aircraft", |connection| {
            let mut statement = connection.prepare_cached("SELECT name FROM aircraft ORDER BY name")?;
            let names = statement.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
            Ok(names)
        })
    }
}

/// Refuses a name that could not be typed, shown or told apart.
pub(crate) fn require_name(name: &str) -> Result<(), HangarError> {
    let why = if name.is_empty() {
        "it is empty"
    } else if name.trim() != name {
        "it begins or ends with a space"
    } else if name.chars().any(char::is_control) {
        "it has a control character (a line break, say)"
    } else if name.chars().count() > LONGEST_NAME {
        "it is longer than 120 characters"
    } else {
        return Ok(());
    };
    let name = name.chars().take(LONGEST_NAME).flat_map(char::escape_debug).collect();
    Err(HangarError::BadName { name, why })
}

/// Row number of the aircraft of that name.
pub(crate) fn aircraft_row(connection: &Connection, name: &str) -> Result<i64, Fault> {
    let row = connection
        .query_row("SELECT id FROM aircraft WHERE name = ?1", [name], |row| row.get(0))
        .optional()?;
    if let Some(row) = row {
        return Ok(row);
    }
    let mut statement = connection.prepare("SELECT name FROM aircraft ORDER BY name LIMIT 8")?;
    let kept = statement.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
    Err(HangarError::NoAircraft { name: name.to_owned(), kept }.into())
}
