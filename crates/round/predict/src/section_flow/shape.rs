//! Which outline is computed? The section's digits or points, made smooth, closed at the trailing edge, bent at the
//! hinge and cut into panels.

use std::f64::consts::PI;

use aircraft::section::{Section, Shape};

/// Least thickness that the outline is computed with, over chord: thinner ones have no inside for the panels.
const THINNEST: f64 = 0.02;
/// Points a side that a section by digits is drawn with.
const DRAWN: usize = 100;
/// Half the length over which the outline is bent at the hinge, over chord, at least.
const BEND: f64 = 0.015;

/// An outline ready for panels: corners from the trailing edge over the upper side to the nose and back.
///
/// `deflection` in rad, trailing edge down positive, about `hinge` (over chord). Remarks tell what was changed.
pub(crate) fn outline(
    section: &Section,
    hinge: Option<f64>,
    deflection: f64,
    panels: usize,
) -> Result<(Vec<[f64; 2]>, Vec<String>), String> {
    let mut remarks = Vec::new();
    let mut points = match &section.shape {
        Shape::Points(points) => cleaned(points, &mut remarks)?,
        Shape::Naca4 { thickness, .. } | Shape::Naca5 { thickness, .. } => drawn(section, *thickness),
    };
    close(&mut points, &mut remarks);
    thicken(&mut points, &mut remarks);
    if let (Some(hinge), true) = (hinge, deflection != 0.0) {
        points = bent(section, &points, hinge.clamp(0.05, 0.95), deflection);
    }
    let even = panels + panels % 2;
    let corners = Spline::new(&points).ok_or("the outline has too few points")?.cut(even);
    Ok((corners, remarks))
}

/// A section by its digits.
fn drawn(section: &Section, thickness: f64) -> Vec<[f64; 2]> {
    let x = |i: usize| 0.5 * (1.0 - (PI * i as f64 / DRAWN as f64).cos());
    let half = |x: f64| {
        // NACA Rep. 460; the last factor closes the trailing edge.
        5.0 * thickness
            * (0.2969 * x.sqrt() - 0.1260 * x - 0.3516 * x * x + 0.2843 * x.powi(3) - 0.1036 * x.powi(4))
    };
    let at = |x: f64, side: f64| {
        let slope = section.mean_line_slope(x);
        let angle = slope.atan();
        let t = side * half(x);
        [x - t * angle.sin(), section.mean_line(x) + t * angle.cos()]
    };
    let upper = (0..=DRAWN).rev().map(|i| at(x(i), 1.0));
    let lower = (1..=DRAWN).map(|i| at(x(i), -1.0));
    upper.chain(lower).collect()
}

/// Points of a file without doubles, with the nose where the outline is farthest from the trailing edge.
fn cleaned(points: &[[f64; 2]], remarks: &mut Vec<String>) -> Result<Vec<[f64; 2]>, String> {
    let mut kept: Vec<[f64; 2]> = Vec::new();
    for &p in points {
        if !(p[0].is_finite() && p[1].is_finite()) {
            return Err("a coordinate of the section is not a number".into());
        }
        if kept.last().is_none_or(|&q| super::panels::distance(p, q) > 1e-6) {
            kept.push(p);
        }
    }
    if kept.len() < 7 {
        return Err(format!("the section has {} different points; a shape needs at least 7", kept.len()));
    }
    // From the upper side first: the other way around the enclosed area is negative.
    let area: f64 = kept.iter().zip(kept.iter().skip(1)).map(|(a, b)| a[0] * b[1] - b[0] * a[1]).sum();
    if area < 0.0 {
        kept.reverse();
        remarks.push("the section's points ran along the lower side first; turned around".into());
    }
    if kept.len() < 30 {
        remarks.push(format!(
            "the section is given by only {} points; pressure and transition between them are a guess",
            kept.len()
        ));
    }
    Ok(kept)
}

/// Closes the trailing edge by bringing both sides together toward it.
fn close(points: &mut [[f64; 2]], remarks: &mut Vec<String>) {
    let (Some(&first), Some(&last)) = (points.first(), points.last()) else { return };
    let gap = [first[0] - last[0], first[1] - last[1]];
    let nose = nose(points);
    let middle = [0.5 * (first[0] + last[0]), 0.5 * (first[1] + last[1])];
    if gap[1].abs() > 0.01 {
        remarks.push(format!(
            "the trailing edge, {:.1} % of the chord thick, is computed sharp",
            100.0 * gap[1].abs()
        ));
    }
    let leading = points.get(nose).copied().unwrap_or([0.0, 0.0]);
    for (i, p) in points.iter_mut().enumerate() {
        let share = ((p[0] - leading[0]) / (middle[0] - leading[0])).clamp(0.0, 1.0);
        let side = if i <= nose { -0.5 } else { 0.5 };
        p[0] += side * gap[0] * share;
        p[1] += side * gap[1] * share;
    }
}

/// Makes an outline thick enough to be computed.
fn thicken(points: &mut [[f64; 2]], remarks: &mut Vec<String>) {
    let copy = points.to_vec();
    let nose = nose(&copy);
    let (upper, lower) = (copy.get(..=nose).unwrap_or_default(), copy.get(nose..).unwrap_or_default());
    let thickness = (1..100)
        .map(|i| f64::from(i) / 100.0)
        .map(|x| height(upper, x) - height(lower, x))
        .fold(0.0, f64::max);
    if thickness >= THINNEST {
        return;
    }
    remarks.push(format!(
        "the section is {:.1} % thick; computed with {:.0} % added, of the shape of the four-digit thickness",
        100.0 * thickness,
        100.0 * THINNEST
    ));
    for (i, p) in points.iter_mut().enumerate() {
        let x = p[0].clamp(0.0, 1.0);
        let half = 5.0
            * THINNEST
            * (0.2969 * x.sqrt() - 0.1260 * x - 0.3516 * x * x + 0.2843 * x.powi(3) - 0.1036 * x.powi(4));
        match i.cmp(&nose) {
            std::cmp::Ordering::Less => p[1] += half,
            std::cmp::Ordering::Equal => {}
            std::cmp::Ordering::Greater => p[1] -= half,
        }
    }
}

/// Turns the part behind the hinge, over a short bend, so that the skin stays whole.
fn bent(section: &Section, points: &[[f64; 2]], hinge: f64, deflection: f64) -> Vec<[f64; 2]> {
    let spline = Spline::new(points);
    let fine: Vec<[f64; 2]> = spline.map_or_else(|| points.to_vec(), |s| s.cut(4 * DRAWN));
    let nose = nose(&fine);
    let (upper, lower) = (fine.get(..=nose).unwrap_or_default(), fine.get(nose..).unwrap_or_default());
    let half = 0.5 * (height(upper, hinge) - height(lower, hinge)).max(0.0);
    let width = BEND.max(1.2 * half * deflection.abs());
    let turned = |x: f64| {
        let s = ((x - hinge + width) / (2.0 * width)).clamp(0.0, 1.0);
        -deflection * s * s * (3.0 - 2.0 * s)
    };
    // The mean line, bent: it keeps its length.
    let steps = 400;
    let (from, to) = (hinge - width, hinge + width);
    let base = section.mean_line(hinge);
    let mut line = vec![[from, base]];
    let step = (to - from) / f64::from(steps);
    let mut at = [from, base];
    for i in 0..steps {
        let angle = turned(from + step * (f64::from(i) + 0.5));
        at = [at[0] + step * angle.cos(), at[1] + step * angle.sin()];
        line.push(at);
    }
    fine.iter()
        .map(|&[x, y]| {
            if x <= from {
                return [x, y];
            }
            let angle = turned(x);
            let up = y - base;
            let place = ((x.min(to) - from) / step).clamp(0.0, f64::from(steps));
            let index = (place.floor() as usize).min(steps as usize - 1);
            let share = place - index as f64;
            let (a, b) = (
                line.get(index).copied().unwrap_or([x, base]),
                line.get(index + 1).copied().unwrap_or([x, base]),
            );
            let foot = [a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])];
            let beyond = (x - to).max(0.0);
            [
                foot[0] + beyond * angle.cos() - up * angle.sin(),
                foot[1] + beyond * angle.sin() + up * angle.cos(),
            ]
        })
        .collect()
}

/// Place of the nose in the list: farthest from the trailing edge.
fn nose(points: &[[f64; 2]]) -> usize {
    let te = points.first().copied().unwrap_or([1.0, 0.0]);
    points
        .iter()
        .enumerate()
        .max_by(|a, b| super::panels::distance(*a.1, te).total_cmp(&super::panels::distance(*b.1, te)))
        .map_or(0, |(i, _)| i)
}

/// Height of a side at x by straight lines.
fn height(side: &[[f64; 2]], x: f64) -> f64 {
    side.windows(2)
        .find_map(|w| match w {
            [a, b] => {
                let (low, high) = if a[0] < b[0] { (a, b) } else { (b, a) };
                (x >= low[0] && x <= high[0] && high[0] > low[0])
                    .then(|| low[1] + (high[1] - low[1]) * (x - low[0]) / (high[0] - low[0]))
            }
            _ => None,
        })
        .unwrap_or(0.0)
}

/// A smooth curve through points, by its own length: cubic, with curvature free at both ends.
struct Spline {
    length: Vec<f64>,
    points: Vec<[f64; 2]>,
    slopes: Vec<[f64; 2]>,
}

impl Spline {
    fn new(points: &[[f64; 2]]) -> Option<Self> {
        let n = points.len();
        if n < 4 {
            return None;
        }
        let mut length = vec![0.0];
        for pair in points.windows(2) {
            let step = super::panels::distance(pair[0], pair[1]);
            if step <= 0.0 {
                return None;
            }
            length.push(length.last().copied().unwrap_or_default() + step);
        }
        // Slopes at the points: curvature continuous, third derivative equal over the first two and last two pieces is
        // not asked for; the ends take no curvature.
        let mut slopes = vec![[0.0; 2]; n];
        for axis in 0..2 {
            let (mut low, mut main, mut high, mut right) =
                (vec![0.0; n], vec![0.0; n], vec![0.0; n], vec![0.0; n]);
            for i in 0..n {
                if i == 0 || i == n - 1 {
                    let (a, b) = if i == 0 { (0, 1) } else { (n - 2, n - 1) };
                    main[i] = 2.0;
                    if i == 0 {
                        high[i] = 1.0;
                    } else {
                        low[i] = 1.0;
                    }
                    right[i] = 3.0 * (points[b][axis] - points[a][axis]) / (length[b] - length[a]);
                } else {
                    let (before, after) = (length[i] - length[i - 1], length[i + 1] - length[i]);
                    low[i] = after;
                    main[i] = 2.0 * (before + after);
                    high[i] = before;
                    right[i] = 3.0
                        * ((points[i][axis] - points[i - 1][axis]) * after / before
                            + (points[i + 1][axis] - points[i][axis]) * before / after);
                }
            }
            for i in 1..n {
                let factor = low[i] / main[i - 1];
                main[i] -= factor * high[i - 1];
                right[i] -= factor * right[i - 1];
            }
            let mut next = 0.0;
            for i in (0..n).rev() {
                next = (right[i] - if i + 1 < n { high[i] * next } else { 0.0 }) / main[i];
                slopes[i][axis] = next;
            }
        }
        Some(Self { length, points: points.to_vec(), slopes })
    }

    fn at(&self, s: f64) -> [f64; 2] {
        let after = self.length.partition_point(|&l| l <= s).clamp(1, self.length.len() - 1);
        let h = self.length[after] - self.length[after - 1];
        let t = ((s - self.length[after - 1]) / h).clamp(0.0, 1.0);
        let (t2, t3) = (t * t, t * t * t);
        [0, 1].map(|axis| {
            self.points[after - 1][axis] * (2.0 * t3 - 3.0 * t2 + 1.0)
                + self.points[after][axis] * (3.0 * t2 - 2.0 * t3)
                + h * (self.slopes[after - 1][axis] * (t3 - 2.0 * t2 + t)
                    + self.slopes[after][axis] * (t3 - t2))
        })
    }

    /// The nose: where the curve runs square to the line to the trailing edge.
    fn nose(&self) -> f64 {
        let te = self.points.first().copied().unwrap_or([1.0, 0.0]);
        let total = self.length.last().copied().unwrap_or(1.0);
        let away = |s: f64| super::panels::distance(self.at(s), te);
        let steps = 400;
        let best = (1..steps)
            .map(|i| total * f64::from(i) / f64::from(steps))
            .max_by(|a, b| away(*a).total_cmp(&away(*b)))
            .unwrap_or(0.5 * total);
        let (mut a, mut b) = (best - total / f64::from(steps), best + total / f64::from(steps));
        for _ in 0..60 {
            let (c, d) = (a + 0.382 * (b - a), b - 0.382 * (b - a));
            if away(c) > away(d) {
                b = d;
            } else {
                a = c;
            }
        }
        0.5 * (a + b)
    }

    /// About so many panels, short at the nose and at the trailing edge, one of them across the nose: with a corner
    /// there, a plain section's stagnation point would belong to one side.
    fn cut(&self, panels: usize) -> Vec<[f64; 2]> {
        let nose = self.nose();
        let total = self.length.last().copied().unwrap_or(1.0);
        let half = panels / 2;
        let share = |i: usize| spacing(i as f64 / (half as f64 + 0.5));
        let upper = (0..=half).map(|i| self.at(nose * share(i)));
        let lower = (0..=half).rev().map(|i| self.at(total - (total - nose) * share(i)));
        upper.chain(lower).collect()
    }
}

/// Share of the way from trailing edge (0) to nose (1): fine at the nose, less so at the trailing edge.
fn spacing(t: f64) -> f64 {
    // Cosine in an angle that starts a little late, so that panels at the trailing edge are not needlessly short.
    let start = 0.18 * PI;
    let angle = start + (PI - start) * t;
    (start.cos() - angle.cos()) / (start.cos() + 1.0)
}
