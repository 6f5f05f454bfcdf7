//! What does a wind do to a course? Head wind, cross-wind, and the wind triangle.

/// A wind seen from a course.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Parts {
    /// Against the course, m/s; negative from behind.
    pub head_m_s: f64,
    /// From the right of the course, m/s; negative from the left.
    pub right_m_s: f64,
}

/// A way over the ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Way {
    /// How far the nose points off the course, rad, right positive.
    pub correction_rad: f64,
    /// Speed over the ground, m/s.
    pub ground_m_s: f64,
}

/// Parts of a wind (speed, true direction it blows from) along and across a course; angles in rad from true north.
#[must_use]
pub fn parts(speed_m_s: f64, from_rad: f64, course_rad: f64) -> Parts {
    let (sin, cos) = (from_rad - course_rad).sin_cos();
    Parts { head_m_s: speed_m_s * cos, right_m_s: speed_m_s * sin }
}

/// How to keep a course at an airspeed in a wind, and how fast that is; none where the wind allows no way along it.
#[must_use]
pub fn triangle(course_rad: f64, airspeed_m_s: f64, speed_m_s: f64, from_rad: f64) -> Option<Way> {
    let Parts { head_m_s, right_m_s } = parts(speed_m_s, from_rad, course_rad);
    let sine = right_m_s / airspeed_m_s;
    if !(airspeed_m_s > 0.0 && sine.abs() <= 1.0) {
        return None;
    }
    let correction_rad = sine.asin();
    let ground_m_s = airspeed_m_s * correction_rad.cos() - head_m_s;
    (ground_m_s > 0.0).then_some(Way { correction_rad, ground_m_s })
}
