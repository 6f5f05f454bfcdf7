//! Where are most launches at each time? Bands of height and airspeed, and some paths one by one.

use numerics::statistics::quantile;

use super::outcome::Outcome;
use super::tally::{Flown, TRACE_S, Trace};

/// Values at one time that 5, 25, 50, 75 and 95 of 100 launches stay below.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Time after the release, s.
    pub time_s: f64,
    /// The five values.
    pub values: [f64; 5],
}

/// Shares of a band.
pub const SHARES: [f64; 5] = [0.05, 0.25, 0.5, 0.75, 0.95];

/// Height and airspeed over time.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Bands {
    /// Height of the balance point, m; of those on the ground zero.
    pub height_m: Vec<Band>,
    /// Airspeed of those in the air, m/s.
    pub airspeed_m_s: Vec<Band>,
}

/// A path to draw.
#[derive(Debug, Clone, PartialEq)]
pub struct Path {
    /// How it ended.
    pub outcome: Outcome,
    /// Its way.
    pub trace: Trace,
}

/// Bands of launches whose paths were kept.
#[must_use]
pub fn bands(flown: &[Flown]) -> Bands {
    let told: Vec<(&Flown, &Trace)> = flown
        .iter()
        .filter(|f| f.outcome != Outcome::Diverged)
        .filter_map(|f| f.trace.as_ref().map(|t| (f, t)))
        .collect();
    let longest = told.iter().map(|(_, t)| t.height_m.len()).max().unwrap_or(0);
    let mut out = Bands::default();
    for i in 0..longest {
        let time_s = i as f64 * TRACE_S;
        let heights: Vec<f64> = told
            .iter()
            .filter_map(|(f, t)| match t.height_m.get(i) {
                Some(height) => Some(f64::from(*height)),
                None if f.noted.touched_at_s.is_some() => Some(0.0),
                None => None,
            })
            .collect();
        let speeds: Vec<f64> =
            told.iter().filter_map(|(_, t)| t.airspeed_m_s.get(i)).map(|v| f64::from(*v)).collect();
        for (bands, values) in [(&mut out.height_m, &heights), (&mut out.airspeed_m_s, &speeds)] {
            if !values.is_empty() {
                bands.push(Band { time_s, values: SHARES.map(|q| quantile(values, q)) });
            }
        }
    }
    out
}

/// The first launches' paths, and of each class that the first do not show some more.
#[must_use]
pub fn fan(flown: &[Flown]) -> Vec<Path> {
    const FIRST: usize = 40;
    const EACH: usize = 6;
    let mut counts = [0_usize; super::outcome::OUTCOMES];
    let mut out = Vec::new();
    for (i, f) in flown.iter().enumerate() {
        let Some(count) = counts.get_mut(f.outcome.place()) else {
            continue;
        };
        if let Some(trace) = &f.trace
            && (i < FIRST || *count < EACH)
            && trace.height_m.len() > 1
        {
            *count += 1;
            out.push(Path { outcome: f.outcome, trace: trace.clone() });
        }
    }
    out
}
