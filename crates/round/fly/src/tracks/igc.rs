//! What does an IGC file say? Fixes of a flight recorder, with pressure and satellite heights.
//!
//! Source: FAI/IGC Technical Specification for GNSS Flight Recorders, appendix A: B records with fixed columns (UTC,
//! degrees and minutes × 1000, validity, pressure altitude by ISO 2533, satellite altitude), I records that say which
//! further columns they have (LAD, LOD, TDS: more decimals; SIU: satellites in use), H records with the date.

use numerics::frames::wrap_rad;
use sky::atmosphere;

use super::{Fix, Refused, on_earth, recording};
use crate::clock;
use crate::csv::{NotARecording, encoding};
use crate::recording::{Flaw, FlawKind, Quantity, Recording};

/// A further column of the B records: the letters that name it and its first and last place, counted from 1.
#[derive(Debug, Clone)]
struct Extension {
    letters: String,
    first: usize,
    last: usize,
}

/// Whether a text looks like an IGC file: it begins with a maker's record, or has B records.
pub(crate) fn looks_like(text: &[u8]) -> bool {
    let mut fixes = 0;
    let mut opened = false;
    for (place, line) in
        text.split(|b| *b == b'\n').filter(|l| !l.trim_ascii().is_empty()).take(300).enumerate()
    {
        let line = line.trim_ascii();
        opened |= place == 0
            && line.first() == Some(&b'A')
            && line.get(1..4).is_some_and(|m| m.iter().all(u8::is_ascii_alphanumeric))
            && !line.contains(&b',');
        fixes += usize::from(is_fix(line));
        if fixes >= 3 || (opened && (fixes > 0 || line.get(1..5) == Some(b"FDTE"))) {
            return true;
        }
    }
    false
}

fn is_fix(line: &[u8]) -> bool {
    line.len() >= 35
        && line.first() == Some(&b'B')
        && line.get(1..14).is_some_and(|d| d.iter().all(u8::is_ascii_digit))
        && matches!(line.get(14), Some(b'N' | b'S'))
        && matches!(line.get(23), Some(b'E' | b'W'))
}

/// Reads the text of an IGC file.
pub(crate) fn read(text: &[u8], mut flaws: Vec<Flaw>) -> Result<Recording, NotARecording> {
    let mut extensions: Vec<Extension> = Vec::new();
    let mut date: Option<f64> = None;
    let (mut days, mut before) = (0.0, f64::NEG_INFINITY);
    let mut fixes: Vec<Fix> = Vec::new();
    let mut pressures: Vec<f64> = Vec::new();
    let (mut records, mut no_altitude) = (0, 0);
    let mut refused = Refused::default();
    let mut others = std::collections::BTreeMap::<char, usize>::new();
    let ends_whole = text.last().is_some_and(|b| *b == b'\n' || *b == b'\r');
    let count = text.split(|b| *b == b'\n').count();
    for (place, line) in text.split(|b| *b == b'\n').enumerate() {
        let number = place as u32 + 1;
        let line = line.trim_ascii();
        match line.first() {
            None => {}
            Some(b'B') => {
                records += 1;
                let Some((mut fix, pressure_m)) = fix(line, &extensions, number) else {
                    // A recorder that lost power wrote half a line.
                    if place + 1 == count && !ends_whole {
                        flaws.push(Flaw {
                            kind: FlawKind::Truncated,
                            place: format!("line {number}"),
                            what: "the last line ends in the middle and is left out".to_owned(),
                        });
                        records -= 1;
                    } else {
                        refused.line(number, || encoding::shown(line));
                    }
                    continue;
                };
                if fix.time_s < before - 43_200.0 {
                    days += 1.0;
                }
                before = fix.time_s;
                fix.time_s += days * 86_400.0;
                no_altitude += usize::from(fix.altitude_m.is_nan());
                pressures.push(pressure_m);
                fixes.push(fix);
            }
            Some(b'I') => extensions = read_extensions(line),
            Some(b'H') => date = date.or_else(|| read_date(line)),
            Some(other) => {
                if other.is_ascii_uppercase() {
                    *others.entry(char::from(*other)).or_default() += 1;
                } else {
                    refused.line(number, || encoding::shown(line));
                }
            }
        }
    }
    flaws.extend(refused.flaw(records, "fixes", "cannot be read"));
    if date.is_none() && !fixes.is_empty() {
        flaws.push(Flaw {
            kind: FlawKind::Empty,
            place: "header".to_owned(),
            what: "the file tells no date (an HFDTE record); times count from midnight UTC".to_owned(),
        });
    }
    for fix in &mut fixes {
        fix.time_s += date.unwrap_or(0.0) * 86_400.0;
    }
    let altitude = heights(&mut fixes, &pressures, no_altitude, &mut flaws);
    let mut unused: Vec<String> = extensions
        .iter()
        .filter(|e| !["LAD", "LOD", "TDS", "SIU", "TRT"].contains(&e.letters.as_str()))
        .map(|e| format!("{} of the B records", e.letters))
        .collect();
    unused.extend(
        others.into_iter().filter(|(l, _)| *l != 'A').map(|(letter, n)| format!("{n} {letter} records")),
    );
    let source = |q: &Quantity| {
        match q {
            Quantity::Latitude => "latitude of the B records",
            Quantity::Longitude => "longitude of the B records",
            Quantity::Altitude => altitude,
            Quantity::StaticPressure => "pressure altitude of the B records (ISO 2533)",
            Quantity::Course => "TRT of the B records",
            _ => "SIU of the B records",
        }
        .to_owned()
    };
    recording(&fixes, source, flaws, unused)
}

/// Pressure from the pressure altitudes; these stand for the satellite altitudes where a file has none.
fn heights(
    fixes: &mut [Fix],
    pressures_m: &[f64],
    no_altitude: usize,
    flaws: &mut Vec<Flaw>,
) -> &'static str {
    const SATELLITES: &str = "GNSS altitude of the B records";
    let told = |v: &[f64]| v.iter().any(|p| *p != 0.0);
    if told(pressures_m) {
        for (fix, pressure_m) in fixes.iter_mut().zip(pressures_m) {
            // The altitude of a pressure in the standard atmosphere says the pressure.
            fix.static_pressure_pa = atmosphere::standard(atmosphere::geometric_m(*pressure_m))
                .map_or(f64::NAN, |air| air.pressure_pa);
        }
    }
    let satellites = fixes.iter().any(|f| f.altitude_m.is_finite() && f.altitude_m != 0.0);
    if satellites {
        if no_altitude > 0 {
            flaws.push(Flaw {
                kind: FlawKind::Empty,
                place: "GNSS altitude".to_owned(),
                what: format!(
                    "{no_altitude} of {} fixes are marked as having no GNSS altitude; it is left out there",
                    fixes.len()
                ),
            });
        }
        return SATELLITES;
    }
    for (fix, pressure_m) in fixes.iter_mut().zip(pressures_m) {
        fix.altitude_m = if told(pressures_m) { *pressure_m } else { f64::NAN };
    }
    "pressure altitude of the B records"
}

fn digits(bytes: Option<&[u8]>) -> Option<f64> {
    let text = std::str::from_utf8(bytes?).ok()?;
    let plain = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    text.parse().ok().filter(|_| plain)
}

fn altitude(bytes: Option<&[u8]>) -> Option<f64> {
    let bytes = bytes?;
    match bytes.first()? {
        b'-' => digits(bytes.get(1..)).map(|v| -v),
        _ => digits(Some(bytes)),
    }
}

/// A fix with the seconds of its day, and its pressure altitude in meters.
fn fix(line: &[u8], extensions: &[Extension], number: u32) -> Option<(Fix, f64)> {
    if !is_fix(line) {
        return None;
    }
    let (h, m, s) = (digits(line.get(1..3))?, digits(line.get(3..5))?, digits(line.get(5..7))?);
    if h > 23.0 || m > 59.0 || s > 60.0 {
        return None;
    }
    let further = |letters: &str| -> Option<&[u8]> {
        let e = extensions.iter().find(|e| e.letters == letters)?;
        line.get(e.first - 1..e.last)
    };
    // Further decimals follow those that are there.
    let decimals = |letters: &str, unit: f64| -> f64 {
        let Some(more) = further(letters) else { return 0.0 };
        digits(Some(more)).map_or(0.0, |d| d * unit / 10_f64.powi(more.len() as i32))
    };
    let minutes = |at: usize, letters: &str| -> Option<f64> {
        Some((digits(line.get(at..at + 5))? + decimals(letters, 1.0)) / 1000.0)
    };
    let latitude = digits(line.get(7..9))? + minutes(9, "LAD")? / 60.0;
    let longitude = digits(line.get(15..18))? + minutes(18, "LOD")? / 60.0;
    let latitude = if line.get(14) == Some(&b'S') { -latitude } else { latitude };
    let longitude = if line.get(23) == Some(&b'W') { -longitude } else { longitude };
    let valid = match line.get(24)? {
        b'A' => true,
        b'V' => false,
        _ => return None,
    };
    let pressure_m = altitude(line.get(25..30))?;
    let satellites_m = altitude(line.get(30..35))?;
    let mut fix = Fix::at(number, h * 3600.0 + m * 60.0 + s + decimals("TDS", 1.0));
    let (latitude, longitude) = on_earth(latitude, longitude)?;
    // Recorders without any position write zeros.
    if latitude != 0.0 || longitude != 0.0 {
        fix.latitude_deg = latitude;
        fix.longitude_deg = longitude;
    }
    if valid {
        fix.altitude_m = satellites_m;
    }
    fix.satellites = digits(further("SIU")).unwrap_or(f64::NAN);
    // True track in degrees; more than three digits are decimals.
    if let Some(track) = further("TRT")
        && let Some(value) = digits(Some(track))
    {
        let degrees = value / 10_f64.powi(track.len() as i32 - 3);
        fix.course_rad = if degrees <= 360.0 { wrap_rad(degrees.to_radians()) } else { f64::NAN };
    }
    Some((fix, pressure_m))
}

fn read_extensions(line: &[u8]) -> Vec<Extension> {
    let Some(count) = digits(line.get(1..3)) else {
        return Vec::new();
    };
    (0..count as usize)
        .filter_map(|i| {
            let part = line.get(3 + 7 * i..10 + 7 * i)?;
            let (first, last) = (digits(part.get(..2))? as usize, digits(part.get(2..4))? as usize);
            let letters = std::str::from_utf8(part.get(4..7)?).ok()?.to_owned();
            (first > 35 && last >= first).then_some(Extension { letters, first, last })
        })
        .collect()
}

/// Days since 1970-01-01 of a date record: `HFDTE` and day, month, year, with or without `DATE:` between.
fn read_date(line: &[u8]) -> Option<f64> {
    if line.get(2..5)? != b"DTE" {
        return None;
    }
    let rest = line.get(5..)?;
    let rest = rest.strip_prefix(b"DATE").unwrap_or(rest);
    let rest = rest.strip_prefix(b":").unwrap_or(rest).trim_ascii_start();
    let part = |at: usize| digits(rest.get(at..at + 2));
    clock::days_of(part(4)?, part(2)?, part(0)?)
}
