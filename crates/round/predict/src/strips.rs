//! What does each strip of a surface do? Its section, Reynolds number and lift: where lattice and sections meet.

use std::f64::consts::PI;

use aircraft::Aircraft;
use numerics::Vec3;

use crate::air::Air;
use crate::lattice::{Flap, Lattice};
use crate::sections::{self, SectionData};

/// A strip of a surface at the cruise lift.
#[derive(Debug, Clone, PartialEq)]
pub struct Strip {
    /// Index into `Aircraft::surfaces`.
    pub surface: usize,
    /// Whether it is on the mirror image.
    pub left: bool,
    /// Place along the surface from the root, m.
    pub along_m: f64,
    /// Quarter chord, builder's frame, m.
    pub quarter_m: Vec3,
    /// Width across the stream, m.
    pub width_m: f64,
    /// Chord, m.
    pub chord_m: f64,
    /// Reynolds number of its chord at the speed asked for.
    pub reynolds: f64,
    /// Lift coefficient of the strip when the aircraft flies at the reference angle, controls neutral.
    pub lift: f64,
    /// Its section.
    pub section: SectionData,
    /// Share of its lift that is upward: cosine of its dihedral; negative where its upper side looks down.
    pub(crate) upward: f64,
    /// Lift coefficient per unit of each motion of the lattice.
    pub(crate) slopes: Vec<f64>,
    /// For each motion, the share of a whole section's turning that a deflection is worth, rad per rad.
    pub(crate) flaps: Vec<(usize, f64)>,
}

impl Strip {
    /// Lift coefficient at a motion.
    pub(crate) fn lift_at(&self, motion: &[f64]) -> f64 {
        self.slopes.iter().zip(motion).map(|(s, m)| s * m).sum()
    }

    /// Lift that its flaps add at fixed angle of attack, two-dimensional.
    pub(crate) fn flap_lift(&self, motion: &[f64]) -> f64 {
        self.flaps
            .iter()
            .map(|(which, share)| 2.0 * PI * share * motion.get(*which).copied().unwrap_or(0.0))
            .sum()
    }

    /// Profile drag coefficient times area at a motion, m². A flap's lift comes with camber, so only what is left of
    /// the lift is away from the ideal.
    pub(crate) fn profile_m2(&self, motion: &[f64]) -> f64 {
        let ideal_shift = 0.5 * self.flap_lift(motion);
        self.section.drag(self.reynolds, self.lift_at(motion) - ideal_shift).value
            * self.chord_m
            * self.width_m
    }
}

/// What the shape of the section at each station of each surface says.
pub(crate) fn section_data(aircraft: &Aircraft) -> Vec<Vec<SectionData>> {
    aircraft
        .surfaces
        .iter()
        .map(|s| s.stations.iter().map(|station| SectionData::of(&station.section)).collect())
        .collect()
}

/// The strips of a lattice with their sections; lift is filled in once the reference angle is known.
pub(crate) fn strips(
    data: &[Vec<SectionData>],
    lattice: &Lattice,
    circulation: &[Vec<f64>],
    flaps: &[Flap],
    air: &Air,
    speed_m_s: f64,
) -> Vec<Strip> {
    lattice
        .strips
        .iter()
        .zip(circulation)
        .filter_map(|(strip, circulation)| {
            let sections = data.get(strip.surface)?;
            let section =
                sections.get(strip.station)?.between(*sections.get(strip.station + 1)?, strip.share);
            let hinged = flaps
                .iter()
                .enumerate()
                .filter(|(_, f)| {
                    f.surface == strip.surface && f.inner_m < strip.along_m && strip.along_m < f.outer_m
                })
                .map(|(i, f)| {
                    let chord = 1.0 - 0.5 * (f.hinge_inner + f.hinge_outer);
                    (Lattice::flap_motion(i, strip.left), sections::flap_effectiveness(chord))
                })
                .collect();
            Some(Strip {
                surface: strip.surface,
                left: strip.left,
                along_m: strip.along_m,
                quarter_m: strip.quarter_m,
                width_m: strip.width_m,
                chord_m: strip.chord_m,
                reynolds: air.reynolds(speed_m_s, strip.chord_m),
                lift: f64::NAN,
                upward: strip.normal.z,
                section,
                slopes: circulation.iter().map(|g| 2.0 * g / strip.chord_m).collect(),
                flaps: hinged,
            })
        })
        .collect()
}

/// Tells of chords outside the Reynolds numbers that the correlations know.
pub(crate) fn low_reynolds(strips: &[Strip], remarks: &mut Vec<String>) {
    let least = strips.iter().map(|s| s.reynolds).fold(f64::INFINITY, f64::min);
    let most = strips.iter().map(|s| s.reynolds).fold(0.0, f64::max);
    let [low, high] = sections::REYNOLDS;
    if least < low {
        remarks.push(format!(
            "The smallest chord flies at a Reynolds number of {least:.0}; below {low:.0} its drag and greatest lift are extrapolated flat."
        ));
    }
    if most > high {
        remarks.push(format!(
            "The largest chord flies at a Reynolds number of {most:.0}; above {high:.0} its drag and greatest lift are extrapolated flat."
        ));
    }
}
