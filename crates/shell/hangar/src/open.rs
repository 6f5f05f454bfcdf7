//! Is this file a hangar, and is it whole? Opening, examining, copying.

use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use rusqlite::config::DbConfig;
use rusqlite::{Connection, OpenFlags, TransactionBehavior};

use crate::error::HangarError;
use crate::schema::{APPLICATION_ID, MIGRATIONS, VERSION};
use crate::store::Fault;

/// How long to wait for another program that is writing.
pub(crate) const BUSY_TIMEOUT: Duration = Duration::from_secs(20);

/// How long between two tries to set up a file that another program is setting up.
const RETRY: Duration = Duration::from_millis(20);

/// An open hangar. Several programs may have the same file open; writers wait for each other.
#[derive(Debug)]
pub struct Hangar {
    pub(crate) connection: Connection,
    pub(crate) path: PathBuf,
    pub(crate) updated: Option<Updated>,
}

/// That the tables of an older program were brought up to date, and where the file from before is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Updated {
    /// Version of the tables before.
    pub from: u32,
    /// The copy from before.
    pub copy: PathBuf,
}

/// Something wrong with a hangar that can still be opened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Flaw {
    /// SQLite's own check of the file found something.
    Structure(String),
    /// Kept bytes no longer match their checksum, or cannot be read.
    Contents(String),
}

/// What the first hundred bytes of a file say (SQLite file format, "The Database Header").
enum Head {
    /// No file, or an empty one.
    Nothing,
    /// A database of SQLite with its mark and the version of its tables.
    Database { application_id: u32, version: u32 },
    /// Something else.
    Other(&'static str),
}

impl Hangar {
    /// Opens the hangar at `path`; makes folder and file where there are none, and brings the tables of an older
    /// program up to date, after a copy was made beside the file ([`Hangar::updated`]).
    ///
    /// # Errors
    /// [`HangarError::NotAHangar`] and [`HangarError::Newer`] leave the file as it is; otherwise the causes that
    /// concern opening and writing files.
    pub fn open(path: impl AsRef<Path>) -> Result<Self, HangarError> {
        let path = path.as_ref();
        let fresh = match head(path)? {
            Head::Nothing => true,
            Head::Database { application_id, version } if application_id == APPLICATION_ID => {
                require_known(path, version)?;
                false
            }
            Head::Database { .. } => {
                let found = "a database of another program";
                return Err(HangarError::NotAHangar { path: path.into(), found });
            }
            Head::Other(found) => {
                return Err(HangarError::NotAHangar { path: path.into(), found });
            }
        };
        if fresh {
            make_folder(path)?;
        }
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE
            | OpenFlags::SQLITE_OPEN_CREATE
            | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let connection = Connection::open_with_flags(path, flags)
            .map_err(|error| Fault::Sql(error).tell(path, "opening"))?;
        let mut hangar = Self { connection, path: path.to_path_buf(), updated: None };
        hangar.set_up()?;
        Ok(hangar)
    }

    /// Copies the hangar at `from`, which is left as it is, to a new file and opens the copy.
    ///
    /// # Errors
    /// As [`Hangar::open`], and [`HangarError::BackupExists`] where there is a file at `to`.
    pub fn open_copy(from: impl AsRef<Path>, to: impl AsRef<Path>) -> Result<Self, HangarError> {
        let (from, to) = (from.as_ref(), to.as_ref());
        match head(from)? {
            Head::Database { application_id, version } if application_id == APPLICATION_ID => {
                require_known(from, version)?;
            }
            Head::Database { .. } => {
                let found = "a database of another program";
                return Err(HangarError::NotAHangar { path: from.into(), found });
            }
            Head::Nothing => {
                return Err(HangarError::NotAHangar { path: from.into(), found: "an empty file" });
            }
            Head::Other(found) => return Err(HangarError::NotAHangar { path: from.into(), found }),
        }
        if fs::symlink_metadata(to).is_ok() {
            return Err(HangarError::BackupExists { path: to.into() });
        }
        let name = to
            .to_str()
            .ok_or_else(|| HangarError::BadName { name: to.display().to_string(), why: "it is not UTF-8" })?;
        // Through SQLite: what still stands in a journal beside the file comes along.
        let source = Connection::open_with_flags(from, OpenFlags::SQLITE_OPEN_READ_ONLY)
            .map_err(|error| Fault::Sql(error).tell(from, "copying"))?;
        source.execute("VACUUM INTO ?1", [name]).map_err(|error| Fault::Sql(error).tell(from, "copying"))?;
        drop(source);
        Self::open(to)
    }

    /// The file that this hangar is kept in.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// What was done to the tables of an older program when this hangar was opened; none where nothing had to be.
    #[must_use]
    pub fn updated(&self) -> Option<&Updated> {
        self.updated.as_ref()
    }

    /// Copies an older program's hangar before its tables are changed. A copy that is there already, of an earlier
    /// try or by another program, serves.
    fn copy_before_update(&mut self) -> Result<(), HangarError> {
        let tell = |error: rusqlite::Error| Fault::Sql(error).tell(&self.path, "opening");
        let from = self.version().map_err(tell)?;
        if from == 0 || from >= VERSION {
            return Ok(());
        }
        let mut copy = self.path.clone().into_os_string();
        copy.push(format!(".tables-{from}"));
        let copy = PathBuf::from(copy);
        match self.backup(&copy) {
            Ok(()) | Err(HangarError::BackupExists { .. }) => {
                self.updated = Some(Updated { from, copy });
                Ok(())
            }
            Err(error) => Err(error),
        }
    }

    /// Settings of the connection, then the tables. Another program may be doing the same at this moment; whoever
    /// comes second finds everything done.
    fn set_up(&mut self) -> Result<(), HangarError> {
        let started = Instant::now();
        loop {
            match self.try_set_up() {
                Err(HangarError::Busy { .. }) if started.elapsed() < BUSY_TIMEOUT => {
                    std::thread::sleep(RETRY)
                }
                outcome => return outcome,
            }
        }
    }

    fn try_set_up(&mut self) -> Result<(), HangarError> {
        let path = self.path.clone();
        let tell = |error: rusqlite::Error| Fault::Sql(error).tell(&path, "opening");
        // Should the file turn out to be a newer program's, closing must not fold its journal into it.
        self.connection.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, true).map_err(tell)?;
        self.connection.busy_timeout(BUSY_TIMEOUT).map_err(tell)?;
        require_known(&path, self.version().map_err(tell)?)?;
        if self.connection.is_readonly("main").map_err(tell)? {
            return Err(HangarError::ReadOnly { path });
        }
        self.connection.pragma_update(None, "synchronous", "FULL").map_err(tell)?;
        self.connection.pragma_update(None, "foreign_keys", true).map_err(tell)?;
        // The tables come before the switch to the write-ahead journal: the mark that says "a hangar" then stands in
        // the file itself from its first page on, and not in a journal beside it.
        self.copy_before_update()?;
        self.connection.set_transaction_behavior(TransactionBehavior::Immediate);
        if let Err(error) = MIGRATIONS.to_latest(&mut self.connection) {
            self.told_of_migration(error)?;
        }
        let mode: String = self
            .connection
            .pragma_update_and_check(None, "journal_mode", "WAL", |row| row.get(0))
            .map_err(tell)?;
        if mode != "wal" {
            let cause = format!("the write-ahead journal could not be switched on (it is \"{mode}\")");
            return Err(HangarError::Storage { path, doing: "opening", cause });
        }
        self.connection.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, false).map_err(tell)?;
        Ok(())
    }

    /// A migration that failed since another program was faster has not failed.
    fn told_of_migration(&self, error: rusqlite_migration::Error) -> Result<(), HangarError> {
        if self.version().is_ok_and(|version| version == VERSION) {
            return Ok(());
        }
        let doing = "bringing the tables up to date";
        Err(match error {
            rusqlite_migration::Error::RusqliteError { err, .. } => Fault::Sql(err).tell(&self.path, doing),
            other => HangarError::Storage { path: self.path.clone(), doing, cause: other.to_string() },
        })
    }

    fn version(&self) -> Result<u32, rusqlite::Error> {
        self.connection.pragma_query_value(None, "user_version", |row| row.get(0))
    }

    /// Looks at everything: the structure of the file, every reference, every checksum. An empty list means that all
    /// is well. Takes about as long as reading the whole file.
    ///
    /// # Errors
    /// The causes that keep the file from being read at all.
    pub fn examine(&self) -> Result<Vec<Flaw>, HangarError> {
        let mut flaws = self.read("examining", |connection| Ok(structure(connection)?))?;
        if flaws.is_empty() {
            flaws.extend(self.contents()?.into_iter().map(Flaw::Contents));
        }
        Ok(flaws)
    }

    fn contents(&self) -> Result<Vec<String>, HangarError> {
        let mut flaws = Vec::new();
        for name in self.names()? {
            let wrong = [self.revisions(&name).err(), self.cards(&name).err()];
            for kept in self.settings(&name)? {
                flaws.extend(self.settings_bytes(&name, kept.number).err().map(|error| error.to_string()));
            }
            flaws.extend(wrong.into_iter().flatten().map(|error| error.to_string()));
            for revision in self.revisions(&name).unwrap_or_default() {
                flaws.extend(self.section_files(revision.id).err().map(|error| error.to_string()));
            }
            for recording in self.recordings(&name)? {
                let wrong = [self.recording_bytes(recording.id).err(), self.findings(recording.id).err()];
                flaws.extend(wrong.into_iter().flatten().map(|error| error.to_string()));
            }
        }
        Ok(flaws)
    }

    /// Writes a copy of the whole hangar, as it is at this moment, to a file that must not be there yet. The copy is
    /// read back and on the disk before it gets its name.
    ///
    /// # Errors
    /// [`HangarError::BackupExists`], [`HangarError::BackupBroken`], and the causes that concern writing files.
    pub fn backup(&self, to: impl AsRef<Path>) -> Result<(), HangarError> {
        let to = to.as_ref();
        if fs::symlink_metadata(to).is_ok() {
            return Err(HangarError::BackupExists { path: to.into() });
        }
        make_folder(to)?;
        let mut part = to.as_os_str().to_owned();
        part.push(format!(".part-{}", std::process::id()));
        let part = PathBuf::from(part);
        let copied = self.copy_to(&part, to);
        if copied.is_err() {
            // Whatever there is of a copy that failed is of no use; that it may not be there is no news.
            let _ = fs::remove_file(&part);
        }
        copied
    }

    fn copy_to(&self, part: &Path, to: &Path) -> Result<(), HangarError> {
        let unreadable = |source| HangarError::Unreadable { path: to.into(), source };
        let name = part.to_str().ok_or_else(|| HangarError::BadName {
            name: part.display().to_string(),
            why: "it is not UTF-8",
        })?;
        self.connection
            .execute("VACUUM INTO ?1", [name])
            .map_err(|error| Fault::Sql(error).tell(to, "copying"))?;
        let broken = |cause: String| HangarError::BackupBroken { path: to.into(), cause };
        let copy = Connection::open_with_flags(part, OpenFlags::SQLITE_OPEN_READ_ONLY)
            .map_err(|error| broken(error.to_string()))?;
        if let Some(flaw) = structure(&copy).map_err(|error| broken(error.to_string()))?.into_iter().next() {
            return Err(broken(format!("{flaw:?}")));
        }
        drop(copy);
        fs::File::open(part).and_then(|file| file.sync_all()).map_err(unreadable)?;
        place_new(part, to)
    }
}

/// Gives a finished file its name.
pub(crate) fn place_new(part: &Path, to: &Path) -> Result<(), HangarError> {
    let unreadable = |source| HangarError::Unreadable { path: to.into(), source };
    // A link, unlike a renaming, never takes the place of a file that came meanwhile. Some file systems know no
    // links; there the name was free a moment ago.
    match fs::hard_link(part, to) {
        Ok(()) => fs::remove_file(part).map_err(unreadable)?,
        Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => {
            return Err(HangarError::BackupExists { path: to.into() });
        }
        Err(_) => fs::rename(part, to).map_err(unreadable)?,
    }
    sync_folder(to).map_err(unreadable)
}

/// What SQLite's own checks say of a file.
fn structure(connection: &Connection) -> Result<Vec<Flaw>, rusqlite::Error> {
    let mut flaws = Vec::new();
    let mut statement = connection.prepare("PRAGMA integrity_check(20)")?;
    for line in statement.query_map([], |row| row.get::<_, String>(0))? {
        let line = line?;
        if line != "ok" {
            flaws.push(Flaw::Structure(line));
        }
    }
    let mut statement = connection.prepare("PRAGMA foreign_key_check")?;
    for table in statement.query_map([], |row| row.get::<_, String>(0))? {
        flaws.push(Flaw::Structure(format!("a row of {} refers to nothing", table?)));
    }
    Ok(flaws)
}

fn require_known(path: &Path, version: u32) -> Result<(), HangarError> {
    if version > VERSION {
        return Err(HangarError::Newer { path: path.into(), found: version, known: VERSION });
    }
    Ok(())
}

fn make_folder(path: &Path) -> Result<(), HangarError> {
    let folder = folder_of(path);
    fs::create_dir_all(&folder).map_err(|source| HangarError::NoFolder { folder, source })
}

pub(crate) fn folder_of(path: &Path) -> PathBuf {
    match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent.to_path_buf(),
        _ => PathBuf::from("."),
    }
}

/// Makes the name of a new file durable. Only Unix can open a folder for that.
pub(crate) fn sync_folder(path: &Path) -> std::io::Result<()> {
    if cfg!(unix) {
        fs::File::open(folder_of(path))?.sync_all()?;
    }
    Ok(())
}

fn head(path: &Path) -> Result<Head, HangarError> {
    let unreadable = |source| HangarError::Unreadable { path: path.into(), source };
    match fs::metadata(path) {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(Head::Nothing),
        Err(error) => return Err(unreadable(error)),
        Ok(metadata) if metadata.is_dir() => return Ok(Head::Other("a folder")),
        Ok(metadata) if !metadata.is_file() => return Ok(Head::Other("no ordinary file")),
        Ok(_) => {}
    }
    let mut bytes = Vec::with_capacity(100);
    fs::File::open(path).and_then(|file| file.take(100).read_to_end(&mut bytes)).map_err(unreadable)?;
    if bytes.is_empty() {
        return Ok(Head::Nothing);
    }
    if !bytes.starts_with(b"SQLite format 3\0") {
        return Ok(Head::Other("some other kind of file"));
    }
    // Big-endian numbers: 60..64 user version, 68..72 application id.
    let number = |at: usize| {
        let four = bytes.get(at..at + 4).and_then(|four| <[u8; 4]>::try_from(four).ok());
        four.map(u32::from_be_bytes)
    };
    match (number(68), number(60)) {
        (Some(application_id), Some(version)) => Ok(Head::Database { application_id, version }),
        _ => Ok(Head::Other("a database that was cut off")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_step_waits_for_the_disk() {
        let folder = tempfile::tempdir().unwrap();
        let hangar = Hangar::open(folder.path().join("a.hangar")).unwrap();
        let pragma = |name: &str| -> i64 {
            hangar.connection.pragma_query_value(None, name, |row| row.get(0)).unwrap()
        };
        // SQLite, "PRAGMA synchronous": 2 is FULL, which with the write-ahead journal syncs at each commit.
        assert_eq!(pragma("synchronous"), 2);
        assert_eq!(pragma("foreign_keys"), 1);
        assert_eq!(pragma("busy_timeout"), 20_000);
    }
}
