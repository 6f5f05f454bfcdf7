//! What was found out about each column? One by one and as data, for a page that shows it and lets it be changed.

use std::fmt::Write as _;

use super::{Proposal, Search, time};
use crate::map::{Choice, ChoiceFault, Column, ColumnMap, Entry, TimeForm, TimeSource};
use crate::recording::Quantity;
use crate::words;

/// What a column is proposed as.
#[derive(Debug, Clone, PartialEq)]
pub enum Carries {
    /// Nothing: it is left out.
    Nothing,
    /// The time of the row, written so.
    Time(TimeForm),
    /// The number of the satellites' week that the times are of.
    Week,
    /// A quantity in a unit, with its sign.
    Channel(Entry),
}

/// One column of a file with what is known of it.
#[derive(Debug, Clone, PartialEq)]
pub struct ColumnFound {
    /// Its number; the first is 1.
    pub number: usize,
    /// Its header; made of its number where there is none.
    pub header: String,
    /// How a map names it.
    pub column: Column,
    /// Least and greatest number in it, as they stand in the file; nothing where it holds no numbers.
    pub range: Option<(f64, f64)>,
    /// What it is proposed as.
    pub carries: Carries,
    /// What its header says, whether or not it is proposed as that.
    pub heard: Option<Quantity>,
    /// The entry that would be right by the data where the header says otherwise. Not in the map: look at it first.
    pub offered: Option<Entry>,
    /// What speaks for the proposal, in sentences with numbers.
    pub evidence: Vec<String>,
    /// What speaks against it, or why it is left out.
    pub doubts: Vec<String>,
    /// How sure the proposal is, 0 to 1; 0 where the column is left out.
    pub confidence: f64,
}

impl Proposal {
    /// The proposed map with columns taken for something else; see `ColumnMap::with`.
    ///
    /// # Errors
    /// Every choice that cannot be, also those of columns that the file does not have.
    pub fn map_with(&self, choices: &[Choice]) -> Result<ColumnMap, Vec<ChoiceFault>> {
        let mut faults = Vec::new();
        let mut named = Vec::new();
        for choice in choices {
            // A column may be named by its number or its header; here it is named as the map does.
            let found = self.columns.iter().find(|c| match &choice.column {
                Column::Number(number) => c.number == *number,
                Column::Header(_) => c.column == choice.column,
            });
            match found {
                Some(c) => named.push(Choice { column: c.column.clone(), carries: choice.carries.clone() }),
                None => faults.push(ChoiceFault::NoColumn { column: choice.column.clone() }),
            }
        }
        let offered: Vec<Entry> = self.columns.iter().filter_map(|c| c.offered.clone()).collect();
        match self.map.with_known(&named, &offered) {
            Ok(map) if faults.is_empty() => Ok(map),
            Ok(_) => Err(faults),
            Err(more) => {
                faults.extend(more);
                Err(faults)
            }
        }
    }

    /// The map with what the data says instead of headers that it contradicts; the same as `map` where nothing is offered.
    #[must_use]
    pub fn corrected(&self) -> ColumnMap {
        let mut map = self.map.clone();
        map.entries.extend(self.columns.iter().filter_map(|c| c.offered.clone()));
        map
    }

    /// What is offered, as entries of a map behind comment marks, each with what gave the header away; empty where
    /// nothing is.
    #[must_use]
    pub fn offers_toml(&self) -> String {
        let mut text = String::new();
        for c in &self.columns {
            let Some(entry) = &c.offered else { continue };
            text.push('\n');
            for doubt in &c.doubts {
                let _ = writeln!(text, "# {}", doubt.replace('\n', " "));
            }
            let _ = writeln!(text, "# By the data it would be this; take the marks away if you agree:");
            for line in crate::map::entry_text(entry).lines() {
                let _ = writeln!(text, "#   {line}");
            }
        }
        text
    }
}

/// Every column of the file in its order.
pub(super) fn all(search: &Search, found: &time::Found, map: &ColumnMap) -> Vec<ColumnFound> {
    let form = match &map.time {
        TimeSource::Column { form, .. } => Some(form.clone()),
        TimeSource::SteadyRate { .. } => None,
    };
    let headers = search.head.headers.iter().take(search.head.fields);
    headers
        .enumerate()
        .map(|(index, header)| {
            let candidate = search.candidates.iter().find(|c| c.index == index && c.unit().is_some());
            let column = time::column(&search.head, index);
            let (carries, evidence, confidence) = match (form.clone(), candidate) {
                (Some(form), _) if index == found.index => {
                    (Carries::Time(form), vec![found.why.clone()], found.sure)
                }
                _ if found.week == Some(index) => (
                    Carries::Week,
                    vec![format!("the times of column {} are of its weeks", found.column)],
                    found.sure,
                ),
                (_, Some(c)) => {
                    let entry = map.entries.iter().find(|e| e.quantity == c.quantity).cloned();
                    (entry.map_or(Carries::Nothing, Carries::Channel), c.why.clone(), c.sure)
                }
                _ => (Carries::Nothing, Vec::new(), 0.0),
            };
            let about = |d: &&super::Doubt| d.columns.contains(&index);
            ColumnFound {
                number: index + 1,
                header: header.clone(),
                column,
                range: search.table.columns.get(index).and_then(|values| range(values)),
                carries,
                heard: search.heard.iter().find(|(i, _)| *i == index).map(|(_, q)| q.clone()),
                offered: search.offered.iter().find(|(i, _)| *i == index).map(|(_, e)| e.clone()),
                evidence,
                doubts: search.doubts.iter().filter(about).map(|d| d.said.clone()).collect(),
                confidence,
            }
        })
        .collect()
}

fn range(values: &[f64]) -> Option<(f64, f64)> {
    let finite = || values.iter().copied().filter(|v| v.is_finite());
    finite().reduce(f64::min).zip(finite().reduce(f64::max))
}

/// The words of an entry, for a list: "roll in deg, sign turned".
impl std::fmt::Display for Carries {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Nothing => write!(f, "left out"),
            Self::Time(_) => write!(f, "time"),
            Self::Week => write!(f, "week of the time"),
            Self::Channel(entry) => {
                write!(f, "{} in {}", words::word(&entry.quantity), entry.unit)?;
                let turned = entry.line().is_some_and(|(factor, _)| factor < 0.0);
                if turned { write!(f, ", sign turned") } else { Ok(()) }
            }
        }
    }
}
