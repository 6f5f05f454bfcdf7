//! What would help most, and what would hurt? Each change is flown with the same random numbers as the scene as it
//! stands, and told as the change of the odds with its interval.

use aircraft::Aircraft;
use aircraft::controller::Acts;
use numerics::frames::wrap_rad;
use numerics::units::{DEG_PER_RAD, RAD_PER_DEG};

use super::flight::Launching;
use super::inputs::{Input, Spread};
use super::scene::{Method, RUN_ADDS_M_S, Scene, propeller_behind};
use super::table::in_wind;
use super::tally::{Gain, Launches, Plan, Progress, gain, run};

/// One change and what it does.
#[derive(Debug, Clone, PartialEq)]
pub struct Help {
    /// What is changed, in the words of a pilot.
    pub what: String,
    /// Change of the probability of a clean launch.
    pub gain: Gain,
}

/// Changes that can be made to a scene, each with its words.
#[must_use]
pub fn changes(aircraft: &Aircraft, launching: &Launching) -> Vec<(String, Scene)> {
    let scene = launching.scene();
    let mut out: Vec<(String, Scene)> = Vec::new();
    let mut add = |what: &str, change: &dyn Fn(&mut Scene)| {
        let mut other = *scene;
        change(&mut other);
        if other != *scene {
            out.push((what.to_owned(), other));
        }
    };
    let shift = |input: Input, by: f64| {
        move |s: &mut Scene| {
            let mean = s.scatter.of(input).mean;
            s.scatter = s.scatter.with_mean(input, mean + by);
        }
    };
    if launching.model.thrust.is_some() && scene.throttle > 0.0 {
        let delay = scene.scatter.of(Input::MotorDelay).mean;
        if delay > 0.15 {
            add(
                if propeller_behind(aircraft) {
                    "motor 0.2 s earlier (never before the hand is clear of the propeller)"
                } else {
                    "motor running before the throw"
                },
                &|s| {
                    let mean = if propeller_behind(aircraft) { (delay - 0.2).max(0.05) } else { -1.0 };
                    s.scatter.set(Input::MotorDelay, Spread::new(mean, if mean < 0.0 { 0.0 } else { 0.12 }));
                },
            );
        }
        add("motor half a second later", &|s| {
            s.scatter.set(Input::MotorDelay, Spread::new(delay.max(0.0) + 0.5, 0.12));
        });
        if scene.throttle < 0.95 {
            add("full throttle", &|s| s.throttle = 1.0);
        }
    }
    add("elevator trimmed 2° more nose-down", &shift(Input::ElevatorOff, 2.0 * RAD_PER_DEG));
    add("elevator trimmed 2° more nose-up", &shift(Input::ElevatorOff, -2.0 * RAD_PER_DEG));
    let chord_m = launching.model.aerodynamics.mean_chord_m;
    add(
        &format!("balance point {:.0} mm farther forward", 50.0 * chord_m),
        &shift(Input::BalanceAft, -0.05 * chord_m),
    );
    add("climb attitude 5° lower", &|s| s.climb_pitch_rad -= 5.0 * RAD_PER_DEG);
    add("climb attitude 5° higher", &|s| s.climb_pitch_rad += 5.0 * RAD_PER_DEG);
    match &scene.method {
        Method::Hand => {
            add("the thrower runs (2.5 m/s more)", &shift(Input::Speed, RUN_ADDS_M_S));
            add("thrown 5° higher", &shift(Input::Elevation, 5.0 * RAD_PER_DEG));
        }
        Method::Bungee(cord) => {
            let more = scene.scatter.of(Input::Speed).mean * (2.0 / cord.stretch_m);
            add("cord stretched 2 m farther", &shift(Input::Speed, more));
        }
        Method::Rail(_) => {
            add(
                "10 percent faster off the rail",
                &shift(Input::Speed, 0.1 * scene.scatter.of(Input::Speed).mean),
            );
        }
        Method::Rolling(_) => {
            add("lifted off 1 m/s later", &shift(Input::Speed, 1.0));
        }
    }
    let wind = scene.wind.speed_m_s;
    if wind >= 1.0 {
        let less = wind.min(2.0);
        add(&format!("{less:.0} m/s less wind, gusts in proportion"), &|s| *s = in_wind(s, wind - less));
        add("2 m/s more wind, gusts in proportion", &|s| *s = in_wind(s, wind + 2.0));
        add("in a lull: gusts half as strong", &|s| {
            // Without a told gust the turbulence of such a wind is about a fifth of it, peaks three times that above it.
            let above = s.wind.gust_m_s.map_or(0.58 * wind, |gust| gust - wind);
            s.wind.gust_m_s = Some(wind + 0.5 * above);
        });
        let off = wrap_rad(scene.heading_rad - scene.wind.from_rad).abs();
        if off > 15.0 * RAD_PER_DEG {
            add(&format!("straight into the wind instead of {:.0}° off it", off * DEG_PER_RAD), &|s| {
                s.heading_rad = s.wind.from_rad
            });
        }
    }
    if scene.acts != Acts::Level && aircraft.controller.switch.iter().any(|s| s.acts == Acts::Level) {
        add("the controller holds wings and climb attitude (level)", &|s| s.acts = Acts::Level);
    }
    if scene.acts == Acts::Level {
        add("flown by hand in direct instead", &|s| s.acts = Acts::Direct);
    }
    out
}

/// Each change flown with the random numbers of `base`; the greatest gain first. `None` when told to stop.
pub fn helps(
    aircraft: &Aircraft,
    launching: &Launching,
    base: &Launches,
    runs: u64,
    seed: u64,
    go_on: &mut dyn FnMut(u64) -> bool,
) -> Option<Vec<Help>> {
    let mut list = Vec::new();
    for (what, scene) in changes(aircraft, launching) {
        let plan = Plan { runs, seed, precision: None, traces: false };
        let other = run(&launching.in_scene(&scene), &scene.scatter, &plan, &mut |_: Progress| true);
        list.push(Help { what, gain: gain(base, &other) });
        if !go_on(runs) {
            return None;
        }
    }
    list.sort_by(|a, b| b.gain.change.total_cmp(&a.gain.change));
    Some(list)
}
