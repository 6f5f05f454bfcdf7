//! Which settings hold a steady motion? Straight flight and steady turns, by Newton's method on the same equations
//! that fly, all six of them: a thrust line off the axis or a lopsided inertia is balanced too.

use nalgebra::{SMatrix, SVector};
use numerics::Vec3;
use numerics::frames;

use crate::equations::{Inputs, acceleration};
use crate::forces::{Drive, Prepared, Surroundings};
use crate::state::{Controls, State};

/// What is prescribed besides airspeed and bank.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Hold {
    /// Climb angle through the air, rad; the throttle follows.
    ClimbAngle(f64),
    /// Throttle, 0 to 1; the climb angle follows. 0 for a glide.
    Throttle(f64),
}

/// A steady motion and what holds it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trim {
    /// The state: at the origin, nose north, in still air.
    pub state: State,
    /// Throttle, 0 to 1.
    pub inputs: Inputs,
    /// Airspeed, m/s.
    pub airspeed_m_s: f64,
    /// Climb angle through the air, rad.
    pub climb_angle_rad: f64,
    /// Angle of attack, rad.
    pub alpha_rad: f64,
    /// Sideslip, rad.
    pub beta_rad: f64,
    /// Pitch attitude, rad.
    pub pitch_rad: f64,
    /// Bank, rad.
    pub bank_rad: f64,
    /// Rate of turn over the ground, clockwise positive, rad/s.
    pub turn_rate_rad_s: f64,
    /// Load factor along the negative body z axis.
    pub load_factor: f64,
    /// What the drive does.
    pub drive: Drive,
    /// Lift coefficient.
    pub cl: f64,
    /// Drag coefficient.
    pub cd: f64,
}

/// Why there is no such steady motion.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoTrim {
    /// The iteration found no balance; what was left over.
    NotBalanced {
        /// Acceleration left, m/s².
        left_m_s2: f64,
        /// Angular acceleration left, rad/s².
        left_rad_s2: f64,
    },
    /// The balance lies beyond the stall.
    Stalled {
        /// Angle of attack that it would take, rad.
        alpha_rad: f64,
    },
    /// The drive cannot give that thrust at that speed, or its table does not reach there.
    Thrust {
        /// Thrust needed, N.
        needed_n: f64,
        /// Least and greatest thrust of the table there, N; absent outside the table or without a drive.
        range_n: Option<(f64, f64)>,
    },
    /// The given throttle and speed lie outside the table of the drive.
    OutsideTable {
        /// Throttle given.
        throttle: f64,
        /// Airspeed given, m/s.
        airspeed_m_s: f64,
    },
}

/// Unknowns: angle of attack, sideslip, aileron, elevator, rudder, thrust over weight or climb angle, rate of turn (bank
/// where straight flight needs one).
const UNKNOWNS: usize = 7;
type Unknowns = SVector<f64, UNKNOWNS>;

/// What is prescribed of a steady motion.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Steady {
    /// Airspeed, m/s.
    pub airspeed_m_s: f64,
    /// Climb angle or throttle.
    pub hold: Hold,
    /// Bank, right wing down positive, rad; zero for straight flight.
    pub bank_rad: f64,
    /// Flap deflection that is left standing, rad.
    pub flap_rad: f64,
    /// Air density, kg/m³.
    pub density_kg_m3: f64,
}

/// Steady straight flight, wings level, at an airspeed (m/s) and density (kg/m³). An aircraft without a rudder leans as far
/// as the motor's torque makes it.
///
/// # Errors
/// When nothing balances, or only what the aircraft cannot do: see [`NoTrim`].
pub fn straight(body: &Prepared, airspeed_m_s: f64, hold: Hold, density_kg_m3: f64) -> Result<Trim, NoTrim> {
    turn(body, airspeed_m_s, hold, 0.0, density_kg_m3)
}

/// Steady turn at a bank (rad, right wing down positive).
///
/// # Errors
/// As for [`straight`].
pub fn turn(
    body: &Prepared,
    airspeed_m_s: f64,
    hold: Hold,
    bank_rad: f64,
    density_kg_m3: f64,
) -> Result<Trim, NoTrim> {
    steady(body, &Steady { airspeed_m_s, hold, bank_rad, flap_rad: 0.0, density_kg_m3 })
}

/// A steady motion; turns are coordinated where the aircraft has both roll and yaw control.
///
/// # Errors
/// As for [`straight`].
pub fn steady(body: &Prepared, wanted: &Steady) -> Result<Trim, NoTrim> {
    let case = Case::new(body, wanted)?;
    let Steady { airspeed_m_s, hold, bank_rad, density_kg_m3, .. } = *wanted;
    let d = &body.model.aerodynamics.derivatives;
    let aero = &body.model.aerodynamics;
    let weight = body.model.mass_kg * case.around.gravity_m_s2;
    let pressure = 0.5 * density_kg_m3 * airspeed_m_s * airspeed_m_s * aero.area_m2;
    let cl = weight / (pressure * bank_rad.cos());

    let mut x = Unknowns::zeros();
    x[0] = ((cl - aero.cl0) / d.CLa.max(0.1)).clamp(-0.3, 0.4);
    x[5] = match hold {
        Hold::ClimbAngle(angle) => 0.1 + angle.sin(),
        Hold::Throttle(_) => -0.1,
    };
    if bank_rad != 0.0 {
        x[6] = case.around.gravity_m_s2 * bank_rad.tan() / airspeed_m_s;
    }
    let mut left = case.residual(&x);
    for _ in 0..60 {
        if left.norm() < 1e-11 {
            break;
        }
        let mut jacobian = SMatrix::<f64, UNKNOWNS, UNKNOWNS>::zeros();
        for j in 0..UNKNOWNS {
            let h = 1e-6;
            let (mut up, mut down) = (x, x);
            up[j] += h;
            down[j] -= h;
            let column = (case.residual(&up) - case.residual(&down)) / (2.0 * h);
            jacobian.set_column(j, &column);
        }
        // The least step that solves it: a control that the aircraft does not have is left alone.
        let largest = jacobian.norm().max(1e-12);
        let Ok(mut dx) = jacobian.svd(true, true).solve(&left, 1e-9 * largest) else {
            break;
        };
        let most = dx.amax();
        if most > 0.15 {
            dx *= 0.15 / most;
        }
        // Shorten the step until it helps.
        let mut share = 1.0;
        let mut better = None;
        for _ in 0..12 {
            let next = x - dx * share;
            let next_left = case.residual(&next);
            if next_left.norm() < left.norm() {
                better = Some((next, next_left));
                break;
            }
            share *= 0.5;
        }
        let Some((next, next_left)) = better else {
            break;
        };
        x = next;
        left = next_left;
    }
    case.finish(&x, &left)
}

/// The problem with everything prescribed filled in.
struct Case<'a> {
    body: &'a Prepared,
    around: Surroundings,
    airspeed_m_s: f64,
    hold: Hold,
    bank_rad: f64,
    flap_rad: f64,
    fixed_drive: Drive,
    coordinated: bool,
    /// Whether straight flight takes the bank that it needs: without a rudder the yaw of the ailerons that hold the
    /// motor's torque is held by a slip, and the side force of the slip by a lean.
    leans: bool,
}

impl<'a> Case<'a> {
    fn new(body: &'a Prepared, wanted: &Steady) -> Result<Self, NoTrim> {
        let Steady { airspeed_m_s, hold, bank_rad, flap_rad, density_kg_m3 } = *wanted;
        let fixed_drive = match (hold, &body.model.thrust) {
            (Hold::Throttle(throttle), Some(table)) => {
                table.at(throttle, airspeed_m_s).ok_or(NoTrim::OutsideTable { throttle, airspeed_m_s })?
            }
            _ => Drive::default(),
        };
        let d = &body.model.aerodynamics.derivatives;
        let roll_and_yaw = (d.Clda * d.Cndr - d.Cldr * d.Cnda).abs() > 1e-6;
        Ok(Self {
            body,
            around: Surroundings::still(density_kg_m3),
            airspeed_m_s,
            hold,
            bank_rad,
            flap_rad,
            fixed_drive,
            coordinated: bank_rad != 0.0 && roll_and_yaw,
            leans: bank_rad == 0.0 && !roll_and_yaw,
        })
    }

    fn climb_angle(&self, x: &Unknowns) -> f64 {
        match self.hold {
            Hold::ClimbAngle(angle) => angle,
            Hold::Throttle(_) => x[5],
        }
    }

    fn bank_rad(&self, x: &Unknowns) -> f64 {
        if self.leans { x[6] } else { self.bank_rad }
    }

    fn drive(&self, x: &Unknowns) -> Drive {
        match self.hold {
            Hold::ClimbAngle(_) => {
                let thrust_n = x[5] * self.body.model.mass_kg * self.around.gravity_m_s2;
                // With the torque of the motor that pulls so: the surfaces that hold level hold against it, too.
                let turning = self.body.model.thrust.as_ref().and_then(|table| {
                    let throttle = table.throttle_for(thrust_n, self.airspeed_m_s)?;
                    table.at(throttle, self.airspeed_m_s)
                });
                Drive { thrust_n, ..turning.unwrap_or_default() }
            }
            Hold::Throttle(_) => self.fixed_drive,
        }
    }

    fn state(&self, x: &Unknowns) -> State {
        let (alpha, beta) = (x[0], x[1]);
        // sin(climb) = a sin(pitch) - b cos(pitch), from the third row of ned_from_body times the air velocity.
        let (sin_b, cos_b) = beta.sin_cos();
        let (sin_r, cos_r) = self.bank_rad(x).sin_cos();
        let a = alpha.cos() * cos_b;
        let b = sin_r * sin_b + cos_r * alpha.sin() * cos_b;
        let reach = a.hypot(b).max(1e-9);
        let pitch = b.atan2(a) + (self.climb_angle(x).sin() / reach).clamp(-1.0, 1.0).asin();
        let turn = if self.bank_rad == 0.0 { 0.0 } else { x[6] };
        State {
            velocity_body_m_s: self.airspeed_m_s * Vec3::new(a, sin_b, alpha.sin() * cos_b),
            ned_from_body: frames::ned_from_body(self.bank_rad(x), pitch, 0.0),
            rates_body_rad_s: turn * Vec3::new(-pitch.sin(), sin_r * pitch.cos(), cos_r * pitch.cos()),
            controls: Controls {
                aileron_rad: x[2],
                elevator_rad: x[3],
                rudder_rad: x[4],
                flap_rad: self.flap_rad,
            },
            ..State::at_rest()
        }
    }

    fn residual(&self, x: &Unknowns) -> Unknowns {
        let state = self.state(x);
        let loads = self.body.loads_with(
            state.velocity_body_m_s,
            state.rates_body_rad_s,
            &state.controls,
            self.around.density_kg_m3,
            self.drive(x),
        );
        let a = acceleration(self.body, &state, &self.around, &loads);
        let (v, w) = (a.velocity_body_m_s2, a.rates_body_rad_s2);
        // Angular accelerations of a model are some tens of times the linear ones in g: brought to like size.
        let (g, turning) = (self.around.gravity_m_s2, 100.0);
        let slip = if self.coordinated { a.specific_force_body_m_s2.y / g } else { 0.0 };
        Unknowns::from([v.x / g, v.y / g, v.z / g, w.x / turning, w.y / turning, w.z / turning, slip])
    }

    fn finish(&self, x: &Unknowns, left: &Unknowns) -> Result<Trim, NoTrim> {
        if left.norm().is_nan() || left.norm() >= 1e-8 {
            return Err(NoTrim::NotBalanced {
                left_m_s2: Vec3::new(left[0], left[1], left[2]).norm() * self.around.gravity_m_s2,
                left_rad_s2: Vec3::new(left[3], left[4], left[5]).norm() * 100.0,
            });
        }
        let mut state = self.state(x);
        let wanted = self.drive(x);
        let (throttle, drive) = match (self.hold, &self.body.model.thrust) {
            (Hold::Throttle(throttle), Some(_)) => (throttle, self.fixed_drive),
            (Hold::Throttle(_), None) => (0.0, Drive::default()),
            (Hold::ClimbAngle(_), None) => {
                // Without a drive only the very glide angle balances.
                if wanted.thrust_n.abs() > 1e-6 {
                    return Err(NoTrim::Thrust { needed_n: wanted.thrust_n, range_n: None });
                }
                (0.0, Drive::default())
            }
            (Hold::ClimbAngle(_), Some(table)) => {
                let no_thrust =
                    NoTrim::Thrust { needed_n: wanted.thrust_n, range_n: table.range_n(self.airspeed_m_s) };
                let throttle = table.throttle_for(wanted.thrust_n, self.airspeed_m_s).ok_or(no_thrust)?;
                let drive = table.at(throttle, self.airspeed_m_s).ok_or(no_thrust)?;
                (throttle, drive)
            }
        };
        state.thrust_level = throttle;
        let loads = self.body.loads_with(
            state.velocity_body_m_s,
            state.rates_body_rad_s,
            &state.controls,
            self.around.density_kg_m3,
            drive,
        );
        if loads.stalled > 0.5 {
            return Err(NoTrim::Stalled { alpha_rad: x[0] });
        }
        let force = loads.air_force_body_n + loads.thrust_body_n;
        let (_, pitch_rad, _) = frames::roll_pitch_yaw(&state.ned_from_body);
        Ok(Trim {
            state,
            inputs: Inputs { throttle },
            airspeed_m_s: self.airspeed_m_s,
            climb_angle_rad: self.climb_angle(x),
            alpha_rad: x[0],
            beta_rad: x[1],
            pitch_rad,
            bank_rad: self.bank_rad(x),
            turn_rate_rad_s: if self.bank_rad == 0.0 { 0.0 } else { x[6] },
            load_factor: -force.z / (self.body.model.mass_kg * self.around.gravity_m_s2),
            drive,
            cl: loads.cl,
            cd: loads.cd,
        })
    }
}
