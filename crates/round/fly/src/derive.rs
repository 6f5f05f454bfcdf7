//! What follows from the channels that are there? Ground velocity from speed and course or from positions; height.

use std::sync::Arc;

use numerics::geodesy::LocalPlane;
use numerics::statistics::median;

use crate::recording::{Channel, Quantity, Recording};
use crate::resample;

/// Adds what [`derived`] makes.
pub(crate) fn add_derived(recording: &mut Recording) {
    let derived = derived(recording);
    recording.channels.extend(derived);
}

/// Velocities to north and east and the height above the first place, where they are not recorded but follow from what is.
/// Each says in its source what it was made of.
#[must_use]
pub fn derived(recording: &Recording) -> Vec<Channel> {
    let has = |q: &Quantity| recording.channel(q).is_some();
    let mut made = Vec::new();
    if !has(&Quantity::VelocityNorth) && !has(&Quantity::VelocityEast) {
        let velocity = from_speed_and_course(recording).or_else(|| from_positions(recording));
        made.extend(velocity.into_iter().flatten());
    }
    if !has(&Quantity::Height)
        && let Some(height) = recording.channel(&Quantity::Altitude).and_then(height)
    {
        made.push(height);
    }
    made
}

/// Whether a channel was computed from others.
pub(crate) fn is_derived(c: &Channel) -> bool {
    c.source.starts_with("from \"") || c.source.ends_with("where the recording begins")
}

fn from_speed_and_course(recording: &Recording) -> Option<[Channel; 2]> {
    let speed = recording.channel(&Quantity::GroundSpeed)?;
    let course = recording.channel(&Quantity::Course)?;
    let course_rad = resample::at(course, &speed.time_s);
    let part = |quantity, f: fn(f64) -> f64| Channel {
        quantity,
        source: format!("from \"{}\" and \"{}\"", speed.source, course.source),
        time_s: Arc::clone(&speed.time_s),
        values: speed.values.iter().zip(&course_rad).map(|(v, c)| v * f(*c)).collect(),
    };
    Some([part(Quantity::VelocityNorth, f64::cos), part(Quantity::VelocityEast, f64::sin)])
}

/// Velocities by fitting positions over about a second around each.
pub(crate) fn from_positions(recording: &Recording) -> Option<[Channel; 2]> {
    let latitude = recording.channel(&Quantity::Latitude)?;
    let longitude = recording.channel(&Quantity::Longitude)?;
    let longitude_deg = resample::at(longitude, &latitude.time_s);
    let fixes: Vec<(f64, f64, f64)> = latitude
        .time_s
        .iter()
        .zip(&latitude.values)
        .zip(&longitude_deg)
        .map(|((t, lat), lon)| (*t, *lat, *lon))
        .filter(|(_, lat, lon)| lat.is_finite() && lon.is_finite() && (*lat != 0.0 || *lon != 0.0))
        .collect();
    let changes = changes(&fixes);
    let (_, lat0, lon0) = changes.first().copied()?;
    if changes.len() < 8 {
        return None;
    }
    let plane = LocalPlane::at(lat0, lon0);
    let times: Vec<f64> = changes.iter().map(|(t, _, _)| *t).collect();
    let (north, east): (Vec<f64>, Vec<f64>) =
        changes.iter().map(|(_, lat, lon)| plane.north_east_m(*lat, *lon)).unzip();
    // Around each place over half a second, or to the next one where they come more slowly.
    let steps: Vec<f64> = times.windows(2).filter_map(|w| Some(w.last()? - w.first()?)).collect();
    let half_s = (1.05 * median(&steps)).max(0.5);
    let shared = Arc::new(times);
    let part = |quantity, metres: &[f64]| Channel {
        quantity,
        source: format!("from \"{}\" and \"{}\"", latitude.source, longitude.source),
        time_s: Arc::clone(&shared),
        values: derivative(&shared, metres, half_s),
    };
    Some([part(Quantity::VelocityNorth, &north), part(Quantity::VelocityEast, &east)])
}

/// Positions where they change: a slow receiver's last position is often repeated in every row, which would read
/// as standing still and jumping. Faster than fifty a second they tell no more of the velocity.
fn changes(fixes: &[(f64, f64, f64)]) -> Vec<(f64, f64, f64)> {
    const CLOSEST_S: f64 = 0.019;
    let mut kept: Vec<(f64, f64, f64)> = Vec::new();
    for fix in fixes {
        let close = kept.last().is_some_and(|(t, ..)| fix.0 - t < CLOSEST_S);
        let same = close
            || kept.last().is_some_and(|(t, lat, lon)| {
                // A second without change is standing still, not a repeated position.
                *lat == fix.1 && *lon == fix.2 && fix.0 - t < 1.0
            });
        if !same {
            kept.push(*fix);
        }
    }
    kept
}

/// Rate of change of a series at its own times: slope of the parabola that fits the samples within `half_s` (at
/// least two on each side that has them) best. Not a number where fewer than three samples are near.
pub(crate) fn derivative(times_s: &[f64], values: &[f64], half_s: f64) -> Vec<f64> {
    let count = times_s.len().min(values.len());
    let mut from = 0;
    (0..count)
        .map(|i| {
            let here = times_s.get(i).copied().unwrap_or(f64::NAN);
            while times_s.get(from).is_some_and(|t| here - t > half_s) {
                from += 1;
            }
            let to = times_s.get(i..).map_or(i, |later| i + later.partition_point(|t| t - here <= half_s));
            // A parabola with fewer than five points would follow noise; at the ends they lie to one side.
            let mut first = from.min(i.saturating_sub(2));
            let last = to.max((i + 3).min(count)).max((first + 5).min(count));
            first = first.min(last.saturating_sub(5));
            let near =
                times_s.get(first..last).unwrap_or(&[]).iter().zip(values.get(first..last).unwrap_or(&[]));
            slope_at_zero(
                near.map(|(t, v)| (t - here, *v)).filter(|(t, v)| v.is_finite() && t.abs() <= 3.0 * half_s),
            )
        })
        .collect()
}

/// Slope at zero of the parabola (of the line, for three points) that fits best.
fn slope_at_zero(points: impl Iterator<Item = (f64, f64)>) -> f64 {
    let mut s = [0.0; 5];
    let mut m = [0.0; 3];
    let (mut n, mut first) = (0, f64::NAN);
    for (t, v) in points {
        if n == 0 {
            first = v;
        }
        n += 1;
        let mut power = 1.0;
        for k in 0..5 {
            s[k] += power;
            if k < 3 {
                m[k] += power * (v - first);
            }
            power *= t;
        }
    }
    if n < 3 {
        return f64::NAN;
    }
    if n == 3 {
        let d = s[0] * s[2] - s[1] * s[1];
        return if d > 0.0 { (s[0] * m[1] - s[1] * m[0]) / d } else { f64::NAN };
    }
    let a = nalgebra::Matrix3::new(s[0], s[1], s[2], s[1], s[2], s[3], s[2], s[3], s[4]);
    let b = nalgebra::Vector3::new(m[0], m[1], m[2]);
    a.lu().solve(&b).map_or(f64::NAN, |c| c.y)
}

/// Height above the first second of the altitude.
fn height(altitude: &Channel) -> Option<Channel> {
    let begin = altitude.time_s.first()? + 1.0;
    let first: Vec<f64> = altitude
        .time_s
        .iter()
        .zip(&altitude.values)
        .filter(|(t, v)| **t <= begin && v.is_finite())
        .map(|(_, v)| *v)
        .collect();
    let zero =
        if first.is_empty() { *altitude.values.iter().find(|v| v.is_finite())? } else { median(&first) };
    Some(Channel {
        quantity: Quantity::Height,
        source: format!("\"{}\" less {zero:.1} m, where the recording begins", altitude.source),
        time_s: Arc::clone(&altitude.time_s),
        values: altitude.values.iter().map(|v| v - zero).collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_slope_of_a_parabola_is_exact_up_to_its_ends() {
        // d/dt (3 t² - t + 5) = 6 t - 1.
        let times: Vec<f64> = (0..40).map(|i| f64::from(i) * 0.2).collect();
        let values: Vec<f64> = times.iter().map(|t| 3.0 * t * t - t + 5.0).collect();
        for (t, d) in times.iter().zip(derivative(&times, &values, 0.5)) {
            assert!((d - (6.0 * t - 1.0)).abs() < 1e-9, "{t}: {d}");
        }
    }

    #[test]
    fn a_circle_of_positions_gives_its_speed() {
        // Closed form: 15 m/s on a circle of 40 m radius; 5 Hz positions repeated to 50 Hz.
        let plane = LocalPlane::at(51.0, 4.0);
        let time: Vec<f64> = (0..2000).map(|i| f64::from(i) * 0.02).collect();
        let held: Vec<(f64, f64)> = time
            .iter()
            .map(|t| {
                let angle = 15.0 / 40.0 * (t * 5.0 + 1e-9).floor() / 5.0;
                plane.latitude_longitude_deg(40.0 * angle.cos(), 40.0 * angle.sin())
            })
            .collect();
        let shared = Arc::new(time);
        let channel = |quantity, values| Channel {
            quantity,
            source: "test".into(),
            time_s: Arc::clone(&shared),
            values,
        };
        let mut recording = Recording {
            channels: vec![
                channel(Quantity::Latitude, held.iter().map(|p| p.0).collect()),
                channel(Quantity::Longitude, held.iter().map(|p| p.1).collect()),
            ],
            ..Recording::default()
        };
        add_derived(&mut recording);
        let north = &recording.channel(&Quantity::VelocityNorth).unwrap().values;
        let east = &recording.channel(&Quantity::VelocityEast).unwrap().values;
        let inner = 5..north.len() - 5;
        for i in inner {
            let speed = north[i].hypot(east[i]);
            // The parabola over ±0.5 s cuts the third derivative: v (ω h)² / 10 to 6 is under 0.1 m/s.
            assert!((speed - 15.0).abs() < 0.15, "{speed}");
        }
    }
}
