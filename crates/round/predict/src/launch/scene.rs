//! How is it launched, into what wind, and who steadies it? What a study of launches is told, with what is usual where
//! nothing is said.

use aircraft::controller::Acts;
use aircraft::start::{Ground, How};
use aircraft::{Aircraft, Known};
use numerics::units::{G_M_S2, RAD_PER_DEG};

use super::inputs::{Input, Scatter, Spread};
use super::outcome::Limits;
use crate::prediction::Prediction;

/// The way into the air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Method {
    /// Thrown by hand.
    Hand,
    /// Pulled by a rubber cord that is pegged to the ground.
    Bungee(Cord),
    /// Shot along a rail.
    Rail(Rail),
    /// On its wheels.
    Rolling(Run),
}

impl Method {
    /// The word used in files and on the command line.
    #[must_use]
    pub fn word(&self) -> &'static str {
        match self {
            Self::Hand => "hand",
            Self::Bungee(_) => "bungee",
            Self::Rail(_) => "rail",
            Self::Rolling(_) => "rolling",
        }
    }
}

/// A rubber cord.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cord {
    /// Stiffness, N/m.
    pub stiffness_n_m: f64,
    /// How far it is stretched before the release, m.
    pub stretch_m: f64,
    /// Share of its energy that reaches the model.
    pub efficiency: f64,
}

impl Cord {
    /// Stretched by 8 m to a pull of four times the weight; 80 % of the energy arrives (common practice, no source).
    #[must_use]
    pub fn usual(mass_kg: f64) -> Self {
        let stretch_m = 8.0;
        Self { stiffness_n_m: 4.0 * mass_kg * G_M_S2 / stretch_m, stretch_m, efficiency: 0.8 }
    }

    /// Speed at which a model of a mass (kg) leaves it in still air, its own drag and thrust left out, m/s:
    /// `sqrt(efficiency k s² / m)`.
    #[must_use]
    pub fn speed_m_s(&self, mass_kg: f64) -> f64 {
        (self.efficiency * self.stiffness_n_m * self.stretch_m * self.stretch_m / mass_kg).sqrt()
    }
}

/// A rail.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rail {
    /// Length over which it accelerates, m.
    pub length_m: f64,
    /// Angle above the horizon, rad.
    pub elevation_rad: f64,
    /// Height of the balance point at its begin above the ground, m.
    pub begin_m: f64,
}

impl Rail {
    /// Three meters at 12 degrees on a stand of half a meter (common practice, no source).
    pub const USUAL: Self = Self { length_m: 3.0, elevation_rad: 12.0 * RAD_PER_DEG, begin_m: 0.6 };
}

/// Room to roll.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Run {
    /// Length, m.
    pub length_m: f64,
    /// What it rolls on.
    pub ground: Ground,
}

/// The wind as told.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Breeze {
    /// Mean speed at the height below, m/s.
    pub speed_m_s: f64,
    /// Strongest wind of some minutes there, m/s; where not told, the gusts that go with such a mean wind.
    pub gust_m_s: Option<f64>,
    /// True direction it blows from, rad.
    pub from_rad: f64,
    /// Height above the ground that both hold for, m.
    pub height_m: f64,
}

/// Height of the wind of weather reports, m.
pub const REPORT_HEIGHT_M: f64 = 10.0;
/// Roughness length of a grass field, m (`sky::wind`).
pub const ROUGHNESS_M: f64 = 0.03;

/// A launch to be studied.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scene {
    /// The way into the air.
    pub method: Method,
    /// Wind.
    pub wind: Breeze,
    /// True heading of the launch, rad.
    pub heading_rad: f64,
    /// How the stick acts: with `Level` the controller holds wings level and the climb attitude (assisted launch);
    /// otherwise a pilot does.
    pub acts: Acts,
    /// Pitch attitude held after the release, rad.
    pub climb_pitch_rad: f64,
    /// Throttle, 0 to 1, once opened.
    pub throttle: f64,
    /// What scatters how far.
    pub scatter: Scatter,
    /// How long a launch is followed, s.
    pub seconds: f64,
    /// Steps a second.
    pub rate_hz: f64,
    /// Where the classes end.
    pub limits: Limits,
}

/// How long a launch is followed, s.
pub const SECONDS: f64 = 6.0;
/// Steps a second.
pub const RATE_HZ: f64 = 400.0;

/// Release speed of a one-kilogram model thrown with a few steps, m/s: the middle of the 6 to 10 m/s at which models of
/// 0.5 to 1.5 kg leave the hand (common practice, no source).
const THROW_1_KG_M_S: f64 = 8.0;
/// The speed of a throw falls with the mass to this power: 60 times the mass leaves the hand 2.4 times slower (R. Cross,
/// Am. J. Phys. 72 (2004) 305).
const THROW_POWER: f64 = -0.2138;
/// Standard deviation of the throw speed over its mean: between people and from throw to throw (judgement, no source).
const THROW_SD: f64 = 0.12;
/// Height of the hand, m.
const HAND_M: f64 = 1.8;
/// What a runner adds, m/s: a jog with a model held high (common practice, no source).
pub const RUN_ADDS_M_S: f64 = 2.5;

/// Speed at which a person throws a model of a mass (kg), with its scatter, m/s.
#[must_use]
pub fn throw_speed(mass_kg: f64) -> Spread {
    let mean = THROW_1_KG_M_S * mass_kg.powf(THROW_POWER);
    Spread::new(mean, THROW_SD * mean)
}

impl Scene {
    /// What is usual for an aircraft: launched as its file says, straight into the wind, assisted where its switch has
    /// such a position.
    #[must_use]
    pub fn usual(aircraft: &Aircraft, p: &Prediction, wind: Breeze) -> Self {
        let mass_kg = p.model.mass_kg;
        let method = match aircraft.start.how {
            How::Hand => Method::Hand,
            How::Bungee => Method::Bungee(Cord::usual(mass_kg)),
            How::Rolling => Method::Rolling(Run {
                length_m: aircraft.start.run_m.unwrap_or(60.0),
                ground: aircraft.start.ground.unwrap_or(Ground::ShortGrass),
            }),
        };
        Self::by(method, aircraft, p, wind)
    }

    /// The same for a chosen way into the air.
    #[must_use]
    pub fn by(method: Method, aircraft: &Aircraft, p: &Prediction, wind: Breeze) -> Self {
        let acts = [Acts::Level, Acts::Rate]
            .into_iter()
            .find(|acts| aircraft.controller.switch.iter().any(|s| s.acts == *acts))
            .unwrap_or(Acts::Direct);
        let limits = match method {
            // It begins on its wheels: low is where it comes from.
            Method::Rolling(_) => Limits { height_share: 0.0, ..Limits::default() },
            _ => Limits::default(),
        };
        Self {
            method,
            wind,
            heading_rad: wind.from_rad,
            acts,
            climb_pitch_rad: climb_pitch_rad(&method, aircraft, p),
            throttle: 1.0,
            scatter: scatter(&method, aircraft, p),
            seconds: SECONDS,
            rate_hz: RATE_HZ,
            limits,
        }
    }
}

/// Attitude to hold after the release: the cruise attitude and six tenths of the steepest climb, which leaves speed to
/// gather, between 5 and 14 degrees above cruise, after a take-off run no more than 8; cruise attitude where nothing
/// climbs.
fn climb_pitch_rad(method: &Method, aircraft: &Aircraft, p: &Prediction) -> f64 {
    let cruise = p.speeds.cruise_pitch_rad.value;
    let climb = p.drive.as_ref().ok().and_then(|d| d.climb_rad.as_ref().ok()).map(|k| k.value);
    let most_above = if matches!(method, Method::Rolling(_)) { 8.0 } else { 14.0 };
    let above =
        climb.map_or(0.0, |steepest| (0.6 * steepest).clamp(5.0 * RAD_PER_DEG, most_above * RAD_PER_DEG));
    let most = aircraft.controller.largest_angle_rad[1];
    if most > 0.0 { (cruise + above).min(most) } else { cruise + above }
}

/// Whether the propeller turns behind the hand: then the motor waits for the throw.
#[must_use]
pub fn propeller_behind(aircraft: &Aircraft) -> bool {
    aircraft.drive.as_ref().is_some_and(|d| d.pusher)
}

/// What is usual to scatter. Sources where there are any stand at the constants; the rest is judgement without a source:
/// angles and rates of a practiced thrower, and of the aircraft what its predictions leave in doubt.
fn scatter(method: &Method, aircraft: &Aircraft, p: &Prediction) -> Scatter {
    let mut s = Scatter::none();
    let start = &aircraft.start;
    let mass_kg = p.model.mass_kg;
    s.set(Input::WindFactor, Spread::new(1.0, 0.15));
    s.set(Input::WindShift, Spread::deg(0.0, 12.0));
    s.set(Input::Reaction, Spread::new(0.35, 0.08));
    let known = |k: Known| Spread::new(k.value, k.sd);
    match method {
        Method::Hand => {
            s.set(Input::Speed, start.throw_speed_m_s.map_or_else(|| throw_speed(mass_kg), known));
            s.set(Input::Elevation, Spread::deg(5.0, 4.0));
            s.set(Input::NoseUp, Spread::deg(0.0, 3.0));
            s.set(Input::Bank, Spread::deg(0.0, 7.0));
            s.set(Input::Direction, Spread::deg(0.0, 5.0));
            s.set(Input::RollRate, Spread::deg(0.0, 25.0));
            s.set(Input::PitchRate, Spread::deg(0.0, 15.0));
            s.set(Input::YawRate, Spread::deg(0.0, 15.0));
            s.set(Input::Height, Spread::new(start.height_m.unwrap_or(HAND_M), 0.12));
        }
        Method::Bungee(cord) => {
            let speed = cord.speed_m_s(mass_kg);
            s.set(Input::Speed, start.throw_speed_m_s.map_or(Spread::new(speed, 0.08 * speed), known));
            // As it is held against the cord.
            s.set(Input::Elevation, Spread::deg(12.0, 4.0));
            s.set(Input::Bank, Spread::deg(0.0, 6.0));
            s.set(Input::Direction, Spread::deg(0.0, 4.0));
            s.set(Input::Height, Spread::new(start.height_m.unwrap_or(1.2), 0.15));
        }
        Method::Rail(rail) => {
            let speed = 1.3 * p.speeds.stall_m_s.value;
            s.set(Input::Speed, start.throw_speed_m_s.map_or(Spread::new(speed, 0.05 * speed), known));
            s.set(Input::Elevation, Spread { mean: rail.elevation_rad, sd: RAD_PER_DEG });
            s.set(Input::Bank, Spread::deg(0.0, 1.5));
            s.set(Input::Direction, Spread::deg(0.0, 1.0));
            s.set(Input::Height, Spread::new(rail.begin_m, 0.02));
        }
        Method::Rolling(_) => {
            // Airspeed over the stall speed at which it is lifted off, as a speed over the ground in still air.
            let stall = p.speeds.stall_m_s.value;
            s.set(Input::Speed, Spread::new(1.2 * stall, 0.06 * stall));
            s.set(Input::Elevation, Spread::deg(4.0, 1.5));
            s.set(Input::NoseUp, Spread::deg(0.0, 1.5));
            s.set(Input::Bank, Spread::deg(0.0, 2.5));
            s.set(Input::Direction, Spread::deg(0.0, 5.0));
            s.set(Input::RollRate, Spread::deg(0.0, 10.0));
            s.set(Input::PitchRate, Spread::deg(0.0, 8.0));
            s.set(Input::YawRate, Spread::deg(0.0, 8.0));
            s.set(Input::Height, Spread::new(0.3, 0.03));
        }
    }
    let delay = match method {
        // Behind the hand a propeller must not turn: the throttle is opened when the hand is clear.
        Method::Hand if propeller_behind(aircraft) => Spread::new(0.4, 0.12),
        // A cord and a turning propeller do not go together: the motor starts when the cord has fallen, about then.
        Method::Bungee(_) => Spread::new(1.5, 0.25),
        _ => Spread::new(-1.0, 0.0),
    };
    s.set(Input::MotorDelay, delay);
    let over = |k: Known| if k.value > 0.0 { k.sd / k.value } else { 0.0 };
    s.set(Input::MassFactor, Spread::new(1.0, over(p.balance.total_kg)));
    s.set(Input::LiftFactor, Spread::new(1.0, over(p.lift.cl_max)));
    // The best glide ratio goes with the root of the drag at zero lift.
    s.set(Input::DragFactor, Spread::new(1.0, 2.0 * over(p.polar.best_glide_ratio)));
    s.set(Input::ThrustFactor, Spread::new(1.0, p.drive.as_ref().map_or(0.0, |d| over(d.static_thrust_n))));
    s.set(
        Input::BalanceAft,
        Spread::new(0.0, p.balance.cg_x_m.sd.hypot(p.stability.neutral_point_x_m.sd).min(0.05)),
    );
    let trim = p.speeds.cruise_elevator_rad.as_ref().map_or(2.0 * RAD_PER_DEG, |k| k.sd);
    s.set(Input::ElevatorOff, Spread::new(0.0, trim.clamp(0.5 * RAD_PER_DEG, 4.0 * RAD_PER_DEG)));
    s.set(Input::AileronOff, Spread::deg(0.0, 1.0));
    s
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn throw_speeds_fall_with_mass_as_published() {
        // Cross (2004): from 0.15 to 1 kg the ratio is 0.667, from 0.3 to 3 kg 0.611; computed from the power.
        let ratio = |a: f64, b: f64| throw_speed(b).mean / throw_speed(a).mean;
        assert!((ratio(0.15, 1.0) - 0.667).abs() < 1e-3);
        assert!((ratio(0.3, 3.0) - 0.611).abs() < 1e-3);
        // 0.5 to 2 kg: 6 to 11 m/s (sports biomechanics of heavy-ball throws, reference H1).
        for mass in [0.5, 1.0, 1.5, 2.0] {
            assert!((6.0..=11.0).contains(&throw_speed(mass).mean), "{mass}");
        }
    }

    #[test]
    fn a_cord_gives_its_energy() {
        // sqrt(0.8 · 20 · 5² / 1.5) = 16.330 (reference THR-07).
        let cord = Cord { stiffness_n_m: 20.0, stretch_m: 5.0, efficiency: 0.8 };
        assert!((cord.speed_m_s(1.5) - 16.330).abs() < 1e-3);
    }
}
