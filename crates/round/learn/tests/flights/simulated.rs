//! Flights flown by the equations of motion with a noisy pilot, sensors and air: is the truth found, and is the doubt
//! right?

use aircraft::Aircraft;
use fly::simulated::{Flight, Script, fly};
use learn::findings::Findings;
use numerics::frames::wrap_rad;
use numerics::random::Random;
use numerics::units::{DEG_PER_RAD, RAD_PER_DEG};

use crate::model;

/// Speed that the flights are trimmed for, m/s.
const REFERENCE_M_S: f64 = 13.0;

/// A flight of five minutes, or of eight in gusts: four straight legs in direct, two circles each way, four more legs a little faster.
fn script(seed: u64) -> String {
    let mut random = Random::new(seed, 77);
    let mut between = |low: f64, high: f64| random.uniform(low, high);
    let wind = between(0.0, 8.0);
    let from = between(0.0, 360.0);
    let gusts = between(0.02, 0.1);
    let sensor = between(0.0, 1.0) < 0.7;
    let mut text = format!(
        "seed = {seed}\nlog_hz = 50\nreference_speed_m_s = {REFERENCE_M_S}\n\
         [wind]\nspeed_m_s = {wind:.2}\nfrom_deg = {from:.0}\nroughness_m = 0.03\ngust_intensity = {gusts:.3}\n\
         [sensors]\nairspeed = {sensor}\ngps_delay_s = {:.2}\n\
         [hidden]\nmounting_pitch_deg = {:.2}\nmounting_roll_deg = {:.2}\nairspeed_factor = {:.3}\n\
         drag_factor = {:.2}\nlift_factor = {:.2}\n",
        between(0.1, 0.4),
        between(-3.0, 3.0),
        between(-1.0, 1.0),
        between(0.93, 1.07),
        between(0.9, 1.15),
        between(0.95, 1.05),
    );
    for (movable, side) in
        [("elevator", "only"), ("aileron", "right"), ("aileron", "left"), ("rudder", "only")]
    {
        text += &format!(
            "[[hidden.offset]]\nmovable = \"{movable}\"\nside = \"{side}\"\ndeg = {:.2}\n",
            between(-1.5, 1.5)
        );
    }
    text += "[[step]]\ndo = \"launch\"\nacts = \"level\"\n[[step]]\ndo = \"climb\"\nheight_m = 60\n";
    let into_wind = from.round();
    // Vertical gusts (MIL-F-8785C: `gusts` of the wind) of 0.3 m/s tilt the flight path by 1.3 degrees at 13 m/s for some
    // 4 s: the mean of two minutes of legs then wanders by 1.3 sqrt(2 · 4 / 128) = 0.3 degrees. A pilot is told so, and
    // flies longer.
    let seconds = if gusts * wind > 0.3 { 32.0 } else { 16.0 };
    let leg = |heading: f64, seconds: f64, speed: f64| {
        format!(
            "[[step]]\ndo = \"straight\"\nacts = \"direct\"\nheading_deg = {:.0}\nseconds = {seconds}\nairspeed_m_s = {speed}\n",
            heading.rem_euclid(360.0)
        )
    };
    for off in [0.0, 90.0, 180.0, 270.0] {
        text += &leg(into_wind + off, seconds, REFERENCE_M_S);
    }
    for side in ["left", "right"] {
        text += &format!(
            "[[step]]\ndo = \"turn\"\nacts = \"level\"\nbank_deg = 30\ndegrees = 740\nside = \"{side}\"\nairspeed_m_s = {REFERENCE_M_S}\n"
        );
    }
    for off in [0.0, 90.0, 180.0, 270.0] {
        text += &leg(into_wind + off, seconds, REFERENCE_M_S + 1.5);
    }
    text + "[[step]]\ndo = \"return\"\nacts = \"level\"\n[[step]]\ndo = \"approach\"\n[[step]]\ndo = \"land\"\n"
}

fn flown(seed: u64) -> (Aircraft, Flight) {
    let mut aircraft = model::aircraft();
    aircraft.limits.cruise_m_s = Some(REFERENCE_M_S);
    let script = Script::read(&script(seed)).unwrap_or_else(|e| panic!("{e:?}"));
    let flight =
        fly(&aircraft, &model::force_model(), &script).unwrap_or_else(|e| panic!("seed {seed}: {e:?}"));
    (aircraft, flight)
}

/// One number held against its truth.
struct Held {
    what: String,
    error: f64,
    sd: f64,
    limit: f64,
}

fn hold(aircraft: &Aircraft, flight: &Flight, found: &Findings) -> Vec<Held> {
    let truth = &flight.truth;
    let mut held = Vec::new();
    let mut add = |what: String, error: f64, sd: f64, limit: f64| {
        held.push(Held { what, error, sd, limit });
    };
    let wind = found.wind.as_ref().unwrap_or_else(|why| panic!("seed {}: {why:?}", truth.seed));
    // The truth is told at the mean height of legs and turns, the finding at the median height of what it used; between
    // them lies the script's logarithmic profile over 0.03 m.
    let grows = wind.height_m.map_or(1.0, |h| (h / 0.03).ln() / (truth.flying_height_m / 0.03).ln());
    add(
        "wind speed, m/s".into(),
        wind.speed_m_s.value - grows * truth.wind_speed_m_s,
        wind.speed_m_s.sd,
        0.5,
    );
    // A weaker wind has no direction worth the name.
    if truth.wind_speed_m_s > 1.0 {
        let off = wrap_rad(wind.from_deg.value * RAD_PER_DEG - truth.wind_from_rad) * DEG_PER_RAD;
        add("wind direction, deg".into(), off, wind.from_deg.sd, 10.0);
    }
    if let Some(triangle) = &wind.triangle {
        let so = -grows * truth.wind_speed_m_s * truth.wind_from_rad.cos();
        add("wind by triangle, north, m/s".into(), triangle.velocity_m_s[0] - so, triangle.sd_m_s[0], 0.5);
    }
    if let Some(factor) = &wind.airspeed_factor {
        // The script's factor is sensor over truth, the finding's truth over sensor.
        add("airspeed factor".into(), factor.value - 1.0 / truth.airspeed_factor, factor.sd, 0.03);
    }
    let level = found.level_attitude.as_ref().unwrap_or_else(|why| panic!("seed {}: {why:?}", truth.seed));
    add(
        "level attitude, deg".into(),
        level.correction_deg.value - truth.level_correction_rad * DEG_PER_RAD,
        level.correction_deg.sd,
        0.3,
    );
    let trims = found.trims.as_ref().unwrap_or_else(|why| panic!("seed {}: {why:?}", truth.seed));
    assert_eq!(trims.len(), 4);
    for trim in trims {
        let so = truth.trims.iter().find(|t| t.channel == trim.channel).unwrap();
        add(
            format!("trim of {}, us", trim.channel),
            trim.us.value - so.us_from_centre,
            trim.us.sd,
            0.01 * aircraft.movables[0].servo.travel_us,
        );
    }
    held
}

/// Everything held of the flights of some seeds.
fn held_of(seeds: impl Iterator<Item = u64>) -> Vec<Held> {
    seeds
        .flat_map(|seed| {
            let (aircraft, flight) = flown(seed);
            hold(&aircraft, &flight, &learn::learn(&aircraft, None, &flight.recording()))
        })
        .collect()
}

#[test]
fn the_truth_of_fifty_flights_is_found_and_the_doubt_of_it_is_right() {
    // Doubt: two sigma of a normal error hold in 95.4 %; asked for are 90 % of the flights, for each number by itself.
    // Limits: 0.5 m/s, 10 degrees, 3 %, 0.3 degrees, 1 % of travel, each in 95 % of the flights; but for the level
    // attitude in 90 %: in a wind of 8 m/s the vertical gusts (MIL-F-8785C: a tenth of the wind at 6 m, 0.56 m/s at 60 m)
    // are up to 2.5 degrees of flight path at 13 m/s and last 4 s, so that the mean of four minutes of legs still wanders
    // by 2.5 sqrt(2 · 4 / 256) = 0.4 degrees.
    let (odd, even) = std::thread::scope(|threads| {
        let odd = threads.spawn(|| held_of((1..=50).step_by(2)));
        let even = threads.spawn(|| held_of((2..=50).step_by(2)));
        (odd.join().unwrap(), even.join().unwrap())
    });
    let mut all: std::collections::BTreeMap<String, Vec<Held>> = std::collections::BTreeMap::new();
    for h in odd.into_iter().chain(even) {
        all.entry(h.what.clone()).or_default().push(h);
    }
    assert_eq!(all.len(), 9);
    for (what, held) in &all {
        let n = held.len();
        let within = held.iter().filter(|h| h.error.abs() <= 2.0 * h.sd).count();
        let good = held.iter().filter(|h| h.error.abs() <= h.limit).count();
        let rms =
            |f: &dyn Fn(&Held) -> f64| (held.iter().map(|h| f(h).powi(2)).sum::<f64>() / n as f64).sqrt();
        println!(
            "{what:24} of {n} flights {within} within two sigma, {good} within the limit; error {:.3}, told {:.3}",
            rms(&|h| h.error),
            rms(&|h| h.sd)
        );
        assert!(10 * within >= 9 * n, "{what}: {within} of {n} within two sigma");
        let twentieths = if what.starts_with("level") { 18 } else { 19 };
        assert!(20 * good >= twentieths * n, "{what}: {good} of {n} within {}", held[0].limit);
        // No doubt so wide that it says nothing: on the whole no more than the limit.
        assert!(rms(&|h| h.sd) <= held[0].limit, "{what}");
    }
}
