//! Which derivatives follow from the coupled state? Its equations linearized, strip by strip: every motion then turns the
//! strips as their sections answer it, and lattice strengths, forces and derivatives of all axes change with them: slope
//! of lift, damping of roll, what ailerons, elevator and rudder are worth.

use nalgebra::DMatrix;
use std::f64::consts::PI;

use super::curve::{Coupling, State};
use super::reduced::nose_up;
use crate::lattice::{ALONG, Lattice, Quadratic, System, UP};
use numerics::Vec3;
use numerics::frames::body_from_builder;

use super::reduced::INPUTS;
use super::state::Demand;

/// The lattice as its sections let it be near a state.
pub(crate) struct Linear {
    /// Strength of each panel per unit of each motion.
    pub(crate) panels: Vec<Vec<f64>>,
    /// Moments of the sections beyond those that the lattice has.
    pub(crate) couples: Quadratic,
    /// For each flap: effect of a deflection over that of thin sections; absent where no table holds it.
    pub(crate) effectiveness: Vec<Option<f64>>,
}

/// Linearizes near a state, controls neutral. `turning` is the strength of each panel per rad by which each strip is
/// turned.
pub(crate) fn linear(
    coupling: &Coupling,
    state: &State,
    lattice: &Lattice,
    system: &System,
    turning: &[Vec<f64>],
) -> Option<Linear> {
    let reduced = &coupling.reduced;
    let strips = lattice.strips.len();
    let motions = lattice.motions();
    // Each strip's sheet.
    let mut sheet_of = vec![None; strips];
    for (k, sheet) in reduced.sheets.iter().enumerate() {
        for strip in std::iter::once(sheet.strip).chain(sheet.partner) {
            if let Some(place) = sheet_of.get_mut(strip) {
                *place = Some(k);
            }
        }
    }
    let sheet_of: Vec<usize> = sheet_of.into_iter().collect::<Option<_>>()?;
    let reynolds = coupling.reynolds(state.speed_m_s);
    let mut inputs = vec![state.alpha_rad.cos(), state.alpha_rad.sin()];
    inputs.extend(
        coupling
            .elevator
            .iter()
            .zip(&coupling.flap)
            .map(|(e, f)| e * state.elevator_rad + f * state.flap_rad),
    );
    let deflections = inputs.get(INPUTS..).unwrap_or_default().to_vec();
    let slopes = reduced.slopes(&Demand { inputs: &inputs, reynolds: &reynolds }, &state.flow);

    let by_motion = lattice.by_strip(&system.strengths, motions);
    let by_turn = lattice.by_strip(turning, strips);
    let sheet = |i: usize| &reduced.sheets[sheet_of[i]];
    let plate = |i: usize| sheet(i).section.plate.slope * sheet(i).section.sweep;
    // Past-zero angle per sine, lift per angle of the section.
    let bend: Vec<f64> = (0..strips)
        .map(|i| {
            let k = sheet_of[i];
            let sine = (state.flow.lifts[k] / plate(i) - state.flow.turned[k]).clamp(-0.9, 0.9);
            1.0 / (1.0 - sine * sine).sqrt()
        })
        .collect();
    let slope: Vec<f64> =
        (0..strips).map(|i| sheet(i).section.sweep * slopes[sheet_of[i]].cl_by_alpha * bend[i]).collect();
    let factor = |i: usize| 2.0 / lattice.strips[i].chord_m;
    let own: Vec<f64> = (0..strips).map(|i| 1.0 - slope[i] / plate(i)).collect();
    let jacobian = DMatrix::from_fn(strips, strips, |i, j| {
        own[i] * factor(i) * by_turn[i][j] + if i == j { slope[i] } else { 0.0 }
    });
    // Lift and moment per rad of each flap on each strip at fixed angle of the section.
    let flap_on = |i: usize, motion: usize| {
        let left = lattice.strips[i].left;
        sheet(i).section.flaps.iter().find(|f| Lattice::flap_motion(f.flap, left) == motion).map(|f| {
            let k = sheet_of[i];
            let (cl, cm) =
                sheet(i).section.flap_slopes(f.flap, state.flow.angles[k], reynolds[k], &deflections);
            (*f, cl, cm)
        })
    };
    let mut flap_effects = vec![vec![None; motions]; strips];
    for (i, row) in flap_effects.iter_mut().enumerate() {
        for (motion, effect) in row.iter_mut().enumerate().skip(6) {
            *effect = flap_on(i, motion);
        }
    }
    let right = DMatrix::from_fn(strips, motions, |i, m| {
        let lift = own[i] * factor(i) * by_motion[i][m];
        let flap = flap_effects[i][m].map_or(0.0, |(f, cl, _)| {
            sheet(i).section.sweep * (cl - f.on_panels * slopes[sheet_of[i]].cl_by_alpha)
        });
        -(lift - flap)
    });
    let mut turned = jacobian.lu().solve(&right)?;

    // The state itself: along the angle of attack the turnings pass through those found, with their slope.
    let (sin, cos) = state.alpha_rad.sin_cos();
    for i in 0..strips {
        let here: f64 = state.flow.turned[sheet_of[i]]
            - (6..motions).map(|m| turned[(i, m)] * motion_of(m, &inputs)).sum::<f64>();
        let per_alpha = turned[(i, UP)] * cos - turned[(i, ALONG)] * sin;
        turned[(i, ALONG)] = here * cos - per_alpha * sin;
        turned[(i, UP)] = here * sin + per_alpha * cos;
    }
    let panels: Vec<Vec<f64>> = system
        .strengths
        .iter()
        .zip(turning)
        .map(|(motion, turn)| {
            motion
                .iter()
                .enumerate()
                .map(|(m, g)| g + turn.iter().enumerate().map(|(j, t)| t * turned[(j, m)]).sum::<f64>())
                .collect()
        })
        .collect();

    // Moments of the sections beyond the lattice's, linear in the motion.
    let lifts = lattice.by_strip(&panels, motions);
    let mut couples = Quadratic::zero(motions);
    for (i, strip) in lattice.strips.iter().enumerate() {
        let k = sheet_of[i];
        let section = &sheet(i).section;
        let angle = |m: usize| {
            let flap = flap_effects[i][m].map_or(0.0, |(f, _, _)| f.on_panels);
            (factor(i) * lifts[i][m] / plate(i) - turned[(i, m)]) * bend[i] - flap
        };
        let change = |m: usize| {
            slopes[k].cm_by_alpha * angle(m)
                + flap_effects[i][m].map_or(0.0, |(f, _, cm)| cm - f.moment_on_panels)
        };
        let axis = body_from_builder(nose_up(strip.normal));
        let size = 0.5 * strip.chord_m * strip.chord_m * strip.width_m;
        let mut add = |m: usize, value: f64| {
            couples.add(ALONG, m, Vec3::zeros(), axis * (size * value));
        };
        for m in (0..motions).filter(|m| *m != ALONG && *m != UP) {
            add(m, change(m) / cos);
        }
        let here = state.flow.readings[k].cm
            - section.thin_moment(&deflections)
            - (6..motions).map(|m| change(m) * motion_of(m, &inputs)).sum::<f64>();
        let per_alpha = change(UP) * cos - change(ALONG) * sin;
        let tan = sin / cos;
        let up = per_alpha + 2.0 * here * tan;
        add(UP, up);
        add(ALONG, here / (cos * cos) - up * tan);
    }
    let effectiveness = (0..reduced.flaps)
        .map(|flap| {
            let (mut weight, mut sum) = (0.0, 0.0);
            for (i, strip) in lattice.strips.iter().enumerate() {
                let motion = Lattice::flap_motion(flap, strip.left);
                if let Some((f, cl, _)) = flap_effects[i][motion]
                    && f.in_table
                {
                    let area = strip.chord_m * strip.width_m;
                    weight += area;
                    sum += area * cl / (2.0 * PI * f.effectiveness);
                }
            }
            (weight > 0.0).then(|| sum / weight)
        })
        .collect();
    Some(Linear { panels, couples, effectiveness })
}

/// Deflection of the flap that a motion is.
fn motion_of(motion: usize, inputs: &[f64]) -> f64 {
    inputs.get(INPUTS + (motion - 6) / 2).copied().unwrap_or(0.0)
}
