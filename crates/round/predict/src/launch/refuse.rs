//! What is no launch at all? Inputs that would be computed into nonsense are refused, each with its reason.

use aircraft::control::{Axis, axis_throw_rad};
use aircraft::{Aircraft, controller::Acts};
use motion::forces::{NotABody, Prepared};

use super::inputs::Input;
use super::scene::{Method, Scene};
use crate::prediction::Prediction;

/// Why a launch is not studied.
#[derive(Debug, Clone, PartialEq)]
pub enum Refused {
    /// The wind is as fast as the aircraft.
    Wind {
        /// Wind at the height where it flies away, m/s.
        wind_m_s: f64,
        /// Fastest that it flies, m/s.
        fastest_m_s: f64,
    },
    /// The gust is weaker than the mean wind, or one of them is no wind.
    Gust {
        /// Mean wind, m/s.
        wind_m_s: f64,
        /// Gust, m/s.
        gust_m_s: f64,
    },
    /// The drive gives no thrust.
    NoThrust {
        /// Static thrust at the throttle of the launch, N.
        thrust_n: f64,
    },
    /// It cannot roll or climb without a drive.
    NoDrive,
    /// An input lies outside what can be.
    Input {
        /// Which.
        input: Input,
        /// Mean that was given, in the unit of people.
        value: f64,
        /// Standard deviation that was given, in the unit of people.
        sd: f64,
        /// Least and largest value, in the unit of people.
        bounds: [f64; 2],
        /// The unit.
        unit: &'static str,
    },
    /// The step is too large for the fastest motion.
    Step {
        /// Steps a second.
        rate_hz: f64,
        /// Steps a second that it takes at least.
        least_hz: f64,
    },
    /// The time is too short or too long.
    Time {
        /// Time given, s.
        seconds: f64,
    },
    /// Throttle outside 0 to 1.
    Throttle {
        /// Throttle given.
        throttle: f64,
    },
    /// No launches, or too many to keep.
    Runs {
        /// Launches asked for.
        runs: u64,
    },
    /// The controller is to hold what nothing can move.
    NoControl,
    /// The prediction is not that of a body.
    NotABody(NotABody),
    /// The flight cannot be computed.
    Motion(motion::simulate::Refused),
}

/// Most launches of one study: each keeps some hundred numbers.
pub const MOST_RUNS: u64 = 200_000;

impl std::fmt::Display for Refused {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Wind { wind_m_s, fastest_m_s } => write!(
                f,
                "the wind of {wind_m_s:.1} m/s is as fast as the aircraft, which flies {fastest_m_s:.1} m/s at most: it would be \
                 blown away; wait for less wind"
            ),
            Self::Gust { wind_m_s, gust_m_s } => write!(
                f,
                "wind {wind_m_s} m/s with gusts of {gust_m_s} m/s cannot be: the gust is the strongest wind, not its excess"
            ),
            Self::NoThrust { thrust_n } => write!(
                f,
                "the drive gives {thrust_n:.2} N standing still at that throttle, so nothing can climb away; look at the [drive] of \
                 the file"
            ),
            Self::NoDrive => {
                f.write_str("there is no drive to roll with; launch a glider by hand or by bungee")
            }
            Self::Input { input, value, sd, bounds: [low, high], unit } => write!(
                f,
                "{}: {value} ± {sd} {unit} cannot be; it lies between {low:.4} and {high:.4} {unit}, with a standard deviation of at \
                 most half of that and not below zero",
                input.name()
            ),
            Self::Step { rate_hz, least_hz } => write!(
                f,
                "{rate_hz} steps a second are too few for the quick roll and pitch of this aircraft; {least_hz:.0} are needed at \
                 least"
            ),
            Self::Time { seconds } => write!(f, "{seconds} s is outside 1 to 60 s"),
            Self::Throttle { throttle } => {
                write!(f, "a throttle of {:.0} percent is outside 0 to 100 percent", throttle * 100.0)
            }
            Self::Runs { runs } => write!(f, "{runs} launches: choose 1 to {MOST_RUNS}"),
            Self::NoControl => f.write_str(
                "the controller is to hold wings and attitude, but no surface moves the aircraft in roll or pitch; add [[movable]] \
                 parts to the file",
            ),
            Self::Motion(why) => write!(f, "{why}"),
            Self::NotABody(why) => write!(f, "the predicted model is not that of a body: {why:?}"),
        }
    }
}

/// Steps a second that are tried at all; what the aircraft needs is found by `motion`.
const LEAST_HZ: f64 = 20.0;
const MOST_HZ: f64 = 20_000.0;

/// Everything that speaks against studying a scene; empty where nothing does.
#[must_use]
pub fn against(aircraft: &Aircraft, p: &Prediction, scene: &Scene, runs: u64) -> Vec<Refused> {
    let mut out = Vec::new();
    if let Err(why) = Prepared::new(&p.model) {
        out.push(Refused::NotABody(why));
    }
    if !(1..=MOST_RUNS).contains(&runs) {
        out.push(Refused::Runs { runs });
    }
    let gust_m_s = scene.wind.gust_m_s.unwrap_or(scene.wind.speed_m_s);
    if !(scene.wind.speed_m_s >= 0.0 && gust_m_s >= scene.wind.speed_m_s && gust_m_s < 100.0) {
        out.push(Refused::Gust { wind_m_s: scene.wind.speed_m_s, gust_m_s });
    }
    if !(0.0..=1.0).contains(&scene.throttle) {
        out.push(Refused::Throttle { throttle: scene.throttle });
    }
    let static_n = p.model.thrust.as_ref().map(|t| t.nearest(scene.throttle, 0.0).thrust_n);
    match static_n {
        Some(thrust_n) if scene.throttle > 0.0 && (thrust_n.is_nan() || thrust_n <= 0.0) => {
            out.push(Refused::NoThrust { thrust_n });
        }
        Some(_) if scene.throttle > 0.0 => {}
        _ if matches!(scene.method, Method::Rolling(_)) => out.push(Refused::NoDrive),
        _ => {}
    }
    let fastest_m_s = p.speeds.top_m_s.as_ref().map_or(2.0 * p.speeds.stall_m_s.value, |top| top.value);
    if scene.wind.speed_m_s >= fastest_m_s {
        out.push(Refused::Wind { wind_m_s: scene.wind.speed_m_s, fastest_m_s });
    }
    for input in Input::ALL {
        let spread = scene.scatter.of(input);
        let [low, high] = input.bounds();
        let fits = (low..=high).contains(&spread.mean) && (0.0..=0.5 * (high - low)).contains(&spread.sd);
        if input.drawn() && !fits {
            let (unit, per) = input.unit();
            out.push(Refused::Input {
                input,
                value: spread.mean * per,
                sd: spread.sd * per,
                bounds: [low * per, high * per],
                unit,
            });
        }
    }
    if !(1.0..=60.0).contains(&scene.seconds) {
        out.push(Refused::Time { seconds: scene.seconds });
    }
    if !(LEAST_HZ..=MOST_HZ).contains(&scene.rate_hz) {
        out.push(Refused::Step { rate_hz: scene.rate_hz, least_hz: LEAST_HZ });
    }
    if scene.acts != Acts::Direct
        && axis_throw_rad(aircraft, Axis::Roll).is_none()
        && axis_throw_rad(aircraft, Axis::Pitch).is_none()
    {
        out.push(Refused::NoControl);
    }
    out
}
