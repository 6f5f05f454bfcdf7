//! What is the mean of every channel over equal short intervals? Everything is learnt from these blocks: a recording
//! of ten minutes at 500 rows a second holds no more about wind and trim than its block means do.

use std::collections::BTreeMap;

use aircraft::finding::Window;
use fly::recording::{Channel, Quantity, Recording};
use numerics::frames::wrap_rad;
use numerics::statistics::median;

/// Shortest block, s: a fast satellite receiver's interval, and a turn of 0.7 rad/s shortens the mean of a velocity
/// over it by less than 0.1 % (sinc of half the angle turned).
const SHORTEST_BLOCK_S: f64 = 0.2;
/// Longest block, s: slower receivers are taken sample by sample.
const LONGEST_BLOCK_S: f64 = 2.0;
/// Holes up to this many of a channel's own intervals are filled along a straight line; longer ones stay holes.
const FILLED_INTERVALS: f64 = 2.5;

/// Block means of the channels of a recording on one clock. A block without data is not a number.
#[derive(Debug, Clone)]
pub struct Blocks {
    /// Length of a block, s.
    pub step_s: f64,
    /// Begin of the first block, s.
    pub from_s: f64,
    /// Number of blocks.
    pub count: usize,
    columns: BTreeMap<Quantity, Vec<f64>>,
}

/// More blocks than a day of them hold no flight: the clock of such a recording is broken.
const MOST_BLOCKS: f64 = 500_000.0;

impl Blocks {
    /// Block means of every channel of a recording; absent when it holds no time at all, or days of it. The length of a
    /// block is the interval of the ground velocity, between 0.2 and 2 s.
    #[must_use]
    pub fn of(recording: &Recording) -> Option<Self> {
        let (first, last) = recording.span_s()?;
        if !(last - first).is_finite() || last <= first {
            return None;
        }
        let velocity = [Quantity::VelocityNorth, Quantity::GroundSpeed, Quantity::Latitude]
            .iter()
            .find_map(|q| recording.channel(q));
        let step_s = velocity.map_or(SHORTEST_BLOCK_S, interval_s).clamp(SHORTEST_BLOCK_S, LONGEST_BLOCK_S);
        if (last - first) / step_s > MOST_BLOCKS {
            return None;
        }
        let count = ((last - first) / step_s).ceil() as usize + 1;
        let mut blocks = Self { step_s, from_s: first, count, columns: BTreeMap::new() };
        let derived = fly::derive::derived(recording);
        for channel in recording.channels.iter().chain(&derived) {
            let column = match channel.quantity {
                Quantity::Yaw | Quantity::Course => blocks.mean_angle(channel),
                _ => blocks.mean(channel, |v| v),
            };
            blocks.columns.insert(channel.quantity.clone(), column);
        }
        blocks.complete_down();
        Some(blocks)
    }

    /// Block means of a quantity; absent when no channel carries it and it follows from no other.
    #[must_use]
    pub fn column(&self, quantity: &Quantity) -> Option<&[f64]> {
        self.columns.get(quantity).map(Vec::as_slice)
    }

    /// Middle of a block, s.
    #[must_use]
    pub fn time_s(&self, block: usize) -> f64 {
        self.from_s + (block as f64 + 0.5) * self.step_s
    }

    /// Blocks whose middle lies in a window.
    #[must_use]
    pub fn within(&self, window: Window) -> std::ops::Range<usize> {
        let place = |t: f64| {
            let blocks = ((t - self.from_s) / self.step_s - 0.5).ceil();
            blocks.clamp(0.0, self.count as f64) as usize
        };
        let from = place(window.from_s);
        from..place(window.to_s).max(from)
    }

    /// Height, m, from the channel above the launch point or the one above sea level.
    #[must_use]
    pub fn height_m(&self) -> Option<&[f64]> {
        self.column(&Quantity::Height).or_else(|| self.column(&Quantity::Altitude))
    }

    fn index(&self, time_s: f64) -> Option<usize> {
        let place = (time_s - self.from_s) / self.step_s;
        (place >= 0.0 && place < self.count as f64).then_some(place as usize)
    }

    fn mean(&self, channel: &Channel, f: impl Fn(f64) -> f64) -> Vec<f64> {
        let mut sums = vec![0.0; self.count];
        let mut counts = vec![0_u32; self.count];
        for (t, v) in channel.time_s.iter().zip(&channel.values) {
            let value = f(*v);
            if let (Some(i), true) = (self.index(*t), value.is_finite()) {
                sums[i] += value;
                counts[i] += 1;
            }
        }
        let mut means: Vec<f64> = sums
            .iter()
            .zip(&counts)
            .map(|(s, n)| if *n > 0 { s / f64::from(*n) } else { f64::NAN })
            .collect();
        let held = matches!(channel.quantity, Quantity::Acts);
        self.fill(&mut means, interval_s(channel), |a, b, share| if held { a } else { a + share * (b - a) });
        means
    }

    fn mean_angle(&self, channel: &Channel) -> Vec<f64> {
        let cos = self.mean(channel, f64::cos);
        let sin = self.mean(channel, f64::sin);
        sin.iter().zip(&cos).map(|(s, c)| s.atan2(*c)).collect()
    }

    /// Fills short holes between finite blocks.
    fn fill(&self, column: &mut [f64], interval_s: f64, between: impl Fn(f64, f64, f64) -> f64) {
        let longest = (FILLED_INTERVALS * interval_s / self.step_s).min(self.count as f64) as usize;
        let mut last: Option<usize> = None;
        for i in 0..column.len() {
            if !column[i].is_finite() {
                continue;
            }
            if let Some(before) = last {
                let hole = i - before;
                if hole > 1 && hole <= longest.max(1) {
                    let (a, b) = (column[before], column[i]);
                    for k in 1..hole {
                        column[before + k] = between(a, b, k as f64 / hole as f64);
                    }
                }
            }
            last = Some(i);
        }
    }

    /// Height tells the vertical velocity where no channel does.
    fn complete_down(&mut self) {
        if self.columns.contains_key(&Quantity::VelocityDown) {
            return;
        }
        if let Some(down) = self.height_m().map(|h| self.rate_of(h).iter().map(|v| -v).collect()) {
            self.columns.insert(Quantity::VelocityDown, down);
        }
    }

    /// Rate of change over the neighbouring blocks, per s.
    #[must_use]
    pub fn rate_of(&self, column: &[f64]) -> Vec<f64> {
        (0..column.len())
            .map(|i| match (i.checked_sub(1), column.get(i + 1)) {
                (Some(before), Some(after)) => (after - column[before]) / (2.0 * self.step_s),
                _ => f64::NAN,
            })
            .collect()
    }
}

/// Median interval between the values of a channel, s, from a thousand of them in its middle: a value that comes five
/// times a second may stand in rows that come a hundred times.
fn interval_s(channel: &Channel) -> f64 {
    let known = |from: usize| {
        (from..channel.values.len())
            .filter(|i| channel.values[*i].is_finite())
            .filter_map(|i| channel.time_s.get(i).copied())
            .take(1000)
            .collect::<Vec<f64>>()
    };
    let mut times = known(channel.values.len() / 2);
    if times.len() < 10 {
        times = known(0);
    }
    let intervals: Vec<f64> = times
        .windows(2)
        .filter_map(|pair| match pair {
            [a, b] if b > a => Some(b - a),
            _ => None,
        })
        .collect();
    let middle = median(&intervals);
    if middle.is_finite() { middle } else { SHORTEST_BLOCK_S }
}

/// Mean of angles, rad, of a slice that may hold holes.
#[must_use]
pub fn mean_angle_rad(angles: &[f64]) -> f64 {
    let (s, c) =
        angles.iter().filter(|a| a.is_finite()).fold((0.0, 0.0), |(s, c), a| (s + a.sin(), c + a.cos()));
    if s == 0.0 && c == 0.0 { f64::NAN } else { wrap_rad(s.atan2(c)) }
}

/// Mean of the finite values of a slice; not a number where fewer than half are.
#[must_use]
pub fn mean_of_most(values: &[f64]) -> f64 {
    let (sum, n) = values.iter().filter(|v| v.is_finite()).fold((0.0, 0_usize), |(s, n), v| (s + v, n + 1));
    if 2 * n >= values.len().max(1) { sum / n as f64 } else { f64::NAN }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;

    fn channel(quantity: Quantity, time_s: Vec<f64>, values: Vec<f64>) -> Channel {
        Channel { quantity, source: String::new(), time_s: Arc::new(time_s), values }
    }

    #[test]
    fn means_of_equal_intervals_are_taken_and_short_holes_filled() {
        let recording = Recording {
            channels: vec![
                channel(
                    Quantity::Airspeed,
                    (0..100).map(|i| f64::from(i) * 0.02).collect(),
                    (0..100).map(f64::from).collect(),
                ),
                channel(Quantity::Throttle, vec![0.0, 0.5, 1.0, 1.9], vec![0.0, 0.5, 1.0, 1.0]),
            ],
            ..Recording::default()
        };
        let blocks = Blocks::of(&recording).unwrap();
        // Ten samples a block: the mean of 0..9 is 4.5, of 10..19 is 14.5.
        let airspeed = blocks.column(&Quantity::Airspeed).unwrap();
        assert!((airspeed[0] - 4.5).abs() < 1e-12 && (airspeed[1] - 14.5).abs() < 1e-12);
        // Throttle has data in blocks 0, 2 and 5; along the lines between them block 1 holds 0.25.
        let throttle = blocks.column(&Quantity::Throttle).unwrap();
        assert!((throttle[1] - 0.25).abs() < 1e-12, "{throttle:?}");
    }

    #[test]
    fn a_course_that_crosses_north_has_no_mean_of_south() {
        let angles = [0.1, std::f64::consts::TAU - 0.1];
        assert!(mean_angle_rad(&angles).abs() < 1e-12);
    }

    #[test]
    fn velocity_follows_from_places() {
        // 0.001 degrees of latitude a second is 110.574 m/s at the equator (meridian radius of WGS-84).
        let time: Vec<f64> = (0..10).map(f64::from).collect();
        let recording = Recording {
            channels: vec![
                channel(Quantity::Latitude, time.clone(), time.iter().map(|t| 0.001 * t).collect()),
                channel(Quantity::Longitude, time, vec![5.0; 10]),
            ],
            ..Recording::default()
        };
        let blocks = Blocks::of(&recording).unwrap();
        let north = blocks.column(&Quantity::VelocityNorth).unwrap();
        assert!((north[4] - 110.574).abs() < 0.01, "{north:?}");
    }
}
