//! What did the aircraft do in its straight seconds? Straight windows cut into short pieces, each a mean over blocks:
//! what level attitude and trims are learnt from.

use aircraft::Aircraft;
use aircraft::finding::Window;
use fly::phases::{Phase, PhaseKind};
use fly::recording::Quantity;
use numerics::statistics::{mean, median};
use numerics::units::G_M_S2;
use predict::prediction::Prediction;

use crate::blocks::{Blocks, mean_of_most};
use crate::findings::Wind;
use crate::through_air::{airspeed_of_blocks, direction_over};

/// Length of a piece, s: longer than the short-period motion of a model, shorter than a gust along the path.
pub(crate) const PIECE_S: f64 = 2.0;

/// Means over a piece. What was not recorded is not a number, but for `load` (1) and rates (0).
#[derive(Debug, Clone)]
pub(crate) struct Piece {
    /// Which window it is of.
    pub(crate) window: usize,
    pub(crate) time_s: f64,
    pub(crate) pitch_rad: f64,
    pub(crate) roll_rad: f64,
    /// Climb, m/s.
    pub(crate) climb_m_s: f64,
    pub(crate) airspeed_m_s: f64,
    pub(crate) airspeed_rate_m_s2: f64,
    pub(crate) throttle: f64,
    pub(crate) roll_rate_rad_s: f64,
    pub(crate) pitch_rate_rad_s: f64,
    /// Load factor along the body's normal axis.
    pub(crate) load: f64,
    /// Direction of flight through the air, rad.
    pub(crate) direction_rad: f64,
    /// How the stick acts (0 direct); not a number where not recorded.
    pub(crate) acts: f64,
    /// First block and the one after the last.
    pub(crate) blocks: (usize, usize),
}

/// Straight windows and their pieces.
#[derive(Debug, Clone)]
pub(crate) struct Straight {
    pub(crate) windows: Vec<Window>,
    pub(crate) pieces: Vec<Piece>,
    /// Whether throttle was recorded in them.
    pub(crate) throttle: bool,
    pub(crate) acts: bool,
    /// Relative doubt that all airspeeds share: of the sensor's factor, or of the airspeed that fits with the wind.
    pub(crate) airspeed_doubt: f64,
    /// Error of each airspeed by itself, where no sensor tells it: gusts along the path (m/s, and how long they last, s) and
    /// the doubt of the wind, whose sign goes with the heading (m/s).
    pub(crate) airspeed_noise: Option<[f64; 3]>,
}

/// Relative doubt of an airspeed sensor whose factor is not known: density and place of the sensor (common practice,
/// no source).
const UNCHECKED_SENSOR: f64 = 0.05;

/// Least share of the scatter of airspeeds that is taken for what was flown.
const LEAST_BELIEVED: f64 = 0.2;

/// Cuts the straight windows of a flight.
pub(crate) fn straight(blocks: &Blocks, phases: &[Phase], wind: Option<&Wind>) -> Straight {
    let windows: Vec<Window> =
        phases.iter().filter(|p| p.kind == PhaseKind::Straight).map(|p| p.window).collect();
    let airspeed = airspeed_of_blocks(blocks, wind);
    Straight {
        throttle: blocks.column(&Quantity::Throttle).is_some(),
        acts: blocks.column(&Quantity::Acts).is_some(),
        airspeed_doubt: airspeed_doubt(wind),
        airspeed_noise: wind
            .filter(|w| w.airspeed_factor.is_none())
            .map(|w| [w.gust_m_s, w.gust_s.max(0.1), w.speed_m_s.sd]),
        pieces: cut(blocks, &windows, airspeed.as_deref(), wind),
        windows,
    }
}

/// Cuts windows into pieces.
pub(crate) fn cut(
    blocks: &Blocks,
    windows: &[Window],
    airspeed: Option<&[f64]>,
    wind: Option<&Wind>,
) -> Vec<Piece> {
    let length = ((PIECE_S / blocks.step_s).round() as usize).max(1);
    let column = |q: &Quantity| blocks.column(q);
    let over = |values: Option<&[f64]>, range: &std::ops::Range<usize>, missing: f64| {
        let m = values.and_then(|v| v.get(range.clone())).map_or(f64::NAN, mean_of_most);
        if m.is_finite() { m } else { missing }
    };
    let mut pieces = Vec::new();
    for (window, w) in windows.iter().enumerate() {
        let within = blocks.within(*w);
        let mut from = within.start;
        while from + length <= within.end {
            let range = from..from + length;
            let speed = airspeed.and_then(|a| a.get(range.clone()));
            pieces.push(Piece {
                window,
                time_s: 0.5 * (blocks.time_s(range.start) + blocks.time_s(range.end - 1)),
                pitch_rad: over(column(&Quantity::Pitch), &range, f64::NAN),
                roll_rad: over(column(&Quantity::Roll), &range, f64::NAN),
                climb_m_s: climb(blocks, &range),
                airspeed_m_s: speed.map_or(f64::NAN, mean_of_most),
                airspeed_rate_m_s2: speed.map_or(f64::NAN, |s| slope(s) / blocks.step_s),
                throttle: over(column(&Quantity::Throttle), &range, f64::NAN),
                roll_rate_rad_s: over(column(&Quantity::RollRate), &range, 0.0),
                pitch_rate_rad_s: over(column(&Quantity::PitchRate), &range, 0.0),
                load: over(column(&Quantity::ForceZ), &range, -G_M_S2) / -G_M_S2,
                direction_rad: direction_over(blocks, range.clone(), wind).unwrap_or(f64::NAN),
                acts: column(&Quantity::Acts)
                    .and_then(|v| v.get(range.clone()))
                    .map_or(f64::NAN, |v| v.iter().copied().fold(f64::NEG_INFINITY, f64::max)),
                blocks: (range.start, range.end),
            });
            from += length;
        }
    }
    pieces
}

fn airspeed_doubt(wind: Option<&Wind>) -> f64 {
    let Some(wind) = wind else {
        return UNCHECKED_SENSOR;
    };
    match &wind.airspeed_factor {
        Some(factor) if factor.enough => factor.sd / factor.value,
        Some(_) => UNCHECKED_SENSOR,
        None => wind.airspeed_m_s.sd / wind.airspeed_m_s.value,
    }
}

/// Climb over a range of blocks: from the velocity, or as slope of the height where that alone was recorded.
fn climb(blocks: &Blocks, range: &std::ops::Range<usize>) -> f64 {
    let down = blocks
        .column(&Quantity::VelocityDown)
        .and_then(|v| v.get(range.clone()))
        .map_or(f64::NAN, mean_of_most);
    -down
}

/// Slope of equally spaced values by least squares, per step; not a number with fewer than three finite ones.
fn slope(values: &[f64]) -> f64 {
    let known: Vec<(f64, f64)> =
        values.iter().enumerate().filter(|(_, v)| v.is_finite()).map(|(i, v)| (i as f64, *v)).collect();
    if known.len() < 3 {
        return f64::NAN;
    }
    let x = mean(&known.iter().map(|k| k.0).collect::<Vec<f64>>());
    let y = mean(&known.iter().map(|k| k.1).collect::<Vec<f64>>());
    let (mut xy, mut xx) = (0.0, 0.0);
    for (a, b) in &known {
        xy += (a - x) * (b - y);
        xx += (a - x) * (a - x);
    }
    xy / xx
}

impl Straight {
    /// Airspeed that level attitude and trims are to hold at, m/s, with where it comes from: the file's cruise, the
    /// predicted one, or the median of the pieces.
    pub(crate) fn reference(
        &self,
        aircraft: &Aircraft,
        prediction: Option<&Prediction>,
    ) -> Option<(f64, &'static str)> {
        if let Some(v) = aircraft.limits.cruise_m_s {
            return Some((v, "the cruise speed of the aircraft file"));
        }
        if let Some(p) = prediction {
            return Some((p.speeds.cruise_m_s.value, "the predicted cruise speed"));
        }
        let speeds: Vec<f64> = self.pieces.iter().map(|p| p.airspeed_m_s).collect();
        let v = median(&speeds);
        v.is_finite().then_some((v, "the median of the straight flight"))
    }

    /// Throttle at which height holds at an airspeed: plane through throttle over airspeed and climb. The mean where
    /// the flight does not vary them; absent where throttle was not recorded.
    pub(crate) fn level_throttle(&self, pieces: &[&Piece], airspeed_m_s: f64) -> Option<f64> {
        if !self.throttle {
            return None;
        }
        let known: Vec<&&Piece> = pieces
            .iter()
            .filter(|p| p.throttle.is_finite() && p.climb_m_s.is_finite() && p.airspeed_m_s.is_finite())
            .collect();
        if known.is_empty() {
            return None;
        }
        let n = known.len() as f64;
        // Ridge of one piece at one m/s: where nothing varies the slopes stay near nothing.
        let mut normal = nalgebra::Matrix3::<f64>::from_diagonal(&nalgebra::Vector3::new(0.0, 1.0, 1.0));
        let mut right = nalgebra::Vector3::<f64>::zeros();
        for p in &known {
            let row = nalgebra::Vector3::new(1.0, p.airspeed_m_s - airspeed_m_s, p.climb_m_s);
            normal += row * row.transpose();
            right += row * p.throttle;
        }
        let mean = known.iter().map(|p| p.throttle).sum::<f64>() / n;
        let level = normal.lu().solve(&right).map_or(mean, |x| x[0]);
        Some(if level.is_finite() { level.clamp(0.0, 1.0) } else { mean })
    }

    /// A value of each piece taken apart: its mean over the piece's window, and what the piece differs from that by.
    /// What a leg was flown at tells how the aircraft is trimmed; what gusts make of it within a leg tells how it
    /// answers to gusts, which has another slope and must not lend it to the first (Mundlak, Econometrica 46, 1978).
    pub(crate) fn between_and_within(pieces: &[&Piece], values: &[f64]) -> (Vec<f64>, Vec<f64>) {
        let mut sums: std::collections::BTreeMap<usize, (f64, f64)> = std::collections::BTreeMap::new();
        for (p, v) in pieces.iter().zip(values) {
            let sum = sums.entry(p.window).or_insert((0.0, 0.0));
            sum.0 += v;
            sum.1 += 1.0;
        }
        let between: Vec<f64> =
            pieces.iter().map(|p| sums.get(&p.window).map_or(0.0, |(sum, n)| sum / n)).collect();
        let within = values.iter().zip(&between).map(|(v, b)| v - b).collect();
        (between, within)
    }

    /// Means of windows as they are to be believed where their airspeed errs: drawn towards the mean of all by the share of
    /// their scatter that is error, `per_speed` being what the value moves by for an airspeed of one m/s more. A slope on
    /// values that err comes out too small by that share, and what is carried along it to the reference speed too little
    /// (regression calibration: Carroll et al., Measurement Error in Nonlinear Models, 2nd ed., chapter 4).
    pub(crate) fn believed(&self, pieces: &[&Piece], between: Vec<f64>, per_speed: f64) -> Vec<f64> {
        let Some([gust, lasting, of_wind]) = self.airspeed_noise else {
            return between;
        };
        let windows = self.windows_of(pieces).len();
        if windows < 3 {
            return between;
        }
        let length = pieces.len() as f64 * PIECE_S / windows as f64;
        // Variance of the mean of a process that forgets exponentially over a window.
        let share = lasting / length;
        let of_mean = 2.0 * share * (1.0 - share * (1.0 - (-1.0 / share).exp()));
        let error = per_speed * per_speed * (gust * gust * of_mean.min(1.0) + of_wind * of_wind);
        let middle = mean(&between);
        let scatter = between.iter().map(|b| (b - middle).powi(2)).sum::<f64>() / between.len() as f64;
        let kept = if scatter > 0.0 { (1.0 - error / scatter).max(LEAST_BELIEVED) } else { 1.0 };
        between.iter().map(|b| middle + kept * (b - middle)).collect()
    }

    /// Windows that pieces are of.
    pub(crate) fn windows_of(&self, pieces: &[&Piece]) -> Vec<Window> {
        let mut numbers: Vec<usize> = pieces.iter().map(|p| p.window).collect();
        numbers.sort_unstable();
        numbers.dedup();
        numbers.iter().filter_map(|n| self.windows.get(*n)).copied().collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slope_of_a_line_is_its_slope_and_holes_do_not_matter() {
        assert!((slope(&[1.0, 3.0, f64::NAN, 7.0]) - 2.0).abs() < 1e-12);
        assert!(slope(&[1.0, 2.0]).is_nan());
    }
}
