//! What does it weigh, and where? Items, and what the scale said of the whole.

use numerics::{Mat3, Vec3};

use crate::known::Known;

/// An item of mass.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// The builder's name ("pack"); unique.
    pub name: String,
    /// Mass, kg.
    pub mass_kg: Known,
    /// Its own centre in the builder's frame, m. For a mirrored pair: of the right one.
    pub at_m: Vec3,
    /// Extent along x, y, z, m (zero: a point). For a mirrored pair: of one of the two.
    pub size_m: Vec3,
    /// How its mass fills its extent.
    pub shape: Shape,
    /// Whether the item is a pair, one on each side; `mass_kg` is of both together.
    pub mirrored: bool,
    /// Whether the builder can move it to balance the aircraft (the pack), and how far along x, m from and to.
    pub movable_x_m: Option<[f64; 2]>,
}

/// How an item's mass fills its extent.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// Evenly filled box.
    Box,
    /// Evenly filled cylinder, its axis along x.
    Cylinder,
    /// Thin rod along the longest side of its extent.
    Rod,
    /// Everything in one point.
    Point,
}

/// What the scale and the balance stand said of the whole aircraft, ready to fly.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weighed {
    /// Total mass, kg.
    pub total_kg: Option<Known>,
    /// Balance point along x from the datum, builder's frame, m.
    pub balance_x_m: Option<Known>,
    /// Balance point along z from the datum, builder's frame (up), m.
    pub balance_z_m: Option<Known>,
    /// Measured moments of inertia about the body axes through the balance point (roll, pitch, yaw), kg m².
    pub inertia_kg_m2: [Option<Known>; 3],
}

/// Mass, balance point and inertia of the whole, and how they were come by.
#[derive(Debug, Clone, PartialEq)]
pub struct Balance {
    /// Total mass, kg.
    pub total_kg: Known,
    /// Centre of gravity in the builder's frame, m.
    pub cg_m: Vec3,
    /// How sure its place along x is, with its origin; value equals `cg_m.x`.
    pub cg_x_m: Known,
    /// Inertia tensor about the centre of gravity in body axes, kg m²; off-diagonals are the negated products.
    pub inertia_kg_m2: Mat3,
    /// What the items say of the total, kg; absent without items.
    pub items_total_kg: Option<f64>,
    /// What the items say of the balance point along x, m; absent without items.
    pub items_cg_x_m: Option<f64>,
    /// What does not fit together, in words with numbers.
    pub remarks: Vec<String>,
}
