//! Where does a metric quantity stand in a sentence? A number, or several joined as a range, each with its doubt, and the
//! unit that they share: "8.9 ± 0.4 m/s", "12 to 34 mm".

use super::convert::{self, Metric};

/// A number as written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Number {
    /// Its value.
    pub(super) value: f64,
    /// Digits behind its point.
    pub(super) decimals: usize,
}

/// A number with its doubt, and what joins it to the one before.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Part<'a> {
    /// What stands between this and the number before.
    pub(super) joint: &'a str,
    /// The number.
    pub(super) number: Number,
    /// Its doubt.
    pub(super) doubt: Option<Number>,
}

/// What a number turned out to begin.
#[derive(Debug, PartialEq)]
pub(super) enum Chain {
    /// A quantity, up to the end of its unit, and how it reads in imperial units.
    Whole {
        /// Where its unit ends.
        end: usize,
        /// Its imperial words.
        imperial: String,
    },
    /// Numbers up to the end of the text: a unit may follow.
    Open,
    /// No metric quantity.
    None,
}

/// What may join the numbers of a range.
const JOINTS: [&str; 10] =
    [" to ", "\u{2013}", " \u{2013} ", "\u{2026}", " \u{d7} ", "\u{d7}", "-", " x ", " and ", " or "];

/// Whether a number can begin at a digit: not inside a word, a date, a name or another number.
pub(super) fn starts_at(words: &str, digit: usize) -> bool {
    let mut before = words[..digit].chars().rev();
    match before.next() {
        None => true,
        Some('-' | '+' | '\u{2212}') => {
            before.next().is_none_or(|c| c.is_whitespace() || "([{;\u{b1}=|".contains(c))
        }
        Some(c) => !(c.is_alphanumeric() || "_.,#:/$\u{b0}&'".contains(c)),
    }
}

/// Reads what begins at a digit. `sentence` is what stands around it, by which masses are told from accelerations.
pub(super) fn chain(words: &str, start: usize, sentence: &str) -> Chain {
    let start = start + if start == 0 { lead(words) } else { 0 };
    let (sign, plus_minus) = before(words, start);
    let mut at = start;
    let mut parts: Vec<Part<'_>> = Vec::new();
    let mut joint = "";
    loop {
        let Some((mut number, after)) = number(words, at) else { return Chain::None };
        if parts.is_empty() {
            number.value *= sign;
        }
        at = after;
        let mut doubt = None;
        match plus_or_minus(words, at) {
            Next::Number(found, after) => {
                doubt = Some(found);
                at = after;
            }
            Next::End => return Chain::Open,
            Next::Other => {}
        }
        parts.push(Part { joint, number, doubt });
        let (gap, behind) = blank(words, at);
        if behind == words.len() {
            return Chain::Open;
        }
        if let Some((unit, end)) = convert::unit(words, behind, gap) {
            if unit.is_load(sentence) {
                return Chain::None;
            }
            let end = doubt_behind(words, &mut parts, unit, end);
            let difference = plus_minus || convert::is_difference(&words[..start], &words[end..]);
            return Chain::Whole { end, imperial: convert::words(unit, &parts, difference, plus_minus) };
        }
        // "3 and 5 m/s" share their unit; "3 points and 5 m/s" do not come here.
        let joined = JOINTS.iter().find(|j| words[at..].starts_with(**j));
        match joined {
            Some(found) => {
                joint = found;
                at += found.len();
                if blank(words, at).1 == words.len() {
                    return Chain::Open;
                }
            }
            None => return Chain::None,
        }
        if parts.len() > 3 {
            return Chain::None;
        }
    }
}

/// A doubt behind the unit, as is written where no space comes before it ("15°C ± 2°C"); where the quantity then ends.
fn doubt_behind(words: &str, parts: &mut [Part<'_>], unit: &'static Metric, end: usize) -> usize {
    if let Some(last) = parts.last_mut()
        && last.doubt.is_none()
        && let Next::Number(doubt, after) = plus_or_minus(words, end)
    {
        let (gap, behind) = blank(words, after);
        if let Some((again, after)) = convert::unit(words, behind, gap)
            && std::ptr::eq(again, unit)
        {
            last.doubt = Some(doubt);
            return after;
        }
    }
    end
}

/// What follows a number.
enum Next {
    /// A doubt, and where it ends.
    Number(Number, usize),
    /// The text ends in the middle of it.
    End,
    /// Something else.
    Other,
}

fn plus_or_minus(words: &str, at: usize) -> Next {
    let (_, behind) = blank(words, at);
    let Some(rest) = words[behind..].strip_prefix('\u{b1}') else { return Next::Other };
    let (_, behind) = blank(words, words.len() - rest.len());
    if behind == words.len() {
        return Next::End;
    }
    number(words, behind).map_or(Next::Other, |(number, after)| Next::Number(number, after))
}

/// Sign of a number that begins at a place, and whether it is a doubt without its value.
fn before(words: &str, start: usize) -> (f64, bool) {
    let before = words[..start].trim_end_matches([' ', '\u{a0}']);
    let near = words[..start].ends_with(['-', '\u{2212}']);
    (if near { -1.0 } else { 1.0 }, before.ends_with('\u{b1}'))
}

/// How many bytes stand before the first digit.
pub(super) fn lead(words: &str) -> usize {
    words.find(|c: char| c.is_ascii_digit() || "-+\u{2212}\u{b1}".contains(c)).map_or(0, |at| {
        // The sign stays before the digit: it is looked back at.
        words[at..].find(|c: char| c.is_ascii_digit()).map_or(at, |n| at + n)
    })
}

/// A number at a place: digits, a point, digits. A power of ten or a comma inside it makes it none of ours.
fn number(words: &str, at: usize) -> Option<(Number, usize)> {
    let rest = words.get(at..)?;
    let sign = rest.chars().next().filter(|c| "-\u{2212}".contains(*c));
    let skipped = sign.map_or(0, char::len_utf8);
    let digits = &rest[skipped..];
    let bytes = digits.as_bytes();
    let whole = bytes.iter().take_while(|b| b.is_ascii_digit()).count();
    if whole == 0 || whole > 12 {
        return None;
    }
    let mut length = whole;
    let mut decimals = 0;
    if bytes.get(whole) == Some(&b'.') {
        decimals = bytes[whole + 1..].iter().take_while(|b| b.is_ascii_digit()).count();
        if decimals > 0 {
            length += 1 + decimals;
        }
    }
    let follows = |n: usize| bytes.get(length + n).copied().unwrap_or(b' ');
    let power =
        matches!(follows(0), b'e' | b'E') && (follows(1).is_ascii_digit() || b"+-".contains(&follows(1)));
    let grouped = follows(0) == b',' && follows(1).is_ascii_digit();
    if power || grouped {
        return None;
    }
    let value: f64 = digits[..length].parse().ok()?;
    let value = if sign.is_some() { -value } else { value };
    Some((Number { value, decimals }, at + skipped + length))
}

/// Skips blanks, no-break ones and those written as entities too: whether there were any, and where they end.
fn blank(words: &str, at: usize) -> (bool, usize) {
    let mut end = at;
    loop {
        let rest = &words[end..];
        let next = ["&nbsp;", "&#160;", " ", "\u{a0}", "\u{202f}", "\u{2009}", "\n", "\t"]
            .iter()
            .find(|b| rest.starts_with(**b));
        match next {
            Some(found) => end += found.len(),
            None => return (end > at, end),
        }
    }
}
