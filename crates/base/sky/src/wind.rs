//! How fast does the mean wind blow at a height? Profiles of the steady wind near the ground.

use numerics::Vec3;
use numerics::frames;

/// How the mean wind grows with height.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Profile {
    /// The same at every height.
    Even,
    /// Logarithm of height over roughness length: neutral air over even ground. Roughness: 0.0002 m open sea,
    /// 0.005 m mown airfield, 0.03 m grass field, 0.1 m low crops, 0.5 m bushes and houses (Davenport classes,
    /// Wieringa 1992, from memory).
    Log {
        /// Roughness length, m.
        roughness_m: f64,
    },
    /// Power of height: 1/7 over open ground by common practice.
    Power {
        /// Exponent.
        exponent: f64,
    },
}

/// A steady wind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wind {
    /// Speed at the reference height, m/s.
    pub speed_m_s: f64,
    /// True direction it blows from, rad.
    pub from_rad: f64,
    /// Height above the ground at which the speed holds, m (10 m in weather reports).
    pub reference_height_m: f64,
    /// How it grows with height.
    pub profile: Profile,
}

/// Why there is no such wind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoWind {
    /// The speed is negative or not a number.
    Speed {
        /// Speed given, m/s.
        speed_m_s: f64,
    },
    /// The reference height does not lie above the ground, or not above the roughness.
    ReferenceHeight {
        /// Height given, m.
        height_m: f64,
    },
    /// Roughness or exponent cannot be: roughness in (0, 3] m, exponent in [0, 1].
    Profile,
}

impl Wind {
    /// No wind at all.
    pub const CALM: Self =
        Self { speed_m_s: 0.0, from_rad: 0.0, reference_height_m: 10.0, profile: Profile::Even };

    /// A wind, its numbers checked.
    ///
    /// # Errors
    /// When a number cannot be that of a wind near the ground.
    pub fn new(
        speed_m_s: f64,
        from_rad: f64,
        reference_height_m: f64,
        profile: Profile,
    ) -> Result<Self, NoWind> {
        if !(speed_m_s >= 0.0 && speed_m_s.is_finite() && from_rad.is_finite()) {
            return Err(NoWind::Speed { speed_m_s });
        }
        let least = match profile {
            Profile::Log { roughness_m } if !(roughness_m > 0.0 && roughness_m <= 3.0) => {
                return Err(NoWind::Profile);
            }
            Profile::Power { exponent } if !(0.0..=1.0).contains(&exponent) => {
                return Err(NoWind::Profile);
            }
            Profile::Log { roughness_m } => roughness_m,
            Profile::Even | Profile::Power { .. } => 0.0,
        };
        if !(reference_height_m > least && reference_height_m.is_finite()) {
            return Err(NoWind::ReferenceHeight { height_m: reference_height_m });
        }
        Ok(Self { speed_m_s, from_rad, reference_height_m, profile })
    }

    /// Speed at a height above the ground, m/s; none at and below the roughness or the ground.
    #[must_use]
    pub fn speed_at(&self, height_m: f64) -> f64 {
        let share = match self.profile {
            Profile::Even => 1.0,
            Profile::Log { roughness_m } => {
                if height_m > roughness_m {
                    (height_m / roughness_m).ln() / (self.reference_height_m / roughness_m).ln()
                } else {
                    0.0
                }
            }
            Profile::Power { exponent } => {
                if height_m > 0.0 {
                    (height_m / self.reference_height_m).powf(exponent)
                } else {
                    0.0
                }
            }
        };
        self.speed_m_s * share
    }

    /// Velocity of the air at a height above the ground, north-east-down, m/s.
    #[must_use]
    pub fn ned_at_m_s(&self, height_m: f64) -> Vec3 {
        frames::wind_ned_m_s(self.speed_at(height_m), self.from_rad)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_log_profile_gains_the_same_for_every_doubling_of_height() {
        // Closed form: u(2h) - u(h) = u_ref ln 2 / ln(h_ref / z0).
        let wind = Wind::new(5.0, 1.0, 10.0, Profile::Log { roughness_m: 0.03 }).unwrap();
        let gain = 5.0 * 2.0_f64.ln() / (10.0_f64 / 0.03).ln();
        for height in [2.0, 10.0, 40.0] {
            let doubled = wind.speed_at(2.0 * height) - wind.speed_at(height);
            assert!((doubled - gain).abs() < 1e-12);
        }
        assert!((wind.speed_at(10.0) - 5.0).abs() < 1e-12);
        assert!(wind.speed_at(0.02).abs() < 1e-12);
    }

    #[test]
    fn the_seventh_root_doubles_at_128_times_the_height() {
        let wind = Wind::new(3.0, 0.0, 1.0, Profile::Power { exponent: 1.0 / 7.0 }).unwrap();
        assert!((wind.speed_at(128.0) - 6.0).abs() < 1e-12);
    }

    #[test]
    fn a_wind_from_the_west_moves_the_air_east() {
        let wind = Wind::new(4.0, 1.5 * std::f64::consts::PI, 10.0, Profile::Even).unwrap();
        assert!((wind.ned_at_m_s(30.0) - Vec3::new(0.0, 4.0, 0.0)).norm() < 1e-12);
    }

    #[test]
    fn what_cannot_be_a_wind_is_refused() {
        assert!(Wind::new(-1.0, 0.0, 10.0, Profile::Even).is_err());
        assert!(Wind::new(1.0, 0.0, 0.01, Profile::Log { roughness_m: 0.03 }).is_err());
        assert!(Wind::new(1.0, 0.0, 10.0, Profile::Log { roughness_m: 0.0 }).is_err());
        assert!(Wind::new(1.0, 0.0, 10.0, Profile::Power { exponent: f64::NAN }).is_err());
    }
}
