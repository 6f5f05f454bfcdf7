//! Which recordings wait to be read? Files that came in and are neither kept nor thrown away, in a folder beside the
//! hangar, so that nothing is lost when the program ends.
//!
//! Each lies in a folder of its own, named by an id that nobody guesses: `recording` as it came, `about.json`, and
//! `map.toml` once its columns were corrected. The folder gets its name when it is whole.

use std::fs::{self, File};
use std::io::Write as _;
use std::path::{Path, PathBuf};

use serde_json::{Value, json};
use tempfile::NamedTempFile;

use crate::cli::Common;
use crate::files;
use crate::tasks::keep;
use crate::tell::{Kind, Trouble};

/// Folders that were not finished are swept away when they are this old, s.
const LEFT_OVER_S: u64 = 86_400;

/// What is known of a recording that waits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct About {
    /// Aircraft that it was brought for.
    pub(crate) aircraft: String,
    /// What the file was called; never used as a path.
    pub(crate) name: String,
    /// Whether a simulation made it.
    pub(crate) simulated: bool,
    /// What is to be known of it: how several files were joined.
    pub(crate) said: Vec<String>,
    /// When it came, ms since the epoch.
    pub(crate) at_ms: i64,
}

/// A recording that waits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Waiting {
    /// Its id: 32 hexadecimal digits.
    pub(crate) id: String,
    /// What is known of it.
    pub(crate) about: About,
    /// Its size, bytes.
    pub(crate) bytes: u64,
    folder: PathBuf,
}

impl Waiting {
    /// The file, as it came.
    pub(crate) fn recording(&self) -> PathBuf {
        self.folder.join("recording")
    }

    /// The text of its column map, once it was corrected.
    pub(crate) fn map(&self) -> Result<Option<String>, Trouble> {
        let path = self.folder.join("map.toml");
        if path.exists() { files::read_text(&path, "a column map").map(Some) } else { Ok(None) }
    }

    /// Keeps a corrected column map beside it.
    pub(crate) fn set_map(&self, text: &str) -> Result<(), Trouble> {
        files::write_whole(&self.folder.join("map.toml"), text.as_bytes())
    }

    /// Throws it away, or clears it after it was kept in the hangar.
    pub(crate) fn discard(&self) -> Result<(), Trouble> {
        // Its name goes first, so that what is half removed is never taken for a recording.
        let gone = self.folder.with_file_name(format!(".{}.gone", self.id));
        fs::rename(&self.folder, &gone)
            .and_then(|()| fs::remove_dir_all(&gone))
            .map_err(|e| disk(&self.folder, &e))
    }
}

/// The folder for what waits, made where it is missing.
pub(crate) fn folder(common: &Common) -> Result<PathBuf, Trouble> {
    let mut name = keep::path(common)?.into_os_string();
    name.push(".incoming");
    let folder = PathBuf::from(name);
    fs::create_dir_all(&folder).map_err(|e| disk(&folder, &e))?;
    Ok(folder)
}

/// Takes a file in. It is on the disk when this returns.
pub(crate) fn take(
    common: &Common,
    id: &str,
    about: &About,
    file: NamedTempFile,
) -> Result<Waiting, Trouble> {
    let folder = folder(common)?;
    sweep(&folder);
    if !is_id(id) {
        return Err(missing());
    }
    let (part, whole) = (folder.join(format!(".{id}.part")), folder.join(id));
    let told = json!({
        "aircraft": about.aircraft, "name": about.name, "simulated": about.simulated,
        "said": about.said, "at_ms": about.at_ms,
    });
    let done = fs::create_dir(&part)
        .and_then(|()| {
            let target = part.join("recording");
            match file.persist(&target) {
                Ok(file) => file.sync_all(),
                // From another disk.
                Err(error) => {
                    fs::copy(error.file.path(), &target).and_then(|_| File::open(&target)?.sync_all())
                }
            }
        })
        .and_then(|()| {
            let mut file = File::create_new(part.join("about.json"))?;
            file.write_all(told.to_string().as_bytes())?;
            file.sync_all()
        })
        .and_then(|()| fs::rename(&part, &whole))
        .and_then(|()| if cfg!(unix) { File::open(&folder)?.sync_all() } else { Ok(()) });
    if let Err(error) = done {
        let _ = fs::remove_dir_all(&part);
        return Err(disk(&folder, &error));
    }
    open(common, id)
}

/// A recording that waits, by its id.
pub(crate) fn open(common: &Common, id: &str) -> Result<Waiting, Trouble> {
    if !is_id(id) {
        return Err(missing());
    }
    let folder = folder(common)?.join(id);
    if !folder.is_dir() {
        return Err(missing());
    }
    let text = files::read_text(&folder.join("about.json"), "what is known of a recording")?;
    let about = about(&text).ok_or_else(|| {
        Trouble::new(
            Kind::Input,
            "the recording that waits cannot be read",
            format!("{} is damaged", folder.join("about.json").display()),
            "bring the file again",
        )
    })?;
    let bytes = fs::metadata(folder.join("recording")).map_err(|e| disk(&folder, &e))?.len();
    Ok(Waiting { id: id.to_owned(), about, bytes, folder })
}

/// Recordings that wait for an aircraft, oldest first.
pub(crate) fn list(common: &Common, aircraft: &str) -> Result<Vec<Waiting>, Trouble> {
    let folder = folder(common)?;
    let mut found: Vec<Waiting> = fs::read_dir(&folder)
        .map_err(|e| disk(&folder, &e))?
        .filter_map(Result::ok)
        .filter_map(|entry| entry.file_name().into_string().ok())
        .filter(|name| is_id(name))
        // One that is thrown away meanwhile is none.
        .filter_map(|name| open(common, &name).ok())
        .filter(|waiting| waiting.about.aircraft == aircraft)
        .collect();
    found.sort_by(|a, b| (a.about.at_ms, &a.id).cmp(&(b.about.at_ms, &b.id)));
    Ok(found)
}

fn about(text: &str) -> Option<About> {
    let value: Value = serde_json::from_str(text).ok()?;
    Some(About {
        aircraft: value.get("aircraft")?.as_str()?.to_owned(),
        name: value.get("name")?.as_str()?.to_owned(),
        simulated: value.get("simulated")?.as_bool()?,
        said: value.get("said")?.as_array()?.iter().filter_map(Value::as_str).map(str::to_owned).collect(),
        at_ms: value.get("at_ms")?.as_i64()?,
    })
}

/// An id is never a path.
fn is_id(id: &str) -> bool {
    id.len() == 32 && id.bytes().all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b))
}

/// Removes what an end in the middle left over.
fn sweep(folder: &Path) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries.filter_map(Result::ok) {
        let hidden = entry.file_name().to_string_lossy().starts_with('.');
        let old = entry
            .metadata()
            .and_then(|m| m.modified())
            .ok()
            .and_then(|at| at.elapsed().ok())
            .is_some_and(|age| age.as_secs() > LEFT_OVER_S);
        if hidden && old {
            let path = entry.path();
            let _ = if path.is_dir() { fs::remove_dir_all(&path) } else { fs::remove_file(&path) };
        }
    }
}

fn missing() -> Trouble {
    Trouble::new(
        Kind::Missing,
        "there is no such recording",
        "it was kept in the hangar or thrown away meanwhile, or it never came whole",
        "look at the list of flights, or bring the file again",
    )
}

fn disk(folder: &Path, error: &std::io::Error) -> Trouble {
    Trouble::new(
        Kind::Input,
        "the recording could not be put down",
        format!("{}: {error}", folder.display()),
        "make room on that disk and check that this user may write there",
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    const ID: &str = "0123456789abcdef0123456789abcdef";

    fn common(folder: &Path) -> Common {
        Common { hangar: Some(folder.join("hangar.db")), json: false }
    }

    fn wait(common: &Common, id: &str, name: &str) -> Waiting {
        let mut file = NamedTempFile::new_in(folder(common).unwrap()).unwrap();
        file.write_all(b"a,b\n1,2\n").unwrap();
        let about = About {
            aircraft: "<script>".into(),
            name: name.into(),
            simulated: false,
            said: vec!["joined".into()],
            at_ms: 5,
        };
        take(common, id, &about, file).unwrap()
    }

    #[test]
    fn what_came_in_is_there_after_a_restart_with_its_map() {
        let folder = tempfile::tempdir().unwrap();
        let common = common(folder.path());
        let waiting = wait(&common, ID, "../../a.csv");
        waiting.set_map("# corrected\n").unwrap();
        let again = list(&common, "<script>").unwrap();
        assert_eq!(again, std::slice::from_ref(&waiting));
        assert_eq!(again[0].map().unwrap().as_deref(), Some("# corrected\n"));
        assert_eq!(fs::read(again[0].recording()).unwrap(), b"a,b\n1,2\n");
        assert!(list(&common, "Plover").unwrap().is_empty());
        waiting.discard().unwrap();
        assert!(list(&common, "<script>").unwrap().is_empty());
        assert_eq!(open(&common, ID).unwrap_err().kind(), Kind::Missing);
    }

    #[test]
    fn an_id_is_no_path_and_what_is_not_whole_is_no_recording() {
        let folder_ = tempfile::tempdir().unwrap();
        let common = common(folder_.path());
        for bad in ["", "..", "../hangar.db", "0123456789ABCDEF0123456789ABCDEF", "0123"] {
            assert_eq!(open(&common, bad).unwrap_err().kind(), Kind::Missing, "{bad}");
        }
        let incoming = folder(&common).unwrap();
        fs::create_dir(incoming.join(format!(".{ID}.part"))).unwrap();
        assert!(list(&common, "<script>").unwrap().is_empty());
    }
}
