//! Which forces and moments act in a given motion? Aerodynamics to beyond the stall, bounded at any angle, and the
//! drive; the formulas themselves are in `crate::body`, which flies one aircraft or several side by side.

use numerics::Vec3;

use crate::body::{Body, Pull, Push, Stream};
use crate::model::{ForceModel, Thrust};
use crate::state::{Controls, State};
use crate::table::Table;

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
    /// Height of the balance point above the ground, m, for ground effect; infinite where there is none.
    pub height_m: f64,
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
            height_m: f64::INFINITY,
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

/// A model made ready to be evaluated many times.
#[derive(Debug, Clone, PartialEq)]
pub struct Prepared {
    /// The model.
    pub model: ForceModel,
    /// Inverse of the inertia tensor, 1/(kg m²).
    pub inertia_inverse: numerics::Mat3,
    pub(crate) body: Body<f64>,
    /// Largest voltage of the drive's table: that of the full pack without load, V.
    pub(crate) full_volts: f64,
    pub(crate) table: Option<Table>,
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
        let body = Body::of(model, &inertia_inverse);
        let full_volts = model.thrust.as_ref().map_or(0.0, |t| t.volts.iter().copied().fold(0.0, f64::max));
        Ok(Self {
            model: model.clone(),
            inertia_inverse,
            body,
            full_volts,
            table: model.thrust.as_ref().map(Table::of),
        })
    }

    /// Fall of the pack's open voltage per charge taken, over that when full, 1/Ah.
    pub(crate) fn fall_per_ah(&self) -> f64 {
        match &self.model.thrust {
            Some(t) if t.capacity_ah > 0.0 => self.model.details.pack_falls / t.capacity_ah,
            _ => 0.0,
        }
    }

    /// Forces and moments in a state, at a density and wind.
    #[must_use]
    pub fn loads(&self, state: &State, around: &Surroundings) -> Loads {
        let v = state.air_velocity_body_m_s(around.wind_ned_m_s);
        let mut drive =
            self.model.thrust.as_ref().map_or(Drive::default(), |t| t.nearest(state.thrust_level, v.norm()));
        // As the pack empties, everything follows its voltage: speed in proportion, thrust and current as the square,
        // and what the current takes from the open voltage with it.
        let left = (1.0 - self.fall_per_ah() * state.charge_used_ah).max(0.5);
        drive.volts = left * self.full_volts - (self.full_volts - drive.volts) * left * left;
        drive.thrust_n *= left * left;
        drive.current_a *= left * left;
        drive.rpm *= left;
        let rates = state.rates_body_rad_s;
        let felt = rates - around.air_rates_body_rad_s;
        let at = (around.density_kg_m3, around.height_m);
        self.loads_at(v, [felt, rates], &state.controls, at, drive)
    }

    /// Forces and moments at an air-relative velocity and turning rates (body axes), controls, density, with the drive
    /// as given, far from the ground.
    #[must_use]
    pub fn loads_with(
        &self,
        air_velocity_body_m_s: Vec3,
        rates_body_rad_s: Vec3,
        controls: &Controls,
        density_kg_m3: f64,
        drive: Drive,
    ) -> Loads {
        let at = (density_kg_m3, f64::INFINITY);
        self.loads_at(air_velocity_body_m_s, [rates_body_rad_s; 2], controls, at, drive)
    }

    fn loads_at(
        &self,
        air_velocity_body_m_s: Vec3,
        [felt, turning]: [Vec3; 2],
        controls: &Controls,
        (density_kg_m3, height_m): (f64, f64),
        drive: Drive,
    ) -> Loads {
        let stream = Stream::of(air_velocity_body_m_s.into(), density_kg_m3);
        let Drive { thrust_n, current_a, rpm, volts, .. } = drive;
        let push = self.body.push(
            &stream,
            felt.into(),
            turning.into(),
            [controls.aileron_rad, controls.elevator_rad, controls.rudder_rad, controls.flap_rad],
            [density_kg_m3, height_m],
            &Pull { thrust_n, current_a, rpm, volts },
        );
        let Push { cl, cd, stalled, pitch_per_alpha_rate, .. } = push;
        let share = (air_velocity_body_m_s.y / stream.speed.max(1e-12)).clamp(-1.0, 1.0);
        Loads {
            flow: Flow {
                airspeed_m_s: stream.speed,
                alpha_rad: stream.alpha,
                beta_rad: share.asin(),
                pressure_pa: stream.pressure,
            },
            air_velocity_body_m_s,
            air_force_body_n: push.air_force.into(),
            air_moment_body_nm: push.air_moment.into(),
            pitch_per_alpha_rate_nms: pitch_per_alpha_rate,
            thrust_body_n: push.thrust_force.into(),
            thrust_moment_body_nm: push.thrust_moment.into(),
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
