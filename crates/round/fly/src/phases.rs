//! What was the aircraft doing when? Phases of a flight, by rule on the data.
//!
//! Every rule has two limits, one to begin and a wider one to end, so that a value that wavers about a limit does not
//! cut a phase into pieces. The rules work on what is there: attitude if it was recorded, else the turning of the
//! ground velocity; airspeed if it was recorded, else the speed over ground.

use aircraft::finding::Window;

use crate::inputs::{self, Axis, Control, Input, InputKind};
use crate::recording::Recording;

mod acting;
mod ends;
mod signals;
mod stalls;

pub use acting::{Acting, acting};
pub use ends::{Flown, Moment, flights};
use signals::Signals;

/// Kinds of phases.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PhaseKind {
    /// Not flying.
    Ground,
    /// The throw and the first seconds.
    Launch,
    /// Climbing.
    Climb,
    /// Straight and level.
    Straight,
    /// Turning steadily.
    Turn,
    /// A stick moved on purpose: `crate::inputs` tells which and how.
    Input,
    /// Slowed down until the wing lets go, and the recovery.
    Stall,
    /// Descending without power.
    Glide,
    /// The descent towards the landing.
    Approach,
    /// The last meters and the rolling or sliding out.
    Landing,
    /// Stopped by something hard: far more than a landing's load at once, and no flight after it.
    Impact,
    /// Anything else in the air.
    Other,
}

impl PhaseKind {
    /// Its word in documents and on pages.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Ground => "ground",
            Self::Launch => "launch",
            Self::Climb => "climb",
            Self::Straight => "straight",
            Self::Turn => "turn",
            Self::Input => "input",
            Self::Stall => "stall",
            Self::Glide => "glide",
            Self::Approach => "approach",
            Self::Landing => "landing",
            Self::Impact => "impact",
            Self::Other => "other",
        }
    }
}

/// A phase.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Phase {
    /// What kind.
    pub kind: PhaseKind,
    /// When.
    pub window: Window,
    /// How sure, 0 to 1.
    pub confidence: f64,
}

/// A window of steady turning.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turning {
    /// When.
    pub window: Window,
    /// How far it turned over ground, rad, right positive; more than a full turn counts on.
    pub total_rad: f64,
    /// Mean rate of turning, rad/s, right positive.
    pub rate_rad_s: f64,
}

/// Degrees to radians.
const DEG: f64 = std::f64::consts::PI / 180.0;
/// Straight: least and most bank, and rate of turning, at which it begins and ends.
const STRAIGHT_BANK_RAD: (f64, f64) = (8.0 * DEG, 13.0 * DEG);
const STRAIGHT_RATE_RAD_S: (f64, f64) = (4.0 * DEG, 8.0 * DEG);
/// Turn: rate of turning at which it begins and ends.
const TURN_RATE_RAD_S: (f64, f64) = (9.0 * DEG, 5.0 * DEG);
/// Climb: angle of the path at which it begins and ends, rad.
const CLIMB_RAD: (f64, f64) = (0.08, 0.04);
/// Descent of a glide at which it begins and ends, m/s.
const SINK_M_S: (f64, f64) = (0.4, 0.0);
/// Shortest phases, s.
const SHORTEST_S: f64 = 2.0;
/// Interruptions that do not end a phase, s.
const BRIDGED_S: f64 = 0.6;
/// What is nothing in particular for less than this is no phase of its own, s.
const SLIVER_S: f64 = 1.0;
/// How long the throw and what follows it last, s.
const LAUNCH_S: f64 = 3.0;
/// Height above the touch-down from which the descent before it counts as approach, m, and its longest time, s.
const APPROACH_M: f64 = 25.0;
const APPROACH_S: f64 = 60.0;
/// Height above the touch-down from which the last descent counts as landing, m, and its longest time, s.
const LANDING_M: f64 = 10.0;
const LANDING_S: f64 = 20.0;

/// The phases of a recording, in order, without gaps. Nothing for a recording without any speed.
#[must_use]
pub fn find(recording: &Recording) -> Vec<Phase> {
    let Some(s) = Signals::of(recording) else {
        return Vec::new();
    };
    let flying = s.flying();
    let n = s.t.len();
    let mut kinds = vec![PhaseKind::Other; n];
    // From the weakest to the strongest: the later overwrite the earlier.
    let glide = s.both(&s.motor_off(), &hysteresis(&s.climb, |c| -c, SINK_M_S));
    mark(&mut kinds, &s, &straight_and_level(&s), PhaseKind::Straight);
    mark(&mut kinds, &s, &hysteresis(&s.path_rad(), |c| c, CLIMB_RAD), PhaseKind::Climb);
    mark(&mut kinds, &s, &turning(&s, 1.0), PhaseKind::Turn);
    mark(&mut kinds, &s, &turning(&s, -1.0), PhaseKind::Turn);
    mark(&mut kinds, &s, &glide, PhaseKind::Glide);
    for (kind, flies) in kinds.iter_mut().zip(&flying) {
        if !flies {
            *kind = PhaseKind::Ground;
        }
    }
    let inputs = inputs::find(recording);
    mark_inputs(&mut kinds, &s, &inputs);
    let stalls = stalls::find(recording, &s, &flying);
    for stall in &stalls {
        for k in kinds.get_mut(stall.from..stall.to).unwrap_or(&mut []) {
            *k = PhaseKind::Stall;
        }
    }
    launches_and_landings(&mut kinds, &s);
    merge_slivers(&mut kinds, &s);
    merge_splinters(&mut kinds, &s);
    let flights = ends::flights(recording);
    impacts(&mut kinds, &s, &flights);
    let strength = s.strength();
    runs(n, |i, j| kinds.get(i) == kinds.get(j))
        .into_iter()
        .filter_map(|(from, to)| {
            let kind = *kinds.get(from)?;
            let long = s.seconds(from, to);
            // What was seen with fewer channels, and what was short, is less sure.
            let confidence = match kind {
                PhaseKind::Other => 0.3,
                PhaseKind::Ground => 0.9,
                PhaseKind::Launch | PhaseKind::Approach | PhaseKind::Landing => 0.7 * strength,
                PhaseKind::Stall => stalls
                    .iter()
                    .filter(|s| s.from < to && from < s.to)
                    .map(|s| s.confidence)
                    .fold(0.3, f64::max),
                PhaseKind::Impact => 0.8,
                PhaseKind::Input => surest(&inputs, s.window(from, to)),
                _ => strength * (1.0 - 0.5 * (-long / 4.0).exp()),
            };
            Some(Phase { kind, window: s.window(from, to), confidence })
        })
        .collect()
}

/// When the aircraft flew; nothing where the recording has no speed, so that flight cannot be told from the ground.
#[must_use]
pub fn airborne_windows(recording: &Recording) -> Option<Vec<Window>> {
    let s = Signals::of(recording)?;
    let flying = s.flying();
    let all = runs(flying.len(), |i, j| flying.get(i) == flying.get(j));
    Some(
        all.into_iter()
            .filter(|(from, _)| flying.get(*from).copied().unwrap_or(false))
            .map(|(from, to)| s.window(from, to))
            .collect(),
    )
}

/// Windows of at least `least_s` seconds of flight with steady heading and small bank, level or not.
#[must_use]
pub fn straight_windows(recording: &Recording, least_s: f64) -> Vec<Window> {
    let Some(s) = Signals::of(recording) else {
        return Vec::new();
    };
    let straight = s.both(&s.flying(), &straight(&s));
    periods(&s, &straight, least_s).into_iter().map(|(from, to)| s.window(from, to)).collect()
}

/// Windows in which the flight turns one way by at least `least_rad` in all, with the total angle.
#[must_use]
pub fn turning_windows(recording: &Recording, least_rad: f64) -> Vec<Turning> {
    let Some(s) = Signals::of(recording) else {
        return Vec::new();
    };
    let flying = s.flying();
    let mut found: Vec<Turning> = [1.0, -1.0]
        .into_iter()
        .flat_map(|side| {
            let one_way = s.both(&flying, &turning(&s, side));
            periods(&s, &one_way, 1.0)
        })
        .filter_map(|(from, to)| {
            let total: f64 =
                s.turn_rate.get(from..to)?.iter().filter(|w| w.is_finite()).map(|w| w * s.step).sum();
            (total.abs() >= least_rad).then(|| Turning {
                window: s.window(from, to),
                total_rad: total,
                rate_rad_s: total / s.seconds(from, to).max(s.step),
            })
        })
        .collect();
    found.sort_by(|a, b| a.window.from_s.total_cmp(&b.window.from_s));
    found
}

fn straight(s: &Signals) -> Vec<bool> {
    let by_bank = hysteresis(&s.bank, |b| -b.abs(), (-STRAIGHT_BANK_RAD.0, -STRAIGHT_BANK_RAD.1));
    let by_rate = hysteresis(&s.turn_rate, |w| -w.abs(), (-STRAIGHT_RATE_RAD_S.0, -STRAIGHT_RATE_RAD_S.1));
    s.both(&by_bank, &by_rate)
}

fn straight_and_level(s: &Signals) -> Vec<bool> {
    let level = if s.climb.iter().any(|c| c.is_finite()) {
        hysteresis(&s.path_rad(), |p| -p.abs(), (-CLIMB_RAD.1, -CLIMB_RAD.0))
    } else {
        vec![true; s.t.len()]
    };
    s.both(&straight(s), &level)
}

fn turning(s: &Signals, side: f64) -> Vec<bool> {
    hysteresis(&s.turn_rate, |w| side * w, TURN_RATE_RAD_S)
}

/// True from where a measure rises to its first limit until it falls below its second; unknown values end it.
fn hysteresis(values: &[f64], measure: impl Fn(f64) -> f64, (begin, end): (f64, f64)) -> Vec<bool> {
    let mut on = false;
    values
        .iter()
        .map(|v| {
            let m = measure(*v);
            on = m.is_finite() && (m >= begin || (on && m >= end));
            on
        })
        .collect()
}

/// Runs of places that belong together with their first one.
fn runs(n: usize, same: impl Fn(usize, usize) -> bool) -> Vec<(usize, usize)> {
    let mut list = Vec::new();
    let mut from = 0;
    for i in 1..=n {
        if i == n || !same(from, i) {
            list.push((from, i));
            from = i;
        }
    }
    list.retain(|(a, b)| b > a);
    list
}

/// Where a condition holds for long enough, short interruptions bridged.
fn periods(s: &Signals, holds: &[bool], least_s: f64) -> Vec<(usize, usize)> {
    let all = runs(holds.len(), |i, j| holds.get(i) == holds.get(j));
    let mut list: Vec<(usize, usize)> = Vec::new();
    for (from, to) in all {
        if !holds.get(from).copied().unwrap_or(false) {
            continue;
        }
        match list.last_mut() {
            Some(last) if s.seconds(last.1, from) <= BRIDGED_S => last.1 = to,
            _ => list.push((from, to)),
        }
    }
    list.retain(|(from, to)| s.seconds(*from, *to) >= least_s - 1e-9);
    list
}

fn mark(kinds: &mut [PhaseKind], s: &Signals, holds: &[bool], kind: PhaseKind) {
    for (from, to) in periods(s, holds, SHORTEST_S) {
        for k in kinds.get_mut(from..to).unwrap_or(&mut []) {
            *k = kind;
        }
    }
}

/// How sure an input must be to make a phase.
const INPUT_SURE: f64 = 0.5;

/// Whether an input makes a phase of its own: the throttle does not, nor does a stick that is held to turn or climb.
fn makes_a_phase(input: &Input) -> bool {
    let held = input.kind == InputKind::Step && input.control == Control::Level;
    input.axis != Axis::Throttle && !held && input.confidence >= INPUT_SURE
}

fn mark_inputs(kinds: &mut [PhaseKind], s: &Signals, inputs: &[Input]) {
    for input in inputs.iter().filter(|i| makes_a_phase(i)) {
        let (from, to) = (s.place(input.start_s), s.place(input.end_s) + 1);
        for k in kinds.get_mut(from..to.min(s.t.len())).unwrap_or(&mut []) {
            if !matches!(k, PhaseKind::Ground | PhaseKind::Turn) {
                *k = PhaseKind::Input;
            }
        }
    }
}

fn surest(inputs: &[Input], window: Window) -> f64 {
    inputs
        .iter()
        .filter(|i| makes_a_phase(i) && i.start_s < window.to_s && i.end_s >= window.from_s)
        .map(|i| i.confidence)
        .fold(0.3, f64::max)
}

/// Gives what is nothing in particular for less than a second to a neighbor; not to straight flight where the other
/// side is something else, as straight flight is what is learnt from.
fn merge_slivers(kinds: &mut [PhaseKind], s: &Signals) {
    for (from, to) in runs(kinds.len(), |i, j| kinds.get(i) == kinds.get(j)) {
        if kinds.get(from) != Some(&PhaseKind::Other) || s.seconds(from, to) >= SLIVER_S {
            continue;
        }
        let flown = |kind: &&PhaseKind| **kind != PhaseKind::Ground;
        let before = from.checked_sub(1).and_then(|i| kinds.get(i)).filter(flown).copied();
        let after = kinds.get(to).filter(flown).copied();
        let kind = match (before, after) {
            (Some(PhaseKind::Straight), Some(other)) => Some(other),
            (one, other) => one.or(other),
        };
        if let Some(kind) = kind {
            for k in kinds.get_mut(from..to).unwrap_or(&mut []) {
                *k = kind;
            }
        }
    }
}

/// Shorter than this nothing is a phase, s: what is left of one where others were laid over it.
const SPLINTER_S: f64 = 0.3;

/// Gives what is left of a phase for a moment only to the phase before it, or after it.
fn merge_splinters(kinds: &mut [PhaseKind], s: &Signals) {
    for (from, to) in runs(kinds.len(), |i, j| kinds.get(i) == kinds.get(j)) {
        if s.seconds(from, to) >= SPLINTER_S || kinds.get(from) == Some(&PhaseKind::Ground) {
            continue;
        }
        let before = from.checked_sub(1).and_then(|i| kinds.get(i)).copied();
        if let Some(kind) = before.filter(|k| *k != PhaseKind::Ground).or_else(|| kinds.get(to).copied()) {
            for k in kinds.get_mut(from..to).unwrap_or(&mut []) {
                *k = kind;
            }
        }
    }
}

/// The descent that leads to the landing: from where it stays below the height of an approach, or last went up.
fn approach(kinds: &mut [PhaseKind], s: &Signals, from: usize, landing: usize, down: Option<f64>) {
    let Some(down) = down else { return };
    let mut begin = landing;
    for i in (from..landing).rev() {
        let low = s.height.get(i).is_some_and(|h| h - down <= APPROACH_M);
        let sinks = s.climb.get(i).is_some_and(|c| *c < 0.3);
        if !(low && sinks) || s.seconds(i, landing) > APPROACH_S {
            break;
        }
        begin = i;
    }
    if s.seconds(begin, landing) >= SHORTEST_S {
        for k in kinds.get_mut(begin..landing).unwrap_or(&mut []) {
            *k = PhaseKind::Approach;
        }
    }
}

/// The moment of an impact, half a second before to a second after.
fn impacts(kinds: &mut [PhaseKind], s: &Signals, flights: &[Flown]) {
    for touched in flights.iter().filter(|f| f.impact.is_some()).filter_map(|f| f.touchdown) {
        let (from, to) = (s.place(touched.time_s - 0.5), s.place(touched.time_s + 1.0));
        for k in kinds.get_mut(from..to.min(s.t.len())).unwrap_or(&mut []) {
            *k = PhaseKind::Impact;
        }
    }
}

/// The first seconds after the ground, and the last descent before it.
fn launches_and_landings(kinds: &mut [PhaseKind], s: &Signals) {
    let ground = runs(kinds.len(), |i, j| {
        (kinds.get(i) == Some(&PhaseKind::Ground)) == (kinds.get(j) == Some(&PhaseKind::Ground))
    });
    let flights: Vec<(usize, usize)> =
        ground.into_iter().filter(|(from, _)| kinds.get(*from) != Some(&PhaseKind::Ground)).collect();
    let n = kinds.len();
    for (from, to) in flights {
        // A recording that ends in the air shows no landing, one that begins there no launch.
        if to < n {
            let down = s.height.get(to).copied().filter(|h| h.is_finite());
            let begin = (from..to)
                .rev()
                .find(|i| {
                    let above = s.height.get(*i).zip(down).map(|(h, d)| h - d);
                    s.seconds(*i, to) > LANDING_S || above.map_or(s.seconds(*i, to) > 8.0, |a| a > LANDING_M)
                })
                .unwrap_or(from);
            for k in kinds.get_mut(begin + 1..to).unwrap_or(&mut []) {
                *k = PhaseKind::Landing;
            }
            approach(kinds, s, from, begin + 1, down);
        }
        if from > 0 {
            let end = (from..to).find(|i| s.seconds(from, *i) > LAUNCH_S).unwrap_or(to);
            for k in kinds.get_mut(from..end).unwrap_or(&mut []) {
                *k = PhaseKind::Launch;
            }
        }
    }
}
