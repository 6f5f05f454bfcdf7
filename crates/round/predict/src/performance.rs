//! How fast, how slow, how steep? Level flight and glide of an aircraft whose coefficients are known.
//!
//! Small path angles: lift equals weight. Every drag is of the trimmed aircraft: the elevator that balances it has its
//! part in lift and drag.

use aircraft::Known;
use motion::model::Aerodynamics;
use numerics::uncertain::{Uncertain, propagate};
use numerics::units::G_M_S2;

/// An aircraft of a mass in air of a density.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flying {
    /// Its coefficients about the balance point.
    pub aerodynamics: Aerodynamics,
    /// Mass, kg.
    pub mass_kg: f64,
    /// Density of the air, kg/m³.
    pub density_kg_m3: f64,
}

/// Steady flight at one speed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Steady {
    /// True airspeed, m/s.
    pub speed_m_s: f64,
    /// Lift coefficient.
    pub cl: f64,
    /// Drag coefficient.
    pub cd: f64,
    /// Angle of attack of the reference line, rad.
    pub alpha_rad: f64,
    /// Elevator that balances, rad (trailing edge down positive); absent for an aircraft without one.
    pub elevator_rad: Option<f64>,
    /// Drag, N.
    pub drag_n: f64,
    /// Sink without power, m/s.
    pub sink_m_s: f64,
}

impl Flying {
    /// Weight, N.
    #[must_use]
    pub fn weight_n(&self) -> f64 {
        self.mass_kg * G_M_S2
    }

    /// Dynamic pressure times reference area at a speed, N.
    #[must_use]
    pub fn pressure_area_n(&self, speed_m_s: f64) -> f64 {
        0.5 * self.density_kg_m3 * speed_m_s.powi(2) * self.aerodynamics.area_m2
    }

    /// Speed in level flight at a lift coefficient, m/s.
    #[must_use]
    pub fn speed_at_m_s(&self, cl: f64) -> f64 {
        (2.0 * self.weight_n() / (self.density_kg_m3 * self.aerodynamics.area_m2 * cl)).sqrt()
    }

    /// Stall speed with wings level, m/s.
    #[must_use]
    pub fn stall_m_s(&self) -> f64 {
        self.speed_at_m_s(self.aerodynamics.cl_max)
    }

    /// Angle of attack and elevator (rad) that give a lift coefficient in balance, with a pitching moment coefficient
    /// from elsewhere (thrust) added. The elevator is absent for an aircraft that has none: then the angle gives the
    /// lift and the moment is left.
    #[must_use]
    pub fn trim(&self, cl: f64, cm_else: f64) -> (f64, Option<f64>) {
        let a = &self.aerodynamics;
        let d = &a.derivatives;
        let determinant = d.CLa * d.Cmde - d.CLde * d.Cma;
        if d.Cmde == 0.0 || determinant == 0.0 {
            return ((cl - a.cl0) / d.CLa, None);
        }
        let (lift, moment) = (cl - a.cl0, -a.cm0 - cm_else);
        ((lift * d.Cmde - d.CLde * moment) / determinant, Some((d.CLa * moment - d.Cma * lift) / determinant))
    }

    /// Drag coefficient at a lift coefficient with this elevator, rad.
    #[must_use]
    pub fn cd(&self, cl: f64, elevator_rad: f64) -> f64 {
        let a = &self.aerodynamics;
        a.cd0 + a.induced * (cl - a.cl_least_drag).powi(2) + a.derivatives.CDde * elevator_rad
    }

    /// Steady flight at a speed (m/s) and load factor (1 in level flight).
    #[must_use]
    pub fn at(&self, speed_m_s: f64, load_factor: f64) -> Steady {
        let cl = load_factor * self.weight_n() / self.pressure_area_n(speed_m_s);
        let (alpha_rad, elevator_rad) = self.trim(cl, 0.0);
        let cd = self.cd(cl, elevator_rad.unwrap_or(0.0));
        let drag_n = cd * self.pressure_area_n(speed_m_s);
        Steady {
            speed_m_s,
            cl,
            cd,
            alpha_rad,
            elevator_rad,
            drag_n,
            sink_m_s: drag_n * speed_m_s / self.weight_n(),
        }
    }

    /// Steady level flight at which the sink without power is least; never slower than the stall.
    #[must_use]
    pub fn least_sink(&self) -> Steady {
        self.at(self.least(|s| s.sink_m_s), 1.0)
    }

    /// Steady level flight at the best ratio of lift to drag; never slower than the stall.
    #[must_use]
    pub fn best_glide(&self) -> Steady {
        self.at(self.least(|s| s.drag_n), 1.0)
    }

    fn least(&self, f: impl Fn(&Steady) -> f64) -> f64 {
        let stall = self.stall_m_s();
        golden_section(|v| f(&self.at(v, 1.0)), stall, 5.0 * stall, 1e-7)
    }
}

/// How sure what performance rests on is, one standard deviation each.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Doubts {
    /// Of the mass, kg.
    pub mass_kg: f64,
    /// Of the largest lift coefficient.
    pub cl_max: f64,
    /// Of the least drag coefficient.
    pub cd0: f64,
    /// Of the drag rise with lift.
    pub induced: f64,
    /// Of the wing area, m²: chords and span were measured.
    pub area_m2: f64,
}

/// A number of an aircraft in flight with its doubt, by first-order propagation over mass, largest lift, least drag,
/// drag rise and area.
pub fn with_doubt(flying: &Flying, doubts: &Doubts, f: impl Fn(&Flying) -> f64) -> Known {
    let inputs = [
        Uncertain::new(flying.mass_kg, doubts.mass_kg),
        Uncertain::new(flying.aerodynamics.cl_max, doubts.cl_max),
        Uncertain::new(flying.aerodynamics.cd0, doubts.cd0),
        Uncertain::new(flying.aerodynamics.induced, doubts.induced),
        Uncertain::new(flying.aerodynamics.area_m2, doubts.area_m2),
    ];
    let result = propagate(&inputs, |x| {
        let mut moved = *flying;
        if let [mass, cl_max, cd0, induced, area] = *x {
            moved.mass_kg = mass;
            moved.aerodynamics.cl_max = cl_max;
            moved.aerodynamics.cd0 = cd0;
            moved.aerodynamics.induced = induced;
            moved.aerodynamics.area_m2 = area;
        }
        f(&moved)
    });
    Known::predicted(result.value, result.sd)
}

/// Factor on the stall speed in a bank (rad) with height held: the square root of the load factor 1/cos.
#[must_use]
pub fn bank_factor(bank_rad: f64) -> f64 {
    bank_rad.cos().powf(-0.5)
}

/// A level turn: turning rate rad/s, radius m and load factor at a speed (m/s) and bank (rad).
#[must_use]
pub fn level_turn(speed_m_s: f64, bank_rad: f64) -> (f64, f64, f64) {
    let centripetal = G_M_S2 * bank_rad.tan();
    (centripetal / speed_m_s, speed_m_s.powi(2) / centripetal, 1.0 / bank_rad.cos())
}

/// Level-flight speed and power reduced from the weight and density flown to a standard weight and sea-level density
/// (PIW-VIW): `V sqrt(σ Ws/W)` and `P sqrt(σ) (Ws/W)^1.5`.
#[must_use]
pub fn reduced_speed_and_power(
    speed_m_s: f64,
    power_w: f64,
    mass_kg: f64,
    standard_mass_kg: f64,
    density_kg_m3: f64,
) -> (f64, f64) {
    let sigma = density_kg_m3 / sky::atmosphere::SEA_LEVEL_DENSITY_KG_M3;
    let ratio = standard_mass_kg / mass_kg;
    (speed_m_s * (sigma * ratio).sqrt(), power_w * sigma.sqrt() * ratio.powf(1.5))
}

/// Argument in [low, high] at which a function with one valley is least, to the share `tolerance` of the interval.
pub fn golden_section(f: impl Fn(f64) -> f64, low: f64, high: f64, tolerance: f64) -> f64 {
    const SHARE: f64 = 0.618_033_988_749_894_9;
    let (mut a, mut b) = (low, high);
    let (mut x1, mut x2) = (b - SHARE * (b - a), a + SHARE * (b - a));
    let (mut f1, mut f2) = (f(x1), f(x2));
    while b - a > tolerance * (high - low) {
        if f1 <= f2 {
            (b, x2, f2) = (x2, x1, f1);
            x1 = b - SHARE * (b - a);
            f1 = f(x1);
        } else {
            (a, x1, f1) = (x1, x2, f2);
            x2 = a + SHARE * (b - a);
            f2 = f(x2);
        }
    }
    0.5 * (a + b)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example::aerodynamics;

    #[track_caller]
    fn check(got: f64, expected: f64, relative: f64) {
        assert!((got / expected - 1.0).abs() < relative, "{got} against {expected}");
    }

    #[test]
    fn a_parabolic_polar_by_its_closed_forms() {
        // 2 kg, 0.4 m², CD0 0.03, AR 8, e 0.8 at sea level: K 0.049736, best glide sqrt(2W/(ρS)) (K/CD0)^¼ =
        // 10.1527 m/s at 1/(2 sqrt(K CD0)) = 12.9442; least sink at 3^-¼ of it, 7.7143 m/s and 0.68817 m/s.
        let mut aero = aerodynamics();
        aero.area_m2 = 0.4;
        aero.cd0 = 0.03;
        aero.cl_least_drag = 0.0;
        aero.induced = 1.0 / (std::f64::consts::PI * 8.0 * 0.8);
        aero.cl_max = 2.0;
        aero.derivatives.CDde = 0.0;
        let flying = Flying { aerodynamics: aero, mass_kg: 2.0, density_kg_m3: 1.225 };
        check(aero.induced, 0.049_736, 1e-4);
        // A valley is flat: its place is known to the square root of rounding only.
        check(flying.best_glide().speed_m_s, 10.1527, 1e-5);
        let best = flying.best_glide();
        check(best.cl / best.cd, 12.9442, 1e-5);
        check(flying.least_sink().speed_m_s, 7.7143, 1e-5);
        check(flying.least_sink().sink_m_s, 0.688_17, 1e-5);
    }

    #[test]
    fn stall_level_and_banked() {
        // sqrt(2W/(ρ S CLmax)): 19.6133 N, 0.4 m², 1.2: 8.1677 m/s; 11.5509 m/s at 60 degrees.
        let mut aero = aerodynamics();
        aero.area_m2 = 0.4;
        aero.cl_max = 1.2;
        let flying = Flying { aerodynamics: aero, mass_kg: 2.0, density_kg_m3: 1.225 };
        check(flying.stall_m_s(), 8.1677, 1e-5);
        check(flying.stall_m_s() * bank_factor(60.0_f64.to_radians()), 11.5509, 1e-5);
        // First order: the stall speed goes with the square root of mass over largest lift and area.
        let doubts = Doubts { mass_kg: 0.02, cl_max: 0.06, cd0: 0.0, induced: 0.0, area_m2: 0.004 };
        let known = with_doubt(&flying, &doubts, Flying::stall_m_s);
        check(known.sd / known.value, 0.5 * 0.01_f64.hypot(0.05).hypot(0.01), 2e-3);
    }

    #[test]
    fn the_level_turn_by_hand() {
        // 12 m/s and 45 degrees: 46.823 deg/s, 14.684 m, load factor sqrt 2.
        let (rate, radius, n) = level_turn(12.0, 45.0_f64.to_radians());
        check(rate.to_degrees(), 46.823, 1e-4);
        check(radius, 14.684, 1e-4);
        check(n, std::f64::consts::SQRT_2, 1e-12);
    }

    #[test]
    fn level_flight_reduced_to_standard() {
        // 3.0 kg, 1.1 kg/m³, 18 m/s, 120 W to 2.5 kg and sea level: 15.5708 m/s and 86.504 W.
        let (v, p) = reduced_speed_and_power(18.0, 120.0, 3.0, 2.5, 1.1);
        check(v, 15.5708, 1e-5);
        check(p, 86.504, 1e-5);
    }

    #[test]
    fn trim_balances_lift_and_moment() {
        let flying = Flying { aerodynamics: aerodynamics(), mass_kg: 2.0, density_kg_m3: 1.225 };
        let a = &flying.aerodynamics;
        let d = &a.derivatives;
        let (alpha, elevator) = flying.trim(0.7, 0.01);
        let elevator = elevator.unwrap();
        assert!((a.cl0 + d.CLa * alpha + d.CLde * elevator - 0.7).abs() < 1e-12);
        assert!((a.cm0 + d.Cma * alpha + d.Cmde * elevator + 0.01).abs() < 1e-12);
        // Slower flight of a stable aircraft asks for more up elevator (negative).
        assert!(flying.trim(0.9, 0.0).1.unwrap() < flying.trim(0.4, 0.0).1.unwrap());
    }
}
