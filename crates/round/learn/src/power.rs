//! What does level flight cost? Electric power and current of straight flight over airspeed, reduced to one weight and
//! standard air.
//!
//! In level flight at one angle of attack speed goes with the root of weight over density and power with the same to the
//! third, so that `Viw = V √(ρ/ρ0) √(W0/W)` and `Piw = P √(ρ/ρ0) (W0/W)^1.5` fall on one curve for every weight and
//! density (flight-test handbooks: level-flight power by "PIW over VIW"). That curve is `A Viw³ + B/Viw`, written about the
//! reference speed; power that went into climb or speed is told apart by its own column.

use aircraft::finding::Window;
use fly::recording::Quantity;
use numerics::statistics::{mean, median, quantile};
use numerics::uncertain::Uncertain;
use numerics::units::G_M_S2;
use numerics::words::fixed;
use sky::atmosphere::SEA_LEVEL_DENSITY_KG_M3;

use crate::answers::{Estimate, Evidence, Told, Verdict, along, missing, not_excited, seconds_needed};
use crate::battery::CURRENT_SENSOR;
use crate::coloured::{self, Coloured, Family, LogPrior, Problem};
use crate::findings::Learnt;
use crate::flight::Flight;
use crate::straight::{PIECE_S, Piece, Straight};

/// Least straight flight, s.
const LEAST_S: f64 = 20.0;
/// Relative doubt beyond which a power is of no use.
const USEFUL_SHARE: f64 = 0.1;
/// Bank up to which flight counts as straight, rad.
const LARGEST_BANK_RAD: f64 = 0.25;
/// Flight that climbs or sinks more steeply than this is no level run.
const STEEPEST: f64 = 0.12;
/// Electric power over power into height: one over the efficiency of motor and propeller, 0.35 to 0.65 (common practice,
/// no source).
const PER_CLIMB: (f64, f64) = (2.0, 0.6);
/// Airspeed that the reference may lie beyond what was flown by.
const BEYOND_SHARE: f64 = 0.15;

/// Weight and density that power and speed are reduced from and to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Reduction {
    /// Weight flown over the reference weight.
    pub(crate) weight_ratio: f64,
    /// Density flown over the reference density.
    pub(crate) density_ratio: f64,
}

impl Reduction {
    /// Speed at the reference weight and density at the same angle of attack, for a true airspeed.
    #[must_use]
    pub(crate) fn speed(&self, airspeed_m_s: f64) -> f64 {
        airspeed_m_s * self.density_ratio.sqrt() / self.weight_ratio.sqrt()
    }

    /// Power at the reference weight and density at the same angle of attack.
    #[must_use]
    pub(crate) fn power(&self, power_w: f64) -> f64 {
        power_w * self.density_ratio.sqrt() / self.weight_ratio.powf(1.5)
    }
}

/// What level flight at the reference speed took from the pack.
#[derive(Debug, Clone)]
pub(crate) struct Level {
    pub(crate) airspeed_m_s: f64,
    pub(crate) amps: Uncertain,
    pub(crate) windows: Vec<Window>,
    pub(crate) verdict: Verdict,
}

/// Power over speed in level flight.
pub(crate) fn power(flight: &Flight<'_>) -> Learnt<(Told, Level)> {
    let blocks = flight.blocks;
    if blocks.column(&Quantity::Amps).is_none() {
        return missing("pack current");
    }
    let weight = flight.weight_n();
    let pieces: Vec<&Piece> = flight
        .straight
        .pieces
        .iter()
        .filter(|p| {
            (p.roll_rad.is_nan() || p.roll_rad.abs() <= LARGEST_BANK_RAD)
                && p.airspeed_m_s > 1.0
                && p.climb_m_s.abs() <= STEEPEST * p.airspeed_m_s
                && flight.over(p, &Quantity::Amps).is_finite()
        })
        .collect();
    if pieces.is_empty() && flight.airspeed_m_s.is_none() {
        return missing(
            "airspeed: neither a sensor nor a wind that is known well enough to take it from the ground velocity",
        );
    }
    let seconds = pieces.len() as f64 * PIECE_S;
    let Some((reference, whence)) = flight.straight.reference(flight.aircraft, flight.prediction) else {
        return not_excited(too_little(seconds));
    };
    if seconds < LEAST_S {
        return not_excited(too_little(seconds));
    }
    let reduction =
        Reduction { weight_ratio: 1.0, density_ratio: flight.density.kg_m3.value / SEA_LEVEL_DENSITY_KG_M3 };
    let kilograms = weight.map_or(1.0, |w| w.value / G_M_S2);
    let volts = blocks.column(&Quantity::Volts).is_some();
    let amps: Vec<f64> = pieces.iter().map(|p| flight.over(p, &Quantity::Amps)).collect();
    let watts: Vec<f64> = pieces
        .iter()
        .zip(&amps)
        .map(|(p, i)| reduction.power(i * if volts { flight.over(p, &Quantity::Volts) } else { 1.0 }))
        .collect();
    let run = Run {
        straight: flight.straight,
        pieces: &pieces,
        reduction,
        reference_m_s: reduction.speed(reference),
        kilograms,
    };
    let mean_volts = if volts {
        mean(&pieces.iter().map(|p| flight.over(p, &Quantity::Volts)).collect::<Vec<f64>>())
    } else {
        1.0
    };
    let (Some(by_power), Some(by_current)) = (
        run.fit(&watts, if volts { 1.0 } else { 1.0 / 11.0 }),
        run.fit(&amps, 1.0 / if volts { mean_volts } else { 11.0 }),
    ) else {
        return not_excited(too_little(seconds));
    };
    let speeds: Vec<f64> = pieces.iter().map(|p| p.airspeed_m_s).collect();
    let (slow, fast) = (quantile(&speeds, 0.05), quantile(&speeds, 0.95));
    let current = run.at_reference(&by_current, flight.airspeed_doubt());
    let basis = format!(
        "{} s of straight flight at {} to {} m/s, taken to {} m/s ({whence}); reduced with {}",
        fixed(seconds, 0),
        fixed(slow, 1),
        fixed(fast, 1),
        fixed(reference, 1),
        flight.density.whence
    );
    let mut against = Vec::new();
    if reference < (1.0 - BEYOND_SHARE) * slow || reference > (1.0 + BEYOND_SHARE) * fast {
        against
            .push(format!("that is far from {} m/s: fly straight legs at that speed", fixed(reference, 1)));
    }
    if !(current.value > 0.0) || current.sd > USEFUL_SHARE * current.value {
        against.push(format!(
            "the doubt is more than {} %: fly {} s more of straight level legs at constant throttle",
            fixed(100.0 * USEFUL_SHARE, 0),
            fixed(
                seconds_needed(seconds, current.sd, USEFUL_SHARE * current.value.abs()).clamp(10.0, 600.0),
                0
            )
        ));
    }
    let verdict = Verdict::of(basis, &against);
    let used: Vec<&Piece> = pieces.clone();
    let windows = flight.straight.windows_of(&used);
    let mut told = Told::default();
    let drive = flight.prediction.and_then(|p| p.drive.as_ref().ok());
    told.estimates.push(
        Estimate::new(
            format!("current in level flight at {} m/s", fixed(reference, 1)),
            "A",
            verdict.finding("power.level_a", current.value, current.sd, &windows),
        )
        .beside(
            drive
                .and_then(|d| d.cruise_current_a.as_ref().ok())
                .filter(|_| at_cruise(flight, reference))
                .map(|k| k.uncertain()),
        ),
    );
    if volts {
        let watts_at = run.at_reference(&by_power, flight.airspeed_doubt());
        told.estimates.push(Estimate::new(
            format!("power in level flight at {} m/s in standard air", fixed(run.reference_m_s, 1)),
            "W",
            verdict.finding("power.level_w", watts_at.value, watts_at.sd, &windows),
        ));
        told.estimates.extend(run.best(&by_power, flight.airspeed_doubt(), &verdict, &windows));
        told.evidence.push(run.plot(&by_power, &watts));
    }
    if told.estimates.len() < 3 {
        told.sentences.push(format!(
            "Which speed takes least is not told by one speed alone: fly level legs of 10 s at {} and {} m/s too.",
            fixed(0.85 * reference, 0),
            fixed(1.25 * reference, 0)
        ));
    }
    Ok((told, Level { airspeed_m_s: reference, amps: current, windows, verdict }))
}

/// Whether a speed is the one that the prediction calls cruise.
fn at_cruise(flight: &Flight<'_>, reference: f64) -> bool {
    flight.prediction.is_some_and(|p| (p.speeds.cruise_m_s.value / reference - 1.0).abs() < 0.02)
}

fn too_little(seconds: f64) -> String {
    format!(
        "only {} s of straight level flight with airspeed and current, of {} s needed: fly four level legs of 10 s at constant throttle",
        fixed(seconds, 0),
        fixed(LEAST_S, 0)
    )
}

/// Level runs with what they are reduced by.
struct Run<'a> {
    straight: &'a Straight,
    pieces: &'a [&'a Piece],
    reduction: Reduction,
    /// Reduced reference speed, m/s.
    reference_m_s: f64,
    /// Mass, kg; one where it is not known.
    kilograms: f64,
}

/// Sum and difference of the two parts of the power at x times the reference speed, for parts that are equal.
fn parts(x: f64) -> [f64; 2] {
    [0.5 * (x.powi(3) + 1.0 / x), 0.5 * (x.powi(3) - 1.0 / x)]
}

impl Run<'_> {
    /// Power that goes into height and speed, W.
    fn excess_w(&self, p: &Piece) -> f64 {
        let rate = if p.airspeed_rate_m_s2.is_finite() { p.airspeed_rate_m_s2 } else { 0.0 };
        self.reduction.power(self.kilograms * (G_M_S2 * p.climb_m_s + p.airspeed_m_s * rate))
    }

    /// Fits measured power or current; `per_watt` is what one watt is in its unit.
    fn fit(&self, measured: &[f64], per_watt: f64) -> Option<Coloured> {
        let speeds: Vec<f64> = self.pieces.iter().map(|p| self.reduction.speed(p.airspeed_m_s)).collect();
        let (between, within) = Straight::between_and_within(self.pieces, &speeds);
        let between = self.straight.believed(self.pieces, between, 1.0);
        let rows: Vec<[f64; 2]> = between.iter().map(|v| parts(v / self.reference_m_s)).collect();
        let sum: Vec<f64> = rows.iter().map(|r| r[0]).collect();
        let difference: Vec<f64> = rows.iter().map(|r| r[1]).collect();
        let excess: Vec<f64> = self.pieces.iter().map(|p| self.excess_w(p)).collect();
        let (excess, swings) = Straight::between_and_within(self.pieces, &excess);
        let time_s: Vec<f64> = self.pieces.iter().map(|p| p.time_s).collect();
        let ones = vec![1.0; self.pieces.len()];
        let size = median(measured).abs().max(1e-3);
        // Without a weight the power into height is not known either.
        let per = per_watt * self.reduction.power(1.0);
        coloured::fit(
            &Problem {
                resolution: 1e-3 * size,
                time_s: &time_s,
                measured,
                design: vec![&sum, &difference, &excess, &within, &swings],
                prior: vec![
                    None,
                    Some((0.0, size)),
                    Some((PER_CLIMB.0 * per, PER_CLIMB.1 * per)),
                    Some((0.0, size)),
                    Some((0.0, PER_CLIMB.0 * per)),
                ],
                // A hand on the throttle corrects every few seconds.
                families: vec![Family {
                    loadings: vec![&ones],
                    log_time: LogPrior { mean: 4.0_f64.ln(), sd: 1.0 },
                }],
            },
            None,
        )
    }

    /// Level flight at the reference speed. An error that all airspeeds share moves along the curve.
    fn at_reference(&self, fit: &Coloured, airspeed_doubt: f64) -> Uncertain {
        let (a, b) =
            (0.5 * (fit.parameters[0] + fit.parameters[1]), 0.5 * (fit.parameters[0] - fit.parameters[1]));
        // The sensor's own error, as for the battery.
        let sensor = CURRENT_SENSOR * fit.parameters[0];
        Uncertain::new(fit.parameters[0], fit.sd(0).hypot((3.0 * a - b) * airspeed_doubt).hypot(sensor))
    }

    /// Speeds that take least power, and least power for each meter.
    fn best(
        &self,
        fit: &Coloured,
        airspeed_doubt: f64,
        verdict: &Verdict,
        windows: &[Window],
    ) -> Vec<Estimate> {
        let (s, d) = (fit.parameters[0], fit.parameters[1]);
        let (a, b) = (0.5 * (s + d), 0.5 * (s - d));
        if !(a > 0.0 && b > 0.0) {
            return Vec::new();
        }
        // x = (b / k a)^(1/4); its relative slope on the share d/s is half of 1/(1 - (d/s)²).
        let share = d / s;
        let share_sd = (fit.sd(1) / s).hypot(share * fit.sd(0) / s);
        let relative = (0.5 * share_sd / (1.0 - share * share)).hypot(airspeed_doubt);
        let told = relative < 0.08;
        let verdict = Verdict {
            enough: verdict.enough && told,
            why: if told {
                verdict.why.clone()
            } else {
                format!(
                    "{}. Not enough: how power goes with speed is not told well enough; fly level legs of 10 s at {} and {} m/s too",
                    verdict.why,
                    fixed(0.85 * self.reference_m_s, 0),
                    fixed(1.25 * self.reference_m_s, 0)
                )
            },
        };
        [
            ("speed of least power", "least_power_m_s", 3.0),
            ("speed of largest range in still air", "range_m_s", 1.0),
        ]
        .into_iter()
        .map(|(words, key, k)| {
            let v = self.reference_m_s * (b / (k * a)).powf(0.25);
            Estimate::new(words, "m/s", verdict.finding(&format!("power.{key}"), v, relative * v, windows))
        })
        .collect()
    }

    fn plot(&self, fit: &Coloured, watts: &[f64]) -> Evidence {
        let per_excess = fit.parameters[2];
        let data: Vec<[f64; 2]> = self
            .pieces
            .iter()
            .zip(watts)
            .map(|(p, w)| [self.reduction.speed(p.airspeed_m_s), w - per_excess * self.excess_w(p)])
            .collect();
        let (low, high) = data.iter().fold((f64::INFINITY, 0.0_f64), |(l, h), d| (l.min(d[0]), h.max(d[0])));
        let at = |v: f64| {
            let g = parts(v / self.reference_m_s);
            let c = &fit.covariance;
            let variance = g[0] * g[0] * c[(0, 0)] + 2.0 * g[0] * g[1] * c[(0, 1)] + g[1] * g[1] * c[(1, 1)];
            (fit.parameters[0] * g[0] + fit.parameters[1] * g[1], 2.0 * variance.max(0.0).sqrt())
        };
        let line = along(low, high, 30);
        Evidence {
            title: "Power of level flight".into(),
            what: "Electric power of each two seconds of straight flight, less what went into height and speed, reduced to standard air, with the curve that fits.".into(),
            x: "Airspeed reduced to standard air, m/s".into(),
            y: "Electric power, W".into(),
            residuals: data.iter().map(|d| [d[0], d[1] - at(d[0]).0]).collect(),
            data,
            fit: line.iter().map(|v| [*v, at(*v).0]).collect(),
            doubt: line.iter().map(|v| at(*v).1).collect(),
            mark: Some(("reference".into(), self.reference_m_s, 0.0)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn power_of_every_weight_and_density_falls_on_one_curve() {
        // By hand (ID-15 of the independent check values): 3.0 kg, 1.1 kg/m³, 18 m/s, 120 W to 2.5 kg, 1.225 kg/m³: 15.5708 m/s
        // and 86.504 W.
        let one = Reduction { weight_ratio: 3.0 / 2.5, density_ratio: 1.1 / 1.225 };
        assert!((one.speed(18.0) - 15.5708).abs() < 1e-3, "{}", one.speed(18.0));
        assert!((one.power(120.0) - 86.504).abs() < 1e-3, "{}", one.power(120.0));
        // Power for drag: P = V (½ρV²S CD0 + K W²/(½ρV²S)), closed form; at several weights and densities on one
        // curve within a hundredth (it is exact).
        let required = |weight: f64, density: f64, v: f64| {
            let q = 0.5 * density * v * v * 0.4;
            v * (0.03 * q + 0.05 * weight * weight / q)
        };
        for (weight, density) in [(15.0, 1.0), (25.0, 1.1), (35.0, 1.3), (20.0, 0.9)] {
            let r = Reduction { weight_ratio: weight / 20.0, density_ratio: density / 1.225 };
            for v in [8.0, 12.0, 20.0] {
                let on_curve = required(20.0, 1.225, r.speed(v));
                let reduced = r.power(required(weight, density, v));
                assert!((reduced / on_curve - 1.0).abs() < 1e-9, "{weight} {density} {v}");
            }
        }
    }
}
