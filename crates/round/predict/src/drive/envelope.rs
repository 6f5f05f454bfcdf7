//! What does level flight take at each speed, and how steeply can it climb there?

use crate::drive::powered::Powered;
use crate::performance::golden_section;

/// One airspeed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EnvelopeRow {
    /// True airspeed, m/s.
    pub speed_m_s: f64,
    /// Throttle of level flight, 0 to 1; absent where full throttle does not suffice.
    pub throttle: Option<f64>,
    /// Pack current of level flight, A.
    pub current_a: Option<f64>,
    /// Power that the pack gives in level flight, W.
    pub power_w: Option<f64>,
    /// Climb rate at full throttle, m/s; negative where it sinks.
    pub climb_m_s: f64,
    /// Angle of the path at full throttle, rad; negative where it sinks.
    pub climb_rad: f64,
}

/// Slowest speed over stall speed at which a climb is counted on.
pub const SLOWEST_CLIMB: f64 = 1.1;

impl Powered<'_> {
    /// Angle of the path at full throttle at a speed, rad: the sine is thrust less drag over weight. Drag is that of
    /// level flight, which is a little too much in a steep climb.
    #[must_use]
    pub fn climb_rad(&self, speed_m_s: f64) -> f64 {
        (self.surplus_n(speed_m_s) / self.flying.weight_n()).clamp(-1.0, 1.0).asin()
    }

    /// Speed of the steepest climb at full throttle between 1.1 times stall and `top_m_s`, m/s.
    #[must_use]
    pub fn steepest_m_s(&self, top_m_s: f64) -> f64 {
        let slow = SLOWEST_CLIMB * self.flying.stall_m_s();
        if top_m_s <= slow {
            return top_m_s;
        }
        // Propeller thrust falls with speed, so that the steepest climb is at the slow end or in one valley near it.
        golden_section(|v| -self.surplus_n(v), slow, top_m_s, 1e-3)
    }

    /// Rows from a little above stall to the top speed.
    #[must_use]
    pub fn envelope(&self, top_m_s: f64) -> Vec<EnvelopeRow> {
        const ROWS: u32 = 14;
        let slow = 1.02 * self.flying.stall_m_s();
        if top_m_s <= slow {
            return Vec::new();
        }
        (0..ROWS)
            .map(|i| {
                // Held just inside the top speed, where level flight takes full throttle.
                let speed_m_s = slow + (0.999 * top_m_s - slow) * f64::from(i) / f64::from(ROWS - 1);
                let level = self.cruise(speed_m_s).ok();
                let climb_rad = self.climb_rad(speed_m_s);
                EnvelopeRow {
                    speed_m_s,
                    throttle: level.map(|c| c.throttle),
                    current_a: level.map(|c| c.current_a),
                    power_w: level.map(|c| c.power_w),
                    climb_m_s: speed_m_s * climb_rad.sin(),
                    climb_rad,
                }
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drive::operating::tests::{drive, running};
    use crate::performance::Flying;

    #[test]
    fn level_flight_takes_full_throttle_at_the_top_and_climbs_best_in_between() {
        let r = running(&drive());
        let flying =
            Flying { aerodynamics: crate::example::aerodynamics(), mass_kg: 2.0, density_kg_m3: 1.225 };
        let p = Powered { running: &r, flying: &flying };
        let top = p.top_m_s().unwrap();
        let rows = p.envelope(top);
        let last = rows.last().unwrap();
        assert!(last.throttle.unwrap() > 0.98 && last.climb_m_s.abs() < 0.1, "{last:?}");
        let (best, at) = p.climb_m_s().unwrap();
        for row in &rows {
            // Energy: what the pack gives exceeds drag times speed; the climb is surplus power over weight.
            assert!(row.power_w.unwrap() > flying.at(row.speed_m_s, 1.0).drag_n * row.speed_m_s);
            let surplus = p.surplus_n(row.speed_m_s) * row.speed_m_s / flying.weight_n();
            assert!((row.climb_m_s - surplus).abs() < 1e-9);
            if row.speed_m_s > SLOWEST_CLIMB * flying.stall_m_s() {
                assert!(row.climb_m_s <= best + 1e-3, "{row:?}");
            }
        }
        // The steepest climb is slower than the fastest climb.
        let steep = p.steepest_m_s(top);
        assert!(steep <= at + 0.05 && p.climb_rad(steep) >= p.climb_rad(at) - 1e-6, "{steep} {at}");
    }
}
