//! How does the ground push? Springs, dampers and friction at the points on which the aircraft lies or rolls: good for
//! how it comes to rest, noses over and roughly how hard, not for the strength of its structure.

use numerics::Vec3;
use numerics::units::G_M_S2;

use crate::lane::Lane;
use crate::lane::math::{V3, add, cross, rotation, times, transposed_times};
use crate::model::ForceModel;
use crate::state::State;

/// A point that touches flat ground at the height of the launch point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contact {
    /// Where it is relative to the balance point, body axes, m.
    pub at_body_m: Vec3,
    /// Stiffness, N/m.
    pub stiffness_n_m: f64,
    /// Damping while it sinks, N s/m.
    pub damping_n_s_m: f64,
    /// Friction coefficient across its way, and along it where it does not roll (about 0.4 to 0.6 on grass; common
    /// practice, no source).
    pub friction: f64,
    /// Friction coefficient along the body's x axis: that of a rolling wheel, else the same.
    pub rolling: f64,
}

/// All the points.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Ground {
    /// The points; at most [`MOST_CONTACTS`] count.
    pub contacts: Vec<Contact>,
}

/// As many points as are looked at.
pub const MOST_CONTACTS: usize = 8;
/// Depth to which the weight presses a belly into grass, m (judgment, no source).
const BELLY_SINKS_M: f64 = 0.015;
/// Depth over which the damper comes to work, m.
const DAMPER_DEPTH_M: f64 = 0.005;
/// Speed below which friction fades, m/s, so that the step does not rattle it.
const CREEP_M_S: f64 = 0.3;

impl Ground {
    /// A belly landing on grass: nose, tail and wing tips, so soft that the weight presses it in by 15 mm, and damped
    /// to half the critical value.
    #[must_use]
    pub fn belly(model: &ForceModel) -> Self {
        let chord = model.aerodynamics.mean_chord_m;
        let half_span = 0.5 * model.aerodynamics.span_m;
        let low = 0.25 * chord;
        let stiffness_n_m = model.mass_kg * G_M_S2 / BELLY_SINKS_M / 2.0;
        let at = [
            Vec3::new(1.2 * chord, 0.0, low),
            Vec3::new(-1.5 * chord, 0.0, low),
            Vec3::new(0.0, half_span, 0.0),
            Vec3::new(0.0, -half_span, 0.0),
        ];
        let contacts = at
            .into_iter()
            .map(|at_body_m| Contact {
                at_body_m,
                stiffness_n_m,
                // Half of critical for what the point feels of the mass.
                damping_n_s_m: (stiffness_n_m * felt_mass_kg(model, at_body_m)).sqrt(),
                friction: 0.5,
                rolling: 0.5,
            })
            .collect();
        Self { contacts }
    }

    /// Belly, tips and wheels: the belly as above, and wheels at the given places (body axes from the balance point,
    /// m) whose rolling resistance over the load is `rolling`.
    #[must_use]
    pub fn wheels(model: &ForceModel, wheels_body_m: &[Vec3], rolling: f64) -> Self {
        let mut ground = Self::belly(model);
        let stiffness_n_m = model.mass_kg * G_M_S2 / BELLY_SINKS_M / wheels_body_m.len().max(1) as f64;
        for at_body_m in wheels_body_m {
            ground.contacts.push(Contact {
                at_body_m: *at_body_m,
                stiffness_n_m,
                damping_n_s_m: (stiffness_n_m * felt_mass_kg(model, *at_body_m)).sqrt(),
                friction: 0.7,
                rolling,
            });
        }
        ground
    }

    /// Force (body axes, N) and moment about the balance point (body axes, N m) in a state.
    #[must_use]
    pub fn push(&self, state: &State) -> (Vec3, Vec3) {
        let q = state.ned_from_body.quaternion();
        let points = Points::beside(0.0, |_| self);
        let matrix = rotation([q.w, q.i, q.j, q.k]);
        let [force, moment] = points.push(
            state.position_ned_m.z,
            &matrix,
            state.velocity_body_m_s.into(),
            state.rates_body_rad_s.into(),
        );
        (force.into(), moment.into())
    }

    /// Height of the balance point at which the lowest point just touches, m, at an attitude.
    #[must_use]
    pub fn standing_height_m(&self, ned_from_body: &numerics::Rotation) -> f64 {
        self.contacts.iter().map(|c| (ned_from_body * c.at_body_m).z).fold(0.0, f64::max)
    }
}

/// Mass that a push along z at a point feels, kg: of the body that it shifts and turns.
pub(crate) fn felt_mass_kg(model: &ForceModel, at_body_m: Vec3) -> f64 {
    let i = &model.inertia_kg_m2;
    let turned = at_body_m.y.powi(2) / i[(0, 0)] + at_body_m.x.powi(2) / i[(1, 1)];
    1.0 / (1.0 / model.mass_kg + turned)
}

#[derive(Debug, Clone, Copy)]
struct Point<L> {
    at: V3<L>,
    stiffness: L,
    damping: L,
    friction: L,
    rolling: L,
}

/// The points of one flight or several.
#[derive(Debug, Clone)]
pub(crate) struct Points<L> {
    points: Vec<Point<L>>,
    /// Largest distance of a point from the balance point, m.
    reach: L,
}

impl<L: Lane> Points<L> {
    pub(crate) fn beside<'a>(kind: L, of: impl Fn(usize) -> &'a Ground) -> Self {
        let count = (0..L::WIDTH).map(|i| of(i).contacts.len()).max().unwrap_or(0).min(MOST_CONTACTS);
        let point = |n: usize| {
            let number = |f: &dyn Fn(&Contact) -> f64| kind.each(|i, _| of(i).contacts.get(n).map_or(0.0, f));
            Point {
                at: [number(&|c| c.at_body_m.x), number(&|c| c.at_body_m.y), number(&|c| c.at_body_m.z)],
                stiffness: number(&|c| c.stiffness_n_m),
                damping: number(&|c| c.damping_n_s_m),
                friction: number(&|c| c.friction),
                rolling: number(&|c| c.rolling),
            }
        };
        let reach = kind.each(|i, _| of(i).contacts.iter().map(|c| c.at_body_m.norm()).fold(0.0, f64::max));
        Self { points: (0..count).map(point).collect(), reach }
    }

    /// Force and moment, body axes, at a height (down, m) of the balance point.
    #[inline(always)]
    pub(crate) fn push(
        &self,
        down: L,
        ned_from_body: &[V3<L>; 3],
        velocity: V3<L>,
        turning: V3<L>,
    ) -> [V3<L>; 2] {
        let zero = down.same(0.0);
        let mut force = [zero; 3];
        let mut moment = [zero; 3];
        if !down.any((-down).below(self.reach)) {
            return [force, moment];
        }
        let forward = [ned_from_body[0][0], ned_from_body[1][0]];
        let flat = (forward[0] * forward[0] + forward[1] * forward[1]).sqrt().greater(zero.same(1e-6));
        let (ahead_n, ahead_e) = (forward[0] / flat, forward[1] / flat);
        for point in &self.points {
            let depth = down + crate::lane::math::dot(ned_from_body[2], point.at);
            let touches = zero.below(depth);
            if !depth.any(touches) {
                continue;
            }
            let v = times(ned_from_body, add(velocity, cross(turning, point.at)));
            let worked = (depth * (1.0 / DAMPER_DEPTH_M)).between(0.0, 1.0);
            // The ground never pulls, and the damper works only as far as the point is in.
            let press = (point.stiffness * depth + point.damping * v[2] * worked)
                .greater(zero)
                .where_or(touches, zero);
            let along = v[0] * ahead_n + v[1] * ahead_e;
            let across = v[1] * ahead_n - v[0] * ahead_e;
            let slide = (along * along + across * across).sqrt().greater(zero.same(CREEP_M_S));
            let grip = press / slide;
            let (back, side) = (-(grip * point.rolling * along), -(grip * point.friction * across));
            let ned = [back * ahead_n - side * ahead_e, back * ahead_e + side * ahead_n, -press];
            let push = transposed_times(ned_from_body, ned);
            force = add(force, push);
            moment = add(moment, cross(point.at, push));
        }
        [force, moment]
    }
}
