//! An invented model of 1.5 kg and 1.6 m span, for the tests of the simulated flight. Every number is made up to be
//! plausible; none is measured.

use aircraft::controller::{Controller, SwitchPosition};
use aircraft::drive::{Drive, Motor, Pack, Propeller};
use aircraft::limits::{Flown, Limits};
use aircraft::movable::{Linkage, Mix, Movable, Panels, Servo};
use aircraft::section::{Section, Shape};
use aircraft::surface::{Role, Station, Surface};
use aircraft::{Aircraft, Known, Layout};
use motion::model::{Aerodynamics, Derivatives, ForceModel, Thrust, Validity};
use numerics::units::RAD_PER_DEG;
use numerics::{Mat3, Vec3};

fn surface(name: &str, role: Role, mirrored: bool, at: [Vec3; 2], chord_m: f64) -> Surface {
    let station = |along_m: f64, leading_edge_m: Vec3| Station {
        along_m,
        leading_edge_m,
        chord_m,
        twist_rad: 0.0,
        section: Section {
            name: "naca 2412".into(),
            shape: Shape::Naca4 { camber: 0.02, camber_at: 0.4, thickness: 0.12 },
        },
    };
    Surface {
        name: name.into(),
        role,
        mirrored,
        stations: vec![station(0.0, at[0]), station((at[1] - at[0]).norm(), at[1])],
    }
}

fn servo(channel: &str, reversed: bool) -> Servo {
    Servo {
        channel: channel.into(),
        centre_us: 1500.0,
        centre_sd_us: 0.0,
        travel_us: 400.0,
        reversed,
        travel_rad: 45.0 * RAD_PER_DEG,
        speed_rad_s: 8.0,
        torque_nm: None,
    }
}

fn movable(name: &str, surface: usize, ends: [f64; 2], throw_deg: f64, mix: Mix) -> Movable {
    Movable {
        name: name.into(),
        surface,
        panels: Panels::One,
        inner_m: ends[0],
        outer_m: ends[1],
        hinge_inner: 0.7,
        hinge_outer: 0.7,
        throw_up_rad: throw_deg * RAD_PER_DEG,
        throw_down_rad: throw_deg * RAD_PER_DEG,
        mix,
        servo: servo(name, false),
        servo_left: None,
        linkage: Linkage::default(),
    }
}

/// The aircraft as its builder describes it.
pub(crate) fn aircraft() -> Aircraft {
    let mut aileron = movable("aileron", 0, [0.35, 0.75], 20.0, Mix { roll: 1.0, ..Mix::default() });
    aileron.panels = Panels::Pair;
    aileron.servo = servo("aileron right", false);
    aileron.servo_left = Some(servo("aileron left", true));
    Aircraft {
        name: "Invented".into(),
        layout: Layout::Conventional,
        datum: "tip of the nose".into(),
        surfaces: vec![
            surface("wing", Role::Wing, true, [Vec3::new(0.3, 0.0, 0.0), Vec3::new(0.3, 0.8, 0.04)], 0.22),
            surface(
                "tailplane",
                Role::Tailplane,
                true,
                [Vec3::new(1.0, 0.0, 0.05), Vec3::new(1.0, 0.26, 0.05)],
                0.14,
            ),
            surface("fin", Role::Fin, false, [Vec3::new(1.0, 0.0, 0.05), Vec3::new(1.0, 0.0, 0.25)], 0.16),
        ],
        movables: vec![
            aileron,
            movable("elevator", 1, [0.0, 0.26], 20.0, Mix { pitch: 1.0, ..Mix::default() }),
            movable("rudder", 2, [0.0, 0.2], 25.0, Mix { yaw: 1.0, ..Mix::default() }),
        ],
        masses: Vec::new(),
        weighed: None,
        drive: Some(Drive {
            propeller: Propeller::of_markings(0.254, 0.127, 2),
            motor: Motor { kv_rpm_v: 900.0, resistance_ohm: 0.06, no_load_a: 1.0, limit_a: None },
            speed_controller_ohm: 0.005,
            speed_controller_limit_a: None,
            pack: Pack {
                cells: 3,
                capacity_ah: 2.2,
                resistance_ohm: Known::stated(0.025, 0.005),
                limit_a: None,
            },
            hubs_m: vec![Vec3::new(0.0, 0.0, 0.0)],
            pull_direction: Vec3::new(-1.0, 0.0, 0.0),
            pusher: false,
            spool_up_s: 0.25,
            bench: Vec::new(),
        }),
        fuselages: Vec::new(),
        controller: Controller {
            mounting_pitch_rad: Known::stated(0.0, 0.0),
            mounting_roll_rad: Known::stated(0.0, 0.0),
            loop_hz: 500.0,
            delay_s: 0.02,
            largest_rate_rad_s: [3.5, 1.6, 1.2],
            largest_angle_rad: [0.9, 0.5],
            gains: [None; 3],
            level_per_s: 4.0,
            reference_speed_m_s: Some(13.0),
            switch: Vec::<SwitchPosition>::new(),
            failsafe_throttle: None,
        },
        limits: Limits::default(),
        flown: Flown::default(),
        care: aircraft::care::Care::default(),
        drags: Vec::new(),
        start: aircraft::start::Start::default(),
    }
}

/// Its forces as its builder believes them.
pub(crate) fn force_model() -> ForceModel {
    let throttle = vec![0.0, 0.25, 0.5, 0.75, 1.0];
    let airspeed_m_s: Vec<f64> = (0..=8).map(|i| 4.0 * f64::from(i)).collect();
    let table = |f: &dyn Fn(f64, f64) -> f64| -> Vec<f64> {
        throttle.iter().flat_map(|t| airspeed_m_s.iter().map(|v| f(*t, *v)).collect::<Vec<f64>>()).collect()
    };
    let pull = |t: f64, v: f64| 11.0 * t * t * (1.0 - v / (6.0 + 26.0 * t)).max(-0.05);
    ForceModel {
        mass_kg: 1.5,
        inertia_kg_m2: Mat3::new(0.095, 0.0, -0.004, 0.0, 0.085, 0.0, -0.004, 0.0, 0.165),
        aerodynamics: Aerodynamics {
            area_m2: 0.352,
            mean_chord_m: 0.22,
            span_m: 1.6,
            cl0: 0.3,
            cd0: 0.035,
            cl_least_drag: 0.1,
            induced: 0.055,
            cm0: 0.03,
            cl_max: 1.25,
            cl_min: -0.8,
            derivatives: Derivatives {
                CLa: 4.9,
                CLq: 6.5,
                CLde: 0.42,
                CLdf: 0.0,
                CDde: 0.0,
                CDdf: 0.0,
                Cma: -0.65,
                Cmq: -11.5,
                Cm_alphadot: -4.0,
                Cmde: -1.15,
                Cmdf: 0.0,
                CYb: -0.35,
                CYp: -0.05,
                CYr: 0.22,
                CYda: 0.0,
                CYdr: 0.16,
                Clb: -0.06,
                Clp: -0.46,
                Clr: 0.12,
                Clda: -0.24,
                Cldr: 0.008,
                Cnb: 0.075,
                Cnp: -0.045,
                Cnr: -0.1,
                Cnda: 0.012,
                Cndr: -0.065,
            },
            validity: Validity { alpha_low_rad: -0.15, alpha_high_rad: 0.2, beta_rad: 0.25 },
        },
        thrust: Some(Thrust {
            thrust_n: table(&pull),
            current_a: table(&|t, v| 22.0 * t * t * t * (1.0 - 0.01 * v) + 0.3),
            rpm: table(&|t, v| 8200.0 * t * (1.0 + 0.004 * v)),
            volts: table(&|t, _| 12.4 - 0.6 * t * t * t),
            throttle: throttle.clone(),
            airspeed_m_s: airspeed_m_s.clone(),
            direction: Vec3::x(),
            at_m: Vec3::new(0.35, 0.0, 0.0),
            spool_up_s: 0.25,
            capacity_ah: 2.2,
        }),
        details: motion::details::Details::default(),
    }
}
