//! What goes out? Channels cleaned and on one grid as CSV or Parquet, the track with its phases as GPX 1.1 or KML.

use std::fmt::Write as _;

use crate::phases::Phase;
use crate::recording::{Quantity, Recording};
use crate::resample;
use crate::words;

mod parquet;
mod track;

pub use track::{gpx, kml};

/// Why nothing could be written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NoExport {
    /// The recording has no channel with a value.
    NoChannels,
    /// The grid would have more rows than anything reads.
    TooManyRows {
        /// How many.
        rows: u64,
    },
    /// A track wants latitude and longitude.
    NoPositions,
}

impl std::fmt::Display for NoExport {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NoChannels => write!(f, "the recording has no channel with a value"),
            Self::TooManyRows { rows } => write!(
                f,
                "{rows} rows would be written: the recording is too long for the rate of its fastest channel; cut it first"
            ),
            Self::NoPositions => {
                write!(f, "the recording has no latitude and longitude, so there is no track")
            }
        }
    }
}

impl std::error::Error for NoExport {}

/// Channels on one grid, named by quantity and kept unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// Names: `time_s`, then each quantity with its unit.
    pub names: Vec<String>,
    /// Columns, the first of them time, s of the recording; missing values are not numbers.
    pub columns: Vec<Vec<f64>>,
}

/// All channels at the times of the fastest, evenly spaced; slower ones are linear between their samples, angles the short
/// way round, and holes longer than two seconds stay holes.
///
/// # Errors
/// When there is nothing to write or far too much.
pub fn table(recording: &Recording) -> Result<Table, NoExport> {
    const MOST_ROWS: f64 = 5e7;
    let some: Vec<_> = recording.channels.iter().filter(|c| c.values.iter().any(|v| v.is_finite())).collect();
    let step = some.iter().filter_map(|c| resample::usual_step_s(c)).fold(f64::INFINITY, f64::min);
    let (Some((from, to)), true) = (recording.span_s(), step.is_finite() && step > 0.0) else {
        return Err(NoExport::NoChannels);
    };
    let step = round_step(step);
    let rows = ((to - from) / step + 1e-6).floor() + 1.0;
    if rows > MOST_ROWS {
        return Err(NoExport::TooManyRows { rows: rows as u64 });
    }
    let time: Vec<f64> = (0..rows as usize).map(|i| from + i as f64 * step).collect();
    let mut names = vec!["time_s".to_owned()];
    names.extend(some.iter().map(|c| name(&c.quantity)));
    let mut columns = vec![time];
    for channel in some {
        let values = columns.first().map_or_else(Vec::new, |time| resample::at(channel, time));
        columns.push(values);
    }
    Ok(Table { names, columns })
}

/// Steps are seldom told exactly: one within a thousandth of a whole number of Hz is taken as that.
fn round_step(step_s: f64) -> f64 {
    let rate = 1.0 / step_s;
    if rate >= 1.0 && (rate / rate.round() - 1.0).abs() < 1e-3 { 1.0 / rate.round() } else { step_s }
}

/// A column's name: the quantity and the unit it is kept in, in letters that every program takes.
fn name(quantity: &Quantity) -> String {
    let unit = words::units_of(words::dimension(quantity)).next().map_or("", |u| u.word);
    let unit = match unit {
        "count" | "fraction" => String::new(),
        word => format!("_{word}"),
    };
    format!("{}{unit}", words::word(quantity))
        .chars()
        .map(|c| if c.is_alphanumeric() { c.to_ascii_lowercase() } else { '_' })
        .collect()
}

/// The table as CSV with a header; missing values are empty. Numbers read back to the same bits.
///
/// # Errors
/// When there is nothing to write or far too much.
pub fn csv(recording: &Recording) -> Result<String, NoExport> {
    let table = table(recording)?;
    let rows = table.columns.first().map_or(0, Vec::len);
    let mut text = String::with_capacity(rows * table.columns.len() * 10);
    text.push_str(&table.names.join(","));
    text.push('\n');
    for row in 0..rows {
        for (place, column) in table.columns.iter().enumerate() {
            if place > 0 {
                text.push(',');
            }
            match column.get(row) {
                // Times are multiples of a step: twelve decimals are more than any clock has.
                Some(v) if v.is_finite() && place == 0 => {
                    let _ = write!(text, "{}", (v * 1e9).round() / 1e9);
                }
                Some(v) if v.is_finite() => {
                    let _ = write!(text, "{v}");
                }
                _ => {}
            }
        }
        text.push('\n');
    }
    Ok(text)
}

/// The table as an Apache Parquet file.
///
/// # Errors
/// When there is nothing to write or far too much.
pub fn parquet(recording: &Recording) -> Result<Vec<u8>, NoExport> {
    Ok(parquet::file(&table(recording)?))
}

/// The word of the phase at a time.
fn phase_at(phases: &[Phase], time_s: f64) -> Option<usize> {
    phases.iter().position(|p| p.window.from_s <= time_s && time_s < p.window.to_s)
}
