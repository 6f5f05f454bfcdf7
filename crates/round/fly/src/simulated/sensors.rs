//! What does the log say of the motion? Sensors with noise, delay and rounding, and the columns they fill.

use std::fmt::Write as _;
use std::sync::Arc;

use aircraft::controller::Acts;
use motion::state::State;
use numerics::geodesy::LocalPlane;
use numerics::random::Random;
use numerics::units::{DEG_PER_RAD, RAD_PER_DEG};
use numerics::{Rotation, Vec3, frames};

use super::script::{MadeFlaw, Place, Sensors};
use super::servos::Demand;
use crate::recording::{Channel, Quantity, Recording};

/// A column of the log: SI inside, the unit of its header outside.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Column {
    header: String,
    quantity: Quantity,
    /// What is written over what is inside.
    scale: f64,
    decimals: usize,
    values: Vec<f64>,
}

/// One moment of the flight, as it truly is.
#[derive(Debug, Clone, Copy)]
pub(super) struct Moment<'a> {
    pub time_s: f64,
    pub state: &'a State,
    /// Specific force at the balance point, body axes, m/s².
    pub force_body_m_s2: Vec3,
    pub airspeed_m_s: f64,
    pub sticks: &'a Demand,
    pub throttle: f64,
    pub pulses_us: &'a [f64],
    pub volts: f64,
    pub amps: f64,
    pub rpm: f64,
    pub acts: Acts,
}

/// The logger.
pub(super) struct Log {
    sensors: Sensors,
    random: Random,
    plane: LocalPlane,
    elevation_m: f64,
    airspeed_factor: f64,
    body_from_controller: Rotation,
    /// Slow errors of [roll, pitch, heading], in standard deviations, and of a fix [north, east, up].
    drift: [f64; 3],
    wander: [f64; 3],
    phase: f64,
    next_fix_s: f64,
    past: Vec<(f64, Vec3, Vec3)>,
    pub time_s: Vec<f64>,
    pub columns: Vec<Column>,
}

impl Log {
    /// `body_from_controller`: how the axes of its readings stand in the body, mounting and setting together.
    pub(super) fn new(
        sensors: Sensors,
        place: &Place,
        airspeed_factor: f64,
        body_from_controller: Rotation,
        channels: &[String],
        random: Random,
    ) -> Self {
        Self {
            sensors,
            random,
            plane: LocalPlane::at(place.latitude_deg, place.longitude_deg),
            elevation_m: place.elevation_m,
            airspeed_factor,
            body_from_controller,
            drift: [0.0; 3],
            wander: [0.0; 3],
            phase: 0.0,
            next_fix_s: 0.0,
            past: Vec::new(),
            time_s: Vec::new(),
            columns: columns(&sensors, channels),
        }
    }

    /// What the controller reads, in its own axes: roll, pitch, heading and rates, without noise.
    pub(super) fn reading(&self, state: &State) -> (f64, f64, f64, Vec3) {
        let (roll, pitch, heading) =
            frames::roll_pitch_yaw(&(state.ned_from_body * self.body_from_controller));
        let rates = self.body_from_controller.inverse_transform_vector(&state.rates_body_rad_s);
        (roll, pitch, heading, rates)
    }

    /// Writes one row.
    pub(super) fn write(&mut self, m: &Moment<'_>, dt_s: f64) {
        let s = self.sensors;
        let keep = (-dt_s / 20.0).exp();
        for x in &mut self.drift {
            *x = keep * *x + (1.0 - keep * keep).sqrt() * self.random.normal();
        }
        let keep = (-dt_s / 30.0).exp();
        for x in &mut self.wander {
            *x = keep * *x + (1.0 - keep * keep).sqrt() * self.random.normal();
        }
        let (roll, pitch, heading, rates) = self.reading(m.state);
        let drift = self.drift;
        let mut row = Vec::with_capacity(self.columns.len());
        for (angle, drift) in [roll, pitch, heading].into_iter().zip(drift) {
            row.push(angle + s.angle_sd_rad * (drift + self.random.normal()));
        }
        if let Some(heading) = row.get_mut(2) {
            *heading = heading.rem_euclid(std::f64::consts::TAU);
        }
        for axis in 0..3 {
            row.push(rates[axis] + s.rate_sd_rad_s * self.random.normal());
        }
        self.phase = (self.phase + m.rpm / 60.0 * dt_s).fract();
        let shaking = s.vibration_m_s2 * m.throttle * m.throttle;
        let shake = (std::f64::consts::TAU * self.phase).sin_cos();
        let force = self.body_from_controller.inverse_transform_vector(&m.force_body_m_s2)
            + shaking * Vec3::new(0.2 * shake.0, 0.7 * shake.0, shake.1);
        for axis in 0..3 {
            row.push(force[axis] + s.force_sd_m_s2 * self.random.normal());
        }
        let height = -m.state.position_ned_m.z;
        row.push(height + s.height_sd_m * self.random.normal());
        if s.gps {
            row.extend(self.fix(m));
        }
        if s.airspeed {
            let told = m.airspeed_m_s * self.airspeed_factor + s.airspeed_sd_m_s * self.random.normal();
            row.push(told.max(0.0));
        }
        row.extend(m.sticks.iter());
        row.push(m.throttle);
        row.extend_from_slice(m.pulses_us);
        if s.power {
            row.push(m.volts + 0.02 * self.random.normal());
            row.push((m.amps * (1.0 + 0.01 * self.random.normal())).max(0.0));
            row.push(m.state.charge_used_ah);
        }
        if s.rpm {
            row.push((m.rpm + 15.0 * self.random.normal() * f64::from(m.rpm > 0.0)).max(0.0));
        }
        row.push(match m.acts {
            Acts::Direct => 0.0,
            Acts::Rate => 1.0,
            Acts::Level => 2.0,
        });
        self.time_s.push(m.time_s);
        for (column, value) in self.columns.iter_mut().zip(row) {
            let step = 10_f64.powi(i32::try_from(column.decimals).unwrap_or(9));
            column.values.push((value * column.scale * step).round() / step / column.scale);
        }
    }

    /// Keeps a true position and velocity for the fix that comes later. Call at every step.
    pub(super) fn keep(&mut self, time_s: f64, state: &State) {
        if self.sensors.gps {
            self.past.push((time_s, state.position_ned_m, state.velocity_ned_m_s()));
            if self.past.len() > 4096 {
                let old = time_s - self.sensors.gps_delay_s - 1.0;
                self.past.retain(|(t, _, _)| *t >= old);
            }
        }
    }

    /// Latitude, longitude, altitude, velocity north, east, down, ground speed, course; or nothing between fixes.
    fn fix(&mut self, m: &Moment<'_>) -> [f64; 8] {
        if m.time_s + 1e-9 < self.next_fix_s {
            return [f64::NAN; 8];
        }
        self.next_fix_s += 1.0 / self.sensors.gps_hz;
        let wanted = m.time_s - self.sensors.gps_delay_s;
        let after = self.past.partition_point(|(t, _, _)| *t < wanted);
        let Some((_, place, velocity)) = self.past.get(after).or(self.past.last()).copied() else {
            return [f64::NAN; 8];
        };
        let s = self.sensors;
        let [wander_n, wander_e, wander_u] = self.wander;
        let mut spread = || s.gps_velocity_sd_m_s * self.random.normal();
        let velocity = velocity + Vec3::new(spread(), spread(), 1.5 * spread());
        let (latitude, longitude) = self.plane.latitude_longitude_deg(
            place.x + s.gps_position_sd_m * wander_n,
            place.y + s.gps_position_sd_m * wander_e,
        );
        let altitude = self.elevation_m - place.z + 1.5 * s.gps_position_sd_m * wander_u;
        let course = velocity.y.atan2(velocity.x);
        [
            latitude,
            longitude,
            altitude,
            velocity.x,
            velocity.y,
            velocity.z,
            velocity.x.hypot(velocity.y),
            course.rem_euclid(std::f64::consts::TAU),
        ]
    }
}

fn columns(sensors: &Sensors, channels: &[String]) -> Vec<Column> {
    let mut all = Vec::new();
    let mut add = |header: &str, quantity: Quantity, scale: f64, decimals: usize| {
        all.push(Column { header: header.into(), quantity, scale, decimals, values: Vec::new() });
    };
    add("roll_deg", Quantity::Roll, DEG_PER_RAD, 2);
    add("pitch_deg", Quantity::Pitch, DEG_PER_RAD, 2);
    add("heading_deg", Quantity::Yaw, DEG_PER_RAD, 2);
    add("roll_rate_deg_s", Quantity::RollRate, DEG_PER_RAD, 2);
    add("pitch_rate_deg_s", Quantity::PitchRate, DEG_PER_RAD, 2);
    add("yaw_rate_deg_s", Quantity::YawRate, DEG_PER_RAD, 2);
    add("force_x_m_s2", Quantity::ForceX, 1.0, 3);
    add("force_y_m_s2", Quantity::ForceY, 1.0, 3);
    add("force_z_m_s2", Quantity::ForceZ, 1.0, 3);
    add("height_m", Quantity::Height, 1.0, 2);
    if sensors.gps {
        add("latitude_deg", Quantity::Latitude, 1.0, 7);
        add("longitude_deg", Quantity::Longitude, 1.0, 7);
        add("altitude_m", Quantity::Altitude, 1.0, 2);
        add("velocity_north_m_s", Quantity::VelocityNorth, 1.0, 2);
        add("velocity_east_m_s", Quantity::VelocityEast, 1.0, 2);
        add("velocity_down_m_s", Quantity::VelocityDown, 1.0, 2);
        add("ground_speed_m_s", Quantity::GroundSpeed, 1.0, 2);
        add("course_deg", Quantity::Course, DEG_PER_RAD, 1);
    }
    if sensors.airspeed {
        add("airspeed_m_s", Quantity::Airspeed, 1.0, 2);
    }
    add("stick_roll", Quantity::StickRoll, 1.0, 4);
    add("stick_pitch", Quantity::StickPitch, 1.0, 4);
    add("stick_yaw", Quantity::StickYaw, 1.0, 4);
    add("throttle_percent", Quantity::Throttle, 100.0, 1);
    for channel in channels {
        // A channel called "servo 1" is not to be headed "servo_servo_1".
        let name = channel.trim().replace([' ', ','], "_");
        let bare = match name.get(..5).zip(name.get(5..)) {
            Some((word, rest)) if word.eq_ignore_ascii_case("servo") && !rest.is_empty() => {
                rest.trim_start_matches('_')
            }
            _ => name.as_str(),
        };
        let header = format!("servo_{bare}_us");
        add(&header, Quantity::Servo(channel.clone()), 1.0, 1);
    }
    if sensors.power {
        add("pack_v", Quantity::Volts, 1.0, 2);
        add("pack_a", Quantity::Amps, 1.0, 2);
        add("used_mah", Quantity::ChargeUsed, 1000.0, 1);
    }
    if sensors.rpm {
        add("rpm", Quantity::Rpm, 1.0, 0);
    }
    add("acts", Quantity::Acts, 1.0, 0);
    all
}

/// The word that the log writes for how the stick acts.
fn acts_word(value: f64) -> &'static str {
    if value < 0.5 {
        Acts::Direct.word()
    } else if value < 1.5 {
        Acts::Rate.word()
    } else {
        Acts::Level.word()
    }
}

fn left_out(time_s: f64, flaws: &[MadeFlaw]) -> bool {
    flaws.iter().any(|flaw| match flaw {
        MadeFlaw::Gap { at_s, for_s } => (*at_s..at_s + for_s).contains(&time_s),
        _ => false,
    })
}

/// The log as text, with the flaws of the script.
pub(super) fn to_csv(time_s: &[f64], columns: &[Column], flaws: &[MadeFlaw]) -> String {
    let mut text = String::with_capacity(time_s.len() * columns.len() * 8);
    text.push_str("time_s");
    for column in columns {
        text.push(',');
        text.push_str(&column.header);
    }
    text.push('\n');
    for (row, time) in time_s.iter().enumerate() {
        if left_out(*time, flaws) {
            continue;
        }
        // The clock of the last reset before this row.
        let reset = flaws
            .iter()
            .filter_map(|flaw| match flaw {
                MadeFlaw::TimeReset { at_s } if at_s <= time => Some(*at_s),
                _ => None,
            })
            .fold(0.0, f64::max);
        // Writing into a string cannot fail.
        let _ = write!(text, "{:.3}", time - reset);
        for column in columns {
            text.push(',');
            let value = column.values.get(row).copied().unwrap_or(f64::NAN);
            if column.quantity == Quantity::Acts {
                text.push_str(acts_word(value));
            } else if value.is_finite() {
                let _ = write!(text, "{:.*}", column.decimals, value * column.scale);
            }
        }
        text.push('\n');
    }
    if flaws.contains(&MadeFlaw::Truncated) {
        let last = text.trim_end().rfind('\n').unwrap_or(0);
        text.truncate(last + (text.len() - last) / 2);
    }
    text
}

/// The log as a recording, without going through text: gaps are made, the other flaws are of the text only.
pub(super) fn to_recording(time_s: &[f64], columns: &[Column], flaws: &[MadeFlaw]) -> Recording {
    let kept: Vec<usize> =
        (0..time_s.len()).filter(|i| time_s.get(*i).is_some_and(|t| !left_out(*t, flaws))).collect();
    let pick = |values: &[f64]| -> Vec<f64> { kept.iter().filter_map(|i| values.get(*i).copied()).collect() };
    let shared = Arc::new(pick(time_s));
    Recording {
        channels: columns
            .iter()
            .map(|column| Channel {
                quantity: column.quantity.clone(),
                source: column.header.clone(),
                time_s: Arc::clone(&shared),
                values: pick(&column.values),
            })
            .collect(),
        rows: kept.len(),
        ..Recording::default()
    }
}

/// Attitude of the controller's axes in the body for angles (roll, pitch) at which it sits beyond what is set, rad.
pub(super) fn body_from_controller(roll_rad: f64, pitch_rad: f64) -> Rotation {
    frames::ned_from_body(roll_rad, pitch_rad, 0.0)
}

/// Degrees of an angle, for texts.
pub(super) fn degrees(rad: f64) -> f64 {
    rad / RAD_PER_DEG
}
