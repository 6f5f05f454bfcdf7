//! How long does a long recording take? Asked for are 2 s for ten minutes at 500 rows a second. The peer is one plain
//! pass over all values, which nobody can do without.

use fly::recording::{Quantity, Recording};
use numerics::random::Random;

#[path = "../tests/flights/built.rs"]
#[allow(dead_code, reason = "the tests use more of it")]
mod built;

use built::{CRUISE_M_S, Flight, Logged};

fn main() {
    divan::main();
}

/// Ten minutes at 500 Hz: squares and circles with noise on every channel, 30 channels.
fn recording() -> Recording {
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
    let (moments, _) = flight.fly_every(0.002);
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
    let recording = recording();
    let aircraft = built::aircraft();
    bencher.bench_local(|| learn::learn(&aircraft, None, &recording));
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn finding_the_phases_alone(bencher: divan::Bencher<'_, '_>) {
    let recording = recording();
    bencher.bench_local(|| fly::phases::find(&recording));
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn one_plain_pass(bencher: divan::Bencher<'_, '_>) {
    let recording = recording();
    bencher.bench_local(|| recording.channels.iter().map(|c| c.values.iter().sum::<f64>()).sum::<f64>());
}
