//! What a file says is read; what is wrong with it is told at its place, all at once.

use aircraft::known::Origin;
use aircraft::movable::Panels;
use aircraft::schema::{self, Fault};
use aircraft::template::template;
use aircraft::{Aircraft, Layout};
use proptest::prelude::*;

use crate::sample::close;

/// The smallest whole file: an invented model.
const SMALL: &str = r#"format = 1
name = "Plover"
layout = "conventional"
datum = "tip of the nose"

[[surface]]
name = "wing"
role = "wing"
dihedral_deg = 3
root_z_mm = 40
[[surface.station]]
along_mm = 0
x_mm = 250
chord_mm = 220
section = "naca 2412"
[[surface.station]]
along_mm = 700
sweep_mm = 20
chord_mm = 160
twist_deg = -1

[[surface]]
name = "tailplane"
role = "tailplane"
[[surface.station]]
along_mm = 0
x_mm = 900
chord_mm = 130
section = "0009"
[[surface.station]]
along_mm = 230
x_mm = 915
chord_mm = 100

[[surface]]
name = "fin"
role = "fin"
[[surface.station]]
along_mm = 0
x_mm = 880
chord_mm = 170
section = "NACA0009"
[[surface.station]]
along_mm = 170
x_mm = 940
chord_mm = 100

[[movable]]
name = "aileron"
surface = "wing"
inner_mm = 400
outer_mm = 680
hinge_percent = 75
throw_up_deg = 20
throw_down_deg = 12
roll = 1

[weighed]
total_g = 1050
balance_x_mm = 310
"#;

fn read(text: &str) -> Aircraft {
    schema::read(text, &|_| None).unwrap_or_else(|f| panic!("{f:#?}"))
}

fn faults(text: &str) -> Vec<Fault> {
    schema::read(text, &|_| None).err().unwrap_or_else(|| panic!("it was read"))
}

/// The small file with one piece of text exchanged.
fn with(old: &str, new: &str) -> String {
    assert!(SMALL.contains(old), "{old} is not in the file");
    SMALL.replacen(old, new, 1)
}

/// What was expected and not told, gathered so that one run shows all.
#[derive(Default)]
struct Wrong(Vec<String>);

impl Wrong {
    /// Exchanges a piece of the small file and looks for the one fault that follows.
    fn check(&mut self, old: &str, new: &str, line: usize, problem: &str, remedy: &str) {
        let text = with(old, new);
        let found = schema::read(&text, &|_| None).err().unwrap_or_default();
        let told =
            found.iter().any(|f| f.line == line && f.problem.contains(problem) && f.remedy.contains(remedy));
        if !told || found.len() != 1 {
            self.0.push(format!("{new:?}: not just line {line} {problem:?} {remedy:?} but {found:#?}"));
        }
    }
}

impl Drop for Wrong {
    fn drop(&mut self) {
        assert!(self.0.is_empty() || std::thread::panicking(), "{}", self.0.join("\n"));
    }
}

#[test]
fn the_small_file_says_what_it_says() {
    let plane = read(SMALL);
    assert_eq!((plane.name.as_str(), plane.layout), ("Plover", Layout::Conventional));
    let wing = &plane.surfaces[0];
    assert!(wing.mirrored && !plane.surfaces[2].mirrored, "wings have two sides, a fin one");
    let tip = &wing.stations[1];
    let (sine, cosine) = 3.0_f64.to_radians().sin_cos();
    close("tip x", tip.leading_edge_m.x, 0.270, 1e-12);
    close("tip y", tip.leading_edge_m.y, 0.7 * cosine, 1e-12);
    close("tip z", tip.leading_edge_m.z, 0.040 + 0.7 * sine, 1e-12);
    close("twist", tip.twist_rad.to_degrees(), -1.0, 1e-12);
    assert_eq!(tip.section.name, "naca 2412", "a station without a section has that of the one inboard");
    close("fin stands upright", plane.surfaces[2].stations[1].leading_edge_m.y, 0.0, 0.0);
    let aileron = &plane.movables[0];
    assert_eq!(aileron.panels, Panels::Pair, "what rolls has two sides");
    assert!(aileron.servo_left.is_some());
    close("hinge", aileron.hinge_outer, 0.75, 1e-12);
    close("up", aileron.throw_up_rad.to_degrees(), 20.0, 1e-12);
    let weighed = plane.weighed.expect("weighed");
    let total = weighed.total_kg.expect("total");
    close("total", total.value, 1.05, 1e-12);
    assert_eq!(total.from, Origin::Measured, "what stands under [weighed] was measured");
}

/// Definitions of the units; equivalents printed to the digits used.
#[test]
fn every_unit_is_taken() {
    let chord = |text: &str| read(&with("chord_mm = 220", text)).surfaces[0].stations[0].chord_m;
    for text in ["chord_cm = 22", "chord_m = 0.22", "chord_in = 8.661417323", "chord_ft = 0.7217847769"] {
        close(text, chord(text), 0.22, 1e-10);
    }
    let total =
        |text: &str| read(&with("total_g = 1050", text)).weighed.and_then(|w| w.total_kg).expect("total");
    for text in ["total_kg = 1.05", "total_oz = 37.0376600471", "total_lb = 2.3148537529"] {
        close(text, total(text).value, 1.05, 1e-9);
    }
    let known = total("total_kg = 1.05\ntotal_sd_g = 3\ntotal_from = \"stated\"");
    close("doubt in another unit", known.sd, 0.003, 1e-12);
    assert_eq!(known.from, Origin::Stated);
    let stall =
        |text: &str| read(&format!("{SMALL}[limits]\n{text}\n")).limits.stall_m_s.expect("stall").value;
    for text in
        ["stall_km_h = 36", "stall_kt = 19.43844492", "stall_mph = 22.36936292", "stall_ft_s = 32.80839895"]
    {
        close(text, stall(text), 10.0, 1e-8);
    }
    let radian = read(&with("dihedral_deg = 3", "dihedral_rad = 0.05235987756"));
    close(
        "radians",
        radian.surfaces[0].stations[1].leading_edge_m.z,
        read(SMALL).surfaces[0].stations[1].leading_edge_m.z,
        1e-10,
    );
}

#[test]
fn places_along_the_surface_and_in_space_are_the_same() {
    let (sine, cosine) = 3.0_f64.to_radians().sin_cos();
    let in_space = format!("y_mm = {}\nz_mm = {}", 700.0 * cosine, 40.0 + 700.0 * sine);
    let (a, b) = (read(SMALL), read(&with("along_mm = 700", &in_space)));
    close("along", b.surfaces[0].stations[1].along_m, 0.7, 1e-12);
    assert!(
        (a.surfaces[0].stations[1].leading_edge_m - b.surfaces[0].stations[1].leading_edge_m).norm() < 1e-12
    );
    // A panel of its own dihedral: flat to 700, then 100 upright.
    let winglet = with(
        "twist_deg = -1\n",
        "twist_deg = -1\n[[surface.station]]\nalong_mm = 800\nx_mm = 300\nchord_mm = 120\ndihedral_deg = 90\n",
    );
    let tip = read(&winglet).surfaces[0].stations[2].leading_edge_m;
    close("out", tip.y, 0.7 * cosine, 1e-12);
    close("up", tip.z, 0.040 + 0.7 * sine + 0.1, 1e-12);
}

#[test]
fn movables_are_measured_in_several_ways() {
    let aileron = |old: &str, new: &str| read(&with(old, new)).movables[0].clone();
    close("per cent of the surface", aileron("outer_mm = 680", "outer_percent = 90").outer_m, 0.63, 1e-12);
    // The surface's chord runs from 220 to 160 over 700: 185.714 at 400, 161.714 at 680.
    let own = aileron("hinge_percent = 75", "chord_mm = 45");
    close("own chord, inner", own.hinge_inner, 1.0 - 45.0 / (220.0 - 60.0 * 400.0 / 700.0), 1e-12);
    close("own chord, outer", own.hinge_outer, 1.0 - 45.0 / (220.0 - 60.0 * 680.0 / 700.0), 1e-12);
    // 2 asin(d/2c): 12 mm at 50 mm 13.7842 degrees.
    let moved = aileron("throw_up_deg = 20", "throw_up_mm = 12\nthrow_at_mm = 50");
    close("in mm", moved.throw_up_rad.to_degrees(), 13.7842, 1e-4);
    let at_own = aileron("throw_up_deg = 20", "throw_up_mm = 12");
    let chord: f64 = 0.25 * (220.0 - 60.0 * 400.0 / 700.0);
    close("at its own chord", at_own.throw_up_rad, 2.0 * (12.0 / (2.0 * chord)).asin(), 1e-12);
    let both = aileron("throw_up_deg = 20\nthrow_down_deg = 12", "throw_deg = 15");
    close("both ways", both.throw_down_rad.to_degrees(), 15.0, 1e-12);
    let rudder = read(&with(
        "[weighed]",
        "[[movable]]\nname = \"rudder\"\nsurface = \"fin\"\ninner_percent = 5\nouter_percent = 95\nhinge = 0.6\n\
         throw_left_deg = 25\nthrow_right_deg = 24\nyaw = 1\n\n[weighed]",
    ));
    close("left is along the normal", rudder.movables[1].throw_up_rad.to_degrees(), 25.0, 1e-12);
    assert_eq!(rudder.movables[1].panels, Panels::One);
    let servo = aileron(
        "roll = 1",
        "roll = 1\nservo = { speed_s_per_60deg = 0.2, travel_us = 450, travel_deg = 50 }",
    );
    // 60 degrees in 0.2 s.
    close("slew", servo.servo.speed_rad_s.to_degrees(), 300.0, 1e-9);
    close("travel", servo.servo.travel_us, 450.0, 0.0);
    close("turned", servo.servo.travel_rad.to_degrees(), 50.0, 1e-12);
}

#[test]
fn a_slip_is_told_at_its_place_with_what_to_do() {
    let mut wrong = Wrong::default();
    // The key, nearest known.
    wrong.check(
        "chord_mm = 220",
        "chrod_mm = 220\nchord_mm = 220",
        14,
        "no key \"chrod_mm\"",
        "did you mean \"chord_mm\"",
    );
    wrong.check(
        "total_g = 1050",
        "total_g = 1050\ntotal_stone = 2",
        60,
        "no key \"total_stone\"",
        "units of total: g, kg, oz, lb",
    );
    wrong.check(
        "total_g = 1050",
        "total_g = 1050\nbalance_z = 2",
        60,
        "no key \"balance_z\"",
        "balance_z_mm",
    );
    wrong.check("[weighed]", "[wieghed]\n[weighed]", 58, "no key \"wieghed\"", "did you mean \"weighed\"");
    // The unit question.
    wrong.check(
        "chord_mm = 220",
        "chord_m = 220",
        14,
        "a chord of 220 m",
        "were mm meant? write chord_mm = 220",
    );
    wrong.check(
        "total_g = 1050",
        "total_kg = 1050",
        59,
        "a total of 1050 kg",
        "were g meant? write total_g = 1050",
    );
    wrong.check(
        "hinge_percent = 75",
        "hinge = 75",
        53,
        "a hinge of 75",
        "were percent meant? write hinge_percent = 75",
    );
    wrong.check(
        "dihedral_deg = 3",
        "dihedral_rad = 3",
        9,
        "a dihedral of 3 rad",
        "were deg meant? write dihedral_deg = 3",
    );
    // Values.
    wrong.check("chord_mm = 220", "chord_mm = -220", 14, "a chord of -220 mm", "cannot be negative");
    wrong.check("total_g = 1050", "total_g = -1", 59, "a total of -1 g", "cannot be negative");
    wrong.check("total_g = 1050", "total_g = nan", 59, "no measurement", "write the number");
    wrong.check("total_g = 1050", "total_g = inf", 59, "no measurement", "write the number");
    wrong.check("total_g = 1050", "total_g = 1e300", 59, "a total of 1e300 g", "measure again");
    wrong.check("total_g = 1050", "total_g = \"1,05\"", 59, "is text, not a number", "total_g = 1.05");
    wrong.check("total_g = 1050", "total_g = [1]", 59, "is a list, not a number", "total_g");
    wrong.check(
        "throw_up_deg = 20",
        "throw_up_deg = 65",
        54,
        "a throw up of 65 deg",
        "believed from 0 to 60",
    );
    wrong.check("throw_up_deg = 20", "throw_up_mm = 70", 54, "more than 60 degrees", "throw_at_mm");
    wrong.check(
        "total_g = 1050",
        "total_g = 1050\ntotal_kg = 1.05",
        60,
        "given twice, as total_g and as total_kg",
        "keep the one",
    );
    wrong.check(
        "total_g = 1050",
        "total_g = 1050\ntotal_from = \"guessed\"",
        60,
        "total_from",
        "\"measured\"",
    );
    wrong.check("total_g = 1050", "total_g = 1050\ntotal_sd_g = -1", 60, "total_sd_g is -1", "0 or more");
    // Words.
    wrong.check("role = \"fin\"", "role = \"finn\"", 37, "\"finn\" is no role", "did you mean \"fin\"");
    wrong.check(
        "layout = \"conventional\"",
        "layout = \"biplane\"",
        3,
        "\"biplane\" is no layout",
        "\"flying-wing\"",
    );
    wrong.check("format = 1", "format = 2", 1, "format is 2", "only format = 1 is known");
    wrong.check("name = \"Plover\"", "name = \"\"", 2, "name is empty", "write name");
    wrong.check("section = \"naca 2412\"", "section = \"naca 24122\"", 15, "is no section", "four or five");
    wrong.check(
        "section = \"naca 2412\"",
        "section = \"clark.dat\"",
        15,
        "no coordinate file of that name",
        "beside this file",
    );
    // Geometry.
    wrong.check("along_mm = 700", "along_mm = 0", 16, "not further out", "from root to tip");
    wrong.check(
        "along_mm = 700",
        "along_mm = 700\ny_mm = 600",
        16,
        "both along the surface and as y and z",
        "keep along_mm",
    );
    wrong.check("inner_mm = 400", "inner_mm = 690", 48, "not beyond its inner end", "nearer the root");
    wrong.check(
        "outer_mm = 680",
        "outer_mm = 780",
        48,
        "outside its surface, which reaches from 0 to 700 mm",
        "measure both ends",
    );
    wrong.check(
        "surface = \"wing\"",
        "surface = \"wnig\"",
        50,
        "there is no surface \"wnig\"",
        "did you mean \"wing\"",
    );
    wrong.check("roll = 1", "", 48, "answers no demand", "roll = 1");
    wrong.check(
        "roll = 1",
        "roll = 1\npanels = \"one\"",
        48,
        "both its sides move as one",
        "panels = \"pair\"",
    );
    wrong.check(
        "chord_mm = 160",
        "chord_mm = 160\nx_mm = 3",
        16,
        "both from the datum and from the root",
        "keep x_mm",
    );
    wrong.check(
        "name = \"tailplane\"",
        "name = \"wing\"",
        23,
        "two surfaces are called \"wing\"",
        "name of its own",
    );
    wrong.check("sweep_mm = 20", "x_mm = 2700", 16, "2450 mm fore and aft over 700 mm", "check the unit");
    // The whole.
    wrong.check(
        "layout = \"conventional\"",
        "layout = \"flying-wing\"",
        23,
        "has no tailplane",
        "layout that fits",
    );
    wrong.check(
        "layout = \"conventional\"",
        "layout = \"t-tail\"",
        23,
        "does not stand on top of the fin",
        "root_z_mm",
    );
    wrong.check("balance_x_mm = 310", "", 1, "where the aircraft balances", "balance_x_mm");
    wrong.check("total_g = 1050\nbalance_x_mm = 310", "", 1, "what the aircraft weighs", "on a scale");
    wrong.check(
        "balance_x_mm = 310",
        "balance_x_mm = 310\ninertia_roll_kg_m2 = 1.229\ninertia_pitch_kg_m2 = 0.1702\ninertia_yaw_kg_m2 = 0.8808",
        58,
        "larger than those of the other two axes together",
        "check the axes",
    );
}

#[test]
fn missing_measures_say_how_to_take_them() {
    let mut wrong = Wrong::default();
    wrong.check(
        "chord_mm = 220\n",
        "",
        11,
        "station 1 of surface \"wing\" lacks chord_mm",
        "leading to trailing edge",
    );
    wrong.check("x_mm = 250\nchord", "chord", 11, "lacks x_mm", "from the datum aft");
    wrong.check("throw_down_deg = 12\n", "", 48, "lacks throw_down_deg", "propeller off");
    wrong.check("hinge_percent = 75\n", "", 48, "lacks hinge_percent", "quarter chord: 75");
    wrong.check("outer_mm = 680\n", "", 48, "lacks outer_mm", "along the surface from its root");
    wrong.check("datum = \"tip of the nose\"\n", "", 1, "lacks datum", "measure from");
    wrong.check("section = \"naca 2412\"\n", "", 11, "lacks section", "naca 2412");
}

#[test]
fn all_faults_are_told_at_once_in_order() {
    let text = SMALL
        .replace("format = 1", "format = 7")
        .replace("chord_mm = 220", "chord_m = 220")
        .replace("surface = \"wing\"\ninner", "surface = \"wings\"\ninner")
        .replace("throw_up_deg = 20", "throw_up_deg = 200")
        .replace("total_g", "totl_g");
    let found = faults(&text);
    let lines: Vec<usize> = found.iter().map(|f| f.line).collect();
    assert!([1, 14, 50, 54, 59].iter().all(|l| lines.contains(l)), "{found:#?}");
    assert!(lines.is_sorted());
    assert_eq!(
        found.iter().find(|f| f.line == 14).map(|f| (f.column, f.length, f.found.as_str())),
        Some((11, 3, "220"))
    );
}

#[test]
fn a_syntax_error_has_a_place() {
    let found = faults(&with("chord_mm = 220", "chord_mm = 22O"));
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].line, 14);
    assert!(found[0].problem.contains("not TOML"), "{found:?}");
    assert!(found[0].to_string().starts_with("line 14, column "), "{}", found[0]);
    let found = faults(&with("name = \"Plover\"", "name = \"Plover\nlayout = 2"));
    assert_eq!(found[0].line, 2, "{found:?}");
}

#[test]
fn a_file_from_another_system_reads_the_same() {
    let other = format!("\u{feff}{}", SMALL.replace('\n', "\r\n"));
    assert_eq!(read(&other), read(SMALL));
    let found = faults(&other.replace("chord_mm = 220", "chord_m = 220"));
    assert_eq!((found[0].line, found[0].column, found[0].found.as_str()), (14, 11, "220"));
}

#[test]
fn swings_and_scales_become_inertia_and_balance() {
    let text = with(
        "total_g = 1050\nbalance_x_mm = 310",
        "[weighed.scales]\nfront_g = 522\nfront_x_mm = -1045\nrear_g = 1952\nrear_x_mm = 0\n[weighed.swing_yaw]\n\
         spacing_mm = 490\nlength_mm = 1145\nperiod_s = 1.87",
    );
    let weighed = read(&text).weighed.expect("weighed");
    close("balance", weighed.balance_x_m.expect("by scales").value, -0.2205, 0.0005);
    close("total", weighed.total_kg.expect("by scales").value, 2.474, 1e-12);
    // I = m g D² T² / (16 π² h) with 2.474 kg instead of 3.512: 0.160 in proportion, 1 %.
    close("yaw", weighed.inertia_kg_m2[2].expect("swung").value, 0.160 * 2.474 / 3.512, 0.0016);
}

/// Coordinates of a NACA 0012 half thickness (Abbott & von Doenhoff, appendix): enough rows for both orders.
const HALF: [(f64, f64); 9] = [
    (0.0, 0.0),
    (0.025, 0.02615),
    (0.1, 0.04683),
    (0.2, 0.05738),
    (0.3, 0.06002),
    (0.5, 0.05294),
    (0.7, 0.03664),
    (0.9, 0.01448),
    (1.0, 0.00126),
];

fn loop_rows() -> String {
    let upper = HALF.iter().rev().map(|(x, y)| format!("{x} {y}\n"));
    let lower = HALF.iter().skip(1).map(|(x, y)| format!("{x} {}\n", -y));
    upper.chain(lower).collect()
}

#[test]
fn coordinate_files_of_either_order_give_one_section() {
    let points = schema::section_file::points;
    let expected = points(&format!("A SECTION\n{}", loop_rows())).expect("one loop");
    assert_eq!(expected.len(), 17);
    assert_eq!((expected[0], expected[8], expected[16]), ([1.0, 0.00126], [0.0, 0.0], [1.0, -0.00126]));
    let side = |sign: f64| HALF.iter().map(|(x, y)| format!("  {x}   {}\r\n", sign * y)).collect::<String>();
    let cases = [
        ("no header", loop_rows()),
        ("commas", loop_rows().replace(' ', ", ")),
        (
            "per cent of the chord",
            HALF.iter()
                .rev()
                .map(|(x, y)| format!("{} {}\n", x * 100.0, y * 100.0))
                .chain(HALF.iter().skip(1).map(|(x, y)| format!("{} {}\n", x * 100.0, -y * 100.0)))
                .collect(),
        ),
        (
            "upper then lower with counts",
            format!("\u{feff}A SECTION\r\n 9.  9.\r\n\r\n{}\r\n{}", side(1.0), side(-1.0)),
        ),
        ("upper then lower without", format!("A SECTION\n{}{}", side(1.0), side(-1.0))),
        ("lower then upper", format!("A SECTION\n{}{}", side(-1.0), side(1.0))),
        ("loop over the lower side first", loop_rows().lines().rev().map(|l| format!("{l}\n")).collect()),
    ];
    for (case, text) in cases {
        let got = points(&text).unwrap_or_else(|e| panic!("{case}: {}", e.told()));
        assert_eq!(got.len(), expected.len(), "{case}");
        for (a, b) in got.iter().zip(&expected) {
            assert!((a[0] - b[0]).abs() < 1e-12 && (a[1] - b[1]).abs() < 1e-12, "{case}: {a:?} {b:?}");
        }
    }
    let file = |name: &str| (name == "half.dat").then(loop_rows);
    let plane = schema::read(&with("naca 2412", "half.dat"), &file).expect("reads");
    // Greatest half thickness of the table twice.
    close("thickness", plane.surfaces[0].stations[0].section.thickness(), 0.12004, 1e-5);
}

#[test]
fn a_file_that_is_no_section_says_why() {
    let why = |text: &str| schema::section_file::points(text).expect_err(text).told();
    assert!(why("").contains("0 points"));
    assert!(why("1 0\n0.5 0.05\n0 0\n").contains("at least 10"));
    assert!(why(&loop_rows().replace("0.7 -0.03664", "0.7 -0.03664 9")).contains("line 15"));
    assert!(why(&loop_rows().replace("0.7 -0.03664", "0.7 abc")).contains("line 15"));
    assert!(why(&format!("9 12\n{}", loop_rows())).contains("announces 21 points but holds 17"));
    assert!(why(&loop_rows().replace("0.5 0.05294", "0.95 0.05294")).contains("do not run once"));
    assert!(why(&loop_rows().replace("-0.0", "0.0")).contains("cross or are 0 %"));
    assert!(why(&"<html>\n".repeat(20)).contains("0 points"));
}

fn mutated() -> impl Strategy<Value = String> {
    let layouts = (0..Layout::ALL.len()).prop_map(|i| template(Layout::ALL[i].0, "Tern"));
    let pieces = prop_oneof![
        "[ -~]{0,12}",
        Just("\u{e9}\u{1f6e9}".to_owned()),
        Just("nan".to_owned()),
        Just("-1e308".to_owned()),
        Just("\n[[movable]]\n".to_owned()),
        Just("\n[[surface.station]]\n".to_owned()),
        Just(" = { a = [1, {b = 2}] }\n".to_owned()),
        Just("99999999999999999999".to_owned()),
        Just("\r".to_owned()),
        Just("0".to_owned()),
    ];
    let edits = prop::collection::vec((any::<prop::sample::Index>(), 0..30_usize, pieces), 1..4);
    (layouts, edits).prop_map(|(mut text, edits)| {
        for (at, cut, piece) in edits {
            let mut start = at.index(text.len());
            while !text.is_char_boundary(start) {
                start -= 1;
            }
            let mut end = (start + cut).min(text.len());
            while !text.is_char_boundary(end) {
                end += 1;
            }
            text.replace_range(start..end, &piece);
        }
        text
    })
}

/// Whatever the text: an aircraft, or at least one fault, each at a place that exists.
fn sound(text: &str) -> Result<(), TestCaseError> {
    match schema::read(text, &|_| Some(loop_rows())) {
        Ok(plane) => {
            prop_assert!(plane.wing().is_some());
            prop_assert!(plane.movables.iter().all(|m| m.surface < plane.surfaces.len()));
        }
        Err(faults) => {
            prop_assert!(!faults.is_empty());
            let lines = text.lines().count() + 1;
            for fault in &faults {
                prop_assert!((1..=lines).contains(&fault.line) && fault.column >= 1 && fault.length >= 1);
                prop_assert!(!fault.problem.is_empty() && !fault.remedy.is_empty());
            }
            prop_assert!(faults.is_sorted());
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]
    #[test]
    fn a_damaged_file_never_panics(text in mutated()) {
        sound(&text)?;
    }

    #[test]
    fn arbitrary_text_never_panics(text in "\\PC{0,200}") {
        sound(&text)?;
        let _ = schema::section_file::points(&text);
    }

    #[test]
    fn arbitrary_numbers_in_a_coordinate_file_never_panic(
        rows in prop::collection::vec((any::<f64>(), any::<f64>()), 0..40), near in any::<bool>(),
    ) {
        let text: String = rows.iter()
            .map(|(x, y)| if near { format!("{} {}\n", x.rem_euclid(1.0), y.rem_euclid(0.1)) } else { format!("{x} {y}\n") })
            .collect();
        let _ = schema::section_file::points(&text);
    }
}
