//! Where does a number come from, and how sure is it?

use numerics::uncertain::Uncertain;

/// Where a number comes from. Measured beats computed everywhere.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Origin {
    /// Computed from the description.
    Predicted,
    /// Written in the file without saying how it is known.
    Stated,
    /// Measured on the bench.
    Measured,
    /// Learnt from a recorded flight.
    Flown,
}

impl Origin {
    /// The word used in files and JSON.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Predicted => "predicted",
            Self::Stated => "stated",
            Self::Measured => "measured",
            Self::Flown => "flown",
        }
    }

    /// The origin that a word of the file names.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        [Self::Predicted, Self::Stated, Self::Measured, Self::Flown].into_iter().find(|o| o.word() == word)
    }
}

/// A value with its standard deviation and where it comes from; the unit is in the name of its holder.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Known {
    /// Best value.
    pub value: f64,
    /// One standard deviation.
    pub sd: f64,
    /// Where it comes from.
    pub from: Origin,
}

impl Known {
    /// A value as the file states it.
    #[must_use]
    pub fn stated(value: f64, sd: f64) -> Self {
        Self { value, sd, from: Origin::Stated }
    }

    /// A computed value.
    #[must_use]
    pub fn predicted(value: f64, sd: f64) -> Self {
        Self { value, sd, from: Origin::Predicted }
    }

    /// Value and standard deviation without the origin.
    #[must_use]
    pub fn uncertain(self) -> Uncertain {
        Uncertain { value: self.value, sd: self.sd }
    }
}
