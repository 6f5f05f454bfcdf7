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

/// Reads a small file as bytes.
pub(crate) fn read_small(path: &Path, what: &str) -> Result<Vec<u8>, Trouble> {
    read_limited(path, what, LARGEST_TEXT_BYTES)
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

/// Writes a file whole or not at all: to a new neighbour first, flushed to disk, then renamed into place, the folder
/// flushed too. A file that is there keeps its permissions; behind a link, the file that it leads to is written.
pub(crate) fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), Trouble> {
    let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_path_buf());
    let part = part_file(&target, bytes).map_err(|e| not_written(path, &e))?;
    let done = fs::rename(&part, &target).and_then(|()| flush_folder(&target));
    settle(path, &part, done)
}

/// The same for a file that must not be there yet; whoever comes first keeps their file.
pub(crate) fn write_new(path: &Path, bytes: &[u8]) -> Result<(), Trouble> {
    let part = part_file(path, bytes).map_err(|e| not_written(path, &e))?;
    // A second name for the finished file: unlike a rename, it fails where the name is taken.
    let done =
        fs::hard_link(&part, path).and_then(|()| fs::remove_file(&part)).and_then(|()| flush_folder(path));
    settle(path, &part, done)
}

/// Refuses an output that is one of the inputs: it would be lost.
pub(crate) fn apart(output: &Path, inputs: &[&Path]) -> Result<(), Trouble> {
    let Ok(real) = fs::canonicalize(output) else {
        return Ok(());
    };
    for input in inputs {
        if fs::canonicalize(input).is_ok_and(|i| i == real) {
            return Err(Trouble::new(
                Kind::Input,
                format!("{} cannot be written", output.display()),
                "it is the file that is read from",
                "choose another name for what is to be written",
            ));
        }
    }
    Ok(())
}

/// Refuses to write over a file that somebody may have made or corrected by hand.
pub(crate) fn not_there_yet(output: &Path) -> Result<(), Trouble> {
    if output.exists() {
        return Err(Trouble::new(
            Kind::Input,
            format!("{} exists already and is not overwritten", output.display()),
            "it may be yours",
            "choose another name, or move the old file away",
        ));
    }
    Ok(())
}

/// A report is a page; anything else by that name is probably a slip.
pub(crate) fn page_name(path: &Path) -> Result<(), Trouble> {
    if path.extension().is_some_and(|e| e.eq_ignore_ascii_case("html")) {
        return Ok(());
    }
    Err(Trouble::new(
        Kind::Input,
        format!("{} cannot be written", path.display()),
        "its name does not end in .html",
        "reports are pages: name them FILE.html; a card may be FILE.html or FILE.pdf",
    ))
}

/// Writes the bytes to a file of our own beside the target and flushes them.
fn part_file(target: &Path, bytes: &[u8]) -> std::io::Result<PathBuf> {
    let name = target.file_name().ok_or_else(|| std::io::Error::other("the path names no file"))?;
    let folder = folder_of(target);
    if !folder.is_dir() {
        return Err(std::io::Error::other(format!("there is no folder {}", folder.display())));
    }
    let part = folder.join(format!(".{}.{}.part", name.to_string_lossy(), std::process::id()));
    // One that is left over is of a process of this number that died; a link planted there is not followed.
    match fs::remove_file(&part) {
        Ok(()) => {}
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => {}
        Err(error) => return Err(error),
    }
    let mut file = File::options().write(true).create_new(true).open(&part)?;
    let written = file
        .write_all(bytes)
        .and_then(|()| match fs::metadata(target) {
            Ok(meta) => file.set_permissions(meta.permissions()),
            Err(_) => Ok(()),
        })
        .and_then(|()| file.sync_all());
    if let Err(error) = written {
        // Half-written, ours, and of no use to anybody.
        let _ = fs::remove_file(&part);
        return Err(error);
    }
    Ok(part)
}

fn settle(path: &Path, part: &Path, done: std::io::Result<()>) -> Result<(), Trouble> {
    done.map_err(|error| {
        let _ = fs::remove_file(part);
        not_written(path, &error)
    })
}

fn folder_of(path: &Path) -> PathBuf {
    match path.parent() {
        Some(p) if !p.as_os_str().is_empty() => p.to_path_buf(),
        _ => PathBuf::from("."),
    }
}

/// A name is on the disk when its folder is. Folders cannot be flushed on every system; there the rename must do.
fn flush_folder(path: &Path) -> std::io::Result<()> {
    if cfg!(unix) { File::open(folder_of(path))?.sync_all() } else { Ok(()) }
}

fn not_written(path: &Path, error: &std::io::Error) -> Trouble {
    let (cause, remedy) = match error.kind() {
        std::io::ErrorKind::AlreadyExists => (
            "it exists already and is not overwritten".to_owned(),
            "choose another name, or move the old file away",
        ),
        _ => {
            (io_cause(error), "make the folder first, or check the path, its permissions and the space left")
        }
    };
    Trouble::new(Kind::Input, format!("{} could not be written", path.display()), cause, remedy)
}

fn io_cause(error: &std::io::Error) -> String {
    match error.kind() {
        std::io::ErrorKind::NotFound => "there is no such file or folder".into(),
        std::io::ErrorKind::PermissionDenied => "this user may not do that there".into(),
        _ => error.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_behind_a_link_is_written_and_keeps_its_permissions() {
        let folder = tempfile::tempdir().unwrap();
        let (real, link) = (folder.path().join("real"), folder.path().join("link"));
        fs::write(&real, "old").unwrap();
        #[cfg(unix)]
        {
            use std::os::unix::fs::{PermissionsExt as _, symlink};
            fs::set_permissions(&real, fs::Permissions::from_mode(0o600)).unwrap();
            symlink(&real, &link).unwrap();
            write_whole(&link, b"new").unwrap();
            assert_eq!(fs::metadata(&real).unwrap().permissions().mode() & 0o777, 0o600);
            assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
            assert_eq!(fs::read(&real).unwrap(), b"new");
        }
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 2, "nothing is left beside them");
    }

    #[test]
    fn a_new_file_never_replaces_one_that_is_there() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.toml");
        write_new(&path, b"mine").unwrap();
        assert!(write_new(&path, b"other").is_err());
        assert_eq!(fs::read(&path).unwrap(), b"mine");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn an_output_that_is_an_input_is_refused() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.html");
        fs::write(&path, "").unwrap();
        assert!(apart(&path, &[&folder.path().join(".").join("a.html")]).is_err());
        assert!(apart(&folder.path().join("b.html"), &[&path]).is_ok());
    }
}
