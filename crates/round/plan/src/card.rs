//! What does the next flight's card say? Test points in order with expected numbers, calls, stop rules, cautions.

use aircraft::Aircraft;
use predict::prediction::Prediction;

use crate::catalogue::Catalogue;
use crate::choose;
use crate::day::Verdict;
use crate::day::limits::Limit;
use crate::day::points::Day;
use crate::outstanding::Outstanding;

/// A card for one flight.
#[derive(Debug, Clone, PartialEq)]
pub struct Card {
    /// Aircraft it is for.
    pub aircraft: String,
    /// "First flight of Merle", say.
    pub title: String,
    /// Work on the bench before this flight, with its caution: what the last flights ask for and a person has to set.
    /// Stands before everything else.
    pub bench_work: Vec<String>,
    /// Facts the pilot wants at a glance: name, value with unit and doubt.
    pub facts: Vec<Fact>,
    /// Cautions, local rules first.
    pub cautions: Vec<String>,
    /// What to do when something goes wrong: what happened, what to do.
    pub emergencies: Vec<(String, String)>,
    /// Test points in flying order.
    pub points: Vec<Point>,
    /// Points left out, with the reason.
    pub left_out: Vec<(String, String)>,
    /// What the day says, where it was told.
    pub day: Option<CardDay>,
    /// Flight time planned, s.
    pub planned_s: f64,
    /// Flight time that the pack allows with its reserve, s, if predicted: level flight at cruise, the low end of
    /// the prediction.
    pub allowed_s: Option<f64>,
    /// What the planned flight takes from the pack, as seconds of level flight at cruise, if predicted. To be held
    /// against `allowed_s`.
    pub planned_cruise_s: Option<f64>,
}

/// The day on a card.
#[derive(Debug, Clone, PartialEq)]
pub struct CardDay {
    /// May it be flown?
    pub verdict: Verdict,
    /// When, in words.
    pub at: String,
    /// The weather it was judged by, a line each.
    pub weather: Vec<String>,
    /// What stands against it or limits it, the gravest first.
    pub reasons: Vec<String>,
    /// Points that stay under a condition, by identifier.
    pub conditions: Vec<(String, Vec<String>)>,
    /// Limits that the builder loosened.
    pub loosened: Vec<String>,
}

/// A named number for people.
#[derive(Debug, Clone, PartialEq)]
pub struct Fact {
    /// What it is.
    pub name: String,
    /// Value with unit and doubt, ready to read; or why there is none.
    pub text: String,
}

/// A test point on the card.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// Identifier in the catalogue.
    pub id: String,
    /// Title.
    pub title: String,
    /// Why it is flown.
    pub purpose: String,
    /// How the stick acts ("direct"); "any" where it does not matter.
    pub acts: String,
    /// The builder's name of the switch position that makes it act so, if the file tells it.
    pub switch: Option<String>,
    /// Whether it is done on the ground, before the launch.
    pub on_ground: bool,
    /// What it lets be learnt, as the findings document names it.
    pub yields: Vec<String>,
    /// Steps for the pilot.
    pub steps: Vec<String>,
    /// Calls for the helper.
    pub calls: Vec<String>,
    /// What to watch.
    pub watch: Vec<String>,
    /// What to expect, with numbers from this aircraft's predictions.
    pub expect: Vec<Fact>,
    /// When to stop.
    pub stop: Vec<String>,
    /// Duration, s.
    pub duration_s: f64,
}

/// The day, as far as the choice of points asks: wind at the height of flight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weather {
    /// Mean wind, m/s.
    pub wind_m_s: f64,
    /// Gusts, m/s; not below the mean wind.
    pub gust_m_s: f64,
    /// Where it blows from, degrees true, if known.
    pub from_deg: Option<f64>,
}

/// Why there is no card.
#[derive(Debug, Clone, PartialEq)]
pub enum NoCard {
    /// The weather is not one: negative, not a number, or gusts below the mean.
    Weather {
        /// What is wrong.
        what: String,
    },
    /// Something that every flight needs is not possible today with this aircraft.
    NotToday {
        /// What stands against it, each with number and limit.
        reasons: Vec<String>,
    },
    /// The catalogue of test points has mistakes.
    Catalogue {
        /// Each with its line.
        mistakes: Vec<String>,
    },
}

impl std::fmt::Display for NoCard {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Weather { what } => write!(f, "the weather cannot be used: {what}"),
            Self::NotToday { reasons } => write!(f, "no flight today: {}", reasons.join("; ")),
            Self::Catalogue { mistakes } => {
                write!(f, "the catalogue of test points has mistakes: {}", mistakes.join("; "))
            }
        }
    }
}

/// The card of the next flight, from the catalogue that the program carries.
///
/// # Errors
/// When the weather is not one, or something that every flight needs is not possible.
pub fn build(
    aircraft: &Aircraft,
    prediction: &Prediction,
    outstanding: &Outstanding,
    weather: &Weather,
) -> Result<Card, NoCard> {
    let catalogue = Catalogue::built_in().map_err(|mistakes| NoCard::Catalogue {
        mistakes: mistakes.iter().map(ToString::to_string).collect(),
    })?;
    choose::card(&catalogue, aircraft, prediction, outstanding, weather)
}

/// The card of the next flight on a day that was judged: points that the day does not allow are left out with its
/// reasons. On a no-go day the ground checks alone remain. `told`: the weather it was judged by, a line each.
///
/// # Errors
/// When the aircraft itself is not to be flown, or the catalogue has mistakes.
pub fn build_for_day(
    aircraft: &Aircraft,
    prediction: &Prediction,
    outstanding: &Outstanding,
    day: &Day,
    told: Vec<String>,
) -> Result<Card, NoCard> {
    let catalogue = Catalogue::built_in().map_err(|mistakes| NoCard::Catalogue {
        mistakes: mistakes.iter().map(ToString::to_string).collect(),
    })?;
    let mut card = choose::card_on(&catalogue, aircraft, prediction, outstanding, day)?;
    let limited = |p: &&Point| !p.on_ground;
    card.day = Some(CardDay {
        verdict: day.verdict,
        at: day.when(),
        weather: told,
        reasons: day.against().map(|r| r.text.clone()).collect(),
        conditions: card
            .points
            .iter()
            .filter(limited)
            .filter_map(|p| day.point(&p.id))
            .filter(|p| p.verdict == Verdict::Part)
            .map(|p| (p.id.clone(), p.reasons.clone()))
            .collect(),
        loosened: day.limits.iter().filter_map(Limit::loosened).collect(),
    });
    Ok(card)
}
