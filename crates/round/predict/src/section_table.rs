//! What does a section do at any angle, Reynolds number and deflection? A table of computed points, read smoothly, and
//! continued around the full circle of angles of attack.
//!
//! Within the computed angles: monotone cubic between points (Fritsch & Carlson, SIAM J. Numer. Anal. 17(2), 1980, with
//! the harmonic mean of neighboring slopes), linear in the logarithm of the Reynolds number and in the deflection.
//! Beyond them the section turns, within `BLEND`, into a plate with separated flow: normal force after Hoerner,
//! Fluid-Dynamic Drag, 1965, ch. 3 (two-dimensional plate, 1.98 across the stream) in the form of Lindenburg, Stall
//! Coefficients, ECN-RX-01-004, 2001; center of pressure by the free-streamline solution of Rayleigh (Lamb,
//! Hydrodynamics, art. 77). This is the idea of Viterna & Corrigan (NASA CP-2230, 1981) with the plate's own laws.

mod text;

use std::f64::consts::PI;

/// Version of the text form; a text of another version is refused.
pub const TEXT_VERSION: u32 = 1;

/// Where a point of the table comes from; ordered from sure to unsure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Origin {
    /// Computed, and the computation converged.
    Converged,
    /// Laid between converged neighbors where the computation did not converge.
    Bridged,
    /// Beyond what was computed: separated plate, or a Reynolds number or deflection outside the table.
    Continued,
}

/// One standard deviation of a point's coefficients.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Doubt {
    /// Of the lift coefficient.
    pub cl_sd: f64,
    /// Of the drag coefficient.
    pub cd_sd: f64,
}

/// What a section does at one angle of attack.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SectionPoint {
    /// Lift coefficient, across the stream, up positive.
    pub cl: f64,
    /// Drag coefficient of friction and pressure, along the stream.
    pub cd: f64,
    /// Moment coefficient about the quarter chord, nose up positive.
    pub cm: f64,
    /// Where the upper side turns turbulent, over chord; 1 where it stays laminar.
    pub top_transition: f64,
    /// Where the lower side turns turbulent, over chord; 1 where it stays laminar.
    pub bottom_transition: f64,
    /// How sure.
    pub doubt: Doubt,
    /// Where from.
    pub from: Origin,
}

/// Points at one Reynolds number and deflection, by growing angle of attack.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Angle of attack of the undeflected chord line, rad, and what the section does there.
    pub points: Vec<(f64, SectionPoint)>,
}

/// A section's coefficients over Reynolds number, deflection and angle of attack.
#[derive(Debug, Clone, PartialEq)]
pub struct SectionTable {
    key: u64,
    name: String,
    hinge: Option<f64>,
    reynolds: Vec<f64>,
    deflections_rad: Vec<f64>,
    /// Deflections of the first Reynolds number, then of the second, ...
    curves: Vec<Curve>,
}

/// Why there is no table.
#[derive(Debug, Clone, PartialEq)]
pub enum TableError {
    /// The axis of Reynolds numbers or of deflections is empty or does not grow.
    Axis {
        /// Which.
        axis: &'static str,
    },
    /// The number of curves is not Reynolds numbers times deflections.
    Curves {
        /// How many there should be.
        wanted: usize,
        /// How many there are.
        got: usize,
    },
    /// A curve has fewer than three points, its angles do not grow, or a number in it is not finite.
    Curve {
        /// Place in the list of curves, from 0.
        index: usize,
    },
    /// A line of a text is not what stands at that place in a table.
    Line {
        /// Line number, from 1.
        line: usize,
        /// What should be there.
        wanted: &'static str,
    },
    /// A text of another version.
    Version {
        /// The one found.
        found: u32,
    },
}

impl std::fmt::Display for TableError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Axis { axis } => {
                write!(f, "the {axis} of a section table must grow and there must be at least one")
            }
            Self::Curves { wanted, got } => write!(f, "a section table needs {wanted} curves and has {got}"),
            Self::Curve { index } => write!(
                f,
                "curve {index} of a section table needs three or more points with growing angles and finite numbers"
            ),
            Self::Line { line, wanted } => {
                write!(f, "line {line} of a section table should hold {wanted}; compute the table anew")
            }
            Self::Version { found } => write!(
                f,
                "the section table is of version {found}, this program reads {TEXT_VERSION}; compute the table anew"
            ),
        }
    }
}

impl std::error::Error for TableError {}

/// Angle beyond the last computed point within which the section turns into a separated plate, rad.
const BLEND: f64 = 15.0 * PI / 180.0;
/// Normal-force coefficient of a plate across the stream (Hoerner, Fluid-Dynamic Drag, ch. 3).
const PLATE: f64 = 1.98;
/// Relative standard deviation of a separated plate's force: spread of the data in Lindenburg's comparison (from memory).
const PLATE_SD: f64 = 0.15;
/// Growth of the doubt for each e-fold of Reynolds number outside the table, as a share. No source.
const OUTSIDE_SD: f64 = 1.0;
/// Longest part of the lift curve above zero lift over which its slope is fitted, rad.
const SLOPE_RANGE: f64 = 8.0 * PI / 180.0;
/// Share of the greatest lift up to which the lift slope is fitted.
const SLOPE_SHARE: f64 = 0.8;

impl SectionTable {
    /// Puts a table together. `curves`: all deflections of the first Reynolds number, then of the second, and so on.
    ///
    /// `hinge` is where the movable part turns, over chord; deflections are in rad, trailing edge down positive.
    ///
    /// # Errors
    /// Axes that do not grow, a wrong number of curves, a curve that cannot be read between its points.
    pub fn new(
        key: u64,
        name: &str,
        hinge: Option<f64>,
        reynolds: Vec<f64>,
        deflections_rad: Vec<f64>,
        curves: Vec<Curve>,
    ) -> Result<Self, TableError> {
        let grows = |axis: &[f64]| {
            !axis.is_empty()
                && axis.iter().all(|v| v.is_finite())
                && axis.iter().zip(axis.iter().skip(1)).all(|(a, b)| a < b)
        };
        if !grows(&reynolds) || reynolds.first().is_none_or(|&re| re <= 0.0) {
            return Err(TableError::Axis { axis: "Reynolds numbers" });
        }
        if !grows(&deflections_rad) {
            return Err(TableError::Axis { axis: "deflections" });
        }
        let wanted = reynolds.len() * deflections_rad.len();
        if curves.len() != wanted {
            return Err(TableError::Curves { wanted, got: curves.len() });
        }
        for (index, curve) in curves.iter().enumerate() {
            let angles: Vec<f64> = curve.points.iter().map(|p| p.0).collect();
            let within = angles.iter().all(|a| a.abs() < 0.5 * PI);
            if angles.len() < 3 || !grows(&angles) || !within || !curve.points.iter().all(|p| finite(&p.1)) {
                return Err(TableError::Curve { index });
            }
        }
        // A name is one line of the text form.
        let name = name.split_whitespace().collect::<Vec<_>>().join(" ");
        Ok(Self { key, name, hinge, reynolds, deflections_rad, curves })
    }

    /// A table of one curve at a Reynolds number of 200 000, without checks.
    pub(crate) fn plain(key: u64, name: &str, curve: Curve) -> Self {
        let name = name.split_whitespace().collect::<Vec<_>>().join(" ");
        Self {
            key,
            name,
            hinge: None,
            reynolds: vec![2.0e5],
            deflections_rad: vec![0.0],
            curves: vec![curve],
        }
    }

    /// Hash of the shape and the settings that the table was computed with.
    #[must_use]
    pub fn key(&self) -> u64 {
        self.key
    }

    /// Name of the section.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Where the movable part turns, over chord.
    #[must_use]
    pub fn hinge(&self) -> Option<f64> {
        self.hinge
    }

    /// Reynolds numbers computed, growing.
    #[must_use]
    pub fn reynolds(&self) -> &[f64] {
        &self.reynolds
    }

    /// Deflections computed, rad, growing, trailing edge down positive.
    #[must_use]
    pub fn deflections_rad(&self) -> &[f64] {
        &self.deflections_rad
    }

    /// The computed points: deflections of the first Reynolds number, then of the second, and so on.
    #[must_use]
    pub fn curves(&self) -> &[Curve] {
        &self.curves
    }

    /// What the section does at any angle of attack (rad, any turn), Reynolds number and deflection (rad).
    ///
    /// A Reynolds number or deflection outside the table is answered with the nearest one in it, marked as continued
    /// and with a larger doubt.
    #[must_use]
    pub fn at(&self, alpha_rad: f64, reynolds: f64, deflection_rad: f64) -> SectionPoint {
        let alpha = wrapped(alpha_rad);
        let mut sum = Mix::default();
        for (index, deflection, weight) in self.corners(reynolds, deflection_rad) {
            if let Some(curve) = self.curves.get(index) {
                sum.add(weight, &curve.at(alpha, turned(self.hinge, deflection)));
            }
        }
        let mut point = sum.point();
        let (low, high) = ends(&self.reynolds);
        let beyond = (low / reynolds).max(reynolds / high).max(1.0).ln();
        let (least, most) = ends(&self.deflections_rad);
        let outside = (least - deflection_rad).max(deflection_rad - most).max(0.0);
        if beyond > 1e-9 || outside > 1e-9 {
            point.from = Origin::Continued;
            point.doubt.cl_sd *= 1.0 + OUTSIDE_SD * beyond;
            point.doubt.cd_sd *= 1.0 + OUTSIDE_SD * beyond;
            // A deflection that is not taken into account at all can change lift by about 3 per rad.
            point.doubt.cl_sd += 3.0 * outside;
        }
        point
    }

    /// Greatest lift: angle of attack (rad) and coefficient. Within the computed angles.
    #[must_use]
    pub fn cl_max(&self, reynolds: f64, deflection_rad: f64) -> (f64, f64) {
        self.extreme(reynolds, deflection_rad, 1.0)
    }

    /// Least (most negative) lift: angle of attack (rad) and coefficient. Within the computed angles.
    #[must_use]
    pub fn cl_min(&self, reynolds: f64, deflection_rad: f64) -> (f64, f64) {
        self.extreme(reynolds, deflection_rad, -1.0)
    }

    /// Angle of attack of zero lift, rad: the crossing nearest to the middle of the unstalled range.
    #[must_use]
    pub fn zero_lift_alpha(&self, reynolds: f64, deflection_rad: f64) -> f64 {
        let lift = |alpha: f64| self.at(alpha, reynolds, deflection_rad).cl;
        let (mut low, mut high) =
            (self.cl_min(reynolds, deflection_rad).0, self.cl_max(reynolds, deflection_rad).0);
        if lift(low) >= 0.0 {
            low = -0.5 * PI;
        }
        if lift(high) <= 0.0 {
            high = 0.5 * PI;
        }
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if lift(middle) < 0.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        0.5 * (low + high)
    }

    /// Slope of the lift curve, per rad, undeflected: least squares from zero lift to eight degrees above it or to
    /// four fifths of the greatest lift, whichever comes first.
    #[must_use]
    pub fn lift_slope(&self, reynolds: f64) -> f64 {
        let zero = self.zero_lift_alpha(reynolds, 0.0);
        let (top_alpha, top) = self.cl_max(reynolds, 0.0);
        let steps = 32;
        let range = SLOPE_RANGE.min(top_alpha - zero).max(1e-3);
        let (mut n, mut sa, mut sl, mut saa, mut sal) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for i in 0..=steps {
            let a = range * f64::from(i) / f64::from(steps);
            let l = self.at(zero + a, reynolds, 0.0).cl;
            if i > 2 && l > SLOPE_SHARE * top {
                break;
            }
            n += 1.0;
            sa += a;
            sl += l;
            saa += a * a;
            sal += a * l;
        }
        (n * sal - sa * sl) / (n * saa - sa * sa)
    }

    /// Angles of attack that all curves around this Reynolds number and deflection were computed for, rad: from, to.
    #[must_use]
    pub fn computed_range(&self, reynolds: f64, deflection_rad: f64) -> (f64, f64) {
        let mut range = (-0.5 * PI, 0.5 * PI);
        for (index, _, weight) in self.corners(reynolds, deflection_rad) {
            if let (true, Some(curve)) = (weight > 0.0, self.curves.get(index)) {
                let (low, high) = curve.range();
                range = (range.0.max(low), range.1.min(high));
            }
        }
        range
    }

    /// Curves around a Reynolds number and deflection: place, deflection and weight of each.
    fn corners(&self, reynolds: f64, deflection_rad: f64) -> Vec<(usize, f64, f64)> {
        let logs: Vec<f64> = self.reynolds.iter().map(|re| re.ln()).collect();
        let (i, s) = bracket(&logs, reynolds.max(1.0).ln());
        let (j, t) = bracket(&self.deflections_rad, deflection_rad);
        let count = self.deflections_rad.len();
        [
            (i, j, (1.0 - s) * (1.0 - t)),
            (i, j + 1, (1.0 - s) * t),
            (i + 1, j, s * (1.0 - t)),
            (i + 1, j + 1, s * t),
        ]
        .into_iter()
        .filter(|&(_, _, weight)| weight > 0.0)
        .map(|(i, j, weight)| {
            (i * count + j, self.deflections_rad.get(j).copied().unwrap_or_default(), weight)
        })
        .collect()
    }

    /// Greatest of `sign` times lift within the computed angles: scanned, then narrowed.
    fn extreme(&self, reynolds: f64, deflection_rad: f64, sign: f64) -> (f64, f64) {
        let (low, high) = self.computed_range(reynolds, deflection_rad);
        let lift = |alpha: f64| sign * self.at(alpha, reynolds, deflection_rad).cl;
        let steps = 160;
        let step = (high - low) / f64::from(steps);
        let mut best = (low, lift(low));
        for i in 1..=steps {
            let alpha = low + step * f64::from(i);
            let value = lift(alpha);
            if value > best.1 {
                best = (alpha, value);
            }
        }
        let (mut a, mut b) = ((best.0 - step).max(low), (best.0 + step).min(high));
        for _ in 0..40 {
            let (c, d) = (a + 0.382 * (b - a), b - 0.382 * (b - a));
            if lift(c) < lift(d) {
                a = c;
            } else {
                b = d;
            }
        }
        let alpha = 0.5 * (a + b);
        if lift(alpha) > best.1 {
            best = (alpha, lift(alpha));
        }
        (best.0, sign * best.1)
    }
}

impl Curve {
    /// First and last computed angle, rad.
    fn range(&self) -> (f64, f64) {
        (self.points.first().map_or(0.0, |p| p.0), self.points.last().map_or(0.0, |p| p.0))
    }

    /// Between the points, or continued. `turn`: angle of the line from nose to trailing edge, which a deflection turns.
    fn at(&self, alpha: f64, turn: f64) -> SectionPoint {
        let (low, high) = self.range();
        if alpha >= low && alpha <= high {
            return self.between(alpha);
        }
        let least = self.points.iter().map(|p| p.1.cd).fold(f64::INFINITY, f64::min);
        // The way around the circle to the nearer end; the other end has faded out by then.
        let edge = if alpha > high { high } else { low };
        let distance = (alpha - edge).abs();
        let plate = separated(wrapped(alpha + turn), least);
        if distance >= BLEND {
            return plate;
        }
        let share = 0.5 * (1.0 + (PI * distance / BLEND).cos());
        let at_edge = self.between(edge);
        let plate_at_edge = separated(wrapped(edge + turn), least);
        let blend = |here: f64, there: f64, wanted: f64| here + share * (wanted - there);
        SectionPoint {
            cl: blend(plate.cl, plate_at_edge.cl, at_edge.cl),
            // The plate can have more drag at the edge than the section: never below the section's least.
            cd: blend(plate.cd, plate_at_edge.cd, at_edge.cd).max(least.min(at_edge.cd)),
            cm: blend(plate.cm, plate_at_edge.cm, at_edge.cm),
            top_transition: blend(plate.top_transition, plate_at_edge.top_transition, at_edge.top_transition),
            bottom_transition: blend(
                plate.bottom_transition,
                plate_at_edge.bottom_transition,
                at_edge.bottom_transition,
            ),
            doubt: Doubt {
                cl_sd: plate.doubt.cl_sd + share * (at_edge.doubt.cl_sd - plate.doubt.cl_sd),
                cd_sd: plate.doubt.cd_sd + share * (at_edge.doubt.cd_sd - plate.doubt.cd_sd),
            },
            from: Origin::Continued,
        }
    }

    /// Monotone cubic between the points; the doubts linear.
    fn between(&self, alpha: f64) -> SectionPoint {
        let after = self.points.partition_point(|p| p.0 <= alpha).clamp(1, self.points.len().max(2) - 1);
        let (Some(a), Some(b)) = (self.points.get(after - 1), self.points.get(after)) else {
            return separated(alpha, 0.02);
        };
        let before = after.checked_sub(2).and_then(|i| self.points.get(i));
        let behind = self.points.get(after + 1);
        let value = |of: fn(&SectionPoint) -> f64| {
            let flat = |p: &(f64, SectionPoint)| (p.0, of(&p.1));
            monotone(before.map(flat), flat(a), flat(b), behind.map(flat), alpha)
        };
        let s = ((alpha - a.0) / (b.0 - a.0)).clamp(0.0, 1.0);
        let line = |u: f64, v: f64| u + s * (v - u);
        let from = if s <= 0.0 {
            a.1.from
        } else if s >= 1.0 {
            b.1.from
        } else {
            a.1.from.max(b.1.from)
        };
        SectionPoint {
            cl: value(|p| p.cl),
            cd: value(|p| p.cd),
            cm: value(|p| p.cm),
            top_transition: value(|p| p.top_transition),
            bottom_transition: value(|p| p.bottom_transition),
            doubt: Doubt {
                cl_sd: line(a.1.doubt.cl_sd, b.1.doubt.cl_sd),
                cd_sd: line(a.1.doubt.cd_sd, b.1.doubt.cd_sd),
            },
            from,
        }
    }
}

/// Weighted sum of points.
#[derive(Default)]
struct Mix {
    sums: [f64; 7],
    from: Option<Origin>,
}

impl Mix {
    fn add(&mut self, weight: f64, p: &SectionPoint) {
        let values = [p.cl, p.cd, p.cm, p.top_transition, p.bottom_transition, p.doubt.cl_sd, p.doubt.cd_sd];
        for (sum, value) in self.sums.iter_mut().zip(values) {
            *sum += weight * value;
        }
        self.from = Some(self.from.map_or(p.from, |from| from.max(p.from)));
    }

    fn point(&self) -> SectionPoint {
        let [cl, cd, cm, top_transition, bottom_transition, cl_sd, cd_sd] = self.sums;
        SectionPoint {
            cl,
            cd,
            cm,
            top_transition,
            bottom_transition,
            doubt: Doubt { cl_sd, cd_sd },
            from: self.from.unwrap_or(Origin::Continued),
        }
    }
}

/// A plate with separated flow at `alpha` (rad, within half a turn) to the line from nose to trailing edge; `least` is
/// the section's least drag, of which friction along the plate is made.
fn separated(alpha: f64, least: f64) -> SectionPoint {
    let (s, c) = alpha.sin_cos();
    let normal = PLATE * s / (0.56 + 0.44 * s.abs());
    // Rayleigh: the force acts 3/4 cos/(4 + π sin) of the chord ahead of the middle.
    let ahead = 0.75 * c / (4.0 + PI * s.abs());
    let cl = normal * c;
    let cd = normal * s + least * c.abs();
    SectionPoint {
        cl,
        cd,
        cm: -normal * (0.25 - ahead),
        top_transition: if s > 0.0 { 0.0 } else { 1.0 },
        bottom_transition: if s > 0.0 { 1.0 } else { 0.0 },
        // Near 180 degrees flow attaches to the trailing edge and the plate's law falls short: no less than 0.1.
        doubt: Doubt { cl_sd: (PLATE_SD * normal.abs()).max(0.1), cd_sd: PLATE_SD * cd },
        from: Origin::Continued,
    }
}

/// Angle by which a deflection turns the line from nose to trailing edge.
fn turned(hinge: Option<f64>, deflection: f64) -> f64 {
    hinge.map_or(0.0, |h| {
        let (s, c) = deflection.sin_cos();
        ((1.0 - h) * s).atan2(h + (1.0 - h) * c)
    })
}

/// Into -π to π.
fn wrapped(angle: f64) -> f64 {
    let turn = 2.0 * PI;
    angle - turn * (angle / turn).round()
}

/// First and last of an axis.
fn ends(axis: &[f64]) -> (f64, f64) {
    (axis.first().copied().unwrap_or_default(), axis.last().copied().unwrap_or_default())
}

/// Place below a value in a growing axis and the share of the way to the next; the ends hold outside.
fn bracket(axis: &[f64], value: f64) -> (usize, f64) {
    let after = axis.partition_point(|&v| v <= value);
    match (after.checked_sub(1).and_then(|i| axis.get(i)), axis.get(after)) {
        (Some(low), Some(high)) => (after - 1, (value - low) / (high - low)),
        (None, _) => (0, 0.0),
        (Some(_), None) => (after - 1, 0.0),
    }
}

/// Cubic from `a` to `b` that does not leave the range of its neighbors.
fn monotone(
    before: Option<(f64, f64)>,
    a: (f64, f64),
    b: (f64, f64),
    behind: Option<(f64, f64)>,
    x: f64,
) -> f64 {
    let slope = |p: (f64, f64), q: (f64, f64)| (q.1 - p.1) / (q.0 - p.0);
    let middle = slope(a, b);
    let harmonic = |d1: f64, d2: f64| if d1 * d2 > 0.0 { 2.0 * d1 * d2 / (d1 + d2) } else { 0.0 };
    let at_a = before.map_or(middle, |p| harmonic(slope(p, a), middle));
    let at_b = behind.map_or(middle, |p| harmonic(middle, slope(b, p)));
    let h = b.0 - a.0;
    let s = ((x - a.0) / h).clamp(0.0, 1.0);
    let (s2, s3) = (s * s, s * s * s);
    a.1 * (2.0 * s3 - 3.0 * s2 + 1.0)
        + h * at_a * (s3 - 2.0 * s2 + s)
        + b.1 * (3.0 * s2 - 2.0 * s3)
        + h * at_b * (s3 - s2)
}

/// Whether all numbers of a point are.
fn finite(p: &SectionPoint) -> bool {
    [p.cl, p.cd, p.cm, p.top_transition, p.bottom_transition, p.doubt.cl_sd, p.doubt.cd_sd]
        .iter()
        .all(|v| v.is_finite())
}
