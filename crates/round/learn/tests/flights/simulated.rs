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

/// A flight of some five minutes: four straight legs in direct, two circles each way, four more legs a little faster.
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
    let leg = |heading: f64, seconds: f64, speed: f64| {
        format!(
            "[[step]]\ndo = \"straight\"\nacts = \"direct\"\nheading_deg = {:.0}\nseconds = {seconds}\nairspeed_m_s = {speed}\n",
            heading.rem_euclid(360.0)
        )
    };
    for off in [0.0, 90.0, 180.0, 270.0] {
        text += &leg(into_wind + off, 16.0, REFERENCE_M_S);
    }
    for side in ["left", "right"] {
        text += &format!(
            "[[step]]\ndo = \"turn\"\nacts = \"level\"\nbank_deg = 30\ndegrees = 740\nside = \"{side}\"\nairspeed_m_s = {REFERENCE_M_S}\n"
        );
    }
    for off in [0.0, 90.0, 180.0, 270.0] {
        text += &leg(into_wind + off, 16.0, REFERENCE_M_S + 1.5);
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
    match &found.wind {
        Ok(wind) => {
            // The truth is told at the mean height of legs and turns, the finding at the median of what it used; between
            // them the script's logarithmic profile over 0.03 m.
            let grows = wind.height_m.map_or(1.0, |h| (h / 0.03).ln() / (truth.flying_height_m / 0.03).ln());
            println!(
                "    height {:.1}, change {:?}",
                wind.height_m.unwrap_or(0.0),
                wind.change_with_height_per_s.as_ref().map(|c| (c.value, c.sd))
            );
            held.push(Held {
                what: "wind speed".into(),
                error: wind.speed_m_s.value - grows * truth.wind_speed_m_s,
                sd: wind.speed_m_s.sd,
                limit: 0.5,
            });
            if truth.wind_speed_m_s > 1.0 {
                held.push(Held {
                    what: "wind direction".into(),
                    error: wrap_rad(wind.from_deg.value * RAD_PER_DEG - truth.wind_from_rad) * DEG_PER_RAD,
                    sd: wind.from_deg.sd,
                    limit: 10.0,
                });
            }
            if let Some(factor) = &wind.airspeed_factor {
                held.push(Held {
                    what: "airspeed factor".into(),
                    error: factor.value * truth.airspeed_factor - 1.0,
                    sd: factor.sd,
                    limit: 0.03,
                });
            }
        }
        Err(why) => println!("seed {} no wind: {why:?}", truth.seed),
    }
    match &found.level_attitude {
        Ok(level) => held.push(Held {
            what: "level attitude".into(),
            error: level.correction_deg.value - truth.level_correction_rad * DEG_PER_RAD,
            sd: level.correction_deg.sd,
            limit: 0.3,
        }),
        Err(why) => println!("seed {} no level attitude: {why:?}", truth.seed),
    }
    match &found.trims {
        Ok(trims) => {
            for trim in trims {
                let so = truth.trims.iter().find(|t| t.channel == trim.channel).unwrap();
                held.push(Held {
                    what: format!("trim {}", trim.channel),
                    error: trim.us.value - so.us_from_centre,
                    sd: trim.us.sd,
                    limit: 0.01 * aircraft.movables[0].servo.travel_us,
                });
            }
        }
        Err(why) => println!("seed {} no trims: {why:?}", truth.seed),
    }
    held
}

#[test]
fn the_truth_of_fifty_flights_is_found_within_its_doubt() {
    let mut all: std::collections::BTreeMap<String, Vec<Held>> = std::collections::BTreeMap::new();
    for seed in 1..=50 {
        let (aircraft, flight) = flown(seed);
        let recording = flight.recording();
        let begin = std::time::Instant::now();
        let found = learn::learn(&aircraft, None, &recording);
        let took = begin.elapsed();
        let held = hold(&aircraft, &flight, &found);
        let t = &flight.truth;
        println!(
            "seed {seed}: {:.0} s, learnt in {took:?}, wind {:.1} from {:.0} at {:.0} m; {}",
            recording.span_s().unwrap().1,
            t.wind_speed_m_s,
            t.wind_from_rad * DEG_PER_RAD,
            t.flying_height_m,
            found.wind.as_ref().map_or(String::new(), |w| w.speed_m_s.verdict.clone()),
        );
        for h in held {
            println!(
                "    {:22} {:8.3} ({:.3}) {}",
                h.what,
                h.error,
                h.sd,
                if h.error.abs() > 2.0 * h.sd { "<<<" } else { "" }
            );
            all.entry(h.what.clone()).or_default().push(h);
        }
    }
    for (what, held) in &all {
        let n = held.len();
        let within = held.iter().filter(|h| h.error.abs() <= 2.0 * h.sd).count();
        let good = held.iter().filter(|h| h.error.abs() <= h.limit).count();
        let rms = (held.iter().map(|h| h.error * h.error).sum::<f64>() / n as f64).sqrt();
        let bias = held.iter().map(|h| h.error).sum::<f64>() / n as f64;
        let sd = (held.iter().map(|h| h.sd * h.sd).sum::<f64>() / n as f64).sqrt();
        println!(
            "{what:22} n {n} within 2 sd {within}, within limit {good}; rms {rms:.3} mean {bias:.3} told sd {sd:.3}"
        );
    }
}
