//! Phases, throw and touch-down of simulated flights against what the script did and when it happened.

use fly::phases::{self, PhaseKind as K};
use fly::recording::Quantity;

use crate::{flown, when};

const FLIGHT: &str = r#"
seed = 5
log_hz = 100
[wind]
speed_m_s = 3.0
from_deg = 250
gust_intensity = 0.06
[[step]]
do = "launch"
acts = "level"
ground_s = 4
[[step]]
do = "climb"
acts = "level"
height_m = 80
[[step]]
do = "straight"
acts = "level"
seconds = 20
[[step]]
do = "turn"
acts = "level"
bank_deg = 30
degrees = 360
side = "right"
[[step]]
do = "return"
acts = "level"
[[step]]
do = "approach"
acts = "level"
[[step]]
do = "land"
acts = "level"
"#;

#[test]
fn the_phases_of_a_flight_are_those_that_were_flown() {
    let flight = flown(FLIGHT);
    let recording = flight.recording();
    let found = phases::find(&recording);
    let at = |t: f64| found.iter().find(|p| p.window.from_s <= t && t < p.window.to_s).map(|p| p.kind);
    let release = when(&flight, "release", 0);
    assert_eq!(at(release - 1.5), Some(K::Ground), "{found:#?}");
    assert_eq!(at(release + 1.0), Some(K::Launch), "{found:#?}");
    assert_eq!(at(when(&flight, "climb", 0) + 4.0), Some(K::Climb), "{found:#?}");
    assert_eq!(at(when(&flight, "straight", 0) + 15.0), Some(K::Straight), "{found:#?}");
    assert_eq!(at(when(&flight, "turn", 0) + 8.0), Some(K::Turn), "{found:#?}");
    let touched = when(&flight, "touchdown", 0);
    assert_eq!(at(touched - 1.0), Some(K::Landing), "{found:#?}");
    assert!(found.iter().any(|p| p.kind == K::Approach && p.window.to_s > touched - 20.0), "{found:#?}");
    assert!(!found.iter().any(|p| p.kind == K::Impact), "{found:#?}");
    assert!(!found.iter().any(|p| p.kind == K::Stall), "{found:#?}");
    assert!(found.windows(2).all(|w| (w[0].window.to_s - w[1].window.from_s).abs() < 1e-9));
}

#[test]
fn a_stall_is_told_where_the_wing_lets_go() {
    let flight = flown(
        "seed = 5\nlog_hz = 100\n[[step]]\ndo = \"launch\"\nacts = \"level\"\n[[step]]\ndo = \"climb\"\nacts = \"level\"\n\
         height_m = 110\n[[step]]\ndo = \"straight\"\nacts = \"level\"\nseconds = 20\n[[step]]\ndo = \"stall\"\nacts = \"direct\"\n\
         seconds = 25\n[[step]]\ndo = \"straight\"\nacts = \"level\"\nseconds = 10\n",
    );
    let found = phases::find(&flight.recording());
    let stalled = when(&flight, "stalled", 0);
    let at = found.iter().find(|p| p.window.from_s <= stalled && stalled < p.window.to_s);
    assert_eq!(at.map(|p| p.kind), Some(K::Stall), "stalled at {stalled}: {found:#?}");
    assert!(!found.iter().any(|p| p.kind == K::Stall && p.window.to_s < stalled), "{found:#?}");
}

#[test]
fn throw_and_touchdown_are_found_with_forces_and_without() {
    let flight = flown(FLIGHT);
    let whole = flight.recording();
    let mut without = whole.clone();
    without
        .channels
        .retain(|c| !matches!(c.quantity, Quantity::ForceX | Quantity::ForceY | Quantity::ForceZ));
    // With forces to a tenth of a second and two; by speed and height alone to about a second.
    for (name, recording, throw_s, touch_s) in [("with", &whole, 0.15, 0.3), ("without", &without, 1.0, 2.0)]
    {
        let flights = phases::flights(recording);
        assert_eq!(flights.len(), 1, "{name}: {flights:#?}");
        let (throw, touch) = (flights[0].throw.unwrap(), flights[0].touchdown.unwrap());
        let (release, touched) = (when(&flight, "release", 0), when(&flight, "touchdown", 0));
        assert!((throw.time_s - release).abs() <= throw_s, "{name}: {throw:?}, released {release}");
        assert!((touch.time_s - touched).abs() <= touch_s, "{name}: {touch:?}, touched {touched}");
        assert_eq!(flights[0].impact, None, "{name}");
    }
}

#[test]
fn a_stop_by_something_hard_is_an_impact() {
    // The same flight, its landing replaced by twenty times gravity for 30 ms, as a tree or the ground nose first gives.
    let flight = flown(FLIGHT);
    let mut recording = flight.recording();
    let touched = when(&flight, "touchdown", 0);
    for c in &mut recording.channels {
        if c.quantity == Quantity::ForceX {
            for (t, v) in c.time_s.iter().zip(&mut c.values) {
                if (0.0..0.03).contains(&(t - touched)) {
                    *v = -20.0 * 9.81;
                }
            }
        }
    }
    let flights = phases::flights(&recording);
    let load = flights[0].impact.expect("an impact");
    assert!((load / 9.81 - 20.0).abs() < 3.0, "{load}");
    assert!(phases::find(&recording).iter().any(|p| p.kind == K::Impact));
}
