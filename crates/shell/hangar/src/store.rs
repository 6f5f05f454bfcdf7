//! How does a piece of SQL become one durable step, and its failure a cause?

use std::path::Path;

use rusqlite::{Connection, ErrorCode, Transaction, TransactionBehavior};
use sha2::{Digest, Sha256};

use crate::error::HangarError;
use crate::open::{BUSY_TIMEOUT, Hangar};

/// A failure inside a step: SQLite's, or one that already has its cause.
pub(crate) enum Fault {
    /// To be turned into a cause, with the path of the file.
    Sql(rusqlite::Error),
    /// Ready.
    Told(HangarError),
}

impl From<rusqlite::Error> for Fault {
    fn from(error: rusqlite::Error) -> Self {
        Self::Sql(error)
    }
}

impl From<HangarError> for Fault {
    fn from(error: HangarError) -> Self {
        Self::Told(error)
    }
}

impl Fault {
    /// The cause, for the file at `path`, while `doing` something.
    pub(crate) fn tell(self, path: &Path, doing: &'static str) -> HangarError {
        let error = match self {
            Self::Told(told) => return told,
            Self::Sql(error) => error,
        };
        let path = path.to_path_buf();
        let cause = error.to_string();
        match error.sqlite_error_code() {
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => {
                HangarError::Busy { path, waited_s: BUSY_TIMEOUT.as_secs() }
            }
            Some(ErrorCode::ReadOnly) => HangarError::ReadOnly { path },
            Some(ErrorCode::DiskFull) => HangarError::Full { path },
            Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase) => {
                HangarError::Damaged { path, cause }
            }
            Some(ErrorCode::CannotOpen | ErrorCode::PermissionDenied) => {
                HangarError::CannotOpen { path, cause }
            }
            _ => HangarError::Storage { path, doing, cause },
        }
    }
}

impl Hangar {
    /// Runs one step that writes: all of it is on the disk when this returns, or none of it is kept.
    pub(crate) fn write<T>(
        &mut self,
        doing: &'static str,
        step: impl FnOnce(&Transaction<'_>) -> Result<T, Fault>,
    ) -> Result<T, HangarError> {
        // Immediate: the lock is waited for before anything is read, so that what the step read still holds when
        // it writes.
        let outcome = self
            .connection
            .transaction_with_behavior(TransactionBehavior::Immediate)
            .map_err(Fault::from)
            .and_then(|transaction| {
                let result = step(&transaction)?;
                transaction.commit()?;
                Ok(result)
            });
        outcome.map_err(|fault| fault.tell(&self.path, doing))
    }

    /// Runs one step that only reads.
    pub(crate) fn read<T>(
        &self,
        doing: &'static str,
        step: impl FnOnce(&Connection) -> Result<T, Fault>,
    ) -> Result<T, HangarError> {
        step(&self.connection).map_err(|fault| fault.tell(&self.path, doing))
    }
}

/// SHA-256 of some bytes, hexadecimal.
pub(crate) fn sha256(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// SHA-256 of two pieces, the length of the first between them so that the border counts.
pub(crate) fn sha256_of_two(first: &[u8], second: &[u8]) -> String {
    let mut digest = Sha256::new();
    digest.update((first.len() as u64).to_le_bytes());
    digest.update(first);
    digest.update(second);
    digest.finalize().iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Refuses bytes that are not those whose checksum was kept.
pub(crate) fn verify(what: String, kept: &str, found: String) -> Result<(), HangarError> {
    if kept == found { Ok(()) } else { Err(HangarError::Checksum { what, kept: kept.to_owned(), found }) }
}

/// Refuses text that is not one JSON document.
pub(crate) fn require_json(connection: &Connection, what: &'static str, json: &str) -> Result<(), Fault> {
    let valid: bool = connection.query_row("SELECT json_valid(?1)", [json], |row| row.get(0))?;
    if valid { Ok(()) } else { Err(HangarError::NotJson { what }.into()) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_checksum_is_the_published_one() {
        // FIPS 180-4 example: SHA-256 of "abc" (NIST, "SHA256 one block message sample").
        assert_eq!(sha256(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }

    #[test]
    fn moving_the_border_between_two_pieces_changes_their_checksum() {
        assert_ne!(sha256_of_two(b"ab", b"c"), sha256_of_two(b"a", b"bc"));
    }
}
