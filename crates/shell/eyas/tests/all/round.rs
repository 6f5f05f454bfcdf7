//! The whole round from the command line, on the demo's aircraft and on files fresh from `eyas new`.

use serde_json::Value;

use crate::bench::{Bench, example};

/// Walks a dotted path.
#[track_caller]
fn at<'a>(document: &'a Value, path: &str) -> &'a Value {
    path.split('.').fold(document, |value, key| {
        value.get(key).unwrap_or_else(|| panic!("{path} is missing in {document:#}"))
    })
}

/// A number, plain or with its doubt.
#[track_caller]
fn number(document: &Value, path: &str) -> f64 {
    let value = at(document, path);
    value.as_f64().or_else(|| value["value"].as_f64()).unwrap_or_else(|| panic!("{path} is {value}"))
}

/// The keys of a prediction that outsiders rely on.
const PREDICTION_KEYS: [&str; 28] = [
    "mass.total_kg",
    "balance.cg_x_m",
    "balance.neutral_point_x_m",
    "balance.static_margin_percent",
    "geometry.wing_area_m2",
    "geometry.mean_chord_m",
    "lift.slope_per_rad",
    "lift.cl_max",
    "speeds.stall_m_s",
    "speeds.cruise_m_s",
    "speeds.best_glide_m_s",
    "derivatives.CLa",
    "derivatives.Cma",
    "derivatives.Cmq",
    "derivatives.Clp",
    "derivatives.Clb",
    "derivatives.Cnb",
    "derivatives.Cnr",
    "derivatives.CYb",
    "derivatives.Clda",
    "derivatives.Cmde",
    "speeds.top_m_s",
    "drive.static_thrust_n",
    "drive.static_current_a",
    "drive.static_rpm",
    "drive.thrust_to_weight",
    "drive.endurance_s",
    "control.roll_rate_deg_s",
];

#[test]
fn every_layout_goes_from_a_new_file_to_a_card() {
    for layout in ["conventional", "t-tail", "v-tail", "inverted-v", "flying-wing", "twin-boom", "canard"] {
        let bench = Bench::new();
        bench.run(&["new", "Plover", "--layout", layout, "-o", "plover.toml"]).expect_status(0);
        let described = bench
            .run(&["describe", "plover.toml", "--drawing", "plover.svg", "--json"])
            .expect_status(0)
            .json();
        assert!(number(&described, "geometry.wing_area_m2") > 0.0);
        let drawing = bench.read("plover.svg");
        assert!(drawing.starts_with("<svg") || drawing.starts_with("<?xml"), "{layout}: no drawing");
        let p = bench
            .run(&["predict", "plover.toml", "--json", "--report", "plover.html"])
            .expect_status(0)
            .json();
        for key in PREDICTION_KEYS {
            assert!(number(&p, key).is_finite(), "{layout}: {key}");
        }
        // Signs that any aircraft fit to fly has: common practice, no source.
        for (key, sign) in [
            ("derivatives.CLa", 1.0),
            ("derivatives.Cma", -1.0),
            ("derivatives.Cmq", -1.0),
            ("derivatives.Clp", -1.0),
            ("derivatives.Cnb", 1.0),
            ("derivatives.Cnr", -1.0),
            ("derivatives.CYb", -1.0),
            ("derivatives.Clda", -1.0),
            ("derivatives.Cmde", -1.0),
        ] {
            assert!(number(&p, key) * sign > 0.0, "{layout}: {key} = {}", number(&p, key));
        }
        let [forward, aft] = [0, 1].map(|i| at(&p, "balance.range_x_m")[i].as_f64().unwrap());
        assert!(forward < aft, "{layout}: balance range {forward} to {aft}");
        assert_eq!(at(&p, "modes").as_array().unwrap().len(), 5, "{layout}: {}", at(&p, "modes"));
        bench.run(&["card", "plover.toml", "--wind", "2", "--gust", "3", "-o", "card.html"]).expect_status(0);
        assert!(bench.read("card.html").contains("Plover"), "{layout}");
    }
}

#[test]
fn what_was_hidden_is_found_adopted_and_gone_on_the_next_flight() {
    let bench = Bench::new();
    bench.write("wheatear.toml", example("wheatear.toml"));
    bench.write("script.toml", example("second-flight.toml"));
    bench.run(&["simulate", "wheatear.toml", "--script", "script.toml", "-o", "one.csv"]).expect_status(0);
    let truth: toml_edit::DocumentMut = bench.read("one.truth.toml").parse().unwrap();
    let hidden = |path: [&str; 2]| truth[path[0]][path[1]].as_float().unwrap();

    let read = bench.run(&["read", "one.csv", "--json"]).expect_status(0).json();
    assert!(read["channels"].as_array().unwrap().len() >= 20, "{read:#}");

    let found = bench
        .run(&["learn", "wheatear.toml", "one.csv", "--json", "--report", "one.html"])
        .expect_status(0)
        .json();
    for key in ["wind.speed_m_s", "wind.from_deg", "level_attitude.correction_deg"] {
        assert_eq!(at(&found, key)["enough"], true, "{key}: {:#}", at(&found, key));
    }
    // Bounds of the wind and of the level attitude as asked of a flight with this much in it.
    assert!((number(&found, "wind.speed_m_s") - hidden(["wind", "speed_m_s"])).abs() < 0.5);
    let correction = number(&found, "level_attitude.correction_deg");
    assert!((correction - hidden(["level_attitude", "correction_deg"])).abs() < 0.3);
    assert!(correction.abs() > 1.0, "the script hides a mounting error; found {correction}");

    let id = found["kept_as"].to_string();
    let shown = bench.run(&["adopt", "wheatear.toml", &id, "--show"]).expect_status(0);
    assert!(shown.out().contains("Nothing was changed"));
    assert_eq!(bench.read("wheatear.toml"), example("wheatear.toml"));
    let adopted = bench.run(&["adopt", "wheatear.toml", &id, "--json"]).expect_status(0).json();
    assert_eq!(adopted["adopted"], true);
    let revised = bench.read("wheatear.toml");
    // Comments stay.
    for line in example("wheatear.toml").lines().filter(|l| l.starts_with('#')) {
        assert!(revised.contains(line), "lost: {line}");
    }

    // The same flight with the revised aircraft reads level, and its trims are where they should be.
    bench.run(&["simulate", "wheatear.toml", "--script", "script.toml", "-o", "two.csv"]).expect_status(0);
    let again = bench.run(&["learn", "wheatear.toml", "two.csv", "--json"]).expect_status(0).json();
    assert!(number(&again, "level_attitude.correction_deg").abs() < 0.3);
    for trim in again["trims"].as_array().unwrap() {
        // One per cent of the travel either way, 8 µs of 800.
        assert!(number(trim, "us").abs() < 8.0, "{trim:#}");
    }

    // Learning once more from the first flight counts from the angle that was set then.
    let same = bench.run(&["learn", "wheatear.toml", "one.csv", "--json"]).expect_status(0).json();
    assert!(
        !same["changes"].as_array().unwrap().iter().any(|c| c["path"] == "controller.mounting_pitch_deg"),
        "{:#}",
        same["changes"]
    );

    // A second adoption of the first findings would undo nothing and repeat nothing: the file has moved on.
    bench.run(&["adopt", "wheatear.toml", &id]).expect_status(1).expect_err(&["was"]);

    let card = bench
        .run(&["card", "wheatear.toml", "--wind", "2", "-o", "card.html", "--json"])
        .expect_status(0)
        .json();
    let points: Vec<&str> =
        at(&card, "card.points").as_array().unwrap().iter().map(|p| p["id"].as_str().unwrap()).collect();
    for done in ["trim-level", "level-legs", "gentle-turns"] {
        assert!(!points.contains(&done), "{done} was flown and its findings were adopted: {points:?}");
    }

    let kept = bench.run(&["flights", "--json"]).expect_status(0).json();
    assert_eq!(kept["aircraft"][0]["recordings"].as_array().unwrap().len(), 2);
    // What is kept comes back byte for byte.
    bench.run(&["flights", "Wheatear", "--revision", "1", "-o", "first.toml"]).expect_status(0);
    assert_eq!(bench.read("first.toml"), example("wheatear.toml"));
    let recording = kept["aircraft"][0]["recordings"][0]["id"].to_string();
    bench.run(&["flights", "--recording", &recording, "-o", "back.csv"]).expect_status(0);
    assert_eq!(bench.read("back.csv"), bench.read("one.csv"));
    bench.run(&["flights", "--examine"]).expect_status(0);
    bench.run(&["backup", "copy.db"]).expect_status(0);
    assert!(bench.path("copy.db").exists());
}

#[test]
fn a_flight_can_be_read_through_its_own_kept_map() {
    let bench = Bench::new();
    bench.write("wheatear.toml", example("wheatear.toml"));
    bench.write("script.toml", example("first-flight.toml"));
    bench.run(&["simulate", "wheatear.toml", "--script", "script.toml", "-o", "one.csv"]).expect_status(0);
    let guessed = bench.run(&["read", "one.csv", "--guess"]).expect_status(0);
    bench.write("map.toml", guessed.out());
    let by_map =
        bench.run(&["learn", "wheatear.toml", "one.csv", "--map", "map.toml", "--no-keep", "--json"]);
    let by_guess = bench.run(&["learn", "wheatear.toml", "one.csv", "--no-keep", "--json"]);
    assert_eq!(by_map.expect_status(0).json(), by_guess.expect_status(0).json());
    assert!(!bench.path("hangar.db").exists());
}

#[test]
fn the_hangar_serves_an_aircraft_by_its_name() {
    let bench = Bench::new();
    bench.write("wheatear.toml", example("wheatear.toml"));
    bench.run(&["describe", "wheatear.toml", "--keep"]).expect_status(0);
    let by_name = bench.run(&["predict", "Wheatear", "--json"]).expect_status(0).json();
    let by_path = bench.run(&["predict", "wheatear.toml", "--json"]).expect_status(0).json();
    assert_eq!(by_name, by_path);
}

#[test]
fn a_section_from_a_coordinate_file_goes_with_the_aircraft_into_the_hangar() {
    let bench = Bench::new();
    // The flat-bottomed invented section is as thick as the digits that it replaces.
    let points = "own section\n1 0\n0.7 0.05\n0.4 0.08\n0.1 0.05\n0 0\n0.1 -0.02\n0.25 -0.025\n0.4 -0.02\n0.7 -0.01\n1 0\n";
    bench.write("own.dat", points);
    let text = example("wheatear.toml").replace("section = \"naca 3410\"", "section = \"own.dat\"");
    bench.write("wheatear.toml", &text);
    bench.run(&["describe", "wheatear.toml", "--keep"]).expect_status(0);
    std::fs::remove_file(bench.path("own.dat")).unwrap();
    bench.run(&["describe", "wheatear.toml"]).expect_status(1).expect_err(&["own.dat"]);
    bench.run(&["predict", "Wheatear"]).expect_status(0);
    // A name that leads out of the folder is none.
    bench.write("out.toml", text.replace("own.dat", "../own.dat"));
    bench.run(&["describe", "out.toml"]).expect_status(1).expect_err(&["../own.dat"]);
}
