//! What does a recording say? Read through its map or a proposed one, and learnt from.

use std::path::{Path, PathBuf};

use aircraft::Aircraft;
use fly::map::ColumnMap;
use fly::propose::Proposal;
use fly::read::{Format, Reading};
use fly::recording::Recording;

use crate::cli::Common;
use crate::files;
use crate::tasks::{fetch, keep};
use crate::tell::{Kind, Trouble};

/// A recording with how it was read.
pub(crate) struct Studied {
    /// Its bytes, as they came.
    pub(crate) bytes: Vec<u8>,
    /// What they say.
    pub(crate) recording: Recording,
    /// What they are written in.
    pub(crate) format: Format,
    /// The map they were read through; none for formats that say themselves what is what.
    pub(crate) map: Option<ColumnMap>,
    /// How the map was proposed; absent where one was given.
    pub(crate) proposal: Option<Proposal>,
}

impl Studied {
    /// The map as text; a remark where the file needs none.
    pub(crate) fn map_text(&self) -> String {
        match &self.map {
            Some(map) => map.to_toml(),
            None => format!("# The recording is {}; it needs no column map.\n", self.format.word()),
        }
    }
}

/// Reads a recording of any format, columns through a map file or through a map proposed from the recording itself.
pub(crate) fn recording(path: &Path, map: Option<&Path>) -> Result<Studied, Trouble> {
    let map = map.map(column_map).transpose()?;
    from_bytes(files::read_recording(path)?, &path.display().to_string(), map.as_ref())
}

/// The same of bytes at hand.
pub(crate) fn from_bytes(bytes: Vec<u8>, named: &str, map: Option<&ColumnMap>) -> Result<Studied, Trouble> {
    let Reading { mut recording, format, map, proposal } = fly::read::read(&bytes, map).map_err(|error| {
        Trouble::new(
            Kind::Input,
            format!("{named} could not be read as a recording"),
            error.to_string(),
            "save the log as CSV text with one line a sample, as GPX, IGC or NMEA 0183, or give a column map that says which column is what; \
             the file itself was not changed",
        )
    })?;
    // A map given by hand is held against the laws that tie the channels, as a proposed one is.
    let against = fly::sense::check(&recording);
    recording.flaws.extend(against);
    Ok(Studied { bytes, recording, format, map, proposal })
}

/// Joins further files of the same flight, aligned in time, to one that was read.
pub(crate) fn joined(studied: &mut Studied, others: &[PathBuf]) -> Result<(), Trouble> {
    if others.is_empty() {
        return Ok(());
    }
    let mut all = vec![std::mem::take(&mut studied.recording)];
    for path in others {
        all.push(recording(path, None)?.recording);
    }
    studied.recording = fly::align::align(all);
    Ok(())
}

/// The aircraft as its file was when a recording was flown, where the hangar keeps that recording already: the file may
/// have adopted its findings since.
pub(crate) fn as_flown(name: &str, bytes: &[u8], common: &Common) -> Result<Option<Aircraft>, Trouble> {
    let Some(hangar) = keep::open_existing(common)? else {
        return Ok(None);
    };
    let Some(recording) = hangar.recording_of(name, bytes).map_err(keep::trouble)? else {
        return Ok(None);
    };
    let revision = hangar.revision(name, recording.revision_number).map_err(keep::trouble)?;
    let files = hangar.section_files(revision.id).map_err(keep::trouble)?;
    fetch::kept_text(&revision.text, &format!("revision {}", revision.number), &files).map(Some)
}

fn column_map(path: &Path) -> Result<ColumnMap, Trouble> {
    let text = files::read_text(path, "a column map")?;
    ColumnMap::from_toml(&text).map_err(|faults| {
        Trouble::many(
            Kind::Input,
            format!("{} is no column map as it stands", path.display()),
            faults.iter().map(|f| format!("{}:{f}", path.display())).collect(),
            "mend the lines named, or have a map proposed with `eyas read RECORDING --guess`",
        )
    })
}
