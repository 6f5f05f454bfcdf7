//! What velocity does a vortex of strength one cause at a point?

use std::f64::consts::PI;

use numerics::Vec3;

use super::geometry::Panel;

/// Sine of the angle under which a point counts as lying on a vortex's own line, where the vortex causes nothing:
/// rounding there would otherwise be divided by its square.
const ON_THE_LINE: f64 = 1e-9;

/// Velocity at `p` from a straight piece of vortex from `a` to `b`, strength one. On the line itself nothing is caused.
/// Source: Katz & Plotkin, ch. 10.
fn segment(p: Vec3, a: Vec3, b: Vec3) -> Vec3 {
    let (from_a, from_b, along) = (p - a, p - b, b - a);
    let (ra, rb) = (from_a.norm(), from_b.norm());
    let cross = from_a.cross(&from_b);
    let square = cross.norm_squared();
    if square <= (ON_THE_LINE * ra * rb).powi(2) {
        return Vec3::zeros();
    }
    cross * (along.dot(&(from_a / ra - from_b / rb)) / (4.0 * PI * square))
}

/// Velocity at `p` from a half-infinite vortex from `a` along the unit vector `along`, strength one; `core` smooths
/// within that distance of its line (m).
fn leg(p: Vec3, a: Vec3, along: Vec3, core: f64) -> Vec3 {
    let r = p - a;
    let distance = r.norm();
    let cross = along.cross(&r);
    let square = cross.norm_squared();
    if square <= (ON_THE_LINE * distance).powi(2) {
        return Vec3::zeros();
    }
    cross * ((1.0 + r.dot(&along) / distance) / (4.0 * PI * (square + core * core)))
}

/// Velocity at `p` from a panel's horseshoe of strength one with its wake along the unit vector `wake`, the
/// wake's vortices smoothed by `core`.
pub(super) fn horseshoe(panel: &Panel, p: Vec3, wake: Vec3, core: f64) -> Vec3 {
    segment(p, panel.a, panel.b)
        + segment(p, panel.edge_a, panel.a)
        + segment(p, panel.b, panel.edge_b)
        + leg(p, panel.edge_b, wake, core)
        - leg(p, panel.edge_a, wake, core)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_piece_and_two_legs_make_the_plane_vortex() {
        // Infinite line along x at distance 2: 1/(2 pi 2), Biot-Savart, counter-clockwise about +x.
        let p = Vec3::new(0.0, 2.0, 0.0);
        let expected = 1.0 / (4.0 * PI);
        let piece = segment(p, Vec3::new(-1e5, 0.0, 0.0), Vec3::new(1e5, 0.0, 0.0));
        let legs = leg(p, Vec3::zeros(), Vec3::x(), 0.0) - leg(p, Vec3::zeros(), -Vec3::x(), 0.0);
        for v in [piece, legs] {
            assert!((v - Vec3::new(0.0, 0.0, expected)).norm() < 1e-9, "{v}");
        }
    }

    #[test]
    fn a_square_ring_has_the_closed_form_at_its_middle() {
        // Side 2 a: each side gives sqrt(2)/(4 pi a), four of them sqrt(2)/(pi a), a = 1.
        let corners = [(1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0), (1.0, -1.0)].map(|(x, y)| Vec3::new(x, y, 0.0));
        let sum: Vec3 = (0..4).map(|i| segment(Vec3::zeros(), corners[i], corners[(i + 1) % 4])).sum();
        assert!((sum.z - 2.0_f64.sqrt() / PI).abs() < 1e-12);
    }
}
