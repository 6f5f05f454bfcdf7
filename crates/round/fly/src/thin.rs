//! What do slow laws need of a fast channel? Its means over spans that are short against what flies, so that ten minutes at
//! 1 kHz cost no more than ten minutes at 20 Hz.

use std::borrow::Cow;
use std::sync::Arc;

use crate::recording::{Channel, Recording};

/// Length of a span, s: the laws that tie channels, and the phases, look at tenths of a second and longer.
pub(crate) const SPAN_S: f64 = 0.05;
/// Fewer samples a span than this are left as they are.
const PAYS_FROM: f64 = 1.5;

/// Rows that belong together.
pub(crate) struct Spans {
    /// First row of each, and one past the last.
    starts: Vec<usize>,
    /// Mean time of each, s.
    pub(crate) time_s: Arc<Vec<f64>>,
}

impl Spans {
    /// Nothing where there are hardly more rows than spans.
    pub(crate) fn of(time_s: &[f64]) -> Option<Self> {
        let (first, last) = (*time_s.first()?, *time_s.last()?);
        let possible = ((last - first) / SPAN_S).floor() + 1.0;
        if !(time_s.len() as f64 > PAYS_FROM * possible) {
            return None;
        }
        let mut starts = vec![0];
        let mut means = Vec::with_capacity(possible as usize);
        let (mut number, mut sum, mut begin) = (0.0, 0.0, 0);
        for (row, t) in time_s.iter().enumerate() {
            let own = ((t - first) / SPAN_S).floor();
            if own > number {
                means.push(first + sum / (row - begin) as f64);
                starts.push(row);
                (number, sum, begin) = (own, 0.0, row);
            }
            sum += t - first;
        }
        means.push(first + sum / (time_s.len() - begin) as f64);
        starts.push(time_s.len());
        Some(Self { starts, time_s: Arc::new(means) })
    }

    /// Means of the numbers of each span; not a number where there is none. A span in which the values leap by half of
    /// all that they do, as angles do that begin again, gives its first.
    pub(crate) fn means(&self, values: &[f64]) -> Vec<f64> {
        let finite = || values.iter().copied().filter(|v| v.is_finite());
        let leap =
            0.5 * (finite().fold(f64::NEG_INFINITY, f64::max) - finite().fold(f64::INFINITY, f64::min));
        self.starts
            .windows(2)
            .map(|w| {
                let rows = match w {
                    [a, b] => values.get(*a..*b).unwrap_or(&[]),
                    _ => &[],
                };
                let (mut sum, mut n, mut first) = (0.0, 0.0, f64::NAN);
                let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
                for v in rows.iter().filter(|v| v.is_finite()) {
                    if n == 0.0 {
                        first = *v;
                    }
                    sum += v - first;
                    n += 1.0;
                    low = low.min(*v);
                    high = high.max(*v);
                }
                if n > 0.0 && high - low < leap { first + sum / n } else { first }
            })
            .collect()
    }
}

/// A channel, thinned where that pays.
pub(crate) fn channel(channel: &Channel) -> Cow<'_, Channel> {
    match Spans::of(&channel.time_s) {
        Some(spans) => Cow::Owned(thinned(channel, &spans)),
        None => Cow::Borrowed(channel),
    }
}

fn thinned(channel: &Channel, spans: &Spans) -> Channel {
    Channel {
        quantity: channel.quantity.clone(),
        source: channel.source.clone(),
        time_s: Arc::clone(&spans.time_s),
        values: spans.means(&channel.values),
    }
}

/// A recording with its channels thinned where that pays; without its flaws.
pub(crate) fn recording(recording: &Recording) -> Recording {
    let mut clocks: Vec<(Arc<Vec<f64>>, Option<Spans>)> = Vec::new();
    for c in &recording.channels {
        if !clocks.iter().any(|(times, _)| Arc::ptr_eq(times, &c.time_s)) {
            clocks.push((Arc::clone(&c.time_s), Spans::of(&c.time_s)));
        }
    }
    let channels = recording
        .channels
        .iter()
        .map(|c| {
            let spans = clocks.iter().find(|(times, _)| Arc::ptr_eq(times, &c.time_s));
            match spans.and_then(|(_, spans)| spans.as_ref()) {
                Some(spans) => thinned(c, spans),
                None => c.clone(),
            }
        })
        .collect();
    Recording {
        channels,
        rows: recording.rows,
        clock_start_s: recording.clock_start_s,
        ..Recording::default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::recording::Quantity;

    #[test]
    fn means_of_a_ramp_lie_on_it_and_holes_stay() {
        // The mean of a straight line over a span is its value at the mean time.
        let time: Vec<f64> =
            (0..10_000).map(|i| f64::from(i) * 0.001 + if i < 5000 { 0.0 } else { 2.0 }).collect();
        let mut values: Vec<f64> = time.iter().map(|t| 3.0 * t - 7.0).collect();
        values[100] = f64::NAN;
        values[1000..1100].fill(f64::NAN);
        let spans = Spans::of(&time).unwrap();
        let out = spans.means(&values);
        assert!(out.len() > 190 && out.len() < 210, "{}", out.len());
        assert!(spans.time_s.windows(2).all(|w| w[1] > w[0]));
        let empty = out.iter().filter(|v| v.is_nan()).count();
        assert!((1..=2).contains(&empty), "{empty}");
        for (t, v) in spans.time_s.iter().zip(&out).filter(|(_, v)| v.is_finite()) {
            // One missing row of fifty moves the mean by less than half a row.
            assert!((v - (3.0 * t - 7.0)).abs() < 3.0 * 0.0006, "{t}: {v}");
        }
    }

    #[test]
    fn a_heading_that_passes_north_is_not_averaged_to_south() {
        let time: Vec<f64> = (0..2000).map(|i| f64::from(i) * 0.001).collect();
        let degrees: Vec<f64> = time.iter().map(|t| (350.0 + 10.003 * t).rem_euclid(360.0)).collect();
        let spans = Spans::of(&time).unwrap();
        for v in spans.means(&degrees) {
            assert!((v - 360.0).abs() < 10.1 || v.abs() < 10.1, "{v}");
        }
    }

    #[test]
    fn slow_channels_stay_as_they_are() {
        let c = Channel {
            quantity: Quantity::Height,
            source: "h".into(),
            time_s: Arc::new((0..100).map(|i| f64::from(i) * 0.1).collect()),
            values: vec![1.0; 100],
        };
        assert!(matches!(channel(&c), Cow::Borrowed(_)));
    }
}
