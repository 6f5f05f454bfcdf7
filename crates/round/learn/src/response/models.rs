//! Which linear model stands for an axis, and which parameters fit it best?

use numerics::fit::NoFit;
use numerics::statistics::mean;
use numerics::units::G_M_S2;
use predict::gains;

use super::From;
use crate::equation_error::{Balance, solve};
use crate::excitation::{Excited, Signals, along_the_path, lagged, whole};
use crate::output_error::{Between, Estimate, Problem, Stretch, System, fit};

/// Frequencies above this hold noise more than answer, Hz.
const HIGHEST_HZ: f64 = 5.0;

/// What an axis is fitted from.
pub(super) struct Measured<'a> {
    pub(super) from: &'a From<'a>,
    pub(super) axis: usize,
    pub(super) servo_s: f64,
    pub(super) reference_m_s: f64,
}

/// What came of it: parameters begin with steady rate (1/s), the logarithm of the time constant, and delay (s).
pub(super) struct Fitted {
    pub(super) estimate: Estimate,
    pub(super) model: gains::Response,
    pub(super) speed_known: bool,
}

impl Measured<'_> {
    fn signals(&self) -> &Signals {
        self.from.signals
    }

    fn demand(&self, axis: usize, e: &Excited) -> Option<Vec<f64>> {
        let list = whole(self.signals().demands[axis].as_ref(), &e.places)?;
        Some(centred(&lagged(&list, self.signals().step_s, self.servo_s)))
    }

    /// Yaw acceleration by roll rate at the reference speed, 1/s, as predicted.
    fn yaw_by_rolling(&self) -> Option<f64> {
        let v = self.reference_m_s;
        let (model, density) = self.from.model?;
        let (a, d) = (&model.aerodynamics, &model.aerodynamics.derivatives);
        let i = &model.inertia_kg_m2;
        let inertia = nalgebra::Matrix2::new(i[(0, 0)], i[(0, 2)], i[(2, 0)], i[(2, 2)]).try_inverse()?;
        let unit = 0.5 * density * v * v * a.area_m2 * a.span_m * 0.5 * a.span_m / v;
        Some(unit * (inertia * nalgebra::Vector2::new(d.Clp, d.Cnp)).y)
    }

    /// Steady yaw rate by deflection (1/s), its time constant (s) and the weathercock (1/s²) at the reference speed, as
    /// predicted.
    fn predicted_yaw(&self) -> Option<[f64; 3]> {
        let v = self.reference_m_s;
        let (model, density) = self.from.model?;
        let (a, d) = (&model.aerodynamics, &model.aerodynamics.derivatives);
        let turning = 0.5 * density * v * v * a.area_m2 * a.span_m / model.inertia_kg_m2[(2, 2)];
        let damping = -turning * d.Cnr * 0.5 * a.span_m / v;
        (damping > 0.0 && d.Cndr != 0.0)
            .then(|| [-turning * d.Cndr / damping, 1.0 / damping, turning * d.Cnb])
    }

    /// Steady roll rate by deflection (1/s) and its time constant (s) at the reference speed, as predicted.
    fn predicted_roll(&self) -> Option<[f64; 2]> {
        let v = self.reference_m_s;
        let (model, density) = self.from.model?;
        let (a, d) = (&model.aerodynamics, &model.aerodynamics.derivatives);
        let turning = 0.5 * density * v * v * a.area_m2 * a.span_m / model.inertia_kg_m2[(0, 0)];
        let damping = -turning * d.Clp * 0.5 * a.span_m / v;
        (damping > 0.0).then(|| [-turning * d.Clda / damping, 1.0 / damping])
    }

    /// At the reference speed: roll acceleration by sideslip (1/s²) and by yaw rate (1/s), and how fast side force takes
    /// sideslip away (1/s), as predicted; common sizes where nothing is (dihedral of a few degrees; judgment without a
    /// source).
    fn roll_beside(&self) -> [f64; 3] {
        let v = self.reference_m_s;
        self.from.model.map_or([-2.0 * v, 0.1 * v, 0.03 * v], |(model, density)| {
            let (a, d) = (&model.aerodynamics, &model.aerodynamics.derivatives);
            let pressure_area = 0.5 * density * v * v * a.area_m2;
            let turning = pressure_area * a.span_m / model.inertia_kg_m2[(0, 0)];
            [
                turning * d.Clb,
                turning * d.Clr * 0.5 * a.span_m / v,
                -pressure_area * d.CYb / (model.mass_kg * v),
            ]
        })
    }

    /// Side force over mass by roll and yaw rate at a speed, m/s² for each rad/s, as predicted; nothing where nothing is.
    fn side_force_by_turning(&self, speed_m_s: f64) -> [f64; 2] {
        self.from.model.map_or([0.0; 2], |(model, density)| {
            let (a, d) = (&model.aerodynamics, &model.aerodynamics.derivatives);
            let unit = 0.25 * density * speed_m_s * a.area_m2 * a.span_m / model.mass_kg;
            [unit * d.CYp, unit * d.CYr]
        })
    }

    /// Share of the pitch rate that its own lift takes off the rate of the angle of attack, as predicted.
    fn lift_by_turning(&self) -> f64 {
        self.from.model.map_or(0.0, |(model, density)| {
            let a = &model.aerodynamics;
            0.25 * density * a.area_m2 * a.mean_chord_m * a.derivatives.CLq / model.mass_kg
        })
    }

    /// Airspeed of each input; the reference where it is not known.
    fn speeds(&self, inputs: &[Excited]) -> Vec<f64> {
        inputs
            .iter()
            .map(|e| {
                if e.airspeed_m_s.is_finite() && e.airspeed_m_s > 2.0 {
                    e.airspeed_m_s
                } else {
                    self.reference_m_s
                }
            })
            .collect()
    }
}

fn centred(list: &[f64]) -> Vec<f64> {
    let first = list.first().copied().unwrap_or(0.0);
    list.iter().map(|v| v - first).collect()
}

/// Fits the model of the axis to inputs.
pub(super) fn fit_axis(m: &Measured<'_>, inputs: &[Excited]) -> Result<Fitted, NoFit> {
    let speed_known = inputs.iter().all(|e| e.airspeed_m_s.is_finite());
    let (estimate, model) = match m.axis {
        0 => roll(m, inputs)?,
        1 => pitch(m, inputs)?,
        _ => yaw(m, inputs)?,
    };
    let p = &estimate.parameters;
    // Far outside what such an aircraft can do the search has run away.
    if !(p[0].is_finite() && (-7.0..2.5).contains(&p[1]) && (-0.2..0.6).contains(&p[2])) {
        return Err(NoFit::NotConverged);
    }
    Ok(Fitted { estimate, model, speed_known })
}

/// Equation error of a rate with the demand delayed as fits best: coefficients in the order of the regressors.
fn begin(step_s: f64, stretches: &[(Vec<f64>, Vec<f64>, Vec<Vec<f64>>)]) -> Option<(Vec<f64>, f64)> {
    let mut best: Option<(f64, Vec<f64>, f64)> = None;
    for lag in 0..=((0.1 / step_s) as usize) {
        let balances: Vec<Balance> = stretches
            .iter()
            .map(|(rate, demand, others)| {
                let late: Vec<f64> = (0..demand.len()).map(|i| demand[i.saturating_sub(lag)]).collect();
                let mut regressors = vec![rate.clone(), late];
                regressors.extend(others.iter().cloned());
                Balance { step_s, signal: rate.clone(), known: None, regressors }
            })
            .collect();
        if let Ok(found) = solve(&balances, HIGHEST_HZ)
            && best.as_ref().is_none_or(|(sd, ..)| found.residual_sd < *sd)
        {
            best = Some((found.residual_sd, found.parameters, lag as f64 * step_s));
        }
    }
    best.map(|(_, parameters, delay)| (parameters, delay))
}

/// Two states, sideslip and roll rate. Sideslip follows from yaw rate and bank as measured, which holds whether or not the
/// side force is large enough to be seen; what it does to the roll is fitted, what yaw rate does is as predicted.
fn roll(m: &Measured<'_>, inputs: &[Excited]) -> Result<(Estimate, gains::Response), NoFit> {
    let signals = m.signals();
    let speeds = m.speeds(inputs);
    let v0 = m.reference_m_s;
    let slips = inputs.iter().all(|e| whole(signals.rates[2].as_ref(), &e.places).is_some());
    let mut stretches = Vec::new();
    let mut parts = Vec::new();
    let mut leans = Vec::new();
    for e in inputs {
        let none = NoFit::NotANumber;
        let rate = whole(signals.rates[0].as_ref(), &e.places).ok_or(none)?;
        let demand = m.demand(0, e).ok_or(none)?;
        let mut all = vec![demand.clone()];
        if slips {
            let bank = whole(signals.angles[0].as_ref(), &e.places)
                .unwrap_or_else(|| summed(&rate, signals.step_s))
                .iter()
                .map(|b| b.sin())
                .collect();
            all.extend([whole(signals.rates[2].as_ref(), &e.places).ok_or(none)?, bank]);
        }
        let pitch = whole(signals.angles[1].as_ref(), &e.places).map_or(0.05, |p| mean(&p));
        leans.push(pitch.clamp(-0.2, 0.3));
        parts.push((rate.clone(), demand, Vec::new()));
        stretches.push(Stretch {
            step_s: signals.step_s,
            inputs: all,
            outputs: vec![rate],
            between: Between::Straight,
        });
    }
    let [by_slip, by_yaw, y_beta] = m.roll_beside();
    if slips {
        for ((part, stretch), (v, lean)) in parts.iter_mut().zip(&stretches).zip(speeds.iter().zip(&leans)) {
            let (p, r, bank) = (&stretch.outputs[0], &stretch.inputs[1], &stretch.inputs[2]);
            part.2.push(slip(signals.step_s, [p, r, bank], [*v, *lean, y_beta * v / v0]));
        }
    }
    let (guess, delay) = begin(signals.step_s, &parts).unwrap_or((vec![-8.0, 60.0, by_slip], 0.02));
    let tau = (-1.0 / guess[0].min(-1.0)).clamp(0.01, 1.0);
    let ratio = mean(&speeds) / v0;
    let k = guess[1] * tau / ratio;
    let mut start = vec![k, (tau * ratio).ln(), delay];
    let mut steps = vec![0.01 * k.abs().max(0.1), 0.01, 0.3 * signals.step_s];
    if slips {
        start.push(guess.get(2).copied().unwrap_or(by_slip) / ratio.powi(2));
        steps.push(0.02 * by_slip.abs().max(5.0));
    }
    let system = |p: &[f64], at: usize| {
        let (v, ratio) = (speeds[at], speeds[at] / v0);
        let tau = p[1].exp() / ratio;
        let mut s = System::empty(if slips { 2 } else { 1 });
        s.a[(0, 0)] = -1.0 / tau;
        s.b[(0, 0)] = p[0] * ratio / tau;
        if slips {
            s.a[(0, 1)] = p[3] * ratio * ratio;
            s.b[(0, 1)] = by_yaw * ratio;
            s.a[(1, 0)] = leans[at];
            s.a[(1, 1)] = -y_beta * ratio;
            s.b[(1, 1)] = -1.0;
            s.b[(1, 2)] = G_M_S2 / v;
        }
        s.c[(0, 0)] = 1.0;
        s.delay_s[0] = p[2];
        s
    };
    let problem = |start: Vec<f64>| Problem {
        stretches: &stretches,
        system: &system,
        start,
        steps: steps.clone(),
        drift: 0,
    };
    let estimate = better(
        fit(&problem(start)),
        m.predicted_roll().map(|[k, tau]| {
            let mut start = vec![k, tau.ln(), 0.02];
            if slips {
                start.push(by_slip);
            }
            fit(&problem(start))
        }),
    )?;
    let model = gains::Response::first_order(estimate.parameters[0], estimate.parameters[1].exp());
    Ok((estimate, model))
}

/// Sideslip from roll rate, yaw rate and sine of the bank, by summing up `β' = lean p - r + g/V sin(bank) - y β` from rest,
/// rad.
fn slip(step_s: f64, [p, r, bank]: [&[f64]; 3], [v, lean, y_beta]: [f64; 3]) -> Vec<f64> {
    let mut beta = 0.0;
    p.iter()
        .zip(r)
        .zip(bank)
        .map(|((p, r), bank)| {
            let before = beta;
            beta += step_s * (lean * p - r + G_M_S2 / v * bank - y_beta * beta);
            before
        })
        .collect()
}

/// The fit that leaves less, of two starts.
fn better(
    first: Result<Estimate, NoFit>,
    second: Option<Result<Estimate, NoFit>>,
) -> Result<Estimate, NoFit> {
    match (first, second) {
        (Ok(a), Some(Ok(b))) => Ok(if b.residual_sd[0] < a.residual_sd[0] { b } else { a }),
        (Err(_), Some(Ok(b))) => Ok(b),
        (a, _) => a,
    }
}

/// Sum of a list from its beginning, times the step.
fn summed(list: &[f64], step_s: f64) -> Vec<f64> {
    list.iter()
        .scan(0.0, |sum, v| {
            *sum += v * step_s;
            Some(*sum)
        })
        .collect()
}

/// Pitch at the reference speed from its parameters: lift and moment by angle of attack, damping, and both by the
/// demand.
#[derive(Debug, Clone, Copy)]
struct TwoStates {
    z_alpha: f64,
    m_alpha: f64,
    m_q: f64,
    m_demand: f64,
    z_demand: f64,
    /// Share of the pitch rate that its own lift takes off the rate of the angle of attack.
    z_q: f64,
}

impl TwoStates {
    fn of(p: &[f64], z_alpha: f64, z_q: f64) -> Self {
        let m_q = 2.0 / p[1].exp() - z_alpha;
        let (m_alpha, z_demand) = (p[3], p[4]);
        Self {
            z_alpha,
            m_alpha,
            m_q,
            m_demand: (p[0] * (m_alpha * (1.0 - z_q) + m_q * z_alpha) + m_alpha * z_demand) / z_alpha,
            z_demand,
            z_q,
        }
    }
}

/// Two states, angle of attack and rate. Where specific force along z was recorded it tells the lift; else the lift slope
/// is the predicted one.
fn pitch(m: &Measured<'_>, inputs: &[Excited]) -> Result<(Estimate, gains::Response), NoFit> {
    let signals = m.signals();
    let with_force = inputs.iter().all(|e| whole(signals.forces[2].as_ref(), &e.places).is_some());
    let speeds = m.speeds(inputs);
    let v0 = m.reference_m_s;
    let predicted = m.from.model.map(|(model, density)| {
        let a = &model.aerodynamics;
        density * v0 * a.area_m2 * (a.derivatives.CLa + a.cd0) / (2.0 * model.mass_kg)
    });
    let mut stretches = Vec::new();
    let (mut parts, mut lifts) = (Vec::new(), Vec::new());
    for (k, e) in inputs.iter().enumerate() {
        let none = NoFit::NotANumber;
        let rate = whole(signals.rates[1].as_ref(), &e.places).ok_or(none)?;
        let demand = m.demand(1, e).ok_or(none)?;
        let mut outputs = vec![rate.clone()];
        let mut beside = Vec::new();
        let path = along_the_path(signals, &e.places, speeds[k]);
        if let Some(force) = path.across.filter(|_| with_force) {
            let turning: Vec<f64> = rate.iter().zip(&force).map(|(q, a)| q + a / speeds[k]).collect();
            lifts.push(Balance {
                step_s: signals.step_s,
                signal: force.iter().map(|a| a / speeds[k]).collect(),
                known: None,
                regressors: vec![turning],
            });
            outputs.push(force.clone());
            beside.push(force);
        }
        parts.push((rate, demand.clone(), beside));
        stretches.push(Stretch {
            step_s: signals.step_s,
            inputs: vec![demand, path.faster],
            outputs,
            between: Between::Straight,
        });
    }
    let by_force = solve(&lifts, 0.5 * HIGHEST_HZ).ok().and_then(|f| f.parameters.first().map(|c| -c));
    let z_q = m.lift_by_turning();
    let z_alpha = by_force.filter(|z| (0.5..30.0).contains(z)).or(predicted).unwrap_or(0.4 * v0);
    if !with_force && predicted.is_none() {
        return Err(NoFit::NotObservable);
    }
    let (guess, delay) = begin(signals.step_s, &parts).unwrap_or((vec![-6.0, 80.0, 0.5], 0.02));
    let m_q = (-guess[0]).clamp(0.5, 40.0);
    let m_alpha = guess.get(2).map_or(30.0, |c| (c * v0 * z_alpha).clamp(-50.0, 2000.0));
    let damping = (z_alpha + m_q).max(1.0);
    let k = z_alpha * guess[1] / (m_alpha + m_q * z_alpha).max(1.0);
    let mut start = vec![k, (2.0 / damping).ln(), delay, m_alpha, 0.0];
    let mut steps =
        vec![0.01 * k.abs().max(0.1), 0.01, 0.3 * signals.step_s, 0.02 * m_alpha.abs().max(5.0), 0.02];
    if with_force {
        start.push(z_alpha.ln());
        steps.push(0.01);
    } else {
        start.truncate(4);
        steps.truncate(4);
    }
    let of = |p: &[f64]| {
        if with_force {
            TwoStates::of(p, p[5].exp(), z_q)
        } else {
            TwoStates::of(&[p[0], p[1], p[2], p[3], 0.0], z_alpha, z_q)
        }
    };
    let system = |p: &[f64], at: usize| {
        let t = of(p);
        let (v, ratio) = (speeds[at], speeds[at] / v0);
        let mut s = System::empty(2);
        s.a[(0, 0)] = -t.z_alpha * ratio;
        s.a[(0, 1)] = 1.0 - t.z_q;
        s.a[(1, 0)] = -t.m_alpha * ratio * ratio;
        s.a[(1, 1)] = -t.m_q * ratio;
        s.b[(0, 0)] = t.z_demand * ratio;
        s.b[(1, 0)] = t.m_demand * ratio * ratio;
        // Lift grows with the square of the speed, the path bends by it over the speed, and its weight less.
        s.b[(0, 1)] = -2.0 * G_M_S2 / (v * v);
        s.c[(0, 1)] = 1.0;
        if with_force {
            s.c[(1, 0)] = -v * t.z_alpha * ratio;
            s.c[(1, 1)] = -v * t.z_q;
            s.d[(1, 0)] = v * t.z_demand * ratio;
        }
        s.delay_s[0] = p[2];
        s
    };
    let estimate = fit(&Problem { stretches: &stretches, system: &system, start, steps, drift: 1 })?;
    let t = of(&estimate.parameters);
    let model = gains::Response {
        numerator: [t.z_alpha * t.m_demand - t.m_alpha * t.z_demand, t.m_demand],
        denominator: [t.z_alpha * t.m_q + t.m_alpha * (1.0 - t.z_q), t.z_alpha + t.m_q, 1.0],
    };
    Ok((estimate, model))
}

/// Two states, sideslip and yaw rate, with roll rate, bank and aileron as measured. Where side force was recorded it tells
/// what the slip does to it; else that is as predicted.
fn yaw(m: &Measured<'_>, inputs: &[Excited]) -> Result<(Estimate, gains::Response), NoFit> {
    let signals = m.signals();
    let speeds = m.speeds(inputs);
    let v0 = m.reference_m_s;
    let with_force = inputs.iter().all(|e| whole(signals.forces[1].as_ref(), &e.places).is_some());
    let [_, _, predicted] = m.roll_beside();
    let mut stretches = Vec::new();
    let (mut parts, mut sides) = (Vec::new(), Vec::new());
    let mut trims = Vec::new();
    for (k, e) in inputs.iter().enumerate() {
        let none = NoFit::NotANumber;
        let of = |list: Option<&Vec<f64>>| whole(list, &e.places).ok_or(none);
        let rate = of(signals.rates[2].as_ref())?;
        let roll_rate = of(signals.rates[0].as_ref())?;
        let bank: Vec<f64> = of(signals.angles[0].as_ref())
            .unwrap_or_else(|_| summed(&roll_rate, signals.step_s))
            .iter()
            .map(|b| b.sin())
            .collect();
        let demand = m.demand(2, e).ok_or(none)?;
        let pitch = of(signals.angles[1].as_ref()).map_or(0.05, |p| mean(&p)).clamp(-0.2, 0.3);
        trims.push(pitch);
        let mut outputs = vec![rate.clone()];
        if with_force {
            let side = of(signals.forces[1].as_ref())?;
            let slip: Vec<f64> =
                (0..rate.len()).map(|i| (side[i] + G_M_S2 * bank[i]) / speeds[k] - rate[i]).collect();
            sides.push(Balance {
                step_s: signals.step_s,
                signal: side.iter().map(|a| a / speeds[k]).collect(),
                known: None,
                regressors: vec![slip],
            });
            outputs.push(side);
        }
        let y_beta = predicted * speeds[k] / v0;
        let slipped = slip(signals.step_s, [&roll_rate, &rate, &bank], [speeds[k], pitch, y_beta]);
        parts.push((rate, demand.clone(), vec![slipped, roll_rate.clone()]));
        let aileron = m.demand(0, e).unwrap_or_else(|| vec![0.0; demand.len()]);
        stretches.push(Stretch {
            step_s: signals.step_s,
            inputs: vec![demand, roll_rate, bank, aileron],
            outputs,
            between: Between::Straight,
        });
    }
    let by_force = solve(&sides, 0.5 * HIGHEST_HZ).ok().and_then(|f| f.parameters.first().map(|c| -c));
    let y_beta = by_force.filter(|y| (0.05..8.0).contains(y)).unwrap_or(predicted);
    let (guess, delay) = begin(signals.step_s, &parts).unwrap_or((vec![-1.5, 5.0, 15.0, 0.0], 0.02));
    let tau = (-1.0 / guess[0].min(-0.2)).clamp(0.05, 5.0);
    let k = guess[1] * tau;
    let n_beta = guess.get(2).map_or(15.0, |c| c.clamp(-10.0, 400.0));
    // Steady rate, log time constant, delay, weathercock, by roll rate (as predicted, where it is: in rudder inputs the roll
    // goes with the yaw), by aileron, side force by slip and by rudder.
    let by_roll_rate = m.yaw_by_rolling();
    let no_aileron = stretches.iter().all(|s| s.inputs[3].iter().all(|a| a.abs() < 1e-6));
    let mut start = vec![k, tau.ln(), delay, n_beta];
    let mut steps = vec![0.01 * k.abs().max(0.05), 0.01, 0.3 * signals.step_s, 0.02 * n_beta.abs().max(1.0)];
    let mut place = |value: f64, step: f64| {
        start.push(value);
        steps.push(step);
        start.len() - 1
    };
    let rolling = by_roll_rate.is_none().then(|| place(0.0, 0.01));
    let by_aileron = (!no_aileron).then(|| place(0.0, 0.05));
    let side = with_force.then(|| [place(y_beta, 0.01), place(0.0, 0.01)]);
    let system = |p: &[f64], at: usize| {
        let (v, ratio) = (speeds[at], speeds[at] / v0);
        let tau = p[1].exp() / ratio;
        let [y_slip, y_rudder] = side.map_or([y_beta, 0.0], |[slip, rudder]| [p[slip], p[rudder]]);
        let mut s = System::empty(2);
        s.a[(0, 0)] = -y_slip * ratio;
        s.a[(0, 1)] = -1.0;
        s.a[(1, 0)] = p[3] * ratio * ratio;
        s.a[(1, 1)] = -1.0 / tau;
        s.b[(0, 0)] = -y_rudder * ratio;
        s.b[(0, 1)] = trims[at];
        s.b[(0, 2)] = G_M_S2 / v;
        s.b[(1, 0)] = p[0] * ratio / tau;
        s.b[(1, 1)] = by_roll_rate.or(rolling.map(|k| p[k])).unwrap_or(0.0) * ratio;
        s.b[(1, 3)] = by_aileron.map_or(0.0, |k| p[k]) * ratio * ratio;
        let [by_roll, by_yaw] = m.side_force_by_turning(v);
        s.a[(0, 1)] += by_yaw / v;
        s.b[(0, 1)] += by_roll / v;
        s.c[(0, 1)] = 1.0;
        if with_force {
            s.c[(1, 0)] = -v * y_slip * ratio;
            s.c[(1, 1)] = by_yaw;
            s.d[(1, 0)] = -v * y_rudder * ratio;
            s.d[(1, 1)] = by_roll;
        }
        s.delay_s = [p[2], 0.0, 0.0, p[2]];
        s
    };
    let problem = |start: Vec<f64>| Problem {
        stretches: &stretches,
        system: &system,
        start,
        steps: steps.clone(),
        drift: 1,
    };
    let estimate = better(
        fit(&problem(start.clone())),
        m.predicted_yaw().map(|[k, tau, n_beta]| {
            let mut start = start;
            start[..4].copy_from_slice(&[k, tau.ln(), 0.02, n_beta]);
            fit(&problem(start))
        }),
    )?;
    let p = &estimate.parameters;
    let tau = p[1].exp();
    let [y_slip, y_rudder] = side.map_or([y_beta, 0.0], |[slip, rudder]| [p[slip], p[rudder]]);
    let model = gains::Response {
        numerator: [y_slip * p[0] / tau - p[3] * y_rudder, p[0] / tau],
        denominator: [y_slip / tau + p[3], y_slip + 1.0 / tau, 1.0],
    };
    Ok((estimate, model))
}
