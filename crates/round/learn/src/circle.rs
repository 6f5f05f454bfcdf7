//! Which wind and airspeed explain a handful of ground velocities? At constant airspeed their tips lie on a circle
//! whose center is the wind and whose radius is the airspeed; headings are not needed.

use nalgebra::{DMatrix, DVector};

/// A circle through the tips of ground velocities.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Circle {
    /// Wind velocity (north, east: where the air goes), in the unit of the ground velocities.
    pub wind: [f64; 2],
    /// Airspeed, in the same unit.
    pub airspeed: f64,
}

/// Circle through ground velocities (north, east) by least squares on `|V|² = 2 V·W + (A² - |W|²)`, linear in its
/// unknowns and exact for three. Source of the linear form: Kåsa, IEEE Trans. Instrum. Meas. 25 (1976) 8.
/// Absent for fewer than three or for velocities along one line, which fix no circle.
#[must_use]
pub fn circle(ground_velocities: &[[f64; 2]]) -> Option<Circle> {
    let n = ground_velocities.len();
    if n < 3 {
        return None;
    }
    let mean = |k: usize| ground_velocities.iter().map(|v| v[k]).sum::<f64>() / n as f64;
    // About the mean, so that a small circle far from the origin keeps its digits.
    let (north, east) = (mean(0), mean(1));
    let shifted: Vec<[f64; 2]> = ground_velocities.iter().map(|v| [v[0] - north, v[1] - east]).collect();
    let design = DMatrix::from_fn(n, 3, |i, j| match j {
        0 => 2.0 * shifted[i][0],
        1 => 2.0 * shifted[i][1],
        _ => 1.0,
    });
    let squares = DVector::from_fn(n, |i, _| shifted[i][0].powi(2) + shifted[i][1].powi(2));
    let svd = design.svd(true, true);
    let told = svd.singular_values.min() > 1e-9 * svd.singular_values.max();
    if !told {
        return None;
    }
    let x = svd.solve(&squares, 0.0).ok()?;
    let radius_squared = x[2] + x[0] * x[0] + x[1] * x[1];
    (radius_squared > 0.0)
        .then(|| Circle { wind: [x[0] + north, x[1] + east], airspeed: radius_squared.sqrt() })
}

#[cfg(test)]
mod tests {
    use numerics::frames::wind_speed_and_from;
    use numerics::units::RAD_PER_DEG;
    use numerics::{Vec3, statistics};

    use super::*;

    fn legs(speeds: &[f64], tracks_deg: &[f64]) -> Vec<[f64; 2]> {
        speeds
            .iter()
            .zip(tracks_deg)
            .map(|(v, t)| [v * (t * RAD_PER_DEG).cos(), v * (t * RAD_PER_DEG).sin()])
            .collect()
    }

    fn speed_and_from_deg(c: &Circle) -> (f64, f64) {
        let (speed, from) = wind_speed_and_from(Vec3::new(c.wind[0], c.wind[1], 0.0));
        (speed, from / RAD_PER_DEG)
    }

    #[test]
    fn three_headings_a_third_of_a_turn_apart_give_wind_and_airspeed_exactly() {
        // Forward from a known wind and airspeed: ground velocity = airspeed along heading + wind. And the closed
        // form for the same three speeds (published note on three headings 120 degrees apart): with
        // m = mean v², a_i = v_i²/m - 1, mu = Σ a_i²/6, the roots b of b² - b + mu = 0 give
        // airspeed = sqrt(m b+) and wind = sqrt(m b-).
        let (airspeed, wind) = (14.0, [-2.1, 3.3]);
        let velocities: Vec<[f64; 2]> = [20.0_f64, 140.0, 260.0]
            .iter()
            .map(|h| {
                let h = h * RAD_PER_DEG;
                [airspeed * h.cos() + wind[0], airspeed * h.sin() + wind[1]]
            })
            .collect();
        let found = circle(&velocities).unwrap();
        assert!((found.airspeed - airspeed).abs() < 1e-9);
        assert!((found.wind[0] - wind[0]).abs() < 1e-9 && (found.wind[1] - wind[1]).abs() < 1e-9);
        let squares: Vec<f64> = velocities.iter().map(|v| v[0] * v[0] + v[1] * v[1]).collect();
        let m = statistics::mean(&squares);
        let mu = squares.iter().map(|s| (s / m - 1.0).powi(2)).sum::<f64>() / 6.0;
        let root = (0.25 - mu).sqrt();
        assert!((found.airspeed - (m * (0.5 + root)).sqrt()).abs() < 1e-9);
        assert!((found.wind[0].hypot(found.wind[1]) - (m * (0.5 - root)).sqrt()).abs() < 1e-9);
    }

    #[test]
    fn three_published_legs_give_the_published_wind() {
        // Source: D. Gray, "Using GPS to accurately establish True Airspeed", 1998: ground speeds 140, 112, 120 on
        // tracks 192, 283, 20 give airspeed 130.0 and wind from 314.8 at 20.6, headings 200 (199.67), 287.8, 11.7.
        let velocities = legs(&[140.0, 112.0, 120.0], &[192.0, 283.0, 20.0]);
        let found = circle(&velocities).unwrap();
        let (speed, from) = speed_and_from_deg(&found);
        assert!((found.airspeed - 130.0).abs() < 0.05, "{found:?}");
        assert!((speed - 20.63).abs() < 0.05 && (from - 314.8).abs() < 0.05, "{speed} {from}");
        for (v, heading) in velocities.iter().zip([199.67, 287.79, 11.71]) {
            let air = [v[0] - found.wind[0], v[1] - found.wind[1]];
            let found = (air[1].atan2(air[0]) / RAD_PER_DEG).rem_euclid(360.0);
            assert!((found - heading).abs() < 0.05, "{found} for {heading}");
        }
    }

    #[test]
    fn four_published_legs_give_the_published_airspeed_by_threes_and_all_together() {
        // Source: National Test Pilot School sample data for the position-error worksheet: speeds 178, 185, 188,
        // 184 kt on tracks 178, 82, 355, 265. Mean of the four three-leg airspeeds 183.72669557, their standard
        // deviation 0.82709635, winds 5.2608/194.52, 3.5824/181.52, 5.1495/162.70, 6.4437/177.95. All four legs
        // in one fit: 183.7233, wind 5.0069 from 179.45 (independent algebraic circle fit in numpy).
        let all = legs(&[178.0, 185.0, 188.0, 184.0], &[178.0, 82.0, 355.0, 265.0]);
        let threes: Vec<Circle> = (0..4)
            .map(|left_out| {
                let three: Vec<[f64; 2]> = (0..4).filter(|i| *i != left_out).map(|i| all[i]).collect();
                circle(&three).unwrap()
            })
            .collect();
        let airspeeds: Vec<f64> = threes.iter().map(|c| c.airspeed).collect();
        assert!((statistics::mean(&airspeeds) - 183.726_695_57).abs() < 1e-6);
        assert!((statistics::standard_deviation(&airspeeds) - 0.827_096_35).abs() < 1e-6);
        for (speed, from) in [(5.2608, 194.52), (3.5824, 181.52), (5.1495, 162.70), (6.4437, 177.95)] {
            let close = |c: &&Circle| {
                let found = speed_and_from_deg(c);
                (found.0 - speed).abs() < 1e-4 && (found.1 - from).abs() < 0.01
            };
            assert_eq!(threes.iter().filter(close).count(), 1, "{speed} from {from} in {threes:?}");
        }
        let together = circle(&all).unwrap();
        let (speed, from) = speed_and_from_deg(&together);
        assert!((together.airspeed - 183.7233).abs() < 1e-3);
        assert!((speed - 5.0069).abs() < 1e-3 && (from - 179.45).abs() < 0.01);
    }

    #[test]
    fn legs_along_one_line_fix_no_circle() {
        assert_eq!(circle(&[[10.0, 0.0], [-8.0, 0.0], [9.0, 0.0]]), None);
        assert_eq!(circle(&[[10.0, 0.0], [-8.0, 0.0]]), None);
    }
}
