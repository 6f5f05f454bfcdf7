//! Where does the stick rest, and what lies between? Movements that leave a place of rest quickly and far.

use numerics::statistics::median;

use super::Stick;

/// What lies between two rests.
#[derive(Debug, Clone, Copy)]
pub(super) struct Movement {
    /// First place where the stick moves.
    pub from: usize,
    /// Place where it rests again.
    pub to: usize,
    /// Where it rested before.
    pub before: f64,
    /// Where it rests after.
    pub after: f64,
    /// How far it strays while it rests.
    pub stray: f64,
}

/// The least movement that is told, as a fraction of full stick: less is done all the time (common practice, no source).
pub(super) const LEAST: f64 = 0.05;
/// A stick rests that stays within this much, and within a share of how far it was moved, for so long.
const REST_WITHIN: f64 = 0.05;
const REST_S: f64 = 0.6;
/// A stick that is held away from its place for so long rests there.
const HELD_S: f64 = 3.0;

/// Every movement, in order. A stick that is held elsewhere begins a new rest there.
pub(super) fn movements(stick: &Stick) -> Vec<Movement> {
    let mut found = Vec::new();
    let n = stick.values.len();
    let rest = stick.places(REST_S).max(3);
    let mut place = 0;
    // First a rest; then what leaves it.
    while let Some(begin) = next_rest(stick, place, rest, REST_WITHIN) {
        let mut end = begin + rest;
        let mut before = middle(stick, end.saturating_sub(stick.places(1.0)).max(begin), end);
        let stray = spread(stick, begin, end);
        let far = (4.0 * stray).max(LEAST);
        // The rest goes on while the stick stays near; it may creep.
        while end < n {
            let Some(v) = stick.values.get(end).filter(|v| v.is_finite()) else { break };
            if (v - before).abs() > far {
                break;
            }
            end += 1;
            if end.is_multiple_of(rest.div_ceil(3)) {
                before = middle(stick, end.saturating_sub(stick.places(1.0)).max(begin), end);
            }
        }
        if end >= n || !stick.values.get(end).is_some_and(|v| v.is_finite()) {
            place = end.max(begin + 1);
            continue;
        }
        // It left its place a little before it was far from it.
        let from = (begin..end)
            .rev()
            .take(stick.places(1.0))
            .find(|i| stick.values.get(*i).is_some_and(|v| (v - before).abs() <= 0.25 * far))
            .unwrap_or(end);
        let (to, after) = settled(stick, end, before, far, rest);
        found.push(Movement { from, to, before, after, stray });
        place = to.max(end + 1);
    }
    found
}

/// First place from which the stick stays within a band for a while.
fn next_rest(stick: &Stick, from: usize, rest: usize, within: f64) -> Option<usize> {
    let mut place = from;
    while place + rest <= stick.values.len() {
        let window = stick.values.get(place..place + rest)?;
        match leaves(window, within) {
            None => return Some(place),
            // Nothing that holds the place where it left the band can rest before it.
            Some(at) => place += at.max(1),
        }
    }
    None
}

/// Where a window no longer fits into a band of this width, if anywhere: the last place to begin after.
fn leaves(window: &[f64], within: f64) -> Option<usize> {
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for (i, v) in window.iter().enumerate() {
        if !v.is_finite() {
            return Some(i + 1);
        }
        low = low.min(*v);
        high = high.max(*v);
        if high - low > within {
            // Begin after the last value that is too far from this one.
            let last = window.get(..i)?.iter().rposition(|w| (w - v).abs() > within).unwrap_or(0);
            return Some(last + 1);
        }
    }
    None
}

/// Where the stick rests again: back where it was for a while, or elsewhere for long.
fn settled(stick: &Stick, from: usize, before: f64, far: f64, rest: usize) -> (usize, f64) {
    let n = stick.values.len();
    let held = stick.places(HELD_S);
    let mut place = from;
    let mut largest = 0.0_f64;
    while place < n {
        let Some(v) = stick.values.get(place).filter(|v| v.is_finite()) else {
            return (place, before);
        };
        largest = largest.max((v - before).abs());
        let within = REST_WITHIN.max(0.25 * largest);
        let near = (v - before).abs() <= (0.25 * largest).max(far);
        let window = stick.values.get(place..(place + if near { rest } else { held }).min(n)).unwrap_or(&[]);
        // At the end of the recording what there is must do.
        if leaves(window, within).is_none() && (place + window.len() == n || !window.is_empty()) {
            return (place, middle(stick, place, place + window.len().min(rest * 2)));
        }
        place += 1;
    }
    (n.saturating_sub(1), before)
}

fn middle(stick: &Stick, from: usize, to: usize) -> f64 {
    median(stick.values.get(from..to).unwrap_or(&[]))
}

/// How far the stick strays about its middle, without its creeping: from the differences over a tenth of a second.
fn spread(stick: &Stick, from: usize, to: usize) -> f64 {
    let lag = stick.places(0.1);
    let window = stick.values.get(from..to).unwrap_or(&[]);
    let steps: Vec<f64> =
        window.iter().zip(window.get(lag..).unwrap_or(&[])).map(|(a, b)| (b - a).abs()).collect();
    let typical = median(&steps);
    if typical.is_finite() { typical } else { 0.0 }
}
