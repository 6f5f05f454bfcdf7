//! Do speeds and directions over ground agree with positions, with each other and with the air?

use std::f64::consts::PI;

use super::{FEWEST, Law, Relation, compare, height_like, times, velocity};
use crate::derive::{self, is_derived};
use crate::recording::{Channel, Quantity, Recording};
use crate::resample::{self, smooth};

pub(super) fn speeds(r: &Recording) -> Vec<Relation> {
    let mut found = Vec::new();
    let positions = derive::from_positions(r);
    let ground = [Quantity::VelocityNorth, Quantity::VelocityEast];
    if let Some(c) = r.channel(&Quantity::GroundSpeed) {
        let measured = r.channel(&ground[0]).zip(r.channel(&ground[1]));
        let pair = measured
            .filter(|(n, e)| !is_derived(n) && !is_derived(e))
            .map(|(n, e)| (n, e, vec![Quantity::VelocityNorth, Quantity::VelocityEast]))
            .or_else(|| {
                let [n, e] = positions.as_ref()?;
                Some((n, e, vec![Quantity::Latitude, Quantity::Longitude]))
            });
        if let Some((n, e, against)) = pair {
            let t = times(&[c, n, e], 0.1);
            let size: Vec<f64> =
                resample::at(n, &t).iter().zip(resample::at(e, &t)).map(|(n, e)| n.hypot(e)).collect();
            found.extend(like(
                Law::SizeOfVelocity,
                Quantity::GroundSpeed,
                against,
                &resample::at(c, &t),
                &size,
                "the speed over ground that the other channels give",
            ));
        }
    }
    if let Some(from) = &positions {
        for derived in from {
            if let Some(c) = r.channel(&derived.quantity).filter(|c| !is_derived(c)) {
                let t = times(&[c, derived], 0.1);
                found.extend(like(
                    Law::RateOfPosition,
                    derived.quantity.clone(),
                    vec![Quantity::Latitude, Quantity::Longitude],
                    &resample::at(c, &t),
                    &resample::at(derived, &t),
                    "what the positions give",
                ));
            }
        }
    }
    if let (Some(c), Some(h)) = (r.channel(&Quantity::VelocityDown), height_like(r)) {
        let d = Channel {
            quantity: Quantity::VelocityDown,
            source: String::new(),
            time_s: h.time_s.clone(),
            values: derive::derivative(&h.time_s, &h.values, 0.7).iter().map(|v| -v).collect(),
        };
        let t = times(&[c, &d], 0.1);
        let step = t.get(1).zip(t.first()).map_or(1.0, |(b, a)| b - a);
        let half = (1.0 / step).round() as usize;
        found.extend(like(
            Law::RateOfPosition,
            Quantity::VelocityDown,
            vec![h.quantity.clone()],
            &smooth(&resample::at(c, &t), half),
            &smooth(&resample::at(&d, &t), half),
            "the rate at which height is lost",
        ));
    }
    found.extend(heights_alike(r));
    found.extend(air_like_ground(r));
    found
}

/// Height and altitude differ by what the field lies above the sea, and change alike.
fn heights_alike(r: &Recording) -> Option<Relation> {
    let height = r.channel(&Quantity::Height).filter(|c| !is_derived(c))?;
    let altitude = r.channel(&Quantity::Altitude)?;
    let t = times(&[height, altitude], 0.1);
    let (ratio, agreement, n) = compare(&resample::at(height, &t), &resample::at(altitude, &t))?;
    Some(Relation {
        law: Law::HeightsAlike,
        subject: Quantity::Height,
        against: vec![Quantity::Altitude],
        ratio,
        agreement,
        said: format!(
            "the height changes {ratio:.3} times as much as the altitude (correlation {agreement:.2}, {n} samples)"
        ),
    })
}

/// Over a flight the mean airspeed is about that over ground, whatever the wind, as models fly back to where they began.
fn air_like_ground(r: &Recording) -> Option<Relation> {
    let c = r.channel(&Quantity::Airspeed)?;
    let t = times(&[c], 0.1);
    let north = r.channel(&Quantity::VelocityNorth);
    let measured = north.filter(|n| !is_derived(n)).is_some();
    let from_speed = r.channel(&Quantity::GroundSpeed).is_some();
    let against = if measured {
        vec![Quantity::VelocityNorth, Quantity::VelocityEast]
    } else if from_speed {
        vec![Quantity::GroundSpeed]
    } else {
        vec![Quantity::Latitude, Quantity::Longitude]
    };
    let ground_speed = velocity(r, &t)
        .map(|(n, e)| n.iter().zip(&e).map(|(n, e)| n.hypot(*e)).collect::<Vec<f64>>())
        .or_else(|| r.channel(&Quantity::GroundSpeed).map(|g| resample::at(g, &t)))?;
    // Whatever its unit, a speed far below the usual one is not flight.
    let known: Vec<f64> = ground_speed.iter().copied().filter(|g| g.is_finite()).collect();
    let flying = 0.4 * numerics::statistics::quantile(&known, 0.9);
    let (a, g): (Vec<f64>, Vec<f64>) = resample::at(c, &t)
        .iter()
        .zip(&ground_speed)
        .filter(|(a, g)| **g > flying && a.is_finite())
        .map(|(a, g)| (*a, *g))
        .unzip();
    like(Law::AirLikeGround, Quantity::Airspeed, against, &a, &g, "the speed over ground in flight")
}

/// How a series goes with what is expected of it: ratio of sizes, and the cosine of the angle between them.
fn like(
    law: Law,
    subject: Quantity,
    against: Vec<Quantity>,
    own: &[f64],
    expected: &[f64],
    what: &str,
) -> Option<Relation> {
    let (a, b): (Vec<f64>, Vec<f64>) = own
        .iter()
        .zip(expected)
        .filter(|(a, b)| a.is_finite() && b.is_finite())
        .map(|(a, b)| (*a, *b))
        .unzip();
    let size = |v: &[f64]| (v.iter().map(|x| x * x).sum::<f64>() / v.len() as f64).sqrt();
    let (sa, sb) = (size(&a), size(&b));
    if a.len() < FEWEST || !(sa > 0.0 && sb > 0.3) {
        return None;
    }
    let dot: f64 = a.iter().zip(&b).map(|(x, y)| x * y).sum::<f64>() / (a.len() as f64 * sa * sb);
    let ratio = dot.signum() * sa / sb;
    Some(Relation {
        law,
        subject,
        against,
        ratio,
        agreement: dot.abs().min(1.0),
        said: format!("it is {ratio:.3} times {what} (likeness {:.2}, {} samples)", dot.abs(), a.len()),
    })
}

/// How the heading goes with the course: the middle direction of one less the other, and how well they agree; and
/// the same for a heading counted the other way round.
pub(in crate::propose) struct HeadingOff {
    /// Middle of heading less course, rad.
    pub(in crate::propose) off_rad: f64,
    /// How steady that is, 0 to 1.
    pub(in crate::propose) steady: f64,
    /// How steady heading plus course is: near one for a heading counted anticlockwise.
    pub(in crate::propose) mirrored: f64,
}

pub(in crate::propose) fn heading_off(r: &Recording) -> Option<HeadingOff> {
    let yaw = r.channel(&Quantity::Yaw)?;
    let t = times(&[yaw], 0.1);
    let (course, speed): (Vec<f64>, Vec<f64>) = match velocity(r, &t) {
        Some((n, e)) => n.iter().zip(&e).map(|(n, e)| (e.atan2(*n), n.hypot(*e))).unzip(),
        None => (
            resample::at(r.channel(&Quantity::Course)?, &t),
            resample::at(r.channel(&Quantity::GroundSpeed)?, &t),
        ),
    };
    let (mut minus, mut plus, mut own) = ((0.0, 0.0), (0.0, 0.0), (0.0, 0.0));
    let mut n = 0;
    for ((y, c), v) in resample::at(yaw, &t).iter().zip(&course).zip(&speed) {
        if y.is_finite() && c.is_finite() && *v > 5.0 {
            minus = (minus.0 + (y - c).cos(), minus.1 + (y - c).sin());
            plus = (plus.0 + (y + c).cos(), plus.1 + (y + c).sin());
            own = (own.0 + c.cos(), own.1 + c.sin());
            n += 1;
        }
    }
    if n < FEWEST {
        return None;
    }
    let count = n as f64;
    let spread = 1.0 - own.0.hypot(own.1) / count;
    Some(HeadingOff {
        off_rad: minus.1.atan2(minus.0),
        steady: minus.0.hypot(minus.1) / count,
        // On one course only, both ways of counting are equally steady: nothing can be told.
        mirrored: if spread > 0.3 { plus.0.hypot(plus.1) / count } else { 0.0 },
    })
}

pub(super) fn heading_along_course(r: &Recording) -> Option<Relation> {
    let off = heading_off(r)?;
    let mirrored = off.mirrored > 0.75 && off.mirrored > off.steady + 0.25;
    Some(Relation {
        law: Law::HeadingAlongCourse,
        subject: Quantity::Yaw,
        against: vec![Quantity::VelocityNorth, Quantity::VelocityEast],
        ratio: if mirrored { -1.0 } else { 1.0 },
        agreement: if mirrored { off.mirrored } else { off.steady },
        said: format!(
            "heading less course is {:.0} deg in the middle with steadiness {:.2} (counted the other way round {:.2})",
            off.off_rad * 180.0 / PI,
            off.steady,
            off.mirrored
        ),
    })
}
