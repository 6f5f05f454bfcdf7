//! Launches and whole flights: devices, alone and side by side, what is refused.

use aircraft::controller::{Acts, Gains};
use motion::actuators::Actuators;
use motion::details::{Details, Spin, Wash};
use motion::forces::Prepared;
use motion::ground::Ground;
use motion::launch::{Bungee, Device, Rail, Rolling, Throw};
use motion::model::ForceModel;
use motion::simulate::{
    End, Method, Motor, MotorStart, Plant, Refused, Remark, Run, Track, Watch, Weather, fly, fly_all,
};
use motion::stabilizer::{Settings, Task};
use motion::state::{Controls, State};
use motion::trim::{Hold, straight};
use numerics::Vec3;
use numerics::units::{G_M_S2, RAD_PER_DEG};
use sky::wind::{Profile, Wind};

use crate::check;
use crate::models::{invented, lump};

const DENSITY: f64 = 1.225;

/// The invented model with every detail on.
fn detailed() -> ForceModel {
    ForceModel {
        details: Details {
            asymmetry_rad: 0.3 * RAD_PER_DEG,
            wash: Some(Wash { disk_area_m2: 0.05, elevator_share: 0.4, rudder_share: 0.6 }),
            spin: Some(Spin { sense: 1.0, inertia_kg_m2: 3e-5, efficiency: 0.75 }),
            ground_effect: true,
            pack_falls: 0.12,
        },
        ..invented()
    }
}

fn plant(model: &ForceModel) -> Plant {
    let gain = |f: f64, p: f64, i: f64| Gains {
        feed_forward_s: f,
        proportional_s: p,
        integral: i,
        derivative_s2: 0.0,
    };
    Plant {
        body: Prepared::new(model).unwrap(),
        actuators: Actuators {
            throw_positive_rad: [0.35, 0.3, 0.4],
            throw_negative_rad: [0.35, 0.3, 0.4],
            speed_rad_s: [6.0, 6.0, 6.0],
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
        ground: Ground::belly(model),
    }
}

fn thrown(plant: &Plant, speed_m_s: f64) -> Run<'_> {
    Run {
        plant,
        device: Device::Hand(Throw::clean(speed_m_s, 0.2, 0.3, 1.8)),
        task: Task::AssistedLaunch { pitch_rad: 0.25 },
        motor: Motor { idle: 0.0, flight: 1.0, starts: MotorStart::After { delay_s: 0.2 } },
        weather: Weather {
            wind: Wind::new(3.0, 0.3, 10.0, Profile::Log { roughness_m: 0.03 }).unwrap(),
            gust_intensity: 0.1,
            seed: 7,
            ..Weather::still(DENSITY)
        },
        trim: Controls { elevator_rad: -0.02, ..Controls::default() },
        reads_too_much_rad: [0.01, -0.02],
        charge_used_ah: 0.0,
    }
}

#[test]
fn a_good_throw_with_the_controller_climbs_away_level() {
    let plant = plant(&detailed());
    let track = fly(&thrown(&plant, 9.0), &Watch::launch(6.0)).unwrap();
    let last = track.samples.last().unwrap();
    assert!(last.height_m() > 8.0, "{last:?}");
    let (roll, pitch, _) = last.roll_pitch_yaw();
    assert!(roll.abs() < 0.1 && (pitch - 0.27).abs() < 0.1, "{roll} {pitch}");
    assert_eq!(track.facts.end, End::Flying);
    assert_eq!(track.facts.released_s, Some(0.0));
    check("motor", track.facts.motor_s.unwrap(), 0.2, 0.003);
    assert!(track.remarks.is_empty(), "{:?}", track.remarks);
}

#[test]
fn side_by_side_a_flight_has_the_same_bits_as_alone() {
    let plants: Vec<Plant> = (0..5)
        .map(|i| {
            let mut model = detailed();
            model.mass_kg *= 1.0 + 0.02 * f64::from(i);
            model.aerodynamics.cm0 += 0.01 * f64::from(i);
            plant(&model)
        })
        .collect();
    // Throws from too slow to good, into turbulence, some into the ground, some stalled; two of another task.
    let runs: Vec<Run> = (0..19_u32)
        .map(|i| {
            let mut run = thrown(&plants[i as usize % 5], 3.0 + 0.5 * f64::from(i));
            run.weather.stream = u64::from(i);
            run.weather.gust_intensity = 0.2;
            if i % 7 == 3 {
                run.task = Task::Sticks { acts: Acts::Rate, sticks: [0.0, 0.3, 0.0] };
            }
            if i == 11 {
                run.device = Device::Bungee(cord());
            }
            run
        })
        .collect();
    let watch = Watch::launch(3.0);
    let together = fly_all(&runs, &watch);
    assert_eq!(together.len(), runs.len());
    let mut touched = 0;
    for (run, beside) in runs.iter().zip(&together) {
        let alone = fly(run, &watch).unwrap();
        touched += usize::from(alone.facts.touch.is_some());
        assert_eq!(&alone, beside.as_ref().unwrap());
    }
    assert!((2..17).contains(&touched), "{touched}: some touch, some do not");
}

fn cord() -> Bungee {
    Bungee {
        slack_m: 10.0,
        stretch_m: 5.0,
        stiffness_n_m: 20.0,
        returned: 0.8,
        hook_body_m: Vec3::zeros(),
        heading_rad: 0.0,
        pitch_rad: 0.0,
        bank_rad: 0.0,
        height_m: 0.0,
        slips_off_rad: 1.4,
    }
}

/// A mass without air or weight on it but what the device does: the air thin, the drag none.
fn bare(mass_kg: f64) -> Plant {
    let mut model = lump(mass_kg, numerics::Mat3::identity() * 0.1, 0.1, 0.0);
    model.aerodynamics.cl_max = 1.0;
    Plant { ground: Ground::default(), ..plant(&model) }
}

fn quiet(plant: &Plant, device: Device) -> Run<'_> {
    Run {
        plant,
        device,
        task: Task::Sticks { acts: Acts::Direct, sticks: [0.0; 3] },
        motor: Motor { idle: 0.0, flight: 0.0, starts: MotorStart::Running },
        weather: Weather::still(DENSITY),
        trim: Controls::default(),
        reads_too_much_rad: [0.0; 2],
        charge_used_ah: 0.0,
    }
}

#[test]
fn a_cord_gives_back_its_work_as_speed() {
    // Closed form: v = sqrt(eta k s²/m): k 20 N/m, stretch 5 m, eta 0.8, 1.5 kg: 16.330 m/s along the ground (the fall
    // beside it and the turning of the line by it change that by the square of their ratio: 1 %).
    let bare = bare(1.5);
    let run = quiet(&bare, Device::Bungee(cord()));
    let track = fly(&run, &Watch { step_s: 1e-3, ..Watch::launch(2.0) }).unwrap();
    let out = track.facts.released_s.unwrap();
    let sample = track.samples.iter().find(|s| s.time_s > out).unwrap();
    check("speed along the ground", sample.velocity_ned_m_s.x, 16.330, 0.16);
    // A quarter of the swing of mass and spring: pi/2 sqrt(m/(eta k)) = 0.481 s; the first step is seen after it.
    check("time on the cord", out, 0.481, 0.01);
}

#[test]
fn a_rail_gives_its_work_less_the_weights_as_speed() {
    // Energy: (mean force s - (m + M) g s sin e) = (m + M) v²/2 : force 150 to 90 N over 2 m, 1.5 kg with 0.5 kg
    // carriage at 10 degrees: v = sqrt(2 (240 - 6.811)/2) = 15.271 m/s; time quantized to a step of 1 ms: 0.06 m/s.
    let bare = bare(1.5);
    let rail = Rail {
        length_m: 2.0,
        force_begin_n: 150.0,
        force_end_n: 90.0,
        carriage_kg: 0.5,
        elevation_rad: 10.0 * RAD_PER_DEG,
        bank_rad: 0.0,
        heading_rad: 1.0,
        height_m: 1.0,
    };
    let run = quiet(&bare, Device::Rail(rail));
    let track = fly(&run, &Watch { step_s: 1e-3, ..Watch::launch(0.6) }).unwrap();
    let work = 240.0 - 2.0 * G_M_S2 * 2.0 * (10.0 * RAD_PER_DEG).sin();
    check("speed", track.facts.released_airspeed_m_s, work.sqrt(), 0.06);
}

#[test]
fn wheels_roll_with_their_resistance_and_the_wing_lifts_them_off() {
    let mut model = detailed();
    model.details = Details::default();
    let plant = Plant {
        ground: Ground::wheels(
            &model,
            &[Vec3::new(0.08, 0.2, 0.16), Vec3::new(0.08, -0.2, 0.16), Vec3::new(-0.6, 0.0, 0.12)],
            0.1,
        ),
        ..plant(&model)
    };
    // The pull of 11 N at 0.6 throttle squared (3.96 N) less 0.1 of the weight: about 1.7 m/s² at first.
    let mut run = quiet(&plant, Device::Rolling(Rolling { heading_rad: 0.5, pitch_rad: 0.06 }));
    run.task = Task::AssistedLaunch { pitch_rad: 0.15 };
    run.motor = Motor { idle: 0.0, flight: 1.0, starts: MotorStart::After { delay_s: 0.5 } };
    let track = fly(&run, &Watch::launch(8.0)).unwrap();
    let lifted = track.facts.released_s.expect("it leaves the ground");
    assert!((0.8..4.0).contains(&lifted), "{lifted}");
    // Stall speed is 7.4 m/s: it cannot have left much below.
    assert!(track.facts.released_airspeed_m_s > 6.5, "{:?}", track.facts);
    assert_eq!(track.facts.end, End::Flying);
    assert!(track.samples.last().unwrap().height_m() > 3.0);
}

#[test]
fn both_methods_fly_the_same_launch() {
    // They differ by their truncation and by nothing else; the gusts are looked at along the way, so in still air.
    let plant = plant(&detailed());
    let mut run = thrown(&plant, 9.0);
    run.weather = Weather::still(DENSITY);
    let adams = fly(&run, &Watch::launch(4.0)).unwrap();
    let runge = fly(&run, &Watch { method: Method::RungeKutta4, ..Watch::launch(4.0) }).unwrap();
    let (a, r) = (adams.samples.last().unwrap(), runge.samples.last().unwrap());
    assert!((a.position_ned_m - r.position_ned_m).norm() < 2e-3, "{a:?} {r:?}");
}

#[test]
fn halving_the_step_divides_the_error_by_sixteen_with_one_evaluation_too() {
    // Fourth order, begun with Runge-Kutta. Out of trim in all axes, controls and throttle held, three quarters of a
    // second, no ground in reach.
    let plant = Plant { ground: Ground::default(), ..plant(&invented()) };
    let state = State {
        position_ned_m: Vec3::new(0.0, 0.0, -50.0),
        velocity_body_m_s: Vec3::new(13.0, 0.8, 0.5),
        rates_body_rad_s: Vec3::new(0.5, 0.3, -0.2),
        ..State::at_rest()
    };
    let mut run = quiet(&plant, Device::Flying(state));
    run.trim = Controls { aileron_rad: 0.03, elevator_rad: -0.04, ..Controls::default() };
    run.motor.flight = 0.3;
    let end = |per_s: f64| {
        let watch = Watch { step_s: 1.0 / per_s, sample_s: f64::INFINITY, ..Watch::launch(0.75) };
        let last = *fly(&run, &watch).unwrap().samples.last().unwrap();
        check("time", last.time_s, 0.75, 1e-9);
        (last.position_ned_m, last.rates_body_rad_s, last.velocity_ned_m_s)
    };
    let truth = end(6400.0);
    let error = |per_s: f64| {
        let e = end(per_s);
        (e.0 - truth.0).norm() + (e.1 - truth.1).norm() + (e.2 - truth.2).norm()
    };
    let ratio = error(400.0) / error(800.0);
    assert!((ratio / 16.0 - 1.0).abs() < 0.1, "{ratio}");
}

#[test]
fn a_trimmed_state_flies_on_as_trimmed() {
    let plant = plant(&invented());
    let trim = straight(&plant.body, 13.0, Hold::ClimbAngle(0.0), DENSITY).unwrap();
    let mut run =
        quiet(&plant, Device::Flying(State { position_ned_m: Vec3::new(0.0, 0.0, -50.0), ..trim.state }));
    run.trim = trim.state.controls;
    run.motor = Motor { idle: 0.0, flight: trim.inputs.throttle, starts: MotorStart::Running };
    let last = *fly(&run, &Watch::launch(20.0)).unwrap().samples.last().unwrap();
    check("height", last.height_m(), 50.0, 1e-3);
    check("way", last.position_ned_m.x, 260.0, 1e-2);
}

#[track_caller]
fn refused(what: &str, run: &Run, watch: &Watch) -> Refused {
    let beside = fly_all(&[*run], watch);
    match fly(run, watch) {
        Ok(_) => panic!("{what} was computed"),
        Err(why) => {
            // As text: what is not a number does not equal itself.
            assert_eq!(format!("{beside:?}"), format!("{:?}", [Err::<Track, _>(why)]));
            assert!(why.to_string().len() > 20, "{why}");
            why
        }
    }
}

#[test]
fn what_cannot_be_is_refused_and_what_is_odd_is_said() {
    let plant = plant(&detailed());
    let good = thrown(&plant, 9.0);
    let watch = Watch::launch(1.0);
    let throw = |speed: f64| Run { device: Device::Hand(Throw::clean(speed, 0.2, 0.0, 1.8)), ..good };
    assert!(matches!(refused("a throw at 90 m/s", &throw(90.0), &watch), Refused::Launch(_)));
    refused("no number", &throw(f64::NAN), &watch);
    let coarse = refused("steps of 50 ms", &good, &Watch { step_s: 0.05, ..watch });
    let Refused::Step { most_s, .. } = coarse else { panic!("{coarse:?}") };
    assert!(fly(&good, &Watch { step_s: most_s * 0.99, ..watch }).is_ok());
    refused("thick air", &Run { weather: Weather::still(f64::NAN), ..good }, &watch);

    let mut storm = good;
    storm.weather.wind = Wind::new(14.0, 0.0, 10.0, Profile::Even).unwrap();
    let track = fly(&storm, &watch).unwrap();
    assert!(track.remarks.iter().any(|r| matches!(r, Remark::WindAboveFlyingSpeed { .. })));
    let mut off = good;
    off.motor.flight = 0.0;
    assert!(fly(&off, &watch).unwrap().remarks.contains(&Remark::NoThrust));
}

fn all_numbers(track: &Track) -> bool {
    track.samples.iter().all(|s| {
        s.position_ned_m.iter().chain(s.velocity_ned_m_s.iter()).all(|x| x.is_finite())
            && s.rates_body_rad_s.norm().is_finite()
            && s.alpha_rad.is_finite()
    })
}

#[test]
fn a_flight_that_diverges_is_told_as_such_and_ends_in_numbers() {
    // Roll damping with the wrong sign: the roll doubles every few hundredths of a second.
    let mut model = invented();
    model.aerodynamics.derivatives.Clp = 4.0;
    model.aerodynamics.cl_max = 50.0;
    model.aerodynamics.cl_min = -50.0;
    let plant = plant(&model);
    let mut run = thrown(&plant, 12.0);
    run.task = Task::Sticks { acts: Acts::Direct, sticks: [0.1, 0.0, 0.0] };
    let track = fly(&run, &Watch { step_s: 1e-4, ..Watch::launch(6.0) }).unwrap();
    assert!(matches!(track.facts.end, End::Diverged { .. }), "{:?}", track.facts);
    assert!(all_numbers(&track) && track.facts.fastest_m_s.is_finite());
}
