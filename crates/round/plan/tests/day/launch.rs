//! What simulated launches make of a day.

use plan::day::judge::Standing;
use plan::day::limits::Own;
use plan::day::{Computed, Launch, LaunchOdds, Moment, Verdict};
use sky::taf::Kind;

use super::{FINE, judge, moment};

#[test]
fn simulated_launches_count_by_the_low_end_of_their_interval() {
    let with = |launch: Launch| {
        let mut moment = moment(FINE);
        moment.sights[0].launch = launch;
        moment
    };
    // Wilson, z = 1.96: 480 of 500 leave 93.9 to 97.4 %, 400 of 500 leave 76.3 to 83.3 % (formula by hand).
    let odds = |clean: f64, low: f64, high: f64| {
        Launch::Computed(Computed {
            clean,
            low,
            high,
            runs: 500,
            which: "thrown by hand straight into 2.5 m/s".to_owned(),
            driver: Some("release speed".to_owned()),
        })
    };
    let reason = |moment: &Moment, flights: usize| {
        let day = judge(moment, flights, &Own::new());
        (day.verdict, day.reasons.into_iter().find(|r| r.key == "launch_percent"))
    };
    let fair = with(odds(0.96, 0.939, 0.974));
    let (verdict, told) = reason(&fair, 0);
    let told = told.unwrap();
    assert_eq!((verdict, told.standing), (Verdict::Part, Standing::Part), "96 % clean, but not surely 95 %");
    for words in ["93.9", "96.0", "500", "97.4", "release speed", "less than the 95"] {
        assert!(told.text.contains(words), "{words}: {}", told.text);
    }
    assert!(told.source.contains("METAR") && told.from.contains("common practice"));
    assert_eq!(reason(&fair, 3).0, Verdict::Go, "a later flight asks for 90 %");
    let poor = with(odds(0.8, 0.763, 0.833));
    assert_eq!(reason(&poor, 0).1.unwrap().standing, Standing::Against);
    // What was told counts in place of what was simulated.
    let told = Moment { odds: Some(LaunchOdds { low: 0.99 }), ..poor.clone() };
    assert_eq!(reason(&told, 0).1.unwrap().source, "command line");
    let refused = with(Launch::Refused("no surface moves".to_owned()));
    let (verdict, why) = reason(&refused, 3);
    assert!(verdict == Verdict::Part && why.unwrap().text.contains("no surface moves"));
    // A wind that is merely possible leaves a part of a later flight.
    let mut perhaps = poor;
    perhaps.sights[0].kind = Kind::Probable(30);
    perhaps.sights.push(with(odds(1.0, 0.992, 1.0)).sights.remove(0));
    assert_eq!(reason(&perhaps, 3).1.unwrap().standing, Standing::Part);
    assert_eq!(reason(&perhaps, 0).1.unwrap().standing, Standing::Against);
    assert!(reason(&with(Launch::NotComputed), 0).1.is_none());
}
