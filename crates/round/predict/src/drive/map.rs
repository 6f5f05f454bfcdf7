//! How does the propeller pull, answered in no time? Thrust and torque of the blades on a grid of advance angle and speed,
//! read by cubics. Matching motor and propeller asks some thousand times; the blades themselves are asked for the grid only.

use crate::drive::propeller::{Blades, Pull};

/// Steps of the advance angle from standing still to a stopped propeller.
const ANGLES: usize = 64;
/// Speeds of the blade at three quarters of the radius, as powers of e: from this one, by steps, so many.
const SPEEDS: (f64, f64, usize) = (0.7, 0.539, 10);
/// Part of the radius whose speed counts.
const STATION: f64 = 0.75;

/// Density over viscosity of the air that the grid is made in, s/m²: that of the standard atmosphere at sea level.
const REFERENCE_S_M2: f64 = 1.225 / 1.789_38e-5;

/// The grid of one propeller. Air enters the coefficients by the Reynolds number alone: in thinner air the same blades at
/// the same advance answer as at a lower speed in this one.
#[derive(Debug, Clone, PartialEq)]
pub struct Map {
    blades: Blades,
    /// Thrust and torque over dynamic pressure and diameter squared (cubed): by speed, then angle.
    values: Vec<[f64; 2]>,
}

impl Map {
    /// Asks the blades for the whole grid.
    #[must_use]
    pub fn of(blades: &Blades) -> Self {
        let (first, step, count) = SPEEDS;
        let arm_m = 0.5 * STATION * blades.diameter_m;
        let values = (0..count)
            .flat_map(|j| (0..=ANGLES).map(move |i| (j, i)))
            .map(|(j, i)| {
                let speed = (first + step * j as f64).exp();
                let (sin, cos) = (std::f64::consts::FRAC_PI_2 * i as f64 / ANGLES as f64).sin_cos();
                let pull = blades.pull(speed * cos / arm_m, speed * sin, 1.0, 1.0 / REFERENCE_S_M2);
                let scale = speed * speed * blades.diameter_m.powi(2);
                [pull.thrust_n / scale, pull.torque_nm / (scale * blades.diameter_m)]
            })
            .collect();
        Self { blades: blades.clone(), values }
    }

    /// Whether it is the grid of these blades.
    #[must_use]
    pub fn is_of(&self, blades: &Blades) -> bool {
        self.blades == *blades
    }

    /// Thrust and torque of uncorrected blades in air of this density (kg/m³) and viscosity (Pa s); none outside the grid.
    #[must_use]
    pub fn pull(
        &self,
        turning_rad_s: f64,
        airspeed_m_s: f64,
        density_kg_m3: f64,
        viscosity_pa_s: f64,
    ) -> Option<Pull> {
        let diameter_m = self.blades.diameter_m;
        let around = turning_rad_s * 0.5 * STATION * diameter_m;
        let speed = around.hypot(airspeed_m_s);
        let (first, step, count) = SPEEDS;
        let alike = speed * density_kg_m3 / viscosity_pa_s / REFERENCE_S_M2;
        let row = (alike.ln() - first) / step;
        let column = airspeed_m_s.atan2(around) / std::f64::consts::FRAC_PI_2 * ANGLES as f64;
        if !(row >= 0.0 && row <= (count - 1) as f64 && column >= 0.0 && column <= ANGLES as f64) {
            return None;
        }
        let (rows, columns) = (weights(row, count), weights(column, ANGLES + 1));
        let mut sum = [0.0; 2];
        for (j, share) in rows {
            for (i, part) in columns {
                let [thrust, torque] = self.values.get(j * (ANGLES + 1) + i)?;
                sum[0] += share * part * thrust;
                sum[1] += share * part * torque;
            }
        }
        let scale = density_kg_m3 * speed * speed * diameter_m.powi(2);
        Some(Pull { thrust_n: sum[0] * scale, torque_nm: sum[1] * scale * diameter_m })
    }
}

/// The four nodes around a place among `count` with Lagrange's weights; at the ends the nearest four.
fn weights(place: f64, count: usize) -> [(usize, f64); 4] {
    let begin = (place.floor() as usize).saturating_sub(1).min(count.saturating_sub(4));
    let x = place - begin as f64;
    std::array::from_fn(|k| {
        let weight =
            (0..4).filter(|m| *m != k).map(|m| (x - m as f64) / (k as f64 - m as f64)).product::<f64>();
        (begin + k, weight)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use aircraft::drive::Propeller;

    /// Of the greatest coefficients of the propeller: what cubics between the nodes leave out.
    const SHARE: f64 = 0.006;

    #[test]
    fn between_the_nodes_the_map_agrees_with_the_blades() {
        for (diameter_m, pitch_m) in [(0.254, 0.1524), (0.2286, 0.1143), (0.33, 0.2)] {
            let blades = Blades::typical(&Propeller::of_markings(diameter_m, pitch_m, 2));
            let map = Map::of(&blades);
            // At sea level and at 3000 m in the cold.
            for (k, (density, viscosity)) in
                (0..120).map(|k| (k / 2, if k % 2 == 0 { (1.225, 1.789e-5) } else { (0.93, 1.65e-5) }))
            {
                // Places spread over the grid by two irrational steps.
                let (a, b) = ((0.618_034 * f64::from(k)).fract(), (0.754_878 * f64::from(k)).fract());
                let (speed, angle) = (8.0 * (2.6 * a).exp(), 1.2 * b * b);
                let (turning, airspeed) = (speed * angle.cos() / (0.375 * diameter_m), speed * angle.sin());
                let exact = blades.pull(turning, airspeed, density, viscosity);
                let read = map.pull(turning, airspeed, density, viscosity).unwrap();
                let still = blades.pull(speed / (0.375 * diameter_m), 0.0, density, viscosity);
                let off = (read.thrust_n - exact.thrust_n).abs() / still.thrust_n;
                assert!(off < SHARE, "thrust off by {off} at {speed} m/s, {angle} rad");
                let off = (read.torque_nm - exact.torque_nm).abs() / still.torque_nm;
                assert!(off < SHARE, "torque off by {off} at {speed} m/s, {angle} rad");
            }
        }
    }
}
