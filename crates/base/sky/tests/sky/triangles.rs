//! Wind against a course: head wind, cross-wind and the wind triangle.

use sky::course::{parts, triangle};

fn rad(deg: f64) -> f64 {
    deg.to_radians()
}

#[track_caller]
fn check(course: f64, airspeed: f64, wind: f64, from: f64, correction_deg: f64, ground: f64, tolerance: f64) {
    let way = triangle(rad(course), airspeed, wind, rad(from)).unwrap();
    assert!((way.correction_rad.to_degrees() - correction_deg).abs() <= tolerance, "{way:?}");
    assert!((way.ground_m_s - ground).abs() <= tolerance, "{way:?}");
}

#[test]
fn wind_triangles_are_the_published_ones() {
    // Closed form, to the digits given.
    check(90.0, 20.0, 6.0, 30.0, -15.06, 16.31, 0.01);
    check(360.0, 15.0, 8.0, 315.0, -22.16, 8.24, 0.01);
    // MathWorks Mapping Toolbox reference, driftcorr example (knots: the triangle has no unit).
    check(0.0, 160.0, 45.0, 310.0, -12.442, 127.32, 0.01);
    // Wind too strong across, and too strong ahead.
    assert!(triangle(0.0, 10.0, 11.0, rad(90.0)).is_none());
    assert!(triangle(0.0, 10.0, 11.0, 0.0).is_none());
}

#[test]
fn a_wind_left_of_the_strip_comes_from_the_left() {
    // Wind 220 at 15, strip 280: 15 cos 60° = 7.5 ahead, 15 sin 60° = 12.990 from the left.
    let seen = parts(15.0, rad(220.0), rad(280.0));
    assert!((seen.head_m_s - 7.5).abs() < 1e-3 && (seen.right_m_s + 12.990).abs() < 1e-3);
}
