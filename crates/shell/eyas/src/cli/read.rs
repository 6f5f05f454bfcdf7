//! `eyas read`: what is in a recording, and how good is it?

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use fly::inputs::Input;
use fly::phases::Flown;
use fly::recording::Recording;

use super::Answer;
use super::words::paragraph;
use crate::files;
use crate::json::reading;
use crate::tasks::study;
use crate::tell::{Kind, Trouble};

/// Read a recording: propose or apply a column map, tell its quality, phases and stick inputs
///
/// Text in columns, GPX, IGC or NMEA 0183, also packed with gzip or Zstandard.
///
/// Example: eyas read flight.csv --guess -o flight.map.toml
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// The recording
    recording: PathBuf,
    /// Column map to read it through [default: one proposed from the recording]
    #[arg(long, value_name = "FILE")]
    map: Option<PathBuf>,
    /// Print the proposed column map with its evidence, to be kept and corrected; with --map, that map put right by the data
    #[arg(long)]
    guess: bool,
    /// Write the column map used to this file
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// Another file of the same flight, aligned with the first by what both recorded; may be given again
    #[arg(long, value_name = "FILE")]
    with: Vec<PathBuf>,
    /// Write the cleaned and aligned channels as .csv or .parquet, or the track with its phases as .gpx or .kml
    #[arg(long, value_name = "FILE")]
    export: Option<PathBuf>,
    /// Write a page with the phases on a time line, the track and every channel drawn
    #[arg(long, value_name = "FILE.html")]
    report: Option<PathBuf>,
}

pub(super) fn run(args: &Args) -> Result<Answer, Trouble> {
    if let Some(file) = &args.output {
        files::not_there_yet(file)?;
    }
    let target = args.export.as_deref().map(target).transpose()?;
    if let Some(page) = &args.report {
        files::not_there_yet(page)?;
    }
    let mut studied = study::recording(&args.recording, args.map.as_deref())?;
    study::joined(&mut studied, &args.with)?;
    let map_text = studied.map_text();
    if let Some(file) = &args.output {
        files::write_new(file, map_text.as_bytes())?;
    }
    let phases = fly::phases::find(&studied.recording);
    let quality = fly::quality::assess(&studied.recording);
    let inputs = fly::inputs::find(&studied.recording);
    let flights = fly::phases::flights(&studied.recording);
    let found = reading::Found { quality: &quality, phases: &phases, inputs: &inputs, flights: &flights };
    let document = reading::document(&studied, &found, &map_text);
    if let (Some(path), Some(target)) = (&args.export, target) {
        let bytes = export(target, &studied.recording, &found).map_err(|why| {
            Trouble::new(
                Kind::Input,
                format!("{} cannot be written", path.display()),
                why.to_string(),
                "export as .csv or .parquet what has no track; nothing was written",
            )
        })?;
        files::write_new(path, &bytes)?;
    }
    if let Some(path) = &args.report {
        let page = page(&args.recording, &studied, &found);
        files::write_new(path, page.as_bytes())?;
    }
    if args.guess {
        let text = match &studied.proposal {
            None => corrected_text(&studied, &map_text),
            Some(_) => guess_text(&studied, &map_text),
        };
        return Ok(Answer::yes(text, document));
    }
    let recording = &studied.recording;
    let mut text = String::new();
    let _ = writeln!(text, "{}", args.recording.display());
    let _ = writeln!(
        text,
        "  {}: {} rows, {:.1} s, {} channels, {} columns not used",
        studied.format.word(),
        recording.rows,
        recording.span_s().map_or(0.0, |(from, to)| to - from),
        recording.channels.len(),
        recording.unused_columns.len()
    );
    if recording.channels.is_empty() {
        text.push_str(&paragraph(
            "No column is sure enough to be taken. Have the layout printed with --guess, write [[channel]] entries for the \
             columns that you know into it, and read again with --map.",
            "  ",
            100,
        ));
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
    if let Some(proposal) = studied.proposal.as_ref().filter(|p| !p.doubts.is_empty()) {
        let _ = writeln!(text, "\nLeft out, or not checked");
        for doubt in &proposal.doubts {
            text.push_str(&paragraph(doubt, "  ", 100));
        }
        let offered = proposal.columns.iter().filter(|c| c.offered.is_some()).count();
        if offered > 0 {
            let _ = writeln!(
                text,
                "  What the data says instead is in the map that --guess prints ({offered} of them)."
            );
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
    tell_flights(&mut text, &flights);
    for acting in fly::phases::acting(recording) {
        let _ = writeln!(
            text,
            "  The stick acted {} from {:.1} to {:.1} s ({:.0}% sure)",
            acting.control.word(),
            acting.window.from_s,
            acting.window.to_s,
            100.0 * acting.confidence
        );
    }
    tell_inputs(&mut text, recording, &inputs);
    for path in [&args.export, &args.report].into_iter().flatten() {
        let _ = writeln!(text, "\nWritten: {}", path.display());
    }
    Ok(Answer::yes(text, document))
}

/// What a file is written as.
#[derive(Debug, Clone, Copy)]
enum Target {
    Csv,
    Parquet,
    Gpx,
    Kml,
}

/// The form that a name asks for; refused before anything is read.
fn target(path: &Path) -> Result<Target, Trouble> {
    let extension = path.extension().map(|e| e.to_ascii_lowercase());
    let target = match extension.as_deref().and_then(|e| e.to_str()) {
        Some("csv") => Target::Csv,
        Some("parquet") => Target::Parquet,
        Some("gpx") => Target::Gpx,
        Some("kml") => Target::Kml,
        _ => {
            return Err(super::usage(
                format!("{} does not say what to write", path.display()),
                "name the file to export .csv or .parquet for channels, .gpx or .kml for the track",
            ));
        }
    };
    files::not_there_yet(path)?;
    Ok(target)
}

fn export(
    target: Target,
    recording: &Recording,
    found: &reading::Found<'_>,
) -> Result<Vec<u8>, fly::export::NoExport> {
    match target {
        Target::Csv => fly::export::csv(recording).map(String::into_bytes),
        Target::Parquet => fly::export::parquet(recording),
        Target::Gpx => fly::export::gpx(recording, found.phases, found.flights).map(String::into_bytes),
        Target::Kml => fly::export::kml(recording, found.phases, found.flights).map(String::into_bytes),
    }
}

fn tell_flights(text: &mut String, flights: &[Flown]) {
    for flown in flights {
        let moment = |m: Option<fly::phases::Moment>, missing: &str| {
            m.map_or_else(
                || missing.to_owned(),
                |m| format!("{:.2} s ({:.0}% sure)", m.time_s, 100.0 * m.confidence),
            )
        };
        let _ = writeln!(
            text,
            "  In the air {:.1} to {:.1} s; let go {}; touched down {}",
            flown.window.from_s,
            flown.window.to_s,
            moment(flown.throw, "before the recording begins"),
            moment(flown.touchdown, "after the recording ends"),
        );
        if let Some(load) = flown.impact {
            let _ = writeln!(
                text,
                "  The touch-down was an impact: {:.0} g. Look the aircraft over before it flies again.",
                load / numerics::units::G_M_S2
            );
        }
    }
}

fn tell_inputs(text: &mut String, recording: &Recording, inputs: &[Input]) {
    let _ = writeln!(text, "\nStick inputs");
    if inputs.is_empty() {
        let sticks = fly::inputs::Axis::ALL.iter().any(|a| recording.channel(&a.demand()).is_some());
        let why = if sticks { "none stands out" } else { "the recording has no stick channels" };
        let _ = writeln!(text, "  {why}");
    }
    for i in inputs {
        let _ = writeln!(
            text,
            "  {:>8.2} to {:>8.2} s  {:<8}  {:<10} {:>+5.0}%  {:<7}  {:.0}% sure",
            i.start_s,
            i.end_s,
            i.axis.word(),
            i.kind.word(),
            100.0 * i.size,
            i.control.word(),
            100.0 * i.confidence
        );
    }
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
    if let Some(proposal) = &studied.proposal {
        text.push_str(&proposal.offers_toml());
    }
    text
}

/// The map given, put right by what the data contradicts, with what that was as comments.
fn corrected_text(studied: &study::Studied, map_text: &str) -> String {
    let Some(map) = &studied.map else {
        return map_text.to_owned();
    };
    let mut text = String::new();
    for found in fly::sense::contradicted(&studied.recording) {
        let _ = writeln!(text, "# {}: {}", found.flaw.place, found.flaw.what.replace('\n', " "));
    }
    match fly::sense::corrected(&studied.recording, map) {
        Some(right) => {
            let _ = writeln!(
                text,
                "# This map has that put right; read with it and look again before you rely on it."
            );
            text.push_str(&right.to_toml());
        }
        None => {
            let _ =
                writeln!(text, "# The data says nothing against the map that one entry alone puts right.");
            text.push_str(map_text);
        }
    }
    text
}

/// The page of a recording.
fn page(path: &Path, studied: &study::Studied, found: &reading::Found<'_>) -> String {
    let name = path.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned());
    let doubts = studied.proposal.as_ref().map_or(&[][..], |p| p.doubts.as_slice());
    report::read_page::read_html(&report::read_page::ReadPage {
        name: &name,
        format: studied.format.word(),
        recording: &studied.recording,
        quality: found.quality,
        phases: found.phases,
        inputs: found.inputs,
        flights: found.flights,
        doubts,
    })
}
