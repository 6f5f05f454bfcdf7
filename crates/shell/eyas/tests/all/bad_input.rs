//! Bad input: a clear message with place and remedy, the exit status of the contract, and nothing lost.

use crate::bench::{Bench, example};

/// A bench with the example aircraft and something kept already.
fn bench_with_something_kept() -> Bench {
    let bench = Bench::new();
    bench.write("wheatear.toml", example("wheatear.toml"));
    bench.run(&["describe", "wheatear.toml", "--keep"]).expect_status(0);
    bench
}

/// An invented short log with plain headers.
fn good_log(rows: u32) -> String {
    let mut text =
        String::from("time_s,roll_deg,pitch_deg,heading_deg,velocity_north_m_s,velocity_east_m_s,height_m\n");
    for i in 0..rows {
        let t = f64::from(i) * 0.1;
        text.push_str(&format!("{t:.1},{:.2},2.0,90.0,0.0,13.0,50.0\n", (t * 0.7).sin()));
    }
    text
}

/// Learning from `bytes` must end with `status`, name what is wrong, and leave the hangar as it was.
#[track_caller]
fn check_recording(case: &str, bytes: impl AsRef<[u8]>, status: i32, words: &[&str]) {
    let bench = bench_with_something_kept();
    let before = bench.hangar_bytes();
    bench.write("log.csv", bytes);
    let run = bench.run(&["learn", "wheatear.toml", "log.csv"]).expect_status(status);
    let told = if status == 0 { run.out() } else { run.err() };
    for word in words {
        assert!(told.contains(word), "{case}: \"{word}\" is not in: {told}");
    }
    if status != 0 {
        assert!(told.contains("What to do"), "{case}: no remedy in: {told}");
        assert_eq!(before, bench.hangar_bytes(), "{case}: the hangar was touched");
    }
}

#[test]
fn an_empty_recording_is_refused() {
    check_recording("empty", "", 2, &["log.csv", "empty"]);
}

#[test]
fn a_binary_recording_is_refused() {
    let bytes: Vec<u8> = (0..4096_u32).map(|i| (i.wrapping_mul(2_654_435_761) >> 13) as u8).collect();
    check_recording("binary", bytes, 2, &["log.csv"]);
}

#[test]
fn a_recording_without_a_number_is_refused() {
    let mut text = String::from("time_s,roll_deg,pitch_deg\n");
    text.push_str(&"nan,nan,nan\n".repeat(50));
    check_recording("all not-a-number", text, 2, &["log.csv"]);
}

#[test]
fn a_map_with_the_wrong_delimiter_is_told() {
    let bench = bench_with_something_kept();
    let before = bench.hangar_bytes();
    bench.write("log.csv", good_log(50));
    bench.run(&["read", "log.csv", "--guess", "-o", "map.toml"]).expect_status(0);
    let map = bench.read("map.toml");
    assert!(map.contains("delimiter"), "{map}");
    bench.write("wrong.toml", map.replace("delimiter = \",\"", "delimiter = \";\""));
    let run = bench.run(&["learn", "wheatear.toml", "log.csv", "--map", "wrong.toml"]).expect_status(2);
    run.expect_err(&["log.csv", "What to do"]);
    assert_eq!(before, bench.hangar_bytes());
}

#[test]
fn a_file_that_claims_ten_gigabytes_is_refused_before_it_is_read() {
    let bench = bench_with_something_kept();
    let before = bench.hangar_bytes();
    // A hole: the file system says 10 GB and stores nothing.
    std::fs::File::create(bench.path("log.csv")).unwrap().set_len(10 << 30).unwrap();
    let run = bench.run(&["learn", "wheatear.toml", "log.csv"]).expect_status(2);
    run.expect_err(&["10240 MB", "What to do"]);
    assert_eq!(before, bench.hangar_bytes());
}

#[test]
fn a_recording_cut_off_in_the_middle_of_a_line_gives_what_is_whole() {
    let bench = Bench::new();
    let text = good_log(200);
    bench.write("log.csv", &text[..text.len() - 9]);
    let document = bench.run(&["read", "log.csv", "--json"]).expect_status(0).json();
    let kinds: Vec<&str> =
        document["flaws"].as_array().unwrap().iter().map(|f| f["kind"].as_str().unwrap()).collect();
    assert!(kinds.contains(&"truncated"), "{kinds:?}");
    assert!(document["rows"].as_u64().unwrap() >= 198);
}

#[test]
fn time_that_goes_back_is_told_and_survived() {
    let bench = Bench::new();
    let mut lines: Vec<String> = good_log(200).lines().map(str::to_owned).collect();
    // The clock starts again half way, as after a restart of the logger.
    for (i, line) in lines.iter_mut().enumerate().skip(101) {
        let rest = line.split_once(',').unwrap().1.to_owned();
        *line = format!("{:.1},{rest}", (i - 101) as f64 * 0.1);
    }
    bench.write("log.csv", lines.join("\n") + "\n");
    let document = bench.run(&["read", "log.csv", "--json"]).expect_status(0).json();
    let flaws = document["flaws"].to_string();
    assert!(flaws.contains("timereset"), "{flaws}");
}

#[test]
fn degrees_told_as_radians_are_found_out() {
    let bench = Bench::new();
    // Rates are the derivative of the angle in degrees a second, but the header claims radians: a factor of 57.3.
    let mut text = String::from("time_s,roll_rad,roll_rate_deg_s,pitch_rad,heading_deg\n");
    for i in 0..600 {
        let t = f64::from(i) * 0.05;
        text.push_str(&format!(
            "{t:.2},{:.3},{:.3},2.1,90\n",
            20.0 * (0.9 * t).sin(),
            18.0 * (0.9 * t).cos()
        ));
    }
    bench.write("log.csv", text);
    let document = bench.run(&["read", "log.csv", "--json"]).expect_status(0).json();
    let told = format!("{} {} {}", document["doubts"], document["flaws"], document["evidence"]);
    assert!(told.contains("roll_rad"), "{told}");
    assert!(told.contains("deg"), "{told}");
}

#[test]
fn a_missing_recording_names_the_path() {
    let bench = bench_with_something_kept();
    bench
        .run(&["learn", "wheatear.toml", "nowhere.csv"])
        .expect_status(2)
        .expect_err(&["nowhere.csv", "no such"]);
}

/// An aircraft file changed by `change` must be refused with all of `words`.
#[track_caller]
fn check_aircraft(case: &str, change: impl Fn(String) -> String, words: &[&str]) {
    let bench = bench_with_something_kept();
    let before = bench.hangar_bytes();
    let good = example("wheatear.toml");
    let bad = change(good.clone());
    assert_ne!(good, bad, "{case}: the change did not take");
    bench.write("bad.toml", bad);
    for verb in [vec!["describe", "bad.toml", "--keep"], vec!["predict", "bad.toml"]] {
        let run = bench.run(&verb).expect_status(1);
        for word in words {
            assert!(run.err().contains(word), "{case}: \"{word}\" is not in: {}", run.err());
        }
    }
    assert_eq!(before, bench.hangar_bytes(), "{case}: the hangar was touched");
}

#[test]
fn an_unknown_key_names_its_neighbour() {
    check_aircraft(
        "unknown key",
        |t| t.replacen("chord_mm = 212", "cord_mm = 212", 1),
        &["bad.toml:", "cord_mm", "chord"],
    );
}

#[test]
fn a_chord_in_the_wrong_unit_asks_whether_millimetres_were_meant() {
    check_aircraft(
        "chord of 212 m",
        |t| t.replacen("chord_mm = 212", "chord_m = 212", 1),
        &["212", "chord_mm"],
    );
}

#[test]
fn a_negative_mass_is_refused() {
    check_aircraft("negative mass", |t| t.replacen("mass_g = 430", "mass_g = -430", 1), &["mass_g", "-430"]);
}

#[test]
fn crossing_stations_are_refused() {
    check_aircraft(
        "crossing stations",
        |t| t.replacen("along_mm = 460", "along_mm = 1460", 1),
        &["station 3", "not further out"],
    );
}

#[test]
fn a_file_without_its_wing_says_what_to_describe() {
    check_aircraft("no wing", |t| t.replacen("role = \"wing\"", "role = \"tailplane\"", 1), &["wing"]);
}

#[test]
fn all_errors_of_a_file_are_told_at_once() {
    check_aircraft(
        "three errors",
        |t| {
            t.replacen("mass_g = 430", "mass_g = -430", 1)
                .replacen("chord_mm = 212", "cord_mm = 212", 1)
                .replacen("cells = 3", "cells = \"three\"", 1)
        },
        &["-430", "cord_mm", "cells"],
    );
}

#[test]
fn text_that_is_no_toml_points_at_the_place() {
    let bench = bench_with_something_kept();
    bench.write("bad.toml", "format = 1\nname = \"half\n");
    bench.run(&["describe", "bad.toml"]).expect_status(1).expect_err(&["bad.toml:2:"]);
}

#[test]
fn wrong_usage_ends_with_two() {
    let bench = Bench::new();
    bench.run(&["fly-to-the-moon"]).expect_status(2);
    bench.run(&["describe"]).expect_status(2);
    bench.run(&["describe", "Nobody"]).expect_status(2).expect_err(&["Nobody", "eyas new"]);
    bench.write("wheatear.toml", example("wheatear.toml"));
    bench
        .run(&["predict", "wheatear.toml", "--temperature-c", "400"])
        .expect_status(2)
        .expect_err(&["--temperature-c"]);
    bench
        .run(&["card", "wheatear.toml", "--wind", "5", "--gust", "2", "-o", "c.html"])
        .expect_status(2)
        .expect_err(&["--gust"]);
    bench.run(&["new", "Plover", "-o", "wheatear.toml"]).expect_status(2).expect_err(&["exists already"]);
    // Nothing of all this made a hangar.
    assert!(!bench.path("hangar.db").exists());
}

#[test]
fn trouble_is_one_document_for_a_script() {
    let bench = Bench::new();
    let run = bench.run(&["describe", "nowhere.toml", "--json"]).expect_status(2);
    assert!(run.json()["error"]["causes"][0].is_string());
}

#[test]
fn findings_of_another_aircraft_are_not_adopted() {
    let bench = bench_with_something_kept();
    let before = bench.read("wheatear.toml");
    bench.write(
        "other.json",
        r#"{"format": 1, "aircraft": "Plover", "recording": "a.csv", "changes": [
            {"path": "controller.mounting_pitch_deg", "from": 0.0, "to": 3.0, "sd": 0.1, "unit": "deg", "why": ""}]}"#,
    );
    bench.run(&["adopt", "wheatear.toml", "other.json"]).expect_status(1).expect_err(&["Plover"]);
    bench.write("broken.json", "{\"format\": 1");
    bench.run(&["adopt", "wheatear.toml", "broken.json"]).expect_status(2).expect_err(&["not JSON"]);
    assert_eq!(before, bench.read("wheatear.toml"));
}

#[test]
fn what_is_read_is_never_written_over() {
    let bench = bench_with_something_kept();
    let aircraft = bench.read("wheatear.toml");
    bench
        .run(&["predict", "wheatear.toml", "--report", "wheatear.toml"])
        .expect_status(2)
        .expect_err(&[".html"]);
    bench.write("log.html", good_log(300));
    bench
        .run(&["learn", "wheatear.toml", "log.html", "--report", "./log.html"])
        .expect_status(2)
        .expect_err(&["it is the file that is read from"]);
    bench.write("log.csv", good_log(300));
    bench.write("map.toml", "# corrected by hand");
    bench.run(&["read", "log.csv", "-o", "map.toml"]).expect_status(2).expect_err(&["exists already"]);
    bench.write("script.toml", example("first-flight.toml"));
    bench
        .run(&["simulate", "wheatear.toml", "--script", "script.toml", "-o", "log.csv"])
        .expect_status(2)
        .expect_err(&["exists already"]);
    bench
        .run(&["card", "wheatear.toml", "-o", "missing/card.html"])
        .expect_status(2)
        .expect_err(&["missing"]);
    assert_eq!(bench.read("wheatear.toml"), aircraft);
    assert_eq!(bench.read("log.csv"), good_log(300));
    assert_eq!(bench.read("map.toml"), "# corrected by hand");
}

#[test]
fn a_demo_does_not_replace_what_somebody_made_in_its_folder() {
    let bench = Bench::new();
    bench.write("mine.txt", "mine");
    let demo = |folder: &str| {
        std::process::Command::new(env!("CARGO_BIN_EXE_eyas"))
            .args(["demo", "--into", folder])
            .current_dir(bench.path("."))
            .output()
            .unwrap()
    };
    assert_eq!(demo(".").status.code(), Some(2), "the folder holds somebody's file");
    assert_eq!(demo("demo").status.code(), Some(0));
    assert_eq!(demo("demo").status.code(), Some(0), "an untouched demo is replaced");
    let text = bench.read("demo/wheatear.toml") + "# mine\n";
    bench.write("demo/wheatear.toml", &text);
    let refused = demo("demo");
    assert_eq!(refused.status.code(), Some(2));
    assert!(String::from_utf8(refused.stderr).unwrap().contains("was edited"));
    assert_eq!(bench.read("demo/wheatear.toml"), text);
}

#[test]
fn a_clock_that_leaps_ahead_does_not_swallow_the_memory() {
    // The logger's clock is set from the time since switching on to the time of day in mid-flight.
    let mut text = String::new();
    for (i, line) in good_log(600).lines().enumerate() {
        match line.split_once(',') {
            Some((t, rest)) if i > 100 => {
                text.push_str(&format!("{},{rest}\n", 1.7e9 + t.parse::<f64>().unwrap()));
            }
            _ => text.push_str(&format!("{line}\n")),
        }
    }
    check_recording("leap of the clock", text, 0, &["Wind"]);
}

#[test]
fn a_map_that_the_recording_contradicts_is_told() {
    let bench = Bench::new();
    bench.write("wheatear.toml", example("wheatear.toml"));
    bench.write("script.toml", example("second-flight.toml"));
    bench.run(&["simulate", "wheatear.toml", "--script", "script.toml", "-o", "one.csv"]).expect_status(0);
    let map = bench.run(&["read", "one.csv", "--guess"]).expect_status(0).out();
    let swapped = map
        .replace("quantity = \"velocity-north\"", "quantity = \"velocity-turned\"")
        .replace("quantity = \"velocity-east\"", "quantity = \"velocity-north\"")
        .replace("quantity = \"velocity-turned\"", "quantity = \"velocity-east\"");
    assert_ne!(map, swapped);
    bench.write("swapped.toml", swapped);
    let read = bench.run(&["read", "one.csv", "--map", "swapped.toml", "--json"]).expect_status(0).json();
    assert!(read["flaws"].to_string().contains("velocity"), "{:#}", read["flaws"]);
    let learnt = bench
        .run(&["learn", "wheatear.toml", "one.csv", "--map", "swapped.toml", "--no-keep", "--json"])
        .expect_status(0)
        .json();
    assert!(learnt["remarks"].to_string().contains("Left aside"), "{:#}", learnt["remarks"]);
}
