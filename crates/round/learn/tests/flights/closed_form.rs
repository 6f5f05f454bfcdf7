//! Flights whose answer follows from a formula.

use fly::phases::PhaseKind;
use fly::recording::{Quantity, Recording};
use learn::findings::{Findings, NotLearnt};
use learn::learn_in_phases;
use numerics::random::Random;
use numerics::units::RAD_PER_DEG;
use proptest::prelude::*;

use crate::built::{CRUISE_M_S, Flight, Logged, Moment, aircraft, channel, phase, recording};

/// Rounding of block means of exact data and of the iteration, m/s.
const EXACT_M_S: f64 = 2e-3;

/// Legs of 12 s on the headings given, with turns of 90 degrees in 5 s left out between them.
fn legs(headings_deg: &[f64], wind_m_s: [f64; 2]) -> Flight {
    Flight {
        legs: headings_deg.iter().map(|h| (*h, *h, 12.0, CRUISE_M_S, 0.0)).collect(),
        wind_m_s,
        shear_per_s: [0.0; 2],
    }
}

pub(crate) fn findings(flight: &Flight, log: impl Fn(&[Moment]) -> Recording) -> Findings {
    let (moments, phases) = flight.fly();
    learn_in_phases(&aircraft(), None, &log(&moments), phases)
}

fn only_velocity(moments: &[Moment]) -> Recording {
    Logged::velocity(moments).done()
}

#[track_caller]
fn check_wind(found: &Findings, wind_m_s: [f64; 2], tolerance_m_s: f64) {
    let wind = found.wind.as_ref().unwrap();
    let off = (wind.velocity_m_s[0] - wind_m_s[0]).hypot(wind.velocity_m_s[1] - wind_m_s[1]);
    assert!(off < tolerance_m_s, "{:?}, wanted {wind_m_s:?}: {}", wind.velocity_m_s, wind.speed_m_s.verdict);
}

#[test]
fn three_headings_without_airspeed_sensor_give_the_wind_back() {
    let found = findings(&legs(&[20.0, 140.0, 260.0], [-2.1, 3.3]), only_velocity);
    check_wind(&found, [-2.1, 3.3], EXACT_M_S);
    let wind = found.wind.unwrap();
    assert!(wind.speed_m_s.enough && wind.from_deg.enough, "{}", wind.speed_m_s.verdict);
    assert!((wind.airspeed_m_s.value - CRUISE_M_S).abs() < EXACT_M_S);
    // atan2 by hand: it blows from south-west... towards (-2.1, 3.3) is from 302.47 degrees.
    assert!((wind.from_deg.value - 302.47).abs() < 0.05, "{}", wind.from_deg.value);
}

#[test]
fn circling_with_satellite_noise_gives_the_wind_it_was_made_with() {
    // Source: reference/circling-gps: wind from 240.0 at 4.20 m/s, airspeed 13.00 m/s, 0.15 m/s noise.
    let text = include_str!("../../../../../reference/circling-gps/circling_gps.csv");
    let rows: Vec<Vec<f64>> =
        text.lines().skip(1).map(|l| l.split(',').map(|c| c.parse().unwrap()).collect()).collect();
    let time = std::sync::Arc::new(rows.iter().map(|r| r[0]).collect::<Vec<f64>>());
    let column = |k: usize| rows.iter().map(|r| r[k]).collect::<Vec<f64>>();
    let recording = recording(vec![
        channel(Quantity::VelocityNorth, &time, column(3)),
        channel(Quantity::VelocityEast, &time, column(4)),
    ]);
    let found = learn_in_phases(&aircraft(), None, &recording, vec![phase(PhaseKind::Turn, 0.0, 61.0)]);
    let wind = found.wind.unwrap();
    assert!((wind.speed_m_s.value - 4.20).abs() < 0.15, "{:?}", wind.speed_m_s);
    assert!((wind.from_deg.value - 240.0).abs() < 2.0, "{:?}", wind.from_deg);
    assert!((wind.airspeed_m_s.value - 13.00).abs() < 0.15, "{:?}", wind.airspeed_m_s);
    assert!(wind.speed_m_s.enough);
    // White noise of 0.15 m/s on 300 points of three full circles leaves 0.15 sqrt(2/300) = 0.012 m/s; what may
    // hide in it as gusts makes it more, but not ten times.
    assert!(wind.speed_m_s.sd > 0.010 && wind.speed_m_s.sd < 0.12, "{}", wind.speed_m_s.sd);
}

#[test]
fn an_airspeed_sensor_that_reads_low_is_found_among_satellite_jumps() {
    let flight = Flight {
        legs: vec![
            (0.0, 360.0, 30.0, 14.0, 0.0),
            (0.0, 0.0, 15.0, 17.0, 0.0),
            (0.0, -360.0, 30.0, 12.0, 0.0),
        ],
        wind_m_s: [3.0, -1.0],
        shear_per_s: [0.0; 2],
    };
    let found = findings(&flight, |moments| {
        let mut random = Random::new(5, 0);
        let mut broken = moments.to_vec();
        for m in &mut broken {
            m.velocity_m_s[0] += 0.1 * random.normal();
            m.velocity_m_s[1] += 0.1 * random.normal();
            // Two of a hundred rows jump by tens of meters a second.
            if random.uniform(0.0, 1.0) < 0.02 {
                m.velocity_m_s[0] += 40.0;
            }
        }
        Logged::velocity(&broken).with(Quantity::Airspeed, |m| m.airspeed_m_s / 1.05).done()
    });
    check_wind(&found, [3.0, -1.0], 0.05);
    let factor = found.wind.unwrap().airspeed_factor.unwrap();
    assert!((factor.value - 1.05).abs() < 0.005, "{factor:?}");
    assert!(factor.enough);
}

#[test]
fn opposite_legs_are_not_enough_and_the_verdict_says_what_to_fly() {
    let found = findings(&legs(&[90.0, 270.0, 90.0], [2.0, 2.0]), only_velocity);
    match found.wind {
        Ok(wind) => {
            assert!(!wind.speed_m_s.enough && !wind.from_deg.enough);
            assert!(wind.speed_m_s.verdict.contains("a leg across"), "{}", wind.speed_m_s.verdict);
        }
        Err(NotLearnt::NotExcited { why }) => assert!(why.contains("a leg across"), "{why}"),
        Err(other) => panic!("{other:?}"),
    }
}

#[test]
fn a_quarter_turn_is_not_enough() {
    let flight =
        Flight { legs: vec![(0.0, 90.0, 30.0, 14.0, 0.0)], wind_m_s: [2.0, 2.0], shear_per_s: [0.0; 2] };
    let found = findings(&flight, only_velocity);
    match found.wind {
        Ok(wind) => {
            assert!(!wind.speed_m_s.enough);
            assert!(wind.speed_m_s.verdict.contains("full circle"), "{}", wind.speed_m_s.verdict);
        }
        Err(NotLearnt::NotExcited { why }) => assert!(why.contains("full circle"), "{why}"),
        Err(other) => panic!("{other:?}"),
    }
}

#[test]
fn heading_and_airspeed_tell_the_wind_on_opposite_legs_too() {
    let found = findings(&legs(&[90.0, 270.0], [2.0, -3.0]), |moments| {
        Logged::velocity(moments)
            .with(Quantity::Airspeed, |m| m.airspeed_m_s)
            // A compass that shows 5 degrees too little.
            .with(Quantity::Yaw, |m| m.heading_rad - 5.0 * RAD_PER_DEG)
            .done()
    });
    check_wind(&found, [2.0, -3.0], 0.01);
    let wind = found.wind.unwrap();
    assert!(wind.speed_m_s.enough, "{}", wind.speed_m_s.verdict);
    let triangle = wind.triangle.unwrap();
    assert!((triangle.heading_error_deg - 5.0).abs() < 0.1, "{triangle:?}");
}

#[test]
fn both_ways_agree_on_a_circle_and_a_bad_compass_is_told() {
    let circles = Flight {
        legs: vec![(0.0, 360.0, 30.0, 14.0, 0.0), (0.0, -360.0, 30.0, 14.0, 0.0)],
        wind_m_s: [2.0, -3.0],
        shear_per_s: [0.0; 2],
    };
    let with_compass = |error: fn(f64) -> f64| {
        findings(&circles, move |moments| {
            let mut random = Random::new(9, 0);
            let mut noisy = moments.to_vec();
            for m in &mut noisy {
                m.velocity_m_s[0] += 0.1 * random.normal();
                m.velocity_m_s[1] += 0.1 * random.normal();
            }
            Logged::velocity(&noisy)
                .with(Quantity::Airspeed, |m| m.airspeed_m_s)
                .with(Quantity::Yaw, move |m| m.heading_rad + error(m.heading_rad))
                .done()
        })
        .wind
        .unwrap()
        .triangle
        .unwrap()
    };
    let good = with_compass(|_| 0.0);
    assert!(good.agreement.contains("agree"), "{}", good.agreement);
    // Iron near the compass: an error of one cycle a turn looks like wind to the triangle, not to the circle.
    let bad = with_compass(|h| 0.2 * h.sin());
    assert!(bad.agreement.contains("compass"), "{}", bad.agreement);
}

#[test]
fn wind_that_grows_with_height_is_told_with_the_height_it_holds_at() {
    // 4 m/s at 50 m and 0.03 m/s more each meter; circles low, climbing ones between, and high.
    let flight = Flight {
        legs: vec![
            (0.0, 720.0, 50.0, 14.0, 0.0),
            (0.0, 1080.0, 60.0, 14.0, 5.0),
            (0.0, 720.0, 50.0, 14.0, 0.0),
        ],
        wind_m_s: [0.0, 4.0],
        shear_per_s: [0.0, 0.03],
    };
    let found = findings(&flight, |moments| {
        Logged::velocity(moments)
            .with(Quantity::Height, |m| m.height_m)
            .with(Quantity::Airspeed, |m| m.airspeed_m_s)
            .done()
    });
    let wind = found.wind.unwrap();
    let grows = wind.change_with_height_per_s.unwrap();
    assert!((grows.value - 0.03).abs() < 0.001, "{grows:?}");
    assert!(grows.enough, "{}", grows.verdict);
    let expected = 4.0 + 0.03 * (wind.height_m.unwrap() - 50.0);
    assert!((wind.speed_m_s.value - expected).abs() < 0.02, "{:?}", wind.speed_m_s);
}

#[test]
fn what_was_not_recorded_is_named_in_plain_words() {
    let (moments, phases) = legs(&[0.0, 120.0, 240.0], [1.0, 1.0]).fly();
    let time = std::sync::Arc::new(moments.iter().map(|m| m.time_s).collect::<Vec<f64>>());
    let only_pitch = recording(vec![channel(Quantity::Pitch, &time, vec![0.1; moments.len()])]);
    let found = learn_in_phases(&aircraft(), None, &only_pitch, phases);
    let named = |not: Option<NotLearnt>, words: &str| match not {
        Some(NotLearnt::MissingChannel { what }) => assert!(what.contains(words), "{what}"),
        other => panic!("{other:?}"),
    };
    named(found.wind.err(), "velocity over ground");
    named(found.level_attitude.err(), "vertical velocity");
    named(found.trims.err(), "servo");
    assert!(found.changes.is_empty());
}

pub(crate) fn square(climb_deg: f64) -> Flight {
    Flight {
        legs: [0.0, 90.0, 180.0, 270.0]
            .iter()
            .enumerate()
            .flat_map(|(k, h)| {
                let speed = CRUISE_M_S + [0.0, 1.5, -1.5, 0.5][k];
                let path = climb_deg * [1.0, -1.0, 0.5, -0.5][k];
                [(*h, *h, 14.0, speed, path), (*h, h + 90.0, 6.0, speed, 0.0)]
            })
            .collect(),
        wind_m_s: [2.0, 1.0],
        shear_per_s: [0.0; 2],
    }
}

#[test]
fn level_attitude_follows_from_climbing_and_sinking_legs_at_several_speeds() {
    let found = findings(&square(4.0), |moments| {
        Logged::velocity(moments).with(Quantity::Airspeed, |m| m.airspeed_m_s).with_attitude(3.2, 4.5).done()
    });
    let level = found.level_attitude.unwrap();
    assert!((level.reading_deg.value - 3.2).abs() < 0.01, "{:?}", level.reading_deg);
    assert!(level.reading_deg.enough, "{}", level.reading_deg.verdict);
    assert_eq!(level.airspeed_m_s, CRUISE_M_S);
    assert_eq!(level.points.len(), 4);
    // The file's mounting angle is 1 degree; the controller subtracts it, so that the reading goes on top.
    let change = found.changes.iter().find(|c| c.path == "controller.mounting_pitch_deg").unwrap();
    // Set to a tenth of a degree.
    assert!((change.to - 4.2).abs() < 1e-9, "{change:?}");
    assert_eq!(change.held_back, None);
}

#[test]
fn without_a_sensor_the_airspeed_comes_from_the_wind() {
    let found = findings(&square(4.0), |moments| {
        let steady: Vec<Moment> = moments.to_vec();
        Logged::velocity(&steady).with_attitude(-1.5, 4.5).done()
    });
    let level = found.level_attitude.unwrap();
    // The legs differ by 1.5 m/s in airspeed, which the circle takes for gusts: hence not exact.
    assert!((level.reading_deg.value + 1.5).abs() < 0.3, "{:?}", level.reading_deg);
}

#[test]
fn one_heading_cannot_tell_attitude_from_rising_air() {
    let flight = legs(&[45.0, 45.0, 45.0, 45.0], [0.0, 0.0]);
    let found = findings(&flight, |moments| {
        Logged::velocity(moments).with(Quantity::Airspeed, |m| m.airspeed_m_s).with_attitude(2.0, 4.5).done()
    });
    let level = found.level_attitude.unwrap();
    assert!(!level.reading_deg.enough);
    assert!(level.reading_deg.verdict.contains("heading"), "{}", level.reading_deg.verdict);
    assert!(found.changes[0].held_back.is_some());
}

/// Pulses: elevator off by `off` with a slope over speed, ailerons off by opposite amounts.
pub(crate) fn with_pulses(logged: Logged, off_us: f64, acts: impl Fn(&Moment) -> f64) -> Logged {
    let wobble = |m: &Moment| 15.0 * (2.0 * m.time_s).sin();
    logged
        .with(Quantity::Servo("servo elevator".into()), move |m| {
            let lift = m.path_rad.cos() * (CRUISE_M_S / m.airspeed_m_s).powi(2) - 1.0;
            1500.0 + off_us - 60.0 * lift + wobble(m)
        })
        .with(Quantity::Servo("servo aileron".into()), move |m| 1520.0 + wobble(m))
        .with(Quantity::Servo("servo aileron left".into()), move |m| 1485.0 - wobble(m))
        .with(Quantity::Acts, acts)
}

#[test]
fn trims_hold_at_the_cruise_speed_in_us_deg_mm_and_turns() {
    let found = findings(&square(0.0), |moments| {
        let logged =
            Logged::velocity(moments).with(Quantity::Airspeed, |m| m.airspeed_m_s).with_attitude(0.0, 4.5);
        with_pulses(logged, 40.0, |_| 0.0).done()
    });
    let trims = found.trims.unwrap();
    assert_eq!(trims.len(), 3);
    let elevator = trims.iter().find(|t| t.surface == "elevator").unwrap();
    // Four whole swings of 2 rad/s fit almost into 14 s; what is left of 15 µs stays below 1 % of travel (4 µs).
    assert!((elevator.us.value - 40.0).abs() < 4.0, "{:?}", elevator.us);
    assert!(elevator.us.enough, "{}", elevator.us.verdict);
    // Without a measured arm: 20 degrees at 400 µs, so 0.05 degrees per µs. Chord 0.12 m, hinge at 75 %: 30 mm
    // behind it, moved by 2 · 30 sin(δ/2). Horn 20 mm, thread 0.5 mm: 20 sin δ / 0.5 turns.
    let degrees = 0.05 * elevator.us.value;
    assert!((elevator.deg.value - degrees).abs() < 1e-9);
    let half = 0.5 * degrees * RAD_PER_DEG;
    assert!((elevator.mm.value - 60.0 * half.sin()).abs() < 1e-9);
    let turns = elevator.clevis_turns.unwrap();
    assert!((turns - 40.0 * (2.0 * half).sin()).abs() < 1e-9, "{turns}");
    let to = |path: &str| found.changes.iter().find(|c| c.path == path).unwrap().to;
    assert!((to("movable.elevator.servo.centre_us") - 1540.0).abs() < 4.0);
    assert!((to("movable.aileron.servo.centre_us") - 1520.0).abs() < 4.0);
    assert!((to("movable.aileron.servo_left.centre_us") - 1485.0).abs() < 4.0);
}

#[test]
fn a_large_trim_is_left_to_the_linkage() {
    let found = findings(&square(0.0), |moments| {
        let logged =
            Logged::velocity(moments).with(Quantity::Airspeed, |m| m.airspeed_m_s).with_attitude(0.0, 4.5);
        with_pulses(logged, 130.0, |_| 0.0).done()
    });
    let change = found.changes.iter().find(|c| c.path == "movable.elevator.servo.centre_us").unwrap();
    let held = change.held_back.as_ref().unwrap();
    // A longer pulse moves this elevator down; which way the rod goes for that, nobody has measured.
    assert!(held.contains("turn the clevis") && held.contains("moves the trailing edge down"), "{held}");
    assert!(
        held.contains("propeller off") && !held.contains("longer") && !held.contains("shorter"),
        "{held}"
    );
}

#[test]
fn only_seconds_in_direct_make_a_trim() {
    // In level from the third leg on, where the loop holds the elevator 100 µs elsewhere.
    let found = findings(&square(0.0), |moments| {
        let logged =
            Logged::velocity(moments)
                .with(Quantity::Airspeed, |m| m.airspeed_m_s)
                .with_attitude(0.0, 4.5)
                .with(Quantity::Servo("servo elevator".into()), |m| {
                    if m.time_s < 40.0 { 1510.0 } else { 1610.0 }
                });
        logged.with(Quantity::Acts, |m| if m.time_s < 40.0 { 0.0 } else { 2.0 }).done()
    });
    let trims = found.trims.unwrap();
    assert!((trims[0].us.value - 10.0).abs() < 1.0, "{:?}", trims[0].us);
    assert!(trims[0].us.verdict.contains("in direct"), "{}", trims[0].us.verdict);

    let never = findings(&square(0.0), |moments| {
        let logged = Logged::velocity(moments).with(Quantity::Airspeed, |m| m.airspeed_m_s);
        with_pulses(logged, 10.0, |_| 2.0).done()
    });
    match never.trims {
        Err(NotLearnt::NotExcited { why }) => assert!(why.contains("in direct"), "{why}"),
        other => panic!("{other:?}"),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    /// Turning the compass rose turns the wind and leaves its speed.
    #[test]
    fn the_wind_turns_with_the_flight(turn_deg in 0.0..360.0_f64, speed in 1.5..6.0_f64, from_deg in 0.0..360.0_f64) {
        let wind = |from: f64| {
            let towards = (from + 180.0) * RAD_PER_DEG;
            [speed * towards.cos(), speed * towards.sin()]
        };
        let one = findings(&legs(&[10.0, 100.0, 230.0], wind(from_deg)), only_velocity).wind.unwrap();
        let headings = [10.0 + turn_deg, 100.0 + turn_deg, 230.0 + turn_deg];
        let two = findings(&legs(&headings, wind(from_deg + turn_deg)), only_velocity).wind.unwrap();
        prop_assert!((one.speed_m_s.value - two.speed_m_s.value).abs() < 1e-3);
        let apart = (two.from_deg.value - one.from_deg.value - turn_deg).rem_euclid(360.0);
        prop_assert!(apart.min(360.0 - apart) < 0.1);
    }
}
