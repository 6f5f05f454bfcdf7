//! How long do 10 000 launches of 6 s take, with gusts, controller and drive? The goal is 2 s on two cores, and from one
//! thread to two within 1.5 times of linear. `cargo bench -p predict --bench launch`; divan's counter tells launch-seconds.
//! launch_compare.py beside this file runs a comparable aircraft through a general integrator, for a ratio.

use divan::counter::ItemsCount;
use predict::launch::flight::Launching;
use predict::launch::scene::{Breeze, Scene};
use predict::launch::tally::{Plan, run};
use predict::{Conditions, predict};

const FILE: &str = include_str!("../../../../examples/wheatear.toml");
const RUNS: u64 = 2000;

fn main() {
    divan::main();
}

fn ready() -> Option<Launching> {
    let aircraft = aircraft::schema::read(FILE, &|_| None).ok()?;
    let prediction = predict(&aircraft, &Conditions::default()).ok()?;
    let wind = Breeze { speed_m_s: 4.0, gust_m_s: Some(7.0), from_rad: 0.0, height_m: 10.0 };
    let scene = Scene::usual(&aircraft, &prediction, wind);
    Launching::new(&aircraft, &prediction, &scene).ok()
}

#[divan::bench(args = [1, 2], sample_count = 8, sample_size = 1)]
fn launches_on_threads(bencher: divan::Bencher, threads: usize) {
    let (Some(launching), Ok(pool)) = (ready(), rayon::ThreadPoolBuilder::new().num_threads(threads).build())
    else {
        return;
    };
    let plan = Plan { runs: RUNS, seed: 1, precision: None, traces: true };
    let seconds = (RUNS as f64 * launching.scene().seconds) as usize;
    bencher.counter(ItemsCount::new(seconds)).bench(|| {
        pool.install(|| run(&launching, &launching.scene().scatter, &plan, &mut |_| true).flown.len())
    });
}
