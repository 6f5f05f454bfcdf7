//! Invented aircraft put together from plain data, for tests that need no file.

use aircraft::controller::{Acts, Controller, SwitchPosition};
use aircraft::limits::{Flown, Limits};
use aircraft::movable::{Linkage, Mix, Movable, Panels, Servo};
use aircraft::section::{Section, Shape};
use aircraft::surface::{Role, Station, Surface};
use aircraft::{Aircraft, Known, Layout};
use numerics::Vec3;

pub(crate) fn close(case: &str, got: f64, expected: f64, tolerance: f64) {
    assert!((got - expected).abs() <= tolerance, "{case}: got {got}, expected {expected} within {tolerance}");
}

pub(crate) fn section() -> Section {
    Section {
        name: "naca 0009".to_owned(),
        shape: Shape::Naca4 { camber: 0.0, camber_at: 0.0, thickness: 0.09 },
    }
}

/// A straight-edged panel: root leading edge, length along the surface, dihedral, root and tip chord, sweep (aft
/// run of the leading edge from root to tip).
pub(crate) fn panel(
    role: Role,
    mirrored: bool,
    root: [f64; 3],
    length_m: f64,
    dihedral_rad: f64,
    chords_m: [f64; 2],
    sweep_m: f64,
) -> Surface {
    let root = Vec3::from(root);
    let tip = root + Vec3::new(sweep_m, length_m * dihedral_rad.cos(), length_m * dihedral_rad.sin());
    let station = |along_m, leading_edge_m, chord_m| Station {
        along_m,
        leading_edge_m,
        chord_m,
        twist_rad: 0.0,
        section: section(),
    };
    Surface {
        name: format!("{role:?}").to_lowercase(),
        role,
        mirrored,
        stations: vec![station(0.0, root, chords_m[0]), station(length_m, tip, chords_m[1])],
    }
}

pub(crate) fn servo() -> Servo {
    Servo {
        channel: "servo 1".to_owned(),
        centre_us: 1500.0,
        centre_sd_us: 0.0,
        travel_us: 500.0,
        reversed: false,
        travel_rad: 50.0_f64.to_radians(),
        speed_rad_s: 7.0,
        torque_nm: None,
    }
}

pub(crate) fn movable(name: &str, surface: usize, panels: Panels, mix: Mix) -> Movable {
    Movable {
        name: name.to_owned(),
        surface,
        panels,
        inner_m: 0.05,
        outer_m: 0.25,
        hinge_inner: 0.75,
        hinge_outer: 0.75,
        throw_up_rad: 20.0_f64.to_radians(),
        throw_down_rad: 12.0_f64.to_radians(),
        mix,
        servo: servo(),
        servo_left: (panels == Panels::Pair).then(servo),
        linkage: Linkage::default(),
    }
}

pub(crate) fn aircraft(surfaces: Vec<Surface>, movables: Vec<Movable>) -> Aircraft {
    Aircraft {
        name: "invented".to_owned(),
        layout: Layout::Conventional,
        datum: "tip of the nose".to_owned(),
        surfaces,
        movables,
        masses: Vec::new(),
        weighed: None,
        drive: None,
        fuselages: Vec::new(),
        controller: Controller {
            mounting_pitch_rad: Known::stated(0.0, 0.0),
            mounting_roll_rad: Known::stated(0.0, 0.0),
            loop_hz: 500.0,
            delay_s: 0.01,
            largest_rate_rad_s: [3.0, 2.0, 1.5],
            largest_angle_rad: [0.8, 0.5],
            gains: [None; 3],
            level_per_s: 5.0,
            reference_speed_m_s: None,
            switch: vec![SwitchPosition { name: "1".to_owned(), acts: Acts::Direct }],
            failsafe_throttle: None,
        },
        limits: Limits::default(),
        flown: Flown::default(),
        care: aircraft::care::Care::default(),
        drags: Vec::new(),
        start: aircraft::start::Start::default(),
    }
}
