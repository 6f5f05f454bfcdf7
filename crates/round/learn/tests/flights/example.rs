//! The example aircraft, predicted and flown as its scripts say: what the demo shows must be the truth.

use aircraft::Aircraft;
use aircraft::schema;
use fly::simulated::{Script, fly};
use numerics::units::DEG_PER_RAD;
use predict::{Conditions, predict};

fn wheatear() -> Aircraft {
    schema::read(include_str!("../../../../../examples/wheatear.toml"), &|_| None)
        .unwrap_or_else(|faults| panic!("{faults:?}"))
}

#[track_caller]
fn check(script: &str, level_limit_deg: f64) {
    let aircraft = wheatear();
    let prediction = predict(&aircraft, &Conditions::default()).unwrap_or_else(|e| panic!("{e:?}"));
    let script = Script::read(script).unwrap_or_else(|e| panic!("{e:?}"));
    let flight = fly(&aircraft, &prediction.model, &script).unwrap_or_else(|e| panic!("{e:?}"));
    let found = learn::learn(&aircraft, Some(&prediction), &flight.recording());
    let truth = &flight.truth;
    println!("{}", flight.truth_toml());
    match &found.wind {
        Ok(wind) => {
            println!(
                "{:.2} ± {:.2} from {:.0}; height {:?}; {:?}; {:?}; {}",
                wind.speed_m_s.value,
                wind.speed_m_s.sd,
                wind.from_deg.value,
                wind.height_m,
                wind.triangle,
                wind.change_with_height_per_s.as_ref().map(|c| (c.value, c.sd)),
                wind.speed_m_s.verdict
            );
            let off = wind.speed_m_s.value - truth.wind_speed_m_s;
            // Half a meter a second, or three sigma where gusts leave a short flight less sure of it.
            assert!(off.abs() < f64::max(0.5, 3.0 * wind.speed_m_s.sd), "{off}");
        }
        Err(why) => println!("{why:?}"),
    }
    match &found.level_attitude {
        Ok(level) => {
            println!("{:?}", level.correction_deg);
            let off = level.correction_deg.value - truth.level_correction_rad * DEG_PER_RAD;
            println!("off by {off}");
            assert!(off.abs() < level_limit_deg.max(3.0 * level.correction_deg.sd), "{off}");
        }
        Err(why) => println!("{why:?}"),
    }
    match &found.trims {
        Ok(trims) => {
            for trim in trims {
                let so = truth.trims.iter().find(|t| t.channel == trim.channel).unwrap();
                println!("{} {:?} truth {}", trim.channel, trim.us, so.us_from_centre);
                // One per cent of travel.
                let off = trim.us.value - so.us_from_centre;
                assert!(off.abs() < f64::max(4.2, 3.0 * trim.us.sd), "{}", trim.us.verdict);
            }
        }
        Err(why) => println!("{why:?}"),
    }
    for change in &found.changes {
        println!("{change:?}");
    }
}

#[test]
fn the_second_flight_of_the_example_teaches_what_is_so() {
    check(include_str!("../../../../../examples/second-flight.toml"), 0.3);
}

#[test]
fn the_first_flight_of_the_example_teaches_what_is_so() {
    check(include_str!("../../../../../examples/first-flight.toml"), 0.3);
}
