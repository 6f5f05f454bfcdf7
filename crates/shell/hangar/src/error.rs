//! What can go wrong in keeping and finding? One variant a cause, with the values a reader needs.

use std::fmt;
use std::io;
use std::path::PathBuf;

/// Why the hangar could not do what was asked.
#[derive(Debug)]
#[non_exhaustive]
pub enum HangarError {
    /// The folder for the file could not be made.
    NoFolder {
        /// The folder.
        folder: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// The file is there but could not be read, or could not be made.
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// SQLite could not open the file, most often for want of a permission on it or on its folder.
    CannotOpen {
        /// The file.
        path: PathBuf,
        /// What SQLite said.
        cause: String,
    },
    /// The file is something else; it was not touched.
    NotAHangar {
        /// The file.
        path: PathBuf,
        /// What it looks like.
        found: &'static str,
    },
    /// A newer program wrote the file; it was not touched.
    Newer {
        /// The file.
        path: PathBuf,
        /// Version of the file's tables.
        found: u32,
        /// Newest version that this program knows.
        known: u32,
    },
    /// The file or its folder may not be written.
    ReadOnly {
        /// The file.
        path: PathBuf,
    },
    /// Another program held the file for too long.
    Busy {
        /// The file.
        path: PathBuf,
        /// How long this one waited, s.
        waited_s: u64,
    },
    /// The disk is full; what was being kept was not kept, everything before it was.
    Full {
        /// The file.
        path: PathBuf,
    },
    /// The file's contents are broken.
    Damaged {
        /// The file.
        path: PathBuf,
        /// What SQLite said.
        cause: String,
    },
    /// Kept bytes no longer match the checksum that was kept with them.
    Checksum {
        /// What was being read ("recording 3").
        what: String,
        /// The checksum kept (SHA-256, hexadecimal).
        kept: String,
        /// The checksum of the bytes as they are now, or why there are none.
        found: String,
    },
    /// A thing is too large for one record.
    TooLarge {
        /// Its size, bytes.
        bytes: u64,
    },
    /// A name that cannot be kept.
    BadName {
        /// The name, control characters made visible.
        name: String,
        /// What is wrong with it.
        why: &'static str,
    },
    /// Text that should be JSON is not.
    NotJson {
        /// What was being kept ("findings").
        what: &'static str,
    },
    /// No aircraft of that name is kept.
    NoAircraft {
        /// The name asked for.
        name: String,
        /// Names that are kept, at most eight.
        kept: Vec<String>,
    },
    /// The aircraft has no such revision.
    NoRevision {
        /// The aircraft.
        name: String,
        /// The number asked for.
        number: u32,
        /// The newest number there is.
        newest: u32,
    },
    /// Nothing is kept under that number.
    Nothing {
        /// What was asked for ("recording", "findings", "card", "revision").
        what: &'static str,
        /// The number asked for.
        id: i64,
    },
    /// What should be done once was done already.
    AlreadyDone {
        /// What ("defect", "part").
        what: &'static str,
        /// Its number.
        id: i64,
        /// When it was done, ms since 1970-01-01 UTC.
        at_ms: i64,
    },
    /// A folder that should hold an export does not, or not whole.
    BadExport {
        /// The folder.
        folder: PathBuf,
        /// What is wrong with it.
        cause: String,
    },
    /// Findings, card or recording name a revision or recording of another aircraft.
    OtherAircraft {
        /// What was being kept.
        what: &'static str,
        /// Aircraft of the recording or findings.
        of: String,
        /// Aircraft of the revision.
        not: String,
    },
    /// The copy was not made since something is there already.
    BackupExists {
        /// Where the copy should have gone.
        path: PathBuf,
    },
    /// The copy was made but did not read back whole; it was removed.
    BackupBroken {
        /// Where the copy should have gone.
        path: PathBuf,
        /// What is wrong with it.
        cause: String,
    },
    /// SQLite failed for a reason that has no variant of its own.
    Storage {
        /// The file.
        path: PathBuf,
        /// What was being done.
        doing: &'static str,
        /// What SQLite said.
        cause: String,
    },
}

impl fmt::Display for HangarError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoFolder { folder, .. } => write!(f, "the folder {} could not be made", folder.display()),
            Self::Unreadable { path, .. } => write!(f, "{} could not be opened", path.display()),
            Self::CannotOpen { path, cause } => write!(f, "{} could not be opened: {cause}", path.display()),
            Self::NotAHangar { path, found } => {
                write!(f, "{} is not a hangar but {found}; it was left as it is", path.display())
            }
            Self::Newer { path, found, known } => write!(
                f,
                "{} was written by a newer program (its tables are version {found}, this program knows up to \
                 {known}); it was left as it is",
                path.display()
            ),
            Self::ReadOnly { path } => write!(f, "{} may not be written", path.display()),
            Self::Busy { path, waited_s } => {
                write!(f, "{} was held by another program for more than {waited_s} s", path.display())
            }
            Self::Full { path } => {
                write!(f, "the disk that holds {} is full; nothing was kept", path.display())
            }
            Self::Damaged { path, cause } => write!(f, "{} is damaged: {cause}", path.display()),
            Self::Checksum { what, kept, found } => {
                write!(f, "{what} is damaged: its checksum was {kept} when it was kept and is {found} now")
            }
            Self::TooLarge { bytes } => write!(f, "{bytes} bytes are too many for one record"),
            Self::BadName { name, why } => write!(f, "the name \"{name}\" cannot be kept: {why}"),
            Self::NotJson { what } => write!(f, "the {what} to keep are not a JSON document"),
            Self::NoAircraft { name, kept } if kept.is_empty() => {
                write!(f, "no aircraft named \"{name}\" is kept; the hangar is empty")
            }
            Self::NoAircraft { name, kept } => {
                write!(f, "no aircraft named \"{name}\" is kept; there are: {}", kept.join(", "))
            }
            Self::NoRevision { name, number, newest } => {
                write!(f, "\"{name}\" has no revision {number}; the newest is {newest}")
            }
            Self::Nothing { what, id } => write!(f, "the hangar keeps no {what} with the number {id}"),
            Self::AlreadyDone { what, id, .. } => write!(f, "the {what} {id} is done already"),
            Self::BadExport { folder, cause } => {
                write!(f, "{} is not a whole export of a hangar: {cause}", folder.display())
            }
            Self::OtherAircraft { what, of, not } => {
                write!(f, "the {what} belong to \"{of}\", the revision to \"{not}\"")
            }
            Self::BackupExists { path } => {
                write!(f, "{} is there already; it was left as it is", path.display())
            }
            Self::BackupBroken { path, cause } => {
                write!(f, "the copy {} did not read back whole ({cause}) and was removed", path.display())
            }
            Self::Storage { path, doing, cause } => write!(f, "{}: {doing} failed: {cause}", path.display()),
        }
    }
}

impl std::error::Error for HangarError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::NoFolder { source, .. } | Self::Unreadable { source, .. } => Some(source),
            _ => None,
        }
    }
}

impl HangarError {
    /// What the reader can do about it, in a sentence.
    #[must_use]
    pub fn what_to_do(&self) -> &'static str {
        match self {
            Self::NoFolder { .. }
            | Self::Unreadable { .. }
            | Self::CannotOpen { .. }
            | Self::ReadOnly { .. } => {
                "Name a file in a folder that you may write to, or mend the permissions."
            }
            Self::NotAHangar { .. } => "Name another file; a hangar is made where there is none.",
            Self::Newer { .. } => "Use the newer program, or a backup from before it was used.",
            Self::Busy { .. } => "Close the other program that uses this hangar, then try again.",
            Self::Full { .. } => {
                "Make room on the disk, then do it again; what was kept before is still there."
            }
            Self::Damaged { .. } | Self::Checksum { .. } => {
                "Make a copy of the file as it is, then go on with the newest backup."
            }
            Self::TooLarge { .. } => "Cut the recording to the flight, then keep it again.",
            Self::BadName { .. } => "Choose a name of one line that does not begin or end with a space.",
            Self::NotJson { .. } => "Keep the document as the program wrote it.",
            Self::NoAircraft { .. } => "Check the spelling, or keep the aircraft first.",
            Self::NoRevision { .. } | Self::Nothing { .. } => {
                "List what is kept and choose a number from the list."
            }
            Self::AlreadyDone { .. } => "List what is kept to see when; nothing was changed.",
            Self::BadExport { .. } => {
                "Copy the folder again from where it came, then import it into a new file."
            }
            Self::OtherAircraft { .. } => "Name the aircraft that made this flight.",
            Self::BackupExists { .. } => {
                "Choose another name for the copy, or move the file there away first."
            }
            Self::BackupBroken { .. } => "Check the disk that the copy went to and try another.",
            Self::Storage { .. } => "Check the disk; what was kept before is still there.",
        }
    }
}
