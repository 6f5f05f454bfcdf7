//! Which test points does the day allow? The reasons against the flight, and each point's own limits.

use std::collections::{BTreeMap, BTreeSet};

use aircraft::Aircraft;
use predict::prediction::Prediction;
use sky::instant::Instant;
use sky::zone::Zone;

use super::judge::{self, Reason, Standing};
use super::limits::{Limit, NotKnown, Own, limits};
use super::{Moment, Verdict};
use crate::card::Weather;
use crate::catalogue::{Catalogue, TestPoint};
use crate::choose;
use crate::names::Scope;
use crate::outstanding::Outstanding;

/// What the day says of one test point.
#[derive(Debug, Clone, PartialEq)]
pub struct PointDay {
    /// Identifier.
    pub id: String,
    /// Title.
    pub title: String,
    /// May it be flown?
    pub verdict: Verdict,
    /// Whether the next flight would have it in calm air.
    pub planned: bool,
    /// Whether it is done on the ground.
    pub on_ground: bool,
    /// What stands against it or limits it.
    pub reasons: Vec<String>,
}

/// A time judged.
#[derive(Debug, Clone, PartialEq)]
pub struct Day {
    /// When the flight begins.
    pub at: Instant,
    /// May it be flown?
    pub verdict: Verdict,
    /// Whether it was held to the limits of a first flight.
    pub first_flight: bool,
    /// Every limit with how it stands, the gravest first.
    pub reasons: Vec<Reason>,
    /// Test point by test point, in flying order.
    pub points: Vec<PointDay>,
    /// The limits that it was held against.
    pub limits: Vec<Limit>,
    /// The wind that the card is made for: the strongest that any source gives more than an even chance (before a first
    /// flight: any).
    pub weather: Option<Weather>,
    /// The clocks of the place.
    pub zone: Zone,
}

impl Day {
    /// When the flight begins, by the clocks of the place and UTC.
    #[must_use]
    pub fn when(&self) -> String {
        self.zone.date_and_clock(self.at)
    }

    /// What the day says of a point.
    #[must_use]
    pub fn point(&self, id: &str) -> Option<&PointDay> {
        self.points.iter().find(|p| p.id == id)
    }

    /// Reasons that are not merely met, for people: those that stand against it or are unknown.
    pub fn against(&self) -> impl Iterator<Item = &Reason> {
        self.reasons.iter().filter(|r| r.standing != Standing::Fits)
    }
}

/// What a day is judged for: the same for every hour.
#[derive(Debug, Clone)]
pub struct Judged<'a> {
    /// The aircraft.
    pub aircraft: &'a Aircraft,
    /// What is predicted of it in the day's air.
    pub prediction: &'a Prediction,
    /// What is still to be flown.
    pub outstanding: &'a Outstanding,
    catalogue: Catalogue,
    limits: Vec<Limit>,
    unknown: Vec<NotKnown>,
    planned: BTreeSet<String>,
}

impl<'a> Judged<'a> {
    /// Works out the limits, and which points the next flight would have in calm air. `own`: what the builder sets.
    #[must_use]
    pub fn new(
        catalogue: &Catalogue,
        aircraft: &'a Aircraft,
        prediction: &'a Prediction,
        outstanding: &'a Outstanding,
        own: &Own,
    ) -> Self {
        let catalogue = catalogue.for_start(aircraft.start.how.word());
        let (limits, unknown) = limits(aircraft, prediction, outstanding.flights == 0, own);
        let calm = Weather { wind_m_s: 0.0, gust_m_s: 0.0, from_deg: None };
        let planned = choose::card(&catalogue, aircraft, prediction, outstanding, &calm)
            .map(|card| card.points.into_iter().map(|p| p.id).collect())
            .unwrap_or_default();
        Self { aircraft, prediction, outstanding, catalogue, limits, unknown, planned }
    }

    /// Judges a time.
    #[must_use]
    pub fn at(&self, moment: &Moment) -> Day {
        let first_flight = self.outstanding.flights == 0;
        let mut moment = moment.clone();
        // What the aircraft is predicted to be stands before any weather.
        let calm = Weather { wind_m_s: 0.0, gust_m_s: 0.0, from_deg: None };
        let scope = Scope { aircraft: self.aircraft, prediction: self.prediction, weather: &calm };
        moment.grounds.extend(crate::advice::against_flying(&scope, first_flight));
        let reasons = judge::reasons(&moment, self.prediction, &self.limits, &self.unknown, first_flight);
        let weather = wind_for_the_card(&moment, first_flight);
        let whole = judge::verdict(&reasons);
        let points: Vec<PointDay> = self
            .catalogue
            .points
            .iter()
            .map(|point| self.point(point, &reasons, weather.as_ref(), whole))
            .collect();
        let mut verdict = whole;
        for point in points.iter().filter(|p| p.planned) {
            let decides = self.catalogue.point(&point.id).is_some_and(|p| p.decides_the_flight);
            match point.verdict {
                Verdict::NoGo if decides => verdict = Verdict::NoGo,
                Verdict::NoGo | Verdict::Part => verdict = verdict.max(Verdict::Part),
                Verdict::Go => {}
            }
        }
        Day {
            at: moment.from,
            verdict,
            first_flight,
            reasons,
            points,
            limits: self.limits.clone(),
            weather,
            zone: moment.zone,
        }
    }

    fn point(
        &self,
        point: &TestPoint,
        reasons: &[Reason],
        weather: Option<&Weather>,
        whole: Verdict,
    ) -> PointDay {
        let mut out = PointDay {
            id: point.id.clone(),
            title: point.title.clone(),
            verdict: Verdict::Go,
            planned: self.planned.contains(&point.id),
            on_ground: point.on_ground,
            reasons: Vec::new(),
        };
        if point.on_ground {
            return out;
        }
        for reason in reasons.iter().filter(|r| r.standing != Standing::Fits) {
            let verdict = match reason.standing {
                Standing::Against => Verdict::NoGo,
                // In wind one may still trim, but not tune.
                Standing::Part if reason.spoils_measuring && !point.in_wind => Verdict::NoGo,
                Standing::Unknown if whole == Verdict::NoGo && reason.spoils_measuring => Verdict::NoGo,
                _ => Verdict::Part,
            };
            out.verdict = out.verdict.max(verdict);
            out.reasons.push(reason.text.clone());
        }
        if let Some(weather) = weather {
            let scope = Scope { aircraft: self.aircraft, prediction: self.prediction, weather };
            let own = choose::against_the_wind(point, self.aircraft, &scope);
            if !own.is_empty() {
                out.verdict = Verdict::NoGo;
                out.reasons.extend(own.iter().map(|r| crate::number::sentence(r)));
            }
        }
        let room = choose::against_the_room(point, self.aircraft);
        if !room.is_empty() {
            out.verdict = Verdict::NoGo;
            out.reasons.extend(room.iter().map(|r| crate::number::sentence(r)));
        }
        out
    }
}

fn wind_for_the_card(moment: &Moment, first_flight: bool) -> Option<Weather> {
    let mut found: Option<Weather> = None;
    for sight in moment.sights.iter().filter(|s| first_flight || s.kind.probability_percent().is_none()) {
        let Some(wind) = sight.blowing() else { continue };
        let before = found.get_or_insert(Weather {
            wind_m_s: wind.mean_m_s,
            gust_m_s: wind.gust_m_s,
            from_deg: wind.from_deg,
        });
        before.wind_m_s = before.wind_m_s.max(wind.mean_m_s);
        before.gust_m_s = before.gust_m_s.max(wind.gust_m_s);
    }
    found
}

/// Points by identifier with what the day says of them.
#[must_use]
pub fn by_id(day: &Day) -> BTreeMap<&str, &PointDay> {
    day.points.iter().map(|p| (p.id.as_str(), p)).collect()
}
