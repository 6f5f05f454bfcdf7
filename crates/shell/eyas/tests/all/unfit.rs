//! What `eyas predict` says of aircraft that should not fly, and how it tells gains in a builder's own settings.

use crate::bench::{Bench, example};

/// The demo aircraft with the line of some keys written anew (an empty one is taken away); each key must be there.
#[track_caller]
fn changed(changes: &[(&str, &str)]) -> String {
    let mut lines: Vec<String> = example("wheatear.toml").lines().map(str::to_owned).collect();
    for (key, line) in changes {
        let is_it = |l: &&mut String| l.split('=').next().is_some_and(|k| k.trim() == *key);
        *lines.iter_mut().find(is_it).unwrap_or_else(|| panic!("no {key}")) = (*line).to_owned();
    }
    lines.join("\n")
}

#[test]
fn the_finding_is_the_first_line_and_the_status_is_one() {
    let cases = [
        ("behind the neutral point", changed(&[("balance_x_mm", "balance_x_mm = 390")])),
        ("Thrust is below drag", changed(&[("cells", "cells = 1")])),
        ("never-exceed", changed(&[("never_exceed_m_s", "never_exceed_m_s = 5"), ("cruise_m_s", "")])),
    ];
    for (finding, text) in cases {
        let bench = Bench::new();
        bench.write("bad.toml", text);
        let told = bench.run(&["predict", "bad.toml", "--report", "bad.html"]).expect_status(1).out();
        // The finding itself may break over lines; all lines before the title are findings.
        let first = told.split("predictions, ±").next().unwrap().replace('\n', " ");
        assert!(first.starts_with("NOT FIT TO FLY: ") && first.contains(finding), "{told}");
        for word in ["NaN", " inf"] {
            assert!(!told.contains(word), "{word} in {told}");
        }
        let document = bench.run(&["predict", "bad.toml", "--json"]).expect_status(1).json();
        let against = document["against"].as_array().unwrap();
        assert!(against.iter().any(|a| a.as_str().unwrap().contains(finding)), "{against:?}");
        assert!(document["speeds"]["stall_m_s"]["value"].as_f64().unwrap() > 1.0, "what can be predicted is");
        let page = bench.read("bad.html");
        assert!(
            page.contains("What stands against a flight") && page.contains("Not fit to fly"),
            "{finding}"
        );
    }
}

#[test]
fn a_fit_aircraft_tells_throws_doubts_and_lines_to_enter() {
    let bench = Bench::new();
    bench.write("wheatear.toml", example("wheatear.toml"));
    bench.write("scale.toml", example("scale.toml"));
    let document =
        bench.run(&["predict", "wheatear.toml", "--scale", "scale.toml", "--json"]).expect_status(0).json();
    assert_eq!(document["against"].as_array().unwrap().len(), 0);
    let lines = document["gains"]["lines"].as_array().unwrap();
    assert_eq!(lines.len(), 7);
    // The table counts in thousandths: the line is the gain times a thousand, rounded.
    let gain = document["gains"]["roll"]["proportional_deg_per_deg_s"].as_f64().unwrap();
    let line = lines.iter().find(|l| l["quantity"] == "roll.proportional").unwrap();
    assert_eq!(line["name"], "BANK STIFFNESS");
    assert!((line["value"].as_f64().unwrap() - (1000.0 * gain).round()).abs() < 1e-9, "{line} {gain}");
    assert_eq!(document["authority"]["throws"].as_array().unwrap().len(), 12);
    assert_eq!(document["motions"].as_array().unwrap().len(), 6);
    assert_eq!(document["balance"]["limits"].as_array().unwrap().len(), 6);
    assert!(document["doubts"].as_array().unwrap().len() >= 10);
}

#[test]
fn a_gain_outside_the_setting_is_refused_and_a_faulty_table_told_by_line() {
    let bench = Bench::new();
    bench.write("wheatear.toml", example("wheatear.toml"));
    let table = example("scale.toml");
    bench.write("small.toml", table.replacen("high = 500", "high = 5", 1));
    let told = bench.run(&["predict", "wheatear.toml", "--scale", "small.toml"]).expect_status(1).out();
    assert!(
        told.contains("BANK LEAD: none") && told.replace("\n  ", " ").contains("not cut to the limit"),
        "{told}"
    );
    bench.write("faulty.toml", table.replacen("factor = 1000", "factor = 0", 1));
    let told = bench.run(&["predict", "wheatear.toml", "--scale", "faulty.toml"]).expect_status(2).err();
    assert!(told.contains("line ") && told.contains("BANK LEAD"), "{told}");
}
