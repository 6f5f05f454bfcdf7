//! What is on disk? Files and folders, always in the same order.

use std::fs;
use std::path::{Path, PathBuf};

use toml_edit::DocumentMut;

use crate::flaw::Trouble;

/// Folders that hold nothing of ours: what the compiler made, what others wrote.
const NOT_OURS: [&str; 3] = ["target", "vendor", ".git"];

pub(crate) fn read(path: &Path) -> Result<Vec<u8>, Trouble> {
    fs::read(path).map_err(|source| Trouble::Unreadable { path: path.into(), source })
}

pub(crate) fn text(path: &Path) -> Result<String, Trouble> {
    Ok(String::from_utf8_lossy(&read(path)?).into_owned())
}

pub(crate) fn toml(path: &Path) -> Result<DocumentMut, Trouble> {
    text(path)?.parse().map_err(|error: toml_edit::TomlError| Trouble::NotToml {
        path: path.into(),
        cause: error.to_string(),
    })
}

/// Entries of a folder, sorted; none where there is no such folder.
fn entries(folder: &Path) -> Result<Vec<PathBuf>, Trouble> {
    if !folder.is_dir() {
        return Ok(Vec::new());
    }
    let unreadable = |source| Trouble::Unreadable { path: folder.into(), source };
    let mut paths = Vec::new();
    for entry in fs::read_dir(folder).map_err(unreadable)? {
        paths.push(entry.map_err(unreadable)?.path());
    }
    paths.sort();
    Ok(paths)
}

/// Folders within a folder, sorted.
pub(crate) fn folders(folder: &Path) -> Result<Vec<PathBuf>, Trouble> {
    Ok(entries(folder)?.into_iter().filter(|path| path.is_dir()).collect())
}

/// All files below a folder, sorted, but for those of others.
pub(crate) fn files(folder: &Path) -> Result<Vec<PathBuf>, Trouble> {
    let mut found = Vec::new();
    for path in entries(folder)? {
        if path.is_dir() {
            if !NOT_OURS.contains(&name(&path).as_str()) {
                found.extend(files(&path)?);
            }
        } else {
            found.push(path);
        }
    }
    Ok(found)
}

/// The last part of a path.
pub(crate) fn name(path: &Path) -> String {
    path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default()
}

/// A path as told to people and written in files: from the top, with slashes.
pub(crate) fn below(root: &Path, path: &Path) -> String {
    let relative = path.strip_prefix(root).unwrap_or(path);
    let parts: Vec<_> = relative.iter().map(|part| part.to_string_lossy()).collect();
    parts.join("/")
}
