//! What would be computed into nonsense is refused with its reason.

use predict::launch::inputs::{Input, Spread};
use predict::launch::odds;
use predict::launch::refuse::Refused;
use predict::launch::scene::{Breeze, Scene};

use crate::practice::{CALM, wheatear};

#[track_caller]
fn check(case: &str, change: impl Fn(&mut Scene), runs: u64, expected: impl Fn(&Refused) -> bool) {
    let (aircraft, p) = wheatear();
    let mut scene = Scene::usual(aircraft, p, CALM);
    change(&mut scene);
    let why = odds(aircraft, p, &scene, runs, 1).unwrap_err();
    assert!(why.iter().any(&expected), "{case}: {why:?}");
    assert!(why.iter().all(|w| w.to_string().len() > 20), "{case}: {why:?}");
}

#[test]
fn nonsense_is_refused() {
    let wind = |speed_m_s, gust_m_s| Breeze { speed_m_s, gust_m_s, ..CALM };
    check("a storm", |s| s.wind = wind(40.0, None), 100, |w| matches!(w, Refused::Wind { .. }));
    check(
        "a gust below the wind",
        |s| s.wind = wind(5.0, Some(3.0)),
        100,
        |w| matches!(w, Refused::Gust { .. }),
    );
    check(
        "a throw like a gun",
        |s| s.scatter.set(Input::Speed, Spread::new(90.0, 1.0)),
        100,
        |w| matches!(w, Refused::Input { input: Input::Speed, .. }),
    );
    check(
        "not a number",
        |s| s.scatter.set(Input::Bank, Spread::new(f64::NAN, 1.0)),
        100,
        |w| matches!(w, Refused::Input { input: Input::Bank, .. }),
    );
    check(
        "scatter below zero",
        |s| s.scatter.set(Input::Bank, Spread::new(0.0, -1.0)),
        100,
        |w| matches!(w, Refused::Input { .. }),
    );
    check("two steps a second", |s| s.rate_hz = 2.0, 100, |w| matches!(w, Refused::Step { .. }));
    check("no time", |s| s.seconds = 0.0, 100, |w| matches!(w, Refused::Time { .. }));
    check("three times full throttle", |s| s.throttle = 3.0, 100, |w| matches!(w, Refused::Throttle { .. }));
    check("no launches", |_| {}, 0, |w| matches!(w, Refused::Runs { .. }));
}

#[test]
fn a_drive_without_thrust_is_refused() {
    let (aircraft, p) = wheatear();
    let mut dead = p.clone();
    if let Some(thrust) = &mut dead.model.thrust {
        thrust.thrust_n.iter_mut().for_each(|t| *t = 0.0);
    }
    let scene = Scene::usual(aircraft, &dead, CALM);
    let why = odds(aircraft, &dead, &scene, 100, 1).unwrap_err();
    assert!(why.iter().any(|w| matches!(w, Refused::NoThrust { .. })), "{why:?}");
}
