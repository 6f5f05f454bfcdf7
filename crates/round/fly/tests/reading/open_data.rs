//! Recordings of real aircraft, read without editing. Sources: reference/flight-alfa-2018/SOURCE.toml and
//! reference/flight-delft-propeller/SOURCE.toml, with quantities, units and signs as the notes there give them.

use std::path::PathBuf;

use fly::csv::read_csv;
use fly::propose::{Proposal, propose};

fn file(name: &str) -> Vec<u8> {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../../reference").join(name);
    std::fs::read(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

#[test]
fn show_all() {
    for name in [
        "airspeed",
        "battery",
        "fault_flag",
        "gps_filtered",
        "gps_raw_fix",
        "gps_raw_velocity",
        "height",
        "hud",
        "imu_attitude",
        "imu_raw",
        "mag_raw",
        "mode",
        "onboard_wind",
        "pitch",
        "rc_in",
        "roll",
        "servo_out",
        "static_pressure",
        "velocity_nav",
        "yaw",
    ] {
        println!("=== {name}");
        let b = file(&format!("flight-alfa-2018/{name}.csv"));
        match propose(&b) {
            Ok(p) => show(&p, &b),
            Err(e) => println!("NOT {e}"),
        }
    }
    let b = file("flight-delft-propeller/flight_test_50Hz.csv");
    show(&propose(&b).unwrap(), &b);
}
fn show(p: &Proposal, b: &[u8]) {
    for e in &p.evidence {
        println!("  {} = {} ({:.2}): {}", e.column, e.quantity, e.sure, e.why);
    }
    for d in &p.doubts {
        println!("  ? {d}");
    }
    let r = read_csv(b, &p.map).unwrap();
    println!("  rows {} flaws {:?}", r.rows, r.flaws);
}
