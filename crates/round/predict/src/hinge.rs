//! How strong must a servo be? Moment of the air about the hinge of a plain flap by thin-section theory (Glauert,
//! Theoretical Relationships for an Aerofoil with Hinged Flap, ARC R&M 1095, 1927), carried to the servo arm through
//! the linkage.
//!
//! Frictionless air loads a flap most: gaps, thick trailing edges and the boundary layer take a third or so away, so the
//! number is on the safe side; sticking hinges and a pack run down are not in it.

use std::f64::consts::PI;

use aircraft::Aircraft;
use aircraft::movable::{Movable, Panels};
use aircraft::surface::Surface;

/// Stated torque over the computed one that leaves room for stiff hinges, gusts and a low supply (common practice, no
/// source).
pub const ENOUGH: f64 = 1.5;

/// Load of one servo.
#[derive(Debug, Clone, PartialEq)]
pub struct ServoLoad {
    /// The builder's name of the movable.
    pub movable: String,
    /// "right", "left", "both" or "only", as in the table of throws; "each side" where two servos are alike.
    pub side: &'static str,
    /// Airspeed it holds for, m/s.
    pub speed_m_s: f64,
    /// Torque at the servo arm at full throw, N m.
    pub torque_nm: f64,
    /// Torque that the file states, N m.
    pub stated_nm: Option<f64>,
    /// Both in a sentence.
    pub sentence: String,
}

/// Hinge moment coefficient (over dynamic pressure, span and the square of the flap's chord; trailing edge down
/// positive) per rad of angle of attack and per rad of deflection, of a flap of this share of the chord (above 0, at
/// most 1).
///
/// Glauert's loading `4 (A0 (1+cos θ)/sin θ + δ/π ln|sin((θ+φ)/2)/sin((θ-φ)/2)|)`, hinge at φ and A0 = α + δ(1-φ/π),
/// summed over the flap with the arm to the hinge.
#[must_use]
pub fn hinge_moment_slopes(chord_share: f64) -> [f64; 2] {
    const STEPS: u32 = 2000;
    let hinge = (2.0 * chord_share - 1.0).clamp(-1.0, 1.0).acos();
    let step = (PI - hinge) / f64::from(STEPS);
    let (mut by_incidence, mut by_turning) = (0.0, 0.0);
    for i in 0..STEPS {
        let theta = hinge + step * (f64::from(i) + 0.5);
        let arm = 0.5 * (hinge.cos() - theta.cos());
        // dx = sin θ/2 dθ over the whole chord.
        let width = 0.5 * step * theta.sin();
        by_incidence += 4.0 * (1.0 + theta.cos()) / theta.sin() * arm * width;
        let logarithm = ((0.5 * (theta + hinge)).sin() / (0.5 * (theta - hinge)).sin()).abs().ln();
        by_turning += 4.0 / PI * logarithm * arm * width;
    }
    let scale = -1.0 / (chord_share * chord_share);
    [by_incidence * scale, (by_incidence * (1.0 - hinge / PI) + by_turning) * scale]
}

/// Loads of all servos at full throw at a speed, m/s.
#[must_use]
pub fn servo_loads(aircraft: &Aircraft, density_kg_m3: f64, speed_m_s: f64) -> Vec<ServoLoad> {
    let pressure = 0.5 * density_kg_m3 * speed_m_s * speed_m_s;
    let mut loads = Vec::new();
    for movable in &aircraft.movables {
        let Some(surface) = aircraft.surfaces.get(movable.surface) else {
            continue;
        };
        let throw = movable.throw_up_rad.max(movable.throw_down_rad);
        let sides: &[(bool, &'static str)] = match (surface.mirrored, movable.panels) {
            (true, Panels::Pair) => &[(false, "right"), (true, "left")],
            (true, Panels::One) => &[(false, "both")],
            (false, _) => &[(false, "only")],
        };
        let alike = sides.len() == 2
            && movable.servo_of(true).torque_nm == movable.servo.torque_nm
            && movable.servo_of(true).travel_rad == movable.servo.travel_rad;
        let sides: &[(bool, &'static str)] = if alike { &[(false, "each side")] } else { sides };
        for (left, side) in sides {
            let pieces = if *side == "both" { 2.0 } else { 1.0 };
            let moment_nm = pieces * pressure * throw * loaded_m3(movable, surface);
            let servo = movable.servo_of(*left);
            let torque_nm = moment_nm * gearing(movable, servo.travel_rad, throw);
            if !(torque_nm > 0.0 && torque_nm.is_finite()) {
                continue;
            }
            loads.push(ServoLoad {
                movable: movable.name.clone(),
                side,
                speed_m_s,
                torque_nm,
                stated_nm: servo.torque_nm,
                sentence: sentence(movable, side, speed_m_s, throw, torque_nm, servo.torque_nm),
            });
        }
    }
    loads
}

/// Hinge moment per pressure and rad of one panel, m³: span times chord squared times the coefficient, by Simpson's rule
/// along the hinge.
fn loaded_m3(movable: &Movable, surface: &Surface) -> f64 {
    let at = |along: f64| {
        let own = movable.chord_at(surface, along);
        let share = own / surface.chord_at(along);
        if share > 0.0 && share <= 1.0 { -hinge_moment_slopes(share)[1] * own * own } else { 0.0 }
    };
    let (inner, outer) = (movable.inner_m, movable.outer_m);
    (outer - inner) / 6.0 * (at(inner) + 4.0 * at(0.5 * (inner + outer)) + at(outer))
}

/// Turning of the surface per turning of the servo arm at full throw: by virtual work also torque over moment.
fn gearing(movable: &Movable, travel_rad: f64, throw_rad: f64) -> f64 {
    let step = 1e-4;
    let turned = |deflection: f64| movable.linkage.servo_from_surface(deflection);
    if movable.linkage.is_measured()
        && let (Some(more), Some(less)) = (turned(throw_rad), turned(throw_rad - step))
    {
        return (step / (more - less)).abs();
    }
    throw_rad / travel_rad
}

fn sentence(
    movable: &Movable,
    side: &str,
    speed_m_s: f64,
    throw_rad: f64,
    torque_nm: f64,
    stated_nm: Option<f64>,
) -> String {
    let need = format!(
        "The servo of \"{}\" ({side}) must hold {:.1} N cm at full throw ({:.0}°) at {speed_m_s:.0} m/s",
        movable.name,
        100.0 * torque_nm,
        throw_rad.to_degrees()
    );
    match stated_nm {
        Some(stated) if stated < torque_nm => format!(
            "{need}, and {:.1} N cm are stated: it will be blown back. A stronger servo, a shorter servo arm, a smaller throw, or keep slower.",
            100.0 * stated
        ),
        Some(stated) if stated < ENOUGH * torque_nm => format!(
            "{need}; {:.1} N cm are stated, {:.1} times that, less than the {ENOUGH} times that leave room for stiff hinges and gusts.",
            100.0 * stated,
            stated / torque_nm
        ),
        Some(stated) => {
            format!("{need}; {:.1} N cm are stated, {:.1} times that.", 100.0 * stated, stated / torque_nm)
        }
        None => format!("{need}; state torque_kg_cm in [movable.servo] to hold it against that."),
    }
}

#[cfg(test)]
mod tests {
    use nalgebra::{DMatrix, DVector};

    use super::*;

    /// Independent: a flat plate with a flap cut into lumped vortices, each at the quarter of its panel, no flow through
    /// the three quarters; moment about the hinge by the loads on the flap.
    fn lumped(chord_share: f64, alpha: f64, deflection: f64) -> f64 {
        let n = 400;
        let hinge = 1.0 - chord_share;
        let flap = (n as f64 * chord_share).round() as usize;
        let ahead = n - flap;
        let mut edges: Vec<f64> = (0..ahead).map(|i| hinge * i as f64 / ahead as f64).collect();
        edges.extend((0..=flap).map(|i| hinge + chord_share * i as f64 / flap as f64));
        let panels: Vec<(f64, f64)> = edges.windows(2).map(|e| (e[0], e[1] - e[0])).collect();
        let vortex = |(x, l): (f64, f64)| x + 0.25 * l;
        let rows = DMatrix::from_fn(n, n, |i, j| {
            let (x, l) = panels[i];
            1.0 / (2.0 * PI * (x + 0.75 * l - vortex(panels[j])))
        });
        let turned = DVector::from_fn(n, |i, _| {
            let (x, l) = panels[i];
            alpha + if x + 0.5 * l > hinge { deflection } else { 0.0 }
        });
        let strength = rows.lu().solve(&turned).unwrap();
        let moment: f64 = panels
            .iter()
            .zip(strength.iter())
            .filter(|((x, l), _)| x + 0.5 * l > hinge)
            .map(|(p, g)| -2.0 * g * (vortex(*p) - hinge))
            .sum();
        moment / (chord_share * chord_share)
    }

    #[test]
    fn hinge_moments_are_those_of_lumped_vortices() {
        for share in [0.2, 0.3, 0.5] {
            let [alpha, deflection] = hinge_moment_slopes(share);
            assert!((alpha / lumped(share, 1.0, 0.0) - 1.0).abs() < 0.02, "{share} {alpha}");
            assert!((deflection / lumped(share, 0.0, 1.0) - 1.0).abs() < 0.02, "{share} {deflection}");
        }
    }

    #[test]
    fn a_flap_of_the_whole_chord_is_a_flat_plate_about_its_leading_edge() {
        // Cm about the leading edge = -π/2 α (thin-section theory).
        let [alpha, deflection] = hinge_moment_slopes(1.0);
        assert!(
            (alpha + 0.5 * PI).abs() < 1e-5 && (deflection + 0.5 * PI).abs() < 1e-5,
            "{alpha} {deflection}"
        );
        // By incidence in closed form: with φ the hinge, -((π-φ)(cos φ - 1/2) + sin φ (1 - cos φ/2))/E².
        let e: f64 = 0.25;
        let hinge = (2.0 * e - 1.0).acos();
        let closed =
            -((PI - hinge) * (hinge.cos() - 0.5) + hinge.sin() * (1.0 - 0.5 * hinge.cos())) / (e * e);
        assert!((hinge_moment_slopes(e)[0] / closed - 1.0).abs() < 1e-5);
    }
}
