//! Where is the file wrong, and what is to be done?

use std::cell::RefCell;
use std::fmt;
use std::ops::Range;

/// One thing wrong with the text of an aircraft file.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Fault {
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// How many characters of that line are meant, at least 1.
    pub length: usize,
    /// What stands there.
    pub found: String,
    /// What is wrong with it.
    pub problem: String,
    /// What to measure, write or take away.
    pub remedy: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}, column {}: {}: {}", self.line, self.column, self.problem, self.remedy)
    }
}

/// Longest excerpt of the file in a message, characters.
const LONGEST_FOUND: usize = 60;

/// Gathers what is wrong while the file is read.
#[derive(Debug)]
pub(super) struct Notes<'t> {
    text: &'t str,
    line_starts: Vec<usize>,
    faults: RefCell<Vec<Fault>>,
}

impl<'t> Notes<'t> {
    pub(super) fn new(text: &'t str) -> Self {
        let line_starts = std::iter::once(0)
            .chain(text.bytes().enumerate().filter(|(_, b)| *b == b'\n').map(|(i, _)| i + 1))
            .collect();
        Self { text, line_starts, faults: RefCell::new(Vec::new()) }
    }

    /// Notes a fault at a range of bytes of the text.
    pub(super) fn fault(&self, at: &Range<usize>, problem: impl Into<String>, remedy: impl Into<String>) {
        let start = self.boundary(at.start);
        let end = self.boundary(at.end.max(start));
        let line_index = self.line_starts.partition_point(|s| *s <= start).saturating_sub(1);
        let line_start = self.line_starts.get(line_index).copied().unwrap_or(0);
        let before = self.text.get(line_start..start).unwrap_or_default();
        let marked = self.text.get(start..end).unwrap_or_default();
        let first_line = marked.lines().next().unwrap_or_default();
        let mut found: String = first_line.chars().take(LONGEST_FOUND).collect();
        if first_line.chars().nth(LONGEST_FOUND).is_some() {
            found.push('…');
        }
        self.faults.borrow_mut().push(Fault {
            line: line_index + 1,
            column: before.chars().count() + 1,
            length: first_line.chars().count().max(1),
            found,
            problem: problem.into(),
            remedy: remedy.into(),
        });
    }

    /// All faults by place; the same thing said twice is said once.
    pub(super) fn into_faults(self) -> Vec<Fault> {
        let mut faults = self.faults.into_inner();
        faults.sort();
        faults.dedup();
        faults
    }

    pub(super) fn is_clean(&self) -> bool {
        self.faults.borrow().is_empty()
    }

    /// The nearest place at or before an offset where a character begins.
    fn boundary(&self, offset: usize) -> usize {
        let mut offset = offset.min(self.text.len());
        while !self.text.is_char_boundary(offset) {
            offset -= 1;
        }
        offset
    }
}

/// The candidate nearest to a word, if it is near enough to be a slip of the pen.
pub(super) fn nearest<'c>(word: &str, candidates: impl IntoIterator<Item = &'c str>) -> Option<&'c str> {
    let lower = word.to_lowercase();
    candidates
        .into_iter()
        .map(|c| (strsim::damerau_levenshtein(&lower, &c.to_lowercase()), c))
        .filter(|(distance, c)| *distance <= 1 + c.chars().count() / 4)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, c)| c)
}

/// "a, b or c" of quoted words.
pub(super) fn one_of<'c>(words: impl IntoIterator<Item = &'c str>) -> String {
    let words: Vec<String> = words.into_iter().map(|w| format!("\"{w}\"")).collect();
    match words.split_last() {
        None => "nothing".to_owned(),
        Some((last, [])) => last.clone(),
        Some((last, rest)) => format!("{} or {last}", rest.join(", ")),
    }
}
