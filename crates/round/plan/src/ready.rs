//! Am I ready? Lists for home, field and launch, built from this aircraft: what to look at, what to measure, and what each
//! measurement must come to by the model.

mod drive;
mod items;

use aircraft::Aircraft;
use predict::prediction::Prediction;

use crate::number;

/// Where a list is gone through.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Place {
    /// On the bench, days before.
    Home,
    /// At the field, after unpacking.
    Field,
    /// In the last minutes before the launch.
    Launch,
}

impl Place {
    /// All of them, in the order in which they come.
    pub const ALL: [Self; 3] = [Self::Home, Self::Field, Self::Launch];

    /// The word used on the command line and in JSON.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Home => "home",
            Self::Field => "field",
            Self::Launch => "launch",
        }
    }

    /// The place of a word.
    #[must_use]
    pub fn of(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|p| p.word() == word)
    }
}

/// One line of a list.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// Identifier, unique; that of a measurement ends in its unit.
    pub id: String,
    /// Where.
    pub place: Place,
    /// What, in a few words.
    pub title: String,
    /// How.
    pub how: String,
    /// What to beware of, where it can hurt somebody.
    pub caution: Option<&'static str>,
    /// What it must come to.
    pub expects: Expects,
}

/// What an item must come to.
#[derive(Debug, Clone, PartialEq)]
pub enum Expects {
    /// Looked at and found right.
    Done,
    /// A number.
    Between {
        /// Least that passes.
        low: f64,
        /// Most that passes.
        high: f64,
        /// Unit, as numbers are written.
        unit: &'static str,
        /// Where the two come from.
        from: String,
        /// Whether the aircraft may be without it: then "none" passes.
        may_be_absent: bool,
    },
    /// A number that cannot be judged, and why: it is kept, and counts as open.
    Unknown {
        /// Unit, as numbers are written.
        unit: &'static str,
        /// Why there is nothing to hold it against.
        why: String,
    },
}

/// How an item stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// It is as it must be.
    Passed,
    /// It is not: no flight before it is.
    Failed,
    /// Nobody looked, or there is nothing to hold the number against.
    Open,
}

impl Standing {
    /// The word used in JSON, kept and shown to people.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Passed => "passed",
            Self::Failed => "failed",
            Self::Open => "open",
        }
    }
}

/// A value judged.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// The value as it is kept: "done", "not done", or the number.
    pub value: String,
    /// How the item stands with it.
    pub standing: Standing,
    /// Value and expectation in words.
    pub words: String,
}

/// Why a text is no value of an item.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotAValue {
    /// What is wrong and what to write.
    pub what: String,
}

impl std::fmt::Display for NotAValue {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.what)
    }
}

impl std::error::Error for NotAValue {}

impl Expects {
    /// What it must come to, in words.
    #[must_use]
    pub fn words(&self) -> String {
        let told = |value: f64, unit: &str| number::exact(value, unit);
        match self {
            Self::Done => "done".to_owned(),
            Self::Between { low, high, unit, from, .. } if high.is_infinite() => {
                format!("{} or more ({from})", told(*low, unit))
            }
            Self::Between { low, high, unit, from, .. } if *low <= 0.0 => {
                format!("at most {} ({from})", told(*high, unit))
            }
            Self::Between { low, high, unit, from, .. } => {
                format!("{} to {} ({from})", number::plain(*low), told(*high, unit))
            }
            Self::Unknown { unit, why } => format!("a number in {unit}; what it must be is unknown: {why}"),
        }
    }
}

impl Item {
    /// Judges what somebody typed.
    ///
    /// # Errors
    /// When it is no value of this item.
    pub fn judge(&self, typed: &str) -> Result<Judged, NotAValue> {
        let typed = typed.trim();
        let word = typed.to_lowercase();
        match &self.expects {
            Expects::Done => {
                let (head, note) = word.split_once(':').map_or((word.as_str(), ""), |(h, _)| {
                    (h, typed.split_once(':').map_or("", |(_, note)| note.trim()))
                });
                let done = matches!(head.trim(), "yes" | "ok" | "done" | "pass" | "passed" | "true" | "y");
                let not =
                    matches!(head.trim(), "not done" | "no" | "fail" | "failed" | "false" | "n" | "bad");
                if !done && !not {
                    return Err(NotAValue {
                        what: format!(
                            "\u{201c}{typed}\u{201d} is no answer to {}: write done or failed, with a note behind a colon \
                             if you like",
                            self.id
                        ),
                    });
                }
                let value = if done { "done" } else { "not done" };
                let value = if note.is_empty() { value.to_owned() } else { format!("{value}: {note}") };
                Ok(Judged {
                    words: value.clone(),
                    value,
                    standing: if done { Standing::Passed } else { Standing::Failed },
                })
            }
            Expects::Between { low, high, unit, may_be_absent, .. } => {
                if *may_be_absent && word == "none" {
                    return Ok(Judged {
                        value: "none".to_owned(),
                        standing: Standing::Passed,
                        words: "not fitted".to_owned(),
                    });
                }
                let number = self.number(typed, unit)?;
                let passed = (*low..=*high).contains(&number);
                let words = format!(
                    "{}, {} {}",
                    number::exact(number, unit),
                    if passed { "within" } else { "outside" },
                    self.expects.words()
                );
                let standing = if passed { Standing::Passed } else { Standing::Failed };
                Ok(Judged { value: format!("{number}"), standing, words })
            }
            Expects::Unknown { unit, why } => {
                let number = self.number(typed, unit)?;
                Ok(Judged {
                    value: format!("{number}"),
                    standing: Standing::Open,
                    words: format!("{}; nothing to hold it against: {why}", number::exact(number, unit)),
                })
            }
        }
    }

    fn number(&self, typed: &str, unit: &str) -> Result<f64, NotAValue> {
        let bare = typed
            .strip_suffix(unit)
            .or_else(|| typed.strip_suffix(number::readable_unit(unit).as_str()))
            .unwrap_or(typed)
            .trim();
        match bare.parse::<f64>() {
            Ok(number) if number.is_finite() && number >= 0.0 => Ok(number),
            _ => Err(NotAValue {
                what: format!(
                    "\u{201c}{typed}\u{201d} is no measurement of {}: write a number{}, from 0 up",
                    self.id,
                    if unit.is_empty() {
                        String::new()
                    } else {
                        format!(" in {}", number::readable_unit(unit))
                    }
                ),
            }),
        }
    }
}

/// The lists of an aircraft, all places in order. `first_flight`: the balance point is held to the narrower range.
#[must_use]
pub fn list(aircraft: &Aircraft, prediction: &Prediction, first_flight: bool) -> Vec<Item> {
    let mut out = items::home(aircraft, prediction, first_flight);
    out.extend(drive::home(aircraft, prediction));
    out.extend(items::field(aircraft));
    out.extend(items::launch(aircraft));
    out
}

/// The item that somebody means: by its identifier, or by it without its unit.
#[must_use]
pub fn find<'a>(items: &'a [Item], id: &str) -> Option<&'a Item> {
    items.iter().find(|i| i.id == id).or_else(|| {
        let mut close = items.iter().filter(|i| {
            i.id.strip_prefix(id)
                .is_some_and(|rest| rest.strip_prefix('_').is_some_and(|unit| !unit.contains('_')))
        });
        let found = close.next();
        found.filter(|_| close.next().is_none())
    })
}
