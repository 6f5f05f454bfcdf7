//! `eyas restore`, `eyas export`, `eyas import`: everything kept, back from a copy or through plain files.

use std::path::PathBuf;

use serde_json::json;

use super::{Answer, Common, usage};
use crate::tasks::{keep, restore};
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
    let before = restore::restore(&args.file, &to, super::now_ms())?;
    let mut text =
        format!("{} is now what {} held, compared with its checksums.\n", to.display(), args.file.display());
    if let Some(before) = &before {
        text.push_str(&format!("What was there before is in {}.\n", before.display()));
    }
    Ok(Answer::yes(text, json!({"hangar": to, "from": args.file, "before": before})))
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
