//! How fast, and which way, did it go through the air?

use fly::recording::Quantity;

use crate::blocks::{Blocks, mean_of_most};
use crate::findings::Wind;

/// Speed through the air, m/s, and its direction over ground, rad, block by block: the sensor's airspeed where there
/// is one, by the wind's factor where that is known; ground velocity less wind otherwise.
#[must_use]
pub fn airspeed_of_blocks(blocks: &Blocks, wind: Option<&Wind>) -> Option<Vec<f64>> {
    if let Some(sensor) = blocks.column(&Quantity::Airspeed) {
        let factor =
            wind.and_then(|w| w.airspeed_factor.as_ref()).filter(|f| f.enough).map_or(1.0, |f| f.value);
        return Some(sensor.iter().map(|v| factor * v).collect());
    }
    let wind = wind?;
    if !wind.speed_m_s.enough {
        return None;
    }
    let north = blocks.column(&Quantity::VelocityNorth)?;
    let east = blocks.column(&Quantity::VelocityEast)?;
    let down = blocks.column(&Quantity::VelocityDown);
    Some(
        (0..blocks.count)
            .map(|i| {
                let sink = down.map_or(0.0, |d| d[i]);
                let sink = if sink.is_finite() { sink } else { 0.0 };
                (north[i] - wind.velocity_m_s[0]).hypot(east[i] - wind.velocity_m_s[1]).hypot(sink)
            })
            .collect(),
    )
}

/// Mean of the direction of flight through the air over blocks, rad; none without velocity.
#[must_use]
pub fn direction_over(blocks: &Blocks, range: std::ops::Range<usize>, wind: Option<&Wind>) -> Option<f64> {
    let north = mean_of_most(blocks.column(&Quantity::VelocityNorth)?.get(range.clone())?);
    let east = mean_of_most(blocks.column(&Quantity::VelocityEast)?.get(range)?);
    let [wn, we] = wind.map_or([0.0, 0.0], |w| w.velocity_m_s);
    let direction = (east - we).atan2(north - wn);
    direction.is_finite().then_some(direction)
}
