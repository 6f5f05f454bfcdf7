//! How long does a step take? Launches of six seconds at 400 steps a second with gusts, controller and drive on: one
//! at a time and side by side. Times are of one flight of 2401 steps; user time on one core.

use motion::actuators::Actuators;
use motion::details::{Details, Spin, Wash};
use motion::forces::Prepared;
use motion::ground::Ground;
use motion::launch::{Device, Throw};
use motion::model::{Aerodynamics, Derivatives, ForceModel, Thrust, Validity};
use motion::simulate::{Method, Motor, MotorStart, Plant, Run, Watch, Weather, fly, fly_all};
use motion::stabilizer::{Settings, Task};
use motion::state::Controls;
use numerics::{Mat3, Vec3};
use sky::wind::{Profile, Wind};

fn main() {
    divan::main();
}

fn model() -> ForceModel {
    let throttle: Vec<f64> = (0..=10).map(|i| f64::from(i) / 10.0).collect();
    let airspeed_m_s: Vec<f64> = (0..13).map(|i| 3.0 * f64::from(i)).collect();
    let table = |f: &dyn Fn(f64, f64) -> f64| -> Vec<f64> {
        throttle.iter().flat_map(|t| airspeed_m_s.iter().map(|v| f(*t, *v)).collect::<Vec<f64>>()).collect()
    };
    ForceModel {
        mass_kg: 1.5,
        inertia_kg_m2: Mat3::new(0.095, 0.0, -0.004, 0.0, 0.085, 0.0, -0.004, 0.0, 0.165),
        aerodynamics: Aerodynamics {
            area_m2: 0.352,
            mean_chord_m: 0.22,
            span_m: 1.6,
            cl0: 0.3,
            cd0: 0.035,
            cl_least_drag: 0.1,
            induced: 0.055,
            cm0: 0.03,
            cl_max: 1.25,
            cl_min: -0.8,
            derivatives: Derivatives {
                CLa: 4.9,
                CLq: 6.5,
                CLde: 0.42,
                Cma: -0.65,
                Cmq: -11.5,
                Cm_alphadot: -4.0,
                Cmde: -1.15,
                CYb: -0.35,
                CYp: -0.05,
                CYr: 0.22,
                CYdr: 0.16,
                Clb: -0.06,
                Clp: -0.46,
                Clr: 0.12,
                Clda: -0.24,
                Cldr: 0.008,
                Cnb: 0.075,
                Cnp: -0.045,
                Cnr: -0.1,
                Cnda: 0.012,
                Cndr: -0.065,
                ..Derivatives::default()
            },
            validity: Validity { alpha_low_rad: -0.15, alpha_high_rad: 0.2, beta_rad: 0.25 },
        },
        thrust: Some(Thrust {
            thrust_n: table(&|t, v| 11.0 * t * t * (1.0 - v / 40.0)),
            current_a: table(&|t, _| 22.0 * t * t * t),
            rpm: table(&|t, _| 8200.0 * t),
            volts: table(&|t, _| 12.4 - 0.6 * t),
            throttle: throttle.clone(),
            airspeed_m_s: airspeed_m_s.clone(),
            direction: Vec3::x(),
            at_m: Vec3::zeros(),
            spool_up_s: 0.25,
            capacity_ah: 2.2,
        }),
        details: Details {
            asymmetry_rad: 0.005,
            wash: Some(Wash { disk_area_m2: 0.05, elevator_share: 0.4, rudder_share: 0.6 }),
            spin: Some(Spin { sense: 1.0, inertia_kg_m2: 3e-5, efficiency: 0.75 }),
            ground_effect: true,
            pack_falls: 0.12,
        },
    }
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
