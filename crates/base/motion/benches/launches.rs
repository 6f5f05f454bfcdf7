//! How long does a step take? Launches of six seconds at 400 steps a second with gusts, controller and drive on: one
//! at a time and side by side. Times are of one flight of 2401 steps; user time on one core.

use motion::actuators::Actuators;
use motion::details::{Details, Spin, Wash};
use motion::forces::Prepared;
use motion::ground::Ground;
use motion::launch::{Device, Throw};
use motion::model::ForceModel;
use motion::simulate::{Method, Motor, MotorStart, Plant, Run, Watch, Weather, fly, fly_all};
use motion::stabilizer::{Settings, Task};
use motion::state::Controls;
use sky::wind::{Profile, Wind};

#[allow(dead_code, reason = "the tests use the other bodies")]
#[path = "../tests/all/models.rs"]
mod models;

fn main() {
    divan::main();
}

/// The tests' invented model with every part of the drive and the air switched on.
fn model() -> ForceModel {
    let details = Details {
        asymmetry_rad: 0.005,
        wash: Some(Wash { disk_area_m2: 0.05, elevator_share: 0.4, rudder_share: 0.6 }),
        spin: Some(Spin { sense: 1.0, inertia_kg_m2: 3e-5, efficiency: 0.75 }),
        ground_effect: true,
        pack_falls: 0.12,
    };
    ForceModel { details, ..models::invented() }
}

fn plant() -> Plant {
    let model = model();
    let gain = |f: f64, p: f64, i: f64| aircraft::controller::Gains {
        feed_forward_s: f,
        proportional_s: p,
        integral: i,
        derivative_s2: 0.0,
    };
    let Ok(body) = Prepared::new(&model) else { unreachable!("the model is a body") };
    Plant {
        body,
        actuators: Actuators {
            throw_positive_rad: [0.35, 0.3, 0.4],
            throw_negative_rad: [0.35, 0.3, 0.4],
            speed_rad_s: [6.0; 3],
            lag_s: 0.03,
        },
        stabilizer: Settings {
            gains: [gain(0.12, 0.05, 0.1), gain(0.3, 0.12, 0.25), gain(0.1, 0.05, 0.0)],
            level_per_s: 4.0,
            largest_rate_rad_s: [3.5, 1.6, 1.2],
            largest_angle_rad: [0.9, 0.5],
            throw_rad: [0.35, 0.3, 0.4],
            speed_m_s: 13.0,
            loop_hz: 400.0,
            delay_s: 0.015,
            filter_s: 0.003,
        },
        ground: Ground::belly(&model),
    }
}

fn runs(plant: &Plant, count: u32) -> Vec<Run<'_>> {
    let Ok(wind) = Wind::new(4.0, 0.3, 10.0, Profile::Log { roughness_m: 0.03 }) else {
        unreachable!("the wind is one")
    };
    (0..count)
        .map(|i| Run {
            plant,
            device: Device::Hand(Throw::clean(7.0 + 0.05 * f64::from(i % 40), 0.2, 0.3, 1.8)),
            task: Task::AssistedLaunch { pitch_rad: 0.25 },
            motor: Motor { idle: 0.0, flight: 1.0, starts: MotorStart::After { delay_s: 0.2 } },
            weather: Weather {
                wind,
                gust_intensity: 0.1,
                seed: 7,
                stream: u64::from(i),
                ..Weather::still(1.225)
            },
            trim: Controls { elevator_rad: -0.02, ..Controls::default() },
            reads_too_much_rad: [0.01, -0.02],
            charge_used_ah: 0.0,
        })
        .collect()
}

/// One flight alone, one evaluation a step.
#[divan::bench]
fn alone(bencher: divan::Bencher) {
    let plant = plant();
    let runs = runs(&plant, 1);
    let run = runs.first().copied();
    bencher.bench_local(|| run.map(|run| fly(&run, &Watch::launch(6.0))));
}

/// The same with four evaluations a step.
#[divan::bench]
fn alone_by_runge_and_kutta(bencher: divan::Bencher) {
    let plant = plant();
    let runs = runs(&plant, 1);
    let run = runs.first().copied();
    let watch = Watch { method: Method::RungeKutta4, ..Watch::launch(6.0) };
    bencher.bench_local(|| run.map(|run| fly(&run, &watch)));
}

/// Sixteen flights side by side: divide by sixteen.
#[divan::bench]
fn sixteen(bencher: divan::Bencher) {
    let plant = plant();
    let runs = runs(&plant, 16);
    bencher.bench_local(|| fly_all(&runs, &Watch::launch(6.0)));
}

/// The same with four evaluations a step.
#[divan::bench]
fn sixteen_by_runge_and_kutta(bencher: divan::Bencher) {
    let plant = plant();
    let runs = runs(&plant, 16);
    let watch = Watch { method: Method::RungeKutta4, ..Watch::launch(6.0) };
    bencher.bench_local(|| fly_all(&runs, &watch));
}
