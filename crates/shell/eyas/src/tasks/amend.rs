//! How is the text of an aircraft file changed value by value, as typed, and row by row? Every byte that is not meant stays
//! as it is; what was typed is written even where it is wrong, so that reading the file tells what is wrong with it.

use std::fmt;
use std::ops::Range;

use toml_edit::{Document, Item, Table, TableLike, Value};

mod typed;

use typed::{says, written};

/// What a value is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum As {
    /// A number.
    Number,
    /// Text.
    Text,
    /// True or false.
    Flag,
}

/// Why a text was not changed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum CannotAmend {
    /// The text is not TOML.
    NotToml {
        /// What the reader said.
        why: String,
    },
    /// Nothing stands at that path, and it cannot be added there.
    NoPlace {
        /// The path.
        path: String,
    },
    /// It stands in braces, in one line with others.
    InBraces {
        /// The path.
        path: String,
    },
}

impl fmt::Display for CannotAmend {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotToml { why } => write!(f, "the file is not TOML: {why}"),
            Self::NoPlace { path } => write!(f, "the file has no place for \"{path}\""),
            Self::InBraces { path } => {
                write!(
                    f,
                    "\"{path}\" stands in braces, in one line with others: change it in the file itself"
                )
            }
        }
    }
}

/// An aircraft file's text, open for changes.
#[derive(Debug, Clone)]
pub(crate) struct Sheet {
    mark: bool,
    document: Document<String>,
}

/// A table on the way along a path.
#[derive(Clone, Copy)]
struct Spot<'a> {
    table: &'a dyn TableLike,
    form: Form,
    /// Where its header or its braces stand.
    from: usize,
    to: usize,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Form {
    Root,
    /// Under a header of its own.
    Header,
    /// In braces.
    Braces,
    /// Without a place of its own: it is there by its sub-tables or dotted keys only.
    Implied,
}

fn spot_of(table: &Table) -> Spot<'_> {
    match table.span().filter(|_| !table.is_dotted() && !table.is_implicit()) {
        Some(span) => Spot { table, form: Form::Header, from: span.start, to: span.end },
        None => Spot { table, form: Form::Implied, from: 0, to: 0 },
    }
}

fn spot_in_braces<'a>(value: &'a Value) -> Option<Spot<'a>> {
    let span = value.span()?;
    let table = value.as_inline_table()?;
    Some(Spot { table, form: Form::Braces, from: span.start, to: span.end })
}

/// Where something that a path names stands.
enum Found<'a> {
    Value {
        key: Range<usize>,
        value: Range<usize>,
        item: &'a Item,
        braces: bool,
    },
    Table(Spot<'a>),
    /// How far the path leads, and what of it is not there.
    Absent {
        holder: Spot<'a>,
        left: usize,
    },
}

impl Sheet {
    /// Opens a text.
    ///
    /// # Errors
    /// When it is not TOML.
    pub(crate) fn open(text: &str) -> Result<Self, CannotAmend> {
        let (mark, body) = match text.strip_prefix('\u{feff}') {
            Some(body) => (true, body),
            None => (false, text),
        };
        let document = Document::parse(body.to_owned())
            .map_err(|e| CannotAmend::NotToml { why: e.message().trim().replace('\n', "; ") })?;
        Ok(Self { mark, document })
    }

    fn body(&self) -> &str {
        self.document.raw()
    }

    /// The whole text.
    pub(crate) fn text(&self) -> String {
        format!("{}{}", if self.mark { "\u{feff}" } else { "" }, self.body())
    }

    fn root(&self) -> Spot<'_> {
        Spot { table: self.document.as_table(), form: Form::Root, from: 0, to: 0 }
    }

    fn find(&self, path: &str) -> Found<'_> {
        let parts: Vec<&str> = path.split('.').collect();
        let mut spot = self.root();
        let mut rest = parts.as_slice();
        while let Some((head, tail)) = rest.split_first() {
            let absent = Found::Absent { holder: spot, left: rest.len() };
            let Some((key, item)) = spot.table.get_key_value(head) else { return absent };
            let index = tail.first().and_then(|i| i.parse::<usize>().ok());
            let next = match item {
                Item::ArrayOfTables(list) => index.and_then(|i| list.get(i)).map(|t| (spot_of(t), 2)),
                Item::Table(table) => {
                    // A list of one may be written as a plain table.
                    Some((spot_of(table), if index == Some(0) { 2 } else { 1 }))
                }
                Item::Value(Value::Array(list)) => {
                    index.and_then(|i| list.get(i)).and_then(spot_in_braces).map(|s| (s, 2))
                }
                Item::Value(value @ Value::InlineTable(_)) => {
                    spot_in_braces(value).map(|s| (s, if index == Some(0) { 2 } else { 1 }))
                }
                _ => None,
            };
            match next {
                Some((inner, taken)) => {
                    spot = inner;
                    rest = rest.get(taken..).unwrap_or_default();
                }
                None if tail.is_empty() => {
                    let (Some(key), Some(value)) = (key.span(), item.span()) else { return absent };
                    return Found::Value { key, value, item, braces: spot.form == Form::Braces };
                }
                None => return absent,
            }
        }
        Found::Table(spot)
    }

    /// The value of a path as a person would type it; nothing where it is not written.
    pub(crate) fn shown(&self, path: &str) -> Option<String> {
        match self.find(path) {
            Found::Value { value, item, .. } => Some(match item.as_str() {
                Some(text) => text.to_owned(),
                None => self.body().get(value)?.to_owned(),
            }),
            _ => None,
        }
    }

    /// What kind of value stands there.
    pub(crate) fn kind(&self, path: &str) -> Option<As> {
        match self.find(path) {
            Found::Value { item, .. } if item.is_bool() => Some(As::Flag),
            Found::Value { item, .. } if item.is_float() || item.is_integer() => Some(As::Number),
            Found::Value { item, .. } if item.is_str() => Some(As::Text),
            _ => None,
        }
    }

    /// How many tables a list has; a plain table is a list of one.
    pub(crate) fn count(&self, list: &str) -> usize {
        let (parent, name) = match list.rsplit_once('.') {
            Some((parent, name)) => match self.find(parent) {
                Found::Table(spot) => (spot, name),
                _ => return 0,
            },
            None => (self.root(), list),
        };
        match parent.table.get(name) {
            Some(Item::ArrayOfTables(list)) => list.len(),
            Some(Item::Table(_) | Item::Value(Value::InlineTable(_))) => 1,
            Some(Item::Value(Value::Array(list))) => list.iter().filter(|v| v.is_inline_table()).count(),
            _ => 0,
        }
    }

    /// Whether a table is there.
    pub(crate) fn has_table(&self, path: &str) -> bool {
        matches!(self.find(path), Found::Table(_))
    }

    /// Keys with plain values of a table, in their order.
    pub(crate) fn keys(&self, table: &str) -> Vec<String> {
        let spot = if table.is_empty() {
            Some(self.root())
        } else {
            match self.find(table) {
                Found::Table(spot) => Some(spot),
                _ => None,
            }
        };
        spot.map_or_else(Vec::new, |spot| {
            spot.table
                .iter()
                .filter(|(_, item)| item.is_str() || item.is_bool() || item.is_float() || item.is_integer())
                .map(|(key, _)| key.to_owned())
                .collect()
        })
    }

    /// Writes what was typed at a path; an empty text takes the key away. What says the same already is left as it is.
    ///
    /// # Errors
    /// When there is no place for it.
    pub(crate) fn set(&mut self, path: &str, kind: As, typed: &str) -> Result<(), CannotAmend> {
        let typed = typed.trim();
        let written = written(kind, typed);
        let new = match self.find(path) {
            Found::Table(_) => return Err(CannotAmend::NoPlace { path: path.to_owned() }),
            Found::Value { key, value, item, braces } => {
                if typed.is_empty() {
                    if braces {
                        return Err(CannotAmend::InBraces { path: path.to_owned() });
                    }
                    Some((
                        line_start(self.body(), key.start)..line_end(self.body(), value.end),
                        String::new(),
                    ))
                } else if says(item, kind, typed) {
                    None
                } else {
                    Some((value, written))
                }
            }
            Found::Absent { .. } if typed.is_empty() => None,
            Found::Absent { holder, left } => {
                let parts: Vec<&str> = path.split('.').collect();
                let missing = parts.get(parts.len() - left..).unwrap_or_default();
                let key = parts.last().copied().unwrap_or_default();
                if missing.iter().any(|p| p.is_empty() || p.parse::<usize>().is_ok()) {
                    return Err(CannotAmend::NoPlace { path: path.to_owned() });
                }
                Some(self.added(holder, missing, &parts, &format!("{key} = {written}"), path)?)
            }
        };
        match new {
            Some((at, with)) => self.replace(at, &with),
            None => Ok(()),
        }
    }

    /// Where a new key goes, and the lines for it.
    fn added(
        &self,
        holder: Spot<'_>,
        missing: &[&str],
        parts: &[&str],
        pair: &str,
        path: &str,
    ) -> Result<(Range<usize>, String), CannotAmend> {
        let ending = self.ending();
        let in_place = missing.len() == 1;
        match holder.form {
            Form::Braces if in_place => {
                let end = holder.to.saturating_sub(1);
                let before = self.body().get(..end).unwrap_or_default().trim_end().len();
                let comma = if holder.table.is_empty() { " " } else { ", " };
                Ok((before..end, format!("{comma}{pair} ")))
            }
            Form::Braces => Err(CannotAmend::InBraces { path: path.to_owned() }),
            Form::Header | Form::Root if in_place => {
                let own = holder
                    .table
                    .iter()
                    .filter(|(_, item)| item.is_value())
                    .filter_map(|(_, item)| Some(item.span()?.end));
                let after = own.chain([holder.to]).max().unwrap_or(0);
                let at = if after == 0 { 0 } else { line_end(self.body(), after) };
                Ok((at..at, self.on_a_line(at, &format!("{pair}{ending}"))))
            }
            Form::Header | Form::Root | Form::Implied => {
                let at = match holder.form {
                    Form::Header => line_end(self.body(), content_end(&holder)),
                    _ => self.body().len(),
                };
                let header: Vec<&str> = parts
                    .get(..parts.len() - 1)
                    .unwrap_or_default()
                    .iter()
                    .copied()
                    .filter(|p| p.parse::<usize>().is_err())
                    .collect();
                Ok((
                    at..at,
                    self.on_a_line(at, &format!("{ending}[{}]{ending}{pair}{ending}", header.join("."))),
                ))
            }
        }
    }

    /// Adds a table to a list behind the one at `after`, or at the list's end; `pairs` are its keys with what is typed.
    ///
    /// # Errors
    /// When the list stands in braces or the table that should hold it is not there.
    pub(crate) fn add(
        &mut self,
        list: &str,
        after: Option<usize>,
        pairs: &[(&str, As, String)],
    ) -> Result<(), CannotAmend> {
        let ending = self.ending();
        let count = self.count(list);
        let name: Vec<&str> = list.split('.').filter(|p| p.parse::<usize>().is_err()).collect();
        let mut lines = format!("{ending}[[{}]]{ending}", name.join("."));
        for (key, kind, typed) in pairs {
            if !typed.trim().is_empty() {
                lines.push_str(&format!("{key} = {}{ending}", written(*kind, typed.trim())));
            }
        }
        let neighbor = (count > 0).then(|| format!("{list}.{}", after.unwrap_or(count - 1).min(count - 1)));
        let holder = neighbor.or_else(|| list.rsplit_once('.').map(|(parent, _)| parent.to_owned()));
        let at = match holder {
            None => self.body().len(),
            Some(holder) => match self.find(&holder) {
                Found::Table(spot) if spot.form == Form::Header => line_end(self.body(), content_end(&spot)),
                Found::Table(spot) if spot.form == Form::Braces => {
                    return Err(CannotAmend::InBraces { path: list.to_owned() });
                }
                _ => return Err(CannotAmend::NoPlace { path: list.to_owned() }),
            },
        };
        self.replace(at..at, &self.on_a_line(at, &lines))
    }

    /// Takes a table away with its keys and sub-tables; comments ahead of it stay.
    ///
    /// # Errors
    /// When there is none or it stands in braces.
    pub(crate) fn remove(&mut self, table: &str) -> Result<(), CannotAmend> {
        match self.find(table) {
            Found::Table(spot) if spot.form == Form::Header => {
                let from = line_start(self.body(), spot.from);
                let mut to = line_end(self.body(), content_end(&spot));
                // The blank line that parted it from the next goes with it.
                let blank = line_end(self.body(), to);
                if self.body().get(to..blank).is_some_and(|l| !l.is_empty() && l.trim().is_empty()) {
                    to = blank;
                }
                self.replace(from..to, "")
            }
            Found::Table(spot) if spot.form == Form::Braces => {
                Err(CannotAmend::InBraces { path: table.to_owned() })
            }
            _ => Err(CannotAmend::NoPlace { path: table.to_owned() }),
        }
    }

    /// The path of what stands at a line and column (both from 1, column in characters): of a key, or of the table whose
    /// header it is; empty for the file as a whole.
    pub(crate) fn path_at(&self, line: usize, column: usize) -> String {
        let start: usize = self.body().split_inclusive('\n').take(line.saturating_sub(1)).map(str::len).sum();
        let rest = self.body().get(start..).unwrap_or_default();
        let at = start + rest.chars().take(column.saturating_sub(1)).map(char::len_utf8).sum::<usize>();
        path_at(&self.root(), "", at).unwrap_or_default()
    }

    fn ending(&self) -> &'static str {
        if self.body().contains("\r\n") { "\r\n" } else { "\n" }
    }

    /// Lines that begin on a line of their own.
    fn on_a_line(&self, at: usize, lines: &str) -> String {
        let before = self.body().get(..at).unwrap_or_default();
        if before.is_empty() || before.ends_with('\n') {
            lines.to_owned()
        } else {
            format!("{}{lines}", self.ending())
        }
    }

    fn replace(&mut self, at: Range<usize>, with: &str) -> Result<(), CannotAmend> {
        let mut body = self.body().to_owned();
        if body.get(at.clone()).is_none() {
            return Err(CannotAmend::NoPlace { path: String::new() });
        }
        body.replace_range(at, with);
        self.document = Document::parse(body)
            .map_err(|e| CannotAmend::NotToml { why: e.message().trim().replace('\n', "; ") })?;
        Ok(())
    }
}

fn line_start(text: &str, at: usize) -> usize {
    text.get(..at).and_then(|before| before.rfind('\n')).map_or(0, |i| i + 1)
}

/// Behind the end of the line.
fn line_end(text: &str, at: usize) -> usize {
    text.get(at..).and_then(|after| after.find('\n')).map_or(text.len(), |i| at + i + 1)
}

/// Where the last of a table's keys, or of its sub-tables', ends.
fn content_end(spot: &Spot<'_>) -> usize {
    let mut end = spot.to;
    for (_, item) in spot.table.iter() {
        let inner = match item {
            Item::Table(table) => content_end(&spot_of(table)),
            Item::ArrayOfTables(list) => list.iter().map(|t| content_end(&spot_of(t))).max().unwrap_or(0),
            Item::Value(value) => value.span().map_or(0, |s| s.end),
            Item::None => 0,
        };
        end = end.max(inner);
    }
    end
}

fn path_at(spot: &Spot<'_>, path: &str, at: usize) -> Option<String> {
    let join = |part: &str| if path.is_empty() { part.to_owned() } else { format!("{path}.{part}") };
    for (key, item) in spot.table.iter() {
        let whole = spot.table.key(key).and_then(toml_edit::Key::span);
        let found = match item {
            Item::Table(table) => path_at(&spot_of(table), &join(key), at),
            Item::ArrayOfTables(list) => list
                .iter()
                .enumerate()
                .find_map(|(i, t)| path_at(&spot_of(t), &join(&format!("{key}.{i}")), at)),
            Item::Value(value) => {
                let inner = match value {
                    Value::InlineTable(_) => spot_in_braces(value).and_then(|s| path_at(&s, &join(key), at)),
                    Value::Array(list) => list.iter().enumerate().find_map(|(i, v)| {
                        spot_in_braces(v).and_then(|s| path_at(&s, &join(&format!("{key}.{i}")), at))
                    }),
                    _ => None,
                };
                inner.or_else(|| {
                    let to = value.span()?.end;
                    let from = whole.map_or(to, |k| k.start);
                    (from..to).contains(&at).then(|| join(key))
                })
            }
            Item::None => None,
        };
        if found.is_some() {
            return found;
        }
    }
    (spot.form != Form::Root && spot.to > spot.from && (spot.from..spot.to).contains(&at))
        .then(|| path.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    const FILE: &str = "# head\nname = \"A\" # it\n\n[[surface]]\nname = \"wing\"\n[[surface.station]] # root\nchord_mm = 200 # mm\n[[surface.station]]\nchord_mm = 100\n\n# what weighs\n[[mass]]\nname = \"pack\"\nmass_g = 1.50\n\n[drive]\npusher = false\npack = { cells = 3 }\n";

    #[track_caller]
    fn check(act: impl Fn(&mut Sheet), from: &str, to: &str) {
        let mut sheet = Sheet::open(FILE).unwrap();
        act(&mut sheet);
        let expected = FILE.replacen(from, to, 1);
        assert!(from.is_empty() || expected != FILE, "the case changes nothing");
        assert_eq!(sheet.text(), expected);
        // The same with the line ends of other systems and a byte order mark.
        let other = |text: &str| format!("\u{feff}{}", text.replace('\n', "\r\n"));
        let mut sheet = Sheet::open(&other(FILE)).unwrap();
        act(&mut sheet);
        assert_eq!(sheet.text(), other(&expected));
    }

    fn set(path: &'static str, kind: As, typed: &'static str) -> impl Fn(&mut Sheet) {
        move |sheet| sheet.set(path, kind, typed).unwrap()
    }

    #[test]
    fn one_value_changes_and_every_other_byte_stays() {
        check(set("surface.0.station.0.chord_mm", As::Number, "212,5"), "200 # mm", "212.5 # mm");
        check(set("name", As::Text, "B \"x\""), "\"A\" # it", "'B \"x\"' # it");
        check(set("drive.pusher", As::Flag, "true"), "false", "true");
        check(set("drive.pack.cells", As::Number, "4"), "cells = 3", "cells = 4");
        check(set("drive.pack.limit_a", As::Number, ".5"), "cells = 3 }", "cells = 3, limit_a = 0.5 }");
        // What says the same is left as the builder wrote it.
        check(set("mass.0.mass_g", As::Number, "1.5"), "", "");
        check(set("mass.0.x_mm", As::Number, ""), "", "");
        // What is no number goes in as text, for reading to tell.
        check(set("mass.0.mass_g", As::Number, "12g"), "1.50", "\"12g\"");
        check(set("mass.0.mass_g", As::Number, ""), "mass_g = 1.50\n", "");
    }

    #[test]
    fn keys_and_tables_that_are_missing_are_put_where_they_belong() {
        check(
            set("surface.0.station.0.twist_deg", As::Number, "-1"),
            "200 # mm\n",
            "200 # mm\ntwist_deg = -1\n",
        );
        check(set("surface.0.dihedral_deg", As::Number, "3"), "\"wing\"\n", "\"wing\"\ndihedral_deg = 3\n");
        check(set("layout", As::Text, "canard"), "# it\n", "# it\nlayout = \"canard\"\n");
        check(
            set("weighed.total_g", As::Number, "900"),
            "cells = 3 }\n",
            "cells = 3 }\n\n[weighed]\ntotal_g = 900\n",
        );
        check(
            set("drive.motor.kv_rpm_v", As::Number, "900"),
            "cells = 3 }\n",
            "cells = 3 }\n\n[drive.motor]\nkv_rpm_v = 900\n",
        );
    }

    #[test]
    fn rows_are_added_behind_their_neighbors_and_taken_away_whole() {
        let station = |after| {
            move |s: &mut Sheet| {
                s.add("surface.0.station", after, &[("chord_mm", As::Number, "150".into())]).unwrap()
            }
        };
        check(station(Some(0)), "200 # mm\n", "200 # mm\n\n[[surface.station]]\nchord_mm = 150\n");
        check(station(None), "chord_mm = 100\n", "chord_mm = 100\n\n[[surface.station]]\nchord_mm = 150\n");
        check(
            |s| s.add("movable", None, &[("name", As::Text, "flap".into())]).unwrap(),
            "cells = 3 }\n",
            "cells = 3 }\n\n[[movable]]\nname = \"flap\"\n",
        );
        check(|s| s.remove("mass.0").unwrap(), "[[mass]]\nname = \"pack\"\nmass_g = 1.50\n\n", "");
        check(
            |s| s.remove("surface.0").unwrap(),
            "[[surface]]\nname = \"wing\"\n[[surface.station]] # root\nchord_mm = 200 # mm\n[[surface.station]]\nchord_mm = 100\n\n",
            "",
        );
    }

    #[test]
    fn places_lead_to_paths() {
        let sheet = Sheet::open(FILE).unwrap();
        for (line, column, path) in [
            (2, 8, "name"),
            (4, 1, "surface.0"),
            (6, 1, "surface.0.station.0"),
            (9, 12, "surface.0.station.1.chord_mm"),
            (18, 18, "drive.pack.cells"),
            (1, 1, ""),
            (99, 1, ""),
        ] {
            assert_eq!(sheet.path_at(line, column), path, "{line}:{column}");
        }
    }

    #[test]
    fn what_has_no_place_is_told() {
        let mut sheet = Sheet::open(FILE).unwrap();
        for path in ["mass.7.mass_g", "surface", "mass.0.mass_g.more", ""] {
            assert!(sheet.set(path, As::Number, "1").is_err(), "{path}");
        }
        assert!(sheet.remove("mass.9").is_err() && sheet.remove("drive.pack").is_err());
        assert_eq!(sheet.text(), FILE);
        assert!(Sheet::open("a = ").is_err());
    }
}
