//! Which column of a file is what? The column map: how a file is laid out, and what each column carries.

use crate::recording::Quantity;
use crate::words::{self, Dimension};

mod choices;
mod text;

pub use choices::{Choice, ChoiceFault, Chosen};
pub use text::MapFault;
pub(crate) use text::entry_text;

/// A column, by its header or by its number.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Column {
    /// By its header (the cells of several header lines joined by a space).
    Header(String),
    /// By its number; the first column is 1.
    Number(usize),
}

impl std::fmt::Display for Column {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Header(name) => write!(f, "\"{name}\""),
            Self::Number(number) => write!(f, "number {number}"),
        }
    }
}

/// How the time of a row is written.
#[derive(Debug, Clone, PartialEq)]
pub enum TimeForm {
    /// A number; this many seconds make one of it (0.001 for milliseconds).
    Number {
        /// Seconds in one unit of the column.
        seconds: f64,
    },
    /// Clock text, `hh:mm:ss` with or without decimals; midnight is passed over.
    Clock {
        /// How far the clock is ahead of universal time, s.
        zone_s: f64,
    },
    /// Date and time as ISO 8601 writes them, with `T` or a space between, with or without zone.
    DateTime {
        /// How far dates without a zone are ahead of universal time, s.
        zone_s: f64,
    },
    /// Time of the satellites' week, as receivers give it.
    Gps {
        /// Seconds in one unit of the column.
        seconds: f64,
        /// The number of the week.
        week: Week,
    },
}

/// Where the number of the satellites' week comes from.
#[derive(Debug, Clone, PartialEq)]
pub enum Week {
    /// A column.
    Column(Column),
    /// It is this one at the first row, counted from 1980-01-06.
    Number(u32),
    /// It is not known: times within the week, and no date.
    Unknown,
}

/// Where the time of a row comes from.
#[derive(Debug, Clone, PartialEq)]
pub enum TimeSource {
    /// A column.
    Column {
        /// Which.
        column: Column,
        /// How it is written.
        form: TimeForm,
    },
    /// No column: rows follow each other at a steady rate.
    SteadyRate {
        /// Rows a second.
        rate_hz: f64,
    },
}

/// Which way the axes of a column point, where not forward, right, down.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Axes {
    /// The program's own (ISO 1151): nothing is turned.
    ForwardRightDown,
    /// x forward, y left, z up: quantities about or along y and z change sign.
    ForwardLeftUp,
    /// The vertical one of them upward: a climb speed for the velocity downward, an upward force.
    UpPositive,
}

impl Axes {
    /// Every axes word.
    pub const WORDS: &'static [(&'static str, Self)] = &[
        ("forward-right-down", Self::ForwardRightDown),
        ("forward-left-up", Self::ForwardLeftUp),
        ("up-positive", Self::UpPositive),
    ];

    /// The word of a column map.
    #[must_use]
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(_, a)| *a == self).map_or("forward-right-down", |(w, _)| w)
    }

    /// What a quantity told in these axes is multiplied by; nothing if the note says nothing about it.
    #[must_use]
    pub fn sign(self, quantity: &Quantity) -> Option<f64> {
        use Quantity as Q;
        let body = matches!(
            quantity,
            Q::Roll | Q::Pitch | Q::RollRate | Q::PitchRate | Q::YawRate | Q::ForceX | Q::ForceY | Q::ForceZ
        );
        match self {
            Self::ForwardRightDown => (body || *quantity == Q::VelocityDown).then_some(1.0),
            Self::ForwardLeftUp if !body => None,
            Self::ForwardLeftUp => Some(match quantity {
                Q::Roll | Q::RollRate | Q::ForceX => 1.0,
                _ => -1.0,
            }),
            Self::UpPositive => matches!(quantity, Q::VelocityDown | Q::ForceZ).then_some(-1.0),
        }
    }
}

/// What one column carries.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Which column.
    pub column: Column,
    /// What it carries.
    pub quantity: Quantity,
    /// Unit word, one of the quantity's dimension (`words::UNITS`).
    pub unit: String,
    /// Whether its sign is the other way round.
    pub negate: bool,
    /// Added to the number after `scale`, in the unit.
    pub offset: f64,
    /// Multiplies the number as it stands in the file.
    pub scale: f64,
    /// Which way its axes point.
    pub axes: Axes,
}

impl Entry {
    /// An entry in a unit without offset, scale or turned axes.
    #[must_use]
    pub fn plain(column: Column, quantity: Quantity, unit: &str) -> Self {
        Self {
            column,
            quantity,
            unit: unit.to_owned(),
            negate: false,
            offset: 0.0,
            scale: 1.0,
            axes: Axes::ForwardRightDown,
        }
    }

    /// Factor and summand that turn the number in the file into the kept value:
    /// ± ((number × scale + offset) × unit factor + unit offset). Nothing if the unit does not fit the quantity.
    #[must_use]
    pub fn line(&self) -> Option<(f64, f64)> {
        let unit = words::unit_of(words::dimension(&self.quantity), &self.unit)?;
        let axes = match self.axes {
            Axes::ForwardRightDown => 1.0,
            turned => turned.sign(&self.quantity)?,
        };
        let sign = if self.negate { -axes } else { axes };
        Some((sign * self.scale * unit.factor, sign * (self.offset * unit.factor + unit.offset)))
    }
}

/// How a file is laid out and what its columns carry.
#[derive(Debug, Clone, PartialEq)]
pub struct ColumnMap {
    /// The byte between cells; a space stands for any run of spaces.
    pub delimiter: u8,
    /// Whether decimals follow a comma.
    pub decimal_comma: bool,
    /// What a line begins with that is a comment.
    pub comment: Option<String>,
    /// Lines before the header that are passed over.
    pub skip_lines: usize,
    /// Lines of column headers.
    pub header_lines: usize,
    /// Whether the header lines themselves begin with the comment prefix.
    pub header_in_comment: bool,
    /// Where time comes from.
    pub time: TimeSource,
    /// What the columns carry, each quantity at most once.
    pub entries: Vec<Entry>,
}

impl ColumnMap {
    /// Reads a column map, telling every fault of it at once.
    pub fn from_toml(text: &str) -> Result<Self, Vec<MapFault>> {
        text::read(text)
    }

    /// Writes the map as a commented file that `from_toml` reads back to the same map.
    #[must_use]
    pub fn to_toml(&self) -> String {
        text::write(self)
    }
}

/// The form of time that a unit word of `[time]` stands for.
#[must_use]
pub fn time_form(word: &str) -> Option<TimeForm> {
    text::time_forms().into_iter().find(|(w, _)| *w == word).map(|(_, form)| form)
}

/// The unit words of `[time]`, for lists to choose from.
#[must_use]
pub fn time_unit_words() -> Vec<&'static str> {
    text::time_forms().into_iter().map(|(word, _)| word).collect()
}

fn time_unit_list() -> String {
    time_unit_words().join(", ")
}

/// The delimiters and the words for them.
pub(crate) const DELIMITERS: &[(&str, u8)] =
    &[(",", b','), (";", b';'), ("tab", b'\t'), ("space", b' '), ("|", b'|')];

/// Units of a numeric time column and the seconds in each.
pub(crate) const TIME_UNITS: &[(&str, f64)] =
    &[("s", 1.0), ("ms", 1e-3), ("us", 1e-6), ("ns", 1e-9), ("min", 60.0), ("h", 3600.0)];

/// The words of the units of a dimension, for messages.
pub(crate) fn unit_list(dimension: Dimension) -> String {
    words::units_of(dimension).map(|u| u.word).collect::<Vec<_>>().join(", ")
}
