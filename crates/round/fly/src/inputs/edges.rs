//! Where was the stick flicked from one place to another? Sharp edges between places where it is held, however busy the
//! hand was before.
//!
//! A hand that corrects moves smoothly; one that tests moves at once and holds. Edges that follow each other, with the
//! stick held between them, make one movement. It is measured from where the stick stood just before the first.

use numerics::statistics::median;

use super::Stick;
use super::rests::{LEAST, Movement};

/// A movement with what makes it sure.
#[derive(Debug, Clone, Copy)]
pub(super) struct Flicked {
    /// The movement.
    pub movement: Movement,
    /// Whether the stick stayed where it was flicked to at the last.
    pub stays: bool,
}

/// An edge takes no longer than this, s.
const EDGE_S: f64 = 0.15;
/// The stick is held before and after an edge for at least so long, s, within this share of the edge.
const HELD_S: f64 = 0.2;
const HELD_WITHIN: f64 = 0.3;
/// Least size of an edge, as a fraction of full stick.
const LEAST_EDGE: f64 = 2.0 * LEAST;
/// A place that is held for longer is where the stick now stands, s.
const LONGEST_S: f64 = 5.0;

/// An edge: from the last place before it to the first place after it.
#[derive(Debug, Clone, Copy)]
struct Edge {
    from: usize,
    to: usize,
    by: f64,
}

/// Every movement that begins with an edge, in order.
pub(super) fn movements(stick: &Stick) -> Vec<Flicked> {
    let edges = edges(stick);
    let mut found = Vec::new();
    let mut next = 0;
    while let Some(first) = edges.get(next).copied() {
        let before = level(stick, first.from.saturating_sub(stick.places(HELD_S)), first.from + 1);
        let mut last = first;
        let mut largest = first.by.abs();
        let (end, after, stays) = loop {
            next += 1;
            let from = last.to;
            let held_to = edges.get(next).map_or(stick.values.len(), |e| e.from + 1);
            let place = level(stick, from, (from + stick.places(HELD_S)).min(held_to));
            largest = largest.max((place - before).abs());
            if (place - before).abs() <= 0.3 * largest {
                break (from, place, false);
            }
            let until = held_until(stick, from, place, 0.2 * (place - before).abs());
            match edges.get(next).copied() {
                // Held all the way to the next edge, and not for too long: it goes on.
                Some(edge) if edge.from <= until && edge.from - from <= stick.places(LONGEST_S) => {
                    last = edge
                }
                _ if until - from >= stick.places(LONGEST_S) => break (until, place, true),
                // Let go without an edge.
                _ => break (until, before, false),
            }
        };
        let stray = median(
            &stick
                .values
                .get(first.from.saturating_sub(stick.places(HELD_S))..first.from)
                .unwrap_or(&[])
                .iter()
                .map(|v| (v - before).abs())
                .collect::<Vec<_>>(),
        );
        found.push(Flicked {
            movement: Movement {
                from: first.from,
                to: end,
                before,
                after,
                stray: if stray.is_finite() { stray } else { 0.0 },
            },
            stays,
        });
    }
    found
}

fn level(stick: &Stick, from: usize, to: usize) -> f64 {
    median(stick.values.get(from..to.max(from + 1)).unwrap_or(&[]))
}

/// First place after which the stick is no longer where it was put.
fn held_until(stick: &Stick, from: usize, place: f64, within: f64) -> usize {
    (from..stick.values.len())
        .find(|i| !stick.values.get(*i).is_some_and(|v| (v - place).abs() <= within))
        .unwrap_or(stick.values.len())
}

fn edges(stick: &Stick) -> Vec<Edge> {
    let (wide, held) = (stick.places(EDGE_S), stick.places(HELD_S));
    let v = &stick.values;
    let mut found: Vec<Edge> = Vec::new();
    let mut i = held;
    while i + wide + held < v.len() {
        let Some(edge) = edge(stick, i, wide, held) else {
            i += 1;
            continue;
        };
        i = edge.to.max(i + 1);
        found.push(edge);
    }
    found
}

/// The edge that leaves this place, if one does: far within a short time, with the stick held before and after.
fn edge(stick: &Stick, at: usize, wide: usize, held: usize) -> Option<Edge> {
    let v = &stick.values;
    let value = *v.get(at)?;
    let next = *v.get(at + 1)?;
    // Where nothing happens yet, nothing leaves.
    if (next - value).abs() < 0.2 * LEAST_EDGE {
        return None;
    }
    let to = (at + 1..=at + wide).find(|to| {
        let window = v.get(*to..*to + held).unwrap_or(&[]);
        let by = window.first().map_or(0.0, |w| w - value);
        by.abs() >= LEAST_EDGE && range(window) <= HELD_WITHIN * by.abs()
    })?;
    let by = v.get(to)? - value;
    let before = v.get(at.checked_sub(held)?..=at)?;
    (range(before) <= HELD_WITHIN * by.abs()).then_some(Edge { from: at, to, by })
}

/// From the least to the greatest; infinite where a value is missing.
fn range(values: &[f64]) -> f64 {
    let mut ends = (f64::INFINITY, f64::NEG_INFINITY);
    for v in values {
        if !v.is_finite() {
            return f64::INFINITY;
        }
        ends = (ends.0.min(*v), ends.1.max(*v));
    }
    if values.is_empty() { f64::INFINITY } else { ends.1 - ends.0 }
}
