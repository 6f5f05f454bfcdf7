//! Which gains does the measured response ask for? The same margins as the first gains (`predict::gains`), with the
//! response that was flown in place of the predicted one.
//!
//! One flight may not move a setting far: a gain that is set already moves by half at most, either way, and the rest
//! waits for the next flight. What the flight does not carry is held back.

use aircraft::Aircraft;
use aircraft::control::{Axis, axis_throw_rad};
use aircraft::controller::Gains;
use aircraft::finding::{Change, Finding};
use predict::gains::{Lags, Response as Model, first_gains, lags};
use predict::prediction::NotPredicted;

use crate::excitation::AXES;
use crate::findings::{Learnt, NotLearnt};
use crate::response::{Response, parts};
use crate::settings::to_two_digits;

/// A gain that is set moves up to this factor in one flight, and down by its inverse (judgement without a source: half a
/// gain margin of 6 dB is a factor of 1.4).
pub const MOST_STEP: f64 = 1.5;
/// Full strokes of the stick that pilots fly an axis through before they trust its gains (common practice, no source).
pub const USUAL_STROKES: usize = 20;
/// Share of the throw that a commanded rate may take: the rest is left for gusts (judgement without a source).
pub const RATE_SHARE: f64 = 0.8;
/// Two standard deviations of a gain over itself at which it suffices.
const ENOUGH: f64 = 0.35;

/// Gains of an axis from its measured response.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredGains {
    /// The axis.
    pub axis: Axis,
    /// Feed-forward, surface deg per deg/s commanded (s).
    pub feed_forward_s: Finding,
    /// Proportional, surface deg per deg/s of error (s).
    pub proportional_s: Finding,
    /// Integral, surface deg per deg.
    pub integral: Finding,
    /// Largest usable commanded rate at the reference speed, deg/s.
    pub largest_rate_deg_s: Finding,
    /// Servo lag and loop delay that the margins count with.
    pub lags: Lags,
    /// Airspeed that they hold at, m/s.
    pub reference_speed_m_s: f64,
}

impl MeasuredGains {
    /// The numbers alone.
    #[must_use]
    pub fn gains(&self) -> Gains {
        Gains {
            feed_forward_s: self.feed_forward_s.value,
            proportional_s: self.proportional_s.value,
            integral: self.integral.value,
            derivative_s2: 0.0,
        }
    }
}

/// Gains of an axis (0 roll, 1 pitch, 2 yaw), and the changes of the aircraft file that they ask for.
pub(crate) fn gains(
    aircraft: &Aircraft,
    axis: usize,
    response: &Learnt<Response>,
) -> (Learnt<MeasuredGains>, Vec<Change>) {
    let word = AXES[axis].word();
    let response = match response {
        Ok(response) => response,
        Err(why) => {
            let because = match why {
                NotLearnt::MissingChannel { what } => format!("the recording lacks {what}"),
                NotLearnt::NotExcited { why } => why.clone(),
            };
            let why = format!("there is no measured response in {word} to work gains out from: {because}");
            return (Err(NotLearnt::NotExcited { why }), Vec::new());
        }
    };
    match work_out(aircraft, axis, response) {
        Ok(found) => {
            let changes = changes(aircraft, axis, response, &found);
            (Ok(found), changes)
        }
        Err(why) => (Err(NotLearnt::NotExcited { why: reason(why) }), Vec::new()),
    }
}

fn reason(why: NotPredicted) -> String {
    match why {
        NotPredicted::Missing { what } => format!("the aircraft file lacks {what}"),
        NotPredicted::NoSolution { why } => why,
    }
}

/// Feed-forward, proportional, integral and largest rate (rad/s) of a response.
fn numbers(
    axis: usize,
    model: &Model,
    delay_s: f64,
    known: &Lags,
    throw_rad: f64,
    commanded_rad_s: f64,
) -> Result<[f64; 4], NotPredicted> {
    let lags = Lags { servo_s: known.servo_s, delay_s: known.delay_s + delay_s.max(0.0) };
    let g = first_gains(AXES[axis].word(), model, &lags, parts(axis))?;
    let mut feed_forward_s = g.feed_forward_s;
    if axis == 2 && commanded_rad_s > 0.0 && feed_forward_s * commanded_rad_s > throw_rad {
        // A rudder slips the aircraft more than it turns it: full throw at the largest rate is as much as it may take.
        feed_forward_s = throw_rad / commanded_rad_s;
    }
    Ok([feed_forward_s, g.proportional_s, g.integral, RATE_SHARE * throw_rad / g.feed_forward_s])
}

fn work_out(aircraft: &Aircraft, axis: usize, r: &Response) -> Result<MeasuredGains, NotPredicted> {
    let word = AXES[axis].word();
    let throw_rad = axis_throw_rad(aircraft, AXES[axis])
        .ok_or_else(|| NotPredicted::Missing {
            what: format!("a [[movable]] with a share of {word} in its mix"),
        })?
        .least_rad();
    let known = lags(aircraft, AXES[axis])
        .unwrap_or(Lags { servo_s: r.servo_s, delay_s: aircraft.controller.delay_s });
    let commanded = aircraft.controller.largest_rate_rad_s[axis];
    let at = |model: &Model, delay: f64| numbers(axis, model, delay, &known, throw_rad, commanded);
    let here = at(&r.model, r.behind_pulse_s)?;
    // First order: one standard deviation of steady rate, time constant and delay, each alone.
    let (k, tau) = (&r.gain_deg_s_per_deg, &r.time_constant_s);
    let mut variance = [0.0; 4];
    let moved = [
        at(&faster(&r.model, 1.0 + k.sd / k.value.abs(), 1.0), r.behind_pulse_s),
        at(&faster(&r.model, 1.0, 1.0 + tau.sd / tau.value), r.behind_pulse_s),
        at(&r.model, r.behind_pulse_s.max(0.0) + r.delay_s.sd),
    ];
    for other in moved {
        let other = other?;
        for (v, (o, h)) in variance.iter_mut().zip(other.iter().zip(here)) {
            *v += (o - h).powi(2);
        }
    }
    let carried = r.gain_deg_s_per_deg.enough;
    let finding = |what: &str, value: f64, variance: f64, factor: f64| {
        let sd = variance.sqrt();
        let doubt = 2.0 * sd / value.abs().max(1e-9);
        let enough = carried && (doubt <= ENOUGH || value == 0.0);
        Finding {
            parameter: format!("gains.{word}.{what}"),
            value: value * factor,
            sd: sd * factor,
            evidence: r.gain_deg_s_per_deg.evidence.clone(),
            enough,
            verdict: verdict(r, word, carried, doubt),
        }
    };
    Ok(MeasuredGains {
        axis: AXES[axis],
        feed_forward_s: finding("feed_forward_s", here[0], variance[0], 1.0),
        proportional_s: finding("proportional_s", here[1], variance[1], 1.0),
        integral: finding("integral", here[2], variance[2], 1.0),
        largest_rate_deg_s: finding(
            "largest_rate_deg_s",
            here[3].to_degrees(),
            variance[3] * 1f64.to_degrees().powi(2),
            1.0,
        ),
        lags: Lags { servo_s: known.servo_s, delay_s: known.delay_s + r.behind_pulse_s.max(0.0) },
        reference_speed_m_s: r.reference_speed_m_s,
    })
}

/// The model with another steady rate, and slower or faster as a whole.
fn faster(model: &Model, gain: f64, slower: f64) -> Model {
    let ([n0, n1], [d0, d1, d2]) = (model.numerator, model.denominator);
    Model { numerator: [n0 * gain, n1 * gain * slower], denominator: [d0, d1 * slower, d2 * slower * slower] }
}

fn verdict(r: &Response, word: &str, carried: bool, doubt: f64) -> String {
    let mut text = format!(
        "from {} of stick in {word}, for a phase margin of 60° and a gain margin of 6 dB at {:.1} m/s",
        strokes(r.strokes),
        r.reference_speed_m_s
    );
    if !carried {
        text += &format!("; the measured gain is not sure enough: {}", r.gain_deg_s_per_deg.verdict);
    } else if doubt > ENOUGH {
        text += &format!(
            "; time constant and delay leave {:.0} % of it open: {}",
            100.0 * doubt,
            r.time_constant_s.verdict
        );
    }
    if r.strokes < USUAL_STROKES {
        text += &format!(
            "; pilots commonly fly {USUAL_STROKES} to 30 full strokes before they trust gains (common practice)"
        );
    }
    text
}

/// Why a gain is held back, in a line: what is open, and what more to fly.
fn short(r: &Response, doubt: f64) -> String {
    let more = |verdict: &str| verdict.rsplit("; ").next().unwrap_or(verdict).to_owned();
    if r.gain_deg_s_per_deg.enough {
        format!(
            "time constant and delay leave {:.0} % of it open: {}",
            100.0 * doubt,
            more(&r.time_constant_s.verdict)
        )
    } else {
        format!("the measured answer is not sure enough: {}", more(&r.gain_deg_s_per_deg.verdict))
    }
}

fn strokes(n: usize) -> String {
    if n == 1 { "one stroke".to_owned() } else { format!("{n} strokes") }
}

fn changes(aircraft: &Aircraft, axis: usize, r: &Response, found: &MeasuredGains) -> Vec<Change> {
    let word = AXES[axis].word();
    let set = aircraft.controller.gains[axis];
    let parts = [
        ("feed_forward_s", "s", set.map(|g| g.feed_forward_s), &found.feed_forward_s),
        ("proportional_s", "s", set.map(|g| g.proportional_s), &found.proportional_s),
        ("integral", "", set.map(|g| g.integral), &found.integral),
    ];
    let mut changes = Vec::new();
    for (key, unit, from, f) in parts {
        if f.value == 0.0 && from.unwrap_or(0.0) == 0.0 {
            continue;
        }
        let sd = to_two_digits(f.sd);
        let digits = |v: f64| {
            let step = 10f64.powi((v.abs().max(1e-6).log10().floor() as i32) - 2);
            (v / step).round() * step
        };
        let (to, limited) = match from {
            Some(now) if now > 0.0 => {
                let to = f.value.clamp(now / MOST_STEP, now * MOST_STEP);
                (digits(to), (to - f.value).abs() > 1e-9)
            }
            _ => (digits(f.value), false),
        };
        if from.is_some_and(|now| (to - now).abs() < f.sd.max(0.02 * now.abs())) {
            continue;
        }
        let mut why = format!(
            "the {word} response that was flown ({:.2} deg/s for each degree of surface at {:.1} m/s, time constant {:.0} ms, delay {:.0} ms) asks for {}",
            r.gain_deg_s_per_deg.value,
            r.reference_speed_m_s,
            1e3 * r.time_constant_s.value,
            1e3 * r.delay_s.value,
            numerics::words::with_doubt(f.value, f.sd, unit)
        );
        if limited {
            why += &format!(
                "; one flight moves a setting by a factor of {MOST_STEP} at most, the rest after the next flight"
            );
        }
        why += ". Set gains with the propeller off, check every surface direction, and try them high up with the switch to direct at hand";
        changes.push(Change {
            path: format!("controller.gains.{word}.{key}"),
            from,
            to,
            sd,
            unit: unit.to_owned(),
            why,
            held_back: (!f.enough).then(|| short(r, 2.0 * f.sd / f.value.abs().max(1e-9))),
        });
    }
    changes
}
