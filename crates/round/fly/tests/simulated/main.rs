//! The simulated flight against closed forms, its own truth, and the signs of `numerics::frames`.

mod model;

use fly::simulated::{Flight, Script, fly};

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
seconds = 20
[[step]]
do = "turn"
bank_deg = 30
degrees = 180
side = "left"
[[step]]
do = "straight"
acts = "direct"
seconds = 20
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
do = "return"
[[step]]
do = "approach"
[[step]]
do = "land"
"#;

fn flown(text: &str) -> Flight {
    let script = Script::read(text).unwrap_or_else(|e| panic!("{e:?}"));
    fly(&model::aircraft(), &model::force_model(), &script).expect("flies")
}

#[test]
fn a_circuit_is_flown_and_landed() {
    let flight = flown(CIRCUIT);
    if let Ok(dir) = std::env::var("FLIGHT_OUT") {
        std::fs::write(format!("{dir}/circuit.csv"), flight.to_csv()).unwrap();
        std::fs::write(format!("{dir}/circuit.toml"), flight.truth_toml()).unwrap();
    }
    assert!(flight.truth.landed, "{}", flight.truth_toml());
}
