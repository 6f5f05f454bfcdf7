//! How much drag does the lift cost? Kinetic energy left behind, counted far downstream (Trefftz plane; Munk, NACA
//! Rep. 121): each strip's wake is a pair of straight vortices, and the wash between them is felt by its lift.

use std::f64::consts::PI;

use numerics::Vec3;

use super::geometry::{LatticeStrip, Panel};

/// Drag over density and speed squared for unit circulation of strip k in the wash of strip j: `drag[k][j]`, so that
/// drag = ρ Σ Γ_k Γ_j `drag[k][j]`. Cores smooth where wakes of different surfaces nearly touch.
pub(super) fn drag_matrix(
    panels: &[Panel],
    images: &[Option<Panel>],
    strips: &[LatticeStrip],
    cores: &[f64],
    wake: Vec3,
) -> Vec<Vec<f64>> {
    let flat = |v: Vec3| v - wake * v.dot(&wake);
    let ends: Vec<Option<(Vec3, Vec3)>> =
        strips.iter().map(|s| panels.get(s.panels.start).map(|p| (flat(p.edge_a), flat(p.edge_b)))).collect();
    // Where the legs' images in a body leave, for strips that stand on one.
    let inside: Vec<Option<(Vec3, Vec3)>> = strips
        .iter()
        .map(|s| images.get(s.panels.start)?.as_ref().map(|p| (flat(p.edge_a), flat(p.edge_b))))
        .collect();
    ends.iter()
        .zip(strips)
        .map(|(here, strip)| {
            ends.iter()
                .zip(&inside)
                .zip(strips)
                .map(|((there, image), other)| {
                    let (Some((a, b)), Some((from, to))) = (here, there) else {
                        return 0.0;
                    };
                    let core = if strip.surface == other.surface {
                        0.0
                    } else {
                        cores.get(other.surface).copied().unwrap_or(0.0)
                    };
                    let middle = a + (b - a) * strip.control_share;
                    let across = b - a;
                    // Vortex along the wake, strength one: wake x r / (2 pi r²); it enters at `from`, leaves at `to`.
                    let line = |place: &Vec3| {
                        let r = middle - place;
                        wake.cross(&r) / (2.0 * PI * (r.norm_squared() + core * core))
                    };
                    let mut wash = line(to) - line(from);
                    if strip.surface == other.surface
                        && let Some((from, to)) = image
                    {
                        wash -= line(to) - line(from);
                    }
                    // Lift direction times width is wake x across; drag is lift times minus half the far wash.
                    -0.5 * wash.dot(&wake.cross(&across))
                })
                .collect()
        })
        .collect()
}
