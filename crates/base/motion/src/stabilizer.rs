//! What does the controller make of the sticks, or of its task? Straight through, a rate loop, or an attitude loop
//! around it; wings level in a climb after a launch; homeward.
//!
//! The same loops fly one aircraft or several side by side.

use aircraft::controller::{Acts, Controller, Gains};

use crate::handling::Handling;
use crate::lane::Lane;
use crate::lane::math::{atan2, sin_cos};

/// How the controller is set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Gains of the rate loops [roll, pitch, yaw].
    pub gains: [Gains; 3],
    /// Turning rate demanded per angle of error in level, 1/s.
    pub level_per_s: f64,
    /// Largest rates that the sticks command [roll, pitch, yaw], rad/s; zero: no limit in level.
    pub largest_rate_rad_s: [f64; 3],
    /// Largest angles that the sticks command [roll, pitch], rad.
    pub largest_angle_rad: [f64; 2],
    /// Axis throws at full demand [roll, pitch, yaw], rad; zero where nothing answers.
    pub throw_rad: [f64; 3],
    /// Airspeed for which the turn rates of a banked turn are reckoned, m/s: the controller need not have a sensor.
    pub speed_m_s: f64,
    /// Iterations of the loop, Hz.
    pub loop_hz: f64,
    /// Delay from gyro to servo pulse, s.
    pub delay_s: f64,
    /// Time constant of the smoothing of the gyro, s; zero where its delay is in `delay_s`.
    pub filter_s: f64,
}

impl Settings {
    /// As an aircraft's file sets it. Gains come from `given`, else from the file, else from how the aircraft answers:
    /// feed-forward the inverse of the steady rate per deflection, proportional a third of it, integral so that it takes
    /// over in half a second.
    #[must_use]
    pub fn of(controller: &Controller, handling: &Handling, given: [Option<Gains>; 3]) -> Self {
        let mut gains = [Gains::default(); 3];
        for (axis, gain) in gains.iter_mut().enumerate() {
            let rate = handling.rate_per_rad_s.get(axis).copied().unwrap_or(0.0);
            let first = if rate > 1e-3 {
                let share = if axis == 2 { 0.3 } else { 1.0 };
                Gains {
                    feed_forward_s: share / rate,
                    proportional_s: 0.35 * share / rate,
                    integral: if axis == 2 { 0.0 } else { 0.7 / rate },
                    derivative_s2: 0.0,
                }
            } else {
                Gains::default()
            };
            *gain = given
                .get(axis)
                .copied()
                .flatten()
                .or_else(|| controller.gains.get(axis).copied().flatten())
                .unwrap_or(first);
        }
        Self {
            gains,
            level_per_s: if controller.level_per_s > 0.0 { controller.level_per_s } else { 4.0 },
            largest_rate_rad_s: controller.largest_rate_rad_s,
            largest_angle_rad: controller.largest_angle_rad,
            throw_rad: handling.throw_rad,
            speed_m_s: handling.speed_m_s,
            loop_hz: controller.loop_hz,
            delay_s: controller.delay_s,
            filter_s: 0.0,
        }
    }
}

/// What the controller is about.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Task {
    /// Sticks of -1 to 1 [roll, pitch, yaw], acting as told: held still, they are a pilot who only watches.
    Sticks {
        /// How they act.
        acts: Acts,
        /// Where they stand.
        sticks: [f64; 3],
    },
    /// Assisted launch: wings level at a pitch attitude.
    AssistedLaunch {
        /// Pitch attitude of the climb, rad.
        pitch_rad: f64,
    },
    /// Return flight: towards the launch point at a pitch attitude, banking no more than told, then circling it.
    Return {
        /// Pitch attitude, rad.
        pitch_rad: f64,
        /// Largest bank, rad.
        bank_rad: f64,
    },
}

/// What the controller reads of its own sensors, in its own axes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading<L> {
    /// Roll angle, rad.
    pub roll_rad: L,
    /// Pitch angle, rad.
    pub pitch_rad: L,
    /// Heading, rad, and the place north and east of the launch point, m: for the return flight only.
    pub course: Course<L>,
    /// Rates, rad/s.
    pub rates_rad_s: [L; 3],
}

/// Where it points and where it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Course<L> {
    /// North and east components of the nose's direction (any length).
    pub nose: [L; 2],
    /// Place north and east of the launch point, m.
    pub place_m: [L; 2],
}

/// Gains over lanes.
#[derive(Debug, Clone, Copy)]
struct AxisGains<L> {
    feed_forward: L,
    proportional: L,
    integral: L,
    derivative: L,
    throw: L,
    per_throw: L,
    most: L,
}

/// The controller's loops.
#[derive(Debug, Clone, Copy)]
pub struct Stabilizer<L> {
    axes: [AxisGains<L>; 3],
    level: L,
    largest_angle: [L; 2],
    turn_per_tangent: L,
    filter: L,
    gathered: [L; 3],
    before: [L; 3],
    smooth: [L; 3],
    acts: Acts,
}

impl Stabilizer<f64> {
    /// The loops of one aircraft.
    #[must_use]
    pub fn new(settings: &Settings) -> Self {
        Self::beside(0.0, |_| settings)
    }

    /// Largest rates that the sticks command, rad/s.
    #[must_use]
    pub fn largest_rate_rad_s(&self) -> [f64; 3] {
        self.axes.map(|a| a.most)
    }

    /// Largest angles that the sticks command [roll, pitch], rad.
    #[must_use]
    pub fn largest_angle_rad(&self) -> [f64; 2] {
        self.largest_angle
    }
}

impl<L: Lane> Stabilizer<L> {
    /// The loops of several aircraft side by side.
    pub(crate) fn beside<'a>(kind: L, of: impl Fn(usize) -> &'a Settings) -> Self {
        let number = |f: &dyn Fn(&Settings) -> f64| kind.each(|i, _| f(of(i)));
        let axis = |j: usize| {
            let gain = |f: &dyn Fn(&Gains) -> f64| number(&|s| s.gains.get(j).map_or(0.0, f));
            let throw = number(&|s| s.throw_rad.get(j).copied().unwrap_or(0.0).max(0.0));
            AxisGains {
                feed_forward: gain(&|g| g.feed_forward_s),
                proportional: gain(&|g| g.proportional_s),
                integral: gain(&|g| g.integral),
                derivative: gain(&|g| g.derivative_s2),
                throw,
                per_throw: throw.each(|_, t| if t > 0.0 { 1.0 / t } else { 0.0 }),
                most: number(&|s| s.largest_rate_rad_s.get(j).copied().unwrap_or(0.0)),
            }
        };
        let zero = kind.same(0.0);
        Self {
            axes: [axis(0), axis(1), axis(2)],
            level: number(&|s| s.level_per_s),
            largest_angle: [number(&|s| s.largest_angle_rad[0]), number(&|s| s.largest_angle_rad[1])],
            turn_per_tangent: number(&|s| numerics::units::G_M_S2 / s.speed_m_s),
            filter: number(&|s| s.filter_s),
            gathered: [zero; 3],
            before: [zero; 3],
            smooth: [zero; 3],
            acts: Acts::Direct,
        }
    }

    /// Demands to the mixer, -1 to 1 [roll, pitch, yaw], for a task, one loop of `dt_s` later.
    #[inline(always)]
    pub fn pursue(&mut self, task: &Task, reading: &Reading<L>, dt_s: f64) -> [L; 3] {
        let kind = reading.roll_rad;
        let zero = kind.same(0.0);
        match *task {
            Task::Sticks { acts, sticks: [x, y, z] } => {
                self.demand(acts, [kind.same(x), kind.same(y), kind.same(z)], reading, dt_s)
            }
            Task::AssistedLaunch { pitch_rad } => self.hold([zero, kind.same(pitch_rad)], reading, dt_s),
            Task::Return { pitch_rad, bank_rad } => {
                let Course { nose: [nose_n, nose_e], place_m: [north, east] } = reading.course;
                // Angle from the nose to the way home, clockwise.
                let across = nose_e * north - nose_n * east;
                let along = -(nose_n * north + nose_e * east);
                let off = atan2(across, along);
                let bank = (off * 1.0).between(-bank_rad, bank_rad);
                self.hold([bank, kind.same(pitch_rad)], reading, dt_s)
            }
        }
    }

    /// Demands for stick positions of -1 to 1, one loop of `dt_s` later.
    #[inline(always)]
    pub fn demand(&mut self, acts: Acts, sticks: [L; 3], reading: &Reading<L>, dt_s: f64) -> [L; 3] {
        self.act(acts);
        match acts {
            Acts::Direct => {
                self.before = reading.rates_rad_s;
                self.smooth = reading.rates_rad_s;
                sticks
            }
            Acts::Rate => {
                // Yaw follows the turn, so that its damping does not fight it; pitch is the pilot's.
                let (_, turn_yaw) = self.turn_rates(reading);
                let [x, y, z] = sticks;
                let command =
                    [self.axes[0].most * x, self.axes[1].most * y, self.axes[2].most * z + turn_yaw];
                self.rates(command, reading, dt_s)
            }
            Acts::Level => {
                let angles = [self.largest_angle[0] * sticks[0], self.largest_angle[1] * sticks[1]];
                self.attitude(angles, sticks[2], reading, dt_s)
            }
        }
    }

    /// Demands that hold a bank and a pitch angle, rad.
    #[inline(always)]
    fn hold(&mut self, angles: [L; 2], reading: &Reading<L>, dt_s: f64) -> [L; 3] {
        self.act(Acts::Level);
        let zero = reading.roll_rad.same(0.0);
        self.attitude(angles, zero, reading, dt_s)
    }

    #[inline(always)]
    fn act(&mut self, acts: Acts) {
        if acts != self.acts {
            // What one kind of loop has gathered is not what another needs.
            self.gathered = [self.level.same(0.0); 3];
            self.acts = acts;
        }
    }

    /// Rates that go with a steady turn at the bank it reads, rad/s: pitch and yaw.
    #[inline(always)]
    fn turn_rates(&self, reading: &Reading<L>) -> (L, L) {
        let (sin, cos) = sin_cos(reading.roll_rad.between(-1.2, 1.2));
        let (_, level) = sin_cos(reading.pitch_rad);
        let turn = self.turn_per_tangent * sin / cos;
        (turn * sin * level, turn * cos * level)
    }

    #[inline(always)]
    fn attitude(&mut self, angles: [L; 2], yaw_stick: L, reading: &Reading<L>, dt_s: f64) -> [L; 3] {
        let (turn_pitch, turn_yaw) = self.turn_rates(reading);
        let (_, cos_roll) = sin_cos(reading.roll_rad);
        let roll = self.level * (angles[0] - reading.roll_rad);
        let pitch = self.level * (angles[1] - reading.pitch_rad) * cos_roll + turn_pitch;
        let command = [
            limit(roll, self.axes[0].most),
            limit(pitch, self.axes[1].most),
            self.axes[2].most * yaw_stick + turn_yaw,
        ];
        self.rates(command, reading, dt_s)
    }

    #[inline(always)]
    fn rates(&mut self, command: [L; 3], reading: &Reading<L>, dt_s: f64) -> [L; 3] {
        let mut demand = command;
        let share = self.filter.same(dt_s) / (self.filter + dt_s);
        for j in 0..3 {
            self.smooth[j] = self.smooth[j] + (reading.rates_rad_s[j] - self.smooth[j]) * share;
            let gains = &self.axes[j];
            let error = command[j] - self.smooth[j];
            let turning = (self.smooth[j] - self.before[j]) * (1.0 / dt_s);
            let before_integral =
                gains.feed_forward * command[j] + gains.proportional * error - gains.derivative * turning;
            // Gathers only while the surface still has way to go, and never more than half the throw.
            let full = before_integral + self.gathered[j];
            let zero = full.same(0.0);
            let half = gains.throw * 0.5;
            let more = (self.gathered[j] + gains.integral * error * dt_s).within(-half, half);
            let kept = more.where_or((full * error).below(zero), self.gathered[j]);
            self.gathered[j] = more.where_or(full.abs().below(gains.throw), kept);
            demand[j] = ((before_integral + self.gathered[j]) * gains.per_throw).between(-1.0, 1.0);
            self.before[j] = self.smooth[j];
        }
        demand
    }
}

/// Held to a limit, if there is one.
#[inline(always)]
fn limit<L: Lane>(rate: L, most: L) -> L {
    rate.within(-most, most).where_or(most.same(0.0).below(most), rate)
}
