//! What does a weather report or forecast say of the air? The groups of WMO No. 306, FM 15 (METAR), FM 16 (SPECI) and
//! FM 51 (TAF), in SI units.

pub(crate) mod groups;
pub mod phenomena;
mod words;

use phenomena::Phenomena;

/// What one part of a report says. `None`: not told, which is not the same as "none".
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Conditions {
    /// Wind at 10 m.
    pub wind: Option<Wind>,
    /// Visibility along the ground.
    pub visibility: Option<Visibility>,
    /// Present or forecast weather; an empty list says that there is none.
    pub phenomena: Option<Vec<Phenomena>>,
    /// Cloud; an empty list says that there is none of significance.
    pub clouds: Option<Vec<Cloud>>,
    /// Wind shear told apart from the wind.
    pub shear: Option<Shear>,
    /// Groups that could not be read: what they said is unknown.
    pub unread: Vec<String>,
}

/// Wind at 10 m above the ground, mean of ten minutes (two in some countries).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wind {
    /// Direction that it blows from, degrees true; none where it is variable.
    pub from_deg: Option<f64>,
    /// Mean, m/s.
    pub mean_m_s: f64,
    /// Gusts, m/s. In METAR they are told only where they exceed the mean by 5 m/s (10 kt) or more.
    pub gust_m_s: Option<f64>,
    /// Directions between which it varies, clockwise, degrees true.
    pub sector_deg: Option<[f64; 2]>,
}

/// How far one sees along the ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Visibility {
    /// Prevailing, or the least there is, m.
    pub m: f64,
    /// Whether the number is exact or a bound.
    pub bound: Bound,
    /// Least visibility in some direction, m, where it is told apart.
    pub least_m: Option<f64>,
}

impl Visibility {
    /// What one may count on in every direction, m.
    #[must_use]
    pub fn worst_m(&self) -> f64 {
        self.least_m.map_or(self.m, |least| least.min(self.m))
    }
}

/// What a number says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bound {
    /// The number itself.
    Exact,
    /// That or more.
    OrMore,
    /// Less than that.
    Below,
}

/// A layer of cloud, or the sky hidden.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cloud {
    /// How much of the sky.
    pub amount: Amount,
    /// Base above the station, m; for a hidden sky the vertical visibility. None where it was not measured.
    pub base_m: Option<f64>,
    /// Whether it is of the kinds that make thunderstorms.
    pub tower: Option<Tower>,
}

/// How much of the sky a layer covers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Amount {
    /// Not told, only that the cloud is there.
    Unknown,
    /// 1 to 2 eighths.
    Few,
    /// 3 to 4 eighths.
    Scattered,
    /// 5 to 7 eighths.
    Broken,
    /// 8 eighths.
    Overcast,
    /// The sky cannot be seen.
    Hidden,
}

impl Amount {
    /// Whether the layer counts as a ceiling; where nothing is told, it may.
    #[must_use]
    pub fn is_ceiling(self) -> bool {
        matches!(self, Self::Unknown | Self::Broken | Self::Overcast | Self::Hidden)
    }
}

/// Clouds that tower.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tower {
    /// Cumulonimbus.
    Cumulonimbus,
    /// Towering cumulus.
    ToweringCumulus,
}

/// Wind shear told as a group of its own.
#[derive(Debug, Clone, PartialEq)]
pub enum Shear {
    /// On a runway, as pilots or instruments reported it.
    Runway {
        /// Which, as coded ("R24", "ALL RWY").
        which: String,
    },
    /// Forecast wind at a height.
    AtHeight {
        /// Height above the station, m.
        height_m: f64,
        /// Direction there, degrees true.
        from_deg: f64,
        /// Speed there, m/s.
        speed_m_s: f64,
    },
}

impl Conditions {
    /// These conditions with those of a change group laid over them: what it tells replaces, what it leaves out stays.
    #[must_use]
    pub fn with(&self, change: &Self) -> Self {
        Self {
            wind: change.wind.or(self.wind),
            visibility: change.visibility.or(self.visibility),
            phenomena: change.phenomena.clone().or_else(|| self.phenomena.clone()),
            clouds: change.clouds.clone().or_else(|| self.clouds.clone()),
            shear: change.shear.clone().or_else(|| self.shear.clone()),
            unread: self.unread.iter().chain(&change.unread).cloned().collect(),
        }
    }

    /// Height of the lowest layer that counts as a ceiling, m above the station: `Some(None)` where there is none,
    /// `None` where cloud was not told or a layer's base is missing.
    #[must_use]
    pub fn ceiling_m(&self) -> Option<Option<f64>> {
        let clouds = self.clouds.as_ref()?;
        let mut lowest: Option<f64> = None;
        for cloud in clouds.iter().filter(|c| c.amount.is_ceiling()) {
            let base = cloud.base_m?;
            lowest = Some(lowest.map_or(base, |l| l.min(base)));
        }
        Some(lowest)
    }

    /// Base of the lowest cloud of any amount, m above the station; as [`Self::ceiling_m`] otherwise.
    #[must_use]
    pub fn lowest_cloud_m(&self) -> Option<Option<f64>> {
        let clouds = self.clouds.as_ref()?;
        let mut lowest: Option<f64> = None;
        for cloud in clouds {
            let base = cloud.base_m?;
            lowest = Some(lowest.map_or(base, |l| l.min(base)));
        }
        Some(lowest)
    }
}

/// A group of a report that was not taken, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Flaw {
    /// The group as it stands in the report.
    pub group: String,
    /// Which group of the report it is, from 1.
    pub place: usize,
    /// What is wrong with it.
    pub why: String,
}

impl std::fmt::Display for Flaw {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "group {} \u{201c}{}\u{201d}: {}", self.place, self.group, self.why)
    }
}

/// Why a text is no report at all.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NotAReport {
    /// Nothing is written there.
    Empty,
    /// It is longer than any report.
    TooLong {
        /// Its length, characters.
        characters: usize,
    },
    /// No station of four letters and digits begins it.
    NoStation {
        /// What stands there.
        found: String,
    },
    /// No time of six digits and Z follows the station.
    NoTime {
        /// What stands there.
        found: String,
    },
    /// The day or time cannot be.
    ImpossibleTime {
        /// As coded.
        found: String,
    },
    /// A forecast without the period that it holds for.
    NoPeriod {
        /// What stands there.
        found: String,
    },
    /// Nothing of the code form could be read in it, or less than what could not be.
    Unreadable {
        /// The groups that could not be read.
        groups: Vec<String>,
        /// How many could.
        read: usize,
    },
}

impl std::fmt::Display for NotAReport {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Empty => write!(f, "there is no text in it"),
            Self::TooLong { characters } => {
                write!(f, "{characters} characters are more than a report has; give one report alone")
            }
            Self::NoStation { found } => write!(
                f,
                "a report begins with its station, four letters or digits (EDDH); found \u{201c}{found}\u{201d}"
            ),
            Self::NoTime { found } => write!(
                f,
                "after the station stand day, hour and minute in UTC (191250Z); found \u{201c}{found}\u{201d}"
            ),
            Self::ImpossibleTime { found } => {
                write!(f, "\u{201c}{found}\u{201d} is no day and time that there is")
            }
            Self::NoPeriod { found } => write!(
                f,
                "a forecast says from which day and hour to which it holds (1912/2018); found \u{201c}{found}\u{201d}"
            ),
            Self::Unreadable { groups, read } => {
                write!(f, "{read} groups could be read and {} could not: {}", groups.len(), groups.join(" "))
            }
        }
    }
}

impl std::error::Error for NotAReport {}
