//! Which card was it flown from, in what weather, with which settings, and which of its points were ticked?

use std::collections::{BTreeMap, BTreeSet};

use aircraft::settings::{self, Asked, Difference};
use hangar::{Card, CardId, Hangar, Link, LogEntry, NewLogEntry, RecordingId, Settings};
use report::ticks::{NoTicks, decode, mark};
use serde_json::Value;

use crate::tasks::{keep, round, upkeep};
use crate::tell::{Kind, Trouble};

/// Links a flight with the card named, or with the newest one issued before `at_ms` where none is linked yet. What is
/// linked already stays unless a card is named.
pub(crate) fn link(
    hangar: &mut Hangar,
    name: &str,
    recording: RecordingId,
    card: Option<i64>,
    at_ms: i64,
) -> Result<Option<Link>, Trouble> {
    if card.is_none()
        && let Some(link) = link_of(hangar, name, recording)?
    {
        return Ok(Some(link));
    }
    let card = match card {
        Some(number) => Some(CardId(number)),
        None => hangar.card_before(name, at_ms).map_err(keep::trouble)?.map(|issued| issued.id),
    };
    let Some(card) = card else { return Ok(None) };
    let weather = weather_of(&hangar.card(card).map_err(keep::trouble)?.json);
    hangar.link_flight(recording, Some(card), &weather, at_ms).map(Some).map_err(keep::trouble)
}

fn link_of(hangar: &Hangar, name: &str, recording: RecordingId) -> Result<Option<Link>, Trouble> {
    let flights = hangar.flights(name).map_err(keep::trouble)?;
    Ok(flights.into_iter().find(|f| f.recording.id == recording).and_then(|f| f.link))
}

/// The weather that a card was made for, in a sentence; empty where nobody told it.
pub(crate) fn weather_of(card_json: &str) -> String {
    let card: Value = serde_json::from_str(card_json).unwrap_or_default();
    let day = &card["day"];
    if let (Some(verdict), Some(at)) = (day["verdict"].as_str(), day["at"].as_str()) {
        let told = day["weather"].as_array().into_iter().flatten().filter_map(Value::as_str);
        let told: Vec<&str> = told.collect();
        return format!("{verdict} on {at}: {}", told.join("; "));
    }
    let untold = card["cautions"].as_array().into_iter().flatten().any(|c| c == round::WIND_UNKNOWN);
    let fact = card["facts"].as_array().into_iter().flatten().find(|f| f["name"] == "Wind planned for");
    match fact.and_then(|f| f["text"].as_str()) {
        Some(wind) if !untold => format!("wind planned for {wind}"),
        _ => String::new(),
    }
}

/// A point of a card: identifier, title, whether it was ticked.
pub(crate) type Ticked = (String, String, bool);

/// The points of a card with their ticks, as a code tells them.
pub(crate) fn ticked(card: &Card, code: &str) -> Result<Vec<Ticked>, NoTicks> {
    let document: Value = serde_json::from_str(&card.json).unwrap_or_default();
    let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let points: Vec<(String, String)> = document["points"]
        .as_array()
        .into_iter()
        .flatten()
        .map(|point| (text(&point["id"]), text(&point["title"])))
        .collect();
    let mark = mark(&text(&document["title"]), points.iter().map(|(id, _)| id.as_str()));
    let ticks = decode(code, mark, points.len())?;
    Ok(points.into_iter().zip(ticks).map(|((id, title), on)| (id, title, on)).collect())
}

/// What is entered in the log. What is not told comes from the findings of the recording, where one is named.
#[derive(Debug, Clone, Default)]
pub(crate) struct Entry {
    /// Number of the recording.
    pub(crate) recording: Option<i64>,
    /// The pack's name; may be empty.
    pub(crate) pack: String,
    /// Time in the air, s.
    pub(crate) flown_s: Option<f64>,
    /// Landings.
    pub(crate) landings: Option<u32>,
    /// Charge taken from the pack, As.
    pub(crate) used_as: Option<f64>,
    /// The pack's resistance, ohm.
    pub(crate) resistance_ohm: Option<f64>,
    /// The user's words.
    pub(crate) note: String,
}

/// Enters a flight or a measurement of a pack in the log.
pub(crate) fn enter(hangar: &mut Hangar, name: &str, entry: &Entry, at_ms: i64) -> Result<LogEntry, Trouble> {
    let found = entry.recording.map(|id| from_findings(hangar, name, id)).transpose()?.unwrap_or_default();
    let new = NewLogEntry {
        recording: entry.recording.map(RecordingId),
        pack: &entry.pack,
        flown_s: entry.flown_s.or(found.flown_s),
        landings: entry.landings.or(found.landings),
        used_as: entry.used_as.or(found.used_as),
        resistance_ohm: entry.resistance_ohm.or(found.resistance_ohm),
        note: &entry.note,
        at_ms: found.at_ms.unwrap_or(at_ms),
    };
    hangar.log(name, &new).map_err(keep::trouble)
}

/// Recordings of an aircraft that are not in the log yet.
pub(crate) fn not_logged(hangar: &Hangar, name: &str, entries: &[LogEntry]) -> Result<Vec<i64>, Trouble> {
    let logged: BTreeSet<i64> = entries.iter().filter_map(|e| e.recording.map(|r| r.0)).collect();
    let recordings = hangar.recordings(name).map_err(keep::trouble)?;
    Ok(recordings.iter().map(|r| r.id.0).filter(|id| !logged.contains(id)).collect())
}

/// What a flight's newest findings say for the log.
#[derive(Default)]
struct Found {
    flown_s: Option<f64>,
    landings: Option<u32>,
    used_as: Option<f64>,
    resistance_ohm: Option<f64>,
    at_ms: Option<i64>,
}

fn from_findings(hangar: &Hangar, name: &str, id: i64) -> Result<Found, Trouble> {
    let flights = hangar.flights(name).map_err(keep::trouble)?;
    let Some(flight) = flights.iter().find(|f| f.recording.id.0 == id) else {
        return Err(Trouble::new(
            Kind::Input,
            "nothing was entered in the log",
            format!("\"{name}\" has no recording {id}"),
            format!("list them: eyas flights \"{name}\""),
        ));
    };
    let mut found = Found { at_ms: Some(flight.recording.at_ms), ..Found::default() };
    let Some(learned) = &flight.learned else { return Ok(found) };
    let findings = hangar.findings_by_id(learned.findings).map_err(keep::trouble)?;
    let Ok(document) = serde_json::from_str::<Value>(&findings.json) else { return Ok(found) };
    if let Some(flown_s) = upkeep::flown_s(&document) {
        found.flown_s = Some(flown_s);
        found.landings = Some(1);
    }
    let value = |pointer: &str| document.pointer(pointer).and_then(Value::as_f64);
    found.resistance_ohm = value("/battery/resistance_ohm/value");
    found.used_as =
        value("/battery/used_as/value").or_else(|| value("/battery/used_mah/value").map(|mah| mah * 3.6));
    Ok(found)
}

/// The settings that a flight was flown with, and those after it, where they were kept.
#[derive(Debug, Clone, Default)]
pub(crate) struct Around {
    /// The newest snapshot kept before the flight was.
    pub(crate) before: Option<Settings>,
    /// The newest one kept after it and before the next flight.
    pub(crate) after: Option<Settings>,
}

/// Snapshots around each flight; `flights`: recording and instant, in the order of time.
pub(crate) fn settings_around(
    snapshots: &[Settings],
    flights: &[(RecordingId, i64)],
) -> BTreeMap<RecordingId, Around> {
    let mut out = BTreeMap::new();
    for (n, (id, at_ms)) in flights.iter().enumerate() {
        let next_ms = flights.get(n + 1).map_or(i64::MAX, |(_, at)| *at);
        out.insert(
            *id,
            Around {
                before: snapshots.iter().rev().find(|s| s.at_ms <= *at_ms).cloned(),
                after: snapshots.iter().rev().find(|s| s.at_ms > *at_ms && s.at_ms <= next_ms).cloned(),
            },
        );
    }
    out
}

/// What changed from one snapshot of an aircraft to another, and which finding asked for it; none where one of them is no
/// text of settings.
pub(crate) fn differences(
    hangar: &Hangar,
    name: &str,
    older: u32,
    newer: u32,
    asked: &[Asked],
) -> Result<Option<Vec<Difference>>, Trouble> {
    let read = |number| -> Result<_, Trouble> {
        let bytes = hangar.settings_bytes(name, number).map_err(keep::trouble)?;
        Ok(settings::read(&bytes).ok())
    };
    Ok(match (read(older)?, read(newer)?) {
        (Some(older), Some(newer)) => Some(settings::compare(&older, &newer, asked)),
        _ => None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn snapshot(number: u32, at_ms: i64) -> Settings {
        Settings {
            aircraft: String::new(),
            number,
            sha256: String::new(),
            size: 0,
            source_name: String::new(),
            note: String::new(),
            at_ms,
        }
    }

    #[test]
    fn each_flight_has_the_settings_before_it_and_those_made_after_it() {
        let snapshots = [snapshot(1, 10), snapshot(2, 30), snapshot(3, 40), snapshot(4, 60)];
        let flights = [(RecordingId(7), 5), (RecordingId(8), 20), (RecordingId(9), 50)];
        let around = settings_around(&snapshots, &flights);
        let told = |id: i64| {
            let a = &around[&RecordingId(id)];
            (a.before.as_ref().map(|s| s.number), a.after.as_ref().map(|s| s.number))
        };
        // By hand on a line of time: 5, [10], 20, [30], [40], 50, [60].
        assert_eq!(told(7), (None, Some(1)));
        assert_eq!(told(8), (Some(1), Some(3)));
        assert_eq!(told(9), (Some(3), Some(4)));
    }

    #[test]
    fn the_weather_of_a_card_is_what_it_was_made_for() {
        let day =
            r#"{"day":{"verdict":"go","at":"2026-06-21 13:00 UTC","weather":["METAR: wind 3","TAF: calm"]}}"#;
        assert_eq!(weather_of(day), "go on 2026-06-21 13:00 UTC: METAR: wind 3; TAF: calm");
        let fact = r#""facts":[{"name":"Stall","text":"8"},{"name":"Wind planned for","text":"3 m/s"}]"#;
        assert_eq!(weather_of(&format!("{{\"cautions\":[],{fact}}}")), "wind planned for 3 m/s");
        let unknown = serde_json::json!([round::WIND_UNKNOWN]);
        assert_eq!(weather_of(&format!("{{\"cautions\":{unknown},{fact}}}")), "");
        assert_eq!(weather_of("no document"), "");
    }

    fn card(title: &str) -> Card {
        let points = r#"[{"id": "ground", "title": "On the ground"}, {"id": "air", "title": "In the air"}]"#;
        Card {
            id: CardId(1),
            aircraft: "A".into(),
            revision: hangar::RevisionId(1),
            revision_number: 1,
            html: Vec::new(),
            json: format!(r#"{{"title": "{title}", "points": {points}}}"#),
            sha256: String::new(),
            version: "1".into(),
            at_ms: 0,
        }
    }

    #[test]
    fn ticks_are_told_point_by_point_and_those_of_another_card_are_not_taken() {
        let code = report::ticks::encode(mark("Second flight", ["ground", "air"]), &[false, true]);
        let told = |id: &str, title: &str, on| (id.to_owned(), title.to_owned(), on);
        let expected = vec![told("ground", "On the ground", false), told("air", "In the air", true)];
        assert_eq!(ticked(&card("Second flight"), &code), Ok(expected));
        assert_eq!(ticked(&card("Third flight"), &code), Err(NoTicks::OtherCard));
    }
}
