//! Which rows does the text have, and what numbers stand in them? Header, cutting into chunks, the rows told apart.

use std::borrow::Cow;

use memchr::{memchr, memchr_iter, memrchr};
use rayon::prelude::*;

use super::encoding::shown;
use super::rows::{self, Outcome, Plan};
use crate::map::ColumnMap;
use crate::recording::{Flaw, FlawKind};

/// How a cell is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum CellForm {
    /// A number.
    Number,
    /// `hh:mm:ss`.
    Clock,
    /// Date and time, without a zone of its own so many seconds ahead of universal time.
    DateTime {
        /// That many.
        zone_s: i32,
    },
    /// How the stick acts: `direct`, `rate`, `level`, or their numbers.
    Acts,
}

/// How the text is laid out.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Layout {
    pub(crate) delimiter: u8,
    pub(crate) decimal_comma: bool,
    pub(crate) comment: Option<Vec<u8>>,
    pub(crate) skip_lines: usize,
    pub(crate) header_lines: usize,
    pub(crate) header_in_comment: bool,
}

impl Layout {
    pub(crate) fn of(map: &ColumnMap) -> Self {
        Self {
            delimiter: map.delimiter,
            decimal_comma: map.decimal_comma,
            comment: map.comment.as_ref().map(|c| c.as_bytes().to_vec()),
            skip_lines: map.skip_lines,
            header_lines: map.header_lines,
            header_in_comment: map.header_in_comment,
        }
    }

    /// The text with runs of spaces made one, where a space stands between cells.
    pub(crate) fn evened<'a>(&self, text: Cow<'a, [u8]>) -> Cow<'a, [u8]> {
        if self.delimiter != b' ' {
            return text;
        }
        let mut even = Vec::with_capacity(text.len());
        for line in text.split(|b| *b == b'\n') {
            let cells = line.split(|b| b.is_ascii_whitespace()).filter(|cell| !cell.is_empty());
            for (place, cell) in cells.enumerate() {
                if place > 0 {
                    even.push(b' ');
                }
                even.extend_from_slice(cell);
            }
            even.push(b'\n');
        }
        if !text.ends_with(b"\n") {
            even.pop();
        }
        Cow::Owned(even)
    }

    fn is_comment(&self, line: &[u8]) -> bool {
        self.comment.as_ref().is_some_and(|c| line.trim_ascii_start().starts_with(c))
    }

    /// Cells of a line, quotation marks taken off.
    pub(crate) fn cells(&self, line: &[u8]) -> Vec<Vec<u8>> {
        if memchr(b'"', line).is_none() {
            return line.split(|b| *b == self.delimiter).map(<[u8]>::to_vec).collect();
        }
        self.quoted(line).map(|record| record.iter().map(<[u8]>::to_vec).collect()).unwrap_or_default()
    }

    fn quoted(&self, line: &[u8]) -> Option<csv::ByteRecord> {
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(self.delimiter)
            .has_headers(false)
            .flexible(true)
            .buffer_capacity(line.len().max(64))
            .from_reader(line);
        let mut record = csv::ByteRecord::new();
        match reader.read_byte_record(&mut record) {
            Ok(true) => Some(record),
            _ => None,
        }
    }
}

/// What stands before the data.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Head {
    /// Headers of the columns; made of numbers where there is no header line.
    pub(crate) headers: Vec<String>,
    /// The header lines as they stand, to know them again further down.
    pub(crate) lines: Vec<Vec<u8>>,
    /// Cells that a row of data has.
    pub(crate) fields: usize,
    /// Byte at which the data begins.
    pub(crate) data_from: usize,
    /// Line at which the data begins; the first line is 1.
    pub(crate) data_line: u32,
    /// The first line of data, for messages.
    pub(crate) first_data: String,
}

/// The end of the line that begins at `from`, and the begin of the next.
fn line_end(text: &[u8], from: usize) -> (usize, usize) {
    let rest = text.get(from..).unwrap_or(&[]);
    match memchr(b'\n', rest) {
        Some(at) => (from + at, from + at + 1),
        None => (text.len(), text.len()),
    }
}

fn line_at(text: &[u8], from: usize) -> &[u8] {
    let (end, _) = line_end(text, from);
    without_return(text.get(from..end).unwrap_or(&[]))
}

fn without_return(line: &[u8]) -> &[u8] {
    line.strip_suffix(b"\r").unwrap_or(line)
}

/// Reads what stands before the data.
pub(crate) fn head(text: &[u8], layout: &Layout) -> Head {
    let mut at = 0;
    let mut line_number: u32 = 1;
    for _ in 0..layout.skip_lines {
        if at >= text.len() {
            break;
        }
        at = line_end(text, at).1;
        line_number += 1;
    }
    let mut lines: Vec<Vec<u8>> = Vec::new();
    let mut names: Vec<Vec<String>> = Vec::new();
    while lines.len() < layout.header_lines && at < text.len() {
        let line = line_at(text, at);
        let comment = layout.is_comment(line);
        at = line_end(text, at).1;
        line_number += 1;
        if line.trim_ascii().is_empty() || (comment && !layout.header_in_comment) {
            continue;
        }
        let mut bare = line;
        if let Some(prefix) = layout.comment.as_ref().filter(|_| comment) {
            let start = line.trim_ascii_start();
            bare = start.strip_prefix(prefix.as_slice()).unwrap_or(start);
        }
        for (column, cell) in layout.cells(bare).iter().enumerate() {
            if names.len() <= column {
                names.resize(column + 1, Vec::new());
            }
            let name = String::from_utf8_lossy(cell).trim().to_owned();
            if let Some(parts) = names.get_mut(column).filter(|_| !name.is_empty()) {
                parts.push(name);
            }
        }
        lines.push(line.trim_ascii().to_vec());
    }
    let mut headers: Vec<String> = names.iter().map(|parts| parts.join(" ")).collect();
    while headers.last().is_some_and(String::is_empty) {
        headers.pop();
    }
    let (fields, first_data) = usual_fields(text, at, layout, headers.len());
    while headers.len() < fields {
        headers.push(format!("column {}", headers.len() + 1));
    }
    Head { headers, lines, fields, data_from: at, data_line: line_number, first_data }
}

/// Cells that a row has: as many as there are headers if many rows agree, else what most rows have.
fn usual_fields(text: &[u8], from: usize, layout: &Layout, headers: usize) -> (usize, String) {
    const SAMPLE: usize = 500;
    let mut counts: Vec<(usize, usize)> = Vec::new();
    let (mut at, mut seen, mut agree) = (from, 0, 0);
    let mut first = String::new();
    while at < text.len() && seen < SAMPLE {
        let line = line_at(text, at);
        at = line_end(text, at).1;
        if line.trim_ascii().is_empty() || layout.is_comment(line) {
            continue;
        }
        if seen == 0 {
            first = shown(line);
        }
        seen += 1;
        let cells = layout.cells(line);
        let empty_after = cells.iter().skip(headers).all(|cell| cell.trim_ascii().is_empty());
        if cells.len() >= headers && empty_after {
            agree += 1;
        }
        match counts.iter_mut().find(|(n, _)| *n == cells.len()) {
            Some((_, times)) => *times += 1,
            None => counts.push((cells.len(), 1)),
        }
    }
    if headers > 0 && (seen == 0 || agree * 2 >= seen) {
        return (headers, first);
    }
    let most = counts.iter().max_by_key(|(n, times)| (*times, *n));
    (most.map_or(headers, |(n, _)| *n), first)
}

/// The rows of a file.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Table {
    /// One list of values for each slot.
    pub(crate) columns: Vec<Vec<f64>>,
    /// Line of the file that each row stands on.
    pub(crate) lines: Vec<u32>,
    /// Lines of data looked at, read or not.
    pub(crate) seen: usize,
    /// What was wrong.
    pub(crate) flaws: Vec<Flaw>,
    /// Slots whose cells are mostly text.
    pub(crate) texts: Vec<usize>,
}

/// A line that could not be read.
#[derive(Debug, Clone, Copy)]
struct Bad {
    line: u32,
    from: usize,
    outcome: Outcome,
}

/// A cell of a row read that holds text where a number should be.
#[derive(Debug, Clone, Copy)]
struct BadCell {
    row: usize,
    slot: usize,
    from: usize,
}

#[derive(Debug, Default)]
struct Chunk {
    columns: Vec<Vec<f64>>,
    lines: Vec<u32>,
    bad: Vec<Bad>,
    bad_cells: Vec<BadCell>,
    repeated_headers: usize,
    line_count: u32,
    seen: usize,
}

/// Bytes in one piece of work: small enough to share out evenly, large enough to matter.
const CHUNK_BYTES: usize = 4 << 20;

/// Reads the rows of data. `columns` are the columns to read with the form of their cells, `usize::MAX` for one
/// that is not there; `time_first` says that the first of them is the time.
pub(crate) fn read(
    text: &[u8],
    layout: &Layout,
    head: &Head,
    columns: &[(usize, CellForm)],
    time_first: bool,
) -> Table {
    let width = columns
        .iter()
        .map(|(index, _)| *index)
        .filter(|index| *index != usize::MAX)
        .max()
        .map_or(0, |most| most + 1);
    let mut slots = vec![Vec::new(); width];
    for (slot, (index, _)) in columns.iter().enumerate() {
        if let Some(list) = slots.get_mut(*index) {
            list.push(slot);
        }
    }
    let plan = Plan {
        slots,
        forms: columns.iter().map(|(_, form)| *form).collect(),
        fields: head.fields,
        delimiter: layout.delimiter,
        time_first,
    };
    let mut flaws = Vec::new();
    let end = end_of_whole_lines(text, layout, head, &mut flaws);
    let begin = head.data_from.min(end);
    let body = text.get(begin..end).unwrap_or(&[]);
    // A quoted cell may hold a line end, so such a file is not cut.
    let cuts = if memchr(b'"', body).is_some() { vec![(begin, end)] } else { cuts(text, begin, end) };
    let chunks: Vec<Chunk> = cuts
        .par_iter()
        .map(|(from, to)| {
            if layout.decimal_comma {
                chunk::<b','>(text, *from, *to, layout, head, &plan)
            } else {
                chunk::<b'.'>(text, *from, *to, layout, head, &plan)
            }
        })
        .collect();
    join(text, head, &plan, chunks, flaws)
}

fn cuts(text: &[u8], begin: usize, end: usize) -> Vec<(usize, usize)> {
    let mut list = Vec::new();
    let mut from = begin;
    while from < end {
        let aim = (from + CHUNK_BYTES).min(end);
        let to = line_end(text, aim.saturating_sub(1).max(from)).1.min(end);
        list.push((from, to));
        from = to;
    }
    list
}

fn chunk<const MARK: u8>(
    text: &[u8],
    from: usize,
    to: usize,
    layout: &Layout,
    head: &Head,
    plan: &Plan,
) -> Chunk {
    let mut out = Chunk::default();
    let wanted = plan.forms.len();
    // Lines are about as long as the first one; a little more avoids growing.
    let first_length = line_end(text, from).1.saturating_sub(from).max(8);
    let rows = (to - from) / first_length + (to - from) / (first_length * 8) + 16;
    out.columns = (0..wanted).map(|_| Vec::with_capacity(rows)).collect();
    out.lines.reserve(rows);
    let mut values = vec![f64::NAN; wanted];
    let mut bad = Vec::new();
    let mut at = from;
    while at < to {
        let (mut end, mut next) = line_end(text, at);
        let line_from = at;
        let line_number = out.line_count;
        out.line_count += 1;
        let mut line = without_return(text.get(at..end).unwrap_or(&[]));
        at = next;
        if line.is_empty() || layout.is_comment(line) || line.trim_ascii().is_empty() {
            continue;
        }
        out.seen += 1;
        bad.clear();
        let has_quote = memchr(b'"', line).is_some();
        let outcome = if has_quote {
            let lines = more_lines_of_quote(text, line_from, end, to);
            if let Some((longer, after, count)) = lines {
                (end, next) = (longer, after);
                line = without_return(text.get(line_from..end).unwrap_or(&[]));
                at = next;
                out.line_count += count;
            }
            match layout.quoted(line) {
                Some(record) => rows::cells::<MARK>(record.iter(), plan, &mut values, &mut bad),
                None => Outcome::Fields(0),
            }
        } else {
            rows::line::<MARK>(line, plan, &mut values, &mut bad)
        };
        match outcome {
            Outcome::Good => {}
            _ if head.lines.iter().any(|h| h.as_slice() == line.trim_ascii()) => {
                out.repeated_headers += 1;
                continue;
            }
            // A zero byte never belongs to text: the line is damaged whatever its cells say.
            Outcome::BadCells if memchr(0, line).is_none() => {
                let row = out.lines.len();
                out.bad_cells.extend(bad.iter().map(|slot| BadCell { row, slot: *slot, from: line_from }));
            }
            outcome => {
                out.bad.push(Bad { line: line_number, from: line_from, outcome });
                continue;
            }
        }
        out.lines.push(line_number);
        for (column, value) in out.columns.iter_mut().zip(&values) {
            column.push(*value);
        }
    }
    out
}

/// Where a record ends that a quoted cell carries over line ends; at most a few lines, else the mark is damage.
fn more_lines_of_quote(text: &[u8], from: usize, end: usize, to: usize) -> Option<(usize, usize, u32)> {
    const MOST_LINES: u32 = 8;
    let marks = |a: usize, b: usize| memchr_iter(b'"', text.get(a..b).unwrap_or(&[])).count();
    if marks(from, end) % 2 == 0 {
        return None;
    }
    let mut end = end;
    for count in 1..=MOST_LINES {
        if end + 1 >= to {
            return None;
        }
        let (next_end, next) = line_end(text, end + 1);
        end = next_end;
        if marks(from, end) % 2 == 0 {
            return Some((end, next, count));
        }
    }
    None
}

/// Where the whole lines end: before a last line that was cut off while being written.
fn end_of_whole_lines(text: &[u8], layout: &Layout, head: &Head, flaws: &mut Vec<Flaw>) -> usize {
    let data = text.get(head.data_from..).unwrap_or(&[]);
    if data.is_empty() || data.ends_with(b"\n") {
        return text.len();
    }
    let Some(break_at) = memrchr(b'\n', data) else {
        return text.len();
    };
    let begin = head.data_from + break_at + 1;
    let last = text.get(begin..).unwrap_or(&[]);
    if last.trim_ascii().is_empty() || layout.is_comment(last) {
        return text.len();
    }
    let before: Vec<&[u8]> = data
        .get(..break_at)
        .unwrap_or(&[])
        .rsplit(|b| *b == b'\n')
        .map(without_return)
        .filter(|line| !line.trim_ascii().is_empty() && !layout.is_comment(line))
        .take(50)
        .collect();
    if !looks_cut(last, &before, layout, head.fields) {
        return text.len();
    }
    flaws.push(Flaw {
        kind: FlawKind::Truncated,
        place: "last line".to_owned(),
        what: format!("ends in the middle (\"{}\"); it is left out", shown(last)),
    });
    begin
}

/// Whether a last line without line end was cut off, judged by the lines before it. Where nothing can tell a
/// shorter last number from a cut one, it counts as cut: one row is little, a wrong number is much.
fn looks_cut(last: &[u8], before: &[&[u8]], layout: &Layout, fields: usize) -> bool {
    let cells = layout.cells(last);
    if cells.len() < fields || memchr_iter(b'"', last).count() % 2 == 1 {
        return true;
    }
    if before.is_empty() || cells.len() > fields {
        return false;
    }
    let mark = if layout.decimal_comma { b',' } else { b'.' };
    let shape = |cell: &[u8]| {
        let cell = cell.trim_ascii();
        let decimals = memchr(mark, cell).map_or(0, |at| cell.len() - at - 1);
        (cell.len(), decimals)
    };
    let tails: Vec<(usize, usize)> =
        before.iter().filter_map(|line| layout.cells(line).last().map(|cell| shape(cell))).collect();
    let (length, decimals) = cells.last().map_or((0, 0), |cell| shape(cell));
    let steady = tails.iter().all(|(_, d)| Some(*d) == tails.first().map(|(_, d)| *d));
    let shortest = tails.iter().map(|(l, _)| *l).min().unwrap_or(0);
    if steady {
        return Some(decimals) != tails.first().map(|(_, d)| *d) || length < shortest;
    }
    // Numbers of changing length: only one as long as the longest surely is whole.
    length < tails.iter().map(|(l, _)| *l).max().unwrap_or(0)
}

/// Puts the chunks together in order and tells what was wrong in them.
fn join(text: &[u8], head: &Head, plan: &Plan, chunks: Vec<Chunk>, mut flaws: Vec<Flaw>) -> Table {
    let total: usize = chunks.iter().map(|c| c.lines.len()).sum();
    let mut lines = Vec::with_capacity(total);
    let mut bad: Vec<Bad> = Vec::new();
    let mut bad_cells: Vec<BadCell> = Vec::new();
    let (mut first_line, mut seen, mut repeated) = (head.data_line, 0, 0);
    for chunk in &chunks {
        let first_row = lines.len();
        bad.extend(chunk.bad.iter().map(|b| Bad { line: b.line + first_line, ..*b }));
        bad_cells.extend(chunk.bad_cells.iter().map(|b| BadCell { row: b.row + first_row, ..*b }));
        lines.extend(chunk.lines.iter().map(|l| l + first_line));
        first_line += chunk.line_count;
        seen += chunk.seen;
        repeated += chunk.repeated_headers;
    }
    let mut columns: Vec<Vec<f64>> = if chunks.len() == 1 {
        chunks.into_iter().next().map(|c| c.columns).unwrap_or_default()
    } else {
        (0..plan.forms.len())
            .into_par_iter()
            .map(|slot| {
                let mut whole = Vec::with_capacity(total);
                for chunk in &chunks {
                    whole.extend_from_slice(chunk.columns.get(slot).map_or(&[][..], Vec::as_slice));
                }
                whole
            })
            .collect()
    };
    let texts = texts_among(&bad_cells, plan.forms.len(), total);
    let damaged: Vec<BadCell> = bad_cells.into_iter().filter(|cell| !texts.contains(&cell.slot)).collect();
    if !damaged.is_empty() {
        let mut keep = vec![true; lines.len()];
        for cell in &damaged {
            if let Some(k) = keep.get_mut(cell.row).filter(|k| **k) {
                *k = false;
                bad.push(Bad {
                    line: lines.get(cell.row).copied().unwrap_or(0),
                    from: cell.from,
                    outcome: Outcome::BadCells,
                });
            }
        }
        columns.par_iter_mut().for_each(|column| super::keep_only(column, &keep));
        let mut kept = keep.iter();
        lines.retain(|_| kept.next().copied().unwrap_or(false));
        bad.sort_by_key(|b| b.line);
    }
    tell_bad(text, head.fields, &bad, lines.len(), &mut flaws);
    if repeated > 0 {
        flaws.push(Flaw {
            kind: FlawKind::BadRow,
            place: "between the rows".to_owned(),
            what: format!("the header stands {repeated} more times among the data; passed over"),
        });
    }
    Table { columns, lines, seen, flaws, texts }
}

/// Slots in which at least half of the rows hold text: not damage but another kind of column.
fn texts_among(bad_cells: &[BadCell], slots: usize, rows: usize) -> Vec<usize> {
    let mut counts = vec![0_usize; slots];
    for cell in bad_cells {
        if let Some(count) = counts.get_mut(cell.slot) {
            *count += 1;
        }
    }
    counts
        .iter()
        .enumerate()
        .filter(|(_, count)| **count > 0 && **count * 2 >= rows)
        .map(|(slot, _)| slot)
        .collect()
}

fn tell_bad(text: &[u8], fields: usize, bad: &[Bad], good: usize, flaws: &mut Vec<Flaw>) {
    const SHOWN: usize = 3;
    let (Some(first), Some(last)) = (bad.first(), bad.last()) else {
        return;
    };
    let examples: Vec<String> = bad
        .iter()
        .take(SHOWN)
        .map(|b| {
            let why = match b.outcome {
                Outcome::Fields(n) => format!("{n} cells instead of {fields}"),
                Outcome::NoTime => "no time".to_owned(),
                Outcome::BadCells | Outcome::Good => "text where a number should be".to_owned(),
            };
            format!("line {} ({why}): \"{}\"", b.line, shown(line_at(text, b.from)))
        })
        .collect();
    let more = if bad.len() > SHOWN { "; …" } else { "" };
    let place = if bad.len() == 1 {
        format!("line {}", first.line)
    } else {
        format!("lines {} to {}", first.line, last.line)
    };
    flaws.push(Flaw {
        kind: FlawKind::BadRow,
        place,
        what: format!(
            "{} of {} rows cannot be read and are left out: {}{more}",
            bad.len(),
            bad.len() + good,
            examples.join("; ")
        ),
    });
}
