//! An invented flight with invented findings, to try pages on.

use std::sync::Arc;

use aircraft::finding::{Change, Finding, Window};
use fly::phases::{Phase, PhaseKind};
use fly::recording::{Channel, Flaw, FlawKind, Quantity, Recording};
use learn::answers::{Answer, Estimate, Evidence, Told};
use learn::findings::{Findings, LevelAttitude, NotLearnt, Trim, Wind};
use learn::handling::Handling;
use numerics::geodesy::LocalPlane;
use numerics::uncertain::Uncertain;

/// A wobble that repeats itself each time, in place of noise.
fn wobble(i: usize) -> f64 {
    (i as f64 * 12.9898).sin() * 0.7 + (i as f64 * 4.1).cos() * 0.5
}

pub(crate) fn recording() -> Recording {
    let time: Vec<f64> = (0..3000).map(|i| f64::from(i) * 0.1).collect();
    let plane = LocalPlane::at(51.0, 7.0);
    let (mut north, mut east) = (0.0, 0.0);
    let (mut latitude, mut longitude, mut height) = (vec![], vec![], vec![]);
    for t in &time {
        let flying = (8.0..286.0).contains(t);
        let heading =
            if (90.0..150.0).contains(t) { (t - 90.0) * 0.35 } else { 0.9 * (t / 32.0).floor() * 1.57 };
        if flying {
            north += 0.1 * (12.5 * heading.cos() + 1.5);
            east += 0.1 * (12.5 * heading.sin() + 2.6);
        }
        let (a, b) = plane.latitude_longitude_deg(north, east);
        latitude.push(a);
        longitude.push(b);
        let up = ((t - 8.0) * 3.0).clamp(0.0, 70.0);
        let down = ((286.0 - t) * 2.4).clamp(0.0, 70.0);
        height.push(up.min(down) + if flying { 2.5 * (t * 0.21).sin() } else { 0.0 });
    }
    let time = Arc::new(time);
    let channel = |quantity, source: &str, values| Channel {
        quantity,
        source: source.to_owned(),
        time_s: Arc::clone(&time),
        values,
    };
    Recording {
        channels: vec![
            channel(Quantity::Latitude, "lat", latitude),
            channel(Quantity::Longitude, "lon", longitude),
            channel(Quantity::Height, "height", height),
        ],
        flaws: vec![
            Flaw {
                kind: FlawKind::Gap,
                place: "second 151.2".to_owned(),
                what: "a hole of 1.4 s; nothing was filled in".to_owned(),
            },
            Flaw {
                kind: FlawKind::Truncated,
                place: "row 3001".to_owned(),
                what: "the last line ends in the middle and was left out".to_owned(),
            },
        ],
        rows: 3000,
        unused_columns: vec!["rssi".to_owned()],
        ..Recording::default()
    }
}

fn finding(parameter: &str, value: f64, sd: f64, enough: bool, verdict: &str) -> Finding {
    Finding {
        parameter: parameter.to_owned(),
        value,
        sd,
        evidence: vec![window(92.0, 120.0), window(120.0, 148.0)],
        enough,
        verdict: verdict.to_owned(),
    }
}

fn window(from_s: f64, to_s: f64) -> Window {
    Window { from_s, to_s }
}

/// An answer with its evidence, as the further questions tell theirs.
fn answer() -> Answer {
    let line: Vec<[f64; 2]> = (0..10).map(|i| [f64::from(i), 12.4 - 0.03 * f64::from(i)]).collect();
    Answer {
        key: "battery",
        title: "Battery",
        told: Ok(Told {
            estimates: vec![Estimate {
                words: "resistance of the pack with its leads".to_owned(),
                unit: "ohm",
                finding: finding(
                    "battery.resistance_ohm",
                    0.03,
                    0.002,
                    true,
                    "200 s with currents of 1 to 20 A.",
                ),
                predicted: Some(Uncertain::new(0.025, 0.005)),
            }],
            evidence: vec![Evidence {
                title: "Voltage over current".to_owned(),
                what: "The slope is the resistance.".to_owned(),
                x: "Pack current, A".to_owned(),
                y: "Voltage of a full pack, V".to_owned(),
                data: line.clone(),
                doubt: vec![0.05; line.len()],
                residuals: line.iter().map(|p| [p[0], 0.02 * wobble(p[0] as usize)]).collect(),
                fit: line,
                mark: None,
            }],
            sentences: vec!["40 % of the pack was used.".to_owned()],
        }),
    }
}

pub(crate) fn findings() -> Findings {
    let phase = |kind, from_s, to_s, confidence| Phase { kind, window: window(from_s, to_s), confidence };
    let trim = |surface: &str, channel: &str, path: &str, us: f64, enough| Trim {
        surface: surface.to_owned(),
        channel: channel.to_owned(),
        path: path.to_owned(),
        us: finding("trims", us, 1.6, enough, "9 straight windows on 4 headings, spread 5 µs."),
        deg: finding("trims", us * 0.045, 0.08, enough, ""),
        mm: finding("trims", us * 0.05, 0.09, enough, ""),
        clevis_turns: Some(us.abs() / 60.0),
        points_us: (0..9).map(|i| 1500.0 + us + 4.0 * wobble(i)).collect(),
        evidence: vec![window(60.0, 70.0)],
    };
    Findings {
        handling: Handling::none(&NotLearnt::NotExcited { why: "no stick was moved on purpose".to_owned() }),
        phases: vec![
            phase(PhaseKind::Ground, 0.0, 8.0, 1.0),
            phase(PhaseKind::Launch, 8.0, 12.0, 0.9),
            phase(PhaseKind::Climb, 12.0, 32.0, 0.95),
            phase(PhaseKind::Straight, 34.0, 62.0, 0.9),
            phase(PhaseKind::Turn, 62.0, 66.0, 0.6),
            phase(PhaseKind::Straight, 66.0, 89.0, 0.9),
            phase(PhaseKind::Turn, 90.0, 150.0, 1.0),
            phase(PhaseKind::Straight, 152.0, 190.0, 0.9),
            phase(PhaseKind::Other, 190.0, 200.0, 0.4),
            phase(PhaseKind::Glide, 200.0, 216.0, 0.8),
            phase(PhaseKind::Straight, 218.0, 250.0, 0.9),
            phase(PhaseKind::Landing, 258.0, 286.0, 0.9),
            phase(PhaseKind::Ground, 286.0, 300.0, 1.0),
        ],
        wind: Ok(Wind {
            speed_m_s: finding(
                "wind.speed_m_s",
                3.02,
                0.12,
                true,
                "Two full circles, 17 s each, airspeed steady within 0.4 m/s.",
            ),
            from_deg: finding("wind.from_deg", 240.3, 2.6, true, ""),
            airspeed_m_s: finding("wind.airspeed_m_s", 12.6, 0.1, true, ""),
            airspeed_factor: Some(finding("wind.airspeed_factor", 1.04, 0.012, true, "")),
            ground_velocity_m_s: (0..120)
                .map(|i| {
                    let a = i as f64 * 0.105;
                    let r = 12.6 + 0.35 * wobble(i);
                    [1.5 + r * a.cos(), 2.6 + r * a.sin()]
                })
                .collect(),
            velocity_m_s: [1.5, 2.6],
            height_m: Some(66.0),
            change_with_height_per_s: None,
            gust_m_s: 0.5,
            gust_s: 8.0,
            triangle: None,
        }),
        level_attitude: Ok(LevelAttitude {
            reading_deg: finding("level_attitude.reading_deg", 2.4, 0.18, true, ""),
            correction_deg: finding(
                "level_attitude.correction_deg",
                2.4,
                0.18,
                true,
                "11 windows on 4 headings, pitch from 0.4° to 4.6°.",
            ),
            airspeed_m_s: 12.6,
            points: (0..11)
                .map(|i| {
                    let pitch = 0.4 + 0.42 * i as f64;
                    [pitch, 0.21 * (pitch - 2.4) + 0.08 * wobble(i), 12.6, 0.52]
                })
                .collect(),
        }),
        trims: Ok(vec![
            trim("aileron, right", "servo 1", "movable.aileron.servo", 14.0, true),
            trim("elevator", "servo 3", "movable.elevator.servo", -22.0, true),
            trim("rudder", "servo 4", "movable.rudder.servo", 3.0, false),
        ]),
        remarks: vec!["the flight went 12 m above the height limit in the file, 120 m".to_owned()],
        answers: vec![answer()],
        changes: vec![
            Change {
                path: "controller.mounting_pitch_deg".to_owned(),
                from: Some(0.0),
                to: 2.4,
                sd: 0.18,
                unit: "deg".to_owned(),
                why: "Height held when the controller read 2.4°, so it should subtract that much more."
                    .to_owned(),
                held_back: None,
            },
            Change {
                path: "movable.elevator.servo.centre_us".to_owned(),
                from: Some(1500.0),
                to: 1478.0,
                sd: 1.6,
                unit: "us".to_owned(),
                why: "Mean of 9 straight windows at 12.6 m/s.".to_owned(),
                held_back: None,
            },
            Change {
                path: "movable.rudder.servo.centre_us".to_owned(),
                from: Some(1500.0),
                to: 1503.0,
                sd: 1.6,
                unit: "us".to_owned(),
                why: "Mean of 9 straight windows at 12.6 m/s.".to_owned(),
                held_back: Some("3 µs is within its own doubt of 3.2 µs.".to_owned()),
            },
        ],
    }
}
