//! Which lifting surfaces are there, and where?

use numerics::Vec3;

use crate::section::Section;

/// What a surface is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// Carries the aircraft.
    Wing,
    /// Horizontal tail behind the wing.
    Tailplane,
    /// Vertical tail.
    Fin,
    /// One panel pair that does the work of tailplane and fin.
    VTail,
    /// Horizontal surface ahead of the wing.
    Foreplane,
}

/// A lifting surface given by stations from root to tip. A mirrored surface has the described panel on the right
/// and its mirror image on the left; one that is not mirrored stands alone (a fin on the centre line).
#[derive(Debug, Clone, PartialEq)]
pub struct Surface {
    /// The builder's name ("wing"); unique.
    pub name: String,
    /// What it is for.
    pub role: Role,
    /// Whether a mirror image stands on the other side of the plane of symmetry.
    pub mirrored: bool,
    /// Stations from root to tip, at least two, at growing `along_m`.
    pub stations: Vec<Station>,
}

/// A rib: where its leading edge is, its chord, twist and section.
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    /// Distance from the root along the surface (not its projection), m.
    pub along_m: f64,
    /// Leading edge in the builder's frame, m.
    pub leading_edge_m: Vec3,
    /// Chord, m.
    pub chord_m: f64,
    /// Twist, leading edge up positive (for a fin: leading edge towards the left), rad.
    pub twist_rad: f64,
    /// Section, joined straight to those of the neighbours.
    pub section: Section,
}
