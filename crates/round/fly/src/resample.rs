//! What was this channel at that time? Values at given times, and several channels on one grid.

use numerics::frames::wrap_rad;

use crate::recording::{Channel, Quantity, Recording};

/// Whether a quantity is an angle that passes from π to -π.
#[must_use]
pub fn wraps(quantity: &Quantity) -> bool {
    matches!(quantity, Quantity::Roll | Quantity::Yaw | Quantity::Course)
}

/// Whether a quantity holds its value between samples instead of passing through those between.
fn holds(quantity: &Quantity) -> bool {
    matches!(quantity, Quantity::Acts | Quantity::Satellites)
}

/// Longest hole that is passed over by interpolation, s; the slowest channels worth reading have two samples in it.
const LONGEST_HOLE_S: f64 = 2.0;

/// Values of a channel at growing times, linear between samples; angles take the short way round and come back
/// in (-π, π]. Not a number outside the channel's span and in holes longer than two seconds.
#[must_use]
pub fn at(channel: &Channel, times_s: &[f64]) -> Vec<f64> {
    let count = channel.time_s.len().min(channel.values.len());
    let (times, values) =
        (channel.time_s.get(..count).unwrap_or(&[]), channel.values.get(..count).unwrap_or(&[]));
    let wraps = wraps(&channel.quantity);
    let holds = holds(&channel.quantity);
    let number = |i: &usize| values.get(*i).is_some_and(|v| v.is_finite());
    // First sample after the last time asked for.
    let mut next = 0;
    times_s
        .iter()
        .map(|t| {
            next = first_after(times, next, *t);
            // Beyond the longest hole nothing is looked for.
            let near = |i: &usize| times.get(*i).is_some_and(|time| t - time <= LONGEST_HOLE_S);
            let Some(before) = (0..next).rev().take_while(near).find(number) else {
                return f64::NAN;
            };
            let (Some(t0), Some(v0)) = (times.get(before).copied(), values.get(before).copied()) else {
                return f64::NAN;
            };
            if t0 >= *t {
                return if wraps { wrap_rad(v0) } else { v0 };
            }
            let near = |i: &usize| times.get(*i).is_some_and(|time| time - t0 <= LONGEST_HOLE_S);
            let later = (next..count).take_while(near).find(number);
            let Some((t1, v1)) = later.and_then(|i| Some((*times.get(i)?, *values.get(i)?))) else {
                return f64::NAN;
            };
            if t1 - t0 > LONGEST_HOLE_S {
                return f64::NAN;
            }
            if holds {
                return v0;
            }
            let share = (t - t0) / (t1 - t0);
            if wraps { wrap_rad(v0 + share * wrap_rad(v1 - v0)) } else { v0 + share * (v1 - v0) }
        })
        .collect()
}

/// The first of growing times that is later than a time, looked for from where the last one was found: a few steps on, or
/// by halving.
fn first_after(times: &[f64], from: usize, t: f64) -> usize {
    /// Steps that cost no more than halving does.
    const STEPS: usize = 8;
    if from > 0 && times.get(from - 1).is_some_and(|time| *time > t) {
        return times.partition_point(|time| *time <= t);
    }
    let near = times.get(from..(from + STEPS).min(times.len())).unwrap_or(&[]);
    match near.iter().position(|time| *time > t) {
        Some(steps) => from + steps,
        None => from + times.get(from..).map_or(0, |rest| rest.partition_point(|time| *time <= t)),
    }
}

/// An angle without its jumps by a full turn; values that are not numbers are passed over and stay.
#[must_use]
pub fn unwrapped(angles_rad: &[f64]) -> Vec<f64> {
    let mut last = f64::NAN;
    angles_rad
        .iter()
        .map(|angle| {
            if !angle.is_finite() {
                return f64::NAN;
            }
            last = if last.is_finite() { last + wrap_rad(angle - last) } else { *angle };
            last
        })
        .collect()
}

/// Several channels at the same evenly spaced times.
#[derive(Debug, Clone, PartialEq)]
pub struct Grid {
    /// Times, s.
    pub time_s: Vec<f64>,
    /// Step between them, s.
    pub step_s: f64,
    /// What each column carries.
    pub quantities: Vec<Quantity>,
    /// One column of values for each quantity.
    pub columns: Vec<Vec<f64>>,
}

impl Grid {
    /// The column of a quantity.
    #[must_use]
    pub fn column(&self, quantity: &Quantity) -> Option<&[f64]> {
        let place = self.quantities.iter().position(|q| q == quantity)?;
        self.columns.get(place).map(Vec::as_slice)
    }
}

/// Those of the quantities that the recording has, on a grid over its whole span. Nothing if it has none of them
/// or the step is not a positive number.
#[must_use]
pub fn grid(recording: &Recording, quantities: &[Quantity], step_s: f64) -> Option<Grid> {
    /// A grid larger than this is a mistaken step.
    const MOST_ROWS: f64 = 5e7;
    let channels: Vec<&Channel> = quantities.iter().filter_map(|q| recording.channel(q)).collect();
    let from = channels.iter().filter_map(|c| c.time_s.first()).copied().reduce(f64::min)?;
    let to = channels.iter().filter_map(|c| c.time_s.last()).copied().reduce(f64::max)?;
    let rows = ((to - from) / step_s).floor() + 1.0;
    if !(step_s > 0.0 && (1.0..=MOST_ROWS).contains(&rows)) {
        return None;
    }
    let time_s: Vec<f64> = (0..rows as usize).map(|i| from + i as f64 * step_s).collect();
    Some(Grid {
        columns: channels.iter().map(|c| at(c, &time_s)).collect(),
        quantities: channels.iter().map(|c| c.quantity.clone()).collect(),
        time_s,
        step_s,
    })
}

/// The usual step of a channel, s: the median of its steps between samples that hold a number.
#[must_use]
pub fn usual_step_s(channel: &Channel) -> Option<f64> {
    let times: Vec<f64> =
        channel.time_s.iter().zip(&channel.values).filter(|(_, v)| v.is_finite()).map(|(t, _)| *t).collect();
    let steps: Vec<f64> = times
        .windows(2)
        .filter_map(|w| match w {
            [a, b] => Some(b - a),
            _ => None,
        })
        .collect();
    let step = numerics::statistics::median(&steps);
    step.is_finite().then_some(step)
}

/// Values averaged over a window of places to each side, holes left out.
pub(crate) fn smooth(values: &[f64], half: usize) -> Vec<f64> {
    (0..values.len())
        .map(|i| {
            let near = values.get(i.saturating_sub(half)..(i + half + 1).min(values.len())).unwrap_or(&[]);
            let (mut sum, mut n) = (0.0, 0);
            for v in near.iter().filter(|v| v.is_finite()) {
                sum += v;
                n += 1;
            }
            if n * 2 > near.len() { sum / n as f64 } else { f64::NAN }
        })
        .collect()
}

/// Rate of an angle on a grid, over about a second.
pub(crate) fn rate_on_grid(angles: &[f64], step: f64) -> Vec<f64> {
    let lag = (0.5 / step).round().max(1.0) as usize;
    (0..angles.len())
        .map(|i| {
            let (Some(a), Some(b)) = (i.checked_sub(lag).and_then(|j| angles.get(j)), angles.get(i + lag))
            else {
                return f64::NAN;
            };
            // Small steps add up without losing turns.
            let mut sum = 0.0;
            for pair in angles.get(i - lag..=i + lag).unwrap_or(&[]).windows(2) {
                if let [p, q] = pair {
                    sum += wrap_rad(q - p);
                }
            }
            if a.is_finite() && b.is_finite() { sum / (2.0 * lag as f64 * step) } else { f64::NAN }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;

    fn channel(quantity: Quantity, time_s: &[f64], values: &[f64]) -> Channel {
        Channel {
            quantity,
            source: "test".into(),
            time_s: Arc::new(time_s.to_vec()),
            values: values.to_vec(),
        }
    }

    #[test]
    fn values_between_samples_are_linear_and_outside_unknown() {
        let c = channel(Quantity::Airspeed, &[0.0, 1.0, 2.0], &[10.0, 12.0, f64::NAN]);
        let v = at(&c, &[-0.1, 0.0, 0.25, 1.0, 1.5]);
        assert!(v[0].is_nan() && v[4].is_nan());
        assert_eq!(&v[1..4], &[10.0, 10.5, 12.0]);
    }

    #[test]
    fn a_heading_passes_south_the_short_way() {
        let c = channel(Quantity::Yaw, &[0.0, 1.0], &[3.0, -3.0]);
        // Half of the short way from 3.0 to -3.0 is π exactly (3.0 + (2π - 6) / 2).
        assert!((at(&c, &[0.5])[0].abs() - std::f64::consts::PI).abs() < 1e-12);
        let u = unwrapped(&[3.0, f64::NAN, -3.0]);
        assert!(u[1].is_nan() && (u[2] - (std::f64::consts::TAU - 3.0)).abs() < 1e-12);
    }

    #[test]
    fn a_long_hole_is_not_bridged() {
        let c = channel(Quantity::Height, &[0.0, 5.0], &[0.0, 50.0]);
        assert!(at(&c, &[2.5])[0].is_nan());
    }
}
