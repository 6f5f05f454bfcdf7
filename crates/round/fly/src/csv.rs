//! What does this text say, read through this map? A recording in kept units, with everything that was wrong with it.
//!
//! Numbers are parsed over chunks cut at line ends, in parallel; the result is the same on any number of
//! threads. Lines with quotation marks go through the `csv` crate one record at a time.

use std::sync::Arc;

use rayon::prelude::*;

use crate::clock;
use crate::map::{Column, ColumnMap, TimeForm, TimeSource, Week};
use crate::recording::{Channel, Flaw, FlawKind, Quantity, Recording};
use crate::{derive, words};

pub(crate) mod encoding;
pub(crate) mod number;
pub(crate) mod rows;
pub(crate) mod table;

use table::{CellForm, Table};

/// Why nothing at all could be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NotARecording {
    /// There is nothing in it.
    Empty,
    /// It is not text.
    Binary {
        /// What it looks like.
        looks_like: String,
    },
    /// Columns that the map needs are not there.
    NoSuchColumns {
        /// Columns that were asked for, each with the header most like it.
        missing: Vec<(String, Option<String>)>,
        /// Headers that are there.
        headers: Vec<String>,
    },
    /// No line holds numbers where the map expects them.
    NoNumericRow {
        /// Lines looked at.
        lines: usize,
        /// The first of them that should have held numbers.
        first: String,
    },
    /// No column looks like time.
    NoTime {
        /// Headers that are there.
        headers: Vec<String>,
    },
    /// A file of positions without any that can be used.
    NoFix {
        /// What it holds instead.
        why: String,
    },
    /// A compressed file would become larger than a recording can be.
    PackedTooLarge {
        /// How it is compressed.
        how: &'static str,
        /// Its size, bytes.
        packed: usize,
        /// The most that is unpacked of it, bytes.
        limit: usize,
    },
    /// A compressed file of which nothing could be unpacked.
    PackedDamaged {
        /// How it is compressed.
        how: &'static str,
    },
}

impl std::fmt::Display for NotARecording {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Empty => write!(f, "the file is empty: record again, or copy it from the card again"),
            Self::Binary { looks_like } => write!(
                f,
                "the file is not text; it looks like {looks_like}. Save or convert the recording as \
                 comma-separated text first"
            ),
            Self::NoSuchColumns { missing, headers } => {
                write!(f, "the file does not have ")?;
                for (place, (wanted, nearest)) in missing.iter().enumerate() {
                    let comma = if place == 0 { "" } else { ", " };
                    write!(f, "{comma}column {wanted}")?;
                    if let Some(nearest) = nearest {
                        write!(f, " (is \"{nearest}\" meant?)")?;
                    }
                }
                write!(f, "; its columns are: {}", headers.join(", "))
            }
            Self::NoNumericRow { lines, first } => write!(
                f,
                "none of {lines} lines holds numbers where they are expected; the first is \"{first}\". \
                 Check delimiter, decimal mark and header lines of the column map"
            ),
            Self::NoTime { headers } => write!(
                f,
                "no column looks like time; the columns are: {}. Write a column map with [time], or with \
                 rate_hz if the rows follow each other at a steady rate that you know",
                headers.join(", ")
            ),
            Self::NoFix { why } => write!(f, "the file holds no flight: {why}"),
            Self::PackedTooLarge { how, packed, limit } => write!(
                f,
                "the {how}-compressed file of {packed} bytes unpacks to more than {limit} bytes, which no recording of \
                 that size does; unpack it yourself if you trust it"
            ),
            Self::PackedDamaged { how } => {
                write!(f, "the {how}-compressed file is damaged from its begin; copy it from the card again")
            }
        }
    }
}

impl std::error::Error for NotARecording {}

/// Reads delimited text through a column map.
///
/// Times begin at zero; what the file's own clock showed there is kept in `clock_start_s`. Steps of time back
/// are joined on, and told. Rows that cannot be read are left out, and told. Velocities to north and east and
/// the height above the first place are added where they follow from other channels.
pub fn read_csv(bytes: &[u8], map: &ColumnMap) -> Result<Recording, NotARecording> {
    let (text, mut flaws) = encoding::text(bytes)?;
    let layout = table::Layout::of(map);
    let text = layout.evened(text);
    let head = table::head(&text, &layout);
    let (columns, unused, missing) = resolve(map, &head.headers, head.fields)?;
    flaws.extend(missing);
    let time_first = matches!(map.time, TimeSource::Column { .. });
    let mut read = table::read(&text, &layout, &head, &columns, time_first);
    flaws.append(&mut read.flaws);
    if read.lines.is_empty() {
        return Err(NotARecording::NoNumericRow { lines: read.seen, first: head.first_data.clone() });
    }
    assemble(map, read, &columns, &head.headers, unused, flaws)
}

/// Which columns of the file are read, in order: time first if it has a column, then those of the entries that
/// are there. Beside them the headers of columns not used, and flaws about entries whose column is missing.
#[allow(clippy::type_complexity, reason = "three lists with one reader, named in the line above")]
fn resolve(
    map: &ColumnMap,
    headers: &[String],
    fields: usize,
) -> Result<(Vec<(usize, CellForm)>, Vec<String>, Vec<Flaw>), NotARecording> {
    let mut columns = Vec::new();
    let mut missing: Vec<(String, Option<String>)> = Vec::new();
    let mut tell = |column: &Column, repeated: bool| {
        let nearest = match column {
            Column::Header(name) if !repeated => {
                words::nearest(name, headers.iter().map(String::as_str)).map(str::to_owned)
            }
            _ => None,
        };
        let name =
            if repeated { format!("{column} only once (name it by number)") } else { column.to_string() };
        missing.push((name, nearest));
    };
    let mut time_missing = false;
    if let TimeSource::Column { column, form } = &map.time {
        let form = match form {
            TimeForm::Number { .. } | TimeForm::Gps { .. } => CellForm::Number,
            TimeForm::Clock { .. } => CellForm::Clock,
            TimeForm::DateTime { zone_s } => CellForm::DateTime { zone_s: zone_s.round() as i32 },
        };
        match find(column, headers, fields) {
            Ok(index) => columns.push((index, form)),
            Err(repeated) => {
                time_missing = true;
                tell(column, repeated);
            }
        }
    }
    let mut found = 0;
    for entry in &map.entries {
        match find(&entry.column, headers, fields) {
            Ok(index) => {
                found += 1;
                let form = match entry.quantity {
                    Quantity::Acts => CellForm::Acts,
                    _ => CellForm::Number,
                };
                columns.push((index, form));
            }
            Err(repeated) => {
                columns.push((usize::MAX, CellForm::Number));
                tell(&entry.column, repeated);
            }
        }
    }
    // The week stands last, where the entries do not see it.
    if let TimeSource::Column { form: TimeForm::Gps { week: Week::Column(column), .. }, .. } = &map.time {
        match find(column, headers, fields) {
            Ok(index) => columns.push((index, CellForm::Number)),
            Err(repeated) => {
                time_missing = true;
                tell(column, repeated);
            }
        }
    }
    if time_missing || (found == 0 && !map.entries.is_empty()) {
        return Err(NotARecording::NoSuchColumns { missing, headers: headers.to_vec() });
    }
    let unused = headers
        .iter()
        .enumerate()
        .filter(|(index, _)| !columns.iter().any(|(used, _)| used == index))
        .map(|(_, name)| name.clone())
        .collect();
    let flaws = missing
        .into_iter()
        .map(|(name, nearest)| Flaw {
            kind: FlawKind::Empty,
            place: format!("column {name}"),
            what: match nearest {
                Some(nearest) => format!(
                    "the map names it but the file does not have it; is \"{nearest}\" meant? Read without it"
                ),
                None => "the map names it but the file does not have it; read without it".to_owned(),
            },
        })
        .collect();
    Ok((columns, unused, flaws))
}

/// Index of a column from zero; an error says whether the header is there more than once.
fn find(column: &Column, headers: &[String], fields: usize) -> Result<usize, bool> {
    match column {
        Column::Number(number) if (1..=fields).contains(number) => Ok(number - 1),
        Column::Number(_) => Err(false),
        Column::Header(name) => {
            let exact: Vec<usize> =
                headers.iter().enumerate().filter(|(_, h)| h.trim() == name.trim()).map(|(i, _)| i).collect();
            let alike = || {
                headers
                    .iter()
                    .enumerate()
                    .filter(|(_, h)| h.trim().eq_ignore_ascii_case(name.trim()))
                    .map(|(i, _)| i)
                    .collect::<Vec<_>>()
            };
            let places = if exact.is_empty() { alike() } else { exact };
            match places.as_slice() {
                [one] if *one < fields => Ok(*one),
                [] | [_] => Err(false),
                _ => Err(true),
            }
        }
    }
}

/// Times of the rows from the first one, s; what the clock showed there and after how much it starts over; what is to be
/// told of it.
fn raw_time(map: &ColumnMap, read: &mut Table) -> (Vec<f64>, clock::Modulus, Option<Flaw>) {
    let TimeSource::Column { form, .. } = &map.time else {
        let TimeSource::SteadyRate { rate_hz } = &map.time else {
            return (Vec::new(), clock::Modulus::none(), None);
        };
        let times = (0..read.lines.len()).map(|i| i as f64 / rate_hz).collect();
        return (times, clock::Modulus::none(), None);
    };
    let mut raw = if read.columns.is_empty() { Vec::new() } else { read.columns.remove(0) };
    let first = raw.first().copied().unwrap_or(0.0);
    // Subtracting the first time before scaling keeps microseconds of an epoch exact.
    let mut from_first = |seconds: f64| raw.iter_mut().for_each(|t| *t = (*t - first) * seconds);
    let start_s = match form {
        TimeForm::Number { seconds } => {
            from_first(*seconds);
            first * seconds
        }
        TimeForm::DateTime { .. } => {
            from_first(1.0);
            first
        }
        // A clock of another zone may be on the day before or after.
        TimeForm::Clock { zone_s } => {
            from_first(1.0);
            if *zone_s == 0.0 { first } else { (first - zone_s).rem_euclid(86_400.0) }
        }
        TimeForm::Gps { seconds, week } => {
            from_first(*seconds);
            let weeks = match week {
                Week::Column(_) => read.columns.pop().unwrap_or_default(),
                Week::Number(number) => vec![f64::from(*number)],
                Week::Unknown => Vec::new(),
            };
            let (start_s, told) = gps_start(&weeks, first * seconds);
            if matches!(week, Week::Column(_)) {
                add_weeks(&mut raw, &weeks);
            }
            return (raw, clock::Modulus::of(form, start_s), told);
        }
    };
    (raw, clock::Modulus::of(form, start_s), None)
}

/// What the satellites' clock showed at the first row in universal time, s since 1970-01-01, where the week tells it; the
/// seconds of the week where not.
fn gps_start(weeks: &[f64], seconds: f64) -> (f64, Option<Flaw>) {
    let tell = |what: String| Some(Flaw { kind: FlawKind::Clock, place: "time".to_owned(), what });
    let week = weeks.iter().copied().find(|w| w.is_finite());
    let Some(week) = week.filter(|w| *w >= 0.0 && *w < 10_000.0) else {
        return (seconds, tell("the week is not known: times are told within it, and no date is".to_owned()));
    };
    if week < clock::gps::TEN_BITS {
        let day = |more: f64| {
            let at = clock::gps::universal(week + more * clock::gps::TEN_BITS, seconds);
            clock::iso8601(at.time_s).unwrap_or_default().chars().take(10).collect::<String>()
        };
        return (
            seconds,
            tell(format!(
                "week {week:.0} is counted in ten bits, which start over every 1024 weeks: the flight was on {}, {} or {}; no \
                 date is told. Write week = with the whole number into the map's [time] if you know it",
                day(0.0),
                day(1.0),
                day(2.0)
            )),
        );
    }
    let at = clock::gps::universal(week, seconds);
    let told = (!at.known).then(|| Flaw {
        kind: FlawKind::Clock,
        place: "time".to_owned(),
        what: format!(
            "the satellites' clock is taken as {:.0} s ahead of universal time; for that date this program does not know \
             whether leap seconds were put in",
            at.ahead_s
        ),
    });
    (at.time_s, told)
}

/// Adds the weeks that have begun since the first row. A row without a week is of the one before.
fn add_weeks(raw: &mut [f64], weeks: &[f64]) {
    let mut known = weeks.iter().copied().filter(|w| w.is_finite());
    let Some(first) = known.next() else { return };
    let mut week = first;
    for (t, w) in raw.iter_mut().zip(weeks) {
        if w.is_finite() {
            week = *w;
        }
        *t += (week - first) * clock::gps::WEEK_S;
    }
}

/// Makes channels of the columns read: time repaired, values in kept units, slower channels with their own times.
fn assemble(
    map: &ColumnMap,
    mut read: Table,
    columns: &[(usize, CellForm)],
    headers: &[String],
    unused_columns: Vec<String>,
    mut flaws: Vec<Flaw>,
) -> Result<Recording, NotARecording> {
    let (raw_time, wrap_s, told) = raw_time(map, &mut read);
    flaws.extend(told);
    let start = wrap_s.start_s;
    let repaired = clock::repair(raw_time, &read.lines, &wrap_s);
    flaws.extend(repaired.flaws);
    if let Some(keep) = &repaired.keep {
        read.columns.par_iter_mut().for_each(|column| keep_only(column, keep));
    }
    let rows = repaired.time_s.len();
    let time_s = Arc::new(repaired.time_s);
    let has_time_column = usize::from(matches!(map.time, TimeSource::Column { .. }));
    let made: Vec<(Channel, Option<Flaw>)> = map
        .entries
        .par_iter()
        .zip(read.columns)
        .zip(columns.get(has_time_column..).unwrap_or(&[]))
        .filter(|((_, _), (index, _))| *index != usize::MAX)
        .map(|((entry, mut values), (index, _))| {
            let (factor, summand) = entry.line().unwrap_or((f64::NAN, 0.0));
            values.iter_mut().for_each(|v| *v = *v * factor + summand);
            let source = headers
                .get(*index)
                .filter(|h| !h.is_empty())
                .cloned()
                .unwrap_or_else(|| format!("column {}", index + 1));
            channel(entry.quantity.clone(), source, &time_s, values)
        })
        .collect();
    let mut recording =
        Recording { rows, unused_columns, clock_start_s: start + repaired.shift_s, ..Recording::default() };
    for (channel, flaw) in made {
        flaws.extend(flaw);
        recording.channels.push(channel);
    }
    recording.flaws = flaws;
    derive::add_derived(&mut recording);
    Ok(recording)
}

/// A channel; one of slower rate (most rows empty at a steady pattern) keeps only the rows it has.
fn channel(
    quantity: crate::recording::Quantity,
    source: String,
    time_s: &Arc<Vec<f64>>,
    values: Vec<f64>,
) -> (Channel, Option<Flaw>) {
    /// Share of empty rows from which a channel is taken for a slower one instead of one with dropouts.
    const SLOWER_FROM: f64 = 0.25;
    let empty = values.iter().filter(|v| v.is_nan()).count();
    let flaw = (empty == values.len()).then(|| Flaw {
        kind: FlawKind::Empty,
        place: format!("column \"{source}\""),
        what: "holds no number in any row".to_owned(),
    });
    if flaw.is_none() && empty as f64 > SLOWER_FROM * values.len() as f64 {
        let (times, values): (Vec<f64>, Vec<f64>) =
            time_s.iter().zip(&values).filter(|(_, v)| !v.is_nan()).unzip();
        let slower = Channel { quantity, source, time_s: Arc::new(times), values };
        return (slower, None);
    }
    let channel = Channel { quantity, source, time_s: Arc::clone(time_s), values };
    (channel, flaw)
}

/// Leaves out the places that are not to be kept.
fn keep_only(values: &mut Vec<f64>, keep: &[bool]) {
    let mut keep = keep.iter();
    values.retain(|_| keep.next().copied().unwrap_or(false));
}
