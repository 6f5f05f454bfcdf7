//! Flights that others recorded and published: the wind that three ways agree on.

use std::path::PathBuf;

use fly::csv::read_csv;
use fly::map::ColumnMap;
use fly::merge::merge;
use fly::phases::PhaseKind;
use fly::recording::{Quantity, Recording};
use learn::findings::{Findings, Wind};
use learn::learn_in_phases;
use numerics::statistics::mean;

use crate::built::{aircraft, phase};

#[expect(clippy::disallowed_methods, reason = "reference data lies in files")]
fn text(path: &str) -> String {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../../reference").join(path);
    std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

/// Reads a file of plain columns: (header, quantity word, unit).
fn read(path: &str, columns: &[(&str, &str, &str)]) -> Recording {
    let mut map = String::from(
        "format = 1\ndelimiter = \",\"\nheader_lines = 1\n\n[time]\ncolumn = \"t_s\"\nunit = \"s\"\n",
    );
    for (column, quantity, unit) in columns {
        map +=
            &format!("\n[[channel]]\ncolumn = \"{column}\"\nquantity = \"{quantity}\"\nunit = \"{unit}\"\n");
    }
    let map = ColumnMap::from_toml(&map).unwrap_or_else(|faults| panic!("{faults:?}"));
    read_csv(text(path).as_bytes(), &map).unwrap_or_else(|e| panic!("{path}: {e:?}"))
}

/// The recording between two times.
fn between(recording: &Recording, from_s: f64, to_s: f64) -> Recording {
    let mut cut = recording.clone();
    for c in &mut cut.channels {
        let kept: Vec<usize> =
            (0..c.time_s.len()).filter(|i| (from_s..to_s).contains(&c.time_s[*i])).collect();
        c.values = kept.iter().map(|i| c.values[*i]).collect();
        c.time_s = std::sync::Arc::new(kept.iter().map(|i| c.time_s[*i]).collect());
    }
    cut
}

fn all_in_the_air(recording: &Recording) -> Findings {
    let (from, to) = recording.span_s().unwrap();
    learn_in_phases(&aircraft(), None, recording, vec![phase(PhaseKind::Other, from, to)])
}

fn told(wind: &Wind) {
    println!(
        "{:.2} ± {:.2} m/s from {:.1} ± {:.1}, N {:.2} E {:.2}; factor {:?}; {}; {:?}",
        wind.speed_m_s.value,
        2.0 * wind.speed_m_s.sd,
        wind.from_deg.value,
        2.0 * wind.from_deg.sd,
        wind.velocity_m_s[0],
        wind.velocity_m_s[1],
        wind.airspeed_factor.as_ref().map(|f| (f.value, f.sd)),
        wind.speed_m_s.verdict,
        wind.triangle,
    );
}

/// The tail-sitter's flight without its heading, which is of no use in its steep turns.
fn tail_sitter() -> Recording {
    read(
        "flight-delft-propeller/flight_test_50Hz.csv",
        &[
            ("pitot_airspeed_m_s", "airspeed", "m/s"),
            ("v_north_m_s", "velocity-north", "m/s"),
            ("v_east_m_s", "velocity-east", "m/s"),
            ("v_down_m_s", "velocity-down", "m/s"),
        ],
    )
}

#[test]
fn a_tail_sitters_wind_and_sensor_factor_agree_with_an_independent_fit_and_over_both_halves() {
    // Source: TU Delft data (doi 10.4121/8bcecbac-5478-4595-b629-4378feac6dcb); the speed-magnitude fit was made in
    // numpy: wind towards -1.59 N +0.60 E m/s, factor 1.037, halves agreeing within 0.2 m/s. Not published values;
    // tolerances 0.3 m/s and 2 %.
    let recording = tail_sitter();
    let wind = all_in_the_air(&recording).wind.unwrap();
    told(&wind);
    let off = (wind.velocity_m_s[0] + 1.59).hypot(wind.velocity_m_s[1] - 0.60);
    assert!(off < 0.3, "{off}");
    let factor = wind.airspeed_factor.clone().unwrap();
    assert!((factor.value / 1.037 - 1.0).abs() < 0.02, "{factor:?}");
    assert!(wind.speed_m_s.enough && wind.from_deg.enough);

    let middle = 0.5 * (recording.span_s().unwrap().0 + recording.span_s().unwrap().1);
    let first = all_in_the_air(&between(&recording, 0.0, middle)).wind.unwrap();
    let second = all_in_the_air(&between(&recording, middle, 1e9)).wind.unwrap();
    told(&first);
    told(&second);
    let apart = (first.velocity_m_s[0] - second.velocity_m_s[0])
        .hypot(first.velocity_m_s[1] - second.velocity_m_s[1]);
    // Two tenths apart in the independent fit, plus the tolerance of each half.
    assert!(apart < 0.5, "{apart}");
    // And what the doubt says of both: the halves share the wind.
    let doubt = first.speed_m_s.sd.hypot(second.speed_m_s.sd);
    assert!(apart < 3.0 * doubt, "{apart} for {doubt}");
}

/// The 116 s before the engine was stopped.
fn guided() -> Recording {
    let dir = "flight-alfa-2018";
    let joined = merge(vec![
        read(&format!("{dir}/airspeed.csv"), &[("airspeed_m_s", "airspeed", "m/s")]),
        read(
            &format!("{dir}/gps_raw_velocity.csv"),
            &[("v_east_m_s", "velocity-east", "m/s"), ("v_north_m_s", "velocity-north", "m/s")],
        ),
        read(&format!("{dir}/yaw.csv"), &[("yaw_deg", "yaw", "deg")]),
        read(&format!("{dir}/pitch.csv"), &[("pitch_deg", "pitch", "deg")]),
        read(&format!("{dir}/roll.csv"), &[("roll_deg", "roll", "deg")]),
        read(&format!("{dir}/height.csv"), &[("height_above_home_m", "height", "m")]),
    ]);
    between(&joined, 0.0, 116.0)
}

#[test]
fn a_guided_flights_wind_agrees_with_what_it_found_on_board() {
    // Source: ALFA data set, Keipour et al., IJRR 40 (2021) 515, sequence carbonZ_2018-07-18-15-53-31_1. Three ways
    // (triangle and circle in numpy, and the aircraft's own estimate) give 1.7 to 2.1 m/s from 335 to 345 degrees;
    // tolerances 0.7 m/s and 25 degrees, as the flight is short and the air was not calm.
    let wind = all_in_the_air(&guided()).wind.unwrap();
    told(&wind);
    assert!((1.7 - 0.7..2.1 + 0.7).contains(&wind.speed_m_s.value));
    assert!((335.0 - 25.0..345.0 + 25.0).contains(&wind.from_deg.value), "{}", wind.from_deg.value);

    // The aircraft's own estimate (x east, y north, where it comes from), settled over the last 30 s before the stop.
    let rows: Vec<Vec<f64>> = text("flight-alfa-2018/onboard_wind.csv")
        .lines()
        .skip(1)
        .map(|l| l.split(',').map(|c| c.parse().unwrap()).collect())
        .filter(|r: &Vec<f64>| (86.0..116.0).contains(&r[0]))
        .collect();
    let east = -mean(&rows.iter().map(|r| r[1]).collect::<Vec<f64>>());
    let north = -mean(&rows.iter().map(|r| r[2]).collect::<Vec<f64>>());
    let off = (wind.velocity_m_s[0] - north).hypot(wind.velocity_m_s[1] - east);
    println!("on board: N {north:.2} E {east:.2}, {off:.2} m/s off");
    assert!(off < 0.7, "{off} m/s from N {north} E {east}");
}

#[test]
fn a_guided_flights_level_attitude_agrees_with_the_mean_of_its_own_channels() {
    // No published value. What the channels say without any fit: over the seconds of small bank, mean pitch less mean
    // path angle (height gained over distance flown). One is a mean, the other a regression to a reference speed: at
    // 15 to 17 m/s they are told to agree within a degree.
    let recording = guided();
    let roll = recording.channel(&Quantity::Roll).unwrap();
    let mut phases = Vec::new();
    let mut from: Option<f64> = None;
    for (t, r) in roll.time_s.iter().zip(&roll.values) {
        match (from, r.abs() < 0.17) {
            (None, true) => from = Some(*t),
            (Some(begin), false) => {
                if t - begin > 4.0 {
                    phases.push(phase(PhaseKind::Straight, begin, *t));
                }
                from = None;
            }
            _ => {}
        }
    }
    let mut file = aircraft();
    file.limits.cruise_m_s = None;
    let found = learn_in_phases(&file, None, &recording, phases.clone());
    let level = found.level_attitude.unwrap();
    println!(
        "level attitude {:.2} ± {:.2} deg at {:.1} m/s; {}",
        level.reading_deg.value,
        2.0 * level.reading_deg.sd,
        level.airspeed_m_s,
        level.reading_deg.verdict
    );
    let within = |q: &Quantity| {
        let c = recording.channel(q).unwrap();
        c.time_s
            .iter()
            .zip(&c.values)
            .filter(|(t, _)| phases.iter().any(|p| (p.window.from_s..p.window.to_s).contains(t)))
            .map(|(_, v)| *v)
            .collect::<Vec<f64>>()
    };
    let pitch = mean(&within(&Quantity::Pitch)).to_degrees();
    let speed = mean(&within(&Quantity::Airspeed));
    let height = recording.channel(&Quantity::Height).unwrap();
    let at = |t: f64| {
        let i = height.time_s.partition_point(|x| *x < t).min(height.values.len() - 1);
        height.values[i]
    };
    let gained: f64 = phases.iter().map(|p| at(p.window.to_s) - at(p.window.from_s)).sum();
    let time: f64 = phases.iter().map(|p| p.window.to_s - p.window.from_s).sum();
    let by_means = pitch - (gained / (time * speed)).asin().to_degrees();
    println!("by means of the channels {by_means:.2} deg over {time:.0} s");
    assert!((level.reading_deg.value - by_means).abs() < 1.0);
}

#[test]
fn the_glide_of_an_aircraft_whose_engine_was_stopped_has_the_sink_of_its_energy_height() {
    // Source: ALFA, as above; the engine stops at 116.9 s. An independent fit of energy height in numpy over 116.9 to
    // 131.4 s gives a sink of about 2.0 m/s at a mean of 12.6 m/s, a glide ratio of about 6; tolerance 20 %.
    let dir = "flight-alfa-2018";
    let joined = merge(vec![
        read(&format!("{dir}/airspeed.csv"), &[("airspeed_m_s", "airspeed", "m/s")]),
        read(
            &format!("{dir}/gps_raw_velocity.csv"),
            &[("v_east_m_s", "velocity-east", "m/s"), ("v_north_m_s", "velocity-north", "m/s")],
        ),
        read(&format!("{dir}/roll.csv"), &[("roll_deg", "roll", "deg")]),
        read(&format!("{dir}/height.csv"), &[("height_above_home_m", "height", "m")]),
    ]);
    let cut = between(&joined, 0.0, 131.4);
    let phases = vec![phase(PhaseKind::Other, 0.0, 115.4), phase(PhaseKind::Glide, 115.4, 131.4)];
    let found = learn_in_phases(&aircraft(), None, &cut, phases);
    let polar = found.answers.iter().find(|a| a.key == "polar").unwrap().told.as_ref().unwrap();
    let value = |key: &str| {
        let f =
            &polar.estimates.iter().find(|e| e.finding.parameter == format!("polar.{key}")).unwrap().finding;
        println!("{key} {:.2} ± {:.2}; {}", f.value, 2.0 * f.sd, f.verdict);
        f.value
    };
    assert!((value("sink_m_s") / 2.0 - 1.0).abs() < 0.2);
    assert!((value("glide_ratio") / 6.0 - 1.0).abs() < 0.2);
}

/// Places of an IGC file (FAI IGC specification, B records): latitude and longitude in degrees, altitude of the satellites.
fn igc(path: &str) -> Recording {
    let (mut time, mut latitude, mut longitude, mut altitude) = (vec![], vec![], vec![], vec![]);
    for line in text(path).lines().filter(|l| l.starts_with('B') && l.len() >= 35 && l.as_bytes()[24] == b'A')
    {
        let number = |range: std::ops::Range<usize>| line[range].parse::<f64>().unwrap();
        time.push(3600.0 * number(1..3) + 60.0 * number(3..5) + number(5..7));
        let north = number(7..9) + number(9..14) / 60_000.0;
        let east = number(15..18) + number(18..23) / 60_000.0;
        latitude.push(if &line[14..15] == "S" { -north } else { north });
        longitude.push(if &line[23..24] == "W" { -east } else { east });
        altitude.push(number(30..35));
    }
    let shared = std::sync::Arc::new(time);
    let mut recording = crate::built::recording(vec![
        crate::built::channel(Quantity::Latitude, &shared, latitude),
        crate::built::channel(Quantity::Longitude, &shared, longitude),
        crate::built::channel(Quantity::Altitude, &shared, altitude),
    ]);
    let derived = fly::derive::derived(&recording);
    recording.channels.extend(derived);
    recording
}

#[test]
fn the_wind_that_drifts_a_gliders_circles_agrees_with_circle_fits() {
    // Source: reference/circling-glider: circle fits in numpy over the climbs of more than 90 s and 3 circles: median from
    // 301 degrees at 4.7 m/s (281 to 312, 3.2 to 7.2). Tolerances 10 degrees and 0.7 m/s: fixes are 2 s apart.
    let recording = igc("circling-glider/glider_2s.igc");
    let circling: Vec<_> = fly::phases::turning_windows(&recording, 6.0 * std::f64::consts::PI)
        .into_iter()
        .filter(|t| t.window.to_s - t.window.from_s > 90.0)
        .collect();
    assert!(circling.len() >= 8, "{}", circling.len());
    let mut winds = Vec::new();
    for turning in &circling {
        let w = turning.window;
        let cut = between(&recording, w.from_s - 5.0, w.to_s + 5.0);
        let found = learn_in_phases(&aircraft(), None, &cut, vec![phase(PhaseKind::Turn, w.from_s, w.to_s)]);
        if let Ok(wind) = &found.wind {
            told(wind);
            winds.push(wind.velocity_m_s);
        }
    }
    let median = |k: usize| numerics::statistics::median(&winds.iter().map(|w| w[k]).collect::<Vec<f64>>());
    let (north, east) = (median(0), median(1));
    let from = (-east).atan2(-north).to_degrees().rem_euclid(360.0);
    println!("{} climbs: {:.1} m/s from {from:.0}", winds.len(), north.hypot(east));
    assert!((north.hypot(east) - 4.7).abs() < 0.7);
    assert!((from - 301.0).abs() < 10.0);
}
