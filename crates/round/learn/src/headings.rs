//! Were enough directions flown to tell the wind from the airspeed?

use numerics::frames::wrap_rad;
use numerics::units::{DEG_PER_RAD, RAD_PER_DEG};

/// Directions are counted in sectors of this many degrees.
const SECTOR_DEG: f64 = 15.0;
/// Sectors in a full turn.
const SECTORS: usize = 24;
/// A sector counts from this many seconds on.
const LEAST_S: f64 = 2.0;

/// Directions of flight through the air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Headings {
    /// What is left of a full turn without the largest gap, degrees.
    pub covered_deg: f64,
    /// Number of separate headings: sectors apart from each other by at least 45 degrees.
    pub separate: usize,
    /// Least variance of the unit vector of direction along any axis, 0 to 0.5: what tells wind from airspeed.
    pub least_spread: f64,
}

impl Headings {
    /// Counts directions, rad, each flown for `each_s` seconds.
    #[must_use]
    pub fn of(directions_rad: &[f64], each_s: f64) -> Self {
        let mut seconds = [0.0; SECTORS];
        for d in directions_rad {
            let sector = (d.rem_euclid(std::f64::consts::TAU) * DEG_PER_RAD / SECTOR_DEG) as usize;
            seconds[sector.min(SECTORS - 1)] += each_s;
        }
        let least = LEAST_S.min(0.05 * each_s * directions_rad.len() as f64);
        let filled: Vec<usize> = (0..SECTORS).filter(|s| seconds[*s] >= least && seconds[*s] > 0.0).collect();
        let mut gap = if filled.is_empty() { SECTORS } else { 0 };
        for (k, sector) in filled.iter().enumerate() {
            let next = filled.get(k + 1).copied().unwrap_or(filled[0] + SECTORS);
            gap = gap.max(next - sector - 1);
        }
        let mut separate: Vec<usize> = Vec::new();
        for sector in &filled {
            let apart = separate.iter().all(|s| {
                let d = (*s as f64 - *sector as f64).abs();
                d.min(SECTORS as f64 - d) * SECTOR_DEG >= 45.0
            });
            if apart {
                separate.push(*sector);
            }
        }
        Self {
            covered_deg: (SECTORS - gap) as f64 * SECTOR_DEG,
            separate: separate.len(),
            least_spread: least_spread(directions_rad),
        }
    }

    /// What to fly so that the wind can be told.
    #[must_use]
    pub fn more_to_fly(&self) -> String {
        if self.separate <= 1 {
            format!(
                "the headings cover only {:.0} degrees: fly one full circle at constant throttle, or legs on two more headings, the best a third of a turn apart",
                self.covered_deg
            )
        } else {
            format!(
                "the {} headings lie too nearly along one line or in one half of the compass: fly one more full circle at constant throttle, or a leg across the others",
                self.separate
            )
        }
    }
}

fn least_spread(directions_rad: &[f64]) -> f64 {
    let n = directions_rad.len() as f64;
    let sum = |f: &dyn Fn(f64) -> f64| directions_rad.iter().map(|d| f(*d)).sum::<f64>() / n;
    let (c, s) = (sum(&f64::cos), sum(&f64::sin));
    let cc = sum(&|d| d.cos().powi(2)) - c * c;
    let ss = sum(&|d| d.sin().powi(2)) - s * s;
    let cs = sum(&|d| d.sin() * d.cos()) - c * s;
    let middle = 0.5 * (cc + ss);
    let radius = (0.25 * (cc - ss).powi(2) + cs * cs).sqrt();
    if middle.is_finite() { (middle - radius).max(0.0) } else { 0.0 }
}

/// Whether two directions, rad, differ by more than an angle, degrees.
#[must_use]
pub fn differ_by_deg(a_rad: f64, b_rad: f64, least_deg: f64) -> bool {
    wrap_rad(a_rad - b_rad).abs() > least_deg * RAD_PER_DEG
}

#[cfg(test)]
mod tests {
    use super::*;

    fn arc(from_deg: f64, to_deg: f64) -> Vec<f64> {
        (0..1000)
            .map(|i| (from_deg + (to_deg - from_deg) * (f64::from(i) + 0.5) / 1000.0) * RAD_PER_DEG)
            .collect()
    }

    #[test]
    fn spread_follows_the_closed_form_of_an_arc() {
        // Unit vectors spread evenly over an arc of half-angle a have, along its axis, the variance
        // 1/2 + sin(2a)/(4a) - (sin a / a)²: 0.5 for the full circle, 0.0947 for a half, 0.0077 for a quarter.
        for (width, expected) in [(360.0, 0.5), (180.0, 0.0947), (90.0, 0.007_74)] {
            let found = Headings::of(&arc(0.0, width), 1.0).least_spread;
            assert!((found - expected).abs() < 1e-3, "{width}: {found}");
        }
    }

    #[test]
    fn two_opposite_legs_tell_nothing_across() {
        let mut both = vec![0.0; 50];
        both.extend(vec![std::f64::consts::PI; 50]);
        let found = Headings::of(&both, 1.0);
        assert!(found.least_spread < 1e-12 && found.separate == 2);
    }

    #[test]
    fn a_full_circle_covers_all_of_it_and_a_quarter_a_quarter() {
        assert_eq!(Headings::of(&arc(0.0, 360.0), 1.0).covered_deg, 360.0);
        assert_eq!(Headings::of(&arc(0.0, 90.0), 1.0).covered_deg, 90.0);
    }
}
