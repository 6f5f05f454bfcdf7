//! What does it look like at a glance? From above and from ahead, without numbers, for lists and choices.

use aircraft::Aircraft;
use numerics::Vec3;

use super::shape::{Extent, mirrored, outline, sides};
use crate::svg::{Canvas, Ink, pen};

const WIDTH: f64 = 200.0;
const EDGE: f64 = 8.0;

/// The aircraft from above, nose up, and below that from ahead, as one small SVG without numbers.
#[must_use]
pub fn small(aircraft: &Aircraft) -> String {
    let title = format!("{} from above and from ahead", aircraft.layout.word());
    let mut canvas = Canvas::new(WIDTH, 40.0, &title, "A drawing without numbers.");
    let Some(whole) = Extent::of(aircraft) else { return canvas.finish() };
    let size = whole.high - whole.low;
    let scale = (WIDTH - 2.0 * EDGE) / size.y.max(size.x).max(1e-3);
    let above = |p: Vec3| [0.5 * WIDTH + p.y * scale, EDGE + (p.x - whole.low.x) * scale];
    let ground = EDGE + size.x * scale + 14.0 + size.z * scale;
    let ahead = |p: Vec3| [0.5 * WIDTH - p.y * scale, ground - (p.z - whole.low.z) * scale];
    for body in &aircraft.fuselages {
        for side in sides(body.mirrored) {
            let edge = |sign: f64, s: &aircraft::fuselage::BodyStation| {
                above(mirrored(s.centre_m + Vec3::new(0.0, sign * 0.5 * s.width_m, 0.0), side))
            };
            let mut points: Vec<[f64; 2]> = body.stations.iter().map(|s| edge(1.0, s)).collect();
            points.extend(body.stations.iter().rev().map(|s| edge(-1.0, s)));
            canvas.area(&points, Ink::Grid, 0.6);
            canvas.path(&points, true, pen(Ink::Plain, 1.2));
        }
    }
    for surface in &aircraft.surfaces {
        let points = outline(surface);
        for side in sides(surface.mirrored) {
            let shape: Vec<[f64; 2]> = points.iter().map(|p| above(mirrored(*p, side))).collect();
            canvas.blank(&shape);
            canvas.path(&shape, true, pen(Ink::Plain, 1.6));
            let edge: Vec<[f64; 2]> =
                surface.stations.iter().map(|s| ahead(mirrored(s.leading_edge_m, side))).collect();
            canvas.path(&edge, false, pen(Ink::Plain, 2.2));
        }
    }
    for body in &aircraft.fuselages {
        if let Some(widest) = body.stations.iter().max_by(|a, b| a.width_m.total_cmp(&b.width_m)) {
            for side in sides(body.mirrored) {
                let half = [0.5 * widest.width_m * scale, 0.5 * widest.height_m * scale];
                canvas.ellipse(ahead(mirrored(widest.centre_m, side)), half, pen(Ink::Plain, 1.2));
            }
        }
    }
    canvas.set_height(ground + EDGE);
    canvas.finish()
}
