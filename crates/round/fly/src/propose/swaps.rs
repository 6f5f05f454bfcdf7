//! Which two columns were taken for each other, or which direction over ground has the wrong sign? Told by comparing
//! each with what the other should be, and by a third witness who of the two pairs is wrong.

use std::f64::consts::PI;

use super::contradictions::{Contradiction, Remedy};
use super::relations::{compare, differences, integral, times, turning_bank};
use crate::derive::{self, is_derived};
use crate::recording::{Channel, Quantity, Recording};
use crate::resample::{self, rate_on_grid, smooth};

/// A pair that goes together at least this well holds.
const HOLDS: f64 = 0.75;
/// A pair that goes together at most this well does not.
const FAILS: f64 = 0.5;

/// The surest swap or wrong direction of a recording.
pub(crate) fn find(r: &Recording) -> Option<Contradiction> {
    over_ground(r).or_else(|| angles(r))
}

/// How one horizontal velocity goes with another.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Like {
    /// They are the same.
    Same,
    /// North of the one is east of the other.
    Swapped,
    /// North has the other sign.
    North,
    /// East has the other sign.
    East,
    /// Nothing of these.
    Unlike,
}

/// How a direction in the horizontal goes with a velocity.
struct Seen {
    like: Like,
    /// Steadiness of the angle between them, and of the angle between one and the mirrored other, 0 to 1.
    steady: f64,
    mirrored: f64,
}

fn ground(r: &Recording) -> Option<(&Channel, &Channel)> {
    Some((r.channel(&Quantity::VelocityNorth)?, r.channel(&Quantity::VelocityEast)?))
}

fn over_ground(r: &Recording) -> Option<Contradiction> {
    let (north, east) = ground(r)?;
    let measured = !is_derived(north) && !is_derived(east);
    let witness = |q: &Quantity| r.channel(q).and_then(|c| seen(c, north, east));
    let [course, yaw] = [witness(&Quantity::Course), witness(&Quantity::Yaw)];
    let own = |like: Like| course.as_ref().is_some_and(|s| s.like == like);
    if measured && let Some((like, said)) = against_positions(r, north, east) {
        // Course is of the same receiver, and not affected by which velocity column is which.
        let speaks = course.as_ref().filter(|s| s.like != Like::Unlike).or(yaw.as_ref());
        let velocity_is_right = match speaks.map(|s| s.like) {
            Some(Like::Same) => true,
            Some(other) if other == like => false,
            _ => positions_have_the_other_scale(r, north, east, like),
        };
        return Some(blame(like, velocity_is_right, said));
    }
    let turn = turn_goes(r, north, east);
    // Positions that agree with the velocity, or the turn, say that it is the heading that is counted otherwise.
    if let Some(s) = yaw.filter(|_| !own(Like::Same) || !measured)
        && matches!(s.like, Like::Swapped | Like::North | Like::East)
        && turn.is_some_and(|(with, _)| with < 0.0)
    {
        let said = format!(
            "with them the course turns against heading and bank (correlation {:.2}), and their mirror image keeps a \
             steady angle to the heading ({:.2} against {:.2})",
            turn.map_or(f64::NAN, |t| t.1),
            s.mirrored,
            s.steady
        );
        return Some(blame(s.like, !measured, said));
    }
    if measured
        && let Some(s) = course
        && matches!(s.like, Like::Swapped | Like::North | Like::East)
    {
        let said = format!(
            "the recorded course keeps a steady angle to their mirror image ({:.2}) and not to them ({:.2})",
            s.mirrored, s.steady
        );
        return Some(blame(s.like, false, said));
    }
    None
}

/// Positions are blamed where the velocity is known to be right.
fn blame(like: Like, velocity_is_right: bool, said: String) -> Contradiction {
    use Quantity as Q;
    let pair =
        if velocity_is_right { [Q::Latitude, Q::Longitude] } else { [Q::VelocityNorth, Q::VelocityEast] };
    let [first, second] = pair;
    let (blame, remedy) = match like {
        Like::Swapped => (vec![first, second], Remedy::Swap),
        Like::North => (vec![first], Remedy::Negate),
        _ => (vec![second], Remedy::Negate),
    };
    Contradiction { blame, remedy, sure: 0.95, said }
}

/// Whether swapped latitude and longitude, not velocities, explain the sizes: a degree of longitude is shorter than one
/// of latitude, so that swapped positions give other speeds, and swapped velocities the same.
fn positions_have_the_other_scale(r: &Recording, north: &Channel, east: &Channel, like: Like) -> bool {
    if like != Like::Swapped {
        return false;
    }
    let Some([n, e]) = derive::from_positions(r) else {
        return false;
    };
    let off = |a: &Channel, b: &Channel| likeness(a, b).map_or(0.0, |(_, ratio)| ratio.abs().ln().abs());
    off(north, &e).max(off(east, &n)) > 0.1
}

fn against_positions(r: &Recording, north: &Channel, east: &Channel) -> Option<(Like, String)> {
    let [n, e] = derive::from_positions(r)?;
    let (nn, ee) = (likeness(north, &n)?.0, likeness(east, &e)?.0);
    let (ne, en) = (likeness(north, &e)?.0, likeness(east, &n)?.0);
    let like = if ne > HOLDS && en > HOLDS && ne + en > nn.max(0.0) + ee.max(0.0) + 0.5 {
        Like::Swapped
    } else if nn < -HOLDS && ee > HOLDS {
        Like::North
    } else if ee < -HOLDS && nn > HOLDS {
        Like::East
    } else {
        return None;
    };
    let said = match like {
        Like::Swapped => format!(
            "velocity-north goes with what the positions give towards east (likeness {ne:.2}; towards north {nn:.2}) \
             and velocity-east with what they give towards north ({en:.2}; towards east {ee:.2})"
        ),
        _ => format!(
            "velocity and positions have the likeness {nn:.2} towards north and {ee:.2} towards east, where the same \
             motion has 1"
        ),
    };
    Some((like, said))
}

/// Likeness (cosine of the angle between the series) and ratio of sizes.
fn likeness(a: &Channel, b: &Channel) -> Option<(f64, f64)> {
    let t = times(&[a, b], 0.1);
    let (x, y): (Vec<f64>, Vec<f64>) = resample::at(a, &t)
        .into_iter()
        .zip(resample::at(b, &t))
        .filter(|(x, y)| x.is_finite() && y.is_finite())
        .unzip();
    let size = |v: &[f64]| v.iter().map(|x| x * x).sum::<f64>().sqrt();
    let (sx, sy) = (size(&x), size(&y));
    let enough = x.len() >= super::relations::FEWEST && sx > 0.0 && sy > 0.0;
    enough.then(|| (x.iter().zip(&y).map(|(x, y)| x * y).sum::<f64>() / (sx * sy), sx / sy))
}

/// How a heading or course goes with a velocity while it moves and turns.
fn seen(direction: &Channel, north: &Channel, east: &Channel) -> Option<Seen> {
    const MOVING_M_S: f64 = 5.0;
    const WITHIN_RAD: f64 = 35.0 * PI / 180.0;
    let t = times(&[direction, north, east], 0.1);
    let (mut minus, mut plus, mut own, mut count) = ((0.0, 0.0), (0.0, 0.0), (0.0, 0.0), 0.0);
    let ground = resample::at(north, &t).into_iter().zip(resample::at(east, &t));
    for (d, (n, e)) in resample::at(direction, &t).into_iter().zip(ground) {
        if !(d.is_finite() && n.hypot(e) > MOVING_M_S) {
            continue;
        }
        let c = e.atan2(n);
        minus = (minus.0 + (d - c).cos(), minus.1 + (d - c).sin());
        plus = (plus.0 + (d + c).cos(), plus.1 + (d + c).sin());
        own = (own.0 + c.cos(), own.1 + c.sin());
        count += 1.0;
    }
    if count < super::relations::FEWEST as f64 {
        return None;
    }
    let length = |p: (f64, f64)| p.0.hypot(p.1) / count;
    let (steady, mirrored) = (length(minus), length(plus));
    // On one course both keep a steady angle and nothing is told.
    let turned = length(own) < 0.7;
    let near = |angle: f64| numerics::frames::wrap_rad(plus.1.atan2(plus.0) - angle).abs() < WITHIN_RAD;
    let like = if turned && mirrored > HOLDS && mirrored > steady + 0.25 {
        if near(PI / 2.0) {
            Like::Swapped
        } else if near(PI) {
            Like::North
        } else if near(0.0) {
            Like::East
        } else {
            Like::Unlike
        }
    } else if steady > HOLDS && minus.1.atan2(minus.0).abs() < 2.0 * WITHIN_RAD {
        Like::Same
    } else {
        Like::Unlike
    };
    Some(Seen { like, steady, mirrored })
}

/// Whether the velocity turns with yaw rate or bank (sign), and how well that goes together.
fn turn_goes(r: &Recording, north: &Channel, east: &Channel) -> Option<(f64, f64)> {
    let own = r.channel(&Quantity::YawRate).or_else(|| r.channel(&Quantity::Roll))?;
    let t = times(&[own, north, east], 0.1);
    let step = t.get(1)? - t.first()?;
    let half = (0.5 / step).round() as usize;
    let course: Vec<f64> = resample::at(north, &t)
        .iter()
        .zip(resample::at(east, &t))
        .map(|(n, e)| if n.hypot(e) > 5.0 { e.atan2(*n) } else { f64::NAN })
        .collect();
    let (ratio, agreement, _) =
        compare(&smooth(&resample::at(own, &t), half), &smooth(&rate_on_grid(&course, step), half))?;
    (agreement > 0.6).then_some((ratio.signum(), agreement))
}

/// Angles that change as the rate of another axis says.
fn angles(r: &Recording) -> Option<Contradiction> {
    use Quantity as Q;
    [
        ([Q::Roll, Q::Pitch], [Q::RollRate, Q::PitchRate]),
        ([Q::Roll, Q::Yaw], [Q::RollRate, Q::YawRate]),
        ([Q::Pitch, Q::Yaw], [Q::PitchRate, Q::YawRate]),
    ]
    .into_iter()
    .find_map(|(angles, rates)| by_rates(r, &angles, &rates))
    .or_else(|| by_turn(r))
}

fn by_rates(r: &Recording, angles: &[Quantity; 2], rates: &[Quantity; 2]) -> Option<Contradiction> {
    let goes = |angle: &Quantity, rate: &Quantity| -> Option<(f64, f64)> {
        let (a, w) = (r.channel(angle)?, r.channel(rate)?);
        let t = times(&[a, w], 0.1);
        let step = t.get(1)? - t.first()?;
        let lag = (0.3 / step).round().max(1.0) as usize;
        let turned = differences(&resample::unwrapped(&resample::at(a, &t)), lag);
        let (ratio, agreement, _) = compare(&turned, &differences(&resample::at(&integral(w), &t), lag))?;
        Some((ratio, agreement))
    };
    let [a, b] = angles;
    let [p, q] = rates;
    let (own_a, own_b) = (goes(a, p)?.1, goes(b, q)?.1);
    let (cross_a, cross_b) = (goes(a, q)?, goes(b, p)?);
    let fits = |c: (f64, f64)| c.1 > HOLDS && (0.5..2.0).contains(&c.0.abs());
    let best = cross_a.1.max(cross_b.1);
    // In turns the pitch rate is mostly the turn, so that of two angles only one may tell.
    let swapped = (fits(cross_a) || fits(cross_b)) && own_a < FAILS && own_b < FAILS && best > 0.8;
    if !swapped {
        return None;
    }
    let [first, second] = [super::words::word(a), super::words::word(b)];
    let said = format!(
        "{first} changes as {} says (correlation {:.2}) and not as its own rate ({own_a:.2}), {second} as {} says \
         ({:.2}) and not as its own ({own_b:.2})",
        super::words::word(q),
        cross_a.1,
        super::words::word(p),
        cross_b.1,
    );
    // The turn tells the bank, and the course the heading, whatever the gyro says.
    let heads = |o: super::relations::HeadingOff| o.steady > HOLDS && o.off_rad.abs() < PI / 3.0;
    let angle_is_right = (*a == Quantity::Roll && banks(r, a).is_some_and(|c| c > 0.7))
        || (*b == Quantity::Yaw && super::relations::heading_off(r).is_some_and(heads));
    let blame = if angle_is_right { rates.to_vec() } else { angles.to_vec() };
    Some(Contradiction { blame, remedy: Remedy::Swap, sure: best, said })
}

/// Without rates, the turn tells which of roll and pitch is the bank.
fn by_turn(r: &Recording) -> Option<Contradiction> {
    if r.channel(&Quantity::RollRate).is_some() && r.channel(&Quantity::PitchRate).is_some() {
        return None;
    }
    let (roll, pitch) = (banks(r, &Quantity::Roll)?, banks(r, &Quantity::Pitch)?);
    (roll < FAILS && pitch > 0.85).then(|| Contradiction {
        blame: vec![Quantity::Roll, Quantity::Pitch],
        remedy: Remedy::Swap,
        sure: pitch,
        said: format!(
            "pitch goes with the bank that the turns ask for (correlation {pitch:.2}), and roll does not ({roll:.2})"
        ),
    })
}

/// Correlation of an angle with the bank that the turning asks for.
fn banks(r: &Recording, angle: &Quantity) -> Option<f64> {
    let (ratio, agreement) = turning_bank(r, r.channel(angle)?)?;
    Some(agreement * ratio.signum())
}
