//! How long and how far does it fly? From the current that level flight took, and from the flight as it was flown.

use fly::recording::Quantity;
use numerics::uncertain::Uncertain;
use numerics::words::fixed;
use predict::drive::powered::RESERVE;

use crate::answers::{Estimate, Told, Verdict, missing, not_excited};
use crate::findings::Learnt;
use crate::flight::Flight;
use crate::power::Level;

/// Relative doubt of the capacity that a label states (packs age; common practice, no source).
const CAPACITY_SHARE: f64 = 0.05;
/// A flight shorter than this says little of how the model is flown, s.
const LEAST_S: f64 = 60.0;

/// Endurance and range at the reference speed, and as flown.
pub(crate) fn endurance(flight: &Flight<'_>, level: Option<&Level>) -> Learnt<Told> {
    let Some(drive) = &flight.aircraft.drive else {
        return missing(
            "a [drive.pack] in the aircraft file: without its capacity the current tells no endurance",
        );
    };
    let Some(amps) = flight.blocks.column(&Quantity::Amps) else {
        return missing("pack current");
    };
    let reserve = flight.aircraft.limits.reserve.unwrap_or(RESERVE);
    let usable_ah = drive.pack.capacity_ah * (1.0 - reserve);
    let mut told = Told::default();
    let predicted = flight.prediction.and_then(|p| p.drive.as_ref().ok());
    if let Some(level) = level.filter(|l| l.amps.value > 0.0) {
        let share = (level.amps.sd / level.amps.value).hypot(CAPACITY_SHARE);
        let seconds = 3600.0 * usable_ah / level.amps.value;
        let verdict = Verdict {
            enough: level.verdict.enough,
            why: format!(
                "{} mAh less a reserve of {} % at the current of level flight; {}",
                fixed(1000.0 * drive.pack.capacity_ah, 0),
                fixed(100.0 * reserve, 0),
                level.verdict.why
            ),
        };
        let at_cruise = flight
            .prediction
            .is_some_and(|p| (p.speeds.cruise_m_s.value / level.airspeed_m_s - 1.0).abs() < 0.02);
        let beside = |o: Option<&predict::prediction::Outcome<aircraft::Known>>| {
            o.and_then(|k| k.as_ref().ok()).filter(|_| at_cruise).map(|k| k.uncertain())
        };
        told.estimates.push(
            Estimate::new(
                format!("endurance at {} m/s, to the reserve", fixed(level.airspeed_m_s, 1)),
                "s",
                verdict.finding("endurance.level_s", seconds, share * seconds, &level.windows),
            )
            .beside(beside(predicted.map(|d| &d.endurance_s))),
        );
        let doubt = share.hypot(flight.airspeed_doubt());
        let range = seconds * level.airspeed_m_s;
        told.estimates.push(
            Estimate::new(
                "still-air range there",
                "m",
                verdict.finding("endurance.range_m", range, doubt * range, &level.windows),
            )
            .beside(beside(predicted.map(|d| &d.range_m))),
        );
    }
    if let Some(window) = flight.in_the_air() {
        let known: Vec<f64> = amps
            .get(flight.blocks.within(window))
            .unwrap_or(&[])
            .iter()
            .copied()
            .filter(|v| v.is_finite())
            .collect();
        let flown_s = window.to_s - window.from_s;
        let used_ah = known.iter().sum::<f64>() * flight.blocks.step_s / 3600.0;
        if used_ah > 0.0 && known.len() as f64 * flight.blocks.step_s > 0.8 * flown_s {
            let against = if flown_s < LEAST_S {
                vec![format!(
                    "{} s are too short to speak of how it is flown: fly {} s at least",
                    fixed(flown_s, 0),
                    fixed(LEAST_S, 0)
                )]
            } else {
                Vec::new()
            };
            let verdict = Verdict::of(
                format!(
                    "{} s in the air took {} mAh; flown like that, to the reserve of {} %",
                    fixed(flown_s, 0),
                    fixed(1000.0 * used_ah, 0),
                    fixed(100.0 * reserve, 0)
                ),
                &against,
            );
            let seconds =
                Uncertain::new(usable_ah / used_ah * flown_s, CAPACITY_SHARE * usable_ah / used_ah * flown_s);
            told.estimates.push(Estimate::new(
                "endurance as this flight was flown, to the reserve",
                "s",
                verdict.finding("endurance.as_flown_s", seconds.value, seconds.sd, &[window]),
            ));
        }
    }
    if told.estimates.is_empty() {
        return not_excited(
            "too little flight with the current recorded: fly four level legs of 10 s at constant throttle",
        );
    }
    told.sentences.push("Head wind and gusts take from the range over ground; a cold or old pack holds less than its label says.".into());
    Ok(told)
}
