//! How does a flight begin and end? The throw, the touch-down, and whether it was an impact.

use aircraft::finding::Window;

use super::Signals;
use crate::recording::{Channel, Quantity, Recording};
use crate::resample;
use crate::words::G;

/// A moment with how sure it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moment {
    /// When, s of the recording.
    pub time_s: f64,
    /// How sure, 0 to 1.
    pub confidence: f64,
}

/// One flight of a recording.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flown {
    /// When it was in the air.
    pub window: Window,
    /// When the hand, the line or the rail let go; nothing where the recording begins in the air.
    pub throw: Option<Moment>,
    /// When it first touched the ground; nothing where the recording ends in the air.
    pub touchdown: Option<Moment>,
    /// Whether the touch-down was an impact, and the largest load, m/s², where it was recorded.
    pub impact: Option<f64>,
}

/// A touch-down that takes this much speed away within a tenth of a second is told as an impact: a landing takes off its
/// sink of a meter or two a second at once, and its speed in seconds (common practice, no source). A single value says
/// little: stiff parts ring.
const IMPACT_M_S: f64 = 4.0;
const IMPACT_S: f64 = 0.1;
/// A throw is a pull forward beyond this (common practice: hand throws reach two to six times gravity).
const THROW_M_S2: f64 = 1.2 * G;

/// Every flight of a recording, in order; nothing for a recording without any speed.
#[must_use]
pub fn flights(recording: &Recording) -> Vec<Flown> {
    let Some(s) = Signals::of(recording) else {
        return Vec::new();
    };
    let flying = s.flying();
    let n = flying.len();
    super::runs(n, |i, j| flying.get(i) == flying.get(j))
        .into_iter()
        .filter(|(from, _)| flying.get(*from).copied().unwrap_or(false))
        .map(|(from, to)| {
            let window = s.window(from, to);
            let touchdown = (to < n).then(|| touchdown(recording, &s, from, to));
            Flown {
                window,
                throw: (from > 0).then(|| throw(recording, window.from_s)),
                touchdown,
                impact: touchdown.and_then(|t| impact(recording, &s, t.time_s, to)),
            }
        })
        .collect()
}

/// Places and values of a channel between two times.
fn between(channel: &Channel, from_s: f64, to_s: f64) -> impl DoubleEndedIterator<Item = (f64, f64)> {
    let first = channel.time_s.partition_point(|t| *t < from_s);
    let last = channel.time_s.partition_point(|t| *t <= to_s).max(first);
    let values = channel.values.get(first..last).unwrap_or(&[]);
    channel.time_s.get(first..last).unwrap_or(&[]).iter().copied().zip(values.iter().copied())
}

/// The throw is over where the pull forward has fallen to half of its greatest; without one, where it became fast.
fn throw(r: &Recording, quick_s: f64) -> Moment {
    let pull = r.channel(&Quantity::ForceX).and_then(|x| {
        let near: Vec<(f64, f64)> =
            between(x, quick_s - 2.0, quick_s + 1.5).filter(|(_, v)| v.is_finite()).collect();
        let (at, most) = near.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1))?;
        let over = near.iter().find(|(t, v)| *t > at && *v < 0.5 * most).map(|(t, _)| *t)?;
        (most > THROW_M_S2).then_some(over)
    });
    match pull {
        Some(time_s) => Moment { time_s, confidence: 0.9 },
        None => Moment { time_s: quick_s, confidence: 0.5 },
    }
}

/// Size of the specific force where it was recorded.
fn load(r: &Recording, from_s: f64, to_s: f64) -> Vec<(f64, f64)> {
    let Some(z) = r.channel(&Quantity::ForceZ) else {
        return Vec::new();
    };
    let times: Vec<f64> = between(z, from_s, to_s).map(|(t, _)| t).collect();
    let axis = |q: &Quantity| r.channel(q).map(|c| resample::at(c, &times));
    let (x, y) = (axis(&Quantity::ForceX), axis(&Quantity::ForceY));
    let part = |v: &Option<Vec<f64>>, i: usize| {
        v.as_ref().and_then(|v| v.get(i)).copied().filter(|v| v.is_finite()).unwrap_or(0.0)
    };
    between(z, from_s, to_s)
        .enumerate()
        .map(|(i, (t, z))| (t, (z * z + part(&x, i).powi(2) + part(&y, i).powi(2)).sqrt()))
        .filter(|(_, v)| v.is_finite())
        .collect()
}

/// The first jolt of the last seconds near the ground; without forces, where the height has come down to where it stays.
fn touchdown(r: &Recording, s: &Signals, from: usize, to: usize) -> Moment {
    let end_s = s.window(from, to).to_s;
    let ground = s.height.get(to..(to + s.places(2.0)).min(s.t.len())).map(numerics::statistics::median);
    let ground = ground.filter(|g| g.is_finite());
    // From where it is within a few meters of where it will lie.
    let low = ground.and_then(|g| {
        let reversed = (from..to).rev();
        reversed.take_while(|i| s.height.get(*i).is_some_and(|h| h - g < 3.0)).last()
    });
    let from_s = low.map_or(end_s - 6.0, |i| s.t.get(i).copied().unwrap_or(end_s)).max(end_s - 20.0);
    let loads = load(r, from_s, end_s + 0.5);
    let calm = numerics::statistics::quantile(&loads.iter().map(|(_, v)| *v).collect::<Vec<_>>(), 0.5);
    let spread: Vec<f64> = load(r, from_s - 6.0, from_s).iter().map(|(_, v)| *v).collect();
    let usual = numerics::statistics::quantile(&spread, 0.98) - numerics::statistics::median(&spread);
    let jolt = (calm + (3.0 * usual).max(0.5 * G)).min(calm + 1.5 * G);
    if let Some((time_s, _)) = loads.iter().find(|(_, v)| *v > jolt) {
        return Moment { time_s: *time_s, confidence: if low.is_some() { 0.85 } else { 0.6 } };
    }
    let settled = ground.and_then(|g| {
        let last_high = (from..to).rev().find(|i| s.height.get(*i).is_some_and(|h| h - g > 0.4))?;
        s.t.get(last_high + 1).copied()
    });
    Moment { time_s: settled.unwrap_or(end_s), confidence: if settled.is_some() { 0.5 } else { 0.3 } }
}

/// The largest load of a touch-down that was one of an impact, or the speed that was gone within a moment.
fn impact(r: &Recording, s: &Signals, touched_s: f64, to: usize) -> Option<f64> {
    let loads = load(r, touched_s - 0.3, touched_s + 1.5);
    let most = loads.iter().map(|(_, v)| *v).fold(0.0, f64::max);
    let taken: Vec<(f64, f64)> = loads
        .windows(2)
        .filter_map(|w| match w {
            [a, b] => Some((a.0, (b.1 - G).max(0.0) * (b.0 - a.0).min(IMPACT_S))),
            _ => None,
        })
        .collect();
    let at_once = taken
        .iter()
        .map(|(t, _)| taken.iter().filter(|(u, _)| (*t..*t + IMPACT_S).contains(u)).map(|(_, d)| d).sum())
        .fold(0.0, f64::max);
    // It must have ended the flight: what flies on was a gust or a bounce.
    let ended = s.t.get(to).is_some_and(|t| t - touched_s < 4.0);
    (at_once > IMPACT_M_S && ended).then_some(most)
}
