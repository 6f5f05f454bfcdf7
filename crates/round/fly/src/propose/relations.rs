//! Do the channels agree with each other? The laws that tie them: the derivative of an angle is a rate, gravity has
//! one size, speed is the derivative of position, a bank makes a turn.

use std::f64::consts::PI;

use numerics::statistics::{median, standard_deviation};

use crate::derive;
use crate::recording::{Channel, Quantity, Recording};
use crate::resample::{self, rate_on_grid, smooth};
use crate::words::G;

mod ground;

pub(super) use ground::{HeadingOff, heading_off};

/// What a law says of one channel.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Relation {
    /// Which law.
    pub(super) law: Law,
    /// The channel judged.
    pub(super) subject: Quantity,
    /// The others that the law rests on.
    pub(super) against: Vec<Quantity>,
    /// The channel is this many times what the law expects.
    pub(super) ratio: f64,
    /// How well the two go together, 0 to 1.
    pub(super) agreement: f64,
    /// The numbers, in a sentence part.
    pub(super) said: String,
}

/// The laws.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Law {
    /// The derivative of the angle is the rate.
    RateOfAngle,
    /// Specific force at rest and in steady flight is gravity.
    Gravity,
    /// A bank makes a turn.
    BankTurns,
    /// The nose points about where the aircraft flies to, up and down.
    NoseAlongPath,
    /// The pitch attitude tilts gravity along the nose.
    GravityAlongNose,
    /// The speed is the size of the velocity.
    SizeOfVelocity,
    /// The velocity is the derivative of the position.
    RateOfPosition,
    /// Two heights change alike.
    HeightsAlike,
    /// Airspeed and ground speed are alike over a flight.
    AirLikeGround,
    /// The nose points about where the aircraft flies to, seen from above.
    HeadingAlongCourse,
    /// Pulling up loads the wing.
    PullingLoads,
    /// The aircraft follows the stick.
    StickMoves,
}

/// Every law whose channels are there and moved enough to tell.
pub(super) fn all(recording: &Recording) -> Vec<Relation> {
    let mut found = Vec::new();
    found.extend(rates_of_angles(recording));
    found.extend(gravity(recording));
    found.extend(bank_turns(recording));
    found.extend(nose_along_path(recording));
    found.extend(gravity_along_nose(recording));
    found.extend(ground::speeds(recording));
    found.extend(ground::heading_along_course(recording));
    found.extend(pulling_loads(recording));
    found.extend(stick_moves(recording));
    found
}

/// Fewest samples that a law is judged by.
pub(super) const FEWEST: usize = 20;

/// Ratio of two series and their correlation: ratio of the spreads with the sign of the correlation, which noise on
/// either side biases less than a regression would.
pub(super) fn compare(subject: &[f64], expected: &[f64]) -> Option<(f64, f64, usize)> {
    let (a, b): (Vec<f64>, Vec<f64>) = subject
        .iter()
        .zip(expected)
        .filter(|(a, b)| a.is_finite() && b.is_finite())
        .map(|(a, b)| (*a, *b))
        .unzip();
    if a.len() < FEWEST {
        return None;
    }
    let (sa, sb) = (standard_deviation(&a), standard_deviation(&b));
    if !(sa > 0.0 && sb > 0.0) {
        return None;
    }
    let (ma, mb) = (numerics::statistics::mean(&a), numerics::statistics::mean(&b));
    let both: f64 = a.iter().zip(&b).map(|(x, y)| (x - ma) * (y - mb)).sum();
    let correlation = both / ((a.len() as f64 - 1.0) * sa * sb);
    Some((correlation.signum() * sa / sb, correlation.abs().min(1.0), a.len()))
}

/// Times for a comparison: from the slower of the channels, not closer than a tenth of a second.
pub(super) fn times(channels: &[&Channel], least_s: f64) -> Vec<f64> {
    let from = channels.iter().filter_map(|c| c.time_s.first()).copied().fold(f64::NEG_INFINITY, f64::max);
    let to = channels.iter().filter_map(|c| c.time_s.last()).copied().fold(f64::INFINITY, f64::min);
    let step = channels.iter().filter_map(|c| resample::usual_step_s(c)).fold(least_s, f64::max);
    let rows = ((to - from) / step).floor();
    if !(FEWEST as f64..=2e6).contains(&rows) {
        return Vec::new();
    }
    (0..=rows as usize).map(|i| from + i as f64 * step).collect()
}

/// Integral of a channel from its begin, at its own times; holes count as steady.
pub(super) fn integral(channel: &Channel) -> Channel {
    let mut sum = 0.0;
    let mut last: Option<(f64, f64)> = None;
    let values = channel
        .time_s
        .iter()
        .zip(&channel.values)
        .map(|(t, v)| {
            if !v.is_finite() {
                return f64::NAN;
            }
            if let Some((t0, v0)) = last {
                sum += 0.5 * (v + v0) * (t - t0);
            }
            last = Some((*t, *v));
            sum
        })
        .collect();
    Channel {
        // Not an angle that wraps.
        quantity: Quantity::Height,
        source: String::new(),
        time_s: channel.time_s.clone(),
        values,
    }
}

pub(super) fn differences(values: &[f64], lag: usize) -> Vec<f64> {
    values.iter().zip(values.iter().skip(lag)).map(|(a, b)| b - a).collect()
}

fn rates_of_angles(r: &Recording) -> Vec<Relation> {
    let roll = r.channel(&Quantity::Roll);
    [
        (Quantity::Roll, Quantity::RollRate, PI),
        (Quantity::Pitch, Quantity::PitchRate, 0.35),
        (Quantity::Yaw, Quantity::YawRate, PI),
    ]
    .into_iter()
    .filter_map(|(angle_q, rate_q, most_bank_rad)| {
        let (angle, rate) = (r.channel(&angle_q)?, r.channel(&rate_q)?);
        let t = times(&[angle, rate], 0.1);
        let step = t.get(1)? - t.first()?;
        let lag = (0.3 / step).round().max(1.0) as usize;
        let angles = resample::unwrapped(&resample::at(angle, &t));
        let turned = differences(&angles, lag);
        let mut expected = differences(&resample::at(&integral(rate), &t), lag);
        // In a bank the pitch rate is mostly the turn, so only wings about level say something about pitch.
        if let Some(roll) = roll.filter(|_| most_bank_rad < 1.0) {
            let bank = resample::at(roll, &t);
            let small = expected
                .iter_mut()
                .zip(bank.iter().zip(bank.iter().skip(lag)));
            for (e, (b0, b1)) in small {
                if !(b0.abs() < most_bank_rad && b1.abs() < most_bank_rad) {
                    *e = f64::NAN;
                }
            }
        }
        let (ratio, agreement, n) = compare(&turned, &expected)?;
        Some(Relation {
            law: Law::RateOfAngle,
            said: format!(
                "the angle changes {ratio:.3} times as much as its rate adds up to (correlation {agreement:.2}, {n} spans)"
            ),
            subject: angle_q,
            against: vec![rate_q],
            ratio,
            agreement,
        })
    })
    .collect()
}

fn gravity(r: &Recording) -> Vec<Relation> {
    let mut found = Vec::new();
    let Some(z) = r.channel(&Quantity::ForceZ) else {
        return found;
    };
    let side = |q: &Quantity| r.channel(q).map(|c| resample::at(c, &z.time_s));
    let (x, y) = (side(&Quantity::ForceX), side(&Quantity::ForceY));
    let at = |list: &Option<Vec<f64>>, i: usize| {
        list.as_ref().and_then(|l| l.get(i)).copied().filter(|v| v.is_finite()).unwrap_or(0.0)
    };
    let sizes: Vec<f64> = z
        .values
        .iter()
        .enumerate()
        .map(|(i, v)| (v * v + at(&x, i).powi(2) + at(&y, i).powi(2)).sqrt())
        .collect();
    let (size, upright) = (median(&sizes), median(&z.values));
    if size > 0.0 && sizes.len() >= FEWEST {
        let share = upright.abs() / size;
        found.push(Relation {
            law: Law::Gravity,
            subject: Quantity::ForceZ,
            against: Vec::new(),
            // Level flight: the force along z is -g.
            ratio: -upright.signum() * size / G,
            agreement: share,
            said: format!(
                "the specific force is {size:.4} m/s² in the middle and {upright:.4} m/s² of it along z, \
                 where steady flight has -9.8"
            ),
        });
    }
    found
}

/// Ground velocity at given times, and where it comes from.
fn velocity(r: &Recording, t: &[f64]) -> Option<(Vec<f64>, Vec<f64>)> {
    let north = resample::at(r.channel(&Quantity::VelocityNorth)?, t);
    let east = resample::at(r.channel(&Quantity::VelocityEast)?, t);
    Some((north, east))
}

/// Rate of turning seen from above, rad/s, and speed, m/s, on a grid; with what it was made of. The heading is used
/// only where there is no ground velocity.
fn turning(r: &Recording, t: &[f64], step: f64) -> Option<(Vec<f64>, Vec<f64>, Vec<Quantity>)> {
    let speed_of = |q: &Quantity| r.channel(q).map(|c| smooth(&resample::at(c, t), 2));
    if let Some((north, east)) = velocity(r, t) {
        let ground: Vec<f64> = north.iter().zip(&east).map(|(n, e)| n.hypot(*e)).collect();
        let course: Vec<f64> = north
            .iter()
            .zip(&east)
            .map(|(n, e)| if n.hypot(*e) > 3.0 { e.atan2(*n) } else { f64::NAN })
            .collect();
        let rate = rate_on_grid(&course, step);
        return Some((rate, ground, vec![Quantity::VelocityNorth, Quantity::VelocityEast]));
    }
    for q in [Quantity::Course, Quantity::Yaw] {
        if let Some(direction) = r.channel(&q) {
            let rate = rate_on_grid(&resample::at(direction, t), step);
            let speed = speed_of(&Quantity::GroundSpeed).or_else(|| speed_of(&Quantity::Airspeed))?;
            return Some((rate, speed, vec![q]));
        }
    }
    None
}

/// How an angle goes with the bank that the turning asks for: ratio and correlation.
pub(super) fn turning_bank(r: &Recording, angle: &Channel) -> Option<(f64, f64)> {
    let t = times(&[angle], 0.1);
    let step = t.get(1)? - t.first()?;
    let (rate, speed, _) = turning(r, &t, step)?;
    let half = (0.5 / step).round() as usize;
    let banks: Vec<f64> = smooth(&rate, half)
        .iter()
        .zip(&speed)
        .map(|(w, v)| if *v > 5.0 { (w * v / G).atan() } else { f64::NAN })
        .collect();
    let (ratio, agreement, _) = compare(&smooth(&resample::at(angle, &t), half), &banks)?;
    Some((ratio, agreement))
}

/// Airspeed by turning: rate of turning · speed = g · tan(bank), whatever unit a speed is told in; the middle of all
/// that turns, m/s.
pub(super) fn speed_of_turns_m_s(r: &Recording) -> Option<f64> {
    const TURNING_RAD_S: f64 = 0.15;
    let roll = r.channel(&Quantity::Roll)?;
    let t = times(&[roll], 0.1);
    let step = t.get(1)? - t.first()?;
    let (rate, ..) = turning(r, &t, step)?;
    let half = (0.5 / step).round() as usize;
    let speeds: Vec<f64> = smooth(&rate, half)
        .iter()
        .zip(smooth(&resample::at(roll, &t), half))
        .filter(|(w, bank)| w.abs() > TURNING_RAD_S && bank.abs() > 0.1 && bank.abs() < 1.2)
        .map(|(w, bank)| G * bank.tan() / w)
        .collect();
    let middle = median(&speeds);
    (speeds.len() >= FEWEST && middle > 0.0).then_some(middle)
}

fn bank_turns(r: &Recording) -> Vec<Relation> {
    let mut found = Vec::new();
    for subject in [Quantity::Roll, Quantity::YawRate] {
        let Some(channel) = r.channel(&subject) else { continue };
        let t = times(&[channel], 0.1);
        let Some(step) = t.get(1).zip(t.first()).map(|(b, a)| b - a) else {
            continue;
        };
        let Some((rate, speed, against)) = turning(r, &t, step) else {
            continue;
        };
        let half = (0.5 / step).round() as usize;
        let own = smooth(&resample::at(channel, &t), half);
        let rate = smooth(&rate, half);
        let (judged, expected, what): (Vec<f64>, Vec<f64>, &str) = if subject == Quantity::Roll {
            let banks = rate
                .iter()
                .zip(&speed)
                .map(|(w, v)| if *v > 5.0 { (w * v / G).atan() } else { f64::NAN })
                .collect();
            (own, banks, "the bank is {} times what the turn asks for")
        } else {
            let turns = rate.iter().zip(&speed).map(|(w, v)| if *v > 5.0 { *w } else { f64::NAN }).collect();
            (own, turns, "the yaw rate is {} times the rate of turning")
        };
        if let Some((ratio, agreement, n)) = compare(&judged, &expected) {
            found.push(Relation {
                law: Law::BankTurns,
                subject,
                against,
                ratio,
                agreement,
                said: format!(
                    "{} (correlation {agreement:.2}, {n} samples)",
                    what.replace("{}", &format!("{ratio:.3}"))
                ),
            });
        }
    }
    found
}

/// Climb speed, m/s up, at given times, with what it was made of.
fn climb(r: &Recording, t: &[f64]) -> Option<(Vec<f64>, Quantity)> {
    if let Some(c) = height_like(r) {
        let d = Channel {
            quantity: Quantity::VelocityDown,
            source: String::new(),
            time_s: c.time_s.clone(),
            values: derive::derivative(&c.time_s, &c.values, 0.7),
        };
        return Some((resample::at(&d, t), c.quantity.clone()));
    }
    let down = r.channel(&Quantity::VelocityDown)?;
    let up = resample::at(down, t).iter().map(|v| -v).collect();
    Some((up, Quantity::VelocityDown))
}

fn height_like(r: &Recording) -> Option<&Channel> {
    r.channel(&Quantity::Altitude).or_else(|| r.channel(&Quantity::Height))
}

fn nose_along_path(r: &Recording) -> Option<Relation> {
    let pitch = r.channel(&Quantity::Pitch)?;
    let t = times(&[pitch], 0.1);
    let step = t.get(1)? - t.first()?;
    let (climbing, with) = climb(r, &t)?;
    let speed = r
        .channel(&Quantity::Airspeed)
        .map(|c| resample::at(c, &t))
        .or_else(|| velocity(r, &t).map(|(n, e)| n.iter().zip(&e).map(|(n, e)| n.hypot(*e)).collect()))
        .or_else(|| r.channel(&Quantity::GroundSpeed).map(|c| resample::at(c, &t)))?;
    let half = (1.0 / step).round() as usize;
    let nose = smooth(&resample::at(pitch, &t), half);
    let path: Vec<f64> = smooth(&climbing, half)
        .iter()
        .zip(smooth(&speed, half))
        .map(|(c, v)| if v > 7.0 { (c / v).clamp(-1.0, 1.0).asin() } else { f64::NAN })
        .collect();
    let off: Vec<f64> = nose.iter().zip(&path).map(|(a, b)| a - b).filter(|d| d.is_finite()).collect();
    let (ratio, agreement, n) = compare(&nose, &path)?;
    let off_deg = median(&off) * 180.0 / PI;
    Some(Relation {
        law: Law::NoseAlongPath,
        subject: Quantity::Pitch,
        against: vec![with],
        ratio,
        agreement,
        said: format!(
            "in flight the pitch attitude is {off_deg:.0} deg off the path of flight in the middle \
             (their ratio {ratio:.2}, correlation {agreement:.2}, {n} samples)"
        ),
    })
}

/// The middle offset of the pitch attitude from the path of flight, rad, while moving.
pub(super) fn pitch_off_path_rad(r: &Recording) -> Option<f64> {
    let pitch = r.channel(&Quantity::Pitch)?;
    let t = times(&[pitch], 0.1);
    let moving = velocity(r, &t)
        .map(|(n, e)| n.iter().zip(&e).map(|(n, e)| n.hypot(*e)).collect::<Vec<f64>>())
        .or_else(|| r.channel(&Quantity::GroundSpeed).map(|c| resample::at(c, &t)))
        .or_else(|| r.channel(&Quantity::Airspeed).map(|c| resample::at(c, &t)))?;
    let climbing = climb(r, &t).map(|(c, _)| c);
    let off: Vec<f64> = resample::at(pitch, &t)
        .iter()
        .zip(&moving)
        .enumerate()
        .filter(|(_, (p, v))| **v > 8.0 && p.is_finite())
        .map(|(i, (p, v))| {
            let up =
                climbing.as_ref().and_then(|c| c.get(i)).copied().filter(|c| c.is_finite()).unwrap_or(0.0);
            p - up.atan2(*v)
        })
        .collect();
    (off.len() >= FEWEST).then(|| median(&off))
}

fn gravity_along_nose(r: &Recording) -> Option<Relation> {
    let (x, pitch) = (r.channel(&Quantity::ForceX)?, r.channel(&Quantity::Pitch)?);
    let t = times(&[x, pitch], 0.1);
    let step = t.get(1)? - t.first()?;
    let half = (0.5 / step).round() as usize;
    // Speeding up counts too, where a speed tells it.
    let gain = [Quantity::Airspeed, Quantity::GroundSpeed].iter().find_map(|q| r.channel(q)).map(|c| {
        let d = Channel {
            quantity: Quantity::Height,
            source: String::new(),
            time_s: c.time_s.clone(),
            values: derive::derivative(&c.time_s, &c.values, 0.7),
        };
        resample::at(&d, &t)
    });
    let expected: Vec<f64> = resample::at(pitch, &t)
        .iter()
        .enumerate()
        .map(|(i, p)| {
            let more = gain.as_ref().and_then(|g| g.get(i)).copied().filter(|g| g.is_finite()).unwrap_or(0.0);
            G * p.sin() + more
        })
        .collect();
    let (ratio, agreement, n) = compare(&smooth(&resample::at(x, &t), half), &smooth(&expected, half))?;
    Some(Relation {
        law: Law::GravityAlongNose,
        subject: Quantity::ForceX,
        against: vec![Quantity::Pitch],
        ratio,
        agreement,
        said: format!(
            "the force along the nose is {ratio:.2} times what pitch and speeding up make of it \
             (correlation {agreement:.2}, {n} samples)"
        ),
    })
}

fn pulling_loads(r: &Recording) -> Option<Relation> {
    let (q, z) = (r.channel(&Quantity::PitchRate)?, r.channel(&Quantity::ForceZ)?);
    let t = times(&[q, z], 0.1);
    let step = t.get(1)? - t.first()?;
    let half = (0.4 / step).round() as usize;
    let load: Vec<f64> = smooth(&resample::at(z, &t), half).iter().map(|v| v.abs() / G).collect();
    let (ratio, agreement, n) = compare(&smooth(&resample::at(q, &t), half), &load)?;
    Some(Relation {
        law: Law::PullingLoads,
        subject: Quantity::PitchRate,
        against: vec![Quantity::ForceZ],
        ratio,
        agreement,
        said: format!(
            "the pitch rate goes {} the load on the wing (correlation {agreement:.2}, {n} samples)",
            if ratio > 0.0 { "with" } else { "against" }
        ),
    })
}

fn stick_moves(r: &Recording) -> Vec<Relation> {
    [
        (Quantity::StickRoll, Quantity::RollRate, Quantity::Roll),
        (Quantity::StickPitch, Quantity::PitchRate, Quantity::Pitch),
        (Quantity::StickYaw, Quantity::YawRate, Quantity::Yaw),
    ]
    .into_iter()
    .filter_map(|(stick, rate, angle)| {
        let s = r.channel(&stick)?;
        let (t, answer, with) = if let Some(rate_c) = r.channel(&rate) {
            let t = times(&[s, rate_c], 0.1);
            let answer = resample::at(rate_c, &t);
            (t, answer, rate)
        } else {
            let angle_c = r.channel(&angle)?;
            let t = times(&[s, angle_c], 0.1);
            let step = t.get(1)? - t.first()?;
            let answer = rate_on_grid(&resample::at(angle_c, &t), step);
            (t, answer, angle)
        };
        let step = t.get(1)? - t.first()?;
        let given = resample::at(s, &t);
        // The aircraft answers a little later than the stick moves.
        let best = (0..=(0.6 / step).round() as usize)
            .filter_map(|lag| compare(given.get(..given.len() - lag.min(given.len()))?, answer.get(lag..)?))
            .max_by(|a, b| a.1.total_cmp(&b.1))?;
        let (ratio, agreement, n) = best;
        Some(Relation {
            law: Law::StickMoves,
            subject: stick,
            against: vec![with],
            ratio,
            agreement,
            said: format!(
                "the aircraft moves {} the stick (correlation {agreement:.2}, {n} samples)",
                if ratio > 0.0 { "with" } else { "against" }
            ),
        })
    })
    .collect()
}
