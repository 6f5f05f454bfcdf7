//! Where are the panels? Surfaces cut into strips and panels whose edges fall on ribs, movable ends and hinge lines.

use std::ops::Range;

use aircraft::movable::Movable;
use aircraft::surface::{Station, Surface};
use numerics::Vec3;

use crate::prediction::{NotPredicted, Outcome};

/// How strips are spread over the span.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Spacing {
    /// By equal steps of an angle whose sine is the place on the half span: narrow towards the tip.
    Cosine,
    /// Equal widths.
    Even,
}

/// How finely surfaces are cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Density {
    /// Strips on the half span of the widest surface.
    pub across: usize,
    /// Panels along the chord.
    pub along: usize,
    /// How strips are spread.
    pub spacing: Spacing,
}

/// The part of a movable that the lattice needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flap {
    /// Index of the surface it belongs to.
    pub surface: usize,
    /// Where it begins along the surface, m.
    pub inner_m: f64,
    /// Where it ends along the surface, m.
    pub outer_m: f64,
    /// Hinge line at the inner end, fraction of the chord.
    pub hinge_inner: f64,
    /// Hinge line at the outer end, fraction of the chord.
    pub hinge_outer: f64,
}

impl From<&Movable> for Flap {
    fn from(movable: &Movable) -> Self {
        Self {
            surface: movable.surface,
            inner_m: movable.inner_m,
            outer_m: movable.outer_m,
            hinge_inner: movable.hinge_inner,
            hinge_outer: movable.hinge_outer,
        }
    }
}

impl Flap {
    fn hinge_at(&self, along_m: f64) -> f64 {
        let share = (along_m - self.inner_m) / (self.outer_m - self.inner_m);
        self.hinge_inner + share.clamp(0.0, 1.0) * (self.hinge_outer - self.hinge_inner)
    }
}

/// One panel with its horseshoe. Circulation is positive from `a` to `b`, which gives a force along the normal.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// Beginning of the bound vortex, builder's frame, m.
    pub a: Vec3,
    /// End of the bound vortex, m.
    pub b: Vec3,
    /// Trailing edge on the side of `a`, where its leg leaves the surface, m.
    pub edge_a: Vec3,
    /// Trailing edge on the side of `b`, m.
    pub edge_b: Vec3,
    /// Control point at three quarters of the panel's chord, m.
    pub control: Vec3,
    /// Unit normal of the mean surface there, twist and camber included, towards the upper side.
    pub normal: Vec3,
    /// Index of its strip.
    pub strip: usize,
    /// Which flaps move it, and how its normal changes per rad of each.
    pub moved: Vec<(usize, Vec3)>,
}

/// A strip of panels from leading to trailing edge.
#[derive(Debug, Clone, PartialEq)]
pub struct LatticeStrip {
    /// Index of its surface.
    pub surface: usize,
    /// Whether it is on the mirror image.
    pub left: bool,
    /// Middle of the strip along the surface, m.
    pub along_m: f64,
    /// Width across the stream, m.
    pub width_m: f64,
    /// Chord in the middle, m.
    pub chord_m: f64,
    /// Quarter chord in the middle, builder's frame, m.
    pub quarter_m: Vec3,
    /// Unit normal of the surface without twist, builder's frame.
    pub normal: Vec3,
    /// Cosine of the sweep of its quarter-chord line.
    pub sweep_cosine: f64,
    /// Index of the station inboard of it.
    pub station: usize,
    /// Share of the way to the next station, 0 to 1.
    pub share: f64,
    /// Where between the two sides, from `a` to `b`, its control points are.
    pub control_share: f64,
    /// Its panels.
    pub panels: Range<usize>,
    /// Edges of its panels along the chord in the middle, 0 to 1.
    pub rows: Vec<f64>,
}

/// Panels and strips of all surfaces.
pub(super) struct Grid {
    pub(super) panels: Vec<Panel>,
    pub(super) strips: Vec<LatticeStrip>,
}

/// A break closer than this share of the half span to another is the same one: strips much narrower than their
/// neighbors make the load waver. A flap that ends inside a strip turns its panels in proportion.
const SAME_BREAK: f64 = 0.015;

/// Cuts surfaces into panels.
pub(super) fn lay(surfaces: &[Surface], flaps: &[Flap], density: Density) -> Outcome<Grid> {
    let half =
        surfaces.iter().flat_map(|s| &s.stations).map(|s| s.leading_edge_m.y.abs()).fold(0.0, f64::max);
    let half = if half > 0.0 { half } else { surfaces.iter().map(length).fold(0.0, f64::max) };
    for surface in surfaces {
        sound(surface)?;
    }
    let common = common_edges(surfaces, flaps, density, half);
    let mut grid = Grid { panels: Vec::new(), strips: Vec::new() };
    for (index, surface) in surfaces.iter().enumerate() {
        let own: Vec<(usize, Flap)> =
            flaps.iter().copied().enumerate().filter(|(_, f)| f.surface == index).collect();
        let edges = own_edges(surface, &own, &common, density, half);
        for pair in edges.windows(2) {
            if let [inner, outer] = pair {
                let control = control_share(surface, *inner, *outer, density.spacing);
                let place = Place { inner: *inner, outer: *outer, control };
                strip(&mut grid, index, surface, &own, place, density.along, false);
                if surface.mirrored {
                    strip(&mut grid, index, surface, &own, place, density.along, true);
                }
            }
        }
    }
    if grid.panels.is_empty() {
        return Err(NotPredicted::Missing { what: "a lifting surface with at least two stations".into() });
    }
    Ok(grid)
}

/// Refuses a surface that cannot be cut.
fn sound(surface: &Surface) -> Outcome<()> {
    let missing = |what: String| Err(NotPredicted::Missing { what });
    if surface.stations.len() < 2 {
        return missing(format!("two stations of surface {}", surface.name));
    }
    for station in &surface.stations {
        if !(station.chord_m > 0.0
            && station.chord_m.is_finite()
            && station.leading_edge_m.iter().all(|v| v.is_finite()))
        {
            return missing(format!(
                "a chord above zero and a place at {:.3} m along surface {}",
                station.along_m, surface.name
            ));
        }
    }
    for pair in surface.stations.windows(2) {
        if let [a, b] = pair {
            let span = b.leading_edge_m - a.leading_edge_m;
            if b.along_m <= a.along_m || span.y.hypot(span.z) <= 0.0 {
                return missing(format!(
                    "stations of surface {} that lie apart, root first (at {:.3} m)",
                    surface.name, b.along_m
                ));
            }
        }
    }
    Ok(())
}

fn length(surface: &Surface) -> f64 {
    match (surface.stations.first(), surface.stations.last()) {
        (Some(a), Some(b)) => b.along_m - a.along_m,
        _ => 0.0,
    }
}

/// Places along a surface that must be strip edges: stations and flap ends.
fn breaks(surface: &Surface, flaps: &[(usize, Flap)]) -> Vec<f64> {
    let mut places: Vec<f64> = surface.stations.iter().map(|s| s.along_m).collect();
    let near = SAME_BREAK * length(surface);
    let (low, high) = (places[0], places[places.len() - 1]);
    for (_, flap) in flaps {
        for end in [flap.inner_m, flap.outer_m] {
            if end > low && end < high && places.iter().all(|p| (p - end).abs() > near) {
                places.push(end);
            }
        }
    }
    places.sort_by(f64::total_cmp);
    places
}

/// Whether a piece of surface between two places lies more across than upright.
fn lies_flat(surface: &Surface, inner: f64, outer: f64) -> bool {
    let span = surface.leading_edge_at(outer) - surface.leading_edge_at(inner);
    surface.mirrored && span.y.abs() > 0.5 * span.y.hypot(span.z) && span.y > 0.0
}

/// Strip edges over the half span shared by wing, tail and foreplane, so that wakes pass between control points.
fn common_edges(surfaces: &[Surface], flaps: &[Flap], density: Density, half: f64) -> Vec<f64> {
    let mut order: Vec<usize> = (0..surfaces.len()).collect();
    order.sort_by(|a, b| length(&surfaces[*b]).total_cmp(&length(&surfaces[*a])));
    let mut places: Vec<f64> = Vec::new();
    let mut add = |y: f64| {
        if places.iter().all(|p| (p - y).abs() > SAME_BREAK * half) {
            places.push(y);
        }
    };
    for index in order {
        let surface = &surfaces[index];
        let own: Vec<(usize, Flap)> =
            flaps.iter().copied().enumerate().filter(|(_, f)| f.surface == index).collect();
        let all = breaks(surface, &own);
        for pair in all.windows(2) {
            if let [inner, outer] = pair
                && lies_flat(surface, *inner, *outer)
            {
                let (from, to) = (surface.leading_edge_at(*inner).y, surface.leading_edge_at(*outer).y);
                add(from);
                add(to);
            }
        }
    }
    places.sort_by(f64::total_cmp);
    let angle = |y: f64| match density.spacing {
        Spacing::Cosine => (y / half).clamp(-1.0, 1.0).asin() / std::f64::consts::FRAC_PI_2,
        Spacing::Even => y / half,
    };
    let place = |a: f64| match density.spacing {
        Spacing::Cosine => half * (a * std::f64::consts::FRAC_PI_2).sin(),
        Spacing::Even => half * a,
    };
    let mut edges = Vec::new();
    for pair in places.windows(2) {
        if let [inner, outer] = pair {
            let (from, to) = (angle(*inner), angle(*outer));
            let n = ((to - from) * density.across as f64 - 0.3).ceil().max(1.0) as usize;
            edges.push(*inner);
            edges.extend((1..n).map(|k| place(from + (to - from) * k as f64 / n as f64)));
        }
    }
    edges.extend(places.last());
    edges
}

/// Strip edges of one surface, along it.
fn own_edges(
    surface: &Surface,
    flaps: &[(usize, Flap)],
    common: &[f64],
    density: Density,
    half: f64,
) -> Vec<f64> {
    let all = breaks(surface, flaps);
    let shared = |y: f64| common.iter().any(|c| (c - y).abs() < 1e-9 * half);
    let mut edges = Vec::new();
    for pair in all.windows(2) {
        let [inner, outer] = pair else { continue };
        edges.push(*inner);
        if lies_flat(surface, *inner, *outer) {
            let (from, to) = (surface.leading_edge_at(*inner).y, surface.leading_edge_at(*outer).y);
            let gap = |y: f64| if shared(y) { 1e-9 * half } else { 1.01 * SAME_BREAK * half };
            edges.extend(
                common
                    .iter()
                    .filter(|c| **c > from + gap(from) && **c < to - gap(to))
                    .map(|c| inner + (outer - inner) * (c - from) / (to - from)),
            );
        } else {
            let share = (outer - inner) / length(surface);
            let width = 1.3 * half / density.across as f64;
            let n = ((outer - inner) / width).max(6.0 * share).ceil().max(1.0) as usize;
            let tip = Some(outer) == all.last() && density.spacing == Spacing::Cosine;
            edges.extend((1..n).map(|k| {
                let even = k as f64 / n as f64;
                let place = if tip { (even * std::f64::consts::FRAC_PI_2).sin() } else { even };
                inner + (outer - inner) * place
            }));
        }
    }
    edges.extend(all.last());
    split_tip(&mut edges, density, surface.mirrored);
    edges
}

/// Splits the outermost strip where it is as wide as the next: lift falls steeply towards a tip.
fn split_tip(edges: &mut Vec<f64>, density: Density, mirrored: bool) {
    if let [.., inner, next, tip] = edges.as_slice()
        && density.spacing == Spacing::Cosine
        && mirrored
        && tip - next > 0.5 * (next - inner)
    {
        let place = tip - 0.25 * (tip - next);
        edges.insert(edges.len() - 1, place);
    }
}

/// Where a strip is along its surface, and its control points between inner (0) and outer (1) edge.
#[derive(Clone, Copy)]
struct Place {
    inner: f64,
    outer: f64,
    control: f64,
}

/// Where between the edges of a strip the control points stand. The load falls like the root of the distance from a
/// free end, so they stand midway between the edges in that root (one end) or in the angle whose cosine it is (two
/// ends): in the outermost strip a quarter of its width from the tip. It takes away the first-order error of strips of
/// finite width (Lan, J. Aircraft 11, 1974; Hough, J. Aircraft 10, 1973 for the quarter). Even strips keep the plain
/// middle of the textbooks.
fn control_share(surface: &Surface, inner: f64, outer: f64, spacing: Spacing) -> f64 {
    if spacing == Spacing::Even {
        return 0.5;
    }
    let (Some(root), Some(tip)) = (surface.stations.first(), surface.stations.last()) else {
        return 0.5;
    };
    let place = if surface.mirrored {
        let distance = |s: f64| (tip.along_m - s).max(0.0).sqrt();
        tip.along_m - (0.5 * (distance(inner) + distance(outer))).powi(2)
    } else {
        let whole = tip.along_m - root.along_m;
        let angle = |s: f64| (1.0 - 2.0 * (s - root.along_m) / whole).clamp(-1.0, 1.0).acos();
        root.along_m + 0.5 * whole * (1.0 - (0.5 * (angle(inner) + angle(outer))).cos())
    };
    (place - inner) / (outer - inner)
}

/// Cuts one strip into panels and adds it.
fn strip(
    grid: &mut Grid,
    index: usize,
    surface: &Surface,
    flaps: &[(usize, Flap)],
    Place { inner, outer, control: toward }: Place,
    number: usize,
    left: bool,
) {
    let middle = 0.5 * (inner + outer);
    let (station, share) = between(&surface.stations, middle);
    let (Some(first), Some(second)) = (surface.stations.get(station), surface.stations.get(station + 1))
    else {
        return;
    };
    let across = second.leading_edge_m - first.leading_edge_m;
    let normal = Vec3::new(0.0, -across.z, across.y) / across.y.hypot(across.z);
    let mirror = |v: Vec3| if left { Vec3::new(v.x, -v.y, v.z) } else { v };
    let chord_direction = |along: f64| {
        let twist = surface.twist_at(along);
        Vec3::x() * twist.cos() - normal * twist.sin()
    };
    let at = |along: f64, x: f64| {
        mirror(surface.leading_edge_at(along) + chord_direction(along) * (surface.chord_at(along) * x))
    };
    let mut hinged: Vec<(usize, Flap)> =
        flaps.iter().copied().filter(|(_, f)| f.inner_m < middle && middle < f.outer_m).collect();
    hinged.sort_by(|a, b| a.1.hinge_at(middle).total_cmp(&b.1.hinge_at(middle)));
    let rows_inner = rows(&hinged, inner, middle, number);
    let rows_outer = rows(&hinged, outer, middle, number);
    let begin = grid.panels.len();
    let forward = mirror(chord_direction(middle));
    for ((front_in, back_in), (front_out, back_out)) in
        rows_inner.iter().zip(rows_inner.iter().skip(1)).zip(rows_outer.iter().zip(rows_outer.iter().skip(1)))
    {
        let quarter = |front: f64, back: f64, share: f64| front + share * (back - front);
        let (at_inner, at_outer) =
            (at(inner, quarter(*front_in, *back_in, 0.25)), at(outer, quarter(*front_out, *back_out, 0.25)));
        let (a, b, edge_a, edge_b) = if left {
            (at_outer, at_inner, at(outer, 1.0), at(inner, 1.0))
        } else {
            (at_inner, at_outer, at(inner, 1.0), at(outer, 1.0))
        };
        let (x_inner, x_outer) = (quarter(*front_in, *back_in, 0.75), quarter(*front_out, *back_out, 0.75));
        let x = x_inner + toward * (x_outer - x_inner);
        let control = at(inner, x_inner) * (1.0 - toward) + at(outer, x_outer) * toward;
        let slope =
            first.section.mean_line_slope(x) * (1.0 - share) + second.section.mean_line_slope(x) * share;
        let flat = forward.cross(&(b - a)).normalize();
        let turned = (flat - forward * slope).normalize();
        let moved = hinged
            .iter()
            .filter(|(_, flap)| x > flap.hinge_at(inner + toward * (outer - inner)))
            .map(|(which, flap)| {
                let (from, to) = (at(inner, flap.hinge_at(inner)), at(outer, flap.hinge_at(outer)));
                let axis = if left { from - to } else { to - from }.normalize();
                (*which, axis.cross(&turned) * covered(flap, inner, outer))
            })
            .collect();
        grid.panels.push(Panel {
            a,
            b,
            edge_a,
            edge_b,
            control,
            normal: turned,
            strip: grid.strips.len(),
            moved,
        });
    }
    let reach = surface.leading_edge_at(outer) - surface.leading_edge_at(inner);
    let quarter_line = at(outer, 0.25) - at(inner, 0.25);
    grid.strips.push(LatticeStrip {
        surface: index,
        left,
        along_m: middle,
        width_m: reach.y.hypot(reach.z),
        chord_m: surface.chord_at(middle),
        quarter_m: at(middle, 0.25),
        normal: mirror(normal),
        sweep_cosine: quarter_line.y.hypot(quarter_line.z) / quarter_line.norm(),
        station,
        share,
        control_share: if left { 1.0 - toward } else { toward },
        panels: begin..grid.panels.len(),
        rows: rows(&hinged, middle, middle, number),
    });
}

/// Share of a strip that a flap covers, 0 to 1.
fn covered(flap: &Flap, inner: f64, outer: f64) -> f64 {
    ((flap.outer_m.min(outer) - flap.inner_m.max(inner)) / (outer - inner)).clamp(0.0, 1.0)
}

/// Index of the station inboard of a place and the share of the way to the next.
fn between(stations: &[Station], along: f64) -> (usize, f64) {
    for (i, pair) in stations.windows(2).enumerate() {
        if let [a, b] = pair
            && along <= b.along_m
        {
            return (i, ((along - a.along_m) / (b.along_m - a.along_m)).clamp(0.0, 1.0));
        }
    }
    (stations.len().saturating_sub(2), 1.0)
}

/// Chordwise panel edges at a place of a strip: even between leading edge, hinge lines and trailing edge, in numbers
/// set in the strip's middle, a little finer behind a hinge, where the load is steep.
fn rows(hinged: &[(usize, Flap)], along: f64, middle: f64, number: usize) -> Vec<f64> {
    let number = number.max(1);
    let mut here = vec![0.0];
    let mut counted = vec![0.0];
    for (_, flap) in hinged {
        let (h, m) = (flap.hinge_at(along), flap.hinge_at(middle));
        if h > 0.0 && h < 1.0 && counted.last().is_some_and(|last| m > last + 0.01) {
            here.push(h);
            counted.push(m);
        }
    }
    here.push(1.0);
    counted.push(1.0);
    let mut edges = Vec::new();
    let pieces = counted.len() - 1;
    for (i, (pair, places)) in counted.windows(2).zip(here.windows(2)).enumerate() {
        if let ([from, to], [begin, end]) = (pair, places) {
            let weight = if i > 0 { 1.4 } else { 1.0 };
            let n = if pieces == 1 {
                number
            } else {
                (weight * number as f64 * (to - from)).round().max(1.0) as usize
            };
            edges.extend((0..n).map(|k| begin + (end - begin) * k as f64 / n as f64));
        }
    }
    edges.push(1.0);
    edges
}
