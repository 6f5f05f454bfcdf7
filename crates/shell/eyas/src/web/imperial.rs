//! How do numbers read to somebody who thinks in feet and ounces? A filter over a finished page: behind each metric quantity
//! its imperial value in brackets. Only what is read is touched, in one pass: no tag, attribute, script, style, drawing,
//! code, or field that can be typed into, so that a page does the same with it as without.

mod convert;
mod quantity;

use quantity::{Chain, chain, starts_at};

/// Elements whose content is left as it is: programs and styles, what is typed or copied letter by letter, what a script
/// writes anew (a slider's number), and drawings, in which longer words would not fit.
const LEFT_ALONE: [&str; 11] =
    ["script", "style", "textarea", "pre", "code", "svg", "option", "title", "output", "samp", "kbd"];

/// Elements within a sentence: a number may stand in one and its unit behind it.
const WITHIN: [&str; 12] =
    ["b", "strong", "i", "em", "span", "small", "mark", "a", "abbr", "data", "var", "u"];

/// Cells: a number may stand in one and its unit, alone, in the next.
const CELLS: [&str; 4] = ["td", "th", "dd", "dt"];

/// The page with imperial quantities behind the metric ones. Done twice it is as done once.
pub(crate) fn imperial(html: &str) -> String {
    let mut out = String::with_capacity(html.len() + html.len() / 8);
    let mut rest = html;
    let mut carry = Carry::default();
    while !rest.is_empty() {
        let Some(open) = rest.find('<') else {
            text(&mut out, rest, &mut carry);
            break;
        };
        let (before, from) = rest.split_at(open);
        text(&mut out, before, &mut carry);
        let length = tag_length(from);
        let (tag, behind) = from.split_at(length);
        let name = name_of(tag);
        let left = LEFT_ALONE.iter().find(|n| name.eq_ignore_ascii_case(n));
        carry.cross(name);
        match left {
            Some(name) if !tag.starts_with("</") && !tag.ends_with("/>") => {
                let end = element_end(behind, name);
                out.push_str(&from[..length + end]);
                rest = &behind[end..];
            }
            _ => {
                out.push_str(tag);
                rest = behind;
            }
        }
    }
    out
}

/// The end of a number whose unit may come behind a tag.
#[derive(Default)]
struct Carry {
    words: String,
    /// Whether a border of cells was crossed since: then the unit has to stand alone.
    cell: bool,
}

impl Carry {
    /// A tag comes between.
    fn cross(&mut self, name: &str) {
        if self.words.is_empty() || WITHIN.contains(&name) {
            return;
        }
        if CELLS.contains(&name) {
            self.cell = true;
        } else {
            self.words.clear();
            self.cell = false;
        }
    }

    fn clear(&mut self) {
        self.words.clear();
        self.cell = false;
    }
}

/// Length of the tag or comment that the text begins with; all of it where it does not end.
fn tag_length(from: &str) -> usize {
    if from.starts_with("<!--") {
        return from.find("-->").map_or(from.len(), |at| at + 3);
    }
    let mut quote = None;
    for (at, byte) in from.bytes().enumerate() {
        match (quote, byte) {
            (None, b'"' | b'\'') => quote = Some(byte),
            (Some(open), _) if open == byte => quote = None,
            (None, b'>') => return at + 1,
            _ => {}
        }
    }
    from.len()
}

/// Name of a tag, opening or closing; empty for a comment or a declaration.
fn name_of(tag: &str) -> &str {
    let name = tag.trim_start_matches('<').trim_start_matches('/');
    let end = name.find(|c: char| !c.is_ascii_alphanumeric()).unwrap_or(name.len());
    &name[..end]
}

/// Where the closing tag of an element begins, elements of its kind inside it counted; the end of the page where it has
/// none.
fn element_end(behind: &str, name: &str) -> usize {
    let mut depth = 0_usize;
    let mut at = 0;
    while let Some(found) = behind[at..].find('<') {
        at += found;
        let tag = &behind[at..];
        let closes = tag.starts_with("</");
        if name_of(&tag[..ascii_run(tag)]).eq_ignore_ascii_case(name) {
            match (closes, depth) {
                (true, 0) => return at,
                (true, _) => depth -= 1,
                // What stands in a script or a field is no element, whatever it looks like.
                (false, _) if matches!(name, "script" | "style" | "textarea" | "title") => {}
                (false, _) => depth += 1,
            }
        }
        at += 1;
    }
    behind.len()
}

/// How many bytes of the beginning are ASCII: so far it may be cut anywhere.
fn ascii_run(text: &str) -> usize {
    text.bytes().take(24).take_while(u8::is_ascii).count()
}

/// Writes a piece of text, quantities converted.
fn text(out: &mut String, words: &str, carry: &mut Carry) {
    let mut at = 0;
    if !carry.words.is_empty() {
        if words.trim().is_empty() {
            carry.words.push_str(words);
            out.push_str(words);
            return;
        }
        let joined = format!("{}{}{words}", carry.words, if carry.cell { " " } else { "" });
        let joint = joined.len() - words.len();
        match chain(&joined, 0, words) {
            Chain::Whole { end, imperial } if end > joint => {
                let alone = !carry.cell || joined[end..].trim().is_empty();
                if alone {
                    at = end - joint;
                    out.push_str(&words[..at]);
                    put(out, &imperial, &words[at..]);
                }
                carry.clear();
            }
            Chain::Open if !carry.cell => {
                carry.words = joined;
                out.push_str(words);
                return;
            }
            _ => carry.clear(),
        }
    }
    let bytes = words.as_bytes();
    while at < bytes.len() {
        let Some(digit) = bytes[at..].iter().position(u8::is_ascii_digit).map(|n| at + n) else { break };
        out.push_str(&words[at..digit]);
        match if starts_at(words, digit) { chain(words, digit, words) } else { Chain::None } {
            Chain::Whole { end, imperial } => {
                out.push_str(&words[digit..end]);
                put(out, &imperial, &words[end..]);
                at = end;
            }
            Chain::Open => {
                // With the sign before it, which tells whether it is below zero.
                let sign = words[..digit].chars().next_back().filter(|c| "-\u{2212}".contains(*c));
                carry.words = words[digit - sign.map_or(0, char::len_utf8)..].to_owned();
                out.push_str(&words[digit..]);
                return;
            }
            Chain::None => {
                let end = bytes[digit..]
                    .iter()
                    .position(|b| !(b.is_ascii_alphanumeric() || *b == b'.'))
                    .map_or(bytes.len(), |n| digit + n);
                out.push_str(&words[digit..end]);
                at = end;
            }
        }
    }
    out.push_str(&words[at..]);
}

/// Writes an imperial quantity, unless it stands there already.
fn put(out: &mut String, imperial: &str, behind: &str) {
    if !convert::stands(behind) {
        out.push_str(" (");
        out.push_str(imperial);
        out.push(')');
    }
}

#[cfg(test)]
mod tests;
