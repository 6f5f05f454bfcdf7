//! Each sign of `numerics::frames` as the log shows it: what a stick, a bank, a climb look like.

use fly::recording::Quantity;
use fly::simulated::Flight;

use crate::{between, check, flown, mean, when};

/// A step of one stick by 20 % in direct, still air, no noise.
fn stepped(axis: &str) -> (Flight, f64) {
    let flight = flown(&format!(
        r#"
[sensors]
noise = 0.0
gps_delay_s = 0.0
gps_hz = 50
[pilot]
noise = 0.0
[[step]]
do = "launch"
[[step]]
do = "climb"
height_m = 60
[[step]]
do = "straight"
acts = "direct"
seconds = 20
[[step]]
do = "input"
acts = "direct"
axis = "{axis}"
kind = "step"
size_percent = 20
seconds = 0.5
"#
    ));
    let at = when(&flight, "input", 0);
    (flight, at)
}

/// Change of a quantity over the half second of the step.
#[track_caller]
fn change(flight: &Flight, quantity: Quantity, at_s: f64) -> f64 {
    mean(flight, &quantity, at_s + 0.35, at_s + 0.55) - mean(flight, &quantity, at_s - 0.2, at_s)
}

fn servo(name: &str) -> Quantity {
    Quantity::Servo(name.into())
}

#[test]
fn stick_right_lowers_the_right_wing() {
    let (flight, at) = stepped("roll");
    check("stick", change(&flight, Quantity::StickRoll, at), 0.2, 0.02);
    assert!(change(&flight, Quantity::RollRate, at) > 0.2);
    assert!(change(&flight, Quantity::Roll, at) > 0.05);
    // The right aileron goes up: a shorter pulse; the left one down: shorter too, for its servo is reversed.
    assert!(change(&flight, servo("aileron right"), at) < -40.0);
    assert!(change(&flight, servo("aileron left"), at) < -40.0);
}

#[test]
fn stick_back_raises_the_nose_and_the_load() {
    let (flight, at) = stepped("pitch");
    assert!(change(&flight, Quantity::PitchRate, at) > 0.1);
    assert!(change(&flight, Quantity::Pitch, at) > 0.03);
    assert!(change(&flight, Quantity::ForceZ, at) < -1.0);
    assert!(change(&flight, servo("elevator"), at) < -40.0);
}

#[test]
fn rudder_right_turns_the_nose_right() {
    let (flight, at) = stepped("yaw");
    assert!(change(&flight, Quantity::YawRate, at) > 0.05);
    // The panel's normal points left, so its trailing edge to the right is positive: a longer pulse.
    assert!(change(&flight, servo("rudder"), at) > 40.0);
}

#[test]
fn level_flight_reads_minus_one_gravity_downward_and_climbs_have_negative_velocity_down() {
    let (flight, at) = stepped("roll");
    let from = at - 10.0;
    check("force z", mean(&flight, &Quantity::ForceZ, from, at), -9.8, 0.15);
    check("force y", mean(&flight, &Quantity::ForceY, from, at), 0.0, 0.1);
    let climb = when(&flight, "climb", 0) + 4.0;
    let down = mean(&flight, &Quantity::VelocityDown, climb, climb + 3.0);
    let heights = between(&flight, &Quantity::Height, climb, climb + 3.0);
    let rise = (heights.last().unwrap() - heights[0]) / 2.98;
    check("climb", -down, rise, 0.05);
    assert!(rise > 1.0 && mean(&flight, &Quantity::Pitch, climb, climb + 3.0) > 0.05);
}

#[test]
fn a_right_turn_goes_clockwise_with_the_right_wing_down() {
    let flight = flown(
        "[sensors]\nnoise = 0.0\n[[step]]\ndo = \"launch\"\nheading_deg = 10\n[[step]]\ndo = \"climb\"\nheight_m = 40\n[[step]]\ndo = \"turn\"\nbank_deg = 25\ndegrees = 90\nside = \"right\"\n",
    );
    let from = when(&flight, "turn", 0) + 1.5;
    assert!(mean(&flight, &Quantity::Roll, from, from + 1.0) > 0.3);
    assert!(mean(&flight, &Quantity::YawRate, from, from + 1.0) > 0.2);
    let heading = between(&flight, &Quantity::Yaw, from, from + 1.0);
    assert!(heading.last().unwrap() > &heading[0]);
    let course = between(&flight, &Quantity::Course, from, from + 1.0);
    assert!(course.last().unwrap() > &course[0]);
}
