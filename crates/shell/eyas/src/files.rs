//! How are files read and written? Whole or not at all, and every failure with its path.

use std::fs::{self, File};
use std::io::Write as _;
use std::path::{Path, PathBuf};

use crate::tell::{Kind, Trouble};

/// Largest recording taken, bytes: beyond this the machine would run out of memory before it had an answer.
const LARGEST_RECORDING_BYTES: u64 = 4 << 30;
/// Largest aircraft file, map, script or findings taken, bytes.
const LARGEST_TEXT_BYTES: u64 = 16 << 20;

/// Reads a text file.
pub(crate) fn read_text(path: &Path, what: &str) -> Result<String, Trouble> {
    let bytes = read_limited(path, what, LARGEST_TEXT_BYTES)?;
    String::from_utf8(bytes).map_err(|error| {
        Trouble::new(
            Kind::Input,
            format!("{} could not be read as {what}", path.display()),
            format!("it is not text in UTF-8: byte {} is not", error.utf8_error().valid_up_to()),
            "save it as UTF-8 text, or name the right file",
        )
    })
}

/// Reads a recording.
pub(crate) fn read_recording(path: &Path) -> Result<Vec<u8>, Trouble> {
    read_limited(path, "a recording", LARGEST_RECORDING_BYTES)
}

fn read_limited(path: &Path, what: &str, limit: u64) -> Result<Vec<u8>, Trouble> {
    let trouble = |cause: String, remedy: &str| {
        Trouble::new(Kind::Input, format!("{} could not be read as {what}", path.display()), cause, remedy)
    };
    let meta = fs::metadata(path).map_err(|e| trouble(io_cause(&e), "check the path and the spelling"))?;
    if meta.is_dir() {
        return Err(trouble("it is a folder".into(), "name a file inside it"));
    }
    if meta.len() > limit {
        return Err(trouble(
            format!("it claims {} MB, more than the {} MB taken", meta.len() >> 20, limit >> 20),
            "cut the file to the flight in question, or log fewer columns",
        ));
    }
    let bytes = fs::read(path).map_err(|e| trouble(io_cause(&e), "check that it may be read"))?;
    if bytes.len() as u64 > limit {
        return Err(trouble("it grew while it was read".into(), "copy it first, then read the copy"));
    }
    Ok(bytes)
}

/// Writes a file whole or not at all: to a neighbour first, flushed to disk, then renamed into place.
pub(crate) fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), Trouble> {
    let trouble = |cause: String| {
        Trouble::new(
            Kind::Input,
            format!("{} could not be written", path.display()),
            cause,
            "check the folder, its permissions and the space left",
        )
    };
    let folder = match path.parent() {
        Some(p) if !p.as_os_str().is_empty() => p.to_path_buf(),
        _ => PathBuf::from("."),
    };
    fs::create_dir_all(&folder).map_err(|e| trouble(io_cause(&e)))?;
    let name = path.file_name().ok_or_else(|| trouble("the path names no file".into()))?;
    let mut beside = folder.join(name);
    beside.set_file_name(format!(".{}.{}.part", name.to_string_lossy(), std::process::id()));
    let written = File::create(&beside)
        .and_then(|mut file| {
            file.write_all(bytes)?;
            file.sync_all()
        })
        .and_then(|()| fs::rename(&beside, path));
    if let Err(error) = written {
        // The half-written neighbour is ours and of no use to anybody.
        let _ = fs::remove_file(&beside);
        return Err(trouble(io_cause(&error)));
    }
    Ok(())
}

fn io_cause(error: &std::io::Error) -> String {
    match error.kind() {
        std::io::ErrorKind::NotFound => "there is no such file or folder".into(),
        std::io::ErrorKind::PermissionDenied => "this user may not do that there".into(),
        _ => error.to_string(),
    }
}
