//! How is a wind told: speed and direction, how sure, whether that suffices, and what more to fly?

use aircraft::finding::{Finding, Window};
use numerics::Vec3;
use numerics::frames::{wind_speed_and_from, wrap_rad};
use numerics::statistics::{mean, median, quantile};
use numerics::units::{DEG_PER_RAD, RAD_PER_DEG};

use super::{AVERAGED_OVER_S, CHANGE_WITH_HEIGHT_SD_PER_S, Flown, Second};
use crate::coloured::Coloured;
use crate::findings::{Triangle, Wind};
use crate::headings::Headings;

/// Least variance of the flown direction's unit vector along any axis: an even half circle has
/// 1/2 - (2/π)² = 0.095, three even headings 0.5, two opposite legs none across.
const LEAST_SPREAD: f64 = 0.08;

/// Share of that spread that the courses over the ground have to have where no sensor checks the airspeed.
const LEAST_COURSE_SHARE: f64 = 0.5;

/// Wind worse known than this is no help in judging the next day, m/s.
const USEFUL_SD_M_S: f64 = 1.0;

/// The same of a wind by heading and airspeed alone, m/s: twice this, 0.5 m/s, is what a wind is asked to be told to.
const UNCHECKED_SD_M_S: f64 = 0.25;

/// A heading that strays more than this from the flight path is not slip alone, deg.
const STRAYING_DEG: f64 = 6.0;

/// Height range below which no change with height is told, m.
const LEAST_HEIGHT_RANGE_M: f64 = 20.0;

/// Puts the numbers, their doubt and the verdict together.
pub(super) fn describe(
    flown: &Flown,
    fit: &Coloured,
    now: &[Second],
    at: [f64; 3],
    triangle: Option<(Triangle, [f64; 3])>,
) -> Wind {
    let c = &fit.covariance;
    let mut velocity = [at[0], at[1]];
    let mut covariance = [c[(0, 0)], c[(0, 1)], c[(1, 1)]];
    let headings = Headings::of(
        &now.iter().map(|s| s.along[1].atan2(s.along[0])).collect::<Vec<f64>>(),
        AVERAGED_OVER_S.max(flown.step_s),
    );
    // Directions through the air follow from the wind that was fitted: a wrong one makes a straight leg look like a circle.
    // Over the ground nobody turns without turning in the air, unless the wind is stronger than the aircraft is fast.
    let courses = Headings::of(
        &now.iter().map(|s| s.velocity[1].atan2(s.velocity[0])).collect::<Vec<f64>>(),
        AVERAGED_OVER_S.max(flown.step_s),
    );
    let by_circle = headings.least_spread >= LEAST_SPREAD
        && (flown.sensor || courses.least_spread >= LEAST_COURSE_SHARE * LEAST_SPREAD);
    let mut way = "from ground speed against direction";
    if let (false, Some((t, sd))) = (by_circle, &triangle) {
        velocity = t.velocity_m_s;
        covariance = *sd;
        way = "from heading, airspeed and ground velocity, as the directions flown do not suffice without the heading";
    }
    let (speed_sd, from_sd) = speed_and_direction_sd(velocity, covariance);
    let (speed, from) = wind_speed_and_from(Vec3::new(velocity[0], velocity[1], 0.0));
    let (gust_sd, gust_s) = fit.families.first().copied().unwrap_or((0.0, 0.0));
    let evidence = evidence(now, AVERAGED_OVER_S.max(flown.step_s));
    let excited = by_circle || (triangle.is_some() && headings.covered_deg >= 60.0);
    // Nothing checks the triangle where the circle does not, so that more is asked of it.
    let useful = if by_circle { USEFUL_SD_M_S } else { UNCHECKED_SD_M_S };
    let enough = excited && speed_sd <= useful;
    let basis = format!(
        "{way}; {:.0} s in the air on headings that cover {:.0} of 360 degrees; gusts of {gust_sd:.1} m/s lasting about {gust_s:.0} s are in the doubt",
        now.len() as f64 * AVERAGED_OVER_S.max(flown.step_s),
        headings.covered_deg,
    );
    let verdict = if enough {
        basis.clone()
    } else if !excited {
        format!("{basis}. Not enough: {}", headings.more_to_fly())
    } else {
        format!(
            "{basis}. Not enough: one standard deviation of {speed_sd:.1} m/s is more than {useful} m/s; fly one more full circle at constant throttle"
        )
    };
    let direction_known = enough && speed > 2.0 * speed_sd && from_sd < 30.0 * RAD_PER_DEG;
    let finding = |parameter: &str, value: f64, sd: f64, enough: bool, verdict: &str| Finding {
        parameter: parameter.into(),
        value,
        sd,
        evidence: evidence.clone(),
        enough,
        verdict: verdict.into(),
    };
    let from_verdict = if enough && !direction_known {
        format!("{basis}. It is too weak against its doubt to tell its direction better")
    } else {
        verdict.clone()
    };
    let mean_airspeed = mean(&now.iter().map(|s| s.airspeed).collect::<Vec<f64>>());
    let factor_sd = fit.sd(2);
    let heights: Vec<f64> = now.iter().map(|s| s.height).collect();
    Wind {
        speed_m_s: finding("wind.speed_m_s", speed, speed_sd, enough, &verdict),
        from_deg: finding(
            "wind.from_deg",
            from * DEG_PER_RAD,
            from_sd * DEG_PER_RAD,
            direction_known,
            &from_verdict,
        ),
        airspeed_m_s: finding(
            "wind.airspeed_m_s",
            at[2] * mean_airspeed,
            factor_sd * mean_airspeed,
            by_circle,
            &verdict,
        ),
        airspeed_factor: flown.sensor.then(|| {
            finding(
                "wind.airspeed_factor",
                at[2],
                factor_sd,
                by_circle && factor_sd < 0.05,
                &format!(
                    "true airspeed over what the sensor shows, at {mean_airspeed:.1} m/s on it; air density is part of it"
                ),
            )
        }),
        ground_velocity_m_s: now.iter().map(|s| s.velocity).collect(),
        velocity_m_s: velocity,
        height_m: flown.heights.then(|| median(&heights)),
        change_with_height_per_s: change_with_height(flown, fit, at, &heights, &evidence, enough),
        gust_m_s: gust_sd,
        gust_s,
        triangle: triangle.map(|(mut t, of_triangle)| {
            t.agreement = agreement([at[0], at[1]], [c[(0, 0)], c[(0, 1)], c[(1, 1)]], &t, of_triangle, by_circle);
            t
        }),
    }
}

/// Change with height along the wind's own direction, where the flight covers enough height.
fn change_with_height(
    flown: &Flown,
    fit: &Coloured,
    at: [f64; 3],
    heights: &[f64],
    evidence: &[Window],
    enough: bool,
) -> Option<Finding> {
    let range_m = quantile(heights, 0.95) - quantile(heights, 0.05);
    let speed = at[0].hypot(at[1]);
    let told = flown.heights && range_m >= LEAST_HEIGHT_RANGE_M && speed > 0.0;
    if !told {
        return None;
    }
    let unit = [at[0] / speed, at[1] / speed];
    let value = unit[0] * fit.parameters[3] + unit[1] * fit.parameters[4];
    let c = &fit.covariance;
    let variance =
        unit[0] * unit[0] * c[(3, 3)] + 2.0 * unit[0] * unit[1] * c[(3, 4)] + unit[1] * unit[1] * c[(4, 4)];
    let sd = variance.max(0.0).sqrt();
    // Half of what was known before looking: otherwise the flight has told little.
    let told = sd < 0.5 * CHANGE_WITH_HEIGHT_SD_PER_S;
    Some(Finding {
        parameter: "wind.change_with_height_per_s".into(),
        value,
        sd,
        evidence: evidence.to_vec(),
        enough: enough && told,
        verdict: format!(
            "the wind grows by {:.1} ± {:.1} m/s over the {range_m:.0} m of height flown{}",
            value * range_m,
            2.0 * sd * range_m,
            if told {
                ""
            } else {
                "; not enough to rely on: fly a full circle at constant throttle low and another one high"
            }
        ),
    })
}

/// Whether circle and triangle agree.
fn agreement(
    wind: [f64; 2],
    covariance: [f64; 3],
    triangle: &Triangle,
    of_triangle: [f64; 3],
    by_circle: bool,
) -> String {
    let [n, e] = [triangle.velocity_m_s[0] - wind[0], triangle.velocity_m_s[1] - wind[1]];
    let apart = n.hypot(e);
    let (speed, from) =
        wind_speed_and_from(Vec3::new(triangle.velocity_m_s[0], triangle.velocity_m_s[1], 0.0));
    let head = format!("heading and airspeed give {speed:.1} m/s from {:.0} degrees", from * DEG_PER_RAD);
    if !by_circle {
        return format!("{head}; the directions flown do not suffice to check it without the heading");
    }
    // Gusts are common to both ways, so that the sum of both variances is more than that of the difference.
    let total: Vec<f64> = covariance.iter().zip(&of_triangle).map(|(a, b)| a + b).collect();
    let sd = if apart > 0.0 {
        ((n * n * total[0] + 2.0 * n * e * total[1] + e * e * total[2]) / (apart * apart)).max(0.0).sqrt()
    } else {
        0.0
    };
    let strays = triangle.heading_strays_deg;
    if strays > STRAYING_DEG {
        format!(
            "{head}, {apart:.1} m/s apart, but the heading strays by {strays:.0} degrees from the flight path, more than slip does: check the compass for iron and currents near it"
        )
    } else if apart <= 2.0 * sd {
        format!(
            "{head}: {apart:.1} m/s apart, within two standard deviations of {sd:.1} m/s: both ways agree"
        )
    } else {
        format!(
            "{head}: {apart:.1} m/s apart, more than two standard deviations of {sd:.1} m/s: check the heading (compass) and the airspeed sensor"
        )
    }
}

/// Joins seconds into windows.
fn evidence(now: &[Second], length_s: f64) -> Vec<Window> {
    let mut windows: Vec<Window> = Vec::new();
    for s in now {
        let (from_s, to_s) = (s.time_s - 0.5 * length_s, s.time_s + 0.5 * length_s);
        match windows.last_mut() {
            Some(w) if from_s - w.to_s < 3.0 => w.to_s = to_s,
            _ => windows.push(Window { from_s, to_s }),
        }
    }
    windows
}

/// Speed and direction with their doubt from a wind vector and its covariance: root mean square difference over the
/// normal distribution, which stays right where the wind is no stronger than its doubt (a direction of which
/// nothing is known has 104 degrees, that of an even circle).
fn speed_and_direction_sd(velocity: [f64; 2], covariance: [f64; 3]) -> (f64, f64) {
    let [nn, ne, ee] = covariance;
    let a = nn.max(0.0).sqrt();
    let b = if a > 0.0 { ne / a } else { 0.0 };
    let c = (ee - b * b).max(0.0).sqrt();
    let speed = velocity[0].hypot(velocity[1]);
    let direction = velocity[1].atan2(velocity[0]);
    let (rings, spokes) = (64, 64);
    let (mut speed2, mut direction2) = (0.0, 0.0);
    for ring in 0..rings {
        // Equal shares of a two-dimensional normal: radius at the middle of each share.
        let share = (f64::from(ring) + 0.5) / f64::from(rings);
        let radius = (-2.0 * (1.0 - share).ln()).sqrt();
        for spoke in 0..spokes {
            let angle = std::f64::consts::TAU * (f64::from(spoke) + 0.5) / f64::from(spokes);
            let (u, v) = (radius * angle.cos(), radius * angle.sin());
            let n = velocity[0] + a * u;
            let e = velocity[1] + b * u + c * v;
            speed2 += (n.hypot(e) - speed).powi(2);
            direction2 += wrap_rad(e.atan2(n) - direction).powi(2);
        }
    }
    let count = f64::from(rings * spokes);
    ((speed2 / count).sqrt(), (direction2 / count).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn doubt_of_speed_and_direction_is_right_for_strong_and_for_no_wind() {
        // Strong: sd of speed is that along the wind, of direction that across over the speed. None at all: the
        // root mean square speed of a two-dimensional normal is sqrt(2) sd; an even direction has π/sqrt(3).
        let (speed, direction) = speed_and_direction_sd([10.0, 0.0], [0.04, 0.0, 0.09]);
        assert!((speed / 0.2 - 1.0).abs() < 0.02, "{speed}");
        assert!((direction / 0.03 - 1.0).abs() < 0.02, "{direction}");
        let (speed, direction) = speed_and_direction_sd([0.0, 0.0], [0.04, 0.0, 0.04]);
        assert!((speed / (0.2 * 2.0_f64.sqrt()) - 1.0).abs() < 0.02, "{speed}");
        assert!((direction / (std::f64::consts::PI / 3.0_f64.sqrt()) - 1.0).abs() < 0.02);
    }
}
