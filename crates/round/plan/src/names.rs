//! Which predictions may a test point name, and what are they for this aircraft? Names and units as in the JSON
//! documents; a pair's ends are named `.0` and `.1`. `panel.*_share` is the panel's degree in each of the axis: of mixed surfaces
//! a part.

use aircraft::control::Axis;
use aircraft::{Aircraft, Known};
use numerics::uncertain::Uncertain;
use numerics::units::DEG_PER_RAD;
use predict::prediction::{DrivePrediction, NotPredicted, Outcome, Prediction};

use crate::card::Weather;
use crate::panels;

/// What expressions are evaluated over.
#[derive(Debug, Clone, Copy)]
pub struct Scope<'a> {
    /// The aircraft.
    pub aircraft: &'a Aircraft,
    /// What is predicted of it.
    pub prediction: &'a Prediction,
    /// The day.
    pub weather: &'a Weather,
}

/// A name and how to get its value.
#[derive(Debug)]
pub struct Name {
    /// As the JSON documents write it; ends in the unit.
    pub name: &'static str,
    /// What people call it ("the stall speed").
    pub words: &'static str,
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
        // A flying wing without a rudder lacks nothing: what no surface answers is told as it is, and not as a fault.
        NotPredicted::Missing { what } => match unanswered(what) {
            Some(axis) => format!("no movable surface answers {axis}"),
            None => format!("the aircraft file lacks {what}"),
        },
        NotPredicted::NoSolution { why } => why.clone(),
    }
}

fn unanswered(what: &str) -> Option<&'static str> {
    ["roll", "pitch", "yaw", "flap"].into_iter().find(|axis| {
        what == format!("a [[movable]] with a share of {axis} in its mix")
            || what.starts_with(&format!("a movable whose mix answers {axis}"))
    })
}

/// Share that the movable which answers an axis most takes of it.
fn share(scope: &Scope<'_>, axis: Axis) -> Value {
    match panels::lead(scope.aircraft, axis) {
        Some((_, gain)) => exact(gain.abs()),
        None => Err(format!("no movable surface answers {}", axis.word())),
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
    Name { name: "mass.total_kg", words: "the mass", value: |s| known(s.prediction.balance.total_kg) },
    Name {
        name: "balance.cg_x_m",
        words: "the balance point",
        value: |s| known(s.prediction.balance.cg_x_m),
    },
    Name {
        name: "balance.neutral_point_x_m",
        words: "the neutral point",
        value: |s| known(s.prediction.stability.neutral_point_x_m),
    },
    Name {
        name: "balance.static_margin_percent",
        words: "the static margin",
        value: |s| known(s.prediction.stability.static_margin_percent),
    },
    Name {
        name: "balance.range_x_m.0",
        words: "the forward limit of balance",
        value: |s| end(&s.prediction.stability.range_x_m, 0),
    },
    Name {
        name: "balance.range_x_m.1",
        words: "the aft limit of balance",
        value: |s| end(&s.prediction.stability.range_x_m, 1),
    },
    Name {
        name: "balance.first_flight_range_x_m.0",
        words: "the forward limit of balance for a first flight",
        value: |s| end(&s.prediction.stability.first_flight_range_x_m, 0),
    },
    Name {
        name: "balance.first_flight_range_x_m.1",
        words: "the aft limit of balance for a first flight",
        value: |s| end(&s.prediction.stability.first_flight_range_x_m, 1),
    },
    Name {
        name: "geometry.wing_area_m2",
        words: "the wing area",
        value: |s| exact(s.prediction.geometry.wing_area_m2),
    },
    Name {
        name: "geometry.mean_chord_m",
        words: "the mean chord",
        value: |s| exact(s.prediction.geometry.mean_chord_m),
    },
    Name { name: "geometry.span_m", words: "the span", value: |s| exact(s.prediction.geometry.span_m) },
    Name {
        name: "lift.slope_per_rad",
        words: "the slope of lift",
        value: |s| known(s.prediction.lift.slope_per_rad),
    },
    Name {
        name: "lift.cl_max",
        words: "the largest lift coefficient",
        value: |s| known(s.prediction.lift.cl_max),
    },
    Name {
        name: "speeds.stall_m_s",
        words: "the stall speed",
        value: |s| known(s.prediction.speeds.stall_m_s),
    },
    Name {
        name: "speeds.stall_banked_m_s.30",
        words: "the stall speed in a bank of 30°",
        value: |s| exact(s.prediction.speeds.stall_banked_m_s[0]),
    },
    Name {
        name: "speeds.stall_banked_m_s.45",
        words: "the stall speed in a bank of 45°",
        value: |s| exact(s.prediction.speeds.stall_banked_m_s[1]),
    },
    Name {
        name: "speeds.stall_banked_m_s.60",
        words: "the stall speed in a bank of 60°",
        value: |s| exact(s.prediction.speeds.stall_banked_m_s[2]),
    },
    Name {
        name: "speeds.least_sink_m_s",
        words: "the speed of least sink",
        value: |s| known(s.prediction.speeds.least_sink_m_s),
    },
    Name {
        name: "speeds.best_glide_m_s",
        words: "the speed of best glide",
        value: |s| known(s.prediction.speeds.best_glide_m_s),
    },
    Name {
        name: "speeds.cruise_m_s",
        words: "the cruise speed",
        value: |s| known(s.prediction.speeds.cruise_m_s),
    },
    Name {
        name: "speeds.top_m_s",
        words: "the top speed",
        value: |s| scaled(&s.prediction.speeds.top_m_s, 1.0),
    },
    Name {
        name: "speeds.cruise_pitch_deg",
        words: "the pitch attitude at cruise",
        value: |s| Ok(s.prediction.speeds.cruise_pitch_rad.uncertain().scaled(DEG_PER_RAD)),
    },
    Name {
        name: "speeds.cruise_elevator_deg",
        words: "the elevator angle at cruise",
        value: |s| scaled(&s.prediction.speeds.cruise_elevator_rad, DEG_PER_RAD),
    },
    Name {
        name: "polar.best_glide_ratio",
        words: "the best glide ratio",
        value: |s| known(s.prediction.polar.best_glide_ratio),
    },
    Name {
        name: "polar.least_sink_m_s",
        words: "the least sink",
        value: |s| known(s.prediction.polar.least_sink_m_s),
    },
    Name {
        name: "control.roll_rate_deg_s",
        words: "the roll rate",
        value: |s| scaled(&s.prediction.control.roll_rate_rad_s, DEG_PER_RAD),
    },
    Name {
        name: "control.time_to_bank_45_s",
        words: "the time to bank 45°",
        value: |s| plain(&s.prediction.control.time_to_bank_45_s, 1.0),
    },
    Name {
        name: "control.roll_rate_per_deg_deg_s",
        words: "the roll rate for each degree",
        value: |s| plain(&s.prediction.control.roll_rate_per_rad_s, 1.0),
    },
    Name {
        name: "control.roll_time_constant_s",
        words: "the time constant of roll",
        value: |s| plain(&s.prediction.control.roll_time_constant_s, 1.0),
    },
    Name {
        name: "control.pitch_rate_per_deg_deg_s",
        words: "the pitch rate for each degree",
        value: |s| plain(&s.prediction.control.pitch_rate_per_rad_s, 1.0),
    },
    Name {
        name: "control.elevator_left_at_stall_deg",
        words: "the elevator left at the stall",
        value: |s| plain(&s.prediction.control.elevator_left_at_stall_rad, DEG_PER_RAD),
    },
    Name { name: "control.throw_roll_deg", words: "the throw in roll", value: |s| throw(s, 0) },
    Name { name: "control.throw_pitch_deg", words: "the throw in pitch", value: |s| throw(s, 1) },
    Name { name: "control.throw_yaw_deg", words: "the throw in yaw", value: |s| throw(s, 2) },
    Name { name: "panel.roll_share", words: "the share of roll", value: |s| share(s, Axis::Roll) },
    Name { name: "panel.pitch_share", words: "the share of pitch", value: |s| share(s, Axis::Pitch) },
    Name { name: "panel.yaw_share", words: "the share of yaw", value: |s| share(s, Axis::Yaw) },
    Name {
        name: "drive.static_thrust_n",
        words: "the static thrust",
        value: |s| drive(s, |d| known(d.static_thrust_n)),
    },
    Name {
        name: "drive.static_current_a",
        words: "the static current",
        value: |s| drive(s, |d| known(d.static_current_a)),
    },
    Name {
        name: "drive.static_rpm",
        words: "the static speed of the propeller",
        value: |s| drive(s, |d| known(d.static_rpm)),
    },
    Name {
        name: "drive.thrust_to_weight",
        words: "the static thrust over weight",
        value: |s| drive(s, |d| known(d.thrust_to_weight)),
    },
    Name {
        name: "drive.cruise_current_a",
        words: "the current at cruise",
        value: |s| drive(s, |d| scaled(&d.cruise_current_a, 1.0)),
    },
    Name {
        name: "drive.cruise_throttle_percent",
        words: "the throttle at cruise",
        value: |s| drive(s, |d| plain(&d.cruise_throttle, 100.0)),
    },
    Name {
        name: "drive.endurance_s",
        words: "the endurance",
        value: |s| drive(s, |d| scaled(&d.endurance_s, 1.0)),
    },
    Name { name: "drive.range_m", words: "the range", value: |s| drive(s, |d| scaled(&d.range_m, 1.0)) },
    Name {
        name: "drive.climb_m_s",
        words: "the climb rate",
        value: |s| drive(s, |d| scaled(&d.climb_m_s, 1.0)),
    },
    Name { name: "weather.wind_m_s", words: "the mean wind", value: |s| exact(s.weather.wind_m_s) },
    Name { name: "weather.gust_m_s", words: "the gusts", value: |s| exact(s.weather.gust_m_s) },
];
