//! Which way must each surface of this aircraft move when the stick moves? From its geometry: the panel's force times
//! its arm about the balance point.

use aircraft::Aircraft;
use aircraft::movable::{Movable, Panels};
use numerics::Vec3;
use numerics::frames::body_from_builder;

/// A demand of the stick, positive.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Demand {
    /// Right wing down.
    Roll,
    /// Nose up.
    Pitch,
    /// Nose right.
    Yaw,
    /// Flaps down.
    Flap,
}

/// A panel's answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// Name of the movable, with its side where it has two.
    pub panel: String,
    /// Where the trailing edge goes, unit vector in the builder's frame.
    pub trailing_edge: Vec3,
    /// Middle of the hinge line, builder's frame, m.
    pub at_m: Vec3,
}

/// One line of the surface direction check: what is done, and how every surface must answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// What is done ("Stick right", "Right wing dropped").
    pub stick: &'static str,
    /// How the panels answer.
    pub panels: Vec<Answer>,
}

impl Line {
    /// "right aileron trailing edge up, left aileron trailing edge down".
    #[must_use]
    pub fn answers(&self) -> String {
        let said: Vec<String> = self
            .panels
            .iter()
            .map(|a| format!("{} trailing edge {}", a.panel, word(a.trailing_edge)))
            .collect();
        said.join(", ")
    }
}

/// The sticks, one line each, leaving out the demands that nothing answers.
#[must_use]
pub fn lines(aircraft: &Aircraft, cg_m: Vec3) -> Vec<Line> {
    [
        (Demand::Roll, "Stick right"),
        (Demand::Pitch, "Stick back"),
        (Demand::Yaw, "Rudder right"),
        (Demand::Flap, "Flaps down"),
    ]
    .into_iter()
    .map(|(demand, stick)| Line { stick, panels: answers(aircraft, cg_m, demand) })
    .filter(|line| !line.panels.is_empty())
    .collect()
}

/// The model turned by hand with a stabilized switch position: every surface must answer against the turn, which is as
/// for the stick that would undo it.
#[must_use]
pub fn disturbances(aircraft: &Aircraft, cg_m: Vec3) -> Vec<Line> {
    [(Demand::Roll, "Right wing dropped"), (Demand::Pitch, "Nose raised"), (Demand::Yaw, "Nose swung right")]
        .into_iter()
        .map(|(demand, stick)| {
            // What is done turns the model the positive way of the demand; the answer is that of the opposite demand.
            let panels = answers(aircraft, cg_m, demand)
                .into_iter()
                .map(|a| Answer { trailing_edge: -a.trailing_edge, ..a })
                .collect();
            Line { stick, panels }
        })
        .filter(|line: &Line| !line.panels.is_empty())
        .collect()
}

/// The check of all surfaces, a sentence each for stick right, stick back, rudder right and flaps, leaving out the
/// demands that nothing answers.
#[must_use]
pub fn check_steps(aircraft: &Aircraft, cg_m: Vec3) -> Vec<String> {
    lines(aircraft, cg_m)
        .iter()
        .map(|line| {
            let back = if line.stick == "Flaps down" {
                "Flaps up: back again."
            } else {
                "The other way: the opposite."
            };
            format!("{}: {}. {back}", line.stick, line.answers())
        })
        .collect()
}

/// How every panel answers a positive demand; panels that do not mix it are left out.
#[must_use]
pub fn answers(aircraft: &Aircraft, cg_m: Vec3, demand: Demand) -> Vec<Answer> {
    let mut out = Vec::new();
    for movable in &aircraft.movables {
        let share = match demand {
            Demand::Roll => movable.mix.roll,
            Demand::Pitch => movable.mix.pitch,
            Demand::Yaw => movable.mix.yaw,
            Demand::Flap => movable.mix.flap,
        };
        if share == 0.0 {
            continue;
        }
        let Some((place, normal)) = panel(aircraft, movable) else {
            continue;
        };
        let mirrored = aircraft.surfaces.get(movable.surface).is_some_and(|s| s.mirrored);
        let right = answer(place - cg_m, normal, demand, share);
        match movable.panels {
            Panels::One => {
                out.push(Answer { panel: movable.name.clone(), trailing_edge: right, at_m: place })
            }
            Panels::Pair => {
                let side = if mirrored { "right " } else { "" };
                out.push(Answer {
                    panel: format!("{side}{}", movable.name),
                    trailing_edge: right,
                    at_m: place,
                });
                if mirrored {
                    let mirror = |v: Vec3| Vec3::new(v.x, -v.y, v.z);
                    // The mirrored normal still points from lower to upper side.
                    out.push(Answer {
                        panel: format!("left {}", movable.name),
                        trailing_edge: answer(mirror(place) - cg_m, mirror(normal), demand, share),
                        at_m: mirror(place),
                    });
                }
            }
        }
    }
    out
}

/// Middle of the hinge line and the panel's normal, builder's frame.
fn panel(aircraft: &Aircraft, movable: &Movable) -> Option<(Vec3, Vec3)> {
    let surface = aircraft.surfaces.get(movable.surface)?;
    let along = 0.5 * (movable.inner_m + movable.outer_m);
    let (inner, outer) = surface
        .stations
        .iter()
        .zip(surface.stations.iter().skip(1))
        .find(|(_, outer)| outer.along_m >= along)
        .or_else(|| surface.stations.iter().zip(surface.stations.iter().skip(1)).next_back())?;
    let span = outer.along_m - inner.along_m;
    if span.is_nan() || span <= 0.0 {
        return None;
    }
    let part = (along - inner.along_m) / span;
    let edge = inner.leading_edge_m + (outer.leading_edge_m - inner.leading_edge_m) * part;
    let chord = inner.chord_m + (outer.chord_m - inner.chord_m) * part;
    let hinge = 0.5 * (movable.hinge_inner + movable.hinge_outer);
    let line = outer.leading_edge_m - inner.leading_edge_m;
    let (dy, dz) = (line.y, line.z);
    let length = dy.hypot(dz);
    if length.is_nan() || length <= 0.0 {
        return None;
    }
    // Right panel of dihedral Γ: (0, -sin Γ, cos Γ).
    Some((edge + Vec3::new(hinge * chord, 0.0, 0.0), Vec3::new(0.0, -dz / length, dy / length)))
}

/// Direction in which the trailing edge must go so that the panel's force turns the aircraft as demanded.
fn answer(arm: Vec3, normal: Vec3, demand: Demand, share: f64) -> Vec3 {
    // Trailing edge against the normal gives a force along the normal.
    let moment = body_from_builder(arm.cross(&normal));
    let against = match demand {
        Demand::Roll => moment.x > 0.0,
        Demand::Pitch => moment.y > 0.0,
        Demand::Yaw => moment.z > 0.0,
        Demand::Flap => true,
    };
    let sign = if against { -1.0 } else { 1.0 };
    normal * (sign * share.signum())
}

/// Where a trailing edge goes, in a word.
#[must_use]
pub fn word(direction: Vec3) -> &'static str {
    if direction.z.abs() >= direction.y.abs() {
        if direction.z > 0.0 { "up" } else { "down" }
    } else if direction.y > 0.0 {
        "right"
    } else {
        "left"
    }
}
