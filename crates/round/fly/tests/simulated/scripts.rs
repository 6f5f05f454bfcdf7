//! Reading scripts, and the text that a flight writes.

use fly::simulated::{NoFlight, Script, fly};

use crate::{flown, model};

#[track_caller]
fn wrong(text: &str, line: usize, words: &str) {
    let errors = Script::read(text).expect_err("the script is wrong");
    assert!(
        errors.iter().any(|e| e.line == line && format!("{} {}", e.what, e.remedy).contains(words)),
        "no \"{words}\" in line {line} among {errors:?}"
    );
}

#[test]
fn faults_of_a_script_are_told_with_line_and_remedy() {
    let launch = "[[step]]\ndo = \"launch\"\n";
    wrong("", 1, "do = \"launch\"");
    wrong("seed = = 1", 1, "TOML");
    wrong(&format!("{launch}[[step]]\ndo = \"loop\"\n"), 4, "straight");
    wrong(&format!("{launch}[[step]]\nbank_deg = 3\n"), 3, "do =");
    wrong(&format!("{launch}[[step]]\ndo = \"turn\"\ndegrees = 90\n"), 3, "bank_deg");
    wrong(&format!("{launch}[[step]]\ndo = \"turn\"\nbank_deg = 95\ndegrees = 90\n"), 5, "75");
    wrong(&format!("{launch}speed = 4\n"), 3, "speed_m_s");
    wrong(&format!("[wind]\nspeed_m_s = \"fast\"\n{launch}"), 2, "number");
    wrong(&format!("wind = 3\n{launch}"), 1, "[wind]");
    wrong(&format!("{launch}{launch}"), 3, "second launch");
    wrong("[[step]]\ndo = \"land\"\n", 1, "launch");
    wrong(
        &format!("{launch}[[step]]\ndo = \"straight\"\nseconds = 5\nhold = \"stick\"\n"),
        3,
        "throttle_percent",
    );
    wrong(&format!("[wind]\nroughness_m = 0.1\nshear_exponent = 0.2\n{launch}"), 1, "keep one");
    wrong(&format!("[[flaw]]\nkind = \"hole\"\n{launch}"), 2, "gap");
    wrong(&format!("[sensors]\ngps = 1\n{launch}"), 2, "true");
}

#[test]
fn all_faults_are_told_at_once_in_the_order_of_lines() {
    let errors = Script::read("log_hz = 9999\nsped = 1\n[wind]\nspeed_m_s = -4\n").unwrap_err();
    let lines: Vec<usize> = errors.iter().map(|e| e.line).collect();
    assert!(errors.len() == 4 && lines.is_sorted(), "{errors:?}");
}

#[test]
fn an_offset_of_a_movable_that_is_not_there_is_told() {
    let text = "[[hidden.offset]]\nmovable = \"flap\"\ndeg = 1\n[[step]]\ndo = \"launch\"\n";
    let script = Script::read(text).unwrap();
    let no_flight = fly(&model::aircraft(), &model::force_model(), &script).unwrap_err();
    let NoFlight::Script(errors) = no_flight else {
        panic!("{no_flight:?}");
    };
    assert!(errors[0].line == 1 && errors[0].remedy.contains("elevator"), "{errors:?}");
}

const SHORT: &str = "[[step]]\ndo = \"launch\"\n[[step]]\ndo = \"climb\"\nheight_m = 30\n";

#[test]
fn the_text_says_units_in_its_header_and_leaves_missing_fixes_empty() {
    let text = flown(SHORT).to_csv();
    let mut lines = text.lines();
    let header: Vec<&str> = lines.next().unwrap().split(',').collect();
    for name in [
        "time_s",
        "roll_deg",
        "force_z_m_s2",
        "latitude_deg",
        "velocity_down_m_s",
        "airspeed_m_s",
        "stick_pitch",
        "throttle_percent",
        "servo_aileron_right_us",
        "pack_v",
        "used_mah",
        "acts",
    ] {
        assert!(header.contains(&name), "{name} in {header:?}");
    }
    let rows: Vec<Vec<&str>> = lines.map(|l| l.split(',').collect()).collect();
    assert!(rows.iter().all(|r| r.len() == header.len()));
    let column = |name: &str| header.iter().position(|h| *h == name).unwrap();
    // Five fixes a second among fifty rows.
    let fixes = rows.iter().filter(|r| !r[column("latitude_deg")].is_empty()).count();
    assert_eq!(fixes, rows.len().div_ceil(10));
    assert!(rows.iter().all(|r| r[column("acts")] == "level"));
    assert_eq!(rows[50][0], "1.000");
}

#[test]
fn sensors_that_are_not_there_leave_no_columns() {
    let text = format!("[sensors]\nairspeed = false\ngps = false\npower = false\nrpm = false\n{SHORT}");
    let csv = flown(&text).to_csv();
    let header = csv.lines().next().unwrap();
    for name in ["airspeed", "latitude", "pack_v", "rpm", "course"] {
        assert!(!header.contains(name), "{name} in {header}");
    }
}

#[test]
fn flaws_are_made_where_the_script_wants_them() {
    let whole = flown(SHORT).to_csv();
    let times = |csv: &str| -> Vec<f64> {
        csv.lines().skip(1).filter_map(|l| l.split(',').next()?.parse().ok()).collect()
    };
    let gap = flown(&format!("[[flaw]]\nkind = \"gap\"\nat_s = 2\nfor_s = 1\n{SHORT}"));
    let largest = times(&gap.to_csv()).windows(2).map(|w| w[1] - w[0]).fold(0.0, f64::max);
    assert!((largest - 1.02).abs() < 1e-6, "{largest}");
    assert_eq!(gap.recording().rows + 50, whole.lines().count() - 1);
    let reset = flown(&format!("[[flaw]]\nkind = \"time-reset\"\nat_s = 3\n{SHORT}")).to_csv();
    let back = times(&reset).windows(2).filter(|w| w[1] < w[0]).count();
    assert_eq!(back, 1);
    let cut = flown(&format!("[[flaw]]\nkind = \"truncated\"\n{SHORT}")).to_csv();
    assert!(!cut.ends_with('\n') && whole.starts_with(&cut[..cut.len()]));
}

#[test]
fn the_truth_is_toml_with_the_numbers_of_the_flight() {
    let flight = flown(&format!("[wind]\nspeed_m_s = 3\nfrom_deg = 200\n{SHORT}"));
    let text = flight.truth_toml();
    let document: toml_edit::DocumentMut = text.parse().unwrap();
    assert_eq!(document["wind"]["speed_m_s"].as_float(), Some(3.0));
    assert_eq!(document["wind"]["from_deg"].as_float(), Some(200.0));
    assert_eq!(document["trims"].as_array_of_tables().unwrap().len(), 4);
    assert_eq!(document["event"].as_array_of_tables().unwrap().len(), flight.truth.events.len());
}
