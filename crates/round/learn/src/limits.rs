//! Did the flight go farther or higher than the aircraft file allows?

use aircraft::Aircraft;
use fly::recording::Quantity;
use numerics::geodesy::LocalPlane;
use numerics::words::fixed;

use crate::blocks::Blocks;

/// A passing of a limit shorter than this is noise of the position, s.
const LEAST_S: f64 = 2.0;

/// Sentences for the limits of the file that the flight went beyond: distance from where the recording begins (the
/// pilot is taken to stand there) and height above it.
pub(crate) fn beyond_limits(aircraft: &Aircraft, blocks: &Blocks) -> Vec<String> {
    let mut remarks = Vec::new();
    let mut tell = |limit_m: Option<f64>, values: Option<Vec<f64>>, what: &str, key: &str, then: &str| {
        let (Some(limit_m), Some(values)) = (limit_m, values) else {
            return;
        };
        let beyond: Vec<f64> = values.into_iter().filter(|v| *v > limit_m).collect();
        let seconds = beyond.len() as f64 * blocks.step_s;
        if seconds >= LEAST_S {
            let most = beyond.iter().copied().fold(limit_m, f64::max);
            remarks.push(format!(
                "The flight went up to {} m {what}, for {} s beyond the {} m that the aircraft file allows \
                 ({key}): {then}",
                fixed(most, 0),
                fixed(seconds, 0),
                fixed(limit_m, 0),
            ));
        }
    };
    tell(
        aircraft.limits.distance_m,
        distance_m(blocks),
        "from where the recording begins",
        "limits.distance_m",
        "a model that far off is hard to see which way it flies; keep the next flight closer",
    );
    tell(
        aircraft.limits.height_m,
        height_m(blocks),
        "above where the recording begins",
        "limits.height_m",
        "keep the next flight lower",
    );
    remarks
}

fn distance_m(blocks: &Blocks) -> Option<Vec<f64>> {
    let (latitude, longitude) = (blocks.column(&Quantity::Latitude)?, blocks.column(&Quantity::Longitude)?);
    let fix = |(lat, lon): (&f64, &f64)| (lat.is_finite() && lon.is_finite()).then_some((*lat, *lon));
    let (lat0, lon0) = latitude.iter().zip(longitude).find_map(fix)?;
    let plane = LocalPlane::at(lat0, lon0);
    Some(
        latitude
            .iter()
            .zip(longitude)
            .filter_map(fix)
            .map(|(lat, lon)| {
                let (north, east) = plane.north_east_m(lat, lon);
                north.hypot(east)
            })
            .collect(),
    )
}

fn height_m(blocks: &Blocks) -> Option<Vec<f64>> {
    if let Some(height) = blocks.column(&Quantity::Height) {
        return Some(height.to_vec());
    }
    let altitude = blocks.column(&Quantity::Altitude)?;
    let ground = altitude.iter().copied().find(|a| a.is_finite())?;
    Some(altitude.iter().map(|a| a - ground).collect())
}
