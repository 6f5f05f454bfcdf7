//! What do all questions look at? The recording with its blocks, phases, wind and air.

use aircraft::Aircraft;
use aircraft::finding::Window;
use fly::phases::Phase;
use fly::recording::{Quantity, Recording};
use numerics::uncertain::Uncertain;
use numerics::units::G_M_S2;
use predict::prediction::Prediction;

use crate::air::Density;
use crate::blocks::{Blocks, mean_of_most};
use crate::findings::Wind;
use crate::straight::{Piece, Straight};

/// Everything that a question may look at.
pub(crate) struct Flight<'a> {
    pub(crate) aircraft: &'a Aircraft,
    pub(crate) prediction: Option<&'a Prediction>,
    pub(crate) recording: &'a Recording,
    pub(crate) blocks: &'a Blocks,
    pub(crate) phases: &'a [Phase],
    pub(crate) wind: Option<&'a Wind>,
    pub(crate) straight: &'a Straight,
    /// Speed through the air, block by block, m/s; absent where neither sensor nor wind tells it.
    pub(crate) airspeed_m_s: Option<Vec<f64>>,
    pub(crate) density: Density,
}

impl Flight<'_> {
    /// Windows of the phases that a word names.
    pub(crate) fn windows(&self, word: &str) -> Vec<Window> {
        self.phases.iter().filter(|p| p.kind.word() == word).map(|p| p.window).collect()
    }

    /// First and last moment in the air.
    pub(crate) fn in_the_air(&self) -> Option<Window> {
        let flown = |p: &&Phase| !matches!(p.kind.word(), "ground" | "impact");
        let first = self.phases.iter().find(flown)?;
        let last = self.phases.iter().rev().find(flown)?;
        Some(Window { from_s: first.window.from_s, to_s: last.window.to_s })
    }

    /// Mean of a quantity over a piece; not a number where it was not recorded.
    pub(crate) fn over(&self, piece: &Piece, quantity: &Quantity) -> f64 {
        self.blocks
            .column(quantity)
            .and_then(|v| v.get(piece.blocks.0..piece.blocks.1))
            .map_or(f64::NAN, mean_of_most)
    }

    /// Weight as predicted or weighed, N; absent without a prediction.
    pub(crate) fn weight_n(&self) -> Option<Uncertain> {
        let mass = self.prediction?.balance.total_kg;
        Some(Uncertain::new(mass.value * G_M_S2, mass.sd * G_M_S2))
    }

    /// Relative doubt that all airspeeds share.
    pub(crate) fn airspeed_doubt(&self) -> f64 {
        self.straight.airspeed_doubt
    }
}

/// Samples of a channel within a window at the recording's own rate: times and finite values.
pub(crate) fn samples(recording: &Recording, quantity: &Quantity, window: Window) -> Vec<(f64, f64)> {
    let Some(channel) = recording.channel(quantity) else {
        return Vec::new();
    };
    let from = channel.time_s.partition_point(|t| *t < window.from_s);
    let to = channel.time_s.partition_point(|t| *t <= window.to_s).max(from);
    channel
        .time_s
        .get(from..to)
        .unwrap_or(&[])
        .iter()
        .zip(channel.values.get(from..to).unwrap_or(&[]))
        .filter(|(t, v)| t.is_finite() && v.is_finite())
        .map(|(t, v)| (*t, *v))
        .collect()
}

/// Means over `length_s` about each sample.
pub(crate) fn moving_mean(samples: &[(f64, f64)], length_s: f64) -> Vec<(f64, f64)> {
    let (mut from, mut to, mut sum) = (0, 0, 0.0);
    samples
        .iter()
        .map(|(t, _)| {
            while samples.get(to).is_some_and(|s| s.0 <= t + 0.5 * length_s) {
                sum += samples[to].1;
                to += 1;
            }
            while samples.get(from).is_some_and(|s| s.0 < t - 0.5 * length_s) {
                sum -= samples[from].1;
                from += 1;
            }
            (*t, sum / (to - from).max(1) as f64)
        })
        .collect()
}

/// The value at a time, linear between samples; the nearest end's beyond them, not a number without samples.
pub(crate) fn value_at(samples: &[(f64, f64)], time_s: f64) -> f64 {
    let after = samples.partition_point(|s| s.0 < time_s);
    match (after.checked_sub(1).and_then(|i| samples.get(i)), samples.get(after)) {
        (Some((t0, v0)), Some((t1, v1))) if t1 > t0 => v0 + (time_s - t0) / (t1 - t0) * (v1 - v0),
        (Some((_, v)), _) | (_, Some((_, v))) => *v,
        _ => f64::NAN,
    }
}

/// Slope of the line that fits samples best, with its standard error from their scatter; absent with fewer than three.
pub(crate) fn line_slope(samples: &[(f64, f64)]) -> Option<(f64, f64)> {
    let n = samples.len() as f64;
    if n < 3.0 {
        return None;
    }
    let (x, y) = samples.iter().fold((0.0, 0.0), |(x, y), s| (x + s.0 / n, y + s.1 / n));
    let (xx, xy) =
        samples.iter().fold((0.0, 0.0), |(xx, xy), s| (xx + (s.0 - x).powi(2), xy + (s.0 - x) * (s.1 - y)));
    if xx <= 0.0 {
        return None;
    }
    let slope = xy / xx;
    let left: f64 = samples.iter().map(|s| (s.1 - y - slope * (s.0 - x)).powi(2)).sum();
    Some((slope, (left / (n - 2.0) / xx).sqrt()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_line_by_hand_has_its_slope_and_error() {
        // Closed form: x -2..2, y -4.1 -1.9 .1 2.2 3.9: slope 2.01, standard error .048648.
        let samples = [(-2.0, -4.1), (-1.0, -1.9), (0.0, 0.1), (1.0, 2.2), (2.0, 3.9)];
        let (slope, sd) = line_slope(&samples).unwrap();
        assert!((slope - 2.01).abs() < 1e-12 && (sd - 0.048_648).abs() < 1e-6);
        assert!((value_at(&samples, 0.5) - 1.15).abs() < 1e-12);
        assert_eq!(value_at(&samples, 9.0), 3.9);
    }

    #[test]
    fn a_moving_mean_leaves_a_line_as_it_is() {
        let line: Vec<(f64, f64)> = (0..50).map(|i| (f64::from(i) * 0.1, f64::from(i))).collect();
        let smooth = moving_mean(&line, 0.41);
        assert!((smooth[20].1 - 20.0).abs() < 1e-9, "{:?}", smooth[20]);
    }
}
