//! Where on a flat field is a latitude and longitude?

use crate::units::RAD_PER_DEG;

/// Semi-major axis of the WGS-84 ellipsoid, m (NIMA TR8350.2).
const WGS84_A_M: f64 = 6_378_137.0;
/// Flattening of the WGS-84 ellipsoid (NIMA TR8350.2).
const WGS84_F: f64 = 1.0 / 298.257_223_563;

/// A plane that touches the WGS-84 ellipsoid at an origin: north and east in metres from latitude and longitude.
/// Good to 0.1 % within 3 km of the origin; not for cross-country tracks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LocalPlane {
    latitude_deg: f64,
    longitude_deg: f64,
    north_m_per_deg: f64,
    east_m_per_deg: f64,
}

impl LocalPlane {
    /// Plane with its origin at a latitude (north positive) and longitude (east positive), degrees.
    #[must_use]
    pub fn at(latitude_deg: f64, longitude_deg: f64) -> Self {
        let e2 = WGS84_F * (2.0 - WGS84_F);
        let (sin, cos) = (latitude_deg * RAD_PER_DEG).sin_cos();
        let w2 = 1.0 - e2 * sin * sin;
        let meridian_radius_m = WGS84_A_M * (1.0 - e2) / (w2 * w2.sqrt());
        let normal_radius_m = WGS84_A_M / w2.sqrt();
        Self {
            latitude_deg,
            longitude_deg,
            north_m_per_deg: meridian_radius_m * RAD_PER_DEG,
            east_m_per_deg: normal_radius_m * cos * RAD_PER_DEG,
        }
    }

    /// North and east of the origin, m.
    #[must_use]
    pub fn north_east_m(&self, latitude_deg: f64, longitude_deg: f64) -> (f64, f64) {
        let mut east_deg = longitude_deg - self.longitude_deg;
        if east_deg > 180.0 {
            east_deg -= 360.0;
        } else if east_deg < -180.0 {
            east_deg += 360.0;
        }
        ((latitude_deg - self.latitude_deg) * self.north_m_per_deg, east_deg * self.east_m_per_deg)
    }

    /// Latitude and longitude, degrees, of a place north and east of the origin, m.
    #[must_use]
    pub fn latitude_longitude_deg(&self, north_m: f64, east_m: f64) -> (f64, f64) {
        (
            self.latitude_deg + north_m / self.north_m_per_deg,
            self.longitude_deg + east_m / self.east_m_per_deg,
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_degree_has_the_length_that_the_ellipsoid_gives_it() {
        // Source: meridian and normal radii of WGS-84, values computed with geographiclib 2.1.
        for (lat, north, east) in
            [(0.0, 110_574.28, 111_319.49), (45.0, 111_131.78, 78_846.84), (52.0, 111_267.35, 68_678.02)]
        {
            let (n, e) = LocalPlane::at(lat, 5.0).north_east_m(lat + 1.0, 6.0);
            assert!((n - north).abs() < 0.01 && (e - east).abs() < 0.01, "{lat}: {n} {e}");
        }
    }

    #[test]
    fn a_short_distance_agrees_with_the_geodesic() {
        // Source: geographiclib 2.1 inverse geodesic, 130.7555 m at azimuth 31.6836 degrees.
        let (n, e) = LocalPlane::at(52.0, 5.0).north_east_m(52.001, 5.001);
        assert!((n.hypot(e) / 130.7555 - 1.0).abs() < 1e-3);
        assert!((e.atan2(n) / RAD_PER_DEG - 31.6836).abs() < 0.05);
    }

    #[test]
    fn the_date_line_is_no_wall() {
        let (_, e) = LocalPlane::at(0.0, 179.999).north_east_m(0.0, -179.999);
        assert!((e - 0.002 * 111_319.49).abs() < 0.01);
    }
}
