//! What do the coefficients of the whole aircraft not say? How the halves of the wing differ, where the slipstream
//! goes, what the propeller turns, whether the ground is felt.

use aircraft::Aircraft;
use aircraft::control::{Axis, panel_gain};
use aircraft::drive::Drive;
use aircraft::surface::{Role, Surface};
use numerics::Vec3;

/// Details beside the coefficients. The default has none of them: then the motion is that of the coefficients alone.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Details {
    /// How much larger the angle of attack of the right half of the wing is than that of the left, rad, from a warp
    /// that the trim has taken out below the stall: it only decides which half stalls first.
    pub asymmetry_rad: f64,
    /// Where the slipstream meets surfaces that steer.
    pub wash: Option<Wash>,
    /// What turns.
    pub spin: Option<Spin>,
    /// Whether nearness of the ground takes away induced drag.
    pub ground_effect: bool,
    /// Fall of the pack's open voltage from full to empty over that when full, 0 to 1: thrust falls as its square.
    pub pack_falls: f64,
}

/// Surfaces that steer in the slipstream, all propellers together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wash {
    /// Area of all propeller discs, m².
    pub disk_area_m2: f64,
    /// Share of the elevator's effect that comes from its part in the slipstream, 0 to 1.
    pub elevator_share: f64,
    /// The same of the rudder.
    pub rudder_share: f64,
}

/// Turning parts of the drive.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spin {
    /// Propellers that turn clockwise seen from behind less those that turn the other way, over their number: 1 for
    /// one ordinary propeller, -1 for one turning the other way, 0 for a pair that turns apart.
    pub sense: f64,
    /// Moment of inertia of all propellers and rotors, kg m².
    pub inertia_kg_m2: f64,
    /// Power on the shafts over power from the pack, 0 to 1.
    pub efficiency: f64,
}

/// Difference between the halves of a carefully built wing, rad: 0.3 degrees (common practice, no source).
pub const BUILT_ASYMMETRY_RAD: f64 = 0.3 * numerics::units::RAD_PER_DEG;
/// Fall of a cell's open voltage over the flat middle of its discharge, 0.5 V of 4.1 (common practice, no source).
const PACK_FALLS: f64 = 0.12;
/// Shaft power over pack power of a small electric drive (0.7 to 0.8: common practice, no source).
const EFFICIENCY: f64 = 0.75;

impl Details {
    /// Details of an aircraft as its file describes it: half a degree or less of warp, the tail's share in the
    /// slipstream by its geometry, the propeller's inertia by its size; every propeller turning clockwise seen from
    /// behind, pairs apart.
    #[must_use]
    pub fn of(aircraft: &Aircraft) -> Self {
        Self {
            asymmetry_rad: BUILT_ASYMMETRY_RAD,
            wash: aircraft.drive.as_ref().and_then(|drive| Wash::of(aircraft, drive)),
            spin: aircraft.drive.as_ref().map(Spin::of),
            ground_effect: true,
            pack_falls: if aircraft.drive.is_some() { PACK_FALLS } else { 0.0 },
        }
    }
}

impl Wash {
    /// By geometry: the stream of each propeller runs straight back along the thrust line with the radius of the disc
    /// shrunk by the root of two (momentum theory, far behind); what of the moved panels lies in it counts. `None` where
    /// nothing does or the discs have no size.
    #[must_use]
    pub fn of(aircraft: &Aircraft, drive: &Drive) -> Option<Self> {
        let radius_m = 0.5 * drive.propeller.diameter_m;
        let disk_area_m2 = std::f64::consts::PI * radius_m * radius_m * drive.hubs_m.len().max(1) as f64;
        if !(disk_area_m2 > 0.0 && disk_area_m2.is_finite()) {
            return None;
        }
        let stream = Stream {
            hubs_m: &drive.hubs_m,
            along: drive.pull_direction.try_normalize(1e-9).map_or(Vec3::x(), |d| -d),
            radius_m: radius_m / std::f64::consts::SQRT_2,
        };
        let share = |axis: Axis| {
            let (mut inside, mut all) = (0.0, 0.0);
            for movable in &aircraft.movables {
                let Some(surface) = aircraft.surfaces.get(movable.surface) else {
                    continue;
                };
                // Ailerons and elevons sit outside the stream of what pulls in the middle; wings are left out.
                if surface.role == Role::Wing {
                    continue;
                }
                for left in [false, true] {
                    if left && !surface.mirrored {
                        continue;
                    }
                    let gain = panel_gain(aircraft, movable, axis, left).abs();
                    let (part, whole) = stream.meets(surface, [movable.inner_m, movable.outer_m], left);
                    inside += gain * part;
                    all += gain * whole;
                }
            }
            if all > 0.0 { inside / all } else { 0.0 }
        };
        let wash = Self { disk_area_m2, elevator_share: share(Axis::Pitch), rudder_share: share(Axis::Yaw) };
        (wash.elevator_share > 0.0 || wash.rudder_share > 0.0).then_some(wash)
    }
}

/// The slipstreams of all propellers.
struct Stream<'a> {
    hubs_m: &'a [Vec3],
    along: Vec3,
    radius_m: f64,
}

impl Stream<'_> {
    /// Area of a panel between two places along its surface that lies in the streams, and all of it, m².
    fn meets(&self, surface: &Surface, ends_m: [f64; 2], left: bool) -> (f64, f64) {
        const PIECES: usize = 40;
        let (mut inside, mut all) = (0.0, 0.0);
        for i in 0..PIECES {
            let along_m = ends_m[0] + (ends_m[1] - ends_m[0]) * (i as f64 + 0.5) / PIECES as f64;
            let Some(mut at) = leading_edge(surface, along_m) else {
                continue;
            };
            let chord = surface.chord_at(along_m);
            at.x += 0.75 * chord;
            if left {
                at.y = -at.y;
            }
            all += chord;
            let met = self.hubs_m.iter().any(|hub| {
                let apart = at - hub;
                let behind = apart.dot(&self.along);
                behind > 0.0 && (apart - self.along * behind).norm() < self.radius_m
            });
            if met {
                inside += chord;
            }
        }
        (inside, all)
    }
}

/// Leading edge at a place along a surface, builder's frame, m; the ends go on straight.
fn leading_edge(surface: &Surface, along_m: f64) -> Option<Vec3> {
    let pair = surface
        .stations
        .windows(2)
        .find(|w| matches!(w, [_, b] if along_m <= b.along_m))
        .or_else(|| surface.stations.windows(2).last())?;
    let [a, b] = pair else {
        return None;
    };
    let length = b.along_m - a.along_m;
    let share = if length > 0.0 { (along_m - a.along_m) / length } else { 0.0 };
    Some(a.leading_edge_m + (b.leading_edge_m - a.leading_edge_m) * share)
}

impl Spin {
    /// Of a drive by its size: a blade weighs as a molded 10-inch propeller of 15 g does, scaled with the cube of the
    /// diameter, its radius of gyration 0.45 of the radius (common practice, no source); rotors add a fifth.
    #[must_use]
    pub fn of(drive: &Drive) -> Self {
        let propellers = drive.hubs_m.len().max(1);
        let size = drive.propeller.diameter_m / 0.254;
        let blades = f64::from(drive.propeller.blades.max(1)) / 2.0;
        let mass_kg = 0.015 * size.powi(3) * blades;
        let gyration_m = 0.45 * 0.5 * drive.propeller.diameter_m;
        let one = 1.2 * mass_kg * gyration_m * gyration_m;
        Self {
            sense: if propellers.is_multiple_of(2) { 0.0 } else { 1.0 / propellers as f64 },
            inertia_kg_m2: one * propellers as f64,
            efficiency: EFFICIENCY,
        }
    }
}
