//! How is the full system of the mass defects solved? Gauss's elimination, in memory that is at hand.

/// Gauss's elimination with row pivots, in place. None where the system is singular.
pub(super) fn eliminate(matrix: &mut [f64], mut right: Vec<f64>) -> Option<Vec<f64>> {
    let k = right.len();
    for column in 0..k {
        let pivot = (column..k)
            .max_by(|&a, &b| matrix[a * k + column].abs().total_cmp(&matrix[b * k + column].abs()))?;
        if pivot != column {
            let (above, below) = matrix.split_at_mut(pivot * k);
            above[column * k..(column + 1) * k].swap_with_slice(&mut below[..k]);
            right.swap(pivot, column);
        }
        let (above, below) = matrix.split_at_mut((column + 1) * k);
        let top = &above[column * k..];
        let head = top[column];
        if head == 0.0 || !head.is_finite() {
            return None;
        }
        for (i, row) in below.chunks_exact_mut(k).enumerate() {
            let factor = row[column] / head;
            if factor != 0.0 {
                add(&mut row[column + 1..], -factor, &top[column + 1..]);
                right[column + 1 + i] -= factor * right[column];
            }
        }
    }
    for i in (0..k).rev() {
        let row = &matrix[i * k..(i + 1) * k];
        let known: f64 = row[i + 1..].iter().zip(&right[i + 1..]).map(|(a, b)| a * b).sum();
        right[i] = (right[i] - known) / row[i];
    }
    Some(right)
}

/// Adds a multiple of a row to another.
pub(super) fn add(row: &mut [f64], factor: f64, other: &[f64]) {
    if factor != 0.0 {
        for (a, b) in row.iter_mut().zip(other) {
            *a += factor * b;
        }
    }
}
