//! Stall, battery, loads and landing of flights put together from closed forms.

use std::sync::Arc;

use fly::phases::{Phase, PhaseKind};
use fly::recording::{Quantity, Recording};
use learn::answers::Told;
use learn::findings::{Findings, NotLearnt};
use learn::learn_in_phases;
use learn::more::more_to_fly;
use numerics::units::G_M_S2;

use crate::built::{aircraft, channel, phase, recording};

/// Rows at 100 Hz over some seconds, each channel a function of time.
fn flown(seconds: f64, channels: &[(Quantity, &dyn Fn(f64) -> f64)]) -> Recording {
    let time: Arc<Vec<f64>> = Arc::new((0..(100.0 * seconds) as usize).map(|i| 0.01 * i as f64).collect());
    recording(
        channels
            .iter()
            .map(|(q, f)| channel(q.clone(), &time, time.iter().map(|t| f(*t)).collect()))
            .collect(),
    )
}

fn learnt(recording: &Recording, phases: Vec<Phase>) -> Findings {
    learn_in_phases(&aircraft(), None, recording, phases)
}

fn told<'a>(found: &'a Findings, key: &str) -> Result<&'a Told, &'a NotLearnt> {
    found.answers.iter().find(|a| a.key == key).unwrap().told.as_ref()
}

fn number(told: &Told, parameter: &str) -> (f64, f64, bool) {
    let f = &told.estimates.iter().find(|e| e.finding.parameter == parameter).unwrap().finding;
    println!("{parameter} {} ± {} {}", f.value, 2.0 * f.sd, f.verdict);
    (f.value, f.sd, f.enough)
}

#[test]
fn voltage_over_current_gives_the_resistance_while_the_pack_empties() {
    // U = 12.4 V - 0.03 ohm I - 0.15 V/Ah q, with 3 and 15 A in turn for 20 s each.
    let amps = |t: f64| if (t / 20.0) as i64 % 2 == 0 { 3.0 } else { 15.0 };
    let charge = |t: f64| {
        let whole = (t / 40.0).floor();
        let rest = t - 40.0 * whole;
        (whole * 360.0 + 3.0 * rest.min(20.0) + 15.0 * (rest - 20.0).max(0.0)) / 3600.0
    };
    let volts = |t: f64| 12.4 - 0.03 * amps(t) - 0.15 * charge(t);
    let log = flown(200.0, &[(Quantity::Volts, &volts), (Quantity::Amps, &amps)]);
    let found = learnt(&log, vec![phase(PhaseKind::Straight, 0.0, 200.0)]);
    let battery = told(&found, "battery").unwrap();
    let (ohm, sd, enough) = number(battery, "battery.resistance_ohm");
    assert!(enough && (ohm - 0.03).abs() < 0.0003 && sd < 0.001);
    // 200 s are five pairs of 20 s at 3 and 15 A: 1800 As, 0.5 Ah; the first and last half seconds are lost.
    let (used, ..) = number(battery, "battery.used_ah");
    assert!((used - 0.5).abs() < 0.006);

    let steady = flown(200.0, &[(Quantity::Volts, &|_| 12.0), (Quantity::Amps, &|_| 3.0)]);
    let found = learnt(&steady, vec![phase(PhaseKind::Straight, 0.0, 200.0)]);
    match told(&found, "battery") {
        Err(NotLearnt::NotExcited { why }) => assert!(why.contains("full throttle"), "{why}"),
        other => panic!("{other:?}"),
    }
    assert!(more_to_fly(&found).iter().any(|m| m.key == "battery" && m.what.contains("full throttle")));
}

/// Slows down by 0.5 m/s each second from 14 m/s at 20 s on, until at 8 m/s (32 s) the load falls to `left` and the nose by
/// `nose` rad within a second.
fn slowed(left: f64, nose: f64, pushed: f64) -> Recording {
    let broken = |t: f64| (t - 32.0).clamp(0.0, 1.0);
    let speed = |t: f64| {
        if t < 20.0 {
            14.0
        } else if t < 32.0 {
            14.0 - 0.5 * (t - 20.0)
        } else {
            8.0 + 2.0 * (t - 32.0)
        }
    };
    let load = |t: f64| if (32.0..34.0).contains(&t) { 1.0 - (1.0 - left) * broken(t) } else { 1.0 };
    let force = |t: f64| -G_M_S2 * load(t);
    let pitch = |t: f64| 0.15 - nose * broken(t);
    let stick = |t: f64| if t < 31.8 { 0.6 } else { 0.6 - pushed };
    flown(
        50.0,
        &[
            (Quantity::VelocityNorth, &speed),
            (Quantity::VelocityEast, &|_| 0.0),
            (Quantity::VelocityDown, &|_| 0.0),
            (Quantity::Airspeed, &speed),
            (Quantity::ForceZ, &force),
            (Quantity::Pitch, &pitch),
            (Quantity::StickPitch, &stick),
        ],
    )
}

#[test]
fn a_stall_is_told_where_the_lift_breaks_away_and_a_push_is_none() {
    let phases = || {
        vec![
            phase(PhaseKind::Straight, 0.0, 20.0),
            phase(PhaseKind::Other, 20.0, 42.0),
            phase(PhaseKind::Straight, 42.0, 50.0),
        ]
    };
    let found = learnt(&slowed(0.6, 0.4, 0.0), phases());
    let stall = told(&found, "stall").unwrap();
    let (speed, sd, _) = number(stall, "stall.speed_m_s");
    // Averages over 0.4 s about the break add a tenth of the half window's change: 0.5 m/s² times 0.1 s.
    assert!((speed - 8.0).abs() < 0.1, "{speed}");
    // Nothing has checked the sensor: its usual 5 % are in the doubt.
    assert!(sd > 0.04 * speed);
    assert!(stall.sentences.iter().any(|s| s.contains("60 % back")), "{:?}", stall.sentences);

    let not_a_stall = |recording: &Recording, why: &str| {
        let found = learnt(recording, phases());
        match told(&found, "stall") {
            Err(NotLearnt::NotExcited { why }) => assert!(why.contains("nose drops"), "{why}"),
            other => panic!("{why}: {other:?}"),
        }
    };
    not_a_stall(&slowed(1.0, 0.0, 0.0), "flown slowly, and faster again");
    not_a_stall(&slowed(0.6, 0.4, 0.5), "pushed");
    not_a_stall(&slowed(0.6, 0.03, 0.0), "a gust that leaves the nose where it is");
}

#[test]
fn loads_and_the_landing_are_those_that_were_put_in() {
    // A pull-out of 3 g for half a second, then a glide of 1.5 m/s to the ground at 40 s, with a jolt of 2.5 g for 50 ms.
    let load = |t: f64| {
        if (10.0..10.5).contains(&t) {
            3.0
        } else if (40.0..40.05).contains(&t) {
            3.5
        } else {
            1.0
        }
    };
    let height = |t: f64| 1.5 * (40.0 - t).clamp(0.0, 20.0);
    let speed = |t: f64| if t < 40.0 { 9.0 } else { (9.0 - 6.0 * (t - 40.0)).max(0.0) };
    let force = |t: f64| -G_M_S2 * load(t);
    let log = flown(
        46.0,
        &[
            (Quantity::Height, &height),
            (Quantity::ForceZ, &force),
            (Quantity::VelocityNorth, &speed),
            (Quantity::VelocityEast, &|_| 0.0),
        ],
    );
    let found = learnt(
        &log,
        vec![
            phase(PhaseKind::Other, 0.0, 32.0),
            phase(PhaseKind::Landing, 32.0, 41.5),
            phase(PhaseKind::Ground, 41.5, 46.0),
        ],
    );
    let (most, ..) = number(told(&found, "loads").unwrap(), "loads.most");
    assert!((most - 3.0).abs() < 0.01, "{most}");
    let landing = told(&found, "landing").unwrap();
    let (sink, ..) = number(landing, "landing.sink_m_s");
    assert!((sink - 1.5).abs() < 0.01, "{sink}");
    let (jolt, ..) = number(landing, "landing.jolt_g");
    assert!((jolt - 2.5).abs() < 0.01, "{jolt}");
    let (speed, ..) = number(landing, "landing.ground_speed_m_s");
    assert!((speed - 9.0).abs() < 0.3, "{speed}");
    assert!(landing.sentences.iter().any(|s| s.contains("Firm")));
}
