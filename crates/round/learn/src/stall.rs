//! At which speed does it stall, and what warns of it?
//!
//! The stall is where the lift coefficient is largest, so that load factor over the square of the airspeed is: taken there,
//! airspeed over the root of the load factor is the stall speed in level flight at this weight, whatever the pilot did.
//! A stall is only one when the lift breaks away after it without the stick being pushed.

use aircraft::control::{Axis, panel_gain};
use aircraft::finding::{Change, Window};
use aircraft::{Aircraft, Origin};
use fly::recording::Quantity;
use numerics::statistics::{mean, median, standard_deviation};
use numerics::uncertain::Uncertain;
use numerics::units::{DEG_PER_RAD, G_M_S2};
use numerics::words::{fixed, with_doubt};
use predict::adopted::updated;
use sky::atmosphere::SEA_LEVEL_DENSITY_KG_M3;

use crate::answers::{Estimate, Evidence, Told, Verdict, along, missing, not_excited};
use crate::findings::Learnt;
use crate::flight::{Flight, moving_mean, samples, value_at};
use crate::servos;
use crate::settings;

/// Speeds up to this many times the predicted stall are looked at; without a prediction, shares of the usual speed.
const NEAR_STALL: f64 = 1.2;
/// Nothing that breaks away before the ground is near counts later than this before the touch, s.
const BEFORE_TOUCH_S: f64 = 4.0;
const NEAR_USUAL: f64 = 0.75;
/// Looked at before and after the slow seconds, s.
const BEFORE_S: f64 = 3.0;
const AFTER_S: f64 = 2.5;
/// How late airspeed comes from a sensor, and ground velocity from a receiver, with one standard deviation, s (common
/// practice, no source).
const SENSOR_LATE_S: (f64, f64) = (0.1, 0.06);
const GROUND_LATE_S: (f64, f64) = (0.25, 0.1);
/// Airspeed and load are averaged over this long, s.
const SPEED_OVER_S: f64 = 0.4;
const LOAD_OVER_S: f64 = 0.3;
/// The load factor falls by this within this time of a break, s.
const BREAK_LOAD: f64 = 0.12;
const BREAK_S: f64 = 1.5;
/// And the nose falls by this, deg: gusts take the load away, too, but not the nose down.
const BREAK_NOSE_DEG: f64 = 8.0;
/// A stick moved forward by this share of its travel makes the nose drop by itself.
const PUSHED: f64 = 0.15;
/// How far the lift in a real entry falls short of what the steady flow gives at most, by speed: it turns, and half a wing may
/// go first. More stalls do not take that away.
const ENTRY_SHARE: f64 = 0.02;
/// The same where ground velocity has to serve: over simulated flights it came out a tenth too fast.
const ENTRY_BY_GROUND: f64 = 0.08;
/// Doubt of a load factor that was not recorded.
const UNKNOWN_LOAD: f64 = 0.05;
/// Relative doubt beyond which a stall speed is of no use.
const USEFUL_SHARE: f64 = 0.05;
/// A roll of this much within [`BREAK_S`] is a wing that drops, deg.
const DROPS_DEG: f64 = 15.0;
/// Shaking that begins to be felt: times that of a moment earlier.
const BUFFET_RATIO: f64 = 1.8;
/// Stall speeds this far from the predicted one are looked at before they are believed.
const PLAUSIBLE: (f64, f64) = (0.6, 1.6);

/// One stall.
#[derive(Debug, Clone)]
struct One {
    window: Window,
    at_s: f64,
    /// Speed in level flight, m/s.
    speed_m_s: f64,
    sd: f64,
    broke: bool,
    sentences: Vec<String>,
}

/// Stall speed and warning, and the change of the stall speed in the file.
pub(crate) fn stall(flight: &Flight<'_>) -> Learnt<(Told, Option<Change>)> {
    let Some(airspeed) = flight.airspeed_m_s.as_deref() else {
        return missing(
            "airspeed: neither a sensor nor a wind that is known well enough to take it from the ground velocity",
        );
    };
    let slow = slow_windows(flight, airspeed);
    let all: Vec<One> = slow.iter().filter_map(|w| one(flight, airspeed, *w)).collect();
    let stalls: Vec<&One> = all.iter().filter(|s| s.broke).collect();
    if stalls.is_empty() {
        let slowest = all.iter().map(|s| s.speed_m_s).fold(f64::INFINITY, f64::min);
        return not_excited(if slowest.is_finite() {
            format!(
                "the slowest was {} m/s (as of level flight) without the lift breaking away: at a safe height, throttle closed and wings level, ease the stick back until the nose drops, twice",
                fixed(slowest, 1)
            )
        } else {
            "nothing was flown slowly: at a safe height, throttle closed and wings level, ease the stick back until the nose drops, twice".to_owned()
        });
    }
    let speeds: Vec<f64> = stalls.iter().map(|s| s.speed_m_s).collect();
    let n = speeds.len() as f64;
    let weights: Vec<f64> = stalls.iter().map(|s| s.sd.powi(-2)).collect();
    let total: f64 = weights.iter().sum();
    let value = speeds.iter().zip(&weights).map(|(v, w)| v * w).sum::<f64>() / total;
    let scatter = if stalls.len() > 1 { standard_deviation(&speeds) / n.sqrt() } else { 0.0 };
    let entry =
        if flight.blocks.column(&Quantity::Airspeed).is_some() { ENTRY_SHARE } else { ENTRY_BY_GROUND };
    let own = total.powf(-0.5).max(scatter).hypot(entry * value);
    // In standard air, as the file holds it: a sensor whose factor is not known shows that already.
    let (to_standard, air) = if shows_standard(flight) {
        (1.0, 0.0)
    } else {
        let ratio = flight.density.kg_m3.value / SEA_LEVEL_DENSITY_KG_M3;
        (ratio.sqrt(), 0.5 * flight.density.kg_m3.sd / flight.density.kg_m3.value)
    };
    let sd = own.hypot(flight.airspeed_doubt().hypot(air) * value) * to_standard;
    let speed = value * to_standard;
    let mut against = Vec::new();
    if flight.blocks.column(&Quantity::Airspeed).is_none() {
        against.push(
            "ground velocity comes late and counts every gust in full, too much for a speed that falls: fly it with an airspeed sensor"
                .to_owned(),
        );
    } else if sd > USEFUL_SHARE * speed {
        against.push(format!(
            "the doubt is {} %, more than {} %: stall it twice more in calm air, wings level, losing a knot a second, and with an airspeed sensor if you can; until then keep 1.3 times this speed near the ground",
            fixed(100.0 * sd / speed, 1),
            fixed(100.0 * USEFUL_SHARE, 0)
        ));
    }
    let mut verdict = Verdict::of(
        format!(
            "{} at {}; in standard air at sea level and the weight flown",
            if stalls.len() == 1 { "one stall".to_owned() } else { format!("{} stalls", stalls.len()) },
            stalls.iter().map(|s| format!("{} s", fixed(s.at_s, 0))).collect::<Vec<_>>().join(", ")
        ),
        &against,
    );
    let windows: Vec<Window> = stalls.iter().map(|s| s.window).collect();
    let change = change(flight, speed, sd, &mut verdict);
    let predicted = flight.prediction.map(|p| {
        let ratio = (p.density_kg_m3 / SEA_LEVEL_DENSITY_KG_M3).sqrt();
        p.speeds.stall_m_s.uncertain().scaled(ratio)
    });
    // One paragraph a stall.
    let sentences: Vec<String> = stalls
        .iter()
        .filter(|s| !s.sentences.is_empty())
        .map(|s| format!("The stall at {} s: {}", fixed(s.at_s, 0), s.sentences.join(" ")))
        .collect();
    Ok((
        Told {
            estimates: vec![
                Estimate::new(
                    "stall speed, wings level",
                    "m/s",
                    verdict.finding("stall.speed_m_s", speed, sd, &windows),
                )
                .beside(predicted),
            ],
            evidence: stalls.first().map(|s| plot(flight, airspeed, s)).into_iter().collect(),
            sentences,
        },
        change,
    ))
}

/// Whether the airspeed is that of a pressure sensor set for standard air, which nothing has checked.
fn shows_standard(flight: &Flight<'_>) -> bool {
    flight.blocks.column(&Quantity::Airspeed).is_some()
        && !flight.wind.and_then(|w| w.airspeed_factor.as_ref()).is_some_and(|f| f.enough)
}

/// Windows about the slow seconds of the flight.
fn slow_windows(flight: &Flight<'_>, airspeed: &[f64]) -> Vec<Window> {
    let told = flight.windows("stall");
    if !told.is_empty() {
        return told.iter().map(|w| Window { from_s: w.from_s - BEFORE_S, to_s: w.to_s + AFTER_S }).collect();
    }
    let flown = |word: &str| !matches!(word, "ground" | "launch" | "landing" | "impact");
    let usual: Vec<f64> =
        flight.straight.pieces.iter().map(|p| p.airspeed_m_s).filter(|v| v.is_finite()).collect();
    let limit = match flight.prediction {
        Some(p) => NEAR_STALL * p.speeds.stall_m_s.value,
        None if usual.is_empty() => return Vec::new(),
        None => NEAR_USUAL * median(&usual),
    };
    let force = flight.blocks.column(&Quantity::ForceZ);
    let mut windows: Vec<Window> = Vec::new();
    for phase in flight.phases.iter().filter(|p| flown(p.kind.word())) {
        for i in flight.blocks.within(phase.window) {
            let load = force.and_then(|f| f.get(i)).map_or(1.0, |f| f / -G_M_S2);
            let level = airspeed.get(i).copied().unwrap_or(f64::NAN) / load.max(0.4).sqrt();
            if level < limit {
                let t = flight.blocks.time_s(i);
                match windows.last_mut() {
                    Some(w) if t - w.to_s < BEFORE_S => w.to_s = t,
                    _ => windows.push(Window { from_s: t, to_s: t }),
                }
            }
        }
    }
    let end =
        flight.phases.iter().rev().find(|p| flown(p.kind.word())).map_or(f64::INFINITY, |p| p.window.to_s);
    windows
        .iter()
        .filter(|w| w.to_s < end - BEFORE_TOUCH_S)
        .map(|w| Window { from_s: w.from_s - BEFORE_S, to_s: w.to_s + AFTER_S })
        .collect()
}

/// By how much a speed comes late, s, and one standard deviation of it: the air in a sensor's hoses, or the receiver's own
/// delay. While it slows down, a late speed is too fast.
fn late_s(flight: &Flight<'_>) -> (f64, f64) {
    if flight.blocks.column(&Quantity::Airspeed).is_some() { SENSOR_LATE_S } else { GROUND_LATE_S }
}

/// Airspeed at the recording's own rate, m/s.
fn speed_samples(flight: &Flight<'_>, airspeed: &[f64], window: Window) -> Vec<(f64, f64)> {
    let factor =
        flight.wind.and_then(|w| w.airspeed_factor.as_ref()).filter(|f| f.enough).map_or(1.0, |f| f.value);
    let sensed = samples(flight.recording, &Quantity::Airspeed, window);
    let (late_s, _) = late_s(flight);
    if sensed.is_empty() {
        flight
            .blocks
            .within(window)
            .filter_map(|i| Some((flight.blocks.time_s(i) - late_s, *airspeed.get(i)?)))
            .filter(|s| s.1.is_finite())
            .collect()
    } else {
        let samples: Vec<(f64, f64)> = sensed.iter().map(|(t, v)| (*t - late_s, v * factor)).collect();
        moving_mean(&samples, SPEED_OVER_S)
    }
}

/// The stall in a window; absent without numbers.
fn one(flight: &Flight<'_>, airspeed: &[f64], window: Window) -> Option<One> {
    let speed = speed_samples(flight, airspeed, window);
    let force = samples(flight.recording, &Quantity::ForceZ, window);
    let raw: Vec<(f64, f64)> = force.iter().map(|(t, f)| (*t, f / -G_M_S2)).collect();
    let load = moving_mean(&raw, LOAD_OVER_S);
    let times: Vec<f64> = if load.is_empty() {
        speed.iter().map(|s| s.0).collect()
    } else {
        load.iter().map(|l| l.0).collect()
    };
    let at_load = |t: f64| if load.is_empty() { 1.0 } else { value_at(&load, t) };
    let lift = |t: f64| at_load(t) / value_at(&speed, t).max(0.5).powi(2);
    let inside = |t: &&f64| **t > window.from_s + 0.5 && **t < window.to_s - 0.5;
    let at_s = times.iter().filter(inside).copied().max_by(|a, b| lift(*a).total_cmp(&lift(*b)))?;
    let speed_m_s = lift(at_s).powf(-0.5);
    if !speed_m_s.is_finite() {
        return None;
    }
    let after = Window { from_s: at_s, to_s: at_s + BREAK_S };
    let least =
        load.iter().filter(|l| l.0 > at_s && l.0 <= after.to_s).map(|l| l.1).fold(f64::INFINITY, f64::min);
    let pitch = samples(flight.recording, &Quantity::Pitch, Window { from_s: at_s, to_s: at_s + AFTER_S });
    let nose = pitch.first().map_or(0.0, |p| p.1)
        - pitch.iter().map(|p| p.1).fold(f64::INFINITY, f64::min).min(pitch.first().map_or(0.0, |p| p.1));
    let lost = load.is_empty() || at_load(at_s) - least > BREAK_LOAD;
    // Without pitch more of the load has to go.
    let dropped = if pitch.is_empty() {
        at_load(at_s) - least > 2.0 * BREAK_LOAD
    } else {
        nose * DEG_PER_RAD > BREAK_NOSE_DEG
    };
    let slow = flight.prediction.is_none_or(|p| speed_m_s < NEAR_STALL * p.speeds.stall_m_s.value);
    // Without load and without pitch nothing tells a break.
    let seen = !(load.is_empty() && pitch.is_empty());
    let broke = seen && lost && dropped && slow && !pushed(flight, at_s);
    let noise = noise_of(flight, &speed, window);
    let of_load = if load.is_empty() { UNKNOWN_LOAD } else { 0.01 };
    let slowing = value_at(&speed, at_s - 0.5) - value_at(&speed, at_s + 0.3);
    let of_late = late_s(flight).1 * slowing.abs() / 0.8;
    Some(One {
        window: Window { from_s: at_s - BEFORE_S, to_s: at_s + AFTER_S },
        at_s,
        speed_m_s,
        sd: noise.hypot(0.5 * of_load * speed_m_s).hypot(of_late),
        broke,
        sentences: if broke { warnings(flight, at_s, nose, &raw) } else { Vec::new() },
    })
}

/// Doubt of one averaged airspeed from the scatter of the samples.
fn noise_of(flight: &Flight<'_>, speed: &[(f64, f64)], window: Window) -> f64 {
    let sensed = samples(flight.recording, &Quantity::Airspeed, window);
    if sensed.len() < 10 {
        // Ground velocity less wind: what the wind gusted by.
        return flight.wind.map_or(0.5, |w| w.gust_m_s.max(0.2));
    }
    let rate = sensed.len() as f64 / (window.to_s - window.from_s).max(0.1);
    let steps: Vec<f64> = sensed.windows(2).map(|w| w[1].1 - w[0].1).collect();
    let white = standard_deviation(&steps) / 2.0_f64.sqrt();
    let _ = speed;
    (white / (rate * SPEED_OVER_S).max(1.0).sqrt()).max(0.03)
}

/// Whether the stick was pushed about the moment of the break.
fn pushed(flight: &Flight<'_>, at_s: f64) -> bool {
    let stick = |from: f64, to: f64| {
        let s =
            samples(flight.recording, &Quantity::StickPitch, Window { from_s: at_s + from, to_s: at_s + to });
        if s.is_empty() { f64::NAN } else { mean(&s.iter().map(|s| s.1).collect::<Vec<f64>>()) }
    };
    let (before, at) = (stick(-1.0, -0.3), stick(-0.25, 0.15));
    before - at > PUSHED
}

/// What was to be felt and seen, in sentences.
fn warnings(flight: &Flight<'_>, at_s: f64, nose_rad: f64, load: &[(f64, f64)]) -> Vec<String> {
    let mut told = Vec::new();
    let roll =
        samples(flight.recording, &Quantity::Roll, Window { from_s: at_s - 0.2, to_s: at_s + BREAK_S });
    if let Some(first) = roll.first() {
        let most =
            roll.iter().map(|r| r.1 - first.1).max_by(|a, b| a.abs().total_cmp(&b.abs())).unwrap_or(0.0);
        let most = most * DEG_PER_RAD;
        told.push(if most.abs() >= DROPS_DEG {
            format!(
                "The {} wing dropped by {}° within {} s: in a turn it would be the same; keep 1.3 times the stall speed near the ground.",
                if most > 0.0 { "right" } else { "left" },
                fixed(most.abs(), 0),
                fixed(BREAK_S, 1)
            )
        } else {
            format!("No wing dropped; the nose fell by {}°.", fixed(nose_rad * DEG_PER_RAD, 0))
        });
    }
    told.extend(buffet(flight, at_s, load));
    told.extend(elevator(flight, at_s));
    told
}

/// When shaking began before the break.
fn buffet(flight: &Flight<'_>, at_s: f64, load: &[(f64, f64)]) -> Option<String> {
    if load.len() < 100 {
        return None;
    }
    let smooth = moving_mean(load, 0.1);
    let shaking = |from: f64, to: f64| {
        let left: Vec<f64> = load
            .iter()
            .zip(&smooth)
            .filter(|(l, _)| l.0 >= from && l.0 < to)
            .map(|(l, s)| l.1 - s.1)
            .collect();
        if left.len() < 5 { f64::NAN } else { standard_deviation(&left) }
    };
    let calm = shaking(at_s - BEFORE_S, at_s - BEFORE_S + 1.0);
    let begun = (0..8)
        .map(|k| at_s - 2.0 + 0.25 * f64::from(k))
        .find(|t| shaking(*t, t + 0.25) > BUFFET_RATIO * calm);
    let _ = flight;
    Some(match begun {
        Some(t) => format!("Shaking began {} s before the break: a warning to be felt.", fixed(at_s - t, 1)),
        None => "Nothing shook before the break: there is no warning but the speed and the stick.".to_owned(),
    })
}

/// Where stick and elevator stood at the break.
fn elevator(flight: &Flight<'_>, at_s: f64) -> Option<String> {
    let before = Window { from_s: at_s - 0.5, to_s: at_s };
    let over = |q: &Quantity| {
        let s = samples(flight.recording, q, before);
        (!s.is_empty()).then(|| mean(&s.iter().map(|s| s.1).collect::<Vec<f64>>()))
    };
    let mut words = Vec::new();
    if let Some(stick) = over(&Quantity::StickPitch) {
        words.push(format!("the stick stood {} % back", fixed(100.0 * stick, 0)));
    }
    words.extend(panel(flight.aircraft, flight, &over));
    (!words.is_empty()).then(|| format!("At the break {}.", words.join(", ")))
}

/// The leading panel in pitch at the break.
fn panel(
    aircraft: &Aircraft,
    flight: &Flight<'_>,
    over: &dyn Fn(&Quantity) -> Option<f64>,
) -> Option<String> {
    let places = servos::places(aircraft);
    let channels = servos::recorded(&places, flight.recording);
    let (place, channel) = places
        .iter()
        .zip(&channels)
        .filter_map(|(p, c)| Some((p, c.as_ref()?)))
        .find(|(p, _)| panel_gain(aircraft, p.movable, Axis::Pitch, false).abs() > 0.1)?;
    let angle = place.movable.deflection_from_pulse(place.servo, over(channel)?)? * DEG_PER_RAD;
    let surface = aircraft.surfaces.get(place.movable.surface)?;
    let (along, against) = place.movable.throw_words(surface);
    Some(format!(
        "the {} {}° {}",
        place.surface,
        fixed(angle.abs(), 0),
        if angle > 0.0 { against } else { along }
    ))
}

/// The stall speed of the file: what it has and what was flown, each by its doubt.
fn change(flight: &Flight<'_>, speed: f64, sd: f64, verdict: &mut Verdict) -> Option<Change> {
    let old = flight.aircraft.limits.stall_m_s;
    let flown = Uncertain::new(speed, sd);
    let new = match old {
        Some(old) if matches!(old.from, Origin::Flown | Origin::Measured) => updated(old, flown),
        _ => flown,
    };
    if let Some(old) = old
        && (new.value - old.value).abs() <= new.sd.max(0.1)
    {
        return None;
    }
    let predicted = flight.prediction.map(|p| p.speeds.stall_m_s.value);
    let held_back = if !verdict.enough {
        Some(verdict.why.clone())
    } else {
        predicted.filter(|p| !(PLAUSIBLE.0 * p..=PLAUSIBLE.1 * p).contains(&speed)).map(|p| {
            let why = format!(
                "{} is far from the predicted {}: weigh the model, check the airspeed sensor, and stall it again",
                with_doubt(speed, sd, "m/s"),
                with_doubt(p, 0.0, "m/s")
            );
            verdict.why += &format!(". Held back: {why}");
            why
        })
    };
    Some(Change {
        path: "limits.stall_m_s".into(),
        from: old.map(|k| k.value),
        to: settings::to_step(new.value, 0.1),
        sd: settings::to_two_digits(new.sd),
        unit: "m/s".into(),
        why: format!("it stalled at {} in standard air, {}", with_doubt(speed, sd, "m/s"), verdict.why),
        held_back,
    })
}

fn plot(flight: &Flight<'_>, airspeed: &[f64], stall: &One) -> Evidence {
    let speed = speed_samples(flight, airspeed, stall.window);
    let load = moving_mean(
        &samples(flight.recording, &Quantity::ForceZ, stall.window)
            .iter()
            .map(|(t, f)| (*t, f / -G_M_S2))
            .collect::<Vec<_>>(),
        LOAD_OVER_S,
    );
    let ends = along(stall.window.from_s, stall.window.to_s, 2);
    Evidence {
        title: "The stall".into(),
        what: "Airspeed over the root of the load factor about the break: what it would be in level flight at the same lift coefficient.".into(),
        x: "Time, s".into(),
        y: "Airspeed / √load, m/s".into(),
        data: speed
            .iter()
            .map(|(t, v)| [*t, v / if load.is_empty() { 1.0 } else { value_at(&load, *t).max(0.1).sqrt() }])
            .filter(|d| d[1] < 3.0 * stall.speed_m_s)
            .collect(),
        fit: ends.iter().map(|t| [*t, stall.speed_m_s]).collect(),
        doubt: vec![2.0 * stall.sd; 2],
        mark: Some(("break".into(), stall.at_s, 0.0)),
        residuals: Vec::new(),
    }
}
