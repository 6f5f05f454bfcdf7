//! `eyas flights`: what is kept?

use std::fmt::Write as _;

use serde_json::{Value, json};

use super::Answer;
use crate::tasks::keep;
use crate::tell::Trouble;

/// List what the hangar keeps: aircraft, revisions, recordings, cards
///
/// Example: eyas flights Plover
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Only this aircraft
    aircraft: Option<String>,
}

pub(super) fn run(args: &Args, common: &super::Common) -> Result<Answer, Trouble> {
    let Some(hangar) = keep::open_existing(common)? else {
        return Ok(Answer::yes(
            "Nothing is kept yet. `eyas learn` keeps what it reads; `eyas demo` shows it.\n".into(),
            json!({"aircraft": []}),
        ));
    };
    let mut text = String::new();
    let mut aircraft = Vec::new();
    for name in hangar.names().map_err(keep::trouble)? {
        if args.aircraft.as_ref().is_some_and(|wanted| *wanted != name) {
            continue;
        }
        let _ = writeln!(text, "{name}");
        let revisions = hangar.revisions(&name).map_err(keep::trouble)?;
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
                "  recording {}  {}  {}, {:.1} MB, {}",
                flight.recording.id,
                instant(flight.recording.at_ms),
                flight.recording.source_name,
                flight.recording.bytes as f64 / 1e6,
                learned(flight)
            );
        }
        let cards = hangar.cards(&name).map_err(keep::trouble)?;
        for card in &cards {
            let _ = writeln!(text, "  card {}  {}", card.id, instant(card.at_ms));
        }
        aircraft.push(json!({
            "name": name,
            "revisions": revisions.iter().map(|r| json!({"number": r.number, "at": instant(r.at_ms), "note": r.note})).collect::<Vec<_>>(),
            "recordings": flights.iter().map(|f| json!({
                "id": f.recording.id.0, "at": instant(f.recording.at_ms), "source": f.recording.source_name,
                "sha256": f.recording.sha256, "findings": f.learned.as_ref().map(|l| l.findings.0), "adopted_as": f.adopted_as,
            })).collect::<Vec<_>>(),
            "cards": cards.iter().map(|c| json!({"id": c.id.0, "at": instant(c.at_ms)})).collect::<Vec<Value>>(),
        }));
    }
    if aircraft.is_empty() {
        text = match &args.aircraft {
            Some(name) => format!("The hangar keeps nothing under \"{name}\".\n"),
            None => "Nothing is kept yet.\n".into(),
        };
    }
    Ok(Answer::yes(text, json!({"aircraft": aircraft})))
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
    format!(
        "findings {}: {} of {} estimates hold, {} changes{adopted}",
        l.findings, l.enough, l.estimates, l.changes
    )
}

/// An instant as people write it, UTC.
fn instant(at_ms: i64) -> String {
    jiff::Timestamp::from_millisecond(at_ms)
        .map_or_else(|_| "unknown time".into(), |t| t.strftime("%Y-%m-%d %H:%M UTC").to_string())
}
