//! What changes in an aircraft's aerodynamics when its section tables are known? The lattice's answer taken as a start,
//! coupled, and put in its place.

use std::f64::consts::PI;
use std::sync::Arc;

use aircraft::control::{Axis, axis_throw_rad, panel_gain};
use aircraft::{Aircraft, Known};
use motion::model::Validity;
use numerics::units::G_M_S2;

use super::balanced::{Hold, Sought};
use super::curve::{Coupling, Flight, LiftCurve, Place, State};
use super::linear::linear;
use super::reduced::Reduced;
use crate::air::Air;
use crate::derivatives::{BODY_DRAG_SD, CRUISE_SHARE, FirstStall, ROUGHNESS, Solved};
use crate::lattice::{ALONG, UP};
use crate::prediction::{NotPredicted, Outcome};
use crate::prepared::{Prepared, late_about, rates_about};
use crate::strips::strips;
use aircraft::surface::Role;

/// What the coupling says of an aircraft.
#[derive(Debug, Clone)]
pub struct Coupled {
    /// The coupled aircraft itself: any state at the cost of some small linear solves.
    pub coupling: Coupling,
    /// Lift through the stall with flaps up.
    pub clean: LiftCurve,
    /// The same with flaps fully down; why there is none.
    pub flaps_down: Outcome<LiftCurve>,
    /// Lift downwards.
    pub downwards: LiftCurve,
    /// For each movable, what a deflection does over what it does to a thin section; absent where no table of its
    /// sections holds its deflections.
    pub effectiveness: Vec<Option<f64>>,
    /// Trimmed level flight, from just above the stall to about three times its speed; empty without a mass.
    pub level: Vec<State>,
    /// Drag coefficient per rad of elevator and of flap at unchanged lift.
    pub(crate) drag_by_axis: [f64; 2],
}

/// What the coupling starts from.
pub(crate) struct Ready<'a> {
    pub(crate) aircraft: &'a Aircraft,
    pub(crate) prepared: &'a Prepared,
    pub(crate) body_drag_m2: f64,
    pub(crate) air: &'a Air,
    pub(crate) speed_m_s: f64,
}

/// Share of the greatest lift up to which the drag parabola is fitted.
const POLAR_SHARE: f64 = 0.8;
/// Points of the fit with controls neutral.
const POLAR_POINTS: usize = 9;
/// Speeds of trimmed level flight.
const LEVEL_SPEEDS: usize = 25;
/// Slowest and fastest of them, over the stall speed.
const LEVEL_RANGE: [f64; 2] = [1.02, 3.0];
/// Fewest of them that a parabola is fitted to.
const LEAST_LEVEL: usize = 8;
/// Deflection over which drag by elevator and flap is taken, rad.
const DRAG_STEP: f64 = 0.05;

/// Couples an aircraft whose lattice is solved to its section tables and puts what follows in `solved`.
///
/// # Errors
/// When no section of the wing has a table, or the coupled lift shows no stall.
pub(crate) fn couple(solved: &mut Solved, ready: &Ready<'_>, reduced: &Arc<Reduced>) -> Outcome<Vec<String>> {
    let Ready { aircraft, prepared, .. } = *ready;
    let lattice = &prepared.lattice;
    let mut remarks = Vec::new();
    coverage(aircraft, reduced, &mut remarks)?;
    let coupling = coupling(solved, ready, Arc::clone(reduced));

    let weight_n = aircraft::balance::balance(aircraft).ok().map(|b| b.total_kg.value * G_M_S2);
    let flight = match weight_n {
        Some(weight_n) => Flight::Level { weight_n, fastest_m_s: ready.speed_m_s },
        // The derivatives are asked for at cruise: the stall is that much slower.
        None => Flight::At(ready.speed_m_s * CRUISE_SHARE.sqrt()),
    };
    let clean = coupling.curve(0.0, flight, 1.0)?;
    let downwards = coupling.curve(0.0, flight, -1.0)?;
    let flaps_down = match coupling.flap_throw_rad() {
        Some(throw) => coupling.curve(throw, flight, 1.0),
        None => Err(NotPredicted::Missing { what: "a movable whose mix answers the flap demand".into() }),
    };

    let reference = neutral_at(&coupling, CRUISE_SHARE * clean.cl_max.value, ready.speed_m_s)?;
    let linear = linear(&coupling, &reference, lattice, &prepared.system, &prepared.turning)
        .ok_or_else(|| NotPredicted::NoSolution { why: "the coupled state cannot be linearized".into() })?;
    let moved = solved.cg_m - prepared.about_m;
    let response = lattice.respond(&prepared.system, linear.panels, prepared.about_m);
    solved.forces = prepared.forces_about(response.forces.plus(&linear.couples), solved.cg_m);
    solved.drag = response.drag;
    solved.alpha_rate = late_about(response.alpha_rate, moved);
    solved.strips =
        strips(prepared.data(), lattice, &response.strips, prepared.flaps(), ready.air, ready.speed_m_s);
    let mut motion = vec![0.0; lattice.motions()];
    motion[ALONG] = reference.alpha_rad.cos();
    motion[UP] = reference.alpha_rad.sin();
    for strip in &mut solved.strips {
        rates_about(&mut strip.slopes, moved);
        strip.lift = strip.lift_at(&motion);
    }

    let drag_by_axis = drag_by_axis(&coupling, &reference);
    let level = weight_n.map_or_else(Vec::new, |weight| level_states(&coupling, &clean, weight));
    let polar = polar(&coupling, &clean, &level, drag_by_axis[0], ready.speed_m_s);
    tell(aircraft, &coupling, &clean, &flaps_down, &linear.effectiveness, &mut remarks);
    low_reynolds(&coupling, &clean, &mut remarks);
    let a = &mut solved.aerodynamics;
    a.cd0 = polar.least;
    a.cl_least_drag = polar.middle;
    a.induced = polar.rise;
    a.cl_max = clean.cl_max.value;
    a.cl_min = downwards.cl_max.value;
    a.validity = Validity {
        alpha_low_rad: downwards.alpha_at_max_rad,
        alpha_high_rad: clean.alpha_at_max_rad,
        ..a.validity
    };
    solved.cl_max = clean.cl_max;
    solved.cd0 = Known::predicted(
        polar.least,
        polar
            .sd
            .hypot(section_doubt(&coupling, &reference))
            .hypot(BODY_DRAG_SD * ready.body_drag_m2 / coupling.area_m2),
    );
    solved.stall_alpha_rad = clean.alpha_at_max_rad;
    solved.first_stall = clean.first_stall.as_ref().map(|p| FirstStall {
        surface: p.surface.clone(),
        along_m: p.along_m,
        half_span_share: p.half_span_share,
        section_lift: p.section_lift,
    });
    solved.reference_alpha_rad = reference.alpha_rad;
    let aspect = 4.0 * coupling.half_span_m.powi(2) / coupling.area_m2;
    solved.span_efficiency = reference.cl.powi(2) / (PI * aspect * reference.cd_induced);
    solved.coupled = Some(Box::new(Coupled {
        coupling,
        clean,
        flaps_down,
        downwards,
        effectiveness: linear.effectiveness,
        level,
        drag_by_axis,
    }));
    Ok(remarks)
}

/// Refuses a wing without tables; tells of surfaces without.
fn coverage(aircraft: &Aircraft, reduced: &Reduced, remarks: &mut Vec<String>) -> Outcome<()> {
    let mut without: Vec<&str> = Vec::new();
    for (index, surface) in aircraft.surfaces.iter().enumerate() {
        let bare = reduced.sheets.iter().any(|s| s.surface == index && !s.section.has_table());
        if bare && surface.role == Role::Wing {
            return Err(NotPredicted::Missing {
                what: format!("section tables for every section of surface {}", surface.name),
            });
        }
        if bare {
            without.push(&surface.name);
        }
    }
    if !without.is_empty() {
        remarks.push(format!(
            "No section tables for {}: thin sections that do not stall, with drag by correlations.",
            without.join(", ")
        ));
    }
    Ok(())
}

fn coupling(solved: &Solved, ready: &Ready<'_>, reduced: Arc<Reduced>) -> Coupling {
    let aircraft = ready.aircraft;
    let symmetric = |axis: Axis| -> Vec<f64> {
        aircraft
            .movables
            .iter()
            .map(|m| 0.5 * (panel_gain(aircraft, m, axis, false) + panel_gain(aircraft, m, axis, true)))
            .collect()
    };
    // Flaps are the axis with a demand one way only: what a rad of it is to each panel, and how far it goes.
    let flap = symmetric(Axis::Flap);
    let flap_throw_rad = axis_throw_rad(aircraft, Axis::Flap)
        .map(|t| f64::max(t.positive_demand_rad, t.negative_demand_rad))
        .filter(|_| flap.iter().any(|f| *f != 0.0));
    Coupling {
        reduced,
        air: *ready.air,
        area_m2: solved.reference.area_m2,
        mean_chord_m: solved.reference.mean_chord_m,
        half_span_m: 0.5 * solved.reference.span_m,
        cg_m: solved.cg_m,
        about_m: ready.prepared.about_m,
        body_pitch_m3: ready.prepared.body_pitch_m3(),
        body_drag_m2: ready.body_drag_m2,
        roughness: 1.0 + ROUGHNESS,
        elevator: symmetric(Axis::Pitch),
        flap,
        throws_rad: solved.elevator_rad,
        flap_throw_rad,
        ailerons: aircraft
            .movables
            .iter()
            .enumerate()
            .filter(|(_, m)| [false, true].iter().any(|l| panel_gain(aircraft, m, Axis::Roll, *l) != 0.0))
            .map(|(i, _)| i)
            .collect(),
        names: aircraft.surfaces.iter().map(|s| s.name.clone()).collect(),
        zero_lift_rad: solved.zero_lift_alpha_rad,
    }
}

/// State with controls neutral at a lift coefficient below the stall.
fn neutral_at(coupling: &Coupling, lift: f64, speed_m_s: f64) -> Outcome<State> {
    let mut alpha = coupling.zero_lift_rad + lift / 4.8;
    let sought = Sought { alpha_rad: alpha, flap_rad: 0.0, speed_m_s, hold: Hold::LiftAtElevator(lift, 0.0) };
    if let Some(state) = coupling.balanced(&sought, None) {
        return Ok(state);
    }
    let mut here = coupling.state(alpha, 0.0, 0.0, speed_m_s, None);
    let mut slope = 4.8;
    for _ in 0..12 {
        let change = ((lift - here.cl) / slope).clamp(-0.05, 0.05);
        if (lift - here.cl).abs() < 1e-7 && here.converged {
            return Ok(here);
        }
        alpha += change;
        let next = coupling.state(alpha, 0.0, 0.0, speed_m_s, Some(&here));
        if change.abs() > 1e-9 {
            slope = ((next.cl - here.cl) / change).clamp(1.5, 9.0);
        }
        here = next;
    }
    if here.converged && (lift - here.cl).abs() < 1e-3 {
        return Ok(here);
    }
    Err(NotPredicted::NoSolution {
        why: format!("no state of attached flow with a lift coefficient of {lift:.2}, controls neutral"),
    })
}

/// Drag over lift as a parabola: rise, lift of least drag, least drag, standard deviation of the fit.
struct Parabola {
    rise: f64,
    middle: f64,
    least: f64,
    sd: f64,
}

/// Trimmed level flight with a weight (N), from fast to slow and given from slow to fast; what does not settle is left out.
fn level_states(coupling: &Coupling, clean: &LiftCurve, weight_n: f64) -> Vec<State> {
    let stall =
        (2.0 * weight_n / (coupling.air.density_kg_m3 * coupling.area_m2 * clean.cl_max.value)).sqrt();
    let [slow, fast] = LEVEL_RANGE;
    let mut found: Vec<State> = Vec::new();
    for i in 0..LEVEL_SPEEDS {
        let speed = stall * (fast - (fast - slow) * i as f64 / (LEVEL_SPEEDS - 1) as f64);
        if let Ok(state) = coupling.level(weight_n, speed, found.last()) {
            found.push(state);
        }
    }
    found.reverse();
    found
}

/// Fits the drag of trimmed level flight, each at its own Reynolds numbers, less what the elevator has in it; without
/// enough of them that of states with controls neutral at one speed, from little lift to near the stall.
fn polar(
    coupling: &Coupling,
    clean: &LiftCurve,
    level: &[State],
    drag_by_elevator: f64,
    speed_m_s: f64,
) -> Parabola {
    let below = POLAR_SHARE * clean.cl_max.value;
    let mut points: Vec<(f64, f64)> = level
        .iter()
        .filter(|s| s.cl < below)
        .map(|s| (s.cl, s.cd - drag_by_elevator * s.elevator_rad))
        .collect();
    if points.len() < LEAST_LEVEL {
        points = neutral_points(coupling, clean, speed_m_s);
    }
    parabola(&points)
}

fn neutral_points(coupling: &Coupling, clean: &LiftCurve, speed_m_s: f64) -> Vec<(f64, f64)> {
    let mut points = Vec::new();
    let mut near: Option<State> = None;
    for i in 0..POLAR_POINTS {
        let share = 0.08 + (POLAR_SHARE - 0.08) * i as f64 / (POLAR_POINTS - 1) as f64;
        let alpha = coupling.zero_lift_rad + share * (clean.alpha_at_max_rad - coupling.zero_lift_rad);
        let state = coupling.state(alpha, 0.0, 0.0, speed_m_s, near.as_ref());
        if state.converged && state.cl < POLAR_SHARE * clean.cl_max.value {
            points.push((state.cl, state.cd));
        }
        near = Some(state);
    }
    points
}

fn parabola(points: &[(f64, f64)]) -> Parabola {
    let n = points.len().max(1) as f64;
    let columns = nalgebra::DMatrix::from_fn(points.len(), 3, |i, j| points[i].0.powi(j as i32));
    let values = nalgebra::DVector::from_iterator(points.len(), points.iter().map(|p| p.1));
    let normal = columns.transpose() * &columns;
    let Some(fit) = normal.lu().solve(&(columns.transpose() * &values)) else {
        return Parabola { rise: f64::NAN, middle: f64::NAN, least: f64::NAN, sd: f64::NAN };
    };
    let left = &values - &columns * &fit;
    let middle = -0.5 * fit[1] / fit[2];
    Parabola {
        rise: fit[2],
        middle,
        least: fit[0] + middle * (fit[1] + middle * fit[2]),
        sd: (left.norm_squared() / n).sqrt(),
    }
}

/// Mean doubt of profile drag by strips, over the reference area.
fn section_doubt(coupling: &Coupling, state: &State) -> f64 {
    let reynolds = coupling.reynolds(state.speed_m_s);
    let sum: f64 = coupling
        .reduced
        .sheets
        .iter()
        .enumerate()
        .map(|(k, sheet)| {
            let sd = sheet
                .section
                .doubt(state.flow.angles[k], reynolds[k], &[])
                .map_or(0.2 * state.flow.readings[k].cd, |(_, cd)| cd);
            sheet.area_m2() * sd
        })
        .sum();
    sum / coupling.area_m2
}

/// Change of drag per rad of elevator and of flap with the lift held by the angle of attack.
fn drag_by_axis(coupling: &Coupling, at: &State) -> [f64; 2] {
    let state = |alpha: f64, elevator: f64, flap: f64| {
        coupling.state(at.alpha_rad + alpha, elevator, flap, at.speed_m_s, Some(at))
    };
    let slope = |up: State, down: State, over: f64| [(up.cl - down.cl) / over, (up.cd - down.cd) / over];
    let [lift, drag] = slope(state(0.01, 0.0, 0.0), state(-0.01, 0.0, 0.0), 0.02);
    let held = |by: [f64; 2]| by[1] - by[0] * drag / lift;
    [
        held(slope(state(0.0, DRAG_STEP, 0.0), state(0.0, -DRAG_STEP, 0.0), 2.0 * DRAG_STEP)),
        held(slope(state(0.0, 0.0, DRAG_STEP), state(0.0, 0.0, 0.0), DRAG_STEP)),
    ]
}

/// What the reader must know.
fn tell(
    aircraft: &Aircraft,
    coupling: &Coupling,
    clean: &LiftCurve,
    flaps_down: &Outcome<LiftCurve>,
    effectiveness: &[Option<f64>],
    remarks: &mut Vec<String>,
) {
    let place = |p: &Place| format!("{} at {:.0} % of the half span", p.surface, 100.0 * p.half_span_share);
    if let Some(first) = &clean.first_stall {
        let ailerons = match clean.aileron_share {
            None => String::new(),
            Some(share) if share < 0.05 && !clean.starts_at_aileron => {
                ", inboard of the ailerons; they keep their flow a degree past the greatest lift".to_owned()
            }
            Some(share) => format!(
                "; a degree past the greatest lift {:.0} % of the part with the ailerons is stalled: expect a wing to drop, lower the nose first and keep wings level with the rudder, not with aileron",
                100.0 * share
            ),
        };
        remarks.push(format!(
            "The wing stalls first on the {} at {:.1}° of angle of attack{ailerons}.",
            place(first),
            first.alpha_rad.to_degrees()
        ));
    }
    if let Ok(flaps) = flaps_down {
        remarks.push(format!(
            "With flaps fully down the greatest lift is {:.2} ± {:.2} instead of {:.2}{}.",
            flaps.cl_max.value,
            2.0 * flaps.cl_max.sd,
            clean.cl_max.value,
            flaps
                .first_stall
                .as_ref()
                .map_or(String::new(), |p| format!(", and it stalls first on the {}", place(p)))
        ));
    }
    if coupling.throws_rad.is_none() {
        remarks.push("No movable answers pitch: the greatest lift is untrimmed.".to_owned());
    } else if !clean.trimmed_at_max {
        remarks.push(
            "The elevator's throw does not suffice to trim at the stall: the greatest lift is that of full throw."
                .to_owned(),
        );
    }
    if clean.tail_stalled {
        remarks.push(
            "The tail reaches its own greatest lift before the wing stalls: full elevator may not hold the nose up."
                .to_owned(),
        );
    }
    if clean.unsettled > 0 {
        remarks.push(format!(
            "{} of {} states of the lift curve did not settle and are left out of the greatest lift.",
            clean.unsettled,
            clean.states.len()
        ));
    }
    let mut bare = Vec::new();
    for (movable, effect) in aircraft.movables.iter().zip(effectiveness) {
        match effect {
            Some(ratio) => remarks.push(format!(
                "The {} does {:.0} % of what it would do on a thin section without boundary layer, by its section tables; gaps at the hinge are not in that and take away more.",
                movable.name,
                100.0 * ratio
            )),
            None => bare.push(movable.name.as_str()),
        }
    }
    if !bare.is_empty() {
        remarks.push(format!(
            "No section table holds deflections of {}: its effect is that of a thin section; with gaps at the hinges and at low speed expect 10 to 25 % less until a flight has measured it.",
            bare.join(", ")
        ));
    }
}

/// Tells of chords outside the Reynolds numbers of the tables.
fn low_reynolds(coupling: &Coupling, clean: &LiftCurve, remarks: &mut Vec<String>) {
    let slow = clean.states.iter().map(|s| s.speed_m_s).fold(f64::INFINITY, f64::min);
    let reynolds = coupling.reynolds(slow);
    let below = coupling.reduced.sheets.iter().zip(reynolds).filter_map(|(sheet, re)| {
        let [low, _] = sheet.section.reynolds_range()?;
        (re < 0.95 * low).then_some((re, low))
    });
    if let Some((re, low)) = below.min_by(|a, b| a.0.total_cmp(&b.0)) {
        remarks.push(format!(
            "At the stall the smallest chord flies at a Reynolds number of {re:.0}; its section table begins at {low:.0} and is held there."
        ));
    }
}
