//! Of which kind is a movement? Its lobes to one side and the other, their sizes and lengths.

use numerics::statistics::robust_spread;

use super::edges::Flicked;
use super::rests::{LEAST, Movement};
use super::{InputKind, Stick};

/// A part of a movement to one side.
#[derive(Debug, Clone, Copy)]
pub(super) struct Lobe {
    /// First place beyond the least movement, and the place after the last.
    pub from: usize,
    pub to: usize,
    /// Farthest demand from where the stick rested before.
    pub peak: f64,
    /// How long it was farther than half of that, s.
    pub long_s: f64,
}

/// Lobes that make one input.
#[derive(Debug, Clone)]
pub(super) struct Shape {
    /// What they make.
    pub kind: InputKind,
    /// First and last place.
    pub from: usize,
    pub to: usize,
    /// The lobes.
    pub lobes: Vec<Lobe>,
    /// How sure, 0 to 1.
    pub confidence: f64,
}

/// A stick that is out for longer than this was stepped, not pulsed, s.
const PULSE_S: f64 = 1.0;
/// Lobes much smaller than the largest are overshoot of the hand.
const SMALL: f64 = 0.35;
/// Fewest lobes and shortest time of a sweep.
const SWEEP_LOBES: usize = 6;
const SWEEP_S: f64 = 4.0;
/// More lobes than this that are no sweep are flying, not testing.
const MOST_LOBES: usize = 8;

/// The inputs that a movement between two rests is made of: lobes to alternating sides belong together.
pub(super) fn between_rests(stick: &Stick, movement: &Movement) -> Vec<Shape> {
    // A step that is not taken back goes on to where the stick rests: its lobe takes in some of that.
    let lobes = lobes(stick, movement, stick.places(0.2));
    let mut groups: Vec<Vec<Lobe>> = Vec::new();
    for lobe in lobes {
        match groups.last_mut() {
            Some(group) if group.last().is_some_and(|l| l.peak * lobe.peak < 0.0) => group.push(lobe),
            _ => groups.push(vec![lobe]),
        }
    }
    let count = groups.len();
    groups
        .into_iter()
        .enumerate()
        .flat_map(|(place, group)| {
            let returned = place + 1 < count || returned(movement, &group);
            apart(group).into_iter().filter_map(move |part| shape(stick, movement, part, returned))
        })
        .map(|mut shape| {
            let quick =
                if shape.kind == InputKind::Sweep { 1.0 } else { quickness(stick, movement, &shape.lobes) };
            shape.confidence *= quick * amid(stick, movement, largest(&shape.lobes));
            shape
        })
        .collect()
}

/// The inputs that a movement with sharp edges is made of.
pub(super) fn flicked(stick: &Stick, flicked: &Flicked) -> Vec<Shape> {
    let movement = &flicked.movement;
    let parts = apart(lobes(stick, movement, 0));
    let count = parts.len();
    let mut found: Vec<Shape> = Vec::new();
    for (place, part) in parts.into_iter().enumerate() {
        let begin = part.first().map_or(movement.from, |l| l.from);
        let last = place + 1 == count;
        let Some(mut shape) = shape(stick, movement, part, !(last && flicked.stays)) else { continue };
        // The edges tell begin and end better than how far the stick was.
        shape.from = if place == 0 { movement.from } else { begin };
        shape.to = if last { movement.to } else { shape.to };
        if let Some(before) = found.last_mut() {
            before.to = before.to.min(begin);
        }
        found.push(shape);
    }
    found
}

/// Two lobes that do not match are no doublet: an input, and what the pilot did about it.
fn apart(lobes: Vec<Lobe>) -> Vec<Vec<Lobe>> {
    match lobes.as_slice() {
        [a, b] if !match_each_other(a, b) => vec![vec![*a], vec![*b]],
        [] => Vec::new(),
        _ => vec![lobes],
    }
}

fn match_each_other(a: &Lobe, b: &Lobe) -> bool {
    let (sizes, lengths) = ([a.peak.abs(), b.peak.abs()], [a.long_s, b.long_s]);
    ratio(sizes.into_iter()) >= 0.5 && ratio(lengths.into_iter()) >= 0.45
}

fn largest(lobes: &[Lobe]) -> f64 {
    lobes.iter().map(|l| l.peak.abs()).fold(0.0, f64::max)
}

fn returned(movement: &Movement, lobes: &[Lobe]) -> bool {
    (movement.after - movement.before).abs() < (SMALL * largest(lobes)).max(LEAST)
}

fn lobes(stick: &Stick, movement: &Movement, beyond: usize) -> Vec<Lobe> {
    let to = (movement.to + beyond).min(stick.values.len());
    let from = movement.from;
    let off: Vec<f64> =
        stick.values.get(from..to).unwrap_or(&[]).iter().map(|v| v - movement.before).collect();
    let largest = off.iter().filter(|v| v.is_finite()).fold(0.0_f64, |m, v| m.max(v.abs()));
    let least = (SMALL * largest).max(0.5 * LEAST);
    let side = |v: f64| {
        if v > least {
            1
        } else if v < -least {
            -1
        } else {
            0
        }
    };
    let mut found: Vec<Lobe> = Vec::new();
    let mut begin = 0;
    for i in 1..=off.len() {
        let same = off.get(i).zip(off.get(begin)).is_some_and(|(a, b)| side(*a) == side(*b));
        if same {
            continue;
        }
        let part = off.get(begin..i).unwrap_or(&[]);
        let sign = f64::from(off.get(begin).map_or(0, |v| side(*v)));
        if sign != 0.0 {
            let peak = part.iter().fold(0.0_f64, |m, v| if v * sign > m * sign { *v } else { m });
            let beyond = part.iter().filter(|v| **v * sign > 0.5 * peak.abs()).count();
            found.push(Lobe { from: from + begin, to: from + i, peak, long_s: beyond as f64 * stick.step_s });
        }
        begin = i;
    }
    // One sample to a side is a spike of the record, not a hand.
    found.retain(|l| l.long_s > 1.5 * stick.step_s || stick.step_s > 0.1);
    found
}

fn ratio(values: impl Iterator<Item = f64>) -> f64 {
    let (low, high) = values.fold((f64::INFINITY, 0.0_f64), |(l, h), v| (l.min(v), h.max(v)));
    if high > 0.0 { low / high } else { 0.0 }
}

fn shape(stick: &Stick, movement: &Movement, lobes: Vec<Lobe>, returned: bool) -> Option<Shape> {
    let (first, last) = (lobes.first()?, lobes.last()?);
    let even_size = ratio(lobes.iter().map(|l| l.peak.abs()));
    let even_length = ratio(lobes.iter().map(|l| l.long_s));
    let trend = trend(&lobes);
    let long_s = (last.to - first.from) as f64 * stick.step_s;
    let sweeps = lobes.len() >= SWEEP_LOBES && long_s >= SWEEP_S && trend >= 0.75 && even_length < 0.7;
    let (kind, fit) = match lobes.len() {
        1 if returned && first.long_s < PULSE_S => (InputKind::Pulse, 1.0),
        1 => (InputKind::Step, 1.0),
        2 => (InputKind::Doublet, if returned { 1.0 } else { 0.6 }),
        _ if sweeps => (InputKind::Sweep, trend),
        n if n <= MOST_LOBES && even_size >= 0.4 => (InputKind::MultiStep, 1.0),
        _ => return None,
    };
    let from = left(stick, movement, first);
    // The hand came back a little after it was near.
    let to = if returned { back(stick, movement, last) } else { movement.to.max(last.from + 1) };
    let confidence = fit * stands_out(largest(&lobes), movement);
    Some(Shape { kind, from, to, lobes, confidence })
}

/// 1 for a movement far above what the stick strays at rest.
fn stands_out(peak: f64, movement: &Movement) -> f64 {
    1.0 - (-peak / (0.06 + 4.0 * movement.stray)).exp()
}

/// 1 for a movement far above what the stick does in the seconds around it, 0 for one that is no larger than usual.
fn amid(stick: &Stick, movement: &Movement, peak: f64) -> f64 {
    /// Seconds to either side, and what no stick is quieter than.
    const AROUND_S: f64 = 6.0;
    const QUIETEST: f64 = 0.01;
    let around = stick.places(AROUND_S);
    let before = stick.values.get(movement.from.saturating_sub(around)..movement.from).unwrap_or(&[]);
    let end = movement.to.min(stick.values.len());
    let after = stick.values.get(end..(end + around).min(stick.values.len())).unwrap_or(&[]);
    let loudest =
        [before, after].map(robust_spread).into_iter().filter(|s| s.is_finite()).fold(QUIETEST, f64::max);
    ((peak / loudest - 2.0) / 3.0).clamp(0.0, 1.0)
}

/// The last place before a lobe where the stick was still at rest.
fn left(stick: &Stick, movement: &Movement, lobe: &Lobe) -> usize {
    let near = 0.1 * lobe.peak.abs() + movement.stray;
    (movement.from.saturating_sub(stick.places(0.3))..lobe.from)
        .rev()
        .find(|i| stick.values.get(*i).is_some_and(|v| (v - movement.before).abs() <= near))
        .unwrap_or(lobe.from.saturating_sub(1))
}

/// The first place after a lobe where the stick is back.
fn back(stick: &Stick, movement: &Movement, lobe: &Lobe) -> usize {
    let near = 0.15 * lobe.peak.abs() + movement.stray;
    (lobe.to..(lobe.to + stick.places(0.6)).min(stick.values.len()))
        .find(|i| stick.values.get(*i).is_some_and(|v| (v - movement.before).abs() <= near))
        .unwrap_or(lobe.to)
}

/// 1 for a hand that flicks (0.3 s from a tenth to nine tenths), less for one that leans on the stick.
fn quickness(stick: &Stick, movement: &Movement, lobes: &[Lobe]) -> f64 {
    const FLICK_S: f64 = 0.3;
    let Some(first) = lobes.first() else { return 0.0 };
    let share = |i: &usize| stick.values.get(*i).map_or(0.0, |v| (v - movement.before) / first.peak);
    let high = (first.from..first.to).find(|i| share(i) >= 0.9).unwrap_or(first.to);
    let low = (first.from.saturating_sub(stick.places(2.0))..high).rev().find(|i| share(i) <= 0.1);
    let rise_s = low.map_or(2.0, |l| (high - l) as f64 * stick.step_s);
    let slow = ((rise_s - stick.step_s) / FLICK_S - 1.0).max(0.0);
    (-0.6 * slow).exp()
}

/// How steadily lobes become shorter or longer: the size of the correlation of their order with the logarithm of their
/// lengths. The first and last lobes may be cut.
fn trend(lobes: &[Lobe]) -> f64 {
    let points: Vec<(f64, f64)> =
        lobes.iter().enumerate().map(|(i, l)| (i as f64, l.long_s.max(1e-6).ln())).collect();
    let n = points.len() as f64;
    let (mx, my) = points.iter().fold((0.0, 0.0), |(a, b), (x, y)| (a + x / n, b + y / n));
    let (mut xx, mut yy, mut xy) = (0.0, 0.0, 0.0);
    for (x, y) in points {
        xx += (x - mx) * (x - mx);
        yy += (y - my) * (y - my);
        xy += (x - mx) * (y - my);
    }
    if xx > 0.0 && yy > 0.0 { (xy / (xx * yy).sqrt()).abs() } else { 0.0 }
}
