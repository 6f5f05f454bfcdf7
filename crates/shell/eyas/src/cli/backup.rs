//! `eyas backup`: a second copy of everything kept.

use std::path::PathBuf;

use serde_json::json;

use super::{Answer, usage};
use crate::files;
use crate::tasks::keep;
use crate::tell::Trouble;

/// Write a copy of the whole hangar
///
/// Example: eyas backup hangar-2026-05-02.db
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// File to write; must not exist yet
    file: PathBuf,
}

pub(super) fn run(args: &Args, common: &super::Common) -> Result<Answer, Trouble> {
    files::not_there_yet(&args.file)?;
    let Some(hangar) = keep::open_existing(common)? else {
        return Err(usage(
            "there is no hangar to copy yet",
            "keep something first: eyas learn, or eyas demo",
        ));
    };
    hangar.backup(&args.file).map_err(keep::trouble)?;
    Ok(Answer::yes(
        format!(
            "Copied the hangar to {}. To use the copy: --hangar {}\n",
            args.file.display(),
            args.file.display()
        ),
        json!({"file": args.file}),
    ))
}
