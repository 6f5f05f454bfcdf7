//! How is this text laid out? Delimiter, decimal mark, comments and header lines, judged by what makes numbers.

use std::borrow::Cow;

use crate::csv::number::{self, Cell};
use crate::csv::table::Layout;

/// Lines that are looked at.
const SAMPLE: usize = 400;

/// Finds the layout under which most cells of the sample are numbers in rows of equal length.
pub(super) fn layout(text: &[u8]) -> Option<Layout> {
    let lines: Vec<&[u8]> = text
        .split(|b| *b == b'\n')
        .map(|line| line.strip_suffix(b"\r").unwrap_or(line))
        .take(SAMPLE)
        .collect();
    let mut best: Option<(f64, Layout)> = None;
    for (delimiter, decimal_comma) in [
        (b',', false),
        (b';', false),
        (b'\t', false),
        (b';', true),
        (b'\t', true),
        (b'|', false),
        (b'|', true),
        (b' ', false),
        (b' ', true),
    ] {
        let trial = Layout {
            delimiter,
            decimal_comma,
            comment: None,
            skip_lines: 0,
            header_lines: 0,
            header_in_comment: false,
        };
        let Some((score, layout)) = try_layout(&lines, trial) else {
            continue;
        };
        // A later trial must be clearly better: the earlier are the more usual.
        if best.as_ref().is_none_or(|(s, _)| score > s * 1.02) {
            best = Some((score, layout));
        }
    }
    best.map(|(_, layout)| layout)
}

/// A line as this layout sees it.
struct Seen {
    cells: usize,
    numbers: usize,
    nothings: usize,
    texts: usize,
}

fn see(line: &[u8], layout: &Layout) -> Seen {
    let even = layout.evened(Cow::Borrowed(line));
    let cells = layout.cells(&even);
    let mut seen = Seen { cells: cells.len(), numbers: 0, nothings: 0, texts: 0 };
    for cell in &cells {
        let read = if layout.decimal_comma { number::cell::<b','>(cell) } else { number::cell::<b'.'>(cell) };
        match read {
            Cell::Number(_) => seen.numbers += 1,
            Cell::Nothing => seen.nothings += 1,
            Cell::Text => seen.texts += 1,
        }
    }
    seen
}

fn try_layout(lines: &[&[u8]], mut layout: Layout) -> Option<(f64, Layout)> {
    let seen: Vec<Option<Seen>> =
        lines.iter().map(|line| (!line.trim_ascii().is_empty()).then(|| see(line, &layout))).collect();
    // The usual number of cells of rows with numbers.
    let mut counts: Vec<(usize, usize)> = Vec::new();
    for s in seen.iter().flatten().filter(|s| s.numbers > 0) {
        match counts.iter_mut().find(|(n, _)| *n == s.cells) {
            Some((_, times)) => *times += 1,
            None => counts.push((s.cells, 1)),
        }
    }
    let (usual, rows) = counts.iter().copied().max_by_key(|(cells, times)| (*times * cells, *cells))?;
    if usual < 2 {
        return None;
    }
    let is_data = |s: &Seen| s.cells == usual && s.numbers > 0 && s.numbers + s.nothings >= s.texts;
    let first = seen.iter().position(|s| s.as_ref().is_some_and(is_data))?;
    let filled: Vec<&Seen> = seen.iter().skip(first).flatten().collect();
    let good = filled.iter().filter(|s| is_data(s)).count();
    let numbers: usize = filled.iter().filter(|s| is_data(s)).map(|s| s.numbers).sum();
    let texts: usize = filled.iter().filter(|s| is_data(s)).map(|s| s.texts).sum();
    if rows == 0 || good * 2 < filled.len() {
        return None;
    }
    let score = numbers as f64 / filled.len() as f64 - 0.5 * texts as f64 / filled.len() as f64;
    header(lines, first, usual, &mut layout);
    layout.comment = layout.comment.take().or_else(|| comment_below(lines, first));
    Some((score, layout))
}

const COMMENTS: &[&str] = &["#", "//", "%", "!", "--"];

fn comment_prefix(line: &[u8]) -> Option<&'static str> {
    let line = line.trim_ascii_start();
    COMMENTS.iter().copied().find(|prefix| line.starts_with(prefix.as_bytes()))
}

/// Header lines right before the data: at most three, as wide as the data, without a number on its own.
fn header(lines: &[&[u8]], first: usize, usual: usize, layout: &mut Layout) {
    const MOST_HEADER_LINES: usize = 3;
    let mut begin = first;
    let mut count = 0;
    let mut commented = None;
    let mut above = None;
    while let Some(at) = begin.checked_sub(1) {
        let line = lines.get(at).copied().unwrap_or(b"");
        if line.trim_ascii().is_empty() {
            if count > 0 {
                break;
            }
            begin = at;
            continue;
        }
        let prefix = comment_prefix(line);
        let bare = match prefix {
            Some(p) => {
                let start = line.trim_ascii_start();
                start.strip_prefix(p.as_bytes()).unwrap_or(start)
            }
            None => line,
        };
        let s = see(bare, layout);
        let wide = s.cells == usual || (s.cells + 1 == usual && s.texts + 1 >= usual / 2);
        let words = s.texts > 0 && s.numbers * 4 <= s.texts;
        if wide && words && count < MOST_HEADER_LINES && (count == 0 || prefix == commented) {
            count += 1;
            commented = prefix;
            begin = at;
        } else {
            above = prefix;
            break;
        }
    }
    if count == 0 {
        begin = first;
        // Comments directly above the data are passed over as comments.
        above = lines
            .iter()
            .take(first)
            .rev()
            .find(|line| !line.trim_ascii().is_empty())
            .and_then(|line| comment_prefix(line));
    }
    layout.skip_lines = begin;
    layout.header_lines = count;
    layout.header_in_comment = count > 0 && commented.is_some();
    layout.comment = commented.or(above).map(|p| p.as_bytes().to_vec());
}

/// A comment prefix that stands at lines among the data.
fn comment_below(lines: &[&[u8]], first: usize) -> Option<Vec<u8>> {
    lines
        .iter()
        .skip(first)
        .find_map(|line| comment_prefix(line).filter(|p| *p != "--"))
        .map(|p| p.as_bytes().to_vec())
}
