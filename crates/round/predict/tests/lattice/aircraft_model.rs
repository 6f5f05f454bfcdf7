//! An invented aircraft of 1.6 m span: wing with ailerons and flaps, tailplane with elevator, fin with rudder, fuselage.

use aircraft::controller::Controller;
use aircraft::fuselage::{BodyStation, Fuselage};
use aircraft::limits::{Flown, Limits};
use aircraft::movable::{Linkage, Mix, Movable, Panels, Servo};
use aircraft::section::{Section, Shape};
use aircraft::surface::{Role, Station, Surface};
use aircraft::{Aircraft, Known, Layout};
use numerics::Vec3;

pub(crate) fn four_digits(camber: f64, thickness: f64) -> Section {
    Section { name: "four digits".into(), shape: Shape::Naca4 { camber, camber_at: 0.4, thickness } }
}

fn servo() -> Servo {
    Servo {
        channel: "servo".into(),
        centre_us: 1500.0,
        centre_sd_us: 0.0,
        travel_us: 400.0,
        reversed: false,
        travel_rad: 0.7,
        speed_rad_s: 6.0,
        torque_nm: None,
    }
}

pub(crate) fn movable(
    name: &str,
    surface: usize,
    panels: Panels,
    place: [f64; 2],
    hinge: f64,
    mix: Mix,
) -> Movable {
    Movable {
        name: name.into(),
        surface,
        panels,
        inner_m: place[0],
        outer_m: place[1],
        hinge_inner: hinge,
        hinge_outer: hinge,
        throw_up_rad: 0.35,
        throw_down_rad: 0.35,
        mix,
        servo: servo(),
        servo_left: (panels == Panels::Pair).then(servo),
        linkage: Linkage::default(),
    }
}

pub(crate) fn surface(
    name: &str,
    role: Role,
    mirrored: bool,
    ribs: &[(f64, Vec3, f64, f64)],
    section: &Section,
) -> Surface {
    Surface {
        name: name.into(),
        role,
        mirrored,
        stations: ribs
            .iter()
            .map(|(along_m, leading_edge_m, chord_m, twist_rad)| Station {
                along_m: *along_m,
                leading_edge_m: *leading_edge_m,
                chord_m: *chord_m,
                twist_rad: *twist_rad,
                section: section.clone(),
            })
            .collect(),
    }
}

/// The aircraft with a dihedral of the wing, rad; its datum is the wing's leading edge in the plane of symmetry.
pub(crate) fn trainer(dihedral: f64) -> Aircraft {
    let wing_ribs: Vec<(f64, Vec3, f64, f64)> =
        [(0.0, 0.0, 0.26, 0.03), (0.4, 0.0, 0.26, 0.03), (0.8, 0.03, 0.19, 0.0)]
            .iter()
            .map(|(s, x, chord, twist)| {
                (*s, Vec3::new(*x, s * dihedral.cos(), 0.06 + s * dihedral.sin()), *chord, *twist)
            })
            .collect();
    let body = [(-0.28, 0.02), (-0.22, 0.09), (-0.05, 0.12), (0.2, 0.12), (0.5, 0.06), (0.98, 0.02)];
    Aircraft {
        name: "invented trainer".into(),
        layout: Layout::Conventional,
        datum: "leading edge of the wing".into(),
        surfaces: vec![
            surface("wing", Role::Wing, true, &wing_ribs, &four_digits(0.02, 0.12)),
            surface(
                "tailplane",
                Role::Tailplane,
                true,
                &[
                    (0.0, Vec3::new(0.82, 0.0, 0.03), 0.16, 0.0),
                    (0.27, Vec3::new(0.85, 0.27, 0.03), 0.12, 0.0),
                ],
                &four_digits(0.0, 0.09),
            ),
            surface(
                "fin",
                Role::Fin,
                false,
                &[(0.0, Vec3::new(0.80, 0.0, 0.03), 0.2, 0.0), (0.22, Vec3::new(0.90, 0.0, 0.25), 0.12, 0.0)],
                &four_digits(0.0, 0.09),
            ),
        ],
        movables: vec![
            movable("aileron", 0, Panels::Pair, [0.42, 0.78], 0.75, Mix { roll: 1.0, ..Mix::default() }),
            movable("flap", 0, Panels::Pair, [0.08, 0.40], 0.75, Mix { flap: 1.0, ..Mix::default() }),
            movable("elevator", 1, Panels::One, [0.0, 0.27], 0.65, Mix { pitch: 1.0, ..Mix::default() }),
            movable("rudder", 2, Panels::One, [0.02, 0.22], 0.6, Mix { yaw: 1.0, ..Mix::default() }),
        ],
        masses: Vec::new(),
        weighed: None,
        drive: None,
        fuselages: vec![Fuselage {
            name: "fuselage".into(),
            mirrored: false,
            stations: body
                .iter()
                .map(|(x, d)| BodyStation { centre_m: Vec3::new(*x, 0.0, 0.0), width_m: *d, height_m: *d })
                .collect(),
        }],
        controller: Controller {
            mounting_pitch_rad: Known::stated(0.0, 0.0),
            mounting_roll_rad: Known::stated(0.0, 0.0),
            loop_hz: 500.0,
            delay_s: 0.01,
            largest_rate_rad_s: [3.0, 2.0, 2.0],
            largest_angle_rad: [0.7, 0.5],
            gains: [None; 3],
            level_per_s: 4.0,
            reference_speed_m_s: None,
            switch: Vec::new(),
            failsafe_throttle: None,
        },
        limits: Limits::default(),
        flown: Flown::default(),
        care: aircraft::care::Care::default(),
        drags: Vec::new(),
        start: aircraft::start::Start::default(),
    }
}
