//! `eyas read`: what is in a recording, and how good is it?

use std::fmt::Write as _;
use std::path::PathBuf;

use super::Answer;
use super::words::paragraph;
use crate::files;
use crate::json::reading;
use crate::tasks::study;
use crate::tell::Trouble;

/// Read a recording: propose or apply a column map, tell its quality and phases
///
/// Example: eyas read flight.csv --guess -o flight.map.toml
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// The recording, CSV text
    recording: PathBuf,
    /// Column map to read it through [default: one proposed from the recording]
    #[arg(long, value_name = "FILE", conflicts_with = "guess")]
    map: Option<PathBuf>,
    /// Print the proposed column map, to be kept and corrected
    #[arg(long)]
    guess: bool,
    /// Write the column map used to this file
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
}

pub(super) fn run(args: &Args) -> Result<Answer, Trouble> {
    if let Some(file) = &args.output {
        files::not_there_yet(file)?;
    }
    let studied = study::recording(&args.recording, args.map.as_deref())?;
    let map_text = studied.map.to_toml();
    if let Some(file) = &args.output {
        files::write_new(file, map_text.as_bytes())?;
    }
    let phases = fly::phases::find(&studied.recording);
    let quality = fly::quality::assess(&studied.recording);
    let document = reading::document(&studied, &quality, &phases, &map_text);
    if args.guess {
        return Ok(Answer::yes(guess_text(&studied, &map_text), document));
    }
    let recording = &studied.recording;
    let mut text = String::new();
    let _ = writeln!(text, "{}", args.recording.display());
    if let Some((from, to)) = recording.span_s() {
        let _ = writeln!(
            text,
            "  {} rows, {:.1} s, {} channels, {} columns not used",
            recording.rows,
            to - from,
            recording.channels.len(),
            recording.unused_columns.len()
        );
    }
    let _ = writeln!(text, "\nChannels");
    for channel in &quality.channels {
        let _ = writeln!(text, "  {}", reading::channel_line(channel));
    }
    if !recording.unused_columns.is_empty() {
        text.push_str(&paragraph(&format!("Not used: {}", recording.unused_columns.join(", ")), "  ", 100));
    }
    let _ = writeln!(text, "\nWhat is wrong with it");
    if recording.flaws.is_empty() && quality.flaws.is_empty() {
        let _ = writeln!(text, "  nothing was found");
    }
    for flaw in recording.flaws.iter().chain(&quality.flaws) {
        text.push_str(&paragraph(&format!("{}: {}", flaw.place, flaw.what), "  ", 100));
    }
    if let Some(proposal) = &studied.proposal {
        for doubt in &proposal.doubts {
            text.push_str(&paragraph(doubt, "  ", 100));
        }
    }
    let _ = writeln!(text, "\nPhases");
    if phases.is_empty() {
        let _ = writeln!(text, "  none could be told from these channels");
    }
    for phase in &phases {
        let _ = writeln!(
            text,
            "  {:>8.1} to {:>8.1} s  {:<8}  {:.0}% sure",
            phase.window.from_s,
            phase.window.to_s,
            phase.kind.word(),
            phase.confidence * 100.0
        );
    }
    Ok(Answer::yes(text, document))
}

/// The proposed map, with its evidence as comments, so that the whole can be kept as a file.
fn guess_text(studied: &study::Studied, map_text: &str) -> String {
    let mut text = String::new();
    if let Some(proposal) = &studied.proposal {
        for evidence in &proposal.evidence {
            let _ = writeln!(text, "# {}", reading::evidence_line(evidence));
        }
        for doubt in &proposal.doubts {
            let _ = writeln!(text, "# in doubt: {}", doubt.replace('\n', " "));
        }
    }
    text.push_str(map_text);
    text
}
