//! How long is there light? Sunrise, sunset, civil twilight and where the sun stands.
//!
//! Apparent place of the sun to 0.01° after J. Meeus, Astronomical Algorithms, 2nd ed., chapter 25 (lower accuracy) and the
//! equation of time of chapter 28; rising and setting where the upper limb touches an even horizon through usual
//! refraction (center at -50'), civil twilight where the center is 6° below it. Hills and weather are left out.

use numerics::units::{DEG_PER_RAD, RAD_PER_DEG};

use crate::instant::Instant;

/// Height of the sun's center at rising and setting, degrees: 34' of refraction and 16' of radius.
const LIMB_DEG: f64 = -50.0 / 60.0;
/// Height of the sun's center where civil twilight begins and ends, degrees.
const TWILIGHT_DEG: f64 = -6.0;
/// Half a day, s.
const HALF_DAY_S: f64 = 43_200.0;

/// A place on Earth, degrees north and east.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    latitude_deg: f64,
    longitude_deg: f64,
}

/// The place is none on Earth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NoPlace {
    /// Latitude asked for, degrees north.
    pub latitude_deg: f64,
    /// Longitude asked for, degrees east.
    pub longitude_deg: f64,
}

impl std::fmt::Display for NoPlace {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            f,
            "latitude {}, longitude {} is no place on Earth: degrees north from -90 to 90, degrees east from -180 to 180",
            self.latitude_deg, self.longitude_deg
        )
    }
}

impl std::error::Error for NoPlace {}

impl Place {
    /// A place by its latitude (north positive) and longitude (east positive), degrees.
    ///
    /// # Errors
    /// When there is no such place.
    pub fn new(latitude_deg: f64, longitude_deg: f64) -> Result<Self, NoPlace> {
        if (-90.0..=90.0).contains(&latitude_deg) && (-180.0..=180.0).contains(&longitude_deg) {
            Ok(Self { latitude_deg, longitude_deg })
        } else {
            Err(NoPlace { latitude_deg, longitude_deg })
        }
    }

    /// Latitude, degrees north.
    #[must_use]
    pub fn latitude_deg(self) -> f64 {
        self.latitude_deg
    }

    /// Longitude, degrees east.
    #[must_use]
    pub fn longitude_deg(self) -> f64 {
        self.longitude_deg
    }
}

/// The light of one day. An event that does not happen that day (polar summer and winter) is none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Daylight {
    /// Civil twilight begins.
    pub dawn: Option<Instant>,
    /// The sun rises.
    pub sunrise: Option<Instant>,
    /// The sun stands highest.
    pub noon: Instant,
    /// The sun sets.
    pub sunset: Option<Instant>,
    /// Civil twilight ends.
    pub dusk: Option<Instant>,
    /// Height of the sun's center at noon, degrees: tells polar day from polar night.
    pub noon_height_deg: f64,
}

/// Where the sun stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sun {
    /// Height of its center above the horizon without refraction, rad.
    pub height_rad: f64,
    /// Direction clockwise from north, rad in [0, 2π).
    pub azimuth_rad: f64,
}

/// The light of the day whose noon is nearest to an instant.
#[must_use]
pub fn daylight(place: Place, at: Instant) -> Daylight {
    let at_s = at.unix_s() as f64;
    // Mean noon: twelve hours less an hour for each 15° of longitude east, on the day that makes it nearest.
    let first = HALF_DAY_S - place.longitude_deg * 240.0;
    let mean_s = first + ((at_s - first) / (2.0 * HALF_DAY_S)).round() * 2.0 * HALF_DAY_S;
    let mut noon_s = mean_s;
    for _ in 0..3 {
        noon_s = mean_s - apparent(noon_s).equation_of_time_s;
    }
    let event = |height_deg: f64, side: f64| crossing(place, mean_s, noon_s, height_deg, side).map(instant);
    let noon_height = 90.0 - (place.latitude_deg - apparent(noon_s).declination_rad * DEG_PER_RAD).abs();
    Daylight {
        dawn: event(TWILIGHT_DEG, -1.0),
        sunrise: event(LIMB_DEG, -1.0),
        noon: instant(noon_s),
        sunset: event(LIMB_DEG, 1.0),
        dusk: event(TWILIGHT_DEG, 1.0),
        noon_height_deg: noon_height,
    }
}

/// Where the sun stands at a place and instant.
#[must_use]
pub fn sun(place: Place, at: Instant) -> Sun {
    let at_s = at.unix_s() as f64;
    let apparent = apparent(at_s);
    let day_s = at_s.rem_euclid(2.0 * HALF_DAY_S);
    let hour_angle =
        ((day_s + apparent.equation_of_time_s - HALF_DAY_S) / 240.0 + place.longitude_deg) * RAD_PER_DEG;
    let (sin_lat, cos_lat) = (place.latitude_deg * RAD_PER_DEG).sin_cos();
    let (sin_dec, cos_dec) = apparent.declination_rad.sin_cos();
    let height = (sin_lat * sin_dec + cos_lat * cos_dec * hour_angle.cos()).clamp(-1.0, 1.0).asin();
    let north = sin_dec * cos_lat - cos_dec * hour_angle.cos() * sin_lat;
    let east = -cos_dec * hour_angle.sin();
    Sun { height_rad: height, azimuth_rad: east.atan2(north).rem_euclid(std::f64::consts::TAU) }
}

fn instant(unix_s: f64) -> Instant {
    Instant::from_unix_s(unix_s.round() as i64)
}

/// When the sun passes a height before (-1) or after (1) noon, s since 1970; none where it does not that day.
fn crossing(place: Place, mean_noon_s: f64, noon_s: f64, height_deg: f64, side: f64) -> Option<f64> {
    let (sin_lat, cos_lat) = (place.latitude_deg * RAD_PER_DEG).sin_cos();
    let mut time_s = noon_s;
    // Declination moves by a minute of arc an hour: the fourth round changes nothing that shows.
    for _ in 0..5 {
        let sun = apparent(time_s);
        let (sin_dec, cos_dec) = sun.declination_rad.sin_cos();
        let cosine = ((height_deg * RAD_PER_DEG).sin() - sin_lat * sin_dec) / (cos_lat * cos_dec);
        if !(-1.0..=1.0).contains(&cosine) {
            return None;
        }
        let hour_angle_s = cosine.acos() * DEG_PER_RAD * 240.0;
        time_s = mean_noon_s - sun.equation_of_time_s + side * hour_angle_s;
    }
    Some(time_s)
}

/// Apparent place of the sun.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Apparent {
    /// Longitude along the ecliptic, rad in [0, 2π).
    pub longitude_rad: f64,
    /// Right ascension, rad in [0, 2π).
    pub right_ascension_rad: f64,
    /// Declination, rad, north positive.
    pub declination_rad: f64,
    /// Apparent less mean solar time, s.
    pub equation_of_time_s: f64,
}

/// Apparent place of the sun at an instant.
#[must_use]
pub fn apparent_place(at: Instant) -> Apparent {
    apparent(at.unix_s() as f64)
}

/// The sun at an instant, s since 1970. Universal time is taken for dynamical: a minute moves the sun by 0.0007°.
fn apparent(unix_s: f64) -> Apparent {
    let sin = |deg: f64| (deg * RAD_PER_DEG).sin();
    let cos = |deg: f64| (deg * RAD_PER_DEG).cos();
    // Julian centuries from 2000-01-01 12:00, which is 946 728 000 s after 1970.
    let t = (unix_s - 946_728_000.0) / (86_400.0 * 36_525.0);
    let mean_longitude = 280.466_46 + t * (36_000.769_83 + t * 0.000_303_2);
    let anomaly = 357.529_11 + t * (35_999.050_29 - t * 0.000_153_7);
    let center = (1.914_602 - t * (0.004_817 + t * 0.000_014)) * sin(anomaly)
        + (0.019_993 - 0.000_101 * t) * sin(2.0 * anomaly)
        + 0.000_289 * sin(3.0 * anomaly);
    let node = 125.04 - 1934.136 * t;
    let longitude = mean_longitude + center - 0.005_69 - 0.004_78 * sin(node);
    let obliquity = 23.439_291_1 - 0.013_004_2 * t + 0.002_56 * cos(node);
    let right_ascension = (cos(obliquity) * sin(longitude)).atan2(cos(longitude));
    let declination = (sin(obliquity) * sin(longitude)).asin();
    let nutation = -0.004_78 * sin(node) * cos(obliquity);
    let equation_deg = mean_longitude - 0.005_718_3 - right_ascension * DEG_PER_RAD + nutation;
    let equation_deg = (equation_deg + 180.0).rem_euclid(360.0) - 180.0;
    Apparent {
        longitude_rad: (longitude * RAD_PER_DEG).rem_euclid(std::f64::consts::TAU),
        right_ascension_rad: right_ascension.rem_euclid(std::f64::consts::TAU),
        declination_rad: declination,
        equation_of_time_s: equation_deg * 240.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sun_stands_where_the_textbook_example_has_it() {
        // Meeus, example 25.a: 1992 October 13, 0 h dynamical time, lower accuracy.
        let at = Instant::of(1992, 10, 13, 0, 0).unwrap();
        let sun = apparent_place(at);
        assert!((sun.longitude_rad * DEG_PER_RAD - 199.908_95).abs() < 1e-4);
        assert!((sun.right_ascension_rad * DEG_PER_RAD - 198.380_83).abs() < 1e-4);
        assert!((sun.declination_rad * DEG_PER_RAD + 7.785_07).abs() < 1e-4);
        // Example 28.a: 13 min 42.6 s.
        assert!((sun.equation_of_time_s - 822.6).abs() < 0.6, "{}", sun.equation_of_time_s);
    }
}
