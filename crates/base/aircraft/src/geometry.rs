//! How large are the surfaces, and how far apart? Areas, mean chords, lever arms, tail volumes.

use numerics::Vec3;

use crate::Aircraft;
use crate::surface::{Role, Station, Surface};

/// Reference lengths of the main wing projected on the x-y plane, both sides, as its stations describe it (what
/// lies inboard of the root station is not counted).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reference {
    /// Area, m².
    pub area_m2: f64,
    /// Mean aerodynamic chord, ∫c² dy / ∫c dy, m.
    pub mean_chord_m: f64,
    /// Leading edge of the mean chord along x from the datum, m: the mean of the leading edge weighted by chord.
    pub mean_chord_x_m: f64,
    /// Where on the half span the leading edge and chord of a straight-edged wing are those of the mean chord:
    /// the mean of y weighted by chord, m.
    pub mean_chord_y_m: f64,
    /// Span from tip to tip, m.
    pub span_m: f64,
    /// Span squared over area.
    pub aspect_ratio: f64,
}

/// True size of a surface measured on the surface itself, not projected; both sides of a mirrored one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Planform {
    /// Area, m².
    pub area_m2: f64,
    /// Part of the area that works as a horizontal surface, ∫cos² Γ dS, m² (small angles, Purser & Campbell,
    /// NACA Report 823, 1945).
    pub horizontal_m2: f64,
    /// Part of the area that works as a vertical surface, ∫sin² Γ dS, m².
    pub vertical_m2: f64,
    /// Mean aerodynamic chord, m.
    pub mean_chord_m: f64,
    /// Quarter chord of the mean chord, builder's frame, m; of the right side for a mirrored surface.
    pub quarter_chord_m: Vec3,
    /// Length from root to tip along the surface, one side, m.
    pub length_m: f64,
}

/// Tail volumes: area times lever over the wing's area times a length. Absent where there is no such surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TailVolumes {
    /// Horizontal surfaces behind the wing, over wing area and mean chord.
    pub horizontal: Option<f64>,
    /// Vertical surfaces behind the wing's quarter chord, over wing area and span.
    pub vertical: Option<f64>,
    /// Foreplane ahead of the wing, over wing area and mean chord; positive ahead.
    pub foreplane: Option<f64>,
}

impl Surface {
    /// Length from the root to the tip along the surface, m.
    #[must_use]
    pub fn length_m(&self) -> f64 {
        self.stations.last().map_or(0.0, |s| s.along_m) - self.stations.first().map_or(0.0, |s| s.along_m)
    }

    /// Chord at a place along the surface, m; that of the end station beyond the ends.
    #[must_use]
    pub fn chord_at(&self, along_m: f64) -> f64 {
        self.between(along_m, |s| s.chord_m).unwrap_or(0.0)
    }

    /// Twist at a place along the surface, rad; that of the end station beyond the ends.
    #[must_use]
    pub fn twist_at(&self, along_m: f64) -> f64 {
        self.between(along_m, |s| s.twist_rad).unwrap_or(0.0)
    }

    /// Leading edge at a place along the surface, builder's frame, m; that of the end station beyond the ends.
    #[must_use]
    pub fn leading_edge_at(&self, along_m: f64) -> Vec3 {
        self.between(along_m, |s| s.leading_edge_m).unwrap_or_else(Vec3::zeros)
    }

    /// True size of the surface; absent where it has no area.
    #[must_use]
    pub fn planform(&self) -> Option<Planform> {
        let sides = if self.mirrored { 2.0 } else { 1.0 };
        let (mut area, mut horizontal, mut squares) = (0.0, 0.0, 0.0);
        let mut quarter = Vec3::zeros();
        for (inner, outer) in panels(self) {
            let width = outer.along_m - inner.along_m;
            let span = outer.leading_edge_m - inner.leading_edge_m;
            let across = span.y.hypot(span.z);
            let cosine = if across > 0.0 { span.y / across } else { 1.0 };
            let strip = width * 0.5 * (inner.chord_m + outer.chord_m);
            area += strip;
            horizontal += strip * cosine * cosine;
            squares += width * mean_square(inner.chord_m, outer.chord_m);
            let at = |s: &Station| s.leading_edge_m + Vec3::new(0.25 * s.chord_m, 0.0, 0.0);
            quarter += weighted(inner, outer, at) * width;
        }
        (area > 0.0).then(|| Planform {
            area_m2: sides * area,
            horizontal_m2: sides * horizontal,
            vertical_m2: sides * (area - horizontal),
            mean_chord_m: squares / area,
            quarter_chord_m: quarter / area,
            length_m: self.length_m(),
        })
    }

    /// Straight-line value of a station's quantity at a place along the surface.
    fn between<T>(&self, along_m: f64, of: impl Fn(&Station) -> T) -> Option<T>
    where
        T: std::ops::Mul<f64, Output = T> + std::ops::Add<Output = T>,
    {
        let first = self.stations.first()?;
        if along_m <= first.along_m {
            return Some(of(first));
        }
        for (inner, outer) in panels(self) {
            if along_m <= outer.along_m {
                let share = (along_m - inner.along_m) / (outer.along_m - inner.along_m);
                return Some(of(inner) * (1.0 - share) + of(outer) * share);
            }
        }
        self.stations.last().map(of)
    }
}

/// Reference area, chord and span of the main wing; absent without a wing that covers some ground.
#[must_use]
pub fn reference(aircraft: &Aircraft) -> Option<Reference> {
    let wing = aircraft.wing()?;
    let sides = if wing.mirrored { 2.0 } else { 1.0 };
    let (mut area, mut squares, mut x, mut y) = (0.0, 0.0, 0.0, 0.0);
    for (inner, outer) in panels(wing) {
        let width = (outer.leading_edge_m.y - inner.leading_edge_m.y).abs();
        area += width * 0.5 * (inner.chord_m + outer.chord_m);
        squares += width * mean_square(inner.chord_m, outer.chord_m);
        x += width * weighted(inner, outer, |s| s.leading_edge_m.x);
        y += width * weighted(inner, outer, |s| s.leading_edge_m.y);
    }
    let places = wing.stations.iter().map(|s| s.leading_edge_m.y);
    let most = places.clone().fold(f64::NEG_INFINITY, f64::max);
    let least = places.fold(f64::INFINITY, f64::min);
    let span = if wing.mirrored { 2.0 * most.abs().max(least.abs()) } else { most - least };
    (area > 0.0 && span > 0.0).then(|| Reference {
        area_m2: sides * area,
        mean_chord_m: squares / area,
        mean_chord_x_m: x / area,
        mean_chord_y_m: y / area,
        span_m: span,
        aspect_ratio: span * span / (sides * area),
    })
}

/// Lever arm of a surface: from the wing's quarter chord to its own, along x, m, positive behind. Absent where
/// either has no area.
#[must_use]
pub fn lever_arm_m(aircraft: &Aircraft, surface: &Surface) -> Option<f64> {
    let wing = reference(aircraft)?;
    let own = surface.planform()?;
    Some(own.quarter_chord_m.x - (wing.mean_chord_x_m + 0.25 * wing.mean_chord_m))
}

/// Tail volumes of all tail surfaces; absent without a wing.
#[must_use]
pub fn tail_volumes(aircraft: &Aircraft) -> Option<TailVolumes> {
    let wing = reference(aircraft)?;
    let mut volumes = TailVolumes { horizontal: None, vertical: None, foreplane: None };
    let add = |to: &mut Option<f64>, part: f64| *to = Some(to.unwrap_or(0.0) + part);
    for surface in &aircraft.surfaces {
        let (Some(own), Some(arm)) = (surface.planform(), lever_arm_m(aircraft, surface)) else {
            continue;
        };
        let lengthwise = own.horizontal_m2 * arm / (wing.area_m2 * wing.mean_chord_m);
        let sideways = own.vertical_m2 * arm / (wing.area_m2 * wing.span_m);
        match surface.role {
            Role::Wing => {}
            Role::Foreplane => add(&mut volumes.foreplane, -lengthwise),
            Role::Tailplane => add(&mut volumes.horizontal, lengthwise),
            Role::Fin => add(&mut volumes.vertical, sideways),
            Role::VTail => {
                add(&mut volumes.horizontal, lengthwise);
                add(&mut volumes.vertical, sideways);
            }
        }
    }
    Some(volumes)
}

/// Wing loading, kg/m², for a mass; absent without a wing.
#[must_use]
pub fn wing_loading_kg_m2(aircraft: &Aircraft, mass_kg: f64) -> Option<f64> {
    Some(mass_kg / reference(aircraft)?.area_m2)
}

/// Neighbouring stations, root to tip.
fn panels(surface: &Surface) -> impl Iterator<Item = (&Station, &Station)> {
    surface.stations.iter().zip(surface.stations.iter().skip(1))
}

/// Mean of the square of a chord that grows straight from one value to another.
fn mean_square(a: f64, b: f64) -> f64 {
    (a * a + a * b + b * b) / 3.0
}

/// Mean over a panel of chord times a quantity, both straight between the stations.
fn weighted<T>(inner: &Station, outer: &Station, of: impl Fn(&Station) -> T) -> T
where
    T: std::ops::Mul<f64, Output = T> + std::ops::Add<Output = T>,
{
    let (a, b) = (inner.chord_m, outer.chord_m);
    of(inner) * ((2.0 * a + b) / 6.0) + of(outer) * ((a + 2.0 * b) / 6.0)
}
