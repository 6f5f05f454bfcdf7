//! The demo aircraft (invented) through the whole prediction: laws that must hold between its parts.

use aircraft::drive::Bench;
use aircraft::{Aircraft, Known, Origin};
use motion::forces::Prepared;
use motion::trim::{Hold, straight};
use predict::air::Air;
use predict::prediction::{NotPredicted, Outcome, Prediction};
use predict::{Conditions, predict};

const FILE: &str = include_str!("../../../../../examples/wheatear.toml");
const GRAVITY_M_S2: f64 = 9.806_65;

pub(crate) fn wheatear() -> Aircraft {
    aircraft::schema::read(FILE, &|_| None).unwrap()
}

pub(crate) fn predicted(aircraft: &Aircraft) -> Prediction {
    predict(aircraft, &Conditions::default()).unwrap()
}

#[track_caller]
pub(crate) fn near(got: f64, expected: f64, relative: f64) {
    assert!((got / expected - 1.0).abs() < relative, "{got} against {expected}");
}

#[test]
fn weight_lift_thrust_and_drag_balance() {
    let p = predicted(&wheatear());
    let weight = p.model.mass_kg * GRAVITY_M_S2;
    let lift = |v: f64, cl: f64| 0.5 * p.density_kg_m3 * v * v * p.geometry.wing_area_m2 * cl;
    near(lift(p.speeds.stall_m_s.value, p.lift.cl_max.value), weight, 1e-9);
    for [v, cl, cd, sink, _] in &p.polar.rows {
        near(lift(*v, *cl), weight, 1e-9);
        near(sink / v, cd / cl, 1e-9);
    }
    // At top speed the table of thrust at full throttle meets the polar's drag: within what straight lines between
    // columns 2.5 m/s apart cost.
    let top = p.speeds.top_m_s.as_ref().unwrap().value;
    let full = p.model.thrust.as_ref().unwrap().at(1.0, top).unwrap().thrust_n;
    let last = p.polar.rows.last().unwrap();
    near(full, lift(last[0], last[2]), 0.02);
    // In cruise the same for the current.
    let d = p.drive.as_ref().unwrap();
    let cruise = p.model.thrust.as_ref().unwrap();
    let at = cruise.at(*d.cruise_throttle.as_ref().unwrap(), p.speeds.cruise_m_s.value).unwrap();
    near(at.current_a, d.cruise_current_a.as_ref().unwrap().value, 0.05);
    near(d.thrust_to_weight.value, d.static_thrust_n.value / weight, 1e-12);
    near(d.range_m.as_ref().unwrap().value, d.endurance_s.as_ref().unwrap().value * 13.0, 1e-12);
}

#[test]
fn gliding_trims_are_those_of_the_equations_of_motion() {
    let p = predicted(&wheatear());
    let mut model = p.model.clone();
    model.thrust = None;
    let body = Prepared::new(&model).unwrap();
    for [v, _, _, sink, elevator] in p.polar.rows.iter().filter(|r| r[1] < 0.7) {
        let trim = straight(&body, *v, Hold::Throttle(0.0), p.density_kg_m3).unwrap();
        // Small path angles in the polar: cos 13 deg = 0.97 at the steepest row.
        near(-trim.climb_angle_rad.sin() * v, *sink, 0.04);
        assert!((trim.state.controls.elevator_rad - elevator).abs() < 0.005, "{v}");
    }
}

#[test]
fn natural_motions_are_those_of_the_linearized_equations_of_motion() {
    let p = predicted(&wheatear());
    // The formulas know neither slipstream nor torque: the elevator in the stream, whose pressure does not follow the
    // speed, alone makes the slow phugoid a seventh faster.
    let bare = motion::model::ForceModel { details: motion::details::Details::default(), ..p.model.clone() };
    let body = Prepared::new(&bare).unwrap();
    let trim = straight(&body, p.speeds.cruise_m_s.value, Hold::ClimbAngle(0.0), p.density_kg_m3).unwrap();
    let long = motion::linear::longitudinal(&body, &trim, p.density_kg_m3).eigenvalues();
    let side = motion::linear::lateral(&body, &trim, p.density_kg_m3).eigenvalues();
    // Both are derived separately: here by formulas with thrust along the body axis, there by differences of the
    // equations with the thrust table (its slope by straight lines moves the slow phugoid most).
    for mode in &p.modes {
        let among = if mode.name.starts_with("short period") || mode.name.starts_with("phugoid") {
            &long
        } else {
            &side
        };
        // The slope of the thrust by straight lines between the table's speeds: 1.1 % of the phugoid, 0.7 % of the spiral.
        let tolerance = match mode.name {
            "phugoid" => 0.015,
            "spiral" => 0.01,
            _ => 1e-3,
        };
        let size = |re: f64, im: f64| re.hypot(im);
        let own = match (mode.frequency_rad_s, mode.damping) {
            (Some(w), Some(z)) => (-z * w, w * (1.0 - z * z).sqrt()),
            _ => (-1.0 / mode.time_constant_s, 0.0),
        };
        let nearest =
            among.iter().map(|s| size(s.re - own.0, s.im.abs() - own.1)).fold(f64::INFINITY, f64::min);
        assert!(nearest < tolerance * size(own.0, own.1), "{}: {own:?} among {among:?}", mode.name);
    }
}

#[test]
fn thin_air_asks_for_speed() {
    let hot = predict(
        &wheatear(),
        &Conditions { height_m: 1500.0, temperature_k: Some(308.15), ..Conditions::default() },
    )
    .unwrap();
    let cold = predicted(&wheatear());
    assert!(hot.density_kg_m3 < 0.97);
    // The same lift coefficient but for the Reynolds number: true stall speed goes with 1/sqrt(density).
    let ratio = (cold.density_kg_m3 / hot.density_kg_m3).sqrt();
    near(hot.speeds.stall_m_s.value / cold.speeds.stall_m_s.value, ratio, 0.03);
    // The same motor voltage turns the propeller about as fast in thinner air: thrust falls nearly with density.
    let pull = |p: &Prediction| p.drive.as_ref().unwrap().static_thrust_n.value;
    assert!(pull(&hot) < 0.92 * pull(&cold));
}

#[test]
fn a_measured_stall_speed_replaces_the_predicted_one() {
    let mut a = wheatear();
    a.limits.stall_m_s = Some(Known { value: 8.6, sd: 0.2, from: Origin::Measured });
    let p = predicted(&a);
    near(p.speeds.stall_m_s.value, 8.6, 1e-6);
    assert_eq!(p.speeds.stall_m_s.from, Origin::Measured);
    near(p.speeds.stall_m_s.sd, 0.2, 1e-6);
    // CL = 2W/(ρ S V²), and its doubt twice the relative one of the speed.
    let cl = 2.0 * 1.335 * GRAVITY_M_S2 / (1.225 * p.geometry.wing_area_m2 * 8.6 * 8.6);
    near(p.lift.cl_max.value, cl, 1e-6);
    near(p.lift.cl_max.sd / p.lift.cl_max.value, 2.0 * 0.2 / 8.6, 1e-6);
    near(p.model.aerodynamics.cl_max, cl, 1e-6);
    assert!(p.remarks.iter().any(|r| r.contains("measured stall speed")), "{:?}", p.remarks);
}

#[test]
fn what_flights_taught_is_applied_and_told() {
    let plain = predicted(&wheatear());
    let mut a = wheatear();
    let flown = |value: f64| Some(Known { value, sd: 0.03, from: Origin::Flown });
    a.flown.drag_factor = flown(1.2);
    a.flown.thrust_factor = flown(0.9);
    a.flown.control_factor = [flown(0.8), flown(0.9), None];
    let p = predicted(&a);
    // Drag factor on every part: the best glide ratio falls by it. The elevator's part in lift is left by the
    // pitch factor, so a per cent is allowed.
    near(p.polar.best_glide_ratio.value, plain.polar.best_glide_ratio.value / 1.2, 0.01);
    assert_eq!(p.polar.best_glide_ratio.from, Origin::Flown);
    let pull = |p: &Prediction| p.drive.as_ref().unwrap().static_thrust_n;
    near(pull(&p).value, 0.9 * pull(&plain).value, 1e-6);
    assert_eq!(pull(&p).from, Origin::Flown);
    let roll = |p: &Prediction| p.control.roll_rate_rad_s.clone().unwrap();
    near(roll(&p).value, 0.8 * roll(&plain).value, 1e-9);
    assert!(roll(&p).sd < roll(&plain).sd, "a flown factor is surer than the model");
    for word in ["Drag x 1.20", "Thrust x 0.90", "aileron x 0.80", "elevator x 0.90"] {
        assert!(p.remarks.iter().any(|r| r.contains(word)), "{word}: {:?}", p.remarks);
    }
}

#[test]
fn a_measured_pull_replaces_the_predicted_one() {
    let plain = predicted(&wheatear());
    let d = plain.drive.as_ref().unwrap();
    let mut a = wheatear();
    // Invented reading at the voltage that the model has at its charge, 10 % below the model.
    let measured = 0.9 * d.static_thrust_n.value;
    let volts = plain.model.thrust.as_ref().unwrap().at(1.0, 0.0).unwrap().volts;
    a.drive.as_mut().unwrap().bench = vec![Bench {
        throttle: 1.0,
        volts: Some(Known::stated(volts, 0.02)),
        amps: Some(Known::stated(d.static_current_a.value, 0.2)),
        rpm: Some(Known::stated(d.static_rpm.value, 50.0)),
        pull_n: Some(Known::stated(measured, 0.01 * measured)),
    }];
    let p = predicted(&a);
    let pull = p.drive.as_ref().unwrap().static_thrust_n;
    near(pull.value, measured, 0.02);
    assert_eq!(pull.from, Origin::Measured);
    assert!(pull.sd < 0.6 * d.static_thrust_n.sd);
}

#[test]
fn an_aircraft_balanced_behind_its_neutral_point_is_told_so() {
    let np = predicted(&wheatear()).stability.neutral_point_x_m.value;
    let balanced_at = |x: f64| {
        let mut a = wheatear();
        a.weighed.as_mut().unwrap().balance_x_m = Some(Known { value: x, sd: 0.001, from: Origin::Measured });
        predicted(&a)
    };
    let runs_away = |p: &Prediction| {
        p.modes.iter().any(|m| {
            (m.name.starts_with("short period") || m.name.starts_with("phugoid"))
                && m.frequency_rad_s.is_none()
                && m.time_constant_s < 0.0
        })
    };
    let just_ahead = balanced_at(np - 0.01);
    assert!(just_ahead.stability.static_margin_percent.value > 0.0 && !runs_away(&just_ahead));
    let behind = balanced_at(np + 0.02);
    assert!(behind.stability.static_margin_percent.value < 0.0 && runs_away(&behind));
    assert!(behind.remarks.iter().any(|r| r.contains("unstable in pitch")));
    // The neutral point is a property of the shape, not of the balance.
    assert!((behind.stability.neutral_point_x_m.value - np).abs() < 0.003);
    // Pitch damping holds the short period a while longer, to the maneuver point (about 30 % of the chord here:
    // ρ S c |Cmq| / 4m); beyond it there is nothing to tune a loop on.
    let far = balanced_at(np + 0.1);
    assert!(matches!(far.gains[1], Err(NotPredicted::NoSolution { .. })));
    assert!(far.control.pitch_rate_per_rad_s.is_err());
}

#[test]
fn a_glider_has_everything_but_a_drive() {
    let mut a = wheatear();
    a.drive = None;
    let p = predicted(&a);
    assert!(matches!(p.drive, Err(NotPredicted::Missing { .. })));
    assert!(matches!(p.speeds.top_m_s, Err(NotPredicted::Missing { .. })));
    assert!(p.model.thrust.is_none());
    assert!(p.polar.best_glide_ratio.value > 5.0 && p.gains.iter().all(Outcome::is_ok));
}

#[test]
fn air_that_is_none_is_refused_with_a_reason() {
    let wrong = Conditions { relative_humidity: Some(60.0), ..Conditions::default() };
    let Err(NotPredicted::NoSolution { why }) = predict(&wheatear(), &wrong) else {
        panic!("60 is no relative humidity")
    };
    assert!(why.contains("humidity"), "{why}");
}

#[test]
fn the_linear_limits_agree_with_the_whole_lattice() {
    let a = wheatear();
    let p = predicted(&a);
    let air = Air { density_kg_m3: p.density_kg_m3, viscosity_pa_s: 1.789_38e-5 };
    let solved = predict::lattice::solve(&a, p.balance.cg_m, &air, 13.0).unwrap();
    let left = predict::trim::elevator_left_at_stall_rad(&solved, p.balance.cg_m).unwrap();
    let linear = *p.control.elevator_left_at_stall_rad.as_ref().unwrap();
    println!("{left} {linear}");
    // 1.5 degrees of a throw of 15: what the forces bend between cruise and stall.
    assert!((left - linear).abs() < 0.026, "{left} {linear}");
    let forward = predict::trim::forward_limit_x_m(&solved, 1.0).unwrap();
    let linear = p.stability.range_x_m.as_ref().unwrap()[0];
    println!("{forward} {linear}");
    assert!((forward - linear).abs() < 0.1 * p.geometry.mean_chord_m, "{forward} {linear}");
}

#[test]
fn a_part_that_only_adds_drag_adds_its_drag_area_over_the_wing_area() {
    // Definition: drag area is drag over dynamic pressure, so the coefficient grows by it over the wing's area.
    let clean = predicted(&wheatear());
    let text = format!("{FILE}\n[[drag]]\nname = \"gear\"\ndrag_area_cm2 = 17.0\ndrag_area_sd_cm2 = 3.0\n");
    let with_gear = predicted(&aircraft::schema::read(&text, &|_| None).unwrap());
    let grown = with_gear.model.aerodynamics.cd0 - clean.model.aerodynamics.cd0;
    near(grown, 17.0e-4 / clean.geometry.wing_area_m2, 1e-9);
    assert!(with_gear.polar.best_glide_ratio.value < clean.polar.best_glide_ratio.value);
    assert!(
        with_gear.remarks.iter().any(|r| r.contains("17") && r.contains("drag area")),
        "{:?}",
        with_gear.remarks
    );
}
