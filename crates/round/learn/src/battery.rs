//! How stiff is the battery, and how much was taken out of it? The voltage falls with the current by the resistance, and
//! more slowly with the charge used: both are fitted together, so that a pack that empties is not taken for a soft one.

use aircraft::finding::{Change, Window};
use fly::recording::Quantity;
use numerics::statistics::{mean, quantile, standard_deviation};
use numerics::uncertain::Uncertain;
use numerics::words::{fixed, with_doubt};

use crate::answers::{Estimate, Evidence, Told, Verdict, along, missing, not_excited};
use crate::coloured::{self, Family, LogPrior, Problem};
use crate::findings::Learnt;
use crate::flight::Flight;
use crate::settings;
use predict::adopted::updated;

/// Averaged over this long before the fit, s.
const AVERAGED_OVER_S: f64 = 1.0;
/// Spread of the current below which it tells nothing, A and as a share of its mean.
const LEAST_SPREAD: (f64, f64) = (0.5, 0.1);
/// Relative doubt beyond which a resistance is of no use.
const USEFUL_SHARE: f64 = 0.1;
/// Relative error of a current sensor that nobody calibrated: it goes into the resistance as it is (sensors' data
/// sheets: 2 to 5 %).
pub(crate) const CURRENT_SENSOR: f64 = 0.02;
/// Fall of the open voltage known before looking, V per ampere-hour for each volt of the pack: a lithium-polymer cell
/// falls by some 0.5 V of 3.8 over its capacity (common practice, no source), models hold 1 to 10 Ah.
const FALL_PER_AH: f64 = 0.1;
/// Most by which one flight may move the resistance of the file: beyond, sensor or pack are looked at first.
const LARGEST_FACTOR: f64 = 3.0;

struct Second {
    time_s: f64,
    volts: f64,
    amps: f64,
    used_ah: f64,
}

/// Resistance of the pack and the charge used, and the change of the resistance that it asks for.
pub(crate) fn battery(flight: &Flight<'_>) -> Learnt<(Told, Option<Change>)> {
    let (Some(volts), Some(amps)) =
        (flight.blocks.column(&Quantity::Volts), flight.blocks.column(&Quantity::Amps))
    else {
        return missing("pack voltage and current");
    };
    let now = seconds(flight, volts, amps);
    let n = now.len();
    if n < 30 {
        return not_excited(format!(
            "voltage and current together for only {n} s of the 30 s needed: record both from before the launch on"
        ));
    }
    let column = |f: &dyn Fn(&Second) -> f64| now.iter().map(f).collect::<Vec<f64>>();
    let (i, u, used) = (column(&|s| s.amps), column(&|s| s.volts), column(&|s| s.used_ah));
    let spread = standard_deviation(&i);
    let middle = mean(&i);
    if !(spread > LEAST_SPREAD.0.max(LEAST_SPREAD.1 * middle)) {
        return not_excited(format!(
            "the current stayed at {} ± {} A, which tells nothing of the resistance: fly 10 s at full throttle and 10 s with the motor off",
            fixed(middle, 1),
            fixed(2.0 * spread, 1)
        ));
    }
    let time_s = column(&|s| s.time_s);
    let ones = vec![1.0; n];
    let minus_i: Vec<f64> = i.iter().map(|i| -i).collect();
    let minus_used: Vec<f64> = used.iter().map(|q| -q).collect();
    let level = mean(&u);
    let fit = coloured::fit(
        &Problem {
            resolution: 1e-3,
            time_s: &time_s,
            measured: &u,
            design: vec![&ones, &minus_i, &minus_used],
            prior: vec![None, None, Some((FALL_PER_AH * level, FALL_PER_AH * level))],
            // Relaxation of a cell takes from seconds to minutes (common practice, no source).
            families: vec![Family {
                loadings: vec![&ones],
                log_time: LogPrior { mean: 30.0_f64.ln(), sd: 1.0 },
            }],
        },
        None,
    );
    let Some(fit) = fit else {
        return not_excited("voltage and current do not fit together");
    };
    let ohm = fit.parameters[1];
    let sd = fit.sd(1).hypot(CURRENT_SENSOR * ohm);
    let low = quantile(&i, 0.05);
    let high = quantile(&i, 0.95);
    let basis = format!(
        "{n} s with currents of {} to {} A; voltage strays by {} V about the line; a current sensor's own error of {} % is in the doubt",
        fixed(low, 1),
        fixed(high, 1),
        fixed(fit.families.first().map_or(0.0, |f| f.0).hypot(fit.white_sd), 2),
        fixed(100.0 * CURRENT_SENSOR, 0)
    );
    let mut against = Vec::new();
    if !(ohm > 0.0) {
        against.push(
            "the voltage does not fall with the current: check which columns are mapped to them".to_owned(),
        );
    } else if sd > USEFUL_SHARE * ohm {
        against.push(format!(
            "the doubt is {} % of it, more than {} %: fly 10 s at full throttle and 10 s with the motor off, twice",
            fixed(100.0 * sd / ohm, 0),
            fixed(100.0 * USEFUL_SHARE, 0)
        ));
    }
    let mut verdict = Verdict::of(basis, &against);
    let evidence = vec![Window {
        from_s: now.first().map_or(0.0, |s| s.time_s),
        to_s: now.last().map_or(0.0, |s| s.time_s),
    }];
    let change = change(flight, ohm, sd, &mut verdict);
    let pack = flight.aircraft.drive.as_ref().map(|d| &d.pack);
    let mut told = Told {
        estimates: vec![
            Estimate::new(
                "resistance of the pack with its leads",
                "ohm",
                verdict.finding("battery.resistance_ohm", ohm, sd, &evidence),
            )
            .beside(pack.map(|p| p.resistance_ohm.uncertain())),
        ],
        evidence: vec![plot(&now, &fit, level)],
        sentences: Vec::new(),
    };
    told.estimates.push(charge(flight, &now, &evidence));
    if let (Some(pack), Some(last)) = (pack, now.last()) {
        told.sentences.push(format!(
            "{} % of the pack's {} mAh was used; at the end it would have stood at {} V a cell without load.",
            fixed(100.0 * last.used_ah / pack.capacity_ah, 0),
            fixed(1000.0 * pack.capacity_ah, 0),
            fixed((last.volts + ohm * last.amps) / f64::from(pack.cells.max(1)), 2)
        ));
    }
    Ok((told, change))
}

fn seconds(flight: &Flight<'_>, volts: &[f64], amps: &[f64]) -> Vec<Second> {
    let blocks = flight.blocks;
    let counter = blocks.column(&Quantity::ChargeUsed);
    let begun = counter.and_then(|c| c.iter().copied().find(|v| v.is_finite())).unwrap_or(0.0);
    let group = ((AVERAGED_OVER_S / blocks.step_s).round() as usize).max(1);
    let (mut now, mut summed) = (Vec::new(), 0.0);
    let mut from = 0;
    while from + group <= blocks.count {
        let range = from..from + group;
        let over = |c: &[f64]| {
            let known: Vec<f64> =
                c.get(range.clone()).unwrap_or(&[]).iter().copied().filter(|v| v.is_finite()).collect();
            if known.is_empty() { f64::NAN } else { mean(&known) }
        };
        let (u, i) = (over(volts), over(amps));
        if i.is_finite() {
            summed += i * group as f64 * blocks.step_s / 3600.0;
        }
        let used = counter.map_or(summed, |c| over(c) - begun);
        let used = if used.is_finite() { used } else { summed };
        // A voltage of nothing is a pack that was not connected yet.
        if u.is_finite() && i.is_finite() && u > 1.0 {
            now.push(Second {
                time_s: blocks.time_s(from) + 0.5 * (group as f64 - 1.0) * blocks.step_s,
                volts: u,
                amps: i,
                used_ah: used,
            });
        }
        from += group;
    }
    now
}

/// The charge used: by the counter, or summed from the current.
fn charge(flight: &Flight<'_>, now: &[Second], evidence: &[Window]) -> Estimate {
    let used = now.last().map_or(f64::NAN, |s| s.used_ah) - now.first().map_or(0.0, |s| s.used_ah);
    let counted = flight.recording.channel(&Quantity::ChargeUsed).is_some();
    let summed: f64 =
        now.windows(2).map(|w| 0.5 * (w[0].amps + w[1].amps) * (w[1].time_s - w[0].time_s) / 3600.0).sum();
    let sd = (CURRENT_SENSOR * used).abs().hypot(if counted { 0.5 * (summed - used) } else { 0.0 });
    let mut against = Vec::new();
    if counted && (summed - used).abs() > 0.1 * used.abs().max(0.01) {
        against.push(format!(
            "the counter says {} mAh and the sum of the current {} mAh: charge the pack and compare with what the charger puts in",
            fixed(1000.0 * used, 0),
            fixed(1000.0 * summed, 0)
        ));
    }
    let verdict = Verdict::of(
        if counted {
            "by the counter, which the sum of the current checks"
        } else {
            "summed from the current"
        }
        .into(),
        &against,
    );
    let finding = verdict.finding("battery.used_ah", used, sd, evidence);
    Estimate::new("charge used", "Ah", finding)
}

fn plot(now: &[Second], fit: &coloured::Coloured, level: f64) -> Evidence {
    let [base, ohm, fall] = [fit.parameters[0], fit.parameters[1], fit.parameters[2]];
    // Voltage as a full pack would have it.
    let data: Vec<[f64; 2]> = now.iter().map(|s| [s.amps, s.volts + fall * s.used_ah]).collect();
    let most = now.iter().map(|s| s.amps).fold(0.0, f64::max);
    let c = &fit.covariance;
    let fit_at = along(0.0, most, 20);
    Evidence {
        title: "Voltage over current".into(),
        what: "Each second's voltage, with what the charge used has taken from it put back, over its current; the slope is the resistance.".into(),
        x: "Pack current, A".into(),
        y: "Voltage of a full pack, V".into(),
        residuals: data.iter().map(|d| [d[0], d[1] - (base - ohm * d[0])]).collect(),
        data,
        doubt: fit_at
            .iter()
            .map(|i| 2.0 * (c[(0, 0)] - 2.0 * i * c[(0, 1)] + i * i * c[(1, 1)]).max(0.0).sqrt().min(level))
            .collect(),
        fit: fit_at.iter().map(|i| [*i, base - ohm * i]).collect(),
        mark: None,
    }
}

/// The change of the resistance in the file: what it says and what was flown, each by its doubt.
fn change(flight: &Flight<'_>, ohm: f64, sd: f64, verdict: &mut Verdict) -> Option<Change> {
    let now = flight.aircraft.drive.as_ref()?.pack.resistance_ohm;
    let flown = Uncertain::new(ohm, sd);
    let new = updated(now, flown);
    // What the file says already, within the doubt that is left.
    if !(ohm.is_finite() && sd > 0.0) || (new.value - now.value).abs() <= new.sd.max(0.02 * now.value) {
        return None;
    }
    let held_back = if !verdict.enough {
        Some(verdict.why.clone())
    } else if !(now.value / LARGEST_FACTOR..=now.value * LARGEST_FACTOR).contains(&ohm) {
        let why = format!(
            "{} is more than {} times off the file's {}: measure voltage and current with a meter, propeller off or the model held fast, and compare with what was recorded",
            with_doubt(1000.0 * ohm, 1000.0 * sd, "mohm"),
            fixed(LARGEST_FACTOR, 0),
            with_doubt(1000.0 * now.value, 0.0, "mohm")
        );
        verdict.why += &format!(". Held back: {why}");
        Some(why)
    } else {
        None
    };
    Some(Change {
        path: "drive.pack.resistance_mohm".into(),
        from: Some(1000.0 * now.value),
        to: settings::to_step(1000.0 * new.value, 0.1),
        sd: settings::to_two_digits(1000.0 * new.sd),
        unit: "mohm".into(),
        why: format!(
            "the voltage fell by {} for each ampere; with the {} of the file ({}) weighed in by their doubts",
            with_doubt(1000.0 * ohm, 1000.0 * sd, "mV"),
            with_doubt(1000.0 * now.value, 1000.0 * now.sd, "mohm"),
            now.from.word()
        ),
        held_back,
    })
}
