//! What do sensors say about each other? A heading that the gyro does not follow, vibration that drowns the accelerometer.

use super::order::{quantile, robust_spread};
use crate::recording::{Channel, Flaw, FlawKind, Quantity, Recording};
use crate::resample::{self, unwrapped};
use crate::words::{self, G};

/// Vibration beyond this, m/s² (one standard deviation about the mean of half a second), drowns what the accelerometer
/// tells of the flight: maneuvers of models are as large (common practice, no source).
const DROWNS_M_S2: f64 = 0.6 * G;
/// A heading may leave the gyro by this within a second, rad: more is a magnet, not a turn (common practice, no source).
const LEAVES_RAD: f64 = 0.35;

/// Everything that is told by more than one channel, or by a channel's noise.
pub(super) fn flaws(recording: &Recording) -> Vec<Flaw> {
    let mut found: Vec<Flaw> = [Quantity::ForceX, Quantity::ForceY, Quantity::ForceZ]
        .iter()
        .filter_map(|q| vibration(recording.channel(q)?))
        .collect();
    found.extend(heading(recording));
    found
}

fn vibration(channel: &Channel) -> Option<Flaw> {
    let step = resample::usual_step_s(channel)?;
    // Slower sensors fold vibration into anything; what they show is told all the same.
    let half = ((0.25 / step).round() as usize).max(1);
    let mut sums = Vec::with_capacity(channel.values.len() + 1);
    let mut counts = Vec::with_capacity(channel.values.len() + 1);
    let (mut sum, mut count) = (0.0, 0_usize);
    sums.push(sum);
    counts.push(count);
    for v in &channel.values {
        if v.is_finite() {
            sum += v;
            count += 1;
        }
        sums.push(sum);
        counts.push(count);
    }
    let off: Vec<f64> = channel
        .values
        .iter()
        .enumerate()
        .filter(|(_, v)| v.is_finite())
        .filter_map(|(i, v)| {
            let (a, b) = (i.saturating_sub(half), (i + half + 1).min(channel.values.len()));
            let n = counts.get(b)?.checked_sub(*counts.get(a)?)?;
            (n > 1).then_some(v - (sums.get(b)? - sums.get(a)?) / n as f64)
        })
        .collect();
    let typical = robust_spread(&off);
    (typical > DROWNS_M_S2).then(|| Flaw {
        kind: FlawKind::Vibration,
        place: format!("{} (\"{}\")", words::word(&channel.quantity), channel.source),
        what: format!(
            "vibrates by {:.1} g (one standard deviation, up to {:.1} g) about its mean of half a second: single values tell \
             nothing of the flight; balance the propeller, and mount the controller softer",
            typical / G,
            quantile(&off.iter().map(|v| v.abs()).collect::<Vec<_>>(), 0.999) / G
        ),
    })
}

/// Heading against the gyro: its change over a second and what the rates make of it.
fn heading(r: &Recording) -> Option<Flaw> {
    const STEP_S: f64 = 0.1;
    const LAG: usize = 10;
    let (yaw, rate) = (r.channel(&Quantity::Yaw)?, r.channel(&Quantity::YawRate)?);
    let (from, to) = (*yaw.time_s.first()?, *yaw.time_s.last()?);
    let rows = ((to - from) / STEP_S).floor();
    if !(50.0..1e6).contains(&rows) {
        return None;
    }
    let times: Vec<f64> = (0..rows as usize).map(|i| from + i as f64 * STEP_S).collect();
    let on = |q: &Quantity| r.channel(q).map(|c| resample::at(c, &times));
    let yaw_rad = unwrapped(&resample::at(yaw, &times));
    let turning = resample::smooth(&resample::at(rate, &times), 1);
    let (roll, pitch, q) = (on(&Quantity::Roll), on(&Quantity::Pitch), on(&Quantity::PitchRate));
    let value = |v: &Option<Vec<f64>>, i: usize| v.as_ref().and_then(|v| v.get(i)).copied().unwrap_or(0.0);
    // dψ/dt = (q sin φ + r cos φ) / cos θ (Euler's kinematic equation).
    let rates: Vec<f64> = turning
        .iter()
        .enumerate()
        .map(|(i, r)| {
            let (phi, theta) = (value(&roll, i), value(&pitch, i));
            if theta.abs() > 1.2 {
                f64::NAN
            } else {
                (value(&q, i) * phi.sin() + r * phi.cos()) / theta.cos()
            }
        })
        .collect();
    let mut apart = Vec::new();
    for i in LAG..yaw_rad.len() {
        let (Some(a), Some(b)) = (yaw_rad.get(i - LAG), yaw_rad.get(i)) else { continue };
        let turned: f64 = rates.get(i - LAG..i).unwrap_or(&[]).iter().sum::<f64>() * STEP_S;
        let off = b - a - turned;
        if off.is_finite() && off.abs() > LEAVES_RAD {
            apart.push((i, off));
        }
    }
    // One place is one jump; a heading that never follows is another matter, which the map's check tells.
    let first = apart.first().copied()?;
    let seconds = apart.len() as f64 * STEP_S;
    if seconds > 0.2 * (to - from) {
        return None;
    }
    let most = apart.iter().copied().max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))?;
    Some(Flaw {
        kind: FlawKind::Jump,
        place: format!("{} (\"{}\"), {:.1} s", words::word(&yaw.quantity), yaw.source, times.get(first.0)?),
        what: format!(
            "changes without the gyro turning, by {:.0} deg within a second at {:.1} s and for {seconds:.1} s in all: a magnetic \
             disturbance, or a heading that was reset",
            most.1.to_degrees(),
            times.get(most.0)?
        ),
    })
}
