//! What does a file of the controller's settings say, whoever wrote it? Names and values, by section.
//!
//! Any plain text of lines is read: `name value`, `name = value`, `name: value`, `name, value`, each with a word before
//! it that all lines share (`set name = value`), quoted or not, under `[section]`, `section:`, `section {` or a line
//! that stands among such words without being one. Nothing is known of any program's own names.

mod compare;
mod secret;

pub use compare::{Asked, Difference, Kind, compare};
pub use secret::{MASK, masked, secret};

/// One setting of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Setting {
    /// The section that it stands in; empty for none.
    pub section: String,
    /// Its name. Where a name repeats in its section, a number that follows it is part of it ("servo 3"), else how
    /// often it came before ("mode #2").
    pub name: String,
    /// Its value, without quotes, comments and spaces around it.
    pub value: String,
    /// The line, from 1.
    pub line: usize,
}

/// A file of settings as read.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Settings {
    /// In the order of the file.
    pub settings: Vec<Setting>,
    /// Lines that were neither setting, section nor comment, from 1.
    pub not_understood: Vec<usize>,
    /// The word that stands before each setting, where there is one.
    pub leading_word: Option<String>,
}

/// Why a file cannot be read as settings.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NotSettings {
    /// It is no text: a byte that no text has, at this place (from 0).
    Binary(usize),
    /// No line of it is a setting.
    Nothing,
}

impl std::fmt::Display for NotSettings {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Binary(at) => write!(f, "it is no text: byte {at} is zero"),
            Self::Nothing => write!(f, "no line of it has a name and a value"),
        }
    }
}

impl std::error::Error for NotSettings {}

/// Lines as they are looked at before it is known whether they share a first word.
enum Line<'a> {
    Section(&'a str),
    End,
    Pair(&'a str, &'a str),
    Words(&'a str),
}

/// Words that say "give this setting this value".
const VERBS: [&str; 6] = ["set", "let", "put", "param", "parameter", "var"];

/// Share of the lines that must begin with the same word for it to be no name.
const SHARED: f64 = 0.5;

/// Reads a file of settings. Bytes that are not UTF-8 are read as Latin-1.
///
/// # Errors
/// [`NotSettings`] for what is no text or has no setting in it.
pub fn read(bytes: &[u8]) -> Result<Settings, NotSettings> {
    if let Some(at) = bytes.iter().position(|byte| *byte == 0) {
        return Err(NotSettings::Binary(at));
    }
    let text = match std::str::from_utf8(bytes) {
        Ok(text) => text.to_owned(),
        Err(_) => bytes.iter().map(|byte| char::from(*byte)).collect(),
    };
    let lines: Vec<(usize, Line<'_>)> = text
        .trim_start_matches('\u{feff}')
        .lines()
        .enumerate()
        .filter_map(|(i, line)| Some((i + 1, look(line)?)))
        .collect();
    let word = leading_word(&lines);
    let mut found = Settings { leading_word: word.clone(), ..Settings::default() };
    let mut sections: Vec<String> = Vec::new();
    for (number, line) in lines {
        let pair = match line {
            Line::Section(name) => {
                sections = vec![plain(name).to_owned()];
                continue;
            }
            Line::End => {
                sections.clear();
                continue;
            }
            Line::Pair(name, value) => match &word {
                Some(word) => match strip_word(name, word) {
                    Some(rest) if !rest.is_empty() => Some((rest, value)),
                    _ => Some((name, value)),
                },
                None => Some((name, value)),
            },
            Line::Words(words) => match (&word, word.as_deref().and_then(|word| strip_word(words, word))) {
                (Some(_), Some(rest)) => split_words(rest),
                // Among lines that all begin with the same word, one without it opens a section.
                (Some(_), None) => {
                    sections = vec![words.split_whitespace().collect::<Vec<_>>().join(" ")];
                    continue;
                }
                (None, _) => split_words(words),
            },
        };
        match pair {
            Some((name, value)) => found.settings.push(Setting {
                section: sections.last().cloned().unwrap_or_default(),
                name: plain(name).to_owned(),
                value: plain(value).to_owned(),
                line: number,
            }),
            None => found.not_understood.push(number),
        }
    }
    if found.settings.is_empty() {
        return Err(NotSettings::Nothing);
    }
    tell_apart(&mut found.settings);
    Ok(found)
}

/// A line without its comment; none for an empty one.
fn look(line: &str) -> Option<Line<'_>> {
    let line = without_comment(line).trim();
    let line = line.strip_suffix(',').unwrap_or(line).trim_end();
    if line.is_empty() {
        return None;
    }
    if let Some(name) = line.strip_prefix('[').and_then(|rest| rest.strip_suffix(']')) {
        return Some(Line::Section(name.trim_matches(['[', ']']).trim()));
    }
    if line == "{" || line == "}" || line == "};" {
        return Some(Line::End);
    }
    if let Some(name) = line.strip_suffix('{') {
        return Some(Line::Section(name.trim().trim_end_matches([':', '=']).trim()));
    }
    let outside = mark(line);
    match outside {
        Some((at, width)) => {
            let (name, value) = (line[..at].trim(), line[at + width..].trim());
            if name.is_empty() {
                return Some(Line::Words(line));
            }
            if value.is_empty() && line.ends_with(':') {
                return Some(Line::Section(name));
            }
            Some(Line::Pair(name, value))
        }
        None => Some(Line::Words(line)),
    }
}

/// Where the first `=`, `:`, `;`, tab or comma outside of quotes stands, if it parts a name from a value.
fn mark(line: &str) -> Option<(usize, usize)> {
    let mut quote = None;
    let mut candidate = None;
    for (at, c) in line.char_indices() {
        match (quote, c) {
            (Some(open), c) if c == open => quote = None,
            (Some(_), _) => {}
            (None, '"' | '\'') => quote = Some(c),
            (None, '=') => return Some((at, 1)),
            // These part name and value only where no `=` follows, and only after a single name.
            (None, ':' | ',' | '\t' | ';') if candidate.is_none() => candidate = Some((at, 1)),
            _ => {}
        }
    }
    candidate.filter(|(at, _)| !plain(line[..*at].trim()).contains(char::is_whitespace))
}

/// A line up to a comment: `#`, `//` or `;` at its start, or after a space outside of quotes.
fn without_comment(line: &str) -> &str {
    let start = line.trim_start();
    if start.starts_with('#') || start.starts_with("//") || start.starts_with(';') {
        return "";
    }
    let mut quote = None;
    let mut before = ' ';
    for (at, c) in line.char_indices() {
        match (quote, c) {
            (Some(open), c) if c == open => quote = None,
            (Some(_), _) => {}
            (None, '"') => quote = Some(c),
            (None, '#') if before.is_whitespace() => return &line[..at],
            (None, '/') if before.is_whitespace() && line[at..].starts_with("// ") => return &line[..at],
            _ => {}
        }
        before = c;
    }
    line
}

/// The word that most lines begin with, before a name and a value.
fn leading_word(lines: &[(usize, Line<'_>)]) -> Option<String> {
    let first = |line: &Line<'_>| match line {
        Line::Pair(name, _) => {
            let mut words = name.split_whitespace();
            let word = words.next()?;
            // Before a mark the name may well be of several words ("NOSE LEAD = 150"): only a verb is none of them.
            words.next().filter(|_| VERBS.contains(&word.to_lowercase().as_str())).map(|_| word.to_owned())
        }
        Line::Words(text) => {
            let words: Vec<&str> = text.split_whitespace().collect();
            // A number in second place makes the word a name with an index.
            match words.as_slice() {
                [word, name, _, ..] if name.parse::<f64>().is_err() => Some((*word).to_owned()),
                _ => None,
            }
        }
        Line::Section(_) | Line::End => None,
    };
    let all: Vec<Option<String>> = lines
        .iter()
        .filter(|(_, line)| matches!(line, Line::Pair(..) | Line::Words(_)))
        .map(|(_, line)| first(line))
        .collect();
    let candidate =
        all.iter().flatten().max_by_key(|word| all.iter().flatten().filter(|w| w == word).count())?;
    let count = all.iter().flatten().filter(|word| *word == candidate).count();
    // Were it a name that takes a list, it would not be the only one; and one line proves nothing.
    (count >= 2 && count as f64 > SHARED * all.len() as f64).then(|| candidate.clone())
}

fn strip_word<'a>(line: &'a str, word: &str) -> Option<&'a str> {
    let rest = line.strip_prefix(word)?;
    rest.starts_with(char::is_whitespace).then(|| rest.trim_start())
}

/// `name value ...`
fn split_words(line: &str) -> Option<(&str, &str)> {
    if let Some(quoted) = line.strip_prefix('"') {
        let end = quoted.find('"')?;
        let value = quoted[end + 1..].trim();
        return (!value.is_empty()).then_some((&quoted[..end], value));
    }
    let at = line.find(char::is_whitespace)?;
    Some((&line[..at], line[at..].trim()))
}

/// Text without the quotes around it.
fn plain(text: &str) -> &str {
    let text = text.trim();
    for quote in ['"', '\''] {
        if let Some(inner) = text.strip_prefix(quote).and_then(|rest| rest.strip_suffix(quote)) {
            return inner.trim();
        }
    }
    text
}

/// Gives settings that share section and name names of their own.
fn tell_apart(settings: &mut [Setting]) {
    let key = |setting: &Setting| (setting.section.clone(), setting.name.clone());
    let mut groups: std::collections::BTreeMap<(String, String), Vec<usize>> =
        std::collections::BTreeMap::new();
    for (i, setting) in settings.iter().enumerate() {
        groups.entry(key(setting)).or_default().push(i);
    }
    for places in groups.into_values().filter(|places| places.len() > 1) {
        let indices: Vec<Option<u32>> =
            places.iter().map(|i| settings.get(*i)?.value.split_whitespace().next()?.parse().ok()).collect();
        let mut seen = indices.clone();
        seen.sort_unstable();
        seen.dedup();
        let indexed = seen.len() == indices.len() && seen.iter().all(Option::is_some);
        for (nth, (place, index)) in places.iter().zip(&indices).enumerate() {
            let Some(setting) = settings.get_mut(*place) else { continue };
            match index {
                Some(index) if indexed => {
                    let rest =
                        setting.value.trim_start_matches(|c: char| !c.is_whitespace()).trim().to_owned();
                    // A list of bare numbers under one name is told apart by its order, not by its values.
                    if rest.is_empty() {
                        setting.name = format!("{} #{}", setting.name, nth + 1);
                    } else {
                        setting.name = format!("{} {index}", setting.name);
                        setting.value = rest;
                    }
                }
                _ => setting.name = format!("{} #{}", setting.name, nth + 1),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Name, value and section of each setting, joined for a table of cases.
    #[track_caller]
    fn check(text: &str, expected: &[(&str, &str, &str)]) {
        let read = read(text.as_bytes()).unwrap();
        let found: Vec<(&str, &str, &str)> =
            read.settings.iter().map(|s| (s.section.as_str(), s.name.as_str(), s.value.as_str())).collect();
        assert_eq!(found, expected, "{text}");
    }

    #[test]
    fn the_common_ways_to_write_a_pair_are_read() {
        let expected = &[("", "roll_p", "4.5"), ("", "loop_hz", "500")];
        for text in [
            "roll_p 4.5\nloop_hz 500\n",
            "roll_p = 4.5\nloop_hz=500\n",
            "roll_p: 4.5\r\nloop_hz: 500\r\n",
            "\"roll_p\": 4.5,\n\"loop_hz\": 500\n",
            "roll_p,4.5\nloop_hz,500\n",
            "roll_p\t4.5\nloop_hz\t500\n",
            "set roll_p 4.5\nset loop_hz 500\n",
            "set roll_p = 4.5\nset loop_hz = 500\n",
            "{\n  \"roll_p\": 4.5,\n  \"loop_hz\": 500\n}\n",
            "\u{feff}# a comment\n\nroll_p = 4.5  # turned up\n; another\n// and one more\nloop_hz = 500\n",
        ] {
            check(text, expected);
        }
    }

    #[test]
    fn a_name_of_several_words_stays_whole() {
        check(
            "NOSE LEAD = 150\nNOSE STIFFNESS = 90\n",
            &[("", "NOSE LEAD", "150"), ("", "NOSE STIFFNESS", "90")],
        );
    }

    #[test]
    fn sections_part_settings_of_the_same_name() {
        let expected = &[("roll", "p", "4"), ("pitch", "p", "6")];
        for text in [
            "[roll]\np = 4\n[pitch]\np = 6\n",
            "roll:\n  p: 4\npitch:\n  p: 6\n",
            "roll {\n p = 4\n}\npitch {\n p = 6\n}\n",
            "\"roll\": {\n\"p\": 4\n},\n\"pitch\": {\n\"p\": 6\n}\n",
        ] {
            check(text, expected);
        }
    }

    #[test]
    fn a_line_without_the_shared_word_opens_a_section() {
        check(
            "set a 1\nset b 2\nprofile 0\nset p 4\nset q 5\nprofile 1\nset p 6\nset q 7\n",
            &[
                ("", "a", "1"),
                ("", "b", "2"),
                ("profile 0", "p", "4"),
                ("profile 0", "q", "5"),
                ("profile 1", "p", "6"),
                ("profile 1", "q", "7"),
            ],
        );
    }

    #[test]
    fn repeated_names_are_told_apart_by_their_number_or_their_order() {
        check(
            "servo 1 1000 2000\nservo 2 900 2100\nrate 50\n",
            &[("", "servo 1", "1000 2000"), ("", "servo 2", "900 2100"), ("", "rate", "50")],
        );
        check("note = left\nnote = right\n", &[("", "note #1", "left"), ("", "note #2", "right")]);
    }

    #[test]
    fn a_value_keeps_its_own_marks() {
        check(
            "name = a = b\ncolor = \"#ff0000\"\nurl = x://y\nlist = 1, 2, 3\n",
            &[("", "name", "a = b"), ("", "color", "#ff0000"), ("", "url", "x://y"), ("", "list", "1, 2, 3")],
        );
    }

    #[test]
    fn latin_1_is_read_and_what_is_no_text_is_refused() {
        let read_back = read(b"gr\xf6\xdfe = 3\n").unwrap();
        assert_eq!(read_back.settings[0].name, "größe");
        assert_eq!(read(b"\x89PNG\r\n\x1a\n\0\0"), Err(NotSettings::Binary(8)));
        assert_eq!(read(b""), Err(NotSettings::Nothing));
        assert_eq!(read(b"lonely\nwords\n"), Err(NotSettings::Nothing));
    }

    #[test]
    fn lines_that_make_no_sense_are_counted() {
        let found = read(b"p = 4\nlonely\nq = 5\n").unwrap();
        assert_eq!(found.not_understood, [2]);
    }
}
