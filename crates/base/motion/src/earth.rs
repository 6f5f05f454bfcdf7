//! What do the roundness and the turning of the earth add in the plane of a flying field? For check cases that fly for
//! kilometers; a model aircraft does not feel it, and nothing else here uses it.
//!
//! World Geodetic System 1984: ellipsoid, gravity with the flattening term J2, rate of turning (NIMA TR 8350.2, 2000).

use nalgebra::Rotation3;
use numerics::{Mat3, Vec3};

/// Equatorial radius, m.
const RADIUS_M: f64 = 6_378_137.0;
/// Flattening.
const FLATTENING: f64 = 1.0 / 298.257_223_563;
/// Gravitational constant times mass, m³/s².
const PULL_M3_S2: f64 = 3.986_004_418e14;
/// Flattening of the mass, second zonal harmonic.
const J2: f64 = 1.082_627e-3;
/// Rate of turning, rad/s.
pub const TURNING_RAD_S: f64 = 7.292_115e-5;

/// A plane that touches the ellipsoid, north-east-down, turning with the earth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plane {
    latitude_rad: f64,
    origin_m: Vec3,
    earth_from_ned: Mat3,
}

impl Plane {
    /// The plane at a latitude (rad), on the ellipsoid; longitude does not matter and is taken as zero.
    #[must_use]
    pub fn at(latitude_rad: f64) -> Self {
        let (sin, cos) = latitude_rad.sin_cos();
        let e2 = FLATTENING * (2.0 - FLATTENING);
        let normal_m = RADIUS_M / (1.0 - e2 * sin * sin).sqrt();
        Self {
            latitude_rad,
            origin_m: Vec3::new(normal_m * cos, 0.0, normal_m * (1.0 - e2) * sin),
            // Columns: north, east and down in earth axes (x to longitude zero on the equator, z to the north pole).
            earth_from_ned: Mat3::new(-sin, 0.0, -cos, 0.0, 1.0, 0.0, cos, 0.0, -sin),
        }
    }

    /// Acceleration of a free body at a place and velocity in the plane's axes (m, m/s): gravity, centrifugal and
    /// Coriolis terms, m/s².
    #[must_use]
    pub fn acceleration_ned_m_s2(&self, position_ned_m: Vec3, velocity_ned_m_s: Vec3) -> Vec3 {
        let place = self.origin_m + self.earth_from_ned * position_ned_m;
        let r2 = place.norm_squared();
        let up = place.z * place.z / r2;
        let flat = 1.5 * J2 * RADIUS_M * RADIUS_M / r2;
        let pull = -PULL_M3_S2 / (r2 * r2.sqrt());
        let gravity = pull
            * Vec3::new(
                place.x * (1.0 + flat * (1.0 - 5.0 * up)),
                place.y * (1.0 + flat * (1.0 - 5.0 * up)),
                place.z * (1.0 + flat * (3.0 - 5.0 * up)),
            );
        let turning = Vec3::new(0.0, 0.0, TURNING_RAD_S);
        let velocity = self.earth_from_ned * velocity_ned_m_s;
        let free = gravity - turning.cross(&turning.cross(&place)) - 2.0 * turning.cross(&velocity);
        self.earth_from_ned.transpose() * free
    }

    /// Latitude, longitude east of the plane's origin (rad) and height above the ellipsoid (m) of a place.
    #[must_use]
    pub fn geodetic(&self, position_ned_m: Vec3) -> (f64, f64, f64) {
        let place = self.origin_m + self.earth_from_ned * position_ned_m;
        let e2 = FLATTENING * (2.0 - FLATTENING);
        let across = place.x.hypot(place.y);
        // Fixed point of tan(latitude) = (z + e² N sin(latitude)) / across: e² is 1/150, so eight rounds reach rounding.
        let mut latitude = self.latitude_rad;
        for _ in 0..8 {
            let sin = latitude.sin();
            let normal = RADIUS_M / (1.0 - e2 * sin * sin).sqrt();
            latitude = (place.z + e2 * normal * sin).atan2(across);
        }
        let (sin, cos) = latitude.sin_cos();
        let normal = RADIUS_M / (1.0 - e2 * sin * sin).sqrt();
        // Across cos + z sin less what the surface itself has of it: good at any latitude.
        let height = across * cos + place.z * sin - normal * (1.0 - e2 * sin * sin);
        (latitude, place.y.atan2(place.x), height)
    }

    /// Local north-east-down at a place from the plane's axes.
    #[must_use]
    pub fn local_from_plane(&self, position_ned_m: Vec3) -> Rotation3<f64> {
        let (latitude, longitude, _) = self.geodetic(position_ned_m);
        let local = Self::at(latitude);
        let about_pole = Rotation3::from_axis_angle(&Vec3::z_axis(), longitude).into_inner();
        let local_axes = about_pole * local.earth_from_ned;
        Rotation3::from_matrix_unchecked(local_axes.transpose() * self.earth_from_ned)
    }

    /// The earth's turning in the plane's axes, rad/s.
    #[must_use]
    pub fn turning_ned_rad_s(&self) -> Vec3 {
        self.earth_from_ned.transpose() * Vec3::new(0.0, 0.0, TURNING_RAD_S)
    }
}
