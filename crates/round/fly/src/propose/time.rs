//! Which column is the time, and in what unit?

use numerics::statistics::median;

use super::header;
use crate::clock;
use crate::clock::gps::WEEK_S;
use crate::csv::NotARecording;
use crate::csv::table::{self, CellForm, Head, Layout, Table};
use crate::map::{Column, TIME_UNITS, TimeForm, Week};

/// The time column found.
#[derive(Debug, Clone)]
pub(super) struct Found {
    pub(super) index: usize,
    /// The column of the satellites' week, where the time is of one.
    pub(super) week: Option<usize>,
    pub(super) column: Column,
    pub(super) form: TimeForm,
    /// Units that are possible, in seconds, the likelier first, where the header does not say.
    pub(super) options_s: Vec<f64>,
    pub(super) sure: f64,
    pub(super) why: String,
    pub(super) doubts: Vec<String>,
    /// Times in the likeliest unit, growing, s.
    pub(super) time_s: Vec<f64>,
    /// Rows that belong to them, where not all do.
    pub(super) keep: Option<Vec<bool>>,
}

const TIME_WORDS: &[&str] = &[
    "time",
    "timestamp",
    "t",
    "tow",
    "clock",
    "date",
    "datetime",
    "utc",
    "elapsed",
    "seconds",
    "millis",
    "micros",
    "milliseconds",
    "microseconds",
];

/// Finds the time column: one whose header names time and that grows; without such a header the first column, if it
/// grows in steady steps.
pub(super) fn find(text: &[u8], layout: &Layout, head: &Head, table: &Table) -> Result<Found, NotARecording> {
    let mut named: Vec<usize> = Vec::new();
    for (index, name) in head.headers.iter().enumerate().take(head.fields) {
        let words = header::tokens(name);
        let says = words.iter().any(|w| TIME_WORDS.contains(&w.as_str()));
        let is_unit =
            words.len() == 1 && ["s", "ms", "us", "sec"].contains(&name.trim().to_lowercase().as_str());
        let of_week = words.iter().any(|w| w == "week")
            && (words.iter().any(|w| w == "of") || words.contains(&"tow".to_owned()));
        let other = !of_week
            && words
                .iter()
                .any(|w| ["flight", "since", "delay", "week", "constant", "response"].contains(&w.as_str()));
        if (says || is_unit || of_week) && !(other && words.len() > 3) {
            named.push(index);
        }
    }
    let mut found: Option<Found> = None;
    for index in &named {
        let trial = numeric(head, table, *index, true).or_else(|| as_text(text, layout, head, table, *index));
        if let Some(trial) = trial {
            let better = found.as_ref().is_none_or(|f| trial.sure > f.sure + 0.05);
            if better {
                found = Some(trial);
            }
        }
    }
    found
        .or_else(|| numeric(head, table, 0, false))
        .or_else(|| as_text(text, layout, head, table, 0))
        .map(|found| with_week(found, head, table))
        .ok_or_else(|| NotARecording::NoTime { headers: head.headers.clone() })
}

/// Times that are said to be the satellites', with a column that counts their weeks beside them.
fn with_week(mut found: Found, head: &Head, table: &Table) -> Found {
    let TimeForm::Number { seconds } = found.form else {
        return found;
    };
    let has = |index: usize, wanted: &[&str]| {
        let words = header::tokens(head.headers.get(index).map_or("", String::as_str));
        wanted.iter().any(|w| words.iter().any(|x| x == w))
    };
    let values = |index: usize| table.columns.get(index).map_or(&[][..], Vec::as_slice).iter().copied();
    let within =
        values(found.index).filter(|v| v.is_finite()).all(|v| (0.0..=WEEK_S).contains(&(v * seconds)));
    if !(within && has(found.index, &["gps", "tow", "week"])) {
        return found;
    }
    let counts = |index: &usize| {
        let mut known = values(*index).filter(|v| v.is_finite()).peekable();
        let first = known.peek().copied().unwrap_or(f64::NAN);
        *index != found.index
            && has(*index, &["week", "wk", "wn"])
            && first.fract() == 0.0
            && (1.0..10_000.0).contains(&first)
            && known.all(|v| v == first || v == first + 1.0)
    };
    let Some(index) = (0..head.fields).find(counts) else {
        return found;
    };
    found.why.push_str(&format!("; column {} counts the weeks it is of", column(head, index)));
    found.form = TimeForm::Gps { seconds, week: Week::Column(column(head, index)) };
    found.week = Some(index);
    found
}

/// What is said of dates without a zone.
fn zone_doubt(text: &[u8], layout: &Layout, head: &Head, index: usize) -> Option<String> {
    let line =
        text.get(head.data_from..)?.split(|b| *b == b'\n').find(|line| !line.trim_ascii().is_empty())?;
    let cell = layout.cells(line).into_iter().nth(index)?;
    let (_, zone) = clock::date_time(&String::from_utf8_lossy(&cell))?;
    zone.is_none().then(|| {
        "the dates name no zone and are taken as universal time; write zone = \"+02:00\" under [time] with what your clock \
         is ahead, if they are local"
            .to_owned()
    })
}

/// How a map names a column: by its header where it has one of its own.
pub(super) fn column(head: &Head, index: usize) -> Column {
    let name = head.headers.get(index).cloned().unwrap_or_default();
    let repeated = head.headers.iter().filter(|h| **h == name).count() > 1;
    if head.lines.is_empty() || repeated { Column::Number(index + 1) } else { Column::Header(name) }
}

fn numeric(head: &Head, table: &Table, index: usize, named: bool) -> Option<Found> {
    let values = table.columns.get(index)?;
    if table.texts.contains(&index)
        || values.iter().any(|v| v.is_nan())
            && values.iter().filter(|v| v.is_nan()).count() * 20 > values.len()
    {
        return None;
    }
    let finite: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
    let steps: Vec<f64> = finite
        .windows(2)
        .filter_map(|w| match w {
            [a, b] => Some(b - a),
            _ => None,
        })
        .collect();
    let forward: Vec<f64> = steps.iter().copied().filter(|s| *s > 0.0).collect();
    let back = steps.iter().filter(|s| **s < 0.0).count();
    if forward.is_empty() || back * 20 > steps.len() || forward.len() * 20 < steps.len() {
        return None;
    }
    let step = median(&forward);
    if !named {
        // A column that only grows may be a distance or a charge; time also keeps its pace.
        let steady = forward.iter().filter(|s| (**s / step - 1.0).abs() < 0.5).count();
        if back > 0 || steady * 10 < forward.len() * 9 || forward.len() * 2 < steps.len() {
            return None;
        }
    }
    let name = head.headers.get(index).cloned().unwrap_or_default();
    let declared = header::unit_end(&name)
        .and_then(|unit| TIME_UNITS.iter().find(|(w, _)| *w == unit))
        .or_else(|| {
            let words = header::tokens(&name);
            let long = [("millis", "ms"), ("micros", "us")];
            long.iter()
                .find(|(w, _)| words.iter().any(|x| x == w))
                .and_then(|(_, unit)| TIME_UNITS.iter().find(|(w, _)| w == unit))
        })
        .map(|(_, seconds)| *seconds);
    let whole = finite.iter().all(|v| v.fract() == 0.0);
    let steps_back_little = back == 0;
    let mut doubts = Vec::new();
    let (options_s, sure, why) = match declared {
        Some(seconds) => {
            if !(1e-4..=60.0).contains(&(step * seconds)) {
                doubts.push(format!(
                    "the time column \"{name}\" has a usual step of {} s in the unit its header names; check it",
                    step * seconds
                ));
            }
            (
                vec![seconds],
                0.95,
                format!("the header names time and its unit; the usual step is {:.4} s", step * seconds),
            )
        }
        None => {
            let options = possible_units(&finite, step, whole);
            let first = *options.first()?;
            if options.len() > 1 || !named {
                doubts.push(format!(
                    "the unit of the time column \"{name}\" is not named; {} s a count is taken from its usual step \
                     of {step}: check that {:.0} s is how long the recording is",
                    first,
                    (finite.last()? - finite.first()?) * first
                ));
            }
            (
                options,
                if named { 0.8 } else { 0.65 },
                format!("it grows in steps of {step}, {:.4} s each", step * first),
            )
        }
    };
    let seconds = *options_s.first()?;
    let first = *finite.first()?;
    let form = TimeForm::Number { seconds };
    let (time_s, keep) = times(
        values.iter().map(|v| (v - first) * seconds).collect(),
        &table.lines,
        &clock::Modulus::of(&form, first * seconds),
    );
    Some(Found {
        index,
        week: None,
        column: column(head, index),
        form,
        options_s,
        sure: if steps_back_little { sure } else { sure - 0.1 },
        why,
        doubts,
        time_s,
        keep,
    })
}

/// Growing times, and the rows that belong to them: rows without a time fall out as well.
fn times(raw: Vec<f64>, lines: &[u32], modulus: &clock::Modulus) -> (Vec<f64>, Option<Vec<bool>>) {
    let has: Vec<bool> = raw.iter().map(|t| t.is_finite()).collect();
    let (some, some_lines): (Vec<f64>, Vec<u32>) =
        raw.iter().zip(lines).filter(|(t, _)| t.is_finite()).map(|(t, l)| (*t, *l)).unzip();
    let all = some.len() == raw.len();
    let repaired = clock::repair(some, &some_lines, modulus);
    let keep = match (all, repaired.keep) {
        (true, keep) => keep,
        (false, None) => Some(has),
        (false, Some(inner)) => {
            let mut inner = inner.into_iter();
            Some(has.into_iter().map(|h| h && inner.next().unwrap_or(false)).collect())
        }
    };
    (repaired.time_s, keep)
}

/// Units in seconds under which rate and length of the recording are credible, the likelier first.
fn possible_units(values: &[f64], step: f64, whole: bool) -> Vec<f64> {
    let (first, last) = (values.first().copied().unwrap_or(0.0), values.last().copied().unwrap_or(0.0));
    // Counts since 1970 name their unit by their size (years 2001 to 2096).
    for seconds in [1.0, 1e-3, 1e-6, 1e-9] {
        if (1e9..4e9).contains(&(first * seconds)) && first * seconds > 9.9e8 {
            return vec![seconds];
        }
    }
    let length = last - first;
    let order: &[f64] = if whole && step >= 2.0 { &[1e-3, 1e-6, 1.0, 1e-9] } else { &[1.0, 1e-3, 1e-6] };
    order
        .iter()
        .copied()
        .filter(|seconds| {
            (2e-4..=2.0).contains(&(step * seconds)) && (4.0..=20_000.0).contains(&(length * seconds))
        })
        .collect()
}

fn as_text(text: &[u8], layout: &Layout, head: &Head, table: &Table, index: usize) -> Option<Found> {
    for (cell, form, what) in [
        (CellForm::DateTime { zone_s: 0 }, TimeForm::DateTime { zone_s: 0.0 }, "dates with times"),
        (CellForm::Clock, TimeForm::Clock { zone_s: 0.0 }, "times of day"),
    ] {
        let read = table::read(text, layout, head, &[(index, cell)], false);
        let values = read.columns.into_iter().next()?;
        let good = values.iter().filter(|v| v.is_finite()).count();
        if read.texts.contains(&0) || good * 20 < values.len() * 19 || good < 2 {
            continue;
        }
        let first = values.iter().copied().find(|v| v.is_finite())?;
        // The other columns were read with rows of their own left out: values are matched by their lines.
        let mut by_line = read.lines.iter().zip(&values).peekable();
        let raw = table
            .lines
            .iter()
            .map(|line| {
                while by_line.peek().is_some_and(|(l, _)| **l < *line) {
                    by_line.next();
                }
                by_line.peek().filter(|(l, _)| **l == *line).map_or(f64::NAN, |(_, v)| **v - first)
            })
            .collect();
        let mut found = text_found(head, index, form, what, raw, &table.lines, first);
        if cell != CellForm::Clock {
            found.doubts.extend(zone_doubt(text, layout, head, index));
        }
        return Some(found);
    }
    None
}

fn text_found(
    head: &Head,
    index: usize,
    form: TimeForm,
    what: &str,
    raw: Vec<f64>,
    lines: &[u32],
    first: f64,
) -> Found {
    let (time_s, keep) = times(raw, lines, &clock::Modulus::of(&form, first));
    Found {
        index,
        week: None,
        column: column(head, index),
        form,
        options_s: Vec::new(),
        sure: 0.9,
        why: format!("its cells are {what}"),
        doubts: Vec::new(),
        time_s,
        keep,
    }
}
