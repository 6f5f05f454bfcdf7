//! Which test points does the next flight have? What is outstanding, in flying order, as far as the aircraft, the
//! wind, the points before it and the pack allow; and why each other one is left out.

use std::collections::BTreeSet;

use aircraft::Aircraft;
use aircraft::control::Axis;
use aircraft::controller::Acts;
use numerics::uncertain::Uncertain;
use numerics::units::RAD_PER_DEG;
use predict::prediction::Prediction;

use crate::advice;
use crate::bench;
use crate::card::{Card, Fact, NoCard, Point, Weather};
use crate::catalogue::{Catalogue, Expectation, FileFact, Step, TestPoint};
use crate::day::Verdict;
use crate::day::points::Day;
use crate::directions;
use crate::expression::Expression;
use crate::names::Scope;
use crate::number;
use crate::outstanding::Outstanding;
use crate::panels;

/// Longest flight that a card plans, s: past it the eyes tire and the points at the end are flown badly; they wait for the
/// next card and a full pack (common practice, no source).
pub const LONGEST_S: f64 = 720.0;

/// Mean wind and gust limit that a point sets, and what today is; reasons against it. Also what `day` asks per point.
#[must_use]
pub fn against_the_wind(point: &TestPoint, aircraft: &Aircraft, scope: &Scope<'_>) -> Vec<String> {
    let mut reasons = Vec::new();
    let weather = scope.weather;
    let mut hold = |what: &str, today: f64, limit: &Expression| match limit.value(scope) {
        Ok(limit_value) if today <= limit_value.value => {}
        Ok(limit_value) => reasons.push(format!(
            "{what} of {}; the limit is {}{}",
            number::exact(tenths(today), "m/s"),
            limit.words().map_or(String::new(), |words| format!("{words}, ")),
            number::coarse(limit_value.value, "m/s"),
        )),
        Err(why) => reasons.push(format!("its limit for the {what} is unknown: {why}")),
    };
    if let Some(limit) = &point.wind_m_s {
        hold("mean wind", weather.wind_m_s, limit);
    }
    if let Some(limit) = &point.gust_excess_m_s {
        hold("gusts over the mean wind", weather.gust_m_s - weather.wind_m_s, limit);
    }
    if let Some(limit) = aircraft.limits.wind_m_s.filter(|limit| weather.wind_m_s > *limit)
        && !point.on_ground
    {
        reasons.push(format!(
            "mean wind of {}; the limit in the aircraft file is {}",
            number::exact(tenths(weather.wind_m_s), "m/s"),
            number::exact(limit, "m/s")
        ));
    }
    reasons
}

/// A wind as it is told: nobody knows it to a hundredth.
pub(crate) fn tenths(speed_m_s: f64) -> f64 {
    (10.0 * speed_m_s).round() / 10.0
}

/// Height and distance that a point needs, held against those that the aircraft file allows; reasons against it.
#[must_use]
pub fn against_the_room(point: &TestPoint, aircraft: &Aircraft) -> Vec<String> {
    [
        ("height", point.height_m, aircraft.limits.height_m),
        ("distance from the pilot", point.reach_m, aircraft.limits.distance_m),
    ]
    .into_iter()
    .filter_map(|(what, needed, limit)| {
        let (needed, limit) = (needed?, limit?);
        (needed > limit).then(|| {
            format!(
                "needs {} of {what}; the limit in the aircraft file is {}",
                number::exact(needed, "m"),
                number::exact(limit, "m")
            )
        })
    })
    .collect()
}

/// The card, from a given catalogue.
///
/// # Errors
/// When the weather is not one, or something that every flight needs is not possible.
pub fn card(
    catalogue: &Catalogue,
    aircraft: &Aircraft,
    prediction: &Prediction,
    outstanding: &Outstanding,
    weather: &Weather,
) -> Result<Card, NoCard> {
    check_weather(weather)?;
    written_for(catalogue, aircraft, prediction, outstanding, weather, None)
}

/// The card on a day that was judged: what the day forbids is left out with its reasons; on a no-go day all but the
/// checks on the ground.
///
/// # Errors
/// When the aircraft itself is not to be flown.
pub(crate) fn card_on(
    catalogue: &Catalogue,
    aircraft: &Aircraft,
    prediction: &Prediction,
    outstanding: &Outstanding,
    day: &Day,
) -> Result<Card, NoCard> {
    let calm = Weather { wind_m_s: 0.0, gust_m_s: 0.0, from_deg: None };
    let weather = day.weather.unwrap_or(calm);
    check_weather(&weather)?;
    let mut card = written_for(catalogue, aircraft, prediction, outstanding, &weather, Some(day))?;
    if day.weather.is_none() {
        card.facts.retain(|f| f.name != advice::WIND_FACT);
    }
    Ok(card)
}

fn written_for(
    catalogue: &Catalogue,
    aircraft: &Aircraft,
    prediction: &Prediction,
    outstanding: &Outstanding,
    weather: &Weather,
    day: Option<&Day>,
) -> Result<Card, NoCard> {
    let catalogue = &catalogue.for_start(aircraft.start.how.word());
    let scope = Scope { aircraft, prediction, weather };
    let grounded = day.is_some_and(|d| d.verdict == Verdict::NoGo);
    let budget_s = budget(prediction);
    let cost = |point: &TestPoint| -> Result<f64, String> {
        if budget_s.is_none() || point.on_ground {
            return Ok(0.0);
        }
        point
            .effort
            .value(&scope)
            .map(|effort| effort.value * point.duration_s)
            .map_err(|why| format!("what it takes from the pack is unknown: {why}"))
    };

    let (mut essential_s, mut essential_clock_s) = (0.0, 0.0);
    let mut against = advice::against_flying(&scope, outstanding.flights == 0);
    for point in catalogue.points.iter().filter(|p| p.every_flight) {
        if missing_fact(point, aircraft).is_some() {
            continue;
        }
        if grounded {
            continue;
        }
        for reason in against_the_wind(point, aircraft, &scope) {
            // What informs but does not decide over the flight itself may fall out of it.
            if point.decides_the_flight {
                against.push(format!("{}: {reason}", point.title));
            }
        }
        match cost(point) {
            Ok(seconds) => {
                essential_s += seconds;
                essential_clock_s += if point.on_ground { 0.0 } else { point.duration_s };
            }
            Err(why) => against.push(format!("{}: {why}", point.title)),
        }
    }
    if let Some(budget) = budget_s.filter(|budget| essential_s > *budget) {
        against.push(format!(
            "launch, climb, circles and landing alone take as much from the pack as {} of cruise; it allows {} with its \
             reserve",
            number::about(essential_s),
            number::about(budget)
        ));
    }
    if !against.is_empty() {
        return Err(NoCard::NotToday { reasons: against });
    }

    let mut choice = Choice {
        on_card: BTreeSet::new(),
        not_possible: BTreeSet::new(),
        left_s: budget_s.map(|b| b - essential_s),
        left_clock_s: LONGEST_S - essential_clock_s,
    };
    let (mut points, mut left_out) = (Vec::new(), Vec::new());
    let (mut planned_s, mut planned_cruise_s) = (0.0, 0.0);
    for point in &catalogue.points {
        let decision = choice
            .decide(point, catalogue, aircraft, outstanding, &scope)
            .and_then(|()| day.map_or(Ok(()), |day| allowed(point, day)))
            .and_then(|()| cost(point))
            .and_then(|seconds| choice.afford(point, seconds));
        match decision {
            Ok(seconds) => {
                choice.on_card.insert(point.id.clone());
                if !point.on_ground {
                    planned_s += point.duration_s;
                    planned_cruise_s += seconds;
                }
                points.push(written(point, outstanding, &scope));
            }
            Err(reason) => left_out.push((point.title.clone(), reason)),
        }
    }
    let first = outstanding.flights == 0;
    Ok(Card {
        aircraft: aircraft.name.clone(),
        title: if first {
            format!("First flight of {}", aircraft.name)
        } else {
            format!("Flight {} of {}", outstanding.flights + 1, aircraft.name)
        },
        bench_work: bench::work(aircraft, outstanding),
        facts: advice::facts(aircraft, &scope),
        cautions: advice::cautions(aircraft, &scope, first, budget_s),
        emergencies: advice::emergencies(aircraft, &scope),
        points,
        left_out,
        day: None,
        planned_s,
        allowed_s: budget_s,
        planned_cruise_s: budget_s.map(|_| planned_cruise_s),
    })
}

/// What the day says of a point.
fn allowed(point: &TestPoint, day: &Day) -> Result<(), String> {
    if point.on_ground {
        return Ok(());
    }
    if let Some(said) = day.point(&point.id).filter(|p| p.verdict == Verdict::NoGo) {
        return Err(said.reasons.join(" "));
    }
    if day.verdict == Verdict::NoGo { Err("no flight today".to_owned()) } else { Ok(()) }
}

fn check_weather(weather: &Weather) -> Result<(), NoCard> {
    let refuse = |what: String| Err(NoCard::Weather { what });
    if !(weather.wind_m_s.is_finite() && weather.wind_m_s >= 0.0) {
        return refuse(format!("a mean wind of {} m/s; give a number from 0 up", weather.wind_m_s));
    }
    if !(weather.gust_m_s.is_finite() && weather.gust_m_s >= weather.wind_m_s) {
        return refuse(format!(
            "gusts of {} m/s with a mean wind of {} m/s; gusts are at least the mean",
            weather.gust_m_s, weather.wind_m_s
        ));
    }
    if let Some(from) = weather.from_deg.filter(|from| !from.is_finite()) {
        return refuse(format!("a direction of {from} degrees"));
    }
    Ok(())
}

/// Seconds of cruise that the pack allows with its reserve: the low end of the prediction, because a first flight
/// planned to the mean runs dry half the time.
fn budget(prediction: &Prediction) -> Option<f64> {
    let drive = prediction.drive.as_ref().ok()?;
    let endurance = drive.endurance_s.as_ref().ok()?;
    Some((endurance.value - 2.0 * endurance.sd).max(0.0))
}

struct Choice {
    on_card: BTreeSet<String>,
    /// Points that this aircraft can never fly: nothing waits for them.
    not_possible: BTreeSet<String>,
    /// Seconds of cruise that the pack leaves for points, where they are known.
    left_s: Option<f64>,
    /// Seconds by the clock that are left for points.
    left_clock_s: f64,
}

impl Choice {
    fn decide(
        &mut self,
        point: &TestPoint,
        catalogue: &Catalogue,
        aircraft: &Aircraft,
        outstanding: &Outstanding,
        scope: &Scope<'_>,
    ) -> Result<(), String> {
        if let Some(fact) = missing_fact(point, aircraft) {
            self.not_possible.insert(point.id.clone());
            return Err(format!("the aircraft file has no {}", fact.words()));
        }
        if !point.acts.is_empty() && switch_position(point, aircraft).is_none() && !point.every_flight {
            // Without a list of positions nothing can be said; with one that lacks it, the point cannot be flown.
            if !aircraft.controller.switch.is_empty() {
                self.not_possible.insert(point.id.clone());
                let words: Vec<_> = point.acts.iter().map(|a| a.word()).collect();
                return Err(format!("no position of the switch acts {}", words.join(" or ")));
            }
        }
        if !point.every_flight {
            already_done(point, outstanding)?;
            if let Some(what) = point.found.iter().find(|what| !outstanding.found.contains_key(*what)) {
                return Err(format!("waits for {} from an earlier flight", readable(what)));
            }
        }
        for needed in &point.after {
            let done = self.on_card.contains(needed)
                || outstanding.points_flown.contains(needed)
                || self.not_possible.contains(needed)
                || catalogue.point(needed).is_some_and(|p| {
                    !p.yields.is_empty() && p.yields.iter().all(|y| outstanding.found.contains_key(y))
                });
            if !done {
                let title = catalogue.point(needed).map_or(needed.as_str(), |p| p.title.as_str());
                return Err(format!(
                    "comes after \u{201c}{title}\u{201d}, which is neither flown yet nor on this card"
                ));
            }
        }
        let mut reasons = against_the_wind(point, aircraft, scope);
        reasons.extend(against_the_room(point, aircraft));
        if reasons.is_empty() { Ok(()) } else { Err(reasons.join("; ")) }
    }

    fn afford(&mut self, point: &TestPoint, seconds: f64) -> Result<f64, String> {
        if point.every_flight {
            return Ok(seconds);
        }
        if let Some(left) = self.left_s.filter(|left| seconds > *left) {
            return Err(format!(
                "takes as much from the pack as {} of cruise; {} are left beside the landing and the reserve",
                number::about(seconds),
                number::about(left.max(0.0))
            ));
        }
        if !point.on_ground && point.duration_s > self.left_clock_s {
            return Err(format!(
                "waits for the next card: it takes {}; a flight of {} is long enough, and {} are left of it",
                number::about(point.duration_s),
                number::about(LONGEST_S),
                number::about(self.left_clock_s.max(0.0))
            ));
        }
        self.left_s = self.left_s.map(|left| left - seconds);
        self.left_clock_s -= if point.on_ground { 0.0 } else { point.duration_s };
        Ok(seconds)
    }
}

fn already_done(point: &TestPoint, outstanding: &Outstanding) -> Result<(), String> {
    if point.yields.is_empty() {
        if outstanding.points_flown.contains(&point.id) {
            return Err("flown in an earlier flight".to_owned());
        }
        return Ok(());
    }
    let known: Vec<String> = point
        .yields
        .iter()
        .filter_map(|y| outstanding.found.get(y).map(|how| format!("{}: {how}", readable(y))))
        .collect();
    if known.len() == point.yields.len() {
        return Err(format!("known already; {}", known.join("; ")));
    }
    Ok(())
}

/// What a point yields, as people say it.
#[must_use]
pub fn readable(yields: &str) -> String {
    match yields {
        "level_attitude" => "the level attitude".to_owned(),
        "trims" => "the trims".to_owned(),
        "wind" => "the wind".to_owned(),
        "polar" => "the drag".to_owned(),
        "power" => "the power in level flight".to_owned(),
        "stall" => "the stall speed".to_owned(),
        "feel" => "how stabilized flight feels beside direct flight".to_owned(),
        other => match other.strip_prefix("response.") {
            Some(axis) => format!("the response in {axis}"),
            None => format!("the {}", other.replace('_', " ")),
        },
    }
}

fn missing_fact(point: &TestPoint, aircraft: &Aircraft) -> Option<FileFact> {
    let answers =
        |share: fn(&aircraft::movable::Mix) -> f64| aircraft.movables.iter().any(|m| share(&m.mix) != 0.0);
    point.file.iter().copied().find(|fact| !match fact {
        FileFact::Drive => aircraft.drive.is_some(),
        FileFact::Roll => answers(|m| m.roll),
        FileFact::Pitch => answers(|m| m.pitch),
        FileFact::Yaw => answers(|m| m.yaw),
        FileFact::FailsafeThrottle => aircraft.controller.failsafe_throttle.is_some(),
    })
}

fn switch_position(point: &TestPoint, aircraft: &Aircraft) -> Option<(Acts, String)> {
    point.acts.iter().find_map(|acts| {
        aircraft
            .controller
            .switch
            .iter()
            .find(|position| position.acts == *acts)
            .map(|position| (*acts, position.name.clone()))
    })
}

fn written(point: &TestPoint, outstanding: &Outstanding, scope: &Scope<'_>) -> Point {
    let aircraft = scope.aircraft;
    let position = switch_position(point, aircraft);
    let texts = |texts: &[crate::catalogue::Text]| texts.iter().map(|t| t.filled(scope)).collect();
    let mut steps = Vec::new();
    for step in &point.steps {
        match step {
            Step::Words(text) => steps.push(text.filled(scope)),
            Step::Surfaces => steps.extend(directions::check_steps(aircraft, scope.prediction.balance.cg_m)),
        }
    }
    let mut expect: Vec<Fact> = point.expect.iter().map(|e| expectation(e, scope)).collect();
    if point.yields.iter().any(|y| y == "trims") {
        expect.extend(bench::trims_flown(aircraft, outstanding));
    }
    Point {
        id: point.id.clone(),
        title: point.title.clone(),
        purpose: point.purpose.clone(),
        acts: position
            .as_ref()
            .map(|(acts, _)| *acts)
            .or_else(|| point.acts.first().copied())
            .map_or("any", Acts::word)
            .to_owned(),
        switch: position.map(|(_, name)| name),
        on_ground: point.on_ground,
        yields: point.yields.clone(),
        steps,
        calls: texts(&point.calls),
        watch: texts(&point.watch),
        expect,
        stop: texts(&point.stop),
        duration_s: point.duration_s,
    }
}

/// A number to expect, for people: angles in degrees of the panels.
fn expectation(expected: &Expectation, scope: &Scope<'_>) -> Fact {
    let aircraft = scope.aircraft;
    let mut name = expected.name.clone();
    for axis in [Axis::Roll, Axis::Pitch, Axis::Yaw] {
        let lead = panels::lead(aircraft, axis).map_or("surface", |(movable, _)| movable.name.as_str());
        name = name.replace(&format!("{{{}}}", axis.word()), lead);
    }
    let Some(axis) = expected.trim_of else {
        return fact(&name, &expected.value, &expected.unit, scope);
    };
    let text = match (bench::captured(aircraft, axis), expected.value.value(scope)) {
        (Some(captured), _) => captured,
        (None, Ok(deg)) => {
            let angles = panels::at_axis(aircraft, axis, deg.scaled(RAD_PER_DEG));
            if angles.is_empty() {
                format!("no movable surface answers {}", axis.word())
            } else {
                panels::words(&angles)
            }
        }
        (None, Err(why)) => why.to_string(),
    };
    Fact { name, text }
}

/// A number for people, or why there is none.
pub(crate) fn fact(name: &str, value: &Expression, unit: &str, scope: &Scope<'_>) -> Fact {
    Fact {
        name: name.to_owned(),
        text: match value.value(scope) {
            Ok(Uncertain { value, sd: 0.0 }) => number::coarse(value, unit),
            Ok(Uncertain { value, sd }) => number::with_doubt(value, sd, unit),
            Err(why) => why.to_string(),
        },
    }
}
