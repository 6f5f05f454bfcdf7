//! Which coordinate files go with a revision of an aircraft?

use rusqlite::{Connection, params};

use crate::error::HangarError;
use crate::open::Hangar;
use crate::revisions::RevisionId;
use crate::store::{Fault, sha256, verify};

/// A coordinate file that an aircraft file names.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct SectionFile {
    /// Its name, as the aircraft file says it.
    pub name: String,
    /// What it holds, byte for byte.
    pub text: String,
}

impl Hangar {
    /// The coordinate files of a revision, by name.
    ///
    /// # Errors
    /// [`HangarError::Checksum`], and the causes that concern reading.
    pub fn section_files(&self, revision: RevisionId) -> Result<Vec<SectionFile>, HangarError> {
        self.read("reading coordinate files", |connection| of(connection, revision.0))
    }
}

pub(crate) fn keep(connection: &Connection, revision: i64, files: &[SectionFile]) -> Result<(), Fault> {
    let mut statement = connection
        .prepare_cached("INSERT INTO section_file (revision, name, text, sha256) VALUES (?1, ?2, ?3, ?4)")?;
    for file in files {
        let bytes = file.text.as_bytes();
        statement.execute(params![revision, file.name, bytes, sha256(bytes)])?;
    }
    Ok(())
}

pub(crate) fn of(connection: &Connection, revision: i64) -> Result<Vec<SectionFile>, Fault> {
    let mut statement = connection
        .prepare_cached("SELECT name, text, sha256 FROM section_file WHERE revision = ?1 ORDER BY name")?;
    let rows = statement.query_map([revision], |row| {
        Ok((row.get::<_, String>(0)?, row.get::<_, Vec<u8>>(1)?, row.get::<_, String>(2)?))
    })?;
    let mut files = Vec::new();
    for row in rows {
        let (name, bytes, kept) = row?;
        let what = format!("coordinate file \"{name}\"");
        verify(what.clone(), &kept, sha256(&bytes))?;
        let text = String::from_utf8(bytes).map_err(|_| HangarError::Checksum {
            what,
            kept,
            found: "of bytes that are no text".to_owned(),
        })?;
        files.push(SectionFile { name, text });
    }
    Ok(files)
}
