//! What does somebody say that the columns carry? A map changed column by column, in the words of a map, with every
//! choice that cannot be told at once.

use super::{Axes, Column, ColumnMap, Entry, TimeForm, TimeSource, time_form, time_unit_list, unit_list};
use crate::recording::Quantity;
use crate::words;

/// What one column is to be taken for.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// Which column.
    pub column: Column,
    /// What it carries.
    pub carries: Chosen,
}

/// What a column carries, in words as a map has them.
#[derive(Debug, Clone, PartialEq)]
pub enum Chosen {
    /// Nothing that is wanted.
    Nothing,
    /// The time of the row.
    Time {
        /// Unit word of time, one of `time_unit_words`.
        unit: String,
    },
    /// A quantity.
    Quantity {
        /// Its word.
        quantity: String,
        /// Unit word of its dimension.
        unit: String,
        /// Whether its sign is the other way round.
        negate: bool,
    },
}

/// Why a choice cannot be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ChoiceFault {
    /// The file has no such column.
    NoColumn {
        /// The column asked for.
        column: Column,
    },
    /// The word is no quantity.
    NoQuantity {
        /// The column it was chosen for.
        column: Column,
        /// The word.
        word: String,
        /// The quantity word most like it.
        nearest: Option<String>,
    },
    /// The word is no unit of the quantity, or of time.
    NoUnit {
        /// The column it was chosen for.
        column: Column,
        /// The quantity word, or "time".
        quantity: String,
        /// The word.
        unit: String,
        /// What it could be, set out with commas.
        choices: String,
    },
    /// Two columns are chosen for one thing.
    Twice {
        /// The quantity word, or "time".
        quantity: String,
        /// The column chosen first.
        first: Column,
        /// The other.
        second: Column,
    },
    /// The column that held the time is chosen for something else, and no other holds it.
    NoTime,
}

impl std::fmt::Display for ChoiceFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NoColumn { column } => write!(f, "the file has no column {column}"),
            Self::NoQuantity { column, word, nearest } => {
                write!(f, "\"{word}\", chosen for column {column}, is not a quantity")?;
                match nearest {
                    Some(nearest) => write!(f, "; did you mean \"{nearest}\"?"),
                    None => Ok(()),
                }
            }
            Self::NoUnit { column, quantity, unit, choices } => {
                write!(f, "\"{unit}\" is not a unit of {quantity} (column {column}): choose one of {choices}")
            }
            Self::Twice { quantity, first, second } => write!(
                f,
                "{quantity} is chosen for column {first} and for column {second}: it comes from one column"
            ),
            Self::NoTime => {
                write!(f, "no column holds the time any more: say which one does, and in which unit")
            }
        }
    }
}

impl std::error::Error for ChoiceFault {}

impl ColumnMap {
    /// The map with columns taken for something else; columns that no choice names stay as they are. A quantity that is
    /// chosen for one column is taken from the column that had it. Scale, offset and axes of a column stay where its
    /// quantity does, and `negate` counts beside the axes, as in the map's text.
    ///
    /// # Errors
    /// Every choice that cannot be, in their order.
    pub fn with(&self, choices: &[Choice]) -> Result<Self, Vec<ChoiceFault>> {
        self.with_known(choices, &[])
    }

    /// The same with entries that are known beside those of the map: their scale, offset and axes stay too.
    pub(crate) fn with_known(&self, choices: &[Choice], known: &[Entry]) -> Result<Self, Vec<ChoiceFault>> {
        let mut faults = Vec::new();
        let mut entries: Vec<Entry> = Vec::new();
        let mut time: Option<(Column, TimeForm)> = None;
        for choice in choices {
            match &choice.carries {
                Chosen::Nothing => {}
                Chosen::Time { unit } => match (time_form(unit), &time) {
                    (Some(form), None) => time = Some((choice.column.clone(), form)),
                    (Some(_), Some((first, _))) => faults.push(ChoiceFault::Twice {
                        quantity: "time".to_owned(),
                        first: first.clone(),
                        second: choice.column.clone(),
                    }),
                    (None, _) => faults.push(ChoiceFault::NoUnit {
                        column: choice.column.clone(),
                        quantity: "time".to_owned(),
                        unit: unit.clone(),
                        choices: time_unit_list(),
                    }),
                },
                Chosen::Quantity { quantity, unit, negate } => {
                    let made = entry(&choice.column, quantity, unit, *negate);
                    match made {
                        Err(fault) => faults.push(fault),
                        Ok(entry) => match entries.iter().find(|e| e.quantity == entry.quantity) {
                            Some(first) => faults.push(ChoiceFault::Twice {
                                quantity: quantity.clone(),
                                first: first.column.clone(),
                                second: entry.column,
                            }),
                            None => entries.push(self.as_before(entry, known)),
                        },
                    }
                }
            }
        }
        let chosen = |column: &Column| choices.iter().any(|c| c.column == *column);
        let time = match (&self.time, time) {
            (before @ TimeSource::Column { column: was, form: was_form }, Some((column, form))) => {
                // What a form says beside its unit stays with it.
                let same =
                    *was == column && super::text::time_word(was_form) == super::text::time_word(&form);
                if same { before.clone() } else { TimeSource::Column { column, form } }
            }
            (TimeSource::SteadyRate { .. }, Some((column, form))) => TimeSource::Column { column, form },
            (TimeSource::Column { column, .. }, None) if chosen(column) => {
                faults.push(ChoiceFault::NoTime);
                self.time.clone()
            }
            (before, None) => before.clone(),
        };
        if !faults.is_empty() {
            return Err(faults);
        }
        // In the order of the map; what is new comes after it.
        let mut all: Vec<Entry> = Vec::new();
        for before in &self.entries {
            match entries.iter().position(|e| e.column == before.column) {
                Some(at) => all.push(entries.remove(at)),
                None if chosen(&before.column) => {}
                None => all.push(before.clone()),
            }
        }
        all.append(&mut entries);
        let own: Vec<(Quantity, Column)> = all
            .iter()
            .filter(|e| chosen(&e.column))
            .map(|e| (e.quantity.clone(), e.column.clone()))
            .collect();
        all.retain(|e| own.iter().all(|(q, column)| *q != e.quantity || *column == e.column));
        Ok(Self { time, entries: all, ..self.clone() })
    }

    /// An entry with the scale, offset and axes that its column had for the same quantity.
    fn as_before(&self, entry: Entry, known: &[Entry]) -> Entry {
        let before = self.entries.iter().chain(known);
        match before.into_iter().find(|e| e.column == entry.column && e.quantity == entry.quantity) {
            Some(e) => Entry { scale: e.scale, offset: e.offset, axes: e.axes, ..entry },
            None => entry,
        }
    }
}

fn entry(column: &Column, word: &str, unit: &str, negate: bool) -> Result<Entry, ChoiceFault> {
    let Some(quantity) = words::quantity(word) else {
        let list = words::quantity_words();
        return Err(ChoiceFault::NoQuantity {
            column: column.clone(),
            word: word.to_owned(),
            nearest: words::nearest(word, list.iter().map(|w| w.word)).map(str::to_owned),
        });
    };
    let dimension = words::dimension(&quantity);
    if words::unit_of(dimension, unit).is_none() {
        return Err(ChoiceFault::NoUnit {
            column: column.clone(),
            quantity: word.to_owned(),
            unit: unit.to_owned(),
            choices: unit_list(dimension),
        });
    }
    let plain = Entry::plain(column.clone(), quantity, unit);
    Ok(Entry { negate, axes: Axes::ForwardRightDown, ..plain })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn map() -> ColumnMap {
        ColumnMap::from_toml(
            "[time]\ncolumn = \"t\"\nunit = \"ms\"\n\
             [[channel]]\ncolumn = \"lat\"\nquantity = \"latitude\"\nunit = \"deg\"\nscale = 1e-7\n\
             [[channel]]\ncolumn = \"a\"\nquantity = \"roll\"\nunit = \"deg\"\n\
             [[channel]]\ncolumn = \"b\"\nquantity = \"pitch\"\nunit = \"deg\"\n",
        )
        .unwrap()
    }

    fn chosen(column: &str, quantity: &str, unit: &str, negate: bool) -> Choice {
        Choice {
            column: Column::Header(column.to_owned()),
            carries: Chosen::Quantity { quantity: quantity.to_owned(), unit: unit.to_owned(), negate },
        }
    }

    #[test]
    fn columns_that_change_places_need_both_choices_and_one_takes_what_another_had() {
        let both =
            map().with(&[chosen("a", "pitch", "rad", true), chosen("b", "roll", "deg", false)]).unwrap();
        assert_eq!(both.entries.len(), 3);
        assert_eq!(both.entries[1].quantity, Quantity::Pitch);
        assert!(both.entries[1].negate && both.entries[1].unit == "rad");
        assert_eq!(both.entries[2].quantity, Quantity::Roll);
        let one = map().with(&[chosen("a", "pitch", "deg", false)]).unwrap();
        assert_eq!(one.entries.len(), 2);
        assert_eq!(one.entries[1].column, Column::Header("a".to_owned()));
    }

    #[test]
    fn scale_stays_with_its_quantity_and_nothing_is_nothing() {
        let same = map().with(&[chosen("lat", "latitude", "rad", false)]).unwrap();
        assert_eq!(same.entries[0].scale, 1e-7);
        let other = map().with(&[chosen("lat", "longitude", "deg", false)]).unwrap();
        assert_eq!(other.entries[0].scale, 1.0);
        let none =
            map().with(&[Choice { column: Column::Header("a".into()), carries: Chosen::Nothing }]).unwrap();
        assert_eq!(none.entries.len(), 2);
        assert_eq!(map().with(&[]).unwrap(), map());
    }

    #[test]
    fn time_can_move_but_not_vanish() {
        let moved = map()
            .with(&[Choice {
                column: Column::Header("clock".into()),
                carries: Chosen::Time { unit: "clock".into() },
            }])
            .unwrap();
        assert_eq!(
            moved.time,
            TimeSource::Column { column: Column::Header("clock".into()), form: time_form("clock").unwrap() }
        );
        let faults = map().with(&[chosen("t", "volts", "V", false)]).unwrap_err();
        assert_eq!(faults, [ChoiceFault::NoTime]);
    }

    #[test]
    fn every_choice_that_cannot_be_is_told_at_once() {
        let time = |unit: &str| Choice {
            column: Column::Header("t".into()),
            carries: Chosen::Time { unit: unit.into() },
        };
        let faults = map()
            .with(&[
                chosen("a", "rol", "deg", false),
                chosen("b", "pitch", "km/h", false),
                chosen("x", "volts", "V", false),
                chosen("y", "volts", "mV", false),
                time("s"),
                time("weeks"),
            ])
            .unwrap_err();
        let said: Vec<String> = faults.iter().map(ToString::to_string).collect();
        assert_eq!(faults.len(), 4, "{said:#?}");
        assert!(said[0].contains("did you mean \"roll\""), "{said:#?}");
        assert!(said[1].contains("rad, deg, turns"), "{said:#?}");
        assert!(said[2].contains("column \"x\" and for column \"y\""), "{said:#?}");
        assert!(said[3].contains("weeks") && said[3].contains("iso8601"), "{said:#?}");
    }
}
