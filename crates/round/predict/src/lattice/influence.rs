//! What velocity does a vortex of strength one cause at a point?

use std::f64::consts::PI;

use numerics::Vec3;

use super::geometry::Panel;

/// A point counts as lying on a vortex when it is seen from there under less than the root of this, rad: rounding there
/// would otherwise be divided by nothing. On the vortex itself nothing is caused.
const ON_THE_LINE: f64 = 1e-14;

/// A point as seen from a place: the vector to it and its length, shared by the vortices that meet there.
#[derive(Clone, Copy)]
struct Seen {
    r: Vec3,
    length: f64,
}

impl Seen {
    fn new(p: Vec3, from: Vec3) -> Self {
        let r = p - from;
        Self { r, length: r.norm() }
    }
}

/// Velocity times 4π from a straight piece of vortex between two places, strength one. Source: Katz & Plotkin, ch. 10,
/// in the form without cancellation off the ends: (ra + rb) a × b / (ra rb (ra rb + a · b)).
fn segment(a: Seen, b: Seen) -> Vec3 {
    let product = a.length * b.length;
    let facing = product + a.r.dot(&b.r);
    if facing <= ON_THE_LINE * product {
        return Vec3::zeros();
    }
    a.r.cross(&b.r) * ((a.length + b.length) / (product * facing))
}

/// Velocity times 4π from a half-infinite vortex along the unit vector `along`, strength one; `core` smooths within that
/// distance of its line (m).
fn leg(from: Seen, along: Vec3, core: f64) -> Vec3 {
    let ahead = from.r.dot(&along);
    let facing = from.length - ahead;
    let cross = along.cross(&from.r);
    if core > 0.0 {
        let size = (1.0 + ahead / from.length.max(f64::MIN_POSITIVE)) / (cross.norm_squared() + core * core);
        return cross * size;
    }
    if facing <= ON_THE_LINE * from.length {
        return Vec3::zeros();
    }
    cross / (from.length * facing)
}

/// Velocity at `p` from a panel's horseshoe of strength one with its wake along the unit vector `wake`, the
/// wake's vortices smoothed by `core`.
pub(super) fn horseshoe(panel: &Panel, p: Vec3, wake: Vec3, core: f64) -> Vec3 {
    let (a, b) = (Seen::new(p, panel.a), Seen::new(p, panel.b));
    let (edge_a, edge_b) = (Seen::new(p, panel.edge_a), Seen::new(p, panel.edge_b));
    let sum = segment(a, b) + segment(edge_a, a) + segment(b, edge_b) + leg(edge_b, wake, core)
        - leg(edge_a, wake, core);
    sum * (0.25 / PI)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_piece_and_two_legs_make_the_plane_vortex() {
        // Infinite line along x at distance 2: 1/(2 pi 2), Biot-Savart, counter-clockwise about +x.
        let p = Vec3::new(0.0, 2.0, 0.0);
        let at = |x: f64| Seen::new(p, Vec3::new(x, 0.0, 0.0));
        let piece = segment(at(-1e5), at(1e5));
        let legs = leg(at(0.0), Vec3::x(), 0.0) - leg(at(0.0), -Vec3::x(), 0.0);
        for v in [piece, legs] {
            // 1e-6: rounding where the ends are far (1e-16 of the squared length over the distance).
            assert!((v / (4.0 * PI) - Vec3::new(0.0, 0.0, 1.0 / (4.0 * PI))).norm() < 1e-6, "{v}");
        }
        // A core of the same size as the distance halves the velocity.
        let smoothed = leg(at(0.0), Vec3::x(), 2.0);
        assert!((smoothed.z - 0.5 * leg(at(0.0), Vec3::x(), 0.0).z).abs() < 1e-12);
    }

    #[test]
    fn a_point_on_the_line_of_a_vortex_feels_nothing() {
        let (a, b) = (Vec3::new(0.1, 0.2, 0.3), Vec3::new(0.7, 0.5, 0.1));
        for share in [-0.5, 0.3, 0.5, 1.7] {
            let p = a + (b - a) * share;
            assert!(segment(Seen::new(p, a), Seen::new(p, b)).norm() < 1e-9);
        }
    }

    #[test]
    fn a_square_ring_has_the_closed_form_at_its_middle() {
        // Side 2 a: each side gives sqrt(2)/(4 pi a), four of them sqrt(2)/(pi a), a = 1.
        let corners = [(1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0), (1.0, -1.0)].map(|(x, y)| Vec3::new(x, y, 0.0));
        let at = |i: usize| Seen::new(Vec3::zeros(), corners[i % 4]);
        let sum: Vec3 = (0..4).map(|i| segment(at(i), at(i + 1))).sum();
        assert!((sum.z / (4.0 * PI) - 2.0_f64.sqrt() / PI).abs() < 1e-12);
    }
}
