//! How long has this airframe flown, and how old is each pack? A log of entries, and its totals.

use rusqlite::{OptionalExtension, Row, params};

use crate::error::HangarError;
use crate::names::aircraft_row;
use crate::open::Hangar;
use crate::recordings::RecordingId;
use crate::store::Fault;

/// An entry to keep. What is not known stays none.
#[derive(Debug, Clone, Copy, Default)]
pub struct NewLogEntry<'a> {
    /// The recording of the flight, if there is one.
    pub recording: Option<RecordingId>,
    /// The pack's name; empty where none was told.
    pub pack: &'a str,
    /// Time in the air, s.
    pub flown_s: Option<f64>,
    /// Landings.
    pub landings: Option<u32>,
    /// Charge taken from the pack, As.
    pub used_as: Option<f64>,
    /// The pack's resistance, ohm.
    pub resistance_ohm: Option<f64>,
    /// The user's words.
    pub note: &'a str,
    /// When it happened, ms since 1970-01-01 UTC.
    pub at_ms: i64,
}

/// An entry of the log.
#[derive(Debug, Clone, PartialEq)]
pub struct LogEntry {
    /// Number among those of all aircraft.
    pub id: i64,
    /// The recording of the flight, if there is one.
    pub recording: Option<RecordingId>,
    /// The pack's name; empty where none was told.
    pub pack: String,
    /// Time in the air, s.
    pub flown_s: Option<f64>,
    /// Landings.
    pub landings: Option<u32>,
    /// Charge taken from the pack, As.
    pub used_as: Option<f64>,
    /// The pack's resistance, ohm.
    pub resistance_ohm: Option<f64>,
    /// The user's words.
    pub note: String,
    /// When it happened, ms since 1970-01-01 UTC.
    pub at_ms: i64,
}

/// What a log adds up to.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LogTotals {
    /// Entries with time in the air.
    pub flights: u32,
    /// Time in the air, s.
    pub flown_s: f64,
    /// Landings told.
    pub landings: u32,
    /// Each pack, by name.
    pub packs: Vec<PackTotals>,
}

/// What the log says of one pack.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PackTotals {
    /// Its name.
    pub name: String,
    /// Times it was flown.
    pub cycles: u32,
    /// Time in the air with it, s.
    pub flown_s: f64,
    /// Charge taken from it, As.
    pub used_as: f64,
    /// Each measured resistance in the order of time: ms since 1970-01-01 UTC, ohm.
    pub resistances_ohm: Vec<(i64, f64)>,
    /// The same over the flights: after how many, ohm.
    pub over_cycles_ohm: Vec<(u32, f64)>,
    /// Rise of the resistance a flight, ohm, by least squares over the flights; none with fewer than three values.
    pub rise_ohm_per_cycle: Option<f64>,
}

const COLUMNS: &str =
    "SELECT id, recording, pack, flown_s, landings, used_as, resistance_ohm, note, at_ms FROM log_entry";

impl Hangar {
    /// Keeps an entry. A recording has at most one: a second is refused.
    ///
    /// # Errors
    /// [`HangarError::NoAircraft`], [`HangarError::Nothing`] for a recording that is not there,
    /// [`HangarError::OtherAircraft`], [`HangarError::AlreadyDone`], and the causes that concern writing.
    pub fn log(&mut self, name: &str, new: &NewLogEntry<'_>) -> Result<LogEntry, HangarError> {
        self.write("writing the log", |transaction| {
            let aircraft = aircraft_row(transaction, name)?;
            if let Some(recording) = new.recording {
                let of: String = transaction
                    .query_row(
                        "SELECT a.name FROM recording r JOIN aircraft a ON a.id = r.aircraft WHERE r.id = ?1",
                        [recording.0],
                        |row| row.get(0),
                    )
                    .optional()?
                    .ok_or(HangarError::Nothing { what: "recording", id: recording.0 })?;
                if of != name {
                    let not = name.to_owned();
                    return Err(HangarError::OtherAircraft { what: "recording", of, not }.into());
                }
                let there: Option<i64> = transaction
                    .query_row("SELECT at_ms FROM log_entry WHERE recording = ?1", [recording.0], |row| row.get(0))
                    .optional()?;
                if let Some(at_ms) = there {
                    let what = "log entry of recording";
                    return Err(HangarError::AlreadyDone { what, id: recording.0, at_ms }.into());
                }
            }
            transaction.execute(
                "INSERT INTO log_entry (aircraft, recording, pack, flown_s, landings, used_as, resistance_ohm, note, at_ms)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
                params![
                    aircraft,
                    new.recording.map(|id| id.0),
                    new.pack,
                    new.flown_s,
                    new.landings,
                    new.used_as,
                    new.resistance_ohm,
                    new.note,
                    new.at_ms
                ],
            )?;
            let id = transaction.last_insert_rowid();
            Ok(transaction.query_row(&format!("{COLUMNS} WHERE id = ?1"), [id], from_row)?)
        })
    }

    /// The log of an aircraft in the order of time.
    ///
    /// # Errors
    /// [`HangarError::NoAircraft`], and the causes that concern reading.
    pub fn log_entries(&self, name: &str) -> Result<Vec<LogEntry>, HangarError> {
        self.read("reading the log", |connection| {
            let aircraft = aircraft_row(connection, name)?;
            let mut statement =
                connection.prepare_cached(&format!("{COLUMNS} WHERE aircraft = ?1 ORDER BY at_ms, id"))?;
            let rows = statement.query_map([aircraft], from_row)?;
            Ok::<_, Fault>(rows.collect::<Result<_, _>>()?)
        })
    }
}

/// Adds up entries that are in the order of time.
#[must_use]
pub fn log_totals(entries: &[LogEntry]) -> LogTotals {
    let mut totals = LogTotals::default();
    for entry in entries {
        let flown_s = entry.flown_s.unwrap_or(0.0);
        let flew = flown_s > 0.0;
        totals.flights += u32::from(flew);
        totals.flown_s += flown_s;
        totals.landings += entry.landings.unwrap_or(0);
        if entry.pack.is_empty() {
            continue;
        }
        let at = totals.packs.iter().position(|pack| pack.name == entry.pack).unwrap_or_else(|| {
            totals.packs.push(PackTotals { name: entry.pack.clone(), ..PackTotals::default() });
            totals.packs.len() - 1
        });
        let Some(pack) = totals.packs.get_mut(at) else { continue };
        pack.cycles += u32::from(flew);
        pack.flown_s += flown_s;
        pack.used_as += entry.used_as.unwrap_or(0.0);
        if let Some(ohm) = entry.resistance_ohm {
            pack.resistances_ohm.push((entry.at_ms, ohm));
            pack.over_cycles_ohm.push((pack.cycles, ohm));
        }
    }
    for pack in &mut totals.packs {
        let points: Vec<(f64, f64)> =
            pack.over_cycles_ohm.iter().map(|(cycle, ohm)| (f64::from(*cycle), *ohm)).collect();
        pack.rise_ohm_per_cycle = slope(&points);
    }
    totals.packs.sort_by(|a, b| a.name.cmp(&b.name));
    totals
}

/// Slope of the least-squares line; none for fewer than three points or all at one place.
fn slope(points: &[(f64, f64)]) -> Option<f64> {
    if points.len() < 3 {
        return None;
    }
    let n = points.len() as f64;
    let mean_x = points.iter().map(|p| p.0).sum::<f64>() / n;
    let mean_y = points.iter().map(|p| p.1).sum::<f64>() / n;
    let sxx: f64 = points.iter().map(|p| (p.0 - mean_x).powi(2)).sum();
    let sxy: f64 = points.iter().map(|p| (p.0 - mean_x) * (p.1 - mean_y)).sum();
    (sxx > 0.0).then(|| sxy / sxx)
}

fn from_row(row: &Row<'_>) -> Result<LogEntry, rusqlite::Error> {
    Ok(LogEntry {
        id: row.get(0)?,
        recording: row.get::<_, Option<i64>>(1)?.map(RecordingId),
        pack: row.get(2)?,
        flown_s: row.get(3)?,
        landings: row.get(4)?,
        used_as: row.get(5)?,
        resistance_ohm: row.get(6)?,
        note: row.get(7)?,
        at_ms: row.get(8)?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry(pack: &str, minutes: f64, ohm: Option<f64>, at_ms: i64) -> LogEntry {
        LogEntry {
            id: at_ms,
            recording: None,
            pack: pack.into(),
            flown_s: Some(minutes * 60.0),
            landings: Some(1),
            used_as: Some(100.0),
            resistance_ohm: ohm,
            note: String::new(),
            at_ms,
        }
    }

    #[test]
    fn a_pack_that_gains_two_milliohm_a_flight_is_told_so() {
        // A straight line by construction: 20, 22, 24 mohm at flights 1, 2, 3.
        let entries: Vec<_> =
            (0..3).map(|i| entry("A", 6.0, Some(0.020 + 0.002 * f64::from(i)), i64::from(i))).collect();
        let totals = log_totals(&entries);
        assert_eq!((totals.flights, totals.landings), (3, 3));
        assert!((totals.flown_s - 1080.0).abs() < 1e-9);
        let rise = totals.packs[0].rise_ohm_per_cycle.unwrap();
        assert!((rise - 0.002).abs() < 1e-12, "{rise}");
        assert_eq!(totals.packs[0].cycles, 3);
    }

    #[test]
    fn two_values_make_no_trend_and_packs_are_kept_apart() {
        let entries =
            [entry("B", 5.0, Some(0.03), 1), entry("A", 6.0, None, 2), entry("B", 4.0, Some(0.04), 3)];
        let totals = log_totals(&entries);
        let names: Vec<_> = totals.packs.iter().map(|p| (p.name.as_str(), p.cycles, p.flown_s)).collect();
        assert_eq!(names, [("A", 1, 360.0), ("B", 2, 540.0)]);
        assert!(totals.packs.iter().all(|p| p.rise_ohm_per_cycle.is_none()));
    }
}
