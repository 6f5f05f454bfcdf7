//! `eyas simulate`: a scripted flight, its recording and the truth beside it.

use std::path::PathBuf;

use serde_json::json;

use super::{Answer, Common, usage};
use crate::files;
use crate::tasks::forecast::{Air, forecast};
use crate::tasks::{fetch, round};
use crate::tell::Trouble;

/// Fly a scripted flight; write its recording, and the truth beside it
///
/// Example: eyas simulate plover.toml --script circuit.toml -o flight.csv
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Aircraft file, or name of an aircraft in the hangar
    aircraft: String,
    /// What to fly, in which wind, with which hidden errors
    #[arg(long, value_name = "FILE")]
    script: PathBuf,
    /// Recording to write; the truth goes beside it as FILE.truth.toml
    #[arg(short, long, value_name = "FILE.csv")]
    output: PathBuf,
    #[command(flatten)]
    air: Air,
}

pub(super) fn run(args: &Args, common: &Common) -> Result<Answer, Trouble> {
    if !args.output.extension().is_some_and(|e| e.eq_ignore_ascii_case("csv")) {
        return Err(usage(
            format!("{} does not end in .csv", args.output.display()),
            "recordings are written as CSV",
        ));
    }
    let truth_file = args.output.with_extension("truth.toml");
    // A recording without a truth beside it may be of a real flight.
    if !truth_file.exists() {
        files::not_there_yet(&args.output)?;
    }
    files::apart(&truth_file, &[&args.script])?;
    let fetched = fetch::aircraft(&args.aircraft, common)?;
    let script_text = files::read_text(&args.script, "a script")?;
    let script = round::script(&script_text, &args.script.display().to_string())?;
    let prediction = forecast(&fetched.aircraft, &args.air)?;
    let model = round::model_as_described(&fetched.aircraft, &prediction, &args.air)?;
    let flight = round::flight(&fetched.aircraft, &model, &script)?;
    let csv = flight.to_csv();
    files::write_whole(&args.output, csv.as_bytes())?;
    files::write_whole(&truth_file, flight.truth_toml().as_bytes())?;
    let rows = csv.lines().count().saturating_sub(1);
    Ok(Answer::yes(
        format!(
            "Flew {rows} rows into {}; the truth is in {}.\n",
            args.output.display(),
            truth_file.display()
        ),
        json!({"recording": args.output, "truth": truth_file, "rows": rows}),
    ))
}
