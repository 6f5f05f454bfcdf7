//! What has been done with an aircraft? Everything kept of it, in the order of time.

use aircraft::settings::{Asked, Difference};
use hangar::{Findings, Hangar, LogTotals, PackTotals, log_totals};
use plan::choose::readable;
use predict::scale::Setting;
use report::number;
use report::record_page::{Event, PackRecord, Record, SettingChange, record_html};
use serde_json::Value;

use crate::cli::words::{count, instant};
use crate::cli::{Common, now_ms};
use crate::json::findings;
use crate::tasks::fetch::Fetched;
use crate::tasks::flown::Around;
use crate::tasks::forecast::{Air, forecast};
use crate::tasks::{fetch, flown, keep, round, upkeep};
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

/// Flights and cards told in full, the newest ones; older ones have a line each. The whole of each stays in the hangar.
const IN_FULL: usize = 100;

/// The record of an aircraft. `scale`: the builder's table of settings, by which findings are told as settings to change;
/// may be empty.
pub(crate) fn record(which: &str, scale: &[Setting], common: &Common) -> Result<Recorded, Trouble> {
    let (hangar, name) = upkeep::kept(which, common)?;
    let fetched = fetch::aircraft(&name, common)?;
    let prediction = forecast(&fetched.aircraft, &Air::default())?;
    let told = told(&hangar, &name, &fetched, scale, common)?;
    Ok(Recorded { html: record_html(&told, &fetched.aircraft, &prediction), events: told.events.len(), name })
}

/// Everything kept of an aircraft, in the order of time.
fn told(
    hangar: &Hangar,
    name: &str,
    fetched: &Fetched,
    scale: &[Setting],
    common: &Common,
) -> Result<Record, Trouble> {
    let mut events: Vec<(i64, Event)> = Vec::new();
    revisions(hangar, name, &mut events)?;
    cards(hangar, name, &mut events)?;
    flights(hangar, name, scale, &mut events)?;
    snapshots(hangar, name, &mut events)?;
    defects(hangar, name, &mut events)?;
    log(hangar, name, &mut events)?;
    events.sort_by_key(|(at_ms, _)| *at_ms);
    let totals = log_totals(&hangar.log_entries(name).map_err(keep::trouble)?);
    let outstanding = round::outstanding_of(fetched, common)?;
    Ok(Record {
        name: name.to_owned(),
        written: instant(now_ms()),
        grounded: upkeep::grounded(hangar, name)?,
        standing: standing(hangar, name, &totals)?,
        packs: totals.packs.iter().map(pack).collect(),
        parts: parts(hangar, name)?,
        outstanding: outstanding
            .missing
            .iter()
            .map(|m| {
                let said = m.verdict.as_ref().map_or_else(String::new, |v| format!(" ({v})"));
                format!("{}: flown in {}{said}", readable(&m.what), m.points.join(", "))
            })
            .collect(),
        events: events.into_iter().map(|(_, event)| event).collect(),
    })
}

fn standing(hangar: &Hangar, name: &str, totals: &LogTotals) -> Result<Vec<(String, String)>, Trouble> {
    let mut standing = vec![
        ("Revision in force".to_owned(), hangar.aircraft(name).map_err(keep::trouble)?.number.to_string()),
        ("Recordings kept".to_owned(), hangar.recordings(name).map_err(keep::trouble)?.len().to_string()),
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
    Ok(standing)
}

fn pack(pack: &PackTotals) -> PackRecord {
    PackRecord {
        name: pack.name.clone(),
        flights: pack.cycles,
        minutes: pack.flown_s / 60.0,
        used_mah: pack.used_as / 3.6,
        resistance_mohm: pack.over_cycles_ohm.iter().map(|(n, ohm)| [f64::from(*n), ohm * 1000.0]).collect(),
        rise_mohm: pack.rise_ohm_per_cycle.map(|ohm| ohm * 1000.0),
    }
}

/// Parts that are not here yet, with what each is for.
fn parts(hangar: &Hangar, name: &str) -> Result<Vec<(String, String)>, Trouble> {
    let defects = hangar.defects(name).map_err(keep::trouble)?;
    let parts = hangar.parts(name).map_err(keep::trouble)?;
    Ok(parts
        .into_iter()
        .filter(|part| part.here_ms.is_none())
        .map(|part| {
            let since = format!("noted {}", instant(part.at_ms));
            let defect = part.defect.and_then(|id| defects.iter().find(|d| d.id == id));
            let words =
                defect.map_or(since.clone(), |d| format!("{since}, for defect {} ({})", d.id, d.what));
            (part.what, words)
        })
        .collect())
}

type Events = Vec<(i64, Event)>;

fn event(at_ms: i64, kind: &'static str, title: String, lines: Vec<String>) -> (i64, Event) {
    (at_ms, Event { when: instant(at_ms), kind, title, lines, ..Event::default() })
}

fn revisions(hangar: &Hangar, name: &str, events: &mut Events) -> Result<(), Trouble> {
    for r in hangar.revision_lines(name).map_err(keep::trouble)? {
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
    let issued = hangar.issued_cards(name).map_err(keep::trouble)?;
    let older = issued.len().saturating_sub(IN_FULL);
    for (n, issued) in issued.iter().enumerate() {
        let title = format!("Card {} for revision {}", issued.id, issued.revision_number);
        if n < older {
            events.push(event(issued.at_ms, "card", title, Vec::new()));
            continue;
        }
        let card = hangar.card(issued.id).map_err(keep::trouble)?;
        let document: Value = serde_json::from_str(&card.json).unwrap_or_default();
        let codes = hangar.ticks(issued.id).map_err(keep::trouble)?;
        let ticked = codes.last().and_then(|(code, _)| flown::ticked(&card, code).ok());
        let points = document["points"].as_array().into_iter().flatten();
        let mut lines: Vec<String> = Vec::new();
        let weather = flown::weather_of(&card.json);
        if !weather.is_empty() {
            lines.push(weather);
        }
        let loosened = document["day"]["loosened"].as_array().into_iter().flatten();
        lines.extend(loosened.filter_map(Value::as_str).map(str::to_owned));
        lines.extend(points.filter_map(|point| {
            let title = point["title"].as_str()?;
            let on = ticked.as_ref().and_then(|t| t.iter().find(|(id, ..)| point["id"] == id.as_str()));
            Some(match on {
                None => format!("to fly: {title}"),
                Some((.., true)) => format!("ticked at the field: {title}"),
                Some((.., false)) => format!("not ticked at the field: {title}"),
            })
        }));
        let what = document["title"].as_str().unwrap_or("Card");
        events.push(event(issued.at_ms, "card", format!("{title}: {what}"), lines));
    }
    Ok(())
}

fn flights(hangar: &Hangar, name: &str, scale: &[Setting], events: &mut Events) -> Result<(), Trouble> {
    let flights = hangar.flights(name).map_err(keep::trouble)?;
    let snapshots = hangar.settings(name).map_err(keep::trouble)?;
    let times: Vec<_> = flights.iter().map(|f| (f.recording.id, f.recording.at_ms)).collect();
    let mut around = flown::settings_around(&snapshots, &times);
    let older = flights.len().saturating_sub(IN_FULL);
    let mut asked: Vec<Asked> = Vec::new();
    for (n, flight) in flights.iter().enumerate() {
        let recording = &flight.recording;
        let title = format!("Flight {}, recording {}: {}", n + 1, recording.id, recording.source_name);
        if n < older {
            let lines =
                flight.learned.as_ref().map(|l| format!("{} of {} findings hold", l.enough, l.estimates));
            events.push(event(recording.at_ms, "flight", title, lines.into_iter().collect()));
            continue;
        }
        let mut told = event(recording.at_ms, "flight", title, vec![recording.note.clone()]);
        let lines = &mut told.1.lines;
        if let Some(link) = &flight.link {
            lines.extend(link.card.map(|card| format!("flown from card {card}")));
            lines.push(if link.weather.is_empty() {
                String::new()
            } else {
                format!("weather: {}", link.weather)
            });
        }
        lines.push(format!("flown with revision {} of the file", recording.revision_number));
        lines.push(format!("SHA-256 {}", recording.sha256));
        lines.retain(|line| !line.is_empty());
        if let Some(learned) = &flight.learned {
            let kept = hangar.findings_by_id(learned.findings).map_err(keep::trouble)?;
            told_of(&kept, &mut told.1);
            upkeep::asks_too(&mut asked, &kept, scale);
        }
        if !flight.adopted_as.is_empty() {
            let list: Vec<String> = flight.adopted_as.iter().map(u32::to_string).collect();
            told.1.lines.push(format!("adopted as revision {}", list.join(", ")));
        }
        if let Some(around) = around.remove(&recording.id) {
            settings_of_flight(hangar, name, &around, &asked, &mut told.1)?;
        }
        events.push(told);
    }
    Ok(())
}

/// What a flight taught and asks for.
fn told_of(kept: &Findings, event: &mut Event) {
    event.estimates = findings::estimates(&kept.json)
        .into_iter()
        .map(|f| {
            let (name, unit) = named(&f.parameter);
            (name, number::with_doubt(f.value, f.sd, unit), f.enough)
        })
        .collect();
    let Ok(adoptable) = findings::read(&kept.json) else { return };
    event.lines.extend(adoptable.changes.iter().map(|c| {
        let held = c.held_back.as_ref().map_or_else(String::new, |why| format!(", held back: {why}"));
        format!(
            "asks for {} from {} to {}{held}",
            c.path,
            c.from.map_or_else(|| "unset".to_owned(), |v| number::exact(v, &c.unit)),
            number::with_doubt(c.to, c.sd, &c.unit)
        )
    }));
}

/// The settings before and after a flight, with what asked for each that changed.
fn settings_of_flight(
    hangar: &Hangar,
    name: &str,
    around: &Around,
    asked: &[Asked],
    event: &mut Event,
) -> Result<(), Trouble> {
    match (&around.before, &around.after) {
        (None, None) => event.lines.push("settings flown with: none were kept before it".to_owned()),
        (None, Some(after)) => {
            event.lines.push(format!(
                "settings flown with: none were kept before it; after it, settings {}",
                after.number
            ));
        }
        (Some(before), None) => {
            event.lines.push(format!("flown with settings {} ({})", before.number, before.source_name));
        }
        (Some(before), Some(after)) => {
            event.lines.push(format!(
                "flown with settings {} ({}); after it, settings {} ({})",
                before.number, before.source_name, after.number, after.source_name
            ));
            let changed = flown::differences(hangar, name, before.number, after.number, asked)?;
            event.settings = changed.unwrap_or_default().iter().map(setting_change).collect();
        }
    }
    Ok(())
}

fn setting_change(d: &Difference) -> SettingChange {
    let (from, to) = d.shown();
    SettingChange {
        name: if d.section.is_empty() { d.name.clone() } else { format!("[{}] {}", d.section, d.name) },
        from: if from.is_empty() { "not there".to_owned() } else { from.to_owned() },
        to: if to.is_empty() { "taken out".to_owned() } else { to.to_owned() },
        asked: d.asked.as_ref().map_or_else(String::new, |asked| {
            if d.as_asked == Some(true) {
                asked.why.clone()
            } else {
                format!("{}, which asked for {}", asked.why, asked.to)
            }
        }),
    }
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
    let kept = hangar.settings(name).map_err(keep::trouble)?;
    let older = kept.len().saturating_sub(IN_FULL);
    for (n, snapshot) in kept.iter().enumerate() {
        let mut told = event(
            snapshot.at_ms,
            "settings",
            format!("Settings {}: {}", snapshot.number, snapshot.source_name),
            vec![snapshot.note.clone()],
        );
        told.1.lines.retain(|line| !line.is_empty());
        if n > older {
            let changed = flown::differences(hangar, name, snapshot.number - 1, snapshot.number, &[])?;
            let changed = changed.unwrap_or_default();
            told.1.lines.push(format!("{} changed since settings {}", changed.len(), snapshot.number - 1));
            told.1.lines.extend(changed.iter().map(|d| {
                let c = setting_change(d);
                format!("{}: {} to {}", c.name, c.from, c.to)
            }));
        }
        events.push(told);
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
