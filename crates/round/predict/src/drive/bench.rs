//! What do bench measurements say of the drive model? Factors on thrust, torque and voltage that agree best with
//! what was measured and with how far the model usually is off.

use aircraft::drive::{Bench, Drive, Propeller};
use nalgebra::{Matrix3, Vector3};
use rayon::prelude::*;

use crate::drive::operating::{Operating, Running};
use crate::drive::propeller::{doubts, ideal_static_thrust_n};

/// Factors on the drive model, with what is known of them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Correction {
    /// On the propeller's thrust.
    pub thrust_factor: f64,
    /// On the propeller's torque.
    pub torque_factor: f64,
    /// On the pack's open-circuit voltage (its charge on the bench is not known, nor kv better than this).
    pub voltage_factor: f64,
    /// Covariance of the logarithms of thrust, torque and voltage factor.
    pub covariance: Matrix3<f64>,
    /// Bench rows used.
    pub rows: usize,
}

/// Relative doubt of kv and of the pack's charge together.
const VOLTAGE_SD: f64 = 0.04;

impl Correction {
    /// None, with how far the model of such a propeller usually is off.
    #[must_use]
    pub fn unmeasured(propeller: &Propeller) -> Self {
        let [thrust, power] = doubts(propeller);
        Self {
            thrust_factor: 1.0,
            torque_factor: 1.0,
            voltage_factor: 1.0,
            covariance: Matrix3::from_diagonal(&Vector3::new(
                thrust.powi(2),
                power.powi(2),
                VOLTAGE_SD.powi(2),
            )),
            rows: 0,
        }
    }

    fn of_logarithms(x: Vector3<f64>, covariance: Matrix3<f64>, rows: usize) -> Self {
        Self {
            thrust_factor: x[0].exp(),
            torque_factor: x[1].exp(),
            voltage_factor: x[2].exp(),
            covariance,
            rows,
        }
    }

    /// Standard deviations of three functions of the running drive, by their change with each factor.
    #[must_use]
    pub fn spread(&self, running: &Running, f: impl Fn(&Running) -> [f64; 3] + Sync) -> [f64; 3] {
        const STEP: f64 = 0.02;
        let at = |k: usize| {
            let sign = if k.is_multiple_of(2) { 1.0_f64 } else { -1.0 };
            let mut moved = running.clone();
            let factor = (sign * STEP).exp();
            match k / 2 {
                0 => moved.correction.thrust_factor *= factor,
                1 => moved.correction.torque_factor *= factor,
                _ => moved.correction.voltage_factor *= factor,
            }
            f(&moved)
        };
        let values: Vec<[f64; 3]> = (0..6).into_par_iter().map(at).collect();
        std::array::from_fn(|i| {
            let gradient = Vector3::from_fn(|k, _| {
                let pair = values.get(2 * k).zip(values.get(2 * k + 1));
                pair.map_or(f64::NAN, |(above, below)| (above[i] - below[i]) / (2.0 * STEP))
            });
            let variance = (gradient.transpose() * self.covariance * gradient)[0];
            // A function that has no value nearby has no spread either: not a number, never zero.
            if variance.is_finite() { variance.max(0.0).sqrt() } else { f64::NAN }
        })
    }
}

/// Correction by the bench rows of a drive, and what the reader must know of it.
///
/// Least squares on the logarithms of three factors, each measurement weighed by its own doubt and each factor held
/// near 1 by how far the model is off on measured propellers. Rows that no drive could produce (more pull than an
/// ideal disc has from that power) are not used, and told.
#[must_use]
pub fn correct(drive: &Drive, uncorrected: &Running) -> (Correction, Vec<String>) {
    let mut remarks = Vec::new();
    let usable: Vec<&Bench> = drive
        .bench
        .iter()
        .filter(|row| match impossible(drive, uncorrected, row) {
            Some(why) => {
                remarks.push(why);
                false
            }
            None => row.throttle > 0.0,
        })
        .collect();
    let prior = Correction::unmeasured(&drive.propeller);
    if usable.is_empty() {
        return (prior, remarks);
    }
    let information_prior = prior.covariance.map(|v| if v > 0.0 { 1.0 / v } else { 0.0 });
    let modelled = |x: Vector3<f64>, row: &Bench| -> Operating {
        let mut running = uncorrected.clone();
        running.correction = Correction::of_logarithms(x, prior.covariance, 0);
        if let Some(volts) = row.volts {
            // The voltage under load was measured: the pack is that source, without sag of its own.
            running.electrics.open_circuit_v = volts.value;
            running.electrics.pack_ohm = 0.0;
        }
        running.at(row.throttle, 0.0)
    };
    // Residuals of one row, measured less modelled in logarithms, over their doubt.
    let residuals = |x: Vector3<f64>| -> Vec<f64> {
        usable
            .iter()
            .flat_map(|row| {
                let model = modelled(x, row);
                [(row.pull_n, model.thrust_n), (row.amps, model.current_a), (row.rpm, model.rpm)]
                    .into_iter()
                    .filter_map(|(measured, modelled)| {
                        let measured = measured?;
                        let relative_sd = (measured.sd / measured.value).max(0.01);
                        (measured.value > 0.0 && modelled > 0.0)
                            .then(|| (measured.value / modelled).ln() / relative_sd)
                    })
                    .collect::<Vec<f64>>()
            })
            .collect()
    };
    let mut x = Vector3::zeros();
    let mut covariance = prior.covariance;
    for _ in 0..8 {
        let r = residuals(x);
        let step = 1e-4;
        let mut information = information_prior;
        let mut gradient = -information_prior * x;
        let mut columns = Vec::new();
        for k in 0..3 {
            let mut probe = x;
            probe[k] += step;
            let moved = residuals(probe);
            columns.push(moved.iter().zip(&r).map(|(m, r)| -(m - r) / step).collect::<Vec<f64>>());
        }
        for (j, a) in columns.iter().enumerate() {
            gradient[j] += a.iter().zip(&r).map(|(a, r)| a * r).sum::<f64>();
            for (k, b) in columns.iter().enumerate() {
                information[(j, k)] += a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
            }
        }
        let Some(inverse) = information.try_inverse() else {
            break;
        };
        let change = inverse * gradient;
        x += change.map(|c| c.clamp(-0.5, 0.5));
        covariance = inverse;
        if change.amax() < 1e-6 {
            break;
        }
    }
    let correction = Correction::of_logarithms(x, covariance, usable.len());
    remarks.push(format!(
        "{} bench measurement{} correct{} the drive model: thrust x {:.2}, torque x {:.2}, voltage x {:.2}.",
        usable.len(),
        if usable.len() == 1 { "" } else { "s" },
        if usable.len() == 1 { "s" } else { "" },
        correction.thrust_factor,
        correction.torque_factor,
        correction.voltage_factor
    ));
    for (name, factor, sd) in [
        ("thrust", correction.thrust_factor, prior.covariance[(0, 0)].sqrt()),
        ("torque", correction.torque_factor, prior.covariance[(1, 1)].sqrt()),
        ("voltage", correction.voltage_factor, VOLTAGE_SD),
    ] {
        if factor.ln().abs() > 2.5 * sd {
            remarks.push(format!(
                "The bench asks for {name} x {factor:.2}, more than the model is usually off: check propeller, kv, cell count and the bench readings."
            ));
        }
    }
    (correction, remarks)
}

/// Why a bench row cannot be, if it cannot.
fn impossible(drive: &Drive, running: &Running, row: &Bench) -> Option<String> {
    let (pull_n, amps) = (row.pull_n?.value, row.amps?.value);
    let volts =
        row.volts.map_or(running.electrics.open_circuit_v - amps * running.electrics.pack_ohm, |v| v.value);
    let motors = running.electrics.motors;
    let most_n = motors
        * ideal_static_thrust_n(volts * amps / motors, drive.propeller.diameter_m, running.density_kg_m3);
    (pull_n > most_n).then(|| {
        format!(
            "The bench row at {:.0} % throttle is not used: {pull_n:.1} N from {:.0} W is more than the {most_n:.1} N of an ideal propeller of {:.0} mm. Measure pull, amps and volts again (propeller secured, nobody in its plane or ahead of it).",
            row.throttle * 100.0,
            volts * amps,
            drive.propeller.diameter_m * 1e3
        )
    })
}
