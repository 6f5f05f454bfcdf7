//! What does one line hold? The cells of one line, parsed into numbers or told as unreadable.

use super::number::{self, Cell};
use super::table::CellForm;
use crate::clock;

/// What is read from each row and how.
#[derive(Debug, Clone)]
pub(crate) struct Plan {
    /// For each column up to the last one read: the slots it fills (a column may fill two).
    pub(crate) slots: Vec<Vec<usize>>,
    /// How each slot's cell is written.
    pub(crate) forms: Vec<CellForm>,
    /// Cells that a row has.
    pub(crate) fields: usize,
    /// Between cells.
    pub(crate) delimiter: u8,
    /// Whether the first slot is the time, without which a row is worth nothing.
    pub(crate) time_first: bool,
}

/// How a row came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Outcome {
    /// Every cell read is a number or empty.
    Good,
    /// Some cells hold text: their slots are in `bad`.
    BadCells,
    /// It has another number of cells.
    Fields(usize),
    /// The time cannot be read.
    NoTime,
}

/// Reads the cells of one line without quotation marks into `values`.
#[inline]
pub(crate) fn line<const MARK: u8>(
    line: &[u8],
    plan: &Plan,
    values: &mut [f64],
    bad: &mut Vec<usize>,
) -> Outcome {
    let mut rest = line;
    let mut cells = 0;
    let mut ended = false;
    for slots in &plan.slots {
        if ended {
            return Outcome::Fields(cells);
        }
        cells += 1;
        while let [b' ', after @ ..] = rest
            && plan.delimiter != b' '
        {
            rest = after;
        }
        if let [slot] = slots.as_slice()
            && matches!(plan.forms.get(*slot), Some(CellForm::Number))
            && let Some((value, used)) = number::leading::<MARK>(rest)
        {
            match rest.get(used) {
                Some(b) if *b == plan.delimiter => {
                    if let Some(place) = values.get_mut(*slot) {
                        *place = value;
                    }
                    rest = rest.get(used + 1..).unwrap_or(&[]);
                    continue;
                }
                None => {
                    if let Some(place) = values.get_mut(*slot) {
                        *place = value;
                    }
                    rest = &[];
                    ended = true;
                    continue;
                }
                Some(_) => {}
            }
        }
        let (cell, after) = match memchr::memchr(plan.delimiter, rest) {
            Some(end) => (rest.get(..end).unwrap_or(&[]), rest.get(end + 1..).unwrap_or(&[])),
            None => {
                ended = true;
                (rest, &[][..])
            }
        };
        for slot in slots {
            fill::<MARK>(cell, *slot, plan, values, bad);
        }
        rest = after;
    }
    if !ended {
        let more = memchr::memchr_iter(plan.delimiter, rest).count() + 1;
        cells += more;
        // A delimiter after the last cell makes no cell.
        if cells > plan.fields && rest.iter().all(|b| *b == plan.delimiter || b.is_ascii_whitespace()) {
            cells = plan.fields;
        }
    }
    finish(cells, plan, values, bad)
}

/// Reads cells that were cut apart before.
pub(crate) fn cells<'a, const MARK: u8>(
    row: impl Iterator<Item = &'a [u8]>,
    plan: &Plan,
    values: &mut [f64],
    bad: &mut Vec<usize>,
) -> Outcome {
    let mut count = 0;
    let mut last_filled = 0;
    for (index, cell) in row.enumerate() {
        count = index + 1;
        if !cell.trim_ascii().is_empty() {
            last_filled = count;
        }
        for slot in plan.slots.get(index).map_or(&[][..], Vec::as_slice) {
            fill::<MARK>(cell, *slot, plan, values, bad);
        }
    }
    if count > plan.fields && last_filled <= plan.fields {
        count = plan.fields;
    }
    finish(count, plan, values, bad)
}

fn finish(cells: usize, plan: &Plan, values: &[f64], bad: &[usize]) -> Outcome {
    if cells != plan.fields {
        return Outcome::Fields(cells);
    }
    if plan.time_first && values.first().is_some_and(|t| t.is_nan()) {
        return Outcome::NoTime;
    }
    if bad.is_empty() { Outcome::Good } else { Outcome::BadCells }
}

fn fill<const MARK: u8>(cell: &[u8], slot: usize, plan: &Plan, values: &mut [f64], bad: &mut Vec<usize>) {
    let read = match plan.forms.get(slot) {
        Some(CellForm::Clock) => text_time(cell, clock::clock_s),
        Some(CellForm::DateTime { zone_s }) => {
            text_time(cell, |text| clock::local_date_time_s(text, f64::from(*zone_s)))
        }
        Some(CellForm::Acts) => acts(cell).unwrap_or_else(|| number::cell::<MARK>(cell)),
        _ => number::cell::<MARK>(cell),
    };
    let value = match read {
        Cell::Number(value) => value,
        Cell::Nothing => f64::NAN,
        Cell::Text => {
            bad.push(slot);
            f64::NAN
        }
    };
    if let Some(place) = values.get_mut(slot) {
        *place = value;
    }
}

/// The number of a word for how the stick acts.
fn acts(cell: &[u8]) -> Option<Cell> {
    let word = cell.trim_ascii();
    let place = ["direct", "rate", "level"].iter().position(|w| word.eq_ignore_ascii_case(w.as_bytes()))?;
    Some(Cell::Number(place as f64))
}

fn text_time(cell: &[u8], read: impl Fn(&str) -> Option<f64>) -> Cell {
    let text = std::str::from_utf8(cell).unwrap_or("").trim();
    if text.is_empty() {
        return Cell::Nothing;
    }
    read(text).map_or(Cell::Text, Cell::Number)
}
