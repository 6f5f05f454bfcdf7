//! How is a column map written down? Its TOML text, read with every fault told at once, and written with comments.

use std::fmt::Write as _;
use std::ops::Range;

use toml_edit::{Document, Item, TableLike, Value};

use super::{Axes, Column, ColumnMap, DELIMITERS, Entry, TIME_UNITS, TimeForm, TimeSource, Week, unit_list};
use crate::{clock, words};

/// Something wrong with a column map's text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MapFault {
    /// Line of the text, the first is 1.
    pub line: usize,
    /// Character in the line, the first is 1.
    pub column: usize,
    /// What is wrong and what would be right.
    pub what: String,
    /// The known word most like the one found.
    pub nearest: Option<String>,
}

impl std::fmt::Display for MapFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "line {}, column {}: {}", self.line, self.column, self.what)?;
        match &self.nearest {
            Some(word) => write!(f, "; did you mean \"{word}\"?"),
            None => Ok(()),
        }
    }
}

impl std::error::Error for MapFault {}

/// Faults gathered while a text is read.
struct Faults<'a> {
    text: &'a str,
    found: Vec<MapFault>,
}

impl Faults<'_> {
    fn tell(&mut self, span: Option<Range<usize>>, what: String, nearest: Option<&str>) {
        let at = span.map_or(0, |s| s.start).min(self.text.len());
        let before = self.text.get(..at).unwrap_or("");
        self.found.push(MapFault {
            line: before.matches('\n').count() + 1,
            column: before.rsplit('\n').next().unwrap_or("").chars().count() + 1,
            what,
            nearest: nearest.map(str::to_owned),
        });
    }
}

const TOP_KEYS: &[&str] = &[
    "format",
    "delimiter",
    "decimal",
    "comment",
    "skip_lines",
    "header_lines",
    "header_in_comment",
    "time",
    "channel",
];
const TIME_KEYS: &[&str] = &["column", "unit", "rate_hz", "zone", "week", "week_column"];
const CHANNEL_KEYS: &[&str] = &["column", "quantity", "unit", "negate", "offset", "scale", "axes"];

/// Reads the text of a map.
pub(super) fn read(text: &str) -> Result<ColumnMap, Vec<MapFault>> {
    let mut faults = Faults { text, found: Vec::new() };
    let document = match Document::parse(text) {
        Ok(document) => document,
        Err(error) => {
            faults.tell(error.span(), format!("this is not TOML: {}", error.message().trim()), None);
            return Err(faults.found);
        }
    };
    let root = document.as_table();
    known_keys(root, TOP_KEYS, "a column map", &mut faults);
    match root.get("format") {
        Some(item) if item.as_integer() == Some(1) => {}
        Some(item) => faults.tell(item.span(), "format must be 1".into(), None),
        None => {}
    }
    let delimiter = one_of(root, "delimiter", DELIMITERS, &mut faults).unwrap_or(b',');
    let decimal_comma = one_of(root, "decimal", &[(".", false), (",", true)], &mut faults).unwrap_or(false);
    if decimal_comma && delimiter == b',' {
        faults.tell(
            root.get("decimal").and_then(Item::span),
            "decimal and delimiter cannot both be a comma".into(),
            None,
        );
    }
    let comment = string(root, "comment", &mut faults).filter(|c| !c.is_empty());
    let skip_lines = count(root, "skip_lines", &mut faults).unwrap_or(0);
    let header_lines = count(root, "header_lines", &mut faults).unwrap_or(1);
    let header_in_comment = boolean(root, "header_in_comment", &mut faults).unwrap_or(false);
    let time = time(root, &mut faults);
    let entries = channels(root, header_lines, &mut faults);
    match time {
        Some(time) if faults.found.is_empty() => Ok(ColumnMap {
            delimiter,
            decimal_comma,
            comment,
            skip_lines,
            header_lines,
            header_in_comment,
            time,
            entries,
        }),
        _ => Err(faults.found),
    }
}

fn time(root: &dyn TableLike, faults: &mut Faults<'_>) -> Option<TimeSource> {
    let Some(item) = root.get("time") else {
        faults.tell(
            None,
            "[time] is missing: say which column holds the time and in which unit".into(),
            None,
        );
        return None;
    };
    let Some(table) = item.as_table_like() else {
        faults.tell(item.span(), "time must be a table, [time]".into(), None);
        return None;
    };
    known_keys(table, TIME_KEYS, "[time]", faults);
    if let Some(rate) = number(table, "rate_hz", faults) {
        if let Some(column) = table.get("column") {
            faults.tell(column.span(), "time has either a column or a rate_hz, not both".into(), None);
        }
        if !(rate > 0.0 && rate.is_finite()) {
            faults.tell(
                table.get("rate_hz").and_then(Item::span),
                format!("rate_hz must be a number of rows a second above zero, not {rate}"),
                None,
            );
            return None;
        }
        return Some(TimeSource::SteadyRate { rate_hz: rate });
    }
    let column = column(table, item.span(), "[time]", faults);
    let forms = time_forms();
    if table.get("unit").is_none() {
        faults.tell(
            item.span(),
            format!("unit of time is missing: one of {}", super::time_unit_list()),
            None,
        );
    }
    let mut form = one_of(table, "unit", &forms, faults)?;
    zone(table, &mut form, faults);
    week(table, &mut form, faults);
    Some(TimeSource::Column { column: column?, form })
}

/// The forms of time by their unit words.
pub(super) fn time_forms() -> Vec<(&'static str, TimeForm)> {
    TIME_UNITS
        .iter()
        .map(|(word, seconds)| (*word, TimeForm::Number { seconds: *seconds }))
        .chain([
            ("clock", TimeForm::Clock { zone_s: 0.0 }),
            ("iso8601", TimeForm::DateTime { zone_s: 0.0 }),
            ("gps-s", TimeForm::Gps { seconds: 1.0, week: Week::Unknown }),
            ("gps-ms", TimeForm::Gps { seconds: 1e-3, week: Week::Unknown }),
        ])
        .collect()
}

/// The zone that a clock shows, where one is written.
fn zone(table: &dyn TableLike, form: &mut TimeForm, faults: &mut Faults<'_>) {
    let Some(text) = string(table, "zone", faults) else { return };
    let span = table.get("zone").and_then(Item::span);
    let Some(ahead_s) = clock::zone_s(&text) else {
        faults.tell(
            span,
            format!("zone must be \"Z\" or hours and minutes ahead of universal time, as \"+02:00\", not \"{text}\""),
            None,
        );
        return;
    };
    match form {
        TimeForm::Clock { zone_s } | TimeForm::DateTime { zone_s } => *zone_s = ahead_s,
        _ => faults.tell(span, "zone belongs to the units clock and iso8601 only".into(), None),
    }
}

/// The week that the satellites' seconds are of, where one is written.
fn week(table: &dyn TableLike, form: &mut TimeForm, faults: &mut Faults<'_>) {
    let (by_name, by_number) = (table.get("week"), table.get("week_column"));
    let Some(item) = by_name.or(by_number) else { return };
    if by_name.is_some() && by_number.is_some() {
        faults.tell(item.span(), "either week or week_column, not both".into(), None);
    }
    let number = item.as_integer().and_then(|n| u32::try_from(n).ok());
    let told = match (item.as_str(), number) {
        (Some(header), _) => Some(Week::Column(Column::Header(header.to_owned()))),
        (None, Some(n)) if by_name.is_none() && n > 0 => Some(Week::Column(Column::Number(n as usize))),
        (None, Some(n)) if by_name.is_some() && n < 10_000 => Some(Week::Number(n)),
        _ => None,
    };
    match (told, form) {
        (Some(told), TimeForm::Gps { week, .. }) => *week = told,
        (Some(_), _) => faults.tell(item.span(), "week belongs to the units gps-s and gps-ms only".into(), None),
        (None, _) => faults.tell(
            item.span(),
            "week must be the header of its column in quotes, or the number of the week counted from 1980-01-06; \
             week_column the number of its column"
                .into(),
            None,
        ),
    }
}

/// The unit word of a form of time.
pub(super) fn time_word(form: &TimeForm) -> &'static str {
    match form {
        TimeForm::Number { seconds } => {
            TIME_UNITS.iter().find(|(_, s)| s == seconds).map_or("s", |(word, _)| word)
        }
        TimeForm::Clock { .. } => "clock",
        TimeForm::DateTime { .. } => "iso8601",
        TimeForm::Gps { seconds, .. } if *seconds < 0.5 => "gps-ms",
        TimeForm::Gps { .. } => "gps-s",
    }
}

fn channels(root: &dyn TableLike, header_lines: usize, faults: &mut Faults<'_>) -> Vec<Entry> {
    let Some(item) = root.get("channel") else {
        faults.tell(None, "no [[channel]]: say what at least one column carries".into(), None);
        return Vec::new();
    };
    let tables: Vec<(&dyn TableLike, Option<Range<usize>>)> = if let Some(array) = item.as_array_of_tables() {
        array.iter().map(|t| (t as &dyn TableLike, t.span())).collect()
    } else if let Some(array) = item.as_array() {
        array.iter().filter_map(|v| v.as_inline_table().map(|t| (t as &dyn TableLike, v.span()))).collect()
    } else {
        faults.tell(item.span(), "channel must be tables, [[channel]]".into(), None);
        return Vec::new();
    };
    let mut entries: Vec<Entry> = Vec::new();
    for (table, span) in tables {
        let entry = channel(table, span.clone(), faults);
        let Some(entry) = entry else { continue };
        if let Some(other) = entries.iter().find(|e| e.quantity == entry.quantity) {
            faults.tell(
                table.get("quantity").and_then(Item::span).or(span.clone()),
                format!(
                    "{} is already carried by column {}: a quantity comes from one column",
                    words::word(&entry.quantity),
                    other.column
                ),
                None,
            );
            continue;
        }
        if header_lines == 0 && matches!(entry.column, Column::Header(_)) {
            faults.tell(
                table.get("column").and_then(Item::span).or(span),
                "header_lines is 0, so columns must be named by number".into(),
                None,
            );
        }
        entries.push(entry);
    }
    entries
}

fn channel(table: &dyn TableLike, span: Option<Range<usize>>, faults: &mut Faults<'_>) -> Option<Entry> {
    known_keys(table, CHANNEL_KEYS, "[[channel]]", faults);
    let column = column(table, span.clone(), "[[channel]]", faults);
    let negate = boolean(table, "negate", faults).unwrap_or(false);
    let offset = number(table, "offset", faults).unwrap_or(0.0);
    let scale = number(table, "scale", faults).unwrap_or(1.0);
    if scale == 0.0 || !scale.is_finite() || !offset.is_finite() {
        let place = table.get("scale").or(table.get("offset"));
        faults.tell(
            place.and_then(Item::span),
            "scale must be a finite number other than 0, and offset finite".into(),
            None,
        );
    }
    let axes = one_of(table, "axes", Axes::WORDS, faults).unwrap_or(Axes::ForwardRightDown);
    let Some(quantity_word) = string(table, "quantity", faults) else {
        if table.get("quantity").is_none() {
            faults.tell(span, "quantity is missing: say what the column carries".into(), None);
        }
        return None;
    };
    let Some(quantity) = words::quantity(&quantity_word) else {
        let known = words::quantity_words();
        faults.tell(
            table.get("quantity").and_then(Item::span),
            format!("\"{quantity_word}\" is not a quantity (a servo is written \"servo:NAME\")"),
            words::nearest(&quantity_word, known.iter().map(|w| w.word)),
        );
        return None;
    };
    let dimension = words::dimension(&quantity);
    let choices = unit_list(dimension);
    let Some(unit) = string(table, "unit", faults) else {
        if table.get("unit").is_none() {
            faults.tell(span, format!("unit of {quantity_word} is missing: one of {choices}"), None);
        }
        return None;
    };
    if words::unit_of(dimension, &unit).is_none() {
        faults.tell(
            table.get("unit").and_then(Item::span),
            format!("\"{unit}\" is not a unit of {quantity_word}, which is one of {choices}"),
            words::nearest(&unit, words::units_of(dimension).map(|u| u.word)),
        );
        return None;
    }
    if axes != Axes::ForwardRightDown && axes.sign(&quantity).is_none() {
        faults.tell(
            table.get("axes").and_then(Item::span),
            format!(
                "axes \"{}\" says nothing about {quantity_word}; use negate = true if its sign is the other way round",
                axes.word()
            ),
            None,
        );
        return None;
    }
    Some(Entry { column: column?, quantity, unit, negate, offset, scale, axes })
}

fn column(
    table: &dyn TableLike,
    span: Option<Range<usize>>,
    place: &str,
    faults: &mut Faults<'_>,
) -> Option<Column> {
    let Some(item) = table.get("column") else {
        faults.tell(
            span,
            format!("column is missing in {place}: its header as text, or its number, the first being 1"),
            None,
        );
        return None;
    };
    match item.as_value() {
        Some(Value::String(s)) => Some(Column::Header(s.value().clone())),
        Some(Value::Integer(n)) if *n.value() >= 1 => usize::try_from(*n.value()).ok().map(Column::Number),
        _ => {
            faults.tell(item.span(), "column must be a header in quotes or a number from 1".into(), None);
            None
        }
    }
}

fn known_keys(table: &dyn TableLike, known: &[&str], place: &str, faults: &mut Faults<'_>) {
    for (key, item) in table.iter() {
        if !known.contains(&key) {
            let span = table.get_key_value(key).and_then(|(k, _)| k.span()).or_else(|| item.span());
            faults.tell(
                span,
                format!("\"{key}\" is not a key of {place}"),
                words::nearest(key, known.iter().copied()),
            );
        }
    }
}

fn one_of<T: Clone>(
    table: &dyn TableLike,
    key: &str,
    choices: &[(&str, T)],
    faults: &mut Faults<'_>,
) -> Option<T> {
    let word = string(table, key, faults)?;
    let found = choices.iter().find(|(w, _)| *w == word).map(|(_, t)| t.clone());
    if found.is_none() {
        let list = choices.iter().map(|(w, _)| format!("\"{w}\"")).collect::<Vec<_>>().join(", ");
        faults.tell(
            table.get(key).and_then(Item::span),
            format!("{key} must be one of {list}, not \"{word}\""),
            words::nearest(&word, choices.iter().map(|(w, _)| *w)),
        );
    }
    found
}

fn string(table: &dyn TableLike, key: &str, faults: &mut Faults<'_>) -> Option<String> {
    let item = table.get(key)?;
    if item.as_str().is_none() {
        faults.tell(item.span(), format!("{key} must be text in quotes"), None);
    }
    item.as_str().map(str::to_owned)
}

fn number(table: &dyn TableLike, key: &str, faults: &mut Faults<'_>) -> Option<f64> {
    let item = table.get(key)?;
    let value = item.as_float().or_else(|| item.as_integer().map(|i| i as f64));
    if value.is_none() {
        faults.tell(item.span(), format!("{key} must be a number"), None);
    }
    value
}

fn count(table: &dyn TableLike, key: &str, faults: &mut Faults<'_>) -> Option<usize> {
    let item = table.get(key)?;
    let value = item.as_integer().and_then(|i| usize::try_from(i).ok());
    if value.is_none() {
        faults.tell(item.span(), format!("{key} must be a whole number from 0"), None);
    }
    value
}

fn boolean(table: &dyn TableLike, key: &str, faults: &mut Faults<'_>) -> Option<bool> {
    let item = table.get(key)?;
    if item.as_bool().is_none() {
        faults.tell(item.span(), format!("{key} must be true or false"), None);
    }
    item.as_bool()
}

/// Writes a map as commented TOML.
pub(super) fn write(map: &ColumnMap) -> String {
    let mut text = String::from(
        "# Column map: how the recording is laid out and what its columns carry.\n\
         # kept value = sign x ((number x scale + offset) in unit); angles are kept in rad, speeds in m/s.\n",
    );
    let delimiter = DELIMITERS.iter().find(|(_, b)| *b == map.delimiter).map_or(",", |(w, _)| w);
    let mut line = |key: &str, value: String, comment: &str| {
        let note = if comment.is_empty() { String::new() } else { format!("  # {comment}") };
        let _ = writeln!(text, "{key} = {value}{note}");
    };
    line("format", "1".into(), "");
    line("delimiter", quoted(delimiter), "between cells: \",\" \";\" \"tab\" \"space\" \"|\"");
    line("decimal", quoted(if map.decimal_comma { "," } else { "." }), "");
    if let Some(comment) = &map.comment {
        line("comment", quoted(comment), "lines that begin with it are passed over");
    }
    line("skip_lines", map.skip_lines.to_string(), "lines before the header");
    line("header_lines", map.header_lines.to_string(), "lines of column headers");
    if map.header_in_comment {
        line("header_in_comment", "true".into(), "the header lines begin with the comment prefix");
    }
    text.push_str("\n[time]\n");
    match &map.time {
        TimeSource::SteadyRate { rate_hz } => {
            let _ = writeln!(text, "rate_hz = {rate_hz:?}  # rows a second; no column tells the time");
        }
        TimeSource::Column { column, form } => {
            let unit = time_word(form);
            let _ = writeln!(text, "column = {}", column_text(column));
            let _ = writeln!(
                text,
                "unit = {}  # s, ms, us, ns, min, h; clock for hh:mm:ss; iso8601 for date and time; gps-s, gps-ms",
                quoted(unit)
            );
            match form {
                TimeForm::Clock { zone_s } | TimeForm::DateTime { zone_s } if *zone_s != 0.0 => {
                    let _ = writeln!(
                        text,
                        "zone = {}  # ahead of universal time, where the text does not say",
                        quoted(&clock::zone_text(*zone_s))
                    );
                }
                TimeForm::Gps { week: Week::Column(Column::Number(number)), .. } => {
                    let _ = writeln!(text, "week_column = {number}");
                }
                TimeForm::Gps { week: Week::Column(Column::Header(name)), .. } => {
                    let _ = writeln!(text, "week = {}  # column of the week's number", quoted(name));
                }
                TimeForm::Gps { week: Week::Number(number), .. } => {
                    let _ = writeln!(text, "week = {number}  # counted from 1980-01-06");
                }
                _ => {}
            }
        }
    }
    for entry in &map.entries {
        text.push('\n');
        text.push_str(&entry_text(entry));
    }
    text
}

/// One entry as it stands in a map.
pub(crate) fn entry_text(entry: &Entry) -> String {
    let known = words::quantity_words();
    let meaning =
        known.iter().find(|w| w.quantity == entry.quantity).map_or("pulse to a servo", |w| w.meaning);
    let dimension = words::dimension(&entry.quantity);
    let mut text = format!(
        "[[channel]]\ncolumn = {}\nquantity = {}  # {meaning}\nunit = {}  # or: {}\n",
        column_text(&entry.column),
        quoted(&words::word(&entry.quantity)),
        quoted(&entry.unit),
        unit_list(dimension),
    );
    if entry.negate {
        text.push_str("negate = true\n");
    }
    if entry.scale.to_bits() != 1.0_f64.to_bits() {
        let _ = writeln!(text, "scale = {:?}", entry.scale);
    }
    if entry.offset != 0.0 {
        let _ = writeln!(text, "offset = {:?}", entry.offset);
    }
    if entry.axes != Axes::ForwardRightDown {
        let _ = writeln!(text, "axes = {}", quoted(entry.axes.word()));
    }
    text
}

fn quoted(text: &str) -> String {
    Value::from(text).to_string()
}

fn column_text(column: &Column) -> String {
    match column {
        Column::Header(name) => quoted(name),
        Column::Number(number) => number.to_string(),
    }
}
