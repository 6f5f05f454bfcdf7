//! How is one number of an aircraft file changed without touching anything else in it?

use std::fmt;

use toml_edit::{DocumentMut, InlineTable, Item, Key, Table, TableLike, Value};

use crate::known::Origin;
use crate::schema::units::{Quantity, Unit};
use crate::schema::{self, Fault};

/// What to write.
#[derive(Debug, Clone, PartialEq)]
pub enum New {
    /// A number in the unit that ends the path.
    Number(f64),
    /// True or false.
    Flag(bool),
    /// Text.
    Text(String),
}

impl From<f64> for New {
    fn from(number: f64) -> Self {
        Self::Number(number)
    }
}

impl From<bool> for New {
    fn from(flag: bool) -> Self {
        Self::Flag(flag)
    }
}

impl From<&str> for New {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

/// Why a file was not changed.
#[derive(Debug, Clone, PartialEq)]
pub enum CannotRevise {
    /// The text is not TOML.
    NotReadable {
        /// Where and why.
        faults: Vec<Fault>,
    },
    /// The path does not lead to a key.
    NoSuchPath {
        /// The path asked for.
        path: String,
        /// The part of it that leads nowhere.
        part: String,
        /// What is there instead.
        known: Vec<String>,
    },
    /// The number is not finite.
    NotANumber {
        /// The path asked for.
        path: String,
    },
    /// The changed file would have a fault that it has not now.
    WouldBeFaulty {
        /// The new fault, at its place in the changed file.
        fault: Fault,
    },
}

impl fmt::Display for CannotRevise {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotReadable { faults } => {
                let first =
                    faults.first().map_or_else(String::new, |f| format!("line {}: {}", f.line, f.problem));
                write!(f, "the file cannot be read ({first}); mend it first")
            }
            Self::NoSuchPath { path, part, known } if known.is_empty() => {
                write!(f, "\"{path}\" leads nowhere: there is no \"{part}\"")
            }
            Self::NoSuchPath { path, part, known } => {
                write!(f, "\"{path}\" leads nowhere: there is no \"{part}\", only {}", known.join(", "))
            }
            Self::NotANumber { path } => write!(f, "the new value of \"{path}\" is not a number"),
            Self::WouldBeFaulty { fault } => {
                write!(f, "the changed file would be wrong: {} ({})", fault.problem, fault.remedy)
            }
        }
    }
}

impl std::error::Error for CannotRevise {}

/// The text with one value changed or added; every comment, blank line and order of the rest stays.
///
/// The path is that of the tables with the key last: `controller.mounting_pitch_deg`. Tables of a list are named by
/// their `name` (`movable.aileron.servo.centre_us`) or counted from 1 (`surface.wing.station.2.twist_deg`). If the
/// file holds the quantity in another unit, that key stays and the value is converted to it. Tables that are missing
/// are added.
///
/// # Errors
/// When the text is not TOML, the path leads nowhere, or the file would get a new fault.
pub fn set(text: &str, path: &str, value: impl Into<New>) -> Result<String, CannotRevise> {
    revise(text, path, &value.into(), None, None)
}

/// The same as [`set`] for a number with its standard deviation (in the unit that ends the path) and its origin, as
/// the keys `<name>_sd_<unit>` and `<name>_from` beside it.
///
/// # Errors
/// As [`set`].
pub fn set_known(
    text: &str,
    path: &str,
    value: f64,
    sd: Option<f64>,
    from: Option<Origin>,
) -> Result<String, CannotRevise> {
    revise(text, path, &New::Number(value), sd, from)
}

/// The number that a path leads to, in the unit that ends the path, in whatever unit the file holds it; nothing where
/// the file does not hold it.
///
/// # Errors
/// When the text is not TOML or the path leads nowhere.
pub fn number(text: &str, path: &str) -> Result<Option<f64>, CannotRevise> {
    let body = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut document: DocumentMut = body.parse().map_err(|_| CannotRevise::NotReadable {
        faults: schema::read(text, &any_section).err().unwrap_or_default(),
    })?;
    let mut found = None;
    // Tables that the walk adds on its way are of the copy only.
    Walk { path }.table(document.as_table_mut(), false, path, &mut |table, key| {
        let (written, _, units) = resolve(table, key);
        let value =
            table.get(&written).and_then(|item| item.as_float().or(item.as_integer().map(|i| i as f64)));
        found = value.map(|v| units.map_or(v, |(asked, kept)| asked.from_si(kept.to_si(v))));
    })?;
    Ok(found)
}

fn revise(
    text: &str,
    path: &str,
    value: &New,
    sd: Option<f64>,
    from: Option<Origin>,
) -> Result<String, CannotRevise> {
    let numbers = [if let New::Number(n) = value { *n } else { 0.0 }, sd.unwrap_or(0.0)];
    if numbers.iter().any(|n| !n.is_finite()) {
        return Err(CannotRevise::NotANumber { path: path.to_owned() });
    }
    let (mark, body) = match text.strip_prefix('\u{feff}') {
        Some(body) => ("\u{feff}", body),
        None => ("", text),
    };
    let mut document: DocumentMut = body.parse().map_err(|_| CannotRevise::NotReadable {
        faults: schema::read(text, &any_section).err().unwrap_or_default(),
    })?;
    let walk = Walk { path };
    walk.table(document.as_table_mut(), false, path, &mut |table, key| {
        write_value(table, key, value, sd, from);
    })?;
    let mut revised = document.to_string();
    // The writer ends lines its own way; a file that came with carriage returns keeps them.
    if body.contains("\r\n") {
        revised = revised.replace("\r\n", "\n").replace('\n', "\r\n");
    }
    let revised = format!("{mark}{revised}");
    match new_fault(text, &revised) {
        Some(fault) => Err(CannotRevise::WouldBeFaulty { fault }),
        None => Ok(revised),
    }
}

/// A fault of the changed text that the old one has not.
fn new_fault(old: &str, new: &str) -> Option<Fault> {
    let after = schema::read(new, &any_section).err()?;
    let before = schema::read(old, &any_section).err().unwrap_or_default();
    after.into_iter().find(|f| !before.iter().any(|b| b.problem == f.problem))
}

/// Whether a coordinate file is any good is not the question when a number is changed.
fn any_section(_: &str) -> Option<String> {
    Some(
        "1 0\n0.8 0.02\n0.6 0.04\n0.4 0.05\n0.2 0.04\n0 0\n0.2 -0.04\n0.4 -0.05\n0.6 -0.04\n0.8 -0.02\n1 0\n"
            .to_owned(),
    )
}

/// Finds the table of a path and lets the last key be written there.
struct Walk<'p> {
    path: &'p str,
}

type Write<'w> = dyn FnMut(&mut dyn TableLike, &str) + 'w;

impl Walk<'_> {
    fn nowhere(&self, part: &str, known: Vec<String>) -> CannotRevise {
        CannotRevise::NoSuchPath { path: self.path.to_owned(), part: part.to_owned(), known }
    }

    /// `inline` says whether the table stands in braces, so that what is added to it must too.
    fn table(
        &self,
        table: &mut dyn TableLike,
        inline: bool,
        rest: &str,
        write: &mut Write<'_>,
    ) -> Result<(), CannotRevise> {
        let Some((head, tail)) = rest.split_once('.') else {
            if rest.is_empty() || table.get(rest).is_some_and(|i| i.is_table_like() || i.is_array_of_tables())
            {
                return Err(self.nowhere(rest, Vec::new()));
            }
            write(table, rest);
            return Ok(());
        };
        if head.is_empty() {
            return Err(self.nowhere(rest, Vec::new()));
        }
        if !table.contains_key(head) {
            let lists =
                ["surface", "movable", "mass", "fuselage", "station", "switch", "hub", "bench", "drag"];
            if lists.contains(&head) {
                return Err(self.nowhere(head, Vec::new()));
            }
            let new = if inline {
                Item::Value(Value::InlineTable(InlineTable::new()))
            } else {
                Item::Table(Table::new())
            };
            table.insert(head, new);
        }
        match table.get_mut(head) {
            Some(Item::ArrayOfTables(list)) => {
                let names: Vec<Option<String>> = list.iter().map(|t| name_of(t)).collect();
                let (index, after) = self.which(&names, head, tail)?;
                match list.get_mut(index) {
                    Some(table) => self.table(table, false, after, write),
                    None => Err(self.nowhere(tail, Vec::new())),
                }
            }
            Some(Item::Value(Value::Array(list))) => {
                let names: Vec<Option<String>> =
                    list.iter().map(|v| v.as_inline_table().and_then(|t| name_of(t))).collect();
                let (index, after) = self.which(&names, head, tail)?;
                match list.get_mut(index).and_then(Value::as_inline_table_mut) {
                    Some(table) => self.table(table, true, after, write),
                    None => Err(self.nowhere(tail, Vec::new())),
                }
            }
            Some(item) => {
                let inline = item.is_inline_table();
                let Some(inner) = item.as_table_like_mut() else {
                    return Err(self.nowhere(head, Vec::new()));
                };
                // A list of one may be written as a plain table; its name may stand in the path all the same.
                let named = name_of(inner).and_then(|name| after_name(tail, &name).map(str::to_owned));
                self.table(inner, inline, named.as_deref().unwrap_or(tail), write)
            }
            None => Err(self.nowhere(head, Vec::new())),
        }
    }

    /// Which table of a list a path means, and what follows its name.
    fn which<'r>(
        &self,
        names: &[Option<String>],
        list: &str,
        tail: &'r str,
    ) -> Result<(usize, &'r str), CannotRevise> {
        for (index, name) in names.iter().enumerate() {
            if let Some(after) = name.as_ref().and_then(|n| after_name(tail, n)) {
                return Ok((index, after));
            }
        }
        let head = tail.split('.').next().unwrap_or(tail);
        if let Some((number, after)) = tail.split_once('.')
            && let Ok(number) = number.parse::<usize>()
            && (1..=names.len()).contains(&number)
        {
            return Ok((number - 1, after));
        }
        let known = names
            .iter()
            .enumerate()
            .map(|(i, n)| format!("{list}.{}", n.clone().unwrap_or_else(|| (i + 1).to_string())))
            .collect();
        Err(self.nowhere(&format!("{list}.{head}"), known))
    }
}

/// What follows a table's name in a path; the name may hold dots and may stand in quotes.
fn after_name<'r>(tail: &'r str, name: &str) -> Option<&'r str> {
    tail.strip_prefix(name)
        .or_else(|| tail.strip_prefix(&format!("\"{name}\"")))
        .and_then(|after| after.strip_prefix('.'))
}

fn name_of(table: &dyn TableLike) -> Option<String> {
    Some(table.get("name")?.as_str()?.trim().to_owned())
}

fn write_value(table: &mut dyn TableLike, key: &str, value: &New, sd: Option<f64>, from: Option<Origin>) {
    let (found, name, units) = resolve(table, key);
    let convert = |number: f64| match units {
        Some((asked, written)) => written.from_si(asked.to_si(number)),
        None => number,
    };
    let new = match value {
        New::Number(number) => number_value(convert(*number)),
        New::Flag(flag) => Value::from(*flag),
        New::Text(text) => Value::from(text.as_str()),
    };
    put(table, &found, new, None);
    let number = if let New::Number(n) = value { *n } else { return };
    let mut after = found.clone();
    if let Some(sd) = sd {
        let in_unit = match units {
            Some((asked, written)) => written.sd_from_si(asked.to_si(number), asked.sd_to_si(number, sd)),
            None => sd,
        };
        let suffix = found.strip_prefix(name.as_str()).unwrap_or_default();
        let sd_key = format!("{name}_sd{suffix}");
        // An old one in another unit would make two of it.
        let (old_key, _, old_units) = resolve(table, &sd_key);
        let in_old = match old_units {
            Some((asked, written)) if !written.reciprocal && !asked.reciprocal => {
                written.from_si(asked.to_si(in_unit))
            }
            _ => in_unit,
        };
        put(table, &old_key, number_value(in_old), Some(&after));
        after = old_key;
    }
    if let Some(from) = from {
        put(table, &format!("{name}_from"), Value::from(from.word()), Some(&after));
    }
}

/// The key that holds a quantity in this table, its name without unit, and the units asked for and written. A key
/// that holds it as another quantity (a throw in mm where degrees are asked for) is renamed to the one asked for.
fn resolve(table: &mut dyn TableLike, key: &str) -> (String, String, Option<(Unit, Unit)>) {
    let candidates: Vec<(Quantity, &str, Unit)> =
        Quantity::ALL.iter().filter_map(|q| q.split(key).map(|(name, unit)| (*q, name, unit))).collect();
    let longest = candidates.iter().map(|(_, _, u)| u.suffix.len()).max().unwrap_or(0);
    for (quantity, name, asked) in candidates.iter().filter(|(_, _, u)| u.suffix.len() == longest) {
        for written in quantity.units() {
            let found = written.key(name);
            if table.contains_key(&found) {
                return (found, (*name).to_owned(), Some((*asked, *written)));
            }
        }
    }
    if table.contains_key(key) {
        return (key.to_owned(), key.to_owned(), None);
    }
    // A share asked for without unit and written in per cent.
    for written in Quantity::Share.units() {
        let found = written.key(key);
        if candidates.is_empty() && table.contains_key(&found) {
            let plain = Quantity::Share.unit("").unwrap_or(*written);
            return (found, key.to_owned(), Some((plain, *written)));
        }
    }
    let best = candidates.iter().find(|(_, _, u)| u.suffix.len() == longest);
    let name = best.map_or(key, |(_, name, _)| *name).to_owned();
    if RENAMED.contains(&name.as_str()) {
        let other = table
            .iter()
            .map(|(k, _)| k.to_owned())
            .find(|k| Quantity::ALL.iter().any(|q| q.split(k).is_some_and(|(n, _)| n == name)) || *k == name);
        if let Some(other) = other {
            rename(table, &other, key);
        }
    }
    (key.to_owned(), name, None)
}

/// Names that may be written as one of several quantities of which only one may stand.
const RENAMED: [&str; 7] = ["inner", "outer", "throw", "throw_up", "throw_down", "throw_left", "throw_right"];

/// Sets a value under its key, keeping what stands around an old one; a new one is put behind another key.
fn put(table: &mut dyn TableLike, key: &str, mut value: Value, behind: Option<&str>) {
    if let Some(old) = table.get_mut(key).and_then(Item::as_value_mut) {
        *value.decor_mut() = old.decor().clone();
        *old = value;
        return;
    }
    let after = behind.map_or_else(Vec::new, |behind| keys_after(table, behind));
    table.insert(key, Item::Value(value));
    move_to_end(table, &after);
}

/// Gives a key another name in its place. The comments about it may speak of its old unit, but they are the builder's
/// and stay.
fn rename(table: &mut dyn TableLike, old: &str, new: &str) {
    let after = keys_after(table, old);
    let decor = table.key(old).map(|k| k.leaf_decor().clone()).unwrap_or_default();
    if let Some(item) = table.remove(old) {
        table.entry_format(&Key::new(new).with_leaf_decor(decor)).or_insert(item);
        move_to_end(table, &after);
    }
}

fn keys_after(table: &dyn TableLike, key: &str) -> Vec<String> {
    table.iter().map(|(k, _)| k.to_owned()).skip_while(|k| k != key).skip(1).collect()
}

/// Takes keys out and puts them back behind all others, with what stands around them.
fn move_to_end(table: &mut dyn TableLike, keys: &[String]) {
    for key in keys {
        let Some(formatted) = table.key(key).cloned() else { continue };
        if let Some(item) = table.remove(key) {
            table.entry_format(&formatted).or_insert(item);
        }
    }
}

/// A number as a person would write it: seven significant digits, whole ones without a point.
fn number_value(number: f64) -> Value {
    let rounded: f64 = format!("{number:.6e}").parse().unwrap_or(number);
    if rounded.fract() == 0.0 && rounded.abs() < 1e12 {
        #[expect(clippy::cast_possible_truncation, reason = "whole and below 1e12")]
        return Value::from(rounded as i64);
    }
    Value::from(rounded)
}
