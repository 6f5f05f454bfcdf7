//! `eyas launch`: the keys that scripts rely on, the same bytes for the same seed, and a clear no.

use crate::bench::{Bench, example};

fn bench() -> Bench {
    let bench = Bench::new();
    bench.write("wheatear.toml", example("wheatear.toml"));
    bench
}

const WIND: [&str; 8] = ["--wind", "4", "--gust", "7", "--wind-from", "240", "--heading", "240"];

#[test]
fn odds_have_their_keys_add_up_and_repeat() {
    let bench = bench();
    let run = |seed: &str| {
        let mut arguments =
            vec!["launch", "wheatear.toml", "--runs", "120", "--seed", seed, "--quick", "--json"];
        arguments.extend(WIND);
        bench.run(&arguments).out()
    };
    let (one, again, other) = (run("7"), run("7"), run("8"));
    assert_eq!(one, again);
    assert_ne!(one, other);
    let document: serde_json::Value = serde_json::from_str(&one).unwrap();
    assert_eq!(document["runs"], 120);
    assert_eq!(document["seed"], 7);
    let number = |key: &str| document["clean"][key].as_f64().unwrap();
    assert!(number("low") <= number("probability") && number("probability") <= number("high"));
    let counts: u64 =
        document["outcomes"].as_object().unwrap().values().map(|o| o["count"].as_u64().unwrap()).sum();
    assert_eq!(counts, 120);
    assert!(document["drivers"].as_array().unwrap().iter().all(|d| d["input"].is_string()));
    assert!(!one.contains("NaN"));
}

#[test]
fn a_launch_that_hardly_works_is_a_no_with_its_reasons_and_a_page() {
    let bench = bench();
    let run = bench.run(&[
        "launch",
        "wheatear.toml",
        "--runs",
        "60",
        "--set",
        "motor-delay=4:0.2",
        "--report",
        "launch.html",
    ]);
    let told = run.expect_status(1).out();
    assert!(told.contains("No: fewer than 90 of 100") && told.contains("propeller"), "{told}");
    let page = bench.read("launch.html");
    assert!(
        page.contains("Height, m") && page.contains("Airspeed, m/s") && !page.contains("NaN"),
        "a page with named axes"
    );
    // The only address in it is the name of the drawing language.
    assert!(!page.contains("<script"));
    assert_eq!(page.matches("http").count(), page.matches("http://www.w3.org/2000/svg").count());
}

#[track_caller]
fn check(arguments: &[&str], status: i32, words: &[&str]) {
    let bench = bench();
    let mut all = vec!["launch", "wheatear.toml", "--quick"];
    all.extend(arguments);
    if !arguments.contains(&"--runs") {
        all.extend(["--runs", "20"]);
    }
    let told = bench.run(&all).expect_status(status).err();
    for word in words {
        assert!(told.contains(word), "{arguments:?}: \"{word}\" is not in: {told}");
    }
}

#[test]
fn what_cannot_be_is_told() {
    check(&["--wind", "30"], 1, &["as fast as the aircraft"]);
    check(&["--wind", "5", "--gust", "3"], 2, &["strongest wind"]);
    check(&["--gust", "3"], 2, &["--wind"]);
    check(&["--throw-speed", "80"], 2, &["--throw-speed", "36.6"]);
    check(&["--how", "balloon"], 2, &["--how balloon", "hand", "rail"]);
    check(&["--acts", "magic"], 2, &["level, rate or direct"]);
    check(&["--set", "bnak=3"], 2, &["bnak", "bank (deg)"]);
    check(&["--set", "bank=3:x"], 2, &["--set bank=3:x"]);
    check(&["--step-hz", "25"], 2, &["steps a second"]);
    check(&["--runs", "0"], 2, &["choose 1 to"]);
}
