//! What does a GPX file say? Track points with time, of versions 1.0 and 1.1.
//!
//! Source: the GPX 1.1 schema (topografix.com/GPX/1/1/gpx.xsd): latitude and longitude in degrees on WGS 84, `ele` in
//! metres, `time` in UTC as ISO 8601. Speed (m/s) and course (degrees) are elements of a track point in 1.0 and stand in
//! `extensions` in 1.1.

use numerics::units::RAD_PER_DEG;
use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

use super::{Fix, Refused, on_earth, recording};
use crate::clock;
use crate::csv::NotARecording;
use crate::recording::{Flaw, FlawKind, Quantity, Recording};

/// What is known while a file is read.
#[derive(Default)]
struct Walk {
    point: Option<Fix>,
    text: String,
    fixes: Vec<Fix>,
    points: usize,
    segments: usize,
    /// Waypoints and points of routes: places without a flight.
    planned: usize,
    no_time: Refused,
    no_place: Refused,
}

/// Reads the text of a GPX file.
pub(crate) fn read(text: &[u8], mut flaws: Vec<Flaw>) -> Result<Recording, NotARecording> {
    let mut reader = Reader::from_reader(text);
    let mut walk = Walk::default();
    let (mut line, mut counted) = (1_u32, 0_usize);
    let mut depth = 0_usize;
    loop {
        let event = reader.read_event();
        let here = usize::try_from(reader.buffer_position()).unwrap_or(text.len()).min(text.len());
        line += memchr::memchr_iter(b'\n', text.get(counted..here).unwrap_or(&[])).count() as u32;
        counted = here;
        match event {
            Ok(Event::Start(element)) => {
                depth += 1;
                walk.begin(&element, line);
            }
            Ok(Event::Empty(element)) => {
                walk.begin(&element, line);
                walk.end(element.local_name().as_ref(), line);
            }
            Ok(Event::Text(part)) => {
                if let Ok(part) = part.unescape() {
                    walk.text.push_str(&part);
                }
            }
            Ok(Event::End(element)) => {
                depth = depth.saturating_sub(1);
                walk.end(element.local_name().as_ref(), line);
            }
            Ok(Event::Eof) if depth == 0 => break,
            Ok(Event::Eof) => {
                flaws.push(broken(line, "it ends in the middle"));
                break;
            }
            Err(error) => {
                flaws.push(broken(line, &error.to_string()));
                break;
            }
            Ok(_) => {}
        }
    }
    if walk.fixes.is_empty() {
        let why = match (walk.points, walk.planned) {
            (0, 0) => "it holds no track points".to_owned(),
            (0, planned) => {
                format!("it holds {planned} waypoints or route points, and no track that was flown")
            }
            (points, _) => format!("none of its {points} track points has a place and a time"),
        };
        return Err(NotARecording::NoFix { why });
    }
    flaws.extend(walk.no_time.flaw(walk.points, "track points", "have no time that can be read"));
    flaws.extend(walk.no_place.flaw(walk.points, "track points", "have no place on Earth"));
    let mut unused = Vec::new();
    if walk.planned > 0 {
        unused.push(format!("{} waypoints or route points", walk.planned));
    }
    let source = |q: &Quantity| {
        match q {
            Quantity::Latitude => "lat",
            Quantity::Longitude => "lon",
            Quantity::Altitude => "ele",
            Quantity::GroundSpeed => "speed",
            Quantity::Course => "course",
            _ => "sat",
        }
        .to_owned()
    };
    recording(&walk.fixes, source, flaws, unused)
}

fn broken(line: u32, why: &str) -> Flaw {
    Flaw {
        kind: FlawKind::Truncated,
        place: format!("line {line}"),
        what: format!("the file is not whole from here on ({why}); the track points before are read"),
    }
}

impl Walk {
    fn begin(&mut self, element: &BytesStart<'_>, line: u32) {
        self.text.clear();
        match element.local_name().as_ref() {
            b"trkpt" => {
                self.points += 1;
                let number = |name: &str| -> Option<f64> {
                    let value = element.try_get_attribute(name).ok()??.unescape_value().ok()?.into_owned();
                    value.trim().parse().ok()
                };
                let mut fix = Fix::at(line, f64::NAN);
                if let Some((latitude, longitude)) =
                    number("lat").zip(number("lon")).and_then(|(a, b)| on_earth(a, b))
                {
                    fix.latitude_deg = latitude;
                    fix.longitude_deg = longitude;
                }
                self.point = Some(fix);
            }
            b"trkseg" => self.segments += 1,
            b"wpt" | b"rtept" => self.planned += 1,
            _ => {}
        }
    }

    fn end(&mut self, name: &[u8], line: u32) {
        let text = std::mem::take(&mut self.text);
        let Some(fix) = self.point.as_mut() else { return };
        let number = || text.trim().parse::<f64>().ok().filter(|v| v.is_finite()).unwrap_or(f64::NAN);
        match name {
            b"ele" => fix.altitude_m = number(),
            b"time" => fix.time_s = clock::date_time_s(&text).unwrap_or(f64::NAN),
            b"sat" => fix.satellites = number(),
            b"speed" => fix.ground_speed_m_s = number(),
            b"course" => fix.course_rad = numerics::frames::wrap_rad(number() * RAD_PER_DEG),
            b"trkpt" => {
                let fix = *fix;
                self.point = None;
                if !fix.has_place() {
                    self.no_place.line(line, || format!("{:?}, {:?}", fix.latitude_deg, fix.longitude_deg));
                } else if !fix.time_s.is_finite() {
                    self.no_time.line(line, || format!("{}, {}", fix.latitude_deg, fix.longitude_deg));
                } else {
                    self.fixes.push(fix);
                }
            }
            _ => {}
        }
    }
}
