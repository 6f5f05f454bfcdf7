//! What is still to be flown? What the test points can teach, held against what earlier flights taught.

use std::collections::{BTreeMap, BTreeSet};

use aircraft::finding::{Change, Finding};
use aircraft::{Aircraft, Known, Origin};

use crate::catalogue::Catalogue;
use crate::places;

/// What was flown so far.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct History {
    /// Flights so far.
    pub flights: usize,
    /// Findings of all of them, flight after flight, the newest last: a parameter that comes again begins a newer
    /// flight.
    pub findings: Vec<Finding>,
    /// Changes that the newest flight asks for and that are held back.
    pub held_back: Vec<Change>,
    /// Identifiers of the test points flown.
    pub points_flown: BTreeSet<String>,
}

/// What is known from flights, and what is not.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Outstanding {
    /// Flights so far.
    pub flights: usize,
    /// What has been found well enough (`trims`, `response.roll`), with how it is known.
    pub found: BTreeMap<String, String>,
    /// What has not, with the titles of the points that can teach it and what an earlier flight said if it tried.
    pub missing: Vec<Missing>,
    /// Identifiers of the test points flown.
    pub points_flown: BTreeSet<String>,
    /// Changes that are sure enough but held back, because a person has to make them on the bench.
    pub bench_work: Vec<Change>,
}

/// Something not yet found.
#[derive(Debug, Clone, PartialEq)]
pub struct Missing {
    /// What (`response.roll`).
    pub what: String,
    /// Titles of the points that can teach it.
    pub points: Vec<String>,
    /// What an earlier flight said of it when it did not suffice.
    pub verdict: Option<String>,
}

/// Compares what the catalogue can teach with the aircraft's numbers and with what flights found.
#[must_use]
pub fn outstanding(catalogue: &Catalogue, aircraft: &Aircraft, history: &History) -> Outstanding {
    let mut found = known_by_the_aircraft(aircraft);
    let mut verdicts: BTreeMap<String, String> = BTreeMap::new();
    let all: BTreeSet<&String> = catalogue.points.iter().flat_map(|p| &p.yields).collect();
    for what in &all {
        let newest = newest(&history.findings, what);
        let short: Vec<&Finding> = newest.iter().copied().filter(|f| !f.enough).collect();
        match (newest.first(), short.first()) {
            (_, Some(short)) => {
                verdicts.insert((*what).clone(), short.verdict.clone());
            }
            (Some(all_enough), None) => {
                found
                    .entry((*what).clone())
                    .or_insert_with(|| format!("found in an earlier flight: {}", all_enough.verdict));
            }
            (None, None) => {}
        }
    }
    for change in &history.held_back {
        if let (Some(what), Some(why)) = (places::yielded_by(&change.path), &change.held_back) {
            found.remove(what);
            verdicts
                .entry(what.to_owned())
                .or_insert_with(|| format!("{}: {why}", places::words(aircraft, &change.path)));
        }
    }
    // Held back for want of evidence is flown again. What is sure and held back for its size is work for the bench, where a
    // hand can do it: a trim at its linkage, the way the controller sits.
    let sure = |what: &str| {
        let newest = newest(&history.findings, what);
        !newest.is_empty() && newest.iter().all(|f| f.enough)
    };
    let bench_work = history
        .held_back
        .iter()
        .filter(|change| change.held_back.is_some())
        .filter(|change| {
            matches!(places::yielded_by(&change.path), Some(what @ ("trims" | "level_attitude")) if sure(what))
        })
        .cloned()
        .collect();
    let missing = all
        .iter()
        .filter(|what| !found.contains_key(**what))
        .map(|what| Missing {
            what: (*what).clone(),
            points: catalogue
                .points
                .iter()
                .filter(|p| p.yields.contains(what))
                .map(|p| p.title.clone())
                .collect(),
            verdict: verdicts.get(*what).cloned(),
        })
        .collect();
    Outstanding {
        flights: history.flights,
        found,
        missing,
        points_flown: history.points_flown.clone(),
        bench_work,
    }
}

/// Findings of what a point yields, of the newest flight that has any.
fn newest<'a>(findings: &'a [Finding], what: &str) -> Vec<&'a Finding> {
    let mut flight: Vec<&Finding> = Vec::new();
    for finding in findings.iter().filter(|f| teaches(&f.parameter, what)) {
        if flight.iter().any(|f| f.parameter == finding.parameter) {
            flight.clear();
        }
        flight.push(finding);
    }
    flight
}

/// Whether a finding's parameter (`response.roll.gain_deg_s_per_deg`, `trims[0].us`) belongs to what a point yields.
fn teaches(parameter: &str, what: &str) -> bool {
    parameter.strip_prefix(what).is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']))
}

fn known_by_the_aircraft(aircraft: &Aircraft) -> BTreeMap<String, String> {
    let mut found = BTreeMap::new();
    let mut put = |what: &str, how: &str| {
        found.insert(what.to_owned(), format!("in the aircraft file, {how}"));
    };
    let flown = |known: &Known| known.from == Origin::Flown;
    if flown(&aircraft.controller.mounting_pitch_rad) {
        put("level_attitude", "as the mounting angle in pitch, flown");
    }
    // A servo center carries a doubt only after trim capture: before it, it is a setting.
    let servos =
        || aircraft.movables.iter().filter(|m| m.mix.roll != 0.0 || m.mix.pitch != 0.0).map(|m| &m.servo);
    if servos().next().is_some() && servos().all(|s| s.centre_sd_us > 0.0) {
        put("trims", "as the centers of the servos, captured in flight");
    }
    // A stall speed measured by other means is known too.
    if let Some(stall) = aircraft.limits.stall_m_s.filter(|s| s.from >= Origin::Measured) {
        put("stall", &format!("as the stall speed, {}", stall.from.word()));
    }
    for (factor, what) in
        aircraft.flown.control_factor.iter().zip(["response.roll", "response.pitch", "response.yaw"])
    {
        if factor.as_ref().is_some_and(flown) {
            put(what, "as a factor on the predicted effect of its surface, flown");
        }
    }
    if aircraft.flown.drag_factor.as_ref().is_some_and(flown) {
        put("polar", "as a factor on the predicted drag, flown");
    }
    if aircraft.flown.thrust_factor.as_ref().is_some_and(flown) {
        put("power", "as a factor on the predicted thrust, flown");
    }
    if aircraft.drive.as_ref().is_some_and(|d| flown(&d.pack.resistance_ohm)) {
        put("battery", "as the resistance of the pack, flown");
    }
    found
}
