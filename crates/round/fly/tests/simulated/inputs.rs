//! Inputs of simulated flights against the script that flew them.

use fly::inputs::{self, Axis, Control, InputKind as K};
use fly::phases::{self, PhaseKind};

use crate::{flown, when};

const TESTS: &str = r#"
seed = 11
log_hz = 50
[wind]
speed_m_s = 3.0
from_deg = 240
gust_intensity = 0.06
[[step]]
do = "launch"
acts = "level"
[[step]]
do = "climb"
acts = "level"
height_m = 70
[[step]]
do = "straight"
acts = "direct"
seconds = 12
[[step]]
do = "input"
acts = "direct"
axis = "roll"
kind = "doublet"
size_percent = 30
[[step]]
do = "input"
acts = "direct"
axis = "pitch"
kind = "doublet"
size_percent = 20
[[step]]
do = "straight"
acts = "direct"
seconds = 6
[[step]]
do = "input"
acts = "direct"
axis = "roll"
kind = "step"
size_percent = 25
seconds = 1.2
[[step]]
do = "straight"
acts = "direct"
seconds = 8
[[step]]
do = "input"
acts = "direct"
axis = "roll"
kind = "sweep"
size_percent = 25
seconds = 15
from_hz = 0.3
to_hz = 2.5
"#;

#[test]
fn every_input_of_a_script_is_found_with_axis_kind_time_and_size() {
    let flight = flown(TESTS);
    let recording = flight.recording();
    let found = inputs::find(&recording);
    for (n, axis, kind, size) in [
        (0, Axis::Roll, K::Doublet, 0.30),
        (1, Axis::Pitch, K::Doublet, 0.20),
        (2, Axis::Roll, K::Step, 0.25),
        (3, Axis::Roll, K::Sweep, 0.25),
    ] {
        let begin = when(&flight, "input", n);
        let hit: Vec<_> =
            found.iter().filter(|i| (i.start_s - begin).abs() < 0.3 && i.axis == axis).collect();
        assert_eq!(hit.len(), 1, "{axis:?} {kind:?} at {begin}: {found:#?}");
        assert_eq!((hit[0].kind, hit[0].control), (kind, Control::Direct), "{found:#?}");
        // The simulated pilot catches the aircraft at once, with a movement that goes over from the last held position:
        // the largest demand is that of the script or up to 12 % of full stick more.
        assert!((size - 0.03..size + 0.12).contains(&hit[0].size.abs()), "{:?}", hit[0]);
        assert!(hit[0].confidence > 0.5, "{:?}", hit[0]);
    }
    // Between them, in steady flight, nothing is sure to have been meant.
    let from = when(&flight, "straight", 0) + 5.0;
    let to = when(&flight, "input", 0) - 0.5;
    assert!(!found.iter().any(|i| (from..to).contains(&i.start_s) && i.confidence > 0.5), "{found:#?}");
    let phases = phases::find(&recording);
    let begin = when(&flight, "input", 0) + 0.2;
    let there = phases.iter().find(|p| p.window.from_s <= begin && begin < p.window.to_s);
    assert_eq!(there.map(|p| p.kind), Some(PhaseKind::Input), "{phases:#?}");
}
