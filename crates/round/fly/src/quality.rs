//! How good is this recording? Rate, jitter, gaps, stuck, clipped and jumping values, channel by channel.

use std::sync::Arc;

use aircraft::finding::Window;
use numerics::statistics::{mean, standard_deviation};
use rayon::prelude::*;

use crate::recording::{Channel, Flaw, FlawKind, Quantity, Recording};
use crate::words;
use crate::{derive, resample};

mod against;
mod order;

use order::{median, quantile, robust_spread};

/// What one channel is like.
#[derive(Debug, Clone, PartialEq)]
pub struct ChannelQuality {
    /// What it carries.
    pub quantity: Quantity,
    /// Where it came from.
    pub source: String,
    /// Values that are numbers.
    pub samples: usize,
    /// Values that are missing.
    pub missing: usize,
    /// Usual number of new samples a second.
    pub rate_hz: f64,
    /// Spread of the steps of time as a share of the usual step.
    pub jitter: f64,
    /// Longest time without a sample, s.
    pub longest_gap_s: f64,
    /// Least, middle and greatest value, in the kept unit.
    pub least: f64,
    /// Middle value.
    pub middle: f64,
    /// Greatest value.
    pub greatest: f64,
    /// Longest time without a change of value, s.
    pub longest_still_s: f64,
    /// Share of samples that rest at the least or the greatest value.
    pub at_ends: f64,
    /// Steps larger than the quantity can make.
    pub jumps: usize,
}

/// What a recording is like.
#[derive(Debug, Clone, PartialEq)]
pub struct Quality {
    /// How long it is, s.
    pub length_s: f64,
    /// Rows read.
    pub rows: usize,
    /// Each channel.
    pub channels: Vec<ChannelQuality>,
    /// What is wrong with the channels, beside what reading already told.
    pub flaws: Vec<Flaw>,
}

/// Looks at every channel of a recording.
#[must_use]
pub fn assess(recording: &Recording) -> Quality {
    // Channels of one file share their times, so that their steps are looked at once.
    let mut clocks: Vec<(Arc<Vec<f64>>, Steps)> = Vec::new();
    for c in &recording.channels {
        if !clocks.iter().any(|(times, _)| Arc::ptr_eq(times, &c.time_s)) {
            clocks.push((Arc::clone(&c.time_s), Steps::of(&c.time_s)));
        }
    }
    // On the ground everything may stand still.
    let airborne = crate::phases::airborne_windows(recording).filter(|list| !list.is_empty());
    let looked_at: Vec<(ChannelQuality, Vec<Flaw>)> = recording
        .channels
        .par_iter()
        .map(|c| {
            let whole =
                clocks.iter().find(|(times, _)| Arc::ptr_eq(times, &c.time_s)).map(|(_, steps)| *steps);
            let quality = of_channel(c, whole);
            let mut flaws = Vec::new();
            tell(c, &quality, airborne.as_deref(), &mut flaws);
            (quality, flaws)
        })
        .collect();
    let (channels, flaws): (Vec<_>, Vec<_>) = looked_at.into_iter().unzip();
    let mut flaws: Vec<Flaw> = flaws.into_iter().flatten().collect();
    flaws.extend(against::flaws(recording));
    let length_s = recording.span_s().map_or(0.0, |(from, to)| to - from);
    Quality { length_s, rows: recording.rows, channels, flaws }
}

/// Samples that are numbers, with their times.
fn samples(channel: &Channel) -> Vec<(f64, f64)> {
    channel
        .time_s
        .iter()
        .copied()
        .zip(channel.values.iter().copied())
        .filter(|(_, v)| v.is_finite())
        .collect()
}

/// Steps of time: the usual one, their spread and the longest, s.
#[derive(Debug, Clone, Copy)]
struct Steps {
    usual_s: f64,
    spread_s: f64,
    longest_s: f64,
}

impl Steps {
    fn of(times: &[f64]) -> Self {
        let steps: Vec<f64> = times
            .windows(2)
            .filter_map(|w| match w {
                [a, b] => Some(b - a),
                _ => None,
            })
            .collect();
        Self {
            usual_s: median(&steps),
            spread_s: robust_spread(&steps),
            longest_s: steps.iter().copied().fold(0.0, f64::max),
        }
    }
}

fn of_channel(channel: &Channel, whole: Option<Steps>) -> ChannelQuality {
    let samples = samples(channel);
    let values: Vec<f64> = samples.iter().map(|(_, v)| *v).collect();
    let steps = whole
        .filter(|_| values.len() == channel.values.len())
        .unwrap_or_else(|| Steps::of(&samples.iter().map(|(t, _)| *t).collect::<Vec<_>>()));
    let step = steps.usual_s;
    let fold = |start: f64, f: fn(f64, f64) -> f64| values.iter().copied().fold(start, f);
    let (least, greatest) = (fold(f64::INFINITY, f64::min), fold(f64::NEG_INFINITY, f64::max));
    let ends = values.iter().filter(|v| **v == least || **v == greatest).count();
    ChannelQuality {
        quantity: channel.quantity.clone(),
        source: channel.source.clone(),
        samples: values.len(),
        missing: channel.values.len() - values.len(),
        rate_hz: if step > 0.0 { 1.0 / step } else { f64::NAN },
        jitter: if step > 0.0 { steps.spread_s / step } else { f64::NAN },
        longest_gap_s: steps.longest_s,
        least,
        middle: median(&values),
        greatest,
        longest_still_s: still(&samples).iter().map(|(from, to)| to - from).fold(0.0, f64::max),
        at_ends: ends as f64 / values.len().max(1) as f64,
        jumps: jumps(channel, &samples).len(),
    }
}

/// Times during which the value does not change, in order.
fn still(samples: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut runs: Vec<(f64, f64)> = Vec::new();
    let mut begin: Option<(f64, f64)> = None;
    for (t, v) in samples {
        match begin {
            Some((_, value)) if value == *v => {
                if let Some(last) = runs.last_mut() {
                    last.1 = *t;
                }
            }
            _ => {
                begin = Some((*t, *v));
                runs.push((*t, *t));
            }
        }
    }
    runs
}

/// The most that a quantity changes in a second, in its kept unit; common sense for models of a few kilograms, no
/// source. Nothing for what may jump.
fn most_a_second(quantity: &Quantity) -> Option<f64> {
    Some(match quantity {
        // The course of what stands still is any: it may jump.
        Quantity::Roll | Quantity::Yaw => 15.0,
        Quantity::Pitch => 10.0,
        Quantity::RollRate | Quantity::PitchRate | Quantity::YawRate => 500.0,
        Quantity::Latitude | Quantity::Longitude => 100.0 / 111_000.0 * 3.0,
        Quantity::Altitude | Quantity::Height => 60.0,
        Quantity::VelocityNorth
        | Quantity::VelocityEast
        | Quantity::VelocityDown
        | Quantity::GroundSpeed
        | Quantity::Airspeed => 100.0,
        Quantity::StaticPressure => 800.0,
        Quantity::Temperature => 5.0,
        Quantity::ChargeUsed => 0.1,
        _ => return None,
    })
}

/// Places where a value leaps further than it can and than its noise explains.
fn jumps(channel: &Channel, samples: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let Some(most) = most_a_second(&channel.quantity) else {
        return Vec::new();
    };
    let turn = resample::wraps(&channel.quantity);
    let leap = |a: &(f64, f64), b: &(f64, f64)| {
        let d = b.1 - a.1;
        if turn { numerics::frames::wrap_rad(d) } else { d }
    };
    let leaps: Vec<f64> = samples
        .windows(2)
        .filter_map(|w| match w {
            [a, b] => Some(leap(a, b)),
            _ => None,
        })
        .collect();
    let moving: Vec<f64> = leaps.iter().copied().filter(|d| *d != 0.0).collect();
    let noise = robust_spread(&moving);
    samples
        .windows(2)
        .filter_map(|w| match w {
            [a, b] => {
                let d = leap(a, b);
                // A value held over several rows changes all at once.
                let time = (b.0 - a.0).max(0.1);
                (d.abs() > most * time && d.abs() > 10.0 * noise).then_some((b.0, d))
            }
            _ => None,
        })
        .collect()
}

fn tell(channel: &Channel, quality: &ChannelQuality, airborne: Option<&[Window]>, flaws: &mut Vec<Flaw>) {
    let word = words::word(&channel.quantity);
    let mut add = |kind: FlawKind, place: String, what: String| flaws.push(Flaw { kind, place, what });
    let name = format!("{word} ({})", words::column_text(&channel.source));
    // What was computed of other channels has their flaws, which are told of them.
    if quality.samples < 10 || derive::is_derived(channel) {
        return;
    }
    let may_rest = matches!(
        channel.quantity,
        Quantity::Acts
            | Quantity::Satellites
            | Quantity::Throttle
            | Quantity::StickRoll
            | Quantity::StickPitch
            | Quantity::StickYaw
            | Quantity::Servo(_)
            | Quantity::ChargeUsed
    );
    let samples = samples(channel);
    if quality.least == quality.greatest {
        let freely = matches!(channel.quantity, Quantity::Acts | Quantity::Satellites);
        if !freely {
            add(
                FlawKind::Stuck,
                name,
                format!(
                    "is {:.4} in all {} samples: not connected, or not recorded",
                    quality.least, quality.samples
                ),
            );
        }
        return;
    }
    let runs = still(&samples);
    let lengths: Vec<f64> = runs.iter().map(|(a, b)| b - a).collect();
    let usual = quantile(&lengths, 0.9).max(quality_step(quality));
    // With the motor off, current and propeller stand at zero.
    let motor = matches!(channel.quantity, Quantity::Amps | Quantity::Rpm);
    let zero = quality.least + 0.02 * (quality.greatest - quality.least);
    let off = |from: f64| motor && samples.iter().any(|(t, v)| *t == from && *v <= zero);
    let aloft_s = |(from, to): (f64, f64)| match airborne {
        Some(list) => list.iter().map(|w| (to.min(w.to_s) - from.max(w.from_s)).max(0.0)).sum(),
        None => to - from,
    };
    let long = |run: &&(f64, f64)| {
        run.1 - run.0 > (20.0 * usual).max(2.0)
            && aloft_s(**run) > 0.5 * (run.1 - run.0)
            && !may_rest
            && !off(run.0)
    };
    if let Some((from, to)) = runs.iter().filter(long).max_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0))) {
        add(
            FlawKind::Stuck,
            format!("{name}, {from:.2} to {to:.2} s"),
            format!(
                "does not change for {:.1} s; elsewhere it is still for {usual:.2} s at most in nine of ten cases",
                to - from
            ),
        );
    }
    tell_clipped(channel, quality, &samples, &name, &mut add);
    let leaps = jumps(channel, &samples);
    if let Some((at, by)) = leaps.first() {
        add(
            FlawKind::Jump,
            format!("{name}, {at:.2} s"),
            format!("{} jumps further than it can, the first by {by:.3}", leaps.len()),
        );
    }
}

fn quality_step(quality: &ChannelQuality) -> f64 {
    if quality.rate_hz > 0.0 { 1.0 / quality.rate_hz } else { 0.0 }
}

/// A channel that rests at its end far more than just below it.
fn tell_clipped(
    channel: &Channel,
    quality: &ChannelQuality,
    samples: &[(f64, f64)],
    name: &str,
    add: &mut impl FnMut(FlawKind, String, String),
) {
    let bounded = matches!(
        channel.quantity,
        Quantity::Throttle
            | Quantity::StickRoll
            | Quantity::StickPitch
            | Quantity::StickYaw
            | Quantity::Acts
            | Quantity::Satellites
            | Quantity::Latitude
            | Quantity::Longitude
            | Quantity::ChargeUsed
    );
    if bounded {
        return;
    }
    let values: Vec<f64> = samples.iter().map(|(_, v)| *v).collect();
    let (middle, spread) = (mean(&values), standard_deviation(&values));
    for end in [quality.least, quality.greatest] {
        // Nothing runs below zero that stands at zero, and a clipped value lies well away from the middle.
        if end == 0.0 || (end - middle).abs() < spread {
            continue;
        }
        let at = values.iter().filter(|v| **v == end).count();
        let near = values.iter().filter(|v| **v != end && (**v - end).abs() < 0.25 * spread).count();
        let longest = samples
            .chunk_by(|a, b| a.1 == b.1)
            .filter(|run| run.first().is_some_and(|(_, v)| *v == end))
            .map(<[(f64, f64)]>::len)
            .max()
            .unwrap_or(0);
        // A value that rests anyway, as one held between slow updates does, is not clipped.
        let changes = samples.chunk_by(|a, b| a.1 == b.1).count();
        let usual = samples.len() as f64 / changes as f64;
        if at >= 10 && at > near && longest as f64 > 5.0 * usual {
            add(
                FlawKind::Clipped,
                name.to_owned(),
                format!(
                    "rests at {end:.4} in {at} of {} samples, {longest} of them in a row: the end of its range",
                    values.len()
                ),
            );
        }
    }
}
