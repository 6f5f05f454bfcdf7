//! Which derivatives follow from lattice, sections and bodies? Everything about the aircraft's aerodynamics in the form
//! that the equations of motion take, about any balance point, from one factorization.

use std::f64::consts::PI;

use aircraft::geometry::Reference;
use aircraft::surface::Role;
use aircraft::{Aircraft, Known};
use motion::model::{Aerodynamics, Derivatives, Validity};
use numerics::Vec3;
use numerics::frames::body_from_builder;

use crate::air::Air;
use crate::coupled::{Coupled, Tables};
use crate::lattice::{ACROSS, ALONG, Density, Flap, Lattice, Quadratic, RATES, Spacing, UP};
use crate::prediction::{NotPredicted, Outcome};
use crate::prepared::Prepared;
pub use crate::strips::Strip;
use crate::trim::{Stall, stall, trimmed_lift_change};

/// Panels that a whole aircraft is cut into, about.
pub(crate) const PANELS: usize = 600;
/// Cruise lift over greatest lift: cruise at one and a half times the stall speed. Derivatives hold there.
pub(crate) const CRUISE_SHARE: f64 = 1.0 / 2.25;
/// Sideslip to which the linear coefficients are taken to hold, rad.
const SIDESLIP: f64 = 0.26;
/// Share by which gaps, linkages and junctions add to profile drag (common practice, no source).
pub(crate) const ROUGHNESS: f64 = 0.10;
/// Standard deviation of body drag and of what is not drawn (undercarriage, cooling), relative to body drag.
pub(crate) const BODY_DRAG_SD: f64 = 0.35;

/// Where the wing stalls first.
#[derive(Debug, Clone, PartialEq)]
pub struct FirstStall {
    /// The builder's name of the surface.
    pub surface: String,
    /// Place along it from the root, m.
    pub along_m: f64,
    /// The same as a share of the half span, 0 at the plane of symmetry.
    pub half_span_share: f64,
    /// Greatest lift coefficient of the section there.
    pub section_lift: f64,
}

/// The aerodynamics of an aircraft.
#[derive(Debug, Clone)]
pub struct Solved {
    /// Coefficients about the balance point asked for.
    pub aerodynamics: Aerodynamics,
    /// Neutral point with controls fixed, builder's frame, m.
    pub neutral_point_x_m: f64,
    /// Slope of the lift coefficient at the reference angle, per rad.
    pub cl_slope_per_rad: f64,
    /// Angle of attack of the reference line at zero lift, rad.
    pub zero_lift_alpha_rad: f64,
    /// Span efficiency in the Trefftz plane at the cruise lift (1: elliptic loading of the wing's span).
    pub span_efficiency: f64,
    /// Greatest lift coefficient, trimmed, by the first strip that reaches the greatest lift of its section.
    pub cl_max: Known,
    /// Least drag coefficient of surfaces and bodies.
    pub cd0: Known,
    /// Lattice panels.
    pub panels: usize,
    /// Where the wing stalls first.
    pub first_stall: Option<FirstStall>,
    /// Angle of attack at the stall, rad.
    pub stall_alpha_rad: f64,
    /// Angle of attack at which the derivatives hold, rad: that of the cruise lift.
    pub reference_alpha_rad: f64,
    /// Strips with their lift.
    pub strips: Vec<Strip>,
    /// What the reader must know, in a builder's words.
    pub remarks: Vec<String>,
    /// What the section tables changed, where there are some.
    pub coupled: Option<Box<Coupled>>,
    pub(crate) cg_m: Vec3,
    pub(crate) reference: Reference,
    pub(crate) forces: Quadratic,
    pub(crate) drag: Vec<Vec<f64>>,
    pub(crate) alpha_rate: [f64; 6],
    /// For each axis (roll, pitch, yaw, flap) the motion that a rad of it is.
    pub(crate) axes: [Vec<f64>; 4],
    /// Largest deflections of the pitch axis, rad: trailing edge up, down.
    pub(crate) elevator_rad: Option<[f64; 2]>,
    pub(crate) roles: Vec<Role>,
    pub(crate) names: Vec<String>,
}

/// Solves the lattice of an aircraft about a balance point `cg_m` (builder's frame) and gives its aerodynamics in the
/// given air at a speed (which sets the Reynolds numbers).
///
/// # Errors
/// When there is no wing, or a surface cannot be cut into panels.
pub fn solve(aircraft: &Aircraft, cg_m: Vec3, air: &Air, speed_m_s: f64) -> Outcome<Solved> {
    solve_with(aircraft, cg_m, air, speed_m_s, &Tables::new())
}

/// The same with section tables: lift, drag, stall and the effect of every surface then come from the lattice coupled to
/// them strip by strip ([`crate::coupled`]). Without tables, and where the coupling finds no answer (a remark says why),
/// thin sections and correlations remain.
///
/// # Errors
/// When there is no wing, or a surface cannot be cut into panels.
pub fn solve_with(
    aircraft: &Aircraft,
    cg_m: Vec3,
    air: &Air,
    speed_m_s: f64,
    tables: &Tables,
) -> Outcome<Solved> {
    Prepared::new(aircraft, tables)?.solve(aircraft, cg_m, air, speed_m_s)
}

/// Cuts an aircraft's surfaces so that about `panels` panels come out, the wake along the stream of an angle of attack.
pub(crate) fn lay_about(
    aircraft: &Aircraft,
    flaps: &[Flap],
    panels: usize,
    wake_rad: f64,
) -> Outcome<Lattice> {
    let mut density = Density { across: 18, along: 6, spacing: Spacing::Cosine };
    let mut lattice = Lattice::lay(&aircraft.surfaces, flaps, density, wake_rad)?;
    for _ in 0..3 {
        let ratio = panels as f64 / lattice.panels.len() as f64;
        let across = ((density.across as f64 * ratio).round() as usize).clamp(8, 40);
        if across == density.across {
            break;
        }
        density.across = across;
        density.along = if ratio < 0.6 { 5 } else { density.along };
        lattice = Lattice::lay(&aircraft.surfaces, flaps, density, wake_rad)?;
    }
    Ok(lattice)
}

/// Fills in what follows from forces, strips and bodies.
pub(crate) fn finish(solved: &mut Solved, body_drag_m2: f64) -> Outcome<()> {
    let area = solved.reference.area_m2;
    let slope0 = solved.lift_slope(0.0);
    if slope0.is_nan() || slope0 <= 0.0 {
        return Err(NotPredicted::NoSolution {
            why: format!("the lift slope comes out as {slope0:.3} per rad; check the places of the stations"),
        });
    }
    let most = stall(solved, 1.0);
    let least = stall(solved, -1.0);
    if let Some(remark) = &most.remark {
        solved.remarks.push(remark.clone());
    }
    solved.stall_alpha_rad = most.alpha_rad;
    // Section doubt on the deciding strip, and 5 % for the method: the lift still grows a little after the first strip.
    solved.cl_max =
        Known::predicted(most.lift, most.lift * (most.section_sd / most.section_lift).hypot(0.05));
    solved.first_stall = first_stall(solved, &most);
    let cruise = CRUISE_SHARE * most.lift;
    solved.reference_alpha_rad = solved.alpha_at_lift(cruise, 0.0);
    let alpha = solved.reference_alpha_rad;
    let motion = solved.motion(alpha);
    for strip in &mut solved.strips {
        strip.lift = strip.slopes.iter().zip(&motion).map(|(s, m)| s * m).sum();
    }
    let lift = solved.lift(alpha, 0.0);
    let aspect = solved.reference.aspect_ratio;

    // Drag as a parabola in lift: exact along the angle of attack for the lattice, section by section for the rest.
    let at = |a: f64| {
        let m = solved.motion(a);
        let profile: f64 = solved.strips.iter().map(|s| s.profile_m2(&m)).sum();
        (
            solved.lift(a, 0.0),
            2.0 / area * solved.trefftz(&m, &m),
            (profile * (1.0 + ROUGHNESS) + body_drag_m2) / area,
        )
    };
    let step = 0.1;
    let points = [at(alpha - step), at(alpha), at(alpha + step)];
    let total = points.map(|(cl, induced, profile)| (cl, induced + profile));
    let (rise, middle, bottom) = parabola(total);
    let induced = parabola(points.map(|(cl, i, _)| (cl, i)));
    let induced_here = induced.2 + induced.0 * (lift - induced.1).powi(2);
    solved.span_efficiency = lift * lift / (PI * aspect * induced_here);
    let sections_sd = points[1].2 - body_drag_m2 / area;
    solved.cd0 = Known::predicted(bottom, (0.2 * sections_sd).hypot(BODY_DRAG_SD * body_drag_m2 / area));
    let aerodynamics = Aerodynamics {
        cd0: bottom,
        cl_least_drag: middle,
        induced: rise,
        cl_max: most.lift,
        cl_min: least.lift,
        validity: Validity {
            alpha_low_rad: least.alpha_rad,
            alpha_high_rad: most.alpha_rad,
            beta_rad: SIDESLIP,
        },
        ..no_coefficients(&solved.reference)
    };
    solved.aerodynamics = aerodynamics;
    answers(solved);
    Ok(())
}

/// What follows from forces, drag and stall at the reference angle.
pub(crate) fn answers(solved: &mut Solved) {
    let alpha = solved.reference_alpha_rad;
    let motion = solved.motion(alpha);
    solved.zero_lift_alpha_rad = solved.alpha_at_lift(0.0, 0.0);
    solved.cl_slope_per_rad = solved.lift_slope(alpha);
    solved.aerodynamics = solved.about(solved.cg_m);
    let slope = solved.forces.slope(&motion, &solved.alpha_change(alpha));
    solved.neutral_point_x_m = solved.cg_m.x + slope[4] / slope[2];
}

pub(crate) fn told(why: &NotPredicted) -> String {
    match why {
        NotPredicted::Missing { what } => format!("there is no {what}"),
        NotPredicted::NoSolution { why } => why.clone(),
    }
}

fn first_stall(solved: &Solved, most: &Stall) -> Option<FirstStall> {
    let strip = solved.strips.get(most.strip?)?;
    let half = 0.5 * solved.reference.span_m;
    Some(FirstStall {
        surface: solved.names.get(strip.surface)?.clone(),
        along_m: strip.along_m,
        half_span_share: strip.quarter_m.y.abs() / half,
        section_lift: most.section_lift,
    })
}

/// Curvature, place and value of the least of the parabola through three points (lift, drag).
fn parabola(points: [(f64, f64); 3]) -> (f64, f64, f64) {
    let [(x0, y0), (x1, y1), (x2, y2)] = points;
    let first = (y1 - y0) / (x1 - x0);
    let second = ((y2 - y1) / (x2 - x1) - first) / (x2 - x0);
    let least = 0.5 * (x0 + x1 - first / second);
    (second, least, y0 + first * (least - x0) + second * (least - x0) * (least - x1))
}

/// An answer with nothing in it yet.
pub(crate) fn blank(reference: &Reference, cg_m: Vec3) -> Solved {
    let none = Known::predicted(f64::NAN, f64::NAN);
    Solved {
        aerodynamics: no_coefficients(reference),
        neutral_point_x_m: f64::NAN,
        cl_slope_per_rad: f64::NAN,
        zero_lift_alpha_rad: f64::NAN,
        span_efficiency: f64::NAN,
        cl_max: none,
        cd0: none,
        panels: 0,
        first_stall: None,
        stall_alpha_rad: f64::NAN,
        reference_alpha_rad: 0.0,
        strips: Vec::new(),
        remarks: Vec::new(),
        coupled: None,
        cg_m,
        reference: *reference,
        forces: Quadratic::zero(0),
        drag: Vec::new(),
        alpha_rate: [0.0; 6],
        axes: [const { Vec::new() }; 4],
        elevator_rad: None,
        roles: Vec::new(),
        names: Vec::new(),
    }
}

fn no_coefficients(reference: &Reference) -> Aerodynamics {
    Aerodynamics {
        area_m2: reference.area_m2,
        mean_chord_m: reference.mean_chord_m,
        span_m: reference.span_m,
        cl0: 0.0,
        cd0: 0.0,
        cl_least_drag: 0.0,
        induced: 0.0,
        cm0: 0.0,
        cl_max: 0.0,
        cl_min: 0.0,
        derivatives: Derivatives::default(),
        validity: Validity { alpha_low_rad: 0.0, alpha_high_rad: 0.0, beta_rad: SIDESLIP },
    }
}

impl Solved {
    /// Motion of steady flight at an angle of attack, controls neutral.
    pub(crate) fn motion(&self, alpha_rad: f64) -> Vec<f64> {
        let mut motion = vec![0.0; self.forces.motions];
        motion[ALONG] = alpha_rad.cos();
        motion[UP] = alpha_rad.sin();
        motion
    }

    /// Change of the motion per rad of angle of attack.
    fn alpha_change(&self, alpha_rad: f64) -> Vec<f64> {
        let mut change = vec![0.0; self.forces.motions];
        change[ALONG] = -alpha_rad.sin();
        change[UP] = alpha_rad.cos();
        change
    }

    /// Motion at an angle of attack with a deflection of the pitch axis.
    pub(crate) fn motion_with_elevator(&self, alpha_rad: f64, elevator_rad: f64) -> Vec<f64> {
        let mut motion = self.motion(alpha_rad);
        for (m, gain) in motion.iter_mut().zip(&self.axes[1]) {
            *m += gain * elevator_rad;
        }
        motion
    }

    /// Lift coefficient at an angle of attack and a deflection of the pitch axis (trailing edge down), linear below the
    /// stall.
    #[must_use]
    pub fn lift(&self, alpha_rad: f64, elevator_rad: f64) -> f64 {
        let force = self.forces.at(&self.motion_with_elevator(alpha_rad, elevator_rad));
        2.0 / self.reference.area_m2 * (force[0] * alpha_rad.sin() - force[2] * alpha_rad.cos())
    }

    /// Pitching moment coefficient about a point of the builder's frame, steady flight.
    #[must_use]
    pub fn pitching_moment_about(&self, cg_m: Vec3, alpha_rad: f64, elevator_rad: f64) -> f64 {
        let f = self.forces.at(&self.motion_with_elevator(alpha_rad, elevator_rad));
        let arm = body_from_builder(cg_m - self.cg_m);
        let moment = f[4] - arm.cross(&Vec3::new(f[0], f[1], f[2])).y;
        2.0 / (self.reference.area_m2 * self.reference.mean_chord_m) * moment
    }

    fn lift_slope(&self, alpha_rad: f64) -> f64 {
        let motion = self.motion(alpha_rad);
        let force = self.forces.at(&motion);
        let slope = self.forces.slope(&motion, &self.alpha_change(alpha_rad));
        let (sin, cos) = alpha_rad.sin_cos();
        2.0 / self.reference.area_m2 * ((slope[0] + force[2]) * sin + (force[0] - slope[2]) * cos)
    }

    /// Angle of attack at which the lift coefficient has a value, by Newton steps on the nearly straight curve.
    pub(crate) fn alpha_at_lift(&self, lift: f64, elevator_rad: f64) -> f64 {
        let mut alpha = 0.0;
        for _ in 0..8 {
            alpha += (lift - self.lift(alpha, elevator_rad)) / self.lift_slope(alpha);
        }
        alpha
    }

    fn trefftz(&self, x: &[f64], y: &[f64]) -> f64 {
        self.drag.iter().zip(x).map(|(row, a)| a * row.iter().zip(y).map(|(d, b)| d * b).sum::<f64>()).sum()
    }

    /// Drag coefficient change per change of the motion.
    fn drag_slope(&self, motion: &[f64], change: &[f64]) -> f64 {
        let induced = self.trefftz(motion, change) + self.trefftz(change, motion);
        let small = 1e-4;
        let moved: Vec<f64> = motion.iter().zip(change).map(|(m, c)| m + small * c).collect();
        let profile: f64 =
            self.strips.iter().map(|s| (s.profile_m2(&moved) - s.profile_m2(motion)) / small).sum();
        (2.0 * induced + profile * (1.0 + ROUGHNESS)) / self.reference.area_m2
    }

    /// The coefficients about another balance point (builder's frame), without solving again: forces stay, moments and
    /// rates are turned about the new point. `cl_max` and `cl_min` change by the lift of the elevator that trims there
    /// instead, at the angle of attack of the stall, which the wing decides.
    #[must_use]
    pub fn about(&self, cg_m: Vec3) -> Aerodynamics {
        let moved = cg_m - self.cg_m;
        let forces = self.forces.about(moved);
        let (area, chord, span) =
            (self.reference.area_m2, self.reference.mean_chord_m, self.reference.span_m);
        let alpha = self.reference_alpha_rad;
        let (sin, cos) = alpha.sin_cos();
        let motion = self.motion(alpha);
        let here = forces.at(&motion);
        // Lift, side, roll, pitch, yaw coefficients of a change of force and moment at fixed angle of attack.
        let coefficients = |f: [f64; 6]| {
            [
                2.0 / area * (f[0] * sin - f[2] * cos),
                2.0 / area * f[1],
                2.0 / (area * span) * f[3],
                2.0 / (area * chord) * f[4],
                2.0 / (area * span) * f[5],
            ]
        };
        let unit = |index: usize, size: f64| {
            let mut change = vec![0.0; forces.motions];
            change[index] = size;
            coefficients(forces.slope(&motion, &change))
        };
        let [_, y_b, l_b, _, n_b] = unit(ACROSS, -1.0);
        let [_, y_p, l_p, _, n_p] = unit(RATES[0], 2.0 / span);
        let [lift_q, _, _, m_q, _] = unit(RATES[1], 2.0 / chord);
        let [_, y_r, l_r, _, n_r] = unit(RATES[2], 2.0 / span);
        let axis = |i: usize| coefficients(forces.slope(&motion, &self.axes[i]));
        let (roll, pitch, yaw, flap) = (axis(0), axis(1), axis(2), axis(3));
        let moment_alpha = coefficients(forces.slope(&motion, &self.alpha_change(alpha)))[3];
        let lift_alpha = self.lift_slope(alpha);
        let late = {
            let arm = body_from_builder(moved);
            let force = Vec3::new(self.alpha_rate[0], self.alpha_rate[1], self.alpha_rate[2]);
            (self.alpha_rate[4] - arm.cross(&force).y) * 2.0 / (area * chord) * 2.0 / chord
        };
        let [lift, _, _, moment, _] = coefficients(here);
        // At unchanged lift: the parabola has the drag of all lift, that of a deflection too.
        let drag_alpha = self.drag_slope(&motion, &self.alpha_change(alpha));
        let [drag_by_elevator, drag_by_flap] = self.coupled.as_ref().map_or_else(
            || {
                [(1, pitch[0]), (3, flap[0])].map(|(axis, lift)| {
                    self.drag_slope(&motion, &self.axes[axis]) - lift * drag_alpha / lift_alpha
                })
            },
            |coupled| coupled.drag_by_axis,
        );
        Aerodynamics {
            cl0: lift - lift_alpha * alpha,
            cm0: moment - moment_alpha * alpha,
            derivatives: Derivatives {
                CLa: lift_alpha,
                CLq: lift_q,
                CLde: pitch[0],
                CLdf: flap[0],
                CDde: drag_by_elevator,
                CDdf: drag_by_flap,
                Cma: moment_alpha,
                Cmq: m_q,
                Cm_alphadot: late,
                Cmde: pitch[3],
                Cmdf: flap[3],
                CYb: y_b,
                CYp: y_p,
                CYr: y_r,
                CYda: roll[1],
                CYdr: yaw[1],
                Clb: l_b,
                Clp: l_p,
                Clr: l_r,
                Clda: roll[2],
                Cldr: yaw[2],
                Cnb: n_b,
                Cnp: n_p,
                Cnr: n_r,
                Cnda: roll[4],
                Cndr: yaw[4],
            },
            cl_max: self.aerodynamics.cl_max
                + trimmed_lift_change(self, cg_m, self.aerodynamics.validity.alpha_high_rad),
            cl_min: self.aerodynamics.cl_min
                + trimmed_lift_change(self, cg_m, self.aerodynamics.validity.alpha_low_rad),
            ..self.aerodynamics
        }
    }

    /// What a strip's surface is for.
    pub(crate) fn role(&self, strip: &Strip) -> Option<Role> {
        self.roles.get(strip.surface).copied()
    }

    /// Neutral point and balance point solved for, along x from the datum, m.
    #[must_use]
    pub fn cg_x_m(&self) -> f64 {
        self.cg_m.x
    }
}
