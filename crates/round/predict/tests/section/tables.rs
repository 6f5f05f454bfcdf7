//! Tables of sections: reading between points, around the circle, and as text. The points are invented.

use std::f64::consts::PI;

use predict::section_table::{Curve, Doubt, Origin, SectionPoint, SectionTable, TableError};
use proptest::prelude::*;

fn point(cl: f64, cd: f64, from: Origin) -> SectionPoint {
    SectionPoint {
        cl,
        cd,
        cm: -0.05,
        top_transition: 0.6,
        bottom_transition: 1.0,
        doubt: Doubt { cl_sd: 0.05, cd_sd: 0.002 },
        from,
    }
}

/// Lift 6 per rad from -0.05 rad up to a stall at 0.2 rad that depends on the Reynolds number; deflection adds lift.
fn example() -> SectionTable {
    let mut curves = Vec::new();
    for most in [0.9, 1.1, 1.2] {
        for added in [-0.3, 0.0, 0.3] {
            let points = (-8..=16)
                .map(|i| {
                    let alpha = 0.02 * f64::from(i);
                    let straight = 6.0 * (alpha + 0.05) + added;
                    let cl = straight.clamp(-0.7, most) - 2.0 * (alpha - 0.25).max(0.0);
                    (alpha, point(cl, 0.01 + 0.02 * cl * cl + (alpha - 0.2).max(0.0), Origin::Converged))
                })
                .collect();
            curves.push(Curve { points });
        }
    }
    SectionTable::new(7, "invented section", Some(0.7), vec![5e4, 2e5, 8e5], vec![-0.2, 0.0, 0.2], curves)
        .unwrap()
}

#[test]
fn computed_points_are_given_back() {
    let table = example();
    let p = table.at(0.06, 2e5, 0.0);
    assert!((p.cl - 0.66).abs() < 1e-12 && p.from == Origin::Converged, "{p:?}");
    // Half way in the logarithm of the Reynolds number, on the straight part: the same.
    assert!((table.at(0.06, 1e5, 0.0).cl - 0.66).abs() < 1e-12);
    // Half the deflection, half its lift.
    assert!((table.at(0.06, 2e5, 0.1).cl - 0.81).abs() < 1e-12);
}

#[test]
fn limits_and_slope_are_those_of_the_curve() {
    let table = example();
    let (_, most) = table.cl_max(2e5, 0.0);
    let (_, least) = table.cl_min(2e5, 0.0);
    assert!((most - 1.1).abs() < 1e-9 && (least + 0.66).abs() < 0.041, "{most} {least}");
    assert!((table.zero_lift_alpha(2e5, 0.0) + 0.05).abs() < 1e-6);
    assert!((table.zero_lift_alpha(2e5, 0.2) + 0.10).abs() < 1e-6);
    assert!((table.lift_slope(2e5) - 6.0).abs() < 1e-6, "{}", table.lift_slope(2e5));
}

#[test]
fn outside_the_table_the_answer_is_marked_and_less_sure() {
    let table = example();
    for (re, deflection) in [(1e4, 0.0), (5e6, 0.0), (2e5, 0.4)] {
        let p = table.at(0.05, re, deflection);
        assert_eq!(p.from, Origin::Continued);
        assert!(p.doubt.cl_sd > 0.05, "{p:?}");
    }
}

#[test]
fn across_the_stream_the_section_is_a_plate() {
    // Hoerner, Fluid-Dynamic Drag, ch. 3: drag 1.98 across the stream, no lift; moment of a force in the middle, a
    // quarter of the chord behind the quarter.
    let p = example().at(0.5 * PI, 2e5, 0.0);
    assert!((p.cd - 1.98).abs() < 0.01 && p.cl.abs() < 0.01 && (p.cm + 0.495).abs() < 0.005, "{p:?}");
    let back = example().at(PI, 2e5, 0.0);
    assert!(back.cl.abs() < 0.01 && back.cd < 0.05, "{back:?}");
}

#[test]
fn text_that_is_not_a_table_is_refused_with_its_line() {
    let text = example().to_text();
    assert_eq!(
        SectionTable::from_text(&text.replacen("table 1", "table 9", 1)),
        Err(TableError::Version { found: 9 })
    );
    let broken = text.replacen("converged", "perhaps", 1);
    assert!(matches!(SectionTable::from_text(&broken), Err(TableError::Line { line: 8, .. })));
    let short: String = text.lines().take(20).map(|l| format!("{l}\n")).collect();
    assert!(matches!(SectionTable::from_text(&short), Err(TableError::Line { line: 21, .. })));
    assert!(SectionTable::from_text("").is_err());
    assert!(SectionTable::new(0, "x", None, vec![2e5, 1e5], vec![0.0], vec![]).is_err());
}

proptest! {
    #[test]
    fn around_the_whole_circle_nothing_jumps_and_nothing_is_unbounded(
        alpha in -10.0..10.0_f64, re in 1e4..5e6_f64, deflection in -0.4..0.4_f64,
    ) {
        let table = example();
        let p = table.at(alpha, re, deflection);
        prop_assert!(p.cl.abs() < 1.6 && p.cd > 0.0 && p.cd < 2.1 && p.cm.abs() < 0.8);
        // Continuous: 1e-6 of angle changes no coefficient by more than 1e-4.
        let q = table.at(alpha + 1e-6, re * (1.0 + 1e-9), deflection + 1e-9);
        prop_assert!((p.cl - q.cl).abs() < 1e-4 && (p.cd - q.cd).abs() < 1e-4 && (p.cm - q.cm).abs() < 1e-4);
        // A full turn is none.
        let r = table.at(alpha + 2.0 * PI, re, deflection);
        prop_assert!((p.cl - r.cl).abs() < 1e-9);
    }

    #[test]
    fn text_gives_the_table_back(shift in -0.3..0.3_f64, key in any::<u64>()) {
        let points = (0..5).map(|i| (0.1 * f64::from(i) + shift / 7.0, point(shift / 3.0 + f64::from(i), 0.01, Origin::Bridged)));
        let curve = Curve { points: points.collect() };
        let table = SectionTable::new(key, "a  name", None, vec![1e5 / 3.0], vec![0.0], vec![curve]).unwrap();
        prop_assert_eq!(SectionTable::from_text(&table.to_text()).unwrap(), table);
    }
}
