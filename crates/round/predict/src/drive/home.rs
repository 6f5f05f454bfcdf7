//! How far downwind may it go and still get home when the radio link is lost? Distances over wind speed.
//!
//! With the link lost the controller holds wings level with the elevator at its cruise trim and the throttle at the
//! failsafe setting; it is taken to have turned for home. The trim holds the cruise speed; the throttle decides whether
//! it climbs, holds or sinks. It is home when the distance is flown before the height is gone and before the pack is:
//! `distance = (airspeed - wind) · time`.

use aircraft::drive::Drive;

use crate::drive::limits::charged;
use crate::drive::operating::Running;
use crate::drive::pack::{self, EMPTY};
use crate::drive::powered::Powered;
use crate::performance::Flying;
use crate::prediction::Outcome;

/// Height from which a glide home is counted where the file states no largest height, m (judgement, no source).
pub const USUAL_HEIGHT_M: f64 = 60.0;

/// What ends the flight home.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ends {
    /// It reaches the ground.
    Height,
    /// The pack is empty.
    Pack,
}

impl Ends {
    /// The word shown to people.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Height => "height",
            Self::Pack => "pack",
        }
    }
}

/// The flight home after a lost link.
#[derive(Debug, Clone, PartialEq)]
pub struct Home {
    /// Throttle that the failsafe holds, 0 to 1; zero where the file states none.
    pub throttle: f64,
    /// Airspeed that the cruise trim holds, m/s.
    pub airspeed_m_s: f64,
    /// Rate of sink there, m/s; negative where it climbs.
    pub sink_m_s: f64,
    /// Height above the ground that it begins from, m.
    pub height_m: f64,
    /// Time that it lasts, s.
    pub time_s: f64,
    /// What ends it.
    pub ends: Ends,
    /// Farthest distance downwind from which it arrives, over wind: [wind m/s, distance m].
    pub rows: Vec<[f64; 2]>,
}

/// Distance (m) covered over the ground straight against the wind (m/s) in a time (s): none where the wind is as fast
/// as the aircraft.
#[must_use]
pub fn against_wind_m(airspeed_m_s: f64, wind_m_s: f64, time_s: f64) -> f64 {
    (airspeed_m_s - wind_m_s).max(0.0) * time_s
}

/// The flight home at a cruise speed with the pack at the reserve (0 to 1), the worst at which it may begin.
///
/// # Errors
/// When the pack cannot drive the motor at that throttle.
pub fn home(
    drive: &Drive,
    running: &Running,
    flying: &Flying,
    cruise_m_s: f64,
    reserve: f64,
    failsafe_throttle: f64,
    height_m: f64,
) -> Outcome<Home> {
    const ROWS: u32 = 9;
    let at_reserve = charged(running, drive, reserve);
    let powered = Powered { running: &at_reserve, flying };
    let thrust_n = at_reserve.at(failsafe_throttle, cruise_m_s).thrust_n;
    let sink_m_s = (flying.at(cruise_m_s, 1.0).drag_n - thrust_n) * cruise_m_s / powered.flying.weight_n();
    let down_s = if sink_m_s > 0.0 { height_m / sink_m_s } else { f64::INFINITY };
    let draws = at_reserve.at(failsafe_throttle, cruise_m_s).current_a > 0.0;
    let pack_s = if draws {
        pack::discharge(&drive.pack, reserve, EMPTY.min(reserve), |rest_v, ohm| {
            let mut now = at_reserve.clone();
            (now.electrics.open_circuit_v, now.electrics.pack_ohm) = (rest_v, ohm);
            Ok(now.at(failsafe_throttle, cruise_m_s).current_a)
        })?
        .time_s()
    } else {
        f64::INFINITY
    };
    let (time_s, ends) = if down_s <= pack_s { (down_s, Ends::Height) } else { (pack_s, Ends::Pack) };
    Ok(Home {
        throttle: failsafe_throttle,
        airspeed_m_s: cruise_m_s,
        sink_m_s,
        height_m,
        time_s,
        ends,
        rows: (0..ROWS)
            .map(|i| {
                let wind = cruise_m_s * f64::from(i) / f64::from(ROWS - 1);
                [wind, against_wind_m(cruise_m_s, wind, time_s)]
            })
            .collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drive::operating::tests::{drive, running};

    fn flying() -> Flying {
        Flying { aerodynamics: crate::example::aerodynamics(), mass_kg: 2.0, density_kg_m3: 1.225 }
    }

    #[test]
    fn a_glide_home_by_the_wind_triangle() {
        // Straight against 5 m/s at 14 m/s through the air: 9 m/s over the ground; 60 s make 540 m. Against 14 or more:
        // nothing.
        assert!((against_wind_m(14.0, 5.0, 60.0) - 540.0).abs() < 1e-12);
        assert!(against_wind_m(14.0, 14.0, 60.0) == 0.0 && against_wind_m(14.0, 20.0, 60.0) == 0.0);
        let (d, f) = (drive(), flying());
        let r = running(&d);
        let h = home(&d, &r, &f, 14.0, 0.3, 0.0, 60.0).unwrap();
        assert_eq!(h.ends, Ends::Height);
        // Without wind the glide covers height times lift over drag, drag with that of the stopped motor's propeller.
        let drag = f.at(14.0, 1.0).drag_n - r.at(0.0, 14.0).thrust_n;
        let expected = 60.0 * f.weight_n() / drag;
        assert!((h.rows[0][1] / expected - 1.0).abs() < 1e-9, "{:?} {expected}", h.rows[0]);
        // In half the cruise speed of wind, half of that; in all of it, none.
        assert!((h.rows[4][1] / expected - 0.5).abs() < 1e-9 && h.rows[8][1] == 0.0);
    }

    #[test]
    fn a_powered_flight_home_ends_with_the_pack() {
        let (d, f) = (drive(), flying());
        let r = running(&d);
        let h = home(&d, &r, &f, 14.0, 0.3, 0.8, 60.0).unwrap();
        assert!(h.ends == Ends::Pack && h.sink_m_s < 0.0, "{h:?}");
        // A quarter of 2.2 Ah; the current lies between those at both ends of the discharge.
        let amps = |charge: f64| charged(&r, &d, charge).at(0.8, 14.0).current_a;
        let charge_c = 0.25 * 2.2 * 3600.0;
        assert!(h.time_s > charge_c / amps(0.3) && h.time_s < charge_c / amps(0.05), "{}", h.time_s);
        assert!((h.rows[0][1] - 14.0 * h.time_s).abs() < 1e-9);
    }
}
