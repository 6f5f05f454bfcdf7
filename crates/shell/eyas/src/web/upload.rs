//! How does a file get in? Straight to the disk, piece by piece, with the browser's key before it.

use std::io;
use std::path::Path;

use axum::extract::Multipart;
use axum::extract::multipart::MultipartError;
use tempfile::NamedTempFile;
use tokio::io::AsyncWriteExt as _;

use crate::tell::{Kind, Trouble};
use crate::web::ask::Ask;
use crate::web::fields::{FORM_KEY, Fields, foreign, own};

/// Largest upload, bytes: five times a long flight at a high rate.
pub(crate) const LARGEST: u64 = 1 << 30;

/// Files and fields of a form with files.
pub(crate) struct Uploaded {
    /// Fields that are not files.
    pub(crate) fields: Fields,
    /// Files, in their order; those left empty are not among them.
    pub(crate) files: Vec<File>,
}

/// A file that came.
pub(crate) struct File {
    /// Its name as the browser told it: for people to read, never a path.
    pub(crate) name: String,
    /// Field it came through.
    pub(crate) field: String,
    /// Where it lies; gone when this is dropped.
    pub(crate) on_disk: NamedTempFile,
}

/// Takes a form with files. The key has to come before the first file.
///
/// # Errors
/// A foreign form, a file that is too large, a connection that broke, a disk that is full.
pub(crate) async fn take(ask: &Ask, form: Multipart) -> Result<Uploaded, Trouble> {
    take_into(ask, form, &std::env::temp_dir()).await
}

/// The same with files put down in a folder of that name.
pub(crate) async fn take_into(ask: &Ask, mut form: Multipart, folder: &Path) -> Result<Uploaded, Trouble> {
    let disk = |e: &io::Error| disk(folder, e);
    let mut pairs: Vec<(String, String)> = Vec::new();
    let mut files = Vec::new();
    let mut known = false;
    let mut taken = 0_u64;
    while let Some(mut field) = form.next_field().await.map_err(|e| broken(&e))? {
        let name = field.name().unwrap_or_default().to_owned();
        let Some(file_name) = field.file_name().map(plain) else {
            let text = field.text().await.map_err(|e| broken(&e))?;
            known |= name == FORM_KEY && own(ask, Some(&text));
            pairs.push((name, text));
            continue;
        };
        if !known {
            return Err(foreign());
        }
        let on_disk = NamedTempFile::new_in(folder).map_err(|e| disk(&e))?;
        let mut out = tokio::fs::File::from_std(on_disk.reopen().map_err(|e| disk(&e))?);
        let mut length = 0_u64;
        while let Some(piece) = field.chunk().await.map_err(|e| broken(&e))? {
            length += piece.len() as u64;
            if taken + length > LARGEST {
                return Err(too_large());
            }
            out.write_all(&piece).await.map_err(|e| disk(&e))?;
        }
        out.flush().await.map_err(|e| disk(&e))?;
        taken += length;
        if !(length == 0 && file_name.is_empty()) {
            files.push(File { name: file_name, field: name, on_disk });
        }
    }
    if !known {
        return Err(foreign());
    }
    Ok(Uploaded { fields: Fields::of(pairs), files })
}

/// The last part of a name, without what a path or a terminal would take for its own.
fn plain(name: &str) -> String {
    let last = name.rsplit(['/', '\\']).next().unwrap_or_default();
    let clean: String = last.chars().filter(|c| !c.is_control()).take(120).collect();
    if clean.trim_matches('.').is_empty() { String::new() } else { clean }
}

/// The answer to a file that is too large.
pub(crate) fn too_large() -> Trouble {
    Trouble::new(
        Kind::TooLarge,
        "the file was not taken",
        format!("it is larger than {} MiB", LARGEST >> 20),
        "cut the recording to one flight, or log fewer channels; `eyas read FILE` at the command line has no such limit",
    )
}

fn broken(error: &MultipartError) -> Trouble {
    if error.status() == axum::http::StatusCode::PAYLOAD_TOO_LARGE {
        return too_large();
    }
    Trouble::new(
        Kind::Input,
        "the file did not arrive whole, nothing was kept",
        error.body_text(),
        "send it again; the file itself was not touched",
    )
}

fn disk(folder: &Path, error: &io::Error) -> Trouble {
    Trouble::new(
        Kind::Input,
        "the file could not be put down",
        format!("in {}: {error}", folder.display()),
        "make room on that disk, or name another folder with TMPDIR (for recordings: another hangar) when starting `eyas serve`",
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_never_a_path() {
        for (told, kept) in [
            ("flight.csv", "flight.csv"),
            ("../../etc/passwd", "passwd"),
            ("C:\\logs\\a b.csv", "a b.csv"),
            ("..", ""),
            ("a\u{0}\n\u{1b}[31m.csv", "a[31m.csv"),
        ] {
            assert_eq!(plain(told), kept);
        }
    }
}
