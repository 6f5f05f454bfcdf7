//! How does it come down again? Approach speed, flare and float over the wind; and where it comes down, or home, when
//! the radio link is lost.
//!
//! The approach is flown at 1.3 times the stall speed (FAA AC 90-89A, 1995, p. 46: 1.3 to 1.4 times) and half of what the
//! gusts are above the mean wind (common practice, no source). The flare is an arc at 1.15 times the weight; the float is
//! the way in level flight while drag takes the speed down to 1.05 times the stall. Ground effect, which makes the float
//! longer, is left out; so is a propeller that brakes, which makes it shorter.

use numerics::units::G_M_S2;

use super::scene::Breeze;
use crate::performance::Flying;
use crate::prediction::Prediction;

/// Approach speed over the stall speed.
pub const APPROACH_OVER_STALL: f64 = 1.3;
/// Speed at the touch over the stall speed (judgement, no source).
const TOUCH_OVER_STALL: f64 = 1.05;
/// Load factor of the flare (common practice, no source).
const FLARE_LOAD: f64 = 1.15;
/// Steps of the float.
const STEPS: u32 = 64;

/// An approach in one wind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Approach {
    /// Wind straight ahead, m/s.
    pub wind_m_s: f64,
    /// Airspeed of the approach, m/s.
    pub airspeed_m_s: f64,
    /// Sink in the glide at that speed, m/s.
    pub sink_m_s: f64,
    /// Way over the ground for each meter of height, motor off; zero where the wind stops it.
    pub ground_per_height: f64,
    /// Height at which to flare, m.
    pub flare_height_m: f64,
    /// Way over the ground of the flare, m.
    pub flare_m: f64,
    /// Way over the ground of the float, m.
    pub float_m: f64,
    /// Time of the float, s.
    pub float_s: f64,
    /// Speed over the ground at the touch, m/s.
    pub touch_m_s: f64,
}

/// Way through the air and time while level flight slows from one speed to another, motor off: [m, s].
#[must_use]
pub fn float(flying: &Flying, from_m_s: f64, to_m_s: f64) -> [f64; 2] {
    if !(from_m_s > to_m_s && to_m_s > 0.0) {
        return [0.0, 0.0];
    }
    // Simpson's rule for dx = m V / D dV and dt = m / D dV.
    let h = (from_m_s - to_m_s) / f64::from(STEPS);
    let (mut way, mut time) = (0.0, 0.0);
    for i in 0..=STEPS {
        let weight = match i {
            0 | STEPS => 1.0,
            _ if i % 2 == 1 => 4.0,
            _ => 2.0,
        };
        let speed = to_m_s + h * f64::from(i);
        let slowness = flying.mass_kg / flying.at(speed, 1.0).drag_n.max(1e-6);
        way += weight * speed * slowness * h / 3.0;
        time += weight * slowness * h / 3.0;
    }
    [way, time]
}

/// An approach against a wind (m/s) whose gusts are so much above it (m/s).
#[must_use]
pub fn approach(flying: &Flying, stall_m_s: f64, wind_m_s: f64, gust_above_m_s: f64) -> Approach {
    let airspeed = APPROACH_OVER_STALL * stall_m_s + 0.5 * gust_above_m_s.max(0.0);
    let steady = flying.at(airspeed, 1.0);
    let slope = (steady.drag_n / flying.weight_n()).clamp(0.0, 1.0);
    let sink_m_s = airspeed * slope;
    let ground = (airspeed - wind_m_s).max(0.0);
    // An arc of radius V²/((n - 1) g) from the glide into level flight.
    let radius = airspeed * airspeed / ((FLARE_LOAD - 1.0) * G_M_S2);
    let angle = slope.asin();
    let flare_air = radius * angle.sin();
    let flare_s = flare_air / airspeed;
    let touch = TOUCH_OVER_STALL * stall_m_s;
    let [float_air, float_s] = float(flying, airspeed, touch);
    let over_ground = |air_m: f64, time_s: f64| (air_m - wind_m_s * time_s).max(0.0);
    Approach {
        wind_m_s,
        airspeed_m_s: airspeed,
        sink_m_s,
        ground_per_height: if sink_m_s > 0.0 { ground / sink_m_s } else { 0.0 },
        flare_height_m: radius * (1.0 - angle.cos()),
        flare_m: over_ground(flare_air, flare_s),
        float_m: over_ground(float_air, float_s),
        float_s,
        touch_m_s: (touch - wind_m_s).max(0.0),
    }
}

/// Where it comes down when the radio link is lost and nobody steers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Down {
    /// Height it begins from, m.
    pub height_m: f64,
    /// Time in the air, s; infinite where the failsafe throttle lets it climb until the pack is empty.
    pub time_s: f64,
    /// Airspeed, m/s.
    pub airspeed_m_s: f64,
    /// How far the wind carries it in that time, downwind, m.
    pub drift_m: f64,
    /// Largest distance from there that it covers through the air, whatever way it points, m.
    pub radius_m: f64,
    /// Farthest downwind from which it would come home if it pointed home, m.
    pub home_from_m: f64,
}

/// Approaches over the wind, and the way down.
#[derive(Debug, Clone, PartialEq)]
pub struct Landing {
    /// Approaches, by wind; the second to last is that of the scene where it is none of the others.
    pub approaches: Vec<Approach>,
    /// The approach in the wind that was told.
    pub today: Approach,
    /// The way down without steering; absent without a drive whose failsafe is predicted.
    pub down: Option<Down>,
}

/// Landing and return of an aircraft in a wind.
#[must_use]
pub fn landing(p: &Prediction, wind: &Breeze) -> Landing {
    let flying = Flying {
        aerodynamics: p.model.aerodynamics,
        mass_kg: p.model.mass_kg,
        density_kg_m3: p.density_kg_m3,
    };
    let stall = p.speeds.stall_m_s.value;
    let ratio = if wind.speed_m_s > 0.0 {
        wind.gust_m_s.map_or(0.5, |gust| gust / wind.speed_m_s - 1.0).max(0.0)
    } else {
        0.5
    };
    let most = APPROACH_OVER_STALL * stall;
    let approaches = (0..6)
        .map(|i| 2.0 * f64::from(i))
        .filter(|wind| *wind < most)
        .map(|wind| approach(&flying, stall, wind, ratio * wind))
        .collect();
    let down = p.drive.as_ref().ok().and_then(|d| d.home.as_ref().ok()).map(|home| Down {
        height_m: home.height_m,
        time_s: home.time_s,
        airspeed_m_s: home.airspeed_m_s,
        drift_m: wind.speed_m_s * home.time_s,
        radius_m: home.airspeed_m_s * home.time_s,
        home_from_m: crate::drive::home::against_wind_m(home.airspeed_m_s, wind.speed_m_s, home.time_s),
    });
    Landing { approaches, today: approach(&flying, stall, wind.speed_m_s, ratio * wind.speed_m_s), down }
}

#[cfg(test)]
mod tests {
    use super::*;
    use motion::model::Aerodynamics;

    /// Drag of a body without induced drag: D = k V².
    fn plain() -> Flying {
        Flying {
            aerodynamics: Aerodynamics { induced: 0.0, cd0: 0.03, ..crate::example::aerodynamics() },
            mass_kg: 2.0,
            density_kg_m3: 1.225,
        }
    }

    #[test]
    fn a_float_against_quadratic_drag_is_the_closed_form() {
        // m dV/dt = -k V²: way m/k ln(V1/V2), time m/k (1/V2 - 1/V1). k = 1.225/2 · 0.4 · 0.03 = 0.00735 kg/m, m/k =
        // 272.109 m; 13 to 10 m/s: 71.392 m in 6.2794 s.
        let [way, time] = float(&plain(), 13.0, 10.0);
        assert!((way / 71.392 - 1.0).abs() < 1e-4, "{way}");
        assert!((time / 6.2794 - 1.0).abs() < 1e-4, "{time}");
        assert!(float(&plain(), 9.0, 10.0) == [0.0, 0.0]);
    }

    #[test]
    fn wind_shortens_what_is_seen_from_the_ground_by_its_own_way() {
        let (calm, windy) = (approach(&plain(), 9.0, 0.0, 0.0), approach(&plain(), 9.0, 4.0, 0.0));
        assert!((calm.float_m - windy.float_m - 4.0 * calm.float_s).abs() < 1e-9);
        assert!((calm.touch_m_s - windy.touch_m_s - 4.0).abs() < 1e-12);
        // Glide: sink over airspeed is drag over weight.
        let steady = plain().at(calm.airspeed_m_s, 1.0);
        let expected = plain().weight_n() / steady.drag_n;
        assert!((calm.ground_per_height / expected - 1.0).abs() < 1e-9);
        let storm = approach(&plain(), 9.0, 30.0, 0.0);
        assert!(storm.ground_per_height == 0.0 && storm.touch_m_s == 0.0);
    }
}
