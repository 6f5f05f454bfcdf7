//! Does a loop swing by itself? A swing of rate and surface together that no stick asked for; which gain makes it, how
//! fast it grows, and how far the loop is from its limit.
//!
//! With the stick at rest the loop itself ties the surface to the rate: demand over rate is minus the controller, its
//! angle tells which part works most. In step with the rate it is the proportional gain, a quarter turn behind it the
//! integral (or the attitude loop around it), a quarter turn ahead the derivative.

use aircraft::Aircraft;
use aircraft::control::Axis;
use aircraft::finding::Window;
use fly::inputs::Control;
use nalgebra::Complex;
use predict::gains::lags;

use crate::excitation::{AXES, Signals, whole};
use crate::findings::{Learnt, NotLearnt};
use crate::response::Response;

/// A piece, s.
const PIECE_S: f64 = 2.4;
/// Frequencies that loops of such aircraft swing at, Hz.
const FROM_HZ: f64 = 0.8;
const TO_HZ: f64 = 25.0;
/// Smallest swing that is told, rad/s (3 deg/s) and rad of surface (0.2 deg).
const LEAST_RATE_RAD_S: f64 = 0.052;
const LEAST_SURFACE_RAD: f64 = 0.0035;
/// Share of the rate's power that lies in the swing.
const LEAST_SHARE: f64 = 0.6;
/// Largest share of the swing that the stick may have asked for.
const MOST_ASKED: f64 = 0.35;
/// Swings shorter than this are gusts, s.
const LEAST_S: f64 = 3.5;

/// Loops watched, and what swung.
#[derive(Debug, Clone, PartialEq)]
pub struct Oscillations {
    /// What was found, the largest first.
    pub found: Vec<Oscillation>,
    /// Stabilized flight that was watched, s.
    pub watched_s: f64,
    /// Whether that is long enough to say that nothing swings.
    pub enough: bool,
    /// In a sentence.
    pub verdict: String,
}

/// A loop that swings.
#[derive(Debug, Clone, PartialEq)]
pub struct Oscillation {
    /// The axis.
    pub axis: Axis,
    /// How the stick acted.
    pub control: Control,
    /// Which gain makes it.
    pub gain: Part,
    /// Frequency, Hz.
    pub frequency_hz: f64,
    /// Largest amplitude of the rate, deg/s.
    pub amplitude_deg_s: f64,
    /// Rate at which it grows, 1/s; negative where it dies down.
    pub growth_per_s: f64,
    /// Its standard deviation, 1/s.
    pub growth_sd_per_s: f64,
    /// What the controller makes of the rate at that frequency, surface deg per deg/s (s).
    pub loop_gain_s: f64,
    /// The loop gain over the one at which the measured response would swing for ever, in dB: 0 at the limit, negative
    /// with room to spare. Absent where the response was not measured.
    pub over_limit_db: Option<f64>,
    /// When.
    pub window: Window,
    /// What it means and what to do.
    pub verdict: String,
}

/// Part of a loop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// Proportional.
    Proportional,
    /// Integral, or the attitude loop around the rate loop in level.
    Integral,
    /// Derivative.
    Derivative,
}

impl Part {
    /// In words.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Proportional => "proportional",
            Self::Integral => "integral",
            Self::Derivative => "derivative",
        }
    }
}

/// A piece in which something swings.
struct Swing {
    places: std::ops::Range<usize>,
    control: Control,
    frequency_hz: f64,
    amplitude: f64,
    /// Demand over rate at the frequency.
    ratio: Complex<f64>,
}

/// Every loop that swung.
pub(crate) fn oscillations(
    aircraft: &Aircraft,
    signals: &Signals,
    flying: &[Window],
    responses: &[Learnt<Response>; 3],
) -> Learnt<Oscillations> {
    let missing = |what: &str| Err(NotLearnt::MissingChannel { what: what.into() });
    let Some(acts) = &signals.acts else {
        return missing("how the stick acts, so that no flight with the loops at work can be told");
    };
    if !signals.from_pulses {
        return missing("the pulses of every servo that steers: the stick does not show what a loop does");
    }
    let piece = (PIECE_S / signals.step_s).round() as usize;
    let mut found = Vec::new();
    let mut watched = 0.0;
    for (axis, response) in responses.iter().enumerate() {
        let mut swings: Vec<Swing> = Vec::new();
        let mut seconds = 0.0;
        for window in flying {
            let range = signals.within(*window);
            let mut from = range.start;
            while from + piece <= range.end {
                let places = from..from + piece;
                let here = acts.get(places.clone()).unwrap_or(&[]);
                let control = match here.first() {
                    Some(a) if here.iter().any(|b| b != a) => None,
                    Some(a) if *a > 1.5 => Some(Control::Level),
                    Some(a) if *a > 0.5 => Some(Control::Rate),
                    _ => None,
                };
                if let Some(control) = control {
                    seconds += 0.5 * PIECE_S;
                    swings.extend(swing(aircraft, signals, axis, places, control));
                }
                from += piece / 2;
            }
        }
        watched = f64::max(watched, seconds);
        for event in events(swings, piece) {
            found.push(told(aircraft, signals, axis, &event, response.as_ref().ok()));
        }
    }
    if watched <= 0.0 {
        return Err(NotLearnt::NotExcited {
            why: "the loops were never at work (the sticks acted directly all the time): fly rate and level too".into(),
        });
    }
    found.sort_by(|a, b| b.amplitude_deg_s.total_cmp(&a.amplitude_deg_s));
    let enough = watched >= 20.0 || !found.is_empty();
    let verdict = if let Some(worst) = found.first() {
        worst.verdict.clone()
    } else if enough {
        format!("no loop swung by itself in {watched:.0} s of stabilized flight, up to the speeds flown")
    } else {
        format!(
            "no loop swung in {watched:.0} s of stabilized flight, which is too short to rely on: fly a minute, also at the highest speed that is to be flown"
        )
    };
    Ok(Oscillations { found, watched_s: watched, enough, verdict })
}

/// Part of a signal at a frequency, as a complex amplitude about its own line, with a Hann window.
fn at_frequency(signal: &[f64], step_s: f64, frequency_hz: f64) -> Complex<f64> {
    let n = signal.len();
    let turn = std::f64::consts::TAU * frequency_hz * step_s;
    let middle = numerics::statistics::mean(signal);
    let mut sum = Complex::new(0.0, 0.0);
    for (i, v) in signal.iter().enumerate() {
        let w = 1.0 - (std::f64::consts::TAU * (i as f64 + 0.5) / n as f64).cos();
        sum += Complex::from_polar(w * (v - middle), -turn * i as f64);
    }
    2.0 * sum / n as f64
}

fn swing(
    aircraft: &Aircraft,
    signals: &Signals,
    axis: usize,
    places: std::ops::Range<usize>,
    control: Control,
) -> Option<Swing> {
    let rate = whole(signals.rates[axis].as_ref(), &places)?;
    let demand = whole(signals.demands[axis].as_ref(), &places)?;
    let step_s = signals.step_s;
    let nyquist = 0.45 / step_s;
    let step_hz = 0.5 / PIECE_S;
    let mut spectrum: Vec<(f64, f64)> = Vec::new();
    let mut f = FROM_HZ;
    while f <= TO_HZ.min(nyquist) {
        spectrum.push((f, at_frequency(&rate, step_s, f).norm()));
        f += step_hz;
    }
    let (peak, amplitude) = spectrum.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1))?;
    if amplitude < LEAST_RATE_RAD_S {
        return None;
    }
    let power = |inside: bool| -> f64 {
        spectrum
            .iter()
            .filter(|(f, _)| ((f - peak).abs() <= 2.1 / PIECE_S) == inside)
            .map(|(_, a)| a * a)
            .sum()
    };
    let share = power(true) / (power(true) + power(false));
    // At either end of the range it is flying or noise, not a swing.
    if share < LEAST_SHARE || peak < FROM_HZ + step_hz {
        return None;
    }
    let surface = at_frequency(&demand, step_s, peak);
    if surface.norm() < LEAST_SURFACE_RAD {
        return None;
    }
    if let Some(stick) = whole(signals.sticks[axis].as_ref(), &places) {
        let asked = at_frequency(&stick, step_s, peak).norm() * aircraft.controller.largest_rate_rad_s[axis];
        if asked > MOST_ASKED * amplitude {
            return None;
        }
    }
    let turning = at_frequency(&rate, step_s, peak);
    Some(Swing { places, control, frequency_hz: peak, amplitude, ratio: surface / turning })
}

/// Swings one after the other at one frequency.
fn events(swings: Vec<Swing>, piece: usize) -> Vec<Vec<Swing>> {
    let mut list: Vec<Vec<Swing>> = Vec::new();
    for s in swings {
        let goes_on = list.last().and_then(|e| e.last()).is_some_and(|last| {
            s.places.start <= last.places.start + piece
                && s.control == last.control
                && (s.frequency_hz / last.frequency_hz - 1.0).abs() < 0.25
        });
        match list.last_mut() {
            Some(event) if goes_on => event.push(s),
            _ => list.push(vec![s]),
        }
    }
    list.retain(|event| match (event.first(), event.last()) {
        (Some(a), Some(b)) => (b.places.end - a.places.start) as f64 >= LEAST_S / PIECE_S * piece as f64,
        _ => false,
    });
    list
}

fn told(
    aircraft: &Aircraft,
    signals: &Signals,
    axis: usize,
    event: &[Swing],
    response: Option<&Response>,
) -> Oscillation {
    let weight: f64 = event.iter().map(|s| s.amplitude).sum();
    let frequency_hz = event.iter().map(|s| s.frequency_hz * s.amplitude).sum::<f64>() / weight;
    let ratio: Complex<f64> = event.iter().map(|s| s.ratio * s.amplitude).sum::<Complex<f64>>() / weight;
    let control = event.first().map_or(Control::Rate, |s| s.control);
    let omega = std::f64::consts::TAU * frequency_hz;
    // The pulse comes later than the gyro by the controller's delay.
    let own = lags(aircraft, AXES[axis]).map_or(aircraft.controller.delay_s, |l| l.delay_s);
    let controller = -ratio * Complex::from_polar(1.0, omega * own);
    let angle = controller.arg().to_degrees();
    let gain = if angle < -50.0 {
        Part::Integral
    } else if angle > 50.0 {
        Part::Derivative
    } else {
        Part::Proportional
    };
    let (growth, growth_sd) = growth(event, signals.step_s);
    let amplitude = event.iter().map(|s| s.amplitude).fold(0.0, f64::max);
    let loop_gain_s = controller.norm();
    let over_limit_db = response.and_then(|r| limit(r, own)).map(|most| 20.0 * (loop_gain_s / most).log10());
    let window = Window {
        from_s: signals.time_s(event.first().map_or(0, |s| s.places.start)),
        to_s: signals.time_s(event.last().map_or(0, |s| s.places.end)),
    };
    let word = AXES[axis].word();
    let state = if growth > 2.0 * growth_sd && growth > 0.05 {
        format!("grows by a factor of {:.1} every second", growth.exp())
    } else if growth < -2.0 * growth_sd && growth < -0.05 {
        format!("dies down to {:.0} % every second", 100.0 * growth.exp())
    } else {
        "neither grows nor dies down: the loop is at its limit".to_owned()
    };
    let beyond = over_limit_db.map_or(String::new(), |db| {
        format!(
            "; by the measured response it works at {:.1} dB {} the gain that swings for ever",
            db.abs(),
            if db < 0.0 { "below" } else { "above" }
        )
    });
    let which = match (gain, control) {
        (Part::Integral, Control::Level) => "integral gain, or the attitude gain around it".to_owned(),
        (part, _) => format!("{} gain", part.word()),
    };
    let verdict = format!(
        "{word} swings by itself in {} at {frequency_hz:.1} Hz with up to {:.0} deg/s and {state}{beyond}; the surface follows the rate as the {which} makes it: take it to half (6 dB) before the next flight, with the propeller off, and have the switch to direct at hand",
        control.word(),
        amplitude.to_degrees(),
    );
    Oscillation {
        axis: AXES[axis],
        control,
        gain,
        frequency_hz,
        amplitude_deg_s: amplitude.to_degrees(),
        growth_per_s: growth,
        growth_sd_per_s: growth_sd,
        loop_gain_s,
        over_limit_db,
        window,
        verdict,
    }
}

/// Slope of the logarithm of the amplitude, 1/s, with its standard deviation.
fn growth(event: &[Swing], step_s: f64) -> (f64, f64) {
    let n = event.len() as f64;
    let points: Vec<(f64, f64)> =
        event.iter().map(|s| (s.places.start as f64 * step_s, s.amplitude.ln())).collect();
    if points.len() < 3 {
        return match points.as_slice() {
            [(t0, a), (t1, b)] if t1 > t0 => ((b - a) / (t1 - t0), 0.5),
            _ => (0.0, 1.0),
        };
    }
    let (mt, ma) = (points.iter().map(|p| p.0).sum::<f64>() / n, points.iter().map(|p| p.1).sum::<f64>() / n);
    let tt: f64 = points.iter().map(|p| (p.0 - mt).powi(2)).sum();
    let slope = points.iter().map(|p| (p.0 - mt) * (p.1 - ma)).sum::<f64>() / tt;
    let left: f64 = points.iter().map(|p| (p.1 - ma - slope * (p.0 - mt)).powi(2)).sum();
    // Pieces that overlap by half are worth half as many.
    (slope, (2.0 * left / (n - 2.0).max(1.0) / tt).sqrt())
}

/// Proportional gain (s) at which the measured response with servo and delay swings for ever: one over its size where it
/// lags by half a turn.
fn limit(r: &Response, loop_delay_s: f64) -> Option<f64> {
    let delay = loop_delay_s + r.behind_pulse_s.max(0.0);
    let ([n0, n1], [d0, d1, d2]) = (r.model.numerator, r.model.denominator);
    let value = |w: f64| {
        let s = Complex::new(0.0, w);
        (s * n1 + n0) / (s * s * d2 + s * d1 + d0) / (s * r.servo_s + 1.0) * (-s * delay).exp()
    };
    let mut before = value(1.0);
    let mut w = 1.0;
    while w < 300.0 {
        w *= 1.01;
        let now = value(w);
        if before.im < 0.0 && now.im >= 0.0 && now.re < 0.0 {
            return Some(1.0 / now.norm());
        }
        before = now;
    }
    None
}
