//! What does a run of states say of the stall? The greatest lift, where on the span it begins, and what is in it.

use aircraft::Known;
use aircraft::surface::Role;

use super::{Coupling, LiftCurve, Place, State};

/// Relative doubt of the coupling itself at the greatest lift: flow along the span, junctions, what separated flow of one
/// strip does to the next (judgement, no source).
const METHOD_SD: f64 = 0.05;

impl Coupling {
    pub(super) fn read_curve(&self, states: Vec<State>, peak: usize, side: f64, at_stop: bool) -> LiftCurve {
        let top = &states[peak];
        let reynolds = self.reynolds(top.speed_m_s);
        let deflections = self.deflections(top);
        let both: Vec<Option<[f64; 2]>> = self
            .reduced
            .sheets
            .iter()
            .zip(&reynolds)
            .map(|(sheet, re)| sheet.section.stall_angles(*re, &deflections))
            .collect();
        let limits: Vec<Option<f64>> =
            both.iter().map(|b| b.map(|[high, low]| if side > 0.0 { high } else { low })).collect();
        let lifts = |role: Role| matches!(role, Role::Wing | Role::Foreplane);
        let beyond = |state: &State, k: usize| {
            limits[k].map_or(f64::NEG_INFINITY, |limit| side * (state.flow.angles[k] - limit))
        };
        // First strip past its section's greatest lift, and the angle between two states at which it got there.
        let mut first_stall = None;
        let mut first_sheet = None;
        'states: for (i, state) in states.iter().enumerate() {
            let furthest = (0..self.reduced.sheets.len())
                .filter(|k| lifts(self.reduced.sheets[*k].role))
                .map(|k| (k, beyond(state, k)))
                .max_by(|a, b| a.1.total_cmp(&b.1));
            if let Some((k, past)) = furthest
                && past > 0.0
            {
                let sheet = &self.reduced.sheets[k];
                let alpha_rad =
                    i.checked_sub(1).and_then(|i| states.get(i)).map_or(state.alpha_rad, |before| {
                        let earlier = beyond(before, k);
                        let share = (-earlier / (past - earlier)).clamp(0.0, 1.0);
                        before.alpha_rad + share * (state.alpha_rad - before.alpha_rad)
                    });
                first_sheet = Some(k);
                first_stall = Some(Place {
                    surface: self.names.get(sheet.surface).cloned().unwrap_or_default(),
                    along_m: sheet.along_m,
                    half_span_share: sheet.quarter_m.y.abs() / self.half_span_m,
                    section_lift: sheet.section.read(limits[k].unwrap_or(0.0), reynolds[k], &deflections).cl,
                    alpha_rad,
                });
                break 'states;
            }
        }
        let past = states.get(peak + 1).unwrap_or(top);
        let share = |among: &dyn Fn(usize) -> bool| {
            let (mut all, mut stalled) = (0.0, 0.0);
            for (k, sheet) in self.reduced.sheets.iter().enumerate() {
                if among(k) {
                    all += sheet.area_m2();
                    if beyond(past, k) > 0.0 {
                        stalled += sheet.area_m2();
                    }
                }
            }
            (all > 0.0).then(|| stalled / all)
        };
        let on_wing = |k: usize| self.reduced.sheets[k].role == Role::Wing;
        let with_aileron = |k: usize| {
            on_wing(k) && self.reduced.sheets[k].section.flaps.iter().any(|f| self.ailerons.contains(&f.flap))
        };
        let tail_stalled = states.iter().take(peak + 1).any(|state| {
            (0..self.reduced.sheets.len()).any(|k| {
                let sheet = &self.reduced.sheets[k];
                matches!(sheet.role, Role::Tailplane | Role::VTail)
                    && both[k]
                        .is_some_and(|[high, low]| state.flow.angles[k] > high || state.flow.angles[k] < low)
            })
        });
        // The peak between three states, by the parabola through them.
        let (mut cl, mut alpha) = (top.cl, top.alpha_rad);
        if let (Some(a), Some(b)) = (peak.checked_sub(1).and_then(|i| states.get(i)), states.get(peak + 1))
            && a.converged
            && b.converged
            && !at_stop
        {
            let bend = a.cl - 2.0 * top.cl + b.cl;
            if side * bend < 0.0 {
                let shift = (0.5 * (a.cl - b.cl) / bend).clamp(-0.5, 0.5);
                alpha += shift * (b.alpha_rad - top.alpha_rad);
                cl -= 0.125 * (a.cl - b.cl).powi(2) / bend;
            }
        }
        let (mut weight, mut doubt) = (0.0, 0.0);
        for (k, sheet) in self.reduced.sheets.iter().enumerate().filter(|(k, _)| on_wing(*k)) {
            if let Some((sd, _)) = sheet.section.doubt(top.flow.angles[k], reynolds[k], &deflections) {
                weight += sheet.area_m2();
                doubt += sheet.area_m2() * sd;
            }
        }
        let sd = if weight > 0.0 { doubt / weight } else { 0.0 };
        LiftCurve {
            cl_max: Known::predicted(cl, sd.hypot(METHOD_SD * cl)),
            alpha_at_max_rad: alpha,
            elevator_at_max_rad: top.elevator_rad,
            trimmed_at_max: top.trimmed && !at_stop,
            first_stall,
            stalled_share: share(&on_wing).unwrap_or(0.0),
            aileron_share: share(&with_aileron),
            starts_at_aileron: first_sheet.is_some_and(with_aileron),
            tail_stalled,
            unsettled: states.iter().filter(|s| !s.converged).count(),
            states,
        }
    }
}
