//! The derivatives of roll and yaw: sideslip, roll rate and yaw rate, by aileron and rudder, with the bank as measured.

use nalgebra::{Matrix2, Vector2};
use numerics::fit::NoFit;
use numerics::statistics::mean;
use numerics::units::G_M_S2;

use super::{Fitted, Flown, from_rest};
use crate::equation_error::{Balance, solve};
use crate::excitation::{lagged, whole};
use crate::output_error::{self, Between, Problem, Stretch, System};

/// In the order of the parameters.
const SYMBOLS: [&str; 12] =
    ["CYb", "CYdr", "Clb", "Clp", "Clr", "Clda", "Cldr", "Cnb", "Cnp", "Cnr", "Cnda", "Cndr"];
/// Places of Clr and Cnp among them, which stay as predicted.
const TOGETHER: [usize; 2] = [4, 8];
const HIGHEST_HZ: f64 = 5.0;
/// Least movement of a surface, rad, for what it does to be told.
const LEAST_MOVED_RAD: f64 = 0.01;

/// What an input's coefficients are scaled by.
struct Scale {
    /// Side force over mass, m/s².
    force: f64,
    /// Roll and yaw acceleration by rolling and yawing moment coefficients, 1/s².
    moments: Matrix2<f64>,
    /// Half-span over speed, s.
    half: f64,
    speed: f64,
    /// Angle of attack, rad.
    alpha: f64,
    /// Side force coefficients that stay as predicted: by roll rate, yaw rate, aileron.
    side: [f64; 3],
}

pub(super) fn fit(flown: &Flown<'_>) -> Result<Fitted, NoFit> {
    let s = flown.signals;
    let model = flown.model;
    let (a, d) = (&model.aerodynamics, &model.aerodynamics.derivatives);
    let i = &model.inertia_kg_m2;
    let inertia = Matrix2::new(i[(0, 0)], i[(0, 2)], i[(2, 0)], i[(2, 2)]);
    let inverse = inertia.try_inverse().ok_or(NoFit::NotObservable)?;
    let density = flown.density_kg_m3;
    let mut stretches = Vec::new();
    let mut scales = Vec::new();
    for e in &flown.inputs {
        let of = |list: Option<&Vec<f64>>| whole(list, &e.places).ok_or(NoFit::NotANumber);
        let (p, r) = (of(s.rates[0].as_ref())?, of(s.rates[2].as_ref())?);
        let side = of(s.forces[1].as_ref())?;
        let bank: Vec<f64> = of(s.angles[0].as_ref())?.iter().map(|b| b.sin()).collect();
        let surface = |axis: usize| -> Result<Vec<f64>, NoFit> {
            let demand = of(s.demands[axis].as_ref())?;
            Ok(from_rest(&lagged(&demand, s.step_s, flown.servo_s[axis])).iter().map(|v| -v).collect())
        };
        let v = e.airspeed_m_s;
        let pressure_area = 0.5 * density * v * v * a.area_m2;
        // What the path climbs is small beside what the attitude shows over so short a time.
        let alpha = of(s.angles[1].as_ref()).map_or(0.05, |t| mean(&t)).clamp(-0.15, 0.25);
        scales.push(Scale {
            force: pressure_area / model.mass_kg,
            moments: inverse * (pressure_area * a.span_m),
            half: 0.5 * a.span_m / v,
            speed: v,
            alpha,
            side: [d.CYp, d.CYr, d.CYda],
        });
        stretches.push(Stretch {
            step_s: s.step_s,
            inputs: vec![surface(0)?, surface(2)?, bank],
            outputs: vec![p, r, side],
            between: Between::Straight,
        });
    }
    let moved = |input: usize| {
        stretches.iter().flat_map(|s| &s.inputs[input]).fold(0.0_f64, |m, v| m.max(v.abs())) > LEAST_MOVED_RAD
    };
    let (aileron, rudder) = (moved(0), moved(1));
    let predicted = [d.CYb, d.CYdr, d.Clb, d.Clp, d.Clr, d.Clda, d.Cldr, d.Cnb, d.Cnp, d.Cnr, d.Cnda, d.Cndr];
    let first = first_answer(&stretches, &scales, &inertia, &predicted);
    let full: Vec<f64> = first
        .iter()
        .zip(predicted)
        .enumerate()
        .map(|(k, (f, p))| {
            f.filter(|_| !TOGETHER.contains(&k))
                .filter(|f| f.is_finite() && f.signum() == p.signum() && (0.2..5.0).contains(&(f / p)))
                .unwrap_or(p)
        })
        .collect();
    // What no surface moved stays as predicted, and is not told.
    let free: Vec<usize> = (0..12)
        .filter(|k| match k {
            // In such short inputs roll and yaw go together, and what one does to the other is not told apart.
            k if TOGETHER.contains(k) => false,
            1 | 6 | 11 => rudder,
            5 | 10 => aileron,
            _ => true,
        })
        .collect();
    let start: Vec<f64> = free.iter().map(|k| full[*k]).collect();
    let steps: Vec<f64> = start.iter().map(|p| 0.01 * p.abs().max(0.01)).collect();
    let delays = [flown.delay_s[0], flown.delay_s[2]];
    let system = |some: &[f64], at: usize| {
        let mut p = full.clone();
        for (k, v) in free.iter().zip(some) {
            p[*k] = *v;
        }
        system(&p, &scales[at], delays)
    };
    let estimate =
        output_error::fit(&Problem { stretches: &stretches, system: &system, start, steps, drift: 1 })?;
    let deg = 1f64.to_degrees();
    let names = [("roll rate", deg), ("yaw rate", deg), ("force along y", 1.0)];
    let outputs = names
        .iter()
        .enumerate()
        .map(|(o, (name, unit))| {
            let of = |list: &[f64]| list.iter().map(|v| v * unit).collect::<Vec<f64>>();
            (
                *name,
                stretches.iter().map(|s| of(&s.outputs[o])).collect(),
                estimate.fitted.iter().map(|f| of(&f[o])).collect(),
            )
        })
        .collect();
    Ok(Fitted {
        numbers: free
            .iter()
            .enumerate()
            .map(|(j, k)| {
                (
                    SYMBOLS[*k],
                    estimate.parameters[j],
                    estimate.cautious_sd(j),
                    estimate.white_sd(j),
                    first[*k],
                )
            })
            .collect(),
        against: (!rudder).then(|| {
            "no rudder was moved, so that roll and yaw went together all the time and one is not told from the other"
                .to_owned()
        }),
        explained: names.iter().zip(&estimate.explained).map(|((name, _), e)| (*name, *e)).collect(),
        outputs,
    })
}

/// States sideslip, roll rate, yaw rate; inputs aileron, rudder, sine of the bank; outputs roll rate, yaw rate, side
/// force.
fn system(p: &[f64], scale: &Scale, delay_s: [f64; 2]) -> System {
    let mut s = System::empty(3);
    s.a[(0, 0)] = scale.force * p[0] / scale.speed;
    s.a[(0, 1)] = scale.alpha.sin();
    s.a[(0, 2)] = -scale.alpha.cos();
    s.b[(0, 1)] = scale.force * p[1] / scale.speed;
    s.b[(0, 2)] = G_M_S2 * scale.alpha.cos() / scale.speed;
    let columns: [Vector2<f64>; 5] = [
        Vector2::new(p[2], p[7]),
        Vector2::new(p[3], p[8]) * scale.half,
        Vector2::new(p[4], p[9]) * scale.half,
        Vector2::new(p[5], p[10]),
        Vector2::new(p[6], p[11]),
    ];
    for (k, column) in columns.into_iter().enumerate() {
        let turning = scale.moments * column;
        for (row, value) in [turning.x, turning.y].into_iter().enumerate() {
            if k < 3 {
                s.a[(row + 1, k)] = value;
            } else {
                s.b[(row + 1, k - 3)] = value;
            }
        }
    }
    s.c[(0, 1)] = 1.0;
    s.c[(1, 2)] = 1.0;
    s.c[(2, 0)] = scale.force * p[0];
    s.d[(2, 1)] = scale.force * p[1];
    let [by_roll, by_yaw] = [scale.side[0], scale.side[1]].map(|c| scale.force * scale.half * c);
    let by_aileron = scale.force * scale.side[2];
    s.a[(0, 1)] += by_roll / scale.speed;
    s.a[(0, 2)] += by_yaw / scale.speed;
    s.b[(0, 0)] = by_aileron / scale.speed;
    s.c[(2, 1)] = by_roll;
    s.c[(2, 2)] = by_yaw;
    s.d[(2, 0)] = by_aileron;
    s.delay_s = [delay_s[0], delay_s[1], 0.0, 0.0];
    s
}

/// Equation error: side force for its derivative by slip, then the two moments with slip taken from the side force.
fn first_answer(
    stretches: &[Stretch],
    scales: &[Scale],
    inertia: &Matrix2<f64>,
    predicted: &[f64; 12],
) -> [Option<f64>; 12] {
    let mut first = [None; 12];
    let side: Vec<Balance> = stretches
        .iter()
        .zip(scales)
        .map(|(s, scale)| Balance {
            step_s: s.step_s,
            signal: s.outputs[2].iter().map(|y| y / scale.force).collect(),
            known: None,
            regressors: vec![
                (0..s.outputs[0].len())
                    .map(|i| {
                        (s.outputs[2][i] + G_M_S2 * s.inputs[2][i]) / scale.speed - s.outputs[1][i]
                            + scale.alpha * s.outputs[0][i]
                    })
                    .collect(),
            ],
        })
        .collect();
    first[0] = solve(&side, 0.5 * HIGHEST_HZ).ok().map(|f| f.parameters[0]);
    let by_slip = first[0].filter(|c| *c < 0.0).unwrap_or(predicted[0]);
    for (row, places) in [(0, [2, 3, 4, 5, 6]), (1, [7, 8, 9, 10, 11])] {
        let balances: Vec<Balance> = stretches
            .iter()
            .zip(scales)
            .map(|(s, scale)| {
                // Moment coefficient: inertia times turning, over what a coefficient of one gives.
                let unit = (inertia * scale.moments)[(0, 0)];
                let moment: Vec<f64> = s.outputs[0]
                    .iter()
                    .zip(&s.outputs[1])
                    .map(|(p, r)| (inertia[(row, 0)] * p + inertia[(row, 1)] * r) / unit)
                    .collect();
                let slip: Vec<f64> = s.outputs[2]
                    .iter()
                    .zip(&s.inputs[1])
                    .map(|(y, rudder)| (y / scale.force - predicted[1] * rudder) / by_slip)
                    .collect();
                let rate = |o: usize| s.outputs[o].iter().map(|v| v * scale.half).collect::<Vec<f64>>();
                let mut regressors = vec![slip, rate(0), rate(1)];
                for input in [0, 1] {
                    if s.inputs[input].iter().any(|v| v.abs() > LEAST_MOVED_RAD)
                        || stretches.iter().any(|s| s.inputs[input].iter().any(|v| v.abs() > LEAST_MOVED_RAD))
                    {
                        regressors.push(s.inputs[input].clone());
                    }
                }
                Balance { step_s: s.step_s, signal: moment, known: None, regressors }
            })
            .collect();
        let used = balances.first().map_or(0, |b| b.regressors.len());
        if used == 5
            && let Ok(found) = solve(&balances, HIGHEST_HZ)
        {
            for (place, value) in places.into_iter().zip(&found.parameters) {
                first[place] = Some(*value);
            }
        }
    }
    first
}
