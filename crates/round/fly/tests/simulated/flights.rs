//! Whole flights.

use aircraft::movable::{Mix, Movable, Servo};
use fly::recording::Quantity;
use fly::simulated::{Script, fly};
use numerics::units::{DEG_PER_RAD, RAD_PER_DEG};

use crate::{between, check, flown, mean, model, when};

const CIRCUIT: &str = r#"
seed = 7
log_hz = 50
[wind]
speed_m_s = 4.0
from_deg = 240
roughness_m = 0.03
gust_intensity = 0.06
[hidden]
mounting_pitch_deg = 2.0
mounting_roll_deg = -0.8
[[hidden.offset]]
movable = "elevator"
deg = 1.5
[[hidden.offset]]
movable = "aileron"
side = "right"
deg = 2.0
[[hidden.offset]]
movable = "rudder"
deg = -1.5
[[step]]
do = "launch"
acts = "level"
[[step]]
do = "climb"
height_m = 60
[[step]]
do = "straight"
acts = "direct"
heading_deg = 240
seconds = 25
[[step]]
do = "turn"
bank_deg = 30
degrees = 180
side = "left"
[[step]]
do = "straight"
acts = "direct"
seconds = 25
[[step]]
do = "turn"
acts = "rate"
bank_deg = 35
degrees = 180
side = "left"
[[step]]
do = "input"
acts = "direct"
axis = "roll"
kind = "doublet"
[[step]]
do = "glide"
acts = "direct"
seconds = 8
[[step]]
do = "climb"
height_m = 70
[[step]]
do = "stall"
acts = "direct"
[[step]]
do = "return"
[[step]]
do = "approach"
[[step]]
do = "land"
"#;

/// Still air, no noise, up to 50 m, then the steps that follow.
const STILL: &str = r#"
log_hz = 50
[sensors]
noise = 0.0
gps_delay_s = 0.0
[pilot]
noise = 0.0
[[step]]
do = "launch"
heading_deg = 0
[[step]]
do = "climb"
height_m = 50
heading_deg = 0
"#;

#[test]
fn a_circuit_is_flown_and_landed() {
    let flight = flown(CIRCUIT);
    assert!(flight.truth.landed, "{}", flight.truth_toml());
    assert!(when(&flight, "stalled", 0) > when(&flight, "stall", 0));
    // The pilot keeps height and speed while flying straight.
    let from = when(&flight, "straight", 0);
    for height in between(&flight, &Quantity::Height, from + 5.0, from + 25.0) {
        check("height", height, 60.0, 3.0);
    }
    check("mean airspeed", flight.truth.mean_airspeed_m_s, 13.0, 0.3);
    // It comes down and stays there.
    let end = flight.truth.events.last().unwrap().time_s;
    check("height at the end", mean(&flight, &Quantity::Height, end + 3.0, end + 60.0), 0.0, 0.5);
}

#[test]
fn the_same_seed_gives_the_same_bytes_and_another_does_not() {
    let text = flown(CIRCUIT).to_csv();
    assert!(text == flown(CIRCUIT).to_csv());
    assert!(text != flown(&CIRCUIT.replace("seed = 7", "seed = 8")).to_csv());
}

#[test]
fn ground_velocity_is_air_velocity_plus_wind() {
    // Straight north with 5 m/s from the west: the nose stays north, the course drifts to the right by
    // atan(5/13), the ground speed is hypot(13, 5).
    let script = format!(
        "{STILL}[wind]\nspeed_m_s = 5\nfrom_deg = 270\n[[step]]\ndo = \"straight\"\nheading_deg = 0\nseconds = 30\n"
    );
    let flight = flown(&script);
    let from = when(&flight, "straight", 0) + 15.0;
    let over = |q: Quantity| mean(&flight, &q, from, from + 14.0);
    check("heading", over(Quantity::Yaw).sin(), 0.0, 0.01);
    let airspeed = over(Quantity::Airspeed);
    check("north", over(Quantity::VelocityNorth), airspeed, 0.05);
    check("east", over(Quantity::VelocityEast), 5.0, 0.1);
    check("ground speed", over(Quantity::GroundSpeed), airspeed.hypot(5.0), 0.1);
    check("course", over(Quantity::Course), (5.0_f64 / airspeed).atan(), 0.02);
    assert!((flight.truth.wind_speed_m_s - 5.0).abs() < 1e-9);
    // Positions are the sum of velocities.
    let north = between(&flight, &Quantity::Latitude, from, from + 14.0);
    let way = (north.last().unwrap() - north[0]) * 111_267.0;
    let time = (north.len() - 1) as f64 * 0.2;
    check("way north", way / time, airspeed, 0.1);
}

#[test]
fn trims_of_the_solver_hold_level_flight_hands_off() {
    // With the servo centres at the true pulses and the mounting angle corrected by the truth, a second flight needs
    // nothing any more: its own truth says zero, and in level with the stick centred height holds.
    let hidden = r#"
[hidden]
mounting_pitch_deg = 3.0
mounting_roll_deg = 1.0
linkage_us = 1500
[[hidden.offset]]
movable = "elevator"
deg = -2.0
[[hidden.offset]]
movable = "aileron"
side = "right"
deg = 2.5
[[hidden.offset]]
movable = "rudder"
deg = 2.0
"#;
    let direct = format!(
        "{STILL}{hidden}[[step]]\ndo = \"straight\"\nacts = \"direct\"\nheading_deg = 0\nseconds = 40\n"
    );
    let first = flown(&direct);
    // The pilot in direct finds the same pulses by holding the sticks.
    let from = when(&first, "straight", 0) + 25.0;
    for trim in &first.truth.trims {
        let held = mean(&first, &Quantity::Servo(trim.channel.clone()), from, from + 15.0);
        // A tenth of a degree: 2 µs; the pilot still creeps.
        check(&trim.channel, held, trim.pulse_us, 4.0);
        assert!(trim.us_from_centre.abs() > 10.0, "{trim:?}");
    }
    let mut better = model::aircraft();
    for movable in &mut better.movables {
        for servo in [Some(&mut movable.servo), movable.servo_left.as_mut()].into_iter().flatten() {
            let trims = &first.truth.trims;
            let found = trims.iter().find(|t| t.channel == servo.channel).unwrap();
            servo.centre_us = found.pulse_us;
        }
    }
    better.controller.mounting_pitch_rad.value += first.truth.level_correction_rad;
    better.controller.mounting_roll_rad.value += first.truth.roll_correction_rad;
    let hands_off = format!(
        "{STILL}{hidden}[[step]]\ndo = \"straight\"\nheading_deg = 0\nseconds = 10\n[[step]]\ndo = \"straight\"\nhold = \"stick\"\nthrottle_percent = {}\nseconds = 40\n",
        100.0 * first.truth.level_throttle
    );
    let script = Script::read(&hands_off).unwrap();
    let second = fly(&better, &model::force_model(), &script).unwrap();
    for trim in &second.truth.trims {
        check(&trim.channel, trim.us_from_centre, 0.0, 0.5);
    }
    check("correction left, deg", second.truth.level_correction_rad * DEG_PER_RAD, 0.0, 0.05);
    let from = when(&second, "straight", 1) + 20.0;
    let climb = -mean(&second, &Quantity::VelocityDown, from, from + 20.0);
    check("climb with the stick centred", climb, 0.0, 0.1);
    check("pitch read", mean(&second, &Quantity::Pitch, from, from + 20.0), 0.0, 0.003);
    check("roll read", mean(&second, &Quantity::Roll, from, from + 20.0), 0.0, 0.003);
}

#[test]
fn the_controller_reads_what_it_really_sits_at_less_what_is_set() {
    let level = format!("{STILL}[[step]]\ndo = \"straight\"\nheading_deg = 0\nseconds = 30\n");
    let tilted = level.replace("[sensors]", "[hidden]\nmounting_pitch_deg = 4\n[sensors]");
    let pitch = |text: &str, set_deg: f64| {
        let mut aircraft = model::aircraft();
        aircraft.controller.mounting_pitch_rad.value = set_deg * RAD_PER_DEG;
        let script = Script::read(text).unwrap();
        let flight = fly(&aircraft, &model::force_model(), &script).unwrap();
        let from = when(&flight, "straight", 0) + 15.0;
        let read = mean(&flight, &Quantity::Pitch, from, from + 14.0);
        check("truth", read, flight.truth.level_correction_rad, 0.004);
        read * DEG_PER_RAD
    };
    let plain = pitch(&level, 0.0);
    check("sits nose up", pitch(&tilted, 0.0) - plain, 4.0, 0.2);
    check("set to subtract it", pitch(&tilted, 4.0) - plain, 0.0, 0.2);
}

#[test]
fn a_turn_flown_has_the_rate_of_its_bank() {
    // g tan(30°)/13 = 24.95 deg/s; the bank is about the body's axis and the pilot keeps it within a degree or two.
    let script = format!("{STILL}[[step]]\ndo = \"turn\"\nbank_deg = 30\ndegrees = 720\nside = \"right\"\n");
    let flight = flown(&script);
    let from = when(&flight, "turn", 0) + 6.0;
    let bank = mean(&flight, &Quantity::Roll, from, from + 14.0);
    let speed = mean(&flight, &Quantity::Airspeed, from, from + 14.0);
    let pitch = mean(&flight, &Quantity::Pitch, from, from + 14.0);
    let yaw = mean(&flight, &Quantity::YawRate, from, from + 14.0);
    check("bank", bank * DEG_PER_RAD, 30.0, 3.0);
    // Yaw rate in the body is the rate of turn times cos(bank) cos(pitch).
    let turn = numerics::units::G_M_S2 * bank.tan() / speed * bank.cos() * pitch.cos();
    check("yaw rate", yaw, turn, 0.03 * turn);
    let load = -mean(&flight, &Quantity::ForceZ, from, from + 14.0);
    check("load", load, 9.806_65 / bank.cos(), 0.3);
}

#[test]
fn every_way_of_acting_can_land() {
    for acts in ["direct", "rate", "level"] {
        let script = CIRCUIT
            .replace("acts = \"direct\"\n", "")
            .replace("acts = \"rate\"\n", "")
            .replace("acts = \"level\"\n", "")
            .replace("[[step]]\n", &format!("[[step]]\nacts = \"{acts}\"\n"));
        let flight = flown(&script);
        assert!(flight.truth.landed, "{acts}: {}", flight.truth_toml());
        let recording = flight.recording();
        for channel in &recording.channels {
            let finite = channel.values.iter().filter(|v| v.is_finite()).count();
            assert!(finite > 0, "{acts}: {:?}", channel.quantity);
        }
    }
}

#[test]
fn a_glider_is_thrown_and_lands() {
    let mut aircraft = model::aircraft();
    aircraft.drive = None;
    let mut forces = model::force_model();
    forces.thrust = None;
    let script = Script::read(
        "[[step]]\ndo = \"launch\"\nspeed_m_s = 13\nelevation_deg = 0\n[[step]]\ndo = \"land\"\n",
    )
    .unwrap();
    let flight = fly(&aircraft, &forces, &script).unwrap();
    assert!(flight.truth.landed);
    let (from, to) = (when(&flight, "release", 0), when(&flight, "touchdown", 0));
    // From 1.8 m at a lift-to-drag ratio of some 10, and some speed to spend: longer than the 0.6 s of a free fall,
    // shorter than a quarter of a minute.
    assert!((1.0..15.0).contains(&(to - from)), "{from} {to}");
}

/// A pair of panels on a surface that answers two demands, half its throw for each.
fn pair(like: &Movable, name: &str, surface: usize, mix: Mix) -> Movable {
    let mut movable = like.clone();
    movable.name = name.into();
    movable.surface = surface;
    movable.mix = mix;
    movable
}

#[test]
fn elevons_and_a_v_tail_fly_the_circuit_and_hide_their_offsets() {
    let both = |roll, yaw| Mix { roll, pitch: 0.5, yaw, flap: 0.0 };
    let mut elevons = model::aircraft();
    let elevon = pair(&elevons.movables[0], "elevon", 0, both(0.5, 0.0));
    elevons.movables = vec![elevon];
    let mut v_tail = model::aircraft();
    // Panels at 45 degrees on the tail.
    for station in &mut v_tail.surfaces[1].stations {
        station.leading_edge_m.z += station.along_m;
    }
    let aileron = v_tail.movables[0].clone();
    let tail = pair(&aileron, "ruddervator", 1, both(0.0, 0.5));
    let tail = Movable {
        inner_m: 0.0,
        outer_m: 0.26,
        servo: Servo { channel: "tail right".into(), ..tail.servo },
        servo_left: tail.servo_left.map(|s| Servo { channel: "tail left".into(), ..s }),
        ..tail
    };
    v_tail.movables = vec![aileron, tail];
    for (aircraft, name) in [(elevons, "elevon"), (v_tail, "ruddervator")] {
        let own = format!("[[hidden.offset]]\nmovable = \"{name}\"\nside = \"left\"\ndeg = 2.0\n");
        let others = CIRCUIT.find("[[hidden.offset]]").unwrap();
        let steps = CIRCUIT.find("[[step]]").unwrap();
        let text = format!("{}{own}{}", &CIRCUIT[..others], &CIRCUIT[steps..]);
        let flight = fly(&aircraft, &model::force_model(), &Script::read(&text).unwrap()).unwrap();
        assert!(flight.truth.landed, "{name}: {}", flight.truth_toml());
        let from = when(&flight, "straight", 0) + 12.0;
        for trim in &flight.truth.trims {
            let held = mean(&flight, &Quantity::Servo(trim.channel.clone()), from, from + 13.0);
            // In gusty air over 13 s: half a degree.
            check(&trim.channel, held, trim.pulse_us, 10.0);
        }
    }
}
