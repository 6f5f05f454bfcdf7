//! What bodies does it have?

use numerics::Vec3;

/// A body given by cross-sections from nose to tail.
#[derive(Debug, Clone, PartialEq)]
pub struct Fuselage {
    /// The builder's name; unique.
    pub name: String,
    /// Whether a mirror image stands on the other side (twin booms).
    pub mirrored: bool,
    /// Cross-sections, at least two, at growing x.
    pub stations: Vec<BodyStation>,
}

/// A cross-section of a body, taken as an ellipse.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BodyStation {
    /// Its centre in the builder's frame, m.
    pub centre_m: Vec3,
    /// Width, m.
    pub width_m: f64,
    /// Height, m.
    pub height_m: f64,
}
