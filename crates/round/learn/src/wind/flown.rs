//! Which seconds of a recording tell the wind, and what was recorded in them?

use aircraft::finding::Window;
use fly::phases::{Phase, PhaseKind};
use fly::recording::Quantity;
use numerics::statistics::{mean, quantile};
use numerics::units::G_M_S2;

use crate::blocks::Blocks;
use crate::findings::NotLearnt;

/// Share of the 90 % airspeed below which the aircraft is taken not to fly on its wing.
const FLYING_SHARE: f64 = 0.5;

/// What the fit uses of the recording, block by block.
pub(crate) struct Flown {
    pub(crate) time_s: Vec<f64>,
    pub(crate) velocity: Vec<[f64; 2]>,
    pub(crate) down: Vec<f64>,
    /// Sensor airspeed; ones where there is no sensor.
    pub(crate) airspeed: Vec<f64>,
    pub(crate) airspeed_rate: Vec<f64>,
    pub(crate) height: Vec<f64>,
    pub(crate) heading: Vec<f64>,
    /// What shows the airspeed where no sensor does: throttle, climb (m/s), pitch less path angle (rad), load factor.
    pub(crate) shown: Vec<[f64; 4]>,
    pub(crate) sensor: bool,
    pub(crate) heights: bool,
    pub(crate) step_s: f64,
}

/// Picks the blocks in which the aircraft flew.
pub(super) fn gather(blocks: &Blocks, phases: &[Phase]) -> Result<Flown, NotLearnt> {
    let (Some(north), Some(east)) =
        (blocks.column(&Quantity::VelocityNorth), blocks.column(&Quantity::VelocityEast))
    else {
        return Err(NotLearnt::MissingChannel {
            what: "velocity over ground: north and east, or speed and course, or latitude and longitude"
                .into(),
        });
    };
    let none = vec![f64::NAN; blocks.count];
    let down = blocks.column(&Quantity::VelocityDown);
    let airspeed = blocks.column(&Quantity::Airspeed);
    let height = blocks.height_m();
    let heading = blocks.column(&Quantity::Yaw).unwrap_or(&none);
    let rate = airspeed.map(|a| blocks.rate_of(a));
    let sensor = airspeed.is_some_and(|a| a.iter().filter(|v| v.is_finite()).count() > 20);
    let speed: Vec<f64> = match (sensor, airspeed) {
        (true, Some(a)) => a.to_vec(),
        _ => north.iter().zip(east).map(|(n, e)| n.hypot(*e)).collect(),
    };
    let least = FLYING_SHARE * quantile(&speed, 0.9);
    let mut flown = Flown {
        time_s: Vec::new(),
        velocity: Vec::new(),
        down: Vec::new(),
        airspeed: Vec::new(),
        airspeed_rate: Vec::new(),
        height: Vec::new(),
        heading: Vec::new(),
        shown: Vec::new(),
        sensor,
        heights: height.is_some(),
        step_s: blocks.step_s,
    };
    for window in used_windows(blocks, phases, sensor) {
        for i in blocks.within(window) {
            // Without a sensor a slow ground speed may be a strong wind: only standing still is left out.
            let slow = if sensor { speed[i] < least } else { speed[i] < 0.2 * least };
            if !(north[i].is_finite() && east[i].is_finite() && speed[i].is_finite()) || slow {
                continue;
            }
            flown.time_s.push(blocks.time_s(i));
            flown.velocity.push([north[i], east[i]]);
            let sink = down.map_or(0.0, |d| d[i]);
            flown.down.push(if sink.is_finite() { sink } else { 0.0 });
            flown.airspeed.push(if sensor { speed[i] } else { 1.0 });
            flown
                .airspeed_rate
                .push(rate.as_ref().map_or(0.0, |r| if r[i].is_finite() { r[i] } else { 0.0 }));
            flown.height.push(height.map_or(f64::NAN, |h| h[i]));
            flown.heading.push(heading[i]);
            flown.shown.push(shown(blocks, i));
        }
    }
    fill_height(&mut flown);
    let seconds = flown.time_s.len() as f64 * flown.step_s;
    if seconds < 10.0 {
        return Err(NotLearnt::NotExcited {
            why: format!(
                "only {seconds:.0} s of flight{} were found: fly two full circles at constant throttle",
                if sensor { "" } else { " in steady turns and straight legs" }
            ),
        });
    }
    Ok(flown)
}

/// What shows the airspeed in a block, see [`Flown::shown`]; not a number where not recorded.
fn shown(blocks: &Blocks, i: usize) -> [f64; 4] {
    let at = |q: &Quantity| blocks.column(q).and_then(|c| c.get(i)).copied().unwrap_or(f64::NAN);
    let climb = -at(&Quantity::VelocityDown);
    let level = at(&Quantity::VelocityNorth).hypot(at(&Quantity::VelocityEast));
    [
        at(&Quantity::Throttle),
        climb,
        // Ground speed is near enough to airspeed for the small path angles of steady flight.
        at(&Quantity::Pitch) - climb.atan2(level.max(5.0)),
        at(&Quantity::ForceZ) / -G_M_S2,
    ]
}

/// Missing heights are taken at the mean, where they change nothing.
fn fill_height(flown: &mut Flown) {
    let known: Vec<f64> = flown.height.iter().copied().filter(|h| h.is_finite()).collect();
    if known.len() < flown.height.len() / 2 || known.is_empty() {
        flown.heights = false;
    }
    let middle = if known.is_empty() { 0.0 } else { mean(&known) };
    for h in &mut flown.height {
        if !h.is_finite() {
            *h = middle;
        }
    }
}

/// With a sensor all seconds in the air count; without one only those of steady airspeed.
fn used_windows(blocks: &Blocks, phases: &[Phase], sensor: bool) -> Vec<Window> {
    let flying = |kind: PhaseKind| match kind {
        PhaseKind::Ground | PhaseKind::Launch | PhaseKind::Stall | PhaseKind::Landing | PhaseKind::Impact => {
            false
        }
        PhaseKind::Straight | PhaseKind::Turn => true,
        PhaseKind::Climb | PhaseKind::Input | PhaseKind::Glide | PhaseKind::Approach | PhaseKind::Other => {
            sensor
        }
    };
    let windows: Vec<Window> = phases.iter().filter(|p| flying(p.kind)).map(|p| p.window).collect();
    if windows.is_empty() && phases.iter().all(|p| p.kind != PhaseKind::Ground) {
        // No phase could be told: then speed alone must tell what is flight.
        return vec![Window { from_s: blocks.from_s, to_s: blocks.time_s(blocks.count) }];
    }
    windows
}

impl Flown {
    pub(super) fn keep(&mut self, kept: &[usize]) {
        let pick = |v: &[f64]| kept.iter().map(|i| v[*i]).collect();
        self.time_s = pick(&self.time_s);
        self.down = pick(&self.down);
        self.airspeed = pick(&self.airspeed);
        self.airspeed_rate = pick(&self.airspeed_rate);
        self.height = pick(&self.height);
        self.heading = pick(&self.heading);
        self.shown = kept.iter().map(|i| self.shown[*i]).collect();
        self.velocity = kept.iter().map(|i| self.velocity[*i]).collect();
    }
}
