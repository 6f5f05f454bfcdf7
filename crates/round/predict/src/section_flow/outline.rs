//! Where on the outline does the flow part, and how far along it is a node?

use super::panels::distance;

/// First node of the lower side: where the flow changes its direction, nearest to where it did before.
pub(super) fn divide(speed: &[f64], before: usize) -> Option<usize> {
    let n = speed.len();
    let mut lower = before;
    while lower + 4 < n && speed[lower] < 0.0 {
        lower += 1;
    }
    while lower > 4 && speed[lower - 1] > 0.0 {
        lower -= 1;
    }
    (lower + 4 < n && lower > 4).then_some(lower)
}

/// Where on the outline the stagnation point is: between the last node of the upper and the first of the lower side.
pub(super) fn stagnation_arc(arcs: &[f64], speed: &[f64], lower: usize) -> f64 {
    let (before, after) = (speed[lower - 1], speed[lower]);
    let share = (-before / (after - before)).clamp(0.002, 0.998);
    arcs[lower - 1] + share * (arcs[lower] - arcs[lower - 1])
}

/// Distances along a line of points.
pub(super) fn arcs(points: &[[f64; 2]]) -> Vec<f64> {
    let mut total = 0.0;
    let mut arcs = vec![0.0];
    for pair in points.windows(2) {
        total += distance(pair[0], pair[1]);
        arcs.push(total);
    }
    arcs
}
