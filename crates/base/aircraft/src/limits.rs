//! What may it not do, and what have flights taught of it?

use crate::known::Known;

/// Limits and speeds that the builder or the maker states.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Limits {
    /// Never exceed this airspeed, m/s.
    pub never_exceed_m_s: Option<f64>,
    /// Largest load factor.
    pub load_factor: Option<f64>,
    /// Largest height above the launch point, m.
    pub height_m: Option<f64>,
    /// Largest distance from the pilot, m.
    pub distance_m: Option<f64>,
    /// Largest mean wind the builder will fly in, m/s.
    pub wind_m_s: Option<f64>,
    /// Largest excess of gusts over the mean wind the builder will fly in, m/s.
    pub gust_spread_m_s: Option<f64>,
    /// Largest wind across the launch the builder will launch in, m/s.
    pub cross_wind_m_s: Option<f64>,
    /// Least visibility the builder will fly in, m.
    pub visibility_m: Option<f64>,
    /// Lowest base of cloud above the field the builder will fly under, m.
    pub cloud_base_m: Option<f64>,
    /// Lowest temperature the builder will fly in, °C.
    pub coldest_c: Option<f64>,
    /// Highest temperature the builder will fly in, °C.
    pub hottest_c: Option<f64>,
    /// Chosen cruise airspeed, m/s.
    pub cruise_m_s: Option<f64>,
    /// Share of the pack kept in reserve, 0 to 1 (0.3 where not stated).
    pub reserve: Option<f64>,
    /// Measured stall speed, wings level, m/s.
    pub stall_m_s: Option<Known>,
}

/// What adopted flights say of the predictions, as factors on them (1 where nothing was flown) and settings.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Flown {
    /// Factor on predicted drag.
    pub drag_factor: Option<Known>,
    /// Factor on predicted lift slope.
    pub lift_factor: Option<Known>,
    /// Factor on predicted control effectiveness [roll, pitch, yaw].
    pub control_factor: [Option<Known>; 3],
    /// Factor on predicted thrust.
    pub thrust_factor: Option<Known>,
}
