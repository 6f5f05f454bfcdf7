//! Where do the surfaces stand for a demand? Throws, servo lag and slew rate, and the trim that is built in: at the
//! level of the axes, as the equations of motion take them.

use aircraft::Aircraft;
use aircraft::control::{Axis, axis_throw_rad, panel_gain};

use crate::lane::Lane;
use crate::state::Controls;

/// Time constant of a servo besides its slew rate, s (some 30 ms of electronics and play; common practice, no source).
pub const SERVO_LAG_S: f64 = 0.03;

/// What servos and linkages allow, per axis [roll, pitch, yaw].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Actuators {
    /// Size of the axis deflection at full positive demand, rad.
    pub throw_positive_rad: [f64; 3],
    /// The same at full negative demand, rad.
    pub throw_negative_rad: [f64; 3],
    /// Fastest change of the axis deflection, rad/s.
    pub speed_rad_s: [f64; 3],
    /// Time constant besides that, s.
    pub lag_s: f64,
}

impl Actuators {
    /// Of an aircraft: the throws of its panels, and the slowest servo that takes part in an axis, its surface turning
    /// as far over its travel as the throw says.
    #[must_use]
    pub fn of(aircraft: &Aircraft) -> Self {
        let axes = [Axis::Roll, Axis::Pitch, Axis::Yaw];
        let throws = axes.map(|axis| axis_throw_rad(aircraft, axis));
        let mut speed_rad_s = [f64::INFINITY; 3];
        for ((axis, throw), speed) in axes.into_iter().zip(throws).zip(&mut speed_rad_s) {
            let Some(throw) = throw else {
                continue;
            };
            for movable in &aircraft.movables {
                for left in [false, true] {
                    let servo = movable.servo_of(left);
                    if panel_gain(aircraft, movable, axis, left) != 0.0
                        && servo.travel_rad > 0.0
                        && servo.speed_rad_s > 0.0
                    {
                        *speed = speed.min(servo.speed_rad_s / servo.travel_rad * throw.mean_rad());
                    }
                }
            }
        }
        Self {
            throw_positive_rad: throws.map(|t| t.map_or(0.0, |t| t.positive_demand_rad)),
            throw_negative_rad: throws.map(|t| t.map_or(0.0, |t| t.negative_demand_rad)),
            speed_rad_s,
            lag_s: SERVO_LAG_S,
        }
    }

    /// Mean throw of each axis, rad.
    #[must_use]
    pub fn throw_rad(&self) -> [f64; 3] {
        let mut mean = [0.0; 3];
        for ((m, a), b) in mean.iter_mut().zip(self.throw_positive_rad).zip(self.throw_negative_rad) {
            *m = 0.5 * (a + b);
        }
        mean
    }
}

/// Servos in motion, one flight or several.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Servos<L> {
    throw_positive: [L; 3],
    throw_negative: [L; 3],
    most: [L; 3],
    share: L,
    trim: [L; 4],
    stands: [L; 3],
}

impl<L: Lane> Servos<L> {
    pub(crate) fn beside<'a>(kind: L, dt_s: f64, of: impl Fn(usize) -> (&'a Actuators, Controls)) -> Self {
        let axis = |f: &dyn Fn(&Actuators) -> [f64; 3]| {
            let one = |j: usize| kind.each(|i, _| f(of(i).0).get(j).copied().unwrap_or(0.0));
            [one(0), one(1), one(2)]
        };
        let trim = |f: &dyn Fn(&Controls) -> f64| kind.each(|i, _| f(&of(i).1));
        Self {
            throw_positive: axis(&|a| a.throw_positive_rad),
            throw_negative: axis(&|a| a.throw_negative_rad),
            most: axis(&|a| a.speed_rad_s.map(|s| (s * dt_s).min(1e3))),
            share: kind.each(|i, _| {
                let lag_s = of(i).0.lag_s;
                if lag_s > 0.0 { 1.0 - (-dt_s / lag_s).exp() } else { 1.0 }
            }),
            trim: [
                trim(&|c| c.aileron_rad),
                trim(&|c| c.elevator_rad),
                trim(&|c| c.rudder_rad),
                trim(&|c| c.flap_rad),
            ],
            stands: [kind.same(0.0); 3],
        }
    }

    /// Where the surfaces stand, trim included: aileron, elevator, rudder, flap.
    #[inline(always)]
    pub(crate) fn controls(&self) -> [L; 4] {
        let [a, e, r] = self.stands;
        [self.trim[0] + a, self.trim[1] + e, self.trim[2] + r, self.trim[3]]
    }

    /// One step towards demands of -1 to 1; a positive demand asks for a negative deflection.
    #[inline(always)]
    pub(crate) fn step(&mut self, demand: [L; 3]) {
        for (j, d) in demand.into_iter().enumerate() {
            let d = d.between(-1.0, 1.0);
            let zero = d.same(0.0);
            let throw = self.throw_negative[j].where_or(d.below(zero), self.throw_positive[j]);
            let way = (-(d * throw) - self.stands[j]) * self.share;
            self.stands[j] = self.stands[j] + way.within(-self.most[j], self.most[j]);
        }
    }
}
