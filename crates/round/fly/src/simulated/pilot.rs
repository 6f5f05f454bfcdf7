//! How does the pilot move the sticks? A person who sees attitude, height and speed a moment late and not quite right,
//! holds what the script asks for, and learns within seconds where a stick must stand for it.

use aircraft::controller::Acts;
use motion::handling::Handling;
use numerics::Vec3;
use numerics::frames::wrap_rad;
use numerics::random::Random;
use numerics::units::G_M_S2;

use super::script::{PilotManner, StickAxis};
use super::servos::Demand;

/// What the pilot holds about roll and heading.
#[derive(Debug, Clone, Copy)]
pub(super) enum Lateral {
    /// A bank, rad.
    Bank(f64),
    /// A heading, rad.
    Heading(f64),
}

/// What the pilot holds with pitch.
#[derive(Debug, Clone, Copy)]
pub(super) enum Vertical {
    /// A height, m.
    Height(f64),
    /// A rate of climb, m/s.
    Climb(f64),
    /// An airspeed, m/s.
    Airspeed(f64),
    /// A pitch attitude, rad.
    Pitch(f64),
    /// The stick, where it is: centred, or in direct where it held last.
    Stick,
}

/// What the pilot does with the throttle.
#[derive(Debug, Clone, Copy)]
pub(super) enum Power {
    /// Leaves it at a setting, 0 to 1.
    Fixed(f64),
    /// Holds an airspeed, m/s.
    Airspeed(f64),
}

/// What the pilot is about.
#[derive(Debug, Clone, Copy)]
pub(super) struct Goal {
    pub lateral: Lateral,
    pub vertical: Vertical,
    pub power: Power,
    pub acts: Acts,
    /// A stick that is moved on purpose, how far from where it stood, and whether the pilot goes on correcting (gently)
    /// with it meanwhile.
    pub input: Option<(StickAxis, f64, bool)>,
}

/// What there is to see.
#[derive(Debug, Clone, Copy)]
pub(super) struct Seen {
    pub roll_rad: f64,
    pub pitch_rad: f64,
    pub heading_rad: f64,
    pub rates_rad_s: Vec3,
    pub height_m: f64,
    pub climb_m_s: f64,
    pub airspeed_m_s: f64,
    /// Specific force to the right, m/s²: whether it flies sideways.
    pub side_force_m_s2: f64,
}

/// The pilot.
pub(super) struct Pilot {
    manner: PilotManner,
    random: Random,
    handling: Handling,
    largest_rate_rad_s: [f64; 3],
    largest_angle_rad: [f64; 2],
    /// Misjudgment of [bank, pitch, speed], in standard deviations.
    misjudged: [f64; 3],
    /// Where the sticks must stand, as learnt.
    trim: Demand,
    pitch_integral_rad: f64,
    level_pitch_rad: f64,
    throttle_integral: f64,
    /// Bank and pitch that the pilot is just now asking for: on the way to what is wanted.
    asked_rad: [f64; 2],
    acts: Acts,
    /// Stick positions.
    pub sticks: Demand,
    /// Throttle, 0 to 1.
    pub throttle: f64,
    /// Positions when a deliberate movement began.
    before_input: Option<Demand>,
}

/// Rates wanted per angle of error, 1/s: bank and pitch.
const BANK_PER_S: f64 = 2.0;
const PITCH_PER_S: f64 = 1.8;
/// How fast the pilot lets bank and pitch change, rad/s.
const FASTEST_RAD_S: [f64; 2] = [0.7, 0.25];

impl Pilot {
    pub(super) fn new(
        manner: PilotManner,
        handling: Handling,
        largest_rate_rad_s: [f64; 3],
        largest_angle_rad: [f64; 2],
        random: Random,
    ) -> Self {
        Self {
            manner,
            random,
            handling,
            largest_rate_rad_s,
            largest_angle_rad,
            misjudged: [0.0; 3],
            trim: Demand::zeros(),
            pitch_integral_rad: 0.0,
            level_pitch_rad: handling.level.pitch_rad,
            throttle_integral: 0.0,
            asked_rad: [0.0, handling.level.pitch_rad],
            acts: Acts::Direct,
            sticks: Demand::zeros(),
            throttle: 0.0,
            before_input: None,
        }
    }

    /// Looks, and moves sticks and throttle, `dt_s` later.
    pub(super) fn fly(&mut self, goal: &Goal, seen: &Seen, dt_s: f64) {
        self.misjudge(dt_s);
        if goal.acts != self.acts {
            // Another way of acting needs other stick positions for the same flight.
            self.acts = goal.acts;
            self.pitch_integral_rad = 0.0;
        }
        let speed = seen.airspeed_m_s.max(0.5 * self.handling.speed_m_s);
        let wanted = [bank_wanted(&goal.lateral, seen, speed), self.pitch_wanted(goal, seen, speed, dt_s)];
        for ((asked, wanted), most) in self.asked_rad.iter_mut().zip(wanted).zip(FASTEST_RAD_S) {
            *asked += (wanted - *asked).clamp(-most * dt_s, most * dt_s);
        }
        let [bank, pitch] = self.asked_rad;
        let bank_error = bank - (seen.roll_rad + 0.008 * self.misjudged[0]);
        let pitch_error = pitch - (seen.pitch_rad + 0.005 * self.misjudged[1]);
        let turn = G_M_S2 * seen.roll_rad.clamp(-1.2, 1.2).tan() / speed;
        let rate = Vec3::new(
            BANK_PER_S * bank_error,
            PITCH_PER_S * pitch_error * seen.roll_rad.cos() + turn * seen.roll_rad.sin(),
            turn * seen.roll_rad.cos(),
        );
        let mut wanted = match goal.acts {
            Acts::Direct => self.direct(&rate, seen, speed, goal, dt_s),
            Acts::Rate => self.by_rate(&rate),
            Acts::Level => self.by_angle(bank, pitch),
        };
        if matches!(goal.vertical, Vertical::Stick) {
            wanted.y = match goal.acts {
                Acts::Direct => self.trim.y,
                Acts::Rate | Acts::Level => 0.0,
            };
        }
        self.deliberate(goal, &mut wanted);
        let follow = 1.0 - (-dt_s / self.manner.lag_s).exp();
        for axis in 0..3 {
            let moved_on_purpose = goal.input.is_some_and(|(stick, _, _)| index(stick) == axis);
            // A movement on purpose is as fast as the hand, not as the eye.
            let share = if moved_on_purpose { 1.0 } else { follow };
            self.sticks[axis] += (wanted[axis].clamp(-1.0, 1.0) - self.sticks[axis]) * share;
        }
        let throttle = self.throttle_wanted(goal, seen, dt_s);
        self.throttle += (throttle - self.throttle) * (1.0 - (-dt_s / 0.3).exp());
    }

    fn misjudge(&mut self, dt_s: f64) {
        for x in &mut self.misjudged {
            let keep = (-dt_s / 0.7).exp();
            let fresh = (1.0 - keep * keep).sqrt() * self.manner.noise;
            *x = keep * *x + fresh * self.random.normal();
        }
    }

    fn pitch_wanted(&mut self, goal: &Goal, seen: &Seen, speed: f64, dt_s: f64) -> f64 {
        let climb = match goal.vertical {
            Vertical::Height(height) => (0.4 * (height - seen.height_m)).clamp(-2.5, 2.5),
            Vertical::Climb(climb) => climb,
            Vertical::Airspeed(wanted) => {
                let fast = seen.airspeed_m_s + 0.1 * self.misjudged[2] - wanted;
                self.pitch_integral_rad = (self.pitch_integral_rad + 0.012 * fast * dt_s).clamp(-0.6, 0.6);
                return (self.level_pitch_rad + self.pitch_integral_rad + 0.045 * fast).clamp(-0.6, 0.6);
            }
            Vertical::Pitch(pitch) => return pitch,
            Vertical::Stick => return seen.pitch_rad,
        };
        let error = (climb - seen.climb_m_s) / speed;
        self.pitch_integral_rad = (self.pitch_integral_rad + 0.5 * error * dt_s).clamp(-0.3, 0.3);
        (self.level_pitch_rad + climb / speed + self.pitch_integral_rad + 0.7 * error).clamp(-0.4, 0.4)
    }

    fn direct(&mut self, rate: &Vec3, seen: &Seen, speed: f64, goal: &Goal, dt_s: f64) -> Demand {
        // The steady rate for full stick grows with speed.
        let scale = speed / self.handling.speed_m_s;
        let [roll, pitch, _] = self.handling.rate_per_stick_rad_s.map(|r| r * scale);
        let held = |axis| goal.input.is_some_and(|(stick, _, _)| stick == axis);
        let answer = |wanted: f64, is: f64, per_stick: f64| {
            if per_stick > 1e-3 { (wanted + 0.3 * (wanted - is)) / per_stick } else { 0.0 }
        };
        let x = answer(rate.x, seen.rates_rad_s.x, roll);
        let y = answer(rate.y, seen.rates_rad_s.y, pitch);
        // What keeps being wanted becomes where the stick stands.
        if !held(StickAxis::Roll) {
            self.trim.x = (self.trim.x + 0.5 * x * dt_s).clamp(-0.8, 0.8);
        }
        if !held(StickAxis::Pitch) && !matches!(goal.vertical, Vertical::Stick) {
            self.trim.y = (self.trim.y + 0.7 * y * dt_s).clamp(-0.8, 0.8);
        }
        let side = self.handling.side_force_per_stick_m_s2;
        if !held(StickAxis::Yaw) && side.abs() > 0.05 {
            let change = -0.4 * seen.side_force_m_s2 / side;
            self.trim.z = (self.trim.z + change * dt_s).clamp(-0.6, 0.6);
        }
        Demand::new(self.trim.x + x, self.trim.y + y, self.trim.z)
    }

    fn by_rate(&self, rate: &Vec3) -> Demand {
        let share = |wanted: f64, largest: f64| if largest > 0.0 { wanted / largest } else { 0.0 };
        let [roll, pitch, _] = self.largest_rate_rad_s;
        Demand::new(share(rate.x, roll), share(rate.y, pitch), 0.0)
    }

    fn by_angle(&self, bank: f64, pitch: f64) -> Demand {
        let share = |wanted: f64, largest: f64| if largest > 0.0 { wanted / largest } else { 0.0 };
        let [roll_most, pitch_most] = self.largest_angle_rad;
        Demand::new(share(bank, roll_most), share(pitch, pitch_most), 0.0)
    }

    fn deliberate(&mut self, goal: &Goal, wanted: &mut Demand) {
        let Some((stick, by, correcting)) = goal.input else {
            self.before_input = None;
            return;
        };
        let before = *self.before_input.get_or_insert(self.sticks);
        let axis = index(stick);
        let correction = if correcting { 0.25 * (wanted[axis] - before[axis]).clamp(-0.3, 0.3) } else { 0.0 };
        wanted[axis] = before[axis] + correction + by;
    }

    fn throttle_wanted(&mut self, goal: &Goal, seen: &Seen, dt_s: f64) -> f64 {
        match goal.power {
            Power::Fixed(throttle) => throttle,
            Power::Airspeed(wanted) => {
                let slow = wanted - (seen.airspeed_m_s + 0.1 * self.misjudged[2]);
                // Far from the speed there is nothing to learn about the throttle that holds it.
                if slow.abs() < 3.0 {
                    self.throttle_integral = (self.throttle_integral + 0.02 * slow * dt_s).clamp(-0.4, 0.4);
                }
                (self.handling.level.inputs.throttle + self.throttle_integral + 0.08 * slow).clamp(0.0, 1.0)
            }
        }
    }
}

fn bank_wanted(lateral: &Lateral, seen: &Seen, speed: f64) -> f64 {
    match lateral {
        Lateral::Bank(bank) => *bank,
        Lateral::Heading(heading) => {
            let error = wrap_rad(heading - seen.heading_rad);
            (0.5 * error * speed / G_M_S2).atan().clamp(-0.6, 0.6)
        }
    }
}

fn index(stick: StickAxis) -> usize {
    match stick {
        StickAxis::Roll => 0,
        StickAxis::Pitch => 1,
        StickAxis::Yaw => 2,
    }
}
