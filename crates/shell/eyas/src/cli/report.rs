//! `eyas report`: the whole record of an aircraft on one page.

use std::path::PathBuf;

use serde_json::json;

use super::{Answer, Common, predict_more};
use crate::files;
use crate::tasks::record;
use crate::tell::Trouble;

/// Write the record of an aircraft, to hand to an instructor or a club: one page that opens anywhere
///
/// Example: eyas report Plover -o plover-record.html
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Name of an aircraft in the hangar, or its file
    aircraft: String,
    /// File to write, HTML
    #[arg(short, long, value_name = "FILE.html")]
    output: PathBuf,
    /// Your table of settings (as for `eyas predict --scale`): with it, what findings ask for is told beside each setting
    #[arg(long, value_name = "FILE.toml")]
    scale: Option<PathBuf>,
}

pub(super) fn run(args: &Args, common: &Common) -> Result<Answer, Trouble> {
    files::page_name(&args.output)?;
    let scale = args.scale.as_deref().map(predict_more::settings_of).transpose()?.unwrap_or_default();
    let recorded = record::record(&args.aircraft, &scale, common)?;
    files::write_whole(&args.output, recorded.html.as_bytes())?;
    Ok(Answer::yes(
        format!("Wrote {}: {} events of {}.\n", args.output.display(), recorded.events, recorded.name),
        json!({"file": args.output, "aircraft": recorded.name, "events": recorded.events}),
    ))
}
