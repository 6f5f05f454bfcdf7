//! A thrown body without lift flies as a stone does.

use predict::launch::flight::Launching;
use predict::launch::inputs::{Drawn, Input, Scatter, Spread};
use predict::launch::outcome::Outcome;
use predict::launch::scene::{Breeze, Method, Scene};
use predict::launch::tally::{Flown, Launcher};
use predict::prediction::{NotPredicted, Prediction};

use crate::practice::{CALM, wheatear};

/// A small body of 1 kg: no lift, no moments, drag k V² with a given k over mass, 1/m.
fn stone(p: &Prediction, k_per_m: f64) -> Prediction {
    let mut p = p.clone();
    p.drive = Err(NotPredicted::NoSolution { why: "a stone".into() });
    let m = &mut p.model;
    m.thrust = None;
    m.details = motion::details::Details::default();
    m.mass_kg = 1.0;
    let a = &mut m.aerodynamics;
    // Its points of contact lie within a few millimeters of the balance point.
    (a.area_m2, a.mean_chord_m, a.span_m) = (0.01, 0.002, 0.004);
    (a.cl0, a.cm0, a.cl_least_drag, a.induced) = (0.0, 0.0, 0.0, 0.0);
    a.cd0 = k_per_m / (0.5 * p.density_kg_m3 * a.area_m2);
    a.derivatives = motion::model::Derivatives::default();
    p
}

fn throw(k_per_m: f64, wind: Breeze) -> Flown {
    let (aircraft, p) = wheatear();
    let p = stone(p, k_per_m);
    let mut scene = Scene::by(Method::Hand, aircraft, &p, wind);
    scene.scatter = Scatter::none();
    scene.scatter.set(Input::Speed, Spread::new(12.0, 0.0));
    scene.scatter.set(Input::Elevation, Spread::deg(20.0, 0.0));
    scene.scatter.set(Input::Height, Spread::new(1.8, 0.0));
    let launching = Launching::new(aircraft, &p, &scene).unwrap();
    launching.launch(&[Drawn::new(&scene.scatter, 1, 0)], true).pop().unwrap()
}

#[track_caller]
fn check(flown: &Flown, time_s: f64, way_m: f64) {
    let touched = flown.noted.touched_at_s.unwrap();
    // The touch is told at a step of 1/400 s, with the lowest point of contact half a millimeter below the balance point.
    assert!((touched - time_s).abs() < 0.004, "touches after {touched} s, expected {time_s}");
    let trace = flown.trace.as_ref().unwrap();
    // The last sample lies up to 0.1 s before the touch; the way goes on at the speed of the last two.
    let n = trace.along_m.len();
    let speed = f64::from(trace.along_m[n - 1] - trace.along_m[n - 2]) / 0.1;
    let last = f64::from(trace.along_m[n - 1]) + speed * (touched - 0.1 * (n - 1) as f64);
    assert!((last - way_m).abs() < 0.05, "after {last} m, expected {way_m}");
}

#[test]
fn without_drag_it_flies_a_parabola() {
    // From 1.8 m at 12 m/s, 20° up: t = (v sin e + sqrt((v sin e)² + 2 g h)) / g = 1.15489 s, x = v cos e t = 13.0230 m.
    check(&throw(0.0, CALM), 1.15489, 13.0230);
}

#[test]
fn with_quadratic_drag_it_falls_shorter() {
    // k/m = 0.02 1/m: 1.14788 s and 11.4721 m (scipy solve_ivp at 1e-11, reference RB-10).
    check(&throw(0.02, CALM), 1.14788, 11.4721);
}

#[test]
fn a_stone_of_an_aircraft_without_drive_is_no_clean_glide() {
    // It comes down at 7 m/s.
    assert_eq!(throw(0.0, CALM).outcome, Outcome::Touched);
}
