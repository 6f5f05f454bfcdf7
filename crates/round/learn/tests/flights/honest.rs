//! What was learnt once is not learnt twice, what is held back says so, and what rests on a mixed-up column is refused.

use fly::recording::{Channel, Quantity, Recording};
use learn::findings::NotLearnt;
use learn::{LearnFrom, learn_from};
use numerics::units::RAD_PER_DEG;

use crate::built::{Logged, Moment, aircraft};
use crate::closed_form::{findings, square, with_pulses};

fn logged(moments: &[Moment], off_us: f64, level_deg: f64) -> Recording {
    let log =
        Logged::velocity(moments).with(Quantity::Airspeed, |m| m.airspeed_m_s).with_attitude(level_deg, 4.5);
    with_pulses(log, off_us, |_| 0.0).done()
}

#[test]
fn learning_again_from_the_same_flight_with_the_adopted_file_asks_for_nothing() {
    let (moments, phases) = square(4.0).fly();
    let recording = logged(&moments, 41.0, 3.17);
    let mut aircraft = aircraft();
    let old = aircraft.controller.mounting_pitch_rad.value;
    let known =
        |set| LearnFrom { phases: Some(phases.clone()), set_mounting_pitch_rad: set, ..LearnFrom::default() };
    let first = learn_from(&aircraft, &recording, known(None));
    let to = |path: &str| first.changes.iter().find(|c| c.path == path).map(|c| c.to);
    let mounting = to("controller.mounting_pitch_deg").unwrap();
    // One degree was set and 3.17 were read: 4.17, set to a tenth.
    assert_eq!(mounting.to_string(), "4.2");
    let elevator = to("movable.elevator.servo.centre_us").unwrap();
    assert_eq!(elevator.fract(), 0.0);
    aircraft.controller.mounting_pitch_rad.value = mounting * RAD_PER_DEG;
    aircraft.movables[0].servo.centre_us = to("movable.aileron.servo.centre_us").unwrap();
    aircraft.movables[0].servo_left.as_mut().unwrap().centre_us =
        to("movable.aileron.servo_left.centre_us").unwrap();
    aircraft.movables[1].servo.centre_us = elevator;
    let again = learn_from(&aircraft, &recording, known(Some(old)));
    assert!(again.changes.is_empty(), "{:#?}", again.changes);
    let level = again.level_attitude.unwrap();
    assert!(level.correction_deg.value.abs() < 0.05, "{:?}", level.correction_deg);
    assert!((level.reading_deg.value - 3.17).abs() < 0.01);
    // Without the setting of that flight the same reading counts from the new one: the error to be kept from.
    let doubled = learn_from(&aircraft, &recording, known(None));
    assert_eq!(doubled.changes.len(), 1);
}

#[test]
fn a_trim_that_is_held_back_says_so_and_what_to_do_at_the_linkage() {
    let found = findings(&square(0.0), |moments| logged(moments, 130.0, 0.0));
    let trims = found.trims.unwrap();
    let elevator = trims.iter().find(|t| t.surface == "elevator").unwrap();
    assert!(elevator.us.enough);
    for word in ["Held back", "the clevis", "propeller off"] {
        assert!(elevator.us.verdict.contains(word), "{word}: {}", elevator.us.verdict);
    }
}

#[test]
fn a_servo_name_differs_in_writing_and_a_foreign_one_is_named() {
    let renamed = |name: &'static str| {
        findings(&square(0.0), move |moments| {
            let mut recording = logged(moments, 40.0, 0.0);
            recording
                .channels
                .retain(|c| !matches!(&c.quantity, Quantity::Servo(n) if n != "servo elevator"));
            for c in &mut recording.channels {
                if matches!(c.quantity, Quantity::Servo(_)) {
                    c.quantity = Quantity::Servo(name.into());
                }
            }
            recording
        })
    };
    assert_eq!(renamed("Elevator").trims.unwrap().len(), 1);
    match renamed("9").trims {
        Err(NotLearnt::MissingChannel { what }) => {
            for word in ["\"9\"", "quantity = \"servo:servo aileron\"", "`channel`"] {
                assert!(what.contains(word), "{word}: {what}");
            }
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_servo_that_follows_another_stick_is_no_trim() {
    // The elevator's servo (trailing edge up for nose up: a shorter pulse) moves against the pitch stick, the right
    // aileron's (down for roll to the left) against the roll stick.
    let stick = |t: f64, rate: f64| 0.1 * (rate * t).sin();
    let flown = |mixed_up: bool| {
        findings(&square(0.0), move |moments| {
            let log = Logged::velocity(moments)
                .with(Quantity::Airspeed, |m| m.airspeed_m_s)
                .with_attitude(0.0, 4.5)
                .with(Quantity::StickPitch, move |m| stick(m.time_s, 1.3))
                .with(Quantity::StickRoll, move |m| stick(m.time_s, 2.1));
            let (one, other) = if mixed_up { (2.1, 1.3) } else { (1.3, 2.1) };
            log.with(Quantity::Servo("servo elevator".into()), move |m| 1530.0 - 400.0 * stick(m.time_s, one))
                .with(Quantity::Servo("servo aileron".into()), move |m| {
                    1510.0 - 400.0 * stick(m.time_s, other)
                })
                .with(Quantity::Acts, |_| 0.0)
                .done()
        })
    };
    for trim in flown(false).trims.unwrap() {
        assert!(!trim.us.verdict.contains("sticks"), "{}", trim.us.verdict);
    }
    let found = flown(true);
    for trim in found.trims.unwrap() {
        assert!(!trim.us.enough, "{}", trim.surface);
        assert!(trim.us.verdict.contains("goes as the sticks ask of"), "{}", trim.us.verdict);
    }
    assert!(found.changes.iter().all(|c| c.path.starts_with("controller") || c.held_back.is_some()));
}

#[test]
fn what_rests_on_a_contradicted_channel_is_refused_with_the_reason() {
    // The pitch angle told in degrees as radians: 57 times too large.
    let found = findings(&square(4.0), |moments| {
        let mut recording = logged(moments, 40.0, 3.2);
        for c in recording.channels.iter_mut().filter(|c| c.quantity == Quantity::Pitch) {
            c.source = "nose".into();
            c.values.iter_mut().for_each(|v| *v /= RAD_PER_DEG);
        }
        recording
    });
    match found.level_attitude {
        Err(NotLearnt::NotExcited { why }) => {
            assert!(why.contains("\"nose\"") && why.contains("unit = \"deg\""), "{why}");
        }
        other => panic!("{other:?}"),
    }
    assert!(found.remarks.iter().any(|r| r.contains("nose")), "{:?}", found.remarks);
    assert!(found.wind.is_ok());
}

#[test]
fn a_flight_beyond_the_limits_of_the_file_is_remarked_on() {
    let (moments, phases) = square(4.0).fly();
    let mut recording = logged(&moments, 0.0, 0.0);
    let time_s = std::sync::Arc::clone(&recording.channels[0].time_s);
    // A kilometer of latitude and back is 0.00899 degrees; the height goes to 130 m.
    let n = moments.len() as f64;
    let share = |i: usize| 1.0 - (2.0 * i as f64 / n - 1.0).abs();
    let add = |quantity, f: &dyn Fn(usize) -> f64| Channel {
        quantity,
        source: String::new(),
        time_s: std::sync::Arc::clone(&time_s),
        values: (0..moments.len()).map(f).collect(),
    };
    recording
        .channels
        .retain(|c| matches!(c.quantity, Quantity::Airspeed | Quantity::Pitch | Quantity::Acts));
    recording.channels.push(add(Quantity::Latitude, &|i| 52.0 + 0.00899 * share(i)));
    recording.channels.push(add(Quantity::Longitude, &|_| 5.0));
    recording.channels.push(add(Quantity::Height, &|i| 130.0 * share(i)));
    let mut aircraft = aircraft();
    let known = || LearnFrom { phases: Some(phases.clone()), ..LearnFrom::default() };
    assert!(learn_from(&aircraft, &recording, known()).remarks.iter().all(|r| !r.contains("limits.")));
    aircraft.limits.distance_m = Some(400.0);
    aircraft.limits.height_m = Some(120.0);
    let remarks = learn_from(&aircraft, &recording, known()).remarks;
    let told = |key: &str, most: &str| remarks.iter().any(|r| r.contains(key) && r.contains(most));
    assert!(told("limits.distance_m", "up to 99") || told("limits.distance_m", "up to 1000"), "{remarks:?}");
    assert!(told("limits.height_m", "up to 1"), "{remarks:?}");
}
