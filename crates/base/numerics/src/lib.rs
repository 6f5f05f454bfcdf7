//! Facts and laws that every room uses: units, frames and signs, uncertain numbers, integrators,
//! root and least-squares solvers, statistics, seeded random numbers, the local plane of a flying field.

pub mod fit;
pub mod frames;
pub mod geodesy;
pub mod integrate;
pub mod random;
pub mod roots;
pub mod statistics;
pub mod uncertain;
pub mod units;
pub mod words;

/// A vector of three; its frame is in the name of whatever holds it.
pub type Vec3 = nalgebra::Vector3<f64>;
/// A three-by-three matrix (a rotation or an inertia tensor).
pub type Mat3 = nalgebra::Matrix3<f64>;
/// A unit quaternion; named `<to>_from_<from>` wherever one is held.
pub type Rotation = nalgebra::UnitQuaternion<f64>;
