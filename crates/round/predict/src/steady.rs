//! Stability, trim and glide in the form of the prediction, and what the coupled stall and the ground change in them.

use aircraft::control::{Axis, axis_throw_rad};
use aircraft::mass::Balance;
use aircraft::surface::Role;
use aircraft::{Aircraft, Known, Origin};

use crate::adopted::Adopted;
use crate::balance_range::{self, FLARE_SHARE, FLARE_SPEED, FurtherAft, forward_shift_m};
use crate::control::CONTROL_SD;
use crate::lattice::Solved;
use crate::performance::{Doubts, Flying, with_doubt};
use crate::prediction::{NotPredicted, Outcome, Polar, Speeds, Stability};
use crate::prepared::Prepared;

/// Doubt of the computed neutral point, over the mean chord: what bodies, gaps and the tail's wake leave open
/// (judgement, no source).
const NEUTRAL_POINT_SD: f64 = 0.025;
/// The same of an aircraft without tailplane or foreplane: no downwash and no wake is in it. The lattice alone is off by
/// 0.5 % of the chord on published wings (`lattice/planforms`); sections at low Reynolds numbers move the lift along the
/// chord by more (judgement, no source).
const TAILLESS_SD: f64 = 0.015;
/// Doubt of the computed pitching moment at zero lift (as above).
pub(crate) const CM0_SD: f64 = 0.01;

/// How much further aft the forward limits lie than the straight lines of `flying` say, by the coupled aircraft with its
/// elevator up and by the ground.
pub(crate) fn further_aft(
    prepared: &Prepared,
    aircraft: &Aircraft,
    solved: &Solved,
    flying: &Flying,
    up_rad: Option<f64>,
) -> FurtherAft {
    let Some(up) = up_rad.filter(|up| *up > 0.0 && flying.aerodynamics.derivatives.Cmde < 0.0) else {
        return FurtherAft::default();
    };
    // As strong as flights have shown the elevator to be.
    let felt = aircraft.flown.control_factor[1].map_or(1.0, |f| f.value);
    let most = solved.aerodynamics.cl_max;
    let flare = most / FLARE_SPEED.powi(2);
    let (mut stall_m, mut flare_m) = (0.0, 0.0);
    if let Some(coupled) = &solved.coupled {
        let c = &coupled.coupling;
        if let Some(held) = c.held_at_stall(&coupled.clean, up * felt) {
            stall_m = held.shift_m - forward_shift_m(flying, most, up);
        }
        if let Some(held) = c.held_at_lift(&coupled.clean, flare, FLARE_SHARE * up * felt) {
            flare_m = held.shift_m - forward_shift_m(flying, flare, FLARE_SHARE * up);
        }
    }
    let ground_m =
        prepared.ground.as_ref().and_then(|g| g.further_aft_m(aircraft, flare, -FLARE_SHARE * up * felt));
    FurtherAft { stall_m, flare_m: flare_m + ground_m.unwrap_or(0.0), ground_m }
}

/// What is left of the elevator at the stall (rad) beyond what straight lines leave: by the coupled state at the greatest
/// lift. Where the elevator's stop came first nothing is left. Zero where a measured stall speed decides.
pub(crate) fn left_at_stall_rad(
    aircraft: &Aircraft,
    solved: &Solved,
    flying: &Flying,
    up_rad: Option<f64>,
) -> f64 {
    let (Some(coupled), Some(up), None) = (&solved.coupled, up_rad, aircraft.limits.stall_m_s) else {
        return 0.0;
    };
    let Some(straight) = flying.trim(flying.aerodynamics.cl_max, 0.0).1 else {
        return 0.0;
    };
    let felt = aircraft.flown.control_factor[1].map_or(1.0, |f| f.value);
    if coupled.clean.trimmed_at_max {
        coupled.clean.elevator_at_max_rad / felt - straight
    } else {
        // At the stop, or beyond it by straight lines.
        (-up - straight).min(0.0)
    }
}

pub(crate) fn stability(
    aircraft: &Aircraft,
    flying: &Flying,
    balance: &Balance,
    neutral_point_x_m: f64,
    up_rad: Option<f64>,
    further: &FurtherAft,
    remarks: &mut Vec<String>,
) -> Stability {
    let chord = flying.aerodynamics.mean_chord_m;
    let tailed =
        |s: &aircraft::surface::Surface| matches!(s.role, Role::Tailplane | Role::VTail | Role::Foreplane);
    let tailed = aircraft.surfaces.iter().any(tailed);
    let neutral_sd = if tailed { NEUTRAL_POINT_SD } else { TAILLESS_SD } * chord;
    let margin = 100.0 * (neutral_point_x_m - balance.cg_m.x) / chord;
    let static_margin_percent = Known {
        value: margin,
        sd: 100.0 * neutral_sd.hypot(balance.cg_x_m.sd) / chord,
        from: Origin::Predicted,
    };
    let forward = balance_range::forward_limit_x_m(flying, balance.cg_m.x, up_rad, further);
    let (range_x_m, first_flight_range_x_m) = balance_range::ranges_x_m(&forward, neutral_point_x_m, chord);
    if let Ok(range) = first_flight_range_x_m.as_ref().or(range_x_m.as_ref()) {
        remarks.extend(balance_range::advice(aircraft, balance, *range));
    }
    remarks.push(format!(
        "The balance limits are known to ± {:.0} mm (two standard deviations: neutral point {:.0} mm, balance point {:.0} mm, one each).",
        2e3 * neutral_sd.hypot(balance.cg_x_m.sd),
        1e3 * neutral_sd,
        1e3 * balance.cg_x_m.sd
    ));
    if margin < 0.0 {
        remarks.push(format!(
            "The balance point lies {:.0} mm aft of the neutral point: as described the aircraft is unstable in pitch. Move the balance point forward before any flight.",
            (balance.cg_m.x - neutral_point_x_m) * 1e3
        ));
    }
    Stability {
        neutral_point_x_m: Known::predicted(neutral_point_x_m, neutral_sd),
        static_margin_percent,
        range_x_m,
        first_flight_range_x_m,
    }
}

pub(crate) fn cruise_elevator(
    aircraft: &Aircraft,
    flying: &Flying,
    elevator_rad: Option<f64>,
    cl: f64,
    stability: &Stability,
) -> Outcome<Known> {
    let missing = || NotPredicted::Missing {
        what: "a [[movable]] with a share of pitch in its mix: nothing trims the aircraft".to_owned(),
    };
    let elevator = elevator_rad.ok_or_else(missing)?;
    let throw = axis_throw_rad(aircraft, Axis::Pitch).ok_or_else(missing)?;
    if elevator < -throw.positive_demand_rad || elevator > throw.negative_demand_rad {
        return Err(NotPredicted::NoSolution {
            why: format!(
                "level flight at cruise takes {:.1}° of elevator, the throw is {:.1}° up and {:.1}° down",
                elevator.to_degrees(),
                throw.positive_demand_rad.to_degrees(),
                throw.negative_demand_rad.to_degrees()
            ),
        });
    }
    let power = flying.aerodynamics.derivatives.Cmde;
    let moment = CM0_SD.hypot(cl * stability.static_margin_percent.sd / 100.0);
    Ok(Known::predicted(elevator, (moment / power).hypot(elevator * CONTROL_SD)))
}

pub(crate) fn polar(
    flying: &Flying,
    adopted: &Adopted,
    doubts: &Doubts,
    span_efficiency: f64,
    speeds: &Speeds,
) -> Polar {
    const ROWS: u32 = 16;
    let stall = flying.stall_m_s();
    let fastest = speeds.top_m_s.as_ref().map_or(3.0 * stall, |top| top.value.max(1.5 * stall));
    Polar {
        span_efficiency,
        best_glide_ratio: adopted.drag_known(with_doubt(flying, doubts, |f| {
            let best = f.best_glide();
            best.cl / best.cd
        })),
        least_sink_m_s: adopted.drag_known(with_doubt(flying, doubts, |f| f.least_sink().sink_m_s)),
        rows: (0..ROWS)
            .map(|i| {
                let at = flying.at(stall + (fastest - stall) * f64::from(i) / f64::from(ROWS - 1), 1.0);
                [at.speed_m_s, at.cl, at.cd, at.sink_m_s, at.elevator_rad.unwrap_or(0.0)]
            })
            .collect(),
    }
}
