//! What is the moment of inertia of an item, and of many together?
//!
//! Tensors are in body axes (x forward, y right, z down); their off-diagonal terms are the negated products of
//! inertia (`numerics::frames`).

use std::f64::consts::PI;

use numerics::frames::body_from_builder;
use numerics::uncertain::{Uncertain, propagate};
use numerics::units::G_M_S2;
use numerics::{Mat3, Vec3};

use crate::known::{Known, Origin};
use crate::mass::{Item, Shape};

/// A swing of the model about its upright axis on two parallel strings of equal length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bifilar {
    /// Mass of everything that swings, kg.
    pub mass_kg: f64,
    /// Distance between the strings, m (the whole, not half of it).
    pub spacing_m: f64,
    /// Length of the strings, m.
    pub length_m: f64,
    /// Duration of one full swing, s.
    pub period_s: Uncertain,
    /// Moment of inertia of what holds the model, to be taken away, kg m².
    pub cradle_kg_m2: f64,
}

/// One item, or one of a pair, with a place and its own inertia.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Part {
    pub(crate) mass_kg: f64,
    /// Builder's frame, m.
    pub(crate) at_m: Vec3,
    /// About its own centre, kg m².
    pub(crate) own_kg_m2: Vec3,
}

/// Moments of inertia of a body of a shape and extent about its own centre, along the three axes, kg m².
#[must_use]
pub fn own_inertia_kg_m2(shape: Shape, mass_kg: f64, size_m: Vec3) -> Vec3 {
    let s = size_m.component_mul(&size_m);
    match shape {
        Shape::Box => Vec3::new(s.y + s.z, s.x + s.z, s.x + s.y) * (mass_kg / 12.0),
        // Of an ellipse with its axes along y and z; a round one where they are equal.
        Shape::Cylinder => {
            Vec3::new((s.y + s.z) / 16.0, s.z / 16.0 + s.x / 12.0, s.y / 16.0 + s.x / 12.0) * mass_kg
        }
        Shape::Rod => {
            let along = size_m.imax();
            let mut inertia = Vec3::repeat(s[along] * mass_kg / 12.0);
            inertia[along] = 0.0;
            inertia
        }
        Shape::Point => Vec3::zeros(),
    }
}

/// The parts of the items: a pair becomes two.
pub(crate) fn parts(items: &[Item]) -> Vec<Part> {
    let mut parts = Vec::new();
    for item in items {
        let share = if item.mirrored { 0.5 } else { 1.0 };
        let mass_kg = share * item.mass_kg.value;
        let right =
            Part { mass_kg, at_m: item.at_m, own_kg_m2: own_inertia_kg_m2(item.shape, mass_kg, item.size_m) };
        parts.push(right);
        if item.mirrored {
            let at_m = Vec3::new(item.at_m.x, -item.at_m.y, item.at_m.z);
            parts.push(Part { at_m, ..right });
        }
    }
    parts
}

/// Inertia tensor of parts about a place in the builder's frame, body axes, kg m² (parallel axes).
pub(crate) fn tensor_kg_m2(parts: &[Part], about_m: Vec3) -> Mat3 {
    let mut tensor = Mat3::zeros();
    for part in parts {
        let arm = body_from_builder(part.at_m - about_m);
        tensor += Mat3::from_diagonal(&part.own_kg_m2);
        tensor += (Mat3::identity() * arm.norm_squared() - arm * arm.transpose()) * part.mass_kg;
    }
    tensor
}

/// Principal moments of inertia, smallest first, kg m².
#[must_use]
pub fn principal_moments_kg_m2(tensor: &Mat3) -> [f64; 3] {
    let mut moments: [f64; 3] = tensor.symmetric_eigenvalues().into();
    moments.sort_by(f64::total_cmp);
    moments
}

/// Whether a body with this tensor can exist: its smallest principal moment is positive and no principal moment
/// exceeds the sum of the other two (beyond rounding).
#[must_use]
pub fn is_possible(tensor: &Mat3) -> bool {
    let [a, b, c] = principal_moments_kg_m2(tensor);
    a > 0.0 && c <= (a + b) * (1.0 + 1e-9)
}

/// Moment of inertia about the upright axis of a swing on two strings, I = m g T² d² / (16 π² L) less the cradle;
/// its doubt comes from that of the period. Absent where a number is not positive or the cradle has it all.
#[must_use]
pub fn inertia_from_bifilar(swing: &Bifilar) -> Option<Known> {
    let inertia = propagate(&[swing.period_s], |t| {
        swing.mass_kg * G_M_S2 * (t[0] * swing.spacing_m).powi(2) / (16.0 * PI * PI * swing.length_m)
            - swing.cradle_kg_m2
    });
    let sound =
        swing.mass_kg > 0.0 && swing.length_m > 0.0 && inertia.value > 0.0 && inertia.value.is_finite();
    sound.then_some(Known { value: inertia.value, sd: inertia.sd, from: Origin::Measured })
}
