//! The derivatives of pitch: angle of attack and pitch rate at constant speed, by elevator.

use numerics::fit::NoFit;
use numerics::units::G_M_S2;

use super::{Fitted, Flown, from_rest};
use crate::equation_error::{Balance, solve};
use crate::excitation::{along_the_path, lagged, whole};
use crate::output_error::{self, Between, Problem, Stretch, System};

const SYMBOLS: [&str; 5] = ["CLa", "CLde", "Cma", "Cmq", "Cmde"];
/// Harmonics above this hold noise more than motion, Hz.
const HIGHEST_HZ: f64 = 5.0;

pub(super) fn fit(flown: &Flown<'_>) -> Result<Fitted, NoFit> {
    let s = flown.signals;
    let model = flown.model;
    let (a, d) = (&model.aerodynamics, &model.aerodynamics.derivatives);
    let (mass, inertia) = (model.mass_kg, model.inertia_kg_m2[(1, 1)]);
    let density = flown.density_kg_m3;
    let mut stretches = Vec::new();
    let (mut lifts, mut moments) = (Vec::new(), Vec::new());
    // Force over mass, moment over inertia for a coefficient of one, half-chord over speed; by input.
    let mut scales = Vec::new();
    for e in &flown.inputs {
        let of = |list: Option<&Vec<f64>>| whole(list, &e.places).ok_or(NoFit::NotANumber);
        let rate = of(s.rates[1].as_ref())?;
        let path = along_the_path(s, &e.places, e.airspeed_m_s);
        let force = path.across.ok_or(NoFit::NotANumber)?;
        // Elevator: against the demand.
        let demand = of(s.demands[1].as_ref())?;
        let elevator: Vec<f64> =
            from_rest(&lagged(&demand, s.step_s, flown.servo_s[1])).iter().map(|v| -v).collect();
        let v = e.airspeed_m_s;
        let pressure_area = 0.5 * density * v * v * a.area_m2;
        let scale =
            [pressure_area / mass, pressure_area * a.mean_chord_m / inertia, 0.5 * a.mean_chord_m / v, v];
        let [by_force, by_moment, half, _] = scale;
        let alpha_rate: Vec<f64> = rate.iter().zip(&force).map(|(q, f)| half * (q + f / v)).collect();
        let lift: Vec<f64> = (0..rate.len())
            .map(|i| -force[i] / by_force - d.CLq * half * rate[i] - d.CLde * elevator[i])
            .collect();
        let turning: Vec<f64> = rate.iter().zip(&force).map(|(q, f)| q + f / v).collect();
        lifts.push(Balance {
            step_s: s.step_s,
            signal: force.iter().map(|f| -f / by_force).collect(),
            known: None,
            regressors: vec![turning],
        });
        moments.push(Balance {
            step_s: s.step_s,
            signal: rate.iter().map(|q| q / by_moment).collect(),
            // What a rate of the angle of attack adds is as predicted.
            known: Some(alpha_rate.iter().map(|a| -d.Cm_alphadot * a).collect()),
            // Angle of attack times CLa is what the force tells.
            regressors: vec![lift, rate.iter().map(|q| q * half).collect(), elevator.clone()],
        });
        scales.push(scale);
        stretches.push(Stretch {
            step_s: s.step_s,
            inputs: vec![elevator, path.faster],
            outputs: vec![rate, force],
            between: Between::Straight,
        });
    }
    let drag = a.cd0;
    let lift = solve(&lifts, 0.5 * HIGHEST_HZ).ok().map(|f| f.parameters[0] - drag);
    let moment = solve(&moments, HIGHEST_HZ).ok().map(|f| f.parameters);
    let first = [
        lift,
        None,
        moment.as_ref().zip(lift).map(|(m, l)| m[0] * (l + drag)),
        moment.as_ref().map(|m| m[1]),
        moment.as_ref().map(|m| m[2]),
    ];
    let predicted = [d.CLa, d.CLde, d.Cma, d.Cmq, d.Cmde];
    let start: Vec<f64> = first
        .iter()
        .zip(predicted)
        .map(|(f, p)| {
            f.filter(|f| f.is_finite() && f.signum() == p.signum() && (0.2..5.0).contains(&(f / p)))
                .unwrap_or(p)
        })
        .collect();
    let steps: Vec<f64> = start.iter().map(|p| 0.01 * p.abs().max(0.05)).collect();
    let delay_s = flown.delay_s[1];
    let system = |p: &[f64], at: usize| {
        let [by_force, by_moment, half, v] = scales[at];
        let mut s = System::empty(2);
        s.a[(0, 0)] = -by_force * (p[0] + drag) / v;
        s.a[(0, 1)] = 1.0 - by_force * d.CLq * half / v;
        s.b[(0, 0)] = -by_force * p[1] / v;
        s.b[(0, 1)] = -2.0 * G_M_S2 / (v * v);
        // What a rate of the angle of attack adds to the moment is as predicted.
        let lag = by_moment * d.Cm_alphadot * half;
        s.a[(1, 0)] = by_moment * p[2] + lag * s.a[(0, 0)];
        s.a[(1, 1)] = by_moment * p[3] * half + lag * s.a[(0, 1)];
        s.b[(1, 0)] = by_moment * p[4] + lag * s.b[(0, 0)];
        s.b[(1, 1)] = lag * s.b[(0, 1)];
        s.c[(0, 1)] = 1.0;
        s.c[(1, 0)] = -by_force * (p[0] + drag);
        s.c[(1, 1)] = -by_force * d.CLq * half;
        s.d[(1, 0)] = -by_force * p[1];
        s.delay_s[0] = delay_s;
        s
    };
    let estimate =
        output_error::fit(&Problem { stretches: &stretches, system: &system, start, steps, drift: 1 })?;
    let outputs = [("pitch rate", 0, 1f64.to_degrees()), ("force across the path", 1, 1.0)]
        .map(|(name, o, unit)| {
            let of = |list: &[f64]| list.iter().map(|v| v * unit).collect::<Vec<f64>>();
            (
                name,
                stretches.iter().map(|s| of(&s.outputs[o])).collect(),
                estimate.fitted.iter().map(|f| of(&f[o])).collect(),
            )
        })
        .to_vec();
    Ok(Fitted {
        numbers: SYMBOLS
            .iter()
            .enumerate()
            .map(|(i, s)| {
                (*s, estimate.parameters[i], estimate.cautious_sd(i), estimate.white_sd(i), first[i])
            })
            .collect(),
        against: None,
        explained: vec![
            ("pitch rate", estimate.explained[0]),
            ("force across the path", estimate.explained[1]),
        ],
        outputs,
    })
}
