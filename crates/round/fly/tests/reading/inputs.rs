//! Stick movements whose kind, times and sizes are given by how they were made.

use std::f64::consts::TAU;
use std::sync::Arc;

use fly::inputs::{self, Axis, Control, Input, InputKind as K};
use fly::recording::{Channel, Quantity as Q, Recording};
use numerics::random::Random;

/// A recording of one stick for 60 s; how the stick acts if it is told.
fn recording(q: Q, rate_hz: f64, acts: Option<f64>, demand: impl Fn(f64) -> f64) -> Recording {
    let t: Vec<f64> = (0..(60.0 * rate_hz) as usize).map(|i| i as f64 / rate_hz).collect();
    let time_s = Arc::new(t.clone());
    let channel =
        |quantity, values| Channel { quantity, source: "made".into(), time_s: Arc::clone(&time_s), values };
    let mut channels = vec![channel(q, t.iter().map(|t| demand(*t)).collect())];
    channels.extend(acts.map(|a| channel(Q::Acts, vec![a; t.len()])));
    Recording { channels, rows: t.len(), ..Recording::default() }
}

/// Stick positions one after the other from 20 s on, each held for a time.
fn held(plan: &'static [(f64, f64)]) -> impl Fn(f64) -> f64 {
    move |t| {
        let mut begin = 20.0;
        for (size, seconds) in plan {
            if t >= begin - 1e-9 && t < begin + seconds - 1e-9 {
                return *size;
            }
            begin += seconds;
        }
        0.0
    }
}

#[track_caller]
fn only(r: &Recording, what: &str) -> Input {
    let found = inputs::find(r);
    assert_eq!(found.len(), 1, "{what}: {found:#?}");
    found[0]
}

#[test]
fn kinds_times_and_sizes_are_those_of_the_movement() {
    // 3-2-1-1: the classic multi-step, its parts in that ratio (Marchand, DFVLR 1974; here 0.3 s a unit).
    let cases: &[(&str, K, &'static [(f64, f64)], f64, f64)] = &[
        ("a pulse to the right", K::Pulse, &[(0.4, 0.5)], 0.4, 0.5),
        ("a pulse to the left", K::Pulse, &[(-0.25, 0.3)], -0.25, 0.3),
        ("a step held and taken back", K::Step, &[(0.3, 1.5)], 0.3, 1.5),
        ("a step to the left", K::Step, &[(-0.5, 2.0)], -0.5, 2.0),
        ("a doublet", K::Doublet, &[(0.3, 0.7), (-0.3, 0.7)], 0.3, 1.4),
        ("a doublet, left first", K::Doublet, &[(-0.2, 0.4), (0.2, 0.4)], -0.2, 0.8),
        ("3-2-1-1", K::MultiStep, &[(0.3, 0.9), (-0.3, 0.6), (0.3, 0.3), (-0.3, 0.3)], 0.3, 2.1),
        ("three to alternating sides", K::MultiStep, &[(0.2, 0.4), (-0.3, 0.4), (0.2, 0.4)], -0.3, 1.2),
    ];
    for (name, kind, plan, size, long) in cases {
        for rate in [20.0, 50.0, 100.0, 400.0] {
            let r = recording(Q::StickRoll, rate, Some(0.0), held(plan));
            let i = only(&r, &format!("{name} at {rate} Hz"));
            assert_eq!((i.kind, i.axis, i.control), (*kind, Axis::Roll, Control::Direct), "{name}: {i:?}");
            assert!((i.size - size).abs() < 1e-9, "{name}: {i:?}");
            // Begin and end lie within two samples (of the finest grid, 10 ms) of those made.
            let within = 2.01 * (1.0 / rate).max(0.01);
            assert!((i.start_s - 20.0).abs() <= within, "{name} at {rate}: {i:?}");
            assert!((i.end_s - 20.0 - long).abs() <= within, "{name} at {rate}: {i:?}");
            assert!(i.confidence > 0.8, "{name} at {rate}: {i:?}");
        }
    }
}

#[test]
fn a_movement_is_measured_from_where_the_stick_stood() {
    let doublet = held(&[(0.3, 0.7), (-0.3, 0.7)]);
    let r = recording(Q::StickPitch, 50.0, Some(1.0), move |t| 0.18 + doublet(t));
    let i = only(&r, "trimmed");
    assert_eq!((i.kind, i.axis, i.control), (K::Doublet, Axis::Pitch, Control::Rate));
    assert!((i.size - 0.3).abs() < 1e-9, "{i:?}");
}

#[test]
fn a_step_that_stays_and_its_taking_back_are_two_steps() {
    let r = recording(Q::Throttle, 50.0, None, |t| if (20.0..32.0).contains(&t) { 0.8 } else { 0.5 });
    let found = inputs::find(&r);
    let told: Vec<(K, f64, f64)> = found
        .iter()
        .map(|i| (i.kind, (i.start_s * 10.0).round() / 10.0, (i.size * 1e6).round() / 1e6))
        .collect();
    assert_eq!(told, [(K::Step, 20.0, 0.3), (K::Step, 32.0, -0.3)], "{found:#?}");
    assert!(found.iter().all(|i| i.control == Control::Unknown && i.axis == Axis::Throttle));
}

/// A sine whose frequency grows evenly in its logarithm, 0.3 Hz to 3 Hz in 15 s.
fn sweep(t: f64) -> f64 {
    let (from_hz, growth) = (0.3, (3.0_f64 / 0.3).ln() / 15.0);
    let s = t - 20.0;
    if !(0.0..15.0).contains(&s) {
        return 0.0;
    }
    0.3 * (TAU * from_hz * ((growth * s).exp() - 1.0) / growth).sin()
}

#[test]
fn a_frequency_sweep_is_one_input() {
    for rate in [50.0, 100.0] {
        let i = only(&recording(Q::StickYaw, rate, Some(2.0), sweep), "sweep");
        assert_eq!((i.kind, i.axis, i.control), (K::Sweep, Axis::Yaw, Control::Level), "{i:?}");
        assert!((i.start_s - 20.0).abs() < 0.3 && (i.end_s - 35.0).abs() < 0.3, "{i:?}");
        // Sampling may miss the top of a lobe: cos(π · 3 Hz / 50 Hz) is 0.98.
        assert!((i.size.abs() - 0.3).abs() < 0.006 && i.confidence > 0.6, "{i:?}");
    }
}

/// What a pilot does all the time: normal numbers through a first-order low-pass of half a second.
fn correcting(seed: u64, rate_hz: f64, sd: f64) -> Vec<f64> {
    let mut random = Random::new(seed, 0);
    let keep = (-1.0 / (rate_hz * 0.5)).exp();
    let mut x = [0.0; 2];
    (0..(60.0 * rate_hz) as usize)
        .map(|_| {
            // Twice, so that the hand has no corners.
            x[0] = keep * x[0] + (1.0 - keep) * random.normal();
            x[1] = keep * x[1] + (1.0 - keep) * x[0];
            x[1]
        })
        .collect::<Vec<f64>>()
        .into_iter()
        .map(|v| v * sd / (0.5 * (1.0 - keep)).sqrt() * 2.0_f64.sqrt())
        .collect()
}

#[test]
fn inputs_are_found_within_the_correcting_that_goes_on() {
    // Of 40 doublets of 30 % within corrections of 1.5 % (and the record's noise of 0.2 %) not one is missed or taken
    // for another kind, and not one movement more is sure.
    for seed in 0..40 {
        let noise = correcting(seed, 50.0, 0.015);
        let mut random = Random::new(seed, 1);
        let jitter: Vec<f64> = noise.iter().map(|_| 0.002 * random.normal()).collect();
        let doublet = held(&[(0.3, 0.6), (-0.3, 0.6)]);
        let r = recording(Q::StickRoll, 50.0, None, |t| {
            let i = (t * 50.0).round() as usize;
            doublet(t) + noise[i] + jitter[i]
        });
        let sure: Vec<Input> = inputs::find(&r).into_iter().filter(|i| i.confidence > 0.5).collect();
        assert_eq!(sure.len(), 1, "{seed}: {sure:#?}");
        assert_eq!(sure[0].kind, K::Doublet, "{seed}: {sure:#?}");
        assert!((sure[0].start_s - 20.0).abs() < 0.1 && (sure[0].size - 0.3).abs() < 0.06, "{sure:#?}");
    }
}

#[test]
fn correcting_alone_is_no_input() {
    // Forty minutes of a busy pilot: corrections of 8 % with a time constant of half a second.
    let mut sure = 0;
    for seed in 0..40 {
        let noise = correcting(seed, 50.0, 0.08);
        let r = recording(Q::StickRoll, 50.0, None, |t| noise[(t * 50.0).round() as usize]);
        sure += inputs::find(&r).iter().filter(|i| i.confidence > 0.6).count();
    }
    assert!(sure <= 4, "{sure} movements of chance are taken for meant in 40 minutes");
}

#[test]
fn a_spike_a_hole_and_a_stick_at_rest_are_no_inputs() {
    let spike = |t: f64| if (t - 20.0).abs() < 1e-6 { 0.9 } else { 0.0 };
    assert_eq!(inputs::find(&recording(Q::StickRoll, 50.0, None, spike)), []);
    let hole = |t: f64| if (20.0..24.0).contains(&t) { f64::NAN } else { 0.02 };
    assert_eq!(inputs::find(&recording(Q::StickRoll, 50.0, None, hole)), []);
    assert_eq!(inputs::find(&recording(Q::StickRoll, 50.0, None, |_| 0.3)), []);
    assert_eq!(inputs::find(&Recording::default()), []);
}
