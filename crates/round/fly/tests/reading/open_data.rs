//! Recordings of real aircraft, read without editing. Quantities, units and signs are held against the notes in
//! reference/flight-alfa-2018/SOURCE.toml and reference/flight-delft-propeller/SOURCE.toml.

use std::collections::BTreeSet;
use std::path::PathBuf;

use fly::csv::read_csv;
use fly::map::{Column, Entry};
use fly::merge::merge;
use fly::phases::{self, PhaseKind};
use fly::propose::propose;
use fly::recording::{Quantity as Q, Recording};
use fly::sense;
use fly::{resample, words};

#[expect(clippy::disallowed_methods, reason = "reference data is read where it is kept")]
fn file(name: &str) -> Vec<u8> {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../../reference").join(name);
    std::fs::read(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

fn read(name: &str) -> (Recording, Vec<String>) {
    let bytes = file(name);
    let p = propose(&bytes).unwrap_or_else(|e| panic!("{name}: {e}"));
    let r = read_csv(&bytes, &p.map).unwrap_or_else(|e| panic!("{name}: {e}"));
    (r, p.doubts)
}

/// What a file of the first flight must give: quantity and its first value in the kept unit, from its first row.
#[track_caller]
fn check(name: &str, rows: usize, expected: &[(Q, f64)]) {
    let (r, doubts) = read(&format!("flight-alfa-2018/{name}.csv"));
    assert_eq!(r.rows, rows, "{name}");
    // One time stands twice in the file of airspeeds (84.4528 s).
    let twice = usize::from(name == "airspeed");
    assert_eq!(r.flaws.len(), twice, "{name}: {:?}", r.flaws);
    let derived =
        |source: &str| source.starts_with("from \"") || source.contains("where the recording begins");
    let got: BTreeSet<Q> =
        r.channels.iter().filter(|c| !derived(&c.source)).map(|c| c.quantity.clone()).collect();
    let want: BTreeSet<Q> = expected.iter().map(|(q, _)| q.clone()).collect();
    assert_eq!(got, want, "{name}: {doubts:#?}");
    for (q, first) in expected {
        let value = r.channel(q).map_or(f64::NAN, |c| c.values[0]);
        assert!((value - first).abs() < 1e-9 * first.abs().max(1.0), "{name}: {q:?} {value} {first}");
    }
}

/// Degrees to radians.
const DEG: f64 = std::f64::consts::PI / 180.0;

#[test]
fn every_file_of_a_flight_with_a_motor_failure_gives_what_its_notes_say() {
    check("airspeed", 2470, &[(Q::Airspeed, 17.66693)]);
    check("roll", 2531, &[(Q::Roll, -50.99129 * DEG)]);
    check("pitch", 2531, &[(Q::Pitch, 0.7214751 * DEG)]);
    check("yaw", 2531, &[(Q::Yaw, 88.85004 * DEG)]);
    // Forward-left-up: y and z turn round.
    let imu = |w: [f64; 3], a: [f64; 3]| {
        [
            (Q::RollRate, w[0]),
            (Q::PitchRate, -w[1]),
            (Q::YawRate, -w[2]),
            (Q::ForceX, a[0]),
            (Q::ForceY, -a[1]),
            (Q::ForceZ, -a[2]),
        ]
    };
    check("imu_raw", 1324, &imu([2.018, -0.293, 0.212], [1.794617, -0.1372931, 14.08235]));
    check("imu_attitude", 328, &imu([2.048229, -0.1486799, 0.1890806], [1.824037, -0.3236194, 14.81785]));
    check(
        "gps_raw_fix",
        662,
        &[(Q::Latitude, 40.5914601), (Q::Longitude, -79.8995372), (Q::Altitude, 349.2621778)],
    );
    check(
        "gps_filtered",
        544,
        &[(Q::Latitude, 40.5914577), (Q::Longitude, -79.8994959), (Q::Altitude, 345.7722209)],
    );
    check("gps_raw_velocity", 662, &[(Q::VelocityEast, 19.08662), (Q::VelocityNorth, -1.989246)]);
    check("height", 544, &[(Q::Height, 35.605)]);
    check("static_pressure", 1323, &[(Q::StaticPressure, 97310.5)]);
    check(
        "hud",
        328,
        &[
            (Q::Airspeed, 17.3264),
            (Q::GroundSpeed, 19.43906),
            (Q::Yaw, 82.0 * DEG),
            (Q::Throttle, 0.53),
            (Q::Altitude, 380.47),
            (Q::VelocityDown, -2.051253),
        ],
    );
}

#[test]
fn what_their_headers_do_not_tell_is_left_out_with_a_reason() {
    for name in
        ["battery", "fault_flag", "mag_raw", "mode", "onboard_wind", "rc_in", "servo_out", "velocity_nav"]
    {
        let bytes = file(&format!("flight-alfa-2018/{name}.csv"));
        let p = propose(&bytes).unwrap_or_else(|e| panic!("{name}: {e}"));
        assert!(p.map.entries.is_empty(), "{name}: {:?}", p.map.entries);
        assert!(!p.doubts.is_empty(), "{name}");
    }
    let (_, doubts) = read("flight-alfa-2018/battery.csv");
    assert!(doubts.iter().any(|d| d.contains("0 V")), "{doubts:?}");
}

/// The files of the first flight that carry most, as one recording.
fn joined() -> Recording {
    let names =
        ["airspeed", "roll", "pitch", "yaw", "imu_raw", "gps_raw_fix", "gps_raw_velocity", "height", "hud"];
    merge(names.iter().map(|n| read(&format!("flight-alfa-2018/{n}.csv")).0).collect())
}

#[test]
fn files_of_one_flight_join_and_agree_with_each_other() {
    let r = joined();
    // The yaw file has more values than the slow heading of the other file.
    assert_eq!(r.channel(&Q::Yaw).unwrap().values.len(), 2531);
    let flaws = sense::check(&r);
    assert!(flaws.is_empty(), "{flaws:#?}");
    // t_s runs on one clock: the first row of the raw position is at 0.0722 s, the earliest of all at 0.0 (airspeed).
    assert!((r.channel(&Q::Latitude).unwrap().time_s[0] - 0.0722).abs() < 1e-9);
}

#[test]
fn a_wrong_sign_or_unit_in_one_file_is_found_by_the_others() {
    let bytes = file("flight-alfa-2018/roll.csv");
    let mut map = propose(&bytes).unwrap().map;
    for (change, advice) in [("sign", "negate"), ("unit", "unit = \"deg\"")] {
        let mut entry = Entry::plain(Column::Header("roll_deg".into()), Q::Roll, "deg");
        if change == "sign" {
            entry.negate = true;
        } else {
            entry.unit = "rad".into();
        }
        map.entries = vec![entry];
        let mut all = vec![read_csv(&bytes, &map).unwrap()];
        for name in ["gps_raw_velocity", "airspeed", "imu_raw"] {
            all.push(read(&format!("flight-alfa-2018/{name}.csv")).0);
        }
        let flaws = sense::check(&merge(all));
        let told = flaws
            .iter()
            .find(|f| f.place.starts_with("roll ("))
            .unwrap_or_else(|| panic!("{change}: {flaws:#?}"));
        assert!(told.what.contains(advice), "{}", told.what);
        assert_eq!(flaws.len(), 1, "{flaws:#?}");
    }
}

#[test]
fn sensor_axes_taken_for_the_programs_own_are_found_by_gravity() {
    let bytes = file("flight-alfa-2018/imu_raw.csv");
    let mut map = propose(&bytes).unwrap().map;
    for entry in &mut map.entries {
        entry.axes = fly::map::Axes::ForwardRightDown;
    }
    let flaws = sense::check(&read_csv(&bytes, &map).unwrap());
    let z = flaws.iter().find(|f| f.place.starts_with("force-z")).unwrap_or_else(|| panic!("{flaws:#?}"));
    assert!(z.what.contains("forward-left-up"), "{}", z.what);
    assert!(flaws.iter().any(|f| f.place.starts_with("pitch-rate")), "{flaws:#?}");
}

#[test]
fn the_glide_after_the_motor_failed_is_found() {
    // The failure is flagged at 116.268 s (fault_flag.csv); the recording ends at 132 s, still gliding.
    let r = joined();
    let found = phases::find(&r);
    let glide = found
        .iter()
        .filter(|p| p.kind == PhaseKind::Glide)
        .max_by(|a, b| (a.window.to_s - a.window.from_s).total_cmp(&(b.window.to_s - b.window.from_s)))
        .unwrap_or_else(|| panic!("{found:#?}"));
    assert!((glide.window.from_s - 116.268).abs() < 4.0, "{found:#?}");
    assert!(glide.window.to_s > 126.0, "{found:#?}");
    assert!(!found.iter().any(|p| p.kind == PhaseKind::Ground || p.kind == PhaseKind::Launch), "{found:#?}");
}

#[test]
fn turns_found_by_the_ground_velocity_go_the_way_the_aircraft_banks() {
    let r = joined();
    let turns = phases::turning_windows(&r, 60.0 * DEG);
    assert!(turns.len() >= 3, "{turns:?}");
    for turn in turns {
        let times: Vec<f64> = (0..20)
            .map(|i| turn.window.from_s + (turn.window.to_s - turn.window.from_s) * f64::from(i) / 19.0)
            .collect();
        let bank = numerics::statistics::median(&resample::at(r.channel(&Q::Roll).unwrap(), &times));
        assert!(bank.signum() == turn.total_rad.signum(), "{turn:?} with a bank of {bank}");
    }
}

#[test]
fn a_tail_sitters_attitude_is_not_taken_for_an_airplanes() {
    let bytes = file("flight-delft-propeller/flight_test_50Hz.csv");
    let p = propose(&bytes).unwrap();
    let r = read_csv(&bytes, &p.map).unwrap();
    let got: BTreeSet<String> = r.channels.iter().map(|c| words::word(&c.quantity)).collect();
    let want: BTreeSet<String> =
        ["airspeed", "rpm", "volts", "amps", "velocity-north", "velocity-east", "velocity-down"]
            .iter()
            .map(|w| (*w).to_owned())
            .collect();
    assert_eq!(got, want, "{:#?}", p.doubts);
    let told = p.doubts.iter().find(|d| d.contains("theta_rad")).unwrap();
    assert!(told.contains("not an airplane's"), "{told}");
    // The first row of the file.
    for (q, v) in [(Q::Airspeed, -0.60784), (Q::Rpm, 7750.0), (Q::Volts, 14.62), (Q::VelocityDown, -0.32513)]
    {
        assert_eq!(r.channel(&q).unwrap().values[0], v);
    }
}

#[test]
fn a_tail_sitters_attitude_in_a_map_is_contradicted_with_its_angle() {
    let bytes = file("flight-delft-propeller/flight_test_50Hz.csv");
    let mut map = propose(&bytes).unwrap().map;
    map.entries.push(Entry::plain(Column::Header("theta_rad".into()), Q::Pitch, "rad"));
    let flaws = sense::check(&read_csv(&bytes, &map).unwrap());
    let told = flaws.iter().find(|f| f.place.starts_with("pitch")).unwrap_or_else(|| panic!("{flaws:#?}"));
    // In forward flight theta is about -90 deg (source notes), which plus 90 is an airplane's.
    assert!(told.what.contains("offset = 90"), "{}", told.what);
}
