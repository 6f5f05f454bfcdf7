//! What has been done with an aircraft? Everything kept of it, in the order of time.

use aircraft::settings;
use hangar::{Hangar, log_totals};
use report::number;
use report::record_page::{Event, Record, record_html};
use serde_json::Value;

use crate::cli::words::{count, instant};
use crate::cli::{Common, now_ms};
use crate::json::findings;
use crate::tasks::forecast::{Air, forecast};
use crate::tasks::{fetch, keep, round, upkeep};
use crate::tell::Trouble;

/// A record ready to be handed on.
pub(crate) struct Recorded {
    /// The page.
    pub(crate) html: String,
    /// Name of the aircraft.
    pub(crate) name: String,
    /// How many events it tells.
    pub(crate) events: usize,
}

/// The record of an aircraft.
pub(crate) fn record(which: &str, common: &Common) -> Result<Recorded, Trouble> {
    let (hangar, name) = upkeep::kept(which, common)?;
    let fetched = fetch::aircraft(&name, common)?;
    let prediction = forecast(&fetched.aircraft, &Air::default())?;
    let mut events: Vec<(i64, Event)> = Vec::new();
    revisions(&hangar, &name, &mut events)?;
    cards(&hangar, &name, &mut events)?;
    flights(&hangar, &name, &mut events)?;
    snapshots(&hangar, &name, &mut events)?;
    defects(&hangar, &name, &mut events)?;
    log(&hangar, &name, &mut events)?;
    events.sort_by_key(|(at_ms, _)| *at_ms);

    let totals = log_totals(&hangar.log_entries(&name).map_err(keep::trouble)?);
    let mut standing = vec![
        ("Revision in force".to_owned(), hangar.aircraft(&name).map_err(keep::trouble)?.number.to_string()),
        ("Recordings kept".to_owned(), hangar.recordings(&name).map_err(keep::trouble)?.len().to_string()),
    ];
    if totals.flights > 0 {
        standing.push((
            "In the log".to_owned(),
            format!(
                "{}, {:.0} min, {}",
                count(totals.flights, "flight"),
                totals.flown_s / 60.0,
                count(totals.landings, "landing")
            ),
        ));
    }
    for pack in &totals.packs {
        let mut text = format!("{}, {:.0} min", count(pack.cycles, "flight"), pack.flown_s / 60.0);
        if let Some((_, ohm)) = pack.resistances_ohm.last() {
            text.push_str(&format!(", {:.0} mohm", ohm * 1000.0));
        }
        if let Some(rise) = pack.rise_ohm_per_cycle {
            text.push_str(&format!(", {:+.2} mohm a flight", rise * 1000.0));
        }
        standing.push((format!("Pack {}", pack.name), text));
    }
    let outstanding = round::outstanding_of(&fetched, common)?;
    let mut left: Vec<String> = outstanding
        .missing
        .iter()
        .map(|m| {
            let said = m.verdict.as_ref().map_or_else(String::new, |v| format!(" ({v})"));
            format!("{}: flown in {}{said}", m.what, m.points.join(", "))
        })
        .collect();
    let parts = hangar.parts(&name).map_err(keep::trouble)?;
    left.extend(parts.iter().filter(|p| p.here_ms.is_none()).map(|p| format!("part to order: {}", p.what)));
    let number = events.len();
    let told = Record {
        name: name.clone(),
        written: instant(now_ms()),
        grounded: upkeep::grounded(&hangar, &name)?,
        standing,
        outstanding: left,
        events: events.into_iter().map(|(_, event)| event).collect(),
    };
    Ok(Recorded { html: record_html(&told, &fetched.aircraft, &prediction), name, events: number })
}

type Events = Vec<(i64, Event)>;

fn event(at_ms: i64, kind: &'static str, title: String, lines: Vec<String>) -> (i64, Event) {
    (at_ms, Event { when: instant(at_ms), kind, title, lines, estimates: Vec::new() })
}

fn revisions(hangar: &Hangar, name: &str, events: &mut Events) -> Result<(), Trouble> {
    for r in hangar.revisions(name).map_err(keep::trouble)? {
        let mut lines = Vec::new();
        if let Some(parent) = r.parent {
            lines.push(format!("made from revision {parent}"));
        }
        if let Some(findings) = r.from_findings {
            lines.push(format!("takes over findings {findings}"));
        }
        events.push(event(
            r.at_ms,
            "revision",
            format!("Revision {} of the file: {}", r.number, r.note),
            lines,
        ));
    }
    Ok(())
}

fn cards(hangar: &Hangar, name: &str, events: &mut Events) -> Result<(), Trouble> {
    for issued in hangar.issued_cards(name).map_err(keep::trouble)? {
        let card = hangar.card(issued.id).map_err(keep::trouble)?;
        let document: Value = serde_json::from_str(&card.json).unwrap_or_default();
        let mut lines: Vec<String> = titles(&document["points"]).map(|t| format!("to fly: {t}")).collect();
        let day = &document["day"];
        if let (Some(verdict), Some(at)) = (day["verdict"].as_str(), day["at"].as_str()) {
            let weather = day["weather"].as_array().into_iter().flatten().filter_map(Value::as_str);
            let told = std::iter::once(format!("{verdict}, {at}")).chain(weather.map(str::to_owned));
            lines.splice(0..0, told);
        }
        let title = document["title"].as_str().unwrap_or("Card").to_owned();
        let title = format!("Card {} for revision {}: {title}", issued.id, issued.revision_number);
        events.push(event(issued.at_ms, "card", title, lines));
    }
    Ok(())
}

fn titles(points: &Value) -> impl Iterator<Item = &str> {
    points.as_array().into_iter().flatten().filter_map(|point| point["title"].as_str())
}

fn flights(hangar: &Hangar, name: &str, events: &mut Events) -> Result<(), Trouble> {
    for flight in hangar.flights(name).map_err(keep::trouble)? {
        let recording = &flight.recording;
        let mut told = event(
            recording.at_ms,
            "flight",
            format!("Recording {}: {}", recording.id, recording.source_name),
            vec![recording.note.clone(), format!("SHA-256 {}", recording.sha256)],
        );
        told.1.lines.retain(|line| !line.is_empty());
        if let Some(learned) = &flight.learned {
            let kept = hangar.findings_by_id(learned.findings).map_err(keep::trouble)?;
            told.1.estimates = findings::estimates(&kept.json)
                .into_iter()
                .map(|f| {
                    let (name, unit) = named(&f.parameter);
                    (name, number::with_doubt(f.value, f.sd, unit), f.enough)
                })
                .collect();
            if let Ok(adoptable) = findings::read(&kept.json) {
                told.1.lines.extend(adoptable.changes.iter().map(|c| {
                    let held =
                        c.held_back.as_ref().map_or_else(String::new, |why| format!(", held back: {why}"));
                    format!(
                        "asks for {} from {} to {}{held}",
                        c.path,
                        c.from.map_or_else(|| "unset".to_owned(), |v| v.to_string()),
                        c.to
                    )
                }));
            }
        }
        if !flight.adopted_as.is_empty() {
            let list: Vec<String> = flight.adopted_as.iter().map(u32::to_string).collect();
            told.1.lines.push(format!("adopted as revision {}", list.join(", ")));
        }
        events.push(told);
    }
    Ok(())
}

/// A parameter's path as words, and the unit that ends it.
fn named(parameter: &str) -> (String, &'static str) {
    const UNITS: [(&str, &str); 17] = [
        ("_deg_s_per_deg", "deg/s per deg"),
        ("_deg_s", "deg/s"),
        ("_rad_s", "rad/s"),
        ("_m_s", "m/s"),
        ("_deg", "deg"),
        ("_us", "us"),
        ("_mm", "mm"),
        ("_kg", "kg"),
        ("_wh", "Wh"),
        ("_ohm", "ohm"),
        ("_percent", "%"),
        ("_s", "s"),
        ("_m", "m"),
        ("_v", "V"),
        ("_a", "A"),
        ("_w", "W"),
        ("_n", "N"),
    ];
    let found = UNITS.iter().find_map(|(ending, unit)| Some((parameter.strip_suffix(ending)?, *unit)));
    let (name, unit) = found.unwrap_or((parameter, ""));
    (name.replace(['.', '_'], " "), unit)
}

fn snapshots(hangar: &Hangar, name: &str, events: &mut Events) -> Result<(), Trouble> {
    let mut before: Option<settings::Settings> = None;
    for kept in hangar.settings(name).map_err(keep::trouble)? {
        let bytes = hangar.settings_bytes(name, kept.number).map_err(keep::trouble)?;
        let now = settings::read(&bytes).ok();
        let mut lines = Vec::new();
        if !kept.note.is_empty() {
            lines.push(kept.note.clone());
        }
        if let (Some(before), Some(now)) = (&before, &now) {
            for d in settings::compare(before, now, &[]) {
                let (from, to) = d.shown();
                let place = if d.section.is_empty() { String::new() } else { format!("[{}] ", d.section) };
                lines.push(format!(
                    "{place}{}: {} to {}",
                    d.name,
                    if from.is_empty() { "nothing" } else { from },
                    if to.is_empty() { "nothing" } else { to }
                ));
            }
        }
        let title = format!("Settings {}: {}", kept.number, kept.source_name);
        events.push(event(kept.at_ms, "settings", title, lines));
        before = now.or(before);
    }
    Ok(())
}

fn defects(hangar: &Hangar, name: &str, events: &mut Events) -> Result<(), Trouble> {
    for d in hangar.defects(name).map_err(keep::trouble)? {
        let mut lines = vec![if d.grounds { "keeps it on the ground" } else { "remembered" }.to_owned()];
        if !d.by.is_empty() {
            lines.push(format!("told by {}", d.by));
        }
        events.push(event(d.at_ms, "defect", format!("Defect {} ({}): {}", d.id, d.place, d.what), lines));
        if let Some(c) = &d.closed {
            let mut lines: Vec<String> = upkeep::demands(&d)
                .iter()
                .map(|check| format!("to look at again: {}", check.what()))
                .collect();
            if !c.by.is_empty() {
                lines.insert(0, format!("done by {}", c.by));
            }
            events.push(event(
                c.at_ms,
                "repair",
                format!("Defect {} closed ({}): {}", d.id, c.repair, c.done),
                lines,
            ));
        }
    }
    Ok(())
}

fn log(hangar: &Hangar, name: &str, events: &mut Events) -> Result<(), Trouble> {
    for e in hangar.log_entries(name).map_err(keep::trouble)? {
        let mut lines = Vec::new();
        if let Some(s) = e.flown_s {
            lines.push(format!("in the air {}", number::duration(s)));
        }
        if !e.pack.is_empty() {
            lines.push(format!("pack {}", e.pack));
        }
        if let Some(charge) = e.used_as {
            lines.push(format!("{:.0} mAh taken", charge / 3.6));
        }
        if let Some(ohm) = e.resistance_ohm {
            lines.push(format!("pack resistance {:.0} mohm", ohm * 1000.0));
        }
        if !e.note.is_empty() {
            lines.push(e.note.clone());
        }
        let title =
            e.recording.map_or_else(|| "Log entry".to_owned(), |id| format!("Log entry of recording {id}"));
        events.push(event(e.at_ms, "log", title, lines));
    }
    Ok(())
}
