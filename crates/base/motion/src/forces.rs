//! Which forces and moments act in a given motion? Aerodynamics to beyond the stall, bounded at any angle, and the
//! drive.
//!
//! Below the stall everything is linear in the derivatives of the model, as the symbols say. Around the stall a
//! sigmoid of the angle of attack hands over to a stalled plate. Its height follows Viterna and Corrigan (NASA
//! CP-2230, 1981, from memory): drag at 90 degrees of 1.11 + 0.018 times the aspect ratio. How much of the damping
//! and of the control power is left beyond the stall is judgement without a source, and said at the constants.

use numerics::Vec3;

use crate::model::{Aerodynamics, ForceModel, Thrust};
use crate::state::{Controls, State};

/// Air and earth around the aircraft, and whatever else acts on it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surroundings {
    /// Air density, kg/m³.
    pub density_kg_m3: f64,
    /// Acceleration of gravity, m/s², downward.
    pub gravity_m_s2: f64,
    /// Velocity of the air, wind and gust together, the same over the whole aircraft, north-east-down, m/s.
    pub wind_ned_m_s: Vec3,
    /// Turning of the air (gust gradients over the span), body axes, rad/s; taken from the rates that damp.
    pub air_rates_body_rad_s: Vec3,
    /// Force from outside (ground, hand, cord), body axes, N.
    pub outside_force_body_n: Vec3,
    /// Moment from outside about the balance point, body axes, N m.
    pub outside_moment_body_nm: Vec3,
}

impl Surroundings {
    /// Still air of a density under standard gravity, and nothing else.
    #[must_use]
    pub fn still(density_kg_m3: f64) -> Self {
        Self {
            density_kg_m3,
            gravity_m_s2: numerics::units::G_M_S2,
            wind_ned_m_s: Vec3::zeros(),
            air_rates_body_rad_s: Vec3::zeros(),
            outside_force_body_n: Vec3::zeros(),
            outside_moment_body_nm: Vec3::zeros(),
        }
    }
}

/// The flow that the aircraft feels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flow {
    /// True airspeed, m/s.
    pub airspeed_m_s: f64,
    /// Angle of attack, air from below positive, rad.
    pub alpha_rad: f64,
    /// Sideslip, air from the right positive, rad.
    pub beta_rad: f64,
    /// Dynamic pressure, Pa.
    pub pressure_pa: f64,
}

impl Flow {
    /// Flow of an air-relative velocity in body axes, m/s.
    #[must_use]
    pub fn of(air_velocity_body_m_s: Vec3, density_kg_m3: f64) -> Self {
        let v = air_velocity_body_m_s;
        let airspeed_m_s = v.norm();
        let beta_rad = if airspeed_m_s > 0.0 { (v.y / airspeed_m_s).clamp(-1.0, 1.0).asin() } else { 0.0 };
        Self {
            airspeed_m_s,
            alpha_rad: v.z.atan2(v.x),
            beta_rad,
            pressure_pa: 0.5 * density_kg_m3 * airspeed_m_s * airspeed_m_s,
        }
    }
}

/// What the drive does at one setting.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Drive {
    /// Thrust, N.
    pub thrust_n: f64,
    /// Pack current, A.
    pub current_a: f64,
    /// Propeller speed, rpm.
    pub rpm: f64,
    /// Pack voltage, V.
    pub volts: f64,
    /// Whether the setting lay outside the table and its edge was taken.
    pub outside_table: bool,
}

/// Forces and moments on the aircraft, without gravity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Loads {
    /// Flow.
    pub flow: Flow,
    /// Velocity relative to the air, body axes, m/s.
    pub air_velocity_body_m_s: Vec3,
    /// Aerodynamic force, body axes, N.
    pub air_force_body_n: Vec3,
    /// Aerodynamic moment about the balance point without its part from the changing angle of attack, N m.
    pub air_moment_body_nm: Vec3,
    /// Pitching moment per rad/s of angle of attack, N m s (from `Cm_alphadot`).
    pub pitch_per_alpha_rate_nms: f64,
    /// Thrust force, body axes, N.
    pub thrust_body_n: Vec3,
    /// Moment of the thrust about the balance point, N m.
    pub thrust_moment_body_nm: Vec3,
    /// The drive.
    pub drive: Drive,
    /// Lift coefficient.
    pub cl: f64,
    /// Drag coefficient.
    pub cd: f64,
    /// How far stalled, 0 (attached) to 1.
    pub stalled: f64,
}

/// Width of the hand-over to the stalled plate, rad (about 1.5 degrees: the gentle stall of sections at model Reynolds
/// numbers; judgement without a source).
const STALL_WIDTH_RAD: f64 = 0.025;
/// Share of the roll and yaw damping that is left when fully stalled (judgement without a source).
const STALLED_DAMPING: f64 = 0.3;
/// Share of the control power that is left when fully stalled (judgement without a source).
const STALLED_CONTROL: f64 = 0.4;
/// Airspeed below which rates are no longer made dimensionless with it, m/s (0.5 ft/s, as the models of
/// NASA/TM-2015-218675 do).
const SLOWEST_M_S: f64 = 0.1524;

/// Lift curve through both stalls, made ready once from the coefficients.
///
/// The largest lift of the model is of the trimmed aircraft: with the elevator that balances it. So the angle of the
/// stall comes from the trimmed lift curve, and the hand-over is centred where the peak of the blend is that lift.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Stall {
    centre_high_rad: f64,
    centre_low_rad: f64,
    plate_drag: f64,
}

impl Stall {
    fn of(aero: &Aerodynamics) -> Self {
        let d = &aero.derivatives;
        let plate_drag = 1.11 + 0.018 * aero.span_m * aero.span_m / aero.area_m2;
        let (zero, slope) = if d.Cmde.abs() > 1e-3 {
            (aero.cl0 - d.CLde * aero.cm0 / d.Cmde, d.CLa - d.CLde * d.Cma / d.Cmde)
        } else {
            (aero.cl0, d.CLa)
        };
        // With the sigmoid s of width w between the line (slope a) and the plate, the blend peaks where
        // a (1 - s) = s (1 - s) D / w, so s = a w / D with D the drop from line to plate; there the line stands
        // s D = a w above the blend, that is, w further along it than where it reaches the peak value.
        let centre = |peak: f64, sign: f64| {
            let at = (peak - zero) / slope + sign * STALL_WIDTH_RAD;
            let drop = (zero + slope * at - 0.5 * plate_drag * (2.0 * at).sin()) * sign;
            let share = (slope * STALL_WIDTH_RAD / drop.max(1e-6)).clamp(0.02, 0.5);
            at - sign * STALL_WIDTH_RAD * (share / (1.0 - share)).ln()
        };
        if slope > 0.1 && aero.cl_max > aero.cl_min {
            Self {
                centre_high_rad: centre(aero.cl_max, 1.0),
                centre_low_rad: centre(aero.cl_min, -1.0),
                plate_drag,
            }
        } else {
            // A body without a lifting slope (a brick, a ball) has no stall.
            Self { centre_high_rad: f64::INFINITY, centre_low_rad: f64::NEG_INFINITY, plate_drag }
        }
    }

    fn share(&self, alpha_rad: f64) -> f64 {
        // Past 60 widths the sigmoid is 1e-26: not worth an exponential.
        let sigmoid = |x: f64| {
            if x < -60.0 { 0.0 } else { 1.0 / (1.0 + (-x).exp()) }
        };
        sigmoid((alpha_rad - self.centre_high_rad) / STALL_WIDTH_RAD)
            + sigmoid((self.centre_low_rad - alpha_rad) / STALL_WIDTH_RAD)
    }
}

/// A model made ready to be evaluated many times.
#[derive(Debug, Clone, PartialEq)]
pub struct Prepared {
    /// The model.
    pub model: ForceModel,
    /// Inverse of the inertia tensor, 1/(kg m²).
    pub inertia_inverse: numerics::Mat3,
    stall: Stall,
}

impl Prepared {
    /// Makes a model ready.
    ///
    /// # Errors
    /// When mass, inertia or reference lengths cannot be those of a body.
    pub fn new(model: &ForceModel) -> Result<Self, NotABody> {
        let a = &model.aerodynamics;
        if !(model.mass_kg > 0.0 && model.mass_kg.is_finite()) {
            return Err(NotABody::Mass { mass_kg: model.mass_kg });
        }
        if !(a.area_m2 > 0.0 && a.mean_chord_m > 0.0 && a.span_m > 0.0) {
            return Err(NotABody::Reference {
                area_m2: a.area_m2,
                mean_chord_m: a.mean_chord_m,
                span_m: a.span_m,
            });
        }
        let positive = model.inertia_kg_m2.cholesky().is_some();
        let inertia_inverse = match model.inertia_kg_m2.try_inverse() {
            Some(inverse) if positive => inverse,
            _ => return Err(NotABody::Inertia),
        };
        Ok(Self { model: model.clone(), inertia_inverse, stall: Stall::of(a) })
    }

    /// Forces and moments in a state, at a density and wind.
    #[must_use]
    pub fn loads(&self, state: &State, around: &Surroundings) -> Loads {
        let v = state.air_velocity_body_m_s(around.wind_ned_m_s);
        let drive =
            self.model.thrust.as_ref().map_or(Drive::default(), |t| t.nearest(state.thrust_level, v.norm()));
        self.loads_with(
            v,
            state.rates_body_rad_s - around.air_rates_body_rad_s,
            &state.controls,
            around.density_kg_m3,
            drive,
        )
    }

    /// Forces and moments at an air-relative velocity and turning rates (body axes), controls, density, with the drive
    /// as given.
    #[must_use]
    pub fn loads_with(
        &self,
        air_velocity_body_m_s: Vec3,
        rates_body_rad_s: Vec3,
        controls: &Controls,
        density_kg_m3: f64,
        drive: Drive,
    ) -> Loads {
        let aero = &self.model.aerodynamics;
        let d = &aero.derivatives;
        let flow = Flow::of(air_velocity_body_m_s, density_kg_m3);
        let (sin_a, cos_a) = flow.alpha_rad.sin_cos();
        let slow = flow.airspeed_m_s.max(SLOWEST_M_S);
        // The sine of the sideslip stands for the angle: within 1 % to 14 degrees, and bounded beyond.
        let sin_b = if flow.airspeed_m_s > 0.0 { air_velocity_body_m_s.y / flow.airspeed_m_s } else { 0.0 };
        let cos2_b = 1.0 - sin_b * sin_b;
        let p = rates_body_rad_s.x * aero.span_m / (2.0 * slow);
        let q = rates_body_rad_s.y * aero.mean_chord_m / (2.0 * slow);
        let r = rates_body_rad_s.z * aero.span_m / (2.0 * slow);

        let stalled = self.stall.share(flow.alpha_rad);
        let attached = 1.0 - stalled;
        let damping = attached + STALLED_DAMPING * stalled;
        // Surfaces in a flow from behind or square to them do nothing that their derivatives tell.
        let power = attached + STALLED_CONTROL * stalled * cos_a.max(0.0);
        let elevator = controls.elevator_rad * power;
        let flap = controls.flap_rad * power;

        let cl_line = aero.cl0 + d.CLa * flow.alpha_rad;
        let cl_control = d.CLde * elevator + d.CLdf * flap + d.CLq * q * damping;
        let cl =
            attached * cl_line + stalled * 0.5 * self.stall.plate_drag * 2.0 * sin_a * cos_a + cl_control;
        let off = attached * cl_line + cl_control - aero.cl_least_drag;
        let cd = aero.cd0
            + attached * aero.induced * off * off
            + stalled * self.stall.plate_drag * sin_a * sin_a
            + d.CDde * elevator
            + d.CDdf * flap;
        // Beyond the stall the pitching moment goes on as the sine: nose-down all the way round to flying backwards.
        let alpha_moment = attached * flow.alpha_rad + stalled * sin_a;
        let cm = aero.cm0 + d.Cma * alpha_moment + d.Cmq * q + d.Cmde * elevator + d.Cmdf * flap;
        let aileron = controls.aileron_rad * power;
        let rudder = controls.rudder_rad * power;
        let cy = d.CYb * sin_b + d.CYp * p + d.CYr * r + d.CYda * aileron + d.CYdr * rudder;
        let c_roll =
            d.Clb * sin_b * damping + (d.Clp * p + d.Clr * r) * damping + d.Clda * aileron + d.Cldr * rudder;
        let c_yaw = d.Cnb * sin_b + (d.Cnp * p + d.Cnr * r) * damping + d.Cnda * aileron + d.Cndr * rudder;

        let force = flow.pressure_pa * aero.area_m2;
        let cos_b = cos2_b.max(0.0).sqrt();
        let lift = cl * cos2_b;
        let drag = cd * cos_b;
        let air_force_body_n = Vec3::new(
            force * (lift * sin_a - drag * cos_a),
            force * cy,
            force * (-lift * cos_a - drag * sin_a),
        );
        let air_moment_body_nm = Vec3::new(
            force * aero.span_m * c_roll,
            force * aero.mean_chord_m * cm,
            force * aero.span_m * c_yaw,
        );
        let pitch_per_alpha_rate_nms =
            force * aero.mean_chord_m * d.Cm_alphadot * attached * aero.mean_chord_m / (2.0 * slow);
        let (thrust_body_n, thrust_moment_body_nm) =
            self.model.thrust.as_ref().map_or((Vec3::zeros(), Vec3::zeros()), |t| {
                let pull = t.direction * drive.thrust_n;
                (pull, t.at_m.cross(&pull))
            });
        Loads {
            flow,
            air_velocity_body_m_s,
            air_force_body_n,
            air_moment_body_nm,
            pitch_per_alpha_rate_nms,
            thrust_body_n,
            thrust_moment_body_nm,
            drive,
            cl,
            cd,
            stalled,
        }
    }
}

/// Why a model cannot be moved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NotABody {
    /// The mass is not a positive number.
    Mass {
        /// Mass given, kg.
        mass_kg: f64,
    },
    /// The inertia tensor is not that of a body (not positive definite).
    Inertia,
    /// A reference area or length is not a positive number.
    Reference {
        /// Area given, m².
        area_m2: f64,
        /// Chord given, m.
        mean_chord_m: f64,
        /// Span given, m.
        span_m: f64,
    },
}

impl Thrust {
    /// What the drive does at a throttle (0 to 1) and airspeed (m/s), bilinear in the table; `None` outside it.
    #[must_use]
    pub fn at(&self, throttle: f64, airspeed_m_s: f64) -> Option<Drive> {
        let drive = self.nearest(throttle, airspeed_m_s);
        (!drive.outside_table).then_some(drive)
    }

    /// The same, but outside the table what its nearest edge says, and marked so: for motions that leave the table for
    /// a moment (a dive) and must go on.
    #[must_use]
    pub fn nearest(&self, throttle: f64, airspeed_m_s: f64) -> Drive {
        let (Some(row), Some(column)) =
            (Bracket::of(&self.throttle, throttle), Bracket::of(&self.airspeed_m_s, airspeed_m_s))
        else {
            return Drive { outside_table: true, ..Drive::default() };
        };
        let columns = self.airspeed_m_s.len();
        let value = |table: &[f64]| {
            let cell = |i: usize, j: usize| table.get(i * columns + j).copied().unwrap_or(0.0);
            let at_row =
                |i: usize| cell(i, column.low) * (1.0 - column.share) + cell(i, column.high) * column.share;
            at_row(row.low) * (1.0 - row.share) + at_row(row.high) * row.share
        };
        Drive {
            thrust_n: value(&self.thrust_n),
            current_a: value(&self.current_a),
            rpm: value(&self.rpm),
            volts: value(&self.volts),
            outside_table: row.outside || column.outside,
        }
    }

    /// Least and greatest thrust of the table at an airspeed, N; `None` outside it.
    #[must_use]
    pub fn range_n(&self, airspeed_m_s: f64) -> Option<(f64, f64)> {
        let thrusts: Option<Vec<f64>> =
            self.throttle.iter().map(|t| self.at(*t, airspeed_m_s).map(|d| d.thrust_n)).collect();
        let thrusts = thrusts?;
        let low = thrusts.iter().copied().reduce(f64::min)?;
        let high = thrusts.iter().copied().reduce(f64::max)?;
        Some((low, high))
    }

    /// Least throttle that gives a thrust at an airspeed; `None` where no throttle does.
    #[must_use]
    pub fn throttle_for(&self, thrust_n: f64, airspeed_m_s: f64) -> Option<f64> {
        let mut before: Option<(f64, f64)> = None;
        for t in &self.throttle {
            let now = self.at(*t, airspeed_m_s)?.thrust_n;
            match before {
                Some((t0, n0)) if (n0 - thrust_n) * (now - thrust_n) <= 0.0 && now != n0 => {
                    return Some(t0 + (t - t0) * (thrust_n - n0) / (now - n0));
                }
                None if now == thrust_n => return Some(*t),
                _ => before = Some((*t, now)),
            }
        }
        None
    }
}

/// Two neighbours in a growing list and how far between them a value lies.
struct Bracket {
    low: usize,
    high: usize,
    share: f64,
    outside: bool,
}

impl Bracket {
    fn of(list: &[f64], value: f64) -> Option<Self> {
        let (first, last) = (*list.first()?, *list.last()?);
        let outside = !(first..=last).contains(&value);
        let high = list.partition_point(|x| *x < value).clamp(1, list.len().max(2) - 1);
        let (Some(x0), Some(x1)) = (list.get(high - 1), list.get(high)) else {
            // A list of one: the same everywhere.
            return Some(Self { low: 0, high: 0, share: 0.0, outside });
        };
        let share = if x1 > x0 { ((value - x0) / (x1 - x0)).clamp(0.0, 1.0) } else { 0.0 };
        Some(Self { low: high - 1, high, share, outside })
    }
}
