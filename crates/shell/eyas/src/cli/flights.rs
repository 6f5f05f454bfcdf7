//! `eyas flights`: what is kept?

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use hangar::{Flaw, Hangar, RecordingId};
use serde_json::{Value, json};

use super::words::instant;
use super::{Answer, usage};
use crate::files;
use crate::tasks::{fetch, keep};
use crate::tell::Trouble;

/// List what the hangar keeps: aircraft, revisions, recordings, cards
///
/// Example: eyas flights Plover
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Only this aircraft
    aircraft: Option<String>,
    /// Write this revision of the aircraft's file to --output
    #[arg(long, value_name = "N", requires = "aircraft", requires = "output")]
    revision: Option<u32>,
    /// Write this recording, as it came, to --output
    #[arg(long, value_name = "ID", requires = "output", conflicts_with = "revision")]
    recording: Option<i64>,
    /// File to write; must not exist yet
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// Read everything that is kept and compare it with its checksums
    #[arg(long, conflicts_with_all = ["revision", "recording"])]
    examine: bool,
}

pub(super) fn run(args: &Args, common: &super::Common) -> Result<Answer, Trouble> {
    let Some(hangar) = keep::open_existing(common)? else {
        return Ok(Answer::yes(
            "Nothing is kept yet. `eyas learn` keeps what it reads; `eyas demo` shows it.\n".into(),
            json!({"aircraft": []}),
        ));
    };
    if let Some(output) = &args.output {
        return give_back(args, output, &hangar);
    }
    if args.examine {
        return examine(&hangar);
    }
    let mut text = String::new();
    let mut aircraft = Vec::new();
    for name in hangar.names().map_err(keep::trouble)? {
        if args.aircraft.as_ref().is_some_and(|wanted| *wanted != name) {
            continue;
        }
        let _ = writeln!(text, "{name}");
        let revisions = hangar.revision_lines(&name).map_err(keep::trouble)?;
        for revision in &revisions {
            let _ = writeln!(
                text,
                "  revision {}  {}  {}",
                revision.number,
                instant(revision.at_ms),
                revision.note
            );
        }
        let flights = hangar.flights(&name).map_err(keep::trouble)?;
        for flight in &flights {
            let _ = writeln!(
                text,
                "  recording {}  {}  {}, {:.1} MB, {}{}",
                flight.recording.id,
                instant(flight.recording.at_ms),
                flight.recording.source_name,
                flight.recording.bytes as f64 / 1e6,
                learned(flight),
                linked(flight)
            );
        }
        let cards = hangar.issued_cards(&name).map_err(keep::trouble)?;
        for card in &cards {
            let _ = writeln!(text, "  card {}  {}", card.id, instant(card.at_ms));
        }
        aircraft.push(json!({
            "name": name,
            "revisions": revisions.iter().map(|r| json!({"number": r.number, "at": instant(r.at_ms), "note": r.note})).collect::<Vec<_>>(),
            "recordings": flights.iter().map(|f| json!({
                "id": f.recording.id.0, "at": instant(f.recording.at_ms), "source": f.recording.source_name,
                "sha256": f.recording.sha256, "card": f.link.as_ref().and_then(|l| l.card).map(|c| c.0), "weather": f.link.as_ref().map(|l| l.weather.clone()),
                "findings": f.learned.as_ref().map(|l| l.findings.0), "adopted_as": f.adopted_as,
            })).collect::<Vec<_>>(),
            "cards": cards.iter().map(|c| json!({"id": c.id.0, "at": instant(c.at_ms)})).collect::<Vec<Value>>(),
        }));
    }
    if let Some(name) = &args.aircraft
        && aircraft.is_empty()
    {
        return Err(fetch::unknown(name, &hangar.names().map_err(keep::trouble)?));
    }
    if aircraft.is_empty() {
        text = "Nothing is kept yet.\n".into();
    }
    Ok(Answer::yes(text, json!({"aircraft": aircraft})))
}

/// Writes a revision or a recording back to a file.
fn give_back(args: &Args, output: &Path, hangar: &Hangar) -> Result<Answer, Trouble> {
    let mut beside = Vec::new();
    let (what, bytes) = match (&args.aircraft, args.revision, args.recording) {
        (Some(name), Some(number), _) => {
            let revision = hangar.revision(name, number).map_err(keep::trouble)?;
            beside = hangar.section_files(revision.id).map_err(keep::trouble)?;
            (format!("revision {number} of {name}"), revision.text.into_bytes())
        }
        (_, _, Some(id)) => {
            let bytes = hangar.recording_bytes(RecordingId(id)).map_err(keep::trouble)?;
            (format!("recording {id}"), bytes)
        }
        _ => {
            return Err(usage("nothing says what to write", "name it with --revision N or --recording ID"));
        }
    };
    files::write_new(output, &bytes)?;
    let mut text = format!("Wrote {what} to {}.\n", output.display());
    for file in &beside {
        text.push_str(&format!("It needs the coordinate file {} beside it.\n", file.name));
        let path = output.with_file_name(&file.name);
        if !path.exists() {
            files::write_new(&path, file.text.as_bytes())?;
            text.push_str(&format!("Wrote {}.\n", path.display()));
        }
    }
    Ok(Answer::yes(text, json!({"file": output, "what": what})))
}

/// Compares everything kept with its checksums.
fn examine(hangar: &Hangar) -> Result<Answer, Trouble> {
    let flaws: Vec<String> = hangar
        .examine()
        .map_err(keep::trouble)?
        .into_iter()
        .map(|flaw| match flaw {
            Flaw::Structure(what) | Flaw::Contents(what) => what,
        })
        .collect();
    let text = if flaws.is_empty() {
        "Everything that is kept is as it was kept.\n".to_owned()
    } else {
        format!(
            "Damaged:\n  {}\nCopy the file away before anything else is done to it.\n",
            flaws.join("\n  ")
        )
    };
    Ok(Answer { text, no: !flaws.is_empty(), json: json!({"flaws": flaws}) })
}

/// What came of a flight, in a few words.
fn learned(flight: &hangar::Flight) -> String {
    let Some(l) = &flight.learned else {
        return "nothing learnt yet".into();
    };
    let adopted = match flight.adopted_as.as_slice() {
        [] => String::new(),
        numbers => {
            let list: Vec<String> = numbers.iter().map(u32::to_string).collect();
            format!(", adopted as revision {}", list.join(", "))
        }
    };
    let changes = match l.changes {
        1 => "1 change".to_owned(),
        n => format!("{n} changes"),
    };
    format!(
        "findings {}: {} of {} estimates hold, {changes} asked for{adopted}",
        l.findings, l.enough, l.estimates
    )
}

/// The card and the weather that a flight was flown with.
fn linked(flight: &hangar::Flight) -> String {
    let Some(link) = &flight.link else { return String::new() };
    let card = link.card.map_or_else(String::new, |card| format!("; flown from card {card}"));
    if link.weather.is_empty() { card } else { format!("{card}, {}", link.weather) }
}
