//! What did the sticks, the surfaces and the aircraft do while the pilot moved a stick on purpose? Everything that
//! responses are learnt from, at equal steps.

use aircraft::Aircraft;
use aircraft::control::{Axis, axis_throw_rad, panel_gain};
use aircraft::finding::Window;
use fly::inputs::{Control, Input, InputKind};
use fly::recording::{Channel, Quantity, Recording};
use fly::resample;
use nalgebra::DMatrix;
use numerics::statistics::median;
use numerics::units::G_M_S2;

use crate::findings::Wind;
use crate::servos;

/// Finest step, s: five times the fastest that a model of this size turns with is enough, and a finer one only costs.
const FINEST_S: f64 = 0.01;
/// Coarsest step from which a response can be told, s.
pub(crate) const COARSEST_S: f64 = 0.06;
/// More samples than this are no flight.
const MOST: f64 = 3e6;

/// Axes by place: roll, pitch, yaw.
pub(crate) const AXES: [Axis; 3] = [Axis::Roll, Axis::Pitch, Axis::Yaw];

/// Signals of a recording at equal steps; not a number where nothing was recorded.
pub(crate) struct Signals {
    pub(crate) step_s: f64,
    pub(crate) from_s: f64,
    pub(crate) count: usize,
    /// Turning rates, rad/s.
    pub(crate) rates: [Option<Vec<f64>>; 3],
    /// Specific forces, m/s².
    pub(crate) forces: [Option<Vec<f64>>; 3],
    /// Sticks, -1 to 1.
    pub(crate) sticks: [Option<Vec<f64>>; 3],
    /// Axis deflections in the sense of the demand, rad, from the pulses that were sent; or from the sticks times the
    /// throws, which holds in direct alone.
    pub(crate) demands: [Option<Vec<f64>>; 3],
    /// Whether the deflections come from pulses.
    pub(crate) from_pulses: bool,
    /// Roll and pitch angle, rad.
    pub(crate) angles: [Option<Vec<f64>>; 2],
    /// True airspeed, m/s.
    pub(crate) airspeed: Option<Vec<f64>>,
    /// How the stick acts.
    pub(crate) acts: Option<Vec<f64>>,
}

impl Signals {
    /// The signals of a recording; absent where there are no turning rates, or no time.
    pub(crate) fn of(aircraft: &Aircraft, recording: &Recording, wind: Option<&Wind>) -> Option<Self> {
        let rate = [Quantity::RollRate, Quantity::PitchRate, Quantity::YawRate]
            .iter()
            .find_map(|q| recording.channel(q))?;
        let step_s = interval_s(rate)?.max(FINEST_S);
        let (from_s, to_s) = recording.span_s()?;
        let count = ((to_s - from_s) / step_s).floor();
        if !(10.0..MOST).contains(&count) {
            return None;
        }
        let count = count as usize;
        let times: Vec<f64> = (0..count).map(|i| from_s + i as f64 * step_s).collect();
        let even = |q: &Quantity| recording.channel(q).map(|c| evenly(c, &times, step_s));
        let sticks = [Quantity::StickRoll, Quantity::StickPitch, Quantity::StickYaw].map(|q| even(&q));
        let from_pulses = demands_from_pulses(aircraft, recording, &times, step_s);
        let demands = match &from_pulses {
            Some(demands) => demands.clone().map(Some),
            None => [0, 1, 2].map(|axis| {
                let throw = axis_throw_rad(aircraft, AXES[axis])?;
                let way =
                    |s: f64| if s > 0.0 { throw.positive_demand_rad } else { throw.negative_demand_rad };
                Some(sticks[axis].as_ref()?.iter().map(|s| s * way(*s)).collect())
            }),
        };
        Some(Self {
            step_s,
            from_s,
            count,
            rates: [Quantity::RollRate, Quantity::PitchRate, Quantity::YawRate].map(|q| even(&q)),
            forces: [Quantity::ForceX, Quantity::ForceY, Quantity::ForceZ].map(|q| even(&q)),
            from_pulses: from_pulses.is_some(),
            demands,
            sticks,
            angles: [Quantity::Roll, Quantity::Pitch].map(|q| even(&q)),
            airspeed: airspeed(recording, wind, &times, step_s),
            acts: even(&Quantity::Acts),
        })
    }

    /// The same about axes that lie nose-down of the controller's by an angle, rad: those of the airframe where the controller
    /// sits nose-up of them. Rates, forces and the pitch angle are turned.
    pub(crate) fn turned(mut self, nose_up_rad: f64) -> Self {
        let (sin, cos) = nose_up_rad.sin_cos();
        for [x, _, z] in [&mut self.rates, &mut self.forces] {
            if let (Some(x), Some(z)) = (x, z) {
                for (x, z) in x.iter_mut().zip(z) {
                    (*x, *z) = (*x * cos + *z * sin, *z * cos - *x * sin);
                }
            }
        }
        if let Some(pitch) = &mut self.angles[1] {
            pitch.iter_mut().for_each(|p| *p -= nose_up_rad);
        }
        self
    }

    /// Places of a window.
    pub(crate) fn within(&self, window: Window) -> std::ops::Range<usize> {
        let place = |t: f64| ((t - self.from_s) / self.step_s).round().clamp(0.0, self.count as f64) as usize;
        let from = place(window.from_s);
        from..place(window.to_s).max(from)
    }

    /// Time of a place, s.
    pub(crate) fn time_s(&self, place: usize) -> f64 {
        self.from_s + place as f64 * self.step_s
    }

    /// Mean airspeed of places, m/s; absent where it is not known.
    pub(crate) fn speed(&self, places: std::ops::Range<usize>) -> Option<f64> {
        let list = self.airspeed.as_ref()?.get(places)?;
        let known: Vec<f64> = list.iter().copied().filter(|v| v.is_finite()).collect();
        (2 * known.len() > list.len()).then(|| known.iter().sum::<f64>() / known.len() as f64)
    }
}

/// A piece of a list, if all of it is numbers.
pub(crate) fn whole(list: Option<&Vec<f64>>, places: &std::ops::Range<usize>) -> Option<Vec<f64>> {
    let part = list?.get(places.clone())?;
    part.iter().all(|v| v.is_finite()).then(|| part.to_vec())
}

/// Median interval of a channel, s.
pub(crate) fn interval_s(channel: &Channel) -> Option<f64> {
    let steps: Vec<f64> =
        channel.time_s.windows(2).map(|w| w[1] - w[0]).filter(|d| *d > 0.0).take(200_000).collect();
    let step = median(&steps);
    (step.is_finite() && step > 0.0).then_some(step)
}

/// A channel at equal steps: means over a step where it comes faster, straight lines between where it does not.
pub(crate) fn evenly(channel: &Channel, times_s: &[f64], step_s: f64) -> Vec<f64> {
    let fast = interval_s(channel).is_some_and(|own| own < 0.7 * step_s);
    if !fast || channel.quantity == Quantity::Acts {
        return resample::at(channel, times_s);
    }
    let mut next = 0;
    times_s
        .iter()
        .map(|t| {
            while channel.time_s.get(next).is_some_and(|time| *time < t - 0.5 * step_s) {
                next += 1;
            }
            let (mut sum, mut n, mut place) = (0.0, 0_usize, next);
            while channel.time_s.get(place).is_some_and(|time| *time < t + 0.5 * step_s) {
                if let Some(v) = channel.values.get(place).filter(|v| v.is_finite()) {
                    sum += v;
                    n += 1;
                }
                place += 1;
            }
            if n > 0 { sum / n as f64 } else { f64::NAN }
        })
        .collect()
}

/// Axis deflections in the sense of the demand from every servo's pulses, where all servos that steer were recorded.
fn demands_from_pulses(
    aircraft: &Aircraft,
    recording: &Recording,
    times_s: &[f64],
    step_s: f64,
) -> Option<[Vec<f64>; 3]> {
    let places = servos::places(aircraft);
    let channels = servos::recorded(&places, recording);
    let mut panels: Vec<Vec<f64>> = Vec::new();
    let mut gains: Vec<[f64; 4]> = Vec::new();
    for movable in &aircraft.movables {
        for left in [false, true] {
            let gain = Axis::ALL.map(|axis| panel_gain(aircraft, movable, axis, left));
            if gain.iter().take(3).all(|g| *g == 0.0) {
                continue;
            }
            let servo = movable.servo_of(left);
            let place = places.iter().position(|p| std::ptr::eq(p.servo, servo))?;
            let channel = recording.channel(channels.get(place)?.as_ref()?)?;
            let pulses = evenly(channel, times_s, step_s);
            panels.push(
                pulses
                    .iter()
                    .map(|us| movable.deflection_from_pulse(servo, *us).unwrap_or(f64::NAN))
                    .collect(),
            );
            gains.push(gain);
        }
    }
    if panels.is_empty() {
        return None;
    }
    let gains = DMatrix::from_fn(gains.len(), 4, |i, j| gains.get(i).map_or(0.0, |g| g[j]));
    let inverse = gains.pseudo_inverse(1e-9).ok()?;
    Some([0, 1, 2].map(|axis| {
        (0..times_s.len())
            .map(|t| -panels.iter().enumerate().map(|(i, p)| inverse[(axis, i)] * p[t]).sum::<f64>())
            .collect()
    }))
}

/// True airspeed: what the sensor tells, put right by the wind's finding; else velocity over ground less the wind.
fn airspeed(recording: &Recording, wind: Option<&Wind>, times_s: &[f64], step_s: f64) -> Option<Vec<f64>> {
    let even = |q: &Quantity| recording.channel(q).map(|c| evenly(c, times_s, step_s));
    if let Some(sensed) = even(&Quantity::Airspeed) {
        let factor =
            wind.and_then(|w| w.airspeed_factor.as_ref()).filter(|f| f.enough).map_or(1.0, |f| f.value);
        return Some(sensed.iter().map(|v| v * factor).collect());
    }
    let wind = wind?.velocity_m_s;
    let (north, east) = (even(&Quantity::VelocityNorth)?, even(&Quantity::VelocityEast)?);
    Some(north.iter().zip(&east).map(|(n, e)| (n - wind[0]).hypot(e - wind[1])).collect())
}

/// Confidence below which a movement of the stick is taken for flying, not for an input.
const LEAST_CONFIDENCE: f64 = 0.7;
/// An input is flown from steady flight: turning about its own axis just before it is at most this share of the most that
/// follows. What the stick does to stop a turning that is there already answers the turning, and would be mistaken for its
/// cause.
const MOST_BEFORE: f64 = 0.35;
/// How long before the input that is looked at, s.
const LOOKED_AT_S: f64 = 0.3;

/// One input with its surroundings.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Excited {
    /// The whole of it, s.
    pub(crate) window: Window,
    /// Its places in the signals.
    pub(crate) places: std::ops::Range<usize>,
    pub(crate) kind: InputKind,
    pub(crate) size: f64,
    /// Mean airspeed, m/s; not a number where it is not known.
    pub(crate) airspeed_m_s: f64,
}

/// Inputs of an axis while the sticks act in a certain way, each from `before_s` ahead of it to `after_s` behind it, but
/// not into the next one.
pub(crate) fn excited(
    signals: &Signals,
    inputs: &[Input],
    axis: usize,
    control: Control,
    before_s: f64,
    after_s: f64,
) -> Vec<Excited> {
    let mut found: Vec<Excited> = Vec::new();
    for input in inputs {
        if place_of(input) != Some(axis) || input.control != control || input.confidence < LEAST_CONFIDENCE {
            continue;
        }
        let sticks = || inputs.iter().filter(|i| place_of(i).is_some());
        let next =
            sticks().map(|i| i.start_s).filter(|s| *s > input.end_s - 1e-6).fold(f64::INFINITY, f64::min);
        let last = sticks().map(|i| i.end_s).filter(|e| *e < input.start_s + 1e-6).fold(0.0, f64::max);
        let window =
            Window { from_s: (input.start_s - before_s).max(last), to_s: (input.end_s + after_s).min(next) };
        let mut places = signals.within(window);
        // The way the stick acts must not change within it.
        if let Some(acts) = &signals.acts {
            let here =
                acts.get(signals.within(Window { from_s: input.start_s, to_s: input.end_s })).unwrap_or(&[]);
            let is = here.get(here.len() / 2).copied().unwrap_or(f64::NAN);
            while places.end > places.start && acts.get(places.end - 1).is_none_or(|a| *a != is) {
                places.end -= 1;
            }
            while places.end > places.start && acts.get(places.start).is_none_or(|a| *a != is) {
                places.start += 1;
            }
        }
        if (places.len() as f64) * signals.step_s < 0.8
            || (axis == 1 && !upright(signals, &places))
            || !from_steady(signals, axis, input, &places)
        {
            continue;
        }
        found.push(Excited {
            window: Window { from_s: signals.time_s(places.start), to_s: signals.time_s(places.end) },
            kind: input.kind,
            size: input.size,
            airspeed_m_s: signals.speed(places.clone()).unwrap_or(f64::NAN),
            places,
        });
    }
    of_a_size(signals, found)
}

/// Inputs in which the aircraft turned this many times as fast as in most of them are no test of the same thing: recoveries,
/// spins, aerobatics.
const MOST_OVER_USUAL: f64 = 2.5;

/// Those inputs that are of a size with the most of them; all where there are fewer than three.
fn of_a_size(signals: &Signals, found: Vec<Excited>) -> Vec<Excited> {
    if found.len() < 3 {
        return found;
    }
    let most = |e: &Excited| {
        signals
            .rates
            .iter()
            .flatten()
            .filter_map(|r| r.get(e.places.clone()))
            .flatten()
            .filter(|v| v.is_finite())
            .fold(0.0_f64, |m, v| m.max(v.abs()))
    };
    let usual = median(&found.iter().map(most).collect::<Vec<f64>>());
    found.into_iter().filter(|e| most(e) <= MOST_OVER_USUAL * usual).collect()
}

/// Bank and roll rate beyond which pitch is not told: turning and slip then have a part in it, rad and rad/s.
const MOST_BANK_RAD: f64 = 0.45;
const MOST_ROLLING_RAD_S: f64 = 0.8;

/// Whether the aircraft turned little about the axis before an input, beside what it did in it.
fn from_steady(signals: &Signals, axis: usize, input: &Input, places: &std::ops::Range<usize>) -> bool {
    let Some(rates) = signals.rates[axis].as_ref() else {
        return true;
    };
    let known = |places: std::ops::Range<usize>| -> Vec<f64> {
        rates.get(places).unwrap_or(&[]).iter().copied().filter(|v| v.is_finite()).collect()
    };
    let before = known(signals.within(Window { from_s: input.start_s - LOOKED_AT_S, to_s: input.start_s }));
    let most = known(places.clone()).iter().fold(0.0_f64, |m, v| m.max(v.abs()));
    // The mean: gusts shake, a turning lasts.
    before.is_empty() || numerics::statistics::mean(&before).abs() <= MOST_BEFORE * most
}

/// What an input does along the path and across it.
pub(crate) struct Along {
    /// Growth of the airspeed since the beginning, m/s; zero throughout where forces were not recorded.
    pub(crate) faster: Vec<f64>,
    /// Specific force square to the path, downward, m/s², less its first value as level flight has it, and less what the
    /// change of the speed alone does to the lift; absent where forces were not recorded.
    pub(crate) across: Option<Vec<f64>>,
}

/// Airspeed and lift over places, from the forces along x and z and the path that they bend: a sensor is too slow and too
/// noisy for it.
///
/// `V' = fx cos α + fz sin α - g sin γ` with the path's climb angle `γ' = -(fz + g cos γ)/V`, both less what they were at
/// the beginning, where the aircraft flies steadily (so that errors of the accelerometers fall out).
pub(crate) fn along_the_path(signals: &Signals, places: &std::ops::Range<usize>, speed_m_s: f64) -> Along {
    let (Some(down), Some(turning)) =
        (whole(signals.forces[2].as_ref(), places), whole(signals.rates[1].as_ref(), places))
    else {
        return Along { faster: vec![0.0; places.len()], across: None };
    };
    let forward = whole(signals.forces[0].as_ref(), places);
    let pitch =
        whole(signals.angles[1].as_ref(), places).map_or(0.05, |p| p.first().copied().unwrap_or(0.05));
    let alpha = pitch.clamp(-0.1, 0.25);
    let rest = ((LOOKED_AT_S / signals.step_s) as usize).clamp(1, places.len().max(1));
    let at_rest = |list: &[f64]| numerics::statistics::mean(list.get(..rest).unwrap_or(list));
    let (down_0, turning_0) = (at_rest(&down), at_rest(&turning));
    let forward_0 = forward.as_deref().map_or(0.0, at_rest);
    let (mut gained, mut climbs, mut pitched) = (0.0, 0.0, 0.0);
    let (mut faster, mut across) = (Vec::with_capacity(places.len()), Vec::with_capacity(places.len()));
    for i in 0..places.len() {
        let attack = pitched - climbs;
        faster.push(gained);
        let (sin, cos) = (alpha + attack).sin_cos();
        let square = match &forward {
            Some(f) => down[i] * cos - f[i] * sin,
            None => down[i],
        };
        across.push(square + G_M_S2 * (1.0 + 2.0 * gained / speed_m_s));
        let along = forward.as_ref().map_or(0.0, |f| {
            (f[i] - forward_0) * alpha.cos() + (down[i] - down_0) * alpha.sin() + down[i] * attack
        });
        gained += signals.step_s * (along - G_M_S2 * climbs);
        climbs -= signals.step_s * (down[i] - down_0) / speed_m_s;
        pitched += signals.step_s * (turning[i] - turning_0);
    }
    Along { faster, across: Some(across) }
}

/// Whether the wings stay about level and still all through places, as far as that was recorded.
fn upright(signals: &Signals, places: &std::ops::Range<usize>) -> bool {
    let within = |list: Option<&Vec<f64>>, most: f64| {
        list.and_then(|l| l.get(places.clone()))
            .is_none_or(|l| l.iter().all(|v| v.is_nan() || v.abs() <= most))
    };
    within(signals.angles[0].as_ref(), MOST_BANK_RAD) && within(signals.rates[0].as_ref(), MOST_ROLLING_RAD_S)
}

/// Place of an input's axis among roll, pitch and yaw.
pub(crate) fn place_of(input: &Input) -> Option<usize> {
    match input.axis {
        fly::inputs::Axis::Roll => Some(0),
        fly::inputs::Axis::Pitch => Some(1),
        fly::inputs::Axis::Yaw => Some(2),
        fly::inputs::Axis::Throttle => None,
    }
}

/// What a first-order lag makes of a signal at equal steps, straight between them, at rest at its first value.
pub(crate) fn lagged(signal: &[f64], step_s: f64, lag_s: f64) -> Vec<f64> {
    if lag_s <= 0.0 {
        return signal.to_vec();
    }
    let keep = (-step_s / lag_s).exp();
    // Exact for a straight line from one sample to the next.
    let ramp = 1.0 - lag_s / step_s * (1.0 - keep);
    let mut out = Vec::with_capacity(signal.len());
    let mut y = signal.first().copied().unwrap_or(0.0);
    let mut before = y;
    for u in signal {
        if !out.is_empty() {
            y = keep * y + (1.0 - keep) * before + ramp * (u - before);
        }
        out.push(y);
        before = *u;
    }
    out
}

/// By how long a signal follows another best, s, and how well (correlation): the delay of least squares with one gain
/// and a constant, refined between steps by a parabola. Absent where nothing moves.
#[must_use]
pub fn best_delay(input: &[f64], output: &[f64], step_s: f64, most_s: f64) -> Option<(f64, f64)> {
    let n = input.len().min(output.len());
    let most = ((most_s / step_s) as usize).min(n / 2);
    let fits: Vec<f64> = (0..=most)
        .map(|lag| {
            let (x, y) = (&input[..n - lag], &output[lag..n]);
            let (mx, my) = (numerics::statistics::mean(x), numerics::statistics::mean(y));
            let (mut xx, mut yy, mut xy) = (0.0, 0.0, 0.0);
            for (a, b) in x.iter().zip(y) {
                xx += (a - mx).powi(2);
                yy += (b - my).powi(2);
                xy += (a - mx) * (b - my);
            }
            if xx > 0.0 && yy > 0.0 { xy / (xx * yy).sqrt() } else { f64::NAN }
        })
        .collect();
    let (best, fit) =
        fits.iter().copied().enumerate().filter(|(_, f)| f.is_finite()).max_by(|a, b| a.1.total_cmp(&b.1))?;
    let between = match (best.checked_sub(1).and_then(|i| fits.get(i)), fits.get(best + 1)) {
        (Some(low), Some(high)) if low + high < 2.0 * fit => 0.5 * (high - low) / (2.0 * fit - low - high),
        _ => 0.0,
    };
    Some(((best as f64 + between) * step_s, fit))
}
