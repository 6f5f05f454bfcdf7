//! What does the drive do now? The table of a model made ready to be asked once a step.

use crate::model::Thrust;

/// Thrust, current, propeller speed and voltage together, over a grid.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Table {
    rows: Axis,
    columns: Axis,
    cells: Vec<[f64; 4]>,
}

/// One axis of the grid.
#[derive(Debug, Clone, PartialEq)]
struct Axis {
    values: Vec<f64>,
    first: f64,
    /// One over the spacing where it is even, else zero.
    per_spacing: f64,
}

impl Axis {
    fn new(values: &[f64]) -> Self {
        let first = values.first().copied().unwrap_or(0.0);
        let last = values.last().copied().unwrap_or(0.0);
        let spacing = (last - first) / values.len().saturating_sub(1).max(1) as f64;
        let even = spacing > 0.0
            && values
                .iter()
                .enumerate()
                .all(|(i, v)| (v - first - spacing * i as f64).abs() < 1e-9 * spacing);
        Self { values: values.to_vec(), first, per_spacing: if even { 1.0 / spacing } else { 0.0 } }
    }

    /// The place below and the share of the way to the next, held to the grid.
    #[inline(always)]
    fn place(&self, value: f64) -> (usize, f64) {
        let most = self.values.len().saturating_sub(2);
        if self.per_spacing > 0.0 {
            // What is not a number goes to the first place.
            let x = (value - self.first) * self.per_spacing;
            let x = if x >= 0.0 { x.min((most + 1) as f64) } else { 0.0 };
            let low = (x as usize).min(most);
            return (low, x - low as f64);
        }
        let low = self.values.partition_point(|x| *x < value).saturating_sub(1).min(most);
        let (Some(a), Some(b)) = (self.values.get(low), self.values.get(low + 1)) else {
            return (low, 0.0);
        };
        let share = (value - a) / (b - a);
        (low, if share >= 0.0 { share.min(1.0) } else { 0.0 })
    }
}

impl Table {
    pub(crate) fn of(thrust: &Thrust) -> Self {
        let count = thrust.throttle.len() * thrust.airspeed_m_s.len();
        let cell = |i: usize| {
            [&thrust.thrust_n, &thrust.current_a, &thrust.rpm, &thrust.volts]
                .map(|values| values.get(i).copied().unwrap_or(0.0))
        };
        Self {
            rows: Axis::new(&thrust.throttle),
            columns: Axis::new(&thrust.airspeed_m_s),
            cells: (0..count).map(cell).collect(),
        }
    }

    /// Thrust (N), current (A), propeller speed (rpm) and voltage (V), bilinear, the nearest edge outside.
    #[inline(always)]
    pub(crate) fn at(&self, throttle: f64, airspeed_m_s: f64) -> [f64; 4] {
        let (row, down) = self.rows.place(throttle);
        let (column, along) = self.columns.place(airspeed_m_s);
        let width = self.columns.values.len();
        let at = row * width + column;
        let cell = |i: usize| self.cells.get(i).copied().unwrap_or([0.0; 4]);
        // A grid of one row or column stands for all.
        let (right, below) = (usize::from(width > 1), if self.rows.values.len() > 1 { width } else { 0 });
        let (a, b, c, d) = (cell(at), cell(at + right), cell(at + below), cell(at + below + right));
        let mut out = [0.0; 4];
        for k in 0..4 {
            let upper = a[k] + (b[k] - a[k]) * along;
            let lower = c[k] + (d[k] - c[k]) * along;
            out[k] = upper + (lower - upper) * down;
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_says_what_the_table_of_the_model_says() {
        let thrust = |airspeed_m_s: Vec<f64>| Thrust {
            throttle: vec![0.0, 0.4, 1.0],
            thrust_n: (0..3 * airspeed_m_s.len()).map(|i| (i * i) as f64).collect(),
            current_a: (0..3 * airspeed_m_s.len()).map(|i| i as f64).collect(),
            rpm: vec![5.0; 3 * airspeed_m_s.len()],
            volts: (0..3 * airspeed_m_s.len()).map(|i| 12.0 - i as f64).collect(),
            airspeed_m_s,
            direction: numerics::Vec3::x(),
            at_m: numerics::Vec3::zeros(),
            spool_up_s: 0.1,
            capacity_ah: 1.0,
        };
        for airspeeds in [vec![0.0, 10.0, 20.0], vec![0.0, 5.0, 20.0, 21.0], vec![7.0]] {
            let model = thrust(airspeeds);
            let table = Table::of(&model);
            for throttle in [-0.1, 0.0, 0.2, 0.4, 0.77, 1.0, 1.2] {
                for speed in [-3.0, 0.0, 4.9, 5.0, 13.0, 20.0, 20.5, 90.0] {
                    let d = model.nearest(throttle, speed);
                    let [n, a, rpm, v] = table.at(throttle, speed);
                    for (x, y) in [(n, d.thrust_n), (a, d.current_a), (rpm, d.rpm), (v, d.volts)] {
                        assert!((x - y).abs() < 1e-9, "{throttle} {speed}: {x} {y}");
                    }
                }
            }
        }
        assert!(Table::of(&thrust(vec![0.0, 10.0])).at(f64::NAN, f64::NAN)[1].is_finite());
    }
}
