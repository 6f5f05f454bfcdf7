//! How does each axis answer its surface in direct flight? Steady rate, time constant and delay, from what the pilot
//! moved on purpose.
//!
//! Roll is one state, its rate, pushed by the aileron, and by yaw rate and sideslip as far as these were measured. Pitch
//! is two, angle of attack and rate; yaw is two, sideslip and rate. Their parameters are told at a reference speed:
//! moments grow with the square of the airspeed, damping with the airspeed, so that steady rate grows with it and the
//! time constant falls. The servo's lag is taken from its stated speed and is no part of the time constant.

use aircraft::Aircraft;
use aircraft::control::Axis;
use aircraft::finding::{Finding, Window};
use fly::inputs::{Control, Input};
use motion::model::ForceModel;
use predict::gains::{self, Parts};

use crate::excitation::{AXES, COARSEST_S, Excited, Signals, best_delay, excited, whole};
use crate::findings::{Learnt, NotLearnt};
use crate::output_error::Estimate;

mod models;
mod told;

use models::{Measured, fit_axis};
pub(crate) use told::{count, more};

/// How an axis answers at the reference speed.
#[derive(Debug, Clone, PartialEq)]
pub struct Response {
    /// Roll, pitch or yaw.
    pub axis: Axis,
    /// Steady rate per surface deflection, both in the sense of the demand, deg/s per deg. In yaw the rate at which the
    /// damping balances the rudder, before the slip that follows turns the nose back.
    pub gain_deg_s_per_deg: Finding,
    /// The same per percent of stick, deg/s; absent where sticks or pulses were not recorded.
    pub gain_deg_s_per_percent: Option<Finding>,
    /// Time constant of the rate, s; in pitch that of the fast swing's decay.
    pub time_constant_s: Finding,
    /// Delay from stick to the first answer, beyond the servo's own lag, s.
    pub delay_s: Finding,
    /// Part of the delay that lies behind the pulse, s.
    pub behind_pulse_s: f64,
    /// Airspeed that all this holds at, m/s.
    pub reference_speed_m_s: f64,
    /// Whether the airspeed of each input was known, so that it could be brought to the reference.
    pub speed_known: bool,
    /// Lag of the servo as its stated speed has it, s.
    pub servo_s: f64,
    /// The rate by the deflection, as gains are worked out from.
    pub model: gains::Response,
    /// Inputs found and those that the model explains.
    pub inputs: usize,
    /// Those that count.
    pub good: usize,
    /// Full movements of the stick to one side and back in them.
    pub strokes: usize,
    /// Share of the rate's variation that the model explains, 0 to 1.
    pub explained: f64,
    /// Standard deviation of what it leaves, deg/s.
    pub residual_deg_s: f64,
    /// The evidence, input by input.
    pub traces: Vec<Trace>,
}

/// One input: what was measured and what the model says.
#[derive(Debug, Clone, PartialEq)]
pub struct Trace {
    /// Times, s.
    pub time_s: Vec<f64>,
    /// Deflection in the sense of the demand, deg.
    pub demand_deg: Vec<f64>,
    /// Measured rate, deg/s.
    pub measured_deg_s: Vec<f64>,
    /// Fitted rate, deg/s.
    pub fitted_deg_s: Vec<f64>,
    /// Whether it counts.
    pub good: bool,
}

/// Before and behind an input that belong to it, s; in pitch short, before the airspeed has changed much.
pub(crate) const BEFORE_S: f64 = 0.4;
pub(crate) const AFTER_S: [f64; 3] = [1.2, 0.8, 2.5];
/// An input counts when the model explains so much of its rate.
const LEAST_EXPLAINED: f64 = 0.6;
/// Relative doubt of the servo's lag as its stated speed has it (judgement without a source).
pub(crate) const SERVO_DOUBT: f64 = 0.3;
/// Relative doubt of steady rate and time constant, by axis, for what the linear model leaves out: airspeed that changes
/// within an input, slack, what stalls; in yaw for the weathercock, beside which the damping hardly shows (judged by
/// simulated flights).
const MODEL_DOUBT: [f64; 3] = [0.02, 0.02, 0.2];
/// Doubt of the delay for the same, s.
const MODEL_DELAY_S: [f64; 3] = [0.002, 0.002, 0.012];
/// Movement of the surfaces below which a stick moves none, rad.
const LEAST_DEMAND_RAD: f64 = 0.003;
/// Lag of a servo whose speed is not stated, s (common practice, no source).
const SERVO_UNSTATED_S: f64 = 0.035;

/// What a response is learnt from, beside the aircraft.
pub(crate) struct From<'a> {
    pub(crate) aircraft: &'a Aircraft,
    /// The predicted force model, and the air density (kg/m³) it flew in.
    pub(crate) model: Option<(&'a ForceModel, f64)>,
    /// Predicted cruise speed, m/s.
    pub(crate) cruise_m_s: Option<f64>,
    pub(crate) signals: &'a Signals,
    pub(crate) inputs: &'a [Input],
}

impl From<'_> {
    /// Airspeed that responses and gains hold at, m/s.
    pub(crate) fn reference_m_s(&self) -> f64 {
        let a = self.aircraft;
        let flown = || {
            let all = self.signals.airspeed.as_ref()?;
            let v = numerics::statistics::median(all);
            v.is_finite().then_some(v)
        };
        a.controller
            .reference_speed_m_s
            .or(a.limits.cruise_m_s)
            .or(self.cruise_m_s)
            .or_else(flown)
            .unwrap_or(15.0)
    }

    pub(crate) fn servo_s(&self, axis: usize) -> f64 {
        gains::lags(self.aircraft, AXES[axis]).map_or(SERVO_UNSTATED_S, |l| l.servo_s)
    }
}

/// How an axis (0 roll, 1 pitch, 2 yaw) answers.
pub(crate) fn response(from: &From<'_>, axis: usize) -> Learnt<Response> {
    let signals = from.signals;
    let word = AXES[axis].word();
    missing(signals, axis)?;
    let all = excited(signals, from.inputs, axis, Control::Direct, BEFORE_S, AFTER_S[axis]);
    let reference_m_s = from.reference_m_s();
    let servo_s = from.servo_s(axis);
    let usable: Vec<Excited> = all.iter().filter(|e| whole_rate(signals, axis, e)).cloned().collect();
    if usable.is_empty() {
        return Err(NotLearnt::NotExcited { why: told::no_input(word, from.inputs, axis, all.len()) });
    }
    if usable.iter().all(|e| moves_nothing(signals, axis, e)) {
        return Err(NotLearnt::NotExcited { why: told::moves_nothing(word) });
    }
    let measured = Measured { from, axis, servo_s, reference_m_s };
    let no_fit = |e| NotLearnt::NotExcited { why: told::no_fit(word, usable.len(), e) };
    let first = fit_axis(&measured, &usable).map_err(no_fit)?;
    let shares = shares_explained(signals, axis, &usable, &first);
    let kept: Vec<Excited> =
        usable.iter().zip(&shares).filter(|(_, s)| **s >= LEAST_EXPLAINED).map(|(e, _)| e.clone()).collect();
    if kept.is_empty() {
        return Err(NotLearnt::NotExcited { why: told::drowned(word, usable.len(), &first) });
    }
    let fit = if kept.len() < usable.len() { fit_axis(&measured, &kept).map_err(no_fit)? } else { first };
    // What the servo's stated speed leaves open.
    let slower = Measured { servo_s: servo_s * (1.0 + SERVO_DOUBT), from, axis, reference_m_s };
    let by_servo = fit_axis(&slower, &kept).map_or([0.0; 3], |other| {
        [0, 1, 2].map(|k| other.estimate.parameters[k] - fit.estimate.parameters[k])
    });
    let (k, tau, delay) =
        (fit.estimate.parameters[0], fit.estimate.parameters[1].exp(), fit.estimate.parameters[2]);
    let beyond = [MODEL_DOUBT[axis] * k, MODEL_DOUBT[axis], MODEL_DELAY_S[axis]];
    let sd = |k: usize| fit.estimate.cautious_sd(k).hypot(by_servo[k]).hypot(beyond[k]);
    let stick = stick_to_surface(signals, axis, &kept);
    let evidence: Vec<Window> = kept.iter().map(|e| e.window).collect();
    let strokes = kept.iter().map(|e| told::strokes(e.kind, e.window)).sum();
    let flown = told::Flown {
        axis: word,
        kinds: kept.iter().map(|e| e.kind).collect(),
        inputs: all.len(),
        good: kept.len(),
        explained: fit.estimate.explained[0],
        speed_known: fit.speed_known,
    };
    let finding = |what: &str, value: f64, sd: f64, (enough, verdict): (bool, String)| Finding {
        parameter: format!("response.{word}.{what}"),
        value,
        sd,
        evidence: evidence.clone(),
        enough,
        verdict,
    };
    let gain = finding("gain_deg_s_per_deg", k, sd(0), flown.gain(k, sd(0)));
    let (late_s, late_sd) = stick.map_or((0.0, 0.0), |s| (s.delay_s, s.delay_sd_s));
    let delay_sd = sd(2).hypot(late_sd);
    let traces = traces(signals, axis, &usable, &kept, &fit.estimate);
    Ok(Response {
        axis: AXES[axis],
        gain_deg_s_per_percent: stick.map(|s| {
            let per_percent = k * s.deg_per_stick / 100.0;
            let relative = (sd(0) / k).hypot(s.deg_per_stick_sd / s.deg_per_stick);
            Finding {
                parameter: format!("response.{word}.gain_deg_s_per_percent"),
                value: per_percent,
                sd: (per_percent * relative).abs(),
                ..gain.clone()
            }
        }),
        time_constant_s: finding("time_constant_s", tau, tau * sd(1), flown.time_constant(tau, tau * sd(1))),
        delay_s: finding("delay_s", delay + late_s, delay_sd, flown.delay(delay_sd)),
        behind_pulse_s: delay,
        gain_deg_s_per_deg: gain,
        reference_speed_m_s: reference_m_s,
        speed_known: fit.speed_known,
        servo_s,
        model: fit.model,
        inputs: all.len(),
        good: kept.len(),
        strokes,
        explained: fit.estimate.explained[0],
        residual_deg_s: fit.estimate.residual_sd[0].to_degrees(),
        traces,
    })
}

/// Which channel is missing for an axis.
fn missing(signals: &Signals, axis: usize) -> Result<(), NotLearnt> {
    let word = AXES[axis].word();
    let lacks = |what: String| Err(NotLearnt::MissingChannel { what });
    if signals.rates[axis].is_none() {
        return lacks(format!("the {word} rate"));
    }
    if signals.demands[axis].is_none() {
        return lacks(format!(
            "what moves the aircraft in {word}: neither the {word} stick nor the pulses of every servo that steers"
        ));
    }
    if signals.step_s > COARSEST_S {
        return Err(NotLearnt::NotExcited {
            why: format!(
                "the rates come {:.0} times a second; a response that takes a tenth of a second needs at least {:.0}: log faster",
                1.0 / signals.step_s,
                1.0 / COARSEST_S
            ),
        });
    }
    Ok(())
}

fn whole_rate(signals: &Signals, axis: usize, e: &Excited) -> bool {
    whole(signals.rates[axis].as_ref(), &e.places).is_some()
        && whole(signals.demands[axis].as_ref(), &e.places).is_some()
}

/// Whether an input of the stick moves no surface about its axis.
fn moves_nothing(signals: &Signals, axis: usize, e: &Excited) -> bool {
    let demand = whole(signals.demands[axis].as_ref(), &e.places).unwrap_or_default();
    let (low, high) =
        demand.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(*v), h.max(*v)));
    high - low < LEAST_DEMAND_RAD
}

/// Share of the rate of each input that a fit explains.
fn shares_explained(signals: &Signals, axis: usize, usable: &[Excited], fit: &models::Fitted) -> Vec<f64> {
    usable
        .iter()
        .zip(&fit.estimate.fitted)
        .map(|(e, fitted)| {
            let y = whole(signals.rates[axis].as_ref(), &e.places).unwrap_or_default();
            let mean = numerics::statistics::mean(&y);
            let whole: f64 = y.iter().map(|v| (v - mean).powi(2)).sum();
            let left: f64 =
                y.iter().zip(fitted.first().unwrap_or(&Vec::new())).map(|(y, f)| (y - f).powi(2)).sum();
            if whole > 0.0 { 1.0 - left / whole } else { 0.0 }
        })
        .collect()
}

/// Evidence of every usable input; those that do not count stand beside no fit.
fn traces(
    signals: &Signals,
    axis: usize,
    usable: &[Excited],
    kept: &[Excited],
    fit: &Estimate,
) -> Vec<Trace> {
    let deg = |list: Vec<f64>| -> Vec<f64> { list.into_iter().map(f64::to_degrees).collect() };
    usable
        .iter()
        .map(|e| {
            let place = kept.iter().position(|k| k.places == e.places);
            let fitted = place.and_then(|k| fit.fitted.get(k)).and_then(|f| f.first()).cloned();
            Trace {
                time_s: e.places.clone().map(|i| signals.time_s(i)).collect(),
                demand_deg: deg(whole(signals.demands[axis].as_ref(), &e.places).unwrap_or_default()),
                measured_deg_s: deg(whole(signals.rates[axis].as_ref(), &e.places).unwrap_or_default()),
                good: fitted.is_some(),
                fitted_deg_s: deg(fitted.unwrap_or_default()),
            }
        })
        .collect()
}

/// How the surface follows the stick in direct.
#[derive(Debug, Clone, Copy)]
struct StickToSurface {
    delay_s: f64,
    delay_sd_s: f64,
    /// Surface for full stick, deg.
    deg_per_stick: f64,
    deg_per_stick_sd: f64,
}

fn stick_to_surface(signals: &Signals, axis: usize, kept: &[Excited]) -> Option<StickToSurface> {
    let mut slopes = Vec::new();
    let mut delays = Vec::new();
    for e in kept {
        let (Some(stick), Some(demand)) = (
            whole(signals.sticks[axis].as_ref(), &e.places),
            whole(signals.demands[axis].as_ref(), &e.places),
        ) else {
            continue;
        };
        let (delay, fit) = best_delay(&stick, &demand, signals.step_s, 0.2)?;
        if fit < 0.8 {
            continue;
        }
        delays.push(delay);
        let lag = (delay / signals.step_s).round() as usize;
        let (x, y) = (stick.get(..stick.len().saturating_sub(lag))?, demand.get(lag..)?);
        let (mx, my) = (numerics::statistics::mean(x), numerics::statistics::mean(y));
        let (mut xx, mut xy) = (0.0, 0.0);
        for (a, b) in x.iter().zip(y) {
            xx += (a - mx).powi(2);
            xy += (a - mx) * (b - my);
        }
        if xx > 0.0 {
            slopes.push((xy / xx).to_degrees());
        }
    }
    if slopes.is_empty() {
        return None;
    }
    let n = slopes.len() as f64;
    let of_mean = |list: &[f64], alone: f64| {
        if list.len() > 1 { numerics::statistics::standard_deviation(list) / n.sqrt() } else { alone }
    };
    let slope = numerics::statistics::mean(&slopes);
    Some(StickToSurface {
        delay_s: if signals.from_pulses { numerics::statistics::mean(&delays) } else { 0.0 },
        // The recording's step leaves a rest of a quarter of it open.
        delay_sd_s: if signals.from_pulses { of_mean(&delays, 0.25 * signals.step_s) } else { 0.0 },
        deg_per_stick: slope,
        deg_per_stick_sd: of_mean(&slopes, 0.05 * slope.abs()),
    })
}

/// Which parts a loop of an axis begins with.
pub(crate) fn parts(axis: usize) -> Parts {
    if axis == 2 { Parts::Damping } else { Parts::Holding }
}
