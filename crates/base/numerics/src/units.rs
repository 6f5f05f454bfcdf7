//! How many SI units is one of the units that people type and read?
//!
//! SI and radians inside; degrees, mm, g, inches, mAh and µs only at the edges. Definitions are exact
//! (international yard and pound 1959, BIPM SI brochure), so no check value is needed beyond them.

/// Radians in one degree.
pub const RAD_PER_DEG: f64 = std::f64::consts::PI / 180.0;
/// Degrees in one radian.
pub const DEG_PER_RAD: f64 = 180.0 / std::f64::consts::PI;
/// Metres in one inch (exact by definition).
pub const M_PER_IN: f64 = 0.0254;
/// Metres in one foot (exact by definition).
pub const M_PER_FT: f64 = 0.3048;
/// Kilograms in one avoirdupois pound (exact by definition).
pub const KG_PER_LB: f64 = 0.453_592_37;
/// Kilograms in one avoirdupois ounce.
pub const KG_PER_OZ: f64 = KG_PER_LB / 16.0;
/// Kilograms in one slug: a pound-force second squared a foot.
pub const KG_PER_SLUG: f64 = KG_PER_LB * G_M_S2 / M_PER_FT;
/// Metres a second in one knot (1852 m an hour).
pub const M_S_PER_KT: f64 = 1852.0 / 3600.0;
/// Metres a second in one kilometre an hour.
pub const M_S_PER_KM_H: f64 = 1.0 / 3.6;
/// Metres a second in one statute mile an hour.
pub const M_S_PER_MPH: f64 = 0.447_04;
/// Standard acceleration of gravity, m/s² (CGPM 1901).
pub const G_M_S2: f64 = 9.806_65;
/// Radians a second in one revolution a minute.
pub const RAD_S_PER_RPM: f64 = std::f64::consts::PI / 30.0;
