//! What does a wing section do at model Reynolds numbers? Lift and moment by thin-section theory; greatest lift and
//! profile drag by correlations, each with its doubt.
//!
//! Zero lift, ideal lift and moment: thin-section integrals of the mean line (Glauert; Abbott & von Doenhoff, Theory of
//! Wing Sections, ch. 4). Least drag: flat-plate friction, laminar (Blasius) ahead and turbulent (Prandtl-Schlichting)
//! behind, with the form factor of Hoerner, Fluid-Dynamic Drag, ch. 6, and a rise at low Reynolds numbers for the
//! laminar separation bubble. Greatest lift, the bubble's drag and the rise with lift are fits of this file: the level
//! from the measured E387 (Selig et al., Summary of Low-Speed Airfoil Data, vol. 1, 1995; `reference/sections-e387`),
//! the trends with camber, thickness and Reynolds number from the variable-density-tunnel sections (Jacobs & Sherman,
//! NACA Rep. 586, 1937; from memory). Valid from Reynolds numbers of 40 000 to 1 000 000, plain sections.

use std::f64::consts::PI;

use aircraft::section::Section;
use numerics::uncertain::Uncertain;

/// What the shape of a section says of its aerodynamics.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SectionData {
    /// Angle of attack of the chord line at zero lift, rad.
    pub zero_lift_rad: f64,
    /// Moment coefficient about the quarter chord, nose up positive.
    pub moment: f64,
    /// Lift coefficient at the angle where the nose is met smoothly: that of least drag.
    pub ideal_lift: f64,
    /// Greatest thickness over chord.
    pub thickness: f64,
    /// Greatest camber over chord.
    pub camber: f64,
}

/// Steps of the integrals over the mean line; the midpoint rule of smooth lines is exact to 1e-5 with these.
const STEPS: usize = 400;

/// Least and greatest Reynolds number of the correlations.
pub const REYNOLDS: [f64; 2] = [4.0e4, 1.0e6];

/// Greatest lift of a symmetric section, 12 % thick, at a Reynolds number of 100 000.
const PLAIN_MAXIMUM: f64 = 0.90;
/// Greatest lift per unit of camber.
const MAXIMUM_PER_CAMBER: f64 = 9.0;
/// Greatest lift per e-fold of Reynolds number.
const MAXIMUM_PER_LOG_REYNOLDS: f64 = 0.06;
/// Standard deviation of the greatest lift of a section not measured.
const MAXIMUM_SD: f64 = 0.10;
/// Share of the chord with laminar flow at least drag, mean of both sides.
const LAMINAR_SHARE: f64 = 0.6;
/// Drag of the laminar separation bubble at a Reynolds number of 100 000; falls with its square.
const BUBBLE_DRAG: f64 = 0.0032;
/// Rise of profile drag with (cl - ideal)².
const DRAG_RISE: f64 = 0.010;
/// Standard deviation of profile drag, relative.
const DRAG_SD: f64 = 0.20;
/// Share of a flap's lift by which the greatest lift grows: a plain flap also stalls sooner.
const FLAP_SHARE: f64 = 0.5;

impl SectionData {
    /// What a section's shape says.
    #[must_use]
    pub fn of(section: &Section) -> Self {
        let (mut a0, mut a1, mut a2) = (0.0, 0.0, 0.0);
        let step = PI / STEPS as f64;
        for i in 0..STEPS {
            let angle = step * (i as f64 + 0.5);
            let slope = section.mean_line_slope(0.5 * (1.0 - angle.cos()));
            a0 += slope * step / PI;
            a1 += slope * angle.cos() * step * 2.0 / PI;
            a2 += slope * (2.0 * angle).cos() * step * 2.0 / PI;
        }
        Self {
            zero_lift_rad: a0 - 0.5 * a1,
            moment: PI / 4.0 * (a2 - a1),
            ideal_lift: PI * a1,
            thickness: section.thickness(),
            camber: section.camber(),
        }
    }

    /// A section part of the way to another.
    #[must_use]
    pub fn between(self, other: Self, share: f64) -> Self {
        let mix = |a: f64, b: f64| a + share * (b - a);
        Self {
            zero_lift_rad: mix(self.zero_lift_rad, other.zero_lift_rad),
            moment: mix(self.moment, other.moment),
            ideal_lift: mix(self.ideal_lift, other.ideal_lift),
            thickness: mix(self.thickness, other.thickness),
            camber: mix(self.camber, other.camber),
        }
    }

    /// Greatest lift coefficient at a Reynolds number, with a flap that adds `flap_lift` to the lift at fixed angle.
    #[must_use]
    pub fn lift_maximum(&self, reynolds: f64, flap_lift: f64) -> Uncertain {
        Uncertain::new(
            self.plain(reynolds) + MAXIMUM_PER_CAMBER * self.camber + FLAP_SHARE * flap_lift,
            MAXIMUM_SD,
        )
    }

    /// Least (most negative) lift coefficient at a Reynolds number. Camber costs less there than it gives on the other
    /// side: about half (NACA Rep. 586, from memory).
    #[must_use]
    pub fn lift_minimum(&self, reynolds: f64, flap_lift: f64) -> Uncertain {
        Uncertain::new(
            -self.plain(reynolds) + 0.5 * MAXIMUM_PER_CAMBER * self.camber + FLAP_SHARE * flap_lift,
            MAXIMUM_SD,
        )
    }

    /// Greatest lift without camber: most at 12 % thickness, less for thinner noses.
    fn plain(&self, reynolds: f64) -> f64 {
        let thin = (0.12 - self.thickness).max(0.0);
        let thick = (self.thickness - 0.15).max(0.0);
        let log = (limited(reynolds) / 1.0e5).ln();
        PLAIN_MAXIMUM - 1.8 * thin - 1.5 * thick + MAXIMUM_PER_LOG_REYNOLDS * log
    }

    /// Least profile drag coefficient at a Reynolds number.
    #[must_use]
    pub fn drag_least(&self, reynolds: f64) -> Uncertain {
        let re = limited(reynolds);
        let friction = LAMINAR_SHARE * laminar_friction(re) + (1.0 - LAMINAR_SHARE) * turbulent_friction(re);
        let t = self.thickness;
        let form = 1.0 + 2.0 * t + 60.0 * t.powi(4);
        let value = 2.0 * friction * form + BUBBLE_DRAG * (1.0e5 / re).powi(2);
        Uncertain::new(value, DRAG_SD * value)
    }

    /// Rise of profile drag: d cd / d (cl - ideal lift)².
    #[must_use]
    pub fn drag_rise(&self) -> f64 {
        DRAG_RISE
    }

    /// Profile drag coefficient at a Reynolds number and lift coefficient below the stall.
    #[must_use]
    pub fn drag(&self, reynolds: f64, lift: f64) -> Uncertain {
        let least = self.drag_least(reynolds);
        let value = least.value + self.drag_rise() * (lift - self.ideal_lift).powi(2);
        Uncertain::new(value, DRAG_SD * value)
    }
}

/// Brings a Reynolds number to the nearest the correlations know; whoever asks outside says so to the reader.
fn limited(reynolds: f64) -> f64 {
    reynolds.clamp(REYNOLDS[0], REYNOLDS[1])
}

/// Mean friction coefficient of one side of a flat plate, laminar (Blasius).
#[must_use]
pub fn laminar_friction(reynolds: f64) -> f64 {
    1.328 / reynolds.sqrt()
}

/// Mean friction coefficient of one side of a flat plate, turbulent (Prandtl-Schlichting).
#[must_use]
pub fn turbulent_friction(reynolds: f64) -> f64 {
    0.455 / reynolds.log10().powf(2.58)
}

/// Lift of a plain flap per lift of the whole section turned by the same angle, for a flap of `chord` of the section's
/// chord (Glauert). Inviscid; at low Reynolds numbers and large angles expect a fifth to two fifths less.
#[must_use]
pub fn flap_effectiveness(chord: f64) -> f64 {
    let angle = (2.0 * chord - 1.0).clamp(-1.0, 1.0).acos();
    1.0 - (angle - angle.sin()) / PI
}
