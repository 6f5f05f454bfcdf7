//! How do the odds change with wind and release speed, and how fast must it leave the hand?

use super::flight::Launching;
use super::inputs::Input;
use super::outcome::Outcome;
use super::scene::Scene;
use super::tally::{Plan, Progress, Share, run};

/// Odds at one wind and one mean release speed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cell {
    /// Mean wind, m/s.
    pub wind_m_s: f64,
    /// Mean release speed, m/s.
    pub speed_m_s: f64,
    /// Share of clean launches.
    pub clean: Share,
}

/// Winds of the table, m/s: six, from calm to beyond the wind of the scene.
fn winds(scene: &Scene) -> Vec<f64> {
    let step = ((scene.wind.speed_m_s + 2.0) / 5.0).max(2.0).ceil();
    (0..6).map(|i| step * f64::from(i)).collect()
}

/// Release speeds of the table, m/s: 55 to 145 per cent of that of the scene.
fn speeds(scene: &Scene) -> Vec<f64> {
    let mean = scene.scatter.of(Input::Speed).mean;
    let mut list: Vec<f64> = [0.55, 0.7, 0.85, 1.0, 1.15, 1.3, 1.45]
        .iter()
        .map(|share| (2.0 * share * mean).round() / 2.0)
        .collect();
    list.dedup();
    list
}

/// Number of launches that the table takes with `each` a cell.
#[must_use]
pub fn runs(scene: &Scene, each: u64) -> u64 {
    each * winds(scene).len() as u64 * speeds(scene).len() as u64
}

/// The same scene in another mean wind: gusts in proportion.
#[must_use]
pub fn in_wind(scene: &Scene, wind_m_s: f64) -> Scene {
    let mut other = *scene;
    other.wind.speed_m_s = wind_m_s;
    other.wind.gust_m_s = scene.wind.gust_m_s.map(|gust| {
        if scene.wind.speed_m_s > 0.0 {
            gust * wind_m_s / scene.wind.speed_m_s
        } else {
            // Gusts out of a calm stay what they are above the mean.
            wind_m_s + gust
        }
    });
    other
}

/// The table, wind by wind, with the same random numbers in each cell. `None` when told to stop.
pub fn table(
    launching: &Launching,
    each: u64,
    seed: u64,
    go_on: &mut dyn FnMut(u64) -> bool,
) -> Option<Vec<Cell>> {
    let scene = launching.scene();
    let mut cells = Vec::new();
    for wind_m_s in winds(scene) {
        for speed_m_s in speeds(scene) {
            let mut other = in_wind(scene, wind_m_s);
            // The scatter grows with the mean.
            let spread = scene.scatter.of(Input::Speed);
            let share = if spread.mean > 0.0 { spread.sd / spread.mean } else { 0.0 };
            other.scatter.set(Input::Speed, super::inputs::Spread::new(speed_m_s, share * speed_m_s));
            let clean = clean_of(&launching.in_scene(&other), each, seed);
            cells.push(Cell { wind_m_s, speed_m_s, clean });
            if !go_on(each) {
                return None;
            }
        }
    }
    Some(cells)
}

fn clean_of(launching: &Launching, runs: u64, seed: u64) -> Share {
    let plan = Plan { runs, seed, precision: None, traces: false };
    run(launching, &launching.scene().scatter, &plan, &mut |_: Progress| true).share(Outcome::Clean)
}

/// The least release speed for a clean share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Least {
    /// Found: mean release speed, m/s, and what it gives.
    Found {
        /// Mean release speed, m/s.
        speed_m_s: f64,
        /// Share of clean launches there.
        clean: Share,
    },
    /// No speed that was tried gives it: the best one and its share.
    None {
        /// Mean release speed, m/s.
        best_m_s: f64,
        /// Share of clean launches there.
        clean: Share,
    },
}

/// Clean share that is asked for.
pub const WANTED: f64 = 0.95;
/// Launches that [`least`] takes at most, in steps of `each`.
pub const LEAST_TRIES: u64 = 16;

/// The least mean release speed at which [`WANTED`] of the launches are clean, to a tenth of a meter a second, found
/// from below upward: one that is too fast can be worse again. `None` when told to stop.
pub fn least(
    launching: &Launching,
    each: u64,
    seed: u64,
    go_on: &mut dyn FnMut(u64) -> bool,
) -> Option<Least> {
    let scene = *launching.scene();
    let spread = scene.scatter.of(Input::Speed);
    let share = if spread.mean > 0.0 { spread.sd / spread.mean } else { 0.0 };
    let tries = std::cell::Cell::new(0_u64);
    let mut at = |speed_m_s: f64| -> Option<Share> {
        let mut other = scene;
        other.scatter.set(Input::Speed, super::inputs::Spread::new(speed_m_s, share * speed_m_s));
        let clean = clean_of(&launching.in_scene(&other), each, seed);
        tries.set(tries.get() + 1);
        go_on(each).then_some(clean)
    };
    let (mut low, mut found) = (0.0, None);
    let mut best = (0.0, Share::new(0, 1));
    for factor in [0.4, 0.55, 0.7, 0.85, 1.0, 1.2, 1.4, 1.7, 2.1] {
        let speed = factor * spread.mean;
        let clean = at(speed)?;
        if clean.probability > best.1.probability {
            best = (speed, clean);
        }
        if clean.probability >= WANTED {
            found = Some((speed, clean));
            break;
        }
        low = speed;
    }
    let Some((mut high, mut clean)) = found else {
        let rest = (LEAST_TRIES - tries.get().min(LEAST_TRIES)) * each;
        return go_on(rest).then_some(Least::None { best_m_s: best.0, clean: best.1 });
    };
    while high - low > 0.1 && tries.get() < LEAST_TRIES {
        let middle = 0.5 * (low + high);
        let here = at(middle)?;
        if here.probability >= WANTED {
            (high, clean) = (middle, here);
        } else {
            low = middle;
        }
    }
    let rest = LEAST_TRIES.saturating_sub(tries.get()) * each;
    go_on(rest).then_some(Least::Found { speed_m_s: high, clean })
}
