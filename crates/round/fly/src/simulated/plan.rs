//! What is the pilot about at this moment? The steps of the script, one after the other, each to its end.

use numerics::frames::wrap_rad;

use super::pilot::{Goal, Lateral, Power, Seen, Vertical};
use super::script::{Hold, Step, What};

/// Where the flight is in the script.
pub(super) struct Plan {
    steps: Vec<Step>,
    index: usize,
    begun: bool,
    /// Time in the step, s.
    in_step_s: f64,
    /// Time since what the step waits for came about, s.
    counted_s: f64,
    heading_rad: f64,
    height_m: f64,
    turned_rad: f64,
    before_heading_rad: f64,
    stalled_s: f64,
    recovering: bool,
    speeds: Speeds,
    into_wind_rad: f64,
    powered: bool,
}

/// Speeds that steps fall back on, m/s.
#[derive(Debug, Clone, Copy)]
pub(super) struct Speeds {
    pub reference_m_s: f64,
    pub approach_m_s: f64,
}

/// What the plan needs to know beside what the pilot sees.
#[derive(Debug, Clone, Copy)]
pub(super) struct Place {
    pub north_m: f64,
    pub east_m: f64,
    /// How far stalled, 0 to 1.
    pub stalled: f64,
}

impl Plan {
    pub(super) fn new(steps: &[Step], speeds: Speeds, into_wind_rad: f64, powered: bool) -> Self {
        Self {
            steps: steps.to_vec(),
            index: 0,
            begun: false,
            in_step_s: 0.0,
            counted_s: 0.0,
            heading_rad: into_wind_rad,
            height_m: 0.0,
            turned_rad: 0.0,
            before_heading_rad: into_wind_rad,
            stalled_s: 0.0,
            recovering: false,
            speeds,
            into_wind_rad,
            powered,
        }
    }

    /// Number of the step now and its content; `None` when all are flown.
    pub(super) fn now(&self) -> Option<(usize, &Step)> {
        self.steps.get(self.index).map(|s| (self.index, s))
    }

    /// What the pilot is about, `dt_s` later; `None` when all steps are flown.
    pub(super) fn goal(&mut self, seen: &Seen, place: &Place, dt_s: f64) -> Option<Goal> {
        loop {
            let step = self.steps.get(self.index)?.clone();
            if !self.begun {
                self.begin(&step.what, seen);
            }
            if self.over(&step.what, seen, place) {
                self.index += 1;
                self.begun = false;
                continue;
            }
            self.in_step_s += dt_s;
            self.turned_rad += wrap_rad(seen.heading_rad - self.before_heading_rad);
            self.before_heading_rad = seen.heading_rad;
            let on_heading =
                wrap_rad(self.heading_rad - seen.heading_rad).abs() < 0.1 && seen.roll_rad.abs() < 0.15;
            if on_heading || self.counted_s > 0.0 || self.in_step_s > 20.0 {
                self.counted_s += dt_s;
            }
            if place.stalled > 0.5 {
                self.stalled_s += dt_s;
            }
            return Some(self.aim(&step, place, seen.height_m));
        }
    }

    fn begin(&mut self, what: &What, seen: &Seen) {
        let (heading, keeps_height) = match *what {
            What::Launch { heading_rad, .. } => (heading_rad.or(Some(self.into_wind_rad)), false),
            What::Approach { heading_rad, .. } => (heading_rad.or(Some(self.into_wind_rad)), false),
            What::Climb { heading_rad, .. } | What::Glide { heading_rad, .. } => (heading_rad, false),
            What::Straight { heading_rad, hold, .. } => (heading_rad, hold == Hold::Height),
            What::Turn { .. } | What::Input { .. } | What::Stall { .. } | What::Return { .. } => (None, true),
            What::Land => (Some(self.heading_rad), false),
        };
        self.begun = true;
        self.in_step_s = 0.0;
        self.counted_s = 0.0;
        self.turned_rad = 0.0;
        self.before_heading_rad = seen.heading_rad;
        self.stalled_s = 0.0;
        self.recovering = false;
        // A heading that was held goes on unless the aircraft is well off it.
        self.heading_rad = heading.unwrap_or_else(|| {
            if wrap_rad(self.heading_rad - seen.heading_rad).abs() < 0.2 {
                self.heading_rad
            } else {
                seen.heading_rad
            }
        });
        if !keeps_height || (self.height_m - seen.height_m).abs() > 8.0 {
            self.height_m = seen.height_m.max(5.0);
        }
    }

    fn over(&mut self, what: &What, seen: &Seen, place: &Place) -> bool {
        match *what {
            What::Launch { to_height_m, .. } => {
                let climbed = seen.height_m >= to_height_m;
                self.in_step_s > if self.powered { 20.0 } else { 2.0 } || climbed
            }
            What::Climb { to_height_m, .. } => {
                let there = seen.height_m >= to_height_m;
                if there {
                    self.height_m = to_height_m;
                }
                there || self.in_step_s > 180.0
            }
            What::Straight { seconds, .. } | What::Glide { seconds, .. } => self.counted_s >= seconds,
            What::Turn { angle_rad, .. } => self.turned_rad.abs() >= angle_rad || self.in_step_s > 600.0,
            What::Input { shape, seconds, rest_s, .. } => self.in_step_s >= shape.length_s(seconds) + rest_s,
            What::Stall { seconds } => {
                if !self.recovering && (self.stalled_s > 0.3 || self.in_step_s > seconds) {
                    self.recovering = true;
                    self.counted_s = 0.0;
                    self.in_step_s = 0.0;
                }
                self.recovering && self.in_step_s > 4.0
            }
            What::Return { within_m, .. } => {
                place.north_m.hypot(place.east_m) <= within_m || self.in_step_s > 300.0
            }
            What::Approach { to_height_m, .. } => seen.height_m <= to_height_m || self.in_step_s > 300.0,
            What::Land => self.in_step_s > 120.0,
        }
    }

    fn aim(&self, step: &Step, place: &Place, height_m: f64) -> Goal {
        let reference = self.speeds.reference_m_s;
        let heading = Lateral::Heading(self.heading_rad);
        let at_height = Vertical::Height(self.height_m);
        let cruise = |speed: Option<f64>| Power::Airspeed(speed.unwrap_or(reference));
        let mut input = None;
        let (lateral, vertical, power) = match step.what {
            What::Launch { throttle, .. } => {
                let up = if self.powered { Vertical::Pitch(0.25) } else { Vertical::Airspeed(reference) };
                (heading, up, Power::Fixed(throttle))
            }
            What::Climb { throttle, airspeed_m_s, .. } => {
                (heading, Vertical::Airspeed(airspeed_m_s.unwrap_or(reference)), Power::Fixed(throttle))
            }
            What::Straight { hold, airspeed_m_s, throttle, .. } => {
                let vertical = match hold {
                    Hold::Height => at_height,
                    Hold::Airspeed => Vertical::Airspeed(airspeed_m_s.unwrap_or(reference)),
                    Hold::Stick => Vertical::Stick,
                };
                let power = throttle.map_or(cruise(airspeed_m_s), Power::Fixed);
                (heading, vertical, power)
            }
            What::Turn { bank_rad, left, airspeed_m_s, .. } => {
                let bank = if left { -bank_rad } else { bank_rad };
                (Lateral::Bank(bank), at_height, cruise(airspeed_m_s))
            }
            What::Input { axis, shape, size, seconds, .. } => {
                let t = self.in_step_s;
                if t < shape.length_s(seconds) {
                    let long = shape.length_s(seconds) > 5.0;
                    input = Some((axis, size * shape.at(t, seconds), long));
                }
                (heading, at_height, cruise(None))
            }
            What::Glide { airspeed_m_s, .. } => {
                (heading, Vertical::Airspeed(airspeed_m_s.unwrap_or(reference)), Power::Fixed(0.0))
            }
            What::Stall { .. } if self.recovering => {
                (Lateral::Bank(0.0), Vertical::Pitch(-0.2), Power::Fixed(0.6))
            }
            What::Stall { .. } => (heading, at_height, Power::Fixed(0.0)),
            What::Return { airspeed_m_s, .. } => {
                let home = (-place.east_m).atan2(-place.north_m);
                (Lateral::Heading(home), at_height, cruise(airspeed_m_s))
            }
            What::Approach { throttle, airspeed_m_s, .. } => (
                heading,
                Vertical::Airspeed(airspeed_m_s.unwrap_or(self.speeds.approach_m_s)),
                Power::Fixed(throttle),
            ),
            What::Land => {
                // Speed is kept until two meters; then the sink is taken off.
                let vertical = if height_m > 2.0 {
                    Vertical::Airspeed(self.speeds.approach_m_s)
                } else {
                    Vertical::Climb(-0.4)
                };
                (heading, vertical, Power::Fixed(0.0))
            }
        };
        Goal { lateral, vertical, power, acts: step.acts, input }
    }
}
