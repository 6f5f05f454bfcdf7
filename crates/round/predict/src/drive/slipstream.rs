//! What does the propeller's slipstream do to the tail? How much of it lies inside, how much faster the air is there,
//! what that makes of elevator, rudder and the neutral point.
//!
//! Momentum theory: the tube of each propeller runs straight back along the thrust line, its speed and radius those of
//! the distance behind (or ahead of) the disc. Left out: the swirl, and that wing and body bend and break the tube. The
//! neutral point moves by the tail's share in the faster air and by the force across the propeller in oblique flow.

use aircraft::Aircraft;
use aircraft::control::{Axis, panel_gain};
use aircraft::drive::Drive;
use aircraft::surface::{Role, Surface};
use numerics::Vec3;
use numerics::units::RAD_S_PER_RPM;

use crate::drive::operating::Running;
use crate::drive::powered::Powered;
use crate::drive::propeller::{induced_m_s, slipstream};
use crate::lattice::{ALONG, Solved, UP};
use crate::performance::Flying;
use crate::prediction::Outcome;

/// Pieces into which a panel is cut across.
const PIECES: u32 = 60;

/// The tail in the slipstream at one speed and throttle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wash {
    /// Airspeed, m/s.
    pub airspeed_m_s: f64,
    /// Throttle, 0 to 1.
    pub throttle: f64,
    /// Thrust of all propellers, N.
    pub thrust_n: f64,
    /// Speed that the slipstream adds at the tail, mean over the tail's area in it, m/s; zero where none lies in it.
    pub added_m_s: f64,
    /// Share of the horizontal tail's area (as projected) that lies in the slipstream, 0 to 1; absent without one.
    pub horizontal_share: Option<f64>,
    /// The same of the vertical tail.
    pub vertical_share: Option<f64>,
    /// Mean dynamic pressure at the horizontal tail over that of free flight; absent without one.
    pub horizontal_pressure: Option<f64>,
    /// The same at the vertical tail.
    pub vertical_pressure: Option<f64>,
    /// Effect of the elevator over that without slipstream; absent without one.
    pub elevator_factor: Option<f64>,
    /// Effect of the rudder over that without slipstream; absent without one.
    pub rudder_factor: Option<f64>,
}

/// What the slipstream does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slipstream {
    /// In level flight at cruise.
    pub cruise: Wash,
    /// At full throttle and 1.2 times stall: a launch or a go-around.
    pub slow: Wash,
    /// Neutral point with the power of level flight at cruise, controls fixed, builder's frame, m.
    pub neutral_point_x_m: f64,
    /// Its part that comes from the tail in the slipstream, m (positive aft).
    pub by_tail_m: f64,
    /// Its part that comes from the force across the propellers, m (positive aft).
    pub by_propeller_m: f64,
}

/// A piece of a surface.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Piece {
    /// Quarter chord, builder's frame, m.
    at_m: Vec3,
    area_m2: f64,
    /// Cosine squared of its dihedral: the part that works as a horizontal surface.
    level: f64,
}

/// Pieces of a surface between two places along it, both sides of a mirrored one.
fn pieces(surface: &Surface, inner_m: f64, outer_m: f64) -> Vec<Piece> {
    let width = (outer_m - inner_m) / f64::from(PIECES);
    (0..PIECES)
        .flat_map(|i| {
            let along = inner_m + (f64::from(i) + 0.5) * width;
            let chord = surface.chord_at(along);
            let at_m = surface.leading_edge_at(along) + Vec3::new(0.25 * chord, 0.0, 0.0);
            let run =
                surface.leading_edge_at(along + 0.5 * width) - surface.leading_edge_at(along - 0.5 * width);
            let across = run.y.hypot(run.z);
            let level = if across > 0.0 { (run.y / across).powi(2) } else { 1.0 };
            let piece = Piece { at_m, area_m2: chord * width, level };
            let mirrored = Piece { at_m: Vec3::new(at_m.x, -at_m.y, at_m.z), ..piece };
            std::iter::once(piece).chain(surface.mirrored.then_some(mirrored))
        })
        .collect()
}

/// The tubes of all propellers at one speed and throttle.
struct Tubes<'a> {
    drive: &'a Drive,
    induced_m_s: f64,
    airspeed_m_s: f64,
}

impl Tubes<'_> {
    /// Speed added at a place, m/s: that of the strongest tube it lies in.
    fn added_m_s(&self, at_m: Vec3) -> f64 {
        let pull = self.drive.pull_direction;
        let back = if pull.norm() > 0.0 { -pull.normalize() } else { Vec3::x() };
        self.drive
            .hubs_m
            .iter()
            .map(|hub| {
                let from_hub = at_m - hub;
                let behind = from_hub.dot(&back);
                let beside = (from_hub - back * behind).norm();
                let (added, radius) =
                    slipstream(self.induced_m_s, self.airspeed_m_s, self.drive.propeller.diameter_m, behind);
                if beside <= radius { added } else { 0.0 }
            })
            .fold(0.0, |most, v| if v.abs() > f64::abs(most) { v } else { most })
    }

    /// Share of an area inside, mean dynamic pressure over that of free flight, and mean added speed inside; `weight` is
    /// the part of a piece's area that counts. Absent without area.
    fn over(&self, pieces: &[Piece], weight: impl Fn(&Piece) -> f64) -> Option<(f64, f64, f64)> {
        let (mut area, mut inside, mut pressure, mut added) = (0.0, 0.0, 0.0, 0.0);
        for piece in pieces {
            let counts = piece.area_m2 * weight(piece);
            let more = self.added_m_s(piece.at_m);
            area += counts;
            pressure += counts * (1.0 + more / self.airspeed_m_s).powi(2);
            if more != 0.0 {
                inside += counts;
                added += counts * more;
            }
        }
        (area > 1e-6)
            .then(|| (inside / area, pressure / area, if inside > 0.0 { added / inside } else { 0.0 }))
    }
}

fn is_tail(role: Role) -> bool {
    matches!(role, Role::Tailplane | Role::Fin | Role::VTail)
}

fn wash(aircraft: &Aircraft, drive: &Drive, running: &Running, airspeed_m_s: f64, throttle: f64) -> Wash {
    let thrust_n = running.at(throttle, airspeed_m_s).thrust_n;
    let each_n = thrust_n / drive.hubs_m.len().max(1) as f64;
    let diameter_m = drive.propeller.diameter_m;
    let tubes = Tubes {
        drive,
        induced_m_s: induced_m_s(each_n, airspeed_m_s, diameter_m, running.density_kg_m3),
        airspeed_m_s,
    };
    let tail: Vec<Piece> = aircraft
        .surfaces
        .iter()
        .filter(|s| is_tail(s.role))
        .flat_map(|s| {
            let from = s.stations.first().map_or(0.0, |s| s.along_m);
            pieces(s, from, from + s.length_m())
        })
        .collect();
    let level = |p: &Piece| p.level;
    let upright = |p: &Piece| 1.0 - p.level;
    let (horizontal, vertical) = (tubes.over(&tail, level), tubes.over(&tail, upright));
    let moved = |axis: Axis, weight: &dyn Fn(&Piece) -> f64| {
        let parts: Vec<Piece> = aircraft
            .movables
            .iter()
            .filter(|m| [false, true].iter().any(|left| panel_gain(aircraft, m, axis, *left) != 0.0))
            .filter_map(|m| Some((m, aircraft.surfaces.get(m.surface)?)))
            .filter(|(_, s)| is_tail(s.role))
            .flat_map(|(m, s)| pieces(s, m.inner_m, m.outer_m))
            .collect();
        tubes.over(&parts, weight).map(|(_, pressure, _)| pressure)
    };
    Wash {
        airspeed_m_s,
        throttle,
        thrust_n,
        added_m_s: tubes.over(&tail, |_| 1.0).map_or(0.0, |(_, _, added)| added),
        horizontal_share: horizontal.map(|h| h.0),
        vertical_share: vertical.map(|v| v.0),
        horizontal_pressure: horizontal.map(|h| h.1),
        vertical_pressure: vertical.map(|v| v.1),
        elevator_factor: moved(Axis::Pitch, &level),
        rudder_factor: moved(Axis::Yaw, &upright),
    }
}

/// Slopes of lift and of the pitching moment about a balance point by angle of attack that the tail has behind the wing: the
/// strips of the lattice, each with its lift at its quarter chord.
fn tail_slopes(solved: &Solved, cg_m: Vec3) -> (f64, f64) {
    let a = &solved.aerodynamics;
    let (sin, cos) = solved.reference_alpha_rad.sin_cos();
    let (mut lift, mut moment) = (0.0, 0.0);
    for strip in solved.strips.iter().filter(|s| solved.role(s).is_some_and(is_tail)) {
        let slope = |motion: usize| strip.slopes.get(motion).copied().unwrap_or(0.0);
        let up = (slope(UP) * cos - slope(ALONG) * sin) * strip.chord_m * strip.width_m * strip.upward;
        lift += up / a.area_m2;
        moment += up * (cg_m.x - strip.quarter_m.x) / (a.area_m2 * a.mean_chord_m);
    }
    (lift, moment)
}

/// The slipstream on the tail in level flight at cruise and at full throttle near stall. `neutral_point_x_m` is that
/// without power, about which coefficients of `flying` are not: those are about the balance point `cg_m`.
///
/// # Errors
/// When the drive does not hold level flight at cruise.
#[allow(clippy::too_many_arguments, reason = "the whole of what is known of the aircraft in this air")]
pub fn predict(
    aircraft: &Aircraft,
    drive: &Drive,
    running: &Running,
    flying: &Flying,
    cg_m: Vec3,
    solved: &Solved,
    cruise_m_s: f64,
    neutral_point_x_m: f64,
) -> Outcome<Slipstream> {
    let level = Powered { running, flying }.cruise(cruise_m_s)?;
    let cruise = wash(aircraft, drive, running, cruise_m_s, level.throttle);
    let slow = wash(aircraft, drive, running, 1.2 * flying.stall_m_s(), 1.0);
    let a = &flying.aerodynamics;
    let d = &a.derivatives;
    let (tail_lift, tail_moment) = if cruise.horizontal_pressure.is_some() {
        let factor = aircraft.flown.lift_factor.map_or(1.0, |f| f.value);
        let (lift, moment) = tail_slopes(solved, cg_m);
        (factor * lift, factor * moment)
    } else {
        (0.0, 0.0)
    };
    let more = cruise.horizontal_pressure.map_or(0.0, |p| p - 1.0);
    let at = running.at(level.throttle, cruise_m_s);
    let each = running.blades.across_n_per_rad(
        at.rpm * RAD_S_PER_RPM,
        cruise_m_s,
        running.density_kg_m3,
        running.viscosity_pa_s,
    );
    let pressure_area_n = flying.pressure_area_n(cruise_m_s);
    let (mut lift, mut moment) = (0.0, 0.0);
    for hub in &drive.hubs_m {
        lift += each / pressure_area_n;
        moment += each * (cg_m.x - hub.x) / (pressure_area_n * a.mean_chord_m);
    }
    let neutral = |lift: f64, moment: f64| -a.mean_chord_m * (d.Cma + moment) / (d.CLa + lift);
    let (off, with_tail, with_both) = (
        neutral(0.0, 0.0),
        neutral(more * tail_lift, more * tail_moment),
        neutral(more * tail_lift + lift, more * tail_moment + moment),
    );
    Ok(Slipstream {
        cruise,
        slow,
        neutral_point_x_m: neutral_point_x_m + with_both - off,
        by_tail_m: with_tail - off,
        by_propeller_m: with_both - with_tail,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drive::operating::tests::{drive, running};
    use aircraft::section::{Section, Shape};
    use aircraft::surface::Station;

    fn plate(role: Role, mirrored: bool, from: Vec3, to: Vec3, chord_m: f64) -> Surface {
        let section = Section {
            name: "0010".to_owned(),
            shape: Shape::Naca4 { camber: 0.0, camber_at: 0.0, thickness: 0.1 },
        };
        let station = |at: Vec3, along_m: f64| Station {
            along_m,
            leading_edge_m: at,
            chord_m,
            twist_rad: 0.0,
            section: section.clone(),
        };
        Surface {
            name: "plate".to_owned(),
            role,
            mirrored,
            stations: vec![station(from, 0.0), station(to, (to - from).norm())],
        }
    }

    #[test]
    fn the_tail_inside_the_tube_by_hand() {
        // A tailplane of 0.15 m chord and 0.25 m half span, 0.9 m behind a propeller of 0.254 m on its plane, 15 m/s
        // and 10 N: 4.1962 m/s at the disc (actuator disc), twice that but 1 % at the tail, so 8.350 m/s, and the tube
        // has 0.127 sqrt(19.196/23.350) = 0.11515 m of radius: 46.06 % of the half span, at (23.350/15)² = 2.4232 of
        // the pressure, in all 1 + 0.4606 x 1.4232 = 1.6555.
        let d = drive();
        let tubes =
            Tubes { drive: &d, induced_m_s: induced_m_s(10.0, 15.0, 0.254, 1.225), airspeed_m_s: 15.0 };
        let hub = d.hubs_m[0];
        let root = hub + Vec3::new(0.9 - 0.0375, 0.0, 0.0);
        let tail = plate(Role::Tailplane, true, root, root + Vec3::new(0.0, 0.25, 0.0), 0.15);
        let (share, pressure, added) = tubes.over(&pieces(&tail, 0.0, 0.25), |p| p.level).unwrap();
        let x: f64 = 0.9;
        let by_hand = 4.1962 * (1.0 + x / x.hypot(0.127));
        assert!((added / by_hand - 1.0).abs() < 1e-4, "{added} {by_hand}");
        // The share is known to one piece of 60.
        assert!((share - 0.4606).abs() < 1.0 / 60.0, "{share}");
        assert!((pressure - (1.0 + share * ((15.0 + by_hand) / 15.0).powi(2) - share)).abs() < 1e-4);
        // A high tail, half a meter above the line, is out of it; a fin has no level area.
        let high = plate(
            Role::Tailplane,
            true,
            root + Vec3::new(0.0, 0.0, 0.5),
            root + Vec3::new(0.0, 0.25, 0.5),
            0.15,
        );
        let out = tubes.over(&pieces(&high, 0.0, 0.25), |p| p.level).unwrap();
        assert!(out.0 == 0.0 && (out.1 - 1.0).abs() < 1e-12);
        let fin = plate(Role::Fin, false, root, root + Vec3::new(0.0, 0.0, 0.2), 0.15);
        assert!(tubes.over(&pieces(&fin, 0.0, 0.2), |p| p.level).is_none());
        assert!(tubes.over(&pieces(&fin, 0.0, 0.2), |p| 1.0 - p.level).is_some());
    }

    #[test]
    fn a_stopped_drive_washes_nothing() {
        let d = drive();
        let r = running(&d);
        let tubes = Tubes { drive: &d, induced_m_s: 0.0, airspeed_m_s: 12.0 };
        assert!(tubes.added_m_s(d.hubs_m[0] + Vec3::new(1.0, 0.0, 0.0)) == 0.0);
        // And a running one adds less the faster it flies.
        let added = |v: f64| {
            let thrust = r.at(0.7, v).thrust_n;
            induced_m_s(thrust, v, 0.254, 1.225)
        };
        assert!(added(8.0) > added(14.0) && added(14.0) > 0.0);
    }
}
