//! The whole answer: odds, drivers, table, what would help, and the landing after it.

use aircraft::Aircraft;

use super::bands::{Bands, Path, bands, fan};
use super::drivers::{Driver, drivers};
use super::flight::Launching;
use super::help::{Help, changes, helps};
use super::landing::{Landing, landing};
use super::outcome::{OUTCOMES, Outcome};
use super::refuse::{Refused, against};
use super::scene::Scene;
use super::table::{self, Cell, Least};
use super::tally::{Ended, Launches, Plan, Progress, Share, run};
use crate::prediction::Prediction;

/// Odds below this are a no (judgement, no source: one launch in ten that goes wrong is one too many).
pub const GOOD: f64 = 0.9;

/// Odds of a clean launch.
#[derive(Debug, Clone, PartialEq)]
pub struct Odds {
    /// Launches flown.
    pub runs: u64,
    /// Seed.
    pub seed: u64,
    /// Why there are no more.
    pub ended: Ended,
    /// Share of clean launches.
    pub clean: Share,
    /// Share of each class, in the order of [`Outcome::ALL`].
    pub outcomes: [Share; OUTCOMES],
    /// Of those that touched: what came before.
    pub touched_after: [(Outcome, u64); 3],
    /// What drives them, the strongest first.
    pub drivers: Vec<Driver>,
}

impl Odds {
    fn of(launches: &Launches, seed: u64) -> Self {
        Self {
            runs: launches.flown.len() as u64,
            seed,
            ended: launches.ended,
            clean: launches.share(Outcome::Clean),
            outcomes: Outcome::ALL.map(|outcome| launches.share(outcome)),
            touched_after: launches.touched_after(),
            drivers: drivers(&launches.flown),
        }
    }

    /// Whether the odds are a no.
    #[must_use]
    pub fn is_no(&self) -> bool {
        self.clean.probability.is_nan() || self.clean.probability < GOOD
    }
}

/// The odds of a clean launch of an aircraft in a scene: quick (some 500 launches do for a limit on a card).
///
/// # Errors
/// Everything that speaks against computing it: see [`Refused`].
pub fn odds(
    aircraft: &Aircraft,
    prediction: &Prediction,
    scene: &Scene,
    runs: u64,
    seed: u64,
) -> Result<Odds, Vec<Refused>> {
    let launching = ready(aircraft, prediction, scene, runs)?;
    // With paths, for the gusts that the first second felt are read from them.
    let plan = Plan { runs, seed, precision: None, traces: true };
    Ok(Odds::of(&run(&launching, &scene.scatter, &plan, &mut |_| true), seed))
}

fn ready(
    aircraft: &Aircraft,
    prediction: &Prediction,
    scene: &Scene,
    runs: u64,
) -> Result<Launching, Vec<Refused>> {
    let refused = against(aircraft, prediction, scene, runs);
    if refused.is_empty() {
        Launching::new(aircraft, prediction, scene).map_err(|why| vec![why])
    } else {
        Err(refused)
    }
}

/// What a study is to contain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Depth {
    /// Most launches of the scene as it stands.
    pub runs: u64,
    /// Seed.
    pub seed: u64,
    /// Half-width of the 95 % interval at which it is enough; never where not given.
    pub precision: Option<f64>,
    /// Launches for each change that might help; zero for none.
    pub help_runs: u64,
    /// Launches for each cell of the table over wind and speed; zero for none.
    pub cell_runs: u64,
    /// Launches for each try of the least release speed; zero for none.
    pub least_runs: u64,
}

impl Depth {
    /// What a person at a terminal waits for: the asked number of launches, 800 for each change, 200 for each cell.
    #[must_use]
    pub fn usual(runs: u64, seed: u64) -> Self {
        Self {
            runs,
            seed,
            precision: None,
            help_runs: runs.min(800),
            cell_runs: runs.min(200),
            least_runs: runs.min(500),
        }
    }
}

/// Everything about one scene.
#[derive(Debug, Clone, PartialEq)]
pub struct Study {
    /// The scene.
    pub scene: Scene,
    /// Stall speed, m/s.
    pub stall_m_s: f64,
    /// Odds.
    pub odds: Odds,
    /// Height and airspeed over time.
    pub bands: Bands,
    /// Some paths.
    pub fan: Vec<Path>,
    /// What would help or hurt, the greatest gain first; empty where it was told to stop before.
    pub helps: Vec<Help>,
    /// Odds over wind and release speed; empty where it was told to stop before.
    pub table: Vec<Cell>,
    /// Least release speed; absent where it was told to stop before.
    pub least: Option<Least>,
    /// Landing and return.
    pub landing: Landing,
    /// Whether it was told to stop.
    pub cancelled: bool,
}

/// Studies a scene. `go_on` is told the progress over all launches of the study and says whether to go on.
///
/// # Errors
/// Everything that speaks against computing it: see [`Refused`].
pub fn study(
    aircraft: &Aircraft,
    prediction: &Prediction,
    scene: &Scene,
    depth: &Depth,
    go_on: &mut dyn FnMut(Progress) -> bool,
) -> Result<Study, Vec<Refused>> {
    let launching = ready(aircraft, prediction, scene, depth.runs)?;
    let of = depth.runs
        + depth.help_runs * changes(aircraft, &launching).len() as u64
        + table::runs(scene, depth.cell_runs)
        + depth.least_runs * table::LEAST_TRIES;
    let plan = Plan { runs: depth.runs, seed: depth.seed, precision: depth.precision, traces: true };
    let base = run(&launching, &scene.scatter, &plan, &mut |p| go_on(Progress { done: p.done, of }));
    let mut out = Study {
        scene: *scene,
        stall_m_s: prediction.speeds.stall_m_s.value,
        odds: Odds::of(&base, depth.seed),
        bands: bands(&base.flown),
        fan: fan(&base.flown),
        helps: Vec::new(),
        table: Vec::new(),
        least: None,
        landing: landing(prediction, &scene.wind),
        cancelled: base.ended == Ended::Cancelled,
    };
    let mut done = depth.runs;
    let mut more = |flown: u64| {
        done += flown;
        go_on(Progress { done: done.min(of), of })
    };
    if out.cancelled {
        return Ok(out);
    }
    if depth.help_runs > 0 {
        match helps(aircraft, &launching, &base, depth.help_runs, depth.seed, &mut more) {
            Some(list) => out.helps = list,
            None => out.cancelled = true,
        }
    }
    if depth.cell_runs > 0 && !out.cancelled {
        match table::table(&launching, depth.cell_runs, depth.seed, &mut more) {
            Some(cells) => out.table = cells,
            None => out.cancelled = true,
        }
    }
    if depth.least_runs > 0 && !out.cancelled {
        out.least = table::least(&launching, depth.least_runs, depth.seed, &mut more);
        out.cancelled = out.least.is_none();
    }
    Ok(out)
}
