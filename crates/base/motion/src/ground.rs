//! How does the ground push? Springs, dampers and friction at the points on which the aircraft lies: good for how it
//! comes to rest and roughly how hard, not for the strength of its structure.

use numerics::Vec3;

use crate::model::ForceModel;
use crate::state::State;

/// Points that touch flat ground at the height of the launch point, and how they push.
#[derive(Debug, Clone, PartialEq)]
pub struct Ground {
    /// Where the aircraft touches, relative to the balance point, body axes, m.
    pub points_body_m: Vec<Vec3>,
    /// Stiffness of each, N/m.
    pub stiffness_n_m: f64,
    /// Damping of each while it sinks, N s/m.
    pub damping_n_s_m: f64,
    /// Friction coefficient (about 0.4 to 0.6 on grass; common practice, no source).
    pub friction: f64,
}

impl Ground {
    /// A belly landing on grass: nose, tail and wing tips, so soft that the weight presses it in by 15 mm, and damped
    /// to half the critical value.
    #[must_use]
    pub fn belly(model: &ForceModel) -> Self {
        let chord = model.aerodynamics.mean_chord_m;
        let half_span = 0.5 * model.aerodynamics.span_m;
        let low = 0.25 * chord;
        let stiffness_n_m = model.mass_kg * numerics::units::G_M_S2 / 0.015 / 2.0;
        Self {
            points_body_m: vec![
                Vec3::new(1.2 * chord, 0.0, low),
                Vec3::new(-1.5 * chord, 0.0, low),
                Vec3::new(0.0, half_span, 0.0),
                Vec3::new(0.0, -half_span, 0.0),
            ],
            stiffness_n_m,
            // Nose and tail carry together: spring 2k, damper 2c, so that half of critical is 2c = sqrt(2k m).
            damping_n_s_m: 0.5 * (2.0 * stiffness_n_m * model.mass_kg).sqrt(),
            friction: 0.5,
        }
    }

    /// Force (body axes, N) and moment about the balance point (body axes, N m) in a state.
    #[must_use]
    pub fn push(&self, state: &State) -> (Vec3, Vec3) {
        let mut force = Vec3::zeros();
        let mut moment = Vec3::zeros();
        for point in &self.points_body_m {
            let depth = state.position_ned_m.z + (state.ned_from_body * point).z;
            if depth <= 0.0 {
                continue;
            }
            let velocity =
                state.ned_from_body * (state.velocity_body_m_s + state.rates_body_rad_s.cross(point));
            // The ground never pulls, and the damper works only as far as the point is in.
            let press = (self.stiffness_n_m * depth
                + self.damping_n_s_m * velocity.z * (depth / 0.005).min(1.0))
            .max(0.0);
            let slide = velocity.x.hypot(velocity.y);
            // Smooth about zero speed, so that the step size does not rattle it.
            let grip = -self.friction * press / slide.max(0.3);
            let push_ned = Vec3::new(grip * velocity.x, grip * velocity.y, -press);
            let push = state.ned_from_body.inverse_transform_vector(&push_ned);
            force += push;
            moment += point.cross(&push);
        }
        (force, moment)
    }
}
