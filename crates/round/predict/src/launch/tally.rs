//! How many of many launches end how? The same seed gives the same launches on any number of threads: each draws from
//! its own stream, and batches are fixed before they are handed out.

use numerics::statistics::wilson_interval;
use rayon::prelude::*;

use super::inputs::{Drawn, Scatter};
use super::outcome::{Noted, OUTCOMES, Outcome, before_touch};

/// Standard deviations of a 95 % interval.
pub const Z_95: f64 = 1.959_963_984_540_054;
/// Launches that are flown together, side by side in the lanes of the processor.
pub const BATCH: usize = 8;
/// Launches between two looks at progress and precision.
const CHUNK: u64 = 512;

/// One launch as it went.
#[derive(Debug, Clone, PartialEq)]
pub struct Flown {
    /// What was drawn for it and felt on the way.
    pub drawn: Drawn,
    /// What was noted.
    pub noted: Noted,
    /// Its class.
    pub outcome: Outcome,
    /// Its path, where paths were asked for.
    pub trace: Option<Trace>,
}

/// A path at even times from the release on: height above ground m, airspeed m/s, way along and across (right) the
/// heading of the throw m. Ends where the launch does.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Trace {
    /// Height of the balance point above the ground, m.
    pub height_m: Vec<f32>,
    /// True airspeed, m/s.
    pub airspeed_m_s: Vec<f32>,
    /// Way along the heading, m.
    pub along_m: Vec<f32>,
    /// Way to the right of it, m.
    pub right_m: Vec<f32>,
}

/// Time between two samples of a trace, s.
pub const TRACE_S: f64 = 0.1;

/// Whatever can be launched many times.
pub trait Launcher: Sync {
    /// Flies a batch of launches; what comes back is in the same order. `traces`: whether to keep paths.
    fn launch(&self, batch: &[Drawn], traces: bool) -> Vec<Flown>;
}

/// How many launches.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plan {
    /// Most launches.
    pub runs: u64,
    /// Seed.
    pub seed: u64,
    /// Half-width of the 95 % interval of the clean share at which it is enough (0.01 for one per cent); never where not
    /// given.
    pub precision: Option<f64>,
    /// Whether to keep paths.
    pub traces: bool,
}

/// How far it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// Launches flown.
    pub done: u64,
    /// Launches planned at most.
    pub of: u64,
}

/// Why it ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// All launches were flown.
    All,
    /// The interval was narrow enough.
    Precise,
    /// It was told to stop.
    Cancelled,
}

/// Launches flown.
#[derive(Debug, Clone, PartialEq)]
pub struct Launches {
    /// Each, in the order of its number.
    pub flown: Vec<Flown>,
    /// Why there are no more.
    pub ended: Ended,
}

/// A probability with its 95 % interval (Wilson).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Share {
    /// Cases counted.
    pub count: u64,
    /// Of how many.
    pub of: u64,
    /// Share, 0 to 1; not a number of none.
    pub probability: f64,
    /// Low end of the interval.
    pub low: f64,
    /// High end of the interval.
    pub high: f64,
}

impl Share {
    /// Share of `count` in `of`.
    #[must_use]
    pub fn new(count: u64, of: u64) -> Self {
        let (low, high) = wilson_interval(count, of, Z_95);
        let probability = if of == 0 { f64::NAN } else { count as f64 / of as f64 };
        Self { count, of, probability, low, high }
    }
}

impl Launches {
    /// Number of launches of each class, in the order of [`Outcome::ALL`].
    #[must_use]
    pub fn counts(&self) -> [u64; OUTCOMES] {
        let mut counts = [0; OUTCOMES];
        for flown in &self.flown {
            if let Some(count) = counts.get_mut(flown.outcome.place()) {
                *count += 1;
            }
        }
        counts
    }

    /// Share of a class.
    #[must_use]
    pub fn share(&self, outcome: Outcome) -> Share {
        let count = self.flown.iter().filter(|f| f.outcome == outcome).count();
        Share::new(count as u64, self.flown.len() as u64)
    }

    /// Of those that touched: what came before, each with its number.
    #[must_use]
    pub fn touched_after(&self) -> [(Outcome, u64); 3] {
        [Outcome::Sagged, Outcome::Stalled, Outcome::RolledOff].map(|first| {
            let touched = self.flown.iter().filter(|f| f.outcome == Outcome::Touched);
            (first, touched.filter(|f| before_touch(&f.noted) == first).count() as u64)
        })
    }
}

/// Flies many launches. `go_on` is told the progress between chunks and says whether to go on.
pub fn run(
    launcher: &impl Launcher,
    scatter: &Scatter,
    plan: &Plan,
    go_on: &mut dyn FnMut(Progress) -> bool,
) -> Launches {
    let mut flown: Vec<Flown> = Vec::new();
    let mut clean = 0_u64;
    let mut done = 0;
    while done < plan.runs {
        let end = plan.runs.min(done + CHUNK);
        let drawn: Vec<Drawn> = (done..end).map(|run| Drawn::new(scatter, plan.seed, run)).collect();
        let batches: Vec<Vec<Flown>> =
            drawn.par_chunks(BATCH).map(|batch| launcher.launch(batch, plan.traces)).collect();
        for launch in batches.into_iter().flatten() {
            clean += u64::from(launch.outcome == Outcome::Clean);
            flown.push(launch);
        }
        done = end;
        if !go_on(Progress { done, of: plan.runs }) && done < plan.runs {
            return Launches { flown, ended: Ended::Cancelled };
        }
        let share = Share::new(clean, done);
        if plan.precision.is_some_and(|enough| 0.5 * (share.high - share.low) <= enough) && done < plan.runs {
            return Launches { flown, ended: Ended::Precise };
        }
    }
    Launches { flown, ended: Ended::All }
}

/// How much more probable a clean launch is in one set of launches than in another with the same random numbers: the
/// difference of the shares with its 95 % interval. Only launches that end differently tell; half a launch is added to
/// both kinds of them, so that none at all still leaves a doubt (after Agresti and Min, Stat. Med. 24 (2005) 729, from
/// memory).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gain {
    /// Difference of the shares.
    pub change: f64,
    /// Low end of its interval.
    pub low: f64,
    /// High end of its interval.
    pub high: f64,
}

/// The gain of `other` over `base`, launch by launch as far as both reach.
#[must_use]
pub fn gain(base: &Launches, other: &Launches) -> Gain {
    let clean = |flown: &Flown| flown.outcome == Outcome::Clean;
    let (mut won, mut lost, mut n) = (0.0_f64, 0.0_f64, 0.0_f64);
    for (a, b) in base.flown.iter().zip(&other.flown) {
        n += 1.0;
        match (clean(a), clean(b)) {
            (false, true) => won += 1.0,
            (true, false) => lost += 1.0,
            _ => {}
        }
    }
    if n == 0.0 {
        return Gain { change: 0.0, low: -1.0, high: 1.0 };
    }
    let (w, l, all) = (won + 0.5, lost + 0.5, n + 2.0);
    let middle = (w - l) / all;
    let half = Z_95 * ((w + l) - (w - l) * (w - l) / all).max(0.0).sqrt() / all;
    Gain { change: (won - lost) / n, low: (middle - half).max(-1.0), high: (middle + half).min(1.0) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::launch::inputs::{Input, Spread};

    /// Clean where the speed drawn exceeds a limit: the probability is that of the normal distribution.
    struct Faster {
        than_m_s: f64,
    }

    impl Launcher for Faster {
        fn launch(&self, batch: &[Drawn], _: bool) -> Vec<Flown> {
            batch
                .iter()
                .map(|drawn| Flown {
                    drawn: *drawn,
                    noted: Noted::default(),
                    outcome: if drawn.of(Input::Speed) > self.than_m_s {
                        Outcome::Clean
                    } else {
                        Outcome::Sagged
                    },
                    trace: None,
                })
                .collect()
        }
    }

    fn scatter() -> Scatter {
        let mut scatter = Scatter::none();
        scatter.set(Input::Speed, Spread::new(8.0, 1.0));
        scatter
    }

    fn plan(runs: u64, seed: u64) -> Plan {
        Plan { runs, seed, precision: None, traces: false }
    }

    #[test]
    fn the_interval_covers_a_probability_known_in_closed_form_in_95_of_100_studies() {
        // Speed normal with mean 8 and deviation 1, cut at three deviations: more than 8 + 1.2 with probability
        // (Φ(3) - Φ(1.2)) / (2 Φ(3) - 1), Φ(1.2) = 0.884930, Φ(3) = 0.998650: 0.114030.
        let truth = (0.998_650 - 0.884_930) / (2.0 * 0.998_650 - 1.0);
        let covered = (0..200)
            .filter(|seed| {
                let flown = run(&Faster { than_m_s: 9.2 }, &scatter(), &plan(400, *seed), &mut |_| true);
                let share = flown.share(Outcome::Clean);
                share.low <= truth && truth <= share.high
            })
            .count();
        // Of 200 at 95 %: 190 with a deviation of 3.1. Four of them either way, and not all.
        assert!((178..=199).contains(&covered), "{covered} of 200");
    }

    #[test]
    fn intervals_are_those_of_a_statistics_library_and_of_a_published_table() {
        // scipy 1.17.1 by reference/launch-statistics/make.py; three of the rows also in Newcombe (1998), table I.
        let text = include_str!("../../../../../reference/launch-statistics/wilson.csv");
        let mut cases = 0;
        for line in text.lines().filter(|l| !l.starts_with('#') && !l.is_empty()) {
            let n: Vec<f64> = line.split(',').map(|v| v.parse().unwrap()).collect();
            let share = Share::new(n[0] as u64, n[1] as u64);
            assert!(
                (share.low - n[2]).abs() < 1e-12 && (share.high - n[3]).abs() < 1e-12,
                "{line}: {share:?}"
            );
            cases += 1;
        }
        assert!(cases >= 7);
        for (count, of, low, high) in
            [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (1, 29, 0.0061, 0.1718)]
        {
            let share = Share::new(count, of);
            assert!(
                (share.low - low).abs() < 5.1e-5 && (share.high - high).abs() < 5.1e-5,
                "{count} of {of}"
            );
        }
    }

    #[test]
    fn it_ends_early_where_it_is_precise_enough_or_told_to() {
        let wanted = Plan { precision: Some(0.02), ..plan(100_000, 1) };
        let flown = run(&Faster { than_m_s: 8.0 }, &scatter(), &wanted, &mut |_| true);
        let share = flown.share(Outcome::Clean);
        assert_eq!(flown.ended, Ended::Precise);
        // Half-width 0.02 at one half takes (1.96 / 2 / 0.02)² = 2401 launches, less a few, in chunks of 512.
        assert_eq!(share.of, 2560);
        let mut looks = 0;
        let flown = run(&Faster { than_m_s: 8.0 }, &scatter(), &plan(100_000, 1), &mut |progress| {
            looks += 1;
            progress.done < 1024
        });
        assert_eq!((flown.ended, flown.flown.len(), looks), (Ended::Cancelled, 1024, 2));
    }

    #[test]
    fn the_number_of_threads_changes_nothing() {
        let on = |threads| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
            pool.install(|| run(&Faster { than_m_s: 8.5 }, &scatter(), &plan(3000, 5), &mut |_| true))
        };
        assert_eq!(on(1), on(3));
    }

    #[test]
    fn a_change_is_told_by_the_launches_that_end_differently() {
        let flown = |limit| run(&Faster { than_m_s: limit }, &scatter(), &plan(4000, 2), &mut |_| true);
        let change = gain(&flown(8.5), &flown(8.0));
        // Between 8 and 8.5: (Φ(0.5) - Φ(0)) / (2 Φ(3) - 1) = 0.191462 / 0.997300 = 0.191981.
        assert!(change.low < 0.191_981 && 0.191_981 < change.high, "{change:?}");
        // All differ one way: half-width 1.96 sqrt(p (1 - p) / n) = 0.0122.
        assert!((0.5 * (change.high - change.low) - 0.0122).abs() < 0.0005, "{change:?}");
        let none = gain(&flown(8.0), &flown(8.0));
        assert!(none.change == 0.0 && none.low < 0.0 && none.high > 0.0);
    }
}
