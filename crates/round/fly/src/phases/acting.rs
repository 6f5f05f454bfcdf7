//! How did the stick act when? Periods by the recording's own channel of the mode.

use aircraft::finding::Window;

use crate::inputs::Control;
use crate::recording::{Quantity, Recording};

/// A period in which the stick acted one way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Acting {
    /// How.
    pub control: Control,
    /// When.
    pub window: Window,
    /// How sure, 0 to 1: the share of its samples that say so.
    pub confidence: f64,
}

/// A change that lasts shorter is none: a switch that bounces, or passes over the place between, s.
const LEAST_S: f64 = 0.3;

/// Periods in which the stick acted one way, in order; empty where the recording does not say. A change counts from where
/// it began, once it has lasted for three tenths of a second.
#[must_use]
pub fn acting(recording: &Recording) -> Vec<Acting> {
    let Some(channel) = recording.channel(&Quantity::Acts) else {
        return Vec::new();
    };
    let samples: Vec<(f64, Control)> = channel
        .time_s
        .iter()
        .zip(&channel.values)
        .filter(|(_, v)| v.is_finite())
        .map(|(t, v)| (*t, Control::of_number(*v)))
        .collect();
    let Some(end) = samples.last().map(|(t, _)| *t) else {
        return Vec::new();
    };
    let runs: Vec<&[(f64, Control)]> = samples.chunk_by(|a, b| a.1 == b.1).collect();
    // A period with its samples, and how many of them say so.
    let mut periods: Vec<(Control, f64, usize, usize)> = Vec::new();
    for (place, run) in runs.iter().enumerate() {
        let Some((begin, control)) = run.first().copied() else { continue };
        let until = runs.get(place + 1).and_then(|next| next.first()).map_or(end, |(t, _)| *t);
        match periods.last_mut() {
            Some(last) if last.0 == control => {
                last.2 += run.len();
                last.3 += run.len();
            }
            Some(last) if until - begin < LEAST_S => last.2 += run.len(),
            _ => periods.push((control, begin, run.len(), run.len())),
        }
    }
    let ends: Vec<f64> = periods.iter().skip(1).map(|p| p.1).chain([end]).collect();
    periods
        .iter()
        .zip(ends)
        .map(|((control, from_s, all, say), to_s)| Acting {
            control: *control,
            window: Window { from_s: *from_s, to_s },
            confidence: *say as f64 / *all as f64,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::recording::Channel;

    fn recording(values: &[f64], step_s: f64) -> Recording {
        let time_s = Arc::new((0..values.len()).map(|i| i as f64 * step_s).collect());
        let channel =
            Channel { quantity: Quantity::Acts, source: "mode".into(), time_s, values: values.to_vec() };
        Recording { channels: vec![channel], ..Recording::default() }
    }

    #[test]
    fn a_switch_that_bounces_is_not_switched() {
        let mut values = vec![0.0; 300];
        values[100] = 2.0;
        values[103] = f64::NAN;
        values[200..].fill(2.0);
        let found = acting(&recording(&values, 0.02));
        let told: Vec<(Control, f64, f64)> =
            found.iter().map(|a| (a.control, a.window.from_s, a.window.to_s)).collect();
        assert_eq!(told, [(Control::Direct, 0.0, 4.0), (Control::Level, 4.0, 5.98)]);
        // One of 199 samples says otherwise.
        assert!((found[0].confidence - 198.0 / 199.0).abs() < 1e-12);
        assert!(acting(&Recording::default()).is_empty());
    }

    #[test]
    fn modes_switched_through_count_where_they_last() {
        let values: Vec<f64> = (0..300).map(|i| f64::from(i / 100)).collect();
        let found = acting(&recording(&values, 0.02));
        assert_eq!(
            found.iter().map(|a| a.control).collect::<Vec<_>>(),
            [Control::Direct, Control::Rate, Control::Level]
        );
        let quick = acting(&recording(&[vec![0.0; 50], vec![1.0; 5], vec![2.0; 50]].concat(), 0.02));
        assert_eq!(quick.iter().map(|a| a.control).collect::<Vec<_>>(), [Control::Direct, Control::Level]);
    }
}
