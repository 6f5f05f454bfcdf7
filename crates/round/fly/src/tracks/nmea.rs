//! What does an NMEA 0183 log say? Fixes by their sentences, each held against its checksum.
//!
//! Source: NMEA 0183: `$`, two letters of the talker, three of the sentence, fields between commas, `*` and the exclusive
//! or of all bytes between as two hexadecimal digits. RMC: time, validity, place, speed in knots, course, date. GGA and
//! GNS: time, place, satellites, altitude above the sea. VTG: course and speed. GLL: place and time. ZDA: date and time.

use std::collections::BTreeMap;

use numerics::frames::wrap_rad;
use numerics::units::RAD_PER_DEG;

use super::{Fix, Refused, on_earth, recording};
use crate::clock;
use crate::csv::{NotARecording, encoding};
use crate::recording::{Flaw, FlawKind, Quantity, Recording};

/// Meters a second in a knot (exact: 1852 m in 3600 s).
const KNOT_M_S: f64 = 1852.0 / 3600.0;

/// A sentence whose checksum holds.
struct Sentence<'a> {
    kind: &'a str,
    fields: Vec<&'a str>,
}

/// Whether a text looks like a log of sentences.
pub(crate) fn looks_like(text: &[u8]) -> bool {
    let lines: Vec<&[u8]> =
        text.split(|b| *b == b'\n').map(<[u8]>::trim_ascii).filter(|l| !l.is_empty()).take(40).collect();
    let sentences = lines.iter().filter(|l| begin(l).is_some()).count();
    sentences > 0 && 2 * sentences >= lines.len()
}

/// Where the sentence begins: `$`, five letters or digits, a comma. Some logs put their own time before it.
fn begin(line: &[u8]) -> Option<usize> {
    let at = memchr::memchr(b'$', line)?;
    let head = line.get(at + 1..at + 7)?;
    let (name, comma) = head.split_at(5);
    let letters = name.iter().all(|b| b.is_ascii_uppercase() || b.is_ascii_digit());
    (letters && comma == b",").then_some(at)
}

/// The fixes of one moment while its sentences come in.
struct Moment {
    fix: Fix,
    day: Option<f64>,
}

#[derive(Default)]
struct Log {
    moments: Vec<Moment>,
    /// Speed and course told before the first sentence with a time, for logs whose bursts begin with them.
    pending: Option<(f64, f64)>,
    velocity_leads: Option<bool>,
    /// Sentences that should tell a time and do not.
    untimed: usize,
}

/// Reads the text of a log.
pub(crate) fn read(text: &[u8], mut flaws: Vec<Flaw>) -> Result<Recording, NotARecording> {
    let (mut lines, mut sentences) = (0, 0);
    let (mut wrong, mut strange) = (Refused::default(), Refused::default());
    let mut log = Log::default();
    let mut unused = BTreeMap::<String, usize>::new();
    let count = text.split(|b| *b == b'\n').count();
    let ends_whole = text.last().is_some_and(|b| *b == b'\n' || *b == b'\r');
    for (place, line) in text.split(|b| *b == b'\n').enumerate() {
        let line = line.trim_ascii();
        if line.is_empty() {
            continue;
        }
        let number = place as u32 + 1;
        let cut = place + 1 == count && !ends_whole;
        lines += 1;
        let Some(body) = begin(line).and_then(|at| line.get(at + 1..)) else {
            if cut {
                flaws.push(cut_off(number))
            } else {
                strange.line(number, || encoding::shown(line))
            }
            continue;
        };
        sentences += 1;
        let Some(sentence) = checked(body) else {
            if cut {
                flaws.push(cut_off(number))
            } else {
                wrong.line(number, || encoding::shown(line))
            }
            continue;
        };
        if !log.take(&sentence, number) {
            *unused.entry(sentence.kind.to_owned()).or_default() += 1;
        }
    }
    flaws.extend(wrong.flaw(sentences, "sentences", "do not agree with their checksum"));
    flaws.extend(strange.flaw(lines, "lines", "are no sentences"));
    let all = log.moments.len();
    let fixes = log.finish(&mut flaws);
    if fixes.is_empty() {
        let why = if all == 0 {
            "no sentence tells a place and a time".to_owned()
        } else {
            format!("the receiver had no fix in any of its {all} moments")
        };
        return Err(NotARecording::NoFix { why });
    }
    let source = |q: &Quantity| {
        match q {
            Quantity::GroundSpeed | Quantity::Course => "RMC or VTG",
            Quantity::Altitude | Quantity::Satellites => "GGA or GNS",
            _ => "RMC, GGA, GNS or GLL",
        }
        .to_owned()
    };
    let unused = unused.into_iter().map(|(kind, n)| format!("{n} {kind} sentences")).collect();
    recording(&fixes, source, flaws, unused)
}

fn cut_off(line: u32) -> Flaw {
    Flaw {
        kind: FlawKind::Truncated,
        place: format!("line {line}"),
        what: "the last line ends in the middle and is left out".to_owned(),
    }
}

/// The sentence after the `$`, if its checksum holds. Without one nothing vouches for it, so it does not.
fn checked(body: &[u8]) -> Option<Sentence<'_>> {
    let star = memchr::memchr(b'*', body)?;
    let (inner, told) = (body.get(..star)?, body.get(star + 1..star + 3)?);
    let told = u8::from_str_radix(std::str::from_utf8(told).ok()?, 16).ok()?;
    if inner.iter().fold(0, |sum, b| sum ^ b) != told {
        return None;
    }
    let mut fields = std::str::from_utf8(inner).ok()?.split(',');
    let kind = fields.next()?.get(2..5)?;
    Some(Sentence { kind, fields: fields.collect() })
}

impl Sentence<'_> {
    fn text(&self, place: usize) -> &str {
        self.fields.get(place).copied().unwrap_or("").trim()
    }

    fn number(&self, place: usize) -> f64 {
        self.text(place).parse::<f64>().ok().filter(|v| v.is_finite()).unwrap_or(f64::NAN)
    }

    /// Seconds of the day of `hhmmss.ss`.
    fn time_s(&self, place: usize) -> Option<f64> {
        let text = self.text(place);
        let part = |from: usize, to: usize| text.get(from..to)?.parse::<u32>().ok();
        let (h, m) = (part(0, 2)?, part(2, 4)?);
        let s: f64 = text.get(4..)?.parse().ok()?;
        (h < 24 && m < 60 && (0.0..61.0).contains(&s))
            .then(|| f64::from(h) * 3600.0 + f64::from(m) * 60.0 + s)
    }

    /// Latitude and longitude of `ddmm.mm,N,dddmm.mm,E`.
    fn place(&self, at: usize) -> Option<(f64, f64)> {
        let angle = |at: usize, whole: usize, positive: &str, negative: &str| -> Option<f64> {
            let text = self.text(at);
            let degrees: f64 = text.get(..whole)?.parse().ok()?;
            let minutes: f64 = text.get(whole..)?.parse().ok()?;
            let value = degrees + minutes / 60.0;
            let side = self.text(at + 1);
            if !(0.0..60.0).contains(&minutes) {
                None
            } else if side == positive {
                Some(value)
            } else if side == negative {
                Some(-value)
            } else {
                None
            }
        };
        on_earth(angle(at, 2, "N", "S")?, angle(at + 2, 3, "E", "W")?)
    }

    fn date(&self, day: usize, month: usize, year: usize) -> Option<f64> {
        let part = |i: usize| self.text(i).parse::<f64>().ok();
        clock::days_of(part(year)?, part(month)?, part(day)?)
    }
}

impl Log {
    /// Takes in a sentence; false if nothing here reads it.
    fn take(&mut self, s: &Sentence<'_>, line: u32) -> bool {
        match s.kind {
            "RMC" => {
                let Some(moment) = self.moment(s.time_s(0), line) else { return true };
                let date = s.text(8);
                let part = |from: usize| date.get(from..from + 2).and_then(|t| t.parse::<f64>().ok());
                moment.day = moment.day.or_else(|| clock::days_of(part(4)?, part(2)?, part(0)?));
                if s.text(1) == "A" {
                    moment.place(s.place(2));
                    moment.speed(s.number(6) * KNOT_M_S, s.number(7));
                }
            }
            "GGA" => {
                let Some(moment) = self.moment(s.time_s(0), line) else { return true };
                // 1 to 5 are fixes; 0 is none, 6 a guess by the receiver, 7 and 8 no reception at all.
                if (1.0..=5.0).contains(&s.number(5)) {
                    moment.place(s.place(1));
                    moment.heights(s.number(8), s.number(6));
                }
            }
            "GNS" => {
                let Some(moment) = self.moment(s.time_s(0), line) else { return true };
                if s.text(5).bytes().any(|b| matches!(b, b'A' | b'D' | b'P' | b'R' | b'F')) {
                    moment.place(s.place(1));
                    moment.heights(s.number(8), s.number(6));
                }
            }
            "GLL" => {
                let Some(moment) = self.moment(s.time_s(4), line) else { return true };
                if s.text(5) == "A" {
                    moment.place(s.place(0));
                }
            }
            "ZDA" => {
                let date = s.date(1, 2, 3);
                if let Some(moment) = self.moment(s.time_s(0), line) {
                    moment.day = moment.day.or(date);
                }
            }
            "VTG" => {
                let knots = s.number(4);
                let speed = if knots.is_nan() { s.number(6) / 3.6 } else { knots * KNOT_M_S };
                let leads = *self.velocity_leads.get_or_insert(self.moments.is_empty());
                if leads {
                    self.pending = Some((speed, s.number(0)));
                } else if let Some(moment) = self.moments.last_mut() {
                    moment.speed(speed, s.number(0));
                }
            }
            _ => return false,
        }
        true
    }

    /// The moment of a time: the one that is being told, or a new one.
    fn moment(&mut self, time_s: Option<f64>, line: u32) -> Option<&mut Moment> {
        let Some(time_s) = time_s else {
            self.untimed += 1;
            return None;
        };
        if self.moments.last().is_none_or(|m| m.fix.time_s != time_s) {
            let mut moment = Moment { fix: Fix::at(line, time_s), day: None };
            if let Some((speed, course)) = self.pending.take() {
                moment.speed(speed, course);
            }
            self.moments.push(moment);
        }
        self.moments.last_mut()
    }

    /// Fixes with dates, and what was missing.
    fn finish(mut self, flaws: &mut Vec<Flaw>) -> Vec<Fix> {
        let all = self.moments.len();
        let first = self.moments.iter().find_map(|m| m.day);
        if first.is_none() && all > 0 {
            flaws.push(Flaw {
                kind: FlawKind::Empty,
                place: "date".to_owned(),
                what: "no sentence tells the date; times count from midnight UTC".to_owned(),
            });
        }
        let (mut day, mut before) = (first.unwrap_or(0.0), f64::NEG_INFINITY);
        for moment in &mut self.moments {
            match moment.day {
                Some(told) => day = told,
                None if moment.fix.time_s < before - 43_200.0 => day += 1.0,
                None => {}
            }
            before = moment.fix.time_s;
            moment.fix.time_s += day * 86_400.0;
        }
        let fixes: Vec<Fix> = self.moments.iter().map(|m| m.fix).filter(Fix::has_place).collect();
        let without = all - fixes.len();
        if (without > 0 || self.untimed > 0) && !fixes.is_empty() {
            flaws.push(Flaw {
                kind: FlawKind::Empty,
                place: "whole file".to_owned(),
                what: format!(
                    "the receiver had no fix in {without} of {all} moments, and {} sentences tell not even the time; they \
                     are left out",
                    self.untimed
                ),
            });
        }
        fixes
    }
}

impl Moment {
    fn place(&mut self, place: Option<(f64, f64)>) {
        if let Some((latitude, longitude)) = place.filter(|_| !self.fix.has_place()) {
            self.fix.latitude_deg = latitude;
            self.fix.longitude_deg = longitude;
        }
    }

    fn speed(&mut self, speed_m_s: f64, course_deg: f64) {
        if self.fix.ground_speed_m_s.is_nan() {
            self.fix.ground_speed_m_s = speed_m_s;
        }
        if self.fix.course_rad.is_nan() && (0.0..=360.0).contains(&course_deg) {
            self.fix.course_rad = wrap_rad(course_deg * RAD_PER_DEG);
        }
    }

    fn heights(&mut self, altitude_m: f64, satellites: f64) {
        if self.fix.altitude_m.is_nan() {
            self.fix.altitude_m = altitude_m;
        }
        if self.fix.satellites.is_nan() {
            self.fix.satellites = satellites;
        }
    }
}
