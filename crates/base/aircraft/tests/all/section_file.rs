//! Coordinate files in their usual orders, and texts that are none.

use aircraft::schema;

use crate::sample::close;
use crate::schema::with;

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

pub(crate) fn loop_rows() -> String {
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
