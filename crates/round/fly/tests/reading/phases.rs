//! Phases and quality of flights whose course is known.

use std::sync::Arc;

use fly::phases::{self, PhaseKind as K};
use fly::quality;
use fly::recording::{Channel, FlawKind, Quantity as Q, Recording};

use crate::invented::{Moment, flight};

fn recording(t: &[f64], channels: &[(Q, Vec<f64>)]) -> Recording {
    let time = Arc::new(t.to_vec());
    Recording {
        channels: channels
            .iter()
            .map(|(q, values)| Channel {
                quantity: q.clone(),
                source: format!("{q:?}"),
                time_s: Arc::clone(&time),
                values: values.clone(),
            })
            .collect(),
        rows: t.len(),
        ..Recording::default()
    }
}

/// A channel and where a moment has it.
type Pick = (Q, fn(&Moment) -> f64);

fn invented(pick: &[Pick]) -> Recording {
    let moments = flight();
    let t: Vec<f64> = moments.iter().map(|m| m.t).collect();
    let channels: Vec<(Q, Vec<f64>)> =
        pick.iter().map(|(q, f)| (q.clone(), moments.iter().map(f).collect())).collect();
    recording(&t, &channels)
}

/// What a turn turned over ground, from the velocity of the flight itself.
fn turned(from: f64, to: f64) -> f64 {
    let moments = flight();
    let inside: Vec<f64> = moments.iter().filter(|m| (from..to).contains(&m.t)).map(Moment::course).collect();
    inside.windows(2).map(|w| numerics::frames::wrap_rad(w[1] - w[0])).sum()
}

#[test]
fn turns_and_straights_are_found_with_attitude_and_without() {
    let with: &[Pick] = &[
        (Q::Roll, |m| m.roll),
        (Q::VelocityNorth, |m| m.velocity.x),
        (Q::VelocityEast, |m| m.velocity.y),
        (Q::Airspeed, |m| m.airspeed),
        (Q::Height, |m| m.height),
    ];
    let without: &[Pick] = &[(Q::VelocityNorth, |m| m.velocity.x), (Q::VelocityEast, |m| m.velocity.y)];
    for (name, channels) in [("with", with), ("without", without)] {
        let r = invented(channels);
        let turns = phases::turning_windows(&r, 1.0);
        // The banks of the invented flight: right 10 to 27 s, left 35 to 56, right 70 to 83, left 95 to 111.
        let ways: Vec<(f64, f64)> =
            turns.iter().map(|t| (t.total_rad.signum(), 0.5 * (t.window.from_s + t.window.to_s))).collect();
        assert_eq!(ways.iter().map(|w| w.0).collect::<Vec<_>>(), [1.0, -1.0, 1.0, -1.0], "{name}: {turns:?}");
        for (turn, (begin, end)) in
            turns.iter().zip([(10.0, 27.2), (35.0, 56.5), (70.0, 83.0), (95.0, 111.2)])
        {
            // Begin and end lie where the turn is between 5 and 9 deg/s, within the second or so of rolling in.
            assert!((turn.window.from_s - begin).abs() < 1.5, "{name}: {turn:?}");
            assert!((turn.window.to_s - end).abs() < 1.5, "{name}: {turn:?}");
            let truth = turned(turn.window.from_s, turn.window.to_s);
            assert!((turn.total_rad - truth).abs() < 0.1, "{name}: {turn:?}, truly {truth}");
        }
        let straights = phases::straight_windows(&r, 4.0);
        for middle in [31.0, 63.0, 89.0] {
            let hit = straights.iter().any(|w| w.from_s < middle && w.to_s > middle);
            assert!(hit, "{name}: {middle} s is straight: {straights:?}");
        }
        for w in &straights {
            let bank = flight()
                .iter()
                .filter(|m| (w.from_s..w.to_s).contains(&m.t))
                .map(|m| m.roll.abs())
                .fold(0.0, f64::max);
            assert!(bank < 0.3, "{name}: {w:?} banks {bank}");
        }
    }
}

/// Ground for 8 s, throw, climb at 3 m/s to 45 m, level, motor off at 40 s, glide at 1.2 m/s, touch-down, ground.
fn whole_flight() -> (Vec<f64>, Vec<f64>, Vec<f64>, Vec<f64>) {
    let t: Vec<f64> = (0..1400).map(|i| f64::from(i) * 0.1).collect();
    let touch = 40.0 + 45.0 / 1.2;
    let speed = |t: f64| match t {
        t if t < 8.0 => 0.1,
        t if t < 9.0 => 0.1 + 12.0 * (t - 8.0),
        t if t < touch => 12.1,
        t if t < touch + 2.0 => 12.1 * (1.0 - (t - touch) / 2.0),
        _ => 0.0,
    };
    let height = |t: f64| match t {
        t if t < 9.0 => 0.0,
        t if t < 24.0 => 3.0 * (t - 9.0),
        t if t < 40.0 => 45.0,
        t if t < touch => 45.0 - 1.2 * (t - 40.0),
        _ => 0.0,
    };
    let throttle = |t: f64| if (8.0..40.0).contains(&t) { 0.7 } else { 0.0 };
    let of = |f: &dyn Fn(f64) -> f64| t.iter().map(|t| f(*t)).collect::<Vec<f64>>();
    let (v, h, p) = (of(&speed), of(&height), of(&throttle));
    (t, v, h, p)
}

#[test]
fn a_flight_from_ground_to_ground_is_cut_into_its_phases() {
    let (t, v, h, p) = whole_flight();
    let north = v.clone();
    let east = vec![0.0; t.len()];
    let r = recording(
        &t,
        &[
            (Q::Airspeed, v),
            (Q::VelocityNorth, north),
            (Q::VelocityEast, east),
            (Q::Height, h),
            (Q::Throttle, p),
        ],
    );
    let found = phases::find(&r);
    let kinds: Vec<K> = found.iter().map(|p| p.kind).filter(|k| *k != K::Other).collect();
    assert_eq!(
        kinds,
        [K::Ground, K::Launch, K::Climb, K::Straight, K::Glide, K::Approach, K::Landing, K::Ground],
        "{found:#?}"
    );
    for (kind, from, to) in [
        (K::Launch, 8.5, 11.5),
        (K::Climb, 11.5, 24.0),
        (K::Straight, 24.0, 40.0),
        // The last 25 m, 20.8 s, are the approach; of these the last ten, 8.3 s, the landing.
        (K::Glide, 40.0, 77.5 - 20.8),
        (K::Approach, 77.5 - 20.8, 77.5 - 8.3),
        (K::Landing, 77.5 - 8.3, 79.0),
    ] {
        let phase = found.iter().find(|p| p.kind == kind).unwrap();
        assert!((phase.window.from_s - from).abs() < 1.2, "{phase:?}");
        assert!((phase.window.to_s - to).abs() < 1.2, "{phase:?}");
    }
    // No gap and no overlap.
    assert!(found.windows(2).all(|w| (w[0].window.to_s - w[1].window.from_s).abs() < 1e-9));
}

#[test]
fn nothing_is_said_of_a_recording_without_speed() {
    let t: Vec<f64> = (0..100).map(|i| f64::from(i) * 0.1).collect();
    let r = recording(&t, &[(Q::Volts, vec![11.0; 100])]);
    assert!(phases::find(&r).is_empty());
    assert!(phases::straight_windows(&r, 1.0).is_empty());
}

#[test]
fn stuck_clipped_and_jumping_channels_are_told() {
    let n = 2000;
    let t: Vec<f64> = (0..n).map(|i| f64::from(i) * 0.02).collect();
    let wave =
        |a: f64| -> Vec<f64> { t.iter().map(|t| a * (1.3 * t).sin() + 0.001 * (77.0 * t).sin()).collect() };
    let mut stuck = wave(0.5);
    stuck[800..1400].fill(0.123);
    let mut jumped = wave(3.0);
    jumped[1000] = 500.0;
    let r = recording(
        &t,
        &[
            (Q::Volts, vec![11.1; n as usize]),
            (Q::Roll, stuck),
            (Q::RollRate, wave(5.0).iter().map(|v| v.clamp(-4.36, 4.36)).collect()),
            (Q::Height, jumped),
            (Q::Pitch, wave(0.3)),
        ],
    );
    let q = quality::assess(&r);
    let kinds: Vec<(FlawKind, &str)> =
        q.flaws.iter().map(|f| (f.kind, f.place.split(' ').next().unwrap_or(""))).collect();
    assert_eq!(
        kinds,
        [
            (FlawKind::Stuck, "volts"),
            (FlawKind::Stuck, "roll"),
            (FlawKind::Clipped, "roll-rate"),
            (FlawKind::Clipped, "roll-rate"),
            (FlawKind::Jump, "height"),
        ],
        "{:#?}",
        q.flaws
    );
    let roll = &q.channels[1];
    assert!((roll.rate_hz - 50.0).abs() < 1e-6 && roll.jitter < 1e-6);
    assert!((roll.longest_still_s - 599.0 * 0.02).abs() < 1e-6);
}

#[test]
fn a_good_recording_has_good_channels() {
    let r = invented(&[
        (Q::Roll, |m| m.roll),
        (Q::Yaw, |m| m.yaw),
        (Q::Airspeed, |m| m.airspeed),
        (Q::Height, |m| m.height),
        (Q::Volts, |m| m.volts),
    ]);
    let q = quality::assess(&r);
    assert!(q.flaws.is_empty(), "{:#?}", q.flaws);
}

#[test]
fn vibration_and_a_heading_that_a_magnet_pulls_are_told() {
    let n = 3000;
    let t: Vec<f64> = (0..n).map(|i| f64::from(i) * 0.01).collect();
    // A sine of 40 m/s² has a median absolute deviation of 40 sin 45° = 28 m/s²: as a normal spread 42 m/s², 4.3 g.
    let shaken: Vec<f64> =
        t.iter().map(|t| -9.8 + 40.0 * (2.0 * std::f64::consts::PI * 37.0 * t).sin()).collect();
    let calm: Vec<f64> = t.iter().map(|t| 1.0 * (0.7 * t).sin()).collect();
    // Turning at 0.2 rad/s as the gyro says; at 15 s a magnet pulls the heading by 1 rad within 0.3 s.
    let rate: Vec<f64> = t.iter().map(|_| 0.2).collect();
    let yaw: Vec<f64> =
        t.iter().map(|t| numerics::frames::wrap_rad(0.2 * t + ((t - 15.0) / 0.3).clamp(0.0, 1.0))).collect();
    let q = quality::assess(&recording(
        &t,
        &[(Q::ForceZ, shaken), (Q::ForceX, calm), (Q::Yaw, yaw), (Q::YawRate, rate)],
    ));
    let vibration: Vec<_> = q.flaws.iter().filter(|f| f.kind == FlawKind::Vibration).collect();
    assert_eq!(vibration.len(), 1, "{:#?}", q.flaws);
    assert!(
        vibration[0].place.starts_with("force-z") && vibration[0].what.contains("4.3 g"),
        "{vibration:#?}"
    );
    let jump = q.flaws.iter().find(|f| f.kind == FlawKind::Jump && f.what.contains("gyro")).unwrap();
    assert!(jump.what.contains("57 deg"), "{jump:?}");
}
