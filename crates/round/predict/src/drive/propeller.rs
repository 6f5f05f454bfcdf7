//! What do pull and torque of a propeller come to at a speed of turning and of flight?
//!
//! Blade-element momentum theory with induced swirl and Prandtl's tip loss. Each annulus is one equation in the
//! inflow angle, which has one sign at each end of (0, 90°) and so is always solved (after Ning, Wind Energy 17
//! (2014) 1327, written for a propeller and multiplied out so that it holds standing, flying and windmilling).
//!
//! Held against twelve measured propellers (`reference/propellers`, Brandt & Selig, Deters et al.) with their class of
//! blade stated: static thrust is off by 3 % in the median (worst 8 %), static power by 7 % (worst 22 %), thrust in
//! flight by 6 % of the static one, best efficiency by 0.08 at most. With the class guessed from the markings: static
//! thrust by 7 % in the median, 10 % root mean square and 20 % at worst, static power by 17 % root mean square.

use aircraft::drive::Propeller;

use crate::drive::blade::{self, Element};
use crate::drive::crossing::crossing;
use crate::drive::section::{At, Section};

/// Relative standard deviations of thrust and of power taken, [thrust, power], of a propeller known only by its
/// markings: root mean square errors against the measured propellers.
pub const GUESSED_SD: [f64; 2] = [0.11, 0.18];
/// The same with the class of blade stated, from the propellers that were kept out of the fit.
pub const CLASS_STATED_SD: [f64; 2] = [0.06, 0.15];

/// Relative standard deviations of thrust and power of this propeller's model.
#[must_use]
pub fn doubts(propeller: &Propeller) -> [f64; 2] {
    if propeller.class.is_some() { CLASS_STATED_SD } else { GUESSED_SD }
}

/// Pieces of blade used.
const ELEMENTS: usize = 14;

/// A propeller ready to be asked.
#[derive(Debug, Clone, PartialEq)]
pub struct Blades {
    /// Diameter, m.
    pub diameter_m: f64,
    /// Number of blades.
    pub blades: f64,
    /// Pieces of one blade, from root to tip.
    pub elements: Vec<Element>,
    /// The section along it.
    pub section: Section,
}

/// What one propeller does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pull {
    /// Thrust, N.
    pub thrust_n: f64,
    /// Torque that the shaft must give, N m (negative: the air drives it).
    pub torque_nm: f64,
}

impl Blades {
    /// The propeller by its markings, its class of blade and, where measured, its chord.
    #[must_use]
    pub fn typical(propeller: &Propeller) -> Self {
        Self {
            diameter_m: propeller.diameter_m,
            blades: f64::from(propeller.blades),
            elements: blade::typical(propeller, ELEMENTS),
            section: Section::of(blade::class_of(propeller)),
        }
    }

    /// Thrust and torque at a turning speed (rad/s, not negative) and airspeed along the axis (m/s, not negative) in
    /// air of this density (kg/m³) and viscosity (Pa s).
    #[must_use]
    pub fn pull(
        &self,
        turning_rad_s: f64,
        airspeed_m_s: f64,
        density_kg_m3: f64,
        viscosity_pa_s: f64,
    ) -> Pull {
        let mut sum = Pull { thrust_n: 0.0, torque_nm: 0.0 };
        for (_, thrust_n, torque_nm) in self.rings(turning_rad_s, airspeed_m_s, density_kg_m3, viscosity_pa_s)
        {
            sum.thrust_n += thrust_n;
            sum.torque_nm += torque_nm;
        }
        sum
    }

    /// Each piece of blade with thrust (N) and torque (N m) of all blades there.
    fn rings(
        &self,
        turning_rad_s: f64,
        airspeed_m_s: f64,
        density_kg_m3: f64,
        viscosity_pa_s: f64,
    ) -> impl Iterator<Item = (&Element, f64, f64)> {
        self.elements.iter().map(move |element| {
            let around_m_s = turning_rad_s * element.radius_m;
            let straight_m_s = airspeed_m_s.hypot(around_m_s);
            // Reynolds number by the undisturbed speed: induction changes it by a few per cent only.
            let reynolds = density_kg_m3 * straight_m_s * element.chord_m / viscosity_pa_s;
            let annulus = Annulus {
                element,
                blades: self.blades,
                tip_radius_m: 0.5 * self.diameter_m,
                section: self.section.at(reynolds, element.chord_m / element.radius_m),
                along_m_s: airspeed_m_s,
                around_m_s,
                straight_m_s,
                quarter_solidity: self.blades * element.chord_m
                    / (4.0 * std::f64::consts::TAU * element.radius_m),
            };
            let (thrust_n, torque_nm) = annulus.forces(density_kg_m3);
            (element, thrust_n, torque_nm)
        })
    }

    /// Force across the axis for each radian at which the air comes in obliquely, N: it acts at the propeller towards
    /// where the air goes, so that a propeller ahead of the balance point takes stability away.
    ///
    /// A blade going round in a cross flow `w` meets it now with, now against its turning: its tangential speed swings
    /// by `w sin ψ` and its tangential force with it; the mean across the axis is half of `w` times the slope of the
    /// tangential force of all blades over tangential speed. Quasi-steady (Glauert's argument; Ribner, NACA Report 820,
    /// 1945, who adds the sidewash of the slipstream, some 10 to 20 % less).
    #[must_use]
    pub fn across_n_per_rad(
        &self,
        turning_rad_s: f64,
        airspeed_m_s: f64,
        density_kg_m3: f64,
        viscosity_pa_s: f64,
    ) -> f64 {
        const STEP: f64 = 1e-3;
        let sum = |factor: f64| -> f64 {
            self.rings(turning_rad_s * factor, airspeed_m_s, density_kg_m3, viscosity_pa_s)
                .map(|(element, _, torque_nm)| torque_nm / element.radius_m.powi(2))
                .sum()
        };
        0.5 * airspeed_m_s * (sum(1.0 + STEP) - sum(1.0 - STEP)) / (2.0 * STEP * turning_rad_s)
    }

    /// Thrust and power coefficients, CT = T/(ρ n² D⁴) and CP = P/(ρ n³ D⁵) with n in turns a second.
    #[must_use]
    pub fn coefficients(&self, pull: Pull, turning_rad_s: f64, density_kg_m3: f64) -> (f64, f64) {
        let n = turning_rad_s / std::f64::consts::TAU;
        (
            pull.thrust_n / (density_kg_m3 * n.powi(2) * self.diameter_m.powi(4)),
            pull.torque_nm * turning_rad_s / (density_kg_m3 * n.powi(3) * self.diameter_m.powi(5)),
        )
    }
}

/// Power that the ideal actuator disc takes for a thrust (N) at an airspeed (m/s) with a disc of this diameter (m):
/// no propeller takes less (Rankine-Froude).
#[must_use]
pub fn ideal_power_w(thrust_n: f64, airspeed_m_s: f64, diameter_m: f64, density_kg_m3: f64) -> f64 {
    thrust_n * (airspeed_m_s + induced_m_s(thrust_n, airspeed_m_s, diameter_m, density_kg_m3))
}

/// Speed that the ideal disc adds to the air where it passes, m/s.
#[must_use]
pub fn induced_m_s(thrust_n: f64, airspeed_m_s: f64, diameter_m: f64, density_kg_m3: f64) -> f64 {
    let area_m2 = 0.25 * std::f64::consts::PI * diameter_m.powi(2);
    let half = 0.5 * airspeed_m_s;
    (half.powi(2) + thrust_n / (2.0 * density_kg_m3 * area_m2)).max(0.0).sqrt() - half
}

/// The slipstream at a distance behind the disc (m, negative ahead): speed added to the air (m/s) and radius (m), of a
/// disc that adds `induced_m_s` where the air passes it. The added speed goes as that of a tube of ring vortices,
/// `vi (1 + x/√(x² + R²))`, twice that of the disc far behind (McCormick, Aerodynamics, Aeronautics and Flight Mechanics);
/// the same air goes through all of it, which gives the radius.
#[must_use]
pub fn slipstream(induced_m_s: f64, airspeed_m_s: f64, diameter_m: f64, behind_m: f64) -> (f64, f64) {
    let radius_m = 0.5 * diameter_m;
    let added = induced_m_s * (1.0 + behind_m / behind_m.hypot(radius_m));
    let contraction = ((airspeed_m_s + induced_m_s) / (airspeed_m_s + added)).max(0.0).sqrt();
    (added, radius_m * contraction)
}

/// Thrust of the ideal disc standing still for a power: `(2 ρ A P²)^(1/3)`, N.
#[must_use]
pub fn ideal_static_thrust_n(power_w: f64, diameter_m: f64, density_kg_m3: f64) -> f64 {
    let area_m2 = 0.25 * std::f64::consts::PI * diameter_m.powi(2);
    (2.0 * density_kg_m3 * area_m2 * power_w.powi(2)).cbrt()
}

/// One ring of the disc.
struct Annulus<'a> {
    element: &'a Element,
    blades: f64,
    tip_radius_m: f64,
    section: At,
    along_m_s: f64,
    around_m_s: f64,
    straight_m_s: f64,
    /// Blade area over ring area, over four.
    quarter_solidity: f64,
}

/// A ring at a trial inflow angle.
struct Trial {
    sin: f64,
    cos: f64,
    /// Force coefficients along the axis and around it.
    normal: f64,
    tangential: f64,
    /// Prandtl's factor for the finite number of blades.
    loss: f64,
}

impl Annulus<'_> {
    fn trial(&self, inflow_rad: f64) -> Trial {
        let (sin, cos) = inflow_rad.sin_cos();
        let force = self.section.force(self.element.twist_rad - inflow_rad);
        let r = self.element.radius_m;
        let f = 0.5 * self.blades * (self.tip_radius_m - r) / (r * sin);
        Trial {
            sin,
            cos,
            normal: force.cl * cos - force.cd * sin,
            tangential: force.cl * sin + force.cd * cos,
            loss: (std::f64::consts::FRAC_2_PI * (-f).exp().acos()).max(1e-4),
        }
    }

    /// Momentum less blade force. With κ = σ cn/(4 F sin²) and κ' = σ ct/(4 F sin cos) the two momentum balances give
    /// `Ωr sin (1 - κ) = V cos (1 + κ')`; multiplied by `F sin` nothing is divided by what may vanish.
    fn residual(&self, inflow_rad: f64) -> f64 {
        let t = self.trial(inflow_rad);
        t.loss * t.sin * (self.around_m_s * t.sin - self.along_m_s * t.cos)
            - self.quarter_solidity * (self.around_m_s * t.normal + self.along_m_s * t.tangential)
    }

    /// Thrust (N) and torque (N m) of all blades on this ring.
    fn forces(&self, density_kg_m3: f64) -> (f64, f64) {
        const NEAR_ZERO: f64 = 1e-5;
        if self.straight_m_s < 1e-9 {
            return (0.0, 0.0);
        }
        let found =
            crossing(|phi| self.residual(phi), NEAR_ZERO, std::f64::consts::FRAC_PI_2 - NEAR_ZERO, 1e-9);
        let (t, speed_m_s) = match found {
            Some(phi) => {
                let t = self.trial(phi);
                // Both components tell the same speed at the root; the larger divisor tells it better.
                let along = t.sin - self.quarter_solidity * t.normal / (t.loss * t.sin);
                let around = t.cos + self.quarter_solidity * t.tangential / (t.loss * t.sin);
                let speed = if along.abs() > around.abs() {
                    self.along_m_s / along
                } else {
                    self.around_m_s / around
                };
                (t, speed)
            }
            // A ring that pushes backwards even flat to the wind has no momentum solution: no induction.
            None => {
                let straight = self.along_m_s.atan2(self.around_m_s).max(NEAR_ZERO);
                (self.trial(straight), self.straight_m_s)
            }
        };
        let scale = 0.5
            * density_kg_m3
            * speed_m_s.powi(2)
            * self.blades
            * self.element.chord_m
            * self.element.width_m;
        (scale * t.normal, scale * t.tangential * self.element.radius_m)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_ideal_disc_by_hand() {
        // Rankine-Froude, 10 N, 0.254 m, 1.225 kg/m³: standing 8.9751 m/s and 89.751 W; at 15 m/s 4.1962 m/s,
        // 191.96 W. 200 W on a 254 mm disc give 17.06 N at most.
        let check =
            |got: f64, expected: f64| assert!((got / expected - 1.0).abs() < 1e-4, "{got} {expected}");
        check(induced_m_s(10.0, 0.0, 0.254, 1.225), 8.9751);
        check(ideal_power_w(10.0, 0.0, 0.254, 1.225), 89.751);
        check(induced_m_s(10.0, 15.0, 0.254, 1.225), 4.1962);
        check(ideal_power_w(10.0, 15.0, 0.254, 1.225), 191.96);
        assert!((ideal_static_thrust_n(200.0, 0.254, 1.225) - 17.06).abs() < 0.005);
        // Far behind the disc the added speed is twice that at it, and the thrust is mass flow times added speed: of
        // the standing disc the tube shrinks to 1/√2. At the disc it is as wide as the disc.
        let vi = induced_m_s(10.0, 15.0, 0.254, 1.225);
        let (added, radius) = slipstream(vi, 15.0, 0.254, 1e4);
        let flow = 1.225 * std::f64::consts::PI * radius * radius * (15.0 + added);
        check(flow * added, 10.0);
        check(slipstream(vi, 15.0, 0.254, 0.0).1, 0.127);
        check(slipstream(8.9751, 0.0, 0.254, 1e4).1 / 0.127, std::f64::consts::FRAC_1_SQRT_2);
    }

    #[test]
    fn a_propeller_in_oblique_flow_acts_like_a_fin_of_its_side_area() {
        // Ribner, NACA Report 820 (1945): a propeller in yaw acts like a fin whose area is its projected side area, here
        // the blades' ∫c sin β dr counted for half of them edge-on at a time, in the speed that passes the disc. A fin
        // of such slenderness has a lift slope of 2 to 7 per rad.
        let blades = Blades::typical(&Propeller::of_markings(0.254, 0.1524, 2));
        for (turning, speed) in [(700.0, 12.0), (800.0, 16.0), (600.0, 10.0)] {
            let across = blades.across_n_per_rad(turning, speed, 1.225, 1.789e-5);
            let pull = blades.pull(turning, speed, 1.225, 1.789e-5);
            let through = speed + induced_m_s(pull.thrust_n, speed, 0.254, 1.225);
            let side: f64 = blades.elements.iter().map(|e| e.chord_m * e.twist_rad.sin() * e.width_m).sum();
            let slope = across / (0.5 * 1.225 * speed * through * 0.5 * blades.blades * side);
            assert!(slope > 2.0 && slope < 7.0, "{slope} at {turning} rad/s and {speed} m/s");
        }
    }

    proptest! {
        #[test]
        fn no_propeller_beats_the_ideal_disc(
            diameter in 0.1..0.5_f64, ratio in 0.3..1.2_f64, blades in 2_u32..5, tip in 20.0..200.0_f64, advance in 0.0..1.5_f64,
        ) {
            let propeller = Propeller::of_markings(diameter, ratio * diameter, blades);
            let turning = tip / (0.5 * diameter);
            let speed = advance * turning / std::f64::consts::TAU * diameter;
            let pull = Blades::typical(&propeller).pull(turning, speed, 1.225, 1.789e-5);
            prop_assert!(pull.thrust_n.is_finite() && pull.torque_nm.is_finite());
            if pull.thrust_n > 0.0 {
                prop_assert!(ideal_power_w(pull.thrust_n, speed, diameter, 1.225) < pull.torque_nm * turning);
            }
        }

        #[test]
        fn thrust_is_smooth_from_standing_to_windmilling(ratio in 0.4..1.0_f64, step in 0_u32..80) {
            let propeller = Propeller::of_markings(0.254, ratio * 0.254, 2);
            let blades = Blades::typical(&propeller);
            let turning = 500.0;
            let at = |k: u32| blades.pull(turning, 0.4 * f64::from(k), 1.225, 1.789e-5).thrust_n;
            // A hundredth of the advance range moves thrust by a few per cent of the static thrust, never more.
            prop_assert!((at(step + 1) - at(step)).abs() < 0.08 * at(0), "{} {}", at(step), at(step + 1));
        }
    }
}
