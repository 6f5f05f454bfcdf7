//! Sections: thin-section values and the measured E387.

use aircraft::section::{Section, Shape};
use predict::sections::{SectionData, flap_effectiveness, laminar_friction, turbulent_friction};

use crate::aircraft_model::four_digits;
use crate::wings::near;

const COORDINATES: &str = include_str!("../../../../../reference/sections-e387/coordinates.dat");
const DRAG: &str = include_str!("../../../../../reference/sections-e387/drag.csv");
const LIFT: &str = include_str!("../../../../../reference/sections-e387/lift.csv");

fn e387() -> SectionData {
    let points = COORDINATES
        .lines()
        .filter_map(|line| {
            let mut words = line.split_whitespace().map(str::parse::<f64>);
            match (words.next(), words.next()) {
                (Some(Ok(x)), Some(Ok(y))) => Some([x, y]),
                _ => None,
            }
        })
        .collect();
    SectionData::of(&Section { name: "E387".into(), shape: Shape::Points(points) })
}

fn rows(text: &str) -> Vec<Vec<f64>> {
    text.lines().skip(1).map(|line| line.split(',').map(|word| word.parse().unwrap()).collect()).collect()
}

#[test]
fn four_digit_sections_have_the_thin_section_values() {
    // Thin-section integrals (Abbott & von Doenhoff): 2412 -2.08 deg, -0.053; 4412 -4.15 deg, -0.107 (1 %).
    for (camber, zero, moment) in [(0.02, -2.08_f64, -0.053), (0.04, -4.15, -0.107)] {
        let data = SectionData::of(&four_digits(camber, 0.12));
        near("zero lift", data.zero_lift_rad / zero.to_radians(), 1.0, 0.01);
        near("moment", data.moment / moment, 1.0, 0.01);
    }
}

#[test]
fn flap_effectiveness_is_glauerts() {
    // 1 - (θ - sin θ)/π, cos θ = 2E - 1: 0.6090 at 25 %, 0.6607 at 30 % of the chord.
    near("25 %", flap_effectiveness(0.25), 0.6090, 1e-4);
    near("30 %", flap_effectiveness(0.30), 0.6607, 1e-4);
    near("whole section", flap_effectiveness(1.0), 1.0, 1e-12);
}

#[test]
fn plates_have_the_friction_of_blasius_and_of_prandtl_and_schlichting() {
    // Closed forms at 1e6: 1.328/1000; 0.455/6^2.58 = 0.00447.
    near("laminar", laminar_friction(1.0e6), 0.001_328, 1e-9);
    near("turbulent", turbulent_friction(1.0e6), 0.004_47, 1e-5);
}

#[test]
fn the_e387_has_its_published_thickness_and_camber() {
    // Published with the coordinates: 9.07 % thick, 3.80 % camber.
    let data = e387();
    near("thickness", data.thickness, 0.0907, 0.0005);
    near("camber", data.camber, 0.0380, 0.0008);
    // Measured zero lift -3.0 to -3.8 deg: thin-section theory, without the boundary layer, a little more.
    let zero = data.zero_lift_rad.to_degrees();
    assert!((-4.2..=-3.0).contains(&zero), "{zero}");
}

#[test]
fn profile_drag_of_the_e387_lies_within_the_stated_doubt_of_the_measurements() {
    // Selig et al. 1995. Between the negative stall and the drag bucket's upper end (0 to 1.06), where the polar is a
    // polar and not a stall: two standard deviations of each value, two thirds of the rows within one.
    let data = e387();
    let mut within = 0;
    let mut all = 0;
    for row in rows(DRAG) {
        let (re, lift, drag) = (row[0], row[2], row[3]);
        if !(0.1..=1.06).contains(&lift) {
            continue;
        }
        let value = data.drag(re, lift);
        assert!((value.value - drag).abs() < 2.0 * value.sd, "Re {re} cl {lift}: {value:?} measured {drag}");
        all += 1;
        within += usize::from((value.value - drag).abs() < value.sd);
    }
    assert!(all > 10 && 3 * within >= 2 * all, "{within} of {all}");
}

#[test]
fn greatest_lift_of_the_e387_lies_within_the_stated_doubt_of_the_measurements() {
    // Selig et al. 1995: largest measured lift at about 102 000 and 203 000. The level of the correlation was set on this
    // section, so this holds the trend with Reynolds number and the arithmetic, not the claim for other sections.
    let data = e387();
    for wanted in [101_900.0, 203_100.0] {
        let most = rows(LIFT)
            .iter()
            .filter(|row| (row[0] / wanted - 1.0_f64).abs() < 0.02)
            .map(|row| row[2])
            .fold(0.0, f64::max);
        let value = data.lift_maximum(wanted, 0.0);
        assert!(most > 1.0 && (value.value - most).abs() < value.sd, "{wanted}: {value:?} measured {most}");
    }
}

#[test]
fn a_section_turned_over_has_the_limits_turned_over() {
    // Symmetry: a plain section lifts both ways alike; camber helps one way and costs the other.
    let plain = SectionData::of(&four_digits(0.0, 0.12));
    near("both ways", plain.lift_maximum(2e5, 0.0).value + plain.lift_minimum(2e5, 0.0).value, 0.0, 1e-12);
    let bent = SectionData::of(&four_digits(0.04, 0.12));
    assert!(bent.lift_maximum(2e5, 0.0).value > plain.lift_maximum(2e5, 0.0).value);
    assert!(bent.lift_minimum(2e5, 0.0).value > plain.lift_minimum(2e5, 0.0).value);
}
