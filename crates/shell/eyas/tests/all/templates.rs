//! The files to fill in, run through the program: a beginner's first prediction shall not warn about itself.

use crate::bench::Bench;

#[test]
fn no_template_is_out_of_balance_or_commands_more_than_it_can() {
    let bench = Bench::new();
    for (_, layout) in aircraft::Layout::ALL {
        let file = format!("{layout}.toml");
        bench.run(&["new", "Plover", "--layout", layout, "-o", &file]).expect_status(0).out();
        let told = bench
            .run(&["predict", &file])
            .expect_status(0)
            .out()
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ");
        assert!(told.contains("first flight"), "{layout}: no range for a first flight:\n{told}");
        for warning in [
            "outside",
            "command less",
            "not surely inside",
            "is aft of the range",
            "is ahead of the range",
            "is unstable",
        ] {
            // Without a tail the range for a first flight, by thin sections and by computed ones together, is narrower
            // than what is known of the balance point: then it is inside, and told as not surely so.
            let narrow = layout == "flying-wing" && warning == "not surely inside";
            assert!(narrow || !told.contains(warning), "{layout}: {warning}:\n{told}");
        }
        let told = bench.run(&["describe", &file]).expect_status(0).out();
        assert!(!told.contains("Is this right?"), "{layout}: {told}");
        if layout == "conventional" {
            assert!(told.contains("25.0° left, 25.0° right"), "{told}");
        }
    }
}
