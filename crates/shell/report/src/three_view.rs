//! What does it look like, and where does it balance? Plan, front and side view to one scale, dimensioned, with the
//! balance enlarged beneath.

use aircraft::Aircraft;
use aircraft::movable::Movable;
use aircraft::surface::{Role, Station, Surface};
use numerics::Vec3;
use numerics::units::DEG_PER_RAD;
use plan::number;

use crate::svg::{Anchor, Canvas, Ink, Pen, dashed, pen, width_of, wrapped};

const WIDTH: f64 = 400.0;
const TEXT: f64 = 13.0;
/// Room for the larger of span and length.
const ROOM: f64 = 288.0;
const MIDDLE: f64 = 200.0;

/// The three-view as one self-contained SVG. Positions along x in metres from the datum; what is absent is not drawn.
#[must_use]
pub fn three_view(
    aircraft: &Aircraft,
    cg_x_m: Option<f64>,
    neutral_point_x_m: Option<f64>,
    range_x_m: Option<[f64; 2]>,
) -> String {
    let description = description(aircraft, cg_x_m, neutral_point_x_m);
    let mut canvas = Canvas::new(WIDTH, 60.0, &format!("Three-view of {}", aircraft.name), &description);
    let Some(extent) = Extent::of(aircraft) else {
        canvas.words(
            [10.0, 30.0],
            TEXT,
            Anchor::Start,
            "Nothing to draw: no surfaces and no bodies are described.",
        );
        return canvas.finish();
    };
    let size = extent.high - extent.low;
    let views = Views { scale: ROOM / size.y.max(size.x).max(1e-3), extent };
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
    extent: Extent,
}

impl Views {
    fn from_above(&self, top: f64, p: Vec3) -> [f64; 2] {
        [MIDDLE + p.y * self.scale, top + (p.x - self.extent.low.x) * self.scale]
    }

    fn from_ahead(&self, bottom: f64, p: Vec3) -> [f64; 2] {
        [MIDDLE - p.y * self.scale, bottom - (p.z - self.extent.low.z) * self.scale]
    }

    fn from_the_left(&self, bottom: f64, p: Vec3) -> [f64; 2] {
        let left = MIDDLE - 0.5 * (self.extent.high.x - self.extent.low.x) * self.scale;
        [left + (p.x - self.extent.low.x) * self.scale, bottom - (p.z - self.extent.low.z) * self.scale]
    }
}

struct Extent {
    low: Vec3,
    high: Vec3,
}

impl Extent {
    fn of(aircraft: &Aircraft) -> Option<Self> {
        let mut points: Vec<Vec3> = Vec::new();
        for surface in &aircraft.surfaces {
            for side in sides(surface.mirrored) {
                points.extend(outline(surface).into_iter().map(|p| mirrored(p, side)));
            }
        }
        for body in &aircraft.fuselages {
            for station in &body.stations {
                let half = Vec3::new(0.0, 0.5 * station.width_m, 0.5 * station.height_m);
                for side in sides(body.mirrored) {
                    points.push(mirrored(station.centre_m + half, side));
                    points.push(mirrored(station.centre_m - half, side));
                }
            }
        }
        if let Some(drive) = &aircraft.drive {
            let r = 0.5 * drive.propeller.diameter_m;
            for hub in &drive.hubs_m {
                points.push(hub + Vec3::new(0.0, r, r));
                points.push(hub - Vec3::new(0.0, r, r));
            }
        }
        points.retain(|p| p.iter().all(|v| v.is_finite()));
        let first = *points.first()?;
        let (mut low, mut high) = (first, first);
        for p in points {
            low = low.inf(&p);
            high = high.sup(&p);
        }
        Some(Self { low, high })
    }
}

fn sides(both: bool) -> impl Iterator<Item = f64> {
    [1.0, -1.0].into_iter().take(if both { 2 } else { 1 })
}

fn mirrored(p: Vec3, side: f64) -> Vec3 {
    Vec3::new(p.x, p.y * side, p.z)
}

/// Normal of the panel from a station to the next, right side.
fn normal(inner: &Station, outer: &Station) -> Vec3 {
    let line = outer.leading_edge_m - inner.leading_edge_m;
    let length = line.y.hypot(line.z);
    if length > 0.0 { Vec3::new(0.0, -line.z / length, line.y / length) } else { Vec3::z() }
}

/// A point of a surface, at a distance along it and a fraction of the chord.
fn on(surface: &Surface, along_m: f64, fraction: f64) -> Option<Vec3> {
    let pairs = || surface.stations.iter().zip(surface.stations.iter().skip(1));
    let (inner, outer) =
        pairs().find(|(_, outer)| outer.along_m >= along_m).or_else(|| pairs().next_back())?;
    let length = outer.along_m - inner.along_m;
    let part = if length > 0.0 { (along_m - inner.along_m) / length } else { 0.0 };
    let between = |a: f64, b: f64| a + (b - a) * part;
    let edge = inner.leading_edge_m + (outer.leading_edge_m - inner.leading_edge_m) * part;
    let chord = between(inner.chord_m, outer.chord_m);
    let twist = between(inner.twist_rad, outer.twist_rad);
    let aft = Vec3::new(twist.cos(), 0.0, 0.0) - normal(inner, outer) * twist.sin();
    Some(edge + aft * (chord * fraction))
}

/// Leading edge outward, trailing edge back inward, right side.
fn outline(surface: &Surface) -> Vec<Vec3> {
    let forward = surface.stations.iter().filter_map(|s| on(surface, s.along_m, 0.0));
    let back = surface.stations.iter().rev().filter_map(|s| on(surface, s.along_m, 1.0));
    forward.chain(back).collect()
}

fn movable_outline(surface: &Surface, movable: &Movable) -> Vec<Vec3> {
    // Kinks of the surface inside the movable belong to its edges.
    let mut along: Vec<f64> = surface
        .stations
        .iter()
        .map(|s| s.along_m)
        .filter(|a| *a > movable.inner_m && *a < movable.outer_m)
        .collect();
    along.insert(0, movable.inner_m);
    along.push(movable.outer_m);
    let length = movable.outer_m - movable.inner_m;
    let hinge = |a: f64| {
        let part = if length > 0.0 { (a - movable.inner_m) / length } else { 0.0 };
        movable.hinge_inner + (movable.hinge_outer - movable.hinge_inner) * part
    };
    let front = along.iter().filter_map(|a| on(surface, *a, hinge(*a)));
    let back = along.iter().rev().filter_map(|a| on(surface, *a, 1.0));
    front.chain(back).collect()
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
    let see = |p: Vec3| views.from_above(top, p);
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
    let see = |p: Vec3| views.from_ahead(bottom, p);
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
    if let Some(wing) = aircraft.wing() {
        for (inner, outer) in wing.stations.iter().zip(wing.stations.iter().skip(1)) {
            let line = outer.leading_edge_m - inner.leading_edge_m;
            if line.y.hypot(line.z) * views.scale < 30.0 {
                continue;
            }
            let angle_deg = line.z.atan2(line.y) * DEG_PER_RAD;
            // On the right wing, which is at the left when seen from ahead.
            let at = see(inner.leading_edge_m + line * 0.6);
            canvas.words(
                [at[0], at[1] - 9.0],
                TEXT,
                Anchor::Middle,
                &format!("{}°", number::fixed(angle_deg, 1)),
            );
        }
    }
    bottom + 8.0
}

fn side_view(canvas: &mut Canvas, aircraft: &Aircraft, views: &Views, top: f64, cg_x_m: Option<f64>) -> f64 {
    let height = (views.extent.high.z - views.extent.low.z) * views.scale;
    let numbers_y = top + 28.0;
    let bottom = numbers_y + 22.0 + height;
    let see = |p: Vec3| views.from_the_left(bottom, p);
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
    let (low, high) = (views.extent.low, views.extent.high);
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
        bottom,
        bottom - height,
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
    // What was pushed beyond the right edge comes back, pushing its neighbours left.
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

/// The usual sign of a balance point: a disc with two dark and two light quarters.
fn balance_point(canvas: &mut Canvas, at: [f64; 2], radius: f64) {
    canvas.blank_disc(at, radius);
    for quarter in [0.0, 2.0] {
        let mut points = vec![at];
        for i in 0..=8 {
            let angle = (quarter + f64::from(i) / 8.0) * std::f64::consts::FRAC_PI_2;
            points.push([at[0] + radius * angle.cos(), at[1] + radius * angle.sin()]);
        }
        canvas.area(&points, Ink::Plain, 1.0);
    }
    canvas.circle(at, radius, pen(Ink::Plain, 1.4));
}

fn diamond(canvas: &mut Canvas, at: [f64; 2], r: f64) {
    let shape = [[at[0], at[1] - r], [at[0] + r, at[1]], [at[0], at[1] + r], [at[0] - r, at[1]]];
    canvas.blank(&shape);
    canvas.path(&shape, true, pen(Ink::C, 2.0));
}

/// The balance enlarged: root chord, range, balance point and neutral point along x.
fn balance_strip(
    canvas: &mut Canvas,
    aircraft: &Aircraft,
    top: f64,
    cg_x_m: Option<f64>,
    neutral_point_x_m: Option<f64>,
    range_x_m: Option<[f64; 2]>,
) -> f64 {
    if cg_x_m.is_none() && neutral_point_x_m.is_none() && range_x_m.is_none() {
        return top;
    }
    let root = aircraft.wing().and_then(|w| w.stations.first());
    let mut ends: Vec<f64> =
        root.map(|r| vec![r.leading_edge_m.x, r.leading_edge_m.x + r.chord_m]).unwrap_or_default();
    ends.extend(cg_x_m);
    ends.extend(neutral_point_x_m);
    ends.extend(range_x_m.into_iter().flatten());
    ends.retain(|e| e.is_finite());
    let (low, high) =
        ends.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), e| (l.min(*e), h.max(*e)));
    if high.partial_cmp(&low) != Some(std::cmp::Ordering::Greater) {
        return top;
    }
    let (left, right) = (34.0, WIDTH - 34.0);
    let place = |x: f64| left + (x - low) / (high - low) * (right - left);
    canvas.text(
        [10.0, top + 12.0],
        TEXT,
        Anchor::Start,
        Ink::Plain,
        true,
        "Balance along the root chord, enlarged",
    );
    let y = top + 46.0;
    if let Some(root) = root {
        let (front, back) = (place(root.leading_edge_m.x), place(root.leading_edge_m.x + root.chord_m));
        let chord = back - front;
        // A wing section's outline in general (the NACA thickness law at 10 %), only to show which end is the nose.
        let half = |t: f64| {
            5.0 * 0.10
                * (0.2969 * t.sqrt() - 0.126 * t - 0.3516 * t * t + 0.2843 * t.powi(3) - 0.1036 * t.powi(4))
        };
        let edge = |sign: f64| {
            (0..=30).map(move |i| {
                let t = (f64::from(i) / 30.0).powi(2);
                [front + t * chord, y + sign * half(t) * chord]
            })
        };
        let shape: Vec<[f64; 2]> = edge(-1.0).chain(edge(1.0).rev()).collect();
        canvas.path(&shape, true, pen(Ink::Plain, 1.3));
        let from = format!("{}", mm(root.leading_edge_m.x));
        let to = format!("{}", mm(root.leading_edge_m.x + root.chord_m));
        canvas.words([front, y - 20.0], TEXT, Anchor::Middle, &from);
        canvas.words([back, y - 20.0], TEXT, Anchor::Middle, &to);
    }
    if let Some([forward, aft]) = range_x_m.filter(|r| r.iter().all(|v| v.is_finite())) {
        let (from, to) = (place(forward), place(aft));
        let shape = [[from, y - 8.0], [to, y - 8.0], [to, y + 8.0], [from, y + 8.0]];
        canvas.area(&shape, Ink::A, 0.22);
        canvas.path(&shape, true, pen(Ink::A, 1.8));
    }
    if let Some(np) = neutral_point_x_m {
        diamond(canvas, [place(np), y], 6.0);
    }
    if let Some(cg) = cg_x_m {
        balance_point(canvas, [place(cg), y], 7.0);
    }
    let mut row = y + 36.0;
    let mut said = |canvas: &mut Canvas, sign: &dyn Fn(&mut Canvas, [f64; 2]), words: String| {
        sign(canvas, [22.0, row - 4.0]);
        canvas.words([38.0, row], TEXT, Anchor::Start, &words);
        row += 18.0;
    };
    if let Some(cg) = cg_x_m {
        said(
            canvas,
            &|c, at| balance_point(c, at, 6.0),
            format!("balance point (CG) {} from the datum", mm(cg)),
        );
    }
    if let Some(np) = neutral_point_x_m {
        said(canvas, &|c, at| diamond(c, at, 5.0), format!("neutral point (NP) {}", mm(np)));
    }
    if let Some([forward, aft]) = range_x_m {
        said(
            canvas,
            &|c, at| {
                let shape = [
                    [at[0] - 8.0, at[1] - 5.0],
                    [at[0] + 8.0, at[1] - 5.0],
                    [at[0] + 8.0, at[1] + 5.0],
                    [at[0] - 8.0, at[1] + 5.0],
                ];
                c.area(&shape, Ink::A, 0.22);
                c.path(&shape, true, pen(Ink::A, 1.6));
            },
            format!("range of the balance point {} to {}", mm(forward), mm(aft)),
        );
    }
    for line in wrapped(&format!("Datum: {}", aircraft.datum), TEXT, WIDTH - 50.0) {
        canvas.words([38.0, row], TEXT, Anchor::Start, &line);
        row += 16.0;
    }
    row - 6.0
}

/// What the numbers and signs stand for, and the chords that have no dimension line.
fn key(canvas: &mut Canvas, aircraft: &Aircraft, top: f64) -> f64 {
    let mut y = top;
    let mut say = |canvas: &mut Canvas, words: &str| {
        for (i, line) in wrapped(words, TEXT, WIDTH - 30.0).iter().enumerate() {
            y += 16.0;
            canvas.words([if i == 0 { 10.0 } else { 22.0 }, y], TEXT, Anchor::Start, line);
        }
    };
    for surface in &aircraft.surfaces {
        let list = |get: fn(&Station) -> f64| {
            surface.stations.iter().map(|s| mm(get(s))).collect::<Vec<_>>().join(", ")
        };
        say(
            canvas,
            &format!("{}: chord {} at {} along it", surface.name, list(|s| s.chord_m), list(|s| s.along_m)),
        );
    }
    if let Some(drive) = &aircraft.drive {
        say(
            canvas,
            &format!(
                "{} of {} mm diameter (thick line, dashed circle)",
                if drive.hubs_m.len() > 1 { "propellers" } else { "propeller" },
                mm(drive.propeller.diameter_m)
            ),
        );
    }
    for (i, item) in aircraft.masses.iter().enumerate() {
        say(
            canvas,
            &format!(
                "{} {}: {} g at {}{}",
                i + 1,
                item.name,
                number::fixed(item.mass_kg.value * 1000.0, 0),
                mm(item.at_m.x),
                if item.mirrored { ", both together" } else { "" }
            ),
        );
    }
    y
}
