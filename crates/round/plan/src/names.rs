//! Which predictions may a test point name, and what are they for this aircraft? Names and units as in the JSON
//! documents; a pair's ends are named `.0` and `.1`.

use aircraft::Known;
use numerics::uncertain::Uncertain;
use numerics::units::DEG_PER_RAD;
use predict::prediction::{DrivePrediction, NotPredicted, Outcome, Prediction};

use crate::card::Weather;

/// What expressions are evaluated over.
#[derive(Debug, Clone, Copy)]
pub struct Scope<'a> {
    /// What is predicted of the aircraft.
    pub prediction: &'a Prediction,
    /// The day.
    pub weather: &'a Weather,
}

/// A name and how to get its value.
#[derive(Debug)]
pub struct Name {
    /// As the JSON documents write it; ends in the unit.
    pub name: &'static str,
    /// Its value, or why there is none.
    pub value: fn(&Scope<'_>) -> Result<Uncertain, String>,
}

impl PartialEq for Name {
    fn eq(&self, other: &Self) -> bool {
        self.name == other.name
    }
}

type Value = Result<Uncertain, String>;

/// Why a prediction could not be made, as a sentence for people.
#[must_use]
pub fn reason(why: &NotPredicted) -> String {
    match why {
        NotPredicted::Missing { what } => format!("the aircraft file lacks {what}"),
        NotPredicted::NoSolution { why } => why.clone(),
    }
}

fn known(value: Known) -> Value {
    Ok(value.uncertain())
}

fn exact(value: f64) -> Value {
    Ok(Uncertain::exact(value))
}

fn scaled(value: &Outcome<Known>, factor: f64) -> Value {
    value.as_ref().map(|v| v.uncertain().scaled(factor)).map_err(reason)
}

fn plain(value: &Outcome<f64>, factor: f64) -> Value {
    value.as_ref().map(|v| Uncertain::exact(v * factor)).map_err(reason)
}

fn end(range: &Outcome<[f64; 2]>, which: usize) -> Value {
    match range {
        Ok([forward, aft]) => exact(if which == 0 { *forward } else { *aft }),
        Err(why) => Err(reason(why)),
    }
}

fn drive(scope: &Scope<'_>, get: impl Fn(&DrivePrediction) -> Value) -> Value {
    match &scope.prediction.drive {
        Ok(drive) => get(drive),
        Err(why) => Err(reason(why)),
    }
}

fn throw(scope: &Scope<'_>, axis: usize) -> Value {
    match scope.prediction.control.throws_rad.get(axis) {
        Some(Some(throw)) => exact(throw * DEG_PER_RAD),
        _ => Err("no movable surface answers this demand".to_owned()),
    }
}

/// Every name.
pub static ALL: &[Name] = &[
    Name { name: "mass.total_kg", value: |s| known(s.prediction.balance.total_kg) },
    Name { name: "balance.cg_x_m", value: |s| known(s.prediction.balance.cg_x_m) },
    Name { name: "balance.neutral_point_x_m", value: |s| known(s.prediction.stability.neutral_point_x_m) },
    Name {
        name: "balance.static_margin_percent",
        value: |s| known(s.prediction.stability.static_margin_percent),
    },
    Name { name: "balance.range_x_m.0", value: |s| end(&s.prediction.stability.range_x_m, 0) },
    Name { name: "balance.range_x_m.1", value: |s| end(&s.prediction.stability.range_x_m, 1) },
    Name {
        name: "balance.first_flight_range_x_m.0",
        value: |s| end(&s.prediction.stability.first_flight_range_x_m, 0),
    },
    Name {
        name: "balance.first_flight_range_x_m.1",
        value: |s| end(&s.prediction.stability.first_flight_range_x_m, 1),
    },
    Name { name: "geometry.wing_area_m2", value: |s| exact(s.prediction.geometry.wing_area_m2) },
    Name { name: "geometry.mean_chord_m", value: |s| exact(s.prediction.geometry.mean_chord_m) },
    Name { name: "geometry.span_m", value: |s| exact(s.prediction.geometry.span_m) },
    Name { name: "lift.slope_per_rad", value: |s| known(s.prediction.lift.slope_per_rad) },
    Name { name: "lift.cl_max", value: |s| known(s.prediction.lift.cl_max) },
    Name { name: "speeds.stall_m_s", value: |s| known(s.prediction.speeds.stall_m_s) },
    Name { name: "speeds.stall_banked_m_s.30", value: |s| exact(s.prediction.speeds.stall_banked_m_s[0]) },
    Name { name: "speeds.stall_banked_m_s.45", value: |s| exact(s.prediction.speeds.stall_banked_m_s[1]) },
    Name { name: "speeds.stall_banked_m_s.60", value: |s| exact(s.prediction.speeds.stall_banked_m_s[2]) },
    Name { name: "speeds.least_sink_m_s", value: |s| known(s.prediction.speeds.least_sink_m_s) },
    Name { name: "speeds.best_glide_m_s", value: |s| known(s.prediction.speeds.best_glide_m_s) },
    Name { name: "speeds.cruise_m_s", value: |s| known(s.prediction.speeds.cruise_m_s) },
    Name { name: "speeds.top_m_s", value: |s| scaled(&s.prediction.speeds.top_m_s, 1.0) },
    Name {
        name: "speeds.cruise_pitch_deg",
        value: |s| Ok(s.prediction.speeds.cruise_pitch_rad.uncertain().scaled(DEG_PER_RAD)),
    },
    Name {
        name: "speeds.cruise_elevator_deg",
        value: |s| scaled(&s.prediction.speeds.cruise_elevator_rad, DEG_PER_RAD),
    },
    Name { name: "polar.best_glide_ratio", value: |s| known(s.prediction.polar.best_glide_ratio) },
    Name { name: "polar.least_sink_m_s", value: |s| known(s.prediction.polar.least_sink_m_s) },
    Name {
        name: "control.roll_rate_deg_s",
        value: |s| scaled(&s.prediction.control.roll_rate_rad_s, DEG_PER_RAD),
    },
    Name {
        name: "control.time_to_bank_45_s",
        value: |s| plain(&s.prediction.control.time_to_bank_45_s, 1.0),
    },
    Name {
        name: "control.roll_rate_per_deg_deg_s",
        value: |s| plain(&s.prediction.control.roll_rate_per_rad_s, 1.0),
    },
    Name {
        name: "control.roll_time_constant_s",
        value: |s| plain(&s.prediction.control.roll_time_constant_s, 1.0),
    },
    Name {
        name: "control.pitch_rate_per_deg_deg_s",
        value: |s| plain(&s.prediction.control.pitch_rate_per_rad_s, 1.0),
    },
    Name {
        name: "control.elevator_left_at_stall_deg",
        value: |s| plain(&s.prediction.control.elevator_left_at_stall_rad, DEG_PER_RAD),
    },
    Name { name: "control.throw_roll_deg", value: |s| throw(s, 0) },
    Name { name: "control.throw_pitch_deg", value: |s| throw(s, 1) },
    Name { name: "control.throw_yaw_deg", value: |s| throw(s, 2) },
    Name { name: "drive.static_thrust_n", value: |s| drive(s, |d| known(d.static_thrust_n)) },
    Name { name: "drive.static_current_a", value: |s| drive(s, |d| known(d.static_current_a)) },
    Name { name: "drive.static_rpm", value: |s| drive(s, |d| known(d.static_rpm)) },
    Name { name: "drive.thrust_to_weight", value: |s| drive(s, |d| known(d.thrust_to_weight)) },
    Name { name: "drive.cruise_current_a", value: |s| drive(s, |d| scaled(&d.cruise_current_a, 1.0)) },
    Name { name: "drive.cruise_throttle_percent", value: |s| drive(s, |d| plain(&d.cruise_throttle, 100.0)) },
    Name { name: "drive.endurance_s", value: |s| drive(s, |d| scaled(&d.endurance_s, 1.0)) },
    Name { name: "drive.range_m", value: |s| drive(s, |d| scaled(&d.range_m, 1.0)) },
    Name { name: "drive.climb_m_s", value: |s| drive(s, |d| scaled(&d.climb_m_s, 1.0)) },
    Name { name: "weather.wind_m_s", value: |s| exact(s.weather.wind_m_s) },
    Name { name: "weather.gust_m_s", value: |s| exact(s.weather.gust_m_s) },
];
