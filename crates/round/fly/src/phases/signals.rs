//! What do the rules of the phases look at? Speed, turning, bank, climb and power on one grid, from what is there.

use aircraft::finding::Window;
use numerics::statistics::quantile;

use crate::derive;
use crate::recording::{Channel, Quantity, Recording};
use crate::resample::{self, rate_on_grid, smooth};
use crate::thin;
use crate::words::G;

/// Step of the grid, s.
const STEP_S: f64 = 0.1;

/// The channels that the rules look at, smoothed; what is not known is not a number.
pub(super) struct Signals {
    pub(super) t: Vec<f64>,
    pub(super) step: f64,
    speed: Vec<f64>,
    /// Speed over ground; not a number where it is not known.
    over_ground: Vec<f64>,
    pub(super) turn_rate: Vec<f64>,
    pub(super) bank: Vec<f64>,
    pub(super) climb: Vec<f64>,
    pub(super) height: Vec<f64>,
    /// Share of full power; not a number where nothing tells it.
    power: Vec<f64>,
    channels: usize,
}

impl Signals {
    /// Nothing for a recording without any speed.
    pub(super) fn of(r: &Recording) -> Option<Self> {
        let (from, to) = r.span_s()?;
        let rows = ((to - from) / STEP_S).floor() + 1.0;
        if !(10.0..=1e7).contains(&rows) {
            return None;
        }
        let t: Vec<f64> = (0..rows as usize).map(|i| from + i as f64 * STEP_S).collect();
        let on_grid = |q: &Quantity| r.channel(q).map(|c| resample::at(c, &t));
        let ground = on_grid(&Quantity::VelocityNorth).zip(on_grid(&Quantity::VelocityEast));
        let over_ground: Option<Vec<f64>> = ground
            .as_ref()
            .map(|(n, e)| n.iter().zip(e).map(|(n, e)| n.hypot(*e)).collect())
            .or_else(|| on_grid(&Quantity::GroundSpeed));
        let airspeed = on_grid(&Quantity::Airspeed);
        let resting = over_ground.as_ref().map_or_else(|| vec![f64::NAN; t.len()], |g| smooth(g, 3));
        let speed = match (airspeed, over_ground) {
            // Where one is missing the other fills in.
            (Some(a), Some(g)) => {
                a.iter().zip(&g).map(|(a, g)| if a.is_finite() { *a } else { *g }).collect()
            }
            (one, other) => one.or(other)?,
        };
        let speed = smooth(&speed, 3);
        let direction = ground
            .map(|(n, e)| {
                n.iter()
                    .zip(&e)
                    .map(|(n, e)| if n.hypot(*e) > 2.0 { e.atan2(*n) } else { f64::NAN })
                    .collect::<Vec<f64>>()
            })
            .or_else(|| on_grid(&Quantity::Course))
            .or_else(|| on_grid(&Quantity::Yaw));
        let unknown = || vec![f64::NAN; t.len()];
        let turn_rate = direction
            .map(|d| smooth(&rate_on_grid(&d, STEP_S), 3))
            .or_else(|| on_grid(&Quantity::YawRate).map(|w| smooth(&w, 5)))
            .unwrap_or_else(unknown);
        let roll = on_grid(&Quantity::Roll);
        let has_roll = roll.is_some();
        let bank = match roll {
            Some(roll) => smooth(&roll, 3),
            None => turn_rate.iter().zip(&speed).map(|(w, v)| (w * v / G).atan()).collect(),
        };
        let tall = r.channel(&Quantity::Height).or_else(|| r.channel(&Quantity::Altitude));
        let tall = tall.map(thin::channel);
        let height = tall.as_deref().map_or_else(unknown, |c| smooth(&resample::at(c, &t), 2));
        let climb = tall
            .as_deref()
            .map(|c| {
                let rate = Channel {
                    quantity: Quantity::VelocityDown,
                    source: String::new(),
                    time_s: c.time_s.clone(),
                    values: derive::derivative(&c.time_s, &c.values, 0.8),
                };
                smooth(&resample::at(&rate, &t), 5)
            })
            .or_else(|| {
                let down = on_grid(&Quantity::VelocityDown)?;
                Some(smooth(&down.iter().map(|v| -v).collect::<Vec<f64>>(), 5))
            })
            .unwrap_or_else(unknown);
        let power = power(r, &t).unwrap_or_else(unknown);
        let known = |v: &[f64]| usize::from(v.iter().any(|x| x.is_finite()));
        let channels = 1 + known(&turn_rate) + known(&climb) + usize::from(has_roll);
        Some(Self {
            speed,
            over_ground: resting,
            turn_rate,
            bank,
            climb,
            height,
            power,
            channels,
            step: STEP_S,
            t,
        })
    }

    /// Whether it flies: from half the usual flying speed until a quarter of it for two seconds near the ground; over
    /// ground, where that is known, as the wind blows on what lies there too.
    pub(super) fn flying(&self) -> Vec<bool> {
        let fast: Vec<f64> = self.speed.iter().copied().filter(|v| *v > 4.0).collect();
        let usual = quantile(&fast, 0.5);
        if !usual.is_finite() {
            return vec![false; self.t.len()];
        }
        let slow_for = (2.0 / self.step) as usize;
        let fast_for = (0.4 / self.step) as usize;
        let ground_m = quantile(&self.height, 0.02);
        let (mut on, mut slow, mut quick) = (false, 0, 0);
        let mut flying: Vec<bool> = Vec::with_capacity(self.t.len());
        for (i, v) in self.speed.iter().enumerate() {
            let high = self.height.get(i).is_some_and(|h| h - ground_m > 6.0);
            quick = if *v > 0.5 * usual { quick + 1 } else { 0 };
            // A hole in the speed changes nothing.
            if v.is_finite() {
                let over_ground = self.over_ground.get(i).copied().filter(|g| g.is_finite());
                let stands = match over_ground {
                    Some(ground) => ground < 0.15 * usual && *v < 0.6 * usual,
                    None => *v < 0.25 * usual,
                };
                slow = if stands && !high { slow + 1 } else { 0 };
            }
            if !on && quick > fast_for {
                on = true;
                slow = 0;
                // It flew from where it became quick.
                let from = flying.len().saturating_sub(fast_for);
                for f in flying.get_mut(from..).unwrap_or(&mut []) {
                    *f = true;
                }
            } else if on && slow > slow_for {
                on = false;
                let from = flying.len().saturating_sub(slow_for);
                for f in flying.get_mut(from..).unwrap_or(&mut []) {
                    *f = false;
                }
            }
            flying.push(on);
        }
        flying
    }

    /// Where the motor stands still or idles, as far as throttle, current or propeller tell.
    pub(super) fn motor_off(&self) -> Vec<bool> {
        super::hysteresis(&self.power, |p| -p, (-0.06, -0.12))
    }

    /// Angle of the path of flight above the horizon, rad.
    pub(super) fn path_rad(&self) -> Vec<f64> {
        self.climb
            .iter()
            .zip(&self.speed)
            .map(|(c, v)| if *v > 2.0 { (c / v).clamp(-1.0, 1.0).asin() } else { f64::NAN })
            .collect()
    }

    pub(super) fn both(&self, a: &[bool], b: &[bool]) -> Vec<bool> {
        a.iter().zip(b).map(|(a, b)| *a && *b).collect()
    }

    /// How much the rules have to go by, 0 to 1.
    pub(super) fn strength(&self) -> f64 {
        0.5 + 0.45 * (self.channels as f64 - 1.0) / 3.0
    }

    pub(super) fn seconds(&self, from: usize, to: usize) -> f64 {
        to.saturating_sub(from) as f64 * self.step
    }

    /// Places in a time, at least one.
    pub(super) fn places(&self, seconds: f64) -> usize {
        ((seconds / self.step).round() as usize).max(1)
    }

    /// The place of a time on the grid.
    pub(super) fn place(&self, time_s: f64) -> usize {
        let from = self.t.first().copied().unwrap_or(0.0);
        (((time_s - from) / self.step).round().max(0.0) as usize).min(self.t.len())
    }

    pub(super) fn window(&self, from: usize, to: usize) -> Window {
        let at = |i: usize| self.t.get(i).copied();
        let end = self.t.last().copied().unwrap_or(0.0);
        Window { from_s: at(from).unwrap_or(0.0), to_s: at(to).unwrap_or(end) }
    }
}

/// Share of full power: the throttle, else current or propeller speed over nearly its highest.
fn power(r: &Recording, t: &[f64]) -> Option<Vec<f64>> {
    if let Some(c) = r.channel(&Quantity::Throttle) {
        return Some(resample::at(c, t));
    }
    let (c, least) = r
        .channel(&Quantity::Amps)
        .map(|c| (c, 2.0))
        .or_else(|| r.channel(&Quantity::Rpm).map(|c| (c, 1000.0)))?;
    let high = quantile(&c.values, 0.95);
    (high > least).then(|| smooth(&resample::at(c, t).iter().map(|v| v / high).collect::<Vec<f64>>(), 2))
}
