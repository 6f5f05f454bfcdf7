//! Which way do the axes x, y, z of a sensor point? Told by gravity, by the derivatives of the attitude and by turns.

use super::Search;
use super::contradictions::agrees_but_for_sign;
use super::relations::{self, Law, Relation};
use crate::map::Axes;
use crate::recording::{Quantity, Recording};
use crate::words;

/// Settles axes that the headers leave open, and leaves out what the data does not settle.
pub(super) fn settle(search: &mut Search) {
    vertical_speed(search);
    let recording = search.recording(&search.known());
    let relations = relations::all(&recording);
    let frame = forces(search, &recording, &relations);
    rates(search, &relations, frame);
}

fn is_open(search: &Search, q: &Quantity) -> bool {
    search.candidates.iter().any(|c| c.quantity == *q && c.open_axis)
}

fn turn(search: &mut Search, q: &Quantity, axes: Axes, negate: bool, why: &str) {
    for c in search.candidates.iter_mut().filter(|c| c.quantity == *q) {
        c.axes = axes;
        c.negate = negate;
        c.open_axis = false;
        c.sure = c.sure.min(0.85);
        c.why.push(why.to_owned());
    }
}

/// A vertical speed is up or down positive as the height tells.
fn vertical_speed(search: &mut Search) {
    if !is_open(search, &Quantity::VelocityDown) {
        return;
    }
    let recording = search.recording(&search.known());
    let told = relations::all(&recording).into_iter().find(|r| {
        r.subject == Quantity::VelocityDown && r.law == Law::RateOfPosition && agrees_but_for_sign(r)
    });
    match told {
        Some(r) if r.ratio > 0.0 => {
            turn(search, &Quantity::VelocityDown, Axes::ForwardRightDown, false, &r.said);
        }
        Some(r) => turn(search, &Quantity::VelocityDown, Axes::UpPositive, false, &r.said),
        None => search.leave_out(
            &Quantity::VelocityDown,
            "the header does not say whether up or down is positive, and no height tells it",
        ),
    }
}

/// Axes of the forces: gravity tells z, the pitch attitude x, and both together y. Gives the signs of x and z.
fn forces(search: &mut Search, recording: &Recording, relations: &[Relation]) -> Option<(f64, f64)> {
    let [x, y, z] = [Quantity::ForceX, Quantity::ForceY, Quantity::ForceZ];
    recording.channel(&z)?;
    let Some(gravity) = relations.iter().find(|r| r.law == Law::Gravity && agrees_but_for_sign(r)) else {
        for q in [&x, &y, &z] {
            if is_open(search, q) {
                search.leave_out(q, "gravity does not lie along z, so the axes are not told");
            }
        }
        return None;
    };
    let up = gravity.ratio.signum();
    let along = relations.iter().find(|r| r.law == Law::GravityAlongNose && agrees_but_for_sign(r));
    let forward = along.map(|r| r.ratio.signum());
    if is_open(search, &z) {
        if up > 0.0 {
            turn(search, &z, Axes::ForwardRightDown, false, &gravity.said);
        } else {
            let axes = if forward == Some(-1.0) { Axes::UpPositive } else { Axes::ForwardLeftUp };
            turn(search, &z, axes, false, &gravity.said);
        }
    }
    match (forward, along) {
        (Some(sign), Some(law)) => {
            if is_open(search, &x) {
                turn(search, &x, Axes::ForwardRightDown, sign < 0.0, &law.said);
            }
            if is_open(search, &y) {
                if sign > 0.0 {
                    let axes = if up > 0.0 { Axes::ForwardRightDown } else { Axes::ForwardLeftUp };
                    turn(search, &y, axes, false, "x points forward and z is told, so y is");
                } else {
                    search.leave_out(&y, "x points backward, so y could be either side");
                }
            }
        }
        _ => {
            for q in [&x, &y] {
                if is_open(search, q) {
                    search.leave_out(
                        q,
                        "nothing tells whether x points forward; write axes into the map if you know them",
                    );
                }
            }
        }
    }
    Some((forward?, up))
}

/// Axes of the rates: each by its angle, by the turn or by the load; the last one by the other two.
fn rates(search: &mut Search, relations: &[Relation], frame: Option<(f64, f64)>) {
    let axes = [Quantity::RollRate, Quantity::PitchRate, Quantity::YawRate];
    if !axes.iter().any(|q| is_open(search, q)) {
        return;
    }
    let told = |q: &Quantity| -> Option<(f64, String)> {
        relations
            .iter()
            .filter(|r| agrees_but_for_sign(r))
            .find(|r| {
                (r.law == Law::RateOfAngle && r.against.contains(q))
                    || (r.subject == *q && matches!(r.law, Law::BankTurns | Law::PullingLoads))
            })
            .map(|r| (r.ratio.signum(), r.said.clone()))
    };
    let mut signs: Vec<Option<(f64, String)>> = axes.iter().map(told).collect();
    // Turning a right-handed frame about keeps the product of the three signs.
    let known: Vec<f64> = signs.iter().flatten().map(|(s, _)| *s).collect();
    if known.len() == 2 {
        let product: f64 = known.iter().product();
        for sign in signs.iter_mut().filter(|s| s.is_none()) {
            *sign = Some((product, "the other two axes are told, so this one is".to_owned()));
        }
    } else if let Some((forward, up)) = frame
        && known.len() < 2
        && forward > 0.0
    {
        for (sign, value) in signs.iter_mut().zip([1.0, up, up]) {
            if sign.is_none() {
                *sign = Some((
                    value,
                    "the accelerometer's axes are told; the gyro's are taken as the same".to_owned(),
                ));
            }
        }
    }
    for (q, sign) in axes.iter().zip(signs) {
        if !is_open(search, q) {
            continue;
        }
        match sign {
            Some((sign, why)) if *q == Quantity::RollRate => {
                turn(search, q, Axes::ForwardRightDown, sign < 0.0, &why);
            }
            Some((sign, why)) => {
                let axes = if sign > 0.0 { Axes::ForwardRightDown } else { Axes::ForwardLeftUp };
                turn(search, q, axes, false, &why);
            }
            None => search.leave_out(
                q,
                &format!("nothing in the file tells which way the axis of the {} points", words::word(q)),
            ),
        }
    }
}
