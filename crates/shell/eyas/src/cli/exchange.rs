//! `eyas restore`, `eyas export`, `eyas import`: everything kept, back from a copy or through plain files.

use std::path::{Path, PathBuf};

use hangar::Hangar;
use serde_json::json;

use super::{Answer, Common, usage};
use crate::tasks::keep;
use crate::tell::Trouble;

/// Put a backup in the hangar's place; the hangar that was there is kept beside it
///
/// Example: eyas restore hangar-2026-05-02.db
#[derive(Debug, clap::Args)]
pub(crate) struct RestoreArgs {
    /// The backup
    file: PathBuf,
}

/// Write everything kept as plain files (texts, recordings, lines of JSON, checksums) into a new folder
///
/// Example: eyas export hangar-files
#[derive(Debug, clap::Args)]
pub(crate) struct ExportArgs {
    /// Folder to make; must not exist yet
    folder: PathBuf,
}

/// Make a hangar from a folder that `eyas export` wrote, every checksum compared
///
/// Example: eyas import hangar-files --hangar other.db
#[derive(Debug, clap::Args)]
pub(crate) struct ImportArgs {
    /// The folder
    folder: PathBuf,
}

pub(super) fn restore(args: &RestoreArgs, common: &Common) -> Result<Answer, Trouble> {
    let to = keep::path(common)?;
    if !args.file.exists() {
        return Err(usage(
            format!("{} is not there", args.file.display()),
            "check the path and the spelling",
        ));
    }
    if same(&args.file, &to) {
        return Err(usage(
            "the backup is the hangar itself",
            "name another file as the backup or with --hangar",
        ));
    }
    // A copy of the copy: the backup itself stays as it is, whatever version of the tables it has.
    let part = with_ending(&to, &format!("restored-{}", std::process::id()));
    let remove = || {
        for ending in ["", "-wal", "-shm"] {
            let mut name = part.clone().into_os_string();
            name.push(ending);
            let _ = std::fs::remove_file(name);
        }
    };
    let made = fresh_copy(&args.file, &part);
    if let Err(trouble) = made {
        remove();
        return Err(trouble);
    }
    let aside = with_ending(&to, &format!("before-{}", super::now_ms()));
    let moved = to.exists();
    if moved {
        // Through the hangar, so that what still stands in its journal is in the copy.
        let old = Hangar::open(&to)
            .map_err(keep::trouble)
            .and_then(|hangar| hangar.backup(&aside).map_err(keep::trouble));
        if let Err(trouble) = old {
            remove();
            return Err(trouble);
        }
    }
    let placed = place(&part, &to);
    remove();
    placed?;
    let mut text =
        format!("{} is now what {} held, compared with its checksums.\n", to.display(), args.file.display());
    if moved {
        text.push_str(&format!("What was there before is in {}.\n", aside.display()));
    }
    Ok(Answer::yes(text, json!({"hangar": to, "from": args.file, "before": moved.then_some(aside)})))
}

/// Copies a backup and looks at every checksum of the copy.
fn fresh_copy(file: &Path, part: &Path) -> Result<(), Trouble> {
    let backup = Hangar::open_copy(file, part).map_err(keep::trouble)?;
    if let Some(updated) = backup.updated() {
        // The backup itself is the copy from before.
        let _ = std::fs::remove_file(&updated.copy);
    }
    let flaws = backup.examine().map_err(keep::trouble)?;
    match flaws.first() {
        None => Ok(()),
        Some(flaw) => Err(Trouble::new(
            crate::tell::Kind::No,
            format!("{} was not restored", file.display()),
            format!("it is damaged: {flaw:?}"),
            "use an older backup; the hangar was left as it is",
        )),
    }
}

fn place(part: &Path, to: &Path) -> Result<(), Trouble> {
    let trouble = |error: std::io::Error| {
        Trouble::new(
            crate::tell::Kind::Input,
            format!("{} could not be put in place", to.display()),
            error.to_string(),
            "close every program that uses the hangar, then try again; nothing is lost",
        )
    };
    // The journal of the file that goes must not be taken for one of the file that comes.
    for ending in ["-wal", "-shm"] {
        let mut name = to.to_path_buf().into_os_string();
        name.push(ending);
        match std::fs::remove_file(name) {
            Err(error) if error.kind() != std::io::ErrorKind::NotFound => return Err(trouble(error)),
            _ => {}
        }
    }
    std::fs::rename(part, to).map_err(trouble)
}

pub(super) fn export(args: &ExportArgs, common: &Common) -> Result<Answer, Trouble> {
    let Some(hangar) = keep::open_existing(common)? else {
        return Err(usage(
            "there is no hangar to export yet",
            "keep something first: eyas learn, or eyas demo",
        ));
    };
    let exported = hangar.export(&args.folder).map_err(keep::trouble)?;
    Ok(Answer::yes(
        format!(
            "Wrote {} files, {:.1} MB, to {}. Their checksums are in SHA256SUMS.\n\
             Settings are in it as they came, passwords and keys included: think before you hand it on.\n",
            exported.files,
            exported.bytes as f64 / 1e6,
            args.folder.display()
        ),
        json!({"folder": args.folder, "files": exported.files, "bytes": exported.bytes}),
    ))
}

pub(super) fn import(args: &ImportArgs, common: &Common) -> Result<Answer, Trouble> {
    let to = keep::path(common)?;
    let hangar = hangar::import(&args.folder, &to).map_err(keep::trouble)?;
    let names = hangar.names().map_err(keep::trouble)?;
    Ok(Answer::yes(
        format!(
            "Made {} from {}, every checksum compared. It keeps: {}\n",
            to.display(),
            args.folder.display(),
            names.join(", ")
        ),
        json!({"hangar": to, "aircraft": names}),
    ))
}

fn with_ending(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(format!(".{ending}"));
    PathBuf::from(name)
}

fn same(a: &Path, b: &Path) -> bool {
    matches!((std::fs::canonicalize(a), std::fs::canonicalize(b)), (Ok(a), Ok(b)) if a == b)
}
