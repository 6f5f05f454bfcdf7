//! An invented aircraft with invented predictions, to try cards and pages on. No number of it is of a real aircraft;
//! those that hang together (polar, range of balance, banked stall) are computed here from a few chosen ones.

use aircraft::controller::{Acts, Controller, Gains, SwitchPosition};
use aircraft::drive::{Drive, Motor, Pack, Propeller};
use aircraft::fuselage::{BodyStation, Fuselage};
use aircraft::limits::{Flown, Limits};
use aircraft::mass::{Balance, Item, Shape};
use aircraft::movable::{Linkage, Mix, Movable, Panels, Servo};
use aircraft::section::{self, Section};
use aircraft::surface::{Role, Station, Surface};
use aircraft::{Aircraft, Known, Layout};
use motion::model::{Aerodynamics, Derivatives, ForceModel, Thrust, Validity};
use numerics::units::{G_M_S2, RAD_PER_DEG};
use numerics::{Mat3, Vec3};
use predict::prediction::{
    Control, DrivePrediction, Geometry, Lift, Mode, NotPredicted, Polar, Prediction, Speeds, Stability,
};

fn section() -> Section {
    Section {
        name: "naca 2412".to_owned(),
        shape: section::Shape::Naca4 { camber: 0.02, camber_at: 0.4, thickness: 0.12 },
    }
}

fn station(along_m: f64, at: [f64; 3], chord_m: f64, twist_deg: f64) -> Station {
    Station {
        along_m,
        leading_edge_m: Vec3::new(at[0], at[1], at[2]),
        chord_m,
        twist_rad: twist_deg * RAD_PER_DEG,
        section: section(),
    }
}

fn servo(channel: &str) -> Servo {
    Servo {
        channel: channel.to_owned(),
        centre_us: 1500.0,
        centre_sd_us: 0.0,
        travel_us: 400.0,
        reversed: false,
        travel_rad: 0.7,
        speed_rad_s: 7.0,
        torque_nm: None,
    }
}

pub(crate) fn movable(name: &str, surface: usize, panels: Panels, extent: [f64; 2], mix: Mix) -> Movable {
    Movable {
        name: name.to_owned(),
        surface,
        panels,
        inner_m: extent[0],
        outer_m: extent[1],
        hinge_inner: 0.72,
        hinge_outer: 0.70,
        throw_up_rad: 18.0 * RAD_PER_DEG,
        throw_down_rad: 14.0 * RAD_PER_DEG,
        mix,
        servo: servo("servo 1"),
        servo_left: (panels == Panels::Pair).then(|| servo("servo 2")),
        linkage: Linkage::default(),
    }
}

fn item(name: &str, mass_kg: f64, at: [f64; 3], size: [f64; 3], mirrored: bool) -> Item {
    Item {
        name: name.to_owned(),
        mass_kg: Known::stated(mass_kg, 0.005),
        at_m: Vec3::new(at[0], at[1], at[2]),
        size_m: Vec3::new(size[0], size[1], size[2]),
        shape: Shape::Box,
        mirrored,
        movable_x_m: (name == "pack").then_some([0.16, 0.30]),
    }
}

/// The invented aircraft "Merle".
pub(crate) fn merle() -> Aircraft {
    Aircraft {
        name: "Merle".to_owned(),
        layout: Layout::Conventional,
        datum: "tip of the nose".to_owned(),
        surfaces: vec![
            Surface {
                name: "wing".to_owned(),
                role: Role::Wing,
                mirrored: true,
                stations: vec![
                    station(0.0, [0.330, 0.0, 0.06], 0.260, 1.5),
                    station(0.40, [0.335, 0.3995, 0.081], 0.245, 1.0),
                    station(0.82, [0.370, 0.815, 0.145], 0.165, -1.0),
                ],
            },
            Surface {
                name: "tailplane".to_owned(),
                role: Role::Tailplane,
                mirrored: true,
                stations: vec![
                    station(0.0, [1.050, 0.0, 0.05], 0.170, 0.0),
                    station(0.28, [1.085, 0.28, 0.05], 0.120, 0.0),
                ],
            },
            Surface {
                name: "fin".to_owned(),
                role: Role::Fin,
                mirrored: false,
                stations: vec![
                    station(0.0, [1.020, 0.0, 0.05], 0.210, 0.0),
                    station(0.22, [1.100, 0.0, 0.27], 0.120, 0.0),
                ],
            },
        ],
        movables: vec![
            movable("aileron", 0, Panels::Pair, [0.42, 0.80], Mix { roll: 1.0, ..Mix::default() }),
            movable("elevator", 1, Panels::One, [0.02, 0.28], Mix { pitch: 1.0, ..Mix::default() }),
            movable("rudder", 2, Panels::One, [0.0, 0.22], Mix { yaw: 1.0, ..Mix::default() }),
        ],
        masses: vec![
            item("motor and propeller", 0.19, [0.03, 0.0, 0.0], [0.05, 0.04, 0.04], false),
            item("pack", 0.41, [0.22, 0.0, -0.02], [0.14, 0.045, 0.04], false),
            item("controller and receiver", 0.06, [0.36, 0.0, 0.0], [0.06, 0.04, 0.02], false),
            item("wing halves", 0.62, [0.44, 0.34, 0.09], [0.22, 0.8, 0.03], true),
            item("fuselage", 0.48, [0.50, 0.0, 0.0], [1.1, 0.1, 0.11], false),
            item("tail", 0.11, [1.13, 0.0, 0.09], [0.2, 0.5, 0.2], false),
            item("servos in the wing", 0.04, [0.46, 0.5, 0.1], [0.02, 0.01, 0.02], true),
        ],
        weighed: None,
        drive: Some(Drive {
            propeller: Propeller::of_markings(0.279, 0.140, 2),
            motor: Motor { kv_rpm_v: 900.0, resistance_ohm: 0.05, no_load_a: 1.1, limit_a: Some(40.0) },
            speed_controller_ohm: 0.005,
            speed_controller_limit_a: Some(45.0),
            pack: Pack {
                cells: 3,
                capacity_ah: 4.0,
                resistance_ohm: Known::stated(0.03, 0.01),
                limit_a: Some(80.0),
            },
            hubs_m: vec![Vec3::new(0.0, 0.0, 0.0)],
            pull_direction: Vec3::new(-0.9994, 0.0, -0.0349),
            pusher: false,
            spool_up_s: 0.3,
            bench: Vec::new(),
        }),
        fuselages: vec![Fuselage {
            name: "fuselage".to_owned(),
            mirrored: false,
            stations: [
                (0.01, 0.0, 0.05, 0.05),
                (0.12, 0.0, 0.09, 0.10),
                (0.32, 0.0, 0.10, 0.12),
                (0.60, 0.01, 0.08, 0.09),
                (1.10, 0.04, 0.03, 0.035),
                (1.22, 0.05, 0.015, 0.02),
            ]
            .iter()
            .map(|(x, z, width_m, height_m)| BodyStation {
                centre_m: Vec3::new(*x, 0.0, *z),
                width_m: *width_m,
                height_m: *height_m,
            })
            .collect(),
        }],
        controller: Controller {
            mounting_pitch_rad: Known::stated(0.0, 0.035),
            mounting_roll_rad: Known::stated(0.0, 0.02),
            loop_hz: 400.0,
            delay_s: 0.01,
            largest_rate_rad_s: [3.0, 2.0, 1.5],
            largest_angle_rad: [0.9, 0.5],
            gains: [None, None, None],
            level_per_s: 3.0,
            reference_speed_m_s: None,
            switch: vec![
                SwitchPosition { name: "A, away".to_owned(), acts: Acts::Direct },
                SwitchPosition { name: "B, middle".to_owned(), acts: Acts::Rate },
                SwitchPosition { name: "C, near".to_owned(), acts: Acts::Level },
            ],
            failsafe_throttle: Some(0.0),
        },
        limits: Limits {
            never_exceed_m_s: Some(28.0),
            load_factor: Some(4.0),
            height_m: Some(120.0),
            ..Limits::default()
        },
        flown: Flown::default(),
        care: aircraft::care::Care::default(),
        drags: Vec::new(),
        start: aircraft::start::Start::default(),
    }
}

/// Invented predictions for it.
pub(crate) fn prediction() -> Prediction {
    let (mass, area, chord, span, density) = (1.91, 0.365, 0.229, 1.63, 1.225);
    let (cd0, k, cl_max): (f64, f64, f64) = (0.032, 0.052, 1.18);
    let weight = mass * G_M_S2;
    let speed = |cl: f64| (2.0 * weight / (density * area * cl)).sqrt();
    let stall = speed(cl_max);
    let cl_glide = (cd0 / k).sqrt();
    let glide_ratio = cl_glide / (2.0 * cd0);
    let cl_sink = (3.0 * cd0 / k).sqrt().min(cl_max / 1.02);
    let cruise = 1.5 * stall;
    let rows: Vec<[f64; 5]> = (0..=28)
        .map(|i| {
            let v = stall + (24.0 - stall) * f64::from(i) / 28.0;
            let cl = 2.0 * weight / (density * area * v * v);
            let cd = cd0 + k * cl * cl;
            [v, cl, cd, v * cd / cl, (0.045 - 0.11 * cl).to_radians() * 57.3]
        })
        .collect();
    let throttle: Vec<f64> = vec![0.25, 0.5, 0.75, 1.0];
    let airspeed: Vec<f64> = (0..=10).map(|i| 2.6 * f64::from(i)).collect();
    let (mut thrust_n, mut current_a, mut rpm, mut volts) = (vec![], vec![], vec![], vec![]);
    for t in &throttle {
        for v in &airspeed {
            thrust_n.push((13.5 * t * t * (1.0 - (v / (30.0 * t.sqrt())).powi(2))).max(-2.0));
            current_a.push(31.0 * t * t * t * (1.0 - 0.4 * v / 26.0) + 1.0);
            rpm.push(8600.0 * t.sqrt());
            volts.push(11.8 - 0.9 * t);
        }
    }
    let (cg, margin) = (0.408, 0.11);
    let predicted = Known::predicted;
    Prediction {
        density_kg_m3: density,
        balance: Balance {
            total_kg: predicted(mass, 0.02),
            cg_m: Vec3::new(cg, 0.0, 0.04),
            cg_x_m: predicted(cg, 0.004),
            inertia_kg_m2: Mat3::from_diagonal(&Vec3::new(0.13, 0.16, 0.27)),
            items_total_kg: Some(mass),
            items_cg_x_m: Some(cg),
            remarks: vec![],
        },
        geometry: Geometry {
            wing_area_m2: area,
            mean_chord_m: chord,
            mean_chord_x_m: 0.338,
            span_m: span,
            aspect_ratio: span * span / area,
            wing_loading_kg_m2: mass / area,
        },
        stability: Stability {
            neutral_point_x_m: predicted(cg + margin * chord, 0.006),
            static_margin_percent: predicted(100.0 * margin, 2.6),
            range_x_m: Ok([0.372, 0.422]),
            first_flight_range_x_m: Ok([0.380, 0.413]),
        },
        lift: Lift {
            slope_per_rad: predicted(4.9, 0.15),
            cl_max: predicted(cl_max, 0.06),
            zero_lift_alpha_rad: -0.035,
        },
        speeds: Speeds {
            stall_m_s: predicted(stall, 0.25),
            // Height held in a bank needs 1/cos of the lift, so the stall speed grows by its root.
            stall_banked_m_s: [30.0_f64, 45.0, 60.0].map(|b| stall / b.to_radians().cos().sqrt()),
            least_sink_m_s: predicted(speed(cl_sink), 0.4),
            best_glide_m_s: predicted(speed(cl_glide), 0.5),
            cruise_m_s: predicted(cruise, 0.3),
            top_m_s: Ok(predicted(23.4, 1.1)),
            cruise_pitch_rad: predicted(2.1_f64.to_radians(), 0.7_f64.to_radians()),
            cruise_elevator_rad: Ok(predicted((-0.9_f64).to_radians(), 0.8_f64.to_radians())),
        },
        polar: Polar {
            span_efficiency: 0.93,
            best_glide_ratio: predicted(glide_ratio, 1.0),
            least_sink_m_s: predicted(0.92, 0.08),
            rows,
        },
        stalling: Err(NotPredicted::Missing { what: "section tables".to_owned() }),
        balance_limits: vec![],
        authority: predict::authority::Authority::default(),
        motions: vec![],
        doubts: vec![],
        against: vec![],
        cautions: vec![],
        control: Control {
            roll_rate_rad_s: Ok(predicted(2.4, 0.3)),
            roll_helix: Ok(0.13),
            time_to_bank_45_s: Ok(0.43),
            roll_rate_per_rad_s: Ok(8.6),
            roll_time_constant_s: Ok(0.07),
            pitch_rate_per_rad_s: Ok(5.1),
            elevator_left_at_stall_rad: Ok(0.13),
            throws_rad: [Some(0.28), Some(0.28), Some(0.35)],
        },
        drive: Ok(DrivePrediction {
            static_thrust_n: predicted(13.5, 1.0),
            static_current_a: predicted(32.0, 2.5),
            static_rpm: predicted(8600.0, 250.0),
            thrust_to_weight: predicted(13.5 / weight, 0.055),
            cruise_current_a: Ok(predicted(7.4, 0.9)),
            cruise_throttle: Ok(0.52),
            endurance_s: Ok(predicted(1360.0, 150.0)),
            range_m: Ok(predicted(18_000.0, 2_100.0)),
            climb_m_s: Ok(predicted(4.3, 0.5)),
            climb_rad: Ok(predicted(0.33, 0.04)),
            static_voltage_v: 10.9,
            loads: Vec::new(),
            envelope: Ok(Vec::new()),
            discharge: Ok(Vec::new()),
            home: Err(NotPredicted::Missing { what: "not needed here".to_owned() }),
            slipstream: Err(NotPredicted::Missing { what: "not needed here".to_owned() }),
        }),
        modes: vec![
            mode("short period", Some((7.2, 0.62)), 0.22, "A pitch disturbance is gone within half a second, without a swing to see."),
            mode("phugoid", Some((0.78, 0.07)), 18.0, "Speed and height swing slowly, once in 8 s; the pilot damps it without noticing."),
            mode("roll", None, 0.07, "Roll starts and stops with the stick."),
            mode("Dutch roll", Some((4.6, 0.21)), 1.0, "A kick of the rudder wags twice and is gone."),
            mode("spiral", None, -21.0, "Left alone in a bank it tightens slowly; the bank doubles in 15 s."),
        ],
        gains: [
            Ok(Gains { feed_forward_s: 0.12, proportional_s: 0.06, integral: 0.2, derivative_s2: 0.001 }),
            Ok(Gains { feed_forward_s: 0.2, proportional_s: 0.15, integral: 0.4, derivative_s2: 0.002 }),
            Ok(Gains::default()),
        ],
        model: ForceModel {
            mass_kg: mass,
            inertia_kg_m2: Mat3::from_diagonal(&Vec3::new(0.13, 0.16, 0.27)),
            aerodynamics: Aerodynamics {
                area_m2: area,
                mean_chord_m: chord,
                span_m: span,
                cl0: 0.17,
                cd0,
                cl_least_drag: 0.0,
                induced: k,
                cm0: 0.02,
                cl_max,
                cl_min: -0.8,
                derivatives: Derivatives { CLa: 4.9, Cma: -0.54, ..Derivatives::default() },
                validity: Validity { alpha_low_rad: -0.14, alpha_high_rad: 0.21, beta_rad: 0.2 },
            },
            thrust: Some(Thrust {
                throttle,
                airspeed_m_s: airspeed,
                thrust_n,
                current_a,
                rpm,
                volts,
                direction: Vec3::new(1.0, 0.0, 0.0),
                at_m: Vec3::new(0.4, 0.0, 0.0),
                spool_up_s: 0.3,
                capacity_ah: 4.0,
            }),
            details: motion::details::Details::default(),
        },
        panels: 640,
        remarks: vec![
            "Numbers are of an invented aircraft.".to_owned(),
            "The section at the tip is taken by thin-section theory below a Reynolds number of 60\u{202f}000.".to_owned(),
        ],
    }
}

fn mode(name: &'static str, swing: Option<(f64, f64)>, time_constant_s: f64, sentence: &str) -> Mode {
    Mode {
        name,
        frequency_rad_s: swing.map(|(f, _)| f),
        damping: swing.map(|(_, d)| d),
        time_constant_s,
        sentence: sentence.to_owned(),
    }
}
