//! How is one table of the file read, so that nothing in it goes unnoticed?
//!
//! A [`Sheet`] is asked for every key that has a meaning in its table; [`Sheet::finish`] then tells of the keys that
//! nobody asked for. Every question is asked even if an earlier one failed, so that all faults are found at once.

use std::cell::RefCell;
use std::ops::Range;

use toml_edit::{Item, TableLike, Value};

use super::fault::{Notes, nearest, one_of};
use super::units::{Quantity, Unit};
use crate::known::{Known, Origin};

/// A number of the file in SI units, with its place for later faults.
#[derive(Debug, Clone)]
pub(super) struct Number {
    pub(super) si: f64,
    pub(super) place: Range<usize>,
}

/// A text of the file with its place.
#[derive(Debug, Clone)]
pub(super) struct Text {
    pub(super) text: String,
    pub(super) place: Range<usize>,
}

/// How a quantity is asked for: its name without unit, its kind, and the SI values that are believed.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ask {
    pub(super) name: &'static str,
    pub(super) quantity: Quantity,
    pub(super) least: f64,
    pub(super) most: f64,
}

/// A question for a quantity between two SI values.
pub(super) const fn ask(name: &'static str, quantity: Quantity, least: f64, most: f64) -> Ask {
    Ask { name, quantity, least, most }
}

#[derive(Debug, Clone, Copy)]
enum Asked {
    Quantity(&'static str, Quantity),
    Plain(&'static str),
}

/// One table of the file.
pub(super) struct Sheet<'t> {
    pub(super) notes: &'t Notes<'t>,
    table: &'t dyn TableLike,
    /// Where faults of the whole table are pointed at.
    pub(super) place: Range<usize>,
    /// What the table is, for messages: `[[surface]] "wing"`.
    pub(super) title: RefCell<String>,
    asked: RefCell<Vec<Asked>>,
    known_keys: RefCell<Vec<String>>,
    /// Keys that must be there and are not, with what to do.
    unmet: RefCell<Vec<(String, String)>>,
}

impl Drop for Sheet<'_> {
    fn drop(&mut self) {
        for (key, remedy) in self.unmet.take() {
            self.fault(format!("{} lacks {key}", self.title.borrow()), remedy);
        }
    }
}

impl<'t> Sheet<'t> {
    pub(super) fn new(
        notes: &'t Notes<'t>,
        table: &'t dyn TableLike,
        place: Range<usize>,
        title: &str,
    ) -> Self {
        Self {
            notes,
            table,
            place,
            title: RefCell::new(title.to_owned()),
            asked: RefCell::new(Vec::new()),
            known_keys: RefCell::new(Vec::new()),
            unmet: RefCell::new(Vec::new()),
        }
    }

    /// Notes a fault of the table as a whole.
    pub(super) fn fault(&self, problem: impl Into<String>, remedy: impl Into<String>) {
        self.notes.fault(&self.place, problem, remedy);
    }

    /// A key that must be there and is not. It is told when the table is done with, and not at all where an unknown
    /// key was meant for it: that is one mistake.
    pub(super) fn missing(&self, key: &str, remedy: impl Into<String>) {
        self.unmet.borrow_mut().push((key.to_owned(), remedy.into()));
    }

    /// Whether a key without a unit is written.
    pub(super) fn says(&self, key: &str) -> bool {
        self.table.contains_key(key)
    }

    /// Notes that a key has a meaning here though it is not asked for.
    pub(super) fn knows(&self, key: &'static str) {
        self.asked.borrow_mut().push(Asked::Plain(key));
    }

    /// Whether a key is written, in any unit.
    pub(super) fn has(&self, name: &str, quantity: Quantity) -> bool {
        quantity.units().iter().any(|u| self.table.contains_key(&u.key(name)))
    }

    /// Where a key's value stands.
    pub(super) fn place_of(&self, key: &str) -> Option<Range<usize>> {
        self.table.get(key)?.span()
    }

    fn plain(&self, name: &'static str) -> Option<(Range<usize>, &'t Item)> {
        self.asked.borrow_mut().push(Asked::Plain(name));
        self.take(name)
    }

    /// The item of a key and its place, and a note that the key has a meaning.
    fn take(&self, key: &str) -> Option<(Range<usize>, &'t Item)> {
        self.known_keys.borrow_mut().push(key.to_owned());
        let (written, item) = self.table.get_key_value(key)?;
        let place = item.span().or_else(|| written.span()).unwrap_or_else(|| self.place.clone());
        Some((place, item))
    }

    /// A text; an empty one counts as a fault.
    pub(super) fn text(&self, name: &'static str) -> Option<Text> {
        let (place, item) = self.plain(name)?;
        match item.as_str() {
            Some(text) if text.trim().is_empty() => {
                self.notes.fault(&place, format!("{name} is empty"), format!("write {name} = \"…\""));
                None
            }
            Some(text) => Some(Text { text: text.trim().to_owned(), place }),
            None => {
                self.wrong_type(&place, name, item, "text in quotes", &format!("{name} = \"…\""));
                None
            }
        }
    }

    /// A text that must be there.
    pub(super) fn needed_text(&self, name: &'static str, remedy: &str) -> Option<Text> {
        if !self.table.contains_key(name) {
            self.asked.borrow_mut().push(Asked::Plain(name));
            self.missing(name, remedy);
            return None;
        }
        self.text(name)
    }

    /// One of a set of words; `fallback` where the key is not written.
    pub(super) fn word<T: Copy>(
        &self,
        name: &'static str,
        words: &[(T, &'static str)],
        fallback: Option<T>,
        remedy: &str,
    ) -> Option<T> {
        if !self.table.contains_key(name) {
            self.asked.borrow_mut().push(Asked::Plain(name));
            if fallback.is_none() {
                self.missing(name, remedy);
            }
            return fallback;
        }
        let found = self.text(name)?;
        let wanted = found.text.to_lowercase().replace([' ', '_'], "-");
        if let Some((value, _)) = words.iter().find(|(_, w)| w.replace([' ', '_'], "-") == wanted) {
            return Some(*value);
        }
        let known = words.iter().map(|(_, w)| *w);
        let advice = match nearest(&wanted, known.clone()) {
            Some(near) => format!("did you mean \"{near}\"? {name} is {}", one_of(known)),
            None => format!("{name} is {}", one_of(known)),
        };
        self.notes.fault(&found.place, format!("\"{}\" is no {name}", found.text), advice);
        None
    }

    /// True or false; `fallback` where it is not written.
    pub(super) fn flag(&self, name: &'static str, fallback: bool) -> bool {
        let Some((place, item)) = self.plain(name) else {
            return fallback;
        };
        item.as_bool().unwrap_or_else(|| {
            self.wrong_type(&place, name, item, "true or false", &format!("{name} = true"));
            fallback
        })
    }

    /// A whole number between two bounds.
    pub(super) fn whole(&self, name: &'static str, least: u32, most: u32) -> Option<u32> {
        let (place, item) = self.plain(name)?;
        let Some(number) = item.as_integer() else {
            self.wrong_type(&place, name, item, "a whole number", &format!("{name} = {least}"));
            return None;
        };
        match u32::try_from(number) {
            Ok(value) if (least..=most).contains(&value) => Some(value),
            _ => {
                self.notes.fault(
                    &place,
                    format!("{name} is {number}"),
                    if least == most {
                        format!("only {name} = {least} is known")
                    } else {
                        format!("{name} is a whole number from {least} to {most}")
                    },
                );
                None
            }
        }
    }

    /// A whole number that must be there.
    pub(super) fn needed_whole(
        &self,
        name: &'static str,
        least: u32,
        most: u32,
        remedy: &str,
    ) -> Option<u32> {
        if !self.table.contains_key(name) {
            self.asked.borrow_mut().push(Asked::Plain(name));
            self.missing(name, remedy);
            return None;
        }
        self.whole(name, least, most)
    }

    /// A quantity in whichever of its units it is written; absent if not written or faulty (which is noted).
    pub(super) fn number(&self, question: Ask) -> Option<Number> {
        self.asked.borrow_mut().push(Asked::Quantity(question.name, question.quantity));
        let mut written: Vec<(Unit, String, Range<usize>, &Item)> = Vec::new();
        for unit in question.quantity.units() {
            let key = unit.key(question.name);
            if let Some((place, item)) = self.take(&key) {
                written.push((*unit, key, place, item));
            }
        }
        if let [(_, first, ..), (_, second, place, _), ..] = written.as_slice() {
            self.notes.fault(
                place,
                format!("{} is given twice, as {first} and as {second}", question.name),
                "keep the one that was measured and take the other away",
            );
            return None;
        }
        let (unit, key, place, item) = written.into_iter().next()?;
        let raw = self.finite(&key, &place, item)?;
        let si = unit.to_si(raw);
        if si.is_finite() && si >= question.least && si <= question.most {
            return Some(Number { si, place });
        }
        self.out_of_range(question, unit, raw, &place);
        None
    }

    /// A quantity that must be there; `remedy` says what to measure.
    pub(super) fn needed(&self, question: Ask, remedy: &str) -> Option<Number> {
        let found = self.number(question);
        if !self.has(question.name, question.quantity) {
            let keys = question
                .quantity
                .units()
                .first()
                .map_or_else(|| question.name.to_owned(), |u| u.key(question.name));
            self.missing(&keys, remedy);
        }
        found
    }

    /// A quantity in SI units, or what stands for it where it is not written.
    pub(super) fn or(&self, question: Ask, fallback: f64) -> f64 {
        self.number(question).map_or(fallback, |n| n.si)
    }

    /// A quantity with its standard deviation (`<name>_sd_<unit>`) and origin (`<name>_from`). Where the file gives
    /// no standard deviation, `sd` says it from the value; where it gives no origin, `origin`.
    pub(super) fn known(&self, question: Ask, sd: impl Fn(f64) -> f64, origin: Origin) -> Option<Known> {
        let value = self.number(question);
        let written_sd = self.sd_of(question, value.as_ref());
        let from = self.origin_of(question);
        let value = value?;
        Some(Known {
            value: value.si,
            sd: written_sd.unwrap_or_else(|| sd(value.si)),
            from: from.unwrap_or(origin),
        })
    }

    /// A quantity with doubt that must be there.
    pub(super) fn needed_known(
        &self,
        question: Ask,
        sd: impl Fn(f64) -> f64,
        origin: Origin,
        remedy: &str,
    ) -> Option<Known> {
        let found = self.known(question, sd, origin);
        if !self.has(question.name, question.quantity) {
            let key = question
                .quantity
                .units()
                .first()
                .map_or_else(|| question.name.to_owned(), |u| u.key(question.name));
            self.missing(&key, remedy);
        }
        found
    }

    /// The written standard deviation, SI.
    pub(super) fn sd_of(&self, question: Ask, value: Option<&Number>) -> Option<f64> {
        let name = format!("{}_sd", question.name);
        let mut found = None;
        for unit in question.quantity.units() {
            let key = unit.key(&name);
            let Some((place, item)) = self.take(&key) else {
                continue;
            };
            let Some(raw) = self.finite(&key, &place, item) else {
                continue;
            };
            let raw_value = value.map_or(1.0, |v| unit.from_si(v.si));
            let si = unit.sd_to_si(raw_value, raw);
            if raw < 0.0 || !si.is_finite() {
                self.notes.fault(
                    &place,
                    format!("{key} is {raw}"),
                    "a standard deviation is 0 or more: two thirds of repeated measurements lie within it",
                );
                continue;
            }
            found = Some(si);
        }
        found
    }

    /// The written origin.
    fn origin_of(&self, question: Ask) -> Option<Origin> {
        let key = format!("{}_from", question.name);
        let (place, item) = self.take(&key)?;
        let word = item.as_str().unwrap_or_default();
        let origin = Origin::from_word(word);
        if origin.is_none() {
            self.notes.fault(
                &place,
                format!("{key} does not say where the number comes from"),
                format!("{key} is {}", one_of(["stated", "measured", "predicted", "flown"])),
            );
        }
        origin
    }

    fn finite(&self, key: &str, place: &Range<usize>, item: &Item) -> Option<f64> {
        let number = match item.as_value() {
            Some(Value::Float(f)) => *f.value(),
            #[expect(
                clippy::cast_precision_loss,
                reason = "a whole number beyond 2^53 is out of every range"
            )]
            Some(Value::Integer(i)) => *i.value() as f64,
            _ => {
                self.wrong_type(place, key, item, "a number", &format!("{key} = 1.5"));
                return None;
            }
        };
        if number.is_finite() {
            return Some(number);
        }
        self.notes.fault(
            place,
            format!("{key} is {number}, which is no measurement"),
            "write the number that was measured, or take the line away",
        );
        None
    }

    fn wrong_type(&self, place: &Range<usize>, key: &str, item: &Item, wanted: &str, example: &str) {
        let got = match item {
            Item::None => "nothing",
            Item::Table(_) => "a table",
            Item::ArrayOfTables(_) => "a list of tables",
            Item::Value(value) => match value {
                Value::String(_) => "text",
                Value::Integer(_) | Value::Float(_) => "a number",
                Value::Boolean(_) => "true or false",
                Value::Datetime(_) => "a date or time",
                Value::Array(_) => "a list",
                Value::InlineTable(_) => "a table",
            },
        };
        let as_number = item.as_str().and_then(|s| s.trim().replace(',', ".").parse::<f64>().ok());
        let remedy = match as_number {
            Some(number) if wanted.contains("number") && number.is_finite() => {
                format!("without quotes and with a decimal point: {key} = {number}")
            }
            _ => format!("for example {example}"),
        };
        self.notes.fault(place, format!("{key} is {got}, not {wanted}"), remedy);
    }

    /// Says which range is believed and which unit may have been meant.
    fn out_of_range(&self, question: Ask, unit: Unit, raw: f64, place: &Range<usize>) {
        let key = unit.key(question.name);
        let name = question.name.replace('_', " ");
        let told = |number: f64, unit: Unit| {
            if unit.suffix.is_empty() {
                short(number)
            } else {
                format!("{} {}", short(number), unit.suffix.replace('_', "/"))
            }
        };
        let (mut low, mut high) = (unit.from_si(question.least), unit.from_si(question.most));
        if unit.reciprocal {
            (low, high) = (high, low);
        }
        let range = format!("{key} is believed from {} to {}", short(low), short(high));
        let meant = question.quantity.units().iter().find(|other| {
            let si = other.to_si(raw);
            **other != unit && raw != 0.0 && si >= question.least && si <= question.most
        });
        let problem = format!("a {name} of {}", told(raw, unit));
        let remedy = if raw < 0.0 && question.least >= 0.0 {
            format!("{name} cannot be negative; {range}")
        } else if let Some(other) = meant {
            let word = if other.suffix.is_empty() { "a plain share" } else { other.suffix };
            format!("were {word} meant? write {} = {}; {range}", other.key(question.name), short(raw))
        } else {
            format!("measure again: {range}")
        };
        self.notes.fault(place, problem, remedy);
    }

    /// A table within this one.
    pub(super) fn table(&self, name: &'static str, title: &str) -> Option<Sheet<'t>> {
        let (place, item) = self.plain(name)?;
        if let Some(table) = item.as_table_like() {
            return Some(Sheet::new(self.notes, table, place, title));
        }
        self.wrong_type(&place, name, item, "a table", title);
        None
    }

    /// The tables of a list within this one; a single table counts as a list of one.
    pub(super) fn tables(&self, name: &'static str, title: &str) -> Vec<Sheet<'t>> {
        let Some((place, item)) = self.plain(name) else {
            return Vec::new();
        };
        if let Some(list) = item.as_array_of_tables() {
            return list
                .iter()
                .map(|t| Sheet::new(self.notes, t, t.span().unwrap_or_else(|| place.clone()), title))
                .collect();
        }
        if let Some(table) = item.as_table_like() {
            return vec![Sheet::new(self.notes, table, place, title)];
        }
        let inline: Option<Vec<_>> = item
            .as_array()
            .map(|list| list.iter().map(|v| v.as_inline_table().map(|t| (t, v.span()))).collect())
            .unwrap_or_default();
        match inline {
            Some(list) => list
                .into_iter()
                .map(|(t, span)| Sheet::new(self.notes, t, span.unwrap_or_else(|| place.clone()), title))
                .collect(),
            None => {
                self.wrong_type(&place, name, item, "a list of tables", title);
                Vec::new()
            }
        }
    }

    /// Tells of every key that has no meaning here.
    pub(super) fn finish(self) {
        let known = self.known_keys.borrow();
        let asked = self.asked.borrow();
        let title = self.title.borrow();
        for (key, item) in self.table.iter() {
            if known.iter().any(|k| k == key) {
                continue;
            }
            let place = self
                .table
                .key(key)
                .and_then(toml_edit::Key::span)
                .or_else(|| item.span())
                .unwrap_or_else(|| self.place.clone());
            self.notes.fault(
                &place,
                format!("{title} has no key \"{key}\""),
                advice_for_unknown(key, &asked, &known),
            );
            let begun = begun_name(key, &asked);
            let meant = nearest(key, known.iter().map(String::as_str));
            self.unmet.borrow_mut().retain(|(unmet, _)| {
                let same_name = begun.is_some_and(|name| {
                    unmet == name || unmet.strip_prefix(name).is_some_and(|rest| rest.starts_with('_'))
                });
                !same_name && meant != Some(unmet.as_str())
            });
        }
    }
}

/// The longest name of an asked quantity that a key begins with.
fn begun_name(key: &str, asked: &[Asked]) -> Option<&'static str> {
    asked
        .iter()
        .filter_map(|a| match a {
            Asked::Quantity(name, _) => Some(*name),
            Asked::Plain(_) => None,
        })
        .filter(|name| key == *name || key.strip_prefix(name).is_some_and(|rest| rest.starts_with('_')))
        .max_by_key(|name| name.len())
}

/// What to write instead of an unknown key.
fn advice_for_unknown(key: &str, asked: &[Asked], known: &[String]) -> String {
    // After the name stands something that is no unit of any quantity that this name may be.
    if let Some(name) = begun_name(key, asked) {
        let mut quantities: Vec<Quantity> = Vec::new();
        for a in asked {
            if let Asked::Quantity(own, quantity) = a
                && *own == name
                && !quantities.contains(quantity)
            {
                quantities.push(*quantity);
            }
        }
        let unit = quantities
            .first()
            .and_then(|q| q.units().first())
            .map_or_else(|| name.to_owned(), |u| u.key(name));
        let units = quantities
            .iter()
            .map(|q| format!("{} ({})", q.unit_list(), q.word()))
            .collect::<Vec<_>>()
            .join("; ");
        return if key == name {
            format!("{name} needs its unit, for example {unit}; units: {units}")
        } else {
            let nearest_key = nearest(key, known.iter().map(String::as_str));
            let guess = nearest_key.map_or_else(String::new, |near| format!("did you mean \"{near}\"? "));
            format!("{guess}units of {name}: {units}")
        };
    }
    match nearest(key, known.iter().map(String::as_str)) {
        Some(near) => format!("did you mean \"{near}\"?"),
        None => {
            let mut names: Vec<String> = asked
                .iter()
                .map(|a| match a {
                    Asked::Plain(name) => (*name).to_owned(),
                    Asked::Quantity(name, quantity) => {
                        quantity.units().first().map_or_else(|| (*name).to_owned(), |u| u.key(name))
                    }
                })
                .collect();
            names.sort();
            names.dedup();
            format!("take it away; known here: {}", names.join(", "))
        }
    }
}

/// A number as a person would write it, without the noise of binary fractions.
pub(super) fn short(number: f64) -> String {
    if number == 0.0 || !number.is_finite() {
        return format!("{number}");
    }
    let magnitude = number.abs();
    if !(1e-4..1e9).contains(&magnitude) {
        return format!("{number:e}");
    }
    let text = format!("{number:.6}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
