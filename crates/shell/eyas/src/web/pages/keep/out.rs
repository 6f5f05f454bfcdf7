//! How does it leave? The record of an aircraft to read or to hand on, and everything as plain files in one archive.

use std::fs::{self, File};
use std::io::{self, Read as _, Write};
use std::path::{Path as FilePath, PathBuf};
use std::sync::Arc;

use axum::Router;
use axum::extract::{Path, State};
use axum::routing::get;
use maud::{Markup, html};

use crate::cli::now_ms;
use crate::tasks::forecast::Air;
use crate::tasks::{keep, record};
use crate::tell::{Kind, Trouble};
use crate::web::app::App;
use crate::web::ask::Ask;
use crate::web::pages::hangar::file_name;
use crate::web::reply::{self, Reply, work};
use crate::web::{outgoing, standalone};

use super::{hangar_of, page, path, ways};

pub(super) fn routes() -> Router<Arc<App>> {
    Router::new()
        .route("/aircraft/{name}/keep/record", get(about))
        .route("/aircraft/{name}/keep/record/page", get(show))
        .route("/aircraft/{name}/keep/record/file", get(download))
        .route("/hangar/files", get(files))
}

/// The ways out, for the page that leads to them.
pub(super) fn part(name: &str) -> Markup {
    html! {
        section aria-labelledby="out" {
            h2 id="out" { "Out of here" }
            p { "The record is one page that opens anywhere, without this program." }
            div.buttons {
                a.button href=(path(name, "record/page")) { "Read the record" }
                a.button.second href=(path(name, "record/file")) download { "Download the record" }
            }
            p { "Everything of all aircraft, as a copy of the one file, or as plain texts, recordings and tables that any program reads. Both hold settings as they came, passwords included: think before you hand them on." }
            div.buttons {
                a.button.second href="/hangar/backup" download { "Download a backup" }
                a.button.second href="/hangar/files" download { "Download plain files" }
            }
        }
    }
}

/// What the record is, and the ways to it: itself it stands alone, without the ways of these pages.
async fn about(State(app): State<Arc<App>>, ask: Ask, Path(name): Path<String>) -> Reply {
    work(app, ask, move |app, ask| {
        hangar_of(app, &name)?;
        let body = html! {
            (ways(&name, "record"))
            h1 { "Record" }
            p.lead { "Everything that was done with this aircraft, in the order of time: revisions, cards, flights with what they taught, settings, defects, repairs and the log, and what is predicted of it today." }
            p { "It is one page that stands alone: it opens anywhere, without this program and without a network. Hand it to the instructor or the club that signs off a first flight. Settings that look like passwords are not shown in it." }
            div.buttons {
                a.button href=(path(&name, "record/page")) { "Read it" }
                a.button.second href=(path(&name, "record/file")) download { "Download it" }
            }
            p.note { "The predictions in it are computed anew, and many flights take some seconds." }
        };
        Ok(page(ask, &name, "Record", &body))
    })
    .await
}

fn recorded(app: &Arc<App>, name: &str) -> Result<record::Recorded, Trouble> {
    hangar_of(app, name)?;
    let fetched = app.aircraft(name)?;
    if app.foresee(&fetched, &Air::default())?.rough {
        return Err(Trouble::new(
            Kind::Conflict,
            "the record cannot be written yet",
            "tables of the aircraft's wing sections are being computed for its predictions",
            "come back in a minute; it takes that long only once",
        ));
    }
    record::record(name, &[], &app.common)
}

async fn show(State(app): State<Arc<App>>, ask: Ask, Path(name): Path<String>) -> Reply {
    work(app, ask, move |app, ask| Ok(standalone::show(ask, recorded(app, &name)?.html))).await
}

async fn download(State(app): State<Arc<App>>, ask: Ask, Path(name): Path<String>) -> Reply {
    work(app, ask, move |app, _| {
        let recorded = recorded(app, &name)?;
        let file = file_name(&format!("{}-record", recorded.name), "html");
        Ok(reply::file(&file, "text/html; charset=utf-8", recorded.html.into_bytes()))
    })
    .await
}

async fn files(State(app): State<Arc<App>>, ask: Ask) -> Reply {
    work(app, ask, |app, _| {
        let Some(hangar) = keep::open_existing(&app.common)? else {
            return Err(Trouble::new(
                Kind::Missing,
                "there is nothing to write yet",
                "no hangar was made so far",
                "describe an aircraft first",
            ));
        };
        let folder = outgoing::folder()?;
        let all = folder.path().join("eyas-hangar");
        hangar.export(&all).map_err(keep::trouble)?;
        let at_s = u64::try_from(now_ms() / 1000).unwrap_or(0);
        Ok(outgoing::written(&file_name("eyas-hangar", "tar"), "application/x-tar", move |out| {
            archive(out, &all, "eyas-hangar", at_s)?;
            drop(folder);
            Ok(())
        }))
    })
    .await
}

/// Size of a block of an archive, bytes.
const BLOCK: usize = 512;

/// Writes a folder as an archive (POSIX.1-1988, IEEE Std 1003.1 "ustar"), its files in the order of their names.
fn archive(out: &mut dyn Write, folder: &FilePath, name: &str, at_s: u64) -> io::Result<()> {
    let mut paths: Vec<PathBuf> =
        fs::read_dir(folder)?.map(|entry| entry.map(|e| e.path())).collect::<io::Result<_>>()?;
    paths.sort();
    entries(out, &paths, name, at_s)?;
    // Two empty blocks say that it ends.
    out.write_all(&[0; 2 * BLOCK])
}

fn entries(out: &mut dyn Write, paths: &[PathBuf], below: &str, at_s: u64) -> io::Result<()> {
    for path in paths {
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        let name = format!("{below}/{name}");
        if path.is_dir() {
            let mut inside: Vec<PathBuf> =
                fs::read_dir(path)?.map(|entry| entry.map(|e| e.path())).collect::<io::Result<_>>()?;
            inside.sort();
            entries(out, &inside, &name, at_s)?;
            continue;
        }
        let mut file = File::open(path)?;
        let size = file.metadata()?.len();
        out.write_all(&header(&name, size, at_s)?)?;
        let mut left = size;
        let mut piece = vec![0_u8; 64 << 10];
        while left > 0 {
            let read = file.read(&mut piece)?;
            if read == 0 {
                return Err(io::Error::from(io::ErrorKind::UnexpectedEof));
            }
            let taken = read.min(usize::try_from(left).unwrap_or(read));
            out.write_all(piece.get(..taken).unwrap_or_default())?;
            left -= taken as u64;
        }
        let over = (size % BLOCK as u64) as usize;
        if over > 0 {
            out.write_all(&vec![0; BLOCK - over])?;
        }
    }
    Ok(())
}

/// The block before a file.
fn header(name: &str, size: u64, at_s: u64) -> io::Result<[u8; BLOCK]> {
    let mut block = [0_u8; BLOCK];
    let mut put = |at: usize, bytes: &[u8]| {
        if let Some(place) = block.get_mut(at..at + bytes.len()) {
            place.copy_from_slice(bytes);
        }
    };
    // An export's names are our own and short.
    if name.len() > 100 || size >= 1 << 33 {
        return Err(io::Error::from(io::ErrorKind::InvalidInput));
    }
    put(0, name.as_bytes());
    put(100, b"0000644\0");
    put(108, b"0000000\0");
    put(116, b"0000000\0");
    put(124, format!("{size:011o}\0").as_bytes());
    put(136, format!("{at_s:011o}\0").as_bytes());
    put(148, b"        ");
    put(156, b"0");
    put(257, b"ustar\x0000");
    let sum: u64 = block.iter().map(|b| u64::from(*b)).sum();
    if let Some(place) = block.get_mut(148..156) {
        place.copy_from_slice(format!("{sum:06o}\0 ").as_bytes());
    }
    Ok(block)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_archive_is_the_standards() {
        let folder = tempfile::tempdir().unwrap();
        fs::create_dir(folder.path().join("files")).unwrap();
        fs::write(folder.path().join("a.txt"), b"hello").unwrap();
        fs::write(folder.path().join("files/b.bin"), vec![7; BLOCK]).unwrap();
        let mut out = Vec::new();
        archive(&mut out, folder.path(), "kept", 0o17).unwrap();
        // POSIX ustar: name at 0, size in octal at 124, time at 136, sum of all bytes with blanks in its place at 148,
        // magic at 257. By hand: header, 5 bytes filled up to a block, header, one block, two empty blocks.
        assert_eq!(out.len(), 6 * BLOCK);
        assert_eq!(&out[..10], b"kept/a.txt");
        assert_eq!(&out[124..136], b"00000000005\0");
        assert_eq!(&out[136..148], b"00000000017\0");
        assert_eq!(&out[257..265], b"ustar\x0000");
        let plain: u64 = out[..BLOCK].iter().map(|b| u64::from(*b)).sum();
        let sum: u64 = out[148..156].iter().map(|b| u64::from(*b)).sum();
        let told = u64::from_str_radix(std::str::from_utf8(&out[148..154]).unwrap(), 8).unwrap();
        assert_eq!(told, plain - sum + 8 * 32);
        assert_eq!(&out[BLOCK..BLOCK + 6], b"hello\0");
        assert_eq!(&out[2 * BLOCK..2 * BLOCK + 16], b"kept/files/b.bin");
        assert!(out[4 * BLOCK..].iter().all(|b| *b == 0));
        assert!(header(&"x".repeat(101), 1, 0).is_err());
    }
}
