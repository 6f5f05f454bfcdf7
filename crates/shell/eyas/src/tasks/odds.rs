//! What does a launch come to in each wind that the day may bring? Simulated launches, few enough to wait for; how sure
//! they are goes into the verdict with them.

use std::collections::BTreeMap;

use aircraft::Aircraft;
use numerics::frames::wrap_rad;
use numerics::units::{DEG_PER_RAD, RAD_PER_DEG};
use plan::day::{Computed, Launch, Sight};
use plan::number::{exact, fixed};
use predict::launch::odds::odds;
use predict::launch::scene::{Breeze, Method, REPORT_HEIGHT_M, Scene};
use predict::prediction::Prediction;

/// Launches of one day, over all its winds: about a second.
const TOGETHER: u64 = 3000;
/// Most into one wind, and fewest: all of 250 clean leave a low end of 98.5 % (Wilson), enough for every limit.
const EACH: [u64; 2] = [250, 1000];
/// The same seed gives the same launches.
const SEED: u64 = 1;
/// Winds nearer to each other than this are one, m/s.
const STEP_M_S: f64 = 0.25;
/// And angles, degrees.
const STEP_DEG: f64 = 5.0;

/// A wind as a launch feels it, in steps: mean, gust, and how far the launch points off it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Felt {
    mean: i64,
    gust: i64,
    off: i64,
}

impl Felt {
    fn of(sight: &Sight, heading_deg: Option<f64>) -> Option<Self> {
        let wind = sight.blowing()?;
        // Without a heading one launches into the wind; with one, a wind from anywhere may stand across it.
        let off_deg = heading_deg.map_or(0.0, |heading| {
            wind.from_deg.map_or(90.0, |from| (wrap_rad((heading - from) * RAD_PER_DEG) * DEG_PER_RAD).abs())
        });
        let steps = |value: f64, step: f64| (value / step).round() as i64;
        let mean = steps(wind.mean_m_s, STEP_M_S);
        let off = if wind.gust_m_s < STEP_M_S { 0 } else { steps(off_deg, STEP_DEG) };
        Some(Self { mean, gust: steps(wind.gust_m_s, STEP_M_S).max(mean), off })
    }

    fn breeze(self) -> Breeze {
        Breeze {
            speed_m_s: self.mean as f64 * STEP_M_S,
            gust_m_s: Some(self.gust as f64 * STEP_M_S),
            from_rad: 0.0,
            height_m: REPORT_HEIGHT_M,
        }
    }
}

/// Fills in what a launch comes to in the wind of each sight; one study serves all sights with the same wind.
pub(crate) fn fill(
    aircraft: &Aircraft,
    prediction: &Prediction,
    heading_deg: Option<f64>,
    spans: &mut [Vec<Sight>],
) {
    let mut studied: BTreeMap<Felt, Launch> = spans
        .iter()
        .flatten()
        .filter_map(|sight| Felt::of(sight, heading_deg))
        .map(|felt| (felt, Launch::NotComputed))
        .collect();
    let runs = (TOGETHER / (studied.len() as u64).max(1)).clamp(EACH[0], EACH[1]);
    for (felt, launch) in &mut studied {
        *launch = study(aircraft, prediction, *felt, runs);
    }
    for sight in spans.iter_mut().flatten() {
        if let Some(launch) = Felt::of(sight, heading_deg).and_then(|felt| studied.get(&felt)) {
            sight.launch = launch.clone();
        }
    }
}

fn study(aircraft: &Aircraft, prediction: &Prediction, felt: Felt, runs: u64) -> Launch {
    let mut scene = Scene::usual(aircraft, prediction, felt.breeze());
    scene.heading_rad = felt.off as f64 * STEP_DEG * RAD_PER_DEG;
    match odds(aircraft, prediction, &scene, runs, SEED) {
        Err(why) => Launch::Refused(why.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")),
        Ok(found) => {
            let strongest = found.drivers.first().filter(|d| d.percent > d.noise_percent);
            Launch::Computed(Computed {
                clean: found.clean.probability,
                low: found.clean.low,
                high: found.clean.high,
                runs: found.runs,
                which: which(&scene, felt),
                driver: strongest.map(|d| d.input.name().to_owned()),
            })
        }
    }
}

/// Which launch it was, in words.
fn which(scene: &Scene, felt: Felt) -> String {
    let way = match scene.method {
        Method::Hand => "thrown by hand",
        Method::Bungee(_) => "pulled by a cord",
        Method::Rail(_) => "shot along a rail",
        Method::Rolling(_) => "rolling on its wheels",
    };
    if felt.gust == 0 {
        return format!("{way} in a calm");
    }
    let towards = match felt.off as f64 * STEP_DEG {
        off if off < 10.0 => "straight into".to_owned(),
        off => format!("{}° off a wind of", fixed(off, 0)),
    };
    let speed = |steps: i64| exact((10.0 * steps as f64 * STEP_M_S).round() / 10.0, "m/s");
    format!("{way} {towards} {}, gusts {}", speed(felt.mean), speed(felt.gust))
}

#[cfg(test)]
mod tests {
    use plan::day::REPORT_HEIGHT_M as REPORTED_M;
    use sky::taf::Kind;
    use sky::weather::{Conditions, Wind};

    use super::*;

    fn sight(mean: f64, gust: f64, from: Option<f64>) -> Sight {
        let wind = Wind { from_deg: from, mean_m_s: mean, gust_m_s: Some(gust), sector_deg: None };
        Sight {
            source: "test".into(),
            kind: Kind::Prevailing,
            conditions: Conditions { wind: Some(wind), ..Conditions::default() },
            temperature_k: None,
            launch: Launch::NotComputed,
        }
    }

    #[test]
    fn winds_that_a_launch_feels_alike_are_one() {
        let felt = |mean, gust, from, heading| Felt::of(&sight(mean, gust, from), heading).unwrap();
        // The same off either side, and across the north: 350 is 20 degrees off 10.
        assert_eq!(felt(3.0, 4.0, Some(350.0), Some(10.0)), felt(3.0, 4.0, Some(30.0), Some(10.0)));
        assert_eq!(felt(3.0, 4.0, Some(350.0), Some(10.0)).off, 4);
        // Into the wind where no heading is told, across where the wind's direction is not.
        assert_eq!(felt(3.0, 4.0, Some(77.0), None).off, 0);
        assert_eq!(felt(3.0, 4.0, None, Some(77.0)).off, 18);
        assert_ne!(felt(3.0, 4.0, None, None), felt(3.0, 5.0, None, None));
        assert_eq!(felt(0.0, 0.0, None, Some(77.0)).off, 0, "a calm has no side");
        assert!((REPORTED_M - REPORT_HEIGHT_M).abs() < 1e-12, "both rooms speak of the same height");
    }
}
