//! Is it a day for this aircraft? What is known of the air, held against limits that follow from the aircraft's own
//! numbers: go, part of the plan, or no-go, with reasons, test point by test point and hour by hour.
//!
//! What is not known counts as unknown and never as go.

pub mod hours;
pub mod judge;
pub mod limits;
pub mod points;
mod turbulence;

use numerics::units::M_PER_FT;
use sky::daylight::Daylight;
use sky::instant::Instant;
use sky::taf::Kind;
use sky::weather::Conditions;
use sky::zone::Zone;

/// Gust of three seconds over the mean of ten minutes over open country, where nobody tells the gusts (WMO, Guidelines
/// for converting between various wind averaging periods, TCP/1555, 2010, from memory: 1.38 inland, 1.5 to 1.7 rough).
pub const USUAL_GUST_FACTOR: f64 = 1.4;
/// Height at which reports tell the wind, m.
pub const REPORT_HEIGHT_M: f64 = 10.0;
/// Roughness of a grass field, m (Davenport, as in [`sky::wind::Profile`]).
pub const FIELD_ROUGHNESS_M: f64 = 0.03;
/// Height at which a model flies most of its test points, m.
pub const FLIGHT_HEIGHT_M: f64 = 60.0;
/// Longest time a report may lie back and still stand for the air of now, s (common practice: reports come hourly).
pub const FRESH_S: i64 = 7200;

/// May it be flown?
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// Nothing stands against it that is known.
    Go,
    /// Part of the plan, or under a condition that is told.
    Part,
    /// Not.
    NoGo,
}

impl Verdict {
    /// The word used in JSON and shown to people.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Go => "go",
            Self::Part => "part",
            Self::NoGo => "no-go",
        }
    }
}

/// What one source says of the air.
#[derive(Debug, Clone, PartialEq)]
pub struct Sight {
    /// Who says it ("METAR EDDH of 12:50 UTC").
    pub source: String,
    /// How it holds.
    pub kind: Kind,
    /// What it says; the wind at 10 m.
    pub conditions: Conditions,
    /// Temperature, K.
    pub temperature_k: Option<f64>,
    /// What a launch into its wind comes to.
    pub launch: Launch,
}

/// What a launch into a wind comes to.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Launch {
    /// Nobody computed it.
    #[default]
    NotComputed,
    /// Simulated many times.
    Computed(Computed),
    /// It cannot be computed; why.
    Refused(String),
}

/// Launches simulated into one wind.
#[derive(Debug, Clone, PartialEq)]
pub struct Computed {
    /// Share of clean climb-outs, 0 to 1.
    pub clean: f64,
    /// Low end of its interval of 95 % (Wilson).
    pub low: f64,
    /// High end.
    pub high: f64,
    /// Launches simulated.
    pub runs: u64,
    /// Which launch, in words ("thrown by hand straight into 3.1 m/s, gusts 4.6 m/s").
    pub which: String,
    /// What drives the failures most, where something does.
    pub driver: Option<String>,
}

/// The wind of a sight, gusts estimated where nobody told them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Blowing {
    /// Mean at 10 m, m/s.
    pub mean_m_s: f64,
    /// Gusts at 10 m, m/s.
    pub gust_m_s: f64,
    /// Whether the gusts are only an estimate from the mean.
    pub estimated: bool,
    /// Where it blows from, degrees true.
    pub from_deg: Option<f64>,
}

impl Sight {
    /// Its wind.
    #[must_use]
    pub fn blowing(&self) -> Option<Blowing> {
        let wind = self.conditions.wind?;
        let estimate = USUAL_GUST_FACTOR * wind.mean_m_s;
        Some(Blowing {
            mean_m_s: wind.mean_m_s,
            gust_m_s: wind.gust_m_s.unwrap_or(estimate),
            estimated: wind.gust_m_s.is_none() && wind.mean_m_s > 0.0,
            from_deg: wind.from_deg,
        })
    }

    /// Its place in words: "TAF EDDH, TEMPO".
    #[must_use]
    pub fn told_by(&self) -> String {
        let code = self.kind.code();
        if code.is_empty() { self.source.clone() } else { format!("{}, {code}", self.source) }
    }
}

/// What somebody says that a launch comes to, in place of what is computed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LaunchOdds {
    /// Low end of the interval of 95 % of the probability of a clean climb-out.
    pub low: f64,
}

/// All that is known of a span of time at the field.
#[derive(Debug, Clone, PartialEq)]
pub struct Moment {
    /// When the flight begins.
    pub from: Instant,
    /// When it ends at the latest.
    pub to: Instant,
    /// What the sources say, the one that prevails first. Several mean that each may be the case.
    pub sights: Vec<Sight>,
    /// The light of the day, where the place is known.
    pub light: Option<Daylight>,
    /// Direction of the strip or of the launch, degrees true.
    pub heading_deg: Option<f64>,
    /// Odds of the launch that were told: they count in place of those of the sights.
    pub odds: Option<LaunchOdds>,
    /// What grounds the aircraft whatever the weather: a readiness item that failed, a defect that is open.
    pub grounds: Vec<String>,
    /// The clocks of the place.
    pub zone: Zone,
}

/// Takes a wind measured at one height to another by the logarithmic profile over a grass field.
#[must_use]
pub fn at_height(speed_m_s: f64, measured_m: f64, wanted_m: f64) -> f64 {
    let share = |h: f64| (h.max(10.0 * FIELD_ROUGHNESS_M) / FIELD_ROUGHNESS_M).ln();
    speed_m_s * share(wanted_m) / share(measured_m)
}

/// Height at which the low-altitude turbulence model takes its wind, m.
pub(crate) const TURBULENCE_WIND_M: f64 = 20.0 * M_PER_FT;
