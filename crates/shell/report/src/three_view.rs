//! What does it look like, and where does it balance? Plan, front and side view to one scale, dimensioned, with the
//! balance enlarged beneath.

use aircraft::Aircraft;
use aircraft::surface::{Role, Surface};
use numerics::Vec3;
use numerics::units::DEG_PER_RAD;
use plan::number;

mod balance;
mod shape;
mod small;

pub use small::small;

use balance::{balance_point, balance_strip, diamond, key};
use shape::{Extent, mirrored, movable_outline, on, outline, sides};

use crate::svg::{Anchor, Canvas, Ink, Pen, dashed, pen, width_of, wrapped};

const WIDTH: f64 = 400.0;
const TEXT: f64 = 13.0;
/// Room for the larger of span and length.
const ROOM: f64 = 288.0;
const MIDDLE: f64 = 200.0;

/// The three-view as one self-contained SVG. Positions along x in meters from the datum; what is absent is not drawn.
#[must_use]
pub fn three_view(
    aircraft: &Aircraft,
    cg_x_m: Option<f64>,
    neutral_point_x_m: Option<f64>,
    range_x_m: Option<[f64; 2]>,
) -> String {
    let description = description(aircraft, cg_x_m, neutral_point_x_m);
    let mut canvas = Canvas::new(WIDTH, 60.0, &format!("Three-view of {}", aircraft.name), &description);
    let Some(whole) = Extent::of(aircraft) else {
        canvas.words(
            [10.0, 30.0],
            TEXT,
            Anchor::Start,
            "Nothing to draw: no surfaces and no bodies are described.",
        );
        return canvas.finish();
    };
    let extent = whole.with_masses(aircraft);
    let size = extent.high - extent.low;
    let views = Views { scale: ROOM / size.y.max(size.x).max(1e-3), extent, whole };
    let mut y = 8.0;
    for line in wrapped(&aircraft.name, 15.0, WIDTH - 20.0) {
        y += 17.0;
        canvas.text([10.0, y], 15.0, Anchor::Start, Ink::Plain, true, &line);
    }
    y += 16.0;
    canvas.words([10.0, y], TEXT, Anchor::Start, &format!("{}, lengths in mm", aircraft.layout.word()));
    y = plan_view(&mut canvas, aircraft, &views, y + 14.0, cg_x_m, neutral_point_x_m);
    y = front_view(&mut canvas, aircraft, &views, y + 8.0);
    y = side_view(&mut canvas, aircraft, &views, y + 8.0, cg_x_m);
    y = balance_strip(&mut canvas, aircraft, y + 10.0, cg_x_m, neutral_point_x_m, range_x_m);
    y = key(&mut canvas, aircraft, y + 4.0);
    canvas.set_height(y + 10.0);
    canvas.finish()
}

/// A position along x as people read it on the drawing.
fn mm(length_m: f64) -> String {
    number::fixed(length_m * 1000.0, 0)
}

fn description(aircraft: &Aircraft, cg_x_m: Option<f64>, neutral_point_x_m: Option<f64>) -> String {
    let mut words = format!("Plan, front and side view of a {} model", aircraft.layout.word());
    if let Some(span) = span_m(aircraft) {
        words.push_str(&format!(", span {} mm", mm(span)));
    }
    if let Some(cg) = cg_x_m {
        words.push_str(&format!("; balance point {} mm aft of the {}", mm(cg), aircraft.datum));
    }
    if let Some(np) = neutral_point_x_m {
        words.push_str(&format!("; neutral point at {} mm", mm(np)));
    }
    words
}

fn span_m(aircraft: &Aircraft) -> Option<f64> {
    let wing = aircraft.wing()?;
    let tip = wing.stations.iter().map(|s| s.leading_edge_m.y.abs()).fold(0.0, f64::max);
    Some(if wing.mirrored { 2.0 * tip } else { tip })
}

struct Views {
    scale: f64,
    /// Everything that is drawn.
    extent: Extent,
    /// The aircraft without its masses: what length and height are of.
    whole: Extent,
}

impl Views {
    fn seen_from_above(&self, top: f64, p: Vec3) -> [f64; 2] {
        [MIDDLE + p.y * self.scale, top + (p.x - self.extent.low.x) * self.scale]
    }

    fn seen_from_ahead(&self, bottom: f64, p: Vec3) -> [f64; 2] {
        [MIDDLE - p.y * self.scale, bottom - (p.z - self.extent.low.z) * self.scale]
    }

    fn seen_from_the_left(&self, bottom: f64, p: Vec3) -> [f64; 2] {
        let left = MIDDLE - 0.5 * (self.extent.high.x - self.extent.low.x) * self.scale;
        [left + (p.x - self.extent.low.x) * self.scale, bottom - (p.z - self.extent.low.z) * self.scale]
    }
}

/// Draws surfaces, movables and bodies in a view.
fn draw_all(canvas: &mut Canvas, aircraft: &Aircraft, see: impl Fn(Vec3) -> [f64; 2]) {
    let seen = |points: &[Vec3], side: f64| -> Vec<[f64; 2]> {
        points.iter().map(|p| see(mirrored(*p, side))).collect()
    };
    for surface in &aircraft.surfaces {
        let points = outline(surface);
        for side in sides(surface.mirrored) {
            let shape = seen(&points, side);
            canvas.blank(&shape);
            canvas.path(&shape, true, pen(Ink::Plain, 1.8));
            let inner = surface.stations.len().saturating_sub(2);
            for station in surface.stations.iter().skip(1).take(inner) {
                if let (Some(a), Some(b)) =
                    (on(surface, station.along_m, 0.0), on(surface, station.along_m, 1.0))
                {
                    canvas.line(see(mirrored(a, side)), see(mirrored(b, side)), pen(Ink::Grid, 1.0));
                }
            }
        }
    }
    for movable in &aircraft.movables {
        let Some(surface) = aircraft.surfaces.get(movable.surface) else {
            continue;
        };
        let points = movable_outline(surface, movable);
        for side in sides(surface.mirrored) {
            let shape = seen(&points, side);
            canvas.area(&shape, Ink::A, 0.25);
            canvas.path(&shape, true, pen(Ink::A, 1.4));
        }
    }
}

fn horizontal_dimension(canvas: &mut Canvas, from_x: f64, to_x: f64, y: f64, words: &str) {
    let thin = pen(Ink::Plain, 0.9);
    canvas.arrow([0.5 * (from_x + to_x), y], [from_x, y], thin);
    canvas.arrow([0.5 * (from_x + to_x), y], [to_x, y], thin);
    for x in [from_x, to_x] {
        canvas.line([x, y - 5.0], [x, y + 5.0], thin);
    }
    let (middle, half) = (0.5 * (from_x + to_x), 0.5 * width_of(words, TEXT) + 3.0);
    if (to_x - from_x).abs() > 2.0 * half + 24.0 {
        canvas.blank(&[
            [middle - half, y - 7.0],
            [middle + half, y - 7.0],
            [middle + half, y + 7.0],
            [middle - half, y + 7.0],
        ]);
        canvas.words([middle, y + 4.0], TEXT, Anchor::Middle, words);
    } else {
        canvas.words([from_x.max(to_x) + 6.0, y + 4.0], TEXT, Anchor::Start, words);
    }
}

fn vertical_dimension(canvas: &mut Canvas, x: f64, from_y: f64, to_y: f64, words: &str, side: Anchor) {
    let thin = pen(Ink::Plain, 0.9);
    let middle = 0.5 * (from_y + to_y);
    canvas.arrow([x, middle], [x, from_y], thin);
    canvas.arrow([x, middle], [x, to_y], thin);
    for y in [from_y, to_y] {
        canvas.line([x - 4.0, y], [x + 4.0, y], thin);
    }
    let label_x = if side == Anchor::End { x - 6.0 } else { x + 6.0 };
    canvas.words([label_x, middle + 4.0], TEXT, side, words);
}

fn plan_view(
    canvas: &mut Canvas,
    aircraft: &Aircraft,
    views: &Views,
    top: f64,
    cg_x_m: Option<f64>,
    neutral_point_x_m: Option<f64>,
) -> f64 {
    let see = |p: Vec3| views.seen_from_above(top, p);
    let bottom = see(views.extent.high)[1];
    // The root chord's extension lines run behind the wing to the left margin.
    let root = aircraft.wing().and_then(|w| w.stations.first());
    if let (Some(wing), Some(root)) = (aircraft.wing(), root)
        && let (Some(front), Some(back)) = (on(wing, root.along_m, 0.0), on(wing, root.along_m, 1.0))
    {
        let (front_y, back_y) = (see(front)[1], see(back)[1]);
        let x = 38.0;
        for y in [front_y, back_y] {
            canvas.line([x - 4.0, y], [MIDDLE, y], pen(Ink::Grid, 0.9));
        }
        vertical_dimension(canvas, x, front_y, back_y, &mm(root.chord_m), Anchor::End);
    }
    draw_all(canvas, aircraft, see);
    for body in &aircraft.fuselages {
        let edge = |sign: f64| {
            body.stations.iter().map(move |s| s.centre_m + Vec3::new(0.0, sign * 0.5 * s.width_m, 0.0))
        };
        let points: Vec<Vec3> = edge(1.0).chain(edge(-1.0).rev()).collect();
        for side in sides(body.mirrored) {
            let shape: Vec<[f64; 2]> = points.iter().map(|p| see(mirrored(*p, side))).collect();
            canvas.blank(&shape);
            canvas.path(&shape, true, pen(Ink::Plain, 1.8));
        }
    }
    propellers(canvas, aircraft, see, |direction, r| {
        let across = Vec3::new(-direction.y, direction.x, 0.0);
        across.try_normalize(1e-9).map(|a| a * r)
    });
    for item in &aircraft.masses {
        for side in sides(item.mirrored) {
            canvas.circle(see(mirrored(item.at_m, side)), 2.4, pen(Ink::B, 1.3));
        }
    }
    if let (Some(wing), Some(tip)) = (aircraft.wing(), aircraft.wing().and_then(|w| w.stations.last()))
        && let (Some(front), Some(back)) = (on(wing, tip.along_m, 0.0), on(wing, tip.along_m, 1.0))
        && tip.leading_edge_m.y.abs() > 0.0
    {
        let (front, back) = (see(front), see(back));
        vertical_dimension(
            canvas,
            front[0].max(back[0]) + 8.0,
            front[1],
            back[1],
            &mm(tip.chord_m),
            Anchor::Start,
        );
    }
    // Names on opposite sides: the two points are often closer together than a line of text is high.
    let mark = |canvas: &mut Canvas, x_m: f64, sign: f64, words: &str, dash: Pen| {
        let at = see(Vec3::new(x_m, 0.0, 0.0));
        let to = at[0] + sign * 34.0;
        canvas.line(at, [to, at[1]], dash);
        let anchor = if sign > 0.0 { Anchor::Start } else { Anchor::End };
        // Masses may lie where the name stands: the name comes first.
        let (near, far) = (to + sign * 2.0, to + sign * (6.0 + width_of("NP", TEXT + 3.0)));
        let (above, below) = (at[1] - 8.0, at[1] + 8.0);
        canvas.blank(&[[near, above], [far, above], [far, below], [near, below]]);
        canvas.text([to + sign * 4.0, at[1] + 4.5], TEXT, anchor, Ink::Plain, true, words);
    };
    if let Some(x) = neutral_point_x_m {
        mark(canvas, x, 1.0, "NP", dashed(Ink::C, 1.6));
        diamond(canvas, see(Vec3::new(x, 0.0, 0.0)), 4.0);
    }
    if let Some(x) = cg_x_m {
        mark(canvas, x, -1.0, "CG", pen(Ink::Plain, 1.4));
        balance_point(canvas, see(Vec3::new(x, 0.0, 0.0)), 5.0);
    }
    let mut y = bottom + 14.0;
    let tail = aircraft
        .surfaces
        .iter()
        .find(|s| s.mirrored && matches!(s.role, Role::Tailplane | Role::VTail | Role::Foreplane));
    if let Some(tail) = tail {
        let half = tail.stations.iter().map(|s| s.leading_edge_m.y).fold(0.0, f64::max);
        horizontal_dimension(
            canvas,
            MIDDLE - half * views.scale,
            MIDDLE + half * views.scale,
            y,
            &mm(2.0 * half),
        );
        y += 20.0;
    }
    if let Some(span) = span_m(aircraft) {
        let half = 0.5 * span * views.scale;
        horizontal_dimension(canvas, MIDDLE - half, MIDDLE + half, y, &format!("span {}", mm(span)));
        y += 14.0;
    }
    y
}

fn propellers(
    canvas: &mut Canvas,
    aircraft: &Aircraft,
    see: impl Fn(Vec3) -> [f64; 2],
    across: impl Fn(Vec3, f64) -> Option<Vec3>,
) {
    if let Some(drive) = &aircraft.drive {
        for hub in &drive.hubs_m {
            if let Some(half) = across(drive.pull_direction, 0.5 * drive.propeller.diameter_m) {
                canvas.line(see(hub - half), see(hub + half), pen(Ink::B, 3.0));
            }
        }
    }
}

fn front_view(canvas: &mut Canvas, aircraft: &Aircraft, views: &Views, top: f64) -> f64 {
    let height = (views.extent.high.z - views.extent.low.z) * views.scale;
    let bottom = top + 14.0 + height;
    let see = |p: Vec3| views.seen_from_ahead(bottom, p);
    canvas.words([10.0, top + 4.0], TEXT, Anchor::Start, "From ahead");
    draw_all(canvas, aircraft, see);
    for body in &aircraft.fuselages {
        for side in sides(body.mirrored) {
            // From the tail forward, each hiding what is behind it.
            for station in body.stations.iter().rev() {
                let radii = [0.5 * station.width_m * views.scale, 0.5 * station.height_m * views.scale];
                let at = see(mirrored(station.centre_m, side));
                let points: Vec<[f64; 2]> = (0..24)
                    .map(|i| f64::from(i) * std::f64::consts::TAU / 24.0)
                    .map(|a| [at[0] + radii[0] * a.cos(), at[1] + radii[1] * a.sin()])
                    .collect();
                canvas.blank(&points);
                canvas.ellipse(at, radii, pen(Ink::Plain, 1.2));
            }
        }
    }
    if let Some(drive) = &aircraft.drive {
        for hub in &drive.hubs_m {
            canvas.circle(see(*hub), 0.5 * drive.propeller.diameter_m * views.scale, dashed(Ink::B, 1.6));
        }
    }
    angles(canvas, aircraft, see, views.scale);
    bottom + 8.0
}

/// The dihedral of the wing on the right wing, which is at the left when seen from ahead; that of the tail, where it has
/// one, at its other tip, so that neither hides the other.
fn angles(canvas: &mut Canvas, aircraft: &Aircraft, see: impl Fn(Vec3) -> [f64; 2], scale: f64) {
    let label = |canvas: &mut Canvas, at: [f64; 2], anchor: Anchor, angle_deg: f64| {
        let words = format!("{}°", number::fixed(angle_deg, 1));
        let width = width_of(&words, TEXT) + 4.0;
        let left = match anchor {
            Anchor::Start => at[0] - 2.0,
            Anchor::Middle => at[0] - 0.5 * width,
            Anchor::End => at[0] - width + 2.0,
        };
        // What is behind, a tail or the circle of a propeller, would strike the number through.
        let (top, bottom) = (at[1] - 12.0, at[1] + 3.0);
        canvas.blank(&[[left, top], [left + width, top], [left + width, bottom], [left, bottom]]);
        canvas.words(at, TEXT, anchor, &words);
    };
    if let Some(wing) = aircraft.wing() {
        for (inner, line) in straight_runs(wing) {
            if line.y.hypot(line.z) * scale >= 30.0 {
                let at = see(inner + line * 0.6);
                label(canvas, [at[0], at[1] - 9.0], Anchor::Middle, line.z.atan2(line.y) * DEG_PER_RAD);
            }
        }
    }
    let tails = aircraft.surfaces.iter().filter(|s| s.mirrored && s.role != Role::Wing);
    for tail in tails {
        for (inner, line) in straight_runs(tail) {
            let angle_deg = line.z.atan2(line.y) * DEG_PER_RAD;
            if angle_deg.abs() >= 1.0 {
                let at = see(mirrored(inner + line, -1.0));
                let below = if angle_deg > 0.0 { -2.0 } else { 12.0 };
                label(canvas, [at[0] + 8.0, at[1] + below], Anchor::Start, angle_deg);
            }
        }
    }
}

/// Runs of panels with one dihedral, each with where it begins and the line to where it ends: ribs inside a straight
/// wing do not make it said twice.
fn straight_runs(surface: &Surface) -> Vec<(Vec3, Vec3)> {
    // Less than a tenth of a degree is not seen in the number that is drawn.
    const ALIKE_RAD: f64 = 0.1 / DEG_PER_RAD;
    let mut runs: Vec<(Vec3, Vec3)> = Vec::new();
    for (inner, outer) in surface.stations.iter().zip(surface.stations.iter().skip(1)) {
        let line = outer.leading_edge_m - inner.leading_edge_m;
        let angle = |line: &Vec3| line.z.atan2(line.y);
        match runs.last_mut() {
            Some((_, run)) if (angle(run) - angle(&line)).abs() < ALIKE_RAD => *run += line,
            _ => runs.push((inner.leading_edge_m, line)),
        }
    }
    runs
}

fn side_view(canvas: &mut Canvas, aircraft: &Aircraft, views: &Views, top: f64, cg_x_m: Option<f64>) -> f64 {
    let height = (views.extent.high.z - views.extent.low.z) * views.scale;
    let numbers_y = top + 28.0;
    let bottom = numbers_y + 22.0 + height;
    let see = |p: Vec3| views.seen_from_the_left(bottom, p);
    canvas.words([10.0, top + 4.0], TEXT, Anchor::Start, "From the left");
    let side_bodies = |canvas: &mut Canvas| {
        for body in &aircraft.fuselages {
            let edge = |sign: f64| {
                body.stations.iter().map(move |s| s.centre_m + Vec3::new(0.0, 0.0, sign * 0.5 * s.height_m))
            };
            let shape: Vec<[f64; 2]> = edge(1.0).chain(edge(-1.0).rev()).map(see).collect();
            canvas.blank(&shape);
            canvas.path(&shape, true, pen(Ink::Plain, 1.8));
        }
    };
    side_bodies(canvas);
    draw_all(canvas, aircraft, see);
    propellers(canvas, aircraft, see, |direction, r| {
        Vec3::new(-direction.z, 0.0, direction.x).try_normalize(1e-9).map(|a| a * r)
    });
    numbered_masses(canvas, aircraft, see, numbers_y);
    if let Some(x) = cg_x_m {
        let z = body_height(aircraft, x).unwrap_or(0.0);
        balance_point(canvas, see(Vec3::new(x, 0.0, z)), 6.0);
    }
    let (low, high) = (views.whole.low, views.whole.high);
    let mut y = bottom + 16.0;
    if let Some(x) = cg_x_m {
        let (from, to) = (see(Vec3::zeros())[0], see(Vec3::new(x, 0.0, 0.0))[0]);
        let z = body_height(aircraft, x).unwrap_or(0.0);
        canvas.line([to, see(Vec3::new(x, 0.0, z))[1] + 6.0], [to, y], dashed(Ink::Plain, 0.9));
        horizontal_dimension(canvas, from, to, y, &format!("CG {}", mm(x)));
        y += 18.0;
    }
    horizontal_dimension(canvas, see(low)[0], see(high)[0], y, &format!("length {}", mm(high.x - low.x)));
    vertical_dimension(
        canvas,
        see(high)[0] + 12.0,
        see(low)[1],
        see(high)[1],
        &mm(high.z - low.z),
        Anchor::Start,
    );
    y + 14.0
}

/// Height of the body's center line at a place along it.
fn body_height(aircraft: &Aircraft, x_m: f64) -> Option<f64> {
    let stations = &aircraft.fuselages.first()?.stations;
    let (a, b) = stations
        .iter()
        .zip(stations.iter().skip(1))
        .find(|(a, b)| a.centre_m.x <= x_m && x_m <= b.centre_m.x)?;
    let length = b.centre_m.x - a.centre_m.x;
    let part = if length > 0.0 { (x_m - a.centre_m.x) / length } else { 0.0 };
    Some(a.centre_m.z + (b.centre_m.z - a.centre_m.z) * part)
}

/// Dots where the masses are, joined to numbers in a row that is spread so that none hides another.
fn numbered_masses(canvas: &mut Canvas, aircraft: &Aircraft, see: impl Fn(Vec3) -> [f64; 2], row_y: f64) {
    const SPACING: f64 = 17.0;
    let mut items: Vec<(usize, [f64; 2])> = aircraft
        .masses
        .iter()
        .enumerate()
        .map(|(i, item)| (i + 1, see(item.at_m)))
        .filter(|(_, at)| at.iter().all(|v| v.is_finite()))
        .collect();
    items.sort_by(|a, b| a.1[0].total_cmp(&b.1[0]));
    let mut places: Vec<f64> = Vec::new();
    for (_, at) in &items {
        let least = places.last().map_or(12.0, |last| last + SPACING);
        places.push(at[0].max(least));
    }
    // What was pushed beyond the right edge comes back, pushing its neighbors left.
    let mut most = WIDTH - 12.0;
    for place in places.iter_mut().rev() {
        *place = place.min(most);
        most = *place - SPACING;
    }
    for ((name, at), x) in items.iter().zip(&places) {
        canvas.line([*x, row_y + 4.0], *at, pen(Ink::B, 0.8));
        canvas.disc(*at, 2.6, Ink::B);
        canvas.blank_disc([*x, row_y - 4.0], 8.0);
        canvas.circle([*x, row_y - 4.0], 8.0, pen(Ink::B, 1.2));
        canvas.words([*x, row_y], 11.0, Anchor::Middle, &name.to_string());
    }
}
