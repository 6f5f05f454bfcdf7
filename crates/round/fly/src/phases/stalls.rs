//! When did the wing let go? Slow, then down by the nose, by the height or by the load, and fast again.

use super::Signals;
use crate::recording::{Quantity, Recording};
use crate::resample::{self, smooth};
use crate::words::G;

/// A stall: from where it became slow to where it flies again, with how sure it is.
pub(super) struct Stall {
    pub from: usize,
    pub to: usize,
    pub confidence: f64,
}

/// Slower than this share of the usual airspeed is slow.
const SLOW: f64 = 0.8;
/// What a stall shows within two seconds: the nose falls by so much, rad; the sink grows by so much, m/s; the load on
/// the wing falls by so much, m/s². (Common practice: a stall is told by a break in one of them.)
const NOSE_RAD: f64 = 0.14;
const SINK_M_S: f64 = 1.5;
const LOAD_M_S2: f64 = 0.15 * G;

/// Every stall of the flight. Without an airspeed none can be told.
pub(super) fn find(r: &Recording, s: &Signals, flying: &[bool]) -> Vec<Stall> {
    let Some(airspeed) = r.channel(&Quantity::Airspeed) else {
        return Vec::new();
    };
    let v = smooth(&resample::at(airspeed, &s.t), 2);
    let aloft: Vec<f64> =
        v.iter().zip(flying).filter(|(v, f)| **f && v.is_finite()).map(|(v, _)| *v).collect();
    let usual = numerics::statistics::median(&aloft);
    if !(usual > 4.0) {
        return Vec::new();
    }
    let on_grid = |q: &Quantity| r.channel(q).map(|c| smooth(&resample::at(c, &s.t), 1));
    let (pitch, load) = (on_grid(&Quantity::Pitch), on_grid(&Quantity::ForceZ));
    let ground = numerics::statistics::quantile(&s.height, 0.02);
    let mut found: Vec<Stall> = Vec::new();
    for (from, to) in super::runs(v.len(), |i, j| slow(&v, i, usual) == slow(&v, j, usual)) {
        if !slow(&v, from, usual) || !flying.get(from).copied().unwrap_or(false) {
            continue;
        }
        let Some(slowest) = (from..to).min_by(|a, b| at(&v, *a).total_cmp(&at(&v, *b))) else { continue };
        let high = at(&s.height, slowest) - ground;
        if high < 8.0 || !flying.get(to.min(v.len() - 1)).copied().unwrap_or(false) {
            continue;
        }
        // The break comes about where it is slowest.
        let begin = slowest.saturating_sub(s.places(2.5)).max(from.saturating_sub(s.places(1.0)));
        let end = (slowest + s.places(2.5)).min(v.len());
        let falls = |w: Option<&[f64]>, by: f64| {
            w.map(|w| fall(w.get(begin..end).unwrap_or(&[]), s.places(2.0)) >= by)
        };
        // The load is negative in flight: less of it is a rise.
        let load_fell = load.as_ref().map(|l| {
            let up: Vec<f64> = l.get(begin..end).unwrap_or(&[]).iter().map(|z| -z).collect();
            fall(&up, s.places(1.0)) >= LOAD_M_S2
        });
        let climb = s.climb.iter().any(|c| c.is_finite()).then_some(s.climb.as_slice());
        let signs = [falls(pitch.as_deref(), NOSE_RAD), falls(climb, SINK_M_S), load_fell];
        let (asked, seen) = (signs.iter().flatten().count(), signs.iter().flatten().filter(|y| **y).count());
        if seen < 2 && !(asked == 1 && seen == 1) {
            continue;
        }
        let recovered = (slowest..v.len()).find(|i| at(&v, *i) > SLOW * usual).unwrap_or(v.len());
        found.push(Stall {
            from: begin,
            to: recovered.min(slowest + s.places(6.0)),
            confidence: 0.3 + 0.2 * seen as f64,
        });
    }
    found
}

fn at(values: &[f64], place: usize) -> f64 {
    values.get(place).copied().unwrap_or(f64::NAN)
}

fn slow(v: &[f64], place: usize, usual: f64) -> bool {
    at(v, place) < SLOW * usual
}

/// The most that a series falls within so many places.
fn fall(values: &[f64], within: usize) -> f64 {
    let mut most = 0.0_f64;
    for (i, a) in values.iter().enumerate() {
        for b in values.get(i..(i + within).min(values.len())).unwrap_or(&[]) {
            most = most.max(a - b);
        }
    }
    most
}
