//! How long does a long recording take? Asked for are 3 s for ten minutes of 40 channels at 1000 rows a second, reading
//! included, on two cores. The peer is one plain pass over all values, which nobody can do without.

use std::fmt::Write as _;

use fly::map::ColumnMap;
use fly::recording::{Quantity, Recording};
use learn::output_error::{Between, Problem, Stretch, System, fit};
use numerics::random::Random;

#[path = "../tests/flights/built.rs"]
#[allow(dead_code, reason = "the tests use more of it")]
mod built;

use built::{CRUISE_M_S, Flight, Logged};

fn main() {
    divan::main();
}

/// Ten minutes at so many rows a second: squares and circles with noise on every channel, at least 30 channels.
fn recording(rows_per_s: f64, more: usize) -> Recording {
    let mut legs = Vec::new();
    for round in 0..6 {
        for k in 0..4 {
            let heading = 90.0 * f64::from(k);
            let speed = CRUISE_M_S + 0.5 * f64::from(round % 3);
            legs.push((heading, heading, 15.0, speed, 0.0));
            legs.push((heading, heading + 90.0, 5.0, speed, 0.0));
        }
        legs.push((0.0, 360.0, 20.0, CRUISE_M_S, 0.0));
    }
    let flight = Flight { legs, wind_m_s: [2.0, -3.0], shear_per_s: [0.0; 2] };
    let (moments, _) = flight.fly_every(1.0 / rows_per_s);
    let mut logged = Logged::velocity(&moments)
        .with(Quantity::Airspeed, |m| m.airspeed_m_s)
        .with(Quantity::Height, |m| m.height_m)
        .with(Quantity::Yaw, |m| m.heading_rad)
        .with(Quantity::Throttle, |_| 0.5)
        .with(Quantity::Acts, |_| 0.0)
        .with_attitude(1.0, 4.5);
    for quantity in [
        Quantity::RollRate,
        Quantity::PitchRate,
        Quantity::YawRate,
        Quantity::ForceX,
        Quantity::ForceY,
        Quantity::StickRoll,
        Quantity::StickPitch,
        Quantity::StickYaw,
        Quantity::Volts,
        Quantity::Amps,
    ] {
        logged = logged.with(quantity, |_| 0.0);
    }
    for servo in ["servo elevator", "servo aileron", "servo aileron left", "a", "b", "c", "d"] {
        logged = logged.with(Quantity::Servo(servo.into()), |_| 1510.0);
    }
    for k in 0..more {
        logged = logged.with(Quantity::Servo(format!("more {k}")), |_| 1500.0);
    }
    let mut recording = logged.done();
    let mut random = Random::new(1, 0);
    for channel in &mut recording.channels {
        if channel.quantity != Quantity::Acts {
            for v in &mut channel.values {
                *v += 0.01 * random.normal();
            }
        }
    }
    recording
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn ten_minutes_at_500_hz(bencher: divan::Bencher<'_, '_>) {
    let recording = recording(500.0, 0);
    let aircraft = built::aircraft();
    bencher.bench_local(|| learn::learn(&aircraft, None, &recording));
}

/// The recording as a log would hold it, with the map that reads it.
fn logged(rows_per_s: f64, more: usize) -> (String, ColumnMap) {
    let recording = recording(rows_per_s, more);
    let mut map = String::from(
        "format = 1\ndelimiter = \",\"\nheader_lines = 1\n\n[time]\ncolumn = \"t\"\nunit = \"s\"\n",
    );
    let mut text = String::from("t");
    for (k, channel) in recording.channels.iter().enumerate() {
        let _ = write!(text, ",c{k}");
        let word = fly::words::word(&channel.quantity);
        let dimension = fly::words::dimension(&channel.quantity);
        let unit = fly::words::units_of(dimension).next().map_or("", |u| u.word);
        let _ = write!(map, "\n[[channel]]\ncolumn = \"c{k}\"\nquantity = \"{word}\"\nunit = \"{unit}\"\n");
    }
    text.push('\n');
    let time = &recording.channels[0].time_s;
    for (row, t) in time.iter().enumerate() {
        let _ = write!(text, "{t:.4}");
        for channel in &recording.channels {
            let _ = write!(text, ",{:.4}", channel.values[row]);
        }
        text.push('\n');
    }
    (text, ColumnMap::from_toml(&map).unwrap_or_else(|faults| panic!("{faults:?}")))
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn ten_minutes_of_forty_channels_at_1000_hz_read_and_learnt(bencher: divan::Bencher<'_, '_>) {
    let (text, map) = logged(1000.0, 9);
    let aircraft = built::aircraft();
    bencher.bench_local(|| {
        let recording = fly::csv::read_csv(text.as_bytes(), &map).unwrap_or_else(|e| panic!("{e:?}"));
        learn::learn(&aircraft, None, &recording)
    });
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn finding_the_phases_alone(bencher: divan::Bencher<'_, '_>) {
    let recording = recording(500.0, 0);
    bencher.bench_local(|| fly::phases::find(&recording));
}

/// Twelve parameters of three states and three outputs over 60 s at 100 Hz. Asked for is half a second.
#[divan::bench(sample_count = 5, sample_size = 1)]
fn output_error_of_12_parameters_over_60_s(bencher: divan::Bencher<'_, '_>) {
    const TRUTH: [f64; 12] = [-0.5, -0.1, -20.0, -9.0, 1.5, 90.0, 2.0, 15.0, -0.5, -1.5, -3.0, 9.0];
    let system = |p: &[f64], _: usize| {
        let mut s = System::empty(3);
        (s.a[(0, 0)], s.a[(0, 2)], s.b[(0, 1)], s.b[(0, 2)]) = (p[0], -1.0, p[1], 0.7);
        (s.a[(1, 0)], s.a[(1, 1)], s.a[(1, 2)], s.b[(1, 0)], s.b[(1, 1)]) = (p[2], p[3], p[4], p[5], p[6]);
        (s.a[(2, 0)], s.a[(2, 1)], s.a[(2, 2)], s.b[(2, 0)], s.b[(2, 1)]) = (p[7], p[8], p[9], p[10], p[11]);
        (s.c[(0, 1)], s.c[(1, 2)], s.c[(2, 0)], s.d[(2, 1)]) = (1.0, 1.0, 14.0 * p[0], 14.0 * p[1]);
        s
    };
    let mut random = Random::new(4, 0);
    let mut bank = 0.0;
    let stretches: Vec<Stretch> = (0..12)
        .map(|k| {
            let side = |t: f64, from: f64| {
                if t < from || t > from + 0.8 {
                    0.0
                } else if t < from + 0.4 {
                    0.1
                } else {
                    -0.1
                }
            };
            let times: Vec<f64> = (0..500).map(|i| f64::from(i) * 0.01).collect();
            let begin = 0.5 + 0.05 * f64::from(k);
            let inputs = vec![
                times.iter().map(|t| side(*t, begin)).collect::<Vec<f64>>(),
                times.iter().map(|t| side(*t, begin + 1.5)).collect(),
                times
                    .iter()
                    .map(|_| {
                        bank = 0.999 * bank + 0.004 * random.normal();
                        bank
                    })
                    .collect(),
            ];
            let s = system(&TRUTH, 0);
            let mut x = nalgebra::Vector4::<f64>::zeros();
            let mut outputs = vec![Vec::new(), Vec::new(), Vec::new()];
            for ((a, b), c) in inputs[0].iter().zip(&inputs[1]).zip(&inputs[2]).take(500) {
                let u = nalgebra::Vector4::new(*a, *b, *c, 0.0);
                let y = s.c * x + s.d * u;
                for (o, list) in outputs.iter_mut().enumerate() {
                    list.push(y[o] + 0.01 * random.normal());
                }
                x += (s.a * x + s.b * u) * 0.01;
            }
            Stretch { step_s: 0.01, inputs, outputs, between: Between::Straight }
        })
        .collect();
    let start: Vec<f64> = TRUTH.iter().map(|p| 0.8 * p).collect();
    let steps: Vec<f64> = TRUTH.iter().map(|p| 0.01 * p.abs()).collect();
    bencher.bench_local(|| {
        fit(&Problem {
            stretches: &stretches,
            system: &system,
            start: start.clone(),
            steps: steps.clone(),
            drift: 1,
        })
        .map(|f| f.parameters)
    });
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn one_plain_pass(bencher: divan::Bencher<'_, '_>) {
    let recording = recording(500.0, 0);
    bencher.bench_local(|| recording.channels.iter().map(|c| c.values.iter().sum::<f64>()).sum::<f64>());
}
