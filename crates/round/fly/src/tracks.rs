//! What does a file of positions say? GPX, IGC and NMEA 0183 give fixes; fixes make a recording.

use std::sync::Arc;

use crate::clock::{self, Modulus};
use crate::csv::NotARecording;
use crate::derive;
use crate::map::TimeForm;
use crate::recording::{Channel, Flaw, FlawKind, Quantity, Recording};

pub(crate) mod gpx;
pub(crate) mod igc;
pub(crate) mod nmea;

/// One fix; what it does not tell is not a number.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Fix {
    /// Line of the file.
    pub line: u32,
    /// Seconds since 1970-01-01 (UTC), or since midnight where the file has no date.
    pub time_s: f64,
    pub latitude_deg: f64,
    pub longitude_deg: f64,
    pub altitude_m: f64,
    pub ground_speed_m_s: f64,
    pub course_rad: f64,
    pub satellites: f64,
    pub static_pressure_pa: f64,
}

impl Fix {
    /// A fix that tells nothing yet.
    pub(crate) fn at(line: u32, time_s: f64) -> Self {
        Self {
            line,
            time_s,
            latitude_deg: f64::NAN,
            longitude_deg: f64::NAN,
            altitude_m: f64::NAN,
            ground_speed_m_s: f64::NAN,
            course_rad: f64::NAN,
            satellites: f64::NAN,
            static_pressure_pa: f64::NAN,
        }
    }

    /// Whether it tells a place on Earth.
    pub(crate) fn has_place(&self) -> bool {
        self.latitude_deg.is_finite() && self.longitude_deg.is_finite()
    }

    fn value(&self, quantity: &Quantity) -> f64 {
        match quantity {
            Quantity::Latitude => self.latitude_deg,
            Quantity::Longitude => self.longitude_deg,
            Quantity::Altitude => self.altitude_m,
            Quantity::GroundSpeed => self.ground_speed_m_s,
            Quantity::Course => self.course_rad,
            Quantity::Satellites => self.satellites,
            Quantity::StaticPressure => self.static_pressure_pa,
            _ => f64::NAN,
        }
    }
}

/// Latitude and longitude that can be on Earth, or nothing.
pub(crate) fn on_earth(latitude_deg: f64, longitude_deg: f64) -> Option<(f64, f64)> {
    (latitude_deg.abs() <= 90.0 && longitude_deg.abs() <= 180.0).then_some((latitude_deg, longitude_deg))
}

/// Lines that could not be read, told together with the first of them.
#[derive(Debug, Default)]
pub(crate) struct Refused {
    count: usize,
    first: Option<(u32, String)>,
}

impl Refused {
    /// Counts one, with the line and how it reads.
    pub(crate) fn line(&mut self, line: u32, what: impl FnOnce() -> String) {
        self.count += 1;
        if self.first.is_none() {
            self.first = Some((line, what()));
        }
    }

    /// The flaw, if there is any; `why` completes "3 of 100 lines …".
    pub(crate) fn flaw(&self, of: usize, things: &str, why: &str) -> Option<Flaw> {
        let (line, what) = self.first.as_ref()?;
        Some(Flaw {
            kind: FlawKind::BadRow,
            place: format!("line {line}"),
            what: format!("{} of {of} {things} {why} and are left out; the first is \"{what}\"", self.count),
        })
    }
}

/// A recording of fixes; `source` names where each quantity stood.
pub(crate) fn recording(
    fixes: &[Fix],
    source: impl Fn(&Quantity) -> String,
    mut flaws: Vec<Flaw>,
    unused_columns: Vec<String>,
) -> Result<Recording, NotARecording> {
    let Some(first) = fixes.first() else {
        return Err(NotARecording::NoFix { why: "it holds no position with a time".to_owned() });
    };
    let start = first.time_s;
    let lines: Vec<u32> = fixes.iter().map(|f| f.line).collect();
    let raw: Vec<f64> = fixes.iter().map(|f| f.time_s - start).collect();
    let repaired = clock::repair(raw, &lines, &Modulus::of(&TimeForm::DateTime { zone_s: 0.0 }, start));
    flaws.extend(repaired.flaws);
    let time_s = Arc::new(repaired.time_s);
    let kept = |i: usize| repaired.keep.as_ref().is_none_or(|k| k.get(i).copied().unwrap_or(false));
    let kept: Vec<&Fix> = fixes.iter().enumerate().filter(|(i, _)| kept(*i)).map(|(_, f)| f).collect();
    let channels = [
        Quantity::Latitude,
        Quantity::Longitude,
        Quantity::Altitude,
        Quantity::GroundSpeed,
        Quantity::Course,
        Quantity::Satellites,
        Quantity::StaticPressure,
    ]
    .into_iter()
    .filter_map(|quantity| {
        let values: Vec<f64> = kept.iter().map(|f| f.value(&quantity)).collect();
        let any = values.iter().any(|v| v.is_finite());
        let source = source(&quantity);
        any.then(|| Channel { quantity, source, time_s: Arc::clone(&time_s), values })
    })
    .collect();
    let mut recording = Recording {
        channels,
        flaws,
        rows: kept.len(),
        unused_columns,
        clock_start_s: start + repaired.shift_s,
    };
    derive::add_derived(&mut recording);
    Ok(recording)
}
