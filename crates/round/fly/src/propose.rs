//! Which column is what, by its header and by the data? A proposed column map with the evidence for each entry, and
//! what was left out because it was not sure.
//!
//! A wrong channel accepted in silence does the most harm, so what the header's plain words do not name, what the
//! data contradicts, and what could be two things, is left out and told.

use std::sync::Arc;

use rayon::prelude::*;

use crate::csv::table::{self, CellForm, Head, Layout, Table};
use crate::csv::{NotARecording, encoding};
use crate::map::{Axes, Column, ColumnMap, Entry, TimeForm, TimeSource};
use crate::recording::{Channel, Quantity, Recording};
use crate::thin::Spans;
use crate::words::{self, Dimension};

mod axes;
mod columns;
pub(crate) mod contradictions;
mod header;
mod relations;
pub(crate) mod remedy;
mod settle;
mod sniff;
pub(crate) mod swaps;
mod time;
mod units;

pub use columns::{Carries, ColumnFound};
use header::Heard;

/// Why a column is taken for what it is.
#[derive(Debug, Clone, PartialEq)]
pub struct Evidence {
    /// The column.
    pub column: Column,
    /// The quantity word, or "time".
    pub quantity: String,
    /// What speaks for it, with numbers.
    pub why: String,
    /// How sure, 0 to 1.
    pub sure: f64,
}

/// A proposed map.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// The map; it may hold no entry at all.
    pub map: ColumnMap,
    /// Why each entry is in it.
    pub evidence: Vec<Evidence>,
    /// What was left out or could not be checked, in sentences.
    pub doubts: Vec<String>,
    /// Every column of the file with what was found out about it, in the order of the file.
    pub columns: Vec<ColumnFound>,
}

/// What was left out or could not be checked, with the columns it is about.
#[derive(Debug, Clone)]
struct Doubt {
    columns: Vec<usize>,
    said: String,
}

impl Doubt {
    fn of(column: usize, said: String) -> Self {
        Self { columns: vec![column], said }
    }
}

/// A column that may become an entry.
#[derive(Debug, Clone)]
struct Candidate {
    index: usize,
    header: String,
    column: Column,
    quantity: Quantity,
    /// Units that are possible; one when it is known.
    units: Vec<&'static str>,
    axes: Axes,
    /// Whether the header leaves the direction open.
    open_axis: bool,
    negate: bool,
    scale: f64,
    sure: f64,
    why: Vec<String>,
}

impl Candidate {
    fn entry(&self, unit: &str) -> Entry {
        Entry {
            column: self.column.clone(),
            quantity: self.quantity.clone(),
            unit: unit.to_owned(),
            negate: self.negate,
            offset: 0.0,
            scale: self.scale,
            axes: self.axes,
        }
    }

    fn unit(&self) -> Option<&'static str> {
        match self.units.as_slice() {
            [one] => Some(one),
            _ => None,
        }
    }
}

/// What is known while a map is found.
struct Search {
    head: Head,
    table: Table,
    /// Times in the likeliest unit, s.
    time_s: Vec<f64>,
    /// Times and columns, thinned, as the laws look at them.
    thin: (Arc<Vec<f64>>, Vec<Vec<f64>>),
    candidates: Vec<Candidate>,
    doubts: Vec<Doubt>,
    /// What the headers say, column by column.
    heard: Vec<(usize, Quantity)>,
    /// Entries that are right by the data where the header says otherwise.
    offered: Vec<(usize, Entry)>,
}

impl Search {
    /// A recording of these candidates in these units.
    fn recording(&self, chosen: &[(&Candidate, &str)]) -> Recording {
        self.recording_of(chosen.iter().map(|(c, unit)| (c.index, c.entry(unit))))
    }

    /// A recording of columns taken as these entries.
    fn recording_of(&self, entries: impl Iterator<Item = (usize, Entry)>) -> Recording {
        let channels = entries
            .filter_map(|(index, entry)| {
                let (factor, summand) = entry.line()?;
                let (time_s, columns) = &self.thin;
                let values = columns.get(index)?;
                Some(Channel {
                    quantity: entry.quantity,
                    source: self.head.headers.get(index).cloned().unwrap_or_default(),
                    time_s: Arc::clone(time_s),
                    values: values.iter().map(|v| v * factor + summand).collect(),
                })
            })
            .collect();
        Recording { channels, rows: self.time_s.len(), ..Recording::default() }
    }

    /// Takes the times in another unit, so many times as long.
    fn stretch(&mut self, by: f64) {
        let times: Vec<f64> = self.time_s.iter().map(|t| t * by).collect();
        self.thin = match Spans::of(&times) {
            Some(spans) => {
                let columns = self.table.columns.par_iter().map(|c| spans.means(c)).collect();
                (spans.time_s, columns)
            }
            None => (Arc::new(times), self.table.columns.clone()),
        };
    }

    /// Every candidate whose unit is known.
    fn known(&self) -> Vec<(&Candidate, &'static str)> {
        self.candidates.iter().filter_map(|c| Some((c, c.unit()?))).collect()
    }

    /// Says something about columns.
    fn doubt(&mut self, columns: &[usize], said: String) {
        self.doubts.push(Doubt { columns: columns.to_vec(), said });
    }

    /// Leaves a candidate out and says why.
    fn leave_out(&mut self, quantity: &Quantity, why: &str) {
        let doubts = &mut self.doubts;
        self.candidates.retain(|c| {
            if c.quantity != *quantity {
                return true;
            }
            let said = format!("\"{}\" is left out as {}: {why}", c.header, words::word(quantity));
            doubts.push(Doubt { columns: vec![c.index], said });
            false
        });
    }
}

/// Least sureness of an entry that is proposed.
const SURE_ENOUGH: f64 = 0.6;

/// Proposes a column map for a text of any layout.
///
/// Fails for what is not text, holds no rows of numbers, or has no column that can be time.
pub fn propose(bytes: &[u8]) -> Result<Proposal, NotARecording> {
    let (text, _) = encoding::text(bytes)?;
    let nothing = || NotARecording::NoNumericRow {
        lines: text.iter().filter(|b| **b == b'\n').count() + 1,
        first: encoding::shown(text.split(|b| *b == b'\n').next().unwrap_or(&[])),
    };
    let layout = sniff::layout(&text).ok_or_else(nothing)?;
    let even = layout.evened(text.clone());
    let head = table::head(&even, &layout);
    let columns: Vec<(usize, CellForm)> = (0..head.fields).map(|i| (i, CellForm::Number)).collect();
    let table = table::read(&even, &layout, &head, &columns, false);
    if table.lines.is_empty() {
        return Err(nothing());
    }
    let found = time::find(&even, &layout, &head, &table)?;
    let mut table = table;
    if let Some(keep) = &found.keep {
        for column in &mut table.columns {
            let mut kept = keep.iter();
            column.retain(|_| kept.next().copied().unwrap_or(false));
        }
    }
    let mut search = Search {
        candidates: Vec::new(),
        doubts: Vec::new(),
        heard: Vec::new(),
        offered: Vec::new(),
        time_s: found.time_s.clone(),
        thin: (Arc::new(Vec::new()), Vec::new()),
        head,
        table,
    };
    for said in &found.doubts {
        search.doubt(&[found.index], said.clone());
    }
    search.stretch(1.0);
    hear(&mut search, &found);
    one_each(&mut search);
    let unit_s = settle::settle(&mut search, &found);
    Ok(finish(search, &layout, &found, unit_s))
}

/// Candidates by their headers, with the units that their values allow.
fn hear(search: &mut Search, found: &time::Found) {
    let headers = search.head.headers.clone();
    for (index, name) in headers.iter().enumerate().take(search.head.fields) {
        if index == found.index || Some(index) == found.week {
            continue;
        }
        let mut reading = match header::read(name) {
            Heard::Quantity(reading) => reading,
            Heard::Not(why) => {
                search.doubts.push(Doubt::of(index, format!("\"{name}\" is left out: {why}")));
                continue;
            }
            Heard::Nothing => {
                search.doubts.push(Doubt::of(
                    index,
                    format!("\"{name}\" is left out: its header names no known quantity"),
                ));
                continue;
            }
        };
        let word = words::word(&reading.quantity);
        let values = search.table.columns.get(index).map_or(&[][..], Vec::as_slice);
        if let Some(servo) = header::servo_abbreviated(name)
            && numerics::statistics::median(search.thin.1.get(index).map_or(&[][..], Vec::as_slice)) > 500.0
        {
            reading.quantity = servo;
        }
        let word = if words::word(&reading.quantity) == word { word } else { words::word(&reading.quantity) };
        if let Quantity::Servo(channel) = &reading.quantity
            && (channel.chars().all(|c| c.is_ascii_digit()) || header::servo_abbreviated(name).is_some())
        {
            search.doubts.push(Doubt::of(index, format!(
                "\"{name}\" is taken as {word}; if it moves another servo, write quantity = \"servo:NAME\" for it \
                 with the `channel` that the aircraft file gives the servo"
            )));
        }
        search.heard.push((index, reading.quantity.clone()));
        let in_words = reading.quantity == Quantity::Acts;
        if !in_words && (search.table.texts.contains(&index) || values.iter().all(|v| v.is_nan())) {
            search
                .doubts
                .push(Doubt::of(index, format!("\"{name}\" is left out as {word}: it holds no numbers")));
            continue;
        }
        if reading.sure < SURE_ENOUGH {
            search.doubts.push(Doubt::of(
                index,
                format!(
                    "\"{name}\" is left out as {word}: the words {} are not understood",
                    reading.unknown.join(", ")
                ),
            ));
            continue;
        }
        let (units, scale, why) = match units::possible(&reading, values) {
            Ok(possible) => possible,
            Err(why) => {
                search.doubts.push(Doubt::of(index, format!("\"{name}\" is left out as {word}: {why}")));
                continue;
            }
        };
        let repeated = headers.iter().filter(|h| *h == name).count() > 1;
        let made_up = search.head.lines.is_empty() || repeated;
        let mut said = vec![format!("the header says {word}")];
        said.extend(why);
        search.candidates.push(Candidate {
            index,
            header: name.clone(),
            column: if made_up { Column::Number(index + 1) } else { Column::Header(name.clone()) },
            quantity: reading.quantity,
            units,
            axes: reading.axes.unwrap_or(Axes::ForwardRightDown),
            open_axis: reading.open_axis,
            negate: false,
            scale,
            sure: reading.sure,
            why: said,
        });
    }
}

/// One candidate for each quantity: the surest header; the first of equal columns; none of two that differ.
fn one_each(search: &mut Search) {
    let mut quantities: Vec<Quantity> = search.candidates.iter().map(|c| c.quantity.clone()).collect();
    quantities.sort();
    quantities.dedup();
    for quantity in quantities {
        let rivals: Vec<&Candidate> = search.candidates.iter().filter(|c| c.quantity == quantity).collect();
        if rivals.len() < 2 {
            continue;
        }
        let best = rivals.iter().map(|c| c.sure).fold(0.0, f64::max);
        let top: Vec<&&Candidate> = rivals.iter().filter(|c| c.sure > best - 0.1).collect();
        let places: Vec<usize> = rivals.iter().map(|c| c.index).collect();
        let names: Vec<String> = rivals.iter().map(|c| format!("\"{}\"", c.header)).collect();
        let same = top.windows(2).all(|pair| match pair {
            [a, b] => alike(search, a.index, b.index) && a.units == b.units,
            _ => true,
        });
        let keep = top.first().filter(|_| top.len() == 1 || same).map(|c| c.index);
        let word = words::word(&quantity);
        match keep {
            Some(index) => {
                search.candidates.retain(|c| c.quantity != quantity || c.index == index);
                search.doubt(
                    &places,
                    format!(
                        "{word} could be any of {}; the first of the plainest is taken",
                        names.join(", ")
                    ),
                );
            }
            None => {
                search.candidates.retain(|c| c.quantity != quantity);
                search.doubt(
                    &places,
                    format!(
                        "{word} is left out: it could be {}, which differ; name the one that you trust",
                        names.join(" or ")
                    ),
                );
            }
        }
    }
}

/// Whether two columns tell the same, within a hundredth of their spread.
fn alike(search: &Search, a: usize, b: usize) -> bool {
    let column = |i: usize| search.table.columns.get(i).map_or(&[][..], Vec::as_slice);
    let pairs: Vec<(f64, f64)> = column(a)
        .iter()
        .zip(column(b))
        .filter(|(x, y)| x.is_finite() && y.is_finite())
        .map(|(x, y)| (*x, *y))
        .collect();
    let differences: Vec<f64> = pairs.iter().map(|(x, y)| (x - y).abs()).collect();
    let firsts: Vec<f64> = pairs.iter().map(|(x, _)| *x).collect();
    pairs.len() > 10
        && numerics::statistics::quantile(&differences, 0.9)
            <= 0.05 * numerics::statistics::standard_deviation(&firsts)
}

fn finish(search: Search, layout: &Layout, found: &time::Found, unit_s: Option<f64>) -> Proposal {
    let mut evidence = vec![Evidence {
        column: found.column.clone(),
        quantity: "time".to_owned(),
        why: found.why.clone(),
        sure: found.sure,
    }];
    let mut entries = Vec::new();
    for c in &search.candidates {
        let Some(unit) = c.unit() else { continue };
        evidence.push(Evidence {
            column: c.column.clone(),
            quantity: words::word(&c.quantity),
            why: c.why.join("; "),
            sure: c.sure,
        });
        entries.push(c.entry(unit));
    }
    let form = match (&found.form, unit_s) {
        (TimeForm::Number { .. }, Some(seconds)) => TimeForm::Number { seconds },
        (TimeForm::Gps { week, .. }, Some(seconds)) => TimeForm::Gps { seconds, week: week.clone() },
        (form, _) => form.clone(),
    };
    let map = ColumnMap {
        delimiter: layout.delimiter,
        decimal_comma: layout.decimal_comma,
        comment: layout.comment.as_ref().map(|c| String::from_utf8_lossy(c).into_owned()),
        skip_lines: layout.skip_lines,
        header_lines: layout.header_lines,
        header_in_comment: layout.header_in_comment,
        time: TimeSource::Column { column: found.column.clone(), form },
        entries,
    };
    let columns = columns::all(&search, found, &map);
    let doubts = search.doubts.into_iter().map(|d| d.said).collect();
    Proposal { map, evidence, doubts, columns }
}

/// Whether a quantity belongs to the body's axes.
fn in_body_axes(quantity: &Quantity) -> bool {
    matches!(words::dimension(quantity), Dimension::Angle | Dimension::AngularRate | Dimension::SpecificForce)
        && *quantity != Quantity::Course
}
