//! The examples in the documents are what the program reads.

use crate::bench::{Bench, example};

/// The fenced text of a kind in a document.
fn fenced(document: &str, kind: &str) -> Vec<String> {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../docs").join(document);
    let text = std::fs::read_to_string(path).unwrap();
    let opening = format!("```{kind}");
    let mut blocks = Vec::new();
    let mut lines = text.lines();
    while let Some(line) = lines.next() {
        if line == opening {
            let block: Vec<&str> = lines.by_ref().take_while(|line| *line != "```").collect();
            blocks.push(block.join("\n"));
        }
    }
    assert!(!blocks.is_empty(), "{document} has no example");
    blocks
}

#[test]
fn the_aircraft_file_of_the_manual_reads() {
    let bench = Bench::new();
    for block in fenced("aircraft-file.md", "toml") {
        bench.write("a.toml", block);
        bench.run(&["describe", "a.toml"]).expect_status(0);
    }
}

#[test]
fn the_column_map_of_the_manual_reads_the_log_that_it_describes() {
    let bench = Bench::new();
    let mut log = String::from("time ms,gyro x\n");
    for i in 0..200 {
        log.push_str(&format!("{},{}\n", i * 20, f64::from(i % 40) - 20.0));
    }
    bench.write("log.csv", log);
    for block in fenced("column-map.md", "toml") {
        bench.write("map.toml", block);
        let read = bench.run(&["read", "log.csv", "--map", "map.toml", "--json"]).expect_status(0).json();
        assert_eq!(read["channels"][0]["quantity"], "roll-rate");
        assert_eq!(read["rows"], 200);
    }
}

#[test]
fn the_flight_script_of_the_manual_flies() {
    let bench = Bench::new();
    bench.write(
        "wheatear.toml",
        example("wheatear.toml").replace("name = \"ruddervator\"", "name = \"elevator\""),
    );
    let steps = "\n[[step]]\ndo = \"launch\"\nacts = \"level\"\nheight_m = 20\n\n[[step]]\ndo = \"straight\"\nacts = \"level\"\nseconds = 20\n";
    for block in fenced("flight-script.md", "toml") {
        // The manual's elevator is one piece; the example's tail has two panels.
        bench.write("script.toml", block.replace("side = \"only\"", "side = \"both\"") + steps);
        bench.run(&["simulate", "wheatear.toml", "--script", "script.toml", "-o", "f.csv"]).expect_status(0);
    }
}

#[test]
fn the_readme_shows_what_the_demo_prints() {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../README.md");
    let readme = std::fs::read_to_string(path).unwrap();
    let shown = readme.split("```text\n").nth(1).and_then(|rest| rest.split("\n```").next()).unwrap();
    let bench = Bench::new();
    let printed = std::process::Command::new(env!("CARGO_BIN_EXE_eyas"))
        .arg("demo")
        .env("EYAS_SECTIONS", "at-hand")
        .current_dir(bench.path("."))
        .output()
        .unwrap();
    // Words only: the last digit of a number may differ between mathematical libraries, and with it a line's end.
    let words = |text: &str| -> String { text.chars().filter(|c| c.is_alphabetic()).collect() };
    assert_eq!(
        words(shown),
        words(&String::from_utf8(printed.stdout).unwrap()),
        "renew the README's example"
    );
    // The last card of the round is long, and still the pilot's side and the helper's.
    assert_eq!(bench.pages("demo/card.pdf"), 2);
}
